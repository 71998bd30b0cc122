"""Read many changed project files: every one gives a project or a fault of the package, none takes long.

Run: python benchmarks/fuzz_project.py --count 20000 [--seed 1] [--json]
"""

from __future__ import annotations

import argparse
import json
import random
import re
import sys
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from strongback.errors import StrongbackError
from strongback.project import demo_folder, read_text

ROOT = Path(__file__).parents[1]
LONGEST = 2.0  # [s]
TOKENS = (
    *('"', "[", "]", "{", "}", "=", "\n", "'''", '"""', "\\", "#", ",", ".", "é", "\x07", "\r"),
    *(
        "nan",
        "inf",
        "-1",
        "0",
        "1e400",
        "0x1F",
        "true",
        "[]",
        "{}",
        '""',
        "1979-05-27",
        "[1, 2]",
        "[[1, 2], [3, 4], [5, 6]]",
    ),
    *(
        '"rigid"',
        '"free"',
        '"ground"',
        '"1e300 mm"',
        '"-5 mm"',
        '"0 mm"',
        '"1e-30 mm"',
        '"1e-9 N/um"',
        '"1e308 kN/mm"',
    ),
    *(
        "[[section]]\n",
        "[[section.cell]]\n",
        "[[member]]\n",
        "[[joint.play]]\n",
        'name = "x"\n',
        'unit = "m"\n',
    ),
    *(
        'like = "column"\n',
        "closed = true\n",
        "radius = 5\n",
        "thickness = 3\n",
        'fill = "epoxy"\n',
        'origin = "centroid"\n',
    ),
)


def seeds() -> list[tuple[Path, str]]:
    """Project files that read without a fault."""
    files = [*sorted(ROOT.glob("examples/*/project.toml")), demo_folder() / "project.toml"]
    return [(file, file.read_text(encoding="utf-8")) for file in files]


def changed(text: str, draw: random.Random) -> str:
    """A text with one to eight changes."""
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
            values = list(re.finditer(r"(?<== )[^\n#]+", text))
            if values:
                value = draw.choice(values)
                text = text[: value.start()] + token + text[value.end() :]
    return text


def main() -> int:
    """Run and report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    warnings.simplefilter("error")
    draw, files = random.Random(given.seed), seeds()
    found: Counter[str] = Counter()
    slowest = 0.0
    for _ in range(given.count):
        file, text = draw.choice(files)
        text = changed(text, draw)
        start = time.process_time()
        try:
            read_text(text, file)
            found["read"] += 1
        except StrongbackError as error:
            found["refused" if error.exit_code == 3 else "other exit code"] += 1
        except Exception:
            found["traceback"] += 1
            traceback.print_exc()
        slowest = max(slowest, time.process_time() - start)
    wrong = found["traceback"] + found["other exit code"]
    rows = [
        {"name": "changed project files", "value": given.count, "unit": "", "target": "", "met": True},
        {
            "name": "tracebacks or other exit codes",
            "value": wrong,
            "unit": "",
            "target": "0",
            "met": wrong == 0,
        },
        {
            "name": "longest",
            "value": slowest,
            "unit": "s",
            "target": f"<= {LONGEST:g}",
            "met": slowest <= LONGEST,
        },
    ]
    if given.json:
        print(json.dumps(rows))
    else:
        kinds = f"{found['read']:,} read, {found['refused']:,} refused, {wrong} otherwise"
        print(f"{given.count:,} files: {kinds}; longest {slowest:.2f} s")
    return 0 if all(row["met"] for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
