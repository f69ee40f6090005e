"""Shopping as plain text: the verdict, the cost, what to buy, what to mix, what is left."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from formulate.answers.shop import ShopAnswer
from formulate.base.messages import dated, listed, say
from formulate.foods.tables import sources, storage_days
from formulate.rearing.figures import figure
from formulate.report import words as tell
from formulate.report.fed_milks import animal_words, fed_milk_lines
from formulate.report.rearing_sources import figure_line
from formulate.report.rearing_text import heading
from formulate.shopping.batches import mixing_step
from formulate.shopping.plan import MixedBatch, NoShopping, Shopping, ShoppingTrip, UnusedFood
from formulate.shopping.shelf_life import ShelfLife
from formulate.shopping.task import ShoppingTask

__all__ = [
    "answer_lines",
    "goods_words",
    "money_and_proof",
    "price_rows",
    "shopping_heading",
    "shopping_sources",
    "shopping_text",
    "waste_texts",
    "why_none",
]

#: How many batches to list unless every day is asked for.
SHOWN = 7


def shopping_text(answer: ShopAnswer, *, every_day: bool = False, notes: Sequence[str] = ()) -> str:
    """The whole answer; the verdict comes first, then what a door has to note."""
    found = answer.shopping
    lines = shopping_heading(answer, notes)
    if not isinstance(found, Shopping):
        title, *texts = why_none(answer)
        return "\n".join([*lines, "", title, *map(tell.bullet, texts)])
    currency = answer.pantry.currency
    lines += ["", *map(tell.paragraph, answer_lines(found)), "", say("shop.buy-title")]
    lines += [tell.bullet(_trip_words(trip, currency)) for trip in found.trips]
    lines += ["", say("shop.prices-title"), *tell.table(price_rows(answer), right=(2,))]
    lines += ["", *_stint_lines(found), *_batch_lines(found, every_day)]
    lines += ["", say("shop.waste-title"), *map(tell.bullet, waste_texts(found))]
    return "\n".join([*lines, "", *_keeping_lines(found)])


def mixing_lines(found: Shopping, every_day: bool) -> list[str]:
    """What to mix day by day, then how long each food keeps and what to mind."""
    return [*_stint_lines(found), *_batch_lines(found, every_day), "", *_keeping_lines(found)]


def _keeping_lines(found: Shopping) -> list[str]:
    lines = [say("shop.keeps-title"), *(tell.bullet(_keeps_words(x)) for x in found.task.lives)]
    return [*lines, "", say("shop.care-title"), *_care_lines(found.task)]


def shopping_heading(answer: ShopAnswer, notes: Sequence[str] = ()) -> list[str]:
    """The verdict on each milk; then whose animals, which day, which prices."""
    lines = fed_milk_lines(answer.milks, answer.taken)
    lines += [*(tell.paragraph(bar.text) for bar in answer.unplanned), *notes]
    lines += heading(answer.read.flock, answer.read.now)
    pantry, dates = answer.pantry, answer.pantry.price_dates()
    shelf, currency = pantry.name or pantry.where, pantry.currency
    if dates is None:
        lines.append(say("shop.shelf", shelf=shelf, currency=currency))
    elif dates[0] == dates[1]:
        lines.append(say("shop.shelf-dated", shelf=shelf, currency=currency, first=dates[0]))
    else:
        first, last = dates
        lines.append(
            say("shop.shelf-dates", shelf=shelf, currency=currency, first=first, last=last)
        )
    return [*lines, *left_out_texts(answer)]


def left_out_texts(answer: ShopAnswer) -> list[str]:
    """Milks that were to be used and are not; the milk before, of which nothing is bought."""
    lines = [say("shop.left-out-line", milk=out.name, why=out.why) for out in answer.left_out]
    before = {m.before.name: None for m in answer.milks if m.before is not None and m.blends}
    return [*lines, *(say("shop.change", milk=name) for name in before)]


def why_none(answer: ShopAnswer) -> list[str]:
    """Why there is nothing to buy, and what would help; empty if there is."""
    found = answer.shopping
    if found is None and answer.nothing_needed:
        return [say("shop.nothing-needed")]
    if found is None:
        return [say("shop.nothing-fed" if answer.refused else "shop.nothing-planned")]
    if isinstance(found, NoShopping):
        return [say("shop.none"), f"{found.reason}.", found.remedy]
    return []


def answer_lines(shopping: Shopping) -> list[str]:
    """How much is drunk and mixed, what it costs, and how good that is."""
    litres = say(
        "shop.answer",
        last=shopping.batches[-1].day,
        fed=tell.number(shopping.fed),
        mixed=tell.number(shopping.mixed),
        batches=len(shopping.batches),
    )
    return [litres, *money_and_proof(shopping)]


def money_and_proof(shopping: Shopping) -> list[str]:
    """What it costs, and how good that is: never better than proved."""
    currency, trips = shopping.task.pantry.currency, len(shopping.trips)
    cost = tell.money(shopping.cost, currency)
    if shopping.task.request.trip_cost:
        going = tell.money(shopping.cost - shopping.food_cost, currency)
        lines = [say("shop.cost-going", money=cost, trips=trips, going=going)]
    else:
        lines = [say("shop.cost", money=cost, trips=trips)]
    gap, bound = shopping.lots.gap, tell.money(shopping.lots.bound, currency)
    if gap < 5e-5:
        return [*lines, say("shop.cheapest")]
    over = math.ceil(1e4 * (shopping.cost / max(shopping.lots.bound, 1e-9) - 1) - 1e-6) / 100
    return [*lines, say("shop.near", bound=bound, gap=f"{over:.2f}")]


def _trip_words(trip: ShoppingTrip, currency: str) -> str:
    goods = "; ".join(goods_words(p.count, p.package, p.food) for p in trip.purchases)
    return say("shop.trip", day=trip.day, money=tell.money(trip.cost, currency), goods=goods)


def goods_words(count: int, package: str, food: str) -> str:
    """One is said as it is written, "1 gallon whole-milk"; more are counted."""
    if count == 1:
        return say("shop.one-package", package=package, food=food)
    return say("shop.packages", count=count, package=package, food=food)


def price_rows(answer: ShopAnswer) -> list[tuple[str, str, str, str]]:
    """Every package that was weighed against the others: food, package, price, its own date."""
    dates = answer.pantry.price_dates()
    one_date = dates is None or dates[0] == dates[1]
    return [
        (
            price.food,
            price.package,
            tell.money(price.price, answer.pantry.currency),
            ""
            if one_date or price.priced_on is None
            else say("shop.price-dated", day=price.priced_on),
        )
        for price in answer.prices
    ]


def _stint_lines(shopping: Shopping) -> list[str]:
    stints, who = shopping.stints, shopping.task.drinkers
    if all(len(drinkers.choices) == 1 for drinkers in who):
        return []
    lines = [say("shop.stints-title")]
    for stint in stints:
        if len(who) > 1:
            animals = animal_words(stint.animals)
            told = say("shop.stint-for", animals=animals, day=stint.first_day, milk=stint.milk)
        else:
            told = say("shop.stint", day=stint.first_day, milk=stint.milk)
        lines.append(tell.bullet(told))
    if len(stints) > len(who):
        days = int(figure("change-days").value)
        lines.append(tell.bullet(say("shop.stint-change", days=days), "  "))
    return [*lines, ""]


def _batch_lines(shopping: Shopping, every_day: bool) -> list[str]:
    task = shopping.task
    shown = shopping.batches if every_day else shopping.batches[:SHOWN]
    rows: list[tuple[str, ...]] = [
        (
            say("shop.column-day"),
            say("shop.column-mix"),
            say("shop.column-jars"),
            say("shop.column-room"),
        )
    ]
    rows += [_batch_row(batch) for batch in shown]
    several = len(task.milks) > 1
    opened = [say("shop.column-open"), *(_opened_words(batch, several) for batch in shown)]
    lines = [_mix_title(task)]
    for line, words in zip(tell.table(rows, right=(1, 2, 3)), opened, strict=True):
        lines += _beside(line, words)
    if more := len(shopping.batches) - len(shown):
        lines.append(f"  ({say('shop.more-batches', count=more)})")
    jars = max(batch.jars or 0 for batch in shopping.batches)
    if task.flock.jars is not None and jars > task.flock.jars:
        lines.append(tell.bullet(say("shop.jars-short", jars=jars, have=task.flock.jars), "  "))
    if task.batches.left_today > 0:
        left = say("shop.left-today", at=task.batches.at, litres=task.batches.left_today)
        lines.append(tell.bullet(left, "  "))
    return lines


def _mix_title(task: ShoppingTask) -> str:
    days, at = task.batches.keeps, task.batches.at
    before_feed = at in task.flock.feeding_times
    if days == 1:
        return say("shop.mix-title", at=at) if before_feed else say("shop.mix-title-at", at=at)
    if before_feed:
        return say("shop.mix-title-days", days=days, at=at)
    return say("shop.mix-title-days-at", days=days, at=at)


def _batch_row(batch: MixedBatch) -> tuple[str, ...]:
    return (
        dated(batch.day, "%a %Y-%m-%d"),
        f"{batch.mixed:.2f} L",
        "" if batch.jars is None else str(batch.jars),
        f"{batch.room / 1e3:.1f} L",
    )


def _opened_words(batch: MixedBatch, several: bool) -> str:
    """What of a batch is which milk, and what to open for it."""
    parts = []
    if several:
        milks = [say("shop.milk-part", milk=name, litres=litres) for name, litres in batch.milks]
        parts.append(" + ".join(milks))
    parts += [goods_words(o.count, o.package, o.food) for o in batch.opens]
    return "; ".join(parts)


def _beside(line: str, words: str) -> list[str]:
    """Words beside a line, wrapped under themselves."""
    space = tell.WIDTH - len(line) - 2
    first, *rest = textwrap.wrap(words, max(space, 30)) or [""]
    indent = " " * (len(line) + 2)
    return [f"{line}  {first}".rstrip(), *(indent + more for more in rest)]


def waste_texts(shopping: Shopping, name: Callable[[str], str] = str) -> list[str]:
    """What is mixed and not drunk, thrown away, or left over at the end.

    Parameters
    ----------
    shopping : Shopping
    name : callable, optional
        How a food's name is written.
    """
    task, currency = shopping.task, shopping.task.pantry.currency
    millilitres = mixing_step(task.flock.kitchen) * 1e3
    if task.flock.kitchen.metric:
        step = say("shop.step", millilitres=millilitres)
    else:
        step = say("shop.step-cup", millilitres=millilitres)
    volume = tell.volume_words(shopping.wasted_milk * 1e3)
    texts = [say("shop.waste-milk", volume=volume, step=step)]
    for food, grams, worth in _by_food(left for left in shopping.leftovers if not left.good):
        named, weight, money = name(food), _weight(grams), tell.money(worth, currency)
        texts.append(
            say("shop.waste-worth", food=named, weight=weight, money=money)
            if worth >= 0.005
            else say("shop.waste", food=named, weight=weight)
        )
    for food, grams, worth in _by_food(left for left in shopping.leftovers if left.good):
        named, weight, money = name(food), _weight(grams), tell.money(worth, currency)
        texts.append(
            say("shop.rest-worth", food=named, weight=weight, money=money)
            if worth >= 0.005
            else say("shop.rest", food=named, weight=weight)
        )
    return texts


def _by_food(leftovers: Iterable[UnusedFood]) -> list[tuple[str, float, float]]:
    """Food, grams and money."""
    inside = sorted(leftovers, key=lambda left: left.food)
    found = []
    for food, group in groupby(inside, key=lambda left: left.food):
        every = list(group)
        found.append((food, sum(one.grams for one in every), sum(one.worth for one in every)))
    return found


def _weight(grams: float) -> str:
    return f"{grams:.0f} g" if grams < 1000 else f"{grams / 1e3:.1f} kg"


def _keeps_words(life: ShelfLife) -> str:
    values = {"food": life.food, "closed": life.closed_days, "open": life.open_days}
    if not life.chilled_open:
        told = say("shop.keeps-cupboard", **values)
    elif not life.chilled:
        told = say("shop.keeps-until-open", **values)
    else:
        told = say("shop.keeps", **values)
    label = [say("shop.closed")] if life.closed_source == "label" else []
    label += [say("shop.open")] if life.open_source == "label" else []
    return say("shop.by-label", keeps=told, which=listed(label)) if label else told


def _care_lines(task: ShoppingTask) -> list[str]:
    usual, days = storage_days()["mix"].opened_days, task.batches.keeps
    texts = [say("shop.care-date")]
    if days == usual:
        texts.append(say("shop.care-day"))
    else:
        texts.append(say("shop.care-longer", days=days, hours=24 * usual))
    if not task.flock.shopping_days:
        texts.append(say("shop.care-weekly"))
    if math.isinf(task.problem.room):
        texts.append(say("shop.care-room"))
    texts.append(say("shop.care-again"))
    return [tell.bullet(text) for text in texts]


def shopping_sources(task: ShoppingTask, figures: Iterable[str] = ()) -> list[str]:
    """Where the numbers of shopping come from; with the figures of a season, where wanted."""
    lines, keys = [say("shop.sources-title")], {"own"}
    for life in task.lives:
        told = say(
            "shop.source.life-noted" if life.note else "shop.source.life",
            food=life.food,
            closed=life.closed_days,
            closed_source=life.closed_source,
            open=life.open_days,
            open_source=life.open_source,
            note=life.note,
        )
        lines.append(tell.bullet(told))
        keys |= {life.closed_source, life.open_source}
    mix = storage_days()["mix"]
    mixed = say("shop.source.mix", days=mix.opened_days, note=mix.note, source=mix.source)
    lines.append(tell.bullet(mixed))
    keys.add(mix.source)
    names = [*figures, *(["change-days"] if len(task.milks) > 1 else [])]
    for used in map(figure, names):
        lines.append(tell.bullet(figure_line(used)))
        keys.add(used.source)
    lines.append(tell.bullet(say("shop.prices-source")))
    lines.append(say("shop.documents"))
    lines += [tell.bullet(f"[{key}] {sources()[key]}") for key in sorted(keys)]
    return lines
