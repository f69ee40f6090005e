"""Edit a pantry's text; comments and untouched tables stay as they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from formulate.base.errors import InputError
from formulate.base.files import read_text, replace_file
from formulate.base.locks import held
from formulate.base.messages import say
from formulate.foods.food_table import FoodTable

#: Keys to set in the file, by food id.
Edits = dict[str, dict[str, Any]]

__all__ = ["Edits", "change_pantry", "keep_recipe", "set_foods", "set_kitchen"]


def set_foods(edits: Edits, table: FoodTable) -> Callable[[str], str]:
    """Set keys of foods, or remove them (None); a new food gets a table at the end."""

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
                if value is None or (key == "in_mix" and value):
                    entry.pop(key, None)  # being on the shelf is the rule, and needs no word
                elif entry.get(key) != value:
                    entry[key] = value
        return tomlkit.dumps(document)

    return change


def set_kitchen(keys: Mapping[str, str | date | None]) -> Callable[[str], str]:
    """Set keys of the whole kitchen, as "country", "currency" or "prices_on"; None: none."""

    def change(text: str) -> str:
        import tomlkit

        document = tomlkit.parse(text)
        for key, value in keys.items():
            if value is None:
                document.pop(key, None)
            elif document.get(key) == value:
                continue
            elif key in document:
                document[key] = value
            else:  # before the tables, where keys of the file itself belong
                tables = [k for k, v in document.items() if hasattr(v, "items")]
                after = {k: document.pop(k) for k in tables}
                document[key] = value
                for name, table in after.items():
                    document[name] = table
        return tomlkit.dumps(document)

    return change


def keep_recipe(name: str, recipe: str) -> Callable[[str], str]:
    """Add a recipe to the pantry's recipes.

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
            raise InputError(say("files.recipe-taken", name=name), say("files.other-name"))
        recipes[name] = recipe
        return tomlkit.dumps(document)

    return change


def change_pantry(
    path: Path, change: Callable[[str], str], start: str | None = None
) -> tuple[str, bool]:
    """Change a pantry file: the one way to write one.

    The file is locked, and its new text is read as a pantry before it replaces the old one. So a
    valid file stays valid, and no other writer's change is lost.

    Parameters
    ----------
    path : Path
    change : callable
        Turns the current text into the new one.
    start : str, optional
        Text to change where there is no file yet; without it there must be one.

    Returns
    -------
    tuple of (str, bool)
        The resulting text, and whether it was written.

    Raises
    ------
    InputError
        If the file cannot be read or written, or the new text is not valid. Nothing is written
        then.
    """
    from tomlkit.exceptions import TOMLKitError

    from formulate.pantry.pantry import parse_pantry

    if start is None:
        read_text(path)  # so that no lock is made beside a file that is not there
    with held(path):
        new = start is not None and not path.exists()
        text = start if new and start is not None else read_text(path)
        try:
            changed = change(text)
        except TOMLKitError as error:
            raise InputError(
                say("today.edit.laid-out"), say("today.edit.by-hand"), str(path)
            ) from error
        if changed == text and not new:
            return text, False
        parse_pantry(changed, str(path))
        replace_file(path, changed)
        return changed, True
