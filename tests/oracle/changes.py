"""Changes of the description that change no machine: turned, mirrored, shifted, renamed, reordered, split, drawn from the
other end, in other units. Each gives the machine anew and how its answers go back to those of the first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
from oracle.drawn import turn
from oracle.package import Answers

from strongback.machine.values import GROUND, RIGID, Joint, Machine, Member, Span
from strongback.section.values import SectionStiffness

Back = Callable[[Answers], Answers]
Changed = tuple[Machine, Back]

POINTS = {"at", "start", "end", "stand"}
ARROWS = {"force", "direction", "x_axis"}  # vectors proper
NAMES = {"name", "part", "parts", "section", "sections", "against", "reference"}
TURNS = {"couple"}  # axial vectors: a mirror turns them the other way
MIRROR_Y = np.array([1, -1, 1, -1, 1, -1, -1, -1])  # strains of a section whose y is the other way
DRAWN_BACK = np.array([-1, 1, 1, -1, 1, 1, 1, -1])  # strains when y and s are the other way


def _tuple(values: Any) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def _mapped(machine: Machine, change: Callable[[str, Any], Any]) -> Machine:
    """Every vector field of every value in a machine through `change(field name, value)`."""

    def through(value: Any) -> Any:
        if isinstance(value, tuple):
            return tuple(through(v) for v in value)
        if not is_dataclass(value) or isinstance(value, SectionStiffness):
            return value
        return replace(value, **{f.name: one(f.name, getattr(value, f.name)) for f in fields(value)})

    def one(name: str, value: Any) -> Any:
        if name in POINTS | ARROWS | TURNS | {"axes"}:
            return value if value is None else change(name, value)
        return through(value)

    return replace(machine, **{f.name: through(getattr(machine, f.name)) for f in fields(machine)})


def _rotated(found: Answers, proper: np.ndarray, axial: np.ndarray) -> Answers:
    """Answers with vectors and axial vectors turned back."""
    both = np.kron(np.diag([1, 0]), proper) + np.kron(np.diag([0, 1]), axial)
    reactions = np.einsum("ij,sjp->sip", both, found.reactions)
    return Answers(tool=both @ found.tool, gauges=found.gauges, reactions=reactions)


def turned(machine: Machine, rng: np.random.Generator) -> Changed:
    R = turn(rng)

    def change(name: str, value: Any) -> Any:
        return tuple(_tuple(R @ row) for row in value) if name == "axes" else _tuple(R @ np.array(value))

    return _mapped(machine, change), lambda found: _rotated(found, R.T, R.T)


def shifted(machine: Machine, rng: np.random.Generator) -> Changed:
    by = rng.normal(size=3)
    return _mapped(
        machine, lambda name, v: _tuple(np.array(v) + by) if name in POINTS else v
    ), lambda found: found


def _resigned(section: SectionStiffness, signs: np.ndarray, name: str) -> SectionStiffness:
    """A section whose y axis is the other way."""
    matrix = np.outer(signs, signs) * np.array(section.matrix)
    return replace(
        section,
        name=name,
        EIxy=-section.EIxy,
        centroid=(section.centroid[0], -section.centroid[1]),
        shear_centre=(section.shear_centre[0], -section.shear_centre[1]),
        matrix=tuple(_tuple(row) for row in matrix),
    )


def mirrored(machine: Machine, rng: np.random.Generator) -> Changed:
    """In a plane square to x: the section's y runs the other way, so that (x, y, s) stays right-handed."""
    M = np.diag([-1.0, 1.0, 1.0])

    def change(name: str, value: Any) -> Any:
        if name == "axes":
            a, b, c = (M @ np.array(row) for row in value)
            return _tuple(a), _tuple(b), _tuple(-c)
        return _tuple((-M if name in TURNS else M) @ np.array(value))

    sections = tuple((n, _resigned(s, MIRROR_Y, n)) for n, s in machine.sections)
    return replace(_mapped(machine, change), sections=sections), lambda found: _rotated(found, M, -M)


