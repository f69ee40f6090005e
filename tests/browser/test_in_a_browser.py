"""The page in a real Chromium: by thumb, by keyboard alone, with scripts off, small and wide."""

from __future__ import annotations

import csv
from importlib.resources import files

import pytest
from browser.driven import (
    axe_faults,
    axe_script,
    browser,
    browser_missing,
    resized,
    served,
    wait,
)
from page.visitor import ADDRESSES

from formulate.page.drafts import drafted
from formulate.page.places import PLACES
from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock

if missing := browser_missing():
    pytest.skip(f"{missing}, so the page is not driven", allow_module_level=True)

from browser.hands import (
    focused,
    has,
    keys,
    next_answer,
    next_page,
    pressed,
    read,
    said,
    shown,
    tapped,
    ticked,
    typed,
    value_of,
)
from selenium.webdriver import Keys

TELEPHONE = (360, 640)
SMALLEST_TARGET = 24  # CSS px, WCAG 2.2 success criterion 2.5.8


@pytest.fixture(scope="module")
def driver():
    with browser(*TELEPHONE) as found:
        yield found


@pytest.fixture
def phone(driver):
    """A telephone that nobody has used yet."""
    driver.execute_cdp_cmd("Network.clearBrowserCookies", {})
    resized(driver, *TELEPHONE)
    return driver


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory):
    """The address of a household that nothing is written of."""
    with served(with_samples(tmp_path_factory.mktemp("looked"))) as (address, _):
        yield address


def with_samples(folder):
    """The samples; everybody on milk is due at noon, the hour at which the sample is looked at."""
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data.replace(b'"13:00"', b'"12:00"'))
    return folder


def unsaved(driver, food):
    """What the browser keeps of a food that is not saved: its tick, price and package."""
    cookie = driver.get_cookie("draft")
    return drafted(cookie["value"]).get("foods", {}).get(food) if cookie else None


def look(driver, width):
    """What holds of every place: it fits, it says nothing on the console, axe finds no fault."""
    room = driver.execute_script("return document.documentElement.scrollWidth")
    assert room <= width, f"{driver.current_url} is {room} px wide in a window of {width}"
    # A form that is shown again, or a program that was stopped, is no fault of the script.
    assert not [line for line in driver.get_log("browser") if line["source"] != "network"]
    if axe_script():
        assert axe_faults(driver) == [], driver.current_url


def log_of(folder):
    with (folder / "flock.log.csv").open() as file:
        return list(csv.DictReader(file))


def test_open_tap_tap_and_the_feed_is_written_down_with_its_feeder(phone, tmp_path):
    """At 360 x 640, on a telephone that does not know yet who holds it; then one tap is enough."""
    folder = with_samples(tmp_path)
    (folder / "flock.log.csv").write_text(
        "when,animal,what,amount,unit,note,by\n2026-11-13T18:00,Pip,milk,240,mL,,Ann\n"
    )
    with served(folder) as (address, _):
        phone.get(address)
        first, on_screen = read(
            phone,
            "const first = [...document.querySelectorAll('button')]"
            ".find(one => one.checkVisibility() && one.innerText.includes('drank this'));"
            "const r = first.getBoundingClientRect();"
            "const nav = document.querySelector('nav').getBoundingClientRect();"
            "return [first.innerText, r.top >= 0 && r.bottom <= nav.top]",
        )
        assert on_screen, "the next feed is not on the first screen"
        assert first == "Dot drank this"  # the newborn's colostrum comes first
        pressed(phone, first)
        shown(phone, "Ann", "#asked")
        pressed(phone, "Ann", "#asked")
        shown(phone, "Written down: Dot")
        pressed(phone, "Pip drank this")
        shown(phone, "Written down: Pip")
        written = [(row["animal"], row["what"], row["by"]) for row in log_of(folder)[1:]]
        assert written == [("Dot", "colostrum", "Ann"), ("Pip", "milk", "Ann")]
        look(phone, 360)


def test_an_open_page_notices_by_itself_and_loses_nothing_that_is_typed(phone, tmp_path):
    from formulate.answers.record import record
    from formulate.answers.wanted import wanted_of

    folder = with_samples(tmp_path)
    with served(folder) as (address, _):
        phone.get(address)
        assert "Pip drank this" in said(phone, "#now")
        phone.execute_script("window.stayed = true")
        record(folder / "flock.toml", [wanted_of("Pip", "milk", "8 fl oz", by="Bob")])
        wait(phone, lambda: "Pip drank this" not in said(phone, "#now"))
        assert phone.execute_script("return window.stayed") is True
        assert "by Bob" in said(phone, "#now")
        # somebody who is typing is told, and nothing is taken from under their hands
        tapped(phone, ".who summary")
        typed(phone, "who-name", "An")
        record(folder / "flock.toml", [wanted_of("Dot", "temperature", "38.9 C")])
        wait(phone, lambda: has(phone, "#news"))
        assert value_of(phone, "who-name") == "An"


