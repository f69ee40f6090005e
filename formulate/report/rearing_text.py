"""Feed plans, colostrum and growth as plain text."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time

from formulate.answers.milks import refusals
from formulate.answers.verdict import Judgement
from formulate.base.errors import InputError
from formulate.base.messages import listed
from formulate.base.units import Kitchen, unit_size
from formulate.pantry.pantry import Pantry
from formulate.rearing.colostrum import ColostrumPlan
from formulate.rearing.feed_plan import DayFeed, FeedPlan, Reason, Stage, Weaning
from formulate.rearing.feeding import Shortfall, shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock, Species
from formulate.rearing.milk import Milk
from formulate.rearing.mixes import FlockMilk
from formulate.rearing.schedule import MILK_DENSITY, least_feeds, published, strength
from formulate.report import words as say
from formulate.report.newborn import newborn_told

__all__ = [
    "colostrum_lines",
    "feed_text",
    "forbidden_text",
    "log_fault_lines",
    "pantry_lines",
]

#: A lamb's milk is mixed at most this strong [% solids]: the highest published.
MOST_SOLIDS = 20.0
#: Every three hours is the most that is published.
MOST_TIMES = 8


def bottle_words(millilitres: float, kitchen: Kitchen) -> str:
    """A feed on a bottle: "266 mL (9 fl oz)"."""
    ounces = _ounces(millilitres, kitchen)
    return f"{millilitres:.0f} mL ({ounces})" if ounces else f"{millilitres:.0f} mL"


def _ounces(millilitres: float, kitchen: Kitchen) -> str:
    """The same in fluid ounces, where it lies on a mark of half of one; else nothing."""
    if kitchen.metric:
        return ""
    ounces = millilitres / unit_size("fl oz", kitchen)
    halves = round(2 * ounces)
    if not math.isclose(halves / 2, ounces, abs_tol=1e-6) or not halves:
        return ""
    whole, half = divmod(halves, 2)
    size = " ".join(part for part in (str(whole) if whole else "", "1/2" if half else "") if part)
    return f"{size} fl oz"


def heading(flock: Flock, now: datetime, milk: FlockMilk | None) -> list[str]:
    """Whose animals, which day, which milk."""
    count = len(flock.animals)
    animals = f"{count} animal" if count == 1 else f"{count} animals"
    lines = [f"{flock.name or flock.where}: {animals}, {now:%A} {now.date()}."]
    if flock.invented:
        lines.append("This is an invented sample.")
    if milk:
        lines.append(f"Milk: {milk_words(milk.milk)}")
    return lines


def pantry_lines(pantry: Pantry, *, flock: str | None, named: bool) -> list[str]:
    """Whose animals, recipes and foods are used, where nobody named them."""
    if flock is None:
        return ["No flock file was named, so this is the built-in sample."]
    if named or not pantry.invented:
        return []
    return ["No pantry is named, so recipes and foods are those of the built-in sample."]


def milk_words(milk: Milk) -> str:
    """Name and strength."""
    return (
        f"{milk.name}, {say.number(milk.solids)} % solids, "
        f"{say.number(milk.energy)} MJ of usable energy a litre"
    )


def feed_text(
    plan: FeedPlan,
    milk: FlockMilk,
    judged: Judgement,
    now: datetime,
    newborns: Sequence[ColostrumPlan],
    *,
    every_day: bool = False,
) -> str:
    """The plan: today's bottles, what to know of them, the weeks to weaning."""
    lines = heading(plan.flock, now, milk)
    lines += _change_lines(plan)
    for newborn in newborns:
        lines += ["", *colostrum_lines(newborn)]
    lines += ["", "Bottles today", *_today_lines(plan)]
    lines += ["", "Why so much", *_why_lines(plan)]
    for i in range(len(plan.flock.animals)):
        lines += ["", *_outlook_lines(plan, i, every_day)]
    lines += ["", *_amount_lines(plan)]
    lines += ["", "Take care", *_care_lines(plan, judged)]
    return "\n".join(lines)


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


def _today_lines(plan: FeedPlan) -> list[str]:
    rows = []
    rounds: dict[time, list[tuple[str, float]]] = {}
    for i, animal in enumerate(plan.flock.animals):
        day = plan.day_feed(i, 0)
        rows.append((animal.name, _about(animal, day), _feed_words(plan, day)))
        for moment in day.times:
            rounds.setdefault(moment, []).append((animal.name, day.millilitres))
    lines = say.table(rows)
    if rounds:
        lines.append("By the clock")
    for moment in sorted(rounds):
        kitchen = plan.flock.kitchen
        each = [f"{name} {_ounces(ml, kitchen) or f'{ml:.0f} mL'}" for name, ml in rounds[moment]]
        total = sum(ml for _, ml in rounds[moment])
        text = f"{', '.join(each)}: {say.volume_words(total)} in all"
        lines.append(say.bullet(text, f"  {moment:%H:%M}  "))
    return lines


