"""The store of a sweep: one file of SQLite, one writer, one block one transaction.

A block is there as a whole or not at all, whatever was killed when: the file's write-ahead log sees to it. With
``synchronous = NORMAL`` a power failure may take the last blocks, and leaves the rest in order; they are solved again.
"""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from strongback.errors import EnvironmentFault, QuestionError

__all__ = ["Store", "stored_csv"]

Array = NDArray[np.float64]
VERSION = "1"
ROWS = 20_000  # read at a time


class Store:
    """Points and responses of one sweep.

    Parameters
    ----------
    path : str or Path
    about : mapping of str to str
        What the sweep is: project, variables, method. A file of another one is refused.
    variables, responses : tuple of str

    Raises
    ------
    QuestionError
        If the file holds another sweep, or no sweep.
    EnvironmentFault
        If it cannot be opened or written.
    """

    def __init__(
        self,
        path: str | Path,
        about: Mapping[str, str],
        variables: tuple[str, ...],
        responses: tuple[str, ...],
    ) -> None:
        self.path, self.variables, self.responses = Path(path), variables, responses
        told = {
            "version": VERSION,
            **about,
            "variables": json.dumps(variables),
            "responses": json.dumps(responses),
        }
        try:
            self._base = sqlite3.connect(self.path, isolation_level=None)
            self._base.execute("PRAGMA journal_mode = WAL")
            self._base.execute("PRAGMA synchronous = NORMAL")
            self._prepare(told)
        except sqlite3.Error as error:
            raise self._fault(error) from None

    def _prepare(self, told: Mapping[str, str]) -> None:
        base = self._base
        base.execute("BEGIN IMMEDIATE")
        base.execute("CREATE TABLE IF NOT EXISTS about (name TEXT PRIMARY KEY, value TEXT) WITHOUT ROWID")
        base.execute(
            "CREATE TABLE IF NOT EXISTS block (number INTEGER PRIMARY KEY, points INTEGER, error TEXT)"
        )
        columns = [f"x{i} REAL" for i in range(len(self.variables))]
        columns += [f"y{i} REAL" for i in range(len(self.responses))]
        base.execute(f"CREATE TABLE IF NOT EXISTS point (number INTEGER PRIMARY KEY, {', '.join(columns)})")
        kept = dict(base.execute("SELECT name, value FROM about"))
        if not kept:
            base.executemany("INSERT INTO about VALUES (?, ?)", list(told.items()))
        base.execute("COMMIT")
        for name, value in told.items():
            if kept and kept.get(name) != value:
                self._base.close()
                raise QuestionError(
                    f'"{self.path.name}" holds another sweep: its {name} differs',
                    hint="name another file, or the project and the ranges that it was begun with",
                )

    def done(self) -> set[int]:
        """Numbers of the blocks that are there."""
        return {n for (n,) in self._base.execute("SELECT number FROM block")}

    def write(self, number: int, first: int, x: Array, y: Array, error: str = "") -> None:
        """Keep a block, as a whole.

        Parameters
        ----------
        number, first : int
            Of the block, and of its first point.
        x, y : ndarray, shape (points, variables) and (points, responses)
        error : str
            Of a block that could not be solved: its responses are absent.

        Raises
        ------
        EnvironmentFault
            If the disk is full or the file is locked; what was there stays.
        """
        marks = ", ".join("?" * (1 + x.shape[1] + y.shape[1]))
        both = np.column_stack([x, y]).tolist()
        rows = ((first + i, *row) for i, row in enumerate(both))
        try:
            self._base.execute("BEGIN IMMEDIATE")
            self._base.execute("INSERT INTO block VALUES (?, ?, ?)", (number, len(x), error))
            self._base.executemany(f"INSERT INTO point VALUES ({marks})", rows)
            self._base.execute("COMMIT")
        except sqlite3.Error as fault:
            if self._base.in_transaction:
                self._base.execute("ROLLBACK")
            raise self._fault(fault) from None

    def values(self) -> Array:
        """Responses of all points that are there, NaN where they could not be solved, (points, responses)."""
        names = ", ".join(f"y{i}" for i in range(len(self.responses)))
        cursor = self._base.execute(f"SELECT {names} FROM point ORDER BY number")
        found = []
        while batch := cursor.fetchmany(ROWS):
            found.append(np.array(batch, dtype=float))
        return np.vstack(found) if found else np.zeros((0, len(self.responses)))

    def count(self) -> int:
        """Points that are there."""
        return int(self._base.execute("SELECT COALESCE(SUM(points), 0) FROM block").fetchone()[0])

    def errors(self) -> tuple[tuple[int, str], ...]:
        """Blocks that could not be solved, and why."""
        return tuple(self._base.execute("SELECT number, error FROM block WHERE error != '' ORDER BY number"))

    def close(self) -> None:
        """Fold the log into the file and let it go."""
        self._base.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _fault(self, error: sqlite3.Error) -> EnvironmentFault:
        return EnvironmentFault(
            f'the store "{self.path}" cannot be used: {error}',
            hint="what it holds stays; free the disk or close what locks it, and run again",
        )


def stored_csv(path: str | Path) -> str:
    """All points of a store as a table with a head.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    QuestionError
        If there is no sweep in the file.
    """
    file = Path(path)
    try:
        base = sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)
        about = dict(base.execute("SELECT name, value FROM about"))
        names = [*json.loads(about["variables"]), *json.loads(about["responses"])]
    except (sqlite3.Error, KeyError):
        raise QuestionError(f'"{file}" holds no sweep', hint="name the file that --store was given") from None
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["point", *names])
    cursor = base.execute("SELECT * FROM point ORDER BY number")
    while batch := cursor.fetchmany(ROWS):
        writer.writerows([["" if v is None else repr(v) for v in row] for row in batch])
    base.close()
    return text.getvalue()
