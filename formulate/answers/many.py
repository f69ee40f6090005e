"""Design for many at once: a row for each pantry, reference and price list.

A job is one pantry with all that is asked of it, so that jobs can be done anywhere and in any
order; `many_rows` gives the rows of one. By the gram the foods and the ranges become one linear
program however many price lists there are: one sweep answers for all of them.

What cannot be read is a row with its error, and the other rows are as they would be without it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from formulate.answers.compare import contents_of, costs_of
from formulate.answers.judged import grams_text
from formulate.answers.many_jobs import Job
from formulate.answers.mix import mix, read_request
from formulate.answers.mix_answer import MixAnswer, MixRequest
from formulate.answers.verdict import Judgement, Verdict, judge
from formulate.base.errors import FormulateError, InputError
from formulate.base.executors import Steps, in_step
from formulate.base.messages import say
from formulate.blend.design import design_problem
from formulate.blend.mix import Mix, NoMix, Status, finish, nearest_each
from formulate.blend.prices.parametric import Sweep, sweep
from formulate.blend.problem import Limit, LimitKind, Problem, build
from formulate.foods.bands import BandSet, Read
from formulate.pantry.pantry import Pantry, parse_pantry
from formulate.pantry.pantry_rows import pantry_of_rows
from formulate.pantry.price_list import PriceList
from formulate.pantry.pricing import Pricing, repriced

__all__ = ["ManyMilk", "ManyRow", "binding", "many_rows", "rows_in_steps"]

Array = NDArray[np.float64]

#: A demand missed or kept by less [of its largest entry] is met exactly: it binds.
BINDS = 1e-9


@dataclass(frozen=True, slots=True)
class ManyMilk:
    """A milk, and what is said of it whatever it costs; rows of other prices may share it.

    Parameters
    ----------
    volume : float
        Of the batch [mL].
    judgement : Judgement
    found : bool
        Whether it is what was asked for, not the nearest.
    recipe : str
        The amounts, as a recipe that reads back to the same weights.
    binds : tuple of Limit
        Demands that it meets with nothing to spare.
    miss : Read or None
        Of the nearest milk, the read that lies furthest outside, by the width of its
        range.
    """

    volume: float
    judgement: Judgement
    found: bool
    recipe: str
    binds: tuple[Limit, ...] = ()
    miss: Read | None = None


#: Of a litre, a kilogram of solids and a megajoule [money].
Costs = tuple[float, float, float]
NO_COSTS: Costs = (math.nan, math.nan, math.nan)


@dataclass(frozen=True, slots=True)
class ManyRow:
    """The answer for one pantry, one reference and one price list.

    Parameters
    ----------
    pantry, reference, prices : str
        Names; empty if an error has nothing to do with it, or there is no price list.
    currency : str
    prices_from, prices_to : date or None
        Of the prices of the foods that may be used.
    milk : ManyMilk or None
        The cheapest milk inside its ranges; where there is none, the nearest.
    costs : tuple of float
        Of a litre, a kilogram of solids and a megajoule; NaN without prices.
    clash : tuple of Limit
        Where there is none: the fewest demands that clash.
    error : str
        Why there is no answer.
    """

    pantry: str
    reference: str = ""
    prices: str = ""
    currency: str = ""
    prices_from: date | None = None
    prices_to: date | None = None
    milk: ManyMilk | None = None
    costs: Costs = NO_COSTS
    clash: tuple[Limit, ...] = ()
    error: str = ""

    @property
    def yes(self) -> bool:
        """Whether there is such a milk, and it is inside every range that matters."""
        milk = self.milk
        return milk is not None and milk.found and milk.judgement.verdict is Verdict.INSIDE


# --- one job -----------------------------------------------------------------------------------


def many_rows(job: Job) -> tuple[ManyRow, ...]:
    """The rows of one job: references in turn, and for each the price lists in turn.

    Anything wrong with a pantry, a reference or a price list is reported in its rows.
    """
    (rows,) = in_step(rows_in_steps, [job])
    return rows


def rows_in_steps(job: Job) -> Steps[tuple[ManyRow, ...]]:
    """The rows of one job, with pauses: many jobs go in step (`formulate.base.executors`)."""
    try:
        pantry = _pantry(job)
    except FormulateError as error:
        return (ManyRow(job.name, error=_told(error)),)
    except Exception as error:  # a bug of ours costs one pantry, not the others
        return (ManyRow(job.name, error=_bug(error)),)
    yield
    pricing = Pricing(pantry)
    rows: list[ManyRow] = []
    for reference in job.references:
        name = reference if isinstance(reference, str) else reference.name
        try:
            bands, request = read_request(pantry, reference, job.request)
            asked = _ManyAsked(job, pricing, name, bands, request)
            if request.by_gram and (pantry.has_prices or job.prices):
                rows += yield from _by_gram(asked)
            else:
                rows += _one_by_one(asked)
        except FormulateError as error:
            rows.append(ManyRow(job.name, name, error=_told(error)))
        except Exception as error:
            rows.append(ManyRow(job.name, name, error=_bug(error)))
    return tuple(rows)


@dataclass(frozen=True, slots=True)
class _ManyAsked:
    """One pantry, one reference, and the prices to try."""

    job: Job
    pricing: Pricing
    reference: str
    bands: BandSet
    request: MixRequest

    def row(self, priced: _Priced, answer: _ManyAnswer) -> ManyRow:
        """The row of prices that fit."""
        return ManyRow(
            self.job.name,
            self.reference,
            priced.name,
            priced.currency,
            priced.first_day,
            priced.last_day,
            answer.milk,
            answer.costs,
            answer.clash,
        )

    def wrong(self, listed: PriceList | None, error: FormulateError) -> ManyRow:
        """The row of a price list that does not fit."""
        name = "" if listed is None else listed.name
        return ManyRow(self.job.name, self.reference, name, error=_told(error))


def _pantry(job: Job) -> Pantry:
    source = job.source
    if isinstance(source, InputError):
        raise source
    if isinstance(source, Pantry):
        return source
    if isinstance(source, str):
        return parse_pantry(source, job.name, country=job.country)
    return pantry_of_rows(source, job.name)


def _told(error: FormulateError) -> str:
    return " ".join(str(error).split("\n"))


def _bug(error: Exception) -> str:
    return say("errors.bug", kind=type(error).__name__, detail=f"{error}")


@dataclass(frozen=True, slots=True)
class _Priced:
    """The prices that a row counts with.

    Parameters
    ----------
    name : str
        Of the list; empty for the pantry's own prices.
    currency : str
    per_gram : list of float
        Of each food that a milk may have [money/g]; NaN without a price.
    first_day, last_day : date or None
    """

    name: str
    currency: str
    per_gram: list[float]
    first_day: date | None
    last_day: date | None


def _priced(pricing: Pricing, listed: PriceList | None) -> _Priced:
    """The prices of a list, or the pantry's own."""
    pantry = pricing.pantry
    known = {} if listed is None else pricing.prices(listed)
    per_gram, days = [], set()
    for item in pantry.for_milk:
        if item.food.id in known:
            line, grams = known[item.food.id]
            per_gram.append(line.price / grams)
            days.add(line.priced_on)
        else:
            per_gram.append(item.price_per_gram)
            if item.priced_on is not None:
                days.add(item.priced_on)
    first, last = min(days, default=None), max(days, default=None)
    if listed is None:
        return _Priced("", pantry.currency, per_gram, first, last)
    return _Priced(listed.name, listed.currency or pantry.currency, per_gram, first, last)