def renamed(machine: Machine, rng: np.random.Generator) -> Changed:
    """Every name but the ground's; the new ones sort otherwise."""
    names: dict[str, str] = {}

    def new(old: str) -> str:
        return names.setdefault(old, f"{rng.integers(10**9):09d}-{len(names)}")

    def through(value: Any, name: str = "") -> Any:
        if isinstance(value, str):
            return new(value) if name in NAMES and value not in ("ground", "") else value
        if isinstance(value, tuple):
            return tuple(through(v, name) for v in value)
        if is_dataclass(value):
            return replace(value, **{f.name: through(getattr(value, f.name), f.name) for f in fields(value)})
        return value

    return through(machine), lambda found: found


def reordered(machine: Machine, rng: np.random.Generator) -> Changed:
    orders = {
        n: rng.permutation(len(getattr(machine, n)))
        for n in ("members", "blocks", "joints", "supports", "pulls", "gauges")
    }
    there = replace(
        machine, **{n: tuple(getattr(machine, n)[i] for i in order) for n, order in orders.items()}
    )
    pulls, gauges, supports = (np.argsort(orders[n]) for n in ("pulls", "gauges", "supports"))

    def back(found: Answers) -> Answers:
        return Answers(
            tool=found.tool[:, pulls],
            gauges=found.gauges[gauges][:, pulls],
            reactions=found.reactions[supports][:, :, pulls],
        )

    return there, back


def drawn_back(machine: Machine, rng: np.random.Generator) -> Changed:
    """Members from their other end."""
    members, sections = [], list(machine.sections)
    for member in machine.members:
        other, more = _from_the_other_end(member, dict(machine.sections))
        members.append(other)
        sections += more
    used = {span.section for m in members for span in m.spans}
    return replace(
        machine, members=tuple(members), sections=tuple(s for s in dict(sections).items() if s[0] in used)
    ), lambda found: found


def _from_the_other_end(
    member: Member, sections: dict[str, SectionStiffness]
) -> tuple[Member, list[tuple[str, SectionStiffness]]]:
    spans = tuple(Span(section=f"{s.section} back", length=s.length) for s in member.spans[::-1])
    more = [
        (f"{s.section} back", _resigned(sections[s.section], DRAWN_BACK, f"{s.section} back"))
        for s in member.spans
    ]
    return replace(member, start=member.end, end=member.start, spans=spans, ends=member.ends[::-1]), more


def split(machine: Machine, rng: np.random.Generator) -> Changed:
    """Every member in two, rigidly joined, the warping too; the second half drawn either way."""
    parts: dict[str, Callable[[Any], str]] = {}
    members: list[Member] = []
    joints = list(machine.joints)
    sections = list(machine.sections)
    for member in machine.members:
        start, run = np.array(member.start), np.subtract(member.end, member.start)
        length, share = float(np.linalg.norm(run)), rng.uniform(0.2, 0.8)
        cut = _tuple(start + share * run)
        low, high = _cut_spans(member.spans, share * length)
        first = replace(member, end=cut, spans=low, ends=(member.ends[0], "joined"))
        second = replace(
            member, name=f"{member.name} rest", start=cut, spans=high, ends=("joined", member.ends[1])
        )
        if rng.random() < 0.5:
            second, more = _from_the_other_end(second, dict(machine.sections))
            sections += more
        members += [first, second]
        joints.append(
            Joint(name=f"cut {member.name}", parts=(first.name, second.name), at=cut, stiffness=(RIGID,) * 6)
        )
        parts[member.name] = _chooser(start, run, share, first.name, second.name)

    def of(part: str, at: Any) -> str:
        return parts[part](at) if part in parts else part

    used = {span.section for m in members for span in m.spans}
    there = replace(
        machine,
        members=tuple(members),
        sections=tuple(s for s in dict(sections).items() if s[0] in used),
        joints=tuple(
            j if j.name.startswith("cut ") else replace(j, parts=(of(j.parts[0], j.at), of(j.parts[1], j.at)))
            for j in joints
        ),
        supports=tuple(replace(s, part=of(s.part, s.at)) for s in machine.supports),
        pulls=tuple(replace(p, part=of(p.part, p.at), against=of(p.against, p.at)) for p in machine.pulls),
        gauges=tuple(
            replace(g, part=of(g.part, g.at), reference=of(g.reference, g.at if g.stand is None else g.stand))
            for g in machine.gauges
        ),
        tool=replace(machine.tool, part=of(machine.tool.part, machine.tool.at)),
        work=replace(machine.work, part=of(machine.work.part, machine.work.at)),
    )
    return there, lambda found: found


