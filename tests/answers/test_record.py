"""What is written down, and what is asked about first: one rule for every kind of entry."""

import subprocess
import sys
import time
from datetime import datetime, timedelta
from importlib.resources import files

import pytest
from clock_by_hand import stop_clock
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st

from formulate.answers.record import RecordOutcome, record
from formulate.answers.wanted import WORDS, has_hour, parse_moment, wanted_of
from formulate.base.errors import InputError, UnknownName
from formulate.rearing.flock_file import load_flock
from formulate.rearing.log import log_path

NOW = datetime(2026, 11, 14, 12)
MINUTE = timedelta(minutes=1)

#: A lamb of 6 kg, fed five times a day; a newborn; a kid.
FLOCK = """
day = 2026-11-14
mix = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
feeding_times = ["06:00", "09:00", "12:00", "15:00", "18:00", "21:00"]
kitchen = "metric"
[animals.Pip]
born = 2026-11-02T04:30:00
birth_weight = "4.4 kg"
weights = [{ on = 2026-11-14, weight = "6.0 kg" }]
[animals.Dot]
born = 2026-11-14T02:15:00
birth_weight = "3.6 kg"
"""


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "flock.toml"
    file.write_text(FLOCK)
    return file


def write(path, *told, now=NOW, sure=False, **more):
    return record(path, [wanted_of(*told, **more)], now, sure=sure)


def asked(done):
    return [question.id for question in done.questions]


def log(path):
    file = log_path(path)
    return file.read_text().splitlines()[1:] if file.exists() else []


def test_each_kind_is_written_with_who_did_it(path):
    for told, line in [
        (("Pip", "milk", "200 mL"), "2026-11-14T12:00,Pip,milk,200,mL,,Ann"),
        (("pip", "weight", "6.1 kg"), "2026-11-14,Pip,weight,6.1,kg,,Ann"),
        (("Pip", "creep", "60 g"), "2026-11-14,Pip,creep,60,g,,Ann"),
        (("Pip", "temperature", "102.2 F"), "2026-11-14T12:00,Pip,temperature,39,°C,,Ann"),
        (("Dot", "colostrum", "150 mL"), "2026-11-14T12:00,Dot,colostrum,150,mL,,Ann"),
        (("Dot", "weak"), "2026-11-14T12:00,Dot,weak,,,,Ann"),
        (("Dot", "swallows"), "2026-11-14T12:00:01,Dot,swallows,,,,Ann"),
        (("Dot", "veterinarian"), "2026-11-14T12:00:02,Dot,veterinarian,,,,Ann"),
        (("Pip", "weaned"), "2026-11-14,Pip,ended,,,weaned,Ann"),
    ]:
        assert write(path, *told, by="Ann").outcome is RecordOutcome.WRITTEN
        assert log(path)[-1] == line
    assert write(path, "Dot", "colostrum", "100 mL", at=NOW - timedelta(hours=6),
                 note="a cow's").outcome is RecordOutcome.WRITTEN  # fmt: skip
    assert log(path)[-1] == "2026-11-14T06:00,Dot,colostrum,100,mL,a cow's,"


def test_the_same_said_again_is_there_already(path):
    at = NOW - timedelta(hours=6)
    for told in (("Pip", "milk", "200 mL"), ("Pip", "temperature", "39 C")):
        assert write(path, *told, at=at).outcome is RecordOutcome.WRITTEN
        again = write(path, *told, at=at)
        assert (again.outcome, again.added) == (RecordOutcome.ALREADY, ())
    for told in (("Pip", "weight", "6.1 kg"), ("Pip", "creep", "60 g"), ("Dot", "died")):
        write(path, *told)
        if told[1] != "died":
            assert write(path, *told).outcome is RecordOutcome.ALREADY
    assert len(log(path)) == 5


def test_another_value_for_the_same_is_asked_about_and_then_counts_instead(path):
    at = NOW - timedelta(hours=6)
    write(path, "Pip", "milk", "200 mL", at=at)
    write(path, "Pip", "weight", "6.1 kg")
    assert asked(write(path, "Pip", "milk", "220 mL", at=at)) == ["in-log"]
    assert asked(write(path, "Pip", "weight", "6.2 kg")) == ["in-log"]
    write(path, "Pip", "milk", "220 mL", at=at, sure=True)
    write(path, "Pip", "weight", "6.2 kg", sure=True)
    pip = load_flock(path, NOW).flock.animal("Pip")
    assert [one.millilitres for one in pip.milk] == [220]
    assert pip.last_weight.kilograms == 6.2