@dataclass(frozen=True, slots=True)
class _ManyAnswer:
    """A milk at some prices, what it costs, and what clashes where none is in range."""

    milk: ManyMilk | None
    costs: Costs = NO_COSTS
    clash: tuple[Limit, ...] = ()


# --- by the gram -------------------------------------------------------------------------------


def _by_gram(asked: _ManyAsked) -> Steps[list[ManyRow]]:
    """One linear program for all price lists."""
    assert isinstance(asked.request.make, float)
    shelf = asked.pricing.pantry.shelf()
    rows: list[ManyRow | None] = []
    fitting: list[_Priced] = []
    for listed in asked.job.prices or (None,):
        try:
            priced = _priced(asked.pricing, listed)
            if not all(map(math.isfinite, priced.per_gram)):
                shelf.with_price(np.array(priced.per_gram)).require_prices()
            fitting.append(priced)
            rows.append(None)  # to be answered below
        except InputError as error:
            rows.append(asked.wrong(listed, error))
    answered: Iterator[ManyRow] = iter(())
    if fitting:
        prices = np.array([priced.per_gram for priced in fitting])
        problem = build(shelf.with_price(prices[0]), asked.bands, asked.request.make)
        yield
        found = _found(problem, prices)
        yield
        answers = _of_sweep(found) if isinstance(found, Sweep) else _of_each(found, problem)
        answered = map(asked.row, fitting, answers)
    return [next(answered) if row is None else row for row in rows]


