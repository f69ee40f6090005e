"""Each table is whole, tidy and consistent with the others."""

from __future__ import annotations

import csv
import doctest
import math
import re
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from importlib.resources import files
from itertools import pairwise

import pytest

import nutrient_tables
from nutrient_tables import build, open_table

SR28 = "usda-sr28"
PARTS = ("foods", "left_out", "values", "household")
NATIONAL = tuple(tomllib.loads(files("nutrient_tables").joinpath("tables.toml").read_text("utf-8")))
TABLES = (*(f"{table}/{name}" for table in NATIONAL for name in PARTS), "sources")
DAIRY = build.UNSWEETENED_DAIRY
SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def rows(table: str) -> list[dict[str, str]]:
    with open_table(table) as lines:
        return list(csv.DictReader(lines))


FOODS = {row["id"]: row for row in rows(f"{SR28}/foods")}
LEFT_OUT = rows(f"{SR28}/left_out")
with files("nutrient_tables").joinpath("not_for_lambs.toml").open("rb") as _lines:
    NOT_FOR_LAMBS = tomllib.load(_lines)
UNFIT = [{"id": name, "aliases": ";".join(entry["names"])} for name, entry in NOT_FOR_LAMBS.items()]
VALUES = rows(f"{SR28}/values")
HOUSEHOLD = rows(f"{SR28}/household")
SOURCES = {row["key"]: row for row in rows("sources")}

MANDATORY = """
    whole-milk whole-milk-no-vitamin-d producer-milk reduced-fat-milk lowfat-milk skim-milk
    evaporated-milk skim-evaporated-milk sweetened-condensed-milk whole-buttermilk
    reduced-fat-buttermilk lowfat-buttermilk whole-yogurt lowfat-yogurt skim-yogurt greek-yogurt
    lowfat-greek-yogurt nonfat-greek-yogurt half-and-half light-cream light-whipping-cream
    heavy-cream sour-cream reduced-fat-sour-cream dry-whole-milk nonfat-dry-milk
    instant-nonfat-dry-milk dry-buttermilk sweet-whey acid-whey dry-sweet-whey dry-acid-whey
    goat-milk sheep-milk buffalo-milk salted-butter unsalted-butter anhydrous-milk-fat whole-egg
    egg-yolk egg-white dry-whole-egg dry-egg-yolk dry-egg-white corn-syrup sugar honey molasses
    canola-oil corn-oil soybean-oil sunflower-oil olive-oil coconut-oil palm-oil cod-liver-oil
    unsweetened-soy-milk soy-protein-isolate water cottage-cheese ricotta cream-cheese
""".split()  # noqa: SIM905 - as a list it would fill sixty lines


def same_word(text: str) -> str:
    """Two words are the same to a person when they differ in case or hyphens only."""
    return " ".join(text.casefold().replace("-", " ").split())


def aliases(row: dict[str, str]) -> list[str]:
    return row["aliases"].split(";") if row["aliases"] else []


@pytest.mark.parametrize("table", TABLES)
def test_files_are_plain(table):
    content = files("nutrient_tables").joinpath(f"{table}.csv").read_bytes()
    assert content.endswith(b"\n")
    assert b"\r" not in content
    assert not content.startswith(b"\xef\xbb\xbf")
    content.decode("utf-8")


@pytest.mark.parametrize("table", TABLES)
def test_no_row_is_ragged_and_no_field_is_padded(table):
    with open_table(table) as lines:
        header, *body = csv.reader(lines)
    assert len(set(header)) == len(header)
    for row in body:
        assert len(row) == len(header)
        assert row == [field.strip() for field in row]


KEYS = {
    "foods": [("id",), ("record",)],
    "left_out": [("id",)],
    "values": [("food", "measure")],
    "household": [("food", "unit")],
    "sources": [("key",)],
}


def keys_of(table: str) -> list[tuple[str, ...]]:
    return KEYS[table.rpartition("/")[2]]


@pytest.mark.parametrize("table", TABLES)
def test_keys_are_unique(table):
    for key in keys_of(table):
        counts = Counter(tuple(row[column] for column in key) for row in rows(table))
        assert [words for words, times in counts.items() if times > 1] == []


@pytest.mark.parametrize("table", TABLES)
def test_rows_are_sorted(table):
    keys = [tuple(row[column] for column in keys_of(table)[0]) for row in rows(table)]
    assert all(first < second for first, second in pairwise(keys))


