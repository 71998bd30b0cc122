"""What every answer can do: tell itself as plain data, as text, as HTML, as pictures.

An answer is a frozen value. Its data come from the metadata of its fields and from nothing else; its text and pictures come
from a view, found by the name of its type and loaded at first use. A command prints the same answer: the two cannot differ.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, TypeAlias

from strongback.errors import QuestionError

if TYPE_CHECKING:
    from strongback.views.sheet import Sheet
    from strongback.views.style import Picture
    from strongback.views.table import Table

__all__ = ["HIDDEN", "INLINE", "Answer", "Telling", "Told", "plain", "told"]

Metadata = Mapping[str, Any]
Telling: TypeAlias = tuple[tuple[str, str] | tuple[str, str, tuple[str, ...]], ...]

VIEWS: Mapping[str, tuple[str, str]] = {
    "Calibrated": ("readings_text", "readings_figures"),
    "Checked": ("check_text", "check_plot"),
    "Compared": ("readings_text", "readings_figures"),
    "ComplianceMap": ("map_text", "map_plot"),
    "Deflected": ("deflection_text", "deflection_figures"),
    "Explained": ("readings_text", "readings_figures"),
    "Exported": ("export", "export"),
    "Filled": ("fill_text", "fill_plot"),
    "Loaded": ("forces_table", "forces_figures"),
    "RingDown": ("ringdown_text", "ringdown_figures"),
    "NextReadings": ("readings_text", "readings_figures"),
    "Reduced": ("readings_text", "readings_figures"),
    "Sections": ("profiles_text", "profiles_figures"),
    "Vibrated": ("vibration_text", "vibration_figures"),
    "WeighedOptions": ("options_text", "options_figures"),
    "Planned": ("sweep_text", ""),
    "Swept": ("sweep_text", ""),
}
"""Of each type of answer: the modules of `strongback.views` that hold its ``sheet``, and its ``figure`` and ``figures``."""


def told(
    key: str = "",
    *,
    of: str = "",
    each: tuple[str, ...] = (),
    mapping: bool = False,
    absent: bool = False,
    blank: bool = False,
) -> Metadata:
    """Metadata of a field: how it is told as plain data. A field without any is told by its own name.

    Parameters
    ----------
    key : str
        With its SI unit, such as ``"total_m"``. Default: the name of the field.
    of : str
        What of the value is told, such as its ``"name"``.
    each : tuple of str
        Of a sequence of tuples: a key for each of their items.
    mapping : bool
        Of a sequence of pairs: whether it is told as a mapping; an empty one is null.
    absent : bool
        Whether the key is left out where the value is None.
    blank : bool
        Whether an empty text is told as null.

    Returns
    -------
    mapping
        For `dataclasses.field`.

    Examples
    --------
    >>> told("total_m")["told"]
    'total_m'
    """
    return {"told": key, "of": of, "each": each, "mapping": mapping, "absent": absent, "blank": blank}


HIDDEN: Metadata = {"hidden": True}
"""Metadata of a field that is not told: what the answer was made of."""

INLINE: Metadata = {"inline": True}
"""Metadata of a field that is a value itself, whose keys are told among those of its owner."""


def plain(value: Any) -> Any:
    """Plain data: text, numbers, booleans, None, lists and mappings.

    Parameters
    ----------
    value : object
        A value whose fields have metadata is told by them; arrays become lists; a number that is not finite becomes None,
        since JSON has none.

    Examples
    --------
    >>> plain({"a": (1, float("inf")), "b": Path("x")})
    {'a': [1, None], 'b': 'x'}
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _fields(value)
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return str(value) if isinstance(value, Path) else value


