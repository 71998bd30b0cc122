"""Read and solve hostile input: every piece gives a result or a fault of the package, none takes long, none gives NaN.

    python benchmarks/fuzz.py                      3,000 cases, 500 of them projects that read and are then solved
    python benchmarks/fuzz.py --count 100000       half of them solved
    python benchmarks/fuzz.py --guided 60          coverage-guided for a minute, where atheris is installed
    python benchmarks/fuzz.py --json               [{name, value, unit, target, met}]
    python benchmarks/fuzz.py --keep FOLDER        keep what went wrong as files

Kinds: changed project files, changed tables of rings, random outlines, changed logs of readings, changed entries of the
cache. The same seed gives the same cases.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import math
import os
import random
import re
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(variable, "1")

import numpy as np  # noqa: E402

from strongback import cache  # noqa: E402
from strongback.ask.deflect import deflect  # noqa: E402
from strongback.cli.frame import main as command  # noqa: E402
from strongback.errors import StrongbackError  # noqa: E402
from strongback.materials import material  # noqa: E402
from strongback.project import demo_folder, read_text  # noqa: E402
from strongback.section.outline import from_midline, from_rings, rounded  # noqa: E402
from strongback.section.store import solved_section  # noqa: E402

ROOT = Path(__file__).parents[1]
READ, SOLVED = 2.0, 30.0  # longest [s of the processor]
CODES = {1, 2, 3, 4, 5}
TOKENS = (
    *(
        '"',
        "[",
        "]",
        "{",
        "}",
        "=",
        "\n",
        "'''",
        '"""',
        "\\",
        "#",
        ",",
        ".",
        ";",
        "é",
        "\x07",
        "\r",
        "\x00",
        "\ufeff",
    ),
    *("nan", "inf", "-1", "0", "1e400", "1e-400", "0x1F", "true", "[]", "{}", '""', "1979-05-27", "[1, 2]"),
    *(
        '"rigid"',
        '"free"',
        '"ground"',
        '"1e300 mm"',
        '"-5 mm"',
        '"0 mm"',
        '"1e-30 mm"',
        '"1e-9 N/um"',
        '"+x"',
    ),
    *('"1e308 kN/mm"', '"1e14 N/um"', '"0, 0, 0 mm"', '"1e5 kg"', '"1e-300 kg"', '"120 deg"', '"1e9 N"'),
    *(
        "[[section]]\n",
        "[[section.cell]]\n",
        "[[member]]\n",
        "[[joint.play]]\n",
        'name = "x"\n',
        'unit = "m"\n',
    ),
    *('like = "column"\n', "closed = true\n", "radius = 5\n", "thickness = 3\n", 'fill = "epoxy"\n'),
)
NUMBER = re.compile(r"(?<![\w.])-?\d+(\.\d+)?([eE][+-]?\d+)?(?![\w.])")
FACTORS = (0.0, -1.0, 0.5, 0.9, 1.1, 2.0, 10.0, 1e-3, 1e3, 1e-6, 1e6, 1e-9, 1e9)

Draw = random.Random


@dataclass(slots=True)
class Tally:
    """What became of the cases."""

    cases: int = 0
    solved: int = 0
    refused: int = 0
    slowest_read: float = 0.0
    slowest_solved: float = 0.0
    wrong: list[tuple[str, str, str]] = field(default_factory=list)  # kind, what, input

    def add(self, other: Tally) -> None:
        self.cases += other.cases
        self.solved += other.solved
        self.refused += other.refused
        self.slowest_read = max(self.slowest_read, other.slowest_read)
        self.slowest_solved = max(self.slowest_solved, other.slowest_solved)
        self.wrong += other.wrong


def projects() -> list[tuple[Path, str]]:
    """Project files that read without a fault."""
    files = [*sorted(ROOT.glob("examples/*/project.toml")), demo_folder() / "project.toml"]
    return [(file, file.read_text(encoding="utf-8")) for file in files]


def quick_projects() -> list[tuple[Path, str]]:
    """Project files that are solved in a moment: beams alone."""
    small = ROOT / "tests" / "project" / "good.toml"
    stand = ROOT / "examples" / "tapping-stand" / "project.toml"
    found = [(file, file.read_text(encoding="utf-8")) for file in (small, stand)]
    starter = ROOT / "strongback" / "project" / "starter.toml"
    return [*found, (starter.with_name("project.toml"), starter.read_text(encoding="utf-8"))]


