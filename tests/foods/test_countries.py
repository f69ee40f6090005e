"""Kitchens of countries: what foods are called there, and that no country changes a figure."""

from __future__ import annotations

import pickle
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import AmbiguousName, InputError, UnknownName
from formulate.base.units import Amount, Kitchen, parse_amount, unit_size
from formulate.foods.country import countries, country_named, law_of
from formulate.foods.food import KINDS, Food
from formulate.foods.food_table import name_key
from formulate.foods.national import country_foods, foods_of, nutrient_tables, table_named
from formulate.foods.tables import food_table, sources

COUNTRIES = tuple(countries())
EVERY = {(t, f.record or f.id): f for t in nutrient_tables() for f in foods_of(t).values()}


def everything(country: str | None) -> list[Food]:
    table = country_foods(country)
    return [*table.values(), *table.abroad.values()]


# The same row is the same food everywhere


@pytest.mark.parametrize("country", COUNTRIES)
def test_a_country_changes_no_figure(country):
    seen = set()
    for food in everything(country):
        plain = next(f for f in EVERY.values() if (f.table, f.same_food, f.record) == (
            food.table, food.same_food, food.record
        ))  # fmt: skip
        assert food.values == plain.values, food.id
        assert (food.kind, food.suitable, food.largest_share, food.raw, food.drink_only) == (
            plain.kind, plain.suitable, plain.largest_share, plain.raw, plain.drink_only
        )  # fmt: skip
        assert food.density == plain.density
        seen.add((food.table, food.same_food, food.record))
    assert len(seen) == len(EVERY)


def test_without_a_country_the_foods_are_those_of_sr28():
    shipped = foods_of("usda-sr28")
    assert dict(food_table()) == dict(shipped)
    assert list(food_table()) == list(shipped)
    assert dict(food_table("us")) == dict(shipped)


@pytest.mark.parametrize("country", COUNTRIES)
def test_ids_are_unique_and_every_food_is_found_by_its_own(country):
    foods = everything(country)
    ids = [food.id for food in foods]
    assert len(set(ids)) == len(ids)
    table = country_foods(country)
    for food in foods:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", food.id)
        assert table.find(food.id) is food
        assert table.find(food.id.replace("-", " ").upper()) is food


@pytest.mark.parametrize("country", COUNTRIES)
def test_every_row_is_found_by_its_table_and_code(country):
    table = country_foods(country)
    for food in everything(country):
        if food.record:
            short = nutrient_tables()[food.table].short
            for name in (f"{short} {food.record}", f"{food.table}:{food.record}"):
                assert table.find(name) is food


@pytest.mark.parametrize("country", COUNTRIES)
def test_every_word_finds_its_food_or_asks(country):
    table = country_foods(country)
    for food in everything(country):
        for word in food.aliases:
            try:
                found = table.find(word)
            except AmbiguousName as asked:
                assert len(asked.choices) > 1
            else:
                assert found.id == food.id or food.id in table.abroad or found.id == name_key(word)


# Names as people write them


