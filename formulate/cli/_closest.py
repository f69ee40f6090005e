"""The mix nearest the middle of a reference, and what the next cents buy."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from formulate.blend.goal import OutOfReach, closest, front
from formulate.foods.bands import BandSet, Role
from formulate.pantry.pantry import Pantry
from formulate.report import shapes, text
from formulate.report import words as say
from formulate.report.prices import front_rows
from formulate.report.why import row_lines


def closest_answer(
    pantry: Pantry,
    bands: BandSet,
    volume: float,
    within_cost: float | None,
    picture: str | None,
    all_cautions: bool,
) -> dict[str, Any]:
    """Answer ``formulate mix --closest``: text, JSON, and whether there is such a mix."""
    shelf = pantry.shelf()
    found = closest(shelf, bands, volume, within_cost)
    if isinstance(found, OutOfReach):
        return _out_of_reach(found, within_cost, pantry)
    # The front starts a little cheaper than this mix, however far that is from the middle.
    worst = max(len(bands.in_role(Role.DEMANDED)) / 2, 1.5 * found.deviation)
    curve = front(shelf, bands, volume, worst)
    rows = [] if isinstance(curve, OutOfReach) else front_rows(curve)
    shape = shapes.mix_shape(found.mix, pantry.kitchen.value, pantry)
    shape |= {"deviation": found.deviation, "exact": found.exact, "front": rows}
    limit = (
        ""
        if within_cost is None
        else f" for at most {say.money(within_cost, pantry.currency)} a litre"
    )
    title = f"As close to the middle of {bands.name} as can be{limit}:"
    lines = [
        text.mix_text(found.mix, pantry.kitchen, pantry, all_cautions=all_cautions, title=title)
    ]
    lines += ["", "What the next ten cents buy (deviation 0 is the middle of every range):"]
    lines += row_lines(rows)
    if picture and not isinstance(curve, OutOfReach):
        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.prices import front_picture

        save_picture(front_picture(curve), Path(picture))
        lines += ["", f"Wrote {picture}"]
        shape["written"] = [picture]
    return {"yes": True, "shape": shape, "text": "\n".join(lines)}


def _out_of_reach(found: OutOfReach, within_cost: float | None, pantry: Pantry) -> dict[str, Any]:
    shape = {
        "status": "infeasible",
        "within_cost": within_cost,
        "cheapest_cost_per_litre": found.cheapest,
        "currency": pantry.currency,
    }
    if found.cheapest is None:
        told = "No mix of these foods keeps the safety limits and what is on hand."
    else:
        told = (
            f"No mix that keeps the safety limits costs at most "
            f"{say.money(within_cost, pantry.currency)} a litre: the cheapest costs "
            f"{say.money(found.cheapest, pantry.currency)}."
        )
    return {"yes": False, "shape": shape, "text": told}