@pytest.mark.parametrize(
    ("told", "questions"),
    [
        (("Dot", "colostrum", "8 L"), ["amount"]),
        (("Pip", "creep", "5 kg"), ["creep"]),
        (("Pip", "milk", "1.9 L"), ["amount"]),
        (("Pip", "weight", "60 kg"), ["weight"]),
        (("Dot", "milk", "100 mL"), ["first-day"]),
        (("Pip", "milk", "306 mL"), []),  # the cap is 50 mL/kg, and a bottle reads to 2 %
        (("Pip", "milk", "306.1 mL"), ["amount"]),
        (("Pip", "creep", "360 g"), []),
        (("Pip", "creep", "361 g"), ["creep"]),
    ],
)
def test_amounts_are_questioned_as_weights_are(path, told, questions):
    done = write(path, *told)
    assert asked(done) == questions
    assert bool(log(path)) is not bool(questions)
    if questions:
        assert write(path, *told, sure=True).outcome is RecordOutcome.WRITTEN
        assert len(log(path)) == 1


def test_a_question_names_no_option_and_no_button(path):
    write(path, "Pip", "milk", "200 mL", by="Ann")
    for told in (
        ("Pip", "milk", "200 mL"), ("Pip", "milk", "2 L"), ("Pip", "weight", "60 kg"),
        ("Pip", "creep", "5 kg"), ("Dot", "milk", "90 mL"),
    ):  # fmt: skip
        for question in write(path, *told).questions:
            assert question.text.endswith("?")
            assert "--" not in question.text
            assert "tick" not in question.text


# --- feeds too close to one another ------------------------------------------------------------


@pytest.mark.parametrize(("minutes", "questions"), [(40, ["gap"]), (179, ["gap"]), (180, [])])
def test_a_feed_within_half_the_plans_interval_is_asked_about(path, minutes, questions):
    # Four feeds a day at its age and weight on this milk: half of six hours.
    write(path, "Pip", "milk", "250 mL", at=NOW - minutes * MINUTE, by="Ann")
    done = write(path, "Pip", "milk", "250 mL")
    assert asked(done) == questions
    if questions:
        assert "by Ann" in done.questions[0].text
        assert "ago" in done.questions[0].text


def test_two_that_make_no_more_than_one_planned_feed_are_not_asked_about(path):
    assert (
        write(path, "Pip", "milk", "130 mL", at=NOW - 10 * MINUTE).outcome is RecordOutcome.WRITTEN
    )
    assert asked(write(path, "Pip", "milk", "200 mL")) == ["gap"]
    assert write(path, "Pip", "milk", "100 mL").outcome is RecordOutcome.WRITTEN
    assert asked(write(path, "Pip", "milk", "100 mL")) == ["gap"]


@pytest.mark.parametrize(("minutes", "questions"), [(179, ["gap"]), (180, [])])
def test_colostrum_is_three_hours_apart(path, minutes, questions):
    write(path, "Dot", "colostrum", "150 mL", at=NOW - minutes * MINUTE)
    assert asked(write(path, "Dot", "colostrum", "150 mL")) == questions


def test_a_feed_written_down_late_is_checked_against_the_one_after_it(path):
    write(path, "Pip", "milk", "250 mL")
    done = write(path, "Pip", "milk", "250 mL", at=NOW - 30 * MINUTE)
    assert asked(done) == ["gap"]
    assert "30 minutes after" in done.questions[0].text


def test_a_sure_second_feed_in_the_same_minute_counts_too(path):
    write(path, "Pip", "milk", "250 mL")
    write(path, "Pip", "milk", "250 mL", sure=True)
    pip = load_flock(path, NOW).flock.animal("Pip")
    assert [one.millilitres for one in pip.milk] == [250, 250]


@pytest.mark.parametrize(("last", "questions"), [("90 mL", []), ("150 mL", ["day"])])
def test_more_than_a_days_amount_and_a_tenth_is_asked_about(path, last, questions):
    # Its day is 4 x 240 mL on this milk.
    for hours in (20, 15, 10, 5):
        write(path, "Pip", "milk", "240 mL", at=NOW - timedelta(hours=hours), sure=True)
    assert asked(write(path, "Pip", "milk", last)) == questions


def test_yesterdays_feed_at_this_hour_is_not_one_more(path):
    for hours in (23.5, 18, 12, 6):
        write(path, "Pip", "milk", "260 mL", at=NOW - timedelta(hours=hours), sure=True)
    assert write(path, "Pip", "milk", "260 mL").outcome is RecordOutcome.WRITTEN


