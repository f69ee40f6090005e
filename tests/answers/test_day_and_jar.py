"""A day's batch and a jar's: the same recipe, as large as the animals ask."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from importlib.resources import files

import numpy as np
import pytest

from formulate.answers.day_and_jar import DayAndJar, day_and_jar, default_jar
from formulate.base.errors import InputError
from formulate.base.units import Kitchen, unit_size
from formulate.blend.mix import Mix, NoMix
from formulate.blend.whole.kitchen_mix import NoKitchenMix
from formulate.foods.tables import band_set
from formulate.kitchen.jug import HEADSPACE, parse_container
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock_file import FlockRead, parse_flock

LAMB = band_set("lamb-replacer")


def sample_flock() -> FlockRead:
    text = files("nutrient_tables").joinpath("sample_flock.toml").read_text("utf-8")
    return parse_flock(text, "flock.toml")


def made(**more) -> DayAndJar:
    found = day_and_jar(sample_pantry(), LAMB, **more)
    assert isinstance(found, DayAndJar)
    return found


def foods_of(mix: Mix) -> set[str]:
    return {food for food, grams in zip(mix.shelf.ids, mix.grams, strict=True) if grams > 0}


def test_without_a_flock_it_is_about_a_day_for_two():
    found = made()
    assert found.feeds is None
    assert 1892.7 <= found.mix.volume <= 1.05 * 1892.8
    assert found.container is not None
    assert found.container.words == "1 quart jar"


@pytest.mark.parametrize("volume", [946.4, 3000.0])
def test_the_day_is_as_large_as_is_asked(volume: float):
    assert volume <= made(volume=volume).mix.volume <= 1.05 * volume + 1


def test_the_jar_holds_the_days_foods_and_room_to_shake():
    found = made()
    jar = found.jar
    assert jar is not None
    assert foods_of(found.mix) <= foods_of(jar.kitchen_mix.mix)
    assert jar.kitchen_mix.mix.volume <= 946.4 * (1 - HEADSPACE)
    assert not jar.kitchen_mix.mix.misses


def test_both_orders_of_mixing_hold_every_food():
    found = made()
    for plan, mix in ((found.day_plan, found.mix), (found.jar_plan, found.jar.kitchen_mix.mix)):
        assert {step.food for step in plan.steps} == foods_of(mix)
        assert plan.steps[-1].level == pytest.approx(mix.volume)


def test_the_flocks_day_jar_and_recipe():
    flock = sample_flock()
    found = made(flock=flock)
    assert found.feeds is not None
    assert found.container is not None
    assert found.container.volume == pytest.approx(unit_size("quart", Kitchen.US))
    today = 1e3 * float((found.feeds.litres_by_day() * found.feeds.share_new)[0])
    assert today <= found.mix.volume
    assert foods_of(found.mix) >= {"whole-milk", "heavy-cream", "nonfat-dry-milk"}


def test_feeds_are_planned_on_the_mix_of_the_card():
    found = made(flock=sample_flock())
    assert found.feeds is not None
    energy = found.mix.shelf.composition.row("metabolisable-energy") @ found.mix.grams
    assert found.feeds.milk.energy == pytest.approx(energy / found.mix.volume * 1e3)


def test_a_jar_of_the_flocks_own_size():
    flock = sample_flock()
    odd = made(flock=replace(flock, flock=replace(flock.flock, jar=700.0)))
    assert odd.container is not None
    assert odd.container.words == "0.7 L jar"


def test_a_jar_that_is_named_wins():
    pantry = sample_pantry()
    jar = parse_container("half-gallon jar", pantry.kitchen, pantry.table)
    assert made(container=jar, flock=sample_flock()).container is jar


def test_all_weaned_or_newborn_still_gives_a_batch():
    flock = sample_flock()
    newborn = flock.flock.animals[-1:]
    found = made(flock=replace(flock, flock=replace(flock.flock, animals=newborn)))
    assert found.feeds is not None
    assert found.feeds.litres_by_day()[0] == 0
    assert found.mix.volume > 1000


def test_no_mix_and_no_measures_say_so():
    pantry = sample_pantry()
    assert isinstance(day_and_jar(pantry, band_set("ewe-milk")), NoMix)
    assert isinstance(day_and_jar(pantry, LAMB, volume=40.0), NoKitchenMix)


def test_a_milk_that_must_not_be_fed_is_refused():
    flock = sample_flock()
    bad = replace(flock.flock, mix="1 can sweetened-condensed-milk", change=None)
    with pytest.raises(InputError, match="No card is made of it"):
        made(flock=replace(flock, flock=bad))


def test_metric_jars_are_litres():
    assert default_jar(Kitchen.METRIC) == "1 L jar"


def test_the_same_on_every_run():
    one, two = made(flock=sample_flock()), made(flock=sample_flock())
    np.testing.assert_array_equal(one.mix.grams, two.mix.grams)
    np.testing.assert_array_equal(one.feeds.millilitres, two.feeds.millilitres)


def test_noon_and_evening_plan_the_same_day():
    text = files("nutrient_tables").joinpath("sample_flock.toml").read_text("utf-8")
    evening = parse_flock(text, "flock.toml", datetime(2026, 11, 14, 21))
    assert evening.now.date() == sample_flock().now.date()
    assert made(flock=evening).mix.volume == made(flock=sample_flock()).mix.volume
