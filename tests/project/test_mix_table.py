"""The [mix] table: read as it stands, refused where it contradicts itself, with line and caret."""

import math
import random
import re
from importlib import resources
from pathlib import Path

import pytest

from strongback import units
from strongback.errors import InputError, ProjectError
from strongback.project import read, read_text
from strongback.remedies.fill.plan import plan_fill

DEMO = Path(str(resources.files("strongback.project") / "demo"))
TEXT = (DEMO / "project.toml").read_text(encoding="utf-8")
DEMO_MACHINE = read(DEMO).machine


def changed(old, new):
    assert TEXT.count(old) >= 1, old
    return TEXT.replace(old, new, 1)


def test_the_demo_is_read():
    mix = read(DEMO).extras["mix"]
    assert (mix.member, mix.cells, mix.low, mix.high) == ("column", ("left", "right"), 0.0, 0.465)
    assert mix.bags[0].sizes == (0.8e-3, 1e-3, 2e-3, 2.5e-3)
    assert mix.bags[0].passing == (0.0, 0.08, 0.72, 1.0)
    assert mix.void_tests[0].grains == pytest.approx(1.906)
    assert mix.bars[0].history[0].duration == pytest.approx(36 * 3600.0)
    assert mix.bars[0].supports == pytest.approx(1 / 20e6)
    assert mix.bars[0].deflections == pytest.approx((23e-6, 46e-6, 69e-6))
    assert mix.workshop.set_at == pytest.approx(308.15)
    assert mix.goals == (("sideways", 0.70),)
    assert mix.bond == (0.5, 1.0)


def test_no_table_no_mix():
    assert read_text(TEXT[: TEXT.index("[mix]\n")], DEMO / "project.toml").extras["mix"] is None


def test_units_of_the_table_change_nothing():
    inches = changed(
        'sizes = "0.8, 1, 2, 2.5 mm"', f'sizes = "{0.8 / 25.4}, {1 / 25.4}, {2 / 25.4}, {2.5 / 25.4} in"'
    )
    other = read_text(inches, DEMO / "project.toml").extras["mix"]
    assert other.bags[0].sizes == pytest.approx(read(DEMO).extras["mix"].bags[0].sizes, rel=1e-12)
    assert units.parse("1 in", "length") == pytest.approx(25.4e-3)


@pytest.mark.parametrize(
    ("old", "new", "messages"),
    [
        ('age = "36 h"', 'age = "-36 h"', ["must not be negative", "count the time from mixing"]),
        ("a = 100\nb = 32", "a = 3\nb = 100", ["mixing ratio 3:100", "ten times more hardener", "100:3"]),
        ("a = 100\nb = 32", "a = 100\nb = 0.2", ["beyond 200 to 1"]),
        ('grains = "1906 g"', 'grains = "2800 g"', ["do not fit into 1 L", "check tare"]),
        ('grains = "1906 g"', 'grains = "2600 g"', ["outside 0.05 to 0.7"]),
        ('cells = ["left", "right"]', 'cells = ["left", "rigth"]', ["must be a cell", "right"]),
        ('[mix]\nmember = "column"', '[mix]\nmember = "colum"', ["must be a member", "column"]),
        ('to = "465 mm" ', 'to = "565 mm" ', ["is not within", "480 mm long"]),
        ("bond = [0.5, 1.0]", "bond = [1.0, 0.5]", ["must be two numbers from 0 to 1"]),
        ('pull = "sideways"\nratio', 'pull = "sidways"\nratio', ["must be a pull", "sideways"]),
        ('passing = "0, 8, 72, 100 %"', 'passing = "100, 72, 8, 0 %"', ["share passing must rise"]),
        ('sizes = "0.8, 1, 2, 2.5 mm"', 'sizes = "0.8, 1, 2, 2.5"', ["has no unit"]),
        ('fill = "resin-bonded mineral"', 'fill = "cement gruot"', ["unknown fill", "cement grout"]),
        (
            "[[mix.access]]",
            '[[mix.insert]]\nname = "rod"\ncell = "right"\nmaterial = "stel"\nat = "30, 0 mm"\ndiameter = "20 mm"\n'
            "\n[[mix.access]]",
            ['unknown material "stel"', "steel"],
        ),
        ('kind = "screw"', 'kind = "nut"', ["must be one of"]),
        ('tap = "598 Hz"', 'tapp = "598 Hz"', ['unknown key "tapp"', "tap"]),
        ('readings = "23, 46, 69 um"', 'readings = "23, 46 um"', ["differ in number"]),
    ],
)
def test_faults_are_explained_where_they_stand(old, new, messages):
    text = changed(old, new)
    with pytest.raises(ProjectError) as caught:
        read_text(text, DEMO / "project.toml")
    said = str(caught.value)
    for message in messages:
        assert message in said
    line = text[: text.index(new)].count("\n") + 1
    named = [int(part.split(":")[1]) for part in said.splitlines() if part.startswith("project.toml:")]
    # The fault stands on the changed line, or at the head of the table that holds it, a few lines off.
    assert any(line - 16 <= n <= line + 4 for n in named)


def test_all_faults_at_once():
    text = changed('grains = "1906 g"', 'grains = "2800 g"').replace('age = "36 h"', 'age = "-1 h"', 1)
    with pytest.raises(ProjectError) as caught:
        read_text(text, DEMO / "project.toml")
    assert str(caught.value).count("project.toml:") == 2


NUMBER = re.compile(r"(?<![\w\"-])-?\d+\.?\d*(?=[ ,\"\]\n%])")


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
def test_any_number_gives_a_plan_or_a_reason(seed):
    """Numbers of the table turned into others at random: a finite plan, or a refusal in words; nothing else."""
    cut = TEXT.index("[mix]\n")
    rng = random.Random(seed)
    for _ in range(8):
        spot = rng.choice(list(NUMBER.finditer(TEXT[cut:])))
        value = float(spot.group())
        new = rng.choice([0.0, -value, 10 * value, value / 10, 1e3 * value, 1e-3 * value, 1e300, 1e-300])
        text = TEXT[: cut + spot.start()] + f"{new:g}" + TEXT[cut + spot.end() :]
        try:
            plan = plan_fill(read_text(text, DEMO / "project.toml").extras["mix"], DEMO_MACHINE)
        except InputError as error:
            refused = str(error)
        else:
            refused = ""
            assert 0.0 < plan.mass < math.inf
            assert 0.0 < plan.expected.E < math.inf
        assert refused == "" or len(refused) > 20
