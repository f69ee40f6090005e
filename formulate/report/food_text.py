"""Foods as text: a list, or one food with all its values and those of other tables."""

from __future__ import annotations

import math

from formulate.answers.one_food import FoodList, OneFood
from formulate.base import messages
from formulate.base.messages import listed, number
from formulate.base.messages import say as message
from formulate.foods.food import FERMENTED_KINDS, Food
from formulate.foods.measures import MEASURES
from formulate.foods.national import nutrient_tables
from formulate.foods.several import Difference
from formulate.report import words as say

__all__ = ["code_words", "food_text", "foods_text"]


def code_words(food: Food) -> str:
    """Table and code of a food: "CoFID 12-334"; empty for a food of one's own."""
    table = nutrient_tables().get(food.table)
    return "" if table is None else f"{table.short} {food.record}"


def foods_text(found: FoodList) -> str:
    """A list of foods, each with its table and code."""
    if not found.foods:
        none = [] if found.unfit else [message("foods.none-named", words=" ".join(found.words))]
        left_out = [say.paragraph(found.left_out)] if found.left_out else []
        return "\n".join([*none, *left_out, *_unfit_lines(found)])
    rows = [("id", "name", "kind", "table", "")]
    rows += [(f.id, f.name, f.kind, code_words(f), _offer(f)) for f in found.foods]
    lines = [*say.table(rows), message("foods.count", count=len(found.foods))]
    if found.elsewhere:
        lines.append(say.paragraph(message("foods.elsewhere", count=found.elsewhere)))
    return "\n".join([*lines, *_unfit_lines(found)])


def _unfit_lines(found: FoodList) -> list[str]:
    """What goes by such a name and is not for lambs or kids, each with its reason."""
    if not found.unfit:
        return []
    lines = [message("foods.unfit")]
    for one in found.unfit:
        name = "foods.unfit-never" if one.verdict == "never" else "foods.unfit-vet"
        lines.append(say.bullet(message(name, name=one.id, reason=one.text)))
    return lines


def _offer(food: Food) -> str:
    if food.own:
        return message("foods.offer.own")
    if food.drink_only:
        return message("foods.offer.drink")
    if food.kind == "sweetened-milk":
        return message("foods.offer.sweetened")
    return "" if food.suitable else message("foods.offer.on-request")


def food_text(found: OneFood) -> str:
    """One food with all its values, beside the rows of other tables."""
    food = found.food
    lines = [f"{food.id}: {food.name}"]
    if code := code_words(food):
        lines.append(f"  {message('foods.row-of', code=code)}")
    lines.append(f"  {message('foods.kind', kind=food.kind)}")
    lines.append(
        f"  {message('foods.offered', offer=_offer(food) or message('foods.offer.plain'))}"
    )
    if food.largest_share is not None:
        why = f" ({food.share_source})" if food.share_source else ""
        lines.append(
            say.bullet(
                messages.say(
                    "foods.largest-share", share=say.share_words(food.largest_share), why=why
                ),
                "  ",
            )
        )
    if food.aliases:
        lines.append(
            say.bullet(messages.say("foods.also-called", names=", ".join(food.aliases)), "  ")
        )
    for h in food.household:
        size = f"1 {h.unit}" if h.millilitres is None else _volume_row(h.unit, h.millilitres)
        told = message("foods.weighs", size=size, grams=h.grams, source=h.source, note=h.note)
        lines.append(say.bullet(told.rstrip(), "  "))
    if food.note:
        lines.append(say.bullet(food.note, "  "))
    lines += _value_lines(food)
    if found.differences:
        lines += ["", *_several_lines(found)]
    lines += ["", *(say.bullet(table.attribution, "  ") for table in found.tables)]
    return "\n".join(lines).rstrip()


def _value_lines(food: Food) -> list[str]:
    """Every value with how the table came by it, and what is not known."""
    rows = [(messages.say("foods.per-100-g"), "", "", "samples", "± s.e.", "derivation", "source")]
    reasons = []
    for name, measure in MEASURES.items():
        value = food.values.get(name)
        if value is None:
            continue
        how, _, reason = value.derivation.partition("; ")
        if reason or len(how) > 40:
            reasons.append(message("foods.reason", measure=measure.label, how=value.derivation))
        rows.append(
            (
                measure.label,
                f"{value.value:g}",
                measure.unit,
                "" if value.n is None else str(value.n),
                "" if value.standard_error is None else f"{value.standard_error:g}",
                how if len(how) <= 40 else message("foods.see-below"),
                value.source,
            )
        )
    lines = say.table(rows, right=(1, 3, 4))
    lines += [say.bullet(text, "  ") for text in reasons]
    if food.kind in FERMENTED_KINDS:
        lines.append(f"  {message('foods.fermented')}")
    missing = [
        _missing_words(measure.label, food.flags.get(name, ""))
        for name, measure in MEASURES.items()
        if not measure.terms and math.isnan(food.value(name))
    ]
    if missing:
        lines.append(say.bullet(message("foods.not-known", names=", ".join(missing)), "  "))
    return lines


def flag_words(flag: str) -> str:
    """A mark that a table prints in place of a number, in plain words."""
    if flag.startswith("<"):
        return message("foods.flag.below", limit=flag[1:])
    if flag in ("Tr", "traces"):
        return message("foods.flag.trace")
    return message("foods.flag.present") if flag == "N" else ""


def _missing_words(label: str, flag: str) -> str:
    words = flag_words(flag)
    return f"{label} ({words})" if words else label


def _several_lines(found: OneFood) -> list[str]:
    """The rows side by side; a star where one differs by more than cartons do."""
    known = nutrient_tables()
    heads = [known[row.table].short for row in found.rows]
    rows = [
        (message("foods.per-100-g"), *heads, message("foods.cartons"), message("foods.tables")),
        ("", *(row.record for row in found.rows), "", ""),
    ]
    rows += [_difference_cells(one) for one in found.differences]
    count = len(found.rows)
    lines = [message("foods.in-tables", count=count, tables=listed(list(dict.fromkeys(heads))))]
    lines += say.table(rows, right=tuple(range(1, count + 3)))
    lines += [f"  {code_words(row)}: {row.name}" for row in found.rows]
    lines.append("")
    lines.append(say.bullet(message("foods.cartons-mean", code=code_words(found.food)), "  "))
    if found.telling:
        what = [MEASURES[one.measure].label for one in found.telling]
        lines.append(say.bullet(message("foods.caution", names=listed(what)), "  "))
    lines += [say.bullet(caution.text, "  ") for caution in found.cautions]
    return lines


def _difference_cells(one: Difference) -> tuple[str, ...]:
    measure = MEASURES[one.measure]
    values = [
        _value_words(value, flag, beyond)
        for value, flag, beyond in zip(one.values, one.flags, one.beyond, strict=True)
    ]
    cartons = "" if one.cartons is None else f"±{number(one.cartons)}"
    between = "" if one.between is None else number(one.between)
    return (f"{measure.label} [{measure.unit}]", *values, cartons, between)


def _value_words(value: float | None, flag: str, beyond: bool) -> str:
    if value is None:
        shown = flag if flag.startswith("<") else "-"
        if flag in ("Tr", "traces"):
            shown = message("foods.flag.short-trace")
        return f"{shown} "
    return f"{value:.3g}{'*' if beyond else ' '}"


def _volume_row(unit: str, millilitres: float) -> str:
    if abs(millilitres - 236.588) < 0.01:
        return message("foods.us-unit", unit=unit, millilitres=millilitres)
    return f"{millilitres:g} mL"
