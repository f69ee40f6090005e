"""What to buy: verdicts first, one shopping for several milks, and prices that the pantry shows."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rearing_flocks import NOW, flock, flocks, lamb

from formulate.answers.season import season
from formulate.answers.shop import ShopRequest, shop
from formulate.answers.verdict import Judgement, Reason, Verdict
from formulate.base.clock import Clock
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.rearing.flock import Change, Permission, Species
from formulate.rearing.flock_file import FlockRead, sample_flock
from formulate.report.calendar import events_of
from formulate.report.season_text import season_text
from formulate.report.shopping_shapes import season_shape, shopping_shape
from formulate.report.shopping_text import shopping_text
from formulate.shopping.batches import mixing_step
from formulate.shopping.plan import NoShopping

PANTRY = parse_pantry("""
currency = "EUR"
prices_on = 2026-11-02
kitchen = "metric"
[foods.whole-milk]
price = 1.20
package = "1 L"
sizes = [{ price = 2.10, package = "2 L" }]
[foods.heavy-cream]
price = 2.80
package = "500 mL"
[foods.nonfat-dry-milk]
price = 6.00
package = "500 g"
[recipes]
strong = "2 L whole-milk + 200 mL heavy-cream + 60 g nonfat-dry-milk"
weaker = "2 L whole-milk + 100 mL heavy-cream + 50 g nonfat-dry-milk"
milk = "1 L whole-milk"
""")


def answer(some, pantry=PANTRY, named=None, **request):
    some = replace(some, shopping_days=some.shopping_days or (0, 2, 5))
    return shop(FlockRead(some, NOW), pantry, ShopRequest(**{"seconds": 5.0} | request), named)


def judged(monkeypatch, verdicts):
    """Milks get these verdicts by a food in them, the rest are inside."""

    def judge(mix):
        for food, verdict in verdicts.items():
            if food in {f.id for f, g in zip(mix.shelf.foods, mix.grams, strict=True) if g > 0}:
                reason = Reason("made-up", verdict, f"It holds {food}.", "judgement")
                return Judgement(verdict, (reason,))
        return Judgement(Verdict.INSIDE)

    monkeypatch.setattr("formulate.answers.milks.judge", judge)


CREAM_FREE = "2 L whole-milk + 60 g nonfat-dry-milk"
WITH_CREAM = "2 L whole-milk + 200 mL heavy-cream"


class TestSeveralMilks:
    @given(
        flocks(most=4),
        st.lists(st.sampled_from(["", "weaker", "milk"]), min_size=4, max_size=4),
        st.booleans(),
    )
    @settings(max_examples=12)
    def test_what_is_bought_covers_what_is_fed(self, some, mixes, changing):
        animals = tuple(
            replace(animal, mix=mix) for animal, mix in zip(some.animals, mixes, strict=False)
        )
        change = Change("milk", NOW.date() - timedelta(days=1), 3) if changing else None
        some = replace(some, animals=animals, mix="strong", change=change)
        found = answer(some).plan
        task = found.task
        # Every animal that drinks is in one group, and what they drink is what is fed.
        fed = sum(plan.litres.sum() for who in task.drinkers for plan in who.now.plans)
        assert found.fed + task.batches.left_today == pytest.approx(fed)
        names = [name for who in task.drinkers for name in who.animals]
        assert len(set(names)) == len(names)
        # Each milk is mixed in whole steps, at least as much as is fed of it.
        step = mixing_step(some.kitchen)
        for batch in found.batches:
            assert batch.fed - 1e-9 <= batch.mixed
            assert batch.mixed <= batch.fed + step * (len(task.milks) + 1)
            assert sum(litres for _, litres in batch.milks) == pytest.approx(batch.mixed)
        # Each litre takes its recipe's foods, and no food is used that was not bought.
        by_name = {milk.milk.name: milk for milk in task.milks}
        for batch in found.batches:
            wanted = {}
            for name, litres in batch.milks:
                milk = by_name[name]
                for food, grams in milk.recipe.by_food().items():
                    wanted[food] = wanted.get(food, 0.0) + litres * grams / (milk.mix.volume / 1e3)
            for food, grams in batch.takes:
                assert grams == pytest.approx(wanted[food])
            assert {food for food, grams in wanted.items() if grams > 1e-9} == {
                food for food, _ in batch.takes
            }
        for food in {life.food for life in task.lives}:
            bought = sum(
                p.count * p.grams for t in found.trips for p in t.purchases if p.food == food
            )
            used = sum(grams for b in found.batches for f, grams in b.takes if f == food)
            assert bought >= used - 1e-3

    def test_lambs_and_kids_on_one_recipe_drink_from_one_batch(self):
        some = flock(lamb("Pip"), lamb("Nan", species=Species.KID), mix="strong")
        (who,) = answer(some).plan.task.drinkers
        assert who.animals == ("Pip", "Nan")
        assert len(who.now.plans) == 2

    def test_packages_are_shared_between_milks(self):
        both = flock(lamb("Pip"), lamb("Wren", mix="weaker"), mix="strong")
        alone = [flock(animal, mix="strong") for animal in both.animals]
        cost = answer(both).plan.food_cost
        assert cost <= sum(answer(one).plan.food_cost for one in alone) + 1e-6
        assert len(answer(both).plan.task.foods) == 3

    def test_each_milk_needs_its_own_jars(self):
        some = flock(lamb("Pip"), lamb("Wren", mix="weaker"), mix="strong", jar=1000.0)
        for batch in answer(some).plan.batches:
            apart = [litres for _, litres in batch.milks]
            assert batch.jars == sum(int(np.ceil(v - 1e-9)) for v in apart)

    def test_the_refrigerator_holds_all_of_them(self):
        some = flock(lamb("Pip"), lamb("Wren", mix="weaker"), mix="strong", refrigerator=14000.0)
        found = answer(some).plan
        assert max(batch.room for batch in found.batches) <= 14000.0 + 1e-6

    def test_another_mix_is_offered_to_those_whom_it_suits(self):
        some = flock(lamb("Pip"), lamb("Wren", mix="milk"), mix="strong")
        found = answer(some, also=("weaker",))
        assert [len(who.choices) for who in found.plan.task.drinkers] == [2, 2]
        animals = {stint.animals for stint in found.plan.stints}
        assert animals == {("Pip",), ("Wren",)}

    def test_an_animal_that_has_no_milk_any_more_is_left_out(self):
        grown = lamb("Old", age=90, weight=25.0)
        some = flock(lamb("Pip"), grown, mix="strong")
        found = answer(some)
        assert "Pip" in {name for who in found.plan.task.drinkers for name in who.animals}


class TestVerdicts:
    def both(self):
        return flock(lamb("Pip", mix=CREAM_FREE), lamb("Wren", mix=WITH_CREAM))

    @pytest.mark.parametrize("verdict", [Verdict.NEVER, Verdict.VET, Verdict.UNKNOWN])
    def test_nothing_is_bought_for_a_milk_that_may_not_be_fed(self, monkeypatch, verdict):
        judged(monkeypatch, {"heavy-cream": verdict})
        found = answer(self.both())
        assert [milk.animals for milk in found.refused] == [("Wren",)]
        assert {p.food for t in found.plan.trips for p in t.purchases} == {
            "whole-milk", "nonfat-dry-milk",
        }  # fmt: skip
        assert found.verdict is verdict
        assert not found.yes
        text = " ".join(shopping_text(found).split())
        assert text.startswith("Do not feed this")
        assert f"{WITH_CREAM} for Wren." in text
        assert f"No {WITH_CREAM} is mixed" in text
        shape = shopping_shape(found)
        assert shape["verdict"] == verdict.value
        assert not any("Wren" in event.description for event in events_of(found))

    @pytest.mark.parametrize("verdict", [Verdict.NEVER, Verdict.VET, Verdict.UNKNOWN])
    def test_no_milk_that_may_be_fed_is_no_shopping_no_season_and_no_calendar(
        self, monkeypatch, verdict
    ):
        judged(monkeypatch, {"whole-milk": verdict})
        found = answer(self.both())
        assert found.shopping is None
        assert found.prices == ()
        assert not found.yes
        assert events_of(found) == ()
        assert shopping_shape(found)["status"] == "refused"
        assert shopping_text(found).endswith("Nothing is bought: no milk here may be fed.")
        cost = season(found.read, PANTRY)
        assert (cost.own, cost.animals, cost.others, cost.yes) == (None, (), (), False)
        assert "no milk here may be fed" in season_text(cost)
        assert season_shape(cost)["animals"] == []

    @pytest.mark.parametrize(
        ("verdict", "bought"),
        [(Verdict.VET, True), (Verdict.UNKNOWN, True), (Verdict.NEVER, False)],
    )
    def test_the_veterinarians_word_lets_it_be_bought_but_never_never(
        self, monkeypatch, verdict, bought
    ):
        judged(monkeypatch, {"heavy-cream": verdict})
        word = Permission(WITH_CREAM, "Dr A. Sorrel", date(2026, 11, 12), "for Wren, a week")
        found = answer(replace(self.both(), permissions=(word,)))
        assert ("heavy-cream" in {p.food for t in found.plan.trips for p in t.purchases}) is bought
        assert ("Dr A. Sorrel allowed it on 2026-11-12" in shopping_text(found)) is bought
        assert not found.yes  # it is not right, only allowed

    def test_outside_is_bought_said_first_and_a_no(self, monkeypatch):
        judged(monkeypatch, {"heavy-cream": Verdict.OUTSIDE})
        found = answer(self.both())
        assert not found.yes
        assert found.plan is not None
        text = " ".join(shopping_text(found).split())
        assert text.startswith("Not right yet")
        assert text.index("for Wren.") < text.index("for Pip.")
        mixing = [e for e in events_of(found) if e.kind == "mix" and not e.cancelled]
        assert all("Not right yet" in event.description for event in mixing)

    def test_inside_is_a_yes(self):
        found = shop(sample_flock(), sample_pantry())
        assert found.yes
        assert found.verdict is Verdict.INSIDE

    @pytest.mark.parametrize("verdict", [Verdict.NEVER, Verdict.VET, Verdict.UNKNOWN])
    def test_a_milk_before_that_may_not_be_fed_is_not_mixed(self, monkeypatch, verdict):
        judged(monkeypatch, {"heavy-cream": verdict})
        change = Change(WITH_CREAM, NOW.date(), 4)
        found = answer(flock(lamb("Pip"), mix=CREAM_FREE, change=change))
        assert [milk.milk.name for milk in found.plan.task.milks] == [CREAM_FREE]

    def test_other_milks_that_may_not_be_fed_are_not_compared(self, monkeypatch):
        judged(monkeypatch, {"heavy-cream": Verdict.VET})
        cost = season(FlockRead(flock(lamb("Pip"), mix="milk"), NOW), PANTRY)
        assert {out.name for out in cost.left_out} == {"strong", "weaker"}
        assert cost.others == ()

    def test_other_milks_are_compared_for_the_same_animals(self, monkeypatch):
        judged(monkeypatch, {"heavy-cream": Verdict.VET})
        some = flock(lamb("Pip", mix=CREAM_FREE), lamb("Wren", mix=WITH_CREAM))
        cost = season(FlockRead(some, NOW), PANTRY)
        assert [animal.name for animal in cost.animals] == ["Pip"]
        (other,) = cost.others
        assert {name for milk in other.milks for name in milk.animals} == {"Pip"}
        assert other.season.gained == pytest.approx(cost.own.gained, rel=0.5)

    def test_a_kid_beside_lambs_is_judged_as_a_kid(self):
        read = sample_flock()
        found = shop(read, sample_pantry(), named="cream-and-powder")
        assert not found.yes
        assert found.verdict is Verdict.OUTSIDE
        first = shopping_text(found).splitlines()[0]
        assert "Bramble" in first
        assert "Pip" not in first


class TestPrices:
    def test_nothing_is_bought_that_the_answer_and_the_pantry_do_not_show(self):
        pantry = sample_pantry()
        found = shop(sample_flock(), pantry)
        shown = {(p.food, p.package, p.price) for p in found.prices}
        bought = {(p.food, p.package, p.price) for t in found.plan.trips for p in t.purchases}
        assert bought <= shown
        in_pantry = {
            (item.food.id, package.words, package.price)
            for item in pantry.items
            for package in item.packages
        }
        assert shown <= in_pantry
        text = shopping_text(found)
        for price in found.prices:
            assert any(
                price.food in line and price.package in line and f"{price.price:.2f}" in line
                for line in text.splitlines()
            )
        assert len(shopping_shape(found)["prices"]) == len(found.prices)


class TestTime:
    def test_no_time_for_an_answer_is_said(self, monkeypatch):
        from formulate.base.errors import OutOfTime

        def slow(*arguments, **more):
            raise OutOfTime(0.5)

        monkeypatch.setattr("formulate.shopping.plan.solve_lots", slow)
        found = answer(flock(mix="strong"), seconds=0.5)
        assert isinstance(found.shopping, NoShopping)
        assert found.shopping.reason == "no way to buy it was found in 0.5 s"
        assert not found.yes

    def test_the_season_keeps_to_one_clock(self, monkeypatch):
        hand, given = [0.0], []

        def watched(read, pantry, request, name, *, clock):
            given.append(clock.left())
            hand[0] += clock.left()  # every search takes all it is given
            return shop(read, pantry, request, name, clock=Clock(1.0))

        monkeypatch.setattr("formulate.answers.season.shop", watched)
        monkeypatch.setattr(
            "formulate.answers.season.Clock", lambda seconds: Clock(seconds, lambda: hand[0])
        )
        season(sample_flock(), sample_pantry(), ShopRequest(seconds=6.0))
        assert len(given) == 1 + len(sample_pantry().recipes)
        assert sum(given) <= 6.0 + 1e-9
