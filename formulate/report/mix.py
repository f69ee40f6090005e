"""What to mix, or why there is none and what comes nearest: in words, as JSON, and as files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.answers.judged import JudgedMix
from formulate.answers.mix_answer import MixAnswer
from formulate.base.messages import listed, say
from formulate.foods.bands import BandSet
from formulate.foods.food import Food
from formulate.pantry.pantry import Pantry
from formulate.report import words as tell
from formulate.report.milk import How, milk_lines, milk_shape, no_how
from formulate.report.text import heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "fewest_notes",
    "front_lines",
    "mix_heading",
    "mix_lines",
    "mix_picture",
    "mix_shape",
    "promise_of",
    "title",
    "write_files",
]

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
        lines = milk(answer.milk, [*promise_of(answer), *fewest_notes(answer, how)])
        if answer.surer is not None:
            lines += ["", tell.bullet(_surer_words(answer, how), "")]
    else:
        from formulate.report.no_mix import none_lines, tonight_notes

        lines = none_lines(answer, clashes=None if all_clashes else 1, how=how)
        if answer.instead is not None:
            lines += ["", *milk(answer.instead, tonight_notes(answer))]
    if answer.front is not None:
        lines += ["", *front_lines(answer)]
    if answer.reasons is not None:
        from formulate.report.why import reasons_lines

        lines += ["", *reasons_lines(answer, numbers=numbers)]
    elif answer.request.explain and answer.milk is not None:
        lines += ["", say("why.lost")]
    if answer.opinion is not None:
        from formulate.report.why import opinion_line

        lines += ["", opinion_line(answer)]
    return lines


def _surer_words(answer: MixAnswer, how: How) -> str:
    """What holding each range in 19 batches out of 20 would cost."""
    from formulate.blend.protect.chance import SureMix

    surer = answer.surer
    if isinstance(surer, SureMix):
        extra = max(surer.price_of_protection, 0.0)
        money = tell.money(extra, answer.pantry.currency)
        told = say("mix.surer-free") if extra < 0.005 else say("mix.surer", money=money)
        return f"{told} {how('ask-surer', most=surer.sure)}".rstrip()
    assert surer is not None
    if surer.most is None:
        return say("mix.never-surer")
    return f"{say('mix.no-surer', most=surer.most)} {how('ask-surer', most=surer.most)}".rstrip()


def title(answer: MixAnswer, made: JudgedMix) -> str:
    """What a mix of the answer is, above its amounts."""
    if made is answer.plain:
        return say("mix.plain-title")
    if made is answer.instead:
        from formulate.report.no_mix import instead_title

        return instead_title(answer, made)
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


def promise_of(answer: MixAnswer) -> list[str]:
    """What being sure promises and costs."""
    if answer.protected is None:
        return []
    from formulate.report.promised import promise_lines

    return promise_lines(answer.protected, answer.pantry.currency)


def front_lines(answer: MixAnswer) -> list[str]:
    """What more money buys of nearness to the middles, where that was asked; else nothing."""
    if answer.front is None:
        return []
    from formulate.report.prices import front_rows
    from formulate.report.why import row_lines

    words = {"deviation": say("mix.front-distance"), "closer by": say("mix.front-nearer")}
    rows = [
        {words.get(key, key): round(float(row[key]), 4) for key in row}  # no 1e-15 for people
        for row in front_rows(answer.front)
    ]
    return [say("mix.front"), *row_lines(rows)]


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
    package = answer.pantry.country.milk_package
    if prices := how("add-prices", food=made.mix.shelf.ids[0], package=package):
        notes.append(prices)
    return notes


# --- as JSON -----------------------------------------------------------------------------------


def mix_shape(answer: MixAnswer) -> Shape:
    """The answer as JSON: a mix and what belongs to it, or a no with what comes nearest."""
    if answer.milk is None:
        from formulate.report.no_mix import none_shape

        shape = none_shape(answer)
    else:
        shape = milk_shape(answer.milk, answer.pantry.kitchen, answer.pantry)
    if answer.closest is not None:
        from formulate.report.prices import front_rows

        shape |= {
            "deviation": answer.closest.deviation,
            "exact": answer.closest.exact,
            "front": [] if answer.front is None else front_rows(answer.front),
        }
    if answer.protected is not None and answer.milk is not None:
        from formulate.report.promised import promise_shape

        shape["protection"] = promise_shape(answer.protected)
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
        shape["surer"] = _surer_shape(answer)
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


def _surer_shape(answer: MixAnswer) -> Shape | None:
    from formulate.blend.protect.chance import SureMix

    surer = answer.surer
    if surer is None:
        return None
    if isinstance(surer, SureMix):
        return {"sure": surer.sure, "extra_per_litre": surer.price_of_protection, "most": None}
    return {"sure": surer.asked, "extra_per_litre": None, "most": surer.most}


# --- to files ----------------------------------------------------------------------------------


def write_files(
    answer: MixAnswer, problems: Sequence[Path] = (), picture: Path | None = None
) -> list[str]:
    """Write the problem for other solvers, and a picture of the answer; return their names.

    A mix in whole measures is written as its integer program, and beside it as the linear
    program of the same batch by the gram: ``mix.lp`` and ``mix.by-gram.lp``.

    Raises
    ------
    InputError
        If an ending is not known or a file cannot be written.
    """
    written: list[str] = []
    for path in problems:
        from formulate.blend.portable import portable_measures, write

        batch = None if answer.milk is None else answer.milk.batch
        by_gram = path
        if batch is not None and batch.kitchen_mix.program is not None:
            whole = portable_measures(batch.problem, batch.kitchen_mix)
            written += map(str, write(whole, path))
            by_gram = path.with_suffix(f".by-gram{path.suffix}")
        if answer.problem is not None:
            written += map(str, write(answer.problem, by_gram))
    written = list(dict.fromkeys(written))
    if picture is not None and answer.milk is not None:
        from formulate.report.pictures.look import save_picture

        save_picture(mix_picture(answer, answer.milk), picture)
        written.append(str(picture))
    return written


def mix_picture(answer: MixAnswer, made: JudgedMix) -> Figure:
    """What more money buys, where that was asked for; else each value against its range."""
    if answer.front is not None:
        from formulate.report.pictures.closeness import front_picture

        return front_picture(answer.front)
    from formulate.report.pictures.mix import reads_picture

    return reads_picture(made.mix)
