"""The lines above an answer: what it is for, which prices, which cups."""

from __future__ import annotations

from formulate.base.messages import say
from formulate.base.units import Kitchen
from formulate.foods.bands import BandSet
from formulate.foods.country import Country, countries
from formulate.foods.national import nutrient_tables
from formulate.pantry.pantry import Pantry

__all__ = ["heading", "shelf_words", "table_lines", "tables_said"]


def heading(bands: BandSet, kitchen: Kitchen, pantry: Pantry | None) -> list[str]:
    """What it is for, whose prices, whose cups."""
    lines = [say("heading.for", title=bands.title, name=bands.name)]
    if pantry and (pantry.name or pantry.where):
        lines.append(say("heading.shelf", shelf=shelf_words(pantry)))
    lines.append(say("heading.kitchen", kitchen=kitchen.title))
    if pantry and pantry.stated:
        lines += table_lines(pantry.country)
    return lines


def table_lines(country: Country) -> list[str]:
    """Whose food-composition table a kitchen reads, with its licence; and that it is another's."""
    table = nutrient_tables()[country.tables[0]]
    lines = [
        say(
            "foods.whose-table",
            short=table.short,
            year=str(table.year),
            place=countries()[table.place].name,
            licence=table.licence,
        )
    ]
    if not country.own_table:
        lines.append(say("foods.no-own-table", country=country.name, short=table.short))
    return lines


def tables_said(pantry: Pantry) -> list[str]:
    """Whose figures a kitchen's foods have, as each table asks to be named."""
    country = pantry.country
    foods = [item.food for item in pantry.items if item.food.table]
    used = dict.fromkeys((country.tables[0], *(food.table for food in foods)))
    said = [say("foods.attributed", attribution=nutrient_tables()[key].attribution) for key in used]
    if not country.own_table:
        short = nutrient_tables()[country.tables[0]].short
        said.append(say("foods.no-own-table", country=country.name, short=short))
    return said


def shelf_words(pantry: Pantry) -> str:
    """A pantry, and of when its prices are."""
    name = pantry.name or pantry.where
    dates = pantry.price_dates()
    if not dates:
        return name
    first, last = dates
    currency = pantry.currency
    if first == last:
        return say("heading.priced", name=name, day=first, currency=currency)
    return say("heading.priced-over", name=name, first=first, last=last, currency=currency)
