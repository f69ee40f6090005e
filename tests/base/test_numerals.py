"""Numbers as a country writes them, and nothing else changed."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base import numerals
from formulate.base.numerals import with_marks, with_marks_in_html
from formulate.base.units import parse_number


@pytest.mark.parametrize(
    ("text", "french"),
    [
        ("1.9 L   lait-entier  1,955 g  2.18 EUR", "1,9 L   lait-entier  1\u00a0955 g  2,18 EUR"),
        ("12,345,678 g", "12\u00a0345\u00a0678 g"),
        ("12.5 %, 0.53 mg; ±0.85.", "12,5 %, 0,53 mg; ±0,85."),
        ("It makes 2.04 L.", "It makes 2,04 L."),
        ("-0.545 °C and −0.53 °C", "-0,545 °C and −0,53 °C"),
        ("prices of 2026-11-02 in EUR", "prices of 2026-11-02 in EUR"),
        ("06:30, 23:30", "06:30, 23:30"),
        ("21 CFR 131.110 and section 101.9", "21 CFR 131.110 and section 101.9"),
        ("[21-cfr-131.110]", "[21-cfr-131.110]"),
        ("doi 10.57745/RDMHWY", "doi 10.57745/RDMHWY"),
        ("card-2.1.pdf, v1.2.3, /data/v1.5/x, pantry2.toml", None),
        ("milk, 2 eggs and 3 tins", None),
        ("Licence v3.0, Open Licence 2.0", None),
    ],
)
def test_a_text_where_the_comma_is_the_decimal_mark(text, french):
    assert with_marks(text, ",") == (text if french is None else french)
    assert with_marks(text, ".") == text


@given(st.decimals(0, 10**6, places=2), st.sampled_from(["g", "mL", "EUR", "%"]))
def test_a_number_is_read_back(number, unit):
    printed = with_marks(f"{number:,} {unit}", ",")
    if number:
        assert parse_number(printed) == (float(number), unit)


@given(st.text(max_size=60))
def test_only_marks_within_numbers_change(text):
    changed = with_marks(text, ",")
    marks = str.maketrans("", "", ",.\u00a0")
    assert changed.translate(marks) == text.translate(marks)


def test_a_page_keeps_its_tags_scripts_and_fields():
    html = (
        '<p style="width: 1.5em">1,955 g in 1.9 L</p><input value="2.18"><style>a{b:1.5}</style>'
        '<textarea>1.9 L lait</textarea><svg><path d="M1.5 2.5"/></svg><script>x=1.5</script>2.5'
    )
    changed = with_marks_in_html(html, ",")
    assert changed == html.replace("1,955 g in 1.9 L", "1\u00a0955 g in 1,9 L").replace(
        "</script>2.5", "</script>2,5"
    )
    assert with_marks_in_html(html, ".") == html


def test_the_example_runs():
    assert doctest.testmod(numerals).failed == 0
