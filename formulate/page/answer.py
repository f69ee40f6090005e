"""The mix, or why there is none, ready to be shown."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from markupsafe import Markup

from formulate.answers.cautions import Caution, cautions_for
from formulate.base.errors import FormulateError, InputError
from formulate.base.messages import listed
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix, NoMix
from formulate.blend.protect.chance import NotSure
from formulate.blend.whole.kitchen_mix import KitchenMix, NoKitchenMix
from formulate.foods.bands import Role
from formulate.foods.food import FERMENTED_KINDS
from formulate.foods.tables import sources
from formulate.kitchen.batch import Batch, make_batch, would_help
from formulate.page.aim import Aim
from formulate.page.drawings import read_picture
from formulate.page.rows import Row, food_words, pantry_with
from formulate.page.words import cost_words, counted, read_standing, sure_words
from formulate.pantry.pantry import Pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe
from formulate.report import words as say

__all__ = ["Answer", "Line", "Shown", "Try", "answer", "checked", "recipe_text"]

MOST_TRIES = 4


@dataclass(frozen=True)
class Line:
    """One food of a mix.

    Parameters
    ----------
    measure : str
        What hands take.
    food : str
    weight : str
    cost : str
    """

    measure: str
    food: str
    weight: str
    cost: str


@dataclass(frozen=True)
class ShownRead:
    """One read, ready to be shown.

    Parameters
    ----------
    label, value, unit, range, standing : str
    picture : Markup
        Empty where it has no range.
    outside : bool
        Of a demanded or safety range.
    likely : str
        What 19 of 20 batches would read.
    source : str
        Where the range comes from.
    """

    label: str
    value: str
    unit: str
    range: str
    standing: str
    picture: Markup
    outside: bool
    likely: str
    source: str


@dataclass(frozen=True)
class Try:
    """Something to try with one tap.

    Parameters
    ----------
    value : str
        What the page is told.
    words : str
    note : str
    asks : bool
        Whether a price is asked for then: the page goes to that field, not to the answer.
    """

    value: str
    words: str
    note: str = ""
    asks: bool = False


@dataclass(frozen=True)
class Shown:
    """A mix, ready to be shown.

    Parameters
    ----------
    lines : tuple of Line
    makes : str
        Volume and weight.
    cost, per_litre : str
        Empty where a price is missing.
    demanded, safety, more : tuple of ShownRead
    sure : str
        How sure, as a sentence; empty where it was left for later.
    cautions : tuple of (Caution, str)
        Those told with every mix, each with its source.
    more_cautions : tuple of (Caution, str)
    steps : tuple of (str, str)
        What to do, and the level after it.
    notes : tuple of str
    """

    lines: tuple[Line, ...]
    makes: str
    cost: str
    per_litre: str
    demanded: tuple[ShownRead, ...]
    safety: tuple[ShownRead, ...]
    more: tuple[ShownRead, ...]
    sure: str
    cautions: tuple[tuple[Caution, str], ...]
    more_cautions: tuple[tuple[Caution, str], ...]
    steps: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Answer:
    """What the page answers.

    Parameters
    ----------
    status : str
        One line, also spoken by a screen reader when the answer changes.
    mix : Shown or None
    title : str
        Of the mix.
    whom : str
        What it is for.
    why : tuple of str
        Why it cannot be done.
    tries : tuple of Try
    faults : tuple of (str, str)
        Fields that cannot be used: the field's id and what is wrong.
    recipe : str
        The mix as a recipe to keep; empty where there is none.
    """

    status: str
    mix: Shown | None = None
    title: str = ""
    whom: str = ""
    why: tuple[str, ...] = ()
    tries: tuple[Try, ...] = ()
    faults: tuple[tuple[str, str], ...] = ()
    recipe: str = ""


def answer(rows: Sequence[Row], aim: Aim, pantry: Pantry, *, sure: bool = True) -> Answer:
    """Answer what the page asks: design the mix, or say why there is none.

    Parameters
    ----------
    rows : sequence of Row
    aim : Aim
    pantry : Pantry
    sure : bool
        Whether to say how sure it is.
    """
    faults = [(f"price-{row.id}", f"{row.words}: {fault}") for row in rows for fault in row.faults]
    own = pantry_with(rows, pantry)
    usable = [row for row in rows if row.ticked and row.priced]
    if not usable:
        return Answer("Tick at least one food that has a price.", faults=tuple(faults))
    asked = []
    for field, read in (("make", aim.volume), ("container", aim.wishes), ("whom", aim.bands)):
        try:
            asked.append(read(pantry))
        except InputError as error:
            faults.append((field, str(error)))
    if len(asked) < 3:
        return Answer("A field needs a look.", faults=tuple(faults))
    try:
        found = _designed(own, aim, sure)
    except InputError as error:
        return Answer("A field needs a look.", faults=(*faults, ("container", str(error))))
    except FormulateError as error:
        return Answer("No answer that can be vouched for was found.", why=(str(error),))
    return replace(found, faults=tuple(faults), whom=aim.bands(pantry).title)


def _designed(pantry: Pantry, aim: Aim, sure: bool) -> Answer:
    bands = aim.bands(pantry)
    volume, wishes = aim.volume(pantry), aim.wishes(pantry)
    found = make_batch(pantry, bands, volume, wishes)
    note = ""
    if isinstance(found, NotSure):
        note = "With these foods no mix keeps clear of every limit, so this is the cheapest."
        aim = replace(aim, sure=False)
        found = make_batch(pantry, bands, volume, aim.wishes(pantry))
    if isinstance(found, Batch):
        return _batch(found, pantry, aim, note, sure=sure)
    if isinstance(found, NoKitchenMix):
        return _no_batch(found, pantry, aim, sure)
    assert isinstance(found, NoMix)  # nothing was asked to be sure
    return _no_mix(found, pantry, sure)


def _batch(found: Batch, pantry: Pantry, aim: Aim, note: str = "", *, sure: bool) -> Answer:
    kitchen = found.kitchen_mix
    mix = kitchen.mix
    notes = [note] if note else []
    if not kitchen.complete:
        notes.append(
            "The search was ended early: a cheaper mix may be found, by "
            f"{100 * kitchen.gap:.1f} % at most."
        )
    steps = []
    if found.plan is not None:
        steps = [(step.do, say.volume_words(step.level)) for step in found.plan.steps]
        notes.append(
            f"It then holds {say.volume_words(found.plan.final_volume)}, with "
            f"{say.volume_words(found.plan.room)} of room to shake it."
        )
    for left in kitchen.leftovers if found.plan is None else ():
        notes.append(
            f"{counted(left.packages, left.package)} of "
            f"{left.food.replace('-', ' ')} opened, {left.grams:,.0f} g left."
        )
    for keep in () if found.plan is None else found.plan.keep:
        days = "" if keep.days is None else f", use within {counted(keep.days, 'day')}"
        what = keep.what if keep.food == "mix" else f"{keep.food.replace('-', ' ')} {keep.what}"
        notes.append(f"{what[:1].upper()}{what[1:]}: covered and chilled{days}.")
    lines = _measured(kitchen, pantry.kitchen)
    shown = _shown(mix, lines, tuple(notes), tuple(steps), sure=sure)
    status = f"{shown.per_litre} a litre." if shown.per_litre else "Here is the mix."
    return Answer(
        f"The mix: {listed([f'{x.measure} {x.food}' for x in shown.lines])}. {status}",
        shown,
        "The cheapest mix that keeps clear of limits" if aim.sure else "The cheapest mix",
        tries=_tries(kitchen, pantry, aim),
        recipe=recipe_text(kitchen, pantry),
    )


def _tries(found: KitchenMix, pantry: Pantry, aim: Aim) -> tuple[Try, ...]:
    used = int(np.count_nonzero(found.counts))
    tries = [Try("sure", "Make it surer", "A little dearer; it keeps clear of the limits.")]
    if aim.sure:
        tries = [Try("not-sure", "Go back to the cheapest")]
    if used > 1:
        tries.append(Try(f"most:{used - 1}", f"Try with {counted(used - 1, 'food')} at most"))
    if aim.most:
        tries.append(Try("most:", "Use as many foods as it likes"))
    spare = [item for item in pantry.items if not item.in_mix and item.food.suitable]
    tries += [Try(f"with:{i.food.id}", f"Try it with {food_words(i.food)}") for i in spare]
    return tuple(tries[:MOST_TRIES])


def _no_mix(found: NoMix, pantry: Pantry, sure: bool) -> Answer:
    from formulate.report.reasons import helpers, why_not

    additions = would_help(found, pantry)
    helped = helpers(additions, pantry.currency)
    tries = []
    for row in helped.rows[:MOST_TRIES]:
        names = listed([str(food).replace("-", " ") for food in row["foods"]])
        shares = listed([say.share_words(share) for share in row["shares"]])
        cost = cost_words(row["cost_per_litre"], pantry.currency)
        priced = f"{cost} a litre" if cost else "you will be asked for its price"
        asks = any(pantry.item(food) is None for food in row["foods"])
        note = f"{shares} of the mix; {priced}"
        tries.append(Try("with:" + ",".join(row["foods"]), f"Add {names}", note, asks))
    why = why_not(found, most=2).sentences
    if not tries:
        why = (*why, *helped.sentences)
    if found.nearest is None:
        why = (*why, "No mix at all keeps the safety limits and what is on hand.")
        return Answer("These foods cannot make it.", why=why, tries=tuple(tries))
    shown = _shown(found.nearest, _weighed(found.nearest), sure=sure)
    title = "The nearest these foods come, by weight"
    return Answer("These foods cannot make it.", shown, title, why=why, tries=tuple(tries))


def _no_batch(found: NoKitchenMix, pantry: Pantry, aim: Aim, sure: bool) -> Answer:
    least, most = say.volume_words(found.least_volume), say.volume_words(found.most_volume)
    why = [f"No whole cups and spoons make {least} to {most} of it."]
    if found.too_coarse:
        names = listed([food.replace("-", " ") for food in found.too_coarse])
        why.append(f"Too coarse for so small a batch: {names}.")
    if found.nearest is None:
        return Answer(why[0], why=tuple(why))
    near = _batch(Batch(found.nearest, found.problem), pantry, aim, sure=sure)
    return replace(near, status=why[0], why=tuple(why), title="The nearest amount that works")


def checked(text: str, aim: Aim, pantry: Pantry) -> Answer:
    """Read a recipe of a person's own."""
    from formulate.report.text import answer_line

    bands = aim.bands(pantry)
    recipe = pantry.recipes.get(text.strip()) or parse_recipe(text, pantry.table, pantry.kitchen)
    mix = check(recipe, bands, pantry)
    lines = [
        Line(str(amount), food_words(food), f"{grams:,.0f} g", "")
        for amount, food, grams in zip(recipe.amounts, recipe.foods, recipe.grams, strict=True)
    ]
    line = answer_line(mix).replace(f" of {bands.name}", "")
    return Answer(line, _shown(mix, lines), "Your recipe", bands.title)


