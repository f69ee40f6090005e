"""Published linear programs, solved by the engine that designs mixes.

Values are compared; amounts only where the optimum is the only one. Dual values are *recomputed*
(none of these sources prints them): the engine, scipy and PuLP with CBC agree on every value, and
each engine optimum carries its certificate.
"""

from __future__ import annotations

import csv
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from second_opinion import by_pulp, by_scipy

from formulate.blend.solve import TOLERANCE, LinearProgram, Optimal, solve

inf = math.inf
DATA = Path(__file__).parent / "data"


def least_cost(cost, rows) -> Optimal:
    """The cheapest x ≥ 0 that meets rows of (coefficients, low, high); others confirm it."""
    n = len(cost)
    program = LinearProgram(
        np.array(cost, dtype=float),
        np.array([row for row, _, _ in rows], dtype=float),
        np.array([low for _, low, _ in rows], dtype=float),
        np.array([high for _, _, high in rows], dtype=float),
        np.zeros(n),
        np.full(n, inf),
    )
    found = solve(program)
    assert isinstance(found, Optimal)
    assert found.certificate.worst <= TOLERANCE
    for opinion in (by_scipy(program), by_pulp(program)):
        assert opinion.says == "optimal"
        assert opinion.value == pytest.approx(found.objective, rel=1e-6)
    return found


def is_the_only_optimum(found: Optimal) -> bool:
    """Whether every way out of the corner costs: no reduced cost or dual outside is nothing."""
    return bool(
        (np.abs(found.reduced_cost[~found.basic_cols]) > 1e-9).all()
        and (np.abs(found.row_dual[~found.basic_rows]) > 1e-9).all()
    )


# Stigler's diet of 1945: 77 foods, nine nutrients, the least a year's food could cost in 1939.
# Least amounts a day of Stigler's Table 1.
STIGLER_MINIMA = {
    "kcal_k": 3, "protein_g": 70, "calcium_g": 0.8, "iron_mg": 12, "vitA_kIU": 5,
    "thiamin_mg": 1.8, "riboflavin_mg": 2.7, "niacin_mg": 18, "vitC_mg": 75,
}  # fmt: skip


@pytest.fixture(scope="module")
def stigler() -> tuple[list[str], Optimal]:
    lines = (DATA / "stigler_1945.csv").read_text(encoding="utf-8").splitlines()
    foods = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert len(foods) == 77
    rows = [
        ([float(food[name]) for food in foods], least, inf)
        for name, least in STIGLER_MINIMA.items()
    ]
    return [food["food"] for food in foods], least_cost([1.0] * 77, rows)


def test_stigler_s_diet_costs_what_the_simplex_method_found_in_1947(stigler):
    """$39.69 a year (Laderman's first large simplex run, 1947); Stigler's own guess was $39.93.

    History: "The diet problem" page of the Statistical Laboratory, Cambridge. In exact arithmetic
    a year of 365 days costs $39.66 and one of 365.25 days $39.69, so the printed figure seems to
    have counted leap years (our own observation).
    """
    _, found = stigler
    assert found.objective * 365 == pytest.approx(39.66173, abs=5e-6)
    assert found.objective * 365.25 == pytest.approx(39.68890, abs=5e-6)
    assert round(found.objective * 365.25, 2) == 39.69
    assert found.objective * 365.25 < 39.93


def test_stigler_s_foods(stigler):
    """Flour, liver, cabbage, spinach and navy beans; dollars a day recomputed."""
    names, found = stigler
    assert is_the_only_optimum(found)
    bought = {name: x for name, x in zip(names, found.x, strict=True) if x > 1e-9}
    assert bought == pytest.approx(
        {
            "Wheat Flour (Enriched)": 0.029519062,
            "Liver (Beef)": 0.001892557,
            "Cabbage": 0.011214435,
            "Spinach": 0.005007660,
            "Navy Beans, Dried": 0.061028564,
        },
        abs=5e-9,
    )


def test_stigler_s_duals(stigler):
    """Recomputed: what one more unit of each nutrient a day would cost."""
    _, found = stigler
    duals = dict(zip(STIGLER_MINIMA, found.row_dual, strict=True))
    expected = dict.fromkeys(STIGLER_MINIMA, 0.0) | {
        "kcal_k": 0.0087651473,
        "calcium_g": 0.0317377134,
        "vitA_kIU": 0.0004002327,
        "riboflavin_mg": 0.0163580327,
        "vitC_mg": 0.0001441175,
    }
    assert duals == pytest.approx(expected, abs=5e-11)
    by_duals = sum(duals[name] * least for name, least in STIGLER_MINIMA.items())
    assert by_duals == pytest.approx(found.objective, rel=1e-9)


# Canned pet food, a teaching example. PuLP documentation, case study "A Blending Problem"
# (doc/source/CaseStudies/a_blending_problem.rst, commit 55936106): 100 g a can.
PET_FOOD = {  # $/g, protein, fat, fibre, salt [g/g]
    "chicken": (0.013, 0.100, 0.080, 0.001, 0.002),
    "beef": (0.008, 0.200, 0.100, 0.005, 0.005),
    "mutton": (0.010, 0.150, 0.110, 0.003, 0.007),
    "rice": (0.002, 0.000, 0.010, 0.100, 0.002),
    "wheat": (0.005, 0.040, 0.010, 0.150, 0.008),
    "gel": (0.001, 0.000, 0.000, 0.000, 0.000),
}


