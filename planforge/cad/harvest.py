"""What a drawing gives, before it is written: entries by where they go in a job, and what a report tells."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from planforge.cad.chains import Chain
from planforge.calc.arrays import Array


@dataclass(frozen=True)
class Angle:
    """A direction in radians, told from a length when it is printed."""

    radians: float


@dataclass(frozen=True)
class Piece:
    """A strand on the plan with its DXF name."""

    kind: str
    chain: Chain


@dataclass(frozen=True)
class Entry:
    """One thing for the job file: its fields in order, and how it was drawn."""

    fields: dict[str, Any]
    drawn_as: str


@dataclass(frozen=True)
class Taken:
    """What came of one layer, for the report."""

    layer: str
    holds: str
    count: int
    length: float | None = None  # m
    area: float | None = None  # m2
    said: str = ""


@dataclass
class Harvest:
    """All that a drawing gives."""

    footprint: list[Entry] = field(default_factory=list)
    slab: list[Entry] = field(default_factory=list)
    parts: dict[str, list[Entry]] = field(default_factory=dict)
    """Entries by where they go in the job: ``layout.openings``."""
    lot: dict[str, list[Entry]] = field(default_factory=dict)
    """Entries that belong to one lot: ``slab.contents``, ``lower_levels``."""
    taken: list[Taken] = field(default_factory=list)
    points: list[Array] = field(default_factory=list)
    """Every point that was taken, for the extents."""