# --- animals that must not be fed --------------------------------------------------------------


@pytest.mark.parametrize("state", [("temperature", "35 C"), ("weak", "")])
def test_a_feed_of_one_that_must_not_be_fed_is_asked_about(path, state):
    assert write(path, "Pip", *state).notes
    assert asked(write(path, "Pip", "milk", "200 mL")) == ["not-fed"]
    assert asked(write(path, "Pip", "colostrum", "200 mL")) == ["not-fed"]
    write(path, "Pip", "veterinarian")
    assert write(path, "Pip", "milk", "200 mL").outcome is RecordOutcome.WRITTEN


def test_a_feed_of_a_milk_that_must_not_be_fed_is_asked_about(path):
    text = path.read_text()
    path.write_text(text.replace("3/4 cup heavy-cream", "1/2 cup cod-liver-oil"))
    assert asked(write(path, "Pip", "milk", "200 mL")) == ["not-fed"]
    assert write(path, "Dot", "colostrum", "100 mL").outcome is RecordOutcome.WRITTEN


def test_what_was_drunk_is_written_down_even_where_no_milk_can_be_read(path):
    path.write_text(path.read_text().replace("heavy-cream", "heavy-creem"))
    assert write(path, "Pip", "milk", "200 mL").outcome is RecordOutcome.WRITTEN
    assert asked(write(path, "Pip", "milk", "200 mL")) == ["gap"]
    assert asked(write(path, "Pip", "milk", "2 L")) == ["amount", "gap"]


# --- weights -----------------------------------------------------------------------------------


def test_a_wrong_heavy_weight_does_not_make_the_true_one_look_wrong(path):
    write(path, "Pip", "weight", "14 kg", sure=True)
    later = NOW + timedelta(days=3)
    done = write(path, "Pip", "weight", "6.4 kg", now=later)
    assert done.outcome is RecordOutcome.WRITTEN
    assert "14 kg" in done.notes[0]
    assert "take that weight back" in done.notes[0]


def test_weights_of_days_that_cannot_be_are_wrong_even_if_sure(path):
    for at in (NOW + timedelta(days=1), datetime(2026, 11, 1)):
        with pytest.raises(InputError):
            write(path, "Pip", "weight", "6 kg", at=at, sure=True)
    assert not log(path)


# --- taking back, and leaving ------------------------------------------------------------------


def test_an_entry_is_taken_back_by_a_line_that_strikes_it(path):
    write(path, "Pip", "milk", "200 mL", at=NOW - timedelta(hours=6))
    write(path, "Pip", "milk", "250 mL")
    before = log(path)
    done = write(path, "Pip", "strike")
    assert done.outcome is RecordOutcome.WRITTEN
    assert log(path) == [*before, "2026-11-14T12:00,Pip,strike milk,250,mL,,"]
    pip = load_flock(path, NOW).flock.animal("Pip")
    assert [one.millilitres for one in pip.milk] == [200]
    write(path, "Pip", "milk", "250 mL")  # and written down again
    assert len(load_flock(path, NOW).flock.animal("Pip").milk) == 2


def test_a_certain_entry_is_taken_back_by_its_kind_or_time(path):
    early = NOW - timedelta(hours=6)
    write(path, "Pip", "milk", "200 mL", at=early)
    write(path, "Pip", "weight", "6.1 kg")
    write(path, "Pip", "milk", "250 mL")
    write(path, "Pip", "strike", "weight")
    write(path, "Pip", "strike", at=early)
    pip = load_flock(path, NOW).flock.animal("Pip")
    assert [one.millilitres for one in pip.milk] == [250]
    assert pip.last_weight.kilograms == 6.0
    for kind in ("weight", "creep"):
        with pytest.raises(InputError, match="the log has no such entry for Pip"):
            write(path, "Pip", "strike", kind)


@pytest.mark.parametrize(("how", "left"), [("sold", False), ("died", False), ("weaned", True)])
def test_an_animal_leaves_in_one_step_and_comes_back_by_taking_it_back(path, how, left):
    write(path, "Pip", how)
    flock = load_flock(path, NOW).flock
    assert ("Pip" in flock.names) is left
    if not left:
        with pytest.raises(InputError, match=r"Pip (was sold|died) on 2026-11-14"):
            write(path, "Pip", "milk", "100 mL")
    write(path, "Pip", "strike")
    assert load_flock(path, NOW).flock.animal("Pip").ending is None


