"""The command line: what it prints, its JSON, its exit status."""

import json
import os
import signal
import subprocess
import sys

import pytest
from interruptible import interruptible

from formulate.cli.main import run
from formulate.pantry.pantry import sample_pantry

JUG = "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk"
BASES = {"as_fed", "dry_matter", "per_litre", "per_megajoule", "per_kg_water", "ratio"}

COWS_DAIRY = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.evaporated-milk]
price = 1.79
package = "1 can"
[foods.lowfat-buttermilk]
price = 2.69
package = "1 quart"
[foods.heavy-cream]
price = 6.49
package = "1 quart"
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
def cows_dairy(tmp_path):
    path = tmp_path / "pantry.toml"
    path.write_text(COWS_DAIRY)
    return str(path)


def answer(call, *arguments):
    status, out, err = call(*arguments, "--json")
    assert not err
    return status, json.loads(out)  # one object and nothing else


def holds_reads(reads):
    for read in reads:
        assert {"measure", "basis", "unit", "value", "low", "high", "verdict"} <= set(read)
        assert read["basis"] in BASES
        assert read["verdict"] in ("inside", "below", "above", "unknown", None)
        if read["value"] is None:
            assert read["verdict"] == "unknown"
            assert isinstance(read["lacks"], list)
        if read["low"] is None and read["high"] is None and read["value"] is not None:
            assert read["verdict"] is None
    as_fed = {read["measure"] for read in reads if read["basis"] == "as_fed"}
    assert {"solids", "fat", "protein", "lactose"} <= as_fed


def test_mix_json(call):
    status, mix = answer(call, "mix")
    assert status == 0
    assert mix["status"] == "optimal"
    holds_reads(mix["reads"])
    assert all(read["verdict"] in ("inside", None) for read in mix["reads"])
    assert max(mix["certificate"].values()) <= 1e-9
    assert set(mix["certificate"]) == {"primal", "dual", "gap"}
    for amount in mix["amounts"]:
        assert {"food", "grams", "share", "volume_ml", "cost"} <= set(amount)
    assert sum(a["grams"] for a in mix["amounts"]) == pytest.approx(mix["grams"])
    assert sum(a["cost"] for a in mix["amounts"]) == pytest.approx(mix["cost"])
    assert sum(a["share"] for a in mix["amounts"]) == pytest.approx(1)
    assert mix["cost_per_litre"] == pytest.approx(mix["cost"] / mix["volume_ml"] * 1000)
    assert mix["currency"] == "USD"
    assert mix["invented"] is True
    assert all(c["text"] and c["source"] for c in mix["cautions"])


def test_mix_says_that_the_sample_is_a_sample(call):
    status, out, _ = call("mix")
    assert status == 0
    assert "built-in sample" in out
    assert "(invented)" in out
    assert "Cups and spoons: US" in out
    assert "colostrum" in out


def test_mix_for_ewes_milk_on_cows_dairy_says_no(call, cows_dairy):
    status, told = answer(call, "mix", cows_dairy, "--for", "ewe-milk")
    assert status == 1
    assert told["status"] == "infeasible"
    members = {(m["measure"], m["kind"]) for m in told["conflict"]}
    assert members == {("protein", "band-low"), ("lactose", "band-high")}
    nearest = told["nearest"]
    assert nearest["status"] == "nearest"
    holds_reads(nearest["reads"])
    missed = {miss["measure"] for miss in nearest["misses"]}
    assert missed
    assert all(miss["miss"] > 0 for miss in nearest["misses"])
    for read in nearest["reads"]:
        if read["role"] == "safety":
            assert read["verdict"] == "inside"


def test_mix_for_ewes_milk_in_words(call, cows_dairy):
    status, out, _ = call("mix", cows_dairy, "--for", "ewe-milk")
    assert status == 1
    assert "rotein" in out
    assert "milk sugar" in out
    assert "nearest mix" in out


