"""Write a machine that was built in code as a project, so that it reads back as the equal value.

Numbers are written in SI with all their digits. What a project file cannot say is refused and named, never left out.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from strongback.errors import MachineError
from strongback.machine.plates import EndPlate
from strongback.machine.values import COMPONENTS, GROUND, MACHINE_AXES, Joint, Machine, Member, Support
from strongback.materials import Material, library
from strongback.project.atomic import write_text
from strongback.project.correlation import correlation_text
from strongback.project.read import FILE_NAME, FORMAT, read_text
from strongback.project.starter import fresh_folder
from strongback.section import shapes
from strongback.section.seams import Seam
from strongback.section.values import (
    Cell,
    Fill,
    Insert,
    Outline,
    Ring,
    SectionStiffness,
    Wall,
    stiffness_from_constants,
)

__all__ = ["project_text", "write_project"]

CORRELATION = "correlation.csv"
SAME = 1e-12  # a bore in the middle of its bar [m]
_AXES = {
    (1.0, 0.0, 0.0): "+x",
    (-1.0, 0.0, 0.0): "-x",
    (0.0, 1.0, 0.0): "+y",
    (0.0, -1.0, 0.0): "-y",
    (0.0, 0.0, 1.0): "+z",
    (0.0, 0.0, -1.0): "-z",
}
_CONSTANTS = {
    "EA": "N", "EIx": "N*m^2", "EIy": "N*m^2", "EIxy": "N*m^2", "GJ": "N*m^2", "EGamma": "N*m^4", "kGAx": "N", "kGAy": "N",
}  # fmt: skip
_NEEDED = ("EA", "EIx", "EIy", "GJ", "kGAx", "kGAy")
Rows = Iterator[str]


def write_project(machine: Machine, folder: str | Path, *, force: bool = False) -> Path:
    """Write a machine as a project folder.

    Parameters
    ----------
    machine : Machine
    folder : str or Path
        Made if it is not there.
    force : bool
        Replace a project that is there.

    Returns
    -------
    Path
        The project file.

    Raises
    ------
    MachineError
        If the machine holds something that a project file cannot say.
    InputError
        If a project is there already.
    EnvironmentFault
        If it cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from strongback.machine.sample import post
    >>> from strongback.project.read import read
    >>> with TemporaryDirectory() as folder:
    ...     read(write_project(post(), Path(folder) / "post")).machine == post()
    True
    """
    text = project_text(machine)
    target = fresh_folder(folder, force)
    if machine.correlation:
        write_text(target / CORRELATION, correlation_text(machine.correlation))
    else:
        read_text(text, target / FILE_NAME)
    write_text(target / FILE_NAME, text)
    return target / FILE_NAME


def project_text(machine: Machine) -> str:
    """The project file of a machine.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    str

    Raises
    ------
    MachineError
        If the machine holds something that a project file cannot say.

    Examples
    --------
    >>> from strongback.machine.sample import post
    >>> project_text(post()).splitlines()[:4]
    ['format = 2', '', '[machine]', 'name = "post"']
    """
    _refuse_unknown(machine)
    lines = [f"format = {FORMAT}", "", "[machine]", f"name = {_text(machine.name)}"]
    if machine.operator != "-y":
        lines.append(f"operator = {_text(machine.operator)}")
    if machine.correlation:
        lines.append(f'correlation = "{CORRELATION}"')
    if machine.state:
        lines += ["", "[state]", *(f"{_text(k)} = {_text(v)}" for k, v in machine.state)]
    for rows in _tables(machine):
        lines += ["", *rows]
    return "\n".join(lines) + "\n"


def _tables(machine: Machine) -> Iterator[Rows]:
    for material in _materials(machine):
        yield _material(material)
    for name, section in machine.sections:
        yield _section(name, section)
    for member in machine.members:
        yield _member(member)
    for block in machine.blocks:
        yield iter(["[[block]]", f"name = {_text(block.name)}", f"at = {_lengths(block.at)}"])
    for pad in machine.pads:
        yield _pad(pad)
    for _, holder in machine.holders():
        yield _holder(holder)
    for mass in machine.masses:
        yield _mass(mass)
    for key in ("tool", "work"):
        place = getattr(machine, key)
        yield iter([f"[{key}]", f"part = {_text(place.part)}", f"at = {_lengths(place.at)}"])
    for travel in machine.travels:
        yield _travel(travel)
    for pull in machine.pulls:
        yield _pull(pull)
    for gauge in machine.gauges:
        yield _gauge(gauge)


_WRITTEN = (
    "name", "operator", "correlation", "state", "sections", "members", "blocks", "pads", "joints", "supports", "masses",
    "tool", "work", "travels", "pulls", "gauges",
)  # fmt: skip


def _refuse_unknown(machine: Machine) -> None:
    for field in dataclasses.fields(machine):
        if field.name not in _WRITTEN and getattr(machine, field.name) != field.default:
            raise MachineError(
                f"{field.name} of a machine cannot be written to a project file",
                hint="write it there by hand",
            )


def _text(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def _number(value: float) -> str:
    return repr(float(value))


def _lengths(values: Sequence[float]) -> str:
    return f'"{", ".join(_number(v) for v in values)} m"'


def _list(values: Sequence[float]) -> str:
    return f"[{', '.join(_number(v) for v in values)}]"


def _points(ring: Ring) -> str:
    return f"[{', '.join(_list(point) for point in ring)}]"


def _direction(vector: Sequence[float]) -> str:
    word = _AXES.get(tuple(float(v) for v in vector))  # type: ignore[arg-type]
    return _text(word) if word else _list(vector)


def _materials(machine: Machine) -> list[Material]:
    """Materials that the package does not have, each once."""
    found: dict[str, Material] = {}
    every = [_of_section(section) for _, section in machine.sections] + [
        _of_plates(m) for m in machine.members
    ]
    for materials in every:
        for material in materials:
            if library().get(material.name) == material:
                continue
            if found.setdefault(material.name, material) != material:
                raise MachineError(
                    f'two materials are called "{material.name}"', hint="give each its own name"
                )
    return list(found.values())


def _of_section(section: Outline | SectionStiffness) -> Iterator[Material]:
    if isinstance(section, Outline):
        yield from (wall.material for wall in section.walls)
        for cell in section.cells:
            if cell.fill is not None:
                yield cell.fill.material
                yield from (insert.material for insert in cell.fill.inserts)


def _of_plates(member: Member) -> Iterator[Material]:
    for plate in (member.cap, member.foot):
        if plate is not None:
            yield from (plate.material, *([plate.glue] if plate.glue else []))
    yield from (diaphragm.material for diaphragm in member.diaphragms)


def _material(material: Material) -> Rows:
    yield "[[material]]"
    yield f"name = {_text(material.name)}"
    yield f'E = "{_number(material.E)} Pa"'
    if material.E_range is not None:
        yield f'E_range = "{", ".join(_number(v) for v in material.E_range)} Pa"'
    yield f"nu = {_number(material.nu)}"
    yield f'density = "{_number(material.density)} kg/m^3"'
    yield f'expansion = "{_number(material.expansion)} 1/K"'
    yield f"loss_factor = {_number(material.loss_factor)}"
    yield f"source = {_text(material.source)}"


def _section(name: str, section: Outline | SectionStiffness) -> Rows:
    yield "[[section]]"
    yield f"name = {_text(name)}"
    if isinstance(section, SectionStiffness):
        yield from _known(name, section)
        return
    yield 'unit = "m"'
    default = next(f.default for f in dataclasses.fields(Outline) if f.name == "max_points")
    if section.max_points != default:
        yield f"max_points = {section.max_points}"
    for wall in section.walls:
        yield from _wall(wall, section.cells)
    for cell in section.cells:
        yield from _cell(cell)
    for seam in section.seams:
        yield from _seam(seam)


def _seam(seam: Seam) -> Rows:
    yield "[[section.seam]]"
    yield f"name = {_text(seam.name)}"
    yield f"walls = [{', '.join(_text(wall) for wall in seam.walls)}]"
    yield (
        f'stiffness = "{_number(seam.stiffness)} Pa"'
        if math.isfinite(seam.stiffness)
        else 'stiffness = "bonded"'
    )
    yield f"held = [{', '.join('true' if held else 'false' for held in seam.held)}]"
    if seam.source:
        yield f"source = {_text(seam.source)}"


def _wall(wall: Wall, cells: tuple[Cell, ...]) -> Rows:
    rings = {cell.ring for cell in cells}
    own = [hole for hole in wall.holes if hole not in rings]
    yield from [
        "[[section.wall]]",
        f"name = {_text(wall.name)}",
        f"material = {_text(wall.material.name)}",
        'unit = "m"',
    ]
    yield f"points = {_points(wall.ring)}"
    if own:
        yield f"holes = [{', '.join(_points(hole) for hole in own)}]"


def _cell(cell: Cell) -> Rows:
    yield from [
        "[[section.cell]]",
        f"name = {_text(cell.name)}",
        'unit = "m"',
        f"points = {_points(cell.ring)}",
    ]
    if cell.fill is not None:
        yield from _fill(cell.fill)


def _fill(fill: Fill) -> Rows:
    yield f"fill = {_text(fill.material.name)}"
    yield f"bond = {_text(fill.bond) if isinstance(fill.bond, str) else _text(f'{_number(fill.bond)} N/m^3')}"
    for bore in fill.bores:
        yield from ["[[section.cell.bore]]", 'unit = "m"', f"points = {_points(bore)}"]
    for insert in fill.inserts:
        yield from [
            "[[section.cell.insert]]",
            f"name = {_text(insert.name)}",
            f"material = {_text(insert.material.name)}",
            'unit = "m"',
        ]
        yield from _bar(insert)


def _bar(insert: Insert) -> Rows:
    if not insert.bore:
        yield f"points = {_points(insert.ring)}"
        return
    (at, outside), (inner, inside) = _round(insert.ring), _round(insert.bore)
    if not math.dist(at, inner) <= SAME:
        raise MachineError(
            f'insert "{insert.name}" has a bore off its middle', hint="a project file knows round tubes alone"
        )
    yield f"at = {_list(at)}"
    yield f"diameter = {_number(outside)}"
    yield f"bore = {_number(inside)}"


def _round(ring: Ring) -> tuple[tuple[float, float], float]:
    """Centre and diameter of a ring that is round."""
    x, y = (float(v) for v in np.mean(ring, axis=0))
    at = round(x, 12) + 0.0, round(y, 12) + 0.0
    diameter = round(2.0 * math.sqrt(Polygon(ring).area / math.pi), 12)  # drawn with the area of the circle
    drawn = np.array(shapes.circle_ring(diameter)) + at
    if drawn.shape != (len(ring), 2) or not np.allclose(drawn, np.array(ring), rtol=0.0, atol=1e-9):
        raise MachineError("a tube in a fill is not round", hint="a project file knows round tubes alone")
    return at, diameter


def _known(name: str, section: SectionStiffness) -> Rows:
    values = {key: float(getattr(section, key)) for key in _CONSTANTS}
    again = stiffness_from_constants(
        name=name,
        centroid=section.centroid,
        shear_centre=section.shear_centre,
        mass_per_length=section.mass_per_length,
        mass_centroid=section.mass_centroid,
        inertia_per_length=section.inertia_per_length,
        **values,  # type: ignore[arg-type]
    )
    yield "[section.stiffness]"
    yield from (
        f'{key} = "{_number(v)} {_CONSTANTS[key]}"' for key, v in values.items() if v or key in _NEEDED
    )
    yield f"centroid = {_lengths(section.centroid)}"
    yield f"shear_centre = {_lengths(section.shear_centre)}"
    yield f'mass_per_length = "{_number(section.mass_per_length)} kg/m"'
    yield f"mass_centroid = {_lengths(section.mass_centroid)}"
    if any(section.inertia_per_length):
        yield f"inertia_per_length = {_list(section.inertia_per_length)}"
    if again.matrix != section.matrix:
        yield f"matrix = [{', '.join(_list(row) for row in section.matrix)}]"


def _member(member: Member) -> Rows:
    yield from [
        "[[member]]",
        f"name = {_text(member.name)}",
        f"start = {_lengths(member.start)}",
        f"end = {_lengths(member.end)}",
    ]
    yield f"x_axis = {_direction(member.x_axis)}"
    yield f"warping = [{', '.join(map(_text, member.ends))}]"
    yield f"model = {_text(member.model)}"
    whole = math.dist(member.start, member.end)
    if len(member.spans) == 1 and member.spans[0].length == whole:
        yield f"section = {_text(member.spans[0].section)}"
        spans: tuple[Any, ...] = ()
    else:
        spans = member.spans
    if member.factors or member.factor_ranges:
        yield f"factor = {{ {', '.join(_factors(member))} }}"
    for span in spans:
        yield from [
            "[[member.span]]",
            f"section = {_text(span.section)}",
            f"length = {_text(f'{_number(span.length)} m')}",
        ]
    yield from _plates(member)


def _plates(member: Member) -> Rows:
    for key in ("cap", "foot"):
        plate: EndPlate | None = getattr(member, key)
        if plate is not None:
            yield f"[member.{key}]"
            yield from _end_plate(plate)
    for diaphragm in member.diaphragms:
        yield "[[member.diaphragm]]"
        yield f"at = {_text(f'{_number(diaphragm.at)} m')}"
        yield f"thickness = {_text(f'{_number(diaphragm.thickness)} m')}"
        yield f"material = {_text(diaphragm.material.name)}"


def _end_plate(plate: EndPlate) -> Rows:
    yield 'unit = "m"'
    yield f"thickness = {_number(plate.thickness)}"
    yield f"material = {_text(plate.material.name)}"
    yield f"joint = {_text(plate.joint)}"
    if plate.glue is not None:
        yield f"glue = {_text(plate.glue.name)}"
    yield f"layer = {_number(plate.layer)}"
    if plate.screws:
        yield f"screws = {_points(plate.screws)}"
        yield f"pressed = {_number(plate.pressed)}"
    if plate.size is not None:
        yield f"size = {_list(plate.size)}"
        yield f"centre = {_list(plate.centre)}"


def _factors(member: Member) -> Rows:
    values = dict(member.factors)
    ranges = {name: (low, high) for name, low, high in member.factor_ranges}
    for name in dict.fromkeys([*values, *ranges]):
        value = _number(values.get(name, 1.0))
        low_high = (
            f", low = {_number(ranges[name][0])}, high = {_number(ranges[name][1])}" if name in ranges else ""
        )
        yield f"{name} = {{ value = {value}{low_high} }}"


def _pad(pad: Any) -> Rows:
    if not math.isfinite(pad.stiffness):
        raise MachineError(
            f'pad "{pad.name}" is rigid', hint="give it a stiffness; a project file knows no other"
        )
    yield from [
        "[[pad]]",
        f"name = {_text(pad.name)}",
        f"part = {_text(pad.part)}",
        f"at = {_lengths(pad.at)}",
    ]
    yield f"normal = {_direction(pad.normal)}"
    yield f"size = {_lengths(pad.size)}"
    yield f'stiffness = "{_number(pad.stiffness)} N/m^3"'
    yield f"tangential = {_number(pad.tangential)}"
    if pad.within_joint:
        yield "within_joint = true"


def _holder(holder: Joint | Support) -> Rows:
    joint = isinstance(holder, Joint)
    yield "[[joint]]" if joint else "[[support]]"
    yield f"name = {_text(holder.name)}"
    if isinstance(holder, Joint):
        yield f"parts = [{', '.join(map(_text, holder.parts))}]"
        if holder.pad:
            yield f"pad = {_text(holder.pad)}"
    else:
        yield f"part = {_text(holder.part)}"
    yield f"at = {_lengths(holder.at)}"
    if holder.axes != MACHINE_AXES:
        yield f"x_axis = {_direction(holder.axes[0])}"
        yield f"y_axis = {_direction(holder.axes[1])}"
    for i, component in enumerate(COMPONENTS):
        yield f"{component.replace(' ', '_')} = {_spring(holder, i)}"
    if holder.loss_factor:
        yield f"loss_factor = {_number(holder.loss_factor)}"
    if holder.source:
        yield f"source = {_text(holder.source)}"


def _spring(holder: Joint | Support, i: int) -> str:
    unit, k = "N/m" if i < 3 else "N*m/rad", holder.stiffness[i]
    if k in (0.0, math.inf):
        return '"rigid"' if k else '"free"'
    low, high = holder.low, holder.high
    if low is None or high is None or low[i] == k == high[i]:
        return f'"{_number(k)} {unit}"'
    three = (("value", k), ("low", low[i]), ("high", high[i]))
    ends = [f'{name} = "{_number(v)} {unit}"' for name, v in three]
    return f"{{ {', '.join(ends)} }}"


def _mass(mass: Any) -> Rows:
    yield from [
        "[[mass]]",
        f"name = {_text(mass.name)}",
        f"part = {_text(mass.part)}",
        f"at = {_lengths(mass.at)}",
    ]
    yield f'mass = "{_number(mass.mass)} kg"'
    if any(mass.inertia):
        yield f'inertia = "{", ".join(_number(v) for v in mass.inertia)} kg*m^2"'


def _travel(travel: Any) -> Rows:
    yield from [
        "[[travel]]",
        f"name = {_text(travel.name)}",
        f"parts = [{', '.join(map(_text, travel.parts))}]",
    ]
    yield f"direction = {_direction(travel.direction)}"
    yield f"low = {_text(f'{_number(travel.low)} m')}"
    yield f"high = {_text(f'{_number(travel.high)} m')}"
    if travel.stays:
        yield f"stays = [{', '.join(map(_text, travel.stays))}]"


def _pull(pull: Any) -> Rows:
    yield from [
        "[[pull]]",
        f"name = {_text(pull.name)}",
        f"part = {_text(pull.part)}",
        f"at = {_lengths(pull.at)}",
    ]
    if any(pull.force):
        yield f'force = "{", ".join(_number(v) for v in pull.force)} N"'
    if any(pull.couple):
        yield f'couple = "{", ".join(_number(v) for v in pull.couple)} N*m"'
    if pull.against != GROUND:
        yield f"against = {_text(pull.against)}"


def _gauge(gauge: Any) -> Rows:
    yield from [
        "[[gauge]]",
        f"name = {_text(gauge.name)}",
        f"part = {_text(gauge.part)}",
        f"at = {_lengths(gauge.at)}",
    ]
    yield f"direction = {_direction(gauge.direction)}"
    yield f"reference = {_text(gauge.reference)}"
    if gauge.stand is not None:
        yield f"stand = {_lengths(gauge.stand)}"
    yield f"resolution = {_text(f'{_number(gauge.resolution)} m')}"
