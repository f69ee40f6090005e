"""Flock files: what is read, and every fault at once with its place."""

from datetime import date, datetime, time

import pytest

from formulate.base.errors import InputError, ManyFaults
from formulate.base.units import Kitchen
from formulate.rearing.flock import ColostrumHad, Eaten, Level, MilkEnd, Species, Weighing
from formulate.rearing.flock_file import load_flock, parse_flock
from formulate.rearing.log import Entry, What, append, log_path

NOW = datetime(2026, 11, 14, 12)

GOOD = """
name = "Barn"
pantry = "pantry.toml"
mix = "jug"
kitchen = "imperial"
feeding_times = ["18:00", "06:00", 12:00:00]
level = "usual"
weaning = "abrupt"
bottle_marks = "20 mL"
jar = "1 L"
jars = 4
refrigerator = "8 L"
shopping_days = ["wednesday", "saturday"]
[change]
before = "plain-milk"
first_day = 2026-11-13
[animals.Pip]
born = 2026-11-02T04:30:00
birth_weight = "9 lb 4 oz"
weights = [{ on = 2026-11-08, weight = "5.0 kg" }]
colostrum = [{ at = 2026-11-02T05:30:00, amount = "200 mL", what = "own ewe" }]
creep = [{ on = 2026-11-12, amount = "1 oz" }]
temperatures = [{ at = 2026-11-02T06:00:00, celsius = 39.4 }]
veterinarians_cap = "60 mL/kg"
[animals."No. 7"]
species = "kid"
born = 2026-11-05
weights = [{ on = 2026-11-06, weight = "3.4 kg" }]
"""
COLD = "temperatures = [{ at = 2026-11-13T06:00:00, celsius = 3.8 }]"
COLOSTRUM = "colostrum = [{{ at = {}, amount = '1 cup' }}]"
SMALL = """
feeding_times = ["06:00", "10:00", "14:00", "18:00", "22:00", "02:00"]
[animals.Pip]
born = 2026-11-02
birth_weight = "4.2 kg"
"""


def test_a_whole_file_is_read():
    flock = parse_flock(GOOD, "f", NOW).flock
    assert flock.feeding_times == (time(6), time(12), time(18))
    assert flock.kitchen is Kitchen.IMPERIAL
    assert flock.level is Level.USUAL
    assert (flock.weaning, flock.mark) == (MilkEnd.ABRUPT, 20.0)
    assert (flock.jar, flock.jars, flock.refrigerator) == (1000.0, 4, 8000.0)
    assert flock.shopping_days == (2, 5)
    assert flock.change is not None
    assert flock.change.days == 4
    pip, seven = flock.animals
    assert (pip.born, pip.hour) == (date(2026, 11, 2), time(4, 30))
    assert pip.birth_weight == pytest.approx(4.1957, abs=1e-4)
    assert pip.weighings == (Weighing(date(2026, 11, 8), 5.0),)
    assert pip.colostrum == (ColostrumHad(datetime(2026, 11, 2, 5, 30), 200.0, "own ewe"),)
    assert pip.creep[0].grams == pytest.approx(28.35, abs=0.01)
    (read,) = pip.temperatures
    assert (read.at, read.celsius, pip.cap) == (datetime(2026, 11, 2, 6), 39.4, 60.0)
    assert (seven.species, seven.hour, seven.birth_weight) == (Species.KID, None, None)
    assert flock.animal("no. 7") is seven


