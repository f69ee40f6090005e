"""The smallest conflict is a conflict, irreducible, the smallest, and told in a fixed order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from second_opinion import by_scipy

from formulate.base.errors import MissingComposition, SolverFault
from formulate.blend.design import design
from formulate.blend.explain import HEART, best_reach, smallest_conflicts
from formulate.blend.mix import NoMix
from formulate.blend.problem import Limit, LimitKind, Problem, Shelf, build
from formulate.blend.solve import fresh_engine, pass_program
from formulate.foods.bands import Band, BandSet, Basis
from formulate.foods.tables import band_set, band_sets, food_table

VOLUME = 3785.0
COW = ("whole-milk", "evaporated-milk", "lowfat-buttermilk", "heavy-cream", "nonfat-dry-milk")
PLAIN = tuple(food.id for food in food_table().values() if food.suitable)


def shelf(ids: Sequence[str], **arrays: Sequence[float]) -> Shelf:
    columns = {name: np.array(values, dtype=float) for name, values in arrays.items()}
    columns.setdefault("price", np.ones(len(ids)))
    return Shelf(tuple(food_table()[name] for name in ids), **columns)


def problem_of(shelf_: Shelf, bands: BandSet) -> Problem:
    return build(shelf_, bands, VOLUME)


def all_limits(problem: Problem) -> tuple[Limit, ...]:
    floors = problem.shelf.smallest
    return problem.limits + tuple(
        Limit(LimitKind.SMALLEST, food=problem.shelf.ids[j], value=floors[j])
        for j in np.flatnonzero(floors > 0)
    )


def possible(problem: Problem, limits: Sequence[Limit]) -> bool:
    """Whether scipy finds a mix that meets these limits; every choice of foods is tried."""
    keep = [k for k, limit in enumerate(problem.limits) if limit in limits]
    floored = [problem.shelf.ids.index(x.food) for x in limits if x.kind is LimitKind.SMALLEST]
    program = problem.program(np.zeros(len(problem.shelf.foods)), keep=keep)
    for used in range(2 ** len(floored)):
        low, high = program.col_lower.copy(), program.col_upper.copy()
        for place, j in enumerate(floored):
            if used >> place & 1:
                low[j] = problem.shelf.smallest[j] / problem.volume
            else:
                high[j] = 0.0
        if by_scipy(replace(program, col_lower=low, col_upper=high)).says == "optimal":
            return True
    return False


def by_hand(problem: Problem) -> set[tuple[Limit, ...]]:
    """Every conflict of the smallest size, by trying all sets of limits."""
    limits = all_limits(problem)
    for size in range(1, len(limits) + 1):
        found = {pick for pick in combinations(limits, size) if not possible(problem, pick)}
        if found:
            return found
    raise AssertionError("no conflict")


@st.composite
def impossible(draw: st.DrawFn, most_foods: int = 6, floors: bool = False) -> Problem:
    ids = draw(st.lists(st.sampled_from(PLAIN), min_size=1, max_size=most_foods, unique=True))
    n = len(ids)
    amounts = st.sampled_from([np.inf, np.inf, 50.0, 400.0, 2000.0])
    smallest = st.sampled_from([0.0, 0.0, 100.0, 900.0] if floors else [0.0])
    bands = band_set(draw(st.sampled_from(sorted(band_sets()))))
    # Four of its bands: trying all sets of limits by hand grows quickly.
    few = draw(st.lists(st.sampled_from(bands.binding), min_size=2, max_size=4, unique=True))
    try:
        problem = problem_of(
            shelf(
                ids,
                on_hand=draw(st.lists(amounts, min_size=n, max_size=n)),
                smallest=draw(st.lists(smallest, min_size=n, max_size=n)),
            ),
            replace(bands, bands=tuple(few)),
        )
    except MissingComposition:
        assume(False)
    assume(len(all_limits(problem)) <= 12)
    assume(not possible(problem, all_limits(problem)))
    return problem


def test_cows_milk_cannot_be_ewes_milk_since_its_protein_brings_milk_sugar():
    found = smallest_conflicts(problem_of(shelf(COW), band_set("ewe-milk")))
    told = [[(x.kind, x.band.measure, x.value) for x in conflict] for conflict in found]
    assert told == [
        [(LimitKind.BAND_LOW, "protein", 5.4), (LimitKind.BAND_HIGH, "lactose", 5.4)],
        [(LimitKind.BAND_LOW, "protein", 5.4), (LimitKind.BAND_HIGH, "osmoles", 520.0)],
    ]


def test_design_carries_the_conflicts():
    result = design(shelf(COW), band_set("ewe-milk"), VOLUME)
    assert isinstance(result, NoMix)
    assert [result.conflict, *result.other_conflicts] == smallest_conflicts(result.problem)


@settings(max_examples=20)
@given(impossible())
def test_all_of_the_smallest_are_found_and_no_other(problem: Problem):
    found = smallest_conflicts(problem)
    expected = by_hand(problem)
    assert len(found) == min(len(expected), 12)
    assert set(found) <= expected


@settings(max_examples=10)
@given(impossible(most_foods=4, floors=True))
def test_smallest_amounts_are_limits_as_others_are(problem: Problem):
    found = smallest_conflicts(problem)
    expected = by_hand(problem)
    assert len(found) == min(len(expected), 12)
    assert set(found) <= expected


@given(impossible(floors=True))
def test_drop_any_member_and_the_rest_can_be_met(problem: Problem):
    for conflict in smallest_conflicts(problem):
        assert not possible(problem, conflict)
        for member in conflict:
            assert possible(problem, [x for x in conflict if x != member])


@given(impossible())
def test_highs_names_no_smaller_conflict(problem: Problem):
    """HiGHS's own irreducible conflict (IIS) need not be the smallest, but is never smaller.

    Its default strategy returned an empty set marked valid; strategy 2 names clashing rows.
    """
    engine = fresh_engine()
    engine.setOptionValue("iis_strategy", 2)
    pass_program(engine, problem.program(np.zeros(len(problem.shelf.foods))))
    engine.run()
    _, iis = engine.getIis()
    assert iis.valid_
    rows = [k for k in iis.row_index_ if k < len(problem.limits)]
    named = [problem.limits[k] for k in rows]
    assert not possible(problem, named)
    assert len(named) >= len(smallest_conflicts(problem)[0])


@given(impossible(floors=True))
def test_the_order_is_the_rule_and_the_same_on_every_run(problem: Problem):
    found = smallest_conflicts(problem)
    limits = all_limits(problem)

    def rank(conflict: tuple[Limit, ...]) -> tuple[int, int, list[int]]:
        demands = [x for x in conflict if x.relaxable]
        heart = sum(x.band is not None and x.band.measure in HEART for x in demands)
        return -heart, -len(demands), [limits.index(x) for x in conflict]

    assert found == sorted(found, key=rank)
    assert found == smallest_conflicts(problem)


@given(impossible(), st.randoms(use_true_random=False))
def test_the_order_of_the_shelf_does_not_matter(problem: Problem, random):
    order = list(range(len(problem.shelf.foods)))
    random.shuffle(order)
    again = problem_of(problem.shelf.take(order), problem.bands)
    first, second = smallest_conflicts(problem), smallest_conflicts(again)
    if len(first) < 12:
        assert {frozenset(c) for c in first} == {frozenset(c) for c in second}
    assert len(first[0]) == len(second[0])


def test_the_nearest_to_the_heart_is_found_when_there_are_too_many_to_find():
    """Twenty ceilings that water alone breaks, the one on fat last: it is told first."""
    others = ("calcium", "phosphorus", "magnesium", "sodium", "potassium", "iron", "zinc")
    bands = tuple(
        Band(name, Basis.AS_FED, f"{unit}/{per}", low=float(low))
        for name, unit in ((*((x, "mg") for x in others), ("fat", "g")))
        for per in ("100 g", "kg")
        for low in (1e5, 2e5)
    )
    water = shelf(["water"])
    found = smallest_conflicts(problem_of(water, BandSet("own", "own", "lamb", bands)))
    assert len(found) == 12
    heart = [conflict[0].band.measure for conflict in found[:5]]
    assert heart[:4] == ["fat"] * 4
    assert heart[4] != "fat"


def test_a_shelf_that_makes_a_mix_has_no_conflict():
    with pytest.raises(SolverFault, match="called impossible"):
        smallest_conflicts(problem_of(shelf(COW), band_set("lamb-replacer")))


def test_a_smallest_amount_larger_than_the_batch():
    problem = problem_of(
        shelf(["whole-milk", "heavy-cream"], smallest=[9000.0, 0.0]),
        BandSet("own", "own", "lamb", (Band("fat", Basis.AS_FED, "g/100 g", high=10.0),)),
    )
    (conflict,) = smallest_conflicts(problem)
    assert [x.kind for x in conflict] == [LimitKind.BAND_HIGH, LimitKind.SMALLEST]
    assert conflict[1].food == "whole-milk"


def test_how_near_a_limit_can_be_met():
    """Cow's milk at 5.4 % protein: recomputed with scipy as a ratio, on a grid of mixes."""
    problem = problem_of(shelf(COW), band_set("ewe-milk"))
    conflict = smallest_conflicts(problem)[0]
    protein, lactose = conflict
    least, most = best_reach(problem, conflict, lactose), best_reach(problem, conflict, protein)
    per_gram = problem.shelf.composition
    rng = np.random.default_rng(1)
    y = rng.dirichlet(np.full(len(COW), 0.3), 20_000)
    p, sugar = 100 * y @ per_gram.row("protein"), 100 * y @ per_gram.row("lactose")
    y_share = y[:, COW.index("lowfat-buttermilk")]
    assert (sugar[p >= 5.4] >= least - 1e-9).all()
    assert (p[sugar <= 5.4] <= most + 1e-9).all()
    allowed = y_share <= 0.25
    assert sugar[allowed & (p >= 5.4)].min() < least + 0.3
    assert most < 5.4 < 5.4 + 0.1 < least


