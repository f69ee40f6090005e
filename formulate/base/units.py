"""Amounts as people write them: numbers, unit words, and the kitchen that sets their size.

A cup is not one volume. The *kitchen* (US, metric, imperial, British, Australian) decides every
volume word; the word list is ours and maps to exact definitions. (pint's own parser reads "fl oz"
as femtolitre × ounce and "c" as the speed of light, so it is never given a person's text.)

Number grammar: ``3``, ``1.5``, ``1,5``, ``.5``, ``1/2``, ``1 1/2``, ``1-1/2``, ``1 and 1/2``,
``½``, ``1½``, ``1 ½``; in words and other spellings as `formulate.base.spelled` has them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from itertools import pairwise

from formulate.base.errors import InputError, UnitError, UnknownName
from formulate.base.messages import say
from formulate.base.spelled import (
    NUMBER_WORD,
    in_digits,
    measured_level,
    mixed_in_digits,
    other_end,
    vague_measure,
)
from formulate.base.spelling import plain_letters

__all__ = [
    "Amount",
    "Kitchen",
    "UnitKind",
    "known_unit_words",
    "no_unit",
    "number_ahead",
    "parse_amount",
    "parse_decimal",
    "parse_kitchen",
    "parse_number",
    "parse_share",
    "parse_volume",
    "take_unit",
    "unit_size",
    "with_mixed",
    "with_points",
]

#: Largest single amount taken seriously, in g or mL: ten tonnes feed no bottle lamb.
LARGEST = 1e7
#: The smallest number that is read: smaller ones overflow where they are divided by.
LEAST = 1e-12


#: Smallest volume that can be meant [mL]: a drop has half of it.
SMALLEST_VOLUME = 0.1


class Kitchen(StrEnum):
    """The country whose spoons, cups and jugs the volume words mean."""

    US = "us"
    METRIC = "metric"
    IMPERIAL = "imperial"
    UK = "uk"
    AU = "au"

    @property
    def title(self) -> str:  # type: ignore[override]
        """Name and the size of its cup."""
        return say(f"units.kitchen.{self}")

    @property
    def metric(self) -> bool:
        """Whether its jugs are marked in millilitres and its milk is bought by the litre."""
        return self not in (Kitchen.US, Kitchen.IMPERIAL)


class UnitKind(StrEnum):
    """What a unit word measures."""

    MASS = "mass"
    VOLUME = "volume"
    OUNCE = "ounce"  # plain "oz": weight, but of a liquid it might be meant as fluid ounces
    COUNT = "count"  # cans, eggs, sticks: sized by the food


# US customary: NIST Handbook 44, Appendix C (1 gallon = 231 cubic inches; inch and pound exact
# since 1959). Imperial: Weights and Measures Act 1985 (gallon = 4.54609 L); its cup of ten
# fluid ounces is cookery's custom. Metric: cup 250 mL; spoons of 15 and 5 mL are in every drawer
# outside the United States, of 20 and 5 mL in Australia: common practice. (The imperial tablespoon
# of 17.76 mL is history.) The 30 mL fluid ounce is the one of food labels, 21 CFR
# 101.9(b)(5)(viii) (from memory). A British kitchen has the metric cup and spoons and the imperial
# pint.
_DEFINITIONS = """
gram = [mass] = g
kilogram = 1000 * gram
milligram = 0.001 * gram
pound = 453.59237 * gram
avoirdupois_ounce = pound / 16
litre = [volume] = L
millilitre = litre / 1000
centilitre = litre / 100
decilitre = litre / 10
us_gallon = 3.785411784 * litre
us_quart = us_gallon / 4
us_pint = us_gallon / 8
us_cup = us_gallon / 16
us_fluid_ounce = us_gallon / 128
us_tablespoon = us_gallon / 256
us_teaspoon = us_gallon / 768
imperial_gallon = 4.54609 * litre
imperial_quart = imperial_gallon / 4
imperial_pint = imperial_gallon / 8
imperial_cup = imperial_gallon / 16
imperial_fluid_ounce = imperial_gallon / 160
metric_cup = 250 * millilitre
metric_fluid_ounce = 30 * millilitre
metric_tablespoon = 15 * millilitre
metric_teaspoon = 5 * millilitre
australian_tablespoon = 20 * millilitre
"""
#: Name -> what it is.
_SIZES = dict(line.split(" = ", 1) for line in _DEFINITIONS.strip().splitlines())

# Unit -> the words for it. Plurals in "s" and full stops ("tbsp.") are handled by the parser.
_WORDS: dict[str, tuple[str, ...]] = {
    "g": ("g", "gram", "gramme", "gm"),
    "kg": ("kg", "kilo", "kilogram", "kilogramme"),
    "mg": ("mg", "milligram"),
    "lb": ("lb", "pound"),
    "oz weight": ("oz weight", "oz wt", "ounce weight", "weight oz", "wt oz"),
    "oz": ("oz", "ounce"),
    "mL": ("ml", "millilitre", "milliliter", "cc"),
    "cL": ("cl", "centilitre", "centiliter"),
    "dL": ("dl", "decilitre", "deciliter"),
    "L": ("l", "litre", "liter", "ltr"),
    "tsp": (
        "tsp",
        "teaspoon",
        "teaspoonful",
        "tea spoon",
        "cuillere a cafe",
        "cuilleree a cafe",
        "c a c",
        "cac",
    ),
    "tbsp": (
        "tbsp",
        "tablespoon",
        "tablespoonful",
        "table spoon",
        "tbs",
        "tbl",
        "tblsp",
        "cuillere a soupe",
        "cuilleree a soupe",
        "c a s",
        "cas",
    ),
    "fl oz": ("fl oz", "floz", "fl.oz", "fl-oz", "fl ounce", "fluid oz", "fluid ounce"),
    "cup": ("cup", "cupful"),
    "pint": ("pint", "pt"),
    "quart": ("quart", "qt"),
    "gallon": ("gallon", "gal"),
    "can": ("can", "tin", "boite"),
    "egg": ("egg", "oeuf"),
    "yolk": ("yolk", "jaune"),
    "white": ("white", "blanc"),
    "stick": ("stick",),
    "scoop": ("scoop", "mesurette"),
}
#: Single letters, as cooks write them.
_LETTERS = {"T": "tbsp", "t": "tsp", "c": "cup", "C": "cup"}
_BY_WORD = {word: unit for unit, words in _WORDS.items() for word in words}
_MASS = {
    "g": "gram",
    "kg": "kilogram",
    "mg": "milligram",
    "lb": "pound",
    "oz weight": "avoirdupois_ounce",
    "oz": "avoirdupois_ounce",
}
_METRIC_VOLUME = {"mL": "millilitre", "cL": "centilitre", "dL": "decilitre", "L": "litre"}
_US = {
    "tsp": "us_teaspoon",
    "tbsp": "us_tablespoon",
    "fl oz": "us_fluid_ounce",
    "cup": "us_cup",
    "pint": "us_pint",
    "quart": "us_quart",
    "gallon": "us_gallon",
}
_METRIC = {
    "tsp": "metric_teaspoon",
    "tbsp": "metric_tablespoon",
    "fl oz": "metric_fluid_ounce",
    "cup": "metric_cup",
}
_IMPERIAL = {
    **_METRIC,
    "fl oz": "imperial_fluid_ounce",
    "cup": "imperial_cup",
    "pint": "imperial_pint",
    "quart": "imperial_quart",
    "gallon": "imperial_gallon",
}
_KITCHEN_VOLUME = {
    Kitchen.US: _US,
    Kitchen.METRIC: _METRIC,
    Kitchen.IMPERIAL: _IMPERIAL,
    Kitchen.UK: {**_IMPERIAL, "cup": "metric_cup"},
    Kitchen.AU: {**_METRIC, "tbsp": "australian_tablespoon"},
}
_COUNTS = ("can", "egg", "yolk", "white", "stick", "scoop")

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5",
    "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8",
    "⅞": "7/8",
}  # fmt: skip
_NUMBER = re.compile(
    r"""(?: (?P<whole>\d+)\s+(?P<num>\d+)\s*/\s*(?P<den>\d+)   # 1 1/2
          | (?P<num2>\d+)\s*/\s*(?P<den2>\d+)                  # 1/2
          | (?P<plain>\d+(?:\.\d*)?(?:[eE][+-]?\d+)?|\.\d+)    # 1.5
        )""",
    re.VERBOSE,
)


#: "1-1/2" and "1 and 1/2" are 1 1/2.
_MIXED = re.compile(
    rf"(?<![\d.,/])(\d+)\s*(?:[-–]|\b(?:and|et)\b|&)\s*(?=\d+\s*/\s*\d|[{''.join(_VULGAR)}])",
    re.IGNORECASE,
)
#: A comma within a number, and nothing else than a number beside it.
_COMMA = re.compile(r"(?<![\d,])(?<!\d\.)(\d+),(\d+)(?![\d,]|\.\d)")
#: An improper fraction of two figures: "11/2" is five and a half, or 1 1/2 without its space.
_RUN_TOGETHER = re.compile(r"([1-9])([1-9])/([2-9])")
#: A point before three figures of which the last is 0: no scale shows that of a gram, nor a spoon.
_POINT = re.compile(r"([1-9]\d?)\.(\d\d0)")
#: Words that say whose cups or pints are meant.
_WHOSE = ("us", "u.s.", "american", "uk", "british", "imperial", "metric", "australian")
#: A no-break space between thousands.
_PARTED = re.compile(r"(?<=\d)[\u00a0\u202f](?=\d{3}(?!\d))")
#: Matches before a number that is not a percentage: "2% milk" is a food.
number_ahead = rf"(?=(?:\d|\.\d|[{''.join(_VULGAR)}])(?![\d.,/\s]*%)|{NUMBER_WORD})"
#: What stands before one more amount: "1 lb 4 oz", "1/4 cup + 2 tbsp", "1 cup and 2 tbsp".
_ADDED = re.compile(rf"\s*(?:\+|,|&|\b(?:and|plus|et)\b)?\s*{number_ahead}", re.IGNORECASE)
_COMMA_AFTER_UNIT = re.compile(r"(?<=[A-Za-z.])\s*,\s*(?=\d)")
#: Signs of the longest number that is read.
LONGEST_NUMBER = 40


@cache
def unit_size(unit: str, kitchen: Kitchen = Kitchen.US) -> float:
    """Size of a unit of mass [g] or volume [mL].

    Parameters
    ----------
    unit : str
        One of the unit names ("cup", "fl oz", "kg" ...).
    kitchen : Kitchen
        Decides the volume words.

    Raises
    ------
    UnitError
        If the kitchen has no such unit or the unit is a count, sized only by its food.
    """
    if unit in _MASS:
        return _size(_MASS[unit])
    if unit in _METRIC_VOLUME:
        name = _METRIC_VOLUME[unit]
    elif unit in _KITCHEN_VOLUME[kitchen]:
        name = _KITCHEN_VOLUME[kitchen][unit]
    elif unit in _US:
        raise UnitError(say("units.no-such-unit", unit=unit), say("units.write-litres"))
    else:
        raise UnitError(say("units.no-size", unit=unit), say("units.no-size-remedy"))
    return _size(name)


@cache
def _size(name: str) -> float:
    """Size [g or mL] by the definitions above, each of them a number and units times or over it.

    Read here rather than by pint, whose import takes longer than the design of a mix; the tests
    hold the sizes to pint's own.
    """
    if name in ("gram", "millilitre"):
        return 1.0
    if name == "litre":
        return 1000.0
    words = _SIZES[name].split()
    size = 1.0
    for sign, word in zip(["*", *words[1::2]], words[::2], strict=True):
        part = _size(word) if word in _SIZES else float(word)
        size = size * part if sign == "*" else size / part
    return size


@dataclass(frozen=True, slots=True)
class Amount:
    """A number of units, as written.

    Parameters
    ----------
    number : float
        How many; finite and above zero.
    unit : str
        Unit name of this module ("fl oz"), or "" where a counted food leaves it out.
    """

    number: float
    unit: str

    @property
    def kind(self) -> UnitKind:
        """What the unit measures."""
        if self.unit == "oz":
            return UnitKind.OUNCE
        if self.unit in _MASS:
            return UnitKind.MASS
        if self.unit in _COUNTS or not self.unit:
            return UnitKind.COUNT
        return UnitKind.VOLUME

    def size(self, kitchen: Kitchen) -> float:
        """Whole size [g] of a mass or [mL] of a volume."""
        return self.number * unit_size(self.unit, kitchen)

    def __str__(self) -> str:
        return f"{self.number:g} {self.unit}".rstrip()


def parse_kitchen(text: str) -> Kitchen:
    """Read the name of a kitchen: "us", "metric", "imperial", "uk" or "au"."""
    try:
        return Kitchen(text.strip().lower())
    except ValueError:
        known = list(Kitchen)
        raise UnknownName(
            "kitchen", text, known, say("units.kitchens", names=", ".join(known))
        ) from None


def parse_number(text: str) -> tuple[float, str]:
    """Read the number at the start of `text`; return it with what follows.

    Raises
    ------
    InputError
        If there is no number, or it is negative, zero, not finite or absurdly large.
    """
    spelled = in_digits(with_mixed(text))
    for sign, fraction in _VULGAR.items():
        spelled = spelled.replace(sign, f" {fraction} ")
    spelled = spelled.strip()
    if re.match(r"[-−]\s*[\d.]", spelled):
        raise _no_number("units.below-zero", text)
    if re.match(r"[+-]?(nan|inf(inity)?)\b", spelled, re.IGNORECASE):
        raise _no_number("units.no-amount", text)
    spelled = with_points(spelled)
    found = _NUMBER.match(spelled)
    if not found:
        raise _no_number("units.no-number", text)
    if len(found[0]) > LONGEST_NUMBER:
        raise _no_number("units.long-number", found[0])
    rest = spelled[found.end() :]
    _check_one_number(text, found[0], rest)
    part = found.groupdict()
    numerator, denominator = part["num"] or part["num2"], part["den"] or part["den2"]
    if denominator is not None and int(denominator) == 0:
        raise _no_number("units.divides-by-zero", text)
    number = float(part["plain"] or part["whole"] or 0)
    if numerator is not None:
        number += int(numerator) / int(denominator)
    if number <= 0:
        raise _no_number("units.nothing", text)
    if not LEAST <= number <= LARGEST:
        little = number < LEAST
        raise _no_number("units.too-little" if little else "units.too-large", found[0])
    return number, rest.strip()


def _check_one_number(text: str, number: str, rest: str) -> None:
    """Refuse a number that might be another, or several.

    Parameters
    ----------
    text : str
        As typed.
    number, rest : str
        The number as it was read, and what follows it.
    """
    if re.match(r",\s*\d", rest):
        raise _no_number("units.comma", text)
    if until := other_end(rest):
        raise _no_number("units.range", text, low=number, high=until)
    if (parted := re.match(r" (\d{3})(?![\d.,/])", rest)) and re.fullmatch(r"\d{1,3}", number):
        raise _no_number("units.parted", text, one=number, other=parted[1])
    if re.match(r"\s*[\d/.]", rest):
        raise _no_number("units.unreadable", text)
    if together := _RUN_TOGETHER.fullmatch(number):
        whole, over, under = together.groups()
        if over < under:
            half = f"{(int(whole) * 10 + int(over)) / int(under):.3g}"
            raise _no_number("units.run-together", text, said=number, improper=half,
                             mixed=f"{whole} {over}/{under}")  # fmt: skip
    if (point := _POINT.fullmatch(number)) and take_unit(rest)[0] in ("g", "mL"):
        raise InputError(
            say("units.comma-unclear", text=number),
            say("units.write-point", decimal=f"{float(number):g}", thousands=point[1] + point[2]),
        )


def with_mixed(text: str) -> str:
    """Text with its mixed numbers written one way: "1-1/2", "1 and 1/2", "one and a half"."""
    return _MIXED.sub(r"\g<1> ", mixed_in_digits(text.replace("⁄", "/")))


def _no_number(message: str, text: str, **values: str) -> InputError:
    remedy = say(f"{message}-remedy", most=LARGEST, **values)
    return InputError(say(message, text=text.strip(), **values), remedy)


def with_points(text: str) -> str:
    """Text with its decimal commas turned into points, where they can be nothing else.

    Three digits after a comma may be thousands, as in 1,234; after a zero they cannot. A space
    that no line breaks at parts thousands, as the program prints them in French: 1 955.

    Raises
    ------
    InputError
        If a comma could be either.
    """

    def point(found: re.Match[str]) -> str:
        whole, part = found.groups()
        if len(part) == 3 and whole.strip("0"):
            raise InputError(
                say("units.comma-unclear", text=found[0]),
                say("units.write-point", decimal=f"{whole}.{part}", thousands=whole + part),
            )
        return f"{whole}.{part}"

    return _COMMA.sub(point, _PARTED.sub("", text))


def parse_decimal(text: str) -> float:
    """Read a plain number from nothing up, as a price is: "3.89", "3,89", "0".

    Raises
    ------
    InputError
        If it is none, or a comma in it could stand before thousands.
    """
    spelled = with_points(text.strip())
    if not re.fullmatch(r"\d{1,40}(\.\d{0,40})?|\.\d{1,40}", spelled, re.ASCII):
        raise InputError(say("units.no-decimal", text=text.strip()), say("units.no-decimal-remedy"))
    return float(spelled)


def known_unit_words() -> tuple[str, ...]:
    """Every word that is understood as a unit; used in hints."""
    return tuple(_BY_WORD)


def take_unit(text: str) -> tuple[str, str]:
    """Split the unit word off the front of `text`; return (unit name or "", the rest).

    The longest unit word wins, so "fl oz milk" is fluid ounces of milk; "cups of milk" loses
    its "of", "litres de lait" its "de"; a word that is not a unit leaves the text whole. Of single
    letters T is a tablespoon, t a teaspoon and c a cup.
    """
    words = measured_level(text).split()
    for length in (3, 2, 1):
        if len(words) < length:
            continue
        spelled = [word.rstrip(".") for word in words[:length]]
        phrase = plain_letters(" ".join(spelled))
        singular = " ".join(_singular(word) for word in phrase.split())
        unit = _LETTERS.get(spelled[0]) if length == 1 else None
        unit = unit or _BY_WORD.get(phrase) or _BY_WORD.get(singular)
        if unit:
            rest = words[length:]
            if unit == "oz" and rest and rest[0].lower() in ("weight", "wt"):
                unit, rest = "oz weight", rest[1:]
            return unit, _without_of(" ".join(rest))
    return "", text


def _without_of(name: str) -> str:
    """A food's name without the "of" before it: "of milk", "de lait", "d'eau"."""
    return re.sub(r"^((of|de)(\s+|$)|d['’])", "", name, count=1, flags=re.IGNORECASE)


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 2 and word.endswith("s") and word not in ("tbs",) else word


