"""A calibrated machine as the text of a project file: fitted joints with ranges, fitted factors of members."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from strongback.errors import InputError
from strongback.machine.values import COMPONENTS, Joint, Machine, Support
from strongback.project.atomic import write_text
from strongback.project.document import Path as KeyPath
from strongback.project.document import parse
from strongback.project.read import FILE_NAME, Project
from strongback.project.rewrite import insertion, with_joint_stiffness
from strongback.project.source import Source, nearest, read_source

__all__ = ["with_calibrated_machine", "with_member_factors", "write_calibrated"]


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
        new.name: dict(new.factors)
        for old, new in zip(before.members, after.members, strict=True)
        if new.factors != old.factors
    }
    return with_member_factors(with_joint_stiffness(text, values, source=source), factors)


def _springs(old: Joint | Support, new: Joint | Support) -> dict[tuple[str, str], tuple[float, float, float]]:
    found = {}
    for i, name in enumerate(COMPONENTS):
        low = new.stiffness[i] if new.low is None else new.low[i]
        high = new.stiffness[i] if new.high is None else new.high[i]
        changed = new.stiffness[i] != old.stiffness[i] or (new.low, new.high) != (old.low, old.high)
        if changed and 0.0 < new.stiffness[i] < float("inf"):
            found[(new.name, name)] = (new.stiffness[i], low, high)
    return found


def with_member_factors(text: str, factors: Mapping[str, Mapping[str, float]]) -> str:
    """Text of a project file with other factors on the stiffness of members.

    Parameters
    ----------
    text : str
    factors : mapping of str to mapping of str to float
        By member and mechanism.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If there is no such member.

    Examples
    --------
    >>> print(with_member_factors('[[member]]\\nname = "column"\\n', {"column": {"bending": 0.95}}), end="")
    [[member]]
    name = "column"
    factor = { bending = 0.95 }
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
            written = ", ".join(f"{key} = {value:.6g}" for key, value in wanted.items())
            edits.append(insertion(document, path, [f"factor = {{ {written} }}"], line_end))
            continue
        for key, value in wanted.items():
            place = document.places.get((*path, "factor", key))
            if place is None:
                raise InputError(
                    f'member "{name}" has no factor {key}', hint=f"write {key} = 1.0 beside the others"
                )
            edits.append((place.start, place.end, f"{value:.6g}"))
    for start, end, written in sorted(edits, reverse=True):
        bare = bare[:start] + written + bare[end:]
    return text[: len(text) - len(text.removeprefix("\ufeff"))] + bare


def write_calibrated(
    read: Project, after: Machine, folder: Path, source: str, *, force: bool = False
) -> Path:
    """Write a calibrated project into a folder: the project file with fitted stiffnesses, and the tables beside it.

    Parameters
    ----------
    read : Project
        That the calibration began with.
    after : Machine
    folder : Path
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
    file = folder / FILE_NAME
    if file.exists() and not force:
        raise InputError(
            f'there is a {FILE_NAME} in "{folder}" already', hint="choose another folder, or add --force"
        )
    text = with_calibrated_machine(read.text, read.machine, after, source=source)
    folder.mkdir(parents=True, exist_ok=True)
    for table in sorted(read.folder.rglob("*.csv")):
        to = folder / table.relative_to(read.folder)
        if to.resolve() != table.resolve():
            to.parent.mkdir(parents=True, exist_ok=True)
            write_text(to, read_source(table, table.name).text)
    write_text(file, text)
    return file
