"""What every part of a job file shares: strict frozen models, identifiers, texts, points, rated values."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Generic, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationInfo,
    model_validator,
)

from planforge.job.in_plan import InPlan
from planforge.job.quantities import Coordinate
from planforge.job.unread import UnreadError

Id = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$")]
"""A short name that other parts refer to and that drawings print: letters, digits, ``- _ .``"""


def _one_line(text: str) -> str:
    if "\n" in text:
        raise ValueError("it has a line break; write a text on one line")
    return text


Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=400), AfterValidator(_one_line)
]
"""A text on one line: a plan is found again by some of them, and they head sheets and columns."""
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=4000)]

T = TypeVar("T")


class JobModel(BaseModel):
    """Base of all parts: unknown keys are refused and nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    if not TYPE_CHECKING:  # a type checker would take every name for a field

        def __getattr__(self, name: str) -> Any:
            """Say that a field was not read, in a job that holds only what was (``read_parts``)."""
            if name in type(self).model_fields:
                raise UnreadError(name)
            return super().__getattr__(name)


def _day(value: Any) -> Any:
    """Read only ``YYYY-MM-DD``: a bare number is no date."""
    if isinstance(value, date):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value.strip()):
        try:
            return date.fromisoformat(value.strip())
        except ValueError as fault:
            raise ValueError(f"{fault}; write a day that exists, such as 2026-11-30") from None
    raise ValueError("not a date; write year-month-day, such as 2026-11-30")


Date = Annotated[date, BeforeValidator(_day)]
"""A day, written year-month-day."""


def _pair(value: Any, info: ValidationInfo) -> Any:
    return tuple(value) if isinstance(value, list) else value


Pair = tuple[Coordinate, Coordinate]
Point = Annotated[Pair, BeforeValidator(_pair), InPlan.PLACE]
"""A place in plan: ``[x, y]`` lengths from the lot's plan origin, x to the right, y up the sheet."""

Spacing = Annotated[Pair, BeforeValidator(_pair), InPlan.OWN]
"""Two distances of a thing in its own two ways, and no place."""

Path = Annotated[list[Point], Field(min_length=2, max_length=400)]
Outline = Annotated[list[Point], Field(min_length=3, max_length=400)]


class Rated(JobModel, Generic[T]):
    """A value that someone vouches for. Written alone it has no source and its checks ask for one."""

    value: T
    """The value itself."""
    source: Name | None = None
    """The document it comes from, with its page: maker's instructions, test report, engineer's letter."""
    dated: Date | None = None
    """The date of that document."""

    @model_validator(mode="before")
    @classmethod
    def _bare(cls, data: Any) -> Any:
        return data if isinstance(data, dict) else {"value": data}
