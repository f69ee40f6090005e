"""The interval of values that a printed figure can stand for: label rounding in reverse.

A panel that says "8 g" of fat means "7.5 to 8.5 g", and one that says "0 g" does not mean
none. The rules of 21 CFR 101.9(c) round in steps that grow with the amount; elsewhere a figure is
taken to be good to half a unit of its last decimal. Ends are closed, so that no reading of a tie is
lost.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import listed, say
from formulate.base.units import with_points
from formulate.pantry.label_figures import LABEL_FIGURES

__all__ = [
    "KILOCALORIE",
    "PRINTED",
    "Interval",
    "PrintedFigure",
    "Rounding",
    "parse_figure",
    "parse_rounding",
    "stands_for",
]

#: Low and high end.
Interval = tuple[float, float]


class Rounding(StrEnum):
    """Whose rules a panel was rounded by."""

    US = "us"
    ELSEWHERE = "elsewhere"
    ANZ = "anz"

    @property
    def law(self) -> str:
        """Whose law its names stand in: "us", "eu" or "anz" (Australia and New Zealand)."""
        return "eu" if self is Rounding.ELSEWHERE else self.value


def parse_rounding(text: str) -> Rounding:
    """Read whose rules: "us", "eu" or "elsewhere", or "anz".

    Raises
    ------
    UnknownName
        If it is none of them.
    """
    word = text.strip().lower()
    try:
        return Rounding.ELSEWHERE if word == "eu" else Rounding(word)
    except ValueError:
        raise UnknownName("rounding", text, list(Rounding), say("label.roundings")) from None


#: What panels print, with the unit they print it in.
PRINTED: Mapping[str, str] = {figure.name: figure.unit for figure in LABEL_FIGURES.values()}
#: Kilojoules in a kilocalorie (thermochemical, by definition).
KILOCALORIE = 4.184

_FIGURE = re.compile(
    r"(?P<below>(?:less than|under|below|<)\s*)?(?P<number>\d+(?:\.(?P<decimals>\d+))?|\.\d+)"
    r"\s*(?P<unit>[a-zµ]*)",
    re.IGNORECASE,
)
_UNIT_WORDS = {
    "g": "g",
    "mg": "mg",
    "kcal": "kcal",
    "cal": "kcal",
    "calories": "kcal",
    "kj": "kJ",
}


@dataclass(frozen=True, slots=True)
class PrintedFigure:
    """A figure as it is printed.

    Parameters
    ----------
    number : float
    decimals : int
        Printed after the point.
    below : bool
        Whether it says "less than".
    unit : str
        As printed: g, mg, kcal or kJ.
    """

    number: float
    decimals: int
    below: bool
    unit: str

    def __str__(self) -> str:
        below = "less than " if self.below else ""
        return f"{below}{self.number:.{self.decimals}f} {self.unit}"


def parse_figure(name: str, written: str | float) -> PrintedFigure:
    """Read a figure of a panel: ``8``, ``2.5``, ``"0 g"``, ``"less than 1 g"``, ``"268 kJ"``.

    Parameters
    ----------
    name : str
        One of `PRINTED`.
    written : str or float
        In the unit of `PRINTED` unless it says another that fits.

    Raises
    ------
    UnknownName
        If panels print no such thing.
    InputError
        If the figure is negative, not a number, or in a unit that does not fit.
    """
    if name not in PRINTED:
        raise UnknownName(
            "figure-of-a-panel",
            name,
            PRINTED,
            say("errors.known.figures", names=", ".join(PRINTED)),
        )
    text = with_points(str(written).strip())
    example = say("label.as-printed", unit=PRINTED[name])
    if re.match(r"[-−]\s*[\d.]", text):
        raise InputError(say("label.below-zero", text=text), example)
    found = _FIGURE.fullmatch(text)
    if isinstance(written, bool) or not found:
        if re.search(r"\d\s*%", text):
            example = say("label.not-daily", unit=PRINTED[name])
        raise InputError(say("label.no-figure", text=text), example)
    word = found["unit"].lower()
    unit = _UNIT_WORDS.get(word, word) or PRINTED[name]
    fits = ("kcal", "kJ") if name == "energy" else (PRINTED[name],)
    if unit not in fits:
        raise InputError(
            say("label.not-in", text=text, units=listed(fits, either=True)),
            say("label.write-in", name=name, unit=fits[0]),
        )
    number = float(found["number"])
    if not math.isfinite(number) or number > 1e5:
        raise InputError(say("label.too-large", text=text, name=name))
    return PrintedFigure(number, len(found["decimals"] or ""), found["below"] is not None, unit)


@dataclass(frozen=True, slots=True)
class _Steps:
    """How a US panel rounds one thing.

    Parameters
    ----------
    zero_below : float
        Less than this is, or may be, printed as 0.
    must : bool
        Whether it must be: then no other figure can stand for so small an amount.
    steps : tuple of (float, float, float)
        From, to, and the step that amounts between are rounded to. Where they overlap either
        is in use.
    """

    zero_below: float
    must: bool
    steps: tuple[tuple[float, float, float], ...]


_GRAM = _Steps(0.5, False, ((0, math.inf, 1),))
_FAT = _Steps(0.5, True, ((0, 5, 0.5), (5, math.inf, 1)))
# 21 CFR 101.9(c) as FDA's labelling guide tables it. From memory: calcium and potassium by weight
# (101.9(c)(8), 2016) to the nearest 10 mg, finer where a maker prints finer, and 0 below 2 % of a
# daily value of 1300 and 4700 mg. Potassium was rounded as sodium before, and still may be.
_US: Mapping[str, _Steps] = {
    "energy": _Steps(5, False, ((0, 50, 5), (50, math.inf, 10))),
    "fat": _FAT,
    "saturated-fat": _FAT,
    "carbohydrate": _GRAM,
    "fibre": _GRAM,
    "sugars": _GRAM,
    "added-sugars": _GRAM,
    "protein": _GRAM,
    "sodium": _Steps(5, True, ((0, 140, 5), (140, math.inf, 10))),
    "potassium": _Steps(94, False, ((0, 140, 5), (0, math.inf, 10), (0, math.inf, 1))),
    "calcium": _Steps(26, False, ((0, math.inf, 10), (0, math.inf, 1))),
}
#: What "0" can stand for elsewhere (EU guidance on tolerances, 2012, from memory).
_ELSEWHERE_ZERO = {"saturated-fat": 0.1, "salt": 0.0125, "sodium": 5.0, "energy": 0.5}


def stands_for(name: str, figure: PrintedFigure, rounding: Rounding) -> Interval:
    """The amounts that a figure can stand for, in its own unit.

    Parameters
    ----------
    name : str
        One of `PRINTED`.
    figure : PrintedFigure
    rounding : Rounding

    Returns
    -------
    Interval

    Raises
    ------
    InputError
        If a US panel cannot print that figure.

    Examples
    --------
    >>> stands_for("fat", parse_figure("fat", 8), Rounding.US)
    (7.5, 8.5)
    >>> stands_for("protein", parse_figure("protein", "less than 1 g"), Rounding.US)
    (0.0, 1.0)
    """
    if figure.below:
        return 0.0, figure.number
    if rounding is not Rounding.US:
        return _elsewhere(name, figure)
    if name == "salt" or figure.unit == "kJ":
        printed = say("label.us-sodium" if name == "salt" else "label.us-energy")
        raise InputError(
            say("label.us-prints", printed=printed, figure=figure),
            say("label.us-prints-remedy"),
        )
    rule, number = _US[name], figure.number
    ends: list[Interval] = [(0.0, rule.zero_below)] if number == 0 else []
    for start, stop, step in rule.steps:
        if not math.isclose(number / step, round(number / step), abs_tol=1e-9):
            continue
        low = max(number - step / 2, start, rule.zero_below if rule.must else 0.0)
        high = min(number + step / 2, stop)
        if low <= high and number > 0:
            ends.append((low, high))
    if not ends:
        raise InputError(
            say("label.us-never", figure=figure, name=name),
            say("label.us-never-remedy"),
        )
    return min(low for low, _ in ends), max(high for _, high in ends)


def _elsewhere(name: str, figure: PrintedFigure) -> Interval:
    """Half a unit of the last decimal printed; more where a figure is rounded to tens."""
    number = figure.number
    if number == 0 and not figure.decimals:
        return 0.0, _ELSEWHERE_ZERO.get(name, 0.5)
    half = 0.5 * 10.0**-figure.decimals
    tens = figure.unit in ("mg", "kJ") and number % 10 == 0
    if tens and not figure.decimals and number >= (1000 if figure.unit == "kJ" else 100):
        half = 5.0  # figures of two or three places, as guidance has them
    return max(number - half, 0.0), number + half
