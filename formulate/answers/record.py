"""Write down what happened in the barn: one set of rules for every door and kind of entry.

An entry is written, stands there already, or is asked about first. Whatever looks wrong is asked
about: a weight that cannot be true, more than a stomach holds, a feed too soon after another, more
than a day's amount, a feed of an animal that must not be fed. The flock, its log and the question
are looked at while the log is locked, so that of two people who feed the same animal in the same
second one writes and the other is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from formulate.answers.ledger import Ledger, Question
from formulate.answers.wanted import Wanted
from formulate.base.files import read_text
from formulate.base.locks import held
from formulate.base.shown import Renderable, brief
from formulate.base.units import Kitchen
from formulate.pantry.pantry import Pantry
from formulate.rearing.flock_file import load_flock
from formulate.rearing.log import Entry, append, log_path, read_log

__all__ = ["RecordOutcome", "Recorded", "record"]


class RecordOutcome(StrEnum):
    """What happened to an entry."""

    WRITTEN = "written"
    ALREADY = "already"
    ASKS = "asks"


@dataclass(frozen=True, slots=True)
class Recorded(Renderable):
    """The result of writing something down.

    Parameters
    ----------
    outcome : RecordOutcome
    entries : tuple of Entry
        One for each thing wanted.
    added : tuple of Entry
        Those that were written now; all or none of the new ones.
    questions : tuple of Question
        Why nothing was written.
    notes : tuple of str
        What to know of it.
    log : Path
    kitchen : Kitchen
        Whose fluid ounces stand on the bottle.
    """

    outcome: RecordOutcome
    entries: tuple[Entry, ...]
    added: tuple[Entry, ...]
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    log: Path
    kitchen: Kitchen

    def __repr__(self) -> str:
        told = (f"{one.animal} {one.what} {one.amount:g}" for one in self.entries)
        questions = ", ".join(question.id for question in self.questions)
        return brief(self, str(self.outcome), ", ".join(told), questions)


def record(
    flock: Path | str,
    wanted: Sequence[Wanted],
    now: datetime | None = None,
    *,
    pantry: Pantry | None = None,
    sure: bool = False,
) -> Recorded:
    """Write things down in the log of a flock, or ask about them.

    Parameters
    ----------
    flock : Path or str
        Its file.
    wanted : sequence of Wanted
        All are written, or none.
    now : datetime, optional
        This moment; by default the clock's, or of a sample the day that its file names.
    pantry : Pantry, optional
        By default the flock's.
    sure : bool
        Whether the person said that it is right, however unlikely it looks.

    Raises
    ------
    InputError
        If an animal is not known, an amount cannot be read, a moment is to come or before the
        birth, nothing is there to take back, or the log cannot be written.
    """
    path = log_path(flock)
    read_text(Path(flock))  # a flock that is not there gets no lock beside it
    with held(path, "log"):
        read = load_flock(flock, now)
        if now is None and any(one.at is None or one.at > read.now for one in wanted):
            read = load_flock(flock, read.clock)
        ledger = Ledger(read, read_log(path), pantry, sure)
        for one in wanted:
            ledger.take(one)
        added = () if ledger.questions and not sure else tuple(ledger.added)
        if added:
            append(path, added)
    if ledger.questions and not sure:
        outcome = RecordOutcome.ASKS
    else:
        outcome = RecordOutcome.WRITTEN if added else RecordOutcome.ALREADY
    questions = tuple(ledger.questions) if outcome is RecordOutcome.ASKS else ()
    notes = () if outcome is RecordOutcome.ASKS else tuple(ledger.notes)
    return Recorded(
        outcome, tuple(ledger.entries), added, questions, notes, path, read.flock.kitchen
    )
