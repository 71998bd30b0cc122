"""Filled parts as smooth functions of what is not known of a fill: its modulus, its hold on the wall, and the give of the
walls that it did not stop; of a body the contact under its pads, too. One surrogate for all who ask.

Over the logarithm of the modulus goes a cubic spline through solved parts, within 2e-3 of the compliance of a filled tube
(a spline over the modulus itself is up to 7e-3 off); between sliding and bonded the stiffness is taken as linear in the
hold. A part as it is meant is solved as fine as everywhere else, and the surrogate is exact there; only
how the others differ from them comes from a coarse grid.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from strongback.machine.body import BodyStiffness
from strongback.machine.body.family import BodyFamily, anchored
from strongback.machine.body.rigid import relative_motions
from strongback.machine.columns import CoarseStart, coarse_body, column_body
from strongback.machine.contact_families import contact_family
from strongback.machine.pad_give import beam_give, pad_give
from strongback.machine.part.kinds import body_names
from strongback.machine.part.values import Parts, alone, contact_over_wall
from strongback.machine.values import Machine, Member
from strongback.section.bond import fills_of, with_bond
from strongback.section.outline import filled
from strongback.section.store import solved_section
from strongback.section.values import Fill, Matrix, Outline, SectionStiffness

__all__ = [
    "AS_MEANT",
    "MODULI",
    "FillState",
    "FilledBody",
    "FilledParts",
    "FilledSection",
    "Limits",
    "Progress",
    "filled_parts",
    "filled_section",
    "with_modulus",
]

Array = NDArray[np.float64]
Progress = Callable[[float, str], None]
Limits = Callable[[Outline], Mapping[str, SectionStiffness]]
MODULI = (0.2, 0.3, 0.45, 0.7, 1.0, 1.5)  # of the modulus that was meant
BODY_MODULI = (0.2, 0.5, 1.0, 1.5)  # a body costs more than a section
CONTACTS = (0.1, 1.0, 10.0)  # of the contact stiffness that was meant


@dataclass(frozen=True, slots=True, kw_only=True)
class FillState:
    """How a fill came out.

    Parameters
    ----------
    log_modulus : float
        Logarithm of its modulus over that which was meant.
    hold : float or None
        1 bonded, 0 sliding; None as meant.
    flex : float
        Share of the give of the empty walls that the fill does not stop: a void or a gap behind a pad.
    """

    log_modulus: float = 0.0
    hold: float | None = None
    flex: float = 0.0


AS_MEANT = FillState()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilledSection:
    """A filled section between its limits.

    Parameters
    ----------
    name : str
    moduli : ndarray, shape (k,)
        Factors on the modulus of the fill, rising.
    sliding, bonded : tuple of SectionStiffness
        One for each modulus.
    hold : float
        Hold that was meant: 1 bonded, 0 sliding.
    """

    name: str
    moduli: Array
    sliding: tuple[SectionStiffness, ...]
    bonded: tuple[SectionStiffness, ...]
    hold: float
    _curves: tuple[CubicSpline, CubicSpline] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        sliding, bonded = (
            CubicSpline(np.log(self.moduli), np.array([_numbers(s) for s in sections]))
            for sections in (self.sliding, self.bonded)
        )
        object.__setattr__(self, "_curves", (sliding, bonded))

    def at(self, state: FillState) -> SectionStiffness:
        """The section as its fill came out; a modulus beyond the solved ones counts as the last of them."""
        m = _within(self.moduli, state.log_modulus)
        h = self.hold if state.hold is None else float(np.clip(state.hold, 0.0, 1.0))
        sliding, bonded = self._curves
        return _section(self.bonded[-1], (1.0 - h) * sliding(m) + h * bonded(m))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilledBody:
    """A filled body between its limits.

    Parameters
    ----------
    moduli : ndarray, shape (k,)
        Factors on the modulus of the fill, rising.
    bonded : tuple of BodyFamily
        With the contact as a variable, one for each modulus.
    sliding : tuple of BodyStiffness
        With the contact as meant, one for each modulus.
    hold : float
        Hold that was meant: 1 bonded, 0 sliding.
    unheld : ndarray, shape (6 (interfaces - 1), 6 (interfaces - 1))
        What the walls under the pads give empty less what they give filled, without the beam [m/N and so on]: the give that
        the fill was to stop. Zero where it is not known.
    """

    moduli: Array
    bonded: tuple[BodyFamily, ...]
    sliding: tuple[BodyStiffness, ...]
    hold: float
    unheld: Array

    @property
    def meant(self) -> float:
        """Factor on the contact stiffness of the pads that is in the bodies already."""
        return self.bonded[0].meant

    def at(self, contact: float, state: FillState) -> BodyStiffness:
        """The body with a contact factor, as its fill came out.

        Contact adds as much compliance to a sliding fill as to a bonded one, since both stay in touch with the wall
        across the member.
        """
        m = _within(self.moduli, state.log_modulus)
        h = self.hold if state.hold is None else float(np.clip(state.hold, 0.0, 1.0))
        rows = [_mixed(b, s, contact, h) for b, s in zip(self.bonded, self.sliding, strict=True)]
        stiff, beds, gauges = (
            np.asarray(CubicSpline(np.log(self.moduli), np.array(values))(m))
            for values in zip(*rows, strict=True)
        )
        body = self.bonded[0].nominal
        follow = relative_motions(body.points)
        carried = body.gauges - body.gauges[:, 6:] @ follow
        if state.flex > 0.0:  # the same forces move the pads further, and all else as before
            give = np.linalg.inv(stiff)
            softer = np.linalg.inv(give + state.flex * self.unheld)
            beds = softer @ give @ beds @ give @ softer
            gauges = gauges @ give @ softer
            stiff = 0.5 * (softer + softer.T)
        return dataclasses.replace(
            body,
            stiffness=follow.T @ stiff @ follow,
            contact=follow.T @ beds @ follow,
            gauges=carried + gauges @ follow,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FilledParts:
    """The parts of a machine with fills as they may have come out.

    Parameters
    ----------
    parts : Parts
        As meant; what no fill touches stays so.
    sections : mapping of str to FilledSection
    bodies : mapping of str to FilledBody
        By member.
    fills : mapping of str to str
        Name of the fill of each of those sections and members: what is poured together comes out together.
    """

    parts: Parts
    sections: Mapping[str, FilledSection] = field(default_factory=dict)
    bodies: Mapping[str, FilledBody] = field(default_factory=dict)
    fills: Mapping[str, str] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """Every fill."""
        return tuple(dict.fromkeys(self.fills.values()))

    @property
    def holds(self) -> dict[str, float]:
        """Hold that was meant, by fill."""
        holds = {self.fills[name]: own.hold for name, own in self.sections.items()}
        return holds | {self.fills[name]: own.hold for name, own in self.bodies.items()}

    def at(self, machine: Machine, states: Mapping[str, FillState]) -> Parts:
        """Parts with every fill in a state; those not named are as meant.

        Parameters
        ----------
        machine : Machine
            With the fills, and factors on the contact of its bodies.
        states : mapping of str to FillState
            By fill.
        """
        sections = {n: s.at(states.get(self.fills[n], AS_MEANT)) for n, s in self.sections.items()}
        bodies = {
            member.name: alone(
                member,
                own.at(contact_over_wall(member) / own.meant, states.get(self.fills[member.name], AS_MEANT)),
            )
            for member in machine.members
            if (own := self.bodies.get(member.name)) is not None
        }
        return self.parts.with_sections(sections).with_bodies(bodies)


def filled_parts(
    before: Machine,
    after: Machine,
    parts: Parts,
    *,
    moduli: Sequence[float] = MODULI,
    body_moduli: Sequence[float] = BODY_MODULI,
    contact: bool = False,
    limits: Limits | None = None,
    progress: Progress | None = None,
) -> FilledParts:
    """Solve what a change fills, over the moduli and the hold of its fills.

    Parameters
    ----------
    before, after : Machine
        Without the change, and as meant.
    parts : Parts
        Of `before`, with the sections of both.
    moduli, body_moduli : sequence of float
        Of sections and of bodies over the modulus that was meant, rising; 1 among them.
    contact : bool
        Whether the contact under the pads of filled bodies is to be a variable, too.
    limits : callable, optional
        ``"bonded"`` and ``"sliding"`` stiffness of an outline; default solved, from the cache where it is known.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    FilledParts
        All bodies of `after` among its parts, those whose spans have changed made anew.
    """
    solve = limits or (lambda outline: dict(solved_section(outline).limits))
    new = _new_fills(before, after)
    sections = {n: filled_section(n, outline, solve, moduli) for n, outline in new.items()}
    old = {m.name: m for m in before.members}
    changed = [
        m
        for m in after.members
        if m.name in body_names(after) and (m.name not in old or m.spans != old[m.name].spans)
    ]
    bodies: dict[str, FilledBody] = {}
    made = parts.with_sections({n: s.at(AS_MEANT) for n, s in sections.items()})
    for i, member in enumerate(changed):
        step = _share(progress, i, len(changed))
        if any(span.section in new for span in member.spans):
            bodies[member.name] = _filled_body((before, after), member, made, body_moduli, contact, step)
        elif contact:
            made = made.with_bodies({member.name: contact_family(after, member, progress=step)})
        else:
            made = made.with_bodies({member.name: alone(member, column_body(after, member, progress=step))})
    return FilledParts(parts=made, sections=sections, bodies=bodies, fills=_fills(after, sections))


def filled_section(
    name: str, outline: Outline, limits: Limits, moduli: Sequence[float] = MODULI
) -> FilledSection:
    """Solve a filled section for several moduli of its fill.

    Parameters
    ----------
    name : str
    outline : Outline
        With at least one filled cell.
    limits : callable
        ``"bonded"`` and ``"sliding"`` stiffness of an outline.
    moduli : sequence of float
        Rising.

    Returns
    -------
    FilledSection
    """
    solved = [limits(with_modulus(outline, m)) for m in moduli]
    return FilledSection(
        name=name,
        moduli=np.array(moduli),
        sliding=tuple(s["sliding"] for s in solved),
        bonded=tuple(s["bonded"] for s in solved),
        hold=_hold([outline]),
    )


def with_modulus(outline: Outline, factor: float) -> Outline:
    """The outline with the modulus of every fill multiplied."""
    fills: dict[str, Fill | None] = {
        cell.name: dataclasses.replace(
            cell.fill,
            material=dataclasses.replace(cell.fill.material, E=cell.fill.material.E * factor, E_range=None),
        )
        for cell in outline.cells
        if cell.fill is not None
    }
    return filled(outline, fills)


def _new_fills(before: Machine, after: Machine) -> dict[str, Outline]:
    """Filled sections of members of a machine that the same members did not have."""
    had = {m.name: {span.section for span in m.spans} for m in before.members}
    old, found = dict(before.sections), {}
    known = dict(after.sections)
    for member in after.members:
        for span in member.spans:
            section = known[span.section]
            same = span.section in had.get(member.name, set()) and old.get(span.section) == section
            if isinstance(section, Outline) and fills_of(section) and not same:
                found[span.section] = section
    return found


def _fills(machine: Machine, sections: Mapping[str, FilledSection]) -> dict[str, str]:
    """A name for every fill: its first member; sections and members that share one have one."""
    fills: dict[str, str] = {}
    for member in machine.members:
        own = [span.section for span in member.spans if span.section in sections]
        if own:
            known = [fills[s] for s in own if s in fills]
            name = known[0] if known else member.name
            fills.update({k: name for k, v in fills.items() if v in known})
            fills.update(dict.fromkeys([*own, member.name], name))
    return fills


def _share(progress: Progress | None, i: int, count: int) -> Progress:
    tell = progress or (lambda _fraction, _what: None)
    return lambda fraction, what: tell((i + fraction) / count, what)


def _filled_body(
    machines: tuple[Machine, Machine],
    member: Member,
    parts: Parts,
    moduli: Sequence[float],
    contact: bool,
    progress: Progress,
) -> FilledBody:
    before, machine = machines
    meant = _hold(_own_outlines(machine, member).values())
    bond = "bonded" if meant else "sliding"
    contacts = CONTACTS if contact else (1.0,)
    count = 2 + len(moduli) * (1 + len(contacts))
    done = iter(range(1, count + 1))
    starts: dict[tuple[str, float], CoarseStart] = {}

    def made(bond: str, modulus: float, factor: float = 1.0, *, coarse: bool = True) -> BodyStiffness:
        there = _with_fill(machine, member, bond, modulus, factor)
        if coarse and (bond, modulus) not in starts:
            starts[bond, modulus] = CoarseStart(_with_fill(machine, member, bond, modulus), member)
        body = (
            coarse_body(there, member, start=starts[bond, modulus]) if coarse else column_body(there, member)
        )
        progress(min(next(done, count) / count, 1.0), f"{bond} fill")
        return body

    fine, coarse = made(bond, 1.0, coarse=False), made(bond, 1.0)
    bonded, sliding = [], []
    for modulus in moduli:
        own = {factor: anchored(fine, coarse, made("bonded", modulus, factor)) for factor in contacts}
        bonded.append(BodyFamily(bodies=own, meant=contact_over_wall(member)))
        sliding.append(anchored(fine, coarse, made("sliding", modulus)))
    return FilledBody(
        moduli=np.array(moduli),
        bonded=tuple(bonded),
        sliding=tuple(sliding),
        hold=meant,
        unheld=_unheld(before, (machine, member, fine), parts),
    )


def _with_fill(machine: Machine, member: Member, bond: str, modulus: float, contact: float = 1.0) -> Machine:
    changed = {
        name: with_bond(o if modulus == 1.0 else with_modulus(o, modulus), bond)
        for name, o in _own_outlines(machine, member).items()
        if fills_of(o)
    }
    return dataclasses.replace(
        machine,
        sections=tuple((name, changed.get(name, section)) for name, section in machine.sections),
        pads=tuple(dataclasses.replace(p, stiffness=p.stiffness * contact) for p in machine.pads),
    )


def _unheld(before: Machine, after: tuple[Machine, Member, BodyStiffness], parts: Parts) -> Array:
    machine, member, full = after
    found = np.zeros((len(full.stiffness) - 6,) * 2)
    old = next((m for m in before.members if m.name == member.name), None)
    if full.names[0] != "base" or old is None:
        return found
    empty = column_body(before, old)
    for pad in (p for p in machine.pads if p.name in full.names):
        walls = [
            pad_give(body, pad.name) - beam_give(there, own, pad, parts)
            for there, own, body in ((before, old, empty), (machine, member, full))
        ]
        values, vectors = np.linalg.eigh(0.5 * (walls[0] + walls[0].T - walls[1] - walls[1].T))
        at = slice(full.columns(pad.name).start - 6, full.columns(pad.name).stop - 6)
        found[at, at] = (vectors * np.maximum(values, 0.0)) @ vectors.T
    return found


def _own_outlines(machine: Machine, member: Member) -> dict[str, Outline]:
    used = {span.section for span in member.spans}
    return {name: o for name, o in machine.sections if name in used and isinstance(o, Outline)}


def _hold(outlines: Iterable[Outline]) -> float:
    fills = [c.fill for o in outlines for c in fills_of(o)]
    return 0.0 if any(f is not None and f.bond == "sliding" for f in fills) else 1.0


def _mixed(
    family: BodyFamily, sliding: BodyStiffness, contact: float, hold: float
) -> tuple[Array, Array, Array]:
    """Stiffness, its part in the contact, and gauge rows on the motions of all interfaces but the first."""
    there, meant = family.at(contact), family.nominal
    K, beds, G = there.stiffness[6:, 6:], there.contact[6:, 6:], there.gauges[:, 6:]
    give = np.linalg.inv(K)
    loose_give = np.linalg.inv(sliding.stiffness[6:, 6:]) + give - np.linalg.inv(meant.stiffness[6:, 6:])
    loose = np.linalg.inv(0.5 * (loose_give + loose_give.T))
    loose_beds = loose @ give @ beds @ give @ loose
    loose_G = sliding.gauges[:, 6:] + G - meant.gauges[:, 6:]
    mixed = tuple(
        hold * bonded + (1.0 - hold) * slid for bonded, slid in ((K, loose), (beds, loose_beds), (G, loose_G))
    )
    return 0.5 * (mixed[0] + mixed[0].T), 0.5 * (mixed[1] + mixed[1].T), mixed[2]


def _within(moduli: Array, log_modulus: float) -> float:
    return float(np.clip(log_modulus, math.log(moduli[0]), math.log(moduli[-1])))


_SCALARS = ("EA", "EIx", "EIy", "EIxy", "GJ", "EGamma", "kGAx", "kGAy")


def _numbers(section: SectionStiffness) -> Array:
    head = [getattr(section, name) for name in _SCALARS]
    return np.array([*head, *section.centroid, *section.shear_centre, *np.ravel(section.matrix)])


def _section(like: SectionStiffness, numbers: Array) -> SectionStiffness:
    n = len(_SCALARS)
    values = [float(v) for v in numbers]
    rows = np.asarray(numbers[n + 4 :]).reshape(8, 8)
    matrix: Matrix = tuple(tuple(float(v) for v in row) for row in 0.5 * (rows + rows.T))
    EA, EIx, EIy, EIxy, GJ, EGamma, kGAx, kGAy = values[:n]
    return dataclasses.replace(
        like,
        EA=EA,
        EIx=EIx,
        EIy=EIy,
        EIxy=EIxy,
        GJ=GJ,
        EGamma=EGamma,
        kGAx=kGAx,
        kGAy=kGAy,
        centroid=(values[n], values[n + 1]),
        shear_centre=(values[n + 2], values[n + 3]),
        matrix=matrix,
    )
