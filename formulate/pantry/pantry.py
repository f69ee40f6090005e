"""The pantry file: what is on the shelf and what it costs, with own foods, ranges and recipes.

A TOML file. `formulate.pantry.pantry_shape` says what it may hold, this module what that means;
all faults are reported together, each with its table and key. ``nutrient_tables/samples`` has a
file with every key and what it is for, `every_key`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Set
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from formulate.base.content import ByContent
from formulate.base.errors import InputError, UnknownName
from formulate.base.faults import Faults
from formulate.base.files import as_path, parse_toml, read_text
from formulate.base.folder import file_lying_in
from formulate.base.messages import say
from formulate.base.shapes import read_shape
from formulate.base.shown import Renderable, brief
from formulate.base.units import Kitchen, number_ahead, parse_amount, parse_share
from formulate.blend.problem import Shelf
from formulate.foods.bands import BandSet, Basis, Role
from formulate.foods.country import DEFAULT_COUNTRY, Country, country_named
from formulate.foods.food import Food
from formulate.foods.food_table import FoodTable
from formulate.foods.national import country_foods, table_named
from formulate.foods.shipped import read_shipped
from formulate.foods.tables import band_from, band_set
from formulate.pantry.item import Item, Package
from formulate.pantry.own_food import own_food
from formulate.pantry.pantry_shape import BandsEntry, PantryFile
from formulate.pantry.plausible import price_questions
from formulate.pantry.recipe import Recipe, parse_recipe

__all__ = [
    "Pantry",
    "foods_of",
    "load_pantry",
    "pantry_file",
    "pantry_here",
    "parse_pantry",
    "read_pantry",
    "sample_pantry",
    "sample_text",
]

#: The built-in sample of the default country, and of another.
SAMPLE, SAMPLE_ABROAD = "sample_pantry.toml", "samples/pantry_{}.toml"
#: What a pantry file is called, where a folder is looked in.
FILE = "pantry.toml"


@dataclass(frozen=True, eq=False)
class Pantry(ByContent, Renderable):
    """A shelf with its prices, and the person's own foods, ranges and recipes.

    Parameters
    ----------
    items : tuple of Item
        On the shelf, in the file's order.
    currency : str
        Three letters.
    kitchen : Kitchen
        Whose volume words.
    measures : str
        "cups" or "scale".
    prices_on : date or None
        Date of prices that have none of their own.
    own_foods : tuple of Food
    own_bands : mapping of str to BandSet
    recipes : mapping of str to Recipe
    name : str
        What the person calls it.
    where : str
        The file.
    invented : bool
        Whether it is the built-in sample.
    country : Country
        Whose defaults fill what the file leaves out.
    table : FoodTable
        The foods of that country and the person's own.
    stated : str
        Key of the country where the file states it; empty if nobody has said.
    """

    items: tuple[Item, ...]
    currency: str
    kitchen: Kitchen = Kitchen.US
    measures: str = "cups"
    prices_on: date | None = None
    own_foods: tuple[Food, ...] = ()
    own_bands: Mapping[str, BandSet] = field(default_factory=dict)
    recipes: Mapping[str, Recipe] = field(default_factory=dict)
    name: str = ""
    where: str = ""
    invented: bool = False
    country: Country = field(default_factory=partial(country_named, DEFAULT_COUNTRY), repr=False)
    table: FoodTable = field(default_factory=country_foods, repr=False, compare=False)
    stated: str = ""

    def __repr__(self) -> str:
        dates = self.price_dates()
        return brief(
            self,
            self.name or self.where,
            f"{len(self.items)} foods: {', '.join(self.ids)}",
            f"{self.currency} prices of {dates[0]}" if dates else "no prices",
            f"{len(self.recipes)} recipes" if self.recipes else "",
        )

    @property
    def ids(self) -> tuple[str, ...]:
        """Food ids on the shelf."""
        return tuple(item.food.id for item in self.items)

    def ranges(self, name: str) -> BandSet:
        """A set of ranges by name: one of the person's own, or a built-in one.

        Raises
        ------
        UnknownName
            If there is no such set.
        """
        return band_set(name, self.own_bands)

    @property
    def decimal(self) -> str:
        """Decimal mark of what is printed: a point where nobody has said the country."""
        return self.country.decimal if self.stated else "."

    @property
    def paper(self) -> str:
        """The paper it prints on: "a4" or "letter"; from its cups if no country is given."""
        if self.stated:
            return self.country.paper
        return "letter" if self.kitchen is Kitchen.US else "a4"

    def item(self, food_id: str) -> Item | None:
        """The item of a food, or None."""
        return next((item for item in self.items if item.food.id == food_id), None)

    def price_per_gram(self, food_id: str) -> float:
        """Money per gram of a food; NaN where it is not priced here; water costs nothing."""
        item = self.item(food_id)
        if item is None:
            food = self.table.get(food_id)
            return 0.0 if food is not None and food.kind == "water" else math.nan
        return item.price_per_gram

    @property
    def has_prices(self) -> bool:
        """Whether any food that a milk may have is priced; then every one of them is."""
        return any(
            item.price is not None
            for item in self.items
            if item.in_mix and not item.food.drink_only
        )

    def price_dates(self) -> tuple[date, date] | None:
        """First and last date of the prices."""
        days = [item.priced_on for item in self.items if item.priced_on]
        return (min(days), max(days)) if days else None

    def questions(self, today: date | None = None) -> tuple[str, ...]:
        """Prices that look like typing mistakes, each as a question."""
        return price_questions(self.items, self.currency, today or date.today())

    @property
    def for_milk(self) -> tuple[Item, ...]:
        """What a milk may have."""
        return tuple(item for item in self.items if item.in_mix and not item.food.drink_only)

    def shelf(self) -> Shelf:
        """The foods that a milk may have, as arrays."""
        return shelf_of(self.for_milk, self.currency, self.stated)

    def shelf_for(self, foods: Iterable[Food]) -> Shelf:
        """Some foods, at this pantry's prices, without limits: for a recipe already made."""
        chosen = tuple(foods)
        return Shelf(
            chosen,
            price=np.array([self.price_per_gram(f.id) for f in chosen]),
            largest_share=np.ones(len(chosen)),
            currency=self.currency,
            country=self.stated,
        )


