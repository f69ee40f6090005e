"""The mix, or why there is none, prepared for display."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from formulate.answers.judged import JudgedMix
from formulate.answers.mix import mix
from formulate.answers.mix_answer import MixAnswer, MixOutcome, Try, TryKind
from formulate.base.errors import FormulateError, InputError, ManyFaults
from formulate.base.messages import listed, say
from formulate.page.aim import Aim
from formulate.page.rows import Row, pantry_with
from formulate.page.told import Block, blocks
from formulate.page.words import counted
from formulate.pantry.pantry import Pantry
from formulate.report import words as tell
from formulate.report.confidence_words import tenths_words
from formulate.report.milk import MilkWords, ReadWords, milk_words
from formulate.report.mix import fewest_notes, front_lines, promise_of, title
from formulate.report.pictures.drawn import read_picture
from formulate.report.verdict_words import because, headline
from formulate.report.why import opinion_line

__all__ = ["Button", "Checked", "Shown", "ShownAnswer", "answer", "asked_mix", "checked"]

MOST_TRIES = 4
#: How many clashes of demands to explain in full.
MOST_CLASHES = 2


@dataclass(frozen=True)
class Shown:
    """A mix, ready to be shown.

    Parameters
    ----------
    title : str
    headline : str
        The verdict, shown before anything else.
    reasons : tuple of str
        Of the verdict.
    words : MilkWords
    sure : str
        How sure, as a sentence.
    notes : tuple of str
    """

    title: str
    headline: str
    reasons: tuple[str, ...]
    words: MilkWords
    sure: str
    notes: tuple[str, ...] = ()

    @property
    def outside(self) -> bool:
        """Whether some read that matters is not inside its range."""
        asked = (*self.words.in_role("demanded"), *self.words.in_role("safety"))
        return any(read.outside for read in asked)

    @staticmethod
    def picture(read: ReadWords) -> Markup:
        """A read as a drop on its rule; empty if it has no range."""
        sure = read.sure
        if read.read.standing is None:
            return Markup()
        if sure is None or sure.low95 is None or sure.high95 is None:
            return read_picture(read.read)
        return read_picture(read.read, (sure.low95, sure.high95))


@dataclass(frozen=True)
class Button:
    """Something to try with one tap.

    Parameters
    ----------
    value : str
        What the page says.
    words : str
    note : str
    asks : bool
        Whether a price is asked for then: the page goes to that field, not to the answer.
    """

    value: str
    words: str
    note: str = ""
    asks: bool = False


@dataclass(frozen=True)
class ShownAnswer:
    """What the page answers.

    Parameters
    ----------
    status : str
        One line, which a screen reader also speaks when the answer changes.
    mix : Shown or None
    whom : str
        What it is for.
    why : tuple of str
        Why it cannot be done.
    tries : tuple of Button
    faults : tuple of (str, str)
        Fields that cannot be used: the field's id and what is wrong.
    recipe : str
        The mix as a recipe to keep; empty if there is none.
    reasons : tuple of Block
        What each range costs, where that was asked for.
    front : tuple of Block
        What more money buys, where the middle of the ranges was asked for.
    promise : tuple of Block
        What is promised although cartons vary, and what that costs, where it was asked for.
    opinion : str
        What another solver found, where it was asked.
    """

    status: str
    mix: Shown | None = None
    whom: str = ""
    why: tuple[str, ...] = ()
    tries: tuple[Button, ...] = ()
    faults: tuple[tuple[str, str], ...] = ()
    recipe: str = ""
    reasons: tuple[Block, ...] = ()
    front: tuple[Block, ...] = ()
    promise: tuple[Block, ...] = ()
    opinion: str = ""


def asked_mix(rows: Sequence[Row], aim: Aim, pantry: Pantry) -> MixAnswer:
    """Ask for the mix.

    Raises
    ------
    InputError
        If something typed cannot be read.
    """
    return mix(pantry_with(rows, pantry), aim.whom, aim.request())


def answer(rows: Sequence[Row], aim: Aim, pantry: Pantry) -> ShownAnswer:
    """Ask for the mix, and set out what is answered.

    Parameters
    ----------
    rows : sequence of Row
    aim : Aim
    pantry : Pantry
    """
    faults = [(f"price-{row.id}", f"{row.words}: {fault}") for row in rows for fault in row.faults]
    if not any(row.ticked and row.usable for row in rows):
        return ShownAnswer(say("page.tick-a-food"), faults=tuple(faults))
    try:
        found = asked_mix(rows, aim, pantry)
    except InputError as error:
        wrong = error.faults if isinstance(error, ManyFaults) else (error,)
        faults += [(aim.field_of(fault), str(fault)) for fault in wrong]
        return ShownAnswer(say("page.field-needs-a-look"), faults=tuple(faults))
    except FormulateError as error:
        return ShownAnswer(say("page.no-sound-answer"), why=(str(error),))
    shown = replace(
        _answered(found),
        faults=tuple(faults),
        whom=found.bands.title,
        front=blocks(front_lines(found)),
        promise=blocks(promise_of(found)),
        opinion="" if found.opinion is None else opinion_line(found),
    )
    return replace(shown, reasons=_reasons(found, aim.numbers)) if found.request.explain else shown


def _reasons(found: MixAnswer, numbers: bool) -> tuple[Block, ...]:
    if found.reasons is None:
        return () if found.milk is None else blocks([say("why.lost")])
    from formulate.report.why import reasons_lines

    return blocks(reasons_lines(found, numbers=numbers))


def _answered(found: MixAnswer) -> ShownAnswer:
    made = found.milk or found.plain or found.instead
    more = fewest_notes(found, name=tell.food_words)
    if made is not None and made is found.instead:
        from formulate.report.no_mix import tonight_notes

        more = tonight_notes(found, name=tell.food_words)
    shown = None if made is None else _shown(made, title(found, made), found.pantry, more)
    tries = tuple(_button(one, found.pantry) for one in _tries(found))
    recipe = ""
    if made is not None and made.batch is not None:
        recipe = made.recipe_text(found.pantry)
    if found.milk is not None and shown is not None:
        return ShownAnswer(_heard(shown), shown, tries=tries, recipe=recipe)
    from formulate.report.no_mix import none_words

    told = none_words(found, clashes=MOST_CLASHES, name=tell.food_words)
    why = (*told.why, *told.rest)
    if found.outcome is MixOutcome.NO_MIX and not tries:
        why = (*told.why, *told.would_help, *told.rest)
    return ShownAnswer(told.title, shown, why=why, tries=tries, recipe=recipe)


def _tries(found: MixAnswer) -> tuple[Try, ...]:
    """The likeliest to try; with as many of the foods on request, where they were asked for."""
    first, rest = found.tries[:MOST_TRIES], found.tries[MOST_TRIES:]
    if not found.request.on_request:
        return first
    table = found.pantry.table
    unusual = [one for one in rest if not all(table[food].suitable for food in one.foods)]
    return (*first, *unusual[:MOST_TRIES])


def _heard(shown: Shown) -> str:
    """A mix as a person would say it."""
    words = shown.words
    foods = listed([f"{row.measure or row.weight} {row.food}" for row in words.amounts])
    if words.per_litre:
        return say("page.heard-cost", foods=foods, cost=words.per_litre, verdict=shown.headline)
    return say("page.heard", foods=foods, verdict=shown.headline)


def _button(one: Try, pantry: Pantry) -> Button:
    """What may be tried, as a button."""
    if one.kind is TryKind.FEWER_FOODS:
        count = counted(one.count, "food")
        return Button(f"most:{one.count}", say("page.try.fewer-foods", foods=count))
    if one.kind is TryKind.ANY_NUMBER:
        return Button("most:", say("page.try.any-number"))
    if one.kind is TryKind.SURER:
        return Button("sure", say("page.try.surer"), say("page.try.surer-note"))
    if one.kind is TryKind.CHEAPEST:
        return Button("not-sure", say("page.try.cheapest"))
    names = listed([tell.food_words(pantry.table[food]) for food in one.foods])
    value = f"with:{','.join(one.foods)}"
    if not one.shares:
        return Button(value, say("page.try.with", foods=names))
    shares = listed([tell.share_words(share) for share in one.shares])
    cost = tell.cost_words(one.cost_per_litre, pantry.currency)
    if cost:
        note = say("page.try.share-and-cost", shares=shares, cost=cost)
    else:
        note = say("page.try.share", shares=shares)
    return Button(value, say("page.try.add", foods=names), note, one.asks_price)


def _shown(made: JudgedMix, heading: str, pantry: Pantry, more: Sequence[str] = ()) -> Shown:
    words = milk_words(made, pantry.kitchen, tell.food_words)
    assert made.confidence is not None
    notes = [*more, words.search, *words.rounding, words.room, *words.leftovers, *words.keeps]
    return Shown(
        heading,
        headline(made.judgement),
        tuple(because(made.judgement)),
        words,
        tenths_words(made.confidence.chance_all_inside),
        tuple(note for note in (*notes, words.culture) if note),
    )


@dataclass(frozen=True)
class Checked:
    """A recipe of a person's own, checked.

    Parameters
    ----------
    headline : str
        The verdict, shown before anything else.
    reasons, following : tuple of str
        Of the verdict, and what to do next.
    mix : Shown or None
        None if something in it must not be fed.
    whom : str
    held : tuple of str
        What instruments read, what they should read, and what most likely went wrong.
    held_answer : str
        The same in one sentence.
    """

    headline: str
    reasons: tuple[str, ...]
    following: tuple[str, ...]
    mix: Shown | None
    whom: str
    held: tuple[str, ...] = ()
    held_answer: str = ""


def checked(
    text: str, aim: Aim, pantry: Pantry, readings: Mapping[str, str | None] | None = None
) -> Checked:
    """Read a person's own recipe, and compare it with what instruments read.

    Raises
    ------
    InputError
        If there is none, or it cannot be read.
    """
    from formulate.answers.check import check
    from formulate.report.checked import next_words
    from formulate.report.instruments_text import instruments_answer, instruments_lines

    if not text.strip():
        raise InputError(say("page.no-recipe"))
    found = check(text, pantry, aim.whom, kitchen=pantry.kitchen, readings=readings)
    shown = None if found.milk is None else _shown(found.milk, say("page.your-recipe"), pantry)
    return Checked(
        headline(found.judgement),
        tuple(reason.text for reason in found.judgement.reasons),
        tuple(next_words(found)),
        shown,
        found.bands.title,
        () if found.held is None else tuple(instruments_lines(found.held)),
        "" if found.held is None else instruments_answer(found.held),
    )
