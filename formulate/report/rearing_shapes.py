"""Feed plans, colostrum and growth as JSON; DEVELOPERS.md documents the shapes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from formulate.answers.due import DueFeed
from formulate.answers.levels import AtLevel
from formulate.answers.record import Recorded
from formulate.answers.today import AnimalToday, Today
from formulate.foods.tables import sources
from formulate.rearing.colostrum import ColostrumPlan
from formulate.rearing.feed_plan import PlanReason, Stage, Weaning
from formulate.rearing.figures import Figure
from formulate.rearing.growth import Alarm, Stretch
from formulate.rearing.portions import mark_of
from formulate.rearing.schedule import least_feeds
from formulate.rearing.warmth import Warmth
from formulate.report.fed_milks import fed_milk_shape, fed_verdict_shape, milk_shape
from formulate.report.levels_text import level_shape
from formulate.report.rearing_sources import energy_sources
from formulate.report.shapes import Shape, caution_shape

__all__ = [
    "animal_shape",
    "feed_shape",
    "figures_shape",
    "growth_shape",
    "recorded_shape",
    "today_shape",
]


def _head(today: Today) -> Shape:
    return {
        "flock": today.flock.name or today.flock.where,
        "invented": today.flock.invented,
        "now": _minute(today.now),
        "log_faults": [str(fault) for fault in today.log_faults],
    }


def _three(values: Sequence[float]) -> Shape | None:
    if any(math.isnan(v) for v in values):
        return None
    low, expected, high = values
    return {"low": low, "expected": expected, "high": high}


def day_shape(one: AnimalToday, day_of: date, d: int) -> Shape:
    """One animal's day by the plan; after the end of its milk it drinks none."""
    assert one.plan is not None
    if d >= len(one.plan.days):
        return {
            "date": day_of, "age_days": one.animal.age_days(day_of), "stage": Stage.WEANED.words,
            "weight_kg": None, "litres": 0.0, "feeds": 0, "ml_per_feed": 0.0, "times": [],
            "largest_feed_ml": None, "most_litres": None, "keep_mj": None, "need_mj": None,
            "aim_kg_per_day": None, "gain_kg_per_day": None,
            "reasons": [], "sources": {},
        }  # fmt: skip
    day, species = one.plan.day_feed(one.row, d), one.animal.species
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
        "most_litres": day.most,
        "keep_mj": day.keep,
        "need_mj": day.need,
        "aim_kg_per_day": day.aim,
        "gain_kg_per_day": _three(day.gain),
        "reasons": [
            reason.name.lower().replace("_", "-")
            for reason in PlanReason
            if day.reasons & reason and reason.name
        ],
        "sources": {
            "litres": list(energy_sources(species)),
            "gain": [*energy_sources(species), "black-griffiths-1975"],
            "feeds": [least_feeds(species, max(day.age, 0)).source],
            "largest_feed_ml": [
                "sruc-2018" if one.animal.cap is None else "own"
            ],
        },
    }  # fmt: skip


def weaning_shape(weaning: Weaning) -> Shape:
    """The forecast of weaning."""
    return {
        "ready": weaning.ready,
        "earliest": weaning.earliest,
        "latest": weaning.latest,
        "begins": weaning.begins,
        "last_milk": weaning.last_milk,
        "waits_for": weaning.waits_for,
        "creep_seen": weaning.creep_seen,
        "litres_left": weaning.litres_left,
        "how": weaning.how.value,
        "regain_kg": None if weaning.regain is None else weaning.regain.kilograms,
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
        "times": [_minute(at) for at in plan.times],
        "lost_ml": plan.lost,
        "first_by": plan.first_by.isoformat(timespec="minutes"),
        "first_latest": plan.first_latest.isoformat(timespec="minutes"),
        "overdue": plan.overdue,
        "warmth": _warmth_shape(plan.warmth),
        "mix": "refused",
    }


def today_shape(today: Today) -> Shape:
    """A flock at one moment: what every other shape of it begins with."""
    return {
        **_head(today),
        "answer": "yes" if today.well else "no",
        **fed_verdict_shape(today.milks),
        "milks": [fed_milk_shape(milk) for milk in today.milks],
        "warnings": list(today.warnings),
        "notes": list(today.notes),
        "litres_today": today.litres_today,
        "litres_week": today.litres_week,
        "sittings": [
            {
                "at": _minute(sitting.at),
                "ml": sitting.millilitres,
                "feeds": [{"animal": name, **due_shape(feed)} for name, feed in sitting.feeds],
            }
            for sitting in today.sittings
        ],
        "pour": [{"milk": pour.milk, "ml": pour.millilitres} for pour in today.pours],
        "animals": [animal_shape(one) for one in today.animals],
        "cautions": [caution_shape(c) for c in today.cautions],
    }


