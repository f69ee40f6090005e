"""What one row of a national table gives, in this project's measures.

What is done to a number, and nothing else:

* Minerals, protein, fat and energy are taken as printed. Retinol becomes IU (0.3 µg each) without
  the carotene, which is not in the rows; vitamin D becomes IU (0.025 µg each).
* A table whose sugars are monosaccharide equivalents has them turned into the sugars themselves:
  lactose and sucrose ÷ 1.05, starch ÷ 1.10; glucose, galactose and fructose are what they are.
* Carbohydrate has this project's one basis, by difference: what water, protein, fat and ash leave.
  Lactose as the laboratory found it stands beside it. Where the printed parts, converted, miss
  100 g by more than `CLOSES`, ``decisions.csv`` says which part takes the rest, and why.
* A table without ash gets an estimate from its minerals (`ash_estimate`).
* Lactic acid of a soured food is its organic acids less those of milk, where the table has them.

A trace, a value below its limit and a blank are not zero: they give no value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from nutrient_tables.build import (
    BY_DIFFERENCE,
    BY_FERMENTATION,
    JUDGEMENT,
    UNSWEETENED_DAIRY,
    BuildError,
)

__all__ = ["CLOSES", "COLUMNS", "MONOSACCHARIDES", "Food", "Row", "proximates", "value_rows"]

COLUMNS: Final[Mapping[str, tuple[str, str, Decimal]]] = {
    "water": ("water_g", "g", Decimal(1)),
    "protein": ("protein_g", "g", Decimal(1)),
    "fat": ("fat_g", "g", Decimal(1)),
    "lactose-analysed": ("lactose_g", "g", Decimal(1)),
    "galactose-analysed": ("galactose_g", "g", Decimal(1)),
    "glucose": ("glucose_g", "g", Decimal(1)),
    "fructose": ("fructose_g", "g", Decimal(1)),
    "ash": ("ash_g", "g", Decimal(1)),
    "energy": ("energy_kcal", "kcal", Decimal(1)),
    "calcium": ("calcium_mg", "mg", Decimal(1)),
    "phosphorus": ("phosphorus_mg", "mg", Decimal(1)),
    "magnesium": ("magnesium_mg", "mg", Decimal(1)),
    "sodium": ("sodium_mg", "mg", Decimal(1)),
    "potassium": ("potassium_mg", "mg", Decimal(1)),
    "iron": ("iron_mg", "mg", Decimal(1)),
    "zinc": ("zinc_mg", "mg", Decimal(1)),
    "copper": ("copper_mg", "mg", Decimal(1)),
    "selenium": ("selenium_ug", "µg", Decimal(1)),
    "vitamin-a": ("retinol_ug", "IU", 1 / Decimal("0.3")),
    "vitamin-d": ("vitamin_d_ug", "IU", Decimal(40)),
    "vitamin-e": ("vitamin_e_mg", "mg", Decimal(1)),
}
"""What is taken from a row: measure -> its column, our unit, our units in one of the column's."""

MONOSACCHARIDES: Final = "monosaccharide equivalents"
DIVISORS: Final[Mapping[str, Decimal]] = {
    "lactose_g": Decimal("1.05"),
    "sucrose_g": Decimal("1.05"),
    "starch_g": Decimal("1.10"),
    "glucose_g": Decimal(1),
    "galactose_g": Decimal(1),
    "fructose_g": Decimal(1),
}
"""Grams of monosaccharide from a gram of each sugar, as the table itself counts them."""

SODIUM_CHLORIDE: Final = Decimal("2.542")
"""Grams of salt with a gram of sodium: 58.44 over 22.99."""
OTHER_MINERALS: Final = Decimal("1.59")
"""Grams of other ash with a gram of potassium, calcium, phosphorus and magnesium.

The median over the unsweetened dairy foods of SR28; a test works it out again.
"""
MILK_ACIDS: Final = Decimal("0.16")
"""Organic acids of milk itself [g/100 g]: Ciqual 2025, 19037, 19038 and 19042."""
CLOSES: Final = Decimal("0.6")
"""How far the printed parts may be from 100 g before somebody must decide [g]."""

ESTIMATED_ASH: Final = "estimated from its minerals"


@dataclass(frozen=True)
class Food:
    """A row of ``foods.csv``, as far as it is needed here.

    Parameters
    ----------
    id, record, kind : str
    same_food : str
        The food of SR28 that it is, or what several tables call it; or empty.
    lactic_acid, lactic_source : str
        Lactic acid made by fermentation [g/100 g as fed] and its source, or empty.
    """

    id: str
    record: str
    kind: str
    same_food: str
    lactic_acid: str
    lactic_source: str


