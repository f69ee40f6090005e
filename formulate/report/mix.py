"""What to mix, or why not and what comes nearest: in words, as JSON, and written to files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from formulate.answers.judged import JudgedMix
from formulate.answers.mix_answer import MixAnswer, Outcome
from formulate.base.messages import listed, say
from formulate.blend.goal import OutOfReach
from formulate.blend.mix import NoMix
from formulate.blend.protect.budgeted import GuardedMix, NotGuarded
from formulate.blend.protect.chance import NotSure
from formulate.blend.whole.kitchen_mix import NoKitchenMix
from formulate.foods.bands import BandSet
from formulate.foods.food import Food
from formulate.pantry.pantry import Pantry
from formulate.report import words as tell
from formulate.report.milk import How, milk_lines, milk_shape, no_how
from formulate.report.reason_words import weight
from formulate.report.shapes import limit_shape, pantry_shape, read_shape
from formulate.report.sureness_words import (
    guarded_lines,
    guarded_shape,
    not_guarded_lines,
    not_guarded_shape,
    not_sure_lines,
    not_sure_shape,
    sure_lines,
    sure_shape,
)
from formulate.report.text import heading

__all__ = ["mix_heading", "mix_lines", "mix_shape", "none_words", "title", "write_files"]

Shape = dict[str, Any]


# --- in words ----------------------------------------------------------------------------------


def mix_heading(bands: BandSet, pantry: Pantry, *, named: bool = True) -> list[str]:
    """What it is for, whose shelf, whose cups; and a gap.

    Parameters
    ----------
    bands : BandSet
    pantry : Pantry
    named : bool
        Whether the person named it; else it is said which was taken.
    """
    lines = heading(bands, pantry.kitchen, pantry)
    if not named:
        sample = say("mix.sample") if pantry.invented else say("mix.in-folder", file=pantry.where)
        lines.append(sample)
    return [*lines, ""]


def mix_lines(
    answer: MixAnswer,
    *,
    how: How = no_how,
    all_cautions: bool = False,
    all_clashes: bool = False,
    numbers: bool = False,
) -> list[str]:
    """The answer as lines of text.

    Parameters
    ----------
    answer : MixAnswer
    how : callable
        What the door adds: "more-time", "by-gram", "ask-surer", "more-cautions".
    all_cautions : bool
        Tell every caution, each with its source.
    all_clashes : bool
        Tell every clash of demands, not only the first.
    numbers : bool
        Add the tables behind the reasons.
    """

    def milk(made: JudgedMix, notes: Sequence[str] = ()) -> list[str]:
        return milk_lines(
            made,
            answer.pantry.kitchen,
            title(answer, made),
            how=how,
            all_cautions=all_cautions,
            notes=notes,
        )

    if answer.milk is not None:
        lines = milk(answer.milk, [*_promise(answer), *fewest_notes(answer, how)])
    else:
        lines = _none_lines(none_words(answer, clashes=None if all_clashes else 1, how=how))
        if answer.instead is not None:
            lines += ["", *milk(answer.instead, _tonight(answer))]
    if answer.front is not None:
        from formulate.report.prices import front_rows
        from formulate.report.why import row_lines

        lines += ["", say("mix.front"), *row_lines(front_rows(answer.front))]
    if answer.reasons is not None:
        from formulate.report.why import reasons_lines

        lines += ["", *reasons_lines(answer, numbers=numbers)]
    elif answer.request.explain and answer.milk is not None:
        lines += ["", say("why.lost")]
    if answer.opinion is not None:
        from formulate.report.why import opinion_line

        lines += ["", opinion_line(answer)]
    return lines


def _tonight(answer: MixAnswer) -> list[str]:
    """Whether the nearest mix will do for one night, and how near it is by the gram."""
    lines = []
    if answer.one_night is not None:
        lines.append(say("mix.one-night" if answer.one_night else "mix.not-one-night"))
    if answer.nearest is not None and answer.nearest is not answer.instead:
        mix = answer.nearest.mix
        grams = [
            say("mix.grams", food=food, grams=weight(amount))
            for food, amount in zip(mix.shelf.ids, mix.grams.tolist(), strict=True)
            if amount > 0
        ]
        lines.append(say("mix.nearest-by-gram", foods=listed(grams)))
    return lines


def title(answer: MixAnswer, made: JudgedMix) -> str:
    """What a mix of the answer is, above its amounts."""
    if made is answer.plain:
        return say("mix.plain-title")
    if made is answer.instead:
        return _instead_title(answer, made)
    request = answer.request
    if request.closest and request.within_cost is not None:
        money = tell.money(request.within_cost, answer.pantry.currency)
        return say("mix.closest-within-title", bands=answer.bands.name, money=money)
    if request.closest:
        return say("mix.closest-title", bands=answer.bands.name)
    if answer.fewest is not None:
        by_gram = made.batch is None
        return say("mix.fewest-gram-title") if by_gram else say("mix.fewest-title")
    return say("mix.gram-title") if made.batch is None else say("mix.whole-title")


def _instead_title(answer: MixAnswer, made: JudgedMix) -> str:
    if isinstance(answer.no, NoKitchenMix):
        larger = made.mix.volume > answer.no.most_volume
        return say("mix.larger-size-title") if larger else say("mix.nearest-size-title")
    if answer.outcome is not Outcome.NO_MIX:
        return say("mix.surest-title")
    return say("mix.nearest-title" if made.batch is None else "mix.nearest-measures-title")


def _promise(answer: MixAnswer) -> list[str]:
    """What being sure promises and costs."""
    currency = answer.pantry.currency
    if isinstance(answer.protected, GuardedMix):
        return guarded_lines(answer.protected, currency)
    return [] if answer.protected is None else sure_lines(answer.protected, currency)


def fewest_notes(
    answer: MixAnswer, how: How = no_how, name: Callable[[Food], str] = lambda food: food.id
) -> list[str]:
    """How few foods there are, where no food has a price; which of them are not needed."""
    made, found = answer.milk, answer.fewest
    if found is None or made is None:
        return []
    ended = made.batch is not None and not made.batch.kitchen_mix.complete
    notes = [say("mix.fewest-ended") if ended else say("mix.fewest")]
    used = made.mix.grams > 0
    spare = [name(f) for f, u in zip(made.mix.shelf.foods, used, strict=True) if not u]
    if spare:
        notes.append(say("mix.not-needed", foods=listed(spare)))
    if prices := how("add-prices", food=made.mix.shelf.ids[0]):
        notes.append(prices)
    return notes


@dataclass(frozen=True)
class NoneWords:
    """Why there is no such mix.

    Parameters
    ----------
    title : str
    why : tuple of str
    would_help : tuple of str
        Which foods would make it possible; empty where it is not the foods.
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
        How many clashes of demands to tell in full; all of them where left out.
    how : callable
        What the door adds: "more-time", "by-gram", "ask-surer".
    name : callable
        How a food is called.
    """
    no = answer.no
    if isinstance(no, NoMix):
        from formulate.report.reasons import helpers, why_not

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
    if isinstance(no, NotGuarded):
        return NoneWords(" ".join(not_guarded_lines(no)))
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


def _none_lines(told: NoneWords) -> list[str]:
    """The same as lines of text."""
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


# --- as JSON -----------------------------------------------------------------------------------


def mix_shape(answer: MixAnswer) -> Shape:
    """The answer as JSON: a mix and what belongs to it, or a no with what comes nearest."""
    shape = _no_shape(answer) if answer.milk is None else _milk(answer, answer.milk)
    if answer.closest is not None:
        from formulate.report.prices import front_rows

        shape |= {
            "deviation": answer.closest.deviation,
            "exact": answer.closest.exact,
            "front": [] if answer.front is None else front_rows(answer.front),
        }
    if answer.protected is not None and answer.milk is not None:
        shape["protection"] = (
            guarded_shape(answer.protected)
            if isinstance(answer.protected, GuardedMix)
            else sure_shape(answer.protected)
        )
    if answer.fewest is not None and answer.milk is not None:
        batch = answer.milk.batch
        shape["fewest"] = {
            "foods": int((answer.milk.mix.grams > 0).sum()),
            "deviation": answer.fewest.deviation,
            "proved": batch is None or batch.kitchen_mix.complete,
        }
    if answer.reasons is not None:
        from formulate.report.why import reasons_shape

        shape["why"] = reasons_shape(answer)
    if answer.opinion is not None:
        from formulate.report.why import opinion_shape

        shape["second_opinion"] = opinion_shape(answer)
    if answer.milk is not None:
        shape["as_recipe"] = answer.milk.recipe_text(answer.pantry)
    shape["try_next"] = [
        {
            "kind": one.kind.value,
            "foods": list(one.foods),
            "shares": list(one.shares),
            "cost_per_litre": one.cost_per_litre,
            "most_foods": one.count or None,
        }
        for one in answer.tries
    ]
    return shape


def _milk(answer: MixAnswer, made: JudgedMix) -> Shape:
    return milk_shape(made, answer.pantry.kitchen, answer.pantry)


def _no_shape(answer: MixAnswer) -> Shape:
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
    if isinstance(no, NotGuarded):
        return {**not_guarded_shape(no), **about, "surest": shown}
    assert isinstance(no, OutOfReach)
    return {
        "status": "infeasible",
        "within_cost": answer.request.within_cost,
        "cheapest_cost_per_litre": no.cheapest,
        **about,
    }


def _no_mix_shape(answer: MixAnswer, no: NoMix, about: Shape, nearest: Shape | None) -> Shape:
    from formulate.report.reasons import helpers, why_not

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


# --- to files ----------------------------------------------------------------------------------


def write_files(answer: MixAnswer, problem: Path | None, picture: Path | None) -> list[str]:
    """Write the problem for another solver, and a picture of the answer; return their names.

    Raises
    ------
    InputError
        If an ending is not known or a file cannot be written.
    """
    written = []
    if problem is not None and answer.problem is not None:
        from formulate.blend.portable import write

        written += [str(path) for path in write(answer.problem, problem)]
    if picture is not None and answer.milk is not None:
        from formulate.report.pictures.look import save_picture

        if answer.front is not None:
            from formulate.report.pictures.prices import front_picture

            save_picture(front_picture(answer.front), picture)
        else:
            from formulate.report.pictures.mix import reads_picture

            save_picture(reads_picture(answer.milk.mix), picture)
        written.append(str(picture))
    return written