@pytest.mark.parametrize("table", TABLES)
def test_no_address_and_no_path_stands_in_a_table(table):
    with open_table(table) as lines:
        text = lines.read()
    assert not re.search(r"https?:|www\.|\.(com|org|net|gov|io)\b|/(tmp|root|home|work)\b", text)


class TestFoods:
    def test_there_are_enough_and_the_needed_ones(self):
        assert len(FOODS) >= 60
        assert [food for food in MANDATORY if food not in FOODS] == []

    def test_ids_and_records_have_their_form(self):
        assert [food for food in FOODS if not SLUG.fullmatch(food)] == []
        assert [row for row in FOODS.values() if not re.fullmatch(r"\d{5}", row["record"])] == []

    def test_every_kind_is_known_and_used(self):
        assert {row["kind"] for row in FOODS.values()} == set(build.KINDS)

    def test_every_food_has_a_plain_name_of_its_own(self):
        names = [row["name"] for row in FOODS.values()]
        assert all(names)
        assert len(set(names)) == len(names)

    def test_only_plain_dairy_and_water_are_offered_unasked(self):
        for food, row in FOODS.items():
            assert row["offer"] in build.OFFERS
            if row["offer"] == "suitable":
                assert row["kind"] in (DAIRY - {"cheese"}) | {"water"}, food
            else:
                salted_dairy = {"salted-butter"}
                assert row["kind"] not in DAIRY - {"cheese"} or food in salted_dairy, food

    @pytest.mark.parametrize(
        ("figure", "source"),
        [("largest_share", "share_source"), ("lactic_acid", "lactic_source")],
    )
    def test_a_figure_and_its_source_come_together(self, figure, source):
        assert any(row[figure] for row in FOODS.values())
        for food, row in FOODS.items():
            assert bool(row[figure]) == bool(row[source]), food
            if row[source].startswith("judgement"):
                reason = row[source].removeprefix("judgement: ")
                assert len(reason) > 20, food
            elif row[source]:
                assert row[source] in SOURCES, food

    def test_keys_named_inside_a_reason_exist(self):
        text = " ".join(row["share_source"] + " " + row["lactic_source"] for row in FOODS.values())
        named = re.findall(r"\(([a-z0-9.]+(?:-[a-z0-9.]+)+)\)", text)
        assert "nmsu-orphan-lambs" in named
        assert [key for key in named if key not in SOURCES] == []

    def test_shares_are_fractions_and_needed_where_a_food_can_do_harm(self):
        limited = {"cultured", "strained-yogurt", "egg", "dry-egg", "oil", "fish-oil"}
        limited |= {"whey", "dry-whey", "sweetener", "sweetened-milk", "soy", "cheese"}
        for food, row in FOODS.items():
            if row["largest_share"]:
                assert 0 < float(row["largest_share"]) < 1, food
            assert row["largest_share"] or row["kind"] not in limited, food

    def test_cod_liver_oil_stays_below_the_published_teaspoon(self):
        """One teaspoon (SR28: 4.5 g) in 24 fl oz of milk (30.5 g each) with one egg (50 g)."""
        published = 4.5 / (24 * 30.5 + 50 + 4.5)
        assert 0 < float(FOODS["cod-liver-oil"]["largest_share"]) <= published

    def test_dried_food_is_limited_to_about_the_solids_of_the_fluid_one(self):
        water = {row["food"]: float(row["value"]) for row in VALUES if row["measure"] == "water"}
        for fluid, dry in [
            ("whole-egg", "dry-whole-egg"),
            ("egg-yolk", "dry-egg-yolk"),
            ("egg-white", "dry-egg-white"),
            ("sweet-whey", "dry-sweet-whey"),
            ("acid-whey", "dry-acid-whey"),
        ]:
            solids = (100 - water[fluid]) / (100 - water[dry])
            equivalent = float(FOODS[fluid]["largest_share"]) * solids
            assert float(FOODS[dry]["largest_share"]) == pytest.approx(equivalent, rel=0.25)

    def test_lactic_acid_stands_for_soured_foods_only(self):
        soured = {food for food, row in FOODS.items() if row["lactic_acid"]}
        kinds = {"cultured", "strained-yogurt"}
        always = {food for food, row in FOODS.items() if row["kind"] in kinds}
        cheeses = {food for food, row in FOODS.items() if row["kind"] == "cheese"}
        # Ricotta is set by heat and added acid, without a culture.
        cultured_cheeses = {food for food in cheeses if "ricotta" not in food}
        assert soured == always | cultured_cheeses | {"acid-whey", "dry-acid-whey"}

    def test_dry_acid_whey_holds_the_acid_of_its_solids(self):
        water = {row["food"]: float(row["value"]) for row in VALUES if row["measure"] == "water"}
        solids = (100 - water["dry-acid-whey"]) / (100 - water["acid-whey"])
        acid = float(FOODS["acid-whey"]["lactic_acid"])
        assert float(FOODS["dry-acid-whey"]["lactic_acid"]) == pytest.approx(
            acid * solids, rel=0.01
        )