def changed(text: str, draw: Draw) -> str:
    """A text with one to eight changes, whatever they do to it."""
    for _ in range(draw.choice([1, 1, 1, 2, 3, 8])):
        at = draw.randrange(len(text) + 1)
        size = draw.choice([1, 2, 5, 20, 200])
        kind = draw.randrange(6)
        token = draw.choice(TOKENS)
        if kind == 0:
            text = text[:at] + text[at + size :]
        elif kind == 1:
            text = text[:at] + token + text[at:]
        elif kind == 2:
            text = text[:at] + token + text[at + size :]
        elif kind == 3:
            start = draw.randrange(len(text) + 1)
            text = text[:at] + text[start : start + size] + text[at:]
        elif kind == 4:
            lines = text.split("\n")
            i, j = draw.randrange(len(lines)), draw.randrange(len(lines))
            lines[i], lines[j] = lines[j], lines[i]
            text = "\n".join(lines)
        else:
            text = _other_value(text, draw, token)
    return text


def _other_value(text: str, draw: Draw, token: str) -> str:
    values = list(re.finditer(r"(?<== )[^\n#]+", text))
    if not values:
        return text
    value = draw.choice(values)
    return text[: value.start()] + token + text[value.end() :]


def other_numbers(text: str, draw: Draw) -> str:
    """A text with one to five numbers that are others, or a line less: most are still machines."""
    for _ in range(draw.choice([1, 1, 2, 3, 5])):
        if draw.random() < 0.1:
            lines = text.split("\n")
            del lines[draw.randrange(len(lines))]
            text = "\n".join(lines)
            continue
        found = list(NUMBER.finditer(text))
        if not found:
            return text
        hit = draw.choice(found)
        value = float(hit.group()) * draw.choice(FACTORS)
        text = f"{text[: hit.start()]}{value:.12g}{text[hit.end() :]}"
    return text


def not_numbers(value: Any, path: str = "") -> Iterator[str]:
    """Where a result holds NaN; infinite may be right, such as a stiffness without give."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from not_numbers(item, f"{path}.{key}")
    elif isinstance(value, list | tuple):
        for i, item in enumerate(value):
            yield from not_numbers(item, f"{path}[{i}]")
    elif hasattr(value, "tolist"):
        yield from not_numbers(value.tolist(), path)
    elif isinstance(value, float) and math.isnan(value):
        yield path


def tried(kind: str, text: str, call: Callable[[], Any], tally: Tally, *, solving: bool = False) -> Any:
    """Run a case and keep the count; the result, or None where it was refused or went wrong."""
    tally.cases += 1
    longest = SOLVED if solving else READ
    start = time.process_time()
    found = None
    try:
        signal.setitimer(signal.ITIMER_PROF, 2.0 * longest)  # of the processor: a busy computer hangs nothing
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", UserWarning)  # notes of the package
            warnings.simplefilter("error", RuntimeWarning)  # of numpy: how numbers that are none begin
            found = call()
        missing = next(not_numbers(found), None) if solving else None
        if missing is not None:
            tally.wrong.append((kind, f"NaN at {missing}", text))
        tally.solved += solving
    except StrongbackError as error:
        tally.refused += 1
        if error.exit_code not in CODES:
            tally.wrong.append((kind, f"exit code {error.exit_code}", text))
    except Exception:
        tally.wrong.append((kind, traceback.format_exc(), text))
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    taken = time.process_time() - start
    if taken > longest:
        tally.wrong.append((kind, f"{taken:.1f} s", text))
    if solving:
        tally.slowest_solved = max(tally.slowest_solved, taken)
    else:
        tally.slowest_read = max(tally.slowest_read, taken)
    return found


def hangs(number: int, frame: object) -> None:
    """End a case that goes on and on."""
    raise TimeoutError("goes on and on")


def solve_project(read: Any) -> dict[str, Any]:
    """All that ``deflect`` finds."""
    return deflect(read).to_dict() if read.machine.pulls else {}


def one_project(draw: Draw, tally: Tally) -> None:
    file, text = draw.choice(projects())
    text = changed(text, draw)
    tried("project", text, lambda: read_text(text, file), tally)


def one_solved(draw: Draw, tally: Tally) -> None:
    """A project that reads and is then solved; those that do not read count as read only."""
    for _ in range(50):
        file, text = draw.choice(quick_projects())
        text = other_numbers(text, draw)
        read = tried("project", text, lambda file=file, text=text: read_text(text, file), tally)
        if read is not None and read.machine.pulls:
            tally.cases -= 1  # the same case
            tried("solved project", text, lambda read=read: solve_project(read), tally, solving=True)
            return


ROWS = "ring;x [mm];y [mm];radius [mm]\nouter;0,5;0;2\nouter;60;0;\nouter;60;80;\nouter;0;80;\nin;5;5;\nin;9;5;1\nin;9;9;\n"


def one_table(draw: Draw, tally: Tally) -> None:
    text = (changed if draw.random() < 0.7 else other_numbers)(ROWS, draw)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "outline.csv"
        file.write_bytes(text.encode("utf-8", "surrogatepass"))
        words = ["section", "--outline", str(file), "--material", "steel", "--unit", "mm", "--json"]
        tried("table of rings", text, lambda: by_command(words), tally)


def one_log(draw: Draw, tally: Tally) -> None:
    log = next(iter(sorted(demo_folder().glob("readings*.csv")))).read_text(encoding="utf-8")
    text = (changed if draw.random() < 0.7 else other_numbers)(log, draw)
    with tempfile.TemporaryDirectory() as folder:
        for file in demo_folder().iterdir():
            if file.is_file():
                (Path(folder) / file.name).write_bytes(file.read_bytes())
        for file in Path(folder).glob("readings*.csv"):
            file.write_bytes(text.encode("utf-8", "surrogatepass"))
        tried("log of readings", text, lambda: by_command(["readings", folder, "--json"]), tally)


def by_command(words: list[str]) -> Any:
    """What a command prints; a code that is not documented is an error, and so is NaN."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = command(words)
    if code not in {0, *CODES}:
        raise RuntimeError(f"exit code {code}: {err.getvalue()}")
    return json.loads(out.getvalue()) if code == 0 else None


