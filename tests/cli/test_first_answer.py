"""The first answer, without a file; and a pantry that is used without being named."""

import json
import sys

import click
import pytest

from formulate.cli.main import run

FOODS = ["whole-milk", "evaporated-milk", "whole-buttermilk"]
PANTRY = """
currency = "USD"
prices_on = 2026-11-02
name = "Our kitchen"
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.evaporated-milk]
price = 1.79
package = "1 can"
"""


@pytest.fixture
def call(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def call(*arguments):
        status = run(list(arguments))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return call


def test_foods_alone_give_a_mix_in_cups(call, tmp_path):
    status, out, err = call("mix", *FOODS)
    assert (status, err) == (0, "")
    assert "In range, and within every safety limit." in out
    assert "5 cups  whole-milk" in out
    assert "2 cans  evaporated-milk" in out
    assert "No fewer foods stay inside every range (proved)." in out
    assert "Not needed: whole-buttermilk." in out
    assert 'as "whole-milk=3.80/gallon"' in out
    assert list(tmp_path.iterdir()) == []


def test_the_same_as_json(call):
    status, out, _ = call("mix", *FOODS, "--json")
    mix = json.loads(out)
    assert status == 0
    assert mix["fewest"]["foods"] == 2
    assert mix["fewest"]["proved"]
    assert mix["cost"] is None
    assert mix["rounding_cost"] is None


def test_with_every_price_it_is_the_cheapest(call):
    prices = ["whole-milk=3.80/gallon", "evaporated-milk=1.79/can", "whole-buttermilk=2.69/quart"]
    status, out, _ = call("mix", *prices)
    assert status == 0
    assert "The cheapest mix in whole measures:" in out
    assert "a litre." in out


@pytest.mark.parametrize("how", [["--exact"], ["--in", "1 gallon jug of whole-milk"]])
def test_other_ways_of_asking(call, how):
    status, out, _ = call("mix", "whole-milk", "nonfat-dry-milk", "heavy-cream", *how)
    assert status == 0
    assert "In range" in out


def test_a_file_without_prices_gives_what_the_names_give(call, tmp_path):
    path = tmp_path / "shelf.toml"
    path.write_text("".join(f"[foods.{food}]\n" for food in FOODS))
    by_file = json.loads(call("mix", str(path), "--json")[1])
    by_name = json.loads(call("mix", *FOODS, "--json")[1])
    assert by_file["measures"] == by_name["measures"]
    assert by_file["reads"] == by_name["reads"]


def test_a_pantry_in_the_folder_is_used_and_said(call, tmp_path):
    _, out, _ = call("mix")
    assert "so this is the built-in sample" in out
    (tmp_path / "pantry.toml").write_text(PANTRY)
    for command in (["mix"], ["prices", "--vary", "whole-milk=2..6"]):
        _, out, _ = call(*command)
        assert "Shelf: Our kitchen" in out
        assert "the one in this folder is used: pantry.toml" in out
    _, out, _ = call("mix", *FOODS)
    assert "Our kitchen" not in out


def test_a_pantry_of_another_name_is_found_and_two_are_asked_about(call, tmp_path):
    (tmp_path / "spring.toml").write_text(PANTRY)
    (tmp_path / "flock.toml").write_text("[animals]\n")
    _, out, _ = call("mix")
    assert "the one in this folder is used: spring.toml" in out
    (tmp_path / "summer.toml").write_text(PANTRY)
    status, _, err = call("mix")
    assert status == 2
    assert "spring.toml and summer.toml" in err
    (tmp_path / "pantry.toml").write_text(PANTRY)
    assert call("mix")[0] == 0


def test_a_broken_pantry_in_the_folder_is_said_not_replaced(call, tmp_path):
    (tmp_path / "pantry.toml").write_text(PANTRY.replace("3.89", '"dear"'))
    status, out, err = call("mix")
    assert (status, out) == (2, "")
    assert "pantry.toml" in err
    assert "price" in err


@pytest.mark.parametrize("broken", ["price = dear", "price = '3", "price = 3\nprice = 4", "\0"])
def test_a_broken_pantry_of_any_name_is_said_not_replaced(call, tmp_path, broken):
    (tmp_path / "spring.toml").write_text(PANTRY.replace("price = 3.89", broken))
    status, out, err = call("mix")
    assert (status, out) == (2, "")
    assert "spring.toml" in err


def test_a_broken_flock_of_any_name_is_said_not_replaced(call, tmp_path):
    (tmp_path / "ewes.toml").write_text("[animals.Pip]\nborn = yesterday\n")
    status, out, err = call("today")
    assert (status, out) == (2, "")
    assert "ewes.toml" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["whole-milk=3/gallon", "evaporated-milk"], "evaporated-milk has no price"),
        (["whole-milk", "whole-milk"], "named twice"),
        (["whole-milk=3", "evaporated-milk=1/can"], "whole-milk=3/gallon"),
        (
            ["pantry.toml", "whole-milk"],
            '"pantry.toml" is a pantry file and "whole-milk" is a food',
        ),
        (["a.toml", "b.toml"], "two pantry files"),
        (["whole-mlk"], "whole-milk"),
        ([*FOODS, "--sure", "90"], "--sure: this needs prices"),
        ([*FOODS, "--why"], "--why: this needs prices"),
        ([*FOODS, "--keep-to", "1 cup whole-milk"], "--keep-to: this needs prices"),
        (["no-such.toml"], "no such file"),
        (["no-such.toml", "--kitchen", "metric"], "--kitchen"),
    ],
)
def test_wrong_input(call, arguments, words):
    status, out, err = call("mix", *arguments)
    assert (status, out) == (2, "")
    assert words in err


