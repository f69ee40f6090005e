"""Which recipe is cheapest where: in words, as JSON, as a table and as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from formulate.answers.prices import PricesAnswer
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.blend.prices.parametric import Sweep
from formulate.blend.prices.price_map import PriceMap
from formulate.blend.prices.staircase import Staircase
from formulate.report.milk import How, no_how
from formulate.report.prices import PricedPackage, Row, map_rows, staircase_rows, sweep_rows
from formulate.report.why import row_lines

__all__ = ["prices_lines", "prices_shape", "write_files"]


def prices_lines(answer: PricesAnswer, how: How = no_how) -> list[str]:
    """The answer as lines of text.

    Parameters
    ----------
    answer : PricesAnswer
    how : callable
        What the door adds: "say-why".
    """
    found = answer.found
    if found is None:
        return [f"{say('prices.impossible')} {how('say-why', bands=answer.bands.name)}".rstrip()]
    if isinstance(found, Staircase):
        title = say("prices.steps", food=found.food)
    elif isinstance(found, PriceMap):
        title = say("prices.map", points=len(found.price_a))
    else:
        title = say("prices.sample", count=len(found.values))
    return [title, *row_lines(prices_rows(answer))]


def prices_rows(answer: PricesAnswer) -> list[Row]:
    """A row for each step, or for each recipe, with its verdict."""
    found, judgements = answer.found, answer.judgements
    if found is None:
        return []
    if isinstance(found, Staircase):
        rows, order = staircase_rows(found, packages_of(answer)[0]), list(range(len(found.steps)))
    else:
        swept = found.sweep if isinstance(found, PriceMap) else found
        rows, order = sweep_rows(swept), np.argsort(-swept.times, kind="stable").tolist()
    verdicts = [judgements[k].verdict.value for k in order]
    if set(verdicts) == {"inside"}:
        return rows
    return [{**row, "verdict": one} for row, one in zip(rows, verdicts, strict=True)]


def packages_of(answer: PricesAnswer) -> list[PricedPackage]:
    """What each moving price is for."""
    return [PricedPackage(price.package, price.grams) for price in answer.moving]


def prices_shape(answer: PricesAnswer) -> dict[str, Any]:
    """The answer as JSON."""
    found = answer.found
    if found is None:
        return {"status": "infeasible", "bands": answer.bands.name}
    worst = min((one.verdict for one in answer.judgements), key=lambda one: one.rank)
    shape = {
        "status": "optimal",
        "verdict": worst.value,
        "bands": answer.bands.name,
        "currency": answer.pantry.currency,
    }
    if isinstance(found, Staircase):
        return {**shape, "steps": prices_rows(answer)}
    swept = found.sweep if isinstance(found, PriceMap) else found
    return {**shape, "recipes": prices_rows(answer), "bases": swept.n_bases}


def write_files(answer: PricesAnswer, table: Path | None, picture: Path | None) -> list[str]:
    """Write the rows as CSV, and a picture, where files are named; return their names.

    Raises
    ------
    InputError
        If more than two prices move, which no picture has room for; or a file cannot be
        written.
    """
    found, written = answer.found, []
    per = packages_of(answer)
    if found is None:
        return []
    if picture is not None and isinstance(found, Sweep):
        raise InputError(say("prices.too-many"), say("prices.leave-out")).about("picture")
    if table is not None:
        from formulate.base.outputs import Output, write_output
        from formulate.report.tables import csv_text

        rows = map_rows(found, *per) if isinstance(found, PriceMap) else prices_rows(answer)
        write_output(table, csv_text(rows), Output.TABLE)
        written.append(str(table))
    if picture is not None:
        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.prices import price_map_picture, staircase_picture

        if isinstance(found, PriceMap):
            save_picture(price_map_picture(found, per[0], per[1]), picture)
        else:
            assert isinstance(found, Staircase)
            save_picture(staircase_picture(found, per[0]), picture)
        written.append(str(picture))
    return written
