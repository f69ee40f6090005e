"""An output never takes the place of a file that the program did not make."""

from __future__ import annotations

import os

import pytest

from formulate.base.errors import InputError
from formulate.base.outputs import Output, check_output, write_output
from formulate.cli.main import run

PRICES = ["--vary", "whole-milk=2..6"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(["start"]) == 0
    return tmp_path


def commands():
    return [
        (["prices", "pantry.toml", *PRICES, "--csv"], ".csv"),
        (["prices", "pantry.toml", *PRICES, "--picture"], ".svg"),
        (["mix", "pantry.toml", "--exact", "--picture"], ".png"),
        (["mix", "pantry.toml", "--exact", "--picture"], ".pdf"),
        (["mix", "pantry.toml", "--exact", "--write"], ".lp"),
        (["mix", "pantry.toml", "--exact", "--write"], ".mps"),
        (["shop", "flock.toml", "pantry.toml", "--calendar"], ".ics"),
        (["label", "pantry.toml", "--out"], ".pdf"),
        (["label", "pantry.toml", "--out"], ".png"),
    ]


@pytest.mark.parametrize(("command", "ending"), commands())
def test_what_a_command_made_it_makes_again_and_nothing_else(folder, capsys, command, ending):
    out = folder / f"made{ending}"
    assert run([*command, str(out)]) == 0
    made = out.read_bytes()
    assert made
    assert run([*command, str(out)]) == 0  # it knows its own work
    for own in (b"mine\n", b"when,animal,what\n", b"[foods]\n", b"#\n" + made):
        out.write_bytes(own)
        capsys.readouterr()
        assert run([*command, str(out)]) == 2
        assert "this command did not make it. It has not been changed." in capsys.readouterr().err
        assert out.read_bytes() == own


@pytest.mark.parametrize(
    ("command", "name"),
    [
        (["prices", "pantry.toml", *PRICES, "--csv"], "pantry.toml"),
        (["prices", "pantry.toml", *PRICES, "--csv"], "flock.log.csv"),
        (["prices", "pantry.toml", *PRICES, "--csv"], "new.txt"),
        (["shop", "flock.toml", "pantry.toml", "--calendar"], "flock.toml"),
        (["mix", "pantry.toml", "--picture"], "pantry.toml"),
        (["mix", "pantry.toml", "--write"], "pantry.toml"),
        (["card", "pantry.toml", "--out"], "pantry.toml"),
        (["mix", "pantry.toml", "--picture"], "new"),
        (["mix", "pantry.toml", "--picture"], "folder.png"),
    ],
)
def test_a_file_of_ones_own_is_refused_with_the_reason(folder, capsys, command, name):
    (folder / "flock.log.csv").write_text("when,animal,what,amount,unit,note\n")
    (folder / "folder.png").mkdir()
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    capsys.readouterr()
    assert run([*command, name]) == 2
    told = capsys.readouterr().err
    assert name in told
    assert "cannot end in" in told or "It has not been changed." in told
    assert before == {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_a_pipe_is_no_file(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    with pytest.raises(InputError, match="not an ordinary file"):
        check_output(tmp_path / "pipe.csv", Output.TABLE)


def test_an_empty_file_may_be_written(tmp_path):
    path = tmp_path / "a.csv"
    path.touch()
    write_output(path, "recipe,cost [USD/L]\n", Output.TABLE)
    write_output(path, "recipe,least cost [USD/L]\n", Output.TABLE)
    assert path.read_text().startswith("recipe,least")


def test_a_table_of_ones_own_prices_is_not_taken_for_the_program_s(tmp_path):
    path = tmp_path / "a.csv"
    for own in ("food,cost,price [USD]\n", "recipe,cost per L\n", "x\nrecipe,cost [USD/L]\n"):
        path.write_text(own)
        with pytest.raises(InputError, match="did not make it"):
            check_output(path, Output.TABLE)
