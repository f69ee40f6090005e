"""What limits cost: against finite differences, other solvers' duals, and corners by hand."""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pulp
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from formulate.blend.design import design
from formulate.blend.mix import Mix, optimise
from formulate.blend.prices.shadow_prices import ShadowPrice, Slope, handy_step, shadow_prices
from formulate.blend.problem import Limit, LimitKind, Problem, Shelf, build
from formulate.foods.bands import Band, BandSet, Basis, Role
from formulate.foods.tables import band_set, band_sets, food_table

VOLUME = 3785.0
TABLE = food_table()
PLAIN = tuple(food.id for food in TABLE.values() if food.suitable)
#: With these to hand most sets of bands can be met.
STAPLES = ("whole-milk", "heavy-cream", "nonfat-dry-milk", "nonfat-greek-yogurt")
COW = ("whole-milk", "heavy-cream", "nonfat-dry-milk", "evaporated-milk")
PRICE = (0.001, 0.006, 0.012, 0.003)


class Designed(NamedTuple):
    """A problem and its cheapest mix, shown by what they are made of."""

    problem: Problem
    mix: Mix

    def __repr__(self) -> str:
        kept = self.problem.shelf
        arrays = (kept.price, kept.on_hand, kept.smallest)
        told = ", ".join(str(list(map(float, values))) for values in arrays)
        return f"<{self.problem.bands.name}: {kept.ids}, {told}>"


def shelf(ids: Sequence[str], price: Sequence[float], **arrays: Sequence[float]) -> Shelf:
    columns = {name: np.array(values, dtype=float) for name, values in arrays.items()}
    return Shelf(tuple(TABLE[name] for name in ids), np.array(price, float), **columns)


def designed_of(shelf_: Shelf, bands: BandSet) -> Designed:
    mix = design(shelf_, bands, VOLUME)
    assert isinstance(mix, Mix)
    return Designed(build(shelf_, bands, VOLUME), mix)


@st.composite
def designed(draw: st.DrawFn, floors: bool = False) -> Designed:
    few = st.lists(st.sampled_from(PLAIN), max_size=4, unique=True)
    ids = [*STAPLES, *(name for name in draw(few) if name not in STAPLES)]
    n = len(ids)

    def each(values: Sequence[float]) -> list[float]:
        return draw(st.lists(st.sampled_from(values), min_size=n, max_size=n))

    shelf_ = shelf(
        ids,
        each([0.001, 0.0013, 0.002, 0.0057, 0.011]),
        on_hand=each([math.inf, math.inf, math.inf, 300.0, 2000.0]),
        smallest=each([0.0, 0.0, 0.0, 60.0, 900.0] if floors else [0.0]),
    )
    bands = band_set(draw(st.sampled_from(sorted(band_sets()))))
    mix = design(shelf_, bands, VOLUME)
    assume(isinstance(mix, Mix))
    return Designed(build(shelf_, bands, VOLUME), mix)


def at_value(problem: Problem, limit: Limit, value: float) -> Problem | None:
    """The problem built again from a shelf or bands with another value; None if it is absurd."""
    shelf_, bands = problem.shelf, problem.bands
    if limit.band is not None:
        end = "low" if limit.kind is LimitKind.BAND_LOW else "high"
        other = limit.band.high if end == "low" else limit.band.low
        if (value > other) if end == "low" else (value < other):
            return None
        moved = replace(limit.band, **{end: value})
        bands = replace(
            bands, bands=tuple(moved if band is limit.band else band for band in bands.bands)
        )
    else:
        name = "largest_share" if limit.kind is LimitKind.SHARE else "on_hand"
        values = getattr(shelf_, name).copy()
        values[shelf_.ids.index(limit.food)] = value
        shelf_ = replace(shelf_, **{name: values})
    return build(shelf_, bands, VOLUME)


