"""The files that make a project what it is, as they are or without names, paths and remarks."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from strongback.errors import InputError
from strongback.project.read import project_file
from strongback.project.source import MAX_BYTES, read_bytes

__all__ = ["PROJECT", "nameless", "project_files", "zipped"]

PROJECT = "project.toml"
TEXT = re.compile(
    r'"""(?:[^\\]|\\.)*?"""|' r"'''.*?'''" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'|#[^\n]*", re.DOTALL
)
NAMED = re.compile(r'(?:^|[{,])[ \t]*(name|file|ring|outer)[ \t]*=[ \t]*"([^"\\\n]*)"', re.MULTILINE)
PEOPLE = {"operator", "by", "remark", "remarks", "note", "notes", "comment"}
# Keys whose text tells of people, places and papers, never of the machine.
REMARKS = re.compile(
    r'^([ \t]*(?:source|operator|place|date|note|remark|comment|stand|title)[ \t]*=[ \t]*)"[^"\n]*"',
    re.MULTILINE,
)


def project_files(path: str | Path) -> dict[str, bytes]:
    """The project file and the files it names, to the byte.

    Parameters
    ----------
    path : str or Path
        As for `read`.

    Returns
    -------
    dict of str to bytes
        By path below the folder of the project; the project file is ``project.toml``. Files that are missing, too large
        or outside the folder are left out, as `read` does not read them either.

    Raises
    ------
    ProjectError
        If the project file itself is not there or cannot be read.
    """
    file = project_file(path)
    data = read_bytes(file, file.name)
    found = {PROJECT: data}
    folder = file.parent.resolve()
    for text in sorted(
        {t[1:-1] for t in TEXT.findall(_decoded(data)) if t[:1] in "\"'" and t[:3] not in ('"""', "'''")}
    ):
        place = folder / text
        try:
            inside = bool(text.strip()) and place.resolve().is_relative_to(folder) and place.is_file()
            if inside and place.resolve() != file.resolve() and place.stat().st_size <= MAX_BYTES:
                found[place.resolve().relative_to(folder).as_posix()] = read_bytes(place, text)
        except (OSError, ValueError, InputError):
            continue
    return found


def nameless(files: Mapping[str, bytes], keep: Iterable[str] = ()) -> dict[str, bytes]:
    """The same files with names, file names and remarks replaced, line for line and reference for reference.

    Parameters
    ----------
    files : mapping of str to bytes
        From `project_files`.
    keep : iterable of str
        Names that mean something to the package, such as those of materials: not replaced.

    Returns
    -------
    dict of str to bytes

    Raises
    ------
    InputError
        If one of them is a drawing of a kind that holds more than points.

    Examples
    --------
    >>> made = nameless({"project.toml": b'name = "Ann\\'s mill" # Smith Street\\n'})
    >>> made["project.toml"]
    b'name = "x1"\\n'
    """
    for name in files:
        if name.lower().endswith((".dxf", ".svg", ".geojson")):
            raise InputError(
                f'"{name}" is a drawing, which may hold names of people and places where no one looks',
                hint="write its outline as .wkt with strongback section --outline FILE --draw FILE.wkt, and name that",
            )
    text = _decoded(files[PROJECT])
    known = {"ground", "inside", "rigid", "free", *keep}
    others: dict[str, str] = {}
    for key, name in NAMED.findall(text):
        if name and name not in known and name not in others:
            suffix = Path(name).suffix if key == "file" else ""
            others[name] = f"x{len(others) + 1}{suffix}"
    text = REMARKS.sub(r'\1"-"', text)
    made = {PROJECT: TEXT.sub(lambda hit: _other(hit.group(), others), text)}
    made[PROJECT] = re.sub(r"[ \t]+$", "", made[PROJECT], flags=re.MULTILINE)
    for name, data in files.items():
        if name != PROJECT:
            made[others.get(name, name)] = _other_cells(_decoded(data), others)
    return {name: content.encode("utf-8", "surrogateescape") for name, content in made.items()}


def _other(token: str, others: Mapping[str, str]) -> str:
    if token.startswith("#"):
        return ""
    return f'"{others[token[1:-1]]}"' if token[1:-1] in others else token


def _other_cells(text: str, others: Mapping[str, str]) -> str:
    """A table whose cells are names of the project, replaced; remarks of lines that begin with # dropped."""
    lines: list[str] = []
    told: set[int] = set()  # columns that tell of people
    head = True
    for line in text.split("\n"):
        if line.lstrip().startswith("#"):
            lines.append("#")
            continue
        cells = re.split(r"([,;\t])", line)
        plain = [cell.strip().strip('"') for cell in cells]
        if head and any(plain):
            told, head = {i for i, cell in enumerate(plain) if cell.lower() in PEOPLE}, False
        elif told:
            cells = ["-" if i in told and plain[i] else cell for i, cell in enumerate(cells)]
        lines.append("".join(others.get(word, cell) for word, cell in zip(plain, cells, strict=True)))
    return "\n".join(lines)


def _decoded(data: bytes) -> str:
    """Text that goes back to the same bytes, whatever they are."""
    return data.decode("utf-8", "surrogateescape")


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files as a zip: the same bytes for the same files."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name in sorted(files):
            about = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            about.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(about, files[name], compresslevel=9)
    return buffer.getvalue()
