"""The frame of the commands: suggestions, exit codes, what is said on which stream."""

from __future__ import annotations

import json
import os
import shlex
import signal
import subprocess
import sys

import click
import pytest

from strongback.cli import common, frame
from strongback.cli.frame import COMMANDS, EXIT_CODES, main
from strongback.errors import EnvironmentFault, InputError, MechanismError, ProjectError

ALL = frame.strongback.list_commands(None)  # type: ignore[arg-type]


def run(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "strongback", *words],
        capture_output=True,
        text=True,
        env={**os.environ, **environment},
        check=False,
    )


def test_help_lists_commands_exit_codes_and_completion(capsys):
    assert main(["--help"]) == 0
    text = capsys.readouterr().out
    for name in ALL:
        assert f"  {name} " in text
    for code, meaning in EXIT_CODES.items():
        assert f"{code:>3}  {meaning}" in text
    for shell in ("bash", "zsh", "fish"):
        assert f"{shell}_source" in text


@pytest.mark.parametrize("name", ALL)
def test_help_of_a_command_opens_with_the_line_of_the_list(name, capsys):
    assert main([name, "--help"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert COMMANDS[name] in text
    assert "Example:" in text
    assert "--json" in text


@pytest.mark.parametrize("width", ["40", "80"])
@pytest.mark.parametrize("name", ["", *ALL])
def test_help_keeps_within_the_terminal(name, width, monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", width)
    assert main([name, "--help"] if name else ["--help"]) == 0
    text, example = capsys.readouterr().out, False
    for line in text.splitlines():
        example = example or line.strip().startswith(("Example", "Exit codes", "Completion"))
        if not example and not line.lstrip().startswith(("strongback ", "--")):
            assert len(line) <= max(int(width), 50), line


@pytest.mark.parametrize(
    ("words", "nearest"),
    [
        (["deflekt", "demo"], "deflect"),
        (["seccion", "demo"], "section"),
        (["chek"], "check"),
        (["deflect", "demo", "--jason"], "--json"),
        (["--hepl"], "--help"),
    ],
)
def test_a_misspelt_word_is_answered_with_the_nearest(words, nearest, capsys):
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"Did you mean {nearest}?" in said.err.replace("'", "")  # older releases of click quote no options


def test_a_word_like_nothing_gets_no_suggestion(capsys):
    assert main(["qqqqqq"]) == 2
    assert "Did you mean" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (InputError("a is wrong", hint="mend a"), 3, "error: a is wrong\n   help: mend a"),
        (ProjectError("p.toml:1:2 x", faults=("x",)), 3, "p.toml:1:2 x"),
        (MechanismError("it moves"), 4, "error: it moves"),
        (EnvironmentFault("no room"), 5, "error: no room"),
        (PermissionError(13, "Permission denied", "out"), 5, 'error: permission denied "out"'),
        (MemoryError(), 5, "not enough memory"),
        (KeyboardInterrupt(), 130, "interrupted"),
        (click.Abort(), 130, "interrupted"),
        (frame.Terminated(), 143, "terminated"),
        (ZeroDivisionError("division by zero"), 70, "unexpected fault: ZeroDivisionError: division by zero"),
    ],
)
def test_every_fault_has_its_code_and_no_traceback(error, code, words, monkeypatch, capsys):
    def fail(name):
        raise error

    monkeypatch.setattr(common, "load", fail)
    monkeypatch.setattr("strongback.cli.check.load", fail)
    assert main(["check", "demo"]) == code
    assert code in EXIT_CODES
    said = capsys.readouterr()
    assert said.out == ""
    assert words in said.err
    assert "Traceback" not in said.err


def test_an_unexpected_fault_says_how_to_report_it(monkeypatch, capsys):
    def fail(name):
        raise RuntimeError("boom")

    monkeypatch.setattr("strongback.cli.check.load", fail)
    assert main(["check", "demo"]) == 70
    assert "--debug" in capsys.readouterr().err
    assert main(["check", "demo", "--debug"]) == 70
    said = capsys.readouterr().err
    assert "Traceback" in said
    assert "report" in said


def test_a_reader_that_leaves_early_is_no_fault():
    """``strongback deflect demo | head -1`` in a shell of its own."""
    first = subprocess.Popen(
        [sys.executable, "-m", "strongback", "check", "demo", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert first.stdout is not None
    assert first.stderr is not None
    first.stdout.close()
    said = first.stderr.read()
    first.stderr.close()
    assert first.wait() == 0
    assert said == b""


@pytest.mark.skipif(os.name != "posix", reason="a shell that closes streams")
@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("check demo", 0),
        ("check demo --json", 0),
        ("doctor", 0),
        ("--help", 0),
        ("nosuch", 2),
        ("check none", 3),
    ],
)
@pytest.mark.parametrize("streams", [">&-", "2>&-", ">&- 2>&-", "2>/dev/full"])
def test_streams_that_nobody_reads_change_no_exit_code(words, code, streams):
    line = f"{shlex.quote(sys.executable)} -m strongback {words} {streams}"
    done = subprocess.run(["sh", "-c", line], capture_output=True, text=True)
    assert done.returncode == code
    assert "Traceback" not in done.stdout + done.stderr
    assert "unexpected fault" not in done.stdout + done.stderr


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device here")
@pytest.mark.parametrize("words", ["check demo", "--help"])
def test_a_full_disk_behind_stdout_is_a_fault_of_the_environment(words):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "strongback", *words.split()],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
        )
    assert done.returncode == 5
    assert done.stderr == "error: no space left on device\n"


