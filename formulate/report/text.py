"""Results as plain text for the terminal, a pipe or a file."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from formulate.answers.cautions import cautions_for
from formulate.answers.compare import Compared, Per
from formulate.answers.verdict import Judgement, judge
from formulate.base.messages import listed
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix, NoMix, Status
from formulate.blend.protect.confidence import Sureness
from formulate.foods.bands import Band, BandSet, Read, Role, Standing
from formulate.foods.food import FERMENTED_KINDS, Food
from formulate.foods.measures import MEASURES
from formulate.foods.tables import sources
from formulate.pantry.pantry import Pantry
from formulate.report import words as say
from formulate.report.sureness_words import sureness_lines
from formulate.report.verdict_words import verdict_lines

__all__ = [
    "bands_text",
    "caution_lines",
    "compare_text",
    "culture_note",
    "food_text",
    "foods_text",
    "heading",
    "mix_text",
    "reads_lines",
    "set_text",
]

_TITLES = {
    Status.OPTIMAL: "The cheapest mix",
    Status.NEAREST: "The nearest mix",
    Status.CHECKED: "What is in it",
}


def heading(bands: BandSet, kitchen: Kitchen, pantry: Pantry | None) -> list[str]:
    """What it is for, whose prices, whose cups."""
    lines = [f"For: {bands.title} ({bands.name})"]
    if pantry:
        lines.append(f"Shelf: {pantry.name or pantry.where}{_price_words(pantry)}")
    lines.append(f"Cups and spoons: {kitchen.title}")
    return lines


def _price_words(pantry: Pantry) -> str:
    dates = pantry.price_dates()
    if not dates:
        return ""
    when = f"{dates[0]}" if dates[0] == dates[1] else f"{dates[0]} to {dates[1]}"
    return f"; prices of {when} in {pantry.currency}"


def mix_text(
    mix: Mix,
    kitchen: Kitchen,
    pantry: Pantry | None = None,
    *,
    all_cautions: bool = False,
    title: str = "",
    sureness: Sureness | None = None,
    judgement: Judgement | None = None,
) -> str:
    """A mix in full: the verdict, amounts, size, cost, reads, how sure, cautions."""
    lines = [*verdict_lines(judgement or judge(mix)), ""]
    lines.append(title or f"{_TITLES[mix.status]}:")
    lines += amounts_lines(mix)
    lines += ["", size_line(mix), "", *reads_lines(mix.reads)]
    lines += culture_note(mix)
    if sureness is not None:
        lines += ["", *sureness_lines(sureness)]
    lines += ["", *caution_lines(mix, all_cautions)]
    return "\n".join(lines)


def amounts_lines(mix: Mix) -> list[str]:
    """Foods by weight and the volume a kitchen measure shows."""
    rows = []
    currency = mix.shelf.currency
    for food, grams, cost in zip(mix.shelf.foods, mix.grams, mix.costs, strict=True):
        if grams <= 0:
            continue
        volume = food.kitchen_volume(float(grams))
        rows.append(
            (
                food.id,
                f"{grams:,.1f} g" if grams < 100 else f"{grams:,.0f} g",
                "" if volume is None else say.volume_words(volume),
                "" if not currency else _cost_words(float(cost), currency),
            )
        )
    return say.table(rows, right=(1, 2, 3))


def _cost_words(cost: float, currency: str) -> str:
    return say.money(None if math.isnan(cost) else cost, currency)


def size_line(mix: Mix) -> str:
    """Volume, weight, cost and cost per litre."""
    text = f"Makes {say.volume_words(mix.volume)}, {mix.weight / 1e3:,.2f} kg"
    if not mix.shelf.currency:
        return text + "."
    if mix.cost is None or mix.cost_per_litre is None:
        return text + "; no cost, since a food has no price here."
    currency = mix.shelf.currency
    return (
        f"{text}, for {say.money(mix.cost, currency)}: "
        f"{say.money(mix.cost_per_litre, currency)} a litre."
    )


def reads_lines(reads: Iterable[Read]) -> list[str]:
    """Every read: demanded first, then safety, then the rest; each against its range."""
    by_role = {
        Role.DEMANDED: "It should read",
        Role.SAFETY: "It must stay under, for safety",
        Role.SHOWN: "It also reads",
    }
    reads = list(reads)
    table = [say.read_words(read) for read in reads]
    lines = say.table(table, right=(1,))
    grouped: list[str] = []
    for role, title in by_role.items():
        chosen = [line for line, read in zip(lines, reads, strict=True) if read.band.role is role]
        if chosen:
            grouped += [title, *chosen]
    return grouped


def culture_note(mix: Mix) -> list[str]:
    """What a cultured food's milk sugar really is."""
    cultured = [
        food.id
        for food, grams in zip(mix.shelf.foods, mix.grams, strict=True)
        if grams > 0 and food.kind in FERMENTED_KINDS
    ]
    if not cultured:
        return []
    names = listed(cultured)
    text = f"In {names}, part of what counts as milk sugar is lactic acid and galactose."
    return [say.bullet(text, "  ")]


