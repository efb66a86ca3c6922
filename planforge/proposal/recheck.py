"""A proposal merged into its job and assessed as any other job, before it is offered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from planforge.assess.assessment import Assessment, assess
from planforge.assess.finding import Finding
from planforge.errors import JobFileError, Problem
from planforge.job.consistency import check_consistency
from planforge.job.merging import merge
from planforge.job.model import Job
from planforge.job.positions import Locator
from planforge.job.reading import Loaded
from planforge.job.tree import Entry, Mapping, Mark, Node, Scalar, Sequence, plain


@dataclass(frozen=True)
class Rechecked:
    """The assessment with the proposal in it."""

    assessment: Assessment
    caused: tuple[Finding, ...]  # short with the proposal, and not without it
    before: tuple[Finding, ...]  # short with it and without it


def with_proposal(loaded: Loaded[Job], data: dict[str, Any]) -> Job:
    """The job with the proposal merged in, by the rules of `extends`; the proposal wins.

    Raises:
        JobFileError: the two do not make a job.
        pydantic.ValidationError: a field of the proposal is not right: a defect of planforge.
    """
    problems: list[Problem] = []
    root = merge(_mapping(loaded.data, "the job"), _mapping(data, "the proposal"), problems)
    merged = plain(root)
    job = Job.model_validate(merged)
    problems += check_consistency(job, Locator(root))
    if problems:
        raise JobFileError(problems)
    return job


def recheck(loaded: Loaded[Job], data: dict[str, Any]) -> Rechecked:
    """Assess the job with the proposal, and hold what is short against the job without it."""
    after, before = assess(with_proposal(loaded, data)), assess(loaded.model)
    known = {(f.id, f.where, f.phase) for f in before.short}
    caused = tuple(f for f in after.short if (f.id, f.where, f.phase) not in known)
    return Rechecked(after, caused, tuple(f for f in after.short if f not in caused))


def _mapping(data: dict[str, Any], name: str) -> Mapping:
    node = _node(data, Mark(name, 0, 0))
    assert isinstance(node, Mapping)
    return node


def _node(data: Any, mark: Mark) -> Node:
    if isinstance(data, dict):
        return Mapping({k: Entry(mark, _node(v, mark)) for k, v in data.items()}, mark)
    if isinstance(data, list):
        return Sequence(tuple(_node(v, mark) for v in data), mark)
    return Scalar(data if isinstance(data, bool | None) else str(data), mark)
