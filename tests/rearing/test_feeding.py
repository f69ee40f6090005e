"""Feed plans: enough, never too much at once, and the same whatever the order."""

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rearing_flocks import (
    NOW,
    STRONG,
    THIN,
    TIMES,
    TODAY,
    animals,
    flock,
    flocks,
    lamb,
    milks,
)

from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.rearing.feed_plan import PlanReason, Stage
from formulate.rearing.feeding import plan_feeds, share_of_new, shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Change, Eaten, Level, Species, Weighing
from formulate.rearing.forecast import day_share
from formulate.rearing.portions import DayMilk, fullest_day, portion
from formulate.rearing.schedule import MILK_DENSITY, least_feeds
from formulate.rearing.sittings import counts_that_fit


@st.composite
def portions_asked(draw):
    """Litres wanted, cap, most of the day, fewest feeds, mark."""
    litres, cap = draw(st.floats(0.01, 4)), draw(st.floats(20, 900))
    most = litres * draw(st.sampled_from([1.0, 1.01, 1.2, 3.0]))
    return litres, cap, most, draw(st.integers(1, 6)), draw(st.sampled_from([10.0, 14.79, 50.0]))


def split_of(litres, asked):
    _, cap, most, least, step = asked
    asked = DayMilk(np.array([litres]), np.array([0.8 * litres]), np.array([most]))
    return portion(asked, np.array([cap]), np.array([least]), range(1, 9), step)


