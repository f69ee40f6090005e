"""``formulate many``: one table of a folder, broken files in it, and going on where it stopped."""

import csv
import json
import os
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from made_folders import made_folder, pantry_text, price_list_text

import formulate
from formulate.cli.main import run
from formulate.report import many as report
from formulate.report.many import COLUMNS


def many(*arguments):
    return run(["many", *map(str, arguments)])


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_fifty_pantries_three_of_them_broken(tmp_path, capsys):
    folder, out = made_folder(tmp_path / "clients", 50, broken=True), tmp_path / "out.csv"
    assert many(folder, "--csv", out) == 1
    rows = rows_of(out)
    assert len(rows) == 50
    assert len(out.read_text(encoding="utf-8").splitlines()) == 51
    broken = [row for row in rows if row["error"]]
    assert [Path(row["pantry"]).stem for row in broken] == [
        "client_00005",
        "client_00015",
        "client_00025",
    ]
    for row, word in zip(broken, ("not TOML", "whole-mlk", "package"), strict=True):
        assert word in row["error"]
        assert row["pantry"] in row["error"]
        assert not row["verdict"]
    assert all(row["verdict"] or row["status"] == "none" for row in rows if not row["error"])
    printed = capsys.readouterr()
    assert "50 pantries, 50 rows:" in printed.out
    assert printed.err == ""
    assert [path.name for path in tmp_path.glob("out*")] == ["out.csv"]
    frame = formulate.many(folder)
    read = pd.read_csv(out, keep_default_na=False, na_values={"cost_per_litre": [""]})
    assert list(read["amounts"]) == list(frame["amounts"])
    assert read["cost_per_litre"].to_numpy() == pytest.approx(
        frame["cost_per_litre"].to_numpy(), rel=1e-15, nan_ok=True
    )