# --- what cannot be ----------------------------------------------------------------------------


def test_unknown_words_and_animals_are_reported_with_the_nearest(path):
    with pytest.raises(UnknownName, match="Did you mean temperature"):
        write(path, "Pip", "temprature", "39 C")
    with pytest.raises(UnknownName, match="Did you mean Pip"):
        write(path, "Pop", "milk", "100 mL")
    with pytest.raises(UnknownName, match="thing to take back"):
        write(path, "Pip", "strike", "wool")
    assert {"milk", "sold", "strike", "temperature"} <= set(WORDS)


@pytest.mark.parametrize(
    ("told", "why"),
    [
        (("Pip", "milk", ""), "the amount of milk is missing"),
        (("Pip", "milk", "a lot"), "is not a measure of a known size"),
        (("Pip", "milk", "0 mL"), "above zero"),
        (("Pip", "milk", "200 g"), "g"),
        (("Pip", "temperature", "102"), "has no unit"),
        (("Pip", "temperature", "12 C"), "cannot be right"),
        (("Pip", "creep", "1 cup"), "is not a weight"),
        (("Pip", "weight", "6"), "has no unit"),
    ],
)
def test_what_cannot_be_read_is_wrong_and_writes_nothing(path, told, why):
    with pytest.raises(InputError, match=why):
        write(path, *told, sure=True)
    assert not log(path)


@pytest.mark.parametrize("at", [NOW + 3 * MINUTE, datetime(2026, 11, 2, 4, 29)])
def test_a_moment_to_come_or_before_the_birth_is_wrong(path, at):
    with pytest.raises(InputError):
        write(path, "Pip", "milk", "100 mL", at=at, sure=True)
    assert not log(path)


def test_all_are_written_or_none(path):
    told = [wanted_of("Pip", "milk", "200 mL"), wanted_of("Dot", "colostrum", "1 L")]
    done = record(path, told, NOW)
    assert (done.outcome, done.added, asked(done)) == (RecordOutcome.ASKS, (), ["amount"])
    assert not log(path)
    twice = [wanted_of("Pip", "milk", "250 mL"), wanted_of("Pip", "milk", "250 mL")]
    assert asked(record(path, twice, NOW)) == ["gap"]


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("06:30", datetime(2026, 11, 14, 6, 30)),
        ("12:01", datetime(2026, 11, 14, 12, 1)),  # a clock that is a minute ahead
        ("23:30", datetime(2026, 11, 13, 23, 30)),  # last night
        ("2026-11-13 06:30", datetime(2026, 11, 13, 6, 30)),
        (" 2026-11-13T06:30 ", datetime(2026, 11, 13, 6, 30)),
        ("5.30", datetime(2026, 11, 14, 5, 30)),
        ("5:30pm", datetime(2026, 11, 13, 17, 30)),
        ("yesterday 5pm", datetime(2026, 11, 13, 17, 0)),
        ("noon", datetime(2026, 11, 14, 12, 0)),
    ],
)
def test_moments_as_people_write_them(text, moment):
    assert parse_moment(text, NOW) == moment


@pytest.mark.parametrize(
    "text", ["soon", "25:00", "2026-11-13T06:30+01:00", "", "2026-11-13", "yesterday"]
)
def test_a_moment_that_is_none(text):
    with pytest.raises(InputError):
        parse_moment(text, NOW)


def test_a_weight_has_only_a_day_and_a_feed_has_an_hour():
    assert parse_moment("2026-11-13", NOW, day_alone=True) == datetime(2026, 11, 13)
    assert [has_hour(w) for w in ("weight", "creep", "sold", "milk", "temperature", "strike")] == [
        False, False, False, True, True, False,
    ]  # fmt: skip


# --- two people --------------------------------------------------------------------------------

_FEEDER = """
import sys
from pathlib import Path
from formulate.answers.record import record
from formulate.answers.wanted import wanted_of
from formulate.answers.milks import milks_of  # so that both are ready at the same moment
path, who = Path(sys.argv[1]), sys.argv[2]
print("ready", flush=True)
sys.stdin.readline()
print(record(path, [wanted_of("Pip", "milk", "250 mL", by=who)]).outcome)
"""


