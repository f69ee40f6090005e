"""The program that shares: what it prints, where it listens, and how it ends."""

import http.client
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from page.shared import sharing

from formulate.base.errors import InputError
from formulate.cli.main import run
from formulate.page.serve import serve
from formulate.page.sharing.share import Share
from formulate.page.sharing.telephones import Telephones

LISTENING = "0A"
linux = pytest.mark.skipif(
    not Path("/proc/net/tcp").exists(), reason="this system does not tell who listens where"
)


def ask(address: str, method: str = "GET", cookie: str = "", **fields: str):
    """Status, cookie and text of an answer; redirects are not followed."""
    parts = urlsplit(address)
    connection = http.client.HTTPConnection(parts.hostname, parts.port, timeout=300)
    headers = {"Cookie": cookie} if cookie else {}
    if method == "POST":
        headers["Content-Type"] = "application/x-www-form-urlencoded"
    connection.request(method, parts.path, urlencode(fields) if fields else None, headers)
    reply = connection.getresponse()
    text = reply.read().decode()
    given = (reply.getheader("Set-Cookie") or "").partition(";")[0]
    connection.close()
    return reply.status, given, text


def listening(table: Path) -> set[str]:
    """Addresses and ports that are listened at, as the system writes them."""
    rows = [line.split() for line in table.read_text().splitlines()[1:]]
    return {row[1] for row in rows if row[3] == LISTENING}


@linux
def test_a_telephone_is_paired_over_the_network_and_let_in_after_a_restart(tmp_path):
    folder = tmp_path / "kitchen"
    folder.mkdir()
    with sharing(folder, tmp_path) as shared:
        assert ask(shared.network)[0] == 401
        assert ask(shared.network + "static/page.css")[0] == 401
        assert ask(shared.code)[0] == 200
        status, key, _ = ask(shared.code, "POST", owner="Ann")
        assert status == 303
        assert ask(shared.network, cookie=key)[0] == 200
        assert ask(shared.code)[0] == 410
        root = shared.home.partition("here/")[0]
        assert ask(root)[0] == ask(root, cookie=key)[0] == 401
        status, own, _ = ask(shared.home)
        assert status == 200
        assert ask(root, cookie=own)[0] == 200
        port = urlsplit(root).port
        table = listening(Path(f"/proc/{shared.process.pid}/net/tcp"))
        assert {one for one in table if one.endswith(f":{port:04X}")} == {
            f"0100007F:{port:04X}", f"0200007F:{port:04X}",
        }  # fmt: skip
        shared.process.send_signal(signal.SIGKILL)
        shared.process.wait(300)
    with sharing(folder, tmp_path, port=port) as shared:
        assert ask(shared.network, cookie=key)[0] == 200
        assert ask(shared.home.partition("here/")[0], cookie=own)[0] == 401
        Telephones(tmp_path / "formulate" / "telephones.json", folder).forget_all()
        assert ask(shared.network, cookie=key)[0] == 401


def _network_of_our_own(*addresses: str) -> list[str]:
    """A command that gives what follows it a network with these addresses and no other."""
    added = "; ".join(f"ip addr add {address}/24 dev lo" for address in addresses)
    return ["unshare", "-rn", "sh", "-c", f'ip link set lo up; {added}; exec "$@"', "sh"]


def _cannot() -> str:
    if not (shutil.which("unshare") and shutil.which("ip")):
        return "this system makes no networks of one's own"
    command = [*_network_of_our_own("192.168.77.1"), "true"]
    tried = subprocess.run(command, check=False, capture_output=True)
    return "" if tried.returncode == 0 and not tried.stderr else "no network of our own is allowed"


own_network = pytest.mark.skipif(bool(_cannot()), reason=_cannot() or "-")
PAGE = [sys.executable, "-m", "formulate", "page"]


@own_network
def test_the_command_listens_at_one_private_address_and_loopback_alone(tmp_path):
    command = [*_network_of_our_own("192.168.77.1"), *PAGE, str(tmp_path), "--share",
               "--no-browser"]  # fmt: skip
    with sharing(tmp_path, tmp_path / "state", command) as shared:
        assert shared.network == "http://192.168.77.1:8377/"
        assert len(re.findall(r"/pair/([\w-]{27})$", shared.code)) == 1
        process = Path(f"/proc/{shared.process.pid}/net")
        assert listening(process / "tcp") == {"0100007F:20B9", "014DA8C0:20B9"}
        assert listening(process / "tcp6") == set()
        shared.process.send_signal(signal.SIGINT)
        assert shared.process.wait(300) == 130
        assert "Traceback" not in shared.process.stderr.read()


@own_network
def test_the_command_asks_which_of_several_networks_is_meant(tmp_path):
    network = _network_of_our_own("192.168.77.1", "10.9.8.7", "198.51.100.4")
    done = subprocess.run(
        [*network, *PAGE, "--share", "--no-browser"],
        check=False, capture_output=True, text=True, cwd=tmp_path, timeout=300,
    )  # fmt: skip
    assert done.returncode == 2
    assert "several private networks: 192.168.77.1 (lo) and 10.9.8.7 (lo)" in done.stderr
    assert "such as --address 192.168.77.1." in done.stderr
    assert done.stdout == ""
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("address", ["0.0.0.0", "8.8.8.8", "198.51.100.4", "127.0.0.2", "::"])
def test_the_command_refuses_an_address_that_is_not_private(tmp_path, capsys, address):
    status = run(["page", str(tmp_path), "--share", "--no-browser", "--address", address])
    assert status == 2
    assert f"{address} is not a private address" in capsys.readouterr().err


def test_an_address_alone_shares_nothing(tmp_path, capsys):
    assert run(["page", str(tmp_path), "--no-browser", "--address", "192.168.1.20"]) == 2
    assert "an address is only for sharing" in capsys.readouterr().err


def test_an_address_that_cannot_be_listened_at_is_reported(tmp_path):
    from ipaddress import ip_address

    with pytest.raises(InputError, match=r"nothing can listen at 192\.0\.2\.77"):
        serve(
            tmp_path, None, usual_port=0, open_browser=False, announce=print,
            share=lambda: Share(ip_address("192.0.2.77"), tmp_path, tmp_path / "t.json"),
        )  # fmt: skip


def test_every_telephone_is_forgotten_on_request(tmp_path, monkeypatch, capsys):
    for name in ("XDG_STATE_HOME", "HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path))
    from formulate.page.sharing.telephones import telephones_file

    for folder in (tmp_path / "one", tmp_path / "two"):
        folder.mkdir()
        Telephones(telephones_file(), folder).pair("Ann", "192.168.1.31")
    assert run(["page", "--forget-all"]) == 0
    assert "2 telephones were forgotten." in capsys.readouterr().out
    assert run(["page", "--forget-all"]) == 0
    assert "No telephone was paired." in capsys.readouterr().out


def test_the_browser_is_started_with_nothing_that_another_user_could_use(tmp_path, monkeypatch):
    for name in ("XDG_STATE_HOME", "HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path))
    started = []
    monkeypatch.setattr("webbrowser.open", started.append)
    from formulate.page.sharing.told import opened_privately

    opened_privately("http://127.0.0.1:8377/here/secret&x")
    (address,) = started
    assert "secret" not in address
    assert address.startswith("file:")
    path = Path(urlsplit(address).path)
    assert "url=http://127.0.0.1:8377/here/secret&amp;x" in path.read_text()
    if sys.platform == "linux":
        assert path.stat().st_mode & 0o777 == 0o600
