"""A season as a calendar file (iCalendar, RFC 5545): mixing, feeds, shopping, weighing, weaning.

Times are those of the kitchen clock and have no zone, so a feed stays at its hour when the clocks
change. Each entry stands for a *place* in the season — the third feed of a day, the weighing of a
week, an animal's weaning — and its UID names the flock and that place. A calendar made anew later
therefore moves entries instead of doubling them; places that it no longer needs are cancelled.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from formulate.base.messages import listed, say
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.figures import value
from formulate.rearing.flock import Flock
from formulate.report.words import money
from formulate.shopping.batches import jars_for
from formulate.shopping.plan import MixedBatch, Shopping, ShoppingTrip

if TYPE_CHECKING:
    from icalendar import Event as Entry

__all__ = ["FEED_DAYS", "Event", "calendar_text", "events_of"]

#: Feeds and mixing stand this many days ahead: beyond them a weight is a guess (judgement).
FEED_DAYS = 14
#: Cancelled places reach this many days past the last milk: an older plan may have ended later.
_PAST_THE_END = 28
#: More animals than this are counted, not named.
_NAMED = 3
#: Alarms (judgement): bottles want warming before the feed; whole days ring at seven.
_ALARM = {
    "feed": timedelta(minutes=-15),
    "mix": timedelta(),
    "shop": timedelta(hours=7),
    "weigh": timedelta(hours=7),
    "wean": timedelta(hours=7),
}
#: Under it lie the names of all flocks (RFC 9562, a name-based UUID).
_NAMESPACE = UUID("6f2b0d34-7c1e-5a52-9d8e-3b5a0c4f1e77")


@dataclass(frozen=True, slots=True)
class Event:
    """One entry.

    Parameters
    ----------
    kind : str
        "mix", "feed", "shop", "weigh" or "wean".
    place : str
        Tells it from others of its kind, and stays the same when it moves.
    start : datetime or date
        By the kitchen clock; a date alone is the whole day.
    minutes : int
        How long; 0 for a whole day.
    summary, description : str
    cancelled : bool
        Nothing is to be done here, though an older calendar may say so.
    """

    kind: str
    place: str
    start: datetime | date
    minutes: int
    summary: str
    description: str = ""
    cancelled: bool = False


def events_of(shopping: Shopping, now: datetime) -> tuple[Event, ...]:
    """Every entry of a season from `now` on, by day and hour.

    Parameters
    ----------
    shopping : Shopping
    now : datetime
        Entries before it are left as an older calendar has them.
    """
    plan = shopping.task.plans[0]
    found = chain(
        _mixing(shopping),
        _feeds(plan),
        _trips(shopping),
        _weighings(plan),
        _weanings(plan),
    )
    return tuple(sorted((e for e in found if _ahead(e, now)), key=_order))


def _ahead(event: Event, now: datetime) -> bool:
    if isinstance(event.start, datetime):
        return event.start >= now
    return event.start >= now.date()


def _order(event: Event) -> tuple[datetime, str, str]:
    start = event.start
    moment = start if isinstance(start, datetime) else datetime.combine(start, time())
    return moment, event.kind, event.place


def _mixing(shopping: Shopping) -> Iterator[Event]:
    first, minutes = shopping.task.first_day, int(value("batch-minutes"))
    by_day = {batch.day: batch for batch in shopping.batches}
    for day in (first + timedelta(days=d) for d in range(FEED_DAYS)):
        batch = by_day.get(day)
        at = datetime.combine(day, shopping.batches[0].at)
        if batch is None:
            yield Event("mix", f"{day}", at, minutes, say("shop.calendar.no-mix"), cancelled=True)
            continue
        jars = jars_for(batch.mixed, shopping.task.flock.jar)
        summary = say("shop.calendar.mix-jars" if jars else "shop.calendar.mix",
                      litres=batch.mixed, jars=jars)  # fmt: skip
        yield Event("mix", f"{day}", at, minutes, summary, _mixing_words(batch))


def _mixing_words(batch: MixedBatch) -> str:
    lines = [say("shop.calendar.milk", milk=name, litres=v) for name, v in batch.milks]
    lines += [say("shop.calendar.takes", food=food, grams=grams) for food, grams in batch.takes]
    lines += [
        say("shop.calendar.open", count=o.count, package=o.package, food=o.food, until=o.until)
        for o in batch.opens
    ]
    return "\n".join(lines)


def _feeds(plan: FeedPlan) -> Iterator[Event]:
    """A place for each of the household's feeding times of a day."""
    days = [plan.days[0] + timedelta(days=d) for d in range(FEED_DAYS)]
    for d, day in enumerate(days):
        amounts: dict[time, list[tuple[str, float]]] = {}
        for i, animal in enumerate(plan.flock.animals if d < len(plan.days) else ()):
            for at in plan.times(i, d):
                amounts.setdefault(at, []).append((animal.name, float(plan.millilitres[i, d])))
        for place, at in enumerate(plan.flock.feeding_times):
            yield _feed(f"{day}/{place}", datetime.combine(day, at), amounts.get(at, []))
    over = len(plan.days) <= FEED_DAYS
    yield Event(
        "weigh",
        "feeds-end",
        days[-1],
        0,
        say("shop.calendar.no-weigh" if over else "shop.calendar.feeds-end"),
        "" if over else say("shop.calendar.feeds-end-why"),
        cancelled=over,
    )


def _feed(place: str, start: datetime, amounts: list[tuple[str, float]]) -> Event:
    each = int(value("bottle-minutes"))
    if not amounts:
        return Event("feed", place, start, each, say("shop.calendar.no-feed"), cancelled=True)
    names = [name for name, _ in amounts]
    if len(names) > _NAMED:
        summary = say("shop.calendar.feed-many", animals=len(names))
    else:
        summary = say("shop.calendar.feed", names=listed(names))
    lines = [say("shop.calendar.amount", animal=name, millilitres=ml) for name, ml in amounts]
    return Event("feed", place, start, each * len(names), summary, "\n".join(lines))


