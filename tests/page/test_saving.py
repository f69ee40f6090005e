"""Saving: what is touched, what is kept, who wins, and what a kill leaves."""

import os
import random
import signal
import subprocess
import sys
import threading
import time
from datetime import date, datetime
from pathlib import Path

import pytest
from clock_by_hand import stop_clock
from hypothesis import given
from hypothesis import strategies as st
from page.visitor import Visitor

from formulate.base.errors import InputError
from formulate.foods.tables import food_table
from formulate.page.rows import edits_of, pantry_with, rows_of
from formulate.page.store import Changed, Store
from formulate.pantry.edit import set_foods
from formulate.pantry.pantry import load_pantry, parse_pantry

OURS = """# Ours. Do not lose this line.
currency = "USD"   # money
prices_on = 2026-11-02
kitchen = "us"

[foods.whole-milk]
price = 3.89       # at the corner
package = "1 gallon"
on_hand = "1/2 gallon"

[foods.heavy-cream]
price = 6.49
package = "1 quart"

[foods.nonfat-dry-milk]  # the blue bag
price = 11.99
package = "2 lb"

[recipes]
mine = "1 gallon whole-milk"  # from my aunt
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "pantry.toml").write_text(OURS)
    return tmp_path


def text_of(folder: Path) -> str:
    return (folder / "pantry.toml").read_text()


def test_saving_without_a_change_writes_nothing(folder):
    before = (folder / "pantry.toml").stat().st_mtime_ns
    assert "Saved" in Visitor(folder).at("/shelf").press("Save my shelf").text
    assert (folder / "pantry.toml").stat().st_mtime_ns == before


def test_a_changed_price_gets_todays_date_and_nothing_else_changes(folder, monkeypatch):
    stop_clock(monkeypatch, datetime(2026, 11, 30, 23, 59), "page.shelf")
    Visitor(folder).at("/shelf").press("Save my shelf", typed={"price.whole-milk": "4.10"})
    expected = OURS.replace("price = 3.89 ", "price = 4.1 ").replace(
        'on_hand = "1/2 gallon"', 'on_hand = "1/2 gallon"\npriced_on = 2026-11-30'
    )
    lines = [line.split("#")[0].strip() for line in text_of(folder).splitlines()]
    assert sorted(lines) == sorted(line.split("#")[0].strip() for line in expected.splitlines())
    for comment in ("# Ours. Do not lose this line.", "# money", "# at the corner",
                    "# the blue bag", "# from my aunt"):  # fmt: skip
        assert comment in text_of(folder)
    assert load_pantry(folder / "pantry.toml").item("whole-milk").price == 4.1


def test_an_unticked_food_stays_priced_and_out_of_the_mix(folder):
    visitor = Visitor(folder).at("/shelf")
    visitor.press("Save my shelf", untick=["heavy-cream"])
    item = load_pantry(folder / "pantry.toml").item("heavy-cream")
    assert (item.in_mix, item.price) == (False, 6.49)
    visitor.press("Save my shelf", tick=["heavy-cream"])
    assert text_of(folder) == OURS


def test_nothing_is_saved_while_a_field_needs_a_look(folder):
    page = (
        Visitor(folder)
        .at("/shelf")
        .press("Save my shelf", typed={"price.whole-milk": "dear", "price.heavy-cream": "1"})
    )
    assert page.status == 422
    assert "Not saved" in page.text
    assert text_of(folder) == OURS


def test_the_sample_becomes_a_file_once_it_is_saved(tmp_path):
    visitor = Visitor(tmp_path).at("/shelf")
    visitor.press("Save my shelf", typed={"price.whole-milk": "5"})
    assert load_pantry(tmp_path / "pantry.toml").item("whole-milk").price == 5
    assert "made-up shelf" not in visitor.open("/shelf").text


def test_a_change_made_elsewhere_is_shown_and_not_overwritten(folder):
    visitor = Visitor(folder).at("/shelf")
    elsewhere = OURS.replace("6.49", "7.77")
    (folder / "pantry.toml").write_text(elsewhere)
    page = visitor.press("Save my shelf", typed={"price.whole-milk": "4.10"})
    assert page.status == 409
    assert text_of(folder) == elsewhere
    assert "heavy cream: price: 7.77" in page.text
    assert "whole milk: price: 4.10" in page.text


def test_both_changes_can_be_kept(folder):
    visitor = Visitor(folder).at("/shelf")
    (folder / "pantry.toml").write_text(OURS.replace("6.49", "7.77"))
    visitor.press("Save my shelf", typed={"price.whole-milk": "4.10"})
    page = visitor.press("Keep both", form="save")
    assert page.status == 200
    pantry = load_pantry(folder / "pantry.toml")
    assert pantry.item("whole-milk").price == 4.1
    assert pantry.item("heavy-cream").price == 7.77


def test_a_clash_over_one_price_is_named(folder):
    visitor = Visitor(folder).at("/shelf")
    (folder / "pantry.toml").write_text(OURS.replace("3.89", "3.99"))
    page = visitor.press("Save my shelf", typed={"price.whole-milk": "4.10"})
    assert "Both changed whole milk" in page.text


def test_a_file_that_was_taken_away_is_not_made_again_unasked(folder):
    visitor = Visitor(folder).at("/shelf")
    (folder / "pantry.toml").unlink()
    page = visitor.press("Save my shelf", typed={"price.whole-milk": "4.10"})
    assert page.status == 409
    assert not (folder / "pantry.toml").exists()


def test_a_second_file_in_the_place_of_the_sample_is_noticed(tmp_path):
    visitor = Visitor(tmp_path).at("/shelf")
    (tmp_path / "pantry.toml").write_text(OURS)
    assert visitor.press("Save my shelf").status == 409
    assert text_of(tmp_path) == OURS


def test_two_windows_saving_at_once_lose_nothing(folder):
    """Every window saves another food's price; a window that is told of a change tries again."""
    foods = ["whole-milk", "heavy-cream", "nonfat-dry-milk"]
    told = []

    def window(k: int) -> None:
        for turn in range(8):
            visitor = Visitor(folder).at("/shelf")
            price = {f"price.{foods[k]}": f"{k + 1}.{turn:02d}"}
            page = visitor.press("Save my shelf", typed=price)
            while page.status == 409:
                told.append(k)
                page = visitor.press("Keep both", form="save")
            assert page.status == 200, page.text
            assert load_pantry(folder / "pantry.toml").item(foods[k]).price == k + 1 + turn / 100

    threads = [threading.Thread(target=window, args=(k,)) for k in range(3)]
    faults = []
    threading.excepthook = lambda args: faults.append(args.exc_value)
    try:
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        threading.excepthook = threading.__excepthook__
    assert not faults
    pantry = load_pantry(folder / "pantry.toml")
    assert [pantry.item(food).price for food in foods] == [1.07, 2.07, 3.07]


