"""Seven frames, and a second frame code for them: twelve unknowns a member, direct stiffness, written for comparison alone.

Of the package it takes nothing: Timoshenko beams (J. S. Przemieniecki, Theory of Matrix Structural Analysis, 1968,
eq. 5.116), nodes that are rigid, arms from a node to the end of a beam, springs, a dense solve. Sizes are invented.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

Array = np.ndarray
RIGID = np.inf


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A section with its principal axes in the drawing and all centres at its origin, SI."""

    EA: float
    EIx: float
    EIy: float
    GJ: float
    kGAx: float
    kGAy: float


@dataclass(frozen=True, kw_only=True)
class Beam:
    """A beam from a node to another, each of which reaches to its end by a rigid arm."""

    nodes: tuple[str, str]
    ends: tuple[tuple[float, ...], tuple[float, ...]]
    bar: Bar
    x_axis: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Springs:
    """Six springs from a node to another or to the ground, in axes of their own (rows)."""

    nodes: tuple[str, str | None]
    at: tuple[float, ...]
    stiffness: tuple[float, ...]
    axes: tuple[tuple[float, ...], ...] = ((1, 0, 0), (0, 1, 0), (0, 0, 1))


@dataclass(frozen=True, kw_only=True)
class Load:
    """A force and a couple on a node, or on a beam at a part of its length."""

    on: str | int
    at: tuple[float, ...] | float
    force: tuple[float, ...] = (0, 0, 0)
    couple: tuple[float, ...] = (0, 0, 0)


@dataclass(frozen=True, kw_only=True)
class Frame:
    """A frame under its loads; `rigid` springs are given as infinite ones to the ground alone."""

    name: str
    nodes: dict[str, tuple[float, ...]]
    beams: list[Beam]
    springs: list[Springs]
    loads: list[Load]
    tool: str


def carried(arm: Array) -> Array:
    """Six motions at the tip of a rigid arm from those at its root."""
    T = np.eye(6)
    x, y, z = arm
    T[:3, 3:] = [[0, z, -y], [-z, 0, x], [y, -x, 0]]
    return T


def beam_stiffness(bar: Bar, length: float) -> Array:
    """On ux, uy, us, rx, ry, rs at both ends in the axes of the beam."""
    K = np.zeros((12, 12))

    def put(rows: list[int], block: Array) -> None:
        K[np.ix_(rows, rows)] += block

    put([2, 8], bar.EA / length * np.array([[1, -1], [-1, 1]]))
    put([5, 11], bar.GJ / length * np.array([[1, -1], [-1, 1]]))
    # Along x the deflection grows with +ry, along y with -rx.
    for shift, turn, sign, EI, kGA in ((0, 4, 1.0, bar.EIy, bar.kGAx), (1, 3, -1.0, bar.EIx, bar.kGAy)):
        f, h = 12.0 * EI / (kGA * length**2), length
        block = np.array(
            [
                [12, 6 * h, -12, 6 * h],
                [6 * h, (4 + f) * h * h, -6 * h, (2 - f) * h * h],
                [-12, -6 * h, 12, -6 * h],
                [6 * h, (2 - f) * h * h, -6 * h, (4 + f) * h * h],
            ]
        )
        signs = np.array([1.0, sign, 1.0, sign])
        put([shift, turn, 6 + shift, 6 + turn], EI / (h**3 * (1 + f)) * block * np.outer(signs, signs))
    return K


def turned(start: Array, end: Array, x_axis: tuple[float, ...]) -> Array:
    """Rows x, y, s of a beam."""
    s = (end - start) / np.linalg.norm(end - start)
    x = np.asarray(x_axis, dtype=float)
    x = x - (x @ s) * s
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(s, x), s])


