"""Make a national table's ``values.csv``, ``household.csv`` and ``flags.csv`` from its own rows.

Run it as ``python -m nutrient_tables.convert`` for every table of ``tables.toml`` that ships its
rows, or with ``--table NAME`` for one. With ``--check`` nothing is written, and the exit status
says whether the files on disk are those the rows give. How a number is turned into ours stands in
:mod:`nutrient_tables.national_row`; a cell that is not a number goes to ``flags.csv``.
"""

from __future__ import annotations

import argparse
import csv
import sys
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Final

from nutrient_tables.build import (
    HOUSEHOLD_COLUMNS,
    JUDGEMENT,
    KINDS,
    VALUE_COLUMNS,
    BuildError,
    first_difference,
    table_text,
    write_whole,
)
from nutrient_tables.national_row import (
    COLUMNS,
    MONOSACCHARIDES,
    Food,
    Row,
    proximates,
    value_rows,
)

__all__ = ["convert", "main"]

#: Density of fat, of other solids and of water at 20 °C [g/mL]: source ``partial-densities``.
FAT_DENSITY, SOLIDS_DENSITY, WATER_DENSITY = Decimal("0.93"), Decimal("1.608"), Decimal("0.998")
#: A powder's cup holds air, so it is taken from the like food of this table.
LIKE_TABLE: Final = "usda-sr28"
POWDERS: Final = frozenset({"dry-milk", "dry-whey", "dry-egg"})
CUP_ML: Final = Decimal(250)

FLAG_COLUMNS: Final = ("record", "measure", "column", "flag")
MEASURE_OF: Final = {column: measure for measure, (column, _, _) in COLUMNS.items()}


def household_rows(
    rows: Iterable[tuple[Row, Mapping[str, Decimal]]],
    like: Mapping[str, Sequence[Mapping[str, str]]],
) -> list[tuple[str, ...]]:
    """Make the rows of ``household.csv``.

    A fluid, a curd or a fat weighs what its parts do; a powder's cup holds air and is taken from
    the same food of `LIKE_TABLE`, as are eggs that are counted. A powder without one is weighed.

    Parameters
    ----------
    rows : iterable of Row and its water and fat
    like : mapping of str to sequence of mapping
        Household rows of `LIKE_TABLE` by food.
    """
    found: list[tuple[str, ...]] = []
    for row, parts in rows:
        food = row.food
        same = like.get(food.same_food, ())
        note = f"as {food.same_food} of {LIKE_TABLE}"
        if food.kind in POWDERS:
            found += [
                (food.id, "cup", h["grams"], h["millilitres"], JUDGEMENT, note)
                for h in same
                if h["millilitres"]
            ]
        else:
            fat, water = parts["fat"], parts["water"]
            room = fat / FAT_DENSITY + water / WATER_DENSITY
            room += (100 - fat - water) / SOLIDS_DENSITY
            grams = f"{100 * CUP_ML / room:.1f}"
            found.append(
                (food.id, "cup", grams, str(CUP_ML), "partial-densities", "by its fat and water")
            )
        found += [
            (food.id, h["unit"], h["grams"], "", JUDGEMENT, note)
            for h in same
            if not h["millilitres"] and food.kind == "egg"
        ]
    return sorted(found)


def flag_rows(row: Row) -> list[tuple[str, ...]]:
    """Every mark of the row that is not a number, under the measure it belongs to, if any."""
    marks = [mark.strip().partition(":") for mark in row.cells["flags"].split(";") if mark.strip()]
    note = row.cells["source_note"].strip()
    rows: list[tuple[str, ...]] = [
        (row.food.record, MEASURE_OF.get(column, ""), column, flag) for column, _, flag in marks
    ]
    return [*rows, (row.food.record, "", "source_note", note)] if note else rows


