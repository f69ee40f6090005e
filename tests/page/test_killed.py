"""The page and a command write at once and both are killed: what was acknowledged is there."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
import threading
from contextlib import suppress
from importlib.resources import files
from urllib.parse import urlencode

from browser.driven import served

from formulate.rearing.log import read_log

#: Writes temperatures of one animal, a line of output for each that is written.
COMMAND = """
import sys, time
from datetime import datetime, timedelta
from formulate.answers.record import record
from formulate.answers.wanted import wanted_of
from formulate.base import locks
locks.PATIENCE = 600.0
at = datetime(2026, 11, 13)
while True:
    at += timedelta(minutes=1)
    found = record(sys.argv[1], [wanted_of("Wren", "temperature", "39 C", at=at)])
    print(found.outcome, f"{at:%H:%M}", flush=True)
    time.sleep(0.05)  # the page has its turn, for it looks for the lock in between
"""
#: Entries that each of the two must have written before both are killed.
ENOUGH = 8


def test_killed_while_both_write_nothing_that_was_acknowledged_is_lost(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    acknowledged: list[tuple[str, str]] = []
    enough = threading.Event()
    with served(tmp_path) as (address, page):
        flock = str(tmp_path / "flock.toml")
        command = subprocess.Popen(
            [sys.executable, "-c", COMMAND, flock], stdout=subprocess.PIPE, text=True
        )

        def by_page() -> None:
            connection = http.client.HTTPConnection(address.split("/")[2], timeout=300)
            connection.request("GET", "/animal?name=Pip")
            html = connection.getresponse().read().decode()
            token = re.search(r'name="token" value="([^"]+)"', html)[1]
            kind = {"Content-Type": "application/x-www-form-urlencoded"}
            for minute in range(1, 600):
                hour = f"{minute // 60:02d}:{minute % 60:02d}"
                typed = {
                    "token": token,
                    "once": f"k{minute}",
                    "name": "Pip",
                    "at": f"2026-11-13 {hour}",
                    "what": "temperature",
                    "amount": "39 C",
                }
                connection.request("POST", "/note", urlencode(typed), kind)
                reply = connection.getresponse()
                reply.read()
                if reply.status == 303:
                    acknowledged.append(("Pip", hour))

        def by_command() -> None:
            for line in command.stdout:
                outcome, hour = line.split()
                if outcome == "written":
                    acknowledged.append(("Wren", hour))
                count = [name for name, _ in list(acknowledged)]
                if min(count.count("Pip"), count.count("Wren")) >= ENOUGH:
                    enough.set()

        def window() -> None:
            with suppress(OSError, http.client.HTTPException):
                by_page()

        threads = [threading.Thread(target=one) for one in (window, by_command)]
        for thread in threads:
            thread.start()
        assert enough.wait(300)
        for process in (page, command):
            os.kill(process.pid, signal.SIGKILL)
        for thread in threads:
            thread.join()
        command.wait()
        command.stdout.close()
    log = read_log(tmp_path / "flock.log.csv")
    assert not log.faults
    written = {(entry.animal, f"{entry.when:%H:%M}") for entry in log.entries}
    assert set(acknowledged) <= written
    assert len(written) <= len(set(acknowledged)) + 2  # at most the one that each was about to tell
