"""A first feasible plan without search, and lower bounds on the cost of each food.

Each food is planned by itself (`formulate.shopping.lot_by_food`), for one mix all the season.
Together they are the cheapest plan of all where there is one mix, going costs nothing and the
refrigerator is large. In a small one the foods that need least room are planned first, and each
gets what the others leave.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.base.clock import Clock
from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.shopping.lot_by_food import FoodPlan, NoFoodPlan, plan_food
from formulate.shopping.lots import LotPlan, LotProblem, audit

__all__ = ["Start", "fewer_trips", "first_plan", "shares"]

Array = NDArray[np.float64]

#: How often shares are cut before other packages are tried.
_TRIES = 8


@dataclass(frozen=True, eq=False)
class Start(ByContent):
    """Where a search begins.

    Parameters
    ----------
    plan : LotPlan or None
        None if no attempt is sound.
    floors : ndarray, shape (n_goods,)
        No plan buys a food for less [money]; 0 where nothing is known.
    impossible : str
        A food that cannot be bought in date or kept, whatever is bought; empty if none is known.
    """

    plan: LotPlan | None
    floors: Array
    impossible: str = ""


def first_plan(problem: LotProblem, clock: Clock) -> Start:
    """Build a plan without search.

    Once the time is up, no other mix is tried and the foods are planned quickly: there is still a
    plan.
    """
    alone = all(len(group) == 1 for group in problem.groups)
    best: LotPlan | None = None
    floors = np.zeros(len(problem.goods))
    impossible = ""
    for pick in range(max((len(group) for group in problem.groups), default=0)):
        choices = tuple(group[min(pick, len(group) - 1)] for group in problem.groups)
        needs = problem.need[:, :, list(choices)].sum(axis=2)
        goods = range(len(problem.goods))
        foods = [
            plan_food(problem, g, needs[g], shares(problem, choices, g), clock=clock) for g in goods
        ]
        found = [food for food in foods if isinstance(food, FoodPlan)]
        if alone:
            floors = np.array([f.floor if isinstance(f, FoodPlan) else 0.0 for f in foods])
            impossible = next(
                (
                    good.name
                    for good, food in zip(problem.goods, foods, strict=True)
                    if isinstance(food, NoFoodPlan) and food.proved
                ),
                "",
            )
        if len(found) == len(foods):
            plan = _joined(problem, choices, found) or _by_turns(problem, choices, needs, clock)
            if plan is not None and (best is None or plan.cost < best.cost):
                best = plan
        if best is not None and clock.over():
            break
    return Start(best, floors, impossible)


def fewer_trips(plan: LotPlan, clock: Clock) -> LotPlan:
    """Leave out trips, one after another, while that makes a plan cheaper and there is time."""
    problem, best = plan.problem, plan
    needs = plan.needs
    for trip in sorted(plan.trips_made, reverse=True):
        if clock.over():
            break
        kept = [t for t in best.trips_made if t != trip]
        fewer = replace(
            problem,
            trips=tuple(problem.trips[t] for t in kept),
            price=problem.price[:, kept],
            trip_cost=problem.trip_cost[kept],
        )
        goods = range(len(problem.goods))
        foods = [
            plan_food(fewer, g, needs[g], shares(fewer, plan.choices, g), clock=clock)
            for g in goods
        ]
        found = [food for food in foods if isinstance(food, FoodPlan)]
        tried = _joined(fewer, plan.choices, found) if len(found) == len(foods) else None
        if tried is not None and tried.cost < best.cost:
            best = _moved(tried, problem, kept)
    return best


def _moved(plan: LotPlan, problem: LotProblem, trips: Sequence[int]) -> LotPlan:
    """A plan for some of a problem's trips as one for all of them."""
    old, new = plan.problem.lots, problem.lots
    place = {
        (int(new.size[k]), int(new.stock[k]), int(new.trip[k]), int(new.opened[k])): k
        for k in range(len(new))
    }
    count = np.zeros(len(new), dtype=np.int64)
    for k in np.flatnonzero(plan.count):
        trip = trips[old.trip[k]] if old.trip[k] >= 0 else -1
        key = (int(old.size[k]), int(old.stock[k]), trip, int(old.opened[k]))
        count[place[key]] = plan.count[k]
    return replace(plan, problem=problem, count=count)


