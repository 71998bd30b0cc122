"""A new project and the demo read without a fault; files are written whole or not at all."""

from __future__ import annotations

import os

import pytest

from strongback.errors import EnvironmentFault, InputError
from strongback.machine.mechanism import refuse_mechanism
from strongback.project import copy_demo, demo_folder, new_project, read, write_bytes, write_text


def test_a_new_project_is_complete(tmp_path):
    file = new_project(tmp_path / "mill" / "first")
    project = read(file.parent)
    assert project.machine.pulls
    assert project.machine.gauges
    refuse_mechanism(project.machine)  # nothing is free to move
    assert file.read_text(encoding="utf-8").count("#") > 20


def test_a_project_is_not_overwritten(tmp_path):
    file = new_project(tmp_path)
    file.write_text("mine")
    with pytest.raises(InputError, match="already") as caught:
        new_project(tmp_path)
    assert "--force" in caught.value.hint
    assert file.read_text() == "mine"
    assert new_project(tmp_path, force=True).read_text() != "mine"


def test_a_folder_that_cannot_be(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="is a file"):
        new_project(tmp_path / "file")
    with pytest.raises(EnvironmentFault, match="cannot be made"):
        new_project(tmp_path / "file" / "inner")


def test_the_demo_reads_where_it_is_and_where_it_is_copied(tmp_path):
    here = read(demo_folder()).machine
    copied = read(copy_demo(tmp_path / "demo")).machine
    assert here == copied
    assert "invented" in read(demo_folder()).note
    with pytest.raises(InputError, match="already"):
        copy_demo(tmp_path / "demo")


def test_a_file_is_replaced_whole(tmp_path):
    file = tmp_path / "a.txt"
    write_text(file, "old\r\n")
    assert file.read_bytes() == b"old\r\n"
    file.chmod(0o640)
    write_text(file, "neu ä")
    assert file.read_text(encoding="utf-8") == "neu ä"
    assert file.stat().st_mode & 0o777 == 0o640 or os.name == "nt"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.txt"]


def test_the_old_file_stays_when_writing_fails(tmp_path, monkeypatch):
    file = tmp_path / "a.txt"
    write_text(file, "old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(EnvironmentFault, match="No space left") as caught:
        write_bytes(file, b"new")
    assert caught.value.exit_code == 5
    assert file.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(EnvironmentFault, match="cannot be written"):
        write_text(tmp_path / "none" / "a.txt", "x")
