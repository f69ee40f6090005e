"""The verdict on a milk in words and as JSON: what every door shows first."""

from __future__ import annotations

from typing import Any

from formulate.answers.verdict import Judgement, Verdict
from formulate.base.messages import say
from formulate.report.words import bullet

__all__ = ["headline", "verdict_lines", "verdict_shape"]

Shape = dict[str, Any]


def headline(verdict: Verdict) -> str:
    """The verdict in one sentence: "Do not feed this."."""
    return say(f"verdict.{verdict.value}")


def verdict_lines(judgement: Judgement) -> list[str]:
    """The verdict, then its reasons in order of weight, as lines of text."""
    lines = [headline(judgement.verdict)]
    lines += [bullet(reason.text) for reason in judgement.reasons]
    return lines


def verdict_shape(judgement: Judgement) -> Shape:
    """``verdict`` and ``verdict_why``, for the JSON of anything that speaks of a milk."""
    return {
        "verdict": judgement.verdict.value,
        "verdict_why": [
            {
                "id": reason.id,
                "verdict": reason.verdict.value,
                "text": reason.text,
                "source": reason.source,
            }
            for reason in judgement.reasons
        ],
    }
