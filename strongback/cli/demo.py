"""``strongback demo``"""

from __future__ import annotations

from pathlib import Path

from strongback.cli.common import (
    demo_folder,
    emit_json,
    json_option,
    note_mesher,
    out_option,
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
    from strongback.cli._machine import assembled, note_walls, pull_results
    from strongback.cli.deflect import draw
    from strongback.project import read
    from strongback.project.out_names import out_names
    from strongback.section.values import Outline
    from strongback.views import deflection_text, style
    from strongback.views.first_screen import first_screen
    from strongback.views.section_plot import profile_figure

    note_mesher()
    machine = read(demo_folder()).machine
    ready = assembled(machine)
    results = pull_results(ready, list(machine.pulls))
    if as_json:
        emit_json("demo", deflection_text.as_dict(machine, ready.reports, results))
        return
    say(first_screen(machine, results, width()))
    made = draw(ready, results, out)
    pictures = out_names("section", [name for name, _ in machine.sections], ".png")
    for name, section in machine.sections:
        if isinstance(section, Outline):
            figure = profile_figure(section, ready.parts.sections[name])
            made.append(style.save(figure, out / pictures[name]))
    say()
    say(f"{len(made)} pictures in {out.resolve()}")
    say(f"open first: {made[0].name}")
    say("All data of this machine are invented.")
    say("Static, elastic, small motions.")
    say("Everything else: strongback deflect demo")
    say("Your machine: strongback new my-machine")
    note_walls(ready)
