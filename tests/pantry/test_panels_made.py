"""Panels that tell the truth, by the law's rules: the truth lies inside."""

from __future__ import annotations

import pytest
from made_panels import made_panel

from formulate.base.units import Kitchen
from formulate.pantry.labels import Label, read_carton


@pytest.mark.parametrize("count", [200, pytest.param(10_000, marks=pytest.mark.long)])
def test_the_truth_is_inside_every_interval(count):
    missed = []
    for number in range(count):
        made = made_panel(number)
        carton = read_carton("made", Label(kind=made.like.kind, panel=made.panel), Kitchen.US)
        for name, (low, high) in carton.intervals.items():
            if name in made.truth and not low - 1e-6 <= made.truth[name] <= high + 1e-6:
                missed.append((number, made.like.id, name, made.truth[name], low, high))
    assert missed == []


@pytest.mark.parametrize("kind", ["milk", "cultured", "cream"])
def test_protein_of_a_european_panel_may_be_counted_by_either_factor(kind):
    """3.30 g printed is 3.37 g by milk's factor: Regulation (EU) 1169/2011, Annex I, point 10."""
    panel = {"per": "100 g", "fat": "12.0", "carbohydrate": "4.7", "protein": "3.30"}
    carton = read_carton("made", Label(kind=kind, panel=panel), Kitchen.METRIC)
    low, high = carton.intervals["protein"]
    assert low == pytest.approx(3.295)
    assert high == pytest.approx(3.305 * 6.38 / 6.25)
    assert low < 3.30 < 3.30 * 6.38 / 6.25 < high
    assert any("6.25" in note and "6.38" in note for note in carton.notes)


def test_a_us_panel_and_foods_that_are_not_milk_keep_one_factor():
    us = {"serving": "100 g", "fat": 3.5, "carbohydrate": 5, "protein": 3}
    carton = read_carton("m", Label(kind="milk", panel=us), Kitchen.US)
    assert carton.intervals["protein"][1] <= 3.5 * 100 / 99.5 + 1e-9  # the serving is rounded too
    soy = {"per": "100 g", "fat": "1.8", "carbohydrate": "2.0", "protein": "3.3"}
    carton = read_carton("s", Label(kind="soy", panel=soy), Kitchen.METRIC)
    assert carton.intervals["protein"][1] <= 3.35 + 1e-9
    assert not any("6.25" in note for note in carton.notes)