def second_answer(frame: Frame) -> tuple[dict[str, Array], dict[int, Array]]:
    """Motions of the nodes (6) and forces of the ground at its springs (6, about their own points)."""
    nodes = {name: np.asarray(p, dtype=float) for name, p in frame.nodes.items()}
    pieces = []
    cut: dict[int, list[tuple[float, int]]] = {}
    for k, load in enumerate(frame.loads):
        if isinstance(load.on, int):
            cut.setdefault(load.on, []).append((float(load.at), k))  # type: ignore[arg-type]
    place: dict[int, str] = {}
    for i, beam in enumerate(frame.beams):
        a, b = (np.asarray(p, dtype=float) for p in beam.ends)
        chain = [(beam.nodes[0], a)]
        for part, k in sorted(cut.get(i, [])):
            name = f"cut {k}"
            nodes[name] = a + part * (b - a)
            place[k] = name
            chain.append((name, nodes[name]))
        chain.append((beam.nodes[1], b))
        pieces += [(*one, *two, beam) for one, two in itertools.pairwise(chain)]
    index = {name: 6 * k for k, name in enumerate(nodes)}
    K, f = np.zeros((6 * len(nodes),) * 2), np.zeros(6 * len(nodes))
    for first, a, last, b, beam in pieces:
        R = turned(a, b, beam.x_axis)
        T = np.kron(np.eye(4), R)
        arms = np.zeros((12, 12))
        arms[:6, :6], arms[6:, 6:] = carried(a - nodes[first]), carried(b - nodes[last])
        own = arms.T @ T.T @ beam_stiffness(beam.bar, float(np.linalg.norm(b - a))) @ T @ arms
        rows = np.r_[index[first] : index[first] + 6, index[last] : index[last] + 6]
        K[np.ix_(rows, rows)] += own
    held = np.zeros(len(f), dtype=bool)
    for spring in frame.springs:
        R = np.kron(np.eye(2), np.asarray(spring.axes, dtype=float))
        rows = np.zeros((6, len(f)))
        for sign, name in zip((-1.0, 1.0), spring.nodes, strict=True):
            if name is not None:
                k = index[name]
                rows[:, k : k + 6] += sign * R @ carried(np.asarray(spring.at, dtype=float) - nodes[name])
        if all(np.isinf(spring.stiffness)):
            held[index[spring.nodes[0]] : index[spring.nodes[0]] + 6] = True
        else:
            K += rows.T @ np.diag(spring.stiffness) @ rows
    for k, load in enumerate(frame.loads):
        name = load.on if isinstance(load.on, str) else place[k]
        at = np.asarray(load.at, dtype=float) if isinstance(load.on, str) else nodes[name]
        wrench = np.array([*load.force, *load.couple], dtype=float)
        f[index[name] : index[name] + 6] += carried(at - nodes[name]).T @ wrench
    u = np.zeros(len(f))
    free = ~held
    u[free] = np.linalg.solve(K[np.ix_(free, free)], f[free])
    motions = {name: u[k : k + 6] for name, k in index.items()}
    return motions, _reactions(frame, nodes, index, K, u, f)


def _reactions(
    frame: Frame, nodes: dict[str, Array], index: dict[str, int], K: Array, u: Array, f: Array
) -> dict[int, Array]:
    found = {}
    for i, spring in enumerate(frame.springs):
        name, other = spring.nodes
        if other is not None:
            continue
        arm = np.asarray(spring.at, dtype=float) - nodes[name]
        if all(np.isinf(spring.stiffness)):
            rows = slice(index[name], index[name] + 6)
            wrench = K[rows] @ u - f[rows]
            found[i] = np.linalg.inv(carried(arm).T) @ wrench
        else:
            R = np.kron(np.eye(2), np.asarray(spring.axes, dtype=float))
            found[i] = -R.T @ np.diag(spring.stiffness) @ R @ carried(arm) @ u[index[name] : index[name] + 6]
    return found


HELD = (RIGID,) * 6
SLIM = Bar(EA=2.6e8, EIx=6.2e4, EIy=1.1e5, GJ=8.0e4, kGAx=4.0e7, kGAy=3.1e7)
STOUT = Bar(EA=9.0e8, EIx=1.4e6, EIy=0.8e6, GJ=1.0e6, kGAx=1.6e8, kGAy=1.9e8)
ROD = Bar(EA=2.3e7, EIx=2.0e2, EIy=2.0e2, GJ=1.5e2, kGAx=8.0e6, kGAy=8.0e6)
UP, SIDE = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)


def _post(a: str, b: str, foot: tuple[float, ...], head: tuple[float, ...], bar: Bar) -> Beam:
    return Beam(nodes=(a, b), ends=(foot, head), bar=bar, x_axis=UP)