def test_the_day_of_the_file_is_planned_from_unless_another_is_named():
    text = "day = 2026-11-10\n" + SMALL
    assert parse_flock(text).now == datetime(2026, 11, 10, 12)
    assert parse_flock(text, "f", NOW).now == NOW


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("born = 2026-11-02", "born = 2026-11-20"), "Pip: born: 2026-11-20 is in the future"),
        (('"4.2 kg"', '"60 kg"'), "60 kg (132 lb) cannot be right for a newborn lamb"),
        (('"4.2 kg"', '"4.2"'), "has no unit"),
        (('birth_weight = "4.2 kg"', ""), "no weight is known"),
        (('birth_weight = "4.2 kg"', 'birth_wait = "4.2 kg"'), "Did you mean birth_weight?"),
        (("feeding_times", "feding_times"), "Did you mean feeding_times?"),
        (('["06:00", "10:00", "14:00", "18:00", "22:00", "02:00"]', "[]"), "no feeding times"),
        (('"06:00"', '"6 o\'clock"'), "is not a time of day"),
        (('"06:00", "10:00"', '"06:00", "06:00"'), "is given twice"),
        (("[animals.Pip]", 'kitchen = "french"\n[animals.Pip]'), 'Write kitchen = "us"'),
        (("[animals.Pip]", 'level = "usul"\n[animals.Pip]'),
         'level: there is no level called "usul". Did you mean usual?'),
        (("birth_weight", 'level = "fast"\nbirth_weight'), "Write gentle, usual or hearty."),
        (("birth_weight", 'weaning = "slow"\nbirth_weight'), 'Write weaning = "stepped" or'),
        (("[animals.Pip]", 'bottle_marks = "some"\n[animals.Pip]'), "bottle_marks"),
        (("[animals.Pip]", 'shopping_days = ["caturday"]\n[animals.Pip]'), "shopping_days"),
        (("birth_weight", "temperature = 102.5\nbirth_weight"), "Write degrees Celsius"),
        (("birth_weight", 'veterinarians_cap = "400 mL/kg"\nbirth_weight'), "is not a cap"),
        (("birth_weight", 'species = "calf"\nbirth_weight'), 'Write species = "lamb" or "kid"'),
        (("born = 2026-11-02", "born = 1926-11-02"), "Pip would be 100 years old"),
        (("born = 2026-11-02", "born = 2025-10-09"), "would be 1 year old (401 days)"),
        (("born = 2026-11-02", "born = 2026-11-14T12:01:00"), "is in the future (it is 2026"),
        (("born = 2026-11-02", "born = 2026-11-02T04:30:00+05:00"), "has a time zone"),
        (("birth_weight", f"{COLOSTRUM.format('2027-11-02T05:30:00')}\nbirth_weight"),
         "colostrum.1.at: 2027-11-02 05:30 is in the future"),
        (("birth_weight", f"{COLOSTRUM.format('2026-11-02T05:30:00Z')}\nbirth_weight"),
         "without a time zone"),
        (("birth_weight", f"{COLD}\nbirth_weight"),
         "3.8 °C cannot be right"),
        (("born = 2026-11-02", 'born = "yesterday"'), "Write a day, or better a day and an hour"),
    ],
)  # fmt: skip
def test_each_fault_is_told_in_plain_words_with_its_place(change, told):
    with pytest.raises(ManyFaults) as caught:
        parse_flock(SMALL.replace(*change), "flock.toml", NOW)
    assert told in str(caught.value)
    assert str(caught.value).startswith("flock.toml: ")


WEIGHTS = """
feeding_times = ["06:00", "10:00", "14:00", "18:00", "22:00", "02:00"]
[animals.Pip]
born = 2026-11-02
birth_weight = "4.2 kg"
weights = [{w}]
"""

FIVE = '{ on = 2026-11-%02d, weight = "5 kg" }'


@pytest.mark.parametrize(
    ("weights", "told"),
    [
        (f"{FIVE % 9}, {FIVE % 7}", "out of order"),
        (f"{FIVE % 9}, {FIVE % 9}", "out of order"),
        ('{ on = 2026-11-09, weight = "2 kg" }', "was already 4.2 kg"),
        ('{ on = 2026-10-09, weight = "5 kg" }', "before it was born"),
        ('{ on = 2026-11-19, weight = "5 kg" }', "in the future"),
    ],
)  # fmt: skip
def test_weights_that_cannot_be_true(weights, told):
    with pytest.raises(ManyFaults, match=told):
        parse_flock(WEIGHTS.replace("{w}", weights), "f", NOW)


