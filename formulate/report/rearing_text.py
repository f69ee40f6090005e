"""The whole feed plan as plain text, beginning with the screen of today."""

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

#: Columns of the weeks to weaning.
_COLUMNS = ("from", "age", "weight", "bottles", "litres")


def heading(flock: Flock, now: datetime) -> list[str]:
    """Whose animals, and which day."""
    count = len(flock.animals)
    name = flock.name or flock.where
    lines = [message("feed.flock", name=name, count=count, day=now, date=now.date())]
    if flock.invented:
        lines.append(message("feed.sample"))
    return lines


def milk_words(milk: Milk) -> str:
    """Name and strength."""
    solids, energy = say.number(milk.solids), say.number(milk.energy)
    return message("feed.milk", name=milk.name, solids=solids, energy=energy)


def feed_text(today: Today, *, every_day: bool = False, levels: Sequence[AtLevel] = ()) -> str:
    """Today's screen, today's bottles, what to know of them, the weeks to weaning."""
    lines = screen_lines(today)
    for milk, plan in zip(today.milks, today.plans, strict=True):
        if plan is None:
            continue
        text = message("feed.milk-of", animals=listed(milk.animals), milk=milk_words(milk.milk))
        lines += ["", say.bullet(text, ""), *_energy_lines(milk.milk)]
        lines += _change_lines(plan)
    for one in today.animals:
        if one.newborn is not None:
            told = newborn_told(one.newborn, today.flock.kitchen)
            lines += ["", *(say.bullet(text, "  ") for text in told.notes[1:])]
    planned = [one for one in today.animals if one.plan is not None and one.day is not None]
    if planned:
        lines += ["", message("feed.bottles"), *_today_lines(today)]
        lines += ["", message("feed.why-title"), *_why_lines(today)]
    if levels:
        kinds = sorted({one.animal.species for one in planned}, reverse=True)
        lines += ["", *levels_lines(levels, kinds, today.pantry.currency)]
    for one in planned:
        if one.may_be_fed:  # no amount stands where none may be given
            lines += ["", *_outlook_lines(one, every_day)]
    if planned:
        lines += ["", *_amount_lines(today)]
    lines += ["", message("card.care"), *_care_lines(today)]
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
    lines = [message("feed.milk-before", milk=milk_words(plan.old_milk))]
    parts = plan.flock.change.days + 1
    rows = [
        (
            f"{day}",
            message("feed.parts-new", parts=round(share * parts)),
            message("feed.parts-old", parts=parts - round(share * parts)),
        )
        for day, share in zip(plan.days, plan.share_new, strict=True)
        if share < 1
    ]
    if rows:
        lines += [message("feed.change"), *say.table(rows)]
        lines.append(say.bullet(message("feed.change-after"), "  "))
    return lines


def _today_lines(today: Today) -> list[str]:
    kitchen = today.flock.kitchen
    rows = []
    rounds: dict[time, list[tuple[str, float]]] = {}
    for one in today.animals:
        day = one.day
        if day is None or one.plan is None:
            rows.append((one.name, _age_words(one), message("today.screen.no-milk")))
            continue
        if not one.may_be_fed:
            rows.append((one.name, _about(one.animal, day), message("today.screen.not-now")))
            continue
        rows.append((one.name, _about(one.animal, day), feed_words(one, day)))
        for moment in day.times:
            rounds.setdefault(moment, []).append((one.name, day.millilitres))
    lines = say.table(rows)
    if rounds:
        lines.append(message("feed.by-the-clock"))
    for moment in sorted(rounds):
        each = [
            say.unbroken(f"{name} {mark_words(ml, kitchen) or f'{ml:,.0f} mL'}")
            for name, ml in rounds[moment]
        ]
        total = sum(ml for _, ml in rounds[moment])
        text = message("feed.round", each=", ".join(each), total=say.volume_words(total))
        lines.append(say.bullet(text, f"  {moment:%H:%M}  "))
    return lines


def _age_words(one: AnimalToday) -> str:
    day = one.animal.last_weight.day
    return message("feed.last-weighed", species=one.animal.species, day=day)


def _about(animal: Animal, day: DayFeed) -> str:
    which = "feed.age" if math.isnan(day.weight[1]) else "feed.age-and-weight"
    return message(which, species=animal.species, days=day.age, kilograms=day.weight[1])


def feed_words(one: AnimalToday, day: DayFeed) -> str:
    """The bottles of a day: "5 x 251 mL (8 1/2 fl oz)"."""
    assert one.plan is not None
    if day.stage is Stage.WEANED:
        return message("feed.weaned")
    if not day.feeds:
        return message("feed.colostrum-only")
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
            text = message("feed.stepping-down", animal=one.name)
            lines.append(say.bullet(text))
    return lines or [say.bullet(message("feed.nobody-drinks"), "  ")]


