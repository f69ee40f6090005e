"""Listen on this computer and open the browser."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

from werkzeug.serving import WSGIRequestHandler, make_server

from formulate.base.errors import InputError
from formulate.page.app import create_app

__all__ = ["serve"]

HOST = "127.0.0.1"


class _Quiet(WSGIRequestHandler):
    """Says nothing of requests that went well, and keeps a connection for the next tick."""

    protocol_version = "HTTP/1.1"
    #: Seconds that an idle connection is kept.
    timeout = 60

    def log(self, type: str, message: str, *args: Any) -> None:
        """Say only what went wrong."""
        if type == "error":
            super().log(type, message, *args)

    def log_request(self, code: int | str = "-", size: int | str = "-") -> None:
        """Say nothing."""


def serve(
    folder: Path,
    port: int | None,
    *,
    usual_port: int,
    open_browser: bool,
    announce: Callable[[str], None],
) -> NoReturn:
    """Serve the page of a folder until the process is interrupted.

    Raises
    ------
    InputError
        If there is no such folder, or somebody listens at the port already.
    """
    if not folder.is_dir():
        remedy = "Name the folder that it is in." if folder.exists() else "Make it first."
        what = "this is a file, not a folder" if folder.exists() else "there is no such folder"
        raise InputError(what, remedy, str(folder))
    listening = _listen(port, usual_port)
    number = listening.getsockname()[1]
    app = create_app(folder, number)
    server = make_server(
        HOST, number, app, threaded=True, request_handler=_Quiet, fd=listening.fileno()
    )
    address = f"http://{HOST}:{number}/"
    announce(f"The page is at {address}\nStop it with Ctrl-C.")
    if open_browser:
        webbrowser.open(address)
    try:
        server.serve_forever()
    finally:
        server.server_close()
        listening.close()
    raise KeyboardInterrupt  # the server takes the interruption for a quiet end; it is told on


def _listen(port: int | None, usual: int) -> socket.socket:
    """Listen at the port that was asked for, else the usual one, else any."""
    wanted = (port,) if port is not None else (usual, 0)
    for number in wanted:
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((HOST, number))
        except OSError:
            listening.close()
            continue
        listening.listen(128)
        return listening
    raise InputError(
        f"port {port} cannot be listened at", "Leave --port out, and a free one is taken."
    )
