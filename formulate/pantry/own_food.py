"""A person's own food: from its label, or typed and completed where arithmetic allows it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from formulate.base.errors import InputError, UnknownName
from formulate.base.faults import Faults
from formulate.base.messages import say
from formulate.base.units import Kitchen, UnitKind, parse_amount, parse_share
from formulate.foods.food import DAIRY_KINDS, DRINK_KINDS, KINDS, Food, Household, Value
from formulate.foods.measures import COMPONENTS
from formulate.pantry.plausible import impossible

if TYPE_CHECKING:
    from formulate.pantry.pantry_shape import OwnEntry

__all__ = ["check_food_id", "complete", "ingredients_of", "own_food"]

_PROXIMATES = ("water", "protein", "fat", "carbohydrate", "ash")
#: Kinds whose carbohydrate may not be milk sugar, whatever they are called, and how much of it
#: must be for the two to count as one figure (judgement: laboratories differ by a third).
_MILKS = frozenset({"milk", "evaporated", "cultured", "cream", "dry-milk"})
_NEARLY_ALL = 0.5


def own_food(food_id: str, entry: OwnEntry, kitchen: Kitchen, rules: str = "us") -> Food:
    """Make a food of a person's table.

    Parameters
    ----------
    food_id : str
        Lower-case letters, digits and hyphens.
    entry : OwnEntry
        As in the pantry file; its values are per 100 g as fed.
    kitchen : Kitchen
        Whose cup is weighed.
    rules : str
        Rounding rules of panels that do not say whose they are.

    Raises
    ------
    ManyFaults
        With everything that is wrong.
    """
    faults = Faults()
    faults.catch("", lambda: check_food_id(food_id))
    by = _by_label if _has_label(entry) else _by_hand
    food = faults.catch("", lambda: by(food_id, entry, kitchen, rules))
    weighs = [entry.weighs] if isinstance(entry.weighs, str) else entry.weighs
    measured = [faults.catch("weighs", partial(_household, text, kitchen)) for text in weighs]
    if food is not None and not faults.found:
        for fault in impossible({name: v.value for name, v in food.values.items()}):
            faults.keep(fault)
    faults.settle()
    assert food is not None
    household = [measure for measure in measured if measure]
    weighed = {measure.unit for measure in household}
    return replace(
        food,
        name=entry.name or food_id.replace("-", " "),
        household=(*household, *(h for h in food.household if h.unit not in weighed)),
        largest_share=parse_share(entry.largest_share),
        drink_only=food.kind in DRINK_KINDS,
        ingredients=ingredients_of(entry.ingredients),
    )


def ingredients_of(listed: str | Sequence[str]) -> tuple[str, ...]:
    """What a label lists, one ingredient a piece, in lower case and without percentages.

    Parameters
    ----------
    listed : str or sequence of str
        As printed, "oats (10 %), sunflower oil; salt", or one by one.
    """
    text = listed if isinstance(listed, str) else ", ".join(listed)
    parts = re.split(r"[,;:()\[\]\n]", re.sub(r"\d+(?:[.,]\d+)?\s*%", "", text.lower()))
    return tuple(part for raw in parts if (part := " ".join(raw.strip(" .*").split())))


def check_food_id(name: str) -> None:
    """Reject a name that a person's own food cannot have in a file.

    Raises
    ------
    InputError
        Unless it is of lower-case letters, digits and hyphens.
    """
    if not re.fullmatch(r"[a-z0-9]+(-+[a-z0-9]+)*", name):
        raise InputError(say("errors.food-id", name=name), say("errors.food-id-remedy"))


def _has_label(entry: OwnEntry) -> bool:
    return bool(entry.panel or entry.at_least or entry.at_most)


def _by_label(food_id: str, entry: OwnEntry, kitchen: Kitchen, rules: str) -> Food:
    """A food by its panel or its guaranteed analysis."""
    from formulate.pantry.labels import Label, printed_in, read_carton

    label = Label(
        kind=entry.kind or "",
        sold_as=entry.sold_as or "",
        like=entry.like or "",
        panel=printed_in(entry.panel or {}, rules),
        at_least=entry.at_least or {},
        at_most=entry.at_most or {},
        per_100_g=entry.per_100_g or {},
    )
    food = read_carton(food_id, label, kitchen).food
    if not entry.source:
        return food
    values = {name: replace(value, source=entry.source) for name, value in food.values.items()}
    return replace(food, values=values)


def _by_hand(food_id: str, entry: OwnEntry, _: Kitchen, __: str) -> Food:
    """A food by its composition."""
    faults = Faults()
    kind = entry.kind or ""
    if not kind:
        faults.add("", say("errors.key-missing", key="kind"), say("keys.pantry.kind"))
    elif kind not in KINDS:
        faults.keep(
            UnknownName(
                "kind-of-food", kind, KINDS, say("errors.known.kinds", names=", ".join(KINDS))
            )
        )
    for key, said in (("sold_as", entry.sold_as), ("like", entry.like)):
        if said:
            faults.add(key, say("own.panel-only", key=key), say("own.panel-only-remedy"))
    values: Mapping[str, float] | None = {}
    if entry.per_100_g is None:
        faults.add("", say("own.no-content"), say("own.no-content-remedy"))
    else:
        values = faults.catch("", partial(complete, entry.per_100_g, kind))
    faults.settle()
    assert values is not None
    source = entry.source or "own"
    return Food(
        id=food_id,
        name=food_id.replace("-", " "),
        kind=kind,
        values={name: Value(value, source) for name, value in values.items()},
        own=True,
    )


def complete(given: Mapping[str, float], kind: str) -> dict[str, float]:
    """Complete values per 100 g as fed by the two sums that always hold.

    Water, protein, fat, carbohydrate and ash make 100, so one of them may be left out; solids
    may be given for water. In an unsweetened dairy food carbohydrate by difference and lactose
    are one figure; but where less than half of a milk's carbohydrate is said to be lactose, the
    rest is another sugar. What no sum gives stays missing.

    Raises
    ------
    ManyFaults
        Unknown measures, values over 100 g, sums over 100 g, solids that are not the rest of
        water.
    """
    faults = Faults()
    for fault in _wrong(given):
        faults.keep(fault.at("per_100_g"))
    faults.settle()
    values = {name: value for name, value in given.items() if name != "solids"}
    if "solids" in given:
        values.setdefault("water", 100.0 - given["solids"])
    dairy = kind in DAIRY_KINDS
    others = [values[name] for name in _PROXIMATES if name != "carbohydrate" and name in values]
    rest = 100.0 - sum(others) if len(others) == len(_PROXIMATES) - 1 else 0.0
    if dairy and "lactose" in values and values["lactose"] >= _NEARLY_ALL * rest:
        values.setdefault("carbohydrate", values["lactose"])
    missing = [name for name in _PROXIMATES if name not in values]
    known = sum(values[name] for name in _PROXIMATES if name in values)
    if len(missing) == 1:
        values[missing[0]] = max(100.0 - known, 0.0)
    if "water" not in values:
        faults.add(
            "per_100_g",
            say("own.no-water"),
            say("own.no-water-remedy"),
        )
    if "fat" not in values:
        faults.add("per_100_g", say("own.no-fat"), say("own.no-fat-remedy"))
    if known > 101.0 or (not missing and known < 99.0):
        faults.add(
            "per_100_g",
            say(
                "own.not-100",
                parts=" + ".join(name for name in _PROXIMATES if name in given),
                grams=known,
            ),
            say("own.not-100-remedy"),
        )
    faults.settle()
    if dairy and "carbohydrate" in values:
        declared, whole = given.get("lactose"), values["carbohydrate"]
        plain = declared is None or kind not in _MILKS or declared >= _NEARLY_ALL * whole
        values["lactose"] = whole if plain or declared is None else declared
    return values


def _wrong(given: Mapping[str, float]) -> Iterator[InputError]:
    """Faults of the figures as they were written."""
    names = (*COMPONENTS, "solids")
    for name in given:
        if name not in names:
            yield UnknownName("measure", name, names)
    yield from impossible(given)
    if {"solids", "water"} <= set(given) and abs(given["solids"] + given["water"] - 100) > 0.05:
        yield InputError(say("own.water-and-solids"), say("own.leave-one"))


def _household(text: str, kitchen: Kitchen) -> Household:
    """Read "1 cup = 245 g" or "1 scoop = 40 g"."""
    left, equals, right = text.partition("=")
    if not equals:
        raise InputError(say("own.no-equals", text=text), say("own.write-weighs"))
    measure, weight = parse_amount(left), parse_amount(right)
    if weight.kind not in (UnitKind.MASS, UnitKind.OUNCE):
        raise InputError(say("own.not-a-weight", text=right.strip()), say("own.write-weighs"))
    grams = weight.size(kitchen)
    if measure.kind is UnitKind.VOLUME:
        millilitres = measure.size(kitchen)
        if not 0.05 <= grams / millilitres <= 3:
            raise InputError(
                say("own.too-dense", text=text, density=grams / millilitres),
                say("food.check-figures"),
            )
        return Household("cup", grams, millilitres, "own")
    if measure.kind is UnitKind.COUNT:
        return Household(measure.unit, grams / measure.number, None, "own")
    raise InputError(say("own.already-weight", text=left.strip()), say("own.write-weighs"))
