"""Jar labels: not for people, what is in it, until when; as many as can be read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from printed import long_pantry, long_recipe, read_back

from formulate.answers.sheet import Sheet, SheetRequest, sheet
from formulate.base.errors import InputError
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import Permission
from formulate.rearing.flock_file import FlockRead, sample_flock
from formulate.report.printed.label import GRIDS, label_page, save_labels
from formulate.report.printed.paper import MARGIN, Paper
from formulate.report.printed.typeset import SMALLEST

DAY = date(2026, 11, 14)


def made(read: FlockRead | None = None, **asked: str) -> Sheet:
    return sheet(sample_pantry(), SheetRequest(**asked), read)


def twelve() -> Sheet:
    pantry = long_pantry()
    pantry = replace(pantry, recipes={"long": long_recipe(pantry)})
    return sheet(pantry, SheetRequest(make="2330 mL", keep_to="long", container="30 mL bottle"))


def vet() -> Sheet:
    recipe = "1 quart whole-milk + 2 tsp table-sugar"
    read = sample_flock()
    word = Permission(recipe, "Dr A. Sorrel", DAY, "for all of them")
    flock = replace(read.flock, mix=recipe, change=None, permissions=(word,))
    return made(replace(read, flock=flock))


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("case", [made, twelve, lambda: made(sample_flock()), vet])
def test_nothing_runs_over_its_label(case, paper: Paper, tmp_path: Path):
    found = case()
    counts = [label_page(milk, DAY, paper)[1] for milk in found.milks]
    assert save_labels(found, DAY, paper, tmp_path / "label.pdf") == sum(counts)
    sheet = read_back(tmp_path / "label.pdf")
    assert len(sheet.sizes) == len(counts)
    assert min(sheet.letters) >= SMALLEST - 0.01
    for piece in sheet.pieces:
        across, down = next(grid for grid in GRIDS if grid[0] * grid[1] == counts[piece.page])
        wide, high = (paper.width - 2 * MARGIN) / across, (paper.height - 2 * MARGIN) / down
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
        "In this 1 quart jar: 3 1/2 cups + 1 tbsp whole milk",
        "Mixed on: Sat 14 Nov 2026",
        "Use by: Sun 15 Nov 2026",
        "SHAKE WELL",
        "Covered and chilled: 24 hours",
        "Once a feed has begun: 1 hour",
        "Not for a newborn's first day",
    ):
        assert text.count(words) == count == 4, words


def test_a_goat_kid_is_no_child(tmp_path: Path):
    save_labels(made(reference="kid-replacer"), DAY, Paper.A4, tmp_path / "label.pdf")
    text = read_back(tmp_path / "label.pdf").text
    assert "FOR THE GOAT KID NOT FOR PEOPLE" in text
    assert "THE KID" not in text


def test_every_food_of_a_long_recipe_is_on_it(tmp_path: Path):
    found = twelve()
    save_labels(found, DAY, Paper.LETTER, tmp_path / "label.pdf")
    text = read_back(tmp_path / "label.pdf").text
    assert "From a batch of" in text
    for step in found.milks[0].day.plan.steps:
        assert step.food is not None
        assert step.food.replace("-", "") in text.replace(" ", "").replace("-", "")


def test_the_jugs_own_milk_is_in_it(tmp_path: Path):
    found = made(keep_to="cream-and-powder", container="1 gallon jug of whole-milk")
    save_labels(found, DAY, Paper.LETTER, tmp_path / "label.pdf")
    assert "In this 1 gallon jug: whole milk, " in read_back(tmp_path / "label.pdf").text


def test_each_milk_has_its_own_labels(tmp_path: Path):
    count = save_labels(made(sample_flock()), DAY, Paper.A4, tmp_path / "label.pdf", 4)
    text = read_back(tmp_path / "label.pdf").text
    assert count == 8
    assert text.count("FOR THE LAMB NOT FOR PEOPLE For Pip, Wren and Dot.") == 4
    assert text.count("FOR THE GOAT KID NOT FOR PEOPLE For Bramble.") == 4


def test_the_verdict_and_the_veterinarians_word_are_on_it(tmp_path: Path):
    save_labels(vet(), DAY, Paper.A4, tmp_path / "label.pdf", 4)
    text = read_back(tmp_path / "label.pdf").text
    assert "Do not feed this unless your veterinarian says so." in text
    assert "Dr A. Sorrel allowed it on Sat 14 Nov 2026." in text


def test_as_many_as_are_asked_for(tmp_path: Path):
    for count in (6, 4, 2, 1):
        assert save_labels(made(), DAY, Paper.A4, tmp_path / "label.pdf", count) == count
        text = read_back(tmp_path / "label.pdf").text
        assert text.count("NOT FOR PEOPLE") == count


def test_fewer_labels_have_larger_letters():
    few, many = (label_page(made().milks[0], DAY, Paper.A4, n)[0].scale for n in (2, 6))
    assert few > many


@pytest.mark.parametrize(("count", "words"), [(5, "1, 2, 4, 6 or 8"), (0, "evenly")])
def test_so_many_do_not_part_a_sheet(count: int, words: str):
    with pytest.raises(InputError, match=words):
        label_page(made().milks[0], DAY, Paper.A4, count)


def test_so_many_do_not_fit():
    with pytest.raises(InputError, match="Ask for fewer"):
        label_page(twelve().milks[0], DAY, Paper.A4, 8)


def test_the_same_label_is_the_same_file(tmp_path: Path):
    for kind in ("pdf", "png"):
        files = []
        for name in ("a", "b"):
            path = tmp_path / f"{name}.{kind}"
            save_labels(made(), DAY, Paper.A4, path)
            files.append(path.read_bytes())
        assert files[0] == files[1]


def test_other_endings_are_refused(tmp_path: Path):
    with pytest.raises(InputError, match=r"Write label\.pdf or label\.png"):
        save_labels(made(), DAY, Paper.A4, tmp_path / "label.doc")
    assert list(tmp_path.iterdir()) == []
