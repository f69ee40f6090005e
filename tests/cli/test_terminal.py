"""Lines that fit a narrow terminal, and standard streams that are closed, full or cut off."""

from __future__ import annotations

import os
import re
import struct
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.cli._terminal import NARROWEST, fitted, fitted_toml
from formulate.pantry.start import every_key
from formulate.report.words import bullet, table

FORMULATE = [sys.executable, "-m", "formulate"]
ODD = "check '1 cup whole-milk'"  # ends with 1
FULL = Path("/dev/full")


def done_by(arguments, **more):
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True, "timeout": 300}
    return subprocess.run(arguments, check=False, **{**pipes, **more})


def on_a_terminal(columns, *arguments):
    """What a command shows on a terminal of so many columns."""
    fcntl, pty, termios = (pytest.importorskip(name) for name in ("fcntl", "pty", "termios"))
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    surroundings = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")}
    running = subprocess.Popen(
        [*FORMULATE, *arguments], stdin=theirs, stdout=theirs, stderr=theirs, env=surroundings
    )
    os.close(theirs)
    shown = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        shown += piece
    os.close(ours)
    return running.wait(300), shown.decode().replace("\r\n", "\n")


@pytest.mark.parametrize("columns", [40, 60])
@pytest.mark.parametrize(
    "arguments",
    [
        ("mix",),
        ("compare",),
        ("foods", "milk"),
        ("feed",),
        ("shop", "--help"),
        ("check", "1 cup mlk"),
        ("mix", "nowhere.toml"),
    ],
)
def test_lines_fit_the_terminal(columns, arguments):
    _, shown = on_a_terminal(columns, *arguments)
    assert max(map(len, shown.split("\n"))) <= columns
    assert not re.search(r"\d\n *(%|mL|L|g|kg|USD|h|°C)\b", shown)  # a number keeps its unit


def test_each_fault_of_a_file_begins_a_line(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("pantry.toml").write_text('jar = 1\nlid = 2\n[foods.whole-milk]\nprice = "dear"\n')
    status, shown = on_a_terminal(72, "mix", "pantry.toml")
    assert status == 2
    assert max(map(len, shown.split("\n"))) <= 72
    begun = re.findall(r"(?m)^(?:formulate: )?pantry\.toml: (\S+): ", shown)
    assert begun == ["jar", "lid", "foods.whole-milk.price"], shown


def test_a_progress_bar_is_drawn_not_spelled_out(tmp_path):
    (tmp_path / "pantry.toml").write_text("[foods]\n")
    _, shown = on_a_terminal(40, "many", str(tmp_path), "--csv", str(tmp_path / "many.csv"))
    assert "\\x1b" not in shown
    assert "\x1b[?25h" in shown  # the cursor is shown again
    drawn = re.sub(r"\x1b\[\??\d*[a-zA-Z]", "", shown)
    assert max(len(line) for line in re.split(r"[\r\n]", drawn)) <= 40


@pytest.mark.parametrize("which", ["pantry", "flock"])
def test_every_key_is_still_toml_on_a_narrow_terminal(which):
    text = every_key(which)
    for width in (40, 60, 88):
        shown = fitted_toml(text, width)
        assert tomllib.loads(shown) == tomllib.loads(text)
        for line in shown.split("\n"):
            assert len(line) <= width or (" = " in line and "#" not in line), line
    assert fitted_toml(text, 200) == text


def test_json_is_data_on_a_terminal_too():
    import json

    _, shown = on_a_terminal(40, "mix", "--json")
    assert json.loads(shown)["status"] == "optimal"


PARAGRAPH = (
    "Some countries forbid feeding milk that has been in a household kitchen to farm animals, "
    "pets included: 250 mL of it, 13.4 % solids, for 1.74 USD a litre. Ask your authority."
)


def test_a_paragraph_is_set_again():
    shown = fitted(bullet(PARAGRAPH), 40).split("\n")
    assert shown[0].startswith("  - Some countries forbid")
    assert all(line.startswith("    ") and len(line) <= 40 for line in shown[1:])
    assert min(len(line) for line in shown[:-1]) > 25  # no line is left short
    assert " ".join(" ".join(shown).split()) == f"- {PARAGRAPH}"


def test_two_paragraphs_stay_two():
    text = "\n".join([bullet(PARAGRAPH), bullet("Short."), "", bullet(PARAGRAPH, "")])
    shown = fitted(text, 50)
    assert "\n  - Short.\n\nSome countries" in shown


def test_a_table_loses_its_drawing_then_its_columns():
    rows = [
        ("solids", "16.1", "% as fed", "16 to 19", " [o--------] ", "in range"),
        (
            "milk sugar (lactose)",
            "39.1",
            "% of dry matter",
            "up to 40",
            " [--------o] ",
            "in range",
        ),
    ]
    text = "\n".join(table(rows, right=[1]))
    assert fitted(text, 120) == text
    assert fitted(text, 40).split("\n") == [
        "  solids  16.1 % as fed  16 to 19",
        "    in range",
        "  milk sugar (lactose)",
        "    39.1 % of dry matter  up to 40",
        "    in range",
    ]


WORDS = st.lists(
    st.one_of(
        st.text(st.characters(categories=["Ll"]), min_size=1, max_size=14),
        st.tuples(st.integers(0, 9999), st.sampled_from(["mL", "%", "kg", "USD"])).map(
            lambda pair: f"{pair[0]} {pair[1]}"
        ),
    ),
    min_size=1,
    max_size=60,
)


@given(st.lists(WORDS, min_size=1, max_size=4), st.integers(30, 120))
def test_whatever_is_said_fits_and_nothing_is_lost(paragraphs, width):
    said = [" ".join(words) for words in paragraphs]
    shown = fitted("\n".join(bullet(text) for text in said), width)
    assert max(map(len, shown.split("\n"))) <= max(width, NARROWEST, 88 * (width > 88))
    assert shown.split() == " ".join(f"- {text}" for text in said).split()
    assert not re.search(r"\d\n +(mL|%|kg|USD)\b", shown)


@given(st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" ")))
def test_any_text_fits(text):
    assert max(map(len, fitted(text, 40).split("\n"))) <= 40


