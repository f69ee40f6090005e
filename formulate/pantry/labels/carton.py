"""Turn a label into a food, with an interval for each of its measures."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from formulate.base.content import ByContent
from formulate.base.errors import InputError, ManyFaults, UnknownName
from formulate.base.messages import listed, say
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen, UnitKind, unit_size
from formulate.foods.food import DAIRY_KINDS, KINDS, Food, Household, Value
from formulate.foods.measures import COMPONENTS, MEASURES
from formulate.foods.tables import Standard, food_table, standards
from formulate.pantry.labels.facts import (
    POWDER_WATER,
    ash_fact,
    density_ratio,
    guaranteed,
    law_facts,
    model_volume,
    most_ash_fact,
    panel_facts,
    protein_fact,
    serum_fact,
    sold_as,
    sums,
    two_factors,
)
from formulate.pantry.labels.intervals import COLUMNS, PROXIMATES, SERVINGS, WEIGHT, Fact, System
from formulate.pantry.labels.panel import Panel, read_panel, rounding_of
from formulate.pantry.labels.rounding import PRINTED, Interval, Rounding

__all__ = ["Carton", "Label", "read_carton"]

#: Source of the values.
SOURCE = "label"
#: Kinds of dry foods, whose water is little.
_POWDERS = frozenset({"replacer-powder", "dry-milk", "dry-whey"})
#: A figure that alone leaves more than this uncertain is reported [± g in 100 g] (judgement).
COARSE = 0.4


@dataclass(frozen=True, eq=False)
class Label(ByContent):
    """What a person reads off a carton or a bag.

    Parameters
    ----------
    kind : str
        One of `formulate.foods.KINDS`; may be left empty if `sold_as` says it.
    sold_as : str
        Name that the law has a standard for: "whole milk", "evaporated milk" ...
    like : str
        Food of the table that it resembles; that of `sold_as` where left empty.
    panel : mapping of str to str or float
        See `formulate.pantry.labels.panel.read_panel`; empty for a bag without one.
    at_least, at_most : mapping of str to float
        Guaranteed analysis: percent as fed; trace minerals in mg/kg.
    per_100_g : mapping of str to float
        What is known from elsewhere, as a maker's letter [the measure's unit in 100 g as fed].
    """

    kind: str = ""
    sold_as: str = ""
    like: str = ""
    panel: Mapping[str, str | float] = field(default_factory=dict)
    at_least: Mapping[str, float] = field(default_factory=dict)
    at_most: Mapping[str, float] = field(default_factory=dict)
    per_100_g: Mapping[str, float] = field(default_factory=dict)


@brief_repr
@dataclass(frozen=True, eq=False)
class Carton(ByContent):
    """A food of which a label is known.

    Parameters
    ----------
    food : Food
        Its values lie in the middle of what the label allows, each with its interval.
    label : Label
    panel : Panel or None
    rounding : Rounding
        Whose rules and whose law were used.
    coarse : mapping of str to float
        Half of what a figure alone leaves open [g in 100 g], where that is a lot.
    notes : tuple of str
        How the label was understood.
    """

    food: Food
    label: Label
    panel: Panel | None
    rounding: Rounding
    coarse: Mapping[str, float]
    notes: tuple[str, ...]

    @property
    def intervals(self) -> Mapping[str, Interval]:
        """Low and high end of each measure in 100 g."""
        return {
            name: (value.low, value.high)
            for name, value in self.food.values.items()
            if value.low is not None and value.high is not None
        }


def read_carton(food_id: str, label: Label, kitchen: Kitchen, name: str = "") -> Carton:
    """Read a label.

    Parameters
    ----------
    food_id : str
    label : Label
    kitchen : Kitchen
        Whose cup a serving is.
    name : str
        Plain words; made of the id where empty.

    Raises
    ------
    InputError
        If the label contradicts itself, with the fewest figures that clash; or anything in it
        cannot be read.
    """
    rounding = _rounding(label)
    demands, kind, like = _named(label, rounding)
    notes: list[str] = []
    facts = list(law_facts(demands))
    panel = None
    if label.panel:
        panel = read_panel(label.panel, KINDS[kind], kitchen)
        notes += panel.serving.notes
        facts = [*panel_facts(panel, kind), *facts]
        if two_factors(panel, kind):
            notes.append(say("label.factors"))
    beside, taken, stated = _stated(label, panel, kind)
    facts += stated
    if taken:
        notes.append(taken)
    if panel is None and kind in _POWDERS and not any(f.of == "water" for f in facts):
        low, high = POWDER_WATER
        facts.append(Fact.between(say("label.powder-water"), "water", POWDER_WATER, WEIGHT, 0.01))
        notes.append(say("label.water-taken", low=low, high=high))
    system, intervals, unlike = _consistent(facts, kind, like, panel)
    notes += unlike
    centre = system.centre(intervals)
    values = {name: _value(centre[name], ends) for name, ends in intervals.items()}
    values |= beside
    sweet = panel is not None and "added-sugars" in panel.figures
    if kind in DAIRY_KINDS and not (sweet and panel and panel.figures["added-sugars"].number > 0):
        values.setdefault("lactose", values["carbohydrate"])
    coarse = _coarse(panel)
    food = Food(
        id=food_id,
        name=name or food_id.replace("-", " "),
        kind=kind,
        values=values,
        household=_household(panel, kind, centre, kitchen),
        own=True,
    )
    return Carton(food, label, panel, rounding, coarse, tuple(notes))


def _rounding(label: Label) -> Rounding:
    try:
        return rounding_of(label.panel)
    except UnknownName:  # told with the panel's other faults
        return Rounding.US


def _named(label: Label, rounding: Rounding) -> tuple[tuple[Standard, ...], str, Food | None]:
    """The law on its name, its kind, and the food of the table it is like."""
    demands = sold_as(label.sold_as, rounding) if label.sold_as else ()
    kind = label.kind or (demands[0].kind if demands else "")
    if not kind:
        names = dict.fromkeys(s.name for s in standards())
        raise InputError(
            say("label.no-kind"),
            say("label.no-kind-remedy", names=", ".join(names)),
        )
    if kind not in KINDS:
        raise UnknownName(
            "kind-of-food", kind, KINDS, say("errors.known.kinds", names=", ".join(KINDS))
        )
    if demands and demands[0].kind != kind:
        raise InputError(
            say("label.other-kind", name=label.sold_as, its_kind=demands[0].kind, kind=kind),
            say("label.other-kind-remedy"),
        )
    named = label.like or (demands[0].like if demands else "")
    like = food_table().find(named) if named else None
    if like is not None and like.kind != kind:
        raise InputError(
            say("label.like-kind", name=like.id, its_kind=like.kind, kind=kind),
            say("label.like-kind-remedy"),
            "like",
        )
    return demands, kind, like


def _stated(
    label: Label, panel: Panel | None, kind: str
) -> tuple[dict[str, Value], str, list[Fact]]:
    """Guarantees and known values: those outside the system, the notes on them, and the facts."""
    at_least, at_most = _hyphens(label.at_least), _hyphens(label.at_most)
    known = _known(_hyphens(label.per_100_g), panel, kind)
    promised = guaranteed(at_least, at_most)
    lacking = [name for name in ("protein", "fat") if name not in promised and name not in known]
    if panel is None and lacking:
        raise InputError(
            say("label.lacks", what=" and ".join(lacking)),
            say("label.lacks-remedy"),
        )
    facts, beside = [], {}
    for name, (words, ends) in promised.items():
        if name in COLUMNS:
            facts.append(Fact.between(words, name, ends, WEIGHT, 0.01))
        else:
            # Nothing else bounds it; a ceiling is judged by its upper end.
            middle = (ends[0] + ends[1]) / 2 if name in at_least else ends[1]
            beside[name] = _value(middle, ends)
    for name, value in known.items():
        words = say("label.known", measure=name, value=value, unit=MEASURES[name].unit)
        if name in COLUMNS:
            facts.append(Fact.between(words, name, (value, value), WEIGHT, 0.01))
        else:
            beside[name] = Value(value, SOURCE)
    one_ended = (set(at_least) ^ set(at_most)) & (set(at_least) | {"water", "ash"})
    taken = say("label.guarantee-ends")
    return beside, taken if one_ended else "", facts


def _hyphens(given: Mapping[str, float]) -> dict[str, float]:
    return {name.replace("_", "-"): value for name, value in given.items()}


def _known(given: dict[str, float], panel: Panel | None, kind: str) -> dict[str, float]:
    """Values known from elsewhere, solids as water and a dairy food's lactose as carbohydrate."""
    faults: list[InputError] = []
    for name, value in given.items():
        if name not in (*COMPONENTS, "solids"):
            faults.append(UnknownName("measure", name, (*COMPONENTS, "solids")).at("per_100_g"))
        elif panel is not None and name in panel.intervals:
            remedy = say("own.leave-one")
            faults.append(InputError(say("label.in-panel", name=name), remedy, "per_100_g"))
        elif not 0 <= value < math.inf:
            faults.append(
                InputError(say("label.bad-value", value=value, name=name), "", "per_100_g")
            )
    if faults:
        raise ManyFaults(faults)
    known = dict(given)
    if "solids" in known:
        known["water"] = 100.0 - known.pop("solids")
    if kind in DAIRY_KINDS and "lactose" in known:
        known["carbohydrate"] = known.pop("lactose")
    return known


