"""What a model knows of its fields: known keys, choices, and the type behind an error's location.

pydantic names a fault's place by keys, indexes and, inside unions, labels of its own. Walking
the model's types beside the data tells the labels from the keys.
"""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from planforge.job.descriptions import description
from planforge.job.positions import FieldPath
from planforge.job.wording import same_word

KEY_LABEL = "[key]"
"""What pydantic puts behind a key that itself has the fault."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where an error points: ``path`` into the data, the type there, the unions passed on the way.

    ``unions`` are pairs of the path at which a choice among types was made and the type's label.
    ``last`` is a missing field's name or index, which the data can't hold; ``holder`` the type it lacks in.
    """

    path: FieldPath
    type: Any
    unions: tuple[tuple[FieldPath, str], ...]
    last: str | int | None
    holder: Any


def known_keys(model: Any) -> tuple[str, ...]:
    """Return the keys a file may state for a model: aliases where fields have them; none for other types."""
    if not _is_model(model):
        return ()
    return tuple(key for name, field in model.model_fields.items() for key in _keys(name, field))


def field_of(model: Any, key: str) -> FieldInfo | None:
    """Return the field that a key states; None for other types than models."""
    if not _is_model(model):
        return None
    fields: dict[str, FieldInfo] = model.model_fields
    return next((field for name, field in fields.items() if key == name or key in _keys(name, field)), None)


def meaning_of(model: Any, key: str) -> str:
    """Return the description of the field that a key states; empty where there is none."""
    names = (
        [n for n, f in model.model_fields.items() if key == n or key in _keys(n, f)]
        if _is_model(model)
        else []
    )
    return description(model, names[0]) if names else ""


def choices(annotation: Any) -> tuple[str, ...]:
    """Return the words a literal, an enum or a union of them allows; empty where other values are allowed."""
    annotation = bare(annotation)
    if get_origin(annotation) is Literal:
        return tuple(str(getattr(value, "value", value)) for value in get_args(annotation))
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return tuple(str(member.value) for member in annotation)
    return tuple(word for member in members(annotation) for word in choices(member))


def bare(annotation: Any) -> Any:
    """Return the type without metadata and without None."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif hasattr(annotation, "__value__"):
            annotation = annotation.__value__
        elif len(members(annotation)) == 1:
            annotation = members(annotation)[0]
        else:
            return annotation


def members(annotation: Any) -> tuple[Any, ...]:
    """Return a union's types but None; empty for any other type."""
    if get_origin(annotation) in (Union, types.UnionType):
        return tuple(member for member in get_args(annotation) if member is not type(None))
    return ()


def homes(model: type[BaseModel], key: str) -> tuple[str, ...]:
    """Return the dotted groups under which a model has a key, its own top excepted."""
    return _index(model).get(same_word(key), ())


def cut_by_comma(data: Any, path: FieldPath) -> Iterator[str]:
    """Yield the field before one without a value that nobody knows: a comma inside braces cut its value.

    ``{reason: The stair, the way up.}`` states ``reason`` and a field ``the way up.``
    """
    group = data
    for part in path[:-1]:
        group = group[part]
    keys = list(group)
    at = keys.index(path[-1])
    while at and group[keys[at]] is None:
        at -= 1
    if keys[at] != path[-1] and group[keys[at]] is not None:
        yield keys[at]


@lru_cache(maxsize=16)
def name_groups(model: type[BaseModel]) -> tuple[str, ...]:
    """Return the dotted fields whose keys are names of the user's own, such as levels."""
    return tuple(
        f"{label}.{key}" if label else key
        for label, part in _parts(model, "", ())
        for name, field in part.model_fields.items()
        if get_origin(bare(field.annotation)) is dict
        for key in _keys(name, field)
    )


def place(model: type[BaseModel], data: Any, loc: Sequence[str | int]) -> Place:
    """Return where in the data an error location points."""
    path: FieldPath = ()
    unions: list[tuple[FieldPath, str]] = []
    annotation: Any = model
    holder: Any = model
    value = data
    last: str | int | None = None
    for part in loc:
        annotation = bare(annotation)
        if len(members(annotation)) > 1:
            unions.append((path, str(part)))
            annotation = _member(annotation, str(part))
            continue
        if part == KEY_LABEL:
            continue
        holder = annotation
        annotation = _below(annotation, part)
        if _holds(value, part):
            path, value, last = (*path, part), value[part], None
        elif isinstance(value, dict | list):
            last = part
    if len(members(bare(annotation))) <= 1:
        annotation = bare(annotation)
    return Place(path, annotation, tuple(unions), last, holder)


def _keys(name: str, field: FieldInfo) -> tuple[str, ...]:
    aliases = getattr(field.validation_alias, "choices", [field.validation_alias or field.alias])
    return tuple(alias for alias in aliases if isinstance(alias, str)) or (name,)


def _holds(value: Any, part: str | int) -> bool:
    if isinstance(value, dict):
        return part in value
    return isinstance(value, list) and isinstance(part, int) and 0 <= part < len(value)


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _below(annotation: Any, part: str | int) -> Any:
    if _is_model(annotation):
        field = field_of(annotation, str(part))
        return field.annotation if field else Any
    origin, arguments = get_origin(annotation), get_args(annotation)
    if isinstance(origin, type) and arguments:
        if issubclass(origin, Mapping):
            return arguments[-1]
        if origin is tuple and isinstance(part, int) and Ellipsis not in arguments:
            return arguments[part] if part < len(arguments) else Any
        return arguments[0]
    return Any


def _member(annotation: Any, label: str) -> Any:
    for member in map(bare, members(annotation)):
        if not _is_model(member):
            continue
        if member.__name__ == label or any(
            label in choices(f.annotation) for f in member.model_fields.values()
        ):
            return member
    return Any


@lru_cache(maxsize=16)
def _index(model: type[BaseModel]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for label, part in _parts(model, "", ()):
        if label:
            for key in known_keys(part):
                word = same_word(key)
                found[word] = (*found.get(word, ()), label)
    return found


def _parts(annotation: Any, label: str, above: tuple[Any, ...]) -> Iterator[tuple[str, type[BaseModel]]]:
    annotation = bare(annotation)
    if _is_model(annotation):
        if annotation not in above:
            yield label, annotation
            for name, field in annotation.model_fields.items():
                key = _keys(name, field)[0]
                yield from _parts(field.annotation, f"{label}.{key}" if label else key, (*above, annotation))
    else:
        for inner in members(annotation) or get_args(annotation):
            yield from _parts(inner, label, above)
