"""From checked tables to a machine: names, references and lengths that must fit together, each fault where it stands."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from strongback.errors import InputError, MaterialError
from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.pad_contact import without_contact
from strongback.machine.parameters import Parameter
from strongback.machine.part.kinds import body_names
from strongback.machine.room import Operator
from strongback.machine.validate import check_machine
from strongback.machine.values import (
    COMPONENTS,
    GROUND,
    Block,
    Gauge,
    Joint,
    Machine,
    Member,
    Pad,
    Place,
    PointMass,
    Pull,
    Span,
    Support,
    Travel,
    Vector,
)
from strongback.materials import Material
from strongback.project.around import contact_of, surroundings
from strongback.project.correlation import read_correlation
from strongback.project.document import Path
from strongback.project.kinds import Surroundings
from strongback.project.outlines import build_sections
from strongback.project.plates import Made, plates_of
from strongback.project.schema import (
    TABLES,
    BlockTable,
    FactorRange,
    FactorTable,
    GaugeTable,
    MachineTable,
    MassTable,
    MaterialTable,
    MemberTable,
    PadTable,
    PlaceTable,
    PullTable,
    TravelTable,
)
from strongback.project.schema_joints import JointTable, SupportTable
from strongback.project.source import nearest
from strongback.project.springs import Held, JointLaw, holder_values, laws_of
from strongback.project.tables import Reader, Row, Table
from strongback.section.values import Outline, SectionStiffness

__all__ = ["Built", "build_machine"]

T = TypeVar("T", bound=Table)
# Kinds that push on one flat area, which a pad can hold.
FLAT_KINDS = (
    "flange_on_bolts",
    "angle_bracket",
    "tool_post",
    "glued_joint",
    "dovetail_way",
    "box_way",
    "profile_rail_carriage",
    "round_rail",
)
LENGTH_MISFIT = 1e-6  # of the length of a member


class _Builder:
    """Rows of all tables and the values made of them."""

    def __init__(self, reader: Reader) -> None:
        self.reader = reader
        self.rows: dict[str, list[Row[Any]]] = {
            key: reader.rows(key, model, many=many) for key, (model, many) in TABLES.items()
        }
        self.parts = self._all_names("member", "block")
        self.laws: tuple[JointLaw, ...] = ()
        self.starts: dict[str, JointStiffness] = {}
        self.written: dict[str, tuple[bool, ...]] = {}
        self.around = Surroundings(members={}, materials={}, feet=0, weight=0.0)
        self.made = Made(sections={}, materials={})

    @property
    def operator(self) -> Operator:
        """Where the operator stands, as far as the file says it well."""
        rows = self.rows["machine"]
        return rows[0].table.operator if rows else "-y"

    def keep(self, name: str, held: Held) -> None:
        """Remember of what kind a joint is, and which springs its file writes."""
        if held.start is not None:
            self.starts[name] = held.start
        self.written[name] = held.written

    def _all_names(self, *keys: str) -> list[str]:
        """Names as written, also those of rows with faults, so that one fault is not reported twice."""
        data = self.reader.document.data
        found = []
        for key in keys:
            rows = data.get(key)
            for row in rows if isinstance(rows, list) else []:
                name = row.get("name") if isinstance(row, dict) else None
                found += [name.strip()] if isinstance(name, str) else []
        return found

    def refer(self, path: Path, name: str, known: Sequence[str], what: str) -> None:
        """Report a name that is not there."""
        if name not in known:
            self.reader.fault(path, f"must be {what}", nearest(name, known, "there are"))

    def part(self, path: Path, name: str, *, ground: bool = True) -> None:
        """Report a part that is not there."""
        known = [*self.parts, GROUND] if ground else self.parts
        self.refer(path, name, known, "a member or block" + (', or "ground"' if ground else ""))

    def unique(self, keys: Sequence[str], what: str, taken: Sequence[str] = ()) -> None:
        """Report names that are there twice among tables that share them."""
        seen = set(taken)
        for key in keys:
            for row in self.rows[key]:
                if row.table.name in seen:
                    hint = f"give each {what} a name of its own"
                    self.reader.fault((*row.path, "name"), "is there twice", hint)
                seen.add(row.table.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """What the tables of a machine give.

    Parameters
    ----------
    machine : Machine
    materials : dict of str to Material
        The file's own.
    laws : tuple of JointLaw
        Components of joints and supports that open or have play.
    starts : dict of str to JointStiffness
        Of the kinds of joints and supports, by their names.
    """

    machine: Machine
    materials: dict[str, Material]
    laws: tuple[JointLaw, ...]
    starts: dict[str, JointStiffness]


def build_machine(reader: Reader) -> Built | None:
    """Build the machine of a document; what is wrong is reported to the reader.

    Parameters
    ----------
    reader : Reader

    Returns
    -------
    Built or None
        None if there is any fault.
    """
    builder = _Builder(reader)
    for key in ("machine", "tool", "work", "member"):
        if key not in reader.document.data:
            how = f"[[{key}]]" if TABLES[key][1] else f"[{key}]"
            reader.fault((), f"table {how} is missing", _MISSING[key])
    _unique_names(builder)
    materials = _materials(builder)
    sections = build_sections(reader, builder.rows["section"], materials)
    builder.made = Made(sections=sections, materials=materials)
    state = _state(reader)
    rows = builder.rows
    padded = {row.table.part for row in rows["pad"]}
    builder.around = surroundings(
        rows["member"], rows["mass"], len(rows["support"]), padded, sections, materials
    )
    values = _values(builder)
    if len(reader.faults):
        return None
    machine = _assembled(builder, sections, _with_contacts(builder, sections, values), state)
    try:
        check_machine(machine)
    except InputError as error:  # what the tables cannot tell, such as joints that name one part twice
        reader.faults.add(reader.document.source, None, error.message, error.hint)
        return None
    return Built(machine=machine, materials=materials, laws=builder.laws, starts=builder.starts)


def sections_alone(reader: Reader) -> dict[str, Outline | SectionStiffness]:
    """The sections of a document that have no fault, whatever else is wrong in it.

    Parameters
    ----------
    reader : Reader
        Faults are reported to it.

    Returns
    -------
    dict of str to Outline or SectionStiffness
    """
    builder = _Builder(reader)
    return build_sections(reader, builder.rows["section"], _materials(builder))


_MISSING = {
    "machine": 'write [machine] with name = "..."',
    "tool": "write [tool] with part and at: where the cutting edge is",
    "work": 'write [work] with part and at: the same point on the side of the work; part may be "ground"',
    "member": "write [[member]] for every elastic part",
}


def _unique_names(builder: _Builder) -> None:
    builder.unique(("material",), "material")
    builder.unique(("section",), "section")
    builder.unique(("member", "block"), "part", (GROUND,))
    builder.unique(("joint", "support"), "joint or support")
    for key in ("pad", "mass", "pull", "gauge", "travel"):
        builder.unique((key,), key)


def _materials(builder: _Builder) -> dict[str, Material]:
    found = {}
    rows: list[Row[MaterialTable]] = builder.rows["material"]
    for row in rows:
        table = row.table
        if table.E_range is not None and not table.E_range[0] <= table.E <= table.E_range[1]:
            builder.reader.fault((*row.path, "E_range"), "must hold E", "lowest first, then highest")
            continue
        try:
            found[table.name] = Material(**table.model_dump())
        except MaterialError as error:
            builder.reader.fault(row.path, error.message, error.hint)
    return found


def _state(reader: Reader) -> tuple[tuple[str, str], ...]:
    data = reader.document.data.get("state", {})
    if not isinstance(data, dict):
        reader.fault(("state",), "state: a single table is due", "write [state]", at_key=True)
        return ()
    found = []
    for key, value in data.items():
        if isinstance(value, str) and len(value) <= 400 and value.replace("\n", " ").isprintable():
            found.append((key, value))
        else:
            reader.fault(("state", key), "must be text", 'such as gibs = "adjusted, locked"')
    return tuple(found)


def _values(builder: _Builder) -> dict[str, tuple[Any, ...]]:
    """Every kind of value of the machine but its sections."""
    made = {key: tuple(make(builder, row) for row in builder.rows[key]) for key, make in _MAKERS.items()}
    for key in ("joint", "support"):  # a spindle that is a member is two joints
        made[key] = tuple(itertools.chain.from_iterable(made[key]))
    return made


def _assembled(
    builder: _Builder,
    sections: Mapping[str, Outline | SectionStiffness],
    values: Mapping[str, tuple[Any, ...]],
    state: tuple[tuple[str, str], ...],
) -> Machine:
    head: MachineTable = builder.rows["machine"][0].table
    return Machine(
        name=head.name,
        sections=tuple(sections.items()),
        members=values["member"],
        tool=values["tool"][0],
        work=values["work"][0],
        blocks=values["block"],
        joints=values["joint"],
        supports=values["support"],
        masses=values["mass"],
        pulls=values["pull"],
        gauges=values["gauge"],
        pads=values["pad"],
        travels=values["travel"],
        state=state,
        correlation=_correlation(builder, head, values),
        operator=head.operator,
    )


def _correlation(
    builder: _Builder, head: MachineTable, values: Mapping[str, tuple[Any, ...]]
) -> tuple[tuple[str, str, float], ...]:
    if head.correlation is None:
        return ()
    source = builder.reader.open(("machine", "correlation"), head.correlation)
    if source is None:
        return ()
    holders = (("joint", h.name) for h in values["joint"]), (("support", h.name) for h in values["support"])
    names = [
        str(Parameter(kind=kind, part=part, mechanism=c))  # type: ignore[arg-type]
        for kind, part in itertools.chain(*holders)
        for c in COMPONENTS
    ]
    names += [f"{m.name}, {factor}" for m in values["member"] for factor in FactorTable.model_fields]
    return read_correlation(source, names, builder.reader.faults)


def _member(builder: _Builder, row: Row[MemberTable]) -> Member | None:
    table, reader = row.table, builder.reader
    along = np.subtract(table.end, table.start)
    length = float(np.linalg.norm(along))
    if not length > 0.0:
        reader.fault((*row.path, "end"), "must be another point than start")
        return None
    across = np.subtract(table.x_axis, np.dot(table.x_axis, along) / length**2 * along)
    if not np.linalg.norm(across) > 1e-6:
        reader.fault((*row.path, "x_axis"), "must not run along the member", "give a direction across it")
        return None
    spans = _spans(builder, row, length)
    if spans is None:
        return None
    return Member(
        name=table.name,
        start=table.start,
        end=table.end,
        x_axis=table.x_axis,
        spans=spans,
        ends=(table.warping[0], table.warping[1]),
        model=table.model,
        factors=_factors(table.factor),
        factor_ranges=_factor_ranges(reader, row),
        **plates_of(reader, row, builder.made),
    )


def _factors(table: FactorTable) -> tuple[tuple[str, float], ...]:
    every = ((key, getattr(table, key).value) for key in type(table).model_fields)
    return tuple((key, value) for key, value in every if value != 1.0)


def _factor_ranges(reader: Reader, row: Row[MemberTable]) -> tuple[tuple[str, float, float], ...]:
    found = []
    for key in type(row.table.factor).model_fields:
        factor: FactorRange = getattr(row.table.factor, key)
        low, high = factor.low, factor.high
        path = (*row.path, "factor", key)
        if (low is None) != (high is None):
            reader.fault(path, "must have both low and high, or neither")
        elif low is not None and high is not None:
            if low <= factor.value <= high:
                found.append((key, low, high))
            else:
                reader.fault(path, "must lie between its low and high", "low, value, high in rising order")
    return tuple(found)


def _spans(builder: _Builder, row: Row[MemberTable], length: float) -> tuple[Span, ...] | None:
    table, reader = row.table, builder.reader
    known = builder._all_names("section")
    if (table.section is None) == (not table.span):
        hint = "section for one along all of it, or [[member.span]] for several"
        reader.fault_at_table(row.path, f"{reader.label(row.path)}: give one of section or span", hint)
        return None
    if table.section is not None:
        builder.refer((*row.path, "section"), table.section, known, "the name of a section")
        return (Span(section=table.section, length=length),)
    for i, span in enumerate(table.span):
        builder.refer((*row.path, "span", i, "section"), span.section, known, "the name of a section")
    return _filled_spans(builder, row, length)


def _filled_spans(builder: _Builder, row: Row[MemberTable], length: float) -> tuple[Span, ...] | None:
    """Spans whose lengths add to the member, "rest" resolved."""
    spans, reader = row.table.span, builder.reader
    open_ones = [i for i, span in enumerate(spans) if math.isnan(span.length)]
    if len(open_ones) > 1:
        reader.fault((*row.path, "span", open_ones[1], "length"), 'must not be "rest" a second time')
        return None
    total = sum(span.length for span in spans if not math.isnan(span.length))
    rest = length - total
    lengths = f"the member is {length * 1e3:.6g} mm long, its spans add to {total * 1e3:.6g} mm"
    last: Path = (*row.path, "span", len(spans) - 1, "length")
    if open_ones and not rest > LENGTH_MISFIT * length:
        reader.fault((*row.path, "span", open_ones[0], "length"), f"has nothing left: {lengths}")
        return None
    if not open_ones and abs(rest) > LENGTH_MISFIT * length:
        hint = 'spans reach from start to end; write length = "rest" for one of them'
        reader.fault(last, f"does not fit: {lengths}", hint)
        return None
    return tuple(
        Span(section=span.section, length=rest if math.isnan(span.length) else span.length) for span in spans
    )


def _block(builder: _Builder, row: Row[BlockTable]) -> Block:
    return Block(name=row.table.name, at=row.table.at)


def _vector(values: Any) -> Vector:
    x, y, z = (float(v) + 0.0 for v in values)
    return x, y, z


def _joint(builder: _Builder, row: Row[JointTable]) -> tuple[Joint, ...]:
    table, reader = row.table, builder.reader
    for i, part in enumerate(table.parts):
        builder.part((*row.path, "parts", i), part)
    if table.parts[0] == table.parts[1]:
        reader.fault((*row.path, "parts", 1), "must be another part than the first")
        return ()
    if table.pad:
        pads = builder._all_names("pad")
        builder.refer((*row.path, "pad"), table.pad, pads, "the name of a pad")
        _pad_fits(builder, row)
    found = []
    for held in holder_values(reader, row, builder.around):
        builder.laws += laws_of(reader, "joint", row, held, builder.operator)
        joint = Joint(parts=(table.parts[0], table.parts[1]), pad=table.pad, **held.fields)
        builder.keep(joint.name, held)
        found.append(joint)
    return tuple(found)


def _pad_fits(builder: _Builder, row: Row[JointTable]) -> None:
    pads: list[Row[PadTable]] = builder.rows["pad"]
    pad = next((pad.table for pad in pads if pad.table.name == row.table.pad), None)
    if pad is not None and pad.part not in row.table.parts:
        message = f'must be a pad on one of its parts; this one is on "{pad.part}"'
        builder.reader.fault((*row.path, "pad"), message)


def _support(builder: _Builder, row: Row[SupportTable]) -> tuple[Support, ...]:
    table = row.table
    builder.part((*row.path, "part"), table.part, ground=False)
    found = []
    for held in holder_values(builder.reader, row, builder.around):
        builder.laws += laws_of(builder.reader, "support", row, held, builder.operator)
        builder.keep(held.fields["name"], held)
        found.append(Support(part=table.part, **held.fields))
    return tuple(found)


def _pad(builder: _Builder, row: Row[PadTable]) -> Pad | None:
    """A pad as written; one without a stiffness takes that of the joint that names it, see `_with_contacts`."""
    table = row.table
    builder.refer((*row.path, "part"), table.part, builder._all_names("member"), "the name of a member")
    joints = [j for j in builder.rows["joint"] if j.table.pad == table.name]
    if table.stiffness is None and not any(_has_flat_kind(j.table) for j in joints):
        reader = builder.reader
        reader.fault_at_table(
            row.path,
            f"{reader.label(row.path)}: no stiffness, and no joint of a kind that would give it",
            'write stiffness = "150 N/mm^3", or describe the joint on it by its kind, such as [joint.dovetail_way]',
        )
        return None
    given = _fields(table) | {"stiffness": table.stiffness or 1e12}
    return Pad(**given | {"tangential": 0.5 if table.tangential is None else table.tangential})


def _has_flat_kind(table: JointTable) -> bool:
    return any(getattr(table, key) is not None for key in FLAT_KINDS)


def _bodies(
    sections: Mapping[str, Outline | SectionStiffness], values: Mapping[str, tuple[Any, ...]]
) -> tuple[str, ...]:
    """Members that are bodies by what bears on them, before joints know it."""
    kinds = ("member", "joint", "support", "pad")
    members, joints, supports, pads = (values[kind] for kind in kinds)
    drawn = Machine(
        name="as drawn",
        sections=tuple(sections.items()),
        members=members,
        joints=joints,
        supports=supports,
        pads=pads,
        tool=values["tool"][0],
        work=values["work"][0],
    )
    return body_names(drawn)


def _with_contacts(
    builder: _Builder,
    sections: Mapping[str, Outline | SectionStiffness],
    values: dict[str, tuple[Any, ...]],
) -> dict[str, tuple[Any, ...]]:
    """Pads with the contact of their joints, and joints on bodies without what their pads hold: it counts once."""
    pads: dict[str, Pad] = {pad.name: pad for pad in values["pad"]}
    tables: dict[str, PadTable] = {row.table.name: row.table for row in builder.rows["pad"]}
    members: dict[str, Member] = {member.name: member for member in values["member"]}
    joints, bodies = list(values["joint"]), _bodies(sections, values)
    for i, joint in enumerate(joints):
        start = builder.starts.get(joint.name)
        if not joint.pad or start is None or start.kind not in FLAT_KINDS:
            continue
        pad, table = dataclasses.replace(pads[joint.pad], within_joint=True), tables[joint.pad]
        if table.stiffness is None:
            found = contact_of(joint, start, pad)
            kept = found.tangential if table.tangential is None else table.tangential
            pad = dataclasses.replace(found, tangential=kept)
        pads[joint.pad] = pad
        member = members[pad.part]
        if member.name in bodies:
            joints[i] = without_contact(joint, pad, member, builder.written[joint.name])
            members[pad.part] = _with_range(member, start)
    return values | {
        "pad": tuple(pads.values()),
        "joint": tuple(joints),
        "member": tuple(members.values()),
    }


def _with_range(member: Member, start: JointStiffness) -> Member:
    """A body whose contact is as unsure as the joint that pushes on it."""
    if any(name == "contact" for name, _, _ in member.factor_ranges) or "contact" in dict(member.factors):
        return member
    best, low, high = start.best[2], start.low[2], start.high[2]
    if not 0.0 < low < high < math.inf:
        return member
    return dataclasses.replace(
        member, factor_ranges=(*member.factor_ranges, ("contact", low / best, high / best))
    )


def _fields(table: Table) -> dict[str, Any]:
    return {key: getattr(table, key) for key in type(table).model_fields if key != "unit"}


def _mass(builder: _Builder, row: Row[MassTable]) -> PointMass:
    builder.part((*row.path, "part"), row.table.part, ground=False)
    if min(row.table.inertia) < 0.0:
        builder.reader.fault((*row.path, "inertia"), "must not be below 0")
    return PointMass(**_fields(row.table))


def _pull(builder: _Builder, row: Row[PullTable]) -> Pull:
    table, reader = row.table, builder.reader
    builder.part((*row.path, "part"), table.part, ground=False)
    builder.part((*row.path, "against"), table.against)
    if table.against == table.part and table.part != GROUND:
        reader.fault((*row.path, "against"), "must be another part than the one that is pulled")
    loads = {key: _three(reader, row, key) for key in ("force", "couple")}
    if not table.force and not table.couple:
        hint = 'such as force = "100 N" and direction = "+x"'
        reader.fault_at_table(row.path, f"{reader.label(row.path)}: give a force or a couple", hint)
    elif not any((*table.force, *table.couple)):
        key = "force" if table.force else "couple"
        reader.fault((*row.path, key), "must not be zero")
    if table.direction is not None and len(table.force) == 3 and len(table.couple) != 1:
        reader.fault((*row.path, "direction"), "is of no use beside three numbers", "drop it")
    return Pull(
        name=table.name,
        part=table.part,
        at=table.at,
        force=loads["force"],
        couple=loads["couple"],
        against=table.against,
    )


def _three(reader: Reader, row: Row[PullTable], key: str) -> Vector:
    """A force or couple along the machine's axes."""
    given: tuple[float, ...] = getattr(row.table, key)
    if not given:
        return 0.0, 0.0, 0.0
    if len(given) == 3:
        return given[0], given[1], given[2]
    if row.table.direction is None:
        reader.fault((*row.path, key), "has no direction", 'add direction = "+x", or write three numbers')
        return 0.0, 0.0, 0.0
    return _vector(given[0] * np.asarray(row.table.direction))


