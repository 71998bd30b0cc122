"""Loss factors of a section, from those of its materials: what each holds of the energy of a strain."""

from __future__ import annotations

import numpy as np

from strongback.section.handbook import polygon_moments
from strongback.section.outline import regions
from strongback.section.values import Outline

__all__ = ["section_loss"]


def section_loss(outline: Outline) -> tuple[float, ...]:
    """Loss factor of each strain of a section, in the order of `strongback.section.values.STRAINS`.

    Stretch and bending share their energy by E times area and second moment, exactly for a bonded fill. Shear is shared by
    G times area, twist and warping by G times the polar moment: of a thin closed wall around a soft fill that gives the
    fill too much (at most the ratio of its share so taken to the true one), within the factor of two that a loss factor
    from a table is known to anyway.

    Parameters
    ----------
    outline : Outline

    Returns
    -------
    tuple of float
        Eight [-].

    Examples
    --------
    >>> from strongback.materials import material
    >>> from strongback.section.shapes import rectangular_tube
    >>> print(f"{section_loss(rectangular_tube(material('steel'), 0.06, 0.08, 0.004))[3]:.2g}")
    0.00025
    """
    parts = regions(outline)
    moments = np.array([polygon_moments(part.polygon) for part in parts])  # A, integrals of x, y, x², y²
    E, G, loss = (np.array([getattr(p.material, name) for p in parts]) for name in ("E", "G", "loss_factor"))
    x, y = (E @ moments[:, i] / (E @ moments[:, 0]) for i in (1, 2))
    area = moments[:, 0]
    about_x = moments[:, 4] - 2.0 * y * moments[:, 2] + y * y * area
    about_y = moments[:, 3] - 2.0 * x * moments[:, 1] + x * x * area
    stretch, bend_x, bend_y, shear, twist = (
        float(loss @ share / share.sum())
        for share in (E * area, E * about_x, E * about_y, G * area, G * (about_x + about_y))
    )
    return (shear, shear, stretch, bend_x, bend_y, twist, twist, twist)
