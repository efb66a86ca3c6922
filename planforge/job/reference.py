"""The reference of the job file: what each field holds, whether it must be there, what it means.

Fields are written dotted, lists standing for each of their entries: ``layout.lines.sag``. The
descriptions are the docstrings below the models' fields, read only when asked for.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from functools import cache
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from planforge.errors import PlanforgeError
from planforge.job.cross_references import EQUIPMENT, REFERENCES
from planforge.job.descriptions import description
from planforge.job.field_types import FieldType, field_type, group
from planforge.job.fields import bare
from planforge.job.model import LOT_ONLY, Job
from planforge.job.wording import listed, nearest

EXTENDS = "extends"
EXTENDS_DESCRIPTION = (
    "The file this one builds upon, by its path from this file's folder, or a list of such files. "
    "Groups merge field by field, lists whose entries have an id merge by id, and this file wins; "
    "of several files the later wins. A written null removes what an extended file states. "
    "What belongs to one lot stands in the lot's own file."
)

_INDEX = re.compile(r"\[[^\]]*\]")


@dataclass(frozen=True, slots=True)
class FieldDoc:
    """One field of the job file in words.

    ``default`` is empty for a required field; ``about`` is what a group is, empty for values;
    ``refers_to`` are the lists that a named id must stand in; ``children`` are a group's fields, dotted.
    """

    path: str
    type: str
    required: bool
    lot_only: bool
    default: str
    description: str
    about: str = ""
    refers_to: tuple[str, ...] = ()
    children: tuple[str, ...] = ()


class UnknownFieldError(PlanforgeError):
    """A field that no job file has; the message names the nearest one."""


def describe(path: str) -> FieldDoc:
    """Return what a field is. Indexes as messages print them (``lines[0 "north"]``) are passed over.

    An empty path means the whole file. Raises :class:`UnknownFieldError` for any other that is no field.
    """
    name = ".".join(part.strip() for part in _INDEX.sub("", path).strip().strip(".").split("."))
    if not name:
        about = inspect.cleandoc(Job.__doc__ or "")
        return FieldDoc(
            "", "a group of fields", True, False, "", about, about, (), (EXTENDS, *_keys(Job, ""))
        )
    if name == EXTENDS:
        return FieldDoc(name, "a text, or a list of texts", False, False, "nothing", EXTENDS_DESCRIPTION)
    holder: type[BaseModel] | None = Job
    parts = name.split(".")
    for count, part in enumerate(parts, start=1):
        if holder is None or part not in holder.model_fields:
            raise _unknown(name, ".".join(parts[: count - 1]))
        if count < len(parts):
            holder = _inside(holder.model_fields[part])
    assert holder is not None  # the loop ends with the last part's holder
    return _document(name, holder, parts[-1])


@cache
def fields() -> tuple[str, ...]:
    """Return every field of the job file, dotted, in the order of the models."""
    return (EXTENDS, *(path for path, _, _ in walk()))


def walk() -> Iterator[tuple[str, type[BaseModel], str]]:
    """Yield path, model and name of every field, groups before what they hold."""
    yield from _walk(Job, "")


def reference_page() -> str:
    """Return every field as Markdown, a table for each group of the job file."""
    rows = [EXTENDS, *(f for f in fields() if "." not in f and f != EXTENDS)]
    sections = ["# The job file", *_table(rows)]
    for path in fields():
        doc = describe(path)
        if doc.children:
            sections += [
                f"{'#' * min(2 + path.count('.'), 4)} `{path}`",
                doc.about,
                *_table(list(doc.children)),
            ]
    return "\n\n".join(sections) + "\n"


def type_words(kind: FieldType, refers_to: tuple[str, ...] = ()) -> str:
    """Return a type in plain words."""
    words = _words(kind, refers_to)
    if kind.rated:
        return f"{words}; alone, or as a group of value, source and dated"
    return words


def default_words(field: FieldInfo) -> str:
    """Return what holds where a field is left out; empty where it can't be."""
    if field.is_required():
        return ""
    value: Any = field.get_default(call_default_factory=True)
    words = {type(None): "nothing", list: "an empty list"}.get(type(value))
    if words is None:
        match value:
            case bool():
                words = "true" if value else "false"
            case Enum():
                words = str(value.value)
            case BaseModel():
                words = "an empty group"
            case float():
                words = f"{value:g}"
            case _:
                words = str(value)
    return words


