"""The demo fits one screen and answers four questions."""

from __future__ import annotations

import pytest

from strongback.cli.frame import main


@pytest.mark.parametrize("columns", [60, 80])
def test_one_screen(columns, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", str(columns))
    assert main(["demo"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert columns < 80 or len(lines) <= 40
    assert max(len(line) for line in lines if str(tmp_path) not in line) <= columns
    text = " ".join(" ".join(lines).split())
    for words in (
        "Weakest:",
        "Causes:",
        "Do first:",
        "pictures in",
        "All data of this machine are invented.",
    ):
        assert words in text
    assert "side tilt" in text  # joints by the motion that is seen
