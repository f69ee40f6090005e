"""The arrays of a problem mean what the bands, shares and stocks say."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SUITABLE, VOLUME, jobs, mixes

from formulate.base.errors import InputError, MissingComposition
from formulate.blend.design import design
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import LimitKind, Shelf, build
from formulate.blend.whole.kitchen_mix import design_kitchen
from formulate.blend.whole.steps import Step
from formulate.foods.bands import Band, BandSet, Basis, Role, Standing, read
from formulate.foods.food import Food, Value
from formulate.foods.tables import food_table
from formulate.report.reasons import why_not

inf = math.inf


def bands(*members: Band) -> BandSet:
    return BandSet("some", "Some bands", "lamb", members)


def shelf_of(*names: str, **fields) -> Shelf:
    return Shelf(tuple(food_table()[name] for name in names), **fields)


@given(jobs(), st.data())
def test_a_row_holds_where_its_limit_does(job, data):
    problem = job.problem()
    grams = data.draw(mixes(len(job.shelf.foods)))
    composition = job.shelf.composition
    grams *= VOLUME / float(composition.row("volume") @ grams)  # a batch of that volume
    excess = problem.rows @ grams * np.where(problem.is_low, -1, 1)
    assert len(problem.limits) == len(excess)
    for limit, over in zip(problem.limits, excess, strict=True):
        if limit.band is not None:
            value = read(limit.band, composition, grams).value
            miss = limit.value - value if limit.kind is LimitKind.BAND_LOW else value - limit.value
        else:
            j = job.shelf.ids.index(limit.food)
            used = grams[j] / grams.sum() if limit.kind is LimitKind.SHARE else grams[j]
            miss = used - limit.value
        if abs(miss) > 1e-9 * max(1.0, abs(limit.value)):
            assert (over > 0) == (miss > 0), limit


@given(jobs())
def test_every_demand_is_one_row(job):
    problem = job.problem()
    expected = sum(math.isfinite(band.low) + math.isfinite(band.high) for band in job.bands.binding)
    kinds = [limit.kind for limit in problem.limits]
    assert sum(limit.band is not None for limit in problem.limits) == expected
    assert kinds.count(LimitKind.SHARE) == (job.shelf.largest_share < 1).sum()
    assert kinds.count(LimitKind.STOCK) == np.isfinite(job.shelf.on_hand).sum()
    assert problem.rows.shape == (len(problem.limits), len(job.shelf.foods))
    assert [limit.kind is LimitKind.BAND_LOW for limit in problem.limits] == list(problem.is_low)
    # Every row is divided by its largest entry, and can be put back.
    np.testing.assert_allclose(np.abs(problem.rows).max(axis=1), 1.0)


@given(jobs(stocks=False), st.sampled_from([1.0, 250.0, 3785.4]))
def test_without_stocks_a_batch_of_any_size_is_the_same_problem(job, volume):
    first, other = job.problem().program(), job.problem(volume).program()
    np.testing.assert_array_equal(first.matrix, other.matrix)


@given(jobs())
def test_the_program_fixes_the_size_and_keeps_what_is_asked(job):
    problem = job.problem()
    program = problem.program()
    np.testing.assert_array_equal(program.matrix[-1], job.shelf.composition.row("volume"))
    assert program.row_lower[-1] == program.row_upper[-1] == 1
    assert (program.col_lower == 0).all()
    assert np.isinf(program.col_upper).all()
    np.testing.assert_array_equal(program.cost, job.shelf.price)
    ends = list(zip(program.row_lower[:-1], program.row_upper[:-1], strict=True))
    assert ends == [(0, inf) if low else (-inf, 0) for low in problem.is_low]
    some = problem.program(np.ones(len(job.shelf.foods)), keep=[0], size=program.cost)
    np.testing.assert_array_equal(some.matrix, [program.matrix[0], program.cost])
    assert (some.cost == 1).all()


def test_shown_bands_demand_nothing():
    shown = Band("fat", Basis.AS_FED, "g/100 g", low=90.0, role=Role.SHOWN)
    assert build(shelf_of("whole-milk"), bands(shown), VOLUME).limits == ()


PER_MEGAJOULE = Band("protein", Basis.PER_MEGAJOULE, "g/MJ", low=15.0)


def made_of(bands, *ids):
    foods = tuple(food_table()[i] for i in ids)
    shelf = Shelf(foods, price=np.arange(1.0, len(ids) + 1) / 1000, currency="EUR")
    return design(shelf, BandSet("read", "Read", "lamb", bands), 1000.0)


class TestNothingToRead:
    """A ratio of nothing to nothing meets no demand."""

    def test_water_has_no_energy_to_read_protein_per(self):
        found = made_of((PER_MEGAJOULE,), "water")
        assert isinstance(found, NoMix)
        [limit] = found.conflict
        assert limit.kind is LimitKind.READABLE
        assert not limit.relaxable
        assert found.nearest is None
        assert "no usable energy" in why_not(found).sentences[0]

    def test_a_trace_makes_it_readable(self):
        found = made_of((PER_MEGAJOULE,), "water", "nonfat-dry-milk")
        assert isinstance(found, Mix)
        read = next(r for r in found.reads if r.band == PER_MEGAJOULE)
        assert read.standing is Standing.INSIDE
        assert read.value >= 15.0 - 1e-6
        assert 0 < found.grams[1] < 0.01

    def test_the_demand_itself_clashes_where_no_food_meets_it(self):
        found = made_of((PER_MEGAJOULE,), "water", "whole-milk")
        assert isinstance(found, NoMix)
        assert [limit.kind for limit in found.conflict] == [LimitKind.BAND_LOW]

    def test_no_row_is_added_where_another_demand_keeps_it_readable(self):
        solids = Band("solids", Basis.AS_FED, "g/100 g", low=10.0)
        water = tuple(food_table()[i] for i in ("water", "nonfat-dry-milk"))
        shelf = Shelf(water, price=np.array([0.001, 0.01]))
        alone = build(shelf, BandSet("a", "a", "lamb", (PER_MEGAJOULE,)), 1000.0)
        kept = build(shelf, BandSet("b", "b", "lamb", (PER_MEGAJOULE, solids)), 1000.0)
        assert [band.measure for band in alone.read] == ["protein"]
        assert kept.read == ()
        assert alone.is_low[-1]

    def test_whole_measures_hold_something_to_read(self):
        foods = tuple(food_table()[i] for i in ("water", "nonfat-dry-milk"))
        shelf = Shelf(foods, price=np.array([0.001, 0.01]), currency="EUR")
        problem = build(shelf, BandSet("a", "a", "lamb", (PER_MEGAJOULE,)), 1000.0)
        steps = (Step("g", 100.0, 100.0), Step("g", 5.0, 5.0))
        found = design_kitchen(problem, steps, least_volume=990.0, most_volume=1100.0)
        assert found.counts.tolist() == [10, 1]


@pytest.mark.parametrize(
    ("low", "high", "can"),
    [(100.0, 100.0, True), (99.0, 100.0, True), (100.0, math.inf, True), (-math.inf, 99.0, False)],
)
def test_rounding_errors_make_no_demand_of_what_holds_by_definition(low, high, can):
    """Solids are all of the dry matter, whatever the last digits of the sums say."""
    band = Band("solids", Basis.DRY_MATTER, "g/100 g", low=low, high=high)
    for ids in (("whole-milk",), ("water", "heavy-cream"), ("nonfat-dry-milk", "goat-milk")):
        found = made_of((band,), *ids)
        assert isinstance(found, Mix if can else NoMix)
        if low == high:
            shelf = Shelf(tuple(food_table()[i] for i in ids))
            assert not build(shelf, BandSet("x", "x", "lamb", (band,)), 1.0).rows[:2].any()


def test_safety_is_never_relaxed():
    fat = Band("fat", Basis.AS_FED, "g/100 g", low=3.0)
    sodium = Band("sodium", Basis.AS_FED, "mg/100 g", high=100.0, role=Role.SAFETY)
    shelf = shelf_of("whole-milk", "heavy-cream", on_hand=np.array([50.0, inf]),
                     largest_share=np.array([1.0, 0.5]))  # fmt: skip
    found = build(shelf, bands(fat, sodium), VOLUME)
    assert [(limit.kind, limit.relaxable) for limit in found.limits] == [
        (LimitKind.BAND_LOW, True),
        (LimitKind.BAND_HIGH, False),
        (LimitKind.SHARE, False),
        (LimitKind.STOCK, False),
    ]


def test_largest_shares_come_from_the_foods():
    yogurt, milk = food_table()["nonfat-greek-yogurt"], food_table()["whole-milk"]
    assert Shelf((yogurt, milk)).largest_share.tolist() == [yogurt.largest_share, 1.0]


# Missing values


def without(food: Food, *measures: str) -> Food:
    left = {name: value for name, value in food.values.items() if name not in measures}
    return replace(food, id=f"my-{food.id}", values=left, own=True)


def own(measure: str) -> Shelf:
    foods = food_table()
    return Shelf((without(foods["dry-whole-milk"], measure), foods["whole-milk"]))


@pytest.mark.parametrize(("low", "high"), [(0.01, inf), (0.01, 9.0)], ids=["a floor", "a range"])
def test_a_floor_rejects_a_food_without_the_value(low, high):
    wanted = Band("copper", Basis.DRY_MATTER, "mg/kg", low=low, high=high)
    with pytest.raises(MissingComposition) as caught:
        build(own("copper"), bands(wanted), VOLUME)
    assert caught.value.foods == ("my-dry-whole-milk",)
    assert "my-dry-whole-milk has no value for copper" in str(caught.value)
    assert "floor on copper of dry matter" in str(caught.value)


def test_a_ceiling_takes_the_upper_end_of_like_foods():
    ceiling = Band("copper", Basis.DRY_MATTER, "mg/kg", high=17.0)
    problem = build(own("copper"), bands(ceiling), VOLUME)
    like = [food for food in food_table().values() if food.kind == "dry-milk"]
    most = max(food.value("copper") for food in like) / 100
    assert len({food.value("copper") for food in like}) > 1, "the upper end must be a choice"
    solids = problem.shelf.composition.row("solids")[0]
    row = problem.rows[0] * problem.row_scale[0]
    assert row[0] == pytest.approx(most - 17.0 / 1000 * solids)


def test_a_ceiling_rejects_a_food_with_no_similar_food():
    ceiling = Band("copper", Basis.DRY_MATTER, "mg/kg", high=17.0)
    with pytest.raises(MissingComposition, match="ceiling on copper"):
        build(replace(own("copper"), like=None), bands(ceiling), VOLUME)  # no table to look in
    strange = replace(own("copper").foods[0], kind="replacer-powder")
    with pytest.raises(MissingComposition, match="my-dry-whole-milk"):
        build(Shelf((strange,)), bands(ceiling), VOLUME)


def test_a_denominator_has_no_stand_in():
    ceiling = Band("copper", Basis.DRY_MATTER, "mg/kg", high=17.0)
    with pytest.raises(MissingComposition, match="my-dry-whole-milk"):
        build(own("water"), bands(ceiling), VOLUME)


def test_a_missing_value_that_no_band_reads_does_not_matter():
    fat = Band("fat", Basis.AS_FED, "g/100 g", low=4.0)
    shelf = own("copper")
    assert np.isfinite(build(shelf, bands(fat), VOLUME).rows).all()


@given(jobs(stocks=False), st.data())
def test_no_missing_value_reaches_the_solver(job, data):
    """Whatever value is missing, a problem is refused or holds finite numbers only."""
    foods = list(job.shelf.foods)
    j = data.draw(st.integers(0, len(foods) - 1))
    present = sorted(foods[j].values)
    gone = data.draw(st.lists(st.sampled_from(present), min_size=1, max_size=4, unique=True))
    foods[j] = without(foods[j], *gone)
    shelf = replace(job.shelf, foods=tuple(foods))
    try:
        problem = build(shelf, job.bands, VOLUME)
    except MissingComposition as refusal:
        assert refusal.foods == (foods[j].id,)
    else:
        assert np.isfinite(problem.rows).all()
        assert np.isfinite(problem.program().matrix).all()


# Shelves


def test_a_shelf_needs_food():
    with pytest.raises(InputError, match="no foods"):
        Shelf(())


def test_a_shelf_wants_a_number_for_every_food():
    with pytest.raises(InputError, match="price must have one number for each of 2 foods"):
        shelf_of("whole-milk", "water", price=np.array([1.0]))


def test_part_of_a_shelf():
    shelf = shelf_of("whole-milk", "water", "heavy-cream", price=np.array([1.0, 2.0, 3.0]),
                     smallest=np.array([0.0, 5.0, 6.0]), currency="EUR")  # fmt: skip
    part = shelf.take([2, 0])
    assert part.ids == ("heavy-cream", "whole-milk")
    assert (part.price.tolist(), part.smallest.tolist()) == ([3, 1], [6, 0])
    assert part.currency == "EUR"
    dearer = shelf.with_price(np.array([2.0, 2.0, 2.0]))
    assert dearer.price.tolist() == [2, 2, 2]
    assert dearer.ids == shelf.ids


def test_an_own_food_is_a_food_like_any():
    powder = Food("my-powder", "My powder", "dry-milk",
                  {"water": Value(4, "label"), "fat": Value(26, "label")})  # fmt: skip
    shelf = Shelf((powder, *SUITABLE[:2]))
    fat = Band("fat", Basis.AS_FED, "g/100 g", low=20.0)
    assert build(shelf, bands(fat), VOLUME).rows.shape == (
        1 + (shelf.largest_share < 1).sum(),
        3,
    )
