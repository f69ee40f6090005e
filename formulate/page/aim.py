"""What the mix is for, how much of it and in what, as typed on the page."""

from __future__ import annotations

from dataclasses import dataclass, replace

from werkzeug.datastructures import MultiDict

from formulate.bands import Band, BandSet, Role
from formulate.errors import InputError
from formulate.jug import Container, parse_container
from formulate.making import Wishes, default_volume
from formulate.pantry import Pantry
from formulate.tables import band_set, band_sets
from formulate.units import Kitchen, parse_volume

__all__ = ["Aim", "Choice", "choices", "containers", "with_room"]

#: The two that most people mean; the rest are one tap away.
USUAL = ("lamb-replacer", "kid-replacer")
#: Longest search of one request [s]; the page says so where it was not enough.
PATIENCE = 2.0
#: Litres that a household's page is asked for at most [mL].
MOST_VOLUME = 1e6
#: Share of each range's width kept clear at each end when room to spare is asked for
#: (judgement: the sample's chance to read in every range goes from about a half to four fifths).
ROOM = 0.2


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
    room : bool
        Whether to keep clear of the ends of each range.
    most : str
        No more foods than this, as typed.
    """

    whom: str = USUAL[0]
    make: str = ""
    container: str = ""
    room: bool = False
    most: str = ""

    @classmethod
    def of(cls, form: MultiDict[str, str], pantry: Pantry) -> Aim:
        """What a form says; what it does not say is as usual."""
        return cls(
            form.get("whom", USUAL[0]),
            " ".join(form.get("make", "").split()) or default_volume(pantry.kitchen),
            " ".join(form.get("container", "").split()),
            "room" in form,
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
        return Wishes(most_foods=most, container=container, time_limit=PATIENCE)


def choices(pantry: Pantry) -> tuple[tuple[Choice, ...], tuple[Choice, ...]]:
    """The usual aims, and the others."""
    sets = {**band_sets(), **pantry.own_bands}
    words = {"lamb-replacer": "lambs", "kid-replacer": "kids"}
    usual = tuple(Choice(name, words[name]) for name in USUAL)
    others = tuple(Choice(n, s.title) for n, s in sets.items() if n not in USUAL)
    return usual, others


def containers(kitchen: Kitchen) -> tuple[str, ...]:
    """Containers to propose."""
    if kitchen is Kitchen.METRIC:
        return ("2 L jug of whole-milk", "1 L bottle", "2 L bottle", "5 L bucket")
    return ("1 gallon jug of whole-milk", "half-gallon jug of whole-milk", "1 quart jar",
            "half-gallon jar")  # fmt: skip


def with_room(bands: BandSet) -> BandSet:
    """The same ranges, each demanded one a little narrower at both ends."""
    return replace(bands, bands=tuple(_narrower(band) for band in bands.bands))


def _narrower(band: Band) -> Band:
    if band.role is not Role.DEMANDED:
        return band
    inset = ROOM * band.width
    return replace(band, low=band.low + inset, high=band.high - inset)