def litre(problem: Problem | None) -> float | None:
    """Cost of a litre, None where there is no mix."""
    best = None if problem is None else optimise(problem)
    return None if best is None else best.objective * 1e3


def sides(cost: ShadowPrice) -> list[tuple[Slope | None, float]]:
    """Both slopes, each with the way the value moves."""
    loose = -1.0 if cost.limit.kind is LimitKind.BAND_LOW else 1.0
    return [(cost.looser, loose), (cost.tighter, -loose)]


def check_slopes(problem: Problem, mix: Mix) -> None:
    here = mix.cost_per_litre
    for cost in shadow_prices(problem, mix):
        limit = cost.limit
        size = max(abs(limit.value), cost.step)
        for slope, way in sides(cost):
            a_little = litre(at_value(problem, limit, limit.value + way * 1e-6 * size))
            if slope is None:
                assert a_little is None
                continue
            assert a_little is not None
            quotient = (a_little - here) / (1e-6 * size)
            assert slope.rate == pytest.approx(quotient, rel=1e-3, abs=1e-4 * here / size)
            step = litre(at_value(problem, limit, limit.value + way * cost.step))
            if step is None or slope.step_change is None:
                assert slope.step_change is None
                assert step is None
            else:
                assert slope.step_change == pytest.approx(step - here, rel=1e-6, abs=1e-9 * here)
        if cost.looser is not None:
            assert cost.looser.rate <= 1e-9
        if cost.tighter is not None:
            assert cost.tighter.rate >= -1e-9


@given(designed())
def test_each_slope_is_the_difference_quotient_to_its_side(given_: Designed):
    check_slopes(*given_)


@settings(max_examples=25)
@given(designed(floors=True))
def test_slopes_with_smallest_amounts_are_difference_quotients_too(given_: Designed):
    check_slopes(*given_)


@given(designed())
def test_the_cost_follows_the_curve_up_to_where_it_is_told_to_hold(given_: Designed):
    """cost(δ) = cost + rate·δ/(1 + g·δ); g follows from the rates at both ends of the range."""
    problem, mix = given_
    here = mix.cost_per_litre
    for cost in shadow_prices(problem, mix):
        for slope, way in sides(cost):
            if slope is None or math.isinf(slope.until):
                continue
            far = (slope.until - cost.limit.value) * way
            assert far >= -1e-9
            bend = 0.0
            if slope.rate and far > 0:
                bend = (math.sqrt(slope.rate / slope.rate_until) - 1.0) / far
            for part in (0.25, 0.6, 0.999):
                move = part * far
                told = here + slope.rate * move / (1.0 + bend * move)
                found = litre(at_value(problem, cost.limit, cost.limit.value + way * move))
                assert found == pytest.approx(told, rel=1e-7)


@given(designed())
def test_every_limit_that_costs_is_reported(given_: Designed):
    problem, mix = given_
    told = {cost.limit for cost in shadow_prices(problem, mix)}
    for limit in problem.limits:
        if limit in told:
            continue
        loose = -1.0 if limit.kind is LimitKind.BAND_LOW else 1.0
        size = max(abs(limit.value), handy_step(limit))
        looser = litre(at_value(problem, limit, limit.value + loose * 1e-4 * size))
        assert looser == pytest.approx(mix.cost_per_litre, rel=1e-7)


def duals_by_scipy(problem: Problem) -> np.ndarray:
    """Duals of the rows of the program, size row last."""
    program = problem.program()
    low = np.append(problem.is_low, False)[:-1]
    rows = np.where(low[:, None], -program.matrix[:-1], program.matrix[:-1])
    found = linprog(
        program.cost,
        A_ub=rows,
        b_ub=np.zeros(rows.shape[0]),
        A_eq=program.matrix[-1:],
        b_eq=[1.0],
        method="highs",
    )
    return np.where(low, -1.0, 1.0) * found.ineqlin.marginals


