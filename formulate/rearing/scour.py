"""A scouring lamb or kid: what to look at, how dehydrated it is, and when to call the veterinarian.

The signs, their words and sources are data (``nutrient_tables/scour.toml``). The worst sign counts;
a band is given and never a figure finer than that.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from typing import Any

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.foods.tables import read_toml
from formulate.rearing.figures import value

__all__ = [
    "Dryness",
    "Looked",
    "ScourAlarm",
    "ScourCheck",
    "Sign",
    "SignChoice",
    "look_at",
    "scour_note",
    "signs_of_scour",
]


class Dryness(StrEnum):
    """How dried out an animal is, from the least."""

    LITTLE = "little"
    CLEAR = "clear"
    BAD = "bad"

    @property
    def text(self) -> str:
        """Plain words."""
        return str(_data()["bands"][self.value]["text"])

    @property
    def percent(self) -> str:
        """Of body weight lost as water, as a band."""
        return str(_data()["bands"][self.value]["percent"])


@dataclass(frozen=True, slots=True)
class SignChoice:
    """One answer to a sign.

    Parameters
    ----------
    word : str
        As it is typed: "slowly".
    band : Dryness
    text : str
        As it is asked and told.
    alarm : str
        What it means, where it means the veterinarian now; else empty.
    stops : bool
        Whether no drink may be designed.
    """

    word: str
    band: Dryness
    text: str
    alarm: str = ""
    stops: bool = False

    @property
    def now(self) -> bool:
        """Whether it means the veterinarian now."""
        return bool(self.alarm)


@brief_repr
@dataclass(frozen=True, slots=True)
class Sign:
    """Something to look at.

    Parameters
    ----------
    id : str
    ask : str
        The question.
    choices : tuple of SignChoice
        From the best to the worst.
    source : str
        Key of the source list.
    """

    id: str
    ask: str
    choices: tuple[SignChoice, ...]
    source: str


@dataclass(frozen=True, slots=True)
class ScourAlarm:
    """A reason to ring the veterinarian now, before any recipe.

    Parameters
    ----------
    id : str
    text : str
    source : str
        Key of the source list.
    stops : bool
        Whether no drink is designed.
    """

    id: str
    text: str
    source: str
    stops: bool


@dataclass(frozen=True, slots=True)
class Looked:
    """What a person has seen; None if nobody looked or said.

    Parameters
    ----------
    signs : mapping of str to str
        Word of the choice by sign.
    celsius : float or None
        Temperature [°C].
    age_days : float or None
    blood : bool
        In its dung.
    belly : bool
        Swollen.
    day : int
        Of the scour, 1 for the first.
    others : bool
        Whether more than one is ill.
    water : bool or None
        Whether clean water is always within its reach.
    """

    signs: Mapping[str, str] = field(default_factory=dict)
    celsius: float | None = None
    age_days: float | None = None
    blood: bool = False
    belly: bool = False
    day: int = 1
    others: bool = False
    water: bool | None = None


@brief_repr
@dataclass(frozen=True, slots=True)
class ScourCheck:
    """What the signs say.

    Parameters
    ----------
    band : Dryness or None
        The worst of the signs; None if nobody looked.
    alarms : tuple of ScourAlarm
        Veterinarian now, before any recipe; those that stop a drink first.
    missing : tuple of Sign
        Signs that nobody looked at.
    """

    band: Dryness | None
    alarms: tuple[ScourAlarm, ...]
    missing: tuple[Sign, ...]

    @property
    def may_drink(self) -> bool:
        """Whether a drink may be designed at all."""
        return not any(alarm.stops for alarm in self.alarms)


@cache
def _data() -> Mapping[str, Any]:
    return read_toml("scour.toml")


def scour_note() -> tuple[str, str]:
    """What signs cannot tell, and the key of its source."""
    look = _data()["look"]
    return str(look["note"]), str(look["note_source"])


@cache
def signs_of_scour() -> Mapping[str, Sign]:
    """Every sign by its name, in the order of looking."""
    found = {}
    for name, entry in _data()["signs"].items():
        choices = tuple(
            SignChoice(
                word,
                Dryness(choice["band"]),
                choice["text"],
                choice.get("alarm", ""),
                bool(choice.get("stops", False)),
            )
            for word, choice in entry.items()
            if isinstance(choice, Mapping)
        )
        found[name] = Sign(name, entry["ask"], choices, entry["source"])
    return found


def look_at(looked: Looked) -> ScourCheck:
    """Say how dried out an animal is and what means the veterinarian now.

    Raises
    ------
    InputError
        If a sign or an answer does not exist, or a temperature, an age or a day cannot be.
    """
    _check(looked)
    signs = signs_of_scour()
    chosen = [(signs[name], _choice(signs[name], word)) for name, word in looked.signs.items()]
    order = list(Dryness)
    worst = max((order.index(choice.band) for _, choice in chosen), default=None)
    alarms = [
        ScourAlarm(sign.id, choice.alarm, sign.source, choice.stops)
        for sign, choice in chosen
        if choice.now
    ]
    alarms += _others(looked)
    alarms.sort(key=lambda alarm: not alarm.stops)
    return ScourCheck(
        None if worst is None else order[worst],
        tuple(alarms),
        tuple(sign for name, sign in signs.items() if name not in looked.signs),
    )


def _choice(sign: Sign, word: str) -> SignChoice:
    for choice in sign.choices:
        if choice.word == word.strip().lower().replace(" ", "-"):
            return choice
    words = [choice.word for choice in sign.choices]
    raise UnknownName(
        say("rehydrate.ask.kind", sign=sign.id),
        word,
        words,
        say("rehydrate.ask.known", question=sign.ask, words=", ".join(words)),
    )


def _others(looked: Looked) -> list[ScourAlarm]:
    """Alarms besides the signs."""
    celsius, age = looked.celsius, looked.age_days
    holds = {
        "cold": celsius is not None and celsius < value("cold-danger"),
        "fever": celsius is not None and celsius > value("fever"),
        "newborn": age is not None and age < value("drink-least-age"),
        "blood": looked.blood,
        "belly": looked.belly,
        "second-day": looked.day >= 2,
        "others": looked.others,
    }
    shown = "" if celsius is None else f"{celsius:.4g}"
    return [
        ScourAlarm(
            name,
            str(entry["text"]).format(value=shown),
            entry["source"],
            bool(entry.get("stops", False)),
        )
        for name, entry in _data()["now"].items()
        if holds[name]
    ]


def _check(looked: Looked) -> None:
    signs = signs_of_scour()
    for name in looked.signs:
        if name not in signs:
            raise UnknownName(
                "sign", name, signs, say("errors.known.signs", names=", ".join(signs))
            )
    if looked.celsius is not None and not 25 <= looked.celsius <= 45:
        raise InputError(
            say("rehydrate.ask.no-temperature", celsius=looked.celsius),
            say("rehydrate.ask.no-temperature-remedy"),
        )
    if looked.age_days is not None and not 0 <= looked.age_days <= 400:
        raise InputError(say("rehydrate.ask.too-old", days=looked.age_days))
    if not 1 <= looked.day <= 60:
        raise InputError(say("rehydrate.ask.no-day", day=looked.day), say("rehydrate.ask.day-one"))