def _found(problem: Problem, prices: Array) -> Sweep | list[Mix | NoMix]:
    """The cheapest mix at each of some prices; or the nearest, and why there is none."""
    swept = sweep(problem, prices) if len(prices) > 1 else None
    if swept is not None:
        return swept
    first = design_problem(problem, briefly=True)
    return [first, *_like_the_first(first, problem, prices[1:])]


def _of_sweep(swept: Sweep) -> Iterator[_ManyAnswer]:
    problem = swept.problem
    mixes = [finish(problem, grams, Status.OPTIMAL) for grams in swept.recipes]
    milks = [_milk(mix, problem) for mix in mixes]
    contents = [contents_of(mix) for mix in mixes]
    for which, spent in zip(swept.recipe.tolist(), swept.values.tolist(), strict=True):
        litres, solids, energy = contents[which]
        yield _ManyAnswer(milks[which], (spent / litres, spent / solids, spent / energy))


def _of_each(each: Iterable[Mix | NoMix], problem: Problem) -> Iterator[_ManyAnswer]:
    known: dict[bytes, ManyMilk] = {}
    for found in each:
        mix, clash = (found, ()) if isinstance(found, Mix) else (found.nearest, found.conflict)
        if mix is None:
            yield _ManyAnswer(None, clash=clash)
            continue
        key = mix.grams.tobytes()
        if key not in known:
            known[key] = _milk(mix, problem if isinstance(found, Mix) else None)
        yield _ManyAnswer(known[key], costs_of(mix), clash)


def _like_the_first(first: Mix | NoMix, problem: Problem, prices: Array) -> Iterator[Mix | NoMix]:
    """Answers at other prices: whether there is a mix in range, and what clashes, is the same."""
    if isinstance(first, Mix):  # the sweep and the solver differ by a hair
        for price in prices:
            yield design_problem(replace(problem, shelf=problem.shelf.with_price(price)))
    else:  # of mixes that are equally near, the cheapest is another
        for near in nearest_each(problem, prices):
            yield replace(first, nearest=near)


# --- through the whole question ----------------------------------------------------------------


def _one_by_one(asked: _ManyAsked) -> list[ManyRow]:
    """In whole measures, or without prices: each price list is a question of its own."""
    rows = []
    for listed in asked.job.prices or (None,):
        try:
            own = asked.pricing.pantry
            pantry = own if listed is None else repriced(own, listed)
            answer = _of_answer(mix(pantry, asked.bands, asked.request))
            rows.append(asked.row(_priced(asked.pricing, listed), answer))
        except FormulateError as error:
            rows.append(asked.wrong(listed, error))
    return rows


def _of_answer(answer: MixAnswer) -> _ManyAnswer:
    none = answer.no
    clash = none.conflict if isinstance(none, NoMix) else ()
    milk, exact = answer.milk or answer.instead, answer.exact
    if milk is None:
        return _ManyAnswer(None, clash=clash)
    binds: tuple[Limit, ...] = ()
    if answer.milk is not None and exact is not None:
        binds = binding(build(exact.shelf, exact.bands, exact.volume), exact.grams)
    found, recipe = answer.milk is not None, milk.recipe_text(answer.pantry)
    said = ManyMilk(milk.mix.volume, milk.judgement, found, recipe, binds, _furthest(milk.mix))
    return _ManyAnswer(said, costs_of(milk.mix), clash)


# --- what is said of a milk --------------------------------------------------------------------


def _milk(mix: Mix, problem: Problem | None) -> ManyMilk:
    """A milk by the gram; the problem that it answers, unless it is only the nearest."""
    binds = () if problem is None else binding(problem, mix.grams)
    recipe = grams_text(mix)
    found = problem is not None
    return ManyMilk(mix.volume, judge(mix), found, recipe, binds, _furthest(mix))


def _furthest(mix: Mix) -> Read | None:
    """The read that lies furthest outside its range."""
    misses = [read for read in mix.misses if read.miss > 0]
    return max(misses, key=lambda read: read.miss / read.band.width, default=None)


def binding(problem: Problem, grams: Array) -> tuple[Limit, ...]:
    """The demands that a mix meets with nothing to spare, of a batch of the problem's volume."""
    tight = np.flatnonzero(np.abs(problem.rows @ grams) <= BINDS * problem.volume)
    used = {food for food, weight in zip(problem.shelf.ids, grams, strict=True) if weight > 0}
    return tuple(
        limit
        for limit in map(problem.limit, tight.tolist())
        if limit.kind is not LimitKind.READABLE and (not limit.food or limit.food in used)
    )
