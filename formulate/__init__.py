"""Home-mixed milk for orphan lambs and kids: designed, checked and costed.

Names are imported lazily, on first access: ``import formulate`` loads no solver, no table and no
plotting library.

Examples
--------
>>> import formulate
>>> pantry = formulate.sample_pantry()
>>> lamb = formulate.band_set("lamb-replacer")
>>> mix = formulate.design(pantry.shelf(), lamb, volume=2000.0)
>>> mix.status
<Status.OPTIMAL: 'optimal'>
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_PUBLIC = {
    "formulate.foods.bands": (
        "Band",
        "BandSet",
        "Basis",
        "Read",
        "Role",
        "Standing",
        "read",
        "read_all",
    ),
    "formulate.blend.design": ("design",),
    "formulate.blend.mix": ("Mix", "NoMix", "Status", "nearest"),
    "formulate.blend.mixed_integer": ("IntegerOptimal", "solve_integer"),
    "formulate.blend.problem": ("Limit", "LimitKind", "Problem", "Shelf", "build"),
    "formulate.blend.solve": (
        "Certificate",
        "Infeasible",
        "LinearProgram",
        "Optimal",
        "Unbounded",
        "solve",
    ),
    "formulate.answers.cautions": ("Caution", "cautions_for"),
    "formulate.pantry.reading": ("check",),
    "formulate.answers.compare": ("Compared", "Per", "compare"),
    "formulate.base.errors": (
        "AmbiguousName",
        "FormulateError",
        "InputError",
        "ManyFaults",
        "MissingComposition",
        "SolverFault",
        "UnitError",
        "UnknownName",
    ),
    "formulate.foods.country": ("Country", "countries", "country_named"),
    "formulate.foods.food": ("Composition", "Food", "Household", "Value"),
    "formulate.foods.food_table": ("FoodTable",),
    "formulate.foods.measures": ("MEASURES", "Measure", "measure"),
    "formulate.pantry.item": ("Item",),
    "formulate.pantry.pantry": ("Pantry", "load_pantry", "parse_pantry", "sample_pantry"),
    "formulate.pantry.recipe": ("Recipe", "parse_recipe"),
    "formulate.report.many": ("many",),
    "formulate.report.frames": (
        "amounts_frame",
        "bands_frame",
        "compare_frame",
        "composition_frame",
        "foods_frame",
        "reads_frame",
        "values_frame",
    ),
    "formulate.foods.tables": (
        "Source",
        "band_set",
        "band_sets",
        "food_table",
        "sources",
        "table_composition",
    ),
    "formulate.base.units": ("Amount", "Kitchen", "parse_amount", "parse_volume"),
}
_HOME = {name: module for module, names in _PUBLIC.items() for name in names}

__all__ = sorted(_HOME)  # noqa: PLE0605


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'formulate' has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return list(__all__)
