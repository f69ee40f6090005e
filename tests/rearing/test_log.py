"""The log loses nothing: replays, two commands at once, a kill at every step of a write."""

import os
import subprocess
import sys
from dataclasses import replace
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base import locks
from formulate.base.errors import InputError
from formulate.rearing.log import Entry, What, append, log_path, read_log, struck

DAY = datetime(2026, 11, 14)
WEIGHT = Entry(DAY, "Pip", What.WEIGHT, 5.4)
FEED = Entry(datetime(2026, 11, 14, 6, 10), "Pip", What.MILK, 240.0)


def add(path, *entries):
    """Add lines as a writer does: what is there already is not added again."""
    with locks.held(path, "log"):
        there = read_log(path).entries
        append(path, [entry for entry in entries if entry not in there])


@pytest.fixture
def path(tmp_path):
    return log_path(tmp_path / "flock.toml")


def test_a_log_is_plain_csv_beside_the_flock_file(path):
    add(path, FEED, WEIGHT)
    assert path.name == "flock.log.csv"
    assert path.read_text().splitlines() == [
        "when,animal,what,amount,unit,note,by",
        "2026-11-14T06:10,Pip,milk,240,mL,,",
        "2026-11-14,Pip,weight,5.4,kg,,",
    ]
    assert set(read_log(path).entries) == {FEED, WEIGHT}


def test_a_later_line_about_the_same_counts(path):
    add(path, WEIGHT)
    add(path, Entry(DAY, "pip", What.WEIGHT, 5.9))
    assert [e.amount for e in read_log(path).entries] == [5.9]
    assert "5.4" in path.read_text()  # nothing is ever taken out


def test_a_line_that_strikes_takes_back_the_newest_and_the_one_before_counts_again(path):
    other = Entry(DAY, "Pip", What.WEIGHT, 5.9)
    add(path, WEIGHT, FEED, other)
    add(path, struck(other, "Ann"))
    assert set(read_log(path).entries) == {WEIGHT, FEED}
    add(path, struck(FEED))
    assert read_log(path).entries == (WEIGHT,)
    assert path.read_text().count("\n") == 6  # and all of it still stands there
    add(path, FEED)  # it was right after all
    assert set(read_log(path).entries) == {WEIGHT, FEED}


def test_a_line_that_strikes_nothing_is_reported(path):
    add(path, WEIGHT, struck(FEED))
    found = read_log(path)
    assert found.entries == (WEIGHT,)
    assert "takes back an entry that is not in the log" in str(found.faults[0])


def test_the_newest_written_line_is_known_whatever_its_time(path):
    add(path, WEIGHT, FEED)
    assert read_log(path).written == (WEIGHT, FEED)
    assert read_log(path).entries == (WEIGHT, FEED)
    add(path, Entry(datetime(2026, 11, 10, 8), "Pip", What.MILK, 100.0))
    assert read_log(path).written[-1].amount == 100.0
    assert read_log(path).entries[0].amount == 100.0


def test_a_log_of_before_there_was_a_name_of_who_fed_is_read_and_added_to(path):
    old = "when,animal,what,amount,unit,note\n2026-11-14T06:10,Pip,milk,240,mL,\n"
    path.write_text(old)
    assert read_log(path).entries == (FEED,)
    later = Entry(datetime(2026, 11, 14, 10), "Pip", What.MILK, 200.0, by="Ann")
    add(path, later)
    assert path.read_text() == old + "2026-11-14T10:00,Pip,milk,200,mL,,Ann\n"
    assert set(read_log(path).entries) == {FEED, later}
    assert not read_log(path).faults


def test_what_has_no_amount_is_read_again(path):
    entries = [
        Entry(FEED.when, "Pip", What.WEAK, by="Ann"),
        Entry(FEED.when, "Pip", What.TEMPERATURE, 38.9),
        Entry(DAY, "Dot", What.ENDED, note="sold"),
    ]
    add(path, *entries)
    assert set(read_log(path).entries) == set(entries)
    path.write_text(path.read_text() + "2026-11-14,Dot,ended,,,eaten,\n")
    assert len(read_log(path).faults) == 1


