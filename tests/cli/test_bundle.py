"""The zip of a problem: it reproduces the message, the same each time, and without names where that is asked for."""

import json
import zipfile
from pathlib import Path

import pytest

from strongback.cli.frame import main
from strongback.project import bundle, demo_folder

GOOD = Path(__file__).parents[1] / "project" / "good.toml"
SECRETS = ("Ann", "Smith", "secret", "column-of-ann", "Smith Street")


@pytest.fixture
def mill(tmp_path, monkeypatch):
    """A project with names of people and places, and a table beside it."""
    folder = tmp_path / "ann-smith"
    folder.mkdir()
    text = GOOD.read_text(encoding="utf-8").replace('"bench mill"', '"Ann\'s mill" # Smith Street 5')
    text = text.replace('"arm"', '"secret arm"')
    text = text.replace('shape = "rectangle"\nwidth = "60 mm"\ndepth = "80 mm"', 'file = "column-of-ann.csv"')
    (folder / "project.toml").write_text(text, encoding="utf-8")
    rows = "# drawn by Ann\nring,x [mm],y [mm]\nouter,0,0\nouter,60,0\nouter,60,80\nouter,0,80\n"
    (folder / "column-of-ann.csv").write_text(rows)
    (folder / "diary.txt").write_text("secret")
    monkeypatch.chdir(tmp_path)
    return folder


def held(path):
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_it_holds_the_project_its_tables_and_what_was_said(mill, capsys):
    assert main(["bundle", "ann-smith", "--run", "section", "--to", "a.zip", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    files = held("a.zip")
    assert said["files"] == sorted(files)
    assert set(files) == {"project.toml", "column-of-ann.csv", "versions.json", "message.txt", "output.json"}
    for name in ("project.toml", "column-of-ann.csv"):
        assert files[name] == (mill / name).read_bytes()
    assert files["message.txt"].startswith(b"strongback section . --json --debug\nexit code 0\n")
    assert [s["name"] for s in json.loads(files["output.json"])["sections"]] == ["column", "secret arm"]
    assert json.loads(files["versions.json"])["needed"]["numpy"]
    assert str(mill).encode() not in b"".join(files.values())


def test_a_fault_comes_along_and_comes_back(mill, tmp_path):
    table = mill / "column-of-ann.csv"
    table.write_text(table.read_text().replace("60,80", "60,eighty"))
    assert main(["bundle", "ann-smith", "--to", "a.zip", "--nameless"]) == 0
    files = held("a.zip")
    assert b"exit code 3" in files["message.txt"]
    assert b"eighty" in files["output.json"]
    with zipfile.ZipFile("a.zip") as archive:
        archive.extractall(tmp_path / "there")
    assert main(["check", str(tmp_path / "there")]) == 3


def test_nameless_keeps_the_numbers_and_loses_the_names(mill, capsys):
    assert main(["bundle", "ann-smith", "--run", "deflect", "--to", "named.zip"]) == 0
    assert main(["bundle", "ann-smith", "--run", "deflect", "--to", "a.zip", "--nameless"]) == 0
    assert "without names" not in capsys.readouterr().err
    named, files = held("named.zip"), held("a.zip")
    everything = b"\n".join((*files.values(), *(name.encode() for name in files))).decode()
    for secret in SECRETS:
        assert secret not in everything
    assert files["project.toml"].count(b"\n") == named["project.toml"].count(b"\n")

    def numbers(value):
        if isinstance(value, dict):
            return [n for v in value.values() for n in numbers(v)]
        if isinstance(value, list):
            return [n for v in value for n in numbers(v)]
        return [value] if isinstance(value, float) else []

    ours, theirs = (numbers(json.loads(f["output.json"])) for f in (files, named))
    assert len(ours) > 100
    assert ours == theirs


def test_the_demo_reads_without_names(tmp_path):
    made = bundle.nameless(bundle.project_files(demo_folder()), ())
    assert b"#" not in made["project.toml"]


def test_the_same_project_gives_the_same_zip(mill):
    files = bundle.project_files(mill)
    assert bundle.zipped(files) == bundle.zipped(dict(reversed(files.items())))


def test_nothing_outside_the_folder_is_taken(mill, tmp_path):
    (tmp_path / "outside.csv").write_text("secret")
    (mill / "link.csv").symlink_to(tmp_path / "outside.csv")
    with (mill / "project.toml").open("a") as stream:
        stream.write('\n# "../outside.csv"\nnote = ["../outside.csv", "link.csv", "/etc/hostname", "."]\n')
    assert set(bundle.project_files(mill)) == {"project.toml", "column-of-ann.csv"}


def test_it_replaces_nothing_unasked(mill, capsys):
    Path("a.zip").write_bytes(b"mine")
    assert main(["bundle", "ann-smith", "--to", "a.zip"]) == 3
    assert Path("a.zip").read_bytes() == b"mine"
    assert main(["bundle", "ann-smith", "--to", "a.zip", "--force"]) == 0
    assert main(["bundle", "nowhere", "--to", "b.zip"]) == 3
    assert not Path("b.zip").exists()