def test_a_folder_whose_milks_are_all_inside_ends_with_0(tmp_path, capsys):
    (tmp_path / "one.toml").write_text(pantry_text(1), encoding="utf-8")
    assert many(tmp_path / "one.toml", "--csv", tmp_path / "out.csv", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["answer"] == "yes"
    assert (told["pantries"], told["rows"], told["inside"], told["errors"]) == (1, 1, 1, 0)


@pytest.fixture
def solved(monkeypatch):
    """Names of the pantries that are worked out."""
    names = []
    started = report.cells_in_steps

    def counted(job):
        names.append(Path(job.name).stem)
        return started(job)

    monkeypatch.setattr(report, "cells_in_steps", counted)
    return names


def test_only_what_changed_is_worked_out_again(tmp_path, solved, capsys):
    folder, out = made_folder(tmp_path / "clients", 6), tmp_path / "out.csv"
    many(folder, "--csv", out)
    first = out.read_bytes()
    assert len(solved) == 6
    solved.clear()
    many(folder, "--csv", out)
    assert solved == []
    assert out.read_bytes() == first
    assert "6 pantries were there already and unchanged." in capsys.readouterr().out
    (folder / "client_00002.toml").write_text(pantry_text(77), encoding="utf-8")
    (folder / "client_00004.toml").unlink()
    (folder / "a_new_one.toml").write_text(pantry_text(78), encoding="utf-8")
    many(folder, "--csv", out)
    assert solved == ["a_new_one", "client_00002"]
    assert [Path(row["pantry"]).stem for row in rows_of(out)] == [
        "a_new_one", "client_00000", "client_00001", "client_00002", "client_00003", "client_00005",
    ]  # fmt: skip
    solved.clear()
    many(folder, "--csv", out, "--for", "kid-replacer")
    assert len(solved) == 6


def test_a_run_that_is_interrupted_goes_on_where_it_stopped(tmp_path, monkeypatch, solved):
    folder, out = made_folder(tmp_path / "clients", 9), tmp_path / "out.csv"
    whole = tmp_path / "whole.csv"
    many(folder, "--csv", whole)
    solved.clear()
    counted = report.cells_in_steps
    monkeypatch.setattr(report, "IN_STEP", 1)

    def interrupted(job):
        if len(solved) == 5:
            raise KeyboardInterrupt
        return counted(job)

    monkeypatch.setattr(report, "cells_in_steps", interrupted)
    assert many(folder, "--csv", out) == 130
    assert not out.exists()
    part = tmp_path / "out.csv.part"
    assert len(part.read_text(encoding="utf-8").splitlines()) == 6
    part.write_bytes(part.read_bytes()[:-40])  # as if the computer had been switched off
    monkeypatch.setattr(report, "cells_in_steps", counted)
    solved.clear()
    many(folder, "--csv", out)
    assert solved == [f"client_{number:05}" for number in range(4, 9)]
    assert out.read_bytes() == whole.read_bytes()
    assert not part.exists()


#: Ends itself as the system ends a process, once so many jobs are done.
KILLED = """
import os, signal, sys
from formulate.cli.main import run
from formulate.report import many

counted, left, many.IN_STEP = many.cells_in_steps, int(sys.argv[3]), 1

def cells_in_steps(job):
    global left
    left -= 1
    if left < 0:
        os.kill(os.getpid(), signal.SIGKILL)
    return counted(job)

many.cells_in_steps = cells_in_steps
run(["many", sys.argv[1], "--csv", sys.argv[2], "--parquet", sys.argv[2] + ".parquet"])
"""


@pytest.mark.skipif(os.name == "nt", reason="this system has no SIGKILL")
def test_a_process_that_is_killed_again_and_again_leaves_the_same_bytes(tmp_path, solved):
    pytest.importorskip("pyarrow")
    folder, out = made_folder(tmp_path / "clients", 9, broken=True), tmp_path / "out.csv"
    whole = tmp_path / "whole.csv"
    many(folder, "--csv", whole, "--parquet", tmp_path / "whole.parquet")
    for jobs in (3, 4):
        done = subprocess.run(
            [sys.executable, "-c", KILLED, str(folder), str(out), str(jobs)],
            check=False, capture_output=True,
        )  # fmt: skip
        assert done.returncode == -9
    assert not out.exists()
    columns = tmp_path / "out.csv.parquet"
    (tmp_path / f".{columns.name}.x.tmp").write_bytes(b"left by a process that was killed")
    solved.clear()
    assert many(folder, "--csv", out, "--parquet", columns) == 1
    # The last job before each end is done again: nobody knows whether its rows are whole.
    assert len(solved) == 9 - (3 - 1) - (4 - 1)
    assert out.read_bytes() == whole.read_bytes()
    assert columns.read_bytes() == (tmp_path / "whole.parquet").read_bytes()
    assert sorted(path.name for path in tmp_path.glob("*out*")) == [out.name, columns.name]


def test_a_folder_that_is_called_as_a_file_stops_nothing(tmp_path, capsys):
    folder, out = made_folder(tmp_path / "clients", 2), tmp_path / "out.csv"
    (folder / "older.toml").mkdir()
    many(folder, "--csv", out)
    assert len(rows_of(out)) == 2
    out.unlink()
    assert many(folder / "older.toml", "--csv", out) == 2
    assert "no pantry file in this folder" in capsys.readouterr().err
    assert sorted(tmp_path.glob("*out*")) == []


def test_rows_come_in_the_same_order_from_two_processes(tmp_path):
    folder = made_folder(tmp_path / "clients", 20, broken=True)
    lists = tmp_path / "lists"
    lists.mkdir()
    for number in range(2):
        (lists / f"shop_{number}.csv").write_text(price_list_text(number), encoding="utf-8")
    (lists / "shop_bad.csv").write_text("food;price\n", encoding="utf-8")
    asked = (folder, "--prices", lists, "--for", "lamb-replacer", "--for", "ewe-milk")
    many(*asked, "--csv", tmp_path / "one.csv")
    many(*asked, "--csv", tmp_path / "two.csv", "--workers", 2)
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "two.csv").read_bytes()
    rows = rows_of(tmp_path / "one.csv")
    assert len(rows) == 1 + 18 * 4 + 2
    assert rows[0]["prices"].endswith("shop_bad.csv")
    assert "no price in it" in rows[0]["error"]


def test_parquet_holds_the_same_rows_and_goes_on_too(tmp_path, solved):
    pytest.importorskip("pyarrow")
    folder, out = made_folder(tmp_path / "clients", 12, broken=True), tmp_path / "out.parquet"
    many(folder, "--parquet", out, "--csv", tmp_path / "out.csv")
    table = pd.read_parquet(out)
    assert tuple(table.columns) == COLUMNS
    assert table["cost_per_litre"].dtype == "float64"
    frame = formulate.many(folder)
    for column in ("pantry", "verdict", "amounts", "error", "inputs"):
        assert list(table[column]) == list(frame[column])
    assert table["cost_per_litre"].tolist() == pytest.approx(
        frame["cost_per_litre"].tolist(), rel=1e-15, nan_ok=True
    )
    solved.clear()
    (tmp_path / "out.csv").unlink()
    many(folder, "--parquet", out)
    assert solved == []
    assert pd.read_parquet(out).equals(table)


