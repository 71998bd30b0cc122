"""A TOML document with the place of every key and value.

The standard parser gives no places and has inputs that cost it minutes, so a document is first refused if it is deeper or
longer than its limits, then parsed, then walked once more for the places. A *path* is what leads to a value:
``("member", 0, "start", 2)``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from strongback.errors import ProjectError
from strongback.project.source import Faults, Source

__all__ = ["MAX_DEPTH", "MAX_NUMBER", "Document", "Path", "Place", "parse"]

Path: TypeAlias = tuple[str | int, ...]

MAX_DEPTH = 32
MAX_NUMBER = 40
MAX_DOTS = 8  # parts of a dotted key; the parser takes a time that grows with their square
MAX_ITEMS = 20_000
MAX_MENDS = 20  # broken statements reported in one pass
MEND_BYTES = 100_000

_TOKEN = re.compile(
    r"\"\"\"|'''|\"(?:[^\"\\\n]|\\[^\n])*\"?|'[^'\n]*'?|#[^\n]*|[\[\]{}]|\n|\.|[A-Za-z0-9_+-]+|[ \t\r]+|[^\n]"
)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a key and its value stand: offsets into the text; the same for both in a list."""

    key: int
    key_end: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """Parsed data and their places.

    Parameters
    ----------
    source : Source
    data : mapping
    places : mapping of path to Place
    """

    source: Source
    data: Mapping[str, Any]
    places: Mapping[Path, Place]

    def place(self, path: Path) -> Place | None:
        """Place of a path, or of the nearest path above it that has one."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path)

    def written(self, path: Path) -> str:
        """A value as it is written in the file, empty if the path is not there."""
        place = self.places.get(path)
        return "" if place is None else self.source.text[place.start : place.end]


def parse(source: Source) -> Document:
    """Parse a document.

    Parameters
    ----------
    source : Source

    Returns
    -------
    Document

    Raises
    ------
    ProjectError
        With every statement that is not TOML, or the limit that is passed.

    Examples
    --------
    >>> document = parse(Source(name="mill.toml", text='[tool]\\npart = "quill"'))
    >>> document.source.place(document.places["tool", "part"].start)
    (2, 8)
    """
    _refuse_costly(source)
    data = _load(source)
    places = _Walk(source.text).document()
    return Document(source=source, data=data, places=places)


def _refuse_costly(source: Source) -> None:
    """Refuse deep nesting, long dotted keys and long numbers in one pass that costs no more than the text is long."""
    text, at, depth, dots, items = source.text, 0, 0, 0, 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None:  # nothing but a lone backslash at the end of a line
            at += 1
            continue
        token = match.group()
        kind = token[0]
        if token in ('"""', "'''"):
            at = _past_long_string(text, match.end(), token)
            continue
        depth = max(0, depth + (kind in "[{") - (kind in "]}"))
        if kind == ".":
            dots += 1
        elif not (kind.isalnum() or kind in "_-\"' \t\r"):
            dots = 0
        items += kind == ","
        if items > MAX_ITEMS:
            _refuse(source, at, f"more than {MAX_ITEMS:,} values in lists", "", 1)
        if depth > MAX_DEPTH:
            _refuse(source, at, f"lists or tables nested more than {MAX_DEPTH} deep", "", 1)
        if dots >= MAX_DOTS:
            _refuse(source, at, f"a key of more than {MAX_DOTS} dotted parts", "", 1)
        if kind in "0123456789+-" and len(token) > MAX_NUMBER:
            hint = f"use at most {MAX_NUMBER}"
            _refuse(source, at, f"a number of {len(token)} characters", hint, len(token))
        at = match.end()


def _refuse(source: Source, at: int, message: str, hint: str, width: int) -> None:
    faults = Faults()
    faults.add(source, at, message, hint, width=width)
    faults.raise_if_any()


