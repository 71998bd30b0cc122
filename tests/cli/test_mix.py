"""`strongback mix` from the outside."""

import json
from importlib import resources
from pathlib import Path

import pytest

from strongback.cli.frame import main

DEMO = Path(str(resources.files("strongback.project") / "demo"))


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


def project(folder, change):
    made = folder / "mine"
    made.mkdir()
    for file in DEMO.iterdir():
        if file.is_file():
            (made / file.name).write_bytes(file.read_bytes())
    text = (made / "project.toml").read_text(encoding="utf-8")
    (made / "project.toml").write_text(change(text), encoding="utf-8")
    return str(made)


@pytest.mark.slow
def test_the_demo_is_mixed(folder, capsys):
    assert main(["mix", str(DEMO), "--draws", "16", "--no-walls", "--out", "out"]) == 0
    printed = capsys.readouterr()
    first = printed.out.splitlines()
    assert first[0] == "bench mill: column filled with resin-bonded mineral"
    assert first[1].startswith("sideways: ")
    assert (
        max(len(line) for line in first if not line.startswith(("sideways", "jack", "fore", "column"))) <= 80
    )
    written = {p.name for p in (folder / "out").iterdir()}
    assert written == {
        "mix-and-pour-sheet.html",
        "fill-before-after.png",
        "fill-grading.png",
        "fill-modulus.png",
        "fill-cure.png",
    }


@pytest.mark.slow
def test_json_is_one_object_with_a_schema(folder, capsys):
    assert main(["mix", str(DEMO), "--draws", "16", "--no-walls", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["schema"] == "strongback.mix.2"
    pulls = {p["name"]: p for p in data["before_after"]["pulls"]}
    side = pulls["sideways"]
    assert side["ceiling"] < side["ratio"][0] < side["ratio"][1] < 1.0
    assert 0.0 <= side["probability"] <= 1.0
    assert side["ratio_by_arithmetic"] == pytest.approx(1 - side["share"] * (1 - side["r"]))
    assert any("walls that give are not in these figures" in note for note in data["before_after"]["notes"])
    assert not (folder / "strongback-out").exists()


def test_a_fill_that_adds_mass_only(folder, capsys):
    path = project(folder, lambda t: t.replace('fill = "resin-bonded mineral"', 'fill = "dry sand"'))
    assert main(["mix", path, "--no-figures"]) == 0
    assert "the stiffness stays as it was" in capsys.readouterr().out
    assert (folder / "strongback-out" / "mix-and-pour-sheet.html").exists()


def test_without_a_mix_it_says_so(folder, capsys):
    path = project(folder, lambda t: t[: t.index("[mix]\n")])
    assert main(["mix", path]) == 3
    assert "no [mix] table" in capsys.readouterr().err


def test_contradictions_end_with_three_and_a_place(folder, capsys):
    path = project(folder, lambda t: t.replace('grains = "1906 g"', 'grains = "2800 g"'))
    assert main(["mix", path]) == 3
    said = capsys.readouterr().err
    assert "project.toml:" in said
    assert "do not fit into 1 L" in said
    assert "Traceback" not in said
