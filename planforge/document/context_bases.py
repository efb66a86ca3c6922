"""What the plan prints of each base: its anchors, its holes, the slab around them, and who may drill."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.base_checks import MODES, base_ratios
from planforge.assess.base_model import Base
from planforge.assess.drilling import barring
from planforge.assess.finding import Finding, Verdict
from planforge.assess.load_path import PostResult
from planforge.calc.base_anchor import cover_below, pairs_spacing
from planforge.document.context_checks import CheckRow, check_groups, check_row
from planforge.document.context_load_path import ratio_up
from planforge.document.printed import Printed
from planforge.job.base import Rated
from planforge.job.equipment import BaseAnchor

HOLE_CHECKS: Final = ("base.depth", "base.layout", "base.contents")
"""Where one of these is short, nobody drills at that base."""


@dataclass(frozen=True, slots=True)
class AnchorDatum:
    """One value of a base anchor as its evaluation report gives it; empty where it is not stated."""

    name: str
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class AnchorSheet:
    """A kind of base anchor with all that the crew and the engineer want of its report."""

    id: str
    name: str
    posts: str
    data: tuple[AnchorDatum, ...]


@dataclass(frozen=True, slots=True)
class ModeRow:
    """A failure mode of the anchors in the concrete: required over design strength."""

    mode: str
    ratio: str


@dataclass(frozen=True, slots=True)
class BaseView:
    """A base on the slab."""

    id: str
    anchor: str  # empty: not stated
    holes: int  # how many are drilled
    turned: str
    plate: str
    slab: str
    depth: str
    left: str  # concrete below the hole
    spacing: str
    edge: str
    torque: str  # empty: not stated
    concrete: str  # with what it rests on; empty: not stated
    age: str
    day: str  # first day on which the post stands
    modes: tuple[ModeRow, ...]
    wanted: tuple[str, ...]
    barred: str  # why nobody drills here; empty where nothing forbids it


@dataclass(frozen=True, slots=True)
class Drilling:
    """Whether anyone may drill on this lot at all."""

    barred: bool
    why: str
    row: CheckRow | None


def drilling_parts(assessment: Assessment, show: Printed) -> dict[str, object]:
    """The values of the drilling page, by name."""
    results = {r.id: r for r in assessment.posts}
    return {
        "drilling": drilling(assessment, show),
        "base_views": tuple(_base(assessment, b, results.get(b.id), show) for b in assessment.bases),
        "base_checks": check_groups(_near(f for f in assessment.findings if f.id.startswith("base.")), show),
        "anchor_sheets": tuple(_sheets(assessment, show)),
    }


def _near(findings: Iterable[Finding]) -> list[Finding]:
    """Of the distances that keep to their limit only each base's tightest: appendix C has them all."""
    every = list(findings)
    tightest: dict[str, float] = {}
    for finding in filter(_met_distance, every):
        base = finding.where.partition(" · ")[0]
        tightest[base] = min(tightest.get(base, math.inf), finding.margin or 0.0)
    return [f for f in every if not _met_distance(f) or f.margin == tightest[f.where.partition(" · ")[0]]]


def _met_distance(finding: Finding) -> bool:
    return finding.id == "base.contents" and finding.verdict is Verdict.MEETS and finding.margin is not None


def drilling(assessment: Assessment, show: Printed) -> Drilling:
    """Barred unless the slab's contents are found to be located, and the scan still holds."""
    located = next((f for f in assessment.findings if f.id == "slab.located"), None)
    if located is None:
        return Drilling(True, "nothing says what is in the slab", None)
    bars = barring(assessment)
    row = check_row(bars[0] if bars else located, show)
    return Drilling(bool(bars), row.value, row)


