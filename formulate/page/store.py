"""The chosen folder: its pantry and flock files, read afresh and saved without losing anything.

Every page carries a mark of the file as it was when the page was made. Saving holds the file's
lock, reads the file again and compares: where somebody else has written meanwhile, nothing is
written and a person is asked. The new text is read as a pantry before it replaces the old one.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import read_text, replace_file
from formulate.base.locks import held, lock_path
from formulate.pantry.pantry import SAMPLE, Pantry, parse_pantry

__all__ = ["Changed", "Shelf", "Store"]

PANTRY, FLOCK = "pantry.toml", "flock.toml"
#: Texts of the pantry that this run has shown, to tell who changed what.
REMEMBERED = 60


@dataclass(frozen=True)
class Shelf:
    """A pantry file as it was read.

    Parameters
    ----------
    text : str
    pantry : Pantry
    mark : str
        Of the text; another text has another mark.
    saved : bool
        Whether it is a file; otherwise it is the built-in sample.
    """

    text: str
    pantry: Pantry
    mark: str
    saved: bool


class Changed(Exception):
    """The file was changed elsewhere since the page was made; nothing was written."""

    def __init__(self, now: Shelf) -> None:
        super().__init__("changed elsewhere")
        self.now = now


class Store:
    """A folder's files.

    Parameters
    ----------
    folder : Path
        Nothing outside it is read or written.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._seen: OrderedDict[str, Shelf] = OrderedDict()
        self._lock = threading.Lock()

    def path(self, name: str) -> Path:
        """A file of the folder.

        Raises
        ------
        InputError
            If it is a link, or its name leads out of the folder.
        """
        path = self.folder / name
        if path.parent != self.folder or not name or name in (".", ".."):
            raise InputError("this file is not in the folder of the page", "", name)
        if path.is_symlink() or lock_path(path).is_symlink():
            raise InputError(
                "this is a link to somewhere else, and the page keeps to its folder",
                "Put the file itself there.",
                str(path),
            )
        return path

    def shelf(self) -> Shelf:
        """The pantry as it is now: the folder's, or the sample where there is none.

        Raises
        ------
        InputError
            With everything that is wrong in the file.
        """
        path = self.path(PANTRY)
        if not path.exists():
            text = files("nutrient_tables").joinpath(SAMPLE).read_text(encoding="utf-8")
            return self._read(text, "the sample pantry", saved=False)
        return self._read(read_text(path), str(path), saved=True)

    def seen(self, mark: str) -> Shelf | None:
        """The pantry that a page was made from, if this run still knows it."""
        with self._lock:
            return self._seen.get(mark)

    def _read(self, text: str, where: str, *, saved: bool) -> Shelf:
        kind = "file" if saved else "sample"
        mark = hashlib.sha256(f"{kind}\n{text}".encode()).hexdigest()[:32]
        known = self.seen(mark)
        if known is not None:
            return known
        shelf = Shelf(text, parse_pantry(text, where, invented=not saved), mark, saved)
        with self._lock:
            self._seen[mark] = shelf
            while len(self._seen) > REMEMBERED:
                self._seen.popitem(last=False)
        return shelf

    def save(self, mark: str | None, change: Callable[[str], str]) -> Shelf:
        """Change the pantry file.

        Parameters
        ----------
        mark : str or None
            Of the pantry that the person saw; None where the change only adds, and so can take
            nothing away whatever the file has become.
        change : callable
            Gives the new text of a text. It is called with the text of now.

        Returns
        -------
        Shelf
            As saved.

        Raises
        ------
        Changed
            If the file is another one than the person saw, and the change is not in it yet.
        InputError
            If the new text would not work, or cannot be written.
        """
        path = self.path(PANTRY)
        with held(path):
            now = self.shelf()
            text = self._text(mark, change, now, str(path))
            if text == now.text and now.saved:
                return now
            parse_pantry(text, str(path))
            replace_file(path, text)
            return self._read(text, str(path), saved=True)

    @staticmethod
    def _text(mark: str | None, change: Callable[[str], str], now: Shelf, where: str) -> str:
        """The new text; where the file is another one, only if the change is in it already."""
        if mark is None or now.mark == mark:
            return _changed(change, now.text, where)
        try:
            text = _changed(change, now.text, where)
        except InputError:
            raise Changed(now) from None
        if text != now.text or not now.saved:
            raise Changed(now)
        return text


def _changed(change: Callable[[str], str], text: str, where: str) -> str:
    from tomlkit.exceptions import TOMLKitError

    try:
        return change(text)
    except TOMLKitError as error:
        raise InputError(
            "the page cannot change this file as it is laid out", "Change it by hand.", where
        ) from error
