"""Results as pictures, tables and mesh files, by what they are: for notebooks and scripts."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from strongback.errors import InputError
from strongback.machine.budget import Budget
from strongback.machine.cases import CaseResult
from strongback.machine.loop import Loop
from strongback.machine.section_forces import MemberForces
from strongback.machine.solve import Deflection
from strongback.section.values import Outline, SectionStiffness
from strongback.views.budget_plot import budget_figure
from strongback.views.deflection_text import budget_table
from strongback.views.field_mesh import field_mesh
from strongback.views.forces_table import member_table
from strongback.views.machine_plot import machine_figure
from strongback.views.mesh_files import SCENES, check_format, write_field, write_scene
from strongback.views.motion_table import motion_table
from strongback.views.section_plot import profile_figure
from strongback.views.section_text import values_table
from strongback.views.style import Picture
from strongback.views.table import Table

__all__ = ["plot", "table", "write"]

Of = Deflection | CaseResult | Budget | Sequence[Budget] | SectionStiffness | None


def plot(
    what: Outline | Loop, of: Of = None, *, magnify: float | None = None, width_mm: float = 160.0
) -> Picture:
    """A picture that shows itself in a notebook.

    Parameters
    ----------
    what : Outline or Loop
    of : Deflection, CaseResult, Budget, sequence of Budget or SectionStiffness, optional
        Of a loop: how it moves under a pull, or who causes it. Of an outline: its stiffness, for centroid, shear centre
        and principal axes.
    magnify : float, optional
        Factor on the motion; give the same to pictures that are set side by side. Default: one at which it is seen well.
    width_mm : float
        Of the picture [mm].

    Returns
    -------
    Picture
        A `matplotlib.figure.Figure`; pyplot is not needed.

    Raises
    ------
    InputError
        If there is no picture of these together, or `magnify` is not above zero.

    Examples
    --------
    >>> from strongback import material
    >>> from strongback.section.shapes import rectangular_tube
    >>> tube = rectangular_tube(material("steel"), 0.06, 0.08, 0.004)
    >>> plot(tube, width_mm=80.0)._repr_png_()[:4]
    b'\\x89PNG'
    """
    if isinstance(what, Loop) and isinstance(of, Deflection | CaseResult):
        return machine_figure(what, of, magnify=magnify, width_mm=width_mm)
    if magnify is not None:
        raise InputError("magnify is for the picture of a motion", hint="plot(loop, deflection, magnify=500)")
    if isinstance(what, Outline) and (of is None or isinstance(of, SectionStiffness)):
        return profile_figure(what, of, width_mm=width_mm)
    budgets = [of] if isinstance(of, Budget) else of
    if (
        isinstance(what, Loop)
        and isinstance(budgets, Sequence)
        and all(isinstance(b, Budget) for b in budgets)
    ):
        return budget_figure(what.machine, budgets, width_mm=width_mm)
    raise InputError(
        f"there is no picture of {type(what).__name__} with {type(of).__name__}",
        hint="plot(outline), plot(outline, stiffness), plot(loop, deflection) or plot(loop, budgets)",
    )


def table(what: Deflection | CaseResult | MemberForces | Budget | SectionStiffness) -> Table:
    """A result as a table that shows itself: text, CSV, HTML, Markdown, or a frame of pandas.

    Parameters
    ----------
    what : Deflection, CaseResult, MemberForces, Budget or SectionStiffness

    Returns
    -------
    Table

    Raises
    ------
    InputError
        If there is no table of it.

    Examples
    --------
    >>> import strongback as sb
    >>> from strongback.machine.sample import post
    >>> found = sb.deflect(post())["sideways"]
    >>> rows = table(found.budget).csv().splitlines()
    >>> rows[1].startswith("post")
    True
    """
    if isinstance(what, Deflection | CaseResult):
        return motion_table(what)
    if isinstance(what, MemberForces):
        return member_table(what)
    if isinstance(what, Budget):
        return budget_table(what, "µm per N or N m")
    if isinstance(what, SectionStiffness):
        return values_table(what)
    raise InputError(
        f"there is no table of {type(what).__name__}",
        hint="give a deflection, a case, a budget or the stiffness of a section",
    )


def write(
    loop: Loop, deflection: Deflection | CaseResult, path: str | Path, *, magnify: float | None = None
) -> Path:
    """A mesh file of the machine under a pull; its ending chooses the format.

    Parameters
    ----------
    loop : Loop
    deflection : Deflection or CaseResult
    path : str or Path
        Ends in ``.vtu``, ``.vtk``, ``.xdmf`` (all data) or ``.glb`` (shape and motion, for viewers of scenes).
    magnify : float, optional
        Factor on the motion that is kept with the file, and shown in a ``.glb``; default: one at which it is seen well.

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If the format is unknown or loses data, or `magnify` is not above zero.
    EnvironmentFault
        If it cannot be written.

    Examples
    --------
    >>> import strongback as sb
    >>> from tempfile import TemporaryDirectory
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = sb.assemble(machine, sb.parts_of(machine))
    >>> with TemporaryDirectory() as folder:
    ...     write(loop, sb.solve(loop, machine.pulls[0]), Path(folder) / "post.vtu").name
    'post.vtu'
    """
    path = Path(path)
    if check_format(path) in SCENES:
        write_scene(loop, deflection, path, magnify=magnify)
    else:
        write_field(field_mesh(loop, deflection, magnify=magnify), path)
    return path
