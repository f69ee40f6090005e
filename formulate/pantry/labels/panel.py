"""A nutrition panel as printed on a carton, read into intervals per serving.

A panel counts per serving (a household measure, a weight or a volume) or per 100 g or 100 mL.
Figures of the two kinds are never mixed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from formulate.base.content import ByContent
from formulate.base.errors import InputError, ManyFaults, UnknownName
from formulate.base.messages import say
from formulate.base.units import Amount, Kitchen, UnitKind, parse_amount
from formulate.pantry.label_figures import NEEDED
from formulate.pantry.labels.rounding import (
    KILOCALORIE,
    PRINTED,
    Interval,
    PrintedFigure,
    Rounding,
    parse_figure,
    parse_rounding,
    stands_for,
)

__all__ = ["Panel", "Serving", "parse_serving", "printed_in", "read_panel", "rounding_of"]

#: Keys of a panel that are not figures.
PLACES = ("serving", "per", "rounding")

# What US labels take household measures for, 21 CFR 101.9(b)(5)(viii) (from memory) [mL].
_LABEL_MILLILITRES = {"cup": 240.0, "fl oz": 30.0, "tbsp": 15.0, "tsp": 5.0}
#: A US cup over the cup of US labels.
_TRUE_CUP = 236.5882365 / 240
#: Milligrams of sodium in a gram of salt, as labels reckon: salt = 2.5 × sodium.
SODIUM_IN_SALT = 400.0


@dataclass(frozen=True)
class Serving:
    """What the figures of a panel are counted for.

    Parameters
    ----------
    text : str
        As printed.
    grams : Interval or None
        What it can weigh [g]; None if only a volume is known.
    millilitres : Interval or None
        What room it can take [mL]; None if only a weight is known.
    household : Amount or None
        As a kitchen measures it.
    notes : tuple of str
        How the words were understood, if that is not obvious.
    """

    text: str
    grams: Interval | None
    millilitres: Interval | None
    household: Amount | None = None
    notes: tuple[str, ...] = ()

    @property
    def size(self) -> float:
        """Middle of what it can weigh [g], assuming 1 g a millilitre."""
        low, high = self.grams or self.millilitres or (0.0, 0.0)
        return (low + high) / 2


@dataclass(frozen=True, eq=False)
class Panel(ByContent):
    """A panel, read.

    Parameters
    ----------
    serving : Serving
    rounding : Rounding
    figures : mapping of str to PrintedFigure
        As printed, by name of `PRINTED`.
    intervals : mapping of str to Interval
        What each can stand for per serving [g, mg or kcal]; salt and kilojoules as sodium and
        energy.
    """

    serving: Serving
    rounding: Rounding
    figures: Mapping[str, PrintedFigure]
    intervals: Mapping[str, Interval]

    @property
    def kilojoules(self) -> bool:
        """Whether its energy was calculated in kJ, with the factors for kJ."""
        return "energy" in self.figures and self.figures["energy"].unit == "kJ"


def read_panel(given: Mapping[str, str | float], liquid: bool, kitchen: Kitchen) -> Panel:
    """Read a panel.

    Parameters
    ----------
    given : mapping of str to str or float
        ``serving`` or ``per``, ``rounding`` where it is not plain from these, and the figures.
    liquid : bool
        Whether "oz" means fluid ounces, and a volume says how much there is.
    kitchen : Kitchen
        Whose cup the serving is.

    Raises
    ------
    ManyFaults
        With everything that is wrong.
    """
    given = {name.replace("_", "-"): written for name, written in given.items()}
    faults: list[InputError] = []
    rounding, serving = None, None
    try:
        rounding = rounding_of(given)
        serving = _serving(given, liquid, kitchen, rounding)
    except InputError as error:
        faults.append(error)
    figures: dict[str, PrintedFigure] = {}
    intervals: dict[str, Interval] = {}
    for name, written in given.items():
        if name in PLACES:
            continue
        try:
            if name not in PRINTED:
                known = (*PLACES, *PRINTED)
                raise UnknownName(
                    "key-of-a-panel", name, known, say("errors.known.keys", names=", ".join(known))
                )
            figures[name] = parse_figure(name, written)
            if rounding is not None:
                measure, interval = _interval(name, figures[name], rounding)
                intervals[measure] = interval
        except InputError as error:
            faults.append(error if isinstance(error, UnknownName) else error.at(name))
    missing = [name for name in NEEDED if name not in given]
    if missing:
        faults.append(
            InputError(
                say("label.panel-lacks", what=", ".join(missing)),
                say("label.panel-lacks-remedy"),
            )
        )
    if {"salt", "sodium"} <= set(figures):
        faults.append(InputError(say("label.salt-twice"), say("own.leave-one")))
    if faults or serving is None or rounding is None:
        raise ManyFaults(faults)
    _fits(intervals, serving)
    return Panel(serving, rounding, figures, intervals)


def _fits(intervals: Mapping[str, Interval], serving: Serving) -> None:
    """Fat, carbohydrate and protein cannot outweigh the serving."""
    least = sum(intervals[name][0] for name in NEEDED)
    # No milk, syrup or honey weighs more than 1.5 g a mL.
    most = serving.grams[1] if serving.grams else 1.5 * (serving.millilitres or (0, 0))[1]
    if least > most:
        raise InputError(
            say("label.over-serving", grams=least, serving=serving.text),
            say("label.over-serving-remedy"),
        )


def _interval(name: str, figure: PrintedFigure, rounding: Rounding) -> tuple[str, Interval]:
    """The measure that a figure speaks of, and what it can stand for in that measure's unit."""
    low, high = stands_for(name, figure, rounding)
    if name == "salt":
        return "sodium", (low * SODIUM_IN_SALT, high * SODIUM_IN_SALT)
    if figure.unit == "kJ":
        return "energy", (low / KILOCALORIE, high / KILOCALORIE)
    return name, (low, high)


