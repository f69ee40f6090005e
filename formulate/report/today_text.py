"""One screen for the barn: the verdict, warnings, who is fed now or next, and what to pour."""

from __future__ import annotations

from datetime import datetime, timedelta

from formulate.answers.due import DueFeed, FeedState
from formulate.answers.today import AnimalToday, Today
from formulate.base.messages import dated, duration, listed, say
from formulate.base.units import Kitchen
from formulate.rearing.bottle import bottle_words, mark_words
from formulate.rearing.colostrum import is_newborn
from formulate.report import words
from formulate.report.fed_milks import milks_told_lines
from formulate.report.newborn import moment_words, newborn_told

__all__ = [
    "TIGHTEST",
    "amount_words",
    "last_words",
    "next_words",
    "pour_lines",
    "screen_lines",
    "short_words",
    "title",
    "verdict_lines",
    "warning_lines",
    "warning_texts",
]

#: How many reasons the screen gives for one milk; "check" gives them all.
MOST_REASONS = 3


#: How tightly a screen may be set: without empty lines; with a sentence for each animal in place of
#: the table; and without how a newborn stands, and what the week takes.
TIGHTEST = 3


def screen_lines(today: Today, tight: int = 0) -> list[str]:
    """The screen, line by line.

    Parameters
    ----------
    today : Today
    tight : int
        From 0 to `TIGHTEST`, for screens that are narrow.
    """
    lines = [title(today, short=tight > 1)]
    lines += verdict_lines(today)
    lines += warning_lines(today)
    if not today.animals:
        return [*lines, say("today.screen.nobody")]
    gap = [""] * (tight < 1)
    for one in today.animals:
        if one.newborn is not None:
            lines += [*gap, *newborn_lines(one, today, notes=int(tight < 3))]
    fed = words.table(_rows(today)) if tight < 2 else _fed_lines(today)
    for part in (fed, pour_lines(today, week=tight < 3)):
        lines += [*gap, *part] if part else []
    return lines


def title(today: Today, *, short: bool = False) -> str:
    """Whose animals, and the moment; a sample says that it is invented."""
    whose = today.flock.name or today.flock.where or say("today.screen.no-name")
    name = "sample" if today.flock.invented and "(invented)" not in whose else "flock"
    if short and name == "flock":
        return say(
            "today.screen.short", name=whose, date=today.now.date(), hour=f"{today.now:%H:%M}"
        )
    return say(
        f"today.screen.{name}",
        name=whose,
        day=dated(today.now, "%A"),
        date=today.now.date(),
        hour=f"{today.now:%H:%M}",
    )


def verdict_lines(today: Today) -> list[str]:
    """The verdict on each milk as lines of text."""
    return milks_told_lines(today.milks, MOST_REASONS)


def warning_lines(today: Today) -> list[str]:
    """What bars an animal, what lacks, what the scale says, and what to mind of the milks."""
    return [words.bullet(text, "! ") for text in warning_texts(today)]


def warning_texts(today: Today) -> list[str]:
    """The same as sentences, each once."""
    texts: list[str] = []
    for one in today.animals:
        texts += [bar.text for bar in one.bars if not (bar.id == "cold" and one.newborn)]
        if one.newborn is None:
            texts += [f"{one.name}: {step}" for step in one.warmth.steps]
        short = one.shortfall is not None  # said below, with what would do
        alarms = [a for a in one.alarms if not (short and a.id == "mix-too-weak")]
        texts += [f"{one.name}: {alarm.text}" for alarm in alarms]
        texts += [short_words(one)] if short else []
        texts += one.notes
    texts += [*today.warnings, *today.notes]
    return list(dict.fromkeys(texts))


def short_words(one: AnimalToday) -> str:
    """That a milk is too weak for an animal, in one sentence."""
    assert one.shortfall is not None
    name = "too-weak-to-live" if one.shortfall.below_keep else "too-weak"
    if not one.shortfall.times:
        name += "-day"  # more feeding times would not help
    return say(f"today.screen.{name}", animal=one.name, day=one.shortfall.first_day)


