"""How quick protection and sureness are, as ratios within the same run.

Run on request only::

    pytest tests/benchmarks/test_protect_speed.py -s

Contestants take turns, so that a busy machine troubles all alike. Of each mix the fastest of
several turns counts: a turn in which another process had the machine tells nothing of either.
"""

from __future__ import annotations

import importlib.util
import time
from collections.abc import Callable
from statistics import median

import numpy as np
import pytest

from formulate.base.units import Kitchen
from formulate.blend.design import design
from formulate.blend.mix import Mix, optimise
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.protect.chance import SureMix, design_sure
from formulate.blend.protect.chance_whole import design_kitchen_sure
from formulate.blend.protect.cones import Cones, quantile
from formulate.blend.protect.confidence import DRAWS, Way, confidence_of
from formulate.blend.protect.cutting_planes import cheapest_both, cheapest_in
from formulate.blend.whole.kitchen_mix import design_kitchen, volume_range
from formulate.blend.whole.steps import kitchen_steps
from formulate.foods.food import row_numbers
from formulate.foods.spread import Spread, spread_of
from formulate.foods.tables import band_set, default_spreads, food_table
from formulate.pantry.pantry import sample_pantry

VOLUME = 1000.0
SETS = ("lamb-replacer", "kid-replacer")


def fastest(contestants: list[Callable[[], object]], turns: int = 9) -> list[float]:
    """Seconds of the fastest turn of each, after one to warm up."""
    best = [float("inf")] * len(contestants)
    for turn in range(turns + 1):
        for k, run in enumerate(contestants):
            start = time.perf_counter()
            run()
            if turn:
                best[k] = min(best[k], time.perf_counter() - start)
    return best


def judge(words: str, ratio: float, most: float) -> bool:
    print(f"  {words}: {ratio:.2f} (target at most {most:g})")
    return ratio <= most


def mixes(count: int, seed: int = 1) -> list[tuple[Problem, Spread]]:
    """Shelves of 6 to 15 plain foods at random prices, of which a mix is 95 % sure."""
    rng = np.random.default_rng(seed)
    plain = [food for food in food_table().values() if food.suitable]
    found: list[tuple[Problem, Spread]] = []
    while len(found) < count:
        n = int(rng.integers(6, 16))
        foods = tuple(plain[k] for k in rng.choice(len(plain), n, replace=False))
        shelf = Shelf(foods, price=rng.uniform(0.5, 12, n) / 1000, currency="EUR")
        problem = build(shelf, band_set(SETS[len(found) % 2]), VOLUME)
        spread = spread_of(shelf.composition, default_spreads())
        if isinstance(design_sure(problem, spread, 95.0), SureMix):
            found.append((problem, spread))
    return found


def test_a_sure_mix_beside_a_plain_one() -> None:
    bare, whole = [], []
    for problem, spread in mixes(60):
        shelf, bands = problem.shelf, problem.bands

        def again(shelf: Shelf = shelf, bands: object = bands) -> Problem:
            return build(shelf, bands, VOLUME)  # type: ignore[arg-type]

        lp, cone, plain, sure = fastest(
            [
                lambda: optimise(again()),
                lambda: cheapest_both(Cones.of(again(), spread), 0.05),  # noqa: B023
                lambda: design(shelf, bands, VOLUME),  # noqa: B023
                lambda: design_sure(again(), spread, 95.0),  # noqa: B023
            ]
        )
        bare.append(cone / lp)
        whole.append(sure / plain)
    print(f"\n95 % sure: {len(bare)} shelves of 6 to 15 foods, {' and '.join(SETS)}")
    print(f"  the search alone / the linear program alone: median {median(bare):.2f}, ", end="")
    print(f"90 of 100 below {np.quantile(bare, 0.9):.1f}, worst {max(bare):.1f}")
    held = [
        judge("design_sure / design, median", median(whole), 5.0),
        judge("design_sure / design, worst", max(whole), 20.0),
    ]
    assert all(held)


@pytest.mark.skipif(
    importlib.util.find_spec("cvxpy") is None,
    reason="CVXPY is not installed: pip install cvxpy clarabel",
)
@pytest.mark.filterwarnings("ignore")
def test_a_sure_mix_beside_cvxpy_warm() -> None:
    """The same cones as one CVXPY model, its prices a parameter, solved again and again."""
    import cvxpy as cp

    ratios = []
    for problem, spread in mixes(16, seed=2):
        cones = Cones.of(problem, spread)
        z = quantile(0.05)
        quantiles = np.full(cones.other.size, z)
        program = problem.program()
        y = cp.Variable(program.cost.size, nonneg=True)
        price = cp.Parameter(program.cost.size, value=program.cost * 1e3)
        sign = np.where(problem.is_low, 1.0, -1.0)[:, None]
        demands = [program.matrix[-1] @ y == 1, (sign * problem.rows) @ y >= 0]
        demands += [
            z * cp.norm(cp.multiply(sd, y)) <= mean @ y
            for mean, sd in zip(cones.mean, cones.sd, strict=True)
        ]
        model = cp.Problem(cp.Minimize(price @ y), demands)
        model.solve(solver=cp.CLARABEL)
        ours, theirs = fastest(
            [
                lambda: cheapest_in(Cones.of(problem, spread), quantiles),  # noqa: B023
                lambda: model.solve(solver=cp.CLARABEL, warm_start=True),  # noqa: B023
            ],
            turns=7,
        )
        ratios.append(ours / theirs)
    print("\nThe same cones through CVXPY with Clarabel, modelled beforehand; 16 mixes")
    print(f"  formulate / CVXPY warm, worst: {max(ratios):.2f}")
    assert judge("formulate / CVXPY warm, median", median(ratios), 1.0)


