"""Lot problems that tests and benchmarks share, and the textbook form of the same problem."""

from __future__ import annotations

from itertools import product

import highspy
import numpy as np
from hypothesis import strategies as st
from scipy.optimize import linprog

from formulate.shopping.lots import Good, LotProblem, Size, Stock, Trip

#: As shops sell it: food, package [g], price; the smaller packages are dearer by weight.
GOODS = (
    Good("milk", 3, 7, 0.97),
    Good("buttermilk", 3, 7, 0.97),
    Good("evaporated", 3, 365, 0.94, False, True),
    Good("cream", 3, 7, 1.0),
    Good("powder", 180, 180, 1.0, False, False),
)
SIZES = (
    (Size(0, 3904, "gallon"), 3.89), (Size(0, 1952, "half gallon"), 2.39),
    (Size(1, 980, "quart"), 2.69), (Size(1, 490, "pint"), 1.69),
    (Size(2, 378, "can"), 1.79), (Size(2, 157.5, "small can"), 0.99),
    (Size(3, 952, "quart"), 6.49), (Size(3, 476, "pint"), 3.69),
    (Size(4, 907, "2 lb"), 11.99), (Size(4, 2268, "5 lb"), 26.0),
)  # fmt: skip
#: Grams of each food in a litre.
RECIPES = ((850, 62, 97, 0, 0), (890, 0, 0, 80, 25), (880, 0, 120, 20, 0))


def season(animals=3, days=56, mixes=1, room=np.inf, every=(3, 4), trip_cost=0.0, sizes=SIZES):
    """A season of milk, more of it in the middle, with trips every few days in turn."""
    trips, day = [Trip(0, 0)], 0
    while day < days - 1:
        day += every[(len(trips) - 1) % len(every)]
        if day + 1 < days:
            trips.append(Trip(day, day + 1))
    wave = np.sin(np.pi * np.arange(days) / days)
    litres = animals * (0.9 + 0.35 * wave) * (1 + 0.02 * np.cos(2.3 * np.arange(days)))
    litres[-6:-3] *= 2 / 3
    litres[-3:] /= 3
    starts = [0]
    for trip in trips if mixes > 1 else ():
        if trip.first_batch - starts[-1] >= 7 and days - trip.first_batch >= 7:
            starts.append(trip.first_batch)
    need, milk, groups = [], [], []
    for start, end in zip(starts, (*starts[1:], days), strict=True):
        groups.append(tuple(range(len(need), len(need) + mixes)))
        inside = (np.arange(days) >= start) & (np.arange(days) < end)
        for recipe in RECIPES[:mixes]:
            need.append(np.array(recipe, float)[:, None] * litres * inside)
            milk.append(litres * inside * 1e3)
    numbers = np.arange(days)
    return LotProblem(
        GOODS,
        tuple(size for size, _ in sizes),
        tuple(trips),
        (),
        numbers,
        numbers,
        np.stack(need, axis=2),
        tuple(groups),
        np.stack(milk, axis=1),
        np.repeat(np.array([[price] for _, price in sizes]), len(trips), axis=1),
        np.full(len(trips), float(trip_cost)),
        room,
    )


@st.composite
def small_problems(draw, goods=2, rooms=False, trip_costs=False, mixes=1, most_batches=4):
    """A few batches in small whole numbers, every kind of limit among them."""
    count = draw(st.integers(1, most_batches))
    names = [
        Good(
            f"food {g}",
            draw(st.integers(1, 3)),
            draw(st.integers(0, 4)),
            1.0,
            draw(st.booleans()) or rooms,
            True,
        )
        for g in range(goods)
    ]
    sizes, prices = [], []
    for g in range(goods):
        for grams in draw(
            st.lists(st.sampled_from([2, 3, 4, 6]), min_size=1, max_size=2, unique=True)
        ):
            sizes.append(Size(g, float(grams), f"{grams} g"))
            prices.append(draw(st.integers(1, 9)) + grams / 2)
    trips = [Trip(0, 0)]
    for day in range(1, count):
        if draw(st.booleans()):
            trips.append(Trip(day, min(day + draw(st.integers(0, 1)), count - 1)))
    trips.sort(key=lambda trip: (trip.first_batch, trip.day))
    need = np.array(
        [
            [[float(draw(st.integers(0, 4))) for _ in range(mixes)] for _ in range(count)]
            for _ in range(goods)
        ]
    )
    stocks = []
    if draw(st.booleans()):
        opened = draw(st.booleans())
        packages = 1 if opened else draw(st.integers(1, 2))
        stocks.append(
            Stock(0, float(draw(st.integers(1, 4))), packages, opened, draw(st.integers(0, 3)))
        )
    numbers = np.arange(count)
    milk = np.full((count, mixes), 1.0)
    room = float(draw(st.integers(4, 14))) if rooms else np.inf
    cost = draw(st.integers(1, 6)) if trip_costs else 0
    return LotProblem(
        tuple(names), tuple(sizes), tuple(trips), tuple(stocks), numbers, numbers, need,
        (tuple(range(mixes)),), milk,
        np.repeat(np.array(prices)[:, None], len(trips), axis=1),
        np.full(len(trips), float(cost)), room,
    )  # fmt: skip


