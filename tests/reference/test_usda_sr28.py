"""The tables hold what the USDA printed: National Nutrient Database, Release 28 (2015).

The release is read here by other means than `nutrient_tables.build` reads it, and nutrients are
found by the USDA's names for them, so that a wrong number in the build cannot agree with itself.
"""

from __future__ import annotations

import csv
import io
import tarfile
from decimal import Decimal
from pathlib import Path

import pytest

from nutrient_tables import build, open_table

pytestmark = pytest.mark.network

USDA_NAMES = {
    "water": ("Water", "g"),
    "protein": ("Protein", "g"),
    "fat": ("Total lipid (fat)", "g"),
    "carbohydrate": ("Carbohydrate, by difference", "g"),
    "lactose-analysed": ("Lactose", "g"),
    "galactose-analysed": ("Galactose", "g"),
    "glucose": ("Glucose (dextrose)", "g"),
    "fructose": ("Fructose", "g"),
    "sugars": ("Sugars, total", "g"),
    "ash": ("Ash", "g"),
    "energy": ("Energy", "kcal"),
    "calcium": ("Calcium, Ca", "mg"),
    "phosphorus": ("Phosphorus, P", "mg"),
    "magnesium": ("Magnesium, Mg", "mg"),
    "sodium": ("Sodium, Na", "mg"),
    "potassium": ("Potassium, K", "mg"),
    "iron": ("Iron, Fe", "mg"),
    "zinc": ("Zinc, Zn", "mg"),
    "copper": ("Copper, Cu", "mg"),
    "manganese": ("Manganese, Mn", "mg"),
    "selenium": ("Selenium, Se", "µg"),
    "vitamin-a": ("Vitamin A, IU", "IU"),
    "vitamin-d": ("Vitamin D", "IU"),
    "vitamin-e": ("Vitamin E (alpha-tocopherol)", "mg"),
    "vitamin-b12": ("Vitamin B-12", "µg"),
    "riboflavin": ("Riboflavin", "mg"),
    "thiamin": ("Thiamin", "mg"),
    "saturated-fat": ("Fatty acids, total saturated", "g"),
    "lysine": ("Lysine", "g"),
    "methionine": ("Methionine", "g"),
}
"""The USDA's name and unit (NUTR_DEF) of each measure that is copied."""


class Usda:
    """The files of SR28, each line a list of fields."""

    def __init__(self, release: Path) -> None:
        self.release = release
        self.nutrient_numbers = {
            (fields[3], fields[1]): fields[0] for fields in self.lines("NUTR_DEF.txt")
        }
        self.descriptions = {fields[0]: fields for fields in self.lines("FOOD_DES.txt")}
        # value, number of analyses, standard error, derivation code
        self.nutrients = {
            (fields[0], fields[1]): (fields[2], fields[3], fields[4], fields[6])
            for fields in self.lines("NUT_DATA.txt")
        }
        self.weights: dict[str, list[list[str]]] = {}
        for fields in self.lines("WEIGHT.txt"):
            self.weights.setdefault(fields[0], []).append(fields)

    def lines(self, name: str) -> list[list[str]]:
        if self.release.is_dir():
            content = (self.release / name).read_bytes()
        else:
            with tarfile.open(self.release) as archive:
                [path] = [path for path in archive.getnames() if Path(path).name == name]
                member = archive.extractfile(path)
                assert member is not None
                content = member.read()
        text = io.StringIO(content.decode("latin-1"), newline="")
        return list(csv.reader(text, delimiter="^", quotechar="~"))

    def number(self, measure: str) -> str:
        return self.nutrient_numbers[USDA_NAMES[measure]]


@pytest.fixture(scope="module")
def usda(sr28: Path) -> Usda:
    return Usda(sr28)


@pytest.fixture(scope="module")
def value_rows() -> list[dict[str, str]]:
    with open_table("usda-sr28/values") as table:
        return list(csv.DictReader(table))


@pytest.fixture(scope="module")
def household_rows() -> list[dict[str, str]]:
    with open_table("usda-sr28/household") as table:
        return list(csv.DictReader(table))


def as_row(printed: tuple[str, str, str, str]) -> dict[str, str]:
    return dict(zip(("value", "n", "standard_error", "derivation"), printed, strict=True))


def test_every_copied_value_is_printed_so(usda, foods, value_rows):
    copied = [row for row in value_rows if row["measure"] in USDA_NAMES]
    assert len(copied) > 2000
    for row in copied:
        key = foods[row["food"]]["record"], usda.number(row["measure"])
        assert row | as_row(usda.nutrients[key]) | {"source": "usda-sr28"} == row
        assert row["unit"] == USDA_NAMES[row["measure"]][1]


def test_nothing_that_is_printed_was_dropped(usda, foods, value_rows):
    held = {(row["food"], row["measure"]) for row in value_rows if row["measure"] in USDA_NAMES}
    printed = {
        (food, measure)
        for food, row in foods.items()
        for measure in USDA_NAMES
        if (row["record"], usda.number(measure)) in usda.nutrients
    }
    assert held == printed


def test_lactose_is_taken_from_the_place_its_derivation_names(usda, foods, value_rows):
    derivations = set()
    for row in value_rows:
        if row["measure"] != "lactose" or "judgement" in row["derivation"]:
            continue
        derived = row["derivation"] in {"carbohydrate by difference", "no carbohydrate"}
        number = usda.number("carbohydrate" if derived else "lactose-analysed")
        value, n, error, code = usda.nutrients[foods[row["food"]]["record"], number]
        assert (row["value"], row["n"], row["standard_error"]) == (value, n, error)
        assert derived or row["derivation"] == code
        if row["derivation"] == "no carbohydrate":
            assert Decimal(value) == 0
        derivations.add(row["derivation"])
    assert {"carbohydrate by difference", "no carbohydrate", "A"} <= derivations