class TestProperties:
    @given(flocks(), milks())
    def test_no_feed_is_above_the_cap_and_days_add_up_to_their_feeds(self, some, milk):
        plan = plan_feeds(some, milk, NOW, days=40)
        assert (plan.millilitres <= plan.cap + 1e-6).all()
        assert plan.litres == pytest.approx(plan.feeds * plan.millilitres / 1e3)
        assert plan.litres_by_day() == pytest.approx(plan.litres.sum(axis=0))
        assert (plan.feeds <= len(some.feeding_times)).all()
        for i in range(len(some.animals)):
            for d in (0, 3, 39):
                assert len(plan.day_feed(i, d).times) == plan.feeds[i, d]

    @given(flocks(), milks())
    def test_an_animal_on_milk_is_kept_and_grown_or_the_plan_says_that_it_is_not(self, some, milk):
        plan = plan_feeds(some, milk, NOW, days=40)
        on_milk = plan.stage == Stage.MILK
        energy = plan.litres * plan.energy
        short_of_gain = (plan.reasons & PlanReason.SHORT_OF_GAIN) > 0
        short_of_keep = (plan.reasons & PlanReason.SHORT_OF_KEEP) > 0
        near = 1 - value("portion-near")
        assert (energy >= plan.least * (near - 1e-9))[on_milk & ~short_of_gain].all()
        assert (energy >= plan.keep * (1 - 1e-9))[on_milk & ~short_of_keep].all()
        for i in range(len(some.animals)):
            assert (shortfall(plan, i) is not None) == bool(short_of_gain[i].any())

    @given(flocks(), milks())
    def test_what_is_short_could_take_no_more(self, some, milk):
        plan = plan_feeds(some, milk, NOW, days=40)
        short = (plan.reasons & PlanReason.SHORT_OF_GAIN) > 0
        # Under cap and share of the lightest day of its stretch, at all the times there are.
        counts = counts_that_fit(some.feeding_times)
        for i, d in np.argwhere(short):
            stretch = slice(max(d - 4, 0), d + 5)
            cap, most = plan.cap[i, stretch].min(), plan.most[i, stretch].min()
            counts_here = [c for c in counts if c >= plan.feeds[i, d]]
            held = fullest_day(np.array([cap]), np.array([most]), counts_here, plan.step)
            assert plan.litres[i, d] >= held[0] * (1 - value("portion-near") - 1e-6)

    @given(flocks(), milks(), st.sampled_from(Level))
    def test_no_day_is_above_its_share_of_weight(self, some, milk, level):
        plan = plan_feeds(replace(some, level=level), milk, NOW, days=40)
        share = plan.litres * MILK_DENSITY / plan.weight[1]
        most = 0.20 if milk.solids >= 16 else 0.25
        assert (share <= most + 1e-9)[np.isfinite(share)].all()
        held = (plan.reasons & PlanReason.SHORT_OF_AIM) > 0
        named = (plan.reasons & (PlanReason.DAY_SHARE | PlanReason.FEED_CAP)) > 0
        assert (held == named).all()

    @given(flocks(), milks())
    def test_a_smaller_level_never_gives_more_milk_on_the_same_weight(self, some, milk):
        today = [
            plan_feeds(replace(some, level=level), milk, NOW, days=1).litres for level in Level
        ]
        on_milk = [a.age_days(TODAY) < 35 for a in some.animals]  # none is being weaned
        for less, more in pairwise(today):
            assert (less <= more + 1e-9)[on_milk].all()

    @given(flocks(), milks())
    def test_no_smaller_feed_would_do(self, some, milk):
        # One mark less on the bottle would leave less than the need of some day of the stretch.
        plan = plan_feeds(some, milk, NOW, days=20)
        full = (plan.stage == Stage.MILK) & ((plan.reasons & PlanReason.SHORT_OF_AIM) == 0)
        less = plan.feeds * (plan.millilitres - plan.step) / 1e3
        need = np.max([(plan.need / plan.energy)[:, n : n + 16] for n in range(5)], axis=0)
        near = 1 - value("portion-near")
        assert (less[:, :16] < need * (near + 1e-9))[full[:, :16]].all()

    @given(flocks(), milks())
    def test_feeds_are_at_least_what_the_age_asks_while_on_milk(self, some, milk):
        plan = plan_feeds(some, milk, NOW, days=40)
        for i, animal in enumerate(some.animals):
            for d, day in enumerate(plan.days):
                if plan.stage[i, d] == Stage.MILK:
                    assert (
                        plan.feeds[i, d] >= least_feeds(animal.species, animal.age_days(day)).feeds
                    )

    @given(animals(oldest=50), milks(), st.integers(1, 20), st.sampled_from(Level))
    def test_an_earlier_birth_never_means_later_weaning(self, animal, milk, earlier, level):
        # All else equal: the same weights on the same days.
        if not animal.weighings:
            return
        older = replace(animal, born=animal.born - timedelta(days=earlier))
        young, old = (
            plan_feeds(flock(one, level=level), milk, NOW).weaning[0] for one in (animal, older)
        )
        for name in ("earliest", "ready", "latest", "begins", "last_milk"):
            later, sooner = getattr(young, name), getattr(old, name)
            if later is not None:
                assert sooner is not None
                assert sooner <= later

    @pytest.mark.parametrize("earlier", [1, 2, 3, 5])
    def test_an_earlier_birth_leaves_the_days_of_change_as_they_are(self, earlier):
        # Weighed in its first week, and not since: the bottle of the older one, which was past
        # that week, would have changed on other days, and its milk would have ended later.
        animal = replace(
            lamb(age=4, birth=3.0), weighings=(Weighing(TODAY - timedelta(days=2), 3.5),)
        )
        older = replace(animal, born=animal.born - timedelta(days=earlier))
        young, old = (
            plan_feeds(flock(one), STRONG, NOW).weaning[0].last_milk for one in (animal, older)
        )
        assert old <= young

    @given(animals(), st.floats(2.5, 6.0), st.floats(1.01, 1.5))
    def test_a_stronger_milk_means_less_volume(self, animal, energy, stronger):
        thin = replace(STRONG, energy=energy)
        less = replace(STRONG, energy=energy * stronger)
        plans = [plan_feeds(flock(animal), milk, NOW, days=1) for milk in (thin, less)]
        if not (plans[0].reasons & PlanReason.SHORT_OF_AIM).any():
            slack = plans[0].step * plans[1].feeds[0, 0] / 1e3  # rounding up to a mark
            assert plans[1].litres[0, 0] <= plans[0].litres[0, 0] + slack

    @given(flocks(), milks())
    def test_each_animal_is_fed_as_if_it_were_alone(self, some, milk):
        together = plan_feeds(some, milk, NOW, days=30)
        for i, animal in enumerate(some.animals):
            alone = plan_feeds(replace(some, animals=(animal,)), milk, NOW, days=30)
            assert (alone.feeds[0] == together.feeds[i]).all()
            assert alone.litres[0] == pytest.approx(together.litres[i])

    @given(flocks(), milks())
    def test_the_spread_holds_the_expected_weight_and_the_dates(self, some, milk):
        plan = plan_feeds(some, milk, NOW, days=40)
        low, middle, high = plan.weight
        known = np.isfinite(middle)
        assert (low[known] <= middle[known] + 1e-9).all()
        assert (middle[known] <= high[known] + 1e-9).all()
        for weaning in plan.weaning:
            if weaning.ready and weaning.latest:
                assert weaning.earliest <= weaning.ready <= weaning.latest

    @given(portions_asked())
    def test_portions_are_the_fewest_feeds_that_fit(self, asked):
        litres, cap, most, least, step = asked
        split = split_of(litres, asked)
        feeds, each = int(split.feeds[0]), float(split.millilitres[0])
        mark = step if min(cap, 1e3 * most / least) >= step else 1.0
        assert each <= max(cap, 1.0) + 1e-9
        assert feeds * each <= 1e3 * most * (1 + 1e-9) or each <= 1
        assert each / mark == pytest.approx(round(each / mark), abs=1e-6)
        assert least <= feeds <= 8
        near = 1e3 * litres * (1 - value("portion-near"))
        best = {
            count: count * mark * min(np.floor(cap / mark + 1e-9),
                                      np.floor(1e3 * most / count / mark + 1e-9))
            for count in range(least, 9)
        }  # fmt: skip
        if feeds * each >= near * (1 - 1e-9):
            assert feeds * (each - mark) < near * (1 + 1e-6)  # and no mark more than it takes
            assert all(best[count] < near * (1 + 1e-6) for count in range(least, feeds))
        else:
            by_share = each + mark <= cap  # the day's share leaves no mark more on every bottle
            enough = feeds * each >= 1e3 * litres * (1 - value("portion-share")) * (1 - 1e-9)
            assert (by_share and enough) or feeds * each >= max(best.values()) * (1 - 1e-6)

    @given(portions_asked(), st.floats(0.1, 1))
    def test_a_smaller_amount_wanted_never_gives_more_milk_in_a_day(self, asked, share):
        more, less = (split_of(litres, asked) for litres in (asked[0], asked[0] * share))
        assert less.feeds[0] <= more.feeds[0]
        given_less, given_more = (s.feeds[0] * s.millilitres[0] for s in (less, more))
        assert given_less <= given_more * (1 + 1e-9)


