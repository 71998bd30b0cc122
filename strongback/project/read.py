"""Read a project: a folder with ``project.toml``, or such a file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from strongback.errors import ProjectError
from strongback.machine.joints.estimate import JointStiffness
from strongback.machine.values import Machine
from strongback.materials import Material, library
from strongback.project.build import build_machine, sections_alone
from strongback.project.document import Document, parse
from strongback.project.extras import EXTRAS
from strongback.project.schema import TABLES
from strongback.project.source import Faults, Source, nearest, read_source
from strongback.project.springs import JointLaw
from strongback.project.tables import Reader
from strongback.section.values import Outline, SectionStiffness

__all__ = [
    "DEMO",
    "FILE_NAME",
    "Project",
    "demo_folder",
    "project_file",
    "read",
    "read_sections",
    "read_text",
]

FILE_NAME = "project.toml"
DEMO = "demo"
FORMAT = 2
CHANGES = (
    "since format 1: Y points away from the operator (turn the sign of every y and of every +y, -y); walls that "
    "carry a pad give by default; a spindle and a slideway are described by what one sees"
)
TABLES_OF_NUMBERS = (".csv", ".tsv")
MOST_TABLES = 200  # keys looked at on the top level; a file with more of them is no project


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Project:
    """A project as its file gives it.

    Parameters
    ----------
    path : Path
        The project file.
    machine : Machine
    note : str
        What the file says about itself.
    materials : mapping of str to Material
        Own materials of the file, before those of the package.
    laws : tuple of JointLaw
        Components of joints and supports that open or have play, beside the linear machine.
    starts : mapping of str to JointStiffness
        Of joints and supports that are described by their kind: what the library says of them, by their names.
    extras : mapping of str to value
        What other stages read from their tables, by the name of the table.
    document : Document
        The text and the place of everything in it, for messages and for writing back.

    Examples
    --------
    >>> project = read("demo")
    >>> project.machine.name, len(project.machine.pulls)
    ('bench mill', 5)
    """

    path: Path
    machine: Machine
    note: str
    materials: Mapping[str, Material]
    laws: tuple[JointLaw, ...]
    starts: Mapping[str, JointStiffness]
    extras: Mapping[str, Any]
    document: Document

    @property
    def folder(self) -> Path:
        """Folder of the project file."""
        return self.path.parent

    @property
    def units(self) -> Literal["mm", "inch"]:
        """Units in which the file wants to be answered."""
        return "inch" if self.document.data.get("machine", {}).get("units") == "inch" else "mm"

    @property
    def text(self) -> str:
        """Text of the project file."""
        return self.document.source.text

    def place_of(self, kind: str, name: str, key: str = "") -> str:
        """File and line of a table or of a key in it, such as ``project.toml:41``; empty if it is not there.

        Parameters
        ----------
        kind : str
            Kind of table, such as ``"joint"``.
        name : str
            Its name.
        key : str
        """
        rows = self.document.data.get(kind, [])
        for i, row in enumerate(rows if isinstance(rows, list) else []):
            if row.get("name") == name:
                place = self.document.place((kind, i, key) if key else (kind, i))
                assert place is not None
                return f"{self.document.source.name}:{self.document.source.place(place.key)[0]}"
        return ""

    def __repr__(self) -> str:
        m = self.machine
        return (
            f"Project({m.name!r}: {len(m.members)} members, {len(m.blocks)} blocks, {len(m.joints)} joints, "
            f"{len(m.pulls)} pulls, {len(m.gauges)} gauges)"
        )


def demo_folder() -> Path:
    """Folder of the demo project in the installed package.

    Examples
    --------
    >>> (demo_folder() / "project.toml").exists()
    True
    """
    return Path(str(resources.files("strongback.project"))) / DEMO


def project_file(path: str | Path) -> Path:
    """The project file that a path stands for: itself, or ``project.toml`` in a folder; the demo for its word.

    Examples
    --------
    >>> project_file("demo").name
    'project.toml'
    """
    given = Path(path)
    if str(path) == DEMO and not given.exists():
        given = demo_folder()
    try:
        return given / FILE_NAME if given.is_dir() else given
    except (OSError, ValueError):
        raise ProjectError(f'"{path!s}" is not a path') from None


def read(path: str | Path) -> Project:
    """Read a project.

    Parameters
    ----------
    path : str or Path
        A folder that holds ``project.toml``, or the file. The word ``demo`` means the built-in machine where no such folder
        exists.

    Returns
    -------
    Project

    Raises
    ------
    ProjectError
        With every fault of the file and of the files that it names, in file order, each with line, column and hint.

    Examples
    --------
    >>> read("demo")
    Project('bench mill': 3 members, 3 blocks, 5 joints, 5 pulls, 16 gauges)
    """
    file = project_file(path)
    if file.suffix.lower() in TABLES_OF_NUMBERS:
        raise ProjectError(
            f'"{file.name}" is a table, not a project',
            hint=f"a project is a folder with {FILE_NAME}, or such a file; for a profile: strongback section "
            f"--outline {file.name}",
        )
    return _read(read_source(file, file.name), file)


def read_sections(path: str | Path) -> dict[str, Outline | SectionStiffness]:
    """The sections of a project that can be read, even where other tables have faults, which `read` reports.

    Parameters
    ----------
    path : str or Path
        As in `read`.

    Returns
    -------
    dict of str to Outline or SectionStiffness
        By name; empty if there is none without a fault.

    Raises
    ------
    ProjectError
        If the file cannot be read at all.

    Examples
    --------
    >>> sorted(read_sections("demo"))[0]
    'arm'
    """
    file = project_file(path)
    document = parse(read_source(file, file.name))
    _refuse_other_format(document, Faults())
    return sections_alone(Reader(document, file.parent, Faults()))


def read_text(text: str, path: str | Path) -> Project:
    """Read a project from text that stands for a file, such as a changed copy.

    Parameters
    ----------
    text : str
    path : str or Path
        Where it would stand; files that it names are looked for beside it.

    Returns
    -------
    Project

    Raises
    ------
    ProjectError
        As `read`.

    Examples
    --------
    >>> project = read("demo")
    >>> read_text(project.text, project.path).machine == project.machine
    True
    """
    file = project_file(path)
    return _read(Source(name=file.name, text=text), file)


def _read(source: Source, file: Path) -> Project:
    document = parse(source)
    faults = Faults()
    _refuse_other_format(document, faults)
    reader = Reader(document, file.parent, faults)
    _refuse_unknown(reader)
    built = build_machine(reader)
    faults.raise_if_any()
    assert built is not None
    extras = {}
    for extra in EXTRAS:
        rows = reader.rows(extra.key, extra.model, many=extra.many)
        if not len(faults):
            extras[extra.key] = extra.build(reader, rows, built.machine)
    faults.raise_if_any()
    return Project(
        path=file,
        machine=built.machine,
        note=str(document.data["machine"].get("note", "")),
        materials=library() | built.materials,
        laws=built.laws,
        starts=built.starts,
        extras=extras,
        document=document,
    )


def _refuse_other_format(document: Document, faults: Faults) -> None:
    """A file that does not say how it is meant is not guessed at: the same figures mean another machine."""
    if not document.data:
        return  # an empty file has other faults
    told = document.data.get("format")
    if told == FORMAT and not isinstance(told, bool):
        return
    if told is None:
        faults.add(document.source, None, f"has no line format = {FORMAT}", f"put it first; {CHANGES}")
    else:
        place = document.place(("format",))
        assert place is not None
        words = (
            f"format = {document.written(('format',))[:40]} is not known; this program reads format {FORMAT}"
        )
        faults.add(document.source, place.start, words, CHANGES, width=place.end - place.start)
    faults.raise_if_any()


def _refuse_unknown(reader: Reader) -> None:
    known = ["format", *TABLES, "state", *(extra.key for extra in EXTRAS)]
    for key in list(reader.document.data)[:MOST_TABLES]:
        if key not in known:
            reader.fault_at_key((key,), f'unknown table or key "{key[:40]}"', nearest(key, known, "tables"))
