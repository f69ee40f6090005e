"""What would help: every food and every pair, checked one by one with another solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from second_opinion import by_scipy

from formulate.base.errors import InputError
from formulate.blend.additions import Additions, what_would_help
from formulate.blend.design import design
from formulate.blend.mix import Mix, Status, optimise
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.solve import TOLERANCE
from formulate.foods.bands import Band, BandSet, Basis
from formulate.foods.tables import band_set, band_sets, food_table

VOLUME = 3785.0
COW = ("whole-milk", "evaporated-milk", "lowfat-buttermilk", "heavy-cream", "nonfat-dry-milk")
TABLE = food_table()
PLAIN = tuple(food.id for food in TABLE.values() if food.suitable)


def shelf(ids: Sequence[str], **arrays: Sequence[float]) -> Shelf:
    columns = {name: np.array(values, dtype=float) for name, values in arrays.items()}
    columns.setdefault("price", np.full(len(ids), 0.002))
    return Shelf(tuple(TABLE[name] for name in ids), currency="USD", **columns)


def problem_of(shelf_: Shelf, bands: BandSet) -> Problem:
    return build(shelf_, bands, VOLUME)


def whole_table() -> Shelf:
    """Every food, none with a price."""
    return Shelf(tuple(TABLE.values()))


def with_foods(problem: Problem, candidates: Shelf, ids: Sequence[str]) -> Shelf:
    """The shelf with some candidates, put together here by hand."""
    take = [candidates.ids.index(name) for name in ids]
    parts = (problem.shelf, candidates.take(take))
    return Shelf(
        parts[0].foods + parts[1].foods,
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("price", "largest_share", "on_hand", "smallest")
        ),
    )


def scipy_says(problem: Problem, candidates: Shelf, ids: Sequence[str]) -> bool:
    whole = with_foods(problem, candidates, ids)
    extended = build(whole, problem.bands, VOLUME)
    program = extended.program(np.zeros(len(whole.foods)))
    return by_scipy(program).says == "optimal"


def found_ids(additions: Additions) -> set[tuple[str, ...]]:
    return {help_.ids for help_ in additions.found}


@st.composite
def impossible(draw: st.DrawFn) -> Problem:
    ids = draw(st.lists(st.sampled_from(PLAIN), min_size=1, max_size=5, unique=True))
    stock = st.sampled_from([np.inf, np.inf, 50.0, 800.0])
    on_hand = draw(st.lists(stock, min_size=len(ids), max_size=len(ids)))
    bands = band_set(draw(st.sampled_from(sorted(band_sets()))))
    problem = problem_of(shelf(ids, on_hand=on_hand), bands)
    assume(optimise(problem) is None)
    return problem


def test_a_strained_yogurt_makes_ewes_milk_of_cows_milk():
    """Greek yogurt has more protein for its milk sugar; its largest share allows enough of it."""
    found = what_would_help(problem_of(shelf(COW), band_set("ewe-milk")), whole_table())
    assert {"nonfat-greek-yogurt", "lowfat-greek-yogurt", "greek-yogurt"} <= {
        help_.ids[0] for help_ in found.singles
    }
    first = found.singles[0]
    assert first.ids == ("nonfat-greek-yogurt",)
    assert 0.15 < first.shares[0] < TABLE["nonfat-greek-yogurt"].largest_share
    assert not found.pairs_tried
    assert found.pairs == ()


@settings(max_examples=25)
@given(impossible())
def test_one_by_one_scipy_finds_the_same_foods(problem: Problem):
    table = whole_table()
    found = what_would_help(problem, table, pairs=False)
    assert set(found.tried) | {name for name, _ in found.unknown} == set(PLAIN) - set(
        problem.shelf.ids
    )
    expected = {(name,) for name in found.tried if scipy_says(problem, table, [name])}
    assert found_ids(found) == expected


@settings(max_examples=8)
@given(impossible(), st.randoms(use_true_random=False))
def test_pair_by_pair_scipy_finds_the_same(problem: Problem, random):
    few = shelf(random.sample(sorted(set(PLAIN) - set(problem.shelf.ids)), 9))
    found = what_would_help(problem, few)
    if found.singles:
        few = few.take([j for j, x in enumerate(few.ids) if (x,) not in found_ids(found)])
        found = what_would_help(problem, few)
    assert not found.singles
    assert found.pairs_tried
    pairs = combinations(found.tried, 2)
    assert found_ids(found) == {pair for pair in pairs if scipy_says(problem, few, pair)}


@given(impossible())
def test_every_help_is_a_certified_mix_that_meets_all(problem: Problem):
    found = what_would_help(problem, whole_table(), on_request=True)
    for help_ in found.found[:20]:
        mix = help_.mix
        assert mix.status is Status.OPTIMAL
        assert mix.misses == ()
        assert mix.certificate is not None
        assert mix.certificate.worst <= TOLERANCE
        assert mix.volume == pytest.approx(VOLUME)
        assert mix.shelf.ids == problem.shelf.ids + help_.ids
        added = mix.grams[len(problem.shelf.foods) :]
        assert np.allclose(added / mix.weight, help_.shares)
        assert all(
            share <= (food.largest_share or 1.0) + 1e-9
            for share, food in zip(help_.shares, help_.foods, strict=True)
        )


@given(impossible(), st.randoms(use_true_random=False))
def test_priced_foods_get_the_amounts_of_the_cheapest_mix(problem: Problem, random):
    table = whole_table()
    priced = table.with_price(np.array([random.uniform(0.0005, 0.02) for _ in table.foods]))
    found = what_would_help(problem, priced, pairs=False)
    costs = []
    for help_ in found.singles:
        whole = with_foods(problem, priced, help_.ids)
        again = design(whole, problem.bands, VOLUME)
        assert isinstance(again, Mix)
        assert help_.cost_per_litre == pytest.approx(again.cost_per_litre)
        costs.append(help_.cost_per_litre)
    assert costs == sorted(costs)


@given(impossible())
def test_unpriced_foods_get_the_least_amounts_then_the_least_cost(problem: Problem):
    found = what_would_help(problem, whole_table(), pairs=False)
    shares = [help_.shares[0] for help_ in found.singles]
    assert shares == sorted(shares)
    n = len(problem.shelf.foods)
    for help_ in found.singles:
        assert help_.cost_per_litre is None
        whole = with_foods(problem, whole_table(), help_.ids)
        extended = build(whole, problem.bands, VOLUME)
        program = extended.program(np.eye(n + 1)[n])
        least = by_scipy(program)
        assert help_.mix.grams[n] / VOLUME == pytest.approx(least.value, rel=1e-6, abs=1e-9)
        capped = program.col_upper.copy()
        capped[n] = help_.mix.grams[n] / VOLUME + 1e-9
        cost = np.where(np.isfinite(whole.price), whole.price, 0.0)
        cheapest = by_scipy(replace(program, cost=cost, col_upper=capped))
        spent = float(cost @ help_.mix.grams) / VOLUME
        assert spent == pytest.approx(cheapest.value, rel=1e-5)


@pytest.mark.parametrize("dear", [0, 1])
def test_the_rest_is_the_cheapest_once_the_least_is_known(dear: int):
    """Two skim milks that serve alike: the cheaper one goes with the least of the cream."""
    price = [0.001, 0.001]
    price[dear] = 0.01
    twins = (replace(TABLE["skim-milk"], id="other-milk"), TABLE["skim-milk"])
    problem = problem_of(
        Shelf(twins, np.array(price)),
        BandSet("own", "own", "lamb", (Band("fat", Basis.AS_FED, "g/100 g", low=3.0),)),
    )
    (help_,) = what_would_help(problem, shelf(["heavy-cream"], price=[np.nan])).singles
    assert help_.mix.grams[dear] == 0.0
    assert help_.mix.grams[1 - dear] > 0.9 * VOLUME


def test_priced_before_unpriced():
    table = whole_table()
    price = np.full(len(table.foods), np.nan)
    price[table.ids.index("greek-yogurt")] = 0.05
    price[table.ids.index("lowfat-greek-yogurt")] = 0.01
    found = what_would_help(problem_of(shelf(COW), band_set("ewe-milk")), table.with_price(price))
    ids = [help_.ids[0] for help_ in found.singles]
    assert ids == ["lowfat-greek-yogurt", "greek-yogurt", "nonfat-greek-yogurt", "sheep-milk"]
    costs = [help_.cost_per_litre for help_ in found.singles]
    assert costs[0] < costs[1]
    assert costs[2:] == [None, None]


def test_foods_on_request_only_on_request():
    problem = problem_of(shelf(COW), band_set("doe-milk"))
    plain = what_would_help(problem, whole_table())
    asked = what_would_help(problem, whole_table(), on_request=True)
    assert all(TABLE[name].suitable for name in plain.tried)
    assert found_ids(asked) - found_ids(plain) >= {("egg-white",), ("whole-egg",)}


def test_a_food_without_a_needed_value_is_not_tried_and_told():
    problem = problem_of(shelf(COW), band_set("ewe-milk"))
    whey = TABLE["sweet-whey"]
    known = {name: value for name, value in whey.values.items() if name != "lactose"}
    candidates = Shelf((replace(whey, values=known), TABLE["greek-yogurt"]))
    found = what_would_help(problem, candidates, on_request=True)
    unknown = dict(found.unknown)
    assert "lactose" in unknown["sweet-whey"]
    assert not set(unknown) & set(found.tried)


def test_it_says_so_where_nothing_helps():
    """Protein above half the mix: no food of the table is so rich, nor any two."""
    bands = BandSet("own", "own", "lamb", (Band("protein", Basis.AS_FED, "g/100 g", low=90.0),))
    found = what_would_help(problem_of(shelf(COW), bands), whole_table(), on_request=True)
    assert found.found == ()
    assert found.pairs_tried
    assert len(found.tried) > 70


def test_only_a_pair_helps():
    """Water alone: neither butter nor dry skim milk makes a lamb's milk, together they do."""
    few = shelf(["unsalted-butter", "nonfat-dry-milk", "sweet-whey"])
    problem = problem_of(shelf(["water"]), band_set("kid-replacer"))
    found = what_would_help(problem, few)
    assert found.singles == ()
    assert found_ids(found) == {("unsalted-butter", "nonfat-dry-milk")}
    assert what_would_help(problem, few, pairs=False).found == ()


