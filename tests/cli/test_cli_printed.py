"""``formulate card``, ``formulate label``, and the pictures of ``check`` and ``compare``."""

from __future__ import annotations

import json
import re
from datetime import datetime

import pytest
from clock_by_hand import stop_clock
from printed import read_back

from formulate.cli.main import run


@pytest.fixture
def call(capsys):
    def call(*arguments):
        status = run(list(arguments))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return call


@pytest.fixture
def farm(tmp_path, call):
    assert call("start", str(tmp_path))[0] == 0
    return tmp_path


@pytest.mark.parametrize("command", ["card", "label"])
def test_from_a_fresh_install(command, tmp_path, call, monkeypatch):
    stop_clock(monkeypatch, datetime(2026, 11, 30, 23, 59), "cli._printed")
    path = tmp_path / "sheet.pdf"
    status, out, err = call(command, "--out", str(path))
    assert (status, err) == (0, "")
    assert f"Wrote {path}" in out
    text = read_back(path).text
    assert "30 Nov 2026" in text
    assert "1 Dec" in text


@pytest.mark.parametrize("command", ["card", "label"])
def test_for_a_flock_on_its_day(command, farm, call):
    path = farm / "sheet.png"
    flock = str(farm / "flock.toml")
    status, out, err = call(command, "--flock", flock, "--out", str(path), "--json")
    assert (status, err) == (0, "")
    shape = json.loads(out)
    assert shape["written"] == [str(path)]
    assert (shape["mixed_on"], shape["use_by"]) == ("2026-11-14", "2026-11-15")
    assert (shape["verdict"], shape["refused"]) == ("inside", [])
    lambs, kid = shape["milks"]
    assert lambs["fed"][0]["animals"] == ["Pip", "Wren", "Dot"]
    assert kid["fed"][0]["verdict"] == "inside"
    assert lambs["day"]["steps"][0]["food"] == "whole-milk"
    assert lambs["jar"]["words"] == lambs["jar_words"] == "1 quart jar"
    assert path.read_bytes().startswith(b"\x89PNG")


def test_the_date_can_be_another_or_none(tmp_path, call):
    path = tmp_path / "card.pdf"
    assert call("card", "--out", str(path), "--on", "2027-01-31")[0] == 0
    assert "Use by: Mon 1 Feb 2027" in read_back(path).text
    assert call("card", "--out", str(path), "--by-hand")[0] == 0
    assert "Mixed on: ____" in read_back(path).text
    assert call("card", "--out", str(path), "--on", "Sunday")[0] == 2


def test_paper(tmp_path, call):
    path = tmp_path / "card.pdf"
    call("card", "--out", str(path))
    assert read_back(path).sizes[0] == pytest.approx((215.9, 279.4), abs=0.1)
    call("card", "--out", str(path), "--paper", "a4")
    assert read_back(path).sizes[0] == pytest.approx((210, 297), abs=0.1)
    status, _, err = call("card", "--out", str(path), "--paper", "a5")
    assert status == 2
    assert "a4" in err


def test_a_day_and_a_jug(tmp_path, call):
    path = tmp_path / "card.pdf"
    jug = "1 gallon jug of whole-milk"
    more = ["--keep-to", "cream-and-powder", "--make", "3 quarts", "--in", jug]
    assert call("card", *more, "--out", str(path))[0] == 0
    text = read_back(path).text
    assert "For the 1 gallon jug" in text
    assert "For a day: 12." in text


@pytest.mark.parametrize("command", ["card", "label"])
@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--out", "card.jpg"], "Write card.pdf or card.png"),
        (["--out", "nowhere/card.pdf"], "cannot be written"),
        (["--out", "card.pdf", "--for", "ewemilk"], "ewe-milk"),
        (["--out", "card.pdf", "--in", "a big jar"], "cannot be read"),
        (["--out", "card.pdf", "--flock", "none.toml"], "none.toml"),
        ([], "--out"),
    ],
)
def test_what_cannot_be_meant(command, arguments, words, tmp_path, call, monkeypatch):
    monkeypatch.chdir(tmp_path)
    status, out, err = call(command, *arguments)
    assert status == 2
    assert words in err
    assert not out
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("as_json", [False, True])
def test_no_mix_is_a_no(as_json, tmp_path, call):
    path = tmp_path / "card.pdf"
    more = ["--json"] if as_json else []
    status, out, _ = call("card", "--for", "ewe-milk", "--out", str(path), *more)
    assert status == 1
    assert ("infeasible" if as_json else "cannot make it") in out
    assert not path.exists()
    status, out, _ = call("card", "--make", "40 mL", "--out", str(path), *more)
    assert status == 1
    assert "whole measures" in out
    assert not path.exists()


