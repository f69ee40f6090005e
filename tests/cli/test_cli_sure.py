"""``formulate mix --sure`` and its like on the command line."""

import json

import numpy as np
import pytest

from formulate.blend.protect.confidence import confidence_of
from formulate.cli.main import run
from formulate.foods.bands import Role
from formulate.foods.tables import band_set
from formulate.pantry.pantry import sample_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe


@pytest.fixture
def answer(capsys):
    def answer(*arguments):
        status = run([*arguments, "--json"])
        out, err = capsys.readouterr()
        assert not err
        return status, json.loads(out)

    return answer


@pytest.fixture
def told(capsys):
    def told(*arguments):
        status = run(list(arguments))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return told


@pytest.mark.parametrize("exact", [[], ["--exact"]])
def test_each_read_of_a_sure_mix_holds_in_a_separate_draw(answer, exact):
    status, mix = answer("mix", "--sure", "95", *exact)
    assert status == 0
    for read in mix["reads"]:
        if read["role"] != "shown":
            assert read["low95"] <= read["value"] <= read["high95"]
            assert 0 <= read["chance_inside"] <= 1
    assert mix["chance_all_inside"] <= min(
        r["chance_inside"]
        for r in mix["reads"]
        if r["chance_inside"] is not None and r["role"] != "shown"
    )
    pantry = sample_pantry()
    words = " + ".join(f"{a['grams']!r} g {a['food']}" for a in mix["amounts"])
    again = check(parse_recipe(words, pantry.table), band_set("lamb-replacer"), pantry)
    draws = 400_000
    separate = confidence_of(again, draws=draws, seed=20261)
    three_errors = 3 * np.sqrt(0.95 * 0.05 / draws)
    for sure in separate.reads:
        if sure.chance_inside is not None and sure.read.band.role is not Role.SHOWN:
            assert sure.chance_inside >= 0.95 - three_errors


def test_protection_costs_something_and_the_more_the_surer(answer, tmp_path):
    _, plain = answer("mix", "--exact")
    _, sure = answer("mix", "--exact", "--sure", "95")
    assert sure["cost_per_litre"] > plain["cost_per_litre"]
    assert sure["protection"]["extra_per_litre"] == pytest.approx(
        sure["cost_per_litre"] - plain["cost_per_litre"]
    )
    picture = tmp_path / "protection.png"
    status, told = answer("mix", "--protection", "--picture", str(picture))
    assert status == 0
    costs = [row["cost_per_litre"] for row in told["protection"]]
    assert costs == sorted(costs)
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_worst_case(answer):
    _, plain = answer("mix", "--exact")
    status, guarded = answer("mix", "--worst-case", "1")
    assert status == 0
    assert guarded["protection"]["budget"] == 1
    assert guarded["cost_per_litre"] >= plain["cost_per_litre"]


def test_what_cannot_be_sure_says_how_sure_it_can_be(answer, told, tmp_path):
    path = tmp_path / "p.toml"
    path.write_text(
        """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.evaporated-milk]
price = 1.79
package = "12 fl oz"
step = "1/4 cup"
"""
    )
    pantry = str(path)
    assert answer("mix", pantry, "--exact")[0] == 0
    status, no = answer("mix", pantry, "--sure", "95")
    assert status == 1
    assert no["status"] == "not-sure"
    assert no["asked"] == 95
    assert no["most"] is None or 50 <= no["most"] < 95
    status, out, _ = told("mix", pantry, "--sure", "95", "--exact")
    assert status == 1
    assert "No mix of these foods keeps every range in 95 % of batches" in out


def test_check_says_how_sure_it_is(told, answer):
    recipe = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
    status, out, _ = told("check", recipe)
    assert status == 0
    assert "In 19 batches out of 20 you would get" in out
    _, shape = answer("check", recipe)
    assert 0 < shape["chance_all_inside"] < 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--sure", "100"], "ever certain"),
        (["--sure", "49.9"], "at least 50"),
        (["--sure", "-3"], "-3"),
        (["--sure", "x"], "is not a number"),
        (["--worst-case", "9"], "9"),
        (["--worst-case", "1", "--in", "1 L jar"], "--in and --worst-case"),
        (["--sure", "95", "--worst-case", "1"], "--sure and --worst-case"),
    ],
)
def test_wrong_input(told, arguments, words):
    status, out, err = told("mix", *arguments)
    assert status == 2
    assert not out
    assert words in err
