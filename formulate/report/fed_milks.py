"""The milks of a flock, who drinks each, and its verdict: these come before all else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from formulate.answers.milks import FedMilk, fed_now, worst
from formulate.answers.verdict import Judgement, Verdict
from formulate.base.messages import listed, say
from formulate.rearing.flock import Permission
from formulate.rearing.milk import Milk
from formulate.report.verdict_words import headline, verdict_shape
from formulate.report.words import bullet, paragraph

__all__ = [
    "MilkTold",
    "animal_words",
    "fed_milk_lines",
    "fed_milk_shape",
    "fed_verdict_shape",
    "milk_shape",
    "milks_told",
    "milks_told_lines",
]

Shape = dict[str, Any]
#: More animals than this are counted.
_NAMED = 8


@dataclass(frozen=True, slots=True)
class MilkTold:
    """Milks of which the same is said.

    Parameters
    ----------
    verdict : Verdict
    headline : str
        The verdict in one sentence.
    who : str
        Which milks, and who drinks them.
    reasons : tuple of str
        In order of weight.
    """

    verdict: Verdict
    headline: str
    who: str
    reasons: tuple[str, ...]


def milks_told(milks: Sequence[FedMilk], most: int | None = None) -> list[MilkTold]:
    """The verdict on each milk that is fed now, the worst first, with who drinks it and why.

    Parameters
    ----------
    milks : sequence of FedMilk
    most : int, optional
        How many reasons to give for one milk; by default all.
    """
    said: dict[tuple[Verdict, tuple[str, ...]], dict[tuple[str, ...], list[str]]] = {}
    for milk in sorted(fed_now(milks), key=lambda milk: milk.verdict.rank):
        inside = milk.verdict is Verdict.INSIDE
        reasons = () if inside else tuple(r.text for r in milk.judgement.reasons[:most])
        by_animals = said.setdefault((milk.verdict, reasons), {})
        for animals, names in by_animals.items():
            if names == [milk.name]:  # lambs and kids on one milk
                by_animals[(*animals, *milk.animals)] = by_animals.pop(animals)
                break
        else:
            by_animals.setdefault(milk.animals, []).append(milk.name)
    return [
        MilkTold(
            verdict,
            headline(verdict),
            " ".join(_whose(names, animals) for animals, names in by_animals.items()),
            reasons,
        )
        for (verdict, reasons), by_animals in said.items()
    ]


def fed_verdict_shape(milks: Sequence[FedMilk]) -> Shape:
    """The worst verdict of what is fed now, with every reason once."""
    reasons = [reason for milk in fed_now(milks) for reason in milk.judgement.reasons]
    reasons.sort(key=lambda reason: reason.verdict.rank)
    return verdict_shape(Judgement(worst(milks), tuple(dict.fromkeys(reasons))))


def _whose(names: Sequence[str], animals: Sequence[str]) -> str:
    if not animals:
        return say("today.screen.nobodys", milk=listed(names))
    return say("today.screen.whose", milk=listed(names), animals=animal_words(animals))


def milks_told_lines(milks: Sequence[FedMilk], most: int | None = None) -> list[str]:
    """The verdict on each milk as lines of text, with so many reasons each."""
    lines = []
    for told in milks_told(milks, most):
        lines.append(paragraph(f"{told.headline} {told.who}"))
        lines += [bullet(reason) for reason in told.reasons]
    return lines


def fed_milk_lines(milks: Sequence[FedMilk], offered: Sequence[FedMilk] = ()) -> list[str]:
    """The verdict on each milk, and what follows from it for mixing and shopping.

    Parameters
    ----------
    milks : sequence of FedMilk
        What the animals drink now.
    offered : sequence of FedMilk
        What else is mixed for them.
    """
    lines = milks_told_lines((*milks, *offered))
    refused = [milk.name for milk in milks if not milk.may_be_fed]
    if refused:
        lines.append(
            paragraph(say("shop.milks.refused", milks=listed(list(dict.fromkeys(refused)))))
        )
    words = {milk.permission: None for milk in fed_now(milks) if milk.permission is not None}
    return lines + [paragraph(_word(word)) for word in words]


def animal_words(names: Sequence[str]) -> str:
    """Who it is: by name, or how many where they are many."""
    return say("shop.milks.many", count=len(names)) if len(names) > _NAMED else listed(names)


def _word(word: Permission) -> str:
    allows = word.allows.rstrip(".")
    return say("shop.milks.word", veterinarian=word.name, day=word.on, allows=allows)


def milk_shape(milk: Milk) -> Shape:
    """A milk's strength."""
    return {
        "name": milk.name,
        "energy_mj_per_litre": milk.energy,
        "solids_percent": milk.solids,
        "solids_g_per_litre": milk.solids_per_litre,
        "protein_percent_of_dry_matter": milk.protein,
        "energy_less_sure_for": list(milk.beyond_equation),
    }


def fed_milk_shape(milk: FedMilk) -> Shape:
    """A milk, who drinks it, and what is judged of it."""
    word = milk.permission
    return {
        **milk_shape(milk.milk),
        "species": milk.species.value,
        "animals": list(milk.animals),
        "may_be_fed": milk.may_be_fed,
        **verdict_shape(milk.judgement),
        "veterinarian": None
        if word is None
        else {"name": word.name, "on": word.on, "allows": word.allows},
        "before": None if milk.before is None else fed_milk_shape(milk.before),
    }
