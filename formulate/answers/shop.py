"""Work out what to buy: one question, and one whole answer for every door.

Animals that drink one recipe drink from one batch, lambs and kids together. Nothing is bought for
a milk that may not be fed; the others are shopped for all the same, and the answer says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from formulate.answers.may_feed import Bar, bars_of
from formulate.answers.milks import FedMilk, milks_of, plans_of, worst
from formulate.answers.verdict import Verdict
from formulate.base.clock import Clock
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief
from formulate.pantry.pantry import Pantry
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.feeding import shortfall
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.mixes import FlockMilk
from formulate.shopping.drinkers import Drinkers, MilkChoice
from formulate.shopping.plan import NoShopping, Shopping, plan_shopping
from formulate.shopping.task import ShopRequest, prepare_shopping

__all__ = [
    "LeftOut",
    "PriceUsed",
    "ShopAnswer",
    "ShopRequest",
    "drinkers_of",
    "shop",
    "unplanned_of",
]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A milk that was asked for and is not used.

    Parameters
    ----------
    name : str
    why : str
    """

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class PriceUsed:
    """A package that could be bought, and its price.

    Parameters
    ----------
    food, package : str
        The package as the pantry writes it.
    grams : float
    price : float
        [money]
    priced_on : date or None
    """

    food: str
    package: str
    grams: float
    price: float
    priced_on: date | None


@dataclass(frozen=True)
class ShopAnswer(Renderable):
    """What to buy and mix, to the last milk.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    milks : tuple of FedMilk
        What the animals drink now, each judged.
    offered : tuple of FedMilk
        What else may be mixed for them, each judged.
    left_out : tuple of LeftOut
        What was asked for besides and is not used.
    unplanned : tuple of Bar
        Animals that no milk is planned for: weaned, too old, or not weighed for too long.
    shopping : Shopping, NoShopping or None
        None if no milk may be fed, or none is needed any more.
    """

    read: FlockRead
    pantry: Pantry
    milks: tuple[FedMilk, ...]
    offered: tuple[FedMilk, ...]
    left_out: tuple[LeftOut, ...]
    unplanned: tuple[Bar, ...]
    shopping: Shopping | NoShopping | None

    def __repr__(self) -> str:
        plan = self.plan
        if plan is None:
            return brief(self, str(self.verdict), "no plan")
        cost = f"{plan.cost:.2f} {self.pantry.currency}"
        return brief(
            self, str(self.verdict), f"{len(plan.trips)} trips", cost, f"{plan.fed:.1f} L fed"
        )

    @property
    def plan(self) -> Shopping | None:
        """What to buy; None if there is no such plan."""
        return self.shopping if isinstance(self.shopping, Shopping) else None

    @property
    def refused(self) -> tuple[FedMilk, ...]:
        """Milks that nothing is bought for, since they may not be fed."""
        return tuple(milk for milk in self.milks if not milk.may_be_fed)

    @property
    def taken(self) -> tuple[FedMilk, ...]:
        """Of those offered, what the plan mixes."""
        mixed = {stint.milk for stint in self.plan.stints} if self.plan else set()
        return tuple(milk for milk in self.offered if milk.name in mixed)

    @property
    def verdict(self) -> Verdict:
        """The worst of all that is fed."""
        return worst((*self.milks, *self.taken))

    @property
    def nothing_needed(self) -> bool:
        """Whether no animal drinks milk any more."""
        return not self.milks

    @property
    def yes(self) -> bool:
        """Whether all that is needed is planned, and every milk is right."""
        known = all(bar.id != "weigh-first" for bar in self.unplanned)
        planned = self.plan is not None or self.nothing_needed
        return planned and known and self.verdict is Verdict.INSIDE

    @property
    def prices(self) -> tuple[PriceUsed, ...]:
        """Every package that was weighed against the others: all are in the pantry."""
        if self.shopping is None:
            return ()
        return tuple(
            PriceUsed(item.food.id, package.words, package.grams, package.price, item.priced_on)
            for item in self.shopping.task.foods
            for package in item.packages
        )


