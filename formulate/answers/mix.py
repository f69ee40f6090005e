"""Design a mix: one question, and one whole answer for every door."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from formulate.answers.judged import JudgedMix, judged
from formulate.answers.mix_answer import MixAnswer, MixOutcome, MixRequest, Reasons, Try, TryKind
from formulate.base.errors import InputError, ManyFaults, SolverFault
from formulate.base.messages import say
from formulate.base.units import parse_volume
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Problem, build
from formulate.foods.bands import BandSet, Role
from formulate.kitchen.batch import (
    Batch,
    BatchWishes,
    default_volume,
    make_batch,
    nearest_batch,
    would_help,
)
from formulate.pantry.pantry import Pantry, recipe_named
from formulate.pantry.recipe import Recipe

if TYPE_CHECKING:
    from formulate.blend.protect.chance import NotSure, SureMix
    from formulate.blend.whole.kitchen_mix import NoKitchenMix
    from formulate.foods.spread import Spread
    from formulate.kitchen.jug import Container

__all__ = ["mix", "none_answer", "read_request", "usual_size"]

T = TypeVar("T")


def mix(
    pantry: Pantry,
    reference: BandSet | str = "lamb-replacer",
    request: MixRequest | None = None,
) -> MixAnswer:
    """Find the mix that a person asks for, judge it, and say what to do if there is none.

    Parameters
    ----------
    pantry : Pantry
    reference : BandSet or str
        What it is for; a name of the pantry's own ranges, or of the built-in ones.
    request : MixRequest, optional
        By default about a day for two lambs, in whole measures.

    Raises
    ------
    InputError
        If something cannot be read, or two things do not go together; its `fields` name them:
        fields of the request, or "reference".
    """
    bands, read = read_request(pantry, reference, request or MixRequest())
    if not pantry.has_prices:
        _check_unpriced(read)
    asked = MixAnswer(pantry, bands, read, MixOutcome.NO_MIX)  # nothing found yet
    if asked.request.closest:
        return _closest(asked)
    if asked.request.worst_case is not None:
        return _guarded(asked)
    if asked.request.by_gram:
        return _by_gram(asked)
    return _in_measures(asked)


# --- what is asked -----------------------------------------------------------------------------


def usual_size(pantry: Pantry) -> str:
    """The default amount to make, in the words of its kitchen."""
    return default_volume(pantry.kitchen)


def _check_together(request: MixRequest) -> None:
    """Refuse wishes that contradict each other."""

    def refuse(problem: str, *fields: str) -> None:
        raise InputError(problem, say("mix.leave-one")).about(*fields)

    asked = {name for name, value in vars(request).items() if value not in (None, False, "")}
    if asked >= {"make", "container"}:
        refuse(say("mix.container-size"), "container", "make")
    if "within_cost" in asked and not request.closest:
        raise InputError(
            say("mix.limit-alone"),
            say("mix.limit-alone-remedy"),
        ).about("within_cost", "closest")
    for by_gram in sorted(asked & {"by_gram", "worst_case", "closest"}):
        for name in sorted(asked & {"container", "keep_to", "most_foods", "use_up"}):
            refuse(say("mix.whole-and-gram"), name, by_gram)
    for other in sorted(asked & {"worst_case", "closest"}):
        if "sure" in asked:
            refuse(say("mix.one-at-a-time"), "sure", other)
    if asked >= {"worst_case", "closest"}:
        refuse(say("mix.one-at-a-time"), "worst_case", "closest")


def _check_unpriced(request: MixRequest) -> None:
    """Refuse what only prices can decide, where no food has one."""
    for name in ("use_up", "keep_to", "sure", "worst_case", "within_cost", "explain", "opinion"):
        if getattr(request, name):
            raise InputError(say("mix.needs-prices"), say("mix.give-prices")).about(name)


def read_request(
    pantry: Pantry, reference: BandSet | str, request: MixRequest
) -> tuple[BandSet, MixRequest]:
    """Turn words into what they mean: the ranges, and a request without words; see `mix`.

    Every fault is raised at once.
    """
    _check_together(request)
    faults: list[InputError] = []
    kitchen = pantry.kitchen

    def read(name: str, value: T | str | None, parse: Callable[[str], T]) -> T | None:
        if not isinstance(value, str):
            return value
        try:
            return parse(value)
        except InputError as error:
            faults.append(error.about(name))
            return None

    bands: BandSet | None = read("reference", reference, pantry.ranges)
    text_or_volume = usual_size(pantry) if request.make is None else request.make
    make: float | None = read("make", text_or_volume, lambda text: parse_volume(text, kitchen))
    container: Container | None = read("container", request.container, _container(pantry))
    keep_to: Recipe | None = read(
        "keep_to", request.keep_to, lambda text: recipe_named(text, pantry, kitchen)
    )
    for name, volume in (
        ("make", make),
        ("container", None if not container else container.volume),
    ):
        if volume is not None and volume > request.largest:
            text = getattr(request, name)
            what = text if isinstance(text, str) else f"{volume:g} mL"
            remedy = say("mix.too-large-remedy", litres=request.largest / 1e3)
            faults.append(InputError(say("mix.too-large", what=what), remedy).about(name))
    if faults:
        raise faults[0] if len(faults) == 1 else ManyFaults(faults)
    assert bands is not None
    assert make is not None
    return bands, replace(request, make=float(make), container=container, keep_to=keep_to)


def _container(pantry: Pantry) -> Callable[[str], Container]:
    def parse(text: str) -> Container:
        from formulate.kitchen.jug import parse_container

        return parse_container(text, pantry.kitchen, pantry.table)

    return parse


def _volume(asked: MixAnswer) -> float:
    """How much [mL]."""
    assert isinstance(asked.request.make, float)
    return asked.request.make


def _problem(asked: MixAnswer) -> tuple[Problem, Spread]:
    from formulate.foods.spread import spread_of
    from formulate.foods.tables import default_spreads

    problem = build(asked.pantry.shelf(), asked.bands, _volume(asked))
    return problem, spread_of(problem.shelf.composition, default_spreads())


def _judged(asked: MixAnswer, made: Mix | Batch) -> JudgedMix:
    return judged(made, confidence=asked.request.confidence)


# --- in whole measures -------------------------------------------------------------------------


def _in_measures(asked: MixAnswer) -> MixAnswer:
    found = make_batch(asked.pantry, asked.bands, _volume(asked), _wishes(asked.request))
    if isinstance(found, NoMix):
        return _no_mix(asked, found)
    if isinstance(found, Batch):
        return _batch(asked, found)
    from formulate.blend.protect.chance import NotSure

    return _not_sure(asked, found) if isinstance(found, NotSure) else _no_measures(asked, found)


def _wishes(request: MixRequest) -> BatchWishes:
    assert not isinstance(request.keep_to, str)
    assert not isinstance(request.container, str)
    return BatchWishes(
        most_foods=request.most_foods,
        use_up=request.use_up,
        favourite=request.keep_to,
        container=request.container,
        time_limit=request.time_limit,
        sure=request.sure,
    )


def _batch(asked: MixAnswer, found: Batch) -> MixAnswer:
    return _explained(
        replace(
            asked,
            outcome=MixOutcome.MIX,
            milk=_judged(asked, found),
            exact=found.kitchen_mix.exact,
            protected=found.protected,
            fewest=found.fewest,
            tries=_tries(asked, found),
        )
    )


def _tries(asked: MixAnswer, found: Batch) -> tuple[Try, ...]:
    """What else might please: surer, fewer foods, another food of the pantry."""
    tries = []
    if found.fewest is None:
        tries.append(Try(TryKind.CHEAPEST if asked.request.sure else TryKind.SURER))
    used = int(np.count_nonzero(found.kitchen_mix.counts))
    if used > 1 and found.fewest is None:
        tries.append(Try(TryKind.FEWER_FOODS, count=used - 1))
    if asked.request.most_foods is not None:
        tries.append(Try(TryKind.ANY_NUMBER))
    spare = [i.food.id for i in asked.pantry.items if not i.in_mix and i.food.suitable]
    return (*tries, *(Try(TryKind.ADD, (food,)) for food in spare))


def _no_measures(asked: MixAnswer, found: NoKitchenMix) -> MixAnswer:
    nearest = None if found.nearest is None else Batch(found.nearest, found.problem)
    return replace(
        asked,
        outcome=MixOutcome.NO_MEASURES,
        no=found,
        instead=None if nearest is None else _judged(asked, nearest),
        exact=found.exact,
        problem=found.problem,
        tries=() if nearest is None else _tries(asked, nearest),
    )


# --- by the gram -------------------------------------------------------------------------------


def _by_gram(asked: MixAnswer) -> MixAnswer:
    if asked.request.sure is not None:
        return _sure_by_gram(asked, asked.request.sure)
    if not asked.pantry.has_prices:
        return _fewest_by_gram(asked)
    from formulate.blend.design import design

    found = design(asked.pantry.shelf(), asked.bands, _volume(asked))
    if isinstance(found, NoMix):
        return _no_mix(asked, found)
    return _explained(
        replace(asked, outcome=MixOutcome.MIX, milk=_judged(asked, found), exact=found)
    )


def _fewest_by_gram(asked: MixAnswer) -> MixAnswer:
    from formulate.blend.design import explain_none
    from formulate.blend.fewest import fewest_by_gram

    problem, _ = _problem(asked)
    found = fewest_by_gram(problem, time_limit=asked.request.time_limit)
    if found is None:
        return _no_mix(asked, explain_none(problem))
    return replace(
        asked, outcome=MixOutcome.MIX, milk=_judged(asked, found.mix), exact=found.mix, fewest=found
    )


def _sure_by_gram(asked: MixAnswer, sure: float) -> MixAnswer:
    from formulate.blend.protect.chance import NotSure, design_sure

    problem, spread = _problem(asked)
    found = design_sure(problem, spread, sure)
    if isinstance(found, NoMix):
        return _no_mix(asked, found)
    if isinstance(found, NotSure):
        return _not_sure(asked, found)
    milk = _judged(asked, found.mix)
    return _explained(
        replace(asked, outcome=MixOutcome.MIX, milk=milk, exact=found.plain, protected=found)
    )


def _guarded(asked: MixAnswer) -> MixAnswer:
    from formulate.blend.protect.budgeted import OverBudget, design_budgeted

    problem, spread = _problem(asked)
    assert asked.request.worst_case is not None
    try:
        found = design_budgeted(problem, spread, asked.request.worst_case)
    except InputError as error:
        raise error.about("worst_case") from None
    if isinstance(found, NoMix):
        return _no_mix(asked, found)
    if isinstance(found, OverBudget):
        instead = _judged(asked, found.surest.mix)
        return replace(asked, outcome=MixOutcome.NOT_GUARDED, no=found, instead=instead)
    milk = _judged(asked, found.mix)
    return _explained(
        replace(asked, outcome=MixOutcome.MIX, milk=milk, exact=found.plain, protected=found)
    )


def _closest(asked: MixAnswer) -> MixAnswer:
    from formulate.blend.goal import OutOfReach, closest, front

    shelf, volume = asked.pantry.shelf(), _volume(asked)
    found = closest(shelf, asked.bands, volume, within_cost=asked.request.within_cost)
    if isinstance(found, OutOfReach):
        return replace(asked, outcome=MixOutcome.OUT_OF_REACH, no=found)
    # The front starts a little cheaper than this mix, however far that is from the middle.
    worst = max(len(asked.bands.in_role(Role.DEMANDED)) / 2, 1.5 * found.deviation)
    curve = None
    if asked.pantry.has_prices:
        curve = front(shelf, asked.bands, volume, worst=worst)
    return replace(
        asked,
        outcome=MixOutcome.MIX,
        milk=_judged(asked, found.mix),
        closest=found,
        front=None if isinstance(curve, OutOfReach) else curve,
    )


# --- where there is none -----------------------------------------------------------------------


def none_answer(pantry: Pantry, found: NoMix | NoKitchenMix) -> MixAnswer:
    """Say why there is no batch, for a question that needs one."""
    asked = MixAnswer(pantry, found.problem.bands, MixRequest(), MixOutcome.NO_MIX)
    return _no_mix(asked, found) if isinstance(found, NoMix) else _no_measures(asked, found)


def _no_mix(asked: MixAnswer, found: NoMix) -> MixAnswer:
    try:
        additions = would_help(found, asked.pantry, on_request=asked.request.on_request)
    except SolverFault:  # the clash and the nearest mix are still reported
        additions = None
    tries = tuple(
        Try(
            TryKind.ADD,
            help_.ids,
            help_.shares,
            help_.cost_per_litre,
            asks_price=any(asked.pantry.item(food) is None for food in help_.ids),
        )
        for help_ in (() if additions is None else additions.found)
    )
    by_gram = None if found.nearest is None else _judged(asked, found.nearest)
    batch = _nearest_batch(asked, found)
    instead = by_gram if batch is None else _judged(asked, batch)
    return replace(
        asked,
        outcome=MixOutcome.NO_MIX,
        no=found,
        instead=instead,
        nearest=by_gram,
        one_night=None if instead is None else will_do_tonight(instead),
        problem=found.problem,
        additions=additions,
        tries=tries,
    )


def _nearest_batch(asked: MixAnswer, found: NoMix) -> Batch | None:
    """The nearest mix in whole measures, where those were asked for."""
    if asked.request.by_gram or asked.request.container is not None:
        return None
    try:
        return nearest_batch(found, asked.pantry, time_limit=asked.request.time_limit)
    except SolverFault:  # it is still reported by the gram
        return None


def will_do_tonight(milk: JudgedMix) -> bool:
    """Whether a milk that misses its range will do for one night.

    It will where it may be fed at all, and nothing that is demanded of it is less than half or
    more than twice what it should be (judgement: going without is worse for a night than a milk
    that is nearly right, but a milk of half the strength is hardly a feed).
    """
    return milk.judgement.may_be_fed and all(
        read.value is not None and read.band.low / 2 <= read.value <= read.band.high * 2
        for read in milk.mix.misses
    )


def _not_sure(asked: MixAnswer, found: NotSure) -> MixAnswer:
    """The surest mix there is, by the gram, and the cheapest as it was asked, but not so sure."""
    plain = replace(asked, request=replace(asked.request, sure=None, explain=False))
    cheapest = _by_gram(plain) if asked.request.by_gram else _in_measures(plain)
    return replace(
        asked,
        outcome=MixOutcome.NOT_SURE,
        no=found,
        instead=None if found.surest is None else _judged(asked, found.surest.mix),
        plain=cheapest.milk or cheapest.instead,
        problem=found.problem,
        tries=(Try(TryKind.CHEAPEST),),
    )


# --- reasons -----------------------------------------------------------------------------------


def _explained(answer: MixAnswer) -> MixAnswer:
    """The same with the reasons and the second opinion that were asked for."""
    exact, request = answer.exact, answer.request
    assert exact is not None
    problem = build(exact.shelf, answer.bands, exact.volume)
    if answer.milk is not None and answer.milk.batch is not None and answer.protected is not None:
        from formulate.blend.design import design

        if request.explain or request.opinion:
            plain = design(exact.shelf, answer.bands, exact.volume)  # what prices decide alone
            assert isinstance(plain, Mix)
            exact = plain
    answer = replace(answer, exact=exact, problem=problem, surer=_surer(answer, problem))
    if request.explain:
        answer = replace(answer, reasons=_reasons(problem, exact))
    if request.opinion:
        from formulate.blend.portable import second_opinion

        answer = replace(answer, opinion=second_opinion(problem))
    return answer


#: Chance [%] of each range to report for a mix that is less sure than that.
SURE = 95.0


def _surer(answer: MixAnswer, problem: Problem) -> SureMix | NotSure | None:
    """What it would cost to be sure of each range, if the milk is less sure of one."""
    milk = answer.milk
    priced = bool(np.isfinite(problem.shelf.price).all())
    if milk is None or milk.confidence is None or answer.protected is not None or not priced:
        return None
    unsure = [
        read
        for read in milk.confidence.reads
        if read.read.band in answer.bands.binding
        and read.chance_inside is not None
        and read.chance_inside < SURE / 100
    ]
    if not unsure:
        return None
    from formulate.blend.protect.chance import design_sure
    from formulate.foods.spread import spread_of
    from formulate.foods.tables import default_spreads

    try:
        found = design_sure(problem, spread_of(problem.shelf.composition, default_spreads()), SURE)
    except SolverFault:
        return None
    return None if isinstance(found, NoMix) else found


def _reasons(problem: Problem, exact: Mix) -> Reasons | None:
    """Why the mix is what it is; None if the solver cannot tell, which costs no mix."""
    from formulate.blend.prices.ranging import entry_prices, price_ranges
    from formulate.blend.prices.shadow_prices import shadow_prices

    try:
        return Reasons(
            shadow_prices(problem, exact),
            tuple(entry_prices(problem, exact)),
            tuple(price_ranges(problem, exact)),
        )
    except SolverFault:
        return None
