"""The date of issue against the dates a job states: nothing a plan says was done can lie after it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from pydantic import BaseModel

from planforge.job.model import Job

_DONE = frozenset({"prepared", "dated", "surveyed", "on", "pour_date"})
"""The fields of a job that say when something was done, wherever they stand; other dates may lie ahead."""


def done(job: Job) -> dict[str, dt.date]:
    """When each thing that the job states as done was done, by its field: ``releases[0].on``."""
    return dict(_done(job, ""))


def _done(value: object, path: str) -> Iterator[tuple[str, dt.date]]:
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            inner = getattr(value, name)
            here = f"{path}.{name}" if path else name
            if name in _DONE and isinstance(inner, dt.date):
                yield here, inner
            else:
                yield from _done(inner, here)
    elif isinstance(value, list):
        for number, entry in enumerate(value):
            yield from _done(entry, f"{path}[{number}]")


def too_early(job: Job, date: dt.date) -> list[str]:
    """The fields whose date lies after the date of issue, each with its date, the latest first.

    Empty where the plan can be issued on that date.
    """
    later = [(day, field) for field, day in done(job).items() if day > date]
    later.sort(key=lambda entry: (-entry[0].toordinal(), entry[1]))
    return [f"{field} {day}" for day, field in later]


def earliest(job: Job) -> dt.date:
    """The first day on which the plan can be issued."""
    return max(done(job).values())


def past_work(job: Job, date: dt.date) -> list[str]:
    """A note where the work was over before the date of issue; else nothing."""
    end = max(phase.end for phase in job.phases)
    if date <= end:
        return []
    return [f"issued on {date}, after the last day of the last phase, {end}: check the dates of the phases"]