def shelf_of(items: Iterable[Item], currency: str, country: str = "") -> Shelf:
    """Turn items into arrays."""
    chosen = tuple(items)

    def shares(item: Item) -> float:
        own = item.food.largest_share if item.largest_share is None else item.largest_share
        return 1.0 if own is None else own

    return Shelf(
        tuple(item.food for item in chosen),
        price=np.array([item.price_per_gram for item in chosen]),
        largest_share=np.array([shares(item) for item in chosen]),
        on_hand=np.array([math.inf if i.on_hand is None else i.on_hand for i in chosen]),
        smallest=np.array([i.smallest or 0.0 for i in chosen]),
        currency=currency,
        country=country,
    )


def load_pantry(path: Path | str, country: str | None = None) -> Pantry:
    """Read a pantry file.

    Parameters
    ----------
    path : Path or str
        The file, as "pantry.toml".
    country : str, optional
        Used in place of the file's own.

    Returns
    -------
    Pantry

    Raises
    ------
    WrongType
        If it is not a path.
    InputError
        If the file cannot be read or is not TOML.
    ManyFaults
        With every fault in it.
    """
    path = as_path(path)
    return parse_pantry(read_text(path), str(path), country=country)


def foods_of(path: Path | None, country: str | None = None) -> FoodTable:
    """The foods of a pantry file, of a country, or of the default country.

    Parameters
    ----------
    path : Path, optional
    country : str, optional
        Used in place of the file's own.
    """
    if path is not None:
        return load_pantry(path, country).table
    return country_foods(None if country is None else country_named(country).key)


def pantry_here(folder: Path, country: str | None = None) -> Pantry:
    """The pantry of a folder, or the built-in sample where there is none.

    It is ``pantry.toml``, else the one file of the folder that has foods.

    Parameters
    ----------
    folder : Path
    country : str, optional
        Used in place of the file's own; whose sample.

    Raises
    ------
    InputError
        With every fault of the folder's file: the sample does not stand in for a broken one.
        If there are several and none is ``pantry.toml``.
    """
    path = pantry_file(folder)
    return sample_pantry(country) if path is None else load_pantry(path, country)


