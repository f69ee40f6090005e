"""Whatever is wrong in the barn, the next feed and its button are on a telephone's first screen."""

from __future__ import annotations

import base64
import threading
from datetime import date, timedelta
from importlib.resources import files

import pytest
from browser.driven import browser, browser_missing, wait
from werkzeug.serving import make_server

from formulate.page.app import create_app

if missing := browser_missing():
    pytest.skip(f"{missing}, so the page is not driven", allow_module_level=True)

from browser.hands import has, read

TELEPHONE = (360, 640)
DAY = date(2026, 11, 26)  # noon of it: the feed of ten o'clock is due
SAMPLE = files("nutrient_tables").joinpath("sample_pantry.toml").read_text(encoding="utf-8")
TOO_MUCH = "2 gallon whole-milk + 2 cups whole-buttermilk + 6 cans sweetened-condensed-milk"


def flock(animals, mix="cream-and-powder"):
    """A list of animals: name, species and age in days of each."""
    times = ", ".join(f'"{hour:02}:00"' for hour in (2, 6, 10, 14, 18, 22))
    lines = [f"day = {DAY}", f'mix = "{mix}"', f"feeding_times = [{times}]"]
    for name, species, days in animals:
        lines += [f'[animals."{name}"]', f'species = "{species}"', 'birth_weight = "4 kg"',
                  f"born = {DAY - timedelta(days)}"]  # fmt: skip
        if days > 1:
            weight = 4 + 0.2 * (days - 1)
            lines.append(f'weights = [{{ on = {DAY - timedelta(1)}, weight = "{weight:.1f} kg" }}]')
    return "\n".join(lines) + "\n"


TWELVE = [(f"Number {k}", "lamb", 2 * k) for k in range(12)]
#: What the folder has: the list of animals, and its log.
BARNS = {
    "one": (flock([("Pip", "lamb", 12)]), ""),
    "twelve": (flock(TWELVE), ""),
    "long names": (
        flock([("Bartholomew-of-the-far-western-hill-farm", "lamb", 12),
               ("Wilhelmina Persephone of Upper Hollow No2", "kid", 6)]), ""),
    "never": (flock([("Pip", "lamb", 12), ("Wren", "lamb", 1)], TOO_MUCH), ""),
    "too weak": (flock([("Pip", "lamb", 12), ("Wren", "lamb", 0)], "plain-milk"), ""),
    "a log of something else": (
        flock([("Pip", "lamb", 12), ("Wren", "lamb", 0)], "plain-milk"),
        "Date;Item;Price\n2026-01-01;hay;12.00\n"),
}  # fmt: skip


@pytest.fixture(scope="module")
def barn():
    """A page of which the folder can be changed; its address, and how to change it."""
    pages = []

    def newest(environ, start_response):
        return pages[-1](environ, start_response)

    server = make_server("127.0.0.1", 0, newest)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield (
        f"http://127.0.0.1:{server.port}/",
        lambda folder: pages.append(create_app(folder, server.port)),
    )
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture(scope="module")
def phone():
    with browser(*TELEPHONE) as found:
        yield found


def opened(phone, barn, folder, name):
    """Open the day of one of the barns, with its first feed."""
    address, change = barn
    animals, log = BARNS[name]
    (folder / "pantry.toml").write_text(SAMPLE, encoding="utf-8")
    (folder / "flock.toml").write_text(animals)
    if log:
        (folder / "flock.log.csv").write_text(log)
    change(folder)
    phone.get(address)
    wait(phone, lambda: has(phone, ".due button"))


def test_the_next_feed_and_its_button_are_on_the_first_screen(phone, barn, tmp_path):
    for name in BARNS:
        folder = tmp_path / name.replace(" ", "-")
        folder.mkdir()
        opened(phone, barn, folder, name)
        bottom, ends, wide = read(
            phone,
            "return [document.querySelector('.due button').getBoundingClientRect().bottom,"
            " document.querySelector('.places').getBoundingClientRect().top,"
            " document.documentElement.scrollWidth]",
        )
        assert bottom <= ends, f"{name}: the button ends at {bottom} of {ends} px"
        assert wide <= TELEPHONE[0], name


def test_the_day_of_twelve_animals_is_one_sheet_of_paper(phone, barn, tmp_path):
    import pypdfium2

    opened(phone, barn, tmp_path, "twelve")
    paper = {"paperWidth": 8.27, "paperHeight": 11.69}
    pdf = phone.execute_cdp_cmd("Page.printToPDF", paper)["data"]
    with pypdfium2.PdfDocument(base64.b64decode(pdf)) as document:
        assert len(document) == 1
