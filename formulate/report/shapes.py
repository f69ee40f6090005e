"""Results as JSON; DEVELOPERS.md documents the shapes, and tests hold them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from formulate.answers.cautions import Caution
from formulate.answers.verdict import Judgement, judge
from formulate.blend.mix import Mix
from formulate.blend.problem import Limit
from formulate.foods.bands import Band, Read
from formulate.foods.food import Composition, Food
from formulate.foods.food_table import FoodTable
from formulate.foods.measures import MEASURES
from formulate.pantry.pantry import Pantry
from formulate.report.verdict_words import verdict_shape

if TYPE_CHECKING:
    from formulate.answers.one_food import FoodList, OneFood

__all__ = [
    "band_shape",
    "composition_shape",
    "dump",
    "food_shape",
    "food_table_shape",
    "limit_shape",
    "mix_shape",
    "one_food_shape",
    "pantry_items_shape",
    "read_shape",
]

Shape = dict[str, Any]


def dump(shape: Mapping[str, Any]) -> str:
    """One JSON object; an open end or a missing number is null, never NaN."""
    import json

    return json.dumps(_plain(shape), indent=2, ensure_ascii=False, allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if isinstance(value, (np.ndarray, np.generic)):
        return _plain(value.tolist())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value.isoformat() if isinstance(value, date) else value


def band_shape(band: Band) -> Shape:
    """A band with its source and reasoning."""
    return {
        "measure": band.measure,
        **({"over": band.over} if band.over else {}),
        "basis": band.basis.value,
        "unit": band.unit,
        "low": band.low,
        "high": band.high,
        "role": band.role.value,
        "source": band.source,
        "why": band.why,
    }


def read_shape(read: Read) -> Shape:
    """A read and its verdict."""
    band = read.band
    shape: Shape = {
        "measure": band.measure,
        "basis": band.basis.value,
        "unit": band.unit,
        "value": read.value,
        "low": band.low,
        "high": band.high,
        "verdict": None if read.standing is None else read.standing.value,
        "role": band.role.value,
    }
    if band.over:
        shape["over"] = band.over
    if read.lacks or read.value is None:
        shape["lacks"] = list(read.lacks)
    if read.assumed:
        shape["assumed_upper_end"] = list(read.assumed)
    return shape


def caution_shape(caution: Caution) -> Shape:
    """A caution with its source."""
    return {
        "id": caution.id,
        "text": caution.text,
        "source": caution.source,
        "shown": caution.shown,
    }


def amounts_shape(mix: Mix) -> list[Shape]:
    """Foods that are used, with weight, share, kitchen volume and cost."""
    rows = []
    for food, grams, cost in zip(mix.shelf.foods, mix.grams, mix.costs, strict=True):
        if grams > 0:
            rows.append(
                {
                    "food": food.id,
                    "table": food.table or None,
                    "record": food.record or None,
                    "grams": grams,
                    "share": grams / mix.weight,
                    "volume_ml": food.kitchen_volume(grams),
                    "cost": cost,
                }
            )
    return rows


def pantry_shape(pantry: Pantry | None) -> Shape:
    """Where prices and cups come from."""
    if pantry is None:
        return {}
    dates = pantry.price_dates()
    return {
        "pantry": pantry.where,
        "invented": pantry.invented,
        "country": pantry.stated or None,
        "currency": pantry.currency,
        "prices_from": dates[0] if dates else None,
        "prices_to": dates[1] if dates else None,
    }


def mix_shape(
    mix: Mix, kitchen: str, pantry: Pantry | None = None, judgement: Judgement | None = None
) -> Shape:
    """A mix: designed, nearest or checked; judged for the species of its bands unless given."""
    certificate = mix.certificate
    judgement = judgement or judge(mix)
    return {
        **verdict_shape(judgement),
        "status": mix.status.value,
        "bands": mix.bands.name,
        "kitchen": kitchen,
        **pantry_shape(pantry),
        "amounts": amounts_shape(mix),
        "grams": mix.weight,
        "volume_ml": mix.volume,
        "cost": mix.cost,
        "cost_per_litre": mix.cost_per_litre,
        "reads": [read_shape(read) for read in mix.reads],
        "certificate": None
        if certificate is None
        else {
            "primal": certificate.primal,
            "dual": certificate.dual,
            "gap": certificate.gap,
        },
        "cautions": [caution_shape(c) for c in judgement.cautions],
    }


def limit_shape(limit: Limit) -> Shape:
    """One member of a conflict."""
    shape: Shape = {"kind": limit.kind.value, "value": limit.value}
    if limit.band:
        shape |= {
            "measure": limit.band.measure,
            "basis": limit.band.basis.value,
            "unit": limit.band.unit,
            "role": limit.band.role.value,
        }
        if limit.band.over:
            shape["over"] = limit.band.over
    if limit.food:
        shape["food"] = limit.food
    return shape


def food_shape(food: Food) -> Shape:
    """A food with every value and its source."""
    return {
        "id": food.id,
        "name": food.name,
        "kind": food.kind,
        "suitable": food.suitable,
        "drink_only": food.drink_only,
        "table": food.table or None,
        "record": food.record or None,
        "raw": food.raw,
        "largest_share": food.largest_share,
        "share_source": food.share_source,
        "aliases": list(food.aliases),
        "note": food.note,
        "density_g_per_ml": food.density,
        "household": [
            {"unit": h.unit, "grams": h.grams, "millilitres": h.millilitres, "source": h.source}
            for h in food.household
        ],
        "per_100_g": values_shape(food),
        "flags": dict(food.flags),
    }


def values_shape(food: Food) -> list[Shape]:
    """Every value of a food per 100 g as fed, with its source."""
    return [
        {
            "measure": name,
            "value": value.value,
            "unit": MEASURES[name].unit,
            "n": value.n,
            "standard_error": value.standard_error,
            "derivation": value.derivation,
            "source": value.source,
        }
        for name, value in food.values.items()
    ]


def food_table_shape(table: FoodTable) -> Shape:
    """The foods at home, and every value of each."""
    return {
        "foods": [food_line_shape(food) for food in table.values()],
        "values": [
            {"food": food.id, **value} for food in table.values() for value in values_shape(food)
        ],
    }


def one_food_shape(found: OneFood) -> Shape:
    """A food with every value, and the rows of other tables beside it."""
    return {
        **food_shape(found.food),
        "rows": [food_line_shape(row) for row in found.rows],
        "differences": [
            {
                "measure": one.measure,
                "unit": MEASURES[one.measure].unit,
                "values": list(one.values),
                "flags": list(one.flags),
                "cartons": one.cartons,
                "between": one.between,
                "beyond": list(one.beyond),
            }
            for one in found.differences
        ],
        "tables": [
            {
                "table": table.key,
                "title": table.title,
                "release": table.release,
                "licence": table.licence,
                "attribution": table.attribution,
            }
            for table in found.tables
        ],
        "cautions": [caution.text for caution in found.cautions],
    }


def foods_shape(found: FoodList) -> Shape:
    """A list of foods, and what goes by such a name and is not for lambs or kids."""
    return {
        "foods": [food_line_shape(food) for food in found.foods],
        "not_for_lambs": [
            {"id": one.id, "verdict": one.verdict, "text": one.text, "source": one.source}
            for one in found.unfit
        ],
    }


def food_line_shape(food: Food) -> Shape:
    """A food in a list."""
    return {
        "id": food.id,
        "name": food.name,
        "kind": food.kind,
        "suitable": food.suitable,
        "drink_only": food.drink_only,
        "own": food.own,
        "table": food.table or None,
        "record": food.record or None,
    }


def composition_shape(composition: Composition) -> Shape:
    """Every measure of every food per 100 g as fed, derived ones too; null is missing."""
    units = [f"{name} [{one.unit}/100 g]" for name, one in MEASURES.items()]
    rows = 100.0 * composition.per_gram.T
    return {
        "foods": [
            {"food": food, **dict(zip(units, map(float, row), strict=True))}
            for food, row in zip(composition.ids, rows, strict=True)
        ]
    }


def pantry_items_shape(pantry: Pantry) -> Shape:
    """A pantry with every food on its shelf."""
    return {
        **pantry_shape(pantry),
        "items": [
            {
                "food": item.food.id,
                "price": item.price,
                "package": item.package,
                "package_grams": item.package_grams,
                "price_per_kg": 1e3 * item.price_per_gram,
                "priced_on": item.priced_on,
                "on_hand_grams": item.on_hand,
                "in_mix": item.in_mix,
            }
            for item in pantry.items
        ],
        "recipes": [
            {"name": name, "recipe": " ".join(recipe.text.split()), "grams": recipe.grams.sum()}
            for name, recipe in pantry.recipes.items()
        ],
    }
