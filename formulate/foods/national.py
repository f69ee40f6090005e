"""Food-composition tables, and the foods of a country's kitchen, made from those tables.

Each table has a folder in `nutrient_tables`, all with the same layout; ``tables.toml`` says whose
each one is. A food that several tables have is one food (`Food.same_food`) with a row in each of
them, and every row keeps its table's own code.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

from formulate.base.errors import UnknownName
from formulate.base.messages import say
from formulate.base.units import Kitchen, UnitKind, parse_amount
from formulate.foods.country import (
    DEFAULT_COUNTRY,
    Called,
    Country,
    countries,
    country_named,
)
from formulate.foods.food import Food, Household, Value
from formulate.foods.food_table import FoodTable, Unfit, name_key
from formulate.foods.shipped import exists, read_rows, read_toml

__all__ = [
    "NutrientTable",
    "country_foods",
    "foods_of",
    "not_for_lambs",
    "nutrient_tables",
    "said",
    "spoken",
    "table_named",
]

#: Salts, soda and glucose for a drink: in every country, and part of no national table.
DRINK = "drink"
#: The table whose foods are meant where `Country.sold` names no table.
REFERENCE = "usda-sr28"


@dataclass(frozen=True, slots=True)
class NutrientTable:
    """A food-composition table.

    Parameters
    ----------
    key : str
        Its folder, as "cofid-2021".
    short : str
        What people call it.
    title, issuer, release : str
    year : int
    place : str
        Country whose kitchens it describes.
    language : str
        Of its names.
    source : str
        Key of the source list.
    licence : str
    attribution : str
        To be shown with its values.
    """

    key: str
    short: str
    title: str
    issuer: str
    release: str
    year: int
    place: str
    language: str
    source: str
    licence: str
    attribution: str


@cache
def nutrient_tables() -> Mapping[str, NutrientTable]:
    """Every table by its key."""
    names = [name for name in NutrientTable.__dataclass_fields__ if name != "key"]
    return {
        key: NutrientTable(key, **{name: entry[name] for name in names})
        for key, entry in read_toml("tables.toml").items()
    }


def table_named(name: str) -> NutrientTable:
    """Look a table up by its key or by what people call it.

    Raises
    ------
    UnknownName
        If it is not installed.
    """
    word = name.strip().casefold()
    for table in nutrient_tables().values():
        if word in (table.key, table.short.casefold()):
            return table
    known = [*nutrient_tables(), *(t.short.lower() for t in nutrient_tables().values())]
    shown = ", ".join(f"{t.key} ({t.short})" for t in nutrient_tables().values())
    raise UnknownName("table", name, known, say("errors.known.tables", names=shown))


@cache
def foods_of(table: str) -> Mapping[str, Food]:
    """The foods of one table, by the id that its ``foods.csv`` gives."""
    folders = (table, DRINK) if table == REFERENCE else (table,)
    values: dict[str, dict[str, Value]] = {}
    for row in read_rows(*(f"{folder}/values.csv" for folder in folders)):
        values.setdefault(row["food"], {})[row["measure"]] = Value(
            float(row["value"]),
            row["source"],
            row["derivation"],
            int(row["n"]) if row["n"] else None,
            float(row["standard_error"]) if row["standard_error"] else None,
        )
    household: dict[str, list[Household]] = {}
    for row in read_rows(*(f"{folder}/household.csv" for folder in folders)):
        household.setdefault(row["food"], []).append(
            Household(
                row["unit"],
                float(row["grams"]),
                float(row["millilitres"]) if row["millilitres"] else None,
                row["source"],
                row["note"],
            )
        )
    flags: dict[str, dict[str, str]] = {}
    if exists(f"{table}/flags.csv"):
        for row in read_rows(f"{table}/flags.csv"):
            if row["measure"]:
                flags.setdefault(row["record"], {})[row["measure"]] = row["flag"]
    return {
        row["id"]: Food(
            id=row["id"],
            name=row["name"],
            kind=row["kind"],
            values=values[row["id"]],
            household=tuple(household.get(row["id"], ())),
            suitable=row["offer"] == "suitable",
            largest_share=float(row["largest_share"]) if row["largest_share"] else None,
            share_source=row["share_source"],
            aliases=tuple(a for a in row["aliases"].split(";") if a),
            note=row["note"],
            drink_only=row["offer"] == "drink-only",
            table=table if row["record"] else "",
            record=row["record"],
            same_food=row["same_food"] or row["id"],
            raw=row["raw"] == "yes",
            flags=flags.get(row["record"], {}),
        )
        for folder in folders
        for row in read_rows(f"{folder}/foods.csv")
    }


@cache
def country_foods(country: str | None = None, first: str | None = None) -> FoodTable:
    """The foods of a country's kitchen, under the names they have there.

    At home are the foods of its first table and those that its shops sell besides; abroad is what
    the other tables have, found when named, and read only then.

    Parameters
    ----------
    country : str, optional
        Left out: nobody has said, so the default country's foods, and a word that means another
        food elsewhere is asked about.
    first : str, optional
        Table to put before the country's own.
    """
    here, order = _order(country, first)
    home = _home(country, first)
    called = _called(here)
    return FoodTable(
        [_named(foods_of(table)[food], called.get((table, food), Called()), here)
         for table, food in home],
        partial(_left_out, order),
        not_for_lambs,
        partial(_abroad, country, first),
        {key: table.short for key, table in nutrient_tables().items()},
        asks=country is None and first is None,
    )  # fmt: skip


def _order(country: str | None, first: str | None) -> tuple[Country, tuple[str, ...]]:
    """A country, and its tables in their order."""
    here = country_named(country or DEFAULT_COUNTRY)
    order = here.tables
    if first is not None:
        chosen = table_named(first).key
        order = (chosen, *(key for key in order if key != chosen))
    return here, order


def _called(here: Country) -> dict[tuple[str, str], Called]:
    """What foods are called in a country, by table and food."""
    called = {(here.tables[0], food): how for food, how in here.called.items()}
    for name, how in here.sold.items():
        table, _, food_id = name.rpartition(":")
        called[REFERENCE if table in ("", DRINK) else table, food_id] = how
    return called


@cache
def _home(country: str | None, first: str | None) -> tuple[tuple[str, str], ...]:
    """Tables and foods at home."""
    here, order = _order(country, first)
    own = here.tables[0]
    called = _called(here)
    home = [
        (order[0], food)
        for food in foods_of(order[0])
        if not (order[0] == own and food in here.not_sold)
    ]
    there = set(home)

    def add(keys: Iterable[tuple[str, str]]) -> None:
        new = [key for key in keys if key not in there]
        home.extend(new)
        there.update(new)

    add(called)
    if REFERENCE in order:  # what is for a drink is in its table
        add((REFERENCE, food.id) for food in foods_of(REFERENCE).values() if food.drink_only)
    if order[0] != own:
        same = {foods_of(table)[food].same_food for table, food in home}
        add((own, food.id) for food in foods_of(own).values() if food.same_food not in same)
    return tuple(home)


@cache
def _abroad(country: str | None, first: str | None) -> tuple[Food, ...]:
    """Foods of other tables than those at home, by names of their own."""
    here, order = _order(country, first)
    home, called = set(_home(country, first)), _called(here)
    at_home = [
        _named(foods_of(table)[food], called.get((table, food), Called()), here)
        for table, food in home
    ]
    others = [
        _named(food, Called(), here)
        for table in order
        for food in foods_of(table).values()
        if (table, food.id) not in home
    ]
    spoken = Counter(word for food in (*at_home, *others) for word in _words(food))
    return tuple(food if spoken[name_key(food.id)] == 1 else _with_place(food) for food in others)


@cache
def spoken(food_id: str) -> str:
    """A food's id as people write it: with spaces, and with the accents its table has."""
    return _spellings().get(food_id, food_id.replace("-", " "))


