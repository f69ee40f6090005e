"""How much of the drink and when: under the cap of a feed, two hours from any milk."""

from __future__ import annotations

from datetime import time
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.rearing.drinking import drink_amount, timetable
from formulate.rearing.scour import Dryness

SAMPLE = [time(6), time(9, 30), time(13), time(16, 30), time(20), time(23, 30)]
DAY = 24 * 60


def minutes(at: time) -> int:
    return at.hour * 60 + at.minute


class TestAmount:
    @pytest.mark.parametrize(
        ("kilograms", "band", "a_day"),
        [(4.0, Dryness.LITTLE, 200), (4.0, Dryness.CLEAR, 320), (6.0, Dryness.LITTLE, 300)],
    )
    def test_litres_are_per_cent_times_kilograms(self, kilograms, band, a_day):
        """A lamb of 4 kg: 200 mL at 5 %, 320 mL at 8 % (sheet F145)."""
        amount = drink_amount(kilograms, band, Kitchen.METRIC)
        assert amount.a_day == pytest.approx(a_day, abs=5 * amount.times)

    def test_how_often(self):
        assert drink_amount(4.0, Dryness.LITTLE, Kitchen.METRIC).times == 2
        assert drink_amount(4.0, Dryness.CLEAR, Kitchen.METRIC).times == 4

    @given(
        st.floats(0.5, 40),
        st.sampled_from([Dryness.LITTLE, Dryness.CLEAR]),
        st.sampled_from(list(Kitchen)),
        st.sampled_from([None, 30.0, 60.0]),
    )
    def test_no_drink_is_above_the_cap_of_a_feed(self, kilograms, band, kitchen, cap):
        amount = drink_amount(kilograms, band, kitchen, cap)
        assert 0 < amount.millilitres <= (cap or 50) * kilograms * (1 + 1e-9)
        assert amount.times >= 2

    @given(st.floats(0.5, 39), st.sampled_from([Dryness.LITTLE, Dryness.CLEAR]))
    def test_a_heavier_animal_gets_no_less(self, kilograms, band):
        less = drink_amount(kilograms, band, Kitchen.METRIC)
        more = drink_amount(kilograms + 1, band, Kitchen.METRIC)
        assert more.a_day >= less.a_day

    @pytest.mark.parametrize("kilograms", [0.0, -1.0, 0.4, 41.0, float("nan"), float("inf")])
    def test_no_weight_of_a_lamb(self, kilograms):
        with pytest.raises(InputError, match="cannot be the weight"):
            drink_amount(kilograms, Dryness.LITTLE, Kitchen.US)


class TestTimetable:
    @given(
        st.lists(st.integers(0, 287).map(lambda k: time(k * 5 // 60, k * 5 % 60)),
                 min_size=1, max_size=8, unique=True),
        st.integers(1, 8),
        st.integers(0, 4),
    )  # fmt: skip
    def test_every_milk_feed_stays_and_no_drink_comes_near_one(self, times, feeds, drinks):
        sittings = timetable(times, feeds, drinks)
        if not sittings:
            return
        milk = [minutes(s.at) for s in sittings if not s.drink]
        given_ = [minutes(s.at) for s in sittings if s.drink]
        assert len(milk) == feeds
        assert len(given_) <= drinks
        for at in given_:
            for other in milk:
                apart = abs(at - other)
                assert min(apart, DAY - apart) >= 120
        for one, other in pairwise(sorted(given_)):
            assert other - one >= 120

    def test_the_sample_household(self):
        """Six milk feeds and two drinks between 06:00 and 23:30."""
        sittings = timetable(SAMPLE, 6, 2)
        assert [s.drink for s in sittings].count(True) == 2
        assert sittings[0].at == time(6)
        assert minutes(sittings[-1].at) <= minutes(time(23, 30))

    def test_the_household_rests_where_it_can(self):
        for feeds in range(2, 6):
            sittings = timetable(SAMPLE, feeds, 2)
            assert all(time(6) <= s.at <= time(23, 30) for s in sittings)

    def test_a_full_day_goes_into_the_rest(self):
        sittings = timetable(SAMPLE, 6, 4)
        night = [s for s in sittings if s.at < time(6)]
        assert [s.drink for s in night] == [True]

    def test_where_not_all_fit_fewer_are_put(self):
        sittings = timetable(SAMPLE, 8, 4)
        assert 0 < sum(s.drink for s in sittings) < 4

    def test_a_household_across_midnight(self):
        sittings = timetable([time(22), time(2), time(6)], 3, 2)
        assert [s.at for s in sittings] == [time(22), time(0), time(2), time(4), time(6)]

    def test_no_times_no_table(self):
        assert timetable([], 4, 2) == ()
        assert timetable(SAMPLE, 0, 2) == ()