def test_the_mix_is_answered_tick_by_tick_and_saved(phone, tmp_path):
    with served(tmp_path) as (address, _):
        phone.get(address)
        shown(phone, "Of all batches made like this", "#answer")
        look(phone, 360)
        phone.execute_script("window.stayed = true")
        before = said(phone, "#answer")
        with next_answer(phone):
            ticked(phone, "evaporated-milk")
        assert said(phone, "#answer") != before
        assert "a litre" in read(phone, "return document.getElementById('heard').textContent")
        assert "Not saved yet: evaporated milk" in said(phone, "#answer")
        assert phone.execute_script("return window.stayed") is True
        # what is not saved yet is not lost on the way to another place and back
        phone.get(address + "shop")
        phone.get(address + "mix")
        assert "Not saved yet: evaporated milk" in said(phone, "#answer")

        # what cannot be made says why, and what would help is one tap away
        tapped(phone, "#aim summary")
        with next_answer(phone):
            tapped(phone, 'input[value="ewe-milk"]')
        assert "These foods cannot make it" in said(phone, "#answer")
        with next_page(phone):
            pressed(phone, "Add nonfat greek yogurt")
        wait(phone, lambda: focused(phone) == "price-nonfat-greek-yogurt")
        with next_answer(phone):
            typed(phone, "price-nonfat-greek-yogurt", "4.50")
        with next_answer(phone):
            typed(phone, "package-nonfat-greek-yogurt", "2 lb")
        assert "The cheapest mix" in said(phone, "#answer")
        look(phone, 360)
        with next_page(phone):
            pressed(phone, "Save the shelf")
        shown(phone, "Saved in pantry.toml")
        pantry = load_pantry(tmp_path / "pantry.toml")
        assert not pantry.item("evaporated-milk").in_mix
        assert pantry.item("nonfat-greek-yogurt").price == 4.5

        # a price that is typed on the shelf is remembered before it is saved
        phone.get(address + "shelf")
        typed(phone, "price-whole-milk", "4.10")
        keys(phone, Keys.TAB)
        wait(phone, lambda: (unsaved(phone, "whole-milk") or ["", ""])[1] == "4.10")
        phone.get(address + "mix")
        assert "Not saved yet: whole milk" in said(phone, "#answer")


#: What has the focus: what it is, what it says, and whether the focus can be seen.
FOCUSED = """
const e = document.activeElement;
return {id: e.id, tag: e.tagName, name: e.name ?? "", value: e.value ?? "", text: e.innerText,
        outline: getComputedStyle(e).outlineStyle, html: e.outerHTML.slice(0, 200)};
"""


def tab_to(driver, wanted, most=200):
    """Press Tab until a place is reached; every place on the way can be seen to have the focus."""
    for _ in range(most):
        keys(driver, Keys.TAB)
        active = read(driver, FOCUSED)
        assert active["outline"] != "none", f"no focus to be seen on {active['html']}"
        if wanted(active):
            return active
    raise AssertionError("it cannot be reached by Tab")


def test_the_whole_flow_by_keyboard_alone(phone, tmp_path):
    resized(phone, 1280, 800)
    with served(tmp_path) as (address, _):
        phone.get(address)
        assert tab_to(phone, lambda e: True)["text"] == "Skip to the page"
        before = said(phone, "#answer")
        tab_to(phone, lambda e: (e["name"], e["value"]) == ("on", "heavy-cream"))
        with next_answer(phone):
            keys(phone, Keys.SPACE)
        assert said(phone, "#answer") != before
        with next_answer(phone):
            keys(phone, Keys.SPACE)
        assert said(phone, "#answer") == before
        tab_to(phone, lambda e: "Make it more certain" in e["text"] and e["tag"] == "BUTTON")
        with next_page(phone):
            keys(phone, Keys.ENTER)
        shown(phone, "Go back to the cheapest")
        phone.get(address + "check")
        tab_to(phone, lambda e: e["id"] == "recipe")
        keys(phone, "1 gallon whole milk")
        tab_to(phone, lambda e: "Check it" in e["text"])
        with next_page(phone):
            keys(phone, Keys.SPACE)
        shown(phone, "Not right yet")
        phone.get(address + "animals")
        tab_to(phone, lambda e: e["id"] == "animal")
        keys(phone, "Oak")
        tab_to(phone, lambda e: e["id"] == "born")
        keys(phone, "11022026")
        tab_to(phone, lambda e: e["id"] == "birth-weight")
        with next_page(phone):
            keys(phone, "4.2 kg", Keys.ENTER)
        shown(phone, "Oak is on the list")
        phone.get(address + "shelf")
        tab_to(phone, lambda e: "Save my shelf" in e["text"])
        with next_page(phone):
            keys(phone, Keys.ENTER)
        shown(phone, "Saved in pantry.toml")
    assert load_flock(tmp_path / "flock.toml").flock.names == ["Oak"]
    assert load_pantry(tmp_path / "pantry.toml").items