@pytest.mark.parametrize(
    ("country", "name", "table", "record"),
    [
        ("uk", "whole milk", "cofid-2021", "12-596"),
        ("uk", "semi-skimmed milk", "cofid-2021", "12-313"),
        ("uk", "skimmed milk", "cofid-2021", "12-307"),
        ("uk", "green-top milk", "cofid-2021", "12-313"),
        ("uk", "gold top milk", "cofid-2021", "12-321"),
        ("uk", "double cream", "cofid-2021", "12-334"),
        ("uk", "single cream", "cofid-2021", "12-332"),
        ("uk", "whipping cream", "cofid-2021", "12-333"),
        ("uk", "clotted cream", "cofid-2021", "12-592"),
        ("uk", "crème fraîche", "cofid-2021", "12-335"),
        ("uk", "evaporated milk", "cofid-2021", "12-522"),
        ("uk", "tinned milk", "cofid-2021", "12-522"),
        ("uk", "condensed milk", "cofid-2021", "12-520"),
        ("uk", "skimmed milk powder", "cofid-2021", "12-521"),
        ("uk", "dried skimmed milk", "cofid-2021", "12-521"),
        ("uk", "full cream milk powder", "usda-sr28", "01212"),
        ("uk", "buttermilk", "usda-sr28", "01088"),
        ("uk", "quark", "cofid-2021", "12-174"),
        ("uk", "goats' milk", "cofid-2021", "12-328"),
        ("uk", "ewe's milk", "cofid-2021", "12-329"),
        ("uk", "rapeseed oil", "usda-sr28", "04582"),
        ("uk", "heavy cream", "usda-sr28", "01053"),
        ("uk", "lait ribot", "ciqual-2025", "19801"),
        ("ie", "low-fat milk", "cofid-2021", "12-313"),
        ("ie", "slimline milk", "cofid-2021", "12-307"),
        ("ie", "natural yoghurt, whole", None, None),
        ("fr", "lait entier", "ciqual-2025", "19016"),
        ("fr", "Lait demi-écrémé", "ciqual-2025", "19033"),
        ("fr", "lait demi ecreme", "ciqual-2025", "19033"),
        ("fr", "lait écrémé en poudre", "ciqual-2025", "19054"),
        ("fr", "lait concentré non sucré", "ciqual-2025", "19026"),
        ("fr", "lait de chèvre", "ciqual-2025", "19200"),
        ("fr", "crème fraîche épaisse", "ciqual-2025", "19410"),
        ("fr", "crème liquide entière", "ciqual-2025", "19417"),
        ("fr", "faisselle", "ciqual-2025", "19641"),
        ("fr", "lait ribot", "ciqual-2025", "19801"),
        ("fr", "blanc d’œuf", "ciqual-2025", "22001"),
        ("fr", "eau", "usda-sr28", "14411"),
        ("fr", "petit-lait en poudre", None, None),
        ("fr", "sel fin", "usda-sr28", "02047"),
        ("nz", "full cream milk", "usda-sr28", "01211"),
        ("nz", "blue top milk", "usda-sr28", "01211"),
        ("nz", "whole-milk", "usda-sr28", "01211"),
        ("nz", "trim milk", "usda-sr28", "01085"),
        ("nz", "full cream milk powder", "usda-sr28", "01212"),
        ("nz", "skim milk powder", "usda-sr28", "01091"),
        ("nz", "cream", "usda-sr28", "01053"),
        ("nz", "lite milk", "cofid-2021", "12-313"),
        ("au", "light milk", "usda-sr28", "01082"),
        ("au", "full cream milk powder", "usda-sr28", "01212"),
        ("ca", "homo milk", "usda-sr28", "01077"),
        ("ca", "2% milk", "usda-sr28", "01079"),
        (None, "double cream", "cofid-2021", "12-334"),
        (None, "lait entier", "ciqual-2025", "19016"),
        (None, "quark", "cofid-2021", "12-174"),
        (None, "fromage blanc 3%", "ciqual-2025", "19646"),
    ],
)  # fmt: skip
def test_a_name_of_the_place(country, name, table, record):
    if table is None:
        with pytest.raises(UnknownName):
            country_foods(country).find(name)
        return
    food = country_foods(country).find(name)
    assert (food.table, food.record) == (table, record)


