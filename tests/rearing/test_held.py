"""Bottles hold for three days, and a plan made again tells the same ones."""

from dataclasses import replace
from datetime import timedelta
from itertools import groupby, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rearing_flocks import NOW, STRONG, TODAY, flock, flocks, lamb, milks

from formulate.base.units import Kitchen
from formulate.rearing.feed_plan import Stage
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import Eaten, Level, MilkEnd, Weighing
from formulate.rearing.held import HELD, Stretches


def bottles(plan, i):
    return list(zip(plan.feeds[i], np.round(plan.millilitres[i], 6), strict=True))


@given(flocks(), milks())
def test_past_the_first_week_a_bottle_changes_no_sooner_than_after_three_days(some, milk):
    plan = plan_feeds(some, milk, NOW, days=30)
    for i, animal in enumerate(some.animals):
        weights = plan.weight[1, i]
        if np.nanmin(np.diff(weights), initial=0) < 0:
            continue  # one that loses weight is given no more than each day allows
        days = [
            d
            for d, day in enumerate(plan.days)
            if animal.age_days(day) >= 7 and plan.stage[i, d] == Stage.MILK
        ]
        runs = [list(run) for _, run in groupby(days, lambda d, i=i: bottles(plan, i)[d])]
        # The first may have begun before the plan, the last is cut off by its end.
        assert all(len(run) >= HELD for run in runs[1:-1])


@given(flocks(), milks(), st.integers(1, 4))
def test_a_plan_made_again_tells_the_same_bottles(some, milk, later):
    then = NOW + timedelta(days=later)
    plan = plan_feeds(some, milk, NOW, days=12)
    again = plan_feeds(some, milk, then, days=3)
    for i in range(len(some.animals)):
        for d in range(3):
            if plan.stage[i, later + d] == again.stage[i, d] == Stage.MILK:
                assert again.feeds[i, d] == plan.feeds[i, later + d]
                assert again.millilitres[i, d] == pytest.approx(plan.millilitres[i, later + d])


@given(
    st.lists(st.integers(0, 400), min_size=8, max_size=8),
    st.integers(20, 60),
    st.floats(7.0, 16.0),
    milks(),
    st.sampled_from(Level),
)
def test_creep_that_is_logged_day_by_day_changes_no_bottle_within_three_days(
    grams, age, weight, milk, level
):
    animal = lamb(age=age, weight=weight)
    told = []
    for n in range(8):
        days = [TODAY + timedelta(days=k) for k in range(n + 1)]  # today's is logged too
        creep = tuple(Eaten(day, g) for day, g in zip(days, grams, strict=False) if g > 20)
        some = flock(replace(animal, creep=creep), level=level)
        plan = plan_feeds(some, milk, NOW + timedelta(days=n), days=1)
        if plan.stage[0, 0] != Stage.MILK:
            break
        told.append(bottles(plan, 0)[0])
    if np.nanmin(np.diff(plan.weight[1, 0]), initial=0) >= 0:
        runs = [len(list(run)) for _, run in groupby(told)]
        assert all(run % HELD == 0 for run in runs[:-1])


@given(flocks(), milks())
def test_a_day_alone_and_the_same_day_of_a_long_plan_are_alike(some, milk):
    short, long = (plan_feeds(some, milk, NOW, days=days) for days in (1, 25))
    assert (short.feeds[:, 0] == long.feeds[:, 0]).all()
    assert short.millilitres[:, 0] == pytest.approx(long.millilitres[:, 0])


def test_a_weighing_begins_a_new_stretch():
    animal = lamb(age=12, weight=5.0)
    weighed = replace(animal, weighings=(Weighing(TODAY - timedelta(days=1), 4.85),))
    some = flock(weighed, kitchen=Kitchen.METRIC)
    plan = plan_feeds(some, STRONG, NOW, days=9)
    told = bottles(plan, 0)
    assert told[0] == told[1] != told[2]  # the third day after the weighing
    assert told[2] == told[3] == told[4] != told[5]
    heavier = replace(weighed, weighings=(*weighed.weighings, Weighing(TODAY, 5.4)))
    assert (
        bottles(plan_feeds(replace(some, animals=(heavier,)), STRONG, NOW, days=1), 0)[0] != told[0]
    )


def stretches(days, born=0, weighed=20, begins=1000):
    ordinals = np.arange(15, 15 + 5 + days + 5)
    one = (np.array([n]) for n in (born, weighed, begins))
    return Stretches.of(*one, ordinals, slice(5, 5 + days))


