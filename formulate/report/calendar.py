"""A season as a calendar file (iCalendar, RFC 5545): mixing, feeds, shopping, weighing, weaning.

Times are those of the kitchen clock and have no zone, so a feed stays at its hour when the clocks
change. Each entry stands for a *place* in the season — the third feed of a day, the weighing of a
week, an animal's weaning — and its UID names the flock and that place. A calendar made anew later
therefore moves entries instead of doubling them; places that it no longer needs are cancelled.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID, uuid5

from formulate.answers.may_feed import bars_of
from formulate.answers.milks import fed_now
from formulate.answers.shop import ShopAnswer
from formulate.answers.verdict import Verdict
from formulate.base.messages import listed, say
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.figures import value
from formulate.rearing.flock import Flock
from formulate.rearing.limits import unplanned
from formulate.report.verdict_words import headline
from formulate.report.weaning_text import asked_words
from formulate.report.words import money
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


def events_of(answer: ShopAnswer) -> tuple[Event, ...]:
    """Every entry of a season from now on, by day and hour; none without a plan.

    Entries before the moment that is planned from are left as an older calendar has them.
    """
    shopping, now = answer.plan, answer.read.now
    if shopping is None:
        return ()
    plans = [plan for who in shopping.task.drinkers for plan in who.now.plans]
    found = chain(
        _mixing(shopping, _verdict_lines(answer)),
        _feeds(shopping, _not_today(answer)),
        _trips(shopping),
        _weighings(plans, shopping.task.first_day),
        *map(_weanings, plans),
        _gone(answer.read.flock, now.date()),
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


def _verdict_lines(answer: ShopAnswer) -> list[str]:
    """What is wrong with a milk that is mixed; empty if all are right."""
    return [
        say("shop.calendar.verdict", milk=milk.name, verdict=headline(milk.verdict))
        for milk in (*fed_now(answer.milks), *answer.taken)
        if milk.may_be_fed and milk.verdict is not Verdict.INSIDE
    ]


def _mixing(shopping: Shopping, first_lines: Sequence[str]) -> Iterator[Event]:
    first, minutes = shopping.task.first_day, int(value("batch-minutes"))
    by_day = {batch.day: batch for batch in shopping.batches}
    for day in (first + timedelta(days=d) for d in range(FEED_DAYS)):
        batch = by_day.get(day)
        at = datetime.combine(day, shopping.batches[0].at)
        if batch is None:
            yield Event("mix", f"{day}", at, minutes, say("shop.calendar.no-mix"), cancelled=True)
            continue
        if batch.jars:
            summary = say("shop.calendar.mix-jars", litres=batch.mixed, jars=batch.jars)
        else:
            summary = say("shop.calendar.mix", litres=batch.mixed)
        words = "\n".join([*first_lines, *_mixing_words(batch)])
        yield Event("mix", f"{day}", at, minutes, summary, words)


def _mixing_words(batch: MixedBatch) -> list[str]:
    lines = [say("shop.calendar.milk", milk=name, litres=v) for name, v in batch.milks]
    lines += [say("shop.calendar.takes", food=food, grams=grams) for food, grams in batch.takes]
    lines += [
        say("shop.calendar.open", count=o.count, package=o.package, food=o.food, until=o.until)
        for o in batch.opens
    ]
    return lines


def _not_today(answer: ShopAnswer) -> set[str]:
    """Animals that a feed would harm now: too cold, or unable to swallow."""
    return {
        animal.name
        for animal in answer.read.flock.animals
        if any(bar.of_animal for bar in bars_of(animal, None, answer.read.now))
    }


def _feeds(shopping: Shopping, not_today: set[str]) -> Iterator[Event]:
    """A place for each of the household's feeding times of a day."""
    task = shopping.task
    several = len(task.drinkers) > 1
    days = [task.first_day + timedelta(days=d) for d in range(FEED_DAYS)]
    for d, day in enumerate(days):
        amounts: dict[time, list[_Bottle]] = {}
        for who in task.drinkers:
            for plan in who.now.plans:
                for i, animal in enumerate(plan.flock.animals if d < len(plan.days) else ()):
                    if d == 0 and animal.name in not_today:
                        continue
                    millilitres = float(plan.millilitres[i, d])
                    bottle = _Bottle(animal.name, millilitres, who.now.name if several else "")
                    for at in plan.times(i, d):
                        amounts.setdefault(at, []).append(bottle)
        order = task.flock.names.index
        for place, at in enumerate(task.flock.feeding_times):
            bottles = sorted(amounts.get(at, []), key=lambda bottle: order(bottle.animal))
            yield _feed(f"{day}/{place}", datetime.combine(day, at), bottles)
    over = shopping.batches[-1].day <= days[-1]
    yield Event(
        "weigh",
        "feeds-end",
        days[-1],
        0,
        say("shop.calendar.no-weigh" if over else "shop.calendar.feeds-end"),
        "" if over else say("shop.calendar.feeds-end-why"),
        cancelled=over,
    )