def _shortfall_words(one: AnimalToday, missing: Shortfall) -> str:
    assert one.plan is not None
    what = "live" if missing.below_keep else "grow"
    if not missing.times:
        what += "-day"
    texts = [message(f"feed.weak-to-{what}", day=missing.first_day, animal=one.name)]
    ways = []
    if missing.solids <= MOST_SOLIDS:
        energy, solids = _up(missing.energy), _up(missing.solids)
        ways.append(message("feed.stronger", energy=energy, solids=solids))
    times = len(one.plan.flock.feeding_times)
    if times < missing.times <= MOST_TIMES:
        ways.append(message("feed.more-times", times=missing.times, now=times))
    if ways:
        texts.append(message("feed.would-do", ways=listed(ways, either=True)))
    else:
        texts.append(message("feed.no-strength"))
    return " ".join([*texts, message("feed.never-bigger")])


def _up(number: float) -> str:
    """A figure that must not be undercut, rounded up."""
    return f"{math.ceil(number * 10 - 1e-9) / 10:.1f}"


def _outlook_lines(one: AnimalToday, every_day: bool) -> list[str]:
    animal, plan, i = one.animal, one.plan, one.row
    assert plan is not None
    assert one.weaning is not None
    last = max((d for d in range(len(plan.days)) if plan.feeds[i, d] > 0), default=-1)
    if last < 0:
        return [message("feed.no-more", animal=animal.name)]
    rows = [(*(message(f"feed.column.{name}") for name in _COLUMNS), "")]
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
    lines = [message("feed.to-weaning", animal=animal.name), *say.table(rows, right=(1, 4))]
    if plan.days[last].toordinal() > known:
        weeks = int(value("weigh-needed")) // 7
        lines.append(say.bullet(message("feed.weigh-first", weeks=weeks), "  "))
    return lines + _weaning_lines(one.weaning, animal)


def _shown_days(plan: FeedPlan, i: int, last: int) -> list[int]:
    """Today, each seventh day, and every day on which the stage changes."""
    down = plan.stage[i] == Stage.STEP_DOWN
    shown = {d for d in range(0, last + 1, 7) if d == 0 or not down[d]}
    shown |= {d for d in range(1, last + 1) if plan.stage[i, d] != plan.stage[i, d - 1]}
    third = [d for d in range(1, last + 1) if down[d]]
    shown |= {third[len(third) // 2]} if third else set()
    return sorted(shown)


def _weight_words(weight: tuple[float, float, float]) -> str:
    low, middle, high = weight
    return "" if math.isnan(middle) else message("feed.weight", weight=middle, low=low, high=high)


def _note(day: DayFeed) -> str:
    if day.stage is Stage.STEP_DOWN:
        return message("feed.step-down")
    if day.stage is Stage.COLOSTRUM:
        return ""
    if day.reasons & PlanReason.SHORT_OF_KEEP:
        return message("feed.too-little-to-live")
    if day.reasons & PlanReason.SHORT_OF_GAIN:
        return message("feed.too-little-to-grow")
    if day.reasons & PlanReason.ABOVE_PUBLISHED:
        return message("feed.thin")
    return ""


def _weaning_lines(weaning: Weaning, animal: Animal) -> list[str]:
    return [say.bullet(text, "  ") for text in weaning_texts(weaning, animal)]


def _amount_lines(today: Today) -> list[str]:
    plans = [plan for plan in today.plans if plan is not None]
    rows = [(message("feed.make"), message("feed.make-today"), f"{today.litres_today:.1f} L")]
    rows.append(("", message("feed.make-week"), f"{today.litres_week:,.0f} L"))
    last = max(plan.days[-1] for plan in plans)
    total = sum(float(plan.litres.sum()) for plan in plans)
    rows.append(("", message("feed.make-to", day=last), f"{total:,.0f} L"))
    return [line.removeprefix("  ") for line in say.table(rows, right=(2,))]


def _care_lines(today: Today) -> list[str]:
    texts = [
        message("feed.warm", celsius=value("milk-warm")),
        message("today.care.missed"),
        message(
            "growth.care-cap",
            young=value("cap-per-feed"),
            older=value("cap-per-feed-older"),
            weeks=value("cap-older-age") / 7,
        ),
        message("growth.care-weigh"),
        message("feed.water-and-creep"),
    ]
    lines = [say.bullet(text) for text in texts]
    shown = {"not-for-the-first-day"}  # told with each newborn
    lines += [say.bullet(c.text) for c in today.cautions if c.shown and c.id not in shown]
    return lines