def pet_food(*names: str) -> Optimal:
    cost, protein, fat, fibre, salt = zip(*(PET_FOOD[name] for name in names), strict=True)
    rows = [
        ([1.0] * len(names), 100, 100),
        (protein, 8, inf),
        (fat, 6, inf),
        (fibre, -inf, 2),
        (salt, -inf, 0.4),
    ]
    return least_cost(cost, rows)


def test_pet_food_of_six_ingredients():
    """Printed: 60 % beef, 40 % gel, 52 cents a can. Duals recomputed: fat 0.07, weight 0.001."""
    found = pet_food(*PET_FOOD)
    assert found.objective == pytest.approx(0.52)
    assert is_the_only_optimum(found)
    assert dict(zip(PET_FOOD, found.x, strict=True)) == pytest.approx(
        {"chicken": 0, "beef": 60, "mutton": 0, "rice": 0, "wheat": 0, "gel": 40}, abs=1e-7
    )
    assert found.row_dual == pytest.approx([0.001, 0, 0.07, 0, 0], abs=1e-10)


def test_pet_food_of_two_ingredients():
    """Printed: a third chicken, two thirds beef, 96 cents; exact 0.9667, so the text cut it off."""
    found = pet_food("chicken", "beef")
    assert found.x == pytest.approx([100 / 3, 200 / 3])
    assert found.objective == pytest.approx(float(Fraction(29, 30)))
    assert math.floor(found.objective * 100) == 96
    assert found.row_dual == pytest.approx([0.0163333333, 0, 0, 0, -1.6666666667], abs=1e-9)


def test_corn_limestone_and_soybean_meal():
    """Printed: 65, 3 and 32 %, $0.4916 a kg ("Optimization Algorithms", Manning, section 2.1.4).

    Duals recomputed: protein 145.17 and the calcium ceiling −19.62 cents a kg for one kg/kg more.
    """
    found = least_cost(
        [30.5, 10, 90],  # [cents/kg]
        [
            ([1, 1, 1], 1, 1),
            ([0.001, 0.38, 0.002], 0.008, 0.012),
            ([0.09, 0.0, 0.50], 0.22, inf),
            ([0.02, 0.0, 0.08], -inf, 0.05),
        ],
    )
    assert found.objective == pytest.approx(49.15629, abs=5e-6)
    assert round(found.objective / 100, 4) == 0.4916
    assert is_the_only_optimum(found)
    assert found.x == pytest.approx([0.648572, 0.028171, 0.323257], abs=5e-7)
    assert [round(share * 100) for share in found.x] == [65, 3, 32]
    assert found.row_dual[1:] == pytest.approx([-19.61667, 145.16980, 0.0], abs=5e-6)


def test_the_diet_of_the_textbook():
    """H. A. Taha, Operations Research, the diet model: 800 lb a day of corn and soybean meal.

    The printed optimum 470.6 lb, 329.4 lb, $437.64 is quoted from memory; the exact one is
    8000/17 and 5600/17 lb, 437.647 (printed cut off, not rounded). Duals recomputed.
    """
    found = least_cost(
        [0.3, 0.9],
        [
            ([1, 1], 800, inf),
            ([0.09 - 0.30, 0.60 - 0.30], 0, inf),  # protein at least 30 %
            ([0.02 - 0.05, 0.06 - 0.05], -inf, 0),  # fibre at most 5 %
        ],
    )
    assert found.x == pytest.approx([8000 / 17, 5600 / 17])
    assert found.objective == pytest.approx(7440 / 17)
    assert found.row_dual == pytest.approx([9.3 / 17, 20 / 17, 0], abs=1e-9)


def test_a_published_answer_that_is_wrong():
    """Soybean meal and oats by the sack: 168 lb protein, 27 lb fat and 14 lb ash at least.

    An answer on a homework page (qammunity, question 3084300) takes the corner 18/11 and 28/11
    sacks for the least cost, "$52". That corner meets the demands but costs 574/11 = $52.18;
    87/43 and 54/43 sacks meet them for 2205/43 = $51.28.
    """
    cost = [21, 7]
    rows = [([70, 21], 168, inf), ([9, 7], 27, inf), ([7, 1], 14, inf)]
    found = least_cost(cost, rows)
    assert found.objective == pytest.approx(float(Fraction(2205, 43)))
    assert is_the_only_optimum(found)
    assert found.x == pytest.approx([87 / 43, 54 / 43])
    assert found.row_dual == pytest.approx([12 / 43, 7 / 43, 0], abs=1e-9)

    def met(point: list[Fraction]) -> list[bool]:
        return [
            sum(Fraction(a) * x for a, x in zip(row, point, strict=True)) >= low
            for row, low, _ in rows
        ]

    printed, ours = [Fraction(18, 11), Fraction(28, 11)], [Fraction(87, 43), Fraction(54, 43)]
    assert all(met(printed))
    assert all(met(ours))
    dear, cheap = (
        sum(c * x for c, x in zip(cost, point, strict=True)) for point in (printed, ours)
    )
    assert math.floor(dear) == 52
    assert cheap < 52 < dear
