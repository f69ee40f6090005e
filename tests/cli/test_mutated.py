"""Mutated files, recipes, panels and options: refused in a few words, or read; never a fault."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from mutated import MIX, WELL_FORMED, Case, case_of, run_case

#: Cases of every run, and on request.
QUICK, LONG, A_LOT = 120, 100_000, 1000


def check(number):
    case = case_of(number)
    with tempfile.TemporaryDirectory() as folder:
        end = run_case(case, Path(folder))
    assert not end.faults, (number, case.kind, case.arguments, end.error)


@pytest.mark.parametrize("case", WELL_FORMED, ids=lambda case: " ".join(case.arguments)[:40])
def test_what_is_mutated_is_right_to_begin_with(case, tmp_path):
    end = run_case(case, tmp_path)
    assert end.status in (0, 1), end.error
    assert not end.faults


@pytest.mark.parametrize("lot", range(4))
def test_what_is_nearly_right_is_read_or_refused(lot):
    for number in range(lot * QUICK // 4, (lot + 1) * QUICK // 4):
        check(number)


@pytest.mark.long
@pytest.mark.parametrize("lot", range(LONG // A_LOT))
def test_a_hundred_thousand_mutated_inputs(lot):
    for number in range(lot * A_LOT, (lot + 1) * A_LOT):
        check(number)


DIGITS = "9" * 5000
LETTERS = "x" * 10_000
#: What mutation has found; each is refused.
FOUND = {
    "too many digits in a pantry": Case(
        "pantry", ["mix", "pantry.toml"], {"pantry.toml": f"[foods.whole-milk]\nprice = {DIGITS}"}
    ),
    "too many digits in a flock": Case(
        "flock", ["today", "flock.toml"], {"flock.toml": f"[animals]\njars = {DIGITS}"}
    ),
    "deep tables in a flock that is looked for": Case(
        "flock", ["today"], {"our-flock.toml": f"a = {'{ b = ' * 3000}1{'}' * 3000}"}
    ),
    "a designed mix of a number beyond all": Case(
        "mix", ["feed", "--milk=mix.json"], {"mix.json": MIX.replace("1830.0", "9" * 400)}
    ),
    "a designed mix that fills no jug": Case(
        "mix", ["feed", "--milk=mix.json"], {"mix.json": MIX.replace("1830.0", "1e308")}
    ),
    "a designed mix nested too deeply": Case(
        "mix", ["feed", "--milk=mix.json"], {"mix.json": "[" * 100_000}
    ),
    "less than any bag guarantees": Case(
        "pantry",
        ["mix", "pantry.toml"],
        {
            "pantry.toml": "[foods.bag]\n[own.bag]\nkind = 'replacer-powder'\n"
            "at_least = { protein = 23, fat = 1e-9 }\nat_most = { ash = 8, water = 5 }\n"
        },
    ),
    "less than any scale shows": Case("recipe", ["check", "5e-324 g whole-milk + 1 L water"]),
    "a food longer than any file's name": Case("options", ["mix", LETTERS]),
    "a file's name that is too long": Case("options", ["mix", f"{LETTERS}.toml"]),
    "a long milk": Case("options", ["today", "--lamb=4 kg", "--age=3d", f"--milk={LETTERS}.json"]),
    "a long option": Case("options", [f"mix --{LETTERS}"]),
    "many signs to escape": Case("recipe", ["check", "--", "$\u202e" * 60]),
    "many signs to escape in a panel": Case(
        "panel", ["carton", "--sold-as=whole milk", "--fat=" + ".\u2028" * 60]
    ),
    "many signs to escape in a file's name": Case(
        "options", ["mix", "--picture=" + "x" * 200 + "\u202e" * 9 + ".pd"]
    ),
    "a long choice": Case("options", ["compare", f"--per={LETTERS}"]),
    "a long whole number": Case("options", ["mix", f"--at-most={LETTERS}"]),
    "a long picture": Case("options", ["mix", f"--picture={LETTERS}.svg"]),
    "a bell in a picture's name": Case("options", ["mix", "--picture=a\x07.s+g"]),
    "a line separator for a picture": Case("options", ["mix", "--picture=\u2028"]),
}


@pytest.mark.parametrize("name", FOUND)
def test_what_mutation_found_is_refused(tmp_path, name):
    end = run_case(FOUND[name], tmp_path)
    assert not end.faults, end.error
    assert end.status in (1, 2)
    assert len(end.error) < 1000


def test_a_bell_in_the_name_of_a_file_that_is_written_is_escaped(tmp_path, monkeypatch, capsys):
    from formulate.cli.main import run

    monkeypatch.chdir(tmp_path)
    assert run(["mix", "--exact", "--write", "a\x07b.lp"]) == 0
    assert "Wrote a\\x07b.lp" in capsys.readouterr().out
    assert (tmp_path / "a\x07b.lp").exists()


def unknown_foods(count):
    return "".join(f"[foods.f{n}]\nprice = 1\npackage = '1 g'\n" for n in range(count))


LARGE = {
    "unknown foods": unknown_foods(6000),
    "a long key": f"{'k' * 1_000_000} = 1\n",
    "a long text": f'name = "{"n" * 1_000_000}"\n',
    "a long recipe": f'[recipes]\njug = "{"1 cup whole-milk + " * 90_000}1 cup water"\n',
    "deep arrays": f"a = {'[' * 100_000}{']' * 100_000}\n",
    "deep tables": f"a = {'{b = ' * 50_000}1{'}' * 50_000}\n",
    "many unknown keys": "".join(f"key{n} = 1\n" for n in range(6000)),
}


@pytest.mark.parametrize("name", LARGE)
def test_a_large_input_is_refused_in_few_words(tmp_path, capsys, name):
    from formulate.cli.main import run

    path = tmp_path / "pantry.toml"
    path.write_text(LARGE[name])
    assert run(["mix", str(path)]) == 2
    told = capsys.readouterr().err
    assert len(told.splitlines()) <= 25
    assert len(told) < 10_000
