"""Feed plans, colostrum and growth as JSON; the shapes are documented in DEVELOPERS.md."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from formulate.answers.verdict import Judgement
from formulate.base.errors import InputError
from formulate.foods.tables import sources
from formulate.rearing.colostrum import ColostrumPlan
from formulate.rearing.feed_plan import DayFeed, FeedPlan, Reason, Weaning
from formulate.rearing.feeding import shortfall
from formulate.rearing.figures import Figure
from formulate.rearing.flock import Flock
from formulate.rearing.growth import Alarm, GrowthCheck, Stretch
from formulate.rearing.log import Entry
from formulate.rearing.milk import Milk
from formulate.rearing.mixes import FlockMilk
from formulate.rearing.schedule import least_feeds
from formulate.report.shapes import Shape, caution_shape

__all__ = [
    "entries_shape",
    "feed_shape",
    "figures_shape",
    "forbidden_shape",
    "growth_shape",
]


def milk_shape(milk: Milk) -> Shape:
    """A milk's strength."""
    return {
        "name": milk.name,
        "energy_mj_per_litre": milk.energy,
        "solids_percent": milk.solids,
        "solids_g_per_litre": milk.solids_per_litre,
        "protein_percent_of_dry_matter": milk.protein,
    }


def _head(flock: Flock, now: datetime, faults: Iterable[InputError]) -> Shape:
    return {
        "flock": flock.name or flock.where,
        "invented": flock.invented,
        "now": now.isoformat(timespec="minutes"),
        "log_faults": [str(fault) for fault in faults],
    }


def _three(values: Sequence[float]) -> Shape | None:
    if any(math.isnan(v) for v in values):
        return None
    low, expected, high = values
    return {"low": low, "expected": expected, "high": high}


def day_shape(plan: FeedPlan, animal: int, day: DayFeed) -> Shape:
    """One animal's day."""
    species = plan.flock.animals[animal].species
    return {
        "date": day.day,
        "age_days": day.age,
        "stage": day.stage.words,
        "weight_kg": _three(day.weight),
        "litres": day.litres,
        "feeds": day.feeds,
        "ml_per_feed": day.millilitres,
        "times": [f"{t:%H:%M}" for t in day.times],
        "largest_feed_ml": day.cap,
        "keep_mj": day.keep,
        "need_mj": day.need,
        "gain_kg_per_day": _three(day.gain),
        "reasons": [r.name.lower().replace("_", "-") for r in Reason if day.reasons & r and r.name],
        "sources": {
            "litres": ["danso-2016", "jagusch-mitchell-1971", "walker-norton-1971"],
            "gain": [
                "danso-2016", "jagusch-mitchell-1971", "walker-norton-1971", "mantecon-1987",
            ],
            "feeds": [least_feeds(species, max(day.age, 0)).source],
            "largest_feed_ml": [
                "sruc-2018" if plan.flock.animals[animal].cap is None else "own"
            ],
        },
    }  # fmt: skip


def weaning_shape(weaning: Weaning) -> Shape:
    """The forecast of weaning."""
    return {
        "ready": weaning.ready,
        "earliest": weaning.earliest,
        "latest": weaning.latest,
        "last_milk": weaning.last_milk,
        "waits_for": weaning.waits_for,
        "creep_seen": weaning.creep_seen,
        "litres_left": weaning.litres_left,
    }


def colostrum_shape(plan: ColostrumPlan) -> Shape:
    """What a newborn needs."""
    early, by = plan.by_early
    return {
        "until": plan.until.isoformat(timespec="minutes"),
        "hour_of_birth_known": plan.hour_known,
        "had_ml": plan.had,
        "total_ml": plan.total,
        "early_ml": early,
        "early_by": by.isoformat(timespec="minutes"),
        "per_feed_ml": plan.per_feed,
        "feeds_left": plan.feeds,
        "next_feed_ml": plan.next_feed,
        "every_hours": plan.every,
        "first_by": plan.first_by.isoformat(timespec="minutes"),
        "first_latest": plan.first_latest.isoformat(timespec="minutes"),
        "overdue": plan.overdue,
        "warmth": {
            "state": plan.warmth.state,
            "may_feed": plan.warmth.may_feed,
            "veterinarian": plan.warmth.veterinarian,
            "steps": list(plan.warmth.steps),
            "source": plan.warmth.source,
        },
        "mix": "refused",
    }


