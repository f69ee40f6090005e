"""Mixes that hold in the worst case when only a few foods differ at once.

Each carton lies within an interval. The foods of a batch are hardly ever all at their worst end at
once. With a *budget* Γ, any Γ of them may be (if Γ is a fraction, the last one by that part). For
the end k of a band, demanded ``m·y ≥ 0``, with ``a_i`` the most that a gram of food i can take
from it, the worst that Γ foods can do is the sum of the Γ largest ``a_i y_i``.
That is a linear program again (Bertsimas & Sim, The Price of Robustness, Operations Research
52(1), 2004):

    m·y − Γ w − Σ p_i ≥ 0,    w + p_i ≥ a_i y_i,    w, p ≥ 0

If the foods are independent, the paper also bounds the chance that an end is still missed,
whatever the symmetric distributions within the intervals: `violation_bound`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.branch import Relaxed, used_enough
from formulate.blend.design import explain_none
from formulate.blend.mix import Mix, NoMix, Status, finish, optimise
from formulate.blend.problem import Problem
from formulate.blend.protect.cones import forms_of, same_foods
from formulate.blend.solve import LinearProgram, Optimal, solve
from formulate.foods.spread import Spread

__all__ = [
    "BudgetedMix",
    "OverBudget",
    "design_budgeted",
    "violation_bound",
    "worst_of",
]

Array = NDArray[np.float64]

#: The largest possible budget is found to this precision.
BUDGET_STEP = 0.01


@brief_repr
@dataclass(frozen=True)
class BudgetedMix:
    """The cheapest mix that holds with some foods at their worst.

    Parameters
    ----------
    mix : Mix
    budget : float
        How many foods may be off at once.
    chance_missed : float
        No end of a band is missed more often than this [-], if the foods are independent and each
        lies within its interval, as likely above its mean as below.
    plain : Mix
        The cheapest mix of average cartons.
    """

    mix: Mix
    budget: float
    chance_missed: float
    plain: Mix

    @property
    def price_of_protection(self) -> float:
        """Extra cost of a litre over the cheapest mix of average cartons [money/L]."""
        cost, plain = self.mix.cost_per_litre, self.plain.cost_per_litre
        assert cost is not None
        assert plain is not None
        return cost - plain


@brief_repr
@dataclass(frozen=True)
class OverBudget:
    """No mix holds with so many foods at their worst. Holds no amounts of its own.

    Parameters
    ----------
    problem : Problem
    asked : float
        Budget.
    most : float
        Largest budget for which a mix was found.
    surest : BudgetedMix
        The cheapest mix at that budget.
    """

    problem: Problem
    asked: float
    most: float
    surest: BudgetedMix


def design_budgeted(
    problem: Problem,
    intervals: Spread,
    budget: float,
) -> BudgetedMix | OverBudget | NoMix:
    """Find the cheapest mix that keeps every band with any `budget` foods at their worst.

    Parameters
    ----------
    problem : Problem
        Every food needs a price.
    intervals : Spread
        Of the shelf's foods; its worst cartons are `below` and `above`.
    budget : float
        From 0 (average cartons) to the number of foods (all at their worst).

    Returns
    -------
    BudgetedMix
        Or `OverBudget`, with the largest budget for which there is a mix; or `NoMix` if not even
        average cartons make one.

    Raises
    ------
    InputError
        If the budget makes no sense, a food has no price, or the intervals are of other foods.
    """
    n = len(problem.shelf.foods)
    if not 0 <= budget <= n:
        raise InputError(
            say("sure.budget", count=budget),
            say("sure.budget-remedy", n=n),
        )
    same_foods(problem, intervals.composition)
    problem.shelf.require_prices()
    worst = intervals.worst_of_forms(forms_of(problem))
    best = optimise(problem)
    if best is None:
        return explain_none(problem)
    plain = finish(problem, best.x * problem.volume, Status.OPTIMAL, best.certificate)

    def guarded(found: Optimal, budget: float) -> BudgetedMix:
        y = found.x[:n]
        _verify(problem, worst, y, budget)
        used = int((y * worst.max(axis=0, initial=0.0) > 0).sum())
        mix = finish(problem, y * problem.volume, Status.OPTIMAL, found.certificate)
        return BudgetedMix(mix, budget, violation_bound(used, min(budget, used)), plain)

    found = _cheapest(problem, worst, budget)
    if found is not None:
        return guarded(found, budget)
    low, high, found = 0, math.ceil(budget / BUDGET_STEP - 1e-9), best
    while high - low > 1:
        middle = (low + high) // 2
        better = _cheapest(problem, worst, middle * BUDGET_STEP)
        low, high = (low, middle) if better is None else (middle, high)
        found = found if better is None else better
    most = round(low * BUDGET_STEP, 6)
    return OverBudget(problem, budget, most, guarded(found, most))


def _cheapest(problem: Problem, worst: Array, budget: float) -> Optimal | None:
    """Solve the robust counterpart, with each food used enough or not at all."""
    n = len(problem.shelf.foods)

    def attempt(lower: Array, upper: Array) -> Relaxed[Optimal] | None:
        found = solve(_program(problem, worst, budget, lower, upper))
        if not isinstance(found, Optimal):
            return None
        return Relaxed(found, found.objective, found.objective)

    floors = problem.shelf.smallest / problem.volume
    return used_enough(floors, attempt, lambda found: found.x[:n]).answer


def _program(
    problem: Problem, worst: Array, budget: float, lower: Array, upper: Array
) -> LinearProgram:
    """Columns: n foods, then w of each guarded end, then p of each end and food that matter."""
    plain = problem.program()
    m, n = plain.shape
    ends = np.flatnonzero((worst > 0).any(axis=1))
    end, food = np.nonzero(worst[ends] > 0)
    e, pairs = ends.size, end.size
    matrix = np.zeros((m + pairs, n + e + pairs))
    matrix[:m, :n] = plain.matrix
    sign = np.where(problem.is_low[ends], 1.0, -1.0)
    matrix[ends, n + np.arange(e)] = -budget * sign
    matrix[ends[end], n + e + np.arange(pairs)] = -sign[end]
    rows = m + np.arange(pairs)
    matrix[rows, n + end] = 1.0
    matrix[rows, n + e + np.arange(pairs)] = 1.0
    matrix[rows, food] = -worst[ends[end], food]
    return LinearProgram(
        cost=np.append(plain.cost, np.zeros(e + pairs)),
        matrix=matrix,
        row_lower=np.append(plain.row_lower, np.zeros(pairs)),
        row_upper=np.append(plain.row_upper, np.full(pairs, math.inf)),
        col_lower=np.append(lower, np.zeros(e + pairs)),
        col_upper=np.append(upper, np.full(e + pairs, math.inf)),
    )


def worst_of(worst: Array, y: Array, budget: float) -> Array:
    """The most that `budget` foods can take from each end in a mix, shape (e,).

    Parameters
    ----------
    worst : ndarray, shape (e, n)
        The most that a gram of each food can take.
    y : ndarray, shape (n,)
    budget : float
    """
    taken = -np.sort(-worst * y, axis=1)
    whole = math.floor(budget)
    part: Array = taken[:, :whole].sum(axis=1)
    if whole < y.size:
        part = part + (budget - whole) * taken[:, whole]
    return part


def _verify(problem: Problem, worst: Array, y: Array, budget: float) -> None:
    """Check the answer against the worst case itself, not only against its linear program."""
    e = worst.shape[0]
    sign = np.where(problem.is_low[:e], 1.0, -1.0)
    left = sign * (problem.rows[:e] @ y) - worst_of(worst, y, budget)
    if left.min(initial=0.0) < -1e-8:
        raise SolverFault(say("solver.worst-case-missed", miss=-left.min()))


def violation_bound(foods: int, budget: float) -> float:
    """The paper's bound on the chance that a guarded end is missed (its theorem 3).

    Parameters
    ----------
    foods : int
        How many foods vary.
    budget : float
        How many may be off at once, at most `foods`.

    Notes
    -----
    ``B(n, Γ) = 2⁻ⁿ ((1 − μ) C(n, ⌊ν⌋) + Σ_{l > ⌊ν⌋} C(n, l))`` with ``ν = (Γ + n) / 2`` and
    ``μ = ν − ⌊ν⌋``: from memory, and in agreement with the paper's table of budgets.
    """
    if foods == 0 or budget >= foods:
        return 0.0
    nu = (budget + foods) / 2
    floor = math.floor(nu)
    more = sum(math.comb(foods, k) for k in range(floor + 1, foods + 1))
    # Whole numbers divided by whole numbers: 2ⁿ is too large for a float at 2,000 foods.
    every: int = 2**foods
    return (1 - (nu - floor)) * (math.comb(foods, floor) / every) + more / every
