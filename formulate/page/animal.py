"""The page of one animal: its feeds, weights and entries, and forms to add to them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import Response

from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.page.once import Asked
from formulate.page.site import Site
from formulate.report.pictures.drawn import growth_picture

if TYPE_CHECKING:
    from formulate.report.barn_told import AnimalTold

__all__ = ["animal_page", "picture_of"]

#: Entries of the log that are shown.
SHOWN = 12


def animal_page(
    site: Site, name: str, status: int = 200, fault: str = "", asked: Asked | None = None
) -> Response:
    """One animal's own place.

    Raises
    ------
    UnknownName
        If there is no such animal.
    """
    from formulate.answers.logbook import newest_entries
    from formulate.report.fed_milks import milks_told
    from formulate.report.record_text import entries_told

    read = site.list_read()
    animal = read.flock.animal(name, gone=True)
    entries = newest_entries(site.flock_path, animal.name, SHOWN)
    milks: tuple[str, ...] = ()
    told, verdicts = None, []
    try:
        milks = tuple(site.home().pantry.recipes)
        barn = site.barn()
        told = next((one for one in barn.animals if one.name == animal.name), None)
        its = [milk for milk in site.today().milks if animal.name in milk.animals]
        verdicts = [milk for milk in milks_told(its) if milk.verdict != "inside"]
    except InputError as error:
        fault = fault or site.plainly(error)
    return site.show(
        "animal_place.html",
        "/animals",
        status,
        animal=animal,
        told=told,
        verdicts=verdicts,
        picture=None if told is None else picture_of(told),
        entries=entries_told(entries, read.flock.kitchen),
        day=read.now.date(),
        milks=milks,
        ounces=read.flock.kitchen is Kitchen.US,
        fault=fault,
        asked=asked,
    )


def picture_of(one: AnimalTold) -> Any:
    """The growth of an animal, drawn."""
    return growth_picture(one.name, one.weights, one.forecast, one.picture)