def feed_shape(today: Today, levels: Sequence[AtLevel] = ()) -> Shape:
    """A whole plan, with everything of today."""
    plans = [plan for plan in today.plans if plan is not None]
    longest = max((plan.days for plan in plans), key=len, default=())
    shape = today_shape(today)
    by_name = {one.name: one for one in today.animals}
    for animal in shape["animals"]:
        one = by_name[animal["name"]]
        days = range(0 if one.plan is None else len(longest))
        animal["levels"] = [level_shape(at) for at in levels if at.animal == one.name]
        animal["weaning"] = None if one.weaning is None else weaning_shape(one.weaning)
        animal["days"] = [day_shape(one, longest[d], d) for d in days]
    first = plans[0] if plans else None
    return {
        **shape,
        "answer": "plan" if plans else "do not feed this mix",
        "milk": milk_shape(today.milks[0].milk) if today.milks else None,
        "milk_before": None
        if first is None or first.old_milk is None
        else milk_shape(first.old_milk),
        "bottle_mark_ml": mark_of(today.flock),
        "days": [
            {
                "date": day,
                "litres": sum(float(p.litres_by_day()[d]) for p in plans if d < len(p.days)),
                "share_of_new_milk": float(first.share_new[d])
                if first is not None and d < len(first.days)
                else 1.0,
            }
            for d, day in enumerate(longest)
        ],
    }


def growth_shape(today: Today) -> Shape:
    """Every animal's growth, with everything of today."""
    shape = today_shape(today)
    by_name = {one.name: one for one in today.animals}
    for animal in shape["animals"]:
        check = by_name[animal["name"]].check
        animal["today_kg"] = None if check is None else _three(check.today)
        animal["stretches"] = [] if check is None else [_stretch_shape(s) for s in check.stretches]
    return {
        **shape,
        "answer": "look" if any(one.alarms for one in today.animals) else "well",
        "milk": milk_shape(today.milks[0].milk) if today.milks else None,
    }


def animal_shape(one: AnimalToday) -> Shape:
    """One animal at one moment."""
    due = one.next
    short = one.shortfall
    return {
        "name": one.name,
        "species": one.animal.species.value,
        "born": one.animal.born,
        "milk": None if one.milk is None else one.milk.name,
        "level": one.level,
        "may_be_fed": one.may_be_fed,
        "why_not": [{"id": bar.id, "text": bar.text} for bar in one.bars],
        "next": None if due is None else due_shape(due),
        "feeds": [due_shape(feed) for feed in one.feeds],
        "last_fed": None
        if one.last is None
        else {"at": _minute(one.last.at), "ml": one.last.millilitres, "by": one.last.by},
        "had_24_hours_ml": one.had,
        "day_ml": one.limits.day,
        "least_hours_between_feeds": one.limits.gap.total_seconds() / 3600,
        "temperature": _warmth_shape(one.warmth),
        "colostrum": None if one.newborn is None else colostrum_shape(one.newborn),
        "shortfall": short
        and {
            "first_day": short.first_day,
            "below_keep": short.below_keep,
            "energy_mj_per_litre": short.energy,
            "solids_percent": short.solids,
            "feeding_times": short.times,
        },
        "alarms": [_alarm_shape(a) for a in one.alarms],
        "notes": list(one.notes),
    }


def due_shape(feed: DueFeed) -> Shape:
    """One feed of today."""
    return {
        "at": _minute(feed.at),
        "ml": feed.millilitres,
        "what": feed.what,
        "state": feed.state.value,
        "logged_ml": None if feed.logged is None else feed.logged.millilitres,
        "by": None if feed.logged is None else feed.logged.by,
    }


def _minute(moment: datetime) -> str:
    return moment.isoformat(timespec="minutes")


def _warmth_shape(warmth: Warmth) -> Shape:
    read = warmth.read
    return {
        "state": warmth.state.value,
        "may_feed": warmth.may_feed,
        "veterinarian": warmth.veterinarian,
        "steps": list(warmth.steps),
        "celsius": None if read is None else read.celsius,
        "at": None if read is None or read.at is None else _minute(read.at),
        "source": warmth.source,
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
        "creep_g_per_day": stretch.creep,
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


def recorded_shape(recorded: Recorded) -> Shape:
    """The result of writing something down."""
    return {
        "log": str(recorded.log),
        "answer": recorded.outcome.value,
        "entries": [
            {
                "when": _minute(entry.when),
                "animal": entry.animal,
                "what": f"strike {entry.what}" if entry.strikes else entry.what.value,
                "amount": entry.amount,
                "unit": entry.what.unit,
                "note": entry.note,
                "by": entry.by,
                "added": entry in recorded.added,
            }
            for entry in recorded.entries
        ],
        "questions": [{"id": q.id, "text": q.text} for q in recorded.questions],
        "notes": list(recorded.notes),
    }
