"""What `calibrate` and `compare` say of a log with a slip. All data invented."""

import csv
import io
import json
import shutil

import pytest

from strongback.cli.frame import main
from strongback.project import demo_folder


def run(capsys, *words):
    code = main(list(words))
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def folder(tmp_path):
    """The demo with its column a beam and what the gauge at the top of the column read turned round."""
    there = tmp_path / "mill"
    shutil.copytree(demo_folder(), there)
    file = there / "readings-before.csv"
    lines = file.read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(lines[1:], delimiter=";"))
    gauge, numbers = rows[0].index("gauge"), [i for i, name in enumerate(rows[0]) if "[um]" in name]
    for row in rows[1:]:
        if row[gauge] == "top x":
            for i in numbers:
                row[i] = str(-int(row[i]))
    out = io.StringIO()
    csv.writer(out, delimiter=";", lineterminator="\n").writerows(rows)
    file.write_text(f"{lines[0]}\n{out.getvalue()}", encoding="utf-8")
    return there


@pytest.mark.slow
def test_a_sign_is_named_in_json_and_in_words(capsys, folder):
    code, out, _ = run(capsys, "calibrate", str(folder), "--json")
    assert code == 0
    found = json.loads(out)
    assert found["probability"] == found["fit"]["probability"] < 1e-6
    assert found["fit"]["discrepancy_m"] > 0.0
    assert any("explains the readings badly" in mark for mark in found["fit"]["marks"])
    first = found["suspects"][0]
    assert first["what"] == '"top x" were read with the other sign'
    assert first["group"] == 1
    assert first["evidence"] > 4.0
    assert first["probability_then"] > 0.05
    code, out, _ = run(capsys, "calibrate", str(folder), "--suspects", "--no-figures")
    words = " ".join(out.split())
    assert "What looks wrong" in words
    assert 'if "top x" were read with the other sign, the fit would have a probability' in words
    assert "What may be wrong, tried one by one" in words


@pytest.mark.slow
def test_taking_the_rest_as_exact_says_so(capsys, folder):
    code, out, _ = run(capsys, "calibrate", str(folder), "--exact-rest", "--no-figures")
    assert code == 0
    assert "the intervals are too narrow" in " ".join(out.split())
    assert "What looks wrong" not in out


def test_compare_says_which_gauge_moves_the_other_way(capsys, folder):
    code, out, _ = run(capsys, "compare", str(folder), "--no-figures")
    assert code == 0
    assert '"top x" moves against what is predicted under "column top sideways"' in " ".join(out.split())
    code, out, _ = run(capsys, "compare", str(folder), "--json")
    assert json.loads(out)["slips"] == [
        '"top x" moves against what is predicted under "column top sideways": is its sign noted the other way?'
    ]
