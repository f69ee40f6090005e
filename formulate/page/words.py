"""Sentences that depend on numbers; all other text of the page stands in the templates."""

from __future__ import annotations

__all__ = ["counted"]


def counted(number: int, word: str) -> str:
    """A number of things: "1 food", "3 foods"."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