class TestStreams:
    @pytest.mark.parametrize("lines", [1, 2, 1000])
    def test_a_reader_that_goes_away_changes_no_exit_status(self, lines):
        script = f"set -o pipefail; {sys.executable} -m formulate {ODD} | head -{lines}"
        done = done_by(["bash", "-c", script])
        assert (done.returncode, done.stderr) == (1, "")
        assert len(done.stdout.splitlines()) == min(lines, len(done.stdout.splitlines()))

    @pytest.mark.parametrize("closing", [">&-", ">&- 2>&-", "<&- >&- 2>&-"])
    @pytest.mark.parametrize(("command", "status"), [("mix --exact", 0), ("check '1 cup oil'", 2)])
    def test_closed_streams_are_no_fault(self, closing, command, status):
        script = f"{sys.executable} -m formulate {command} {closing}"
        done = done_by(["bash", "-c", script])
        assert done.returncode == status
        assert "Traceback" not in done.stderr

    @pytest.mark.skipif(not FULL.exists(), reason="no device that is always full")
    @pytest.mark.parametrize("unbuffered", ["", "1"])
    def test_a_full_disk_is_reported(self, unbuffered):
        with FULL.open("w") as full:
            surroundings = {**os.environ, "PYTHONUNBUFFERED": unbuffered}
            done = done_by([*FORMULATE, "mix", "--exact"], stdout=full, env=surroundings)
        assert done.returncode == 2
        assert done.stderr == (
            "formulate: the output cannot be read or written (no space left on device).\n"
        )

    def test_no_warning_of_a_library_reaches_the_terminal(self):
        code = (
            "import sys, warnings\n"
            "from formulate.cli import main\n"
            "main.run = lambda arguments: warnings.warn('a library warns') or 0\n"
            "main.main()"
        )
        done = done_by([sys.executable, "-c", code])
        assert (done.returncode, done.stderr) == (0, "")

    @pytest.mark.parametrize("recipe", ["1 cup sugar", "1 cup water", "1 cup canola-oil"])
    def test_odd_recipes_warn_of_nothing(self, recipe):
        done = done_by([*FORMULATE, "check", recipe])
        assert (done.returncode, done.stderr) == (1, "")

    @pytest.mark.parametrize("arguments", ["start", "mix whole-milk=3.80/gallon evaporated-milk"])
    def test_a_closed_input_is_nobody_to_ask(self, tmp_path, arguments):
        script = f"{sys.executable} -m formulate {arguments} <&-"
        done = done_by(["bash", "-c", script], cwd=tmp_path)
        assert done.returncode == (0 if arguments == "start" else 2)
        assert ("This farm is invented" in done.stdout) == (arguments == "start")


def test_a_sign_that_turns_the_writing_around_is_spelled_out(capsys, monkeypatch, tmp_path):
    from formulate.cli.main import run

    monkeypatch.chdir(tmp_path)
    assert run(["start", "--sample"]) == 0
    run(["note", "Pip", "weak", "--by", "Ann\u200f\u200e\u061c", "--confirm"])
    shown = capsys.readouterr()
    assert "Ann\\u200f\\u200e\\u061c" in shown.out + shown.err
    assert not set("\u200f\u200e\u061c") & set(shown.out + shown.err)
