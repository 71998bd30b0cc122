"""What commands share: their frame, their options, how a project is found and how a result is printed."""

from __future__ import annotations

import functools
import inspect
import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from strongback.answer import plain
from strongback.cli.frame import COMMANDS, SCHEMA, did_you_mean

if TYPE_CHECKING:
    from strongback.answer import Answer
    from strongback.project import Project
    from strongback.section.values import Outline, SectionStiffness

__all__ = [
    "BAD_ROWS",
    "DEMO",
    "OUT",
    "answer",
    "data_option",
    "demo_folder",
    "emit_json",
    "figures_option",
    "heading",
    "json_option",
    "load",
    "note",
    "note_mesher",
    "out_option",
    "pick",
    "progress",
    "project_argument",
    "say",
    "sections_of",
    "show",
    "subcommand",
    "width",
    "write_figures",
]

DEMO = "demo"
OUT = "strongback-out"
BAD_ROWS = 3  # exit code: bad input, shown beside what could be used
UNITS = "strongback.units"  # what --units says, in the context
SILENT = ("new", "words", "bundle", "doctor")  # commands that show no quantity, or ask for units themselves
ONE_LINE = 160  # letters of names; more of them are listed one a line

Body = Callable[..., None]


class Command(click.Command):
    """A command whose help ends with examples that run as printed."""

    def __init__(self, *args: Any, examples: tuple[str, ...] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.examples = examples

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The examples."""
        with formatter.section("Example"):
            for line in self.examples:
                formatter.write(f"{'':>{formatter.current_indent}}{line}\n")


def subcommand(name: str, *examples: str) -> Callable[[Body], Command]:
    """Make a command of a function.

    Its help is the line of `COMMANDS`, then the function's docstring, then the examples.

    Parameters
    ----------
    name : str
        A name of `COMMANDS`.
    *examples : str
        Command lines that run as printed in an empty folder, one after the other.

    Returns
    -------
    callable
        A decorator; call the result ``command`` in the module of the command.
    """

    def made(body: Body) -> Command:
        text = f"{COMMANDS[name]}\n\n{inspect.cleandoc(body.__doc__ or '')}"
        debug = click.option(
            "--debug", is_flag=True, expose_value=False, help="Show the traceback of a fault."
        )
        shown = name not in SILENT
        whole = _with_units(_with_room(body))
        return click.command(name, cls=Command, examples=examples, help=text)(
            debug(units_option(whole) if shown else whole)
        )

    return made


def _told_units(ctx: click.Context, param: click.Parameter, value: str | None) -> None:
    ctx.meta[UNITS] = value


units_option = click.option(
    "--units",
    type=click.Choice(["mm", "inch"]),
    expose_value=False,
    callback=_told_units,
    help="Units to print and draw in: µm, N, mm or thou, lbf, in; otherwise as the file says. JSON stays SI.",
)


def _with_units(body: Body) -> Body:
    """The command, printed and drawn in the units that are asked for."""

    @functools.wraps(body)
    def shown(*args: Any, **kwargs: Any) -> None:
        context = click.get_current_context()
        if kwargs.get("as_json"):
            context.meta[UNITS] = "mm"  # keys of JSON carry their units
        asked = context.meta.get(UNITS)
        if asked is None:
            return body(*args, **kwargs)
        from strongback.views.quantity import shown_in

        with shown_in(asked):
            return body(*args, **kwargs)

    return shown


def _with_room(body: Body) -> Body:
    """The command, refused before its work where the folder that it writes to cannot be written."""

    @functools.wraps(body)
    def checked(*args: Any, **kwargs: Any) -> None:
        if kwargs.get("out") is not None and kwargs.get("figures", True) and not kwargs.get("as_json"):
            refuse_unwritable(kwargs["out"])
        body(*args, **kwargs)

    return checked


def refuse_unwritable(folder: Path) -> None:
    """Say before the work that a folder cannot be made or written.

    Raises
    ------
    EnvironmentFault
    """
    from strongback.errors import EnvironmentFault

    there = next((each for each in (folder, *folder.absolute().parents) if each.exists()), None)
    if there is None or not there.is_dir():
        raise EnvironmentFault(
            f'"{folder}" cannot be a folder: "{there}" is a file', hint="choose another --out"
        )
    if not os.access(there, os.W_OK | os.X_OK):
        raise EnvironmentFault(f'"{folder}" cannot be written', hint="choose another --out, or --no-figures")


data_option = click.option("--data", metavar="NAME", help="Data set of the project; default: the first.")
project_argument = click.argument("project", metavar="PROJECT")
json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON object, SI units in its keys."
)
out_option = click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(OUT),
    show_default=True,
    help="Folder for figures.",
)
figures_option = click.option(
    "--figures/--no-figures", default=True, help="Draw figures (with --json: none)."
)


def load(path: str) -> Project:
    """The project of a folder or file, or the built-in demo.

    Parameters
    ----------
    path : str
        As given on the command line. The word ``demo`` means the built-in machine where no such folder exists.

    Returns
    -------
    Project
    """
    from strongback import project

    found = project.read(path)
    context = click.get_current_context(silent=True)
    if found.units != "mm" and context is not None and context.meta.get(UNITS) is None:
        from strongback.views.quantity import shown_in

        context.find_root().with_resource(shown_in(found.units))  # to the end of the command
    return found


def sections_of(path: str) -> dict[str, Outline | SectionStiffness]:
    """The sections of a project that have no fault, where it has faults elsewhere."""
    from strongback.project.read import read_sections

    return read_sections(path)


def demo_folder() -> Path:
    """Folder of the built-in demo project."""
    from strongback import project

    return project.demo_folder()


def emit_json(kind: str, content: Answer | Mapping[str, object]) -> None:
    """Print the one object of ``--json``.

    Parameters
    ----------
    kind : str
        Name of the command; with the version it makes ``schema``, such as ``"strongback.deflect.2"``.
    content : Answer or mapping
        Of a mapping: text, numbers, lists and mappings; keys carry units. A number that is not finite becomes null.
    """
    told = plain(content) if isinstance(content, Mapping) else content.to_dict()
    text = json.dumps({"schema": f"strongback.{kind}.{SCHEMA}", **told}, allow_nan=False, indent=2)
    click.echo(text)


def answer(kind: str, found: Answer, as_json: bool, out: Path | None, **how: Any) -> None:
    """Print an answer, or its object, and draw its pictures.

    Parameters
    ----------
    kind : str
        Name of the command.
    found : Answer
    as_json : bool
        Whether the object is asked for, and no pictures.
    out : Path or None
        Folder for pictures.
    **how
        Of the pictures.
    """
    if as_json:
        emit_json(kind, found)
        return
    show(found)
    if out is not None:
        note("")
        write_figures(found, out, **how)


def show(found: Answer) -> None:
    """Print an answer in the width of the terminal."""
    sheet = found.sheet()
    say(sheet.text(width(), lambda text: click.style(text, bold=True)))
    for line in sheet.notes:
        note(line)


def write_figures(found: Answer, out: Path, **how: Any) -> list[Path]:
    """Write the pictures of an answer, and say on stderr which.

    Parameters
    ----------
    found : Answer
    out : Path
        Folder.
    **how
        Of the pictures.

    Returns
    -------
    list of Path
    """
    from strongback.views import style

    made = []
    for name, picture in found.figures(**how):
        made.append(style.save(picture, out / name))
        note(f"wrote {made[-1]}")
    return made


def say(text: str = "") -> None:
    """Print a line or a block of lines of the result on stdout; words are wrapped to the terminal."""
    click.echo(_fitted(text))


def heading(text: str) -> None:
    """Print a line that opens a block."""
    click.echo(click.style(_fitted(text), bold=True))


def note(text: str) -> None:
    """Print a line beside the result, on stderr; one that cannot be written spoils no result."""
    with suppress(OSError):
        click.echo(_fitted(text), err=True)


def _fitted(text: str) -> str:
    from strongback.views.wrap import fitted

    return fitted(text, width())


def note_mesher() -> None:
    """Say, on stderr, where the second mesher is missing: results do not depend on it beyond the bounds they show."""
    from strongback.section._triangle import available

    if not available():
        note("note: the C mesher cannot be imported here; the built-in mesher is used")


def width() -> int:
    """Columns to print in: those of the terminal, at most 100 and at least 40; 80 where there is none."""
    return max(40, min(100, shutil.get_terminal_size((80, 24)).columns))


def pick(word: str, words: Sequence[str], what: str) -> str:
    """One of some names, or a usage fault with the nearest.

    Parameters
    ----------
    word : str
        As given on the command line.
    words : sequence of str
        What there is.
    what : str
        What it is called, such as ``"pull"``.

    Returns
    -------
    str
    """
    if word in words:
        return word
    near = did_you_mean(word, words)
    if sum(map(len, words)) > ONE_LINE:
        listed = "\n".join(f"  {each}" for each in words)
        raise click.UsageError(f"there is no {what} '{word}'.{near}\nThere are:\n{listed}")
    listed = ", ".join(words) if words else "none"
    raise click.UsageError(f"there is no {what} '{word}' (there are: {listed}).{near}")


@contextmanager
def progress(what: str = "") -> Iterator[Callable[..., None]]:
    """A bar with time left, on stderr and only on a terminal.

    Parameters
    ----------
    what : str
        What takes the time, until it is told.

    Yields
    ------
    callable
        To be called with the fraction that is done and, where that changes, what is being done.
    """
    if not sys.stderr.isatty():
        yield lambda fraction, what="": None
        return
    steps = 1000
    with click.progressbar(length=steps, label=what, file=sys.stderr) as bar:

        def step(fraction: float, doing: str = "") -> None:
            bar.label = doing or bar.label
            bar.update(max(0, round(steps * fraction) - bar.pos))

        yield step