def shop(
    read: FlockRead,
    pantry: Pantry,
    request: ShopRequest | None = None,
    named: str | None = None,
    *,
    clock: Clock | None = None,
) -> ShopAnswer:
    """Plan the cheapest shopping for a flock, to the end of its milk.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    request : ShopRequest, optional
    named : str, optional
        One milk for all animals, instead of those that the flock file names.
    clock : Clock, optional
        By default as long as the request says, from now.

    Raises
    ------
    InputError
        If a milk cannot be read, a food has no price, or the refrigerator cannot hold a day's
        milk.
    """
    request = request or ShopRequest()
    clock = clock or Clock(request.seconds)
    milks = milks_of(read, pantry, named)
    drinkers, offered, left_out = drinkers_of(read, pantry, milks, request.also)
    found: Shopping | NoShopping | None = None
    if drinkers:
        task = prepare_shopping(read.flock, pantry, read.now, drinkers, request)
        found = plan_shopping(task, clock)
    return ShopAnswer(read, pantry, milks, offered, left_out, unplanned_of(read), found)


def unplanned_of(read: FlockRead) -> tuple[Bar, ...]:
    """Animals that no milk is planned for, each with the reason."""
    bars = [bar for animal in read.flock.animals for bar in bars_of(animal, None, read.now)]
    return tuple(bar for bar in bars if not bar.harm)


def drinkers_of(
    read: FlockRead, pantry: Pantry, milks: Sequence[FedMilk], also: Sequence[str] = ()
) -> tuple[tuple[Drinkers, ...], tuple[FedMilk, ...], tuple[LeftOut, ...]]:
    """Who drinks from one batch, what else may be mixed for them, and what may not.

    Milks that may not be fed have no drinkers.
    """
    together: dict[tuple[str, str], list[tuple[FedMilk, FeedPlan]]] = {}
    for milk, plan in zip(milks, plans_of(read, milks), strict=True):
        if plan is not None:
            together.setdefault(_key(milk), []).append((milk, plan))
    drinkers: list[Drinkers] = []
    offered: list[FedMilk] = []
    left_out: dict[str, LeftOut] = {}
    for members in together.values():
        first = members[0][0]
        before = next((m.before for m, _ in members if m.blends), None)
        own = MilkChoice(_plain(first), tuple(plan for _, plan in members))
        choices = [own]
        for name in also:
            fed = _for(read, pantry, [a for m, _ in members for a in m.animals], name)
            if _key(fed[0]) in {(c.name, c.milk.recipe.text) for c in choices}:
                continue
            plans = plans_of(read, fed)
            if why := _unfit(fed, plans, own):
                left_out.setdefault(fed[0].name, LeftOut(fed[0].name, why))
                continue
            choices.append(MilkChoice(_plain(fed[0]), tuple(p for p in plans if p is not None)))
            offered += fed
        drinkers.append(Drinkers(tuple(choices), None if before is None else _plain(before)))
    return tuple(drinkers), tuple(offered), tuple(left_out.values())


def _for(read: FlockRead, pantry: Pantry, names: Sequence[str], milk: str) -> tuple[FedMilk, ...]:
    """A milk for some animals of the flock."""
    animals = tuple(animal for animal in read.flock.animals if animal.name in names)
    return milks_of(replace(read, flock=replace(read.flock, animals=animals)), pantry, milk)


def _unfit(milks: Sequence[FedMilk], plans: Sequence[FeedPlan | None], own: MilkChoice) -> str:
    """Why a milk is not mixed for some animals; empty if it can be."""
    for milk in milks:
        if not milk.may_be_fed:
            return say("shop.left-out.refused", why=milk.why_not[0].text)
    if any(map(_short, (p for p in plans if p))) and not any(map(_short, own.plans)):
        return say("shop.left-out.weak")
    return ""


def _short(plan: FeedPlan) -> bool:
    return any(shortfall(plan, i) for i in range(len(plan.flock.animals)))


def _key(milk: FedMilk) -> tuple[str, str]:
    return milk.name, milk.recipe.text


def _plain(milk: FedMilk) -> FlockMilk:
    return FlockMilk(milk.recipe, milk.mix, milk.milk)