def duals_by_cbc(problem: Problem) -> np.ndarray:
    """Duals of the rows by PuLP and CBC."""
    program = problem.program()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        model = pulp.LpProblem("duals", pulp.LpMinimize)
        x = [pulp.LpVariable(f"x{j}", 0) for j in range(program.shape[1])]
        model += pulp.lpSum(c * v for c, v in zip(program.cost, x, strict=True))
        for k, row in enumerate(program.matrix):
            total = pulp.lpSum(float(a) * v for a, v in zip(row, x, strict=True))
            if k == len(problem.limits):
                model += total == 1.0, f"r{k}"
            else:
                model += (total >= 0.0 if problem.is_low[k] else total <= 0.0), f"r{k}"
        model.solve(pulp.PULP_CBC_CMD(msg=False))
        return np.array([model.constraints[f"r{k}"].pi for k in range(len(problem.limits))])


def rates_from_duals(problem: Problem, mix: Mix, duals: np.ndarray) -> dict[Limit, float]:
    """d(cost)/d(value) of a row (n − t/scale·d)·y/row_scale: dual · d·y / (scale · row_scale)."""
    composition, y = problem.shelf.composition, mix.grams / VOLUME
    rates = {}
    for k, limit in enumerate(problem.limits):
        if limit.band is not None:
            per = composition.row(limit.band.denominator) @ y / limit.band.scale
        elif limit.kind is LimitKind.SHARE:
            per = y.sum()
        else:
            per = 1.0 / VOLUME
        rates[limit] = duals[k] * per / problem.row_scale[k] * 1e3
    return rates


@given(designed())
def test_at_a_plain_vertex_the_slopes_are_scipys_duals(given_: Designed):
    problem, mix = given_
    y = mix.grams / VOLUME
    tight = int((np.abs(problem.rows @ y) <= 1e-9).sum())
    plain = int((y > 0).sum()) == tight + 1
    event(f"plain corner: {plain}")
    assume(plain)
    rates = rates_from_duals(problem, mix, duals_by_scipy(problem))
    for cost in shadow_prices(problem, mix):
        told = [way * slope.rate for slope, way in sides(cost) if slope is not None]
        assert told == pytest.approx([rates[cost.limit]] * len(told), rel=1e-5)


@pytest.mark.parametrize("bands", ["lamb-replacer", "kid-replacer"])
def test_the_slopes_are_cbcs_duals(bands: str):
    problem, mix = designed_of(
        shelf(COW, PRICE, on_hand=[math.inf, math.inf, 60.0, math.inf]), band_set(bands)
    )
    costs = shadow_prices(problem, mix)
    rates = rates_from_duals(problem, mix, duals_by_cbc(problem))
    assert costs
    for cost in costs:
        for slope, way in sides(cost):
            assert way * slope.rate == pytest.approx(rates[cost.limit], rel=1e-5)


def test_a_stock_of_just_what_is_used_saves_nothing_and_costs_something():
    """One limit too many on the corner: the slope to either side is another, and both are told."""
    bands = band_set("lamb-replacer")
    _, mix = designed_of(shelf(COW, PRICE), bands)
    stock = np.full(len(COW), math.inf)
    stock[1] = mix.grams[1]
    problem, again = designed_of(shelf(COW, PRICE, on_hand=stock), bands)
    (cream,) = (c for c in shadow_prices(problem, again) if c.limit.kind is LimitKind.STOCK)
    assert cream.limit.food == "heavy-cream"
    assert cream.kinked
    assert cream.looser.rate == pytest.approx(0.0, abs=1e-9)
    assert cream.tighter.rate > 1e-5
    for other in shadow_prices(problem, again):
        if other.limit.band is not None and other.limit.band.measure == "fat":
            assert other.kinked


