"""The program that listens: where, for whom, and that odd bytes do not stop it."""

import gc
import re
import signal
import socket
import sys
import urllib.request
from pathlib import Path
from shutil import rmtree

import pytest
from browser.driven import served
from click.testing import CliRunner
from interruptible import interruptible
from jinja2 import DictLoader, Environment

from formulate.cli.main import run
from formulate.page.compiled import compiled_templates

TABLE = Path("/proc/net/tcp")


def get(address: str) -> str:
    with urllib.request.urlopen(address, timeout=300) as reply:
        return reply.read().decode()


def test_a_fresh_install_shows_the_samples_mix_and_touches_nothing(tmp_path):
    with served(tmp_path) as (address, _):
        assert "7 1/2 cups" in get(address)
        assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not TABLE.exists(), reason="this system does not tell who listens where")
def test_it_listens_on_this_computer_alone(tmp_path):
    with served(tmp_path) as (address, _):
        port = int(re.search(r":(\d+)/", address)[1])
        rows = [line.split() for line in TABLE.read_text().splitlines()[1:]]
    listening, loopback = "0A", "0100007F"
    places = {row[1].split(":")[0] for row in rows
              if row[3] == listening and int(row[1].split(":")[1], 16) == port}  # fmt: skip
    assert places == {loopback}


def test_a_second_page_takes_another_port(tmp_path):
    with served(tmp_path) as (one, _), served(tmp_path) as (two, _):
        assert one != two
        assert "The mix" in get(one)
        assert "The mix" in get(two)


def test_a_port_that_is_taken_is_reported(tmp_path, capsys):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        status = run(["page", str(tmp_path), "--no-browser", "--port", str(port)])
    assert status == 2
    assert f"cannot listen on port {port}" in capsys.readouterr().err


@pytest.mark.parametrize(("name", "told"), [("nowhere", "no such folder"), ("a.toml", "a file")])
def test_a_path_that_is_not_a_folder_is_reported(tmp_path, capsys, name, told):
    (tmp_path / "a.toml").write_text("")
    assert run(["page", str(tmp_path / name), "--no-browser"]) == 2
    assert told in capsys.readouterr().err


def test_interrupting_ends_it(tmp_path):
    command = [sys.executable, "-m", "formulate", "page", str(tmp_path), "--no-browser"]
    with interruptible(command) as process:
        assert "Stop it with Ctrl-C" in process.stdout.readline() + process.stdout.readline()
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=300)
    assert process.returncode == 130
    assert "Traceback" not in errors


@pytest.mark.parametrize(
    "raw",
    [
        b"\x00\xff\xfe\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
        b"GET\r\n\r\n",
        b"POST /save HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: nonsense\r\n\r\n",
        b"POST /save HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999999999999999\r\n\r\n",
        b"GET /" + b"a" * 70_000 + b" HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 500 + b"\r\n",
        b"GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n\r\n",
        b"",
    ],
)
def test_odd_bytes_do_not_stop_it(listening, raw):
    host, port = listening
    with socket.create_connection((host, port), timeout=300) as connection:
        connection.sendall(raw)
        connection.shutdown(socket.SHUT_WR)
        answer = b""
        while part := connection.recv(65536):
            answer += part
    assert b"whole milk" not in answer
    assert not re.match(rb"HTTP/1.[01] (200|5)", answer.replace(b"505", b"4", 1))
    assert "The mix" in get(f"http://{host}:{port}/")


@pytest.fixture(scope="module")
def listening(tmp_path_factory):
    with served(tmp_path_factory.mktemp("odd")) as (address, _):
        yield "127.0.0.1", int(re.search(r":(\d+)/", address)[1])


def test_help_is_quick_and_says_where_it_listens():
    from formulate.cli.page import command

    text = CliRunner().invoke(command, ["--help"]).output
    assert "this computer only" in " ".join(text.split())


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """The user's cache folder, for this test alone."""
    folder = tmp_path / "cache"
    for name in ("XDG_CACHE_HOME", "HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(folder))
    return folder


def kept_in(folder):
    return {path.name: path.read_bytes() for path in folder.rglob("*.cache")}


def test_compiled_templates_are_kept_for_the_next_start_and_damage_does_no_harm(tmp_path, cache):
    farm = tmp_path / "farm"
    farm.mkdir()
    with served(farm) as (address, _):
        assert "The mix" in get(address)
    kept = kept_in(cache)
    assert len(kept) > 5
    for path in cache.rglob("*.cache"):
        path.write_bytes(path.read_bytes()[: len(kept[path.name]) // 2])
    with served(farm) as (address, _):
        assert "The mix" in get(address)
    assert kept_in(cache).keys() == kept.keys()
    assert list(farm.iterdir()) == []


def test_a_template_that_was_changed_is_compiled_again(cache):
    text = {"place": "here"}
    for words in ("here", "elsewhere"):
        text["place"] = words
        environment = Environment(
            loader=DictLoader(text), bytecode_cache=compiled_templates(), autoescape=True
        )
        assert environment.get_template("place").render() == words


def test_templates_are_compiled_each_time_where_nothing_can_be_kept(cache):
    cache.write_text("a file, where the folder should be")
    assert compiled_templates() is None
    cache.unlink()
    kept = compiled_templates()
    rmtree(cache)
    environment = Environment(
        loader=DictLoader({"place": "here"}), bytecode_cache=kept, autoescape=True
    )
    assert environment.get_template("place").render() == "here"


@pytest.mark.skipif(sys.platform == "win32", reason="a user's own folders are closed to others")
def test_templates_that_somebody_else_could_change_are_not_taken(cache):
    cache.mkdir()
    assert compiled_templates() is not None
    (folder,) = (cache / "formulate").iterdir()
    folder.chmod(0o777)
    assert compiled_templates() is None


def test_waste_is_looked_for_again_once_the_page_is_loaded(tmp_path):
    assert run(["page", str(tmp_path / "nowhere"), "--no-browser"]) == 2
    assert gc.isenabled()
