"""How an object displays itself: a short ``repr``, a table, JSON, and HTML in a notebook.

Tables, JSON and HTML are made by the room that renders answers, which stands above the answers
themselves. The package hands that room over when it is imported (`rendered_by`), so that an answer
can show itself and no room imports from one above it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Renderable", "Renderer", "brief", "brief_repr", "rendered_by"]

T = TypeVar("T")

#: Letters of the longest `repr`.
LONGEST = 300
#: Letters of one part of it.
_PART = 60
#: Entries of a list that are shown.
_ENTRIES = 4


class Renderer(Protocol):
    """What makes JSON, tables and HTML of an object."""

    def json_of(self, thing: Any, /) -> str:
        """One JSON object."""

    def frame_of(self, thing: Any, rows: str | None, /) -> pd.DataFrame:
        """One of its lists as a table."""

    def html_of(self, thing: Any, /) -> str | None:
        """What a notebook shows; None if it shows the `repr`."""


_renderer: Callable[[], Renderer] | None = None


def rendered_by(load: Callable[[], Renderer]) -> None:
    """Say what renders objects; it is loaded when the first is rendered."""
    global _renderer  # noqa: PLW0603  (one for the whole package, set as it is imported)
    _renderer = load


def _loaded() -> Renderer:
    assert _renderer is not None, "the package sets it"
    return _renderer()


class Renderable:
    """Base class of everything that can be turned into JSON and a table."""

    __slots__ = ()

    def to_json(self) -> str:
        """One JSON object, the same that the command prints with ``--json``.

        Its keys are listed in DEVELOPERS.md. An open end or a missing number is null.
        """
        return _loaded().json_of(self)

    def to_frame(self, rows: str | None = None) -> pd.DataFrame:
        """One list of the JSON as a table, an entry a row.

        Parameters
        ----------
        rows : str, optional
            Key of the list, as "reads" or "amounts". By default the list that answers the
            question.

        Returns
        -------
        pandas.DataFrame
            With the units of the JSON. Entries that are lists themselves are left out.

        Raises
        ------
        UnknownName
            If there is no such list; its hint names those there are.
        """
        return _loaded().frame_of(self, rows)

    def _repr_html_(self) -> str | None:
        return _loaded().html_of(self)


def brief(thing: object, what: str, *parts: str) -> str:
    """A short `repr`: ``<Mix what: part; part>``.

    Parameters
    ----------
    thing : object
    what : str
        May be empty.
    *parts : str
        Empty ones are left out.
    """
    name = f"{type(thing).__name__} {what}".strip()
    told = "; ".join(part for part in parts if part)
    text = f"{name}: {told}" if told else name
    return f"<{text if len(text) <= LONGEST else text[: LONGEST - 1] + '…'}>"


def brief_repr(cls: type[T]) -> type[T]:
    """Give a dataclass a short `repr`: every field, but large ones by their type and size."""
    cls.__repr__ = _short  # type: ignore[method-assign]
    return cls


def _short(self: Any) -> str:
    parts = (f"{field.name}={_part(getattr(self, field.name))}" for field in _fields(self))
    text = f"{type(self).__name__}({', '.join(parts)})"
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 2]}…)"


def _fields(thing: Any) -> list[dataclasses.Field[Any]]:
    return [field for field in dataclasses.fields(thing) if field.repr]


def _part(value: Any) -> str:
    """One value, in few letters."""
    if isinstance(value, Enum):
        return repr(value.value)
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Mapping | Sequence) and not isinstance(value, str):
        return _many(value)
    if (shape := getattr(value, "shape", None)) is not None:
        return f"<array {' × '.join(map(str, shape))}>"
    if dataclasses.is_dataclass(value):
        return f"<{type(value).__name__}>"
    text = repr(value)
    return text if len(text) <= _PART else f"{text[: _PART - 2]}…{text[-1]}"


def _many(value: Mapping[Any, Any] | Sequence[Any]) -> str:
    plain = all(isinstance(entry, str | int | float) for entry in value)
    if isinstance(value, tuple) and plain and len(value) <= _ENTRIES:
        return f"({', '.join(map(_part, value))})"
    if not value:
        return "()"
    kinds = {type(entry).__name__ for entry in value}
    return f"<{len(value)} {kinds.pop()}>" if len(kinds) == 1 else f"<{len(value)} entries>"