def belongs_to_lot(path: str) -> bool:
    """Return whether a field is one lot's alone, so that no shared file may state it."""
    return any(path == own or path.startswith(f"{own}.") for own in LOT_ONLY)


def _document(path: str, holder: type[BaseModel], name: str) -> FieldDoc:
    field = holder.model_fields[name]
    kind = field_type(field)
    model = group(kind)
    refers_to = REFERENCES.get(path, ())
    return FieldDoc(
        path=path,
        type=type_words(kind, refers_to),
        required=field.is_required(),
        lot_only=belongs_to_lot(path),
        default=default_words(field),
        description=description(holder, name),
        about=" ".join((model.__doc__ or "").split()) if model else "",
        refers_to=refers_to,
        children=_keys(model, path) if model else (),
    )


_WORDS = {
    "switch": "true or false",
    "date": "a date such as 2026-11-25",
    "short name": "a short name of letters, digits, hyphens, points or underscores",
    "text": "a text",
    "point": "a point [x, y], each a length",
    "group": "a group of fields",
}
_PLURALS = {
    "group": "groups of fields",
    "text": "texts",
    "point": "points [x, y]",
    "short name": "short names",
}


def _words(kind: FieldType, refers_to: tuple[str, ...]) -> str:
    match kind.kind:
        case "quantity":
            words = kind.phrase
        case "choice":
            words = f"one of: {', '.join(kind.choices)}" if len(kind.choices) > 1 else kind.choices[0]
        case "names":
            words = f"names, each with {_words(_item(kind), ())}"
        case "list":
            words = f"a list of {_counted(kind, refers_to)}"
        case "whole number":
            words = f"a whole number{_bounds(kind)}"
        case "text" if kind.most:
            words = f"a text of at most {kind.most} characters"
        case "short name" if refers_to:
            words = f"an id under {_homes(refers_to)}"
        case _:
            words = _WORDS[kind.kind]
    return words


def _counted(kind: FieldType, refers_to: tuple[str, ...]) -> str:
    item = _item(kind)
    things = f"ids under {_homes(refers_to)}" if refers_to else _PLURALS.get(item.kind) or _words(item, ())
    return f"{things}, at least {kind.least}" if kind.least else things


def _item(kind: FieldType) -> FieldType:
    assert kind.item is not None  # lists and names hold something
    return kind.item


def _bounds(kind: FieldType) -> str:
    if kind.least is not None and kind.most is not None:
        return f" from {kind.least} to {kind.most}"
    if kind.least is not None:
        return f" of at least {kind.least}"
    return "" if kind.most is None else f" of at most {kind.most}"


def _homes(refers_to: tuple[str, ...]) -> str:
    return "equipment" if refers_to == EQUIPMENT else listed(refers_to)


def _inside(field: FieldInfo) -> type[BaseModel] | None:
    """Return the model whose fields a path goes on with: a group's, or a rated value's own."""
    kind = field_type(field)
    if kind.rated:
        rated: type[BaseModel] = bare(field.annotation)
        return rated
    return group(kind)


def _keys(model: type[BaseModel], path: str) -> tuple[str, ...]:
    return tuple(f"{path}.{name}" if path else name for name in model.model_fields)


def _walk(model: type[BaseModel], path: str) -> Iterator[tuple[str, type[BaseModel], str]]:
    for name, field in model.model_fields.items():
        under = f"{path}.{name}" if path else name
        yield under, model, name
        if (inner := group(field_type(field))) is not None:
            yield from _walk(inner, under)


def _unknown(name: str, holder: str) -> UnknownFieldError:
    last = name.rpartition(".")[2]
    ends = [path for path in fields() if path == last or path.endswith(f".{last}")]
    near = nearest(name, fields())
    found = ends[:3] if ends else [near] if near else []
    hint = f" Did you mean {listed(found)}?" if found else ""
    where = f"planforge explain {holder}" if holder else "planforge explain"
    return UnknownFieldError(f"{name} is no field of a job file.{hint} {where} shows what there is.")


def _table(paths: list[str]) -> list[str]:
    lines = ["| Field | Holds | If left out | Meaning |", "| --- | --- | --- | --- |"]
    for path in paths:
        doc = describe(path)
        left_out = "required" if doc.required else doc.default
        lot = " Stated in the lot's own file only." if doc.lot_only else ""
        cells = (f"`{path.rpartition('.')[2]}`", doc.type, left_out, f"{doc.description}{lot}")
        lines.append(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |")
    return ["\n".join(lines)]
