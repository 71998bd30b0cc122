"""Frames and load types of the library benchmark: the package beside a second frame code and beside closed forms."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from frames import Frame, Load, frames, second_answer

from strongback.machine.cases import CaseResult, solve_cases
from strongback.machine.loads import Combination, LoadCase
from strongback.machine.loop import assemble
from strongback.machine.part.make import parts_of
from strongback.machine.values import Block, Joint, Machine, Member, PointMass, Pull, Support
from strongback.section.shapes import rectangular_tube
from strongback.section.values import Outline, SectionStiffness, stiffness_from_constants

Array = np.ndarray
E, G, A, IX, IY, J, L = 200e9, 80e9, 2e-3, 3e-6, 1.5e-6, 2e-6, 0.8
EA, EIX, EIY, GJ, KGA, PER = E * A, E * IX, E * IY, G * J, G * A * 5 / 6, 7850 * A
G0 = 9.80665
ALPHA = 12e-6


def as_machine(frame: Frame) -> Machine:
    """The same frame for the package: a node is a block, every end of a beam rigidly joined to one."""
    sections, members, joints = {}, [], []
    for k, beam in enumerate(frame.beams):
        bar = beam.bar
        sections[f"bar {k}"] = stiffness_from_constants(
            name=f"bar {k}", EA=bar.EA, EIx=bar.EIx, EIy=bar.EIy, GJ=bar.GJ, kGAx=bar.kGAx, kGAy=bar.kGAy
        )
        start, end = beam.ends
        members.append(
            Member(name=f"beam {k}", start=start, end=end, x_axis=beam.x_axis, section=f"bar {k}")  # type: ignore[arg-type]
        )
        for node, at in zip(beam.nodes, beam.ends, strict=True):
            joints.append(
                Joint(name=f"beam {k} at {node}", parts=(node, f"beam {k}"), at=at, stiffness="rigid")  # type: ignore[arg-type]
            )
    supports = []
    for k, spring in enumerate(frame.springs):
        first, second = spring.nodes
        own = {"at": spring.at, "stiffness": spring.stiffness, "axes": spring.axes}
        if second is None:
            supports.append(Support(name=f"springs {k}", part=first, **own))  # type: ignore[arg-type]
        else:
            joints.append(Joint(name=f"springs {k}", parts=(first, second), **own))  # type: ignore[arg-type]
    at = frame.nodes[frame.tool]
    return Machine(
        name=frame.name,
        sections=sections,  # type: ignore[arg-type]
        members=tuple(members),
        blocks=tuple(Block(name=name, at=point) for name, point in frame.nodes.items()),  # type: ignore[arg-type]
        joints=tuple(joints),
        supports=tuple(supports),
        tool=(frame.tool, at),  # type: ignore[arg-type]
        work=("ground", at),  # type: ignore[arg-type]
    )


def _pull(frame: Frame, k: int, load: Load) -> Pull:
    if isinstance(load.on, str):
        return Pull(name=f"load {k}", part=load.on, at=load.at, force=load.force, couple=load.couple)  # type: ignore[arg-type]
    a, b = (np.asarray(p, dtype=float) for p in frame.beams[load.on].ends)
    at = tuple(float(v) for v in a + load.at * (b - a))
    return Pull(name=f"load {k}", part=f"beam {load.on}", at=at, force=load.force, couple=load.couple)  # type: ignore[arg-type]


def frame_difference(frame: Frame) -> float:
    """Largest difference of motions of nodes and forces of the ground, in parts of the largest of their kind."""
    motions, forces = second_answer(frame)
    pulls = tuple(_pull(frame, k, load) for k, load in enumerate(frame.loads))
    found = answer(as_machine(frame), LoadCase(name="all", pulls=pulls))
    own = {part.part: part for part in found.parts}
    pairs: list[tuple[Array, Array]] = []
    for kind in (slice(0, 3), slice(3, 6)):
        theirs = np.array([motions[name][kind] for name in frame.nodes])
        mine = np.array([np.r_[own[n].displacement[0], own[n].rotation[0]][kind] for n in frame.nodes])
        pairs.append((mine, theirs))
        ground = dict(found.reactions)
        pairs.append(
            (
                np.array([ground[f"springs {k}"][kind] for k in forces]),
                np.array([w[kind] for w in forces.values()]),
            )
        )
    return max(float(np.abs(a - b).max() / np.abs(b).max()) for a, b in pairs if np.abs(b).max() > 1e-9)


def answer(
    machine: Machine, case: LoadCase, *more: LoadCase, sums: tuple[Combination, ...] = ()
) -> CaseResult:
    """The last of the cases and combinations."""
    return solve_cases(assemble(machine, parts_of(machine)), [case, *more], sums)[-1]


def bar(**changes: float) -> SectionStiffness:
    """A bar with shear that counts."""
    known = {"EA": EA, "EIx": EIX, "EIy": EIY, "GJ": GJ, "kGAx": KGA, "kGAy": KGA, "mass_per_length": PER}
    return stiffness_from_constants(name="bar", **(known | changes))  # type: ignore[arg-type]


def post(
    section: SectionStiffness | Outline | None = None,
    *,
    end: tuple[float, ...] = (0.0, 0.0, L),
    head: object = None,
    x_axis: tuple[float, ...] = (1.0, 0.0, 0.0),
    masses: tuple[PointMass, ...] = (),
    model: str = "beam",
) -> Machine:
    """A bar held at its foot, and at its head as asked."""
    supports = [Support(name="foot", part="bar", at=(0.0, 0.0, 0.0), stiffness="rigid")]  # type: ignore[arg-type]
    if head is not None:
        supports.append(Support(name="head", part="bar", at=end, stiffness=head))  # type: ignore[arg-type]
    member = Member(
        name="bar",
        start=(0, 0, 0),
        end=end,
        x_axis=x_axis,
        section="bar",
        ends=("held", "free"),
        model=model,  # type: ignore[arg-type]
    )
    return Machine(
        name="bar",
        sections={"bar": section or bar()},  # type: ignore[arg-type]
        members=(member,),
        supports=tuple(supports),
        masses=masses,
        tool=("bar", end),  # type: ignore[arg-type]
        work=("ground", end),  # type: ignore[arg-type]
    )


def off(found: float, exact: float) -> float:
    return abs(found / exact - 1.0)


def load_differences() -> Iterator[tuple[str, float]]:
    """Each load type against its closed form; a source stands where it is not two lines of statics."""
    yield "forces and couples anywhere: P a² (3L - a)/6EI + P a/kGA + M b (2L - b)/2EI", _forces()
    yield "even load along a member: q L⁴/8EI + q L²/2kGA", _even()
    yield "even load along a part of it: between a and b", _part()
    yield "even torque on a section that warps: Vlasov's equation", _torque()
    yield "own weight, droop of a head: q L⁴/8EI + W L³/3EI with shear", _droop()
    yield "own weight of a body: q L along it, foot carries all", _body_weight()
    yield "even rise of temperature: a T L where free, EA a T where held", _warm()
    yield "fall of temperature across: a g L²/2 where free, EI a g where held", _across()
    yield "settlement of a propped head: 3EI d/L³ with shear", _settled()
    yield "preload of a tie rod: F in the rod, -F L/EA in the post", _tied()
    yield "combination: sum of cases by their factors", _combined()


def _forces() -> float:
    P, a, M, b = 120.0, 0.2371, 30.0, 0.6113
    pulls = (
        Pull(name="force", part="bar", at=(0.0, 0.0, a), force=(P, 0.0, 0.0)),
        Pull(name="couple", part="bar", at=(0.0, 0.0, b), couple=(0.0, M, 0.0)),
    )
    exact = P * a**2 * (3 * L - a) / (6 * EIY) + P * a / KGA + M * b * (2 * L - b) / (2 * EIY)
    return off(answer(post(), LoadCase(name="c", pulls=pulls)).tool_displacement[0], exact)


def _even() -> float:
    q = 500.0
    found = answer(post(), LoadCase(name="c", lines={"bar": (q, 0.0, 0.0)}))  # type: ignore[arg-type]
    moment = abs(float(found.members[0].forces[0, 4]))
    return max(
        off(found.tool_displacement[0], q * L**4 / (8 * EIY) + q * L**2 / (2 * KGA)),
        off(moment, q * L**2 / 2),
    )


def _part() -> float:
    q, a, b = 500.0, 0.131, 0.517
    line = {"force": (0.0, q, 0.0), "low": a, "high": b}
    found = answer(post(), LoadCase(name="c", lines={"bar": line}))  # type: ignore[arg-type]
    bend = q / (6 * EIX) * (L * (b**3 - a**3) - (b**4 - a**4) / 4)
    return off(found.tool_displacement[1], bend + q * (b**2 - a**2) / (2 * KGA))


def _torque() -> float:
    EGamma, q, x = 900.0, 300.0, 0.04
    t, k = q * x, np.sqrt(GJ / EGamma)
    line = {"force": (0.0, q, 0.0), "offset": (x, 0.0)}
    found = answer(post(bar(EGamma=EGamma)), LoadCase(name="c", lines={"bar": line}))  # type: ignore[arg-type]
    D = -t * L / (GJ * k)
    C = (t / GJ - D * k**2 * np.sinh(k * L)) / (k**2 * np.cosh(k * L))
    exact = t * L**2 / (2 * GJ) + C * (np.cosh(k * L) - 1.0) + D * np.sinh(k * L)
    bimoment = abs(EGamma * (-t / GJ + C * k**2))
    return max(off(found.tool_rotation[2], exact), off(abs(float(found.members[0].forces[0, 6])), bimoment))


def _droop() -> float:
    tip = (0.0, -L, 0.0)
    head = PointMass(name="head", part="bar", at=tip, mass=12.0)
    found = answer(post(end=tip, masses=(head,)), LoadCase(name="weight", gravity="-z"))  # type: ignore[arg-type]
    q, W = PER * G0, 12.0 * G0
    exact = q * L**4 / (8 * EIX) + q * L**2 / (2 * KGA) + W * L**3 / (3 * EIX) + W * L / KGA
    return off(found.tool_displacement[2], -exact)


def _body_weight() -> float:
    tube = rectangular_tube("aluminium", 0.08, 0.08, 0.005)
    machine = post(tube, end=(0.0, 0.0, 0.3), model="body", head=(0.0,) * 5 + (1.0,))
    found = answer(machine, LoadCase(name="weight", gravity="-z"))  # type: ignore[arg-type]
    area = 0.08**2 - 0.07**2
    return off(dict(found.reactions)["foot"][2], tube.walls[0].material.density * area * 0.3 * G0)


def _warm() -> float:
    T = 15.0
    case = LoadCase(name="warm", warmings={"bar": {"rise": T, "expansion": ALPHA}})  # type: ignore[arg-type]
    free, held = answer(post(), case), answer(post(head="rigid"), case)
    return max(
        off(free.tool_displacement[2], ALPHA * T * L),
        off(float(held.members[0].forces[0, 2]), -EA * ALPHA * T),
    )


def _across() -> float:
    g = 100.0
    case = LoadCase(name="warm", warmings={"bar": {"across": (g, 0.0), "expansion": ALPHA}})  # type: ignore[arg-type]
    free, held = answer(post(), case), answer(post(head="rigid"), case)
    moment = abs(float(held.members[0].forces[0, 4]))
    return max(off(free.tool_displacement[0], -ALPHA * g * L**2 / 2), off(moment, EIY * ALPHA * g))


def _settled() -> float:
    d = 1e-4
    prop = ("rigid", "free", "free", "free", "free", "free")
    found = answer(post(head=prop), LoadCase(name="sinks", settlements={"head": (d, 0.0, 0.0)}))  # type: ignore[arg-type]
    return off(dict(found.reactions)["head"][0], d / (L**3 / (3 * EIY) + L / KGA))


def _tied() -> float:
    F = 20e3
    plain = post()
    rod = Member(name="rod", start=(0, 0, 0), end=(0, 0, L), x_axis=(1, 0, 0), section="rod")
    top = (0.0, 0.0, L)
    joints = tuple(
        Joint(name=f"{part} {at[2]}", parts=parts, at=at, stiffness="rigid")  # type: ignore[arg-type]
        for part, parts, at in (("bar", ("top", "bar"), top), ("rod", ("top", "rod"), top))
    )
    foot = Joint(name="rod foot", parts=("ground", "rod"), at=(0.0, 0.0, 0.0), stiffness="rigid")  # type: ignore[arg-type]
    machine = Machine(
        name="tied post",
        sections={"bar": bar(), "rod": bar(EA=EA / 10)},  # type: ignore[arg-type]
        members=(plain.members[0], rod),
        blocks=(Block(name="top", at=top),),
        joints=(*joints, foot),
        supports=plain.supports,
        tool=("top", top),  # type: ignore[arg-type]
        work=("ground", top),  # type: ignore[arg-type]
    )
    found = answer(machine, LoadCase(name="tight", tightenings={"rod": F}))  # type: ignore[arg-type]
    tension = {m.member: float(m.forces[0, 2]) for m in found.members}
    return max(off(tension["rod"], F), off(tension["bar"], -F), off(found.tool_displacement[2], -F * L / EA))


def _combined() -> float:
    warm = LoadCase(name="warm", warmings={"bar": {"rise": 5.0, "expansion": ALPHA}})  # type: ignore[arg-type]
    pull = LoadCase(name="pull", pulls=(Pull(name="p", part="bar", at=(0.0, 0.0, L), force=(0.0, 0.0, 1e3)),))
    both = Combination(name="both", terms={"warm": -2.0, "pull": 1.5})  # type: ignore[arg-type]
    found = answer(post(), warm, pull, sums=(both,))
    return off(found.tool_displacement[2], -2.0 * ALPHA * 5.0 * L + 1.5 * 1e3 * L / EA)


def differences() -> Iterator[tuple[str, float]]:
    """Frames, then load types."""
    for frame in frames():
        yield f"frame, {frame.name}: against a second code", frame_difference(frame)
    for name, value in load_differences():
        yield f"load, {name}", value
