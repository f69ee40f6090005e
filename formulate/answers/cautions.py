"""What people should be told about a mix, from data with sources.

The texts, their sources and their order are in ``nutrient_tables/cautions.toml``; here are the
rules that say when each applies.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

from formulate.blend.mix import Mix
from formulate.foods.bands import Band, Basis, Read, Role, Standing, read
from formulate.foods.food import Food
from formulate.foods.tables import read_toml

__all__ = ["Caution", "cautions_for"]

_OSMOLES = Band("osmoles", Basis.PER_KG_WATER, "mOsm/kg", high=1e6, role=Role.SHOWN)
_COPPER = Band("copper", Basis.DRY_MATTER, "mg/kg", high=17, role=Role.SHOWN)
_SODIUM = Band("sodium", Basis.AS_FED, "mg/100 g", high=100, role=Role.SHOWN)
_SOLIDS = Band("solids", Basis.AS_FED, "g/100 g", role=Role.SHOWN)
_LACTOSE = Band("lactose", Basis.AS_FED, "g/100 g", high=5.4, role=Role.SHOWN)

# Solids as fed [%] between which nothing is said. Lambs: published mixing rates reach 20 % m/v;
# below 14 % (judgement) a day's need no longer fits four published feeds. Kids: doe's milk from
# 11 % (FAO 2013), and the same top.
_ORDINARY_SOLIDS = {"lamb": (14.0, 20.0), "kid": (11.0, 20.0)}

# Least need of sheep [mg/kg dry matter], nrc-1985-sheep.
_NEEDS = {"iron": 30.0, "copper": 7.0, "selenium": 0.1, "vitamin-e": 15.0}
_RAW_SOLD = frozenset({"producer-milk"})


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to tell.

    Parameters
    ----------
    id : str
        Name in the data.
    text : str
        Short and calm.
    source : str
        Key of the source list.
    shown : bool
        Told with every mix it applies to; else only on request.
    """

    id: str
    text: str
    source: str
    shown: bool


@cache
def _texts() -> Mapping[str, Mapping[str, object]]:
    return read_toml("cautions.toml")


class _Facts:
    """What the rules ask of a mix, read once."""

    def __init__(self, mix: Mix) -> None:
        self.mix = mix
        used = mix.grams > 0
        self.foods = [f for f, u in zip(mix.shelf.foods, used, strict=True) if u]
        self.species = mix.bands.species

    def read(self, band: Band) -> Read:
        return read(band, self.mix.shelf.composition, self.mix.grams, self.mix.shelf.like)

    def value(self, band: Band) -> float | None:
        return self.read(band).value

    def of_kind(self, *kinds: str) -> list[Food]:
        return [food for food in self.foods if food.kind in kinds]


#: What a rule gives: the words to fill in, or None where it does not apply.
Filled = dict[str, str] | None


def _over(facts: _Facts, band: Band, floor: float, below: float = float("inf")) -> Filled:
    value = facts.value(band)
    if value is None or not floor < value <= below:
        return None
    return {"value": f"{value:.0f}" if value >= 20 else f"{value:.1f}"}


def _named(foods: list[Food]) -> Filled:
    return {"foods": ", ".join(food.id for food in foods)} if foods else None


def _lacks(facts: _Facts) -> Filled:
    if facts.species not in ("lamb", "kid"):
        return None
    short = []
    for name, need in _NEEDS.items():
        unit = "µg/kg" if name == "selenium" else "mg/kg"
        value = facts.value(Band(name, Basis.DRY_MATTER, unit, role=Role.SHOWN))
        if value is not None and value < need * (1000 if name == "selenium" else 1):
            short.append(name.replace("vitamin-e", "vitamin E"))
    return {"foods": ", ".join(short)} if short else None


def _weak(facts: _Facts) -> Filled:
    value = facts.value(_SOLIDS)
    low = _ORDINARY_SOLIDS[facts.species][0]
    return {"value": f"{value:.1f}"} if value is not None and value < low else None


def _strong(facts: _Facts) -> Filled:
    return _over(facts, _SOLIDS, _ORDINARY_SOLIDS[facts.species][1])


def _raw(facts: _Facts) -> Filled:
    return _named([f for f in facts.foods if f.id in _RAW_SOLD or (f.own and f.kind == "milk")])


def _unknown(facts: _Facts) -> Filled:
    names = [
        f"{r.band.label} ({', '.join(r.lacks)} has no value)"
        for r in facts.mix.reads
        if r.standing is Standing.UNKNOWN and r.band.role is not Role.SHOWN
    ]
    return {"foods": "; ".join(names)} if names else None


def _salted(facts: _Facts) -> Filled:
    return _named([f for f in facts.of_kind("cultured") if f.value("sodium") > 80])


_RULES: Mapping[str, Callable[[_Facts], Filled]] = {
    "always": lambda facts: {},
    "copper-over": lambda facts: _over(facts, _COPPER, 17),
    "osmolality-danger": lambda facts: _over(facts, _OSMOLES, 600),
    "osmolality-high": lambda facts: _over(facts, _OSMOLES, 500, 600),
    "sweetened-condensed": lambda facts: _named(facts.of_kind("sweetened-milk")),
    "solids-high": _strong,
    "solids-low": _weak,
    # A third more than the top of ewe's milk, 5.4 %: judgement; cow's milk itself has 4.8.
    "lactose-high": lambda facts: _over(facts, _LACTOSE, 7.2),
    "sodium-over": lambda facts: _over(facts, _SODIUM, 100),
    "raw-milk": _raw,
    "egg": lambda facts: _named(facts.of_kind("egg", "dry-egg")),
    "oil": lambda facts: _named(facts.of_kind("oil")),
    "fish-oil": lambda facts: _named(facts.of_kind("fish-oil")),
    "sugar": lambda facts: _named(facts.of_kind("sweetener")),
    "salted-culture": _salted,
    "lacks": _lacks,
    "unknown": _unknown,
}


def cautions_for(mix: Mix) -> tuple[Caution, ...]:
    """Every caution that applies to a mix, in the order of telling."""
    facts = _Facts(mix)
    found = []
    for name, entry in _texts().items():
        filled = _RULES[str(entry["when"])](facts)
        if filled is not None:
            text = str(entry["text"]).format(**filled)
            found.append(Caution(name, text, str(entry["source"]), bool(entry["shown"])))
    return tuple(found)
