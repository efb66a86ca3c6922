"""A small lot to propose for, turned about as a test wants it: one deck over a slab, two or more open
edges.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from planforge.job.consistency import check_consistency
from planforge.job.loading import load
from planforge.job.model import Job
from planforge.job.positions import Locator
from planforge.job.reading import Loaded
from planforge.proposal.offer import Offer, offer
from planforge.proposal.recheck import _mapping

DEMO = Path(__file__).parents[2] / "demo_jobs" / "heron_lot_17.yaml"

WIDE, DEEP = 30.0, 24.0  # ft

Place = Callable[[float, float], tuple[float, float]]


def as_is(x: float, y: float) -> tuple[float, float]:
    return x, y


def mirrored(x: float, y: float) -> tuple[float, float]:
    return WIDE - x, y


def moved(x: float, y: float) -> tuple[float, float]:
    return x + 7.0, y - 13.0


@cache
def demo() -> Loaded[Job]:
    return load(DEMO)


@cache
def demo_offer() -> Offer:
    return offer(demo())


def small(place: Place = as_is, change: Callable[[dict[str, Any]], None] | None = None) -> Loaded[Job]:
    """The small lot with every place put through ``place``, then changed as a test wants."""
    data = copy.deepcopy(demo().data)

    def path(*points: tuple[float, float]) -> list[list[str]]:
        return [[f"{round(v * 12, 6):g} in" for v in place(x, y)] for x, y in points]

    box = [(0, 0), (WIDE, 0), (WIDE, DEEP), (0, DEEP)]
    ring = [(0.25, 0.25), (WIDE - 0.25, 0.25), (WIDE - 0.25, DEEP - 0.25), (0.25, DEEP - 0.25), (0.25, 0.25)]
    data["phases"] = [data["phases"][0]]
    data["work_parts"] = []
    around = path((-20, -20), (WIDE + 20, -20), (WIDE + 20, DEEP + 20), (-20, DEEP + 20))
    data["lower_levels"] = [
        {"id": "grade", "name": "Grade", "kind": "grade", "elevation": "-6 in", "area": around}
    ]
    edges = {"E-S": [(0, 0), (WIDE, 0)], "E-W": [(0, 0), (0, DEEP)]}
    data["layout"] = {
        "levels": {"slab": "0 ft", "second": "11'-4\""},
        "footprint": path(*box),
        "edges": [
            {"id": name, "kind": "perimeter", "path": path(*points), "level": "second", "phases": ["deck"]}
            for name, points in edges.items()
        ],
        "places": data["layout"]["places"],
        "zones": [z for z in data["layout"]["zones"] if z["id"] == "Z-FALL"],
    }
    wall = {"thickness": "5 1/2 in", "level": "slab", "top": "10'-1\"", "takes_guys": True}
    data["building"] = {
        "walls": [
            {"id": "W-OUT", "path": path(*ring), **wall},
            {"id": "W-IN", "path": path((0.25, 9), (WIDE - 0.25, 9)), **wall},
            {"id": "W-ACROSS", "path": path((9, 0.25), (9, DEEP - 0.25)), **wall},
            {"id": "W-ACROSS-2", "path": path((WIDE - 9, 0.25), (WIDE - 9, DEEP - 0.25)), **wall},
        ]
    }
    data["hazards"] = []
    data["tasks"] = [t for t in data["tasks"] if t["id"] == "T-DECK"]
    data["tasks"][0] |= {"phases": ["deck"], "workers": 1}
    data["slab"]["contents"] = []
    for means in data["rescue"]["means"]:
        means["stands_on"] = {"second": "second"}.get(means["stands_on"], "grade")
        means.pop("also_on", None)
    data["access"], data["hand_overs"] = [], []
    data["proposal"] |= {
        "spacing": "6 ft",
        "work": [
            {
                "task": "T-DECK",
                "edges": ["E-S", "E-W"],
                "surface": "deck",
                "connector": "srl-8",
                "outward": ["grade"],
                "obstacle": "10 ft",
            }
        ],
        "guardrails": [],
        "hoists": [{"outline": around, "reach": "45 ft"}],
        "insets": ["3'-6\""],
    }
    if change is not None:
        change(data)
    return read(json.loads(json.dumps(data, default=str)))  # nothing stands in two places at once


def read(data: dict[str, Any]) -> Loaded[Job]:
    job = Job.model_validate(data)
    root = _mapping(data, "small lot")
    locator = Locator(root)
    problems = check_consistency(job, locator)
    assert not problems, problems
    return Loaded(job, data, locator, ())


@cache
def small_offer() -> Offer:
    return offer(small())