def caution_lines(mix: Mix, everything: bool = False) -> list[str]:
    """The cautions that matter for this mix; the rest on request."""
    found = cautions_for(mix)
    lines = ["Take care"]
    for caution in found:
        if caution.shown or everything:
            text = caution.text
            if everything:
                text = f"{text} [{_source_words(caution.source)}]"
            lines.append(say.bullet(text))
    more = sum(not caution.shown for caution in found)
    if more and not everything:
        lines.append(f"  ({more} more with --all-cautions)")
    return lines


def _source_words(key: str) -> str:
    source = sources().get(key)
    return key if source is None else str(source)


def nearest_lines(result: NoMix) -> list[str]:
    """How far the nearest mix misses."""
    lines = []
    for read in () if result.nearest is None else result.nearest.misses:
        way = "short of" if read.standing is Standing.BELOW else "over"
        lines.append(
            f"  {read.band.label}: {say.number(read.value or 0.0)} {say.unit_words(read.band)}, "
            f"{say.number(read.miss)} {way} {say.range_words(read.band)}"
        )
    return lines


def compare_text(rows: Sequence[Compared], per: Per, pantry: Pantry, bands: BandSet) -> str:
    """Recipes by cost, with what they read against the bands."""
    currency = pantry.currency
    table = [
        ("", "recipe", f"{currency}/L", f"{currency}/kg solids", f"{currency}/MJ", "solids", "")
    ]
    for rank, row in enumerate(rows, 1):
        solids = next(r for r in row.mix.reads if r.band.measure == "solids")
        unknown = [_plain(r) for r in row.mix.reads if _matters(r, Standing.UNKNOWN)]
        misses = [
            f"{_plain(r)} {'low' if r.standing is Standing.BELOW else 'high'}"
            for r in row.mix.misses
        ]
        remark = ", ".join(misses) or "in range"
        if unknown:
            remark += f"; not known: {', '.join(unknown)}"
        table.append(
            (
                f"{rank}.",
                _short(row.recipe.name),
                f"{row.per_litre:.2f}",
                f"{row.per_kg_dry_matter:.2f}",
                f"{row.per_megajoule:.3f}",
                f"{say.number(solids.value or 0.0)} %",
                remark,
            )
        )
    words = {
        Per.LITRE: "a litre",
        Per.DRY_MATTER: "a kilogram of solids (dry matter)",
        Per.MEGAJOULE: "a megajoule that a suckling lamb can use",
    }
    return "\n".join(
        [
            f"Cheapest first, by {words[per]}; ranges of {bands.name}; "
            f"shelf: {pantry.name or pantry.where}{_price_words(pantry)}",
            *say.table(table, right=(2, 3, 4, 5)),
            f"Cups and spoons: {_kitchens(rows)}. Water is counted as free.",
        ]
    )


def _plain(read: Read) -> str:
    """A label without what stands in brackets."""
    return read.band.label.partition(" (")[0]


def _kitchens(rows: Sequence[Compared]) -> str:
    """Whose cups the recipes mean."""
    return listed(list(dict.fromkeys(row.recipe.kitchen.title for row in rows)))


def _matters(read: Read, standing: Standing) -> bool:
    return read.standing is standing and read.band.role is not Role.SHOWN


def _short(text: str, most: int = 44) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def foods_text(foods: Sequence[Food]) -> str:
    """A list of foods."""
    rows = [("id", "name", "kind", "")]
    for food in foods:
        offer = "" if food.suitable else "only when asked for"
        if food.drink_only:
            offer = "only for a drink, never in milk"
        if food.own:
            offer = "your own"
        rows.append((food.id, food.name, food.kind, offer))
    return "\n".join([*say.table(rows), f"{len(foods)} foods"])


