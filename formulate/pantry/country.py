"""What a country provides for a kitchen that has no pantry file."""

from __future__ import annotations

from formulate.foods.country import DEFAULT_COUNTRY, countries, country_named
from formulate.foods.national import country_foods, nutrient_tables
from formulate.pantry.pantry import Pantry

__all__ = ["bare_pantry", "country_names", "table_names"]


def bare_pantry(country: str | None = None) -> Pantry:
    """A pantry with nothing on its shelf: a country's foods, spoons, tins and money.

    Parameters
    ----------
    country : str, optional
        Key or English name; left out, nobody has said, and words with two meanings are asked
        about.

    Raises
    ------
    UnknownName
        If there is no such country here.
    """
    here = country_named(country or DEFAULT_COUNTRY)
    return Pantry(
        (),
        here.currency,
        here.kitchen,
        country=here,
        table=country_foods(None if country is None else here.key),
        stated="" if country is None else here.key,
    )


def country_names() -> tuple[tuple[str, str], ...]:
    """Key and English name of every country that is known here."""
    return tuple((one.key, one.name) for one in countries().values())


def table_names() -> tuple[tuple[str, str], ...]:
    """Key and title of every food-composition table that is installed."""
    return tuple((one.key, one.title) for one in nutrient_tables().values())