def test_the_other_values_claim_no_copy(value_rows):
    others = {row["measure"] for row in value_rows} - set(USDA_NAMES)
    assert others == {"lactose", "lactic-acid"}
    acids = [row for row in value_rows if row["measure"] == "lactic-acid"]
    assert all(row["source"] != "usda-sr28" for row in acids)


UNITS = {
    "cup": (
        "cup",
        "cup (4.86 large eggs)",
        "cup (8 fl oz)",
        "cup (not packed)",
        "cup packed",
        "cup, fluid (yields 2 cups whipped)",
        "cup, sifted",
        "cup, small curd (not packed)",
    ),
    "egg": ("large", "egg"),
    "white": ("large",),
    "yolk": ("large",),
    "stick": ("stick",),
}
"""SR28's own words for each household unit."""


def test_household_grams_are_printed_so(usda, foods, household_rows):
    copied = [row for row in household_rows if row["source"] == "usda-sr28"]
    assert len(copied) > 80
    for row in copied:
        weights = usda.weights[foods[row["food"]]["record"]]
        printed = {fields[3]: fields[4] for fields in weights if fields[2] == "1"}
        if row["unit"] == "can":
            assert Decimal(row["grams"]) == 12 * Decimal(printed["fl oz"])
        elif row["food"] == "water":
            # 1000 g in 1000 mL, so the US cup of 236.588 mL holds as many grams.
            assert printed["liter"] == "1000"
            assert (row["grams"], row["millilitres"]) == ("236.588", "236.5882365")
        else:
            assert row["grams"] in [printed.get(words) for words in UNITS[row["unit"]]]


def test_no_density_comes_from_a_whipped_or_unpacked_cup(usda, foods, household_rows):
    """SR28 prints lighter cups of the same foods: whipped cream 120 g, loose brown sugar 145 g."""
    grams = {row["food"]: row["grams"] for row in household_rows if row["millilitres"]}
    lighter = {
        "heavy-cream": "cup, whipped",
        "light-whipping-cream": "cup, whipped",
        "brown-sugar": "cup unpacked",
    }
    for food, measure in lighter.items():
        weights = usda.weights[foods[food]["record"]]
        [light] = [fields[4] for fields in weights if fields[3] == measure]
        assert Decimal(grams[food]) > Decimal("1.5") * Decimal(light)


def test_no_food_is_a_branded_record(usda, foods):
    makers = {food: usda.descriptions[row["record"]][5] for food, row in foods.items()}
    assert {food: maker for food, maker in makers.items() if maker} == {}
    # Brands stand in capitals in SR28's descriptions; "USDA" would mark a commodity food.
    words = {
        word
        for row in foods.values()
        for word in usda.descriptions[row["record"]][2].replace(",", " ").split()
    }
    assert {word for word in words if len(word) > 1 and word.isupper()} == set()


def test_left_out_records_exist(usda):
    with open_table("usda-sr28/left_out") as table:
        records = [row["record"] for row in csv.DictReader(table) if row["record"]]
    assert len(records) > 15
    assert [record for record in records if record not in usda.descriptions] == []


def test_evaporated_milk_of_two_percent_is_left_out_for_a_reason_that_holds(usda):
    """Record 01291 repeats the water of whole evaporated milk (01096) at 5.56 g less fat."""
    water, carbohydrate = usda.number("water"), usda.number("carbohydrate")
    assert usda.nutrients["01291", water][0] == usda.nutrients["01096", water][0]
    assert usda.nutrients["01291", carbohydrate][0] == "15.74"


def test_energy_follows_from_each_records_own_factors(usda, foods, values):
    """Merrill & Watt's specific factors (USDA Handbook 74, 1955, revised 1973) in FOOD_DES.

    SR28 prints whole kilocalories, so half of one is rounding; 1.0 is allowed.
    """
    without_factors = set()
    for food, row in foods.items():
        factors = dict(
            zip(
                ("protein", "fat", "carbohydrate"),
                usda.descriptions[row["record"]][11:14],
                strict=True,
            )
        )
        # A factor is not printed, nor needed, where there is nothing to multiply.
        needed = {name: text for name, text in factors.items() if values[food, name] != 0}
        if not all(needed.values()):
            without_factors.add(food)
            continue
        energy = sum((Decimal(text) * values[food, name] for name, text in needed.items()))
        assert abs(energy - values[food, "energy"]) <= 1, food
    assert without_factors == {
        # SR28 prints no factors for these records.
        "coconut-oil",
        "corn-oil",
        "dry-egg-white",
        "dry-egg-yolk",
        "dry-whole-egg",
        "evaporated-milk-no-vitamin-d",
        "greek-yogurt",
        "lowfat-greek-yogurt",
        "nonfat-greek-yogurt",
        "reduced-fat-buttermilk",
        "reduced-fat-cottage-cheese",
        "skim-milk-no-vitamins",
        "unsweetened-soy-milk",
        "whole-buttermilk",
        "whole-milk-no-vitamin-d",
    }


def test_the_tables_on_disk_are_those_of_the_release(sr28, capsys):
    assert build.main(["--release", str(sr28), "--check"]) == 0, capsys.readouterr().err
