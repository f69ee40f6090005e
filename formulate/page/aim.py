"""What the mix is for, how much of it and in what, as typed on the page."""

from __future__ import annotations

from dataclasses import dataclass

from werkzeug.datastructures import MultiDict

from formulate.base.errors import InputError
from formulate.base.units import Kitchen, parse_volume
from formulate.foods.bands import BandSet
from formulate.foods.tables import band_set, band_sets
from formulate.kitchen.batch import Wishes, default_volume
from formulate.kitchen.jug import Container, parse_container
from formulate.pantry.pantry import Pantry

__all__ = ["Aim", "Choice", "choices", "containers"]

#: The two that most people mean; the rest are one tap away.
USUAL = ("lamb-replacer", "kid-replacer")
#: Longest search of one request [s]; the page says so where it was not enough.
PATIENCE = 2.0
#: Litres that a household's page is asked for at most [mL].
MOST_VOLUME = 1e6
#: Chance of each range that "make it surer" asks for [%] (judgement).
SURE = 90.0


@dataclass(frozen=True)
class Choice:
    """One thing to choose.

    Parameters
    ----------
    value : str
    words : str
    """

    value: str
    words: str


@dataclass(frozen=True)
class Aim:
    """What a person wants of the mix.

    Parameters
    ----------
    whom : str
        Name of a set of ranges.
    make : str
        How much, as typed.
    container : str
        In what, as typed; empty: in nothing in particular.
    sure : bool
        Whether to keep clear of the ends of each range, as far as cartons differ.
    most : str
        No more foods than this, as typed.
    """

    whom: str = USUAL[0]
    make: str = ""
    container: str = ""
    sure: bool = False
    most: str = ""

    @classmethod
    def of(cls, form: MultiDict[str, str], pantry: Pantry) -> Aim:
        """What a form says; what it does not say is as usual."""
        return cls(
            form.get("whom", USUAL[0]),
            " ".join(form.get("make", "").split()) or default_volume(pantry.kitchen),
            " ".join(form.get("container", "").split()),
            "sure" in form,
            form.get("most", "").strip(),
        )

    def bands(self, pantry: Pantry) -> BandSet:
        """The ranges."""
        return band_set(self.whom, pantry.own_bands)

    def volume(self, pantry: Pantry) -> float:
        """How much [mL]."""
        volume = parse_volume(self.make, pantry.kitchen)
        if volume > MOST_VOLUME:
            raise InputError(
                f'"{self.make}" is more than this page makes', "Ask for 1000 L or less."
            )
        return volume

    def wishes(self, pantry: Pantry) -> Wishes:
        """The container, and how many foods."""
        container: Container | None = None
        if self.container:
            container = parse_container(self.container, pantry.kitchen, pantry.table)
            if container.volume > MOST_VOLUME:
                raise InputError(f'"{self.container}" is too large', "Ask for 1000 L or less.")
        most = None
        if self.most:
            if not (self.most.isascii() and self.most.isdigit() and 0 < int(self.most[:6]) < 100):
                raise InputError(
                    f'"{self.most[:20]}" is no number of foods', "Write 3, say, or leave it empty."
                )
            most = int(self.most)
        sure = SURE if self.sure else None
        return Wishes(most_foods=most, container=container, time_limit=PATIENCE, sure=sure)


def choices(pantry: Pantry) -> tuple[tuple[Choice, ...], tuple[Choice, ...]]:
    """The usual aims, and the others."""
    sets = {**band_sets(), **pantry.own_bands}
    words = {"lamb-replacer": "lambs", "kid-replacer": "kids"}
    usual = tuple(Choice(name, words[name]) for name in USUAL)
    others = tuple(Choice(n, s.title) for n, s in sets.items() if n not in USUAL)
    return usual, others


def containers(kitchen: Kitchen) -> tuple[str, ...]:
    """Containers to propose."""
    if kitchen.metric:
        return ("2 L jug of whole-milk", "1 L bottle", "2 L bottle", "5 L bucket")
    return ("1 gallon jug of whole-milk", "half-gallon jug of whole-milk", "1 quart jar",
            "half-gallon jar")  # fmt: skip
