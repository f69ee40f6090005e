"""Shopping lists and seasons as JSON."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from formulate.foods.tables import sources
from formulate.rearing.figures import figure
from formulate.report.rearing_shapes import figures_shape, milk_shape
from formulate.report.shapes import pantry_shape
from formulate.report.shopping_text import SEASON_FIGURES, totals
from formulate.shopping.batches import jars_for
from formulate.shopping.plan import NoShopping, Shopping
from formulate.shopping.season import Estimate, MilkSeason, Season
from formulate.shopping.task import ShelfLife, ShoppingTask

__all__ = ["no_shopping_shape", "season_shape", "shopping_shape"]

Shape = dict[str, Any]


def _head(task: ShoppingTask, now: datetime) -> Shape:
    return {
        "flock": task.flock.name or task.flock.where,
        "invented_flock": task.flock.invented,
        "now": now.isoformat(timespec="minutes"),
        **pantry_shape(task.pantry),
        "milk": milk_shape(task.milks[0].milk),
        "left_out": [{"mix": name, "reason": why} for name, why in task.left_out],
    }


def shopping_shape(shopping: Shopping, now: datetime) -> Shape:
    """What to buy, mix, and have left."""
    task = shopping.task
    return {
        **_head(task, now),
        "status": "planned",
        "cost": shopping.cost,
        "food_cost": shopping.food_cost,
        "lower_bound": shopping.lots.bound,
        "gap": shopping.lots.gap,
        "fed_litres": shopping.fed,
        "mixed_litres": shopping.mixed,
        "wasted_litres": shopping.wasted_milk,
        "refrigerator_ml": task.problem.room,
        "fullest_refrigerator_ml": float(shopping.lots.room().max()),
        "trips": [
            {
                "day": trip.day,
                "cost": trip.cost,
                "purchases": [
                    {
                        "food": p.food,
                        "package": p.package,
                        "count": p.count,
                        "grams": p.grams,
                        "price": p.price,
                        "use_by": p.use_by,
                    }
                    for p in trip.purchases
                ],
            }
            for trip in shopping.trips
        ],
        "mixes": [{"mix": s.mix, "from": s.first_day} for s in shopping.stints],
        "batches": [
            {
                "day": b.day,
                "at": f"{b.at:%H:%M}",
                "mixed_litres": b.mixed,
                "fed_litres": b.fed,
                "jars": jars_for(b.mixed, task.flock.jar),
                "milks": [{"mix": name, "litres": litres} for name, litres in b.milks],
                "takes": [{"food": food, "grams": grams} for food, grams in b.takes],
                "opens": [
                    {"food": o.food, "package": o.package, "count": o.count, "until": o.until}
                    for o in b.opens
                ],
                "refrigerator_ml": b.room,
            }
            for b in shopping.batches
        ],
        "leftovers": [
            {
                "food": left.food,
                "grams": left.grams,
                "last_day": left.last_day,
                "still_good": left.good,
                "worth": left.worth,
            }
            for left in shopping.leftovers
        ],
        "keeps": [_keeps_shape(keeps) for keeps in task.keeps],
    }


def _keeps_shape(keeps: ShelfLife) -> Shape:
    return {
        "food": keeps.food,
        "closed_days": keeps.closed_days,
        "open_days": keeps.open_days,
        "chilled": keeps.chilled,
        "chilled_open": keeps.chilled_open,
        "closed_source": str(sources()[keeps.closed_source]),
        "open_source": str(sources()[keeps.open_source]),
        "note": keeps.note,
    }


def no_shopping_shape(result: NoShopping, now: datetime) -> Shape:
    """Why there is no plan."""
    return {
        **_head(result.task, now),
        "status": "impossible",
        "reason": result.reason,
        "remedy": result.remedy,
    }


def season_shape(season: Season, now: datetime) -> Shape:
    """A season."""
    shopping = season.shopping
    planned = isinstance(shopping, Shopping)
    return {
        **_head(shopping.task, now),
        **{name.replace(" ", "_"): _spread(spread) for name, spread in totals(season).items()},
        "shopping": {
            "status": "planned" if planned else "impossible",
            "cost": shopping.cost if isinstance(shopping, Shopping) else None,
            "gap": shopping.lots.gap if isinstance(shopping, Shopping) else None,
            "trips": len(shopping.trips) if isinstance(shopping, Shopping) else None,
            "reason": None if isinstance(shopping, Shopping) else shopping.reason,
        },
        "animals": [
            {
                "name": animal.name,
                "born": animal.born,
                "earliest": animal.ready[0],
                "ready": animal.ready[1],
                "latest": animal.ready[2],
                "weight_kg": animal.weight,
                "gained_kg": animal.gained,
                "litres": _spread(animal.litres),
                "cost": _spread(animal.cost),
            }
            for animal in season.animals
        ],
        "milks": [_milk_shape(milk, len(season.animals)) for milk in (season.own, *season.others)],
        "not_compared": [{"mix": name, "reason": why} for name, why in season.forbidden],
        "keeps": [_keeps_shape(keeps) for keeps in shopping.task.keeps],
        "figures": figures_shape(figure(name) for name in SEASON_FIGURES),
    }


def _spread(spread: Estimate) -> Shape:
    return {"low": spread.low, "expected": spread.expected, "high": spread.high}


def _milk_shape(milk: MilkSeason, animals: int) -> Shape:
    return {
        "mix": milk.name,
        "litres": _spread(milk.litres),
        "cost": _spread(milk.cost),
        "cost_per_litre": milk.per_litre,
        "cost_per_animal": milk.cost.expected / animals,
        "cost_per_kg_gained": milk.per_kilogram(),
        "to_buy_from_today": milk.bought,
        "remark": milk.remark,
    }
