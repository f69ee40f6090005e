"""Edits to a pantry's text; every comment and every table that is not touched stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from formulate.base.errors import InputError
from formulate.foods.food_table import FoodTable

#: Keys to set in the file, by food id.
Edits = dict[str, dict[str, Any]]

__all__ = ["Edits", "keep_recipe", "put_block", "set_foods"]


def set_foods(edits: Edits, table: FoodTable) -> Callable[[str], str]:
    """Set keys of foods; a food that has no table yet gets one at the end of its kind."""

    def change(text: str) -> str:
        import tomlkit

        if not edits:
            return text
        document = tomlkit.parse(text)
        if "foods" not in document:
            document.add("foods", tomlkit.table(is_super_table=True))
        foods: Any = document["foods"]
        names = {table.find(name).id: name for name in foods}
        for food_id, keys in edits.items():
            if food_id not in names:
                foods.add(food_id, tomlkit.table())
            entry = foods[names.get(food_id, food_id)]
            for key, value in keys.items():
                if key == "in_mix" and value:
                    entry.pop(key, None)  # being on the shelf is the rule, and needs no word
                elif entry.get(key) != value:
                    entry[key] = value
        return tomlkit.dumps(document)

    return change


def keep_recipe(name: str, recipe: str) -> Callable[[str], str]:
    """Put a recipe among the pantry's recipes.

    Raises
    ------
    InputError
        If another recipe has that name.
    """

    def change(text: str) -> str:
        import tomlkit

        document = tomlkit.parse(text)
        if "recipes" not in document:
            document.add("recipes", tomlkit.table())
        recipes: Any = document["recipes"]
        if recipes.get(name) == recipe:
            return text
        if name in recipes:
            raise InputError(f'a recipe is called "{name}" already', "Give this one another name.")
        recipes[name] = recipe
        return tomlkit.dumps(document)

    return change


def put_block(block: str) -> Callable[[str], str]:
    """Put a table of a new food at the end."""

    def change(text: str) -> str:
        newline = "\r\n" if "\r\n" in text else "\n"
        gap = "" if text.endswith("\n") else newline
        return f"{text}{gap}{newline}{block.replace(chr(10), newline)}"

    return change
