"""Limits that name the way past them, and faults that hide nothing else."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from sections import ALUMINIUM

from strongback.cli.frame import main
from strongback.errors import LimitError
from strongback.section import shapes
from strongback.section.analyse import analyse
from strongback.section.check import check
from strongback.section.outline import from_rings


def plate_with_holes(across: int, up: int, points: int) -> dict[str, list[tuple[float, float]]]:
    """A plate with a grid of round holes of 4 mm every 8 mm [m]."""
    holes = {
        f"{i}-{j}": [(x + 0.008 * i, y + 0.008 * j) for x, y in shapes.circle_ring(0.004, points)]
        for i in range(across)
        for j in range(up)
    }
    x, y = 0.008 * (across - 0.5), 0.008 * (up - 0.5)
    return {"outer": [(-0.004, -0.004), (x, -0.004), (x, y), (-0.004, y)], **holes}


@pytest.mark.slow
def test_310_holes_by_option_and_argument(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """9,924 points: refused with the way past the limit, which works in the command and in Python."""
    rings = plate_with_holes(31, 10, 32)
    assert sum(len(ring) for ring in rings.values()) == 9_924
    rows = [f"{name},{x * 1e3!r},{y * 1e3!r}" for name, ring in rings.items() for x, y in ring]
    table = tmp_path / "plate.csv"
    table.write_text("ring,x [mm],y [mm]\n" + "\n".join(rows), encoding="utf-8")
    words = ["section", "--outline", str(table), "--material", "steel", "--tolerance", "0.01", "--json"]
    assert main(words) == 3
    assert "--max-points 9924 with --outline" in json.loads(capsys.readouterr().out)["message"]
    assert main([*words, "--max-points", "9924"]) == 0
    told = json.loads(capsys.readouterr().out)["sections"][0]
    outer, *hollows = rings
    plate = from_rings("plate", ALUMINIUM, rings[outer], {name: rings[name] for name in hollows})
    with pytest.raises(
        LimitError, match=r"9,924 points, at most 2,000 .*\n.*replace\(outline, max_points=9924\)"
    ):
        check(plate)
    found = analyse(replace(plate, max_points=9_924), tolerance=0.01)
    assert told["EA_N"] / 210e9 == pytest.approx(found.stiffness.EA / ALUMINIUM.E, rel=1e-12)


BAD = """
[[section]]
name = "bow tie"
material = "steel"
unit = "mm"
points = [[0, 0], [40, 30], [40, 0], [0, 30]]
"""


def project(folder: Path) -> Path:
    """Seven good outlines and a bad one, nothing else in order."""
    good = "".join(
        f'[[section]]\nname = "bar {n}"\nmaterial = "steel"\nshape = "rectangle"\n'
        f'width = "{10 * n} mm"\ndepth = "20 mm"\n\n'
        for n in range(1, 8)
    )
    (folder / "project.toml").write_text(f"format = 2\n\n{good}{BAD}", encoding="utf-8")
    return folder


def test_one_bad_outline_hides_no_good_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = project(tmp_path)
    assert main(["section", str(place), "--no-figures"]) == 3
    said = capsys.readouterr()
    for n in range(1, 8):
        assert f"section bar {n}" in said.out
    assert "bow tie" in said.err
    assert "crosses itself at (20, 15) mm" in said.err
    assert main(["section", str(place), "--json"]) == 3
    said = capsys.readouterr()
    told = json.loads(said.out)
    sheets = told["sections"]
    assert "bow tie" in told["fault"]
    assert [sheet["name"] for sheet in sheets] == [f"bar {n}" for n in range(1, 8)]
    assert sheets[6]["EA_N"] == pytest.approx(210e9 * 0.07 * 0.02)


def test_a_section_that_cannot_be_solved_hides_no_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A mesh that fails in one section is said; the others are told all the same."""
    from strongback.errors import MeshError
    from strongback.section import store

    solve = store.analyse

    def failing(outline, **how):
        if outline.name == "bar 3":
            raise MeshError("no mesh here")
        return solve(outline, **how)

    monkeypatch.setattr(store, "analyse", failing)
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    place = project(tmp_path)
    text = (place / "project.toml").read_text(encoding="utf-8").replace(BAD, "")
    (place / "project.toml").write_text(text, encoding="utf-8")
    assert main(["section", str(place), "--no-figures"]) in (3, 4)
    said = capsys.readouterr()
    assert "section bar 7" in said.out
    assert 'section "bar 3" is left out: no mesh here' in said.err
