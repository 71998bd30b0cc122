"""A face whose contact is written by hand in its pad and in its joint: said, with the figure, and not said of others."""

import json
import shutil
from pathlib import Path

from strongback.cli.frame import main
from strongback.machine.pad_contact import counted_twice
from strongback.project import read

TUBE_MILL = Path(__file__).parents[2] / "examples" / "tube-mill"
BY_HAND = """[[joint]]
name = "carriage"
parts = ["column", "carriage"]
pad = "{pad}"
at = {at}
along = "{along}"
about = "2e5 N*m/rad"
source = "a guess"
"""


def by_hand(tmp_path, along):
    """The tube mill with pad and joint of its carriage written by hand."""
    folder = tmp_path / "mill"
    shutil.copytree(TUBE_MILL, folder)
    file = folder / "project.toml"
    text = file.read_text()
    machine = read(TUBE_MILL).machine
    joint = next(j for j in machine.joints if j.pad)
    start = text.rindex("[[joint]]", 0, text.index(f'name = "{joint.name}"'))
    end = min(i for i in (text.find("\n[[", start + 9), text.find("\n# ---", start + 9)) if i > 0)
    at = "[" + ", ".join(f'"{1e3 * v:g} mm"' for v in joint.at) + "]"
    own = BY_HAND.format(pad=joint.pad, at=at, along=along).replace('"carriage"]', f'"{joint.parts[1]}"]')
    own = own.replace('name = "carriage"', f'name = "{joint.name}"').replace(
        '["column"', f'["{joint.parts[0]}"'
    )
    text = text[:start] + own + text[end:]
    pad = text.index(f'name = "{joint.pad}"', text.index("[[pad]]"))
    text = text[:pad] + 'stiffness = "150 N/mm^3"\n' + text[pad:]
    file.write_text(text)
    return folder


def test_pads_of_the_library_count_once():
    assert counted_twice(read(TUBE_MILL).machine) == ()
    assert counted_twice(read("demo").machine) == ()


def test_both_by_hand_count_twice_and_a_rigid_joint_does_not(tmp_path, capsys):
    folder = by_hand(tmp_path, "150 N/um")
    ((joint, pad),) = counted_twice(read(folder).machine)
    assert joint.pad == pad.name
    assert main(["check", str(folder), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["warnings"]
    assert [w["text"] for w in told if "counts twice" in w["text"]]
    file = folder / "project.toml"
    file.write_text(file.read_text().replace('along = "150 N/um"', 'along = "rigid"'))
    assert counted_twice(read(folder).machine) == ()


def test_the_figure_is_the_row_of_the_budget(tmp_path):
    import strongback as sb
    from strongback.views.quantity import said

    found = sb.deflect(by_hand(tmp_path, "150 N/um"), pull="sideways")
    (row,) = [r for r in found.pulls[0].budget.rows if r.mechanism == "pad contact"]
    shown = said(row.contribution, "µm", lambda v: f"{v:+.2f}")
    line = next(line for line in found.text(2000).splitlines() if "counts twice" in line)
    assert f'{shown} under "sideways"' in line
