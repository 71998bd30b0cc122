"""End faces from pictures that the test or the example draws itself, with known geometry."""

from __future__ import annotations

import builtins
import importlib.util
import math
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from strongback.errors import EnvironmentFault, LimitError, OutlineError
from strongback.materials import material
from strongback.section import _trace, scan
from strongback.section.outline import area_of
from strongback.section.scan import Frame, Lengths, Scan, read_scan

Image = pytest.importorskip("PIL.Image", reason="the extra [scan] is not installed")
pytest.importorskip("skimage", reason="the extra [scan] is not installed")

EXAMPLE = Path(__file__).parents[2] / "examples" / "scan"
METAL = material("aluminium 6060")
FRAME = Frame(width=0.140, height=0.110)


def example() -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw_end_face", EXAMPLE / "draw.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


DRAW = example()


def taken(path: Path, marks: Frame | Lengths = FRAME, **options: Any) -> Scan:
    return read_scan(path, marks, name="face", material=METAL, **options)


def off_by(ring: tuple[tuple[float, float], ...], true: list[tuple[float, float]]) -> float:
    """Largest distance between two rings, either way [mm]."""
    one, other = Polygon(np.array(ring) * 1e3).exterior, Polygon(true).exterior
    return float(shapely.hausdorff_distance(one, other, densify=0.01))


@pytest.fixture
def drawn(tmp_path: Path) -> Callable[..., Path]:
    def draw(
        outer: list[tuple[float, float]], holes: list[list[tuple[float, float]]], **options: Any
    ) -> Path:
        path = tmp_path / "picture.png"
        DRAW.picture(outer, holes, **options).save(path)
        return path

    return draw


def test_example_is_recovered_to_three_tenths() -> None:
    found = taken(EXAMPLE / "end-face.png")
    wall = found.outline.walls[0]
    assert off_by(wall.ring, DRAW.outer()) < 0.3
    assert len(wall.holes) == len(DRAW.hollows()) == 3
    for hollow in DRAW.hollows():
        assert min(off_by(hole, hollow) for hole in wall.holes) < 0.3
    true = Polygon(DRAW.outer(), DRAW.hollows()).area
    assert area_of(found.outline) * 1e6 == pytest.approx(true, rel=0.005)
    assert [cell.name for cell in found.outline.cells] == ["cell 1", "cell 2", "cell 3"]
    assert found.notes == ()


def test_the_picture_of_the_example_is_the_one_its_script_draws() -> None:
    with Image.open(EXAMPLE / "end-face.png") as kept:
        again = np.asarray(DRAW.picture(DRAW.outer(), DRAW.hollows()), dtype=int)
        assert np.abs(np.asarray(kept, dtype=int) - again).max() <= 2


@pytest.mark.parametrize("tilt", [0.0, 10.0, 20.0])
def test_rectangle_at_a_tilt(tilt: float, drawn: Callable[..., Path]) -> None:
    # 100 x 80 mm seen at a tilt, in noise: sides and corners within 0.3 mm.
    true = DRAW.box(20, 15, 120, 95)
    found = taken(drawn(true, [], tilt=math.radians(tilt), noise=3.0))
    assert off_by(found.outline.walls[0].ring, true) < 0.3
    assert area_of(found.outline) * 1e6 == pytest.approx(8000.0, rel=0.004)
    assert len(found.outline.walls[0].ring) <= 8


def test_corners_given_by_hand(drawn: Callable[..., Path]) -> None:
    corners = DRAW.seen([(0, 110), (140, 110), (140, 0), (0, 0)])
    true = DRAW.box(20, 15, 120, 95)
    marks = Frame(width=0.140, height=0.110, corners=tuple(map(tuple, corners.tolist())))  # type: ignore[arg-type]
    found = taken(drawn(true, []), marks)
    assert off_by(found.outline.walls[0].ring, true) < 0.3


def test_overlay_lies_on_the_picture() -> None:
    found = taken(EXAMPLE / "end-face.png")
    there = found.in_picture(np.array(found.outline.walls[0].ring))
    true = DRAW.seen(DRAW.outer())
    assert shapely.hausdorff_distance(
        shapely.LinearRing(there), shapely.LinearRing(true), densify=0.01
    ) < 0.3e-3 / (0.9 * found.pixel)
    assert found.pixel == pytest.approx(0.163e-3, rel=0.05)
    with pytest.raises(ValueError, match="read-only"):
        found.picture[0, 0] = 1.0


