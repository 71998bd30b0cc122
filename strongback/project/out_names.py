"""Names of the files that commands write: made here and nowhere else, so that none leaves its folder or hits another."""

from __future__ import annotations

import itertools
import unicodedata
from collections.abc import Iterable

__all__ = ["out_names"]

LONGEST = (
    80  # bytes of a name in a file name: two of them and a kind stay below the 255 that file systems take
)

Key = tuple[str, ...]


def out_names(kind: str, keys: Iterable[Key | str], suffix: str) -> dict[Key | str, str]:
    """File names for things of a project, one each and all different.

    Parameters
    ----------
    kind : str
        What the files show; starts each name.
    keys : iterable of str or tuple of str
        Names from the project, as they are there. Give all that it has, not those that are drawn today: then a
        file keeps its name whatever else is drawn.
    suffix : str
        Such as ``".png"``.

    Returns
    -------
    dict
        File name by key: letters, digits and single hyphens, never a separator of folders. Two that would be the same,
        also where capitals do not count, are told apart by a number.

    Examples
    --------
    >>> out_names("machine", ["a b", "a-b", "../../x"], ".png")
    {'a b': 'machine-a-b.png', 'a-b': 'machine-a-b-2.png', '../../x': 'machine-x.png'}
    """
    found: dict[Key | str, str] = {}
    taken: set[str] = set()
    for key in keys:
        if key in found:
            continue
        stem = "-".join((kind, *(_plain(part) for part in ((key,) if isinstance(key, str) else key))))
        free = next(
            name
            for name in itertools.chain([stem], (f"{stem}-{i}" for i in itertools.count(2)))
            if name not in taken
        )
        taken.add(free)
        found[key] = f"{free}{suffix}"
    return found


def _plain(name: str) -> str:
    """A name in small letters, digits and single hyphens."""
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    words = "".join(c if c.isalnum() else " " for c in folded).split()
    cut = "-".join(words).encode()[:LONGEST].decode(errors="ignore").strip("-")
    return cut or "unnamed"