def pantry_file(folder: Path) -> Path | None:
    """The pantry's file in a folder: ``pantry.toml``, else the one file that has foods.

    Raises
    ------
    InputError
        If there are several and none is ``pantry.toml``.
    """
    if (folder / FILE).exists() or (folder / FILE).is_symlink():
        return folder / FILE
    return file_lying_in(folder, "foods", "pantry")


def sample_pantry(country: str | None = None) -> Pantry:
    """The built-in sample of a country: an invented smallholding with invented prices.

    Parameters
    ----------
    country : str, optional
        As "uk"; the default country's where left out.

    Returns
    -------
    Pantry

    Raises
    ------
    WrongType, UnknownName
        If there is no such country here.
    """
    return parse_pantry(sample_text(country), say("files.sample-pantry"), invented=True)


def sample_text(country: str | None = None) -> str:
    """The built-in sample of a country as a file has it."""
    key = DEFAULT_COUNTRY if country is None else country_named(country).key
    name = SAMPLE if key == DEFAULT_COUNTRY else SAMPLE_ABROAD.format(key)
    return read_shipped(name)


def parse_pantry(
    text: str, where: str = "pantry", *, invented: bool = False, country: str | None = None
) -> Pantry:
    """Read a pantry from TOML text; see `load_pantry`."""
    return read_pantry(parse_toml(text, where), where, invented=invented, country=country)


def read_pantry(
    data: Mapping[str, Any],
    where: str = "pantry",
    *,
    invented: bool = False,
    country: str | None = None,
) -> Pantry:
    """Read a pantry from the tables and keys that its file would hold; see `load_pantry`."""
    shape = read_shape(PantryFile, data, "pantry", where)
    if country is not None:
        shape = replace(shape, country=country_named(country).key)
    faults = Faults(where)
    here, shipped = _country(shape, faults)
    kitchen = Kitchen(shape.kitchen or here.kitchen)
    rules = here.panel if shape.country else "us"
    own = tuple(
        food
        for name, entry in shape.own.items()
        if (food := faults.catch(f"own.{name}", partial(own_food, name, entry, kitchen, rules)))
    )
    table = faults.catch("own", lambda: shipped.with_own(own)) or shipped
    currency = shape.currency or (here.currency if shape.country else "")
    faulty = shape.own.keys() - {food.id for food in own}
    items = _items(shape, table, kitchen, faults, faulty)
    if not currency and any(e.price is not None or e.sizes for e in shape.foods.values()):
        faults.add("currency", say("own.no-currency"), say("own.no-currency-remedy"))
    bands = _own_bands(shape, faults)
    recipes: dict[str, Recipe] = {}
    for name, text_of in shape.recipes.items():
        if any(food in text_of for food in faulty):  # the fault is reported for the food
            continue
        recipe = faults.catch(
            f"recipes.{name}",
            partial(parse_recipe, text_of, table, kitchen, name),
        )
        if recipe:
            recipes[name] = recipe
    if not shape.foods:
        faults.add("foods", say("own.empty"), say("own.empty-remedy"))
    faults.settle()
    return Pantry(
        items,
        currency,
        kitchen,
        shape.measures,
        shape.prices_on,
        own,
        bands,
        recipes,
        shape.name,
        where,
        invented,
        here,
        table,
        here.key if shape.country else "",
    )


def _country(shape: PantryFile, faults: Faults) -> tuple[Country, FoodTable]:
    """The country that is meant, and its foods; those of the default where it is none."""
    country = None
    if shape.country is not None:
        country = faults.catch("country", partial(country_named, shape.country))
    first = None
    if shape.table is not None:
        found = faults.catch("table", partial(table_named, shape.table))
        first = found and found.key
    here = country or country_named(DEFAULT_COUNTRY)
    return here, country_foods(country and country.key, first)


