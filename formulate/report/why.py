"""What a feasible mix's demands cost, where prices would change it, and a second opinion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from formulate.blend.mix import Mix
from formulate.blend.portable import second_opinion
from formulate.blend.prices.ranging import entry_prices, price_ranges
from formulate.blend.prices.shadow_prices import band_costs
from formulate.blend.problem import Problem
from formulate.kitchen.batch import packages
from formulate.pantry.pantry import Pantry
from formulate.report import words as say
from formulate.report.cost_reasons import cost_reasons, price_reasons

__all__ = ["row_lines", "second_opinion_answer", "why_answer"]


def why_answer(
    problem: Problem, mix: Mix, pantry: Pantry, *, numbers: bool = False
) -> tuple[dict[str, Any], list[str]]:
    """Reasons for the cheapest mix by the gram, as JSON and as lines of text.

    Parameters
    ----------
    problem : Problem
    mix : Mix
        Its optimum.
    pantry : Pantry
        Whose packages the prices are told by.
    numbers : bool
        Add the tables behind the sentences.
    """
    costs = cost_reasons(band_costs(problem, mix), pantry.currency)
    prices = price_reasons(
        mix, entry_prices(problem, mix), price_ranges(problem, mix), packages(pantry)
    )
    lines = ["What the demands cost, by the gram"]
    lines += [say.bullet(sentence) for sentence in costs.sentences]
    lines.append("What prices would change it")
    lines += [say.bullet(sentence) for sentence in prices.sentences]
    if numbers:
        lines += ["", *row_lines(costs.rows), "", *row_lines(prices.rows)]
    shape = {
        "sentences": [*costs.sentences, *prices.sentences],
        "limit_costs": list(costs.rows),
        "prices": list(prices.rows),
    }
    return shape, lines


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
        if not key or (width > say.WIDTH and block):
            columns = [cells[k] for k in (first, *block)]
            lines += say.table(list(zip(*columns, strict=True)), right=range(1, len(columns)))
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


def second_opinion_answer(problem: Problem, mix: Mix) -> tuple[dict[str, Any], str]:
    """What CBC makes of the same problem, beside HiGHS, per litre."""
    other = second_opinion(problem)
    ours = mix.cost_per_litre or 0.0
    theirs = None if other.value is None else other.value / problem.volume * 1e3
    shape = {"solver": "CBC", "answer": other.answer.value, "cost_per_litre": theirs}
    currency = mix.shelf.currency
    if theirs is None:
        return (
            shape,
            f"Second opinion: HiGHS {ours:.6f} {currency} a litre; CBC: {other.answer.value}.",
        )
    return shape, (
        f"Second opinion, by the gram: HiGHS {ours:.6f}, CBC {theirs:.6f} {currency} a litre."
    )
