"""Spread between cartons: where it comes from, and that draws stay possible foods."""

import csv
import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import suitable_foods

from formulate.base.errors import InputError
from formulate.foods.food import KINDS, Composition, Food, Value, row_numbers
from formulate.foods.measures import MEASURES
from formulate.foods.spread import (
    DEFAULT_SAMPLES,
    FOLLOWS,
    VARIES,
    WORST,
    DefaultSpread,
    rest_taker,
    spread_of,
)
from formulate.foods.tables import default_spreads, food_table, sources
from nutrient_tables import open_table

WHOLE = ("water", "fat", "protein", "carbohydrate", "ash")


def at(spread, food, measure):
    i = spread.composition.ids.index(food)
    return float(spread.sd[i, VARIES.index(measure)])


def one(kind="milk", **values):
    amounts = {"water": 88.0, "fat": 3.0, "protein": 3.0, "carbohydrate": 5.0, "ash": 1.0} | values
    made = {n: v if isinstance(v, Value) else Value(v, "own") for n, v in amounts.items()}
    return Food("one", "One", kind, made)


def test_the_table_gives_standard_error_times_root_n_pooled_with_the_kind():
    spread = spread_of([food_table()["whole-milk"]], default_spreads())
    sampled, usual = 0.029 * math.sqrt(27), 0.048 * 3.15  # SR28 01077: 3.15 ± 0.029, n = 27
    pooled = math.sqrt((26 * sampled**2 + DEFAULT_SAMPLES * usual**2) / (26 + DEFAULT_SAMPLES))
    assert at(spread, "whole-milk", "protein") == pytest.approx(pooled)
    assert pooled == pytest.approx(0.151, abs=1e-3)


def test_more_samples_make_the_mean_surer_but_the_cartons_no_more_alike():
    def protein(n):
        return one(protein=Value(3.0, "own", n=n, standard_error=0.3 / math.sqrt(n)))

    few = at(spread_of([protein(30)], default_spreads()), "one", "protein")
    many = at(spread_of([protein(3000)], default_spreads()), "one", "protein")
    assert many == pytest.approx(0.3, rel=1e-2)
    assert few == pytest.approx(many, rel=0.1)


@pytest.mark.parametrize(
    ("n", "error"), [(3, 0.0), (2, 0.0), (1, 0.2), (0, None), (None, None), (1, None)]
)
def test_a_handful_of_samples_does_not_look_like_no_spread(n, error):
    food = one(protein=Value(3.0, "own", n=n, standard_error=error))
    found = at(spread_of([food], default_spreads()), "one", "protein")
    usual = 0.048 * 3.0
    assert 0.7 * usual < found <= usual * (1 + 1e-12)


def test_the_interval_of_a_panel_comes_first():
    food = one(fat=Value(3.0, "own", n=50, standard_error=0.1, low=2.9, high=3.4))
    spread = spread_of([food], default_spreads())
    s = VARIES.index("fat")
    assert spread.sd[0, s] == pytest.approx(0.5 / math.sqrt(12))
    assert (spread.below[0, s], spread.above[0, s]) == pytest.approx((0.1, 0.4))
    assert spread.origin[0][s] == "carton"


def test_without_samples_the_kind_decides_and_then_any_kind():
    spread = spread_of([food_table()["whole-buttermilk"]], default_spreads())
    default = default_spreads()["cultured", "fat"]
    mean = food_table()["whole-buttermilk"].value("fat")
    assert at(spread, "whole-buttermilk", "fat") == pytest.approx(default.relative_sd * mean)
    zinc = default_spreads()["*", "zinc"].relative_sd
    made = one(zinc=0.4)
    assert at(spread_of([made], default_spreads()), "one", "zinc") == pytest.approx(0.4 * zinc)


def test_a_known_spread_is_taken_as_it_is():
    spread = spread_of([one()], default_spreads(), {"one": {"fat": 0.7}})
    assert at(spread, "one", "fat") == 0.7
    assert spread.origin[0][VARIES.index("fat")] == "given"


@pytest.mark.parametrize(
    ("known", "words"),
    [
        ({"one": {"fat": 3.5}}, "larger than its mean"),
        ({"one": {"fat": -0.1}}, "must be a number of zero or more"),
        ({"one": {"fat": math.nan}}, "must be a number of zero or more"),
        ({"one": {"water": 1.0}}, "what the others leave"),
        ({"one": {"lactose": 0.1}}, "moves with carbohydrate"),
        ({"one": {"sodium": 1.0}}, "larger than its mean"),
        ({"two": {"fat": 0.1}}, "not among the foods"),
    ],
)
def test_a_spread_that_makes_no_sense_is_reported(known, words):
    with pytest.raises(InputError, match=words):
        spread_of([one(sodium=0.5)], default_spreads(), known)


