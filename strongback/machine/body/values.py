"""Frozen values of a column as a body. Axes of its member: x, y in the section, s along it, all in metres.

The body meets the machine through *interfaces* of six motions each (along x, y, s, about x, y, s, right-hand rule): its
rigid end faces, its pads, and cuts over which a force is spread. Gauge points follow the interfaces and carry no force.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from strongback.section.values import Outline, Point2, Ring

__all__ = [
    "Bed",
    "BodySpec",
    "BodyStiffness",
    "DiaphragmSpec",
    "EndKind",
    "PadSpec",
    "PlateSpec",
    "Point3",
    "SlipSpec",
    "cut_name",
]

Array = NDArray[np.float64]
Point3: TypeAlias = tuple[float, float, float]
EndKind: TypeAlias = Literal["rigid", "free"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PadSpec:
    """A rectangular contact area on a wall, held by an even bed of springs to a rigid plate.

    Parameters
    ----------
    name : str
    centre : tuple of float
        x, y, s of the middle of the area on the wall [m].
    normal : tuple of float
        Direction out of the wall in the section.
    size : tuple of float
        Across and along the member [m].
    stiffness : float
        Normal contact stiffness per area [N/m³]; ``inf`` for a plate that sits as if welded.
    tangential : float
        Stiffness along the wall as a fraction of `stiffness`.
    """

    name: str
    centre: Point3
    normal: Point2
    size: tuple[float, float]
    stiffness: float = 1e12
    tangential: float = 0.5


def cut_name(s: float) -> str:
    """Name of the cut at a height, as an interface of a body.

    Examples
    --------
    >>> cut_name(0.42)
    'cut at 420 mm'
    """
    return f"cut at {round(1e3 * s, 6):.10g} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class SlipSpec:
    """A fill that can slide along the member while wall and fill stay in touch.

    Parameters
    ----------
    parts : tuple of str
        The fill and the inserts in it, as `SectionMesh.parts` names them.
    stiffness : float
        Slip stiffness per area of its face [N/m³]; 0 slides freely.
    """

    parts: tuple[str, ...]
    stiffness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """What lies between a plate and the end face of the walls, or between a plate and the ground.

    Parameters
    ----------
    normal, tangential : float
        Stiffness per area [N/m³].
    patches : tuple of Ring
        Where it is; everywhere if there is none [m].
    """

    normal: float
    tangential: float
    patches: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateSpec:
    """A plate across the member, on one of its ends or inside of it.

    Parameters
    ----------
    thickness : float
        [m]
    E : float
        [Pa]
    nu : float
    density : float
        [kg/m³]
    ring : Ring
        Its edge; that of the walls where it is empty [m].
    bed : Bed, optional
        Between it and the end face of the walls; welded without one.
    bolts : Bed, optional
        Between its outer face and the ground, for a plate at the start of the member.
    """

    thickness: float
    E: float
    nu: float
    density: float = 0.0
    ring: Ring = ()
    bed: Bed | None = None
    bolts: Bed | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DiaphragmSpec:
    """A plate inside the hollows, joined to the walls all around.

    Parameters
    ----------
    s : float
        Height of its middle [m].
    thickness, E, nu, density
        As in `PlateSpec`.
    """

    s: float
    thickness: float
    E: float
    nu: float
    density: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BodySpec:
    """What a column is and what is asked of it, before any mesh.

    Parameters
    ----------
    outlines : tuple of Outline
        Of the spans from the base up: the same walls, cells filled or empty.
    lengths : tuple of float
        Of the spans [m].
    base, end : {"rigid", "free"}
    base_plate, end_plate : PlateSpec, optional
        On an end that is free; the base on a plate with bolts is an interface all the same, the ground under it.
    diaphragms : tuple of DiaphragmSpec
    pads : tuple of PadSpec
    cuts : tuple of float
        Heights at which the bare wall takes forces [m].
    points : tuple of (x, y, s)
        Gauge points on the walls [m].
    bars : tuple of float
        Heights of bars clamped around the member [m].
    """

    outlines: tuple[Outline, ...]
    lengths: tuple[float, ...]
    base: EndKind = "rigid"
    end: EndKind = "free"
    base_plate: PlateSpec | None = None
    end_plate: PlateSpec | None = None
    diaphragms: tuple[DiaphragmSpec, ...] = ()
    pads: tuple[PadSpec, ...] = ()
    cuts: tuple[float, ...] = ()
    points: tuple[Point3, ...] = ()
    bars: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodyStiffness:
    """A column condensed to the six motions of its end faces and pads.

    Parameters
    ----------
    names : tuple of str
        Interfaces: ``"base"`` and ``"end"`` where they are rigid, then the pads by name, then the cuts (`cut_name`).
    points : ndarray, shape (interfaces, 3)
        Where their motions are taken: x, y, s [m].
    stiffness : ndarray, shape (6 interfaces, 6 interfaces)
        Forces and couples at the interfaces from their motions, in the axes of the member. Symmetric; a motion of the
        body as a whole costs no force.
    contact : ndarray, shape (6 interfaces, 6 interfaces)
        Part of `stiffness` in the contact under the pads: twice the energy there; its derivative by the logarithm of the
        contact stiffness of all pads.
    mass : ndarray, shape (6 interfaces, 6 interfaces)
        Of walls and fills on the motions of the interfaces, without plates [kg, kg m, kg m²].
    gauges : ndarray, shape (3 gauge points + 6 bars, 6 interfaces)
        Motion of the gauge points, then of the bars, from the motions of the interfaces.
    gauge_points : ndarray, shape (gauge points, 3)
        [m]
    gauge_bars : ndarray, shape (bars,)
        Heights of bars clamped around the member, which move as its walls do there in the mean [m].
    nodes : ndarray, shape (nodes, 2)
        Of the section mesh [m].
    planes : ndarray, shape (planes,)
        Heights at which the body has nodes; every second one is the middle of a height element [m].
    triangles : ndarray of int, shape (triangles, 6)
    region : ndarray of int, shape (spans, triangles)
        Row of `elastic` for each triangle and span; -1 where there is nothing.
    elastic : ndarray, shape (regions, 2)
        Young's modulus [Pa] and Poisson's ratio.
    span_elements : ndarray of int, shape (spans,)
        Height elements of each span.
    shapes : ndarray, shape (3 nodes, shapes)
        Displacement fields of the section that hold the solved motion.
    amplitudes : ndarray, shape (planes, shapes, 6 (interfaces - 1))
        Their amplitude for a unit motion of each interface but the first, which stands still.
    cuts : ndarray, shape (cuts,)
        Heights at which the bare wall takes forces; the motion of a cut is the mean over its walls [m].
    contact_areas : ndarray, shape (pads,)
        Wall found under each pad [m²].
    rank : int
        Section shapes that the body was solved in.
    missing : float
        Relative energy that the shapes are estimated to miss, largest over the unit motions; a quarter of it for forces
        on cuts.
    length : float
        Of the member; a thick plate on its end reaches beyond it [m].
    coarse : ndarray, shape (6 interfaces, 6 interfaces), or (0, 0)
        The same stiffness on a coarse grid, where it was found on two: their difference tells the error of the mesh.
    """

    names: tuple[str, ...]
    points: Array
    stiffness: Array
    contact: Array
    mass: Array
    gauges: Array
    gauge_points: Array
    gauge_bars: Array
    nodes: Array
    planes: Array
    triangles: NDArray[np.int64]
    region: NDArray[np.int64]
    elastic: Array
    span_elements: NDArray[np.int64]
    shapes: Array
    amplitudes: Array
    cuts: Array
    contact_areas: Array
    rank: int
    missing: float
    length: float
    coarse: Array

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            value = getattr(self, field.name)
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    @property
    def unknowns(self) -> int:
        """Displacements of the underlying three-dimensional mesh."""
        return int(self.nodes.size // 2 * 3 * len(self.planes))

    @property
    def has_pads(self) -> bool:
        """Whether any interface is a pad."""
        return len(self.contact_areas) > 0

    def columns(self, name: str) -> slice:
        """Rows and columns of an interface in `stiffness`.

        Parameters
        ----------
        name : str
        """
        at = self.names.index(name)
        return slice(6 * at, 6 * at + 6)

    def to_arrays(self) -> dict[str, NDArray[np.generic]]:
        """Plain arrays from which `from_arrays` makes an equal value."""
        arrays: dict[str, NDArray[np.generic]] = {
            field.name: np.asarray(getattr(self, field.name))
            for field in dataclasses.fields(self)
            if field.name != "names"
        }
        arrays["names"] = np.array(self.names, dtype=np.str_)
        return arrays

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, NDArray[np.generic]]) -> BodyStiffness:
        """The value that `to_arrays` took apart.

        Parameters
        ----------
        arrays : mapping of str to ndarray

        Raises
        ------
        KeyError
            If one is missing.
        ValueError
            If one has not the kind of numbers or the shape that goes with the others.
        """
        values = {field.name: arrays[field.name] for field in dataclasses.fields(cls)}
        _check_arrays(values)
        return cls(
            **{
                **values,
                "names": tuple(str(name) for name in arrays["names"]),
                "rank": int(np.asarray(arrays["rank"], dtype=np.int64)),
                "missing": float(np.asarray(arrays["missing"], dtype=np.float64)),
                "length": float(np.asarray(arrays["length"], dtype=np.float64)),
            }  # type: ignore[arg-type]
        )

    def __repr__(self) -> str:
        return (
            f"BodyStiffness({', '.join(self.names)}: {self.unknowns:,} unknowns, {self.rank} shapes, "
            f"{len(self.gauge_points)} gauge points, missing {self.missing:.0e})"
        )


def _check_arrays(arrays: Mapping[str, NDArray[np.generic]]) -> None:
    """Refuse arrays that are no body: kind of numbers, shapes that belong together, indices that point at something."""
    kinds = {"names": "U", "triangles": "i", "region": "i", "span_elements": "i", "rank": "i"}
    sizes = {"2": 2, "3": 3, "6": 6}
    shapes: dict[str, tuple[str | int, ...]] = {
        "names": ("interfaces",),
        "points": ("interfaces", 3),
        "nodes": ("nodes", 2),
        "planes": ("planes",),
        "triangles": ("triangles", 6),
        "region": ("spans", "triangles"),
        "elastic": ("regions", 2),
        "span_elements": ("spans",),
        "gauge_points": ("gauges", 3),
        "gauge_bars": ("bars",),
        "cuts": ("cuts",),
        "contact_areas": ("pads",),
        "rank": (),
        "missing": (),
        "length": (),
    }
    for name, wanted in shapes.items():
        found = arrays[name].shape
        if len(found) != len(wanted) or any(
            sizes.setdefault(str(w), n) != n for w, n in zip(wanted, found, strict=True)
        ):
            raise ValueError(f"{name} has shape {found}")
    motions = 6 * sizes["interfaces"]
    grown = {
        "stiffness": (motions, motions),
        "contact": (motions, motions),
        "mass": (motions, motions),
        "coarse": (motions, motions) if arrays["coarse"].size else (0, 0),
        "gauges": (3 * sizes["gauges"] + 6 * sizes["bars"], motions),
        "shapes": (3 * sizes["nodes"], arrays["shapes"].shape[-1]),
        "amplitudes": (sizes["planes"], arrays["shapes"].shape[-1], motions - 6),
    }
    for name, shape in grown.items():
        if arrays[name].shape != shape:
            raise ValueError(f"{name} has shape {arrays[name].shape}, not {shape}")
    for name, array in arrays.items():
        if array.dtype.kind != kinds.get(name, "f"):
            raise ValueError(f"{name} holds {array.dtype}")
    for name, least, most in (("triangles", 0, sizes["nodes"]), ("region", -1, sizes["regions"])):
        index = np.asarray(arrays[name], dtype=np.int64)
        if index.size and not (least <= int(index.min()) and int(index.max()) < most):
            raise ValueError(f"{name} points at nothing")
