"""Signs of scour: the worst counts, and what only the veterinarian can help."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError, UnknownName
from formulate.foods.tables import read_toml, sources
from formulate.rearing.scour import Dryness, Looked, look_at, signs_of_scour

SIGNS = signs_of_scour()
FINE = {name: sign.choices[0].word for name, sign in SIGNS.items()}


def test_the_signs_are_those_to_look_at():
    assert list(SIGNS) == ["stands", "sucks", "mouth", "skin", "eyes", "gums"]
    data = read_toml("scour.toml")
    named = [sign.source for sign in SIGNS.values()]
    named += [entry["source"] for entry in data["now"].values()] + [data["look"]["note_source"]]
    assert set(named) <= set(sources())


def test_nobody_looked():
    found = look_at(Looked())
    assert found.band is None
    assert found.alarms == ()
    assert [sign.id for sign in found.missing] == list(SIGNS)


def test_all_is_well():
    found = look_at(Looked(FINE, celsius=39.2, age_days=9))
    assert found.band is Dryness.LITTLE
    assert found.alarms == ()
    assert found.may_drink


@pytest.mark.parametrize(
    ("sign", "word", "band"),
    [
        ("stands", "no", Dryness.BAD),
        ("sucks", "weakly", Dryness.CLEAR),
        ("sucks", "no", Dryness.BAD),
        ("mouth", "cold", Dryness.BAD),
        ("skin", "slowly", Dryness.CLEAR),
        ("skin", "stays", Dryness.BAD),
        ("eyes", "sunken", Dryness.CLEAR),
        ("eyes", "deep", Dryness.BAD),
        ("gums", "sticky", Dryness.CLEAR),
        ("gums", "dry", Dryness.BAD),
    ],
)
def test_one_bad_sign_is_enough(sign, word, band):
    found = look_at(Looked(FINE | {sign: word}))
    assert found.band is band
    assert bool(found.alarms) == (band is Dryness.BAD)


@given(st.fixed_dictionaries({}, optional={
    name: st.sampled_from([choice.word for choice in sign.choices]) for name, sign in SIGNS.items()
}))  # fmt: skip
def test_the_worst_sign_counts(answers):
    """Looking at one more thing never makes it better."""
    order = list(Dryness)
    found = look_at(Looked(answers))
    for left in answers:
        fewer = look_at(Looked({k: v for k, v in answers.items() if k != left}))
        if fewer.band is not None:
            assert order.index(found.band) >= order.index(fewer.band)
        assert {alarm.id for alarm in fewer.alarms} <= {alarm.id for alarm in found.alarms}


@pytest.mark.parametrize(
    ("looked", "alarm", "stops"),
    [
        (Looked(FINE | {"stands": "no"}), "stands", True),
        (Looked(FINE | {"sucks": "no"}), "sucks", True),
        (Looked(FINE | {"mouth": "cold"}), "mouth", True),
        (Looked(FINE, celsius=36.99), "cold", True),
        (Looked(FINE, belly=True), "belly", True),
        (Looked(FINE, age_days=1.99), "newborn", True),
        (Looked(FINE, celsius=40.51), "fever", False),
        (Looked(FINE, blood=True), "blood", False),
        (Looked(FINE, day=2), "second-day", False),
        (Looked(FINE, others=True), "others", False),
        (Looked(FINE | {"skin": "stays"}), "skin", False),
        (Looked(FINE | {"eyes": "deep"}), "eyes", False),
        (Looked(FINE | {"gums": "dry"}), "gums", False),
    ],
)
def test_what_means_the_veterinarian_now(looked, alarm, stops):
    found = look_at(looked)
    assert [(a.id, a.stops) for a in found.alarms] == [(alarm, stops)]
    assert found.may_drink is not stops
    assert found.alarms[0].text.endswith((".", "otherwise."))


@pytest.mark.parametrize(
    "looked",
    [
        Looked(FINE, celsius=37.0),
        Looked(FINE, celsius=40.5),
        Looked(FINE, age_days=2),
        Looked(FINE),
    ],
)
def test_the_other_side_of_each_limit(looked):
    assert look_at(looked).alarms == ()


def test_what_stops_a_drink_is_told_first():
    found = look_at(Looked(FINE | {"stands": "no"}, celsius=36.0, blood=True, day=3))
    assert [alarm.stops for alarm in found.alarms] == [True, True, False, False]


@pytest.mark.parametrize(
    ("looked", "fault"),
    [
        (Looked({"tail": "up"}), "no sign called"),
        (Looked({"skin": "maybe"}), "at-once, slowly, stays"),
        (Looked(celsius=102.0), "cannot be the temperature"),
        (Looked(celsius=20.0), "cannot be the temperature"),
        (Looked(age_days=-1), "cannot be the age"),
        (Looked(age_days=5000), "cannot be the age"),
        (Looked(day=0), "day 0"),
    ],
)
def test_what_cannot_be(looked, fault):
    with pytest.raises((InputError, UnknownName), match=fault):
        look_at(looked)


def test_answers_may_be_typed_with_spaces_and_capitals():
    assert look_at(Looked({"skin": " At once "})).band is Dryness.LITTLE


def test_no_decimal_is_reported():
    for band in Dryness:
        assert "." not in band.percent + band.text
    percents = [band.percent for band in Dryness]
    assert percents == ["up to about 5 %", "about 6 to 8 %", "8 % or more"]


def test_every_band_can_be_reached():
    """From each sign alone, the first answer is the best and the last the worst."""
    order = list(Dryness)
    for sign in SIGNS.values():
        bands = [order.index(choice.band) for choice in sign.choices]
        assert bands == sorted(bands)
        assert bands[0] == 0
        assert bands[-1] == 2
    assert all(a.word != b.word for s in SIGNS.values() for a, b in itertools.pairwise(s.choices))
