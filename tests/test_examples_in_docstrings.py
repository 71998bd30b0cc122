"""What the public names lead to has an example in its docstring, too, which the tests run as a doctest."""

from __future__ import annotations

import importlib
import inspect

import pytest

import strongback

LIBRARY = (
    "machine.cases",
    "machine.loads",
    "project.drawing",
    "project.drawing_out",
    "section.apart",
    "section.catalogue",
    "section.second_opinion",
    "section.shapes",
    "section.stress",
    "section.stress_state",
)
"""What a page on the library leads to beside the public names."""

HOMES = sorted(f"strongback.{home}" for home in {*strongback._HOMES.values(), *LIBRARY})
LEAST = 100  # names that are looked at: a test that looks at none says nothing


def named() -> list[tuple[str, str]]:
    """Public names, and the public functions of the modules that hold them."""
    found = {(f"strongback.{home}", name) for name, home in strongback._HOMES.items()}
    for home in HOMES:
        module = importlib.import_module(home)
        for name in getattr(module, "__all__", ()):
            value = getattr(module, name)
            if inspect.isfunction(value) and value.__module__.startswith("strongback."):
                found.add((value.__module__, name))
    return sorted(found)


@pytest.mark.parametrize(("home", "name"), named(), ids=lambda v: v.removeprefix("strongback."))
def test_a_public_name_has_an_example(home, name):
    value = getattr(importlib.import_module(home), name)
    text = inspect.getdoc(value) or ""
    assert "Examples\n--------\n" in text, f"{home}.{name} shows no example"
    assert ">>> " in text.split("Examples\n--------\n")[1], f"the example of {home}.{name} has no line to run"


def test_there_are_names_to_look_at():
    assert len(named()) >= LEAST
