"""The same problem in .lp and .mps files, and what CBC says of it."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import highspy
import numpy as np
import pytest
from eight_foods import eight_foods
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import Job, jobs, programs

from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.blend.mix import optimise
from formulate.blend.mixed_integer import IntegerOptimal, solve_integer
from formulate.blend.portable import (
    OtherAnswer,
    Portable,
    portable,
    portable_measures,
    second_opinion,
    write,
)
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.solve import (
    Infeasible,
    LinearProgram,
    Optimal,
    solve,
)
from formulate.foods.tables import band_set, food_table
from formulate.kitchen.batch import BatchWishes, make_batch
from formulate.kitchen.jug import parse_container
from formulate.pantry.pantry import parse_pantry
from formulate.pantry.recipe import parse_recipe


def read_back(path: Path) -> tuple[float, dict[str, float]]:
    """Optimum and amounts by column name, as HiGHS reads and solves the file."""
    engine = highspy.Highs()
    engine.setOptionValue("output_flag", False)
    engine.setOptionValue("primal_feasibility_tolerance", 1e-10)
    engine.setOptionValue("dual_feasibility_tolerance", 1e-10)
    engine.setOptionValue("mip_rel_gap", 0.0)
    assert engine.readModel(str(path)) == highspy.HighsStatus.kOk
    engine.run()
    assert engine.getModelStatus() == highspy.HighsModelStatus.kOptimal
    names = engine.getLp().col_names_
    amounts = dict(zip(names, engine.getSolution().col_value, strict=True))
    return engine.getInfo().objective_function_value, amounts


def names_of(path: Path) -> dict[str, str]:
    with path.open(encoding="utf-8", newline="") as file:
        return {row["name"]: row["stands for"] for row in csv.DictReader(file)}


@pytest.mark.parametrize("suffix", [".lp", ".mps", ".MPS"])
@pytest.mark.parametrize("limits", [{}, {"nonfat_dry_milk": 120.0, "heavy_cream": 90.0}])
def test_another_solver_reads_the_same_mix(tmp_path: Path, suffix: str, limits: dict[str, float]):
    problem = eight_foods(**limits)
    path, names = write(problem, tmp_path / f"mix{suffix}")
    assert path == tmp_path / f"mix{suffix}"
    assert names == tmp_path / "mix.names.csv"
    value, amounts = read_back(path)
    best = optimise(problem)
    assert best is not None
    assert value == pytest.approx(best.objective * problem.volume, rel=1e-9)
    words = names_of(names)
    grams = {words[name]: kg * 1e3 for name, kg in amounts.items() if name.startswith("food")}
    expected = dict(zip(problem.shelf.ids, best.x * problem.volume, strict=True))
    assert grams == pytest.approx(expected, abs=1e-5)


@settings(
    max_examples=15,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(job=jobs(most=7), suffix=st.sampled_from([".lp", ".mps"]))
def test_random_mixes_make_the_round_trip(tmp_path: Path, job: Job, suffix: str):
    problem = job.problem()
    best = optimise(problem)
    path, _ = write(problem, tmp_path / f"mix{suffix}")
    if best is None:
        return
    value, _ = read_back(path)
    assert value == pytest.approx(best.objective * problem.volume, rel=1e-8)


def test_names_that_a_format_would_merge_stay_apart(tmp_path: Path):
    table = food_table()
    foods = (
        replace(table["anhydrous-milk-fat"], id="milk-fat"),
        replace(table["unsalted-butter"], id="milk fat"),
        replace(table["nonfat-dry-milk"], id="2% [dry] milk, ½"),
        table["water"],
    )
    shelf = Shelf(foods, price=np.array([0.012, 0.009, 0.01, 0.0001]))
    problem = build(shelf, band_set("lamb-replacer"), 1000.0)
    best = optimise(problem)
    assert best is not None
    for suffix in (".lp", ".mps"):
        path, names = write(problem, tmp_path / f"mix{suffix}")
        value, amounts = read_back(path)
        assert value == pytest.approx(best.objective * 1000, rel=1e-9)
        assert list(amounts) == ["food_00", "food_01", "food_02", "food_03"]
        assert [names_of(names)[name] for name in amounts] == list(shelf.ids)


def test_the_table_names_every_column_and_row(tmp_path: Path):
    problem = eight_foods(heavy_cream=50.0)
    _, names = write(problem, tmp_path / "mix.lp")
    words = names_of(names)
    given_to = portable(problem)
    assert list(words) == [named.name for named in (*given_to.columns, *given_to.rows)]
    assert len(set(words)) == len(given_to.columns) + len(given_to.rows)
    assert words["food_01"] == words["used_01"] == "heavy-cream"
    assert words["limit_00"] == "solids at least 16 g/100 g as fed"
    assert words["size"] == "2 litres"


def test_programs_with_two_ended_rows_make_the_round_trip(tmp_path: Path):
    program = LinearProgram(
        np.array([-1.0, -2.0, 0.5]),
        np.array([[1.0, 1.0, 0.0], [0.0, 1.0, -1.0], [1.0, 0.0, 1.0]]),
        np.array([1.0, -2.0, 0.5]),
        np.array([4.0, 1.0, 0.5]),
        np.array([0.0, -1.0, -np.inf]),
        np.array([3.5, 10.0, np.inf]),
    )
    for integer in (None, np.array([True, True, False])):
        expected = solve(program) if integer is None else solve_integer(program, integer)
        assert isinstance(expected, Optimal | IntegerOptimal)
        for suffix in (".lp", ".mps"):
            path, _ = write(Portable.of(program, integer), tmp_path / f"p{suffix}")
            value, _ = read_back(path)
            assert value == pytest.approx(expected.objective, rel=1e-9)


@pytest.mark.parametrize("name", ["mix.txt", "mix", "mix.lp.gz", ".lp"])
def test_other_endings_are_rejected(tmp_path: Path, name: str):
    with pytest.raises(InputError, match=r"Write \w+\.lp or \w+\.mps"):
        write(eight_foods(), tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_failed_write_leaves_the_old_files(tmp_path: Path):
    with pytest.raises(InputError, match="cannot be written"):
        write(eight_foods(), tmp_path / "nowhere" / "mix.lp")
    folder = tmp_path / "taken.lp"
    folder.mkdir()
    with pytest.raises(InputError, match="folder"):
        write(eight_foods(), folder)
    assert sorted(p.name for p in tmp_path.iterdir()) in (
        ["taken.lp"],
        ["taken.lp", "taken.names.csv"],
    )


def test_writing_twice_gives_the_same_bytes(tmp_path: Path):
    for suffix in (".lp", ".mps"):
        path, names = write(eight_foods(), tmp_path / f"mix{suffix}")
        before = path.read_bytes(), names.read_bytes()
        write(eight_foods(), path)
        assert (path.read_bytes(), names.read_bytes()) == before


def test_a_food_without_a_price_is_reported(tmp_path: Path):
    problem = eight_foods()
    price = problem.shelf.price.copy()
    price[2] = np.nan
    gap = replace(problem, shelf=problem.shelf.with_price(price))
    with pytest.raises(InputError, match="dry-whole-milk"):
        write(gap, tmp_path / "mix.lp")
    with pytest.raises(InputError, match="dry-whole-milk"):
        second_opinion(gap)


@given(jobs(most=7))
def test_cbc_agrees_on_mixes(job: Job):
    problem = job.problem()
    best, other = optimise(problem), second_opinion(problem)
    if best is None:
        assert other.answer is OtherAnswer.INFEASIBLE
        assert other.value is None
        assert other.amounts is None
        return
    assert other.answer is OtherAnswer.OPTIMAL
    assert other.value == pytest.approx(best.objective * problem.volume, rel=1e-6)
    assert other.amounts is not None
    assert problem.shelf.price @ other.amounts == pytest.approx(other.value, rel=1e-12)


def test_cbc_agrees_on_smallest_amounts():
    problem = eight_foods(nonfat_dry_milk=120.0, heavy_cream=90.0)
    best, other = optimise(problem), second_opinion(problem)
    free = optimise(eight_foods())
    assert best is not None
    assert free is not None
    assert best.objective > free.objective * (1 + 1e-6)
    assert other.amounts is not None
    assert other.amounts.shape == (8,)
    assert other.value == pytest.approx(best.objective * problem.volume, rel=1e-6)
    assert other.amounts == pytest.approx(best.x * problem.volume, abs=0.01)


@given(programs(), st.booleans())
def test_cbc_agrees_on_programs(program: LinearProgram, whole: bool):
    n = program.shape[1]
    if whole:
        low = np.maximum(program.col_lower, -20.0)
        high = np.maximum(low, np.minimum(program.col_upper, 20.0))
        program = replace(program, col_lower=low, col_upper=high)
        integer = np.arange(n) % 2 == 0
        expected = solve_integer(program, integer)
        other = second_opinion(program, integer)
    else:
        expected = solve(program)
        other = second_opinion(program)
    if isinstance(expected, Optimal | IntegerOptimal):
        assert other.answer is OtherAnswer.OPTIMAL
        assert other.value == pytest.approx(expected.objective, rel=1e-6, abs=1e-6)
    else:
        # Presolve may call an unbounded program infeasible; neither holds amounts.
        assert other.answer in (OtherAnswer.INFEASIBLE, OtherAnswer.UNBOUNDED)
        if isinstance(expected, Infeasible):
            assert other.answer is OtherAnswer.INFEASIBLE
        assert other.value is None
        assert other.amounts is None


def test_amounts_that_pulp_leaves_of_an_infeasible_problem_are_dropped():
    """Why an infeasible answer is emptied: PuLP leaves numbers in its variables."""
    foods = tuple(food_table()[name] for name in ("water", "skim-milk"))
    shelf = Shelf(foods, price=np.array([0.0001, 0.001]))
    problem: Problem = build(shelf, band_set("lamb-replacer"), 1000.0)
    assert second_opinion(problem).amounts is None


STOCKED = """
name = "Stocked"
currency = "USD"
prices_on = 2026-11-02
kitchen = "us"
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 3.20
package = "1 pint"
on_hand = "1/2 pint"
[foods.nonfat-dry-milk]
price = 11
package = "2 lb"
[foods.evaporated-milk]
price = 1.89
package = "1 can"
on_hand = "1 can"
"""
TABLE = food_table()
FAVOURITE = parse_recipe(
    "1 quart whole-milk + 1 can evaporated-milk + 1/4 cup heavy-cream", TABLE, Kitchen.US
)
JUG = parse_container("half-gallon jug of whole-milk", Kitchen.US, TABLE)


@pytest.mark.parametrize(
    "wishes",
    [BatchWishes(), BatchWishes(most_foods=3), BatchWishes(use_up=True), BatchWishes(sure=60.0),
     BatchWishes(favourite=FAVOURITE), BatchWishes(container=JUG)],
    ids=["plain", "few foods", "stock", "sure", "favourite", "jug"],
)  # fmt: skip
@pytest.mark.parametrize("ending", ["lp", "mps"])
def test_a_mix_in_whole_measures_is_what_others_make_of_its_file(wishes, ending, tmp_path):
    """Read back by HiGHS from the file: the same cost, the same volume."""
    pantry = parse_pantry(STOCKED)
    batch = make_batch(pantry, band_set("lamb-replacer"), 2000.0, wishes)
    found = batch.kitchen_mix
    path, names = write(portable_measures(batch.problem, found), tmp_path / f"whole.{ending}")
    value, _ = read_back(path)
    cost = value + float(batch.problem.shelf.price @ [s.rest for s in found.steps])
    assert cost <= found.mix.cost + 1e-6
    if wishes.sure is None:
        assert cost == pytest.approx(found.mix.cost, rel=1e-6)
    told = names_of(names)
    assert list(told.values())[: len(found.steps)] == list(pantry.shelf().ids)
