"""The ``[[option]]`` tables: changes of one's own, weighed beside those of the catalogue."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import Field

from strongback.change.values import Change
from strongback.machine.parameters import Parameter
from strongback.machine.values import COMPONENTS, Joint, Machine
from strongback.project.quantities import Name, Words, quantity
from strongback.project.source import nearest
from strongback.project.tables import Extra, Reader, Row, Table
from strongback.remedies.options.values import Option

__all__ = ["OPTION", "OptionTable"]

MOST = 40
Motion = Literal["along_x", "along_y", "along_z", "about_x", "about_y", "about_z"]
MOTIONS: tuple[Motion, ...] = ("along_x", "along_y", "along_z", "about_x", "about_y", "about_z")


class OptionTable(Table):
    """``[[option]]``: a change of your own, weighed by `strongback options`."""

    name: Annotated[Name, Field(description="how results call it")]
    sections: Annotated[
        dict[str, str],
        Field(
            default_factory=dict, description="sections that it puts in the place of others: { old = new }"
        ),
    ]
    on: Annotated[
        list[Name],
        Field(
            default_factory=list,
            max_length=MOST,
            description="joints and supports that it makes stiffer or softer",
        ),
    ]
    factor: Annotated[float, quantity("number", above=0.0), Field(description="on their stiffness")] = 1.0
    motions: Annotated[
        list[Motion],
        Field(default_factory=list, max_length=6, description="which of their motions; default all six"),
    ]
    cost: Annotated[float, quantity("number", least=0.0), Field(description="in euro")] = 0.0
    hours: Annotated[float, quantity("number", least=0.0), Field(description="of your own work")] = 0.0
    mass: Annotated[
        float,
        quantity("mass"),
        Field(description="added beyond that of sections; below 0 for what is taken away"),
    ] = 0.0
    reversible: Annotated[bool, Field(description="whether it can be undone")] = True
    blocks: Annotated[
        list[Words], Field(default_factory=list, max_length=MOST, description="what can no longer be done")
    ]
    excludes: Annotated[
        list[Name],
        Field(
            default_factory=list, max_length=MOST, description="options that are not chosen together with it"
        ),
    ]
    hazard: Annotated[Words, Field(description="a caution")] = ""
    source: Annotated[Words, Field(description="where the figures come from")] = "of the file"


def build(reader: Reader, rows: Sequence[Row[OptionTable]], machine: Machine) -> tuple[Option, ...]:
    """Options of a project; faults go to the reader.

    Parameters
    ----------
    reader : Reader
    rows : sequence of Row
    machine : Machine
    """
    holders = {h.name: kind for kind, h in machine.holders()}
    used = {span.section for member in machine.members for span in member.spans}
    known = {name for name, _ in machine.sections}
    found: list[Option] = []
    for row in rows:
        table, before = row.table, len(reader.faults)
        if table.name in {o.name for o in found}:
            reader.fault((*row.path, "name"), "is there twice", "give each option a name of its own")
        for i, name in enumerate(table.on):
            if name not in holders:
                hint = nearest(name, list(holders), "there are")
                reader.fault((*row.path, "on", i), "must be a joint or a support", hint)
        for old, new in table.sections.items():
            if old not in used:
                hint = nearest(old, sorted(used), "members have")
                reader.fault((*row.path, "sections"), f'no member has the section "{old}"', hint)
            if new not in known:
                hint = nearest(new, sorted(known), "there are")
                reader.fault((*row.path, "sections"), f'no section is called "{new}"', hint)
        if not table.sections and not (table.on and table.factor != 1.0):
            reader.fault(row.path, "changes nothing", "give it sections, or on with a factor")
        if len(reader.faults) == before:
            found.append(_option(table, machine))
    return tuple(found)


def _option(table: OptionTable, machine: Machine) -> Option:
    words = [COMPONENTS[MOTIONS.index(m)] for m in table.motions or MOTIONS]
    kinds = {h.name: h for _, h in machine.holders()}
    factors = tuple(
        (
            Parameter(kind="joint" if isinstance(kinds[n], Joint) else "support", part=n, mechanism=word),
            table.factor,
        )
        for n in table.on
        for word, k in zip(COMPONENTS, kinds[n].stiffness, strict=True)
        if word in words and 0.0 < k < float("inf") and table.factor != 1.0
    )
    change = Change(sections=tuple(table.sections.items()), factors=factors)
    said = [f"{new} for {old}" for old, new in table.sections.items()]
    said += [f"{', '.join(table.on)} x {table.factor:g}"] if factors else []
    return Option(
        name=table.name,
        make=lambda _: change,
        changes="; ".join(said),
        cost=table.cost,
        hours=table.hours,
        mass=table.mass,
        reversible=table.reversible,
        blocks=tuple(table.blocks),
        excludes=tuple(table.excludes),
        hazard=table.hazard,
        source=table.source,
    )


OPTION: Extra = Extra(key="option", model=OptionTable, many=True, build=build)
