"""Choose the file that a person means when they name only a folder."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import is_file
from formulate.base.messages import listed, say

__all__ = ["file_lying_in"]

#: Files looked at in a folder, at most: nobody keeps more lists in one.
MOST_FILES = 200
#: Nothing longer is a list of foods or animals [bytes].
LONGEST = 2_000_000


def file_lying_in(folder: Path, table: str, word: str) -> Path | None:
    """The one TOML file of a folder that has a table; None if there is none.

    Parameters
    ----------
    folder : Path
    table : str
        At the top of the file, as "animals".
    word : str
        What such a file is called, as "flock". A file that cannot be read counts too if it has
        the word in its name, or a heading of the table: its fault is reported, nothing is put in
        its place.

    Raises
    ------
    InputError
        If there are several.
    """
    try:
        paths = sorted(folder.glob("*.toml"))[:MOST_FILES]
    except OSError:
        return None
    found = [path for path in paths if _has(path, table, word)]
    if len(found) > 1:
        names = listed([path.name for path in found])
        raise InputError(
            say("errors.several-files", count=len(found), word=word, names=names),
            say("errors.name-the-file"),
        )
    return found[0] if found else None


def _has(path: Path, table: str, word: str) -> bool:
    try:
        if not is_file(path) or path.stat().st_size > LONGEST:
            return False
        data = path.read_bytes()
    except OSError:
        return word in path.name.lower()
    try:
        return table in tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        heading = rb"^\s*\[+\s*%s\b" % table.encode()
        return word in path.name.lower() or bool(re.search(heading, data, re.MULTILINE))
