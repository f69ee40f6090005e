"""The published figures of rearing, each with its source, read once from the shipped tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from formulate.foods.tables import Source, read_toml, sources
from formulate.rearing.flock import Species

__all__ = ["CALORIE", "Figure", "figure", "figures", "value"]

#: Thermochemical kilocalorie [MJ].
CALORIE = 4.184e-3


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of ``nutrient_tables/rearing.toml``.

    Parameters
    ----------
    name : str
    value : float
        In `unit`.
    unit : str
    source : str
        Key of the source list.
    note : str
        What it is of, and what other sources say.
    """

    name: str
    value: float
    unit: str
    source: str
    note: str = ""

    @property
    def document(self) -> Source:
        """The document behind it."""
        return sources()[self.source]

    @property
    def published(self) -> bool:
        """Whether a document was seen; otherwise it is recalled, judged or common practice."""
        return self.document.status == "seen"


@cache
def figures() -> Mapping[str, Figure]:
    """Every figure by its name."""
    return {
        name: Figure(
            name, float(entry["value"]), entry["unit"], entry["source"], entry.get("note", "")
        )
        for name, entry in read_toml("rearing.toml").items()
    }


def figure(name: str, species: Species | None = None) -> Figure:
    """Look a figure up; with a species, that species' own."""
    return figures()[name if species is None else f"{name}-{species.value}"]


@cache
def value(name: str, species: Species | None = None) -> float:
    """The number of a figure [its unit]."""
    return figure(name, species).value
