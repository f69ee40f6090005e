"""Answers as HTML for a notebook: the verdict first, then the rest; everything is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from formulate.answers.check import CheckAnswer
from formulate.answers.compare import CompareAnswer, Per
from formulate.answers.judged import JudgedMix
from formulate.answers.milks import FedMilk
from formulate.answers.mix_answer import MixAnswer
from formulate.answers.prices import PricesAnswer
from formulate.answers.protection import ProtectionAnswer
from formulate.answers.record import Recorded
from formulate.answers.rehydrate import Rehydration
from formulate.answers.season import SeasonAnswer
from formulate.answers.shop import ShopAnswer
from formulate.answers.today import Today
from formulate.answers.verdict import Judgement, judge
from formulate.base.messages import say
from formulate.base.units import Kitchen
from formulate.blend.mix import Mix
from formulate.report import words as tell
from formulate.report.checked import next_words as check_next
from formulate.report.compared import remark
from formulate.report.fed_milks import milks_told
from formulate.report.milk import milk_words
from formulate.report.mix import title
from formulate.report.no_mix import none_lines
from formulate.report.priced import prices_told
from formulate.report.protection import protection_table
from formulate.report.record_text import recorded_told
from formulate.report.scour_told import scour_told
from formulate.report.season_text import milk_rows, total_rows
from formulate.report.shopping_text import answer_lines, why_none
from formulate.report.today_text import (
    amount_words,
    last_words,
    next_words,
    warning_lines,
)
from formulate.report.verdict_words import because, headline

__all__ = [
    "check_html",
    "compare_html",
    "mix_html",
    "plain_mix_html",
    "prices_html",
    "protection_html",
    "recorded_html",
    "rehydrate_html",
    "season_html",
    "shop_html",
    "today_html",
]


def mix_html(answer: MixAnswer) -> str:
    """What to mix; or why there is none, and what comes nearest."""
    kitchen = answer.pantry.kitchen
    if answer.milk is not None:
        return _milk(answer.milk, kitchen, title(answer, answer.milk))
    parts = [_lines(none_lines(answer, clashes=1))]
    if answer.instead is not None:
        parts.append(_milk(answer.instead, kitchen, title(answer, answer.instead)))
    return _all(parts)


def plain_mix_html(mix: Mix) -> str:
    """A mix that nobody asked a question about."""
    return _milk(JudgedMix(mix, judge(mix), None), Kitchen.US, mix.bands.title)


def check_html(answer: CheckAnswer) -> str:
    """Whether a recipe is right, and what is in it."""
    if answer.milk is None:
        return _all([_verdict(answer.judgement), _list(check_next(answer))])
    return _all([_milk(answer.milk, answer.kitchen, answer.asked), _list(check_next(answer))])


def compare_html(answer: CompareAnswer) -> str:
    """Recipes, the best verdict first."""
    currency = answer.pantry.currency
    rows = [
        (
            headline(row.judgement.verdict),
            row.recipe.name,
            tell.money(row.per_litre, currency),
            tell.money(row.cost_per(answer.per), currency) if answer.per is not Per.LITRE else "",
            remark(row),
        )
        for row in answer.rows
    ]
    return _table(("verdict", "recipe", "per-litre", f"per-{answer.per}", "remark"), rows)


def today_html(today: Today) -> str:
    """The verdict on each milk, warnings, and who is fed next."""
    kitchen = today.flock.kitchen
    rows = [
        (
            one.name,
            next_words(one, today.now),
            "" if one.next is None else amount_words(one.next, kitchen),
            last_words(one, today),
        )
        for one in sorted(
            today.animals, key=lambda one: (one.next is None, one.next and one.next.at)
        )
    ]
    parts = [_told(today.milks)]
    if warnings := [line.removeprefix("! ") for line in warning_lines(today)]:
        parts += [_heading("warnings"), _list(warnings)]
    parts += [_heading("next"), _table(("animal", "when", "feed", "last"), rows)]
    return _all(parts)


def shop_html(answer: ShopAnswer) -> str:
    """The verdict on each milk, the cost, and what to buy on which day."""
    parts = [_told(answer.milks)]
    if answer.plan is None:
        return _all([*parts, *map(_paragraph, why_none(answer))])
    currency = answer.pantry.currency
    rows = [
        (f"{trip.day}", f"{bought.count}", bought.package, bought.food,
         tell.money(bought.price * bought.count, currency))
        for trip in answer.plan.trips
        for bought in trip.purchases
    ]  # fmt: skip
    parts += map(_paragraph, answer_lines(answer.plan))
    heads = ("day", "count", "package", "food", "price")
    return _all([*parts, _heading("buy"), _table(heads, rows)])


def prices_html(answer: PricesAnswer) -> str:
    """Which recipe is cheapest where, recipe by recipe, each with its verdict."""
    told = prices_told(answer)
    names = list(dict.fromkeys(name for step in told.steps for name, _ in step.facts))
    rows = []
    for step in told.steps:
        facts = dict(step.facts)
        rows.append((step.foods, *(facts.get(name, "") for name in names)))
    heads = (say("library.notebook.recipe"), *names)
    return _all([_paragraph(told.title), *([_named_table(heads, rows)] if rows else [])])


def protection_html(answer: ProtectionAnswer) -> str:
    """What each chance costs."""
    heads, *rows = protection_table(answer)
    return _all([_paragraph(say("sure.curve")), _named_table(heads, rows)])


def season_html(answer: SeasonAnswer) -> str:
    """The verdict on each milk, what rearing takes, and the other recipes beside it."""
    parts = [_told(answer.shopping.milks)]
    if answer.own is None:
        return _all([*parts, *map(_paragraph, why_none(answer.shopping))])
    heads = ["", *(say(f"shop.season.{key}") for key in ("low", "expected", "high")), ""]
    milks, *others = milk_rows(answer, answer.own)
    parts += [
        f"<h4>{escape(say('shop.season.title', animals=len(answer.animals)))}</h4>",
        _named_table(heads, total_rows(answer)),
        f"<h4>{escape(say('shop.season.others-title'))}</h4>",
        _named_table(milks, others),
    ]
    return _all(parts)


def rehydrate_html(answer: Rehydration) -> str:
    """What calls for the veterinarian, what the signs say, and the drink or why there is none."""
    told = scour_told("", answer)
    parts = [_list(told.alarms), *map(_paragraph, told.seen), *map(_paragraph, told.none)]
    if told.alarms:
        parts.insert(0, f"<p><strong>{escape(told.now)}</strong></p>")
    drink = told.drink
    if drink is not None:
        agreement = f"<p><strong>{escape(drink.agreement)}</strong> {escape(drink.ask)}</p>"
        parts += [
            agreement,
            _named_table(
                (say("library.notebook.amount"), say("library.notebook.weight")), drink.measures
            ),
            *map(_paragraph, (drink.mix, drink.never)),
            f"<h4>{escape(drink.when_title)}</h4>",
            _list(drink.when),
            _heading("care"),
            _list(drink.care),
        ]
    return _all(parts)


def recorded_html(recorded: Recorded) -> str:
    """What was written down, or what is asked first."""
    questions = [question.text for question in recorded.questions]
    told = recorded_told(recorded) if not questions else (*questions, *recorded.notes)
    return _all([_list(told)])


# --- parts --------------------------------------------------------------------------------------


def _milk(milk: JudgedMix, kitchen: Kitchen, name: str) -> str:
    """A milk in full."""
    words = milk_words(milk, kitchen)
    amounts = [(row.measure, row.food, row.weight, row.volume, row.cost) for row in words.amounts]
    reads = [
        (row.label, row.value, row.unit, row.range, row.standing, row.likely) for row in words.reads
    ]
    cautions = [caution.text for caution in words.cautions if caution.shown]
    return _all(
        [
            _verdict(milk.judgement),
            f"<h4>{escape(name)}</h4>",
            _table(("amount", "food", "weight", "volume", "cost"), amounts),
            _paragraph(words.makes),
            _heading("reads"),
            _table(("read", "value", "unit", "range", "standing", "likely"), reads),
            *([_heading("care"), _list(cautions)] if cautions else []),
        ]
    )


def _verdict(judgement: Judgement) -> str:
    return f"<p><strong>{escape(headline(judgement))}</strong></p>{_list(because(judgement))}"


def _told(milks: Sequence[FedMilk]) -> str:
    return "".join(
        f"<p><strong>{escape(told.headline)}</strong> {escape(told.who)}</p>{_list(told.reasons)}"
        for told in milks_told(milks)
    )


def _heading(name: str) -> str:
    return f"<h4>{escape(say(f'library.notebook.{name}'))}</h4>"


def _paragraph(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def _list(texts: Iterable[str]) -> str:
    items = "".join(f"<li>{escape(text)}</li>" for text in texts)
    return f"<ul>{items}</ul>" if items else ""


def _lines(lines: Iterable[str]) -> str:
    """Lines that were laid out for a terminal."""
    return f"<pre>{escape(chr(10).join(lines))}</pre>"


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table whose columns the catalogue names."""
    return _named_table([say(f"library.notebook.{head}") for head in heads], rows)


def _named_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table; a column that is empty in every row is left out."""
    kept = [k for k in range(len(heads)) if any(row[k] for row in rows)]
    head = _cells("th", [heads[k] for k in kept])
    body = "".join(f"<tr>{_cells('td', [row[k] for k in kept])}</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cells(tag: str, texts: Iterable[str]) -> str:
    """Cells of a row; notebooks would set words against the right edge."""
    return "".join(f'<{tag} style="text-align:left">{escape(text)}</{tag}>' for text in texts)


def _all(parts: Iterable[str]) -> str:
    return f"<div>{''.join(parts)}</div>"
