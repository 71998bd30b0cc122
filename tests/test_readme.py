"""README, DEVELOPERS and every `--help` example are run as they are printed."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from strongback.cli.frame import COMMANDS, EXIT_CODES, main, strongback

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.M | re.S)


def run(line: str) -> int:
    words = shlex.split(line)
    assert words[0] == "strongback"
    return main(words[1:])


def available() -> list[str]:
    return strongback.list_commands(None)  # type: ignore[arg-type]


@pytest.fixture
def in_empty_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_two_commands_of_one_line_each_set_everything_up():
    lines = re.findall(r"^python3 -m venv .*$", README, re.M)
    assert len(lines) == 2
    assert lines[0].endswith("strongback demo")
    assert "pytest" in lines[1]
    for line in lines:
        assert line.startswith("python3 -m venv .venv && .venv/bin/python -m pip install -q ")


@pytest.mark.slow
def test_shell_lines_run_in_order(in_empty_folder, capsys):
    lines = [line for block in blocks("sh") for line in block.splitlines() if line.startswith("strongback ")]
    assert len(lines) >= 5
    for line in lines:
        assert run(line) == 0, f"{line}\n{capsys.readouterr().err}"
    assert list((in_empty_folder / "strongback-out").glob("*.png"))


def test_file_in_brief_is_a_project(in_empty_folder, capsys):
    (toml,) = blocks("toml")
    (in_empty_folder / "project.toml").write_text(toml, encoding="utf-8")
    assert run("strongback deflect . --no-figures") == 0
    assert "sideways" in capsys.readouterr().out


def test_python_code_runs(in_empty_folder, capsys):
    assert run("strongback new my-machine") == 0
    (code,) = blocks("python")
    path = in_empty_folder / "snippet.py"
    path.write_text(code, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(path)], capture_output=True, text=True, check=True, cwd=in_empty_folder
    )
    assert "Budget(" in done.stdout


@pytest.mark.slow
@pytest.mark.parametrize("name", available())
def test_examples_of_help_run_as_printed(name, in_empty_folder, capsys):
    assert main([name, "--help"]) == 0
    text = capsys.readouterr().out
    assert COMMANDS[name].split(",")[0].split(":")[0] in " ".join(text.split())
    lines = [
        line.strip()
        for line in text.split("Example:")[1].splitlines()
        if line.strip().startswith("strongback")
    ]
    assert lines
    for line in lines:
        assert run(line) == 0, f"{line}\n{capsys.readouterr().err}"


def test_commands_and_exit_codes_are_those_of_the_readme(capsys):
    for name in available():
        assert f"| `{name}` |" in README
    assert re.findall(r"^\| `(\w+)` \|", README, re.M) == available(), (
        "the table lists what is there, in its order"
    )
    sentence = re.search(r"Exit codes: (.*?)\. `", README, re.S)
    assert sentence is not None
    assert [int(n) for n in re.findall(r"\b(\d+)\s[a-z]", sentence.group(1))] == list(EXIT_CODES)


def test_files_that_are_linked_are_there():
    for text, folder in ((README, ROOT), ((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"), ROOT)):
        for target in re.findall(r"\]\(([^)#:]+)\)", text):
            assert (folder / target).exists(), target
