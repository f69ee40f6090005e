"""Shopping lists, batches and the cost of a season as plain text."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from datetime import date

from formulate.base.messages import listed
from formulate.foods.tables import sources, storage_days
from formulate.rearing.figures import figure
from formulate.report import words as say
from formulate.report.rearing_text import heading
from formulate.shopping.batches import jars_for, mixing_step
from formulate.shopping.plan import (
    MixedBatch,
    NoShopping,
    Shopping,
    ShoppingTrip,
    UnusedFood,
)
from formulate.shopping.season import AnimalSeason, Estimate, MilkSeason, Season
from formulate.shopping.task import ShelfLife, ShoppingTask

__all__ = ["no_shopping_text", "season_text", "shopping_sources", "shopping_text", "totals"]

#: Batches told where not every day is asked for.
SHOWN = 7
#: Animals told one by one.
MOST_ANIMALS = 12

#: Figures that hours and weighings rest on.
SEASON_FIGURES = (
    "bottle-minutes", "bottle-minutes-low", "bottle-minutes-high",
    "batch-minutes", "batch-minutes-low", "batch-minutes-high", "weigh-every",
)  # fmt: skip


def shopping_text(shopping: Shopping, *, every_day: bool = False) -> str:
    """What to buy on which day, what to mix, what is left."""
    task = shopping.task
    lines = [*_heading(task), "", *_answer_lines(shopping), "", "Buy"]
    lines += [say.bullet(_trip_words(trip, task.pantry.currency)) for trip in shopping.trips]
    lines += ["", *_stint_lines(shopping), *_batch_lines(shopping, every_day)]
    lines += ["", *_leftover_lines(shopping)]
    lines += ["", "How long it keeps here", *map(_keeps_words, task.keeps)]
    lines += ["", "Take care", *_care_lines(task)]
    lines.append("(where each number comes from: --sources)")
    return "\n".join(lines)


def _heading(task: ShoppingTask) -> list[str]:
    dates = task.pantry.price_dates()
    when = "" if dates is None else f"; prices of {_span(*dates)} in {task.pantry.currency}"
    lines = heading(task.flock, task.now, task.milks[0])
    lines.append(f"Shelf: {task.pantry.name or task.pantry.where}{when}")
    lines += [f"{name} is left out: {why}." for name, why in task.left_out]
    if task.old_name:
        lines.append(f"The change from {task.old_name} is counted in.")
    return lines


def _span(first: date, last: date) -> str:
    return f"{first}" if first == last else f"{first} to {last}"


def _answer_lines(shopping: Shopping) -> list[str]:
    task, currency = shopping.task, shopping.task.pantry.currency
    batches = len(shopping.batches)
    trips = len(shopping.trips)
    cost = say.money(shopping.cost, currency)
    lines = [
        f"To the last milk on {shopping.batches[-1].day}: {say.number(shopping.fed)} L fed, "
        f"{say.number(shopping.mixed)} L mixed in {_count(batches, 'batch', 'batches')}.",
        f"It costs {cost} in {_count(trips, 'trip', 'trips')}"
        + (
            f", {say.money(shopping.cost - shopping.food_cost, currency)} of it for going."
            if task.request.trip_cost
            else "."
        ),
    ]
    bound = say.money(shopping.lots.bound, currency)
    lines.append(f"Of all shopping for this milk it is {_proof(shopping)}; bound {bound}.")
    return lines


def _proof(shopping: Shopping) -> str:
    """How good it is, never better than proven."""
    gap = shopping.lots.gap
    if gap < 5e-5:
        return "proven the cheapest (gap 0.00 %)"
    return f"proven within {math.ceil(gap * 1e4 - 1e-6) / 100:.2f} % of the cheapest"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _trip_words(trip: ShoppingTrip, currency: str) -> str:
    bought = "; ".join(_packages(p.count, p.package, p.food) for p in trip.purchases)
    return f"{trip.day:%a} {trip.day}, {say.money(trip.cost, currency)}: {bought}"


def _packages(count: int, package: str, food: str) -> str:
    """One is said as it is written, "1 gallon whole-milk"; more are counted."""
    return f"{package} {food}" if count == 1 else f"{count} x {package} {food}"


def _stint_lines(shopping: Shopping) -> list[str]:
    if len(shopping.task.milks) == 1:
        return []
    days = f"{figure('change-days').value:g}"
    lines = ["Which mix when"]
    lines += [say.bullet(f"from {stint.first_day}: {stint.mix}") for stint in shopping.stints]
    if len(shopping.stints) > 1:
        lines.append(
            say.bullet(
                f"Each change is made over {days} days, a part more of the new milk each day. "
                "Amounts in bottles change with the milk: see formulate feed --mix.",
                "  ",
            )
        )
    return [*lines, ""]


def _batch_lines(shopping: Shopping, every_day: bool) -> list[str]:
    task = shopping.task
    batches = task.batches[0]
    kept = "each day" if batches.keeps == 1 else f"every {batches.keeps} days"
    hour = f"{batches.at:%H:%M}"
    before = "before" if batches.at in task.flock.feeding_times else "at"
    feed = " feed" if before == "before" else ""
    lines = [f"Mix {kept} {before} the {hour}{feed}" if feed else f"Mix {kept} at {hour}"]
    shown = shopping.batches if every_day else shopping.batches[:SHOWN]
    rows: list[tuple[str, ...]] = [("day", "mix", "jars", "room used", "")]
    rows += [_batch_row(batch, task) for batch in shown]
    left = say.table([row[:4] for row in rows], right=(1, 2, 3))
    opened = ["open", *(_opened_words(batch) for batch in shown)]
    for line, words in zip(left, opened, strict=True):
        lines += _beside(line, words)
    more = len(shopping.batches) - len(shown)
    if more:
        lines.append(f"  ({more} more with --every-day)")
    jars = max(jars_for(b.mixed, task.flock.jar) or 0 for b in shopping.batches)
    if task.flock.jars is not None and jars > task.flock.jars:
        lines.append(
            say.bullet(f"The fullest day needs {jars} jars; there are {task.flock.jars}.", "  ")
        )
    if batches.left_today > 0:
        lines.append(
            say.bullet(
                f"Feeds of the first day before {hour} ({batches.left_today:.2f} L) come from "
                "the batch before and are not counted.",
                "  ",
            )
        )
    return lines


def _batch_row(batch: MixedBatch, task: ShoppingTask) -> tuple[str, ...]:
    jars = jars_for(batch.mixed, task.flock.jar)
    return (
        f"{batch.day:%a} {batch.day}",
        f"{batch.mixed:.2f} L",
        "" if jars is None else str(jars),
        f"{batch.room / 1e3:.1f} L",
        "",
    )


def _opened_words(batch: MixedBatch) -> str:
    """What of a batch is another milk, and what to open for it."""
    parts = []
    if len(batch.milks) > 1:
        parts.append(" + ".join(f"{litres:.2f} L {name}" for name, litres in batch.milks))
    parts += [_packages(o.count, o.package, o.food) for o in batch.opens]
    return "; ".join(parts)


def _beside(line: str, words: str) -> list[str]:
    """Words beside a line, wrapped under themselves."""
    space = say.WIDTH - len(line) - 2
    first, *rest = textwrap.wrap(words, max(space, 30)) or [""]
    indent = " " * (len(line) + 2)
    return [f"{line}  {first}".rstrip(), *(indent + more for more in rest)]


def _leftover_lines(shopping: Shopping) -> list[str]:
    task = shopping.task
    currency = task.pantry.currency
    lines = ["What is not drunk"]
    thrown = [left for left in shopping.leftovers if not left.good]
    good = [left for left in shopping.leftovers if left.good]
    step = f"{mixing_step(task.flock.kitchen) * 1e3:.0f} mL"
    if not task.flock.kitchen.metric:
        step = f"a quarter cup ({step})"
    lines.append(
        say.bullet(
            f"mixed milk: {say.volume_words(shopping.wasted_milk * 1e3)}, since a batch is "
            f"measured to {step}"
        )
    )
    lines += [
        say.bullet(f"thrown away, open too long: {words}") for words in _by_food(thrown, currency)
    ]
    lines += [
        say.bullet(f"left at the end, still good: {words}") for words in _by_food(good, currency)
    ]
    return lines


def _by_food(leftovers: Iterable[UnusedFood], currency: str) -> list[str]:
    total: dict[str, list[float]] = {}
    for left in leftovers:
        grams, worth = total.setdefault(left.food, [0.0, 0.0])
        total[left.food] = [grams + left.grams, worth + left.worth]
    return [
        f"{food} {_weight(grams)}"
        + (f", worth {say.money(worth, currency)}" if worth >= 0.005 else "")
        for food, (grams, worth) in total.items()
    ]


def _weight(grams: float) -> str:
    return f"{grams:.0f} g" if grams < 1000 else f"{grams / 1e3:.1f} kg"


def _keeps_words(keeps: ShelfLife) -> str:
    label = [
        word
        for word, source in (("closed", keeps.closed_source), ("open", keeps.open_source))
        if source == "label"
    ]
    own = f" ({listed(label)}: by your label)" if label else ""
    where = "" if keeps.chilled else "; in the cupboard until it is open"
    if not keeps.chilled_open:
        where = "; in the cupboard"
    opened = "the same day" if keeps.open_days == 1 else f"{keeps.open_days} days"
    return say.bullet(f"{keeps.food}: {keeps.closed_days} days closed, {opened} open{where}{own}")


def _care_lines(task: ShoppingTask) -> list[str]:
    mix = storage_days()["mix"]
    days = task.batches[0].keeps
    texts = [
        "A date on the package that is sooner than these counts. Milk that smells or looks "
        "wrong is not fed, whatever the date.",
    ]
    if days == mix.opened_days:
        texts.append(
            "Mixed milk is kept chilled for a day and then thrown away (from memory: no document "
            "was found for a home mix)."
        )
    else:
        texts.append(
            f"You asked to keep mixed milk {days} days. The usual advice is "
            f"{24 * mix.opened_days} hours; no document was found for more."
        )
    if not task.flock.shopping_days:
        texts.append("No shopping days are named, so one trip a week is taken, from today.")
    if math.isinf(task.problem.room):
        texts.append("No room in the refrigerator is named, so it was not minded.")
    texts.append("Amounts follow the feed plan: after each weighing, ask again.")
    return [say.bullet(text) for text in texts]


def no_shopping_text(result: NoShopping) -> str:
    """Why there is no plan."""
    return "\n".join(
        [
            *_heading(result.task),
            "",
            "There is no way to shop for this.",
            say.bullet(f"{result.reason}."),
            say.bullet(result.remedy),
        ]
    )


def shopping_sources(task: ShoppingTask, *, season: bool = False) -> list[str]:
    """Where the numbers of shopping come from."""
    lines, keys = ["Where the numbers of shopping come from"], set()
    for keeps in task.keeps:
        lines.append(
            say.bullet(
                f"{keeps.food}: {keeps.closed_days} days closed [{keeps.closed_source}], "
                f"{keeps.open_days} open [{keeps.open_source}]; {keeps.note}".rstrip("; ")
            )
        )
        keys |= {keeps.closed_source, keeps.open_source}
    mix = storage_days()["mix"]
    lines.append(say.bullet(f"mixed milk: {mix.opened_days} day; {mix.note} [{mix.source}]"))
    keys.add(mix.source)
    if len(task.milks) > 1:
        change = figure("change-days")
        lines.append(
            say.bullet(f"change of milk: {change.value:g} d; {change.note} [{change.source}]")
        )
        keys.add(change.source)
    if season:
        for used in map(figure, SEASON_FIGURES):
            note = f"; {used.note}" if used.note else ""
            name = used.name.replace("-", " ")
            lines.append(say.bullet(f"{name}: {used.value:g} {used.unit}{note} [{used.source}]"))
            keys.add(used.source)
    lines.append(say.bullet("prices and packages: the pantry file [own]"))
    keys.add("own")
    lines.append("Documents")
    lines += [say.bullet(f"[{key}] {sources()[key]}") for key in sorted(keys)]
    return lines


# --- the season -----------------------------------------------------------------------------


def season_text(season: Season) -> str:
    """A season on one page."""
    task = season.shopping.task
    lines = [*_heading(task), "", *_season_table(season), "", *_animal_lines(season)]
    lines += ["", *_milk_lines(season), "", *_season_notes(season)]
    return "\n".join(lines)


def totals(season: Season) -> dict[str, Estimate]:
    """The rows of a season: milk, money, money by animal and by kilogram, hours."""
    own, count = season.own, len(season.animals)
    return {
        "milk": own.litres,
        "cost": own.cost,
        "cost an animal": own.cost.times(1 / count),
        "cost a kg gained": own.cost.times(1 / own.gained),
        "hours from today": season.hours,
    }


def _season_table(season: Season) -> list[str]:
    currency = season.pantry.currency
    count = len(season.animals)
    units = {
        "milk": "L",
        "cost": currency,
        "cost an animal": currency,
        "cost a kg gained": currency,
        "hours from today": "h",
    }
    words = {
        "milk": "milk drunk",
        "cost": "milk's cost, as drunk",
        "cost an animal": "  for each animal",
        "cost a kg gained": "  for each kg gained",
        "hours from today": "hours of feeding and mixing from today",
    }
    rows: list[tuple[str, ...]] = [("", "low", "expected", "high", "")]
    for name, spread in totals(season).items():
        rows.append(
            (
                words[name],
                *(_figure(v, units[name]) for v in (spread.low, spread.expected, spread.high)),
                units[name],
            )
        )
    lines = [f"From birth to weaning, {_count(count, 'animal', 'animals')}"]
    lines += say.table(rows, right=(1, 2, 3))
    lines += ["", "From today"]
    if isinstance(season.shopping, NoShopping):
        lines.append(say.bullet(f"No shopping was found: {season.shopping.reason}."))
        lines.append(say.bullet(season.shopping.remedy))
        return lines
    shopping = season.shopping
    lines.append(
        say.bullet(
            f"{_count(len(shopping.trips), 'trip', 'trips')} to buy whole packages for "
            f"{say.money(shopping.cost, currency)}, {say.number(shopping.fed)} L of milk; "
            f"{_proof(shopping)}"
        )
    )
    worth = sum(left.worth for left in shopping.leftovers if not left.good)
    lines.append(
        say.bullet(
            f"{say.money(worth, currency)} of it is thrown away because packages are large "
            "and do not keep"
        )
    )
    return lines


def _figure(value: float, unit: str) -> str:
    return f"{value:.2f}" if unit not in ("L", "h") else f"{value:.0f}"


def _animal_lines(season: Season) -> list[str]:
    rows: list[tuple[str, ...]] = [
        ("animal", "born", "ready to wean", "weight then", "milk", season.pantry.currency)
    ]
    rows += [_animal_row(animal) for animal in season.animals[:MOST_ANIMALS]]
    lines = ["Each animal", *say.table(rows, right=(3, 4, 5))]
    more = len(season.animals) - MOST_ANIMALS
    if more > 0:
        lines.append(f"  ({more} more with --json)")
        ready = sorted(a.ready[1] for a in season.animals if a.ready[1] is not None)
        if ready:
            lines.append(f"  All of them: ready to wean from {ready[0]} to {ready[-1]}")
    return lines


def _animal_row(animal: AnimalSeason) -> tuple[str, ...]:
    earliest, ready, latest = animal.ready
    dates = "not within the days looked at" if ready is None else f"{ready}"
    if ready is not None and (earliest, latest) != (ready, ready):
        dates += f" ({_short(earliest)} to {_short(latest)})"
    return (
        animal.name,
        f"{animal.born}",
        dates,
        f"{animal.weight:.1f} kg",
        f"{animal.litres.expected:.0f} L",
        f"{animal.cost.expected:.2f}",
    )


def _short(day: date | None) -> str:
    return "later" if day is None else f"{day:%d %b}"


def _milk_lines(season: Season) -> list[str]:
    currency = season.pantry.currency
    count = len(season.animals)
    rows: list[tuple[str, ...]] = [
        ("milk", "L", currency, "an animal", "a kg gained", "to buy from today", "")
    ]
    rows += [_milk_row(season.own, count, "in use")]
    rows += [_milk_row(other, count, other.remark) for other in season.others]
    lines = ["Beside other milks, birth to weaning, each fed to the same need"]
    lines += say.table(rows, right=(1, 2, 3, 4, 5))
    lines += [say.bullet(f"{name}: {why}", "  ") for name, why in season.forbidden]
    return lines


def _milk_row(milk: MilkSeason, count: int, remark: str) -> tuple[str, ...]:
    return (
        milk.name,
        f"{milk.litres.expected:.0f}",
        f"{milk.cost.expected:.2f}",
        f"{milk.cost.expected / count:.2f}",
        f"{milk.per_kilogram():.2f}",
        "does not fit" if milk.bought is None else f"{milk.bought:.2f}",
        remark,
    )


def _season_notes(season: Season) -> Sequence[str]:
    return [
        "What this means",
        say.bullet(
            "Low and high: milk until the earliest and until the latest day on which an animal "
            "may be ready, by the published accounts of growth."
        ),
        say.bullet(
            "Cost as drunk counts food by weight. What is bought is whole packages, so it is "
            "more; the days before today are not in it."
        ),
        say.bullet(
            "Days before today count as logged; where the log is silent, as the plan would have "
            "given."
        ),
        say.bullet(
            "A milk that is cheaper is not one that is safe: hold it to its ranges with "
            "formulate check. Creep, bedding, heat and a veterinarian are not counted."
        ),
        "(where each number comes from: --sources)",
    ]