def convert(folder: Path, table: Mapping[str, object], like: Path) -> dict[str, str]:
    """Make the text of a table's three files.

    Parameters
    ----------
    folder : Path
        With ``rows.csv``, ``foods.csv`` and ``decisions.csv``.
    table : mapping
        Its entry of ``tables.toml``.
    like : Path
        Folder of `LIKE_TABLE`, for what a powder's cup weighs.

    Returns
    -------
    dict of str to str
        Text by file name.

    Raises
    ------
    BuildError
        If a file is missing, a food's record is not among the rows, two foods are one record, or
        a row's parts do not add up and nobody decided why.
    """
    cells = {row["code"]: row for row in _read(folder / "rows.csv")}
    decisions: dict[str, dict[str, tuple[str, str]]] = {}
    for entry in _read(folder / "decisions.csv"):
        if entry["record"] not in cells:
            raise BuildError(f"{folder.name}: decisions.csv names no row {entry['record']}")
        decisions.setdefault(entry["record"], {})[entry["measure"]] = (
            entry["decision"],
            entry["reason"],
        )
    monosaccharides = table["carbohydrate"] == MONOSACCHARIDES
    rows = [
        Row(food, cells[food.record], decisions.get(food.record, {}), monosaccharides)
        for food in _foods(folder, cells)
    ]
    weights: dict[str, list[dict[str, str]]] = {}
    for entry in _read(like / "household.csv"):
        weights.setdefault(entry["food"], []).append(entry)
    parts = [(row, {n: v for n, (v, _) in proximates(row).items()}) for row in rows]
    source = str(table["source"])
    return {
        "values.csv": table_text(
            VALUE_COLUMNS, (v for row in rows for v in value_rows(row, source))
        ),
        "household.csv": table_text(HOUSEHOLD_COLUMNS, household_rows(parts, weights)),
        "flags.csv": table_text(FLAG_COLUMNS, sorted(f for row in rows for f in flag_rows(row))),
    }


def _foods(folder: Path, cells: Mapping[str, object]) -> list[Food]:
    foods: list[Food] = []
    seen: set[str] = set()
    for entry in _read(folder / "foods.csv"):
        food = Food(**{name: entry[name] for name in Food.__dataclass_fields__})
        where = f"{folder.name}: foods.csv, {food.id}"
        if food.kind not in KINDS:
            raise BuildError(f"{where}: unknown kind {food.kind!r}; known are {', '.join(KINDS)}")
        if food.record not in cells:
            raise BuildError(f"{where}: there is no row {food.record}")
        for key in (food.id, food.record):
            if key in seen:
                raise BuildError(f"{where}: {key} stands in the table twice")
            seen.add(key)
        foods.append(food)
    return foods


def _read(path: Path) -> list[dict[str, str]]:
    try:
        with path.open(encoding="utf-8", newline="") as lines:
            return list(csv.DictReader(lines))
    except OSError as error:
        raise BuildError(f"{path.parent.name}/{path.name}: cannot be read") from error


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words of the command line; those of the process when left out.

    Returns
    -------
    int
        Exit status: 0 done, 1 the files differ (``--check``), 2 the input is wrong.
    """
    parser = argparse.ArgumentParser(
        prog="python -m nutrient_tables.convert",
        description="Make values, household measures and flags of the national tables.",
    )
    parser.add_argument("--table", metavar="NAME", help="only this table of tables.toml")
    parser.add_argument(
        "--tables",
        type=Path,
        metavar="FOLDER",
        default=Path(__file__).parent,
        help="folder with tables.toml (default: beside this module)",
    )
    parser.add_argument(
        "--check", action="store_true", help="write nothing; exit with 1 when the files differ"
    )
    options = parser.parse_args(arguments)
    base: Path = options.tables
    try:
        known = tomllib.loads((base / "tables.toml").read_text(encoding="utf-8"))
        names = [name for name in known if (base / name / "rows.csv").exists()]
        if options.table is not None:
            if options.table not in names:
                raise BuildError(f"there is no table {options.table!r}; known: {', '.join(names)}")
            names = [options.table]
        faults = []
        for name in names:
            made = convert(base / name, known[name], base / LIKE_TABLE)
            for file, text in made.items():
                if options.check:
                    fault = first_difference(base / name / file, text)
                    faults += [f"{name}/{fault}"] if fault else []
                else:
                    write_whole(base / name / file, text)
                    print(f"{name}/{file}: {len(text.splitlines()) - 1} rows")
    except BuildError as error:
        print(f"nutrient_tables.convert: {error}", file=sys.stderr)
        return 2
    except OSError as error:
        print(f"nutrient_tables.convert: {error.filename}: {error.strerror}", file=sys.stderr)
        return 2
    for fault in faults:
        print(fault, file=sys.stderr)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
