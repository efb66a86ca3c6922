"""What a drilling map tells: every base's holes from two edges of the slab, or why nobody drills there.

Plan coordinates in m as in the job. Holes are numbered 1 to 4 in the order of
:func:`planforge.calc.base_plate.hole_pattern`, each base turned as laid out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.base_model import Base, tolerance_of
from planforge.assess.drilling import BaseDrilling, base_drilling, sheet_reasons
from planforge.assess.finding import Finding
from planforge.calc.arrays import Array
from planforge.job.slab import InSlab
from planforge.units import FOOT, INCH, Display

BEYOND = 6 * FOOT
"""How far a sheet of several goes on past its outermost bases, m."""


@dataclass(frozen=True)
class Datum:
    """The two edges from which everything is measured: the slab's least x and least y, m."""

    x: float
    y: float
    x_edge: bool  # True where a side of the slab lies on it, else it runs through a corner
    y_edge: bool

    @property
    def at(self) -> Array:
        """Where both cross, (2,)."""
        return np.array([self.x, self.y])

    @property
    def names(self) -> tuple[str, str]:
        """What x and y are measured from, in words."""
        return (
            "A, the slab's left edge" if self.x_edge else "A, the line through the slab's leftmost corner",
            "B, the slab's lower edge" if self.y_edge else "B, the line through the slab's lowest corner",
        )


@dataclass(frozen=True)
class BaseHoles:
    """A base on the map."""

    base: Base
    reasons: tuple[str, ...]  # why nobody drills there; empty where its coordinates are printed
    contents: tuple[Finding, ...]  # its distances to what is in the slab, the least first

    @property
    def id(self) -> str:
        """The post's id."""
        return self.base.id

    @property
    def drilled(self) -> bool:
        """True where its coordinates are printed."""
        return not self.reasons

    def measured(self, datum: Datum) -> Array:
        """Its hole centres from both edges, (4, 2), m."""
        holes = self.base.holes
        assert holes is not None  # asked for only of a base that is drilled
        return holes - datum.at


@dataclass(frozen=True)
class Running:
    """A running dimension: posts in one row, their centres' distance from an edge, m."""

    value: float
    posts: tuple[str, ...]


@dataclass(frozen=True)
class Share:
    """What one of several sheets shows of the slab: a stretch along x (axis 0) or y (1), m in plan."""

    axis: int
    low: float
    high: float
    number: int  # of the sheet, from 1
    count: int  # of sheets


@dataclass(frozen=True)
class DrillingContent:
    """Everything on a drilling map, or on one of its sheets."""

    assessment: Assessment
    display: Display
    outline: Array  # the slab's (n, 2)
    datum: Datum
    bases: tuple[BaseHoles, ...]
    located: bool  # False: what is in the slab is not located, nobody drills anywhere
    reasons: tuple[str, ...]  # why nobody drills anywhere
    share: Share | None = None  # None: the whole slab

    @property
    def mark(self) -> str:
        """The sheet's number."""
        return f"D{self.share.number if self.share else 1}"

    @property
    def shown(self) -> Array:
        """What must lie on the sheet: the slab's outline, or the corners of its stretch; (n, 2), m."""
        if self.share is None:
            return self.outline
        box = np.array([self.outline.min(axis=0), self.outline.max(axis=0)])
        box[:, self.share.axis] = self.share.low, self.share.high
        return box

    @property
    def things(self) -> Sequence[InSlab]:
        """What is known to be in the slab."""
        slab = self.assessment.job.slab
        return (slab.contents or []) if slab else []

    @property
    def drilled(self) -> tuple[BaseHoles, ...]:
        """The bases whose coordinates are printed."""
        return tuple(b for b in self.bases if b.drilled)

    @property
    def withheld(self) -> tuple[BaseHoles, ...]:
        """The bases where nobody drills."""
        return tuple(b for b in self.bases if not b.drilled)

    def band(self, thing: InSlab) -> float:
        """How far from its line or outline a thing may reach: its half width and the tolerance, m."""
        slab = self.assessment.job.slab
        assert slab is not None  # it has contents
        return (0.0 if thing.fills else thing.half_width) + tolerance_of(slab, thing)

    def running(self, axis: int) -> tuple[Running, ...]:
        """The running dimensions along x (0) or y (1) of the bases that are drilled, rising."""
        rows: dict[float, list[str]] = {}
        for base in self.drilled:
            value = round(float(base.base.parts.post.at[axis] - self.datum.at[axis]), 4)
            rows.setdefault(value, []).append(base.id)
        return tuple(Running(value, tuple(rows[value])) for value in sorted(rows))


def drilling_content(assessment: Assessment) -> DrillingContent:
    """Gather the map of every base that stands on the slab."""
    job = assessment.job
    outline = np.asarray(job.layout.slab or job.layout.footprint, dtype=float)
    reasons = sheet_reasons(assessment)
    return DrillingContent(
        assessment=assessment,
        display=Display(job.site.units),
        outline=outline,
        datum=datum_of(outline),
        bases=tuple(_holes(one) for one in base_drilling(assessment)),
        located=not reasons,
        reasons=reasons,
    )


def stretch(
    content: DrillingContent, bases: Sequence[BaseHoles], axis: int, number: int, count: int
) -> DrillingContent:
    """The sheet of some of the bases: the slab from before the first of them to past the last."""
    at = [base.base.parts.post.at[axis] for base in bases]
    ends = content.outline[:, axis]
    low = max(min(at) - BEYOND, float(ends.min()))
    high = min(max(at) + BEYOND, float(ends.max()))
    share = Share(axis, min(low, *at), max(high, *at), number, count)
    return replace(content, bases=tuple(bases), share=share)


def datum_of(outline: Array) -> Datum:
    """The slab's left and lower edges, or the lines through its outermost corners where it has none."""
    low = outline.min(axis=0)
    after = np.roll(outline, -1, axis=0)
    on = [
        bool(
            np.any((np.abs(outline[:, a] - low[a]) < INCH / 32) & (np.abs(after[:, a] - low[a]) < INCH / 32))
        )
        for a in (0, 1)
    ]
    return Datum(float(low[0]), float(low[1]), on[0], on[1])


def _holes(one: BaseDrilling) -> BaseHoles:
    near = [f for f in one.findings if f.id == "base.contents" and isinstance(f.value, float)]
    near.sort(key=lambda f: float(f.value) if isinstance(f.value, float) else 0.0)
    return BaseHoles(one.base, one.reasons, tuple(near))
