"""Pictures: readable, grey, within their edges, the same on every run; and files whole or not."""

from __future__ import annotations

import io
import math
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from eight_foods import eight_foods
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from formulate.base.errors import InputError
from formulate.blend.design import design
from formulate.blend.goal import Front, front
from formulate.blend.mix import Mix, NoMix, Status, finish
from formulate.blend.prices.price_map import price_map
from formulate.blend.prices.staircase import staircase
from formulate.blend.problem import Shelf
from formulate.foods.tables import band_set
from formulate.report.pictures.closeness import front_picture
from formulate.report.pictures.look import save_picture
from formulate.report.pictures.mix import cost_picture, reads_picture
from formulate.report.pictures.prices import price_map_picture, staircase_picture
from formulate.report.prices import PricedPackage

GALLON, QUART = PricedPackage("1 gallon", 3905.0), PricedPackage("1 quart", 957.0)


def cheapest() -> Mix:
    problem = eight_foods()
    found = design(problem.shelf, problem.bands, 1892.7)
    assert isinstance(found, Mix)
    return found


def too_sweet() -> Mix:
    shelf = eight_foods().shelf.take([0, 1, 5])
    found = design(shelf, band_set("ewe-milk"), 1000.0)
    assert isinstance(found, NoMix)
    assert found.nearest is not None
    return found.nearest


def draw_map() -> Figure:
    found = price_map(
        eight_foods(), "whole-milk", (0.0002, 0.004), "heavy-cream", (0.002, 0.012), (80, 80)
    )
    assert found is not None
    return price_map_picture(found, GALLON, QUART)


def draw_staircase() -> Figure:
    found = staircase(eight_foods(), "whole-milk", 0.0002, 0.004)
    assert found is not None
    return staircase_picture(found, GALLON)


def draw_front(bands: str = "ewe-milk", worst: float | None = None) -> Figure:
    problem = eight_foods(bands)
    found = front(problem.shelf, problem.bands, 1000.0, worst)
    assert isinstance(found, Front)
    return front_picture(found)


DRAWINGS: dict[str, Callable[[], Figure]] = {
    "map": draw_map,
    "staircase": draw_staircase,
    "front": draw_front,
    "reads": lambda: reads_picture(cheapest()),
    "reads-outside": lambda: reads_picture(too_sweet()),
    "cost": lambda: cost_picture(cheapest()),
}
every_drawing = pytest.mark.parametrize("name", DRAWINGS)


@cache
def drawn(name: str) -> Figure:
    figure = DRAWINGS[name]()
    figure.savefig(io.BytesIO(), format="png")  # lays it out
    return figure


def words(figure: Figure) -> list[Text]:
    """Every text that is shown."""
    return [t for t in figure.findobj(Text) if t.get_visible() and t.get_text().strip()]


def said(figure: Figure) -> str:
    return "\n".join(text.get_text() for text in words(figure)).replace("\xa0", " ")


@every_drawing
def test_only_greys(name: str, tmp_path: Path):
    path = save_picture(drawn(name), tmp_path / "p.png")
    with Image.open(path) as image:
        pixels = np.asarray(image.convert("RGB")).astype(int)
    assert (np.ptp(pixels, axis=2) == 0).all()
    assert len(np.unique(pixels)) > 10


@every_drawing
def test_letters_are_big_and_inside_the_edges(name: str):
    figure = drawn(name)
    across, up = figure.get_size_inches() * figure.dpi
    for text in words(figure):
        assert text.get_fontsize() >= 12
        box = text.get_window_extent()
        if not text.axes or text.get_text() in {t.get_text() for t in tick_labels(figure)}:
            continue
        assert box.x0 >= -1, text
        assert box.y0 >= -1, text
        assert box.x1 <= across + 1, text
        assert box.y1 <= up + 1, text


def tick_labels(figure: Figure) -> list[Text]:
    """Labels of ticks: those beyond the ends of an axis are not shown."""
    return [
        label
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for label in axis.get_ticklabels()
    ]


