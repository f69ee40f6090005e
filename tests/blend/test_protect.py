"""Protected mixes: chances kept, bounds proved, other solvers agreeing."""

import importlib.util
import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies import VOLUME, jobs

from formulate.answers.protection import ProtectionAnswer
from formulate.base.errors import InputError
from formulate.blend.design import design
from formulate.blend.mix import NoMix, optimise
from formulate.blend.problem import Shelf, build
from formulate.blend.protect.budgeted import (
    BudgetedMix,
    OverBudget,
    design_budgeted,
    violation_bound,
    worst_of,
)
from formulate.blend.protect.budgeted import (
    _program as robust_program,
)
from formulate.blend.protect.chance import (
    NotSure,
    SureMix,
    design_sure,
    protection_curve,
)
from formulate.blend.protect.cones import (
    Cones,
    Pairs,
    forms_of,
    quantile,
    quantiles,
    support,
    touching,
    upper_tail,
)
from formulate.blend.protect.confidence import Way, confidence_of
from formulate.blend.protect.cutting_planes import (
    _by_cuts,
    _Cuts,
    _ends_missed,
    _no_cuts,
    _program,
    cheapest_both,
    cheapest_in,
)
from formulate.blend.protect.interior_point import Demands, Nothing, Point, interior_point_optimum
from formulate.blend.solve import Optimal, solve
from formulate.foods.bands import Band, BandSet, Basis
from formulate.foods.spread import VARIES, Spread, spread_of
from formulate.foods.tables import band_set, default_spreads, food_table
from formulate.pantry.pantry import sample_pantry
from formulate.report.pictures.protection import protection_picture
from formulate.report.promised import (
    budgeted_lines,
    budgeted_shape,
    not_sure_lines,
    over_budget_lines,
    sure_lines,
    sure_shape,
)
from formulate.report.protection import protection_lines, protection_shape

HAS_CVXPY = importlib.util.find_spec("cvxpy") is not None
needs_cvxpy = pytest.mark.skipif(
    not HAS_CVXPY, reason="CVXPY is not installed: pip install cvxpy clarabel"
)


def spread_for(shelf):
    return spread_of(shelf.composition, default_spreads())


def sample(bands="lamb-replacer"):
    shelf = sample_pantry().shelf()
    problem = build(shelf, band_set(bands), 2000.0)
    return problem, spread_for(shelf)


def by_cvxpy(cones, z):
    """The same cones through CVXPY and Clarabel; None where it finds no mix."""
    import cvxpy as cp

    program = cones.problem.program()
    y = cp.Variable(program.cost.size, nonneg=True)
    demands = [program.matrix[-1] @ y == 1]
    sign = np.where(cones.problem.is_low, 1.0, -1.0)[:, None]
    demands.append((sign * cones.problem.rows) @ y >= 0)
    for mean, sd, q in zip(cones.mean, cones.sd, z, strict=True):
        if q > 0 and sd.any():
            demands.append(q * cp.norm(cp.multiply(sd, y)) <= mean @ y)
    scale = np.abs(program.cost).max()
    model = cp.Problem(cp.Minimize(program.cost / scale @ y), demands)
    model.solve(solver=cp.CLARABEL, tol_gap_abs=1e-9, tol_gap_rel=1e-9, tol_feas=1e-9, max_iter=200)
    return float(model.value * scale) if model.status.startswith("optimal") else None


@needs_cvxpy
@given(jobs(least=3, most=8), st.sampled_from([0.3, 1.0, 1.6449, 2.5]))
@settings(max_examples=25)
@pytest.mark.filterwarnings("ignore")
def test_cones_meet_cvxpy_with_clarabel(job, q):
    problem = job.problem()
    cones = Cones.of(problem, spread_for(job.shelf))
    z = np.full(cones.other.size, q)
    assume(optimise(problem) is not None)
    found, other = cheapest_in(cones, z), by_cvxpy(cones, z)
    if found is None or other is None:
        # One may find a mix where the other's tolerance does not: then only by a hair.
        if found is not None or other is not None:
            assert cheapest_in(cones, z * 1.001) is None
            assert cheapest_in(cones, z * 0.999) is not None
        return
    assert found.cost == pytest.approx(other, rel=1e-6)
    assert found.bound <= other * (1 + 1e-6)


