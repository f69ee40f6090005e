"""Mutated files, recipes, panels and options: refused in a few words, or read; never a fault."""

from __future__ import annotations

import pytest
from mutated import case_of, run_case

#: Cases of every run, and on request.
QUICK, LONG, A_LOT = 160, 100_000, 1000


def check(number, folder, slowest=None):
    case = case_of(number)
    place = folder / str(number)
    place.mkdir()
    end = run_case(case, place)
    assert not end.faults, (number, case.kind, case.arguments, end.error)
    assert slowest is None or end.seconds < slowest, (number, case.kind, case.arguments)


@pytest.mark.parametrize("lot", range(4))
def test_what_is_nearly_right_is_read_or_refused(tmp_path, lot):
    for number in range(lot * QUICK // 4, (lot + 1) * QUICK // 4):
        check(number, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("lot", range(LONG // A_LOT))
def test_a_hundred_thousand_mutated_inputs(tmp_path, lot):
    for number in range(lot * A_LOT, (lot + 1) * A_LOT):
        check(number, tmp_path, slowest=5.0)


LARGE = {
    "unknown foods": "".join(f"[foods.f{n}]\nprice = 1\npackage = '1 g'\n" for n in range(30_000)),
    "a long key": f"{'k' * 1_000_000} = 1\n",
    "a long text": f'name = "{"n" * 1_000_000}"\n',
    "a long recipe": f'[recipes]\njug = "{"1 cup whole-milk + " * 90_000}1 cup water"\n',
    "deep arrays": f"a = {'[' * 100_000}{']' * 100_000}\n",
    "deep tables": f"a = {'{b = ' * 50_000}1{'}' * 50_000}\n",
    "many unknown keys": "".join(f"key{n} = 1\n" for n in range(30_000)),
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
