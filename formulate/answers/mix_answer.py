"""The request for a mix, and the whole answer to it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from formulate.answers.judged import JudgedMix
from formulate.answers.verdict import Judgement, Verdict
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Problem
from formulate.blend.whole.kitchen_mix import TIME_LIMIT, NoKitchenMix
from formulate.foods.bands import BandSet, Read
from formulate.pantry.pantry import Pantry
from formulate.pantry.recipe import Recipe

if TYPE_CHECKING:
    from formulate.blend.additions import Additions
    from formulate.blend.fewest import FewestByGram
    from formulate.blend.goal import Closest, Front, OutOfReach
    from formulate.blend.portable import SecondOpinion
    from formulate.blend.prices.ranging import EntryPrice, PriceRange
    from formulate.blend.prices.shadow_prices import ShadowPrice
    from formulate.blend.protect.budgeted import BudgetedMix, OverBudget
    from formulate.blend.protect.chance import NotSure, SureMix
    from formulate.blend.protect.chance_whole import SureKitchenMix
    from formulate.blend.whole.fewest_whole import FewestMix
    from formulate.kitchen.jug import Container

__all__ = ["MixAnswer", "MixOutcome", "MixRequest", "Reasons", "Try", "TryKind"]


class MixOutcome(StrEnum):
    """How it ended."""

    MIX = "mix"
    NO_MIX = "no-mix"  # these foods cannot make it
    NO_MEASURES = "no-measures"  # they can, but no whole measures of this size do
    NOT_SURE = "not-sure"  # they can, but not so surely
    NOT_GUARDED = "not-guarded"  # they can, but not with so many foods off
    OUT_OF_REACH = "out-of-reach"  # no mix costs so little and keeps the safety limits


@brief_repr
@dataclass(frozen=True)
class MixRequest:
    """What a person wants of a mix besides what it is for.

    Parameters
    ----------
    make : float or str, optional
        How much [mL], or in words: "2 quarts". About a day for two lambs where left out.
    container : Container or str, optional
        Fill it: "1 gallon jug of whole-milk". Then `make` is not looked at.
    largest : float
        Larger batches and containers are refused [mL].
    keep_to : Recipe or str, optional
        Keep every food of this recipe and change it as little as possible.
    most_foods : int, optional
        No more foods than this.
    use_up : bool
        Use up what is on hand, what spoils first before the rest.
    by_gram : bool
        By the gram, not in whole measures.
    sure : float, optional
        Each range holds with this chance [%] although cartons vary.
    worst_case : float, optional
        By the gram: every range holds with this many foods at their worst at once.
    closest : bool
        By the gram: as near to the middles of the reference as can be, whatever its ends.
    within_cost : float, optional
        With `closest`: the most a litre may cost [money/L].
    on_request : bool
        Also propose foods that are offered only when asked for: eggs, oils, sugar, soy.
    explain : bool
        Say what each demand costs and which prices would change the mix.
    opinion : bool
        Let another solver solve it too.
    confidence : bool
        Say how sure it is.
    time_limit : float
        Longest search for whole measures [s].
    """

    make: float | str | None = None
    container: Container | str | None = None
    largest: float = math.inf
    keep_to: Recipe | str | None = None
    most_foods: int | None = None
    use_up: bool = False
    by_gram: bool = False
    sure: float | None = None
    worst_case: float | None = None
    closest: bool = False
    within_cost: float | None = None
    on_request: bool = False
    explain: bool = False
    opinion: bool = False
    confidence: bool = True
    time_limit: float = TIME_LIMIT


@brief_repr
@dataclass(frozen=True)
class Reasons:
    """Why the cheapest mix by the gram is what it is.

    Parameters
    ----------
    limit_costs : tuple of ShadowPrice
        What each demand costs.
    entries : tuple of EntryPrice
        At what price a food that is left out comes in.
    ranges : tuple of PriceRange
        Between which prices the recipe stays.
    """

    limit_costs: tuple[ShadowPrice, ...]
    entries: tuple[EntryPrice, ...]
    ranges: tuple[PriceRange, ...]


class TryKind(StrEnum):
    """What may be tried next."""

    SURER = "surer"
    CHEAPEST = "cheapest"
    FEWER_FOODS = "fewer-foods"
    ANY_NUMBER = "any-number"
    ADD = "add"


@dataclass(frozen=True)
class Try:
    """Something to try next.

    Parameters
    ----------
    kind : TryKind
    foods : tuple of str
        Ids to add.
    shares : tuple of float
        Of the mix, by weight [g/g]; empty if it was not worked out.
    cost_per_litre : float or None
        Of a mix with them [money/L]; None if a price is missing.
    asks_price : bool
        Whether the pantry has no price for one of the foods.
    count : int
        Most foods, where fewer are to be tried.
    """

    kind: TryKind
    foods: tuple[str, ...] = ()
    shares: tuple[float, ...] = ()
    cost_per_litre: float | None = None
    asks_price: bool = False
    count: int = 0


@dataclass(frozen=True)
class MixAnswer(Renderable):
    """What to mix, or why not and what comes nearest.

    Parameters
    ----------
    pantry : Pantry
    bands : BandSet
        What it is for.
    request : MixRequest
        As read: words turned into amounts, containers and recipes.
    outcome : MixOutcome
    milk : JudgedMix or None
        What was asked for; None if there is none.
    instead : JudgedMix or None
        Where there is none, what comes nearest: the nearest mix, the nearest size that works,
        the surest mix. None if there is none of these either.
    nearest : JudgedMix or None
        Where the foods cannot make it: the nearest mix by the gram, beside `instead`.
    one_night : bool or None
        Whether the nearest mix, `instead`, will do for one night although it misses its range;
        None if there is none.
    plain : JudgedMix or None
        Where no mix is so sure: the cheapest of average cartons.
    no : NoMix, NoKitchenMix, NotSure, OverBudget, OutOfReach or None
        Why there is none.
    exact : Mix or None
        The cheapest by the gram, of the same size.
    problem : Problem or None
        By the gram, of the size of `exact`.
    protected : SureMix, SureKitchenMix, BudgetedMix or None
        What being sure promises and costs.
    surer : SureMix, NotSure or None
        What holding each range in 19 batches out of 20 would cost, by the gram, where the milk
        holds some range less often; None if it does, or being sure was asked for.
    closest : Closest or None
        How far from the middles of the reference, where that was asked.
    front : Front or None
        And what the next cents buy.
    fewest : FewestMix, FewestByGram or None
        How few foods, and how far from the middles, where no food has a price.
    additions : Additions or None
        What would help, where the foods cannot make it.
    reasons : Reasons or None
        Where they were asked for; None too if the solver could not tell.
    opinion : SecondOpinion or None
    tries : tuple of Try
        What to try next, the likeliest first.
    """

    pantry: Pantry
    bands: BandSet
    request: MixRequest
    outcome: MixOutcome
    milk: JudgedMix | None = None
    instead: JudgedMix | None = None
    nearest: JudgedMix | None = None
    one_night: bool | None = None
    plain: JudgedMix | None = None
    no: NoMix | NoKitchenMix | NotSure | OverBudget | OutOfReach | None = None
    exact: Mix | None = field(default=None, repr=False)
    problem: Problem | None = field(default=None, repr=False)
    protected: SureMix | SureKitchenMix | BudgetedMix | None = None
    surer: SureMix | NotSure | None = None
    closest: Closest | None = None
    front: Front | None = None
    fewest: FewestMix | FewestByGram | None = None
    additions: Additions | None = field(default=None, repr=False)
    reasons: Reasons | None = field(default=None, repr=False)
    opinion: SecondOpinion | None = None
    tries: tuple[Try, ...] = ()

    def __repr__(self) -> str:
        if self.milk is not None:
            return brief(self, str(self.milk.judgement.verdict), repr(self.milk.mix))
        nearest = "" if self.instead is None else f"instead {self.instead.mix!r}"
        return brief(self, str(self.outcome), f"for {self.bands.name}", nearest)

    def __getitem__(self, key: str | tuple[str, str]) -> Read:
        """One read of the milk, by its measure, as of a `Mix`.

        Raises
        ------
        InputError
            If there is no such milk.
        UnknownName
            If it is not read.
        """
        if self.milk is None:
            raise InputError(say("library.no-milk"), say("library.look-instead"))
        return self.milk.mix[key]

    @property
    def judgement(self) -> Judgement | None:
        """Of the milk; None if there is none."""
        return None if self.milk is None else self.milk.judgement

    @property
    def verdict(self) -> Verdict | None:
        """On the milk; None if there is none."""
        return None if self.milk is None else self.milk.judgement.verdict

    @property
    def yes(self) -> bool:
        """Whether there is such a milk, and it is inside every range that matters."""
        return self.milk is not None and self.milk.judgement.verdict is Verdict.INSIDE