@given(jobs(least=2, most=8), st.sampled_from([60.0, 80.0, 95.0, 99.0]))
@settings(max_examples=60)
def test_every_band_holds_with_its_chance_and_the_bound_is_below(job, sure):
    problem = job.problem()
    spread = spread_for(job.shelf)
    found = design_sure(problem, spread, sure)
    plain = optimise(problem)
    if plain is None:
        assert isinstance(found, NoMix)
        return
    assert isinstance(found, SureMix | NotSure)
    if isinstance(found, NotSure):
        assert found.most is None or found.most < sure
        return
    assert min(found.chances) >= sure / 100 - 1e-9
    assert not found.mix.misses
    assert found.price_of_protection >= -1e-9 * plain.objective * 1e3
    assert found.bound <= found.mix.cost_per_litre * (1 + 1e-12)
    assert found.mix.certificate.primal <= 1e-9
    # The chances of a stranger: the normal way of the sureness of the mix.
    normal = confidence_of(found.mix, spread, way=Way.NORMAL)
    for band, chance in zip(problem.bands.binding, found.chances, strict=True):
        read = next(s for s in normal.reads if s.read.band == band)
        assert read.chance_inside == pytest.approx(chance, abs=1e-6)


def test_the_sample_is_95_sure_by_an_independent_count():
    problem, spread = sample()
    found = design_sure(problem, spread, 95.0)
    assert isinstance(found, SureMix)
    assert found.gap < 1e-6
    draws = 200_000
    counted = confidence_of(found.mix, spread, draws=draws, seed=11)
    for band in problem.bands.binding:
        chance = counted.of(band).chance_inside
        assert chance >= 0.95 - 3 * math.sqrt(0.95 * 0.05 / draws)
    # Protection matters: the plain mix is far from it.
    assert confidence_of(found.plain, spread).chance_all_inside < 0.3


def curve_answer(points):
    """The answer that holds these points; what is judged of each does not matter here."""
    bands = band_set("lamb-replacer")
    return ProtectionAnswer(sample_pantry(), bands, tuple(points), (None,) * len(points))


def test_surer_costs_more_and_the_curve_tells_it():
    problem, spread = sample()
    points = protection_curve(problem, spread, (60, 80, 95, 99))
    costs = [point.cost_per_litre for point in points]
    assert costs == sorted(costs)
    assert points[0].sure is None
    assert points[0].extra_per_litre == 0
    alone = design_sure(problem, spread, 95.0)
    assert points[3].cost_per_litre == pytest.approx(alone.mix.cost_per_litre, rel=1e-6)
    for point in points[1:]:
        assert point.chance >= point.sure / 100 - 1e-9
    told = curve_answer(points)
    rows = protection_shape(told)["protection"]
    assert [row["sure"] for row in rows] == [None, 60, 80, 95, 99]
    assert any("95 % sure" in line for line in protection_lines(told))


def test_a_narrow_band_holds_at_both_ends_and_no_mix_is_cheaper():
    """Two foods: every mix can be tried."""
    foods = (food_table()["heavy-cream"], food_table()["skim-milk"])
    shelf = Shelf(foods, price=np.array([7e-3, 1e-3]))
    spread = spread_of(foods, default_spreads(), {"heavy-cream": {"fat": 2.0}})
    bands = BandSet(
        "b", "", "lamb", (Band("fat", Basis.DRY_MATTER, "g/100 g", low=39.5, high=45.0),)
    )
    problem = build(shelf, bands, VOLUME)
    cones = Cones.of(problem, spread)
    room = shelf.composition.row("volume")
    shares = np.linspace(0, 0.3, 60_001)
    every = np.stack((shares / room[0], (1 - shares) / room[1]))
    low, high = ((cones.mean[k] @ every) / np.sqrt(cones.variance[k] @ every**2) for k in range(2))
    for sure in (60.0, 80.0, 90.0):
        tails = np.array(
            [upper_tail(a) + upper_tail(b) for a, b in zip(low[::10], high[::10], strict=True)]
        )
        held = tails <= 1 - sure / 100
        found = design_sure(problem, spread, sure)
        if not held.any():
            assert isinstance(found, NotSure)
            continue
        best = float((shelf.price @ every[:, ::10])[held].min())
        assert found.mix.cost_per_litre == pytest.approx(best * 1e3, rel=2e-4)
        assert found.mix.cost_per_litre <= best * 1e3 * (1 + 1e-6)
        assert found.gap < 0.02


