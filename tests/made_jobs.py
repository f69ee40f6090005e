"""Jobs in whole measures, made by number, and every combination of counts that does them.

Nothing here looks at the program's rows: chances come from the covariance of what a band
divides, food by food.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from formulate.blend.problem import Shelf
from formulate.blend.whole.steps import Step
from formulate.foods.bands import Band, BandSet, Basis, Role, read
from formulate.foods.food import row_numbers
from formulate.foods.spread import Spread, spread_of
from formulate.foods.tables import default_spreads, food_table

__all__ = ["MOST_COMBINATIONS", "SureJob", "sure_job"]

#: Foods with the sizes [g] in which they are measured.
POURED, SPOONED = (59.0, 61.0, 118.5, 122.0, 244.0), (7.5, 15.0)
FOODS = {
    "whole-milk": POURED, "skim-milk": POURED, "goat-milk": POURED, "water": POURED,
    "lowfat-buttermilk": POURED, "greek-yogurt": POURED, "evaporated-milk": (378.0, 126.0),
    "heavy-cream": (15.0, 30.0), "half-and-half": (30.0, 60.5), "unsalted-butter": SPOONED,
    "nonfat-dry-milk": SPOONED, "dry-whole-milk": SPOONED,
}  # fmt: skip
UNITS = {
    Basis.AS_FED: "g/100 g",
    Basis.DRY_MATTER: "g/100 g",
    Basis.PER_LITRE: "g/L",
    Basis.PER_MEGAJOULE: "g/MJ",
}
MEASURES = ("solids", "fat", "protein", "lactose", "ash")
MOST_COMBINATIONS = 60_000


@dataclass(frozen=True)
class SureJob:
    """A small shelf, what is demanded of it in whole measures, and how sure it is to be.

    Parameters
    ----------
    shelf, spread, bands, steps
    least, most : float
        Volume [mL].
    sure : float
        Chance of each band [%].
    """

    shelf: Shelf
    spread: Spread
    bands: BandSet
    steps: tuple[Step, ...]
    least: float
    most: float
    sure: float

    def counts(self) -> np.ndarray:
        """Every combination of counts that does the job, shape (k, n)."""
        room = self.shelf.composition.row("volume")
        step = np.array([s.grams for s in self.steps])
        tops = np.floor(np.minimum(self.most / room, self.shelf.on_hand) / step + 1e-9).astype(int)
        counts = np.array(list(itertools.product(*(range(top + 1) for top in tops))))
        grams = counts * step
        volume = grams @ room
        good = (volume >= self.least) & (volume <= self.most)
        good &= (grams <= self.shelf.largest_share * grams.sum(axis=1)[:, None] + 1e-9).all(axis=1)
        good &= ((grams == 0) | (grams >= self.shelf.smallest - 1e-9)).all(axis=1)
        counts, grams = counts[good], grams[good]
        if len(counts):
            holds = np.all([self.chance(band, grams) >= self.sure / 100 for band in
                            self.bands.binding], axis=0)  # fmt: skip
            counts = counts[holds]
        return counts

    def chance(self, band: Band, grams: np.ndarray) -> np.ndarray:
        """Chance that each of k mixes is inside a band, shape (k,)."""
        rows = row_numbers((band.measure, band.denominator))
        means = self.shelf.composition.per_gram[rows]
        moves = self.spread.change[:, :, rows] * self.spread.sd[:, :, None]
        chance = np.where(grams @ means[1] > 0, 1.0, 0.0)  # nothing of nothing is no read
        for end, sign in ((band.low, 1.0), (band.high, -1.0)):
            if math.isfinite(end):
                over = np.array([1.0, -end / band.scale])
                middle = sign * (grams @ (over @ means))
                spread = np.sqrt(grams**2 @ ((moves @ over) ** 2).sum(axis=1))
                with np.errstate(divide="ignore", invalid="ignore"):
                    missed = np.where(spread > 0, ndtr(-middle / spread), middle < -1e-9)
                chance -= missed
        return chance

    def cost(self, counts: np.ndarray) -> np.ndarray:
        return counts @ (self.shelf.price * [s.grams for s in self.steps])


def sure_job(number: int) -> SureJob:
    """The job of a number: some can be done in many ways, some in few, some in none."""
    rng = np.random.default_rng((11, number))
    while (job := _drawn(rng)) is None:
        pass
    return job


def _drawn(rng: np.random.Generator) -> SureJob | None:
    ids = rng.choice(sorted(FOODS), rng.integers(2, 5), replace=False).tolist()
    n, table = len(ids), food_table()
    sizes = np.array([rng.choice(FOODS[food]) for food in ids])
    amounts = rng.integers(0, 6, n) + rng.integers(0, 2, n) * (sizes < 20) * rng.integers(0, 6, n)
    if not amounts.any():
        return None
    grams = amounts * sizes
    free = rng.random(n) < 0.75
    shelf = Shelf(
        tuple(table[food] for food in ids),
        price=np.round(rng.uniform(0, 0.01, n), 4),
        on_hand=np.where(free, np.inf, np.maximum(grams, rng.choice([90.0, 250.0, 500.0], n))),
        smallest=np.where(rng.random(n) < 0.8, 0.0, rng.choice([40.0, 150.0], n)),
        largest_share=np.where(rng.random(n) < 0.8, 1.0, 0.9),
        currency="EUR",
    )
    volume = float(shelf.composition.row("volume") @ grams)
    least = volume * rng.uniform(0.9, 0.999)
    most = least * rng.choice([1.05, 1.15, 1.3])
    room = shelf.composition.row("volume")
    if np.prod(np.minimum(most / room, shelf.on_hand) / sizes + 1) > MOST_COMBINATIONS:
        return None
    spread = spread_of(shelf.composition, default_spreads())
    spread = replace(spread, sd=spread.sd * rng.choice([0.3, 1.0, 1.0, 2.0]))
    bands: list[Band] = []
    for _ in range(rng.integers(1, 4)):
        measure, basis = str(rng.choice(MEASURES)), list(UNITS)[rng.integers(len(UNITS))]
        plain = Band(measure, basis, UNITS[basis], role=Role.SHOWN)
        value = read(plain, shelf.composition, grams).value
        if value is None or value < 0.05 or any(plain.same_read(band) for band in bands):
            continue
        if (measure, basis) == ("solids", Basis.DRY_MATTER):
            continue
        ends = value * (1 + rng.choice([-1, 1]) * rng.uniform(0.01, 0.3, 2) * [-1, 1])
        low, high = sorted(np.round(ends * rng.choice([1.0, 1.0, 1.03]), 4))
        kept = rng.choice([0, 0, 0, 1, 2])
        bands.append(
            replace(
                plain,
                low=-math.inf if kept == 1 else low,
                high=math.inf if kept == 2 else high,
                role=Role.DEMANDED if rng.random() < 0.8 else Role.SAFETY,
            )
        )
    if not bands:
        return None
    return SureJob(
        shelf,
        spread,
        BandSet("made", "Made bands", "lamb", tuple(bands)),
        tuple(Step("g", size, size) for size in sizes),
        least,
        most,
        float(rng.choice([50, 55, 60, 70, 75, 80, 90, 95, 98, 99])),
    )
