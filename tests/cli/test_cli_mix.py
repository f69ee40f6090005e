"""``formulate mix`` and ``formulate prices``: whole measures, jugs, reasons, prices, files."""

import csv
import json

import pytest

from formulate.cli.main import run
from formulate.foods.tables import food_table
from formulate.pantry.pantry import sample_pantry
from formulate.pantry.recipe import parse_recipe

PANTRY = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 6.49
package = "1 quart"
on_hand = "1 pint"
use_by = 2026-11-09
[foods.nonfat-dry-milk]
price = 11.99
package = "2 lb"
"""


@pytest.fixture
def call(capsys):
    def call(*arguments):
        status = run(list(arguments))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return call


@pytest.fixture
def answer(call):
    def answer(*arguments):
        status, out, err = call(*arguments, "--json")
        assert not err
        return status, json.loads(out)

    return answer


@pytest.fixture
def pantry(tmp_path):
    def write(text=PANTRY):
        path = tmp_path / "pantry.toml"
        path.write_text(text)
        return str(path)

    return write


def test_measures_meet_every_band_and_read_back(answer):
    status, mix = answer("mix")
    assert status == 0
    for measured in mix["measures"]:
        assert {"food", "count", "measure", "words", "grams"} <= set(measured)
        assert measured["count"] >= 1
        # The words, typed as a recipe a part at a time, weigh what the table says.
        parts = measured["words"].split(" + ")
        weight = sum(
            parse_recipe(f"{part} {measured['food']}", food_table()).grams.sum() for part in parts
        )
        assert weight == pytest.approx(measured["grams"], rel=1e-9)
    assert all(read["verdict"] in ("inside", None) for read in mix["reads"])
    assert mix["rounding_cost"] >= -1e-9
    assert mix["cost_per_litre"] == pytest.approx(
        mix["exact_cost_per_litre"] + mix["rounding_cost"]
    )
    least = 2 * 946.352946
    assert least - 1e-6 <= mix["volume_ml"] <= 1.05 * least


def test_exact_is_never_dearer(answer):
    _, whole = answer("mix")
    status, exact = answer("mix", "--exact")
    assert status == 0
    assert "measures" not in exact
    assert exact["volume_ml"] == pytest.approx(2 * 946.352946)
    assert exact["cost_per_litre"] <= whole["cost_per_litre"] + 1e-9


def test_a_jug_is_poured_off_first_and_never_overflows(call, answer):
    status, mix = answer("mix", "--in", "1 gallon jug of whole-milk")
    assert status == 0
    plan = mix["container"]
    assert plan["volume_ml"] == pytest.approx(3785.411784)
    assert plan["final_volume_ml"] <= plan["volume_ml"]
    assert plan["steps"][0]["grams"] < 0  # poured off
    assert all(step["level_ml"] <= plan["volume_ml"] for step in plan["steps"])
    assert plan["steps"][-1]["level_ml"] == pytest.approx(plan["final_volume_ml"])
    assert mix["volume_ml"] == pytest.approx(plan["final_volume_ml"])
    status, out, _ = call("mix", "--in", "1 gallon jug of whole-milk")
    assert status == 0
    assert "Pour off" in out
    assert "How to mix it" in out


def test_as_much_as_fits_a_jar(answer):
    status, mix = answer("mix", "--in", "half-gallon jar")
    assert status == 0
    assert 0.9 * 1892.7 < mix["volume_ml"] <= 1892.706


def test_at_most_so_many_foods(answer):
    status, mix = answer("mix", "--at-most", "2")
    assert status == 0
    assert len(mix["measures"]) <= 2


def test_stock_is_used_up(answer, pantry):
    path = pantry()
    _, plain = answer("mix", path)
    status, used = answer("mix", path, "--use-up")
    assert status == 0

    def cream(mix):
        return sum(a["grams"] for a in mix["amounts"] if a["food"] == "heavy-cream")

    assert cream(used) >= cream(plain)
    assert used["cost_per_litre"] >= plain["cost_per_litre"] - 1e-9


def test_a_favourite_keeps_its_foods(answer):
    recipe = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
    status, mix = answer("mix", "--keep-to", recipe)
    assert status == 0
    assert {m["food"] for m in mix["measures"]} == {"whole-milk", "heavy-cream", "nonfat-dry-milk"}
    assert mix["changed_measures"] >= 0


def test_metric_measures(answer, pantry):
    path = pantry('kitchen = "metric"\n' + PANTRY.replace("1 gallon", "4 L").replace(
        "1 quart", "1 L").replace("1 pint", "500 mL"))  # fmt: skip
    status, mix = answer("mix", path)
    assert status == 0
    assert 2000 - 1e-6 <= mix["volume_ml"] <= 2100
    milk = next(m for m in mix["measures"] if m["food"] == "whole-milk")
    assert milk["measure"] == "50 mL"


def test_a_scale(answer, pantry):
    status, mix = answer("mix", pantry('measures = "scale"\n' + PANTRY))
    assert status == 0
    assert all(m["measure"].endswith(" g") or m["measure"] == "g" for m in mix["measures"])
    assert mix["rounding_cost"] < 0.01


def test_steps_of_ones_own(answer, pantry):
    text = PANTRY.replace('package = "2 lb"', 'package = "2 lb"\nstep = "1/3 cup"')
    status, mix = answer("mix", pantry(text))
    assert status == 0
    powder = next(m for m in mix["measures"] if m["food"] == "nonfat-dry-milk")
    assert powder["grams"] / (120 / 3) == pytest.approx(powder["count"])


def test_whole_measures_too_coarse_offer_another_size(call, answer, pantry):
    text = PANTRY.replace('package = "1 gallon"', 'package = "1 gallon"\nstep = "whole package"')
    text = text.replace('package = "2 lb"', 'package = "2 lb"\nstep = "1 cup"')
    text = text.replace('on_hand = "1 pint"\nuse_by = 2026-11-09\n', "")
    path = pantry(text)
    status, told = answer("mix", path)
    assert status == 1
    assert told["why"] == "whole measures"
    assert told["exact_cost_per_litre"] > 0
    assert told["nearest"]["status"] == "optimal"
    assert told["nearest"]["volume_ml"] > 3785
    status, out, _ = call("mix", path)
    assert status == 1
    assert "By the gram it is possible" in out
    assert "The nearest size that works" in out


def test_why_and_numbers(call, answer):
    status, out, _ = call("mix", "--why", "--numbers")
    assert status == 0
    assert "Asking for 0.1 % less solids would save" in out
    assert "stays in the recipe" in out
    status, mix = answer("mix", "--why")
    costs = mix["why"]["limit_costs"]
    assert any(row["measure"] == "solids" for row in costs)


def test_what_would_help_for_ewes_milk(answer):
    status, told = answer("mix", "--for", "ewe-milk")
    assert status == 1
    foods = [tuple(row["foods"]) for row in told["would_help"]]
    assert ("nonfat-greek-yogurt",) in foods
    table = food_table()
    assert all(table[food].suitable for row in foods for food in row)
    assert any("milk sugar" in sentence for sentence in told["why"])


def test_closest_within_a_cost(call, answer):
    status, mix = answer("mix", "--closest", "ewe-milk", "--within-cost", "2.10")
    assert status == 1  # it is close, but misses a range
    assert mix["verdict"] == "outside"
    assert mix["status"] == "closest"
    assert mix["cost_per_litre"] <= 2.10 + 1e-9
    deviations = [row["deviation"] for row in mix["front"]]
    assert len(deviations) > 3
    assert deviations == sorted(deviations, reverse=True)
    status, out, _ = call("mix", "--closest", "ewe-milk", "--within-cost", "0.10")
    assert status == 1
    assert "the cheapest costs" in out


def test_second_opinion_and_files(call, answer, tmp_path):
    status, mix = answer("mix", "--second-opinion")
    assert status == 0
    assert mix["second_opinion"]["cost_per_litre"] == pytest.approx(
        mix["exact_cost_per_litre"], rel=1e-6
    )
    files = [tmp_path / "mix.lp", tmp_path / "mix.mps"]
    status, out, _ = call("mix", "--write", str(files[0]), "--write", str(files[1]))
    assert status == 0
    for path in files:
        assert path.stat().st_size > 100
        assert path.with_suffix(f".by-gram{path.suffix}").stat().st_size > 100
        assert f"Wrote {path}" in out
    assert out.count("mix.names.csv") == 1
    assert "Generals" in files[0].read_text()
    assert "Generals" not in files[0].with_suffix(".by-gram.lp").read_text()
    exact = tmp_path / "exact.lp"
    assert call("mix", "--exact", "--write", str(exact))[0] == 0
    assert "Generals" not in exact.read_text()
    assert call("mix", "--write", str(tmp_path / "a.lp"), "--write", "b.xyz")[0] == 2
    picture = tmp_path / "reads.svg"
    assert call("mix", "--picture", str(picture))[0] == 0
    assert picture.read_text().lstrip().startswith("<?xml")


def test_prices_of_one_and_two_foods(call, answer, tmp_path):
    status, told = answer("prices", "--vary", "whole-milk=2.5..16")
    assert status == 0
    steps = told["steps"]
    assert len(steps) > 2
    picture, table = tmp_path / "map.png", tmp_path / "map.csv"
    status, out, _ = call(
        "prices", "--vary", "whole-milk=2.5..6", "--vary", "heavy-cream=3..9",
        "--picture", str(picture), "--csv", str(table), "--points", "20",
    )  # fmt: skip
    assert status == 0
    assert "whole milk + heavy cream" in out
    assert picture.read_bytes().startswith(b"\x89PNG")
    with table.open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 400
    shares = [r["share of prices"] for r in answer(
        "prices", "--vary", "whole-milk=2.5..6", "--vary", "heavy-cream=3..9",
        "--vary", "nonfat-dry-milk=6..30")[1]["recipes"]]  # fmt: skip
    assert sum(shares) == pytest.approx(1)


def test_prices_of_an_impossible_mix(call):
    status, out, _ = call("prices", "--vary", "whole-milk=2..6", "--for", "ewe-milk")
    assert status == 1
    assert "at any price" in out


def test_the_same_on_every_run(answer):
    assert answer("mix") == answer("mix")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["mix", "--at-most", "0"], "at most 0 foods"),
        (["mix", "--at-most", "x"], "whole number"),
        (["mix", "--keep-to", "1 cup goat-milk"], "to the shelf"),
        (["mix", "--keep-to", "plain-mlk"], "plain-milk"),
        (["mix", "--use-up"], "does not say what is on hand"),
        (["mix", "--in", "1 gallon jug of goat-milk"], "on the shelf"),
        (["mix", "--in", "jug"], "size"),
        (["mix", "--in", "2 lb jar"], "volume"),
        (["mix", "--in", "1 L jar", "--make", "1 L"], "--in and --make"),
        (["mix", "--in", "1 L jar", "--exact"], "--in and --exact"),
        (["mix", "--within-cost", "2"], "--within-cost and --closest"),
        (["mix", "--closest", "ewe-milk", "--in", "1 L jar"], "--in and --closest"),
        (["mix", "--make", "much"], "--make:"),
        (["mix", "--for", "ewe-mlik"], "--for:"),
        (["mix", "--make", "much", "--in", "a hat"], "--in and --make"),
        (["mix", "--protection", "--at-most", "2"], "leave --at-most out"),
        (["mix", "--closest", "ewe-milk", "--within-cost", "-1"], "-1"),
        (["mix", "--seconds", "0"], "too little time"),
        (["mix", "--write", "mix.xyz"], ".lp"),
        (["mix", "--picture", "mix.xyz"], ".svg"),
        (["prices"], "--vary"),
        (["prices", "--vary", "whole-milk=6..2.5"], "higher price to the lower"),
        (["prices", "--vary", "whole-milk=3..3"], "single price"),
        (["prices", "--vary", "whole-milk=-3..3"], "below zero"),
        (["prices", "--vary", "whole-milk"], "is not a range"),
        (["prices", "--vary", "goat-milk=1..3"], "food on this shelf"),
        (["prices", "--vary", "whole-milk=1..3", "--vary", "whole milk=2..4"], "twice"),
    ],
)
def test_wrong_input(call, arguments, words):
    status, out, err = call(*arguments)
    assert status == 2
    assert not out
    assert words in err


def test_an_early_end_of_the_search_is_reported(call, monkeypatch):
    from formulate.blend.whole import integer as whole

    real = whole.solve_integer

    def cut_short(*arguments, **options):
        from dataclasses import replace

        found = real(*arguments, **options)
        if hasattr(found, "complete"):
            return replace(found, complete=False, bound=found.objective * 0.98)
        return found

    monkeypatch.setattr(whole, "solve_integer", cut_short)
    status, out, _ = call("mix")
    assert status == 0
    assert "The search ended early" in out
    assert "A mix up to 2.0 % cheaper may exist. Give it more time with --seconds." in out


def test_the_sample_pantry_is_what_the_readme_shows():
    assert set(sample_pantry().recipes) == {
        "can-and-buttermilk", "cream-and-powder", "cream-and-cans", "kid-jug", "plain-milk", "bag",
    }  # fmt: skip


def test_prices_end_with_no_where_a_recipe_is_not_inside(answer, call):
    status, told = answer("prices", "--vary", "whole-milk=2.5..16")
    assert (status, told["verdict"]) == (0, "inside")
    assert call("compare", "plain-milk")[0] == 1
    assert call("compare", "plain-milk", "cream-and-powder")[0] == 0
    status, out, _ = call("prices", "--vary", "whole-milk=2..6", "--for", "ewe-milk")
    assert status == 1
    assert '"formulate mix --for ewe-milk" says why' in out
