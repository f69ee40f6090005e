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
from functools import partial
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import read_text
from formulate.base.locks import lock_path
from formulate.base.messages import say
from formulate.pantry.edit import change_pantry
from formulate.pantry.pantry import Pantry, parse_pantry, sample_text

__all__ = ["Changed", "SavedShelf", "Store"]

PANTRY, FLOCK = "pantry.toml", "flock.toml"
#: Texts of the pantry that this run has shown, to tell who changed what.
REMEMBERED = 60


@dataclass(frozen=True)
class SavedShelf:
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

    def __init__(self, now: SavedShelf) -> None:
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
        self._seen: OrderedDict[str, SavedShelf] = OrderedDict()
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
            raise InputError(say("page.not-in-folder"), "", name)
        if path.is_symlink() or lock_path(path).is_symlink():
            raise InputError(
                say("page.a-link"),
                say("page.a-link-remedy"),
                str(path),
            )
        return path

    def shelf(self) -> SavedShelf:
        """The pantry as it is now: the folder's, or the sample if there is none.

        Raises
        ------
        InputError
            With everything that is wrong in the file.
        """
        path = self.path(PANTRY)
        if not path.exists():
            return self._read(sample_text(), say("page.sample-pantry"), saved=False)
        return self._read(read_text(path), str(path), saved=True)

    def version(self) -> str:
        """Mark of the files as they are now; it changes as soon as any of them is written."""
        marks = []
        for name in (PANTRY, FLOCK, str(Path(FLOCK).with_suffix(".log.csv"))):
            try:
                stat = (self.folder / name).lstat()
            except OSError:
                marks.append("none")
            else:
                marks.append(f"{stat.st_mtime_ns}-{stat.st_size}-{stat.st_ino}")
        return hashlib.sha256(" ".join(marks).encode()).hexdigest()[:16]

    def seen(self, mark: str) -> SavedShelf | None:
        """The pantry that a page was made from, if this run still knows it."""
        with self._lock:
            return self._seen.get(mark)

    def _read(self, text: str, where: str, *, saved: bool) -> SavedShelf:
        mark = _mark(text, saved)
        known = self.seen(mark)
        if known is not None:
            return known
        shelf = SavedShelf(text, parse_pantry(text, where, invented=not saved), mark, saved)
        with self._lock:
            self._seen[mark] = shelf
            while len(self._seen) > REMEMBERED:
                self._seen.popitem(last=False)
        return shelf

    def save(self, mark: str | None, change: Callable[[str], str]) -> SavedShelf:
        """Change the pantry file.

        Parameters
        ----------
        mark : str or None
            Of the pantry that the person saw; None if the change only adds, and so can take
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
        text, _ = change_pantry(path, partial(self._text, mark, change), sample_text())
        return self._read(text, str(path), saved=True)

    def _text(self, mark: str | None, change: Callable[[str], str], text: str) -> str:
        """The new text; where the file is another one, only if the change is in it already."""
        path = self.path(PANTRY)
        saved = path.exists()
        if mark is None or _mark(text, saved) == mark:
            return change(text)
        now = self._read(text, str(path), saved=saved)
        try:
            changed = change(text)
        except InputError:
            raise Changed(now) from None
        if changed != text or not saved:
            raise Changed(now)
        return changed


def _mark(text: str, saved: bool) -> str:
    """Of a pantry's text; another text has another mark."""
    kind = "file" if saved else "sample"
    return hashlib.sha256(f"{kind}\n{text}".encode()).hexdigest()[:32]
