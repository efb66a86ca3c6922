"""A JSON Schema of the job file for editors: completion, descriptions on hover, mistakes underlined.

It checks a file by itself, and a file may state a part and extend others for the rest. So no key
is required here, and what an extended file states may be removed with null; planforge checks the whole.
"""

from __future__ import annotations

import re
from typing import Any

from pydantic import BaseModel

from planforge import units
from planforge.job.cross_references import REFERENCES
from planforge.job.descriptions import description
from planforge.job.field_types import FieldType, field_type
from planforge.job.model import Job
from planforge.job.quantities import FACTOR
from planforge.job.reference import EXTENDS, EXTENDS_DESCRIPTION, belongs_to_lot, type_words

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_SIMPLE: dict[str, Schema] = {"switch": {"type": "boolean"}, "date": {"type": "string", "format": "date"}}


def json_schema() -> Schema:
    """Return the JSON Schema (2020-12) of a job file."""
    groups: dict[str, Schema] = {}
    root = group_schema(Job, "", groups)
    name = {"type": "string", "minLength": 1}
    extends = {"description": EXTENDS_DESCRIPTION, "anyOf": [name, {"type": "array", "items": name}]}
    root["properties"] = {EXTENDS: extends, **root["properties"]}
    return {"$schema": DIALECT, **root, "$defs": dict(sorted(groups.items()))}


def group_schema(model: type[BaseModel], path: str, groups: dict[str, Schema]) -> Schema:
    """Return the schema of a group at a dotted path; the groups inside it join ``groups`` by name."""
    properties: Schema = {}
    for name, field in model.model_fields.items():
        under = f"{path}.{name}" if path else name
        kind = field_type(field)
        schema = _value(kind, under, groups)
        if not field.is_required():
            schema = {"anyOf": [schema, {"type": "null"}]}
        properties[name] = {"description": _hover(model, name, kind, under), **schema}
    about = " ".join((model.__doc__ or "").split())
    return {"type": "object", "description": about, "properties": properties, "additionalProperties": False}


def _hover(model: type[BaseModel], name: str, kind: FieldType, path: str) -> str:
    own = " Stated in the lot's own file only." if belongs_to_lot(path) else ""
    words = type_words(kind, REFERENCES.get(path, ()))
    return f"{description(model, name)} {words[0].upper()}{words[1:]}.{own}"


def _value(kind: FieldType, path: str, groups: dict[str, Schema]) -> Schema:
    schema = _bare(kind, path, groups)
    if not kind.rated:
        return schema
    properties = {
        "value": {"description": "The value itself.", **schema},
        "source": {
            "description": "The document it comes from, with its page.",
            "type": "string",
            "minLength": 1,
        },
        "dated": {"description": "The date of that document.", "type": "string", "format": "date"},
    }
    stated = {
        "type": "object",
        "properties": properties,
        "required": ["value"],
        "additionalProperties": False,
    }
    return {"anyOf": [schema, stated]}


def _bare(kind: FieldType, path: str, groups: dict[str, Schema]) -> Schema:
    match kind.kind:
        case "quantity":
            schema = _quantity(kind.phrase)
        case "choice":
            schema = {"enum": list(kind.choices)}
        case "whole number":
            schema = _bounded(kind, {"type": "integer"}, "minimum", "maximum")
        case "short name":
            # an editor reads `id: 12` as a number, planforge as a short name
            schema = {"type": ["string", "number"], "pattern": kind.pattern}
        case "text":
            schema = _bounded(kind, {"type": ["string", "number"]}, "minLength", "maxLength")
        case "point":
            length = _quantity(units.LENGTH.expected)
            schema = {"type": "array", "items": length, "minItems": 2, "maxItems": 2}
        case "list" if kind.item is not None:
            items = {"type": "array", "items": _value(kind.item, path, groups)}
            schema = _bounded(kind, items, "minItems", "maxItems")
        case "names" if kind.item is not None:
            schema = {"type": "object", "additionalProperties": _value(kind.item, path, groups)}
        case "group" if kind.model is not None:
            schema = _reference(kind.model, path, groups)
        case _:
            schema = dict(_SIMPLE[kind.kind])
    return schema


def _reference(model: type[BaseModel], path: str, groups: dict[str, Schema]) -> Schema:
    name = model.__name__
    if name not in groups:
        groups[name] = group_schema(model, path, groups)
    return {"$ref": f"#/$defs/{name}"}


def _quantity(phrase: str) -> Schema:
    examples = re.split(r", | or ", phrase.partition(" such as ")[2])
    if phrase == FACTOR:
        return {"type": ["string", "number"], "examples": examples}
    text: Schema = {"type": "string", "examples": examples}
    return text if phrase == units.TEMPERATURE.expected else {"anyOf": [text, {"const": 0}]}


def _bounded(kind: FieldType, schema: Schema, least: str, most: str) -> Schema:
    bounds = {least: kind.least, most: kind.most}
    return schema | {key: bound for key, bound in bounds.items() if bound is not None}
