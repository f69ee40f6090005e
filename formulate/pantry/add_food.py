"""Add a labelled food to a pantry file, keeping every existing byte."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.pantry.edit import change_pantry
from formulate.pantry.own_food import check_food_id

if TYPE_CHECKING:
    from formulate.pantry.labels.carton import Label
    from formulate.pantry.pantry import Pantry

__all__ = ["add_to_pantry", "check_free", "label_toml", "put_food"]


def label_toml(
    food_id: str, name: str, label: Label, more: Mapping[str, str | list[str]] | None = None
) -> str:
    """The table of a labelled food for a pantry file, with other keys of such a food."""
    import tomlkit

    table = tomlkit.table()
    given: dict[str, Any] = {
        "name": name,
        "kind": label.kind,
        "sold_as": label.sold_as,
        "like": label.like,
    }
    for key, text in {**given, **(more or {})}.items():
        if text:
            table.add(key, text)
    maps = {
        "panel": label.panel,
        "at_least": label.at_least,
        "at_most": label.at_most,
        "per_100_g": label.per_100_g,
    }
    for key, figures in maps.items():
        if figures:
            inline = tomlkit.inline_table()
            for figure, value in figures.items():
                inline.append(figure, _plain(value))
            table.add(key, inline)
    own = tomlkit.table(is_super_table=True)
    own.add(food_id, table)
    document = tomlkit.document()
    document.add("own", own)
    return tomlkit.dumps(document)


def put_food(
    food_id: str,
    name: str,
    label: Label,
    where: str = "",
    more: Mapping[str, str | list[str]] | None = None,
) -> Callable[[str], str]:
    """Add a labelled food at the end of a pantry's text.

    Parameters
    ----------
    food_id : str
    name : str
        What the person calls it; may be empty.
    label : Label
    where : str
        The file, for an error.
    more : mapping of str to str or list of str, optional
        Other keys of a food of one's own, as "weighs" or "largest_share".

    Returns
    -------
    callable
        Turns a text into the new text. It raises `InputError` if the text has faults already, or
        if the name is taken.
    """

    def change(text: str) -> str:
        from formulate.pantry.pantry import parse_pantry

        check_free(food_id, parse_pantry(text, where or "pantry"), where)
        newline = "\r\n" if "\r\n" in text else "\n"
        block = label_toml(food_id, name, label, more).replace("\n", newline)
        gap = "" if text.endswith("\n") else newline
        return f"{text}{gap}{newline}{block}"

    return change


def check_free(food_id: str, pantry: Pantry, where: str = "") -> None:
    """Reject a name that a new food cannot have.

    Raises
    ------
    InputError
    """
    check_food_id(food_id)
    if food_id in {food.id for food in pantry.own_foods}:
        raise InputError(
            say("label.own-name-taken", name=food_id), say("label.other-name"), where
        ).about("name")
    if food_id in pantry.table:
        raise InputError(
            say("label.table-name-taken", name=food_id),
            say("label.my-name", name=food_id),
            where,
        ).about("name")


def add_to_pantry(path: Path, food_id: str, name: str, label: Label) -> None:
    """Add a labelled food at the end of a pantry file; see `put_food` and `change_pantry`."""
    change_pantry(path, put_food(food_id, name, label, str(path)))


def _plain(value: str | float) -> str | float:
    """A typed figure as a number where that keeps its decimals; else as typed."""
    if not isinstance(value, str):
        return value
    if value.strip().isdigit():
        return int(value)
    try:
        return float(value) if str(float(value)) == value.strip() else value
    except ValueError:
        return value