def flat_scan(path: Path, across: float, down: float) -> None:
    """A flatbed scan, dark disc of 60 mm with a 20 mm square hole, `across` and `down` pixels to a mm."""
    finer, size = 8, (int(80 * across), int(80 * down))
    from PIL import ImageDraw

    large = Image.new("L", (size[0] * finer, size[1] * finer), 240)
    draw = ImageDraw.Draw(large)
    disc = [(40 + 30 * math.cos(t), 40 + 30 * math.sin(t)) for t in np.linspace(0, 2 * math.pi, 400)]
    for ring, grey in ((disc, 60), (DRAW.box(30, 30, 50, 50), 240)):
        draw.polygon([(x * across * finer - 0.5, y * down * finer - 0.5) for x, y in ring], fill=grey)
    large.resize(size, Image.Resampling.BOX).save(path)


@pytest.mark.parametrize(("across", "down"), [(8.0, 8.0), (8.0, 7.6)])
def test_flatbed_with_two_known_lengths(across: float, down: float, tmp_path: Path) -> None:
    # A scan whose rows are not as far apart as its columns: one length along each takes it out.
    path = tmp_path / "scan.png"
    flat_scan(path, across, down)
    marks = Lengths(
        first=((0.0, 0.0), (60 * across, 0.0), 0.060), second=((10.0, 10.0), (10.0, 10.0 + 50 * down), 0.050)
    )
    found = taken(path, marks, tolerance=5e-5)
    true = math.pi * 30**2 - 400
    assert area_of(found.outline) * 1e6 == pytest.approx(true, rel=0.004)
    width, height = np.ptp(np.array(found.outline.walls[0].ring), axis=0) * 1e3
    assert (width, height) == pytest.approx((60.0, 60.0), abs=0.3)
    assert any("apart" in note for note in found.notes) == (across != down)


def test_bright_face_on_dark_ground(tmp_path: Path) -> None:
    path = tmp_path / "scan.png"
    flat_scan(path, 8.0, 8.0)
    with Image.open(path) as image:
        Image.fromarray(255 - np.asarray(image)).save(path)
    marks = Lengths(first=((0, 0), (480, 0), 0.06), second=((0, 0), (0, 480), 0.06))
    found = taken(path, marks, dark=False)
    assert area_of(found.outline) * 1e6 == pytest.approx(math.pi * 30**2 - 400, rel=0.004)


def test_specks_are_left_out_and_said(drawn: Callable[..., Path]) -> None:
    true = DRAW.box(20, 15, 120, 95)
    found = taken(drawn(true, [DRAW.box(60, 50, 61, 51)]))
    assert found.outline.walls[0].holes == ()
    assert any("1 specks or hollows below 4 mm² left out" in note for note in found.notes)


def test_coarse_picture_is_said(drawn: Callable[..., Path]) -> None:
    found = taken(drawn(DRAW.box(20, 15, 120, 95), [], size=(400, 320)))
    assert any("coarser than the tolerance" in note for note in found.notes)


def bent(path: Path) -> Path:
    """The picture as through a lens that bends lines."""
    from skimage.transform import warp

    grey = np.asarray(DRAW.picture(DRAW.box(20, 15, 120, 95), []), dtype=float)
    centre = np.array([grey.shape[1], grey.shape[0]]) / 2.0

    def through(p: np.ndarray) -> np.ndarray:
        away = (p - centre) / centre[0]
        return np.asarray(centre + (p - centre) * (1.0 + 0.03 * (away**2).sum(axis=1, keepdims=True)))

    made = warp(grey, through, cval=232.0, preserve_range=True)
    Image.fromarray(np.clip(made, 0, 255).astype(np.uint8)).save(path)
    return path


def test_bent_frame_is_said(tmp_path: Path) -> None:
    found = taken(bent(tmp_path / "bent.png"))
    assert any("sides of the frame bend" in note for note in found.notes)


def test_no_frame(tmp_path: Path) -> None:
    flat_scan(tmp_path / "scan.png", 8.0, 8.0)
    with pytest.raises(OutlineError, match="no printed rectangle found"):
        taken(tmp_path / "scan.png")


def test_no_face(drawn: Callable[..., Path]) -> None:
    with pytest.raises(OutlineError, match="no end face found"):
        taken(drawn(DRAW.box(-1.0, -1.0, -0.9, -0.9), []))


