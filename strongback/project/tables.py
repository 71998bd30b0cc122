"""Tables of a project file as typed rows that know where they stand, and the way to add kinds of table.

Another stage adds its own table to the project file in three steps, in a module of its own:

1. a model, with a description for every key::

       class ReadingsTable(Table):
           name: Annotated[Name, Field(description="name of the set")]
           file: Annotated[FilePath, Field(description="table of readings, a path under the folder")]

   `Table` refuses unknown keys. `LengthTable` adds ``unit`` for bare lengths. The types of numbers, points, directions
   and names stand in `strongback.project.quantities`.

2. a builder from its rows to a frozen value, called after the machine has been built and only if the machine has no
   fault. It reports what is wrong through the reader and goes on; it never raises for a fault of the file::

       def build(reader: Reader, rows: Sequence[Row[ReadingsTable]], machine: Machine) -> Readings | None:
           for row in rows:
               source = reader.open((*row.path, "file"), row.table.file)     # None: reported already
               if row.table.name in seen:
                   reader.fault((*row.path, "name"), "the name is there twice", "give each a name of its own")

   `Reader.fault` takes the path of the key, such as ``("readings", 0, "file")``, and finds line and column itself.
   For a place in a file that the project names, use ``reader.faults.add(source, offset, message, hint, width=...)``.

3. an `Extra` in the tuple `EXTRAS` of `strongback.project.extras`, and the keys in docs/file.md (a test compares them).

What the builder returns is found in ``Project.extras[key]``; it is called with no rows where the file has no such table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Annotated, Any, ClassVar, Generic, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from strongback import units
from strongback.checks import closest
from strongback.errors import ProjectError, UnitError
from strongback.machine.values import Machine
from strongback.project.document import Document, Path
from strongback.project.quantities import fail
from strongback.project.source import Faults, Source, nearest, read_source, within

__all__ = ["Extra", "LengthTable", "Reader", "Row", "Table", "keys_of"]


MOST_FAULTS = 100  # reported of one table
MOST_ROWS = 1_000  # tables of a kind


class Table(BaseModel):
    """A table of a project file. Unknown keys are faults; values are not converted but by their own type."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)


def _length_unit(value: Any) -> str:
    if not isinstance(value, str):
        fail("must be a unit of length in quotes", 'such as unit = "mm"')
    try:
        dimension = units.dimension_of(value)
    except UnitError as error:
        fail(error.message, error.hint)
    if dimension != "length":
        fail("must be a unit of length", 'such as unit = "mm"; write other quantities with their own unit')
    return value


class LengthTable(Table):
    """A table that may give one unit for its bare lengths, and hand it on to the tables in it."""

    shares_unit: ClassVar[tuple[str, ...]] = ()
    unit: Annotated[
        str | None,
        BeforeValidator(_length_unit),
        Field(description="unit of every length in this table that is written as a bare number"),
    ] = None

    @model_validator(mode="before")
    @classmethod
    def _hand_on(cls, data: Any) -> Any:
        if not isinstance(data, dict) or not isinstance(data.get("unit"), str):
            return data
        given = {"unit": data["unit"]}
        shared = {key: _handed(data[key], given) for key in cls.shares_unit if key in data}
        return data | shared


def _handed(value: Any, given: dict[str, Any]) -> Any:
    if isinstance(value, list):
        return [_handed(row, given) for row in value]
    return given | value if isinstance(value, dict) else value


