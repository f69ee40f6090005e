"""What the mix is for, how much of it and in what container, as typed on the page."""

from __future__ import annotations

from dataclasses import dataclass

from werkzeug.datastructures import MultiDict

from formulate.answers.bands import ranges
from formulate.answers.mix import usual_size
from formulate.answers.mix_answer import MixRequest
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.units import Kitchen
from formulate.pantry.pantry import Pantry
from formulate.pantry.price import parse_price

__all__ = ["Aim", "Choice", "choices", "containers"]

#: The two that most people mean; the rest are one tap away.
USUAL = ("lamb-replacer", "kid-replacer")
#: Longest search of one request [s]; the page says so where it was not enough.
PATIENCE = 2.0
#: Most that a household's page is asked for [mL].
MOST_VOLUME = 1e6
#: Fields of a request, as the page's own.
_FIELDS = {
    "reference": "whom",
    "make": "make",
    "container": "container",
    "most_foods": "most",
    "sure": "sure",
    "use_up": "use-up",
    "keep_to": "keep-to",
    "by_gram": "by-gram",
    "closest": "closest",
    "within_cost": "within",
    "explain": "why",
}
#: Chance of each range that "make it surer" asks for [%] (judgement).
SURE = 90.0


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
    sure : bool
        Whether to keep clear of the ends of each range, as far as cartons vary.
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
    sure: bool = False
    most: str = ""
    keep_to: str = ""
    use_up: bool = False
    by_gram: bool = False
    why: bool = False
    on_request: bool = False
    closest: bool = False
    within: str = ""

    @classmethod
    def of(cls, form: MultiDict[str, str], pantry: Pantry) -> Aim:
        """What a form says; what it does not say is as usual."""
        return cls(
            form.get("whom", USUAL[0]),
            " ".join(form.get("make", "").split()) or usual_size(pantry),
            " ".join(form.get("container", "").split()),
            "sure" in form,
            form.get("most", "").strip(),
            form.get("keep_to", "").strip(),
            "use_up" in form,
            "by_gram" in form,
            "why" in form,
            "on_request" in form,
            "closest" in form,
            form.get("within", "").strip(),
        )

    @property
    def wishes(self) -> bool:
        """Whether more than the usual is wished for."""
        typed = self.container or self.most or self.keep_to or self.within
        ticked = self.sure or self.use_up or self.by_gram or self.why
        return bool(typed or ticked or self.on_request or self.closest)

    def request(self) -> MixRequest:
        """What is asked of the mix.

        Raises
        ------
        InputError
            If there is no such number of foods, or the cost of a litre is no price.
        """
        most = None
        if self.most:
            if not (self.most.isascii() and self.most.isdigit() and 0 < int(self.most[:6]) < 100):
                raise InputError(
                    say("page.most-foods", text=self.most[:20]), say("page.most-foods-remedy")
                ).about("most_foods")
            most = int(self.most)
        within = None
        if self.within:
            try:
                within = parse_price(self.within)
            except InputError as error:
                raise error.about("within_cost") from None
        return MixRequest(
            make=None if self.container else self.make,
            container=self.container or None,
            most_foods=most,
            sure=SURE if self.sure else None,
            keep_to=self.keep_to or None,
            use_up=self.use_up,
            by_gram=self.by_gram,
            explain=self.why,
            on_request=self.on_request,
            closest=self.closest,
            within_cost=within,
            largest=MOST_VOLUME,
            time_limit=PATIENCE,
        )

    @staticmethod
    def field_of(fault: InputError) -> str:
        """The field of the page that a fault is about."""
        return next((_FIELDS[name] for name in fault.fields if name in _FIELDS), "container")


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
