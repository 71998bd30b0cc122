"""Files with a fault that people make, and hostile ones: the whole message is kept beside each as text."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from strongback.errors import ProjectError
from strongback.project import read

BAD = Path(__file__).with_name("bad")
FILES = sorted(BAD.glob("*.toml"))


@pytest.mark.parametrize("file", FILES, ids=[file.stem for file in FILES])
def test_message_is_the_one_kept(file):
    with pytest.raises(ProjectError) as caught:
        read(file)
    assert f"{caught.value}\n" == file.with_suffix(".txt").read_text(encoding="utf-8")
    assert caught.value.exit_code == 3


def test_there_are_enough_of_them():
    assert len(FILES) >= 40


@pytest.mark.parametrize("file", FILES, ids=[file.stem for file in FILES])
def test_faults_come_in_file_order(file):
    with pytest.raises(ProjectError) as caught:
        read(file)
    places = [(fault.line, fault.column) for fault in caught.value.faults if fault.source.name == file.name]
    assert places == sorted(places)


def put(folder, **files):
    for name, content in files.items():
        path = folder / name.replace("_toml", ".toml").replace("_csv", ".csv")
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


GOOD = Path(__file__).with_name("good.toml").read_text(encoding="utf-8")
WITH_FILE = GOOD.replace('shape = "rectangle"\nwidth = "60 mm"\ndepth = "80 mm"', 'file = "arm.csv"')


def refused(path):
    with pytest.raises(ProjectError) as caught:
        read(path)
    return str(caught.value)


def test_the_good_file_reads(tmp_path):
    put(tmp_path, project_toml=GOOD)
    assert read(tmp_path).machine.name == "bench mill"


def test_no_file_and_a_file_of_nearly_that_name(tmp_path):
    put(tmp_path, project_toml=GOOD)
    assert 'there is no file "projekt.toml"' in refused(tmp_path / "projekt.toml")
    assert 'did you mean "project.toml"?' in refused(tmp_path / "projekt.toml")


def test_a_folder_without_a_project(tmp_path):
    assert 'there is no file "project.toml"' in refused(tmp_path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no device files here")
def test_a_device_is_not_read():
    assert "is not a regular file" in refused("/dev/zero")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_does_not_block(tmp_path):
    os.mkfifo(tmp_path / "project.toml")
    assert "is not a regular file" in refused(tmp_path / "project.toml")


def test_a_link_out_of_the_folder(tmp_path):
    outside = tmp_path / "outside.csv"
    outside.write_text("ring,x,y\n")
    folder = tmp_path / "mill"
    folder.mkdir()
    put(folder, project_toml=WITH_FILE)
    try:
        (folder / "arm.csv").symlink_to(outside)
    except OSError:
        pytest.skip("no links here")
    assert "is a link that leads out of the folder" in refused(folder)


def test_a_link_in_a_circle(tmp_path):
    put(tmp_path, project_toml=WITH_FILE)
    try:
        (tmp_path / "arm.csv").symlink_to(tmp_path / "arm.csv")
    except OSError:
        pytest.skip("no links here")
    assert "arm.csv" in refused(tmp_path)


def test_a_folder_where_a_table_is_due(tmp_path):
    put(tmp_path, project_toml=WITH_FILE)
    (tmp_path / "arm.csv").mkdir()
    assert 'file: "arm.csv" is not a regular file' in refused(tmp_path)


def test_too_large(tmp_path):
    put(tmp_path, project_toml="#" * (1 << 20) + "\n")
    assert "larger than 1,048,576 bytes" in refused(tmp_path)


def test_too_many_lines(tmp_path):
    put(tmp_path, project_toml="\n" * 20_002)
    assert "20,003 lines" in refused(tmp_path)


def test_too_many_points(tmp_path):
    rows = "".join(f"outer,{i},{i * i / 1e3}\n" for i in range(2_500))
    put(tmp_path, project_toml=WITH_FILE, arm_csv=f"ring,x [mm],y [mm]\n{rows}")
    assert "an outline of 2,500 points" in refused(tmp_path)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("a\\u0000b", "must not hold control characters"),
        ("", "must not be empty"),
        ("C:/arm.csv", "leads out of the folder"),
    ],
)
def test_names_that_are_no_names(tmp_path, name, words):
    put(tmp_path, project_toml=WITH_FILE.replace("arm.csv", name))
    assert words in refused(tmp_path)


def test_control_characters_do_not_reach_the_terminal(tmp_path):
    put(tmp_path, project_toml=WITH_FILE, arm_csv=b"ring,x,y\nouter,\x1b[31m,0\n")
    assert "\x1b" not in refused(tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 5_000,
        "a" + ".a" * 20_000 + " = 1",
        "a = " + "9" * 5_000,
        'a = """' + "\\" * 200_000,
        '"' * 300_000,
        "[" * 300_000,
        "a = '''" + "x" * 300_000,
        "\n".join(f"[{'.'.join('abcdefghij')}.k{i}]" for i in range(5_000)),
        "x = [" + "1," * 200_000 + "]",
        "".join(f"k{i} = {i}\n" for i in range(19_000)),
    ],
    ids=["brackets", "dots", "digits", "slashes", "quotes", "open", "long", "headers", "list", "keys"],
)
def test_costly_text_is_refused(tmp_path, text):
    put(tmp_path, project_toml=text)
    assert "project.toml" in refused(tmp_path)
