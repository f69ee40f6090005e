"""What stands on the card and the labels: one milk in two amounts, judged for its drinkers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.answers.sheet import Sheet, SheetMilk, SheetRequest, default_jar, sheet
from formulate.answers.verdict import Judgement, Reason, Verdict
from formulate.base.errors import InputError
from formulate.base.units import Kitchen, unit_size
from formulate.kitchen.jug import HEADSPACE
from formulate.kitchen.same_milk import SAME_WITHIN
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import Permission
from formulate.rearing.flock_file import FlockRead, parse_flock, sample_flock

PANTRY = sample_pantry()


def made(read: FlockRead | None = None, **asked: str) -> Sheet:
    return sheet(PANTRY, SheetRequest(**asked), read)


def only(found: Sheet) -> SheetMilk:
    (milk,) = found.milks
    return milk


def foods_of(amount) -> dict[str, float]:
    measured = amount.portion.measured
    return dict(zip(measured.shelf.ids, measured.grams, strict=True))


def on(mix: str, **more) -> FlockRead:
    read = sample_flock()
    animals = tuple(replace(animal, mix="") for animal in read.flock.animals)
    return replace(read, flock=replace(read.flock, mix=mix, change=None, animals=animals, **more))


class TestWithoutAFlock:
    def test_it_is_about_a_day_for_two(self):
        milk = only(made())
        assert milk.plans == ()
        assert 1892.7 <= milk.day.portion.volume <= 1.05 * 1892.8
        assert milk.container.words == "1 quart jar"

    @pytest.mark.parametrize("litres", [1.0, 3.0])
    def test_the_day_is_as_large_as_is_asked(self, litres):
        volume = only(made(make=f"{litres} L")).day.portion.volume
        assert 1e3 * litres <= volume <= 1.05e3 * litres + 1

    def test_what_no_foods_make_is_handed_back_with_the_reason(self):
        for asked in ({"reference": "ewe-milk"}, {"make": "40 mL"}):
            found = made(**asked)
            assert found.milks == ()
            assert found.design.no is not None
            assert not found.yes

    def test_a_mix_that_may_not_be_fed_is_refused(self, monkeypatch):
        reason = Reason("made-up", Verdict.NEVER, "It is made up.", "judgement")
        judged = Judgement(Verdict.NEVER, (reason,))
        monkeypatch.setattr("formulate.answers.judged.judge", lambda mix: judged)
        found = made()
        assert found.milks == ()
        assert [milk.verdict for milk in found.refused] == [Verdict.NEVER]

    def test_naming_a_milk_needs_a_flock(self):
        with pytest.raises(InputError, match="without a flock"):
            made(mix="plain-milk")


class TestOneMilk:
    """The two columns are one milk, or there is one column."""

    @pytest.mark.parametrize("recipe", sorted(PANTRY.recipes))
    @pytest.mark.parametrize("jar", ["1 pint jar", "1 quart jar", "half-gallon jar", "3 L pail"])
    def test_both_amounts_hold_the_recipes_foods_in_its_proportions(self, recipe, jar):
        milk = made(on(recipe), container=jar).milks[0]
        wanted = PANTRY.recipes[recipe].by_food()
        for amount in filter(None, (milk.day, milk.jar)):
            foods = foods_of(amount)
            assert foods.keys() == wanted.keys()
            assert amount.portion.shift <= SAME_WITHIN
            assert amount.plan.steps[-1].level == pytest.approx(amount.portion.volume)
            assert {step.food for step in amount.plan.steps} == wanted.keys()
        assert milk.jar is not None
        size = milk.container.volume
        assert 0.75 * size * (1 - HEADSPACE) <= milk.jar.portion.volume <= size * (1 - HEADSPACE)

    def test_solids_fat_and_protein_are_the_same_in_both(self):
        for milk in made(sample_flock()).milks:
            reads = []
            for amount in (milk.day, milk.jar):
                measured = amount.portion.measured
                rows = [measured.shelf.composition.row(m) for m in ("solids", "fat", "protein")]
                reads.append([row @ measured.grams / amount.portion.volume for row in rows])
            np.testing.assert_allclose(reads[0], reads[1], rtol=2 * SAME_WITHIN)

    def test_where_no_measures_keep_it_one_milk_there_is_no_jar(self):
        milk = only(made(on("cream-and-powder"), container="20 mL bottle"))
        assert milk.jar is None
        assert milk.jars == np.ceil(milk.day.portion.volume / (20 * (1 - HEADSPACE)))

    def test_a_jug_full_of_another_milk_is_not_filled(self):
        milk = only(made(on("bag"), container="1 gallon jug of whole-milk"))
        assert milk.jar is None

    def test_rounding_never_makes_the_verdict_worse(self):
        for recipe in PANTRY.recipes:
            for milk in made(on(recipe)).milks:
                for fed in milk.fed:
                    for amount in filter(None, (milk.day, milk.jar)):
                        rounded = replace(fed.recipe, grams=amount.portion.measured.grams)
                        from formulate.answers.verdict import judge
                        from formulate.pantry.reading import check

                        again = judge(check(rounded, fed.mix.bands, PANTRY))
                        assert again.verdict.rank >= fed.verdict.rank

    @given(st.floats(150, 20_000))
    @settings(max_examples=25)
    def test_a_batch_is_never_short_and_never_much_larger(self, volume):
        for recipe in ("cream-and-powder", "kid-jug"):
            milk = made(on(recipe), make=f"{volume:.1f} mL").milks[0]
            assert volume - 0.1 <= milk.day.portion.volume <= 1.25 * volume + 0.1
            assert milk.day.portion.shift <= SAME_WITHIN


class TestOfAFlock:
    def test_each_milk_with_those_who_drink_it(self):
        lambs, kid = made(sample_flock()).milks
        assert lambs.name == "cream-and-powder"
        assert [fed.animals for fed in lambs.fed] == [("Pip", "Wren", "Dot")]
        assert [fed.animals for fed in kid.fed] == [("Bramble",)]
        assert lambs.before.name == "cream-and-cans"
        assert kid.before is None
        for milk in (lambs, kid):
            today = sum(p.litres_by_day()[0] * p.share_new[0] for p in milk.plans)
            assert 1e3 * today <= milk.day.portion.volume <= 1.25e3 * today
            assert milk.container.volume == pytest.approx(unit_size("quart", Kitchen.US))

    def test_lambs_and_kids_on_one_recipe_are_one_milk(self):
        milk = only(made(on("cream-and-powder")))
        assert [str(fed.species) for fed in milk.fed] == ["lamb", "kid"]
        assert len(milk.plans) == 2
        assert milk.verdict is Verdict.OUTSIDE  # for the kid

    def test_the_card_is_of_what_they_drink_not_of_a_better_milk(self):
        found = made(on("plain-milk"))
        assert foods_of(only(found).day).keys() == {"whole-milk"}
        assert found.verdict is Verdict.OUTSIDE
        assert not found.yes

    def test_one_milk_for_all_instead(self):
        found = made(sample_flock(), mix="plain-milk")
        assert {milk.name for milk in found.milks} == {"plain-milk"}

    def test_what_the_flock_file_says_is_not_designed_away(self):
        for asked in ({"reference": "lamb-replacer"}, {"keep_to": "plain-milk"}):
            with pytest.raises(InputError, match="flock file says"):
                made(sample_flock(), **asked)

    def test_one_size_for_several_milks_is_asked_about(self):
        with pytest.raises(InputError, match="several milks: cream-and-powder, kid-jug"):
            made(sample_flock(), make="2 L")

    def test_a_jar_of_the_flocks_own_size(self):
        milk = only(made(on("plain-milk", jar=700.0)))
        assert milk.container.words == "0.7 L jar"

    @pytest.mark.parametrize("kitchen", list(Kitchen))
    def test_a_jar_in_every_kitchen(self, kitchen):
        milk = only(made(on("plain-milk", jar=1000.0, kitchen=kitchen)))
        assert milk.container.words == "1 L jar"

    def test_a_newborn_alone_gets_tomorrows_batch(self):
        read = sample_flock()
        newborn = replace(read.flock, animals=read.flock.animals[-1:], change=None)
        milk = only(made(replace(read, flock=newborn)))
        tomorrow = milk.plans[0].litres_by_day()[1]
        assert milk.plans[0].litres_by_day()[0] == 0
        assert milk.day.portion.volume >= 1e3 * tomorrow

    def test_the_same_on_every_run(self):
        one, two = made(sample_flock()), made(sample_flock())
        for a, b in zip(one.milks, two.milks, strict=True):
            assert a.day.portion == b.day.portion
            assert a.jar.portion == b.jar.portion

    def test_noon_and_evening_plan_the_same_day(self):
        text = files("nutrient_tables").joinpath("sample_flock.toml").read_text("utf-8")
        evening = parse_flock(text, "flock.toml", datetime(2026, 11, 14, 21))
        one, two = made(evening), made(sample_flock())
        assert [m.day.portion for m in one.milks] == [m.day.portion for m in two.milks]


class TestVerdicts:
    MILK = "1 quart whole-milk + 1/2 cup heavy-cream + 1/4 cup nonfat-dry-milk"

    def judged(self, monkeypatch, verdict):
        reason = Reason("made-up", verdict, "It is made up.", "judgement")
        found = Judgement(verdict, (reason,))
        monkeypatch.setattr("formulate.answers.milks.judge", lambda mix: found)
        monkeypatch.setattr("formulate.answers.sheet.judge", lambda mix: found)

    @pytest.mark.parametrize(
        ("verdict", "alone", "with_word"),
        [
            (Verdict.NEVER, False, False),
            (Verdict.VET, False, True),
            (Verdict.UNKNOWN, False, True),
            (Verdict.OUTSIDE, True, True),
            (Verdict.INSIDE, True, True),
        ],
    )
    def test_what_may_not_be_fed_is_not_written_down(self, monkeypatch, verdict, alone, with_word):
        self.judged(monkeypatch, verdict)
        word = Permission(self.MILK, "Dr A. Sorrel", date(2026, 11, 12), "for all of them")
        for read, written in (
            (on(self.MILK), alone),
            (on(self.MILK, permissions=(word,)), with_word),
        ):
            found = made(read)
            assert bool(found.milks) is written
            assert bool(found.refused) is not written
            assert found.verdict is verdict
            assert found.yes is (verdict is Verdict.INSIDE)


def test_metric_jars_are_litres():
    assert default_jar(Kitchen.METRIC) == "1 L jar"
