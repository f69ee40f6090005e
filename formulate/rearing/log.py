"""The log beside a flock file: what was seen, weighed and fed, one CSV line for each.

::

    when,animal,what,amount,unit,note,by
    2026-11-09,Pip,weight,5.4,kg,,
    2026-11-09T06:10,Pip,milk,240,mL,,Ann
    2026-11-09T06:10,Pip,strike milk,240,mL,,Ann
    2026-11-12T10:00,Pip,drink,90,mL,,Ann
    2026-11-20,Pip,ended,,,sold,

Lines are only ever added. A line that strikes takes back the newest line about the same animal,
moment and thing. Adding makes a whole new file beside the old one and then replaces it
(`formulate.base.files.replace_file`) while a lock file is held, so that two writers at once lose
nothing and an interrupted one leaves the old log or the new, never half. A line that cannot be
read (cut in half, say) is reported with its number; the others count, and the file is left as it
is. Lines of the first logs end before ``by``. A log that a spreadsheet saved may have semicolons,
decimal commas and other line ends; what is added to it is written in the same way.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from functools import lru_cache
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import as_utf8, reason, replace_file
from formulate.base.messages import say
from formulate.base.moments import known_year
from formulate.base.units import with_points

__all__ = ["Entry", "LogRead", "What", "append", "log_path", "read_log"]

#: The mark that some editors put before a file.
_MARK = b"\xef\xbb\xbf"
_HEADING = re.compile(rb'"?when"?[,;]')
#: Of whichever system.
_LINE_END = re.compile(rb"\r\n|\n|\r")
HEADER = ("when", "animal", "what", "amount", "unit", "note", "by")
#: Columns of the first logs.
_OLD_COLUMNS = 6
#: In the note of a weight that looked wrong and that the person confirmed.
SURE = "sure"
#: Ways to end an animal's milk.
ENDINGS = ("sold", "died", "weaned")
_STRIKE = "strike "
#: Lines that are remembered as read: a season of forty animals.
PARSED = 20_000


class What(StrEnum):
    """What a line tells."""

    WEIGHT = "weight"
    MILK = "milk"
    COLOSTRUM = "colostrum"
    DRINK = "drink"  # beside the milk, of a scouring animal; never counted as milk
    CREEP = "creep"
    TEMPERATURE = "temperature"
    WEAK = "weak"
    SWALLOWS = "swallows"
    VETERINARIAN = "veterinarian"
    ENDED = "ended"

    @property
    def unit(self) -> str:
        """Unit of its amount; empty if it has none."""
        return _UNITS.get(self.value, "")

    @property
    def timed(self) -> bool:
        """Whether it has an hour; otherwise there is one a day."""
        return self not in (What.WEIGHT, What.CREEP, What.ENDED)

    @property
    def fed(self) -> bool:
        """Whether it is milk, of whatever kind."""
        return self in (What.MILK, What.COLOSTRUM)

    @property
    def liquid(self) -> bool:
        """Whether it comes out of a bottle."""
        return self.fed or self is What.DRINK


#: What a line is about: a moment, an animal and a thing.
Slot = tuple[datetime, str, What]

_UNITS = {
    "weight": "kg",
    "milk": "mL",
    "colostrum": "mL",
    "drink": "mL",
    "creep": "g",
    "temperature": "°C",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One line.

    Parameters
    ----------
    when : datetime
        Midnight where only the day counts.
    animal : str
    what : What
    amount : float
        In the unit of `what`; 0 where it has none.
    note : str
    by : str
        Who did or saw it.
    strikes : bool
        Whether the line takes back another one.
    """

    when: datetime
    animal: str
    what: What
    amount: float = 0.0
    note: str = ""
    by: str = ""
    strikes: bool = False

    @property
    def slot(self) -> Slot:
        """What it is about: a later line about the same counts instead of it."""
        return self.when, self.animal.lower(), self.what

    @property
    def line(self) -> str:
        """As it stands in a log of the program's own."""
        return self.line_in(",")

    def line_in(self, separator: str, end: str = "\n") -> str:
        """As it stands in a log with this separator; a semicolon brings the decimal comma."""
        amount = f"{self.amount:.10g}" if self.what.unit else ""
        if separator == ";":
            amount = amount.replace(".", ",")
        what = f"{_STRIKE if self.strikes else ''}{self.what}"
        text = io.StringIO()
        csv.writer(text, delimiter=separator, lineterminator=end).writerow(
            (self.moment, self.animal, what, amount, self.what.unit, self.note, self.by)
        )
        return text.getvalue()

    @property
    def moment(self) -> str:
        """When, as it stands in the file: a day, or a day and an hour."""
        if not self.what.timed:
            return f"{self.day}"
        seconds = "seconds" if self.when.second else "minutes"
        return self.when.isoformat(timespec=seconds)

    @property
    def day(self) -> date:
        """The day of it."""
        return self.when.date()

    def same(self, other: Entry) -> bool:
        """Whether both say the same of the same, whoever wrote it down."""
        return (
            self.slot == other.slot
            and f"{self.amount:.10g}" == f"{other.amount:.10g}"
            and (self.what is not What.ENDED or self.note == other.note)
        )


@dataclass(frozen=True, slots=True)
class LogRead:
    """What a log holds.

    Parameters
    ----------
    entries : tuple of Entry
        Those that count, in the order of time.
    faults : tuple of InputError
        Lines that could not be read, each with its number.
    written : tuple of Entry
        Those that count, in the order of writing.
    """

    entries: tuple[Entry, ...] = ()
    faults: tuple[InputError, ...] = ()
    written: tuple[Entry, ...] = ()


def log_path(flock_file: Path | str) -> Path:
    """The log of a flock file: ``flock.toml`` has ``flock.log.csv``."""
    return Path(flock_file).with_suffix(".log.csv")


