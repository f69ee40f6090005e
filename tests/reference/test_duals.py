"""Duals of worked blending examples.

None of the sources prints a dual. The figures here were recomputed, once, with
`scipy.optimize.linprog` (HiGHS) from the published data, and are checked by CBC through PuLP as
well; what the sources do print (amounts and costs) stands beside each.
"""

from __future__ import annotations

import csv
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pulp
import pytest

from formulate.blend.solve import TOLERANCE, LinearProgram, Optimal, solve

INF = np.inf


@dataclass(frozen=True)
class Example:
    """A worked example: at least `at_least`, at most `at_most`, `total` exactly."""

    cost: list[float]
    at_least: list[tuple[list[float], float]]
    at_most: list[tuple[list[float], float]]
    total: float | None
    amounts: list[float]
    objective: float
    duals: list[float]
    reduced: list[float]

    def program(self) -> LinearProgram:
        n = len(self.cost)
        rows = [*self.at_least, *self.at_most]
        lower = [end for _, end in self.at_least] + [-INF] * len(self.at_most)
        upper = [INF] * len(self.at_least) + [end for _, end in self.at_most]
        if self.total is not None:
            rows = [*rows, ([1.0] * n, self.total)]
            lower, upper = [*lower, self.total], [*upper, self.total]
        return LinearProgram(
            np.array(self.cost),
            np.array([row for row, _ in rows]),
            np.array(lower),
            np.array(upper),
            np.zeros(n),
            np.full(n, INF),
        )


# PuLP documentation, doc/source/CaseStudies/a_blending_problem.rst, coin-or/pulp commit 55936106:
# "60 % beef, 40 % gel, 52 cents a can"; amounts in g of 100 g. Columns: chicken, beef, mutton,
# rice, wheat, gel.
PROTEIN = [0.1, 0.2, 0.15, 0.0, 0.04, 0.0]
FAT = [0.08, 0.1, 0.11, 0.01, 0.01, 0.0]
FIBRE = [0.001, 0.005, 0.003, 0.1, 0.15, 0.0]
SALT = [0.002, 0.005, 0.007, 0.002, 0.008, 0.0]
PET_FOOD = Example(
    cost=[0.013, 0.008, 0.01, 0.002, 0.005, 0.001],
    at_least=[(PROTEIN, 8.0), (FAT, 6.0)],
    at_most=[(FIBRE, 2.0), (SALT, 0.4)],
    total=100.0,
    amounts=[0, 60, 0, 0, 0, 40],
    objective=0.52,
    duals=[0.0, 0.07, 0.0, 0.0, 0.001],
    reduced=[0.0064, 0.0, 0.0013, 0.0003, 0.0033, 0.0],
)

# The same source, chicken and beef only: "33.33 % chicken, 66.67 % beef"; its text says 96
# cents, the exact cost is 0.966667.
PET_FOOD_OF_TWO = Example(
    cost=PET_FOOD.cost[:2],
    at_least=[(PROTEIN[:2], 8.0), (FAT[:2], 6.0)],
    at_most=[(FIBRE[:2], 2.0), (SALT[:2], 0.4)],
    total=100.0,
    amounts=[100 / 3, 200 / 3],
    objective=0.9666666666666668,
    duals=[0.0, 0.0, 0.0, -1.666666666666667, 0.016333333333333335],
    reduced=[0.0, 0.0],
)

# Optimization Algorithms (Manning), section 2.1.4; the same data at brainmass.com, question
# 209960: "65 % corn, 3 % limestone, 32 % soybean meal, $0.4916/kg". Cents per kg.
CALCIUM = [0.001, 0.38, 0.002]
FEED_MIX = Example(
    cost=[30.5, 10.0, 90.0],
    at_least=[(CALCIUM, 0.008), ([0.09, 0.0, 0.5], 0.22)],
    at_most=[(CALCIUM, 0.012), ([0.02, 0.0, 0.08], 0.05)],
    total=1.0,
    amounts=[0.6485721636223307, 0.028170825829688707, 0.32325701054798056],
    objective=49.15629019809623,
    duals=[0.0, 145.16979675842546, -19.61667095446364, 0.0, 17.45433496269618],
    reduced=[0.0, 0.0, 0.0],
)

# Taha, Operations Research: at least 800 lb a day, 30 % protein, no more than 5 % fibre. Optimum
# from memory: corn 470.59, soybean meal 329.41, $437.65. Its two demands are ratios, put as rows
# at zero, as the bands of this program are.
DIET = Example(
    cost=[0.3, 0.9],
    at_least=[([1.0, 1.0], 800.0), ([0.09 - 0.3, 0.6 - 0.3], 0.0)],
    at_most=[([0.02 - 0.05, 0.06 - 0.05], 0.0)],
    total=None,
    amounts=[470.5882352941177, 329.4117647058823],
    objective=437.6470588235294,
    duals=[0.5470588235294118, 1.1764705882352944, 0.0],
    reduced=[0.0, 0.0],
)

