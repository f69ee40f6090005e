"""Decide the verdict on every milk; nothing else decides it.

From worst to best: ``never`` (do not feed), ``vet`` (not without a veterinarian), ``unknown``
(something that matters cannot be read), ``outside`` (misses a range), ``inside``. A verdict
comes with its reasons in order of weight, and with the cautions that belong to the milk. Every
door shows it before anything else.

What is dangerous stands in ``nutrient_tables/cautions.toml``; beside it, a safety band that is
missed asks for a veterinarian, one that cannot be read is unknown, and a demanded band that is
missed is outside. A value that similar foods lent may ask for a veterinarian; it never says "do not
feed". Where only the strength is wrong, the judgement says how much water mends it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache

import numpy as np

from formulate.answers.cautions import Caution, milk_entries, told_of
from formulate.answers.facts import MilkFacts
from formulate.base.messages import listed, say
from formulate.base.shown import brief
from formulate.blend.mix import Mix, Status
from formulate.blend.problem import Shelf
from formulate.foods.bands import Basis, Read, Role, Standing, read_all
from formulate.foods.measures import DENSITY_WATER
from formulate.foods.tables import band_set, food_table, read_toml, table_composition

__all__ = ["Judgement", "Reason", "Thinning", "Verdict", "judge"]


class Verdict(StrEnum):
    """Whether a milk may be fed, from worst to best."""

    NEVER = "never"
    VET = "vet"
    UNKNOWN = "unknown"
    OUTSIDE = "outside"
    INSIDE = "inside"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return _RANKS[self]


_RANKS = {verdict: rank for rank, verdict in enumerate(Verdict)}


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for a verdict.

    Parameters
    ----------
    id : str
        Name in the data, or the measure that misses.
    verdict : Verdict
        What this reason alone would make of the milk.
    text : str
    source : str
        Key of the source list.
    status : str
        Whether its figure is the source's own or a judgement after it.
    foods : tuple of str
        Ids of the foods that it is about; empty if it is about the whole.
    """

    id: str
    verdict: Verdict
    text: str
    source: str
    status: str = "source"
    foods: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Thinning:
    """How much water brings a milk that is only too strong into range.

    Parameters
    ----------
    water : float
        Litres for each litre of the milk [L/L].
    solids : float
        What the thinned milk reads [g/100 g as fed].
    """

    water: float
    solids: float


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is said of a milk before anything else.

    Parameters
    ----------
    verdict : Verdict
        The worst of the reasons'; inside without any.
    reasons : tuple of Reason
        In order of weight.
    cautions : tuple of Caution
        What else to tell of it, in the order of telling.
    species : str
        Who is to drink it.
    thinning : Thinning or None
        Where nothing but its strength is wrong; the thinned milk was judged, and is inside.
    """

    verdict: Verdict
    reasons: tuple[Reason, ...] = ()
    cautions: tuple[Caution, ...] = ()
    species: str = ""
    thinning: Thinning | None = None

    def __repr__(self) -> str:
        reasons = ", ".join(reason.id for reason in self.reasons)
        return brief(self, str(self.verdict), reasons, f"{len(self.cautions)} cautions")

    @property
    def may_be_fed(self) -> bool:
        """Whether a bottle of it may be planned without a veterinarian's agreement."""
        return self.verdict.rank >= Verdict.OUTSIDE.rank


def judge(mix: Mix, species: str | None = None) -> Judgement:
    """Judge a milk by its reads and what is in it; the size of the batch does not matter.

    Parameters
    ----------
    mix : Mix
    species : str, optional
        Who is to drink it, "lamb" or "kid"; by default whom its bands are for. For another
        species it is read against a practical milk of that species.
    """
    drinker = species or mix.bands.species
    if drinker != mix.bands.species:
        bands = band_set(f"{drinker}-replacer")
        reads = read_all(bands, mix.shelf.composition, mix.grams, table_composition())
        found = _judged(replace(mix, bands=bands, reads=reads), mix.bands.species)
    else:
        found = _judged(mix, "")
    return found


def _judged(mix: Mix, made_for: str, *, thin: bool = True) -> Judgement:
    """Judge a milk by its own bands; `made_for` names the other species it was made for, if any."""
    drinker = mix.bands.species
    reasons, cautions = list(_unfit(mix)), []
    answered: set[str] = set()
    for entry, found in told_of(milk_entries(), MilkFacts(mix, drinker, mix.reads)):
        if entry.verdict:
            answered |= found.measures
            verdict = Verdict(entry.verdict)
            if found.lent and verdict is Verdict.NEVER:
                verdict = Verdict.VET  # what similar foods have may be more than this one has
            text = entry.told(found)
            reasons.append(Reason(entry.id, verdict, text, entry.source, entry.status, found.foods))
        else:
            cautions.append(entry.caution(found))
    for read in mix.reads:
        if read.band.measure not in answered and (reason := _of_read(read, made_for)):
            reasons.append(reason)
    reasons.sort(key=lambda reason: reason.verdict.rank)
    verdict = reasons[0].verdict if reasons else Verdict.INSIDE
    thinning = _thinning(mix) if thin and reasons else None
    return Judgement(verdict, tuple(reasons), tuple(cautions), drinker, thinning)


