"""What an installed wheel must do: the main job, the page, the card and many pantries at once."""

import json
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

page = subprocess.Popen(
    [command, "page", str(folder), "--no-browser", "--port", "8437"],
    cwd=folder,
    stdout=subprocess.PIPE,
    stderr=subprocess.STDOUT,
    text=True,
)
try:
    for _ in range(100):
        try:
            answer = urllib.request.urlopen("http://127.0.0.1:8437/", timeout=20)
            break
        except OSError:
            time.sleep(0.2)
    else:
        raise AssertionError("the page does not answer")
    assert answer.status == 200
    assert "<html" in answer.read().decode()
finally:
    page.terminate()
    page.wait()
version = ".".join(map(str, sys.version_info[:3]))
print(f"Python {version}: mix in {first:.1f} s, card, many and page do their work")
