"""What a country decides: which table comes first, names of foods, spoons, money and paper.

All of it is data (``nutrient_tables/countries.toml``, ``law.toml``); any key of a pantry overrides
it. A country changes no figure: the same row of the same table is the same food everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from formulate.base.errors import UnknownName, check_type
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen
from formulate.foods.shipped import read_toml

__all__ = ["DEFAULT_COUNTRY", "Called", "Country", "Law", "countries", "country_named", "law_of"]

#: The default country.
DEFAULT_COUNTRY = "us"


@dataclass(frozen=True, slots=True)
class Called:
    """What a food is called in a country.

    Parameters
    ----------
    id, name : str
        Its id and its name there; empty if the table's own will do.
    words : tuple of str
        What else people say.
    """

    id: str = ""
    name: str = ""
    words: tuple[str, ...] = ()


@brief_repr
@dataclass(frozen=True)
class Country:
    """A country's kitchens.

    Parameters
    ----------
    key : str
        "us", "uk", "fr" ...
    name : str
        In English.
    tables : tuple of str
        Food-composition tables in their order; the foods of the first are at home.
    own_table : bool
        Whether the first table describes this country.
    language : str
        Of its food names.
    kitchen : Kitchen
        Whose spoons and cups.
    currency : str
        Three letters.
    paper : str
        "a4" or "letter".
    decimal : str
        Decimal mark of what is printed.
    panel : str
        Rounding rules of its nutrition labels: "us", "eu" or "anz".
    sold : mapping of str to Called
        Foods of other tables that its shops sell, by "id" or "table:id".
    called : mapping of str to Called
        Foods of the first table that go by another name.
    not_sold : frozenset of str
        Foods of the first table that its shops hardly sell.
    cans : mapping of str to str
        A usual tin by kind of food, as "410 g".
    packages : mapping of str to tuple of str
        Usual packages by kind of food.
    """

    key: str
    name: str
    tables: tuple[str, ...]
    own_table: bool
    language: str
    kitchen: Kitchen
    currency: str
    paper: str
    decimal: str
    panel: str
    sold: Mapping[str, Called] = field(default_factory=dict, repr=False, compare=False)
    called: Mapping[str, Called] = field(default_factory=dict, repr=False, compare=False)
    not_sold: frozenset[str] = field(default=frozenset(), repr=False, compare=False)
    cans: Mapping[str, str] = field(default_factory=dict, repr=False, compare=False)
    packages: Mapping[str, tuple[str, ...]] = field(default_factory=dict, repr=False, compare=False)

    @property
    def milk_package(self) -> str:
        """The package in which milk prices are quoted there: "gallon", "L"."""
        return self.packages["milk"][0].removeprefix("1 ")


@dataclass(frozen=True, slots=True)
class Law:
    """What a country's law says about feeding shop milk to farm animals, as far as we know it.

    Parameters
    ----------
    country : str
        Key of the country.
    text : str
        Cautious wording: never "legal", never "illegal".
    ask : str
        Whom to ask.
    source : str
        Key of the source list.
    """

    country: str
    text: str
    ask: str
    source: str


@cache
def countries() -> Mapping[str, Country]:
    """Every country that is known here, by its key."""
    data = read_toml("countries.toml")
    return {key: _country(key, entry, data) for key, entry in data.items()}


def _country(key: str, entry: Mapping[str, Any], data: Mapping[str, Any]) -> Country:
    fields = dict(entry)
    sold = {**data.get(fields.pop("like", ""), {}).get("sold", {}), **fields.pop("sold", {})}
    packages = {kind: tuple(words) for kind, words in fields.pop("packages", {}).items()}
    return Country(
        key=key,
        tables=tuple(fields.pop("tables")),
        kitchen=Kitchen(fields.pop("kitchen")),
        sold={food: _called(how) for food, how in sold.items()},
        called={food: _called(how) for food, how in fields.pop("called", {}).items()},
        not_sold=frozenset(fields.pop("not_sold", ())),
        packages=packages,
        **fields,
    )


def _called(entry: Mapping[str, Any]) -> Called:
    return Called(entry.get("id", ""), entry.get("name", ""), tuple(entry.get("words", ())))


def country_named(name: str) -> Country:
    """Look a country up by its key or its English name.

    Raises
    ------
    UnknownName
        With the nearest ones.
    """
    check_type(name, (str,), say("library.what.country"), say("library.a-country"))
    known = countries()
    word = name.strip().casefold()
    for country in known.values():
        if word in (country.key, country.name.casefold()):
            return country
    names = ", ".join(f"{c.key} ({c.name})" for c in known.values())
    raise UnknownName("country", name, known, say("errors.known.countries", names=names))


@cache
def law_of(country: str) -> tuple[Law, ...]:
    """What is known about a country's law; empty if nothing is."""
    return tuple(
        Law(country, " ".join(entry["text"].split()), entry["ask"], entry["source"])
        for entry in read_toml("law.toml").get(country, {}).get("rules", [])
    )