def test_check_of_milk_with_a_can_and_buttermilk(call):
    status, told = answer(call, "check", JUG, "--for", "ewe-milk")
    assert status == 1
    assert told["verdict"] == "outside"
    holds_reads(told["reads"])
    by = {(r["measure"], r["basis"]): r for r in told["reads"]}
    for measure, expected in (("solids", 13.41), ("fat", 3.42), ("protein", 3.67)):
        assert by[measure, "as_fed"]["value"] == pytest.approx(expected, abs=0.005)
        assert by[measure, "as_fed"]["verdict"] == "below"
    assert told["grams"] == pytest.approx(2820, abs=1)
    assert told["cost"] is None


def test_check_of_a_recipe_in_range(call):
    good = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
    status, out, _ = call("check", good)
    assert status == 0
    assert out.startswith("In range, and within every safety limit.")


def test_check_takes_its_kitchen_from_the_option(call):
    _, us = answer(call, "check", "1 cup whole-milk")
    _, metric = answer(call, "check", "1 cup whole-milk", "--kitchen", "metric")
    assert metric["grams"] / us["grams"] == pytest.approx(250 / 236.5882365)
    assert (us["kitchen"], metric["kitchen"]) == ("us", "metric")


@pytest.mark.parametrize(
    ("per", "key"),
    [
        ("litre", "cost_per_litre"),
        ("kg-dry-matter", "cost_per_kg_dry_matter"),
        ("megajoule", "cost_per_megajoule"),
    ],
)
def test_compare_ranks_the_sample_s_recipes_and_its_bag(call, per, key):
    status, told = answer(call, "compare", "--per", per)
    assert status == 0
    rows = told["recipes"]
    assert {row["name"] for row in rows} == set(sample_pantry().recipes)
    assert [row["rank"] for row in rows] == list(range(1, len(rows) + 1))
    # Those in range first, the cheapest first in each group.
    order = [(row["verdict"] != "inside", row[key]) for row in rows]
    assert order == sorted(order)
    assert {row["verdict"] for row in rows} == {"inside", "outside"}
    assert any("bagged-lamb-powder" in row["recipe"] for row in rows)


def test_compare_in_words(call):
    status, out, _ = call("compare", "1 gallon whole-milk", "cream-and-powder")
    assert status == 0
    assert "1. " in out
    assert "USD/MJ" in out


def test_foods(call):
    status, out, _ = call("foods", "buttermilk")
    assert status == 0
    assert "lowfat-buttermilk" in out
    assert "whole-milk " not in out
    status, told = answer(call, "foods")
    assert status == 0
    assert len(told["foods"]) >= 60
    assert call("foods", "zebra")[0] == 0


def test_a_food_shows_its_analysed_lactose_beside_the_one_used(call):
    status, out, _ = call("foods", "--show", "whole milk")
    assert status == 0
    assert "4.8 " in out
    assert "5.05" in out
    status, told = answer(call, "foods", "--show", "lowfat-buttermilk")
    values = {v["measure"]: v for v in told["per_100_g"]}
    assert values["lactose"]["derivation"] == "carbohydrate by difference"
    assert "lactic acid" in call("foods", "--show", "lowfat-buttermilk")[1]


def test_bands(call):
    status, out, _ = call("bands")
    assert status == 0
    for name in ("ewe-milk", "ewe-milk-breeds", "doe-milk", "lamb-replacer", "kid-replacer"):
        assert name in out
    status, told = answer(call, "bands", "ewe-milk")
    assert status == 0
    assert {b["role"] for b in told["bands"]} == {"demanded", "shown", "safety"}
    assert all(b["source"] for b in told["bands"])