def _held(node: str, at: tuple[float, ...]) -> Springs:
    return Springs(nodes=(node, None), at=at, stiffness=HELD)


def frames() -> list[Frame]:
    """Seven of them, from a post to a leaning space frame."""
    return [_loaded_post(), _arm(), _portal(), _mill(), _gantry(), _pyramid(), _leaning()]


def _loaded_post() -> Frame:
    return Frame(
        name="post with forces and couples along it",
        nodes={"foot": (0, 0, 0), "head": (0, 0, 0.7)},
        beams=[_post("foot", "head", (0, 0, 0), (0, 0, 0.7), SLIM)],
        springs=[_held("foot", (0, 0, 0))],
        loads=[
            Load(on=0, at=0.37, force=(120.0, -40.0, 300.0)),
            Load(on=0, at=0.81, couple=(5.0, -9.0, 14.0)),
            Load(on="head", at=(0.05, -0.2, 0.75), force=(60.0, 80.0, -500.0)),
        ],
        tool="head",
    )


def _arm() -> Frame:
    return Frame(
        name="column on springs with an arm",
        nodes={"foot": (0, 0, 0), "knee": (0.01, 0.0, 0.62), "head": (0.0, -0.33, 0.6)},
        beams=[
            _post("foot", "knee", (0, 0, 0), (0, 0, 0.6), STOUT),
            Beam(nodes=("knee", "head"), ends=((0, -0.05, 0.65), (0, -0.3, 0.65)), bar=SLIM, x_axis=UP),
        ],
        springs=[Springs(nodes=("foot", None), at=(0, 0, 0), stiffness=(4e8, 5e8, 9e8, 2e6, 3e6, 1e6))],
        loads=[Load(on="head", at=(0.02, -0.33, 0.4), force=(150.0, 90.0, 400.0), couple=(0, 0, 8.0))],
        tool="head",
    )


def _portal() -> Frame:
    feet, tops = ((-0.4, 0, 0), (0.4, 0, 0)), ((-0.4, 0, 0.5), (0.4, 0, 0.5))
    return Frame(
        name="two columns and a crossbeam",
        nodes={"foot 1": feet[0], "foot 2": feet[1], "top 1": tops[0], "top 2": tops[1]},
        beams=[
            _post("foot 1", "top 1", feet[0], tops[0], SLIM),
            _post("foot 2", "top 2", feet[1], tops[1], SLIM),
            Beam(nodes=("top 1", "top 2"), ends=tops, bar=STOUT, x_axis=SIDE),
        ],
        springs=[_held("foot 1", feet[0]), _held("foot 2", feet[1])],
        loads=[Load(on=2, at=0.3, force=(70.0, -220.0, -900.0), couple=(12.0, 0.0, 3.0))],
        tool="top 2",
    )


def _mill() -> Frame:
    return Frame(
        name="bed, column and head with joints",
        nodes={
            "bed": (0, -0.2, 0.05),
            "foot": (0, 0, 0.1),
            "top": (0, 0, 0.7),
            "saddle": (0, -0.08, 0.5),
            "head": (0, -0.3, 0.45),
        },
        beams=[
            _post("foot", "saddle", (0, 0, 0.1), (0, 0, 0.5), STOUT),
            _post("saddle", "top", (0, 0, 0.5), (0, 0, 0.7), STOUT),
            Beam(nodes=("saddle", "head"), ends=((0, -0.1, 0.5), (0, -0.3, 0.5)), bar=SLIM, x_axis=UP),
        ],
        springs=[
            Springs(nodes=("bed", None), at=(0.1, -0.4, 0), stiffness=(6e7, 6e7, 8e7, 1e4, 1e4, 1e4)),
            Springs(nodes=("bed", None), at=(-0.15, -0.3, 0), stiffness=(6e7, 6e7, 8e7, 1e4, 1e4, 1e4)),
            Springs(nodes=("bed", None), at=(0, 0.1, 0), stiffness=(6e7, 6e7, 8e7, 1e4, 1e4, 1e4)),
            Springs(nodes=("bed", "foot"), at=(0, 0, 0.1), stiffness=(8e8, 8e8, 2e9, 4e6, 3e6, 5e6)),
        ],
        loads=[
            Load(on="head", at=(0, -0.35, 0.3), force=(200.0, -150.0, 300.0)),
            Load(on="bed", at=(0, -0.35, 0.3), force=(-200.0, 150.0, -300.0)),
        ],
        tool="head",
    )


