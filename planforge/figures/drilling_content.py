"""What a drilling map tells: every base's holes from two edges of the slab, or why nobody drills there.

Plan coordinates in m as in the job. Holes are numbered 1 to 4 in the order of
:func:`planforge.calc.base_plate.hole_pattern`, each base turned as laid out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.base_model import Base, bases, tolerance_of
from planforge.assess.finding import Finding, Verdict
from planforge.assess.post_model import post_parts
from planforge.calc.arrays import Array
from planforge.job.slab import InSlab
from planforge.units import INCH, Display

NO_DRILLING = "NOBODY DRILLS"
DRILLING_CHECKS = ("base.contents", "base.depth", "base.layout")
"""Where one of these is short at a base, its holes' coordinates are not printed."""


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
class DrillingContent:
    """Everything on a drilling map."""

    assessment: Assessment
    display: Display
    outline: Array  # the slab's (n, 2)
    datum: Datum
    bases: tuple[BaseHoles, ...]
    located: bool  # False: what is in the slab is not located, nobody drills anywhere
    reasons: tuple[str, ...]  # why nobody drills anywhere

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
    index, job = assessment.index, assessment.job
    outline = np.asarray(job.layout.slab or job.layout.footprint, dtype=float)
    reasons = _sheet_reasons(assessment)
    checked = {b.id for b in assessment.bases}
    on_slab = bases(index, [post_parts(index, post) for post in job.layout.posts])
    return DrillingContent(
        assessment=assessment,
        display=Display(job.site.units),
        outline=outline,
        datum=datum_of(outline),
        bases=tuple(_holes(assessment, base, reasons, base.id in checked) for base in on_slab),
        located=not reasons,
        reasons=reasons,
    )


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


def base_reasons(base: Base, findings: Sequence[Finding], *, checked: bool) -> tuple[str, ...]:
    """Why nobody drills at one base: data that are missing, and checks that are short."""
    reasons = []
    if base.holes is None:
        reasons.append("the spacing of its holes is not stated")
    if base.anchor is None:
        reasons.append("its base anchor is not stated")
    if not checked:
        reasons.append("it was not checked: it carries no line or anchorage")
    for finding in findings:
        if finding.verdict is Verdict.SHORT and finding.variance is None:
            place = finding.where.partition(" · ")[2]
            reasons.append(f"{finding.title}{f' ({place})' if place else ''} is short")
    return tuple(dict.fromkeys(reasons))


def _sheet_reasons(assessment: Assessment) -> tuple[str, ...]:
    located = [f for f in assessment.findings if f.id == "slab.located"]
    return tuple(_sentences(f) for f in located if f.verdict is not Verdict.MEETS)


def _sentences(finding: Finding) -> str:
    value = str(finding.value or "").rstrip(".")
    told = f"{value[0].upper()}{value[1:]}." if value else ""
    return " ".join(part for part in (told, finding.note) if part)


def _holes(assessment: Assessment, base: Base, sheet: tuple[str, ...], checked: bool) -> BaseHoles:
    own = [
        f for f in assessment.findings if f.id in DRILLING_CHECKS and f.where.partition(" · ")[0] == base.id
    ]
    near = [f for f in own if f.id == "base.contents" and isinstance(f.value, float)]
    near.sort(key=lambda f: float(f.value) if isinstance(f.value, float) else 0.0)
    return BaseHoles(base, sheet or base_reasons(base, own, checked=checked), tuple(near))
