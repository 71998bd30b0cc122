"""The commands from the outside: what is printed, what is written, what `--json` holds."""

from __future__ import annotations

import json
import math
import shutil
import warnings
from pathlib import Path

import meshio
import pytest

from strongback.cli.frame import main
from strongback.project import demo_folder, read

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(p.name for p in EXAMPLES.iterdir() if (p / "project.toml").exists())


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


def printed(capsys, *words):
    assert main(list(words)) == 0, capsys.readouterr().err
    return capsys.readouterr()


def as_json(capsys, *words):
    said = printed(capsys, *words, "--json")
    # Where the C mesher is missing, a line on stderr says so; stdout holds the object alone.
    assert [line for line in said.err.splitlines() if not line.startswith("note: the C mesher")] == []
    found = json.loads(said.out)
    assert found["schema"] == f"strongback.{words[0]}.2"
    return found


def numbers(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [n for item in value for n in numbers(item)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("name", ["demo", *NAMES])
def test_deflect_json(capsys, name, folder):
    path = name if name == "demo" else str(EXAMPLES / name)
    found = as_json(capsys, "deflect", path)
    assert found["pulls"]
    assert all(math.isfinite(n) for n in numbers(found))
    for pull in found["pulls"]:
        assert set(pull) >= {"name", "force_N", "tool", "gauges", "budget"}
        assert set(pull["tool"]) == {"displacement_m", "rotation_rad", "along_pull_m"}
        assert pull["tool"]["along_pull_m"] == pytest.approx(pull["total_m"], rel=1e-9)
        assert sum(row["share"] for row in pull["budget"]) == pytest.approx(1.0, abs=1e-9)
        total = sum(row["contribution_m"] for row in pull["budget"])
        along = sum(d * u for d, u in zip(pull["direction"], pull["tool"]["displacement_m"], strict=True))
        assert total == pytest.approx(along, rel=1e-9)
        assert pull["imbalance"] < 1e-9
        for row in pull["budget"]:
            assert set(row) >= {"part", "mechanism", "contribution_m", "share"}
    assert {m["model"] for m in found["parts"]} <= {"beam", "body"}
    assert list(folder.iterdir()) == []  # JSON draws nothing


def test_deflect_prints_the_answer_first_in_80_columns(capsys):
    text = printed(capsys, "deflect", "demo", "--no-figures").out
    lines = text.splitlines()
    assert lines[0].startswith("bench mill: how far the tool gives")
    assert any(line.startswith("sideways") and "200 N" in line for line in lines[:6])
    assert max(map(len, lines)) <= 80
    for word in ("µm/N", "left if", "whole", "Expected readings"):
        assert word in text


def test_printed_gauges_are_those_of_json(capsys):
    found = as_json(capsys, "deflect", "demo", "--pull", "sideways")
    (pull,) = found["pulls"]
    text = printed(capsys, "deflect", "demo", "--pull", "sideways", "--no-figures").out
    block = text.split("Expected readings")[1]
    for gauge in pull["gauges"]:
        (line,) = [row for row in block.splitlines() if row.startswith(f"{gauge['name']} on ")]
        assert float(line.split()[-1]) == pytest.approx(gauge["reading_m"] * 1e6, abs=0.0501)


def test_narrow_terminals_are_kept_to_where_numbers_allow(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "40")
    text = printed(capsys, "check", "demo").out
    assert max(map(len, text.splitlines())) <= 80  # a sentence of the file is printed as it stands
    text = printed(capsys, "deflect", "demo", "--no-figures", "--pull", "sideways").out
    table = text.split("Budget: sideways\n")[1].split("\n\n")[0]
    assert max(map(len, table.splitlines())) <= 48


def test_deflect_draws_every_pull_and_the_budget(capsys, folder):
    said = printed(capsys, "deflect", "demo", "--pull", "jack", "--out", "pictures")
    names = {p.name for p in (folder / "pictures").iterdir()}
    assert names == {"machine-jack.png", "budget.png", "walls-column-jack.png"}
    assert "wrote pictures/budget.png" in said.err


@pytest.mark.slow
def test_demo_says_where_the_figures_are(capsys, folder):
    said = printed(capsys, "demo")
    out = folder / "strongback-out"
    assert str(out) in said.out
    made = list(out.iterdir())
    for path in made:
        assert path.read_bytes().startswith(b"\x89PNG")
    assert f"{len(made)} pictures in" in said.out
    (first,) = (
        line.removeprefix("open first: ") for line in said.out.splitlines() if line.startswith("open first")
    )
    assert (out / first).exists()


@pytest.mark.parametrize("name", ["demo", *NAMES])
def test_section_json(capsys, name):
    path = name if name == "demo" else str(EXAMPLES / name)
    keys = {
        "name", "EA_N", "EIx_N_m2", "EIy_N_m2", "EIxy_N_m2", "GJ_N_m2", "EGamma_N_m4", "kGAx_N", "kGAy_N",
        "centroid_m", "shear_centre_m", "mass_per_length_kg_per_m", "handbook", "bond",
    }  # fmt: skip
    for section in as_json(capsys, "section", path)["sections"]:
        assert set(section) >= keys
        if "given" not in section:
            assert section["GJ_lower_N_m2"] <= section["GJ_N_m2"] <= section["GJ_upper_N_m2"]
            assert section["elements"] > 0


def test_a_profile_alone_from_a_table(capsys, folder):
    """Tube 80 x 120 x 4: A = 80 x 120 - 72 x 112 = 1536 mm², times E of the material; job arithmetic, no source needed."""
    table = "ring;x [mm];y [mm]\nouter;0;0\nouter;80;0\nouter;80;120\nouter;0;120\n"
    table += "hollow;4;4\nhollow;76;4\nhollow;76;116\nhollow;4;116\n"
    (folder / "tube.csv").write_text(table, encoding="utf-8")
    found = as_json(capsys, "section", "--outline", "tube.csv", "--material", "aluminium")
    (section,) = found["sections"]
    from strongback.materials import material

    assert section["EA_N"] == pytest.approx(1536e-6 * material("aluminium").E, rel=1e-9)
    # By default the mid-line formula 4 Am² t / s is 3 to 6 % low at walls of this thickness.
    (bredt,) = [v for k, v in section["handbook"].items() if k.startswith("GJ")]
    assert -0.05 < bredt["difference"] < 0.0


def test_a_table_without_a_unit_takes_it_from_the_option(capsys, folder):
    (folder / "bar.csv").write_text("ring,x,y\nouter,0,0\nouter,20,0\nouter,20,10\nouter,0,10\n")
    found = as_json(capsys, "section", "--outline", "bar.csv", "--material", "steel", "--unit", "mm")
    from strongback.materials import material

    assert found["sections"][0]["EA_N"] == pytest.approx(200e-6 * material("steel").E, rel=1e-9)
    assert main(["section", "--outline", "bar.csv", "--material", "steel"]) == 3
    assert "no unit" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [[], ["demo", "--outline", "x.csv"], ["--outline", "x.csv"]],
)
def test_section_wants_a_project_or_a_table(capsys, words):
    assert main(["section", *words]) == 2
    assert "--outline" in capsys.readouterr().err


def test_check_json_counts(capsys):
    found = as_json(capsys, "check", "demo")
    assert found["faults"] == []
    assert found["counts"]["members"] == 3
    assert found["machine"] == "bench mill"


def test_check_prints_every_joint_in_words(capsys):
    """The same figures in both tables and in the JSON, by the machine's own springs."""
    machine = read(demo_folder()).machine
    text = printed(capsys, "check", "demo").out
    found = as_json(capsys, "check", "demo")["joints"]
    assert [row["name"] for row in found] == [h.name for h in (*machine.joints, *machine.supports)]
    base, feet = found[0], found[-1]
    assert set(base["stiffness"]) == {"sideways", "in_and_out", "up", "nod", "side_tilt", "yaw"}
    assert base["stiffness"]["nod"] == pytest.approx(machine.joints[0].stiffness[3])
    assert base["low"]["nod"] < base["stiffness"]["nod"] < base["high"]["nod"]
    assert feet["stiffness"]["yaw"] == 0.0
    along, about = text.split("Joints against turning")
    for row in found:
        for block, word, scale in ((along, "sideways", 1e6), (about, "nod", 1e3)):
            (line,) = [ln for ln in block.splitlines() if ln.startswith(f"{row['name']}  ")]
            value = row["stiffness"][word]
            if value == "rigid":
                assert "rigid" in line
            else:
                number = line[len(row["name"]) :].split()[0].replace("free", "0")
                assert float(number) * scale == pytest.approx(value, rel=5e-3)


def test_deflect_names_the_three_parts_to_attack(capsys):
    """They are those of the smallest ceilings in the JSON."""
    text = printed(capsys, "deflect", "demo", "--pull", "sideways", "--no-figures").out
    (pull,) = as_json(capsys, "deflect", "demo", "--pull", "sideways")["pulls"]
    best = sorted(pull["ceilings"], key=lambda c: c["remains"])[:3]
    line = " ".join(text.split("attack first: ")[1].split("\n\n")[0].split())
    assert line == ", ".join(f"{c['part']} (at best {100 * c['remains']:.0f} % is left)" for c in best)


def test_check_looks_into_the_logs(capsys):
    """A number that is text, and a pull that the machine does not have: both named with their rows; exit code 3."""
    shutil.copytree(demo_folder(), "mine")
    log = Path("mine") / "readings-before.csv"
    lines = log.read_text(encoding="utf-8").splitlines()
    cells = lines[-1].split(";")
    lines.append(";".join(["no such pull", *cells[1:]]))
    lines.append(";".join([*cells[:2], "heavy", *cells[3:]]))
    log.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert main(["check", "mine"]) == 3
    shown = capsys.readouterr()
    assert "2 faults in its readings" in shown.out
    assert 'there is no pull "no such pull"' in shown.err
    assert f"readings-before.csv:{len(lines)}" in shown.err
    assert main(["check", "mine", "--json"]) == 3
    assert len(json.loads(capsys.readouterr().out)["faults"]) == 2


def test_check_solves_nothing(capsys, monkeypatch):
    def refuse(*args, **kwargs):
        raise AssertionError("a section was solved")

    monkeypatch.setattr("strongback.section.analyse.analyse", refuse)
    monkeypatch.setattr("strongback.section.store.analyse", refuse)
    printed(capsys, "check", "demo")


def test_new_makes_a_project_and_refuses_to_overwrite(capsys, folder):
    printed(capsys, "new", "mine")
    before = (folder / "mine" / "project.toml").read_bytes()
    (folder / "mine" / "project.toml").write_bytes(before + b"# changed\n")
    assert main(["new", "mine"]) == 3
    assert "--force" in capsys.readouterr().err
    assert (folder / "mine" / "project.toml").read_bytes().endswith(b"# changed\n")
    assert as_json(capsys, "new", "mine", "--force")["project"] == "mine/project.toml"
    assert (folder / "mine" / "project.toml").read_bytes() == before
    printed(capsys, "check", "mine")


def test_export_names_parts_and_is_read_back(capsys, folder):
    found = as_json(capsys, "export", "demo", "--pull", "sideways", "--to", "mill.vtu")
    back = meshio.read(folder / "mill.vtu")
    assert len(back.points) == found["points"]
    assert {block.type: len(block.data) for block in back.cells} == found["cells"]
    assert [p["name"] for p in found["parts"]][:3] == ["column", "arm", "bed"]
    assert "mill.vtu" in printed(capsys, "export", "demo", "--pull", "jack", "--to", "mill.vtu").out


def test_export_asks_which_pull(capsys, folder):
    assert main(["export", "demo", "--to", "mill.vtu"]) == 2
    assert "--pull NAME" in capsys.readouterr().err
    assert not (folder / "mill.vtu").exists()


def test_doctor(capsys):
    found = as_json(capsys, "doctor")
    assert found["needed"]["numpy"]
    assert found["c_mesher"] in (True, False)
    assert "mesher:" in printed(capsys, "doctor").out


def test_doctor_without_the_c_mesher(capsys, monkeypatch):
    from strongback.section import _triangle

    _triangle.available.cache_clear()
    monkeypatch.setenv("STRONGBACK_NO_C_MESHER", "1")
    try:
        assert "is not needed" in printed(capsys, "doctor").out
        with warnings.catch_warnings():
            warnings.simplefilter("default")
            said = printed(capsys, "section", "demo", "--mesher", "triangle", "--no-figures")
    finally:
        _triangle.available.cache_clear()
    assert "the built-in mesher is used" in said.err
    assert "GJ" in said.out


def test_doctor_with_the_cache_off(capsys, monkeypatch):
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    assert "cache: off" in printed(capsys, "doctor").out


def test_a_folder_called_demo_comes_first(capsys):
    printed(capsys, "new", "mine")
    Path("mine").rename("demo")
    assert as_json(capsys, "check", "demo")["machine"] == "my machine"
