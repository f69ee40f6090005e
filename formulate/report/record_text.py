"""What became of what was to be written down, as plain text."""

from __future__ import annotations

from formulate.answers.record import Recorded
from formulate.answers.wanted import entry_words
from formulate.base.messages import say
from formulate.report.words import bullet

__all__ = ["recorded_lines", "recorded_told"]


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
