"""``strongback doctor``"""

from __future__ import annotations

import os
import platform
import sys
from importlib import metadata
from typing import Any

from strongback.cli.common import emit_json, json_option, say, subcommand, width

NEEDED = (
    "numpy",
    "scipy",
    "shapely",
    "matplotlib",
    "click",
    "pydantic",
    "sectionproperties",
)
EXTRAS = {
    "scikit-image": "outlines from a scan",
    "ezdxf": "outlines from DXF",
    "svgelements": "outlines from SVG",
    "pypardiso": "faster solution of bodies",
    "distributed": "sweeps on several computers",
}


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def _cache() -> dict[str, Any]:
    from strongback import cache

    place = cache.folder()
    if place is None:
        return {"folder": None, "files": 0, "bytes": 0, "writable": False}
    files = cache.entries(place)
    parent = next(p for p in (place, *place.parents) if p.exists())
    size = sum(size for _, size, _ in files)
    return {"folder": str(place), "files": len(files), "bytes": size, "writable": os.access(parent, os.W_OK)}


def facts() -> dict[str, Any]:
    """Versions, extras, mesher, cache and encoding of this computer."""
    from strongback.section._triangle import available

    return {
        "strongback": _version("strongback"),
        "python": platform.python_version(),
        "system": platform.platform(terse=True),
        "needed": {name: _version(name) for name in NEEDED},
        "extras": {name: _version(name) for name in EXTRAS},
        "c_mesher": available(),
        "cache": _cache(),
        "encoding": sys.stdout.encoding,
    }


@subcommand("doctor", "strongback doctor")
@json_option
def command(as_json: bool) -> None:
    """Versions, meshers, and the cache of solved sections."""
    found = facts()
    if as_json:
        emit_json("doctor", found)
        return
    from strongback.views.tables import Column, table

    missing = [name for name, version in found["needed"].items() if version is None]
    say(f"missing: {', '.join(missing)}" if missing else "everything that is needed is here")
    say()
    rows = [("strongback", found["strongback"] or "from the tree", "")]
    rows += [("python", found["python"], found["system"])]
    rows += [(name, version or "missing", "") for name, version in found["needed"].items()]
    rows += [(name, version or "-", EXTRAS[name]) for name, version in found["extras"].items()]
    say(table([Column("package"), Column("version"), Column("for")], rows, width=width()))
    say()
    if found["c_mesher"]:
        say("mesher: built-in; another one, in C, is here for second opinions")
    else:
        say("mesher: built-in; another one, in C, cannot be imported here and is not needed")
    say(_about_cache(found["cache"]))


def _about_cache(cache: dict[str, Any]) -> str:
    if cache["folder"] is None:
        return "cache: off, every section is solved anew"
    state = "" if cache["writable"] else ", not writable: every section is solved anew"
    return f"cache: {cache['folder']}, {cache['files']} results, {cache['bytes'] / 1e6:.1f} MB{state}"
