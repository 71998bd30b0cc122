"""The parts of a machine, made: sections solved, bodies condensed. The dear step, kept in the cache."""

from __future__ import annotations

from strongback.machine.columns import Progress, machine_bodies
from strongback.machine.contact_families import body_families
from strongback.machine.mechanism import refuse_mechanism
from strongback.machine.part.values import Parts, alone
from strongback.machine.sections import section_stiffness
from strongback.machine.validate import check_machine
from strongback.machine.values import Machine
from strongback.section.analyse import DEFAULT_GAP
from strongback.section.mesh import Mesher

__all__ = ["parts_of"]


def parts_of(
    machine: Machine,
    *,
    contact: bool = False,
    held: bool = True,
    tolerance: float = DEFAULT_GAP,
    mesher: Mesher = "auto",
    size: float | None = None,
    progress: Progress | None = None,
) -> Parts:
    """What a machine is made of elastically.

    Parameters
    ----------
    machine : Machine
    contact : bool
        Whether the contact under the pads of bodies will be changed afterwards, as fits do: five bodies in place of each.
    held : bool
        Whether a machine is refused in which a part is free to move; what swings freely needs no hold.
    tolerance, mesher
        Of the sections, as in `strongback.section.analyse.analyse`.
    size : float, optional
        Largest triangle of the mesh of a body [m].
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    Parts

    Raises
    ------
    MachineError
        If parts, joints or pulls do not fit together, or a body cannot be made: said before anything dear is done.
    MechanismError
        If a part is free to move and that is refused.

    Examples
    --------
    >>> from strongback.machine.values import GROUND, RIGID, Member, Place, Span, Support
    >>> from strongback.section.values import stiffness_from_constants
    >>> bar = stiffness_from_constants(name="bar", EA=4e7, EIx=3e4, EIy=3e4, GJ=2e4, kGAx=1e7, kGAy=1e7)
    >>> post = Member(
    ...     name="post", start=(0, 0, 0), end=(0, 0, 1), x_axis=(1, 0, 0), spans=(Span(section="bar", length=1.0),)
    ... )
    >>> foot = Support(name="foot", part="post", at=(0, 0, 0), stiffness=(RIGID,) * 6)
    >>> tip = Place(part="post", at=(0, 0, 1))
    >>> machine = Machine(
    ...     name="post", sections=(("bar", bar),), members=(post,), supports=(foot,), tool=tip,
    ...     work=Place(part=GROUND, at=(0, 0, 1)),
    ... )
    >>> parts_of(machine)
    Parts(sections: bar; bodies: none)
    """
    check_machine(machine)
    if held:
        refuse_mechanism(machine)
    sections = section_stiffness(machine, tolerance=tolerance, mesher=mesher)
    if contact:
        return Parts(sections=sections, bodies=body_families(machine, size=size, progress=progress))
    made = machine_bodies(machine, size=size, progress=progress)
    members = {member.name: member for member in machine.members}
    return Parts(sections=sections, bodies={name: alone(members[name], body) for name, body in made.items()})
