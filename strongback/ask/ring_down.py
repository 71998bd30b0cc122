"""How fast does the ringing after a tap die out?"""

from __future__ import annotations

from pathlib import Path

from strongback.errors import QuestionError
from strongback.project.recording import read_recording
from strongback.vibration.ringdown.told import RingDown
from strongback.vibration.ringdown.told import ring_down as of_signal

__all__ = ["ring_down"]


def ring_down(path: str | Path, *, channel: int = 1, lowest: float | None = None) -> RingDown:
    """Pitch and damping of every mode in a recording of taps, and damping against amplitude.

    Parameters
    ----------
    path : str or Path
        A WAV, or a table of times [s] and values.
    channel : int
        Counted from 1.
    lowest : float, optional
        Lowest frequency looked for [Hz].

    Returns
    -------
    RingDown

    Raises
    ------
    ReadingsError
        If the file cannot be read or nothing can be told from it.
    QuestionError
        If it has no such channel, or `lowest` is not above 0.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(-500, 1500) / 1000.0
    >>> noise = 0.01 * np.random.default_rng(0).normal(size=2000)
    >>> ring = np.where(t < 0.0, 0.0, np.exp(-0.02 * 2.0 * np.pi * 60.0 * t) * np.sin(2.0 * np.pi * 60.0 * t))
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder) / "tap.csv"
    ...     np.savetxt(file, np.column_stack([t + 0.5, ring + noise]), delimiter=",")
    ...     found = ring_down(file)
    >>> round(found.modes[0].frequency, 1), round(found.modes[0].damping_ratio, 3)  # [Hz]
    (60.0, 0.02)
    """
    found = read_recording(path)
    count = found.channels.shape[1]
    if not 1 <= channel <= count:
        raise QuestionError(f"there is no channel {channel} in {found.name}", hint=f"it has {count}")
    if lowest is not None and not lowest > 0.0:
        raise QuestionError(f"the lowest frequency is {lowest:g}", hint="give hertz above 0")
    return of_signal(found.channels[:, channel - 1], found.rate, file=found.name, lowest=lowest)
