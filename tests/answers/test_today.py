"""What to feed now: one answer, whatever the milk, the household and the log."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st
from rearing_flocks import NOW, TODAY, animals, flock, lamb

from formulate.answers import milks
from formulate.answers.due import FeedState
from formulate.answers.household import load_household, one_animal
from formulate.answers.record import RecordOutcome, record
from formulate.answers.today import today
from formulate.answers.verdict import Judgement, Reason, Verdict
from formulate.answers.wanted import wanted_of
from formulate.base.errors import InputError
from formulate.pantry.pantry import sample_pantry
from formulate.rearing import flock_file, growth
from formulate.rearing.flock import (
    Change,
    ColostrumHad,
    Ending,
    How,
    MilkHad,
    Permission,
    Seen,
    Species,
    TemperatureRead,
    Weighing,
)
from formulate.rearing.flock_file import FlockRead, load_flock, sample_flock

HOUR = timedelta(hours=1)
GOOD = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
COD = "1 quart whole-milk + 1/2 cup cod-liver-oil"


@pytest.fixture(scope="module")
def pantry():
    return sample_pantry()


def barn(*members, mix=GOOD, now=NOW, **more):
    return FlockRead(flock(*members, mix=mix, **more), now)


def drank(animal, *feeds):
    """Milk so many hours ago, in mL."""
    return replace(animal, milk=tuple(MilkHad(NOW - ago * HOUR, ml, by) for ago, ml, by in feeds))


# --- the sample --------------------------------------------------------------------------------


def test_the_sample_is_well_and_has_a_feed_for_everybody(pantry):
    found = today(sample_flock(), pantry)
    assert (found.verdict, found.well) == (Verdict.INSIDE, True)
    assert [one.name for one in found.animals if one.next] == ["Pip", "Wren", "Bramble", "Dot"]
    dot = found.animal("dot")
    assert dot.next.what == "colostrum"
    assert dot.next.state is FeedState.DUE
    assert dot.last.millilitres == 150
    assert [alarm.id for alarm in found.animal("Wren").alarms] == ["stall"]
    assert not found.growing
    assert {pour.milk for pour in found.pours} == {"cream-and-powder", "cream-and-cans", "kid-jug"}


def test_litres_and_sittings_add_up(pantry):
    found = today(sample_flock(), pantry)
    assert found.litres_today == pytest.approx(sum(one.litres for one in found.animals))
    open_ = [f for one in found.animals for f in one.feeds if f.open and f.what == "milk"]
    assert sum(p.millilitres for p in found.pours) == pytest.approx(
        sum(f.millilitres for f in open_)
    )
    by_sitting = [feed for sitting in found.sittings for _, feed in sitting.feeds]
    assert sorted(by_sitting, key=id) == sorted(
        (f for one in found.animals for f in one.feeds if f.what == "milk"), key=id
    )
    for sitting in found.sittings:
        assert sitting.millilitres == sum(feed.millilitres for _, feed in sitting.feeds)


@budget(max_examples=8, deadline=None)
@given(st.floats(0.2, 20), animals(oldest=40))
def test_a_batch_of_another_size_is_the_same_milk(times, animal):
    pantry = sample_pantry()
    parts = ((2, "quarts whole-milk"), (0.75, "cup heavy-cream"), (0.5, "cup nonfat-dry-milk"))
    once, often = (
        today(
            barn(animal, times=SIX), pantry, named=" + ".join(f"{k * n:.9g} {w}" for n, w in parts)
        )
        for k in (1, times)
    )
    assert once.verdict is often.verdict
    assert [a.feeds for a in once.animals] == [a.feeds for a in often.animals]
    assert [[bar.id for bar in a.bars] for a in once.animals] == [
        [bar.id for bar in a.bars] for a in often.animals
    ]


# --- what must not be fed ----------------------------------------------------------------------


def test_half_a_cup_of_cod_liver_oil_in_a_quart_yields_no_bottle(pantry):
    found = today(sample_flock(), pantry, named=COD)
    assert found.verdict is Verdict.NEVER
    assert not found.well
    assert found.plans == (None, None)
    assert found.litres_today == found.litres_week == 0
    assert found.sittings == found.pours == ()
    for one in found.animals:
        assert [feed for feed in one.feeds if feed.what == "milk"] == []
        assert one.day is None
        if one.newborn is None:
            assert [bar.id for bar in one.bars] == ["milk-never"]


def judged(monkeypatch, verdict):
    reasons = (Reason("made-up", verdict, "It is made up.", "judgement"),)
    if verdict is Verdict.INSIDE:
        reasons = ()
    monkeypatch.setattr(
        "formulate.answers.milks.judge", lambda mix, *_: Judgement(verdict, reasons)
    )


@pytest.mark.parametrize("verdict", [Verdict.NEVER, Verdict.VET, Verdict.UNKNOWN])
def test_a_milk_that_may_not_be_fed_yields_no_bottle_and_what_is_written_is_asked_about(
    monkeypatch, pantry, verdict
):
    judged(monkeypatch, verdict)
    found = today(barn(lamb(age=10), lamb("Dot", age=0)), pantry)
    assert found.litres_today == 0
    assert found.animal("Pip").bars[0].of_milk
    assert found.animal("Dot").next.what == "colostrum"  # colostrum is no mix
    allowed = Permission(GOOD, "Dr A. Sorrel", TODAY, "for Pip")
    found = today(barn(lamb(age=10), permissions=(allowed,)), pantry)
    assert bool(found.litres_today) is (verdict is not Verdict.NEVER)
    assert not found.well  # the verdict stays, whoever allowed it
    if verdict is not Verdict.NEVER:
        assert "Dr A. Sorrel" in found.notes[0]


@budget(max_examples=40, deadline=None)
@given(st.lists(animals(), min_size=1, max_size=3, unique_by=lambda a: a.name), st.data())
def test_whoever_is_barred_has_no_feed_to_come(members, data):
    pantry = sample_pantry()
    changed = []
    for n, one in enumerate(members):
        states = data.draw(st.lists(st.sampled_from(["cold", "weak", "old weight", "weaned"])))
        name = f"animal {n}"
        new = replace(one, name=name, mix=data.draw(st.sampled_from(["", COD])))
        if "cold" in states:
            new = replace(new, temperatures=(TemperatureRead(NOW - HOUR, 36.9),))
        if "weak" in states:
            new = replace(new, seen=(Seen(NOW - HOUR, How.WEAK),))
        if "weaned" in states:
            new = replace(new, ending=Ending(TODAY, "weaned"))
        changed.append(new)
    found = today(barn(*changed, times=SIX), pantry)
    for one in found.animals:
        milk = [feed for feed in one.feeds if feed.open and feed.what == "milk"]
        if one.bars or one.animal.mix:
            assert not milk
        if any(bar.id in ("cold", "cannot-swallow") for bar in one.bars):
            assert one.next is None


SIX = tuple(time(hour) for hour in (2, 6, 10, 14, 18, 22))


def test_a_milk_made_for_lambs_warns_for_a_kid(pantry):
    found = today(barn(lamb(), lamb("Ivy", species=Species.KID)), pantry)
    assert found.verdict is Verdict.OUTSIDE
    (note,) = found.notes
    assert note == f"{GOOD} is a milk for lambs, not for kids."


def test_a_milk_before_that_must_not_be_fed_is_not_stirred_in(pantry):
    change = Change(COD, TODAY, 4)
    found = today(barn(lamb(), change=change), pantry)
    assert [pour.milk for pour in found.pours] == [GOOD]
    assert found.notes[0].startswith(f"Do not stir in {COD}")
    assert found.verdict is Verdict.INSIDE


# --- what it means -----------------------------------------------------------------------------


def test_a_thin_milk_says_how_much_an_animal_would_have_to_drink(pantry):
    (one,) = today(barn(lamb(weight=4.5), mix="1 gallon whole-milk + 1 pint water"), pantry).animals
    assert any("L of this thin milk a day" in note for note in one.notes)


def test_a_milk_with_little_protein_says_what_it_lets_an_animal_gain(monkeypatch, pantry):
    reasons = (Reason("protein", Verdict.OUTSIDE, "Too little protein.", "judgement"),)
    monkeypatch.setattr(
        "formulate.answers.milks.judge", lambda mix, *_: Judgement(Verdict.OUTSIDE, reasons)
    )
    mix = "1 quart whole-milk + 1 1/2 cup heavy-cream"
    (one,) = today(barn(lamb(weight=6.0), mix=mix), pantry).animals
    assert any("lets Pip gain about" in note for note in one.notes)


def test_a_small_refrigerator_warns_and_feeds_on(pantry):
    read = sample_flock()
    small = replace(read, flock=replace(read.flock, refrigerator=1000.0))
    one, other = today(small, pantry), today(read, pantry)
    assert "The refrigerator has room for 1 L" in one.warnings[0]
    assert not other.warnings
    assert [a.feeds for a in one.animals] == [a.feeds for a in other.animals]


# --- how much is known -------------------------------------------------------------------------


def weighed(days):
    born = TODAY - timedelta(days=50)
    weighing = Weighing(TODAY - timedelta(days=days), 9.0)
    return replace(lamb(), born=born, birth_weight=4.0, weighings=(weighing,))


@pytest.mark.parametrize(
    ("days", "asked", "planned"), [(14, False, True), (15, True, True), (28, True, True),
                                   (29, False, False)],
)  # fmt: skip
def test_without_a_weighing_it_asks_after_two_weeks_and_stops_after_four(
    pantry, days, asked, planned
):
    found = today(barn(weighed(days)), pantry)
    (one,) = found.animals
    assert any("weigh it" in note for note in one.notes) is asked
    assert (one.day is not None) is planned
    assert [bar.id for bar in one.bars] == ([] if planned else ["weigh-first"])
    assert found.well is planned


@pytest.mark.parametrize(
    ("species", "age", "milk"),
    [("lamb", 84, True), ("lamb", 85, False), ("kid", 120, True), ("kid", 121, False)],
)
def test_past_the_age_of_milk_none_is_planned(pantry, species, age, milk):
    animal = lamb(species=Species(species), age=age, weight=7.0)
    mix = GOOD if species == "lamb" else "kid-jug"
    (one,) = today(barn(animal, mix=mix), pantry).animals
    assert (one.litres > 0) is milk
    assert [bar.id for bar in one.bars] == ([] if milk else ["past-milk"])


def test_one_that_is_weaned_early_drinks_no_more(pantry):
    animal = replace(lamb(), ending=Ending(TODAY, "weaned"))
    found = today(barn(animal, lamb("Wren")), pantry)
    one = found.animal("Pip")
    assert (one.next, one.milk, [bar.id for bar in one.bars]) == (None, None, ["weaned"])
    assert found.well


# --- the feeds of the day ----------------------------------------------------------------------


def test_a_feed_is_due_a_quarter_of_an_hour_before_its_time(pantry):
    four = tuple(time(hour) for hour in (2, 8, 14, 20))
    for minutes, state in ((16, FeedState.NEXT), (15, FeedState.DUE), (-60, FeedState.DUE)):
        now = datetime.combine(TODAY, time(14)) - timedelta(minutes=minutes)
        animal = replace(lamb(), milk=(MilkHad(datetime.combine(TODAY, time(8)), 250.0),))
        (one,) = today(barn(animal, now=now, times=four), pantry).animals
        assert one.next.state is state


def test_what_was_fed_is_done_and_by_whom(pantry):
    animal = drank(lamb(weight=5.0), (6, 250.0, "Ann"), (2, 250.0, "Bob"))
    (one,) = today(barn(animal), pantry).animals
    done = [feed for feed in one.feeds if feed.state is FeedState.DONE]
    assert [feed.logged.by for feed in done] == ["Ann", "Bob"]
    assert one.last.by == "Bob"
    assert one.had == 500


def test_the_next_feed_waits_until_the_gap_is_over(pantry):
    animal = drank(lamb(weight=5.0), (0.5, 250.0, ""))
    (one,) = today(barn(animal), pantry).animals
    assert one.next.at >= NOW - 0.5 * HOUR + one.limits.gap
    assert one.next.state is FeedState.NEXT


def test_after_too_much_the_feeds_to_come_are_smaller_or_left_out(pantry):
    plain = today(barn(lamb(weight=5.0)), pantry).animals[0]
    day = plain.limits.day
    animal = drank(lamb(weight=5.0), (10, 0.5 * day, ""), (4, 0.55 * day, ""))
    (one,) = today(barn(animal), pantry).animals
    coming = [feed for feed in one.feeds if feed.open]
    assert all(feed.millilitres < plain.limits.feed for feed in coming)


@st.composite
def fed_barns(draw):
    """A lamb or kid with some feeds of the last day written down, and a moment."""
    animal = draw(animals(oldest=40))
    now = datetime.combine(TODAY, time(draw(st.integers(0, 23)), draw(st.integers(0, 59))))
    if now < animal.latest_birth:
        now = animal.latest_birth + timedelta(minutes=1)
    hours = draw(st.lists(st.floats(0.1, 30), max_size=6))
    feeds = []
    for ago in sorted(hours, reverse=True):
        at = (now - ago * HOUR).replace(second=0, microsecond=0)
        if at >= datetime.combine(animal.born, animal.hour or time(0)):
            feeds.append((at, draw(st.floats(20, 300))))
    newborn = [ColostrumHad(at, ml) for at, ml in feeds if at < animal.colostrum_until]
    milk = [MilkHad(at, ml) for at, ml in feeds if at >= animal.colostrum_until]
    return replace(animal, colostrum=tuple(newborn), milk=tuple(milk)), now


@budget(max_examples=40, deadline=None)
@given(fed_barns())
def test_feeding_what_is_due_when_it_is_due_is_never_asked_about(tmp_path_factory, found):
    animal, now = found
    pantry = sample_pantry()
    mix = "kid-jug" if animal.species is Species.KID else GOOD
    path = tmp_path_factory.mktemp("barn") / "flock.toml"
    times = ", ".join(f'"{at:%H:%M}"' for at in SIX)
    weights = ", ".join(
        f'{{ on = {w.day}, weight = "{w.kilograms} kg", sure = true }}' for w in animal.weighings
    )
    born = datetime.combine(animal.born, animal.hour) if animal.hour else animal.born
    moment = born.isoformat() if animal.hour else f"{born}"
    cap = "" if animal.cap is None else f'veterinarians_cap = "{animal.cap:g} mL/kg"\n'
    path.write_text(
        f'mix = "{mix}"\nfeeding_times = [{times}]\n[animals.Pip]\nspecies = "{animal.species}"\n'
        f'born = {moment}\nbirth_weight = "{animal.birth_weight} kg"\nweights = [{weights}]\n{cap}'
    )
    lines = ["when,animal,what,amount,unit,note,by"]
    for kind, had in (("colostrum", animal.colostrum), ("milk", animal.milk)):
        lines += [f"{one.at:%Y-%m-%dT%H:%M},Pip,{kind},{one.millilitres},mL,," for one in had]
    path.with_suffix(".log.csv").write_text("\n".join(lines) + "\n")
    for _ in range(4):
        home = load_household(path, now=now)
        try:
            (one,) = today(home.read, pantry).animals
        except InputError:
            return
        if one.next is None or one.next.at.date() > now.date():
            return
        now = max(now, one.next.at)
        told = wanted_of("Pip", one.next.what, f"{one.next.millilitres:.2f} mL")
        done = record(path, [told], now, pantry=pantry)
        assert done.outcome is RecordOutcome.WRITTEN, done.questions


# --- one animal without a list -----------------------------------------------------------------


def test_one_animal_needs_no_file(pantry):
    home = one_animal("lamb", "4.2kg", "3d", GOOD, NOW)
    found = today(home.read, home.pantry)
    (one,) = found.animals
    assert (one.name, one.animal.age_days(TODAY), one.animal.last_weight.kilograms) == (
        "Your lamb", 3, 4.2,
    )  # fmt: skip
    assert one.next.millilitres <= 50 * 4.2
    assert found.well


def test_one_of_21_hours_is_in_its_first_day():
    home = one_animal("lamb", "9 lb", "21h", GOOD, NOW)
    (one,) = today(home.read, home.pantry).animals
    assert one.newborn is not None
    assert one.newborn.lost > 0
    assert one.newborn.overdue


@pytest.mark.parametrize(
    ("weight", "age", "told"),
    [("4.2", "3d", "has no unit"), ("4.2kg", "3", "an age without a unit"),
     ("4.2kg", "old", "is not an age"), ("60kg", "3d", "Did you mean 6 kg"),
     ("0.3kg", "1d", "cannot be right"), ("30kg", "2 years", "is not an age"),
     ("30kg", "100 weeks", "grown animal"), ("4.2kg", "-3d", "is not an age"),
     ("4.2kg", "9" * 400 + "d", "is not an age")],
)  # fmt: skip
def test_an_impossible_animal_is_reported(weight, age, told):
    with pytest.raises(InputError, match=told):
        one_animal("lamb", weight, age, GOOD, NOW)


@pytest.mark.parametrize(
    ("age", "hours"), [("36h", 36), ("3 days", 72), ("2 weeks", 336), ("1.5d", 36), ("1W", 168)]
)
def test_ages_as_people_write_them(age, hours):
    from formulate.answers.household import parse_age

    assert parse_age(age) == hours * HOUR


# --- what was reckoned before is right afterwards ----------------------------------------------

FARM = """
day = 2026-11-14
mix = "plain-milk"
kitchen = "us"
feeding_times = ["02:00", "06:00", "10:00", "14:00", "18:00", "22:00"]
[animals.Ash]
born = 2026-11-02T04:00:00
birth_weight = "4.2 kg"
weights = [{ on = 2026-11-11, weight = "5.4 kg" }]
[animals.Fern]
born = 2026-11-07
birth_weight = "3.9 kg"
[animals.Moss]
born = 2026-11-14T01:00:00
birth_weight = "4.0 kg"
"""

#: What is written down, one after the other; each changes something else of the answer.
WRITTEN = [
    *(f"2026-11-{day:02d}T10:00,Ash,milk,900,mL,,Ann" for day in range(2, 12)),
    "2026-11-14T06:05,Fern,milk,150,mL,,Ann",
    "2026-11-14T02:00,Moss,colostrum,200,mL,,Ann",
    "2026-11-13,Fern,weight,4.6,kg,,Ann",
    "2026-11-13,Ash,creep,60,g,,Ann",
    "2026-11-14T08:00,Ash,drink,300,mL,,Ann",
    "2026-11-14T08:30,Ash,temperature,40.4,°C,,Ann",
    "2026-11-14,Ash,weight,5.1,kg,,Ann",
    "2026-11-14T09:00,Fern,weak,,,,Ann",
    "2026-11-14,Fern,ended,,,weaned,Ann",
]


def told_whole(found):
    """Everything of an answer, down to the last number."""
    return [
        (one, repr(one.day))
        for one in found.animals  # a day may hold NaN
    ] + [found.sittings, found.pours, found.notes, found.litres_today, found.litres_week]


def forget():
    for kept in (milks._planned, growth._stretches, flock_file._shape):
        kept.cache_clear()


def test_after_every_write_the_answer_is_the_one_of_a_fresh_start(pantry, tmp_path):
    path = tmp_path / "flock.toml"
    path.write_text(FARM, encoding="utf-8")
    log = tmp_path / "flock.log.csv"
    forget()
    kept, lines = [], ["when,animal,what,amount,unit,note,by"]
    for line in WRITTEN:
        lines.append(line)
        log.write_text("\n".join(lines) + "\n", encoding="utf-8")
        kept.append(told_whole(today(load_flock(path), pantry)))
    for count, before in enumerate(kept, 2):
        forget()
        log.write_text("\n".join(lines[:count]) + "\n", encoding="utf-8")
        assert told_whole(today(load_flock(path), pantry)) == before, lines[count - 1]
    assert all(one != other for one, other in pairwise(kept))


#: What changes an answer: a line more, a line less, one taken back, another flock file, the clock.
STEPS = st.one_of(
    st.tuples(
        st.just("write"),
        st.sampled_from(["Ash", "Fern", "Moss"]),
        st.sampled_from(
            ["milk,{},mL", "colostrum,{},mL", "drink,{},mL", "creep,{},g", "weak,,", "swallows,,"]
        ),
        st.integers(1, 300),
        st.datetimes(datetime(2026, 11, 7), datetime(2026, 11, 15)),
    ),
    st.tuples(
        st.just("write"),
        st.sampled_from(["Ash", "Fern", "Moss"]),
        st.sampled_from(["weight,{:.1f},kg", "temperature,{:.1f},°C"]),
        st.floats(3.5, 6.5),
        st.datetimes(datetime(2026, 11, 7), datetime(2026, 11, 15)),
    ),
    st.tuples(st.sampled_from(["delete", "take back"]), st.integers(0, 30)),
    st.tuples(
        st.just("edit"),
        st.sampled_from([
            ('"4.2 kg"', '"3.8 kg"'), ('weight = "5.4 kg"', 'weight = "5.1 kg"'),
            ('kitchen = "us"', 'kitchen = "us"\ncold = true'),
            ("[animals.Fern]", '[animals.Fern]\nlevel = "hearty"'),
            ('mix = "plain-milk"', 'mix = "cream-and-powder"'), ('"02:00", ', ""),
        ]),
    ),
    st.tuples(st.just("clock"), st.integers(-20, 40)),
)  # fmt: skip


def after(step, farm, lines, now):
    """The flock file, the lines of its log and the moment after a step."""
    what = step[0]
    if what == "write":
        _, animal, entry, amount, when = step
        moment = when.isoformat(timespec="minutes")
        lines = [*lines, f"{moment},{animal},{entry.format(amount)},,Ann"]
    elif what == "edit":
        farm = farm.replace(*step[1])
    elif what == "clock":
        now += timedelta(hours=step[1])
    elif len(lines) > 1:
        k = 1 + step[1] % (len(lines) - 1)
        if what == "delete":
            lines = lines[:k] + lines[k + 1 :]
        else:
            fields = lines[k].split(",")
            fields[2] = "strike " + fields[2].removeprefix("strike ")
            lines = [*lines, ",".join(fields)]
    return farm, lines, now


@budget(max_examples=8, deadline=None)
@given(st.lists(STEPS, min_size=3, max_size=7))
def test_after_any_change_the_answer_is_the_one_of_a_fresh_start(steps):
    with TemporaryDirectory() as folder:
        path, pantry = Path(folder) / "flock.toml", sample_pantry()

        def answered(farm, lines, now):
            path.write_text(farm, encoding="utf-8")
            log = path.with_suffix(".log.csv")
            log.write_text("\n".join(lines) + "\n", encoding="utf-8")
            try:
                return told_whole(today(load_flock(path, now), pantry))
            except InputError as error:
                return str(error)

        states = [(FARM, ["when,animal,what,amount,unit,note,by"], datetime(2026, 11, 14, 12))]
        for step in steps:
            states.append(after(step, *states[-1]))
        kept = [answered(*state) for state in states]
        for state, before in zip(states, kept, strict=True):
            forget()
            assert answered(*state) == before


def test_milk_counts_for_growth_until_the_day_before_the_weighing(pantry):
    """Where each of those days has some, growth is compared with what was drunk."""
    weighed = replace(lamb(age=9), weighings=(Weighing(TODAY - timedelta(days=6), 4.6),
                                          Weighing(TODAY - timedelta(days=3), 5.2)))  # fmt: skip
    days = [TODAY - timedelta(days=n) for n in (6, 5, 4, 3, 2)]

    def logged(*on):
        milk = tuple(MilkHad(datetime.combine(day, time(12)), 800.0, "") for day in on)
        found = today(barn(replace(weighed, milk=milk)), pantry)
        return found.animals[0].check.stretches[-1].logged

    assert logged(*days[:3])
    assert logged(*days)
    assert not logged(*days[:2], *days[3:])
