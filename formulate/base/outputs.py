"""Files that the program writes for people; it never overwrites one that it did not write.

Each carries the program's name where its format has room for it, or a header that only the
program writes. A file of that name that has neither is somebody's own and stays as it is.
"""

from __future__ import annotations

import re
from enum import Enum
from pathlib import Path

from formulate.base.errors import InputError, quoted
from formulate.base.files import reason, replace_file
from formulate.base.locks import held
from formulate.base.messages import listed, say

__all__ = ["NAME", "Output", "check_output", "write_output"]

#: What the program writes into a file's metadata.
NAME = "formulate"
#: The ending of a flock's log; a log may be created later where there is none yet.
LOG_ENDING = ".log.csv"
#: How much of a file is examined [bytes].
_LOOKED_AT = 4_000_000
#: A heading that no other table has: "cost [USD/L]"; that of a table of names; of many answers.
_TABLE = re.compile(
    rb"[^\r\n]*cost[^,\r\n]* \[[A-Z]{3}/L\]|name,stands for,meaning\r?\n"
    rb"|pantry,reference,prices,verdict,"
)
_OURS = {
    ".csv": _TABLE,
    ".ics": re.compile(rb"BEGIN:VCALENDAR.*?^PRODID:[^\r\n]*formulate", re.DOTALL | re.MULTILINE),
    ".lp": re.compile(rb"\\\* formulate"),
    ".mps": re.compile(rb"(?:\*[^\r\n]*\r?\n)?NAME +formulate"),
    ".parquet": re.compile(rb".*made by\x18\tformulate", re.DOTALL),
    ".pdf": re.compile(rb"%PDF.*?/Producer \(formulate\)", re.DOTALL),
    ".png": re.compile(rb"\x89PNG.*?tEXtSoftware\0formulate", re.DOTALL),
    ".svg": re.compile(rb"<\?xml.*?<dc:title>formulate</dc:title>", re.DOTALL),
}


class Output(Enum):
    """A kind of output, and the endings that its file may have."""

    PICTURE = ("picture", (".svg", ".png", ".pdf"))
    SHEET = ("sheet", (".pdf", ".png"))
    TABLE = ("table", (".csv",))
    COLUMNS = ("columns", (".parquet",))
    CALENDAR = ("calendar", (".ics",))
    PROGRAM = ("program", (".lp", ".mps"))

    @property
    def word(self) -> str:
        """What to call it."""
        return say(f"files.{self.value[0]}")

    @property
    def endings(self) -> tuple[str, ...]:
        """What its file may end in, the usual first."""
        endings: tuple[str, ...] = self.value[1]
        return endings


def check_output(path: Path, output: Output) -> None:
    """Refuse a file that must not be written, before any work is done for it.

    Raises
    ------
    InputError
        If its ending is none of the output's, or it has the name of a flock's log, or the file
        is there and the program did not make it, or is no ordinary file.
    """
    if path.suffix.lower() not in output.endings:
        stem = path.name.split(".")[0] or output.value[0]
        names = listed([f"{stem}{right}" for right in output.endings], either=True)
        wrong, ending = ("wrong" if path.suffix else "no"), quoted(path.suffix)
        problem = say(f"files.{wrong}-ending", output=output.word, ending=ending)
        raise InputError(problem, say("files.right-ending", names=names), str(path))
    if path.name.lower().endswith(LOG_ENDING):
        raise InputError(say("files.a-log"), say("files.name-another"), str(path))
    try:
        there = _is_there(path)
    except OSError as error:
        problem = say("errors.cannot-write", what=output.word, reason=reason(error))
        raise InputError(problem, say("files.check-name"), str(path)) from error
    if not there:
        return
    if not path.is_file():
        wrong = "files.folder" if path.is_dir() else "files.not-a-file"
        raise InputError(say(wrong), say("files.name-another"), str(path))
    ending = path.suffix.lower()
    try:
        with path.open("rb") as file:
            if ending == ".parquet":  # it says whose it is at its end
                file.seek(max(path.stat().st_size - _LOOKED_AT, 0))
            start = file.read(_LOOKED_AT)
    except OSError as error:
        problem = say("errors.cannot-write", what=output.word, reason=reason(error))
        raise InputError(problem, "", str(path)) from error
    if start and not _OURS[ending].match(start):
        raise InputError(say("files.not-ours"), say("files.name-another"), str(path))


def _is_there(path: Path) -> bool:
    """Whether there is anything of that name; the folder has to be there.

    Raises
    ------
    OSError
        If the name is too long, or is a link that leads nowhere but to itself, or the folder is
        missing.
    """
    try:
        path.stat()
    except FileNotFoundError:
        link = path.is_symlink()
        (path.resolve() if link else path).parent.stat()
        return False
    return True


def write_output(path: Path, data: str | bytes, output: Output) -> None:
    """Write a file whole or not at all, if it may be written.

    Raises
    ------
    InputError
        As `check_output`, or if the folder is not there or cannot be written to.
    """
    check_output(path, output)
    with held(path, output.word):  # what a killed writer left beside it is removed
        replace_file(path, data)
