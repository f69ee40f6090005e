"""Foods and what is in them.

A `Food` is data: its values per 100 g as fed, each with where it comes from; how a kitchen
measures it; whether the program may propose it. `Composition` is the same as one matrix.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import UnitError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.base.units import Amount, Kitchen, UnitKind
from formulate.foods.measures import COMPONENTS, MASS, MEASURES, ONLY_IN_KINDS

__all__ = [
    "DAIRY_KINDS",
    "DRINK_KINDS",
    "KINDS",
    "Composition",
    "Food",
    "Household",
    "Value",
]

Array = NDArray[np.float64]

#: Kinds of food, and whether a kitchen measures them as liquids ("oz" of a liquid is unclear).
KINDS: Mapping[str, bool] = MappingProxyType(
    {
        "milk": True,
        "evaporated": True,
        "sweetened-milk": True,
        "cultured": True,
        "strained-yogurt": False,
        "cream": True,
        "dry-milk": False,
        "whey": True,
        "dry-whey": False,
        "milk-fat": False,
        "cheese": False,
        "egg": True,
        "dry-egg": False,
        "sweetener": True,
        "oil": True,
        "fish-oil": True,
        "soy": True,
        "plant-milk": True,
        "replacer-powder": False,
        "salt": False,
        "alkali": False,
        "glucose": False,
        "water": True,
    }
)
#: Kinds that go into a drink for a scouring animal and never into a milk.
DRINK_KINDS = frozenset({"salt", "alkali", "glucose"})
#: Kinds whose carbohydrate is milk sugar (and what fermentation made of it).
DAIRY_KINDS = frozenset(
    {
        "milk",
        "evaporated",
        "cultured",
        "strained-yogurt",
        "cream",
        "dry-milk",
        "whey",
        "dry-whey",
        "milk-fat",
        "cheese",
    }
)
FERMENTED_KINDS = ONLY_IN_KINDS["lactic-acid"]


@dataclass(frozen=True, slots=True)
class Value:
    """One number of the composition table.

    Parameters
    ----------
    value : float
        Per 100 g as fed, in the measure's unit.
    source : str
        Key of the source list.
    derivation : str
        How the source came by it; empty when analysed.
    n : int or None
        Number of samples; None if the source gives none.
    standard_error : float or None
        Of the mean, in the measure's unit.
    low, high : float or None
        The interval the truth lies in, where the source gives one (a carton's panel does).
    """

    value: float
    source: str
    derivation: str = ""
    n: int | None = None
    standard_error: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Household:
    """What one household measure of a food weighs.

    Parameters
    ----------
    unit : str
        "cup" for the food's own density, else a count ("can", "egg", "stick").
    grams : float
        Weight [g].
    millilitres : float or None
        Volume [mL] that weighs it; None for a count.
    source : str
        Key of the source list.
    note : str
        Which row, and why, where that is not plain.
    """

    unit: str
    grams: float
    millilitres: float | None
    source: str
    note: str = ""


@dataclass(frozen=True, eq=False)
class Food(ByContent):
    """A food.

    Parameters
    ----------
    id : str
        Readable id, as ``whole-milk``.
    name : str
        Plain words.
    kind : str
        One of `KINDS`; foods of one kind stand in for each other's missing values where that
        is safe.
    values : mapping of str to Value
        Per 100 g as fed. A measure that is not there is missing, not zero.
    household : tuple of Household
        Kitchen measures.
    suitable : bool
        Plain dairy or water. Others are used only when a person asks for them.
    largest_share : float or None
        Largest sensible share of a mix by weight [g/g].
    share_source : str
        Why that share.
    aliases : tuple of str
        Other words for it; one that several foods share is ambiguous.
    note : str
        Anything a person should know.
    own : bool
        Entered by the person, not from the table.
    drink_only : bool
        For a drink beside the milk: no milk is ever designed with it.
    ingredients : tuple of str
        What its label lists, one a piece, in lower case; empty if nobody said.
    table : str
        Food-composition table it is a row of; empty for a food of one's own.
    record : str
        Its code there.
    same_food : str
        A key that the rows of one food share across tables.
    raw : bool
        Milk that was not pasteurised.
    flags : mapping of str to str
        By measure, what the table marks where it gives no number: a trace, a limit.
    """

    id: str
    name: str
    kind: str
    values: Mapping[str, Value] = field(repr=False)
    household: tuple[Household, ...] = field(default=(), repr=False)
    suitable: bool = True
    largest_share: float | None = None
    share_source: str = ""
    aliases: tuple[str, ...] = field(default=(), repr=False)
    note: str = field(default="", repr=False)
    own: bool = False
    drink_only: bool = False
    ingredients: tuple[str, ...] = field(default=(), repr=False)
    table: str = field(default="", repr=False)
    record: str = field(default="", repr=False)
    same_food: str = field(default="", repr=False)
    raw: bool = field(default=False, repr=False)
    flags: Mapping[str, str] = field(default_factory=dict, repr=False)

    def __repr__(self) -> str:
        values = f"{len(self.values)} values per 100 g"
        return brief(self, self.id, self.name, self.kind, self.table, values)

    @property
    def liquid(self) -> bool:
        """Whether "oz" of it might be meant as fluid ounces."""
        return KINDS[self.kind]

    @property
    def density(self) -> float | None:
        """Weight of a kitchen measure of it [g/mL], or None if unknown.

        The food's own household measure wins over its composition here: that is what a cup of
        it, with the air between grains or in a foam, really holds. (The *mix* takes the volume
        of its composition.)
        """
        for measure in self.household:
            if measure.millilitres:
                return measure.grams / measure.millilitres
        return None

    def counts(self) -> dict[str, float]:
        """Weight [g] of each thing it is counted in."""
        return {h.unit: h.grams for h in self.household if h.millilitres is None}

    def grams(self, amount: Amount, kitchen: Kitchen) -> float:
        """Weight of an amount of this food.

        Parameters
        ----------
        amount : Amount
            Mass, volume or count.
        kitchen : Kitchen
            Whose volume words.

        Returns
        -------
        float
            Weight [g].

        Raises
        ------
        UnitError
            If "oz" of a liquid is ambiguous, no density is known, or the food is not counted in
            that unit.
        """
        kind = amount.kind
        if kind is UnitKind.OUNCE and self.liquid:
            raise UnitError(
                say("foods.which-ounces", amount=amount, food=self.id),
                say("foods.which-ounces-remedy", number=amount.number),
            )
        if kind in (UnitKind.MASS, UnitKind.OUNCE):
            return amount.size(kitchen)
        if kind is UnitKind.VOLUME:
            if self.density is None:
                raise UnitError(
                    say("foods.no-density", food=self.id, amount=amount),
                    say("foods.no-density-remedy"),
                )
            return amount.size(kitchen) * self.density
        counts = self.counts()
        if not amount.unit and len(counts) == 1:
            return amount.number * next(iter(counts.values()))
        if amount.unit not in counts:
            shown = amount.unit or say("foods.bare-number")
            known = ", ".join(counts) or say("foods.weight-and-volume")
            raise UnitError(
                say("foods.not-measured-by", food=self.id, unit=shown),
                say("foods.measured-by", units=known),
            )
        return amount.number * counts[amount.unit]

    def kitchen_volume(self, grams: float) -> float | None:
        """Volume [mL] that a kitchen measure shows for `grams` of it; None without a density."""
        return None if self.density is None else grams / self.density

    def value(self, component: str) -> float:
        """Value per 100 g as fed; NaN where missing, 0 where its kind has none by nature."""
        found = self.values.get(component)
        if found is not None:
            return found.value
        kinds = ONLY_IN_KINDS.get(component)
        return 0.0 if kinds is not None and self.kind not in kinds else float("nan")

    @cached_property
    def per_gram(self) -> Array:
        """Each measure [its unit per g as fed], shape (len(MEASURES),); worked out once."""
        rows = {name: np.array([self.value(name)]) / 100.0 for name in COMPONENTS}
        rows[MASS] = np.ones(1)
        return stack_measures(rows)[:, 0]


@brief_repr
@dataclass(frozen=True, eq=False)
class Composition(ByContent, Renderable):
    """The composition of some foods as one matrix.

    Parameters
    ----------
    foods : tuple of Food
        Columns.
    per_gram : ndarray, shape (len(MEASURES), len(foods))
        Each measure [its unit per g of food as fed], in the order of `MEASURES`; NaN = missing.
    """

    foods: tuple[Food, ...]
    per_gram: Array

    @classmethod
    def of(cls, foods: Iterable[Food]) -> Composition:
        """Build the matrix: components from the table, then the derived measures."""
        foods = tuple(foods)
        columns = np.array([food.per_gram for food in foods]).reshape(len(foods), len(MEASURES))
        return cls(foods, np.ascontiguousarray(columns.T))

    @cached_property
    def ids(self) -> tuple[str, ...]:
        """Food ids, in column order."""
        return tuple(food.id for food in self.foods)

    def row(self, name: str) -> Array:
        """Row of one measure [unit per g], shape (n_foods,)."""
        row: Array = self.per_gram[_ROW[name]]
        return row

    def totals(self, grams: Array) -> list[float]:
        """Totals of every measure in these grams of the foods, in the order of `MEASURES`.

        NaN where a food that is used has no value.
        """
        used = np.flatnonzero(grams > 0)
        held: list[float] = (self.per_gram[:, used] @ grams[used]).tolist()
        return held

    @cached_property
    def gaps(self) -> frozenset[str]:
        """Measures for which some food has no value."""
        lacking = np.flatnonzero(~np.isfinite(self.per_gram).all(axis=1))
        names = tuple(_ROW)
        return frozenset(names[row] for row in lacking)


def stack_measures(components: Mapping[str, Array]) -> Array:
    """Add the derived measures to component rows [per g of food] and stack all of them."""
    rows = dict(components)
    for name, definition in MEASURES.items():
        if definition.terms:
            total = np.zeros_like(rows[MASS])
            for term, factor in definition.terms.items():
                total = total + factor * rows[term]
            rows[name] = total
    return np.array([rows[name] for name in MEASURES])


_ROW = {name: index for index, name in enumerate(MEASURES)}


def row_number(name: str) -> int:
    """Row number of a measure in `Composition.per_gram`."""
    return _ROW[name]


def row_numbers(names: Iterable[str]) -> NDArray[np.intp]:
    """Row numbers of some measures in `Composition.per_gram`."""
    return np.array([_ROW[name] for name in names], dtype=np.intp)
