"""A drink in the log: seen today, kept two hours from any milk, never counted as milk."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.answers.record import RecordOutcome, record
from formulate.answers.rehydrate import rehydrate, seen
from formulate.answers.today import today
from formulate.answers.wanted import wanted_of
from formulate.base.errors import InputError
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.drinking import milk_again, scour_day
from formulate.rearing.flock_file import FlockRead, load_flock
from formulate.rearing.log import What, read_log

NOW = datetime(2026, 11, 14, 12)
FLOCK = """
mix = "2 quarts whole-milk + 1 cup heavy-cream + 1 cup nonfat-dry-milk"
feeding_times = ["06:00", "10:00", "14:00", "18:00", "22:00"]
kitchen = "metric"
[animals.Wren]
species = "lamb"
born = 2026-11-02
birth_weight = "3.4 kg"
weights = [{ on = 2026-11-13, weight = "5 kg" }]
"""


@pytest.fixture
def flock(tmp_path: Path) -> Path:
    path = tmp_path / "flock.toml"
    path.write_text(FLOCK)
    return path


def at(hour: int, minute: int = 0, day: int = 14) -> datetime:
    return datetime(2026, 11, day, hour, minute)


def note(flock: Path, word: str, amount: str, when: datetime, now: datetime = NOW, *, sure=False):
    return record(flock, [wanted_of("Wren", word, amount, at=when)], now, sure=sure)


def read(flock: Path, now: datetime = NOW) -> FlockRead:
    return load_flock(flock, now)


def test_it_is_written_and_read_back(flock):
    done = note(flock, "drink", "120 mL", at(8))
    assert done.outcome is RecordOutcome.WRITTEN
    line = (flock.parent / "flock.log.csv").read_text().splitlines()[-1]
    assert line == "2026-11-14T08:00,Wren,drink,120,mL,,"
    (one,) = read(flock).flock.animals[0].drinks
    assert (one.at, one.millilitres) == (at(8), 120)


def test_today_tells_it_and_when_milk_may_follow(flock):
    note(flock, "drink", "120 mL", at(11))
    (one,) = today(read(flock), sample_pantry()).animals
    told = " ".join(one.notes)
    assert "a drink in the last 24 hours, 120 mL in all" in told
    assert "None of it counts as milk" in told
    assert "No milk for Wren before 13:00" in told
    assert one.next.at >= at(13)


def test_milk_is_not_due_within_two_hours_of_a_drink(flock):
    before = today(read(flock, at(13, 50)), sample_pantry()).animals[0].next
    note(flock, "drink", "120 mL", at(13), at(13, 50))
    after = today(read(flock, at(13, 50)), sample_pantry()).animals[0].next
    assert before.at <= at(14)
    assert after.at == at(15)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(0, 10), max_size=4, unique=True))
def test_no_drink_ever_counts_as_milk(tmp_path_factory, hours):
    """The plan, what was drunk, growth and what is to be made are those without any drink."""
    flock = tmp_path_factory.mktemp("barn") / "flock.toml"
    flock.write_text(FLOCK)
    note(flock, "milk", "200 mL", at(22, 0, 13))
    plain = today(read(flock), sample_pantry())
    for hour in hours:
        note(flock, "drink", "60 mL", at(hour), sure=True)
    with_drinks = today(read(flock), sample_pantry())
    one, other = plain.animals[0], with_drinks.animals[0]
    assert len(other.animal.drinks) == len(hours)
    assert other.had == one.had
    assert other.last == one.last
    for name in ("litres", "feeds", "millilitres", "weight", "need"):
        assert getattr(other.day, name) == getattr(one.day, name)
    assert other.alarms == one.alarms
    assert with_drinks.litres_week == plain.litres_week
    assert other.animal.milk == one.animal.milk


class TestAsks:
    @pytest.mark.parametrize(
        ("minutes", "asked"), [(119, True), (120, False), (-119, True), (-120, False), (0, True)]
    )
    def test_milk_and_drink_within_two_hours(self, flock, minutes, asked):
        note(flock, "milk", "200 mL", at(8))
        done = note(flock, "drink", "100 mL", at(8) + timedelta(minutes=minutes))
        assert (done.outcome is RecordOutcome.ASKS) is asked
        if asked:
            assert [q.id for q in done.questions] == ["apart"]
            assert "leave 2 hours between" in done.questions[0].text

    @pytest.mark.parametrize(("minutes", "asked"), [(119, True), (120, False)])
    def test_milk_after_a_drink(self, flock, minutes, asked):
        note(flock, "drink", "100 mL", at(8))
        done = note(flock, "milk", "200 mL", at(8) + timedelta(minutes=minutes))
        assert ([q.id for q in done.questions] == ["apart"]) is asked

    def test_more_than_a_stomach_holds(self, flock):
        done = note(flock, "drink", "500 mL", at(8))
        assert [q.id for q in done.questions] == ["amount", "drink-day"]
        assert not read(flock).flock.animals[0].drinks

    def test_more_than_a_days_drinks(self, flock):
        for hour in (4, 8):
            assert note(flock, "drink", "200 mL", at(hour)).outcome is RecordOutcome.WRITTEN
        done = note(flock, "drink", "200 mL", at(11))
        assert [q.id for q in done.questions] == ["drink-day"]

    def test_an_animal_that_must_not_be_fed(self, flock):
        note(flock, "temperature", "35.5 C", at(11))
        done = note(flock, "drink", "100 mL", at(11, 30))
        assert "not-fed" in [q.id for q in done.questions]

    def test_sure_writes_it(self, flock):
        note(flock, "milk", "200 mL", at(8))
        done = note(flock, "drink", "100 mL", at(8, 30), sure=True)
        assert done.outcome is RecordOutcome.WRITTEN

    @pytest.mark.parametrize("amount", ["", "much", "-3 mL", "0 mL", "nan mL", "100 g"])
    def test_amounts_that_are_none(self, flock, amount):
        with pytest.raises(InputError):
            note(flock, "drink", amount, at(8))
        assert not (flock.parent / "flock.log.csv").exists()


def test_it_can_be_taken_back(flock):
    note(flock, "drink", "100 mL", at(8))
    record(flock, [wanted_of("Wren", "strike", "drink")], NOW)
    assert not read(flock).flock.animals[0].drinks
    assert not read_log(flock.parent / "flock.log.csv").entries


def test_a_second_day_of_drinks_means_the_veterinarian(flock):
    note(flock, "drink", "100 mL", at(8, 0, 13), at(8, 0, 13))
    done = note(flock, "drink", "100 mL", at(11))
    assert any("veterinarian" in text for text in done.notes)
    (one,) = today(read(flock), sample_pantry()).animals
    assert any("more than a day" in text for text in one.notes)
    found = rehydrate(sample_pantry(), seen({}), read=read(flock), animal="Wren")
    assert [alarm.id for alarm in found.check.alarms] == ["second-day"]


class TestFromLog:
    def test_a_cold_reading_stops_a_drink(self, flock):
        note(flock, "temperature", "36.2 C", at(11))
        found = rehydrate(sample_pantry(), read=read(flock), animal="Wren")
        assert found.drink is None
        assert [alarm.id for alarm in found.check.alarms] == ["cold"]

    def test_one_that_cannot_swallow(self, flock):
        note(flock, "weak", "", at(11))
        found = rehydrate(sample_pantry(), read=read(flock), animal="Wren")
        assert found.drink is None
        assert [alarm.id for alarm in found.check.alarms] == ["sucks"]

    def test_what_is_said_now_wins(self, flock):
        note(flock, "temperature", "36.2 C", at(11))
        found = rehydrate(
            sample_pantry(), seen({}, temperature="39.1 C"), read=read(flock), animal="Wren"
        )
        assert found.check.alarms == ()


def test_scour_days_and_when_milk_may_follow(flock):
    animal = read(flock).flock.animals[0]
    assert scour_day(animal, NOW) == 1
    assert milk_again(animal, NOW) is None
    note(flock, "drink", "100 mL", at(12, 0, 13), at(12, 0, 13))
    animal = read(flock).flock.animals[0]
    assert scour_day(animal, NOW - timedelta(minutes=1)) == 1
    assert scour_day(animal, NOW) == 2
    assert milk_again(animal, at(13, 59, 13)) == at(14, 0, 13)
    assert milk_again(animal, at(14, 0, 13)) is None


def test_the_kind_is_a_liquid_and_no_milk():
    assert What.DRINK.liquid
    assert not What.DRINK.fed
    assert What.DRINK.unit == "mL"
    assert What.DRINK.timed
