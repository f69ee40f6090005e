"""Mixing in the milk's own jug: sizes read, room kept, work laid out."""

from __future__ import annotations

from typing import ClassVar

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.base.errors import AmbiguousName, InputError, UnitError, UnknownName
from formulate.base.units import Kitchen
from formulate.blend.problem import Shelf, build
from formulate.blend.whole.kitchen_mix import (
    KitchenMix,
    NoKitchenMix,
    design_kitchen,
    kitchen_steps,
)
from formulate.blend.whole.steps import step_from_words
from formulate.foods.bands import Role, Standing
from formulate.foods.food import KINDS, Food
from formulate.foods.tables import band_set, food_table, sources, storage_days
from formulate.kitchen.jug import (
    HEADSPACE,
    JugTask,
    Keep,
    parse_container,
    plan_jug,
    prepare,
    room_left,
)

TABLE = food_table()
CUP = 236.5882365


def shelf_of(prices: dict[str, float], **limits) -> Shelf:
    foods = tuple(TABLE[i] for i in prices)
    return Shelf(foods, np.array(list(prices.values())), currency="USD", **limits)


#: Prices are invented.
SAMPLE = {
    "whole-milk": 0.00100, "heavy-cream": 0.0068, "nonfat-dry-milk": 0.0132,
    "evaporated-milk": 0.0047, "lowfat-buttermilk": 0.0027,
}  # fmt: skip


def task_for(text, shelf=None, kitchen=Kitchen.US, steps=None, **how) -> JugTask:
    shelf = shelf_of(SAMPLE) if shelf is None else shelf
    steps = kitchen_steps(shelf.foods, kitchen) if steps is None else steps
    problem = build(shelf, band_set("lamb-replacer"), 1000.0)
    return prepare(problem, steps, parse_container(text, kitchen, TABLE), kitchen, **how)


def mixed(task: JugTask, **wishes) -> KitchenMix | NoKitchenMix:
    return design_kitchen(
        task.problem, task.steps, least_volume=task.least_volume, most_volume=task.most_volume,
        **{"fill": True, **wishes},
    )  # fmt: skip


class TestParseContainer:
    @pytest.mark.parametrize(
        ("text", "kitchen", "volume", "food", "words"),
        [
            ("1 gallon jug of whole-milk", Kitchen.US, 3785.411784, "whole-milk", "1 gallon jug"),
            ("gallon jug full of whole milk", Kitchen.US, 3785.411784, "whole-milk", "gallon jug"),
            ("half-gallon jar", Kitchen.US, 1892.705892, None, "half-gallon jar"),
            ("half a gallon jar", Kitchen.US, 1892.705892, None, "half a gallon jar"),
            ("2 L bottle", Kitchen.METRIC, 2000.0, None, "2 L bottle"),
            ("2 L", Kitchen.METRIC, 2000.0, None, "2 L"),
            ("empty 1 quart jar", Kitchen.US, 946.352946, None, "empty 1 quart jar"),
            ("a pint jar", Kitchen.IMPERIAL, 568.26125, None, "a pint jar"),
            ("1 1/2 L jug of skim-milk", Kitchen.US, 1500.0, "skim-milk", "1 1/2 L jug"),
            ("½-gallon carton of Whole Milk", Kitchen.US, 1892.705892, "whole-milk",
             "½-gallon carton"),
            ("1 gallon of water", Kitchen.US, 3785.411784, "water", "1 gallon"),
        ],
    )  # fmt: skip
    def test_reads(self, text, kitchen, volume, food, words):
        found = parse_container(text, kitchen, TABLE)
        assert found.volume == pytest.approx(volume)
        assert (found.filled_with and found.filled_with.id) == food
        assert found.words == words

    @pytest.mark.parametrize(
        ("text", "error"),
        [
            ("jug", InputError),
            ("", InputError),
            ("0 L jug", InputError),
            ("-1 gallon jug", InputError),
            ("big jug of whole-milk", InputError),
            ("1 gallon whole-milk", InputError),
            ("2 kg tub", UnitError),
            ("2 can", UnitError),
            ("1 gallon jug of whale-milk", UnknownName),
            ("1 gallon jug of nonfat-dry-milk", InputError),
        ],
    )
    def test_refuses(self, text, error):
        with pytest.raises(error):
            parse_container(text, Kitchen.US, TABLE)

    def test_an_unclear_milk_is_no_guess(self):
        with pytest.raises(AmbiguousName):
            parse_container("1 gallon jug of buttermilk", Kitchen.US, TABLE)

    def test_a_metric_kitchen_has_no_gallon(self):
        with pytest.raises(UnitError, match="gallon"):
            parse_container("1 gallon jug", Kitchen.METRIC, TABLE)


