"""Read one animal's table of the flock file, and report every fault at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time
from functools import partial
from itertools import pairwise

from formulate.base.errors import InputError
from formulate.base.faults import Faults
from formulate.base.messages import say
from formulate.base.moments import local
from formulate.base.units import Kitchen, UnitKind, parse_amount, parse_volume, with_points
from formulate.rearing.figures import value
from formulate.rearing.flock import (
    Animal,
    ColostrumHad,
    Eaten,
    MilkEnd,
    Species,
    TemperatureRead,
    Weighing,
)
from formulate.rearing.flock_shape import AnimalEntry, FlockFile
from formulate.rearing.levels import level_named
from formulate.rearing.weights import check_weighings, parse_weight

__all__ = ["animal_of", "parse_celsius", "parse_grams"]

#: No animal that lives reads below or above [°C].
COLDEST, HOTTEST = 20.0, 45.0


def animal_of(name: str, entry: AnimalEntry, shape: FlockFile, now: datetime) -> Animal:
    """Read one animal.

    Raises
    ------
    ManyFaults
        With every fault, each at its key.
    """
    faults = Faults()
    born, hour = _birth(name, entry, now, faults)
    birth = None
    if entry.birth_weight is not None:
        birth = faults.catch("birth_weight", partial(parse_weight, entry.birth_weight))
    if birth is None and not entry.weights and not faults.found:
        faults.add("", say("flock.no-weight"), say("flock.no-weight-remedy"))
    animal = Animal(
        name,
        Species(entry.species or shape.species),
        born,
        hour,
        birth,
        _weighings(entry, faults),
        _colostrum(entry, Kitchen(shape.kitchen or Kitchen.US), now, faults),
        (),
        _creep(entry, faults),
        _temperatures(entry, now, faults),
        cap=faults.catch("veterinarians_cap", lambda: _cap(entry.veterinarians_cap)),
        notes=entry.notes,
        mix=entry.mix or "",
        level=faults.catch("level", partial(level_named, entry.level)),
        weaning=None if entry.weaning is None else MilkEnd(entry.weaning),
    )
    if not faults.found:
        for weighing, fault in check_weighings(animal, now.date()):
            sure = "" if weighing.day > now.date() else say("today.flock.sure")
            remedy = " ".join(part for part in (fault.remedy, sure) if part)
            faults.found.append(InputError(fault.problem, remedy, fault.where))
    faults.settle()
    return animal


def _birth(
    name: str, entry: AnimalEntry, now: datetime, faults: Faults
) -> tuple[date, time | None]:
    born: date
    hour = None
    if isinstance(entry.born, datetime):
        moment = faults.catch("born", lambda: local(entry.born))  # type: ignore[arg-type]
        moment = moment or entry.born.replace(tzinfo=None)
        born, hour = moment.date(), moment.time()
    else:
        born, moment = entry.born, datetime.combine(entry.born, time())
    age = (now.date() - born).days
    if moment > now:
        faults.add("born", *_to_come(moment if hour else born, now))
    elif age > value("oldest"):
        faults.add(
            "born",
            say("today.flock.too-old", animal=name, years=round(age / 365.25), days=age),
            say("today.flock.which-year"),
        )
    return born, hour


def _to_come(moment: date, now: datetime) -> tuple[str, str]:
    if isinstance(moment, datetime):
        words, today = f"{moment:%Y-%m-%d %H:%M}", f"{now:%Y-%m-%d %H:%M}"
        return say("today.moment-to-come", moment=words, now=today), say("today.correct-the-day")
    day = say("today.day-to-come", day=moment, today=now.date())
    return day, say("today.correct-the-day")


def _moment(place: str, at: datetime, now: datetime, faults: Faults) -> datetime | None:
    found = faults.catch(place, lambda: local(at))
    if found is not None and found > now:
        faults.add(place, *_to_come(found, now))
    return found


def _weighings(entry: AnimalEntry, faults: Faults) -> tuple[Weighing, ...]:
    weighings = []
    for number, weighed in enumerate(entry.weights, 1):
        place = f"weights.{number}.weight"
        kilograms = faults.catch(place, partial(parse_weight, weighed.weight))
        if kilograms is not None:
            weighings.append(Weighing(weighed.on, kilograms, weighed.sure))
    if any(after.day <= before.day for before, after in pairwise(weighings)):
        faults.add("weights", say("flock.weights-order"), say("flock.weights-order-remedy"))
    return tuple(weighings)


def _colostrum(
    entry: AnimalEntry, kitchen: Kitchen, now: datetime, faults: Faults
) -> tuple[ColostrumHad, ...]:
    colostrum = []
    for number, drunk in enumerate(entry.colostrum, 1):
        place = f"colostrum.{number}"
        at = _moment(f"{place}.at", drunk.at, now, faults)
        amount = faults.catch(f"{place}.amount", partial(parse_volume, drunk.amount, kitchen))
        if amount is not None and at is not None:
            colostrum.append(ColostrumHad(at, amount, drunk.what))
    return tuple(sorted(colostrum, key=lambda drunk: drunk.at))


def _creep(entry: AnimalEntry, faults: Faults) -> tuple[Eaten, ...]:
    creep = []
    for number, eaten in enumerate(entry.creep, 1):
        grams = faults.catch(f"creep.{number}.amount", partial(parse_grams, eaten.amount))
        if grams is not None:
            creep.append(Eaten(eaten.on, grams))
    return tuple(sorted(creep, key=lambda eaten: eaten.day))


def _temperatures(entry: AnimalEntry, now: datetime, faults: Faults) -> tuple[TemperatureRead, ...]:
    """Readings by time, the one without a time first."""
    found: list[TemperatureRead] = []
    told: Sequence[tuple[str, datetime | None, float]] = [
        *([] if entry.temperature is None else [("temperature", None, entry.temperature)]),
        *((f"temperatures.{n}", e.at, e.celsius) for n, e in enumerate(entry.temperatures, 1)),
    ]
    for place, at, celsius in told:
        if not COLDEST <= celsius <= HOTTEST:
            faults.add(place, say("record.temperature.cannot-be", celsius=celsius),
                       say("today.flock.celsius"))  # fmt: skip
        moment = None if at is None else _moment(f"{place}.at", at, now, faults)
        found.append(TemperatureRead(moment, celsius))
    return tuple(sorted(found, key=lambda read: read.at or datetime.min))


_TEMPERATURE = re.compile(
    r"(\d{1,9}(?:[.,]\d{1,9})?)\s*(?:°|deg(?:rees?)?\.?)?\s*"
    r"(?:(c|f)(?:(?<=c)elsius|(?<=c)entigrade|(?<=f)ahrenheit)?)?\.?",
    re.IGNORECASE | re.ASCII,
)


def parse_celsius(text: str) -> float:
    """Read "38.9", "38.9 C" or "102 F" and return it [°C].

    Raises
    ------
    InputError
        If it is no temperature of an animal.
    """
    found = _TEMPERATURE.fullmatch(text.strip())
    if not found:
        raise InputError(
            say("record.temperature.not-one", text=text.strip()[:40]),
            say("record.temperature.write"),
        )
    number = float(found[1].replace(",", "."))
    celsius = (number - 32) / 1.8 if found[2] in ("f", "F") else number
    if not found[2] and number > HOTTEST:
        raise InputError(
            say("record.temperature.no-unit", text=text.strip()[:40]),
            say("record.temperature.write"),
        )
    if not COLDEST <= celsius <= HOTTEST:
        raise InputError(
            say("record.temperature.cannot-be", celsius=celsius),
            say("record.temperature.healthy"),
        )
    return round(celsius, 2)


def parse_grams(text: str) -> float:
    """Read a weight of feed [g].

    Raises
    ------
    InputError
        If it is not a weight.
    """
    amount = parse_amount(text)
    if amount.kind not in (UnitKind.MASS, UnitKind.OUNCE):
        raise InputError(say("flock.not-a-weight", text=text), say("flock.write-grams"))
    return amount.size(Kitchen.US)


def _cap(text: str | None) -> float | None:
    if text is None:
        return None
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*ml\s*/\s*kg\s*", with_points(text.lower()))
    if not found or not 10 <= float(found[1]) <= value("cap-highest"):
        raise InputError(
            say("flock.not-a-cap", text=text),
            say("flock.not-a-cap-remedy", most=value("cap-highest")),
        )
    return float(found[1])