def read_log(path: Path) -> LogRead:
    """Read a log; one that is not there is empty.

    Raises
    ------
    InputError
        If the file cannot be read at all.
    """
    told: dict[Slot, list[tuple[int, Entry]]] = {}
    faults: list[InputError] = []
    began = False
    for number, line in enumerate(_LINE_END.split(_raw(path).removeprefix(_MARK)), 1):
        if not line.strip():
            continue
        heading, began = not began and _HEADING.match(line), True
        if heading:
            continue
        try:
            slot, entry = _parse(line)
            lines = told.setdefault(slot, [])
            if entry.strikes:
                _take_back(lines, entry)
            else:
                lines.append((number, entry))
        except InputError as error:
            faults.append(error.at(f"{path}: line {number}"))
    last = sorted(lines[-1] for lines in told.values() if lines)
    written = tuple(entry for _, entry in last)
    ordered = sorted(written, key=lambda entry: entry.when)  # of one moment: as written
    return LogRead(tuple(ordered), tuple(faults), written)


def _take_back(lines: list[tuple[int, Entry]], strike: Entry) -> None:
    """Remove the newest line that says the same; the one before it counts again."""
    for k in reversed(range(len(lines))):
        if lines[k][1].same(strike):
            del lines[k]
            return
    raise InputError(say("record.strikes-nothing"), say("record.left-out"))


def _raw(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file():
            raise InputError(say("files.not-a-file"), "", str(path))
        return path.read_bytes() if path.exists() else b""
    except OSError as error:
        raise InputError(say("record.unreadable", reason=reason(error)), "", str(path)) from error


@lru_cache(maxsize=PARSED)
def _parse(line: bytes) -> tuple[Slot, Entry]:
    """One line, and what it is about; a log is read at every look, and old lines never change."""
    remedy = say("record.left-out")
    try:
        text = line.decode("utf-8-sig")
        # As spreadsheets save it where commas are decimal.
        semicolons = ";" in text.partition(",")[0]
        fields = next(csv.reader([text], delimiter=";" if semicolons else ",", strict=True))
    except (UnicodeDecodeError, csv.Error, StopIteration):
        raise InputError(say("record.damaged"), remedy) from None
    shown = text[:60]
    if len(fields) not in (_OLD_COLUMNS, len(HEADER)):
        raise InputError(say("record.not-whole", line=shown), remedy)
    when, animal, what, amount, unit, note, by = (*(f.strip() for f in fields), "")[: len(HEADER)]
    strikes = what.startswith(_STRIKE)
    try:
        kind = What(what.removeprefix(_STRIKE))
        moment = datetime.fromisoformat(when)
        if semicolons:  # 4,125 kg is no thousands there
            amount = amount.replace(",", ".")
        number = float(with_points(amount)) if kind.unit else 0.0
    except ValueError:
        raise InputError(say("record.unclear", line=shown), remedy) from None
    if unit != kind.unit and kind.unit:
        raise InputError(say("record.other-unit", line=shown, unit=kind.unit), remedy)
    if moment.tzinfo is not None:
        raise InputError(say("moments.zone", moment=when), f"{say('moments.no-zone')} {remedy}")
    known = math.isfinite(number) and number > 0 if kind.unit else not amount + unit
    if not animal or not known or not known_year(moment):
        raise InputError(say("record.unclear", line=shown), remedy)
    if kind is What.ENDED and note not in ENDINGS:
        raise InputError(say("record.unclear", line=shown), remedy)
    if not kind.timed:
        moment = datetime.combine(moment.date(), datetime.min.time())
    entry = Entry(moment, animal, kind, number, note, by, strikes)
    return entry.slot, entry


def append(path: Path, entries: Sequence[Entry]) -> None:
    """Add lines to a log; it is made if it is not there.

    Whoever calls holds the log's lock (`formulate.base.locks.held`), so that what was decided
    from the log still holds.

    Raises
    ------
    InputError
        If the folder cannot be written to, or the file is another table. Nothing is added then.
    """
    raw = _raw(path) or (",".join(HEADER) + "\n").encode()
    if _another_table(_lines_of(raw)):
        raise InputError(say("record.not-ours"), say("record.not-ours-remedy"), str(path))
    end = "\r\n" if raw.removesuffix(b"\n").rsplit(b"\n", 1)[0].endswith(b"\r") else "\n"
    if not raw.endswith((b"\n", b"\r")):  # a line cut in half stays as it is, on its own
        raw += end.encode()
    separator = _separator(_lines_of(raw))
    lines = "".join(entry.line_in(separator, end) for entry in entries)
    replace_file(path, raw + as_utf8(lines, str(path)))


def _lines_of(raw: bytes) -> list[bytes]:
    """The lines of a file in which something stands."""
    return [line for line in _LINE_END.split(raw.removeprefix(_MARK)) if line.strip()]


def _another_table(lines: Sequence[bytes]) -> bool:
    """Whether there is something in a file, but neither a log's heading nor a line of one."""
    return bool(lines) and not _HEADING.match(lines[0]) and not any(map(_is_entry, lines))


def _is_entry(line: bytes) -> bool:
    try:
        _parse(line)
    except InputError:
        return False
    return True


def _separator(lines: Sequence[bytes]) -> str:
    """What a log parts its columns by: that of its heading, else that of its last line."""
    heading = _HEADING.match(lines[0]) if lines else None
    last = lines[-1] if lines else b""
    parted = heading[0][-1:] if heading else last.partition(b",")[0]
    return ";" if b";" in parted else ","


def struck(entry: Entry, by: str = "") -> Entry:
    """The line that takes an entry back."""
    return replace(entry, strikes=True, by=by)
