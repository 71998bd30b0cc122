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
)


@subcommand("demo", "strongback demo")
@json_option
@out_option
def command(as_json: bool, out: Path) -> None:
    """A small column mill on a two-cell aluminium extrusion; all its data are invented. Prints the numbers and where the
    figures are.
    """
    from strongback.cli._machine import assembled, pull_results
    from strongback.cli.deflect import draw, show
    from strongback.project import read
    from strongback.project.out_names import out_names
    from strongback.section.values import Outline
    from strongback.views import deflection_text, style
    from strongback.views.section_plot import profile_figure

    note_mesher()
    machine = read(demo_folder()).machine
    ready = assembled(machine)
    results = pull_results(ready, list(machine.pulls))
    if as_json:
        emit_json("demo", deflection_text.as_dict(machine, results))
        return
    show(ready, results, details=False)
    made = draw(ready, results, out)
    pictures = out_names("section", [name for name, _ in machine.sections], ".png")
    for name, section in machine.sections:
        if isinstance(section, Outline):
            figure = profile_figure(section, ready.parts.sections[name])
            made.append(style.save(figure, out / pictures[name]))
    say()
    say(f"Figures in {out.resolve()}:")
    for path in made:
        say(f"  {path.name}")
    say()
    say("Budget by mechanism: strongback deflect demo")
    say("Your machine: strongback new my-machine, then change my-machine/project.toml")
