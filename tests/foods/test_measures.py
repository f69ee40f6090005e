"""Every measure is linear and says what it is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import UnknownName
from formulate.foods.food import Composition, stack_measures
from formulate.foods.measures import (
    COMPONENTS,
    MASS,
    MEASURES,
    METABOLISABILITY,
    ONLY_IN_KINDS,
    measure,
)
from formulate.foods.tables import food_table, sources

DERIVED = {name: m for name, m in MEASURES.items() if m.terms}


def test_components_come_first_and_are_the_rest():
    assert tuple(MEASURES)[: len(COMPONENTS)] == COMPONENTS
    assert set(COMPONENTS) == set(MEASURES) - set(DERIVED)


@pytest.mark.parametrize("name", MEASURES)
def test_a_measure_says_what_it_is(name):
    found = measure(name)
    assert found.name == name
    assert found.label
    assert found.symbol
    assert found.unit in {"g", "mg", "µg", "IU", "kcal", "MJ", "mL", "mOsm", "mmol", "mEq"}
    assert found.source == "definition" or found.source in sources()


def test_symbols_and_labels_are_unique():
    assert len({m.symbol for m in MEASURES.values()}) == len(MEASURES)
    assert len({m.label for m in MEASURES.values()}) == len(MEASURES)


@pytest.mark.parametrize("name", DERIVED)
def test_a_derived_measure_stands_on_components(name):
    assert set(DERIVED[name].terms) <= {*COMPONENTS, MASS}


def test_an_unknown_measure_gets_the_nearest():
    with pytest.raises(UnknownName, match="Did you mean lactose"):
        measure("lactos")


def test_energies_go_together():
    gross, usable = measure("gross-energy").terms, measure("metabolisable-energy").terms
    assert gross.keys() == usable.keys()
    for name, factor in gross.items():
        assert usable[name] == pytest.approx(METABOLISABILITY * factor)


def test_water_has_the_volume_of_water_and_nothing_else():
    water = Composition.of([food_table()["water"]])
    assert water.row("volume")[0] == pytest.approx(1 / 0.998, rel=2e-3)
    for name in ("fat", "protein", "gross-energy", "solids-not-fat"):
        assert water.row(name)[0] == pytest.approx(0.0, abs=2e-3)


@given(st.lists(st.floats(0, 1), min_size=2 * len(COMPONENTS), max_size=2 * len(COMPONENTS)),
       st.floats(0, 10), st.floats(0, 10))  # fmt: skip
def test_every_measure_is_linear(amounts, a, b):
    """The measures of a mix are the sum of those of its parts."""
    half = len(COMPONENTS)
    one, two = (
        dict(zip(COMPONENTS, part, strict=True)) for part in (amounts[:half], amounts[half:])
    )
    one[MASS] = two[MASS] = 1.0
    both = {name: np.array([one[name], two[name]]) for name in one}
    mixed = {name: np.array([a * one[name] + b * two[name]]) for name in one}
    expected = stack_measures(both) @ np.array([a, b])
    np.testing.assert_allclose(stack_measures(mixed)[:, 0], expected, rtol=1e-9, atol=1e-9)


def test_a_gap_spreads_to_what_needs_it_and_no_further():
    rows = {name: np.array([0.01]) for name in COMPONENTS} | {MASS: np.array([1.0])}
    rows["sodium"] = np.array([np.nan])
    stacked = dict(zip(MEASURES, stack_measures(rows)[:, 0], strict=True))
    lost = {name for name, value in stacked.items() if np.isnan(value)}
    ions = {"sodium-ions", "strong-ion-difference", "dissolved"}
    assert lost == {"sodium", "osmoles", *ions}


def test_what_a_kind_lacks_by_nature_is_zero():
    """Fresh milk has no lactic acid; a cultured food without a figure has an unknown one."""
    milk = food_table()["whole-milk"]
    assert "lactic-acid" not in milk.values
    assert milk.value("lactic-acid") == 0.0
    assert np.isnan(milk.value("no-such-component"))
    for name, kinds in ONLY_IN_KINDS.items():
        for food in food_table().values():
            if food.kind in kinds:
                assert name in food.values or np.isnan(food.value(name))
            else:
                assert food.value(name) == 0.0 or name in food.values
