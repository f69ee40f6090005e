"""The milks of a flock, each with its judgement."""

from __future__ import annotations

from formulate.answers.verdict import Judgement, Verdict, judge
from formulate.blend.mix import Mix

__all__ = ["refusal", "refusals"]


def refusals(judgement: Judgement) -> tuple[str, ...]:
    """Why a milk must never be fed; empty where it may be."""
    if judgement.verdict is not Verdict.NEVER:
        return ()
    return tuple(r.text for r in judgement.reasons if r.verdict is Verdict.NEVER)


def refusal(mix: Mix) -> str:
    """Why a mix must never be fed, in one sentence; empty where it may be."""
    return next(iter(refusals(judge(mix))), "")