def _gauge(builder: _Builder, row: Row[GaugeTable]) -> Gauge:
    builder.part((*row.path, "part"), row.table.part, ground=False)
    builder.part((*row.path, "reference"), row.table.reference)
    return Gauge(**_fields(row.table))


def _place(builder: _Builder, row: Row[PlaceTable]) -> Place:
    builder.part((*row.path, "part"), row.table.part, ground=row.path[0] == "work")
    return Place(part=row.table.part, at=row.table.at)


def _travel(builder: _Builder, row: Row[TravelTable]) -> Travel:
    for i, part in enumerate(row.table.parts):
        builder.part((*row.path, "parts", i), part, ground=False)
    moving = set(row.table.parts)
    own = [j.table.name for j in builder.rows["joint"] if moving.intersection(j.table.parts)]
    for i, joint in enumerate(row.table.stays):
        builder.refer((*row.path, "stays", i), joint, own, "a joint of a part that moves")
    if not row.table.low < row.table.high:
        builder.reader.fault((*row.path, "high"), "must be above low")
    return Travel(**(_fields(row.table) | {"parts": tuple(row.table.parts), "stays": tuple(row.table.stays)}))


_MAKERS: dict[str, Any] = {
    "member": _member,
    "block": _block,
    "joint": _joint,
    "support": _support,
    "pad": _pad,
    "mass": _mass,
    "tool": _place,
    "work": _place,
    "pull": _pull,
    "gauge": _gauge,
    "travel": _travel,
}
