"""Home-mixed milk for orphan lambs and kids: designed, checked and costed.

Ask a question
--------------
mix         Find the milk to mix: the cheapest inside its ranges, in kitchen measures.
check       Say whether a recipe is right and safe, and what is in it.
compare     Rank recipes: the best verdict first, then the cheapest.
prices      Find which recipe is cheapest where, as the prices of some foods move.
today       Say what to feed now, to whom, and what to watch for.
record      Write down what happened to an animal, or ask first where it looks wrong.
shop        Plan the cheapest shopping, in whole packages, to the end of weaning.
season      Work out the cost of rearing, from birth to weaning.
rehydrate   Say what to look at when an animal scours, and which drink, how much and when.
many        Design for hundreds of pantries, references and price lists: one row each.

Read an answer's verdict first: ``never``, ``vet``, ``unknown``, ``outside`` or ``inside``. Every
answer has ``to_json()``, the JSON of the command's ``--json``, and ``to_frame()``, a pandas
DataFrame. A mix and a check give one read by its measure: ``answer["fat"]``.

Give them what you have
-----------------------
A pantry is a ``Pantry``, the path of a pantry file, or names of foods with prices or without;
a flock is what ``load_flock`` gives, or the path of a flock file; a recipe is text.

load_pantry, sample_pantry      a pantry from its file; the built-in, invented one
load_flock, sample_flock        a flock and its log from its file; the built-in, invented one
save                            write an answer to a file: .png, .svg, .pdf, .ics, .csv, .lp, .mps
band_set, band_sets             a reference by its name; all of them
food_table, sources             the built-in foods; where every number comes from

Types
-----
Pantry, Flock, FlockRead, Food, Recipe, BandSet, Read, Standing, Kitchen, Mix, Verdict,
Judgement; and the answers: MixAnswer, CheckAnswer, CompareAnswer, PricesAnswer, Today, Recorded,
ShopAnswer, SeasonAnswer, Rehydration.

Errors
------
FormulateError
    InputError (ValueError)         something that was given cannot be used
        UnknownName                 no such food, measure or reference; suggests near names
        AmbiguousName               several things go by that name
        WrongType (TypeError)       an argument of another type
        UnitError                   an amount that cannot be turned into another unit
        MissingComposition          a demand needs a value that a food does not have
        ManyFaults                  every fault of a file at once
    SolverFault (RuntimeError)      no answer that can be trusted

Attributes are imported on first access: ``import formulate`` loads no solver and no pandas.
``help(formulate.mix)`` explains one question.

Examples
--------
>>> import formulate
>>> milk = formulate.mix(formulate.sample_pantry())
>>> milk.verdict
<Verdict.INSIDE: 'inside'>
>>> milk.to_frame("reads").query("role == 'demanded'")["verdict"].unique().tolist()
['inside']
"""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

from formulate.base.shown import Renderer, rendered_by

