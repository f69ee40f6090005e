"""Listen on this computer, and on one more address while the page is shared; open the browser."""

from __future__ import annotations

import errno
import socket
import sys
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.page.app import create_app
from formulate.page.compiled import compiled_templates
from formulate.page.connections import MOST_FROM_ONE, MOST_TOGETHER, PageServer
from formulate.page.warm import warm_up_after

if TYPE_CHECKING:
    from formulate.page.sharing.share import Share

__all__ = ["serve"]

HOST = "127.0.0.1"
#: Free ports tried where the usual one is taken: each must be free at every address.
TRIES = 20


def serve(
    folder: Path,
    port: int | None,
    *,
    usual_port: int,
    open_browser: bool,
    announce: Callable[[str], None],
    share: Callable[[], Share] | None = None,
) -> NoReturn:
    """Serve the page of a folder until the process is interrupted.

    Parameters
    ----------
    folder : Path
    port : int or None
        Where to listen; None for the usual port, or any where that one is taken.
    usual_port : int
    open_browser : bool
    announce : callable
        Called with each line for the person at the terminal.
    share : callable, optional
        Chooses the one address more to listen at, and who is let in there; by default the page
        is for this computer only.

    Raises
    ------
    InputError
        If there is no such folder, somebody listens at the port already, or there is no address
        to share at.
    """
    if not folder.is_dir():
        remedy = say("files.name-its-folder") if folder.exists() else say("files.make-it")
        what = say("files.not-a-folder") if folder.exists() else say("files.no-such-folder")
        raise InputError(what, remedy, str(folder))
    shared = None if share is None else share()
    hosts = [HOST] if shared is None else [HOST, f"{shared.address}"]
    listening = _listen(hosts, port, usual_port)
    number = listening[0].getsockname()[1]
    app = create_app(folder, number, share=shared)
    app.jinja_env.bytecode_cache = compiled_templates()
    warm_up_after(app)
    servers = [
        PageServer(one, app, MOST_TOGETHER if host == HOST else MOST_FROM_ONE)
        for host, one in zip(hosts, listening, strict=True)
    ]
    address = f"http://{HOST}:{number}/"
    leading_on: Path | None = None
    if shared is None:
        announce(say("page.is-at", address=address))
    else:
        from formulate.page.sharing.told import opened_privately, sharing_told

        address = f"http://{HOST}:{number}{shared.home_path}"
        announce(sharing_told(shared, address))
        if open_browser:
            leading_on = opened_privately(address)
    if open_browser and shared is None:
        import webbrowser  # it loads subprocesses

        webbrowser.open(address)
    for server in servers[1:]:
        threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        servers[0].serve_forever()
    finally:
        for server, one in zip(servers, listening, strict=True):
            server.server_close()
            one.close()
        if leading_on is not None:
            leading_on.unlink(missing_ok=True)
    raise KeyboardInterrupt  # the server treats an interruption as a quiet end; pass it on


def _listen(hosts: Sequence[str], port: int | None, usual: int) -> list[socket.socket]:
    """Listen at the port that was asked for, else the usual one, else any: at each address."""
    wanted = (port,) if port is not None else (usual, *[0] * TRIES)
    why: OSError | None = None
    for number in wanted:
        listening: list[socket.socket] = []
        try:
            for host in hosts:
                taken = listening[0].getsockname()[1] if listening else number
                listening.append(_listening_at(host, taken))
        except OSError as error:
            why = error
            for one in listening:
                one.close()
            continue
        return listening
    if port is None or (why is not None and why.errno == errno.EADDRNOTAVAIL):
        raise InputError(say("share.not-listening", address=hosts[-1]))
    if why is not None and why.errno in (errno.EACCES, errno.EPERM):
        raise InputError(say("page.port-reserved", port=str(port)), say("page.port-taken-remedy"))
    raise InputError(say("page.port-taken", port=str(port)), say("page.port-taken-remedy"))


def _listening_at(host: str, port: int) -> socket.socket:
    """Make a socket that listens at one address, and at no other.

    Raises
    ------
    OSError
        If somebody listens there already, or this computer does not have the address.
    """
    newer = ":" in host
    listening = socket.socket(socket.AF_INET6 if newer else socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform == "win32":  # "reuse" there lets another program take the port over
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if newer:
            listening.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        listening.bind((host, port))
        listening.listen(128)
    except OSError:
        listening.close()
        raise
    return listening
