"""Files are written whole or not at all, and samples never over anything."""

import os
import stat

import pytest

from formulate.base.errors import InputError
from formulate.base.files import replace_file
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


def test_a_missing_folder_is_told(tmp_path):
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