def test_what_somebody_else_made_stays_as_it_is(tmp_path, capsys):
    folder = made_folder(tmp_path / "clients", 1)
    for name in ("mine.csv", "mine.parquet", "out.csv.part"):
        (tmp_path / name).write_text("my own\n", encoding="utf-8")
    assert many(folder, "--csv", tmp_path / "mine.csv") == 2
    assert many(folder, "--parquet", tmp_path / "mine.parquet") == 2
    assert many(folder, "--csv", tmp_path / "out.csv") == 2
    assert {path.read_text() for path in tmp_path.glob("[mo]*")} == {"my own\n"}
    assert "out.csv.part: this file exists already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["{folder}"], "--csv FILE or --parquet FILE"),
        (["{folder}", "--csv", "{folder}/out.txt"], "cannot end in"),
        (["{folder}/nowhere", "--csv", "{folder}/out.csv", "--make", "no"], ""),
        (["{folder}/empty", "--csv", "{folder}/out.csv"], "no pantry file in this folder"),
        (["{folder}", "--csv", "{folder}/out.csv", "--prices", "{folder}/empty"], "no price list"),
        (["{folder}", "--csv", "{folder}/no/out.csv"], "No such file"),
        (["{folder}", "--csv", "{folder}/o.csv", "--cluster", "x", "--workers", "2"], "not both"),
    ],
)
def test_wrong_input_is_reported(tmp_path, capsys, arguments, said):
    folder = made_folder(tmp_path, 1)
    (tmp_path / "empty").mkdir()
    status = many(*[argument.format(folder=folder) for argument in arguments])
    printed = capsys.readouterr()
    assert status == (2 if said else 1)
    assert said.lower() in printed.err.lower()
    assert len(printed.err.splitlines()) <= 5


PEAK = """
import resource, sys
from formulate.cli.main import run

run(["many", sys.argv[1], "--csv", sys.argv[2]])
print("peak", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.long
@pytest.mark.skipif(os.name == "nt", reason="asks Unix how much memory it took")
def test_memory_does_not_grow_with_the_number_of_pantries(tmp_path):
    peaks = []
    for count in (1_000, 10_000):
        folder = made_folder(tmp_path / f"clients_{count}", count)
        command = [sys.executable, "-c", PEAK, str(folder), str(tmp_path / f"{count}.csv")]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        peaks.append(int(done.stdout.rpartition("peak ")[2]))
    print(f"peak memory: {peaks[0] / 1024:.0f} MB of 1,000, {peaks[1] / 1024:.0f} MB of 10,000")
    assert len((tmp_path / "10000.csv").read_text(encoding="utf-8").splitlines()) == 10_001
    assert peaks[1] <= 1.2 * peaks[0]  # of each pantry only where its rows lie is kept


CLUSTER = """
import os, signal, sys
from distributed import LocalCluster
from formulate.base import executors
from formulate.cli.main import run
from formulate.report import many
from formulate.report.many_file import _Journal

if __name__ == "__main__":
    folder, out = sys.argv[1:]
    many.IN_STEP = 2
    executors.PATIENCE = 300  # a busy computer makes its workers slowly
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        victim, add = next(iter(cluster.workers.values())).pid, _Journal.add
        told = []

        def add_and_kill(self, file, cells):
            add(self, file, cells)
            if not told:  # the first pantry is done, the last are not
                os.kill(victim, signal.SIGKILL)
                told.append(victim)

        _Journal.add = add_and_kill
        status = run(["many", folder, "--csv", out, "--cluster", cluster.scheduler_address])
        print("status", status, "killed", len(told))
"""


@pytest.mark.skipif(os.name == "nt", reason="kills a process as Unix does")
def test_a_dask_cluster_that_loses_a_worker_gives_the_same_table(tmp_path):
    pytest.importorskip("distributed")
    folder = made_folder(tmp_path / "clients", 40, broken=True)
    many(folder, "--csv", tmp_path / "alone.csv")
    script = tmp_path / "cluster.py"
    script.write_text(CLUSTER, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(script), str(folder), str(tmp_path / "out.csv")],
        capture_output=True,
        text=True,
        check=True,
        timeout=600,
    )
    assert "status 1 killed 1" in done.stdout
    assert (tmp_path / "out.csv").read_bytes() == (tmp_path / "alone.csv").read_bytes()
