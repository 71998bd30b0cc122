"""The group of commands: found by name, imported when called; every fault becomes a message and an exit code."""

from __future__ import annotations

import contextlib
import importlib
import importlib.util
import io
import json
import os
import signal
import sys
import traceback
import warnings
from collections.abc import Iterator, Sequence
from typing import Any, TextIO

import click

from strongback import __version__
from strongback.checks import closest
from strongback.errors import ProjectError, StrongbackError

__all__ = ["COMMANDS", "EXIT_CODES", "SCHEMA", "Commands", "main", "strongback"]

# In the order of the job; what each says of itself in the list. A command's own help opens with the same line.
COMMANDS = {
    "demo": "Run the main job on the built-in demo machine.",
    "new": "Start a project: by an interview, or from a commented example.",
    "check": "Read a project and report every fault, without solving.",
    "section": "Stiffness of a profile, with bounds and handbook values beside.",
    "deflect": "Deflection at the tool under every pull, and who causes it.",
    "vibrate": "How it rings: frequencies, damping, and who holds each mode.",
    "loads": "Own weight, warm parts and cases: motion, reactions, forces in members.",
    "readings": "Reduce dial readings: drift, loop width, uncertainty.",
    "compare": "Set predicted beside measured at every gauge.",
    "calibrate": "Fit joint stiffnesses to readings, with honest intervals.",
    "plan": "Propose the next pulls and gauges, with the expected reading.",
    "explain": "Split a change before/after over its possible causes.",
    "options": "Every change side by side: gain, price, mass; the best set, proved.",
    "sweep": "Spread of the deflection over ranges of numbers, on any engine.",
    "mix": "From sand and resin to the expected gain at the tool.",
    "export": "Write the deformed machine as a mesh file for viewers.",
    "words": "Explain the words of the trade, with sketches.",
    "bundle": "Pack what reproduces a problem into one small zip.",
    "doctor": "Say what this computer has and lacks for the job.",
}

SCHEMA = 2  # of every object that --json prints

EXIT_CODES = {
    0: "done",
    1: "a check not met",
    2: "usage: an unknown command, option or value",
    3: "bad input, each fault with its place",
    4: "cannot be solved: free to move, not converged",
    5: "environment: something missing or not writable",
    70: "unexpected: a fault of strongback itself",
    130: "interrupted",
    143: "terminated",
}

THREADS = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "BLIS_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
)

HELP = """Find out why a small machine tool gives, and what to do about it.

PROJECT is a folder with a project.toml, such a file, or the word demo for the built-in machine.
"""

EPILOG = """\b
Exit codes:
{codes}

\b
Completion:
  bash  eval "$(_STRONGBACK_COMPLETE=bash_source strongback)"
  zsh   eval "$(_STRONGBACK_COMPLETE=zsh_source strongback)"
  fish  _STRONGBACK_COMPLETE=fish_source strongback | source

\b
Example:
  strongback demo
"""


class Commands(click.Group):
    """Commands by the name of their module, imported only when one is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands that are there, in the order of the job."""
        return [name for name in COMMANDS if importlib.util.find_spec(f"strongback.cli.{name}")]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, or None."""
        if cmd_name not in self.list_commands(ctx):
            return None
        found = importlib.import_module(f"strongback.cli.{cmd_name}").command
        assert isinstance(found, click.Command)
        return found

    def make_context(self, *args: Any, **kwargs: Any) -> click.Context:
        """Parse what stands before the command; a reader that leaves before the help text is no fault."""
        try:
            return super().make_context(*args, **kwargs)
        except BrokenPipeError:
            _hush()
            raise click.exceptions.Exit(0) from None

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; a reader that leaves early, such as head, has all it wants."""
        try:
            result: object = super().invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError:
            _hush()
            return 0
        return result

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is called; a misspelt one is answered with the nearest."""
        name = args[0]
        if not name.startswith("-") and name not in COMMANDS and not ctx.resilient_parsing:
            raise click.UsageError(
                f"there is no command '{name}'.{did_you_mean(name, self.list_commands(ctx))}", ctx
            )
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name]) for name in self.list_commands(ctx)])


def did_you_mean(word: str, words: Sequence[str]) -> str:
    """A sentence with the nearest of some words, or nothing.

    Examples
    --------
    >>> did_you_mean("deflekt", ["deflect", "demo"])
    " Did you mean 'deflect'?"
    """
    near = closest(word, words, 0.5)
    return f" Did you mean '{near}'?" if near else ""


def _epilog() -> str:
    return EPILOG.format(codes="\n".join(f"  {code:>3}  {meaning}" for code, meaning in EXIT_CODES.items()))


@click.group(
    cls=Commands, help=HELP, epilog=_epilog(), context_settings={"help_option_names": ["-h", "--help"]}
)
@click.version_option(__version__, message="strongback %(version)s")
@click.option("--debug", is_flag=True, help="Show the traceback of a fault.")
@click.pass_context
def strongback(ctx: click.Context, debug: bool) -> None:
    """Set what holds for every command."""
    ctx.meta["strongback.debug"] = debug
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        ctx.color = False


def main(args: Sequence[str] | None = None) -> int:
    """Run a command line.

    Parameters
    ----------
    args : sequence of str, optional
        Default: those of the process.

    Returns
    -------
    int
        Exit code, one of `EXIT_CODES`.
    """
    words = list(sys.argv[1:] if args is None else args)
    _open_streams()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal that lacks µ gets a question mark, not a fault
    debug = "--debug" in words
    _one_thread()
    with _heeded_termination(), warnings.catch_warnings():
        warnings.showwarning = _note
        try:
            code = strongback.main(words, prog_name="strongback", standalone_mode=False)
        except BaseException as error:
            if "--json" in words and not isinstance(error, SystemExit):
                return _answer_as_json(error, debug)
            return _answer(error, debug)
    return code if isinstance(code, int) else 0


def _note(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: TextIO | None = None,
    line: str | None = None,
) -> None:
    """A warning as a note to the user."""
    with contextlib.suppress(OSError):
        click.echo(f"note: {message}", err=True)


def _answer(error: BaseException, debug: bool) -> int:
    """Say what went wrong on stderr; the exit code."""
    if isinstance(error, SystemExit):
        return error.code if isinstance(error.code, int) else 0
    with contextlib.suppress(OSError):  # the code says it where stderr cannot be written
        _explain(error, debug)
    return _exit_code(error)


class Terminated(BaseException):
    """The process was asked to end (SIGTERM): what it was writing is taken away on the way out."""


def _terminated(number: int, frame: object) -> None:
    raise Terminated


@contextlib.contextmanager
def _heeded_termination() -> Iterator[None]:
    """End by `Terminated` where nothing else is set for SIGTERM; signals are the main thread's alone."""
    own = False
    with contextlib.suppress(ValueError):
        if signal.getsignal(signal.SIGTERM) is signal.SIG_DFL:
            signal.signal(signal.SIGTERM, _terminated)
            own = True
    try:
        yield
    finally:
        if own:
            signal.signal(signal.SIGTERM, signal.SIG_DFL)


