"""Batches in whole measures, and how to mix them, as plain text and JSON shapes."""

from __future__ import annotations

from typing import Any

from formulate.answers.verdict import judge
from formulate.base.messages import listed
from formulate.base.units import Kitchen
from formulate.blend.protect.confidence import how_sure
from formulate.blend.whole.kitchen_mix import KitchenMix, Leftover, NoKitchenMix
from formulate.foods.tables import storage_days
from formulate.kitchen.batch import Batch
from formulate.kitchen.jug import JugPlan, Keep
from formulate.pantry.pantry import Pantry
from formulate.report import words as say
from formulate.report.shapes import mix_shape
from formulate.report.sureness_words import sure_lines, sureness_lines, with_sureness
from formulate.report.text import caution_lines, culture_note, reads_lines, size_line
from formulate.report.verdict_words import verdict_lines

__all__ = ["batch_shape", "batch_text", "no_batch_shape", "no_batch_text"]

Shape = dict[str, Any]


def batch_text(batch: Batch, kitchen: Kitchen, *, all_cautions: bool = False) -> str:
    """A batch in full: the verdict, measures, size, cost, how to mix, reads, how sure, cautions."""
    found = batch.kitchen_mix
    lines = [*verdict_lines(judge(found.mix)), ""]
    lines += ["The cheapest mix in whole measures:", *measures_lines(found, kitchen)]
    lines += ["", size_line(found.mix), *rounding_lines(found)]
    if batch.protected is not None:
        lines += sure_lines(batch.protected, found.mix.shelf.currency)
    if batch.plan is None:
        lines += [_leftover_line(left, found) for left in found.leftovers]
    else:
        lines += ["", *plan_lines(batch.plan, kitchen)]
    lines += ["", *reads_lines(found.mix.reads), *culture_note(found.mix)]
    lines += ["", *sureness_lines(how_sure(found.mix))]
    lines += ["", *caution_lines(found.mix, all_cautions)]
    return "\n".join(lines)


def measures_lines(found: KitchenMix, kitchen: Kitchen) -> list[str]:
    """The recipe: what hands take, of what, its weight and cost."""
    mix = found.mix
    rows = []
    for measured in found.measures(kitchen):
        cost = float(mix.costs[mix.shelf.ids.index(measured.food)])
        rows.append(
            (
                measured.words,
                measured.food,
                f"{measured.grams:,.0f} g",
                say.money(cost, mix.shelf.currency),
            )
        )
    return say.table(rows, right=(2, 3))


def rounding_lines(found: KitchenMix) -> list[str]:
    """What whole measures cost, and how sure it is that none are cheaper."""
    currency = found.mix.shelf.currency
    cost = found.rounding_cost
    if cost < 0.005:
        lines = ["Weighing to the gram would make it no cheaper."]
    else:
        lines = [f"Weighing to the gram would save {say.money(cost, currency)} a litre."]
    if not found.complete:
        lines.append(
            "The search ended early: this is the best found, proven within "
            f"{100 * found.gap:.1f} % of the cheapest. Give it more with --time-limit."
        )
    if found.too_coarse:
        lines.append(
            say.bullet(f"Too coarse to use in this batch: {listed(found.too_coarse)}.", "")
        )
    return lines


def _leftover_line(left: Leftover, found: KitchenMix) -> str:
    kind = next(f.kind for f in found.mix.shelf.foods if f.id == left.food)
    days = storage_days().get(kind)
    keep = f": chilled, use it within {days.opened_days} days" if days else ""
    return say.bullet(
        f"{left.packages} {left.package}{'s' if left.packages > 1 else ''} of {left.food} opened, "
        f"{left.grams:,.0f} g left{keep}.",
        "",
    )


def plan_lines(plan: JugPlan, kitchen: Kitchen) -> list[str]:
    """How to mix it, step by step, with the level after each."""
    lines = [f"How to mix it in the {plan.container.words}:"]
    for number, step in enumerate(plan.steps, 1):
        lines.append(
            say.bullet(f"{step.do} [{say.volume_words(step.level)} in it]", f"  {number}. ")
        )
    lines.append(
        f"  It holds {say.volume_words(plan.final_volume)} then, with "
        f"{say.volume_words(plan.room)} of room to shake it."
    )
    lines += [say.bullet(_keep_words(keep)) for keep in plan.keep]
    return lines


