"""Put a labelled food into a pantry file, with every byte that is there kept."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.base.errors import InputError
from formulate.base.files import read_text, replace_file
from formulate.base.locks import held

if TYPE_CHECKING:
    from formulate.pantry.labels.carton import Label

__all__ = ["add_to_pantry", "label_toml"]


def label_toml(food_id: str, name: str, label: Label) -> str:
    """The table of a labelled food as a pantry file has it."""
    import tomlkit

    table = tomlkit.table()
    given: dict[str, Any] = {
        "name": name,
        "kind": label.kind,
        "sold_as": label.sold_as,
        "like": label.like,
    }
    for key, text in given.items():
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


def add_to_pantry(path: Path, food_id: str, name: str, label: Label) -> None:
    """Add a labelled food at the end of a pantry file.

    The file is held, and read as it would then be before it is replaced: a file that works goes
    on working, nothing that is in it changes, and no other writer's change is lost.

    Raises
    ------
    InputError
        If the file cannot be read or written, has faults already, or the name is taken.
    """
    from formulate.pantry.pantry import parse_pantry

    read_text(path)  # so that no lock is made beside a file that is not there
    with held(path):
        text = read_text(path)
        pantry = parse_pantry(text, str(path))
        if food_id in {food.id for food in pantry.own_foods}:
            raise InputError(
                f'a food of your own is called "{food_id}" already',
                "Nothing was changed. Give this one another name.",
                str(path),
            )
        if food_id in pantry.table:
            raise InputError(
                f'a food of the table is called "{food_id}"',
                f'Nothing was changed. Give yours another name, as "my-{food_id}".',
                str(path),
            )
        newline = "\r\n" if "\r\n" in text else "\n"
        block = label_toml(food_id, name, label).replace("\n", newline)
        gap = "" if text.endswith("\n") else newline
        grown = f"{text}{gap}{newline}{block}"
        parse_pantry(grown, str(path))
        replace_file(path, grown)


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
