"""A carton's label as typed on the page, and the food that it describes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from werkzeug.datastructures import MultiDict

from formulate.base.errors import InputError, ManyFaults
from formulate.pantry.label_figures import LABEL_FIGURES, names_in_law
from formulate.pantry.pantry import Pantry

if TYPE_CHECKING:
    from formulate.pantry.labels import Carton, Label

__all__ = ["CartonForm"]


@dataclass(frozen=True)
class CartonForm:
    """What was typed of a label.

    Parameters
    ----------
    name : str
        What the person calls it.
    sold_as : str
    serving : str
    figures : mapping of str to str
    fault : str
        What is wrong; empty if it can be read, or was not asked for yet.
    carton : Carton or None
        As read.
    food_id : str
    label : Label or None
        As read.
    """

    name: str = ""
    sold_as: str = ""
    serving: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)
    fault: str = ""
    carton: Carton | None = None
    food_id: str = ""
    label: Label | None = None

    @classmethod
    def of(cls, form: MultiDict[str, str], pantry: Pantry, read: bool = False) -> CartonForm:
        """What a form says; read where that was asked for."""
        figures = {name: form.get(f"c.{name}", "").strip() for name in LABEL_FIGURES}
        typed = cls(
            " ".join(form.get("c.name", "").split())[:60],
            form.get("c.sold_as", ""),
            " ".join(form.get("c.serving", "").split()),
            {name: text for name, text in figures.items() if text},
        )
        return typed._read(pantry) if read else typed

    @property
    def begun(self) -> bool:
        """Whether anything was typed."""
        return bool(self.name or self.serving or self.figures or self.fault)

    @property
    def asked(self) -> tuple[tuple[str, str, str], ...]:
        """The figures to ask for: name, words, unit."""
        return tuple((f.name, f.words, f.unit) for f in LABEL_FIGURES.values() if f.asked)

    @property
    def names(self) -> tuple[str, ...]:
        """What it may be sold as."""
        return names_in_law()

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """What is in 100 g of it: name, and amount with how sure it is."""
        if self.carton is None:
            return ()
        from formulate.report.carton import carton_rows

        return tuple(
            (row.label, f"{row.value} {row.unit}{f' ({row.ends})' if row.ends else ''}")
            for row in carton_rows(self.carton)
        )

    def _read(self, pantry: Pantry) -> CartonForm:
        from formulate.pantry.add_food import check_free
        from formulate.pantry.labels import Label, printed_in, read_carton
        from formulate.pantry.labels.typed import food_id_of, parse_size

        try:
            food_id = food_id_of(self.name)
            check_free(food_id, pantry)
            panel: dict[str, str | float] = {**parse_size(self.serving), **self.figures}
            rules = pantry.country.panel if pantry.stated else "us"
            label: Label = Label(sold_as=self.sold_as, panel=printed_in(panel, rules))
            carton = read_carton(food_id, label, pantry.kitchen)
        except ManyFaults as error:
            return replace(self, fault="; ".join(str(fault) for fault in error.faults))
        except InputError as error:
            return replace(self, fault=str(error))
        return replace(self, carton=carton, food_id=food_id, label=label)
