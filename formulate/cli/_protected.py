"""Mixes by the gram that hold although cartons differ, and what that costs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Problem, build
from formulate.blend.protect.budgeted import NotGuarded, design_worst_case
from formulate.blend.protect.chance import NotSure, design_sure, protection_curve
from formulate.blend.protect.confidence import how_sure
from formulate.foods.bands import BandSet
from formulate.foods.spread import Spread, spread_of
from formulate.foods.tables import default_spreads
from formulate.pantry.pantry import Pantry
from formulate.report import shapes, text
from formulate.report import sureness_words as sure

Answer = dict[str, Any]


def by_the_gram(mix: Mix, pantry: Pantry, *, all_cautions: bool = False) -> Answer:
    """A mix by the gram as text and JSON, with how sure each read is."""
    sureness = how_sure(mix)
    shape = shapes.mix_shape(mix, pantry.kitchen.value, pantry)
    told = text.mix_text(mix, pantry.kitchen, pantry, all_cautions=all_cautions, sureness=sureness)
    return {"yes": True, "shape": sure.with_sureness(shape, sureness), "text": told}


def _problem(pantry: Pantry, bands: BandSet, volume: float) -> tuple[Problem, Spread]:
    problem = build(pantry.shelf(), bands, volume)
    return problem, spread_of(problem.shelf.composition, default_spreads())


def sure_answer(
    pantry: Pantry, bands: BandSet, volume: float, percent: float
) -> Answer | NotSure | NoMix:
    """The cheapest mix whose every range holds with a chance."""
    problem, spread = _problem(pantry, bands, volume)
    found = design_sure(problem, spread, percent)
    if isinstance(found, NotSure | NoMix):
        return found
    done = by_the_gram(found.mix, pantry)
    done["shape"]["protection"] = sure.sure_shape(found)
    done["text"] += "\n\n" + "\n".join(sure.sure_lines(found, pantry.currency))
    return done


def not_sure_answer(found: NotSure, pantry: Pantry) -> Answer:
    """How sure a mix of this shelf can be at most, and that mix."""
    lines = sure.not_sure_lines(found)
    shape = sure.not_sure_shape(found)
    if found.surest is not None:
        done = by_the_gram(found.surest.mix, pantry)
        shape["surest"] = done["shape"]
        lines += ["", "The surest mix:", done["text"]]
    return {"yes": False, "shape": shape, "text": "\n".join(lines)}


def worst_case_answer(
    pantry: Pantry, bands: BandSet, volume: float, budget: float
) -> Answer | NoMix:
    """The cheapest mix that holds with some foods at their worst at once."""
    problem, spread = _problem(pantry, bands, volume)
    found = design_worst_case(problem, spread, budget)
    if isinstance(found, NoMix):
        return found
    if isinstance(found, NotGuarded):
        done = by_the_gram(found.surest.mix, pantry)
        shape = sure.not_guarded_shape(found) | {"surest": done["shape"]}
        lines = [*sure.not_guarded_lines(found), "", "The mix that holds with so many:"]
        return {"yes": False, "shape": shape, "text": "\n".join([*lines, done["text"]])}
    done = by_the_gram(found.mix, pantry)
    done["shape"]["protection"] = sure.guarded_shape(found)
    done["text"] += "\n\n" + "\n".join(sure.guarded_lines(found, pantry.currency))
    return done


def protection_answer(pantry: Pantry, bands: BandSet, volume: float, picture: str | None) -> Answer:
    """What being sure costs: a table, and a picture where one is asked for."""
    problem, spread = _problem(pantry, bands, volume)
    points = protection_curve(problem, spread)
    rows = sure.protection_rows(points)
    yes = any(point.mix is not None for point in points)
    status = "optimal" if yes else "infeasible"
    shape: Answer = {"status": status, "bands": bands.name, "protection": rows}
    lines = ["What being sure costs, by the gram:"]
    lines += sure.protection_table(points, pantry.currency)
    if picture:
        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.protection import protection_picture

        save_picture(protection_picture(points, pantry.currency), Path(picture))
        shape["written"] = [picture]
        lines += ["", f"Wrote {picture}"]
    return {"yes": yes, "shape": shape, "text": "\n".join(lines)}
