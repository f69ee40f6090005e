"""A clock that stages share, against a clock set by hand."""

import pytest

from formulate.base.clock import Clock


class Hand:
    """A clock that stands still until it is moved."""

    def __init__(self):
        self.time = 100.0

    def __call__(self):
        return self.time


def test_time_runs_out_and_stays_out():
    hand = Hand()
    clock = Clock(5.0, hand)
    assert clock.left() == 5.0
    hand.time += 4.9
    assert not clock.over()
    hand.time += 0.2
    assert clock.over()
    assert clock.left() == 0.0


def test_a_part_is_a_share_of_what_is_left():
    hand = Hand()
    clock = Clock(10.0, hand)
    hand.time += 4.0
    part = clock.part(0.5)
    assert part.left() == pytest.approx(3.0)
    hand.time += 3.0
    assert part.over()
    assert clock.left() == pytest.approx(3.0)


def test_a_clock_without_seconds_is_over():
    assert Clock(0.0).over()