def _past_long_string(text: str, at: int, quotes: str) -> int:
    """Where a string of several lines ends, from behind its opening quotes."""
    while True:
        end = text.find(quotes, at)
        if end < 0:
            return len(text)
        slashes = 0
        while end - slashes > at and text[end - slashes - 1] == "\\":
            slashes += 1
        if quotes == "'''" or slashes % 2 == 0:
            extra = 0
            while extra < 2 and text.startswith(quotes[0], end + 3 + extra):
                extra += 1
            return end + 3 + extra
        at = end + 1


def _load(source: Source) -> Mapping[str, Any]:
    """Parse; where statements are broken, blank one line after the other to find them all."""
    faults, text, last = Faults(), source.text, 0
    for _ in range(MAX_MENDS):
        try:
            data = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            message, offset = _reason(error, text)
            line, _ = source.place(offset)
            if line <= last:
                break
            last, shown = line, source.line(line)
            faults.add(source, offset, message, _advice(shown, message), width=_word(source.text, offset))
            if len(text) > MEND_BYTES or _FINAL.search(message):
                break
            start = source.starts[line - 1]
            text = text[:start] + " " * len(shown) + text[start + len(shown) :]
        except (ValueError, RecursionError, OverflowError):
            faults.add(source, None, "cannot be read as TOML")
            break
        else:
            faults.raise_if_any()
            return data
    faults.raise_if_any()
    raise ProjectError(f'"{source.name}" cannot be read as TOML')


def _word(text: str, offset: int) -> int:
    end = offset
    while end < len(text) and end < offset + 30 and text[end] not in " \t\r\n,]}#":
        end += 1
    return max(1, end - offset)


_AT = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)\s*$")


def _reason(error: tomllib.TOMLDecodeError, text: str) -> tuple[str, int]:
    """Words and place of a fault of the parser, from its message."""
    message = str(error)
    found = _AT.search(message)
    if found is None or found.group(1) is None:
        words = message[: found.start()] + " at the end of the file" if found else message
        return _lowered(words), max(0, len(text.rstrip()) - 1)
    starts = Source(name="", text=text).starts
    line = starts[min(int(found.group(1)), len(starts)) - 1]
    offset = min(line + int(found.group(2)) - 1, max(0, len(text) - 1))
    words = _lowered(message[: found.start()])
    if words.startswith("unclosed array"):
        return "the list that starts here is not closed", _opening(text, offset)
    if "overwrite" in words or "declare" in words:
        return words, line + len(text[line:offset]) - len(text[line:offset].lstrip())
    if text[offset] == "\n" and words.startswith("illegal character"):
        return "the text is not closed by a quote before the end of the line", offset
    return words, offset


def _opening(text: str, offset: int) -> int:
    """The bracket of the innermost list that is open at a place."""
    depth = 0
    tokens = [m for m in _TOKEN.finditer(text, max(0, offset - 20_000), offset) if m.group() in "[]"]
    for token in reversed(tokens):
        depth += 1 if token.group() == "]" else -1
        if depth < 0:
            return token.start()
    return offset


_FINAL = re.compile('declare|overwrite|not closed|unterminated|expected "')  # what follows tells nothing


def _lowered(message: str) -> str:
    return message[:1].lower() + message[1:] if message[1:2].islower() else message


_ADVICE = (
    (r"[“”„‘’]", "use straight quotes, not typographic ones"),
    (r"=\s*[+-]?\d+,\d+\s*(?:#.*)?$", "write a decimal point, not a decimal comma"),
    (r"=\s*[+-]?[\d.]+(?:e[+-]?\d+)?\s*[A-Za-zµ°%]", 'put a number with a unit in quotes, such as "120 mm"'),
    (r"^\s*\w+\s*:", "write key = value"),
    (r"^\s*[\w.-]+(?:[ \t]+[\w.-]+)+\s*=", "a key is one word; join the words by _"),
    (r"=\s*[A-Za-z]", "put text in quotes"),
)


