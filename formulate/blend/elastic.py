"""A problem whose demanded bands may be missed, at a price.

Every demanded end gets a slack; the *total miss* of a mix is the sum, over those ends, of the
miss divided by the band's width. Safety ceilings, largest shares and stocks get none.

A miss is a ratio, and a sum of ratios with different denominators is no linear program: the
denominators are taken from the mix before and the program solved again until it no longer
gains. Where every denominator is the same measure (all as fed, say), it is held at 1 and the
first solution is already exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.bands import Role
from formulate.blend.problem import Problem
from formulate.blend.solve import LinearProgram, Optimal, solve

__all__ = ["LEAST", "Elastic"]

Array = NDArray[np.float64]

#: Rounds of solving again with the denominators of the mix before.
ROUNDS = 10

#: A denominator is taken for no less: water has no solids to miss anything by.
LEAST = 1e-12


@dataclass(frozen=True)
class Elastic:
    """The demanded ends of a problem, k of them, each with a slack.

    Parameters
    ----------
    problem : Problem
    ends : ndarray of int, shape (k,)
        Rows of the problem that may be missed.
    widths : ndarray, shape (k,)
        What a miss is divided by, as a plain ratio of numerator to denominator.
    below : ndarray, shape (k, n)
        Denominator of each end [per g].
    """

    problem: Problem
    ends: NDArray[np.intp]
    widths: Array
    below: Array

    @classmethod
    def of(cls, problem: Problem, widths: Sequence[float] | None = None) -> Elastic:
        """Make the demanded ends of a problem elastic.

        `widths`, one for each binding band in its unit, stand in for those of the bands.
        """
        binding, composition = problem.bands.binding, problem.shelf.composition
        given = [band.width for band in binding] if widths is None else widths
        ends = [
            (k, int(b))
            for k, b in enumerate(problem.bands.ends.band)
            if binding[b].role is Role.DEMANDED
        ]
        below = [composition.row(binding[b].denominator) for _, b in ends]
        return cls(
            problem,
            np.array([k for k, _ in ends], dtype=np.intp),
            np.array([given[b] / binding[b].scale for _, b in ends], dtype=np.float64),
            np.array(below, dtype=np.float64).reshape(len(ends), len(composition.foods)),
        )

    @cached_property
    def one_basis(self) -> bool:
        """Whether every denominator is the same measure, so that the least miss is exact."""
        return bool((self.below == self.below[:1]).all())

    @cached_property
    def size(self) -> Array:
        """The row that equals 1: the denominator where there is only one, else the weight."""
        if self.one_basis and self.ends.size:
            common: Array = self.below[0]
            return common
        return self.problem.shelf.composition.row("mass")

    def weights(self, denominators: Array) -> Array:
        """Price of a unit of each slack, given the denominators [per unit of size]."""
        return self.problem.row_scale[self.ends] / (self.widths * denominators)

    def total(self, amounts: Array) -> float:
        """Total miss of a mix; any size of it."""
        values = (self.problem.rows[self.ends] @ amounts) * self.problem.row_scale[self.ends]
        misses = np.maximum(np.where(self.problem.is_low[self.ends], -values, values), 0.0)
        below = np.maximum(self.below @ amounts, LEAST)
        return float((misses / (self.widths * below)).sum())

    def program(
        self,
        cost: Array,
        slack_cost: Array,
        at_most: tuple[Array, ...] = (),
        size: Array | None = None,
    ) -> LinearProgram:
        """Arrays for the solver: n foods, then k slacks; the size row comes after the limits.

        Parameters
        ----------
        cost : ndarray, shape (n,)
        slack_cost : ndarray, shape (k,)
        at_most : tuple of ndarray, shape (n + k,)
            Rows that are at most 0, added at the end.
        size : ndarray, shape (n,), optional
            The row that equals 1; `size` of the class where left out.
        """
        plain = self.problem.program(cost, size=self.size if size is None else size)
        m, n = plain.shape
        k = self.ends.size
        give = np.zeros((m, k))
        give[self.ends, np.arange(k)] = np.where(self.problem.is_low[self.ends], 1.0, -1.0)
        return LinearProgram(
            cost=np.concatenate((cost, slack_cost)),
            matrix=np.vstack((np.hstack((plain.matrix, give)), *at_most)),
            row_lower=np.append(plain.row_lower, np.full(len(at_most), -math.inf)),
            row_upper=np.append(plain.row_upper, np.zeros(len(at_most))),
            col_lower=np.zeros(n + k),
            col_upper=np.full(n + k, math.inf),
        )

    def cap(self, within: float) -> Array:
        """Row that is at most 0 where a litre costs no more than `within` [money/L].

        Divided by the largest price, so that its entries are about 1 as those of the limits are.
        """
        shelf = self.problem.shelf
        row = shelf.price - within / 1e3 * shelf.composition.row("volume")
        return np.append(row / (shelf.price.max() or 1.0), np.zeros(self.ends.size))

    def least(self, within: float | None = None) -> Array | None:
        """Find the mix of least total miss; among equals the cheapest.

        Parameters
        ----------
        within : float, optional
            Most that a litre may cost [money/L].

        Returns
        -------
        ndarray of shape (n,) or None
            Grams of each food in the batch; None where what cannot be missed leaves no mix.
        """
        at_most = () if within is None else (self.cap(within),)
        best: Array | None = None
        total = math.inf
        denominators = np.median(self.below, axis=1) if self.ends.size else np.empty(0)
        denominators = np.where(denominators > 0, denominators, 1.0)
        if self.one_basis:
            denominators = np.ones(self.ends.size)
        for _ in range(ROUNDS):
            found = self._least_for(denominators, at_most)
            if found is None:
                return None
            denominators = np.maximum(self.below @ found, LEAST)
            reached = self.total(found)
            if self.one_basis:
                best = found
                break
            if reached >= total * (1 - 1e-9) - 1e-12:
                break
            best, total = found, reached
        assert best is not None
        room = float(self.problem.shelf.composition.row("volume") @ best)
        return best / room * self.problem.volume

    def _least_for(self, denominators: Array, at_most: tuple[Array, ...]) -> Array | None:
        """Amounts per unit of size: the least weighted sum of slacks, then the cheapest."""
        n, k = len(self.problem.shelf.foods), self.ends.size
        program = self.program(np.zeros(n), self.weights(denominators), at_most)
        first = solve(program)
        if not isinstance(first, Optimal):
            return None
        price = np.where(np.isfinite(self.problem.shelf.price), self.problem.shelf.price, 0.0)
        second = solve(_optimal_face(program, first, np.append(price, np.zeros(k))))
        return second.x[:n] if isinstance(second, Optimal) else first.x[:n]


def _optimal_face(program: LinearProgram, found: Optimal, cost: Array) -> LinearProgram:
    """All optima of a program, with another cost: what has a price of its own stays put.

    An amount with a reduced cost is at its lower end in every optimum, and a row with a dual
    at the end that the dual leans on.
    """
    slight = 1e-9 * float(np.abs(program.cost).max(initial=0.0))
    put = found.reduced_cost > slight
    row_lower, row_upper = program.row_lower.copy(), program.row_upper.copy()
    at_low, at_high = found.row_dual > slight, found.row_dual < -slight
    row_upper[at_low], row_lower[at_high] = row_lower[at_low], row_upper[at_high]
    return replace(
        program,
        cost=cost,
        row_lower=row_lower,
        row_upper=row_upper,
        col_upper=np.where(put, program.col_lower, program.col_upper),
    )
