"""The cheapest mix in whole measures that holds when cartons vary, proved optimal.

Each end alone may be missed with the whole of ε: a cone that is wider than the promise, whatever
share of ε the end takes (the chance of missing either end is at least that of missing
one). Tangents of these cones, and rows that every mix keeps which holds at both ends
(`formulate.blend.protect.cones.Pairs`), are the relaxation. What it finds in whole measures is
judged by the chance itself, ``1 − Φ(−a) − Φ(−b)``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.shown import brief_repr
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Problem, build
from formulate.blend.protect.chance import NotSure, SureMix, chances_of, design_sure
from formulate.blend.protect.cones import Cones, Pairs, quantile
from formulate.blend.protect.cutting_planes import cheapest_in
from formulate.blend.whole.kitchen_mix import KitchenMix, NoKitchenMix, design_kitchen
from formulate.blend.whole.steps import Step
from formulate.foods.spread import Spread

__all__ = ["Chances", "SureKitchenMix", "design_kitchen_sure"]

Array = NDArray[np.float64]

#: A chance counts as kept if it is missed by no more than this share of ε: the last digits of a
#: float.
KEPT = 1e-9
#: Ends this near to being missed, relative to their largest coefficient, get a tangent as well.
NEAR = 2e-3


@dataclass(frozen=True, eq=False)
class Chances:
    """That every band is missed with no more than a chance, as a demand on whole measures.

    Parameters
    ----------
    cones : Cones
    tail : float
        ε, no more than one half.
    """

    cones: Cones
    tail: float
    _known: list[Array] = field(default_factory=list, repr=False)

    @cached_property
    def _pairs(self) -> Pairs:
        return Pairs.of(self.cones, self.tail)

    @cached_property
    def _vary(self) -> NDArray[np.intp]:
        """Ends that vary at all; the others are rows of the problem."""
        return np.flatnonzero((self.cones.sd > 0).any(axis=1))

    def rows(self) -> Array:
        """Rows known so far, ≥ 0 for every mix that holds, shape (r, n)."""
        return np.concatenate((np.empty((0, self.cones.sd.shape[1])), *self._known))

    def more_rows(self, grams: Array) -> Array:
        """Tangents at a mix of the ends that it misses or nearly misses, and rows of pairs."""
        cones, y = self.cones, grams / grams.sum()
        norms, z = cones.norms(y), max(quantile(self.tail), 0.0)
        size = np.abs(cones.mean).max(axis=1)
        ends = self._vary[(cones.mean @ y - z * norms < NEAR * size)[self._vary]]
        return self._keep(self._tangents(ends, y, norms, z), y)

    def start(self, grams: Array) -> None:
        """Know tangents of every end, and rows of pairs, at a mix by the gram."""
        y = grams / grams.sum()
        z = max(quantile(self.tail), 0.0)
        self._keep(self._tangents(self._vary, y, self.cones.norms(y), z), y)

    def met(self, grams: Array) -> bool:
        """Whether every band is missed with no more than the chance."""
        cones = self.cones
        y = grams / grams.sum()
        # An end without spread in this mix is a row, kept to the solver's tolerance.
        tails = np.where(cones.norms(y) > 0, cones.tails(y), 0.0)
        both = tails + np.where(cones.other >= 0, tails[cones.other], 0.0)
        return bool(both.max(initial=0.0) <= self.tail * (1 + KEPT))

    def _tangents(self, ends: NDArray[np.intp], y: Array, norms: Array, z: float) -> Array:
        found: Array = (self.cones.mean - z * self.cones.slopes(y, norms))[ends]
        return found

    def _keep(self, tangents: Array, y: Array) -> Array:
        pairs = self._pairs.rows(y, np.ones(len(self._pairs.low), dtype=bool))
        found = np.concatenate((tangents, pairs[pairs.any(axis=1)]))
        self._known.append(found)
        return found


@brief_repr
@dataclass(frozen=True)
class SureKitchenMix:
    """A mix in whole measures whose every band holds with a chance.

    Parameters
    ----------
    kitchen : KitchenMix
        Its `exact` is the protected mix by the gram in the same batch.
    sure : float
        Chance asked of each band [%].
    chances : tuple of float
        Chance that each of `BandSet.binding` is inside [-].
    """

    kitchen: KitchenMix
    sure: float
    chances: tuple[float, ...]


def design_kitchen_sure(
    problem: Problem,
    spread: Spread,
    sure: float,
    steps: Sequence[Step],
    *,
    least_volume: float,
    most_volume: float,
    **wishes: Any,
) -> SureKitchenMix | NoKitchenMix | NotSure | NoMix:
    """Find the cheapest whole measures of which each band holds with a chance.

    Parameters
    ----------
    problem, spread, sure
        As in `design_sure`.
    steps, least_volume, most_volume
        As in `formulate.blend.whole.kitchen_mix.design_kitchen`, to which `wishes` go too.

    Returns
    -------
    SureKitchenMix
        With a proven gap where the time ended. Or `NoKitchenMix` where by the gram there is
        such a mix, but in whole measures none of this size; `NotSure` where there is none by
        the gram either, `NoMix` where not even average cartons make one.

    Raises
    ------
    OutOfTime
        If the time ends before any such mix is found.
    """
    there = build(problem.shelf, problem.bands, least_volume)
    by_gram = design_sure(there, spread, sure)
    cones, tail = Cones.of(there, spread), 1.0 - sure / 100
    # This asks less than by the gram: each end alone, and no smallest amounts, which a larger
    # batch may have room for.
    widest = cheapest_in(cones, np.full(cones.other.size, max(quantile(tail), 0.0)))
    if widest is None and not isinstance(by_gram, SureMix):
        return by_gram
    chances = Chances(cones, tail)
    if widest is not None:
        chances.start(widest.y)
    if isinstance(by_gram, SureMix):
        chances.start(by_gram.mix.grams)
    found = design_kitchen(
        there,
        steps,
        least_volume=least_volume,
        most_volume=most_volume,
        demand=chances,
        **wishes,
    )
    if isinstance(found, KitchenMix):
        found = _with_exact(found, problem, spread, sure)
        return SureKitchenMix(found, sure, chances_of(cones, found.mix.grams / found.mix.volume))
    if not isinstance(by_gram, SureMix):
        return by_gram
    if found.nearest is None:
        return replace(found, exact=by_gram.mix)
    nearest = _with_exact(found.nearest, problem, spread, sure)
    return replace(found, nearest=nearest, exact=by_gram.mix)


def _with_exact(whole: KitchenMix, problem: Problem, spread: Spread, sure: float) -> KitchenMix:
    """Put the protected mix by the gram in the same batch beside the whole measures.

    Where none is known that is cheaper, it is the whole measures' own: they hold as well.
    """
    there = build(problem.shelf, problem.bands, whole.mix.volume)
    exact = design_sure(there, spread, sure)
    if isinstance(exact, SureMix) and _cost(exact.mix) < _cost(whole.mix):
        return replace(whole, exact=exact.mix)
    return replace(whole, exact=whole.mix)


def _cost(mix: Mix) -> float:
    assert mix.cost is not None
    return mix.cost
