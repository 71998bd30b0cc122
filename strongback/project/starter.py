"""A project to start from, and the demo."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from strongback.errors import EnvironmentFault, InputError
from strongback.project.atomic import write_bytes, write_text
from strongback.project.interview import project_of
from strongback.project.interview.common import LOG
from strongback.project.interview.log import log_text
from strongback.project.read import FILE_NAME, demo_folder, read_text

__all__ = ["ANSWERS", "copy_demo", "fresh_folder", "new_from_answers", "new_project", "refuse_taken"]

ANSWERS = "answers.toml"


def refuse_taken(folder: Path, force: bool) -> None:
    """Refuse a file, and a folder with a project that is not to be replaced."""
    if folder.exists() and not folder.is_dir():
        raise InputError(f'"{folder}" is a file', hint="name a folder")
    if (folder / FILE_NAME).exists() and not force:
        raise InputError(
            f'there is a {FILE_NAME} in "{folder}" already',
            hint="choose another folder, or add --force to replace it",
        )


def fresh_folder(folder: str | Path, force: bool) -> Path:
    """A folder to write a project to, made if it is not there and refused if it holds one."""
    folder = Path(folder)
    refuse_taken(folder, force)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise EnvironmentFault(
            f'the folder "{folder}" cannot be made: {error.strerror or error}', hint="choose another place"
        ) from None
    return folder


def new_project(folder: str | Path, *, force: bool = False) -> Path:
    """Write a commented project to start from: a column, an arm and a table, complete and without a fault.

    Parameters
    ----------
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
    InputError
        If a project is there already.
    EnvironmentFault
        If it cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from strongback.project.read import read
    >>> with TemporaryDirectory() as folder:
    ...     len(read(new_project(Path(folder) / "mine")).machine.members)
    2
    """
    file = fresh_folder(folder, force) / FILE_NAME
    text = resources.files("strongback.project").joinpath("starter.toml").read_text(encoding="utf-8")
    write_text(file, text)
    return file


def new_from_answers(
    folder: str | Path, kind: str, text: str, *, force: bool = False, units: str = ""
) -> tuple[Path, tuple[str, ...]]:
    """Write the project of an interview, and its answers and a log to fill in beside it.

    Parameters
    ----------
    folder : str or Path
    kind : str
        Of machine; empty where the answers say it.
    text : str
        Of the answers file.
    force : bool
        Replace a project that is there.
    units : {"", "mm", "inch"}
        Of lengths without a unit, and of what is shown; what the answers say, by default.

    Returns
    -------
    file : Path
        The project file.
    unknown : tuple of str
        Answers that are guesses.

    Raises
    ------
    InputError
        If an answer cannot be used, or a project is there already.
    ProjectError
        If the answers contradict each other, such as a wall of more than half the width.
    """
    made, answers = project_of(kind, text, Path(folder).name, units)
    read = read_text(made, Path(folder) / FILE_NAME)  # nothing is written that check would refuse
    target = fresh_folder(folder, force)
    write_text(target / ANSWERS, text)
    state = [(str(k), str(v)) for k, v in read.document.data.get("state", {}).items()]
    write_text(target / LOG, log_text(read.machine, answers["dial.count"], state))
    write_text(target / FILE_NAME, made)
    return target / FILE_NAME, tuple(sorted(answers.unknown))


def copy_demo(folder: str | Path, *, force: bool = False) -> Path:
    """Copy the demo project into a folder.

    Parameters
    ----------
    folder : str or Path
    force : bool

    Returns
    -------
    Path
        The project file.

    Raises
    ------
    InputError
        If a project is there already.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     copy_demo(Path(folder) / "mine").name
    'project.toml'
    """
    target = fresh_folder(folder, force)
    for file in sorted(demo_folder().rglob("*")):
        if file.is_file() and "__pycache__" not in file.parts:
            to = target / file.relative_to(demo_folder())
            to.parent.mkdir(parents=True, exist_ok=True)
            write_bytes(to, file.read_bytes())
    return target / FILE_NAME
