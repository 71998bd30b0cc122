"""Answers as people give them: 38, 38 mm, 3.8 cm, 1 1/2", 20 kg, 4 x M8, unknown."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from strongback import units
from strongback.errors import InputError, UnitError
from strongback.project.interview.question import Field, Question

__all__ = ["UNKNOWN", "Answers", "echo", "parse", "read_answers", "unusual"]

UNKNOWN = ("-", "unknown", "i do not know")
GRAVITY = 9.80665  # [m/s²], ISO 80000-3
INCH = 0.0254
_FRACTION = re.compile(r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)")
_BOLTS = re.compile(r"(\d+)\s*[x×]\s*M\s*(\d+(?:\.\d+)?)", re.IGNORECASE)
_BARE = {"length": "mm", "place": "mm", "mass": "kg", "force": "N", "couple": "N*m"}
_TRADE = {
    "length": ("mm", 1e-3),
    "place": ("mm", 1e-3),
    "mass": ("kg", 1.0),
    "force": ("N", 1.0),
    "couple": ("N·m", 1.0),
}
_SLIPS = (
    (1000.0, "metres for millimetres"),
    (25.4, "inches for millimetres"),
    (10.0, "centimetres for millimetres"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """Every answer of an interview, checked.

    Parameters
    ----------
    values : mapping of str to value
        In SI; the default where the answer is not known.
    unknown : frozenset of str
        Keys of answers that are defaults.
    units : {"mm", "inch"}
        Of lengths without a unit, and of what is shown.
    """

    values: Mapping[str, Any]
    unknown: frozenset[str]
    units: str = "mm"

    def __getitem__(self, key: str) -> Any:
        return self.values[key]

    def mark(self, *keys: str) -> str:
        """A remark for a line of the project; empty if all was measured."""
        return "not measured: a guess" if any(key in self.unknown for key in keys) else ""

    def told(self, key: str) -> bool:
        """Whether the answer is known."""
        return key not in self.unknown


def parse(field: Field, text: str, *, bare: str = "") -> Any:
    """One answer in SI; None if it is not known.

    Parameters
    ----------
    field : Field
    text : str
    bare : str
        Unit of a length without one; millimetres by default.

    Raises
    ------
    InputError
        If it is no such answer.

    Examples
    --------
    >>> width = Field(key="column.width", words="width", kind="length", default=0.1)
    >>> [round(parse(width, text), 6) for text in ('1 1/2"', "38", "3.8 cm")]
    [0.0381, 0.038, 0.038]
    """
    plain = text.strip()
    if plain.lower() in UNKNOWN:
        return None
    try:
        found = _PARSERS[field.kind](field, plain, bare)
    except (UnitError, ValueError) as error:
        said = error.message if isinstance(error, UnitError) else str(error)
        raise InputError(f"{field.key}: {said}", hint=getattr(error, "hint", "") or _sample(field)) from None
    if field.kind in ("length", "mass", "force", "couple") and not float(found) > 0.0:
        raise InputError(f"{field.key}: must be above 0", hint=_sample(field))
    return found


def _size(field: Field, text: str, bare: str) -> float:
    dimension = "length" if field.kind == "place" else field.kind
    inches = re.fullmatch(r'(.+?)\s*(?:"|in|inch)', text)
    body = inches.group(1) if inches else text
    fraction = _FRACTION.fullmatch(body.strip())
    if dimension == "length" and (inches or fraction):
        number = (
            float(int(fraction[1] or 0) + Fraction(int(fraction[2]), int(fraction[3])))
            if fraction
            else float(body)
        )
        return number * INCH if inches or bare == "in" else units.to_si(number, bare or "mm", "length")
    if re.fullmatch(r"[+-]?(?:\d+\.?\d*|\.\d+)", text):
        text = f"{text} {bare if bare and dimension == 'length' else _BARE[field.kind]}"
    if dimension == "force" and text.endswith(("kg", "g")):
        return units.parse(text, "mass") * GRAVITY
    return units.parse(text, dimension)


def _count(field: Field, text: str, bare: str) -> float:
    if not text.isdigit():
        raise ValueError(f'"{text[:20]}" is no whole number')
    return int(text)


def _bolts(field: Field, text: str, bare: str) -> str:
    found = _BOLTS.fullmatch(text)
    if found is None:
        raise ValueError(f'"{text[:20]}" are no bolts')
    return f"{int(found[1])} x M{float(found[2]):g}"


def _choice(field: Field, text: str, bare: str) -> str:
    if text.lower() not in field.choices:
        near = difflib.get_close_matches(text.lower(), field.choices, n=1)
        raise ValueError(
            f'"{text[:20]}" is none of: {", ".join(field.choices)}{f"; did you mean {near[0]}?" if near else ""}'
        )
    return text.lower()


def _yes(field: Field, text: str, bare: str) -> bool:
    words = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
    if text.lower() not in words:
        raise ValueError("say yes or no")
    return words[text.lower()]


_PARSERS: Mapping[str, Callable[[Field, str, str], Any]] = {
    **dict.fromkeys(("length", "place", "mass", "force", "couple"), _size),
    "count": _count,
    "bolts": _bolts,
    "choice": _choice,
    "yes": _yes,
}


def _sample(field: Field) -> str:
    samples = {
        "bolts": 'such as "4 x M8"',
        "count": "such as 4",
        "yes": "yes or no",
        "choice": ", ".join(field.choices),
    }
    return samples.get(
        field.kind, f'such as "{_BARE.get(field.kind, "")}" behind a number; "unknown" is an answer too'
    )


def echo(field: Field, value: Any) -> str:
    """An answer as it was understood; lengths in millimetres and inches.

    Examples
    --------
    >>> echo(Field(key="throat", words="", kind="length", default=0.1), 0.038)
    '38 mm (1.496 in)'
    """
    if field.kind in ("length", "place"):
        return f"{value * 1e3:.5g} mm ({value / INCH:.4g} in)"
    if field.kind in _TRADE:
        unit, factor = _TRADE[field.kind]
        return f"{value / factor:.4g} {unit}"
    if field.kind == "yes":
        return "yes" if value else "no"
    return str(value)


def unusual(field: Field, value: Any) -> str:
    """Words about a size outside its usual range; empty inside.

    Examples
    --------
    >>> width = Field(key="column.width", words="width", kind="length", default=0.1, usual=(0.05, 0.25))
    >>> unusual(width, 1.2)
    'column.width 1200 mm is unusual (50 to 250 mm). Did you mean 120 mm? (centimetres for millimetres)'
    """
    if field.usual is None or field.usual[0] <= value <= field.usual[1]:
        return ""
    unit, factor = _TRADE.get(field.kind, ("", 1.0))
    low, high = (v / factor for v in field.usual)
    text = f"{field.key} {value / factor:.5g} {unit} is unusual ({low:g} to {high:g} {unit})."
    if field.kind == "length":
        for slip, words in reversed(_SLIPS):
            for meant in (value / slip, value * slip):
                if field.usual[0] <= meant <= field.usual[1]:
                    return f"{text} Did you mean {meant * 1e3:.4g} mm? ({words})"
    return text


def read_answers(text: str, questions: Sequence[Question], units: str = "") -> Answers:
    """Answers of a file.

    Parameters
    ----------
    text : str
        TOML; keys as the questions have them, values as one would say them.
    questions : sequence of Question
    units : {"", "mm", "inch"}
        Of lengths without a unit; what the file says, by default.

    Returns
    -------
    Answers

    Raises
    ------
    InputError
        With every answer that cannot be used.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            f"the answers cannot be read: {error}", hint='write key = "value", such as throat = "150 mm"'
        ) from None
    fields = {f.key: f for q in questions for f in q.fields}
    told, faults = dict(_flat(data)), []
    values: dict[str, Any] = {}
    shown = units or str(told.get("units", "mm"))
    if shown not in ("mm", "inch"):
        faults.append(f'units = "{shown[:40]}" are not known; write "mm" or "inch"')
    for key in told:
        if key not in fields and key not in ("kind", "units"):
            near = difflib.get_close_matches(key, fields, n=1)
            faults.append(
                f'no question is called "{key[:60]}"' + (f"; did you mean {near[0]}?" if near else "")
            )
    for key, field in fields.items():
        try:
            values[key] = (
                parse(field, _as_text(told[key]), bare="in" if shown == "inch" else "")
                if key in told
                else None
            )
        except InputError as error:
            faults.append(error.message)
    if faults:
        raise InputError("\n".join(faults), hint="the answers file names each number as the questions do")
    missing = frozenset(key for key, value in values.items() if value is None)
    return Answers(
        values={k: fields[k].default if v is None else v for k, v in values.items()},
        unknown=missing,
        units=shown,
    )


def _as_text(value: Any) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


def _flat(data: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in data.items():
        name = f"{above}{key}"
        if isinstance(value, Mapping):
            yield from _flat(value, f"{name}.")
        else:
            yield name, value
