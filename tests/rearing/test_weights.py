"""Weights as written, and those that cannot be true."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import TODAY, lamb

from formulate.base.errors import InputError
from formulate.rearing.flock import Weighing
from formulate.rearing.weights import check_weighings, parse_weight


@pytest.mark.parametrize(
    ("text", "kilograms"),
    [("6.4kg", 6.4), ("6400 g", 6.4), ("14 lb", 6.350293), ("14 lb 2 oz", 6.406992),
     ("9.5 LBS", 4.309128), ("7 pounds 2 ounces", 3.231846)],
)  # fmt: skip
def test_weights_are_read(text, kilograms):
    assert parse_weight(text) == pytest.approx(kilograms, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "told"),
    [("6.4", "has no unit"), ("2 cups", "is not a weight"), ("-3 kg", "below zero"),
     ("heavy", "does not start with a number"), ("nan kg", "is not an amount")],
)  # fmt: skip
def test_what_is_not_a_weight_is_reported(text, told):
    with pytest.raises(InputError, match=told):
        parse_weight(text)


def faults(animal, *weighings):
    from dataclasses import replace

    return check_weighings(replace(animal, weighings=weighings), TODAY)


def on(days_ago, kilograms, sure=False):
    return Weighing(TODAY - timedelta(days=days_ago), kilograms, sure)


def test_60_kg_for_a_two_day_lamb_is_asked_about():
    ((_, fault),) = faults(lamb(age=2, birth=4.0), on(0, 60.0))
    assert "60 kg (132 lb) cannot be right" in str(fault)
    assert "--" not in str(fault)  # a door says how to confirm it


@pytest.mark.parametrize(
    ("kilograms", "meant"), [(13.0, "13 lb, not kg"), (60.0, "6 kg"), (2.7, "5.95 kg, not lb")]
)
def test_the_likely_meaning_is_offered(kilograms, meant):
    ((_, fault),) = faults(lamb(age=20, birth=4.0), on(4, 5.6), on(0, kilograms))
    assert f"Did you mean {meant}?" in str(fault)


def test_a_weight_that_falls_by_half_is_asked_about_and_believed_if_sure():
    animal = lamb(age=20, birth=4.0)
    ((wrong, fault),) = faults(animal, on(4, 6.0), on(0, 3.0))
    assert wrong == on(0, 3.0)
    assert "was already 6 kg" in str(fault)
    assert not faults(animal, on(4, 6.0), on(0, 3.0, sure=True))


def test_days_before_birth_and_to_come_are_told_even_if_sure():
    animal = lamb(age=5)
    ((_, early),) = faults(animal, on(9, 4.0, sure=True))
    ((_, late),) = faults(animal, on(-1, 4.5, sure=True))
    assert "before it was born" in str(early)
    assert "in the future" in str(late)


def test_a_wrong_weight_does_not_make_the_next_one_wrong():
    found = faults(lamb(age=20, birth=4.0), on(8, 5.0), on(4, 11.6), on(0, 6.0))
    assert [weighing.kilograms for weighing, _ in found] == [11.6]


def test_a_wrong_heavy_weight_does_not_make_the_true_one_look_wrong():
    animal = lamb(age=15, birth=3.1)
    ((wrong, fault),) = faults(animal, on(8, 8.0), on(0, 3.9))
    assert wrong == on(8, 8.0)
    assert "3.1 kg before and 3.9 kg after" in str(fault)
    # Confirmed, it stays; the true one is believed all the same.
    assert not faults(animal, on(8, 8.0, sure=True), on(0, 3.9))


def test_a_weight_that_falls_from_growth_that_is_likely_is_still_asked_about():
    ((wrong, _),) = faults(lamb(age=30, birth=4.0), on(10, 9.0), on(0, 4.2))
    assert wrong == on(0, 4.2)  # 5 kg in 20 days is what lambs gain: the last weight is the slip


@given(st.floats(1.2, 6), st.lists(st.floats(-0.05, 0.5), min_size=1, max_size=10))
def test_growth_that_has_been_seen_is_never_doubted(birth, gains):
    weighings, weight = [], birth
    for n, gain in enumerate(gains):
        weight += gain
        weighings.append(on(len(gains) - 1 - n, weight))
    assert not faults(lamb(age=len(gains), birth=birth), *weighings)
