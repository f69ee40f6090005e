"""A flock with its log: each line goes to its animal, unless it cannot be true."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from formulate.base.errors import InputError
from formulate.base.moments import is_later
from formulate.rearing.flock import (
    Animal,
    ColostrumHad,
    DrinkHad,
    Eaten,
    Ending,
    Flock,
    How,
    MilkHad,
    Seen,
    TemperatureRead,
    Weighing,
)
from formulate.rearing.log import SURE, Entry, What
from formulate.rearing.weights import check_weighings

__all__ = ["with_entries", "with_log"]


def with_log(
    flock: Flock, entries: Sequence[Entry], now: datetime, where: str
) -> tuple[Flock, list[InputError]]:
    """Add the log to the animals.

    Lines later than `now` do not count: a plan for a moment gone by knows no more than was known
    then.

    Returns
    -------
    flock : Flock
    faults : list of InputError
        Lines left out: of unknown animals, or with weights that cannot be true.
    """
    faults: list[InputError] = []
    mine: dict[str, list[Entry]] = {animal.name: [] for animal in flock.animals}
    by_name = {animal.name.lower(): mine[animal.name] for animal in reversed(flock.animals)}
    for entry in entries:
        told = by_name.get(entry.animal.strip().lower())
        if told is None:
            try:
                flock.animal(entry.animal)
            except InputError as error:
                faults.append(error.at(f"{where}: {entry.line.strip()}"))
        elif entry.when <= now:
            told.append(entry)
        elif not is_later(entry.when, now):
            # Of the hour before the clock was put back: it has happened, so it counts as of now.
            told.append(replace(entry, when=now))
    animals: list[Animal] = []
    gone: list[Animal] = []
    for animal in flock.animals:
        one, left_out = with_entries(animal, mine[animal.name], now)
        (gone if one.ending is not None and one.ending.gone else animals).append(one)
        faults += [fault.at(f"{where}: {animal.name}") for fault in left_out]
    return replace(flock, animals=tuple(animals), gone=tuple(gone)), faults


def with_entries(
    animal: Animal, entries: Sequence[Entry], now: datetime
) -> tuple[Animal, list[InputError]]:
    """One animal with its lines; weights that cannot be true are left out and handed back."""
    weighings = {weighing.day: weighing for weighing in animal.weighings}
    creep = {eaten.day: eaten for eaten in animal.creep}
    logged = {entry.when for entry in entries if entry.what is What.COLOSTRUM}
    colostrum = [drunk for drunk in animal.colostrum if drunk.at not in logged]
    milk = list(animal.milk)
    drinks = list(animal.drinks)
    temperatures = list(animal.temperatures)
    seen = list(animal.seen)
    ending = animal.ending
    for entry in entries:
        when, amount = entry.when, entry.amount
        match entry.what:
            case What.WEIGHT:
                weighings[entry.day] = Weighing(entry.day, amount, SURE in entry.note.split())
            case What.CREEP:
                creep[entry.day] = Eaten(entry.day, amount)
            case What.COLOSTRUM:
                colostrum.append(ColostrumHad(when, amount, entry.note, entry.by))
            case What.MILK:
                milk.append(MilkHad(when, amount, entry.by))
            case What.DRINK:
                drinks.append(DrinkHad(when, amount, entry.by))
            case What.TEMPERATURE:
                temperatures.append(TemperatureRead(when, amount, entry.by))
            case What.ENDED:
                ending = Ending(entry.day, entry.note)
            case _:
                seen.append(Seen(when, How(entry.what.value), entry.by))
    whole = replace(
        animal,
        weighings=tuple(weighings[day] for day in sorted(weighings)),
        colostrum=tuple(sorted(colostrum, key=lambda drunk: drunk.at)),
        milk=tuple(sorted(milk, key=lambda drunk: drunk.at)),
        drinks=tuple(sorted(drinks, key=lambda drunk: drunk.at)),
        creep=tuple(creep[day] for day in sorted(creep)),
        temperatures=tuple(sorted(temperatures, key=lambda read: read.at or datetime.min)),
        seen=tuple(sorted(seen, key=lambda one: one.at)),
        ending=ending,
    )
    wrong = check_weighings(whole, now.date())
    if not wrong:
        return whole, []
    left_out = {weighing for weighing, _ in wrong}
    kept = tuple(weighing for weighing in whole.weighings if weighing not in left_out)
    return replace(whole, weighings=kept), [fault for _, fault in wrong]