def test_bands_per_weight_as_fed_are_solved_exactly():
    foods = tuple(food_table()[f] for f in ("whole-milk", "heavy-cream", "nonfat-dry-milk"))
    shelf = Shelf(foods, price=np.array([1e-3, 7e-3, 13e-3]))
    bands = BandSet(
        "b",
        "",
        "lamb",
        (
            Band("fat", Basis.AS_FED, "g/100 g", low=4.6, high=5.3),
            Band("solids", Basis.AS_FED, "g/100 g", low=16.0, high=17.4),
        ),
    )
    problem = build(shelf, bands, VOLUME)
    found = design_sure(problem, spread_for(shelf), 95.0)
    assert isinstance(found, SureMix)
    assert found.gap < 1e-5
    half = Cones.of(problem, spread_for(shelf))
    even = cheapest_in(half, quantiles(np.full(4, 0.025)))
    assert even is None or found.mix.cost_per_litre <= even.cost * 1e3 * (1 + 1e-6)


def test_where_it_cannot_be_so_sure_it_says_how_sure_it_can():
    problem, spread = sample()
    wide = replace(spread, sd=spread.sd * 2.5)
    found = design_sure(problem, wide, 99.0)
    assert isinstance(found, NotSure)
    assert 50 < found.most < 99
    assert min(found.surest.chances) >= found.most / 100 - 1e-9
    again = design_sure(problem, wide, found.most + 0.1)
    assert isinstance(again, NotSure)
    assert isinstance(design_sure(problem, wide, found.most), SureMix)
    assert f"The most possible is {found.most:g} %" in not_sure_lines(found)[0]


def test_where_cartons_differ_too_much_it_says_so():
    problem, spread = sample()
    found = design_sure(problem, replace(spread, sd=spread.sd * 60), 95.0)
    assert isinstance(found, NotSure)
    assert found.most is None or found.most < 60
    assert not_sure_lines(NotSure(problem, 95.0, None, None))[0].endswith(
        "none is right more often than not."
    )


def test_where_average_cartons_make_no_mix_the_clash_is_reported():
    problem, spread = sample("ewe-milk")
    found = design_sure(problem, spread, 95.0)
    assert isinstance(found, NoMix)
    assert found.conflict
    assert all(p.mix is None for p in protection_curve(problem, spread, (90,)))


@pytest.mark.parametrize("sure", [100.0, 49.9, 0.0, -5.0, 101.0, math.nan, math.inf])
def test_a_chance_that_makes_no_sense_is_reported(sure):
    problem, spread = sample()
    with pytest.raises(InputError, match="% sure"):
        design_sure(problem, spread, sure)
    with pytest.raises(InputError, match="% sure"):
        protection_curve(problem, spread, (sure,))


def test_spreads_of_other_foods_and_foods_without_prices_are_reported():
    problem, spread = sample()
    with pytest.raises(InputError, match="of other foods than"):
        design_sure(problem, spread_of([food_table()["whole-milk"]], default_spreads()))
    free = replace(problem, shelf=problem.shelf.with_price(problem.shelf.price * np.nan))
    with pytest.raises(InputError, match="no price"):
        design_sure(free, spread)


def test_a_food_is_used_in_its_smallest_amount_or_not_at_all():
    shelf = sample_pantry().shelf()
    smallest = np.zeros(len(shelf.foods))
    smallest[shelf.ids.index("nonfat-dry-milk")] = 120.0
    shelf = replace(shelf, smallest=smallest)
    problem = build(shelf, band_set("lamb-replacer"), 2000.0)
    found = design_sure(problem, spread_for(shelf), 90.0)
    assert isinstance(found, SureMix)
    grams = found.mix.grams[shelf.ids.index("nonfat-dry-milk")]
    assert grams == 0 or grams >= 120 * (1 - 1e-9)
    assert min(found.chances) >= 0.9 - 1e-9
    assert found.bound <= found.mix.cost_per_litre * (1 + 1e-12)


