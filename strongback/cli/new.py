"""``strongback new``"""

from __future__ import annotations

from pathlib import Path

import click

from strongback.cli.common import demo_folder, emit_json, json_option, say, subcommand


@subcommand("new", "strongback new my-machine", "strongback check my-machine")
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--force", is_flag=True, help="Replace files that are there.")
@json_option
def command(folder: Path, force: bool, as_json: bool) -> None:
    """The folder holds project.toml with every kind of table and a comment beside it, and the outline that it names. All
    its data are invented: replace them by yours.
    """
    from strongback.errors import InputError
    from strongback.project.atomic import write_bytes

    with demo_folder() as source:
        files = {path.name: path.read_bytes() for path in sorted(source.iterdir()) if path.is_file()}
    there = [name for name in files if (folder / name).exists()]
    if there and not force:
        raise InputError(
            f'"{folder}" already holds {", ".join(there)}',
            hint="choose another folder, or replace them with --force",
        )
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in files.items():
        write_bytes(folder / name, data)
    if as_json:
        emit_json("new", {"folder": str(folder), "files": list(files)})
        return
    say(f"made {folder}: {', '.join(files)}")
    say(f"next: change {folder / 'project.toml'} to your machine, then strongback check {folder}")
