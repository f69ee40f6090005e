"""Jar labels: not for people, what is in it, until when; as many as can be read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from printed import long_pantry, long_recipe, read_back

from formulate.answers.day_and_jar import DayAndJar, day_and_jar
from formulate.base.errors import InputError
from formulate.foods.tables import band_set
from formulate.kitchen.jug import parse_container
from formulate.pantry.pantry import sample_pantry
from formulate.report.printed.label import GRIDS, label_page, save_labels
from formulate.report.printed.paper import MARGIN, Paper
from formulate.report.printed.typeset import SMALLEST

DAY = date(2026, 11, 14)


def made(bands: str = "lamb-replacer", **more) -> DayAndJar:
    found = day_and_jar(sample_pantry(), band_set(bands), **more)
    assert isinstance(found, DayAndJar)
    return found


def twelve() -> DayAndJar:
    pantry = long_pantry()
    found = day_and_jar(
        pantry, band_set("lamb-replacer"), volume=2330.0, favourite=long_recipe(pantry)
    )
    assert isinstance(found, DayAndJar)
    return found


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("case", [made, twelve])
def test_nothing_runs_over_its_label(case, paper: Paper, tmp_path: Path):
    count = save_labels(case(), DAY, paper, tmp_path / "label.pdf")
    sheet = read_back(tmp_path / "label.pdf")
    across, down = next(grid for grid in GRIDS if grid[0] * grid[1] == count)
    wide, high = (paper.width - 2 * MARGIN) / across, (paper.height - 2 * MARGIN) / down
    assert min(sheet.letters) >= SMALLEST - 0.01
    assert len(sheet.sizes) == 1
    for piece in sheet.pieces:
        column = (piece.left - MARGIN) // wide
        row = (piece.top - MARGIN) // high
        assert piece.right <= MARGIN + (column + 1) * wide - 2, piece
        assert piece.bottom <= MARGIN + (row + 1) * high - 2, piece
        assert 0 <= column < across
        assert 0 <= row < down
    assert not [
        (a.text, b.text) for i, a in enumerate(sheet.pieces) for b in sheet.pieces[:i] if a.meets(b)
    ]


def test_it_says_what_it_must(tmp_path: Path):
    count = save_labels(made(), DAY, Paper.LETTER, tmp_path / "label.pdf")
    text = read_back(tmp_path / "label.pdf").text
    for words in (
        "FOR THE LAMB NOT FOR PEOPLE",
        "In this 1 quart jar: 3 1/2 cups whole milk",
        "Mixed on: Sat 14 Nov 2026",
        "Use by: Sun 15 Nov 2026",
        "SHAKE WELL",
        "24 hours at most",
        "Not for a newborn's first day",
    ):
        assert text.count(words) == count == 6, words


def test_a_goat_kid_is_no_child(tmp_path: Path):
    save_labels(made("kid-replacer"), DAY, Paper.A4, tmp_path / "label.pdf")
    text = read_back(tmp_path / "label.pdf").text
    assert "FOR THE GOAT KID NOT FOR PEOPLE" in text
    assert "THE KID" not in text


def test_every_food_of_a_long_recipe_is_on_it(tmp_path: Path):
    found = twelve()
    save_labels(found, DAY, Paper.LETTER, tmp_path / "label.pdf")
    text = read_back(tmp_path / "label.pdf").text
    assert "Of a batch of" in text
    for step in found.day_plan.steps:
        assert step.food is not None
        assert step.food.replace("-", "") in text.replace(" ", "").replace("-", "")


def test_the_jugs_own_milk_is_in_it(tmp_path: Path):
    pantry = sample_pantry()
    jug = parse_container("1 gallon jug of whole-milk", pantry.kitchen, pantry.table)
    save_labels(made(container=jug), DAY, Paper.LETTER, tmp_path / "label.pdf")
    assert "In this 1 gallon jug: whole milk, 1 cup" in read_back(tmp_path / "label.pdf").text


def test_as_many_as_are_asked_for(tmp_path: Path):
    for count in (6, 4, 2, 1):
        assert save_labels(made(), DAY, Paper.A4, tmp_path / "label.pdf", count) == count
        text = read_back(tmp_path / "label.pdf").text
        assert text.count("NOT FOR PEOPLE") == count


def test_fewer_labels_have_larger_letters():
    few, many = (label_page(made(), DAY, Paper.A4, n)[0].scale for n in (2, 6))
    assert few > many


@pytest.mark.parametrize(("count", "words"), [(5, "1, 2, 4, 6 or 8"), (0, "evenly")])
def test_so_many_do_not_part_a_sheet(count: int, words: str):
    with pytest.raises(InputError, match=words):
        label_page(made(), DAY, Paper.A4, count)


def test_so_many_do_not_fit():
    with pytest.raises(InputError, match="Ask for fewer"):
        label_page(twelve(), DAY, Paper.A4, 8)


def test_the_same_label_is_the_same_file(tmp_path: Path):
    for kind in ("pdf", "png"):
        files = []
        for name in ("a", "b"):
            path = tmp_path / f"{name}.{kind}"
            save_labels(replace(made()), DAY, Paper.A4, path)
            files.append(path.read_bytes())
        assert files[0] == files[1]


def test_other_endings_are_refused(tmp_path: Path):
    with pytest.raises(InputError, match=r"\.pdf to print, or \.png"):
        save_labels(made(), DAY, Paper.A4, tmp_path / "label.doc")
    assert list(tmp_path.iterdir()) == []
