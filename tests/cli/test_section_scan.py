"""``strongback section`` from a picture and against the scale."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from strongback.cli.frame import main
from strongback.materials import material
from strongback.section.scan import Frame, read_scan
from strongback.views import style
from strongback.views.scan_plot import EDGE, scan_figure

pytest.importorskip("skimage", reason="the extra [scan] is not installed")

PICTURE = Path(__file__).parents[2] / "examples" / "scan" / "end-face.png"
SCAN = ["section", "--scan", str(PICTURE), "--frame", "140 mm x 110 mm", "--material", "aluminium 6060"]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


def test_scan_is_solved_and_drawn_over_the_picture(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert main([*SCAN, "--weighed", "6.55 kg/m"]) == 0
    said = capsys.readouterr()
    assert "section end-face" in said.out
    assert "outline and scale agree within 2%" in " ".join(said.out.split())
    assert max(len(line) for line in said.out.split("solved in")[-1].splitlines()) <= 80
    assert "check that the outline lies on the picture" in " ".join(said.err.split())
    assert (folder / "strongback-out" / "scan-end-face.png").stat().st_size > 10_000


def test_scan_as_json(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    assert main([*SCAN, "--weighed", "6.1 kg/m", "--json"]) == 1  # a check that is not met
    said = capsys.readouterr()
    (section,) = json.loads(said.out)["sections"]
    # The example's own geometry, by hand: 100 x 80 less two slots, three cells and their corners.
    slots = 2 * (8 * 3 + 16 * 6)
    cells = 44 * 63 + 44 * 29 + 44 * 30 - 3 * (4 - np.pi) * 9
    area = (8000 - slots - cells) * 1e-6
    metal = material("aluminium 6060")
    assert section["mass_per_length_kg_per_m"] == pytest.approx(area * metal.density, rel=0.005)
    assert section["GJ_lower_N_m2"] < section["GJ_upper_N_m2"]
    assert section["weighed"]["met"] is False
    assert section["weighed"]["wall_change_m"] < 0.0
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (SCAN[:3], 2, "--scan needs --material NAME"),
        ([*SCAN[:3], *SCAN[5:]], 2, "--scan needs --frame SIZE"),
        ([*SCAN[:4], "140 mm", *SCAN[5:]], 2, "is not width x height"),
        ([*SCAN[:4], "140 mm x 110", *SCAN[5:]], 3, "has no unit"),
        ([*SCAN[:4], "140 mm x 3 kg", *SCAN[5:]], 3, "is a unit of mass, not of length"),
        ([*SCAN, "--outline", "a.csv"], 2, "--outline FILE.csv or --scan PICTURE"),
        ([*SCAN[:2], "none.png", *SCAN[3:]], 3, "no such picture"),
        (["section", "demo", "--weighed", "3 kg/m"], 2, "--weighed goes with --outline or --scan"),
        ([*SCAN, "--weighed", "3 kg"], 3, "is a unit of mass, not of mass per length"),
    ],
)
def test_what_is_missing_or_wrong(
    words: list[str], code: int, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == code
    assert message in capsys.readouterr().err.replace("\n", " ")


def test_figure_lays_the_outline_on_the_edge_of_the_face() -> None:
    # Along the drawn line the picture is half-way between face and paper: brighter on one side than on the other.
    scan = read_scan(PICTURE, Frame(width=0.14, height=0.11), name="face", material=material("steel"))
    figure = scan_figure(scan)
    assert style.png(figure) == style.png(scan_figure(scan))
    (axes,) = figure.axes
    outer = next(np.asarray(line.get_xydata()) for line in axes.lines if line.get_color() == EDGE)
    middles = 0.5 * (outer[1:] + outer[:-1])
    along = np.diff(outer, axis=0)
    long = np.linalg.norm(along, axis=1) > 20.0
    normal = (along[:, ::-1] * [1.0, -1.0] / np.linalg.norm(along, axis=1)[:, None])[long]
    shades = []
    for step in (-3.0, 3.0):
        column, row = np.rint(middles[long] + step * normal).astype(int).T
        shades.append(scan.picture[row, column])
    assert np.all(np.abs(shades[0] - shades[1]) > 0.3)