PRICES = {
    "goat-milk": 0.012, "whole-milk": 0.011, "unsalted-butter": 0.009, "nonfat-dry-milk": 0.008,
    "dry-whole-milk": 0.02, "heavy-cream": 0.007, "evaporated-milk": 0.009, "skim-milk": 0.004,
}  # fmt: skip


@pytest.mark.parametrize("bands", ["kid-replacer", "lamb-replacer"])
@pytest.mark.parametrize("base", [["water"], ["water", "sweet-whey"], ["skim-milk", "water"]])
def test_pairs_that_are_cheaper_than_any_single_food(base, bands):
    """Every pair designed by itself."""
    problem = problem_of(shelf(base), band_set(bands))
    few = shelf([f for f in PRICES if f not in base],
                price=[p for f, p in PRICES.items() if f not in base])  # fmt: skip
    found = what_would_help(problem, few)
    costs = {}
    for count in (1, 2):
        for ids in combinations(few.ids, count):
            mix = design(with_foods(problem, few, ids), problem.bands, VOLUME)
            if isinstance(mix, Mix):
                costs[ids] = mix.cost_per_litre
    singles = {ids: cost for ids, cost in costs.items() if len(ids) == 1}
    least = min(singles.values(), default=np.inf)
    assert {h.ids: h.cost_per_litre for h in found.singles} == pytest.approx(singles)
    cheaper = sorted(cost for ids, cost in costs.items() if len(ids) == 2 and cost < least * 0.999)
    if singles:
        assert [h.cost_per_litre for h in found.pairs] == pytest.approx(cheaper[:5])
        assert not found.pairs_tried
    told = [h.cost_per_litre for h in found.found]
    assert told == sorted(told)


