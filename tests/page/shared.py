"""A shared page without a network: this computer, telephones and strangers as test clients."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from interruptible import taking_interruption

from formulate.page.app import create_app
from formulate.page.sharing.share import Share

PORT, TOKEN = 8377, "token-of-the-tests"
HOME, NETWORK = f"127.0.0.1:{PORT}", f"192.168.1.20:{PORT}"


class Caller:
    """A browser somewhere.

    Parameters
    ----------
    app : Flask
    came_to : str
        Address and port where its requests come in.
    at : str
        Its own address.
    """

    def __init__(self, app: Flask, came_to: str, at: str) -> None:
        self.client: FlaskClient = app.test_client()
        self.came_to, self.at = came_to, at

    def ask(self, path: str, method: str = "GET", **more: Any) -> Any:
        headers = {"Host": self.came_to} | more.pop("headers", {})
        # A client that keeps cookies takes away the header that a test gives it.
        given = "Cookie" in headers
        client = self.client.application.test_client(use_cookies=False) if given else self.client
        return client.open(
            path,
            method=method,
            base_url=f"http://{self.came_to}",
            headers=headers,
            environ_overrides={"REMOTE_ADDR": self.at},
            buffered=True,
            **more,
        )

    def send(self, path: str, **fields: str) -> Any:
        return self.ask(path, "POST", data={"token": TOKEN} | fields)


class SharedPage:
    """The page of a folder, shared at 192.168.1.20."""

    def __init__(self, folder: Path, file: Path) -> None:
        self.ours = True
        address = ip_address("192.168.1.20")
        self.share = Share(address, folder, file, lambda _: self.ours)
        self.app = create_app(folder, PORT, TOKEN, self.share)

    def stranger(self, at: str = "192.168.1.66") -> Caller:
        """Somebody on the network."""
        return Caller(self.app, NETWORK, at)

    def other_user(self) -> Caller:
        """Another user of this computer."""
        return Caller(self.app, HOME, "127.0.0.1")

    def computer(self) -> Caller:
        """The computer's own browser, let in."""
        caller = self.other_user()
        assert caller.ask(self.share.home_path).status_code == 200
        return caller

    def telephone(self, owner: str, at: str = "192.168.1.31") -> Caller:
        """A paired telephone."""
        caller = self.stranger(at)
        reply = caller.ask(f"/pair/{self.share.codes.new()}", "POST", data={"owner": owner})
        assert reply.status_code == 303
        return caller


def every_path(app: Flask) -> list[tuple[str, str]]:
    """Each route and static file, and some that are not there, with a method of each."""
    found = {("/nowhere", "GET"), ("/nowhere", "POST"), ("/static/nowhere.css", "GET")}
    assert app.static_folder is not None
    for path in Path(app.static_folder).iterdir():
        found |= {(f"/static/{path.name}", method) for method in ("GET", "HEAD")}
    for rule in app.url_map.iter_rules():
        path = re.sub(r"<[^>]*>", "x", rule.rule)
        found |= {(path, method) for method in rule.methods or ()}
    return sorted(found)


@dataclass
class Sharing:
    """A process that shares the page of a folder.

    Parameters
    ----------
    process : Popen
    home : str
        Address of the computer's own browser, secret and all.
    network : str
        Address of telephones, ending in a slash.
    code : str
        Address that pairs a telephone.
    """

    process: subprocess.Popen[str]
    home: str
    network: str
    code: str


#: Shares at an address that is not private, which the command refuses: tests have no other one.
_SHARING = """
import sys
from ipaddress import ip_address
from pathlib import Path
from formulate.page.serve import serve
from formulate.page.sharing.share import Share
folder = Path(sys.argv[1])
serve(folder, None, usual_port=int(sys.argv[3]), open_browser=False,
      announce=lambda text: print(text, flush=True),
      share=lambda: Share(ip_address(sys.argv[2]), folder))
"""


def free_port() -> int:
    """A port that a page finds free again when it is started again.

    The system gives connections and other servers ports from 32768 on; these are below.
    """
    for port in range(10_000 + os.getpid() % 20_000, 32_768):
        with ExitStack() as tried, suppress(OSError):
            for address in ("127.0.0.1", "127.0.0.2"):
                listening = tried.enter_context(socket.socket())
                listening.bind((address, port))
            return port
    raise AssertionError("no port is free")


@contextmanager
def sharing(
    folder: Path, state: Path, command: Sequence[str] = (), port: int = 0
) -> Iterator[Sharing]:
    """Share the page of a folder, at this computer's second loopback address.

    Parameters
    ----------
    folder, state : Path
        Of the page, and where paired telephones are kept.
    command : sequence of str
        Another way to start it.
    port : int
        Where to listen; by default where it is free.
    """
    usual = [sys.executable, "-c", _SHARING, str(folder), "127.0.0.2", str(port or free_port())]
    environment = os.environ | {"XDG_STATE_HOME": str(state), "PYTHONUNBUFFERED": "1"}
    environment |= {"HOME": str(state), "LOCALAPPDATA": str(state)}
    with taking_interruption():
        process = subprocess.Popen(
            [*command] or usual, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env=environment,
        )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    try:
        lines = []
        for line in process.stdout:
            lines.append(line)
            if "Stop sharing" in line:
                break
        told = "".join(lines)
        assert "Stop sharing" in told, told + process.stderr.read()
        (home,) = re.findall(r"http://127\.0\.0\.1:\d+/here/\S+", told)
        (code,) = re.findall(r"http://\S+/pair/\S+", told)
        yield Sharing(process, home, code.partition("pair/")[0], code)
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
        process.stderr.close()
