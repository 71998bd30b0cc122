"""Slips of a first hour, each met with what to do."""

from __future__ import annotations

import csv
import json

import pytest

from strongback import units
from strongback.cli.frame import main
from strongback.errors import UnitError

RING = ["outer,0,0", "outer,60,0", "outer,60,40", "outer,0,40"]


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(capsys, *words):
    code = main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


def profile(here, lines, head="ring,x,y"):
    (here / "bar.csv").write_text("\n".join([head, *lines]) + "\n")
    return ("section", "--outline", "bar.csv", "--material", "steel", "--no-figures")


def test_a_ring_closed_by_its_first_point_is_the_same_ring(here, capsys):
    open_ring = said(capsys, *profile(here, RING), "--unit", "mm", "--json")
    closed = said(capsys, *profile(here, [*RING, RING[0]]), "--unit", "mm", "--json")
    assert closed[0] == open_ring[0] == 0
    first, second = (json.loads(text)["sections"][0] for _, text, _ in (open_ring, closed))
    assert first["EA_N"] == pytest.approx(second["EA_N"], rel=1e-12)
    assert first["EA_N"] == pytest.approx(210e9 * 0.06 * 0.04, rel=0.02)  # E of steel within its range


def test_a_ring_that_turns_back_on_itself_beside_a_round_corner_is_refused(here, capsys):
    """The corner that folds is sharp and another is round."""
    rows = ["outer,0,0,2", "outer,60,0,0", "outer,54,0,0", "outer,0,80,0"]
    code, _, err = said(capsys, *profile(here, rows, "ring,x,y,radius"), "--unit", "mm")
    assert code == 3
    assert "unexpected" not in err


def test_a_table_without_a_unit_points_to_the_option(here, capsys):
    code, _, err = said(capsys, *profile(here, RING))
    assert code == 3
    assert "--unit mm" in err


def test_a_head_without_points(here, capsys):
    code, _, err = said(capsys, *profile(here, []), "--unit", "mm")
    assert code == 3
    assert "holds a head but no points" in err


def test_a_table_is_no_project(here, capsys):
    profile(here, RING)
    code, _, err = said(capsys, "check", "bar.csv")
    assert code == 3
    assert '"bar.csv" is a table, not a project' in err
    assert "strongback section --outline bar.csv" in err


@pytest.mark.parametrize("name", ["demo", "", "."])
def test_names_that_are_no_name_of_a_project(here, capsys, name):
    code, _, err = said(capsys, "new", name)
    assert code == 2
    assert "my-machine" in err
    assert not list(here.iterdir())


def test_many_names_are_listed_one_a_line(here, capsys):
    code, _, err = said(capsys, "plan", "demo", "--learn", "base, abuot x", "--no-figures")
    assert code == 2
    assert "Did you mean 'base, about x'?" in err
    assert "\n  base, about x\n" in err


def test_a_folder_that_cannot_be_written_is_said_before_the_work(here, capsys):
    (here / "file").write_text("")
    for command in ("deflect", "compare", "calibrate", "plan", "explain", "mix", "readings", "section"):
        code, out, err = said(capsys, command, "demo", "--out", "file/below")
        assert (code, out) == (5, ""), command
        assert 'file" is a file' in err


def test_faults_under_json_are_one_object_with_the_same_exit_code(here, capsys):
    (here / "project.toml").write_text('format = 2\n\n[machine]\nname = ""\n')
    plain = said(capsys, "check", ".")
    code, out, err = said(capsys, "check", ".", "--json")
    found = json.loads(out)
    assert err == ""
    assert code == plain[0] == found["exit_code"] == 3
    assert found["schema"] == "strongback.fault.2"
    assert found["faults"][0]["file"] == "project.toml"
    named = next(each for each in found["faults"] if each["line"] == 4)
    assert (named["column"], "must not be empty" in named["message"]) == (8, True)


def test_a_usage_fault_under_json(here, capsys):
    code, out, _ = said(capsys, "deflect", "demo", "--pull", "sidewise", "--json")
    assert code == json.loads(out)["exit_code"] == 2
    assert "sideways" in json.loads(out)["message"]


def test_micro_written_out_is_offered_as_it_is_meant():
    with pytest.raises(UnitError) as caught:
        units.parse("12 N/mum", "stiffness")
    assert caught.value.hint == 'did you mean "N/um"?'


def test_the_table_to_fill_in_reads_back_as_rows_that_wait(here, capsys):
    assert said(capsys, "new", "mine", "--demo")[0] == 0
    assert said(capsys, "plan", "mine", "--count", "3", "--out", "sheet")[0] == 0
    log = here / "sheet" / "readings-to-fill-in.csv"
    rows = list(csv.reader(log.read_text(encoding="utf-8").splitlines(), delimiter=";"))
    assert not any(cell == "'" for row in rows for cell in row)
    first = rows[1]
    first[5:8] = ["0", "12", "0"]
    (here / "mine" / "readings-before.csv").write_text(
        "\n".join(";".join(row) for row in rows) + "\n", encoding="utf-8"
    )
    project, extra = here / "mine" / "project.toml", here / "sheet" / "add-to-project.toml"
    if extra.exists():
        project.write_text(
            project.read_text(encoding="utf-8") + extra.read_text(encoding="utf-8"), encoding="utf-8"
        )
    code, _, err = said(capsys, "readings", "mine", "--no-figures")
    assert code == 0, err
    assert f"{len(rows) - 2} rows wait to be read" in err
