"""What was written down, or asked first, as plain text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from formulate.answers.record import Recorded
from formulate.answers.wanted import entry_words
from formulate.base.messages import say
from formulate.base.units import Kitchen
from formulate.rearing.log import Entry, What
from formulate.report.words import bullet

__all__ = ["EntryTold", "entries_told", "recorded_lines", "recorded_told"]


@dataclass(frozen=True, slots=True)
class EntryTold:
    """An entry of the log, and what takes it back.

    Parameters
    ----------
    words : str
    animal, what, at : str
        As they are written to take it back.
    """

    words: str
    animal: str
    what: str
    at: str


def entries_told(entries: Sequence[Entry], kitchen: Kitchen) -> tuple[EntryTold, ...]:
    """Entries as sentences."""
    return tuple(
        EntryTold(
            entry_words(one, kitchen),
            one.animal,
            one.note if one.what is What.ENDED else one.what.value,
            one.moment,
        )
        for one in entries
    )


def recorded_told(recorded: Recorded, words: str = "written") -> tuple[str, ...]:
    """What became of each entry, then what to know of it, as sentences.

    Parameters
    ----------
    recorded : Recorded
    words : str
        "written" for a page, "logged" for a command.
    """
    lines = []
    for entry in recorded.entries:
        name = "struck" if entry.strikes else words
        name = name if entry in recorded.added else f"{words}-already"
        lines.append(say(f"record.{name}", entry=entry_words(entry, recorded.kitchen)))
    return (*lines, *recorded.notes)


def recorded_lines(recorded: Recorded) -> list[str]:
    """The same as lines of text."""
    told = recorded_told(recorded, "logged")
    count = len(recorded.entries)
    return [*told[:count], *(bullet(note) for note in told[count:])]
