"""Feeding times: the fewest sittings that hold everybody's feeds, with the gap between them."""

from dataclasses import replace
from datetime import time, timedelta
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from rearing_flocks import NOW, STRONG, TIMES, TODAY, feeding_times, flock, flocks, lamb, milks

from formulate.base.errors import InputError
from formulate.rearing.feed_plan import Stage
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.sittings import (
    DayFeeds,
    after_a_moment,
    counts_that_fit,
    least_gap,
    shared,
)

HOUSEHOLD = tuple(map(time.fromisoformat, ("06:00", "09:30", "13:00", "16:30", "20:00", "23:30")))


#: Households that do not rest over midnight, or hardly.
AWAKE = [
    tuple(map(time.fromisoformat, times.split()))
    for times in (
        "00:00 05:00 10:00 15:00 20:00 23:00",
        "00:30 06:00 12:00 18:00 23:00",
        "01:00 04:00 07:30 16:00 19:00 22:00",
        "02:15 06:15 08:00 09:00 19:30 21:30 22:30",
    )
]


def minutes(times):
    return [t.hour * 60 + t.minute for t in times]


def gaps(times):
    at = minutes(times)
    return [b - a for a, b in zip(at, [*at[1:], at[0] + 1440], strict=True)]


def alone(times, feeds):
    wanted = DayFeeds.all_day(feeds)
    return shared(times, frozenset({wanted}))[wanted]


def test_times_are_spread_round_the_clock():
    assert alone(TIMES, 3) == (time(2), time(10), time(18))
    assert alone(TIMES, 6) == TIMES
    assert shared(TIMES, frozenset({DayFeeds(0)})) == {DayFeeds(0): ()}


def test_four_feeds_sit_at_four_of_the_five_times_of_five_feeds():
    four, five = DayFeeds.all_day(4), DayFeeds.all_day(5)
    times = shared(HOUSEHOLD, frozenset({four, five}))
    assert len(times[five]) == 5
    assert set(times[four]) < set(times[five])
    assert {time(6), time(23, 30)} < set(times[four])  # no night is longer than it must be


@pytest.mark.parametrize(("feeds", "gap"), [(2, 360), (4, 180), (5, 144), (6, 120), (8, 120)])
def test_the_gap_is_half_of_the_even_interval_and_never_below_two_hours(feeds, gap):
    assert least_gap(feeds) == gap


def test_the_sittings_are_such_that_the_gap_of_fewer_feeds_is_kept_too():
    times = tuple(time(hour) for hour in (6, 9, 12, 15, 18))
    assert counts_that_fit(times) == (1, 2, 3, 4, 5)
    three, four = DayFeeds.all_day(3), DayFeeds.all_day(4)
    together = shared(times, frozenset({three, four}))
    assert minutes(together[three]) == [6 * 60, 12 * 60, 18 * 60]
    assert len({*together[three], *together[four]}) == 4


def test_times_too_close_hold_fewer_feeds():
    assert counts_that_fit(tuple(time(hour) for hour in (6, 7, 8, 9, 10, 11))) == (1,)
    assert counts_that_fit(tuple(time(hour) for hour in (6, 8, 10, 12, 14, 16))) == (1, 2, 3, 6)
    assert counts_that_fit((time(6), time(7, 59))) == (1,)
    assert 12 in counts_that_fit(tuple(time(hour) for hour in range(24)))


@given(feeding_times(), st.sets(st.integers(1, 9), min_size=1, max_size=4))
def test_each_is_fed_as_often_as_it_should_at_the_sittings_of_the_others(times, counts):
    counts = {count for count in counts if count in counts_that_fit(times)}
    wanted = {DayFeeds.all_day(count) for count in counts}
    found = shared(times, frozenset(wanted))
    sittings = {at for chosen in found.values() for at in chosen}
    for one in wanted:
        assert len(found[one]) == one.feeds
        assert set(found[one]) <= set(times)
        if one.feeds > 1:
            assert min(gaps(found[one])) >= one.gap
    # Where the one with most feeds holds all others, nobody sits down for them alone.
    if counts and len(sittings) > max(counts):
        most = max(counts)
        nested = [alone(alone(times, most), c) for c in counts]
        assert any(min(gaps(n)) < least_gap(len(n)) for n in nested if len(n) > 1)


