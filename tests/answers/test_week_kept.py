"""A plan people can keep: the sample's week, and every door with the same times and bottles."""

from dataclasses import replace
from itertools import pairwise

import pytest

from formulate.answers.milks import milks_of, plans_of
from formulate.answers.sheet import sheet
from formulate.answers.shop import shop
from formulate.answers.today import today
from formulate.base.units import Kitchen
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import Level
from formulate.rearing.flock_file import sample_flock
from formulate.report.calendar import events_of
from formulate.report.printed.card_feeds import feed_pieces
from formulate.report.printed.typeset import Beside, Paragraph, Stack

READ = sample_flock()
PANTRY = sample_pantry()


def week(level, kitchen):
    read = replace(READ, flock=replace(READ.flock, level=level, kitchen=kitchen))
    return [plan for plan in plans_of(read, milks_of(read, PANTRY)) if plan is not None]


@pytest.mark.parametrize("level", Level)
@pytest.mark.parametrize("kitchen", [Kitchen.US, Kitchen.METRIC, Kitchen.IMPERIAL])
def test_bottles_change_at_most_twice_and_five_sittings_are_enough(level, kitchen):
    plans = week(level, kitchen)
    for d in range(7):
        sittings = {at for plan in plans for at in plan.sittings(d)}
        assert len(sittings) <= 5
        assert sittings == {
            at for p in plans for i in range(len(p.flock.animals)) for at in p.times(i, d)
        }
    for plan in plans:
        for i, animal in enumerate(plan.flock.animals):
            bottles = [
                (int(plan.feeds[i, d]), round(float(plan.millilitres[i, d]), 3))
                for d in range(7)
                if animal.age_days(plan.days[d]) >= 7
            ]
            assert sum(before != after for before, after in pairwise(bottles)) <= 2


def texts(piece):
    """Everything that is written in a piece of the card, in order."""
    if isinstance(piece, Paragraph):
        yield piece.text
    elif isinstance(piece, (Stack, Beside)):
        for one in piece.pieces:
            yield from texts(one)


def test_today_the_plan_the_calendar_and_the_card_tell_the_same_times():
    found = today(READ, PANTRY)
    plans = {a: p for p in found.plans if p for a in p.flock.names}
    for one in found.animals:
        if one.newborn is None:
            planned = plans[one.name].times(plans[one.name].flock.names.index(one.name), 0)
            assert tuple(feed.at.time() for feed in one.feeds) == planned
            assert one.day.times == planned

    by_hour = {}
    for event in events_of(shop(READ, PANTRY)):
        if event.kind == "feed" and not event.cancelled:
            for line in event.description.splitlines():
                by_hour.setdefault((event.start.date(), line.split(":")[0]), []).append(event.start)
    first, *_ = plans.values()
    for name, plan in plans.items():
        i = plan.flock.names.index(name)
        for d in range(1, 14):
            told = tuple(at.time() for at in by_hour.get((plan.days[d], name), []))
            assert told == plan.times(i, d)

    for milk in sheet(PANTRY, read=READ).milks:
        words = "\n".join(t for p in feed_pieces(milk.plans, "", ()) for t in texts(p))
        for plan in milk.plans:
            for i in range(len(plan.flock.animals)):
                for d in range(7):
                    times = " ".join(f"{at:%H:%M}" for at in plan.times(i, d))
                    assert times in words
    assert first.days[0] == READ.now.date()
