"""A spindle in two bearings: two radial springs a span apart, seen at their centre of stiffness."""

from __future__ import annotations

from strongback.errors import MachineError
from strongback.machine.joints.starting import StartingStiffness, positive, spread
from strongback.machine.values import FREE, RIGID, Six

__all__ = ["spindle"]

SOURCE = "bearing stiffness of small spindles 10 to 200 N/µm: common practice, no source; two springs on a span: statics"
RANGE = (10e6, 200e6)  # [N/m]


def spindle(
    span: float,
    *,
    front: tuple[float, float] = RANGE,
    rear: tuple[float, float] = RANGE,
    axial: tuple[float, float] = RANGE,
    driven: bool = True,
) -> StartingStiffness:
    """Starting stiffness of a spindle in its head.

    Parameters
    ----------
    span : float
        Between the bearings [m].
    front, rear, axial : tuple of float
        Lowest and highest stiffness of a bearing [N/m].
    driven : bool
        Whether the rotation about the spindle is held (locked) or free.

    Returns
    -------
    StartingStiffness
        z along the spindle towards the nose; `at` is the centre of stiffness, measured from the front bearing.

    Raises
    ------
    MachineError
        If a dimension or stiffness is not above 0.

    Examples
    --------
    >>> s = spindle(0.1, front=(40e6, 40e6), rear=(10e6, 10e6), axial=(30e6, 30e6))
    >>> round(s.middle[3]), round(-s.at[2] * 1e3)  # k1 k2/(k1 + k2) span² [N m/rad], from the front bearing [mm]
    (80000, 20)
    """
    positive("bearing span", span)
    for softest, stiffest in (front, rear, axial):
        if not 0.0 < softest <= stiffest:
            raise MachineError("a bearing stiffness must be above 0, the lowest first")
    low, high = (_six(span, front[i], rear[i], axial[i], driven) for i in (0, 1))
    f, r = (front[0] * front[1]) ** 0.5, (rear[0] * rear[1]) ** 0.5
    middle = spread(low, high)
    return StartingStiffness(
        middle=middle, low=low, high=high, source=SOURCE, at=(0.0, 0.0, -span * r / (f + r))
    )


def _six(span: float, front: float, rear: float, axial: float, driven: bool) -> Six:
    tilt = front * rear / (front + rear) * span**2
    return front + rear, front + rear, axial, tilt, tilt, RIGID if driven else FREE
