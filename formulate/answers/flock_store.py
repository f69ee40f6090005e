"""What the flock's file says of bottles, jars, the refrigerator and shopping days; change it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from formulate.answers.flock_edit import change_flock
from formulate.base.errors import InputError
from formulate.base.files import parse_toml, read_text
from formulate.base.messages import say
from formulate.pantry.pantry import Pantry

__all__ = ["STORED", "change_store", "stored"]

#: Keys of the file, in the order in which a person thinks of them.
STORED = ("name", "kitchen", "bottle_marks", "jar", "jars", "refrigerator", "shopping_days")


def stored(path: Path) -> dict[str, str]:
    """What the file says, as written there; days are parted by a space.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    written = parse_toml(read_text(path), path.name)
    return {
        key: " ".join(map(str, value)) if isinstance(value, list) else str(value)
        for key, value in written.items()
        if key in STORED
    }


def change_store(path: Path, told: Mapping[str, str], pantry: Pantry) -> str:
    """Change what the file says of them, and say so.

    Parameters
    ----------
    path : Path
        The flock file.
    told : mapping of str to str
        By key, as typed; what is empty is taken out of the file, and what is not named stays.
    pantry : Pantry

    Raises
    ------
    InputError
        If something cannot be read; nothing is written then.
    """
    typed = {key: " ".join(text.split()) for key, text in told.items() if key in STORED}
    values: dict[str, Any] = dict(typed)
    if count := typed.get("jars"):
        if not (count.isascii() and count.isdigit() and len(count) < 5):
            raise InputError(say("today.edit.no-jars", text=count[:20]),
                             say("today.edit.no-jars-remedy"))  # fmt: skip
        values["jars"] = int(count)
    if "shopping_days" in typed:
        values["shopping_days"] = typed["shopping_days"].lower().split()

    def change(document: Any) -> None:
        tables = [key for key, value in document.items() if hasattr(value, "items")]
        after = {key: document.pop(key) for key in tables}  # keys of the file itself stand first
        for key, value in values.items():
            if value in ("", []):
                document.pop(key, None)
            elif document.get(key) != value:
                document[key] = value
        for key, table in after.items():
            document[key] = table

    change_flock(path, lambda: "", change, pantry, "")
    return say("today.edit.stored")
