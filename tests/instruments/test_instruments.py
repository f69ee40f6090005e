"""Instruments: what is typed, what a mix should read, and how far that may be off."""

import json
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError, MissingComposition
from formulate.base.units import Kitchen
from formulate.cli.main import run
from formulate.foods.tables import food_table, read_toml, sources
from formulate.instruments import Instrument, Reading, hold, parse_readings
from formulate.instruments.hold import Bench
from formulate.instruments.readings import parse_temperature
from formulate.instruments.rules import expansion, instrument_data, rules_of, section, swaps
from formulate.pantry.pantry import parse_pantry
from formulate.pantry.recipe import parse_recipe

MIX = "7 1/2 cups whole-milk + 6 tbsp heavy-cream + 9 tbsp nonfat-dry-milk"
FOODS = ("whole-milk", "heavy-cream", "nonfat-dry-milk", "evaporated-milk", "lowfat-buttermilk")
EVERY = (
    Reading(Instrument.BRIX, 12.0),
    Reading(Instrument.LACTOMETER, 32.0),
    Reading(Instrument.FREEZING_POINT, -0.55),
    Reading(Instrument.WEIGHING, 1030.0, volume=1000.0, words="1 L"),
)


def typed(**options):
    return parse_readings(Kitchen.US, **options)


def held(text, *readings):
    recipe = parse_recipe(text, food_table())
    return hold(recipe.foods, recipe.grams, readings)


def should_read(text, reading):
    return held(text, reading)[0].should_read


# --- what is typed ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("20 C", 20), ("68 F", 20), ("20°C", 20), ("60 °F", 15.5556), ("4.5 deg C", 4.5)],
)
def test_temperatures_have_their_unit(text, celsius):
    assert parse_temperature(text) == pytest.approx(celsius, abs=1e-4)


def test_readings_are_taken_together():
    brix, lactometer, freezing, weight = typed(
        brix="13.5",
        lactometer="32",
        at="68 F",
        freezing_point="-0.545 C",
        weigh="1 cup = 251 g",
    )
    assert brix.value == 13.5
    assert (lactometer.value, lactometer.celsius) == (32, pytest.approx(20))
    assert freezing.value == -0.545
    assert weight.value == 251
    assert weight.volume == pytest.approx(236.588, abs=1e-3)


def test_a_cup_is_the_kitchens_and_ounces_weigh():
    (reading,) = parse_readings(Kitchen.METRIC, weigh="1 cup = 9.1 oz")
    assert reading.volume == 250
    assert reading.value == pytest.approx(9.1 * 28.349523125)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"brix": "60"}, "--brix: a Brix reading of 60"),
        ({"brix": "-3"}, "of -3 cannot be milk"),
        ({"brix": "thick"}, "is not a number"),
        ({"brix": "nan"}, "is not a number"),
        ({"brix": "13,500"}, "could be a decimal"),
        ({"brix": "13 g"}, "is not its unit"),
        ({"lactometer": "32"}, "needs the temperature"),
        ({"lactometer": "32", "at": "20"}, "has no unit"),
        ({"lactometer": "32", "at": "20 K"}, "has no known unit"),
        ({"lactometer": "32", "at": "warm"}, "is not a temperature"),
        ({"lactometer": "32", "at": "70 C"}, "4 to 40 °C"),
        ({"lactometer": "5", "at": "20 C"}, "cannot be milk"),
        ({"lactometer": "1.032", "at": "20 C"}, "not 1.032"),
        ({"lactometer": "32", "at": "20 C", "marked": "20"}, "--lactometer-marked"),
        ({"freezing_point": "0.545"}, "not below zero"),
        ({"freezing_point": "0"}, "not below zero"),
        ({"freezing_point": "-545"}, "cannot be milk"),
        ({"weigh": "1 cup 251 g"}, "does not say what weighs what"),
        ({"weigh": "251 g = 1 cup"}, "is not a volume"),
        ({"weigh": "1 cup = 251 mL"}, "is not a weight"),
        ({"weigh": "1 cup = 500 g"}, "cannot weigh 500 g"),
        ({"at": "20 C"}, "neither is given"),
        ({"brix": "12", "marked": "20 C"}, "no lactometer reading"),
    ],
)
def test_what_cannot_be_meant_is_refused(options, says):
    with pytest.raises(InputError) as caught:
        typed(**options)
    assert says in str(caught.value)


def test_a_reading_that_was_not_taken_is_no_reading():
    assert typed() == ()
    recipe = parse_recipe(MIX, food_table())
    with pytest.raises(InputError, match="no instrument reading"):
        hold(recipe.foods, recipe.grams, ())


# --- the data ---------------------------------------------------------------------------------


