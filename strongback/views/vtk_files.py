"""Unstructured grids in the two open formats of the Visualization Toolkit: XML (``.vtu``) and legacy (``.vtk``).

VTK File Formats, in The VTK User's Guide, 11th edition, Kitware 2010, chapter 19. Written here since names, pull and
magnification go with them as field data.
"""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Mapping
from urllib.parse import quote
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

from strongback.views.field_mesh import FieldMesh

__all__ = ["vtk", "vtu"]

Numbers = NDArray[np.float64] | NDArray[np.int64]
CELL_TYPES = {"line": 3, "hexahedron": 12, "wedge": 13}
WORDS = {"f": ("Float64", "<f8"), "i": ("Int64", "<i8"), "u": ("UInt8", "<u1")}


def vtu(mesh: FieldMesh) -> bytes:
    """A mesh as XML with compressed data in it.

    Parameters
    ----------
    mesh : FieldMesh
    """
    connectivity, offsets, types = _flat(mesh)
    fields = "".join(_array(name, data, tuples=True) for name, data in mesh.fields().items())
    lines = [
        '<?xml version="1.0"?>',
        '<VTKFile type="UnstructuredGrid" version="1.0" byte_order="LittleEndian" header_type="UInt64" '
        'compressor="vtkZLibDataCompressor">',
        f"<UnstructuredGrid><FieldData>{fields}</FieldData>",
        f'<Piece NumberOfPoints="{len(mesh.points)}" NumberOfCells="{len(types)}">',
        f"<PointData>{_arrays(mesh.point_data())}</PointData>",
        f"<CellData>{_arrays(mesh.cell_data())}</CellData>",
        f"<Points>{_array('Points', mesh.points)}</Points>",
        f"<Cells>{_array('connectivity', connectivity)}{_array('offsets', offsets)}{_array('types', types)}</Cells>",
        "</Piece></UnstructuredGrid></VTKFile>\n",
    ]
    return "\n".join(lines).encode()


def _flat(mesh: FieldMesh) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.uint8]]:
    """Points of all cells, where each ends, and their types."""
    connectivity = np.concatenate([_turned(shape, index).ravel() for shape, index in mesh.cells])
    sizes = np.concatenate([np.full(len(index), index.shape[1]) for _, index in mesh.cells])
    types = np.concatenate([np.full(len(index), CELL_TYPES[shape]) for shape, index in mesh.cells])
    return connectivity, np.cumsum(sizes), types.astype(np.uint8)


def _turned(shape: str, index: NDArray[np.int64]) -> NDArray[np.int64]:
    """Points of cells in the order of these formats, in which the first triangle of a wedge looks outwards."""
    return index[:, [0, 2, 1, 3, 5, 4]] if shape == "wedge" else index


def _arrays(data: Mapping[str, Numbers]) -> str:
    return "\n".join(_array(name, values) for name, values in data.items())


def _array(name: str, values: Numbers | NDArray[np.uint8], *, tuples: bool = False) -> str:
    word, layout = WORDS[values.dtype.kind]
    raw = np.ascontiguousarray(values).astype(layout).tobytes()
    packed = zlib.compress(raw)
    head = base64.b64encode(struct.pack("<4Q", 1, len(raw), len(raw), len(packed))).decode()
    width = f' NumberOfComponents="{values.shape[1]}"' if values.ndim == 2 else ""
    count = f' NumberOfTuples="{len(values)}"' if tuples else ""
    body = head + base64.b64encode(packed).decode()
    return f'<DataArray type="{word}" Name={quoteattr(name)}{width}{count} format="binary">{body}</DataArray>'


def vtk(mesh: FieldMesh) -> bytes:
    """A mesh in the legacy format, binary; blanks in names stand as ``%20``, as that format has it.

    Parameters
    ----------
    mesh : FieldMesh
    """
    _, _, types = _flat(mesh)
    turned = [_turned(shape, index) for shape, index in mesh.cells]
    cells = np.concatenate([np.insert(index, 0, index.shape[1], axis=1).ravel() for index in turned])
    title = f"{mesh.machine}: {mesh.under}, motion is seen well times {mesh.magnification:g}"
    lines = [
        b"# vtk DataFile Version 3.0",
        " ".join(title.split()).encode("ascii", "replace")[:250],
        b"BINARY\nDATASET UNSTRUCTURED_GRID",
        _field(mesh.fields()),
        f"POINTS {len(mesh.points)} double".encode(),
        mesh.points.astype(">f8").tobytes(),
        f"CELLS {len(types)} {len(cells)}".encode(),
        cells.astype(">i4").tobytes(),
        f"CELL_TYPES {len(types)}".encode(),
        types.astype(">i4").tobytes(),
        f"POINT_DATA {len(mesh.points)}".encode(),
        _field(mesh.point_data()),
        f"CELL_DATA {len(types)}".encode(),
        _field(mesh.cell_data()),
    ]
    return b"\n".join(lines) + b"\n"


def _field(data: Mapping[str, Numbers]) -> bytes:
    lines = [f"FIELD FieldData {len(data)}".encode()]
    for name, values in data.items():
        word, layout = ("double", ">f8") if values.dtype.kind == "f" else ("int", ">i4")
        width = values.shape[1] if values.ndim == 2 else 1
        lines.append(f"{quote(name, safe=':=,/[]')} {width} {len(values)} {word}".encode())
        lines.append(values.astype(layout).tobytes())
    return b"\n".join(lines)
