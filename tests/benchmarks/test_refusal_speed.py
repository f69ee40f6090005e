"""How long a large wrong file takes to refuse, against half of it.

pytest tests/benchmarks/test_refusal_speed.py -s
"""

from __future__ import annotations

from time import process_time

import pytest

from formulate.cli.main import run


def seconds(path, foods: int) -> float:
    """To refuse a pantry of so many unknown foods, processor time [s]; the best of three."""
    path.write_text("".join(f"[foods.food{n}]\nprice = 1\n" for n in range(foods)))
    taken = []
    for _ in range(3):
        start = process_time()
        assert run(["mix", str(path)]) == 2
        taken.append(process_time() - start)
    return min(taken)


@pytest.mark.parametrize("foods", [30_000])
def test_twice_as_many_unknown_foods_take_hardly_more_than_twice_as_long(tmp_path, foods):
    path = tmp_path / "pantry.toml"
    half, whole = seconds(path, foods // 2), seconds(path, foods)
    print(f"{foods:,} unknown foods: {whole:.2f} s; half of them {half:.2f} s")
    assert whole <= 3 * half
