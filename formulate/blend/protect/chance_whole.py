"""Whole measures that hold when cartons differ.

The search over whole measures knows rows only. It gets the cuts of the protected mix by the gram;
what it finds is held against the cones, and what misses one is cut off and searched again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import SolverFault
from formulate.blend.mix import NoMix
from formulate.blend.problem import Limit, Problem, build
from formulate.blend.protect.chance import NotSure, SureMix, chances_of, design_sure
from formulate.blend.protect.cones import Cones, quantiles, shares
from formulate.blend.protect.cutting_planes import cheapest_in
from formulate.blend.whole.kitchen_mix import KitchenMix, NoKitchenMix, design_kitchen
from formulate.blend.whole.steps import Step
from formulate.foods.spread import Spread

__all__ = ["SureKitchenMix", "Tightened", "design_kitchen_sure"]

Array = NDArray[np.float64]

#: Share of ε that the freer end of a band keeps in whole measures, where nothing is gained by
#: giving it less.
KITCHEN_SHARE = 0.02
#: Rounds of cuts on whole measures.
KITCHEN_ROUNDS = 40


@dataclass(frozen=True, eq=False)
class Tightened(Problem, ByContent):
    """A problem with cuts as further rows, for a search that knows rows only.

    Parameters
    ----------
    cuts : tuple of Limit
        The band ends that the last rows keep; each demands ≥ 0.
    """

    cuts: tuple[Limit, ...] = ()

    @classmethod
    def of(
        cls, cones: Cones, z: Array, end: NDArray[np.intp], slope: Array, problem: Problem
    ) -> Tightened:
        """Add the cuts of some ends at their quantiles to a problem with the same bands."""
        rows = cones.mean[end] - z[end, None] * slope
        scale = np.abs(rows).max(axis=1)
        scale += scale == 0
        return cls(
            problem.shelf,
            problem.bands,
            problem.volume,
            np.concatenate((problem.rows, rows / scale[:, None])),
            np.append(problem.row_scale, scale * cones.problem.row_scale[end]),
            tuple(problem.limits[k] for k in end.tolist()),
        )

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The problem's limits, then the ends that the cuts keep."""
        plain = Problem(self.shelf, self.bands, self.volume, self.rows, self.row_scale)
        return plain.limits + self.cuts

    @cached_property
    def is_low(self) -> NDArray[np.bool_]:
        """Which rows demand ≥ 0: low ends, and every cut."""
        low = np.zeros(self.rows.shape[0], dtype=bool)
        low[: self.bands.ends.is_low.size] = self.bands.ends.is_low
        low[low.size - len(self.cuts) :] = True
        return low


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

    The search over whole measures knows rows only: it gets the cuts of the exact mix, its
    answer is held against the cones, and what misses one is cut off and searched again. A
    band's two ends share their chance as they do in the exact mix, which keeps the promise and
    may cost a little.

    Parameters
    ----------
    problem, spread, sure
        As in `design_sure`.
    steps, least_volume, most_volume
        As in `formulate.blend.whole.kitchen_mix.design_kitchen`, to which `wishes` go too.

    Raises
    ------
    SolverFault
        If no measures were found to hold within `KITCHEN_ROUNDS`.
    """
    there = build(problem.shelf, problem.bands, least_volume)
    exact = design_sure(there, spread, sure)
    if not isinstance(exact, SureMix):
        return exact
    cones = Cones.of(there, spread)
    y = exact.mix.grams / exact.mix.volume
    z = quantiles(shares(cones, y, 1.0 - sure / 100, KITCHEN_SHARE))
    start = cheapest_in(cones, z)
    if start is not None:
        end, slope = start.end, start.slope
    else:
        end = np.flatnonzero(z > 0)
        slope = cones.slopes(y, cones.norms(y))[end]
    for _ in range(KITCHEN_ROUNDS):
        tight = Tightened.of(cones, z, end, slope, there)
        found = design_kitchen(
            tight, steps, least_volume=least_volume, most_volume=most_volume, **wishes
        )
        if isinstance(found, NoKitchenMix) and found.nearest is None:
            return replace(found, exact=exact.mix, problem=there)
        whole = found if isinstance(found, KitchenMix) else found.nearest
        assert whole is not None
        y = whole.mix.grams / whole.mix.volume
        norms = cones.norms(y)
        missed = np.flatnonzero(z * norms - cones.mean @ y > 1e-9)
        if not missed.size:
            whole = _with_exact(whole, problem, spread, sure)
            if isinstance(found, NoKitchenMix):
                return replace(found, nearest=whole, exact=exact.mix, problem=there)
            return SureKitchenMix(whole, sure, chances_of(cones, y))
        end = np.append(end, missed)
        slope = np.concatenate((slope, cones.slopes(y, norms)[missed]))
    raise SolverFault(f"no whole measures were found to be {sure:g} % sure")


def _with_exact(whole: KitchenMix, problem: Problem, spread: Spread, sure: float) -> KitchenMix:
    """Put the protected mix by the gram in the same batch beside the whole measures."""
    there = build(problem.shelf, problem.bands, whole.mix.volume)
    exact = design_sure(there, spread, sure)
    return replace(whole, exact=exact.mix) if isinstance(exact, SureMix) else whole
