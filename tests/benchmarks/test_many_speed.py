"""How long many pantries take, as ratios within one run. On request only::

    pytest tests/benchmarks/test_many_speed.py -s
    PANTRIES=200 pytest tests/benchmarks/test_many_speed.py -s      # a quicker look

Contestants take turns, so that a busy machine troubles all of them.
"""

from __future__ import annotations

import os
import time
from functools import partial
from itertools import pairwise
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from made_folders import made_folder, pantry_text, price_list_text

import formulate
import formulate.blend.solve as solving
from formulate.answers.many import many_rows
from formulate.answers.many_jobs import Job, jobs_of
from formulate.base.executors import process_pool
from formulate.blend.mix import optimise
from formulate.blend.problem import build
from formulate.blend.solve import fresh_engine, pass_program
from formulate.foods.tables import band_set
from formulate.pantry.pantry import load_pantry, parse_pantry
from formulate.pantry.price_list import load_price_list
from formulate.report.many import asked
from formulate.report.many_file import write_many

PANTRIES = int(os.environ.get("PANTRIES", "1_000"))
ROUNDS = 5


def taken(work, clock=time.perf_counter) -> float:
    start = clock()
    work()
    return clock() - start


def like(prices=None) -> Job:
    return asked("lamb-replacer", prices, measures=False, make=None, country=None)[0]


def best(contestants, rounds: int = ROUNDS) -> list[float]:
    """Least processor time of each, in turns: what the work itself takes on a busy machine."""
    for work in contestants:
        work()
    times = [[taken(work, time.process_time) for work in contestants] for _ in range(rounds)]
    return [min(own) for own in zip(*times, strict=True)]


@pytest.mark.parametrize("possible", [True, False], ids=["each in range", "one in ten not"])
def test_a_thousand_pantries_against_reading_them_and_bare_highspy(tmp_path, possible, monkeypatch):
    """Like with like: the reference solves every linear program that we solve, and no others.

    Where there is no milk in range, those are the programs of the clash and of the nearest milk.
    """
    folder = made_folder(tmp_path / "clients", PANTRIES + PANTRIES // 4 if possible else PANTRIES)
    bands, engine = band_set("lamb-replacer"), fresh_engine()
    files = []
    for file in sorted(folder.glob("*.toml")):
        problem = build(load_pantry(file).shelf(), bands, 1892.705892)
        if len(files) == PANTRIES or (possible and optimise(problem) is None):
            file.unlink()
        else:
            files.append(file)
    out = tmp_path / "out.csv"

    def ours(progress=None) -> None:
        out.unlink(missing_ok=True)
        write_many(jobs_of(folder, like()), (), out, None, progress=progress)

    programs, ends = [], []
    with monkeypatch.context() as patch:
        patch.setattr(
            solving, "pass_program", lambda e, p: (programs.append(p), pass_program(e, p))
        )
        ours(lambda _: ends.append(len(programs)))
    of_each = [programs[start:end] for start, end in pairwise([0, *ends[: len(files)]])]

    def bare() -> None:
        for file, solved in zip(files, of_each, strict=True):
            load_pantry(file)
            for program in solved:
                pass_program(engine, program)
                engine.run()
                np.array(engine.getSolution().col_value)

    our, their = best([ours, bare])
    print(
        f"\n{len(files)} pantries, {len(programs)} programs: {1e3 * our / len(files):.2f} ms each, "
        f"{our / their:.2f} × reading them and bare highspy"
    )


def test_forty_price_lists_against_one(tmp_path):
    text = pantry_text(1)
    lists = []
    for number in range(40):
        path = Path(tmp_path / f"{number}.csv")
        path.write_text(price_list_text(number), encoding="utf-8")
        lists.append(path)

    def work(paths) -> None:
        pantry = parse_pantry(text)
        many_rows(Job("one", pantry, prices=tuple(load_price_list(path) for path in paths)))

    known = tuple(load_price_list(path) for path in lists)
    for what, run in {
        "lists read beforehand": lambda count: many_rows(Job("one", text, prices=known[:count])),
        "as a DataFrame": lambda count: formulate.many(parse_pantry(text), prices=known[:count]),
        "reading the lists too": lambda count: work(lists[:count]),
    }.items():
        single, all_of_them = best([partial(run, 1), partial(run, 40)], 40)
        print(f"\n40 price lists of one pantry: {all_of_them / single:.2f} × one, {what}")


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one processor")
def test_two_processes_against_one(tmp_path):
    folder = made_folder(tmp_path / "clients", PANTRIES)

    def work(executor) -> None:
        out = tmp_path / "out.csv"
        out.unlink(missing_ok=True)
        write_many(jobs_of(folder, like()), (), out, None, executor)

    with process_pool(2) as pool:
        work(pool)
        ratios = [taken(lambda: work(None)) / taken(lambda: work(pool)) for _ in range(ROUNDS)]
    print(f"\ntwo processes: {median(ratios):.2f} × as quick as one")