def test_two_stores_at_once_save_one_and_tell_the_other(folder):
    one, two = Store(folder), Store(folder)
    mark = one.shelf().mark
    assert two.shelf().mark == mark
    one.save(mark, set_foods({"whole-milk": {"price": 4.25}}, food_table()))
    with pytest.raises(Changed):
        two.save(mark, set_foods({"whole-milk": {"price": 5.0}}, food_table()))
    assert "4.25" in text_of(folder)
    two.save(mark, set_foods({"whole-milk": {"price": 4.25}}, food_table()))  # it is so already


def test_a_text_that_would_not_work_is_not_written(folder):
    store = Store(folder)
    with pytest.raises(InputError):
        store.save(store.shelf().mark, lambda text: text + "[foods.moon-milk]\n")
    assert text_of(folder) == OURS


KILLED = """
import re
import sys
from pathlib import Path
from formulate.page.store import Store
store = Store(Path(sys.argv[1]))
price = 1.0
print("ready", flush=True)
while True:
    price = price % 9 + 1
    was = store.shelf()
    filler = "# " + "x" * 200_000 + chr(10)
    text = filler + was.text.split(filler)[-1]
    new = re.sub(r"price = [0-9.]+( *# at)", f"price = {price}\\\\1", text)
    store.save(was.mark, lambda _: new)
"""


