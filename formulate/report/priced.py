"""Which recipe is cheapest, as prices move: in words, as JSON, as a table and as a picture."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from formulate.answers.prices import PricesAnswer
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.blend.prices.price_map import PriceMap
from formulate.blend.prices.staircase import Staircase
from formulate.report.milk import How, no_how
from formulate.report.prices import PricedPackage, Row, map_rows, staircase_rows, sweep_rows
from formulate.report.why import row_lines

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["PriceStepTold", "PricesTold", "prices_lines", "prices_picture", "prices_shape",
           "prices_table", "prices_told", "write_files"]  # fmt: skip


def prices_lines(answer: PricesAnswer, how: How = no_how) -> list[str]:
    """The answer as lines of text.

    Parameters
    ----------
    answer : PricesAnswer
    how : callable
        What the door adds: "say-why".
    """
    if answer.found is None:
        return [f"{say('prices.impossible')} {how('say-why', bands=answer.bands.name)}".rstrip()]
    return [_title(answer), *row_lines(prices_rows(answer))]


def _title(answer: PricesAnswer) -> str:
    found = answer.found
    if found is None:
        return say("prices.impossible")
    if isinstance(found, Staircase):
        return say("prices.steps", food=found.food)
    if isinstance(found, PriceMap):
        return say("prices.map", points=len(found.price_a))
    return say("prices.sample", count=len(found.values))


@dataclass(frozen=True, slots=True)
class PriceStepTold:
    """One recipe, and where it is the cheapest.

    Parameters
    ----------
    foods : str
    facts : tuple of (str, str)
        Name and value: its prices, its cost, each food in a litre, its verdict.
    """

    foods: str
    facts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PricesTold:
    """Which recipe is cheapest where.

    Parameters
    ----------
    title : str
    steps : tuple of PriceStepTold
    """

    title: str
    steps: tuple[PriceStepTold, ...]


def prices_told(answer: PricesAnswer) -> PricesTold:
    """The answer as sentences, recipe by recipe."""
    return PricesTold(_title(answer), tuple(_step(row, answer) for row in prices_rows(answer)))


def _step(row: Row, answer: PricesAnswer) -> PriceStepTold:
    currency = answer.pantry.currency
    values = {key.partition(" [")[0]: value for key, value in row.items()}
    package = answer.moving[0].package
    if "from" in values:
        low, high = values["cost from"], values["cost to"]
        words = say("prices.told.between", low=values["from"], high=values["to"],
                    currency=currency, package=package)  # fmt: skip
        facts = [(say("prices.told.price"), words)]
    else:
        low, high = values["least cost"], values["most cost"]
        words = say("prices.told.share", share=100 * float(values["share of prices"] or 0.0))
        facts = [(say("prices.told.cheapest"), words)]
    cost = say("prices.told.cost", low=low, high=high, currency=currency)
    facts.append((say("prices.told.litre"), cost))
    for key, value in row.items():
        food, _, unit = key.partition(" [")
        if unit == "g/L]" and isinstance(value, float) and value > 0:
            facts.append((food.replace("-", " "), say("prices.told.grams", grams=value)))
    if "verdict" in values:
        facts.append((say("prices.told.verdict"), say(f"verdict.{values['verdict']}")))
    return PriceStepTold(f"{row['foods']}", tuple(facts))


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
    written: list[str] = []
    if answer.found is None:
        return written
    drawn = None if picture is None else prices_picture(answer)  # refused before a file is written
    if table is not None:
        from formulate.base.outputs import Output, write_output

        write_output(table, prices_table(answer), Output.TABLE)
        written.append(str(table))
    if picture is not None and drawn is not None:
        from formulate.report.pictures.look import save_picture

        save_picture(drawn, picture)
        written.append(str(picture))
    return written


def prices_table(answer: PricesAnswer) -> str:
    """Every row as CSV: each step of one price, each pair of two, each recipe of more."""
    from formulate.report.tables import csv_text

    found = answer.found
    if isinstance(found, PriceMap):
        return csv_text(map_rows(found, *packages_of(answer)))
    return csv_text(prices_rows(answer))


def prices_picture(answer: PricesAnswer) -> Figure:
    """The answer drawn; there must be one.

    Raises
    ------
    InputError
        If more than two prices move, which no picture has room for.
    """
    from formulate.report.pictures.prices import price_map_picture, staircase_picture

    found, per = answer.found, packages_of(answer)
    if isinstance(found, PriceMap):
        return price_map_picture(found, per[0], per[1])
    if isinstance(found, Staircase):
        return staircase_picture(found, per[0])
    raise InputError(say("prices.too-many"), say("prices.leave-out")).about("picture")
