"""Memory for dear steps: results by the hash of their input, kept as plain arrays and text, never as code.

A cache is a folder of files ``<name>.kept``: a line that says what it is, the name, a checksum over name and content, and
the arrays. Nothing in it is believed: a file that is not a plain file, was renamed, changed or cut, or holds numbers that
are not finite counts as absent, with a notice, and is replaced. A write is atomic, so that two runs at once or a kill leave
either the old file or the new one; what a kill leaves beside it is swept by later writes. The checksum finds accidents, not
somebody who may write to your folders and means harm.

The folder is ``$STRONGBACK_CACHE``, or ``strongback`` in the user's cache folder; ``STRONGBACK_CACHE=off`` turns it off.
"""

from __future__ import annotations

import contextlib
import dataclasses
import functools
import hashlib
import io
import os
import stat
import tempfile
import time
import warnings
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeAlias, TypeVar

import numpy as np
import scipy
import shapely
from numpy.typing import NDArray

from strongback._version import __version__

__all__ = ["Arrays", "CacheNotice", "entries", "folder", "key", "load", "save"]

Kept: TypeAlias = NDArray[np.generic]
Arrays: TypeAlias = Mapping[str, Kept]
Result = TypeVar("Result")
MAX_BYTES = 512 << 20  # in all files
MAX_FILES = 2_000
SUFFIX = ".kept"
PART = ".part-"
STALE = 600.0  # a write takes no longer [s]
MAGIC = b"strongback cache 2\n"
_HERE = Path(__file__).parent


class CacheNotice(UserWarning):
    """A file of the cache that cannot be used."""


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
    """The code that makes what is kept, here and in the libraries below: a result outlives no change of its recipe."""
    versions = (
        __version__,
        np.__version__,
        scipy.__version__,
        shapely.__version__,
        shapely.geos_version_string,
    )
    code = hashlib.sha256("|".join(versions).encode())
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


def load(name: str, build: Callable[[dict[str, Kept]], Result]) -> Result | None:
    """What is kept under a name, or None where there is nothing that can be believed.

    Parameters
    ----------
    name : str
        From `key`.
    build : callable
        Makes the result of its arrays, and raises an error where they are not of the kind, shape or size that they
        must be.

    Returns
    -------
    result or None

    Warns
    -----
    CacheNotice
        If there is a file that cannot be used.
    """
    place = folder()
    if place is None:
        return None
    try:
        return build(_arrays(name, _read(place / f"{name}{SUFFIX}")))
    except (FileNotFoundError, NotADirectoryError):
        return None
    except Exception as error:  # bytes from elsewhere: readers of arrays raise whatever they like
        why = str(error).split("\n", maxsplit=1)[0] or type(error).__name__
        text = f"{name}{SUFFIX} in the cache cannot be used ({why[:200]}): found anew"
        warnings.warn(text, CacheNotice, stacklevel=2)
        return None


def save(name: str, arrays: Arrays) -> None:
    """Keep arrays under a name; a cache that cannot be written is no fault.

    Parameters
    ----------
    name : str
        From `key`.
    arrays : mapping of ndarray
        Real numbers or text. Not kept if a number is not finite, or if they are larger than the cache may be.
    """
    place = folder()
    if place is None or not all(_sound(array) for array in arrays.values()):
        return
    buffer = io.BytesIO()
    np.savez(buffer, **dict(arrays))  # type: ignore[arg-type]
    content = buffer.getvalue()
    data = MAGIC + name.encode() + b"\n" + _checksum(name, content) + b"\n" + content
    if len(data) > MAX_BYTES:
        return
    with contextlib.suppress(OSError):
        place.mkdir(parents=True, exist_ok=True)
        _write(place / f"{name}{SUFFIX}", data)
        _sweep(place)


def entries(place: Path) -> list[tuple[float, int, Path]]:
    """Time of writing, bytes and path of every kept file of a folder, oldest first."""
    found = []
    for path in place.glob(f"*{SUFFIX}"):
        with contextlib.suppress(OSError):  # another process may have dropped it
            about = path.lstat()
            found.append((about.st_mtime, about.st_size, path))
    return sorted(found)


def _read(path: Path) -> bytes:
    """Bytes of a plain file of bearable size; a pipe or device is not waited for."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with os.fdopen(handle, "rb") as stream:
        about = os.fstat(stream.fileno())
        if not stat.S_ISREG(about.st_mode):
            raise ValueError("not a plain file")
        if about.st_size > MAX_BYTES:
            raise ValueError(f"{about.st_size:,} bytes are more than the cache may hold")
        return stream.read(MAX_BYTES)


def _arrays(name: str, data: bytes) -> dict[str, Kept]:
    """Arrays in the bytes of a kept file."""
    if not data.startswith(MAGIC):
        raise ValueError("not written by this package")
    own, checksum, content = data[len(MAGIC) :].split(b"\n", maxsplit=2)
    if own != name.encode():
        raise ValueError("it was kept under another name")
    if checksum != _checksum(name, content):
        raise ValueError("its checksum is wrong")
    with np.load(io.BytesIO(content), allow_pickle=False) as kept:
        found = {k: kept[k] for k in kept.files}
    if not all(isinstance(array, np.ndarray) and _sound(array) for array in found.values()):
        raise ValueError("a number in it is not real or not finite")
    return found


def _checksum(name: str, content: bytes) -> bytes:
    return hashlib.sha256(name.encode() + b"\n" + content).hexdigest().encode()


def _sound(array: Kept) -> bool:
    """Whether an array holds finite real numbers or text."""
    return array.dtype.kind in "iuU" or (array.dtype.kind == "f" and bool(np.isfinite(array).all()))


def _write(path: Path, data: bytes) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=PART)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.replace(temporary, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _sweep(place: Path) -> None:
    """Drop the oldest files above the bounds, and what killed runs left half written."""
    now = time.time()
    for part in place.glob(f"{PART}*"):
        with contextlib.suppress(OSError):
            if now - part.lstat().st_mtime > STALE:
                part.unlink()
    files = entries(place)
    count, size = len(files), sum(bytes_ for _, bytes_, _ in files)
    for _, bytes_, path in files:
        if count <= MAX_FILES and size <= MAX_BYTES:
            return
        with contextlib.suppress(OSError):
            path.unlink()
        count, size = count - 1, size - bytes_
