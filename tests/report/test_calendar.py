"""The calendar holds what the plan says, and calendar programs can read it."""

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from icalendar import Calendar

from formulate.answers.milks import refusal
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock_file import sample_flock
from formulate.report.calendar import calendar_text, events_of
from formulate.shopping.plan import plan_shopping
from formulate.shopping.task import prepare_shopping

READ = sample_flock()
SHOPPING = plan_shopping(prepare_shopping(READ.flock, sample_pantry(), READ.now, refusal))
DATA = calendar_text(SHOPPING, READ.now)


def entries(kind):
    found = Calendar.from_ical(DATA).walk("VEVENT")
    return [entry for entry in found if entry["categories"].to_ical() == kind.encode()]


def test_lines_are_as_the_standard_has_them():
    lines = DATA.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)
    assert not any(b"\n" in line for line in lines)
    assert {b"VERSION:2.0", b"BEGIN:VCALENDAR", b"END:VCALENDAR"} <= set(lines)


def test_each_entry_has_its_own_name_and_the_plans_stamp():
    found = Calendar.from_ical(DATA).walk("VEVENT")
    names = [str(entry["uid"]) for entry in found]
    assert len(set(names)) == len(names) == len(events_of(SHOPPING, READ.now))
    assert all(entry["dtstamp"].dt.replace(tzinfo=None) == READ.now for entry in found)


def test_shopping_and_mixing():
    assert [e["dtstart"].dt for e in entries("shop")] == [t.day for t in SHOPPING.trips]
    mixes = entries("mix")
    assert [e["dtstart"].dt for e in mixes] == [
        datetime.combine(b.day, b.at) for b in SHOPPING.batches
    ]
    first = str(mixes[0]["description"])
    assert f"whole-milk: {dict(SHOPPING.batches[0].takes)['whole-milk']:.0f} g" in first


def test_every_feed_to_come_with_its_millilitres():
    plan = SHOPPING.task.plans[0]
    total = 0.0
    for entry in entries("feed"):
        assert entry["dtstart"].dt >= READ.now
        for line in str(entry["description"]).splitlines():
            total += float(line.rpartition(": ")[2].removesuffix(" mL"))
    expected = sum(
        round(plan.millilitres[i, d])
        for i in range(len(plan.flock.animals))
        for d, day in enumerate(plan.days)
        for at in plan.times(i, d)
        if datetime.combine(day, at) >= READ.now
    )
    assert total == expected


def test_weighings_a_week_apart_and_weaning_days():
    weighings = [e["dtstart"].dt for e in entries("weigh")]
    assert all(b - a == timedelta(days=7) for a, b in pairwise(weighings))
    ready = {str(e["summary"]): e["dtstart"].dt for e in entries("wean")}
    for animal, weaning in zip(READ.flock.animals, SHOPPING.task.plans[0].weaning, strict=True):
        assert ready[f"{animal.name}: ready to wean?"] == weaning.ready


def test_names_may_hold_anything():
    animals = (replace(READ.flock.animals[0], name="Pip; the 1st, \\ of\nmany é"),
               *READ.flock.animals[1:])  # fmt: skip
    odd = replace(READ.flock, animals=animals)
    shopping = plan_shopping(prepare_shopping(odd, sample_pantry(), READ.now, refusal))
    data = calendar_text(shopping, READ.now)
    found = Calendar.from_ical(data).walk("VEVENT")
    assert any("Pip; the 1st, \\ of" in str(entry["summary"]) for entry in found)


def test_same_file_every_time():
    assert calendar_text(SHOPPING, READ.now) == DATA


@pytest.mark.parametrize("kind", ["mix", "feed", "shop", "weigh", "wean"])
def test_every_kind_is_there(kind):
    assert entries(kind)
