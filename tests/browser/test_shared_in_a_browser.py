"""Telephones in a real Chromium: pairing, feeds under the owner's name, and feeds that wait.

The second address is 127.0.0.2, which only a test may share at.
"""

from __future__ import annotations

import sys
import time
from datetime import datetime, timedelta

import pytest
from browser.driven import axe_faults, axe_script, browser, browser_missing
from page.shared import sharing

if missing := browser_missing():
    pytest.skip(f"{missing}, so the page is not driven", allow_module_level=True)
if sys.platform != "linux":
    pytest.skip("this system has one loopback address only", allow_module_level=True)

from selenium.common.exceptions import NoSuchElementException, StaleElementReferenceException
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from formulate.answers.record import record
from formulate.answers.wanted import wanted_of
from formulate.rearing.log import log_path, read_log


@pytest.fixture
def folder(tmp_path):
    """Two lambs of ten days that are to be fed now."""
    folder = tmp_path / "kitchen"
    folder.mkdir()
    now = datetime.now()
    times = sorted(f"{now + timedelta(hours=4 * k, minutes=5):%H:%M}" for k in range(6))
    lamb = f"""born = {now - timedelta(days=10):%Y-%m-%d}
birth_weight = "4.4 kg"
weights = [{{ on = {now - timedelta(days=1):%Y-%m-%d}, weight = "6.0 kg" }}]"""
    (folder / "flock.toml").write_text(
        f"""
mix = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
feeding_times = {times}
kitchen = "metric"
[animals.Pip]
{lamb}
[animals.Wren]
{lamb}
"""
    )
    return folder


def wait(driver, what, seconds=20):
    passing = [StaleElementReferenceException, NoSuchElementException]
    return WebDriverWait(driver, seconds, ignored_exceptions=passing).until(lambda _: what())


def button(driver, words, inside="body"):
    for found in driver.find_elements(By.CSS_SELECTOR, f"{inside} button"):
        if found.is_displayed() and words in found.text:
            return found
    raise NoSuchElementException(f"no button {words!r}")


def press(driver, words, inside="body"):
    found = button(driver, words, inside)
    driver.execute_script(
        "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", found
    )
    found.click()


def text(driver, where="body"):
    return driver.find_element(By.CSS_SELECTOR, where).text


def pair(driver, shared, owner):
    driver.get(shared.code)
    assert driver.get_log("browser") == []  # its own policy stops nothing that it needs
    if axe_script():
        assert axe_faults(driver) == []
    driver.find_element(By.ID, "owner").send_keys(owner)
    press(driver, "Pair it")
    wait(driver, lambda: button(driver, "Pip drank this"))


def fed(folder):
    log = log_path(folder / "flock.toml")
    return [(one.animal, one.by) for one in read_log(log).written] if log.exists() else []


def test_a_second_profile_pairs_and_feeds_under_its_name(folder, tmp_path):
    with (
        sharing(folder, tmp_path) as shared,
        browser(1280) as computer,
        browser(360, 640) as telephone,
    ):
        telephone.get(shared.network)
        assert "not paired" in text(telephone)
        telephone.get_log("browser")  # that it was turned away
        computer.get(shared.home)
        wait(computer, lambda: "Pip" in text(computer))
        computer.get(computer.find_element(By.LINK_TEXT, "Telephones").get_attribute("href"))
        wait(computer, lambda: shared.code in text(computer))
        pair(telephone, shared, "Ann")
        if axe_script():
            assert axe_faults(computer) == []
        press(telephone, "Pip drank this")
        wait(telephone, lambda: "Written down" in text(telephone))
        assert fed(folder) == [("Pip", "Ann")]
        computer.refresh()
        wait(computer, lambda: "Forget Ann" in text(computer))
        press(computer, "Forget Ann")
        wait(computer, lambda: "None yet" in text(computer))
        wait(telephone, lambda: "not paired any more" in text(telephone))
        telephone.get(shared.network)
        assert "not paired" in text(telephone)


def test_a_feed_tapped_while_the_computer_is_away_is_kept_and_written_down_once(folder, tmp_path):
    """Of two lambs one is fed by somebody else meanwhile; only that one is asked about."""
    flock = folder / "flock.toml"
    with browser(360, 640) as telephone:
        with sharing(folder, tmp_path) as shared:
            pair(telephone, shared, "Ann")
            port = int(shared.network.rstrip("/").rpartition(":")[2])
            shared.process.kill()
            shared.process.wait(10)
        wait(telephone, lambda: "The computer cannot be reached" in text(telephone, "#away"))
        tapped = datetime.now()
        for name in ("Pip", "Wren"):
            press(telephone, f"{name} drank this")
            wait(telephone, lambda name=name: f"down: {name}" in text(telephone, "#kept"))
        if axe_script():
            assert axe_faults(telephone) == []
        assert fed(folder) == []
        assert record(flock, [wanted_of("Pip", "milk", "40 mL", by="Bob")]).added
        with sharing(folder, tmp_path, port=port):
            wait(telephone, lambda: "by Bob" in text(telephone, "#kept"))
            wait(telephone, lambda: "Wren" not in text(telephone, "#kept"))
            assert sorted(fed(folder)) == [("Pip", "Bob"), ("Wren", "Ann")]
            press(telephone, "Yes, write it down", "#kept")
            wait(telephone, lambda: not telephone.find_elements(By.ID, "kept"))
            assert sorted(fed(folder)) == [("Pip", "Ann"), ("Pip", "Bob"), ("Wren", "Ann")]
            telephone.refresh()
            time.sleep(1)
            assert len(fed(folder)) == 3
    entries = [one for one in read_log(log_path(flock)).written if one.by == "Ann"]
    assert all(abs(one.when - tapped) < timedelta(minutes=2) for one in entries)  # by the minute