def test_days_are_counted_from_the_weighing():
    assert stretches(8).first[0].tolist() == [20, 20, 20, 23, 23, 23, 26, 26]


def test_in_the_first_week_each_day_stands_alone():
    young = stretches(8, born=17)
    assert young.first[0].tolist() == [20, 21, 22, 23, 23, 23, 26, 26]
    assert young.held[0].tolist() == [False] * 3 + [True] * 5


@pytest.mark.parametrize(
    ("born", "first"), [(12, 20), (13, 20), (14, 20), (15, 20), (16, 23), (17, 23), (18, 23)]
)
def test_stretches_are_whole_from_the_weighing_whenever_it_was_born(born, first):
    young = stretches(8, born=born)
    assert young.first[0][young.held[0]].min() == first


def test_a_stretch_has_the_worst_of_its_three_days():
    one = stretches(9, begins=26)
    assert one.first[0].tolist() == [20, 20, 20, 23, 23, 23, 26, 26, 26]
    values = np.arange(20.0)[None, :]  # 5 on day 20
    assert one.of_all(values, np.maximum)[0].tolist() == [7] * 3 + [10] * 3 + [13] * 3
    assert one.of_all(values, np.minimum)[0].tolist() == [5] * 3 + [8] * 3 + [11] * 3


@pytest.mark.parametrize(("ready", "begins"), [(6, 6), (7, 9), (8, 9), (9, 9), (10, 12)])
def test_weaning_begins_with_the_next_change_of_the_bottle(ready, begins):
    # Days from its weighing; it is heavy enough, and 35 days old `ready` days from now.
    plan = plan_feeds(flock(lamb(age=35 - ready, weight=12.0)), STRONG, NOW)
    weaning = plan.weaning[0]
    assert (weaning.ready - TODAY).days == ready
    assert (weaning.begins - TODAY).days == begins
    assert weaning.last_milk == weaning.begins + timedelta(days=5)
    first = plan.days.index(weaning.begins)
    assert plan.stage[0, first - 1 : first + 1].tolist() == [Stage.MILK, Stage.STEP_DOWN]


def test_a_later_weighing_does_not_move_the_day_on_which_weaning_began():
    days = [TODAY - timedelta(days=n) for n in (5, 4, 3)]
    creep = tuple(Eaten(day, 300.0) for day in days)
    seen = Weighing(TODAY - timedelta(days=7), 12.0)
    animal = replace(lamb(age=50), weighings=(seen,), creep=creep)
    again = replace(animal, weighings=(seen, Weighing(TODAY, 12.6)))
    first, second = (plan_feeds(flock(a), STRONG, NOW).weaning[0] for a in (animal, again))
    assert first.ready == TODAY - timedelta(days=3)
    assert first.begins == second.begins == TODAY - timedelta(days=1)


@settings(max_examples=40)
@given(flocks(most=3), milks(), st.sampled_from(Level), st.sampled_from(MilkEnd))
def test_no_bottle_changes_more_than_twice_in_seven_days(some, milk, level, weaning):
    plan = plan_feeds(replace(some, level=level, weaning=weaning), milk, NOW)
    for i, animal in enumerate(some.animals):
        if np.nanmin(np.diff(plan.weight[1, i]), initial=0) < 0:
            continue  # one that loses weight is given no more than each day allows
        told = [
            bottle
            for bottle, day in zip(bottles(plan, i), plan.days, strict=True)
            if animal.age_days(day) >= 7
        ]
        for week in range(len(told) - 6):
            days = told[week : week + 7]
            assert sum(a != b for a, b in pairwise(days)) <= 2


def test_an_animal_that_loses_weight_is_held_under_the_cap_of_every_day():
    starving = flock(lamb(age=20, weight=6.0))
    weak = replace(STRONG, energy=1.0)
    plan = plan_feeds(starving, weak, NOW, days=20)
    assert plan.weight[1, 0, 5] < 6.0
    assert (plan.millilitres <= plan.cap + 1e-6).all()


def test_creep_that_stops_lets_no_bottle_flip():
    days = [TODAY - timedelta(days=n) for n in (2, 1)]
    animal = lamb(age=40, weight=13.0, birth=5.0, creep=tuple(Eaten(d, 260) for d in days))
    told = []
    for n in range(6):
        now = NOW + timedelta(days=n)
        plan = plan_feeds(flock(animal), STRONG, now, days=1)
        assert plan.stage[0, 0] == Stage.MILK
        told.append(bottles(plan, 0)[0])
    runs = [len(list(run)) for _, run in groupby(told)]
    assert runs == [3, 3]
