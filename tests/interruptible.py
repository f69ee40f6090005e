"""Processes that a test interrupts."""

from __future__ import annotations

import signal
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager


@contextmanager
def taking_interruption() -> Iterator[None]:
    """Processes started within take Ctrl-C.

    A shell starts background jobs with interruption ignored, and children inherit that.
    """
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def interruptible(command: Sequence[str]) -> Iterator[subprocess.Popen[str]]:
    """Start a process that takes Ctrl-C, even where the tests themselves run in the background."""
    with taking_interruption():
        process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
    with process:
        try:
            yield process
        finally:
            process.kill()
