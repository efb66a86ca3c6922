"""The demos' assessments, each computed once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from planforge.assess.assessment import Assessment, assess
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import load_model

DEMOS = Path(__file__).parents[2] / "demo_jobs"
LOTS = (
    "heron_lot_14",
    "heron_lot_15",
    "wren_lot_7",
    "wren_lot_7_mended",
    "quartz_court_building_2",
    "linnet_lot_3_trusses",
)


@cache
def assessed(name: str) -> Assessment:
    return assess(load_model(DEMOS / f"{name}.yaml", Job, lot_only=LOT_ONLY).model)


@pytest.fixture(scope="session")
def demo() -> Callable[[str], Assessment]:
    """Return a function from a demo's name to its assessment."""
    return assessed


@pytest.fixture(params=LOTS)
def lot(request: pytest.FixtureRequest) -> Assessment:
    """Each demo in turn."""
    return assessed(request.param)
