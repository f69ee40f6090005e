"""Weaning: in steps or at once, when all is seen, and milk again for one that loses weight."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import NOW, STRONG, TODAY, animals, flock, lamb, milks

from formulate.answers.weaning_notes import weaning_notes
from formulate.rearing.feed_plan import Stage
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import Eaten, Ending, MilkEnd, Species, Weighing
from formulate.rearing.limits import unplanned
from formulate.rearing.weaning import back_on_milk, creep_date, criteria_of, to_regain
from formulate.report.weaning_text import weaning_texts


def day(ago):
    return TODAY - timedelta(days=ago)


def ripe(*, weights, creep_days=(6, 5, 4), age=45, **more):
    """A lamb of 4 kg at birth, weighed and fed creep so many days ago."""
    weighings = tuple(Weighing(day(ago), kg) for ago, kg in weights)
    creep = tuple(Eaten(day(ago), 260.0) for ago in creep_days)
    return replace(lamb(age=age, weight=9.0), weighings=weighings, creep=creep, **more)


def notes(animal, **more):
    plan = plan_feeds(flock(animal, **more), STRONG, NOW)
    return " ".join(weaning_notes(animal, plan.day_feed(0, 0), plan.weaning[0]))


def test_milk_ends_in_steps_or_from_one_day_to_the_next():
    animal = ripe(weights=[(4, 11.0)], creep_days=(3, 2, 1))
    stepped = plan_feeds(flock(animal), STRONG, NOW)
    assert stepped.weaning[0].ready == day(1)
    assert list(stepped.stage[0]) == [Stage.STEP_DOWN] * 5
    assert stepped.weaning[0].last_milk == day(-4)
    abrupt = plan_feeds(flock(animal, weaning=MilkEnd.ABRUPT), STRONG, NOW)
    assert list(abrupt.stage[0]) == [Stage.WEANED]
    assert abrupt.feeds.sum() == 0
    assert abrupt.weaning[0].last_milk == day(2)


def test_an_animals_own_way_goes_before_the_flocks():
    own = lamb("Wren", age=30, weight=9.0, weaning=MilkEnd.STEPPED)
    plan = plan_feeds(flock(lamb(age=30, weight=9.0), own, weaning=MilkEnd.ABRUPT), STRONG, NOW)
    assert Stage.STEP_DOWN not in plan.stage[0]
    assert list(plan.stage[1]).count(Stage.STEP_DOWN) == 6


@given(animals(oldest=60), milks())
def test_an_abrupt_end_is_the_plan_in_steps_without_the_steps(animal, milk):
    stepped, abrupt = (plan_feeds(flock(animal, weaning=how), milk, NOW) for how in MilkEnd)
    assert stepped.weaning[0].ready == abrupt.weaning[0].ready
    same = abrupt.stage[0] != Stage.WEANED
    days = len(same)
    assert (abrupt.feeds[0] == stepped.feeds[0, :days])[same].all()
    assert abrupt.litres.sum() <= stepped.litres.sum() + 1e-9


def test_weaning_waits_for_the_scale():
    # By the forecast it has the 10 kg that are asked, 2.5 times its birth weight.
    animal = ripe(weights=[(12, 9.0)], age=45)
    plan = plan_feeds(flock(animal), STRONG, NOW)
    assert plan.weight[1, 0, 0] > 10.0
    assert plan.stage[0, 0] == Stage.MILK
    assert plan.weaning[0].ready == day(-1)
    assert "Weigh it: weaning waits for the scale." in notes(animal)
    weighed = replace(animal, weighings=(*animal.weighings, Weighing(TODAY, 10.0)))
    assert plan_feeds(flock(weighed), STRONG, NOW).stage[0, 0] == Stage.STEP_DOWN


def test_milk_comes_back_in_full_where_weight_falls():
    before = ripe(weights=[(4, 11.0)])
    assert plan_feeds(flock(before), STRONG, NOW).stage[0, 0] == Stage.STEP_DOWN
    lighter = replace(before, weighings=(*before.weighings, Weighing(TODAY, 10.7)))
    plan = plan_feeds(flock(lighter), STRONG, NOW)
    assert plan.stage[0, 0] == Stage.MILK
    assert plan.litres[0, 0] * plan.energy[0] >= plan.least[0, 0] * 0.95
    assert plan.weaning[0].regain == Weighing(day(4), 11.0)
    text = notes(lighter)
    assert "Pip has lost weight: 10.7 kg, and it had 11.0 kg." in text
    assert "coccidia" in text
    assert "must reach 11.0 kg again" in " ".join(weaning_texts(plan.weaning[0], lighter))


@pytest.mark.parametrize(("kilograms", "fallen"), [(10.90, False), (10.89, True)])
def test_less_than_the_scale_may_be_wrong_is_no_fall(kilograms, fallen):
    animal = ripe(weights=[(4, 11.0), (0, kilograms)])
    assert (to_regain(animal) is not None) == fallen


def test_the_lost_weight_and_new_creep_are_asked_before_weaning_begins_again():
    fell = ripe(weights=[(8, 11.0), (4, 10.5)], creep_days=(11, 10, 9))
    assert criteria_of(fell).weight == 11.0
    assert creep_date(fell, TODAY) is None  # what it ate before counts no more
    eats = replace(fell, creep=tuple(Eaten(day(ago), 260.0) for ago in (3, 2, 1)))
    assert creep_date(eats, TODAY) == day(1)
    up = replace(eats, weighings=(*eats.weighings, Weighing(TODAY, 10.8)))
    assert plan_feeds(flock(up), STRONG, NOW).stage[0, 0] == Stage.MILK
    regained = replace(eats, weighings=(*eats.weighings, Weighing(TODAY, 11.0)))
    assert plan_feeds(flock(regained), STRONG, NOW).stage[0, 0] == Stage.STEP_DOWN


def test_one_that_was_weaned_lately_gets_milk_again_and_one_long_weaned_does_not():
    weaned = ripe(weights=[(6, 11.0)], ending=Ending(day(5), "weaned"))
    assert unplanned(weaned, TODAY) == "weaned"
    lighter = replace(weaned, weighings=(*weaned.weighings, Weighing(TODAY, 10.6)))
    assert back_on_milk(lighter, TODAY)
    assert unplanned(lighter, TODAY) == ""
    assert plan_feeds(flock(lighter), STRONG, NOW).feeds[0, 0] > 0
    long_ago = replace(lighter, ending=Ending(day(15), "weaned"))
    assert unplanned(long_ago, TODAY) == "weaned"
    sold = replace(lighter, ending=Ending(day(5), "sold"))
    assert unplanned(sold, TODAY) == "weaned"
    old = replace(lighter, born=day(85))
    assert unplanned(old, TODAY) == "past-milk"


@given(animals(oldest=60), st.floats(0.11, 1.0), milks())
def test_a_fall_in_weight_never_brings_weaning_sooner(animal, lost, milk):
    if not animal.weighings or animal.last_weight.kilograms - lost < 1.0:
        return
    last = animal.last_weight
    then = Weighing(last.day - timedelta(days=1), last.kilograms)
    steady = replace(animal, weighings=(then, last))
    fell = replace(animal, weighings=(then, Weighing(last.day, last.kilograms - lost)))
    ready = [plan_feeds(flock(one), milk, NOW).weaning[0].ready for one in (steady, fell)]
    if ready[1] is not None:
        assert ready[0] is not None
        assert ready[0] <= ready[1]


def test_the_day_of_a_step_down_is_reported_with_its_share():
    animal = ripe(weights=[(4, 11.0)], creep_days=(3, 2, 1))
    assert "day 2 of 6, with 67 % of its milk" in notes(animal)
    ended = ripe(weights=[(20, 11.0), (4, 11.4)], creep_days=(12, 11, 10))
    assert "no more milk is planned" in notes(ended)
    assert notes(lamb(age=10)) == ""


def test_an_animal_that_is_ready_between_two_changes_of_its_bottle_is_told_the_day():
    # Weighed four days ago: its bottle changed yesterday, and changes next in two days.
    seen = ripe(weights=[(4, 11.0)], creep_days=(2, 1, 0))
    assert "Its milk begins to fall on 2026-11-16, the day its bottle changes." in notes(seen)
    at_once = notes(replace(seen, weaning=MilkEnd.ABRUPT))
    assert "Its last milk is on 2026-11-15" in at_once
    change = ripe(weights=[(3, 11.0)], creep_days=(2, 1, 0))
    assert "day 1 of 6, with 67 % of its milk" in notes(change)


def test_what_is_asked_of_a_kid_says_what_its_creep_is_worth():
    kid = lamb(age=30, weight=6.0, species=Species.KID)
    text = " ".join(weaning_texts(plan_feeds(flock(kid), STRONG, NOW).weaning[0], kid))
    assert "150 g a day is 70 % of what a kid of 9 kg needs to live" in text
    assert "Langston University" in text
    lambs = weaning_texts(plan_feeds(flock(lamb()), STRONG, NOW).weaning[0], lamb())
    assert "Teagasc" in " ".join(lambs)
    assert "Kids" not in " ".join(lambs)


def test_no_milk_is_planned_after_an_abrupt_end():
    plan = plan_feeds(flock(lamb(age=30, weight=8.0), weaning=MilkEnd.ABRUPT), STRONG, NOW)
    assert set(plan.stage[0]) == {Stage.MILK}
    assert plan.days[-1] == plan.weaning[0].last_milk
    assert np.isfinite(plan.weight[:, 0]).all()
