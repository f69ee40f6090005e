"""Ways to get typed text wrong: a letter, a number, a unit, a line, a table, an encoding."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from datetime import date, timedelta

__all__ = ["garbled", "mutated", "nudged"]

NUMBERS = (
    "0", "-1", "1e400", "1e-9", "nan", "inf", "-inf", "1/0", "1,234", "1,5", "½", "3 ½", "1e6",
    "00", "0x10", "1_000", "٣", "１２", ".", "1..2", "-0.0", "1e5", "9" * 50, "9" * 400, "9" * 5000,
    "1/" + "9" * 5000, "0." + "0" * 4000 + "1", "99999999999999999999", "true", '""', "[]", "{}",
    "1e308", "5e-324", "4.2 kg", "24:00", "23:59:60", "half a", "two and a half", "a dozen", "11/2",
    "1'000", "1 500", "2 x 410", "2-3", "2 to 3", "1.500", "4kg200", "1e5000", "-1e-400", "²", "Ⅳ",
)  # fmt: skip
DAYS = (
    "9999-12-31", "0001-01-01", "2026-02-29", "2026-11-14T06:00:00Z", "2026-11-14T06:00:00+11:00",
    "1969-12-31", "2038-01-20", "2026-10-25T01:30:00", "2026-03-29T01:30:00", "06:30:00",
    "9999-12-31T23:59:59.999999", "yesterday 5pm", "3/4/2026", "14 Nov 2026", "noon", "tomorrow",
)  # fmt: skip
SIGNS = (
    "\0", "\x1b[2J", "\x07", "\r", "\n", "\t", "\v", "\x85", "\u2028", "\u202e", "\u200b",
    "\ufeff", "\ud800", "🐑", "é", "e\u0301", '"', "'", '"""', "\\", "+", ",", ";", "#", "=",
    "[", "]", "{", "}", "%", " ", "../", "&", "<b>", "$", "-", "--", "@", "~", "%s", "{0}",
    "x" * 70, "x" * 100_000, "[[" * 50, "a." * 300, "\u00a0", "－", "＋", "／",
)  # fmt: skip
WORDS = (
    "milk", "cup", "cups", "g", "mL", "fl oz", "tbsp", "kg", "lb", "of", "whole-milk", "can",
    "oz", "water", "egg", "lamb", "kid", "Pip", "us", "uk", "metric", "and", "copper", "onion",
    "chocolate", "T", "sold", "weight", "strike", "price", "package", "low", "high", "on", "born",
)  # fmt: skip

Mutation = Callable[[random.Random, str], str]


def _cut(rng: random.Random, text: str) -> str:
    start = rng.randrange(len(text) + 1)
    return text[:start] + text[start + rng.choice([1, 1, 2, 5, 40, 400]) :]


def _twice(rng: random.Random, text: str) -> str:
    start = rng.randrange(len(text) + 1)
    piece = text[start : start + rng.choice([1, 3, 20, 200])]
    return text[:start] + piece * rng.choice([2, 2, 3, 50]) + text[start:]


def _sign(rng: random.Random, text: str) -> str:
    start = rng.randrange(len(text) + 1)
    return text[:start] + rng.choice(SIGNS) + text[start:]


def _found(rng: random.Random, pattern: str, text: str) -> re.Match[str] | None:
    found = list(re.finditer(pattern, text))
    return rng.choice(found) if found else None


def _replaced(text: str, one: re.Match[str], by: str) -> str:
    return text[: one.start()] + by + text[one.end() :]


def _number(rng: random.Random, text: str) -> str:
    one = _found(rng, r"\d[\d.]*", text)
    return _sign(rng, text) if one is None else _replaced(text, one, rng.choice(NUMBERS))


def _day(rng: random.Random, text: str) -> str:
    one = _found(rng, r"\d{4}-\d\d-\d\d(?:T[\d:]+)?", text)
    return _number(rng, text) if one is None else _replaced(text, one, rng.choice(DAYS))


def _word(rng: random.Random, text: str) -> str:
    one, other = (_found(rng, r"[A-Za-z_-]{2,}", text) for _ in range(2))
    if one is None or other is None:
        return _sign(rng, text)
    by = rng.choice([other[0], rng.choice(WORDS), one[0][::-1], one[0][:-1], one[0].upper()])
    return _replaced(text, one, by)


def _lines(rng: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    if not lines:
        return _sign(rng, text)
    i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(3):
        case 0:
            lines[i], lines[j] = lines[j], lines[i]
        case 1:
            lines.insert(j, lines[i])
        case _:
            del lines[i]
    return "".join(lines)


def _value(rng: random.Random, text: str) -> str:
    """What stands right of one "=" put right of another, or inside a list or a table."""
    one, other = (_found(rng, r"(?<== )\S[^\n]*", text) for _ in range(2))
    if one is None or other is None:
        return _number(rng, text)
    deep = rng.choice([1, 2, 60, 900])
    by = rng.choice([other[0], f"[{one[0]}]", "{ x = " * deep + "1" + " }" * deep])
    return _replaced(text, one, by)


def _encoding(rng: random.Random, text: str) -> str:
    match rng.randrange(6):
        case 0:
            return "\ufeff" + text
        case 1:
            return text.replace("\n", "\r\n")
        case 2:
            return text.replace("\n", "\r")
        case 3:
            return text.replace(",", ";")
        case 4:
            return text.translate({ord("0") + n: chr(ord("０") + n) for n in range(10)})
        case _:
            return text.replace(".", ",")


MUTATIONS: tuple[Mutation, ...] = (
    _cut, _twice, _sign, _number, _number, _day, _word, _word, _lines, _value, _encoding,
)  # fmt: skip


def garbled(rng: random.Random, text: str) -> str:
    """A text with one to four things wrong with it."""
    for _ in range(rng.choice([1, 1, 1, 2, 4])):
        text = rng.choice(MUTATIONS)(rng, text)
    return text


def nudged(rng: random.Random, text: str) -> str:
    """A text with one to three other numbers or days in it, most of them likely."""
    for _ in range(rng.choice([1, 2, 3])):
        one = _found(rng, r"\d{4}-\d\d-\d\d|\d[\d.]*", text)
        if one is None:
            return text
        try:
            moved = date.fromisoformat(one[0]) + timedelta(days=rng.choice([-400, -9, -1, 1, 9]))
            by = f"{moved}"
        except ValueError:
            number = float(one[0].rstrip(".") if one[0].count(".") < 2 else "1")
            by = f"{number * rng.choice([0, 0.01, 0.5, 0.9, 1.1, 2, 7, 300]):.6g}"
        text = _replaced(text, one, by)
    return text


def mutated(rng: random.Random, text: str) -> str:
    """A text that is nearly right."""
    return rng.choice([garbled, garbled, nudged])(rng, text)