T = TypeVar("T", bound=Table)
T_co = TypeVar("T_co", bound=Table, covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row(Generic[T_co]):
    """A table that passed its own checks.

    Parameters
    ----------
    table : Table
    path : tuple
        Where it stands in the document, such as ``("member", 0)``.
    """

    table: T_co
    path: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """A kind of table that another stage adds.

    Parameters
    ----------
    key : str
        Name of the table in the file.
    model : type of Table
    many : bool
        Whether the file writes it ``[[key]]``, once for each.
    build : callable
        ``build(reader, rows, machine)``; see the module.
    """

    key: str
    model: type[Table]
    many: bool
    build: Callable[[Reader, Sequence[Row[Any]], Machine], Any]


class Reader:
    """A document on its way to values: typed rows, files beside it, and the faults found so far.

    Parameters
    ----------
    document : Document
    folder : pathlib.Path
        Folder of the project file.
    faults : Faults
    """

    def __init__(self, document: Document, folder: FilePath, faults: Faults) -> None:
        self.document = document
        self.folder = folder
        self.faults = faults
        self._opened: dict[str, Source] = {}

    def fault(self, path: Path, message: str, hint: str = "", *, at_key: bool = False) -> None:
        """Report a fault of a key or of a table.

        Parameters
        ----------
        path : tuple
            The key, an item of a list, or a table.
        message : str
            Starting with "must", "has", "is" or "does" it follows the key and the value as written.
        hint : str
        at_key : bool
            Mark the key and not its value.
        """
        self._add(path, self._worded(path, message), hint, key=at_key)

    def _worded(self, path: Path, message: str) -> str:
        while path not in self.document.places and len(path) > 1:
            path = path[:-1]
        label = self.label(path)
        keys = [part for part in path[self._depth(path) :] if isinstance(part, str)]
        if not keys:
            return f"{label}: {message}" if label else message
        own = f"{label}: {keys[-1]}" if label else keys[-1]
        if message.startswith(("must", "has ", "is ", "does ")):
            written = " ".join(self.document.written(path).split())
            shown = written if len(written) <= 40 else written[:37] + "..."
            return f"{own} = {shown} {message}"
        return f"{own}: {message}"

    def _depth(self, path: Path) -> int:
        """How much of a path leads to the innermost table that has a heading or a name."""
        depth, data = 0, self.document.data
        for i, part in enumerate(path):
            try:
                data = data[part]  # type: ignore[index]
            except (KeyError, IndexError, TypeError):
                break
            if isinstance(data, dict) and (i == 0 or isinstance(part, int)):
                depth = i + 1
        return depth

    def label(self, path: Path) -> str:
        """The table of a path in words, such as ``section "column", cell "left"``."""
        words: list[str] = []
        data: Any = self.document.data
        for i, part in enumerate(path):
            try:
                data = data[part]
            except (KeyError, IndexError, TypeError):
                break
            if not isinstance(data, dict):
                continue
            name = data.get("name")
            known = f'"{name[:40]}"' if isinstance(name, str) and name else ""
            if isinstance(part, int):
                words.append(f"{path[i - 1]} {known or part + 1}")
            elif i == 0:
                words.append(f"{part}")
        return ", ".join(words)

    def open(self, path: Path, relative: str) -> Source | None:
        """Read a file that a key names; None if that failed, which is then reported.

        Parameters
        ----------
        path : tuple
            The key.
        relative : str
            What it says.
        """
        if relative in self._opened:
            return self._opened[relative]
        try:
            source = read_source(within(self.folder, relative), relative)
        except ProjectError as error:
            self.fault(path, error.message, error.hint)
            return None
        self._opened[relative] = source
        return source

    def rows(self, key: str, model: type[T], *, many: bool = True) -> list[Row[T]]:
        """Check the tables of a kind.

        Parameters
        ----------
        key : str
        model : type of Table
        many : bool

        Returns
        -------
        list of Row
            Those without a fault; the others are reported.
        """
        data = self.document.data.get(key)
        if data is None:
            return []
        if many and not (isinstance(data, list) and all(isinstance(row, dict) for row in data)):
            self.fault_at_key((key,), f"{key}: one table for each is due", f"write [[{key}]]")
            return []
        if not many and not isinstance(data, dict):
            self.fault_at_key((key,), f"{key}: a single table is due", f"write [{key}]")
            return []
        if many and len(data) > MOST_ROWS:
            self.fault_at_key((key,), f"{len(data):,} tables [[{key}]]", f"at most {MOST_ROWS:,} are read")
            return []
        paths: list[Path] = [(key, i) for i in range(len(data))] if many else [(key,)]
        found = [
            self._row(path, model, row) for path, row in zip(paths, data if many else [data], strict=True)
        ]
        return [row for row in found if row is not None]

    def _row(self, path: Path, model: type[T], data: Mapping[str, Any]) -> Row[T] | None:
        try:
            return Row(table=model.model_validate(data), path=path)
        except ValidationError as error:
            faults = error.errors(include_url=False)
        bad_units = {fault["loc"][:-1] for fault in faults if fault["loc"][-1:] == ("unit",)}
        without_unit: set[tuple[str | int, ...]] = set()
        for fault in faults[:MOST_FAULTS]:
            if fault.get("ctx", {}).get("text") == "has no unit":
                field = _field_of(fault["loc"])
                if field in without_unit or any(field[: len(loc)] == loc for loc in bad_units):
                    continue  # said once for a list
                without_unit.add(field)
            self._report(path, model, fault)
        return None

    def _report(self, path: Path, model: type[Table], fault: Any) -> None:
        kind, loc = fault["type"], tuple(fault["loc"])
        context = fault.get("ctx", {})
        whole = (*path, *loc)
        if kind == "fault":
            item = context.get("item")
            whole = whole if item is None else (*whole, item)
            self.fault(whole, context["text"], context["hint"])
        elif kind == "extra_forbidden":
            known = keys_of(_inner(model, loc[:-1]))
            table = whole[:-1]
            label = self.label(table)
            message = f'unknown key "{str(loc[-1])[:40]}"'
            self.fault_at_key(
                whole, f"{label}: {message}" if label else message, nearest(str(loc[-1]), known, "keys")
            )
        elif kind == "missing":
            field = _inner(model, loc[:-1]).model_fields.get(str(loc[-1]))
            hint = f"give {field.description}" if field is not None and field.description else ""
            label = self.label(whole[:-1])
            self.fault_at_table(whole[:-1], f"{label}: {loc[-1]} is missing", hint)
        else:
            self.fault(whole, *_plain_words(kind, context, fault.get("input")))

    def fault_at_key(self, path: Path, message: str, hint: str = "") -> None:
        """Report a fault in full words at a key."""
        self._add(path, message, hint, key=True)

    def fault_at_table(self, path: Path, message: str, hint: str = "") -> None:
        """Report a fault in full words at the heading of a table."""
        self._add(path, message, hint, key=False)

    def _add(self, path: Path, message: str, hint: str, *, key: bool) -> None:
        place = self.document.place(path)
        if place is None:
            self.faults.add(self.document.source, None, message, hint)
            return
        start, end = (place.key, place.key_end) if key else (place.start, place.end)
        line_end = self.document.source.text.find("\n", start)
        width = min(end, line_end if line_end >= 0 else end) - start
        self.faults.add(self.document.source, start, message, hint, width=width)


def _field_of(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """A location without the numbers of items behind its last key."""
    while loc and not isinstance(loc[-1], str):
        loc = loc[:-1]
    return loc


def keys_of(model: type[Table]) -> list[str]:
    """Keys of a table as the file writes them."""
    return [field.alias or name for name, field in model.model_fields.items()]


def _inner(model: type[Table], loc: tuple[str | int, ...]) -> type[Table]:
    """Model of the table that a location leads to."""
    for part in loc:
        if not isinstance(part, str) or part not in model.model_fields:
            continue
        inner = _table_in(model.model_fields[part].annotation)
        model = inner or model
    return model


def _table_in(annotation: Any) -> type[Table] | None:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    for argument in getattr(annotation, "__args__", ()):
        found = _table_in(argument)
        if found is not None:
            return found
    return None


_WORDS = {
    "string_type": ("must be text", "put it in quotes"),
    "list_type": ("must be a list", "write [ ..., ... ]"),
    "bool_type": ("must be true or false", ""),
    "model_type": ("must be a table", "write { key = value, ... }"),
    "dict_type": ("must be a table", "write { key = value, ... }"),
    "model_attributes_type": ("must be a table", "write { key = value, ... }"),
}


def _plain_words(kind: str, context: Mapping[str, Any], value: Any) -> tuple[str, str]:
    if kind == "literal_error":
        expected = str(context.get("expected", "")).replace("'", '"')
        near = closest(str(value), expected.replace(" or ", ", ").replace('"', "").split(", "))
        return f"must be {expected}", f'did you mean "{near}"?' if near else ""
    if kind in ("too_short", "too_long"):
        least, most = context.get("min_length"), context.get("max_length")
        return f"must have {f'at least {least}' if kind == 'too_short' else f'at most {most}'} items", ""
    return _WORDS.get(kind, ("must be of another kind", ""))
