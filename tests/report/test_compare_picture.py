"""Costs side by side: every recipe, three ways, what misses its range hatched."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from formulate.answers.compare import Compared, Per, compare
from formulate.base.errors import InputError
from formulate.foods.tables import band_set
from formulate.pantry.pantry import sample_pantry
from formulate.report.pictures.compare import compare_picture


def rows(per: Per = Per.LITRE) -> tuple[Compared, ...]:
    pantry = sample_pantry()
    return compare(pantry.recipes.values(), pantry, band_set("lamb-replacer"), per).rows


def said(figure: Figure) -> str:
    figure.savefig(io.BytesIO(), format="png")
    return "\n".join(t.get_text() for t in figure.findobj(Text) if t.get_visible())


@pytest.mark.parametrize("per", Per)
def test_bars_are_the_costs_ranked_by_what_is_asked(per: Per):
    found = rows(per)
    axes = compare_picture(found, per).axes
    widths = [bar.get_width() for bar in axes[0].patches]
    assert widths == pytest.approx([row.cost_per(per) for row in found])
    # The cheapest first among those of one verdict, the better verdict before all.
    order = [(-row.judgement.verdict.rank, width) for row, width in zip(found, widths, strict=True)]
    assert order == sorted(order)
    assert len(axes) == len(Per)


def test_what_misses_its_range_is_hatched_and_named():
    found = rows()
    figure = compare_picture(found, Per.LITRE)
    for bar, row in zip(figure.axes[0].patches, found, strict=True):
        assert bool(bar.get_hatch()) == bool(row.mix.misses)
    text = said(figure)
    assert "Hatched: it misses a range" in text
    assert "solids low" in text.replace("\n", " ")
    assert "USD a litre" in text


def test_nothing_missed_nothing_explained():
    good = tuple(row for row in rows() if not row.mix.misses)
    assert good
    assert "Hatched" not in said(compare_picture(good, Per.LITRE))


def test_invented_prices_say_so():
    assert "invented" in said(compare_picture(rows(), Per.LITRE, invented=True))
    assert "invented" not in said(compare_picture(rows(), Per.LITRE))


def test_letters_stay_inside():
    long = tuple(
        replace(row, recipe=replace(row.recipe, name="12 fl oz of this and of that + " * 9))
        for row in rows()
    )
    figure = compare_picture(long, Per.LITRE)
    figure.savefig(io.BytesIO(), format="png")
    across, up = figure.get_size_inches() * figure.dpi
    names = [t for t in figure.axes[0].get_yticklabels() if t.get_text()]
    assert len(names) == len(long)
    for text in names:
        box = text.get_window_extent()
        assert box.x0 >= -1
        assert box.y0 >= -1
        assert box.y1 <= up + 1
        assert box.x1 <= across


def test_more_than_twelve():
    many = rows() * 4
    assert f"first 12 of {len(many)}" in said(compare_picture(many, Per.LITRE))


def test_nothing_to_compare():
    with pytest.raises(InputError, match="nothing"):
        compare_picture((), Per.LITRE)
