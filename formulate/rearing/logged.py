"""A flock with its log: each line given to its animal, unless it cannot be true."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from formulate.base.errors import InputError
from formulate.rearing.flock import Animal, ColostrumHad, Eaten, Flock, MilkHad, Weighing
from formulate.rearing.log import SURE, Entry, What
from formulate.rearing.weights import check_weighings

__all__ = ["with_entries", "with_log"]


def with_log(
    flock: Flock, entries: Sequence[Entry], today: date, where: str
) -> tuple[Flock, list[InputError]]:
    """Add the log to the animals.

    Lines later than `today` do not count: a plan for a day gone by knows no more than was known
    on it.

    Returns
    -------
    flock : Flock
    faults : list of InputError
        Lines left out: of unknown animals, or with weights that cannot be true.
    """
    faults: list[InputError] = []
    mine: dict[str, list[Entry]] = {animal.name: [] for animal in flock.animals}
    for entry in entries:
        try:
            name = flock.animal(entry.animal).name
        except InputError as error:
            faults.append(error.at(f"{where}: {entry.line.strip()}"))
            continue
        if entry.day <= today:
            mine[name].append(entry)
    animals = []
    for animal in flock.animals:
        one, left_out = with_entries(animal, mine[animal.name], today)
        animals.append(one)
        faults += [fault.at(f"{where}: {animal.name}") for fault in left_out]
    return replace(flock, animals=tuple(animals)), faults


def with_entries(
    animal: Animal, entries: Sequence[Entry], today: date
) -> tuple[Animal, list[InputError]]:
    """One animal with its lines; weights that cannot be true are left out and handed back."""
    weighings = {weighing.day: weighing for weighing in animal.weighings}
    creep = {eaten.day: eaten for eaten in animal.creep}
    colostrum = {drunk.at: drunk for drunk in animal.colostrum}
    milk = {drunk.at: drunk for drunk in animal.milk}
    for entry in entries:
        if entry.what is What.WEIGHT:
            sure = SURE in entry.note.split()
            weighings[entry.day] = Weighing(entry.day, entry.amount, sure)
        elif entry.what is What.CREEP:
            creep[entry.day] = Eaten(entry.day, entry.amount)
        elif entry.what is What.COLOSTRUM:
            colostrum[entry.when] = ColostrumHad(entry.when, entry.amount, entry.note)
        else:
            milk[entry.when] = MilkHad(entry.when, entry.amount)
    whole = replace(
        animal,
        weighings=tuple(weighings[day] for day in sorted(weighings)),
        colostrum=tuple(colostrum[at] for at in sorted(colostrum)),
        milk=tuple(milk[at] for at in sorted(milk)),
        creep=tuple(creep[day] for day in sorted(creep)),
    )
    wrong = check_weighings(whole, today)
    left_out = {weighing for weighing, _ in wrong}
    kept = tuple(weighing for weighing in whole.weighings if weighing not in left_out)
    return replace(whole, weighings=kept), [fault for _, fault in wrong]