def test_a_band_of_no_width_cannot_be_tightened():
    own = replace(
        band_set("lamb-replacer"),
        bands=(
            Band("fat", Basis.AS_FED, "g/100 g", low=5.0, high=5.0),
            Band("solids", Basis.AS_FED, "g/100 g", low=16.0, high=19.0),
        ),
    )
    problem, mix = designed_of(shelf(COW, PRICE), own)
    fat = [c for c in shadow_prices(problem, mix) if c.limit.band.measure == "fat"]
    assert fat
    assert all(cost.tighter is None and cost.kinked for cost in fat)


def test_a_limit_on_the_edge_of_the_possible():
    """The richest these foods can be: a little more is not to be had at any price."""
    only = shelf(["whole-milk", "heavy-cream"], [0.001, 0.006])
    composition = only.composition
    most = 100 * float(composition.row("protein").max())
    own = BandSet("own", "own", "lamb", (Band("protein", Basis.AS_FED, "g/100 g", low=most),))
    problem, mix = designed_of(only, own)
    (cost,) = shadow_prices(problem, mix)
    assert cost.tighter is None
    assert cost.looser is not None


def test_safety_limits_are_priced_too():
    """With little sodium allowed, the dry milk is held back by it."""
    own = BandSet(
        "own",
        "own",
        "lamb",
        (
            Band("solids", Basis.AS_FED, "g/100 g", low=16.0, high=19.0),
            Band("sodium", Basis.AS_FED, "mg/100 g", high=60.0, role=Role.SAFETY),
        ),
    )
    problem, mix = designed_of(shelf(COW[:3], (0.001, 0.006, 0.003)), own)
    roles = {cost.limit.band.role for cost in shadow_prices(problem, mix)}
    assert roles == {Role.DEMANDED, Role.SAFETY}


def test_smallest_amounts_are_reported():
    floors = [0.0, 300.0, 250.0, 0.0]
    problem, mix = designed_of(shelf(COW, PRICE, smallest=floors), band_set("lamb-replacer"))
    costs = shadow_prices(problem, mix)
    assert costs
    assert all(cost.while_used for cost in costs)


def test_handy_steps():
    bands = band_set("lamb-replacer").bands
    by_name = {band.measure: band for band in bands}

    def step(measure: str) -> float:
        band = by_name[measure]
        return handy_step(Limit(LimitKind.BAND_HIGH, band, value=band.high))

    assert step("solids") == 0.1
    assert step("osmoles") == 10.0
    assert handy_step(Limit(LimitKind.SHARE, food="water", value=0.2)) == 0.01
    assert handy_step(Limit(LimitKind.STOCK, food="water", value=200.0)) == 10.0


@settings(max_examples=10)
@given(designed(floors=True))
def test_every_run_gives_the_same(given_: Designed):
    problem, mix = given_
    assert shadow_prices(problem, mix) == shadow_prices(problem, mix)


def test_a_vertex_just_beyond_the_limit_hides_no_slope():
    # Fat ends at 6.4 % a hair past solids of 17.9 %: the mix is at the end of its solids, and
    # the next corner lies a thousandth of a percent away.
    ids = ("whole-milk", "heavy-cream", "nonfat-dry-milk", "nonfat-greek-yogurt")
    foods = tuple(food_table()[name] for name in ids)
    shelf = Shelf(foods, price=np.array([0.0013, 0.001, 0.001, 0.001]), largest_share=np.ones(4))
    ends = {"solids": (17.0, 17.9), "fat": (5.8, 6.4), "protein": (5.4, 5.6), "lactose": (5.1, 5.4)}
    bands = BandSet(
        "narrow",
        "",
        "lamb",
        tuple(Band(name, Basis.AS_FED, "g/100 g", *range_) for name, range_ in ends.items()),
    )
    problem = build(shelf, bands, VOLUME)
    mix = design(shelf, bands, VOLUME)
    solids = next(c for c in shadow_prices(problem, mix) if c.limit.band.measure == "solids")
    assert solids.looser.rate == pytest.approx(-solids.tighter.rate, rel=1e-6)
    assert solids.looser.until == pytest.approx(17.90016, abs=1e-5)
