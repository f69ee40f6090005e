"""Lot sizing with spoilage: against brute force, the textbook form, bounds and its own audit."""

import dataclasses

import highspy
import numpy as np
import pytest
from hypothesis import given, settings
from made_lots import SIZES, brute_force, season, small_problems, textbook

from formulate.base.clock import Clock
from formulate.base.errors import OutOfTime, SolverFault
from formulate.blend.solve import Infeasible
from formulate.shopping import lot_solve
from formulate.shopping.lot_by_food import FoodPlan, NoFoodPlan, in_order, plan_food
from formulate.shopping.lot_program import LotProgram
from formulate.shopping.lot_rounding import tightened
from formulate.shopping.lot_solve import least_room, solve_lots
from formulate.shopping.lot_start import first_plan, shares
from formulate.shopping.lots import LotPlan, audit

#: Seconds; no search here takes a hundredth of it on a computer that is not busy.
AMPLE = 3600.0


def solved(problem, **more):
    """However long it takes: what is found does not depend on the speed of the computer."""
    return solve_lots(problem, clock=Clock(AMPLE), **more)


def exact(problem):
    return solved(problem, relative_gap=0.0)


def check_by_hand(plan: LotPlan) -> None:
    """Dates, packages, needs, money and room, from the problem's raw fields."""
    problem, lots = plan.problem, plan.problem.lots
    assert plan.count.dtype == np.int64
    assert (plan.count >= 0).all()
    for k in np.flatnonzero(plan.count):
        food = problem.goods[lots.good[k]]
        opened_on = problem.mix_day[lots.opened[k]]
        fed_until = problem.end_day[lots.last[k]]
        assert fed_until <= opened_on + food.opened_days - 1
        if lots.stock[k] >= 0:
            assert fed_until <= problem.stocks[lots.stock[k]].last_day
        else:
            trip = problem.trips[lots.trip[k]]
            assert trip.first_batch <= lots.opened[k]
            assert fed_until <= trip.day + food.closed_days
    got = np.zeros_like(plan.needs)
    for (good, opened, last, batch), grams in plan.flows.items():
        assert grams >= 0
        assert opened <= batch <= last
        got[good, batch] += grams
    np.testing.assert_allclose(got, plan.needs, atol=1e-3)
    supplies = plan.supplies()
    for key, grams in plan.used().items():
        assert grams <= supplies[key] + 1e-3
    trips = sum(problem.trip_cost[t] for t in plan.trips_made)
    paid = sum(
        plan.count[k] * problem.price[lots.size[k], lots.trip[k]]
        for k in np.flatnonzero(plan.count)
        if lots.size[k] >= 0
    )
    assert plan.cost == pytest.approx(paid + trips)
    assert plan.bound <= plan.cost + 1e-9
    assert plan.room().max() <= problem.room * (1 + 1e-6) + 1e-3


def compare(problem):
    expected = brute_force(problem)
    found = exact(problem)
    if expected is None:
        assert isinstance(found, Infeasible)
        return
    assert not isinstance(found, Infeasible)
    assert found.cost == pytest.approx(expected)
    check_by_hand(found)


class TestBruteForce:
    @given(small_problems())
    def test_packages_that_spoil(self, problem):
        compare(problem)

    @given(small_problems(goods=2, mixes=2, most_batches=3))
    def test_a_choice_of_mix(self, problem):
        compare(problem)

    @given(small_problems(goods=1, rooms=True))
    @settings(max_examples=60)
    def test_a_refrigerator(self, problem):
        compare(problem)

    @given(small_problems(goods=1, trip_costs=True, most_batches=3))
    @settings(max_examples=30)
    def test_trips_that_cost(self, problem):
        compare(problem)


class TestOneFood:
    @given(small_problems(goods=1, most_batches=3))
    def test_alone_it_is_exact(self, problem):
        expected = brute_force(problem)
        need = problem.need[0].sum(axis=1)
        food = plan_food(problem, 0, need, shares(problem, (0,), 0))
        if not in_order(problem, 0):
            assert isinstance(food, NoFoodPlan) or food.floor == 0.0
        elif expected is None:
            assert isinstance(food, NoFoodPlan)
        else:
            assert food.cost == pytest.approx(expected)
            assert food.floor == pytest.approx(expected)

    @given(small_problems(goods=1, rooms=True, most_batches=3))
    def test_its_share_of_a_refrigerator_keeps_the_floor_below(self, problem):
        expected = brute_force(problem)
        need = problem.need[0].sum(axis=1)
        food = plan_food(problem, 0, need, shares(problem, (0,), 0))
        if expected is not None:
            assert isinstance(food, FoodPlan) or not in_order(problem, 0)
            assert isinstance(food, NoFoodPlan) or food.floor <= expected + 1e-9