class TestComputed:
    def test_a_tenth_of_its_weight_of_thin_milk_starves_a_6_kg_lamb_and_is_not_planned(self):
        plan = plan_feeds(flock(lamb(weight=6.0)), THIN, NOW, days=1)
        assert 0.1 * 6.0 / 1.03 * THIN.energy < plan.keep[0, 0]
        assert 0.24 * 6.0 < plan.litres[0, 0] * 1.03 <= 0.25 * 6.0
        assert plan.litres[0, 0] * THIN.energy >= plan.keep[0, 0]

    def test_four_feeds_of_118_ml_hardly_grow_a_5_kg_lamb(self):
        plan = plan_feeds(flock(lamb(weight=5.0)), STRONG, NOW, days=1)
        assert 4 * 0.118 * STRONG.energy < plan.keep[0, 0] + 13.8 * 0.040
        assert plan.litres[0, 0] > 4 * 0.118

    def test_where_cap_and_need_clash_there_is_a_feed_more_and_no_bigger_one(self):
        strong, thin = (
            plan_feeds(flock(lamb(weight=6.0)), milk, NOW, days=1).day_feed(0, 0)
            for milk in (STRONG, THIN)
        )
        assert thin.feeds > strong.feeds == 4
        assert thin.millilitres <= thin.cap == pytest.approx(300.0)
        assert thin.reasons & PlanReason.MORE_FEEDS
        assert not strong.reasons & PlanReason.MORE_FEEDS

    def test_a_veterinarians_cap_is_kept(self):
        plan = plan_feeds(flock(lamb(weight=5.0, cap=30.0)), STRONG, NOW, days=1)
        assert plan.cap[0, 0] == pytest.approx(150.0)
        assert plan.millilitres[0, 0] <= 150.0
        assert plan.feeds[0, 0] == 6

    @pytest.mark.parametrize(("species", "largest"), [(Species.LAMB, 500), (Species.KID, 480)])
    def test_a_heavy_animal_has_more_feeds_and_none_above_the_largest_published(
        self, species, largest
    ):
        heavy = lamb(age=60, weight=14.0, birth=4.0, species=species)
        plan = plan_feeds(flock(heavy, level=Level.HEARTY), STRONG, NOW, days=1)
        assert plan.cap[0, 0] == largest
        assert plan.millilitres[0, 0] <= largest
        assert plan.feeds[0, 0] > 2
        own = replace(heavy, cap=60.0)  # its veterinarian's
        assert plan_feeds(flock(own), STRONG, NOW, days=1).cap[0, 0] == pytest.approx(840.0)

    def test_too_weak_a_milk_is_reported_with_the_strength_that_does(self):
        weak = replace(THIN, energy=1.2)
        some = flock(lamb(weight=5.0))
        missing = shortfall(plan_feeds(some, weak, NOW), 0)
        assert missing is not None
        assert missing.below_keep
        enough = replace(weak, energy=missing.energy * 1.001)
        assert shortfall(plan_feeds(some, enough, NOW), 0) is None
        assert missing.times == 0  # a day's share of weight holds it, however many feeds there are
        assert missing.solids == pytest.approx(weak.solids * missing.energy / weak.energy)

    def test_a_milk_somewhat_too_weak_is_enough_at_more_times(self):
        weak = replace(THIN, energy=3.8)
        some = flock(lamb(weight=5.0, cap=30.0))  # the veterinarian's
        missing = shortfall(plan_feeds(some, weak, NOW), 0)
        assert missing is not None
        assert missing.times in (7, 8)
        often = tuple(time(3 * n) for n in range(missing.times))
        assert shortfall(plan_feeds(replace(some, feeding_times=often), weak, NOW), 0) is None

    def test_a_gain_aimed_at_is_fed_for_but_not_above_a_fifth_of_weight(self):
        gentle, usual, hearty = (
            plan_feeds(flock(lamb(weight=6.0), level=level), STRONG, NOW, days=1) for level in Level
        )
        assert list(gentle.aim) == [0.150]
        assert list(hearty.aim) == [0.250]
        assert gentle.litres[0, 0] < usual.litres[0, 0] <= hearty.litres[0, 0]
        assert 0.19 * 6.0 < hearty.litres[0, 0] * 1.03 <= 0.2 * 6.0
        assert hearty.reasons[0, 0] & PlanReason.DAY_SHARE

    def test_an_animals_own_level_goes_before_the_flocks(self):
        own = lamb(weight=6.0, level=Level.USUAL)
        plan = plan_feeds(flock(own, lamb("Wren", weight=6.0)), STRONG, NOW, days=1)
        assert list(plan.aim) == [0.200, 0.150]

    @pytest.mark.parametrize(
        ("solids", "share"), [(20, 0.20), (16, 0.20), (15, 0.2133), (12.8, 0.25), (9, 0.25)]
    )
    def test_thin_milk_may_go_to_a_quarter_of_weight_and_no_further(self, solids, share):
        assert float(day_share(np.array(solids))) == pytest.approx(share, abs=1e-4)

    def test_bottles_go_to_marks_in_the_households_measures(self):
        for kitchen, mark in (
            (Kitchen.US, 14.787),
            (Kitchen.METRIC, 10),
            (Kitchen.IMPERIAL, 14.207),
        ):
            plan = plan_feeds(flock(kitchen=kitchen), STRONG, NOW, days=1)
            marks = plan.millilitres[0, 0] / mark
            assert marks == pytest.approx(round(marks), abs=1e-3)


