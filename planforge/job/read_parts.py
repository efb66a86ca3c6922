"""A job of the parts that were read, where others have faults: the rules across fields look at them.

Nothing may be told of a part that only seems to lack something. So a field counts as unread, which is more
than absent, where it has a fault, where it is missing, and where a field that nobody knows may have been
meant for it: one not stated beside a misspelt one, or of that name elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from functools import lru_cache
from typing import Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError

from planforge.job.base import JobModel, Rated
from planforge.job.fields import KEY_LABEL, bare, cut_by_comma, homes, known_keys, name_groups, place
from planforge.job.positions import FieldPath
from planforge.job.tree import Mark, Node, Scalar, Sequence
from planforge.job.unread import UNREAD
from planforge.job.wording import nearest

M = TypeVar("M", bound=BaseModel)

Faults = dict[str | int, "Faults | None"]
"""Where the faults lie, as a tree of keys and indexes; None where all below is unread."""


def read_parts(model: type[M], data: dict[str, Any], unread: Iterable[FieldPath]) -> M:
    """Return the model without what is ``unread``: asking it for that raises :class:`UnreadError`."""
    return _group(model, data, _tree(unread))


def unread_paths(model: type[BaseModel], data: Any, error: ValidationError) -> Iterator[FieldPath]:
    """Yield the place of each part that a validation leaves unread."""
    for fault in error.errors(include_url=False, include_context=False, include_input=False):
        where = place(model, data, fault["loc"])
        if where.unions:
            yield where.unions[0][0]
        elif fault["type"] == "extra_forbidden":
            group, key = where.path[:-1], str(where.path[-1])
            yield from _unstated_in(data, group, where.holder)
            yield from ((*group, before) for before in cut_by_comma(data, where.path))
            for home in homes(model, key):
                yield from _unstated(data, (), [*home.split("."), key])
            unstated = [path[-1] for path in _unstated_in(data, group, where.holder)]
            if nearest(key, map(str, unstated)) is None:  # a level, say, a step too far to the left
                yield from (tuple(field.split(".")) for field in name_groups(model))
        elif KEY_LABEL in fault["loc"]:
            yield where.path[:-1]
        elif fault["type"] == "missing" and isinstance(where.last, str):
            yield (*where.path, where.last)
        else:
            yield where.path


def paths_of(root: Node, marks: Set[Mark], path: FieldPath = ()) -> Iterator[FieldPath]:
    """Yield the place of whatever a tree states at one of the marks."""
    if isinstance(root, Scalar):
        if root.mark in marks:
            yield path
    elif isinstance(root, Sequence):
        for index, item in enumerate(root.items):
            yield from paths_of(item, marks, (*path, index))
    else:
        for key, entry in root.entries.items():
            if entry.mark in marks:
                yield (*path, key)
            yield from paths_of(entry.node, marks, (*path, key))


def _unstated_in(data: Any, group: FieldPath, holder: Any) -> Iterator[FieldPath]:
    """Yield the place of each field of a group that it does not state."""
    for name in known_keys(holder):
        yield from _unstated(data, group, [name])


def _unstated(value: Any, path: FieldPath, keys: list[str]) -> Iterator[FieldPath]:
    """Yield the place of a field below ``path`` wherever it, or what should hold it, is not stated."""
    for part in path:
        value = value[part]
    yield from _absent(value, path, keys)


def _absent(value: Any, path: FieldPath, keys: list[str]) -> Iterator[FieldPath]:
    if isinstance(value, list):
        for index, item in enumerate(value):
            yield from _absent(item, (*path, index), keys)
    elif isinstance(value, dict) and keys:
        if keys[0] in value:
            yield from _absent(value[keys[0]], (*path, keys[0]), keys[1:])
        else:
            yield (*path, keys[0])


def _tree(paths: Iterable[FieldPath]) -> Faults:
    root: Faults = {}
    for path in paths:
        branch = root
        for part in path[:-1]:
            below = branch.setdefault(part, {})
            if below is None:
                break
            branch = below
        else:
            if path:
                branch[path[-1]] = None
    return root


def _group(model: type[M], data: dict[str, Any], faults: Faults) -> M:
    read: dict[str, Any] = {}
    for name in model.model_fields:
        if name in data:
            read[name] = _field(model, name, data[name], faults)
    made = model.model_construct(_fields_set=set(read), **read)
    held = vars(made)  # filled up with the defaults of what is not stated
    for name in model.model_fields:
        if (name in faults and faults[name] is None) or held.get(name) is UNREAD:
            held.pop(name, None)
    return made


def _field(model: type[BaseModel], name: str, value: Any, faults: Faults) -> Any:
    if name not in faults:
        return _validated(model, name, value)
    below = faults[name]
    if below is None:
        return UNREAD
    kind = bare(model.model_fields[name].annotation)
    item = bare(get_args(kind)[-1]) if get_args(kind) else None
    read: Any = UNREAD  # as of a point with one coordinate, say
    match get_origin(kind) or kind, value:
        case group, dict() if _is_group(group):
            read = _group(group, value, below)
        case named, dict() if named is dict:
            read = {k: UNREAD if k in below else _lone(model, name, {k: one}) for k, one in value.items()}
        case listed, list() if listed is list and item is not None and _is_group(item):
            read = [_item(item, one, below.get(index, {})) for index, one in enumerate(value)]
        case listed, list() if listed is list and item is str:
            read = [UNREAD if i in below else _lone(model, name, [one]) for i, one in enumerate(value)]
    return read


def _item(model: type[BaseModel], value: Any, faults: Faults | None) -> Any:
    if faults is None or not isinstance(value, dict):
        return UNREAD
    if faults:
        return _group(model, value, faults)
    try:
        return model.model_validate(value)
    except ValidationError:
        return UNREAD


def _lone(model: type[BaseModel], name: str, holder: dict[Any, Any] | list[Any]) -> Any:
    """The value of a mapping or list of one, as the model reads it."""
    read = _validated(model, name, holder)
    if read is UNREAD:
        return UNREAD
    return next(iter(read.values() if isinstance(read, dict) else read))


def _validated(model: type[BaseModel], name: str, value: Any) -> Any:
    """Return one field's value by itself, unread where its model would have refused it after all."""
    try:
        return _adapter(model, name).validate_python(value)
    except ValidationError:
        return UNREAD


@lru_cache(maxsize=1024)
def _adapter(model: type[BaseModel], name: str) -> TypeAdapter[Any]:
    return TypeAdapter(model.model_fields[name].rebuild_annotation())


def _is_group(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, JobModel) and not issubclass(kind, Rated)
