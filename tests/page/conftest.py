"""What all tests of the page share: time for the search, however busy the computer is."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session", autouse=True)
def time_for_the_mix() -> Iterator[None]:
    """The page waits two seconds for a mix; a test waits until it is found."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("formulate.page.aim.PATIENCE", 600.0)
        yield