@pytest.mark.parametrize(
    ("country", "name", "choices"),
    [
        # One food in the United States, another in the United Kingdom; nobody has said where.
        (None, "half cream", ["half-and-half (SR28 01049, 10.4 % fat)",
                              "half-cream-uk (CoFID 12-112, 13.3 % fat)"]),
        (None, "crème fraîche", ["creme-fraiche-uk (CoFID 12-335, 40 % fat)",
                                 "creme-epaisse-30 (Ciqual 19410, 29.9 % fat)"]),
        (None, "semi-skimmed milk", ["reduced-fat-milk (SR28 01079, 1.98 % fat)",
                                     "semi-skimmed-milk-uk (CoFID 12-313, 1.7 % fat)"]),
        ("uk", "cream", ["double-cream", "single-cream", "whipping-cream"]),
        ("uk", "milk powder", ["skimmed-milk-powder (CoFID 12-521, 0.6 % fat)",
                               "whole-milk-powder (SR28 01212, 26.7 % fat)"]),
        ("fr", "lait en poudre", ["poudre-de-lait-demi-ecreme", "poudre-de-lait-ecreme"]),
        ("fr", "fromage blanc", ["fromage-blanc-0", "fromage-blanc-3", "fromage-blanc-7"]),
        ("fr", "crème fraîche", None),
        # Another language's word: what it is at home comes first.
        ("fr", "whole milk", ["Say which: lait-entier (Ciqual 19016, 3.49 % fat)",
                              "whole-milk-us (SR28 01077, 3.25 % fat)"]),
        ("uk", "lait", ["semi-skimmed-milk (CoFID", "lait-entier (Ciqual 19016"]),
        ("nz", "milk powder", ["full-cream-milk-powder", "skim-milk-powder"]),
    ],
)  # fmt: skip
def test_a_name_with_two_meanings_is_asked_about_with_both(country, name, choices):
    if choices is None:
        assert country_foods(country).find(name).table == "ciqual-2025"
        return
    with pytest.raises(AmbiguousName) as caught:
        country_foods(country).find(name)
    for choice in choices:
        assert choice in str(caught.value)
    for choice in caught.value.choices:
        assert country_foods(country).find(choice).id == choice


def test_naming_the_country_settles_what_a_word_means():
    assert country_foods("us").find("half cream").id == "half-and-half"
    assert country_foods("uk").find("half cream").record == "12-112"


@pytest.mark.parametrize("country", COUNTRIES)
def test_quark_skyr_and_strained_yogurt_are_not_greek_style(country):
    table = country_foods(country)
    for food in everything(country):
        words = {name_key(word) for word in (food.id, *food.aliases)}
        if any("greek-style" in word or "a-la-grecque" in word for word in words):
            assert food.kind == "cultured", food.id
            assert not words & {"quark", "skyr", "strained-yogurt", "strained-yoghurt"}
    with pytest.raises(InputError, match="skyr"):
        table.find("skyr")


@pytest.mark.parametrize("country", COUNTRIES)
def test_human_milk_is_in_no_table(country):
    for food in everything(country):
        assert "colostrum" not in " ".join((food.id, food.name, *food.aliases)).lower()
    with pytest.raises(InputError):
        country_foods(country).find("colostrum")
    with pytest.raises(InputError, match="Human colostrum"):
        country_foods(country).find("human colostrum")


def test_names_of_another_language_are_glossed_abroad():
    assert food_table().find("lait entier").name == "Lait entier (whole milk, average)"
    assert food_table("fr").find("lait entier").name == "Lait entier"
    assert food_table("fr").find("water").name == "Eau"
    assert food_table("fr").find("water").id == "eau"


@given(st.text(max_size=30))
def test_any_name_is_a_food_or_a_clear_error(name):
    try:
        food_table("fr").find(name)
    except InputError as error:
        assert error.exit_status == 2


@given(st.sampled_from(sorted(EVERY)), st.randoms())
def test_accents_hyphens_and_apostrophes_do_not_matter(key, random):
    food = EVERY[key]
    for word in food.aliases:
        spelled = word.replace("'", random.choice(["'", "’", ""]))
        spelled = spelled.replace(" ", random.choice([" ", "-", "  "]))
        spelled = spelled.replace("é", random.choice(["é", "e", "E\u0301"])).replace("œ", "oe")
        assert name_key(spelled) == name_key(word)


# Codes, tables and countries that are not there


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("cofid 12-999", 'CoFID has no row "cofid 12-999"'),
        ("CoFID-2021: 12-3344", "CoFID has no row .* Codes near it: 12-334"),
        ("sr28 99999", "SR28 has no row"),
        ("ciqual 1", "Ciqual has no row"),
    ],
)
def test_a_code_that_does_not_exist(name, says):
    with pytest.raises(InputError, match=says):
        food_table().find(name)