def _about(animal: Animal, day: DayFeed) -> str:
    weight = "" if math.isnan(day.weight[1]) else f", about {day.weight[1]:.1f} kg"
    age = "1 day" if day.age == 1 else f"{day.age} days"
    return f"{animal.species}, {age}{weight}"


def _feed_words(plan: FeedPlan, day: DayFeed) -> str:
    if day.stage is Stage.WEANED:
        return "no milk: weaned"
    if not day.feeds:
        return "colostrum only"
    return f"{day.feeds} x {bottle_words(day.millilitres, plan.flock.kitchen)}"


def _why_lines(plan: FeedPlan) -> list[str]:
    lines = []
    for i, animal in enumerate(plan.flock.animals):
        day = plan.day_feed(i, 0)
        if day.stage is Stage.MILK:
            lines.append(say.bullet(f"{animal.name}: {_why(plan, i, animal, day)}"))
            missing = shortfall(plan, i)
            if missing:
                lines.append(say.bullet(_shortfall_words(plan, animal, missing), "    ! "))
        elif day.stage is Stage.STEP_DOWN:
            text = f"{animal.name}: weaning. Stop taking milk away if it leaves its creep."
            lines.append(say.bullet(text))
    return lines or ["  Nobody drinks milk today."]


def _why(plan: FeedPlan, i: int, animal: Animal, day: DayFeed) -> str:
    aim = day.need - day.keep
    gain = aim / value("energy-per-gain-danso") * 1e3
    text = f"{day.keep:.1f} MJ keeps it, {day.need:.1f} MJ lets it gain {gain:.0f} g a day; "
    if day.reasons & Reason.SHORT_OF_AIM:
        text += f"its feeds hold {day.litres * plan.energy[0]:.1f} MJ, {day.litres:.2f} L"
    else:
        text += f"that is {day.litres:.2f} L of today's milk"
    text += f", {100 * day.litres * MILK_DENSITY / day.weight[1]:.0f} % of its weight. "
    cap_figure = "its veterinarian's cap" if animal.cap is not None else "the cap"
    per_kilogram = value("cap-per-feed") if animal.cap is None else animal.cap
    text += f"No feed above {day.cap:.0f} mL, {cap_figure} of {per_kilogram:g} mL/kg. "
    asked = least_feeds(animal.species, day.age)
    if day.reasons & Reason.MORE_FEEDS:
        text += (
            f"At its age {asked.feeds} feeds are the fewest; they would each be too big, so it "
            f"has {day.feeds}. "
        )
    return text + _published_words(plan, animal, day)


def _published_words(plan: FeedPlan, animal: Animal, day: DayFeed) -> str:
    """What schedules give, at their own strength, and whether the cap cuts them."""
    own = strength(animal.species).low
    for line in published(animal.species, day.age, day.weight[1]):
        if line.schedule != "by-age" or not line.feeds:
            continue
        low, high = (1e3 * amount / line.feeds for amount in (line.low, line.high))
        span = f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
        text = f"A handbook's table for its age: {line.feeds} x {span} mL"
        here = line.at(own, float(plan.energy[0]))
        if here.high < day.litres - 1e-9:
            text += ", less than this animal needs"
        if high > day.cap:
            text += "; cut here, since its larger feeds pass the cap"
        return text + "."
    return "No published table by age reaches it."


def _shortfall_words(plan: FeedPlan, animal: Animal, missing: Shortfall) -> str:
    grave = "even what only keeps it alive" if missing.below_keep else "what it needs to grow"
    text = (
        f"From {missing.first_day} this milk is too weak for {animal.name}: its feeding times and "
        f"the cap cannot hold {grave}. "
    )
    ways = []
    if missing.solids <= MOST_SOLIDS:
        ways.append(
            f"a milk of {_up(missing.energy)} MJ a litre (the same mix at {_up(missing.solids)} % "
            "solids)"
        )
    if missing.times <= MOST_TIMES:
        ways.append(f"{missing.times} feeding times instead of {len(plan.flock.feeding_times)}")
    would = (
        f"Would do: {listed(ways, 'or')}. "
        if ways
        else "No safe strength of this mix would do: use another. "
    )
    return text + would + "Do not make the feeds bigger."


def _up(number: float) -> str:
    """A figure that must not be undercut, rounded up."""
    return f"{math.ceil(number * 10 - 1e-9) / 10:.1f}"


