"""Make the pictures of the README again: ``python notebooks/pictures.py [FOLDER]``.

Most are what the commands draw of the built-in sample, an invented smallholding. The page is
photographed where a Chromium is found (its Debian package, or any that the variable CHROMIUM
names); else its old picture stays. All are grey and small, and but for the page's the same on
every run with the same libraries.
"""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image

from formulate.cli.main import run

FOLDER = Path(__file__).parent / "pictures"
DAY = "2026-11-14"
#: Most that one may weigh [byte].
LARGEST = 170_000
_GREYS = 16
_PATIENCE = 60
#: The mix's heading and verdict stand so far above its frame [pixel].
_HEADING = 95
#: Height of a picture of the page [pixel]; the rest is cut off.
_TALLEST = 1400
_BROWSER = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--hide-scrollbars",
    "--force-device-scale-factor=1",
    "--force-prefers-reduced-motion",
    "--virtual-time-budget=5000",
)


def command(*arguments: str) -> None:
    """Run one command of formulate without its words; "no" is an answer too."""
    with contextlib.redirect_stdout(io.StringIO()):
        status = run(list(arguments))
    if status not in (0, 1):
        raise SystemExit(f"formulate {' '.join(arguments)} ended with {status}")


def drawn(folder: Path) -> list[Path]:
    """What commands draw."""
    with tempfile.TemporaryDirectory() as farm:
        command("start", farm)
        flock = str(Path(farm) / "flock.toml")
        calls: dict[str, Sequence[str]] = {
            "reads": ("mix", "--picture"),
            "prices": (
                "prices", "--vary", "whole-milk=2.5..6", "--vary", "heavy-cream=3..9", "--picture",
            ),
            "closeness": ("mix", "--closest", "ewe-milk", "--picture"),
            "costs": ("compare", "--picture"),
            "growth": ("growth", flock, "--picture"),
            "card": ("card", "--on", DAY, "--out"),
            "feeds": ("card", "--flock", flock, "--on", DAY, "--out"),
            "label": ("label", "--on", DAY, "--out"),
        }  # fmt: skip
        paths = [folder / f"{name}.png" for name in calls]
        for arguments, path in zip(calls.values(), paths, strict=True):
            command(*arguments, str(path))
    return paths


def protection(folder: Path) -> list[Path]:
    """What it costs to be sure, of the sample shelf."""
    from formulate.blend.problem import build
    from formulate.blend.protect.chance import protection_curve
    from formulate.foods.spread import spread_of
    from formulate.foods.tables import band_set, default_spreads
    from formulate.pantry.pantry import sample_pantry
    from formulate.report.pictures.look import save_picture
    from formulate.report.pictures.protection import protection_picture

    pantry = sample_pantry()
    problem = build(pantry.shelf(), band_set("lamb-replacer"), 1000.0)
    spread = spread_of(problem.shelf.foods, default_spreads())
    points = protection_curve(problem, spread)
    return [save_picture(protection_picture(points, pantry.currency), folder / "protection.png")]


def browser() -> str | None:
    """A Chromium, where there is one."""
    names = (os.environ.get("CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome")
    return next((found for name in names if name and (found := shutil.which(name))), None)


def photographed(folder: Path) -> list[Path]:
    """The page of the sample shelf in a browser's window."""
    chromium = browser()
    if chromium is None:
        print("no Chromium was found, so the page keeps its old picture")
        return []
    with tempfile.TemporaryDirectory() as home:
        serving = subprocess.Popen(
            [sys.executable, "-m", "formulate", "page", home, "--no-browser"],
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )
        try:
            assert serving.stdout is not None
            address = serving.stdout.readline().split()[-1]
            shot = Path(home) / "shot.png"
            look = [f"--screenshot={shot}", "--window-size=900,9000", *_BROWSER]
            where = [f"--user-data-dir={home}/browser", address]
            subprocess.run(
                [chromium, *look, *where], check=True, timeout=_PATIENCE, capture_output=True
            )
            with Image.open(shot) as image:
                return sections(image.convert("L"), folder)
        finally:
            serving.terminate()
            serving.wait()


def sections(page: Image.Image, folder: Path) -> list[Path]:
    """Cut the shelf and the mix out of the page: the first heavy rule is the mix's frame."""
    dark = (np.asarray(page) < 90).mean(axis=1) > 0.7
    frame = next(y for y in range(1, len(dark)) if dark[y] and not dark[y - 1])
    shelf, mix = (0, frame - _HEADING), (frame - _HEADING, page.height)
    paths = []
    for name, (top, end) in {"page": shelf, "page-mix": mix}.items():
        paths.append(folder / f"{name}.png")
        page.crop((0, top, page.width, min(end, top + _TALLEST))).save(paths[-1])
    return paths


def shrink(path: Path) -> int:
    """Keep a picture in a few greys; return what it weighs."""
    with Image.open(path) as image:
        small = image.convert("RGB").convert("L").quantize(_GREYS)
    small.save(path, "PNG", optimize=True)
    size = path.stat().st_size
    if size > LARGEST:
        raise SystemExit(f"{path.name} weighs {size:,} bytes, more than {LARGEST:,}")
    return size


def main(folder: Path = FOLDER) -> None:
    """Make them all."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.png"):  # a command never writes over a picture that is there
        old.unlink()
    for path in [*drawn(folder), *protection(folder), *photographed(folder)]:
        print(f"{path.name}: {shrink(path) / 1e3:.0f} kB")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:2]))