# --- by hand: every plan there is ---------------------------------------------------------------


def brute_force(problem):
    """The least cost of all plans, by trying them; None where there is none.

    Foods are tried one by one where nothing ties them, else (room, trips) there must be one.
    """
    tied = np.isfinite(problem.room) or problem.trip_cost.any()
    assert not tied or len(problem.goods) == 1
    best = None
    for choices in product(*problem.groups):
        costs = [_cheapest(problem, g, choices) for g in range(len(problem.goods))]
        if None not in costs and (best is None or sum(costs) < best):
            best = sum(costs)
    return best


def _cheapest(problem, good, choices):
    need = problem.need[good][:, list(choices)].sum(axis=1)
    food = problem.goods[good]
    lots = []  # opened, last, grams, price, trip, stock
    for b in np.flatnonzero(need > 0):
        opened_until = b + food.opened_days - 1
        for j, size in enumerate(problem.sizes):
            for t, trip in enumerate(problem.trips):
                last = min(opened_until, trip.day + food.closed_days)
                if size.good == good and trip.first_batch <= b <= last:
                    lots.append((b, last, size.grams, problem.price[j, t], t, None))
        for k, stock in enumerate(problem.stocks):
            last = min(opened_until, stock.last_day)
            if stock.good == good and not stock.opened and b <= last:
                lots.append((b, last, stock.grams, 0.0, None, k))
    most = [int(np.ceil(need[lot[0] : lot[1] + 1].sum() / lot[2])) for lot in lots]
    best = None
    for counts in product(*(range(n + 1) for n in most)):
        used = [(lot, n) for lot, n in zip(lots, counts, strict=True) if n]
        trips = {lot[4] for lot, _ in used if lot[4] is not None}
        cost = sum(n * lot[3] for lot, n in used) + sum(problem.trip_cost[t] for t in trips)
        if best is not None and cost >= best - 1e-9:
            continue
        if any(
            sum(n for lot, n in used if lot[5] == k) > stock.count
            for k, stock in enumerate(problem.stocks)
        ):
            continue
        if _can_feed(problem, good, choices, need, used):
            best = cost
    return best


def _can_feed(problem, good, choices, need, used):
    """Whether some flows from these lots feed every batch and fit the refrigerator."""
    sources = [(b, last, n * grams, trip, k) for (b, last, grams, _, trip, k), n in used]
    sources += [
        (-1, stock.last_day, stock.grams * stock.count, None, None)
        for stock in problem.stocks
        if stock.good == good and stock.opened
    ]
    # Without a refrigerator: the first to go out of date first.
    left = [source[2] for source in sources]
    for b in range(len(need)):
        wanted = need[b]
        order = sorted(
            (s for s in range(len(sources)) if sources[s][0] <= b <= sources[s][1]),
            key=lambda s: sources[s][1],
        )
        for s in order:
            taken = min(left[s], wanted)
            left[s] -= taken
            wanted -= taken
        if wanted > 1e-9:
            return False
    if not np.isfinite(problem.room):
        return True
    food = problem.goods[good]
    flows = [
        (s, b)
        for s, source in enumerate(sources)
        for b in range(len(need))
        if source[0] <= b <= source[1]
    ]
    a_eq = np.array([[float(b == day) for _, b in flows] for day in range(len(need))])
    rows, limits = [], []
    for s, source in enumerate(sources):
        rows.append([float(mine == s) for mine, _ in flows])
        limits.append(source[2])
    milk = problem.milk[:, list(choices)].sum(axis=1)
    for day in range(len(need)):
        closed = sum(
            source[2]
            for source in sources
            if source[3] is not None and problem.trips[source[3]].day <= day < source[0]
        )
        for k, stock in enumerate(problem.stocks):
            if not stock.opened and stock.good == good and day <= stock.last_day:
                gone = sum(source[2] for source in sources if source[4] == k and source[0] <= day)
                closed += stock.count * stock.grams - gone
        closed = closed if food.chilled else 0.0
        rows.append([float(sources[s][0] <= day < b) for s, b in flows])
        limits.append(problem.room - milk[day] - closed)
    if not flows:
        return not need.any() and min(limits, default=0.0) >= 0
    found = linprog(np.zeros(len(flows)), np.array(rows), np.array(limits), a_eq, need)
    return found.status == 0