def _outlook_lines(plan: FeedPlan, i: int, every_day: bool) -> list[str]:
    animal = plan.flock.animals[i]
    weaning = plan.weaning[i]
    last = max((d for d in range(len(plan.days)) if plan.feeds[i, d] > 0), default=-1)
    if last < 0:
        return [f"{animal.name}: no more milk in this plan"]
    rows = [("from", "age", "weight, kg", "a day", "litres", "")]
    for d in range(last + 1) if every_day else _shown_days(plan, i, last):
        day = plan.day_feed(i, d)
        feed = _feed_words(plan, day)
        rows.append(
            (
                f"{day.day}",
                f"{day.age} d",
                _weight_words(day.weight),
                feed,
                f"{day.litres:.2f}",
                _note(day),
            )
        )
    return [
        f"{animal.name} to weaning",
        *say.table(rows, right=(1, 4)),
        *_weaning_lines(weaning, animal),
    ]


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
    if day.reasons & Reason.SHORT_OF_KEEP:
        return "too little to live on"
    if day.reasons & Reason.SHORT_OF_GAIN:
        return "too little to grow"
    if day.reasons & Reason.ABOVE_PUBLISHED:
        return "thin milk"
    return ""


def _weaning_lines(weaning: Weaning, animal: Animal) -> list[str]:
    age = int(value("wean-age", animal.species))
    creep = value("wean-creep", animal.species)
    if weaning.ready is None:
        return ["  Weaning: not reached within this plan."]
    spread = _spread_words(weaning)
    seen = "seen in the log" if weaning.creep_seen else "not seen yet; log it with --creep"
    weight = f"{value('wean-weight', animal.species):g} kg"
    if animal.birth_weight:
        multiple = value("wean-birth-multiple") * animal.birth_weight
        weight += (
            f" and {value('wean-birth-multiple'):g} times its birth weight ({multiple:.1f} kg; a "
            "rule from memory)"
        )
    return [
        say.bullet(
            f"Weaning may start about {weaning.ready}{spread}; last milk {weaning.last_milk}. "
            f"{weaning.litres_left:.0f} L of milk until then.",
            "  ",
        ),
        say.bullet(
            f"All of: {age} days old; {weight}; {creep:g} g of creep a day on "
            f"{value('wean-creep-days'):g} days running ({seen}).",
            "  ",
        ),
    ]


def _spread_words(weaning: Weaning) -> str:
    if weaning.earliest == weaning.latest:
        return ""
    latest = weaning.latest or "later"
    return f" ({weaning.earliest} to {latest} by the published growth equations)"


def _amount_lines(plan: FeedPlan) -> list[str]:
    by_day = plan.litres_by_day()
    rows = [("Milk to make", "today", f"{by_day[0]:.1f} L")]
    if len(by_day) >= 7:
        rows.append(("", "these seven days", f"{by_day[:7].sum():.0f} L"))
    rows.append(("", f"to {plan.days[-1]}", f"{by_day.sum():.0f} L"))
    return [line.removeprefix("  ") for line in say.table(rows, right=(2,))]


def _care_lines(plan: FeedPlan, judged: Judgement) -> list[str]:
    texts = [
        f"Warm to {value('milk-warm'):g} °C. A teat turned over gives a slow drip, no stream.",
        "Never make one feed bigger to make up for one missed.",
        "The cap of 50 mL/kg is a rule for colostrum; no figure was found for an older stomach. "
        'A veterinarian\'s own goes into the file as veterinarians_cap = "60 mL/kg".',
        "Weigh each week: the plan guesses weights in between. Creep and grass are not counted.",
        "Fresh water always, creep from the second week.",
    ]
    if any(animal.species is Species.KID for animal in plan.flock.animals):
        texts.append("No energy figures for kids were found: a lamb's are used.")
    lines = [say.bullet(text) for text in texts]
    shown = {"not-for-the-first-day"}  # told with each newborn
    lines += [say.bullet(c.text) for c in judged.cautions if c.shown and c.id not in shown]
    lines.append("  (where each number comes from: --sources)")
    return lines


def colostrum_lines(plan: ColostrumPlan) -> list[str]:
    """What a newborn needs now, in order."""
    told = newborn_told(plan)
    lines = [told.title]
    lines += [say.bullet(text, f"  {n}. ") for n, text in enumerate(told.steps, 1)]
    return lines + [say.bullet(text, "  ") for text in told.notes]


def forbidden_text(flock: Flock, now: datetime, milk: FlockMilk, judged: Judgement) -> str:
    """Why no plan is made with a mix."""
    lines = heading(flock, now, milk)
    lines += ["", "No plan is made with this mix:"]
    lines += [say.bullet(text) for text in refusals(judged)]
    return "\n".join(lines)


def log_fault_lines(faults: Iterable[InputError]) -> list[str]:
    """Lines of the log that were left out."""
    return [str(fault) for fault in faults]


def weighing_text(animal: Animal, day: date, kilograms: float, *, added: bool, path: str) -> str:
    """What became of a weigh-in."""
    pounds = kilograms / 0.45359237
    done = "Logged" if added else "Already in the log"
    return f"{done}: {animal.name}, {kilograms:.2f} kg ({pounds:.1f} lb) on {day}, in {path}"
