"""A checked recipe in words and as JSON."""

from __future__ import annotations

from typing import Any

from formulate.answers.check import CheckAnswer
from formulate.answers.verdict import Verdict
from formulate.base.messages import say
from formulate.report.instruments_text import (
    instruments_answer,
    instruments_lines,
    instruments_shape,
)
from formulate.report.milk import How, milk_lines, milk_shape, no_how
from formulate.report.text import heading
from formulate.report.verdict_words import thinning_words, verdict_lines, verdict_shape
from formulate.report.words import bullet

__all__ = ["check_lines", "check_shape", "next_words"]

Shape = dict[str, Any]


def next_words(answer: CheckAnswer, how: How = no_how, *, thinning: bool = True) -> list[str]:
    """What to do next, a sentence or two each; empty if the milk is inside.

    Parameters
    ----------
    answer : CheckAnswer
    how : callable
        What the door adds: "design".
    thinning : bool
        Say how much water mends a milk that is only too strong; False if it was told before.
    """
    verdict, water = answer.judgement.verdict, answer.judgement.thinning
    told = [] if water is None or not thinning else [thinning_words(water)]
    if water is None:
        for without in answer.without:
            name = "rest-inside" if without.verdict is Verdict.INSIDE else "rest-outside"
            told.append(say(f"verdict.{name}", food=without.food))
        if verdict is not Verdict.INSIDE:
            told.append(f"{say(f'verdict.next-{verdict.value}')} {how('design')}".rstrip())
    if verdict is Verdict.NEVER:
        told.append(say("verdict.drunk"))
    return told


def check_lines(
    answer: CheckAnswer, *, how: How = no_how, all_cautions: bool = False, named: bool = True
) -> list[str]:
    """The answer in full, as lines of text: the verdict and what to do before any table.

    Parameters
    ----------
    answer : CheckAnswer
    how : callable
        What the door adds: "design", "more-cautions".
    all_cautions : bool
        Tell every caution, each with its source.
    named : bool
        Whether the pantry was named; one that was found is said.
    """
    lines = verdict_lines(answer.judgement)
    if following := next_words(answer, how, thinning=False):
        lines += [say("verdict.next"), *map(bullet, following)]
    lines += ["", say("verdict.recipe", recipe=answer.asked)]
    lines += heading(answer.bands, answer.kitchen, answer.pantry)
    if answer.pantry is not None and not named:
        lines.append(say("mix.in-folder", file=answer.pantry.where))
    if answer.milk is None:
        return lines
    title = say("mix.checked-title")
    lines.append("")
    lines += milk_lines(
        answer.milk, answer.kitchen, title, how=how, all_cautions=all_cautions, verdict=False
    )
    if answer.held is not None:
        lines += ["", *instruments_lines(answer.held), "", instruments_answer(answer.held)]
    return lines


def check_shape(answer: CheckAnswer) -> Shape:
    """The answer as JSON; without ``reads`` where something in it must not be fed."""
    if answer.milk is None:
        shape = verdict_shape(answer.judgement) | {
            "bands": answer.bands.name,
            "kitchen": answer.kitchen.value,
        }
    else:
        shape = milk_shape(answer.milk, answer.kitchen, answer.pantry)
    shape |= {
        "recipe": answer.asked,
        "without": [{"food": one.food, "verdict": one.verdict.value} for one in answer.without],
        "next": next_words(answer),
    }
    if answer.held is not None:
        shape |= instruments_shape(answer.held)
    return shape