def test_every_fault_is_reported_at_once():
    text = (
        SMALL.replace('"06:00"', '"six"')
        .replace("2026-11-02", "2026-12-02")
        .replace("4.2 kg", "4 cups")
    )
    with pytest.raises(ManyFaults) as caught:
        parse_flock(text, "f", NOW)
    assert len(caught.value.faults) == 3


def test_a_flock_of_none_and_two_of_one_name():
    with pytest.raises(ManyFaults, match="the flock is empty"):
        parse_flock('feeding_times = ["06:00"]', "f", NOW)
    twice = SMALL + '[animals.pip]\nborn = 2026-11-02\nbirth_weight = "4 kg"\n'
    with pytest.raises(ManyFaults, match="two animals are called"):
        parse_flock(twice, "f", NOW)


class TestLog:
    @pytest.fixture
    def path(self, tmp_path):
        path = tmp_path / "flock.toml"
        path.write_text(SMALL)
        return path

    def log(self, path, *entries):
        append(log_path(path), entries)
        return load_flock(path, NOW)

    def test_each_line_goes_to_its_animal(self, path):
        at = datetime(2026, 11, 13, 6)
        day = datetime(2026, 11, 13)
        read = self.log(
            path,
            Entry(day, "pip", What.WEIGHT, 5.5),
            Entry(at, "Pip", What.MILK, 240),
            Entry(at, "Pip", What.COLOSTRUM, 100, "cow"),
            Entry(day, "Pip", What.CREEP, 40),
        )
        (pip,) = read.flock.animals
        assert pip.weighings == (Weighing(date(2026, 11, 13), 5.5),)
        assert pip.milk[0].millilitres == 240
        assert pip.colostrum[0].what == "cow"
        assert pip.creep == (Eaten(date(2026, 11, 13), 40),)
        assert not read.log_faults

    def test_a_line_of_an_unknown_animal_is_reported_with_the_nearest_name(self, path):
        read = self.log(path, Entry(datetime(2026, 11, 13), "Pipp", What.WEIGHT, 5.5))
        assert "Did you mean Pip?" in str(read.log_faults[0])
        assert not read.flock.animals[0].weighings

    def test_a_weight_that_cannot_be_true_is_left_out_and_told(self, path):
        read = self.log(
            path,
            Entry(datetime(2026, 11, 9), "Pip", What.WEIGHT, 50.0),
            Entry(datetime(2026, 11, 13), "Pip", What.WEIGHT, 5.5),
        )
        assert [w.kilograms for w in read.flock.animals[0].weighings] == [5.5]
        assert "cannot be right" in str(read.log_faults[0])

    def test_a_weight_the_person_was_sure_of_counts(self, path):
        read = self.log(path, Entry(datetime(2026, 11, 9), "Pip", What.WEIGHT, 1.9, "sure"))
        assert read.flock.animals[0].last_weight.kilograms == 1.9
        assert not read.log_faults

    def test_a_level_of_a_weaned_animal_is_reported_and_changes_nothing(self, path):
        path.write_text(SMALL.replace("birth_weight", 'level = "hearty"\nbirth_weight'))
        read = self.log(path, Entry(datetime(2026, 11, 13), "Pip", What.ENDED, 0, "weaned"))
        assert "animals.Pip.level: Pip is weaned" in str(read.log_faults[0])
        assert read.flock.animals[0].ending is not None

    def test_a_plan_for_a_day_gone_by_knows_no_more_than_that_day(self, path):
        self.log(path, Entry(datetime(2026, 11, 13), "Pip", What.WEIGHT, 5.5))
        before = load_flock(path, datetime(2026, 11, 12, 12))
        assert before.flock.animals[0].last_weight.kilograms == 4.2
        assert not before.log_faults


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="there is no such file"):
        load_flock(tmp_path / "none.toml")
