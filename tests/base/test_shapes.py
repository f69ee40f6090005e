"""One checker for every file: what a key may hold, every fault at once, each at its key."""

from __future__ import annotations

import dataclasses
import tomllib
from dataclasses import dataclass
from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import ManyFaults
from formulate.base.messages import message_ids
from formulate.base.shapes import (
    a_day,
    a_moment,
    a_time,
    either,
    flag,
    key,
    list_of,
    number,
    one_of,
    read_shape,
    record,
    table_of,
    text,
    whole,
)
from formulate.pantry import pantry_shape
from formulate.pantry.pantry_shape import PantryFile
from formulate.rearing import flock_shape
from formulate.rearing.flock_shape import FlockFile

VALUES = {
    "text": "milk",
    "empty text": "",
    "long text": "x" * 501,
    "text with a bell": "mi\x07lk",
    "whole": 3,
    "broken": 2.5,
    "below zero": -1,
    "infinite": float("inf"),
    "not a number": float("nan"),
    "huge": 10**400,
    "true": True,
    "day": date(2026, 11, 2),
    "moment": datetime(2026, 11, 2, 4, 30),
    "clock": time(6, 0),
    "list": ["milk", "cream"],
    "empty list": [],
    "table": {"fat": 3},
}


@pytest.mark.parametrize(
    ("check", "takes"),
    [
        (text(), {"text"}),
        (text(shortest=0, longest=600), {"text", "empty text", "long text"}),
        (number(), {"whole", "broken", "below zero"}),
        (number(0, 2.5), {"broken"}),
        (whole(1, 3), {"whole"}),
        (flag(), {"true"}),
        (a_day(), {"day"}),
        (a_moment(), {"moment"}),
        (a_time(), {"clock"}),
        (one_of("milk", "cream"), {"text"}),
        (either(a_day(), text()), {"day", "text"}),
        (list_of(text()), {"list", "empty list"}),
        (list_of(text(), fewest=1), {"list"}),
        (table_of(number()), {"table"}),
    ],
)
def test_a_key_takes_what_it_may_hold_and_nothing_else(check, takes):
    @dataclass(frozen=True, kw_only=True)
    class File:
        mix: object = key(check)

    taken = set()
    for name, value in VALUES.items():
        try:
            assert read_shape(File, {"mix": value}, "flock", "flock.toml").mix == value
            taken.add(name)
        except ManyFaults as error:
            assert "flock.toml: mix: mix " in str(error)
            assert "Write the name of a recipe" in str(error)
    assert taken == takes


def test_every_fault_is_reported_at_its_key():
    toml = """
        currency = "dollars"
        kitchn = "us"
        [foods.whole-milk]
        price = "3.89"
        sizes = [{ price = 2.19, package = "1/2 gallon" }, { pris = 1 }]
        [own.cream.per_100_g]
        fat = -3
    """
    with pytest.raises(ManyFaults) as caught:
        read_shape(PantryFile, tomllib.loads(toml), "pantry", "pantry.toml")
    assert [fault.where.removeprefix("pantry.toml: ") for fault in caught.value.faults] == [
        "kitchn",
        "currency",
        "foods.whole-milk.price",
        "foods.whole-milk.sizes.2.pris",
        "foods.whole-milk.sizes.2.price",
        "foods.whole-milk.sizes.2.package",
        "own.cream.per_100_g.fat",
    ]
    said = str(caught.value).splitlines()
    assert said[0].endswith("Did you mean kitchen? Keys that may stand here: " + ", ".join(
        field.name for field in dataclasses.fields(PantryFile)
    ) + ".")  # fmt: skip
    assert 'price cannot be "3.89". Write a number of at least 0' in said[2]
    assert said[4].endswith("price is missing.")  # what a price is, was said above
    assert "fat cannot be -3. Write a table of numbers" in said[6]


def test_what_is_left_out_has_its_default_and_no_two_share_one():
    first, second = (read_shape(FlockFile, {}, "flock", "flock.toml") for _ in range(2))
    assert (first.species, first.jar, first.animals) == ("lamb", None, {})
    assert first.animals is not second.animals


@pytest.mark.parametrize(
    ("module", "file"), [(pantry_shape, "pantry"), (flock_shape, "flock")], ids=["pantry", "flock"]
)
def test_every_key_says_what_would_be_right_and_nothing_is_said_of_others(module, file):
    kinds = [getattr(module, name) for name in module.__all__]
    keys = {
        f"keys.{file}.{field.name}"
        for kind in kinds
        if dataclasses.is_dataclass(kind)
        for field in dataclasses.fields(kind)
    }
    assert keys == {name for name in message_ids() if name.startswith(f"keys.{file}.")}


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.dates() | st.times(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
KEYS = st.sampled_from([field.name for field in dataclasses.fields(PantryFile)]) | st.text()


@given(st.dictionaries(KEYS, ANYTHING, max_size=5))
def test_whatever_a_file_holds_is_read_or_faulted(data):
    try:
        read_shape(PantryFile, data, "pantry", "pantry.toml")
    except ManyFaults as error:
        assert str(error)


def test_a_record_in_a_record_keeps_its_place():
    @dataclass(frozen=True, kw_only=True)
    class Inner:
        jars: int = key(whole(1, 9))

    @dataclass(frozen=True, kw_only=True)
    class Outer:
        animals: dict[str, Inner] = key(table_of(record(Inner)))
        day: date | None = key(a_day(), None)

    with pytest.raises(ManyFaults) as caught:
        read_shape(Outer, {"animals": {"Pip": {"jars": 0}}, "day": 3}, "flock", "f")
    places = [fault.where for fault in caught.value.faults]
    assert places == ["f: animals.Pip.jars", "f: day"]
    assert "as day = 2026-11-14" in str(caught.value)