@pytest.mark.parametrize(("low", "high"), [(3.2, 3.4), (2.0, 2.9), (-0.5, 3.5)])
def test_an_interval_that_does_not_hold_its_value_is_reported(low, high):
    with pytest.raises(InputError, match="its own interval"):
        spread_of([one(fat=Value(3.0, "own", low=low, high=high))], default_spreads())


def test_a_table_spread_above_its_mean_is_cut_to_it():
    water = food_table()["water"]  # sodium 4 ± 0.322, n = 287: spread 5.5
    assert at(spread_of([water], default_spreads()), "water", "sodium") == 4.0


def test_every_value_of_the_table_that_varies_has_a_spread():
    foods = tuple(food_table().values())
    spread = spread_of(foods, default_spreads())
    for i, food in enumerate(foods):
        rest = rest_taker(spread.composition, i)
        for s, name in enumerate(VARIES):
            expected = food.value(name) > 0 and name != rest
            assert (spread.sd[i, s] > 0) == expected, (food.id, name)
            assert bool(spread.origin[i][s]) == expected


def test_every_default_tells_its_source_and_can_be_found_again():
    with open_table("usda-sr28/values") as lines:
        table = {(row["food"], row["measure"]): row for row in csv.DictReader(lines)}
    rows = [row for row in table.values() if row["standard_error"] and float(row["value"]) > 0]
    for (kind, measure), default in default_spreads().items():
        assert kind == "*" or kind in KINDS
        assert measure in VARIES
        assert default.source in sources()
        assert 0 < default.relative_sd <= 1
        assert default.why
        assert (default.source == "judgement") == default.why.startswith("judgement: ")
        single = re.match(
            r"\d{5} \(([\w-]+)\)(?:, as ([\w-]+))?: ([\d.]+) × √(\d+) of", default.why
        )
        if single:
            food, other, error, n = single.groups()
            row = table[food, other or measure]
            assert (float(row["standard_error"]), int(row["n"])) == (float(error), int(n))
            relative = float(error) * math.sqrt(int(n)) / float(row["value"])
            assert default.relative_sd == pytest.approx(relative, abs=6e-4)
        elif default.why.startswith("median of"):
            distinct = {
                (r["value"], r["n"], r["standard_error"])
                for r in rows
                if r["measure"] == measure and int(r["n"]) >= 5
            }
            relative = np.median([float(e) * math.sqrt(int(n)) / float(v) for v, n, e in distinct])
            assert default.relative_sd == pytest.approx(relative, abs=6e-4)
            assert f"median of {len(distinct)} foods" in default.why


def test_milk_sugar_takes_what_the_spread_of_water_leaves():
    table = {m: food_table()["whole-milk"].values[m] for m in ("water", "protein", "ash")}
    fat = food_table()["whole-milk-no-vitamin-d"].values["fat"]
    squared = {m: v.standard_error**2 * v.n for m, v in (table | {"fat": fat}).items()}
    left = math.sqrt(squared["water"] - squared["protein"] - squared["ash"] - squared["fat"])
    lactose = food_table()["whole-milk"].value("carbohydrate")
    assert default_spreads()["milk", "carbohydrate"].relative_sd == pytest.approx(
        left / lactose, abs=6e-4
    )
    # So the solids of whole milk spread as the water of the table does.
    spread = spread_of([food_table()["whole-milk"]], default_spreads())
    solids = np.eye(len(MEASURES))[row_numbers(["solids"])]
    assert 100 * spread.of_forms(solids)[0, 0] == pytest.approx(
        math.sqrt(squared["water"]), rel=0.02
    )


@given(st.lists(suitable_foods(), min_size=1, max_size=4, unique_by=lambda f: f.id))
@settings(max_examples=25)
def test_solids_add_up_in_every_draw_and_nothing_is_negative(foods):
    spread = spread_of(foods, default_spreads())
    drawn = spread.draw(300, np.random.default_rng(7))
    rows = row_numbers(WHOLE)
    total, mean = drawn[:, rows].sum(axis=1), spread.composition.per_gram[rows].sum(axis=0)
    np.testing.assert_allclose(total, np.broadcast_to(mean, total.shape), rtol=0, atol=1e-12)
    names = [n for n in VARIES if n not in WHOLE] + [*WHOLE, *FOLLOWS]
    assert np.nanmin(drawn[:, row_numbers(names)]) > -1e-12


