"""An output never takes the place of a file that the program did not make."""

from __future__ import annotations

import os
import re

import click
import pytest

from formulate.base.errors import InputError
from formulate.base.outputs import Output, check_output, write_output
from formulate.cli import COMMANDS
from formulate.cli.main import cli, run

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
    assert re.search("cannot end in|needs an ending", told) or "It has not been changed." in told
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


def options_that_name_a_file():
    """Every option of every command that takes a file, as click knows them."""
    for name in COMMANDS:
        command = cli.get_command(click.Context(cli), name)
        assert command is not None
        for option in command.params:
            if isinstance(option, click.Option) and "FILE" in str(option.metavar):
                yield name, option


#: Options that name a file to read.
READ = {"pantry", "prices"}
WRITTEN = [(name, one) for name, one in options_that_name_a_file() if one.name not in READ]


def test_every_command_that_writes_is_known():
    assert {f"{name} {option.opts[0]}" for name, option in WRITTEN} == {
        "mix --write", "mix --picture", "check --picture", "compare --picture", "prices --picture",
        "prices --csv", "card --out", "label --out", "growth --picture", "rehydrate --card",
        "shop --calendar", "shop --picture", "season --picture", "many --csv", "many --parquet",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "option"), WRITTEN, ids=[f"{name}{option.opts[0]}" for name, option in WRITTEN]
)
def test_no_option_of_any_command_takes_a_file_of_ones_own(tmp_path, monkeypatch, name, option):
    """Whatever it is called: by its name, its whole path, a link or a hard link."""
    monkeypatch.chdir(tmp_path)
    endings = option.type.endings
    for kept in ("pantry.toml", "flock.toml", "flock.log.csv", *(f"own{one}" for one in endings)):
        (tmp_path / kept).write_text("mine\n")
    (tmp_path / "pipe").mkdir()
    names = ["pantry.toml", "./pantry.toml", str(tmp_path / "pantry.toml"), "FLOCK.TOML",
             "flock.log.csv", "new.log.csv", "new", "new.txt", "", ".", "missing", "/dev/null",
             "a" * 300 + endings[0], f"missing/new{endings[0]}"]  # fmt: skip
    for ending in endings:
        os.link(tmp_path / "pantry.toml", tmp_path / f"hard{ending}")
        (tmp_path / f"soft{ending}").symlink_to("pantry.toml")
        (tmp_path / f"loop{ending}").symlink_to(f"loop{ending}")
        (tmp_path / f"folder{ending}").mkdir()
        os.mkfifo(tmp_path / f"pipe{ending}")
        (tmp_path / f"device{ending}").symlink_to("/dev/full")
        stems = (
            "own",
            "./own",
            f"{tmp_path}/own",
            "hard",
            "soft",
            "loop",
            "folder",
            "pipe",
            "device",
        )
        names += [f"{stem}{ending}" for stem in stems]
    before = contents(tmp_path)
    for given in names:
        with pytest.raises(InputError) as caught:
            option.type.convert(given, option, None)
        assert caught.value.exit_status == 2, (name, given)
        assert caught.value.remedy or "cannot be written" in str(caught.value)
    assert contents(tmp_path) == before
    for ending in endings:
        assert option.type.convert(f"new{ending}", option, None) == f"new{ending}"


def contents(folder):
    return {
        path.name: path.read_bytes() if path.is_file() else path.lstat().st_mode
        for path in folder.iterdir()
        if not path.is_symlink()
    }
