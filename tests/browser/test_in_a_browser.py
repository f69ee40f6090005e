"""The page in a real Chromium: by mouse, by keyboard alone, with scripts off, small and wide."""

from __future__ import annotations

from importlib.resources import files

import pytest
from browser.driven import axe_faults, axe_script, browser, browser_missing, served

from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock

if missing := browser_missing():
    pytest.skip(f"{missing}, so the page is not driven", allow_module_level=True)

from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver import ActionChains, Keys
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select, WebDriverWait

WIDTHS = (360, 1280)
SMALLEST_TARGET = 24  # CSS px, WCAG 2.2 success criterion 2.5.8


@pytest.fixture
def address(tmp_path):
    with served(tmp_path) as (found, _):
        yield found


@pytest.fixture
def with_animals(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    return tmp_path


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
    box = driver.find_element(By.CSS_SELECTOR, f'input[name="on"][value="{food}"]')
    click(driver, box)


def wait(driver, what):
    passing = [StaleElementReferenceException, NoSuchElementException]
    return WebDriverWait(driver, 20, ignored_exceptions=passing).until(lambda _: what())


def answer(driver):
    return by_id(driver, "answer").text


def look(driver, width):
    """What holds on every page: it fits, it says nothing on the console, axe finds no fault."""
    room = driver.execute_script("return document.documentElement.scrollWidth")
    assert room <= width, f"the page is {room} px wide in a window of {width}"
    assert not [line for line in driver.get_log("browser") if "favicon" not in line["message"]]
    if axe_script():
        assert axe_faults(driver) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_the_whole_flow_by_mouse(address, tmp_path, width):
    with browser(width) as driver:
        driver.get(address)
        wait(driver, lambda: "Of all batches made like this" in answer(driver))
        look(driver, width)
        driver.execute_script("window.stayed = true")
        before = answer(driver)

        # a tick and a number are answered in place, and spoken
        tick(driver, "evaporated-milk")
        by_id(driver, "price-heavy-cream").clear()
        by_id(driver, "price-heavy-cream").send_keys("1.00")
        wait(driver, lambda: answer(driver) != before and "aria-busy" not in driver.page_source)
        wait(driver, lambda: "a litre" in by_id(driver, "heard").get_attribute("textContent"))
        assert driver.execute_script("return window.stayed") is True
        assert driver.switch_to.active_element.get_attribute("id") == "price-heavy-cream"

        # what cannot be made says why, and what would help is one tap away
        click(driver, driver.find_element(By.CSS_SELECTOR, "#aim details summary"))
        click(driver, driver.find_element(By.CSS_SELECTOR, 'input[value="ewe-milk"]'))
        wait(driver, lambda: "These foods cannot make it" in answer(driver))
        look(driver, width)
        pressed(driver, "Add nonfat greek yogurt")
        wait(driver, lambda: driver.find_elements(By.ID, "price-nonfat-greek-yogurt"))
        assert driver.switch_to.active_element.get_attribute("id") == "price-nonfat-greek-yogurt"
        by_id(driver, "price-nonfat-greek-yogurt").send_keys("4.50")
        by_id(driver, "package-nonfat-greek-yogurt").send_keys("2 lb")
        wait(driver, lambda: "The cheapest mix" in answer(driver))
        pressed(driver, "Make it surer")
        wait(driver, lambda: "Go back to the cheapest" in driver.page_source
             or "no mix keeps clear" in driver.page_source)  # fmt: skip

        # a recipe of one's own
        by_id(driver, "recipe").send_keys("1 gallon whole milk")
        pressed(driver, "Check it")
        wait(driver, lambda: "Not right yet" in by_id(driver, "checked").text)
        look(driver, width)

        # keep the shelf
        pressed(driver, "Save my shelf")
        wait(driver, lambda: "Saved in pantry.toml" in driver.page_source)
        pantry = load_pantry(tmp_path / "pantry.toml")
        assert pantry.item("heavy-cream").price == 1
        assert not pantry.item("evaporated-milk").in_mix
        assert pantry.item("nonfat-greek-yogurt").price == 4.5
        look(driver, width)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_animals_by_mouse(with_animals, width):
    with served(with_animals) as (address, _), browser(width) as driver:
        driver.get(address)
        look(driver, width)
        Select(by_id(driver, "weigh-name")).select_by_visible_text("Wren")
        by_id(driver, "weight").send_keys("4.0 kg")
        driver.execute_script("window.stayed = true")
        pressed(driver, "Write it down", 'form[action^="/weigh"]')
        wait(driver, lambda: "Written down: Wren, 4.00 kg" in by_id(driver, "animals").text)
        opened = driver.find_element(By.CSS_SELECTOR, "#scours-1 summary")
        wait(driver, lambda: click(driver, opened) or True)
        Select(by_id(driver, "eyes-1")).select_by_visible_text("slightly sunken")
        pressed(driver, "What to do for Pip")
        wait(driver, lambda: "Only if your veterinarian agrees" in by_id(driver, "scours-1").text)
        heard = by_id(driver, "heard").get_attribute("textContent")
        assert heard == "Only if your veterinarian agrees"
        assert Select(by_id(driver, "eyes-1")).first_selected_option.text == "slightly sunken"
        look(driver, width)
        pressed(driver, "Make my shopping list")
        wait(driver, lambda: "trips" in by_id(driver, "shopping").text)
        assert driver.execute_script("return window.stayed") is True
        look(driver, width)
    flock = load_flock(with_animals / "flock.toml").flock
    assert flock.animal("Wren").last_weight.kilograms == 4


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


def test_the_whole_flow_by_keyboard_alone(address, tmp_path):
    with browser(1280) as driver:
        driver.get(address)
        first = tab_to(driver, lambda e: True)
        assert first.text == "Go to the mix"
        before = answer(driver)
        tab_to(driver, lambda e: e.get_attribute("value") == "heavy-cream"
               and e.get_attribute("name") == "on")  # fmt: skip
        press(driver, Keys.SPACE)
        wait(driver, lambda: answer(driver) != before)
        press(driver, Keys.SPACE)
        wait(driver, lambda: "heavy cream" in answer(driver))
        tab_to(driver, lambda e: e.get_attribute("id") == "price-heavy-cream")
        keys = ActionChains(driver)
        keys.key_down(Keys.CONTROL).send_keys("a").key_up(Keys.CONTROL).send_keys("2.00").perform()
        press(driver, Keys.ENTER)
        wait(driver, lambda: "/mix" in driver.current_url)  # Enter shows the mix
        assert by_id(driver, "price-heavy-cream").get_attribute("value") == "2.00"
        tab_to(driver, lambda e: "Make it surer" in e.text and e.tag_name == "button")
        press(driver, Keys.ENTER)
        wait(driver, lambda: "Go back to the cheapest" in driver.page_source)
        tab_to(driver, lambda e: e.get_attribute("id") == "recipe")
        press(driver, "1 gallon whole milk")
        tab_to(driver, lambda e: "Check it" in e.text)
        press(driver, Keys.SPACE)
        wait(driver, lambda: "Not right yet" in by_id(driver, "checked").text)
        tab_to(driver, lambda e: e.get_attribute("id") == "animal")
        press(driver, "Oak")
        tab_to(driver, lambda e: e.get_attribute("id") == "born")
        press(driver, "11022026")
        tab_to(driver, lambda e: e.get_attribute("id") == "birth-weight")
        press(driver, "4.2 kg", Keys.ENTER)
        wait(driver, lambda: "Oak is on the list" in by_id(driver, "animals").text)
        driver.execute_script("document.activeElement.blur(); window.scrollTo(0, 0)")
        driver.get(address)
        tab_to(driver, lambda e: "Save my shelf" in e.text)
        press(driver, Keys.ENTER)
        wait(driver, lambda: "Saved in pantry.toml" in driver.page_source)
    assert load_flock(tmp_path / "flock.toml").flock.names == ["Oak"]
    assert load_pantry(tmp_path / "pantry.toml").items


def test_the_whole_flow_with_scripts_off(with_animals):
    with served(with_animals) as (address, _), browser(360, scripts=False) as driver:
        driver.get(address)
        wait(driver, lambda: "Of all batches made like this" in answer(driver))
        before = answer(driver)
        tick(driver, "heavy-cream")
        assert answer(driver) == before  # there is no script
        pressed(driver, "Show the mix", "#aim")
        wait(driver, lambda: "/mix" in driver.current_url and answer(driver) != before)
        pressed(driver, "Save my shelf")
        wait(driver, lambda: "Saved in pantry.toml" in driver.page_source)
        by_id(driver, "recipe").send_keys("1 gallon whole milk")
        pressed(driver, "Check it")
        wait(driver, lambda: "Not right yet" in by_id(driver, "checked").text)
        by_id(driver, "weight").send_keys("5.9 kg")
        pressed(driver, "Write it down", 'form[action^="/weigh"]')
        wait(driver, lambda: "Written down: Pip" in by_id(driver, "animals").text)
    assert not load_pantry(with_animals / "pantry.toml").item("heavy-cream").in_mix


@pytest.mark.parametrize("width", WIDTHS)
def test_a_change_elsewhere_is_shown_and_looks_right(with_animals, width):
    with served(with_animals) as (address, _), browser(width) as driver:
        driver.get(address)
        path = with_animals / "pantry.toml"
        path.write_text(path.read_text().replace("6.49", "7.77"))
        by_id(driver, "price-whole-milk").clear()
        by_id(driver, "price-whole-milk").send_keys("4.10")
        pressed(driver, "Save my shelf")
        wait(driver, lambda: "was changed elsewhere" in driver.title)
        assert "7.77" in path.read_text()
        if axe_script():
            assert axe_faults(driver) == []
        pressed(driver, "Keep both")
        wait(driver, lambda: "Saved in pantry.toml" in driver.page_source)
        pantry = load_pantry(path)
        assert (pantry.item("whole-milk").price, pantry.item("heavy-cream").price) == (4.1, 7.77)


def test_nothing_is_loaded_from_elsewhere(address):
    with browser(1280) as driver:
        driver.get(address)
        wait(driver, lambda: "Of all batches" in answer(driver))
        loaded = driver.execute_script(
            "return performance.getEntriesByType('resource').map(e => e.name)"
        )
        assert loaded
        assert all(name.startswith(address) for name in loaded)


def test_at_320_px_everything_fits_and_can_be_hit(with_animals):
    """Reflow (WCAG 1.4.10) and target size (2.5.8), everything that opens being open."""
    with served(with_animals) as (address, _), browser(320) as driver:
        driver.get(address)
        wait(driver, lambda: "Of all batches" in answer(driver))
        driver.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
        look(driver, 320)
        small = driver.execute_script(
            "return [...document.querySelectorAll('main button, input, select, summary, nav a')]"
            ".filter(e => e.offsetParent && e.type !== 'hidden')"
            ".map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])"
            f".filter(([_, r]) => Math.min(r.width, r.height) < {SMALLEST_TARGET})"
            ".map(([text, _]) => text)"
        )
        assert small == []


def test_on_paper_the_recipe_stays_and_the_fields_go(with_animals):
    with served(with_animals) as (address, _), browser(800) as driver:
        driver.get(address)
        wait(driver, lambda: "Of all batches" in answer(driver))
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        shown = by_id(driver, "main").text
        assert "whole milk" in shown
        assert "Take care" in shown
        assert "Pip" in shown
        fields = driver.find_elements(By.CSS_SELECTOR, "input, button, select, textarea")
        assert not [f for f in fields if f.is_displayed()]
