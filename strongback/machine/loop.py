"""The structural loop: forces in members and joints, and the motions that go with them.

Balance comes first, from the places of things alone (`balance`); stiffnesses enter once, as compliances (`statics`). A
rigid component is a compliance of zero and a free one is left out, so that no stiffness has to stand in for "very stiff"
or "hardly any".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from strongback.errors import MachineError, MechanismError, PrecisionError
from strongback.machine.balance import Tie, machine_geometry, warping_ties
from strongback.machine.elements import Element, beam_elements, body_element
from strongback.machine.layout import MERGED, BodyPlace, Layout, Stations, layout, relaid
from strongback.machine.mechanism import refuse_mechanism
from strongback.machine.part.values import Parts
from strongback.machine.statics.elastic import Elastic, Solution, elastic
from strongback.machine.statics.geometry import Geometry
from strongback.machine.validate import check_machine
from strongback.machine.values import COMPONENTS, Joint, Machine, Support, Vector

__all__ = ["Assembly", "Component", "Loop", "assemble", "assembly", "rebuilt", "shared_among"]

Array = NDArray[np.float64]
PIECES = 6  # enough points for the deformed shape
STEPS = 16.0  # roundings in the flexibility of a length
SHARED = 1e-9  # of the forces that rigid joints may share: smaller is none


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Component:
    """One spring of a joint or support.

    Parameters
    ----------
    owner : str
        Name of the joint or support.
    name : str
        One of `COMPONENTS`.
    row : ndarray, shape (unknowns,)
        Opening from the motions.
    compliance : float
        [m/N] or [rad/(N m)]; 0 for a rigid one.
    loss_factor : float

    Examples
    --------
    >>> Component(owner="foot", name="about y", row=np.zeros(42), compliance=1 / 9e6).compliance > 0.0
    True
    """

    owner: str
    name: str
    row: Array
    compliance: float
    loss_factor: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loop:
    """An assembled machine, ready for any load.

    Parameters
    ----------
    layout : Layout
        Where every motion stands.
    parts : Parts
        What the machine was assembled from.
    elements : tuple of Element
        Of every member, from start to end.
    components : tuple of Component
        Every joint and support component that is not free.
    ties : tuple of Tie
        Warping that members share.
    statics : Elastic
        Forces and compliances.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> assemble(machine, parts_of(machine))
    Loop('post': 1 beams, 0 bodies, 0 blocks, 6 joint components, 0 times indeterminate)
    """

    layout: Layout
    parts: Parts
    elements: tuple[Element, ...]
    components: tuple[Component, ...]
    ties: tuple[Tie, ...]
    statics: Elastic
    _alike: list[tuple[Array, NDArray[np.int64], list[str]]] = field(default_factory=list, repr=False)

    @property
    def machine(self) -> Machine:
        """The machine that was assembled."""
        return self.layout.machine

    @property
    def size(self) -> int:
        """Number of motions."""
        return self.layout.size

    @property
    def stations(self) -> dict[str, Stations]:
        """Sections with unknowns of each member that is a beam."""
        return self.layout.stations

    @property
    def bodies(self) -> dict[str, BodyPlace]:
        """Members that are bodies."""
        return self.layout.bodies

    @property
    def blocks(self) -> dict[str, NDArray[np.int64]]:
        """Unknowns of each block."""
        return self.layout.blocks

    @property
    def indeterminacy(self) -> int:
        """How many forces in joints and supports balance alone leaves open, those between rigid parts among them."""
        return self.statics.geometry.indeterminacy

    def motion_of(self, part: str, at: Vector, pad: str = "", *, pulled: bool = False) -> Array:
        """Six motions of a point of a part from all motions.

        Parameters
        ----------
        part : str
            Name of a part, or ``GROUND``.
        at : Vector
            [m]
        pad, pulled
            As in `Layout.motion_of`.

        Returns
        -------
        ndarray, shape (6, unknowns)
        """
        return self.layout.motion_of(part, at, pad, pulled=pulled)

    def state(self, loads: Array) -> Solution:
        """Forces and deformations under loads on the motions.

        Parameters
        ----------
        loads : ndarray, shape (unknowns, cases)

        Returns
        -------
        Solution
        """
        return self.statics.solve(self.statics.carry(loads))

    def solve(self, loads: Array) -> tuple[Array, Array]:
        """Motions and joint forces under loads on the motions.

        Parameters
        ----------
        loads : ndarray, shape (unknowns, cases)

        Returns
        -------
        motions : ndarray, shape (unknowns, cases)
        forces : ndarray, shape (components, cases)
            Those of rigid components that hold each other are the smallest that are in balance: see `not_unique`.
        """
        found = self.state(loads)
        return self.statics.motions(found), found.joints

    def read(self, rows: Array, loads: Array) -> Array:
        """Readings under loads, by virtual work: exact where motions are large and their difference is small.

        Parameters
        ----------
        rows : ndarray, shape (readings, unknowns)
        loads : ndarray, shape (unknowns, cases)

        Returns
        -------
        ndarray, shape (readings, cases)
        """
        return self.statics.read(self.statics.carry(rows.T), self.state(loads))

    def alike(self) -> list[tuple[Array, NDArray[np.int64], list[str]]]:
        """Elements of one shape together: flexibility by mechanism (k, m, n, n), places of the forces (k, n), members."""
        if not self._alike and self.elements:
            ends = np.cumsum([0, *(len(e.shape) for e in self.elements)])
            kinds: dict[tuple[int, ...], list[int]] = {}
            for i, element in enumerate(self.elements):
                kinds.setdefault(element.parts.shape, []).append(i)
            self._alike.extend(
                (
                    np.stack([self.elements[i].parts for i in index]),
                    ends[index][:, None] + np.arange(shape[-1]),
                    [self.elements[i].member for i in index],
                )
                for shape, index in kinds.items()
            )
        return self._alike

    def forces_of(self, state: Solution) -> list[Array]:
        """Forces of each element under every load, (forces, cases) each, in the order of `elements`."""
        ends = np.cumsum([len(e.shape) for e in self.elements])
        return np.split(state.elements, ends[:-1]) if len(ends) else []

    def not_unique(self) -> tuple[Component, ...]:
        """Rigid components that hold each other: motions are as given, how they share a force is not known."""
        return shared_among(self.components, self.statics)

    def stiffness_matrix(self) -> Array:
        """Stiffness of all members on all motions, without joints, (unknowns, unknowns)."""
        K = np.zeros((self.size, self.size))
        for element in self.elements:
            used = element.columns >= 0
            K[np.ix_(element.columns[used], element.columns[used])] += element.stiffness[np.ix_(used, used)]
        return K

    def __repr__(self) -> str:
        return (
            f"Loop({self.machine.name!r}: {len(self.stations)} beams, {len(self.bodies)} bodies, "
            f"{len(self.blocks)} blocks, {len(self.components)} joint components, {self.indeterminacy} times "
            f"indeterminate)"
        )


def shared_among(components: Sequence[Component], statics: Elastic) -> tuple[Component, ...]:
    """Rigid components that hold each other, so that how they share a force is not known.

    Parameters
    ----------
    components : sequence of Component
    statics : Elastic
        Of their loop, or the same with other compliances.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> shared_among(loop.components, loop.statics)  # one foot: nothing is held twice
    ()
    """
    shared = np.abs(statics.locked).max(axis=1, initial=0.0) > SHARED
    return tuple(c for c, one in zip(components, shared, strict=True) if one)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assembly:
    """A machine put together and not yet solved; nothing need hold it.

    Parameters
    ----------
    layout, parts, elements, components, ties
        As in `Loop`.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> assembly(machine, parts_of(machine))
    Assembly('post': 1 elements, 6 components)
    """

    layout: Layout
    parts: Parts
    elements: tuple[Element, ...]
    components: tuple[Component, ...]
    ties: tuple[Tie, ...]

    @property
    def machine(self) -> Machine:
        """The machine that was assembled."""
        return self.layout.machine

    def __repr__(self) -> str:
        return f"Assembly({self.machine.name!r}: {len(self.elements)} elements, {len(self.components)} components)"


def assembly(machine: Machine, parts: Parts, *, pieces: int = 1) -> Assembly:
    """Put a machine together without asking what holds it.

    Parameters
    ----------
    machine : Machine
    parts : Parts
    pieces : int
        Lengths that a beam is cut into at least, beside those between the places where something is attached.

    Returns
    -------
    Assembly

    Raises
    ------
    MachineError
        As `assemble`.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> len(assembly(machine, parts_of(machine), pieces=4).elements)
    4
    """
    check_machine(machine)
    return _assembly(layout(machine, parts, pieces, MERGED), parts)


def _assembly(places: Layout, parts: Parts) -> Assembly:
    elements: list[Element] = []
    for member in places.machine.members:
        if member.name in places.bodies:
            elements.append(body_element(member, places.bodies[member.name]))
        else:
            elements += beam_elements(member, places.stations[member.name], parts.sections)
    return Assembly(
        layout=places,
        parts=parts,
        elements=tuple(elements),
        components=_components(places),
        ties=warping_ties(places, parts.sections),
    )


def assemble(
    machine: Machine,
    parts: Parts,
    *,
    pieces: int = PIECES,
    like: Loop | None = None,
) -> Loop:
    """Build the loop of a machine.

    Parameters
    ----------
    machine : Machine
    parts : Parts
        From `strongback.machine.part.parts_of`.
    pieces : int
        Lengths that a beam is cut into at least. Deflections do not depend on it; neither do natural frequencies, which
        are found on lengths of their own.
    like : Loop, optional
        Of a machine that differs in nothing but stiffnesses: its checks and its layout are taken over.

    Returns
    -------
    Loop

    Raises
    ------
    MachineError
        If parts, joints or pulls do not fit together, or a member is a body that `parts` does not hold.
    MechanismError
        If a part is free to move.
    PrecisionError
        If stiffnesses lie so far apart that rounding decides.

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> loop = assemble(machine, parts_of(machine))
    >>> len(loop.stations["post"].s), loop.size  # seven sections of six motions
    (7, 42)
    """
    if like is None:
        check_machine(machine)
        refuse_mechanism(machine)
        places = layout(machine, parts, pieces)
    else:
        places = relaid(like.layout, machine, parts)
    return _built(places, parts, like)


def rebuilt(machine: Machine, parts: Parts) -> Loop:
    """The loop of a machine that was checked before, with no more stations than it needs.

    Parameters
    ----------
    machine : Machine
    parts : Parts

    Returns
    -------
    Loop

    Examples
    --------
    >>> from strongback.machine.part.make import parts_of
    >>> from strongback.machine.sample import post
    >>> machine = post()
    >>> rebuilt(machine, parts_of(machine)).size  # the foot and the top: twelve motions
    12
    """
    return _built(layout(machine, parts, 1), parts, None)


def _built(places: Layout, parts: Parts, like: Loop | None) -> Loop:
    made = _assembly(places, parts)
    elements, components, ties = list(made.elements), made.components, made.ties
    geometry = None if like is None else _same_geometry(like, elements, components)
    if geometry is None:
        rows = np.array([c.row for c in components]).reshape(len(components), places.size)
        about = np.array([c.name.startswith("about") for c in components], dtype=bool)
        geometry = machine_geometry(places, elements, rows, about, ties)
    return Loop(
        layout=places,
        parts=parts,
        elements=made.elements,
        components=components,
        ties=ties,
        statics=_elastic(geometry, elements, components, _rounded(places, elements)),
    )


def _same_geometry(like: Loop, elements: list[Element], components: tuple[Component, ...]) -> Geometry | None:
    """That of another loop of the same places, if the same components hold and warping goes on in the same measure."""
    same = [(c.owner, c.name) for c in components] == [(c.owner, c.name) for c in like.components]
    same = same and all(
        np.array_equal(a.shape, b.shape) for a, b in zip(elements, like.elements, strict=True)
    )
    return like.statics.geometry if same and not like.ties else None


def _rounded(places: Layout, elements: list[Element]) -> Array:
    """How many rounding units a flexibility may be off: some steps, and of a short length what its ends are rounded by."""
    found = []
    for member in places.machine.members:
        if member.name in places.bodies:
            found.append(STEPS * len(places.bodies[member.name].columns))
        else:
            s = places.stations[member.name].s
            found += (STEPS + s[1:] / np.diff(s)).tolist()
    return np.repeat(found, [len(e.shape) for e in elements]) if found else np.zeros(0)


def _elastic(
    geometry: Geometry, elements: list[Element], components: tuple[Component, ...], rounded: Array
) -> Elastic:
    if geometry.margin == 0.0:
        raise MechanismError("a part is as good as free to move", hint="add a joint or a support")
    F = np.zeros((len(geometry.element_unit),) * 2)
    first = 0
    for element in elements:
        last = first + len(element.shape)
        F[first:last, first:last] = element.flexibility
        first = last
    compliance = np.array([c.compliance for c in components])
    try:
        return elastic(geometry, F, compliance, rounded)
    except np.linalg.LinAlgError:
        worst = components[int(np.argmax(compliance * geometry.joint_unit**2))]
        raise PrecisionError(
            f'stiffnesses lie too far apart to be told from rounding; the softest is "{worst.owner}", {worst.name}',
            hint='give it its true stiffness, or "free" if it holds nothing',
            owner=worst.owner,
            component=worst.name,
        ) from None


def _components(places: Layout) -> tuple[Component, ...]:
    rows: list[Component] = []
    for joint in places.machine.joints:
        _refuse_bare_wall(places, joint.name, joint.pad, [(part, joint.at) for part in joint.parts])
        first, second = (places.motion_of(part, joint.at, joint.pad) for part in joint.parts)
        rows += _springs(joint, second - first)
    for support in places.machine.supports:
        _refuse_bare_wall(places, support.name, "", [(support.part, support.at)])
        rows += _springs(support, places.motion_of(support.part, support.at))
    return tuple(rows)


def _refuse_bare_wall(places: Layout, name: str, pad: str, ends: list[tuple[str, Vector]]) -> None:
    """A joint holds on to a body through a pad or an end face."""
    for part, at in ends:
        own = pad if any(p.name == pad and p.part == part for p in places.machine.pads) else ""
        if part in places.bodies and not places.bodies[part].interface_at(at, own):
            raise MachineError(
                f'"{name}" meets "{part}", which is a body, on its bare wall',
                hint="give the joint a pad, or put it at an end of the member",
            )


def _springs(owner: Joint | Support, opening: Array) -> list[Component]:
    along = np.asarray(owner.axes) @ opening[:3]
    about = np.asarray(owner.axes) @ opening[3:]
    rows = np.vstack([along, about])
    return [
        Component(owner=owner.name, name=name, row=row, compliance=1.0 / k, loss_factor=owner.loss_factor)
        for name, row, k in zip(COMPONENTS, rows, owner.stiffness, strict=True)
        if k > 0.0
    ]
