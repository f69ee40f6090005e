"""Why there is no mix: the named limits clash, none is named in vain, and fewer never clash."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog
from strategies import VOLUME, Job, jobs

from formulate.base.errors import SolverFault
from formulate.blend.design import design
from formulate.blend.explain import MOST_CONFLICTS, smallest_conflicts
from formulate.blend.mix import NoMix, optimise
from formulate.blend.problem import Limit, LimitKind, Problem, Shelf
from formulate.foods.bands import Band, BandSet, Basis, Role
from formulate.foods.food import Composition
from formulate.foods.tables import band_set, food_table

inf = math.inf


def can_be_met(limits: tuple[Limit, ...], composition: Composition) -> bool:
    """Whether some mix meets all of these limits: written afresh, asked of scipy."""
    n = len(composition.foods)
    weight, room = composition.row("mass"), composition.row("volume")
    rows = []
    for limit in limits:
        if limit.band is not None:
            above = limit.band.scale * composition.row(limit.band.measure)
            row = above - limit.value * composition.row(limit.band.denominator)
            if limit.kind is LimitKind.BAND_LOW:
                row = -row
        else:
            row = np.zeros(n)
            row[composition.ids.index(limit.food)] = 1.0
            whole = weight if limit.kind is LimitKind.SHARE else room / VOLUME
            row = row - limit.value * whole
        rows.append(row / np.abs(row).max())
    found = linprog(
        np.zeros(n),
        A_ub=np.array(rows) if rows else None,
        b_ub=np.zeros(len(rows)) if rows else None,
        A_eq=[room],
        b_eq=[1.0],
    )
    assert found.status in (0, 2)
    return found.status == 0


def impossible(job: Job) -> Problem:
    problem = job.problem()
    assume(optimise(problem) is None)
    return problem


@given(jobs(most=4))
def test_a_conflict_clashes_and_nothing_in_it_is_spare(job):
    problem = impossible(job)
    composition = job.shelf.composition
    for conflict in smallest_conflicts(problem):
        assert set(conflict) <= set(problem.limits)
        assert not can_be_met(conflict, composition)
        for k in range(len(conflict)):
            assert can_be_met(conflict[:k] + conflict[k + 1 :], composition)


@given(jobs(most=4))
def test_no_smaller_set_of_limits_clashes_and_none_of_that_size_is_kept_back(job):
    problem = impossible(job)
    found = smallest_conflicts(problem)
    size = len(found[0])
    assert {len(conflict) for conflict in found} == {size}
    assume(size <= 3)
    composition = job.shelf.composition
    clashing = {
        frozenset(some)
        for fewer in range(1, size + 1)
        for some in combinations(problem.limits, fewer)
        if not can_be_met(some, composition)
    }
    told = {frozenset(conflict) for conflict in found}
    assert len(told) == len(found), "the same conflict is told twice"
    if len(found) < MOST_CONFLICTS:
        assert told == clashing
    else:
        assert told <= clashing
    assert min(map(len, clashing)) == size


@given(jobs(most=4))
def test_the_first_conflict_is_about_solids_fat_and_protein_if_any_is(job):
    found = smallest_conflicts(impossible(job))

    def heart(conflict: tuple[Limit, ...]) -> int:
        return sum(
            limit.relaxable and limit.band.measure in ("solids", "fat", "protein")
            for limit in conflict
        )

    if len(found) < MOST_CONFLICTS:
        assert heart(found[0]) == max(map(heart, found))


@given(jobs(most=4), st.data())
def test_a_design_names_the_same_conflict(job, data):
    problem = impossible(job)
    found = design(job.shelf, job.bands, VOLUME)
    assert isinstance(found, NoMix)
    assert [found.conflict, *found.other_conflicts] == smallest_conflicts(problem)


@given(jobs(most=4))
def test_the_first_conflict_alone_is_the_first_of_all(job):
    problem = impossible(job)
    assert smallest_conflicts(problem, first=True) == smallest_conflicts(problem)[:1]


@given(jobs(most=4))
def test_an_integer_program_finds_the_same_conflicts_as_going_through_the_choices(job):
    problem = impossible(job)
    found = smallest_conflicts(problem)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("formulate.blend.explain.MOST_CHOICES", 0)
        others = smallest_conflicts(problem)
    assert len(others) == len(found)
    if len(found) < MOST_CONFLICTS:
        assert others == found


def test_a_possible_mix_has_no_conflict():
    milk = Shelf((food_table()["whole-milk"],), price=np.array([0.001]))
    fat = BandSet("fat", "", "lamb", (Band("fat", Basis.AS_FED, "g/100 g", low=3.0),))
    with pytest.raises(SolverFault, match="that is possible"):
        smallest_conflicts(Job(milk, fat).problem())


def test_cows_milk_first_clashes_with_ewes_milk():
    """Cow's milk carries about 1.5 g of lactose for each gram of protein, ewe's milk about 0.9.

    So the protein of ewe's milk takes more milk sugar than ewe's milk has: on cow's dairy
    without strained yogurt the two demands alone clash.
    """
    names = ("whole-milk", "evaporated-milk", "heavy-cream", "nonfat-dry-milk", "water")
    shelf = Shelf(tuple(food_table()[name] for name in names), price=np.full(5, 0.001))
    found = design(shelf, band_set("ewe-milk"), VOLUME)
    assert isinstance(found, NoMix)
    assert [(limit.kind, limit.band.measure, limit.value) for limit in found.conflict] == [
        (LimitKind.BAND_LOW, "protein", 5.4),
        (LimitKind.BAND_HIGH, "lactose", 5.4),
    ]


def test_smallest_amounts_are_limits_too():
    """200 g at least of either powder is more than a thin mix can hold."""
    names = ("nonfat-dry-milk", "dry-whole-milk", "water")
    shelf = Shelf(
        tuple(food_table()[name] for name in names),
        price=np.array([0.012, 0.013, 0.0]),
        smallest=np.array([200.0, 200.0, 0.0]),
    )
    demands = (
        Band("protein", Basis.AS_FED, "g/100 g", low=3.0),
        Band("solids", Basis.AS_FED, "g/100 g", high=12.0),
    )
    problem = Job(shelf, BandSet("thin", "", "lamb", demands)).problem()
    found = smallest_conflicts(problem)
    kinds = [limit.kind for limit in found[0]]
    assert LimitKind.SMALLEST in kinds
    assert optimise(Job(Shelf(shelf.foods, price=shelf.price), problem.bands).problem()) is not None


def test_safety_can_be_part_of_a_conflict():
    salty = Band("sodium", Basis.AS_FED, "mg/100 g", high=20.0, role=Role.SAFETY)
    protein = Band("protein", Basis.AS_FED, "g/100 g", low=3.0)
    milk = Shelf((food_table()["whole-milk"], food_table()["water"]), price=np.ones(2))
    found = design(milk, BandSet("strict", "", "lamb", (protein, salty)), VOLUME)
    assert isinstance(found, NoMix)
    assert {limit.band.role for limit in found.conflict} == {Role.DEMANDED, Role.SAFETY}
    assert found.nearest is not None
    sodium = next(read for read in found.nearest.reads if read.band is salty)
    assert sodium.value <= 20.0 * (1 + 1e-7)
