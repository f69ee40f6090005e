"""What every test shares.

Helpers that are imported by name lie beside this file (`pythonpath` in pyproject.toml)::

    from strategies import shelves, programs      # hypothesis strategies
    from second_opinion import by_pulp, by_scipy  # the same linear program, solved by others
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# The suite gives the same results on every run: examples are drawn from a fixed seed. Another
# walk through the examples, longer and random: HYPOTHESIS_PROFILE=search pytest ...
settings.register_profile(
    "steady",
    derandomize=True,
    deadline=None,
    max_examples=40,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "search", parent=settings.get_profile("steady"), derandomize=False, max_examples=1000
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
