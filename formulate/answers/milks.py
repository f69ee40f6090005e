"""The milks of a flock: who drinks each, its judgement, and who allowed it.

Each milk is judged for the species that drinks it: lambs and kids on one recipe are two milks
here. A milk that is `vet` or `unknown` is fed only with a veterinarian's word in the flock file,
which binds to the amounts it was given for. Nothing lifts `never`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from pathlib import Path

import numpy as np

from formulate.answers.verdict import Judgement, Reason, Verdict, judge
from formulate.base.errors import InputError
from formulate.base.messages import listed, say
from formulate.base.shown import brief_repr
from formulate.blend.mix import Mix
from formulate.pantry.pantry import Pantry
from formulate.pantry.recipe import Recipe, parse_recipe
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import Animal, Flock, Permission, Species
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.limits import unplanned
from formulate.rearing.milk import Milk
from formulate.rearing.mixes import milk_named

__all__ = ["FedMilk", "fed_now", "milks_of", "plans_of", "worst"]

#: Reasons why an animal drinks no milk any more.
NO_MILK = ("weaned", "past-milk")
#: Amounts are those that were allowed where no food's share of the weight differs by more.
SAME_AMOUNTS = 1e-3


@brief_repr
@dataclass(frozen=True)
class FedMilk:
    """One milk, for one species.

    Parameters
    ----------
    recipe : Recipe
    mix : Mix
        The recipe read against the species' practical ranges.
    milk : Milk
        How strong it is.
    judgement : Judgement
    species : Species
    animals : tuple of str
        Names of those that drink it, in the flock's order.
    permission : Permission or None
        The veterinarian's word for these very amounts, where the verdict needs one.
    before : FedMilk or None
        The milk that these animals are changing from, while the change lasts.
    """

    recipe: Recipe
    mix: Mix
    milk: Milk
    judgement: Judgement
    species: Species
    animals: tuple[str, ...]
    permission: Permission | None = None
    before: FedMilk | None = None

    @property
    def name(self) -> str:
        """Name of the recipe, or its text if it has none."""
        return self.recipe.name

    @property
    def verdict(self) -> Verdict:
        """As judged; a veterinarian's word does not change it."""
        return self.judgement.verdict

    @property
    def may_be_fed(self) -> bool:
        """Whether bottles of it may be planned."""
        return self.judgement.may_be_fed or self.permission is not None

    @property
    def why_not(self) -> tuple[Reason, ...]:
        """Why no bottle of it may be planned, in order of weight; empty if one may."""
        if self.may_be_fed:
            return ()
        return tuple(r for r in self.judgement.reasons if r.verdict.rank < Verdict.OUTSIDE.rank)

    @property
    def blends(self) -> bool:
        """Whether the milk before is stirred in; one that must not be fed is not."""
        return self.before is not None and self.before.may_be_fed


def milks_of(read: FlockRead, pantry: Pantry, named: str | None = None) -> tuple[FedMilk, ...]:
    """Every milk that animals of a flock drink now, each judged.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    named : str, optional
        One milk for all animals, instead of those that the flock file names.

    Returns
    -------
    tuple of FedMilk
        In the order of the first animal that drinks each.

    Raises
    ------
    InputError
        If an animal's milk is not named or cannot be read, or a veterinarian's word does not
        say for which amounts.
    """
    flock = read.flock
    drinkers = [a for a in flock.animals if unplanned(a, read.now.date()) not in NO_MILK]
    groups: dict[tuple[str, Species, bool], list[Animal]] = {}
    for animal in drinkers:
        changes = _changing(read) and not animal.mix  # one with its own milk is on no other
        key = (named or animal.mix or flock.mix, animal.species, changes)
        groups.setdefault(key, []).append(animal)
    permissions = [(p, _shares(_allowed(p, pantry, flock))) for p in flock.permissions]
    found = []
    for (name, species, changes), animals in groups.items():
        milk = _fed(name, species, animals, flock, pantry, permissions)
        if changes and flock.change is not None:
            old = _fed(flock.change.from_mix, species, animals, flock, pantry, permissions)
            milk = replace(milk, before=old)
        found.append(milk)
    return tuple(found)


def fed_now(milks: Sequence[FedMilk]) -> tuple[FedMilk, ...]:
    """The milks, and those before them that are still stirred in."""
    found: list[FedMilk] = []
    for milk in milks:
        found.append(milk)
        if milk.before is not None and milk.may_be_fed and milk.blends:
            found.append(milk.before)
    return tuple(found)


