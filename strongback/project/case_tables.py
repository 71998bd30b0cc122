"""``[[case]]`` and ``[[combination]]``: what acts on the machine at once beside a single pull."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, TypeVar

from pydantic import BeforeValidator, Field, ValidationInfo

from strongback.machine.loads import (
    Combination,
    LineLoad,
    LoadCase,
    Settlement,
    Tightening,
    Warming,
)
from strongback.machine.values import Machine, Member
from strongback.project.document import Path
from strongback.project.quantities import Direction, Length, Name, Plain, fail, quantity, vector
from strongback.project.source import nearest
from strongback.project.tables import Extra, LengthTable, Reader, Row, Table

__all__ = ["CASE", "COMBINATION"]

STANDARD = 9.80665  # acceleration of free fall [m/s²], ISO 80000-3
HOTTEST = 200.0  # rise of temperature beyond which it is a slip [K]
T = TypeVar("T")


def _rise(value: Any, info: ValidationInfo) -> float:
    if isinstance(value, str) and "deg" in value:
        fail(
            "is a difference of temperatures", 'write it in kelvin, such as "5 K": as many as degrees Celsius'
        )
    return float(quantity("temperature", least=-HOTTEST, most=HOTTEST).func(value, info))


class LineTable(LengthTable):
    """``[[case.line]]``: an even load along a member."""

    part: Annotated[Name, Field(description="the member")]
    force: Annotated[
        float, quantity("stiffness", above=0.0), Field(description='per length, such as "120 N/m"')
    ]
    direction: Annotated[Direction, Field(description='"-z" or three numbers')]
    low: Annotated[Length | None, Field(description="where it starts, from the start of the member")] = None
    high: Annotated[Length | None, Field(description="where it ends")] = None
    offset: Annotated[
        tuple[float, float],
        vector("length", 2),
        Field(description="beside the origin of the section's drawing"),
    ] = (0.0, 0.0)


class WarmTable(Table):
    """``[[case.warm]]``: a part warmer than when the machine was true."""

    part: Annotated[Name, Field(description="a member or a block")]
    rise: Annotated[float, BeforeValidator(_rise), Field(description='such as "5 K"')] = 0.0
    across: Annotated[
        tuple[float, float],
        vector("temperature per length", 2),
        Field(description='how much warmer along x and y of the section, such as "50, 0 K/m"'),
    ] = (0.0, 0.0)
    expansion: Annotated[
        float | None,
        quantity("expansion", above=0.0),
        Field(description='such as "12e-6 1/K"; default: that of the material, which a block does not have'),
    ] = None


class SettleTable(LengthTable):
    """``[[case.settle]]``: a support whose ground moves."""

    support: Annotated[Name, Field(description="the support")]
    displacement: Annotated[
        tuple[float, float, float], vector("length", 3), Field(description='such as "0, 0, -0.1 mm"')
    ] = (0.0, 0.0, 0.0)
    rotation: Annotated[
        tuple[float, float, float],
        vector("angle", 3),
        Field(description='about X, Y, Z, such as "0, 0.2, 0 mrad"'),
    ] = (0.0, 0.0, 0.0)


class TightenTable(Table):
    """``[[case.tighten]]``: a rod that is tightened."""

    part: Annotated[Name, Field(description="the member that is the rod")]
    force: Annotated[
        float,
        quantity("force", above=0.0),
        Field(description="its tension when all are tight and nothing else acts"),
    ]


class CaseTable(Table):
    """``[[case]]``: all that acts at once."""

    name: Annotated[Name, Field(description="how results call it")]
    pulls: Annotated[list[Name], Field(default_factory=list, description="names of pulls")]
    gravity: Annotated[
        Direction | None, Field(description='way that things fall, such as "-z": own weight')
    ] = None
    line: Annotated[list[LineTable], Field(default_factory=list, description="even loads along members")]
    warm: Annotated[list[WarmTable], Field(default_factory=list, description="warm parts")]
    settle: Annotated[list[SettleTable], Field(default_factory=list, description="supports that move")]
    tighten: Annotated[list[TightenTable], Field(default_factory=list, description="tight rods")]


class CombinationTable(Table):
    """``[[combination]]``: several cases at once."""

    name: Annotated[Name, Field(description="how results call it")]
    cases: Annotated[
        dict[str, Plain], Field(description="factor of each case, such as { weight = 1.0, cut = 1.5 }")
    ]


def build_cases(reader: Reader, rows: Sequence[Row[CaseTable]], machine: Machine) -> tuple[LoadCase, ...]:
    """Load cases of a project; faults go to the reader.

    Parameters
    ----------
    reader : Reader
    rows : sequence of Row
    machine : Machine

    Returns
    -------
    tuple of LoadCase
    """
    names = _Names(reader, machine)
    found: list[LoadCase] = []
    for row in rows:
        table, path = row.table, row.path
        names.own((*path, "name"), table.name, [case.name for case in found], "case")
        if not (table.pulls or table.gravity or table.line or table.warm or table.settle or table.tighten):
            reader.fault_at_table(path, "nothing acts in this case", 'name pulls, or give gravity = "-z"')
        pulls = {pull.name: pull for pull in machine.pulls}
        for i, name in enumerate(table.pulls):
            names.known((*path, "pulls", i), name, list(pulls), "pulls")
        for key, entries, known, what in (
            ("line", [t.part for t in table.line], names.members, "members"),
            ("warm", [t.part for t in table.warm], names.parts, "parts"),
            ("tighten", [t.part for t in table.tighten], names.members, "members"),
        ):
            for i, name in enumerate(entries):
                names.known((*path, key, i, "part"), name, known, what)
        for i, move in enumerate(table.settle):
            names.known((*path, "settle", i, "support"), move.support, names.supports, "supports")
        for i, line in enumerate(table.line):
            _check_line(reader, (*path, "line", i), line, machine.members)
        g = table.gravity
        found.append(
            LoadCase(
                name=table.name,
                pulls=tuple(pulls[name] for name in table.pulls if name in pulls),
                gravity=(0.0, 0.0, 0.0) if g is None else (STANDARD * g[0], STANDARD * g[1], STANDARD * g[2]),
                lines=tuple(_line(t) for t in table.line if _fits(t)),
                warmings=tuple(
                    Warming(part=t.part, rise=t.rise, across=t.across, expansion=t.expansion)
                    for t in table.warm
                ),
                settlements=tuple(
                    Settlement(support=t.support, displacement=t.displacement, rotation=t.rotation)
                    for t in table.settle
                ),
                tightenings=tuple(Tightening(part=t.part, force=t.force) for t in table.tighten),
            )
        )
    return tuple(found)


def _fits(table: LineTable) -> bool:
    return table.low is None or table.high is None or table.low < table.high


def _line(table: LineTable) -> LineLoad:
    x, y, z = (table.force * part for part in table.direction)
    return LineLoad(part=table.part, force=(x, y, z), low=table.low, high=table.high, offset=table.offset)


def _check_line(reader: Reader, path: Path, table: LineTable, members: Sequence[Member]) -> None:
    for member in members:
        length = sum(span.length for span in member.spans)
        if member.name == table.part and table.high is not None and table.high > length + 1e-9:
            reader.fault((*path, "high"), f"lies beyond the member, which is {1e3 * length:g} mm long")
    if not _fits(table):
        reader.fault((*path, "high"), "must be above low")


def build_combinations(
    reader: Reader, rows: Sequence[Row[CombinationTable]], machine: Machine
) -> tuple[Combination, ...]:
    """Combinations of the cases of a project; faults go to the reader.

    Parameters
    ----------
    reader : Reader
    rows : sequence of Row
    machine : Machine

    Returns
    -------
    tuple of Combination
    """
    names = _Names(reader, machine)
    cases = [str(one.get("name", "")) for one in reader.document.data.get("case", [])]
    found: list[Combination] = []
    for row in rows:
        names.own((*row.path, "name"), row.table.name, [one.name for one in found], "combination")
        if not row.table.cases:
            reader.fault((*row.path, "cases"), "names no case")
        for name in row.table.cases:
            names.known((*row.path, "cases", name), name, cases, "cases")
        found.append(Combination(name=row.table.name, terms=tuple(row.table.cases.items())))
    return tuple(found)


class _Names:
    """What the machine has by name."""

    def __init__(self, reader: Reader, machine: Machine) -> None:
        self.reader = reader
        self.members = [member.name for member in machine.members]
        self.parts = [*self.members, *(block.name for block in machine.blocks)]
        self.supports = [support.name for support in machine.supports]

    def known(self, path: Path, name: str, known: Sequence[str], what: str) -> None:
        """Report a name that is not there."""
        if name not in known:
            self.reader.fault(
                path, f'"{name}" is none of the {what}', nearest(name, list(known), "there are")
            )

    def own(self, path: Path, name: str, taken: Sequence[str], what: str) -> None:
        """Report a name that is there twice."""
        if name in taken:
            self.reader.fault(path, f"is the name of another {what}", "give each a name of its own")


CASE = Extra(key="case", model=CaseTable, many=True, build=build_cases)
COMBINATION = Extra(key="combination", model=CombinationTable, many=True, build=build_combinations)