def rounding_of(given: Mapping[str, str | float]) -> Rounding:
    """As said; else US for a panel per serving, elsewhere for one per 100.

    Raises
    ------
    UnknownName
        If there is no such set of rules.
    """
    said = given.get("rounding")
    if said is None:
        return Rounding.ELSEWHERE if "per" in given else Rounding.US
    return parse_rounding(str(said))


def printed_in(given: Mapping[str, str | float], rules: str) -> Mapping[str, str | float]:
    """A panel of a country: its rules, where the panel does not say whose.

    Parameters
    ----------
    given : mapping of str to str or float
    rules : str
        `formulate.foods.country.Country.panel`.
    """
    if not given or rules == Rounding.US.value or "rounding" in given:
        return given
    return {**given, "rounding": rules}


def _serving(
    given: Mapping[str, str | float], liquid: bool, kitchen: Kitchen, rounding: Rounding
) -> Serving:
    if "serving" in given and "per" in given:
        raise InputError(
            say("label.both-columns"),
            say("label.both-columns-remedy"),
        )
    if "per" in given:
        return _per(str(given["per"]), liquid)
    if "serving" not in given:
        raise InputError(
            say("label.no-column"),
            say("label.no-column-remedy"),
        )
    try:
        return parse_serving(str(given["serving"]), liquid, kitchen, rounding)
    except InputError as error:
        raise error.at("serving") from None


def _per(text: str, liquid: bool) -> Serving:
    sizes = {"g": "100 g", "gram": "100 g", "ml": "100 mL"}
    found = re.fullmatch(r"\s*100\s*(g|grams?|ml)\s*", text, re.IGNORECASE)
    if not found:
        raise InputError(
            say("label.no-per", text=text),
            say("label.no-per-remedy"),
            "per",
        )
    shown = sizes[found[1].lower().removesuffix("s")]
    if shown == "100 g":
        return Serving(shown, (100.0, 100.0), None)
    _need_liquid(shown, liquid, "per")
    return Serving(shown, None, (100.0, 100.0))