SHARED = {
    "milk": {
        "whole-milk",
        "whole-milk-no-vitamin-d",
        "reduced-fat-milk",
        "lowfat-milk",
        "skim-milk",
    },
    "semi skimmed milk": {"reduced-fat-milk", "lowfat-milk"},
    "buttermilk": {"whole-buttermilk", "reduced-fat-buttermilk", "lowfat-buttermilk"},
    "cream": {"light-cream", "light-whipping-cream", "heavy-cream"},
    "whipping cream": {"light-whipping-cream", "heavy-cream"},
    "butter": {"salted-butter", "unsalted-butter"},
}
SHARED["cultured buttermilk"] = SHARED["buttermilk"]
for _word in ("yogurt", "yoghurt", "plain yogurt", "plain yoghurt", "natural yoghurt"):
    SHARED[_word] = {"whole-yogurt", "lowfat-yogurt", "skim-yogurt"}
for _word in ("strained yogurt", "strained yoghurt"):
    SHARED[_word] = {"greek-yogurt", "lowfat-greek-yogurt", "nonfat-greek-yogurt"}
for _word in ("milk powder", "powdered milk", "dried milk", "dry milk"):
    SHARED[_word] = {"dry-whole-milk", "nonfat-dry-milk", "instant-nonfat-dry-milk"}
for _word in ("whey", "liquid whey"):
    SHARED[_word] = {"sweet-whey", "acid-whey"}
for _word in ("whey powder", "dried whey", "powdered whey"):
    SHARED[_word] = {"dry-sweet-whey", "dry-acid-whey"}
for _word in ("vegetable oil", "cooking oil"):
    SHARED[_word] = {"canola-oil", "corn-oil", "soybean-oil", "sunflower-oil"}


class TestWords:
    @staticmethod
    def meanings() -> dict[str, set[str]]:
        found: defaultdict[str, set[str]] = defaultdict(set)
        for row in [*FOODS.values(), *LEFT_OUT, *UNFIT]:
            for word in [row["id"], *aliases(row)]:
                found[same_word(word)].add(row["id"])
        return found

    def test_a_word_is_shared_only_on_purpose(self):
        shared = {word: foods for word, foods in self.meanings().items() if len(foods) > 1}
        assert shared == SHARED

    def test_no_alias_says_the_id_again(self):
        for row in [*FOODS.values(), *LEFT_OUT, *UNFIT]:
            words = [same_word(word) for word in aliases(row)]
            assert same_word(row["id"]) not in words
            assert len(set(words)) == len(words), row["id"]

    def test_aliases_are_plain_words(self):
        for row in [*FOODS.values(), *LEFT_OUT, *UNFIT]:
            for word in aliases(row):
                assert word
                assert word == word.strip().lower(), word

    @pytest.mark.parametrize(
        ("word", "food"),
        [
            ("evaporated milk", "evaporated-milk"),
            ("egg", "whole-egg"),
            ("single cream", "light-cream"),
            ("dried skimmed milk", "nonfat-dry-milk"),
            ("skimmed milk", "skim-milk"),
            ("condensed milk", "sweetened-condensed-milk"),
            ("tinned milk", "evaporated-milk"),
            ("ewe's milk", "sheep-milk"),
            ("greek yoghurt", "greek-yogurt"),
            ("rapeseed oil", "canola-oil"),
            ("whey protein isolate", "whey-protein-isolate"),
            ("skyr", "skyr"),
            ("breast milk", "human-milk"),
            ("cocoa milk", "chocolate-milk"),
        ],
    )
    def test_a_word_means_one_food(self, word, food):
        assert self.meanings()[word] == {food}


class TestLeftOut:
    def test_no_food_is_both_in_and_left_out(self):
        assert {row["id"] for row in LEFT_OUT} & set(FOODS) == set()
        records = {row["record"] for row in LEFT_OUT if row["record"]}
        assert records & {row["record"] for row in FOODS.values()} == set()

    def test_tempting_records_are_named(self):
        assert {"01291", "14058", "01289"} <= {row["record"] for row in LEFT_OUT}

    def test_every_reason_is_a_reason(self):
        assert all(SLUG.fullmatch(row["id"]) for row in LEFT_OUT)
        assert [row["id"] for row in LEFT_OUT if len(row["reason"]) < 25] == []

    def test_foods_named_in_a_reason_exist(self):
        """Advice such as "use whole-milk" must name a food of the table."""
        advised = [
            word
            for row in LEFT_OUT
            for word in re.findall(r"(?:use|near) ([a-z]+(?:-[a-z]+)+)", row["reason"])
        ]
        assert len(advised) >= 4
        assert [word for word in advised if word not in FOODS] == []


