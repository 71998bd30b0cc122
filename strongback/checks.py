"""What a value must be, checked where it is made: words, shapes, finite numbers; one 'did you mean' for file and code.

Each function returns the value in the form in which it is kept (tuples of floats), or raises the error of its stage with
the owner, the field and what to write instead.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, get_args

from strongback.errors import InputError, MachineError

__all__ = [
    "closest",
    "each",
    "frozen",
    "instance",
    "nearest",
    "number",
    "numbers",
    "one_of",
    "pairs",
    "text",
    "words_of",
]

# Words that people bring along for one that is known here; used only where the second is among the known ones.
SAME = {
    "fixed": "held",
    "clamped": "held",
    "built-in": "held",
    "open": "free",
    "continuous": "joined",
    "glued": "bonded",
    "bond": "bonded",
    "loose": "sliding",
    "slip": "sliding",
    "solid": "body",
    "shell": "body",
    "line": "beam",
}


def nearest(name: str, known: Iterable[str], what: str = "known", *, cutoff: float = 0.55) -> str:
    """A hint for a name that is not there.

    Parameters
    ----------
    name : str
        As given.
    known : iterable of str
    what : str
        Head of the list that is told where nothing is near.
    cutoff : float
        Least likeness of the two words, 0 to 1.

    Returns
    -------
    str

    Examples
    --------
    >>> nearest("colum", ["bed", "column"])
    'did you mean "column"?'
    >>> nearest("fixed", ["held", "free", "joined"])
    'did you mean "held"?'
    >>> nearest("quill", ["bed", "column"], "parts")
    'parts: bed, column'
    """
    names = list(dict.fromkeys(k for k in known if k))
    close = closest(name, names, cutoff)
    if close:
        return f'did you mean "{close}"?'
    if not names:
        return f"{what}: none"
    more = f" and {len(names) - 12} more" if len(names) > 12 else ""
    return f"{what}: " + ", ".join(names[:12]) + more


def closest(name: str, known: Sequence[str], cutoff: float = 0.55) -> str:
    """The known word that was meant, or nothing.

    Examples
    --------
    >>> closest("deflekt", ["deflect", "demo"])
    'deflect'
    """
    low = name[:80].lower()
    same = {k.lower(): k for k in known}.get(low) or (SAME[low] if SAME.get(low) in known else "")
    near = [same] if same else difflib.get_close_matches(name[:80], known, n=1, cutoff=cutoff)
    return near[0] if near else ""


def words_of(literal: Any) -> tuple[str, ...]:
    """The words of a Literal, also of one that stands in a union.

    Examples
    --------
    >>> from typing import Literal
    >>> words_of(Literal["held", "free"])
    ('held', 'free')
    """
    found: list[str] = []
    for argument in get_args(literal):
        found += [argument] if isinstance(argument, str) else words_of(argument)
    return tuple(found)


def frozen(value: object, **fields: object) -> None:
    """Put checked fields into a frozen value; for use in its ``__post_init__``."""
    for name, field in fields.items():
        object.__setattr__(value, name, field)


def shown(value: object) -> str:
    """A value as it is quoted in a message, cut short."""
    written = " ".join((f'"{value}"' if isinstance(value, str) else repr(value)).split())
    return written if len(written) <= 60 else written[:57] + "..."


def one_of(
    where: str, field: str, value: object, words: Sequence[str], error: type[InputError] = MachineError
) -> str:
    """One of some words.

    Parameters
    ----------
    where : str
        Owner of the field, such as ``'member "column"'``.
    field : str
    value : object
    words : sequence of str
    error : type of InputError

    Returns
    -------
    str

    Raises
    ------
    InputError
        Of the type asked for.

    Examples
    --------
    >>> one_of('member "column"', "model", "bodi", ("beam", "body"))
    Traceback (most recent call last):
        ...
    strongback.errors.MachineError: member "column": model = "bodi" must be "beam" or "body"
       help: did you mean "body"?
    """
    if isinstance(value, str) and value in words:
        return value
    listed = [f'"{word}"' for word in words]
    choice = " or ".join([", ".join(listed[:-1]), listed[-1]]) if len(listed) > 1 else listed[0]
    near = closest(value, words, 0.5) if isinstance(value, str) else ""
    hint = f'did you mean "{near}"?' if near else ""
    raise error(f"{where}: {field} = {shown(value)} must be {choice}", hint=hint)


def text(where: str, field: str, value: object, error: type[InputError] = MachineError) -> str:
    """Text that is not empty."""
    if not isinstance(value, str) or not value.strip():
        raise error(f"{where}: {field} = {shown(value)} must be text that is not empty")
    return value


def number(
    where: str,
    field: str,
    value: object,
    error: type[InputError] = MachineError,
    *,
    above: float | None = None,
    least: float | None = None,
    infinite: bool = False,
) -> float:
    """A number that is finite, or at least a number.

    Parameters
    ----------
    where, field : str
    value : object
    error : type of InputError
    above, least : float, optional
        Strictly above; at least.
    infinite : bool
        Whether infinity is meant by something, such as a rigid joint.

    Returns
    -------
    float

    Raises
    ------
    InputError
        Of the type asked for.

    Examples
    --------
    >>> number('pull "jack"', "force", float("nan"))
    Traceback (most recent call last):
        ...
    strongback.errors.MachineError: pull "jack": force = nan must be a finite number
    """
    try:
        if isinstance(value, str | bool):
            raise TypeError
        found = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, OverflowError):
        hint = "numbers in code are in SI and carry no unit" if isinstance(value, str) else ""
        raise error(f"{where}: {field} = {shown(value)} must be a number", hint=hint) from None
    if math.isnan(found) or (math.isinf(found) and not infinite):
        raise error(f"{where}: {field} = {found:g} must be a finite number")
    if above is not None and not found > above:
        raise error(f"{where}: {field} = {found:g} must be above {above:g}")
    if least is not None and not found >= least:
        raise error(f"{where}: {field} = {found:g} must not be below {least:g}")
    return found


def numbers(
    where: str,
    field: str,
    value: object,
    count: int,
    error: type[InputError] = MachineError,
    *,
    above: float | None = None,
    least: float | None = None,
    infinite: bool = False,
    hint: str = "",
) -> tuple[float, ...]:
    """A fixed count of numbers as a tuple.

    Parameters
    ----------
    where, field : str
    value : object
        A sequence or an array.
    count : int
    error : type of InputError
    above, least, infinite
        As in `number`, for each.
    hint : str
        What the numbers are, for the message about a wrong count.

    Returns
    -------
    tuple of float

    Raises
    ------
    InputError
        Of the type asked for.

    Examples
    --------
    >>> numbers('pull "jack"', "force", [0, 0, -100], 3)
    (0.0, 0.0, -100.0)
    >>> numbers('pull "jack"', "force", 100.0, 3, hint="along x, y, z [N]")
    Traceback (most recent call last):
        ...
    strongback.errors.MachineError: pull "jack": force = 100.0 must be 3 numbers
       help: along x, y, z [N]
    """
    items = _items(value)
    if items is None or len(items) != count:
        have = "" if items is None else f", not {len(items)}"
        raise error(f"{where}: {field} = {shown(value)} must be {count} numbers{have}", hint=hint)
    return tuple(
        number(where, f"{field}[{i}]", item, error, above=above, least=least, infinite=infinite)
        for i, item in enumerate(items)
    )


def _items(value: object) -> list[object] | None:
    """What can be gone through in order, once; None for text, mappings and single values."""
    if isinstance(value, str | bytes | Mapping) or not isinstance(value, Iterable):
        return None
    try:
        return list(value)
    except TypeError:  # an array without a dimension
        return None


def each(where: str, field: str, value: object, error: type[InputError] = MachineError) -> tuple[Any, ...]:
    """A sequence as a tuple, whatever it holds."""
    items = _items(value)
    if items is None:
        raise error(f"{where}: {field} = {shown(value)} must be a list", hint="put it in brackets: [...]")
    return tuple(items)


def instance(
    where: str,
    field: str,
    value: object,
    kind: type | tuple[type, ...],
    error: type[InputError] = MachineError,
) -> None:
    """Refuse what is not of a kind."""
    if not isinstance(value, kind):
        kinds = kind if isinstance(kind, tuple) else (kind,)
        names = " or ".join(k.__name__ for k in kinds)
        raise error(f"{where}: {field} = {shown(value)} must be of type {names}")


def pairs(
    where: str, field: str, value: object, count: int = 2, error: type[InputError] = MachineError
) -> tuple[tuple[Any, ...], ...]:
    """Tuples of a word and what belongs to it, also from a mapping.

    Parameters
    ----------
    where, field : str
    value : object
        A mapping, or a sequence of tuples that begin with a word.
    count : int
        Items in each tuple, the word included.
    error : type of InputError

    Returns
    -------
    tuple of tuple

    Raises
    ------
    InputError
        Of the type asked for.

    Examples
    --------
    >>> pairs('member "column"', "factors", {"bending": 0.5})
    (('bending', 0.5),)
    """
    rows: object = value
    if isinstance(value, Mapping):
        rows = [(key, *(_items(item) or [item])) if count > 2 else (key, item) for key, item in value.items()]
    found = []
    for row in each(where, field, rows, error):
        items = _items(row)
        if items is None or len(items) != count or not isinstance(items[0], str):
            raise error(f"{where}: {field} has {shown(row)}, where a name and {count - 1} more are due")
        found.append(tuple(items))
    return tuple(found)
