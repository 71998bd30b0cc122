"""A calibrated machine as the text of a project file: fitted joints with ranges, fitted factors of members."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TypeAlias

from strongback.errors import InputError
from strongback.machine.values import COMPONENTS, Joint, Machine, Member, Support
from strongback.project.atomic import write_text
from strongback.project.correlation import FILE_NAME as CORRELATION
from strongback.project.correlation import correlation_text
from strongback.project.document import Path as KeyPath
from strongback.project.document import parse
from strongback.project.read import FILE_NAME, Project
from strongback.project.rewrite import beside, insertion, with_joint_stiffness
from strongback.project.source import Source, nearest, read_source

FactorWithRange: TypeAlias = tuple[float, float, float]

__all__ = ["with_calibrated_machine", "with_correlation_file", "with_member_factors", "write_calibrated"]


def with_calibrated_machine(text: str, before: Machine, after: Machine, *, source: str = "") -> str:
    """Text of a project file with the joints and factors of a calibrated machine.

    Parameters
    ----------
    text : str
        Of the project file that `before` was read from.
    before, after : Machine
        Joints, supports and members of the same names.
    source : str
        For the joints that changed.

    Returns
    -------
    str
    """
    values: dict[tuple[str, str], tuple[float, float, float]] = {}
    for (_, old), (_, new) in zip(before.holders(), after.holders(), strict=True):
        if new != old:
            values.update(_springs(old, new))
    factors = {
        new.name: _factors(old, new)
        for old, new in zip(before.members, after.members, strict=True)
        if (new.factors, new.factor_ranges) != (old.factors, old.factor_ranges)
    }
    return with_member_factors(with_joint_stiffness(text, values, source=source), factors)


def with_correlation_file(text: str) -> str:
    """Text of a project file that names the table of correlations.

    Examples
    --------
    >>> print(with_correlation_file('[machine]\\nname = "mill"\\n'), end="")
    [machine]
    name = "mill"
    correlation = "correlation.csv"
    """
    bare = text.removeprefix("\ufeff")
    document = parse(Source(name="project", text=bare))
    line_end = "\r\n" if "\r\n" in bare else "\n"
    place = document.places.get(("machine", "correlation"))
    if place is not None:
        start, end, written = place.start, place.end, f'"{CORRELATION}"'
    else:
        start, end, written = beside(document, ("machine",), f'correlation = "{CORRELATION}"', line_end)
    return text[: len(text) - len(bare)] + bare[:start] + written + bare[end:]


def _springs(old: Joint | Support, new: Joint | Support) -> dict[tuple[str, str], tuple[float, float, float]]:
    found = {}
    for i, name in enumerate(COMPONENTS):
        low = new.stiffness[i] if new.low is None else new.low[i]
        high = new.stiffness[i] if new.high is None else new.high[i]
        changed = new.stiffness[i] != old.stiffness[i] or (new.low, new.high) != (old.low, old.high)
        if changed and 0.0 < new.stiffness[i] < float("inf"):
            found[(new.name, name)] = (new.stiffness[i], low, high)
    return found


def _factors(old: Member, new: Member) -> dict[str, FactorWithRange]:
    """Factors that changed, or whose range did, with low and high; the same thrice without a range."""
    ranges = {name: (low, high) for name, low, high in new.factor_ranges}
    known = {name: (low, high) for name, low, high in old.factor_ranges}
    before, after = dict(old.factors), dict(new.factors)
    found = {}
    for name in {**after, **ranges}:
        value = after.get(name, 1.0)
        if value != before.get(name, 1.0) or ranges.get(name) != known.get(name):
            found[name] = (value, *ranges.get(name, (value, value)))
    return found


def with_member_factors(text: str, factors: Mapping[str, Mapping[str, FactorWithRange]]) -> str:
    """Text of a project file with other factors on the stiffness of members.

    Parameters
    ----------
    text : str
    factors : mapping of str to mapping of str to (value, low, high)
        By member and mechanism; low and high equal to the value write no range.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If there is no such member.

    Examples
    --------
    >>> print(with_member_factors('[[member]]\\nname = "column"\\n', {"column": {"bending": (0.95, 0.88, 1.03)}}), end="")
    [[member]]
    name = "column"
    factor = { bending = { value = 0.95, low = 0.88, high = 1.03 } }
    """
    if not factors:
        return text
    bare = text.removeprefix("\ufeff")
    document = parse(Source(name="project", text=bare))
    line_end = "\r\n" if "\r\n" in bare else "\n"
    rows = document.data.get("member", [])
    names = [str(row.get("name", "")) for row in rows]
    edits: list[tuple[int, int, str]] = []
    for name, wanted in factors.items():
        if name not in names:
            raise InputError(f'there is no member "{name}"', hint=nearest(name, names, "there are"))
        path: KeyPath = ("member", names.index(name))
        known = rows[names.index(name)].get("factor")
        if known is None:
            written = ", ".join(f"{key} = {_written(value)}" for key, value in wanted.items())
            edits.append(insertion(document, path, [f"factor = {{ {written} }}"], line_end))
            continue
        for key, value in wanted.items():
            place = document.places.get((*path, "factor", key))
            if place is not None:
                edits.append((place.start, place.end, _written(value)))
            else:
                edits.append(beside(document, (*path, "factor"), f"{key} = {_written(value)}", line_end))
    for start, end, written in sorted(edits, reverse=True):
        bare = bare[:start] + written + bare[end:]
    return text[: len(text) - len(text.removeprefix("\ufeff"))] + bare


def _written(factor: FactorWithRange) -> str:
    value, low, high = factor
    if low == high:
        return f"{value:.6g}"
    return f"{{ value = {value:.6g}, low = {low:.6g}, high = {high:.6g} }}"


def write_calibrated(
    read: Project, after: Machine, folder: str | Path, source: str, *, force: bool = False
) -> Path:
    """Write a calibrated project into a folder: the project file with fitted stiffnesses, and the tables beside it.

    Parameters
    ----------
    read : Project
        That the calibration began with.
    after : Machine
    folder : str or Path
        Made if it is not there.
    source : str
        For the joints that changed.
    force : bool
        Replace a project that is there.

    Returns
    -------
    Path
        The project file.

    Raises
    ------
    InputError
        If there is a project already.
    """
    folder = Path(folder)
    file = folder / FILE_NAME
    if file.exists() and not force:
        raise InputError(
            f'there is a {FILE_NAME} in "{folder}" already', hint="choose another folder, or add --force"
        )
    text = with_calibrated_machine(read.text, read.machine, after, source=source)
    if after.correlation:
        text = with_correlation_file(text)
    folder.mkdir(parents=True, exist_ok=True)
    for table in sorted(read.folder.rglob("*.csv")):
        to = folder / table.relative_to(read.folder)
        if to.resolve() != table.resolve():
            to.parent.mkdir(parents=True, exist_ok=True)
            write_text(to, read_source(table, table.name).text)
    if after.correlation:
        write_text(folder / CORRELATION, correlation_text(after.correlation))
    write_text(file, text)
    return file
