"""What a mix is printed in can be pasted into a check."""

from __future__ import annotations

import contextlib
import io
import json
import random

import pytest

from formulate.cli.main import run
from formulate.foods.tables import food_table

SHELF = {
    "whole-milk": (3.89, "4 L"),
    "evaporated-milk": (1.79, "1 can"),
    "lowfat-buttermilk": (2.69, "1 L"),
    "heavy-cream": (6.49, "1 L"),
    "nonfat-dry-milk": (11.99, "2 lb"),
    "dry-whole-milk": (14.5, "2 lb"),
    "whole-egg": (3.2, "12 eggs"),
    "unsalted-butter": (4.1, "1 lb"),
    "water": (0.01, "1 L"),
    "goat-milk": (4.9, "1 L"),
}


def said_by(*arguments):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(list(arguments))
    return status, out.getvalue(), err.getvalue()


def printed_mix(out):
    """The lines under "The cheapest mix", or None where there is no mix."""
    lines = out.splitlines()
    at = next((i for i, line in enumerate(lines) if line.startswith("The cheapest mix")), None)
    if at is None:
        return None
    return "\n".join(lines[at + 1 : lines.index("", at)])


def paste_one(seed, folder):
    rng = random.Random(seed)
    foods = rng.sample(sorted(SHELF), rng.randint(4, len(SHELF)))
    kitchen = rng.choice(["us", "metric", "imperial", "uk", "au"])
    lines = [
        'currency = "USD"\nprices_on = 2026-11-02',
        f'kitchen = "{kitchen}"\nmeasures = "{rng.choice(["cups", "cups", "scale"])}"',
    ]
    for food in foods:
        price, package = SHELF[food]
        price *= rng.uniform(0.4, 2.5)
        lines.append(f'[foods.{food}]\nprice = {price:.2f}\npackage = "{package}"')
    path = folder / f"{seed}.toml"
    path.write_text("\n".join(lines))
    size = f"{rng.choice([0.5, 1, 2, 3.7, 12, 60])} L"
    bands = rng.choice(["lamb-replacer", "kid-replacer"])
    asked = ["mix", str(path), "--make", size, "--for", bands]
    exact = rng.random() < 0.3
    if exact:
        asked.append("--exact")
    status, out, err = said_by(*asked)
    assert status in (0, 1), (seed, err)
    pasted = printed_mix(out)
    if status == 1 or pasted is None:
        return False
    status, checked, err = said_by("check", pasted, "--kitchen", kitchen, "--json")
    assert status in (0, 1), (seed, pasted, err)
    wanted = json.loads(said_by(*asked, "--json")[1])
    grams = {row["food"]: row["grams"] for row in wanted["amounts"]}
    read = {row["food"]: row["grams"] for row in json.loads(checked)["amounts"]}
    # A weight is printed to a few figures; whole measures are read exactly.
    assert read == pytest.approx(grams, rel=6e-3 if exact else 1e-9, abs=0.051 * exact), (
        seed,
        pasted,
    )
    return True


def test_the_shelf_is_in_the_table():
    assert set(SHELF) <= set(food_table())


def test_a_printed_mix_can_be_checked(tmp_path):
    assert sum(paste_one(seed, tmp_path) for seed in range(12)) >= 4


@pytest.mark.long
def test_a_thousand_printed_mixes_can_be_checked(tmp_path):
    pasted, seed = 0, 0
    while pasted < 1000:
        pasted += paste_one(seed, tmp_path)
        seed += 1
