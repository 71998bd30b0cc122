"""Other things to put into a cell, each as the same value: what it does to stiffness, mass, damping and gap.

Figures are ranges from memory or common practice where no source is named; measure where it matters.
"""

from __future__ import annotations

from dataclasses import dataclass

from strongback.checks import nearest
from strongback.errors import MixError
from strongback.materials import Material

__all__ = ["KINDS", "FillKind", "fill_kind"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FillKind:
    """A kind of fill.

    Parameters
    ----------
    name : str
    material : Material or None
        What the section is solved with; None where it adds mass and damping only.
    density : float
        [kg/m³]
    loss_factor : tuple of float
        Range [-].
    shrinkage : tuple of float
        Linear, after setting [-]; negative: it grows.
    bond : str
        How far it may be taken as bonded.
    cautions : tuple of str
        Keys of `cautions.CAUTIONS`.
    notes : tuple of str
    source : str
    needs_rods : bool
        Whether it is the glue around bars that have to be given.
    """

    name: str
    material: Material | None
    density: float
    loss_factor: tuple[float, float]
    shrinkage: tuple[float, float]
    bond: str
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    source: str
    needs_rods: bool = False

    @property
    def stiffens(self) -> bool:
        """Whether it adds stiffness."""
        return self.material is not None

    def attacks(self, wall: str) -> bool:
        """Whether it attacks a wall of that material while fresh."""
        return "cement in aluminium" in self.cautions and "alumin" in wall.lower()


def _solid(
    name: str, E: float, low: float, high: float, nu: float, density: float, expansion: float
) -> Material:
    return Material(
        name=name,
        E=E,
        nu=nu,
        density=density,
        expansion=expansion,
        E_range=(low, high),
        source="range from memory, no source; measure a test bar",
    )


KINDS: dict[str, FillKind] = {
    kind.name: kind
    for kind in (
        FillKind(
            name="resin-bonded mineral",
            material=_solid("resin-bonded mineral", 12e9, 9e9, 16e9, 0.25, 2150.0, 22e-6),
            density=2150.0,
            loss_factor=(0.01, 0.03),
            shrinkage=(2e-4, 1e-3),
            bond="bonded where the wall was abraded, degreased and wiped with resin; sliding otherwise",
            cautions=("silica", "epoxy", "exotherm", "wall pressure", "lifting", "waste"),
            notes=("expect the modulus of your own test bar, not that of factory castings",),
            source="modulus: Hashin-Shtrikman lower bound; loss factor common practice, no source",
        ),
        FillKind(
            name="cement grout",
            material=_solid("cement grout", 25e9, 18e9, 32e9, 0.2, 2200.0, 10e-6),
            density=2200.0,
            loss_factor=(0.005, 0.015),
            shrinkage=(4e-4, 1e-3),
            bond="0.22 to 0.51 MPa in square aluminium tubes (push-out, Scientific Reports 2025); dries away from the wall",
            cautions=("cement in aluminium", "cement", "silica", "wall pressure", "lifting", "waste"),
            notes=(
                "fresh cement is alkaline and attacks aluminium with bubbles of hydrogen: the skin at the wall stays weak",
                "water stays in a closed column for months and rusts iron; dry shrinkage opens a gap",
                "reaches most of its modulus in 28 days",
            ),
            source="modulus: order of EN 1992-1-1 Table 3.1, from memory; shrinkage from memory",
        ),
        FillKind(
            name="dry sand",
            material=None,
            density=1650.0,
            loss_factor=(0.01, 0.1),
            shrinkage=(0.0, 0.0),
            bond="none",
            cautions=("silica", "lifting", "spill"),
            notes=(
                "mass and damping only: bending and torsion stiffness stay as they were",
                "settles; top it up",
            ),
            source="common practice, no source",
        ),
        FillKind(
            name="steel shot",
            material=None,
            density=4600.0,
            loss_factor=(0.01, 0.1),
            shrinkage=(0.0, 0.0),
            bond="none",
            cautions=("lifting", "wall pressure", "spill"),
            notes=("mass and damping only", "rusts when damp; rolls on the floor"),
            source="bulk density from memory; damping common practice, no source",
        ),
        FillKind(
            name="oil-soaked sand",
            material=None,
            density=1950.0,
            loss_factor=(0.02, 0.15),
            shrinkage=(0.0, 0.0),
            bond="none, and the wall can never be bonded afterwards",
            cautions=("oil", "lifting", "spill", "waste"),
            notes=(
                "mass and damping only",
                "seeps through every thread and seam; spoils any later bond or paint",
            ),
            source="common practice, no source",
        ),
        FillKind(
            name="bars bonded in",
            material=_solid("neat epoxy", 3.2e9, 2.5e9, 4.0e9, 0.36, 1120.0, 60e-6),
            density=1120.0,
            loss_factor=(0.005, 0.02),
            shrinkage=(1e-3, 5e-3),
            bond="by its glue line: steel 11e-6/K less than aluminium pulls at it with every change of temperature",
            cautions=("epoxy", "exotherm", "lifting", "alignment", "waste"),
            notes=(
                "neat resin around bars or tubes; they are solved where they stand",
                "a bar off the centre bows the member when it warms",
                "needs a clear, straight way in",
                "neat resin heats itself in thick layers: pour little at a time",
            ),
            source="neat epoxy from memory; bars from the table of materials",
            needs_rods=True,
        ),
        FillKind(
            name="foam",
            material=_solid("rigid foam", 0.05e9, 0.005e9, 0.15e9, 0.3, 150.0, 60e-6),
            density=150.0,
            loss_factor=(0.02, 0.06),
            shrinkage=(0.0, 5e-3),
            bond="bonded, but so soft that it only steadies thin walls",
            cautions=("foam", "wall pressure", "waste"),
            notes=("quietens thin walls; adds next to no stiffness to the section",),
            source="from memory",
        ),
    )
}


def fill_kind(name: str) -> FillKind:
    """Find a kind of fill by name.

    Raises
    ------
    MixError
        If there is none of that name.

    Examples
    --------
    >>> fill_kind("dry sand").stiffens
    False
    """
    if name in KINDS:
        return KINDS[name]
    raise MixError(f'unknown fill "{name[:60]}"', hint=nearest(name, KINDS, cutoff=0.5))