EXAMPLES = {
    "pet food": PET_FOOD,
    "pet food of two": PET_FOOD_OF_TWO,
    "feed mix": FEED_MIX,
    "diet": DIET,
}


def stigler() -> tuple[list[str], LinearProgram]:
    """Stigler's diet of 1945: 77 foods per dollar of 1939, nine nutrients a day.

    Data as in google/or-tools, ortools/linear_solver/samples/stigler_diet.py, commit
    189bd79aaecaeef171a234426657c8cea3339d36.
    """
    path = Path(__file__).with_name("stigler_1945.csv")
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter=";"))
    nutrients = [name for name in rows[0] if name not in ("food", "unit", "price_1939_cents")]
    matrix = np.array([[float(row[name]) for row in rows] for name in nutrients])
    least = np.array([3, 70, 0.8, 12, 5, 1.8, 2.7, 18, 75])
    n = len(rows)
    return [row["food"] for row in rows], LinearProgram(
        np.ones(n), matrix, least, np.full(9, INF), np.zeros(n), np.full(n, INF)
    )


@pytest.mark.parametrize("name", EXAMPLES)
def test_amounts_duals_and_reduced_costs(name: str):
    example = EXAMPLES[name]
    found = solve(example.program())
    assert isinstance(found, Optimal)
    assert found.certificate.worst <= TOLERANCE
    assert found.objective == pytest.approx(example.objective, rel=1e-9)
    assert found.x == pytest.approx(example.amounts, rel=1e-9, abs=1e-9)
    assert found.row_dual == pytest.approx(example.duals, rel=1e-9, abs=1e-12)
    assert found.reduced_cost == pytest.approx(example.reduced, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_duals_are_what_a_little_more_costs(name: str):
    """Each demand moved by a little, the cost moves by the dual times that."""
    example = EXAMPLES[name]
    program = example.program()
    base = solve(program)
    little = 1e-5
    for k, dual in enumerate(example.duals):
        for way in (1.0, -1.0):
            lower, upper = program.row_lower.copy(), program.row_upper.copy()
            lower[k] += way * little
            upper[k] += way * little
            moved = solve(
                LinearProgram(
                    program.cost,
                    program.matrix,
                    lower,
                    upper,
                    program.col_lower,
                    program.col_upper,
                )
            )
            change = (moved.objective - base.objective) / (way * little)
            assert change == pytest.approx(dual, rel=1e-6, abs=1e-7)


@pytest.mark.parametrize("name", EXAMPLES)
def test_cbc_has_the_same_duals(name: str):
    example = EXAMPLES[name]
    program = example.program()
    with warnings.catch_warnings():  # PuLP 3 announces names that PuLP 4 will change
        warnings.simplefilter("ignore", DeprecationWarning)
        model = pulp.LpProblem("duals", pulp.LpMinimize)
        x = [pulp.LpVariable(f"x{j}", 0) for j in range(len(example.cost))]
        model += pulp.lpSum(c * v for c, v in zip(example.cost, x, strict=True))
        for k, row in enumerate(program.matrix):
            total = pulp.lpSum(float(a) * v for a, v in zip(row, x, strict=True))
            low, high = float(program.row_lower[k]), float(program.row_upper[k])
            if low == high:
                model += total == low, f"r{k}"
            else:
                model += (total >= low if np.isfinite(low) else total <= high), f"r{k}"
        model.solve(pulp.PULP_CBC_CMD(msg=False))
        duals = [model.constraints[f"r{k}"].pi for k in range(len(example.duals))]
        reduced = [variable.dj for variable in x]
    # CBC prints seven figures.
    assert duals == pytest.approx(example.duals, rel=1e-5, abs=1e-7)
    assert reduced == pytest.approx(example.reduced, rel=1e-5, abs=1e-7)


def test_stiglers_diet():
    """Published: $39.93 a year by hand (Stigler), $39.69 by simplex (Laderman 1947).

    The optimum is 39.66 for 365 days and 39.69 for 365.25 (own observation); its five foods
    are the published ones. Duals recomputed, not printed.
    """
    foods, program = stigler()
    assert len(foods) == 77
    found = solve(program)
    assert isinstance(found, Optimal)
    assert found.objective == pytest.approx(0.10866227820675685, rel=1e-9)
    assert found.objective * 365.25 == pytest.approx(39.69, abs=0.005)
    bought = {food: x for food, x in zip(foods, found.x, strict=True) if x > 1e-9}
    assert bought == pytest.approx(
        {
            "Wheat Flour (Enriched)": 0.02951906167648827,
            "Liver (Beef)": 0.001892557290705264,
            "Cabbage": 0.01121443524614487,
            "Spinach": 0.0050076604667252025,
            "Navy Beans, Dried": 0.06102856352669324,
        },
        rel=1e-8,
    )
    assert found.row_dual == pytest.approx(
        [
            0.008765147298049494,
            0.0,
            0.03173771344563702,
            0.0,
            0.0004002327217253815,
            0.0,
            0.016358032699276687,
            0.0,
            0.00014411751545899708,
        ],
        rel=1e-8,
        abs=1e-14,
    )