# --- the textbook form --------------------------------------------------------------------------


def textbook(problem):  # noqa: PLR0912 - as the textbooks have it: one loop in another
    """The same problem as textbooks write it, as a bare HiGHS model: stocks carried from day to
    day by their last day, purchases under a big M.

    One mix (each group of choices has one member), no stock at home.
    """
    assert all(len(group) == 1 for group in problem.groups)
    assert not problem.stocks
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("threads", 1)
    model.setOptionValue("random_seed", 0)
    days, whole = problem.batches, highspy.HighsVarType.kInteger
    need = problem.need.sum(axis=2)
    milk = problem.milk.sum(axis=1)
    infinity = highspy.kHighsInf
    columns = []

    def column(cost=0.0, upper=infinity, integer=False):
        columns.append((cost, upper, integer))
        return len(columns) - 1

    rows = []

    def row(terms, low, high):
        rows.append((terms, low, high))

    go = [column(float(problem.trip_cost[t]), 1.0, True) for t in range(len(problem.trips))]
    standing = [[] for _ in range(days)]  # (column, mL) of the refrigerator
    for g, food in enumerate(problem.goods):
        if not need[g].any():
            continue
        made = {}  # (day of opening, last day) to columns and grams
        for j, size in enumerate(problem.sizes):
            if size.good != g:
                continue
            big = float(np.ceil(need[g].sum() / size.grams)) + days
            for t, trip in enumerate(problem.trips):
                buy = column(float(problem.price[j, t]), big, True)
                row([(buy, 1.0), (go[t], -big)], -infinity, 0.0)
                closed_until = trip.day + food.closed_days
                left = buy
                for d in range(trip.first_batch, min(days - 1, closed_until) + 1):
                    opened, rest = column(0.0, big, True), column()
                    # stock before = opened + stock after
                    row([(opened, 1.0), (rest, 1.0), (left, -1.0)], 0.0, 0.0)
                    last = min(d + food.opened_days - 1, closed_until, days - 1)
                    made.setdefault((d, last), []).append((opened, size.grams))
                    if food.chilled:
                        standing[d].append((rest, size.grams * food.millilitres))
                    left = rest
                if food.chilled and trip.first_batch > trip.day:
                    standing[trip.day].append((buy, size.grams * food.millilitres))
        before = {}
        for d in range(days):
            lasts = range(d, min(d + food.opened_days, days))
            used, after = {e: column() for e in lasts}, {e: column() for e in lasts}
            for e in lasts:
                terms = [(used[e], 1.0), (after[e], 1.0)]
                terms += [(opened, -grams) for opened, grams in made.get((d, e), ())]
                if e in before:
                    terms.append((before[e], -1.0))
                row(terms, -infinity, 0.0)  # the rest is thrown away
                if food.chilled_open:
                    standing[d].append((after[e], food.millilitres))
            row([(u, 1.0) for u in used.values()], float(need[g, d]), float(need[g, d]))
            before = after
    if np.isfinite(problem.room):
        for d in range(days):
            row(standing[d], -infinity, float(problem.room - milk[d]))
    for _, upper, _ in columns:
        model.addVar(0.0, upper)
    for k, (cost, _, integer) in enumerate(columns):
        model.changeColCost(k, cost)
        if integer:
            model.changeColIntegrality(k, whole)
    for terms, low, high in rows:
        model.addRow(
            low,
            high,
            len(terms),
            np.array([c for c, _ in terms], dtype=np.int32),
            np.array([v for _, v in terms], dtype=float),
        )
    return model