def _consistent(
    facts: Sequence[Fact], kind: str, like: Food | None, panel: Panel | None
) -> tuple[System, dict[str, Interval], list[str]]:
    """The facts with as much of the similar foods as agrees with them, and the intervals of both.

    Raises
    ------
    InputError
        If the facts themselves clash.
    """
    given = sums(kind, panel)
    most_ash = most_ash_fact(kind)
    likeness = (ash_fact(kind, like), protein_fact(like), serum_fact(like))
    soft = [fact for fact in likeness if fact is not None]
    if most_ash is not None:
        facts = [*facts, most_ash]
    bounded = (fact.of for fact in facts if fact.of in COMPONENTS)
    measures = tuple(dict.fromkeys((*PROXIMATES, "energy", *bounded)))
    for kept in range(len(soft), -1, -1):
        system = System((*facts, *soft[:kept]), given)
        intervals = system.intervals(measures)
        if intervals is not None:
            return (
                system,
                intervals,
                [say("label.not-used", what=f.words) for f in soft[kept:]],
            )
    raise _contradiction(System(tuple(facts), given))


def _contradiction(system: System) -> InputError:
    """The fewest facts that clash, and the value that the others imply for one of them."""
    clash = sorted(system.clash(), key=_doubt)
    if len(clash) == 1:
        return InputError(say("label.cannot-be", what=clash[0].words), say("label.check-carton"))
    would = ""
    for doubted in clash:
        law = doubted.by_law
        others = [fact for fact in system.facts if fact is not doubted]
        ends = system.reach(others, doubted.of, WEIGHT if law else SERVINGS) if doubted.of else None
        if ends is not None:
            clash = [doubted, *(fact for fact in clash if fact is not doubted)]
            which = "serving" if doubted.of == WEIGHT else "in-100-g" if law else "a-serving"
            would = say(
                f"label.would.{which}",
                what=doubted.of.replace("-", " "),
                low=_short(ends[0]),
                high=_short(ends[1]),
                unit="g" if doubted.of == WEIGHT else PRINTED.get(doubted.of, "g"),
            )
            break
    words = [fact.words for fact in clash]
    return InputError(
        say("label.clash", facts=listed(words)), f"{would} {say('label.check-all')}".strip()
    )


