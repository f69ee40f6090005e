"""What people type, mutated: files and options that are nearly right, by number.

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
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path

__all__ = ["Case", "End", "case_of", "run_case"]

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
RECIPES = (
    "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk",
    "2 quarts whole-milk + 1 can evaporated-milk + 2 cups lowfat-buttermilk",
    "1/4 cup + 2 tbsp heavy-cream, 1,5 L whole milk and 2 eggs",
    "200 g dry-whole-milk\n800 mL water\n1 t canola oil",
    "  7 1/2 cups  whole-milk  1,830 g  1.82 USD\n  1/4 cup  heavy-cream  60 g  0.41 USD",
)
NUMBERS = (
    "0", "-1", "1e400", "1e-9", "nan", "inf", "1/0", "1,234", "1,5", "½", "9" * 50, "1e6", "00",
    "0x10", "1_000", "٣", ".", "1..2", "-0.0", "1e5", "99999999999999999999", "1/" + "9" * 5000,
    "true", '""', "[]", "{}", "9999-12-31", "0001-01-01", "2026-11-14T06:00:00Z",
)  # fmt: skip
SIGNS = (
    "\0", "\x1b[2J", "\x07", "\r", "\n", "\t", "\u202e", "\u200b", "\ufeff", "🐑", "é", '"',
    "'", "\\", "+", ",", ";", "#", "=", "[", "]", "{", "}", "%", " ", "../", "&", "<b>", "$",
    "-", "--", "x" * 70, "[[" * 50, "a." * 300,
)  # fmt: skip
WORDS = (
    "milk", "cup", "g", "of", "whole-milk", "can", "oz", "water", "egg", "lamb", "kid", "Pip",
    "us", "metric", "and", "copper", "onion", "chocolate", "T", "sold", "weight", "strike",
)  # fmt: skip

Mutation = Callable[[random.Random, str], str]


def _cut(rng: random.Random, text: str) -> str:
    start = rng.randrange(len(text) + 1)
    return text[:start] + text[start + rng.choice([1, 1, 2, 5, 40, 400]) :]


def _twice(rng: random.Random, text: str) -> str:
    start = rng.randrange(len(text) + 1)
    piece = text[start : start + rng.choice([1, 3, 20, 200])]
    return text[:start] + piece * rng.choice([2, 2, 3, 50]) + text[start:]


def _sign(rng: random.Random, text: str) -> str:
    start = rng.randrange(len(text) + 1)
    return text[:start] + rng.choice(SIGNS) + text[start:]


def _number(rng: random.Random, text: str) -> str:
    found = list(re.finditer(r"\d[\d.]*", text))
    if not found:
        return _sign(rng, text)
    one = rng.choice(found)
    return text[: one.start()] + rng.choice(NUMBERS) + text[one.end() :]


def _word(rng: random.Random, text: str) -> str:
    found = list(re.finditer(r"[A-Za-z_-]{2,}", text))
    if not found:
        return _sign(rng, text)
    one = rng.choice(found)
    other = rng.choice([rng.choice(found)[0], rng.choice(WORDS), one[0][::-1], one[0][:-1]])
    return text[: one.start()] + other + text[one.end() :]


def _lines(rng: random.Random, text: str) -> str:
    lines = text.splitlines(keepends=True)
    if not lines:
        return _sign(rng, text)
    i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(3):
        case 0:
            lines[i], lines[j] = lines[j], lines[i]
        case 1:
            lines.insert(j, lines[i])
        case _:
            del lines[i]
    return "".join(lines)


MUTATIONS: tuple[Mutation, ...] = (_cut, _twice, _sign, _number, _number, _word, _word, _lines)


def mutated(rng: random.Random, text: str) -> str:
    """A text with one to four things wrong with it."""
    for _ in range(rng.choice([1, 1, 1, 2, 4])):
        text = rng.choice(MUTATIONS)(rng, text)
    return text


@dataclass
class Case:
    """Files of a folder, by name, and the command that is given there."""

    kind: str
    arguments: list[str]
    files: dict[str, str] = field(default_factory=dict)


def _pantry(rng: random.Random) -> Case:
    command = rng.choice(
        [
            ["mix", "pantry.toml", "--exact"],
            ["mix", "pantry.toml", "--exact", "--json"],
            ["compare", "--pantry", "pantry.toml"],
            ["check", RECIPES[0], "--pantry", "pantry.toml"],
            ["bands", "--pantry", "pantry.toml"],
            ["foods", "--pantry", "pantry.toml", "--show", "our-carton"],
        ]
    )
    return Case("pantry", command, {"pantry.toml": mutated(rng, PANTRY)})


def _flock(rng: random.Random) -> Case:
    command = rng.choice([["today"], ["feed"], ["growth"], ["today", "--json"]])
    return Case("flock", [*command, "flock.toml"], {"flock.toml": mutated(rng, FLOCK), **_BESIDE})


def _log(rng: random.Random) -> Case:
    command = rng.choice([["today"], ["feed"], ["growth"], ["note", "flock.toml", "Pip", "weak"]])
    if command[0] != "note":
        command = [*command, "flock.toml"]
    beside = {"flock.toml": FLOCK, "flock.log.csv": mutated(rng, LOG), **_BESIDE}
    return Case("log", command, beside)


def _recipe(rng: random.Random) -> Case:
    text = mutated(rng, rng.choice(RECIPES))
    kitchen = rng.choice(["us", "metric", "imperial", "uk", "au"])
    return Case("recipe", ["check", "--kitchen", kitchen, "--", text])


def _panel(rng: random.Random) -> Case:
    given = {
        "--sold-as": "whole milk", "--serving": "1 cup (240 mL)", "--energy": "150", "--fat": "8",
        "--saturated-fat": "5", "--sodium": "105", "--carbohydrate": "12", "--sugars": "12",
        "--protein": "8", "--calcium": "300", "--name": "our-milk",
    }  # fmt: skip
    for option in rng.sample(sorted(given), rng.choice([1, 1, 2])):
        given[option] = mutated(rng, given[option])
    return Case("panel", ["carton", *(f"{key}={value}" for key, value in given.items())])


#: Commands, and what their options may say.
OPTIONS: tuple[tuple[list[str], dict[str, str]], ...] = (
    (
        ["mix", "--exact"],
        {
            "--make": "2 L", "--for": "lamb-replacer", "--sure": "90", "--closest": "ewe-milk",
            "--within-cost": "3", "--worst-case": "2",
        },
    ),
    (["mix", "--make=1 quart"], {"--at-most": "4", "--keep-to": "cream-and-powder"}),
    (
        ["check", "1 cup whole-milk"],
        {
            "--against": "ewe-milk", "--kitchen": "us", "--brix": "12", "--lactometer": "30",
            "--at": "20 C", "--freezing-point": "-0.54", "--weigh": "1 cup = 251 g",
        },
    ),
    (["compare"], {"--per": "litre", "--against": "kid-replacer", "--kitchen": "metric"}),
    (["feed"], {"--on": "2026-11-14", "--mix": "plain-milk"}),
    (["today"], {"--on": "2026-11-14 12:30"}),
    (["growth"], {"--on": "2026-11-20"}),
    (["foods"], {"--show": "whole-milk", "--country": "uk"}),
    (["prices", "--points", "5"], {"--vary": "whole-milk=2..6", "--for": "lamb-replacer"}),
    (["weigh", "flock.toml", "Pip", "5.9 kg"], {"--on": "2026-11-14"}),
    (["note", "flock.toml", "Pip", "milk", "8 fl oz"], {"--at": "06:30", "--by": "Ann"}),
)  # fmt: skip


def _options(rng: random.Random) -> Case:
    command, options = rng.choice(OPTIONS)
    chosen = rng.sample(sorted(options), rng.randint(1, min(3, len(options))))
    typed = [f"{name}={options[name]}" for name in chosen]
    words = [*command, *typed]
    at = rng.randrange(1, len(words))
    name, equals, value = words[at].partition("=")
    words[at] = f"{name}={mutated(rng, value)}" if equals else mutated(rng, words[at])
    return Case("options", words, {"flock.toml": FLOCK, **_BESIDE})


_BESIDE = {"pantry.toml": PANTRY}
KINDS = (_pantry, _flock, _log, _recipe, _recipe, _panel, _options)


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
        What must never be: a traceback, exit status 3, a flood, a control character.
    """

    status: int
    error: str
    seconds: float
    faults: list[str]


