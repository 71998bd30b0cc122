"""Files that are written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from strongback.errors import EnvironmentFault

__all__ = ["write_bytes", "write_text"]


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
    """
    path = Path(path)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".part")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, _mode(path))
        os.replace(temporary, path)
    except OSError as error:
        raise EnvironmentFault(
            f'"{path}" cannot be written: {error.strerror or error}',
            hint="choose another place, or make room",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            if temporary:
                os.unlink(temporary)


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
    """
    write_bytes(path, text.encode("utf-8"))