def parse_amount(text: str) -> Amount:
    """Read "1 gallon", "12 fl oz", "1 1/2 cups", "500 g", "2 cans".

    Raises
    ------
    InputError
        If the number or the unit cannot be read, or anything follows them.
    """
    if not isinstance(text, str):
        raise InputError(say("units.not-an-amount", text=text), say("units.write-text"))
    return _amount(text)


@lru_cache(maxsize=1024)
def _amount(text: str) -> Amount:
    """An amount; files and price lists name the same packages again and again."""
    first, *more = _amounts(text)
    if not more:
        return first
    if any(one.unit not in _MASS and one.unit not in _METRIC_VOLUME for one in (first, *more)):
        raise InputError(say("units.several", text=text.strip()), say("units.amount-unit-only"))
    size = sum(one.size(Kitchen.US) for one in (first, *more))
    return Amount(size / unit_size(first.unit), first.unit)


def _amounts(text: str) -> list[Amount]:
    """An amount, and what is added to it in smaller units: "1 lb 4 oz", "1/4 cup + 2 tbsp"."""
    amounts: list[Amount] = []
    after = _COMMA_AFTER_UNIT.sub(" + ", text)
    while after or not amounts:
        number, rest = parse_number(after)
        unit, after = take_unit(rest)
        if not unit:
            raise no_unit(text, rest)
        amounts.append(Amount(number, unit))
        joint = _ADDED.match(after)
        if joint:
            after = after[joint.end() :]
        elif after:
            raise InputError(
                say("units.after-unit", after=after, text=text.strip()),
                say("units.amount-unit-only"),
            )
    for one, other in pairwise(amounts):
        alike = {one.kind, other.kind} <= {UnitKind.MASS, UnitKind.OUNCE} or (
            one.kind is other.kind is UnitKind.VOLUME
        )
        if not alike or one.unit == other.unit:
            raise InputError(say("units.several", text=text.strip()), say("units.amount-unit-only"))
    return amounts


