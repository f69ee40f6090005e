"""One scours: the veterinarian before any drink, refusals, and the veterinarian's word."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from formulate.answers.rehydrate import Rehydration, rehydrate, seen
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError
from formulate.blend.mix import NoMix
from formulate.blend.solve import TOLERANCE
from formulate.foods.tables import sources
from formulate.kitchen.drink import NoSpoons
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.rearing.flock import Permission
from formulate.rearing.flock_file import FlockRead, parse_flock, sample_flock
from formulate.rearing.scour import Dryness

KITCHEN = sample_pantry()
FINE = {"stands": "yes", "sucks": "yes", "mouth": "warm", "skin": "at-once", "eyes": "normal",
        "gums": "wet"}  # fmt: skip
GOOD = "1 L water + 1/2 tsp low-sodium-salt + 1 1/4 tsp baking-soda + 20 g dextrose"


def check(text: str) -> Rehydration:
    return rehydrate(KITCHEN, recipe=text)


def verdict(text: str) -> Verdict:
    return check(text).drink.judgement.verdict


def reasons(text: str) -> dict[str, Verdict]:
    return {r.id: r.verdict for r in check(text).drink.judgement.reasons}


class TestCheck:
    def test_a_drink_inside_every_range(self):
        assert verdict(GOOD) is Verdict.INSIDE
        assert check(GOOD).good

    def test_no_potassium_and_too_little_alkali(self):
        told = reasons("1 L water + 1/2 tsp salt + 1 tsp baking-soda + 20 g dextrose")
        assert told == {
            "potassium-ions": Verdict.OUTSIDE,
            "strong-ion-difference": Verdict.OUTSIDE,
        }

    @pytest.mark.parametrize(
        "text",
        [
            "1 L water + 8 tsp sugar + 1 tsp salt",
            "1 L water + 6 tsp sugar + 1/2 tsp salt",
            "1 quart water + 2 fl oz corn-syrup + 1/2 tsp salt + 1/4 tsp baking-soda",
            "4.5 L water + 2 tsp salt + 1 tsp baking-soda + 4 fl oz corn-syrup",
            "1 L water + 2 tbsp brown-sugar + 1/2 tsp salt",
            "1 L water + 2 tbsp molasses + 1/2 tsp salt",
        ],
    )
    def test_sugar_that_a_lamb_cannot_use_refuses_it(self, text):
        found = check(text).drink.judgement
        assert found.verdict is Verdict.NEVER
        assert "dextrose" in found.reasons[0].text

    @pytest.mark.parametrize(
        "text",
        [
            "1 L whole-milk + 1/2 tsp low-sodium-salt + 1 tsp baking-soda",
            "500 mL water + 500 mL whole-milk + 1/2 tsp low-sodium-salt + 20 g dextrose",
            f"{GOOD} + 1 tbsp nonfat-dry-milk",
            f"{GOOD} + 1 egg whole-egg",
        ],
    )
    def test_nothing_of_it_goes_into_milk(self, text):
        assert reasons(text)["in-milk"] is Verdict.NEVER

    @pytest.mark.parametrize(
        ("salt", "expected"),
        [("6.98 g", Verdict.OUTSIDE), ("7.2 g", Verdict.NEVER)],
    )
    def test_sodium_above_130_refuses_it(self, salt, expected):
        """Tap water brings 1.7; 7.1 g of SR28's salt another 119.7, and 0.8 g soda 9.5."""
        text = f"1 L water + {salt} table-salt + 0.8 g baking-soda + 20 g dextrose"
        assert (reasons(text).get("sodium-ions") is Verdict.NEVER) is (expected is Verdict.NEVER)
        assert verdict(text) is expected

    @pytest.mark.parametrize(("glucose", "refused"), [("73 g", False), ("76 g", True)])
    def test_above_600_mosm_refuses_it(self, glucose, refused):
        text = f"1 L water + 1/2 tsp low-sodium-salt + 1 1/4 tsp baking-soda + {glucose} dextrose"
        assert (reasons(text)["dissolved"] is Verdict.NEVER) is refused

    def test_between_the_schools_both_are_named(self):
        text = "1 L water + 1/2 tsp low-sodium-salt + 1 1/4 tsp baking-soda + 60 g dextrose"
        told = {r.id: r.text for r in check(text).drink.judgement.reasons}
        assert "Older advice was 500 to 600" in told["dissolved"]
        assert "280 to 360" in told["dissolved"]

    def test_no_water_beside_it_refuses_it(self):
        found = rehydrate(KITCHEN, seen({}, water=False), recipe=GOOD)
        assert found.drink.judgement.verdict is Verdict.NEVER
        assert rehydrate(KITCHEN, seen({}, water=True), recipe=GOOD).good

    def test_no_sodium_at_all_is_told_in_words(self):
        told = {r.id: r.text for r in check("1 L water + 20 g dextrose").drink.judgement.reasons}
        assert "no sodium" in told["sodium-ions"]

    @pytest.mark.parametrize(
        ("text", "fault"),
        [
            ("1 tsp salt + 20 g dextrose", "no water"),
            ("1 L water + a pinch of salt", "is not an amount"),
            ("1 L water + 1 pinch salt", "is not an amount"),
            ("1 L water + 1 spoon salt", "which spoon"),
            ("1 L water + salt", "number"),
            ("1 L water + 2 salt", "no unit"),
            ("1 L water + 1 tsp unobtainium salt", "Did you mean"),
            ("1 L water + 1 tsp epsom salts", "makes scour worse"),
            ("1 L water + 1 tsp glucose", "dextrose, glucose-powder"),
            ("", "empty"),
        ],
    )
    def test_what_cannot_be_read_is_asked_about(self, text, fault):
        with pytest.raises(InputError, match=fault):
            check(text)

    def test_spoons_of_a_metric_kitchen(self):
        """An Australian tablespoon is four teaspoons, a British kitchen's three."""
        text = "1 L water + 1/2 tsp low-sodium-salt + 1 1/4 tsp baking-soda + 20 g dextrose"
        worst = {}
        for country in ("au", "uk"):
            pantry = parse_pantry(
                f'country = "{country}"\nprices_on = 2026-01-01\n'
                '[foods.table-salt]\nprice = 1\npackage = "500 g"\n'
            )
            slips = rehydrate(pantry, recipe=text).drink.slips
            worst[country] = next(s.sodium for s in slips if s.kind == "tablespoon")
        assert worst["au"] == pytest.approx(worst["uk"] * 4 / 3, rel=0.02)


