"""``formulate start``: one's own foods and animals, by options or by answers, or the sample."""

import json
import subprocess
import sys
from datetime import date, timedelta

import click
import pytest

from formulate.answers.start import newcomer, start
from formulate.base.errors import InputError
from formulate.cli.main import run
from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock

BORN = date.today() - timedelta(days=5)
FOODS = ["whole-milk=3.80/gallon", "evaporated-milk=1.79/can"]
PIP = f"Pip, lamb, 4.2 kg, {BORN}"


@pytest.fixture
def call(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def call(*arguments):
        status = run(["start", *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return call


@pytest.fixture
def asked(call, monkeypatch):
    """Answers typed in a terminal, one a question; an exception is raised there."""

    def asked(*answers, options=()):
        left = list(answers)

        def prompt(words, default=None, **how):
            print(words, file=sys.stderr)
            answer = left.pop(0)
            if isinstance(answer, BaseException):
                raise answer
            return answer

        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
        monkeypatch.setattr(click, "prompt", prompt)
        done = call(*options)
        assert not left
        return done

    return asked


def options(foods=FOODS, animals=()):
    return [
        *(part for food in foods for part in ("--food", food)),
        *(part for animal in animals for part in ("--animal", animal)),
    ]


class TestOptions:
    def test_foods_and_animals_are_written_with_a_milk_for_each_species(self, call, tmp_path):
        fern = f"Fern, {BORN} 04:30, kid, 3.4 kg"
        status, out, _ = call(*options(animals=[PIP, fern]))
        assert status == 0
        assert "Next: formulate today" in out
        assert "Prices are assumed to be in USD." in out
        pantry = load_pantry(tmp_path / "pantry.toml")
        assert pantry.has_prices
        assert set(pantry.recipes) == {"lamb-milk", "kid-milk"}
        flock = load_flock(tmp_path / "flock.toml").flock
        assert flock.names == ["Pip", "Fern"]
        assert [animal.mix or flock.mix for animal in flock.animals] == ["lamb-milk", "kid-milk"]
        for command in ("mix", "today", "feed", "growth"):
            assert run([command]) == 0

    def test_foods_alone_need_no_prices(self, call, tmp_path):
        status, out, _ = call(*options(["whole-milk", "evaporated-milk"]))
        assert status == 0
        assert "lamb-milk: 5 cups whole-milk + 2 cans evaporated-milk" in out
        assert "Next: formulate mix" in out
        assert not load_pantry(tmp_path / "pantry.toml").has_prices
        assert not (tmp_path / "flock.toml").exists()
        assert run(["mix"]) == 0

    def test_foods_that_make_no_milk_are_written_and_said(self, call, tmp_path):
        status, out, _ = call(*options(["whole-milk"]))
        assert status == 0
        assert "No mix of these foods is in range yet." in out
        assert not load_pantry(tmp_path / "pantry.toml").recipes

    def test_a_country_gives_its_foods_and_money(self, call, tmp_path):
        british = ["whole-milk=1.65/4 pints", "evaporated-milk=1.40/tin"]
        call(*options(british), "--country", "uk")
        pantry = load_pantry(tmp_path / "pantry.toml")
        assert (pantry.currency, pantry.country.key) == ("GBP", "uk")

    def test_as_json(self, call):
        status, out, _ = call(*options(), "--json")
        shape = json.loads(out)
        assert status == 0
        assert shape["written"] == ["pantry.toml"]
        assert shape["recipes"]["lamb-milk"] == "5 cups whole-milk + 2 cans evaporated-milk"

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (options([], [PIP]), "animals need a milk"),
            ([*options(), "--sample"], "the sample has its own foods"),
            (options(["whole-mlk"]), "whole-milk"),
            (options(["whole-milk=3/gallon", "evaporated-milk"]), "evaporated-milk has no price"),
            (options(["whole-milk=3.80"]), "whole-milk=3.80/gallon"),
            (options(["whole-milk", "whole-milk"]), "named twice"),
            (options(animals=["Pip"]), 'is missing "lamb" or "kid", a birth weight and a date'),
            (options(animals=["Pip, lamb, 4.2 kg"]), "is missing a date of birth"),
            (options(animals=["Pip, lamb, 4.2, 2026-11-02"]), "unit"),
            (options(animals=[f", lamb, 4.2 kg, {BORN}"]), "is missing a name"),
            (
                options(animals=["Pip, lamb, 4.2 kg, soon"]),
                '"lamb" and "soon" would both be "lamb" or "kid"',
            ),
            (
                options(animals=["Pip, goat, 4.2 kg, yesterday"]),
                '"goat" is not "lamb" or "kid". Write it as "Pip, lamb, 4.2 kg, 2026-11-02"',
            ),
            (options(animals=["Pip, lamb, 4.2 kg, 2026-02-30"]), "2026-02-30"),
            (options(animals=[f"Pip, lamb, 400 kg, {BORN}"]), "400 kg"),
            (options(animals=[f"Pip, lamb, 4 g, {BORN}"]), "0.004 kg"),
            (options(["whole-milk"], [PIP]), "no mix of these foods is right to feed"),
            (options(animals=[PIP, PIP.lower()]), "pip"),
        ],
    )
    def test_wrong_input_leaves_nothing(self, call, tmp_path, arguments, words):
        status, out, err = call("farm/deep", *arguments)
        assert (status, out) == (2, "")
        assert words in err
        assert list(tmp_path.iterdir()) == []

    def test_nothing_is_overwritten(self, call, tmp_path):
        (tmp_path / "flock.toml").write_text("mine")
        status, _, err = call(*options(animals=[PIP]))
        assert status == 2
        assert "there already" in err
        assert (tmp_path / "flock.toml").read_text() == "mine"
        assert not (tmp_path / "pantry.toml").exists()


class TestPantryThatIsThere:
    @pytest.fixture(autouse=True)
    def pantry(self, call, tmp_path):
        assert call(*options())[0] == 0
        self.before = (tmp_path / "pantry.toml").read_bytes()
        yield
        assert (tmp_path / "pantry.toml").read_bytes() == self.before

    def test_animals_are_put_beside_it(self, call, tmp_path):
        status, out, _ = call(*options([], [f"Fern, kid, 3.4 kg, {BORN}", PIP]))
        assert status == 0
        assert out.startswith("Wrote flock.toml\n")
        flock = load_flock(tmp_path / "flock.toml").flock
        assert [animal.mix or flock.mix for animal in flock.animals] == [
            "6 1/2 cups whole-milk + 1 can evaporated-milk",
            "lamb-milk",
        ]
        assert run(["today"]) == 0

    def test_they_are_asked_for(self, asked, tmp_path):
        status, _, err = asked("Pip", "", f"{BORN}", "4.2 kg", "")
        assert status == 0
        assert "pantry.toml is kept as it is" in err
        assert load_flock(tmp_path / "flock.toml").flock.names == ["Pip"]

    def test_without_any_nothing_is_written(self, asked, tmp_path):
        assert asked("")[0] == 0
        assert not (tmp_path / "flock.toml").exists()

    def test_foods_are_not_put_over_it(self, call):
        status, _, err = call(*options(animals=[PIP]))
        assert status == 2
        assert "pantry.toml is there already" in err


class TestSample:
    @pytest.mark.parametrize("given", [[], ["--sample"]])
    def test_without_a_terminal_it_is_written_and_said_to_be_invented(self, call, tmp_path, given):
        status, out, _ = call(*given)
        assert status == 0
        assert "This farm is invented" in out
        assert load_flock(tmp_path / "flock.toml").flock.names == ["Pip", "Wren", "Bramble", "Dot"]

    def test_in_a_terminal_it_has_to_be_asked_for(self, asked, tmp_path):
        status, out, _ = asked(options=["--sample"])
        assert status == 0
        assert "This farm is invented" in out


class TestAsking:
    def test_what_is_not_said_is_asked_and_asked_again(self, asked, tmp_path):
        status, out, err = asked(
            *("atlantis", ""),  # the country; Enter takes the default
            *("", "whole-mlk", "whole-milk", "cheap", "3.80", "3.80/gallon"),
            *("evaporated-milk", "1.79/can", "whole-milk", ""),
            *("Pip", "goat", "", f"{BORN:%d/%m/%y}", f"{BORN} 04:30", "400 kg", "4.2", "4.2 kg"),
            *("pip", "Fern", "KID", f"{BORN:%d %B %Y} 4:30am", "3.4 kg", ""),
        )
        assert status == 0
        assert "no country called" in err
        assert "This cannot be left out." in err
        assert "Did you mean whole-milk" in err
        assert "whole-milk is named twice" in err
        assert "whole-milk=3.80/gallon" in err
        assert 'called "goat"' in err
        assert "400 kg" in err
        assert "Country (us, uk, ie, fr, nz, au or ca) [us]" in err
        assert "Lamb or kid [lamb]" in err
        assert "Next: formulate today" in out
        flock = load_flock(tmp_path / "flock.toml").flock
        assert flock.names == ["Pip", "Fern"]
        assert [animal.species for animal in flock.animals] == ["lamb", "kid"]
        assert {(one.born, f"{one.hour}") for one in flock.animals} == {(BORN, "04:30:00")}
        assert load_pantry(tmp_path / "pantry.toml").country.key == "us"

    def test_foods_that_make_no_milk_are_added_to(self, asked, tmp_path):
        status, _, err = asked("", "whole-milk", "", "", "evaporated-milk", "", "")
        assert status == 0
        assert "No mix of these foods is in range yet." in err
        assert "It would help to add" in err
        assert list(load_pantry(tmp_path / "pantry.toml").recipes) == ["lamb-milk"]

    def test_without_more_foods_they_are_written_and_no_animal_is_asked_for(self, asked, tmp_path):
        status, out, err = asked("", "whole-milk", "", "", "")
        assert status == 0
        assert "Name of an animal" not in err
        assert "No mix of these foods is in range yet." in out
        assert [path.name for path in tmp_path.iterdir()] == ["pantry.toml"]

    @pytest.mark.parametrize("at", [0, 1, 2, 5, 8])
    @pytest.mark.parametrize("how", [click.Abort, KeyboardInterrupt])
    def test_interrupted_it_writes_nothing(self, asked, tmp_path, at, how):
        answers = ["", "whole-milk", "", "evaporated-milk", "", "Pip", "", f"{BORN}", "4.2 kg"]
        status, out, _ = asked(*answers[:at], how())
        assert (status, out) == (130, "")
        assert list(tmp_path.iterdir()) == []

    def test_a_folder_that_is_taken_is_said_before_anything_is_asked(self, asked, tmp_path):
        (tmp_path / "flock.toml").write_text("mine")
        status, _, err = asked()
        assert status == 2
        assert "flock.toml is there already" in err


def test_an_animal_is_read_whatever_the_order():
    for text in (
        " Pip , 2026-11-02 04:30, 4.2 kg, kid",
        "Pip,KID,2026-11-02T04:30,4.2 kg",
        "Pip, kid, 2 Nov 2026 4:30am, 4.2 kg",
        "Pip, kid, 4.30 2 November 2026, 4.2 kg",
    ):
        read = newcomer(text)
        assert (read.name, read.species, read.born, read.hour, read.birth_weight) == (
            "Pip", "kid", "2026-11-02", "04:30", "4.2 kg",
        )  # fmt: skip


def test_no_foods_are_reported(tmp_path):
    with pytest.raises(InputError, match="no food is named"):
        start(tmp_path, [])


@pytest.mark.parametrize(
    "given", [["--sample"], options(animals=[PIP, f"Fern, kid, 3 kg, {BORN}"])]
)
@pytest.mark.parametrize("how", [OSError(28, "No space left on device"), KeyboardInterrupt()])
@pytest.mark.parametrize("after", range(3))
def test_a_disk_that_fills_up_leaves_nothing_half(call, tmp_path, monkeypatch, given, how, after):
    import os

    left = [after]
    sync = os.fsync

    def full(handle):
        left[0] -= 1
        if left[0] < 0:
            raise how
        sync(handle)

    monkeypatch.setattr(os, "fsync", full)
    status, out, err = call("farm", *given)
    if status == 0:  # all was on the disk, or the folder's own entry could not be made sure of
        assert left[0] >= 0 or (after >= 2 and isinstance(how, OSError))
        names = sorted(path.name for path in (tmp_path / "farm").iterdir())
        assert names == ["flock.toml", "pantry.toml"]
        return
    assert (status, out) == (130 if isinstance(how, KeyboardInterrupt) else 2, "")
    assert "no space left" in err or status == 130
    assert list(tmp_path.iterdir()) == []


# Starts in child after child, each killed some lines of Python later than the one before.
_KILLED = """
import io, os, signal, sys, tomllib
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from formulate.answers import start as answers
from formulate.pantry import start

stride, states = int(sys.argv[1]), set()

def killer(at):
    seen = 0
    def trace(frame, event, argument):
        nonlocal seen
        if not frame.f_code.co_filename.endswith(("pantry/start.py", "base/files.py", "shutil.py")):
            return None
        if event == "line":
            seen += 1
            if seen == at:
                os.kill(os.getpid(), signal.SIGKILL)
        return trace
    return trace

at, killed = 0, True
while killed:
    at += stride
    folder = Path(f"farm{at}")
    child = os.fork()
    if child == 0:
        sys.settrace(killer(at))
        start.write_sample(folder)
        os._exit(0)
    killed = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    there = sorted(path.name for path in folder.glob("*.toml"))
    for name in there:
        assert tomllib.loads((folder / name).read_text()), (at, name)  # never half, never empty
    states.add(tuple(there))
    for name in there:
        (folder / name).unlink()
    start.write_sample(folder)  # the next start: nothing in its way, nothing left
    assert sorted(path.name for path in folder.iterdir()) == ["flock.toml", "pantry.toml"], at
print(len(states), at)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
@pytest.mark.parametrize("stride", [pytest.param(1, marks=pytest.mark.long), 7])
def test_a_kill_at_any_step_leaves_whole_files_or_none(tmp_path, stride):
    done = subprocess.run(
        [sys.executable, "-c", _KILLED, str(stride)], cwd=tmp_path,
        capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    states, steps = map(int, done.stdout.split())
    assert states >= 2  # nothing, and everything
    assert steps > 50


def test_a_start_that_was_cut_short_is_finished_with_its_animals(call, tmp_path):
    assert call("farm", *options())[0] == 0
    status, out, err = call("farm", *options(animals=[PIP]))
    assert (status, out) == (2, "")
    assert "Leave out the foods to put your animals beside it" in err
    assert call("farm", f"--animal={PIP}")[0] == 0
    assert sorted(p.name for p in (tmp_path / "farm").iterdir()) == ["flock.toml", "pantry.toml"]


def test_on_a_disk_without_hard_links_nothing_is_overwritten_either(call, tmp_path, monkeypatch):
    def none(*_):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr("os.link", none)
    assert call("farm", *options(animals=[PIP]))[0] == 0
    assert sorted(p.name for p in (tmp_path / "farm").iterdir()) == ["flock.toml", "pantry.toml"]
    assert call("farm", "--sample")[0] == 2