def test_without_spread_it_is_the_plain_mix():
    problem, spread = sample()
    none = replace(spread, sd=spread.sd * 0)
    found = design_sure(problem, none, 99.0)
    assert found.price_of_protection == pytest.approx(0, abs=1e-9)
    assert found.chances == (1.0,) * len(problem.bands.binding)


def test_cuts_and_the_way_through_the_inside_agree():
    problem, spread = sample()
    cones = Cones.of(problem, replace(spread, sd=spread.sd * 1.3))
    z = np.full(cones.other.size, 1.2)
    known = _Cuts(cones, *_no_cuts(cones))
    by_cuts = _by_cuts(_program(problem, None), known, z, _ends_missed(known, z), 400)
    start = optimise(problem).x
    e = cones.other.size
    sign = np.where(problem.is_low, 1.0, -1.0)[:, None]
    none = np.empty((0, start.size))
    demands = Demands(
        problem.shelf.price,
        problem.shelf.composition.row("volume"),
        np.zeros(start.size),
        (sign * problem.rows)[e:],
        cones.mean,
        cones.variance,
        none,
        none,
        z,
        lambda *_: (0.0, 0.0),
    )
    point = interior_point_optimum(demands, start)
    assert isinstance(point, Point)
    assert problem.shelf.price @ point.y == pytest.approx(by_cuts.cost, rel=1e-5)
    impossible = replace(demands, quantile=z * 40)
    assert isinstance(interior_point_optimum(impossible, start), Nothing | None)
    assert cheapest_in(cones, z * 40) is None


@given(
    st.floats(-3, 8), st.floats(-3, 8), st.floats(0.1, 3), st.floats(0.1, 3), st.floats(1e-6, 0.5)
)
def test_the_touching_point_lies_on_the_curve(u, v, s, t, tail):
    a, b = touching(u, v, s, t, tail)
    assert upper_tail(a) + upper_tail(b) == pytest.approx(tail, rel=1e-6, abs=1e-13)
    assert a * s - u == pytest.approx(b * t - v, abs=1e-9)


@given(st.floats(0.001, 1), st.floats(0.001, 1), st.sampled_from([0.01, 0.05, 0.3, 0.5]))
def test_the_support_of_the_curve_is_its_least(p, q, tail):
    z = quantile(tail)
    tries = []
    for a in np.linspace(z + 1e-6, z + 6, 4001).tolist():
        rest = tail - upper_tail(a)
        if rest > 0:
            tries += [p * a + q * quantile(rest), q * a + p * quantile(rest)]
    least = support(p, q, tail)
    forward = min(
        p * a + q * quantile(tail - upper_tail(a))
        for a in np.linspace(z + 1e-6, z + 6, 4001).tolist()
        if tail > upper_tail(a)
    )
    assert least <= forward + 1e-9
    assert least >= min(forward, *tries) - 2e-3
    assert least >= z * (p + q) - 1e-12


@given(jobs(least=3, most=6))
@settings(max_examples=25)
def test_rows_of_pairs_are_met_by_every_mix_that_holds(job):
    problem = job.problem()
    cones = Cones.of(problem, spread_for(job.shelf))
    pairs = Pairs.of(cones, 0.2)
    assume(len(pairs.low))
    rng = np.random.default_rng(1)
    mixes = rng.dirichlet(np.ones(len(job.shelf.foods)) * 0.7, 300)
    every = np.ones(len(pairs.low), dtype=bool)
    rows = [pairs.rows(y, every) for y in mixes[:12]]
    for y in mixes:
        spreads = np.sqrt(pairs.of_low @ y**2), np.sqrt(pairs.of_high @ y**2)
        for k in range(len(pairs.low)):
            s, t = spreads[0][k], spreads[1][k]
            if min(s, t) <= 0:
                continue
            if upper_tail(pairs.low[k] @ y / s) + upper_tail(pairs.high[k] @ y / t) <= 0.2:
                assert min(row[k] @ y for row in rows) >= -1e-9


