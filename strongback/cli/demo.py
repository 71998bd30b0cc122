"""``strongback demo``"""

from __future__ import annotations

from pathlib import Path

from strongback.cli.common import (
    demo_folder,
    emit_json,
    json_option,
    note_mesher,
    out_option,
    progress,
    say,
    subcommand,
    width,
)


@subcommand("demo", "strongback demo")
@json_option
@out_option
def command(as_json: bool, out: Path) -> None:
    """A small column mill on a two-cell aluminium extrusion; all its data are invented. Prints on one screen how much
    the tool gives, who causes it, what to do first, and where the figures are; everything else is in deflect.
    """
    from strongback.ask.deflect import deflect
    from strongback.project.out_names import out_names
    from strongback.section.values import Outline
    from strongback.views import style
    from strongback.views.first_screen import first_screen
    from strongback.views.parts_text import walls_blocks
    from strongback.views.section_plot import profile_figure
    from strongback.views.sheet import Sheet

    note_mesher()
    with progress() as step:
        found = deflect(demo_folder(), progress=step)
    if as_json:
        emit_json("demo", found)
        return
    say(first_screen(found, width()))
    made = [style.save(picture, out / name) for name, picture in found.figures()]
    sections = found.machine.sections
    pictures = out_names("section", [name for name, _ in sections], ".png")
    for name, section in sections:
        if isinstance(section, Outline):
            figure = profile_figure(section, found.loop.parts.sections[name])
            made.append(style.save(figure, out / pictures[name]))
    say()
    say(f"{len(made)} pictures in {out.resolve()}")
    say(f"open first: {made[0].name}")
    say("All data of this machine are invented.")
    say("Static, elastic, small motions.")
    say("Everything else: strongback deflect demo")
    say("Your machine: strongback new my-machine")
    for line in walls_blocks(found.reports):
        say(Sheet((line,)).text(width()))
