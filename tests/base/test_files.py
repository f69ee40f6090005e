"""Files are written whole or not at all, and samples never over anything."""

import os
import stat
import threading
import time

import pytest

from formulate.base.errors import InputError
from formulate.base.files import replace_file
from formulate.base.locks import held, lock_path
from formulate.base.outputs import Output, write_output
from formulate.pantry.pantry import load_pantry
from formulate.pantry.start import write_sample


def test_a_replaced_file_keeps_its_mode_and_leaves_nothing_beside_it(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text("old")
    path.chmod(0o640)
    replace_file(path, "new")
    assert path.read_text() == "new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [p.name for p in tmp_path.iterdir()] == ["a.toml"]


def test_a_write_that_fails_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "a.toml"
    path.write_text("old")

    def broken(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(InputError, match="no space left"):
        replace_file(path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.toml"]


def test_a_folder_is_not_written_over(tmp_path):
    with pytest.raises(InputError, match="folder"):
        replace_file(tmp_path, "new")


def test_a_missing_folder_is_reported(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        replace_file(tmp_path / "none" / "a", "new")


def test_the_sample_is_written_once_and_reads_back(tmp_path):
    path, _ = write_sample(tmp_path / "new" / "folder")
    assert load_pantry(path).ids[0] == "whole-milk"
    path.write_text("mine")
    with pytest.raises(InputError, match="there already"):
        write_sample(path.parent)
    assert path.read_text() == "mine"


def test_a_file_in_place_of_the_folder(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        write_sample(tmp_path / "file")


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "shared").mkdir()
    path, target = tmp_path / "a.toml", tmp_path / "shared" / "b.toml"
    target.write_text("old")
    path.symlink_to(target)
    with held(path):
        replace_file(path, "new")
    assert path.is_symlink()
    assert target.read_text() == "new"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.toml", "shared"]


def test_two_names_of_one_file_have_one_lock(tmp_path):
    path, link = tmp_path / "a.toml", tmp_path / "b.toml"
    path.write_text("old")
    link.symlink_to(path)
    assert lock_path(link) == lock_path(path) == tmp_path / ".a.toml.lock"


def test_the_folder_is_synced_too(tmp_path, monkeypatch):
    synced = []
    fsync = os.fsync

    def noting(handle):
        synced.append(stat.S_ISDIR(os.fstat(handle).st_mode))
        fsync(handle)

    monkeypatch.setattr(os, "fsync", noting)
    replace_file(tmp_path / "a.toml", "new")
    assert synced == [False, True]


def test_what_a_killed_writer_left_is_removed_by_the_next(tmp_path):
    path = tmp_path / "a[1].toml"
    litter = tmp_path / ".a[1].toml.x7.tmp"
    other = tmp_path / ".b.toml.x7.tmp"
    litter.write_text("half")
    other.write_text("half")
    with held(path):
        assert not litter.exists()
    assert other.exists()


def test_an_output_removes_what_a_killed_writer_left(tmp_path):
    path = tmp_path / "mix.csv"
    for left in (".mix.csv.x7.tmp", ".mix.csv.lock"):
        (tmp_path / left).touch()
    write_output(path, "food,cost [USD/L]\n", Output.TABLE)
    assert [p.name for p in tmp_path.iterdir()] == ["mix.csv"]


def test_the_lock_file_is_there_while_it_is_held(tmp_path):
    path = tmp_path / "a.toml"
    with held(path):
        assert lock_path(path).exists()
    assert not list(tmp_path.iterdir())


def test_whoever_waits_for_a_lock_gets_the_one_that_counts(tmp_path):
    """The holder removes the file of the lock that the others wait for."""
    path = tmp_path / "a.txt"
    path.write_text("0")

    def count():
        for _ in range(25):
            with held(path):
                number = int(path.read_text())
                path.write_text(f"{number + 1}")

    threads = [threading.Thread(target=count) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert path.read_text() == "100"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


@pytest.mark.skipif(not hasattr(os, "O_NOFOLLOW"), reason="this system follows links")
def test_a_link_in_the_place_of_a_lock_is_refused(tmp_path):
    path = tmp_path / "a.toml"
    lock_path(path).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError, match="cannot be written"), held(path):
        pass
    assert not (tmp_path / "elsewhere").exists()


def test_a_file_without_a_lock_removes_only_what_is_old(tmp_path):
    path = tmp_path / "mix.csv"
    old, young = tmp_path / ".mix.csv.old.tmp", tmp_path / ".mix.csv.young.tmp"
    for litter, age in ((old, 3601), (young, 3500)):
        litter.write_text("half")
        then = time.time() - age
        os.utime(litter, (then, then))
    replace_file(path, "new")
    assert (old.exists(), young.exists()) == (False, True)


def test_an_interrupted_write_leaves_nothing_beside_the_file(tmp_path, monkeypatch):
    def interrupted(_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        replace_file(tmp_path / "a.toml", "new")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("full_at", [1, 2])
def test_samples_on_a_full_disk_leave_nothing_half(tmp_path, monkeypatch, full_at):
    synced = []

    def full(_):
        synced.append(1)
        if len(synced) == full_at:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="no space left"):
        write_sample(tmp_path / "new" / "folder")
    assert not list(tmp_path.iterdir())
    write_sample(tmp_path / "new" / "folder")
    assert len(list((tmp_path / "new" / "folder").iterdir())) == 2
