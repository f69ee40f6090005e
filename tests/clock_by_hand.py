"""The computer's clock, stopped at a moment, in the modules that look at it."""

from __future__ import annotations

import importlib
from datetime import date, datetime
from typing import Any

__all__ = ["stop_clock"]


def stop_clock(monkeypatch: Any, moment: datetime, *modules: str) -> None:
    """Let modules of `formulate` take a moment for now, and its day for today.

    Parameters
    ----------
    monkeypatch : pytest.MonkeyPatch
    moment : datetime
    modules : str
        As "page.shelf"; each that has imported ``date`` or ``datetime`` by name.
    """

    class AnyOne(type):
        def __instancecheck__(cls, one: object) -> bool:
            return isinstance(one, cls.__bases__[0])

    class Day(date, metaclass=AnyOne):
        @classmethod
        def today(cls) -> date:
            return moment.date()

    class Moment(datetime, metaclass=AnyOne):
        @classmethod
        def now(cls, tz: Any = None) -> datetime:
            return moment if tz is None else moment.astimezone(tz)

    for name in modules:
        module = importlib.import_module(f"formulate.{name}")
        for usual, stopped in ((date, Day), (datetime, Moment)):
            if issubclass(getattr(module, usual.__name__, object), usual):
                monkeypatch.setattr(module, usual.__name__, stopped)
