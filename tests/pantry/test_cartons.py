"""Cartons and bags: labels in, intervals and foods out."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from label_printer import eu_figure, us_figure
from second_opinion import by_scipy

from formulate.base import locks
from formulate.base.errors import InputError, ManyFaults, UnknownName
from formulate.base.units import Kitchen
from formulate.cli.main import run
from formulate.foods.tables import band_set, food_table
from formulate.pantry.add_food import add_to_pantry
from formulate.pantry.labels import Label, Rounding, parse_figure, read_carton, stands_for
from formulate.pantry.labels.facts import ash_fact, panel_facts, sums
from formulate.pantry.labels.intervals import COLUMNS, PROXIMATES, WEIGHT, Fact, System
from formulate.pantry.labels.panel import parse_serving, read_panel
from formulate.pantry.labels.rounding import PRINTED
from formulate.pantry.pantry import load_pantry, parse_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe

US, ELSEWHERE = Rounding.US, Rounding.ELSEWHERE
WHOLE = {
    "serving": "1 cup (240 mL)",
    "energy": 150,
    "fat": 8,
    "carbohydrate": 12,
    "protein": 8,
    "sodium": 105,
}


def read(kitchen: Kitchen = Kitchen.US, **label):
    return read_carton("my-milk", Label(**label), kitchen)


def refusal(**label) -> str:
    with pytest.raises(InputError) as error:
        read(**label)
    return str(error.value)


class TestRounding:
    @pytest.mark.parametrize(
        ("name", "written", "low", "high"),
        [
            ("energy", 0, 0, 5),
            ("energy", 45, 42.5, 47.5),
            ("energy", 50, 47.5, 55),  # 47.5 to 50 by fives, to 55 by tens
            ("energy", 150, 145, 155),
            ("fat", 0, 0, 0.5),
            ("fat", 0.5, 0.5, 0.75),  # below 0.5 g it must say 0
            ("fat", 2.5, 2.25, 2.75),
            ("fat", 5, 4.75, 5.5),
            ("fat", 8, 7.5, 8.5),
            ("saturated-fat", "4.5 g", 4.25, 4.75),
            ("protein", "less than 1 g", 0, 1),
            ("protein", "<1g", 0, 1),
            ("carbohydrate", 1, 0.5, 1.5),
            ("sugars", 12, 11.5, 12.5),
            ("sodium", 0, 0, 5),
            ("sodium", 140, 137.5, 145),
            ("sodium", 470, 465, 475),
            ("calcium", 290, 285, 295),
            ("calcium", 276, 275.5, 276.5),
            ("calcium", 0, 0, 26),
            ("potassium", 105, 102.5, 107.5),
            ("potassium", 380, 375, 385),
        ],
    )
    def test_us_figures(self, name, written, low, high):
        assert stands_for(name, parse_figure(name, written), US) == (low, high)

    @pytest.mark.parametrize(
        ("name", "written", "low", "high"),
        [
            ("fat", "3.6", 3.55, 3.65),
            ("fat", 3.6, 3.55, 3.65),
            ("fat", "3.60", 3.595, 3.605),
            ("fat", 12, 11.5, 12.5),
            ("fat", 0, 0, 0.5),
            ("fat", "0.0", 0, 0.05),
            ("saturated-fat", 0, 0, 0.1),
            ("salt", "0.11 g", 0.105, 0.115),
            ("energy", "268 kJ", 267.5, 268.5),
            ("energy", "2010 kJ", 2005, 2015),
            ("calcium", 120, 115, 125),
            ("calcium", 124, 123.5, 124.5),
            ("protein", "< 0.5 g", 0, 0.5),
        ],
    )
    def test_figures_elsewhere(self, name, written, low, high):
        got = stands_for(name, parse_figure(name, written), ELSEWHERE)
        assert got == pytest.approx((low, high))

    @pytest.mark.parametrize(
        ("name", "written", "word"),
        [
            ("fat", 7.5, "a US panel never prints"),
            ("energy", 55, "a US panel never prints"),
            ("protein", 3.3, "per 100"),
            ("salt", "0.1 g", "sodium in mg"),
            ("energy", "268 kJ", "energy in kcal"),
        ],
    )
    def test_figures_that_no_us_panel_prints(self, name, written, word):
        with pytest.raises(InputError, match=word):
            stands_for(name, parse_figure(name, written), US)

    @pytest.mark.parametrize(
        ("written", "word"),
        [
            (-3, "below zero"),
            ("−3 g", "below zero"),
            ("3,600", "could be a decimal"),
            ("8 %", "daily value"),
            ("8 mg", "not in g"),
            ("much", "not a figure"),
            ("", "not a figure"),
            (float("nan"), "not a figure"),
            (float("inf"), "not a figure"),
            (True, "not a figure"),
            ("1" * 400, "far too large"),
            ("8 g in 100 mL", "not a figure"),
        ],
    )
    def test_what_is_not_a_figure(self, written, word):
        with pytest.raises(InputError, match=word):
            parse_figure("fat", written)

    def test_an_unknown_figure_tells_the_nearest(self):
        with pytest.raises(UnknownName, match="protein"):
            parse_figure("protien", 8)

    @given(st.sampled_from([n for n in PRINTED if n not in ("salt", "added-sugars")]), st.data())
    def test_what_is_printed_can_stand_for_what_was_there(self, name, data):
        most = {"energy": 400, "sodium": 900, "potassium": 900, "calcium": 900}.get(name, 60)
        amount = data.draw(st.decimals(0, most, places=3))
        for rounding, printer in ((US, us_figure), (ELSEWHERE, eu_figure)):
            if rounding is ELSEWHERE and name == "sodium":
                continue  # printed there as salt
            low, high = stands_for(name, parse_figure(name, printer(name, amount)), rounding)
            assert low - 1e-9 <= amount <= high + 1e-9

    @given(st.decimals(0, 60, places=3))
    def test_it_stands_for_nothing_that_prints_otherwise(self, amount):
        printed = us_figure("fat", amount)
        low, high = stands_for("fat", parse_figure("fat", printed), US)
        inside = Decimal(str(low)) * Decimal("0.5") + Decimal(str(high)) * Decimal("0.5")
        assert us_figure("fat", inside) == printed
        beyond = Decimal(str(high)) + Decimal("0.001")
        assert us_figure("fat", beyond) != printed


class TestServing:
    @pytest.mark.parametrize(
        ("text", "grams", "millilitres"),
        [
            ("1 cup (240 mL)", None, (236.5882365, 240.5)),
            ("8 fl oz", None, (236.5882365, 240)),
            ("8 oz", None, (236.5882365, 240)),
            ("240 mL", None, (236.5882365, 240.5)),
            ("1 cup (245 g)", (244.5, 245.5), None),
            ("1 container (150g)", (149.5, 150.5), None),
            ("30 g", (29.5, 30.5), None),
            ("1 tsp (4.5 g)", (4.25, 4.75), None),
            ("1 pinch (0.6 g)", (0.55, 0.65), None),
        ],
    )
    def test_sizes(self, text, grams, millilitres):
        serving = parse_serving(text, True, Kitchen.US, US)
        for got, want in ((serving.grams, grams), (serving.millilitres, millilitres)):
            assert got == (want if want is None else pytest.approx(want))

    def test_ounces_of_a_liquid_are_reported_and_of_a_powder_weighed(self):
        assert "fl oz" in parse_serving("8 oz", True, Kitchen.US, US).notes[0]
        assert parse_serving("1 oz", False, Kitchen.US, US).grams == pytest.approx((28.3495,) * 2)

    @pytest.mark.parametrize(
        ("text", "word"),
        [
            ("1 glug", "no unit"),
            ("", "not a serving"),
            ("1 can", "what it weighs"),
            ("1 cup (240 mL) (8 fl oz)", "not a serving"),
            ("-1 cup", "below zero"),
            ("0 g", "is zero"),
        ],
    )
    def test_servings_that_say_nothing(self, text, word):
        with pytest.raises(InputError, match=word):
            parse_serving(text, True, Kitchen.US, US)

    def test_a_powder_by_volume_is_refused(self):
        panel = {**WHOLE, "serving": "1/4 cup (60 mL)"}
        assert "Write its weight too" in refusal(kind="dry-milk", panel=panel)


class TestBadPanels:
    @pytest.mark.parametrize(
        ("change", "word"),
        [
            ({"serving": "1 glug"}, "no unit called"),
            ({"serving": "20 g"}, "more than a serving of 20 g weighs"),
            ({"serving": "15 mL"}, "more than a serving of 15 mL weighs"),
            ({"fat": -8}, "fat: -8 is below zero"),
            ({"per": "100 mL"}, "both per serving and per 100"),
            ({"sodium": 105, "salt": "0.3 g"}, "salt"),
            ({"protien": 8}, "Did you mean protein"),
            ({"rounding": "french"}, "us, eu"),
            ({"fat": "8.3"}, "a US panel never prints"),
        ],
    )
    def test_each_is_reported(self, change, word):
        assert word in refusal(kind="milk", panel={**WHOLE, **change})

    @pytest.mark.parametrize("per", ["1 cup", "200 g", "100", "100 kg"])
    def test_per_is_100_g_or_ml(self, per):
        panel = {k: v for k, v in WHOLE.items() if k != "serving"}
        assert '"100 g" or "100 mL"' in refusal(kind="milk", panel={**panel, "per": per})

    def test_all_that_is_missing_is_reported_at_once(self):
        with pytest.raises(ManyFaults) as error:
            read(kind="milk", panel={"energy": 150})
        told = str(error.value)
        assert "how much its figures are for" in told
        assert "fat, carbohydrate, protein" in told

    def test_names(self):
        assert "what kind of food" in refusal(panel=WHOLE)
        assert "milk" in refusal(kind="mlik", panel=WHOLE)
        assert "Did you mean whole milk" in refusal(sold_as="whol milk", panel=WHOLE)
        assert "not cream" in refusal(kind="cream", sold_as="whole milk", panel=WHOLE)
        assert "is a kind of cream" in refusal(kind="milk", like="heavy-cream", panel=WHOLE)

    def test_a_value_known_twice(self):
        assert "in the panel already" in refusal(kind="milk", panel=WHOLE, per_100_g={"fat": 3.3})


class TestContradictions:
    def test_energy_against_its_macros(self):
        told = refusal(kind="milk", panel={**WHOLE, "energy": 250})
        for words in ("energy 250 kcal", "fat 8 g", "carbohydrate 12 g", "protein 8 g"):
            assert words in told
        assert "sodium" not in told
        # 4 and 4.27, 8.79 and 9, 3.87 and 4 kcal/g at the ends of each figure, and the slack.
        low, high = 7.5 * 8.79 + 11.5 * 3.87 + 7.5 * 4, 8.5 * 9 + 12.5 * 4 + 8.5 * 4.27
        assert f"energy would be {low - 1.2:.0f} to {high + 1.2:.0f} kcal" in told

    def test_too_little_energy_for_the_fat_alone(self):
        told = refusal(kind="milk", panel={**WHOLE, "energy": 50})
        assert "energy 50 kcal" in told
        assert "fat 8 g" in told
        assert "protein" not in told

    def test_whole_milk_below_its_standard(self):
        told = refusal(sold_as="whole milk", panel={**WHOLE, "fat": 5, "energy": 120})
        assert "sold as whole milk (fat at least 3.25 % by law)" in told
        assert "fat 5 g" in told
        assert "in 100 g" in told
        read(kind="milk", panel={**WHOLE, "fat": 5, "energy": 120})  # its kind alone allows it

    def test_more_saturated_fat_than_fat(self):
        read(kind="milk", panel={**WHOLE, "saturated-fat": 9})  # 8.5 g prints as either
        told = refusal(kind="milk", panel={**WHOLE, "saturated-fat": 10})
        assert "saturated fat 10 g" in told
        assert "saturated fat would be 0 to 8.5 g" in told

    def test_a_sodium_in_the_wrong_unit(self):
        told = refusal(kind="milk", panel={**WHOLE, "sodium": 5000})
        assert "sodium 5000 mg" in told
        assert "sodium would be" in told

    def test_a_bag_of_more_than_itself(self):
        told = refusal(kind="replacer-powder", at_least={"protein": 60, "fat": 45})
        assert "protein at least 60 %" in told
        assert "fat at least 45 %" in told

    def test_the_clash_is_needed_in_every_part(self):
        panel = read_panel({**WHOLE, "energy": 250}, True, Kitchen.US)
        facts = (*panel_facts(panel, "milk"), ash_fact("milk", None))
        system = System(facts, sums("milk", None))
        clash = system.clash()
        assert not system.possible(clash)
        for fact in clash:
            assert system.possible(other for other in clash if other is not fact)


@st.composite
def milks(draw):
    """Something like milk, cream or skim: amounts in 100 g that add up."""
    protein = draw(st.floats(1.5, 6))
    fat = draw(st.floats(0, 35))
    carbohydrate = draw(st.floats(2, 7))
    # No milk has more ash than this: a carton's may be 10 % over the table's richest, ewe's milk.
    ash = min((protein + carbohydrate) * draw(st.floats(0.09, 0.10)), 1.1)
    factors = (
        draw(st.floats(4, 4.27)),
        draw(st.floats(8.79, 9)),
        draw(st.floats(3.87, 4)),
    )
    values = {
        "protein": protein,
        "fat": fat,
        "carbohydrate": carbohydrate,
        "ash": ash,
        "sodium": draw(st.floats(0, 120)),
        "calcium": draw(st.floats(0, 200)),
        "potassium": draw(st.floats(0, 200)),
        "saturated-fat": fat * draw(st.floats(0, 1)),
        "sugars": carbohydrate * draw(st.floats(0, 1)),
        "energy": factors[0] * protein + factors[1] * fat + factors[2] * carbohydrate,
    }
    values["water"] = 100 - protein - fat - carbohydrate - ash
    return values


class TestIntervals:
    @given(milks(), st.integers(10, 400), st.booleans())
    def test_they_hold_any_food_that_was_printed(self, values, grams, us):
        printer = us_figure if us else eu_figure
        size = Decimal(grams if us else 100) / 100
        panel = {
            name: printer(name, Decimal(repr(value)) * size)
            for name, value in values.items()
            if name in PRINTED and (us or name != "sodium")
        }
        panel |= {"serving": f"{grams} g"} if us else {"per": "100 g"}
        carton = read(kind="milk", panel=panel)
        for name, (low, high) in carton.intervals.items():
            if name != "lactose":
                assert low - 1e-6 <= values[name] <= high + 1e-6, name
                assert low <= carton.food.value(name) <= high
        total = sum(carton.food.value(name) for name in PROXIMATES)
        assert total == pytest.approx(100, abs=1e-9)

    @given(milks(), st.sampled_from(["sodium", "sugars", "energy", "calcium"]))
    def test_one_more_figure_never_widens(self, values, more):
        panel = {n: us_figure(n, Decimal(repr(v)) * 2) for n, v in values.items() if n in PRINTED}
        panel["serving"] = "200 g"
        less = read(kind="milk", panel={n: t for n, t in panel.items() if n != more})
        full = read(kind="milk", panel=panel)
        assume(less.notes == full.notes)
        for name, (low, high) in less.intervals.items():
            assert full.intervals[name][0] >= low - 1e-6
            assert full.intervals[name][1] <= high + 1e-6

    def test_scipy_finds_the_same_ends(self):
        panel = read_panel({**WHOLE, "calcium": 290, "potassium": 380}, True, Kitchen.US)
        like = food_table()["whole-milk"]
        system = System((*panel_facts(panel, "milk"), ash_fact("milk", like)), sums("milk", None))
        names = (*PROXIMATES, "energy", "sodium", "calcium")
        program = system.program(system.facts, WEIGHT)
        for name, ends in system.intervals(names).items():
            for sign, end in zip((1.0, -1.0), ends, strict=True):
                cost = np.zeros(len(COLUMNS))
                cost[COLUMNS.index(name)] = sign
                assert sign * by_scipy(replace(program, cost=cost)).value == pytest.approx(
                    end, abs=1e-6
                )

    def test_a_rounded_serving_is_one_number_for_all_figures(self):
        """The least protein over fat is at one serving, not at the ends of two."""
        system = System(
            (
                Fact.between("serving", WEIGHT, (20, 40), "servings"),
                Fact.between("fat", "fat", (8, 8), "servings"),
                Fact.between("protein", "protein", (4, 4), "servings"),
            )
        )
        program = system.program(system.facts, WEIGHT)
        cost = np.zeros(len(COLUMNS))
        cost[COLUMNS.index("protein")], cost[COLUMNS.index("fat")] = 1.0, -0.5
        for sign in (1.0, -1.0):
            found = by_scipy(replace(program, cost=sign * cost)).value
            assert found == pytest.approx(0, abs=1e-9)
        assert system.intervals(["fat"])["fat"] == pytest.approx((20, 40))

    def test_an_unlike_milk_is_reported_and_still_read(self):
        panel = {"serving": "240 mL", "fat": 4.5, "carbohydrate": 6, "protein": 13, "energy": 120}
        carton = read(kind="milk", like="whole-milk", panel=panel)
        assert any("protein that whole-milk has" in note for note in carton.notes)
        assert carton.food.value("protein") > 5

    def test_a_cream_that_prints_no_protein_holds_milk_between_its_fat(self):
        panel = {"energy": 50, "fat": 6, "carbohydrate": 0, "protein": 0, "sodium": 5}
        panel["serving"] = "1 tbsp (15 mL)"
        assert read(kind="cream", panel=panel).intervals["protein"][0] == pytest.approx(0)
        low, high = read(sold_as="heavy cream", panel=panel).intervals["protein"]
        assert 1.5 < low < food_table()["heavy-cream"].value("protein") < high < 3.5

    def test_water_and_oil_are_not_taken_for_ash(self):
        nothing = {"serving": "1 cup", "fat": 0, "carbohydrate": 0, "protein": 0, "energy": 0}
        assert read(kind="water", panel=nothing).intervals["water"][0] > 99
        oil = {"serving": "1 tbsp (14 g)", "fat": 14, "carbohydrate": 0, "protein": 0}
        assert read(kind="oil", panel=oil).intervals["ash"][1] < 0.1

    def test_a_small_serving_cannot_tell(self):
        panel = {"energy": 40, "fat": 2.5, "carbohydrate": 3, "protein": 2, "sodium": 35}
        carton = read(kind="evaporated", panel={"serving": "2 tbsp (30 mL)", **panel})
        # ±0.25 g of fat and ±0.5 g of protein in 30 g.
        assert carton.coarse["fat"] == pytest.approx(0.83, abs=0.01)
        assert carton.coarse["protein"] == pytest.approx(1.67, abs=0.01)
        assert not read(kind="milk", panel=WHOLE).coarse

    def test_it_is_the_same_every_time(self):
        first = read(sold_as="whole milk", panel=WHOLE)
        again = read(sold_as="whole milk", panel=WHOLE)
        assert first.food == again.food


class TestFoods:
    def test_milk_sugar_of_plain_milk_is_its_carbohydrate_and_of_sweetened_unknown(self):
        plain = read(kind="milk", panel=WHOLE).food
        assert plain.value("lactose") == plain.value("carbohydrate")
        sweet = {**WHOLE, "carbohydrate": 24, "sugars": 24, "added-sugars": 12, "energy": 200}
        assert np.isnan(read(kind="milk", panel=sweet).food.value("lactose"))
        assert np.isnan(plain.value("copper"))

    def test_copper_goes_by_the_rule_for_missing_values(self):
        food = read(kind="milk", panel=WHOLE).food
        pantry = parse_pantry(
            'currency = "USD"\nprices_on = 2026-11-02\n[foods.my-milk]\nprice = 1\n'
            'package = "1 cup"\n[own.my-milk]\nkind = "milk"\n'
            'panel = { serving = "1 cup (240 mL)", energy = 150, fat = 8, carbohydrate = 12, '
            "protein = 8, sodium = 105 }\n"
        )
        assert pantry.own_foods[0].values == food.values
        recipe = parse_recipe("1 cup my-milk", pantry.table, Kitchen.US)
        mix = check(recipe, band_set("lamb-replacer"), pantry)
        copper = next(read for read in mix.reads if read.band.measure == "copper")
        assert copper.assumed == ("my-milk",)

    def test_a_cup_weighs_what_the_panel_or_the_composition_says(self):
        by_volume = read(kind="milk", panel=WHOLE).food
        assert by_volume.household[0].grams == pytest.approx(244, abs=1.5)
        by_weight = read(kind="milk", panel={**WHOLE, "serving": "1 cup (246 g)"}).food
        assert by_weight.density == pytest.approx(246 / 236.588, abs=1e-4)
        scoop = read(
            kind="replacer-powder",
            panel={"serving": "1 scoop (40 g)", "fat": 10, "carbohydrate": 17, "protein": 9},
        ).food
        assert scoop.counts() == {"scoop": 40.0}

    def test_kilojoules_and_salt_elsewhere(self):
        panel = {"per": "100 mL", "energy": "268 kJ", "fat": "3.6", "carbohydrate": "4.7"}
        carton = read(sold_as="whole milk", panel={**panel, "protein": "3.4", "salt": "0.10"})
        low, high = carton.intervals["energy"]
        assert low < 268 / 4.184 / 1.03 < high
        low, high = carton.intervals["sodium"]
        assert low < 40 / 1.03 < high

    def test_a_bag_by_its_guarantee(self):
        carton = read(
            kind="replacer-powder",
            at_least={"protein": 23, "fat": 25},
            at_most={"fibre": 0.15, "ash": 8, "water": 5, "copper": 10},
        )
        assert carton.intervals["protein"] == pytest.approx((23, 25.3))
        assert carton.intervals["water"] == pytest.approx((2, 5))
        assert carton.food.value("copper") == pytest.approx(1.0)  # mg in 100 g: the ceiling
        assert any("judgement" in note for note in carton.notes)
        assert np.isnan(carton.food.value("lactose"))

    def test_both_ends_of_a_guarantee_are_taken_as_they_stand(self):
        carton = read(
            kind="replacer-powder",
            at_least={"protein": 23, "fat": 25, "calcium": 0.7},
            at_most={"calcium": 1.2},
        )
        assert carton.intervals["calcium"] == pytest.approx((700, 1200))

    @pytest.mark.parametrize(
        ("at_least", "word"),
        [
            ({"fat": 25}, "how much protein"),
            ({"protein": 23, "fat": 25, "lysin": 1}, "Did you mean lysine"),
            ({"protein": 123, "fat": 25}, "more than all of it"),
            ({"protein": 23, "fat": 25, "vitamin-a": 1}, "no measure"),
        ],
    )
    def test_bad_guarantees(self, at_least, word):
        assert word in refusal(kind="replacer-powder", at_least=at_least)

    def test_floor_above_ceiling(self):
        told = refusal(
            kind="replacer-powder", at_least={"protein": 23, "fat": 25}, at_most={"fat": 20}
        )
        assert "at least 25 and at most 20" in told

    def test_a_letter_narrows_the_panel(self):
        plain = read(kind="milk", panel=WHOLE)
        told = read(kind="milk", panel=WHOLE, per_100_g={"solids": 12.4, "copper": 0.01})
        assert told.intervals["water"] == pytest.approx((87.6, 87.6))
        assert told.food.value("copper") == 0.01
        wide = plain.intervals["ash"][1] - plain.intervals["ash"][0]
        assert told.intervals["ash"][1] - told.intervals["ash"][0] <= wide + 1e-9


PANTRY = """# mine, with notes
currency = "USD"
prices_on = 2026-11-02   # market day
[foods.whole-milk]
price = 3.89
package = "1 gallon"
"""


class TestPantry:
    @pytest.fixture
    def pantry(self, tmp_path) -> Path:
        path = tmp_path / "pantry.toml"
        path.write_text(PANTRY)
        return path

    def test_every_byte_is_kept_and_the_food_is_there(self, pantry):
        add_to_pantry(pantry, "our-milk", "Our milk", Label(sold_as="whole milk", panel=WHOLE))
        assert pantry.read_text().startswith(PANTRY)
        food = load_pantry(pantry).own_foods[0]
        assert food.name == "Our milk"
        want = read(sold_as="whole milk", panel=WHOLE).food
        assert food.values == want.values

    @pytest.mark.parametrize("text", ["3.6", "3.60", "less than 1 g", "12"])
    def test_figures_keep_their_decimals(self, pantry, text):
        panel = {"per": "100 g", "fat": "3", "carbohydrate": "4.7", "protein": text}
        add_to_pantry(pantry, "our-milk", "", Label(kind="milk", panel=panel))
        want = read(kind="milk", panel=panel).food
        assert load_pantry(pantry).own_foods[0].values == want.values

    def test_a_pantry_that_another_writer_holds_is_left_alone(self, pantry, monkeypatch):
        monkeypatch.setattr(locks, "PATIENCE", 0.05)
        label = Label(kind="milk", panel=WHOLE)
        with locks.held(pantry), pytest.raises(InputError, match="another command is writing"):
            add_to_pantry(pantry, "our-milk", "", label)
        assert pantry.read_text() == PANTRY
        add_to_pantry(pantry, "our-milk", "", label)

    def test_commands_at_once_lose_no_food(self, pantry):
        writer = (
            "import sys; from pathlib import Path\n"
            "from formulate.base import locks; locks.PATIENCE = 600.0\n"
            "from formulate.pantry.add_food import add_to_pantry\n"
            "from formulate.pantry.labels import Label\n"
            "panel = {'per': '100 g', 'fat': '3', 'carbohydrate': '4.7', 'protein': '3.6'}\n"
            "for n in range(4):\n"
            "    add_to_pantry(Path(sys.argv[1]), f'{sys.argv[2]}-{n}', '', "
            "Label(kind='milk', panel=panel))\n"
        )
        running = [
            subprocess.Popen([sys.executable, "-c", writer, str(pantry), who])
            for who in ("oak", "ash")
        ]
        assert [process.wait() for process in running] == [0, 0]
        assert {food.id for food in load_pantry(pantry).own_foods} == {
            f"{who}-{n}" for who in ("oak", "ash") for n in range(4)
        }

    def test_line_ends_are_the_files_own(self, pantry):
        pantry.write_bytes(PANTRY.rstrip().replace("\n", "\r\n").encode())
        add_to_pantry(pantry, "our-milk", "", Label(kind="milk", panel=WHOLE))
        assert b"\n" not in pantry.read_bytes().replace(b"\r\n", b"")
        load_pantry(pantry)

    @pytest.mark.parametrize("name", ["our-milk", "whole-milk"])
    def test_a_taken_name_changes_nothing(self, pantry, name):
        add_to_pantry(pantry, "our-milk", "", Label(kind="milk", panel=WHOLE))
        before = pantry.read_bytes()
        with pytest.raises(InputError, match=f'called "{name}"'):
            add_to_pantry(pantry, name, "", Label(kind="milk", panel=WHOLE))
        assert pantry.read_bytes() == before

    def test_a_food_that_cannot_be_read_is_not_written(self, pantry):
        with pytest.raises(InputError):
            add_to_pantry(pantry, "bad", "", Label(kind="milk", panel={**WHOLE, "energy": 900}))
        assert pantry.read_text() == PANTRY

    @pytest.mark.parametrize(
        ("entry", "word"),
        [
            ('kind = "milk"\npanel = { serving = "1 glug", fat = 8 }', "own.m: serving"),
            ('kind = "milk"\npanel = { serving = "1 cup", fat = [8] }', "own.m.panel.fat"),
            ('kind = "milk"\nat_least = { protein = "x" }', "own.m.at_least.protein"),
            ('kind = "milk"', "what is in it is missing"),
            ('like = "whole-milk"\nkind = "milk"\nper_100_g = { water = 88, fat = 3 }', "like"),
            ("per_100_g = { water = 88, fat = 3 }", "kind is missing"),
        ],
    )
    def test_faults_tell_their_place(self, entry, word):
        with pytest.raises(InputError) as error:
            parse_pantry(f"{PANTRY}[own.m]\n{entry}\n")
        assert word in str(error.value)


WORDS = [
    *("--serving", "8 oz", "--energy", "150", "--fat", "8"),
    *("--carbohydrate", "12", "--protein", "8", "--sodium", "105"),
]


class TestCommand:
    def test_words(self, capsys):
        assert run(["carton", "--sold-as", "whole milk", *WORDS]) == 0
        out = capsys.readouterr().out
        assert "3.25 to 3.55" in out
        assert "8 oz of a liquid is read as 8 fl oz" in out
        assert "copper" in out
        assert max(map(len, out.splitlines())) <= 90

    def test_json_holds_the_tables_whole_milk(self, capsys):
        assert run(["carton", "--kind", "milk", "--json", *WORDS]) == 0
        shape = json.loads(capsys.readouterr().out)
        whole = food_table()["whole-milk"]
        for name in ("water", "protein", "fat", "carbohydrate", "ash", "energy", "sodium"):
            measure = shape["measures"][name]
            assert measure["low"] <= whole.value(name) <= measure["high"]
            assert measure["low"] <= measure["value"] <= measure["high"]

    def test_a_bag(self, capsys):
        words = ["--kind", "replacer-powder", "--at-least", "protein=23", "--at-least", "fat=20 %"]
        assert run(["carton", *words, "--at-most", "moisture=5", "--at-most", "fiber=0.2"]) == 0
        assert "guaranteed analysis" in capsys.readouterr().out

    def test_what_is_missing_is_reported_without_a_terminal(self, capsys, monkeypatch):
        monkeypatch.setattr("sys.stdin.isatty", lambda: False, raising=False)
        assert run(["carton", "--fat", "8"]) == 2
        err = capsys.readouterr().err
        for option in ("--kind", "--serving", "--carbohydrate", "--protein"):
            assert option in err
        assert "--fat" not in err

    @pytest.mark.parametrize(
        "words",
        [
            ["--kind", "milk", *WORDS, "--energy", "250"],
            ["--kind", "milk", *WORDS, "--name", "Our Milk"],
            ["--kind", "milk", *WORDS, "--name", "whole-milk"],
            ["--kind", "milk", *WORDS, "--add-to", "nowhere.toml"],
            ["--kind", "milk", *WORDS, "--kitchen", "french"],
            ["--kind", "replacer-powder", "--at-least", "protein"],
        ],
    )
    def test_wrong_input_is_2_in_a_line_or_two(self, words, capsys):
        assert run(["carton", *words]) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert len(told.err.strip().splitlines()) <= 2

    def test_asked_step_by_step(self, capsys, monkeypatch, tmp_path):
        pantry = tmp_path / "pantry.toml"
        pantry.write_text(PANTRY)
        names = ["Our Milk", "our-milk", "1 glug", "1 cup (240 mL)", "whole milk"]
        figures = ["155", "150", "8", "", "105", "12", "", "8", "", ""]
        answers = iter([*names, *figures])
        monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
        monkeypatch.setattr("click.prompt", lambda *_, **__: next(answers))
        assert run(["carton", "--add-to", str(pantry), "--json"]) == 0
        told = capsys.readouterr()
        assert json.loads(told.out)["food"]["id"] == "our-milk"
        assert "no unit" in told.err
        assert "a US panel never prints" in told.err
        assert next(answers, None) is None
        assert [food.id for food in load_pantry(pantry).own_foods] == ["our-milk"]
