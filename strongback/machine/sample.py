"""The machine of the examples in docstrings: small enough to be checked by hand."""

from __future__ import annotations

from strongback.machine.points import GROUND, Gauge, Place
from strongback.machine.values import RIGID, Machine, Member, Pull, Support
from strongback.section.values import stiffness_from_constants

__all__ = ["post"]


def post() -> Machine:
    """An upright post of 0.6 m, the tool at its top, pulled sideways by 100 N (invented).

    Its section has EI = 1e5 N m² and kGA = 3e7 N, its foot 9e6 N m/rad against tilt: the tool moves by
    P L³/3EI = 72 µm by bending, P L/kGA = 2 µm by shear and P L²/k = 4 µm by the foot, 78 µm together.

    Returns
    -------
    Machine

    Examples
    --------
    >>> from strongback.machine.loop import assemble
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.solve import solve
    >>> machine = post()
    >>> found = solve(assemble(machine, parts_of(machine)), machine.pulls[0])
    >>> round(float(found.tool_displacement[0]) * 1e6, 6)  # [µm]
    78.0
    """
    bar = stiffness_from_constants(
        name="bar", EA=2.4e8, EIx=1e5, EIy=1e5, GJ=6e4, kGAx=3e7, kGAy=3e7, mass_per_length=9.0
    )
    top = (0.0, 0.0, 0.6)
    foot = (RIGID, RIGID, RIGID, 9e6, 9e6, RIGID)
    return Machine(
        name="post",
        sections=(("bar", bar),),
        members=(
            Member(
                name="post",
                start=(0.0, 0.0, 0.0),
                end=top,
                x_axis=(1.0, 0.0, 0.0),
                section="bar",
                ends=("held", "free"),
            ),
        ),
        supports=(
            Support(
                name="foot",
                part="post",
                at=(0.0, 0.0, 0.0),
                stiffness=foot,
                low=(RIGID, RIGID, RIGID, 6e6, 6e6, RIGID),
                high=(RIGID, RIGID, RIGID, 13.5e6, 13.5e6, RIGID),
            ),
        ),
        pulls=(Pull(name="sideways", part="post", at=top, force=(100.0, 0.0, 0.0)),),
        gauges=(Gauge(name="top", part="post", at=top, direction=(1.0, 0.0, 0.0)),),
        tool=Place(part="post", at=top),
        work=Place(part=GROUND, at=top),
    )