class TestDesign:
    def test_a_drink_is_designed_with_its_proof_and_its_slips(self):
        found = rehydrate(KITCHEN)
        assert found.good
        assert found.drink.designed.exact.certificate.worst <= TOLERANCE
        assert found.drink.slips
        assert not found.agreed
        assert found.weighed.scale_sodium < found.weighed.spoons_sodium

    @pytest.mark.parametrize(
        "looked",
        [
            seen(FINE | {"stands": "no"}),
            seen(FINE | {"sucks": "no"}),
            seen(FINE | {"mouth": "cold"}),
            seen(FINE, temperature="36.9 C"),
            seen(FINE, temperature="98 F"),
            seen(FINE, belly=True),
            seen(FINE, age="36 hours"),
        ],
    )
    def test_where_only_the_veterinarian_helps_nothing_is_designed(self, looked):
        found = rehydrate(KITCHEN, looked, weight="4 kg")
        assert found.drink is None
        assert found.none is None
        assert not found.good
        assert found.check.alarms
        assert all(not animal.amounts for animal in found.animals)

    def test_a_bad_one_is_told_no_amount(self):
        found = rehydrate(KITCHEN, seen(FINE | {"eyes": "deep"}), weight="4 kg")
        assert found.drink is not None
        assert found.animals[0].amounts == ()
        assert "Only a veterinarian" in found.animals[0].stopped

    def test_by_the_scale(self):
        found = rehydrate(KITCHEN, by_scale=True)
        assert all(m.words.endswith(" g") for m in found.drink.measures[1:])
        assert {"tablespoon", "heaped"}.isdisjoint(slip.kind for slip in found.drink.slips)

    def test_a_pantry_that_weighs_is_answered_in_grams(self):
        pantry = parse_pantry(
            'currency = "EUR"\nprices_on = 2026-11-02\nkitchen = "metric"\nmeasures = "scale"\n'
            + "".join(
                f'[foods.{name}]\nprice = 1\npackage = "500 g"\n'
                for name in ("low-sodium-salt", "baking-soda", "dextrose")
            )
        )
        found = rehydrate(pantry)
        assert found.by_scale
        assert found.drink.measures[0].words == "1 L"
        assert rehydrate(pantry, by_scale=False).drink.measures[1].words.endswith("tsp")

    def test_a_kitchen_without_soda_is_told_what_it_lacks(self):
        pantry = parse_pantry(
            'currency = "EUR"\nprices_on = 2026-11-02\n'
            '[foods.low-sodium-salt]\nprice = 1\npackage = "500 g"\n'
            '[foods.dextrose]\nprice = 1\npackage = "500 g"\n'
        )
        found = rehydrate(pantry)
        assert isinstance(found.none, NoMix)
        assert found.missing == (("baking-soda",),)
        assert not found.good

    def test_too_little_water_for_spoons(self):
        found = rehydrate(KITCHEN, water="1 cup")
        assert isinstance(found.none, NoSpoons)
        assert found.none.nearest is not None

    @pytest.mark.parametrize("water", ["3", "1 can", "5 mL", "900 L", "lots"])
    def test_amounts_of_water_that_are_none(self, water):
        with pytest.raises(InputError):
            rehydrate(KITCHEN, water=water)

    def test_cautions_have_sources_and_calves_come_first(self):
        cautions = rehydrate(KITCHEN).drink.judgement.cautions
        assert cautions[0].id == "calves"
        assert {caution.source for caution in cautions} <= set(sources())
        assert "honey" not in {caution.id for caution in cautions}
        weighed = rehydrate(KITCHEN, by_scale=True).drink.judgement.cautions
        assert "level" not in {caution.id for caution in weighed}