class TestAgainstTheTextbookForm:
    @pytest.mark.parametrize(
        "more",
        [{}, {"room": 16e3}, {"room": 15e3}, {"trip_cost": 2.0}, {"sizes": SIZES[::2]}],
        ids=str,
    )
    def test_same_optimum(self, more):
        problem = season(days=12, **more)
        ours = exact(problem)
        model = textbook(problem)
        model.setOptionValue("mip_rel_gap", 1e-6)
        model.run()
        assert model.getModelStatus() == highspy.HighsModelStatus.kOptimal
        assert ours.cost == pytest.approx(model.getInfo().objective_function_value, abs=1e-4)
        assert ours.gap <= 1e-4
        check_by_hand(ours)

    @pytest.mark.parametrize("animals", [3, 20, 100])
    def test_bounds_of_whole_seasons(self, animals):
        problem = season(animals)
        ours = solved(problem)
        model = textbook(problem)
        model.setOptionValue("solve_relaxation", True)
        model.run()
        lower = model.getInfo().objective_function_value
        assert lower <= ours.bound + 1e-6
        assert ours.gap <= 0.01
        check_by_hand(ours)

    def test_one_size_is_exact_without_search(self):
        problem = season(sizes=SIZES[::2])
        assert solved(problem).gap == pytest.approx(0.0, abs=1e-9)

    def test_one_size_needs_only_rounding_rows(self):
        # Without the floors of single foods, the rounding rows alone close the gap.
        from formulate.blend.mixed_integer import relaxed

        problem = season(days=28, sizes=SIZES[::2])
        bound = (
            relaxed(tightened(LotProgram(problem), Clock(AMPLE))).getInfo().objective_function_value
        )
        assert bound == pytest.approx(solved(problem).cost)


class TestWholeSeasons:
    @pytest.mark.parametrize(
        "more",
        [{"mixes": 2}, {"room": 17.2e3}, {"room": 18e3}, {"trip_cost": 3.0},
         {"animals": 100, "room": 590e3}],
        ids=str,
    )  # fmt: skip
    def test_kept_by_hand(self, more):
        plan = solved(season(days=28, **more), relative_gap=0.03)
        check_by_hand(plan)
        assert plan.gap <= 0.03

    def test_same_on_every_run(self):
        problem = season(days=21, mixes=2)
        first, second = solved(problem), solved(problem)
        assert first.cost == second.cost
        assert first.flows == second.flows
        np.testing.assert_array_equal(first.count, second.count)

    def test_the_first_plan_is_sound(self):
        start = first_plan(season(room=18e3), Clock(AMPLE))
        check_by_hand(start.plan)
        assert start.floors.sum() <= start.plan.cost

    def test_nothing_is_opened_that_could_wait(self):
        plan = solved(season(days=21, mixes=2))
        used = plan.used()
        assert all(used.get(key, 0.0) > 0 for key in plan.supplies())

    def test_more_of_anything_never_costs_more(self):
        problem = season(days=14, room=17e3)
        cost = exact(problem).cost
        larger = exact(dataclasses.replace(problem, room=30e3)).cost
        goods = tuple(dataclasses.replace(g, closed_days=g.closed_days + 5) for g in problem.goods)
        longer = exact(dataclasses.replace(problem, goods=goods)).cost
        assert larger <= cost + 1e-6
        assert longer <= cost + 1e-6


class Hand:
    """A clock that stands still until it is moved."""

    def __init__(self):
        self.time = 0.0

    def __call__(self):
        return self.time


