"""The reference of the inventory file: its fields in words, and its JSON Schema for editors."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from planforge.job.descriptions import description
from planforge.job.field_types import field_type, group
from planforge.job.json_schema import DIALECT, Schema, group_schema
from planforge.job.reference import (
    EXTENDS,
    EXTENDS_DESCRIPTION,
    FieldDoc,
    UnknownFieldError,
    default_words,
    type_words,
)
from planforge.job.wording import nearest
from planforge.kits.inventory import Inventory


def describe_kits(path: str) -> FieldDoc:
    """Return what a field of the inventory is; an empty path means the whole file.

    Raises :class:`planforge.job.reference.UnknownFieldError` for what is no field of it.
    """
    name = path.strip()
    fields = {under: (model, own) for under, model, own in walk()}
    if name == "":
        about = " ".join((Inventory.__doc__ or "").split())
        return FieldDoc(
            "", "a group of fields", True, False, "", about, about, (), tuple(Inventory.model_fields)
        )
    if name not in fields:
        near = nearest(name, fields)
        hint = f" Did you mean {near}?" if near else ""
        raise UnknownFieldError(
            f"{name} is no field of an inventory of kits.{hint} planforge explain --kits shows what there is."
        )
    holder, own = fields[name]
    field = holder.model_fields[own]
    kind = field_type(field)
    inner = group(kind)
    return FieldDoc(
        path=name,
        type=type_words(kind),
        required=field.is_required(),
        lot_only=False,
        default=default_words(field),
        description=description(holder, own),
        about=" ".join((inner.__doc__ or "").split()) if inner else "",
        children=tuple(f"{name}.{child}" for child in inner.model_fields) if inner else (),
    )


def walk(model: type[BaseModel] = Inventory, above: str = "") -> Iterator[tuple[str, type[BaseModel], str]]:
    """Yield path, model and name of every field, groups before what they hold."""
    for name, field in model.model_fields.items():
        under = f"{above}.{name}" if above else name
        yield under, model, name
        inner = group(field_type(field))
        if inner is not None:
            yield from walk(inner, under)


def kits_schema() -> Schema:
    """Return the JSON Schema (2020-12) of an inventory file."""
    groups: dict[str, Schema] = {}
    root = group_schema(Inventory, "inventory of kits", groups)
    name = {"type": "string", "minLength": 1}
    extends = {"description": EXTENDS_DESCRIPTION, "anyOf": [name, {"type": "array", "items": name}]}
    root["properties"] = {EXTENDS: extends, **root["properties"]}
    return {"$schema": DIALECT, **root, "$defs": dict(sorted(groups.items()))}
