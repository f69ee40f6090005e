"""How quick a carton is read, in plain linear programs of the same run.

Run on request only::

    pytest tests/benchmarks/test_carton_speed.py -s
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import pytest

from formulate.base.units import Kitchen
from formulate.blend.problem import build
from formulate.blend.solve import solve
from formulate.foods.tables import band_set, food_table
from formulate.pantry.labels import Label, read_carton
from formulate.pantry.labels.facts import ash_fact, panel_facts, protein_fact, sums
from formulate.pantry.labels.intervals import PROXIMATES, System
from formulate.pantry.labels.panel import read_panel
from formulate.pantry.pantry import sample_pantry

PANEL = {
    "serving": "1 cup (240 mL)",
    "energy": 150,
    "fat": 8,
    "saturated-fat": 5,
    "carbohydrate": 12,
    "sugars": 12,
    "protein": 8,
    "sodium": 105,
    "calcium": 290,
    "potassium": 380,
}
#: Plain solves that one carton may take.
MOST = 30


def race(first: Callable[[], object], second: Callable[[], object], rounds: int) -> list[float]:
    """Median seconds of both, in turns, after one warming round.

    Of processor time: on a busy machine a longer run is put aside more often than a short one,
    and the ratio of their clock times says more of the machine than of them.
    """
    times: list[list[float]] = [[], []]
    for turn in range(rounds + 1):
        for place, run in enumerate((first, second)):
            start = time.process_time()
            run()
            if turn:
                times[place].append(time.process_time() - start)
    return [median(spent) for spent in times]


def told(words: str, plain: float, whole: float) -> float:
    print(f"\n{words}: {whole * 1e3:.2f} ms, {whole / plain:.1f} plain solves of the sample mix")
    return whole / plain


@pytest.fixture(scope="module")
def plain() -> Callable[[], object]:
    """The sample mix's linear program, built beforehand: one plain solve."""
    problem = build(sample_pantry().shelf(), band_set("lamb-replacer"), 3785.0)
    program = problem.program()
    return lambda: solve(program)


def test_the_intervals_of_a_whole_panel(plain):
    panel = read_panel(PANEL, True, Kitchen.US)
    like = food_table()["whole-milk"]
    facts = (*panel_facts(panel, "milk"), ash_fact("milk", like), protein_fact(like))
    names = (*PROXIMATES, "energy", "saturated-fat", "sugars", "sodium", "calcium", "potassium")
    system = System(facts, sums("milk", None))
    one, all_ends = race(plain, lambda: system.intervals(names), 200)
    assert told("22 ends of 11 intervals", one, all_ends) < MOST


def test_a_whole_carton(plain):
    label = Label(sold_as="whole milk", panel=PANEL)
    one, whole = race(plain, lambda: read_carton("c", label, Kitchen.US), 200)
    assert told("a carton from its words to its food", one, whole) < MOST
