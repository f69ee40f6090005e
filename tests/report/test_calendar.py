"""The calendar holds what the plan says, and calendar programs can read it."""

from collections import Counter
from dataclasses import replace
from datetime import date, datetime, time, timedelta, timezone
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner
from icalendar import Calendar

from formulate.answers.shop import ShopRequest, shop
from formulate.cli.main import cli
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import TemperatureRead, Weighing
from formulate.rearing.flock_file import load_flock, sample_flock
from formulate.report.calendar import FEED_DAYS, calendar_text, events_of

READ = sample_flock()
ANSWER = shop(READ, sample_pantry())
SHOPPING = ANSWER.plan
WRITTEN = datetime(2026, 11, 14, 13, 5, tzinfo=timezone(timedelta(hours=2)))
PLANS = [plan for who in SHOPPING.task.drinkers for plan in who.now.plans]
DATA = calendar_text(ANSWER, written=WRITTEN)


def made(read, pantry=None, **request):
    return shop(read, pantry or sample_pantry(), ShopRequest(seconds=1.0, gap=0.2, **request))


def entries(kind):
    found = Calendar.from_ical(DATA).walk("VEVENT")
    return [entry for entry in found if kind_of(entry) == kind and entry["status"] == "CONFIRMED"]


def kind_of(entry):
    return entry["categories"].to_ical().decode()


def test_lines_are_as_the_standard_has_them():
    lines = DATA.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 for line in lines)
    assert not any(b"\n" in line for line in lines)
    assert {b"VERSION:2.0", b"BEGIN:VCALENDAR", b"END:VCALENDAR"} <= set(lines)


def test_each_entry_has_its_own_name_and_is_stamped_in_universal_time():
    found = Calendar.from_ical(DATA).walk("VEVENT")
    names = [str(entry["uid"]) for entry in found]
    assert len(set(names)) == len(names) == len(events_of(ANSWER))
    assert {entry["dtstamp"].to_ical() for entry in found} == {b"20261114T110500Z"}


def test_shopping_and_mixing():
    assert [e["dtstart"].dt for e in entries("shop")] == [t.day for t in SHOPPING.trips]
    mixes = entries("mix")
    assert [e["dtstart"].dt for e in mixes] == [
        datetime.combine(b.day, b.at)
        for b in SHOPPING.batches[:FEED_DAYS]
        if datetime.combine(b.day, b.at) >= READ.now
    ]
    first = str(mixes[0]["description"])
    batch = next(b for b in SHOPPING.batches if b.day == mixes[0]["dtstart"].dt.date())
    assert f"whole-milk: {dict(batch.takes)['whole-milk']:,.0f} g" in first


def test_every_feed_of_a_fortnight_with_its_millilitres():
    total = 0.0
    for entry in entries("feed"):
        assert entry["dtstart"].dt >= READ.now
        for line in str(entry["description"]).splitlines():
            total += float(line.rpartition(": ")[2].partition(" mL")[0])
    expected = sum(
        round(plan.millilitres[i, d])
        for plan in PLANS
        for i in range(len(plan.flock.animals))
        for d, day in enumerate(plan.days[:FEED_DAYS])
        for at in plan.times(i, d)
        if datetime.combine(day, at) >= READ.now
    )
    assert total == expected


def test_weighings_a_week_apart_and_weaning_days():
    found = {str(e["summary"]): [] for e in entries("weigh")}
    for entry in entries("weigh"):
        found[str(entry["summary"])].append(entry["dtstart"].dt)
    weighings = found["Weigh the animals"]
    assert weighings[0] == date(2026, 11, 20)  # a week after the last, on the 13th
    assert all(b - a == timedelta(days=7) for a, b in pairwise(weighings))
    ready = {str(e["summary"]): e["dtstart"].dt for e in entries("wean")}
    for plan in PLANS:
        for animal, weaning in zip(plan.flock.animals, plan.weaning, strict=True):
            assert ready[f"{animal.name}: ready to wean?"] == weaning.ready


def test_the_last_day_of_feeds_asks_for_a_weighing():
    last = [e for e in entries("weigh") if "the feeds in this one end" in str(e["summary"])]
    assert [e["dtstart"].dt for e in last] == [max(e["dtstart"].dt for e in entries("feed")).date()]


def test_every_entry_rings_and_what_is_cancelled_does_not():
    for entry in Calendar.from_ical(DATA).walk("VEVENT"):
        alarms = entry.walk("VALARM")
        assert len(alarms) == (entry["status"] == "CONFIRMED")
        assert all(alarm["action"] == "DISPLAY" and alarm["trigger"] for alarm in alarms)


