"""Files that are written whole or not at all."""

from __future__ import annotations

import contextlib
import glob
import os
import tempfile
import time
from pathlib import Path

from strongback.errors import EnvironmentFault

__all__ = ["write_bytes", "write_text"]

PART = ".part"
STALE = 600.0  # a write takes no longer [s]


def write_bytes(path: str | Path, data: bytes) -> None:
    """Write a file so that a reader finds the old one or the new one, never a part.

    Parameters
    ----------
    path : str or Path
        Its folder must exist.
    data : bytes

    Raises
    ------
    EnvironmentFault
        If it cannot be written; the old file is left as it was.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_bytes(Path(folder) / "a.bin", b"abc")
    ...     (Path(folder) / "a.bin").stat().st_size
    3
    """
    path = Path(path)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=_prefix(path), suffix=PART)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, _mode(path))
        os.replace(temporary, path)
        _sweep(path)
    except OSError as error:
        raise EnvironmentFault(
            f'"{path}" cannot be written: {error.strerror or error}',
            hint="choose another place, or make room",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            if temporary:
                os.unlink(temporary)


def _prefix(path: Path) -> str:
    """How the name of a file begins while it is being written."""
    return f".{path.name[:40]}."


def _sweep(path: Path) -> None:
    """Drop what killed runs left beside a file, half written."""
    for part in path.parent.glob(f"{glob.escape(_prefix(path))}*{PART}"):
        with contextlib.suppress(OSError):
            if time.time() - part.lstat().st_mtime > STALE:
                part.unlink()


def _mode(path: Path) -> int:
    """Permissions of the file that is replaced, or those that a new file gets."""
    with contextlib.suppress(OSError):
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def write_text(path: str | Path, text: str) -> None:
    """Write text as UTF-8 with the line ends that it has; see `write_bytes`.

    Parameters
    ----------
    path : str or Path
    text : str

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     write_text(Path(folder) / "a.txt", "µm")
    ...     (Path(folder) / "a.txt").read_bytes()
    b'\xc2\xb5m'
    """
    write_bytes(path, text.encode("utf-8"))