def test_second_piece(drawn: Callable[..., Path]) -> None:
    path = drawn(DRAW.box(20, 15, 60, 95), [])
    with Image.open(path) as image:
        grey = np.array(image)
    grey[300:500, 700:800] = 60
    Image.fromarray(grey).save(path)
    with pytest.raises(OutlineError, match=r"a second piece is seen at \(\d"):
        taken(path)


def test_one_shade(tmp_path: Path) -> None:
    Image.new("L", (300, 200), 255).save(tmp_path / "white.png")
    with pytest.raises(OutlineError, match="one shade only"):
        taken(tmp_path / "white.png")


def test_what_is_no_picture(tmp_path: Path) -> None:
    with pytest.raises(OutlineError, match="no such picture"):
        taken(tmp_path / "none.png")
    (tmp_path / "text.png").write_text("not a picture")
    with pytest.raises(OutlineError, match="not a picture that can be read"):
        taken(tmp_path / "text.png")
    (tmp_path / "cut.png").write_bytes((EXAMPLE / "end-face.png").read_bytes()[:5000])
    with pytest.raises(OutlineError, match="not a picture that can be read"):
        taken(tmp_path / "cut.png")


def test_too_many_pixels_are_refused_before_unpacking(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scan, "MAX_PIXELS", 10_000)
    with pytest.raises(LimitError, match="1000 x 800 pixels, at most 10,000"):
        taken(EXAMPLE / "end-face.png")
    monkeypatch.setattr(scan, "MAX_BYTES", 1_000)
    with pytest.raises(LimitError, match="is larger than"):
        taken(EXAMPLE / "end-face.png")


@pytest.mark.parametrize(
    ("marks", "message"),
    [
        (Frame(width=0.0, height=0.1), "the frame has no size"),
        (Frame(width=math.nan, height=0.1), "the frame has no size"),
        (
            Frame(width=0.1, height=0.1, corners=((0, 0), (9, 9), (9, 0), (0, 9))),
            "the corners of the frame do not bound it",
        ),
        (Lengths(first=((0, 0), (0, 0), 0.1), second=((0, 0), (9, 0), 0.1)), "a known length needs"),
        (Lengths(first=((0, 0), (9, 0), -0.1), second=((0, 0), (9, 0), 0.1)), "a known length needs"),
    ],
)
def test_absurd_marks(marks: Frame | Lengths, message: str) -> None:
    with pytest.raises(OutlineError, match=message):
        taken(EXAMPLE / "end-face.png", marks)


@pytest.mark.parametrize("tolerance", [0.0, -1e-4, math.nan])
def test_absurd_tolerance(tolerance: float) -> None:
    with pytest.raises(OutlineError, match="tolerance"):
        taken(EXAMPLE / "end-face.png", tolerance=tolerance)


@pytest.mark.parametrize("missing", ["PIL", "skimage.measure"])
def test_without_the_extra(missing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def no(name: str, *rest: Any, **options: Any) -> Any:
        if name == missing:
            raise ImportError(name)
        return real(name, *rest, **options)

    monkeypatch.setattr(builtins, "__import__", no)
    with pytest.raises(EnvironmentFault, match=r"strongback\[scan\]"):
        taken(EXAMPLE / "end-face.png")


def test_perspective_of_four_points_is_exact() -> None:
    # A projective map is fixed by four points: every other point must follow.
    true = np.array([[0.2, -0.05, 0.01], [0.03, 0.25, -0.02], [1e-4, -2e-4, 1.0]])
    corners = np.array([[0.0, 0.0], [900.0, 10.0], [950.0, 700.0], [-20.0, 720.0]])
    found = _trace.homography(corners, _trace.mapped(true, corners))
    spots = np.random.default_rng(0).uniform(0.0, 900.0, (50, 2))
    np.testing.assert_allclose(_trace.mapped(found, spots), _trace.mapped(true, spots), rtol=1e-9)


def test_code_of_the_readme_runs(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(EXAMPLE.parents[1])
    code = (EXAMPLE / "README.md").read_text(encoding="utf-8").split("```python\n")[1].split("```")[0]
    exec(compile(code, "README.md", "exec"), {})
    shown = capsys.readouterr().out
    assert "['cell 1', 'cell 2', 'cell 3']" in shown
    assert "agree within 2%" in shown