@dataclass(frozen=True)
class Row:
    """A food's row with what was decided about it.

    Parameters
    ----------
    food : Food
    cells : mapping of str to str
        The row as printed.
    decisions : mapping of str to tuple of str and str
        By measure: a number or ``rest``, and the reason.
    monosaccharides : bool
        Whether its sugars are monosaccharide equivalents.
    """

    food: Food
    cells: Mapping[str, str]
    decisions: Mapping[str, tuple[str, str]]
    monosaccharides: bool

    def printed(self, column: str) -> Decimal | None:
        """The number in a column as printed; `None` where there is none."""
        text = self.cells[column]
        return Decimal(text) if text else None

    def sugar(self, column: str) -> Decimal | None:
        """The sugar itself [g/100 g], whatever the table counts it as."""
        value = self.printed(column)
        if value is None or not self.monosaccharides:
            return value
        return value / DIVISORS[column]

    def decided(self, measure: str) -> Decimal | None:
        """The number that was decided for a measure."""
        decision = self.decisions.get(measure, ("", ""))[0]
        return Decimal(decision) if decision and decision != "rest" else None

    def part(self, measure: str) -> Decimal | None:
        """Water, protein or fat as decided, else as printed [g/100 g]."""
        found = self.decided(measure)
        return self.printed(COLUMNS[measure][0]) if found is None else found

    @property
    def rest(self) -> str:
        """The part that takes the rest."""
        found = [measure for measure, (what, _) in self.decisions.items() if what == "rest"]
        return found[0] if found else "carbohydrate"


def lactic_acid(row: Row) -> tuple[Decimal, str, str] | None:
    """Lactic acid made by fermentation [g/100 g], how it was found, and by whom; else `None`."""
    if row.food.lactic_acid:
        source = row.food.lactic_source.partition(":")[0]
        return Decimal(row.food.lactic_acid), BY_FERMENTATION, source
    acids = row.printed("organic_acids_g")
    if row.food.kind not in ("cultured", "strained-yogurt", "cheese") or not acids:
        return None
    made = max(acids - MILK_ACIDS, Decimal(0))
    return made, f"organic acids {acids} less milk's own {MILK_ACIDS}", ""


def ash_estimate(row: Row) -> Decimal:
    """Ash by its minerals [g/100 g]: the sodium as salt, the others with what they are bound to.

    Raises
    ------
    BuildError
        If one of the five minerals has no number.
    """
    amounts: list[Decimal] = []
    for name in ("sodium", "potassium", "calcium", "phosphorus", "magnesium"):
        amount = row.printed(COLUMNS[name][0])
        if amount is None:
            raise BuildError(f"{row.food.id} ({row.food.record}): without {name} it has no ash")
        amounts.append(amount)
    grams = SODIUM_CHLORIDE * amounts[0] + OTHER_MINERALS * sum(amounts[1:], Decimal(0))
    return (grams / 1000).quantize(Decimal("0.01"))


def printed_carbohydrate(row: Row) -> Decimal | None:
    """What the table gives of carbohydrate, acids and fibre together, each as itself [g/100 g]."""
    if row.monosaccharides:
        starch, sugars = row.sugar("starch_g"), row.printed("sugars_g")
        known = [row.sugar(c) for c in DIVISORS if c != "starch_g"]
        if sugars is None:
            return None
        named = sum((value for value in known if value is not None), Decimal(0))
        total = named + (starch or Decimal(0))
        acid = lactic_acid(row)
        return total + (acid[0] if acid else Decimal(0))
    carbohydrate = row.printed("carbohydrate_g")
    if carbohydrate is None:
        return None
    return (
        carbohydrate
        + (row.printed("organic_acids_g") or Decimal(0))
        + (row.printed("fibre_g") or Decimal(0))
    )


