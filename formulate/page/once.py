"""Remember each form by its token, so that a form sent twice is done once."""

from __future__ import annotations

import re
import secrets
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock

__all__ = ["Asked", "Done", "OnceOnly"]

#: Forms that are remembered.
REMEMBERED = 500
#: A form's token: it stands in addresses.
TOKEN = re.compile(r"[A-Za-z0-9._~-]{1,64}")


@dataclass(frozen=True, slots=True)
class Done:
    """Something was written.

    Parameters
    ----------
    told : tuple of str
        What is said of it.
    undo : tuple of (str, str)
        Fields that take it back; empty if nothing can be taken back.
    once : str
        Token of the form.
    """

    told: tuple[str, ...]
    undo: tuple[tuple[str, str], ...] = ()
    once: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """Nothing was written: a person is asked first.

    Parameters
    ----------
    where : str
        Address to send the answer to.
    questions : tuple of str
    fields : tuple of (str, str)
        What was sent, to be sent again.
    who : tuple of str
        Names to choose the feeder from.
    asks_who : bool
        Whether it is only asked who fed.
    """

    where: str
    questions: tuple[str, ...]
    fields: tuple[tuple[str, str], ...]
    who: tuple[str, ...] = ()
    asks_who: bool = False


class OnceOnly:
    """Forms that were done, each once, however often it is sent."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._done: OrderedDict[str, Done] = OrderedDict()

    @staticmethod
    def token() -> str:
        """A token for a new form."""
        return secrets.token_urlsafe(9)

    def do(self, once: str, act: Callable[[], Done | Asked]) -> Done | Asked:
        """Do it, unless a form with this token was done before; then repeat the earlier reply."""
        key = once if TOKEN.fullmatch(once) else self.token()
        with self._lock:
            if key in self._done:
                return self._done[key]
            found = act()
            if isinstance(found, Done):
                found = replace(found, once=key)
                self._done[key] = found
                while len(self._done) > REMEMBERED:
                    self._done.popitem(last=False)
        return found

    def said(self, once: str) -> Done | None:
        """What was done with a form; None if it is not known, or not any more."""
        with self._lock:
            return self._done.get(once)