@given(jobs(least=3, most=6))
@settings(max_examples=25)
def test_no_mix_that_holds_costs_less_than_the_bound(job):
    """Random mixes in the cones, none below the bound."""
    problem = job.problem()
    assume(optimise(problem) is not None)
    cones = Cones.of(problem, spread_for(job.shelf))
    found = cheapest_both(cones, 0.2)
    assume(found is not None)
    rng = np.random.default_rng(0)
    room = job.shelf.composition.row("volume")
    near = np.abs(found.y + rng.standard_normal((400, found.y.size)) * 0.03)
    near /= (near @ room)[:, None]
    sign = np.where(problem.is_low, 1.0, -1.0)
    for y in near:
        if (sign * (problem.rows @ y) >= 0).all() and cones.band_tails(y).max() <= 0.2:
            assert problem.shelf.price @ y >= found.bound * (1 - 1e-9)


def test_forms_are_the_rows_of_the_problem():
    problem, _ = sample()
    e = problem.bands.ends.is_low.size
    sign = np.where(problem.is_low[:e], 1.0, -1.0)[:, None]
    forms = forms_of(problem) @ np.nan_to_num(problem.shelf.composition.per_gram)
    np.testing.assert_allclose(forms, sign * problem.rows[:e], atol=1e-14)


# --- a budget of foods that may be off at once


def enumerated(problem, worst, budget):
    """The robust mix by one row for every set of foods at their worst."""
    program = problem.program()
    n, rows = program.cost.size, []
    sign = np.where(problem.is_low, 1.0, -1.0)
    for k, taken in enumerate(worst):
        for members in itertools.combinations(range(n), budget):
            row = sign[k] * problem.rows[k]
            row[list(members)] -= taken[list(members)]
            rows.append(row)
    more = replace(
        program,
        matrix=np.vstack((program.matrix, *rows)),
        row_lower=np.append(program.row_lower, np.zeros(len(rows))),
        row_upper=np.append(program.row_upper, np.full(len(rows), math.inf)),
    )
    found = solve(more)
    return found.objective if isinstance(found, Optimal) else None


@given(jobs(least=2, most=5, stocks=False), st.integers(0, 5), st.sampled_from([0.2, 1.0]))
@settings(max_examples=40)
def test_the_budget_meets_full_enumeration(job, budget, part):
    assume(not job.shelf.has_smallest)
    problem = job.problem()
    assume(optimise(problem) is not None)
    budget = min(budget, len(job.shelf.foods))
    spread = spread_for(job.shelf)
    spread = replace(spread, below=spread.below * part, above=spread.above * part)
    worst = spread.worst_of_forms(forms_of(problem))
    found = design_budgeted(problem, spread, budget)
    expected = enumerated(problem, worst, budget)
    if expected is None:
        assert isinstance(found, OverBudget)
        assert found.most < budget
        return
    assert isinstance(found, BudgetedMix)
    assert found.mix.cost_per_litre == pytest.approx(expected * 1e3, rel=1e-7)
    assert found.mix.certificate.worst <= 1e-9


def test_budgets_from_no_food_to_all():
    problem, spread = sample()
    plain = design(problem.shelf, problem.bands, 2000.0)
    half = replace(spread, below=spread.below / 2, above=spread.above / 2)
    costs = []
    for budget in (0, 0.5, 1, 2, len(problem.shelf.foods)):
        found = design_budgeted(problem, half, budget)
        assert isinstance(found, BudgetedMix)
        costs.append(found.mix.cost_per_litre)
    assert costs[0] == pytest.approx(plain.cost_per_litre)
    assert costs == sorted(costs)
    assert found.chance_missed == 0


def test_a_guarded_mix_holds_wherever_the_foods_lie():
    problem, spread = sample()
    found = design_budgeted(problem, spread, 1)
    cones_rows = forms_of(problem)
    y = found.mix.grams
    for j in np.flatnonzero(y > 0):
        for way in (-1.0, 1.0):
            corners = itertools.product((0.0, 1.0), repeat=3)
            for corner in corners:
                moved = np.zeros(len(VARIES))
                for part, name in zip(corner, ("fat", "protein", "carbohydrate"), strict=True):
                    s = VARIES.index(name)
                    moved[s] = way * part * (spread.below if way < 0 else spread.above)[j, s]
                per_gram = np.nan_to_num(spread.composition.per_gram)
                per_gram[:, j] += moved @ spread.change[j]
                assert (cones_rows @ per_gram @ y >= -1e-7 * y.sum()).all()


