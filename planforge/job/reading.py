"""A job file to a validated model, or every problem of it at once with file, line and remedy."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from planforge.errors import JobFileError, Problem
from planforge.job.extends import Gathered, gather
from planforge.job.file_kind import refuse_another_kind
from planforge.job.positions import Locator
from planforge.job.read_parts import paths_of, read_parts, unread_paths
from planforge.job.remedies import problems_of
from planforge.job.tree import plain
from planforge.job.unread import where_read

M = TypeVar("M", bound=BaseModel)
Checks = Callable[[M, Locator], Iterable[Problem]]
"""Checks across fields; where some have faults of their own, of those that were read (``read_parts``)."""


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
    look across fields, over those that are right. Raises :class:`JobFileError` with the problems
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
    """Return the model of what was gathered; raise :class:`JobFileError` with every problem of it.

    Of a file of another kind nothing else is told.
    Where whole files or fields may be missing from what was gathered, only its fields are checked one by one.
    """
    problems = list(gathered.problems)
    locator = Locator(gathered.root)
    data = plain(gathered.root)
    assert isinstance(data, dict)  # the root is a mapping
    refuse_another_kind(model, locator)
    unread = list(paths_of(gathered.root, gathered.doubtful)) if gathered.doubtful else []
    job: M | None = None
    try:
        job = model.model_validate(data)
    except ValidationError as error:
        problems += problems_of(error, model, locator, complete=gathered.complete, lot_only=lot_only)
        unread += unread_paths(model, data, error)
    if checks is not None and gathered.complete and not gathered.lost:
        parts = read_parts(model, data, unread) if job is None or unread else job
        problems += where_read(checks)(parts, locator)
    if problems or job is None:
        raise JobFileError(list(dict.fromkeys(problems)))
    return Loaded(job, data, locator, gathered.files)
