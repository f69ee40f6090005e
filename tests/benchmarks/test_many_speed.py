"""How long many pantries take, as ratios within one run. On request only::

    pytest tests/benchmarks/test_many_speed.py -s
    PANTRIES=200 pytest tests/benchmarks/test_many_speed.py -s      # a quicker look

All are timed in turns, so that a busy machine troubles all of them; medians are compared.
"""

from __future__ import annotations

import os
import time
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from made_folders import made_folder, pantry_text, price_list_text

import formulate
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


@pytest.mark.parametrize("possible", [True, False], ids=["each in range", "one in ten not"])
def test_a_thousand_pantries_against_reading_them_and_bare_highspy(tmp_path, possible):
    """Where there is no milk in range we explain it, which bare highspy does not do."""
    folder = made_folder(tmp_path / "clients", PANTRIES + PANTRIES // 4 if possible else PANTRIES)
    bands, engine = band_set("lamb-replacer"), fresh_engine()
    files, programs = [], []
    for file in sorted(folder.glob("*.toml")):
        problem = build(load_pantry(file).shelf(), bands, 1892.705892)
        if len(files) == PANTRIES or (possible and optimise(problem) is None):
            file.unlink()
        else:
            files.append(file)
            programs.append(problem.program())
    out = tmp_path / "out.csv"

    def bare() -> None:
        for file, program in zip(files, programs, strict=True):
            load_pantry(file)
            pass_program(engine, program)
            engine.run()
            np.array(engine.getSolution().col_value)

    def ours() -> None:
        out.unlink(missing_ok=True)
        write_many(jobs_of(folder, like()), (), out, None)

    ours(), bare()
    clock = time.process_time  # both use one core; others may be using it too
    ratios = [taken(ours, clock) / taken(bare, clock) for _ in range(ROUNDS)]
    print(f"\n{len(files)} pantries: {median(ratios):.2f} × reading them and bare highspy")


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
    one, forty = Job("one", text, prices=known[:1]), Job("one", text, prices=known)
    many_rows(one), many_rows(forty)
    ratios = [taken(lambda: many_rows(forty)) / taken(lambda: many_rows(one)) for _ in range(40)]
    print(f"\n40 price lists of one pantry: {median(ratios):.2f} × one, lists read beforehand")
    read = [taken(lambda: work(lists)) / taken(lambda: work(lists[:1])) for _ in range(40)]
    print(f"40 price lists of one pantry: {median(read):.2f} × one, reading the lists too")
    frame = [
        taken(lambda: formulate.many(parse_pantry(text), prices=known))
        / taken(lambda: formulate.many(parse_pantry(text), prices=known[:1]))
        for _ in range(40)
    ]
    print(f"40 price lists of one pantry: {median(frame):.2f} × one, as a DataFrame")


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
