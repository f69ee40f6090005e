"""Prices at which foods come in, stay and leave: solved again on both sides, and by HiGHS."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from second_opinion import by_scipy

from formulate.base.errors import InputError
from formulate.blend.design import design
from formulate.blend.mix import Mix, Status, optimise
from formulate.blend.prices.ranging import entry_prices, equal_recipes, price_ranges
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.solve import fresh_engine, pass_program
from formulate.foods.tables import band_set, band_sets, food_table

VOLUME = 3785.0
TABLE = food_table()
PLAIN = tuple(food.id for food in TABLE.values() if food.suitable)
#: With these to hand most sets of bands can be met.
STAPLES = ("whole-milk", "heavy-cream", "nonfat-dry-milk", "nonfat-greek-yogurt")


def shelf(ids: Sequence[str], price: Sequence[float], **arrays: Sequence[float]) -> Shelf:
    columns = {name: np.array(values, dtype=float) for name, values in arrays.items()}
    return Shelf(
        tuple(TABLE[name] for name in ids), np.array(price, float), currency="USD", **columns
    )


class Designed(NamedTuple):
    """A problem and its cheapest mix, shown by what they are made of."""

    problem: Problem
    mix: Mix

    def __repr__(self) -> str:
        kept = self.problem.shelf
        arrays = (kept.price, kept.on_hand, kept.smallest)
        told = ", ".join(str(list(map(float, values))) for values in arrays)
        return f"<{self.problem.bands.name}: {kept.ids}, {told}>"


def designed_of(shelf_: Shelf, bands: str) -> Designed:
    mix = design(shelf_, band_set(bands), VOLUME)
    assert isinstance(mix, Mix)
    return Designed(build(shelf_, band_set(bands), VOLUME), mix)


@st.composite
def designed(draw: st.DrawFn, floors: bool = False) -> Designed:
    """A shelf with a cheapest mix; prices on a grid, so that some tie."""
    few = st.lists(st.sampled_from(PLAIN), max_size=4, unique=True)
    ids = [*STAPLES, *(name for name in draw(few) if name not in STAPLES)]
    n = len(ids)

    def each(values: Sequence[float]) -> list[float]:
        return draw(st.lists(st.sampled_from(values), min_size=n, max_size=n))

    shelf_ = shelf(
        ids,
        each([0.001, 0.0013, 0.002, 0.0057, 0.011, 0.0]),
        on_hand=each([math.inf, math.inf, math.inf, 300.0, 2000.0]),
        smallest=each([0.0, 0.0, 0.0, 60.0, 900.0] if floors else [0.0]),
    )
    bands = draw(st.sampled_from(sorted(band_sets())))
    mix = design(shelf_, band_set(bands), VOLUME)
    assume(isinstance(mix, Mix))
    assume(mix.cost > 0)
    return Designed(build(shelf_, band_set(bands), VOLUME), mix)


def cost_at(problem: Problem, food: str, price: float, without: bool = False) -> float:
    """Cheapest cost [money/mL] by scipy with one food at another price, or without it."""
    j = problem.shelf.ids.index(food)
    prices = problem.shelf.price.copy()
    prices[j] = price
    return least_cost(problem, prices, without=j if without else None)


def least_cost(problem: Problem, prices: np.ndarray, without: int | None = None) -> float:
    """Cheapest cost by scipy; smallest amounts by trying every choice of foods."""
    program = problem.program(prices * 1e4)  # scipy's tolerance is 1e-7, whatever the money
    floored = np.flatnonzero(problem.shelf.smallest > 0)
    best = math.inf
    for used in range(2 ** len(floored)):
        low, high = program.col_lower.copy(), program.col_upper.copy()
        for place, j in enumerate(floored):
            if used >> place & 1:
                low[j] = problem.shelf.smallest[j] / VOLUME
            else:
                high[j] = 0.0
        if without is not None:
            high[without] = 0.0
        if (low > high).any():
            continue
        answer = by_scipy(replace(program, col_lower=low, col_upper=high))
        if answer.says == "optimal":
            best = min(best, answer.value / 1e4)
    return best


def cost_of(problem: Problem, grams: np.ndarray, food: str, price: float) -> float:
    prices = problem.shelf.price.copy()
    prices[problem.shelf.ids.index(food)] = price
    return float(prices @ grams) / VOLUME


def check_entries(problem: Problem, mix: Mix) -> None:
    cost = mix.cost / VOLUME
    for entry in entry_prices(problem, mix):
        if entry.below is None:
            assert cost_at(problem, entry.food, 0.0) >= cost * (1 - 1e-7)
            continue
        j = problem.shelf.ids.index(entry.food)
        used = entry.grams[j] / VOLUME
        assert used > 0
        # Its own recipe costs the same at that price, so is cheaper below; nothing is above.
        assert cost_of(problem, entry.grams, entry.food, entry.below) == pytest.approx(cost)
        above = cost_at(problem, entry.food, entry.below * (1 + 1e-3) + 1e-9)
        assert above == pytest.approx(cost, rel=1e-6)
        assert entry.below <= entry.price * (1 + 1e-6)


def check_ranges(problem: Problem, mix: Mix) -> None:
    for item in price_ranges(problem, mix):
        assert item.low <= item.price <= item.high <= item.leaves_at

        def line(price: float, item=item) -> float:
            return cost_of(problem, mix.grams, item.food, price)

        # Within the range, its ends and a far place in it, nothing is cheaper.
        far = item.high if math.isfinite(item.high) else 100.0
        for price in (item.low, (item.low + far) / 2, far):
            least = cost_at(problem, item.food, price)
            assert least == pytest.approx(line(price), rel=2e-6, abs=1e-12)
        # Beyond an end the recipe that takes over is cheaper, and costs the same at the end.
        for end, recipe, way in ((item.low, item.below, -1), (item.high, item.above, 1)):
            if recipe is None:
                assert end == (0.0 if way < 0 else math.inf)
                continue
            at_end = cost_of(problem, recipe, item.food, end)
            assert at_end == pytest.approx(line(end), rel=1e-6, abs=1e-12)
            beyond = end + way * 1e-3 * max(end, 1e-4)
            assert cost_of(problem, recipe, item.food, beyond) < line(beyond)
        # Above `leaves_at` a mix without it costs no more; below, one with it costs less.
        bare = cost_at(problem, item.food, 0.0, without=True)
        if math.isinf(item.leaves_at):
            assert math.isinf(bare)
        else:
            above = cost_at(problem, item.food, item.leaves_at * (1 + 1e-6))
            assert above == pytest.approx(bare, rel=1e-6)
            if item.leaves_at > 0:  # a food that is free may tie with another that is
                assert cost_at(problem, item.food, item.leaves_at * (1 - 1e-2)) < bare


@given(designed())
def test_unused_foods_come_in_where_told(given_: Designed):
    check_entries(*given_)


@settings(max_examples=8)
@given(designed(floors=True))
def test_unused_foods_come_in_where_told_with_smallest_amounts(given_: Designed):
    check_entries(*given_)


@settings(max_examples=20)
@given(designed())
def test_the_recipe_stays_where_told(given_: Designed):
    check_ranges(*given_)


@settings(max_examples=8)
@given(designed(floors=True))
def test_the_recipe_stays_where_told_with_smallest_amounts(given_: Designed):
    check_ranges(*given_)


@given(designed())
def test_highs_ranging_lies_within_and_agrees_at_plain_vertices(given_: Designed):
    """Ranging on one basis is never wider; where the corner is no degenerate one it is equal."""
    problem, mix = given_
    program = problem.program()
    engine = fresh_engine()
    pass_program(engine, program)
    engine.run()
    _, ranging = engine.getRanging()
    best = optimise(problem)
    active = np.abs(problem.rows @ best.x) <= 1e-9
    plain = int((best.x > 1e-9).sum()) == int(active.sum()) + 1
    event(f"plain corner: {plain}")
    if np.abs(best.x * VOLUME - mix.grams).max() > 1e-6 or not ranging.valid:
        return
    for item in price_ranges(problem, mix):
        j = problem.shelf.ids.index(item.food)
        low, high = ranging.col_cost_dn.value_[j], ranging.col_cost_up.value_[j]
        assert max(low, 0.0) >= item.low * (1 - 1e-6) - 1e-12
        assert high <= item.high * (1 + 1e-6) + 1e-12
        if plain:
            assert max(low, 0.0) == pytest.approx(item.low, rel=1e-6, abs=1e-10)
            assert (high if high < 1e20 else math.inf) == pytest.approx(item.high, rel=1e-6)
    if plain:
        for entry in entry_prices(problem, mix):
            j = problem.shelf.ids.index(entry.food)
            below = entry.price - best.reduced_cost[j]
            assert max(below, 0.0) == pytest.approx(entry.below or 0.0, rel=1e-6, abs=1e-9)


def widths_of_optimum(problem: Problem, mix: Mix) -> np.ndarray:
    """How far each amount [g/mL] can move at the same cost, by scipy."""
    program = problem.program()
    most = mix.cost / VOLUME
    scale = program.cost.max()
    face = replace(
        program,
        matrix=np.vstack((program.matrix, program.cost / scale)),
        row_lower=np.append(program.row_lower, -math.inf),
        row_upper=np.append(program.row_upper, most / scale),
    )
    n = program.shape[1]
    ends = [
        by_scipy(replace(face, cost=sign * np.eye(n)[j])).value
        for j in range(n)
        for sign in (1.0, -1.0)
    ]
    return -np.array(ends[1::2]) - np.array(ends[::2])


def check_ties(problem: Problem, mix: Mix) -> bool:
    """Whether another recipe is told; that it is one, and that there is none if it is not."""
    others = equal_recipes(entry_prices(problem, mix), price_ranges(problem, mix))
    for grams in others:
        assert float(problem.shelf.price @ grams) == pytest.approx(mix.cost, rel=1e-6)
        assert np.abs(grams - mix.grams).max() > 1e-5 * VOLUME
        slack = problem.rows @ grams / VOLUME
        assert (np.where(problem.is_low, -slack, slack) <= 1e-8).all()
    widths = widths_of_optimum(problem, mix)
    if others:
        assert widths.max() > 1e-5
    else:
        assert widths.max() < 1e-3  # what a cost within scipy's tolerance allows
    return bool(others)


@settings(max_examples=20)
@given(designed())
def test_another_recipe_is_told_exactly_where_there_is_one(given_: Designed):
    check_ties(*given_)


@settings(max_examples=20)
@given(designed(), st.data())
def test_at_the_end_of_a_range_two_recipes_tie(given_: Designed, data: st.DataObject):
    problem, mix = given_
    ends = [(e.food, e.below) for e in entry_prices(problem, mix) if e.below is not None]
    for item in price_ranges(problem, mix):
        ends += [(item.food, item.low)] if item.below is not None else []
        ends += [(item.food, item.high)] if item.above is not None else []
    assume(ends)
    food, price = data.draw(st.sampled_from(ends))
    prices = problem.shelf.price.copy()
    prices[problem.shelf.ids.index(food)] = price
    tied = problem.shelf.with_price(prices)
    mix = design(tied, problem.bands, VOLUME)
    assume(mix.cost > 0)
    assert check_ties(build(tied, problem.bands, VOLUME), mix)


def test_two_identical_milks_at_one_price_tie():
    """The same milk under two names: vitamin D is in no band, so either will do."""
    twin = replace(TABLE["whole-milk"], id="other-milk")
    ids = ["whole-milk", "heavy-cream", "nonfat-dry-milk"]
    foods = (twin, *(TABLE[name] for name in ids))
    same = Shelf(foods, np.array([0.001, 0.001, 0.006, 0.012]), currency="USD")
    problem, mix = designed_of(same, "lamb-replacer")
    entries, ranges = entry_prices(problem, mix), price_ranges(problem, mix)
    (other,) = equal_recipes(entries, ranges)
    assert sorted(other[:2]) == pytest.approx(sorted(mix.grams[:2]))
    assert other[0] != pytest.approx(mix.grams[0])
    unused = next(entry for entry in entries if entry.food in ("whole-milk", "other-milk"))
    assert unused.tied
    assert unused.below == pytest.approx(0.001)


def test_a_range_is_not_cut_short_at_a_degenerate_vertex():
    """A stock of just what is used puts one limit too many on the corner; HiGHS sees half."""
    ids = ["whole-milk", "heavy-cream", "nonfat-dry-milk", "evaporated-milk"]
    price = [0.001, 0.006, 0.012, 0.003]
    free, mix = designed_of(shelf(ids, price), "lamb-replacer")
    stock = np.full(len(ids), np.inf)
    stock[1] = mix.grams[1]
    tight, again = designed_of(shelf(ids, price, on_hand=stock), "lamb-replacer")
    assert np.allclose(again.grams, mix.grams)
    for item, loose in zip(price_ranges(tight, again), price_ranges(free, mix), strict=True):
        assert item.low <= loose.low * (1 + 1e-6)
        assert item.high >= loose.high * (1 - 1e-6)


def test_dearest_food_that_no_mix_does_without():
    problem, mix = designed_of(
        shelf(["whole-milk", "heavy-cream", "nonfat-dry-milk"], [0.001, 0.006, 0.012]),
        "lamb-replacer",
    )
    whole = price_ranges(problem, mix)[0]
    assert whole.food == "whole-milk"
    assert whole.leaves_at == math.inf


def test_only_a_cheapest_mix_has_ranges():
    problem, mix = designed_of(
        shelf(["whole-milk", "heavy-cream", "nonfat-dry-milk"], [0.001, 0.006, 0.012]),
        "lamb-replacer",
    )
    near = replace(mix, status=Status.NEAREST)
    for ask in (entry_prices, price_ranges):
        with pytest.raises(InputError, match="cheapest mix"):
            ask(problem, near)


@settings(max_examples=8)
@given(designed(floors=True))
def test_every_run_gives_the_same(given_: Designed):
    problem, mix = given_

    def told() -> list[object]:
        return [
            *((e.food, e.below) for e in entry_prices(problem, mix)),
            *((r.food, r.low, r.high, r.leaves_at) for r in price_ranges(problem, mix)),
        ]

    assert told() == told()
