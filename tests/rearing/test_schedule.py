"""Published schedules: no gaps, no overlaps, reproduced at their own strength."""

from itertools import pairwise

import pytest

from formulate.foods.tables import sources
from formulate.rearing.flock import Species
from formulate.rearing.schedule import least_feeds, published, schedule, strength


@pytest.mark.parametrize("species", Species)
@pytest.mark.parametrize("name", ["by-age", "least-feeds"])
def test_ages_follow_each_other(species, name):
    lines = schedule(species, name)
    assert lines[0].from_day == 0
    for before, after in pairwise(lines):
        assert after.from_day == before.to_day + 1


@pytest.mark.parametrize("species", Species)
def test_feeds_never_rise_with_age_and_end_at_two(species):
    feeds = [least_feeds(species, age).feeds for age in range(400)]
    assert feeds == sorted(feeds, reverse=True)
    assert feeds[-1] == 2


def test_every_line_has_a_known_source():
    for species in Species:
        for name in ("by-age", "by-weight", "by-weight-small", "least-feeds", "own-strength"):
            lines = schedule(species, name)
            assert lines
            assert all(line.source in sources() for line in lines)


def test_another_milk_gives_the_same_energy():
    (line, *_) = published(Species.LAMB, 10, 5.0)
    own = strength(Species.LAMB).low
    assert line.at(own, own) == line
    assert line.at(own, 2 * own).high == pytest.approx(line.high / 2)
