"""Many answers in one table: a row for each pantry, reference and price list.

=====================  ===========================================================================
column                 holds
=====================  ===========================================================================
``pantry``             the pantry: its file, or its name
``reference``          the ranges it was designed to
``prices``             the price list; empty if the pantry's own prices count
``verdict``            of the milk: never, vet, unknown, outside or inside; empty without one
``why``                the reasons for it, the worst first; empty if it is inside
``status``             ``designed``; ``nearest`` where these foods cannot make a milk in range, and
                       the row tells of the nearest; ``none`` where there is not even one; ``error``
``currency``           of the costs
``prices_from``        date of the oldest price counted with, and
``prices_to``          of the newest
``cost_per_litre``     [money/L]
``cost_per_kg_solids`` [money/kg of solids]
``cost_per_mj``        [money/MJ] of energy that a suckling lamb can use
``volume_ml``          of the batch that ``amounts`` make [mL]
``amounts``            of the batch; recipe text that reads back to the same weights
``binds``              demands that the milk meets with nothing to spare
``nearest_miss``       of the nearest milk, what it misses furthest
``clash``              where there is none: the fewest demands that clash
``error``              why there is no answer
``inputs``             changes with anything that the row hangs on
=====================  ===========================================================================
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING, Any

from formulate.answers.many import ManyMilk, ManyRow, rows_in_steps
from formulate.answers.many_jobs import BY_GRAM, BadList, Job, jobs_of, price_lists_of
from formulate.base.errors import check_type
from formulate.base.executors import Steps, in_order, in_step
from formulate.base.messages import say
from formulate.base.version import VERSION
from formulate.blend.problem import Limit
from formulate.foods.bands import BandSet, Read
from formulate.pantry.price_list import PriceList
from formulate.report.reasons import demand_words

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "COLUMNS",
    "DAYS",
    "NUMBERS",
    "asked",
    "bad_list_cells",
    "cells_of_jobs",
    "inputs_of",
    "many",
]

#: Columns in order; see the top of this module.
COLUMNS = (
    *("pantry", "reference", "prices", "verdict", "why", "status", "currency"),
    *("prices_from", "prices_to", "cost_per_litre", "cost_per_kg_solids", "cost_per_mj"),
    *("volume_ml", "amounts", "binds", "nearest_miss", "clash", "error", "inputs"),
)
NUMBERS = ("cost_per_litre", "cost_per_kg_solids", "cost_per_mj", "volume_ml")
DAYS = ("prices_from", "prices_to")

#: Pantries worked on in step: more gain little, and a run that is interrupted loses them.
IN_STEP = 32
#: Bundles of them under way at a time.
WINDOW = 16

Cells = dict[str, Any]


def many(
    pantries: Any,
    references: str | BandSet | Iterable[str | BandSet] = "lamb-replacer",
    prices: Any = None,
    executor: Executor | None = None,
    *,
    measures: bool = False,
    make: float | str | None = None,
    country: str | None = None,
    progress: Callable[[int], None] | None = None,
) -> pd.DataFrame:
    """Design a milk for many pantries, references and price lists, and give one table.

    Parameters
    ----------
    pantries : path, str, Pantry, DataFrame, mapping or iterable of them
        Pantry files; folders of them; pantries; tables with one row for each food (``food``,
        ``price``, ``package``, ``currency``, ``date``, and ``pantry`` if there are several). A
        mapping says what to call each.
    references : str, BandSet or iterable of them
    prices : path, str, DataFrame, mapping or iterable of them, optional
        Price lists to use in place of the pantries' own prices, each for every pantry: CSV files,
        folders of them, tables with the columns ``food``, ``price``, ``package``, ``date`` and
        ``currency``.
    executor : concurrent.futures.Executor, optional
        Does the work: threads, processes, or a Dask client's ``get_executor()``.
    measures : bool
        In cups and spoons instead of by the gram.
    make : float or str, optional
        How much [mL], or in words; about a day for two lambs where left out.
    country : str, optional
        Used in place of each pantry file's own.
    progress : callable, optional
        Told after each pantry how many are done.

    Returns
    -------
    pandas.DataFrame
        A row for each combination, pantries in turn, for each the references, for each the price
        lists; the same order whoever does the work. What cannot be read is a row whose ``error``
        says why. See the top of this module for the columns.

    Raises
    ------
    InputError
        If something is none of these kinds, a table has no such columns, or a folder is empty.
    LostWorkers
        If the executor breaks down.

    Examples
    --------
    >>> table = formulate.many(formulate.sample_pantry(), ["lamb-replacer", "ewe-milk"])
    >>> table[["reference", "verdict"]].values.tolist()
    [['lamb-replacer', 'inside'], ['ewe-milk', 'outside']]
    """
    like, bad = asked(references, prices, measures=measures, make=make, country=country)
    cells = [bad_list_cells(one) for one in bad]
    for done, some in enumerate(cells_of_jobs(jobs_of(pantries, like), executor), 1):
        cells += some
        if progress is not None:
            progress(done)
    return _frame(cells)


def asked(
    references: str | BandSet | Iterable[str | BandSet],
    prices: Any,
    *,
    measures: bool,
    make: float | str | None,
    country: str | None,
) -> tuple[Job, tuple[BadList, ...]]:
    """What is asked of every pantry, and the price lists that cannot be read."""
    whom: tuple[Any, ...] = (references,)
    if isinstance(references, Iterable) and not isinstance(references, str | BandSet):
        whom = tuple(references)
    for one in whom:
        check_type(one, (str, BandSet), say("library.what.reference"), say("library.a-reference"))
    lists = price_lists_of(prices)
    good = tuple(one for one in lists if isinstance(one, PriceList))
    bad = tuple(one for one in lists if isinstance(one, BadList))
    request = replace(BY_GRAM, by_gram=not measures, make=make)
    return Job("", "", whom, good, request, country), bad


def cells_of_jobs(jobs: Iterable[Job], executor: Executor | None = None) -> Iterator[list[Cells]]:
    """The rows of each pantry as plain values, in the order of the pantries."""
    work = partial(in_step, cells_in_steps)
    bundles = in_order(work, _bundles(jobs), executor, together=1, window=WINDOW)
    return chain.from_iterable(bundles)


def cells_in_steps(job: Job) -> Steps[list[Cells]]:
    """The rows of one pantry, with pauses; this is what travels to another process."""
    rows = yield from rows_in_steps(job)  # kept, so that no two milks have one id
    yield
    inputs = inputs_of(job.digest)
    said: dict[int, Cells] = {}
    return [{**_cells(row, said), "inputs": inputs} for row in rows]


def _bundles(jobs: Iterable[Job]) -> Iterator[list[Job]]:
    """Jobs that go in step; one in whole measures takes long, and goes alone."""
    bundle: list[Job] = []
    for job in jobs:
        bundle.append(job)
        if len(bundle) == IN_STEP or not job.request.by_gram:
            yield bundle
            bundle = []
    if bundle:
        yield bundle


def bad_list_cells(bad: BadList) -> Cells:
    """The row of a price list that cannot be read."""
    return _cells(ManyRow("", prices=bad.name, error=bad.error), {})


def inputs_of(digest: str) -> str:
    """What a row hangs on: the digest of its job, and the program."""
    return f"{VERSION}-{digest}" if digest else ""


def _cells(row: ManyRow, said: dict[int, Cells]) -> Cells:
    """A row as plain values; empty text, and None for a number or a date, where there is none."""
    cells: Cells = dict.fromkeys(COLUMNS, "") | dict.fromkeys((*NUMBERS, *DAYS))
    cells |= {
        "pantry": row.pantry,
        "reference": row.reference,
        "prices": row.prices,
        "status": _status(row),
        "currency": row.currency,
        "prices_from": row.prices_from,
        "prices_to": row.prices_to,
        "clash": _demands(row.clash),
        "error": row.error,
    }
    if row.milk is None:
        return cells
    costs = (cost if math.isfinite(cost) else None for cost in row.costs)
    cells |= zip(NUMBERS, costs, strict=False)
    if id(row.milk) not in said:
        said[id(row.milk)] = _said(row.milk)
    return cells | said[id(row.milk)]


def _said(milk: ManyMilk) -> Cells:
    """What is said of a milk whatever it costs."""
    return {
        "verdict": milk.judgement.verdict.value,
        "why": " ".join(_sentence(reason.text) for reason in milk.judgement.reasons),
        "volume_ml": milk.volume,
        "amounts": milk.recipe,
        "binds": _demands(milk.binds),
        "nearest_miss": "" if milk.miss is None else _miss(milk.miss),
    }


def _status(row: ManyRow) -> str:
    if row.error:
        return "error"
    if row.milk is None:
        return "none"
    return "designed" if row.milk.found else "nearest"


def _demands(limits: Iterable[Limit]) -> str:
    return "; ".join(demand_words(limit) for limit in limits)


def _miss(read: Read) -> str:
    assert read.value is not None
    band = read.band
    value = f"{band.value_words(read.value)} {band.unit_words}"
    return say("many.miss", label=band.label, value=value, range=band.range_words)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def _frame(cells: Iterable[Cells]) -> pd.DataFrame:
    import pandas as pd

    table = pd.DataFrame(list(cells), columns=list(COLUMNS))
    for column in NUMBERS:
        table[column] = table[column].astype("float64")
    for column in DAYS:
        table[column] = pd.to_datetime(table[column])
    return table
