"""Comparing recipes by cost."""

from dataclasses import replace

import pytest

from formulate.answers.compare import Per, compare
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError
from formulate.foods.tables import band_set
from formulate.pantry.pantry import sample_pantry
from formulate.pantry.recipe import parse_recipe
from formulate.report.compared import compare_lines, compare_shape

PANTRY = sample_pantry()
BANDS = band_set("lamb-replacer")


def ranked(per, *texts):
    recipes = [parse_recipe(text, PANTRY.table) for text in texts]
    return compare(recipes, PANTRY, BANDS, per).rows


def test_the_three_costs_are_one_cost_over_three_sizes():
    (row,) = ranked(Per.LITRE, "1 gallon whole-milk + 1 cup nonfat-dry-milk")
    composition = row.mix.shelf.composition
    solids = composition.row("solids") @ row.mix.grams / 1e3
    energy = composition.row("metabolisable-energy") @ row.mix.grams
    assert row.per_litre * row.mix.volume / 1e3 == pytest.approx(row.mix.cost)
    assert row.per_kg_dry_matter * solids == pytest.approx(row.mix.cost)
    assert row.per_megajoule * energy == pytest.approx(row.mix.cost)


def test_ranks_differ_by_what_is_asked():
    thin, thick = "4 cups whole-milk + 1/4 cup water", "4 cups whole-milk"
    assert [r.recipe.name for r in ranked(Per.LITRE, thick, thin)] == [thin, thick]
    by_solids = ranked(Per.DRY_MATTER, thick, thin)
    # Water is free and has next to no solids: a kilogram of solids costs the same in both.
    assert by_solids[0].per_kg_dry_matter == pytest.approx(by_solids[1].per_kg_dry_matter, rel=0.01)


def test_a_bagged_powder_is_one_more_recipe():
    rows = ranked(Per.MEGAJOULE, "200 g bagged-lamb-powder + 800 mL water", "1 gallon whole-milk")
    assert {row.recipe.foods[0].id for row in rows} == {"bagged-lamb-powder", "whole-milk"}
    bag = next(row for row in rows if row.recipe.foods[0].own)
    assert bag.mix.cost == pytest.approx(74.00 / (25 * 453.59237) * 200)


def test_a_food_without_a_price_is_named():
    with pytest.raises(InputError, match="goat-milk has no price"):
        ranked(Per.LITRE, "1 cup goat-milk")


def test_water_alone_has_nothing_to_compare_by():
    with pytest.raises(InputError, match="no solids"):
        ranked(Per.LITRE, "1 cup water")


def test_recipes_are_named_or_typed_and_ranges_named():
    found = compare(["plain-milk", "1 gallon whole-milk"], PANTRY, "kid-replacer")
    assert found.bands.name == "kid-replacer"
    assert found.rows[0].per_litre == found.rows[1].per_litre
    assert len(compare([], PANTRY)) == len(PANTRY.recipes)


STRONG = "1 cup nonfat-dry-milk + 1 cup whole-milk"


@pytest.mark.parametrize("per", list(Per))
def test_what_can_be_the_only_milk_comes_first_however_cheap_the_rest_is(per):
    found = compare(
        ["plain-milk", STRONG, "cream-and-powder", "bag", "cream-and-cans"], PANTRY, per=per
    )
    verdicts = [row.judgement.verdict for row in found.rows]
    assert verdicts == sorted(verdicts, key=lambda verdict: -verdict.rank)
    assert verdicts == [Verdict.INSIDE] * 2 + [Verdict.OUTSIDE] * 2 + [Verdict.NEVER]
    for verdict in set(verdicts):
        costs = [r.cost_per(per) for r in found.rows if r.judgement.verdict is verdict]
        assert costs == sorted(costs)
    assert min(found.rows, key=lambda r: r.per_litre).recipe.name == "plain-milk"
    shown = compare_lines(found)
    groups = [line for line in shown if line and line[0].isupper()]
    assert [text.split(":")[0] for text in groups[1:-1]] == [
        "In range", "Outside a range", "Do not feed",
    ]  # fmt: skip
    text = " ".join("\n".join(shown).split())
    assert f"{STRONG}: Far too strong" in text
    assert "solids low, fat low" in text
    ranks = [row["rank"] for row in compare_shape(found)["recipes"]]
    assert ranks == [1, 2, 3, 4, 5]


def test_the_answer_is_no_only_if_no_recipe_is_inside():
    outside = compare(["plain-milk"], PANTRY)
    assert [row.judgement.verdict for row in outside] == [Verdict.OUTSIDE]
    assert not outside.yes
    assert compare(["plain-milk", "cream-and-powder"], PANTRY).yes


def test_nothing_to_compare_is_reported():
    with pytest.raises(InputError, match="nothing to compare"):
        compare([], replace(PANTRY, recipes={}))
