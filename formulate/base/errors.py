"""All errors of the program, as one tree.

::

    FormulateError                  exit status 3
    ├── InputError (ValueError)     exit status 2: something a person wrote
    │   ├── UnknownName             no such food, unit, measure or key; suggests near names
    │   ├── NotForLambs             exit status 1: a known thing that must not be fed
    │   ├── AmbiguousName           several things have that name; lists them all
    │   ├── UnitError               an amount that cannot be turned into another unit
    │   ├── MissingComposition      a demand needs a value that a food does not have
    │   ├── WrongType (TypeError)   an argument of a type that makes no sense there
    │   ├── OutOfTime               the time given was too short for any answer
    │   └── ManyFaults              every fault of a file at once
    └── SolverFault (RuntimeError)  exit status 3: no answer that can be trusted

"The answer is no" (an infeasible mix, a recipe out of range) is a result, not an error.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any, Self

from formulate.base.messages import find, listed, say

__all__ = [
    "AmbiguousName",
    "FormulateError",
    "InputError",
    "ManyFaults",
    "MissingComposition",
    "NotForLambs",
    "OutOfTime",
    "SolverFault",
    "UnitError",
    "UnknownName",
    "WrongType",
    "check_type",
    "nearest_names",
    "quoted",
    "shortened",
    "tidied",
]

#: Letters of something typed that an error quotes.
QUOTED = 60
#: Letters of one part of an error: its place, what is wrong, what would be right.
LONGEST = 400
#: Faults of a file that an error lists; the rest are counted.
TOLD = 20


def quoted(text: object) -> str:
    """Something typed, in quotation marks: cut short, its control characters escaped."""
    return f'"{_cut(tidied(str(text)), QUOTED)}"'


def tidied(text: str) -> str:
    """Text with control characters escaped, so that none moves the cursor or rings."""
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def shortened(text: str) -> str:
    """Text with its quotations cut short, and no longer than an error may be."""
    return _cut(_words_cut(text), LONGEST)


def _words_cut(text: str) -> str:
    """Text with its quotations and its long words cut short."""
    text = tidied(text)  # first: what is escaped is longer
    if len(text) <= QUOTED:
        return text
    text = re.sub(r'"([^"]{60})[^"]+"', lambda found: f'"{found[1][:-1]}…"', text)
    text = re.sub(r'(?<![^\s"])([^\s"]{60})[^\s"]+', lambda found: f"{found[1][:-1]}…", text)
    # If the typed text contains quotation marks, a word may still have any length.
    return re.sub(rf"(\S{{{QUOTED + 20}}})\S+", r"\g<1>…", text)


def nearest_names(name: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Names in `known` that look like `name`, the likest first; words may stand in any order.

    Nothing looks like a name that is longer than any.
    """
    from difflib import SequenceMatcher, get_close_matches

    if len(name) > QUOTED:
        return ()
    spelled = {other.lower(): other for other in sorted(set(known), reverse=True)}
    words = set(name.lower().replace("-", " ").split())

    def score(other: str) -> tuple[int, float]:
        shared = len(words & set(other.lower().replace("-", " ").split()))
        return (-shared, -SequenceMatcher(None, name.lower(), other.lower()).ratio())

    alike = set(get_close_matches(name.lower(), sorted(spelled), n=most, cutoff=0.6))
    alike |= {other for other in spelled if score(other)[0] < 0}
    return tuple(spelled[other] for other in sorted(sorted(alike), key=score)[:most])


def _place(where: str) -> str:
    """A place, shortened to its end, which names the file or the key."""
    where = tidied(where)  # first: what is escaped is longer
    return where if len(where) <= 2 * QUOTED else f"…{where[-2 * QUOTED :]}"


class FormulateError(Exception):
    """Base of every error that this package raises on purpose."""

    exit_status = 3


class InputError(FormulateError, ValueError):
    """Something a person wrote cannot be used.

    Parameters
    ----------
    problem : str
        What is wrong, quoting what was written.
    remedy : str
        What would be right; may be empty.
    where : str
        File, table and key, or the piece of typed text; may be empty and filled in later by
        the code that knows (`at`).

    Attributes
    ----------
    fields : tuple of str
        Which parts of a request it is about (`about`), so that a door can name its own option
        or field; may be empty.
    """

    exit_status = 2
    fields: tuple[str, ...] = ()

    def __init__(self, problem: str, remedy: str = "", where: str = "") -> None:
        self.problem, self.where = shortened(problem), _place(where)
        self.remedy = _words_cut(remedy)
        super().__init__(self.problem, self.where)

    def about(self, *fields: str) -> Self:
        """Name the parts of a request that the error is about, and return the error itself."""
        self.fields = fields
        return self

    def at(self, where: str) -> InputError:
        """Add the place, outermost first, and return the error itself."""
        where = _place(where)
        self.where = f"{where}: {self.where}" if self.where else where
        self.args = (self.problem, self.where)
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return _rebuild, (type(self), dict(self.__dict__))

    def __str__(self) -> str:
        text = f"{self.where}: {self.problem}" if self.where else self.problem
        text = text if text.endswith((".", "?", "!")) else text + "."
        return f"{text} {self.remedy}".rstrip()


def _rebuild(cls: type[InputError], state: dict[str, Any]) -> InputError:
    error = cls.__new__(cls)
    error.__dict__.update(state)
    error.args = (error.problem, error.where)
    return error


