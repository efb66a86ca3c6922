"""Invented buildings for the layout sheets: twelve units in a row, a house whose parts come by phase.

Only what is drawn is of interest here: the demo's results are kept, and its layout is replaced.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from conftest import assessed

from planforge.assess.assessment import Assessment
from planforge.assess.index import Index
from planforge.job.building import Building
from planforge.job.model import Job
from planforge.units import FOOT

UNIT = 100 * FOOT
"""Length of the demo of four units, m."""


def _moved(value: Any, along: float) -> Any:
    """A point or path moved along x."""
    if isinstance(value, tuple) and len(value) == 2 and isinstance(value[0], float):
        return value[0] + along, value[1]
    return type(value)(_moved(one, along) for one in value)


def _copy(item: Any, suffix: str, along: float, **names: str) -> Any:
    """A thing of the layout under another name, moved along x; ``names`` are its references by field."""
    changes: dict[str, Any] = {"id": f"{item.id}{suffix}"}
    for name in ("at", "to", "path", "outline", "area", "first"):
        if getattr(item, name, None) is not None:
            changes[name] = _moved(getattr(item, name), along)
    if getattr(item, "guys", None):
        changes["guys"] = [_copy(guy, suffix, along) for guy in item.guys]
    for name in ("start", "end", "absorber_at", "beside", "post", "opening"):
        value = getattr(item, name, None)
        if isinstance(value, str):
            changes[name] = f"{value}{suffix}"
    return item.model_copy(update=changes)


def _with(assessment: Assessment, job: Job) -> Assessment:
    return replace(assessment, index=Index(job))


@cache
def twelve_units() -> Assessment:
    """Three of the demo's four-unit buildings end to end: 300 ft x 40 ft."""
    quartz = assessed("quartz_court_building_2")
    layout, copies = quartz.job.layout, [("a", 0.0), ("b", UNIT), ("c", 2 * UNIT)]
    (left, bottom), _, (right, top), _ = layout.footprint
    changes: dict[str, Any] = {
        "footprint": [(left, bottom), (right + 2 * UNIT, bottom), (right + 2 * UNIT, top), (left, top)]
    }
    if layout.slab is not None:
        raise AssertionError("the demo has a slab of its own now: lengthen it too")
    for name in ("edges", "openings", "posts", "lines", "anchors", "guardrails", "covers", "zones"):
        changes[name] = [_copy(i, suffix, along) for suffix, along in copies for i in getattr(layout, name)]
    hazards = [_copy(h, suffix, along) for suffix, along in copies for h in quartz.job.hazards]
    job = quartz.job.model_copy(update={"layout": layout.model_copy(update=changes), "hazards": hazards})
    return _with(quartz, job)


@cache
def house_in_phases() -> Assessment:
    """The demo house with its floors, walls and roof stated: they come with deck, walls and trusses."""
    heron = assessed("heron_lot_14")
    corners = [["0", "0"], ["40 ft", "0"], ["40 ft", "34 ft"], ["0", "34 ft"]]
    building = Building.model_validate(
        {
            "floors": [
                {"id": "F-GROUND", "level": "slab", "outline": corners},
                {
                    "id": "F-SECOND",
                    "level": "second",
                    "outline": [["1 ft", "1 ft"], ["23 ft", "1 ft"], ["23 ft", "33 ft"], ["1 ft", "33 ft"]],
                    "laid": "walls",
                },
            ],
            "walls": [
                {
                    "id": "W-1",
                    "path": [["3 ft", "16 ft"], ["18 ft", "16 ft"]],
                    "thickness": "6 in",
                    "level": "slab",
                    "top": "10 ft",
                },
                {
                    "id": "W-2",
                    "path": [["26 ft", "18 ft"], ["26 ft", "28 ft"]],
                    "thickness": "6 in",
                    "level": "second",
                    "top": "19 ft",
                    "raised": "walls",
                },
            ],
            "roofs": [
                {
                    "id": "R-1",
                    "outline": [
                        ["-2 ft", "-2 ft"],
                        ["42 ft", "-2 ft"],
                        ["42 ft", "36 ft"],
                        ["-2 ft", "36 ft"],
                    ],
                    "heights": ["20 ft"] * 4,
                    "worked": ["trusses"],
                },
            ],
        }
    )
    return _with(heron, heron.job.model_copy(update={"building": building}))
