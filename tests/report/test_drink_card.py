"""The drink's card: read back from its PDF, whole, large enough, never taken for the milk's."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from printed import Sheet, read_back

from formulate.answers.rehydrate import Rehydration, rehydrate, seen
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock_file import sample_flock
from formulate.report.printed.drink_card import save_drink_card
from formulate.report.printed.paper import MARGIN, Paper
from formulate.report.printed.typeset import SMALLEST

KITCHEN = sample_pantry()
FINE = {"stands": "yes", "sucks": "yes", "mouth": "warm"}
CASES = {
    "flock": lambda: rehydrate(KITCHEN, read=sample_flock()),
    "one": lambda: rehydrate(KITCHEN, seen(FINE), read=sample_flock(), animal="Wren"),
    "weight": lambda: rehydrate(KITCHEN, weight="4.2 kg"),
    "nobody": lambda: rehydrate(KITCHEN),
    "scale": lambda: rehydrate(KITCHEN, by_scale=True, water="2 L"),
}


def printed(answer: Rehydration, folder: Path, paper: Paper = Paper.A4) -> Sheet:
    assert save_drink_card(answer, paper, folder / "card.pdf") == 1
    return read_back(folder / "card.pdf")


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("paper", list(Paper))
def test_everything_stands_on_one_page_inside_its_edges(name, paper, tmp_path):
    sheet = printed(CASES[name](), tmp_path, paper)
    for piece in sheet.pieces:
        assert piece.left >= MARGIN - 0.5
        assert piece.right <= paper.width - MARGIN + 0.5
        assert piece.bottom <= paper.height - MARGIN + 1
    assert min(sheet.letters) >= SMALLEST - 0.05


@pytest.mark.parametrize("name", CASES)
def test_what_it_says_and_in_which_order(name, tmp_path):
    answer = CASES[name]()
    text = printed(answer, tmp_path).text
    order = [
        "DRINK FOR SCOUR. NOT MILK.",
        "Only if your veterinarian agrees",
        "telephone",
        "Call the veterinarian now, before any drink",
        "it cannot stand",
        "Mix in this order",
        *(measure.words for measure in answer.drink.measures),
        "Never stir it into milk. Always leave clean water beside it.",
        "Pour away after 24 hours",
        "How much and when",
        "2 hours away from any drink",
        "If it is not better in 24 hours",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_it_cannot_be_taken_for_the_milk_card(tmp_path):
    text = printed(CASES["flock"](), tmp_path).text
    assert "Milk for" not in text
    assert "solids" not in text


def test_one_animal_has_its_day_on_it(tmp_path):
    text = printed(CASES["one"](), tmp_path).text
    assert "Wren's day: 06:00 milk" in text
    assert "Pip" not in text


def test_lines_to_write_on_where_nobody_is_known(tmp_path):
    assert "weighs ____" in printed(CASES["nobody"](), tmp_path).text


def test_it_is_black_and_white(tmp_path):
    save_drink_card(CASES["flock"](), Paper.A4, tmp_path / "card.png")
    with Image.open(tmp_path / "card.png") as picture:
        colours = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    assert (colours.max(axis=1) == colours.min(axis=1)).all()


def test_the_same_answer_gives_the_same_file(tmp_path):
    one, other = tmp_path / "one.pdf", tmp_path / "other.pdf"
    save_drink_card(CASES["flock"](), Paper.A4, one)
    save_drink_card(CASES["flock"](), Paper.A4, other)
    assert one.read_bytes() == other.read_bytes()