def _fields(value: Any) -> dict[str, Any]:
    """A value by the metadata of its fields, then by what it derives from them (`Told.TOLD`), or by `Told.ONLY` alone."""
    only: Telling | None = getattr(value, "ONLY", None)
    found: dict[str, Any] = {}
    for each in dataclasses.fields(value) if only is None else ():
        how, own = each.metadata, getattr(value, each.name)
        if how.get("hidden") or each.name.startswith("_"):
            continue
        if how.get("inline"):
            found |= {} if own is None else plain(own)
        elif not (own is None and how.get("absent")):
            found[how.get("told") or each.name] = _one(own, how)
    rows: Telling = getattr(value, "TOLD", ()) if only is None else only
    for key, path, *keys in rows:
        own = value
        for name in path.split("."):
            own = None if own is None else getattr(own, name)
        if key == "*":
            found |= {} if own is None else plain(own)
        elif not (own is None and key.endswith("?")):
            found[key.removesuffix("?")] = plain(own) if own is None or not keys else _rows(own, keys[0])
    return found


def _one(own: Any, how: Metadata) -> Any:
    if how.get("blank") and own == "":
        return None
    if how.get("of"):
        own = getattr(own, how["of"])
    if how.get("mapping"):
        return _rows(own, ()) or None
    return _rows(own, how["each"]) if how.get("each") else plain(own)


def _rows(own: Any, keys: tuple[str, ...]) -> Any:
    """A sequence of tuples as mappings with these keys, the keys of a value itself under ``*``; pairs as one mapping."""
    if not keys:
        return {str(key): plain(item) for key, item in own}
    found = []
    for items in own:
        row: dict[str, Any] = {}
        for key, item in zip(keys, items, strict=True):
            row |= plain(item) if key == "*" else {key: plain(item)}
        found.append(row)
    return found


class Told:
    """A value that tells what it derives from its fields, too."""

    __slots__ = ()

    TOLD: ClassVar[Telling] = ()
    """Key and property, which may be one of a field (``"recipe.cost"``). A key that ends in ``?`` is left out where that is
    None; what is told under ``*`` is told among its own keys. A third item tells a sequence of tuples with these keys, and
    pairs, where it is empty, as one mapping. A value that has `ONLY` is told by that alone, none of its fields.
    """


class Answer(Told):
    """The answer to one question, the same for the command and for Python.

    `str` is the command's text, `to_dict` the object of its ``--json`` but for the schema and what was done on the way.

    Examples
    --------
    >>> import strongback as sb
    >>> from strongback.machine.sample import post
    >>> found = sb.deflect(post())
    >>> isinstance(found, sb.Answer), found.to_dict()["machine"]
    (True, 'post')
    """

    __slots__ = ()

    def to_dict(self) -> dict[str, Any]:
        """Plain data with SI units in the keys, as ``--json`` prints it."""
        return _fields(self)

    def sheet(self) -> Sheet:
        """Headings, words and tables, in the order in which they are read."""
        found: Sheet = self._view(0).sheet(self)
        return found

    def tables(self) -> tuple[Table, ...]:
        """The tables of its text, each of them as CSV, HTML, Markdown or a frame of pandas."""
        return self.sheet().tables

    def text(self, width: int = 80) -> str:
        """What the command prints.

        Parameters
        ----------
        width : int
            Columns to print in.
        """
        return self.sheet().whole(width)

    def figure(self, **how: Any) -> Picture:
        """The picture that says most; it shows itself in a notebook.

        Parameters
        ----------
        **how
            Of the picture, such as ``pull="sideways"``; see its function in `strongback.views`.
        """
        found: Picture = self._view(1).figure(self, **how)
        return found

    def figures(self, **how: Any) -> Iterator[tuple[str, Picture]]:
        """All pictures of the command, each with the name of its file."""
        return iter(self._view(1).figures(self, **how))

    def _view(self, which: int) -> Any:
        from importlib import import_module

        name = VIEWS[type(self).__name__][which]
        if not name:
            raise QuestionError(f"there is no picture of {type(self).__name__}", hint="take its tables()")
        return import_module(f"strongback.views.{name}")

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self.text().splitlines()[0]!r})"

    def _repr_html_(self) -> str:
        return self.sheet().html()
