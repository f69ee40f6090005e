"""List the foods, or show what is known about one, in this table and in others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from formulate.answers.cautions import Caution, milk_entries
from formulate.answers.conditions import Applied, OfFoods
from formulate.base.shown import brief_repr
from formulate.foods.food import Food
from formulate.foods.food_table import FoodTable, Unfit
from formulate.foods.national import NutrientTable, nutrient_tables, table_named
from formulate.foods.several import Difference, differences, same_food_rows

__all__ = ["FoodList", "OneFood", "list_foods", "show_food"]


@brief_repr
@dataclass(frozen=True)
class OneFood:
    """A food beside its namesakes in other tables.

    Parameters
    ----------
    food : Food
    rows : tuple of Food
        Rows of the tables that are this food, itself first; just itself where no other has it.
    differences : tuple of Difference
        Measure by measure, in the order of `rows`; empty if there is one row.
    tables : tuple of NutrientTable
        Where the rows come from: to be named with their values.
    cautions : tuple of Caution
        What to say about this row in any milk that has it, because other tables differ.
    """

    food: Food
    rows: tuple[Food, ...]
    differences: tuple[Difference, ...]
    tables: tuple[NutrientTable, ...]
    cautions: tuple[Caution, ...] = ()

    @property
    def telling(self) -> tuple[Difference, ...]:
        """Differences that are more than cartons vary."""
        return tuple(one for one in self.differences if any(one.beyond))


def show_food(name: str, table: FoodTable) -> OneFood:
    """Look a food up and put its rows from every table side by side.

    Parameters
    ----------
    name : str
        Any of its names, or a table and its code.
    table : FoodTable
        Of the kitchen's country.

    Raises
    ------
    InputError
        If the name is none, or means several foods.
    """
    food = table.find(name)
    rows = same_food_rows(food, table)
    known = nutrient_tables()
    sources = tuple(known[key] for key in dict.fromkeys(row.table for row in rows) if key in known)
    cautions = tuple(
        entry.caution(Applied(foods=(food.id,)))
        for entry in milk_entries()
        if isinstance(entry.when, OfFoods) and entry.when.table and entry.when.is_of(food)
    )
    return OneFood(food, rows, differences(rows) if len(rows) > 1 else (), sources, cautions)


@brief_repr
@dataclass(frozen=True)
class FoodList:
    """Some foods.

    Parameters
    ----------
    foods : tuple of Food
    words : tuple of str
        What was looked for.
    elsewhere : int
        How many more the other tables have, where only those at home are listed.
    unfit : tuple of Unfit
        What goes by such words and is not for lambs or kids.
    left_out : str
        Why what goes by these words is left out of the table; empty if it is not.
    """

    foods: tuple[Food, ...]
    words: tuple[str, ...] = ()
    elsewhere: int = 0
    unfit: tuple[Unfit, ...] = ()
    left_out: str = ""


def list_foods(table: FoodTable, words: Sequence[str] = (), of: str | None = None) -> FoodList:
    """Foods in whose names every word occurs; without words those at home.

    Parameters
    ----------
    table : FoodTable
        Of the kitchen's country.
    words : sequence of str
    of : str, optional
        A food-composition table: only its foods, at home or not.

    Raises
    ------
    UnknownName
        If that table is not installed.
    """
    if of is None:
        elsewhere = 0 if words else len(table.abroad)
        found, unfit = table.search(words), table.search_unfit(words)
        left_out = table.left_out(" ".join(words))
        return FoodList(found, tuple(words), elsewhere, unfit, left_out)
    key = table_named(of).key
    chosen = {food.id for food in (*table.values(), *table.abroad.values()) if food.table == key}
    found = table.search(words) if words else (*table.values(), *table.abroad.values())
    return FoodList(tuple(food for food in found if food.id in chosen), tuple(words))
