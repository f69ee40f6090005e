"""The picture of growth: one scale for all animals, each line named, no word over another."""

from __future__ import annotations

import io
import re
from itertools import combinations

import pytest

import formulate
from formulate.report.pictures.growth import draw_growth


@pytest.fixture(scope="module")
def panels():
    figure = draw_growth(formulate.today(formulate.sample_flock()))
    figure.savefig(io.BytesIO(), format="png")  # lays it out
    return [axes for axes in figure.axes if axes.axison]


def test_all_animals_share_one_scale(panels):
    assert len(panels) == 4
    assert len({(axes.get_xlim(), axes.get_ylim()) for axes in panels}) == 1
    for axes in panels:
        drawn = [y for line in axes.lines if len(line.get_ydata()) > 2 for y in line.get_ydata()]
        assert max(drawn) < axes.get_ylim()[1]
        assert axes.get_ylim()[0] == 0


def test_each_line_says_what_it_is(panels):
    for axes in panels:
        told = [text.get_text() for text in axes.texts]
        assert told.count("expected") == 1
        assert sum(text.endswith(" g a day") for text in told) == 2
        assert any(re.fullmatch(r"\d+\.\d kg to wean", text) for text in told)
        assert any(re.fullmatch(r"wean \d+ \w{3}", text) for text in told)


def test_no_word_stands_on_another_or_outside_its_panel(panels):
    for axes in panels:
        boxes = [text.get_window_extent() for text in axes.texts]
        assert not [1 for one, other in combinations(boxes, 2) if one.overlaps(other)]
        frame = axes.get_window_extent()
        assert all(frame.x0 <= box.x0 and box.x1 <= frame.x1 for box in boxes)