def test_every_number_has_a_source():
    data = read_toml("instruments.toml")
    entries = [*data["instruments"].values(), *data["formulas"], data["fat-in-brix"]]
    entries += [data["density"], data["density"]["water"], data["density"]["dairy"]]
    entries.append(data["freezing-point"])
    for entry in entries:
        assert entry["source"] in sources()
    assert data["freezing-point"]["natural_source"] in sources()
    assert {rule["instrument"] for rule in data["formulas"]} == {"brix", "lactometer"}
    for swap in swaps():
        for name in (*swap.asked, swap.taken):
            assert name in food_table()


def test_formulas_are_turned_round_exactly():
    for instrument in ("brix", "lactometer"):
        for rule in rules_of(instrument):
            solids, fat = np.array([12.5]), np.array([3.7])
            reading = float(rule.reading(solids, fat)[0])
            assert rule.solids(reading, 3.7) == pytest.approx(12.5, rel=1e-12)


def test_instruments_of_the_tables_are_those_of_the_program():
    for instrument in Instrument:
        assert instrument_data(instrument)["sd"] > 0


# --- what it should read ----------------------------------------------------------------------


@st.composite
def recipes(draw):
    """Whole milk and up to three other foods."""
    parts = [f"{draw(st.integers(2, 12))} cups whole-milk"]
    for food, unit in zip(FOODS[1:], ("tbsp", "tbsp", "cups", "cups"), strict=True):
        if count := draw(st.integers(0, 4)):
            parts.append(f"{count} {unit} {food}")
    return " + ".join(parts)


@given(recipes(), st.integers(1, 8))
def test_water_thins_every_reading(text, cups):
    plain, thin = held(text, *EVERY), held(f"{text} + {cups} cups water", *EVERY)
    for before, after in zip(plain, thin, strict=True):
        if before.reading.instrument is Instrument.FREEZING_POINT:
            assert after.should_read > before.should_read
        elif after.rule == before.rule:  # thin milk may go by another formula
            assert after.should_read < before.should_read


@given(recipes())
def test_what_it_should_read_agrees_and_what_is_past_its_error_does_not(text):
    for one in held(text, *EVERY):
        reading = one.reading

        def at(value, reading=reading):
            return Reading(
                reading.instrument,
                value,
                reading.celsius,
                reading.marked,
                reading.volume,
                reading.words,
            )

        (exact,) = held(text, at(one.should_read))
        assert exact.agrees
        assert exact.off == pytest.approx(0, abs=1e-9)
        (past,) = held(text, at(one.should_read - 1.2 * one.error))
        assert not past.agrees


@given(recipes())
def test_order_of_foods_and_size_of_batch_change_nothing(text):
    parts = text.split(" + ")
    recipe = parse_recipe(text, food_table())
    turned = parse_recipe(" + ".join(reversed(parts)), food_table())
    once = hold(recipe.foods, recipe.grams, EVERY)
    other = hold(turned.foods, 7 * turned.grams, EVERY)
    for a, b in zip(once, other, strict=True):
        assert a.should_read == pytest.approx(b.should_read, rel=1e-9)
        assert a.error == pytest.approx(b.error, rel=1e-6)


@given(recipes())
def test_many_mixes_at_once_are_foretold_as_one_by_one(text):
    recipe = parse_recipe(text, food_table())
    bench = Bench(recipe.foods, recipe.grams, EVERY)
    mixes = np.outer([1.0, 2.0], recipe.grams) + np.eye(len(recipe.foods))[[0, -1]] * 100
    together = bench.foretell(mixes)
    for k in range(2):
        alone = bench.foretell(mixes[k : k + 1])
        np.testing.assert_allclose(together.values[k], alone.values[0], rtol=1e-12)
        np.testing.assert_allclose(together.covariance[k], alone.covariance[0], rtol=1e-6)
        assert np.linalg.eigvalsh(together.covariance[k]).min() > 0


def test_a_rich_carton_moves_readings_together():
    # More solids raise both the Brix and the density: their errors go together.
    recipe = parse_recipe("1 gallon skim-milk", food_table())
    covariance = Bench(recipe.foods, recipe.grams, EVERY).foretell(recipe.grams[None]).covariance[0]
    assert covariance[0, 3] > 0
    assert covariance[1, 3] > 0


def test_outside_its_milks_a_formula_says_so_and_is_trusted_less():
    milk = held("1 quart whole-milk", *EVERY[:2])
    creamed = held("1 quart whole-milk + 1 cup heavy-cream", *EVERY[:2])
    for plain, rich in zip(milk, creamed, strict=True):
        assert plain.valid
        assert not rich.valid
        assert rich.error > plain.error
    assert creamed[0].outside[0].name == "fat_share"


def test_the_best_formula_for_the_milk_is_taken():
    assert held("1 quart whole-milk", EVERY[1])[0].rule == "ling"
    # Below 3 % fat Ling's samples end; Richmond's milks go on to 2.5 %.
    assert held("1 quart whole-milk + 1 1/2 cups reduced-fat-milk", EVERY[1])[0].rule == "richmond"


