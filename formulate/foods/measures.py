"""Linear measures of a mix: everything worth knowing about it, per gram of each food.

A *measure* is a quantity that adds up when foods are stirred together: grams of fat,
millilitres, milliosmoles, joules. A *component* is a measure that the food tables give; a
*derived* measure is a fixed linear combination of components. So the whole composition of a
shelf is one matrix, measures by foods, and every read of a mix is one row times its grams.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from formulate.base.content import ByContent
from formulate.base.errors import UnknownName
from formulate.base.messages import find, say

__all__ = ["COMPONENTS", "MASS", "MEASURES", "Measure", "measure"]

#: The measure of everything: one gram in each gram. Denominator of "as fed".
MASS = "mass"


@dataclass(frozen=True, slots=True, eq=False)
class Measure(ByContent):
    """A linear measure.

    Parameters
    ----------
    name : str
        Readable id.
    unit : str
        Unit of the quantity itself, without a basis: "g", "mg", "mOsm", "MJ", "mL".
    symbol : str
        Short symbol for tables and equations.
    source : str
        Key of ``nutrient_tables/sources.csv``: where the definition comes from.
    terms : mapping of str to float
        Empty for a component; for a derived measure the coefficient of each component
        [unit per unit of component], `MASS` [unit per g of food] among them.
    """

    name: str
    unit: str
    symbol: str
    source: str
    terms: Mapping[str, float] = field(default_factory=dict)

    @property
    def label(self) -> str:
        """Plain words for people."""
        return say(f"measures.label.{self.name}")

    @property
    def note(self) -> str:
        """What the reader of a number should know; may be empty."""
        return find(f"measures.note.{self.name}") or ""


def _component(name: str, unit: str, symbol: str) -> Measure:
    return Measure(name, unit, symbol, "usda-sr28")


# Partial densities [g/mL at 20 °C]: the volume of a mix is that of its fat, its solids-not-fat and
# its water. They meet the Guelph table of dairy densities within 0.002 (a test shows it).
DENSITY_FAT, DENSITY_SOLIDS_NOT_FAT, DENSITY_WATER = 0.93, 1.608, 0.998

# Gross energy of ewe's milk: GE [kJ/kg] = 41.94 fat + 15.85 protein + 21.41 lactose [g/kg].
_GROSS_ENERGY = {"fat": 41.94e-3, "protein": 15.85e-3, "carbohydrate": 21.41e-3}
# ME/GE of artificial milks fed to lambs, 94.3 ± 0.3 % (Walker & Norton).
METABOLISABILITY = 0.943

# Osmoles. Molar masses [g/mol] of lactose, hexoses, lactic acid, sodium and potassium. Milk's
# other ions (chloride, citrate, phosphate, and a little calcium and magnesium) follow sodium
# and potassium closely enough to be counted with them: SALT_OSMOLES particles for each, set so
# that SR28 whole milk (01077) reads 285 mOsm/kg water, its freezing point −0.530 °C over
# 1.858 K·kg/mol.
LACTOSE, HEXOSE, LACTIC_ACID, SODIUM, POTASSIUM = 342.30, 180.16, 90.08, 22.990, 39.098
# The ions of a drink: chloride, bicarbonate (HCO3) and citrate (C6H5O7) [g/mol].
CHLORIDE, BICARBONATE, CITRATE = 35.453, 61.017, 189.10
SALT_OSMOLES = 2.116
#: Half-width of the osmole estimate, relative.
OSMOLE_UNCERTAINTY = 0.15
# A drink is a clear solution whose ions are all known: its osmolality is their plain sum with its
# sugars, those that are neither glucose nor fructose as double sugars.
_DISSOLVED = {
    "sodium": 1 / SODIUM,
    "potassium": 1 / POTASSIUM,
    "chloride": 1 / CHLORIDE,
    "bicarbonate": 1 / BICARBONATE,
    "citrate": 1 / CITRATE,
    "carbohydrate": 1e3 / LACTOSE,
    "glucose": 1e3 * (1 / HEXOSE - 1 / LACTOSE),
    "fructose": 1e3 * (1 / HEXOSE - 1 / LACTOSE),
}
# Fermentation splits a lactose (with a water) into two lactic acids when both its halves are
# used; yogurt cultures leave the galactose. So A grams of lactic acid stand for A grams of
# carbohydrate by difference and leave about A grams of galactose, which stand there as well.
_OSMOLES = {
    "carbohydrate": 1e3 / LACTOSE,
    "lactic-acid": 1e3 * (1 / LACTIC_ACID + 1 / HEXOSE - 2 / LACTOSE),
    "glucose": 1e3 * (1 / HEXOSE - 1 / LACTOSE),
    "fructose": 1e3 * (1 / HEXOSE - 1 / LACTOSE),
    "sodium": SALT_OSMOLES / SODIUM,
    "potassium": SALT_OSMOLES / POTASSIUM,
}

_ALL = (
    _component("water", "g", "W"),
    _component("protein", "g", "CP"),
    _component("fat", "g", "F"),
    _component("carbohydrate", "g", "C"),
    _component("lactose", "g", "L"),
    _component("lactose-analysed", "g", "La"),
    _component("galactose-analysed", "g", "Ga"),
    _component("sugars", "g", "S"),
    _component("glucose", "g", "Glc"),
    _component("fructose", "g", "Fru"),
    _component("ash", "g", "A"),
    _component("energy", "kcal", "E"),
    _component("calcium", "mg", "Ca"),
    _component("phosphorus", "mg", "P"),
    _component("magnesium", "mg", "Mg"),
    _component("sodium", "mg", "Na"),
    _component("potassium", "mg", "K"),
    _component("iron", "mg", "Fe"),
    _component("zinc", "mg", "Zn"),
    _component("copper", "mg", "Cu"),
    _component("manganese", "mg", "Mn"),
    _component("selenium", "µg", "Se"),
    _component("vitamin-a", "IU", "VitA"),
    _component("vitamin-d", "IU", "VitD"),
    _component("vitamin-e", "mg", "VitE"),
    _component("vitamin-b12", "µg", "B12"),
    _component("riboflavin", "mg", "B2"),
    _component("thiamin", "mg", "B1"),
    _component("saturated-fat", "g", "SFA"),
    _component("lysine", "g", "Lys"),
    _component("methionine", "g", "Met"),
    Measure("lactic-acid", "g", "LA", "judgement"),
    Measure("chloride", "mg", "Cl", "molar-masses"),
    Measure("bicarbonate", "mg", "HCO3", "molar-masses"),
    Measure("citrate", "mg", "Cit", "molar-masses"),
    Measure(MASS, "g", "m", "definition", {MASS: 1.0}),
    Measure("solids", "g", "TS", "definition", {MASS: 1.0, "water": -1.0}),
    Measure("solids-not-fat", "g", "SNF", "definition", {MASS: 1.0, "water": -1.0, "fat": -1.0}),
    Measure("gross-energy", "MJ", "GE", "sebek-everts-1993", _GROSS_ENERGY),
    Measure(
        "metabolisable-energy",
        "MJ",
        "ME",
        "walker-norton-1971",
        {name: METABOLISABILITY * factor for name, factor in _GROSS_ENERGY.items()},
    ),
    Measure("other-sugar", "g", "OS", "definition", {"carbohydrate": 1.0, "lactose": -1.0}),
    Measure(
        "volume",
        "mL",
        "V",
        "partial-densities",
        {
            "fat": 1 / DENSITY_FAT - 1 / DENSITY_SOLIDS_NOT_FAT,
            MASS: 1 / DENSITY_SOLIDS_NOT_FAT,
            "water": 1 / DENSITY_WATER - 1 / DENSITY_SOLIDS_NOT_FAT,
        },
    ),
    Measure("osmoles", "mOsm", "Osm", "osmole-estimate", _OSMOLES),
    Measure("sodium-ions", "mmol", "[Na]", "molar-masses", {"sodium": 1 / SODIUM}),
    Measure("potassium-ions", "mmol", "[K]", "molar-masses", {"potassium": 1 / POTASSIUM}),
    Measure("chloride-ions", "mmol", "[Cl]", "molar-masses", {"chloride": 1 / CHLORIDE}),
    Measure(
        "alkali",
        "mmol",
        "Alk",
        "alkali-equivalents",
        {"bicarbonate": 1 / BICARBONATE, "citrate": 3 / CITRATE},
    ),
    Measure(
        "strong-ion-difference",
        "mEq",
        "SID",
        "smith-2009",
        {"sodium": 1 / SODIUM, "potassium": 1 / POTASSIUM, "chloride": -1 / CHLORIDE},
    ),
    Measure("free-glucose", "mmol", "[Glc]", "molar-masses", {"glucose": 1e3 / HEXOSE}),
    Measure(
        "bound-sugar",
        "g",
        "Bnd",
        "definition",
        {"carbohydrate": 1.0, "glucose": -1.0, "fructose": -1.0},
    ),
    Measure("dissolved", "mOsm", "Dis", "molar-masses", _DISSOLVED),
)

#: Every measure by name, components first.
MEASURES: Mapping[str, Measure] = MappingProxyType({m.name: m for m in _ALL})
#: Names of the measures that the tables give, in matrix order.
COMPONENTS: tuple[str, ...] = tuple(m.name for m in _ALL if not m.terms)

#: Components that only some kinds of food have; in every other kind they are zero by nature.
ONLY_IN_KINDS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "lactic-acid": frozenset({"cultured", "strained-yogurt"}),
        "glucose": frozenset({"sweetener", "glucose"}),
        "fructose": frozenset({"sweetener", "glucose"}),
        "lactose": frozenset(
            {
                "milk",
                "evaporated",
                "sweetened-milk",
                "cultured",
                "strained-yogurt",
                "cream",
                "dry-milk",
                "whey",
                "dry-whey",
                "milk-fat",
                "cheese",
                "replacer-powder",
            }
        ),
    }
)


def measure(name: str) -> Measure:
    """Look a measure up.

    Raises
    ------
    UnknownName
        With the nearest names.
    """
    try:
        return MEASURES[name]
    except KeyError:
        raise UnknownName("measure", name, MEASURES) from None
