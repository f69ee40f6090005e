"""Work out the cost of the season: one question, and one whole answer for every door.

Beside the milks in use stands what the same animals would have cost on each other recipe of the
pantry, all their lives; each is judged for the animals that would drink it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from formulate.answers.milks import FedMilk, milks_of, worst
from formulate.answers.shop import LeftOut, ShopAnswer, drinkers_of, shop
from formulate.answers.verdict import Verdict
from formulate.base.clock import Clock
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.pantry.pantry import Pantry
from formulate.rearing.feeding import shortfall
from formulate.rearing.flock_file import FlockRead
from formulate.shopping.drinkers import Drinkers
from formulate.shopping.season import (
    AnimalSeason,
    Estimate,
    MilkSeason,
    animal_seasons,
    hours_of,
    milk_season,
)
from formulate.shopping.task import ShopRequest

__all__ = ["MilkBeside", "SeasonAnswer", "season"]

#: Longest search for the shopping of another milk, that is only compared [s].
COMPARED_SECONDS = 5.0
#: Share of the time for the shopping of the milks in use.
_OWN = 0.5


@brief_repr
@dataclass(frozen=True, slots=True)
class MilkBeside:
    """Another recipe, with all animals on it.

    Parameters
    ----------
    season : MilkSeason
    milks : tuple of FedMilk
        The recipe, judged for each species that would drink it.
    too_weak : bool
        Whether some animal cannot drink enough of it at these feeding times.
    """

    season: MilkSeason
    milks: tuple[FedMilk, ...]
    too_weak: bool

    @property
    def verdict(self) -> Verdict:
        """The worst, over the species that would drink it."""
        return worst(self.milks)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What speaks against it."""
        found = [say("shop.season.weak")] if self.too_weak else []
        if any(milk.permission is not None for milk in self.milks):
            found.append(say("shop.season.word"))
        outside = [milk for milk in self.milks if milk.verdict is Verdict.OUTSIDE]
        if outside and len(outside) == len(self.milks):
            found.append(say("shop.season.outside"))
        elif outside:
            found.append(
                say(
                    "shop.season.outside-for", kinds=say(f"words.species.{outside[0].species}-many")
                )
            )
        return tuple(found)


@dataclass(frozen=True)
class SeasonAnswer(Renderable):
    """A season: litres, money, hours, dates, and the shopping from today on.

    Parameters
    ----------
    shopping : ShopAnswer
        With the milks, each judged.
    animals : tuple of AnimalSeason
        Those whose milk may be fed.
    own : MilkSeason or None
        The milks in use; None if none may be fed.
    too_weak : bool
        Whether some animal cannot drink enough at these feeding times.
    others : tuple of MilkBeside
        The cheapest first.
    left_out : tuple of LeftOut
        Recipes of the pantry that are not compared.
    hours : Estimate
        Of feeding and mixing from today on [h].
    """

    shopping: ShopAnswer
    animals: tuple[AnimalSeason, ...]
    own: MilkSeason | None
    too_weak: bool
    others: tuple[MilkBeside, ...]
    left_out: tuple[LeftOut, ...]
    hours: Estimate

    def __repr__(self) -> str:
        cost = "" if self.own is None else f"{self.own.cost.expected:.2f} expected"
        others = f"{len(self.others)} other milks" if self.others else ""
        return brief(self, str(self.verdict), f"{len(self.animals)} animals", cost, others)

    @property
    def verdict(self) -> Verdict:
        """The worst of all that is fed."""
        return self.shopping.verdict

    @property
    def yes(self) -> bool:
        """Whether every milk that is fed now is right."""
        return self.verdict is Verdict.INSIDE


def season(
    read: FlockRead,
    pantry: Pantry,
    request: ShopRequest | None = None,
    named: str | None = None,
) -> SeasonAnswer:
    """Work out what rearing takes and costs, from birth to weaning.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    request : ShopRequest, optional
        Its time is that of all searches together.
    named : str, optional
        One milk for all animals, instead of those that the flock file names.

    Raises
    ------
    InputError
        If a milk cannot be read, or a food of a milk in use has no price.
    """
    request = request or ShopRequest()
    clock = Clock(request.seconds)
    bought = shop(read, pantry, request, named, clock=clock.part(_OWN))
    if bought.shopping is None:
        nothing = Estimate(0.0, 0.0, 0.0)
        return SeasonAnswer(bought, (), None, False, (), (), nothing)
    task = bought.shopping.task
    animals = _animals(task.drinkers, read)
    names = [who.now.name for who in task.drinkers]
    name = names[0] if len(names) == 1 else say("shop.season.own-several")
    own = milk_season(name, animals, _paid(bought))
    same = tuple(a for a in read.flock.animals if a.name in {animal.name for animal in animals})
    fed = replace(read, flock=replace(read.flock, animals=same))
    others, left_out = _others(fed, pantry, request, bought.milks, clock)
    return SeasonAnswer(
        bought,
        animals,
        own,
        _any_short(task.drinkers),
        tuple(sorted(others, key=lambda o: (o.season.cost.expected, o.season.name))),
        left_out,
        hours_of(task.batches),
    )


def _animals(
    drinkers: Sequence[Drinkers], read: FlockRead, *, logged: bool = True
) -> tuple[AnimalSeason, ...]:
    """In the flock's order."""
    found = {
        animal.name: animal
        for who in drinkers
        for animal in animal_seasons(who.now, who.before, read.now, logged=logged)
    }
    return tuple(found[name] for name in read.flock.names if name in found)


def _paid(answer: ShopAnswer) -> float | None:
    return None if answer.plan is None else answer.plan.food_cost


def _any_short(drinkers: Sequence[Drinkers]) -> bool:
    plans = [plan for who in drinkers for plan in who.now.plans]
    return any(shortfall(plan, i) for plan in plans for i in range(len(plan.flock.animals)))


def _others(
    read: FlockRead,
    pantry: Pantry,
    request: ShopRequest,
    own: Sequence[FedMilk],
    clock: Clock,
) -> tuple[list[MilkBeside], tuple[LeftOut, ...]]:
    """The pantry's other recipes for all animals, and those that cannot be compared."""
    settled = replace(read, flock=replace(read.flock, change=None))
    drunk = {milk.name for milk in own}
    names = [name for name in pantry.recipes if drunk != {name}]
    found, left_out = [], []
    for k, name in enumerate(names):
        try:
            milks = milks_of(settled, pantry, name)
            refused = next((milk for milk in milks if not milk.may_be_fed), None)
            if refused is not None:
                why = say("shop.left-out.refused", why=refused.why_not[0].text)
                left_out.append(LeftOut(name, why))
                continue
            drinkers, _, _ = drinkers_of(settled, pantry, milks)
            animals = _animals(drinkers, settled, logged=False)
        except InputError as error:
            left_out.append(LeftOut(name, error.problem))
            continue
        part = min(clock.left() / (len(names) - k), COMPARED_SECONDS)
        bought = _bought(settled, pantry, replace(request, also=()), name, Clock(part))
        beside = milk_season(name, animals, bought)
        found.append(MilkBeside(beside, milks, _any_short(drinkers)))
    return found, tuple(left_out)


def _bought(
    read: FlockRead, pantry: Pantry, request: ShopRequest, name: str, clock: Clock
) -> float | None:
    """Whole packages from today on [money]; None if they cannot be had or kept."""
    try:
        return _paid(shop(read, pantry, request, name, clock=clock))
    except InputError:
        return None
