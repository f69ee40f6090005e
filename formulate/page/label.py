"""A carton's label as typed on the page, and the food that it makes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from werkzeug.datastructures import MultiDict

from formulate.base.errors import InputError, ManyFaults
from formulate.pantry.label_figures import LABEL_FIGURES
from formulate.pantry.pantry import Pantry
from formulate.report import words as say

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
        What is wrong; empty where it can be read, or was not asked for yet.
    carton : Carton or None
        As read.
    food_id : str
    block : str
        The food's table for the pantry file.
    """

    name: str = ""
    sold_as: str = ""
    serving: str = ""
    figures: Mapping[str, str] = field(default_factory=dict)
    fault: str = ""
    carton: Carton | None = None
    food_id: str = ""
    block: str = ""

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
        from formulate.foods.tables import standards

        return tuple(dict.fromkeys(standard.name for standard in standards()))

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """What is in 100 g of it: name, and amount with how sure it is."""
        if self.carton is None:
            return ()
        from formulate.foods.measures import MEASURES
        from formulate.report.carton import carton_shape

        rows = []
        for name, one in carton_shape(self.carton)["measures"].items():
            ends = (
                f" ({say.number(one['low'])} to {say.number(one['high'])})"
                if one["low"] < one["high"]
                else ""
            )
            rows.append((MEASURES[name].label, f"{say.number(one['value'])} {one['unit']}{ends}"))
        return tuple(rows)

    def _read(self, pantry: Pantry) -> CartonForm:
        from dataclasses import replace

        from formulate.pantry.add_food import label_toml
        from formulate.pantry.labels import Label, read_carton

        food_id = re.sub(r"[^a-z0-9]+", "-", self.name.lower()).strip("-")
        try:
            if not food_id:
                raise InputError("it has no name yet", "Write one, as farm cream.")
            if food_id in pantry.table:
                raise InputError(
                    f'a food is called "{self.name}" already', "Give this one another name."
                )
            per = self.serving.lower().startswith("per ")
            size = {"per": self.serving[4:]} if per else {"serving": self.serving}
            given: dict[str, str | float] = {**size, **self.figures}
            if not self.serving:
                raise InputError(
                    "the serving is missing", "Copy it, as 1 cup (240 mL), or write per 100 mL."
                )
            label: Label = Label(sold_as=self.sold_as, panel=given)
            carton = read_carton(food_id, label, pantry.kitchen)
        except ManyFaults as error:
            return replace(self, fault="; ".join(str(fault) for fault in error.faults))
        except InputError as error:
            return replace(self, fault=str(error))
        block = label_toml(food_id, self.name, label)
        return replace(self, carton=carton, food_id=food_id, block=block)
