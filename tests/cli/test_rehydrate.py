"""``formulate rehydrate``: what it prints first, its JSON, its exit status."""

from __future__ import annotations

import json

import pytest

from formulate.cli.main import run
from formulate.pantry.start import write_sample


@pytest.fixture
def call(capsys):
    def call(*arguments):
        status = run(["rehydrate", *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return call


def test_the_sample_kitchen_veterinarian_first_then_signs_drink_slips_and_times(call):
    status, out, err = call()
    assert status == 0
    assert not err
    order = [
        "Call your veterinarian first",
        "Does it stand?",
        "Call the veterinarian now, before any drink",
        "Only if your veterinarian agrees",
        "1/2 tsp low sodium salt, level",
        "If you make a mistake",
        "double strength",
        "Weighing is safer",
        "How much and when",
        "calf evidence",
    ]
    places = [out.index(words) for words in order]
    assert places == sorted(places)
    assert max(map(len, out.splitlines())) <= 92


def test_sugar_and_salt_is_refused_with_its_reasons(call):
    status, out, _ = call("--check", "1 L water + 8 tsp sugar + 1 tsp salt")
    assert status == 1
    head = out[: out.index("In each litre of water")]
    assert "Do not give this." in head
    assert "from sugar" in head
    assert "Only if your veterinarian agrees" not in out


def test_without_potassium_it_is_outside(call):
    status, out, _ = call("--check", "1 L water + 1/2 tsp salt + 1 tsp baking-soda + 20 g dextrose")
    assert status == 1
    assert "Too low in potassium" in out
    assert "55 mEq/L" in out


def test_json_carries_the_proof_and_the_slips(call):
    status, out, _ = call("--json")
    told = json.loads(out)
    assert status == 0
    assert told["status"] == "designed"
    assert told["verdict"] == "inside"
    assert told["agreed"] is False
    assert max(told["drink"]["certificate"].values()) <= 1e-9
    slips = {(slip["slip"], slip["food"]): slip for slip in told["drink"]["slips"]}
    assert slips["tablespoon", None]["sodium"] > 250
    assert slips["tablespoon", None]["harm"]
    assert slips["in-milk", None]["strong_ion_difference"] is None
    assert told["weighing"]["scale"]["sodium"] < told["weighing"]["spoons"]["sodium"]
    assert {read["measure"] for read in told["drink"]["reads"]} >= {"sodium-ions", "alkali"}
    assert "solids" not in {read["measure"] for read in told["drink"]["reads"]}
    assert [animal["animal"] for animal in told["animals"]] == ["Pip", "Wren", "Bramble", "Dot"]


def test_json_of_a_refusal(call):
    status, out, _ = call("--check", "1 L water + 8 tsp sugar + 1 tsp salt", "--json")
    told = json.loads(out)
    assert (status, told["status"], told["verdict"]) == (1, "checked", "never")
    assert told["verdict_why"][0]["id"] == "bound-sugar"
    assert told["drink"]["certificate"] is None


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (("--stands", "no"), "cannot stand"),
        (("--sucks", "no"), "does not suck"),
        (("--temperature", "36.5C"), "36.5 °C, below 37"),
        (("--swollen-belly",), "swollen. That is bloat"),
        (("--age", "1d"), "under two days"),
    ],
)
def test_no_drink_where_only_the_veterinarian_helps(call, option, words):
    status, out, _ = call(*option, "--weight", "4kg")
    assert status == 1
    assert out.index("Call the veterinarian now") < out.index(words)
    assert "tsp" not in out
    assert "No drink: only a veterinarian" in out


def test_no_water_beside_it(call):
    status, out, _ = call("--no-water")
    assert status == 1
    assert "no clean water within reach" in out
    assert "tsp" not in out.replace("teaspoons", "")


@pytest.mark.parametrize(
    "arguments",
    [
        ("--check", "1 L water + a pinch of salt"),
        ("--check", "1 tsp salt"),
        ("--check", ""),
        ("--animal", "nobody"),
        ("--weight", "4"),
        ("--weight", "-4kg"),
        ("--weight", "nan kg"),
        ("--age", "soon"),
        ("--skin", "maybe"),
        ("--temperature", "hot"),
        ("--temperature", "102"),
        ("--day", "0"),
        ("--day", "x"),
        ("--make", "three"),
        ("--make", "1e9 L"),
        ("--make", "1 mL"),
        ("--pantry", "nowhere.toml"),
        ("nowhere.toml",),
        ("--on", "someday"),
        ("--card", "card.txt"),
    ],
)
def test_bad_input_is_two_lines_and_status_2(call, arguments):
    status, out, err = call(*arguments)
    assert status == 2
    assert not out
    assert 1 <= len(err.strip().splitlines()) <= 4


def test_a_kitchen_without_what_it_needs(call, tmp_path):
    path = tmp_path / "pantry.toml"
    path.write_text(
        'currency = "USD"\nprices_on = 2026-11-02\n'
        '[foods.table-salt]\nprice = 1\npackage = "1 lb"\n'
        '[foods.sugar]\nprice = 1\npackage = "1 lb"\n'
    )
    status, out, _ = call("--pantry", str(path))
    assert status == 1
    assert "low sodium salt, baking soda and dextrose" in out


def test_too_little_water_for_spoons_names_another_amount(call):
    status, out, _ = call("--make", "1 cup")
    assert status == 1
    assert "does not work out in level spoons with 1 cup" in out


def test_only_a_pantry_needs_no_flock(call, tmp_path):
    write_sample(tmp_path)
    status, out, _ = call("--pantry", str(tmp_path / "pantry.toml"))
    assert status == 0
    assert "For each kilogram of its weight" in out
    assert "Wren" not in out


def test_a_card_is_written_only_for_a_drink_that_is_right(call, tmp_path):
    good, bad = tmp_path / "good.pdf", tmp_path / "bad.pdf"
    status, out, _ = call("--card", str(good))
    assert status == 0
    assert good.stat().st_size > 1000
    assert "1 page" in out
    status, _, _ = call("--check", "1 L water + 1 tsp salt", "--card", str(bad))
    assert status == 1
    assert not bad.exists()


def test_the_card_in_json(call, tmp_path):
    good = tmp_path / "good.png"
    _, out, _ = call("--card", str(good), "--json")
    assert json.loads(out)["written"] == [str(good)]


@pytest.mark.parametrize("whose", [(), ("--animal", "Pip")])
def test_an_age_that_stops_a_drink_stops_it_for_the_flock_too(call, whose):
    """Pip is 12 days old on the list; whoever says 36 hours is told to give no drink."""
    status, out, err = call("--age", "36h", *whose)
    assert (status, err) == (1, "")
    assert "Call the veterinarian now" in out
    assert "No drink: only a veterinarian can help it now." in out
    assert call("--age", "3d", *whose)[0] == 0
