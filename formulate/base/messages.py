"""The sentences that people read: whole, kept as data, with named places for values.

The sentences stand in ``formulate/base/en/``, one TOML file for each topic. The first word of an id
is its file, so ``today.late`` is the key ``late`` of ``today.toml``, and ``today.card.title`` the
key ``title`` of its table ``[card]``. A file is read when it is first needed.

Another language is another folder beside ``en``, and changes no code. What it does not have yet is
said in English. ``FORMULATE_LANGUAGE`` names the folder. The sentences of `nutrient_tables`, which
are English, have their translation in the folder ``tables`` within it.

A place is one of three things:

``{animal}``
    The value as it is; a float to six significant figures at most; a member of an enumeration by
    its own message, if it has one (``words.species.lamb``).
``{share:.0f}``
    The value by a format of Python's.
``{count|# feed|# feeds}``
    The first form where the value is 1, else the second; ``#`` stands for the value.

Sentences are never glued from pieces of grammar. Where a sentence changes with its values by more
than a plural, it is two messages.
"""

from __future__ import annotations

import math
import os
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from enum import Enum
from functools import cache, lru_cache, reduce
from pathlib import Path
from typing import Any, NamedTuple

__all__ = [
    "dated",
    "duration",
    "fill",
    "find",
    "language",
    "listed",
    "message_ids",
    "number",
    "places",
    "places_of",
    "say",
    "translated",
    "words_of_table",
]

#: Holds a folder for each language.
_LANGUAGES = Path(__file__).parent
#: The language that has every message.
ENGLISH = "en"
#: Texts whose places are remembered.
TEXTS = 4_096
_PLACE = re.compile(
    r"\{(?P<name>[a-z_]\w*)(?:\|(?P<one>[^{}|]*)\|(?P<many>[^{}|]*)|:(?P<spec>[^{}|]+))?\}"
)


def say(message_id: str, /, **values: object) -> str:
    """A message with its places filled.

    Parameters
    ----------
    message_id : str
        Topic and key, as "today.late".
    **values
        A value for each place of the message. Extra values are ignored, so that one set of
        values can serve several messages.

    Raises
    ------
    LookupError
        If there is no such message.
    TypeError
        If a place has no value.
    """
    try:
        return fill(_message(message_id), values)
    except KeyError as error:
        raise TypeError(f'message "{message_id}" needs a value for {error}') from None


def find(message_id: str) -> str | None:
    """A message as it stands in the catalogue, with its places; None if there is none."""
    try:
        return _message(message_id)
    except LookupError:
        return None


def fill(text: str, values: Mapping[str, object]) -> str:
    """A text of another data file with its places filled, as those of a message.

    Raises
    ------
    KeyError
        If a place has no value.
    """
    return "".join(
        part if isinstance(part, str) else _filled(part, values) for part in _parts_of(text)
    )


@cache
def language() -> str:
    """The language in use: what ``FORMULATE_LANGUAGE`` names, if there is such a folder.

    It is asked for once: a sentence is said thousands of times.
    """
    wanted = os.environ.get("FORMULATE_LANGUAGE", ENGLISH)
    found = wanted.isidentifier() and any((_LANGUAGES / wanted).glob("*.toml"))
    return wanted if found else ENGLISH


def translated(topic: str, english: str) -> str:
    """A sentence that stands in English in another file, in the language in use.

    Parameters
    ----------
    topic : str
        File of the language; its keys are the English sentences.
    english : str
    """
    return _topic(language(), topic).get(english) or english


def words_of_table(name: str, spoken: str) -> dict[str, Any]:
    """What a language says in place of the sentences of a file of `nutrient_tables`.

    Parameters
    ----------
    name : str
        The file, as "cautions.toml"; the language's words stand in a file of that name in its
        folder ``tables``, under the same keys. Only sentences can be replaced.
    spoken : str
        The language.
    """
    path = _LANGUAGES / spoken / "tables" / name
    if spoken == ENGLISH or not path.is_file():
        return {}
    return tomllib.loads(path.read_text(encoding="utf-8"))


def places(message_id: str) -> frozenset[str]:
    """Names of the places of a message."""
    return places_of(_message(message_id))


def places_of(text: str) -> frozenset[str]:
    """Names of the places of a text."""
    return frozenset(part.name for part in _parts_of(text) if not isinstance(part, str))


