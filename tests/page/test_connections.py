"""What strangers can do with a bare connection: nothing is told, nothing fails, little is taken."""

import io
import socket
import sys
import time
from contextlib import contextmanager
from importlib.resources import files
from ipaddress import ip_address
from threading import Thread

import pytest

from formulate.base.errors import InputError
from formulate.page import serve
from formulate.page.app import create_app
from formulate.page.connections import MOST_FROM_ONE, PIECE, PageServer, _InPieces
from formulate.page.sharing.share import Share

NETWORK = "127.0.0.2"
linux = pytest.mark.skipif(sys.platform != "linux", reason="needs a second loopback address")


@contextmanager
def running(server):
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()


def hello(environ, start_response):
    start_response("200 OK", [("Content-Length", "2")])
    return [b"hi"]


def answer(place, request, *, end=True):
    """Everything that comes back; b"" where the connection is closed without a word."""
    with socket.create_connection(place, 30) as connection:
        try:
            connection.sendall(request)
            if end:
                connection.shutdown(socket.SHUT_WR)
            return b"".join(iter(lambda: connection.recv(65536), b""))
        except ConnectionError:
            return b""


class Paired:
    """A shared page at a second address of this computer, with one paired telephone."""

    def __init__(self, folder, file) -> None:
        self.listening = serve._listening_at(NETWORK, 0)
        self.place = self.listening.getsockname()
        self.host = b"%s:%d" % (NETWORK.encode(), self.place[1])
        self.share = Share(ip_address(NETWORK), folder, file)
        app = create_app(folder, self.place[1], "token-of-the-tests", self.share)
        self.server = PageServer(self.listening, app)
        self.code = self.share.codes.new()
        _, key = self.share.telephones.pair("Ann", "127.0.0.1")
        self.cookie = f"{self.share.telephone_cookie}={key}".encode()

    def fill(self, request: bytes) -> bytes:
        lines = {b"{host}": b"Host: " + self.host, b"{key}": b"Cookie: " + self.cookie,
                 b"{form}": b"Content-Type: application/x-www-form-urlencoded",
                 b"{chunked}": b"Transfer-Encoding: chunked", b"{place}": self.host}  # fmt: skip
        for name, line in lines.items():
            request = request.replace(name, line)
        return request.replace(b"|", b"\r\n")


#: Requests as bytes ("|" ends a line), and the status of each answer; 0 is an answer without one.
RAW = [
    (b"GET / HTTP/1.1|{host}|{key}||", 200),
    (b"GET http://{place}/ HTTP/1.1|Host: evil.example|{key}||", 200),  # the first line counts
    # A foreign name in any of its disguises.
    (b"GET / HTTP/1.1|{host}|Host: evil.example|{key}||", 403),
    (b"GET / HTTP/1.1|Host: evil.example|{host}|{key}||", 403),
    (b"GET / HTTP/1.1|{host}|{host}|{key}||", 403),
    (b"GET http://evil.example/ HTTP/1.1|{host}|{key}||", 403),
    (b"GET http://a@{place}/ HTTP/1.1|{host}|{key}||", 403),
    (b"GET http://a:b/ HTTP/1.1|{host}|{key}||", 403),
    (b"GET / HTTP/1.1|Host : {place}|{key}||", 403),
    (b"GET / HTTP/1.1|Host: evil.example|HTTP_HOST: {place}|{key}||", 403),
    (b"GET / HTTP/1.1|Host: 127.0.0.2.:80|{key}||", 403),
    (b"GET / HTTP/1.1|Host: \xff\xfe|{key}||", 403),
    (b"GET / HTTP/1.0|{key}||", 403),
    (b"GET /|", 0),
    # Addresses that are none, and ways out of the folder.
    (b"GET http://[::1/ HTTP/1.1|{host}|{key}||", 404),
    (b"GET http://[::1/ HTTP/1.1|{host}||", 401),
    (b"GET //[/ HTTP/1.1|{host}|{key}||", 404),
    (b"GET /static/../../../pyproject.toml HTTP/1.1|{host}|{key}||", 404),
    (b"GET /static/..%2f..%2fapp.py HTTP/1.1|{host}|{key}||", 404),
    (b"GET /static/..%5c..%5capp.py HTTP/1.1|{host}|{key}||", 404),
    (b"GET /static/%00 HTTP/1.1|{host}|{key}||", 404),
    (b"GET /%0d%0aSet-Cookie:%20a=b HTTP/1.1|{host}|{key}||", 404),
    (b"GET //evil.example/.. HTTP/1.1|{host}|{key}||", 404),
    # Other methods.
    (b"TRACE / HTTP/1.1|{host}|{key}||", 415),
    (b"TRACE / HTTP/1.1|{host}||", 401),
    (b"CONNECT evil.example:443 HTTP/1.1|{host}|{key}||", 415),
    (b"OPTIONS * HTTP/1.1|{host}||", 401),
    (b"PUT / HTTP/1.1|{host}|{key}|Content-Length: 3||abc", 415),
    (b"__class__ / HTTP/1.1|{host}|{key}||", 415),
    # Bodies that are not what they say, of strangers and of a telephone.
    (b"POST /pair/x HTTP/1.1|{host}|{form}|{chunked}||ZZ|abc|0||", 400),
    (b"POST /pair/x HTTP/1.1|{host}|{form}|{chunked}||3|abcdef|0||", 400),
    (b"POST /pair/x HTTP/1.1|{host}|{form}|{chunked}||-5|abc|0||", 400),
    (b"POST /pair/x HTTP/1.1|{host}|{form}|{chunked}||ff|abc", 400),
    (b"POST /pair/x HTTP/1.1|{host}|{form}|Content-Length: 400||owner=x", 400),
    (b"POST /pair/x HTTP/1.1|{host}|{form}|Content-Length: 99999999999999999999||owner=x", 413),
    (b"POST /pair/x HTTP/1.1|{host}|{form}|Content-Length: 200001||" + b"x" * 200_001, 413),
    (b"POST /fed HTTP/1.1|{host}|{form}|{chunked}||ZZ|abc|0||", 401),
    (b"POST /fed HTTP/1.1|{host}|{key}|{form}|{chunked}||ZZ|abc|0||", 400),
    (b"POST /fed HTTP/1.1|{host}|{key}|{form}|Content-Length: 4|{chunked}||ZZ|0||", 400),
    (b"POST /fed HTTP/1.1|{host}|{key}|{form}|Content-Length: -4||token=x", 403),
    (b"POST /fed HTTP/1.1|{host}|{key}|{form}|Content-Length: abc||token=x", 403),
    (b"POST /fed HTTP/1.1|{host}|{key}|{form}|Content-Length: 4|Content-Length: 7||token=x", 403),
    # Too much.
    (b"GET /" + b"a" * 70_000 + b" HTTP/1.1|{host}||", 414),
    (b"GET / HTTP/1.1|{host}|X: " + b"a" * 70_000 + b"||", 431),
    (b"GET / HTTP/1.1|{host}|" + b"X: a|" * 200 + b"|", 431),
    (b"GET / HTTP/1.1|{host}|Cookie: " + b"a=b; " * 12_000 + b"||", 401),
    # No HTTP, or another one; and what would colour the terminal.
    (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(range(200)), 0),
    (b"\x1b]0;evil\x07\x1b[31m / HTTP/1.1||", 403),
    (b"GET \x1b[31m\x1b]0;evil\x07 HTTP/9.9||", 0),
    (b"PRI * HTTP/2.0||SM||", 0),
    (b"GET / HTTP/1.1.1|{host}||", 0),
    (b"||", 0),
    (b"", 0),
    # Only the first of several is answered.
    (b"GET / HTTP/1.1|{host}||" * 3, 401),
]  # fmt: skip