def proximates(row: Row) -> dict[str, tuple[Decimal, str]]:
    """Water, protein, fat, carbohydrate and ash [g/100 g], each with how it was found.

    They make 100 g exactly: one of them takes the rest.

    Raises
    ------
    BuildError
        If a part is missing, or the printed ones miss 100 g and nobody decided why.
    """
    where = f"{row.food.id} ({row.food.record})"
    parts: dict[str, tuple[Decimal, str]] = {}
    for name in ("water", "protein", "fat"):
        value = row.part(name)
        if value is None:
            raise BuildError(f"{where}: its {name} is not known")
        parts[name] = (value, row.decisions.get(name, ("", ""))[1])
    ash = row.decided("ash") or row.printed("ash_g")
    if ash is not None:
        parts["ash"] = (ash, row.decisions.get("ash", ("", ""))[1])
    else:
        parts["ash"] = (ash_estimate(row), ESTIMATED_ASH)
    given = printed_carbohydrate(row)
    left = 100 - sum((value for value, _ in parts.values()), Decimal(0))
    if given is None:
        given = left
        if "carbohydrate" not in row.decisions:
            raise BuildError(f"{where}: its carbohydrate is not known, and nobody decided")
    elif abs(left - given) > CLOSES and not row.decisions.keys() & {"water", "carbohydrate"}:
        raise BuildError(
            f"{where}: its parts make {100 - left + given:.2f} g, and nobody decided which is off"
        )
    if row.rest == "water":
        water = 100 - sum(v for name, (v, _) in parts.items() if name != "water") - given
        parts["water"] = (water, f"100 less the other parts; {row.decisions['water'][1]}")
        parts["carbohydrate"] = (given, "the sum of its sugars and acids")
    else:
        reason = row.decisions.get("carbohydrate", ("", ""))[1]
        parts["carbohydrate"] = (left, f"{BY_DIFFERENCE}; {reason}" if reason else BY_DIFFERENCE)
    for name, (value, _) in parts.items():
        if not 0 <= value <= 100:
            raise BuildError(f"{where}: its {name} comes to {value:.2f} g")
    return parts


def value_rows(row: Row, source: str) -> list[tuple[str, ...]]:
    """Make a food's rows of ``values.csv``, sorted by measure."""
    food = row.food
    found: dict[str, tuple[Decimal | str, str, str]] = {}
    for measure, (column, _, factor) in COLUMNS.items():
        text = row.cells[column]
        if not text:
            continue
        value: Decimal | str = text
        how = ""
        if column in DIVISORS and row.monosaccharides and DIVISORS[column] != 1:
            value, how = Decimal(text) / DIVISORS[column], f"{text} ÷ {DIVISORS[column]}"
        elif factor != 1:
            value, how = Decimal(text) * factor, f"{text} µg"
            how += " of retinol, no carotene" if measure == "vitamin-a" else ""
        found[measure] = (value, how, source)
    for measure in row.decisions:
        number = row.decided(measure)
        if number is not None:
            found[measure] = (number, *_told(row.decisions[measure][1], source))
    for measure, (number, why) in proximates(row).items():
        text = row.cells[COLUMNS[measure][0]] if measure in COLUMNS else ""
        if not text or number != Decimal(text):
            found[measure] = (number, *_told(why, source))
    acid = lactic_acid(row)
    if acid is not None:
        found["lactic-acid"] = (acid[0], acid[1], acid[2] or source)
    lactose = _lactose(row, found["carbohydrate"])
    if lactose is not None:
        found["lactose"] = lactose
    sugars = _sugars(row)
    if sugars is not None:
        found["sugars"] = (sugars, "" if not row.monosaccharides else "the sum of them", source)
    units = {measure: unit for measure, (_, unit, _) in COLUMNS.items()}
    return sorted(
        (food.id, measure, _text(value), units.get(measure, "g"), "", "", how, by)
        for measure, (value, how, by) in found.items()
    )


def _told(why: str, source: str) -> tuple[str, str]:
    """How a number was found, and by whom: the table, or a judgement."""
    if why.startswith("judgement: ") or why == ESTIMATED_ASH:
        return why.removeprefix("judgement: "), JUDGEMENT
    return why, source


def _lactose(
    row: Row, carbohydrate: tuple[Decimal | str, str, str]
) -> tuple[Decimal | str, str, str] | None:
    """What stands for lactose: as in `nutrient_tables.build`, but sweetened milk has its own."""
    total, how, source = carbohydrate
    how = how.partition(";")[0]
    if row.food.kind in UNSWEETENED_DAIRY:
        fibre = row.printed("fibre_g") or Decimal(0)
        if fibre:
            return Decimal(total) - fibre, f"{how} less fibre {fibre}", source
        return total, how, source
    analysed = row.sugar("lactose_g")
    return None if analysed is None else (analysed, "as analysed", source)


def _sugars(row: Row) -> Decimal | None:
    if not row.monosaccharides:
        return row.printed("sugars_g")
    parts = [row.sugar(column) for column in DIVISORS if column != "starch_g"]
    if row.printed("sugars_g") is None or any(part is None for part in parts):
        return None
    return sum((part for part in parts if part is not None), Decimal(0))


def _text(value: Decimal | str) -> str:
    """A number as it stands in the table: as printed, or to four figures after a conversion."""
    if isinstance(value, str):
        return value
    if not value:
        return "0"
    rounded = value.quantize(Decimal(1).scaleb(max(value.adjusted() - 3, -4)))
    text = f"{rounded:f}"
    return (text.rstrip("0").rstrip(".") or "0") if "." in text else text