class TestNotForLambs:
    @pytest.mark.parametrize("name", NOT_FOR_LAMBS)
    def test_every_entry_is_whole(self, name):
        entry = NOT_FOR_LAMBS[name]
        assert set(entry) == {"names", "verdict", "text", "source", "status"}
        assert entry["verdict"] in ("never", "vet")
        assert entry["source"] in SOURCES
        assert entry["status"] in ("source", "judgement", "memory")
        assert SLUG.fullmatch(name)
        assert 30 < len(entry["text"]) < 220

    def test_what_must_be_there_is_there(self):
        never = {name for name, entry in NOT_FOR_LAMBS.items() if entry["verdict"] == "never"}
        assert {"human-milk", "human-colostrum", "chocolate-milk", "flavoured-milk", "eggnog"} <= (
            never
        )
        vet = set(NOT_FOR_LAMBS) - never
        assert {"baby-formula", "oat-milk", "almond-milk", "rice-milk", "coconut-milk"} <= vet


class TestValues:
    def test_every_food_has_what_a_mix_is_reckoned_with(self):
        held = {(row["food"], row["measure"]) for row in VALUES}
        needed = ("water", "protein", "fat", "carbohydrate", "ash", "energy", "calcium")
        needed += ("phosphorus", "magnesium", "sodium", "potassium", "vitamin-a", "copper")
        missing = {(food, measure) for food in FOODS for measure in needed} - held
        assert missing == set()

    def test_only_known_foods_and_measures(self):
        assert {row["food"] for row in VALUES} == set(FOODS)
        known = {measure.id for measure in build.MEASURES} | {"lactose", "lactic-acid"}
        assert {row["measure"] for row in VALUES} == known

    def test_every_measure_has_one_unit(self):
        units = defaultdict(set)
        for row in VALUES:
            units[row["measure"]].add(row["unit"])
        assert all(len(found) == 1 for found in units.values())
        assert {unit for found in units.values() for unit in found} == {
            "g",
            "mg",
            "µg",
            "IU",
            "kcal",
        }

    def test_amounts_are_finite_and_possible(self):
        most = {"g": 100.01, "mg": 100_000, "µg": 1e6, "kcal": 903, "IU": 1e6}
        for row in VALUES:
            value = float(row["value"])
            assert math.isfinite(value)
            assert 0 <= value <= most[row["unit"]], row

    def test_counts_and_errors_are_numbers_or_empty(self):
        for row in VALUES:
            assert row["n"].isdigit() or row["measure"] == "lactic-acid", row
            if row["standard_error"]:
                assert 0 <= float(row["standard_error"]) < math.inf, row

    def test_every_source_exists(self):
        assert {row["source"] for row in VALUES} <= set(SOURCES)

    def test_lactose_of_dairy_is_carbohydrate_by_difference(self):
        amounts = {(row["food"], row["measure"]): row["value"] for row in VALUES}
        for food, row in FOODS.items():
            if row["kind"] in DAIRY:
                assert amounts[food, "lactose"] == amounts[food, "carbohydrate"]

    def test_lactose_is_missing_where_nobody_measured_it(self):
        held = {row["food"] for row in VALUES if row["measure"] == "lactose"}
        assert set(FOODS) - held == {
            "corn-syrup",
            "dark-corn-syrup",
            "duck-egg",
            "honey",
            "molasses",
            "unsweetened-soy-milk",
        }

    def test_no_plant_or_egg_holds_more_than_a_trace_of_lactose(self):
        for row in VALUES:
            kind = FOODS[row["food"]]["kind"]
            if row["measure"] == "lactose" and kind not in DAIRY | {"sweetened-milk"}:
                assert float(row["value"]) <= 0.07, row

    def test_lactic_acid_is_the_figure_of_the_foods_table(self):
        held = {row["food"]: row["value"] for row in VALUES if row["measure"] == "lactic-acid"}
        given = {food: row["lactic_acid"] for food, row in FOODS.items() if row["lactic_acid"]}
        assert held == given


