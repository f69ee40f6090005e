"""Amounts in words and odd spellings, written as the number grammar has them.

People write "half a cup", "two and a half cups", "2 x 410 g", "1'000 mL", "4kg200". What can be
meant in only one way is spelled in digits here, and read by `formulate.base.units`.
"""

from __future__ import annotations

import re

__all__ = [
    "NUMBER_WORD",
    "in_digits",
    "measured_level",
    "mixed_in_digits",
    "other_end",
    "vague_measure",
]

_ONES = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12,
    "un": 1, "une": 1, "deux": 2, "trois": 3, "quatre": 4, "cinq": 5,
}  # fmt: skip
_ONE = "|".join(sorted(_ONES, key=len, reverse=True))
#: Parts of one; "un quart" is no quart, and is not read.
_PARTS = {
    "half": (1, 2), "third": (1, 3), "quarter": (1, 4), "fourth": (1, 4), "eighth": (1, 8),
}  # fmt: skip
_PART = "|".join(_PARTS)
_OF = r"(?:\s+of)?(?:\s+an?(?=\s))?(?=\s)"
#: Half a cup, but not half-and-half: what follows the word says which.
_NOT_HALF = r"(?!\s*-?\s*(?:and|&)\s*-?\s*half\b)"
#: "half", "a half", "three quarters of a", "half a".
_FRACTION = re.compile(
    rf"(?:(?P<many>{_ONE}|\d{{1,2}})(?:\s+|-))?(?P<part>{_PART})s?\b{_NOT_HALF}{_OF}",
    re.IGNORECASE,
)
#: "half-gallon" is half a gallon; "half-cream" is a food.
_HALF_UNIT = re.compile(
    r"\b(half|quarter)-(?=(?:gallon|quart|pint|cup|lit(?:re|er)|pound|kilo|teaspoon|tablespoon)s?\b)",
    re.IGNORECASE,
)
#: "two and a half", "2 and three quarters".
_AND_PART = re.compile(
    rf"(?<![\w/.,])(?P<whole>{_ONE}|\d+)\s+and\s+(?:(?P<many>{_ONE})(?:\s+|-))?(?P<part>{_PART})s?\b{_OF}",
    re.IGNORECASE,
)
_DOZEN = re.compile(
    rf"(?P<half>half\s+an?\s+)?(?:(?P<many>{_ONE}|\d{{1,2}})\s+)?dozen\b(?=\s)", re.IGNORECASE
)
_WHOLE = re.compile(rf"(?P<whole>{_ONE})\b(?!\s+(?:quart|dozen|couple)\b)(?=\s)", re.IGNORECASE)
#: Matches where an amount begins with a word, at least one word before what it measures.
NUMBER_WORD = (
    rf"(?:(?:{_ONE})\b(?=\s+\S)"
    rf"|(?:{_PART})(?=\s+(?:an?|of|cups?|c|cans?|tins?|pints?|quarts?|gallons?|lit(?:re|er)s?|tsp|tbsp|"
    r"teaspoons?|tablespoons?|sticks?|fl|dozen)\b))"
)
#: Between thousands these can mean nothing else: 1'000, 1’000, 1_000, and 1 000 with naughts.
_THOUSANDS = re.compile(r"(?<![\d.,/'’_])\d{1,3}(?:['’_]\d{3})+(?![\d'’_]|[.,]?\d)")
_NAUGHTS = re.compile(r"^(\d{1,3}) 000(?![\d.,/])")
#: "2 x 410 g" is two of 410 g.
_TIMES = re.compile(r"^(\d+)\s*[x×*]\s*(?=[\d.])", re.IGNORECASE)
#: "4kg200", "4 kg 200", "1 L 500", "9 lb 4": the smaller unit goes without saying.
_AFTER_UNIT = (
    (re.compile(r"^(\d+)\s*(kgs?|kilos?)\s*(\d{3})$", re.IGNORECASE), "g"),
    (re.compile(r"^(\d+)\s*(l|litres?|liters?)\s*(\d{3})$", re.IGNORECASE), "mL"),
    (re.compile(r"^(\d+)\s*(lbs?|pounds?)\s*(\d|1[0-5])$", re.IGNORECASE), "oz"),
)
#: A unit that is written against the next number: "1lb4oz".
_GLUED = re.compile(r"(?<=\d)\s*(kgs?|lbs?|l|g|cups?|pints?|pts?)(?=\d)", re.IGNORECASE)
#: "2-3 cups" is caught where numbers are read.
_RANGE = re.compile(r"\s*(?:[-–—]|\b(?:to|or|à|ou)\b)\s*(\d[\d./]*)", re.IGNORECASE)
_LEVEL = re.compile(
    r"^(?:(?:level|flat)\s+(?=\S)|large\s+(?=(?:eggs?|yolks?|whites?)\b))", re.IGNORECASE
)
#: Things that hold any amount, and measures that are not level.
_VAGUE = re.compile(
    r"^(bottle|jug|jar|carton|box|pack|packet|package|bag|sachet|glass|mug|tub|pot|bowl|bucket|"
    r"lot|bit|spoon|spoonful|drop|dash|pinch|splash|handful|drizzle|"
    r"heaped|heaping|rounded|scant|generous|packed|big|small|large|little|good)e?s?\b",
    re.IGNORECASE,
)


