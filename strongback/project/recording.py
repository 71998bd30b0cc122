"""Recordings of taps: WAV as phones write it, or a table of time and value."""

from __future__ import annotations

import io
import re
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.io.wavfile
from numpy.typing import NDArray

from strongback.errors import ReadingsError

__all__ = ["Recording", "read_recording"]

Array = NDArray[np.float64]
COMPRESSED = {
    b"ID3": "MP3",
    b"\xff\xfb": "MP3",
    b"\xff\xf3": "MP3",
    b"\xff\xf1": "AAC",
    b"\xff\xf9": "AAC",
    b"fLaC": "FLAC",
    b"OggS": "Ogg (Vorbis or Opus)",
    b"caff": "CAF",
    b"FORM": "AIFF",
    b"#!AMR": "AMR",
    b"0&\xb2u": "WMA",
}
LARGEST = 500_000_000  # bytes: two channels for more than twenty minutes
UNEVEN = 0.02  # of a step between samples


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """Samples at even steps.

    Parameters
    ----------
    name : str
    rate : float
        Samples a second [Hz].
    channels : ndarray, shape (samples, channels)
        Of whole numbers in a WAV 1 is full scale; else as the file has them.
    """

    name: str
    rate: float
    channels: Array


def read_recording(path: str | Path) -> Recording:
    """Read a recording.

    Parameters
    ----------
    path : str or Path
        ``.wav``, or ``.csv`` and ``.txt`` with the time [s] in the first column.

    Returns
    -------
    Recording

    Raises
    ------
    ReadingsError
        If it cannot be read, is compressed audio, or is no table of even steps.
    """
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST:
            raise ReadingsError(f"{path.name} is larger than {LARGEST // 10**6} MB", hint="cut out the taps")
        raw = path.read_bytes()
    except OSError as error:
        raise ReadingsError(
            f"{path} cannot be read: {error.strerror or error}", hint="check its name"
        ) from None
    _refuse_compressed(path.name, raw)
    if raw[:4] in (b"RIFF", b"RIFX", b"RF64"):
        return _wav(path.name, raw)
    return _table(path.name, raw)


def _refuse_compressed(name: str, raw: bytes) -> None:
    kind = next((kind for mark, kind in COMPRESSED.items() if raw.startswith(mark)), "")
    if raw[4:8] == b"ftyp":
        kind = "MP4 or M4A"
    if kind:
        raise ReadingsError(
            f"{name} is {kind} audio, which this does not read",
            hint="record or save it as WAV (PCM); compression may change how a ringing dies out",
        )


def _wav(name: str, raw: bytes) -> Recording:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", scipy.io.wavfile.WavFileWarning)
            rate, data = scipy.io.wavfile.read(io.BytesIO(raw))
    except Exception as error:  # the reader raises whatever a broken file leads it to
        raise ReadingsError(
            f"{name} is no WAV that can be read ({error})", hint="save it as PCM with 16 or 24 bit"
        ) from None
    values = np.asarray(data, dtype=float)
    if np.issubdtype(data.dtype, np.unsignedinteger):
        values = values / 128.0 - 1.0
    elif np.issubdtype(data.dtype, np.integer):
        values = values / float(np.iinfo(data.dtype).max + 1)
    return Recording(name=name, rate=float(rate), channels=values.reshape(len(values), -1))


def _table(name: str, raw: bytes) -> Recording:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ReadingsError(
            f"{name} is neither WAV nor a table of text", hint="save it as WAV or CSV"
        ) from None
    rows: list[list[float]] = []
    width = 0
    for place, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if not bare or bare.startswith("#"):
            continue
        decimal_comma = ";" in bare or "\t" in bare
        parts = re.split(r"[;\t]" if decimal_comma else r"[,\s]+", bare)
        if decimal_comma:
            parts = [part.replace(",", ".") for part in parts]
        try:
            row = [float(part) for part in parts if part.strip()]
        except ValueError:
            if rows:
                raise ReadingsError(f"{name}, line {place}: {bare[:40]!r} is no row of numbers") from None
            continue  # heads of columns
        width = width or len(row)
        if len(row) != width or width < 2:
            raise ReadingsError(f"{name}, line {place}: {len(row)} numbers, not {max(width, 2)}")
        rows.append(row)
    if len(rows) < 2:
        raise ReadingsError(f"{name} holds no samples", hint="a column of times [s] and one of values")
    table = np.array(rows)
    return Recording(name=name, rate=_rate(name, table[:, 0]), channels=table[:, 1:])


def _rate(name: str, times: Array) -> float:
    steps = np.diff(times)
    step = float(np.median(steps))
    if not step > 0.0:
        raise ReadingsError(
            f"{name}: the times in its first column do not grow", hint="seconds, from first to last"
        )
    if float(np.abs(steps - step).max()) > UNEVEN * step:
        worst = int(np.argmax(np.abs(steps - step)))
        raise ReadingsError(
            f"{name}: samples are not at even steps: {steps[worst]:g} s after {times[worst]:g} s, else {step:g} s",
            hint="fill the gaps by the program that recorded it, or leave the part with the gap out",
        )
    return (len(times) - 1) / float(times[-1] - times[0])
