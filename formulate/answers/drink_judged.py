"""Judge a drink for a scouring animal: what refuses it, what is wrong with it, and what to say.

The verdicts are those of a milk. What refuses a drink whatever else is right (`never`), and what is
told with one, stands in ``nutrient_tables/drink.toml``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from formulate.answers.cautions import Caution
from formulate.answers.verdict import Judgement, Reason, Verdict
from formulate.base.messages import listed, say
from formulate.blend.mix import Mix
from formulate.foods.bands import Read, Role, Standing
from formulate.foods.food import Food
from formulate.foods.tables import read_toml

__all__ = ["DRINKABLE", "figure", "judge_drink"]

#: Kinds that a drink may hold. Anything else makes it a drink in milk, or no drink.
DRINKABLE = frozenset({"water", "salt", "alkali", "glucose", "sweetener"})
#: Less sodium than this is none [mmol/kg water]: tap water itself has 1.7.
_NO_SODIUM = 5.0


@cache
def _data() -> Mapping[str, Any]:
    return read_toml("drink.toml")


def judge_drink(mix: Mix, *, spoons: bool, water_beside: bool | None = None) -> Judgement:
    """Judge a drink by its reads and what is in it.

    Parameters
    ----------
    mix : Mix
        Read against the ranges of a drink.
    spoons : bool
        Whether something in it is measured in spoons.
    water_beside : bool, optional
        Whether clean water is always within the animal's reach; None if nobody said.
    """
    foods = [food for food, grams in zip(mix.shelf.foods, mix.grams, strict=True) if grams > 0]
    strangers = tuple(food.id for food in foods if food.kind not in DRINKABLE)
    reasons = list(_refusals(mix, strangers, water_beside))
    if not strangers:  # in milk no range means anything
        reasons += _misses(mix)
    seen: set[str] = set()
    kept = []
    for reason in sorted(reasons, key=lambda reason: reason.verdict.rank):
        if reason.id not in seen:  # what refuses a drink is not told again as a range missed
            kept.append(reason)
        seen.add(reason.id)
    verdict = kept[0].verdict if kept else Verdict.INSIDE
    return Judgement(verdict, tuple(kept), tuple(_cautions(foods, spoons)))


def figure(value: float) -> str:
    """A read of a drink: whole, below ten to a tenth; it is no surer than that."""
    return f"{value:.0f}" if abs(value) >= 10 else f"{round(value, 1) + 0.0:.1f}"


def _refusals(mix: Mix, strangers: tuple[str, ...], water_beside: bool | None) -> Iterator[Reason]:
    never = Verdict.NEVER
    if water_beside is False:
        text = say("rehydrate.never.no-water-beside")
        yield Reason("no-water-beside", never, text, "salt-outbreak")
    if strangers:
        text = say("rehydrate.never.in-milk", foods=listed(strangers), count=len(strangers))
        yield Reason("in-milk", never, text, "naylor-1992", foods=strangers)
    reads = {read.band.measure: read for read in mix.reads if not read.band.over}
    for name, rule in _data()["never"].items():
        found = reads[rule["measure"]]
        if found.value is None or found.value <= rule["over"]:
            continue
        bringing = tuple(
            food.id
            for food, grams in zip(mix.shelf.foods, mix.grams, strict=True)
            if grams > 0 and name == "sucrose" and food.kind == "sweetener"
        )
        if name == "sucrose" and strangers and not bringing:
            continue  # milk sugar; the milk is refused already
        values = {"value": figure(found.value), "limit": f"{rule['over']:g}"}
        text = say(
            f"rehydrate.never.{name}", foods=listed(bringing) or say("rehydrate.it"), **values
        )
        yield Reason(found.band.measure, never, text, rule["source"], foods=bringing)


def _misses(mix: Mix) -> Iterator[Reason]:
    for read in mix.reads:
        band = read.band
        if band.role is Role.SHOWN or read.standing in (None, Standing.INSIDE):
            continue
        if read.standing is Standing.UNKNOWN:
            foods = listed(read.lacks)
            text = say("verdict.no-value", label=band.label, foods=foods, count=len(read.lacks))
            yield Reason(band.measure, Verdict.UNKNOWN, text, band.source, foods=read.lacks)
            continue
        yield Reason(band.measure, Verdict.OUTSIDE, _miss_text(read), band.source)


def _miss_text(read: Read) -> str:
    assert read.value is not None
    band = read.band
    if band.measure == "sodium-ions" and read.value < _NO_SODIUM:
        return say("rehydrate.no-sodium")
    if band.measure == "dissolved" and read.standing is Standing.ABOVE:
        schools = _data()["schools"]
        return say(
            "rehydrate.strong",
            value=figure(read.value),
            range=band.range_words,
            low=f"{schools['older_low']:g}",
            high=f"{schools['older_high']:g}",
        )
    low = read.standing is Standing.BELOW
    return say(
        f"verdict.{'too-low' if low else 'too-high'}",
        label=band.label,
        value=figure(read.value),
        unit=say(f"rehydrate.unit.{band.unit.partition('/')[0]}"),
        range=band.range_words,
    )


def _cautions(foods: list[Food], spoons: bool) -> Iterator[Caution]:
    ids = {food.id for food in foods}
    for name, entry in _data()["cautions"].items():
        if entry.get("spoons", False) and not spoons:
            continue
        if "foods" in entry and ids.isdisjoint(entry["foods"]):
            continue
        yield Caution(name, entry["text"], entry["source"], True)
