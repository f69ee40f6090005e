"""Telephones in a real Chromium: pairing, feeds under the owner's name, and feeds that wait.

The second address is 127.0.0.2, which only a test may share at.
"""

from __future__ import annotations

import sys
from datetime import datetime, timedelta

import pytest
from browser.driven import axe_faults, axe_script, browser, browser_missing, wait
from page.shared import sharing

if missing := browser_missing():
    pytest.skip(f"{missing}, so the page is not driven", allow_module_level=True)
if sys.platform != "linux":
    pytest.skip("this system has one loopback address only", allow_module_level=True)

from browser.hands import has, next_page, pressed, read, said, shown, typed

from formulate.answers.record import record
from formulate.answers.wanted import wanted_of
from formulate.page.sharing.telephones import Telephones
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


#: The address of the place that tells of telephones.
TELEPHONES = "return document.querySelector('a[href$=\"/telephones\"]')?.href ?? null"

#: Whether this page has asked the computer for news and had an answer.
HEARD = """
return performance.getEntriesByType('resource')
  .some(one => one.name.endsWith('/version') && one.responseEnd > 0)
"""


#: What the browser has stored of feeds that wait.
KEPT = "return Object.keys(localStorage).filter(key => key.startsWith('kept-feed:'))"

#: Leave no room in the browser's storage.
FILLED = """
const left = () => { try { localStorage.setItem('x' + localStorage.length, piece); return true; }
                     catch { return false; } };
let piece = 'x'.repeat(1 << 20);
while (piece) if (!left()) piece = piece.slice(piece.length >> 1 || 1);
return true;
"""


def pair(driver, shared, owner):
    driver.get(shared.code)
    typed(driver, "owner", owner)
    with next_page(driver):
        pressed(driver, "Pair it")
    shown(driver, "Pip drank this")


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
        shown(telephone, "not paired", "body")
        telephone.get_log("browser")  # that it was turned away
        computer.get(shared.home)
        shown(computer, "Pip")
        computer.get(read(computer, TELEPHONES))
        shown(computer, shared.code)
        telephone.get(shared.code)
        assert telephone.get_log("browser") == []  # its own policy stops nothing that it needs
        if axe_script():
            assert axe_faults(telephone) == []
        pair(telephone, shared, "Ann")
        if axe_script():
            assert axe_faults(computer) == []
        pressed(telephone, "Pip drank this")
        shown(telephone, "Written down")
        assert fed(folder) == [("Pip", "Ann")]
        computer.refresh()
        shown(computer, "Forget Ann")
        with next_page(computer):
            pressed(computer, "Forget Ann")
        shown(computer, "None yet")
        shown(telephone, "not paired any more")
        telephone.get(shared.network)
        shown(telephone, "not paired", "body")


def test_a_feed_tapped_while_the_computer_is_away_is_kept_and_written_down_once(folder, tmp_path):
    """Of two lambs one is fed by somebody else meanwhile; only that one is asked about."""
    flock = folder / "flock.toml"
    with browser(360, 640) as telephone:
        with sharing(folder, tmp_path) as shared:
            pair(telephone, shared, "Ann")
            port = int(shared.network.rstrip("/").rpartition(":")[2])
            shared.process.kill()
            shared.process.wait()
        shown(telephone, "The computer cannot be reached", "#away")
        first = datetime.now().replace(second=0, microsecond=0)  # entries have the minute
        for name in ("Pip", "Wren"):
            pressed(telephone, f"{name} drank this")
            shown(telephone, f"down: {name}", "#kept")
        last = datetime.now()
        if axe_script():
            assert axe_faults(telephone) == []
        assert fed(folder) == []
        assert record(flock, [wanted_of("Pip", "milk", "40 mL", by="Bob")]).added
        with sharing(folder, tmp_path, port=port):
            shown(telephone, "by Bob", "#kept")
            wait(telephone, lambda: "Wren" not in said(telephone, "#kept"))
            assert sorted(fed(folder)) == [("Pip", "Bob"), ("Wren", "Ann")]
            pressed(telephone, "Yes, write it down", "#kept")
            wait(telephone, lambda: not has(telephone, "#kept"))
            assert sorted(fed(folder)) == [("Pip", "Ann"), ("Pip", "Bob"), ("Wren", "Ann")]
            telephone.refresh()  # it has nothing left to send once it hears from the computer
            wait(telephone, lambda: read(telephone, HEARD))
            assert read(telephone, KEPT) == []
            assert len(fed(folder)) == 3
    entries = [one for one in read_log(log_path(flock)).written if one.by == "Ann"]
    minute = timedelta(minutes=1)  # of rounding
    assert all(first - minute <= one.when <= last + minute for one in entries)


def port_of(shared):
    return int(shared.network.rstrip("/").rpartition(":")[2])


def test_a_feed_is_not_lost_though_the_browsers_storage_is_full(folder, tmp_path):
    with browser(360, 640) as telephone:
        with sharing(folder, tmp_path) as shared:
            pair(telephone, shared, "Ann")
            assert read(telephone, FILLED)
            shared.process.kill()
            shared.process.wait()
        for name in ("Pip", "Wren"):
            pressed(telephone, f"{name} drank this")
            shown(telephone, f"down: {name}", "#kept")
        assert "storage is full" in said(telephone, "#kept")
        assert read(telephone, KEPT) == []
        with sharing(folder, tmp_path, port=port_of(shared)):
            wait(telephone, lambda: not has(telephone, "#kept"))
            assert sorted(fed(folder)) == [("Pip", "Ann"), ("Wren", "Ann")]


def test_two_open_pages_of_a_forgotten_telephone_lose_nothing_and_send_nothing_twice(
    folder, tmp_path
):
    """Paired again by somebody else, its feeds are still those of whoever tapped them."""
    with browser(360, 640) as telephone:
        with sharing(folder, tmp_path) as shared:
            pair(telephone, shared, "Ann")
            first = telephone.current_window_handle
            telephone.switch_to.new_window("tab")
            telephone.get(shared.network)
            shown(telephone, "Wren drank this")
            shared.process.kill()
            shared.process.wait()
        pressed(telephone, "Wren drank this")
        shown(telephone, "down: Wren", "#kept")
        telephone.switch_to.window(first)
        pressed(telephone, "Pip drank this")
        shown(telephone, "down: Pip", "#kept")
        assert "down: Wren" in said(telephone, "#kept")
        Telephones(tmp_path / "formulate" / "telephones.json", folder).forget_all()
        with sharing(folder, tmp_path, port=port_of(shared)) as shared:
            shown(telephone, "Pair it again, and it is sent", "#kept")
            assert fed(folder) == []
            telephone.get(shared.network)
            shown(telephone, "sent once it is paired again", "body")
            pair(telephone, shared, "Bob")
            wait(telephone, lambda: len(fed(folder)) == 2)
            wait(telephone, lambda: read(telephone, KEPT) == [])
            assert sorted(fed(folder)) == [("Pip", "Ann"), ("Wren", "Ann")]
            telephone.refresh()
            shown(telephone, "Bob feeds")