def test_start_writes_a_pantry_that_mixes(call, tmp_path):
    status, out, _ = call("start", str(tmp_path / "shelf"))
    assert status == 0
    path = tmp_path / "shelf" / "pantry.toml"
    assert str(path) in out
    assert call("mix", str(path))[0] == 0
    status, _, err = call("start", str(tmp_path / "shelf"))
    assert status == 2
    assert "there already" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["mix", "none.toml"], "no such file"),
        (["mix", "."], "folder"),
        (["mix", "--for", "ewes-milk"], "Did you mean ewe-milk"),
        (["mix", "--make", "2 quartz"], "Did you mean quart"),
        (["mix", "--make", "2 lb"], "not a volume"),
        (["mix", "--make", "8 oz"], "fl oz"),
        (["mix", "--make", "0 L"], "above zero"),
        (["mix", "--make", "-1 L"], "below zero"),
        (["mix", "--make", "1e9 L"], "too large"),
        (["mix", "--mak", "1 L"], "--make"),
        (["mixx"], "Did you mean mix"),
        (["check"], "RECIPE"),
        (["check", ""], "empty"),
        (["check", "1 cup buttermilk"], "Say which"),
        (["check", "1 cup whole-mlk"], "Did you mean whole-milk"),
        (["check", "1 cup whole-milk", "--kitchen", "french"], "us, metric, imperial"),
        (["check", "1 pint whole-milk", "--kitchen", "metric"], "no pint"),
        (["compare", "1 cup goat-milk"], "no price"),
        (["compare", "--per", "cup"], "per"),
        (["foods", "--show", "yogurt"], "Say which"),
        (["bands", "cow-milk"], "no set of reference ranges"),
    ],
)
def test_wrong_input_is_two_lines_and_status_two(call, arguments, words):
    status, out, err = call(*arguments)
    assert status == 2
    assert not out
    assert words in err
    assert len([line for line in err.splitlines() if line.strip()]) <= 4


def test_every_fault_of_a_pantry_is_reported(call, tmp_path):
    path = tmp_path / "p.toml"
    path.write_text(
        COWS_DAIRY.replace("[foods.heavy-cream]", "[foods.heavy-creem]").replace("1 can", "1 cn")
    )
    status, out, err = call("mix", str(path))
    assert (status, out) == (2, "")
    assert "heavy-cream" in err
    assert '"cn"' in err


def test_a_floor_on_a_missing_value_refuses_and_names_the_food(call, tmp_path):
    path = tmp_path / "p.toml"
    path.write_text(
        COWS_DAIRY
        + """
[bands.iron]
demand = [{ measure = "vitamin-d", basis = "per_litre", unit = "IU/L", low = 100 }]
[foods.sheep-milk]
price = 9
package = "1 quart"
"""
    )
    status, _, err = call("mix", str(path), "--for", "iron")
    assert status == 2
    assert "sheep-milk has no value for vitamin D" in err


def test_a_fault_of_the_program_is_told_apart(call, monkeypatch):
    from importlib import import_module

    def broken(*_):
        raise ZeroDivisionError("x")

    monkeypatch.setattr(import_module("formulate.pantry.reading"), "check", broken)
    status, _, err = call("check", "1 cup whole-milk")
    assert status == 3
    assert "this is a bug in the program" in err


def test_a_bad_certificate_is_a_fault_and_no_no(call, monkeypatch):
    from formulate.blend import solve

    monkeypatch.setattr(solve, "TOLERANCE", -1.0)
    status, out, err = call("mix")
    assert status == 3
    assert not out
    assert "HiGHS" in err


def in_process(*arguments, **more):
    return subprocess.Popen(
        [sys.executable, "-m", "formulate", *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **more,
    )  # fmt: skip


def test_standard_output_of_a_real_process_is_pure_json():
    process = in_process("mix", "--json")
    out, err = process.communicate(timeout=300)
    assert process.returncode == 0
    assert not err
    assert json.loads(out)["status"] == "optimal"


def test_a_closed_pipe_is_no_fault():
    process = in_process("foods")
    process.stdout.close()
    with process.stderr as stream:
        err = stream.read()
    assert process.wait(timeout=300) == 0
    assert not err


@pytest.mark.skipif(os.name == "nt", reason="signals are sent otherwise there")
def test_interrupted():
    script = (
        "import importlib, time, sys\n"
        "def slow(*_):\n    print('ready', flush=True); time.sleep(600)\n"
        "importlib.import_module('formulate.pantry.reading').check = slow\n"
        "from formulate.cli.main import run\n"
        "sys.exit(run(['check', '1 cup whole-milk']))"
    )
    with interruptible([sys.executable, "-c", script]) as process:
        assert process.stdout.readline() == "ready\n"
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=300)
    assert process.returncode == 130
    assert err.strip() == "interrupted"


def test_an_ascii_terminal_gets_its_output():
    process = in_process("mix", env={**os.environ, "PYTHONIOENCODING": "ascii"})
    out, err = process.communicate(timeout=300)
    assert process.returncode == 0
    assert "whole-milk" in out
    assert not err
