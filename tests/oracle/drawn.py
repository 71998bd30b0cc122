"""Random machines: ordinary ones as a workshop has them, and harsh ones that try everything that hurts a computation.

All of it is invented. A machine is a tree of joints from the ground upwards, with more joints and supports across it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from strongback.machine.values import (
    GROUND,
    RIGID,
    Block,
    Gauge,
    Joint,
    Machine,
    Member,
    Place,
    Pull,
    Span,
    Support,
)
from strongback.section.values import SectionStiffness, stiffness_from_constants


@dataclass(frozen=True, kw_only=True)
class Kind:
    """Ranges (exponents of ten) that a machine is drawn from."""

    along: tuple[float, float] = (6.5, 9.5)  # joints [N/m]
    about: tuple[float, float] = (4.0, 7.5)  # [N m/rad]
    bending: tuple[float, float] = (4.0, 6.5)  # EI [N m²]
    decay: tuple[float, float] = (-1.3, 0.3)  # of the warping over the length of the member
    rigid: float = 0.08  # share of the components of a tree
    feet: float = 0.5  # share of machines that stand on three or four feet without rotations
    flat: float = 0.0  # share of feet that are nearly in line
    close: float = 0.0  # share of points that stand close to another


ORDINARY = Kind()
HARSH = Kind(
    along=(-6.0, 15.0), about=(-6.0, 15.0), bending=(1.0, 8.0), decay=(-2.0, 1.0), flat=0.3, close=0.2
)


def machine(seed: int, kind: Kind = ORDINARY) -> Machine:
    """The machine of a seed."""
    return _Draw(np.random.default_rng([seed, 13]), kind).machine(f"drawn {seed}")


def turn(rng: np.random.Generator) -> np.ndarray:
    """A rotation without preference for any direction, (3, 3)."""
    q, r = np.linalg.qr(rng.normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q * np.sign(np.linalg.det(q))


class _Draw:
    def __init__(self, rng: np.random.Generator, kind: Kind) -> None:
        self.rng, self.kind = rng, kind
        self.points: list[np.ndarray] = []

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def power(self, low: float, high: float) -> float:
        return float(10 ** self.rng.uniform(low, high))

    def vector(self, size: float = 1.0) -> tuple[float, float, float]:
        x, y, z = (float(v) for v in self.rng.normal(scale=size, size=3))
        return x, y, z

    def section(self, name: str, length: float) -> SectionStiffness:
        """Centroid and shear centre apart, principal axes turned, shear coupled with the secondary torque, or plainer."""
        rng, EI = self.rng, self.power(*self.kind.bending)
        other, size = EI * self.power(-0.5, 0.5), self.power(-1.5, -0.9)
        GJ, kGA = EI * self.power(-2.0, 0.2), EI / size**2 * self.power(-1.0, -0.3)
        offset = [tuple(float(v) for v in rng.normal(scale=0.3 * size, size=2)) for _ in range(2)]
        warps = self.chance(0.5)
        GD = GJ * self.power(0.0, 2.0)
        EGamma = (length * self.power(*self.kind.decay)) ** 2 * GJ * GD / (GJ + GD) if warps else 0.0
        shear = None
        if self.chance(0.7):
            across = kGA * self.power(-0.5, 0.5)
            root = np.diag([kGA, across, GD]) ** 0.5
            root = np.linalg.inv(root[range(3), range(3)] * np.eye(3))
            mixed = rng.uniform(-0.5, 0.5, size=3)
            tie = np.eye(3)
            for (i, k), c in zip(itertools.combinations(range(3), 2), mixed, strict=True):
                tie[i, k] = tie[k, i] = c * 0.8
            shear = root @ tie @ root
        return stiffness_from_constants(
            name=name,
            EA=EI / size**2 * self.power(-0.3, 0.3),
            EIx=EI,
            EIy=other,
            EIxy=float(rng.uniform(-0.7, 0.7)) * (EI * other) ** 0.5 if self.chance(0.5) else 0.0,
            GJ=GJ,
            EGamma=EGamma,
            kGAx=kGA if shear is None else 1 / shear[0, 0],
            kGAy=kGA * 0.7 if shear is None else 1 / shear[1, 1],
            centroid=offset[0],
            shear_centre=offset[1],
            shear_compliance=shear,
        )

    def member(self, name: str, sections: list[SectionStiffness]) -> Member:
        start = np.array(self.points[self.rng.integers(len(self.points))]) + self.vector(0.05)
        run = np.array(self.vector())
        run *= self.power(-0.7, 0.1) / np.linalg.norm(run)
        return self.line(name, start, start + run, sections)

    def line(self, name: str, start: np.ndarray, end: np.ndarray, sections: list[SectionStiffness]) -> Member:
        length = float(np.linalg.norm(end - start))
        cuts = np.sort(self.rng.uniform(0.1, 0.9, size=self.rng.integers(3)))
        spans = []
        for low, high in itertools.pairwise([0.0, *cuts, 1.0]):
            if not sections or self.chance(0.7):
                sections.append(self.section(f"section {len(sections)}", length))
            chosen = sections[self.rng.integers(len(sections))]
            spans.append(Span(section=chosen.name, length=float(high - low) * length))
        self.points += [start, end]
        factors = tuple(
            (n, self.power(-0.5, 0.5)) for n in ("bending", "torsion", "shear", "axial", "warping")
        )
        ends = [("free", "held")[self.rng.integers(2)] for _ in range(2)]
        return Member(
            name=name,
            start=_tuple(start),
            end=_tuple(end),
            x_axis=self.vector(),
            spans=tuple(spans),
            ends=(ends[0], ends[1]),
            factors=factors if self.chance(0.2) else (),
        )

    def six(self, rigid: float) -> tuple[float, ...]:
        kind = self.kind
        ranges = [kind.along] * 3 + [kind.about] * 3
        return tuple(RIGID if self.chance(rigid) else self.power(*r) for r in ranges)

    def axes(self) -> tuple[tuple[float, ...], ...]:
        return tuple(_tuple(row) for row in (turn(self.rng) if self.chance(0.5) else np.eye(3)))

    def on(self, part: Member | Block) -> np.ndarray:
        """A point that a part carries: near its line, or near where another point stands."""
        if self.chance(self.kind.close):
            return np.array(self.points[-1]) + self.vector(self.power(-9.0, -3.0))
        if isinstance(part, Block):
            found = np.array(part.at) + self.vector(0.1)
        else:
            along = self.rng.choice([0.0, 1.0, self.rng.uniform()])
            found = np.array(part.start) + along * np.subtract(part.end, part.start) + self.vector(0.05)
        self.points.append(found)
        return found

    def feet(self, part: Member | Block) -> tuple[Support, ...]:
        """Three or four feet that push and hold, but do not keep from turning."""
        middle, frame = self.on(part), turn(self.rng)
        wide = np.array([[-1, -1, 0], [1, -1, 0], [0, 1, 0], [0.3, 1.2, 0]]) * 0.2
        if self.chance(self.kind.flat):
            wide[:, 1] *= self.power(-6.0, -1.0)
        count = self.rng.integers(3, 5)
        return tuple(
            Support(
                name=f"foot {k}",
                part=part.name,
                at=_tuple(middle + frame.T @ (p + self.rng.normal(scale=0.02, size=3) * [1, 0, 0])),
                stiffness=(*self.six(0.0)[:3], 0.0, 0.0, 0.0),
                axes=tuple(_tuple(row) for row in frame),
            )
            for k, p in enumerate(wide[:count])
        )

    def pull(self, k: int, parts: list[Member | Block]) -> Pull:
        part = parts[self.rng.integers(len(parts))]
        size = self.power(0.0, 3.0)
        what = self.rng.integers(3)
        others = [p.name for p in parts if p is not part] or [GROUND]
        return Pull(
            name=f"pull {k}",
            part=part.name,
            at=_tuple(self.on(part)),
            force=self.vector(size) if what != 1 else (0.0, 0.0, 0.0),
            couple=self.vector(0.1 * size) if what != 0 else (0.0, 0.0, 0.0),
            against=others[self.rng.integers(len(others))] if self.chance(0.3) else GROUND,
        )

    def gauge(self, k: int, parts: list[Member | Block]) -> Gauge:
        part = parts[self.rng.integers(len(parts))]
        other = parts[self.rng.integers(len(parts))]
        free = self.chance(0.4) or other is part
        return Gauge(
            name=f"gauge {k}",
            part=part.name,
            at=_tuple(self.on(part)),
            direction=self.vector(),
            reference=GROUND if free else other.name,
            stand=None if free or self.chance(0.3) else _tuple(self.on(other)),
        )

    def machine(self, name: str) -> Machine:
        rng = self.rng
        self.points = [np.array(self.vector(0.3))]
        sections: list[SectionStiffness] = []
        parts: list[Member | Block] = []
        joints: list[Joint] = []
        supports: list[Support] = []
        for k in range(rng.integers(1, 6)):
            line = self.chance(0.7) or k == 0
            part = (
                self.member(f"member {k}", sections)
                if line
                else Block(name=f"block {k}", at=_tuple(self.points[-1]))
            )
            if not parts:
                if self.chance(self.kind.feet):
                    supports += self.feet(part)
                else:
                    supports.append(
                        Support(
                            name="base",
                            part=part.name,
                            at=_tuple(self.on(part)),
                            stiffness=self.six(self.kind.rigid),
                            axes=self.axes(),
                        )
                    )
            else:
                below = parts[rng.integers(len(parts))]
                ends = (below.name, part.name) if self.chance(0.5) else (part.name, below.name)
                joints.append(
                    Joint(
                        name=f"joint {k}",
                        parts=ends,
                        at=_tuple(self.on(part)),
                        stiffness=self.six(self.kind.rigid),
                        axes=self.axes(),
                    )
                )
            parts.append(part)
        joints, parts = self.run_on(parts, joints, sections)
        self.across(parts, joints, supports)
        tool = parts[-1]
        at = _tuple(self.on(tool))
        work = parts[rng.integers(len(parts))]
        members = tuple(p for p in parts if isinstance(p, Member))
        used = {span.section for m in members for span in m.spans}
        return Machine(
            name=name,
            sections=tuple((s.name, s) for s in sections if s.name in used),
            members=members,
            blocks=tuple(p for p in parts if isinstance(p, Block)),
            joints=tuple(joints),
            supports=tuple(supports),
            pulls=tuple(self.pull(k, parts) for k in range(rng.integers(1, 4))),
            gauges=tuple(self.gauge(k, parts) for k in range(rng.integers(1, 4))),
            tool=Place(part=tool.name, at=at),
            work=Place(part=GROUND if work is tool or self.chance(0.5) else work.name, at=at),
        )

    def run_on(
        self, parts: list[Member | Block], joints: list[Joint], sections: list[SectionStiffness]
    ) -> tuple[list[Joint], list[Member | Block]]:
        """Sometimes a member that runs on in line where another ends, drawn either way, its warping joined."""
        first = next(p for p in parts if isinstance(p, Member))
        if not self.chance(0.3):
            return joints, parts
        end = np.array(first.end)
        step = np.subtract(first.end, first.start) * self.rng.uniform(0.3, 1.0)
        same = self.chance(0.5)
        a, b = (end, end + step) if same else (end + step, end)
        more = self.line("run on", a, b, sections)
        own = more.ends[1 if same else 0]
        more = replace(more, ends=("joined", own) if same else (own, "joined"))
        joint = Joint(
            name="seam",
            parts=(first.name, more.name),
            at=_tuple(end),
            stiffness=self.six(0.5),
            axes=self.axes(),
        )
        changed = [replace(p, ends=(p.ends[0], "joined")) if p is first else p for p in parts]
        return [*joints, joint], [*changed, more]

    def across(self, parts: list[Member | Block], joints: list[Joint], supports: list[Support]) -> None:
        """More ways for the forces: joints across the tree and to the ground, and supports, some components free."""
        for k in range(self.rng.integers(0, 3)):
            part = parts[self.rng.integers(len(parts))]
            others = [p.name for p in parts if p is not part] + [GROUND]
            other = others[self.rng.integers(len(others))]
            six = tuple(0.0 if self.chance(0.3) else v for v in self.six(0.0))
            at = _tuple(self.on(part))
            if self.chance(0.5):
                joints.append(
                    Joint(name=f"stay {k}", parts=(part.name, other), at=at, stiffness=six, axes=self.axes())
                )
            else:
                supports.append(
                    Support(name=f"prop {k}", part=part.name, at=at, stiffness=six, axes=self.axes())
                )


def _tuple(values) -> tuple[float, ...]:
    return tuple(float(v) for v in values)
