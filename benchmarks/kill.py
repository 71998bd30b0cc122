"""End commands that write at random instants, fail their writes, and run many on one cache: nothing torn, nothing left.

    python benchmarks/kill.py                 ten instants of each command and signal, every write failed once
    python benchmarks/kill.py --count 200
    python benchmarks/kill.py --json          [{name, value, unit, target, met}]

A file counts as torn where it is neither as it was before nor as a run that is left alone writes it. Needs fork and
``/proc``, so Linux.
"""

from __future__ import annotations

import argparse
import contextlib
import errno
import json
import os
import random
import resource
import shutil
import signal
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

from strongback.cli.frame import main as command  # noqa: E402
from strongback.project import demo_folder  # noqa: E402

# Each is run in a folder of its own that holds the demo project as ``mill``.
COMMANDS = {
    "new": ["new", "fresh"],
    "section": ["section", "mill", "--out", "out"],
    "deflect": ["deflect", "mill", "--out", "out"],
    "readings": ["readings", "mill", "--out", "out"],
    "compare": ["compare", "mill", "--out", "out"],
    "calibrate": ["calibrate", "mill", "--out", "out", "--write", "written"],
    "plan": ["plan", "mill", "--out", "out"],
    "export": ["export", "mill", "--pull", "sideways", "--to", "out.vtu"],
}
SIGNALS = {"SIGKILL": {-9}, "SIGTERM": {143, -15}, "SIGINT": {130, -2}}
WRITES = ("fsync", "replace", "chmod", "fdopen")
Files = dict[str, bytes]


def files_of(folder: Path) -> Files:
    """Every file below a folder but those of the project itself."""
    return {
        str(file.relative_to(folder)): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.relative_to(folder).parts[0] != "mill"
    }


def fresh(place: Path) -> Path:
    """A folder with the demo project."""
    folder = Path(tempfile.mkdtemp(dir=place))
    shutil.copytree(demo_folder(), folder / "mill")
    return folder


def started(words: list[str], folder: Path, before: Callable[[], None] = lambda: None) -> int:
    """A command in a child, in a session of its own; the id of its process."""
    child = os.fork()
    if child:
        return child
    code = 99
    with contextlib.suppress(BaseException):
        os.setsid()
        os.chdir(folder)
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nothing, stream)
        before()
        code = command(words)
    os._exit(code)