def test_a_line_cut_in_half_is_reported_with_its_number_and_left_alone(path):
    add(path, FEED, WEIGHT)
    whole = path.read_bytes()
    cut = whole + b"2026-11-15,Pip,weig"
    path.write_bytes(cut)
    found = read_log(path)
    assert set(found.entries) == {FEED, WEIGHT}
    (fault,) = found.faults
    assert "line 4" in str(fault)
    assert "not a complete line" in str(fault)
    assert path.read_bytes() == cut
    after = Entry(datetime(2026, 11, 16), "Pip", What.WEIGHT, 5.7)
    add(path, after)
    assert path.read_bytes() == cut + b"\n2026-11-16,Pip,weight,5.7,kg,,\n"
    assert after in read_log(path).entries


@given(st.integers(0, 200))
def test_wherever_a_log_is_cut_the_whole_lines_before_it_count(tmp_path_factory, at):
    path = tmp_path_factory.mktemp("cut") / "flock.log.csv"
    add(path, FEED, WEIGHT)
    whole = path.read_bytes()
    cut = whole[: min(at, len(whole))]
    path.write_bytes(cut)
    found = read_log(path)
    lines = cut.count(b"\n")
    assert len(found.entries) >= max(lines - 1, 0)
    assert set(found.entries) <= {FEED, WEIGHT}  # a half line is never read as another amount
    assert path.read_bytes() == cut


@pytest.mark.parametrize(
    "line",
    ["2026-11-14,Pip,weight,5.4,lb,", "2026-11-14,Pip,weight,nan,kg,", "soon,Pip,weight,5,kg,",
     "2026-11-14,Pip,weight,-5,kg,", "2026-11-14,Pip,wool,5,kg,", '2026-11-14,"Pip,weight,5,kg,',
     "2026-11-14T06:00+01:00,Pip,milk,5,mL,", "2026-11-14,,weight,5,kg,", "\x00", "a,b"],
)  # fmt: skip
def test_lines_that_cannot_be_read_are_reported_and_the_rest_counts(path, line):
    path.write_text(f"when,animal,what,amount,unit,note\n{line}\n{FEED.line}", encoding="utf-8")
    found = read_log(path)
    assert found.entries == (FEED,)
    assert "line 2" in str(found.faults[0])


def test_bytes_that_are_not_text_are_reported(path):
    path.write_bytes(b"\xff\xfe\xff\n" + FEED.line.encode())
    assert read_log(path).entries == (FEED,)
    assert len(read_log(path).faults) == 1


@given(
    st.text(st.characters(codec="utf-8", exclude_categories=["C"]), min_size=1, max_size=20),
    st.floats(0.001, 1e5),
)
def test_what_is_written_is_read_again(tmp_path_factory, name, amount):
    name = name.strip() or "x"
    path = tmp_path_factory.mktemp("log") / "flock.log.csv"
    entry = Entry(DAY, name, What.WEIGHT, float(f"{amount:.10g}"), "a note, with a comma")
    add(path, entry)
    found = read_log(path)
    assert not found.faults
    assert found.entries == (entry,)


def test_a_log_held_for_long_is_reported(path, monkeypatch):
    monkeypatch.setattr(locks, "PATIENCE", 0.05)
    with locks.held(path), pytest.raises(InputError, match="another command is writing"):
        add(path, FEED)
    add(path, FEED)


def test_a_missing_log_folder_is_reported(tmp_path):
    with pytest.raises(InputError, match="the log cannot be written"):
        add(tmp_path / "nowhere" / "flock.log.csv", FEED)


_WRITER = """
import sys
from datetime import datetime
from pathlib import Path
from formulate.base import locks
from formulate.base.locks import held
from formulate.rearing.log import Entry, What, append
locks.PATIENCE = 600.0
who, path = sys.argv[1], Path(sys.argv[2])
for n in range(20):
    with held(path, "log"):
        append(path, [Entry(datetime(2026, 11, 14, 6, n), who, What.MILK, 100.0 + n)])
"""


