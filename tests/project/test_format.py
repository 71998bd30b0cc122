"""docs/file.md names every key that the reader knows, with the words of the schema, and every unit."""

from __future__ import annotations

from pathlib import Path

import pytest

from strongback.project import (
    schema,
    schema_joints,
    schema_kinds,
    schema_plates,
    schema_sections,
    springs_schema,
)
from strongback.project.extras import EXTRAS
from strongback.project.schema import TABLES
from strongback.project.tables import LengthTable, Table
from strongback.units import UNITS

TEXT = (Path(__file__).parents[2] / "docs" / "file.md").read_text(encoding="utf-8")


def rows_of(model):
    """The lines of docs/file.md for a table."""
    return [
        f"| `{field.alias or key}` | {'yes' if field.is_required() else ''} | {field.description} |"
        for key, field in model.model_fields.items()
    ]


def models_in(model):
    """A table and all tables in it."""
    found = [model]
    for field in model.model_fields.values():
        stack = [field.annotation]
        while stack:
            kind = stack.pop()
            stack += getattr(kind, "__args__", ())
            if isinstance(kind, type) and issubclass(kind, Table):
                found += models_in(kind)
    return found


HIDDEN = (
    Table,
    LengthTable,
    schema_joints.HolderTable,
    springs_schema.AlongTable,
    springs_schema.AboutTable,
    schema_plates._AnyPlate,
)
MODELS = {
    model: None
    for module in (schema, schema_joints, schema_kinds, schema_plates, schema_sections, springs_schema)
    for model in vars(module).values()
    if isinstance(model, type) and issubclass(model, Table) and model not in HIDDEN
}
EXTRA_MODELS = [model for extra in EXTRAS for model in models_in(extra.model)]


@pytest.mark.parametrize("model", [*MODELS, *EXTRA_MODELS], ids=lambda model: model.__name__)
def test_every_key_stands_in_the_document(model):
    for key, field in model.model_fields.items():
        assert field.description, f"{model.__name__}.{key} has no words"
    missing = [row for row in rows_of(model) if row not in TEXT]
    assert not missing, "docs/file.md lacks:\n" + "\n".join(missing)


@pytest.mark.parametrize("name", [*TABLES, "state", *(extra.key for extra in EXTRAS)])
def test_every_table_has_a_heading(name):
    many = {extra.key: extra.many for extra in EXTRAS} | {key: many for key, (_, many) in TABLES.items()}
    assert (f"`[[{name}]]`" if many.get(name) else f"`[{name}]`") in TEXT


def test_every_unit_stands_in_the_document():
    for name in UNITS:
        assert not name or f"`{name}`" in TEXT