class _Bottle(NamedTuple):
    animal: str
    millilitres: float
    milk: str  # empty if there is one milk only

    @property
    def words(self) -> str:
        animal, millilitres = self.animal, self.millilitres
        if not self.milk:
            return say("shop.calendar.amount", animal=animal, millilitres=millilitres)
        return say(
            "shop.calendar.amount-milk", animal=animal, millilitres=millilitres, milk=self.milk
        )


def _feed(place: str, start: datetime, bottles: list[_Bottle]) -> Event:
    each = int(value("bottle-minutes"))
    if not bottles:
        return Event("feed", place, start, each, say("shop.calendar.no-feed"), cancelled=True)
    names = [bottle.animal for bottle in bottles]
    if len(names) > _NAMED:
        summary = say("shop.calendar.feed-many", animals=len(names))
    else:
        summary = say("shop.calendar.feed", names=listed(names))
    lines = [bottle.words for bottle in bottles]
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


def _weighings(plans: Sequence[FeedPlan], today: date) -> Iterator[Event]:
    """One a week, counted from the weighing that is longest ago."""
    every = timedelta(days=int(value("weigh-every")))
    last = max(plan.days[-1] for plan in plans)
    weighed = min(animal.last_weight.day for plan in plans for animal in plan.flock.animals)
    day = max(weighed + every, today)
    places = set()
    while day <= last:
        names = [name for plan in plans for name in _on_milk(plan, (day - today).days)]
        if names:
            places.add(_week(day))
            yield Event("weigh", _week(day), day, 0, say("shop.calendar.weigh"), "\n".join(names))
        day += every
    yield from _weeks_without("weigh", places, today, last)


def _on_milk(plan: FeedPlan, day: int) -> list[str]:
    """Names of those that are not weaned yet."""
    if day >= len(plan.days):
        return []
    return [
        animal.name
        for animal, stage in zip(plan.flock.animals, plan.stage[:, day], strict=True)
        if stage != Stage.WEANED
    ]


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
        earliest, latest = weaning.earliest or weaning.ready, weaning.latest
        if latest is None:
            between = say("shop.calendar.wean-from", earliest=earliest)
        else:
            between = say("shop.calendar.wean-between", earliest=earliest, latest=latest)
        yield Event(
            "wean",
            f"{animal.name}/ready",
            weaning.ready,
            0,
            say("shop.calendar.wean", animal=animal.name),
            "\n".join([between, *asked_words(weaning, animal), say("weaning.coccidia")]),
        )
        yield Event(
            "wean",
            f"{animal.name}/off",
            weaning.last_milk + timedelta(days=1),
            0,
            say("shop.calendar.off-milk", animal=animal.name),
        )


def _gone(flock: Flock, today: date) -> Iterator[Event]:
    """Cancelled places: the weaning of animals that have left, or are weaned already."""
    weaned = (animal for animal in flock.animals if unplanned(animal, today) == "weaned")
    for animal in (*flock.gone, *weaned):
        words = say("shop.calendar.no-wean", animal=animal.name)
        for place in ("ready", "off"):
            yield Event("wean", f"{animal.name}/{place}", today, 0, words, cancelled=True)


# --- the file ----------------------------------------------------------------------------------


def calendar_text(answer: ShopAnswer, *, written: datetime | None = None) -> bytes:
    """The calendar file.

    Parameters
    ----------
    answer : ShopAnswer
    written : datetime, optional
        When the file is made, with its zone; by default this moment. Of two files a calendar
        program goes by the later.
    """
    from icalendar import Calendar

    stamp = (written or datetime.now(UTC)).astimezone(UTC).replace(microsecond=0)
    flock = answer.read.flock
    calendar = Calendar()
    calendar.add("prodid", "-//formulate//season of milk//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    if flock.name:
        calendar.add("x-wr-calname", say("shop.calendar.name", flock=flock.name))
    else:
        calendar.add("x-wr-calname", say("shop.calendar.name-plain"))
    of_flock = _flock_id(flock)
    for event in events_of(answer):
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
