"""A mesh as XDMF: one XML file that holds its numbers as text.

XDMF Model and Format, version 3. Names, the pull and the magnification stand in an ``Information`` element: as JSON in its
value, and as a map of names to numbers in its text.
"""

from __future__ import annotations

import io
import json
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from strongback.views.field_mesh import FieldMesh

__all__ = ["xdmf"]

Numbers = NDArray[np.float64] | NDArray[np.int64]
CELL_TYPES = {
    "line": (2, 2),
    "wedge": (8,),
    "hexahedron": (9,),
}  # a line is a polyline, which tells its count
KINDS = {1: "Scalar", 3: "Vector", 6: "Tensor6"}


def xdmf(mesh: FieldMesh) -> bytes:
    """A mesh as XDMF.

    Parameters
    ----------
    mesh : FieldMesh
    """
    root = ElementTree.Element("Xdmf", Version="3.0")
    domain = ElementTree.SubElement(root, "Domain")
    grid = ElementTree.SubElement(domain, "Grid", Name=f"{mesh.machine}: {mesh.under}", GridType="Uniform")
    _information(grid, mesh)
    geometry = ElementTree.SubElement(grid, "Geometry", GeometryType="XYZ")
    _item(geometry, mesh.points)
    whole = [
        np.hstack([np.tile(CELL_TYPES[shape], (len(index), 1)), index]).ravel() for shape, index in mesh.cells
    ]
    count = sum(len(index) for _, index in mesh.cells)
    topology = ElementTree.SubElement(grid, "Topology", TopologyType="Mixed", NumberOfElements=str(count))
    _item(topology, np.concatenate(whole))
    for centre, data in (("Node", mesh.point_data()), ("Cell", mesh.cell_data())):
        for name, values in data.items():
            kind = KINDS[values.shape[1] if values.ndim == 2 else 1]
            attribute = ElementTree.SubElement(
                grid, "Attribute", Name=name, AttributeType=kind, Center=centre
            )
            _item(attribute, values)
    return b'<?xml version="1.0"?>\n' + ElementTree.tostring(root) + b"\n"


def _information(grid: ElementTree.Element, mesh: FieldMesh) -> None:
    names = ElementTree.Element("main")
    for name, number in mesh.ids().items():
        ElementTree.SubElement(names, "map", key=name, dim="0").text = str(number)
    said = {
        "machine": mesh.machine,
        "parts": mesh.parts,
        "marks": mesh.marks,
        "under": mesh.under,
        "pulls": [
            {"name": p.name, "point_m": p.at, "force_N": p.force, "couple_Nm": p.couple} for p in mesh.pulls
        ],
        "reactions": {name: [float(v) for v in wrench] for name, wrench in mesh.reactions},
        "magnification": mesh.magnification,
    }
    information = ElementTree.SubElement(grid, "Information", Name="strongback", Value=json.dumps(said))
    information.text = ElementTree.tostring(names, encoding="unicode")


def _item(parent: ElementTree.Element, values: Numbers) -> None:
    real = values.dtype.kind == "f"
    item = ElementTree.SubElement(
        parent,
        "DataItem",
        DataType="Float" if real else "Int",
        Precision="8",
        Dimensions=" ".join(str(n) for n in values.shape),
        Format="XML",
    )
    text = io.StringIO()
    np.savetxt(text, values, "%.17g" if real else "%d")
    item.text = "\n" + text.getvalue()
