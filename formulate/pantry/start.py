"""Write the first files of a new folder: a person's own, or the invented sample to edit."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp
from typing import Any

from formulate.base.errors import InputError
from formulate.base.files import as_utf8, reason, sync_folder
from formulate.base.messages import listed, say
from formulate.foods.country import DEFAULT_COUNTRY, country_named
from formulate.foods.shipped import read_shipped
from formulate.pantry.pantry import FILE, SAMPLE, SAMPLE_ABROAD, Pantry

__all__ = ["FLOCK_FILE", "Beginning", "check_free", "every_key", "pantry_text", "write_sample"]

FLOCK_FILE = "flock.toml"
#: Begins the name of the folder in which the first files are written.
_HIDDEN = ".start."
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

    They are written whole into a hidden folder beside their places and then get their names, one
    after the other. What a process that was killed left there is removed by the next.

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
        self.names = tuple(names)
        self.written: list[Path] = []
        self._hidden = folder
        _remove_hidden(folder)
        check_free(folder, self.names)
        around = reversed([folder, *folder.parents])
        self._made = next((one for one in around if not one.exists()), None)

    def __enter__(self) -> Beginning:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            self._hidden = Path(mkdtemp(dir=self.folder, prefix=_HIDDEN, suffix=".tmp"))
        except OSError as error:
            self._undo()
            raise self._cannot(error) from error
        return self

    def place(self, name: str) -> Path:
        """Where a file is until all are written."""
        return self._hidden / name

    def write(self, name: str, text: str) -> Path:
        """Write a file, onto the disk; return where it is until all are written."""
        path = self.place(name)
        with path.open("xb") as file:
            file.write(as_utf8(text, str(self.folder / name)))
            file.flush()
            os.fsync(file.fileno())
        return path

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: object
    ) -> None:
        try:
            if error is None:
                for name in self.names:
                    self._name(name)
                sync_folder(self.folder)
        except BaseException as late:
            self._undo()
            if isinstance(late, OSError):
                raise self._cannot(late) from late
            raise
        if error is not None:
            self._undo()
        rmtree(self._hidden, ignore_errors=True)
        if isinstance(error, OSError):
            raise self._cannot(error) from error

    def _name(self, name: str) -> None:
        """Give a file its name, which nothing may have got since anybody looked."""
        path = self.folder / name
        try:
            os.link(self.place(name), path)
        except FileExistsError:
            raise
        except OSError:  # no two names for one file on this disk
            check_free(self.folder, [name])
            self.place(name).rename(path)
        self.written.append(path)

    def _cannot(self, error: OSError) -> InputError:
        problem = say("errors.cannot-write", what="file", reason=reason(error))
        return InputError(problem, "", str(self.folder))

    def _undo(self) -> None:
        """Remove the files that were written, and the folders made for them."""
        if self._hidden != self.folder:
            rmtree(self._hidden, ignore_errors=True)
        with suppress(OSError):
            for path in self.written:
                path.unlink(missing_ok=True)
            made, folder = self._made, self.folder
            while made is not None and folder.is_relative_to(made):
                folder.rmdir()
                folder = folder.parent


def _remove_hidden(folder: Path) -> None:
    """Remove what was left by a process that was killed while it wrote the first files."""
    with suppress(OSError):
        for left in folder.glob(f"{_HIDDEN}*.tmp"):
            rmtree(left, ignore_errors=True)


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