def test_pairs_of_foods_without_a_price_are_not_told_beside_single_foods():
    problem = problem_of(shelf(COW), band_set("ewe-milk"))
    found = what_would_help(problem, whole_table())
    assert found.singles
    assert found.pairs == ()


def test_what_to_buy_is_told_in_packages():
    problem = problem_of(shelf(["water"]), band_set("kid-replacer"))
    few = shelf(["evaporated-milk", "unsalted-butter", "nonfat-dry-milk"], price=[0.004] * 3)
    sold = {"evaporated-milk": ("can", 378.0), "nonfat-dry-milk": ("9.6 oz", 272.0)}
    found = what_would_help(problem, few, packages=sold)
    bought = {buy.food: buy for help_ in found.found for buy in help_.to_buy}
    can = bought["evaporated-milk"]
    assert (can.package, can.count) == ("can", int(np.ceil(can.grams / 378.0)))
    assert bought["unsalted-butter"].count == 0
    for help_ in found.found:
        for buy, share in zip(help_.to_buy, help_.shares, strict=True):
            assert buy.grams == pytest.approx(share * help_.mix.weight)
    cans = what_would_help(problem, few)  # the table's own can
    assert {b.package for h in cans.found for b in h.to_buy} == {"", "can"}


def test_a_stock_too_small_does_not_help():
    problem = problem_of(shelf(COW), band_set("ewe-milk"))
    for grams, helps in ((100.0, False), (1000.0, True)):
        few = shelf(["nonfat-greek-yogurt"], on_hand=[grams])
        found = what_would_help(problem, few)
        assert bool(found.found) is helps


