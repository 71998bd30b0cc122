"""How the machine rings: modes with their errors, intervals and damping, who holds them, and what cannot be said."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback.answer import HIDDEN, Answer, Told, told
from strongback.errors import MachineError
from strongback.machine.loop import Loop
from strongback.machine.parameters import Parameter
from strongback.machine.solve import PartMotion
from strongback.machine.spread import joint_spreads
from strongback.machine.values import Machine, Vector
from strongback.section.values import Outline
from strongback.vibration.damping import JOINT_LOSS, ModeDamping, mode_damping
from strongback.vibration.model import Dynamics
from strongback.vibration.modes import Mode, modes_of
from strongback.vibration.response import tool_rows
from strongback.vibration.walls import BEAM, wall_frequency

__all__ = ["Ringing", "Vibrated", "massless", "vibrated"]

Array = NDArray[np.float64]
TAKES_PART = 0.05  # share of the energy of a mode from which a member's walls are asked about
TWO_SIDED = 1.959964  # 95 % of a normal law
SHARE = ("part", "share")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Ringing(Told):
    """One mode of a machine.

    Parameters
    ----------
    mode : Mode
    damping : ModeDamping
    frequency_95 : tuple of float, optional
        What the stated ranges of the joints leave open [Hz]; None where none has a range, or it moves as a whole.
    tool : Vector
        How the tool moves against the work, a unit vector; zeros where it does not.
    walls : tuple of (str, float)
        Members taken as beams of which this frequency is more than a third of that of their widest wall, with the
        ratio: their walls bend along, and the frequency is too high.
    """

    TOLD: ClassVar[tuple[tuple[str, str], ...]] = (
        ("frequency_Hz", "frequency"),
        ("error", "error"),
        ("damping_ratio", "damping_ratio"),
        ("damping_ratio_range", "damping_range"),
        ("damping_guessed", "guessed"),
        ("moves_freely", "rigid"),
        ("energy", "energy"),
        ("kinetic_energy", "kinetic"),
    )

    mode: Mode = field(metadata=HIDDEN)
    damping: ModeDamping = field(metadata=HIDDEN)
    frequency_95: tuple[float, float] | None = field(default=None, metadata=told("frequency_95_Hz"))
    tool: Vector = (0.0, 0.0, 0.0)
    walls: tuple[tuple[str, float], ...] = field(
        default=(), metadata=told("beyond_a_beam", each=("part", "ratio"))
    )

    @property
    def frequency(self) -> float:
        """[Hz]"""
        return self.mode.frequency

    @property
    def error(self) -> float:
        """Of the arithmetic, relative; infinite where it cannot be told."""
        return self.mode.error

    @property
    def damping_ratio(self) -> float:
        """1 is critical [-]."""
        return self.damping.ratio

    @property
    def damping_range(self) -> tuple[float, float]:
        """With guessed joints half and twice as lossy [-]."""
        return self.damping.low, self.damping.high

    @property
    def guessed(self) -> float:
        """Share of the damping that comes from joints without a stated loss factor [-]."""
        return self.damping.guessed

    @property
    def rigid(self) -> str:
        """How the machine moves at 0 Hz; else empty."""
        return self.mode.rigid

    @property
    def parts(self) -> tuple[PartMotion, ...]:
        """Shape."""
        return self.mode.parts

    @property
    def energy(self) -> tuple[dict[str, object], ...]:
        """Share of each member, joint and support in the strain energy, largest first."""
        return tuple(dict(zip(SHARE, row, strict=True)) for row in self.mode.energy)

    @property
    def kinetic(self) -> tuple[dict[str, object], ...]:
        """Share of each member and mass in the kinetic energy, largest first."""
        return tuple(dict(zip(SHARE, row, strict=True)) for row in self.mode.kinetic)

    def __repr__(self) -> str:
        return f"Ringing({self.frequency:.4g} Hz, damping {100 * self.damping_ratio:.2g} %)"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, repr=False)
class Vibrated(Answer):
    """How a machine rings.

    Parameters
    ----------
    machine : Machine
    loop : Loop
        For pictures.
    model : Dynamics
    modes : tuple of Ringing
        Lowest first, those at 0 Hz among them.
    without_mass : tuple of str
        Blocks that no [[mass]] weighs, and members whose sections weigh nothing.

    Examples
    --------
    A post of 0.6 m, its foot held by springs: 3.516/(2 pi L²) √(EI/m) = 163.8 Hz of a slender held one, less what shear,
    rotary inertia and the foot take away:

    >>> import strongback as sb
    >>> from strongback.machine.sample import post
    >>> round(sb.vibrate(post(), modes=1).modes[0].frequency)  # [Hz]
    155
    """

    machine: Machine = field(metadata=told(of="name"))
    loop: Loop | None = field(default=None, metadata=HIDDEN)
    model: Dynamics = field(metadata=HIDDEN)
    modes: tuple[Ringing, ...]
    without_mass: tuple[str, ...] = ()

    def __repr__(self) -> str:
        first = ", ".join(f"{mode.frequency:.4g} Hz" for mode in self.modes[:3])
        return f"Vibrated({self.machine.name!r}: {first})"


def vibrated(
    model: Dynamics, count: int = 6, *, loop: Loop | None = None, joints: float = JOINT_LOSS
) -> Vibrated:
    """How a machine rings.

    Parameters
    ----------
    model : Dynamics
    count : int
    loop : Loop, optional
        For pictures.
    joints : float
        Loss factor of joints that state none.

    Returns
    -------
    Vibrated

    Raises
    ------
    MachineError
        If the project has no masses but parts that need one, so that no frequency can be named.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> from strongback.vibration.modes import fine_dynamics
    >>> model = fine_dynamics(post(), parts_of(post(), held=False), 1)
    >>> round(vibrated(model, 1).modes[0].frequency)  # [Hz]
    155
    """
    machine = model.machine
    without = massless(model)
    if not machine.masses and without:
        raise MachineError(
            f"the project has no [[mass]], and {_listed(without)} would weigh nothing: no frequency can be named",
            hint="weigh or estimate head, table, motor and spindle, and give each a [[mass]] with part, at and mass",
        )
    found = modes_of(model, count)
    damped = mode_damping(model, found, joints)
    spreads, walls, rows = joint_spreads(machine), _walls(machine, model), tool_rows(model)
    rings = []
    for mode, damping in zip(found, damped, strict=True):
        rings.append(
            Ringing(
                mode=mode,
                damping=damping,
                frequency_95=None if mode.rigid or not spreads else _interval(model, mode, spreads),
                tool=_direction(rows @ mode.ends),
                walls=_beyond_beams(mode, walls),
            )
        )
    return Vibrated(machine=machine, loop=loop, model=model, modes=tuple(rings), without_mass=without)


def massless(model: Dynamics) -> tuple[str, ...]:
    """Blocks that no mass weighs, and members whose sections weigh nothing.

    Parameters
    ----------
    model : Dynamics

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> from strongback.vibration.modes import fine_dynamics
    >>> model = fine_dynamics(post(), parts_of(post(), held=False), 1)
    >>> massless(model)  # the post has its 9 kg/m
    ()
    """
    machine, sections = model.machine, model.assembly.parts.sections
    weighed = {mass.part for mass in machine.masses if mass.mass > 0.0}
    found = [block.name for block in machine.blocks if block.name not in weighed]
    for member in machine.members:
        own = [sections[s.section].mass_per_length for s in member.spans if s.section in sections]
        if own and not any(m > 0.0 for m in own) and member.name not in weighed:
            found.append(member.name)
    return tuple(found)


def _listed(names: tuple[str, ...]) -> str:
    quoted = [f'"{name}"' for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"


def _interval(model: Dynamics, mode: Mode, spreads: dict[Parameter, float]) -> tuple[float, float]:
    """d ln f / d ln k is half of the share of the spring in the strain energy; springs as independent."""
    shape = model.free @ mode.ends
    whole = float(mode.ends @ model.stiffness @ mode.ends + model.squares @ mode.held**2)
    known = {(p.part, p.mechanism): spread for p, spread in spreads.items()}
    total = 0.0
    for component in model.assembly.components:
        spread = known.get((component.owner, component.name), 0.0)
        if component.compliance > 0.0 and spread > 0.0:
            share = float(component.row @ shape) ** 2 / component.compliance / whole
            total += (0.5 * share * spread) ** 2
    wide = math.exp(TWO_SIDED * math.sqrt(total))
    return mode.frequency / wide, mode.frequency * wide


def _direction(motion: Array) -> Vector:
    size = float(np.linalg.norm(motion))
    x, y, z = motion / size if size > 1e-9 else np.zeros(3)
    return float(x), float(y), float(z)


def _walls(machine: Machine, model: Dynamics) -> dict[str, float]:
    """Frequency of the widest wall of every member that is taken as a beam."""
    known = dict(machine.sections)
    found = {}
    for member in machine.members:
        outlines = [o for s in member.spans if isinstance(o := known[s.section], Outline)]
        if member.name not in model.assembly.layout.bodies and outlines:
            found[member.name] = min(wall_frequency(outline) for outline in outlines)
    return found


def _beyond_beams(mode: Mode, walls: dict[str, float]) -> tuple[tuple[str, float], ...]:
    taking_part = {name for name, share in (*mode.energy, *mode.kinetic) if share > TAKES_PART}
    ratios = [
        (name, mode.frequency / f) for name, f in walls.items() if name in taking_part and math.isfinite(f)
    ]
    return tuple((name, ratio) for name, ratio in ratios if ratio > BEAM)
