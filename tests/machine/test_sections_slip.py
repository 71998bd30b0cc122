"""A fill that slips takes the length of its member."""

from __future__ import annotations

import dataclasses

import pytest
from machines import small_mill
from sections import MINERAL, two_cells

from strongback.machine.sections import section_stiffness
from strongback.section.outline import filled
from strongback.section.values import Fill


def test_longer_member_is_nearer_to_the_bond(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STRONGBACK_CACHE", "off")
    machine = small_mill()
    name = machine.members[0].spans[0].section
    outline = filled(two_cells(), {"a": Fill(material=MINERAL, bond=3e10)})
    sections = tuple((n, outline if n == name else s) for n, s in machine.sections)
    short = dataclasses.replace(machine, sections=sections)
    doubled = tuple(
        dataclasses.replace(m, spans=tuple(dataclasses.replace(s, length=2.0 * s.length) for s in m.spans))
        for m in machine.members
    )
    long = dataclasses.replace(short, members=doubled)
    assert section_stiffness(short)[name].EIy < section_stiffness(long)[name].EIy
    assert section_stiffness(short)[name].GJ == pytest.approx(section_stiffness(long)[name].GJ, rel=1e-9)