def test_a_smallest_amount_that_does_not_fit_does_not_help():
    """A little cream would do; where only a great deal of it is useful, it would not."""
    ids = ["whole-milk", "dry-whole-milk"]
    problem = problem_of(shelf(ids), band_set("lamb-replacer"))
    for grams, helps in ((20.0, True), (3000.0, False)):
        few = shelf(["heavy-cream"], smallest=[grams])
        found = what_would_help(problem, few)
        assert bool(found.found) is helps
        if helps:
            assert found.found[0].mix.grams[-1] >= grams * (1 - 1e-9)


def test_a_shelf_that_fails_only_by_smallest_amounts():
    """Nothing refutes the amounts themselves, so every food is tried with the choice of foods."""
    ids = ["whole-milk", "dry-whole-milk", "heavy-cream"]
    blocked = shelf(ids, smallest=[0.0, 0.0, 3000.0])
    problem = problem_of(blocked, band_set("lamb-replacer"))
    assert optimise(problem) is None
    few = shelf(["light-cream", "water"])
    found = what_would_help(problem, few)
    assert found_ids(found) == {("light-cream",)}


def test_a_shelf_that_makes_a_mix_needs_no_help():
    with pytest.raises(InputError, match="make a mix already"):
        what_would_help(problem_of(shelf(COW), band_set("lamb-replacer")), whole_table())


def test_nothing_to_try():
    problem = problem_of(shelf(COW), band_set("ewe-milk"))
    found = what_would_help(problem, shelf(COW))
    assert found == Additions((), (), ())


@settings(max_examples=10)
@given(impossible())
def test_every_run_gives_the_same(problem: Problem):
    first, second = (what_would_help(problem, whole_table()) for _ in range(2))
    assert [(h.ids, h.shares) for h in first.found] == [(h.ids, h.shares) for h in second.found]