class TestFirstDay:
    def test_a_newborn_has_no_mix_for_its_first_24_hours(self):
        born = lamb(age=0, hour=time(9, 30))
        plan = plan_feeds(flock(born), STRONG, NOW, days=4)
        assert list(plan.stage[0]) == [Stage.COLOSTRUM, Stage.COLOSTRUM, Stage.MILK, Stage.MILK]
        assert plan.feeds[0, 0] == 0
        assert plan.times(0, 1) == (time(10), time(14), time(18), time(22))

    def test_an_unknown_hour_is_taken_at_its_latest(self):
        plan = plan_feeds(flock(lamb(age=0, hour=None)), STRONG, NOW, days=3)
        assert list(plan.feeds[0, :2]) == [0, 0]
        assert plan.feeds[0, 2] == 5


class TestWeaning:
    def test_all_criteria_are_asked_together(self):
        heavy = lamb(age=20, weight=12.0, birth=4.0)
        assert plan_feeds(flock(heavy), STRONG, NOW).weaning[0].waits_for == "age"
        light = lamb(age=40, weight=8.0, birth=3.0)
        assert plan_feeds(flock(light), STRONG, NOW).weaning[0].waits_for == "weight"
        multiple = lamb(age=40, weight=10.0, birth=5.0)
        weaning = plan_feeds(flock(multiple), STRONG, NOW).weaning[0]
        assert weaning.waits_for == "weight"  # 2.5 × 5 kg
        ripe = lamb(age=40, weight=13.0, birth=5.0)
        weaning = plan_feeds(flock(ripe), STRONG, NOW).weaning[0]
        assert weaning.waits_for == "creep"
        assert weaning.ready == TODAY + timedelta(days=3)

    def test_creep_that_was_seen_starts_the_step_down_and_it_is_not_started_again(self):
        days = [TODAY - timedelta(days=n) for n in (5, 4, 3)]
        ripe = lamb(age=40, weight=13.0, birth=5.0, creep=tuple(Eaten(d, 260) for d in days))
        ripe = replace(ripe, weighings=(Weighing(days[0], 12.9), *ripe.weighings))
        plan = plan_feeds(flock(ripe), STRONG, NOW)
        assert plan.weaning[0].creep_seen
        assert plan.weaning[0].ready == days[-1]
        # Its bottle changes two days ago, as counted from the first weighing.
        assert plan.weaning[0].begins == TODAY - timedelta(days=2)
        assert list(plan.stage[0]) == [Stage.STEP_DOWN] * 4
        assert plan.weaning[0].last_milk == TODAY + timedelta(days=3)

    def test_creep_on_days_that_do_not_follow_each_other_does_not_count(self):
        days = [TODAY - timedelta(days=n) for n in (6, 4, 2)]
        ripe = lamb(age=40, weight=13.0, birth=5.0, creep=tuple(Eaten(d, 400) for d in days))
        assert not plan_feeds(flock(ripe), STRONG, NOW).weaning[0].creep_seen

    def test_milk_steps_down_to_none(self):
        plan = plan_feeds(flock(lamb(age=30, weight=8.0)), STRONG, NOW)
        down = plan.litres[0, plan.stage[0] == Stage.STEP_DOWN]
        assert len(down) == value("wean-step-days")
        assert down[0] > down[-1] > 0
        assert plan.weaning[0].litres_left == pytest.approx(plan.litres[0].sum())
        assert plan.days[-1] == plan.weaning[0].last_milk