def test_a_table_that_is_not_installed():
    assert table_named("CoFID").key == "cofid-2021"
    with pytest.raises(UnknownName, match=r'no table called "bls".*usda-sr28 \(SR28\)'):
        table_named("bls")
    with pytest.raises(UnknownName, match=r"Did you mean .*ciqual"):
        table_named("ciqal")


def test_a_country_that_is_not_there():
    assert country_named("France").key == "fr"
    assert country_named(" UK ").key == "uk"
    with pytest.raises(UnknownName, match=r'no country called "de".*fr \(France\)'):
        country_named("de")


def test_another_table_may_come_first():
    table = country_foods("uk", "usda-sr28")
    assert table.find("whole milk").record == "01077"
    assert table.find("double cream").record == "12-334"
    assert "double-cream" in table
    french = country_foods("fr", "cofid-2021")
    assert french.find("whole milk").record == "12-596"
    with pytest.raises(UnknownName, match="no table"):
        country_foods("uk", "bls-2025")


# The data themselves


@pytest.mark.parametrize("country", COUNTRIES)
def test_a_country_is_whole(country):
    here = countries()[country]
    assert here.tables[0] in nutrient_tables()
    assert set(here.tables) == set(nutrient_tables())
    assert here.own_table == (nutrient_tables()[here.tables[0]].place == country)
    assert re.fullmatch("[A-Z]{3}", here.currency)
    assert here.paper in ("a4", "letter")
    assert here.decimal in ".,"
    assert here.panel in ("us", "eu", "anz")
    assert set(here.packages) | set(here.cans) <= set(KINDS)
    for kind, words in here.packages.items():
        for package in words:
            amount = parse_amount(package)
            assert amount.number > 0, (kind, package)
            if amount.unit not in ("can",):
                assert amount.size(here.kitchen) > 0
    assert {"milk", "cream", "evaporated", "dry-milk"} <= set(here.packages)
    for food in here.not_sold | set(here.called):
        assert food in foods_of(here.tables[0]), food
    for name in here.sold:
        table, _, food = name.rpartition(":")
        home = "usda-sr28" if table in ("", "drink") else table
        assert food in foods_of(home), name
        assert home != here.tables[0], name


@pytest.mark.parametrize(
    ("country", "kitchen", "tablespoon", "currency", "paper", "can"),
    [
        ("us", Kitchen.US, 14.787, "USD", "letter", 378.0),
        ("uk", Kitchen.UK, 15.0, "GBP", "a4", 410.0),
        ("ie", Kitchen.UK, 15.0, "EUR", "a4", 410.0),
        ("fr", Kitchen.METRIC, 15.0, "EUR", "a4", 410.0),
        ("nz", Kitchen.METRIC, 15.0, "NZD", "a4", 399.4),
        ("au", Kitchen.AU, 20.0, "AUD", "a4", 399.4),
        ("ca", Kitchen.METRIC, 15.0, "CAD", "letter", 377.1),
    ],
)
def test_spoons_money_paper_and_the_tin(country, kitchen, tablespoon, currency, paper, can):
    here = countries()[country]
    assert (here.kitchen, here.currency, here.paper) == (kitchen, currency, paper)
    assert unit_size("tbsp", here.kitchen) == pytest.approx(tablespoon, abs=1e-3)
    word = "lait concentré non sucré" if country == "fr" else "evaporated milk"
    tin = country_foods(country).find(word)
    assert tin.grams(Amount(1, "can"), here.kitchen) == pytest.approx(can, abs=0.1)


def test_the_law_is_worded_with_care_and_has_its_source():
    for country in COUNTRIES:
        rules = law_of(country)
        assert rules
        for rule in rules:
            assert rule.country == country
            assert not re.search(r"\b(il)?legal\b", rule.text.lower().replace("legally", ""))
            assert rule.ask.startswith("Ask ")
            assert rule.source in sources()
    assert "APHA" in law_of("uk")[0].ask
    assert law_of("atlantis") == ()


def test_a_table_of_foods_can_be_pickled():
    table = pickle.loads(pickle.dumps(country_foods("uk")))
    assert table.find("double cream").record == "12-334"
    assert dict(table) == dict(country_foods("uk"))
