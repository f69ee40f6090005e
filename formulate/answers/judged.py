"""A mix with its judgement, and how sure its values are."""

from __future__ import annotations

import math
from dataclasses import dataclass

from formulate.answers.verdict import Judgement, judge
from formulate.base.errors import InputError
from formulate.base.shown import brief_repr
from formulate.blend.mix import Mix
from formulate.blend.protect.confidence import Confidence, Way, confidence_of
from formulate.foods.bands import Read
from formulate.kitchen.batch import Batch
from formulate.pantry.pantry import Pantry
from formulate.pantry.recipe import parse_recipe

__all__ = ["JudgedMix", "judged"]


@brief_repr
@dataclass(frozen=True)
class JudgedMix:
    """A mix, judged.

    Parameters
    ----------
    mix : Mix
    judgement : Judgement
        Shown before anything else.
    confidence : Confidence or None
        How sure each read is; None if it was left for later.
    batch : Batch or None
        The mix in whole measures; None if it is weighed by the gram.
    """

    mix: Mix
    judgement: Judgement
    confidence: Confidence | None
    batch: Batch | None = None

    def __getitem__(self, key: str | tuple[str, str]) -> Read:
        """One read, by its measure, as of a `Mix`."""
        return self.mix[key]

    def recipe_text(self, pantry: Pantry) -> str:
        """The mix as recipe text that reads back to the same weights."""
        mix = self.mix
        if self.batch is None:
            return grams_text(mix)
        parts = []
        found = self.batch.kitchen_mix
        for measured in found.measures(pantry.kitchen):
            part = f"{measured.words} {measured.food}"
            same = _weighs(part, pantry, measured.grams)
            parts.append(part if same else f"{measured.grams:.6g} g {measured.food}")
        return " + ".join(parts)


def grams_text(mix: Mix) -> str:
    """A mix by the gram as recipe text."""
    used = zip(mix.shelf.ids, mix.grams, strict=True)
    return " + ".join(f"{grams:.6g} g {food}" for food, grams in used if grams > 0)


def _weighs(part: str, pantry: Pantry, grams: float) -> bool:
    """Whether a part of a recipe reads back to a weight [g]."""
    try:
        read = float(parse_recipe(part, pantry.table, pantry.kitchen).grams.sum())
    except InputError:
        return False
    return math.isclose(read, grams, rel_tol=1e-6)


def judged(made: Mix | Batch, *, confidence: bool = True) -> JudgedMix:
    """Judge a mix, and say how sure it is.

    Parameters
    ----------
    made : Mix or Batch
    confidence : bool
        Whether to say how sure it is.
    """
    batch = made if isinstance(made, Batch) else None
    mix = made.kitchen_mix.mix if isinstance(made, Batch) else made
    return JudgedMix(
        mix, judge(mix), confidence_of(mix, way=Way.NORMAL) if confidence else None, batch
    )
