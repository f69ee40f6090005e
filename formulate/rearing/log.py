"""The log beside a flock file: weigh-ins, feeds, colostrum and creep, one CSV line each.

::

    when,animal,what,amount,unit,note
    2026-11-09,Pip,weight,5.4,kg,
    2026-11-09T06:10,Pip,milk,240,mL,

Lines are only ever added. Adding makes a whole new file beside the old one and then replaces it
(`formulate.base.files.replace_file`) while a lock file is held, so that two commands at once lose
nothing and an interrupted one leaves the old log or the new, never half. A line that is there
already is not added again. A line that cannot be read (cut in half, say) is reported with its
number; the others count, and the file is left as it is.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import replace_file
from formulate.base.locks import held

__all__ = ["Entry", "LogRead", "What", "add_entries", "log_path", "read_log"]

HEADER = ("when", "animal", "what", "amount", "unit", "note")
#: In the note of a weight that looked wrong and that the person confirmed.
SURE = "sure"


class What(StrEnum):
    """What a line tells."""

    WEIGHT = "weight"
    MILK = "milk"
    COLOSTRUM = "colostrum"
    CREEP = "creep"

    @property
    def unit(self) -> str:
        """Unit of its amount."""
        return {"weight": "kg", "creep": "g"}.get(self.value, "mL")

    @property
    def timed(self) -> bool:
        """Whether it has an hour; otherwise there is one a day."""
        return self in (What.MILK, What.COLOSTRUM)


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
        In the unit of `what`.
    note : str
    """

    when: datetime
    animal: str
    what: What
    amount: float
    note: str = ""

    @property
    def slot(self) -> tuple[datetime, str, What]:
        """What it is about: a later line about the same counts instead of it."""
        return self.when, self.animal.lower(), self.what

    @property
    def line(self) -> str:
        """As it stands in the file."""
        when = self.when.isoformat(timespec="minutes") if self.what.timed else f"{self.day}"
        text = io.StringIO()
        csv.writer(text, lineterminator="\n").writerow(
            (when, self.animal, self.what, f"{self.amount:.10g}", self.what.unit, self.note)
        )
        return text.getvalue()

    @property
    def day(self) -> date:
        """The day of it."""
        return self.when.date()


@dataclass(frozen=True, slots=True)
class LogRead:
    """What a log holds.

    Parameters
    ----------
    entries : tuple of Entry
        Those that count, in the order of time.
    faults : tuple of InputError
        Lines that could not be read, each with its number.
    """

    entries: tuple[Entry, ...] = ()
    faults: tuple[InputError, ...] = ()


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
    entries: dict[tuple[datetime, str, What], Entry] = {}
    faults: list[InputError] = []
    for number, line in enumerate(_raw(path).split(b"\n"), 1):
        if not line.strip() or (number == 1 and line.startswith(b"when,")):
            continue
        try:
            entry = _parse(line)
        except InputError as error:
            faults.append(error.at(f"{path}: line {number}"))
            continue
        entries[entry.slot] = entry
    ordered = sorted(entries.values(), key=lambda e: (e.when, e.animal.lower(), e.what))
    return LogRead(tuple(ordered), tuple(faults))


def _raw(path: Path) -> bytes:
    try:
        return path.read_bytes() if path.exists() else b""
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(f"the log cannot be read ({reason})", "", str(path)) from error


def _parse(line: bytes) -> Entry:
    remedy = "It was left out; correct or delete it. The rest of the log was read."
    try:
        text = line.decode("utf-8-sig").rstrip("\r")
        fields = next(csv.reader([text], strict=True))
    except (UnicodeDecodeError, csv.Error, StopIteration):
        raise InputError("this line is damaged", remedy) from None
    shown = text[:60]
    if len(fields) != len(HEADER):
        raise InputError(f'"{shown}" is not a whole line', remedy)
    when, animal, what, amount, unit, note = (field.strip() for field in fields)
    try:
        kind = What(what)
        moment = datetime.fromisoformat(when)
        number = float(amount)
    except ValueError:
        raise InputError(f'"{shown}" cannot be read', remedy) from None
    if unit != kind.unit:
        raise InputError(f'"{shown}" should be in {kind.unit}', remedy)
    if not animal or not (math.isfinite(number) and number > 0) or moment.tzinfo is not None:
        raise InputError(f'"{shown}" cannot be read', remedy)
    if not kind.timed:
        moment = datetime.combine(moment.date(), datetime.min.time())
    return Entry(moment, animal, kind, number, note)


def add_entries(
    path: Path, entries: Sequence[Entry], *, replace: bool = False
) -> tuple[Entry, ...]:
    """Add lines; those that are there already are not added again.

    Parameters
    ----------
    path : Path
        The log; made if it is not there.
    entries : sequence of Entry
    replace : bool
        Whether an entry may take the place of another amount for the same animal and time.

    Returns
    -------
    tuple of Entry
        What was added.

    Raises
    ------
    InputError
        If another amount stands there already, the log is held by another command for too long,
        or the folder cannot be written to. Nothing is added then.
    """
    with held(path, "log"):
        known = {entry.slot: entry for entry in read_log(path).entries}
        added = []
        for entry in entries:
            old = known.get(entry.slot)
            if old is not None and f"{old.amount:.10g}" == f"{entry.amount:.10g}":
                continue
            if old is not None and not replace:
                raise InputError(
                    f"{entry.animal} already has {old.amount:g} {old.what.unit} of "
                    f"{old.what} at {old.line.split(',')[0]}"
                    if entry.what is not What.WEIGHT
                    else f"{entry.animal} already has a weight on {old.day}: {old.amount:g} kg",
                    "If the new one is right, add --sure.",
                    str(path),
                )
            known[entry.slot] = entry
            added.append(entry)
        if added:
            raw = _raw(path) or (",".join(HEADER) + "\n").encode()
            if not raw.endswith(b"\n"):  # a line cut in half stays as it is, on its own
                raw += b"\n"
            replace_file(path, raw + "".join(entry.line for entry in added).encode())
    return tuple(added)
