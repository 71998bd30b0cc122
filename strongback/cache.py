"""Memory for dear steps: results by the hash of their input, kept as plain arrays and text, never as code.

A cache is a folder of ``.npz`` files. A file that cannot be read counts as absent; a write is atomic, so that two runs at
once or a kill leave either the old file or the new one. The folder is ``$STRONGBACK_CACHE``, or ``strongback`` in the
user's cache folder; ``STRONGBACK_CACHE=off`` turns it off.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import hashlib
import io
import os
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from strongback._version import __version__

__all__ = ["Arrays", "folder", "key", "load", "save"]

Arrays = Mapping[str, NDArray[np.generic]]
MAX_FILES = 400
_HERE = Path(__file__).parent


def _plain(value: object) -> str:
    """Text that is equal for equal inputs: values by their fields, floats to the last bit."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = ",".join(f"{f.name}={_plain(getattr(value, f.name))}" for f in dataclasses.fields(value))
        return f"{type(value).__name__}({fields})"
    if isinstance(value, np.ndarray):
        data = np.ascontiguousarray(value)
        return f"array{data.shape}{data.dtype.str}{hashlib.sha256(data.tobytes()).hexdigest()}"
    if isinstance(value, tuple | list):
        return "(" + ",".join(_plain(item) for item in value) + ")"
    if isinstance(value, float | np.floating):
        return float(value).hex()
    if value is None or isinstance(value, str | int | bool | np.integer):
        return repr(value)
    raise TypeError(f"cannot make a key of {type(value).__name__}")


@functools.cache
def _recipe() -> str:
    """Version of this package and of the code that makes what is kept: a result outlives no change of its recipe."""
    code = hashlib.sha256(__version__.encode())
    for module in sorted(file for stage in ("section", "machine") for file in (_HERE / stage).rglob("*.py")):
        code.update(module.name.encode() + module.read_bytes())
    return code.hexdigest()


def key(kind: str, *inputs: object) -> str:
    """Name for a result: hash of what it is, its inputs and the code that makes it.

    Parameters
    ----------
    kind : str
        What is kept, such as ``"section"``.
    *inputs : object
        Frozen values, arrays, numbers, text, or tuples of them.

    Returns
    -------
    str

    Examples
    --------
    >>> key("section", (1.0, 2)) == key("section", (1.0, 2))
    True
    """
    text = f"{kind}|{_recipe()}|{_plain(inputs)}"
    return f"{kind}-{hashlib.sha256(text.encode()).hexdigest()[:32]}"


def folder() -> Path | None:
    """Folder of the cache, or None when it is turned off or there is no home."""
    named = os.environ.get("STRONGBACK_CACHE", "")
    if named.lower() == "off":
        return None
    if named:
        return Path(named)
    base = os.environ.get("XDG_CACHE_HOME", "")
    try:
        return (Path(base) if base else Path.home() / ".cache") / "strongback"
    except RuntimeError:
        return None


def load(name: str) -> dict[str, NDArray[np.generic]] | None:
    """Arrays kept under a name, or None.

    Parameters
    ----------
    name : str
        From `key`.

    Returns
    -------
    dict of ndarray or None
    """
    place = folder()
    if place is None:
        return None
    try:
        data = io.BytesIO((place / f"{name}.npz").read_bytes())
        with np.load(data, allow_pickle=False) as kept:
            return {k: kept[k] for k in kept.files}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def save(name: str, arrays: Arrays) -> None:
    """Keep arrays under a name; a cache that cannot be written is no fault.

    Parameters
    ----------
    name : str
        From `key`.
    arrays : mapping of ndarray
    """
    place = folder()
    if place is None:
        return
    buffer = io.BytesIO()
    np.savez(buffer, **dict(arrays))  # type: ignore[arg-type]
    with contextlib.suppress(OSError):
        place.mkdir(parents=True, exist_ok=True)
        _write(place / f"{name}.npz", buffer.getvalue())
        _trim(place)


def _write(path: Path, data: bytes) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.replace(temporary, path)
    except OSError:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _trim(place: Path) -> None:
    """Drop the oldest files above the bound, so that the cache does not grow for ever."""
    files = sorted(place.glob("*.npz"), key=lambda f: f.stat().st_mtime)
    for old in files[:-MAX_FILES]:
        with contextlib.suppress(OSError):
            old.unlink()