def shares(problem: LotProblem, choices: Sequence[int], good: int) -> Array:
    """Room that a food can have on the evening of each trip [mL], shape (n_trips,).

    What is over after the mixed milk and the least that the other foods need until the next
    trip. Without end where the trip is before that day's mixing.
    """
    found = np.full(len(problem.trips), np.inf)
    if not np.isfinite(problem.room):
        return found
    milk = problem.milk[:, list(choices)].sum(axis=1)
    needs = problem.need[:, :, list(choices)].sum(axis=2)
    for t, trip in enumerate(problem.trips):
        if trip.first_batch < problem.batches and problem.mix_day[trip.first_batch] <= trip.day:
            continue
        others = [g for g in range(len(problem.goods)) if g != good]
        least = _least_room(problem, needs, others, t)
        found[t] = problem.room - milk[trip.day] - least
    return found


def _by_turns(
    problem: LotProblem, choices: tuple[int, ...], needs: Array, clock: Clock
) -> LotPlan | None:
    """One food after another, each in the room that is left; None if none fits.

    A share does not account for everything. If the plan overflows, that trip's shares are cut by
    the same amount and it is tried again, finally with the smallest packages of all but the last
    food.
    """
    volume = [needs[g].sum() * good.millilitres for g, good in enumerate(problem.goods)]
    order = sorted(range(len(problem.goods)), key=lambda g: volume[g])
    smallest = _smallest(problem)
    best: LotPlan | None = None
    for only in (None, order[:-1], order):
        margin = np.zeros(len(problem.trips))
        for attempt in range(_TRIES):
            plan = _fitted(
                problem, choices, needs, order, margin, {g: smallest[g] for g in only or ()}, clock
            )
            if plan is None:
                break
            over = plan.room() - problem.room
            if over.max(initial=0.0) <= 0.0:
                sound = _sound(plan)
                if sound is not None and (best is None or sound.cost < best.cost):
                    best = sound
                break
            for day in np.flatnonzero(over > 0):
                before = [t for t, trip in enumerate(problem.trips) if trip.day <= day]
                margin[before[-1:]] += 2**attempt * over[day] + 1.0
        if best is not None:
            break
    return best


def _fitted(
    problem: LotProblem,
    choices: tuple[int, ...],
    needs: Array,
    order: Sequence[int],
    margin: Array,
    sizes: dict[int, frozenset[int]],
    clock: Clock,
) -> LotPlan | None:
    """The foods in turn, `margin` [mL] of the refrigerator left free after each trip."""
    count = np.zeros(len(problem.lots), dtype=np.int64)
    flows: dict[tuple[int, int, int, int], float] = {}
    for place, g in enumerate(order):
        before = LotPlan(problem, choices, count, flows, -np.inf, False).room()
        share = shares(problem, choices, g)
        for t, trip in enumerate(problem.trips):
            if np.isfinite(share[t]):
                least = _least_room(problem, needs, order[place + 1 :], t)
                share[t] = problem.room - margin[t] - before[trip.day] - least
        food = plan_food(problem, g, needs[g], share, sizes.get(g), clock)
        if isinstance(food, NoFoodPlan):
            return None
        for lot, packages in food.count.items():
            count[lot] += packages
        flows |= food.flows
    return LotPlan(problem, choices, count, flows, -np.inf, False)


def _least_room(problem: LotProblem, needs: Array, goods: Sequence[int], t: int) -> float:
    """Least room that some foods need on the evening of a trip [mL]."""
    start = problem.trips[t].first_batch
    until = min(
        (other.first_batch for other in problem.trips if other.first_batch > start),
        default=problem.batches,
    )
    return float(
        sum(
            needs[g, start:until].sum() * problem.goods[g].millilitres
            for g in goods
            if problem.goods[g].chilled and problem.goods[g].chilled_open
        )
    )


def _smallest(problem: LotProblem) -> list[frozenset[int]]:
    """The smallest package of each food: least in the refrigerator."""
    found = []
    for good in range(len(problem.goods)):
        mine = [j for j, size in enumerate(problem.sizes) if size.good == good]
        found.append(frozenset(sorted(mine, key=lambda j: problem.sizes[j].grams)[:1]))
    return found


def _joined(
    problem: LotProblem, choices: tuple[int, ...], foods: Sequence[FoodPlan]
) -> LotPlan | None:
    """The foods' plans as one; None if the refrigerator overflows."""
    count = np.zeros(len(problem.lots), dtype=np.int64)
    flows: dict[tuple[int, int, int, int], float] = {}
    for food in foods:
        for lot, packages in food.count.items():
            count[lot] += packages
        flows |= food.flows
    return _sound(LotPlan(problem, choices, count, flows, bound=-np.inf, complete=False))


def _sound(plan: LotPlan) -> LotPlan | None:
    try:
        audit(plan)
    except SolverFault:  # the refrigerator overflows
        return None
    return plan