class TestMoreThanTheJugHolds:
    """8 cups of milk, a can of a cup and a half and 2 cups of buttermilk, where 10 cups fit."""

    JUG = "2.366 L jug of whole-milk"
    RECIPE: ClassVar = {
        "whole-milk": 8 * 244.0,
        "lowfat-buttermilk": 490.0,
        "evaporated-milk": 378.0,
    }

    def test_overflows_by_a_cup_and_a_half(self):
        jug = parse_container(self.JUG, Kitchen.US, TABLE)
        foods = [TABLE[i] for i in self.RECIPE]
        assert room_left(jug, foods, list(self.RECIPE.values())) / CUP == pytest.approx(
            -1.5, abs=0.05
        )

    def test_the_plan_for_the_same_things_does_not(self):
        task = task_for(self.JUG)
        mix = mixed(task, favourite=self.RECIPE)
        assert (mix.mix.grams[[0, 3, 4]] > 0).all()
        assert plan_jug(task, mix, Kitchen.US).room >= HEADSPACE * 2366 - 1


class TestPrepare:
    def test_a_full_gallon_is_64_quarter_cups(self):
        task = task_for("1 gallon jug of whole-milk")
        assert task.full_count == 64
        assert task.steps[0].rest == 0
        assert task.problem.shelf.on_hand[0] == pytest.approx(16 * 244, rel=1e-5)
        assert task.most_volume == pytest.approx(0.97 * 3785.411784)

    def test_what_no_measure_can_pour_off_stays(self):
        task = task_for("2 L bottle of whole-milk")
        full = 2000 * TABLE["whole-milk"].density
        assert task.steps[0].rest == pytest.approx(full - task.full_count * task.steps[0].grams)
        assert 0 < task.steps[0].rest < task.steps[0].grams

    def test_a_scale_weighs_what_is_poured_off(self):
        shelf = shelf_of(SAMPLE)
        steps = kitchen_steps(shelf.foods, Kitchen.US, "scale")
        task = task_for("2 L bottle of whole-milk", shelf, steps=steps)
        assert (task.steps[0].unit, task.steps[0].grams) == ("g", 5)

    def test_an_empty_jar_changes_no_measure(self):
        task = task_for("half-gallon jar")
        assert task.full_count == 0
        assert task.steps == kitchen_steps(task.problem.shelf.foods, Kitchen.US)
        assert np.isinf(task.problem.shelf.on_hand).all()

    def test_the_jugs_milk_must_be_on_the_shelf(self):
        with pytest.raises(UnknownName, match="must be on the shelf"):
            task_for("1 gallon jug of goat-milk")

    @pytest.mark.parametrize("headspace", [-0.1, 1.0, float("nan")])
    def test_a_headspace_that_leaves_no_room(self, headspace):
        with pytest.raises(InputError, match="leaves no room"):
            task_for("1 gallon jug of whole-milk", headspace=headspace)

    def test_milk_of_unknown_density(self):
        plain = TABLE["whole-milk"]
        mine = Food("my-milk", "My milk", "milk", plain.values)
        shelf = Shelf((mine, TABLE["heavy-cream"]), np.array([0.001, 0.006]))
        steps = kitchen_steps(shelf.foods, Kitchen.US, "scale")
        container = parse_container("1 L jug of my-milk", Kitchen.US, TABLE.with_own([mine]))
        problem = build(shelf, band_set("lamb-replacer"), 1000.0)
        with pytest.raises(InputError, match="the density of"):
            prepare(problem, steps, container, Kitchen.US)


