"""A model of a few fields of every kind, files that state it, and what the reader says of them."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from pathlib import Path
from textwrap import dedent
from typing import Annotated, Literal

import pytest
from pydantic import BaseModel, ConfigDict, Field, model_validator

from planforge.errors import JobFileError
from planforge.job.base import Id, Point, Rated
from planforge.job.quantities import Force, Length
from planforge.job.reading import Loaded, load_model


class Part(BaseModel):
    model_config = ConfigDict(extra="forbid")


class System(StrEnum):
    RAIL = "guardrail"
    LINE = "lifeline"
    NET = "net"


class Slab(Part):
    thickness: Length
    """How thick it is. Measured, not drawn."""
    pour_date: date | None = None
    """The day the slab was placed. Not the day it was ordered."""
    scan: str | None = None


class Line(Part):
    id: Id
    start: str
    to: str
    workers: int = Field(default=1, ge=1, le=4)
    rating: Rated[Force] | None = None


class Net(Part):
    kind: Literal["net"]
    mesh: Length


class Rail(Part):
    kind: Literal["rail"]
    net: str = ""
    height: float


class Phase(Part):
    begins: date
    ends: date

    @model_validator(mode="after")
    def _order(self) -> Phase:
        if self.ends < self.begins:
            raise ValueError("ends before it begins; write dates in their order")
        return self


class Job(Part):
    lot: str
    system: System = System.RAIL
    slab: Slab | None = None
    lines: list[Line] = []
    guards: list[Annotated[Net | Rail, Field(discriminator="kind")]] = []
    reach: Length | Literal["full"] | None = None
    either: Net | Rail | None = None
    phases: list[Phase] = []
    at: Point | None = None
    dry: bool | None = None
    notes: dict[str, int] = {}
    ratio: float | None = Field(default=None, allow_inf_nan=False)
    tags: list[str] = Field(default=[], max_length=2)
    short: str = Field(default="", max_length=5)
    state: str = Field(default="", validation_alias="province")


def put(name: str, text: str) -> Path:
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    Path(name).write_text(dedent(text), encoding="utf-8")
    return Path(name)


def loaded(text: str, **options: object) -> Loaded[Job]:
    return load_model(put("lot.yaml", text), Job, **options)  # type: ignore[arg-type]


def faults(text: str, **options: object) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        loaded(text, **options)
    return str(caught.value).splitlines()
