"""Sweeps: their points, sensitivities against closed forms, equal bits on every engine, and what a kill leaves."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from strongback.ask.sweep import plan_sweep, sweep
from strongback.ask.sweep_block import rewritten, solved_block
from strongback.cli.frame import main
from strongback.errors import EnvironmentFault, LimitError, MachineError, QuestionError
from strongback.machine.along import along_pulls
from strongback.machine.loop import assemble
from strongback.machine.parameters import Parameter, scaled
from strongback.machine.part.make import parts_of
from strongback.project import read
from strongback.project.read import read_text
from strongback.remedies.sweeps.engine import executor
from strongback.remedies.sweeps.run import blocks_of, run
from strongback.remedies.sweeps.sample import Variable, points, saltelli, sensitivities
from strongback.remedies.sweeps.store import Store, stored_csv

STAND = Path(__file__).parents[2] / "examples" / "tapping-stand"
MILL = Path(__file__).parents[2] / "examples" / "iron-mill"
NOD = Variable(name="joint.quill and bearings.about_x", low=1e5, high=9e5, log=True)
TILT = Variable(name="joint.quill and bearings.about_y", low=1e5, high=9e5, log=True)


def one(name="a", low=0.0, high=1.0):
    return Variable(name=name, low=low, high=high)


def test_points_of_every_method():
    two = (one("a"), one("b", 1.0, 3.0))
    grid = points(two, "grid", 3)
    assert grid.shape == (9, 2)
    assert grid.min(axis=0).tolist() == [0.0, 1.0]
    assert grid.max(axis=0).tolist() == [1.0, 3.0]
    cube = points(two, "hypercube", 50, seed=3)
    assert sorted(np.floor(cube[:, 0] * 50).astype(int)) == list(range(50))  # every slice once
    assert np.array_equal(points(two, "sobol", 100), points(two, "sobol", 64 + 64)[:100])
    logs = points((Variable(name="k", low=1.0, high=100.0, log=True),), "grid", 3)
    assert logs.ravel().tolist() == pytest.approx([1.0, 10.0, 100.0])


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: one(low=1.0, high=1.0), "is no range"),
        (lambda: Variable(name="k", low=0.0, high=1.0, log=True), "no logarithm"),
        (lambda: points((), "sobol", 8), "nothing varies"),
        (lambda: points((one(),) * 9, "grid", 100), "cannot be swept"),
        (lambda: saltelli((one(),), 100), "power of two"),
    ],
)
def test_ranges_that_are_none(make, words):
    with pytest.raises(LimitError, match=words):
        make()


def test_sensitivities_of_the_ishigami_function():
    """sin x1 + 7 sin² x2 + 0.1 x3⁴ sin x1 over -pi..pi (Ishigami & Homma 1990): first 0.3139, 0.4424, 0; total 0.5576,
    0.4424, 0.2437, from the closed form of its variances (Saltelli et al., Global Sensitivity Analysis, 2008)."""
    three = tuple(one(n, -np.pi, np.pi) for n in ("x1", "x2", "x3"))
    x = saltelli(three, 8192)
    y = np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    found = sensitivities(three, ("y",), y[:, None])
    assert [s.first for s in found] == pytest.approx([0.3139, 0.4424, 0.0], abs=0.02)
    assert [s.total for s in found] == pytest.approx([0.5576, 0.4424, 0.2437], abs=0.02)


def test_a_number_of_the_file_keeps_its_unit_and_all_else_its_place():
    project = read(STAND)
    text = rewritten(project.text, str(project.path), (("section.tube.thickness", 5.0),))
    changed = [b for a, b in zip(project.text.splitlines(), text.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert "5.0 mm" in changed[0]
    assert read_text(text, project.path).machine.name == project.machine.name


def test_points_are_the_machine_solved():
    project = read(MILL)
    names = ("sideways", "jack")
    x = np.array([[1.5e5, 6e5], [4e5, 2e5]])
    found = solved_block(project.text, str(project.path), (NOD.name, TILT.name), names, x)
    machine = project.machine
    joint = next(j for j in machine.joints if j.name == "quill and bearings")
    for row, y in zip(x, found, strict=True):
        factors = {
            Parameter(kind="joint", part=joint.name, mechanism=f"about {axis}"): k / joint.stiffness[3 + i]
            for i, (axis, k) in enumerate(zip("xy", row, strict=True))
        }
        there = scaled(machine, factors)
        pulls = [p for p in there.pulls if p.name in names]
        assert y == pytest.approx(along_pulls(assemble(there, parts_of(there)), pulls), rel=1e-9)


def squares(scale, responses, x):
    return np.column_stack([scale * (x**2).sum(axis=1)] * len(responses))


def fails_at_three(responses, x):
    if np.any(x == 3.0):
        raise MachineError("three is no machine")
    return x[:, :1].copy()


def dies_once(marker, responses, x):
    if np.any(x == 5.0) and not Path(marker).exists():
        Path(marker).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return x[:, :1] * 2.0


def dies_always(responses, x):
    if np.any(x == 5.0):
        os.kill(os.getpid(), signal.SIGKILL)
    return x[:, :1] * 2.0


ABOUT = {"project": "p"}


def test_every_engine_gives_the_same_bits(tmp_path):
    x = points((one("a"), one("b")), "sobol", 1000)
    found = {}
    for engine in ("serial", "threads", "processes"):
        with Store(tmp_path / engine, ABOUT, ("a", "b"), ("y",)) as store:
            run(squares, (2.0, ("y",)), blocks_of(x, 64), store, engine=engine, workers=2)
            found[engine] = store.values()
            assert store.count() == 1000
    assert np.array_equal(found["serial"], found["threads"])
    assert np.array_equal(found["serial"], found["processes"])
    assert np.array_equal(found["serial"][:, 0], 2.0 * (x**2).sum(axis=1))


def test_a_cluster_gives_the_same_bits(tmp_path):
    pytest.importorskip("distributed")
    x = points((one("a"), one("b")), "sobol", 500)
    with Store(tmp_path / "dask", ABOUT, ("a", "b"), ("y",)) as store:
        run(squares, (2.0, ("y",)), blocks_of(x, 64), store, engine="dask", workers=2)
        assert np.array_equal(store.values()[:, 0], 2.0 * (x**2).sum(axis=1))


def test_without_dask_the_engine_says_what_it_needs():
    try:
        import distributed  # noqa: F401
    except ImportError:
        with pytest.raises(EnvironmentFault, match="not installed"), executor("dask", 1):
            pass
    else:
        with (
            pytest.raises(EnvironmentFault, match="does not answer"),
            executor("dask", 1, "tcp://127.0.0.1:9"),
        ):
            pass


def test_points_that_cannot_be_solved_are_kept_with_their_reason(tmp_path):
    x = np.arange(6.0)[:, None]
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        run(fails_at_three, (("y",),), blocks_of(x, 1), store)
        assert store.errors() == ((3, "MachineError: three is no machine"),)
        values = store.values()[:, 0]
    assert np.isnan(values[3])
    assert np.delete(values, 3).tolist() == [0.0, 1.0, 2.0, 4.0, 5.0]


@pytest.mark.slow
def test_a_worker_that_is_killed_is_replaced(tmp_path):
    x = np.arange(12.0)[:, None]
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        given = (str(tmp_path / "marker"), ("y",))
        run(dies_once, given, blocks_of(x, 1), store, engine="processes", workers=2)
        assert store.values()[:, 0].tolist() == (2.0 * x[:, 0]).tolist()
        assert store.errors() == ()


@pytest.mark.slow
def test_a_point_that_kills_is_recorded_and_the_rest_is_solved(tmp_path):
    x = np.arange(9.0)[:, None]
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        run(dies_always, (("y",),), blocks_of(x, 1), store, engine="processes", workers=2)
        assert store.errors() == ((5, "the worker died of it"),)
        values = store.values()[:, 0]
    assert np.isnan(values[5])
    assert np.delete(values, 5).tolist() == [0.0, 2.0, 4.0, 6.0, 8.0, 12.0, 14.0, 16.0]


@pytest.mark.slow
def test_workers_that_cannot_start_blame_no_point(tmp_path):
    """A script without its guard starts itself again in every worker, which ends it: said once, and nothing is kept."""
    script = tmp_path / "bare.py"
    script.write_text(
        "import numpy as np\n"
        "from strongback.remedies.sweeps.run import blocks_of, run\n"
        "from strongback.remedies.sweeps.store import Store\n"
        "with Store('s', {}, ('a',), ('y',)) as store:\n"
        "    run(np.square, (('y',),), blocks_of(np.zeros((3, 1)), 1), store, engine='processes', workers=1)\n"
    )
    found = subprocess.run(
        [sys.executable, str(script)], cwd=tmp_path, capture_output=True, text=True, timeout=300, check=False
    )
    assert "the workers die as soon as they start" in found.stderr
    assert _blocks(tmp_path / "s") == 0


def test_a_sweep_without_any_answer_is_refused(tmp_path):
    with pytest.raises(QuestionError, match="no point of the sweep could be solved"):
        sweep(str(STAND), (Variable(name="section.tube.thickness", low=-3.0, high=-2.0),), count=2)


def test_a_store_takes_up_where_it_was_and_knows_its_sweep(tmp_path):
    x = np.arange(10.0)[:, None]
    blocks = blocks_of(x, 2)
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        run(squares, (1.0, ("y",)), blocks[:3], store)
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        assert store.done() == {0, 1, 2}
        with pytest.raises(EnvironmentFault, match="UNIQUE"):
            store.write(1, 2, blocks[1].x, np.zeros((2, 1)))
        run(squares, (1.0, ("y",)), blocks, store)
        assert store.values()[:, 0].tolist() == (x[:, 0] ** 2).tolist()
    assert stored_csv(tmp_path / "s").splitlines()[:3] == ["point,a,y", "0,0.0,0.0", "1,1.0,1.0"]
    for about, names in (({"project": "q"}, ("a",)), (ABOUT, ("b",))):
        with pytest.raises(QuestionError, match="another sweep"):
            Store(tmp_path / "s", about, names, ("y",))
    (tmp_path / "text").write_text("not a store, but a text that is long enough to be looked at " * 9)
    with pytest.raises(EnvironmentFault, match="cannot be used"):
        Store(tmp_path / "text", ABOUT, ("a",), ("y",))
    with pytest.raises(QuestionError, match="holds no sweep"):
        stored_csv(tmp_path / "nothing")


def test_a_full_disk_loses_nothing_that_was_there(tmp_path):
    x = points((one("a"),), "sobol", 4096)
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        store._base.execute("PRAGMA max_page_count = 18")  # as SQLite says that a disk is full
        with pytest.raises(EnvironmentFault, match="full"):
            run(squares, (1.0, ("y",)), blocks_of(x, 512), store)
        there = store.done()
        assert 0 < len(there) < 8
    with Store(tmp_path / "s", ABOUT, ("a",), ("y",)) as store:
        assert store.done() == there
        run(squares, (1.0, ("y",)), blocks_of(x, 512), store)
        assert np.array_equal(store.values()[:, 0], x[:, 0] ** 2)


def alive(pid):
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are told by /proc")
@pytest.mark.parametrize("engine", ["serial", "processes"])
def test_a_killed_sweep_goes_on_with_nothing_lost_or_doubled(tmp_path, engine):
    """SIGKILL of the parent in the middle; its workers end by themselves, and the rest is solved afterwards."""
    variable = Variable(name="section.tube.thickness", low=2.5, high=5.0)
    whole = sweep(str(STAND), (variable,), count=10, method="grid")
    words = [
        sys.executable,
        "-m",
        "strongback",
        "sweep",
        str(STAND),
        "--vary",
        "section.tube.thickness=2.5..5.0",
    ]
    words += [
        "--points",
        "10",
        "--method",
        "grid",
        "--store",
        str(tmp_path / "s"),
        "--engine",
        engine,
        "--workers",
        "2",
    ]
    environment = {**os.environ, "STRONGBACK_CACHE": str(tmp_path / "cache")}
    with subprocess.Popen(
        words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
    ) as parent:
        limit = time.monotonic() + 120.0
        while time.monotonic() < limit and parent.poll() is None and _blocks(tmp_path / "s") < 2:
            time.sleep(0.05)
        children = Path(f"/proc/{parent.pid}/task/{parent.pid}/children").read_text().split()
        parent.kill()
    there = _blocks(tmp_path / "s")
    assert 2 <= there <= 10
    limit = time.monotonic() + 20.0
    while any(alive(pid) for pid in children) and time.monotonic() < limit:
        time.sleep(0.1)
    assert not any(alive(pid) for pid in children)
    rest = sweep(
        str(STAND), (variable,), count=10, method="grid", store=tmp_path / "s", engine=engine, workers=2
    )
    assert rest.points == 10
    assert np.array_equal(rest.values, whole.values)


def _blocks(path):
    if not path.exists():
        return 0
    try:
        base = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
        found = base.execute("SELECT COUNT(*) FROM block").fetchone()[0]
        base.close()
        return found
    except sqlite3.Error:
        return 0


def test_a_sweep_of_joints_by_command(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = [
        "sweep",
        str(MILL),
        "--vary",
        "joint.quill and bearings.about_y=1e5..9e5 N*m/rad",
        "--points",
        "256",
    ]
    words += ["--sensitivity", "--vary", "joint.quill and bearings.about_x=1e5..9e5", "--pull", "sideways"]
    assert main([*words, "--store", "s.sqlite", "--csv", "s.csv", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["points"] == 4 * 256
    by_name = {s["variable"]: s for s in found["sensitivities"]}
    assert (
        by_name["joint.quill and bearings.about_y"]["total"] > 0.95
    )  # the nod of the quill does nothing sideways
    assert len((tmp_path / "s.csv").read_text().splitlines()) == 1 + 4 * 256
    same = sweep(str(MILL), (TILT, NOD), count=256, sensitivity=True, pull="sideways")
    assert found["spread"][0]["middle_m"] == same.spread[0].middle
    assert main([*words, "--store", "s.sqlite"]) == 0
    assert "Share in the variance" in capsys.readouterr().out
    assert main([*words, "--dry-run"]) == 0
    assert "1,024 points" in capsys.readouterr().out
    assert plan_sweep(str(MILL), (TILT,), count=4096).points == 4096


@pytest.mark.parametrize(
    ("vary", "code", "words"),
    [
        ("joint.bas.about_x=1e5..2e5", 2, "no joint 'bas'"),
        ("section.column.radius=1..2", 2, 'no key "radius"'),
        ("sections.column.x=1..2", 2, "no [sections]"),
        ("joint.base.about_x=2e5..2e5", 3, "is no range"),
        ("joint.base.about_x=1e5..2e5 kg", 2, "kg"),
        ("joint.base.about_x", 2, "write"),
        ("section.bed.stiffness.EA=1..2 N", 2, "keeps its unit"),
    ],
)
def test_slips_of_a_sweep(vary, code, words, capsys):
    assert main(["sweep", str(MILL), "--vary", vary, "--points", "8"]) == code
    assert words in capsys.readouterr().err