def test_cold_milk_is_denser():
    reads = [
        should_read("1 quart whole-milk", Reading(Instrument.LACTOMETER, 32, celsius))
        for celsius in (5, 10, 15, 20, 30, 38)
    ]
    assert all(a > b for a, b in pairwise(reads))
    assert expansion(20.0, np.array([4.0]), np.array([9.0]), np.array([87.0])) == pytest.approx(0)


def test_a_stem_marked_for_twenty_degrees_shows_grams_a_millilitre():
    by_60f = should_read("1 quart whole-milk", Reading(Instrument.LACTOMETER, 32, 20))
    by_20c = should_read("1 quart whole-milk", Reading(Instrument.LACTOMETER, 32, 20, 20))
    # Water of 60 °F weighs 0.9990 g/mL: the same milk reads about a degree higher on that stem.
    assert by_60f - by_20c == pytest.approx(1.0, abs=0.1)


def test_a_quart_tells_more_than_a_cup():
    cup, quart = held(
        MIX,
        *typed(weigh="1 cup = 246 g"),
        *typed(weigh="1 quart = 984 g"),
    )
    assert cup.error / cup.should_read > 2 * quart.error / quart.should_read


def test_only_cows_milk_as_it_is_has_a_sure_freezing_point():
    milk, mix, ewe = (
        held(text, EVERY[2])[0]
        for text in ("1 quart whole-milk + 2 tbsp heavy-cream", MIX, "1 quart sheep-milk")
    )
    assert milk.valid
    assert not mix.valid
    assert not ewe.valid
    share = section("freezing-point")["share_sd"]
    assert mix.error > 1.96 * share * abs(mix.should_read)


def test_missing_is_not_zero():
    pantry = parse_pantry(
        """
currency = "USD"
prices_on = 2026-11-02
[foods.our-powder]
price = 2
package = "1 kg"
[own.our-powder]
kind = "replacer-powder"
per_100_g = { water = 4, protein = 23, fat = 29, ash = 6 }
"""
    )
    recipe = parse_recipe("200 g our-powder + 800 g water", pantry.table)
    assert hold(recipe.foods, recipe.grams, EVERY[:2])
    with pytest.raises(MissingComposition, match="our-powder"):
        hold(recipe.foods, recipe.grams, EVERY)


# --- the command ------------------------------------------------------------------------------


def said(capsys, *arguments):
    status = run(["check", *arguments])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return status, out, err


def test_agreeing_readings_leave_the_answer_to_the_ranges(capsys):
    status, out, _ = said(capsys, MIX, "--brix", "14")
    assert status == 0
    assert "The readings agree with the recipe." in out
    status, out, _ = said(capsys, "1 gallon whole-milk", "--brix", "10")
    assert status == 1
    assert "The readings agree with the recipe." in out


def test_readings_that_disagree_are_a_no(capsys):
    status, out, _ = said(capsys, MIX, "--brix", "11")
    assert status == 1
    assert "The most likely mistake: the nonfat dry milk was left out" in out
    assert "These readings do not fit the recipe: Brix refractometer." in out


def test_no_line_is_wider_than_the_page(capsys):
    options = [
        "--brix",
        "11",
        "--lactometer",
        "28",
        "--temperature",
        "20 C",
        "--freezing-point",
        "-0.53",
    ]
    _, out, _ = said(capsys, MIX, *options, "--weigh", "1 quart = 972 g")
    told = out[out.index("What the instruments read") :]
    assert max(map(len, told.splitlines())) <= 100


def test_json(capsys):
    status, out, err = said(capsys, MIX, "--brix", "11", "--weigh", "1 cup = 243 g", "--json")
    assert status == 1
    assert not err
    answer = json.loads(out)
    brix, weight = answer["instruments"]
    assert brix["instrument"] == "brix"
    assert brix["reads"] == 11
    assert brix["agrees"] is False
    assert brix["valid"] is True
    assert brix["should_read"] - brix["error"] > 11
    assert weight["agrees"] is True
    assert all(one["source"] in sources() for one in (brix, weight))
    assert answer["readings_agree"] is False
    scores = [slip["score"] for slip in answer["slips"]]
    assert scores == sorted(scores)
    first = answer["slips"][0]
    assert (first["kind"], first["food"], first["explains"]) == (
        "left-out",
        "nonfat-dry-milk",
        True,
    )
    assert set(first["would_read"]) == {"brix", "weighing"}


def test_without_a_reading_nothing_is_said_of_instruments(capsys):
    _, out, _ = said(capsys, MIX, "--json")
    assert "instruments" not in json.loads(out)
    _, out, _ = said(capsys, MIX)
    assert "instruments" not in out


def test_wrong_input_is_status_two(capsys):
    assert said(capsys, MIX, "--brix", "60")[0] == 2
    assert said(capsys, "--brix", "11")[0] == 2  # a reading without a recipe
    assert "RECIPE" in said(capsys, "--brix", "11")[2]
