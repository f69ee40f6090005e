"""Why not, what would help, and what each demand costs: in plain sentences.

Every function gives sentences for people and, beside them, the numbers as rows of plain values
for a table or JSON. A sentence claims no more than its numbers: prices up to which something
holds are rounded down, those from which it holds up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.bands import Band, Basis, Role
from formulate.blend.additions import Additions, Help
from formulate.blend.explain import best_reach
from formulate.blend.limit_costs import LimitCost, Slope
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Limit, LimitKind, Problem
from formulate.blend.ranging import EntryPrice, PriceRange, equal_recipes
from formulate.report.words import join_words, share_words, unit_words

__all__ = ["Packages", "Told", "cost_reasons", "helpers", "price_reasons", "why_not"]

#: Package of each food: its words ("1 quart") and its weight [g].
Packages = Mapping[str, tuple[str, float]]

_KIND_WORDS = {
    "milk": "A milk",
    "evaporated": "An evaporated milk",
    "sweetened-milk": "A sweetened milk",
    "cultured": "A cultured milk",
    "strained-yogurt": "A strained yogurt",
    "cream": "A cream",
    "dry-milk": "A dry milk",
    "whey": "Whey",
    "dry-whey": "Dry whey",
    "milk-fat": "Milk fat",
    "cheese": "A cheese",
    "egg": "Egg",
    "dry-egg": "Dry egg",
    "sweetener": "A sugar",
    "oil": "An oil",
    "fish-oil": "Fish oil",
    "soy": "Soy",
    "replacer-powder": "A replacer powder",
    "water": "Water",
}


@dataclass(frozen=True)
class Told:
    """Sentences, and the numbers behind them.

    Parameters
    ----------
    sentences : tuple of str
    rows : tuple of dict
        Plain values; None where a number has no end or is not known.
    """

    sentences: tuple[str, ...]
    rows: tuple[dict[str, Any], ...]


# --- why there is no mix --------------------------------------------------------------------


def why_not(result: NoMix, most: int = 3) -> Told:
    """Tell the first `most` clashes of the fewest demands; rows for the members of every one."""
    problem = result.problem
    conflicts = (result.conflict, *result.other_conflicts)
    sentences = [_clash(problem, conflict) for conflict in conflicts[:most]]
    rest = len(conflicts) - most
    if rest > 0:
        sentences.append(
            f"There {'are' if rest > 1 else 'is'} {rest} more such clash{'es' if rest > 1 else ''}."
        )
    rows = [
        {
            "conflict": number,
            **_limit_row(limit),
            "best_reach": _plain(best_reach(problem, conflict, limit)),
        }
        for number, conflict in enumerate(conflicts, 1)
        for limit in conflict
    ]
    return Told(tuple(sentences), tuple(rows))


def _clash(problem: Problem, conflict: Sequence[Limit]) -> str:
    """One conflict as a sentence."""
    if any(limit.kind is LimitKind.SMALLEST for limit in conflict):
        if len(conflict) == 1:
            limit = conflict[0]
            return f"A batch of this size has no room for {_weight(limit.value)} of {limit.food}."
        kept = join_words([_demand(limit) for limit in conflict])
        return f"These foods cannot keep all of this: {kept}."
    last = max(range(len(conflict)), key=lambda k: (_spoken_last(conflict[k]), k))
    broken = conflict[last]
    others = [limit for k, limit in enumerate(conflict) if k != last]
    reach = best_reach(problem, conflict, broken)
    if not others:
        return f"No mix of these foods {_alone(broken)}{_beyond(broken, reach, ': the ', '')}."
    names = list(dict.fromkeys(_name(limit) for limit in (*others, broken)))
    title = f"{join_words(names)} clash" if len(names) > 1 else f"The demands on {names[0]} clash"
    demands = join_words([_demand(limit) for limit in others])
    verb = {LimitKind.BAND_HIGH: "bring", LimitKind.BAND_LOW: "leave"}.get(broken.kind, "take")
    verb = f"{verb}s" if len(others) == 1 else f"together {verb}"
    found = _beyond(broken, reach, " (", ")")
    return f"{_capital(title)}: with these foods, {demands} {verb} {_broken(broken)}{found}."


def _spoken_last(limit: Limit) -> int:
    """Rank of a member to be told as the one broken: a demanded ceiling makes the best sense."""
    if limit.band is None:
        return 1 if limit.kind is LimitKind.STOCK else 0
    ceiling = limit.kind is LimitKind.BAND_HIGH
    return (3 if limit.relaxable else 2) + 2 * ceiling


def _name(limit: Limit) -> str:
    if limit.band is not None:
        return _label(limit.band)
    return {
        LimitKind.SHARE: f"the largest share of {limit.food}",
        LimitKind.STOCK: f"the stock of {limit.food}",
    }.get(limit.kind, f"the smallest amount of {limit.food}")


def _demand(limit: Limit) -> str:
    """What a limit asks: "protein of at least 5.4 %"."""
    if limit.band is not None:
        ends = "at least" if limit.kind is LimitKind.BAND_LOW else "at most"
        safety = " (for safety)" if limit.band.role is Role.SAFETY else ""
        return f"{_label(limit.band)} of {ends} {_amount(limit.value, limit.band)}{safety}"
    return {
        LimitKind.SHARE: f"at most {_share(limit.value)} {limit.food}",
        LimitKind.STOCK: f"no more than the {_weight(limit.value)} of {limit.food} on hand",
    }.get(limit.kind, f"at least {_weight(limit.value)} of {limit.food} where any is used")


def _broken(limit: Limit) -> str:
    """What comes instead: "more than 5.4 % milk sugar"."""
    if limit.band is not None:
        than = "less than" if limit.kind is LimitKind.BAND_LOW else "more than"
        if limit.band.unit != "g/100 g":
            return f"{_label(limit.band)} of {than} {_amount(limit.value, limit.band)}"
        return f"{than} {_amount(limit.value, limit.band, _label(limit.band))}"
    if limit.kind is LimitKind.SHARE:
        return f"more than {_share(limit.value)} {limit.food}"
    return f"more than the {_weight(limit.value)} of {limit.food} on hand"


def _alone(limit: Limit) -> str:
    """What no mix does, of a limit that cannot be met by itself."""
    if limit.band is not None:
        verb = "reaches" if limit.kind is LimitKind.BAND_LOW else "keeps to"
        return f"{verb} {_demand(limit)}"
    if limit.kind is LimitKind.SHARE:
        return f"holds only {_share(limit.value)} {limit.food}"
    return f"makes do with the {_weight(limit.value)} of {limit.food} on hand"


def _beyond(limit: Limit, reach: float | None, before: str, after: str) -> str:
    """The best there is, where it says more than the limit: " (7.3 % or more)"."""
    if reach is None:
        return ""
    low = limit.kind is LimitKind.BAND_LOW
    scale = 100.0 if limit.kind is LimitKind.SHARE else 1.0
    if abs(reach) <= 1e-9 * max(1.0, abs(limit.value)):
        reach = 0.0
    shown = _rounded(reach * scale, math.ceil if low else math.floor) / scale
    if (shown >= limit.value) if low else (shown <= limit.value):
        return ""
    amount = _value(shown, limit)
    if before.startswith(":"):
        return f"{before}{'most' if low else 'least'} is {amount}{after}"
    return f"{before}{amount} or {'less' if low else 'more'}{after}"


# --- what would help ------------------------------------------------------------------------


def helpers(additions: Additions, currency: str = "", most: int = 5) -> Told:
    """Tell which foods would make a mix possible, the first `most` of them by name."""
    sentences: list[str] = []
    shown = additions.found[:most]
    by_kind: dict[tuple[str, ...], list[Help]] = {}
    for help_ in shown:
        by_kind.setdefault(tuple(food.kind for food in help_.foods), []).append(help_)
    for kinds, group in by_kind.items():
        subject = join_words(_kind_words(kinds))
        together = " together" if len(kinds) > 1 else ""
        told = "; or ".join(_help(help_, currency) for help_ in group)
        sentences.append(f"{subject}{together} would make it possible: {told}.")
    rest = len(additions.found) - len(shown)
    if rest:
        what = "pair" if additions.pairs else "food"
        sentences.append(f"So would {rest} more {what}{'s' if rest > 1 else ''}.")
    if not additions.found:
        if not additions.tried:
            sentences.append("There was no other food to try.")
        else:
            nor = ", nor would any two of them together" if additions.pairs_tried else ""
            count = len(additions.tried)
            sentences.append(
                f"None of the {count} other foods tried would make it possible by itself{nor}."
                if count > 1
                else f"{additions.tried[0]} was tried and would not make it possible."
            )
    if additions.unknown:
        lacking = join_words([f"{food} ({what})" for food, what in additions.unknown])
        sentences.append(f"Not tried, since a value they need is not known: {lacking}.")
    rows = [
        {
            "foods": list(help_.ids),
            "shares": list(help_.shares),
            "cost_per_litre": help_.cost_per_litre,
            "currency": currency or None,
            "rule": "cheapest" if _priced(help_.mix) else "least added",
        }
        for help_ in additions.found
    ]
    return Told(tuple(sentences), tuple(rows))


def _kind_words(kinds: Sequence[str]) -> list[str]:
    """Kinds of food as the subject of a sentence: "A cream" and "another cream"."""
    first, *more = (_KIND_WORDS[kind] for kind in kinds)
    bare = first.removeprefix("An ").removeprefix("A ").lower()
    return [first, *(f"another {bare}" if word == first else _lower(word) for word in more)]


def _help(help_: Help, currency: str) -> str:
    parts = join_words(
        [f"{food}, {share_words(s)}" for food, s in zip(help_.ids, help_.shares, strict=True)]
    )
    text = f"{parts} of the mix" if _priced(help_.mix) else f"{parts} of the mix or more"
    if help_.cost_per_litre is None:
        return f"{text} (no price known)"
    return f"{text}, {_money(help_.cost_per_litre, currency)} a litre"


def _priced(mix: Mix) -> bool:
    """Whether every price was known, so that the amounts are those of the cheapest mix."""
    return bool(np.isfinite(mix.shelf.price).all())


# --- what each demand costs -----------------------------------------------------------------


def cost_reasons(costs: Iterable[LimitCost], currency: str = "") -> Told:
    """Tell what would be saved, and what more would cost, at each limit that the mix lies on."""
    costs = tuple(costs)
    sentences = [text for cost in costs if (text := _limit_cost(cost, currency))]
    rows = [
        {
            **_limit_row(cost.limit),
            "step": cost.step,
            "currency": currency or None,
            **_slope_row("looser", cost.looser),
            **_slope_row("tighter", cost.tighter),
            "kinked": cost.kinked,
            "while_used": cost.while_used,
        }
        for cost in costs
    ]
    return Told(tuple(sentences), tuple(rows))


def _limit_cost(cost: LimitCost, currency: str) -> str:
    limit = cost.limit
    if limit.band is not None and limit.band.role is Role.SAFETY:
        if cost.looser is None or cost.looser.rate < 0:
            return f"The safety limit on {_label(limit.band)} adds to the cost. Keep it."
        return ""
    looser, tighter = cost.looser, cost.tighter
    saves = looser is not None and looser.rate < 0 and looser.step_change is not None
    more = _more(cost, currency)
    if not saves or looser is None:
        return f"{_capital(more)}." if more else ""
    text = f"{_asking(limit, cost.step, loose=True)} would save"
    text += f" {_about(looser)}{_small_money(-(looser.step_change or 0.0), currency)} a litre"
    text += _holds(cost, looser)
    if tighter is None or cost.kinked:
        text += f"; {more}" if more else ""
    return f"{text}."


def _more(cost: LimitCost, currency: str) -> str:
    """What a step the other way would cost."""
    asking = _asking(cost.limit, cost.step, loose=False)
    if cost.tighter is None:
        return f"{_lower(asking)} is not possible, nor is any part of it"
    if cost.tighter.step_change is None:
        return f"{_lower(asking)} is not possible"
    if cost.tighter.rate <= 0:
        return ""
    money = _small_money(cost.tighter.step_change, currency)
    return f"{_lower(asking)} would cost {_about(cost.tighter)}{money} a litre"


def _asking(limit: Limit, step: float, *, loose: bool) -> str:
    """A step of a limit as something to ask for."""
    if limit.band is not None:
        low = limit.kind is LimitKind.BAND_LOW
        amount = _amount(
            step, limit.band, f"{'less' if low == loose else 'more'} {_label(limit.band)}"
        )
        if low:
            return f"Asking for {amount}"
        return f"Allowing {amount}" if loose else f"Allowing only {amount}"
    if limit.kind is LimitKind.SHARE:
        way = "more" if loose else "less"
        return f"Letting {limit.food} take {_share(step)} {way} of the mix"
    return f"{_weight(step)} {'more' if loose else 'less'} of {limit.food}"


def _holds(cost: LimitCost, slope: Slope) -> str:
    """How far the rate holds, where that is beyond the step told."""
    limit = cost.limit
    told = []
    if math.isfinite(slope.until) and abs(slope.until - limit.value) >= cost.step * (1 - 1e-9):
        down = slope.until < limit.value
        scale = 100.0 if limit.kind is LimitKind.SHARE else 1.0
        end = _rounded(slope.until * scale, math.ceil if down else math.floor) / scale
        told.append(f"{'down' if down else 'up'} to {_value(end, limit)}")
    if cost.while_used:
        told.append("while the same foods are used")
    return f" (holds {', '.join(told)})" if told else ""


def _about(slope: Slope) -> str:
    """Give the word "about" where the rate is not the same all along its range."""
    return "about " if abs(slope.rate_until - slope.rate) > 0.1 * abs(slope.rate) else ""


# --- over which prices ----------------------------------------------------------------------


def price_reasons(
    mix: Mix,
    entries: Sequence[EntryPrice],
    ranges: Sequence[PriceRange],
    packages: Packages | None = None,
) -> Told:
    """Tell at which prices foods stay, leave and come in, and whether another recipe ties.

    Parameters
    ----------
    mix : Mix
        The cheapest mix.
    entries, ranges : sequences
        Of its unused and used foods.
    packages : mapping, optional
        Words and weight [g] of each food's package; prices are told per kg where left out.
    """
    currency = mix.shelf.currency
    sentences = [_tie(mix, grams) for grams in equal_recipes(entries, ranges)]
    sentences += [_stays(item, currency, packages or {}) for item in ranges]
    sentences += [_enters(entry, currency, packages or {}) for entry in entries]
    rows = [
        _price_row(item.food, item.price, currency, packages or {})
        | {
            "used": True,
            "same_recipe_from": _plain(item.low * 1e3),
            "same_recipe_to": _plain(item.high * 1e3),
            "leaves_at": _plain(item.leaves_at * 1e3),
            "tied": item.tied_below or item.tied_above,
        }
        for item in ranges
    ]
    rows += [
        _price_row(entry.food, entry.price, currency, packages or {})
        | {
            "used": False,
            "comes_in_below": None if entry.below is None else entry.below * 1e3,
            "tied": entry.tied,
        }
        for entry in entries
    ]
    return Told(tuple(sentences), tuple(rows))


def _tie(mix: Mix, grams: NDArray[np.float64]) -> str:
    amounts = join_words(
        [f"{_weight(g)} {food}" for food, g in zip(mix.shelf.ids, grams, strict=True) if g > 0]
    )
    return f"Another recipe costs the same: {amounts}."


def _stays(item: PriceRange, currency: str, packages: Packages) -> str:
    def price(per_gram: float, way: Callable[[float], int]) -> str:
        return _price(per_gram, item.food, currency, packages, way)

    if math.isinf(item.leaves_at):
        text = f"{item.food} stays in the recipe whatever it costs"
    else:
        text = f"{item.food} stays in the recipe up to {price(item.leaves_at, math.floor)}"
    if item.tied_below or item.tied_above:
        return f"{text}."  # the recipe that ties is told by itself
    low, high = price(item.low, math.ceil), price(item.high, math.floor)
    if item.low <= 0:
        if item.high >= item.leaves_at * (1 - 1e-9):
            return f"{text}, in the same amount."
        return f"{text}; all amounts stay the same up to {high}."
    if math.isinf(item.high):
        return f"{text}; all amounts stay the same from {low} upwards."
    bare = low.partition(" ")[0]
    return f"{text}; all amounts stay the same from {bare} to {high}."


def _enters(entry: EntryPrice, currency: str, packages: Packages) -> str:
    if entry.below is None or entry.below <= 0:
        return f"{entry.food} would not come in even for nothing."
    price = _price(entry.below, entry.food, currency, packages, math.floor)
    return f"{entry.food} would come in below {price}."


# --- words ----------------------------------------------------------------------------------


def _label(band: Band) -> str:
    """Plain words of a band, without what stands in brackets: "milk sugar"."""
    return band.label.partition(" (")[0]


def _amount(value: float, band: Band, of: str = "") -> str:
    """A value with its unit: "5.4 % milk sugar", "28 % fat in the dry matter"; as fed is plain."""
    of = f" {of}" if of else ""
    if band.basis is Basis.RATIO:
        return f"{value:.6g}{of}" if of else f"{value:.6g} to 1"
    if band.unit == "g/100 g":
        dry = f" {'in' if of else 'of'} the dry matter" if band.basis is Basis.DRY_MATTER else ""
        return f"{value:.6g} %{of}{dry}"
    return f"{value:.6g} {unit_words(band)}{of}"


def _value(value: float, limit: Limit) -> str:
    """A value of a limit that was named before: its unit without the basis."""
    if limit.band is None:
        return _share(value) if limit.kind is LimitKind.SHARE else _weight(value)
    if limit.band.basis is Basis.RATIO:
        return f"{value:.6g} to 1"
    return f"{value:.6g} {'%' if limit.band.unit == 'g/100 g' else limit.band.unit}"


def _share(share: float) -> str:
    return f"{100 * share:.4g} %"


def _weight(grams: float) -> str:
    """A weight to three figures: "4.61 g", "88.7 g", "2,410 g"."""
    return f"{_rounded(grams, round):,.6g} g" if grams < 1e5 else f"{grams / 1e3:,.0f} kg"


def _rounded(value: float, way: Callable[[float], int]) -> float:
    """A value to three figures, rounded by `way`; a hair beyond a round number is that number."""
    if value == 0 or not math.isfinite(value):
        return value
    unit = 10.0 ** (math.floor(math.log10(abs(value))) - 2)
    near = round(value / unit)
    figures = near if abs(value / unit - near) < 1e-6 else way(value / unit)
    return float(f"{figures * unit:.6g}")


def _money(value: float, currency: str) -> str:
    return f"{value:,.2f} {currency}".rstrip()


def _small_money(value: float, currency: str) -> str:
    """An amount that may be a few cents or less: "1.20 USD", "0.015 USD"."""
    if value >= 0.0995:
        return _money(value, currency)
    if value < 0.0005:
        return f"less than 0.001 {currency}".rstrip()
    figures = f"{value:.3f}"
    return f"{figures[:-1] if figures.endswith('0') else figures} {currency}".rstrip()


def _price(
    per_gram: float, food: str, currency: str, packages: Packages, way: Callable[[float], int]
) -> str:
    """A price as people meet it: "9.80 USD a quart", "2.10 USD a kg"; cents rounded by `way`."""
    words, grams = packages.get(food, ("1 kg", 1e3))
    if not math.isfinite(per_gram):
        return "any price"
    cents = per_gram * grams * 100
    near = round(cents)
    shown = near if abs(cents - near) < 1e-6 * max(1.0, abs(cents)) else way(cents)
    first, _, rest = words.partition(" ")
    each = f"a {rest}" if first == "1" and rest else f"for {words}"
    return f"{_money(shown / 100, currency)} {each}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


# --- rows -----------------------------------------------------------------------------------


def _plain(value: float | None) -> float | None:
    """A number for JSON; None where it has no end."""
    return None if value is None or not math.isfinite(value) else float(value)


def _limit_row(limit: Limit) -> dict[str, Any]:
    band = limit.band
    unit = {LimitKind.SHARE: "g/g", LimitKind.STOCK: "g", LimitKind.SMALLEST: "g"}
    return {
        "kind": limit.kind.value,
        "measure": band.measure if band else None,
        "over": (band.over or None) if band else None,
        "basis": band.basis.value if band else None,
        "role": band.role.value if band else None,
        "food": limit.food or None,
        "value": limit.value,
        "unit": band.unit if band else unit[limit.kind],
    }


def _slope_row(side: str, slope: Slope | None) -> dict[str, Any]:
    return {
        f"{side}_per_unit": None if slope is None else slope.rate,
        f"{side}_until": None if slope is None else _plain(slope.until),
        f"{side}_per_unit_there": None if slope is None else slope.rate_until,
        f"{side}_per_step": None if slope is None else slope.step_change,
    }


def _price_row(food: str, price: float, currency: str, packages: Packages) -> dict[str, Any]:
    words, grams = packages.get(food, (None, None))
    return {
        "food": food,
        "price": price * 1e3,
        "unit": f"{currency}/kg".lstrip("/"),
        "package": words,
        "package_grams": grams,
    }
