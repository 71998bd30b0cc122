"""Mass, damping and process: what adds no stiffness and so shows a dash where the others show a gain."""

from __future__ import annotations

from strongback.change.values import Change
from strongback.machine.values import Machine, PointMass
from strongback.remedies.options.catalogue.roles import roles_of
from strongback.remedies.options.values import Option

__all__ = ["ballast", "damping_layers", "dry_sand", "other_speed", "tuned_mass"]


def _nothing(_: Machine) -> Change:
    return Change()


def ballast(machine: Machine, mass: float = 20.0) -> Option | None:
    """Weight in or under the bed: rocking falls in frequency, nothing is stiffer.

    Parameters
    ----------
    machine : Machine
    mass : float
        [kg]
    """
    roles = roles_of(machine)
    other = (
        next((p for p in roles.base.parts if roles.column and p != roles.column.name), "")
        if roles.base
        else ""
    )
    if roles.base is None or not other:
        return None
    at = roles.base.at
    weight = PointMass(name="ballast", part=other, at=at, mass=mass)
    return Option(
        name="ballast in the bed",
        make=lambda _: Change(masses=(weight,)),
        changes=f"{mass:g} kg on the bed",
        cost=40.0,
        hours=6.0,
        hazard="lifting",
        stiffens=False,
    )


def dry_sand(machine: Machine) -> Option | None:
    """Dry sand or shot in the column: mass and damping."""
    if roles_of(machine).outline is None:
        return None
    return Option(
        name="dry sand",
        make=_nothing,
        changes="mass and damping of the column",
        cost=10.0,
        hours=1.0,
        hazard="quartz dust: damp it, mask",
        stiffens=False,
    )


def tuned_mass(machine: Machine, mass: float = 1.5) -> Option | None:
    """A mass on a spring and a damper at the tool's part, tuned to one mode.

    Parameters
    ----------
    machine : Machine
    mass : float
        [kg]
    """
    weight = PointMass(name="tuned mass", part=machine.tool.part, at=machine.tool.at, mass=mass)
    return Option(
        name="tuned mass",
        make=lambda _: Change(masses=(weight,)),
        changes=f"{mass:g} kg at the spindle",
        cost=20.0,
        hours=5.0,
        moving=True,
        hazard="hold it captive: it works loose",
        stiffens=False,
    )


def damping_layers(machine: Machine) -> Option | None:
    """Plates on a soft layer on the faces of the column: damping."""
    if roles_of(machine).column is None:
        return None
    return Option(
        name="damping layers",
        make=_nothing,
        changes="damping of the column",
        cost=30.0,
        hours=4.0,
        mass=1.5,
        stiffens=False,
    )


def other_speed(machine: Machine) -> Option | None:
    """Another speed, or a cutter of uneven pitch: the process, not the structure."""
    return Option(
        name="other speed or cutter",
        make=_nothing,
        changes="the process",
        cost=30.0,
        hours=0.0,
        stiffens=False,
    )
