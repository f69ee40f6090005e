"""What a season costs."""

import json
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from click.testing import CliRunner
from rearing_flocks import NOW, TODAY, flock, lamb

from formulate.answers.season import season
from formulate.cli.main import cli
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import MilkHad
from formulate.rearing.flock_file import FlockRead, sample_flock
from formulate.report.season_text import season_text

READ = sample_flock()
SEASON = season(READ, sample_pantry())


def alone(animal, **more):
    more = {"mix": "cream-and-powder", "shopping_days": (2, 5), **more}
    return season(FlockRead(flock(animal, **more), NOW), sample_pantry())


def test_low_expected_high_are_in_order():
    for animal in SEASON.animals:
        for spread in (animal.litres, animal.cost):
            assert 0 < spread.low <= spread.expected <= spread.high
        earliest, ready, latest = animal.ready
        assert earliest <= ready
        assert latest is None or ready <= latest
    assert SEASON.hours.low < SEASON.hours.expected < SEASON.hours.high


def test_animals_add_up_to_the_whole():
    for name in ("low", "expected", "high"):
        for what in ("litres", "cost"):
            parts = sum(getattr(getattr(a, what), name) for a in SEASON.animals)
            assert getattr(getattr(SEASON.own, what), name) == pytest.approx(parts)
    assert SEASON.own.per_kilogram == pytest.approx(
        SEASON.own.cost.expected / sum(a.gained for a in SEASON.animals)
    )


def planned(answer):
    """Litres of each animal from today on."""
    return {
        animal.name: plan.litres[i].sum()
        for who in answer.shopping.plan.task.drinkers
        for plan in who.now.plans
        for i, animal in enumerate(plan.flock.animals)
    }


def test_the_plan_is_in_it():
    litres = planned(SEASON)
    assert list(litres) != [animal.name for animal in SEASON.animals]  # Bramble has its own milk
    for animal in SEASON.animals:
        assert animal.litres.expected >= litres[animal.name] - 1e-9
    newborn = SEASON.animals[3]  # born today: nothing before
    assert newborn.litres.expected == pytest.approx(litres["Dot"])


def test_milk_that_was_logged_counts_instead_of_the_plan():
    animal = lamb(age=10)
    silent = alone(animal).animals[0].litres.expected
    days = [animal.born + timedelta(days=k) for k in range(10)]
    logged = tuple(MilkHad(datetime.combine(day, NOW.time()), 100.0) for day in days)
    told = alone(replace(animal, milk=logged)).animals[0].litres.expected
    plan = planned(alone(animal))[animal.name]
    assert told == pytest.approx(plan + 1.0)
    assert silent > told  # a lamb of that age drinks more than 100 mL a day


def test_a_thinner_milk_takes_more_litres():
    by_name = {other.season.name: other.season for other in SEASON.others}
    assert by_name["plain-milk"].litres.expected > by_name["cream-and-powder"].litres.expected
    assert set(by_name) == set(sample_pantry().recipes)


def test_others_come_cheapest_first():
    costs = [other.season.cost.expected for other in SEASON.others]
    assert costs == sorted(costs)


def test_whole_packages_cost_no_less_than_the_food_at_its_cheapest():
    shopping = SEASON.shopping.plan
    cheapest = {
        item.food.id: min(package.price / package.grams for package in item.packages)
        for item in shopping.task.foods
    }
    least = sum(cheapest[food] * grams for b in shopping.batches for food, grams in b.takes)
    assert least < SEASON.own.bought < 1.3 * least


def test_weaned_later_costs_more():
    light, heavy = alone(lamb(weight=4.0, birth=3.0)), alone(lamb(weight=6.0, birth=3.0))
    assert light.animals[0].ready[1] >= heavy.animals[0].ready[1]
    assert light.animals[0].ready[1] > TODAY


def invoke(*arguments):
    return CliRunner().invoke(cli, list(arguments), catch_exceptions=False)


def test_command_fits_a_page():
    result = invoke("season")
    assert result.exit_code == 0
    lines = result.output.splitlines()
    assert len(lines) < 60
    assert max(map(len, lines)) <= 100
    for words in ("From birth to weaning", "Each animal", "The same animals on", "low", "high",
                  "hours", "for each kg gained", "bag"):  # fmt: skip
        assert words in result.output


def test_command_json_picture_and_sources(tmp_path):
    shape = json.loads(invoke("season", "--json").output)
    assert shape["cost"]["expected"] == pytest.approx(SEASON.own.cost.expected)
    names = {milk["mix"] for milk in shape["compared"]}
    assert names == {"the milks in use", *sample_pantry().recipes}
    picture = tmp_path / "season.png"
    output = invoke("season", "--picture", str(picture), "--sources").output
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert "bottle minutes" in output
    assert "[judgement]" in output


def test_a_refrigerator_too_small_is_reported_and_the_rest_is_calculated(tmp_path):
    invoke("start", str(tmp_path))
    path = tmp_path / "flock.toml"
    path.write_text(path.read_text().replace('"26 L"', '"9 L"'))
    result = invoke("season", str(path))
    assert result.exit_code == 0
    assert "No shopping was found" in result.output
    shape = json.loads(invoke("season", str(path), "--json").output)
    assert shape["shopping"]["status"] == "impossible"


def test_many_animals_still_fit_a_page():
    animals = tuple(lamb(f"n{k}", age=5 + k % 9) for k in range(40))
    read = FlockRead(flock(*animals, mix="cream-and-powder"), NOW)
    lines = season_text(season(read, sample_pantry())).splitlines()
    assert len(lines) < 60
    assert any("28 more animals, not shown" in line for line in lines)
