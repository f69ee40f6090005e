"""The verdict on a milk, in words and as JSON; every door shows it first."""

from __future__ import annotations

from typing import Any

from formulate.answers.verdict import Judgement, Thinning, Verdict
from formulate.base.messages import number, say
from formulate.report.words import bullet

__all__ = ["because", "headline", "thinning_words", "verdict_lines", "verdict_shape"]

Shape = dict[str, Any]


def headline(judgement: Judgement | Verdict) -> str:
    """The verdict in one sentence: "Do not feed this."."""
    if isinstance(judgement, Verdict):
        return say(f"verdict.{judgement.value}")
    if judgement.thinning is None:
        return headline(judgement.verdict)
    return say("verdict.too-strong" if judgement.may_be_fed else "verdict.as-it-is")


def thinning_words(thinning: Thinning) -> str:
    """How much water mends a milk that is only too strong."""
    return say("verdict.thin", water=thinning.water, solids=number(thinning.solids))


def because(judgement: Judgement) -> list[str]:
    """What mends it if water alone does, then the reasons in order of weight, as sentences."""
    mends = [] if judgement.thinning is None else [thinning_words(judgement.thinning)]
    return mends + [reason.text for reason in judgement.reasons]


def verdict_lines(judgement: Judgement) -> list[str]:
    """The verdict, what mends it if water alone does, then the reasons in order of weight."""
    lines = [headline(judgement)]
    if judgement.thinning is not None:
        lines.append(bullet(thinning_words(judgement.thinning), ""))
    lines += [bullet(reason.text) for reason in judgement.reasons]
    return lines


def verdict_shape(judgement: Judgement) -> Shape:
    """``verdict`` and ``verdict_why``, for the JSON of anything that speaks of a milk.

    And ``thin_with_water`` [L/L], null unless water alone mends it.
    """
    thinning = judgement.thinning
    return {
        "verdict": judgement.verdict.value,
        "verdict_why": [
            {
                "id": reason.id,
                "verdict": reason.verdict.value,
                "text": reason.text,
                "source": reason.source,
                "status": reason.status,
            }
            for reason in judgement.reasons
        ],
        "thin_with_water": None if thinning is None else thinning.water,
    }
