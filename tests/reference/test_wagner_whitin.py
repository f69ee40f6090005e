"""The classic dynamic lot-sizing example, with spoilage switched off.

Wagner & Whitin 1958, Dynamic version of the economic lot size model, Management Science
5(1):89–96: twelve months, holding one unit a month costs 1, setting up costs as below; the
optimum is 864. The paper was not at hand: demands and set-up costs agree in several public
transcriptions of its table, and the optimum is reached below by its own recursion too.
"""

import numpy as np
import pytest

from formulate.shopping.lot_solve import solve_lots
from formulate.shopping.lots import Good, LotProblem, Size, Trip

DEMAND = (69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56)
SETUP = (85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114)
OPTIMUM = 864.0
MONTHS = len(DEMAND)

#: High enough that no price falls below zero.
PRICE = 20.0


def as_shopping() -> LotProblem:
    """Each month a trip that costs its set-up; packages of one unit that keep for ever.

    Holding h a month is a price that falls by h a month: a unit bought in month t for month d
    costs (P − h t), which is h (d − t) more than (P − h d), a constant of the demand.
    """
    numbers = np.arange(MONTHS)
    return LotProblem(
        (Good("widget", 10_000, 10_000, 1.0, False, False),),
        (Size(0, 1.0, "one"),),
        tuple(Trip(t, t) for t in range(MONTHS)),
        (),
        numbers,
        numbers,
        np.array(DEMAND, float)[None, :, None],
        ((0,),),
        np.zeros((MONTHS, 1)),
        (PRICE - numbers)[None, :].astype(float),
        np.array(SETUP, float),
    )


CONSTANT = sum(d * (PRICE - month) for month, d in enumerate(DEMAND))


def by_recursion() -> float:
    best = [0.0]
    for end in range(1, MONTHS + 1):
        best.append(
            min(
                best[start]
                + SETUP[start]
                + sum((month - start) * DEMAND[month] for month in range(start, end))
                for start in range(end)
            )
        )
    return best[-1]


def test_the_papers_recursion_gives_the_papers_optimum():
    assert by_recursion() == OPTIMUM


def test_the_shopping_program_gives_it_too():
    plan = solve_lots(as_shopping(), relative_gap=0.0)
    assert plan.cost - CONSTANT == pytest.approx(OPTIMUM)
    assert plan.bound - CONSTANT == pytest.approx(OPTIMUM, abs=1e-3)
    # Nothing is left over, and a month's demand comes from one trip, as Wagner and Whitin prove.
    assert int(plan.count.sum()) == sum(DEMAND)


def test_set_up_months():
    plan = solve_lots(as_shopping(), relative_gap=0.0)
    months = plan.trips_made
    cost = sum(SETUP[t] for t in months)
    for month, demand in enumerate(DEMAND):
        cost += demand * (month - max(t for t in months if t <= month))
    assert cost == OPTIMUM
