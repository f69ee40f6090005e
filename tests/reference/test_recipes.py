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
    """Two quarts of milk with a can and two cups: solids 13.41, fat 3.42, protein 3.67 %.

    Summed by hand from USDA SR28 01077, 01153 and 01088; ewe's milk: FAO 2013, Table 3.1.
    """
    mix = checked("2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk")
    for measure, expected in (("solids", 13.41), ("fat", 3.42), ("protein", 3.67)):
        found = read(mix, measure)
        assert found.value == pytest.approx(expected, abs=0.005)
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
    assert {"osmolality-never", "strong-vet", "oil", "lactose"} <= ids


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