class TestMadeAnew:
    """What a calendar program holds that has imported a new file each day."""

    def imported(self, answers):
        held = {}
        for day, answer in enumerate(answers):
            data = calendar_text(answer, written=WRITTEN + timedelta(days=day))
            for entry in Calendar.from_ical(data).walk("VEVENT"):
                before = held.get(str(entry["uid"]))
                assert before is None or entry["sequence"] > before["sequence"]
                held[str(entry["uid"])] = entry
        return [entry for entry in held.values() if entry["status"] == "CONFIRMED"]

    def check(self, answers):
        """From the last planning on there is what the last plan says, once, and no more."""
        last = answers[-1]
        now = last.read.now

        def ahead(start):
            return start >= (now if isinstance(start, datetime) else now.date())

        held = [(kind_of(e), e["dtstart"].dt, str(e["summary"])) for e in self.imported(answers)]
        wanted = [(e.kind, e.start, e.summary) for e in events_of(last) if not e.cancelled]
        assert Counter(e for e in held if ahead(e[1])) == Counter(wanted)
        return held

    @pytest.mark.parametrize(("keeps", "shopping_days"), [(1, (2, 5)), (1, ()), (2, (2, 5))])
    def test_four_days_running(self, keeps, shopping_days):
        reads = [sample_flock(READ.now + timedelta(days=k)) for k in range(4)]
        more = {"shopping_days": shopping_days, "refrigerator": None}
        plans = [made(replace(r, flock=replace(r.flock, **more)), keeps=keeps) for r in reads]
        held = self.check(plans)
        for animal in READ.flock.names:
            assert sum(summary == f"{animal}: ready to wean?" for *_, summary in held) == 1
        weeks = [f"{day:%G-%V}" for kind, day, words in held if words == "Weigh the animals"]
        assert len(set(weeks)) == len(weeks)
        feeds = [start for kind, start, _ in held if kind == "feed"]
        assert len(set(feeds)) == len(feeds)

    def test_a_new_weight_a_lost_animal_and_other_hours(self):
        flock = READ.flock
        heavier = replace(
            flock.animals[0],
            weighings=(*flock.animals[0].weighings, Weighing(date(2026, 11, 16), 7.5)),
        )
        later = replace(
            flock,
            animals=(heavier, flock.animals[1]),
            gone=flock.animals[2:],
            feeding_times=(*flock.feeding_times[:1], time(10), *flock.feeding_times[2:]),
        )
        second = replace(READ, flock=later, now=READ.now + timedelta(days=2))
        held = self.check([ANSWER, made(second)])
        feeds = [(start, words) for kind, start, words in held if kind == "feed"]
        assert any("Dot" in words for start, words in feeds if start < second.now)
        assert not any("Dot" in words for start, words in feeds if start >= second.now)


def test_an_animal_that_must_warm_up_first_is_not_fed_today():
    cold = replace(READ.flock.animals[0], temperatures=(TemperatureRead(READ.now, 35.5),))
    read = replace(READ, flock=replace(READ.flock, animals=(cold, *READ.flock.animals[1:])))
    feeds = [e for e in events_of(made(read)) if e.kind == "feed" and not e.cancelled]
    today = [e for e in feeds if e.start.date() == READ.now.date()]
    assert today
    assert not any("Pip" in e.description for e in today)
    assert any("Pip" in e.description for e in feeds if e.start.date() > READ.now.date())


def test_two_flocks_share_no_name(tmp_path):
    names = []
    for folder in ("lambs", "kids"):
        (tmp_path / folder).mkdir()
        path = write_sample_flock(tmp_path / folder)
        names.append(uids(made(replace(load_flock(path), now=READ.now))))
    assert not names[0] & names[1]


def test_a_flock_keeps_its_names_however_its_file_is_named(tmp_path, monkeypatch):
    path = write_sample_flock(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert uids(made(load_flock(path))) == uids(made(load_flock("flock.toml")))


def write_sample_flock(folder):
    CliRunner().invoke(cli, ["start", str(folder)], catch_exceptions=False)
    return folder / "flock.toml"


def uids(answer):
    data = calendar_text(answer)
    return {str(entry["uid"]) for entry in Calendar.from_ical(data).walk("VEVENT")}


@pytest.mark.parametrize("day", [datetime(2027, 3, 27, 12), datetime(2026, 10, 24, 12)])
def test_feeds_keep_their_hour_when_the_clocks_change(day):
    # Europe/London: 2027-03-28 has no 01:30, 2026-10-25 has two.
    born = day.date() - timedelta(days=12)
    animal = replace(READ.flock.animals[0], born=born, hour=None, weighings=(), notes="")
    flock = replace(READ.flock, animals=(animal,), change=None,
                    feeding_times=tuple(time(h, 30) for h in (1, 5, 9, 13, 17, 21)))  # fmt: skip
    data = calendar_text(made(replace(READ, flock=flock, now=day)))
    assert b"TZID" not in data
    zone, starts = ZoneInfo("Europe/London"), []
    for entry in Calendar.from_ical(data).walk("VEVENT"):
        if kind_of(entry) != "feed":
            continue
        start = entry["dtstart"].dt
        assert start.tzinfo is None
        assert start.time() in flock.feeding_times
        assert entry["duration"].dt > timedelta()
        starts.append(start.replace(tzinfo=zone).timestamp())
    assert starts == sorted(set(starts))


def test_names_may_hold_anything():
    animals = (replace(READ.flock.animals[0], name="Pip; the 1st, \\ of\nmany é"),
               *READ.flock.animals[1:])  # fmt: skip
    odd = replace(READ.flock, animals=animals)
    data = calendar_text(shop(replace(READ, flock=odd), sample_pantry()))
    found = Calendar.from_ical(data).walk("VEVENT")
    assert any("Pip; the 1st, \\ of" in str(entry["summary"]) for entry in found)


def test_same_file_every_time():
    assert calendar_text(ANSWER, written=WRITTEN) == DATA


@pytest.mark.parametrize("kind", ["mix", "feed", "shop", "weigh", "wean"])
def test_every_kind_is_there(kind):
    assert entries(kind)