class TestOneClock:
    SEASONS = ({}, {"mixes": 2}, {"room": 18e3}, {"trip_cost": 3.0}, {"room": 17.2e3})

    @pytest.mark.parametrize("more", SEASONS, ids=str)
    def test_no_time_at_all_still_gives_a_sound_plan(self, more, monkeypatch):
        monkeypatch.setattr(lot_solve, "solve_integer", lambda *a, **k: pytest.fail("searched"))
        plan = solve_lots(season(days=28, **more), clock=Clock(0.0))
        check_by_hand(plan)

    @pytest.mark.parametrize(("seconds", "most"), [(30.0, 24.0), (7.0, 1.0), (6.5, 0.5)])
    def test_the_search_has_what_the_other_stages_leave(self, seconds, most, monkeypatch):
        hand, given = Hand(), []

        def slow(name):
            stage = getattr(lot_solve, name)

            def slowly(*arguments):
                hand.time += 2.0
                return stage(*arguments)

            monkeypatch.setattr(lot_solve, name, slowly)

        for name in ("first_plan", "fewer_trips", "tightened"):
            slow(name)
        search = lot_solve.solve_integer

        def watched(*arguments, **more):
            given.append(more["time_limit"])
            return search(*arguments, **more | {"time_limit": AMPLE, "relative_gap": 0.1})

        monkeypatch.setattr(lot_solve, "solve_integer", watched)
        plan = solve_lots(season(days=14, trip_cost=3.0), clock=Clock(seconds, hand))
        check_by_hand(plan)
        assert given == [pytest.approx(most)]

    @pytest.mark.parametrize("seconds", [1.0, 3.0, 5.0])
    def test_no_stage_begins_after_the_time(self, seconds, monkeypatch):
        hand, begun = Hand(), []
        for name in ("fewer_trips", "tightened", "solve_integer"):
            stage = getattr(lot_solve, name)

            def slowly(*arguments, name=name, stage=stage, **more):
                begun.append((name, hand.time))
                hand.time += 2.0
                return stage(*arguments, **more)

            monkeypatch.setattr(lot_solve, name, slowly)
        plan = solve_lots(season(days=14, trip_cost=3.0), clock=Clock(seconds, hand))
        check_by_hand(plan)
        assert all(at < seconds for _, at in begun)

    @given(small_problems(goods=1, rooms=True, most_batches=3))
    def test_in_a_hurry_nothing_is_called_impossible_that_is_not(self, problem):
        expected = brute_force(problem)
        try:
            plan = solve_lots(problem, clock=Clock(0.0))
        except OutOfTime:
            return  # no answer in no time
        if isinstance(plan, Infeasible):
            assert expected is None
        else:
            check_by_hand(plan)
            assert plan.cost >= expected - 1e-9
            assert plan.bound <= expected + 1e-9


class TestNoPlan:
    def test_a_refrigerator_too_small_and_the_least_that_would_do(self):
        problem = season(days=14, room=9e3)
        assert isinstance(solved(problem), Infeasible)
        room = least_room(problem, Clock(AMPLE))
        assert room > 9e3
        assert not isinstance(solved(dataclasses.replace(problem, room=1.001 * room)),
                              Infeasible)  # fmt: skip
        assert isinstance(solved(dataclasses.replace(problem, room=0.95 * room)), Infeasible)

    def test_shops_too_far_apart(self):
        assert isinstance(solved(season(days=21, every=(9,))), Infeasible)


class TestAudit:
    def plan(self):
        return solved(season(days=7))

    def test_short_of_food(self):
        plan = self.plan()
        flows = dict(plan.flows)
        flows.pop(next(iter(flows)))
        with pytest.raises(SolverFault, match="short"):
            audit(dataclasses.replace(plan, flows=flows))

    def test_more_than_there_is(self):
        plan = self.plan()
        with pytest.raises(SolverFault, match="than there is"):
            audit(dataclasses.replace(plan, count=np.zeros_like(plan.count)))

    def test_out_of_date(self):
        plan = self.plan()
        flows = dict(plan.flows)
        good, opened, last, batch = next(iter(flows))
        flows[good, opened, batch - 1, batch] = flows.pop((good, opened, last, batch))
        with pytest.raises(SolverFault, match="out of date"):
            audit(dataclasses.replace(plan, flows=flows))

    def test_an_overfull_refrigerator(self):
        plan = self.plan()
        small = dataclasses.replace(plan.problem, room=5e3)
        with pytest.raises(SolverFault, match="overfills"):
            audit(dataclasses.replace(plan, problem=small))
