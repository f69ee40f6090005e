"""Whole measures: against every combination there is, on small shelves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from kitchen_cases import QUART, TABLE, Case, ask, cases, shelf_of

from formulate.base.errors import InputError, OutOfTime, SolverFault, UnknownName
from formulate.base.units import Amount, Kitchen, parse_amount
from formulate.blend.problem import Shelf
from formulate.blend.whole import integer as whole
from formulate.blend.whole.kitchen_mix import (
    NEARBY_SMALLER,
    KitchenMix,
    NoKitchenMix,
    leftovers,
    scaled,
)
from formulate.blend.whole.steps import Step, kitchen_steps, measure_words, step_from_words
from formulate.foods.bands import Role, Standing
from formulate.foods.food import Food


def sample_shelf(**limits) -> Shelf:
    """Prices are invented."""
    return shelf_of(
        "whole-milk", "heavy-cream", "nonfat-dry-milk", "evaporated-milk", "lowfat-buttermilk",
        price=[0.00100, 0.0068, 0.0132, 0.0047, 0.0027], **limits,
    )  # fmt: skip


def check_is_good(case: Case, found: KitchenMix, good: np.ndarray) -> None:
    assert (good == found.counts).all(axis=1).any()
    assert found.complete
    assert found.gap == 0


class TestEveryCombination:
    @settings(max_examples=60, deadline=None)
    @given(cases())
    def test_the_cheapest_is_found(self, case):
        found, good = case.ask(), case.good()
        if not len(good):
            assert isinstance(found, NoKitchenMix)
            return
        check_is_good(case, found, good)
        assert found.mix.cost == pytest.approx(case.cost(good).min(), rel=1e-7, abs=1e-9)

    @settings(max_examples=40, deadline=None)
    @given(cases(), st.integers(1, 2))
    def test_with_few_foods(self, case, most):
        found, good = case.ask(most_foods=most), case.good()
        good = good[(good > 0).sum(axis=1) <= most]
        if not len(good):
            assert isinstance(found, NoKitchenMix)
            return
        check_is_good(case, found, good)
        assert (found.mix.grams > 0).sum() <= most
        assert found.mix.cost == pytest.approx(case.cost(good).min(), rel=1e-7, abs=1e-9)

    @settings(max_examples=40, deadline=None)
    @given(cases(), st.data())
    def test_a_favourite_changes_least_and_then_costs_least(self, case, data):
        good = case.good()
        assume(len(good))
        top = good.max(axis=0)
        targets = np.array([data.draw(st.integers(0, int(t) + 2)) for t in top])
        targets[top == 0] = 0
        assume(targets.any())
        wish = {f: float(g) for f, g in zip(case.shelf.ids, case.grams(targets), strict=True) if g}
        found = case.ask(favourite=wish)
        good = good[(good[:, targets > 0] > 0).all(axis=1)]
        if not len(good):
            assert isinstance(found, NoKitchenMix)
            return
        check_is_good(case, found, good)
        change = np.abs(good - targets).sum(axis=1)
        assert found.change == change.min()
        cheapest = case.cost(good[change == change.min()]).min()
        assert found.mix.cost == pytest.approx(cheapest, rel=1e-7, abs=1e-9)

    @settings(max_examples=40, deadline=None)
    @given(cases(), st.data())
    def test_stock_is_used_up_in_the_order_of_urgency(self, case, data):
        good = case.good()
        assume(len(good))
        first, second = data.draw(st.permutations(range(len(case.steps))))[:2]
        ids = case.shelf.ids
        found = case.ask(use_up={ids[first]: 2, ids[second]: -1.5})
        check_is_good(case, found, good)
        good = good[good[:, first] == good[:, first].max()]
        good = good[good[:, second] == good[:, second].max()]
        assert found.mix.cost == pytest.approx(case.cost(good).min(), rel=1e-7, abs=1e-9)
        assert (good == found.counts).all(axis=1).any()

    @settings(max_examples=40, deadline=None)
    @given(cases())
    def test_as_much_as_fits(self, case):
        case = replace(case, least=case.most * 0.3)
        found, good = case.ask(fill=True), case.good()
        if not len(good):
            assert isinstance(found, NoKitchenMix)
            return
        check_is_good(case, found, good)
        volume = case.volume(good)
        full = min(volume.max(), case.most * 0.99) - 1e-6
        assert found.mix.volume >= full
        cheapest = case.cost(good[volume >= full]).min()
        assert found.mix.cost == pytest.approx(cheapest, rel=1e-7, abs=1e-9)

    @settings(max_examples=25, deadline=None)
    @given(cases())
    def test_where_none_works_the_nearest_size_is_found(self, case):
        case = replace(case, least=case.least / 2, most=case.least / 2 * 1.02)
        found = case.ask()
        assume(isinstance(found, NoKitchenMix))
        reach = 3.0
        above = case.good(case.most, case.most * reach)
        below = case.good(case.least / NEARBY_SMALLER, case.least)
        away = np.concatenate(
            (case.volume(above) / case.most, case.least / np.maximum(case.volume(below), 1e-9))
        )
        if not len(away):
            if found.nearest is not None:
                assert found.nearest.mix.volume > case.most * reach * (1 - 1e-6)
            return
        size = found.nearest.mix.volume
        assert found.complete
        # The cheapest there lies in a range as wide as the one asked for, from the nearest on.
        wide = case.most / case.least
        here = size / case.most if size > case.most else case.least / size
        assert away.min() * (1 - 1e-6) <= here <= away.min() * wide * (1 + 1e-6)

    @settings(max_examples=30, deadline=None)
    @given(cases(), st.data())
    def test_the_order_of_the_shelf_does_not_matter(self, case, data):
        order = list(data.draw(st.permutations(range(len(case.steps)))))
        found = case.ask()
        assume(isinstance(found, KitchenMix))
        turned = replace(
            case, shelf=case.shelf.take(order), steps=tuple(case.steps[j] for j in order)
        ).ask()
        assert turned.counts.tolist() == found.counts[order].tolist()


# --- what comes back -----------------------------------------------------------------------------


class TestKitchenMix:
    @pytest.mark.parametrize("kitchen", list(Kitchen))
    @pytest.mark.parametrize("measures", ["cups", "scale"])
    @pytest.mark.parametrize("volume", [2 * QUART, 4 * QUART, 20_000.0])
    def test_bands_hold_after_rounding_and_the_batch_is_never_short(
        self, kitchen, measures, volume
    ):
        shelf = sample_shelf()
        steps = kitchen_steps(shelf.foods, kitchen, measures)
        found = ask(shelf, volume, steps=steps)
        assert isinstance(found, KitchenMix)
        for one in found.mix.reads:
            if one.band.role is not Role.SHOWN:
                assert one.standing is Standing.INSIDE
        assert volume <= found.mix.volume <= 1.05 * volume
        assert found.mix.grams == pytest.approx(
            [s.grams * k for s, k in zip(steps, found.counts, strict=True)]
        )
        assert found.counts.dtype.kind == "i"

    def test_whole_measures_cost_a_little_more_than_grams(self):
        found = ask(sample_shelf())
        assert found.rounding_cost >= -1e-9
        assert found.exact.volume == pytest.approx(found.mix.volume)
        litres = found.mix.volume / 1000
        assert found.batch_rounding_cost == pytest.approx(found.rounding_cost * litres)
        assert found.mix.cost == pytest.approx(found.exact.cost + found.batch_rounding_cost)
        assert found.rounding_cost < 0.1 * found.exact.cost_per_litre

    def test_finer_measures_cost_no_more(self):
        shelf = sample_shelf()
        coarse = ask(shelf)
        fine = ask(shelf, steps=tuple(replace(s, grams=s.grams / 4) for s in coarse.steps))
        assert fine.mix.cost <= coarse.mix.cost + 1e-9

    def test_the_lines_of_the_recipe(self):
        found = ask(sample_shelf())
        lines = found.measures(Kitchen.US)
        assert [line.food for line in lines] == [
            f for f, g in zip(found.mix.shelf.ids, found.mix.grams, strict=True) if g > 0
        ]
        assert sum(line.grams for line in lines) == pytest.approx(found.mix.weight)
        assert all(line.words and line.count > 0 for line in lines)

    def test_the_same_pantry_gives_the_same_recipe(self):
        twins = shelf_of("whole-milk", "whole-milk-no-vitamin-d", "dry-whole-milk", "heavy-cream",
                         price=[0.001, 0.001, 0.012, 0.006])  # fmt: skip
        answers = {tuple(ask(twins).counts.tolist()) for _ in range(3)}
        assert len(answers) == 1
        back = ask(twins.take([3, 2, 1, 0]))
        assert tuple(back.counts.tolist()[::-1]) in answers

    def test_free_food_is_no_trouble(self):
        found = ask(shelf_of("whole-milk", "dry-whole-milk", "heavy-cream", price=[0, 0, 0]))
        assert found.mix.cost == 0
        assert found.rounding_cost == 0

    def test_a_program_that_presolve_called_impossible(self):
        """At a tolerance of 1e-9 HiGHS 1.15.1 lost the answer that it had just given."""
        shelf = shelf_of(
            "lowfat-buttermilk", "whole-buttermilk", "water", "nonfat-dry-milk", "whole-milk",
            "skim-milk", "dry-acid-whey", "reduced-fat-sour-cream", "reduced-fat-buttermilk",
            price=[0.00149, 0.00313, 0.01106, 0.014, 0.00445, 0.00127, 0.00881, 0.00178, 0.00203],
            smallest=np.array([0.0] * 7 + [171.69153926103704, 96.2080805027186]),
        )  # fmt: skip
        found = ask(
            shelf, 3785.0, bands="kid-replacer",
            steps=kitchen_steps(shelf.foods, Kitchen.METRIC, "scale"),
            favourite={"lowfat-buttermilk": 1514.3533411286082,
                       "whole-buttermilk": 647.1788544470468},
        )  # fmt: skip
        assert isinstance(found, KitchenMix)
        assert found.change == 563

    def test_an_early_end_tells_its_gap(self, monkeypatch):
        real = whole.solve_integer

        def stopped(*args, **how):
            answer = real(*args, **how)
            return replace(answer, complete=False, bound=answer.objective * 0.9)

        monkeypatch.setattr(whole, "solve_integer", stopped)
        found = ask(sample_shelf())
        assert not found.complete
        assert found.gap == pytest.approx(0.1)

    def test_an_early_end_without_any_answer_asks_for_more_time(self):
        with pytest.raises(OutOfTime, match=r"no answer was found in .* Allow more time"):
            ask(sample_shelf(), 20_000.0, time_limit=1e-9)

    def test_a_wrong_answer_of_the_solver_is_not_handed_on(self, monkeypatch):
        real = whole.solve_integer

        def wrong(*args, **how):
            answer = real(*args, **how)
            return replace(answer, x=answer.x + np.eye(len(answer.x))[2] * 8)

        monkeypatch.setattr(whole, "solve_integer", wrong)
        with pytest.raises(SolverFault, match="whole measures"):
            ask(sample_shelf())


class TestWishes:
    def test_use_up_takes_the_stock_that_there_is(self):
        stock = np.array([np.inf, np.inf, np.inf, np.inf, 250.0])
        found = ask(sample_shelf(on_hand=stock), use_up={"lowfat-buttermilk": 1})
        assert found.mix.grams[4] == pytest.approx(245.0)  # a whole cup; 5 g are no quarter cup

    def test_a_favourite_that_already_holds_is_not_touched(self):
        shelf = sample_shelf()
        cheapest = ask(shelf)
        wish = {f: g for f, g in zip(shelf.ids, cheapest.mix.grams, strict=True) if g > 0}
        found = ask(shelf, favourite=wish)
        assert found.change == 0
        assert found.counts.tolist() == cheapest.counts.tolist()

    def test_a_favourite_of_another_size_is_scaled(self):
        shelf = sample_shelf()
        room = dict(zip(shelf.ids, shelf.composition.row("volume"), strict=True))
        grams = scaled({"whole-milk": 900.0, "heavy-cream": 60.0}, shelf, 3000.0)
        assert grams["whole-milk"] / grams["heavy-cream"] == pytest.approx(15.0)
        assert sum(room[f] * g for f, g in grams.items()) == pytest.approx(3000.0)

    def test_a_pinch_in_the_favourite_stays(self):
        found = ask(sample_shelf(), favourite={"whole-milk": 1500.0, "heavy-cream": 1.0})
        assert found.mix.grams[1] > 0

    def test_a_rest_is_in_the_mix_whatever_the_count(self):
        shelf = sample_shelf()
        steps = list(kitchen_steps(shelf.foods, Kitchen.US))
        steps[1] = replace(steps[1], rest=20.0)
        found = ask(shelf, steps=tuple(steps), most_foods=3)
        assert found.mix.grams[1] == pytest.approx(20.0 + steps[1].grams * found.counts[1])
        assert (found.mix.grams > 0).sum() <= 3

    def test_whole_packages_leave_something(self):
        shelf = sample_shelf()
        assert leftovers(shelf, np.array([0, 0, 0, 500.0, 0])) == (
            leftovers(shelf, np.array([0, 0, 0, 500.0, 0]), {"evaporated-milk": ("can", 378.0)})
        )
        [left] = leftovers(shelf, np.array([0, 0, 0, 500.0, 0]))
        assert (left.food, left.package, left.packages) == ("evaporated-milk", "can", 2)
        assert left.grams == pytest.approx(256.0)
        assert leftovers(shelf, np.array([900.0, 0, 0, 756.0, 0])) == ()

    def test_a_can_used_by_the_cup_is_a_leftover(self):
        shelf = shelf_of("whole-milk", "evaporated-milk", price=[0.001, 0.0047])
        quarter = step_from_words("1/4 cup", TABLE["evaporated-milk"], Kitchen.US)
        steps = kitchen_steps(shelf.foods, Kitchen.US, own={"evaporated-milk": quarter})
        found = ask(shelf, QUART, steps=steps)
        [left] = found.leftovers
        assert left.packages * 378.0 - left.grams == pytest.approx(found.mix.grams[1])


class TestNoKitchenMix:
    def test_grams_would_do_and_a_larger_batch_does(self):
        shelf = shelf_of("whole-milk", "evaporated-milk", price=[0.001, 0.0047])
        found = ask(shelf, 300.0)
        assert isinstance(found, NoKitchenMix)
        assert found.exact is not None
        assert found.exact.volume == pytest.approx(300.0)
        assert found.too_coarse == ("evaporated-milk",)
        assert found.nearest.mix.volume > 315.0
        assert not found.nearest.mix.misses

    def test_a_smaller_batch_when_the_stock_is_short(self):
        shelf = sample_shelf(on_hand=np.array([1000.0, 100.0, 100.0, 0.0, 0.0]))
        found = ask(shelf, 2000.0)
        assert isinstance(found, NoKitchenMix)
        assert found.exact is None
        assert found.nearest.mix.volume < 2000.0
        assert (found.nearest.mix.grams <= shelf.on_hand + 1e-9).all()

    def test_the_shelf_that_cannot_at_all(self):
        found = ask(shelf_of("skim-milk", "water", price=[0.001, 0]))
        assert isinstance(found, NoKitchenMix)
        assert found.exact is None
        assert found.nearest is None
        assert found.complete


class TestBadInput:
    @pytest.mark.parametrize(
        ("how", "words"),
        [
            ({"most_foods": 0}, "at most 0 foods"),
            ({"favourite": {}}, "favourite recipe is empty"),
            ({"favourite": {"whole-milk": -1.0}}, "is not an amount"),
            ({"favourite": {"whole-milk": float("nan")}}, "is not an amount"),
            ({"use_up": {"whole-milk": float("nan")}}, "is not an amount"),
            ({"favourite": {"whole-milk": 9.0, "heavy-cream": 9.0}, "most_foods": 1}, "2 foods"),
            ({"range": (100.0, 50.0)}, "a batch cannot be"),
            ({"range": (0.0, 50.0)}, "a batch cannot be"),
            ({"range": (50.0, float("inf"))}, "a batch cannot be"),
            ({"time_limit": 0.0}, "too little time"),
            ({"steps": (Step("g", 1, 1),)}, "1 measure was given for 5 foods"),
        ],
    )
    def test_is_refused_in_words(self, how, words):
        with pytest.raises(InputError, match=words):
            ask(sample_shelf(), **how)

    @pytest.mark.parametrize("wish", ["favourite", "use_up"])
    def test_a_food_that_is_not_on_the_shelf(self, wish):
        with pytest.raises(UnknownName, match="buttermilk"):
            ask(sample_shelf(), **{wish: {"buttermilk": 100.0}})

    def test_a_favourite_with_less_on_hand_than_one_measure(self):
        stock = np.array([np.inf, 12.0, np.inf, np.inf, np.inf])
        with pytest.raises(InputError, match="not even one measure of heavy-cream"):
            ask(sample_shelf(on_hand=stock), favourite={"heavy-cream": 100.0})

    def test_stock_below_a_measure_is_reported(self):
        stock = np.array([np.inf, 12.0, np.inf, np.inf, np.inf])
        found = ask(sample_shelf(on_hand=stock))
        assert found.too_coarse == ("heavy-cream",)

    def test_a_food_without_a_price(self):
        with pytest.raises(InputError, match="no price is known for heavy-cream"):
            ask(shelf_of("whole-milk", "heavy-cream", price=[0.001, np.nan]))

    @pytest.mark.parametrize("fields", [(0, 1.0), (1, 0.0), (1, float("nan")), (-1, 1.0)])
    def test_a_measure_of_nothing(self, fields):
        with pytest.raises(InputError, match="cannot be counted"):
            Step("cup", *fields)


# --- measures and their words --------------------------------------------------------------------


def volume_or_weight(words: str, kitchen: Kitchen) -> float:
    return sum(parse_amount(part).size(kitchen) for part in words.split(" + "))


class TestSteps:
    @pytest.mark.parametrize(
        ("food", "kitchen", "measures", "unit", "size"),
        [
            ("whole-milk", Kitchen.US, "cups", "cup", 0.25),
            ("whole-milk", Kitchen.METRIC, "cups", "mL", 50),
            ("whole-milk", Kitchen.US, "scale", "g", 5),
            ("heavy-cream", Kitchen.IMPERIAL, "cups", "tbsp", 2),
            ("heavy-cream", Kitchen.METRIC, "cups", "mL", 25),
            ("greek-yogurt", Kitchen.US, "cups", "cup", 0.25),
            ("nonfat-dry-milk", Kitchen.US, "cups", "tbsp", 1),
            ("nonfat-dry-milk", Kitchen.US, "scale", "g", 1),
            ("unsalted-butter", Kitchen.US, "cups", "tbsp", 1),
            ("cod-liver-oil", Kitchen.US, "cups", "tsp", 1),
            ("evaporated-milk", Kitchen.US, "cups", "can", 1),
            ("evaporated-milk", Kitchen.METRIC, "scale", "can", 1),
            ("whole-egg", Kitchen.METRIC, "scale", "egg", 1),
            ("egg-yolk", Kitchen.US, "cups", "yolk", 1),
            ("duck-egg", Kitchen.US, "cups", "egg", 1),
            ("honey", Kitchen.US, "cups", "tbsp", 1),
            ("water", Kitchen.US, "cups", "cup", 0.25),
        ],
    )
    def test_each_food_by_its_measure(self, food, kitchen, measures, unit, size):
        [step] = kitchen_steps([TABLE[food]], kitchen, measures)
        assert (step.unit, step.size, step.rest) == (unit, size, 0.0)
        assert step.grams == pytest.approx(TABLE[food].grams(Amount(size, unit), kitchen))

    def test_a_spoon_of_powder_is_a_sixteenth_of_its_cup(self):
        [step] = kitchen_steps([TABLE["nonfat-dry-milk"]], Kitchen.US)
        assert step.grams == pytest.approx(120 / 16, rel=1e-5)

    def test_every_food_of_the_table_has_a_measure(self):
        foods = [f for f in TABLE.values() if f.density is not None or f.counts()]
        assert len(foods) > 50
        for kitchen in Kitchen:
            assert all(0 < s.grams < 1000 for s in kitchen_steps(foods, kitchen))
            assert all(0 < s.grams < 1000 for s in kitchen_steps(foods, kitchen, "scale"))

    def test_without_a_cup_weight_the_way_out_is_reported(self):
        food = Food("my-powder", "My powder", "replacer-powder", {})
        with pytest.raises(InputError, match=r"weight of a cup.*scale"):
            kitchen_steps([food], Kitchen.US)
        assert kitchen_steps([food], Kitchen.US, "scale")[0].grams == 1
        own = {"my-powder": Step("g", 10, 10)}
        assert kitchen_steps([food], Kitchen.US, own=own)[0].grams == 10

    def test_an_unknown_way_of_measuring(self):
        with pytest.raises(UnknownName, match="scale"):
            kitchen_steps([TABLE["water"]], Kitchen.US, "scales")

    @pytest.mark.parametrize(
        ("text", "food", "package", "step"),
        [
            ("1/4 cup", "whole-milk", None, Step("cup", 0.25, 61.0)),
            ("¼ cup", "whole-milk", None, Step("cup", 0.25, 61.0)),
            ("1 can", "evaporated-milk", None, Step("can", 1, 378.0)),
            ("can", "evaporated-milk", None, Step("can", 1, 378.0)),
            ("whole can", "evaporated-milk", None, Step("can", 1, 378.0)),
            ("30 g", "nonfat-dry-milk", None, Step("g", 30, 30.0)),
            ("whole package", "nonfat-dry-milk", 907.0, Step("package", 1, 907.0)),
            ("Package", "nonfat-dry-milk", 907.0, Step("package", 1, 907.0)),
            ("1/2 package", "nonfat-dry-milk", 908.0, Step("package", 0.5, 454.0)),
            ("stick", "unsalted-butter", None, Step("stick", 1, 113.0)),
        ],
    )
    def test_a_persons_own_measure(self, text, food, package, step):
        found = step_from_words(text, TABLE[food], Kitchen.US, package)
        assert (found.unit, found.size) == (step.unit, step.size)
        assert found.grams == pytest.approx(step.grams, rel=1e-5)

    @pytest.mark.parametrize("text", ["1 scoop", "handful", "whole package", "", "-1 cup", "cup ½"])
    def test_words_that_are_no_measure(self, text):
        with pytest.raises(InputError):
            step_from_words(text, TABLE["whole-milk"], Kitchen.US)


class TestWords:
    @pytest.mark.parametrize(
        ("unit", "size", "count", "words"),
        [
            ("cup", 0.25, 31, "7 3/4 cups"),
            ("cup", 0.25, 1, "1/4 cup"),
            ("cup", 0.25, 4, "1 cup"),
            ("cup", 0.25, 32, "2 quarts"),
            ("cup", 0.25, 63, "3 quarts + 3 3/4 cups"),
            ("cup", 0.25, 65, "1 gallon + 1/4 cup"),
            ("cup", 0.25, 315, "4 gallons + 3 quarts + 2 3/4 cups"),
            ("cup", 1 / 3, 4, "1 1/3 cups"),
            ("tbsp", 1, 3, "3 tbsp"),
            ("tbsp", 1, 5, "1/4 cup + 1 tbsp"),
            ("tbsp", 1, 16, "1 cup"),
            ("tbsp", 2, 3, "1/4 cup + 2 tbsp"),
            ("tsp", 1, 2, "2 tsp"),
            ("tsp", 1, 17, "1/4 cup + 1 tbsp + 2 tsp"),
            ("can", 1, 1, "1 can"),
            ("can", 1, 2, "2 cans"),
            ("egg", 1, 3, "3 eggs"),
            ("g", 5, 90, "450 g"),
            ("g", 5, 3851, "19.255 kg"),
            ("package", 1, 2, "2 packages"),
            ("package", 0.5, 3, "1 1/2 packages"),
            ("cup", 0.25, 0, "none"),
        ],
    )
    def test_in_a_us_kitchen(self, unit, size, count, words):
        assert measure_words(Step(unit, size, 1.0), count, Kitchen.US) == words

    @pytest.mark.parametrize(
        ("unit", "size", "count", "words"),
        [
            ("mL", 50, 9, "450 mL"),
            ("mL", 50, 37, "1.85 L"),
            ("mL", 25, 5, "125 mL"),
            ("tbsp", 1, 9, "9 tbsp"),
            ("tbsp", 1, 13, "150 mL + 3 tbsp"),
            ("tbsp", 1, 92, "1.35 L + 2 tbsp"),
            ("cup", 0.25, 33, "8 1/4 cups"),
        ],
    )
    def test_in_a_metric_kitchen(self, unit, size, count, words):
        assert measure_words(Step(unit, size, 1.0), count, Kitchen.METRIC) == words
        assert measure_words(Step(unit, size, 1.0), count, Kitchen.UK) == words

    @pytest.mark.parametrize(
        ("unit", "count", "words"),
        [
            ("tbsp", 9, "9 tbsp"),
            ("tbsp", 13, "200 mL + 3 tbsp"),
            ("tsp", 7, "1 tbsp + 3 tsp"),
            ("tsp", 43, "200 mL + 3 tsp"),
        ],
    )
    def test_an_australian_tablespoon_holds_four_teaspoons(self, unit, count, words):
        assert measure_words(Step(unit, 1, 1.0), count, Kitchen.AU) == words

    @given(
        st.sampled_from(
            [("cup", 0.25), ("cup", 1 / 3), ("cup", 0.5), ("tbsp", 1), ("tbsp", 2), ("tbsp", 0.5),
             ("tsp", 1), ("tsp", 0.5), ("mL", 50), ("mL", 25), ("fl oz", 1), ("L", 0.1), ("g", 5),
             ("g", 1), ("g", 2.5), ("oz weight", 1), ("lb", 0.5), ("pint", 1), ("quart", 0.25)]
        ),
        st.integers(1, 3000),
        st.sampled_from(Kitchen),
    )  # fmt: skip
    def test_they_add_up_to_exactly_the_measures(self, measure, count, kitchen):
        unit, size = measure
        assume(kitchen not in (Kitchen.METRIC, Kitchen.AU) or unit not in ("pint", "quart"))
        words = measure_words(Step(unit, size, 1.0), count, kitchen)
        asked = Amount(size * count, unit).size(kitchen)
        assert volume_or_weight(words, kitchen) == pytest.approx(asked, rel=1e-12)

    @given(st.sampled_from(["can", "egg", "yolk", "white", "stick", "scoop"]), st.integers(1, 99))
    def test_counts_read_back(self, unit, count):
        amount = parse_amount(measure_words(Step(unit, 1, 50.0), count, Kitchen.US))
        assert (amount.number, amount.unit) == (count, unit)
