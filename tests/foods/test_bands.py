"""Bands and reads: one ratio on any basis, a verdict, and honesty about what is not known."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import KNOWN, SUITABLE, mixes, suitable_foods

from formulate.base.errors import InputError, UnknownName
from formulate.foods.bands import (
    EDGE,
    PLAIN_READS,
    Band,
    BandSet,
    Basis,
    Role,
    Standing,
    read,
    read_all,
    upper_end,
)
from formulate.foods.food import Composition
from formulate.foods.measures import MEASURES
from formulate.foods.tables import (
    band_from,
    band_set,
    band_sets,
    food_table,
    sources,
    table_composition,
)

inf = math.inf
BOTH_UNITS = ("/100 g", "/kg")


def milk(*more: str) -> Composition:
    return Composition.of([food_table()[name] for name in ("whole-milk", *more)])


ONE = np.array([1000.0])


#: A band that only names what is read.
shown = partial(Band, role=Role.SHOWN)


def fat(**fields) -> Band:
    return Band("fat", Basis.AS_FED, "g/100 g", **fields)


# What a read is


def test_reads_by_hand():
    """Whole milk, SR28 01077: water 88.13, fat 3.25, protein 3.15, Ca 113 mg, P 84 mg."""
    whole = milk()

    def value(*band, **over) -> float:
        return read(shown(*band, **over), whole, ONE).value

    assert value("fat", Basis.AS_FED, "g/100 g") == pytest.approx(3.25)
    assert value("fat", Basis.AS_FED, "g/kg") == pytest.approx(32.5)
    assert value("fat", Basis.DRY_MATTER, "g/100 g") == pytest.approx(3.25 / 11.87 * 100)
    assert value("calcium", Basis.RATIO, "1", over="phosphorus") == pytest.approx(113 / 84)
    assert value("calcium", Basis.PER_KG_WATER, "mg/kg") == pytest.approx(1130 / 0.8813)
    litre = 3.25 / 0.93 + (11.87 - 3.25) / 1.608 + 88.13 / 0.998  # [mL per 100 g]
    assert value("fat", Basis.PER_LITRE, "g/L") == pytest.approx(3.25 / litre * 1000)
    carbohydrate = food_table()["whole-milk"].value("carbohydrate")
    gross = (41.94 * 3.25 + 15.85 * 3.15 + 21.41 * carbohydrate) / 100  # [kJ per g]
    assert value("protein", Basis.PER_MEGAJOULE, "g/MJ") == pytest.approx(
        3.15 / 100 / (0.943 * gross / 1000)
    )


@given(st.data())
def test_an_as_fed_read_lies_within_those_of_the_foods(data):
    """Stirring foods together makes nothing richer than the richest of them."""
    foods = data.draw(st.lists(suitable_foods(), min_size=1, max_size=6))
    grams = data.draw(mixes(len(foods)))
    composition = Composition.of(foods)
    used = np.flatnonzero(grams)
    for name in KNOWN:
        for unit in BOTH_UNITS:
            band = shown(name, Basis.AS_FED, MEASURES[name].unit + unit)
            value = read(band, composition, grams).value
            alone = band.scale * composition.row(name)[used]
            slack = 1e-9 * np.abs(alone).max() + 1e-12
            assert alone.min() - slack <= value <= alone.max() + slack


@given(st.data())
def test_every_basis_is_a_weighted_mean(data):
    """On any basis a mix lies between its foods, weighted by their denominators."""
    foods = data.draw(st.lists(st.sampled_from(SUITABLE), min_size=1, max_size=5))
    grams = data.draw(mixes(len(foods)))
    composition = Composition.of(foods)
    band = data.draw(
        st.sampled_from(
            [
                shown("protein", Basis.DRY_MATTER, "g/100 g"),
                shown("fat", Basis.PER_LITRE, "g/L"),
                shown("sodium", Basis.PER_KG_WATER, "mg/kg"),
                shown("calcium", Basis.RATIO, "1", over="phosphorus"),
                shown("protein", Basis.PER_MEGAJOULE, "g/MJ"),
            ]
        )
    )
    below = composition.row(band.denominator) * grams
    value = read(band, composition, grams).value
    if below.sum() <= 0:
        assert value is None
        return
    some = np.flatnonzero(below > 0)
    alone = (
        band.scale * composition.row(band.measure)[some] / composition.row(band.denominator)[some]
    )
    # (A food with something above the line and nothing below can lift the mix past all others.)
    if (composition.row(band.measure)[grams > 0][below[grams > 0] <= 0] == 0).all():
        assert alone.min() * (1 - 1e-9) - 1e-12 <= value <= alone.max() * (1 + 1e-9) + 1e-12


@given(st.data(), st.sampled_from([0.001, 2.0, 5000.0]))
def test_a_read_does_not_depend_on_the_size_of_the_batch(data, factor):
    foods = data.draw(st.lists(suitable_foods(), min_size=1, max_size=5))
    grams = data.draw(mixes(len(foods)))
    composition = Composition.of(foods)
    bands = band_set("lamb-replacer")
    one, other = (read_all(bands, composition, grams * size) for size in (1.0, factor))
    for left, right in zip(one, other, strict=True):
        assert left.standing is right.standing
        if left.value is not None:
            assert left.value == pytest.approx(right.value, rel=1e-9, abs=1e-12)


# Verdicts


@pytest.mark.parametrize(
    ("low", "high", "verdict", "miss"),
    [
        (3.0, 4.0, Standing.INSIDE, 0.0),
        (3.25, 4.0, Standing.INSIDE, 0.0),
        (3.0, 3.25, Standing.INSIDE, 0.0),
        (-inf, 3.25, Standing.INSIDE, 0.0),
        (3.5, 4.0, Standing.BELOW, 0.25),
        (3.5, inf, Standing.BELOW, 0.25),
        (2.0, 3.0, Standing.ABOVE, 0.25),
        (-inf, 3.0, Standing.ABOVE, 0.25),
        (-inf, inf, None, 0.0),
    ],
)
def test_verdicts(low, high, verdict, miss):
    found = read(fat(low=low, high=high, role=Role.SHOWN), milk(), ONE)
    assert found.standing is verdict
    assert found.miss == pytest.approx(miss)


def test_on_the_edge_is_inside():
    width = 1.0
    high = 3.25 - 0.5 * EDGE * width
    assert read(fat(low=high - width, high=high), milk(), ONE).standing is Standing.INSIDE
    high = 3.25 - 3 * EDGE * width
    assert read(fat(low=high - width, high=high), milk(), ONE).standing is Standing.ABOVE


@pytest.mark.parametrize(
    ("low", "high", "width", "middle"),
    [
        (3.0, 5.0, 2.0, 4.0),
        (-inf, 5.0, 0.5, 5.0),
        (3.0, inf, 0.3, 3.0),
        (5.0, 5.0, 0.5, 5.0),
        (0.0, 0.0, 1.0, 0.0),
        (-inf, 0.0, 1.0, 0.0),
    ],
)
def test_widths_and_middles(low, high, width, middle):
    band = fat(low=low, high=high)
    assert band.width == pytest.approx(width)
    assert band.middle == pytest.approx(middle)


# What is not known


def without(name: str, food: str = "whole-milk"):
    original = food_table()[food]
    values = {key: value for key, value in original.values.items() if key != name}
    return replace(original, id="my-milk", values=values, own=True)


def test_a_gap_in_a_food_that_is_used_makes_the_read_unknown():
    both = Composition.of([without("copper"), food_table()["skim-milk"]])
    band = Band("copper", Basis.AS_FED, "mg/kg", low=0.1, high=1.0)
    found = read(band, both, np.array([1.0, 1.0]))
    assert (found.value, found.standing, found.lacks) == (None, Standing.UNKNOWN, ("my-milk",))
    assert math.isnan(found.miss)
    unused = read(band, both, np.array([0.0, 1.0]))
    assert unused.value is not None
    assert unused.lacks == ()


def test_a_ceiling_reads_the_upper_end_of_like_foods_and_marks_it():
    both = Composition.of([without("copper"), food_table()["skim-milk"]])
    ceiling = Band("copper", Basis.AS_FED, "mg/kg", high=10.0)
    found = read(ceiling, both, np.array([1.0, 1.0]), table_composition())
    most = upper_end(ceiling, table_composition(), "milk")
    assert found.assumed == ("my-milk",)
    assert found.value == pytest.approx(1000 * (most + both.row("copper")[1]) / 2)
    assert found.standing is Standing.INSIDE
    not_used = read(ceiling, both, np.array([0.0, 1.0]), table_composition())
    assert not_used.assumed == ()
    without_table = read(ceiling, both, np.array([1.0, 1.0]))
    assert without_table.standing is Standing.UNKNOWN


def test_what_stands_in_counts_as_read():
    """Above the ceiling by what was assumed is above it: the safe side, and it is said."""
    only = Composition.of([without("copper")])
    most = 1000 * upper_end(shown("copper", Basis.AS_FED, "mg/kg"), table_composition(), "milk")
    ceiling = Band("copper", Basis.AS_FED, "mg/kg", high=most / 2)
    found = read(ceiling, only, ONE, table_composition())
    assert found.value == pytest.approx(most)
    assert (found.standing, found.lacks) == (Standing.ABOVE, ())
    assert found.assumed == ("my-milk",)


def test_a_floor_assumes_nothing():
    only = Composition.of([without("copper")])
    for band in (
        Band("copper", Basis.AS_FED, "mg/kg", low=0.1),
        Band("copper", Basis.AS_FED, "mg/kg", low=0.1, high=10.0),
        Band("copper", Basis.AS_FED, "mg/kg", role=Role.SHOWN),
    ):
        assert read(band, only, ONE, table_composition()).value is None


def test_nothing_divided_by_nothing_is_unknown():
    water = Composition.of([food_table()["water"]])
    found = read(Band("solids", Basis.PER_MEGAJOULE, "g/MJ", low=1.0), water, ONE)
    assert (found.value, found.standing) == (None, Standing.UNKNOWN)
    assert read(fat(low=1.0), milk(), np.array([0.0])).value is None


def test_every_mix_is_read_for_the_plain_reads_once():
    bands = band_set("ewe-milk")
    found = read_all(bands, milk(), ONE)
    assert [r.band for r in found[: len(bands.bands)]] == list(bands.bands)
    for plain in PLAIN_READS:
        assert sum(plain.same_read(r.band) for r in found) == 1


# What is no band


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Band("fta", Basis.AS_FED, "g/100 g"), "Did you mean fat"),
        (lambda: fat(low=5.0, high=4.0), "low end 5 is above the high end 4"),
        (lambda: fat(low=math.nan), "low end nan"),
        (fat, "is demanded, but has no range. Write low, high or both"),
        (lambda: fat(role=Role.SAFETY), "is safety, but has no range"),
        (lambda: Band("fat", Basis.AS_FED, "mg/100 g"), "fat is measured in g"),
        (lambda: Band("fat", Basis.AS_FED, "g/L"), "does not fit the basis as_fed"),
        (lambda: Band("fat", Basis.PER_LITRE, "g/100 g"), "does not fit the basis per_litre"),
        (lambda: Band("fat", Basis.AS_FED, "g"), "does not fit"),
        (lambda: Band("fat", Basis.RATIO, "1"), 'a ratio needs "over"'),
        (lambda: Band("fat", Basis.AS_FED, "g/100 g", over="protein"), 'a ratio needs "over"'),
        (lambda: Band("fat", Basis.RATIO, "g/g", over="protein"), "has no unit"),
        (lambda: Band("fat", Basis.RATIO, "1", over="calcium"), "different units"),
        (lambda: band_from({"measure": "fat", "basis": "as fed", "unit": "g/kg"}), "as_fed"),
        (lambda: band_set("lamb-replcer"), "Did you mean lamb-replacer"),
    ],
)
def test_what_is_not_a_band(make, says):
    with pytest.raises(InputError, match=says):
        make()


def test_as_fed_and_dry_matter_are_never_the_same_read():
    assert not fat(low=1.0).same_read(shown("fat", Basis.DRY_MATTER, "g/100 g"))
    assert fat(low=2.0).same_read(Band("fat", Basis.AS_FED, "g/kg", low=1.0))


# Shipped sets


@pytest.mark.parametrize("name", band_sets())
def test_a_shipped_set_is_sound(name):
    bands = band_set(name)
    assert bands.name == name
    assert bands.title
    assert bands.note
    assert bands.species in ("lamb", "kid")
    assert {band.measure for band in bands.in_role(Role.SAFETY)} == {"osmoles", "copper", "sodium"}
    assert bands.binding == bands.in_role(Role.DEMANDED) + bands.in_role(Role.SAFETY)
    for band in bands.bands:
        assert band.source in sources(), band
        assert math.isfinite(band.low) or math.isfinite(band.high)
        if sources()[band.source].status in ("judgement", "memory"):
            assert band.why
    reads = [(band.measure, band.basis, band.over) for band in bands.bands]
    assert len(set(reads)) == len(reads)


@pytest.mark.parametrize("name", ["lamb replacer", "Lamb_Replacer", "lamb-replacer"])
def test_a_set_is_found_in_any_spelling(name):
    assert band_set(name) is band_set("lamb-replacer")


def test_a_persons_own_set_comes_first():
    own = BandSet("lamb-replacer", "Mine", "lamb", (fat(low=4.0),))
    assert band_set("lamb-replacer", {"lamb-replacer": own}) is own
    with pytest.raises(InputError, match="demand nothing"):
        band_set("mine", {"mine": replace(own, bands=())})
    with pytest.raises(UnknownName, match=r"Sets: .*mine"):
        band_set("wholly-different", {"mine": own})


OSMOLES = Band("osmoles", Basis.PER_KG_WATER, "mOsm/kg", high=520.0, role=Role.SAFETY)
SOLIDS = Band("solids", Basis.AS_FED, "g/100 g", low=16.0, high=19.0)
SODIUM = Band("sodium", Basis.PER_KG_WATER, "mg/kg", low=1500.0, high=2500.0)


@pytest.mark.parametrize(
    ("band", "value", "said"),
    [
        (OSMOLES, 487.3, "490"),
        (OSMOLES, 7021.0, "7,000"),
        (OSMOLES, 519.0, "520"),
        (OSMOLES, 523.0, "523"),  # two figures would look inside
        (OSMOLES, 520.4, "520.4"),
        (SOLIDS, 17.04, "17.0"),
        (SOLIDS, 15.94, "15.9"),
        (SOLIDS, 15.96, "15.96"),
        (SOLIDS, 15.9997, "15.9997"),
        (SOLIDS, 19.004, "19.004"),
        (SOLIDS, 0.0, "0.00"),
        (SODIUM, 1749.6, "1,750"),
        (SODIUM, 1499.7, "1,499.7"),
        (SOLIDS, math.nan, "?"),
    ],
)
def test_a_read_gets_the_figures_it_deserves(band, value, said):
    assert band.value_words(value) == said


@pytest.mark.parametrize(
    ("band", "miss", "said"),
    [
        (SOLIDS, 0.0049, "less than 0.01"),
        (SOLIDS, 0.0051, "0.01"),
        (SOLIDS, 1.234, "1.23"),
        (OSMOLES, 3.0, "3.0"),
        (OSMOLES, 6501.0, "6,500"),
    ],
)
def test_a_small_miss_is_never_shown_as_zero(band, miss, said):
    assert band.miss_words(miss) == said


def test_thousands_are_set_apart_in_ranges_too():
    assert SODIUM.range_words == "1,500 to 2,500"
