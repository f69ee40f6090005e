"""Sentences that depend on numbers. Whatever else a person reads stands in the templates."""

from __future__ import annotations

import math

from formulate.foods.bands import Read, Role, Standing
from formulate.report import words as say

__all__ = ["cost_words", "counted", "read_standing", "share_of_ten", "sure_words", "times_words"]


def share_of_ten(chance: float) -> str:
    """A chance as people say it: "about 5 in 10"."""
    if chance >= 0.95:
        return "nearly all"
    if chance < 0.05:
        return "hardly any"
    return f"about {round(chance * 10) or 1} in 10"


def sure_words(chance: float | None) -> str:
    """How sure the whole mix is, by its chance to read in every range."""
    if chance is None:
        return "How sure this is cannot be told: a value is not known."
    return (
        "No two cartons are alike. Of all batches made like this, "
        f"{share_of_ten(chance)} would read in every range."
    )


def read_standing(read: Read) -> str:
    """What to make of a read, with a sign that needs no colour."""
    words = say.standing_words(read)
    if read.band.role is Role.SHOWN or not words:
        return words
    sign = {Standing.INSIDE: "✓", Standing.BELOW: "▼", Standing.ABOVE: "▲"}
    return f"{sign.get(read.standing or Standing.UNKNOWN, '?')} {words}"


def cost_words(money: float | None, currency: str) -> str:
    """Money, or nothing where it is not known."""
    return "" if money is None or not math.isfinite(money) else say.money(money, currency)


def times_words(number: int) -> str:
    """How often: "once", "4 times"."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def counted(number: int, word: str) -> str:
    """A number of things: "1 food", "3 foods"."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