def _one_thread() -> None:
    """Hold numerical libraries to one thread, before they are imported, or to `STRONGBACK_THREADS`.

    How a sum is split over threads changes its last digits, and matrices here are small: threads only wait for each
    other, for minutes where the processors are busy.
    """
    asked = os.environ.get("STRONGBACK_THREADS", "1")
    for name in THREADS:
        os.environ[name] = asked if asked.isdecimal() and int(asked) > 0 else "1"


def _exit_code(error: BaseException) -> int:
    if isinstance(error, click.ClickException):
        return 2
    if isinstance(error, Terminated):
        return 143
    if isinstance(error, KeyboardInterrupt | click.Abort):
        return 130
    if isinstance(error, StrongbackError):
        return error.exit_code
    return 5 if isinstance(error, OSError) or _no_memory(error) else 70


def _no_memory(error: BaseException) -> bool:
    """Whether memory ran out: for an array, or for a library that was to be loaded."""
    unloaded = isinstance(error, ImportError) and "failed to map segment" in str(error)
    return isinstance(error, MemoryError) or unloaded


def _explain(error: BaseException, debug: bool) -> None:
    """Say what went wrong on stderr."""
    if debug and not isinstance(error, click.ClickException):
        traceback.print_exception(error)
    if isinstance(error, click.ClickException):
        error.show()
    elif isinstance(error, Terminated):
        click.echo("terminated", err=True)
    elif isinstance(error, KeyboardInterrupt | click.Abort):
        click.echo("interrupted", err=True)
    elif isinstance(error, StrongbackError):
        named = isinstance(error, ProjectError) and error.faults
        click.echo(str(error) if named else f"error: {error}", err=True)
    elif _no_memory(error):
        click.echo(
            "error: this computer has not enough memory free\n   help: ask for a coarser tolerance", err=True
        )
    elif isinstance(error, OSError):
        where = f' "{error.filename}"' if error.filename else ""
        click.echo(f"error: {(error.strerror or str(error)).lower()}{where}", err=True)
    else:
        _unexpected(error, debug)


def _open_streams() -> None:
    """Give streams that were closed before the start (``>&-``) a place to write to, open to the end of the process."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115


def _answer_as_json(error: BaseException, debug: bool) -> int:
    """The same fault as one JSON object on stdout, with the same exit code."""
    said = io.StringIO()
    with contextlib.redirect_stderr(said):
        code = _answer(error, debug)
    faults = error.faults if isinstance(error, ProjectError) else ()
    found = {
        "schema": f"strongback.fault.{SCHEMA}",
        "exit_code": code,
        "message": said.getvalue().strip(),
        "help": getattr(error, "hint", ""),
        "faults": [fault.as_dict() for fault in faults],  # type: ignore[attr-defined]
    }
    with contextlib.suppress(OSError):  # the code says it where stdout cannot be written
        click.echo(json.dumps(found, indent=2))
    return code


def _hush() -> None:
    """Nobody reads any more: let the last flush of Python go nowhere instead of failing."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _unexpected(error: BaseException, debug: bool) -> None:
    click.echo(f"unexpected fault: {type(error).__name__}: {error}", err=True)
    click.echo("This is a fault of strongback, not of your file.", err=True)
    again = (
        "Please report the lines above"
        if debug
        else "Please run it again with --debug and report what it prints"
    )
    click.echo(f"{again}, with the project file and the output of `strongback doctor`.", err=True)