class UnknownName(InputError):
    """A name that means nothing here.

    Parameters
    ----------
    kind : str
        What was looked for: "food", "unit", "measure", "key" ... A kind that is listed in the
        catalogue, under ``errors.kind``, is named by its words there.
    name : str
        What was written.
    known : iterable of str
        All valid names; the error suggests the nearest.
    hint : str
        What to do when none is near.
    """

    def __init__(self, kind: str, name: str, known: Iterable[str] = (), hint: str = "") -> None:
        self.kind, self.name, self.known, self.hint = kind, name, known, hint
        shown = find(f"errors.kind.{kind.replace(' ', '-')}") or kind
        super().__init__(say("errors.unknown-name", kind=shown, name=_cut(name, QUOTED)))
        del self.remedy  # worked out when it is asked for

    @cached_property
    def nearest(self) -> tuple[str, ...]:
        """Known names that look like it; computed only when asked for."""
        return nearest_names(self.name, self.known)

    @cached_property
    def remedy(self) -> str:  # type: ignore[override]
        """The nearest names, and the hint."""
        near = listed(self.nearest, either=True)
        meant = say("errors.did-you-mean", names=near) if near else ""
        return f"{meant} {self.hint}".strip()

    def __reduce__(self) -> tuple[Any, ...]:
        state = {**self.__dict__, "nearest": self.nearest, "known": ()}
        return _rebuild, (type(self), state)


class NotForLambs(InputError):
    """A thing that was named in a milk and must not be fed: the answer is no.

    Parameters
    ----------
    name : str
        What was written.
    unfit_id : str
        Name in the data.
    verdict : str
        "never" or "vet".
    reason : str
        Why, as sentences.
    source, status : str
        Key of the source list; what the statement is.
    """

    exit_status = 1

    def __init__(
        self, name: str, unfit_id: str, verdict: str, reason: str, source: str, status: str
    ) -> None:
        self.name, self.unfit_id, self.verdict = name, unfit_id, verdict
        self.reason, self.source, self.status = reason, source, status
        told = "errors.never-fed" if verdict == "never" else "errors.not-fed"
        super().__init__(say(told, name=name), reason)


class AmbiguousName(InputError):
    """A name that several things go by.

    Parameters
    ----------
    kind, name : str
        What was looked for, and what was written.
    choices : sequence of str
        What would do.
    described : sequence of str
        How to tell each from the others; by default the choices themselves.
    """

    def __init__(
        self, kind: str, name: str, choices: Sequence[str], described: Sequence[str] = ()
    ) -> None:
        self.kind, self.name, self.choices = kind, name, tuple(choices)
        super().__init__(
            say("errors.ambiguous-name", kind=find(f"errors.kind.{kind}") or kind, name=name),
            say("errors.say-which", names=", ".join(described or choices)),
        )


class UnitError(InputError):
    """An amount whose unit does not fit its use."""


class WrongType(InputError, TypeError):
    """An argument of a type that makes no sense, such as a number where a recipe belongs.

    Parameters
    ----------
    what : str
        What was wanted: "recipe".
    given : object
        What was given; the error names only its type.
    hint : str
        What would be right.
    """

    def __init__(self, what: str, given: object, hint: str) -> None:
        super().__init__(say("errors.wrong-type", what=what, given=type(given).__name__), hint)


def check_type(value: object, kinds: tuple[type, ...], what: str, hint: str) -> None:
    """Refuse an argument of another type than these.

    Parameters
    ----------
    value : object
    kinds : tuple of type
    what, hint : str
        What it is called, and what would be right.

    Raises
    ------
    WrongType
    """
    if not isinstance(value, kinds):
        raise WrongType(what, value, hint)


class MissingComposition(InputError):
    """A demand needs a value that some foods do not have."""

    def __init__(self, measure: str, foods: Sequence[str], demand: str) -> None:
        self.measure, self.foods = measure, tuple(foods)
        super().__init__(
            say(
                "errors.missing-composition",
                foods=listed(foods),
                count=len(foods),
                measure=measure,
                demand=demand,
            ),
            say("errors.missing-is-not-zero"),
        )


class OutOfTime(InputError):
    """A search whose time ended before it had any answer.

    Parameters
    ----------
    seconds : float
        What it was given.
    """

    fields = ("time_limit",)

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        super().__init__(
            say("errors.no-answer-in-time", seconds=seconds), say("errors.allow-more-time")
        )


class ManyFaults(InputError):
    """Every fault of one file, reported together."""

    def __init__(self, faults: Sequence[InputError]) -> None:
        self.faults = tuple(faults)
        super().__init__(say("errors.faults", count=len(self.faults)))

    def __str__(self) -> str:
        told: list[str] = []
        remedies: set[str] = set()
        for fault in self.faults[:TOLD]:
            text, remedy = str(fault), fault.remedy
            # What would be right is said once, where the same is wrong again and again.
            told.append(text.removesuffix(remedy).rstrip() if remedy in remedies else text)
            remedies.add(remedy)
        more = len(self.faults) - TOLD
        return "\n".join([*told, say("errors.more-faults", count=more)] if more > 0 else told)


class SolverFault(FormulateError, RuntimeError):
    """The solver gave no answer, or one whose certificate is out of tolerance."""