def test_the_whole_flow_with_scripts_off(tmp_path):
    folder = with_samples(tmp_path)
    with served(folder) as (address, _), browser(*TELEPHONE, scripts=False) as driver:
        driver.get(address)
        with next_page(driver):
            pressed(driver, "Pip drank this")
        typed(driver, "somebody", "Ann")
        with next_page(driver):
            pressed(driver, "Write it down", "#asked")
        shown(driver, "Written down: Pip")
        driver.get(address + "mix")
        before = said(driver, "#answer")
        ticked(driver, "heavy-cream")
        assert said(driver, "#answer") == before  # there is no script
        with next_page(driver):
            pressed(driver, "Show the mix")
        assert said(driver, "#answer") != before
        with next_page(driver):
            pressed(driver, "Save the shelf")
        shown(driver, "Saved in pantry.toml")
        driver.get(address + "check")
        typed(driver, "recipe", "1 gallon whole milk")
        with next_page(driver):
            pressed(driver, "Check it")
        shown(driver, "Not right yet")
        driver.get(address + "animals")
        typed(driver, "weight", "5.9 kg")
        with next_page(driver):
            pressed(driver, "Write it down", "#weigh")
        shown(driver, "Written down: Pip")
    assert not load_pantry(folder / "pantry.toml").item("heavy-cream").in_mix
    assert log_of(folder)[0]["by"] == "Ann"


def test_a_change_elsewhere_is_shown_and_looks_right(phone, tmp_path):
    folder = with_samples(tmp_path)
    with served(folder) as (address, _):
        phone.get(address + "shelf")
        path = folder / "pantry.toml"
        path.write_text(path.read_text().replace("6.49", "7.77"))
        typed(phone, "price-whole-milk", "4.10")
        with next_page(phone):
            pressed(phone, "Save my shelf")
        assert "was changed elsewhere" in phone.title
        assert "7.77" in path.read_text()
        look(phone, 360)
        with next_page(phone):
            pressed(phone, "Keep both")
        shown(phone, "Saved in pantry.toml")
        pantry = load_pantry(path)
        assert (pantry.item("whole-milk").price, pantry.item("heavy-cream").price) == (4.1, 7.77)


@pytest.mark.parametrize(
    ("size", "dark"), [((360, 640), False), ((412, 915), True), ((1280, 800), False)]
)
def test_every_place_looks_right(phone, looked_at, size, dark):
    resized(phone, *size, dark=dark)
    wide = size[0] > 1000  # there the places are the telephone's, with more room
    for address in [place.address for place in PLACES] if wide else ADDRESSES:
        phone.get(looked_at + address[1:])
        look(phone, size[0])


def test_at_320_px_everything_fits_and_can_be_hit(phone, looked_at):
    """Reflow (WCAG 1.4.10) and target size (2.5.8), everything that opens being open."""
    resized(phone, 320, 640)
    for address in ADDRESSES:
        phone.get(looked_at + address[1:])
        phone.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
        room = phone.execute_script("return document.documentElement.scrollWidth")
        assert room <= 320, address
        small = phone.execute_script(
            "return [...document.querySelectorAll('main button, input, select, summary, nav a')]"
            ".filter(e => e.offsetParent && e.type !== 'hidden')"
            ".map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])"
            f".filter(([_, r]) => Math.min(r.width, r.height) < {SMALLEST_TARGET})"
            ".map(([text, _]) => text)"
        )
        assert small == [], address


def test_nothing_is_loaded_from_elsewhere(phone, looked_at):
    phone.get(looked_at + "mix")
    loaded = phone.execute_script(
        "return performance.getEntriesByType('resource').map(e => e.name)"
    )
    assert loaded
    assert all(name.startswith(looked_at) for name in loaded)


def test_on_paper_the_day_and_the_mix_stay_and_the_fields_go(phone, looked_at):
    for address, words in (("", ("Pip", "The day by the clock")), ("mix", ("whole milk",))):
        phone.get(looked_at + address)
        phone.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        text = said(phone)
        assert all(word in text for word in words)
        if address == "":  # whose each bottle is stands beside it, not only on its button
            due = read(phone, "return [...document.querySelectorAll('.due li')]"
                       ".map(one => one.innerText)")  # fmt: skip
            assert due[0].partition(":")[0] == "Dot"
        assert not has(phone, "input, button, select, textarea")
        paper = {"paperWidth": 8.27, "paperHeight": 11.69}
        pdf = phone.execute_cdp_cmd("Page.printToPDF", paper)["data"]
        phone.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        if address == "":
            assert sheets(pdf) == 1


def sheets(data):
    """Pages of a PDF."""
    import base64

    import pypdfium2

    with pypdfium2.PdfDocument(base64.b64decode(data)) as document:
        return len(document)
