"""What is told of one food, and that the figures in the cautions are those of the tables."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from formulate.answers.cautions import milk_entries
from formulate.answers.conditions import OfFoods
from formulate.answers.one_food import list_foods, show_food
from formulate.base.errors import InputError, UnknownName
from formulate.cli.foods import command
from formulate.foods.national import country_foods
from formulate.foods.tables import food_table


def printed(*words: str) -> str:
    result = CliRunner().invoke(command, words, catch_exceptions=False)
    assert result.exit_code == 0
    return result.output


def figure(code: str, measure: str) -> float:
    return food_table().find(code).value(measure)


def text_of(name: str) -> str:
    return next(entry.text for entry in milk_entries() if entry.id == name)


def test_double_cream_and_lait_entier_are_found_with_table_and_code():
    cream, milk = printed("double cream"), printed("lait entier")
    assert re.search(r"double-cream .* CoFID 12-334", cream)
    assert re.search(r"lait-entier .* Ciqual 19016", milk)
    assert re.search(r"lait-entier-uht .* Ciqual 19023", milk)


def test_goats_milk_is_shown_in_three_tables_with_the_caution():
    text = printed("--show", "goat-milk")
    heads = next(
        line for line in text.splitlines() if "per 100 g as fed" in line and "SR28" in line
    )
    assert heads.split()[-6:] == ["SR28", "CoFID", "Ciqual", "Ciqual", "cartons", "tables"]
    protein = next(line for line in text.splitlines() if line.startswith("  protein [g]"))
    assert re.findall(r"\d\.\d+", protein)[:4] == ["3.56", "3.1", "2.96", "3.22"]
    fat = next(line for line in text.splitlines() if line.startswith("  fat [g]"))
    assert re.findall(r"\d\.\d+", fat)[:4] == ["4.14", "3.7", "4.02", "3.2"]
    plain = " ".join(text.split())
    assert "richest of three" in plain
    assert "Open Government Licence" in plain
    assert "Licence Ouverte" in plain


def test_the_cautions_have_the_figures_of_the_tables():
    """Each number in a text stands in the row it speaks of, rounded to a decimal."""
    goat = text_of("tables-goat")
    own = [figure("sr28 01106", m) for m in ("protein", "fat")]
    others = [[figure(c, m) for c in ("cofid 12-328", "ciqual 19200", "ciqual 19202")]
              for m in ("protein", "fat")]  # fmt: skip
    expected = [*own, *(end(side) for side in others for end in (min, max))]
    assert [float(n) for n in re.findall(r"\d\.\d", goat)] == [round(v, 1) for v in expected]
    tin = text_of("tables-evaporated")
    expected = [
        figure(code, measure)
        for code in ("sr28 01096", "cofid 12-522", "ciqual 19026")
        for measure in ("protein", "fat")
    ]
    assert [float(n) for n in re.findall(r"\d\.\d", tin)] == [round(v, 1) for v in expected]
    cream = text_of("tables-cream")
    proteins = [figure(c, "protein") for c in ("sr28 01053", "cofid 12-333", "ciqual 19411")]
    told = [float(n) for n in re.findall(r"\d\.\d", cream)]
    assert told == pytest.approx(proteins, abs=0.06)
    assert figure("cofid 12-333", "fat") == pytest.approx(40, abs=0.5)
    assert figure("ciqual 19411", "fat") == pytest.approx(40, abs=0.5)


@pytest.mark.parametrize(
    ("name", "cautions"),
    [
        ("goat-milk", ["tables-goat"]),
        ("evaporated-milk", ["tables-evaporated"]),
        ("evaporated-milk-no-vitamin-d", ["tables-evaporated"]),
        ("heavy-cream", ["tables-cream"]),
        ("cofid 12-328", []),
        ("whole-milk", []),
    ],
)
def test_only_the_rows_that_stand_apart_carry_a_caution(name, cautions):
    assert [caution.id for caution in show_food(name, food_table()).cautions] == cautions


def test_such_a_caution_is_bound_to_a_row_of_one_table():
    for entry in milk_entries():
        if entry.id.startswith("tables-"):
            assert isinstance(entry.when, OfFoods)
            assert entry.when.table == "usda-sr28"


def test_every_table_that_is_shown_is_named_with_its_licence():
    found = show_food("lait entier", country_foods("fr"))
    assert {table.key for table in found.tables} == {"usda-sr28", "cofid-2021", "ciqual-2025"}
    assert show_food("clotted cream", food_table()).tables[0].key == "cofid-2021"


def test_a_list_of_one_table_and_of_what_is_at_home():
    table = food_table()
    assert len(list_foods(table).foods) == len(table)
    assert list_foods(table).elsewhere == len(table.abroad) == 88
    french = list_foods(table, (), "Ciqual").foods
    assert len(french) == 53
    assert {food.table for food in french} == {"ciqual-2025"}
    assert [f.record for f in list_foods(table, ("brebis",), "ciqual-2025").foods] == [
        "19250", "19554", "19550"
    ]  # fmt: skip
    with pytest.raises(UnknownName, match="no table"):
        list_foods(table, (), "bls")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--show", "cofid 12-999"), 'CoFID has no row "cofid 12-999"'),
        (("--show", "half cream"), "half-cream-uk (CoFID 12-112, 13.3 % fat)"),
        (("--table", "bls"), 'there is no table called "bls"'),
        (("--country", "xx"), 'there is no country called "xx"'),
    ],
)
def test_bad_names_are_reported(words, says):
    with pytest.raises(InputError) as caught:
        CliRunner().invoke(command, words, catch_exceptions=False)
    assert says in str(caught.value)


def test_json_has_the_rows_the_flags_and_the_attribution():
    shape = json.loads(printed("--json", "--show", "cofid 12-596"))
    assert (shape["table"], shape["record"]) == ("cofid-2021", "12-596")
    assert shape["flags"]["copper"] == "Tr"
    assert {row["table"] for row in shape["rows"]} == {"usda-sr28", "cofid-2021", "ciqual-2025"}
    assert all(table["attribution"] for table in shape["tables"])
    fat = next(d for d in shape["differences"] if d["measure"] == "fat")
    assert fat["values"][0] == 3.6
    assert len(fat["beyond"]) == len(shape["rows"])
    listed = json.loads(printed("--json", "double cream"))
    assert [(f["table"], f["record"]) for f in listed["foods"]] == [("cofid-2021", "12-334")]
