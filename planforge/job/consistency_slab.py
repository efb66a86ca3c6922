"""Base anchors that fit their base and slab, things in the slab that have an outline, framing that runs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from planforge.errors import Problem
from planforge.job.consistency_outlines import point_text, sound
from planforge.job.consistency_ratings import value_path
from planforge.job.cross_references import entries, known_ids
from planforge.job.equipment import BaseAnchor, PostKind
from planforge.job.layout import Framing
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.slab import InSlab
from planforge.job.unread import where_read
from planforge.job.wording import shown
from planforge.units import Display


def check_slab(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each anchor, thing in the slab or set of framing that can't be."""
    anchors = known_ids(job, "equipment.base_anchors")
    through: set[FieldPath] = set()
    for _, kind in entries(job, "equipment.posts"):
        yield from _anchored_with(job, locator, anchors, kind, through)
    for path, thing in entries(job, "slab.contents"):
        yield from _fills(locator, (*path, "path"), thing)
    for path, framing in entries(job, "layout.framing"):
        yield from _heights(locator, path, framing)
        yield from _thickness(locator, path, framing)
        yield from _first(job, locator, (*path, "first"), framing)


@where_read
def _anchored_with(
    job: Job, locator: Locator, anchors: dict[str, FieldPath], kind: PostKind, through: set[FieldPath]
) -> Iterator[Problem]:
    """Hold a kind's anchor against its base and the slab; ``through`` are those told of already."""
    path = anchors.get(kind.anchored_with or "")
    if path is None:
        return
    anchor = job.equipment.base_anchors[int(path[-1])]
    yield from _length(job, locator, (*path, "effective_depth"), anchor, kind)
    if path not in through and any(post.kind == kind.id for post in job.layout.posts):
        through.add(path)
        yield from _through_slab(job, locator, (*path, "hole_depth"), anchor)


@where_read
def _length(
    job: Job, locator: Locator, path: FieldPath, anchor: BaseAnchor, kind: PostKind
) -> Iterator[Problem]:
    """What the base's thickness leaves of an anchor's length bounds its effective depth."""
    if anchor.length is None or anchor.effective_depth is None:
        return
    left = anchor.length - (kind.base_thickness or 0.0)
    if anchor.effective_depth.value <= left:
        return
    inches = Display(job.site.units).inches
    base = f" less the base of {shown(kind.id)}" if kind.base_thickness else ""
    yield locator.problem(
        value_path(locator, path),
        expected=f"at most its length{base}, {inches(left, 'down')}",
        remedy="Take the effective depth from its report, not the nominal depth; a base eats embedment.",
    )


@where_read
def _through_slab(job: Job, locator: Locator, path: FieldPath, anchor: BaseAnchor) -> Iterator[Problem]:
    thickness = job.slab.thickness if job.slab else None
    if thickness is None or anchor.hole_depth is None or anchor.hole_depth.value < thickness:
        return
    yield locator.problem(
        value_path(locator, path),
        expected=f"less than the slab's thickness, {shown(locator.value(('slab', 'thickness')))}",
        remedy="Correct the hole's depth or slab.thickness, or choose a shorter anchor.",
    )


@where_read
def _fills(locator: Locator, path: FieldPath, thing: InSlab) -> Iterator[Problem]:
    if thing.fills and (len(thing.path) < 3 or sound(thing.path) is None):
        yield locator.problem(
            path,
            found=f"{len(thing.path)} points that enclose no area",
            expected="the outline of the area it fills, three corners or more, once around",
            remedy="List its corners in order, or delete fills where it is a line.",
        )


@where_read
def _heights(locator: Locator, path: FieldPath, framing: Framing) -> Iterator[Problem]:
    if framing.bottom >= framing.top:
        yield locator.problem(
            (*path, "bottom"),
            expected=f"less than top, which is {shown(locator.value((*path, 'top')))}",
            remedy="Correct bottom or top; they may be exchanged.",
        )


@where_read
def _thickness(locator: Locator, path: FieldPath, framing: Framing) -> Iterator[Problem]:
    if framing.thickness >= framing.spacing:
        yield locator.problem(
            (*path, "thickness"),
            expected=f"less than spacing, which is {shown(locator.value((*path, 'spacing')))}",
            remedy="Correct thickness or spacing; they may be exchanged.",
        )


@where_read
def _first(job: Job, locator: Locator, path: FieldPath, framing: Framing) -> Iterator[Problem]:
    area = sound(framing.area)
    if area is None:
        return
    off = _off_area(area, framing)
    if off > framing.spacing:
        display = Display(job.site.units)
        yield locator.problem(
            path,
            found=f"{point_text(locator, path)}, {display.feet(off)} beside the area",
            expected="a point on the first one, within one spacing of the area, across their run",
            remedy="Correct first, direction or area.",
        )


def _off_area(area: shapely.Polygon, framing: Framing) -> float:
    """How far the first one's centre line passes beside the area, m, measured across the run."""
    across = np.array([-np.sin(framing.direction), np.cos(framing.direction)])
    corners = shapely.get_coordinates(area) @ across
    first = float(np.asarray(framing.first) @ across)
    return max(float(corners.min()) - first, first - float(corners.max()), 0.0)
