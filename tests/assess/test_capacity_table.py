"""Capacity: one worker up to one more than the plan allows, equal to the assessment in the row in use."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from planforge.assess.assessment import Assessment, assess
from planforge.assess.capacity_table import BEYOND, CapacityRow, capacity_tables
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import load_model

DEMO = Path(__file__).resolve().parents[2] / "demo_jobs" / "heron_lot_14.yaml"


@pytest.fixture(scope="module")
def heron() -> Assessment:
    return assess(load_model(DEMO, Job, lot_only=LOT_ONLY).model)


@pytest.fixture(scope="module")
def tables(heron: Assessment) -> dict[str, tuple[CapacityRow, ...]]:
    return capacity_tables(heron.index, heron.lines)


def test_rows_run_to_one_more_than_allowed(
    heron: Assessment, tables: dict[str, tuple[CapacityRow, ...]]
) -> None:
    for line in heron.job.layout.lines:
        rows = tables[line.id]
        assert [r.workers for r in rows] == list(range(1, line.workers + BEYOND + 1))
        assert [r.workers for r in rows if r.in_use] == [line.workers]


def test_the_row_in_use_is_the_assessments(
    heron: Assessment, tables: dict[str, tuple[CapacityRow, ...]]
) -> None:
    for result in heron.lines:
        row = next(r for r in tables[result.id] if r.in_use)
        together = max(float(run.strong.tension_max.max()) for run in result.runs)
        assert row.tension == pytest.approx(together, rel=1e-6)
        lowest = min(result.runs, key=lambda run: run.worst_side.left_over)
        assert row.left_over >= lowest.worst_side.left_over - 1e-6


def test_more_workers_load_more_and_leave_less(tables: dict[str, tuple[CapacityRow, ...]]) -> None:
    for rows in tables.values():
        for fewer, more in pairwise(rows):
            assert more.tension > fewer.tension
            assert more.left_over < fewer.left_over
            assert more.rope_factor is not None
            assert fewer.rope_factor is not None
            assert more.rope_factor < fewer.rope_factor


def test_no_stance_no_table(heron: Assessment) -> None:
    bare = assess(heron.job.model_copy(update={"tasks": []}))
    assert capacity_tables(bare.index, bare.lines) == {}
