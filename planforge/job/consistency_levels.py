"""Levels in their order and stances that can be: what is lower lies lower, one tie-off at each stance."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from planforge.errors import Problem
from planforge.job.cross_references import entries
from planforge.job.model import Job
from planforge.job.named import Named
from planforge.job.positions import FieldPath, Locator
from planforge.job.site import LowerLevel, Phase
from planforge.job.task import Stance, Task
from planforge.job.unread import where_read
from planforge.job.wording import shown
from planforge.units import FOOT, Display

FROM_EDGE = 10 * FOOT
"""A stretch along an edge lies no farther from it than this (m)."""
SAME_HEIGHT = 1e-6


def check_levels(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each lower level that lies above the work, and each impossible stance."""
    for path, phase in entries(job, "phases"):
        yield from _phase(job, locator, (*path, "lower_level"), phase)
    for path, level in entries(job, "lower_levels"):
        yield from _lower_level(job, locator, (*path, "elevation"), level)
    named = Named(job)
    for path, stance in entries(job, "tasks.stances"):
        yield from _tie_off(locator, path, stance)
        yield from _stretch(named, locator, path, stance)
        yield from _sides(named, locator, path, job.tasks[int(path[1])], stance)


@where_read
def _phase(job: Job, locator: Locator, path: FieldPath, phase: Phase) -> Iterator[Problem]:
    levels = job.layout.levels
    working, lower = levels.get(phase.working_level), levels.get(phase.lower_level)
    if working is not None and lower is not None and lower > working + SAME_HEIGHT:
        yield _above(job, locator, path, lower, working, "the phase's working level")


@where_read
def _lower_level(job: Job, locator: Locator, path: FieldPath, level: LowerLevel) -> Iterator[Problem]:
    levels = job.layout.levels
    known = [levels[phase.working_level] for phase in job.phases if phase.working_level in levels]
    if known and level.elevation > max(known) + SAME_HEIGHT:
        yield _above(job, locator, path, level.elevation, max(known), "the highest working level")


def _above(job: Job, locator: Locator, path: FieldPath, found: float, limit: float, what: str) -> Problem:
    display = Display(job.site.units)
    read = shown(locator.value(path))
    height = "" if path[-1] == "elevation" else f" at {display.length(found)}"
    return locator.problem(
        path,
        found=f"{read}{height}",
        expected=f"a level no higher than {what} at {display.length(limit)}",
        remedy="Correct the level or its elevation; elevations count up from the top of the slab.",
    )


@where_read
def _tie_off(locator: Locator, path: FieldPath, stance: Stance) -> Iterator[Problem]:
    if (stance.line is None) == (stance.anchor is None):
        both = stance.line is not None
        yield locator.problem(
            path,
            found=f"line {shown(stance.line)} and anchor {shown(stance.anchor)}"
            if both
            else "no line and no anchor",
            expected="what the worker is tied to: one line or one anchor",
            remedy="Delete one; list a second stance for the other." if both else "Add line or anchor.",
        )


@where_read
def _stretch(named: Named, locator: Locator, path: FieldPath, stance: Stance) -> Iterator[Problem]:
    edge = named.edges.get(stance.edge) if stance.edge else None
    if edge is None or stance.stretch is None:
        return
    line = shapely.LineString(edge.path)
    distance = max(line.distance(shapely.Point(point)) for point in stance.stretch)
    if distance > FROM_EDGE:
        display = Display(named.job.site.units)
        yield locator.problem(
            (*path, "stretch"),
            found=f"a stretch that leads {display.feet(distance)} away from {shown(edge.id)}",
            expected=f"points within {display.feet(FROM_EDGE)} of the stance's edge",
            remedy="Correct the stretch or the edge.",
        )


@where_read
def _sides(named: Named, locator: Locator, path: FieldPath, task: Task, stance: Stance) -> Iterator[Problem]:
    surface = named.job.layout.levels.get(task.level) if stance.elevation is None else stance.elevation
    if surface is None:
        return
    for place, name in entries(stance, "sides.onto"):
        yield from _side(named, locator, (*path, *place), name, surface)


@where_read
def _side(named: Named, locator: Locator, path: FieldPath, name: str, surface: float) -> Iterator[Problem]:
    job, lower = named.job, named.lower_levels.get(name)
    height = job.layout.levels.get(name) if lower is None else lower.elevation
    if height is not None and height > surface + SAME_HEIGHT:
        yield _above(job, locator, path, height, surface, "the stance's surface")