@pytest.mark.parametrize(
    "food", ["whole-milk", "nonfat-dry-milk", "salted-butter", "lowfat-buttermilk", "dry-whole-egg"]
)
def test_draws_keep_the_means_and_the_spreads(food):
    spread = spread_of([food_table()[food]], default_spreads())
    drawn = spread.draw(40_000, np.random.default_rng(3))[:, :, 0] * 100
    for s, name in enumerate(VARIES):
        sd = spread.sd[0, s]
        if sd > 0:
            values = drawn[:, row_numbers([name])[0]]
            mean = spread.composition.foods[0].value(name)
            assert values.mean() == pytest.approx(mean, abs=5 * sd / 200)
            cut = spread.limit[0, s] < 3
            assert values.std() == pytest.approx(sd, rel=0.03) or (cut and values.std() < sd)


def test_sugars_follow_the_carbohydrate_and_amino_acids_the_protein():
    spread = spread_of([food_table()["whole-milk"]], default_spreads())
    drawn = spread.draw(50, np.random.default_rng(1))[:, :, 0]
    for name, leader in FOLLOWS.items():
        follower, led = (drawn[:, row_numbers([n])[0]] for n in (name, leader))
        if np.isfinite(follower).all() and follower.any():
            assert np.ptp(follower / led) < 1e-12


def test_a_dry_food_varies_in_water_and_a_wet_one_in_solids():
    composition = Composition.of([food_table()[f] for f in ("nonfat-dry-milk", "whole-milk")])
    assert rest_taker(composition, 0) == "carbohydrate"
    assert rest_taker(composition, 1) == "water"
    spread = spread_of(composition, default_spreads())
    assert at(spread, "nonfat-dry-milk", "water") > 0
    assert at(spread, "whole-milk", "water") == 0


def test_a_draw_never_asks_the_rest_for_more_than_it_has():
    # A thick food of little water whose solids spread wildly.
    food = one(water=10.0, fat=40.0, protein=30.0, carbohydrate=19.0)
    known = {"one": {"fat": 40.0, "protein": 30.0, "carbohydrate": 19.0, "ash": 1.0}}
    drawn = spread_of([food], default_spreads(), known).draw(5000, np.random.default_rng(2))
    assert drawn[:, row_numbers(["water"])].min() > -1e-12
    assert drawn[:, row_numbers(["fat"])].min() > -1e-12


def test_cartons_that_are_stirred_together_average_out():
    spread = spread_of([food_table()[f] for f in ("whole-milk", "heavy-cream")], default_spreads())
    four = spread.averaged(np.array([4, 1]))
    np.testing.assert_allclose(four.sd[0], spread.sd[0] / 2)
    np.testing.assert_allclose(four.sd[1], spread.sd[1])


def test_totals_are_those_of_the_compositions_and_do_not_depend_on_the_block():
    foods = [food_table()[f] for f in ("whole-milk", "heavy-cream", "nonfat-dry-milk")]
    spread = spread_of(foods, default_spreads())
    grams, rows = np.array([900.0, 60.0, 40.0]), row_numbers(["solids", "fat", "volume", "sodium"])

    def drawn(chunk):
        blocks = spread.totals(3000, np.random.default_rng(5), grams, rows, chunk)
        return np.concatenate([block.copy() for block in blocks])

    np.testing.assert_allclose(drawn(1), drawn(1 << 22), rtol=1e-12)
    totals = np.concatenate(
        [b.copy() for b in spread.totals(60_000, np.random.default_rng(6), grams, rows)]
    )
    mean = spread.composition.per_gram[rows] @ grams
    covariance = spread.covariance(grams, rows)
    error = np.sqrt(np.diag(covariance) / len(totals))
    assert (np.abs(totals.mean(axis=0) - mean) < 4 * error).all()
    scale = np.sqrt(np.outer(np.diag(covariance), np.diag(covariance)))
    assert (np.abs(np.cov(totals.T) - covariance) < 0.03 * scale).all()
    whole = spread.draw(20_000, np.random.default_rng(8))[:, rows] @ grams
    assert (np.abs(np.cov(whole.T) - covariance) < 0.04 * scale).all()


def test_the_worst_carton_is_the_far_end_of_what_19_of_20_do():
    spread = spread_of([food_table()["whole-milk"]], default_spreads())
    fat = np.eye(len(MEASURES))[row_numbers(["fat"])]
    assert spread.worst_of_forms(fat)[0, 0] * 100 == pytest.approx(
        WORST * at(spread, "whole-milk", "fat")
    )


def test_a_default_spread_can_be_ones_own():
    mine = {("milk", "fat"): DefaultSpread("milk", "fat", 0.5, "own", "a guess")}
    assert at(spread_of([one()], mine), "one", "fat") == 1.5
    assert at(spread_of([one()], mine), "one", "protein") == 0
