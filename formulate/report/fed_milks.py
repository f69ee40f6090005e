"""The milks of a flock, who drinks each, and the verdict on it: what is told before all else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from formulate.answers.milks import FedMilk
from formulate.base.messages import listed, say
from formulate.rearing.flock import Permission
from formulate.report.verdict_words import headline, verdict_shape
from formulate.report.words import bullet, paragraph

__all__ = ["animal_words", "fed_milk_lines", "fed_milk_shape"]

Shape = dict[str, Any]
#: More animals than this are counted.
_NAMED = 8


def fed_milk_lines(milks: Sequence[FedMilk], offered: Sequence[FedMilk] = ()) -> list[str]:
    """Each milk with its verdict and reasons, the worst first.

    Parameters
    ----------
    milks : sequence of FedMilk
        What the animals drink now.
    offered : sequence of FedMilk
        What else may be mixed for them.
    """
    lines = []
    for milk in sorted(milks, key=lambda milk: milk.verdict.rank):
        lines += _lines("shop.milks.line", milk)
        if not milk.may_be_fed:
            lines.append(bullet(say("shop.milks.refused")))
        elif milk.before is not None and milk.blends:
            lines += _lines("shop.milks.before", milk.before)
    for milk in sorted(offered, key=lambda milk: milk.verdict.rank):
        lines += _lines("shop.milks.offered", milk)
    return lines


def _lines(message: str, milk: FedMilk) -> list[str]:
    values = {"milk": milk.name, "verdict": headline(milk.verdict)}
    if milk.animals:
        told = say(message, animals=animal_words(milk.animals), **values)
    else:
        told = say("shop.milks.line-alone", **values)
    lines = [paragraph(told)]
    lines += [bullet(reason.text) for reason in milk.judgement.reasons]
    if milk.permission is not None:
        lines.append(bullet(_word(milk.permission)))
    return lines


def animal_words(names: Sequence[str]) -> str:
    """Who it is: by name, or how many where they are many."""
    return say("shop.milks.many", count=len(names)) if len(names) > _NAMED else listed(names)


def _word(word: Permission) -> str:
    return say(
        "shop.milks.word", veterinarian=word.name, day=word.on, allows=word.allows.rstrip(".")
    )


def fed_milk_shape(milk: FedMilk) -> Shape:
    """A milk, who drinks it, and what is judged of it."""
    word = milk.permission
    return {
        "name": milk.name,
        "species": str(milk.species),
        "animals": list(milk.animals),
        "may_be_fed": milk.may_be_fed,
        **verdict_shape(milk.judgement),
        "veterinarian": None
        if word is None
        else {"name": word.name, "on": word.on, "allows": word.allows},
        "before": None if milk.before is None else fed_milk_shape(milk.before),
        "energy_mj_per_litre": milk.milk.energy,
        "solids_percent": milk.milk.solids,
        "solids_g_per_litre": milk.milk.solids_per_litre,
        "protein_percent_of_dry_matter": milk.milk.protein,
    }