@given(impossible())
def test_the_best_reach_is_the_end_at_which_the_conflict_goes(problem: Problem):
    conflict = smallest_conflicts(problem)[0]
    for limit in conflict:
        reach = best_reach(problem, conflict, limit)
        if reach is None or limit.band is None:
            continue
        low = limit.kind is LimitKind.BAND_LOW
        assert reach < limit.value if low else reach > limit.value
        slack = 1e-4 * max(1.0, abs(reach))  # scipy's own tolerance is 1e-7 of a scaled row
        for beyond, meets in ((slack, True), (-slack, False)):
            end = reach + (-beyond if low else beyond)
            ends = (end, np.inf) if low else (-np.inf, end)
            moved = replace(limit.band, low=ends[0], high=ends[1])
            others = [x for x in conflict if x != limit]
            alone = replace(problem.bands, bands=(moved,))
            rows = build(problem.shelf, alone, VOLUME)
            keep = [k for k, x in enumerate(problem.limits) if x in others]
            program = problem.program(np.zeros(len(problem.shelf.foods)), keep=keep)
            at_least = rows.rows[0] if low else -rows.rows[0]
            program = replace(
                program,
                matrix=np.vstack((program.matrix, at_least)),
                row_lower=np.append(program.row_lower, 0.0),
                row_upper=np.append(program.row_upper, np.inf),
            )
            if abs(reach) > 1e-9:
                assert (by_scipy(program).says == "optimal") is meets