def newborn_lines(one: AnimalToday, today: Today, notes: int | None = None) -> list[str]:
    """A newborn's steps, and so many of the notes."""
    assert one.newborn is not None
    told = newborn_told(one.newborn, today.flock.kitchen)
    lines = [told.title]
    lines += [words.bullet(text, f"  {n}. ") for n, text in enumerate(told.steps, 1)]
    return lines + [words.bullet(text, "  ") for text in told.notes[:notes]]


def _in_order(today: Today) -> list[AnimalToday]:
    """Who is fed next, first."""
    return sorted(today.animals, key=lambda one: (one.next is None, one.next and one.next.at))


def _fed_lines(today: Today) -> list[str]:
    """Who is fed next, how much and when it was last fed, in a sentence each."""
    lines = []
    for one in _in_order(today):
        feed = one.next
        parts = [next_words(one, today.now)]
        parts += [] if feed is None else [amount_words(feed, today.flock.kitchen)]
        if one.last is not None:
            parts.append(say("today.screen.since", last=last_words(one, today)))
        lines.append(words.bullet(f"{one.name}: {', '.join(parts)}", "- "))
    return lines


def _rows(today: Today) -> list[tuple[str, ...]]:
    heads = ("", "next", "how much", "last fed")
    order = _in_order(today)
    rows = [tuple(say(f"today.screen.{head}") if head else "" for head in heads)]
    for one in order:
        feed = one.next
        amount = "" if feed is None else amount_words(feed, today.flock.kitchen)
        rows.append((one.name, next_words(one, today.now), amount, last_words(one, today)))
    return rows


def amount_words(feed: DueFeed, kitchen: Kitchen) -> str:
    """How much a feed is, and of what where it is not milk."""
    amount = bottle_words(feed.millilitres, kitchen)
    if feed.what == "milk":
        return amount
    return say("today.screen.of-colostrum", amount=amount)


def next_words(one: AnimalToday, now: datetime) -> str:
    """When it is fed next: "now", "at 16:30", or why it is not."""
    feed = one.next
    if feed is not None:
        if feed.state is FeedState.DUE:
            late = now - feed.at
            return say("today.screen.now-since" if late.total_seconds() >= 1800 else
                       "today.screen.now", hour=f"{feed.at:%H:%M}")  # fmt: skip
        return say("today.screen.at", hour=moment_words(feed.at, now))
    if any(bar.harm or bar.id == "weigh-first" for bar in one.bars):
        return say("today.screen.not-now")
    if one.bars or (one.day is not None and one.day.feeds == 0 and not is_newborn(one.animal, now)):
        return say("today.screen.no-milk")
    return say("today.screen.tomorrow")


def last_words(one: AnimalToday, today: Today) -> str:
    """When it was last fed, how much, and by whom."""
    last = one.last
    if last is None:
        return say("today.screen.never-logged")
    ago, kitchen = today.now - last.at, today.flock.kitchen
    name = "last" if ago.days < 1 else "last-long-ago"
    if not round(ago / timedelta(minutes=1)):
        name = "last-now"
    return say(
        f"today.screen.{name}-by" if last.by else f"today.screen.{name}",
        ago=duration(ago),
        hour=moment_words(last.at, today.now),
        amount=mark_words(last.millilitres, kitchen) or words.volume_words(last.millilitres),
        by=last.by,
    )


def pour_lines(today: Today, *, wrapped: bool = True, week: bool = True) -> list[str]:
    """What the rest of the day takes from each jar, and what the week takes."""
    parts = [
        say("today.screen.of-milk", amount=words.volume_words(pour.millilitres), milk=pour.milk)
        for pour in today.pours
    ]
    texts = [say("today.screen.pour", parts=listed(parts))] if parts else []
    for milk, plan in zip(today.milks, today.plans, strict=True):
        if milk.before is not None and milk.blends and plan is not None and plan.share_new[0] < 1:
            assert today.flock.change is not None
            of = today.flock.change.days + 1
            new = round(float(plan.share_new[0]) * of)
            before = milk.before.name
            texts.append(
                say("today.screen.blend", new=new, milk=milk.name, old=of - new, before=before)
            )
    if week and today.litres_week > 0:
        texts.append(say("today.screen.make", today=today.litres_today, week=today.litres_week))
    texts = list(dict.fromkeys(texts))
    return [words.bullet(text, "") for text in texts] if wrapped else texts