def food_text(food: Food) -> str:
    """One food with all its values."""
    lines = [f"{food.id}: {food.name}", f"  kind: {food.kind}"]
    offered = "as plain dairy" if food.suitable else "only when you ask for it"
    if food.drink_only:
        offered = "only for a drink, never in milk"
    lines.append(f"  offered: {offered}")
    if food.largest_share is not None:
        why = f" ({food.share_source})" if food.share_source else ""
        lines.append(
            say.bullet(f"largest share of a mix: {say.share_words(food.largest_share)}{why}", "  ")
        )
    if food.aliases:
        lines.append(say.bullet(f"also called: {', '.join(food.aliases)}", "  "))
    for h in food.household:
        size = f"1 {h.unit}" if h.millilitres is None else _volume_row(h.unit, h.millilitres)
        lines.append(
            say.bullet(f"{size} weighs {h.grams:g} g [{h.source}] {h.note}".rstrip(), "  ")
        )
    if food.note:
        lines.append(say.bullet(food.note, "  "))
    rows = [("per 100 g as fed", "", "", "samples", "± s.e.", "derivation", "source")]
    for name, measure in MEASURES.items():
        value = food.values.get(name)
        if value is not None:
            rows.append(
                (
                    measure.label,
                    f"{value.value:g}",
                    measure.unit,
                    "" if value.n is None else str(value.n),
                    "" if value.standard_error is None else f"{value.standard_error:g}",
                    value.derivation,
                    value.source,
                )
            )
    lines += say.table(rows, right=(1, 3, 4))
    if food.kind in FERMENTED_KINDS:
        lines.append("  Part of the lactose here is lactic acid and galactose.")
    missing = [m.label for n, m in MEASURES.items() if not m.terms and math.isnan(food.value(n))]
    if missing:
        lines.append(say.bullet(f"not known: {', '.join(missing)}", "  "))
    return "\n".join(lines)


def _volume_row(unit: str, millilitres: float) -> str:
    if abs(millilitres - 236.588) < 0.01:
        return f"1 US {unit} ({millilitres:.1f} mL)"
    return f"{millilitres:.1f} mL"


def bands_text(sets: Iterable[BandSet]) -> str:
    """The list of reference sets."""
    rows = [(s.name, s.title, f"for a {s.species}") for s in sets]
    return "\n".join([*say.table(rows), 'See one with "formulate bands NAME".'])


def set_text(bands: BandSet) -> str:
    """One set with every number's source and reason."""
    lines = [f"{bands.name}: {bands.title}", say.bullet(bands.note, "  ")]
    roles = {
        Role.DEMANDED: "Demanded",
        Role.SHOWN: "Shown, not demanded",
        Role.SAFETY: "Safety, never relaxed",
    }
    for role, title in roles.items():
        chosen = bands.in_role(role)
        if chosen:
            lines.append(title)
            for band in chosen:
                lines += _band_lines(band)
    return "\n".join(lines)


def _band_lines(band: Band) -> list[str]:
    lines = [f"  {band.label}: {say.range_words(band)} {say.unit_words(band)}"]
    if band.why:
        lines.append(say.bullet(band.why, "      "))
    lines.append(say.bullet(f"source: {_source_words(band.source)}", "      "))
    return lines


def answer_line(mix: Mix) -> str:
    """The answer to a check, in a sentence."""
    if not mix.misses:
        return f"Every demand of {mix.bands.name} that could be read is met."
    told = [
        f"{_plain(read)} {'too low' if read.standing is Standing.BELOW else 'too high'}"
        for read in mix.misses
    ]
    return f"Not in range of {mix.bands.name}: {listed(told)}."


def no_mix_text(
    result: NoMix,
    kitchen: Kitchen,
    pantry: Pantry | None,
    *,
    helping: Sequence[str] = (),
    all_clashes: bool = False,
    all_cautions: bool = False,
) -> str:
    """Why there is no mix, what would help, and the nearest."""
    from formulate.report.reasons import why_not

    told = why_not(result, most=len(result.other_conflicts) + 1 if all_clashes else 1)
    lines = ["These foods cannot make it. Why:", *(say.bullet(s) for s in told.sentences)]
    if helping:
        lines += ["", "What would help:", *(say.bullet(s) for s in helping)]
    lines.append("")
    if result.nearest is None:
        lines.append("No mix at all keeps the safety limits and what is on hand.")
        return "\n".join(lines)
    lines += ["The nearest mix keeps the safety limits and misses:", *nearest_lines(result), ""]
    title = "It is made of:"
    lines.append(mix_text(result.nearest, kitchen, pantry, all_cautions=all_cautions, title=title))
    return "\n".join(lines)
