"""Random pantries against an independent linear program: status, cost, reads, no fault."""

from __future__ import annotations

import numpy as np
import pytest
from made_pantries import MadePantry, made_pantry

from formulate.base.errors import SolverFault
from formulate.blend import design as designing
from formulate.blend import explain
from formulate.blend.design import design
from formulate.blend.mix import Mix, NoMix
from formulate.blend.prices.ranging import entry_prices, price_ranges
from formulate.blend.prices.shadow_prices import shadow_prices
from formulate.blend.problem import LimitKind, Shelf, build
from formulate.blend.program import LinearProgram
from formulate.blend.solve import Infeasible, Optimal, solve
from formulate.foods.bands import Band, BandSet, Basis, Standing
from formulate.foods.tables import food_table

#: Ranges are moved by this part of their width where the two programs differ: they may, where a
#: range is met or missed by less than either sees.
HAIR = 1e-6


def disagreement(made: MadePantry, found: Mix | NoMix) -> str:
    """What the independent program says against an answer; empty where they agree."""
    if isinstance(found, NoMix):
        if made.cheapest() is not None and made.stretched(-HAIR).cheapest() is not None:
            return "a mix was not found"
        return "" if found.complete else "why there is none was not found"
    wrong = [r.band for r in found.reads
             if r.band in made.bands.binding and r.standing is not Standing.INSIDE]  # fmt: skip
    return f"{wrong[0]} is not kept" if wrong else dearer_or_cheaper(made, found)


def dearer_or_cheaper(made: MadePantry, found: Mix) -> str:
    # A trace of what there must be to read may cost something too.
    slack = 1e-6 * found.cost + 2e-6 * float(made.shelf.price.max()) * made.volume
    cheapest = made.cheapest()
    if cheapest is not None and abs(found.cost - cheapest) <= slack:
        return ""
    tight, loose = made.stretched(-HAIR).cheapest(), made.stretched(HAIR).cheapest()
    if loose is None:
        return "there is no such mix"
    if found.cost < loose - slack or (tight is not None and found.cost > tight + slack):
        return f"it costs {found.cost}, not between {loose} and {tight}"
    return ""


@pytest.mark.parametrize("count", [100, pytest.param(100_000, marks=pytest.mark.long)])
def test_no_wrong_status_cost_or_read_and_no_fault(count):
    mixes = 0
    for number in range(count):
        made = made_pantry(number)
        try:
            found = design(made.shelf, made.bands, made.volume)
        except SolverFault as fault:
            raise AssertionError(f"pantry {number}: {fault}: {made}") from fault
        wrong = disagreement(made, found)
        assert not wrong, f"pantry {number}: {wrong}: {made}"
        mixes += isinstance(found, Mix)
    assert 0.4 * count < mixes < 0.8 * count


@pytest.mark.parametrize("count", [50, pytest.param(10_000, marks=pytest.mark.long)])
def test_reasons_are_told_of_every_mix(count):
    """A quarter of the pantries have ranges whose ends are equal."""
    for number in range(count):
        made = made_pantry(number)
        found = design(made.shelf, made.bands, made.volume)
        if isinstance(found, Mix):
            problem = build(made.shelf, made.bands, made.volume)
            try:
                costs = shadow_prices(problem, found)
                entry_prices(problem, found)
                price_ranges(problem, found)
            except SolverFault as fault:
                raise AssertionError(f"pantry {number}: {fault}: {made}") from fault
            for cost in costs:
                assert cost.limit.exact <= (cost.tighter is None)


def exact_mix(value: float) -> tuple:
    ids, price = ("whole-milk", "heavy-cream", "nonfat-dry-milk"), [0.001, 0.006, 0.012]
    shelf = Shelf(tuple(food_table()[i] for i in ids), price=np.array(price), currency="EUR")
    bands = BandSet("exact", "Exact", "lamb", (
        Band("fat", Basis.AS_FED, "g/100 g", low=value, high=value),
    ))  # fmt: skip
    return shelf, bands


def test_a_range_of_one_value_costs_what_moving_it_costs():
    """Asking for 0.1 % less fat, by two designs."""
    shelf, bands = exact_mix(4.5)
    mix, less = (design(*exact_mix(v), 1000.0) for v in (4.5, 4.4))
    costs = shadow_prices(build(shelf, bands, 1000.0), mix)
    low = next(c for c in costs if c.limit.kind is LimitKind.BAND_LOW)
    assert low.limit.exact
    assert low.tighter is None
    assert low.looser.step_change == pytest.approx(less.cost_per_litre - mix.cost_per_litre)


# --- programs that are infeasible by a hair -----------------------------------------------------


@pytest.mark.parametrize("count", [40, pytest.param(4000, marks=pytest.mark.long)])
def test_a_range_turned_inside_out_by_a_hair_is_impossible(count):
    """HiGHS leaves some of these open."""
    tried = 0
    for number in range(count):
        made = made_pantry(number)
        found = design(made.shelf, made.bands, made.volume)
        if not isinstance(found, Mix):
            continue
        problem = build(made.shelf, made.bands, made.volume)
        program = problem.program()
        for k, limit in enumerate(problem.limits):
            if not limit.exact or limit.kind is not LimitKind.BAND_LOW or not problem.rows[k].any():
                continue
            per = made.shelf.composition.row(limit.band.denominator)
            for hair in (1e-8, 1e-6):
                rows = program.matrix.copy()
                rows[k] -= hair * limit.value * per / limit.band.scale / problem.row_scale[k]
                turned = LinearProgram(program.cost, rows, program.row_lower, program.row_upper,
                                       program.col_lower, program.col_upper)  # fmt: skip
                answer = solve(turned)
                tried += 1
                assert isinstance(answer, Infeasible | Optimal), number
                if hair == 1e-6:
                    assert isinstance(answer, Infeasible), number
    assert tried > count / 20


# --- a fault costs no more than its own part ----------------------------------------------------

NEVER = BandSet("never", "Never", "lamb", (
    Band("fat", Basis.AS_FED, "g/100 g", low=60.0),
    Band("protein", Basis.AS_FED, "g/100 g", low=30.0),
))  # fmt: skip


def faulty(*args, **how):
    raise SolverFault("no answer")


@pytest.mark.parametrize("part", ["nearest", "smallest_conflicts"])
def test_a_fault_of_one_part_leaves_the_other(part, monkeypatch):
    shelf, _ = exact_mix(4.5)
    monkeypatch.setattr(designing if part == "nearest" else explain, part, faulty)
    found = design(shelf, NEVER, 1000.0)
    assert isinstance(found, NoMix)
    assert not found.complete
    assert (found.nearest is None) == (part == "nearest")
    assert (found.conflict == ()) == (part == "smallest_conflicts")