def test_a_file_of_another_ending_is_not_taken_for_a_food(call, tmp_path):
    (tmp_path / "shelf.txt").write_text(PANTRY)
    status, _, err = call("mix", "shelf.txt")
    assert status == 2
    assert "does not end in .toml" in err


def test_in_a_terminal_the_prices_that_are_missing_are_asked_for(call, monkeypatch):
    left = ["1.79", "1.79/can"]
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(click, "prompt", lambda words, **how: left.pop(0))
    status, out, err = call("mix", "whole-milk=3.80/gallon", "evaporated-milk")
    assert (status, left) == (0, [])
    assert "does not say how much it buys" in err
    assert "The cheapest mix in whole measures:" in out
    assert call("mix", *FOODS)[0] == 0  # none has one, and none is asked for
    status, _, err = call("mix", "whole-milk=3.80/gallon", "evaporated-mlk")
    assert status == 2
    assert "evaporated-milk" in err


def test_a_recipe_is_checked_with_the_pantry_of_the_folder(call, tmp_path):
    """Its cups and pints, its own foods, recipes and prices, without naming it; and it is said."""
    pint = "1 pint whole-milk + 1/4 cup heavy-cream"
    _, bare, _ = call("check", pint)
    assert "US (cup 236.6 mL)" in bare
    (tmp_path / "pantry.toml").write_text(
        'kitchen = "uk"\n[foods.whole-milk]\n[recipes]\njug = "1 pint whole-milk"\n'
    )
    _, out, err = call("check", pint)
    assert err == ""
    assert "British (cup 250 mL" in out
    assert "No pantry file was named, so the one in this folder is used: pantry.toml" in out
    assert out.index("Not right yet") < out.index("No pantry file")
    assert "Recipe: jug" in call("check", "jug")[1]
    assert "No pantry file" not in call("check", pint, "--pantry", "pantry.toml")[1]
    assert "US (cup 236.6 mL)" in call("check", pint, "--country", "us")[1]
    (tmp_path / "pantry.toml").write_text("foods = ")
    status, out, err = call("check", pint)
    assert (status, out) == (2, "")
    assert "pantry.toml" in err
