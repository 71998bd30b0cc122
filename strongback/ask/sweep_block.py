"""One block of a sweep, solved: what a worker runs. Text and numbers in, responses out."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

from strongback.errors import QuestionError
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter
from strongback.machine.part.make import parts_of
from strongback.machine.solve import pull_load, tool_rows
from strongback.machine.values import Machine, Pull
from strongback.machine.variants import JointVariants, joint_variants
from strongback.project.read import Project, read_text
from strongback.project.source import nearest

__all__ = ["Given", "address", "joint_of", "rewritten", "solved_block"]

Array = NDArray[np.float64]
Given = tuple[str, str, tuple[str, ...], tuple[str, ...]]
KEPT = 8  # machines that a worker remembers


def solved_block(text: str, path: str, variables: tuple[str, ...], pulls: tuple[str, ...], x: Array) -> Array:
    """Motion of the tool along pulls at points of a sweep, (points, pulls) [m].

    Parameters
    ----------
    text : str
        Of the project file.
    path : str
        Where it stands.
    variables : tuple of str
        ``joint.<name>.<component>``, a stiffness in SI, or the place of a number in the file, ``table.<name>.key``.
    pulls : tuple of str
    x : ndarray, shape (points, variables)
    """
    sprung = [i for i, name in enumerate(variables) if joint_of(name) is not None]
    written = [i for i in range(len(variables)) if i not in sprung]
    parameters = tuple(p for name in variables if (p := joint_of(name)) is not None)
    found = np.empty((len(x), len(pulls)))
    keys, inverse = np.unique(x[:, written], axis=0, return_inverse=True)
    for k, key in enumerate(keys):
        own = np.flatnonzero(inverse.ravel() == k)
        values = tuple((variables[i], float(v)) for i, v in zip(written, key, strict=True))
        form = _form(text, path, values, parameters, pulls)
        found[own] = form(np.ascontiguousarray(x[own][:, sprung]))
    return found


@functools.lru_cache(maxsize=KEPT)
def _form(
    text: str,
    path: str,
    values: tuple[tuple[str, float], ...],
    parameters: tuple[Parameter, ...],
    pulls: tuple[str, ...],
) -> JointVariants:
    """The machine with some numbers written into its file, ready for any joints."""
    project = read_text(rewritten(text, path, values), path)
    machine = project.machine
    parts = parts_of(machine)
    chosen = [next(p for p in machine.pulls if p.name == name) for name in pulls]
    loop = assemble(machine, parts)
    loads = [pull_load(loop, pull) for pull in chosen]
    rows = [_along(pull) @ tool_rows(loop)[:3] for pull in chosen]
    real = tuple(_kind(machine, p) for p in parameters)
    return joint_variants(machine, parts, real, loads, rows)


def _along(pull: Pull) -> Array:
    return np.asarray(pull.force) / float(np.linalg.norm(pull.force))


def _kind(machine: Machine, parameter: Parameter) -> Parameter:
    """The parameter as a joint or a support, whichever has that name."""
    kinds = {h.name: kind for kind, h in machine.holders()}
    if parameter.part not in kinds:
        hint = nearest(parameter.part, list(kinds), "joints and supports")
        raise QuestionError(f'there is no joint or support "{parameter.part}"', hint=hint)
    return Parameter(kind=kinds[parameter.part], part=parameter.part, mechanism=parameter.mechanism)


def joint_of(name: str) -> Parameter | None:
    """The joint stiffness that a variable names; None for a number of the file.

    Examples
    --------
    >>> str(joint_of("joint.base.about_x")), joint_of("section.tube.thickness")
    ('base, about x', None)
    """
    kind, _, rest = name.partition(".")
    part, _, key = rest.rpartition(".")
    words = key.replace("_", " ")
    if kind not in ("joint", "support") or words not in (
        "along x",
        "along y",
        "along z",
        "about x",
        "about y",
        "about z",
    ):
        return None
    return Parameter(kind="joint" if kind == "joint" else "support", part=part, mechanism=words)


def address(project: Project, name: str) -> tuple[str | int, ...]:
    """Where a number stands in a project file.

    Parameters
    ----------
    project : Project
    name : str
        ``table.<name>.key`` for one of several tables, or ``table.key``; a table within one by its key.

    Returns
    -------
    tuple
        Its path in the document.

    Raises
    ------
    QuestionError
        If there is none, or it is no number.
    """
    table, _, rest = name.partition(".")
    data = project.document.data
    if table not in data:
        raise QuestionError(f'"{name}": the file has no [{table}]', hint=nearest(table, list(data), "tables"))
    path: tuple[str | int, ...] = (table,)
    own = data[table]
    if isinstance(own, list):
        names = [str(row.get("name")) for row in own]
        found = [n for n in names if rest.startswith(n + ".")]
        if not found:
            raise QuestionError(
                f'"{name}": no [[{table}]] of that name', hint=f"there are {', '.join(names)}"
            )
        best = max(found, key=len)
        path, own, rest = (table, names.index(best)), own[names.index(best)], rest[len(best) + 1 :]
    for key in rest.split("."):
        if not isinstance(own, dict) or key not in own:
            known = ", ".join(own) if isinstance(own, dict) else "none"
            raise QuestionError(f'"{name}": there is no key "{key}"', hint=f"keys: {known}")
        path, own = (*path, key), own[key]
    if not isinstance(own, str | int | float) or isinstance(own, bool) or len(str(own).split(",")) > 1:
        raise QuestionError(f'"{name}" is {own!r}, not one number', hint="name a key with one number")
    return path


def rewritten(text: str, path: str, values: tuple[tuple[str, float], ...]) -> str:
    """Text of a project file with other numbers; each keeps its unit.

    Parameters
    ----------
    text, path : str
    values : tuple of (str, float)
        In the units of the file.
    """
    if not values:
        return text
    project = read_text(text, path)
    edits = []
    for name, value in values:
        place = project.document.place(address(project, name))
        assert place is not None
        edits.append((place.start, place.end, value))
    bare = project.document.source.text
    for start, end, value in sorted(edits, reverse=True):
        old = bare[start:end].strip()
        unit = old.strip("\"'").split(" ", 1)[1:] if old[:1] in "\"'" else []
        new = f'"{value!r} {unit[0]}"' if unit else repr(value)
        bare = bare[:start] + new + bare[end:]
    return bare
