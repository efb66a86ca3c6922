"""The reference of the site file: its fields in words, and its JSON Schema for editors.

A lot's fields are those of a job file, so that both come from the job's own reference.
"""

from __future__ import annotations

import inspect
from dataclasses import replace
from typing import Final

from pydantic import BaseModel

from planforge.job.descriptions import description
from planforge.job.field_types import field_type
from planforge.job.json_schema import DIALECT, Schema, group_schema, json_schema
from planforge.job.model import Job
from planforge.job.reference import FieldDoc, UnknownFieldError, default_words, describe, type_words
from planforge.job.wording import nearest
from planforge.site.model import Lot, SiteFile, Table

_GROUPS: Final[dict[str, type[BaseModel]]] = {"": SiteFile, "lots": Lot, "table": Table}
_LOTS: Final = "lots."


def describe_site(path: str) -> FieldDoc:
    """Return what a field of the site file is; an empty path means the whole file.

    Raises :class:`planforge.job.reference.UnknownFieldError` for what is no field of it.
    """
    name = path.strip()
    if name in known():
        return _document(name)
    if name.startswith(_LOTS):
        doc = describe(name.removeprefix(_LOTS))
        children = tuple(_LOTS + child for child in doc.children)
        return replace(doc, path=name, lot_only=False, children=children)
    near = nearest(name, known())
    hint = f" Did you mean {near}?" if near else ""
    raise UnknownFieldError(
        f"{name} is no field of a site file.{hint} planforge explain --site shows what there is."
    )


def known() -> tuple[str, ...]:
    """Return every field of the site file, a job's under ``lots`` left out; the file itself is empty."""
    fields = [_under(group, name) for group, model in _GROUPS.items() for name in model.model_fields]
    return ("", *fields)


def _document(path: str) -> FieldDoc:
    model = _GROUPS.get(path)
    about = inspect.cleandoc(model.__doc__ or "") if model else ""
    names = [*model.model_fields, *(Job.model_fields if model is Lot else ())] if model else []
    children = tuple(_under(path, name) for name in names)
    if not path:
        return FieldDoc("", "a group of fields", True, False, "", about, about, (), children)
    group, _, name = path.rpartition(".")
    holder = _GROUPS[group]
    field = holder.model_fields[name]
    words = type_words(field_type(field))
    return FieldDoc(
        path=path,
        type=f"{words}, or the name of its file alone" if model is Table else words,
        required=field.is_required(),
        lot_only=False,
        default=default_words(field),
        description=description(holder, name),
        about=about,
        children=children,
    )


def _under(group: str, name: str) -> str:
    return f"{group}.{name}" if group else name


def site_schema() -> Schema:
    """Return the JSON Schema (2020-12) of a site file."""
    job = json_schema()
    groups: dict[str, Schema] = dict(job["$defs"])
    root = group_schema(SiteFile, "site file", groups)
    of_job = {name: job["properties"][name] for name in Job.model_fields}
    own = groups["Lot"]["properties"]
    extends = {**job["properties"]["extends"], "description": own["extends"]["description"]}
    groups["Lot"] = {
        **groups["Lot"],
        "properties": {**own, "extends": extends, **of_job},
        "required": ["id"],
    }
    root["properties"]["shared"]["anyOf"].insert(0, {"type": "string", "minLength": 1})
    table = root["properties"]["table"]
    table["anyOf"] = [{"type": "string", "minLength": 1}, *table["anyOf"]]
    return {"$schema": DIALECT, **root, "$defs": dict(sorted(groups.items()))}
