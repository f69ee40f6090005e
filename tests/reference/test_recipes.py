"""Published home recipes, computed.

Quantities as their texts give them; none is recommended here.
"""

import pytest

from formulate.answers.cautions import cautions_for
from formulate.foods.bands import Standing
from formulate.foods.tables import band_set, food_table
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe

TABLE = food_table()


def checked(text, against="ewe-milk"):
    return check(parse_recipe(text, TABLE), band_set(against))


def read(mix, measure, basis="as_fed"):
    return next(r for r in mix.reads if (r.band.measure, r.band.basis) == (measure, basis))


def test_milk_can_and_buttermilk_falls_short_of_ewes_milk():
    """A jug's milk with a can and a cup: solids 13.3, fat 3.7, protein 3.5 %.

    Composition: USDA SR28 01077, 01153, 01230; ewe's milk: FAO 2013, Table 3.1.
    """
    mix = checked("104 fl oz whole-milk + 12 fl oz evaporated-milk + 1 cup whole-buttermilk")
    for measure, expected in (("solids", 13.3), ("fat", 3.7), ("protein", 3.5)):
        found = read(mix, measure)
        assert found.value == pytest.approx(expected, abs=0.05)
        assert found.standing is Standing.BELOW


def test_the_dangerous_recipe_draws_its_cautions():
    """350 g whole milk powder + 150 g nonfat dry milk + 75 mL oil + 1 L water.

    A recipe site; about 35 % solids and 1140 mOsm/kg were worked out from it by other means
    (milk sugar relative to cow's milk).
    """
    mix = checked(
        "350 g dry-whole-milk + 150 g nonfat-dry-milk + 75 mL canola-oil + 1 L water",
        "lamb-replacer",
    )
    assert read(mix, "solids").value == pytest.approx(35, abs=1.0)
    osmolality = read(mix, "osmoles", "per_kg_water")
    assert osmolality.value == pytest.approx(1140, rel=0.15)
    assert osmolality.standing is Standing.ABOVE
    ids = {caution.id for caution in cautions_for(mix)}
    assert {"osmolality-danger", "too-strong", "oil", "lactose"} <= ids


def test_the_jug_recipe_does_not_fit_its_jug():
    """A gallon of whole milk less 3 cups + 2 cups buttermilk + a 12-fl-oz can: 16.5 cups.

    Sheep handbook on the web, which then goes on to "fill the rest with whipping cream". The
    cups of a gallon are 16; before any cream the jug holds half a cup too much.
    """
    cup = 236.5882365
    mix = checked("13 cups whole-milk + 2 cups whole-buttermilk + 1 can evaporated-milk")
    assert mix.volume / cup == pytest.approx(16.5, abs=0.06)
    assert mix.volume > 16 * cup


@pytest.mark.parametrize(
    "text",
    [
        # Rochester veterinary handout.
        "400 mL whole-milk + 25 g dry-whole-milk",
        # Australian department text, repeated on the web (its denominator is cut off).
        "700 mL whole-milk + 45 g dry-whole-milk",
        # New Mexico State University: "synthetic colostrum", which has no antibodies.
        "24 fl oz whole-milk + 1 egg + 1 tsp cod-liver-oil + 1 tbsp sugar",
    ],
)
def test_no_published_home_recipe_reaches_ewes_protein(text):
    assert read(checked(text), "protein").standing is Standing.BELOW
