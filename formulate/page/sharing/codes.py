"""The one-time code that pairs a telephone: one open at a time, kept only in memory."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from enum import StrEnum

__all__ = ["MOST_TRIES", "VALID_FOR", "CodeState", "PairingCodes"]

#: How long a code can be used [s], and how many wrong tries it outlasts.
VALID_FOR, MOST_TRIES = 300.0, 5
#: Random bytes of a code: 160 bits.
CODE_BYTES = 20
#: How many past codes are still recognised rather than counted as guesses.
REMEMBERED = 100


class CodeState(StrEnum):
    """What a code is worth."""

    OPEN = "open"
    GONE = "gone"  # it was one: used, too old, replaced, or closed after too many tries
    WRONG = "wrong"  # it never was one


class PairingCodes:
    """Codes to pair telephones with.

    A code is valid for five minutes and pairs one telephone. After five wrong tries the next try,
    right or wrong, closes the pairing until a new code is made.

    Parameters
    ----------
    now, wall : callable, optional
        Return the time [s]; by default the computer's monotonic clock, which cannot be set back but
        may rest while the computer sleeps, and the clock on the wall. The later of the two counts.
    """

    def __init__(
        self,
        now: Callable[[], float] = time.monotonic,
        wall: Callable[[], float] = time.time,
    ) -> None:
        self._now, self._wall = now, wall
        self._lock = threading.Lock()
        self._open: bytes | None = None
        self._made = self._made_by_the_wall = 0.0
        self._tries = 0
        self._closed = False
        self._past: deque[bytes] = deque(maxlen=REMEMBERED)

    def new(self) -> str:
        """Make a code; the one before it is gone."""
        code = secrets.token_urlsafe(CODE_BYTES)
        with self._lock:
            self._end()
            self._open, self._tries, self._closed = code.encode(), 0, False
            self._made, self._made_by_the_wall = self._now(), self._wall()
        return code

    @property
    def code(self) -> str:
        """The code that is open now; empty if there is none."""
        with self._lock:
            self._expire()
            return "" if self._open is None else self._open.decode()

    @property
    def left(self) -> float:
        """How long the open code can still be used [s]; 0 if there is none."""
        with self._lock:
            self._expire()
            return 0.0 if self._open is None else VALID_FOR - self._age()

    @property
    def closed(self) -> bool:
        """Whether too many wrong tries closed the pairing."""
        with self._lock:
            return self._closed

    @property
    def tries(self) -> int:
        """Wrong tries since the newest code was made."""
        with self._lock:
            return self._tries

    def look(self, code: str) -> CodeState:
        """What a code is worth; a wrong one counts as a try."""
        with self._lock:
            return self._state(code)

    def take(self, code: str) -> CodeState:
        """Use a code: an open one is used up; a wrong one counts as a try."""
        with self._lock:
            state = self._state(code)
            if state is CodeState.OPEN:
                self._end()
            return state

    def _state(self, code: str) -> CodeState:
        self._expire()
        given = code.encode("utf-8", "replace")
        right = self._open is not None and hmac.compare_digest(given, self._open)
        if self._open is not None and self._tries >= MOST_TRIES:
            self._end()
            self._closed = True
        if right and self._open is not None:
            return CodeState.OPEN
        if any(hmac.compare_digest(given, past) for past in self._past):
            return CodeState.GONE
        self._tries += 1
        return CodeState.WRONG

    def _expire(self) -> None:
        if self._open is not None and self._age() >= VALID_FOR:
            self._end()

    def _age(self) -> float:
        return max(self._now() - self._made, self._wall() - self._made_by_the_wall)

    def _end(self) -> None:
        if self._open is not None:
            self._past.append(self._open)
            self._open = None