def parse_serving(text: str, liquid: bool, kitchen: Kitchen, rounding: Rounding) -> Serving:
    """Read a serving as panels print it: "1 cup (240 mL)", "2 tbsp (30 mL)", "30 g", "8 fl oz".

    The weight or volume in brackets counts; what stands before it is how a kitchen measures
    the same. The printed weight is itself rounded (to 1 g, from 2 to 5 g to 0.5 g, below to
    0.1 g), and a volume in cups or spoons may be a label's round 240 mL or the true 236.6.

    Raises
    ------
    InputError
        If the unit is not known and no weight or volume stands in brackets.
    """
    found = re.fullmatch(r"([^()]*)(?:\(([^()]*)\))?\s*", text)
    if not found or not text.strip():
        raise InputError(say("label.not-a-serving", text=text), say("label.not-a-serving-remedy"))
    outside, inside = found[1].strip(), (found[2] or "").strip()
    notes: tuple[str, ...] = ()
    household = None
    if inside and outside:
        try:
            household = parse_amount(outside)
        except InputError:  # "1 container (150 g)": the weight is all that counts
            household = None
    metric = parse_amount(inside or outside)
    if metric.kind is UnitKind.OUNCE:
        metric = Amount(metric.number, "fl oz" if liquid else "oz weight")
        if liquid:
            notes = (say("label.read-as", text=text.strip(), metric=metric),)
    if household is not None:
        _fit_together(household, metric, liquid, kitchen)
    if metric.kind is UnitKind.COUNT:
        raise InputError(
            say("label.no-serving-weight", text=text.strip()),
            say("label.no-serving-weight-remedy"),
        )
    if household is None and metric.unit not in ("g", "kg", "mg", "mL", "L", "lb", "oz weight"):
        household = metric
    if metric.kind is UnitKind.MASS:
        return Serving(text.strip(), _grams(metric, kitchen), None, household, notes)
    _need_liquid(str(metric), liquid, "")
    ends = _millilitres(metric, household, kitchen, rounding)
    return Serving(text.strip(), None, ends, household, notes)


def _fit_together(one: Amount, other: Amount, liquid: bool, kitchen: Kitchen) -> None:
    """Reject two sizes of a serving that cannot be the same: "8 fl oz (24 mL)".

    Labels round a fluid ounce to 30 mL and a cup to 240: two volumes, or two weights, may differ
    by a tenth. A millilitre of a liquid weighs 0.8 to 1.6 g, sugar counted with the syrups, of
    anything 0.05 to 3 (judgement).
    """
    if one.kind is UnitKind.OUNCE:
        one = Amount(one.number, "fl oz" if other.kind is UnitKind.VOLUME else "oz weight")
    if UnitKind.COUNT in (one.kind, other.kind):
        return
    ratio = other.size(kitchen) / one.size(kitchen)
    if one.kind is other.kind:
        low, high = 0.9, 1.1
    else:
        low, high = (0.8, 1.6) if liquid else (0.05, 3.0)
        ratio = ratio if one.kind is UnitKind.VOLUME else 1 / ratio
    if not low <= ratio <= high:
        raise InputError(
            say("food.sizes-clash", one=f"{one}", other=f"{other}"), say("food.sizes-clash-remedy")
        )


def _need_liquid(size: str, liquid: bool, where: str) -> None:
    if not liquid:
        raise InputError(
            say("label.no-kind-weight", size=size),
            say("label.no-kind-weight-remedy"),
            where,
        )


def _grams(amount: Amount, kitchen: Kitchen) -> Interval:
    grams = amount.size(kitchen)
    if amount.unit != "g":
        return grams, grams
    half = _half_step(grams)
    return grams - half, grams + half


def _half_step(size: float) -> float:
    """Half the step a printed serving is rounded to, 21 CFR 101.9(b)(7) (from memory)."""
    whole = abs(size - round(size)) < 1e-9
    step = 1.0 if size >= 5 and whole else 0.5 if 2 <= size < 5 and (2 * size) % 1 == 0 else 0.1
    return step / 2


def _millilitres(
    amount: Amount, household: Amount | None, kitchen: Kitchen, rounding: Rounding
) -> Interval:
    """Volume of a serving; a US cup may be the label's 240 mL or the true 236.6."""
    size = amount.size(kitchen)
    ends = [size]
    if amount.unit == "mL":
        half = _half_step(size)
        ends += [size - half, size + half]
    if rounding is not Rounding.US or kitchen is not Kitchen.US:
        return min(ends), max(ends)
    if household is None:
        ends.append(size * _TRUE_CUP)
    elif household.kind is UnitKind.VOLUME:
        true = household.size(kitchen)
        label = household.number * _LABEL_MILLILITRES.get(household.unit, 0.0)
        if abs(true - size) <= 0.03 * size:
            ends += [true, label or true]
    return min(ends), max(ends)
