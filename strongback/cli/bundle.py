"""``strongback bundle``"""

from __future__ import annotations

import contextlib
import io
import json
import sys
import tempfile
from pathlib import Path

import click

from strongback.cli.common import emit_json, json_option, note, project_argument, say, subcommand

RUNS = ("check", "section", "deflect", "readings", "compare", "calibrate", "plan", "explain", "mix")


@subcommand(
    "bundle",
    "strongback bundle demo --run deflect --to problem.zip",
    "strongback bundle demo --nameless --force",
)
@project_argument
@click.option(
    "--run",
    "what",
    type=click.Choice(RUNS),
    default="check",
    show_default=True,
    help="The command with the problem.",
)
@click.option(
    "--to",
    "path",
    type=click.Path(dir_okay=False, path_type=Path),
    default=Path("problem.zip"),
    show_default=True,
)
@click.option("--nameless", is_flag=True, help="Replace names, file names and remarks.")
@click.option("--force", is_flag=True, help="Replace a file that is there.")
@json_option
def command(project: str, what: str, path: Path, nameless: bool, force: bool, as_json: bool) -> None:
    """The zip holds the project file, the tables it names, versions, and what the command says of them. It stays on this
    computer: look into it before you send it. Numbers are never changed, so that the problem stays.
    """
    from strongback import materials
    from strongback.cli.doctor import facts
    from strongback.errors import InputError
    from strongback.project import bundle, write_bytes

    if path.exists() and not force:
        raise InputError(f'there is a file "{path}" already', hint="choose another name, or add --force")
    files = bundle.project_files(project)
    code, _, _ = _run(files, what)
    if nameless:
        files = bundle.nameless(files, materials.library())
    again, out, err = _run(files, what)
    same = code == again
    versions = facts()
    versions["cache"] = {**versions["cache"], "folder": None}  # it may tell a name
    files["versions.json"] = json.dumps(versions, indent=2).encode()
    files["message.txt"] = f"strongback {what} . --json --debug\nexit code {again}\n\n{err}".encode()
    files["output.json"] = out.encode()
    data = bundle.zipped(files)
    write_bytes(path, data)
    if as_json:
        emit_json(
            "bundle",
            {
                "file": str(path),
                "bytes": len(data),
                "files": sorted(files),
                "exit_code": again,
                "reproduced": same,
            },
        )
    else:
        say(f"wrote {path}, {len(data) / 1e3:.0f} kB: {', '.join(sorted(files))}")
        say(f"strongback {what} on it ends with exit code {again}")
    if not same:
        note(f"without names the exit code is {again} and not {code}: send it with names, or say so")


def _run(files: dict[str, bytes], what: str) -> tuple[int, str, str]:
    """Exit code and output of a command on some files, without the place where they lie."""
    from strongback.cli.frame import main

    out, err = io.StringIO(), io.StringIO()
    with tempfile.TemporaryDirectory() as folder:
        for name, data in files.items():
            (Path(folder) / name).parent.mkdir(parents=True, exist_ok=True)
            (Path(folder) / name).write_bytes(data)
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main([what, folder, "--json", "--debug"])
        hidden = (
            (folder, "."),
            (sys.prefix, "python"),
            (str(Path(__file__).parents[2]), "strongback"),
            (_home(), "~"),
        )
    said = []
    for text in (out.getvalue(), err.getvalue()):
        for place, word in hidden:
            text = text.replace(place, word) if len(place) > 1 else text
        said.append(text)
    return code, said[0], said[1]


def _home() -> str:
    try:
        return str(Path.home())
    except RuntimeError:
        return ""
