"""Design for many at once: a row for each pantry, reference and price list.

A job is one pantry with all that is asked of it, so that jobs can be done anywhere and in any
order; `many_rows` gives the rows of one. By the gram the foods and the ranges become one linear
program however many price lists there are: one sweep answers for all of them.

What cannot be read is a row with its error, and the other rows are as they would be without it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.answers.compare import costs_of
from formulate.answers.judged import JudgedMix
from formulate.answers.many_jobs import Job
from formulate.answers.mix import mix, read_request
from formulate.answers.mix_answer import MixAnswer, MixRequest
from formulate.answers.verdict import Judgement, Verdict, judge
from formulate.base.errors import FormulateError, InputError, SolverFault
from formulate.base.messages import say
from formulate.blend.design import design_problem
from formulate.blend.mix import Mix, NoMix, Status, finish, nearest
from formulate.blend.prices.parametric import sweep
from formulate.blend.problem import Limit, LimitKind, Problem, build
from formulate.foods.bands import BandSet, Read
from formulate.pantry.pantry import Pantry, parse_pantry
from formulate.pantry.pantry_rows import pantry_of_rows
from formulate.pantry.price_list import ListedPrice, PriceList, Pricing, repriced

__all__ = ["ManyRow", "binding", "many_rows"]

Array = NDArray[np.float64]

#: A demand missed or kept by less [of its largest entry] is met exactly: it binds.
BINDS = 1e-9


@dataclass(frozen=True)
class ManyRow:
    """The answer for one pantry, one reference and one price list.

    Parameters
    ----------
    pantry, reference, prices : str
        Names; empty if an error has nothing to do with it, or there is no price list.
    currency : str
    prices_from, prices_to : date or None
        Of the prices of the foods that may be used.
    milk : JudgedMix or None
        The cheapest milk inside its ranges; where there is none, the nearest.
    found : bool
        Whether it is what was asked for, not the nearest.
    costs : tuple of float
        Of a litre, a kilogram of solids and a megajoule; NaN without prices.
    binds : tuple of Limit
        Demands that the milk meets with nothing to spare.
    miss : Read or None
        Of the nearest milk, the read that lies furthest outside, by the width of its
        range.
    clash : tuple of Limit
        Where there is none: the fewest demands that clash.
    recipe : str
        The amounts, as a recipe that reads back to the same weights.
    error : str
        Why there is no answer.
    """

    pantry: str
    reference: str = ""
    prices: str = ""
    currency: str = ""
    prices_from: date | None = None
    prices_to: date | None = None
    milk: JudgedMix | None = None
    found: bool = False
    costs: tuple[float, float, float] = (np.nan, np.nan, np.nan)
    binds: tuple[Limit, ...] = ()
    miss: Read | None = None
    clash: tuple[Limit, ...] = ()
    recipe: str = ""
    error: str = ""

    @property
    def judgement(self) -> Judgement | None:
        """Of the milk, if there is one."""
        return None if self.milk is None else self.milk.judgement

    @property
    def yes(self) -> bool:
        """Whether there is such a milk, and it is inside every range that matters."""
        judgement = self.judgement
        return self.found and judgement is not None and judgement.verdict is Verdict.INSIDE


# --- one job -----------------------------------------------------------------------------------


def many_rows(job: Job) -> tuple[ManyRow, ...]:
    """The rows of one job: references in turn, and for each the price lists in turn.

    Anything wrong with a pantry, a reference or a price list is reported in its rows.
    """
    try:
        pantry = _pantry(job)
    except FormulateError as error:
        return (ManyRow(job.name, error=_told(error)),)
    except Exception as error:  # a bug of ours costs one pantry, not the others
        return (ManyRow(job.name, error=_bug(error)),)
    pricing = Pricing(pantry)
    rows: list[ManyRow] = []
    for reference in job.references:
        start = ManyRow(job.name, reference if isinstance(reference, str) else reference.name)
        try:
            bands, request = read_request(pantry, reference, job.request)
            plain = request.by_gram and (pantry.has_prices or bool(job.prices))
            ask = _by_gram if plain else _one_by_one
            rows += ask(job, pricing, bands, request, start)
        except FormulateError as error:
            rows.append(replace(start, error=_told(error)))
        except Exception as error:
            rows.append(replace(start, error=_bug(error)))
    return tuple(rows)


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


Listed = Mapping[str, tuple[ListedPrice, float]]


def _prices(pantry: Pantry, listed: PriceList | None, known: Listed) -> dict[str, Any]:
    """Fields of a row that say which prices were counted with."""
    days = [
        known[item.food.id][0].priced_on if item.food.id in known else item.priced_on
        for item in pantry.items
        if item.in_mix and not item.food.drink_only
    ]
    dated = {day for day in days if day is not None}
    return {
        "prices": "" if listed is None else listed.name,
        "currency": pantry.currency if listed is None else listed.currency or pantry.currency,
        "prices_from": min(dated, default=None),
        "prices_to": max(dated, default=None),
    }


# --- by the gram -------------------------------------------------------------------------------


def _by_gram(
    job: Job, pricing: Pricing, bands: BandSet, request: MixRequest, start: ManyRow
) -> list[ManyRow]:
    """One linear program for all price lists."""
    assert isinstance(request.make, float)
    pantry = pricing.pantry
    shelf = pantry.shelf()
    rows: list[ManyRow] = []
    prices: dict[int, Array] = {}
    priced: list[dict[str, Any]] = []
    for listed in job.prices or (None,):
        try:
            known = {} if listed is None else pricing.prices(listed)
            price = shelf.price.copy()
            for j, food in enumerate(shelf.ids):
                if food in known:
                    price[j] = known[food][0].price / known[food][1]
            if np.isnan(price).any():
                shelf.with_price(price).require_prices()
            prices[len(rows)] = price
            priced.append(_prices(pantry, listed, known))
            rows.append(start)  # to be answered below
        except InputError as error:
            rows.append(replace(start, prices=listed.name if listed else "", error=_told(error)))
    if not prices:
        return rows
    problem = build(shelf, bands, request.make)
    told: dict[bytes, ManyRow] = {}
    cheapest = _cheapest(problem, tuple(prices.values()))
    for k, fields, found in zip(prices, priced, cheapest, strict=True):
        rows[k] = _answered(start, fields, found, problem, told)
    return rows


def _cheapest(problem: Problem, prices: Sequence[Array]) -> Iterator[Mix | NoMix]:
    """The cheapest mix at each of some prices, or why there is none."""
    swept = sweep(problem, np.array(prices)) if len(prices) > 1 else None
    if swept is None:
        first = design_problem(_at(problem, prices[0]), briefly=True)
        yield first
        for price in prices[1:]:
            there = _at(problem, price)
            if isinstance(first, Mix):  # the sweep and the solver differ by a hair
                yield design_problem(there)
            else:  # the clash is the same; of mixes that are equally near, the cheapest is not
                yield replace(first, problem=there, nearest=_nearest(there))
        return
    mixes = [finish(problem, grams, Status.OPTIMAL) for grams in swept.recipes]
    for price, which in zip(prices, swept.recipe, strict=True):
        found = mixes[which]
        shelf = found.shelf.with_price(price)
        yield Mix(found.status, shelf, found.bands, found.grams, found.reads)


def _at(problem: Problem, price: Array) -> Problem:
    return replace(problem, shelf=problem.shelf.with_price(price))


def _nearest(problem: Problem) -> Mix | None:
    try:
        return nearest(problem)
    except SolverFault:
        return None


def _answered(
    start: ManyRow,
    priced: dict[str, Any],
    found: Mix | NoMix,
    problem: Problem,
    told: dict[bytes, ManyRow],
) -> ManyRow:
    """A row with its milk; what does not depend on prices is worked out once for all of them."""
    made = found if isinstance(found, Mix) else found.nearest
    clash = () if isinstance(found, Mix) else found.conflict
    if made is None:
        return replace(start, clash=clash, **priced)
    key = made.grams.tobytes()
    like = told.get(key)
    if like is None:
        milk = JudgedMix(made, judge(made), None)
        binds = binding(problem, made.grams) if isinstance(found, Mix) else ()
        recipe = _recipe(made)
        like = told[key] = _told_of(start, milk, recipe, binds, clash, found=isinstance(found, Mix))
    assert like.milk is not None
    milk = JudgedMix(made, like.milk.judgement, None)
    return replace(like, milk=milk, costs=costs_of(made), **priced)


# --- through the whole question ----------------------------------------------------------------


def _one_by_one(
    job: Job, pricing: Pricing, bands: BandSet, request: MixRequest, start: ManyRow
) -> list[ManyRow]:
    """In whole measures, or without prices: each price list is a question of its own."""
    rows = []
    for listed in job.prices or (None,):
        try:
            own, known = pricing.pantry, {} if listed is None else pricing.prices(listed)
            pantry = own if listed is None else repriced(own, listed)
            row = replace(start, **_prices(own, listed, known))
            rows.append(_of_answer(row, mix(pantry, bands, request)))
        except FormulateError as error:
            rows.append(replace(start, prices=listed.name if listed else "", error=_told(error)))
    return rows


def _of_answer(row: ManyRow, answer: MixAnswer) -> ManyRow:
    none = answer.no
    clash = none.conflict if isinstance(none, NoMix) else ()
    milk = answer.milk or answer.instead
    if milk is None:
        return replace(row, clash=clash)
    binds: tuple[Limit, ...] = ()
    if answer.milk is not None and answer.exact is not None:
        exact = answer.exact
        binds = binding(build(exact.shelf, exact.bands, exact.volume), exact.grams)
    recipe = milk.recipe_text(answer.pantry)
    return _told_of(row, milk, recipe, binds, clash, found=answer.milk is not None)


# --- what is said of a milk --------------------------------------------------------------------


def _told_of(
    row: ManyRow,
    milk: JudgedMix,
    recipe: str,
    binds: tuple[Limit, ...],
    clash: tuple[Limit, ...],
    *,
    found: bool,
) -> ManyRow:
    misses = [read for read in milk.mix.misses if read.miss > 0]
    return replace(
        row,
        milk=milk,
        found=found,
        costs=costs_of(milk.mix),
        binds=binds,
        miss=max(misses, key=lambda read: read.miss / read.band.width, default=None),
        clash=clash,
        recipe=recipe,
    )


def binding(problem: Problem, grams: Array) -> tuple[Limit, ...]:
    """The demands that a mix meets with nothing to spare, of a batch of the problem's volume."""
    tight = np.flatnonzero(np.abs(problem.rows @ grams) <= BINDS * problem.volume)
    used = {food for food, weight in zip(problem.shelf.ids, grams, strict=True) if weight > 0}
    return tuple(
        limit
        for limit in map(problem.limit, tight)
        if limit.kind is not LimitKind.READABLE and (not limit.food or limit.food in used)
    )


def _recipe(mix: Mix) -> str:
    """A mix by the gram as recipe text."""
    used = zip(mix.shelf.ids, mix.grams, strict=True)
    return " + ".join(f"{grams:.6g} g {food}" for food, grams in used if grams > 0)
