"""Hypothesis strategies that several tests share."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.solve import LinearProgram
from formulate.foods.bands import Band, BandSet, Basis, Role, read
from formulate.foods.food import Composition, Food
from formulate.foods.measures import MEASURES
from formulate.foods.tables import food_table

__all__ = [
    "VOLUME",
    "Job",
    "band_sets",
    "jobs",
    "mixes",
    "programs",
    "shelves",
    "suitable_foods",
]

#: Batch of every job [mL].
VOLUME = 1000.0

#: Plain foods of the shipped table.
SUITABLE: tuple[Food, ...] = tuple(food for food in food_table().values() if food.suitable)
#: Measures that all of them have, on the bases they are demanded on.
KNOWN = tuple(name for name in MEASURES if name not in Composition.of(SUITABLE).gaps)
DEMANDED = ("solids", "fat", "protein", "lactose", "ash", "calcium", "sodium", "gross-energy")
UNIT_ENDS = {
    Basis.AS_FED: "/100 g",
    Basis.DRY_MATTER: "/100 g",
    Basis.PER_LITRE: "/L",
    Basis.PER_MEGAJOULE: "/MJ",
    Basis.PER_KG_WATER: "/kg",
}


def suitable_foods() -> st.SearchStrategy[Food]:
    """One plain food of the shipped table."""
    return st.sampled_from(SUITABLE)


@st.composite
def programs(draw: st.DrawFn, most_rows: int = 6, most_columns: int = 6) -> LinearProgram:
    """Linear programs in small whole numbers: optimal, infeasible and unbounded ones."""
    m, n = draw(st.integers(0, most_rows)), draw(st.integers(1, most_columns))
    whole = st.integers(-5, 5).map(float)

    def ends(count: int, lows: list[float]) -> tuple[np.ndarray, np.ndarray]:
        low = [draw(st.sampled_from([*lows, *map(float, range(-6, 7))])) for _ in range(count)]
        high = [
            draw(st.sampled_from([math.inf, *(max(a, -10.0) + step for step in (0, 1, 4))]))
            for a in low
        ]
        return np.array(low), np.array(high)

    row_lower, row_upper = ends(m, [-math.inf] * 4)
    col_lower, col_upper = ends(n, [0.0] * 12 + [-math.inf])
    return LinearProgram(
        cost=np.array([draw(whole) for _ in range(n)]),
        matrix=np.array([[draw(whole) for _ in range(n)] for _ in range(m)]).reshape(m, n),
        row_lower=row_lower,
        row_upper=row_upper,
        col_lower=col_lower,
        col_upper=col_upper,
    )


@st.composite
def shelves(
    draw: st.DrawFn, least: int = 2, most: int = 6, stocks: bool = True, shares: bool = True
) -> Shelf:
    """Some shipped foods at random prices, some of them limited."""
    foods = tuple(
        draw(st.lists(suitable_foods(), min_size=least, max_size=most, unique_by=lambda f: f.id))
    )
    n = len(foods)
    per_kg = [draw(st.integers(1, 2000)) / 100 for _ in range(n)]
    some = st.sampled_from([math.inf] * 4 + [100.0, 250.0, 600.0])
    on_hand = [draw(some) if stocks else math.inf for _ in range(n)]
    largest = np.empty(0) if shares else np.ones(n)
    return Shelf(
        foods,
        price=np.array(per_kg) / 1000,
        largest_share=largest,
        on_hand=np.array(on_hand),
        currency="EUR",
    )


@st.composite
def mixes(draw: st.DrawFn, n: int) -> np.ndarray:
    """Grams of n foods, some of them nothing."""
    parts = [draw(st.integers(0, 10)) for _ in range(n)]
    assume(any(parts))
    return np.array(parts, dtype=float) * 20.0


@st.composite
def band_sets(
    draw: st.DrawFn,
    shelf: Shelf,
    least: int = 1,
    most: int = 5,
    bases: tuple[Basis, ...] = tuple(UNIT_ENDS),
    roles: tuple[Role, ...] = (Role.DEMANDED, Role.DEMANDED, Role.DEMANDED, Role.SAFETY),
) -> BandSet:
    """Ranges around the reads of a random mix: shifted, some cannot be met."""
    mix = draw(mixes(len(shelf.foods)))
    bands = []
    for _ in range(draw(st.integers(least, most))):
        name = draw(st.sampled_from(DEMANDED))
        basis = draw(st.sampled_from(bases))
        unit = MEASURES[name].unit + UNIT_ENDS[basis]
        value = read(Band(name, basis, unit, role=Role.SHOWN), shelf.composition, mix).value
        same = any((b.measure, b.basis) == (name, basis) for b in bands)
        if same or value is None or value < 1e-3:
            continue
        middle = value * draw(st.sampled_from([1.0, 1.0, 1.0, 0.8, 1.25]))
        half = draw(st.sampled_from([0.03, 0.1, 0.3]))
        low, high = middle * (1 - half), middle * (1 + half)
        open_end = draw(st.sampled_from(["", "", "low", "high"]))
        bands.append(
            Band(
                name,
                basis,
                unit,
                low=-math.inf if open_end == "low" else round(low, 6),
                high=math.inf if open_end == "high" else round(high, 6),
                role=draw(st.sampled_from(roles)),
            )
        )
    assume(len(bands) >= least)
    return BandSet("random", "Random bands", "lamb", tuple(bands))


@dataclass(frozen=True)
class Job:
    """A shelf and what is demanded of the mix."""

    shelf: Shelf
    bands: BandSet

    def __repr__(self) -> str:
        """Short enough to be read in a failure."""
        foods = ", ".join(
            f"{name} at {price * 1000:g}/kg, share {share:g}, {stock:g} g"
            for name, price, share, stock in zip(
                self.shelf.ids,
                self.shelf.price,
                self.shelf.largest_share,
                self.shelf.on_hand,
                strict=True,
            )
        )
        bands = ", ".join(
            f"{b.low:g} ≤ {b.measure} {b.unit} {b.basis} ≤ {b.high:g} ({b.role})"
            for b in self.bands.bands
        )
        return f"Job({foods}; {bands})"

    def _repr_pretty_(self, printer, cycle) -> None:
        """How hypothesis shows it."""
        printer.text(repr(self))

    def problem(self, volume: float = VOLUME) -> Problem:
        return build(self.shelf, self.bands, volume)


@st.composite
def jobs(
    draw: st.DrawFn,
    least: int = 2,
    most: int = 6,
    stocks: bool = True,
    shares: bool = True,
    bases: tuple[Basis, ...] = tuple(UNIT_ENDS),
    roles: tuple[Role, ...] = (Role.DEMANDED, Role.DEMANDED, Role.DEMANDED, Role.SAFETY),
    most_bands: int = 5,
) -> Job:
    """Mixes to design; about half of them cannot be."""
    shelf = draw(shelves(least, most, stocks, shares))
    return Job(shelf, draw(band_sets(shelf, 1, most_bands, bases, roles)))
