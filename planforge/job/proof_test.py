"""A load put on an anchor where it stands, to show that it holds there."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Date, Id, JobModel, Name, Text
from planforge.job.quantities import Force


class ProofTest(JobModel):
    """One recorded proof test on this lot."""

    id: Id
    """A short name, such as its number in the report."""
    of: Id
    """What was tested: a post (its base anchors), a guy (its plate anchor) or an anchor of the layout."""
    tested: int = Field(default=1, ge=1, le=12)
    """How many of a base's anchors were tested, each by itself."""
    load: Force
    """The load that each was put under."""
    method: Text
    """How: the way of the pull, how long it was held, the instrument, what counts as holding."""
    by: Name
    """Who tested."""
    on: Date
    """The day it was done."""
    result: Literal["held", "failed"]
    """Whether every one of them held."""
    source: Name | None = None
    """The test report."""
