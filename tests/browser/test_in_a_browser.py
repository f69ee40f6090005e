"""The page in a real Chromium: by thumb, by keyboard alone, with scripts off, small and wide."""

from __future__ import annotations

import csv
import time
from importlib.resources import files

import pytest
from browser.driven import (
    axe_faults,
    axe_script,
    browser,
    browser_missing,
    resized,
    served,
)
from page.visitor import ADDRESSES

from formulate.page.places import PLACES
from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock

if missing := browser_missing():
    pytest.skip(f"{missing}, so the page is not driven", allow_module_level=True)

from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

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
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    return folder


def by_id(driver, name):
    return driver.find_element(By.ID, name)


def button(driver, words, inside="body"):
    for found in driver.find_elements(By.CSS_SELECTOR, f"{inside} button"):
        if found.is_displayed() and words in found.text:
            return found
    raise NoSuchElementException(f"no button {words!r}")


def pressed(driver, words, inside="body"):
    """Press a button once it is there: the page may still be coming in."""
    wait(driver, lambda: click(driver, button(driver, words, inside)) or True)


def click(driver, element):
    driver.execute_script("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})",
                          element)  # fmt: skip
    element.click()


def tick(driver, food):
    click(driver, driver.find_element(By.CSS_SELECTOR, f'input[name="on"][value="{food}"]'))


def typed(driver, name, text):
    field = by_id(driver, name)
    field.clear()
    field.send_keys(text)


def wait(driver, what):
    passing = [StaleElementReferenceException, NoSuchElementException]
    return WebDriverWait(driver, 20, ignored_exceptions=passing).until(lambda _: what())


def answer(driver):
    return by_id(driver, "answer").text


def shown(driver, words):
    wait(driver, lambda: words in by_id(driver, "main").text)


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
        first = button(phone, "drank this")
        on_screen = phone.execute_script(
            "const r = arguments[0].getBoundingClientRect();"
            "const nav = document.querySelector('nav').getBoundingClientRect();"
            "return r.top >= 0 && r.bottom <= nav.top", first)  # fmt: skip
        assert on_screen, "the next feed is not on the first screen"
        name = first.text.removesuffix(" drank this")
        assert name == "Dot"  # the newborn's colostrum comes first
        first.click()
        wait(phone, lambda: by_id(phone, "asked"))
        button(phone, "Ann").click()
        shown(phone, "Written down: Dot")
        button(phone, "Pip drank this").click()
        shown(phone, "Written down: Pip")
        written = [(row["animal"], row["what"], row["by"]) for row in log_of(folder)[1:]]
        assert written == [("Dot", "colostrum", "Ann"), ("Pip", "milk", "Ann")]
        look(phone, 360)


def test_an_open_page_notices_within_seconds_and_loses_nothing_that_is_typed(phone, tmp_path):
    from formulate.answers.record import record
    from formulate.answers.wanted import wanted_of

    folder = with_samples(tmp_path)
    with served(folder) as (address, _):
        phone.get(address)
        assert button(phone, "Pip drank this")
        phone.execute_script("window.stayed = true")
        record(folder / "flock.toml", [wanted_of("Pip", "milk", "8 fl oz", by="Bob")])
        started = time.monotonic()
        wait(phone, lambda: "Pip drank this" not in by_id(phone, "now").text)
        assert time.monotonic() - started < 10
        assert phone.execute_script("return window.stayed") is True
        assert "by Bob" in by_id(phone, "now").text
        # somebody who is typing is told, and nothing is taken from under their hands
        click(phone, phone.find_element(By.CSS_SELECTOR, ".who summary"))
        by_id(phone, "who-name").send_keys("An")
        record(folder / "flock.toml", [wanted_of("Dot", "temperature", "38.9 C")])
        wait(phone, lambda: by_id(phone, "news").is_displayed())
        assert by_id(phone, "who-name").get_attribute("value") == "An"


def test_the_mix_is_answered_tick_by_tick_and_saved(phone, tmp_path):
    with served(tmp_path) as (address, _):
        phone.get(address)
        wait(phone, lambda: "Of all batches made like this" in answer(phone))
        look(phone, 360)
        phone.execute_script("window.stayed = true")
        before = answer(phone)
        tick(phone, "evaporated-milk")
        wait(phone, lambda: answer(phone) != before and "aria-busy" not in phone.page_source)
        wait(phone, lambda: "a litre" in by_id(phone, "heard").get_attribute("textContent"))
        assert "Not saved yet: evaporated milk" in answer(phone)
        assert phone.execute_script("return window.stayed") is True
        # what is not saved yet is not lost on the way to another place and back
        phone.get(address + "shop")
        phone.get(address + "mix")
        assert "Not saved yet: evaporated milk" in answer(phone)

        # what cannot be made says why, and what would help is one tap away
        click(phone, phone.find_element(By.CSS_SELECTOR, "#aim summary"))
        click(phone, phone.find_element(By.CSS_SELECTOR, 'input[value="ewe-milk"]'))
        wait(phone, lambda: "These foods cannot make it" in answer(phone))
        pressed(phone, "Add nonfat greek yogurt")
        wait(phone, lambda: phone.find_elements(By.ID, "price-nonfat-greek-yogurt"))
        assert phone.switch_to.active_element.get_attribute("id") == "price-nonfat-greek-yogurt"
        by_id(phone, "price-nonfat-greek-yogurt").send_keys("4.50")
        by_id(phone, "package-nonfat-greek-yogurt").send_keys("2 lb")
        wait(phone, lambda: "The cheapest mix" in answer(phone))
        look(phone, 360)
        pressed(phone, "Save the shelf")
        shown(phone, "Saved in pantry.toml")
        pantry = load_pantry(tmp_path / "pantry.toml")
        assert not pantry.item("evaporated-milk").in_mix
        assert pantry.item("nonfat-greek-yogurt").price == 4.5

        # a price that is typed on the shelf is remembered before it is saved
        phone.get(address + "shelf")
        before = phone.get_cookie("draft")
        typed(phone, "price-whole-milk", "4.10" + Keys.TAB)
        wait(phone, lambda: phone.get_cookie("draft") not in (before, None))
        time.sleep(1)
        phone.get(address + "mix")
        assert "Not saved yet: whole milk" in answer(phone)