# Grams in one unit: USDA household weights; a can of condensed milk is labelled 14 oz by weight.
KNOWN_WEIGHTS = [
    ("whole-milk", "cup", 244),
    ("lowfat-buttermilk", "cup", 245),
    ("evaporated-milk", "cup", 252),
    ("evaporated-milk", "can", 378),
    ("skim-evaporated-milk", "can", 382.8),
    ("sweetened-condensed-milk", "can", 397),
    ("heavy-cream", "cup", 238),
    ("dry-whole-milk", "cup", 128),
    ("nonfat-dry-milk", "cup", 120),
    ("instant-nonfat-dry-milk", "cup", 68),
    ("whole-egg", "egg", 50),
    ("egg-yolk", "yolk", 17),
    ("egg-white", "white", 33),
    ("salted-butter", "stick", 113),
    ("unsalted-butter", "stick", 113),
    ("cod-liver-oil", "cup", 218),
]


class TestHousehold:
    def test_one_volume_for_each_food_that_is_measured_by_volume(self):
        volumes = Counter(row["food"] for row in HOUSEHOLD if row["millilitres"])
        assert set(volumes.values()) == {1}
        assert set(FOODS) - set(volumes) == {"duck-egg", "soy-protein-isolate"}

    def test_a_volume_is_a_us_cup(self):
        for row in HOUSEHOLD:
            assert (row["unit"] == "cup") == bool(row["millilitres"])
            if row["millilitres"]:
                assert float(row["millilitres"]) == pytest.approx(231 * 2.54**3 / 16, abs=5e-4)

    def test_densities_are_possible(self):
        """From loose instant powder to honey, in g/mL."""
        for row in HOUSEHOLD:
            if row["millilitres"]:
                density = float(row["grams"]) / float(row["millilitres"])
                kind = FOODS[row["food"]]["kind"]
                loose = {"dry-milk", "dry-whey", "dry-egg", "cheese"}
                low, high = (0.2, 1.1) if kind in loose else (0.84, 1.45)
                assert low < density < high, row

    def test_fluid_milks_weigh_a_little_more_than_water(self):
        for row in HOUSEHOLD:
            if row["unit"] == "cup" and FOODS[row["food"]]["kind"] in {"milk", "cultured"}:
                density = float(row["grams"]) / float(row["millilitres"])
                assert 0.97 < density < 1.045, row

    def test_pieces(self):
        pieces = {(row["food"], row["unit"]) for row in HOUSEHOLD if not row["millilitres"]}
        assert pieces == {
            ("duck-egg", "egg"),
            ("egg-white", "white"),
            ("egg-yolk", "yolk"),
            ("evaporated-milk", "can"),
            ("evaporated-milk-no-vitamin-d", "can"),
            ("salted-butter", "stick"),
            ("skim-evaporated-milk", "can"),
            ("sweetened-condensed-milk", "can"),
            ("unsalted-butter", "stick"),
            ("whole-egg", "egg"),
        }

    @pytest.mark.parametrize(("food", "unit", "grams"), KNOWN_WEIGHTS)
    def test_known_weights(self, food, unit, grams):
        [row] = [row for row in HOUSEHOLD if (row["food"], row["unit"]) == (food, unit)]
        assert float(row["grams"]) == grams

    def test_every_source_exists_and_an_estimate_says_why(self):
        for row in HOUSEHOLD:
            assert row["food"] in FOODS
            assert row["source"] in SOURCES
            assert row["note"] or row["source"] == "usda-sr28", row


class TestSources:
    def test_the_needed_ones_are_there(self):
        needed = {"usda-sr28", "21-cfr-131.112", "21-cfr-131.160", "21-cfr-131.200"}
        needed |= {"quebec-p29", "judgement", "common-practice", "nz-yoghurt-leaflet"}
        assert needed <= set(SOURCES)

    def test_none_is_empty(self):
        for key, row in SOURCES.items():
            assert len(row["citation"]) > 15, key
            assert row["where"], key
            assert row["status"] in {
                "seen",
                "memory",
                "judgement",
                "common-practice",
                "definition",
                "own",
            }, key
            assert re.fullmatch(r"(\d{4})?", row["year"]), key


def test_an_unknown_table_is_not_found():
    with pytest.raises(FileNotFoundError):
        open_table("no-such-table")


def test_the_example_of_the_package_runs():
    result = doctest.testmod(nutrient_tables)
    assert result.attempted > 0
    assert result.failed == 0


def test_the_package_is_light():
    code = "import sys, nutrient_tables; print({'numpy', 'pandas', 'csv'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "set()"
