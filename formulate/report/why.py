"""What the demands of a mix cost, which prices would change it, and a second opinion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from formulate.answers.mix_answer import MixAnswer
from formulate.base.messages import say
from formulate.kitchen.batch import packages
from formulate.report import words as tell
from formulate.report.cost_reasons import cost_reasons, price_reasons
from formulate.report.reason_words import Told

__all__ = ["opinion_line", "opinion_shape", "reasons_lines", "reasons_shape", "row_lines"]


def _told(answer: MixAnswer) -> tuple[Told, Told]:
    """What the demands cost, and what prices would change the mix."""
    reasons, exact = answer.reasons, answer.exact
    assert reasons is not None
    assert exact is not None
    costs = cost_reasons(reasons.limit_costs, answer.pantry.currency)
    return costs, price_reasons(exact, reasons.entries, reasons.ranges, packages(answer.pantry))


def reasons_lines(answer: MixAnswer, *, numbers: bool = False) -> list[str]:
    """Reasons for the cheapest mix by the gram, as lines of text.

    Parameters
    ----------
    answer : MixAnswer
        With its reasons.
    numbers : bool
        Add the tables behind the sentences.
    """
    costs, prices = _told(answer)
    lines = [say("why.limits"), *map(tell.bullet, costs.sentences)]
    lines += [say("why.prices"), *map(tell.bullet, prices.sentences)]
    if numbers:
        lines += ["", *row_lines(costs.rows), "", *row_lines(prices.rows)]
    return lines


def reasons_shape(answer: MixAnswer) -> dict[str, Any]:
    """The same as JSON."""
    costs, prices = _told(answer)
    return {
        "sentences": [*costs.sentences, *prices.sentences],
        "limit_costs": list(costs.rows),
        "prices": list(prices.rows),
    }


def row_lines(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Rows of plain values as a table, a block of columns that fits the page at a time."""
    if not rows:
        return []
    keys = list(dict.fromkeys(key for row in rows for key in row))
    cells = {key: [key, *(_cell(row.get(key)) for row in rows)] for key in keys}
    first, lines = keys[0], []
    block: list[str] = []
    for key in [*keys[1:], ""]:
        width = sum(max(map(len, cells[k])) + 2 for k in (first, *block, *([key] if key else [])))
        if not key or (width > tell.WIDTH and block):
            columns = [cells[k] for k in (first, *block)]
            lines += tell.table(list(zip(*columns, strict=True)), right=range(1, len(columns)))
            lines.append("")
            block = []
        block.append(key)
    return lines[:-1]


def _cell(value: Any) -> str:
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def opinion_shape(answer: MixAnswer) -> dict[str, Any]:
    """What CBC makes of the same problem, per litre."""
    _, theirs = _opinions(answer)
    assert answer.opinion is not None
    return {"solver": "CBC", "answer": answer.opinion.answer.value, "cost_per_litre": theirs}


def opinion_line(answer: MixAnswer) -> str:
    """The same beside HiGHS, in a sentence."""
    ours, theirs = _opinions(answer)
    assert answer.opinion is not None
    currency = answer.pantry.currency
    if theirs is None:
        status = say(f"why.answer.{answer.opinion.answer.name.lower()}")
        return say("why.no-opinion", ours=ours, currency=currency, answer=status)
    return say("why.opinion", ours=ours, theirs=theirs, currency=currency)


def _opinions(answer: MixAnswer) -> tuple[float, float | None]:
    """Cost of a litre by HiGHS and by CBC [money/L]."""
    opinion, problem, exact = answer.opinion, answer.problem, answer.exact
    assert opinion is not None
    assert problem is not None
    assert exact is not None
    theirs = None if opinion.value is None else opinion.value / problem.volume * 1e3
    return exact.cost_per_litre or 0.0, theirs
