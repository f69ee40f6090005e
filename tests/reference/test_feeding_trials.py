"""The growth model held to published feeding trials.

What each paper says, and what had to be assumed, stands in ``nutrient_tables/feeding_trials.toml``.
"""

from __future__ import annotations

import pytest

from formulate.rearing.trials import TrialComparison, comparisons, groups, mean_errors, trial_table

FOUND = comparisons()


def test_the_table_of_trials(capsys: pytest.CaptureFixture[str]) -> None:
    text = trial_table(FOUND)
    with capsys.disabled():
        print(f"\nGrowth model held to published trials, g a day\n{text}")
    assert len(text.splitlines()) == len(FOUND) + 4


@pytest.mark.parametrize("species", ["lamb", "kid"])
def test_the_mean_error_over_trials(species: str) -> None:
    absolute, bias = mean_errors(FOUND, species)
    assert absolute <= 25
    assert abs(bias) <= 15


def test_at_least_four_trials_in_five_lie_within_the_interval_of_a_mean() -> None:
    counted = [one for one in FOUND if one.counts]
    assert sum(one.within for one in counted) >= 0.8 * len(counted)


@pytest.mark.parametrize("one", FOUND, ids=lambda one: f"{one.trial} {one.name}")
def test_each_trial_is_within_the_interval_of_one_animal(one: TrialComparison) -> None:
    # A group's mean lies closer than one animal: none misses even by so much.
    assert abs(one.error) <= 80
    assert one.lighter != one.heavier
    assert one.less_energy < one.error < one.more_energy


def test_more_feed_is_predicted_to_give_more_as_in_each_trial() -> None:
    for trial in {group.trial for group in groups() if not group.together}:
        mine = sorted((one for one in FOUND if one.trial == trial), key=lambda one: one.gain)
        predicted = [one.predicted for one in mine]
        assert predicted == sorted(predicted)
