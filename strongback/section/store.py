"""Analysed sections, remembered by their outline: a section is solved once and then read from the cache."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from strongback import cache
from strongback.answer import Telling
from strongback.section.analyse import DEFAULT_GAP, SectionResult, analyse
from strongback.section.mesh import Mesher
from strongback.section.seams import Slip
from strongback.section.values import Outline, Point2, SectionStiffness

__all__ = ["SolvedSection", "solved_section"]

Array = NDArray[np.float64]
_SCALARS = ("EA", "EIx", "EIy", "EIxy", "GJ", "EGamma", "kGAx", "kGAy", "mass_per_length")
_TUPLES = ("centroid", "shear_centre", "mass_centroid", "inertia_per_length")
_ERRORS = ("EGamma", "kGAx", "kGAy")


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedSection:
    """What is kept of an analysed section: everything but its mesh.

    Parameters
    ----------
    stiffness : SectionStiffness
    GJ_lower, GJ_upper : float
        [N m²]
    errors : tuple of (str, float)
    limits : tuple of (str, SectionStiffness)
    elements : int
    seconds : float
        That solving took when it was done.
    cached : bool
        Whether it came from the cache.
    elastic_centre : tuple of float
        Shear centre of the bonded section with Poisson's ratio [m].
    exact : SectionStiffness or None
        Bonded, with Poisson's ratios taken one by one; None where they are equal.
    """

    ONLY: ClassVar[Telling] = (
        ("*", "stiffness"),
        ("GJ_lower_N_m2", "GJ_lower"),
        ("GJ_upper_N_m2", "GJ_upper"),
        ("error_estimates", "errors", ()),
        ("elements", "elements"),
        ("bond", "limits", ()),
        ("exact?", "exact"),
    )

    stiffness: SectionStiffness
    GJ_lower: float
    GJ_upper: float
    errors: tuple[tuple[str, float], ...]
    limits: tuple[tuple[str, SectionStiffness], ...]
    elements: int
    seconds: float
    cached: bool
    elastic_centre: Point2
    exact: SectionStiffness | None = None

    @property
    def gap(self) -> float:
        """Width of the bounds of GJ over their middle [-]."""
        return 2.0 * (self.GJ_upper - self.GJ_lower) / (self.GJ_upper + self.GJ_lower)


def solved_section(
    outline: Outline,
    *,
    tolerance: float = DEFAULT_GAP,
    mesher: Mesher = "auto",
    half_wave: float | None = None,
) -> SolvedSection:
    """The analysed section of an outline, from the cache where it is known.

    Parameters
    ----------
    outline : Outline
    tolerance, half_wave : float
        As in `analyse`.
    mesher : {"auto", "built-in", "triangle"}

    Returns
    -------
    SolvedSection
    """
    name = cache.key("section", outline, tolerance, mesher, half_wave)
    kept = cache.load(name, lambda arrays: _unpacked(arrays, outline))
    if kept is not None:
        return kept
    result = analyse(outline, tolerance=tolerance, mesher=mesher, half_wave=half_wave)
    cache.save(name, _packed(result, outline))
    return SolvedSection(
        stiffness=result.stiffness,
        GJ_lower=result.GJ_lower,
        GJ_upper=result.GJ_upper,
        errors=result.errors,
        limits=tuple((str(kind), s) for kind, s in result.limits),
        elements=result.elements,
        seconds=result.seconds,
        cached=False,
        elastic_centre=result.elastic_centre,
        exact=result.exact,
    )


def _packed(result: SectionResult, outline: Outline) -> dict[str, Array]:
    names = [seam.name for seam in outline.seams]
    kept = {
        "slipping": np.array([float(names.index(s.name)) for s in result.stiffness.slips]),
        "about": np.array([result.GJ_lower, result.GJ_upper, result.elements, result.seconds]),
        "elastic centre": np.array(result.elastic_centre),
        "errors": np.array([dict(result.errors)[key] for key in _ERRORS]),
        **_pack_stiffness("own", result.stiffness),
    }
    for kind, section in result.limits:
        kept.update(_pack_stiffness(kind, section))
    if result.exact is not None:
        kept.update(_pack_stiffness("exact", result.exact))
    return kept


def _pack_stiffness(label: str, section: SectionStiffness) -> dict[str, Array]:
    numbers = [getattr(section, key) for key in _SCALARS] + [
        v for key in _TUPLES for v in getattr(section, key)
    ]
    kept = {f"{label} numbers": np.array(numbers), f"{label} matrix": np.array(section.matrix)}
    if section.slips:
        kept[f"{label} slips"] = np.array([[*s.coupling, s.EA, s.stiffness] for s in section.slips])
    return kept


def _unpacked(kept: dict[str, NDArray[np.generic]], outline: Outline) -> SolvedSection:
    """The section that `_packed` took apart; ValueError or KeyError where the arrays are no such thing."""
    name = outline.name
    about = _numbers(kept, "about", (4,))
    errors = _numbers(kept, "errors", (len(_ERRORS),))
    elastic = _numbers(kept, "elastic centre", (2,))
    limits = tuple(
        (k, _unpack_stiffness(k, kept, name)) for k in ("bonded", "sliding") if f"{k} numbers" in kept
    )
    return SolvedSection(
        stiffness=dataclasses.replace(
            _unpack_stiffness("own", kept, name), slips=_unpack_slips(kept, outline)
        ),
        GJ_lower=float(about[0]),
        GJ_upper=float(about[1]),
        errors=tuple((key, float(value)) for key, value in zip(_ERRORS, errors, strict=True)),
        limits=limits,
        elements=int(about[2]),
        seconds=float(about[3]),
        cached=True,
        elastic_centre=(float(elastic[0]), float(elastic[1])),
        exact=_unpack_stiffness("exact", kept, name) if "exact numbers" in kept else None,
    )


def _unpack_slips(kept: dict[str, NDArray[np.generic]], outline: Outline) -> tuple[Slip, ...]:
    """Slips of the seams of an outline, in their order; those that are as good as bonded are not kept."""
    if "own slips" not in kept:
        return ()
    loose = [outline.seams[int(i)] for i in _numbers(kept, "slipping", (len(kept["slipping"]),))]
    rows = _numbers(kept, "own slips", (len(loose), 6))
    return tuple(
        Slip(
            name=seam.name,
            coupling=(float(row[0]), float(row[1]), float(row[2]), float(row[3])),
            EA=float(row[4]),
            stiffness=float(row[5]),
            held=seam.held,
        )
        for seam, row in zip(loose, rows, strict=True)
    )


def _numbers(kept: dict[str, NDArray[np.generic]], label: str, shape: tuple[int, ...]) -> Array:
    found = kept[label]
    if found.dtype != np.float64 or found.shape != shape:
        raise ValueError(f'"{label}" is {found.dtype} {found.shape}, not float64 {shape}')
    return np.asarray(found, dtype=np.float64)


def _unpack_stiffness(label: str, kept: dict[str, NDArray[np.generic]], name: str) -> SectionStiffness:
    numbers = [float(v) for v in _numbers(kept, f"{label} numbers", (len(_SCALARS) + 9,))]
    values: dict[str, Any] = dict(zip(_SCALARS, numbers, strict=False))
    rest = numbers[len(_SCALARS) :]
    matrix = _numbers(kept, f"{label} matrix", (8, 8))
    return SectionStiffness(
        name=name,
        centroid=(rest[0], rest[1]),
        shear_centre=(rest[2], rest[3]),
        mass_centroid=(rest[4], rest[5]),
        inertia_per_length=(rest[6], rest[7], rest[8]),
        matrix=tuple(tuple(float(v) for v in row) for row in matrix),
        **values,
    )