def one_outline(draw: Draw, tally: Tally) -> None:
    """A ring or a mid-line of random points; those that are an outline are solved."""
    spread = draw.choice([0.05, 0.05, 0.05, 0.3, 1e-3])
    odd = (0.0, 1e-9, 1e3, -1e-7, 0.03, 0.03 + 1e-9, math.nan, math.inf)

    def number() -> float:
        return (
            draw.choice(odd)
            if draw.random() < 0.03
            else round(draw.uniform(-spread, spread), draw.choice([2, 3, 9]))
        )

    points = [(number(), number()) for _ in range(draw.randrange(2, 12))]
    if draw.random() < 0.5:
        points.sort(key=lambda p: math.atan2(p[1], p[0]) if math.isfinite(p[0] + p[1]) else 0.0)
    radius, thickness = abs(number()) * draw.choice([0.0, 0.1, 1.0]), abs(number())
    closed, line = draw.random() < 0.5, draw.random() < 0.4
    steel = material("steel")

    def made() -> Any:
        if line:
            return from_midline("random", steel, points, thickness, closed=closed, radius=radius)
        return from_rings("random", steel, rounded(points, radius) if radius else points)

    text = f"line={line} closed={closed} thickness={thickness!r} radius={radius!r} {points!r}"
    outline = tried("outline", text, made, tally)
    if outline is None:
        return

    def solved() -> list[float]:
        found = solved_section(outline)
        s = found.stiffness
        numbers = [s.EA, s.EIx, s.EIy, s.EIxy, s.GJ, s.EGamma, s.kGAx, s.kGAy, *s.centroid, *s.shear_centre]
        if not found.GJ_lower <= s.GJ <= found.GJ_upper or min(s.EA, s.GJ, s.kGAx, s.kGAy) <= 0.0:
            raise RuntimeError(f"not a section: {numbers}")
        return numbers

    tally.cases -= 1
    tried("solved outline", text, solved, tally, solving=True)


def one_entry(draw: Draw, tally: Tally) -> None:
    """A changed file of the cache is never believed: what comes back is what was kept, or nothing."""
    kept = {
        "a": np.array([draw.random() for _ in range(draw.randrange(1, 20))]),
        "names": np.array(["base", "é"]),
    }
    cache.save("entry", kept)
    place = cache.folder()
    assert place is not None
    file = place / f"entry{cache.SUFFIX}"
    data = bytearray(file.read_bytes())
    for _ in range(draw.choice([1, 1, 2, 8])):
        at = draw.randrange(len(data))
        kind = draw.randrange(4)
        if kind == 0:
            data[at] ^= 1 << draw.randrange(8)
        elif kind == 1:
            del data[at : at + draw.choice([1, 20, 400])]
        elif kind == 2:
            data[at:at] = draw.randbytes(draw.choice([1, 20]))
        else:
            data[at:at] = data[: draw.randrange(len(data) + 1)]
        if not data:
            break
    original = file.read_bytes()
    file.write_bytes(bytes(data))

    def read() -> None:
        found = cache.load("entry", dict)
        if found is not None and (bytes(data) != original):
            raise RuntimeError("a changed entry was believed")

    tried("cache", bytes(data).hex(), read, tally)