@pytest.mark.parametrize(
    ("name", "kind"), [*((name, "svg") for name in DRAWINGS), ("cost", "png"), ("cost", "pdf")]
)
def test_the_same_picture_is_the_same_file(name: str, kind: str, tmp_path: Path):
    first = save_picture(DRAWINGS[name](), tmp_path / f"one.{kind}").read_bytes()
    with mpl.rc_context({"font.size": 40, "axes.facecolor": "red", "svg.hashsalt": "x"}):
        second = save_picture(DRAWINGS[name](), tmp_path / f"two.{kind}").read_bytes()
    assert first == second
    assert first.startswith({"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}[kind])


def test_shared_settings_are_left_alone(tmp_path: Path):
    before = dict(mpl.rcParams)
    save_picture(draw_map(), tmp_path / "p.svg")
    assert dict(mpl.rcParams) == before


def test_no_shared_plotting_state_is_loaded():
    code = (
        "import sys; import formulate.report.pictures.mix as p; "
        "assert 'matplotlib' not in sys.modules; assert 'scipy' not in sys.modules; "
        "from formulate.report.pictures.look import look, new_figure\n"
        "with look(): new_figure(3, 3)\n"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize("name", ["p.jpg", "p", "p.svg.txt", "p.PNGX"])
def test_other_endings_are_refused(name: str, tmp_path: Path):
    with pytest.raises(InputError, match=r"\.svg, \w+\.png or \w+\.pdf"):
        save_picture(drawn("cost"), tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_an_ending_in_capitals_will_do(tmp_path: Path):
    assert save_picture(drawn("cost"), tmp_path / "P.SVG").exists()


def test_a_folder_that_is_not_there(tmp_path: Path):
    with pytest.raises(InputError, match="cannot be written"):
        save_picture(drawn("cost"), tmp_path / "nowhere" / "p.svg")


def test_the_map_names_recipes_prices_and_today():
    text = said(drawn("map"))
    for piece in (
        "Price of whole milk [USD per gallon]",
        "Price of heavy cream [USD per quart]",
        "today",
        "Amounts are for one litre of milk.",
        "A\n",
        "986 g whole milk",
    ):
        assert piece in text


def test_the_map_writes_every_recipe_once_and_whole():
    axes, below = drawn("map").axes[:2]
    named = [text.get_text() for text in axes.texts if text.get_text() != "today"]
    on_map = [text for text in named if len(text) > 1]
    in_key = [line for line in below.texts[0].get_text().splitlines() if re.match("[A-Z]:", line)]
    assert len(named) >= 5
    assert on_map
    assert sorted(text[0] for text in (*on_map, *in_key)) == sorted(text[0] for text in named)
    for recipe in (*on_map, *in_key):  # a litre of milk weighs about a kilogram
        assert 950 < sum(float(grams) for grams in re.findall(r"([\d.]+)\sg ", recipe)) < 1100


def test_the_map_draws_neighbours_apart():
    axes = drawn("map").axes[0]
    looks = {(tuple(c.get_facecolor()[0]), c.hatches[0]) for c in axes.collections if c.filled}
    assert len(looks) == sum(c.filled for c in axes.collections) >= 5


def test_a_map_of_one_recipe_and_today_elsewhere():
    problem = eight_foods()
    found = price_map(problem, "whole-milk", (0.0002, 0.0003), "water", (0.005, 0.006), (9, 9))
    assert found is not None
    assert len(found.sweep.recipes) == 1
    text = said(price_map_picture(found))
    assert "today" not in text
    assert "per kg" in text


def test_a_map_of_many_recipes_draws_the_rare_ones_as_one():
    problem = eight_foods()
    found = price_map(
        problem, "nonfat-dry-milk", (0.0005, 0.03), "unsalted-butter", (0.0005, 0.03), (90, 90)
    )
    assert found is not None
    assert len(found.sweep.recipes) > 8
    assert "other recipes" in said(price_map_picture(found))


def test_the_staircase_says_amounts_and_when_it_is_gone():
    text = said(drawn("staircase"))
    for piece in ("986 g", "no whole milk", "today 4.30", "[USD per gallon]", "Cost of a litre"):
        assert piece in text


def test_a_staircase_of_one_step():
    found = staircase(eight_foods(), "whole-milk", 0.0002, 0.0003)
    assert found is not None
    assert len(found.steps) == 1
    assert "986 g" in said(staircase_picture(found))


def test_the_front_says_what_the_next_cents_buy():
    text = said(drawn("front"))
    assert "What another 0.10 USD a litre buys" in text
    shares = [int(share) for share in re.findall(r"(\d+) % closer", text)]
    assert len(shares) >= 5
    assert sum(shares) < 100
    assert "deviation" not in text
    assert "Ewe's milk" in text
    assert "greek yogurt" in text


def test_a_front_of_one_point():
    assert "Cost of a litre" in said(draw_front(worst=0.0))


def test_a_sampled_front():
    assert "% closer" in said(draw_front("lamb-replacer"))


def test_reads_are_marked_against_their_own_range():
    text = said(drawn("reads-outside"))
    assert "too low by" in text
    assert "too high by" in text
    assert "in range" in text
    inside = drawn("reads").axes[0]
    marks = [line for line in inside.lines if line.get_marker() == "D"]
    mix = cheapest()
    expected = []
    for read in mix.reads:
        band = read.band
        if band.role != "shown" and read.value is not None:
            low = 0.0 if math.isinf(band.low) else 1.0
            bottom = 0.0 if math.isinf(band.low) else band.low
            expected.append(low + (2 - low) * (read.value - bottom) / (band.high - bottom))
    assert [float(m.get_xdata()[0]) for m in marks] == pytest.approx(expected)


def test_a_read_that_is_not_known_has_no_mark():
    problem = eight_foods()
    milk = problem.shelf.foods[0]
    values = {k: v for k, v in milk.values.items() if k != "protein"}
    shelf = Shelf((replace(milk, values=values),), price=np.array([0.001]))
    mix = finish(replace(problem, shelf=shelf), np.array([900.0]), Status.CHECKED)
    figure = reads_picture(mix)
    known = sum(r.value is not None for r in mix.reads if r.band.role != "shown")
    assert known < sum(r.band.role != "shown" for r in mix.reads)
    assert len(figure.axes[0].lines) == known
    assert "not known" in said(figure)


def test_cost_by_food_adds_up():
    mix = cheapest()
    figure = drawn("cost")
    bars = figure.axes[0].patches
    assert sum(bar.get_width() for bar in bars) == pytest.approx(mix.cost)
    widths = [bar.get_width() for bar in bars]
    assert widths == sorted(widths, reverse=True)
    assert "1.89 L of milk for 3.03 USD" in said(figure)


def test_cost_of_what_has_no_price():
    problem = eight_foods()
    shelf = problem.shelf.with_price(np.full(8, np.nan))
    mix = finish(replace(problem, shelf=shelf), np.full(8, 100.0), Status.CHECKED)
    with pytest.raises(InputError, match="whole-milk"):
        cost_picture(mix)


def test_a_dollar_sign_is_a_dollar_sign():
    figure = cost_picture(cheapest(), title="$3.03 and not $3.04")
    figure.savefig(io.BytesIO(), format="svg")
    assert "$3.03 and not $3.04" in said(figure)