class TestPlan:
    @settings(max_examples=30, deadline=None)
    @given(
        st.sampled_from(
            ["1 gallon jug of whole-milk", "1/2 gallon jug of whole-milk", "1 gallon jug of water",
             "2 L bottle of whole-milk", "1.7 L jug of whole-milk", "3 L jar of lowfat-buttermilk",
             "3 quart pitcher", "20 L bucket", "1 quart jar"]
        ),
        st.sampled_from([Kitchen.US, Kitchen.IMPERIAL]),
        st.sampled_from(["cups", "scale"]),
        st.sampled_from([{}, {"most_foods": 3}, {"use_up": {"lowfat-buttermilk": 1}},
                         {"favourite": {"whole-milk": 800.0, "evaporated-milk": 378.0}}]),
        st.sampled_from([0.0, 0.03, 0.2]),
    )  # fmt: skip
    def test_never_overflows_and_reads_well(self, text, kitchen, measures, wishes, headspace):
        shelf = shelf_of({**SAMPLE, "dry-whole-milk": 0.011, "water": 0.0})
        steps = kitchen_steps(shelf.foods, kitchen, measures)
        task = task_for(text, shelf, kitchen, steps, headspace=headspace)
        mix = mixed(task, **wishes)
        if isinstance(mix, NoKitchenMix):
            return
        plan = plan_jug(task, mix, kitchen)
        most = task.container.volume * (1 - headspace)
        assert all(
            step.level <= task.container.volume * (1 - headspace) + 1e-3 for step in plan.steps
        )
        assert plan.final_volume == pytest.approx(mix.mix.volume)
        assert plan.final_volume <= most + 1e-3
        assert plan.room == pytest.approx(task.container.volume - plan.final_volume)
        for one in mix.mix.reads:
            assert one.band.role is Role.SHOWN or one.standing is Standing.INSIDE
        # What is in it is the jug less what is poured off, and what goes in.
        moved = sum(step.grams for step in plan.steps)
        milk = task.container.filled_with
        full = task.container.volume * milk.density if milk else 0.0
        assert full + moved == pytest.approx(mix.mix.weight)

    def test_of_a_gallon_of_milk(self):
        task = task_for("1 gallon jug of whole-milk")
        plan = plan_jug(task, mixed(task), Kitchen.US)
        first, *others = plan.steps
        assert first.do.startswith("Pour off")
        assert first.grams < 0
        assert "whole milk" in first.do
        kinds = [TABLE[step.food].kind for step in others]
        assert kinds == sorted(kinds, key=["dry-milk", "evaporated", "cream", "cultured"].index)
        assert plan.room >= HEADSPACE * 3785.4 - 1e-3
        assert (
            Keep(
                "whole-milk",
                "poured off",
                -first.grams,
                3,
                "fn-ssb-085",
                storage_days()["milk"].note,
            )
            in plan.keep
        )

    def test_powder_dissolves(self):
        """A cup of powder raises the level by the room of its solids, about a third of a cup."""
        task = task_for("1 gallon jug of whole-milk")
        plan = plan_jug(task, mixed(task), Kitchen.US)
        before = {step.food: level for step, level in zip(
            plan.steps[1:], [s.level for s in plan.steps], strict=False)}  # fmt: skip
        [powder] = [s for s in plan.steps if s.food == "nonfat-dry-milk"]
        rise = powder.level - before["nonfat-dry-milk"]
        heap = powder.grams / TABLE["nonfat-dry-milk"].density
        assert 0.25 < rise / heap < 0.4

    def test_cream_is_late_and_cultured_milk_last(self):
        task = task_for("half-gallon jar")
        wish = {"whole-milk": 1100.0, "nonfat-dry-milk": 60.0, "heavy-cream": 100.0,
                "lowfat-buttermilk": 400.0}  # fmt: skip
        plan = plan_jug(task, mixed(task, favourite=wish), Kitchen.US)
        assert [step.food for step in plan.steps] == [
            "whole-milk", "nonfat-dry-milk", "heavy-cream", "lowfat-buttermilk"
        ]  # fmt: skip
        assert "below 45 °C" in plan.steps[1].do
        assert "just before feeding" in plan.steps[3].do

    def test_a_can_used_in_part_is_kept(self):
        shelf = shelf_of(SAMPLE)
        own = {"evaporated-milk": step_from_words("1/4 cup", TABLE["evaporated-milk"], Kitchen.US)}
        steps = kitchen_steps(shelf.foods, Kitchen.US, own=own)
        task = task_for("1 quart jar", shelf, steps=steps)
        plan = plan_jug(task, mixed(task, favourite={"evaporated-milk": 126.0}), Kitchen.US)
        [kept] = [keep for keep in plan.keep if keep.food == "evaporated-milk"]
        assert (kept.what, kept.days) == ("left in the can", 3)
        assert 0 < kept.grams < 378

    def test_the_mixed_milk_is_for_a_day(self):
        task = task_for("1 quart jar")
        [whole] = [k for k in plan_jug(task, mixed(task), Kitchen.US).keep if k.food == "mix"]
        assert whole.days == 1

    def test_a_mix_for_something_else_is_refused(self):
        task, other = task_for("1 gallon jug of whole-milk"), task_for("2 L bottle of whole-milk")
        with pytest.raises(InputError, match="not designed for the 1 gallon jug"):
            plan_jug(task, mixed(other), Kitchen.US)

    def test_a_mix_too_large_is_refused(self):
        small, large = task_for("1 quart jar"), task_for("1 gallon jug")
        with pytest.raises(InputError, match="do not fit the 1 quart jar"):
            plan_jug(small, mixed(large), Kitchen.US)

    def test_a_cup_is_too_small_for_the_measures(self):
        task = task_for("1 cup jar")
        found = mixed(task, favourite={"whole-milk": 100.0, "heavy-cream": 10.0})
        assert isinstance(found, NoKitchenMix)
        assert found.nearest.mix.volume > CUP


class TestSources:
    def test_every_kind_has_its_place_and_every_step_its_source(self):
        from formulate.kitchen.jug import _ORDER

        assert set(_ORDER) == set(KINDS)
        assert {source for _, _, source in _ORDER.values()} <= set(sources())

    def test_of_storage_days(self):
        for kind, days in storage_days().items():
            assert days.kind == kind
            assert kind in KINDS or kind in ("mix", "reconstituted", "drink")
            assert days.source in sources()
            assert days.opened_days >= 1
            assert days.note

    @pytest.mark.parametrize(
        ("kind", "published"),
        [  # MU Extension MP558, sheet FN-SSB.085 and others: all figures found
            ("evaporated", (4, 3, 7)),
            ("cultured", (3, 7, 14)),
            ("cream", (3, 10)),
            ("milk", (5, 3)),
        ],
    )
    def test_the_shorter_where_sources_differ(self, kind, published):
        assert storage_days()[kind].opened_days == min(published)