def in_digits(text: str) -> str:
    """Text whose amount at the start is spelled in digits, as far as it can mean one thing only.

    Examples
    --------
    >>> in_digits("half a cup"), in_digits("two and a half cups"), in_digits("a can")
    ('1/2 cup', '2 1/2 cups', '1 can')
    >>> in_digits("2 x 410 g"), in_digits("1'000 mL"), in_digits("4kg200")
    ('820 g', '1000 mL', '4 kg 200 g')
    """
    spelled = _HALF_UNIT.sub(r"\1 ", text.strip())
    for pattern, spell in (
        (_DOZEN, _dozen),
        (_FRACTION, _fraction),
        (_WHOLE, _whole),
    ):
        found = pattern.match(spelled)
        if found:
            spelled = f"{spell(found)} {spelled[found.end() :].lstrip()}".rstrip()
            break
    spelled = _THOUSANDS.sub(lambda one: re.sub(r"\D", "", one[0]), spelled)
    spelled = _NAUGHTS.sub(r"\g<1>000", spelled)
    for pattern, unit in _AFTER_UNIT:
        spelled = pattern.sub(rf"\1 \2 \3 {unit}", spelled)
    return _times(_GLUED.sub(r" \1 ", spelled))


def mixed_in_digits(text: str) -> str:
    """Text in which "two and a half" is 2 1/2, wherever it stands."""
    return _AND_PART.sub(lambda found: f"{_mixed(found)} ", text)


def _many(word: str | None) -> int:
    if word is None:
        return 1
    return int(word) if word.isdecimal() else _ONES[word.lower()]


def _dozen(found: re.Match[str]) -> str:
    return f"{_many(found['many']) * (6 if found['half'] else 12)}"


def _fraction(found: re.Match[str]) -> str:
    over, under = _PARTS[found["part"].lower()]
    return f"{_many(found['many']) * over}/{under}"


def _mixed(found: re.Match[str]) -> str:
    return f"{_many(found['whole'])} {_fraction(found)}"


def _whole(found: re.Match[str]) -> str:
    return f"{_many(found['whole'])}"


def _times(text: str) -> str:
    """Write "2 x 410 g" as one amount; only a whole number of plain ones is worked out."""
    found = _TIMES.match(text)
    if not found or len(found[1]) > 4:
        return text
    plain = re.match(r"\d{1,9}(?:\.\d{1,9})?(?![\d.,/]|\s*[x×*]|\s+\d)", text[found.end() :])
    if not plain:
        return text
    return f"{int(found[1]) * float(plain[0]):.10g}{text[found.end() + plain.end() :]}"


def other_end(text: str) -> str | None:
    """The second number where what follows a number makes a range of it: "-3 cups", "to 3 cups"."""
    joint = re.match(r"\s*(?:to|or)\s+", text, re.IGNORECASE)
    spelled = f"{joint[0]}{in_digits(text[joint.end() :])}" if joint else text
    found = _RANGE.match(spelled)
    return found[1] if found else None


def measured_level(text: str) -> str:
    """Text without "level" before its spoon and "large" before eggs: these are meant anyway."""
    return _LEVEL.sub("", text)


def vague_measure(text: str) -> str | None:
    """The word that begins a text and has no size of its own, such as "bottle" or "heaped"."""
    found = _VAGUE.match(text)
    return found[0] if found else None