def test_a_program_killed_while_saving_leaves_the_old_file_or_the_new(folder):
    for seed in range(6):
        process = subprocess.Popen(
            [sys.executable, "-c", KILLED, str(folder)], stdout=subprocess.PIPE, text=True
        )
        try:
            assert process.stdout.readline() == "ready\n"
            time.sleep(0.05 + random.Random(seed).random() / 5)
            os.kill(process.pid, signal.SIGKILL)
        finally:
            process.wait()
            process.stdout.close()
        pantry = load_pantry(folder / "pantry.toml")
        assert pantry.item("whole-milk").price in {3.89, *map(float, range(1, 11))}
        assert "from my aunt" in text_of(folder)
        store = Store(folder)  # and the next one is not locked out
        store.save(store.shelf().mark, lambda text: text + "# on\n")


def test_links_out_of_the_folder_are_refused(tmp_path):
    folder, secret = tmp_path / "folder", tmp_path / "secret.toml"
    folder.mkdir()
    secret.write_text(OURS)
    (folder / "pantry.toml").symlink_to(secret)
    visitor = Visitor(folder).at("/shelf")
    assert visitor.page.status == 400
    assert "link" in visitor.page.text
    assert "aunt" not in visitor.page.html
    assert secret.read_text() == OURS


@pytest.mark.parametrize("name", ["../secret", "a/b", "", ".", "..", "/etc/passwd"])
def test_a_name_that_leads_out_is_refused(tmp_path, name):
    with pytest.raises(InputError):
        Store(tmp_path).path(name)


@given(
    prices=st.dictionaries(
        st.sampled_from(["whole-milk", "heavy-cream", "nonfat-dry-milk", "goat-milk", "water"]),
        st.tuples(st.floats(0, 1e6).map(lambda x: round(x, 2)), st.booleans()),
        min_size=1,
    )
)
def test_edits_are_what_is_read_back_and_comments_stay(prices):
    edits = {
        food: {"price": price, "package": "1 cup", "priced_on": date(2026, 11, 3)}
        | ({} if ticked else {"in_mix": False})
        for food, (price, ticked) in prices.items()
    }
    text = set_foods(edits, food_table())(OURS)
    pantry = parse_pantry(text)
    for food, (price, ticked) in prices.items():
        item = pantry.item(food)
        assert (item.price, item.package, item.in_mix) == (price, "1 cup", ticked)
    assert "# Ours. Do not lose this line." in text
    assert "from my aunt" in text
    assert set_foods(edits, food_table())(text) == text


def test_rows_of_a_pantry_are_the_pantry():
    pantry = parse_pantry(OURS)
    rows = rows_of(pantry)
    assert pantry_with(rows, pantry) == pantry
    assert edits_of(rows, pantry, date(2026, 1, 1)) == {}


def test_other_line_ends_and_other_names_of_a_food_are_kept(tmp_path):
    text = OURS.replace("[foods.whole-milk]", '[foods."Whole Milk"]').replace("\n", "\r\n")
    (tmp_path / "pantry.toml").write_bytes(text.encode())
    Visitor(tmp_path).at("/shelf").press("Save my shelf", typed={"price.whole-milk": "4"})
    raw = (tmp_path / "pantry.toml").read_bytes()
    assert b'[foods."Whole Milk"]\r\n' in raw
    assert b"from my aunt\r\n" in raw
    assert load_pantry(tmp_path / "pantry.toml").item("whole-milk").price == 4
