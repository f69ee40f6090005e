"""How quick the program is, as ratios to plain tools within the same run.

Run on request only::

    pytest tests/benchmarks -s

Every comparison alternates its contestants, so that a busy machine troubles all alike, and
prints the median of each and their ratio. The targets stand beside the ratios; a missed target
is told, not hidden, and fails the run.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import median

import highspy
import numpy as np
import pulp
import pytest
from second_opinion import pulp_solve

from formulate.blend.mix import optimise
from formulate.blend.problem import Shelf, build
from formulate.blend.solve import OPTIONS, LinearProgram
from formulate.foods.bands import Band, BandSet, Basis, Role, read
from formulate.foods.food import Food, Value
from formulate.foods.measures import COMPONENTS, MEASURES, ONLY_IN_KINDS
from formulate.foods.tables import band_set, food_table

VOLUME = 1000.0


def race(contestants: Mapping[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median seconds of each, in turns after one warming round."""
    times: dict[str, list[float]] = {name: [] for name in contestants}
    for turn in range(rounds + 1):
        for name, run in contestants.items():
            start = time.perf_counter()
            run()
            if turn:
                times[name].append(time.perf_counter() - start)
    return {name: median(spent) for name, spent in times.items()}


def tell(title: str, medians: Mapping[str, float]) -> None:
    print(f"\n{title}")
    for name, seconds in medians.items():
        print(f"  {name:<46}{seconds * 1e3:12.4f} ms")


def judge(words: str, ratio: float, most: float) -> None:
    print(f"  {words}: {ratio:.2f} (target at most {most:g})")
    assert ratio <= most, f"{words}: {ratio:.2f} is above {most:g}"


