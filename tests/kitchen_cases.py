"""Small problems in whole measures, with every combination of counts worked out beside them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from formulate.base.units import Kitchen
from formulate.blend.problem import Shelf, build
from formulate.blend.whole.kitchen_mix import (
    KitchenMix,
    NoKitchenMix,
    design_kitchen,
    volume_range,
)
from formulate.blend.whole.steps import Step, kitchen_steps
from formulate.foods.bands import Band, BandSet, Basis, Role, read
from formulate.foods.tables import band_set, food_table

__all__ = ["FOODS", "QUART", "SPOONED", "TABLE", "Case", "ask", "cases", "shelf_of"]

TABLE = food_table()
QUART = 946.352946
FOODS = (
    "whole-milk", "heavy-cream", "nonfat-dry-milk", "evaporated-milk", "lowfat-buttermilk",
    "dry-whole-milk", "skim-milk", "greek-yogurt", "water", "unsalted-butter",
)  # fmt: skip
SPOONED = ("nonfat-dry-milk", "dry-whole-milk", "unsalted-butter")


def shelf_of(*ids: str, price=None, **limits) -> Shelf:
    foods = tuple(TABLE[i] for i in ids)
    prices = np.full(len(ids), 0.002) if price is None else np.array(price, dtype=float)
    return Shelf(foods, prices, currency="USD", **limits)


def ask(shelf, volume=2 * QUART, *, bands="lamb-replacer", steps=None, kitchen=Kitchen.US, **how):
    bands = band_set(bands) if isinstance(bands, str) else bands
    steps = kitchen_steps(shelf.foods, kitchen) if steps is None else steps
    least, most = how.pop("range", volume_range(volume))
    return design_kitchen(
        build(shelf, bands, volume),
        steps,
        least_volume=least,
        most_volume=most,
        **how,
    )


@dataclass(frozen=True)
class Case:
    """A small problem, and all its combinations of counts with what they come to."""

    shelf: Shelf
    bands: BandSet
    steps: tuple[Step, ...]
    least: float
    most: float

    def ask(self, **how) -> KitchenMix | NoKitchenMix:
        return ask(
            self.shelf, self.least, bands=self.bands, steps=self.steps,
            range=(self.least, self.most), **how,
        )  # fmt: skip

    def all_counts(self, most=None) -> np.ndarray:
        """Counts of every mix that holds, worked out without any of the program's rows."""
        most = self.most if most is None else most
        room = self.shelf.composition.row("volume")
        step = np.array([s.grams for s in self.steps])
        top = np.floor(np.minimum(most / room, self.shelf.on_hand) / step).astype(int)
        assume(np.prod(top + 1.0) < 2e5)
        counts = np.array(list(itertools.product(*(range(t + 1) for t in top))))
        counts = counts[counts.any(axis=1)]
        grams = counts * step
        holds = np.ones(len(counts), dtype=bool)
        for band in self.bands.bands:
            n, d = (self.shelf.composition.row(m) for m in (band.measure, band.denominator))
            value = band.scale * (grams @ n) / (grams @ d)
            holds &= (value >= band.low) & (value <= band.high)
        holds &= (grams <= self.shelf.largest_share * grams.sum(axis=1)[:, None] + 1e-9).all(axis=1)
        holds &= ((grams == 0) | (grams >= self.shelf.smallest - 1e-9)).all(axis=1)
        return counts[holds]

    def grams(self, counts) -> np.ndarray:
        return counts * np.array([s.grams for s in self.steps])

    def volume(self, counts) -> np.ndarray:
        return self.grams(counts) @ self.shelf.composition.row("volume")

    def cost(self, counts) -> np.ndarray:
        return self.grams(counts) @ self.shelf.price

    def good(self, least=None, most=None) -> np.ndarray:
        """Those of the right size."""
        least, most = self.least if least is None else least, self.most if most is None else most
        counts = self.all_counts(most)
        volume = self.volume(counts)
        return counts[(volume >= least) & (volume <= most)]


@st.composite
def cases(draw) -> Case:
    """Ranges around the reads of random counts, sometimes shifted so that few or none hold."""
    ids = draw(st.lists(st.sampled_from(FOODS), min_size=2, max_size=4, unique=True))
    price = [draw(st.integers(0, 40)) / 4000 for _ in ids]
    sizes = [
        draw(st.sampled_from((7.5, 15.0) if food in SPOONED else (59.0, 61.0, 118.5, 244.0)))
        for food in ids
    ]
    amounts = np.array(
        [draw(st.integers(0, 4) if food in SPOONED else st.integers(0, 6)) for food in ids]
    )
    assume(amounts.any())
    grams = amounts * np.array(sizes)

    def some(*values) -> np.ndarray:
        return np.array([draw(st.sampled_from(values)) for _ in ids])

    shelf = shelf_of(
        *ids,
        price=price,
        on_hand=np.maximum(grams, some(0.0, 90.0, 250.0, np.inf, np.inf, np.inf)),
        smallest=some(0.0, 0.0, 40.0, 150.0),
        largest_share=some(1.0, 1.0, 0.9),
    )

    def around(measure: str, basis: Basis) -> Band:
        plain = Band(measure, basis, "g/100 g", role=Role.SHOWN)
        value = read(plain, shelf.composition, grams).value
        shift = draw(st.sampled_from((0.0, 0.0, 0.0, 1.0)))
        low = value - draw(st.floats(0.1, 1.5)) + shift
        high = value + draw(st.floats(0.1, 1.5)) + shift
        return Band(measure, basis, "g/100 g", low=low, high=high)

    bands = (
        around("solids", Basis.AS_FED),
        around("fat", Basis.DRY_MATTER),
        Band("osmoles", Basis.PER_KG_WATER, "mOsm/kg", high=700.0, role=Role.SAFETY),
    )
    volume = float(shelf.composition.row("volume") @ grams)
    least = volume * draw(st.floats(0.96, 0.999))
    return Case(
        shelf,
        BandSet("test", "test", "lamb", bands, ""),
        tuple(Step("g", size, size) for size in sizes),
        least,
        least * draw(st.sampled_from((1.05, 1.15))),
    )
