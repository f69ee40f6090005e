"""Paired telephones: kept for the season, forgotten at once, watched for copies."""

import json
import os
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest

from formulate.base.errors import InputError
from formulate.page.sharing.telephones import (
    MOST_TELEPHONES,
    SEASON,
    Telephones,
    owner_name,
    telephones_file,
)

HOME, OTHER, THIRD = "192.168.1.31", "192.168.1.99", "192.168.1.7"


class Time:
    def __init__(self) -> None:
        self.now = datetime(2026, 11, 14, 5, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def time():
    return Time()


@pytest.fixture
def file(tmp_path):
    return tmp_path / "state" / "telephones.json"


@pytest.fixture
def telephones(file, tmp_path, time):
    return Telephones(file, tmp_path, time)


def test_a_key_is_known_again_by_another_run(telephones, file, tmp_path, time):
    one, key = telephones.pair("  Ann \n of the barn ", HOME)
    again = Telephones(file, tmp_path, time).holder(key, HOME)
    assert again == one
    assert again.owner == "Ann of the barn"
    assert len(key) == 43  # 256 bits, six a letter


def test_the_file_holds_no_key_and_only_its_owner_reads_it(telephones, file):
    _, key = telephones.pair("Ann", HOME)
    assert key not in file.read_text()
    if os.name == "posix":
        assert file.stat().st_mode & 0o777 == 0o600
        assert file.parent.stat().st_mode & 0o777 == 0o700
        file.chmod(0o644)
        telephones.pair("Bob", OTHER)
        assert file.stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.name != "posix", reason="this system has no umask")
@pytest.mark.parametrize("umask", [0, 0o022, 0o277, 0o777])
def test_whatever_the_umask_the_list_is_its_owners_alone(tmp_path, time, umask):
    file = tmp_path / "made" / "too" / "telephones.json"
    before = os.umask(umask)
    try:
        Telephones(file, tmp_path, time).pair("Ann", HOME)
        Telephones(file, tmp_path, time).pair("Bob", OTHER)
    finally:
        os.umask(before)
    assert file.stat().st_mode & 0o777 == 0o600
    for folder in (file.parent, file.parent.parent):
        assert folder.stat().st_mode & 0o777 == 0o700


@pytest.mark.skipif(os.name != "posix", reason="links need a right of their own here")
def test_the_list_may_be_a_link_and_no_file_beside_it_is_written(telephones, file, tmp_path):
    elsewhere = tmp_path / "kept.json"
    file.parent.mkdir()
    file.symlink_to(elsewhere)
    telephones.pair("Ann", HOME)
    assert file.is_symlink()
    assert elsewhere.stat().st_mode & 0o777 == 0o600
    assert [one.owner for one in telephones.all()] == ["Ann"]


def test_a_folder_that_cannot_be_made_is_reported(tmp_path, time):
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="the folder cannot be written"):
        Telephones(tmp_path / "file" / "telephones.json", tmp_path, time).pair("Ann", HOME)


@pytest.mark.parametrize("key", ["", "x", "ё", "\ud800", "a" * 43])
def test_another_key_is_nobodys(telephones, key):
    telephones.pair("Ann", HOME)
    assert telephones.holder(key, HOME) is None


def test_the_digest_is_not_the_key(telephones, file):
    telephones.pair("Ann", HOME)
    digest = json.loads(file.read_text())["telephones"][0]["digest"]
    assert telephones.holder(digest, HOME) is None


def test_a_forgotten_telephone_is_out_at_once_in_every_run(telephones, file, tmp_path, time):
    one, key = telephones.pair("Ann", HOME)
    _, bobs = telephones.pair("Bob", OTHER)
    other_run = Telephones(file, tmp_path, time)
    assert other_run.holder(key, HOME)
    assert telephones.forget(one.id)
    assert telephones.holder(key, HOME) is other_run.holder(key, HOME) is None
    assert other_run.holder(bobs, OTHER)
    assert not telephones.forget(one.id)
    assert other_run.forget_all() == 1
    assert telephones.holder(bobs, OTHER) is None
    assert telephones.forget_all() == 0


def test_a_pairing_ends_with_the_season(telephones, time, file):
    assert SEASON.days == 180
    _, key = telephones.pair("Ann", HOME)
    time.now += SEASON - timedelta(seconds=1)
    assert telephones.holder(key, HOME)
    time.now += timedelta(seconds=1)
    assert telephones.holder(key, HOME) is None
    assert telephones.all() == ()
    telephones.pair("Bob", OTHER)
    assert "Ann" not in file.read_text()