def said(food: Food) -> str:
    """A food's id as people write it; see `spoken`. Reads no other table."""
    return _spelling(food.id, (food.name, *food.aliases)) or food.id.replace("-", " ")


def _spelling(food_id: str, words: Sequence[str]) -> str:
    """How an id is written, if that takes more than hyphens for spaces; else None."""
    same = [word for word in words if name_key(word) == food_id]
    plain = food_id.replace("-", " ")
    if not same or same[0].casefold().replace("-", " ") == plain:
        return ""
    return same[0][:1].lower() + same[0][1:]


@cache
def _spellings() -> Mapping[str, str]:
    """Ids whose spelling is more than hyphens for spaces."""
    words: dict[str, tuple[str, ...]] = {}
    for table in nutrient_tables():
        words |= {food.id: (food.name, *food.aliases) for food in foods_of(table).values()}
    for country in countries().values():
        for how in (*country.sold.values(), *country.called.values()):
            if how.id:
                words.setdefault(how.id, (how.name, *how.words))
    found = {food_id: _spelling(food_id, called) for food_id, called in words.items()}
    return {food_id: spelling for food_id, spelling in found.items() if spelling}


@cache
def not_for_lambs() -> tuple[Unfit, ...]:
    """Things a person may name that are not for lambs or kids, in the file's order."""
    return tuple(
        Unfit(
            name,
            tuple(entry["names"]),
            entry["verdict"],
            " ".join(entry["text"].split()),
            entry["source"],
            entry["status"],
        )
        for name, entry in read_toml("not_for_lambs.toml").items()
    )


