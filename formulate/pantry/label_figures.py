"""The one list of the figures on a label, in order, and of the names defined in law."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.base.messages import say
from formulate.foods.tables import standards

__all__ = ["LABEL_FIGURES", "NEEDED", "LabelFigure", "names_in_law"]


@dataclass(frozen=True, slots=True)
class LabelFigure:
    """A figure of a panel.

    Parameters
    ----------
    name : str
    unit : str
        The unit it is printed in.
    asked : bool
        Whether to ask for it; else it is rarely on milk, or says the same as another.
    """

    name: str
    unit: str
    asked: bool = True

    @property
    def words(self) -> str:
        """What panels call it."""
        return say(f"label.figures.{self.name}")


LABEL_FIGURES = {
    figure.name: figure
    for figure in (
        LabelFigure("energy", "kcal"),
        LabelFigure("fat", "g"),
        LabelFigure("saturated-fat", "g"),
        LabelFigure("sodium", "mg"),
        LabelFigure("salt", "g", asked=False),
        LabelFigure("carbohydrate", "g"),
        LabelFigure("fibre", "g", asked=False),
        LabelFigure("sugars", "g"),
        LabelFigure("added-sugars", "g", asked=False),
        LabelFigure("protein", "g"),
        LabelFigure("calcium", "mg"),
        LabelFigure("potassium", "mg"),
    )
}
#: Without these a panel bounds nothing.
NEEDED = ("fat", "carbohydrate", "protein")


def names_in_law(law: str | None = None) -> tuple[str, ...]:
    """What a food may be sold as, by a law ("us", "eu"), or by any."""
    return tuple(dict.fromkeys(s.name for s in standards() if law in (None, s.law)))