if TYPE_CHECKING:
    from formulate.answers.check import CheckAnswer as CheckAnswer
    from formulate.answers.compare import CompareAnswer as CompareAnswer
    from formulate.answers.mix_answer import MixAnswer as MixAnswer
    from formulate.answers.prices import PricesAnswer as PricesAnswer
    from formulate.answers.record import Recorded as Recorded
    from formulate.answers.rehydrate import Rehydration as Rehydration
    from formulate.answers.season import SeasonAnswer as SeasonAnswer
    from formulate.answers.shop import ShopAnswer as ShopAnswer
    from formulate.answers.today import Today as Today
    from formulate.answers.verdict import Judgement as Judgement
    from formulate.answers.verdict import Verdict as Verdict
    from formulate.base.errors import AmbiguousName as AmbiguousName
    from formulate.base.errors import FormulateError as FormulateError
    from formulate.base.errors import InputError as InputError
    from formulate.base.errors import ManyFaults as ManyFaults
    from formulate.base.errors import MissingComposition as MissingComposition
    from formulate.base.errors import SolverFault as SolverFault
    from formulate.base.errors import UnitError as UnitError
    from formulate.base.errors import UnknownName as UnknownName
    from formulate.base.errors import WrongType as WrongType
    from formulate.base.units import Kitchen as Kitchen
    from formulate.blend.mix import Mix as Mix
    from formulate.foods.bands import BandSet as BandSet
    from formulate.foods.bands import Read as Read
    from formulate.foods.bands import Standing as Standing
    from formulate.foods.food import Food as Food
    from formulate.foods.tables import band_set as band_set
    from formulate.foods.tables import band_sets as band_sets
    from formulate.foods.tables import food_table as food_table
    from formulate.foods.tables import sources as sources
    from formulate.library.about_animals import record as record
    from formulate.library.about_animals import rehydrate as rehydrate
    from formulate.library.about_animals import season as season
    from formulate.library.about_animals import shop as shop
    from formulate.library.about_animals import today as today
    from formulate.library.about_milk import check as check
    from formulate.library.about_milk import compare as compare
    from formulate.library.about_milk import mix as mix
    from formulate.library.about_milk import prices as prices
    from formulate.library.saving import save as save
    from formulate.pantry.pantry import Pantry as Pantry
    from formulate.pantry.pantry import load_pantry as load_pantry
    from formulate.pantry.pantry import sample_pantry as sample_pantry
    from formulate.pantry.recipe import Recipe as Recipe
    from formulate.rearing.flock import Flock as Flock
    from formulate.rearing.flock_file import FlockRead as FlockRead
    from formulate.rearing.flock_file import load_flock as load_flock
    from formulate.rearing.flock_file import sample_flock as sample_flock
    from formulate.report.many import many as many

#: Where each public name is made. The imports above, which only tools that read types see, say the
#: same; a test holds the two together. There is no ``__all__``: ``help`` would print every class.
_PUBLIC = {
    "formulate.answers.check": ("CheckAnswer",),
    "formulate.answers.compare": ("CompareAnswer",),
    "formulate.answers.mix_answer": ("MixAnswer",),
    "formulate.answers.prices": ("PricesAnswer",),
    "formulate.answers.record": ("Recorded",),
    "formulate.answers.rehydrate": ("Rehydration",),
    "formulate.answers.season": ("SeasonAnswer",),
    "formulate.answers.shop": ("ShopAnswer",),
    "formulate.answers.today": ("Today",),
    "formulate.answers.verdict": ("Judgement", "Verdict"),
    "formulate.base.errors": (
        "AmbiguousName",
        "FormulateError",
        "InputError",
        "ManyFaults",
        "MissingComposition",
        "SolverFault",
        "UnitError",
        "UnknownName",
        "WrongType",
    ),
    "formulate.base.units": ("Kitchen",),
    "formulate.blend.mix": ("Mix",),
    "formulate.foods.bands": ("BandSet", "Read", "Standing"),
    "formulate.foods.food": ("Food",),
    "formulate.foods.tables": ("band_set", "band_sets", "food_table", "sources"),
    "formulate.library.about_animals": ("record", "rehydrate", "season", "shop", "today"),
    "formulate.library.about_milk": ("check", "compare", "mix", "prices"),
    "formulate.library.saving": ("save",),
    "formulate.pantry.pantry": ("Pantry", "load_pantry", "sample_pantry"),
    "formulate.pantry.recipe": ("Recipe",),
    "formulate.rearing.flock": ("Flock",),
    "formulate.rearing.flock_file": ("FlockRead", "load_flock", "sample_flock"),
    "formulate.report.many": ("many",),
}
_HOME = {name: module for module, names in _PUBLIC.items() for name in names}


def _report() -> Renderer:
    from formulate.report import shown

    return shown


rendered_by(_report)


def __getattr__(name: str) -> Any:
    if name == "__version__":
        from formulate.base.version import VERSION

        return VERSION
    if name not in _HOME:
        problem = f"module 'formulate' has no attribute {name!r}"
        # Python adds the nearest name of `dir`.
        raise AttributeError(problem, name=name, obj=sys.modules[__name__])
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted(_HOME)