def _trips(shopping: Shopping) -> Iterator[Event]:
    """A place for each shopping day; a week has one where no days are named."""
    task = shopping.task
    by_day = {trip.day: trip for trip in shopping.trips}
    days = [day for day in _days_to(shopping.batches[-1].day, task.first_day)
            if day in by_day or day.weekday() in task.flock.shopping_days]  # fmt: skip
    weekly = not task.flock.shopping_days
    for day in days:
        place = _week(day) if weekly else f"{day}"
        trip = by_day.get(day)
        if trip is None:
            yield Event("shop", place, day, 0, say("shop.calendar.no-shop"), cancelled=True)
            continue
        summary = say("shop.calendar.shop", money=money(trip.cost, task.pantry.currency))
        yield Event("shop", place, day, 0, summary, "\n".join(_purchase_words(trip)))
    if weekly:
        places = {_week(day) for day in days}
        last = shopping.batches[-1].day
        yield from _weeks_without("shop", places, task.first_day, last)


def _purchase_words(trip: ShoppingTrip) -> list[str]:
    return [
        say("shop.calendar.buy", count=p.count, package=p.package, food=p.food)
        for p in trip.purchases
    ]


def _weighings(plan: FeedPlan) -> Iterator[Event]:
    """One a week, counted from the weighing that is longest ago."""
    every = timedelta(days=int(value("weigh-every")))
    today, last = plan.days[0], plan.days[-1]
    day = max(min(a.last_weight.day for a in plan.flock.animals) + every, today)
    places = set()
    while day <= last:
        d = (day - today).days
        names = [
            animal.name
            for i, animal in enumerate(plan.flock.animals)
            if plan.stage[i, d] != Stage.WEANED
        ]
        if names:
            places.add(_week(day))
            yield Event("weigh", _week(day), day, 0, say("shop.calendar.weigh"), "\n".join(names))
        day += every
    yield from _weeks_without("weigh", places, today, last)


def _weeks_without(kind: str, places: set[str], first: date, last: date) -> Iterator[Event]:
    """Cancelled places: weeks that have no entry now."""
    for day in _days_to(last, first):
        if _week(day) not in places:
            places.add(_week(day))
            yield Event(kind, _week(day), day, 0, say(f"shop.calendar.no-{kind}"), cancelled=True)


def _days_to(last: date, first: date) -> Iterable[date]:
    count = (last - first).days + 1 + _PAST_THE_END
    return (first + timedelta(days=d) for d in range(count))


def _week(day: date) -> str:
    return f"{day:%G-W%V}"


def _weanings(plan: FeedPlan) -> Iterator[Event]:
    for animal, weaning in zip(plan.flock.animals, plan.weaning, strict=True):
        if weaning.ready is None or weaning.last_milk is None:
            continue
        known = "shop.calendar.wean-between" if weaning.latest else "shop.calendar.wean-from"
        between = say(known, earliest=weaning.earliest, latest=weaning.latest)
        yield Event(
            "wean",
            f"{animal.name}/ready",
            weaning.ready,
            0,
            say("shop.calendar.wean", animal=animal.name),
            f"{between}\n{say('shop.calendar.wean-if')}",
        )
        yield Event(
            "wean",
            f"{animal.name}/off",
            weaning.last_milk + timedelta(days=1),
            0,
            say("shop.calendar.off-milk", animal=animal.name),
        )


# --- the file ----------------------------------------------------------------------------------


def calendar_text(shopping: Shopping, now: datetime, *, written: datetime | None = None) -> bytes:
    """The calendar file.

    Parameters
    ----------
    shopping : Shopping
    now : datetime
        The moment that is planned from, by the kitchen clock.
    written : datetime, optional
        When the file is made, with its zone; by default this moment. Of two files a calendar
        program goes by the later.
    """
    from icalendar import Calendar

    stamp = (written or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    flock = shopping.task.flock
    calendar = Calendar()
    calendar.add("prodid", "-//formulate//season of milk//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    name = say("shop.calendar.name", flock=flock.name)
    calendar.add("x-wr-calname", name if flock.name else say("shop.calendar.name-plain"))
    of_flock = _flock_id(flock)
    for event in events_of(shopping, now):
        calendar.add_component(_entry(event, of_flock, stamp))
    return bytes(calendar.to_ical())


def _flock_id(flock: Flock) -> UUID:
    """The same for a flock as long as its file keeps its name and its place."""
    path = Path(flock.where)
    where = str(path.resolve()) if path.is_file() else flock.where
    return uuid5(_NAMESPACE, f"{flock.name}\n{where}")


def _entry(event: Event, flock: UUID, stamp: datetime) -> Entry:
    from icalendar import Alarm
    from icalendar import Event as Entry

    entry = Entry()
    entry.add("uid", str(uuid5(flock, f"{event.kind}/{event.place}")))
    entry.add("dtstamp", stamp)
    entry.add("last-modified", stamp)
    entry.add("sequence", int(stamp.timestamp()) // 60)
    entry.add("dtstart", event.start)
    if event.minutes:
        entry.add("duration", timedelta(minutes=event.minutes))
    entry.add("summary", event.summary)
    if event.description:
        entry.add("description", event.description)
    entry.add("categories", [event.kind])
    entry.add("status", "CANCELLED" if event.cancelled else "CONFIRMED")
    if event.cancelled:
        entry.add("transp", "TRANSPARENT")
        return entry
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", event.summary)
    alarm.add("trigger", _ALARM[event.kind])
    entry.add_component(alarm)
    return entry
