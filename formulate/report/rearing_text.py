"""The whole feed plan as plain text: it leads with the screen of today."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, time

from formulate.answers.levels import AtLevel
from formulate.answers.today import AnimalToday, Today
from formulate.base.messages import listed
from formulate.base.messages import say as message
from formulate.rearing.bottle import bottle_words, mark_words
from formulate.rearing.feed_plan import DayFeed, FeedPlan, PlanReason, Stage, Weaning
from formulate.rearing.feeding import Shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock
from formulate.rearing.milk import Milk
from formulate.report import words as say
from formulate.report.amount_words import amount_words
from formulate.report.levels_text import levels_lines
from formulate.report.newborn import newborn_told
from formulate.report.today_text import screen_lines
from formulate.report.weaning_text import weaning_texts

__all__ = [
    "feed_text",
    "feed_words",
    "heading",
    "milk_words",
]

#: A lamb's milk is mixed at most this strong [% solids]: the highest published.
MOST_SOLIDS = 20.0
#: Every three hours is the most that is published.
MOST_TIMES = 8


def heading(flock: Flock, now: datetime) -> list[str]:
    """Whose animals, and which day."""
    count = len(flock.animals)
    animals = f"{count} animal" if count == 1 else f"{count} animals"
    lines = [f"{flock.name or flock.where}: {animals}, {now:%A} {now.date()}."]
    if flock.invented:
        lines.append("This is an invented sample.")
    return lines


def milk_words(milk: Milk) -> str:
    """Name and strength."""
    return (
        f"{milk.name}, {say.number(milk.solids)} % solids, "
        f"{say.number(milk.energy)} MJ of usable energy a litre"
    )


def feed_text(today: Today, *, every_day: bool = False, levels: Sequence[AtLevel] = ()) -> str:
    """Today's screen, today's bottles, what to know of them, the weeks to weaning."""
    lines = screen_lines(today)
    for milk, plan in zip(today.milks, today.plans, strict=True):
        if plan is None:
            continue
        text = f"Milk of {listed(milk.animals)}: {milk_words(milk.milk)}"
        lines += ["", say.bullet(text, ""), *_energy_lines(milk.milk)]
        lines += _change_lines(plan)
    for one in today.animals:
        if one.newborn is not None:
            told = newborn_told(one.newborn, today.flock.kitchen)
            lines += ["", *(say.bullet(text, "  ") for text in told.notes[1:])]
    planned = [one for one in today.animals if one.plan is not None and one.day is not None]
    if planned:
        lines += ["", "Bottles today", *_today_lines(today)]
        lines += ["", "Why this amount", *_why_lines(today)]
    if levels:
        kinds = sorted({one.animal.species for one in planned}, reverse=True)
        lines += ["", *levels_lines(levels, kinds, today.pantry.currency)]
    for one in planned:
        if one.may_be_fed:  # no amount stands where none may be given
            lines += ["", *_outlook_lines(one, every_day)]
    if planned:
        lines += ["", *_amount_lines(today)]
    lines += ["", "Take care", *_care_lines(today)]
    return "\n".join(lines)


def _energy_lines(milk: Milk) -> list[str]:
    """Where its energy is less sure than that of other milks."""
    return [
        say.bullet(
            message(
                f"growth.energy-{what}",
                here=getattr(milk, what),
                most=value(f"energy-equation-{what}"),
            ),
            "  ",
        )
        for what in milk.beyond_equation
    ]


def _change_lines(plan: FeedPlan) -> list[str]:
    if plan.old_milk is None or plan.flock.change is None:
        return []
    lines = [f"Milk before: {milk_words(plan.old_milk)}"]
    parts = plan.flock.change.days + 1
    rows = [
        (f"{day}", f"{round(share * parts)} new", f"to {parts - round(share * parts)} old")
        for day, share in zip(plan.days, plan.share_new, strict=True)
        if share < 1
    ]
    if rows:
        lines += ["Changing over: stir each day's milk of", *say.table(rows)]
        lines.append("  After that, all new. Nothing published was found on this; common practice.")
    return lines


def _today_lines(today: Today) -> list[str]:
    kitchen = today.flock.kitchen
    rows = []
    rounds: dict[time, list[tuple[str, float]]] = {}
    for one in today.animals:
        day = one.day
        if day is None or one.plan is None:
            rows.append((one.name, _age_words(one), "no milk"))
            continue
        if not one.may_be_fed:
            rows.append((one.name, _about(one.animal, day), "not now: see above"))
            continue
        rows.append((one.name, _about(one.animal, day), feed_words(one, day)))
        for moment in day.times:
            rounds.setdefault(moment, []).append((one.name, day.millilitres))
    lines = say.table(rows)
    if rounds:
        lines.append("By the clock")
    for moment in sorted(rounds):
        each = [
            f"{name} {mark_words(ml, kitchen) or f'{ml:,.0f} mL'}" for name, ml in rounds[moment]
        ]
        total = sum(ml for _, ml in rounds[moment])
        text = f"{', '.join(each)}: {say.volume_words(total)} in all"
        lines.append(say.bullet(text, f"  {moment:%H:%M}  "))
    return lines


def _age_words(one: AnimalToday) -> str:
    return f"{one.animal.species}, last weighed on {one.animal.last_weight.day}"


def _about(animal: Animal, day: DayFeed) -> str:
    weight = "" if math.isnan(day.weight[1]) else f", about {day.weight[1]:.1f} kg"
    age = "1 day" if day.age == 1 else f"{day.age} days"
    return f"{animal.species}, {age}{weight}"


def feed_words(one: AnimalToday, day: DayFeed) -> str:
    """The bottles of a day: "5 x 251 mL (8 1/2 fl oz)"."""
    assert one.plan is not None
    if day.stage is Stage.WEANED:
        return "no milk: weaned"
    if not day.feeds:
        return "colostrum only"
    return f"{day.feeds} x {bottle_words(day.millilitres, one.plan.flock.kitchen)}"


def _why_lines(today: Today) -> list[str]:
    lines = []
    for one in today.animals:
        day = one.day
        if day is None or not one.may_be_fed:
            continue
        if day.stage is Stage.MILK:
            lines.append(say.bullet(f"{one.name}: {amount_words(one, day)}"))
            if one.shortfall:
                lines.append(say.bullet(_shortfall_words(one, one.shortfall), "    ! "))
        elif day.stage is Stage.STEP_DOWN:
            text = f"{one.name}: weaning. Stop taking milk away if it leaves its creep."
            lines.append(say.bullet(text))
    return lines or ["  Nobody drinks milk today."]


def _shortfall_words(one: AnimalToday, missing: Shortfall) -> str:
    grave = "even what it needs to live" if missing.below_keep else "what it needs to grow"
    assert one.plan is not None
    text = (
        f"From {missing.first_day} this milk is too weak for {one.name}: its feeding times and "
        f"the cap cannot hold {grave}. "
    )
    ways = []
    if missing.solids <= MOST_SOLIDS:
        ways.append(
            f"a milk of {_up(missing.energy)} MJ a litre (the same mix at {_up(missing.solids)} % "
            "solids)"
        )
    times = len(one.plan.flock.feeding_times)
    if times < missing.times <= MOST_TIMES:
        ways.append(f"{missing.times} feeding times instead of {times}")
    would = (
        f"This would do: {listed(ways, 'or')}. "
        if ways
        else "No safe strength of this mix would do: use another. "
    )
    return text + would + "Do not make the feeds bigger."


def _up(number: float) -> str:
    """A figure that must not be undercut, rounded up."""
    return f"{math.ceil(number * 10 - 1e-9) / 10:.1f}"


def _outlook_lines(one: AnimalToday, every_day: bool) -> list[str]:
    animal, plan, i = one.animal, one.plan, one.row
    assert plan is not None
    assert one.weaning is not None
    last = max((d for d in range(len(plan.days)) if plan.feeds[i, d] > 0), default=-1)
    if last < 0:
        return [f"{animal.name}: no more milk in this plan"]
    rows = [("from", "age", "weight, kg", "a day", "litres", "")]
    known = animal.last_weight.day.toordinal() + int(value("weigh-needed"))
    shown = range(last + 1) if every_day else _shown_days(plan, i, last)
    for d in shown:
        day = plan.day_feed(i, d)
        if day.day.toordinal() > known:
            break
        rows.append(
            (
                f"{day.day}",
                f"{day.age} d",
                _weight_words(day.weight),
                feed_words(one, day),
                f"{day.litres:.2f}",
                _note(day),
            )
        )
    lines = [f"{animal.name} to weaning", *say.table(rows, right=(1, 4))]
    if plan.days[last].toordinal() > known:
        weeks = int(value("weigh-needed")) // 7
        lines.append(f"  No amounts are given more than {weeks} weeks after a weigh-in.")
    return lines + _weaning_lines(one.weaning, animal)


def _shown_days(plan: FeedPlan, i: int, last: int) -> list[int]:
    """Today, each seventh day, and every day on which the stage changes."""
    shown = set(range(0, last + 1, 7))
    shown |= {d for d in range(1, last + 1) if plan.stage[i, d] != plan.stage[i, d - 1]}
    third = [d for d in range(1, last + 1) if plan.stage[i, d] == Stage.STEP_DOWN]
    shown |= {third[len(third) // 2]} if third else set()
    return sorted(shown)


def _weight_words(weight: tuple[float, float, float]) -> str:
    low, middle, high = weight
    return "" if math.isnan(middle) else f"{middle:.1f} ({low:.1f} to {high:.1f})"


def _note(day: DayFeed) -> str:
    if day.stage is Stage.STEP_DOWN:
        return "step-down"
    if day.stage is Stage.COLOSTRUM:
        return ""
    if day.reasons & PlanReason.SHORT_OF_KEEP:
        return "too little to live on"
    if day.reasons & PlanReason.SHORT_OF_GAIN:
        return "too little to grow"
    if day.reasons & PlanReason.ABOVE_PUBLISHED:
        return "thin milk"
    return ""


def _weaning_lines(weaning: Weaning, animal: Animal) -> list[str]:
    return [say.bullet(text, "  ") for text in weaning_texts(weaning, animal)]


def _amount_lines(today: Today) -> list[str]:
    plans = [plan for plan in today.plans if plan is not None]
    rows = [("Milk to make", "today", f"{today.litres_today:.1f} L")]
    rows.append(("", "these seven days", f"{today.litres_week:,.0f} L"))
    last = max(plan.days[-1] for plan in plans)
    total = sum(float(plan.litres.sum()) for plan in plans)
    rows.append(("", f"to {last}", f"{total:,.0f} L"))
    return [line.removeprefix("  ") for line in say.table(rows, right=(2,))]


def _care_lines(today: Today) -> list[str]:
    texts = [
        f"Warm to {value('milk-warm'):g} °C. Turned over, a teat drips slowly; it does not stream.",
        "Never make one feed bigger to make up for one missed.",
        message(
            "growth.care-cap",
            young=value("cap-per-feed"),
            older=value("cap-per-feed-older"),
            weeks=value("cap-older-age") / 7,
        ),
        message("growth.care-weigh"),
        "Fresh water always, creep from the second week.",
    ]
    lines = [say.bullet(text) for text in texts]
    shown = {"not-for-the-first-day"}  # told with each newborn
    lines += [say.bullet(c.text) for c in today.cautions if c.shown and c.id not in shown]
    return lines