@linux
def test_raw_requests_fail_nothing_and_are_not_told_at_the_terminal(tmp_path, capfd):
    folder = tmp_path / "kitchen"
    folder.mkdir()
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    page = Paired(folder, tmp_path / "telephones.json")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with page.listening, running(page.server):
        for request, status in RAW:
            told = answer(page.place, page.fill(request))
            first = told.split(b"\r\n", 1)[0].split(b" ")
            found = int(first[1]) if first[0] == b"HTTP/1.1" else 0
            assert found == status, (request[:80], told[:200])
            assert told.count(b"HTTP/1.1 ") <= 1
            assert b"set-cookie" not in told.lower()
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert page.share.codes.code == page.code
    assert page.share.codes.tries == 0
    out, err = capfd.readouterr()
    assert (out, err) == ("", "")


def test_one_address_cannot_take_every_place():
    listening = serve._listening_at("127.0.0.1", 0)
    place = listening.getsockname()
    request = b"GET / HTTP/1.1\r\nHost: x\r\n\r\n"
    with listening, running(PageServer(listening, hello)):
        idle = [socket.create_connection(place, 30) for _ in range(MOST_FROM_ONE)]
        assert answer(place, request) == b""
        assert idle[0].sendall(request) is None  # those that have a place keep it
        assert idle[0].recv(65536).startswith(b"HTTP/1.1 200")
        for one in idle:
            one.close()
        until = time.monotonic() + 60
        while not answer(place, request).startswith(
            b"HTTP/1.1 200"
        ):  # until the server has seen it
            assert time.monotonic() < until


def test_this_computers_own_browser_may_open_more():
    listening = serve._listening_at("127.0.0.1", 0)
    place = listening.getsockname()
    with listening, running(PageServer(listening, hello, from_one=MOST_FROM_ONE + 1)):
        idle = [socket.create_connection(place, 30) for _ in range(MOST_FROM_ONE)]
        assert answer(place, b"GET / HTTP/1.1\r\n\r\n").startswith(b"HTTP/1.1 200")
        for one in idle:
            one.close()


def test_what_is_left_of_a_refused_request_is_thrown_away_in_pieces():
    sent = _InPieces(io.BytesIO(b"x" * 3_000_000), 8192)
    assert len(sent.read(200_000)) == 200_000
    pieces = list(iter(lambda: len(sent.read(10_000_000)), 0))
    assert max(pieces) <= PIECE
    assert sum(pieces) == 2_800_000


def _cannot(errno_name: str):
    import errno

    def listen(host: str, port: int) -> socket.socket:
        raise OSError(getattr(errno, errno_name), "-")

    return listen


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        ("EACCES", "the system lets only its administrator listen on port 80"),
        ("EADDRINUSE", "the page cannot listen on port 80"),
        ("EADDRNOTAVAIL", "nothing can listen at 192.168.1.20"),
    ],
)
def test_why_a_port_cannot_be_listened_at_is_said(monkeypatch, fault, told):
    monkeypatch.setattr(serve, "_listening_at", _cannot(fault))
    with pytest.raises(InputError) as error:
        serve._listen(["127.0.0.1", "192.168.1.20"], 80, 8377)
    assert told in str(error.value)