@pytest.mark.parametrize("words", ["--help", "doctor --help"])
def test_a_reader_that_leaves_before_the_help_is_no_fault(words):
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "w") as nobody:
        done = subprocess.run(
            [sys.executable, "-m", "strongback", *words.split()], stdout=nobody, stderr=subprocess.PIPE
        )
    assert (done.returncode, done.stderr) == (0, b"")


def test_no_colour_in_a_pipe_nor_with_no_color():
    assert "\x1b" not in run("check", "demo").stdout


def test_no_color_is_respected_on_a_terminal(monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    seen = []

    @click.command()
    @click.pass_context
    def probe(ctx):
        seen.append(ctx.color)

    monkeypatch.setattr(frame.Commands, "get_command", lambda self, ctx, name: probe)
    assert main(["check"]) == 0
    assert seen == [False]


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_a_terminal_of_any_encoding_is_written_to(encoding):
    done = subprocess.run(
        [sys.executable, "-m", "strongback", "section", "--help"],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": encoding},
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == b""


def test_completion_offers_commands():
    done = run(_STRONGBACK_COMPLETE="bash_complete", COMP_WORDS="strongback defl", COMP_CWORD="1")
    assert "deflect" in done.stdout


def test_json_has_no_infinity(capsys):
    common.emit_json("probe", {"a": float("inf"), "b": [1.0, float("nan")], "c": (2,)})
    assert json.loads(capsys.readouterr().out) == {
        "schema": "strongback.probe.2",
        "a": None,
        "b": [1.0, None],
        "c": [2],
    }


def test_pick_names_what_there_is():
    with pytest.raises(click.UsageError, match=r"there is no pull 'sidways' \(there are: sideways, jack\)"):
        common.pick("sidways", ["sideways", "jack"], "pull")


def test_progress_is_silent_off_a_terminal(capsys):
    with common.progress("walls") as step:
        step(0.5)
    assert capsys.readouterr() == ("", "")


def test_warnings_are_notes(monkeypatch, capsys):
    import warnings

    def warn(name):
        warnings.warn("the built-in mesher is used", UserWarning, stacklevel=1)
        raise InputError("stop")

    monkeypatch.setattr("strongback.cli.check.load", warn)
    with warnings.catch_warnings():
        warnings.simplefilter("default")
        assert main(["check", "demo"]) == 3
    assert "note: the built-in mesher is used" in capsys.readouterr().err


def test_version(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("strongback ")


@pytest.mark.parametrize("module", ["strongback", "strongback.cli"])
def test_runs_as_a_module(module):
    done = subprocess.run(
        [sys.executable, "-m", module, "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("strongback ")


def test_the_numbers_of_a_section_do_not_depend_on_the_run(tmp_path):
    """Found now, read from the cache, or with more threads on offer: what differs is under ``run`` alone."""
    said = []
    for threads in ("1", "1", "2"):
        made = run(
            "section",
            "demo",
            "--json",
            STRONGBACK_CACHE=str(tmp_path / threads),
            OMP_NUM_THREADS=threads,
            OPENBLAS_NUM_THREADS=threads,
        )
        said.append(json.loads(made.stdout))
    runs = [one.pop("run") for one in said]
    assert said[0] == said[1] == said[2]
    assert [run["column"]["cached"] for run in runs] == [False, True, False]
    assert all(run["column"]["seconds"] > 0.0 for run in runs)


@pytest.mark.parametrize(("asked", "given"), [(None, "1"), ("3", "3"), ("0", "1"), ("many", "1")])
def test_one_thread_for_numbers_unless_asked(monkeypatch, capsys, asked, given):
    for name in frame.THREADS:
        monkeypatch.setenv(name, "7")
    monkeypatch.delenv("STRONGBACK_THREADS", raising=False)
    if asked is not None:
        monkeypatch.setenv("STRONGBACK_THREADS", asked)
    assert main(["--version"]) == 0
    assert {os.environ[name] for name in frame.THREADS} == {given}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="signals of POSIX")
def test_a_terminated_command_takes_away_what_it_was_writing(tmp_path):
    """SIGTERM while a picture is being written: exit code 143, and nothing beside the old file."""
    picture = tmp_path / "budget.png"
    picture.write_bytes(b"as it was")
    code = (
        "import os, signal, sys\n"
        "real = os.fsync\n"
        "os.fsync = lambda handle: (real(handle), os.kill(os.getpid(), signal.SIGTERM))\n"
        "from strongback.cli.frame import main\n"
        "from strongback.project import atomic\n"
        "import strongback.cli.check as check\n"
        "check.load = lambda name: atomic.write_bytes(sys.argv[1], b'new')\n"
        "sys.exit(main(['check', 'demo']))\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(picture)], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (143, "terminated\n")
    assert picture.read_bytes() == b"as it was"
    assert list(tmp_path.iterdir()) == [picture]


def test_a_command_called_in_a_process_leaves_its_signals_alone(capsys):
    before = signal.getsignal(signal.SIGTERM)
    assert main(["--version"]) == 0
    assert signal.getsignal(signal.SIGTERM) is before