def worst(milks: Sequence[FedMilk]) -> Verdict:
    """The worst verdict of what is fed now; inside if there is no milk."""
    return min((m.verdict for m in fed_now(milks)), key=lambda v: v.rank, default=Verdict.INSIDE)


def plans_of(
    read: FlockRead, milks: Sequence[FedMilk], days: int | None = None
) -> tuple[FeedPlan | None, ...]:
    """The feed plan of the animals on each milk; None if it may not be fed, or none can be.

    Parameters
    ----------
    read : FlockRead
    milks : sequence of FedMilk
    days : int, optional
        How many days; by default to the end of the last animal's milk.

    Raises
    ------
    InputError
        If there are fewer feeding times than an animal's age asks.

    Notes
    -----
    An animal without a weigh-in for four weeks is in no plan (`formulate.rearing.limits`).
    """
    plans = [_plan(read, milk, days) if milk.may_be_fed else None for milk in milks]
    made = [plan for plan in plans if plan is not None]
    if len(made) > 1:  # all sit down together, whatever they drink
        return tuple(None if plan is None else plan.beside(made) for plan in plans)
    return tuple(plans)


def _fed(
    name: str,
    species: Species,
    animals: Sequence[Animal],
    flock: Flock,
    pantry: Pantry,
    permissions: Sequence[tuple[Permission, dict[str, float]]],
) -> FedMilk:
    if not name:
        known = listed(list(pantry.recipes)) or say("today.no-recipes")
        raise InputError(say("today.no-mix"), say("today.name-a-mix", recipes=known), flock.where)
    found = milk_named(name, pantry, species, Path(flock.where).parent)
    judgement = judge(found.mix)
    permission = None
    if judgement.verdict in (Verdict.VET, Verdict.UNKNOWN):
        shares = _shares(found.recipe)
        permission = next((p for p, allowed in permissions if _same(allowed, shares)), None)
    names = tuple(animal.name for animal in animals)
    return FedMilk(found.recipe, found.mix, found.milk, judgement, species, names, permission)


def _plan(read: FlockRead, milk: FedMilk, days: int | None) -> FeedPlan | None:
    flock, today = read.flock, read.now.date()
    drinkers = tuple(
        animal
        for animal in flock.animals
        if animal.name in milk.animals and not unplanned(animal, today)
    )
    if not drinkers:
        return None
    change = flock.change if milk.blends else None
    old = milk.before.milk if milk.before is not None and change is not None else None
    group = replace(flock, animals=drinkers, change=change)
    # A plan asks only what was weighed and eaten, so a feed that is logged changes none of it.
    asked = replace(group, animals=tuple(_weighed(animal) for animal in drinkers))
    return _planned(asked, milk.milk, today, old, days).of(group)


def _weighed(animal: Animal) -> Animal:
    return replace(animal, milk=(), colostrum=(), temperatures=(), seen=(), notes="")


@lru_cache(maxsize=64)
def _planned(
    flock: Flock, milk: Milk, today: date, old_milk: Milk | None, days: int | None
) -> FeedPlan:
    """A plan for a day, made once for all who ask for it."""
    now = datetime.combine(today, time(12))
    return plan_feeds(flock, milk, now, old_milk=old_milk, days=days)


def _changing(read: FlockRead) -> bool:
    """Whether some of the milk before is still fed on the day, or will be."""
    change = read.flock.change
    return change is not None and read.now.date() < change.first_day + timedelta(days=change.days)


def _allowed(permission: Permission, pantry: Pantry, flock: Flock) -> Recipe:
    if permission.recipe.strip() in pantry.recipes:
        named = pantry.recipes[permission.recipe.strip()]
        raise InputError(
            say("today.veterinarian.needs-amounts", recipe=permission.recipe.strip()),
            say("today.veterinarian.write-them", text=" ".join(named.text.split())),
            f"{flock.where}: veterinarian",
        )
    try:
        return parse_recipe(permission.recipe, pantry.table, pantry.kitchen)
    except InputError as error:
        raise error.at(f"{flock.where}: veterinarian") from None


def _shares(recipe: Recipe) -> dict[str, float]:
    """Share of the weight by food: a batch of another size is the same milk."""
    total = float(np.sum(recipe.grams))
    return {food: grams / total for food, grams in recipe.by_food().items()}


def _same(one: dict[str, float], other: dict[str, float]) -> bool:
    return one.keys() == other.keys() and all(
        abs(one[food] - other[food]) <= SAME_AMOUNTS * max(one[food], other[food]) for food in one
    )
