"""Sentences about clashes, helpers and costs: plain, true to their numbers, and never surer."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from formulate.blend.additions import Additions, what_would_help
from formulate.blend.design import design
from formulate.blend.explain import best_reach
from formulate.blend.mix import Mix, NoMix
from formulate.blend.prices.ranging import EntryPrice, PriceRange, entry_prices, price_ranges
from formulate.blend.prices.shadow_prices import ShadowPrice, Slope, shadow_prices
from formulate.blend.problem import Limit, LimitKind, Shelf, build
from formulate.foods.bands import Band, BandSet, Basis, Role
from formulate.foods.tables import band_set, band_sets, food_table
from formulate.report.cost_reasons import cost_reasons, price_reasons
from formulate.report.reasons import Told, helpers, why_not

VOLUME = 3785.0
TABLE = food_table()
PLAIN = tuple(food.id for food in TABLE.values() if food.suitable)
COW = ("whole-milk", "evaporated-milk", "lowfat-buttermilk", "heavy-cream", "nonfat-dry-milk")
PRICE = (0.001, 0.003, 0.0012, 0.006, 0.012)
PACKAGES = {"heavy-cream": ("1 quart", 960.0), "whole-milk": ("2 gallons", 7808.0)}


def shelf(ids: Sequence[str], price: Sequence[float], **arrays: Sequence[float]) -> Shelf:
    columns = {name: np.array(values, dtype=float) for name, values in arrays.items()}
    return Shelf(
        tuple(TABLE[name] for name in ids), np.array(price, float), currency="USD", **columns
    )


def result_of(shelf_: Shelf, bands: BandSet | str) -> Mix | NoMix:
    bands = band_set(bands) if isinstance(bands, str) else bands
    return design(shelf_, bands, VOLUME)


def own(*bands: Band) -> BandSet:
    return BandSet("own", "own", "lamb", bands)


def check_plain(told: Told) -> None:
    """Sentences end as sentences do, hold no number that is none, and rows are JSON."""
    for sentence in told.sentences:
        assert sentence.endswith(".")
        assert sentence[0].isupper() or sentence[0].isdigit() or sentence.split()[0] in TABLE
        assert not re.search(r"\b(nan|inf|None|e[-+]\d)\b", sentence), sentence
        assert "  " not in sentence
    json.dumps(told.rows, allow_nan=False)


def test_protein_and_milk_sugar_clash():
    told = why_not(result_of(shelf(COW, PRICE), "ewe-milk"))
    assert told.sentences[0] == (
        "Protein and milk sugar clash: with these foods, protein of at least 5.4 % brings more "
        "than 5.4 % milk sugar (6.52 % or more)."
    )
    check_plain(told)
    first = [row for row in told.rows if row["conflict"] == 1]
    assert [(row["kind"], row["measure"], row["value"]) for row in first] == [
        ("band-low", "protein", 5.4),
        ("band-high", "lactose", 5.4),
    ]
    assert first[1]["best_reach"] > 6.52


def test_a_demand_that_cannot_be_met_by_itself():
    told = why_not(result_of(shelf(["whole-milk"], [0.001]), "lamb-replacer"))
    assert told.sentences == (
        "No mix of these foods reaches solids of at least 16 %: the most is 11.9 %.",
        "No mix of these foods reaches fat of at least 28 % of the dry matter: the most is 27.4 %.",
        "No mix of these foods keeps to milk sugar of at most 40 % of the dry matter: "
        "the least is 40.4 %.",
    )


def test_stock_share_and_safety_in_a_clash():
    stock = [1000.0, 500.0, math.inf, math.inf, 60.0]
    told = why_not(result_of(shelf(COW, PRICE, on_hand=stock), "lamb-replacer"))
    assert told.sentences[0] == (
        "Sodium, the stock of whole-milk and solids clash: with these foods, sodium of at most "
        "100 mg/100 g as fed (for safety) and no more than the 1,000 g of whole-milk on hand "
        "together bring more than 19 % solids (20.5 % or more)."
    )
    told = why_not(
        result_of(shelf(["lowfat-buttermilk", "heavy-cream"], [0.001, 0.005]), "lamb-replacer")
    )
    assert told.sentences[-1] == "There are 5 more such clashes."
    assert max(row["conflict"] for row in told.rows) == 8


def test_a_share_or_a_stock_alone():
    one = shelf(["lowfat-buttermilk"], [0.001])
    (sentence,) = why_not(
        result_of(one, own(Band("fat", Basis.AS_FED, "g/100 g", high=9.0)))
    ).sentences
    assert sentence == (
        "No mix of these foods has only 25 % lowfat-buttermilk: the least is 100 %."
    )
    little = shelf(["whole-milk"], [0.001], on_hand=[500.0])
    told = why_not(result_of(little, own(Band("fat", Basis.AS_FED, "g/100 g", high=9.0))))
    assert told.sentences == (
        "These foods need more whole-milk than the 500 g on hand: at least 3,890 g.",
    )


def test_smallest_amounts_in_a_clash():
    big = shelf(["whole-milk", "heavy-cream"], [0.001, 0.006], smallest=[9000.0, 0.0])
    told = why_not(result_of(big, own(Band("fat", Basis.AS_FED, "g/100 g", high=10.0))))
    assert told.sentences == (
        "These foods cannot keep all of this: fat of at most 10 % and at least 9,000 g of "
        "whole-milk if any is used.",
    )
    alone = shelf(["whole-milk"], [0.001], smallest=[9000.0])
    told = why_not(result_of(alone, own(Band("fat", Basis.AS_FED, "g/100 g", high=10.0))))
    assert told.sentences == ("A batch of this size has no room for 9,000 g of whole-milk.",)


def test_ratios_and_both_ends_of_one_band():
    ratio = Band("calcium", Basis.RATIO, "1", low=1.9, over="phosphorus")
    told = why_not(result_of(shelf(COW, PRICE), own(ratio)))
    assert told.sentences[0].startswith(
        "No mix of these foods reaches calcium to phosphorus of at least 1.9 to 1: the most is 1."
    )
    narrow = Band("fat", Basis.AS_FED, "g/100 g", low=5.0, high=5.5)
    few = shelf(["light-cream", "whole-milk"], PRICE[:2], smallest=[0.0, 0.0])
    more = replace(few, on_hand=np.array([30.0, math.inf]))
    check_plain(why_not(result_of(more, own(narrow))))


@st.composite
def results(draw: st.DrawFn, staples: Sequence[str] = ()) -> Mix | NoMix:
    some = st.lists(st.sampled_from(PLAIN), min_size=1, max_size=6, unique=True)
    ids = [*staples, *(name for name in draw(some)[: 6 - len(staples)] if name not in staples)]

    def each(values: Sequence[float]) -> list[float]:
        return draw(st.lists(st.sampled_from(values), min_size=len(ids), max_size=len(ids)))

    shelf_ = shelf(
        ids,
        each([0.001, 0.002, 0.0057, 0.0]),
        on_hand=each([math.inf, math.inf, 250.0]),
        smallest=each([0.0, 0.0, 0.0, 700.0]),
    )
    return result_of(shelf_, draw(st.sampled_from(sorted(band_sets()))))


@given(results())
def test_every_clash_is_told_in_plain_words(result: Mix | NoMix):
    assume(isinstance(result, NoMix))
    told = why_not(result, most=99)
    check_plain(told)
    for conflict, sentence in zip(
        (result.conflict, *result.other_conflicts), told.sentences, strict=True
    ):
        for limit in conflict:
            name = limit.food or limit.band.label.partition(" (")[0]
            assert name.lower() in sentence.lower()
            if limit.band is not None:
                assert f"{limit.value:g}" in sentence
        # What stands in brackets is never nearer the limit than the truth.
        bracket = re.search(r"\(([\d.,]+) \S+( water| as fed)? or (more|less)\)", sentence)
        if bracket and len(conflict) > 1:
            reaches = [best_reach(result.problem, conflict, limit) for limit in conflict]
            shown, way = float(bracket[1].replace(",", "")), bracket[3]
            assert any(
                shown <= reach * (1 + 1e-5) if way == "more" else shown >= reach * (1 - 1e-5)
                for reach in reaches
                if reach is not None
            )


def test_a_strained_yogurt_would_make_it_possible():
    problem = build(shelf(COW, PRICE), band_set("ewe-milk"), VOLUME)
    table = Shelf(tuple(TABLE.values()))
    told = helpers(what_would_help(problem, table), "USD", most=3)
    assert told.sentences == (
        "A strained yogurt would make it possible: nonfat-greek-yogurt, 21 % of the mix by weight "
        "or more (at least 807 g), no price known; or lowfat-greek-yogurt, 22 % of the mix by "
        "weight or more (at least 864 g), no price known; or greek-yogurt, 26 % of the mix by "
        "weight or more (at least 1,010 g), no price known.",
        "So would one more food.",
    )
    assert told.rows[0]["foods"] == ["nonfat-greek-yogurt"]
    assert {row["rule"] for row in told.rows} == {"least added"}
    check_plain(told)


def test_a_priced_helper_has_its_cost():
    problem = build(shelf(COW, PRICE), band_set("ewe-milk"), VOLUME)
    found = what_would_help(problem, shelf(["nonfat-greek-yogurt"], [0.005]))
    (sentence,) = helpers(found, "USD").sentences
    assert re.fullmatch(
        r"A strained yogurt would make it possible: nonfat-greek-yogurt, \d\d % of the mix by "
        r"weight \([\d,]+ g\), \d\.\d\d USD a litre\.",
        sentence,
    )


def test_pairs_and_nothing_at_all():
    water = build(shelf(["water"], [0.0]), band_set("kid-replacer"), VOLUME)
    two = shelf(["unsalted-butter", "nonfat-dry-milk"], [0.01, 0.01])
    (sentence,) = helpers(what_would_help(water, two), "USD").sentences
    assert sentence.startswith("Milk fat and a dry milk together would make it possible: ")
    goat = shelf(["unsalted-butter", "nonfat-dry-milk", "goat-milk"], [0.01, 0.01, 0.05])
    told = helpers(what_would_help(water, goat), "USD")
    start = "Milk fat and a dry milk together would make it for less: "
    assert told.sentences[0].startswith(start)
    assert any(text.startswith("A milk would make it possible: goat-milk, ")
               for text in told.sentences)  # fmt: skip
    useless = shelf(["sweet-whey", "acid-whey"], [0.01, 0.01])
    assert helpers(what_would_help(water, useless)).sentences == (
        "None of the 2 other foods tried would make it possible by itself, "
        "nor would any two of them together.",
    )
    assert helpers(what_would_help(water, useless, pairs=False)).sentences == (
        "None of the 2 other foods tried would make it possible by itself.",
    )
    assert helpers(Additions((), (), ("water",))).sentences == (
        "water was tried and would not make it possible.",
    )
    assert helpers(Additions((), (), (), (("honey", "lactose"),))).sentences == (
        "There was no other food to try.",
        "Not tried, because a value they need is not known: honey (lactose).",
    )


def test_what_to_buy_is_said_in_packages():
    water = build(shelf(["water"], [0.0]), band_set("kid-replacer"), VOLUME)
    foods = shelf(["evaporated-milk", "unsalted-butter", "nonfat-dry-milk"], [0.004, 0.01, 0.01])
    sold = {"unsalted-butter": ("1 pack", 113.0), "nonfat-dry-milk": ("9.6 oz", 272.0)}
    told = helpers(what_would_help(water, foods, packages=sold), "USD")
    assert re.search(r"unsalted-butter, \d(\.\d)? % of the mix by weight \(\d packs?\)",
                     told.sentences[0])  # fmt: skip
    assert re.search(r"\(\d x 9.6 oz\)", told.sentences[0])
    bought = {b["food"]: b for row in told.rows for b in row["to_buy"]}
    assert bought["nonfat-dry-milk"]["packages"] == math.ceil(
        bought["nonfat-dry-milk"]["grams"] / 272.0
    )
    assert bought["nonfat-dry-milk"]["package"] == "9.6 oz"


def test_two_of_one_kind():
    problem = build(shelf(["water"], [0.0]), band_set("kid-replacer"), VOLUME)
    few = shelf(["half-and-half", "nonfat-dry-milk", "dry-buttermilk", "light-cream"], [0.01] * 4)
    told = helpers(what_would_help(problem, few), "USD", most=99)
    check_plain(told)
    assert not any("A cream and a cream" in sentence for sentence in told.sentences)


def costs_of(mix: Mix) -> tuple[ShadowPrice, ...]:
    return shadow_prices(build(mix.shelf, mix.bands, VOLUME), mix)


def test_what_a_little_less_would_save():
    mix = result_of(shelf(COW, PRICE), "lamb-replacer")
    told = cost_reasons(costs_of(mix), "USD")
    assert told.sentences == (
        "Asking for 0.1 % less solids would save 0.015 USD a litre. This holds down to 12.5 %.",
        "Asking for 0.1 % less fat in the dry matter would save less than 0.001 USD a litre. "
        "This holds down to 27.3 %.",
    )
    row = told.rows[0]
    assert row["looser_per_step"] == pytest.approx(-0.0149, abs=1e-4)
    assert row["unit"] == "g/100 g"
    assert row["basis"] == "as_fed"


BAND = band_set("lamb-replacer").bands[0]
LOW = Limit(LimitKind.BAND_LOW, BAND, value=16.0)
SODIUM = Band("sodium", Basis.AS_FED, "mg/100 g", high=100.0, role=Role.SAFETY)


@pytest.mark.parametrize(
    ("cost", "sentence"),
    [
        (  # the range ends before the step does: the step's figure is exact, no range is claimed
            ShadowPrice(LOW, 0.1, Slope(-2.0, 15.95, -2.0, -0.15), Slope(2.0, 17.0, 2.0, 0.2)),
            "Asking for 0.1 % less solids would save 0.15 USD a litre.",
        ),
        (  # a kink
            ShadowPrice(LOW, 0.1, Slope(-2.0, 15.0, -2.0, -0.2), Slope(5.0, 17.0, 5.0, 0.5)),
            "Asking for 0.1 % less solids would save 0.20 USD a litre. This holds down to 15 %. "
            "Asking for 0.1 % more solids would cost 0.50 USD a litre.",
        ),
        (  # the rate changes along the way
            ShadowPrice(LOW, 0.1, Slope(-2.0, 15.0, -1.5, -0.2), Slope(2.0, 17.0, 2.0, 0.2)),
            "Asking for 0.1 % less solids would save about 0.20 USD a litre. "
            "This holds down to 15 %.",
        ),
        (  # nothing to save, something to lose
            ShadowPrice(LOW, 0.1, Slope(0.0, -math.inf, 0.0, 0.0), Slope(5.0, 17.0, 5.0, 0.5)),
            "Asking for 0.1 % more solids would cost 0.50 USD a litre.",
        ),
        (  # the edge of the possible
            ShadowPrice(LOW, 0.1, Slope(-2.0, 15.0, -2.0, -0.2), None),
            "Asking for 0.1 % less solids would save 0.20 USD a litre. This holds down to 15 %. "
            "Asking for more solids is not possible, not even for a part of 0.1 %.",
        ),
        (
            ShadowPrice(LOW, 0.1, Slope(-2.0, 15.0, -2.0, -0.2), Slope(5.0, 16.05, 5.0, None)),
            "Asking for 0.1 % less solids would save 0.20 USD a litre. This holds down to 15 %. "
            "Asking for 0.1 % more solids is not possible.",
        ),
        (
            ShadowPrice(
                Limit(LimitKind.BAND_HIGH, BAND, value=19.0),
                0.1,
                Slope(-2.0, 19.777, -2.0, -0.2),
                Slope(2.0, 17.0, 2.0, 0.2),
            ),
            "Allowing 0.1 % more solids would save 0.20 USD a litre. This holds up to 19.7 %.",
        ),
        (
            ShadowPrice(
                Limit(LimitKind.SHARE, food="skim-milk", value=0.25),
                0.01,
                Slope(-2.0, 0.3, -2.0, -0.02),
                Slope(2.0, 0.2, 2.0, 0.02),
                while_used=True,
            ),
            "Letting skim-milk take 1 % more of the mix would save 0.02 USD a litre. "
            "This holds up to 30 %, while the same foods are used.",
        ),
        (
            ShadowPrice(
                Limit(LimitKind.STOCK, food="skim-milk", value=60.0),
                10.0,
                Slope(-0.01, 88.76, -0.01, -0.1),
                Slope(0.01, 0.0, 0.01, 0.1),
            ),
            "10 g more of skim-milk would save 0.10 USD a litre. This holds up to 88.7 g.",
        ),
        (  # never an invitation to loosen safety
            ShadowPrice(
                Limit(LimitKind.BAND_HIGH, SODIUM, value=100.0),
                10.0,
                Slope(-0.01, 200.0, -0.01, -0.1),
                Slope(0.01, 50.0, 0.01, 0.1),
            ),
            "The safety limit on sodium adds to the cost. Keep it.",
        ),
    ],
)
def test_each_shape_of_a_cost(cost: ShadowPrice, sentence: str):
    told = cost_reasons([cost], "USD")
    assert told.sentences == (sentence,)
    check_plain(told)


def prices_of(mix: Mix, packages: dict[str, tuple[str, float]] | None = None) -> Told:
    problem = build(mix.shelf, mix.bands, VOLUME)
    return price_reasons(mix, entry_prices(problem, mix), price_ranges(problem, mix), packages)


def test_up_to_which_prices():
    mix = result_of(shelf(COW, PRICE), "lamb-replacer")
    told = prices_of(mix, PACKAGES)
    assert told.sentences == (
        "whole-milk stays in the recipe whatever it costs. All amounts stay the same up to "
        "8.07 USD for 2 gallons.",
        "heavy-cream stays in the recipe up to 5.93 USD a quart. All amounts stay the same from "
        "4.97 to 5.93 USD a quart.",
        "nonfat-dry-milk stays in the recipe up to 12.84 USD a kg. All amounts stay the same up "
        "to 12.21 USD a kg.",
        "evaporated-milk would be used below 2.97 USD a kg.",
        "lowfat-buttermilk would be used below 0.66 USD a kg.",
    )
    cream = next(row for row in told.rows if row["food"] == "heavy-cream")
    # Rounded inwards: the true range is wider than the one told.
    assert cream["same_recipe_from"] * 0.96 <= 4.97
    assert cream["same_recipe_to"] * 0.96 >= 5.93
    assert cream["package"] == "1 quart"
    check_plain(told)


def test_two_recipes_that_cost_the_same():
    twin = replace(TABLE["whole-milk"], id="other-milk")
    foods = (twin, *(TABLE[name] for name in ("whole-milk", "heavy-cream", "nonfat-dry-milk")))
    same = Shelf(foods, np.array([0.001, 0.001, 0.006, 0.012]), currency="USD")
    told = prices_of(result_of(same, "lamb-replacer"))
    assert re.match(
        r"Another recipe costs the same: [\d,]+ g (whole|other)-milk, ", told.sentences[0]
    )
    assert sum(row["tied"] for row in told.rows) >= 2


def test_what_is_not_wanted_even_for_nothing():
    mix = result_of(shelf(COW, PRICE), "lamb-replacer")
    entry = EntryPrice("water", 0.0, None, None)
    told = price_reasons(mix, [entry], [])
    assert told.sentences == ("water would not be used even if it were free.",)
    stays = PriceRange("water", 0.0, 0.0, math.inf, None, None, math.inf)
    told = price_reasons(mix, [], [stays])
    assert told.sentences == (
        "water stays in the recipe whatever it costs. All amounts stay the same.",
    )
    check_plain(told)


@settings(max_examples=15)
@given(results(staples=("whole-milk", "heavy-cream", "nonfat-dry-milk")))
def test_all_that_is_told_of_a_mix_is_plain(result: Mix | NoMix):
    assume(isinstance(result, Mix))
    check_plain(cost_reasons(costs_of(result), "USD"))
    check_plain(prices_of(result, PACKAGES))
