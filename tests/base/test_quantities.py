"""Floats in the documented unit or pint quantities in; floats out, quantities on request."""

from __future__ import annotations

import pickle
import subprocess
import sys

import numpy as np
import pint
import pytest

import formulate
from formulate.base.quantities import magnitude
from formulate.blend.design import design
from formulate.blend.mix import UNKNOWN_TO_PINT
from formulate.blend.problem import build
from formulate.foods.measures import MEASURES

UNITS = pint.get_application_registry()


@pytest.fixture(scope="module")
def shelf():
    return formulate.sample_pantry().shelf()


@pytest.fixture(scope="module")
def lamb():
    return formulate.band_set("lamb-replacer")


def test_a_quantity_is_turned_into_the_documented_unit(shelf, lamb):
    mix = design(shelf, lamb, volume=2000.0)
    assert design(shelf, lamb, volume=2.0 * UNITS.litre) == mix
    assert build(shelf, lamb, 2.0 * UNITS.litre).volume == 2000.0
    of_their_own = pint.UnitRegistry()
    assert design(shelf, lamb, volume=of_their_own.Quantity(2.0, "L")) == mix


def test_numbers_of_every_kind_are_taken():
    for two in (2, 2.0, np.float32(2), np.int64(2), np.array(2.0)):
        assert magnitude(two, "gram", "weight") == 2.0
        assert type(magnitude(two, "gram", "weight")) is float


@pytest.mark.parametrize(
    ("volume", "error", "says"),
    [
        (
            2 * UNITS.kilogram,
            formulate.UnitError,
            "the volume of 2 kilogram cannot be converted to",
        ),
        ("2 L", formulate.InputError, "the volume cannot be '2 L'. Give a number of millilitres"),
        (None, formulate.InputError, "the volume cannot be None"),
        ([1, 2], formulate.InputError, "the volume cannot be"),
    ],
)
def test_another_kind_is_an_error_with_a_hint(shelf, lamb, volume, error, says):
    with pytest.raises(error) as caught:
        design(shelf, lamb, volume=volume)
    assert says in str(caught.value)


def test_a_mix_gives_its_figures_with_their_units(shelf, lamb):
    mix = design(shelf, lamb, volume=2000.0)
    assert mix.quantity("volume").to("litre").magnitude == pytest.approx(2.0)
    assert mix.quantity("weight").to("kilogram").magnitude == pytest.approx(mix.weight / 1e3)
    solids = next(read for read in mix.reads if read.band.measure == "solids")
    share = mix.quantity("solids") / mix.quantity("weight")
    assert share.to("percent").magnitude == pytest.approx(solids.value)
    assert mix.quantity("copper").check("[mass]")
    assert mix.quantity("metabolisable-energy").check("[energy]")
    assert pickle.loads(pickle.dumps(mix.quantity("volume"))) == mix.quantity("volume")


def test_a_missing_figure_is_reported(shelf, lamb):
    mix = design(shelf, lamb, volume=2000.0)
    with pytest.raises(formulate.UnknownName, match="Did you mean protein"):
        mix.quantity("protien")
    with pytest.raises(formulate.UnitError, match="pint does not know"):
        mix.quantity("vitamin-a")


def test_every_measure_has_a_unit_of_pints_or_says_that_it_has_none(shelf, lamb):
    mix = design(shelf, lamb, volume=2000.0)
    for name, measure in MEASURES.items():
        if measure.unit not in UNKNOWN_TO_PINT:
            assert mix.quantity(name) is not None


def test_floats_import_no_pint():
    code = (
        "import sys, formulate\n"
        "formulate.mix(formulate.sample_pantry(), make=2000.0)\n"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
