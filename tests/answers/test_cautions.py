"""Cautions: each rule speaks when it should and only then, and names a source."""

import pytest

from formulate.answers import cautions
from formulate.answers.cautions import cautions_for
from formulate.foods.tables import band_set, food_table, read_toml, sources
from formulate.pantry.pantry import parse_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe

ALWAYS = {"not-for-the-first-day", "veterinarian", "local-rules", "water", "estimates"}


def told(text, against="lamb-replacer", pantry=None):
    table = pantry.table if pantry else food_table()
    mix = check(parse_recipe(text, table), band_set(against), pantry)
    return {caution.id: caution.text for caution in cautions_for(mix)}


def test_every_caution_has_a_rule_a_source_and_a_short_text():
    entries = read_toml("cautions.toml")
    for name, entry in entries.items():
        assert entry["when"] in cautions._RULES, name
        assert entry["source"] in sources(), name
        assert len(entry["text"]) < 220, name
    assert {entry["when"] for entry in entries.values()} == set(cautions._RULES)


def test_a_plain_mix_draws_only_what_always_holds():
    mix = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
    assert set(told(mix)) == ALWAYS | {"lacks"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1 cup sweetened-condensed-milk + 1 cup water", "sweetened-condensed"),
        ("1 cup evaporated-milk + 1 cup nonfat-dry-milk", "osmolality-danger"),
        ("1 cup evaporated-milk + 1 cup nonfat-dry-milk", "solids-high"),
        ("1 cup evaporated-milk + 1 cup whole-milk", "osmolality-high"),
        ("1 cup whole-milk + 1 cup water", "solids-low"),
        ("1 cup evaporated-milk + 1/2 cup whole-milk", "lactose-high"),
        ("1 cup lowfat-buttermilk", "salted-culture"),
        ("1 cup lowfat-buttermilk", "sodium-over"),
        ("1 cup producer-milk", "raw-milk"),
        ("2 cups whole-milk + 1 egg", "egg"),
        ("2 cups whole-milk + 1 tbsp canola-oil", "oil"),
        ("2 cups whole-milk + 1 tsp cod-liver-oil", "fish-oil"),
        ("2 cups whole-milk + 1 tbsp sugar", "sugar"),
    ],
)
def test_rules(text, expected):
    whens = {read_toml("cautions.toml")[name]["when"] for name in told(text)}
    assert expected in whens


def test_weak_and_strong_depend_on_the_animal():
    assert "too-weak" in told("1 cup whole-milk", "lamb-replacer")
    assert "too-weak" not in told("1 cup whole-milk", "kid-replacer")


def test_copper_of_a_mineral_powder_is_caught_and_unknown_is_not_called_safe():
    head = """
currency = "USD"
prices_on = 2026-11-02
[foods.calf-powder]
price = 2
package = "1 kg"
[own.calf-powder]
kind = "replacer-powder"
"""
    proximates = "water = 4, protein = 20, fat = 20, ash = 8, sodium = 400, potassium = 1200"
    rich = parse_pantry(head + f"per_100_g = {{ {proximates}, copper = 3.0 }}")
    text = "150 g calf-powder + 850 g water"
    assert "above the 17" in told(text, pantry=rich)["copper"]
    silent = parse_pantry(head + f"per_100_g = {{ {proximates} }}")
    found = told(text, pantry=silent)
    assert "copper" not in found
    assert "copper" in found["unknown"]


def test_what_milk_lacks_is_named():
    lacks = told("2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk")["lacks"]
    assert "iron" in lacks
    assert "copper" in lacks
