"""Find the foods that would make a mix possible.

That a shelf makes no mix is proved by numbers: weights on its limits and on the size whose sum no
food of the shelf can satisfy (the dual of the least total miss; Farkas). One such refutation
applies to every food: a food that does not break it cannot help, neither alone nor beside others
that do not break it either. So most foods, and most pairs, are settled by one matrix
product, and each of the rest by a linear program that brings either a mix or a new refutation.

If some food helps alone, pairs with known prices are tried too, and listed if their mix is cheaper
than that of any single food with a known price. The duals of a mix with one food bound
what a second could save, so few pairs are solved.

One rule sets the amounts. If every food has a price, they are those of the cheapest mix. Otherwise
they are those of the mix that needs the least weight of the added foods and, with those amounts,
costs least (a food without a price counts as free).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from formulate.base.errors import InputError, SolverFault
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.blend.mix import Mix, Status, finish, optimise
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.solve import LinearProgram, Optimal, solve
from formulate.foods.bands import numerator_for
from formulate.foods.food import Food
from formulate.foods.measures import measure

__all__ = ["Additions", "Help", "ToBuy", "what_would_help"]

Array = NDArray[np.float64]

#: A total miss this large, in scaled rows per mL of mix, refutes; below it the program decides.
REFUTED = 1e-8
#: A pair must be cheaper than a single food by at least this share of its cost, and no more pairs
#: than this are listed.
CHEAPER, MOST_PAIRS = 1e-3, 5


@dataclass(frozen=True, slots=True)
class ToBuy:
    """What a batch takes of a food that is not on the shelf.

    Parameters
    ----------
    food : str
        Id.
    grams : float
        Weight in the batch [g].
    count : int
        Packages that hold it; 0 where none is known.
    package : str
        "can", "1 gallon"; empty if none is known.
    """

    food: str
    grams: float
    count: int = 0
    package: str = ""


@brief_repr
@dataclass(frozen=True)
class Help:
    """Foods that would make a mix possible, and how.

    Parameters
    ----------
    foods : tuple of Food
        One, or a pair.
    shares : tuple of float
        Share of the mix each takes, by weight [g/g].
    cost_per_litre : float or None
        Of that mix [money/L]; None if a food in it has no price.
    mix : Mix
        The mix of the shelf and the added foods, which come last.
    to_buy : tuple of ToBuy
        Of each food, for the batch.
    """

    foods: tuple[Food, ...]
    shares: tuple[float, ...]
    cost_per_litre: float | None
    mix: Mix
    to_buy: tuple[ToBuy, ...] = ()

    @property
    def ids(self) -> tuple[str, ...]:
        """Food ids."""
        return tuple(food.id for food in self.foods)


@brief_repr
@dataclass(frozen=True)
class Additions:
    """Every addition that would help, and what was tried.

    Parameters
    ----------
    singles : tuple of Help
        Foods that help alone: cheapest mix first, then those without a price by least share.
    pairs : tuple of Help
        In the same order. Where some food helps alone: only pairs that make a cheaper mix than
        any food whose price is known, `MOST_PAIRS` of them at the most.
    tried : tuple of str
        Ids of every food tried.
    unknown : tuple of (str, str)
        Foods that could not be tried, each with the value it lacks.
    pairs_tried : bool
        Whether every pair was tried, because no food helps alone.
    """

    singles: tuple[Help, ...]
    pairs: tuple[Help, ...]
    tried: tuple[str, ...]
    unknown: tuple[tuple[str, str], ...] = ()
    pairs_tried: bool = False

    @property
    def found(self) -> tuple[Help, ...]:
        """Single foods and pairs: the cheapest mix first, then those without a price."""
        return tuple(sorted((*self.singles, *self.pairs), key=_told_first))


def what_would_help(
    problem: Problem,
    candidates: Shelf,
    *,
    on_request: bool = False,
    pairs: bool = True,
    packages: Mapping[str, tuple[str, float]] | None = None,
) -> Additions:
    """Try every candidate that is not on the shelf, and pairs where they may do better.

    Parameters
    ----------
    problem : Problem
        Without a mix.
    candidates : Shelf
        Foods to try, each within its largest share and stock; NaN where one has no price.
    on_request : bool
        Also try foods that are not plain dairy or water (eggs, oils, sugars, soy).
    pairs : bool
        Look for pairs: all where no food helps alone, else those that are cheaper.
    packages : mapping of str to (str, float), optional
        Words and weight [g] of a package by food id; the cans of the food table where left out.

    Raises
    ------
    InputError
        If the shelf makes a mix already.
    """
    if optimise(problem, np.zeros(len(problem.shelf.foods))) is not None:
        raise InputError(say("mix.already-a-mix"))
    wanted = [
        j
        for j, food in enumerate(candidates.foods)
        if food.id not in problem.shelf.ids
        and (food.suitable or on_request or problem.bands.drink)
        and (problem.bands.drink or not food.drink_only)
    ]
    unknown = _lacking(problem, candidates, wanted)
    wanted = [j for j in wanted if candidates.ids[j] not in unknown]
    told = tuple(unknown.items())
    if not wanted:
        return Additions((), (), (), told)
    pool = _Pool(problem, candidates.take(wanted), packages)
    found = pool.try_all((j,) for j in range(len(wanted)))
    look = pairs and not found
    beside: tuple[Help, ...] = ()
    if look:
        beside = pool.try_all(combinations(range(len(wanted)), 2))
    elif pairs:
        beside = pool.cheaper_pairs(found)
    return Additions(
        singles=found,
        pairs=beside,
        tried=pool.added.ids,
        unknown=told,
        pairs_tried=look,
    )


def _lacking(problem: Problem, candidates: Shelf, wanted: Sequence[int]) -> dict[str, str]:
    """Foods that lack a value some limit needs, each with the first such value."""
    composition = candidates.composition
    needed = {"volume": composition.row("volume")}
    for band in problem.bands.binding:
        needed.setdefault(band.denominator, composition.row(band.denominator))
        row, _ = numerator_for(band, composition, problem.shelf.like)
        needed[band.measure] = row + 0.0 * needed.get(band.measure, row)  # a gap in either stays
    lacking: dict[str, str] = {}
    for j in wanted:
        for name, row in needed.items():
            if math.isnan(row[j]):
                lacking.setdefault(candidates.ids[j], measure(name).label)
    return lacking


class _Pool:
    """A shelf and everything that may be added to it, with the refutations found so far.

    Parameters
    ----------
    problem : Problem
        Of the shelf alone.
    added : Shelf
        Foods to try, none of them on the shelf.
    packages : mapping, optional
        As in `what_would_help`.
    """

    def __init__(
        self,
        problem: Problem,
        added: Shelf,
        packages: Mapping[str, tuple[str, float]] | None = None,
    ) -> None:
        self.problem, self.added = problem, added
        if packages is None:
            cans = {food.id: food.counts().get("can") for food in added.foods}
            packages = {food: ("can", weight) for food, weight in cans.items() if weight}
        self.packages = packages
        self.n = len(problem.shelf.foods)
        self.all = build(_join(problem.shelf, added), problem.bands, problem.volume)
        self.owner = np.array(
            [self.all.shelf.ids.index(x.food) if x.food else -1 for x in self.all.limits], dtype=int
        )
        room = self.all.shelf.composition.row("volume")
        # No millilitre of mix weighs more than its heaviest food, nor holds more of a food than
        # its share of that, nor more than there is.
        self.most = np.minimum(
            self.all.shelf.largest_share * float((1.0 / room).max()),
            self.all.shelf.on_hand / problem.volume,
        )[self.n :]
        self.misses: Array = np.empty(0)
        self.gains: Array = np.empty((0, len(added.foods)))
        self.refute(())

    def try_all(self, additions: Iterable[tuple[int, ...]]) -> tuple[Help, ...]:
        """The additions that help, in the order in which they are listed."""
        helps = [
            help_
            for addition in additions
            if not self.refuted(addition)
            and not self.refute(addition)
            and (help_ := self.help_of(addition)) is not None
        ]
        return tuple(sorted(helps, key=_told_first))

    def cheaper_pairs(self, singles: Sequence[Help]) -> tuple[Help, ...]:
        """Pairs whose mix costs less than any with a single food whose price is known."""
        if not np.isfinite(self.problem.shelf.price).all():
            return ()
        priced = np.flatnonzero(np.isfinite(self.added.price)).tolist()
        cost = {h.ids[0]: h.cost_per_litre for h in singles if h.cost_per_litre is not None}
        least = min(cost.values(), default=math.inf) * (1 - CHEAPER)
        floors = {j: self.floors(j) for j in priced if self.added.ids[j] in cost}
        none = np.full(len(self.added.foods), -math.inf)
        hopeful = [
            (i, j)
            for i, j in combinations(priced, 2)
            if max(floors.get(i, none)[j], floors.get(j, none)[i]) * 1e3 < least
        ]
        found = [
            pair
            for pair in self.try_all(hopeful)
            if pair.cost_per_litre is not None
            and pair.cost_per_litre < least
            and min(pair.shares) > 0
        ]
        return tuple(found[:MOST_PAIRS])

    def floors(self, single: int) -> Array:
        """Least cost [money/mL] of a mix with one food that helps and each other, shape (k,).

        A food lowers the cost by at most its reduced cost times the most there can be of it.
        There is no bound (−inf) if smallest amounts make it more than a linear program.
        """
        shelf, full = self.all.shelf, self.all
        none = np.full(len(self.added.foods), -math.inf)
        if shelf.has_smallest:
            return none
        columns = [*range(self.n), self.n + single]
        keep = np.flatnonzero((self.owner < 0) | np.isin(self.owner, columns))
        low, room = full.is_low[keep], shelf.composition.row("volume")
        rows = np.vstack((full.rows[keep], room))
        best = solve(
            LinearProgram(
                cost=shelf.price[columns],
                matrix=rows[:, columns],
                row_lower=np.append(np.where(low, 0.0, -math.inf), 1.0),
                row_upper=np.append(np.where(low, math.inf, 0.0), 1.0),
                col_lower=np.zeros(len(columns)),
                col_upper=np.full(len(columns), math.inf),
            )
        )
        if not isinstance(best, Optimal):
            return none
        reduced = np.nan_to_num(shelf.price) - best.row_dual @ rows
        saved: Array = np.minimum(reduced[self.n :], 0.0) * self.most
        return best.objective + saved

    def refuted(self, addition: tuple[int, ...]) -> bool:
        """Whether a refutation at hand already covers these foods."""
        left = self.misses + self.gains[:, list(addition)].sum(axis=1)
        return bool((left > REFUTED).any())

    def refute(self, addition: tuple[int, ...]) -> bool:
        """Look for the least total miss with these foods; keep the refutation if there is one.

        The optimum is certified, so its dual is a proof: of every mix of the shelf and any
        other foods, the miss is at least `misses` + Σ `gains`, the gain of a food being what it
        takes off at the most.
        """
        full = self.all
        columns = [*range(self.n), *(self.n + j for j in addition)]
        keep = np.flatnonzero((self.owner < 0) | np.isin(self.owner, columns))
        k, low = keep.size, full.is_low[keep]
        room = full.shelf.composition.row("volume")
        elastic = solve(
            LinearProgram(
                cost=np.concatenate((np.zeros(len(columns)), np.ones(k))),
                matrix=np.block(
                    [
                        [full.rows[np.ix_(keep, columns)], np.diag(np.where(low, 1.0, -1.0))],
                        [room[columns], np.zeros(k)],
                    ]
                ),
                row_lower=np.append(np.where(low, 0.0, -math.inf), 1.0),
                row_upper=np.append(np.where(low, math.inf, 0.0), 1.0),
                col_lower=np.zeros(len(columns) + k),
                col_upper=np.full(len(columns) + k, math.inf),
            )
        )
        if not isinstance(elastic, Optimal):
            raise SolverFault(say("solver.no-least-miss"))
        if elastic.objective <= REFUTED:
            return False
        # A limit that the program left out (another food's share or stock) has weight 0 here.
        reduced = -(elastic.row_dual[:-1] @ full.rows[keep] + elastic.row_dual[-1] * room)
        gain = np.minimum(reduced[self.n :], 0.0) * self.most
        self.misses = np.append(self.misses, elastic.objective)
        self.gains = np.vstack((self.gains, gain))
        return True

    def help_of(self, addition: tuple[int, ...]) -> Help | None:
        """The mix with these foods, by the rule at the top of this module."""
        added = self.added.take(addition)
        shelf = _join(self.problem.shelf, added)
        mine = np.arange(len(shelf.foods)) >= self.n
        problem = build(shelf, self.problem.bands, self.problem.volume)
        if np.isfinite(shelf.price).all():
            best = optimise(problem)
        else:
            best = optimise(problem, mine.astype(float))
            if best is not None:
                needed = np.where(mine, best.x * problem.volume * (1 + 1e-9), shelf.on_hand)
                known = np.where(np.isfinite(shelf.price), shelf.price, 0.0)
                bounded = replace(shelf, on_hand=needed)
                rest = build(bounded, problem.bands, problem.volume)
                best = optimise(rest, known) or best
        if best is None:
            return None
        mix = finish(problem, best.x * problem.volume, Status.OPTIMAL, best.certificate)
        shares = mix.grams[mine] / mix.weight
        to_buy = tuple(self._buy(food.id, float(g)) for food, g in
                       zip(added.foods, mix.grams[mine], strict=True))  # fmt: skip
        return Help(added.foods, tuple(float(s) for s in shares), mix.cost_per_litre, mix, to_buy)

    def _buy(self, food: str, grams: float) -> ToBuy:
        if food not in self.packages:
            return ToBuy(food, grams)
        words, each = self.packages[food]
        return ToBuy(food, grams, math.ceil(grams / each - 1e-9), words)


def _told_first(help_: Help) -> tuple[bool, float, tuple[str, ...]]:
    """Sort key: the cheapest first, then the unpriced by least share."""
    unpriced = help_.cost_per_litre is None
    size = sum(help_.shares) if help_.cost_per_litre is None else help_.cost_per_litre
    return unpriced, size, help_.ids


def _join(shelf: Shelf, added: Shelf) -> Shelf:
    """Both shelves as one."""
    return Shelf(
        shelf.foods + added.foods,
        np.concatenate((shelf.price, added.price)),
        np.concatenate((shelf.largest_share, added.largest_share)),
        np.concatenate((shelf.on_hand, added.on_hand)),
        np.concatenate((shelf.smallest, added.smallest)),
        shelf.currency,
        shelf.like,
        shelf.country,
    )
