"""A carton's label as typed on the page, and the food that it describes."""

from __future__ import annotations

import re
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

#: What a label seldom has, and what only the person knows.
OWN = ("weighs", "largest_share", "ingredients", "source")
MORE = ("kind", "like", "rounding", "at_least", "at_most", "per_100_g", *OWN)


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
    more : mapping of str to str
        What else is known: kind, food that it resembles, guarantees, and so on.
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
    more: Mapping[str, str] = field(default_factory=dict)
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
            {name: form.get(f"c.{name}", "").strip() for name in MORE},
        )
        return typed._read(pantry) if read else typed

    @property
    def begun(self) -> bool:
        """Whether anything was typed."""
        return bool(self.name or self.serving or self.figures or self.fault or self.known)

    @property
    def known(self) -> dict[str, str]:
        """What else was typed."""
        return {name: text for name, text in self.more.items() if text}

    @property
    def own(self) -> dict[str, str | list[str]]:
        """Keys of the food in the file that are on no label: its measures, its largest share."""
        typed = {name: self.known[name] for name in OWN if name in self.known}
        lines: dict[str, str | list[str]] = {**typed}
        if "weighs" in typed:
            lines["weighs"] = _lines(typed["weighs"])
        return lines

    @property
    def asked(self) -> tuple[tuple[str, str, str], ...]:
        """The figures to ask for: name, words, unit."""
        return tuple((f.name, f.words, f.unit) for f in LABEL_FIGURES.values() if f.asked)

    @property
    def rare(self) -> tuple[tuple[str, str, str], ...]:
        """Figures that few labels have."""
        return tuple((f.name, f.words, f.unit) for f in LABEL_FIGURES.values() if not f.asked)

    @property
    def kinds(self) -> tuple[str, ...]:
        """What kind of food it may be."""
        from formulate.pantry.labels.typed import KINDS

        return tuple(KINDS)

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
        from formulate.pantry.labels.typed import food_id_of, parse_guarantees, parse_size

        try:
            food_id = food_id_of(self.name)
            check_free(food_id, pantry)
            told = self.known
            guarantees = {key: parse_guarantees(_lines(told.get(key, "")), key)
                          for key in ("at_least", "at_most", "per_100_g")}  # fmt: skip
            panel: dict[str, str | float] = {}
            if self.figures or self.serving or not any(guarantees.values()):
                panel = {**parse_size(self.serving), **self.figures}
            rules = told.get("rounding") or (pantry.country.panel if pantry.stated else "us")
            panel = dict(printed_in(panel, rules)) if panel else {}
            label: Label = Label(told.get("kind", ""), self.sold_as, told.get("like", ""), panel,
                                 **guarantees)  # fmt: skip
            carton = read_carton(food_id, label, pantry.kitchen)
        except ManyFaults as error:
            return replace(self, fault="; ".join(str(fault) for fault in error.faults))
        except InputError as error:
            return replace(self, fault=str(error))
        return replace(self, carton=carton, food_id=food_id, label=label)


def _lines(text: str) -> list[str]:
    """Entries parted by lines, commas or semicolons; a decimal comma parts nothing."""
    return [part.strip() for part in re.split(r"[\n;]|,(?!\d)", text) if part.strip()]
