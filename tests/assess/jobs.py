"""Variants of a small lot, and the demos: assessed once each, by what was changed."""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

from planforge.assess.assessment import Assessment, assess
from planforge.assess.finding import Finding
from planforge.job.loading import load, load_job
from planforge.job.model import Job

DEMO_FOLDER = Path(__file__).parents[2] / "demo_jobs"
DEMOS = (
    "heron_lot_14",
    "wren_lot_7",
    "wren_lot_7_mended",
    "quartz_court_building_2",
    "linnet_lot_3_trusses",
)
SMALL = Path(__file__).with_name("small_lot.yaml")

REMOVE = "<remove>"
"""As a change's value: take the key or the list's entry away."""

Changes = dict[str, Any]
"""Where to what, as a job file writes it: ``{"user.mass": "309.9 lb", "layout.lines.L-1.workers": 3}``.

A list's entry is addressed by its id, else by its number; ``+`` appends one.
"""


UNGUYED: Changes = {f"layout.posts.P{n}.guys": [] for n in (1, 2, 3, 4)}
"""Takes every guy away: the heads give way only as the post's maker states."""


@cache
def raw() -> Any:
    """The small lot as its file states it; not to be changed in place."""
    return load(SMALL).data


def _at(holder: Any, key: str) -> Any:
    if isinstance(holder, dict):
        return key
    by_id = [n for n, entry in enumerate(holder) if isinstance(entry, dict) and entry.get("id") == key]
    return by_id[0] if by_id else int(key)


def _apply(data: Any, path: str, value: Any) -> None:
    *parents, last = path.split(".")
    holder = data
    for key in parents:
        holder = holder[_at(holder, key)]
    if last == "+":
        holder.append(value)
    elif value == REMOVE:
        del holder[_at(holder, last)]
    else:
        holder[_at(holder, last)] = value


def small(changes: Changes | None = None) -> Job:
    """The small lot with changes."""
    data = copy.deepcopy(raw())
    for path, value in (changes or {}).items():
        _apply(data, path, copy.deepcopy(value))
    return Job.model_validate(data)


@cache
def _assessed(key: str) -> Assessment:
    return assess(small(json.loads(key)))


def assessed(changes: Changes | None = None) -> Assessment:
    """The small lot with changes, assessed."""
    return _assessed(json.dumps(changes or {}))


@cache
def demo(name: str) -> Job:
    """A demo's job."""
    return load_job(DEMO_FOLDER / f"{name}.yaml")


@cache
def assessed_demo(name: str) -> Assessment:
    """A demo, assessed."""
    return assess(demo(name))


def finding(assessment: Assessment, check: str, where: str, phase: str | None = None) -> Finding:
    """The one finding of a check at a place (and phase)."""
    every = [f for f in assessment.findings if f.id == check and f.where == where]
    chosen = [f for f in every if phase is None or f.phase == phase]
    places = sorted({f.where for f in assessment.findings if f.id == check})
    assert chosen, f"no {check} at {where!r}; there are: {places}"
    assert len({(f.verdict, f.value, f.limit) for f in chosen}) == 1, [f.phase for f in chosen]
    return chosen[0]