def _words(food: Food) -> set[str]:
    return {name_key(word) for word in (food.id, *food.aliases)}


def _with_place(food: Food) -> Food:
    """A food that shares its id with others, with the country of its table added."""
    place = nutrient_tables()[food.table].place
    return replace(food, id=f"{food.id}-{place}", aliases=(food.id, *food.aliases))


def _named(food: Food, how: Called, here: Country) -> Food:
    """A food under the name it has in a country, in the tin it is sold in there."""
    name = how.name or food.name
    gloss = _glosses(food.table).get(food.id, "")
    if not how.name and gloss and nutrient_tables()[food.table].language != here.language:
        name = f"{name} ({gloss})"
    aliases = food.aliases
    if how.id and how.id != food.id:
        aliases = (*aliases, food.id)
    spoken = {name_key(word) for word in aliases}
    aliases = (*aliases, *(word for word in how.words if name_key(word) not in spoken))
    named = replace(food, id=how.id or food.id, name=name, aliases=aliases)
    can = here.cans.get(food.kind)
    return named if can is None else replace(named, household=_in_can(named, can, here))


def _in_can(food: Food, can: str, here: Country) -> tuple[Household, ...]:
    amount = parse_amount(can)
    if amount.kind is UnitKind.VOLUME and food.density is None:
        return food.household
    grams = food.grams(amount, Kitchen.METRIC)
    note = say("foods.usual-tin", country=here.name, tin=can)
    kept = [household for household in food.household if household.unit != "can"]
    return (*kept, Household("can", grams, None, "common-practice", note))


@cache
def _glosses(table: str) -> Mapping[str, str]:
    """English words for names in another language, by food."""
    if not table:
        return {}
    return {row["id"]: row["gloss"] for row in read_rows(f"{table}/foods.csv")}


@cache
def _left_out(order: tuple[str, ...]) -> Mapping[str, str]:
    """Names left out as foods here, with the reason from the first table that gives one."""
    reasons: dict[str, str] = {}
    for key in order:
        folders = (key, DRINK) if key == REFERENCE else (key,)
        for row in read_rows(*(f"{folder}/left_out.csv" for folder in folders)):
            for name in filter(None, (row["id"], *row["aliases"].split(";"))):
                reasons.setdefault(name, row["reason"])
    return reasons
