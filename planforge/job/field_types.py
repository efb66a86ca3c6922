"""The type of a job field as a file states it: quantity, choice, text, list, group and so on.

Read from the models' annotations, so that the reference and the JSON Schema can't drift from them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Any, Literal, get_args, get_origin

from annotated_types import Ge, Le, MaxLen, MinLen
from pydantic import BaseModel, StringConstraints, WithJsonSchema
from pydantic.fields import FieldInfo

from planforge.job.base import Pair, Rated
from planforge.job.fields import choices, members
from planforge.job.in_plan import InPlan

Kind = Literal[
    "quantity",
    "whole number",
    "switch",
    "date",
    "short name",
    "text",
    "choice",
    "point",
    "list",
    "names",
    "group",
]

_SIMPLE: dict[Any, Kind] = {int: "whole number", bool: "switch", date: "date"}


@dataclass(frozen=True, slots=True)
class FieldType:
    """A field's type. Bounds hold for a number, for a text's length or for the count of a list."""

    kind: Kind
    phrase: str = ""
    """A quantity in words with examples: ``a force such as 1,800 lbf or 8 kN``."""
    choices: tuple[str, ...] = ()
    item: FieldType | None = None
    """What a list or named values hold."""
    model: type[BaseModel] | None = None
    rated: bool = False
    """True where the value may be written with its source and date beside it."""
    pattern: str | None = None
    least: int | None = None
    most: int | None = None
    in_plan: InPlan | None = None
    """For a point or an angle: how it follows a house that is mirrored, turned and shifted."""


def field_type(field: FieldInfo) -> FieldType:
    """Return the type of a model's field. Raises TypeError for a type that no job field has."""
    return _of(field.annotation, field.metadata)


def group(kind: FieldType) -> type[BaseModel] | None:
    """Return the model of a group, or of each entry of a list of groups; None for plain values."""
    return kind.item.model if kind.item is not None else kind.model


def _of(annotation: Any, metadata: Iterable[Any] = ()) -> FieldType:
    details = [
        detail for one in metadata for detail in (one.metadata if isinstance(one, FieldInfo) else [one])
    ]
    if annotation is Pair:
        return FieldType("point", in_plan=_in_plan(details))
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _of(inner, [*more, *details])
    if len(members(annotation)) == 1:
        return _of(members(annotation)[0], details)
    least, most = _bounds(details)
    return replace(_plain(annotation, details), least=least, most=most)


def _bounds(details: list[Any]) -> tuple[int | None, int | None]:
    """Return the least and most that a field's details state; every bound of a job field is whole."""
    least: Any = None
    most: Any = None
    for detail in details:
        match detail:
            case Ge():
                least = detail.ge
            case Le():
                most = detail.le
            case MinLen():
                least = detail.min_length
            case MaxLen():
                most = detail.max_length
    return least, most


def _plain(annotation: Any, details: list[Any]) -> FieldType:
    if words := choices(annotation):
        found = FieldType("choice", choices=words)
    elif get_origin(annotation) is list:
        found = FieldType("list", item=_of(get_args(annotation)[0]))
    elif get_origin(annotation) is dict:
        found = FieldType("names", item=_of(get_args(annotation)[1]))
    elif isinstance(annotation, type) and issubclass(annotation, Rated):
        found = replace(field_type(annotation.model_fields["value"]), rated=True)
    elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
        found = FieldType("group", model=annotation)
    elif annotation is float:
        found = FieldType("quantity", phrase=_quantity(details), in_plan=_in_plan(details))
    elif annotation is str:
        pattern = next(
            (str(d.pattern) for d in details if isinstance(d, StringConstraints) and d.pattern), None
        )
        found = FieldType("short name" if pattern else "text", pattern=pattern)
    elif annotation in _SIMPLE:
        found = FieldType(_SIMPLE[annotation])
    else:
        raise TypeError(f"no job field has the type {annotation!r}")
    return found


def _quantity(details: list[Any]) -> str:
    shown = next(detail.json_schema for detail in details if isinstance(detail, WithJsonSchema))
    return str((shown or {})["description"])


def _in_plan(details: list[Any]) -> InPlan | None:
    return next((detail for detail in details if isinstance(detail, InPlan)), None)