def feed_shape(
    plan: FeedPlan,
    judged: Judgement,
    now: datetime,
    newborns: Sequence[ColostrumPlan],
    faults: Iterable[InputError],
) -> Shape:
    """A whole plan."""
    first_day = {newborn.animal.name: colostrum_shape(newborn) for newborn in newborns}
    animals: list[Shape] = []
    for i, animal in enumerate(plan.flock.animals):
        missing = shortfall(plan, i)
        days = [plan.day_feed(i, d) for d in range(len(plan.days))]
        animals.append(
            {
                "name": animal.name,
                "species": animal.species.value,
                "born": animal.born,
                "colostrum": first_day.get(animal.name),
                "shortfall": missing
                and {
                    "first_day": missing.first_day,
                    "below_keep": missing.below_keep,
                    "energy_mj_per_litre": missing.energy,
                    "solids_percent": missing.solids,
                    "feeding_times": missing.times,
                },
                "weaning": weaning_shape(plan.weaning[i]),
                "days": [day_shape(plan, i, day) for day in days],
            }
        )
    return {
        **_head(plan.flock, now, faults),
        "answer": "plan",
        "milk": milk_shape(plan.milk),
        "milk_before": None if plan.old_milk is None else milk_shape(plan.old_milk),
        "bottle_mark_ml": plan.step,
        "days": [
            {"date": day, "litres": litres, "share_of_new_milk": share}
            for day, litres, share in zip(
                plan.days, plan.litres_by_day(), plan.share_new, strict=True
            )
        ],
        "animals": animals,
        "cautions": [caution_shape(c) for c in judged.cautions],
    }


def forbidden_shape(
    flock: Flock,
    milk: FlockMilk,
    judged: Judgement,
    now: datetime,
    faults: Iterable[InputError],
) -> Shape:
    """A mix that no plan is made with."""
    return {
        **_head(flock, now, faults),
        "answer": "do not feed this mix",
        "milk": milk_shape(milk.milk),
        "cautions": [caution_shape(c) for c in judged.cautions],
    }


def figures_shape(figures: Iterable[Figure]) -> list[Shape]:
    """Figures with their documents."""
    return [
        {
            "name": f.name,
            "value": f.value,
            "unit": f.unit,
            "source": f.source,
            "document": str(sources()[f.source]),
            "status": f.document.status,
            "note": f.note,
        }
        for f in figures
    ]


def _stretch_shape(stretch: Stretch) -> Shape:
    return {
        "from": stretch.start.day,
        "to": stretch.end.day,
        "from_kg": stretch.start.kilograms,
        "to_kg": stretch.end.kilograms,
        "gain_kg_per_day": stretch.gain,
        "expected_kg_per_day": _three(stretch.expected),
        "scale_error_kg_per_day": stretch.error,
        "litres_per_day": stretch.litres,
        "logged": stretch.logged,
        "keep_litres": stretch.keep,
        "need_litres": stretch.need,
        "litres_per_kg_gain": stretch.litres_per_kilogram,
    }


def _alarm_shape(alarm: Alarm) -> Shape:
    return {
        "id": alarm.id,
        "text": alarm.text,
        "look": list(alarm.look),
        "veterinarian": alarm.veterinarian,
        "source": alarm.source,
    }


def growth_shape(
    checks: Sequence[GrowthCheck],
    plan: FeedPlan,
    milk: FlockMilk,
    now: datetime,
    faults: Iterable[InputError],
) -> Shape:
    """Every animal's growth."""
    rows: list[Any] = [
        {
            "name": check.animal.name,
            "species": check.animal.species.value,
            "today_kg": _three(check.today),
            "stretches": [_stretch_shape(s) for s in check.stretches],
            "alarms": [_alarm_shape(a) for a in check.alarms],
        }
        for check in checks
    ]
    return {
        **_head(plan.flock, now, faults),
        "answer": "look" if any(check.alarms for check in checks) else "well",
        "milk": milk_shape(milk.milk),
        "animals": rows,
    }


def entries_shape(entries: Sequence[Entry], added: Sequence[Entry], path: str) -> Shape:
    """What was logged."""
    return {
        "log": path,
        "entries": [
            {
                "when": entry.when.isoformat(timespec="minutes"),
                "animal": entry.animal,
                "what": entry.what.value,
                "amount": entry.amount,
                "unit": entry.what.unit,
                "added": entry in added,
            }
            for entry in entries
        ],
    }