def no_unit(text: str, rest: str) -> InputError:
    """What to say where no unit follows a number.

    Parameters
    ----------
    text : str
        The amount as typed.
    rest : str
        What follows the number.
    """
    if not rest:
        return UnitError(say("units.without-unit", text=text.strip()), say("units.write-unit"))
    word = rest.split(maxsplit=1)[0]
    if word.startswith("("):
        return InputError(say("units.several", text=text.strip()), say("units.one-amount"))
    if word.lower() in _WHOSE:
        return UnitError(say("units.whose"), say("units.whose-remedy", word=word))
    if vague := vague_measure(rest):
        return UnitError(say("units.vague", word=vague), say("units.vague-remedy"))
    return UnknownName("unit", rest, _BY_WORD, say("units.units", units=", ".join(_WORDS)))


def parse_volume(text: str, kitchen: Kitchen) -> float:
    """Read a volume and return it [mL].

    Raises
    ------
    UnitError
        If the amount is a weight or a count.
    """
    if not isinstance(text, str):
        raise InputError(say("units.not-an-amount", text=text), say("units.write-text"))
    amounts = _amounts(text)
    if any(one.kind is not UnitKind.VOLUME for one in amounts):
        ounces = amounts[-1].unit == "oz"
        remedy = say("units.fluid-ounces") if ounces else say("units.write-volume")
        raise UnitError(say("units.not-a-volume", text=text.strip()), remedy)
    sizes = [one.size(kitchen) for one in amounts]
    if any(
        more >= size for size, more in pairwise(unit_size(one.unit, kitchen) for one in amounts)
    ):
        raise InputError(say("units.several", text=text.strip()), say("units.amount-unit-only"))
    size = sum(sizes)
    if size > LARGEST:
        raise UnitError(
            say("units.too-large", text=text.strip()),
            say("units.largest-volume", litres=LARGEST / 1e3),
        )
    if size < SMALLEST_VOLUME:
        raise UnitError(say("units.too-small", text=text.strip()), say("units.too-small-remedy"))
    return size


def parse_share(text: str | float | None) -> float | None:
    """Read a share: "30 %" or 0.3; None stays None."""
    if text is None:
        return None
    number: str | float = text
    if isinstance(text, str):
        found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%\s*", with_points(text))
        if not found:
            raise InputError(say("units.not-a-share", text=text), say("units.write-share"))
        number = float(found[1]) / 100
    share = float(number)
    if not 0 < share <= 1:
        raise InputError(say("units.share-out", text=text), say("units.write-share"))
    return share