def _keep_words(keep: Keep) -> str:
    what = keep.what if keep.food == "mix" else f"{keep.food} {keep.what}, {keep.grams:,.0f} g"
    if keep.days is None:
        return f"{what}: {keep.note}"
    days = "a day" if keep.days == 1 else f"{keep.days} days"
    return f"{what}: covered and chilled, use within {days}"


def no_batch_text(result: NoKitchenMix, kitchen: Kitchen, *, all_cautions: bool = False) -> str:
    """No whole measures make it: whether grams would, and the nearest size that works."""
    least, most = say.volume_words(result.least_volume), say.volume_words(result.most_volume)
    lines = [f"No whole measures make {least} to {most} of it."]
    if not result.complete:
        lines.append("The search ended early; with more --time-limit there may be some.")
    if result.exact is not None:
        cost = result.exact.cost_per_litre
        lines.append(
            f"By the gram it can be made, for {say.money(cost, result.exact.shelf.currency)} a "
            "litre: see it with --exact."
        )
    if result.too_coarse:
        lines.append(
            say.bullet(
                f"Too coarse to use in this batch: {listed(result.too_coarse)}. "
                "A smaller step for it in the pantry may help.",
                "",
            )
        )
    if result.nearest is None:
        lines.append("No batch from a twentieth to ten times the size was found either.")
        return "\n".join(lines)
    larger = result.nearest.mix.volume > result.most_volume
    lines += ["", f"The nearest size that works{', larger than was asked for' if larger else ''}:"]
    lines.append(
        batch_text(Batch(result.nearest, result.problem), kitchen, all_cautions=all_cautions)
    )
    return "\n".join(lines)


def batch_shape(batch: Batch, pantry: Pantry) -> Shape:
    """A batch as JSON: a mix, its measures, and what they cost beside the exact optimum."""
    found = batch.kitchen_mix
    shape = with_sureness(mix_shape(found.mix, pantry.kitchen.value, pantry), how_sure(found.mix))
    exact = found.exact.certificate
    if exact is not None:
        shape["certificate"] = {"primal": exact.primal, "dual": exact.dual, "gap": exact.gap}
    shape |= {
        "measures": [
            {"food": m.food, "count": m.count, "measure": _step_words(found, m.food),
             "words": m.words, "grams": m.grams}
            for m in found.measures(pantry.kitchen)
        ],
        "rounding_cost": found.rounding_cost,
        "exact_cost_per_litre": found.exact.cost_per_litre,
        "search": {"complete": found.complete, "gap": found.gap},
        "leftovers": [
            {"food": x.food, "package": x.package, "opened": x.packages, "grams": x.grams}
            for x in found.leftovers
        ],
    }  # fmt: skip
    if found.change is not None:
        shape["changed_measures"] = found.change
    if batch.protected is not None:
        shape["protection"] = {
            "sure": batch.protected.sure,
            "least_chance": min(batch.protected.chances, default=1.0),
        }
    if batch.plan is not None:
        shape["container"] = plan_shape(batch.plan)
    return shape


def _step_words(found: KitchenMix, food: str) -> str:
    step = found.steps[found.mix.shelf.ids.index(food)]
    return f"{step.size:g} {step.unit}" if step.size != 1 else step.unit


def plan_shape(plan: JugPlan) -> Shape:
    """A plan for a container as JSON."""
    return {
        "words": plan.container.words,
        "volume_ml": plan.container.volume,
        "final_volume_ml": plan.final_volume,
        "room_ml": plan.room,
        "steps": [
            {
                "do": step.do,
                "food": step.food,
                "measure": step.words,
                "grams": step.grams,
                "level_ml": step.level,
                "source": step.source,
            }
            for step in plan.steps
        ],
        "keep": [
            {
                "food": keep.food,
                "what": keep.what,
                "grams": keep.grams,
                "days": keep.days,
                "source": keep.source,
            }
            for keep in plan.keep
        ],
    }


def no_batch_shape(result: NoKitchenMix, pantry: Pantry) -> Shape:
    """No whole measures as JSON."""
    nearest = result.nearest
    return {
        "status": "infeasible",
        "why": "whole measures",
        "bands": result.problem.bands.name,
        "kitchen": pantry.kitchen.value,
        "exact_cost_per_litre": None if result.exact is None else result.exact.cost_per_litre,
        "search": {"complete": result.complete},
        "too_coarse": list(result.too_coarse),
        "conflict": [],
        "nearest": None if nearest is None else batch_shape(Batch(nearest, result.problem), pantry),
    }
