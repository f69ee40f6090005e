"""What the mix is for, how much of it and in what container, as typed on the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from werkzeug.datastructures import MultiDict

from formulate.answers.bands import ranges
from formulate.answers.mix import usual_size
from formulate.answers.mix_answer import MixRequest
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import Kitchen, parse_decimal
from formulate.pantry.pantry import Pantry

__all__ = ["CHANCES", "SURE", "USUAL", "Aim", "Choice", "choices", "containers", "decimal_of",
           "seconds_of"]  # fmt: skip

#: The two that most people mean; the rest are one tap away.
USUAL = ("lamb-replacer", "kid-replacer")
#: Longest search of one request [s], and the longest that may be asked for; the page says so
#: where it was not enough.
PATIENCE, LONGEST = 2.0, 60.0
#: Most that a household's page is asked for [mL].
MOST_VOLUME = 1e6
#: Fields of a request, as the page's own.
_FIELDS = {
    "reference": "whom",
    "make": "make",
    "container": "container",
    "most_foods": "most",
    "sure": "sure",
    "worst_case": "worst",
    "opinion": "opinion",
    "time_limit": "seconds",
    "use_up": "use-up",
    "keep_to": "keep-to",
    "by_gram": "by-gram",
    "closest": "closest",
    "within_cost": "within",
    "explain": "why",
}
#: Chances of each range that may be asked for [%]; "make it surer" asks for the second (judgement).
CHANCES = ("80", "90", "95", "99")
SURE = CHANCES[1]


@dataclass(frozen=True)
class Choice:
    """One thing to choose.

    Parameters
    ----------
    value : str
    words : str
    """

    value: str
    words: str


@dataclass(frozen=True)
class Aim:
    """What a person wants of the mix.

    Parameters
    ----------
    whom : str
        Name of a set of ranges.
    make : str
        How much, as typed.
    container : str
        In what, as typed; empty: in nothing in particular.
    sure : str
        With this chance each range holds although cartons vary [%], as typed; empty: as it comes.
    worst : str
        So many foods may be at their worst at once, as typed; empty: none.
    most : str
        No more foods than this, as typed.
    keep_to : str
        A recipe to keep to, changed as little as can be; empty: none.
    use_up : bool
        Whether what is on hand is used up first.
    by_gram : bool
        Whether it is weighed, not measured in cups and spoons.
    why : bool
        Whether it says what each demand costs.
    numbers : bool
        Whether it shows the numbers behind that.
    opinion : bool
        Whether another solver solves it too.
    seconds : str
        Longest search, as typed; empty: a short one.
    on_request : bool
        Whether foods that are offered only when asked for are proposed too.
    closest : bool
        Whether it is as close as possible to the middle of its ranges, not the cheapest.
    within : str
        The most that a litre may then cost, as typed; empty: no limit.
    """

    whom: str = USUAL[0]
    make: str = ""
    container: str = ""
    sure: str = ""
    worst: str = ""
    most: str = ""
    keep_to: str = ""
    use_up: bool = False
    by_gram: bool = False
    why: bool = False
    numbers: bool = False
    opinion: bool = False
    seconds: str = ""
    on_request: bool = False
    closest: bool = False
    within: str = ""

    @classmethod
    def of(cls, form: MultiDict[str, str], pantry: Pantry) -> Aim:
        """What a form says; what it does not say is as usual."""
        texts = ("sure", "worst", "most", "keep_to", "within", "seconds")
        ticks = ("use_up", "by_gram", "why", "numbers", "opinion", "on_request", "closest")
        fields: dict[str, Any] = {name: form.get(name, "").strip() for name in texts}
        fields |= {name: name in form for name in ticks}
        return cls(
            whom=form.get("whom", USUAL[0]),
            make=" ".join(form.get("make", "").split()) or usual_size(pantry),
            container=" ".join(form.get("container", "").split()),
            **fields,
        )

    @property
    def wishes(self) -> bool:
        """Whether more than the usual is wished for."""
        usual = Aim(self.whom, self.make)
        return self != usual

    def request(self) -> MixRequest:
        """What is asked of the mix.

        Raises
        ------
        InputError
            If something that was typed cannot be what it stands for.
        """
        most = _count(self.most, "most_foods")
        within = decimal_of(self.within.strip("$€£ "), "within_cost")
        return MixRequest(
            make=None if self.container else self.make,
            container=self.container or None,
            most_foods=most,
            sure=decimal_of(self.sure, "sure"),
            worst_case=decimal_of(self.worst, "worst_case"),
            keep_to=self.keep_to or None,
            use_up=self.use_up,
            by_gram=self.by_gram,
            explain=self.why or self.numbers,
            opinion=self.opinion,
            on_request=self.on_request,
            closest=self.closest,
            within_cost=within,
            largest=MOST_VOLUME,
            time_limit=seconds_of(self.seconds, PATIENCE, LONGEST, "time_limit"),
        )

    @staticmethod
    def field_of(fault: InputError) -> str:
        """The field of the page that a fault is about."""
        return next((_FIELDS[name] for name in fault.fields if name in _FIELDS), "container")


def _count(text: str, field: str) -> int | None:
    """A number of foods, as typed; None if nothing was."""
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and 0 < int(text[:6]) < 100):
        raise InputError(
            say("page.most-foods", text=text[:20]), say("page.most-foods-remedy")
        ).about(field)
    return int(text)


def decimal_of(text: str, field: str) -> float | None:
    """A number as typed; None if nothing was. The answer says what it may be."""
    if not text:
        return None
    try:
        return parse_decimal(text.removesuffix("%").strip())
    except InputError as error:
        raise error.about(field) from None


def seconds_of(text: str, usual: float, most: float = LONGEST, field: str = "seconds") -> float:
    """The longest search that was asked for [s].

    Raises
    ------
    InputError
        If it is no number of seconds, or too many.
    """
    seconds = decimal_of(text.strip(), field)
    if seconds is None:
        return usual
    if not 0.1 <= seconds <= most:
        raise InputError(
            say("page.no-seconds", text=text[:20]), say("page.no-seconds-remedy", most=most)
        ).about(field)
    return seconds


def choices(pantry: Pantry) -> tuple[tuple[Choice, ...], tuple[Choice, ...]]:
    """The usual aims, and the others."""
    words = {"lamb-replacer": "lambs", "kid-replacer": "kids"}
    usual = tuple(Choice(name, words[name]) for name in USUAL)
    others = tuple(Choice(s.name, s.title) for s in ranges(pantry).sets if s.name not in USUAL)
    return usual, others


def containers(kitchen: Kitchen) -> tuple[str, ...]:
    """Containers to propose."""
    if kitchen.metric:
        return ("2 L jug of whole-milk", "1 L bottle", "2 L bottle", "5 L bucket")
    return ("1 gallon jug of whole-milk", "half-gallon jug of whole-milk", "1 quart jar",
            "half-gallon jar")  # fmt: skip
