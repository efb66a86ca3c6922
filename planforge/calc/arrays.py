"""Types and shape helpers for calculations that broadcast over numpy arrays."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeAlias, TypeGuard, TypeVar

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

    Record = TypeVar("Record", bound=DataclassInstance)
else:
    Record = TypeVar("Record")

Array: TypeAlias = NDArray[np.float64]
Bools: TypeAlias = NDArray[np.bool_]
Chosen: TypeAlias = Bools | NDArray[np.signedinteger] | slice
#: A plain number, or an array of them that broadcasts with the other arguments.
Values: TypeAlias = float | Array


def as_array(value: Values) -> Array:
    """Give ``value`` as a float64 array without copying when it is one already."""
    return np.asarray(value, dtype=np.float64)


def first_of_rows(rows: Array) -> NDArray[np.intp]:
    """Where each different row of (R, C) stands first; in the order of the rows' values.

    As numpy's ``unique`` along an axis, which loads half of the masked arrays on its first call.
    """
    order = np.lexsort(rows.T[::-1])
    ordered = rows[order]
    new = np.any(ordered[1:] != ordered[:-1], axis=1)
    return np.asarray(order[np.concatenate([np.ones(min(len(rows), 1), dtype=bool), new])])


def record_shape(record: DataclassInstance) -> tuple[int, ...]:
    """Broadcast shape of all number fields of ``record``, nested records included."""
    values = [getattr(record, field.name) for field in dataclasses.fields(record)]
    return np.broadcast_shapes(*(record_shape(v) if _is_record(v) else np.shape(v) for v in values))


def _is_record(value: Any) -> TypeGuard[DataclassInstance]:
    return dataclasses.is_dataclass(value) and not isinstance(value, type)


def _map_record(record: Record, change: Callable[[Any], Any]) -> Record:
    values: dict[str, Any] = {}
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        values[field.name] = _map_record(value, change) if _is_record(value) else change(value)
    return type(record)(**values)


def flatten_record(record: Record, shape: tuple[int, ...]) -> Record:
    """Broadcast every field of ``record`` to ``shape`` and ravel it: one flat batch."""
    return _map_record(record, lambda value: np.broadcast_to(np.asarray(value), shape).ravel())


def pick_record(record: Record, chosen: Chosen) -> Record:
    """Take members of a flat batch: where ``chosen`` is true, at its indexes, or along its slice."""
    return _map_record(record, lambda value: value[chosen])


def put_record(record: Record, chosen: Chosen, part: Record) -> Record:
    """A flat batch with the members where ``chosen`` is true replaced by those of ``part``, in order."""
    values: dict[str, Any] = {}
    for field in dataclasses.fields(record):
        value, new = getattr(record, field.name), getattr(part, field.name)
        if _is_record(value):
            values[field.name] = put_record(value, chosen, new)
        else:
            values[field.name] = value.copy()
            values[field.name][chosen] = new
    return type(record)(**values)


def reshape_record(record: Record, shape: tuple[int, ...]) -> Record:
    """Give the flat fields of ``record`` the batch shape ``shape``; trailing axes stay."""
    return _map_record(record, lambda value: value.reshape(shape + value.shape[1:]))


def stack_records(records: list[Record], trailing: int = 0) -> Record:
    """Stack records of one kind along a new leading axis.

    ``trailing`` adds that many axes of length one behind, so that the stack
    broadcasts against arrays of stations or workers.
    """
    first = records[0]
    values: dict[str, Any] = {}
    for field in dataclasses.fields(first):
        items = [getattr(record, field.name) for record in records]
        if _is_record(items[0]):
            values[field.name] = stack_records(items, trailing)
        else:
            stacked = np.stack(np.broadcast_arrays(*items))
            values[field.name] = stacked.reshape(stacked.shape + (1,) * trailing)
    return dataclasses.replace(first, **values)
