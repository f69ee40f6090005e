"""What to do when an animal scours, as sentences for a page: veterinarian and signs first."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.answers.rehydrate import DrinkTold, Rehydration
from formulate.answers.verdict import Verdict
from formulate.base.messages import listed, say
from formulate.rearing.scour import scour_note, signs_of_scour
from formulate.report.rehydrate import (
    agreement_words,
    drink_reads,
    harm_words,
    measure_words_of,
    none_sentences,
    now_list,
    read_words_of,
    slip_words,
    verdict_lines_of,
    weigh_words,
    when_sentences,
)

__all__ = ["DrinkOnPage", "ScourAsked", "ScourTold", "SignAsked", "scour_asked", "scour_told"]


@dataclass(frozen=True, slots=True)
class SignAsked:
    """A sign to look at.

    Parameters
    ----------
    id, ask : str
    choices : tuple of (str, str)
        Word and text of each answer.
    """

    id: str
    ask: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ScourAsked:
    """What is said and asked before any answer.

    Parameters
    ----------
    veterinarian : str
        That it comes first.
    now_title : str
    now : tuple of str
        What means the veterinarian now.
    telephone : str
        What to read to it.
    signs : tuple of SignAsked
    """

    veterinarian: str
    now_title: str
    now: tuple[str, ...]
    telephone: str
    signs: tuple[SignAsked, ...]


@dataclass(frozen=True, slots=True)
class DrinkOnPage:
    """A drink and all that goes with it.

    Parameters
    ----------
    agreement : str
        The veterinarian's word, or that it is wanted.
    ask : str
        What to do without it; empty with it.
    measures : tuple of (str, str)
        What hands take, and its weight.
    mix : str
    never : str
        That it goes into no milk.
    reads : tuple of tuple of str
        What it reads: name, value with its unit, range.
    read_title : str
    slips : tuple of (str, str)
        Slips that do harm, and which.
    slip_title : str
    weigh : str
        How much safer weighing is.
    when_title : str
    when : tuple of str
    care : tuple of str
    """

    agreement: str
    ask: str
    measures: tuple[tuple[str, str], ...]
    mix: str
    never: str
    reads: tuple[tuple[str, str, str], ...]
    read_title: str
    slips: tuple[tuple[str, str], ...]
    slip_title: str
    weigh: str
    when_title: str
    when: tuple[str, ...]
    care: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ScourTold:
    """An answer.

    Parameters
    ----------
    name : str
        Of the animal.
    now : str
        Heads the alarms.
    alarms : tuple of str
        What means the veterinarian now.
    seen : tuple of str
        What the signs say.
    none : tuple of str
        Why there is no drink; empty if there is one.
    drink : DrinkOnPage or None
    """

    name: str
    now: str
    alarms: tuple[str, ...]
    seen: tuple[str, ...]
    none: tuple[str, ...]
    drink: DrinkOnPage | None

    @property
    def heard(self) -> str:
        """The gravest of it, to be read aloud first."""
        if self.alarms:
            return f"{self.now}: {' '.join(self.alarms)}"
        if self.drink is not None:
            return self.drink.agreement
        return " ".join(self.none)


def scour_asked() -> ScourAsked:
    """What is said and asked of any animal."""
    signs = tuple(
        SignAsked(sign.id, sign.ask, tuple((c.word, c.text) for c in sign.choices))
        for sign in signs_of_scour().values()
    )
    return ScourAsked(
        say("rehydrate.vet-first"),
        say("rehydrate.now-list"),
        tuple(now_list()),
        say("rehydrate.telephone"),
        signs,
    )


def scour_told(name: str, answer: Rehydration) -> ScourTold:
    """Tell one animal's answer."""
    drink = answer.drink
    none: tuple[str, ...] = ()
    if not answer.check.may_drink:
        none = (say("rehydrate.stopped"),)
    elif drink is None:
        none = tuple(none_sentences(answer))
    elif drink.judgement.verdict is Verdict.NEVER:
        none = tuple(verdict_lines_of(drink))
    told = None if none or drink is None else _drink(answer, drink)
    alarms = tuple(alarm.text for alarm in answer.check.alarms)
    return ScourTold(name, say("rehydrate.now"), alarms, _seen(answer), none, told)


def _seen(answer: Rehydration) -> tuple[str, ...]:
    check = answer.check
    if check.band is None:
        return (say("rehydrate.seen-none"),)
    told = say("rehydrate.seen", band=check.band.text, percent=check.band.percent)
    if check.missing:
        names = listed([sign.id for sign in check.missing])
        told += f" {say('rehydrate.seen-part', signs=names)}"
    return (told, scour_note()[0])


def _drink(answer: Rehydration, drink: DrinkTold) -> DrinkOnPage:
    slips = ((slip_words(slip), harm_words(slip)) for slip in drink.slips)
    outside = () if answer.good else tuple(verdict_lines_of(drink))
    return DrinkOnPage(
        agreement_words(answer),
        "" if answer.agreed else say("rehydrate.agree"),
        tuple(measure_words_of(drink)),
        say("rehydrate.mix-it"),
        say("rehydrate.never-milk"),
        tuple(read_words_of(read) for read in drink_reads(drink)),
        say("rehydrate.reads-page"),
        tuple((slip, harm) for slip, harm in slips if harm),
        say("rehydrate.slips"),
        weigh_words(answer) or "",
        say("rehydrate.when.title"),
        tuple(when_sentences(answer)),
        (*outside, *(caution.text for caution in drink.judgement.cautions)),
    )
