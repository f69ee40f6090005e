"""Write the first files of a new folder: a person's own, or the invented sample to edit."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

from formulate.base.errors import InputError
from formulate.base.files import as_utf8, reason
from formulate.base.locks import lock_path
from formulate.base.messages import listed, say
from formulate.foods.country import DEFAULT_COUNTRY, country_named
from formulate.foods.shipped import read_shipped
from formulate.pantry.pantry import FILE, SAMPLE, SAMPLE_ABROAD, Pantry

__all__ = ["FLOCK_FILE", "Beginning", "check_free", "every_key", "pantry_text", "write_sample"]

FLOCK_FILE = "flock.toml"
#: File to write -> the shipped file it is made of; for another country than the default one.
FILES = {FILE: SAMPLE, FLOCK_FILE: "sample_flock.toml"}
_ABROAD = {FILE: SAMPLE_ABROAD, FLOCK_FILE: "samples/flock_metric.toml"}


def every_key(which: str) -> str:
    """The text of a file with every key that a "pantry" or "flock" may have, commented."""
    return read_shipped(f"samples/every_key_{which}.toml")


def pantry_text(
    pantry: Pantry, prices_on: date, recipes: Mapping[str, str], country: str | None = None
) -> str:
    """A pantry as its file has it: foods with their prices, and recipes.

    Parameters
    ----------
    pantry : Pantry
    prices_on : date
        Written where there are prices.
    recipes : mapping of str to str
    country : str, optional
        Where the person said which.
    """
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment(say("start.more-keys")))
    if country is not None:
        document["country"] = country
    if pantry.has_prices:
        document["currency"] = pantry.currency
        document["prices_on"] = prices_on
    document["kitchen"] = pantry.kitchen.value
    foods = tomlkit.table(is_super_table=True)
    for item in pantry.items:
        entry: Any = tomlkit.table()
        if item.price is not None:
            entry["price"] = item.price
            entry["package"] = item.package
        foods.add(item.food.id, entry)
    document.add("foods", foods)
    if recipes:
        table = tomlkit.table()
        for name, text in recipes.items():
            table[name] = text
        document.add("recipes", table)
    return tomlkit.dumps(document)


def check_free(folder: Path, names: Iterable[str] = FILES) -> None:
    """Reject a folder that already has any of the files.

    Raises
    ------
    InputError
    """
    paths = [folder / name for name in names]
    taken = [str(path) for path in paths if path.exists() or path.is_symlink()]
    if taken:
        raise InputError(
            say("start.taken", files=listed(taken), count=len(taken)), say("start.elsewhere")
        )


class Beginning:
    """The first files of a folder, all of them or none: a context in which they are written.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    names : iterable of str
        Files that will be written; if any is there already, nothing is.

    Raises
    ------
    InputError
        If a file is there already, or the folder cannot be written to.
    """

    def __init__(self, folder: Path, names: Iterable[str]) -> None:
        self.folder = folder
        self.written: list[Path] = []
        check_free(folder, names)
        around = reversed([folder, *folder.parents])
        self._made = next((one for one in around if not one.exists()), None)

    def __enter__(self) -> Beginning:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            self._undo()
            raise self._cannot(error) from error
        return self

    def write(self, name: str, text: str) -> Path:
        """Write a file that must not be there yet, onto the disk."""
        path = self.folder / name
        # "x" fails if the file has been created in the meantime.
        with path.open("xb") as file:
            self.written.append(path)
            file.write(as_utf8(text, str(path)))
            file.flush()
            os.fsync(file.fileno())
        return path

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: object
    ) -> None:
        if error is None:
            return
        self._undo()
        if isinstance(error, OSError):
            raise self._cannot(error) from error

    def _cannot(self, error: OSError) -> InputError:
        problem = say("errors.cannot-write", what="file", reason=reason(error))
        return InputError(problem, "", str(self.folder))

    def _undo(self) -> None:
        """Remove the files that were written, and the folders made for them."""
        with suppress(OSError):
            for path in self.written:
                path.unlink(missing_ok=True)
                lock_path(path).unlink(missing_ok=True)
            made, folder = self._made, self.folder
            while made is not None and folder.is_relative_to(made):
                folder.rmdir()
                folder = folder.parent


def write_sample(folder: str | Path, country: str | None = None) -> tuple[Path, ...]:
    """Write the sample files into a folder, made if it is not there.

    Parameters
    ----------
    folder : str or Path
    country : str, optional
        Whose foods, spoons and money.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    InputError
        If any of them is there already (none is written then), or the folder cannot be.
    UnknownName
        If there is no such country here.
    """
    folder = Path(folder)
    key = DEFAULT_COUNTRY if country is None else country_named(country).key
    shipped = FILES if key == DEFAULT_COUNTRY else _ABROAD
    with Beginning(folder, shipped) as begun:
        for name, source in shipped.items():
            begun.write(name, read_shipped(source.format(key)))
    return tuple(begun.written)