def _base(assessment: Assessment, base: Base, result: PostResult | None, show: Printed) -> BaseView:
    kind, anchor, slab = base.parts.kind, base.anchor, base.slab
    own = [f for f in assessment.about(base.id) if f.id.startswith("base.")]
    hole = anchor.hole_depth if anchor else None
    thickness = slab.thickness if slab else None
    holes, concrete = base.holes, base.concrete
    return BaseView(
        id=base.id,
        anchor=anchor.name if anchor else "",
        holes=kind.base_anchors or 4,
        turned=show.angle(base.parts.post.turned),
        plate=_size(kind.base_thickness, show),
        slab=_size(thickness, show),
        depth=_size(hole.value if hole else None, show),
        left=show.length(float(cover_below(thickness, hole.value)), "down", 16) if hole and thickness else "",
        spacing=show.length(float(pairs_spacing(holes)), "down", 16) if holes is not None else "",
        edge=show.length(base.edge_distance, "down", 16) if holes is not None else "",
        torque=show.torque(anchor.torque.value) if anchor and anchor.torque else "",
        concrete=f"{show.pressure(concrete[0])}, {concrete[2]}" if concrete else "",
        age=f"{base.age:.0f} days" if base.age is not None else "",
        day=show.day(base.erected.start),
        modes=tuple(_modes(base, result)) if result is not None and not base.missing else (),
        wanted=tuple(base.missing),
        barred=_barred(own),
    )


def _barred(findings: list[Finding]) -> str:
    short = [f for f in findings if f.id in HOLE_CHECKS and f.verdict is Verdict.SHORT]
    return "; ".join(f"{f.title.lower()} at {f.where}" for f in short)


def _modes(base: Base, result: PostResult) -> Iterator[ModeRow]:
    ratios = base_ratios(base, result)
    for mode in (*MODES, "combined"):
        yield ModeRow(mode, ratio_up(float(np.max(getattr(ratios, mode)))))


def _size(metres: float | None, show: Printed) -> str:
    return show.length(metres, denominator=16) if metres is not None else ""


def _sheets(assessment: Assessment, show: Printed) -> Iterator[AnchorSheet]:
    kinds = {b.anchor.id: b.anchor for b in assessment.bases if b.anchor is not None}
    for anchor in kinds.values():
        posts = ", ".join(b.id for b in assessment.bases if b.anchor is not None and b.anchor.id == anchor.id)
        yield AnchorSheet(anchor.id, anchor.name, posts, tuple(_data(anchor, show)))


def _data(anchor: BaseAnchor, show: Printed) -> Iterator[AnchorDatum]:
    """In the order in which a crew reads them."""
    yield AnchorDatum("diameter", show.length(anchor.diameter, denominator=16), "")
    yield AnchorDatum("length", _size(anchor.length, show), "")
    for name in ("hole_depth", "effective_depth", "least_thickness", "least_spacing", "least_edge"):
        yield _datum(name, getattr(anchor, name), lambda v: show.length(v, denominator=16))
    yield _datum("critical_edge", anchor.critical_edge, lambda v: show.length(v, denominator=16))
    yield _datum("torque", anchor.torque, show.torque)
    yield _datum("least_strength", anchor.least_strength, show.pressure)
    if anchor.proof_load is not None:  # no test is asked for where none is stated
        yield _datum("proof_load", anchor.proof_load, show.force)
    yield _datum("reusable", anchor.reusable, lambda v: "yes, as the report allows" if v else "no")
    yield _datum("removal", anchor.removal, str)
    for name in ("steel_tension", "steel_shear", "pullout"):
        yield _datum(name, getattr(anchor, name), show.force)
    yield _datum("kc", anchor.kc, lambda v: f"{v:g}, {anchor.concrete}")
    yield _datum("category", anchor.category, str)
    yield _datum("ductile", anchor.ductile, lambda v: "yes" if v else "no")


def _datum(name: str, rated: Rated[Any] | None, text: Callable[[Any], str]) -> AnchorDatum:
    return AnchorDatum(name, text(rated.value) if rated else "", (rated.source or "") if rated else "")
