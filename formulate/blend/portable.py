"""Write the problem for other programs (.lp, .mps), and get a second opinion from CBC.

PuLP writes the files and asks CBC, whose code shares nothing with HiGHS. It changes names that a
file format cannot hold, so that ``milk-fat`` and ``milk fat`` would become one food. So columns
and rows are named by position (``food_03``, ``limit_07``), and beside ``mix.lp`` or ``mix.mps`` a
table ``mix.names.csv`` says what each stands for.

A mix is written for its batch in kilograms, litres and money per kilogram, so that the numbers are
near 1: the tolerances of other solvers are absolute.
"""

from __future__ import annotations

import csv
import io
import math
import tempfile
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.outputs import NAME, Output, check_output, write_output
from formulate.base.shown import brief_repr
from formulate.blend.problem import Limit, LimitKind, Problem
from formulate.blend.solve import LinearProgram
from formulate.foods.measures import measure

if TYPE_CHECKING:
    import pulp

    from formulate.blend.whole.kitchen_mix import KitchenMix

__all__ = [
    "Named",
    "OtherAnswer",
    "Portable",
    "SecondOpinion",
    "portable",
    "portable_measures",
    "second_opinion",
    "write",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Named:
    """A name that any file format can hold, and what it stands for."""

    name: str
    stands_for: str
    meaning: str = ""


@dataclass(frozen=True, eq=False)
class Portable(ByContent):
    """A linear or integer program with names.

    Parameters
    ----------
    program : LinearProgram
        n columns, m rows.
    integer : ndarray of bool, shape (n,)
        Columns in whole numbers.
    columns, rows : tuple of Named, lengths n and m
    """

    program: LinearProgram
    integer: NDArray[np.bool_]
    columns: tuple[Named, ...]
    rows: tuple[Named, ...]

    @classmethod
    def of(cls, program: LinearProgram, integer: NDArray[np.bool_] | None = None) -> Portable:
        """Name the columns and rows of any program by position."""
        m, n = program.shape
        whole = np.zeros(n, dtype=bool) if integer is None else integer
        return cls(program, whole, _numbered("column", n), _numbered("row", m))


def portable(problem: Problem) -> Portable:
    """Write a mix as a program for its batch [kg, L, money].

    A food with a smallest useful amount gets a column ``used_…`` that is 0 or 1.

    Raises
    ------
    InputError
        If a food has no price.
    """
    problem.shelf.require_prices()
    shelf = problem.shelf
    n, m = len(shelf.foods), len(problem.limits)
    litres = problem.volume / 1e3
    plain = problem.program(shelf.price * 1e3)
    floors = np.flatnonzero(shelf.smallest > 0)
    k = floors.size
    room = shelf.composition.row("volume")  # mL/g, which is L/kg
    matrix = np.zeros((m + 1 + 2 * k, n + k))
    matrix[: m + 1, :n] = plain.matrix
    at_least, at_most = m + 1 + np.arange(k), m + 1 + k + np.arange(k)
    matrix[at_least, floors] = matrix[at_most, floors] = 1.0
    matrix[at_least, n + np.arange(k)] = -shelf.smallest[floors] / 1e3
    matrix[at_most, n + np.arange(k)] = -litres / room[floors]
    lower, upper = plain.row_lower.copy(), plain.row_upper.copy()
    lower[m] = upper[m] = litres
    program = LinearProgram(
        cost=np.append(plain.cost, np.zeros(k)),
        matrix=matrix,
        row_lower=np.concatenate((lower, np.zeros(k), np.full(k, -math.inf))),
        row_upper=np.concatenate((upper, np.full(k, math.inf), np.zeros(k))),
        col_lower=np.zeros(n + k),
        col_upper=np.append(np.full(n, math.inf), np.ones(k)),
    )
    foods = _numbered("food", n, shelf.ids, say("written.kilograms"))
    used = [
        Named(foods[j].name.replace("food", "used"), shelf.ids[j], say("written.used"))
        for j in floors
    ]
    words = [_limit_words(limit) for limit in problem.limits]
    limits = _numbered("limit", m, words, say("written.divided"))
    size = Named("size", say("written.size", litres=litres), say("written.litres"))
    ends = [
        Named(f"{which}_{foods[j].name}", shelf.ids[j], meaning)
        for which, meaning in (
            ("least", say("written.least")),
            ("most", say("written.most")),
        )
        for j in floors
    ]
    whole = np.append(np.zeros(n, dtype=bool), np.ones(k, dtype=bool))
    return Portable(program, whole, (*foods, *used), (*limits, size, *ends))


def portable_measures(problem: Problem, found: KitchenMix) -> Portable:
    """Name the integer program behind a mix in whole measures.

    Its cheapest answer is the mix. Wishes that come before the price are rows, and so is a chance
    that is asked of the ranges: rows that every such mix keeps. Food that is in the batch whatever
    the count, such as milk that stays in its jug, is part of the rows' bounds and not of the cost.

    Parameters
    ----------
    problem : Problem
        That was solved, by the gram.
    found : KitchenMix
        With its program.
    """
    program = found.program
    assert program is not None
    shelf, m = problem.shelf, program.shape[0]
    n = len(shelf.foods)
    each = [say("written.measures", size=s.size, unit=s.unit, grams=s.grams) for s in found.steps]
    counts = [
        replace(name, meaning=meaning)
        for name, meaning in zip(_numbered("count", n, shelf.ids), each, strict=True)
    ]
    helpers = _numbered("helper", program.shape[1] - n, (), say("written.helper"))
    rows = [
        _limit_words(limit)
        for limit in problem.limits
        if limit.kind not in (LimitKind.STOCK, LimitKind.READABLE)
    ]
    rows.append(say("written.volume", least=found.least_volume, most=found.most_volume))
    rows += [say("written.wish")] * (m - len(rows))
    limits = _numbered("limit", m, rows, say("written.divided"))
    return Portable(program, np.ones(program.shape[1], dtype=bool), (*counts, *helpers), limits)


def _numbered(
    word: str, count: int, stands_for: tuple[str, ...] | list[str] = (), meaning: str = ""
) -> tuple[Named, ...]:
    width = max(2, len(str(count - 1)))
    labels = stands_for or [""] * count
    return tuple(Named(f"{word}_{i:0{width}}", label, meaning) for i, label in enumerate(labels))


def _limit_words(limit: Limit) -> str:
    band = limit.band
    if limit.kind is LimitKind.READABLE and band is not None:
        return say(
            "written.readable",
            denominator=measure(band.denominator).label,
            label=band.label,
            basis=band.basis.words,
        )
    if band is not None:
        side = "at-least" if limit.kind is LimitKind.BAND_LOW else "at-most"
        return say(
            f"written.{side}",
            label=band.label,
            value=limit.value,
            unit=band.unit,
            basis=band.basis.words,
        )
    told = "share" if limit.kind is LimitKind.SHARE else "on-hand"
    return say(f"written.{told}", food=limit.food, value=limit.value)


def write(what: Problem | Portable, path: Path) -> tuple[Path, Path]:
    """Write a program and the table of its names; each file whole or not at all.

    Parameters
    ----------
    what : Problem or Portable
    path : Path
        Ends in .lp or .mps.

    Returns
    -------
    tuple of Path
        The program and its table of names.

    Raises
    ------
    InputError
        If the file has another ending, a file of that name is not ours, or the folder cannot be
        written to.
    """
    names = path.with_suffix(".names.csv")
    check_output(path, Output.PROGRAM)
    check_output(names, Output.TABLE)
    given = portable(what) if isinstance(what, Problem) else what
    model, _ = _in_pulp(given)
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / f"draft{path.suffix.lower()}"
        writer = model.writeLP if draft.suffix == ".lp" else model.writeMPS
        writer(str(draft))
        text = draft.read_text(encoding="utf-8")
    table = io.StringIO()
    rows = csv.writer(table, lineterminator="\n")
    rows.writerow(("name", "stands for", "meaning"))
    rows.writerows((x.name, x.stands_for, x.meaning) for x in (*given.columns, *given.rows))
    write_output(names, table.getvalue(), Output.TABLE)
    write_output(path, text, Output.PROGRAM)
    return path, names


def _in_pulp(given: Portable) -> tuple[pulp.LpProblem, list[pulp.LpVariable]]:
    """Build a program in PuLP. A row with two different ends becomes two rows there."""
    import pulp

    program = given.program
    model = pulp.LpProblem(NAME, pulp.LpMinimize)
    columns = [
        model.add_variable(
            named.name,
            low if math.isfinite(low) else None,
            high if math.isfinite(high) else None,
            pulp.LpInteger if whole else pulp.LpContinuous,
        )
        for named, low, high, whole in zip(
            given.columns,
            program.col_lower.tolist(),
            program.col_upper.tolist(),
            given.integer.tolist(),
            strict=True,
        )
    ]
    model.setObjective(_expression(columns, program.cost))
    ends = zip(program.row_lower.tolist(), program.row_upper.tolist(), strict=True)
    for named, row, (low, high) in zip(given.rows, program.matrix, ends, strict=True):
        sides = [(pulp.LpConstraintGE, low, "_low"), (pulp.LpConstraintLE, high, "_high")]
        if low == high:
            sides = [(pulp.LpConstraintEQ, low, "")]
        sides = [side for side in sides if math.isfinite(side[1])]
        for sense, end, ending in sides:
            name = named.name + (ending if len(sides) > 1 else "")
            expression = _expression(columns, row)
            model.addConstraint(pulp.LpConstraint(expression, sense, name, end))
    return model, columns


def _expression(columns: list[pulp.LpVariable], row: Array) -> pulp.LpAffineExpression:
    import pulp

    return pulp.LpAffineExpression(
        [(column, value) for column, value in zip(columns, row.tolist(), strict=True) if value]
    )


class OtherAnswer(StrEnum):
    """The answer of CBC."""

    OPTIMAL = "optimal"
    BEST_IN_TIME = "best in the time"
    INFEASIBLE = "infeasible"
    UNBOUNDED = "unbounded"


@brief_repr
@dataclass(frozen=True, eq=False)
class SecondOpinion(ByContent):
    """CBC's answer to the same question.

    Parameters
    ----------
    answer : OtherAnswer
    value : float or None
        Cost of the batch [money] of a mix, objective of a program. None without an optimum:
        what PuLP leaves in the variables of an infeasible problem is not an amount.
    amounts : ndarray, shape (n,), or None
        Grams in the batch of a mix, amounts of a program. CBC gives about eight figures.
    """

    answer: OtherAnswer
    value: float | None = None
    amounts: Array | None = None


def second_opinion(
    what: Problem | LinearProgram,
    integer: NDArray[np.bool_] | None = None,
    *,
    time_limit: float = 30.0,
) -> SecondOpinion:
    """Ask CBC.

    Parameters
    ----------
    what : Problem or LinearProgram
    integer : ndarray of bool, shape (n,), optional
        Columns of a program in whole numbers.
    time_limit : float
        Seconds.

    Raises
    ------
    InputError
        If this installation of PuLP has no CBC.
    SolverFault
        If CBC finds no answer in the time.
    """
    if isinstance(what, LinearProgram):
        return _ask(Portable.of(what, integer), time_limit)
    found = _ask(portable(what), time_limit)
    if found.amounts is None:
        return found
    return replace(found, amounts=found.amounts[: len(what.shelf.foods)] * 1e3)


def _ask(given: Portable, time_limit: float) -> SecondOpinion:
    import pulp

    solver = pulp.COIN_CMD(
        path=pulp.PULP_CBC_CMD.pulp_cbc_path,
        msg=False,
        timeLimit=time_limit,
        gapRel=0.0,
        options=["primalTolerance 1e-9", "dualTolerance 1e-9", "integerTolerance 1e-9"],
    )
    if not solver.available():
        raise InputError(
            say("mix.no-cbc"),
            say("mix.no-cbc-remedy"),
        )
    # CBC's tolerances are absolute too, so the largest cost is scaled to 1.
    program = given.program
    scale = float(np.abs(program.cost).max(initial=0.0)) or 1.0
    scaled = replace(given, program=replace(program, cost=program.cost / scale))
    model, columns = _in_pulp(scaled)
    model.solve(solver)
    answer = {
        pulp.LpSolutionOptimal: OtherAnswer.OPTIMAL,
        pulp.LpSolutionIntegerFeasible: OtherAnswer.BEST_IN_TIME,
        pulp.LpSolutionInfeasible: OtherAnswer.INFEASIBLE,
        pulp.LpSolutionUnbounded: OtherAnswer.UNBOUNDED,
    }.get(model.sol_status)
    if answer is None:
        raise SolverFault(say("solver.no-second-opinion", seconds=time_limit))
    if answer in (OtherAnswer.INFEASIBLE, OtherAnswer.UNBOUNDED):
        return SecondOpinion(answer)
    rest = np.clip(0.0, program.col_lower, program.col_upper)  # a column that is in no row
    values = [column.value() for column in columns]
    amounts = np.array([r if v is None else v for v, r in zip(values, rest, strict=True)])
    return SecondOpinion(answer, float(program.cost @ amounts), amounts)
