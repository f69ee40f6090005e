"""What people type, mutated: files, recipes, panels and options that are nearly right, by number.

``python tests/mutated.py 0 100000`` runs the cases of these numbers and counts how they end; each
number gives the same case every time.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import re
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from importlib.resources import files
from pathlib import Path

from mutations import mutated

__all__ = ["MIX", "WELL_FORMED", "Case", "End", "case_of", "run_alone", "run_case"]

SAMPLES = files("nutrient_tables")
PANTRY = (
    SAMPLES.joinpath("sample_pantry.toml").read_text(encoding="utf-8")
    + """
[own.our-carton]
sold_as = "whole milk"
panel = { serving = "1 cup (240 mL)", energy = 150, fat = 8, carbohydrate = 12, protein = 8 }
[own.our-bag]
kind = "replacer-powder"
at_least = { protein = 23, fat = 20 }
at_most = { fibre = 0.15, ash = 8, water = 5, copper = 10 }
[bands.ours]
like = "lamb-replacer"
demand = [{ measure = "fat", basis = "dry_matter", unit = "g/100 g", low = 30, high = 34 }]
"""
)
FLOCK = SAMPLES.joinpath("sample_flock.toml").read_text(encoding="utf-8")
LOG = """when,animal,what,amount,unit,note,by
2026-11-09,Pip,weight,5.0,kg,,
2026-11-13T18:10,Pip,milk,240,mL,,Ann
2026-11-13T18:15,Wren,milk,170,mL,,Ann
2026-11-13,Bramble,creep,20,g,,
2026-11-14T03:10,Dot,colostrum,150,mL,ewe,
2026-11-14T06:00,Dot,temperature,38.6,°C,,
2026-11-14T06:10,Pip,weak,,,,Ann
2026-11-14T06:10,Pip,strike weak,,,,Ann
"""
PRICES = """food,price,package,currency,date
whole-milk,3.89,1 gallon,USD,2026-11-02
evaporated-milk,1.79,12 fl oz,USD,2026-11-02
heavy-cream,6.49,1 quart,USD,2026-11-02
"""
MIX = """{"verdict": "inside", "amounts": [
  {"food": "whole-milk", "grams": 1830.0, "share": 0.85},
  {"food": "evaporated-milk", "grams": 320.5, "share": 0.15}]}
