"""How long a command takes as a whole process, as a ratio to loading numpy and the solver.

On request: ``pytest tests/benchmarks/test_process_speed.py -s``.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

import formulate

ROOT = Path(formulate.__file__).parent.parent
ROUNDS = 15
#: What every mix needs, whatever we do.
LEAST = ["-c", "import numpy, highspy"]


@pytest.mark.parametrize(
    "arguments", [["mix"], ["mix", "whole-milk", "evaporated-milk"]], ids=["sample", "foods"]
)
def test_a_mix_takes_less_than_three_times_loading_the_solver(arguments, tmp_path):
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    environment |= {"PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(tmp_path / "compiled")}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # as an installed package is: compiled
    environment.pop("OPENBLAS_NUM_THREADS", None)

    def taken(*command: str) -> float:
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, *command],
            env=environment,
            cwd=tmp_path,
            stdout=subprocess.DEVNULL,
            check=True,
        )
        return time.perf_counter() - start

    mix = ["-m", "formulate", *arguments]
    taken(*LEAST), taken(*mix)  # files into the cache
    ratios = [taken(*mix) / taken(*LEAST) for _ in range(ROUNDS)]
    print(f"\nformulate {' '.join(arguments)}: {statistics.median(ratios):.2f} × numpy and highspy")
    assert statistics.median(ratios) <= 3
