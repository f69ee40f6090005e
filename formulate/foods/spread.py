"""How much cartons of the same food differ.

The *spread* of a value is its standard deviation between cartons. It is not the error of
a mean: a table's standard error says how well the mean of n samples is known, and shrinks with
n; the cartons vary by ``standard error × √n`` however many are analysed. (Samples of a table
are often composites of several cartons, so even this is rather too small than too large.)

A spread comes from the first of these that exists:

1. the interval of a carton's panel: width / √12, the spread of even chances inside it;
2. the table's standard error × √n, pooled with the default of the food's kind, which counts as
   `DEFAULT_SAMPLES` more samples: so a handful of samples, or an error rounded to zero, does not
   look like a small spread;
3. the default of the kind, of any kind where that kind has none.

Solids add up. Fat, protein, milk sugar (carbohydrate) and ash vary each by itself and water
takes the rest; in a food drier than `DRY` water varies and the largest of the others takes the
rest. In 86 cow's milks the rank correlation of fat and protein is only 0.34, and a dairy
standardises the fat besides, so they are drawn independently. Lactose and other sugars follow the
carbohydrate, saturated fat the fat, amino acids the protein, each in proportion. Minerals and
vitamins vary each by itself: they have their own samples in the table. The ions of a salt follow
its ash.

No draw is negative, and the means stay as they are: draws are cut off equally far above and below
the mean.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.foods.food import Composition, Food, Value, stack_measures
from formulate.foods.measures import COMPONENTS, MASS

__all__ = ["FOLLOWS", "VARIES", "DefaultSpread", "Spread", "spread_of"]

Array = NDArray[np.float64]

#: Components that add up to the whole.
PROXIMATES = ("fat", "protein", "carbohydrate", "ash", "water")
#: Components that move in proportion to another one.
FOLLOWS: Mapping[str, str] = {
    "lactose": "carbohydrate",
    "lactose-analysed": "carbohydrate",
    "galactose-analysed": "carbohydrate",
    "sugars": "carbohydrate",
    "glucose": "carbohydrate",
    "fructose": "carbohydrate",
    "lactic-acid": "carbohydrate",
    "chloride": "ash",
    "bicarbonate": "ash",
    "citrate": "ash",
    "saturated-fat": "fat",
    "lysine": "protein",
    "methionine": "protein",
}
# Food energy moves with what it is computed from: milk's own Atwater factors [kcal/g].
_ENERGY = {"fat": 8.79, "protein": 4.27, "carbohydrate": 3.87}
#: Components that vary by themselves.
VARIES: tuple[str, ...] = tuple(c for c in COMPONENTS if c not in FOLLOWS and c != "energy")

#: A food with less water than this [g/100 g] varies in water; see the top of this module.
DRY = 10.0
#: How many samples the default of a kind counts for beside those of the table (judgement).
DEFAULT_SAMPLES = 4
#: No draw goes farther than this many spreads; one in five hundred million would.
FARTHEST = 6.0
#: Standard deviations that "the worst" is taken to be where no panel gives an interval: 19 of
#: 20 cartons lie inside.
WORST = 1.96


@dataclass(frozen=True, slots=True)
class DefaultSpread:
    """Spread of a measure for foods that have no figure of their own.

    Parameters
    ----------
    kind : str
        Kind of food; "*" for any.
    measure : str
    relative_sd : float
        Spread over mean [-].
    source : str
        Key of the source list.
    why : str
        Which rows, or the reasoning of a judgement.
    """

    kind: str
    measure: str
    relative_sd: float
    source: str
    why: str


@dataclass(frozen=True, eq=False)
class Spread(ByContent):
    """The spread of some foods, n of them, in the k things that vary (`VARIES`).

    Parameters
    ----------
    composition : Composition
        The means.
    sd : ndarray, shape (n, k)
        Spread [measure's unit per 100 g as fed]; 0 where a component is missing, is nothing,
        or takes the rest.
    below, above : ndarray, shape (n, k)
        How far the worst carton lies from the mean, both ≥ 0: a panel's interval, else
        `WORST` spreads but never beyond nothing.
    origin : tuple of tuple of str, shape (n, k)
        "carton", "given", the source key of the table, or "default" and the source key.
    """

    composition: Composition
    sd: Array
    below: Array
    above: Array
    origin: tuple[tuple[str, ...], ...]

    @cached_property
    def change(self) -> Array:
        """What one unit per 100 g of each varying thing does, shape (n, k, n_measures).

        Per gram of food, in the order of `MEASURES`; the rest is taken and followers follow.
        """
        foods, k = self.composition.foods, len(VARIES)
        means = {name: np.nan_to_num(100.0 * self.composition.row(name)) for name in COMPONENTS}
        rows = {name: np.zeros((len(foods), k)) for name in COMPONENTS}
        for s, name in enumerate(VARIES):
            rows[name][:, s] = self.known[:, s]
        for i in range(len(foods)):
            rest = rest_taker(self.composition, i)
            if rest is None:
                continue
            for s, name in enumerate(VARIES):
                if name in PROXIMATES:
                    rows[rest][i, s] = -1.0 if name != rest else 0.0
        for name, leader in FOLLOWS.items():
            ratio = np.zeros(len(foods))
            np.divide(means[name], means[leader], out=ratio, where=means[leader] > 0)
            rows[name] = ratio[:, None] * rows[leader]
        rows["energy"] = np.sum([rows[c] * f for c, f in _ENERGY.items()], axis=0)
        rows = {name: row / 100.0 for name, row in rows.items()}
        rows[MASS] = np.zeros((len(foods), k))
        return np.moveaxis(stack_measures(rows), 0, 2)

    @cached_property
    def known(self) -> Array:
        """1 where a component varies in a food, else 0, shape (n, k)."""
        return (self.sd > 0).astype(float)

    @cached_property
    def limit(self) -> Array:
        """How many spreads a draw may go either way, shape (n, k).

        Neither the component itself nor the one that takes the rest can fall below zero.
        """
        means = np.nan_to_num(_varying(self.composition))
        limit = np.full_like(self.sd, FARTHEST)
        np.divide(means, self.sd, out=limit, where=self.sd > 0)
        limit = np.minimum(limit, FARTHEST)
        is_proximate = np.array([name in PROXIMATES for name in VARIES])
        for i in range(len(self.sd)):
            rest = rest_taker(self.composition, i)
            if rest is None:
                continue
            most = float((limit[i] * self.sd[i])[is_proximate].sum())
            if most > (room := means[i, VARIES.index(rest)]):
                limit[i, is_proximate] *= room / most
        return limit

    def averaged(self, cartons: Array) -> Spread:
        """The spread of the mean of several cartons of each food, stirred together.

        Parameters
        ----------
        cartons : ndarray, shape (n,)
            How many cartons of each food go into a batch, 1 or more.
        """
        share = 1.0 / np.sqrt(np.maximum(np.asarray(cartons, dtype=float), 1.0))[:, None]
        return replace(self, sd=self.sd * share, below=self.below * share, above=self.above * share)

    def of_forms(self, forms: Array) -> Array:
        """Spread of linear forms of the measures of each food [per g], shape (e, n).

        Parameters
        ----------
        forms : ndarray, shape (e, n_measures)
            Coefficients of each measure, as numerator − ratio · denominator.
        """
        moves = self.moves(forms)
        found: Array = np.sqrt((moves**2).sum(axis=2))
        return found

    def moves(self, forms: Array) -> Array:
        """What one spread of each varying thing does to each form [per g], shape (e, n, k)."""
        moved: Array = np.einsum("em,nkm->enk", forms, self.change) * self.sd
        return moved

    def worst_of_forms(self, forms: Array) -> Array:
        """How far the worst carton lowers each form [per g], shape (e, n)."""
        change = np.einsum("em,nkm->enk", forms, self.change)
        lowest: Array = np.maximum(change * self.below, -change * self.above).sum(axis=2)
        return lowest

    def covariance(self, grams: Array, rows: NDArray[np.intp]) -> Array:
        """Covariance of the totals of some measures in a mix, shape (m, m).

        Parameters
        ----------
        grams : ndarray, shape (n,)
        rows : ndarray of int, shape (m,)
            Numbers of the measures in `Composition.per_gram`.
        """
        moves = self.per_draw(grams, rows)
        return moves.T @ moves

    def per_draw(self, grams: Array, rows: NDArray[np.intp]) -> Array:
        """What one spread of each varying thing of each food does to the totals, (n · k, m)."""
        moves = self.change[:, :, rows] * (self.sd * np.asarray(grams)[:, None])[:, :, None]
        return moves.reshape(-1, len(rows))

    def draw(self, count: int, rng: np.random.Generator) -> Array:
        """Whole compositions of `count` cartons of each food, shape (count, n_measures, n).

        Per gram, as `Composition.per_gram`; NaN where the mean is missing.
        """
        z = rng.standard_normal((count, *self.sd.shape))
        z = np.clip(z, -self.limit, self.limit) * self.sd
        drawn: Array = self.composition.per_gram + np.einsum("cnk,nkm->cmn", z, self.change)
        return drawn

    def totals(
        self,
        count: int,
        rng: np.random.Generator,
        grams: Array,
        rows: NDArray[np.intp],
        chunk: int = 1 << 18,
    ) -> Iterator[Array]:
        """Totals of some measures in `count` mixes, each of one carton of every food.

        Yields blocks of shape (b, m), so that memory does not grow with `count`; a block is
        overwritten by the next. Only what moves a total is drawn.

        Parameters
        ----------
        count : int
        rng : numpy.random.Generator
        grams : ndarray, shape (n,)
        rows : ndarray of int, shape (m,)
            Numbers of the measures in `Composition.per_gram`.
        chunk : int
            Random numbers held at once.
        """
        used = np.asarray(grams) > 0
        mean = self.composition.per_gram[np.ix_(rows, used)] @ grams[used]
        moves = self.per_draw(grams, rows)
        moving = np.flatnonzero((moves != 0).any(axis=1))
        moves, limit = moves[moving], self.limit.reshape(-1)[moving]
        size = min(count, max(256, chunk // max(moving.size, 1)))
        z, total = np.empty((size, moving.size)), np.empty((size, len(rows)))
        for start in range(0, count, size):
            b = min(size, count - start)
            rng.standard_normal(out=z[:b])
            np.clip(z[:b], -limit, limit, out=z[:b])
            np.matmul(z[:b], moves, out=total[:b])
            total[:b] += mean
            yield total[:b]


def rest_taker(composition: Composition, i: int) -> str | None:
    """Which proximate of food i takes the rest; None if its proximates are not all known."""
    amounts = {name: 100.0 * float(composition.row(name)[i]) for name in PROXIMATES}
    if not math.isfinite(amounts["water"]):
        return None
    if amounts["water"] >= DRY:
        return "water"
    others = {n: v for n, v in amounts.items() if n != "water" and math.isfinite(v)}
    return max(others, key=lambda name: others[name]) if others else None


def spread_of(
    foods: Iterable[Food] | Composition,
    defaults: Mapping[tuple[str, str], DefaultSpread],
    given: Mapping[str, Mapping[str, float]] | None = None,
) -> Spread:
    """Find the spread of some foods.

    Parameters
    ----------
    foods : iterable of Food, or Composition
    defaults : mapping of (kind, measure) to DefaultSpread
        ``formulate.foods.tables.default_spreads()``.
    given : mapping of str to mapping of str to float, optional
        Spreads that a person knows, by food id and measure [unit per 100 g as fed].

    Raises
    ------
    InputError
        If a given spread is negative, no number, larger than its mean, or of something that
        does not vary by itself; or an interval does not hold its value.
    """
    composition = foods if isinstance(foods, Composition) else Composition.of(foods)
    given = given or {}
    _check_given(given, composition)
    n, k = len(composition.foods), len(VARIES)
    sd, below, above = np.zeros((n, k)), np.zeros((n, k)), np.zeros((n, k))
    origin = [[""] * k for _ in range(n)]
    for i, food in enumerate(composition.foods):
        rest = rest_taker(composition, i)
        for s, name in enumerate(VARIES):
            value = food.values.get(name)
            if value is None or value.value <= 0 or name == rest:
                continue
            default = defaults.get((food.kind, name)) or defaults.get(("*", name))
            spread, source = _spread(food, name, value, default, given)
            sd[i, s], origin[i][s] = spread, source
            below[i, s] = above[i, s] = min(WORST * spread, value.value)
            if source == "carton":
                assert value.low is not None
                assert value.high is not None
                below[i, s], above[i, s] = value.value - value.low, value.high - value.value
    return Spread(composition, sd, below, above, tuple(map(tuple, origin)))


def _spread(
    food: Food,
    name: str,
    value: Value,
    default: DefaultSpread | None,
    given: Mapping[str, Mapping[str, float]],
) -> tuple[float, str]:
    """Spread of one value [unit per 100 g] and where it comes from; never above its mean."""
    mean = value.value
    known = given.get(food.id, {}).get(name)
    if known is not None:
        return known, "given"
    if value.low is not None and value.high is not None:
        if not 0 <= value.low <= mean <= value.high:
            raise InputError(
                say(
                    "sure.outside-interval",
                    measure=name,
                    food=food.id,
                    value=mean,
                    low=value.low,
                    high=value.high,
                ),
                say("sure.interval-remedy"),
            )
        return min((value.high - value.low) / math.sqrt(12), mean), "carton"
    usual = None if default is None else min(default.relative_sd, 1.0) * mean
    if value.n is not None and value.n >= 2 and value.standard_error is not None:
        sampled = value.standard_error * math.sqrt(value.n)
        if usual is None:
            return min(sampled, mean), value.source
        weight = value.n - 1 + DEFAULT_SAMPLES
        pooled = ((value.n - 1) * sampled**2 + DEFAULT_SAMPLES * usual**2) / weight
        return min(math.sqrt(pooled), mean), value.source
    if usual is None or default is None:
        return 0.0, ""
    return usual, f"default {default.source}"


def _check_given(given: Mapping[str, Mapping[str, float]], composition: Composition) -> None:
    for food_id, measures in given.items():
        if food_id not in composition.ids:
            raise InputError(
                say("sure.no-such-food", food=food_id),
                say("sure.foods", foods=", ".join(composition.ids)),
            )
        food = composition.foods[composition.ids.index(food_id)]
        for name, spread in measures.items():
            if name not in VARIES:
                told = "sure.moves-with" if name in FOLLOWS else "sure.does-not-vary"
                raise InputError(
                    say(told, measure=name, food=food_id, leader=FOLLOWS.get(name)),
                    say("sure.give-spread-of", measures=", ".join(VARIES)),
                )
            if name == rest_taker(composition, composition.ids.index(food_id)):
                raise InputError(say("sure.takes-the-rest", measure=name, food=food_id))
            mean = food.value(name)
            if not (math.isfinite(spread) and spread >= 0):
                raise InputError(say("sure.no-spread", measure=name, food=food_id, spread=spread))
            if not spread <= mean:
                raise InputError(
                    say(
                        "sure.spread-too-large",
                        measure=name,
                        food=food_id,
                        spread=spread,
                        mean=mean,
                    ),
                    say("sure.spread-too-large-remedy"),
                )


def _varying(composition: Composition) -> Array:
    """Means of what varies [unit per 100 g], shape (n, k)."""
    return np.array([100.0 * composition.row(name) for name in VARIES]).T
