"""One clock for all stages of a search."""

from __future__ import annotations

import time
from collections.abc import Callable

__all__ = ["Clock"]


class Clock:
    """The time that a search may take, counted from the moment the clock is made.

    Every stage is handed the same clock and asks it what is left, so that together they keep to
    the time that a person gave.

    Parameters
    ----------
    seconds : float
    now : callable, optional
        Returns the time [s]; by default the computer's monotonic clock.
    """

    __slots__ = ("_end", "_now", "seconds")

    def __init__(self, seconds: float, now: Callable[[], float] = time.monotonic) -> None:
        self.seconds = seconds
        self._now = now
        self._end = now() + seconds

    def left(self) -> float:
        """Time left [s]; 0 when it is over."""
        return max(self._end - self._now(), 0.0)

    def over(self) -> bool:
        """Whether the time is up."""
        return self.left() <= 0.0

    def part(self, share: float) -> Clock:
        """A clock for one stage: this share of what is left now."""
        return Clock(share * self.left(), self._now)