def test_a_telephone_opens_the_folder_that_it_was_paired_with(telephones, file, tmp_path, time):
    one, key = telephones.pair("Ann", HOME)
    (tmp_path / "another").mkdir()
    another = Telephones(file, tmp_path / "another", time)
    assert another.holder(key, HOME) is None
    assert another.all() == ()
    assert not another.forget(one.id)
    assert telephones.holder(key, HOME)


def test_another_address_is_let_in_and_told(telephones, time):
    _, key = telephones.pair("Ann", HOME)
    assert not telephones.all()[0].moved
    time.now += timedelta(minutes=5)
    assert telephones.holder(key, OTHER)
    one = telephones.all()[0]
    assert one.moved
    assert [seen.address for seen in one.addresses] == [HOME, OTHER]
    assert one.addresses[1].since == time.now


@pytest.mark.parametrize(("minutes", "stopped"), [(59, True), (60, False)])
def test_a_key_that_goes_back_and_forth_within_the_hour_is_stopped(
    telephones, time, minutes, stopped
):
    _, key = telephones.pair("Ann", HOME)
    time.now += timedelta(hours=5)
    assert telephones.holder(key, OTHER)
    time.now += timedelta(minutes=minutes)
    assert (telephones.holder(key, HOME) is None) is stopped
    assert (telephones.holder(key, OTHER) is None) is True  # back again: in two places for sure
    assert telephones.all()[0].stopped


def test_a_telephone_that_moved_is_taken_for_the_same(telephones, time):
    one, key = telephones.pair("Ann", HOME)
    telephones.holder(key, OTHER)
    telephones.accept(one.id)
    (now,) = telephones.all()
    assert not now.moved
    assert now.addresses[0].address == OTHER
    assert telephones.holder(key, HOME)  # told again, and the way back is watched again
    assert telephones.holder(key, OTHER) is None
    telephones.accept(one.id)
    assert telephones.all()[0].stopped


def test_a_third_address_does_not_hide_the_way_back(telephones, time):
    _, key = telephones.pair("Ann", HOME)
    assert telephones.holder(key, OTHER)
    assert telephones.holder(key, THIRD)
    assert telephones.holder(key, HOME) is None


def test_many_addresses_over_a_season_are_cut_to_the_first_and_the_newest(telephones, time):
    _, key = telephones.pair("Ann", HOME)
    for k in range(30):
        time.now += timedelta(days=1)
        assert telephones.holder(key, f"192.168.1.{100 + k}")
    addresses = [seen.address for seen in telephones.all()[0].addresses]
    assert addresses == [HOME, *(f"192.168.1.{k}" for k in range(121, 130))]


def test_too_many_telephones_are_refused(telephones):
    for k in range(MOST_TELEPHONES):
        telephones.pair(f"Ann {k}", HOME)
    with pytest.raises(InputError, match="20 telephones are paired already"):
        telephones.pair("Bob", HOME)
    assert len(telephones.all()) == MOST_TELEPHONES


@pytest.mark.parametrize("name", ["", "  ", "\x00\x07", "\u200b", "A" * 61])
def test_a_telephone_needs_a_name(name):
    with pytest.raises(InputError, match="its owner's name"):
        owner_name(name)


def test_a_name_is_one_line():
    assert owner_name("Ann\r\nmilk,240") == "Ann milk,240"
    assert owner_name("Ann\u202e") == "Ann"
    assert owner_name("A" * 60) == "A" * 60


def test_telephones_paired_at_once_are_all_kept(telephones, file, tmp_path, time):
    runs = [telephones, Telephones(file, tmp_path, time)]
    with ThreadPoolExecutor(8) as pool:
        pairs = list(pool.map(lambda k: runs[k % 2].pair(f"Ann {k}", HOME), range(12)))
    assert {one.id for one in telephones.all()} == {one.id for one, _ in pairs}
    assert all(telephones.holder(key, HOME) == one for one, key in pairs)


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[]", '{"telephones": 5}', '{"telephones": [{}]}', "null", "[" * 10_000,
     '{"telephones": [{"id": 1, "owner": "a", "folder": "/", "digest": "", "addresses": []}]}'],
)  # fmt: skip
def test_a_damaged_list_lets_nobody_in_until_all_are_forgotten(telephones, file, text):
    _, key = telephones.pair("Ann", HOME)
    file.write_text(text)
    with pytest.raises(InputError, match="damaged"):
        telephones.holder(key, HOME)
    with pytest.raises(InputError, match="damaged"):
        telephones.pair("Bob", HOME)
    assert file.read_text() == text
    telephones.forget_all()
    assert telephones.all() == ()
    telephones.pair("Bob", HOME)


def test_the_list_is_kept_with_the_users_own_state(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    path = telephones_file()
    assert path.name == "telephones.json"
    if os.sys.platform == "linux":
        assert path == tmp_path / "formulate" / "telephones.json"
