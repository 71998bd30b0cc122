"""How much memory this process may still take, asked before a dear step: a factorisation that runs out of it in the middle
may try for ever with less and less."""

from __future__ import annotations

import sys
from pathlib import Path

from strongback.errors import EnvironmentFault

__all__ = ["free", "require"]

BESIDE = 96 * 2**20  # what arrays and the allocator take beside the step itself [bytes]


def free() -> int | None:
    """Memory that this process may still take [bytes]: what the system has available, within the limit of the address
    space (``ulimit -v``); None where the system does not say.

    Examples
    --------
    >>> room = free()
    >>> room is None or room > 0
    True
    """
    found = [each for each in (_available(), _below_the_limit()) if each is not None]
    return min(found) if found else None


def require(need: int, what: str) -> None:
    """Refuse a step that would need more memory than there is.

    Parameters
    ----------
    need : int
        [bytes]
    what : str
        The step, as a user calls it.

    Raises
    ------
    EnvironmentFault

    Examples
    --------
    >>> require(2**20, "a megabyte")
    """
    room = free()
    if room is not None and need + BESIDE > room:
        raise EnvironmentFault(
            f"{what} needs about {(need + BESIDE) / 2**30:.3g} GiB of memory, {max(room, 0) / 2**30:.3g} GiB are free",
            hint="close other programs, raise the limit (ulimit -v), or ask for a coarser tolerance",
        )


def _available() -> int | None:
    """What the system could give without swapping [bytes]; Linux says so."""
    try:
        for line in Path("/proc/meminfo").read_text(encoding="ascii").splitlines():
            if line.startswith("MemAvailable:"):
                return 1024 * int(line.split()[1])
    except (OSError, ValueError, IndexError):
        return None
    return None


def _below_the_limit() -> int | None:
    """What the limit of the address space leaves [bytes]; None where there is no limit."""
    if sys.platform == "win32":
        return None
    import resource

    limit = resource.getrlimit(resource.RLIMIT_AS)[0]
    if limit == resource.RLIM_INFINITY:
        return None
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    except (OSError, ValueError, IndexError):
        return None
    return limit - pages * resource.getpagesize()
