"""What an installed wheel must do: the main job, the page, the card, many pantries, and help."""

import json
import os
import re
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

folder = Path(sys.argv[1])
folder.mkdir()
command = Path(sys.executable).with_name("formulate")


def run(*arguments, status=0):
    done = subprocess.run(
        [command, *arguments], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.returncode == status, (arguments, done.returncode, done.stdout, done.stderr)
    return done.stdout


start = time.perf_counter()
mix = json.loads(run("mix", "--json"))
first = time.perf_counter() - start
assert mix["status"] == "optimal", mix["status"]
assert mix["verdict"] == "inside"
assert all(read["verdict"] in ("inside", None) for read in mix["reads"])
assert max(mix["certificate"].values()) <= 1e-9

run("card", "--out", "card.pdf")
assert (folder / "card.pdf").read_bytes().startswith(b"%PDF")

clients = folder / "clients"
clients.mkdir()
text = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = {milk}
package = "1 gallon"
[foods.evaporated-milk]
price = 1.79
package = "12 fl oz"
"""
for number in range(3):
    (clients / f"client_{number}.toml").write_text(text.format(milk=3 + number), encoding="utf-8")
(clients / "client_3.toml").write_text("[foods", encoding="utf-8")
run("many", "clients", "--csv", "out.csv", "--workers", "2", status=1)
rows = (folder / "out.csv").read_text(encoding="utf-8").splitlines()
assert len(rows) == 5, rows
assert sum(",inside," in row for row in rows) == 3

assert "formulate page" in run("manual", "page")
completed = subprocess.run(
    [command],
    env=os.environ | {"_FORMULATE_COMPLETE": "bash_complete", "COMP_WORDS": "formulate ch",
                      "COMP_CWORD": "1"},
    capture_output=True, text=True, check=True,
).stdout  # fmt: skip
assert completed.splitlines() == ["plain,check"], completed

page = subprocess.Popen(
    [command, "page", str(folder), "--no-browser"],
    cwd=folder,
    env=os.environ | {"PYTHONUNBUFFERED": "1"},
    stdout=subprocess.PIPE,
    text=True,
)
try:
    address = re.search(r"http://127\.0\.0\.1:\d+/", page.stdout.readline())[0]
    answer = urllib.request.urlopen(address, timeout=60)
    assert answer.status == 200
    assert "<html" in answer.read().decode()
finally:
    page.terminate()
    page.wait()
version = ".".join(map(str, sys.version_info[:3]))
print(f"Python {version}: mix in {first:.1f} s, the other jobs and the page do their work")