def _chooser(
    start: np.ndarray, run: np.ndarray, share: float, first: str, second: str
) -> Callable[[Any], str]:
    return lambda at: first if np.subtract(at, start) @ run / (run @ run) <= share else second


def _cut_spans(spans: Sequence[Span], at: float) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
    low, high, here = [], [], 0.0
    for span in spans:
        before, after = (
            min(max(at - here, 0.0), span.length),
            min(max(here + span.length - at, 0.0), span.length),
        )
        low += [replace(span, length=before)] if before > 0.0 else []
        high += [replace(span, length=after)] if after > 0.0 else []
        here += span.length
    return tuple(low), tuple(high)


def in_other_units(machine: Machine, rng: np.random.Generator) -> Changed:
    """The numbers of the same machine with millimetre and kilonewton as units."""
    m, N = 1e3, 1e-3
    size = {**dict.fromkeys(POINTS, m), "force": N, "couple": N * m}
    there = _mapped(machine, lambda name, v: _tuple(size[name] * np.array(v)) if name in size else v)
    powers = m ** np.array([0, 0, 0, 1, 1, 1, 1, 2])

    def section(s: SectionStiffness) -> SectionStiffness:
        matrix = N * np.outer(powers, powers) * np.array(s.matrix)
        squared = {n: getattr(s, n) * N * m**2 for n in ("EIx", "EIy", "EIxy", "GJ")}
        plain = {n: getattr(s, n) * N for n in ("EA", "kGAx", "kGAy")}
        ends = {n: tuple(m * v for v in getattr(s, n)) for n in ("centroid", "shear_centre")}
        return replace(
            s, **squared, **plain, **ends, EGamma=s.EGamma * N * m**4, matrix=tuple(_tuple(r) for r in matrix)
        )

    def springs(holder: Any) -> Any:
        return replace(
            holder, stiffness=tuple(k * (N / m if i < 3 else N * m) for i, k in enumerate(holder.stiffness))
        )

    there = replace(
        there,
        sections=tuple((n, section(s)) for n, s in machine.sections),
        members=tuple(
            replace(a, spans=tuple(replace(s, length=m * s.length) for s in a.spans)) for a in there.members
        ),
        joints=tuple(springs(j) for j in there.joints),
        supports=tuple(springs(s) for s in there.supports),
    )

    def back(found: Answers) -> Answers:
        six, force = np.array([1 / m] * 3 + [1.0] * 3), np.array([1 / N] * 3 + [1 / (N * m)] * 3)
        return Answers(
            tool=six[:, None] * found.tool,
            gauges=found.gauges / m,
            reactions=force[None, :, None] * found.reactions,
        )

    return there, back


def crowded(machine: Machine, rng: np.random.Generator) -> Changed:
    """With more gauges, 1e-13 to 1e-3 of a length beside all that a member carries; theirs are not asked for."""
    lengths = {m.name: np.subtract(m.end, m.start) for m in machine.members}
    held = [(s.part, s.at) for s in machine.supports] + [(p, j.at) for j in machine.joints for p in j.parts]
    held += [(g.part, g.at) for g in machine.gauges] + [(p.part, p.at) for p in machine.pulls]
    more = tuple(
        replace(
            machine.gauges[0],
            name=f"beside {k}",
            part=part,
            at=_tuple(np.array(at) + lengths[part] * rng.choice([-1, 1]) * 10 ** rng.uniform(-13.0, -3.0)),
            reference=GROUND,
            stand=None,
        )
        for k, (part, at) in enumerate(held)
        if part in lengths
    )
    count = len(machine.gauges)
    there = replace(machine, gauges=(*machine.gauges, *more))
    return there, lambda found: replace(found, gauges=found.gauges[:count])


CHANGES: dict[str, Callable[[Machine, np.random.Generator], Changed]] = {
    "turned": turned,
    "mirrored": mirrored,
    "shifted": shifted,
    "renamed": renamed,
    "reordered": reordered,
    "split": split,
    "drawn from the other end": drawn_back,
    "in other units": in_other_units,
    "with more gauges close by": crowded,
}