def test_a_million_compositions_beside_a_bare_matrix_product() -> None:
    names = ("solids", "fat", "protein", "lactose", "ash", "water", "volume", "osmoles",
             "metabolisable-energy", "calcium", "phosphorus", "sodium")  # fmt: skip
    foods = ("whole-milk", "evaporated-milk", "heavy-cream", "nonfat-dry-milk", "goat-milk",
             "lowfat-buttermilk", "skim-milk", "half-and-half")  # fmt: skip
    spread = spread_of([food_table()[name] for name in foods], default_spreads())
    grams = np.array([800.0, 100, 60, 40, 100, 80, 100, 50])
    rows, count = row_numbers(names), 1_000_000

    def ours() -> int:
        rng = np.random.default_rng(0)
        return sum(len(block) for block in spread.totals(count, rng, grams, rows))

    def bare() -> int:
        """A random number for each food and measure, and the product, block by block."""
        rng = np.random.default_rng(0)
        matrix = np.ones((len(foods) * len(names), len(names)))
        size = 2500
        numbers, product = np.empty((size, len(matrix))), np.empty((size, len(names)))
        for _ in range(count // size):
            rng.standard_normal(out=numbers)
            np.matmul(numbers, matrix, out=product)
        return count

    assert ours() == bare()
    mine, theirs = fastest([ours, bare], turns=4)
    print(f"\nA million draws, 8 foods × 12 measures: {mine:.2f} s, bare {theirs:.2f} s")
    assert judge("formulate / bare product with its random draws", mine / theirs, 2.0)


@pytest.mark.parametrize("foods", [5, 8, 12])
def test_sure_whole_measures_beside_plain_ones(foods: int) -> None:
    """The same shelf in cups, spoons and cans, with and without a chance to hold."""
    rng = np.random.default_rng(foods)
    plain = [food for food in food_table().values() if food.suitable]
    ratios, slowest = [], 0.0
    while len(ratios) < 40:
        pick = tuple(plain[k] for k in rng.choice(len(plain), foods, replace=False))
        shelf = Shelf(pick, price=rng.uniform(0.5, 12, foods) / 1000, currency="EUR")
        volume = float(rng.choice([946.35, 2000.0, 4000.0]))
        problem = build(shelf, band_set(SETS[len(ratios) % 2]), volume)
        sure = float(rng.choice([60, 75, 90, 95]))
        if optimise(problem) is None:
            continue
        steps = kitchen_steps(shelf.foods, Kitchen.US)
        spread = spread_of(shelf.composition, default_spreads())
        least, most = volume_range(volume)
        size = {"least_volume": least, "most_volume": most}
        bare, held = fastest(
            [
                lambda: design_kitchen(problem, steps, **size),  # noqa: B023
                lambda: design_kitchen_sure(problem, spread, sure, steps, **size),  # noqa: B023
            ],
            turns=3,
        )
        ratios.append(held / bare)
        slowest = max(slowest, held)
    print(f"\nSure in whole measures: {len(ratios)} shelves of {foods} foods")
    print(f"  90 of 100 below {np.quantile(ratios, 0.9):.1f}, worst ratio {max(ratios):.1f}")
    held_ = [
        judge("sure / plain, median", median(ratios), 10.0),
        judge("the slowest, in seconds", slowest, 2.0),
    ]
    assert all(held_)


def test_how_sure_beside_the_same_draws_in_bare_numpy() -> None:
    """Draws multiplied, divided and cut at their quantiles, without a spread to follow."""
    pantry = sample_pantry()
    mix = design(pantry.shelf(), band_set("lamb-replacer"), VOLUME)
    assert isinstance(mix, Mix)
    used = int((mix.grams > 0).sum()) * 15
    rng = np.random.default_rng(0)
    draws, moves = rng.standard_normal((DRAWS, used)), rng.standard_normal((used, 14)) * 0.01

    def bare() -> object:
        totals = draws @ moves + 1.0
        return np.quantile(totals[:, 2:] / totals[:, :1], [0.025, 0.975], axis=0)

    normal, drawn, theirs = fastest(
        [lambda: confidence_of(mix, way=Way.NORMAL), lambda: confidence_of(mix), bare], turns=4
    )
    print(f"\nHow sure: bare {theirs * 1e3:.1f} ms, by draws {drawn * 1e3:.1f} ms, ratio "
          f"{drawn / theirs:.2f}")  # fmt: skip
    assert judge("as told (the normal way) / bare draws", normal / theirs, 1.5)
