"""Eight telephones at once on a shared page, as a ratio to one alone within the same run.

On request: ``pytest tests/benchmarks/test_share_speed.py -s``.
"""

from __future__ import annotations

import http.client
import os
import re
import sys
import threading
import time
from importlib.resources import files
from random import Random
from urllib.parse import urlencode, urlsplit

import pytest
from page.shared import Sharing, sharing

TELEPHONES, ROUNDS = 8, 60


class Telephone:
    """A connection that is kept, with a key; each round it looks, then asks for news."""

    def __init__(self, shared: Sharing, code: str) -> None:
        self.connection = http.client.HTTPConnection(urlsplit(code).netloc, timeout=60)
        form = {"Content-Type": "application/x-www-form-urlencoded"}
        self.connection.request("POST", urlsplit(code).path, urlencode({"owner": "Ann"}), form)
        reply = self.connection.getresponse()
        reply.read()
        self.key = reply.getheader("Set-Cookie").partition(";")[0]

    def round(self) -> float:
        """Time of looking at Today and asking once for news [s]."""
        start = time.perf_counter()
        for path in ("/", "/version"):
            self.connection.request("GET", path, headers={"Cookie": self.key})
            reply = self.connection.getresponse()
            assert reply.read()
            assert reply.status == 200
        return time.perf_counter() - start


def new_code(shared: Sharing) -> str:
    """Another pairing code, as the computer's page gives it."""
    home = urlsplit(shared.home)
    connection = http.client.HTTPConnection(home.netloc, timeout=60)
    connection.request("GET", home.path)
    reply = connection.getresponse()
    reply.read()
    cookie = {"Cookie": reply.getheader("Set-Cookie").partition(";")[0]}
    connection.request("GET", "/telephones", headers=cookie)
    token = re.search(r'name="token" value="([^"]+)"', connection.getresponse().read().decode())[1]
    form = {"Content-Type": "application/x-www-form-urlencoded"} | cookie
    connection.request("POST", "/telephones", urlencode({"token": token, "code": "new"}), form)
    connection.getresponse().read()
    connection.request("GET", "/telephones", headers=cookie)
    page = connection.getresponse().read().decode()
    connection.close()
    return re.search(r"http://[\d.:]+/pair/[\w-]+", page)[0]


def p95(times: list[float]) -> float:
    return sorted(times)[int(0.95 * len(times))]


@pytest.mark.skipif(sys.platform != "linux", reason="needs a second loopback address")
def test_eight_telephones_are_not_kept_waiting(tmp_path):
    """Each looks some twice a second; an open page looks every three seconds."""
    folder = tmp_path / "kitchen"
    folder.mkdir()
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    with sharing(folder, tmp_path) as shared:
        telephones = [Telephone(shared, shared.code)]
        telephones += [Telephone(shared, new_code(shared)) for _ in range(TELEPHONES - 1)]
        telephones[0].round()
        alone = [telephones[0].round() for _ in range(3 * ROUNDS)]
        times: list[float] = []

        def use(telephone: Telephone, pauses: Random) -> None:
            for _ in range(ROUNDS):
                time.sleep(pauses.uniform(0.2, 0.8))
                times.append(telephone.round())

        threads = [
            threading.Thread(target=use, args=(telephone, Random(k)))
            for k, telephone in enumerate(telephones)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert len(times) == TELEPHONES * ROUNDS
    ratio = p95(times) / p95(alone)
    print(
        f"\neight telephones, p95: {1e3 * p95(times):.1f} ms; one alone {1e3 * p95(alone):.1f} ms; "
        f"ratio {ratio:.2f}; load {os.getloadavg()[0]:.1f}"
    )
    assert ratio <= 4
