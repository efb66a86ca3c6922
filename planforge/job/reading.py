"""A job file to a validated model, or every problem of it at once with file, line and remedy."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from planforge.errors import JobFileError, Problem
from planforge.job.extends import Gathered, gather
from planforge.job.positions import Locator
from planforge.job.remedies import problems_of
from planforge.job.tree import plain

M = TypeVar("M", bound=BaseModel)
Checks = Callable[[M, Locator], Iterable[Problem]]
"""Checks across fields, run once every field by itself is right."""


@dataclass(frozen=True, slots=True)
class Loaded(Generic[M]):
    """A job that was read: model, merged plain data, where each value stands, files in the order read."""

    model: M
    data: dict[str, Any]
    locator: Locator
    files: tuple[str, ...]


def load_model(
    path: Path,
    model: type[M],
    *,
    lot_only: frozenset[str] = frozenset(),
    checks: Checks[M] | None = None,
) -> Loaded[M]:
    """Read a job file and all it extends into a model.

    ``lot_only`` are dotted fields (``slab.scan``) that no extended file may state. ``checks``
    look across fields once the fields are right. Raises :class:`JobFileError` with the problems
    of all files.
    """
    return checked(gather(path, lot_only, model), model, lot_only=lot_only, checks=checks)


def checked(
    gathered: Gathered,
    model: type[M],
    *,
    lot_only: frozenset[str] = frozenset(),
    checks: Checks[M] | None = None,
) -> Loaded[M]:
    """Return the model of what was gathered; raise :class:`JobFileError` with every problem of it."""
    problems = list(gathered.problems)
    locator = Locator(gathered.root)
    data = plain(gathered.root)
    assert isinstance(data, dict)  # the root is a mapping
    job: M | None = None
    try:
        job = model.model_validate(data)
    except ValidationError as error:
        problems += problems_of(error, model, locator, complete=gathered.complete, lot_only=lot_only)
    if job is not None and checks is not None:
        problems += checks(job, locator)
    if problems or job is None:
        raise JobFileError(list(dict.fromkeys(problems)))
    return Loaded(job, data, locator, gathered.files)


def read_model(
    path: Path,
    model: type[M],
    *,
    lot_only: frozenset[str] = frozenset(),
    checks: Checks[M] | None = None,
) -> M:
    """Return the model alone; see :func:`load_model`."""
    return load_model(path, model, lot_only=lot_only, checks=checks).model
