"""Load what the next places need while somebody reads the first."""

from __future__ import annotations

from importlib import import_module
from threading import Event, Timer

from flask import Flask, Response

__all__ = ["warm_up_after"]

#: So long nobody asks for another place [s]; what the first page itself asks for is not held up.
READING = 0.3
#: What the other places ask, with all that it needs.
LATER = (
    "formulate.answers.today",
    "formulate.answers.record",
    "formulate.report.barn_told",
    "formulate.report.day_told",
    "formulate.report.record_text",
    "formulate.answers.check",
    "formulate.report.checked",
    "formulate.answers.shop",
    "formulate.report.shopping_text",
    "formulate.answers.flock_edit",
    "tomlkit",
)


def warm_up_after(app: Flask) -> None:
    """After an application's first answer load the rest in a thread, once."""
    begun = Event()

    @app.after_request
    def first(response: Response) -> Response:
        if not begun.is_set() and response.mimetype == "text/html":
            begun.set()
            loading = Timer(READING, _load)
            loading.daemon = True
            response.call_on_close(loading.start)
        return response


def _load() -> None:
    for name in LATER:
        import_module(name)