def _advice(line: str, message: str) -> str:
    if "overwrite" in message:
        return "the key or table is there twice"
    if "declare" in message:
        return "the table is there twice; a list of parts takes double brackets, such as [[member]]"
    return next((hint for pattern, hint in _ADVICE if re.search(pattern, line[:400])), "")


class _Walk:
    """Walks a document that is known to be valid and notes where things stand."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places: dict[Path, Place] = {}
        self.counts: dict[Path, int] = {}

    def document(self) -> dict[Path, Place]:
        base: Path = ()
        while self.blank():
            if self.text[self.at] == "[":
                base = self.header()
            else:
                self.pair(base)
        return self.places

    def blank(self) -> bool:
        """Go past space, line ends and comments; whether anything follows."""
        text, at = self.text, self.at
        while at < len(text):
            if text[at] in " \t\r\n":
                at += 1
            elif text[at] == "#":
                end = text.find("\n", at)
                at = len(text) if end < 0 else end
            else:
                break
        self.at = at
        return at < len(text)

    def header(self) -> Path:
        start, many = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        keys = self.keys()
        self.at += 2 if many else 1
        path: Path = ()
        for key in keys[:-1]:
            path = (*path, key)
            path = (*path, self.counts[path]) if path in self.counts else path
        path = (*path, keys[-1])
        place = Place(start, self.at, start, self.at)
        if many:
            index = self.counts.get(path, -1) + 1
            self.counts[path] = index
            self.places.setdefault(path, place)
            path = (*path, index)
        for depth in range(1, len(path) + 1):
            self.places.setdefault(path[:depth], place)
        return path

    def keys(self) -> list[str]:
        found = []
        while True:
            self.space()
            found.append(self.key())
            self.space()
            if not self.text.startswith(".", self.at):
                return found
            self.at += 1

    def space(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t\r":
            self.at += 1

    def key(self) -> str:
        start = self.at
        if self.text[start] in "\"'":
            self.string()
            return next(iter(tomllib.loads(f"{self.text[start : self.at]} = 0")))
        while self.at < len(self.text) and (self.text[self.at].isalnum() or self.text[self.at] in "_-"):
            self.at += 1
        return self.text[start : self.at]

    def string(self) -> None:
        quote = self.text[self.at]
        if self.text.startswith(quote * 3, self.at):
            self.at = _past_long_string(self.text, self.at + 3, quote * 3)
            return
        self.at += 1
        while self.text[self.at] != quote:
            self.at += 2 if self.text[self.at] == "\\" and quote == '"' else 1
        self.at += 1

    def pair(self, base: Path) -> None:
        start = self.at
        keys = self.keys()
        end = self.trimmed()
        path = (*base, *keys)
        self.at += 1  # the equals sign
        self.space()
        first = self.at
        self.value(path)
        for depth in range(len(base) + 1, len(path) + 1):
            self.places.setdefault(path[:depth], Place(start, end, first, self.at))

    def trimmed(self) -> int:
        end = self.at
        while end > 0 and self.text[end - 1] in " \t\r":
            end -= 1
        return end

    def value(self, path: Path) -> None:
        kind = self.text[self.at]
        if kind in "\"'":
            self.string()
        elif kind == "[":
            self.items(path)
        elif kind == "{":
            self.inline(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
                self.at += 1
            self.at = self.trimmed()

    def items(self, path: Path) -> None:
        self.at += 1
        index = 0
        while self.blank() and self.text[self.at] != "]":
            start = self.at
            self.value((*path, index))
            self.places[(*path, index)] = Place(start, self.at, start, self.at)
            index += 1
            self.comma()
        self.at += 1

    def inline(self, path: Path) -> None:
        self.at += 1
        while self.blank() and self.text[self.at] != "}":
            self.pair(path)
            self.comma()
        self.at += 1

    def comma(self) -> None:
        self.blank()
        if self.text.startswith(",", self.at):
            self.at += 1