def _items(
    shape: PantryFile, table: FoodTable, kitchen: Kitchen, faults: Faults, faulty: Set[str]
) -> tuple[Item, ...]:
    items: list[Item] = []
    seen: dict[str, str] = {}
    for name, entry in shape.foods.items():
        place = f"foods.{name}"
        if name in faulty:  # the fault is reported for the food
            continue
        food = faults.catch(place, partial(table.find, name))
        if food is None:
            continue
        if food.id in seen:
            faults.add(
                place,
                say("own.same-food", name=name, other=seen[food.id], food=food.id),
                say("own.same-food-remedy"),
            )
            continue
        seen[food.id] = name

        def weigh(
            key: str, text: str | None, food: Food = food, place: str = place
        ) -> float | None:
            if text is None:
                return None
            return faults.catch(f"{place}.{key}", lambda: food.grams(parse_amount(text), kitchen))

        if entry.price is not None and entry.package is None:
            faults.add(f"{place}.package", say("own.no-package"), say("own.no-package-remedy"))
        items.append(
            Item(
                food,
                entry.price,
                entry.package,
                weigh("package", entry.package),
                entry.priced_on or shape.prices_on,
                weigh("on_hand", entry.on_hand),
                faults.catch(f"{place}.largest_share", partial(parse_share, entry.largest_share)),
                weigh("smallest", entry.smallest),
                entry.step,
                entry.use_by,
                entry.in_mix,
                tuple(
                    Package(size.package, grams, size.price)
                    for k, size in enumerate(entry.sizes, 1)
                    if (grams := weigh(f"sizes.{k}.package", size.package))
                ),
                entry.keeps_closed,
                entry.keeps_open,
            )
        )
        if entry.step is not None and entry.step.strip().lower() != "whole package":
            weigh("step", entry.step)
    # Prices may be left out, of all foods that a milk may have: then nothing else is missing.
    priced = any(
        i.price is not None or i.package or i.sizes for i in items if not i.food.drink_only
    )
    for item in items:
        if item.price is None and (priced or item.package or item.sizes):
            place = f"foods.{seen[item.food.id]}.price"
            faults.add(place, say("own.no-price"), say("own.no-price-remedy"))
    if any(item.packages and item.priced_on is None for item in items):
        faults.add("prices_on", say("own.no-date"), say("own.no-date-remedy"))
    return tuple(items)


def _own_bands(shape: PantryFile, faults: Faults) -> dict[str, BandSet]:
    sets: dict[str, BandSet] = {}
    for name, entry in shape.bands.items():
        place = f"bands.{name}"
        made = faults.catch(place, partial(_band_set, name, entry))
        if made:
            sets[name] = made
    return sets


def _band_set(name: str, entry: BandsEntry) -> BandSet:
    """A person's own set: another set with some of its demands replaced."""
    start = band_set(entry.like)
    faults = Faults()
    own = []
    for number, demand in enumerate(entry.demand, 1):
        fields = {k: v for k, v in asdict(demand).items() if v is not None}
        made = {"source": "own-ranges", **fields}
        band = faults.catch(f"demand {number}", partial(band_from, made, Role.DEMANDED))
        if band:
            own.append(band)
    faults.settle()
    kept = []
    for band in start.bands:
        if band.role is Role.SAFETY or not any(band.same_read(mine) for mine in own):
            kept.append(band)
    if not any(
        band.low > 0 and band.basis in (Basis.AS_FED, Basis.PER_LITRE)
        for band in (*own, *kept)
        if band.role is Role.DEMANDED
    ):
        raise InputError(
            say("own.only-ratios"),
            say("own.only-ratios-remedy"),
        )
    title = entry.title or say("own.ranges", name=start.name)
    demanded = [b for b in kept if b.role is not Role.SAFETY]
    safety = [b for b in kept if b.role is Role.SAFETY]
    return BandSet(name, title, start.species, (*own, *demanded, *safety), start.note)


def recipe_named(name: str, pantry: Pantry | None, kitchen: Kitchen) -> Recipe:
    """Turn what a person typed into a recipe: a recipe's name in the pantry, or recipe text.

    Raises
    ------
    InputError
        If it is neither.
    NotForLambs
        If it is the name of something that must not be fed.
    """
    if pantry and name.strip() in pantry.recipes:
        return pantry.recipes[name.strip()]
    table = pantry.table if pantry else country_foods()
    if table.unfit(name) is not None:
        table.find(name)
    amount = re.match(number_ahead, name.strip(), re.IGNORECASE) or any(map(str.isdigit, name))
    if name.strip() and not amount and pantry and pantry.recipes:
        raise UnknownName("recipe", name, pantry.recipes, say("recipe.a-name-or-text"))
    return parse_recipe(name, table, kitchen)
