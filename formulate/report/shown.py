"""Answers as JSON, as tables and as HTML, for `formulate.base.shown` to call."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from formulate.answers.check import CheckAnswer
from formulate.answers.compare import CompareAnswer
from formulate.answers.mix_answer import MixAnswer
from formulate.answers.prices import PricesAnswer
from formulate.answers.protection import ProtectionAnswer
from formulate.answers.record import Recorded
from formulate.answers.rehydrate import Rehydration
from formulate.answers.season import SeasonAnswer
from formulate.answers.sheet import Sheet
from formulate.answers.shop import ShopAnswer
from formulate.answers.today import Today
from formulate.base.errors import UnknownName
from formulate.base.messages import say
from formulate.blend.mix import Mix
from formulate.foods.bands import BandSet
from formulate.foods.food import Composition
from formulate.foods.food_table import FoodTable
from formulate.pantry.pantry import Pantry
from formulate.report import notebook
from formulate.report.checked import check_shape
from formulate.report.compared import compare_shape
from formulate.report.mix import mix_shape as mix_answer_shape
from formulate.report.priced import prices_shape
from formulate.report.printed.sheet_shape import sheet_shape
from formulate.report.protection import protection_shape
from formulate.report.ranges import set_shape
from formulate.report.rearing_shapes import feed_shape, recorded_shape, today_shape
from formulate.report.rehydrate import rehydrate_shape
from formulate.report.shapes import (
    Shape,
    composition_shape,
    dump,
    food_table_shape,
    mix_shape,
    pantry_items_shape,
)
from formulate.report.shopping_shapes import season_shape, shopping_shape

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["frame_of", "html_of", "json_of", "shape_of"]

Rows = list[Shape]


def _no_more(_thing: Any, _shape: Shape) -> dict[str, Rows]:
    return {}


@dataclass(frozen=True, slots=True)
class Rendering:
    """How a kind of object is rendered.

    Parameters
    ----------
    shape : callable
        Gives its JSON.
    rows : tuple of str
        Lists that answer the question, the first that there is.
    more : callable
        Gives tables that are no list of the JSON, of the object and its JSON.
    html : callable or None
        What a notebook shows.
    """

    shape: Callable[[Any], Shape]
    rows: tuple[str, ...]
    more: Callable[[Any, Shape], dict[str, Rows]] = _no_more
    html: Callable[[Any], str] | None = None


def _feeds(today: Today, shape: Shape) -> dict[str, Rows]:
    """Every feed of the day, and every day of the plan."""
    plans = feed_shape(today)["animals"]
    return {
        "feeds": [
            {"animal": animal["name"], **feed}
            for animal in shape["animals"]
            for feed in animal["feeds"]
        ],
        "days": [{"animal": animal["name"], **day} for animal in plans for day in animal["days"]],
    }


def _purchases(_: ShopAnswer, shape: Shape) -> dict[str, Rows]:
    """Everything that is bought."""
    return {
        "purchases": [
            {"day": trip["day"], **bought}
            for trip in shape.get("trips", ())
            for bought in trip["purchases"]
        ]
    }


def _mix_shape(mix: Mix) -> Shape:
    return mix_shape(mix, kitchen="") | {"kitchen": None}  # nobody said whose cups


RENDERINGS: Mapping[type, Rendering] = {
    MixAnswer: Rendering(
        mix_answer_shape, ("amounts", "nearest.amounts", "conflict"), html=notebook.mix_html
    ),
    CheckAnswer: Rendering(check_shape, ("reads", "verdict_why"), html=notebook.check_html),
    CompareAnswer: Rendering(compare_shape, ("recipes",), html=notebook.compare_html),
    PricesAnswer: Rendering(prices_shape, ("steps", "recipes"), html=notebook.prices_html),
    ProtectionAnswer: Rendering(protection_shape, ("protection",), html=notebook.protection_html),
    Today: Rendering(today_shape, ("feeds",), _feeds, notebook.today_html),
    Recorded: Rendering(recorded_shape, ("entries",), html=notebook.recorded_html),
    ShopAnswer: Rendering(shopping_shape, ("purchases",), _purchases, notebook.shop_html),
    SeasonAnswer: Rendering(season_shape, ("compared",), html=notebook.season_html),
    Rehydration: Rendering(
        rehydrate_shape, ("drink.measures", "animals"), html=notebook.rehydrate_html
    ),
    Sheet: Rendering(lambda sheet: sheet_shape(sheet, None), ("milks",)),
    Mix: Rendering(_mix_shape, ("amounts",), html=notebook.plain_mix_html),
    BandSet: Rendering(set_shape, ("bands",)),
    Composition: Rendering(composition_shape, ("foods",)),
    FoodTable: Rendering(food_table_shape, ("foods",)),
    Pantry: Rendering(pantry_items_shape, ("items",)),
}


def shape_of(thing: Any) -> Shape:
    """The JSON of an object, as plain values."""
    return RENDERINGS[type(thing)].shape(thing)


def json_of(thing: Any) -> str:
    """The JSON of an object, as text; see `formulate.base.shown.Renderable.to_json`."""
    return dump(shape_of(thing))


def frame_of(thing: Any, rows: str | None) -> pd.DataFrame:
    """One list of an object as a table; see `formulate.base.shown.Renderable.to_frame`."""
    import pandas as pd

    rendering = RENDERINGS[type(thing)]
    shape = rendering.shape(thing)
    tables = {**rendering.more(thing, shape), **dict(_lists(shape))}
    if rows is None:
        rows = next((name for name in rendering.rows if name in tables), rendering.rows[0])
    if not isinstance(rows, str) or rows not in tables:
        hint = say("library.rows", names=", ".join(tables))
        raise UnknownName(say("library.rows-kind"), str(rows), tables, hint)
    told = tables[rows]
    objects = {key for row in told for key, value in row.items() if isinstance(value, Mapping)}
    return pd.DataFrame([_flat(row, objects) for row in told])


def _lists(shape: Shape, place: str = "") -> Iterator[tuple[str, Rows]]:
    """Every list of objects in a shape, by the keys that lead to it: "nearest.reads"."""
    for key, value in shape.items():
        if isinstance(value, Mapping):
            yield from _lists(dict(value), f"{place}{key}.")
        elif isinstance(value, list) and all(isinstance(row, Mapping) for row in value):
            yield f"{place}{key}", value


def _flat(row: Mapping[str, Any], objects: Set[str] = frozenset()) -> Shape:
    """A row without entries that are lists; an object in it becomes columns of its own.

    Parameters
    ----------
    row : mapping
    objects : set of str
        Keys that hold an object in some row; where another has none, nothing stands for it.
    """
    flat: Shape = {}
    for key, value in row.items():
        if isinstance(value, Mapping):
            flat |= {f"{key}.{inner}": one for inner, one in _flat(value).items()}
        elif not isinstance(value, list | tuple) and not (value is None and key in objects):
            flat[key] = value
    return flat


def html_of(thing: Any) -> str | None:
    """What a notebook shows; None if it shows the `repr`."""
    html = RENDERINGS[type(thing)].html
    return None if html is None else html(thing)
