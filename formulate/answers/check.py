"""Check whether a recipe is right: one question, and one whole answer for every door."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from formulate.answers.judged import JudgedMix, judged
from formulate.answers.verdict import Judgement, Reason, Verdict, judge
from formulate.base.errors import InputError, NotForLambs
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix, Status
from formulate.blend.problem import Shelf
from formulate.foods.bands import BandSet, Read, read_all
from formulate.foods.national import country_foods
from formulate.foods.tables import band_set, table_composition
from formulate.instruments import parse_readings
from formulate.instruments.diagnosis import Explained, find_slips
from formulate.pantry import reading
from formulate.pantry.pantry import Pantry, recipe_named
from formulate.pantry.recipe import Recipe, parse_parts

__all__ = ["CheckAnswer", "Without", "check"]

#: What is left when a food is taken out is still a milk where it is this much of the weight
#: (judgement).
_STILL_A_MILK = 0.5


@dataclass(frozen=True, slots=True)
class Without:
    """What a recipe would be without one of its foods.

    Parameters
    ----------
    food : str
    verdict : Verdict
        Of the rest; it may be fed.
    """

    food: str
    verdict: Verdict


@dataclass(frozen=True)
class CheckAnswer(Renderable):
    """A recipe: judged, costed, and compared with what instruments read.

    Parameters
    ----------
    asked : str
        The recipe, as it was typed or is named.
    bands : BandSet
        The reference it was compared with.
    kitchen : Kitchen
        Whose cups and spoons were read.
    pantry : Pantry or None
        Where prices were found.
    judgement : Judgement
        Shown before anything else.
    recipe : Recipe or None
    milk : JudgedMix or None
        Both None if something in it must not be fed and no table has its composition.
    held : Explained or None
        The instruments' readings compared with the recipe; None without readings.
    without : tuple of Without
        Foods that alone keep it from being fed: what the rest would be.
    """

    asked: str
    bands: BandSet
    kitchen: Kitchen
    pantry: Pantry | None
    judgement: Judgement
    recipe: Recipe | None = None
    milk: JudgedMix | None = None
    held: Explained | None = None
    without: tuple[Without, ...] = ()

    def __repr__(self) -> str:
        milk = "" if self.milk is None else repr(self.milk.mix)
        return brief(self, str(self.judgement.verdict), milk or self.asked)

    def __getitem__(self, key: str | tuple[str, str]) -> Read:
        """One read of the milk, by its measure, as of a `Mix`.

        Raises
        ------
        InputError
            If something in it must not be fed and has no composition.
        UnknownName
            If it is not read.
        """
        if self.milk is None:
            raise InputError(say("library.no-composition"))
        return self.milk.mix[key]

    @property
    def verdict(self) -> Verdict:
        """On the recipe."""
        return self.judgement.verdict

    @property
    def yes(self) -> bool:
        """Whether it is inside, and the instruments agree."""
        agrees = self.held is None or self.held.agrees
        return self.judgement.verdict is Verdict.INSIDE and agrees


def check(
    recipe: Recipe | str,
    pantry: Pantry | None = None,
    reference: BandSet | str = "lamb-replacer",
    *,
    kitchen: Kitchen = Kitchen.US,
    readings: Mapping[str, str | None] | None = None,
) -> CheckAnswer:
    """Read a recipe, judge it, and compare it with what instruments read.

    Parameters
    ----------
    recipe : Recipe or str
        A recipe's name in the pantry, or "2 quarts whole-milk + 1 can evaporated-milk".
    pantry : Pantry, optional
        Prices, foods and recipes of one's own.
    reference : BandSet or str
        The reference to compare it with.
    kitchen : Kitchen
        Whose cups and spoons a typed recipe means.
    readings : mapping of str to str, optional
        What instruments read, as `parse_readings` takes it; None for those not used.

    Raises
    ------
    InputError
        If the recipe, the reference or a reading cannot be read.
    """
    bands = (
        band_set(reference, None if pantry is None else pantry.own_bands)
        if isinstance(reference, str)
        else reference
    )
    if isinstance(recipe, Recipe):
        read = recipe
    else:
        try:
            read = recipe_named(recipe, pantry, kitchen)
        except NotForLambs:
            return _unfit(recipe, bands, kitchen, pantry)
    typed = {name: text for name, text in (readings or {}).items() if text is not None}
    held = find_slips(read, parse_readings(read.kitchen, **typed)) if typed else None
    milk = judged(reading.check(read, bands, pantry))
    return CheckAnswer(
        read.name,
        bands,
        read.kitchen,
        pantry,
        milk.judgement,
        read,
        milk,
        held,
        () if milk.judgement.may_be_fed else _without(milk.mix),
    )


def _unfit(recipe: str, bands: BandSet, kitchen: Kitchen, pantry: Pantry | None) -> CheckAnswer:
    """A recipe with something in it that must not be fed; the rest is judged too."""
    table = country_foods() if pantry is None else pantry.table
    named = table.unfit(recipe)
    if named is not None:
        rest = None
        reasons = [Reason(named.id, Verdict(named.verdict), named.text, named.source, named.status)]
    else:
        rest, errors = parse_parts(recipe, table, kitchen)
        reasons = [
            Reason(e.unfit_id, Verdict(e.verdict), f"{e.name}: {e.reason}", e.source, e.status)
            for e in errors
        ]
    if rest is not None:
        # Without the other food, what a milk lacks is not known; what it already contains is.
        judgement = judge(reading.check(rest, bands, pantry))
        reasons += [one for one in judgement.reasons if one.verdict is Verdict.NEVER]
    reasons.sort(key=lambda one: one.verdict.rank)
    judgement = Judgement(reasons[0].verdict, tuple(reasons), species=bands.species)
    return CheckAnswer(" ".join(recipe.split()), bands, kitchen, pantry, judgement)


def _without(mix: Mix) -> tuple[Without, ...]:
    """Foods without which the rest could be fed, the best rest first."""
    found = []
    used = np.flatnonzero(mix.grams > 0)
    for out in used:
        keep = [j for j in used if j != out]
        weight = float(mix.grams[keep].sum())
        if weight < _STILL_A_MILK * mix.weight:
            continue
        shelf = Shelf(tuple(mix.shelf.foods[j] for j in keep), largest_share=np.ones(len(keep)))
        grams = mix.grams[keep]
        reads = read_all(mix.bands, shelf.composition, grams, table_composition())
        judgement = judge(Mix(Status.CHECKED, shelf, mix.bands, grams, reads))
        if judgement.may_be_fed:
            found.append(Without(mix.shelf.foods[out].id, judgement.verdict))
    return tuple(sorted(found, key=lambda one: -one.verdict.rank))
