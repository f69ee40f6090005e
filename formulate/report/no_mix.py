"""Why there is no mix, what would help, and what comes nearest: in words and as JSON."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from formulate.answers.judged import JudgedMix
from formulate.answers.mix_answer import MixAnswer, MixOutcome
from formulate.base.messages import listed, say
from formulate.blend.goal import OutOfReach
from formulate.blend.mix import NoMix
from formulate.blend.protect.budgeted import OverBudget
from formulate.blend.protect.chance import NotSure
from formulate.blend.whole.kitchen_mix import NoKitchenMix
from formulate.foods.food import Food
from formulate.report import words as tell
from formulate.report.milk import How, milk_shape, no_how
from formulate.report.promised import (
    not_sure_lines,
    not_sure_shape,
    over_budget_lines,
    over_budget_shape,
)
from formulate.report.reason_words import weight
from formulate.report.reasons import helpers, why_not
from formulate.report.shapes import limit_shape, pantry_shape, read_shape

__all__ = ["NoneWords", "instead_title", "none_lines", "none_shape", "none_words", "tonight_notes"]

Shape = dict[str, Any]


@dataclass(frozen=True)
class NoneWords:
    """Why there is no such mix.

    Parameters
    ----------
    title : str
    why : tuple of str
    would_help : tuple of str
        Which foods would make it possible; empty if it is not the foods.
    rest : tuple of str
        What else to say: that nothing comes near.
    """

    title: str
    why: tuple[str, ...] = ()
    would_help: tuple[str, ...] = ()
    rest: tuple[str, ...] = ()


def none_words(
    answer: MixAnswer,
    *,
    clashes: int | None = None,
    how: How = no_how,
    name: Callable[[Food], str] = lambda food: food.id,
) -> NoneWords:
    """Say why there is no such mix, and what would help.

    Parameters
    ----------
    answer : MixAnswer
        Without a milk.
    clashes : int, optional
        How many clashes of demands to explain in full; by default all.
    how : callable
        What the door adds: "more-time", "by-gram", "ask-surer".
    name : callable
        How a food is called.
    """
    no = answer.no
    if isinstance(no, NoMix):
        every = len(no.other_conflicts) + 1
        told = why_not(no, most=every if clashes is None else clashes)
        additions = answer.additions
        help_ = (
            ()
            if additions is None
            else helpers(additions, answer.pantry.currency, kitchen=answer.pantry.kitchen).sentences
        )
        none = say("mix.no-nearest" if no.complete else "mix.nearest-lost")
        rest = () if no.nearest is not None else (none,)
        return NoneWords(say("mix.no-mix"), told.sentences, help_, rest)
    if isinstance(no, NoKitchenMix):
        return _no_measures(no, how, name)
    if isinstance(no, NotSure):
        title, *more = not_sure_lines(no)
        if more and (ask := how("ask-surer", most=no.most)):
            more = [ask]
        return NoneWords(title, tuple(more))
    if isinstance(no, OverBudget):
        return NoneWords(" ".join(over_budget_lines(no)))
    assert isinstance(no, OutOfReach)
    return NoneWords(_out_of_reach(answer, no))


def _no_measures(no: NoKitchenMix, how: How, name: Callable[[Food], str]) -> NoneWords:
    least, most = tell.volume_words(no.least_volume), tell.volume_words(no.most_volume)
    lines = []
    if not no.complete:
        lines.append(f"{say('mix.no-size-yet')} {how('more-time')}".rstrip())
    if no.exact is not None:
        cost, currency = no.exact.cost_per_litre, no.exact.shelf.currency
        by_gram = (
            say("mix.by-gram-unpriced")
            if cost is None
            else say("mix.by-gram", money=tell.money(cost, currency))
        )
        lines.append(f"{by_gram} {how('by-gram')}".rstrip())
    if no.too_coarse:
        names = {food.id: name(food) for food in no.problem.shelf.foods}
        coarse = say("mix.too-coarse", foods=listed([names[food] for food in no.too_coarse]))
        lines.append(f"{coarse} {say('mix.smaller-step')}")
    rest = () if no.nearest is not None else (say("mix.no-size"),)
    return NoneWords(say("mix.no-measures", least=least, most=most), tuple(lines), (), rest)


def none_lines(answer: MixAnswer, *, clashes: int | None = None, how: How = no_how) -> list[str]:
    """The same as lines of text."""
    told = none_words(answer, clashes=clashes, how=how)
    if told.would_help:
        lines = [f"{told.title} {say('mix.why')}", *map(tell.bullet, told.why)]
        lines += ["", say("mix.would-help"), *map(tell.bullet, told.would_help)]
    else:
        lines = [tell.bullet(line, "") for line in (told.title, *told.why)]
    return [*lines, *([""] if told.rest else []), *told.rest]


def _out_of_reach(answer: MixAnswer, no: OutOfReach) -> str:
    """Why no mix costs so little."""
    if no.cheapest is None:
        return say("mix.out-of-reach")
    currency = answer.pantry.currency
    return say(
        "mix.too-cheap",
        money=tell.money(answer.request.within_cost, currency),
        cheapest=tell.money(no.cheapest, currency),
    )


#: Shares of a mix that differ by less are the same to a person.
_SAME_SHARE = 0.005


def _differ(answer: MixAnswer) -> bool:
    """Whether the nearest mix by the gram is another than the one in whole measures."""
    assert answer.nearest is not None
    assert answer.instead is not None
    one, other = answer.nearest.mix, answer.instead.mix
    apart = abs(one.grams / one.weight - other.grams / other.weight)
    return bool(apart.max() > _SAME_SHARE)


def tonight_notes(
    answer: MixAnswer, name: Callable[[Food], str] = lambda food: food.id
) -> list[str]:
    """Whether the nearest mix will do for one night, and how near it is by the gram."""
    lines = []
    if answer.one_night is not None:
        lines.append(say("mix.one-night" if answer.one_night else "mix.not-one-night"))
    if answer.nearest is not None and answer.instead is not None and _differ(answer):
        mix = answer.nearest.mix
        grams = [
            say("mix.grams", food=name(food), grams=weight(amount))
            for food, amount in zip(mix.shelf.foods, mix.grams.tolist(), strict=True)
            if amount > 0
        ]
        lines.append(say("mix.nearest-by-gram", foods=listed(grams)))
    return lines


def instead_title(answer: MixAnswer, made: JudgedMix) -> str:
    """What comes nearest, above its amounts."""
    if isinstance(answer.no, NoKitchenMix):
        larger = made.mix.volume > answer.no.most_volume
        return say("mix.larger-size-title") if larger else say("mix.nearest-size-title")
    if answer.outcome is not MixOutcome.NO_MIX:
        return say("mix.surest-title")
    return say("mix.nearest-title" if made.batch is None else "mix.nearest-measures-title")


# --- as JSON -----------------------------------------------------------------------------------


def _milk(answer: MixAnswer, made: JudgedMix) -> Shape:
    return milk_shape(made, answer.pantry.kitchen, answer.pantry)


def none_shape(answer: MixAnswer) -> Shape:
    """A no: what it is, and under a key of its own what comes nearest."""
    no, instead = answer.no, answer.instead
    if answer.nearest is not None:
        instead = answer.nearest
    shown = None if instead is None else _milk(answer, instead)
    about = {
        "bands": answer.bands.name,
        "kitchen": answer.pantry.kitchen.value,
        **pantry_shape(answer.pantry),
    }
    if isinstance(no, NoMix):
        return _no_mix_shape(answer, no, about, shown)
    if isinstance(no, NoKitchenMix):
        return {
            "status": "infeasible",
            "why": "whole measures",
            **about,
            "exact_cost_per_litre": None if no.exact is None else no.exact.cost_per_litre,
            "search": {"complete": no.complete},
            "too_coarse": list(no.too_coarse),
            "conflict": [],
            "nearest": shown,
        }
    if isinstance(no, NotSure):
        plain = None if answer.plain is None else _milk(answer, answer.plain)
        return {**not_sure_shape(no), **about, "surest": shown, "plain": plain}
    if isinstance(no, OverBudget):
        return {**over_budget_shape(no), **about, "surest": shown}
    assert isinstance(no, OutOfReach)
    return {
        "status": "infeasible",
        "within_cost": answer.request.within_cost,
        "cheapest_cost_per_litre": no.cheapest,
        **about,
    }


def _no_mix_shape(answer: MixAnswer, no: NoMix, about: Shape, nearest: Shape | None) -> Shape:
    if nearest is not None and no.nearest is not None:
        nearest["misses"] = [{**read_shape(r), "miss": r.miss} for r in no.nearest.misses]
    helped = None if answer.additions is None else helpers(answer.additions, answer.pantry.currency)
    measured = answer.instead
    if measured is None or measured.batch is None:
        in_measures = None
    else:
        in_measures = _milk(answer, measured)
        misses = measured.mix.misses
        in_measures["misses"] = [{**read_shape(r), "miss": r.miss} for r in misses]
    return {
        "status": "infeasible",
        **about,
        "nearest_in_measures": in_measures,
        "one_night": answer.one_night,
        "conflict": [limit_shape(limit) for limit in no.conflict],
        "other_conflicts": [[limit_shape(m) for m in c] for c in no.other_conflicts],
        "why": list(why_not(no).sentences),
        "would_help": [] if helped is None else list(helped.rows),
        "nearest": nearest,
    }