def message_ids() -> tuple[str, ...]:
    """Every message of the catalogue, sorted."""
    topics = (path.stem for path in (_LANGUAGES / ENGLISH).glob("*.toml"))
    return tuple(sorted(f"{topic}.{key}" for topic in topics for key in _topic(ENGLISH, topic)))


def listed(words: Sequence[str], *, either: bool = False) -> str:
    """A list as it is said aloud: "milk, cream and butter", or "milk, cream or butter"."""
    if not words:
        return ""
    *before, last = words
    if not before:
        return last
    first = reduce(lambda said, word: say("words.listed.comma", before=said, next=word), before)
    return say(f"words.listed.{'or' if either else 'and'}", before=first, last=last)


def number(value: float) -> str:
    """A number with as many figures as it is worth: three, and no more than two decimals."""
    if not math.isfinite(value):
        return "?"
    size = abs(value)
    decimals = 0 if size >= 100 else 1 if size >= 10 else 2
    return f"{value:,.{decimals}f}"


def dated(moment: date, spec: str) -> str:
    """A day or a moment by a format of strftime; days and months are named by the catalogue.

    Parameters
    ----------
    moment : date or datetime
    spec : str
        As "%A %d %b".
    """
    for sign, names, at in (
        ("%A", "words.day.long", moment.weekday()),
        ("%a", "words.day.short", moment.weekday()),
        ("%B", "words.month.long", moment.month - 1),
        ("%b", "words.month.short", moment.month - 1),
    ):
        if sign in spec:
            spec = spec.replace(sign, say(names).split()[at])
    return format(moment, spec)


def duration(time: timedelta) -> str:
    """A time as it is said aloud: "40 minutes", "3 hours", "3 h 10 min", "2 days"."""
    minutes = round(abs(time) / timedelta(minutes=1))
    hours, rest = divmod(minutes, 60)
    if hours >= 48:
        return say("words.days", days=round(hours / 24))
    if not minutes:
        return say("words.moment")
    if not hours:
        return say("words.minutes", minutes=minutes)
    if not rest:
        return say("words.hours", hours=hours)
    return say("words.hours-and-minutes", hours=hours, minutes=rest)


class _MessagePlace(NamedTuple):
    """A place of a text; see the top of this module."""

    name: str
    one: str | None
    many: str | None
    spec: str | None


@lru_cache(maxsize=TEXTS)
def _parts_of(text: str) -> tuple[str | _MessagePlace, ...]:
    """What a text is put together from: its own words, and places."""
    parts: list[str | _MessagePlace] = []
    end = 0
    for found in _PLACE.finditer(text):
        parts += (text[end : found.start()], _MessagePlace(**found.groupdict()))
        end = found.end()
    return (*parts, text[end:])


def _filled(place: _MessagePlace, values: Mapping[str, object]) -> str:
    value = values[place.name]
    if place.many is not None:
        form = place.one if value == 1 else place.many
        return str(form).replace("#", _plain(value))
    if not place.spec:
        return _plain(value)
    if isinstance(value, date):
        return dated(value, place.spec)
    return format(value, place.spec)


def _plain(value: object) -> str:
    if isinstance(value, Enum):  # said by its own message, if it has one: words.species.lamb
        return find(f"words.{type(value).__name__.lower()}.{value.value}") or str(value)
    if isinstance(value, float):
        return f"{value:,.6g}" if abs(value) < 1e6 else f"{value:,.0f}"
    return f"{value:,}" if isinstance(value, int) and not isinstance(value, bool) else str(value)


@cache
def _message(message_id: str) -> str:
    topic, _, key = message_id.partition(".")
    found = _topic(language(), topic).get(key) or _topic(ENGLISH, topic).get(key)
    if found is None:
        raise LookupError(f'there is no message "{message_id}"')
    return found


@cache
def _topic(spoken: str, topic: str) -> dict[str, str]:
    path = _LANGUAGES / spoken / f"{topic}.toml"
    if not path.is_file():
        return {}
    return dict(_flat(tomllib.loads(path.read_text(encoding="utf-8"))))


def _flat(table: dict[str, Any], before: str = "") -> Iterable[tuple[str, str]]:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", str(value).strip()
