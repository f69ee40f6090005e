"""Tables and results as pandas DataFrames, for notebooks and spreadsheets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from formulate.answers.compare import Compared
from formulate.blend.mix import Mix
from formulate.foods.bands import BandSet
from formulate.foods.food import Composition, Food
from formulate.foods.measures import MEASURES
from formulate.report.shapes import amounts_shape, band_shape, food_line_shape, read_shape

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "amounts_frame",
    "bands_frame",
    "compare_frame",
    "composition_frame",
    "foods_frame",
    "frame",
    "reads_frame",
    "values_frame",
]


def frame(rows: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """Rows of plain dicts as a DataFrame."""
    import pandas as pd

    return pd.DataFrame([dict(row) for row in rows])


def amounts_frame(mix: Mix) -> pd.DataFrame:
    """Foods of a mix: grams, share of its weight, volume [mL] and cost."""
    return frame(amounts_shape(mix))


def reads_frame(mix: Mix) -> pd.DataFrame:
    """Reads of a mix, one a row, with range and standing."""
    return frame([{**read_shape(read), "miss": read.miss} for read in mix.reads])


def foods_frame(foods: Iterable[Food]) -> pd.DataFrame:
    """A list of foods, one a row."""
    return frame([food_line_shape(food) for food in foods])


def values_frame(foods: Iterable[Food]) -> pd.DataFrame:
    """Every value per 100 g as fed, one a row, with unit, samples and source."""
    return frame(
        [
            {
                "food": food.id,
                "measure": name,
                "value": value.value,
                "unit": MEASURES[name].unit,
                "n": value.n,
                "standard_error": value.standard_error,
                "derivation": value.derivation,
                "source": value.source,
            }
            for food in foods
            for name, value in food.values.items()
        ]
    )


def composition_frame(foods: Iterable[Food]) -> pd.DataFrame:
    """Foods by measures, per 100 g as fed; derived measures too; NaN is missing."""
    import pandas as pd

    composition = Composition.of(foods)
    names = [f"{m.name} [{m.unit}/100 g]" for m in MEASURES.values()]
    return pd.DataFrame(100.0 * composition.per_gram.T, index=list(composition.ids), columns=names)


def bands_frame(bands: BandSet) -> pd.DataFrame:
    """One set, a band a row, with source and reasoning."""
    return frame([band_shape(band) for band in bands.bands])


def compare_frame(rows: Iterable[Compared]) -> pd.DataFrame:
    """Compared recipes, cheapest first, money per litre, kg of dry matter and MJ."""
    return frame(
        [
            {
                "recipe": row.recipe.name,
                "per_litre": row.per_litre,
                "per_kg_dry_matter": row.per_kg_dry_matter,
                "per_megajoule": row.per_megajoule,
                "misses": ", ".join(read.band.measure for read in row.mix.misses),
            }
            for row in rows
        ]
    )