def tab_to(driver, wanted, most=200):
    """Press Tab until a place is reached; every place on the way can be seen to have the focus."""
    for _ in range(most):
        ActionChains(driver).send_keys(Keys.TAB).perform()
        active = driver.switch_to.active_element
        outline = active.value_of_css_property("outline-style")
        assert outline != "none", f"no focus to be seen on {active.get_attribute('outerHTML')}"
        if wanted(active):
            return active
    raise AssertionError("it cannot be reached by Tab")


def press(driver, *keys):
    ActionChains(driver).send_keys(*keys).perform()


def test_the_whole_flow_by_keyboard_alone(phone, tmp_path):
    resized(phone, 1280, 800)
    with served(tmp_path) as (address, _):
        phone.get(address)
        first = tab_to(phone, lambda e: True)
        assert first.text == "Skip to the page"
        before = answer(phone)
        tab_to(phone, lambda e: e.get_attribute("value") == "heavy-cream"
               and e.get_attribute("name") == "on")  # fmt: skip
        press(phone, Keys.SPACE)
        wait(phone, lambda: answer(phone) != before)
        press(phone, Keys.SPACE)
        wait(phone, lambda: "heavy cream" in answer(phone))
        tab_to(phone, lambda e: "Make it more certain" in e.text and e.tag_name == "button")
        press(phone, Keys.ENTER)
        wait(phone, lambda: "Go back to the cheapest" in phone.page_source)
        phone.get(address + "check")
        tab_to(phone, lambda e: e.get_attribute("id") == "recipe")
        press(phone, "1 gallon whole milk")
        tab_to(phone, lambda e: "Check it" in e.text)
        press(phone, Keys.SPACE)
        shown(phone, "Not right yet")
        phone.get(address + "animals")
        tab_to(phone, lambda e: e.get_attribute("id") == "animal")
        press(phone, "Oak")
        tab_to(phone, lambda e: e.get_attribute("id") == "born")
        press(phone, "11022026")
        tab_to(phone, lambda e: e.get_attribute("id") == "birth-weight")
        press(phone, "4.2 kg", Keys.ENTER)
        shown(phone, "Oak is on the list")
        phone.get(address + "shelf")
        tab_to(phone, lambda e: "Save my shelf" in e.text)
        press(phone, Keys.ENTER)
        shown(phone, "Saved in pantry.toml")
    assert load_flock(tmp_path / "flock.toml").flock.names == ["Oak"]
    assert load_pantry(tmp_path / "pantry.toml").items


def test_the_whole_flow_with_scripts_off(tmp_path):
    folder = with_samples(tmp_path)
    with served(folder) as (address, _), browser(*TELEPHONE, scripts=False) as driver:
        driver.get(address)
        button(driver, "Pip drank this").click()
        typed(driver, "somebody", "Ann")
        pressed(driver, "Write it down", "#asked")
        shown(driver, "Written down: Pip")
        driver.get(address + "mix")
        before = answer(driver)
        tick(driver, "heavy-cream")
        assert answer(driver) == before  # there is no script
        pressed(driver, "Show the mix")
        wait(driver, lambda: answer(driver) != before)
        pressed(driver, "Save the shelf")
        shown(driver, "Saved in pantry.toml")
        driver.get(address + "check")
        by_id(driver, "recipe").send_keys("1 gallon whole milk")
        pressed(driver, "Check it")
        shown(driver, "Not right yet")
        driver.get(address + "animals")
        by_id(driver, "weight").send_keys("5.9 kg")
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
        pressed(phone, "Save my shelf")
        wait(phone, lambda: "was changed elsewhere" in phone.title)
        assert "7.77" in path.read_text()
        look(phone, 360)
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
        text = by_id(phone, "main").text
        assert all(word in text for word in words)
        if address == "":  # whose each bottle is stands beside it, not only on its button
            due = phone.find_elements(By.CSS_SELECTOR, ".due li")
            assert next(one.text.partition(":")[0] for one in due) == "Dot"
        fields = phone.find_elements(By.CSS_SELECTOR, "input, button, select, textarea")
        assert not [f for f in fields if f.is_displayed()]
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