def on(flock, mix):
    """Everyone in a flock file on one milk, and no change."""
    text = re.sub(r"(?m)^mix = .*$", "", flock.read_text(), count=2)
    text = re.sub(r"(?s)\[change\].*?(?=\n\[)", "", text)
    flock.write_text(f'mix = "{mix}"\n{text}')


@pytest.mark.parametrize("command", ["card", "label"])
def test_a_recipe_out_of_range_is_printed_with_its_verdict_and_a_no(command, farm, call):
    on(farm / "flock.toml", "plain-milk")
    path = farm / "sheet.pdf"
    status, out, _ = call(command, "--flock", str(farm / "flock.toml"), "--out", str(path))
    assert status == 1
    assert out.startswith("Not right yet")
    assert "Not right yet" in out.splitlines()[0]
    assert "Not right yet" in read_back(path).text


@pytest.mark.parametrize("command", ["card", "label"])
@pytest.mark.parametrize(
    ("mix", "verdict"),
    [
        ("1 quart whole-milk + 1/2 cup cod-liver-oil", "never"),
        ("1 quart heavy-cream", "vet"),
    ],
)
def test_nothing_is_printed_of_what_may_not_be_fed(command, mix, verdict, farm, call):
    flock, path = farm / "flock.toml", farm / "sheet.pdf"
    on(flock, mix)
    status, out, _ = call(command, "--flock", str(flock), "--out", str(path))
    assert status == 1
    assert "Do not feed this" in out.splitlines()[0]
    assert out.endswith("Nothing is printed: no milk here may be fed.\n")
    assert not path.exists()
    status, out, _ = call(command, "--flock", str(flock), "--out", str(path), "--json")
    shape = json.loads(out)
    assert (status, shape["verdict"], shape["milks"], shape["written"]) == (1, verdict, [], [])
    assert shape["refused"][0]["verdict_why"]


def test_the_sample_is_a_yes(farm, call):
    path = farm / "sheet.pdf"
    for command in ("card", "label"):
        assert call(command, "--flock", str(farm / "flock.toml"), "--out", str(path))[0] == 0


def test_a_milk_for_all_by_name(farm, call):
    path, flock = farm / "sheet.pdf", str(farm / "flock.toml")
    status, out, _ = call(
        "card", "--flock", flock, "--milk", "cream-and-powder", "--out", str(path)
    )
    assert status == 1  # too strong for the kid
    assert out.startswith("Not right yet")
    assert "cream-and-powder for Bramble." in out.splitlines()[0]


def test_too_weak_for_an_animal_is_a_no_and_a_card(farm, call):
    flock = farm / "flock.toml"
    flock.write_text(
        flock.read_text().replace('notes = "ewe', 'veterinarians_cap = "25 mL/kg"\nnotes = "ewe')
    )
    path = farm / "card.pdf"
    status, out, _ = call("card", "--flock", str(flock), "--out", str(path))
    assert status == 1
    assert "too weak for Pip" in out
    assert "too weak for Pip" in read_back(path).text


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_pictures_of_checks_and_costs(kind, tmp_path, call):
    path = tmp_path / f"reads.{kind}"
    status, out, _ = call("check", "1 cup whole-milk", "--picture", str(path))
    assert status == 1
    assert out.endswith(f"Wrote {path}\n")
    costs = tmp_path / f"costs.{kind}"
    status, out, _ = call("compare", "--picture", str(costs), "--json")
    assert status == 0
    assert json.loads(out)["written"] == [str(costs)]
    assert path.stat().st_size > 1000
    assert costs.stat().st_size > 1000


def test_pictures_refuse_other_endings(tmp_path, call):
    for command in (["check", "1 cup whole-milk"], ["compare"]):
        status, out, err = call(*command, "--picture", str(tmp_path / "p.gif"))
        assert (status, out) == (2, "")
        assert "Write p.svg, p.png or p.pdf." in err
