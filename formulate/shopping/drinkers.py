"""Who drinks which milk: animals that share a batch, and the milks it can consist of.

A *column* stands for one milk in one stretch of days for one group of drinkers. Exactly one
column of each group and stretch is chosen; a change from one milk to another is gradual, so a
chosen milk extends into the next stretch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.shown import brief_repr
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.figures import value
from formulate.rearing.mixes import FlockMilk
from formulate.shopping.batches import Batches, round_up

__all__ = ["Column", "Columns", "Drinkers", "MilkChoice", "columns_of", "milks_in"]

Array = NDArray[np.float64]


@brief_repr
@dataclass(frozen=True)
class MilkChoice:
    """A milk that some animals can be fed.

    Parameters
    ----------
    milk : FlockMilk
    plans : tuple of FeedPlan
        Of the animals on it, from one day on; lambs and kids have a plan each.
    """

    milk: FlockMilk
    plans: tuple[FeedPlan, ...]

    @property
    def name(self) -> str:
        """Of the milk."""
        return self.milk.milk.name


@brief_repr
@dataclass(frozen=True)
class Drinkers:
    """Animals that drink from one batch.

    Parameters
    ----------
    choices : tuple of MilkChoice
        What they drink now comes first, then the alternatives.
    before : FlockMilk or None
        The milk that is still stirred in.
    """

    choices: tuple[MilkChoice, ...]
    before: FlockMilk | None = None

    @property
    def now(self) -> MilkChoice:
        """What they drink now."""
        return self.choices[0]

    @property
    def animals(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(name for plan in self.now.plans for name in plan.flock.names)


def milks_in(drinkers: Sequence[Drinkers]) -> tuple[FlockMilk, ...]:
    """Every milk that may have to be mixed, each once: those drunk now first."""
    found = [d.now.milk for d in drinkers]
    found += [choice.milk for d in drinkers for choice in d.choices[1:]]
    found += [d.before for d in drinkers if d.before is not None]
    once: dict[tuple[str, str], FlockMilk] = {}
    for milk in found:
        once.setdefault(_key(milk), milk)
    return tuple(once.values())


def _key(milk: FlockMilk) -> tuple[str, str]:
    return milk.milk.name, milk.recipe.text


@brief_repr
@dataclass(frozen=True, slots=True)
class Column:
    """One milk in one stretch of days for one group of drinkers.

    Parameters
    ----------
    drinkers : int
        Their number.
    stretch : int
        Its number.
    first_batch : int
        Of the stretch.
    milk : FlockMilk
    """

    drinkers: int
    stretch: int
    first_batch: int
    milk: FlockMilk


@brief_repr
@dataclass(frozen=True, eq=False)
class Columns(ByContent):
    """Every possible choice, with what it feeds and mixes.

    Parameters
    ----------
    columns : tuple of Column
    groups : tuple of tuple of int
        Columns of which exactly one is chosen.
    fed : ndarray, shape (n_batches, n_columns)
        Fed from each batch [L].
    mixed : ndarray, shape (n_milks, n_batches, n_columns)
        Mixed of each milk [L], in the order of `milks_in`.
    """

    columns: tuple[Column, ...]
    groups: tuple[tuple[int, ...], ...]
    fed: Array
    mixed: Array


def columns_of(
    drinkers: Sequence[Drinkers],
    batches: Sequence[Sequence[Batches]],
    starts: Sequence[int],
    step: float,
) -> Columns:
    """What each choice of milk in each stretch of days feeds and mixes.

    Drinkers that have one milk have one stretch. The milk they drink now is what comes before
    the first; while they are only changing to that, nothing else is offered.

    Parameters
    ----------
    drinkers : sequence of Drinkers
    batches : sequence of sequence of Batches
        For each, of each of their milks.
    starts : sequence of int
        First batch of each stretch.
    step : float
        To what a batch is measured [L].
    """
    milks = [_key(milk) for milk in milks_in(drinkers)]
    count = max(len(b) for of_one in batches for b in of_one)
    columns: list[Column] = []
    groups: list[tuple[int, ...]] = []
    for number, who in enumerate(drinkers):
        stretches = starts if len(who.choices) > 1 else starts[:1]
        for k, start in enumerate(stretches):
            first = len(columns)
            columns += [Column(number, k, start, choice.milk) for choice in who.choices]
            only = first + 1 if k == 0 and batches[number][0].old.any() else len(columns)
            groups.append(tuple(range(first, only)))
    fed = np.zeros((count, len(columns)))
    mixed = np.zeros((len(milks), count, len(columns)))
    for number, who in enumerate(drinkers):
        mine = [c for c, column in enumerate(columns) if column.drinkers == number]
        stretches = starts if len(who.choices) > 1 else starts[:1]
        for m, (choice, its) in enumerate(zip(who.choices, batches[number], strict=True)):
            new, old = (np.pad(a, (0, count - len(its))) for a in (its.new, its.old))
            made, made_old = round_up(new, step), round_up(old, step)
            row = milks.index(_key(choice.milk))
            before = None if who.before is None else milks.index(_key(who.before))
            for b in range(count):
                for at, part in _parts(b, m, len(who.choices), stretches, its.keeps):
                    column = mine[at]
                    fed[b, column] += part * (new[b] + old[b])
                    mixed[row, b, column] += part * made[b]
                    if before is not None:
                        mixed[before, b, column] += part * made_old[b]
    return Columns(tuple(columns), tuple(groups), fed, mixed)


def _parts(
    b: int, milk: int, milks: int, starts: Sequence[int], keeps: int
) -> list[tuple[int, float]]:
    """The columns of some drinkers by which a batch holds a milk, and what part of it.

    Parameters
    ----------
    b : int
        Batch.
    milk, milks : int
        Number of the milk, and how many there are.
    starts : sequence of int
        First batch of each stretch.
    keeps : int
        Days that a batch is fed for.
    """
    k = int(np.searchsorted(starts, b, side="right")) - 1
    rising = min(((b - starts[k]) * keeps + 1) / (value("change-days") + 1), 1.0)
    if k == 0 and milk == 0:
        # What they drink now comes before the first stretch too.
        found = [(0, 1.0), *((other, 1.0 - rising) for other in range(1, milks))]
    else:
        found = [(k * milks + milk, rising)]
        if k > 0:
            found.append(((k - 1) * milks + milk, 1.0 - rising))
    return [(column, part) for column, part in found if part > 0]
