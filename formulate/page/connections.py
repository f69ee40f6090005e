"""Take connections from anybody on the network: only so many at once, and quietly.

A stranger without a cookie can still connect. Nonsense that strangers send is not reported at the
terminal, and they cannot use up the computer's threads and memory. The computer's own browser has a
server to itself, so nobody on the network can take its places.
"""

from __future__ import annotations

import io
import socket
import sys
import threading
from collections import Counter
from typing import TYPE_CHECKING, Any

from werkzeug.serving import ThreadedWSGIServer, WSGIRequestHandler

from formulate.base.messages import say

if TYPE_CHECKING:
    from wsgiref.types import WSGIApplication, WSGIEnvironment

__all__ = ["MOST_FROM_ONE", "MOST_TOGETHER", "PageServer"]

#: Connections at once, from one address on the network and from all. A browser opens six.
MOST_FROM_ONE, MOST_TOGETHER = 32, 128
#: Seconds without a byte after which a connection is closed.
SILENCE = 30
#: Bytes of a refused request that are read at once, to be thrown away. A read of more than
#: LARGEST_READ has no other purpose.
PIECE, LARGEST_READ = 65_536, 1_000_000


class _InPieces(io.BufferedReader):
    """What a client sends. werkzeug discards ten megabytes of it at once; this gives it less."""

    def read(self, size: int | None = -1, /) -> bytes:
        """Read all that was asked for, unless that is more than any request may hold."""
        if size is None or size < 0 or size > LARGEST_READ:
            return self.read1(PIECE)
        return super().read(size)


class _Quiet(WSGIRequestHandler):
    """Says nothing of requests, whether they went well or were nonsense."""

    protocol_version = "HTTP/1.1"
    timeout = SILENCE
    rfile: io.BufferedIOBase

    def setup(self) -> None:
        """Read in pieces."""
        super().setup()
        assert isinstance(self.rfile, io.BufferedReader)
        self.rfile = _InPieces(self.rfile.detach())

    def make_environ(self) -> WSGIEnvironment:
        """Describe the request; an address that cannot be parsed leads nowhere."""
        try:
            return super().make_environ()
        except ValueError:  # as of http://[::1/
            self.path = "/%00"
            return super().make_environ()

    def version_string(self) -> str:
        """The Server header: strangers on the network need not know more."""
        return "formulate"

    def log_request(self, code: int | str = "-", size: int | str = "-") -> None:
        """Say nothing."""

    def log_error(self, format: str, *args: Any) -> None:
        """Say nothing: these are faults of what was sent. The application reports its own."""


class PageServer(ThreadedWSGIServer):
    """Serve an application at a socket that listens already.

    Parameters
    ----------
    listening : socket
    app : WSGI application
    from_one : int
        Connections at once from one address.
    """

    daemon_threads = True

    def __init__(
        self, listening: socket.socket, app: WSGIApplication, from_one: int = MOST_FROM_ONE
    ) -> None:
        host, port = listening.getsockname()[:2]
        self._from_one = from_one
        self._lock = threading.Lock()
        self._open: Counter[str] = Counter()
        self._from: dict[int, str] = {}
        super().__init__(host, port, app, handler=_Quiet, fd=listening.fileno())

    def verify_request(self, request: Any, client_address: Any) -> bool:
        """Whether there is a place for one more connection."""
        address = str(client_address[0])
        with self._lock:
            if self._open[address] >= self._from_one or self._open.total() >= MOST_TOGETHER:
                return False
            self._open[address] += 1
            self._from[id(request)] = address
            return True

    def shutdown_request(self, request: Any) -> None:
        """End a connection; its place is free."""
        with self._lock:
            address = self._from.pop(id(request), None)
            if address is not None:
                self._open[address] -= 1
                if not self._open[address]:
                    del self._open[address]
        super().shutdown_request(request)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Report what went wrong in one line, unless the connection merely broke."""
        fault = sys.exception()
        if not isinstance(fault, OSError):
            sys.stderr.write(say("page.fault", fault=repr(fault)) + "\n")