def run_case(case: Case, folder: Path) -> End:
    """Run a case in a folder of its own."""
    from formulate.cli.main import run

    for name, text in case.files.items():
        (folder / name).write_text(text, encoding="utf-8", errors="surrogatepass", newline="")
    out, err = io.StringIO(), io.StringIO()
    start = time.perf_counter()
    with _inside(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(case.arguments)
    seconds = time.perf_counter() - start
    told = err.getvalue()
    faults = []
    if status not in (0, 1, 2):
        faults.append(f"exit status {status}")
    if "Traceback" in told or "Traceback" in out.getvalue():
        faults.append("a traceback")
    if status == 2 and not told.strip():
        faults.append("no word of what is wrong")
    if len(told) > 20_000 or len(told.splitlines()) > 60:
        faults.append("a flood")
    if re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", told):
        faults.append("a control character")
    return End(status, told, seconds, faults)


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
        case = case_of(number)
        with tempfile.TemporaryDirectory() as folder:
            end = run_case(case, Path(folder))
        ends[case.kind, end.status] += 1
        slowest = max(slowest, (end.seconds, number))
        if end.faults or end.seconds > 5:
            wrong += 1
            print(number, case.kind, end.faults, f"{end.seconds:.1f} s", case.arguments[:6],
                  end.error[-300:].strip(), flush=True)  # fmt: skip
    print(dict(sorted(ends.items())), "slowest", slowest, "wrong", wrong)
    return wrong


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3])) > 0)
