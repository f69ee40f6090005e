"""Solve one food on its own, exactly: which packages to open when, at the least cost.

Nothing is opened before it is needed, the oldest is used first, and what is bought is bought on
the last trip before it is opened: none of these rules can raise the cost. So the state between two
batches is only what is open and what stock is left. Few states are worth keeping: a state is
dropped if another has no less of anything for no more money.

Stock at home may keep longer than what could be bought beside it. Then oldest first is not always
best, and there is a plan but no floor (`in_order`).

A *share* of the refrigerator can be set for the evening of each trip. Then the state also holds
what this food has had there since the trip: packages still closed that evening, and what was
open and has been used since. If that exceeds the share, part of what was open should have been
thrown away, and it is deducted at the next trip. That allows a little more than the refrigerator
does and never less, so the cost stays a floor under every plan.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.clock import Clock
from formulate.base.content import ByContent
from formulate.shopping.lots import LotProblem

__all__ = ["FoodPlan", "NoFoodPlan", "floors_of_runs", "in_order", "in_turn", "plan_food"]

Array = NDArray[np.float64]

#: With more states than this, or more ways to open packages for one batch, the answer is valid but
#: not a floor.
MOST_STATES = 400
MOST_WAYS = 300
#: States kept once the time is up: enough for a valid answer soon, not for a floor.
HURRIED_STATES = 8
DUST = 1e-7  # [g]

#: What is open: (last batch, batch of opening, grams), the first to go out of date first.
Piles = tuple[tuple[int, int, float], ...]
#: Packages to open: (place in the list of packages, how many).
Way = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class _Pack:
    """A package that can be opened for a batch."""

    lot: int
    grams: float
    price: float
    last: int
    stock: int  # −1 where it is bought


@dataclass(frozen=True, slots=True)
class _Stock:
    piles: Piles
    left: tuple[int, ...]  # of each stock
    load: float  # this food's part of the refrigerator on the evening of the last trip [mL]
    cost: float
    opened: tuple[tuple[int, int], ...]  # (lot, count) for this batch
    before: _Stock | None
    over: float = 0.0  # what passed the share since the last trip [g]


@dataclass(frozen=True, eq=False)
class FoodPlan(ByContent):
    """Packages of one food.

    Parameters
    ----------
    count : mapping of lot to packages
    flows : mapping of (good, opened, last, batch) to grams
    cost : float
        [money]
    floor : float
        No plan buys this food for less [money]; 0 where that is not known.
    """

    count: dict[int, int]
    flows: dict[tuple[int, int, int, int], float]
    cost: float
    floor: float


@dataclass(frozen=True)
class NoFoodPlan:
    """One food cannot be bought in date, or cannot be kept.

    Parameters
    ----------
    proved : bool
        Whether every way was tried.
    """

    proved: bool


def plan_food(
    problem: LotProblem,
    good: int,
    need: Array,
    share: Array,
    sizes: frozenset[int] | None = None,
    clock: Clock | None = None,
) -> FoodPlan | NoFoodPlan:
    """Plan one food.

    Parameters
    ----------
    problem : LotProblem
    good : int
    need : ndarray, shape (n_batches,)
        [g]
    share : ndarray, shape (n_trips,)
        Its room in the refrigerator on the evening of each trip [mL].
    sizes : frozenset of int, optional
        Only these; then there is no floor.
    clock : Clock, optional
        Once it is over the plan is finished with few states, and there is no floor.
    """
    last_step: list[_Stock] = []
    exact = sizes is None and in_order(problem, good)
    for states, all_of_them in _walk(problem, good, need, share, 0, sizes, clock):
        last_step, exact = states, exact and all_of_them
    if not last_step:
        return NoFoodPlan(exact)
    best = min(last_step, key=lambda state: (state.cost, -sum(p[2] for p in state.piles)))
    return _told(problem, good, need, best, exact)


def in_order(problem: LotProblem, good: int) -> bool:
    """Whether what is opened later never goes out of date sooner."""
    lots = problem.lots
    mine = lots.good == good
    bought = np.flatnonzero(mine & (lots.stock < 0))
    stock = [
        (int(lots.opened[k]), int(lots.last[k])) for k in np.flatnonzero(mine) if lots.stock[k] >= 0
    ]
    stock += [(-1, last) for g, last, _ in problem.open_stock() if g == good]
    return not any(
        opened <= lots.opened[k] and last > lots.last[k] for opened, last in stock for k in bought
    )


def floors_of_runs(
    problem: LotProblem,
    good: int,
    need: Array,
    share: Array,
    first: int,
    clock: Clock | None = None,
) -> Array:
    """Least money for the needs of batches `first` to b alone, for every b, shape (n_batches,).

    0 where it is not known, as after the clock is over. What is open or in stock at home is
    there for any of them.
    """
    floors = np.zeros(problem.batches)
    if not in_order(problem, good):
        return floors
    walked = _walk(problem, good, need, share, first, None, clock)
    for b, (states, exact) in enumerate(walked, first):
        if not states or not exact:
            break
        floors[b] = min(state.cost for state in states)
    return floors


def _walk(
    problem: LotProblem,
    good: int,
    need: Array,
    share: Array,
    first: int = 0,
    sizes: frozenset[int] | None = None,
    clock: Clock | None = None,
) -> Iterator[tuple[list[_Stock], bool]]:
    """States after each batch from `first` on, and whether they are complete."""
    room = problem.goods[good].millilitres if problem.goods[good].chilled else 0.0
    open_room = problem.goods[good].millilitres if problem.goods[good].chilled_open else 0.0
    stocks = [k for k, s in enumerate(problem.stocks) if s.good == good and not s.opened]
    piles: Piles = tuple(
        sorted((last, -1, grams) for g, last, grams in problem.open_stock() if g == good)
    )
    start = _Stock(piles, tuple(problem.stocks[k].count for k in stocks), 0.0, 0.0, (), None)
    states, exact, trip, since, limit = [start], True, -1, first, np.inf
    for b in range(first, problem.batches):
        packs = _packs(problem, good, b, stocks, sizes)
        if problem.latest_trip(b) != trip:
            states = _settle(states, limit, open_room)
            trip, since = problem.latest_trip(b), b
            limit = np.inf if trip < 0 else float(share[trip])
        found: dict[tuple[Piles, tuple[int, ...], float], _Stock] = {}
        for state in states:
            rest, short = _take(state.piles, b, float(need[b]))
            old = sum(p[2] for p in state.piles if p[1] < since <= b <= p[0])
            old -= sum(p[2] for p in rest if p[1] < since)
            ways: list[Way] = [()]
            if short > DUST:
                ways, all_of_them = _ways(packs, short, state.left)
                exact = exact and all_of_them
            for way in ways:
                new = _open(state, rest, short, way, packs, b)
                bought = sum(count * packs[at].grams for at, count in way if packs[at].stock < 0)
                load = round(state.load + old * open_room + bought * room, 4)
                if bought * room > limit:
                    continue
                new = replace(new, load=load if limit < np.inf else 0.0)
                key = (new.piles, new.left, new.load)
                if key not in found or new.cost < found[key].cost:
                    found[key] = new
        states = _worth_keeping(list(found.values()))
        if b == problem.batches - 1:
            states = _settle(states, limit, open_room)
        most = HURRIED_STATES if clock is not None and clock.over() else MOST_STATES
        if len(states) > most:
            states, exact = states[:most], False
        yield states, exact
        if not states:
            return


def _settle(states: list[_Stock], limit: float, open_room: float) -> list[_Stock]:
    """At the next trip: take what passed the share off what is left; drop where there is none."""
    kept = []
    for state in states:
        grams = max(state.load - limit - 1e-3, 0.0) / open_room if open_room else 0.0
        if grams > sum(pile[2] for pile in state.piles) + DUST:
            continue
        over, piles = grams, []
        for last, opened, there in state.piles:
            taken = min(there, grams)
            grams -= taken
            if there - taken > DUST:
                piles.append((last, opened, round(there - taken, 6)))
        kept.append(replace(state, piles=tuple(piles), load=0.0, over=over))
    return kept


def _packs(
    problem: LotProblem, good: int, b: int, stocks: list[int], sizes: frozenset[int] | None
) -> list[_Pack]:
    """Packages for a batch: stock, then each size from the last trip, the largest first."""
    lots = problem.lots
    mine = np.flatnonzero((lots.good == good) & (lots.opened == b))
    found = []
    for lot in mine:
        size = int(lots.size[lot])
        if size < 0:
            last, stock = int(lots.last[lot]), stocks.index(int(lots.stock[lot]))
            found.append(_Pack(int(lot), float(lots.grams[lot]), 0.0, last, stock))
            continue
        same = mine[lots.size[mine] == size]
        if lot == same[np.argmax(lots.trip[same])] and (sizes is None or size in sizes):
            price = float(lots.price[same].min())
            found.append(_Pack(int(lot), float(lots.grams[lot]), price, int(lots.last[lot]), -1))
    return sorted(found, key=lambda p: (p.stock < 0, -p.grams, p.price, p.lot))


def _take(piles: Piles, b: int, wanted: float) -> tuple[Piles, float]:
    """Use what is open, the oldest first: what is left of it, and what is still wanted."""
    rest = []
    for last, opened, grams in piles:
        if last < b or grams <= DUST:
            continue
        taken = min(grams, wanted)
        wanted -= taken
        if grams - taken > DUST:
            rest.append((last, opened, grams - taken))
    return tuple(rest), wanted


def _ways(packs: list[_Pack], short: float, left: tuple[int, ...]) -> tuple[list[Way], bool]:
    """Ways to cover what is short in which nothing bought could be left out; whether all.

    Any number of the stock may go first, since it may not keep until it is needed.
    """
    found: list[Way] = []

    def fill(at: int, wanted: float, way: Way) -> None:
        if wanted <= DUST:
            found.append(way)
            return
        if at == len(packs) or len(found) > MOST_WAYS:
            return
        pack = packs[at]
        most = int(np.ceil((wanted - DUST) / pack.grams))
        if pack.stock >= 0:
            most = min(most, left[pack.stock])
        for count in range(most, -1, -1):
            more = ((at, count),) if count else ()
            fill(at + 1, wanted - count * pack.grams, (*way, *more))

    fill(0, short, ())
    return found[:MOST_WAYS], len(found) <= MOST_WAYS


def _open(state: _Stock, rest: Piles, short: float, way: Way, packs: list[_Pack], b: int) -> _Stock:
    """Open packages for a batch and use them, the first to go out of date first."""
    left, cost = list(state.left), state.cost
    fresh: dict[int, float] = {}
    for at, count in way:
        pack = packs[at]
        cost += count * pack.price
        fresh[pack.last] = fresh.get(pack.last, 0.0) + count * pack.grams
        if pack.stock >= 0:
            left[pack.stock] -= count
    opened, _ = _take(tuple((last, b, fresh[last]) for last in sorted(fresh)), b, short)
    piles = tuple((last, since, round(grams, 6)) for last, since, grams in sorted((*rest, *opened)))
    lots = tuple((packs[at].lot, count) for at, count in way)
    return _Stock(piles, tuple(left), state.load, cost, lots, state)


def _worth_keeping(states: list[_Stock]) -> list[_Stock]:
    """Drop a state if another has no less of anything for no more money."""
    states.sort(key=lambda s: (s.cost, s.load, -sum(p[2] for p in s.piles), s.piles, s.left))
    kept: list[_Stock] = []
    for state in states:
        if not any(_does_for(other, state) for other in kept):
            kept.append(state)
        if len(kept) > MOST_STATES:
            break
    return kept


def _does_for(better: _Stock, worse: _Stock) -> bool:
    if better.load > worse.load or better.left != worse.left:
        if better.load > worse.load:
            return False
        if any(a < b for a, b in zip(better.left, worse.left, strict=True)):
            return False
    for last, _, _ in worse.piles:
        has = sum(grams for until, _, grams in better.piles if until >= last)
        if has < sum(grams for until, _, grams in worse.piles if until >= last) - DUST:
            return False
    return True


def _told(problem: LotProblem, good: int, need: Array, best: _Stock, exact: bool) -> FoodPlan:
    """Follow the way back, then open and use in the same order.

    What passed a share is thrown away on the evening of the trip, and the packages bought then
    are opened as much sooner.
    """
    path: list[_Stock] = []
    state: _Stock | None = best
    while state is not None and state.before is not None:
        path.append(state)
        state = state.before
    path.reverse()
    trips = [problem.latest_trip(b) for b in range(problem.batches)]
    starts = [b for b in range(problem.batches) if b == 0 or trips[b] != trips[b - 1]]
    arrivals, thrown = {}, {}
    for b, end in zip(starts, (*starts[1:], problem.batches), strict=True):
        opened = [pair for step in path[b:end] for pair in step.opened]
        arrivals[b] = [lot for lot, packages in opened for _ in range(packages)]
        thrown[b] = path[end - 1].over
    count, flows = in_turn(problem, good, need, arrivals, thrown)
    cost = sum(packages * float(problem.lots.price[lot]) for lot, packages in count.items())
    return FoodPlan(count, flows, cost, best.cost if exact else 0.0)


def in_turn(
    problem: LotProblem,
    good: int,
    need: Array,
    arrivals: Mapping[int, Sequence[int]],
    thrown: Mapping[int, float],
) -> tuple[dict[int, int], dict[tuple[int, int, int, int], float]]:
    """Open packages only when something is short, in the order of arrival; the oldest first.

    Parameters
    ----------
    problem : LotProblem
    good : int
    need : ndarray, shape (n_batches,)
        [g]
    arrivals : mapping of batch to lots
        What is at home before a batch and was not before; a lot stands for one package and
        may be opened for another batch than it names, and bought later where that will do.
    thrown : mapping of batch to grams
        Of what is open, thrown away before a batch.

    Returns
    -------
    count : dict of lot to packages
    flows : dict of (good, opened, last, batch) to grams
        They fall short where the packages do.
    """
    lots = problem.lots
    lot_of = {
        (int(lots.size[k]), int(lots.stock[k]), int(lots.trip[k]), int(lots.opened[k])): int(k)
        for k in np.flatnonzero(lots.good == good)
    }
    count: dict[int, int] = {}
    flows: dict[tuple[int, int, int, int], float] = {}
    there: dict[tuple[int, int], float] = {}
    for g, last, grams in problem.open_stock():
        if g == good:
            there[last, -1] = there.get((last, -1), 0.0) + grams
    waiting: list[int] = []
    for b in range(problem.batches):
        waiting += arrivals.get(b, ())
        over = thrown.get(b, 0.0)
        for key in sorted(there):
            taken = min(there[key], over) if key[0] >= b else 0.0
            there[key] -= taken
            over -= taken
        wanted = float(need[b])
        while wanted > DUST:
            open_now = [key for key in sorted(there) if key[0] >= b and there[key] > DUST]
            if open_now:
                last, opened = open_now[0]
                taken = min(there[last, opened], wanted)
                there[last, opened] -= taken
                wanted -= taken
                flow = (good, opened, last, b)
                flows[flow] = flows.get(flow, 0.0) + taken
                continue
            if not waiting:
                break
            planned = waiting.pop(0)
            size, stock, trip = (int(a[planned]) for a in (lots.size, lots.stock, lots.trip))
            if trip >= 0 and problem.latest_trip_does:
                trip = problem.latest_trip(b)
            lot = lot_of.get((size, stock, trip, b))
            if lot is None:  # out of date before it was needed
                continue
            count[lot] = count.get(lot, 0) + 1
            key = (int(lots.last[lot]), b)
            there[key] = there.get(key, 0.0) + float(lots.grams[lot])
    return count, flows
