"""The layer table of DEVELOPERS.md, held against the syntax trees: imports go down, stand at the top, and make no ring."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "strongback"
LAYERS = (
    (
        "__init__",
        "_version",
        "answer",
        "errors",
        "checks",
        "plausible",
        "units",
        "materials",
        "cache",
        "memory",
    ),
    ("section",),
    ("machine",),
    ("vibration",),
    ("change",),
    ("evidence",),
    ("remedies",),
    ("project",),
    ("ask",),
    ("views",),
    ("cli", "__main__"),
)
RANK = {name: rank for rank, names in enumerate(LAYERS) for name in names}

# Imports inside a function, with the reason. Commands are free to: each imports what it needs when it is called.
HIDDEN = {
    ("strongback.__init__", "importlib"): "public names are loaded at their first use",
    ("strongback.answer", "importlib"): "an answer finds its view when it is first shown",
    ("strongback.evidence.uncertainty", "scipy.special"): "`check` reads readings but asks for no interval",
    ("strongback.memory", "resource"): "not there on every system",
    ("strongback.section._triangle_child", "resource"): "not there on every system",
}
# Loaded when they are used, wherever that is.
HEAVY = {"distributed", "sectionproperties", "skimage", "PIL", "cytriangle", "pandas", "ezdxf", "svgelements"}
WRITERS = {"matplotlib", "mpl_toolkits"}  # for views only
FORBIDDEN_MODULES = {"pickle", "marshal", "shelve", "dill", "joblib", "yaml", "importlib.util"}
FORBIDDEN_CALLS = {"eval", "exec", "compile", "__import__"}


def modules() -> dict[str, Path]:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = ("strongback", *path.relative_to(PACKAGE).with_suffix("").parts)
        found[".".join(parts)] = path
    return found


MODULES = modules()
TREES = {name: ast.parse(path.read_text(encoding="utf-8")) for name, path in MODULES.items()}


def layer_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "__init__"


def type_checking_nodes(tree: ast.Module) -> set[int]:
    """Statements that only a type checker sees."""
    hidden: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            hidden |= {id(inner) for child in node.body for inner in ast.walk(child)}
    return hidden


def names_of(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        assert node.level == 0, "imports are absolute"
        base = node.module or ""
        inner = [f"{base}.{alias.name}" for alias in node.names]
        return [n if n in MODULES or f"{n}.__init__" in MODULES else base for n in inner]
    return []


def imports(name: str, *, top_only: bool = False) -> list[str]:
    """Modules that a module imports at run time."""
    tree = TREES[name]
    skipped = type_checking_nodes(tree)
    nodes = ast.walk(tree)
    if top_only:
        inside = {
            id(n)
            for f in ast.walk(tree)
            if isinstance(f, ast.FunctionDef)
            for b in f.body
            for n in ast.walk(b)
        }
        skipped |= inside
    return [found for node in nodes if id(node) not in skipped for found in names_of(node)]


def hidden_imports(name: str) -> list[str]:
    tree = TREES[name]
    return [
        found
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef)
        for node in ast.walk(function)
        for found in names_of(node)
    ]


@pytest.mark.parametrize("name", MODULES)
def test_imports_go_down(name):
    own = RANK[layer_of(name)]
    for found in imports(name):
        if found.split(".")[0] == "strongback" and found != "strongback":
            assert RANK[layer_of(found)] <= own, f"{name} imports {found}, which stands above it"


@pytest.mark.parametrize("name", MODULES)
def test_only_the_room_of_parts_asks_whether_a_member_is_a_beam_or_a_body(name):
    if name.startswith(("strongback.machine.part.", "strongback.project.")):
        return
    for node in ast.walk(TREES[name]):
        if isinstance(node, ast.Compare):
            asked = ast.unparse(node)
            assert not re.search(r"\.model\b", asked), f"{name}:{node.lineno} asks {asked}"


def test_every_module_has_a_layer():
    assert {layer_of(name) for name in MODULES} <= set(RANK)


def test_the_table_sees_an_upward_import():
    """The check itself: an upward import in a made-up module is found."""
    tree = ast.parse("from strongback.machine.loop import assemble\n")
    (found,) = [n for node in ast.walk(tree) for n in names_of(node)]
    assert RANK[layer_of(found)] > RANK[layer_of("strongback.section.values")]


def graph() -> dict[str, set[str]]:
    links: dict[str, set[str]] = {}
    for name in MODULES:
        own = name.removesuffix(".__init__")
        found = set()
        for target in imports(name, top_only=True):
            if target.split(".")[0] == "strongback":
                found.add(target.removesuffix(".__init__"))
        links.setdefault(own, set()).update(found - {own, "strongback"})
    return links


def test_no_ring_of_imports():
    links, done, path = graph(), set(), []

    def visit(name: str) -> None:
        if name in path:
            ring = " -> ".join([*path[path.index(name) :], name])
            pytest.fail(f"ring of imports: {ring}")
        if name in done or name not in links:
            return
        path.append(name)
        for target in sorted(links[name]):
            visit(target)
        path.pop()
        done.add(name)

    for name in sorted(links):
        visit(name)


@pytest.mark.parametrize("name", [n for n in MODULES if layer_of(n) not in ("cli", "__main__")])
def test_no_import_is_hidden(name):
    for found in hidden_imports(name):
        if found.split(".")[0] in HEAVY:
            continue
        assert (name, found) in HIDDEN, f"{name} imports {found} inside a function"


def test_no_listed_exception_is_stale():
    for name, found in HIDDEN:
        assert found in hidden_imports(name), f"{name} no longer hides {found}"


@pytest.mark.parametrize("name", [n for n in MODULES if layer_of(n) != "views"])
def test_only_views_import_writers_of_figures_and_meshes(name):
    for found in imports(name):
        assert found.split(".")[0] not in WRITERS, f"{name} imports {found}"


@pytest.mark.parametrize("name", MODULES)
def test_no_code_is_made_of_data(name):
    for found in imports(name):
        assert found not in FORBIDDEN_MODULES or (name, found) == ("strongback.cli.frame", "importlib.util")
    for node in ast.walk(TREES[name]):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in FORBIDDEN_CALLS, f"{name}:{node.lineno} calls {node.func.id}"
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            assert called not in ("os.system", "os.popen"), f"{name}:{node.lineno} calls {called}"
            keywords = {k.arg: ast.unparse(k.value) for k in node.keywords}
            assert keywords.get("shell", "False") == "False", f"{name}:{node.lineno} opens a shell"
            assert keywords.get("allow_pickle", "False") == "False", f"{name}:{node.lineno} reads pickles"


@pytest.mark.parametrize("name", [n for n in MODULES if layer_of(n) not in ("cli", "views", "__main__")])
def test_nothing_below_views_prints(name):
    if name.endswith("._triangle_child"):
        pytest.skip("a process of its own, which answers on its stdout")
    for node in ast.walk(TREES[name]):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id != "print", f"{name}:{node.lineno} prints"


HEAVY_AT_START = "{'numpy', 'scipy', 'matplotlib', 'sectionproperties', 'shapely', 'pydantic'}"


@pytest.mark.parametrize("start", ["import strongback", "import strongback.cli", "HELP"])
def test_the_start_is_light(start):
    if start == "HELP":
        start = "from strongback.cli.frame import main; main(['--help'])"
    code = f"import sys; {start}; print(sorted({HEAVY_AT_START} & set(sys.modules)), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


@pytest.mark.parametrize("stage", ["section", "machine"])
def test_engines_do_not_load_figures_or_second_meshers(stage):
    """Importing every module of an engine loads none of the heavy optional libraries."""
    names = [
        n.removesuffix(".__init__") for n in MODULES if layer_of(n) == stage and not n.endswith("_child")
    ]
    heavy = "{'cytriangle', 'sectionproperties', 'skimage', 'matplotlib'}"
    code = f"import sys\nfor n in {names!r}: __import__(n)\nprint(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