"""
FARM = {
    "pantry.toml": PANTRY,
    "flock.toml": FLOCK,
    "flock.log.csv": LOG,
    "shop.csv": PRICES,
    "mix.json": MIX,
}
RECIPES = (
    "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk",
    "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk",
    "1/4 cup + 2 tbsp heavy-cream, 1,5 L whole milk and 2 eggs",
    "200 g dry-whole-milk\n800 mL water\n1 t canola oil",
    "  7 1/2 cups  whole-milk  1,830 g  1.82 USD\n  1/4 cup  heavy-cream  60 g  0.41 USD",
)
PANEL = {
    "--sold-as": "whole milk", "--serving": "1 cup (240 mL)", "--energy": "150", "--fat": "8",
    "--saturated-fat": "5", "--sodium": "105", "--carbohydrate": "12", "--sugars": "12",
    "--protein": "8", "--calcium": "300", "--name": "our-milk",
}  # fmt: skip

#: Commands that read a pantry, a flock, a log.
OF_PANTRY = (
    ["mix", "pantry.toml", "--exact"],
    ["mix", "pantry.toml", "--exact", "--json"],
    ["mix", "pantry.toml"],
    ["compare", "--pantry=pantry.toml"],
    ["check", RECIPES[0], "--pantry=pantry.toml"],
    ["bands", "--pantry=pantry.toml"],
    ["foods", "--pantry=pantry.toml", "--show=our-carton"],
)
OF_FLOCK = (
    ["today", "flock.toml"],
    ["feed", "flock.toml"],
    ["growth", "flock.toml"],
    ["today", "flock.toml", "--json"],
    ["rehydrate", "flock.toml", "--animal=Pip", "--stands=yes", "--sucks=yes", "--mouth=warm"],
)
OF_PRICES = (["many", "pantry.toml", "--prices=shop.csv", "--csv=many.csv"],)
OF_MIX = (["feed", "flock.toml", "--milk=mix.json"], ["today", "flock.toml", "--milk=mix.json"])
OF_LOG = (*OF_FLOCK[:4], ["note", "flock.toml", "Pip", "weak"])
#: Commands, and what their options may say.
OPTIONS: tuple[tuple[list[str], dict[str, str]], ...] = (
    (
        ["mix", "--exact"],
        {
            "--make": "2 L", "--for": "lamb-replacer", "--sure": "90", "--within-cost": "3",
            "--worst-case": "2",
        },
    ),
    (["mix", "--make=1 quart"], {"--at-most": "4", "--keep-to": "cream-and-powder"}),
    (
        ["mix", "whole-milk=3.80/gallon", "evaporated-milk=1.79/can"],
        {"--make": "2 quarts", "--country": "us"},
    ),
    (["mix"], {"--picture": "mix.svg", "--write": "mix.lp", "--in": "half-gallon jar"}),
    (
        ["check", "1 cup whole-milk"],
        {
            "--kitchen": "us", "--brix": "12", "--lactometer": "30", "--temperature": "20 C",
            "--freezing-point": "-0.54", "--weigh": "1 cup = 251 g",
        },
    ),
    (["compare"], {"--per": "litre", "--kitchen": "metric"}),
    (["feed"], {"--on": "2026-11-14"}),
    (["today"], {"--on": "2026-11-14 12:30"}),
    (
        ["today", "--milk=3 quarts whole-milk + 1 can evaporated-milk"],
        {"--lamb": "4.2kg", "--age": "3d"},
    ),
    (["growth"], {"--on": "2026-11-20", "--picture": "growth.png"}),
    (["foods"], {"--show": "whole-milk", "--country": "uk"}),
    (
        ["prices", "--points=5"],
        {"--vary": "whole-milk=2..6", "--for": "lamb-replacer", "--csv": "prices.csv"},
    ),
    (["weigh", "flock.toml", "Pip", "5.9 kg"], {"--on": "2026-11-14"}),
    (["note", "flock.toml", "Pip", "milk", "8 fl oz"], {"--at": "2026-11-14 06:30", "--by": "Ann"}),
    (
        ["rehydrate", "--weight=4.2 kg", "--stands=yes", "--sucks=yes", "--mouth=warm"],
        {"--age": "9 days", "--temperature": "38.9 C", "--day": "1", "--make": "1 L"},
    ),
    (
        ["shop", "--seconds=0.3"],
        {"--keeps": "2", "--mix-at": "07:00", "--trip-cost": "4", "--calendar": "feeds.ics"},
    ),
    (
        ["start", "farm", "--food=whole-milk=3.80/gallon"],
        {"--food": "evaporated-milk=1.79/can", "--country": "us"},
    ),
    (
        ["start", "farm", "--food=whole-milk", "--food=evaporated-milk"],
        {"--animal": f"Pip, lamb, 4.2 kg, {date.today()}", "--kitchen": "us"},
    ),
    (["label", "--make=2 quarts"], {"--out": "label.pdf", "--per-sheet": "4"}),
    (["many", "pantry.toml"], {"--csv": "many.csv", "--prices": "shop.csv", "--make": "2 L"}),
    (["card", "--make=2 quarts"], {"--out": "card.pdf", "--paper": "a4", "--on": "2026-11-14"}),
)  # fmt: skip


@dataclass
class Case:
    """Files of a folder, by name, and the command that is given there."""

    kind: str
    arguments: list[str]
    files: Mapping[str, str] = field(default_factory=dict)


def _file(kind: str, name: str, commands: tuple[list[str], ...], rng: random.Random) -> Case:
    beside = {k: v for k, v in FARM.items() if k != "flock.log.csv" or kind == "log"}
    return Case(kind, rng.choice(commands), {**beside, name: mutated(rng, FARM[name])})


def _recipe(rng: random.Random) -> Case:
    text = mutated(rng, rng.choice(RECIPES))
    kitchen = rng.choice(["us", "metric", "imperial", "uk", "au"])
    return Case("recipe", ["check", "--kitchen", kitchen, "--", text])


def _panel(rng: random.Random) -> Case:
    given = dict(PANEL)
    for option in rng.sample(sorted(given), rng.choice([1, 1, 2])):
        given[option] = mutated(rng, given[option])
    return Case("panel", ["carton", *(f"{key}={value}" for key, value in given.items())])


def _options(rng: random.Random) -> Case:
    command, options = rng.choice(OPTIONS)
    chosen = rng.sample(sorted(options), rng.randint(1, min(3, len(options))))
    words = [*command, *(f"{name}={options[name]}" for name in chosen)]
    # A longer search is what was asked for.
    at = rng.choice([at for at in range(1, len(words)) if not words[at].startswith("--seconds")])
    name, equals, value = words[at].partition("=")
    if rng.random() < 0.1:  # what it writes, in the place of somebody's file
        value, equals = rng.choice([*FARM, "notes.txt", ".", "missing/a.csv", "a.csv"]), "="
    elif equals:
        value = mutated(rng, value)
    words[at] = f"{name}={value}" if equals else mutated(rng, words[at])
    # No system passes on a NUL; a byte that is no text arrives as a surrogate like this one.
    passed = [word.replace("\0", "").replace("\ud800", "\udc80") for word in words]
    return Case("options", passed, FARM)


KINDS = (
    lambda rng: _file("pantry", "pantry.toml", OF_PANTRY, rng),
    lambda rng: _file("flock", "flock.toml", OF_FLOCK, rng),
    lambda rng: _file("log", "flock.log.csv", OF_LOG, rng),
    lambda rng: _file("prices", "shop.csv", OF_PRICES, rng),
    lambda rng: _file("mix", "mix.json", OF_MIX, rng),
    _recipe,
    _panel,
    _options,
    _options,
)

#: Every command as it should be typed.
WELL_FORMED = (
    *(
        Case("farm", command, FARM)
        for command in (*OF_PANTRY, *OF_LOG, OF_FLOCK[-1], *OF_PRICES, *OF_MIX)
    ),
    *(Case("recipe", ["check", "--", text]) for text in RECIPES),
    Case("panel", ["carton", *(f"{key}={value}" for key, value in PANEL.items())]),
    *(
        Case("options", [*command, *(f"{key}={value}" for key, value in options.items())], FARM)
        for command, options in OPTIONS
        if "--worst-case" not in options
    ),
)


def case_of(number: int) -> Case:
    """The case of a number."""
    rng = random.Random(number)
    return rng.choice(KINDS)(rng)


@dataclass
class End:
    """How a case ended.

    Parameters
    ----------
    status : int
    error : str
        Standard error.
    seconds : float
    faults : list of str
        What must never be: a traceback, exit status 3, a flood, a control character, a file
        that was changed.
    """

    status: int
    error: str
    seconds: float
    faults: list[str]


#: No input may take longer to read or to refuse [s].
SLOWEST = 5.0


def run_alone(case: Case) -> End:
    """Run a case in a folder of its own; once more where it took long, as other work may do."""
    for _ in range(2):
        with tempfile.TemporaryDirectory() as folder:
            end = run_case(case, Path(folder))
        if end.seconds < SLOWEST:
            return end
    end.faults.append("too slow")
    return end


def run_case(case: Case, folder: Path) -> End:
    """Run a case in a folder."""
    from formulate.cli.main import run

    before = {}
    for name, text in case.files.items():
        path = folder / name
        path.write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
        before[name] = path.read_bytes()
    out, err = io.StringIO(), io.StringIO()
    start = time.perf_counter()
    with (
        _inside(folder),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        warnings.catch_warnings(),
    ):
        warnings.simplefilter("error")
        status = run(case.arguments)
    seconds = time.perf_counter() - start
    faults = [*_faults_of(status, out.getvalue(), err.getvalue()), *_changed(case, before, folder)]
    return End(status, err.getvalue(), seconds, faults)


def _faults_of(status: int, out: str, told: str) -> list[str]:
    faults = []
    if status not in (0, 1, 2):
        faults.append(f"exit status {status}")
    if "Traceback" in told + out:
        faults.append("a traceback")
    if status == 2 and not told.strip():
        faults.append("no word of what is wrong")
    if len(told) > 20_000 or len(told.splitlines()) > 30:
        faults.append("a flood")
    if re.search(r"\S{125}", told):
        faults.append("a long word")
    if re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2028\u2029]", told + out):
        faults.append("a control character")
    return faults


def _changed(case: Case, before: Mapping[str, bytes], folder: Path) -> list[str]:
    """Files that are not as they were; what is written down is added to the log's end."""
    faults = []
    for name, old in before.items():
        path = folder / name
        new = path.read_bytes() if path.is_file() else None
        written = case.arguments[0] in ("note", "weigh", "feed") and name == "flock.log.csv"
        if new != old and not (written and new is not None and new.startswith(old.rstrip())):
            faults.append(f"{name} was changed")
    return faults + [f"{left} was left" for left in folder.glob(".*.tmp")]


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def main(first: int, last: int) -> int:
    """Run the cases from `first` up to `last`; print how they end."""
    ends: Counter[tuple[str, int]] = Counter()
    slowest, wrong = (0.0, 0), 0
    for number in range(first, last):
        if number > first and not (number - first) % 1000:
            print(f"{number - first:,} run, {wrong} wrong", flush=True)
        case = case_of(number)
        end = run_alone(case)
        ends[case.kind, end.status] += 1
        slowest = max(slowest, (end.seconds, number))
        if end.faults:
            wrong += 1
            typed = [f"{word[:60]!a}" for word in case.arguments[:6]]
            print(number, case.kind, end.faults, f"{end.seconds:.1f} s", *typed,
                  end.error[-300:].strip(), flush=True)  # fmt: skip
    print(dict(sorted(ends.items())), "slowest", slowest, "wrong", wrong)
    return wrong


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])) > 0)