class TestAnimals:
    def test_the_flock_each_by_its_age(self):
        found = rehydrate(KITCHEN, read=sample_flock())
        told = {animal.name: animal for animal in found.animals}
        assert list(told) == ["Pip", "Wren", "Bramble", "Dot"]
        assert told["Dot"].stopped
        assert [band for band, _ in told["Wren"].amounts] == [Dryness.LITTLE, Dryness.CLEAR]

    def test_one_animal_has_its_day(self):
        found = rehydrate(KITCHEN, seen(FINE), read=sample_flock(), animal="Wren")
        (animal,) = found.animals
        assert [band for band, _ in animal.amounts] == [Dryness.LITTLE]
        assert sum(sitting.drink for sitting in animal.sittings) == 2

    def test_a_newborn_by_name_has_none(self):
        found = rehydrate(KITCHEN, seen(FINE), read=sample_flock(), animal="dot")
        assert found.drink is None
        assert [alarm.id for alarm in found.check.alarms] == ["newborn"]

    def test_a_weight_of_its_own(self):
        found = rehydrate(KITCHEN, seen(FINE), read=sample_flock(), animal="Wren", weight="4.5 kg")
        assert found.animals[0].kilograms == 4.5

    @pytest.mark.parametrize(
        ("options", "fault"),
        [
            ({"animal": "Wren"}, "no flock"),
            ({"weight": "4"}, "no unit"),
            ({"weight": "90 kg"}, "cannot be the weight"),
            ({"animal": "Wern", "read": sample_flock()}, "Did you mean Wren"),
        ],
    )
    def test_what_cannot_be(self, options, fault):
        with pytest.raises(InputError, match=fault):
            rehydrate(KITCHEN, **options)

    @pytest.mark.parametrize("age", ["nine days", "9", "-1 days", "9 years"])
    def test_ages_that_are_none(self, age):
        with pytest.raises(InputError, match="is not an age"):
            seen({}, age=age)


def flock_with(recipe: str) -> FlockRead:
    text = (
        'feeding_times = ["06:00", "10:00", "14:00", "18:00", "22:00"]\n'
        "[[veterinarian]]\n"
        f'recipe = "{recipe}"\n'
        'name = "Dr A. Sorrel"\non = 2026-11-12\nallows = "for Pip, two days"\n'
        '[animals.Pip]\nspecies = "lamb"\nborn = 2026-11-02\nbirth_weight = "4 kg"\n'
        'weights = [{ on = 2026-11-12, weight = "5 kg" }]\n'
    )
    return parse_flock(text, "flock", datetime(2026, 11, 14, 12))


class TestWord:
    def test_a_veterinarians_word_for_these_amounts(self):
        recipe = rehydrate(KITCHEN).drink.text
        found = rehydrate(KITCHEN, read=flock_with(recipe))
        assert found.agreed
        assert found.permission == Permission(
            recipe, "Dr A. Sorrel", date(2026, 11, 12), "for Pip, two days"
        )

    def test_another_amount_of_the_same_drink(self):
        twice = "2 quarts water + 1 tsp low-sodium-salt + 2 1/2 tsp baking-soda + 4 tbsp dextrose"
        assert rehydrate(KITCHEN, read=flock_with(twice)).agreed

    @pytest.mark.parametrize(
        "recipe",
        [
            "1 quart water + 1/2 tsp low-sodium-salt + 1 tsp baking-soda + 2 tbsp dextrose",
            "1 quart water + 1/2 tsp table-salt + 1 1/4 tsp baking-soda + 2 tbsp dextrose",
            "1 quart water + 1/2 tsp low-sodium-salt + 1 1/4 tsp baking-soda",
            "1 quart whole-milk",
        ],
    )
    def test_a_changed_recipe_voids_it(self, recipe):
        assert not rehydrate(KITCHEN, read=flock_with(recipe)).agreed

    def test_it_never_lifts_a_refusal(self):
        sugar = "1 L water + 8 tsp sugar + 1 tsp salt"
        found = rehydrate(KITCHEN, recipe=sugar, read=flock_with(sugar))
        assert found.drink.judgement.verdict is Verdict.NEVER
        assert not found.good
