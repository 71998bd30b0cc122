"""What a body refuses before any work, and how it says so."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from strongback.errors import LimitError, MachineError, NotConvergedError
from strongback.machine.body import PadSpec, body_stiffness, condense, span_meshes
from strongback.materials import Material
from strongback.section.mesh import mesh
from strongback.section.outline import filled, from_rings
from strongback.section.shapes import circle_ring, rectangular_tube
from strongback.section.values import Fill, Outline, SectionMesh

ALUMINIUM = Material(name="aluminium", E=70e9, nu=0.3, density=2700.0, source="EN 1999-1-1, 3.2.5")
MINERAL = Material(name="mineral", E=30e9, nu=0.2, density=2300.0, source="common practice, no source")
PAD = PadSpec(name="head", centre=(0.0, 0.03, 0.2), normal=(0.0, 1.0), size=(0.04, 0.04))


def tube(depth: float = 0.06) -> Outline:
    return rectangular_tube(ALUMINIUM, 0.08, depth, 0.006)


@pytest.fixture(scope="module")
def section() -> SectionMesh:
    return mesh(tube(), size=0.03)


def never(_fraction: float, what: str) -> None:
    raise AssertionError(f"work began: {what}")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"centre": (0.0, 0.035, 0.2)},
            'pad "head" at x = 0 mm, y = 35 mm lies on no wall\n.*wall .* is 5 mm off',
        ),
        ({"normal": (1.0, 1.0)}, "lies on no wall\n.*no wall of the section faces this way"),
        ({"size": (0.10, 0.04)}, "100 mm across, reaches 10 mm past its wall\n.*flat there is 80 mm wide"),
        ({"centre": (0.0, 0.03, 0.29)}, "covers 270 to 310 mm along a member of 300 mm"),
        ({"centre": (0.0, 0.03, 0.01)}, "covers -10 to 30 mm along"),
        ({"size": (0.0, 0.04)}, "size must be above 0"),
        ({"stiffness": 0.0}, "contact stiffness must be above 0"),
        ({"tangential": -0.5}, "tangential fraction .* must be above 0"),
        ({"normal": (0.0, 0.0)}, "normal has no length"),
        ({"centre": (float("nan"), 0.03, 0.2)}, "not a finite number"),
    ],
)
def test_pad_that_does_not_fit(section: SectionMesh, change: dict[str, object], message: str) -> None:
    pad = dataclasses.replace(PAD, **change)  # type: ignore[arg-type]
    with pytest.raises(MachineError, match=f"(?s){message}"):
        body_stiffness([(section, 0.3)], pads=[pad], progress=never)


def test_point_off_the_walls(section: SectionMesh) -> None:
    with pytest.raises(MachineError, match=r"point 2 at x = 0 mm, y = 0 mm lies 24 mm off the section"):
        body_stiffness(
            [(section, 0.3)], pads=[PAD], points=[(0.04, 0.0, 0.1), (0.0, 0.0, 0.1)], progress=never
        )
    with pytest.raises(MachineError, match=r"point 1 at s = 400 mm is not on the member of 300 mm"):
        body_stiffness([(section, 0.3)], pads=[PAD], points=[(0.04, 0.0, 0.4)], progress=never)


def test_spans(section: SectionMesh) -> None:
    with pytest.raises(MachineError, match="at least one span"):
        body_stiffness([], progress=never)
    with pytest.raises(MachineError, match=r"span 2 of the body: length = -50 mm must be above 0"):
        body_stiffness([(section, 0.3), (section, -0.05)], progress=never)
    with pytest.raises(MachineError, match="span 2 of the body has another mesh than span 1"):
        body_stiffness([(section, 0.2), (mesh(tube(0.05), size=0.03), 0.1)], progress=never)


def test_nothing_to_meet_the_machine(section: SectionMesh) -> None:
    with pytest.raises(MachineError, match="two free ends and no pad meets nothing"):
        body_stiffness([(section, 0.3)], base="free", progress=never)
    with pytest.raises(MachineError, match="same name: base, head, head"):
        body_stiffness([(section, 0.3)], pads=[PAD, PAD], progress=never)


def test_memory_is_predicted_first(section: SectionMesh) -> None:
    with pytest.raises(
        LimitError, match=r"the body would need about 0\.\d+ GiB, at most 0\.0049 GiB are allowed"
    ):
        body_stiffness([(section, 0.3)], pads=[PAD], memory_cap=5 * 2**20, progress=never)


def test_a_tolerance_out_of_reach_is_said(section: SectionMesh, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(condense, "ROUNDS", 1)
    with pytest.raises(NotConvergedError, match=r"still missing .* of its energy with \d+ section shapes"):
        body_stiffness([(section, 0.3)], end="rigid", tolerance=1e-12)


def test_bores_must_be_the_same_in_all_spans() -> None:
    cell = tube().cells[0].name
    plain = filled(tube(), {cell: Fill(material=MINERAL)})
    bored = filled(tube(), {cell: Fill(material=MINERAL, bores=(circle_ring(0.01),))})
    with pytest.raises(MachineError, match=f'cell "{cell}" has other bores or inserts'):
        span_meshes([plain, bored])


def test_one_mesh_serves_all_spans() -> None:
    box = [(0.0, 0.0), (0.06, 0.0), (0.06, 0.04), (0.0, 0.04)]
    cells = {
        "left": [(0.004, 0.004), (0.028, 0.004), (0.028, 0.036), (0.004, 0.036)],
        "right": [(0.032, 0.004), (0.056, 0.004), (0.056, 0.036), (0.032, 0.036)],
    }
    empty = from_rings("two", ALUMINIUM, box, cells)
    left = filled(empty, {"left": Fill(material=MINERAL)})
    below, middle, above = span_meshes([filled(left, {"right": Fill(material=MINERAL)}), left, empty])
    for section in (middle, above):
        assert np.array_equal(section.nodes, below.nodes)
    assert len(below.triangles) > len(middle.triangles) > len(above.triangles)
    assert {above.parts[i] for i in np.unique(above.region)} == {"wall wall"}


def test_arcs_are_drawn_by_fewer_chords() -> None:
    """Fewer nodes, and a section area that hardly differs."""
    rounded = rectangular_tube(ALUMINIUM, 0.08, 0.06, 0.006, outer_radius=0.012, inner_radius=0.006)
    (exact,), (plain,) = (span_meshes([rounded], size=0.03, rounds=0, chord=chord) for chord in (0.0, 5e-4))

    def area(made: SectionMesh) -> float:
        a, b, c = (made.nodes[made.triangles[:, k]] for k in range(3))
        return float(0.5 * np.sum((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]))

    assert len(plain.nodes) < 0.9 * len(exact.nodes)
    assert area(plain) == pytest.approx(area(exact), rel=0.01)


def test_wall_gets_finer_at_its_inner_corners_only() -> None:
    (plain,), (finer,) = (span_meshes([tube()], size=0.03, rounds=rounds) for rounds in (0, 2))

    def area_at(made: SectionMesh, x: float, y: float) -> float:
        a, b, c = (made.nodes[made.triangles[:, k]] for k in range(3))
        area = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
        return float(area[np.argmin(np.hypot(*((a + b + c) / 3.0 - (x, y)).T))])

    assert area_at(finer, 0.034, 0.024) < 0.4 * area_at(plain, 0.034, 0.024)
    assert area_at(finer, 0.0, 0.028) == pytest.approx(area_at(plain, 0.0, 0.028))


def test_a_pad_over_a_slot_is_named_with_the_flats_beside_it() -> None:
    """A face of 6 mm over a slot of 10 mm has nothing to press on; one of 9 mm beside a slot of 8 mm hardly anything."""
    slot = [(-0.004, 0.02), (-0.004, 0.018), (0.004, 0.018), (0.004, 0.02)]
    ring = [(-0.03, -0.02), (0.03, -0.02), (0.03, 0.02), *reversed(slot), (-0.03, 0.02)]
    hollow = [(-0.026, -0.016), (0.026, -0.016), (0.026, 0.014), (-0.026, 0.014)]
    outline = from_rings("slotted", MINERAL, ring, {"inside": hollow})
    (section,) = span_meshes([outline], size=0.03, rounds=0)
    for width, message in ((0.006, "only 0 mm of wall"), (0.0082, "only 0.2 mm of wall")):
        pad = dataclasses.replace(PAD, centre=(0.0, 0.02, 0.2), normal=(0.0, 1.0), size=(width, 0.03))
        with pytest.raises(MachineError, match=message) as caught:
            body_stiffness([(section, 0.3)], pads=[pad])
        assert "-30 to -4 mm (26 mm wide) and 4 to 30 mm (26 mm wide)" in caught.value.hint
    wide = dataclasses.replace(PAD, centre=(0.0, 0.02, 0.2), normal=(0.0, 1.0), size=(0.07, 0.03))
    with pytest.raises(MachineError, match="reaches 5 mm past its wall"):
        body_stiffness([(section, 0.3)], pads=[wide])