class TestChange:
    def test_the_new_milk_rises_in_equal_steps_and_energy_with_it(self):
        some = flock(change=Change("old", TODAY, 4))
        plan = plan_feeds(some, STRONG, NOW, old_milk=THIN, days=6)
        assert plan.share_new == pytest.approx([0.2, 0.4, 0.6, 0.8, 1, 1])
        assert plan.energy[0] == pytest.approx(0.2 * STRONG.energy + 0.8 * THIN.energy)
        apart = plan.litres_by_milk()
        assert apart["strong"] + apart["thin"] == pytest.approx(plan.litres_by_day())
        assert plan.reasons[0, 0] & PlanReason.CHANGING
        assert not plan.reasons[0, 4] & PlanReason.CHANGING

    def test_before_the_change_all_is_old_and_a_change_needs_its_old_milk(self):
        some = flock(change=Change("old", TODAY + timedelta(days=1), 2))
        days = [TODAY + timedelta(days=n) for n in range(4)]
        assert share_of_new(some, days) == pytest.approx([0, 1 / 3, 2 / 3, 1])
        with pytest.raises(InputError, match="the milk before is not known"):
            plan_feeds(some, STRONG, NOW)


class TestRefusals:
    @pytest.mark.parametrize(("age", "times"), [(1, 4), (6, 3), (25, 2)])
    def test_fewer_times_than_the_age_asks(self, age, times):
        with pytest.raises(InputError, match="needs at least"):
            plan_feeds(flock(lamb(age=age), times=TIMES[:times]), STRONG, NOW)

    def test_a_kids_least_feeds_are_its_own(self):
        kid = lamb(age=20, species=Species.KID)
        assert plan_feeds(flock(kid, times=TIMES[:3]), STRONG, NOW, days=1).feeds[0, 0] == 3


def test_the_same_plan_comes_out_twice():
    first, second = (plan_feeds(flock(), STRONG, NOW) for _ in range(2))
    assert first.days == second.days
    assert (first.litres == second.litres).all()
    assert isinstance(first.days[0], date)