def test_more_than_can_be_guarded_is_reported_with_the_most_there_is():
    problem, spread = sample()
    found = design_budgeted(problem, spread, 5)
    assert isinstance(found, OverBudget)
    assert 0 < found.most < 5
    assert found.surest.budget == found.most
    assert isinstance(design_budgeted(problem, spread, found.most), BudgetedMix)
    assert f"The most possible is {math.floor(found.most)}." in over_budget_lines(found)[0]
    none = replace(found, most=0.4)
    assert "even one food" in over_budget_lines(none)[0]


@pytest.mark.parametrize("budget", [-1, 6, math.nan])
def test_a_budget_that_makes_no_sense_is_reported(budget):
    problem, spread = sample()
    with pytest.raises(InputError, match="cannot be at their worst at once"):
        design_budgeted(problem, spread, budget)


def test_no_mix_at_all_is_told_before_any_budget():
    problem, spread = sample("ewe-milk")
    assert isinstance(design_budgeted(problem, spread, 1), NoMix)


def test_the_worst_of_a_mix_is_its_largest_parts():
    worst = np.array([[0.1, 0.2, 0.3], [0.0, 0.0, 0.0]])
    y = np.array([1.0, 2.0, 1.0])
    np.testing.assert_allclose(worst_of(worst, y, 1.5), [0.4 + 0.15, 0.0])
    np.testing.assert_allclose(worst_of(worst, y, 3), [0.8, 0.0])


def test_the_robust_program_grows_linearly_in_size():
    problem, spread = sample()
    worst = spread.worst_of_forms(forms_of(problem))
    n = len(problem.shelf.foods)
    program = robust_program(problem, worst, 2.0, np.zeros(n), np.full(n, math.inf))
    pairs = int((worst > 0).sum())
    ends = int((worst > 0).any(axis=1).sum())
    assert program.shape == (problem.rows.shape[0] + 1 + pairs, n + ends + pairs)


def test_what_is_promised_is_said():
    problem, spread = sample()
    sure = design_sure(problem, spread, 95.0)
    assert "at least 95 %" in sure_lines(sure, "USD")[0]
    assert "0.08 USD a litre more" in sure_lines(sure, "USD")[1]
    assert sure_shape(sure)["least_chance"] >= 0.95 - 1e-9
    guarded = design_budgeted(problem, spread, 1)
    assert "any 1 food is at its worst" in budgeted_lines(guarded, "USD")[0]
    assert budgeted_shape(guarded)["budget"] == 1
    assert 0 <= violation_bound(3, 1) <= 1


def test_the_order_of_the_shelf_changes_nothing():
    problem, spread = sample()
    turned = problem.shelf.take(range(len(problem.shelf.foods))[::-1])
    other = build(turned, problem.bands, 2000.0)
    one, two = design_sure(problem, spread, 95.0), design_sure(other, spread_for(turned), 95.0)
    assert one.mix.cost_per_litre == pytest.approx(two.mix.cost_per_litre, rel=1e-6)


def test_a_spread_is_data():
    _, spread = sample()
    assert isinstance(spread, Spread)
    assert spread.sd.shape == (5, len(VARIES))


def test_the_picture_of_what_protection_costs():
    problem, spread = sample()
    wide = replace(spread, sd=spread.sd * 2.5)
    points = protection_curve(problem, wide, (60, 90, 99))
    assert points[-1].mix is None
    axes = protection_picture(points, "USD").axes[0]
    drawn = axes.lines[0].get_xydata()
    made = [p for p in points if p.mix is not None]
    np.testing.assert_allclose(drawn[:, 0], [100 * p.chance for p in made])
    np.testing.assert_allclose(drawn[:, 1], [p.cost_per_litre for p in made])
    assert "no mix" in {text.get_text() for text in axes.texts}
    assert any("no mix" in line for line in protection_lines(curve_answer(points)))
