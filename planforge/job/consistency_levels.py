"""Levels in their order and stances that can be: what is lower lies lower, one tie-off at each stance."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from planforge.errors import Problem
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.task import Stance, Task
from planforge.job.wording import shown
from planforge.units import FOOT, Display

FROM_EDGE = 10 * FOOT
"""A stretch along an edge lies no farther from it than this (m)."""
SAME_HEIGHT = 1e-6


def check_levels(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each lower level that lies above the work, and each impossible stance."""
    levels = job.layout.levels
    for index, phase in enumerate(job.phases):
        working, lower = levels.get(phase.working_level), levels.get(phase.lower_level)
        if working is not None and lower is not None and lower > working + SAME_HEIGHT:
            yield _above(
                job, locator, ("phases", index, "lower_level"), lower, working, "the phase's working level"
            )
    known = [levels[phase.working_level] for phase in job.phases if phase.working_level in levels]
    for index, level in enumerate(job.lower_levels or []):
        if known and level.elevation > max(known) + SAME_HEIGHT:
            path: FieldPath = ("lower_levels", index, "elevation")
            yield _above(job, locator, path, level.elevation, max(known), "the highest working level")
    for number, task in enumerate(job.tasks):
        for index, stance in enumerate(task.stances):
            place: FieldPath = ("tasks", number, "stances", index)
            yield from _tie_off(locator, place, stance)
            yield from _stretch(job, locator, place, stance)
            yield from _sides(job, locator, place, task, stance)


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


def _stretch(job: Job, locator: Locator, path: FieldPath, stance: Stance) -> Iterator[Problem]:
    edge = next((edge for edge in job.layout.edges if edge.id == stance.edge), None)
    if edge is None or stance.stretch is None:
        return
    line = shapely.LineString(edge.path)
    distance = max(line.distance(shapely.Point(point)) for point in stance.stretch)
    if distance > FROM_EDGE:
        display = Display(job.site.units)
        yield locator.problem(
            (*path, "stretch"),
            found=f"a stretch that leads {display.feet(distance)} away from {shown(edge.id)}",
            expected=f"points within {display.feet(FROM_EDGE)} of the stance's edge",
            remedy="Correct the stretch or the edge.",
        )


def _sides(job: Job, locator: Locator, path: FieldPath, task: Task, stance: Stance) -> Iterator[Problem]:
    surface = job.layout.levels.get(task.level) if stance.elevation is None else stance.elevation
    if surface is None:
        return
    heights = job.layout.levels | {level.id: level.elevation for level in job.lower_levels or []}
    for number, side in enumerate(stance.sides):
        for index, name in enumerate(side.onto):
            height = heights.get(name)
            if height is not None and height > surface + SAME_HEIGHT:
                place = (*path, "sides", number, "onto", index)
                yield _above(job, locator, place, height, surface, "the stance's surface")