def test_commands_at_once_lose_no_line(path):
    names = ["Pip", "Wren", "Dot"]
    running = [subprocess.Popen([sys.executable, "-c", _WRITER, n, str(path)]) for n in names]
    assert [process.wait() for process in running] == [0, 0, 0]
    found = read_log(path)
    assert not found.faults
    assert len(found.entries) == 60
    assert {e.animal for e in found.entries} == set(names)


# Adds a line in child after child, each killed some lines of Python (the second argument) later
# than the one before, wherever that is: in the log, in the file writer, in the library below them.
# Forking makes it quick; it happens in a process of its own, which has no threads.
_KILLED = """
import os, signal, sys
from datetime import datetime
from pathlib import Path
from formulate.base.locks import held
from formulate.rearing.log import Entry, What, append, read_log

def add(path, entry):
    with held(path, "log"):
        if entry not in read_log(path).entries:
            append(path, [entry])

path = Path(sys.argv[1])
old = path.read_bytes()
entry = Entry(datetime(2026, 11, 14), "Pip", What.WEIGHT, 5.4)
new = old + entry.line.encode()

# Spelling out a path changes nothing on the disk: no steps to be killed at.
IDLE = ("pathlib.py", "posixpath>", "posixpath.py", "contextlib.py")

def killer(at):
    seen = 0
    def trace(frame, event, argument):
        nonlocal seen
        if frame.f_code.co_filename.endswith(IDLE):
            return None
        if event == "line":
            seen += 1
            if seen == at:
                os.kill(os.getpid(), signal.SIGKILL)
        return trace
    return trace

states, at, killed = {}, 0, True
while killed:
    at += int(sys.argv[2])
    path.write_bytes(old)
    child = os.fork()
    if child == 0:
        sys.settrace(killer(at))
        with held(path, "log"):
            append(path, [entry])
        os._exit(0)
    killed = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL
    state = {old: "old", new: "new"}.get(path.read_bytes(), "broken")
    states.setdefault(state, []).append(at)
    add(path, entry)  # the next command: no lock in its way, and the line stands once
    if path.read_bytes() != new:
        states.setdefault("not mended", []).append(at)
print({name: len(found) for name, found in states.items()}, at)
left = sorted(p.name for p in path.parent.iterdir())
assert left == [path.name], left
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
@pytest.mark.parametrize("stride", [pytest.param(1, marks=pytest.mark.long), 4])
def test_a_kill_at_any_step_leaves_the_old_log_or_the_new(path, stride):
    add(path, FEED)
    done = subprocess.run(
        [sys.executable, "-c", _KILLED, str(path), str(stride)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    states, steps = done.stdout.rsplit(maxsplit=1)
    assert "broken" not in states, states
    assert "not mended" not in states, states
    assert "old" in states
    assert "new" in states
    assert int(steps) > 100  # there were steps to be killed at


@pytest.mark.parametrize(
    "saved",
    [
        b"\xef\xbb\xbfwhen,animal,what,amount,unit,note,by\r\n2026-11-14T06:10,Pip,milk,240,mL,,\r\n",
        b"\xef\xbb\xbfwhen;animal;what;amount;unit;note;by\r\n2026-11-14T06:10;Pip;milk;240,0;mL;;\r\n",
        b"when;animal;what;amount;unit;note\n2026-11-14T06:10;Pip;milk;240;mL;\n",
        b"\xef\xbb\xbf2026-11-14T06:10,Pip,milk,240,mL,\n",
        b"when,animal,what,amount,unit,note\r2026-11-14T06:10,Pip,milk,240,mL,\r",
        b"\n\r\nwhen;animal;what;amount;unit;note\n\n2026-11-14T06:10;Pip;milk;240;mL;\n",
        b'"when","animal","what","amount","unit","note"\n"2026-11-14T06:10","Pip","milk","240","mL",""\n',
        b'"when";"animal";"what";"amount";"unit";"note"\n"2026-11-14T06:10";"Pip";"milk";"240";"mL";""\n',
    ],
)
def test_a_log_that_a_spreadsheet_saved_is_read(path, saved):
    path.write_bytes(saved)
    read = read_log(path)
    assert (read.entries, read.faults) == ((FEED,), ())
    add(path, WEIGHT)
    assert set(read_log(path).entries) == {FEED, WEIGHT}


@pytest.mark.parametrize(
    ("saved", "line"),
    [
        (b"when,animal,what,amount,unit,note,by\n", b"2026-11-15,Pip,weight,6.125,kg,,\n"),
        (b"when;animal;what;amount;unit;note;by\n", b"2026-11-15;Pip;weight;6,125;kg;;\n"),
        (b'\xef\xbb\xbf"when";"animal"\r\n', b"2026-11-15;Pip;weight;6,125;kg;;\r\n"),
        (b"2026-11-14T06:10;Pip;milk;240,5;mL;a, b;\n", b"2026-11-15;Pip;weight;6,125;kg;;\n"),
        (b"2026-11-14T06:10,Pip,milk,240,mL,a; b,\r\n", b"2026-11-15,Pip,weight,6.125,kg,,\r\n"),
        (b"", b"2026-11-15,Pip,weight,6.125,kg,,\n"),
    ],
)
def test_a_line_is_added_as_the_log_is_written(path, saved, line):
    path.write_bytes(saved)
    before = read_log(path).entries
    heavy = replace(WEIGHT, when=datetime(2026, 11, 15), amount=6.125)
    add(path, heavy)
    assert path.read_bytes().startswith(saved)
    assert path.read_bytes().endswith(b"\n" + line if saved else line)
    assert read_log(path).entries == (*before, heavy)
    assert read_log(path).faults == ()


def test_a_semicolon_in_a_name_is_quoted_in_a_log_with_semicolons(path):
    path.write_bytes(b"when;animal;what;amount;unit;note;by\n")
    odd = replace(FEED, animal="Pip; the second", by='Ann "A", B')
    add(path, odd)
    assert read_log(path).entries == (odd,)


def test_a_pipe_instead_of_a_log_is_reported_at_once(path):
    os.mkfifo(path)
    with pytest.raises(InputError, match="not an ordinary file"):
        read_log(path)


def test_a_linked_log_stays_a_link(path, tmp_path):
    (tmp_path / "shared").mkdir()
    path.symlink_to(tmp_path / "shared" / "log.csv")
    add(path, FEED)
    add(path, WEIGHT)
    assert path.is_symlink()
    assert set(read_log(tmp_path / "shared" / "log.csv").entries) == {FEED, WEIGHT}


def test_a_day_beyond_the_calendar_is_reported(path):
    path.write_bytes(b"9999-12-31T23:59,Pip,milk,240,mL,,\n0001-01-01,Pip,weight,5,kg,,\n")
    assert read_log(path).entries == ()
    assert len(read_log(path).faults) == 2


@pytest.mark.parametrize("there", ["Date;Item;Price\n2026-01-01;Milk;3,20\n", "dear diary\n"])
def test_another_table_of_that_name_is_left_as_it_is(path, there):
    path.write_text(there)
    with pytest.raises(InputError, match="not a log of feeds"):
        add(path, FEED)
    assert path.read_text() == there


@pytest.mark.parametrize(
    "there",
    ["", "\n", "when,animal,what,amount,unit,note\n", "2026-11-14T06:10,Pip,milk,240,mL,,\nhalf a"],
)
def test_a_log_that_is_empty_or_damaged_or_has_no_heading_is_added_to(path, there):
    path.write_text(there)
    add(path, WEIGHT)
    assert read_log(path).entries[0] == WEIGHT
    assert path.read_text().startswith(there)