def _measured(found: KitchenMix, kitchen: Kitchen) -> list[Line]:
    mix = found.mix
    lines = []
    for measured in found.measures(kitchen):
        j = mix.shelf.ids.index(measured.food)
        cost = cost_words(float(mix.costs[j]), mix.shelf.currency)
        food = food_words(mix.shelf.foods[j])
        lines.append(Line(measured.words, food, f"{measured.grams:,.0f} g", cost))
    return lines


def _weighed(mix: Mix) -> list[Line]:
    return [
        Line(
            f"{mix.grams[j]:,.0f} g",
            food_words(mix.shelf.foods[j]),
            "",
            cost_words(float(mix.costs[j]), mix.shelf.currency),
        )
        for j in np.flatnonzero(mix.grams > 0)
    ]


def _shown(
    mix: Mix,
    lines: Iterable[Line],
    notes: Sequence[str] = (),
    steps: tuple[tuple[str, str], ...] = (),
    *,
    sure: bool = True,
) -> Shown:
    likely, how_sure = _sureness(mix) if sure else ((None,) * len(mix.reads), "")
    by_role: dict[Role, list[ShownRead]] = {role: [] for role in Role}
    for read, ends in zip(mix.reads, likely, strict=True):
        by_role[read.band.role].append(
            ShownRead(
                read.band.label,
                "?" if read.value is None else say.number(read.value),
                say.unit_words(read.band),
                say.range_words(read.band),
                read_standing(read),
                Markup() if read.standing is None else read_picture(read, ends),
                read in mix.misses,
                "" if ends is None else f"{say.number(ends[0])} to {say.number(ends[1])}",
                _source(read.band.source),
            )
        )
    told = [(caution, _source(caution.source)) for caution in cautions_for(mix)]
    fermented = [
        food_words(food)
        for food, grams in zip(mix.shelf.foods, mix.grams, strict=True)
        if grams > 0 and food.kind in FERMENTED_KINDS
    ]
    more = []
    if fermented:
        more.append(f"In {listed(fermented)}, part of what counts as milk sugar is milk acid.")
    cost = mix.cost if mix.shelf.currency else None
    return Shown(
        tuple(lines),
        f"{say.volume_words(mix.volume)}, {mix.weight / 1e3:,.2f} kg",
        cost_words(cost, mix.shelf.currency),
        "" if cost is None else cost_words(mix.cost_per_litre, mix.shelf.currency),
        tuple(by_role[Role.DEMANDED]),
        tuple(by_role[Role.SAFETY]),
        tuple(by_role[Role.SHOWN]),
        how_sure,
        tuple((c, s) for c, s in told if c.shown),
        tuple((c, s) for c, s in told if not c.shown),
        steps,
        (*notes, *more),
    )


def _sureness(mix: Mix) -> tuple[tuple[tuple[float, float] | None, ...], str]:
    """What 19 of 20 batches read, read by read, and how sure the whole is."""
    from formulate.blend.protect.confidence import Way, how_sure

    found = how_sure(mix, way=Way.NORMAL)
    likely = tuple(
        None if one.low95 is None or one.high95 is None else (one.low95, one.high95)
        for one in found.reads
    )
    return likely, sure_words(found.chance_all_inside)


def _source(key: str) -> str:
    found = sources().get(key)
    return key if found is None else str(found)


def recipe_text(found: KitchenMix, pantry: Pantry) -> str:
    """The mix as recipe text that reads back to the same weights."""
    parts = []
    for step, count, food, grams in zip(
        found.steps, found.counts, found.mix.shelf.foods, found.mix.grams, strict=True
    ):
        if count == 0:
            continue
        part = f"{int(count) * step.size:g} {step.unit} {food.id}"
        try:
            same = math.isclose(
                parse_recipe(part, pantry.table, pantry.kitchen).grams[0], grams, rel_tol=1e-6
            )
        except InputError:
            same = False
        parts.append(part if same else f"{grams:.6g} g {food.id}")
    return " + ".join(parts)