def ended(child: int) -> int:
    """Its exit code, or less than zero for a signal."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def left_over(session: int) -> int:
    """Processes of a session that are still there after five seconds."""
    for _ in range(50):
        found = 0
        for entry in Path("/proc").glob("[0-9]*/stat"):
            with contextlib.suppress(OSError, ValueError):
                rest = entry.read_text().rpartition(")")[2].split()
                found += int(rest[3]) == session and rest[0] != "Z"
        if not found:
            return 0
        time.sleep(0.1)
    return found


def torn(found: Files, old: Files, new: Files) -> list[str]:
    """Files that are neither old nor new; what was half written beside its place does not count."""
    return [
        name
        for name, data in found.items()
        if not name.endswith(".part") and data not in (old.get(name), new.get(name))
    ]


def killed(place: Path, count: int, draw: random.Random, tally: Counter[str]) -> None:
    """Each command ended by each signal, over an empty folder and over an earlier result."""
    for name, words in COMMANDS.items():
        folder = fresh(place)
        start = time.monotonic()
        if ended(started(words, folder)) != 0:
            raise RuntimeError(f"{name} does not run")
        length, new = time.monotonic() - start, files_of(folder)
        for sign, codes in SIGNALS.items():
            for i in range(count):
                again = fresh(place)
                old: Files = {}
                if i % 2 and name not in {"new", "calibrate"}:  # those refuse to write over a project
                    old = dict.fromkeys(new, b"as it was")
                    for file, data in old.items():
                        (again / file).parent.mkdir(parents=True, exist_ok=True)
                        (again / file).write_bytes(data)
                child = started(words, again)
                time.sleep(draw.uniform(0.0, 1.1 * length))
                with contextlib.suppress(ProcessLookupError):
                    os.kill(child, getattr(signal, sign))
                code = ended(child)
                tally["kills"] += 1
                tally["codes"] += code not in {0, *codes}
                tally["left"] += left_over(child)
                found = files_of(again)
                tally["torn"] += len(torn(found, old, new))
                tally["lost"] += len(old.keys() - found.keys())
                tally["half"] += sign != "SIGKILL" and any(file.endswith(".part") for file in found)
                if code not in {0, *codes}:
                    print(f"{name}, {sign}: exit code {code}", file=sys.stderr)
                shutil.rmtree(again)
        shutil.rmtree(folder)


def nth_fails(n: int) -> Callable[[], None]:
    """Let the n-th call that belongs to a write fail as on a full disk."""

    def patch() -> None:
        left = [n]
        for name in WRITES:
            real = getattr(os, name)

            def call(*args: Any, _real: Callable[..., Any] = real, **given: Any) -> Any:
                left[0] -= 1
                if left[0] == 0:
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                return _real(*args, **given)

            setattr(os, name, call)

    return patch


def full_disk(size: int) -> Callable[[], None]:
    """No file may grow beyond a size: the system refuses the rest of the write."""

    def patch() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return patch


def failed(place: Path, count: int, draw: random.Random, tally: Counter[str]) -> None:
    """Each command with its n-th write failed, and with files that may not grow."""
    for name, words in COMMANDS.items():
        folder = fresh(place)
        ended(started(words, folder))
        new = files_of(folder)
        limits = [full_disk(draw.randrange(1, max(map(len, new.values())))) for _ in range(count)]
        for patch in (*(nth_fails(n) for n in range(1, len(WRITES) * len(new) + 1)), *limits):
            again = fresh(place)
            old: Files = {} if name in {"new", "calibrate"} else dict.fromkeys(new, b"as it was")
            for file, data in old.items():
                (again / file).parent.mkdir(parents=True, exist_ok=True)
                (again / file).write_bytes(data)
            code = ended(started(words, again, patch))
            found = files_of(again)
            tally["failures"] += 1
            # A cache that cannot be written is no fault, so that some failures change nothing.
            tally["fail codes"] += code not in ({5} if found != new else {0, 5})
            tally["fail torn"] += len(torn(found, old, new)) + len(old.keys() - found.keys())
            tally["fail half"] += sum(file.endswith(".part") for file in found)
            if code not in {0, 5}:
                print(f"{name}, write failed: exit code {code}", file=sys.stderr)
            shutil.rmtree(again)
        shutil.rmtree(folder)


def crowd(place: Path, processes: int, tally: Counter[str]) -> None:
    """Many processes that find the same sections at once, all with one cache that is empty at first."""
    os.environ["STRONGBACK_CACHE"] = str(place / "crowded")
    folders = [fresh(place) for _ in range(processes)]
    children = [started(COMMANDS["section"], folder) for folder in folders]
    tally["crowd codes"] += sum(ended(child) != 0 for child in children)
    results = [files_of(folder) for folder in folders]
    tally["crowd differ"] += sum(result != results[0] for result in results)
    tally["crowd half"] += sum(file.name.startswith(".part") for file in (place / "crowded").iterdir())
    last = fresh(place)
    tally["crowd codes"] += ended(started(COMMANDS["section"], last)) != 0
    tally["crowd differ"] += files_of(last) != results[0]


SWEEP = ("section.tube.thickness=2.5..5.0", 12)  # ranges, and steps of the grid


def swept(place: Path, count: int, draw: random.Random, tally: Counter[str]) -> None:
    """Sweeps ended at random instants, by this process and by two, and taken up again: every point once, equal values."""
    project = Path(__file__).parents[1] / "examples" / "tapping-stand"
    vary, steps = SWEEP
    words = ["sweep", str(project), "--vary", vary, "--points", str(steps), "--method", "grid"]
    whole: dict[str, list[tuple[float, ...]]] = {}
    for i in range(count):
        engine = ("serial", "processes")[i % 2]
        own = [*words, "--engine", engine, "--workers", "2"]
        folder = Path(tempfile.mkdtemp(dir=place))
        store = folder / "store"
        if engine not in whole:
            start = time.monotonic()
            if ended(started([*own, "--store", str(store)], folder)) != 0:
                raise RuntimeError("sweep does not run")
            whole[engine], length = points_of(store), time.monotonic() - start
            whole[engine + " time"] = [(length,)]
            store.unlink()
        child = started([*own, "--store", str(store)], folder)
        time.sleep(draw.uniform(0.0, 1.1 * whole[engine + " time"][0][0]))
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        ended(child)
        tally["sweeps"] += 1
        tally["sweep left"] += left_over(child)
        tally["sweep codes"] += ended(started([*own, "--store", str(store)], folder)) != 0
        found = points_of(store)
        tally["sweep lost"] += len(set(whole[engine]) - set(found))
        tally["sweep doubled"] += len(found) - len(set(found))
        tally["sweep differs"] += found != whole["serial"]
        shutil.rmtree(folder)


def points_of(store: Path) -> list[tuple[float, ...]]:
    """Every point of a store with its responses."""
    base = sqlite3.connect(store)
    found = [tuple(row) for row in base.execute("SELECT * FROM point ORDER BY number")]
    base.close()
    return found


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--sweeps", type=int, default=4, help="sweeps ended in the middle; 50 for a release")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=sorted(COMMANDS), help="one command")
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    if given.only:
        for name in COMMANDS.keys() - {given.only, "section"}:
            del COMMANDS[name]
    draw, tally = random.Random(given.seed), Counter[str]()
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        os.environ["STRONGBACK_CACHE"] = str(place / "cache")
        killed(place, given.count, draw, tally)
        failed(place, given.count, draw, tally)
        crowd(place, 16, tally)
        swept(place, given.sweeps, draw, tally)
    zero = {
        "files torn by a kill": "torn",
        "files lost by a kill": "lost",
        "files left half written by Ctrl-C or SIGTERM": "half",
        "processes left five seconds after a kill": "left",
        "exit codes after a kill that are not documented": "codes",
        "files torn or lost by a failed write": "fail torn",
        "files left half written by a failed write": "fail half",
        "exit codes after a failed write that are not documented": "fail codes",
        "16 processes on one cache: commands that failed": "crowd codes",
        "16 processes on one cache: results that differ": "crowd differ",
        "16 processes on one cache: files left half written": "crowd half",
        "sweeps killed and resumed: points lost": "sweep lost",
        "sweeps killed and resumed: points doubled": "sweep doubled",
        "sweeps killed and resumed: values that differ": "sweep differs",
        "sweeps killed: workers left five seconds after": "sweep left",
        "sweeps killed and resumed: exit codes that are not 0": "sweep codes",
    }
    rows = [
        {"name": "kills", "value": tally["kills"], "unit": "", "target": "", "met": True},
        {"name": "sweeps killed", "value": tally["sweeps"], "unit": "", "target": "", "met": True},
        {"name": "failed writes", "value": tally["failures"], "unit": "", "target": "", "met": True},
        *(
            {"name": name, "value": tally[key], "unit": "", "target": "0", "met": not tally[key]}
            for name, key in zero.items()
        ),
    ]
    if given.json:
        print(json.dumps(rows))
    else:
        for row in rows:
            print(f"{row['name']}: {row['value']}{'' if row['met'] else '   NOT MET'}")
    return 0 if all(row["met"] for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
