"""Odd requests to a shared page, by strangers and by telephones that are not quite right."""

import os
import sys
from importlib.resources import files
from random import Random
from urllib.parse import quote

import pytest
from page.shared import HOME, NETWORK, PORT, TOKEN, Caller, SharedPage, every_path

METHODS = ("GET", "GET", "POST", "POST", "POST", "HEAD", "OPTIONS", "PUT", "DELETE", "BREW")
ODD = (
    "", "x", "0", "\x00", "ё", "☃" * 50, "../../etc/passwd", "..%2f..%2fpantry.toml", "a" * 2100,
    "=;" * 40, "a\tb", "[1]", "{{ 7 * 7 }}", "<script>", "%", "%ff", "%2e%2e", "\\",
    "//evil.example", "telephones", "pantry.toml", "telephones.json", "nan", "1e999", "-1",
)  # fmt: skip
HOSTS = (NETWORK, NETWORK, NETWORK, HOME, "evil.example", "", f"192.168.1.20.evil.example:{PORT}",
         f"[::1]:{PORT}", "192.168.1.20", f"192.168.1.20:{PORT} ", "x" * 300)  # fmt: skip
HEADERS = (
    ("Origin", f"http://{NETWORK}"), ("Origin", "null"), ("Origin", "http://evil.example"),
    ("Sec-Fetch-Site", "cross-site"), ("Content-Type", "text/plain"), ("Content-Length", "-5"),
    ("Content-Type", "multipart/form-data; boundary=x"), ("Transfer-Encoding", "chunked"),
    ("X-Forwarded-For", "127.0.0.1"), ("X-Forwarded-Host", HOME), ("Forwarded", "for=127.0.0.1"),
    ("Range", "bytes=9-1"), ("If-None-Match", '"x"'), ("Authorization", "Basic Og=="),
    ("X-HTTP-Method-Override", "GET"), ("Upgrade", "websocket"),
)  # fmt: skip


class Opened:
    """Which files are opened while it watches; an audit hook can only be told to rest."""

    def __init__(self) -> None:
        self.on = False
        self.paths: list[str] = []
        sys.addaudithook(self._hook)

    def _hook(self, event: str, args: tuple) -> None:
        watched = self.on and event in ("open", "os.rename", "os.remove", "os.mkdir")
        if watched and isinstance(args[0], str | bytes | os.PathLike):
            self.paths.append(os.fsdecode(args[0]))


@pytest.fixture(scope="module")
def opened():
    return Opened()


@pytest.mark.parametrize("count", [400, pytest.param(10_000, marks=pytest.mark.long)])
def test_odd_requests_open_nothing_and_write_nothing(tmp_path, opened, count):
    folder = tmp_path / "kitchen"
    folder.mkdir()
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    page = SharedPage(folder, tmp_path / "telephones.json")
    ann, forgotten = page.telephone("Ann"), page.telephone("Bob")
    page.share.telephones.forget(page.share.telephones.all()[1].id)
    random = Random(count)
    keys = [c.value for caller in (ann, forgotten) for c in caller.client._cookies.values()]
    name = page.share.telephone_cookie
    routes = [path for path, _ in every_path(page.app)]
    code = page.share.codes.new()
    before = _everything(tmp_path)
    statuses = set()
    for number in range(count):
        # A guess now and then: with more, the sixth would close pairing.
        paths = [path for path in routes if not path.startswith("/pair/")]
        path = random.choice(paths) if random.random() < 0.6 else f"/{quote(random.choice(ODD))}"
        cookie = random.choice(
            ["", *ODD[:9], f"{name}={keys[1]}", f"{name}={keys[0][:-1]}", f"x={keys[0]}",
             f"computer-{PORT}={keys[0]}", f"{name}={keys[0]}x; {name}=", f"by={keys[0]}",
             *[f"{name}={keys[0]}"] * 5]
        )  # fmt: skip
        paired = cookie == f"{name}={keys[0]}"
        method = random.choice(METHODS)
        if paired and method in ("GET", "HEAD"):
            method = "POST"  # a paired telephone may read
        fields = {random.choice(["token", "owner", "name", "forget"]): random.choice(ODD)}
        headers = dict(random.sample(HEADERS, random.randrange(3)))
        headers |= {"Host": random.choice(HOSTS), "Cookie": cookie}
        if any("\n" in value or "\r" in value for value in headers.values()):
            continue
        caller = Caller(page.app, random.choice([NETWORK, NETWORK, HOME]), "192.168.1.31")
        opened.on, opened.paths = True, []
        try:
            reply = caller.ask(
                path, method, headers=headers, data=fields if random.random() < 0.8 else b"\xff\x00"
            )
        finally:
            opened.on = False
        statuses.add(reply.status_code)
        told = (number, path, method, headers, reply.status_code)
        assert "Set-Cookie" not in reply.headers, told
        if paired and method == "OPTIONS":
            continue
        assert 400 <= reply.status_code < 500, told
        read = [one for one in opened.paths if one.startswith(str(folder))]
        assert read == [], told
    assert _everything(tmp_path) == before
    assert {401, 403} <= statuses
    assert page.share.codes.code == code
    assert page.share.codes.tries == 0
    assert ann.ask("/").status_code == 200
    assert TOKEN in ann.ask("/").text


def _everything(folder) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