@dataclass
class Bare:
    """The same mix written straight to HiGHS by somebody who needs nothing else.

    The composition of the foods and the ends of the bands are at hand as arrays; each call
    builds the rows, hands them over by columns to a HiGHS object that is kept, solves, and reads
    the amounts.
    """

    shelf: Shelf
    bands: BandSet

    def __post_init__(self) -> None:
        composition, binding = self.shelf.composition, self.bands.binding
        self.numerators = np.array([composition.row(band.measure) for band in binding])
        self.denominators = np.array([composition.row(band.denominator) for band in binding])
        self.low = np.array([band.low / band.scale for band in binding])
        self.high = np.array([band.high / band.scale for band in binding])
        self.room = composition.row("volume")
        self.engine = highspy.Highs()
        for name, value in OPTIONS.items():
            self.engine.setOptionValue(name, value)
        self.ready = self.arrays()

    def arrays(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        low, high = np.isfinite(self.low), np.isfinite(self.high)
        limited = np.flatnonzero(self.shelf.largest_share < 1)
        shares = -self.shelf.largest_share[limited, None] * np.ones(len(self.room))
        shares[np.arange(limited.size), limited] += 1
        matrix = np.vstack(
            (
                self.numerators[low] - self.low[low, None] * self.denominators[low],
                self.numerators[high] - self.high[high, None] * self.denominators[high],
                shares,
                self.room,
            )
        )
        lower, upper = np.full(len(matrix), -np.inf), np.zeros(len(matrix))
        lower[: low.sum()], upper[: low.sum()] = 0.0, np.inf
        lower[-1] = upper[-1] = 1.0
        return matrix, lower, upper

    def __call__(self) -> float:
        return self.solve(*self.arrays())

    def only_solve(self) -> float:
        """With the rows built beforehand."""
        return self.solve(*self.ready)

    def solve(self, matrix: np.ndarray, lower: np.ndarray, upper: np.ndarray) -> float:
        m, n = matrix.shape
        self.engine.passModel(
            n,
            m,
            matrix.size,
            int(highspy.MatrixFormat.kColwise),
            int(highspy.ObjSense.kMinimize),
            0.0,
            self.shelf.price,
            np.zeros(n),
            np.full(n, np.inf),
            lower,
            upper,
            np.arange(n, dtype=np.int32) * m,
            np.tile(np.arange(m, dtype=np.int32), n),
            matrix.T.ravel(),
            np.zeros(n, dtype=np.int32),
        )
        self.engine.run()
        assert self.engine.getModelStatus() == highspy.HighsModelStatus.kOptimal
        amounts = np.array(self.engine.getSolution().col_value)
        return float(self.shelf.price @ amounts)


def with_pulp(bare: Bare) -> float:
    """The same arrays modelled in PuLP and solved by the CBC it brings."""
    matrix, lower, upper = bare.ready
    n = matrix.shape[1]
    program = LinearProgram(bare.shelf.price, matrix, lower, upper, np.zeros(n), np.full(n, np.inf))
    status, value, _ = pulp_solve(program, None, program.cost)
    assert status == pulp.LpStatusOptimal
    return value


# Common foods of a shop, and invented prices [money per g].
SHELF = {
    "whole-milk": 0.0010, "skim-milk": 0.0009, "reduced-fat-milk": 0.0010,
    "evaporated-milk": 0.0040, "heavy-cream": 0.0060, "half-and-half": 0.0040,
    "nonfat-dry-milk": 0.0120, "dry-whole-milk": 0.0130, "nonfat-greek-yogurt": 0.0070,
    "lowfat-buttermilk": 0.0015, "unsalted-butter": 0.0090, "water": 0.00001,
}  # fmt: skip


def small_mix() -> Bare:
    """12 foods, 14 bands: the practical lamb's milk with seven demands more."""
    foods = food_table()
    shelf = Shelf(tuple(foods[name] for name in SHELF), price=np.array(list(SHELF.values())))
    more = (
        Band("calcium", Basis.RATIO, "1", low=1.0, high=2.0, over="phosphorus"),
        Band("ash", Basis.DRY_MATTER, "g/100 g", high=8),
        Band("potassium", Basis.AS_FED, "mg/100 g", high=300),
        Band("magnesium", Basis.AS_FED, "mg/100 g", low=8),
        Band("iron", Basis.DRY_MATTER, "mg/kg", high=50),
        Band("zinc", Basis.DRY_MATTER, "mg/kg", high=750),
        Band("metabolisable-energy", Basis.PER_LITRE, "MJ/L", low=3.5, high=6),
    )
    bands = BandSet("small", "", "lamb", (*band_set("lamb-replacer").binding, *more))
    assert (len(shelf.foods), len(bands.binding)) == (12, 14)
    return Bare(shelf, bands)


def large_mix(n_foods: int = 7800, n_bands: int = 40) -> Bare:
    """As many foods as a national table has, of invented composition; 40 two-sided bands.

    The bands lie around one random mix of twenty foods, so that there is an answer.
    """
    random = np.random.default_rng(1945)
    everywhere = [name for name in COMPONENTS if name not in ONLY_IN_KINDS]
    foods = []
    for j in range(n_foods):
        amounts = dict(zip(everywhere, random.lognormal(size=len(everywhere)), strict=True))
        solids = random.uniform(5, 98)
        parts = solids * random.dirichlet([2, 2, 3, 0.4])
        amounts |= dict(zip(("fat", "protein", "carbohydrate", "ash"), parts, strict=True))
        amounts |= {"water": 100 - solids, "lactose": parts[2]}
        values = {name: Value(float(amount), "invented") for name, amount in amounts.items()}
        foods.append(Food(f"food-{j}", f"food {j}", "dry-milk", values))
    shelf = Shelf(tuple(foods), price=random.uniform(0.001, 0.02, n_foods))
    mix = np.zeros(n_foods)
    mix[random.choice(n_foods, 20, replace=False)] = random.dirichlet(np.ones(20))
    bases = [Basis.AS_FED, Basis.DRY_MATTER, Basis.PER_LITRE, Basis.PER_MEGAJOULE]
    units = ["100 g", "kg", "L", "MJ"]
    bands = []
    for k in range(n_bands):
        name = [m for m in everywhere if m != "water"][k % (len(everywhere) - 1)]
        turn = (k + k // (len(everywhere) - 1)) % 4
        basis, unit = bases[turn], f"{MEASURES[name].unit}/{units[turn]}"
        value = read(Band(name, basis, unit, role=Role.SHOWN), shelf.composition, mix).value
        assert value is not None
        bands.append(Band(name, basis, unit, low=0.93 * value, high=1.07 * value))
    return Bare(shelf, BandSet("large", "", "lamb", tuple(bands)))


def ours(bare: Bare) -> float:
    """What the program does: build, solve, and certify the optimum."""
    found = optimise(build(bare.shelf, bare.bands, VOLUME))
    assert found is not None
    return found.objective


OURS, BARE, READY, PULP = (
    "formulate: build, solve, certify",
    "bare highspy: build, solve",
    "bare highspy: solve ready-made rows",
    "PuLP with CBC: model, solve",
)


def test_a_small_mix() -> None:
    bare = small_mix()
    assert ours(bare) == pytest.approx(bare(), rel=1e-9)
    assert ours(bare) == pytest.approx(with_pulp(bare), rel=1e-6)
    medians = race(
        {OURS: lambda: ours(bare), BARE: bare, READY: bare.only_solve}, rounds=2000
    ) | race({PULP: lambda: with_pulp(bare)}, rounds=30)
    tell(
        f"One mix, 12 foods × 14 bands, {len(bare.ready[0])} rows; HiGHS options {OPTIONS}", medians
    )
    print(f"  formulate / ready-made rows: {medians[OURS] / medians[READY]:.2f}")
    judge("formulate / bare highspy", medians[OURS] / medians[BARE], 1.5)
    judge("formulate / PuLP with CBC", medians[OURS] / medians[PULP], 0.2)


def test_a_large_mix() -> None:
    bare = large_mix()
    assert ours(bare) == pytest.approx(bare(), rel=1e-8)
    medians = race({OURS: lambda: ours(bare), BARE: bare, READY: bare.only_solve}, rounds=15)
    shape = " × ".join(map(str, bare.ready[0].shape[::-1]))
    tell(f"One mix, 7,800 foods × 40 bands, {shape}; HiGHS options {OPTIONS}", medians)
    print(f"  formulate / ready-made rows: {medians[OURS] / medians[READY]:.2f}")
    judge("formulate / bare highspy", medians[OURS] / medians[BARE], 1.3)


@pytest.mark.parametrize(
    ("arguments", "reference", "most"),
    [(["mix"], "import numpy, highspy", 5.0), (["--help"], "import click", 3.0)],
    ids=["mix", "help"],
)
def test_a_whole_process(arguments: list[str], reference: str, most: float) -> None:
    def command() -> None:
        code = "from formulate.cli.main import main; main()"
        done = subprocess.run(
            [sys.executable, "-c", code, *arguments], capture_output=True, check=False
        )
        assert done.returncode in (0, 1), done.stderr.decode()

    def importing() -> None:
        subprocess.run([sys.executable, "-c", reference], capture_output=True, check=True)

    name = " ".join(["formulate", *arguments])
    medians = race({name: command, f"python -c '{reference}'": importing}, rounds=15)
    tell(f"Whole process: {name}", medians)
    fast, slow = medians.values()
    judge(f"{name} / {reference}", fast / slow, most)