@given(feeding_times(), st.integers(1, 1439), st.integers(4, 6))
def test_the_rest_of_a_day_holds_its_share_of_feeds_and_no_more(times, minute, feeds):
    gap = least_gap(feeds)
    rest = after_a_moment(times, minute, feeds, gap)
    assert 0 <= rest <= -(-feeds * (1440 - minute) // 1440)
    if rest:
        wanted = DayFeeds(rest, minute, gap)
        chosen = minutes(shared(times, frozenset({wanted, DayFeeds.all_day(feeds)}))[wanted])
        assert len(chosen) == rest
        assert chosen[0] >= minute
        assert all(b - a >= gap for a, b in pairwise(chosen))


@given(flocks(), milks())
def test_no_feed_of_a_plan_lies_inside_the_gap(some, milk):
    plan = plan_feeds(some, milk, NOW, days=12)
    for i in range(len(some.animals)):
        for d in range(12):
            times = plan.times(i, d)
            assert len(times) == plan.feeds[i, d]
            assert set(times) <= set(plan.sittings(d))
            whole_day = plan.stage[i, d] != Stage.COLOSTRUM and len(times) > 1
            if whole_day and len(times) in counts_that_fit(some.feeding_times):
                assert min(gaps(times)) >= least_gap(len(times))


@given(st.sampled_from([HOUSEHOLD, TIMES, *AWAKE]), st.data())
def test_so_many_feeds_have_the_same_times_whoever_else_is_fed(times, data):
    counts = [count for count in counts_that_fit(times) if count >= 3]
    wanted = data.draw(st.sets(st.sampled_from(counts), min_size=1))
    newborn = data.draw(st.sets(st.sampled_from([DayFeeds(2, 900, 120), DayFeeds.all_day(2)])))
    told = shared(times, frozenset(map(DayFeeds.all_day, wanted)) | newborn)
    for count in wanted:
        assert told[DayFeeds.all_day(count)] == alone(times, count)
    for fewer, more in pairwise(sorted(wanted)):
        assert set(alone(times, fewer)) < set(alone(times, more))


def test_times_of_a_plan_change_only_with_the_number_of_feeds():
    # The second has five feeds until it is four days old; then four sittings are enough.
    some = flock(
        lamb("first", age=15), lamb("second", age=2, weight=4.0, birth=3.8), times=HOUSEHOLD
    )
    plan = plan_feeds(some, STRONG, NOW, days=12)
    assert len({len(plan.sittings(d)) for d in range(12)}) > 1
    for i in range(2):
        by_feeds = {(int(plan.feeds[i, d]), plan.times(i, d)) for d in range(12)}
        assert len(by_feeds) == len({feeds for feeds, _ in by_feeds})


def night(today, tomorrow):
    """Minutes from the last feed of a day to the first of the next."""
    return minutes(tomorrow)[0] + 1440 - minutes(today)[-1]


@given(feeding_times() | st.sampled_from(AWAKE), st.data())
def test_the_gap_is_kept_overnight_however_many_feeds_were_given_the_day_before(times, data):
    counts = st.sampled_from(counts_that_fit(times))
    before, after, of_another = (data.draw(counts) for _ in range(3))
    told = shared(times, frozenset(map(DayFeeds.all_day, (after, of_another))))
    assert night(alone(times, before), told[DayFeeds.all_day(after)]) >= least_gap(after)


def test_a_time_just_before_midnight_and_one_just_after_it_are_not_both_used():
    # 23:00 and 00:00 with five feeds, four on the day before: one hour lay between them.
    four, five = (alone(AWAKE[0], feeds) for feeds in (4, 5))
    assert night(four, five) == 6 * 60
    assert (len(four), len(five)) == (4, 5)
    assert counts_that_fit(AWAKE[3]) == (1, 2, 4, 5)  # three fit only at times that clash


@given(flocks(), milks())
def test_no_first_feed_of_a_plan_lies_inside_the_gap_after_the_night(some, milk):
    plan = plan_feeds(some, milk, NOW, days=12)
    for i in range(len(some.animals)):
        for d in range(11):
            today, tomorrow = plan.times(i, d), plan.times(i, d + 1)
            if today and len(tomorrow) in counts_that_fit(some.feeding_times):
                assert night(today, tomorrow) >= least_gap(len(tomorrow))


@given(flocks(), milks(), st.integers(4, 8), st.lists(st.integers(2, 3), min_size=5, max_size=6))
def test_a_household_that_sleeps_over_midnight_keeps_the_gap_from_day_to_day(
    some, milk, start, apart
):
    times = tuple(time(start + sum(apart[:n])) for n in range(len(apart) + 1) if
                  start + sum(apart[:n]) <= 22)  # fmt: skip
    assume(all(gap <= 1440 - (times[-1].hour - start) * 60 for gap in gaps(times)[:-1]))
    try:
        plan = plan_feeds(replace(some, feeding_times=times), milk, NOW, days=9)
    except InputError:
        return
    for i in range(len(some.animals)):
        for d in range(8):
            today, tomorrow = plan.times(i, d), plan.times(i, d + 1)
            if today and tomorrow and plan.stage[i, d] != Stage.COLOSTRUM:
                assert night(today, tomorrow) >= least_gap(len(today))


@given(flocks(most=3), flocks(most=2), milks())
def test_animals_on_two_milks_sit_down_together(some, others, milk):
    others = replace(others, feeding_times=some.feeding_times)
    plans = [plan_feeds(one, milk, NOW, days=5) for one in (some, others)]
    together = [plan.beside(plans) for plan in plans]
    alike = plan_feeds(replace(some, animals=(*some.animals, *others.animals)), milk, NOW, days=5)
    for d in range(5):
        sittings = {at for plan in together for at in plan.sittings(d)}
        assert sittings == set(alike.sittings(d))
        for plan in together:
            for i, animal in enumerate(plan.flock.animals):
                j = alike.flock.animals.index(animal)
                assert plan.times(i, d) == alike.times(j, d)


def test_the_drinkers_of_a_day_are_everybody_once():
    some = flock(lamb(), lamb("Dot", age=0, hour=time(3)), lamb("Wren", age=25, weight=8.0))
    plan = plan_feeds(some, STRONG, NOW, days=3)
    for d in range(3):
        told = {int(i): times for times, rows in plan.drinkers(d) for i in rows}
        assert told == {i: plan.times(i, d) for i in range(3) if plan.feeds[i, d]}


def test_feeding_times_inside_the_gap_are_refused_with_the_two_that_are_closest():
    times = tuple(time(hour) for hour in (6, 9, 10, 12, 14))
    with pytest.raises(InputError) as told:
        plan_feeds(flock(lamb(age=2, weight=4.2), times=times), STRONG, NOW)
    assert str(told.value).startswith("feeding_times: 09:00 and 10:00 are 1 hour apart.")
    assert "Pip needs 5 feeds a day, with at least 2 h 24 min" in str(told.value)
    # An older one has four feeds, three hours apart: three of these are, so they are refused too.
    with pytest.raises(InputError, match="at least 3 hours"):
        plan_feeds(flock(lamb(age=10), times=times), STRONG, NOW)
    spread = (time(6), time(9), time(12), time(15))
    assert plan_feeds(flock(lamb(age=10), times=spread), STRONG, NOW).feeds[0, 0] == 4


def test_a_newborns_first_milk_is_its_share_of_the_day():
    born = lamb("Dot", age=0, hour=time(10))
    plan = plan_feeds(flock(born, lamb(), times=HOUSEHOLD), STRONG, NOW, days=3)
    assert plan.stage[0, 1] == Stage.COLOSTRUM
    first = plan.times(0, 1)
    assert len(first) == 3  # of five in a whole day, with 14 of 24 hours left
    assert first[0] >= time(10)
    assert plan.days[1] == TODAY + timedelta(days=1)


def test_marks_that_are_coarser_than_a_feed_are_refused_with_the_animal():
    small = lamb("Wren", age=12, weight=3.0)  # 0.58 L at most in four feeds: 146 mL
    some = flock(lamb(weight=6.0), small, mark=150.0)
    with pytest.raises(InputError) as told:
        plan_feeds(some, STRONG, NOW, days=3)
    assert str(told.value).startswith("bottle_marks: the marks on the bottle are 150 mL apart")
    assert "a feed of Wren holds at most 146 mL" in str(told.value)
    plan = plan_feeds(replace(some, mark=145.0), STRONG, NOW, days=3)
    assert set(plan.millilitres[:, 0]) <= {145.0, 290.0}
    # A mark that nobody named is no reason to refuse: feeds are told to the millilitre.
    tiny = lamb("Wren", age=12, weight=3.0, cap=4.0)
    assert plan_feeds(flock(tiny), STRONG, NOW, days=1).millilitres[0, 0] in (11.0, 12.0)


@pytest.mark.parametrize("mark", [5.0, 20.0, 25.0, 29.57])
def test_amounts_lie_on_the_marks_that_the_bottle_has(mark):
    plan = plan_feeds(flock(lamb(weight=7.0), mark=mark), STRONG, NOW, days=9)
    marks = plan.millilitres[0] / mark
    assert marks == pytest.approx([round(one) for one in marks])
    assert plan.step == mark
