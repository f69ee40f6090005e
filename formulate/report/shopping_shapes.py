"""Shopping lists and seasons as JSON."""

from __future__ import annotations

from typing import Any

from formulate.answers.season import MilkBeside, SeasonAnswer
from formulate.answers.shop import ShopAnswer
from formulate.foods.tables import sources
from formulate.rearing.figures import figure
from formulate.report.fed_milks import fed_milk_shape, fed_verdict_shape
from formulate.report.rearing_shapes import figures_shape
from formulate.report.season_text import SEASON_FIGURES, totals
from formulate.report.shapes import pantry_shape
from formulate.shopping.plan import NoShopping, Shopping
from formulate.shopping.season import AnimalSeason, Estimate, MilkSeason
from formulate.shopping.shelf_life import ShelfLife

__all__ = ["season_shape", "shopping_shape"]

Shape = dict[str, Any]


def _head(answer: ShopAnswer) -> Shape:
    flock = answer.read.flock
    return {
        **fed_verdict_shape((*answer.milks, *answer.taken)),
        "milks": [fed_milk_shape(milk) for milk in answer.milks],
        "also": [fed_milk_shape(milk) for milk in answer.offered],
        "flock": flock.name or flock.where,
        "invented_flock": flock.invented,
        "now": answer.read.now.isoformat(timespec="minutes"),
        **pantry_shape(answer.pantry),
        "unplanned": [{"id": bar.id, "text": bar.text} for bar in answer.unplanned],
        "left_out": [{"mix": out.name, "reason": out.why} for out in answer.left_out],
    }


def _status(answer: ShopAnswer) -> str:
    if answer.shopping is None:
        return "nothing-needed" if answer.nothing_needed else "refused"
    return "planned" if isinstance(answer.shopping, Shopping) else "impossible"


def shopping_shape(answer: ShopAnswer) -> Shape:
    """What to buy, mix, and have left; or why there is no such list."""
    found = answer.shopping
    head = {**_head(answer), "status": _status(answer)}
    if found is None:
        return head
    if isinstance(found, NoShopping):
        return {**head, "reason": found.reason, "remedy": found.remedy}
    return {**head, **_plan_shape(found), "prices": _prices_shape(answer)}


def _prices_shape(answer: ShopAnswer) -> list[Shape]:
    return [
        {
            "food": price.food,
            "package": price.package,
            "grams": price.grams,
            "price": price.price,
            "priced_on": price.priced_on,
        }
        for price in answer.prices
    ]


def _plan_shape(shopping: Shopping) -> Shape:
    task = shopping.task
    return {
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
        "mixes": [
            {"animals": list(s.animals), "mix": s.milk, "from": s.first_day}
            for s in shopping.stints
        ],
        "batches": [
            {
                "day": b.day,
                "at": f"{b.at:%H:%M}",
                "mixed_litres": b.mixed,
                "fed_litres": b.fed,
                "jars": b.jars,
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
        "keeps": [_keeps_shape(life) for life in task.lives],
    }


def _keeps_shape(life: ShelfLife) -> Shape:
    return {
        "food": life.food,
        "closed_days": life.closed_days,
        "open_days": life.open_days,
        "chilled": life.chilled,
        "chilled_open": life.chilled_open,
        "closed_source": str(sources()[life.closed_source]),
        "open_source": str(sources()[life.open_source]),
        "note": life.note,
    }


def season_shape(answer: SeasonAnswer) -> Shape:
    """A season."""
    found, count = answer.shopping.shopping, len(answer.animals)
    milks = []
    if answer.own is not None:
        own = _milk_shape(answer.own, count)
        milks.append(
            {**own, "verdict": answer.verdict.value, "too_weak": answer.too_weak, "remarks": []}
        )
    milks += [_beside_shape(other, count) for other in answer.others]
    return {
        **_head(answer.shopping),
        **{name.replace(" ", "_"): _estimate(row) for name, row in totals(answer).items()},
        "shopping": {
            "status": _status(answer.shopping),
            "cost": found.cost if isinstance(found, Shopping) else None,
            "gap": found.lots.gap if isinstance(found, Shopping) else None,
            "trips": len(found.trips) if isinstance(found, Shopping) else None,
            "reason": found.reason if isinstance(found, NoShopping) else None,
        },
        "animals": [_animal_shape(animal) for animal in answer.animals],
        "compared": milks,
        "not_compared": [{"mix": out.name, "reason": out.why} for out in answer.left_out],
        "keeps": [] if found is None else [_keeps_shape(life) for life in found.task.lives],
        "figures": figures_shape(figure(name) for name in SEASON_FIGURES),
    }


def _animal_shape(animal: AnimalSeason) -> Shape:
    earliest, ready, latest = animal.ready
    return {
        "name": animal.name,
        "milk": animal.milk,
        "born": animal.born,
        "earliest": earliest,
        "ready": ready,
        "latest": latest,
        "weight_kg": animal.weight,
        "gained_kg": animal.gained,
        "litres": _estimate(animal.litres),
        "cost": _estimate(animal.cost),
    }


def _estimate(estimate: Estimate) -> Shape:
    return {"low": estimate.low, "expected": estimate.expected, "high": estimate.high}


def _beside_shape(other: MilkBeside, animals: int) -> Shape:
    return {
        **_milk_shape(other.season, animals),
        "verdict": other.verdict.value,
        "too_weak": other.too_weak,
        "remarks": list(other.remarks),
    }


def _milk_shape(milk: MilkSeason, animals: int) -> Shape:
    return {
        "mix": milk.name,
        "litres": _estimate(milk.litres),
        "cost": _estimate(milk.cost),
        "cost_per_litre": milk.per_litre,
        "cost_per_animal": milk.cost.expected / animals,
        "cost_per_kg_gained": milk.per_kilogram,
        "to_buy_from_today": milk.bought,
    }
