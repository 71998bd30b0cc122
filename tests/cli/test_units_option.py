"""--units inch: no metric figure is left in what a command says, the numbers are the same, and JSON stays SI."""

import json
import re

import pytest

from strongback.cli.frame import main

METRIC = re.compile(r"kN m²|\bmm\b|mm⁴|µm|\b\d[\d.]* N\b|\bN m\b|\bMPa\b|\bkg/m\b")
CASES = {
    "demo": ["demo"],
    "deflect": ["deflect", "demo", "--pull", "sideways", "--no-figures"],
    "map": ["deflect", "demo", "--map", "--no-figures"],
    "section": ["section", "demo", "--no-figures"],
    "loads": ["loads", "demo", "--no-figures"],
}


def said(capsys, *words):
    assert main(list(words)) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("name", CASES)
def test_nothing_metric_is_left(name, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    text = said(capsys, *CASES[name], "--units", "inch")
    assert re.search(r"\b(?:thou|lb/ft)\b", text)
    assert METRIC.findall(text) == []
    assert not re.search(r"\bthou\b", said(capsys, *CASES[name]))  # it ends with the command


def test_the_numbers_are_the_same(capsys):
    words = ["deflect", "demo", "--pull", "sideways", "--no-figures"]
    own = json.loads(said(capsys, *words, "--json", "--units", "inch"))
    assert own == json.loads(said(capsys, *words, "--json"))
    row = next(
        line for line in said(capsys, *words, "--units", "inch").splitlines() if line.startswith("sideways")
    )
    gives = float(row.split()[3])
    assert gives == pytest.approx(own["pulls"][0]["total_m"] / 25.4e-6, abs=0.005)  # 1 thou is 25.4 µm
    assert row.split()[1:3] == ["45.0", "lbf"]  # 200 N, NIST SP 811: 1 lbf = 4.448222 N


def test_the_file_may_ask_for_inches_and_the_option_overrules_it(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    said(capsys, "new", "mine")
    file = tmp_path / "mine" / "project.toml"
    file.write_text(file.read_text().replace("[machine]\n", '[machine]\nunits = "inch"\n'))
    assert "lbf/thou" in said(capsys, "check", "mine", "--no-figures")
    assert "N/µm" in said(capsys, "check", "mine", "--no-figures", "--units", "mm")
    assert "N/µm" in said(capsys, "check", "demo", "--no-figures")
    file.write_text(file.read_text().replace('units = "inch"', 'units = "furlong"'))
    assert main(["check", "mine", "--no-figures"]) == 3
    assert "units" in capsys.readouterr().err


def test_figures_carry_the_unit():
    import strongback as sb
    from strongback.project import read
    from strongback.views.budget_plot import budget_figure
    from strongback.views.quantity import shown_in

    machine = read("demo").machine
    loop = sb.assemble(machine, sb.parts_of(machine))
    budgets = [sb.budget(loop, machine.pulls[0])]
    with shown_in("inch"):
        axes = budget_figure(machine, budgets).axes[0]
    plain = budget_figure(machine, budgets).axes[0]
    assert axes.get_xlabel().endswith("[thou/lbf]")
    ends = [max(p.get_x() + p.get_width() for p in a.patches if p.get_gid()) for a in (axes, plain)]
    assert ends[0] / ends[1] == pytest.approx(4.448222 / 25.4, rel=1e-6)  # NIST SP 811
