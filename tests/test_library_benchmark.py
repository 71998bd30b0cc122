"""Frames, load types and files of the library benchmark: each within its target."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

import pytest

BENCHMARKS = Path(__file__).parents[1] / "benchmarks"
SAME = 1e-6


@pytest.fixture(scope="module")
def library():
    """The benchmark with the modules beside it."""
    sys.path.insert(0, str(BENCHMARKS))
    try:
        yield importlib.import_module("library")
    finally:
        sys.path.remove(str(BENCHMARKS))


@pytest.mark.slow
def test_frames_and_loads_are_those_of_a_second_code_and_of_closed_forms(library):
    found = dict(library.acting.differences())
    assert sum(name.startswith("frame, ") for name in found) == 7
    assert sum(name.startswith("load, ") for name in found) >= 11
    assert max(found.values()) < SAME


def test_every_file_format_is_read_back(library):
    found = dict(library.files.differences(library.profiles()))
    assert {name.split(":")[0] for name in found} >= {".vtu", ".vtk", ".xdmf", ".glb", ".dxf", ".svg", ".wkt"}
    assert max(found.values()) < SAME


def test_the_second_code_bends_a_cantilever_as_it_must(library):
    """P L³/3EI + P L/kGA and L/EA: what the frames are held against is held against a closed form itself."""
    frames = sys.modules["frames"]
    bar, length, force = frames.SLIM, 0.7, 100.0
    post = frames.Frame(
        name="post",
        nodes={"foot": (0, 0, 0), "head": (0, 0, length)},
        beams=[frames._post("foot", "head", (0, 0, 0), (0, 0, length), bar)],
        springs=[frames._held("foot", (0, 0, 0))],
        loads=[frames.Load(on="head", at=(0, 0, length), force=(force, force, force))],
        tool="head",
    )
    motion = frames.second_answer(post)[0]["head"]
    for k, (EI, kGA) in enumerate(((bar.EIy, bar.kGAx), (bar.EIx, bar.kGAy))):
        exact = force * length**3 / (3 * EI) + force * length / kGA
        assert motion[k] == pytest.approx(exact, rel=1e-12)
    assert motion[2] == pytest.approx(force * length / bar.EA, rel=1e-12)