def test_two_people_in_the_same_second_write_one_feed_and_one_is_asked(path):
    for _ in range(2):
        log_path(path).unlink(missing_ok=True)
        feeders = [
            subprocess.Popen(
                [sys.executable, "-c", _FEEDER, str(path), who],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            )
            for who in ("Ann", "Bob")
        ]  # fmt: skip
        assert [feeder.stdout.readline() for feeder in feeders] == ["ready\n"] * 2
        for feeder in feeders:
            feeder.stdin.write("go\n")
            feeder.stdin.flush()
        outcomes = sorted(feeder.communicate()[0].strip() for feeder in feeders)
        assert outcomes == ["asks", "written"]
        assert len(log(path)) == 1


# --- a log that is only ever added to ----------------------------------------------------------

_THINGS = st.sampled_from(
    [
        ("Pip", "milk", "120 mL"), ("Pip", "milk", "250 mL"), ("Dot", "colostrum", "120 mL"),
        ("Pip", "temperature", "36 C"), ("Pip", "temperature", "39 C"), ("Dot", "weak", ""),
        ("Dot", "swallows", ""), ("Pip", "weight", "6.1 kg"), ("Pip", "weight", "12 kg"),
        ("Pip", "strike", ""), ("Dot", "strike", ""), ("Pip", "creep", "50 g"),
        ("Pip", "weaned", ""), ("Dot", "sold", ""),
    ]
)  # fmt: skip


@budget(max_examples=30, deadline=None)
@given(st.lists(st.tuples(_THINGS, st.integers(0, 600), st.booleans()), max_size=8))
def test_whatever_happens_lines_are_only_added_and_can_all_be_read(tmp_path_factory, steps):
    path = tmp_path_factory.mktemp("barn") / "flock.toml"
    path.write_text(FLOCK)
    now, before = NOW, []
    for told, minutes, sure in steps:
        now += minutes * MINUTE
        try:
            done = record(path, [wanted_of(*told)], now, sure=sure)
        except InputError:
            assert log(path) == before
            continue
        after = log(path)
        assert after[: len(before)] == before
        assert len(after) - len(before) == len(done.added)
        assert (done.outcome is RecordOutcome.ASKS) <= (not done.added)
        assert not load_flock(path, now).log_faults or "weight" in told
        before = after


def test_the_samples_own_feeds_are_recorded(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    done = record(tmp_path / "flock.toml", [wanted_of("Wren", "milk", "600 mL")])
    assert asked(done) == ["amount"]


class TestTheClock:
    """What is written down has the moment at which it happened."""

    @pytest.fixture
    def clock(self, monkeypatch):
        """The computer's clock."""

        return lambda moment: stop_clock(monkeypatch, moment, "rearing.flock_file")

    def test_a_day_left_in_the_file_does_not_stamp_what_happens_today(self, path, clock):
        clock(datetime(2026, 11, 16, 5, 20))
        record(path, [wanted_of("Pip", "milk", "200 mL")])
        assert log(path) == ["2026-11-16T05:20,Pip,milk,200,mL,,"]
        assert load_flock(path).clock == datetime(2026, 11, 16, 5, 20)

    def test_a_sample_plays_on_its_own_day(self, path, clock):
        path.write_text("sample = true\n" + FLOCK)
        clock(datetime(2026, 11, 16, 5, 20))
        record(path, [wanted_of("Pip", "milk", "200 mL")])
        assert log(path) == ["2026-11-14T12:00,Pip,milk,200,mL,,"]

    def test_a_file_without_a_day_has_the_clock_s(self, path, clock):
        path.write_text(FLOCK.replace("day = 2026-11-14\n", ""))
        clock(datetime(2026, 11, 16, 5, 20))
        record(path, [wanted_of("Pip", "milk", "200 mL")])
        assert log(path) == ["2026-11-16T05:20,Pip,milk,200,mL,,"]

    def test_a_feed_before_the_clock_was_put_back_counts(self, path, clock, monkeypatch):
        monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M11.3.0/3")  # back on 15 November
        time.tzset()
        try:
            path.write_text(FLOCK.replace("day = 2026-11-14\n", ""))
            log_path(path).write_text("when,animal,what\n2026-11-15T02:30,Pip,milk,200,mL,,\n")
            again = wanted_of("Pip", "milk", "200 mL")
            clock(datetime(2026, 11, 15, 2, 10, fold=1))  # forty minutes later
            assert asked(record(path, [again])) == ["gap"]
            clock(datetime(2026, 11, 15, 2, 10))  # twenty minutes before
            assert load_flock(path).flock.animal("Pip").milk == ()
        finally:
            monkeypatch.undo()
            time.tzset()

    def test_the_hour_that_spring_leaves_out_is_no_part_of_the_gap(self, path, clock, monkeypatch):
        monkeypatch.setenv("TZ", "CET-1CEST,M11.3.0,M3.5.0/3")  # forward on 15 November
        time.tzset()
        try:
            path.write_text(FLOCK.replace("day = 2026-11-14\n", ""))
            log_path(path).write_text("when,animal,what\n2026-11-15T00:30,Pip,milk,200,mL,,\n")
            again = wanted_of("Pip", "milk", "200 mL")
            clock(datetime(2026, 11, 15, 3, 40))  # two hours and ten minutes later
            found = record(path, [again])
            assert asked(found) == ["gap"]
            clock(datetime(2026, 11, 15, 4, 40))
            assert asked(record(path, [again])) == []
        finally:
            monkeypatch.undo()
            time.tzset()

    def test_line_breaks_in_a_note_cannot_damage_the_log(self, path):
        write(path, "Dot", "colostrum", "100 mL", note="ewe\n2026-11-14,Pip,weight,9,kg,,\r\nx")
        assert len(log(path)) == 1
        assert not load_flock(path).log_faults


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("born = 2026-11-02T04:30:00", "born = 2026-11-02T04:30:00Z"),
        ("born = 2026-11-02T04:30:00", "born = 2026-11-02T04:30:00+02:00"),
        ('["06:00",', '["06:00+02:00",'),
    ],
)
def test_a_time_zone_is_refused_not_dropped(path, before, after):
    path.write_text(FLOCK.replace(before, after))
    with pytest.raises(InputError, match="has a time zone"):
        load_flock(path)


