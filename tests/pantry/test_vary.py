"""Ranges of prices."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError
from formulate.pantry.price_range import Vary, parse_vary


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("whole-milk=2.5..6", Vary("whole-milk", 2.5, 6.0)),
        (" heavy cream = .5 .. 9.25 ", Vary("heavy cream", 0.5, 9.25)),
        ("water=0..1", Vary("water", 0.0, 1.0)),
    ],
)
def test_reads_a_range(text, expected):
    assert parse_vary(text) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("whole-milk=6..2.5", "higher price to the lower"),
        ("whole-milk=4..4", "single price"),
        ("whole-milk=4", "not a range of prices"),
        ("whole-milk", "not a range of prices"),
        ("=2..3", "not a range of prices"),
        ("", "not a range of prices"),
        ("whole-milk=..3", "nothing"),
        ("whole-milk=2..", "nothing"),
        ("whole-milk=-1..3", "below zero"),
        ("whole-milk=1..−3", "below zero"),
        ("whole-milk=two..3", "not a price"),
        ("whole-milk=nan..3", "not a price"),
        ("whole-milk=1..inf", "not a price"),
        ("whole-milk=1...3", None),
        ("whole-milk=1..2..3", "not a price"),
        ("whole-milk=$2..$3", "not a price"),
        ("whole-milk=2,500..6", "could be a decimal"),
        ("whole-milk=1e3..1e4", "not a price"),
        ("whole-milk=1..99999999999", "far too large"),
        ("whole-milk=1.." + "9" * 400, "far too large"),
    ],
)
def test_says_what_is_wrong_with_a_range(text, says):
    if says is None:  # "1...3" is 1 to .3, the wrong way round
        says = "higher price"
    with pytest.raises(InputError, match=says) as caught:
        parse_vary(text)
    assert caught.value.exit_status == 2


@given(st.text())
def test_any_text_is_a_range_or_an_input_error(text):
    try:
        found = parse_vary(text)
    except InputError:
        return
    assert 0 <= found.low < found.high


def test_the_wrong_way_round_is_told_the_right_way():
    with pytest.raises(InputError, match=r"Write whole-milk=2\.5\.\.6\."):
        parse_vary("whole-milk=6..2.5")


def test_a_decimal_comma_is_read_in_a_range():
    assert parse_vary("whole-milk=2,5..6") == parse_vary("whole-milk=2.5..6")
