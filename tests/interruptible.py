"""Processes that a test interrupts."""

from __future__ import annotations

import signal
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager


@contextmanager
def interruptible(command: Sequence[str]) -> Iterator[subprocess.Popen[str]]:
    """Start a process that takes Ctrl-C, even where the tests themselves run in the background.

    A shell starts background jobs with interruption ignored, and children inherit that.
    """
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    with process:
        try:
            yield process
        finally:
            process.kill()
