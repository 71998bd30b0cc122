"""Write stiffnesses back into the text of a project file and leave every other character as it is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from strongback.errors import InputError
from strongback.machine.values import COMPONENTS
from strongback.project.document import Document, Path, Place, parse
from strongback.project.schema_joints import COMPONENT_KEYS
from strongback.project.source import Source, nearest

__all__ = ["beside", "insertion", "with_joint_stiffness"]

BEARING_KEYS = COMPONENT_KEYS[:3]  # of a bearing of a spindle that is a member
KEY_OF = dict(zip(COMPONENTS, COMPONENT_KEYS, strict=True))
_UNITS = {"along": (("N/um", 1e6), ("N/mm", 1e3)), "about": (("N*m/rad", 1.0),)}


def with_joint_stiffness(
    text: str, values: Mapping[tuple[str, str], tuple[float, float, float]], *, source: str = ""
) -> str:
    """Text of a project file with other joint and support stiffnesses.

    Parameters
    ----------
    text : str
        Of a project file that reads without a fault.
    values : mapping of (name, component) to (value, low, high)
        Name of a joint or support, and one of `strongback.machine.values.COMPONENTS`, such as ``"about x"``; in N/m and
        N m/rad. ``math.inf`` writes "rigid" and 0 writes "free"; where low or high is not finite or equals the value,
        the value is written without a range.
    source : str
        Replaces the source of every joint that changes; empty leaves it.

    Returns
    -------
    str
        With comments, order and line ends as they were.

    Raises
    ------
    InputError
        If there is no such joint, support or component.

    Examples
    --------
    >>> text = '[[joint]]\\nname = "base"  # four bolts\\nalong = "rigid"\\nabout = "2e5 N*m/rad"\\n'
    >>> print(with_joint_stiffness(text, {("base", "about x"): (1.3e5, 1.1e5, 1.6e5)}), end="")
    [[joint]]
    name = "base"  # four bolts
    along = "rigid"
    about = "2e5 N*m/rad"
    about_x = { value = "130000 N*m/rad", low = "110000 N*m/rad", high = "160000 N*m/rad" }
    """
    bare = text.removeprefix("\ufeff")
    document = parse(Source(name="project", text=bare))
    edits: list[tuple[int, int, str]] = []
    added: dict[Path, list[str]] = {}
    changed: list[Path] = []
    for (name, component), numbers in values.items():
        path = _holder(document, name)
        key = _key(component)
        if len(path) > 2 and key not in BEARING_KEYS:
            continue  # a bearing of two holds along alone
        written = _written(key, numbers)
        place = document.places.get((*path, key))
        changed.append(path)
        if place is not None:
            if bare[place.key : place.key_end].strip("\"'") != key:
                line = document.source.place(place.key)[0]
                raise InputError(
                    f"line {line}: {key} is spread over keys of its own", hint=f"write {key} = {{ ... }}"
                )
            edits.append((place.start, place.end, written))
        else:
            added.setdefault(path, []).append(f"{key} = {written}")
    for path in dict.fromkeys(path[:2] for path in changed) if source else ():
        _resource(document, path, source, edits, added)
    line_end = "\r\n" if "\r\n" in bare else "\n"
    for path, lines in added.items():
        if len(path) > 2:
            edits += [beside(document, path, line, line_end) for line in lines]
        else:
            edits.append(insertion(document, path, lines, line_end))
    for start, end, written in sorted(edits, reverse=True):
        bare = bare[:start] + written + bare[end:]
    return text[: len(text) - len(text.removeprefix("\ufeff"))] + bare


def _holder(document: Document, name: str) -> Path:
    names = []
    for kind in ("joint", "support"):
        rows: list[dict[str, Any]] = document.data.get(kind, [])
        for i, row in enumerate(rows):
            names.append(str(row.get("name", "")))
            if row.get("name") == name:
                return (kind, i)
            for end in ("front", "rear"):
                if "spindle_bearings" in row and f"{row.get('name')} {end}" == name:
                    return (kind, i, "spindle_bearings", end)
    raise InputError(f'there is no joint or support "{name}"', hint=nearest(name, names, "there are"))


def _key(component: str) -> str:
    if component not in KEY_OF:
        raise InputError(
            f'"{component}" is no component of a joint', hint=nearest(component, KEY_OF, "components")
        )
    return KEY_OF[component]


def _written(key: str, numbers: tuple[float, float, float]) -> str:
    value, low, high = numbers
    if any(math.isnan(v) or v < 0.0 for v in numbers):
        raise InputError(f"{key}: a stiffness of {value:g} cannot be written", hint="give a number above 0")
    if value == 0.0 or math.isinf(value):
        return '"rigid"' if value else '"free"'
    if not (0.0 < low <= value <= high < math.inf) or low == high:
        return _quantity(key, value)
    parts = zip(("value", "low", "high"), numbers, strict=True)
    return "{ " + ", ".join(f"{word} = {_quantity(key, number)}" for word, number in parts) + " }"


def _quantity(key: str, value: float) -> str:
    """A stiffness in the unit of the trade that gives a plain number, to more digits than any pull test has."""
    choices = _UNITS[key.split("_", maxsplit=1)[0]]
    unit, factor = next((choice for choice in choices if value >= choice[1]), choices[-1])
    return f'"{value / factor:.6g} {unit}"'


def _resource(
    document: Document,
    path: Path,
    source: str,
    edits: list[tuple[int, int, str]],
    added: dict[Path, list[str]],
) -> None:
    words = "".join(c if c.isprintable() else " " for c in source).replace("\\", "\\\\").replace('"', '\\"')
    place = document.places.get((*path, "source"))
    if place is not None:
        edits.append((place.start, place.end, f'"{words}"'))
    else:
        added.setdefault(path, []).append(f'source = "{words}"')


def insertion(document: Document, path: Path, lines: list[str], line_end: str) -> tuple[int, int, str]:
    """An edit that puts lines behind the last key of a table, on lines of their own."""
    text = document.source.text
    own = [
        place
        for key, place in document.places.items()
        if key[:2] == path and len(key) == 3 and not _is_heading(text, place)
    ]
    last = max(own, key=_end)
    after = text.find("\n", last.end)
    if after < 0:
        return len(text), len(text), line_end + line_end.join(lines) + line_end
    return after + 1, after + 1, line_end.join(lines) + line_end


def _is_heading(text: str, place: Place) -> bool:
    """Whether a key stands in a heading of its own, such as [joint.box_way], behind which its table begins."""
    return text[text.rfind("\n", 0, place.key) + 1 :].lstrip().startswith("[")


def beside(document: Document, path: Path, line: str, line_end: str) -> tuple[int, int, str]:
    """An edit that puts a key behind the last of a table, inline or on lines of its own."""
    last = max((p for key, p in document.places.items() if key[:-1] == path), key=_last_key)
    text = document.source.text
    start = text.rfind("\n", 0, last.key) + 1
    if "{" in text[start : last.key]:
        return last.end, last.end, f", {line}"
    return last.end, last.end, f"{line_end}{line}"


def _last_key(place: Place) -> int:
    return place.key


def _end(place: Place) -> int:
    return place.end
