"""A season as a calendar file (iCalendar, RFC 5545): mixing, feeds, shopping, weighing, weaning.

Times are local and have no zone, as a kitchen clock has none. The same plan gives the same
file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.figures import value
from formulate.shopping.batches import jars_for
from formulate.shopping.plan import MixedBatch, Shopping, ShoppingTrip

__all__ = ["Event", "calendar_text", "events_of"]


@dataclass(frozen=True, slots=True)
class Event:
    """One entry.

    Parameters
    ----------
    kind : str
        "mix", "feed", "shop", "weigh" or "wean".
    start : datetime or date
        A date alone is the whole day.
    minutes : int
        How long; 0 for a whole day.
    summary, description : str
    key : str
        Tells it from others of its kind that start at the same moment.
    """

    kind: str
    start: datetime | date
    minutes: int
    summary: str
    description: str = ""
    key: str = ""


def events_of(shopping: Shopping, now: datetime) -> tuple[Event, ...]:
    """Every entry of a season, by day and hour.

    Parameters
    ----------
    shopping : Shopping
    now : datetime
        Feeds before it are past and left out.
    """
    plan = shopping.task.plans[0]
    found = [
        *_mixing(shopping),
        *_feeds(plan),
        *_trips(shopping),
        *_weighings(plan),
        *_weanings(plan),
    ]
    kept = [
        event
        for event in found
        if event.kind != "feed" or (isinstance(event.start, datetime) and event.start >= now)
    ]
    return tuple(sorted(kept, key=_order))


def _order(event: Event) -> tuple[datetime, str, str]:
    start = event.start
    moment = start if isinstance(start, datetime) else datetime.combine(start, time())
    return moment, event.kind, event.key


def _mixing(shopping: Shopping) -> Iterator[Event]:
    for batch in shopping.batches:
        jars = jars_for(batch.mixed, shopping.task.flock.jar)
        yield Event(
            "mix",
            datetime.combine(batch.day, batch.at),
            int(value("batch-minutes")),
            f"Mix {batch.mixed:.2f} L of milk" + (f", {jars} jars" if jars else ""),
            _mixing_words(batch),
        )


def _mixing_words(batch: MixedBatch) -> str:
    lines = [f"{name}: {litres:.2f} L" for name, litres in batch.milks]
    lines += [f"{food}: {grams:.0f} g" for food, grams in batch.takes]
    lines += [
        f"Open {opening.count} x {opening.package} of {opening.food}; use it up by {opening.until}."
        for opening in batch.opens
    ]
    return "\n".join(lines)


def _feeds(plan: FeedPlan) -> Iterator[Event]:
    for d, day in enumerate(plan.days):
        by_time: dict[time, list[str]] = {}
        for i, animal in enumerate(plan.flock.animals):
            for at in plan.times(i, d):
                amount = f"{animal.name}: {plan.millilitres[i, d]:.0f} mL"
                by_time.setdefault(at, []).append(amount)
        for at, amounts in sorted(by_time.items()):
            minutes = int(value("bottle-minutes")) * len(amounts)
            names = (
                f"{len(amounts)} animals"
                if len(amounts) > 3
                else ", ".join(amount.partition(":")[0] for amount in amounts)
            )
            yield Event(
                "feed", datetime.combine(day, at), minutes, f"Feed {names}", "\n".join(amounts)
            )


def _trips(shopping: Shopping) -> Iterator[Event]:
    currency = shopping.task.pantry.currency
    for trip in shopping.trips:
        yield Event(
            "shop",
            trip.day,
            0,
            f"Shop for milk: {trip.cost:.2f} {currency}",
            "\n".join(_purchase_words(trip)),
        )


def _purchase_words(trip: ShoppingTrip) -> list[str]:
    return [f"{p.count} x {p.package} of {p.food}" for p in trip.purchases]


def _weighings(plan: FeedPlan) -> Iterator[Event]:
    every = int(value("weigh-every"))
    for d in range(0, len(plan.days), every):
        names = [
            animal.name
            for i, animal in enumerate(plan.flock.animals)
            if plan.stage[i, d] != Stage.WEANED
        ]
        if names:
            yield Event("weigh", plan.days[d], 0, "Weigh the animals", "\n".join(names))


def _weanings(plan: FeedPlan) -> Iterator[Event]:
    for animal, weaning in zip(plan.flock.animals, plan.weaning, strict=True):
        if weaning.ready is None or weaning.last_milk is None:
            continue
        spread = f"By the published growth, between {weaning.earliest or '?'} and "
        spread += f"{weaning.latest or 'later'}."
        yield Event(
            "wean",
            weaning.ready,
            0,
            f"{animal.name}: ready to wean?",
            f"{spread}\nOnly if it eats enough creep on enough days running, is heavy enough and "
            "is well. Then less milk in steps.",
            animal.name,
        )
        yield Event(
            "wean",
            weaning.last_milk + timedelta(days=1),
            0,
            f"{animal.name}: off milk, if it was ready",
            "",
            f"{animal.name}-off",
        )


def calendar_text(shopping: Shopping, now: datetime) -> bytes:
    """The calendar file."""
    from icalendar import Calendar
    from icalendar import Event as Entry

    calendar = Calendar()
    calendar.add("prodid", "-//formulate//season of milk//EN")
    calendar.add("version", "2.0")
    stamp = now.replace(microsecond=0, tzinfo=UTC)
    for event in events_of(shopping, now):
        entry = Entry()
        when = f"{event.start:%Y%m%d}"
        if isinstance(event.start, datetime):
            when = f"{event.start:%Y%m%dT%H%M}"
            entry.add("dtend", event.start + timedelta(minutes=event.minutes))
        key = "".join(c if c.isalnum() else "-" for c in event.key)
        entry.add("uid", "-".join(part for part in (event.kind, when, key, "formulate") if part))
        entry.add("dtstamp", stamp)
        entry.add("dtstart", event.start)
        entry.add("summary", event.summary)
        if event.description:
            entry.add("description", event.description)
        entry.add("categories", [event.kind])
        calendar.add_component(entry)
    return bytes(calendar.to_ical())
