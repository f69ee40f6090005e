"""Pantries made by number, and an independent linear program for the cheapest mix of each.

The program here is written anew, in grams of the batch and with the bands' ends as people write
them: it shares no row, no scale and no way of solving with `formulate.blend`.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import linprog

from formulate.blend.problem import Shelf
from formulate.foods.bands import Band, BandSet, Basis, Role, read
from formulate.foods.food import Composition, Food
from formulate.foods.measures import MEASURES
from formulate.foods.tables import food_table

__all__ = ["MadePantry", "made_pantry"]

FOODS: tuple[Food, ...] = tuple(food for food in food_table().values() if not food.drink_only)
#: Measures that every one of them has.
KNOWN = set(MEASURES) - Composition.of(FOODS).gaps
ENDS = {
    Basis.AS_FED: "/100 g",
    Basis.DRY_MATTER: "/100 g",
    Basis.PER_LITRE: "/L",
    Basis.PER_MEGAJOULE: "/MJ",
    Basis.PER_KG_WATER: "/kg",
}
DEMANDED = [
    m for m in ("solids", "fat", "protein", "lactose", "ash", "calcium", "sodium", "osmoles",
                "gross-energy", "solids-not-fat", "water") if m in KNOWN
]  # fmt: skip
RATIOS = [("calcium", "phosphorus"), ("fat", "protein"), ("lactose", "protein")]
#: A trace [of the richest food's] of what a band is taken per: less is nothing to read.
TRACE = 1e-6


@dataclass(frozen=True)
class MadePantry:
    """A shelf and what is demanded of a mix of it."""

    shelf: Shelf
    bands: BandSet
    volume: float

    def __repr__(self) -> str:
        """What it takes to make the same again."""
        s = self.shelf
        foods = [
            f"{food} {price * 1e3:.2f}/kg share {share:g} stock {stock:g} smallest {least:g}"
            for food, price, share, stock, least in zip(
                s.ids, s.price, s.largest_share, s.on_hand, s.smallest, strict=True
            )
        ]
        bands = [
            f"{b.low!r} <= {b.measure}/{b.denominator} [{b.unit}] <= {b.high!r} {b.role}"
            for b in self.bands.bands
        ]
        return f"{self.volume:g} mL of {foods}; {bands}"

    def stretched(self, by: float) -> MadePantry:
        """The same with every range wider on both sides by a part of its width."""
        bands = tuple(
            replace(band, low=band.low - by * band.width, high=band.high + by * band.width)
            if band.low - by * band.width <= band.high + by * band.width
            else band
            for band in self.bands.bands
        )
        return replace(self, bands=replace(self.bands, bands=bands))

    def cheapest(self) -> float | None:
        """Cost of the cheapest mix [money]; None where there is none.

        Foods with a smallest amount are used enough or not at all: every choice is solved.
        """
        floored = np.flatnonzero(self.shelf.smallest > 0)
        costs = [self._solved(floored, use) for use in
                 itertools.product((False, True), repeat=floored.size)]  # fmt: skip
        known = [cost for cost in costs if cost is not None]
        return min(known, default=None)

    def _solved(self, floored: np.ndarray, use: tuple[bool, ...]) -> float | None:
        shelf, n = self.shelf, len(self.shelf.ids)
        room, rows = shelf.composition.row("volume"), []
        for band in self.bands.binding:
            over = shelf.composition.row(band.measure) * band.scale
            under = shelf.composition.row(band.denominator)
            if math.isfinite(band.low):
                rows.append(band.low * under - over)
            if math.isfinite(band.high):
                rows.append(over - band.high * under)
            trace = TRACE * float((under / room).max())
            if ((under / room) <= trace).any():
                rows.append((trace or 1.0) * room - under)
        rows += [np.eye(n)[j] - shelf.largest_share[j] for j in range(n)]
        bounds = [[0.0, None if math.isinf(most) else most] for most in shelf.on_hand]
        for j, used in zip(floored, use, strict=True):
            if not used:
                bounds[j] = [0.0, 0.0]
            elif bounds[j][1] is not None and bounds[j][1] < shelf.smallest[j]:
                return None
            else:
                bounds[j][0] = float(shelf.smallest[j])
        # Divided by their largest entries, so that the solver's tolerance means the same in all.
        matrix = np.array(rows)
        matrix /= np.maximum(np.abs(matrix).max(axis=1, keepdims=True), 1e-12)
        found = linprog(
            shelf.price, A_ub=matrix, b_ub=np.zeros(len(rows)), A_eq=room[None, :],
            b_eq=[self.volume], bounds=bounds, method="highs-ds",
            options={"primal_feasibility_tolerance": 1e-9, "dual_feasibility_tolerance": 1e-9},
        )  # fmt: skip
        return float(found.fun) if found.status == 0 else None


def made_pantry(number: int) -> MadePantry:
    """The pantry of a number; of about half of them the mix can be made."""
    rng = np.random.default_rng((7, number))
    while (made := _drawn(rng)) is None:
        pass
    return made


def _drawn(rng: np.random.Generator) -> MadePantry | None:
    n = int(rng.integers(1, 11))
    foods = tuple(FOODS[k] for k in rng.choice(len(FOODS), n, replace=False))
    if rng.random() < 0.3 and not any(food.id == "water" for food in foods):
        foods = (*foods[1:], food_table()["water"])
    volume = float(rng.choice([250.0, 946.35, 2000.0, 3785.0, 20_000.0]))
    grams = rng.integers(0, 10, n) * (volume / 50)
    if not grams.any():
        return None
    free = rng.random(n) < 0.7
    shelf = Shelf(
        foods,
        price=np.where(rng.random(n) < 0.05, 0.0, np.round(rng.uniform(0.3, 20, n), 2) / 1000),
        on_hand=np.where(free, math.inf, rng.choice([0.02, 0.1, 0.4], n) * volume),
        smallest=np.where(rng.random(n) < 0.9, 0.0, rng.choice([0.01, 0.05, 0.2], n) * volume),
        largest_share=np.where(rng.random(n) < 0.8, 1.0, rng.choice([0.05, 0.3], n)),
        currency="EUR",
    )
    bands = _bands(shelf, grams, rng)
    if not bands:
        return None
    return MadePantry(shelf, BandSet("made", "Made bands", "lamb", bands), volume)


def _bands(shelf: Shelf, grams: np.ndarray, rng: np.random.Generator) -> tuple[Band, ...]:
    """Ranges about what a mix reads: wide, narrow or a single value, now and then off."""
    bands: list[Band] = []
    exact = rng.random() < 0.25
    for _ in range(rng.integers(1, 6)):
        basis = list(Basis)[rng.integers(len(Basis))]
        if basis is Basis.RATIO:
            over, under = RATIOS[rng.integers(len(RATIOS))]
            plain = Band(over, basis, "1", role=Role.SHOWN, over=under)
        else:
            name = str(rng.choice(DEMANDED))
            plain = Band(name, basis, MEASURES[name].unit + ENDS[basis], role=Role.SHOWN)
        value = read(plain, shelf.composition, grams).value
        if value is None or value < 1e-4 or any(plain.same_read(band) for band in bands):
            continue
        value = float(f"{value * rng.choice([1.0, 1.0, 1.0, 1.0, 0.9, 1.3]):.6g}")
        half = 0.0 if exact and rng.random() < 0.6 else float(rng.choice([0.01, 0.1, 0.5]))
        low, high = (float(f"{value * (1 + side * half):.6g}") for side in (-1, 1))
        kept = rng.integers(5) if half else 0
        bands.append(
            replace(
                plain,
                low=-math.inf if kept == 1 else low,
                high=math.inf if kept == 2 else high,
                role=Role.DEMANDED if rng.random() < 0.75 else Role.SAFETY,
            )
        )
    return tuple(bands)
