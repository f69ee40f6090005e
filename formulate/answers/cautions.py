"""What people should know about a milk or an animal: texts, conditions and sources as data.

They stand in ``nutrient_tables/cautions.toml`` in the order of telling, under ``[milk]`` and
``[animal]``. An entry with a verdict decides about the milk; one without is a caution.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from formulate.answers.condition_data import condition_from
from formulate.answers.conditions import Applied, Condition
from formulate.answers.facts import AnimalFacts, MilkFacts
from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import fill, listed, places_of, say
from formulate.blend.mix import Mix
from formulate.foods.country import countries, law_of
from formulate.foods.tables import read_toml, sources

__all__ = [
    "Caution",
    "CautionEntry",
    "cautions_at",
    "cautions_for",
    "entries_from",
    "milk_entries",
    "told_of",
]

#: Where a figure or a statement comes from, beside the key of its source.
STATUSES = ("source", "judgement", "memory", "common-practice")
#: What an entry may decide; the verdicts themselves are in `formulate.answers.verdict`.
VERDICTS = ("never", "vet", "unknown", "outside")
_PLACES = frozenset({"value", "foods", "names", "count"})


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to tell.

    Parameters
    ----------
    id : str
        Name in the data.
    text : str
        Short and calm.
    source : str
        Key of the source list.
    shown : bool
        Told whenever it applies; else only on request.
    """

    id: str
    text: str
    source: str
    shown: bool


@dataclass(frozen=True, slots=True)
class CautionEntry:
    """One entry of the data.

    Parameters
    ----------
    id : str
    when : Condition
    text : str
        With places ``{value}``, ``{foods}``, ``{names}`` and ``{count|...|...}`` of the foods.
    source : str
        Key of the source list.
    status : str
        One of `STATUSES`: of the limit in the condition, or of the statement.
    verdict : str
        One of `VERDICTS`; empty for a caution.
    shown : bool
    unless : tuple of str
        Entries before it that make it needless.
    """

    id: str
    when: Condition
    text: str
    source: str
    status: str
    verdict: str = ""
    shown: bool = True
    unless: tuple[str, ...] = ()

    def told(self, found: Applied) -> str:
        """The text with its places filled."""
        if "{" not in self.text:
            return self.text
        foods, names = listed(found.foods), listed(found.names)
        values = {"value": found.value, "foods": foods, "names": names, "count": len(found.foods)}
        return fill(self.text, values)

    def caution(self, found: Applied) -> Caution:
        """As a caution."""
        return Caution(self.id, self.told(found), self.source, self.shown)


def entries_from(table: Mapping[str, Any]) -> tuple[CautionEntry, ...]:
    """Read the entries of a table.

    Raises
    ------
    InputError
        At the entry: a condition that says nothing, a source, status, verdict or place that
        does not exist, a key too many.
    """
    found: list[CautionEntry] = []
    for name, fields in table.items():
        try:
            found.append(_entry(name, fields, [entry.id for entry in found]))
        except InputError as error:
            raise error.at(name) from None
    return tuple(found)


_KEYS = ("verdict", "when", "text", "source", "status", "shown", "unless")


def _entry(name: str, fields: Mapping[str, Any], before: Sequence[str]) -> CautionEntry:
    for key in fields:
        if key not in _KEYS:
            raise UnknownName("key", key, _KEYS)
    for key in ("when", "text", "source", "status"):
        if key not in fields:
            raise InputError(say("errors.key-missing", key=key))
    for key, known in (
        ("source", tuple(sources())),
        ("status", STATUSES),
        ("verdict", ("", *VERDICTS)),
    ):
        if fields.get(key, "") not in known:
            raise UnknownName(key, str(fields[key]), known)
    if wrong := places_of(fields["text"]) - _PLACES:
        raise UnknownName("place", min(wrong), _PLACES)
    unless = tuple(fields.get("unless", ()))
    for other in unless:
        if other not in before:
            raise UnknownName("entry", other, before)
    return CautionEntry(
        name,
        condition_from(fields["when"]),
        " ".join(fields["text"].split()),
        fields["source"],
        fields["status"],
        fields.get("verdict", ""),
        bool(fields.get("shown", True)),
        unless,
    )


#: What to say about the law if the country, or its law, is not known.
_ANY_LAW = "local-rules"


@cache
def milk_entries() -> tuple[CautionEntry, ...]:
    """What may be said of a milk, in the order of weight; the law of each country among it."""
    entries = []
    for entry in entries_from(read_toml("cautions.toml")["milk"]):
        if entry.id == _ANY_LAW:
            laws = tuple(_law_entries())
            entries += [*laws, replace(entry, unless=tuple(law.id for law in laws))]
        else:
            entries.append(entry)
    return tuple(entries)


def _law_entries() -> Iterator[CautionEntry]:
    for country in countries():
        for number, law in enumerate(law_of(country), 1):
            name = f"law-{country}" if number == 1 else f"law-{country}-{number}"
            when = condition_from({"country": country})
            yield CautionEntry(name, when, f"{law.text} {law.ask}", law.source, "source")


@cache
def _animal_entries() -> tuple[CautionEntry, ...]:
    return entries_from(read_toml("cautions.toml")["animal"])


def told_of(
    entries: Sequence[CautionEntry], facts: MilkFacts | AnimalFacts
) -> Iterator[tuple[CautionEntry, Applied]]:
    """Entries that apply, each with what its condition found."""
    told: set[str] = set()
    for entry in entries:
        if entry.unless and not told.isdisjoint(entry.unless):
            continue
        found = entry.when.find(facts)
        if found is not None:
            told.add(entry.id)
            yield entry, found


def cautions_for(mix: Mix) -> tuple[Caution, ...]:
    """Everything to tell of a mix, in the order of telling; what decides its verdict too."""
    facts = MilkFacts(mix, mix.bands.species, mix.reads)
    return tuple(entry.caution(found) for entry, found in told_of(milk_entries(), facts))


def cautions_at(animal: AnimalFacts) -> tuple[Caution, ...]:
    """Every caution that belongs to an animal of this species, age and stage."""
    return tuple(entry.caution(found) for entry, found in told_of(_animal_entries(), animal))
