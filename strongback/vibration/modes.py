"""Natural frequencies and shapes of a machine, each with its error, and which part holds its energy."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError
from strongback.machine.mechanism import motion_in_words
from strongback.machine.part.values import Parts
from strongback.machine.solve import PartMotion
from strongback.machine.values import Machine
from strongback.vibration import _pencil
from strongback.vibration.model import DEGREE, Dynamics, dynamics
from strongback.vibration.walls import held_frequency

__all__ = ["Mode", "fine_dynamics", "modes", "modes_of"]

Array = NDArray[np.float64]
TOLERANCE = 1e-3  # of a frequency: above, the degree of the bubbles is raised
DEGREES = (DEGREE, 14, 18)
NEAR = 0.8  # of a squared frequency of a held body: beyond, nothing can be said
ROUNDING = 1e-8  # relative: what turning the machine, or a matrix exponential beside, changes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mode:
    """A natural mode.

    Parameters
    ----------
    frequency : float
        [Hz]
    error : float
        How far the arithmetic may be from the exact frequency of the same members, masses and joints, relative; infinite
        near the frequencies at which the walls of a body swing by themselves.
    rigid : str
        How the machine moves as a whole at 0 Hz, in words; else empty.
    parts : tuple of PartMotion
        Shape, scaled to a modal mass of 1 kg (1 kg m² where all of it turns).
    energy, kinetic : tuple of (str, float)
        Share of the strain energy in each member, joint and support, and of the kinetic energy in each member and mass,
        largest first [-].
    ends, held : ndarray
        The shape on the motions of its `Dynamics`.
    """

    frequency: float
    error: float
    rigid: str
    parts: tuple[PartMotion, ...]
    energy: tuple[tuple[str, float], ...]
    kinetic: tuple[tuple[str, float], ...]
    ends: Array
    held: Array

    def __repr__(self) -> str:
        if self.rigid:
            return f"Mode(0 Hz; {self.rigid})"
        most = ", ".join(f"{part} {share:.0%}" for part, share in self.energy[:3])
        return f"Mode({self.frequency:.4g} Hz +- {self.error:.1g}; strain energy in {most})"


def modes(machine: Machine, parts: Parts, count: int = 6) -> tuple[Mode, ...]:
    """Lowest natural modes of a machine.

    Parameters
    ----------
    machine : Machine
        Feet may be absent: motions that nothing holds come first, at 0 Hz, and say so.
    parts : Parts
        From `strongback.machine.part.make.parts_of`.
    count : int
        How many modes at the most, those at 0 Hz not counted.

    Returns
    -------
    tuple of Mode
        Lowest frequency first, each to a thousandth or better (see `Mode.error`).

    Raises
    ------
    MachineError
        If nothing in the machine has a mass, or what is free to move has none.

    Examples
    --------
    A bar of 1 m held at its foot swings at 1.8751² / (2 pi) sqrt(EI / m) = 12.5 Hz (Blevins 1979, Table 8-1):

    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.values import GROUND, RIGID, Member, Place, Span, Support
    >>> from strongback.section.values import stiffness_from_constants
    >>> bar = stiffness_from_constants(
    ...     name="bar", EA=4e9, EIx=1e3, EIy=3e4, GJ=2e4, kGAx=1e9, kGAy=1e9, mass_per_length=2.0
    ... )
    >>> post = Member(
    ...     name="post", start=(0, 0, 0), end=(0, 0, 1), x_axis=(1, 0, 0), spans=(Span(section="bar", length=1.0),)
    ... )
    >>> foot = Support(name="foot", part="post", at=(0, 0, 0), stiffness=(RIGID,) * 6)
    >>> machine = Machine(
    ...     name="post", sections=(("bar", bar),), members=(post,), supports=(foot,),
    ...     tool=Place(part="post", at=(0, 0, 1)), work=Place(part=GROUND, at=(0, 0, 1)),
    ... )
    >>> print(f"{modes(machine, parts_of(machine), 1)[0].frequency:.4g} Hz")
    12.51 Hz
    """
    return modes_of(fine_dynamics(machine, parts, count), count)


def fine_dynamics(machine: Machine, parts: Parts, count: int = 6) -> Dynamics:
    """Mass and stiffness that tell some modes to a thousandth: the degree of the bubbles is raised until they do.

    Parameters
    ----------
    machine, parts, count
        As in `modes`.
    """
    for degree in DEGREES:
        model = dynamics(machine, parts, degree=degree)
        if model.assembly.layout.bodies or all(m.error <= TOLERANCE for m in modes_of(model, count)):
            break
    return model


def modes_of(model: Dynamics, count: int = 6) -> tuple[Mode, ...]:
    """`modes` of a machine whose mass and stiffness are made.

    Parameters
    ----------
    model : Dynamics
    count : int
    """
    if count < 1:
        raise MachineError(f"{count} modes asked for", hint="ask for one at least")
    try:
        found = _pencil.lowest(
            model.stiffness, model.mass, model.squares, model.coupling, count + model.rigid, model.rigid
        )
    except np.linalg.LinAlgError:
        raise MachineError(
            "a part that nothing holds has no mass", hint="give it a mass, or hold it by a joint or a support"
        ) from None
    held = _held(model)
    return tuple(_mode(model, found, k, held) for k in range(len(found.squares)))


def _mode(model: Dynamics, found: _pencil.Found, k: int, bodies: dict[str, float]) -> Mode:
    ends, held = found.ends[:, k], found.held[:, k]
    rigid = k < model.rigid
    square = 0.0 if rigid else float(found.squares[k])
    shape = model.free @ ends
    kinetic = _shares(_kinetic(model, shape, ends, held))
    return Mode(
        frequency=math.sqrt(max(square, 0.0)) / (2.0 * math.pi),
        error=0.0
        if rigid
        else ROUNDING
        + 0.5 * (float(found.left[k]) + _beyond(model, held)) / square
        + _in_bodies(bodies, kinetic, square),
        rigid=_whole(model, shape) if rigid else "",
        parts=_shape(model, shape, ends, held),
        energy=() if rigid else _shares(_strain(model, shape, held)),
        kinetic=kinetic,
        ends=ends,
        held=held,
    )


def _held(model: Dynamics) -> dict[str, float]:
    """Squared circular frequency at which each body swings while its interfaces stand [rad²/s²]."""
    made = model.assembly
    return {
        member.name: (2.0 * math.pi * held_frequency(made.machine, member, place, made.parts)) ** 2
        for member in made.machine.members
        if (place := made.layout.bodies.get(member.name)) is not None
    }


def _in_bodies(held: dict[str, float], kinetic: tuple[tuple[str, float], ...], square: float) -> float:
    """What bodies swing beyond the static shapes of their interfaces, at most, of a frequency.

    Held modes j take w^4 sum (X_j u)² / (w_j² - w²) of w², and the sum of (X_j u)² is no more than the body's own share.
    """
    total = 0.0
    for name, share in kinetic:
        if name in held:
            if square > NEAR * held[name]:
                return math.inf
            total += 0.5 * share * square / (held[name] - square)
    return total


def _beyond(model: Dynamics, held: Array) -> float:
    """Strain energy, doubled, in the two highest degrees of the bubbles: more than all higher ones would take."""
    return sum(float(np.sum((own.span.top @ held[own.places]) ** 2)) for own in model.inside)


def _strain(model: Dynamics, shape: Array, held: Array) -> dict[str, float]:
    work: dict[str, float] = {}
    padded = np.append(shape, 0.0)
    for element, stiff in zip(model.assembly.elements, model.elements, strict=True):
        own = padded[element.columns]
        work[element.member] = work.get(element.member, 0.0) + float(own @ stiff @ own)
    for inside in model.inside:
        work[inside.element.member] += float(inside.span.squares @ held[inside.places] ** 2)
    for component in model.assembly.components:
        if component.compliance > 0.0:
            opening = float(component.row @ shape)
            work[component.owner] = work.get(component.owner, 0.0) + opening**2 / component.compliance
    return work


def _kinetic(model: Dynamics, shape: Array, ends: Array, held: Array) -> dict[str, float]:
    energy: dict[str, float] = {}
    for inside in model.inside:
        own, swing = inside.ends @ ends, held[inside.places]
        twice = own @ inside.span.mass @ own + 2.0 * own @ inside.span.coupling @ swing + swing @ swing
        energy[inside.element.member] = energy.get(inside.element.member, 0.0) + float(twice)
    for name, place in model.assembly.layout.bodies.items():
        turn = np.kron(np.eye(2 * len(place.columns)), place.axes)
        own = turn @ shape[place.columns.ravel()]
        energy[name] = float(own @ place.body.mass @ own)
    for mass in model.machine.masses:
        motion = model.assembly.layout.motion_of(mass.part, mass.at) @ shape
        own_inertia = np.array([mass.mass] * 3 + list(mass.inertia))
        energy[mass.name] = energy.get(mass.name, 0.0) + float(own_inertia @ motion**2)
    return energy


def _shares(energy: dict[str, float]) -> tuple[tuple[str, float], ...]:
    total = sum(energy.values())
    if total <= 0.0:
        return ()
    return tuple(sorted(((name, value / total) for name, value in energy.items()), key=lambda item: -item[1]))


def _shape(model: Dynamics, shape: Array, ends: Array, held: Array) -> tuple[PartMotion, ...]:
    """Motions of all parts, along a beam at many points."""
    found = []
    places = model.assembly.layout
    for name, line in places.stations.items():
        turn, start = line.axes, line.points[0] - line.s[0] * line.axes[2]
        at, moved, turned = [line.s[:1]], [shape[line.columns[:1, :3]]], [shape[line.columns[:1, 3:6]]]
        for inside in model.inside:
            if inside.element.member != name:
                continue
            own = inside.span.fields @ (inside.ends @ ends) + inside.span.shapes @ held[inside.places]
            station = int(np.argmin(np.abs(line.s - inside.low - inside.length)))
            at += [inside.low + inside.length * inside.span.at, line.s[station : station + 1]]
            moved += [own[:, :3] @ turn, shape[line.columns[station : station + 1, :3]]]
            turned += [own[:, 3:6] @ turn, shape[line.columns[station : station + 1, 3:6]]]
        points = start + np.concatenate(at)[:, None] * turn[2]
        found.append(
            PartMotion(
                part=name, points=points, displacement=np.concatenate(moved), rotation=np.concatenate(turned)
            )
        )
    for name, place in places.bodies.items():
        own = shape[place.columns]
        points = np.asarray(place.start) + place.body.points @ place.axes
        found.append(PartMotion(part=name, points=points, displacement=own[:, :3], rotation=own[:, 3:]))
    for block in places.machine.blocks:
        own = shape[places.blocks[block.name]][None]
        found.append(
            PartMotion(
                part=block.name, points=np.array([block.at]), displacement=own[:, :3], rotation=own[:, 3:]
            )
        )
    return tuple(found)


def _whole(model: Dynamics, shape: Array) -> str:
    """A motion at 0 Hz in words: the part that moves most, and how where it is the only one."""
    moved = _shape(model, shape, model.free.T @ shape, np.zeros(len(model.squares)))
    size = max(float(np.ptp(np.vstack([p.points for p in moved]), axis=0).max()), 1e-6)
    most = max(moved, key=lambda p: float(np.abs(p.displacement).max() + size * np.abs(p.rotation).max()))
    if model.rigid > 1:
        return f"one of {model.rigid} motions that nothing holds, most of it in {most.part}"
    motion = np.concatenate([most.displacement[0], size * most.rotation[0]])
    return f"nothing holds it: {most.part} is free to {motion_in_words(motion)}"