def _gantry() -> Frame:
    feet, tops = ((-0.5, 0, 0), (0.5, 0.1, 0)), ((-0.5, 0, 0.4), (0.5, 0.1, 0.4))
    turned_axes = ((0.6, 0.8, 0.0), (-0.8, 0.6, 0.0), (0.0, 0.0, 1.0))
    rail = Springs(
        nodes=("middle", "carriage"),
        at=(0.05, -0.06, 0.45),
        stiffness=(9e7, 2e8, 3e8, 1e5, 4e5, 2e5),
        axes=turned_axes,
    )
    return Frame(
        name="gantry with a carriage on turned springs",
        nodes={
            "foot 1": feet[0], "foot 2": feet[1], "top 1": tops[0], "top 2": tops[1],
            "middle": (0.05, 0.055, 0.4), "carriage": (0.05, -0.1, 0.4),
        },
        beams=[
            _post("foot 1", "top 1", feet[0], tops[0], STOUT),
            _post("foot 2", "top 2", feet[1], tops[1], SLIM),
            Beam(nodes=("top 1", "middle"), ends=(tops[0], (0.05, 0.055, 0.4)), bar=STOUT, x_axis=SIDE),
            Beam(nodes=("middle", "top 2"), ends=((0.05, 0.055, 0.4), tops[1]), bar=STOUT, x_axis=SIDE),
        ],
        springs=[_held("foot 1", feet[0]), _held("foot 2", feet[1]), rail],
        loads=[Load(on="carriage", at=(0.05, -0.15, 0.1), force=(180.0, 240.0, -60.0), couple=(0, 2.0, 1.0))],
        tool="carriage",
    )  # fmt: skip


def _pyramid() -> Frame:
    feet = {"a": (0.3, 0.3, 0), "b": (-0.3, 0.3, 0), "c": (-0.3, -0.3, 0), "d": (0.3, -0.35, 0.05)}
    top = (0.02, 0.0, 0.6)
    pinned = (1e12, 1e12, 1e12, 0.0, 0.0, 0.0)
    return Frame(
        name="four legs on pins, rigid at the top",
        nodes={**feet, "top": top},
        beams=[
            Beam(nodes=(n, "top"), ends=(p, top), bar=ROD, x_axis=(0.3, -0.2, 1.0)) for n, p in feet.items()
        ],
        springs=[Springs(nodes=(n, None), at=p, stiffness=pinned) for n, p in feet.items()],
        loads=[Load(on="top", at=(0.02, 0.05, 0.7), force=(400.0, -300.0, -200.0), couple=(4.0, 1.0, -6.0))],
        tool="top",
    )


def _leaning() -> Frame:
    """Members askew to every axis, stout enough for shear to count, fed and held at many places."""
    p = {
        "a": (0, 0, 0),
        "b": (0.25, 0.1, 0.3),
        "c": (-0.1, 0.35, 0.45),
        "d": (0.3, 0.5, 0.1),
        "e": (0.1, 0.2, 0.7),
    }
    pairs = ["ab", "bc", "cd", "ce", "be", "ad"]
    beams = [
        Beam(nodes=(i, j), ends=(p[i], p[j]), bar=STOUT if k % 2 else SLIM, x_axis=(0.2, 1.0, 0.1 * k))
        for k, (i, j) in enumerate(pairs)
    ]
    return Frame(
        name="leaning space frame",
        nodes=dict(p),
        beams=beams,
        springs=[
            _held("a", p["a"]),
            Springs(nodes=("d", None), at=(0.32, 0.5, 0.1), stiffness=(3e8, 2e8, 5e8, 1e5, 0, 2e5)),
        ],
        loads=[
            Load(on=1, at=0.45, force=(90.0, 30.0, -250.0)),
            Load(on=4, at=0.6, couple=(6.0, -3.0, 9.0)),
            Load(on="e", at=(0.15, 0.2, 0.75), force=(-120.0, 210.0, -80.0)),
        ],
        tool="e",
    )