@pytest.mark.parametrize("year", ["0001", "1899", "3000", "9999"])
def test_a_year_at_the_ends_of_the_calendar_is_refused(path, year):
    path.write_text(FLOCK.replace("2026", year))
    with pytest.raises(InputError, match=r"born|day"):
        load_flock(path)


# --- a feed that waited to be written down ---------------------------------------------------


@pytest.mark.parametrize(
    ("seen", "asks"), [("11:20", ["meanwhile"]), ("11:30", ["meanwhile"]), ("11:31", [])]
)
def test_a_feed_that_its_writer_cannot_have_known_of_is_asked_about(path, seen, asks):
    write(path, "Pip", "milk", "60 mL", at=datetime(2026, 11, 14, 11, 30), by="Bob")
    hour, minute = map(int, seen.split(":"))
    late = {"at": datetime(2026, 11, 14, 11, 40), "by": "Ann"}
    last_seen = datetime(2026, 11, 14, hour, minute, 59)
    done = write(path, "Pip", "milk", "50 mL", last_seen=last_seen, **late)
    assert asked(done) == asks
    if asks:
        assert "fed at 11:30 by Bob while this was waiting" in done.questions[0].text
        assert len(log(path)) == 1
        assert write(path, "Pip", "milk", "50 mL", last_seen=last_seen, sure=True, **late).added
    assert len(log(path)) == 2


def test_a_feed_too_soon_is_asked_about_once(path):
    write(path, "Pip", "milk", "300 mL", at=datetime(2026, 11, 14, 11, 30), by="Bob")
    at = datetime(2026, 11, 14, 11, 40)
    assert asked(write(path, "Pip", "milk", "300 mL", at=at, last_seen=at)) == ["gap"]
    seen = datetime(2026, 11, 14, 11)
    assert asked(write(path, "Pip", "milk", "300 mL", at=at, last_seen=seen)) == ["gap"]


def test_what_was_written_down_already_is_not_asked_about(path):
    late = {"at": datetime(2026, 11, 14, 11, 30), "last_seen": datetime(2026, 11, 14, 11, 20)}
    assert write(path, "Pip", "milk", "60 mL", **late).outcome is RecordOutcome.WRITTEN
    assert write(path, "Pip", "milk", "60 mL", **late).outcome is RecordOutcome.ALREADY
    assert len(log(path)) == 1


@pytest.mark.parametrize("amount", ["60 mL", "50 mL"])
def test_feeds_of_two_people_in_one_minute_both_stand_after_a_question(path, amount):
    at = datetime(2026, 11, 14, 11, 30)
    write(path, "Pip", "milk", "60 mL", at=at, by="Bob")
    late = {"at": at, "by": "Ann", "last_seen": at - 10 * MINUTE}
    assert asked(write(path, "Pip", "milk", amount, **late)) == ["meanwhile"]
    assert write(path, "Pip", "milk", amount, sure=True, **late).outcome is RecordOutcome.WRITTEN
    assert len(load_flock(path, NOW).flock.animal("Pip").milk) == 2
