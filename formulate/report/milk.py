"""A mix in words and as JSON: verdict, ingredients, values, how sure, and what to watch for.

`milk_words` says everything once; a door sets it out: as lines of text here, as a page elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from formulate.answers.cautions import Caution
from formulate.answers.judged import JudgedMix
from formulate.answers.verdict import Judgement
from formulate.base.messages import listed, say
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix, Status
from formulate.blend.protect.confidence import ReadConfidence
from formulate.blend.whole.kitchen_mix import KitchenMix, Leftover
from formulate.blend.whole.steps import counted_words
from formulate.foods.bands import Read, Role
from formulate.foods.food import FERMENTED_KINDS, Food
from formulate.foods.tables import sources, storage_days
from formulate.pantry.pantry import Pantry
from formulate.report import words as tell
from formulate.report.confidence_words import (
    chance_words,
    confidence_lines,
    likely_words,
    with_confidence,
)
from formulate.report.shapes import mix_shape
from formulate.report.verdict_words import verdict_lines

if TYPE_CHECKING:
    from formulate.kitchen.jug import JugPlan, Keep

__all__ = [
    "AmountWords",
    "CautionWords",
    "How",
    "MilkWords",
    "ReadWords",
    "milk_lines",
    "milk_shape",
    "milk_words",
    "no_how",
    "source_words",
]

Shape = dict[str, Any]
#: How a door does something, by a name and values: a sentence, or "" where it cannot.
How = Callable[..., str]


def no_how(topic: str, **values: object) -> str:
    """What a door says that has no way of its own."""
    return ""


@dataclass(frozen=True)
class AmountWords:
    """One food of a mix.

    Parameters
    ----------
    food : str
    measure : str
        What hands take; empty if it is weighed.
    weight : str
    volume : str
        What a kitchen measure shows; empty if that is not known.
    cost : str
        Empty where no price is known.
    """

    food: str
    measure: str
    weight: str
    volume: str
    cost: str


@dataclass(frozen=True)
class ReadWords:
    """One read of a mix.

    Parameters
    ----------
    label, value, unit, range : str
    standing, sign : str
        What to make of it, in words, and as a sign that needs no colour.
    track : str
        Drawn in plain letters.
    likely : str
        Between what 19 batches in 20 lie; empty if that is not known.
    chance : str
        That a batch is in range; empty without a range.
    source : str
        Where the range comes from.
    outside : bool
        Of a range that matters.
    read : Read
    sure : ReadConfidence or None
    """

    label: str
    value: str
    unit: str
    range: str
    standing: str
    sign: str
    track: str
    likely: str
    chance: str
    source: str
    outside: bool
    read: Read
    sure: ReadConfidence | None

    @property
    def role(self) -> Role:
        """Demanded, safety or shown."""
        return self.read.band.role


@dataclass(frozen=True)
class CautionWords:
    """A caution with its source.

    Parameters
    ----------
    text, source : str
    shown : bool
        Told with every mix it applies to; else only on request.
    """

    text: str
    source: str
    shown: bool


@dataclass(frozen=True)
class MilkWords:
    """Everything said of a mix.

    Parameters
    ----------
    judgement : Judgement
    amounts : tuple of AmountWords
    makes : str
        Its size, and what it costs.
    size, cost, per_litre : str
        The same in parts; the costs empty if a price is missing.
    rounding : tuple of str
        What whole measures cost, and what is too coarse.
    search : str
        How far an unfinished search got; empty if it was finished.
    leftovers : tuple of str
        Of cans that are opened.
    container : str
        What it is mixed in; empty if it is nothing in particular.
    steps : tuple of (str, str)
        What to do there, and the level after it.
    room : str
        How full it is then.
    keeps : tuple of str
        What is kept, and how long.
    reads : tuple of ReadWords
    culture : str
        What a cultured food's milk sugar really is; empty without one.
    cautions : tuple of CautionWords
    """

    judgement: Judgement
    amounts: tuple[AmountWords, ...]
    makes: str
    size: str
    cost: str
    per_litre: str
    rounding: tuple[str, ...]
    search: str
    leftovers: tuple[str, ...]
    container: str
    steps: tuple[tuple[str, str], ...]
    room: str
    keeps: tuple[str, ...]
    reads: tuple[ReadWords, ...]
    culture: str
    cautions: tuple[CautionWords, ...]

    def in_role(self, role: Role | str) -> tuple[ReadWords, ...]:
        """The reads of one role."""
        return tuple(read for read in self.reads if read.role == role)


def milk_words(
    milk: JudgedMix, kitchen: Kitchen, name: Callable[[Food], str] = lambda food: food.id
) -> MilkWords:
    """Say everything of a mix.

    Parameters
    ----------
    milk : JudgedMix
    kitchen : Kitchen
        Whose cups and spoons.
    name : callable
        How a food is called.
    """
    mix, batch = milk.mix, milk.batch
    names = {food.id: name(food) for food in mix.shelf.foods}
    found = None if batch is None else batch.kitchen_mix
    plan = None if batch is None else batch.plan
    currency = mix.shelf.currency
    cost = mix.cost
    return MilkWords(
        milk.judgement,
        _amounts(mix, names, found, kitchen),
        makes_words(mix),
        f"{tell.volume_words(mix.volume)}, {mix.weight / 1e3:,.2f} kg",
        tell.cost_words(cost, currency),
        tell.cost_words(mix.cost_per_litre, currency),
        () if found is None else tuple(_rounding(found, names)),
        _search(found),
        tuple(_leftover(left, found, names, kitchen) for left in found.leftovers)
        if found is not None and plan is None
        else (),
        "" if plan is None else plan.container.words,
        () if plan is None else tuple((s.do, tell.volume_words(s.level)) for s in plan.steps),
        "" if plan is None else _room(plan),
        () if plan is None else tuple(keep_words(keep, names) for keep in plan.keep),
        tuple(_reads(milk)),
        _culture(mix, names),
        tuple(caution_words(caution) for caution in milk.judgement.cautions),
    )


def _amounts(
    mix: Mix, names: dict[str, str], found: KitchenMix | None, kitchen: Kitchen
) -> tuple[AmountWords, ...]:
    """The recipe, food by food."""
    measured = {} if found is None else {m.food: m.words for m in found.measures(kitchen)}
    rows = []
    for j in np.flatnonzero(mix.grams > 0):
        food, grams = mix.shelf.foods[j], float(mix.grams[j])
        volume = food.kitchen_volume(grams)
        rows.append(
            AmountWords(
                names[food.id],
                measured.get(food.id, ""),
                f"{grams:,.1f} g" if grams < 100 and found is None else f"{grams:,.0f} g",
                "" if volume is None else tell.volume_words(volume),
                tell.cost_words(float(mix.costs[j]), mix.shelf.currency),
            )
        )
    return tuple(rows)


def makes_words(mix: Mix) -> str:
    """Volume, weight, cost and cost of a litre, in a sentence."""
    size = {"volume": tell.volume_words(mix.volume), "weight": mix.weight / 1e3}
    priced = np.isfinite(mix.shelf.price).any()
    if mix.cost is None or mix.cost_per_litre is None:
        return say("mix.makes-no-cost", **size) if priced else say("mix.makes", **size)
    currency = mix.shelf.currency
    return say(
        "mix.makes-for",
        **size,
        money=tell.money(mix.cost, currency),
        per_litre=tell.money(mix.cost_per_litre, currency),
    )


def _rounding(found: KitchenMix, names: dict[str, str]) -> list[str]:
    """What whole measures cost."""
    lines = []
    cost = found.rounding_cost
    if cost is None or found.mix.status is Status.NEAREST:
        pass  # nobody has prices, or it is the nearest whatever it costs
    elif cost < 0.005:
        lines.append(say("mix.rounding-free"))
    else:
        lines.append(say("mix.rounding", money=tell.money(cost, found.mix.shelf.currency)))
    if found.too_coarse:
        coarse = listed([names[food] for food in found.too_coarse])
        lines.append(say("mix.too-coarse", foods=coarse))
    return lines


def _search(found: KitchenMix | None) -> str:
    if found is None or found.complete or found.mix.cost is None:
        return ""
    return say("mix.search-ended", gap=100 * found.gap)


def _leftover(left: Leftover, found: KitchenMix, names: dict[str, str], kitchen: Kitchen) -> str:
    kind = next(f.kind for f in found.mix.shelf.foods if f.id == left.food)
    days = storage_days().get(kind)
    opened = counted_words(left.packages, left.package, kitchen)
    what = {"opened": opened, "food": names[left.food], "grams": left.grams}
    if days is None:
        return say("mix.leftover", **what)
    return say("mix.leftover-keeps", **what, days=days.opened_days)


def _room(plan: JugPlan) -> str:
    return say(
        "mix.room",
        volume=tell.volume_words(plan.final_volume),
        room=tell.volume_words(plan.room),
    )


def keep_words(keep: Keep, names: dict[str, str]) -> str:
    """What is left over, and how long it keeps."""
    what = keep.what
    if keep.food != "mix":
        food = names.get(keep.food, keep.food)
        what = say("mix.of-food", food=food, what=what, grams=keep.grams)
    if keep.days is None:
        return say("mix.keep-noted", what=what, note=keep.note)
    return say("mix.keep", what=what, days=keep.days)


def _reads(milk: JudgedMix) -> list[ReadWords]:
    """Every read with its range, its standing and how sure it is."""
    told = []
    sure_reads = [None] * len(milk.mix.reads) if milk.confidence is None else milk.confidence.reads
    misses = milk.mix.misses
    for read, sure in zip(milk.mix.reads, sure_reads, strict=True):
        label, value, unit, range_, track, standing = tell.read_words(read)
        told.append(
            ReadWords(
                label,
                value,
                unit,
                range_,
                standing,
                tell.sign(read),
                track,
                likely_words(sure),
                ""
                if sure is None or sure.chance_inside is None
                else chance_words(sure.chance_inside),
                source_words(read.band.source),
                read in misses,
                read,
                sure,
            )
        )
    return told


def _culture(mix: Mix, names: dict[str, str]) -> str:
    cultured = [
        names[food.id]
        for food, grams in zip(mix.shelf.foods, mix.grams, strict=True)
        if grams > 0 and food.kind in FERMENTED_KINDS
    ]
    return say("mix.culture", foods=listed(cultured)) if cultured else ""


def caution_words(caution: Caution) -> CautionWords:
    """A caution with its source in full."""
    return CautionWords(caution.text, source_words(caution.source), caution.shown)


def source_words(key: str) -> str:
    """A source in full; its key where there is no such source."""
    source = sources().get(key)
    return key if source is None else str(source)


# --- as lines of text --------------------------------------------------------------------------


def milk_lines(
    milk: JudgedMix,
    kitchen: Kitchen,
    title: str,
    *,
    how: How = no_how,
    all_cautions: bool = False,
    notes: Sequence[str] = (),
    verdict: bool = True,
) -> list[str]:
    """A mix in full, as lines of text.

    Parameters
    ----------
    milk : JudgedMix
    kitchen : Kitchen
    title : str
    how : callable
        What the door adds: "more-time", "more-cautions".
    all_cautions : bool
        Tell every caution, each with its source.
    notes : sequence of str
        What else to say of its price.
    verdict : bool
        Begin with the verdict; False if it was told before.
    """
    words = milk_words(milk, kitchen)
    lines = [*verdict_lines(milk.judgement), ""] if verdict else []
    lines += [f"{title}:", *_amount_lines(words), "", words.makes]
    lines += words.rounding
    if words.search:
        lines.append(f"{words.search} {how('more-time')}".rstrip())
    lines += [tell.bullet(note, "") for note in (*notes, *words.leftovers)]
    if words.container:
        lines += ["", say("mix.in-container", container=words.container)]
        for number, (do, level) in enumerate(words.steps, 1):
            lines.append(tell.bullet(say("mix.level", do=do, level=level), f"  {number}. "))
        lines.append(f"  {words.room}")
        lines += [tell.bullet(keep) for keep in words.keeps]
    lines += ["", *read_lines(words.reads)]
    if words.culture:
        lines.append(tell.bullet(words.culture, "  "))
    if milk.confidence is not None:
        lines += ["", *confidence_lines(milk.confidence)]
    lines += ["", *caution_lines(words.cautions, how=how, everything=all_cautions)]
    return lines


def _amount_lines(words: MilkWords) -> list[str]:
    if any(row.measure for row in words.amounts):
        rows = [(row.measure, row.food, row.weight, row.cost) for row in words.amounts]
        return tell.table(rows, right=(2, 3))
    rows = [(row.food, row.weight, row.volume, row.cost) for row in words.amounts]
    return tell.table(rows, right=(1, 2, 3))


def read_lines(reads: Sequence[ReadWords]) -> list[str]:
    """Every read against its range: demanded first, then safety, then the rest."""
    table = [(r.label, r.value, r.unit, r.range, r.track, r.standing) for r in reads]
    lines = tell.table(table, right=(1,))
    grouped: list[str] = []
    for role in (Role.DEMANDED, Role.SAFETY, Role.SHOWN):
        chosen = [line for line, read in zip(lines, reads, strict=True) if read.role is role]
        if chosen:
            grouped += [say(f"mix.reads.{role.value}"), *chosen]
    return grouped


def caution_lines(
    cautions: Sequence[CautionWords], *, how: How = no_how, everything: bool = False
) -> list[str]:
    """The cautions that matter for this mix; the rest on request."""
    lines = [say("mix.care")]
    for caution in cautions:
        if everything:
            lines.append(tell.bullet(f"{caution.text} [{caution.source}]"))
        elif caution.shown:
            lines.append(tell.bullet(caution.text))
    more = sum(not caution.shown for caution in cautions)
    if more and not everything and (told := how("more-cautions", count=more)):
        lines.append(f"  ({told})")
    return lines


# --- as JSON -----------------------------------------------------------------------------------


def milk_shape(milk: JudgedMix, kitchen: Kitchen, pantry: Pantry | None = None) -> Shape:
    """A mix as JSON: its measures and container too, where it has them."""
    shape = mix_shape(milk.mix, kitchen.value, pantry, milk.judgement)
    if milk.confidence is not None:
        shape = with_confidence(shape, milk.confidence)
    if milk.batch is None:
        return shape
    found, plan = milk.batch.kitchen_mix, milk.batch.plan
    exact = found.exact.certificate
    if exact is not None:
        shape["certificate"] = {"primal": exact.primal, "dual": exact.dual, "gap": exact.gap}
    shape |= {
        "measures": [
            {"food": m.food, "count": m.count, "measure": _step_words(found, m.food),
             "words": m.words, "grams": m.grams}
            for m in found.measures(kitchen)
        ],
        "rounding_cost": found.rounding_cost,
        "exact_cost_per_litre": found.exact.cost_per_litre,
        "search": {"complete": found.complete, "gap": found.gap},
        "leftovers": [
            {"food": x.food, "package": x.package, "opened": x.packages, "grams": x.grams}
            for x in found.leftovers
        ],
    }  # fmt: skip
    if found.change is not None:
        shape["changed_measures"] = found.change
    if plan is not None:
        shape["container"] = plan_shape(plan)
    return shape


def _step_words(found: KitchenMix, food: str) -> str:
    step = found.steps[found.mix.shelf.ids.index(food)]
    return f"{step.size:g} {step.unit}" if step.size != 1 else step.unit


def plan_shape(plan: JugPlan) -> Shape:
    """A plan for a container as JSON."""
    return {
        "words": plan.container.words,
        "volume_ml": plan.container.volume,
        "final_volume_ml": plan.final_volume,
        "room_ml": plan.room,
        "steps": [
            {
                "do": step.do,
                "food": step.food,
                "measure": step.words,
                "grams": step.grams,
                "level_ml": step.level,
                "source": step.source,
            }
            for step in plan.steps
        ],
        "keep": [
            {
                "food": keep.food,
                "what": keep.what,
                "grams": keep.grams,
                "days": keep.days,
                "source": keep.source,
            }
            for keep in plan.keep
        ],
    }