# Of a hundred cases that are not for solving.
SHARES = ((one_project, 60), (one_table, 15), (one_outline, 15), (one_log, 5), (one_entry, 5))


def run(seed: int, count: int, solved: int) -> Tally:
    """Some cases of a seed."""
    signal.signal(signal.SIGPROF, hangs)
    draw, tally = Draw(seed), Tally()
    kinds, weights = zip(*SHARES, strict=True)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["STRONGBACK_CACHE"] = folder
        for _ in range(solved):
            one_solved(draw, tally)
        while tally.cases < count:
            draw.choices(kinds, weights)[0](draw, tally)
    return tally


def guided(seconds: float, tally: Tally) -> None:
    """Coverage-guided changes of project files and tables by atheris, in a process of its own that it ends."""
    import atheris

    texts = [text.encode() for _, text in quick_projects()] + [ROWS.encode()]
    end = time.monotonic() + seconds
    file = ROOT / "tests" / "project" / "good.toml"

    def once(data: bytes) -> None:
        if time.monotonic() > end or len(tally.wrong) > 20:
            raise KeyboardInterrupt
        text = data.decode("utf-8", "replace")
        read = tried("guided project", text, lambda: read_text(text, file), tally)
        if read is not None and read.machine.pulls and tally.solved < tally.cases / 20:
            tried("guided solution", text, lambda: solve_project(read), tally, solving=True)

    with tempfile.TemporaryDirectory() as folder:
        os.environ["STRONGBACK_CACHE"] = str(Path(folder) / "cache")
        corpus = Path(folder) / "corpus"
        corpus.mkdir()
        for i, text in enumerate(texts):
            (corpus / str(i)).write_bytes(text)
        atheris.instrument_all()
        atheris.Setup([sys.argv[0], "-max_len=8192", "-timeout=60", "-rss_limit_mb=0", str(corpus)], once)
        with contextlib.suppress(KeyboardInterrupt):
            atheris.Fuzz()


def rows_of(tally: Tally, asked: int) -> list[dict[str, Any]]:
    """The report."""

    def row(name: str, value: float, unit: str, target: str, met: bool) -> dict[str, Any]:
        return {"name": name, "value": value, "unit": unit, "target": target, "met": met}

    slow = [what for _, what, _ in tally.wrong if what.endswith(" s")]
    nan = [what for _, what, _ in tally.wrong if what.startswith("NaN")]
    other = len(tally.wrong) - len(slow) - len(nan)
    return [
        row("hostile cases", tally.cases, "", f">= {asked}", tally.cases >= asked),
        row("of them solved", tally.solved, "", "", True),
        row("of them refused with a message", tally.refused, "", "", True),
        row("tracebacks, codes that are not documented, changed entries believed", other, "", "0", not other),
        row("results with NaN", len(nan), "", "0", not nan),
        row("longest to read", tally.slowest_read, "s", f"<= {READ:g}", tally.slowest_read <= READ),
        row("longest to solve", tally.slowest_solved, "s", f"<= {SOLVED:g}", tally.slowest_solved <= SOLVED),
    ]


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=3_000)
    parser.add_argument(
        "--solved", type=int, help="projects to solve; default: 500, and half from 100,000 on"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--guided", type=float, default=0.0, metavar="SECONDS")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    solved = (
        given.solved if given.solved is not None else (given.count // 2 if given.count >= 100_000 else 500)
    )
    tally = Tally()
    if given.guided:
        guided(given.guided, tally)
        given.count = 0
    else:
        pieces = max(given.jobs, math.ceil(given.count / 250))
        parts = [
            (given.seed * 1_000 + i, given.count // pieces + 1, min(solved, given.count) // pieces)
            for i in range(pieces)
        ]
        with ProcessPoolExecutor(given.jobs) as pool:
            for found in pool.map(run, *zip(*parts, strict=True)):
                tally.add(found)
                if not given.json:
                    print(f"{tally.cases:,} cases, {len(tally.wrong)} wrong", file=sys.stderr, flush=True)
    for i, (kind, what, text) in enumerate(tally.wrong):
        print(f"{kind}: {what.strip().splitlines()[-1]}", file=sys.stderr)
        if given.keep is not None:
            given.keep.mkdir(parents=True, exist_ok=True)
            (given.keep / f"{i}.txt").write_text(
                f"{kind}\n{what}\n----\n{text}", encoding="utf-8", errors="replace"
            )
    rows = rows_of(tally, given.count)
    if given.json:
        print(json.dumps(rows))
    else:
        for row in rows:
            mark = "" if row["met"] else "   NOT MET"
            print(f"{row['name']}: {row['value']:g} {row['unit']} {row['target']}{mark}")
    return 0 if all(row["met"] for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