def _unfit(mix: Mix) -> Iterator[Reason]:
    """Foods of a person's own that bear the name of something that is not for lambs."""
    for food, grams in zip(mix.shelf.foods, mix.grams, strict=True):
        if not (food.own and grams > 0):
            continue
        named = food_table().unfit(food.id) or food_table().unfit(food.name)
        if named is not None:
            verdict = Verdict(named.verdict)
            yield Reason(named.id, verdict, named.text, named.source, named.status, (food.id,))


def _of_read(read: Read, made_for: str) -> Reason | None:
    band = read.band
    if band.role is Role.SHOWN or read.standing in (None, Standing.INSIDE):
        return None
    safety = band.role is Role.SAFETY
    if read.standing is Standing.UNKNOWN:
        verdict = Verdict.UNKNOWN if safety else Verdict.OUTSIDE
        if read.lacks:
            foods, count = listed(read.lacks), len(read.lacks)
            text = say("verdict.no-value", label=band.label, foods=foods, count=count)
        else:
            text = say("verdict.not-read", label=band.label)
        return Reason(band.measure, verdict, text, band.source, "source", read.lacks)
    assert read.value is not None
    low = read.standing is Standing.BELOW
    said = {
        "label": band.label,
        "value": band.value_words(read.value),
        "unit": band.unit_words,
        "range": band.range_words,
    }
    if made_for:
        name = "too-low-for" if low else "too-high-for"
        whose = {key: say(f"words.species.{key}") for key in _OTHER}
        drinker = whose[_OTHER[made_for]]
        text = say(f"verdict.{name}", made_for=whose[made_for], drinker=drinker, **said)
    else:
        text = say(f"verdict.{'too-low' if low else 'too-high'}", **said)
    return Reason(band.measure, Verdict.VET if safety else Verdict.OUTSIDE, text, band.source)


_OTHER = {"lamb": "kid", "kid": "lamb"}


# --- only too strong ----------------------------------------------------------------------------

#: Water is given in steps of this many litres a litre.
_STEP = 0.05


def _thinning(mix: Mix) -> Thinning | None:
    """The water that makes a milk inside, where its strength is all that is wrong with it."""
    solids = float(mix.shelf.composition.row("solids") @ mix.grams)
    water = solids / _aim(mix) - mix.weight
    middle = _STEP * round(water / mix.volume / _STEP)
    for litres in (middle, middle - _STEP, middle + _STEP):
        if litres < _STEP / 2:
            continue
        thinned = _thinned(mix, litres)
        if _judged(thinned, "", thin=False).verdict is Verdict.INSIDE:
            return Thinning(round(litres, 2), 100.0 * solids / thinned.weight)
    return None


def _aim(mix: Mix) -> float:
    """Solids to thin to [g/g]: the middle of its band, or those of an ordinary milk."""
    for band in mix.bands.in_role(Role.DEMANDED):
        if band.measure == "solids" and band.basis is Basis.AS_FED:
            return band.middle / band.scale
    return _ordinary_solids()[mix.bands.species] / 100.0


@cache
def _ordinary_solids() -> Mapping[str, float]:
    """Solids of an ordinary milk by species [g/100 g as fed]."""
    table = read_toml("cautions.toml")["thinning"]
    return {species: float(entry["solids"]) for species, entry in table.items()}


def _thinned(mix: Mix, litres: float) -> Mix:
    """The milk with so many litres of water to each litre."""
    water = food_table()["water"]
    grams = {f.id: float(g) for f, g in zip(mix.shelf.foods, mix.grams, strict=True) if g > 0}
    foods = (*(f for f in mix.shelf.foods if f.id in grams and f.id != water.id), water)
    added = litres * mix.volume * DENSITY_WATER
    amounts = np.array([grams.get(f.id, 0.0) + added * (f is water) for f in foods])
    shelf = Shelf(foods, largest_share=np.ones(len(foods)))
    reads = read_all(mix.bands, shelf.composition, amounts, table_composition())
    return Mix(Status.CHECKED, shelf, mix.bands, amounts, reads)
