"""A filled body as a function of the modulus of its fill, its hold on the wall, and the contact under its pads."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from strongback.evidence.sections import with_modulus
from strongback.machine.body import BodyStiffness
from strongback.machine.body.family import BodyFamily
from strongback.machine.body.rigid import relative_motions
from strongback.machine.columns import column_body
from strongback.machine.pad_give import beam_give, pad_give
from strongback.machine.part.values import Parts, contact_over_wall
from strongback.machine.values import Machine, Member
from strongback.section.bond import fills_of, with_bond
from strongback.section.values import Outline

__all__ = ["FilledBody", "filled_body"]

Array = NDArray[np.float64]
Progress = Callable[[float], None]
MODULI = (0.2, 0.5, 1.0, 1.5)  # of the modulus that was meant
CONTACTS = (0.1, 1.0, 10.0)  # of the contact stiffness that was meant


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

    def at(self, contact: float, log_modulus: float, hold: float, flex: float = 0.0) -> BodyStiffness:
        """The body with a contact factor, a modulus of exp(`log_modulus`) of the one meant and a hold between 0 and 1.

        `flex` is the share of the give of the empty walls that the fill does not stop: a void or a gap behind a pad.

        A smooth curve over the logarithm of the modulus; stiffness linear in the hold, as in `sections.FillFamily`.
        Contact adds as much compliance to a sliding fill as to a bonded one, since both stay in touch with the wall
        across the member.
        """
        at = np.log(self.moduli)
        m = float(np.clip(log_modulus, at[0], at[-1]))
        h = float(np.clip(hold, 0.0, 1.0))
        rows = [_mixed(b, s, contact, h) for b, s in zip(self.bonded, self.sliding, strict=True)]
        stiff, beds, gauges = (
            np.asarray(CubicSpline(at, np.array(values))(m)) for values in zip(*rows, strict=True)
        )
        body = self.bonded[0].nominal
        follow = relative_motions(body.points)
        carried = body.gauges - body.gauges[:, 6:] @ follow
        if flex > 0.0:  # the same forces move the pads further, and all else as before
            give = np.linalg.inv(stiff)
            softer = np.linalg.inv(give + flex * self.unheld)
            beds = softer @ give @ beds @ give @ softer
            gauges = gauges @ give @ softer
            stiff = 0.5 * (softer + softer.T)
        return dataclasses.replace(
            body,
            stiffness=follow.T @ stiff @ follow,
            contact=follow.T @ beds @ follow,
            gauges=carried + gauges @ follow,
        )


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


def filled_body(
    before: Machine,
    machine: Machine,
    member: Member,
    parts: Parts,
    progress: Progress | None = None,
) -> FilledBody:
    """Condense a member with a fill for several moduli and contacts, bonded and sliding.

    Parameters
    ----------
    before, machine : Machine
        Without the change, and as meant with the filled sections.
    member : Member
        One of the members of `machine`, a body with a fill.
    parts : Parts
        With the sections of both.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    FilledBody
    """
    tell = progress or (lambda _fraction: None)
    count, done = len(MODULI) * (len(CONTACTS) + 1), 0
    bonded, sliding = [], []
    last: BodyStiffness | None = None
    last_loose: BodyStiffness | None = None
    for modulus in MODULI:
        made: dict[float, BodyStiffness] = {}
        for factor in sorted(
            CONTACTS, key=lambda f: abs(math.log(f))
        ):  # the one as meant first: the others start from it
            made[factor] = _body(machine, member, ("bonded", modulus, factor), last)
            last = made[1.0]
            done += 1
            tell(done / count)
        bonded.append(BodyFamily(bodies=made, meant=contact_over_wall(member)))
        last_loose = _body(machine, member, ("sliding", modulus, 1.0), last_loose)
        sliding.append(last_loose)
        done += 1
        tell(done / count)
    return FilledBody(
        moduli=np.array(MODULI),
        bonded=tuple(bonded),
        sliding=tuple(sliding),
        hold=_hold(machine, member),
        unheld=_unheld(before, (machine, member, bonded[MODULI.index(1.0)].nominal), parts),
    )


def _unheld(before: Machine, after: tuple[Machine, Member, BodyStiffness], parts: Parts) -> Array:
    machine, member, full = after
    found = np.zeros((len(full.stiffness) - 6,) * 2)
    if full.names[0] != "base":
        return found
    old = next(m for m in before.members if m.name == member.name)
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


def _own_outlines(machine: Machine, member: Member) -> Mapping[str, Outline]:
    used = {span.section for span in member.spans}
    return {name: o for name, o in machine.sections if name in used and isinstance(o, Outline)}


def _hold(machine: Machine, member: Member) -> float:
    fills = [c.fill for o in _own_outlines(machine, member).values() for c in fills_of(o)]
    return 0.0 if any(f is not None and f.bond == "sliding" for f in fills) else 1.0


def _body(
    machine: Machine, member: Member, what: tuple[str, float, float], akin: BodyStiffness | None
) -> BodyStiffness:
    bond, modulus, contact = what
    changed = {
        name: with_bond(with_modulus(o, modulus), bond)
        for name, o in _own_outlines(machine, member).items()
        if fills_of(o)
    }
    there = dataclasses.replace(
        machine,
        sections=tuple((name, changed.get(name, section)) for name, section in machine.sections),
        pads=tuple(dataclasses.replace(p, stiffness=p.stiffness * contact) for p in machine.pads),
    )
    return column_body(there, member, akin=akin)
