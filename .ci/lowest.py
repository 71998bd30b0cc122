"""Print the lowest versions that pyproject.toml allows, for pip: what is needed to run the tests."""

import tomllib
from pathlib import Path

ALSO = (
    "pyparsing<3.3",
)  # newer ones warn of names that the lowest matplotlib uses, and the tests take warnings for faults

project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
for wanted in (*project["dependencies"], *project["optional-dependencies"]["test"]):
    name, version = wanted.split(">=")
    print(f"{name}=={version}")
print(*ALSO, sep="\n")