def _short(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _doubt(fact: Fact) -> int:
    """Which fact of a clash to name first, with the value that the others imply for it."""
    if fact.by_law:
        return 1
    order = {"energy": 0, "sodium": 2, "potassium": 2, "calcium": 2, WEIGHT: 4}
    return order.get(fact.of, 3 if fact.of else 5)


def _value(value: float, ends: Interval) -> Value:
    low, high = min(ends[0], value), max(ends[1], value)
    return Value(value, SOURCE, low=low, high=high)


def _coarse(panel: Panel | None) -> dict[str, float]:
    """Half of what each figure alone leaves open [g in 100 g], where it is more than `COARSE`."""
    if panel is None:
        return {}
    found = {}
    for name in ("fat", "protein", "carbohydrate"):
        low, high = panel.intervals[name]
        half = 100 * (high - low) / 2 / panel.serving.size
        if half > COARSE:
            found[name] = half
    return found


def _household(
    panel: Panel | None, kind: str, centre: Mapping[str, float], kitchen: Kitchen
) -> tuple[Household, ...]:
    """What a cup, or a scoop, of it weighs: by the panel, or by its composition."""
    if panel is None:
        return ()
    serving, measure = panel.serving, panel.serving.household
    if serving.grams is not None and measure is not None:
        grams = sum(serving.grams) / 2
        if measure.kind is UnitKind.VOLUME:
            return (Household("cup", grams, measure.size(kitchen), SOURCE, say("label.as-panel")),)
        if measure.kind is UnitKind.COUNT:
            return (Household(measure.unit, grams / measure.number, None, SOURCE),)
    if not KINDS[kind]:
        return ()
    cup = unit_size("cup", kitchen)
    weight = cup * sum(density_ratio(kind)) / 2 * 100 / model_volume(centre)
    return (Household("cup", weight, cup, SOURCE, say("label.by-composition")),)
