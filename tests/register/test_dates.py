"""The date of issue against the dates that a job states."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest

from planforge.job.loading import load_job
from planforge.register.dates import done, earliest, past_work, too_early

DEMOS = Path(__file__).resolve().parent.parent.parent / "demo_jobs"
ONE_DAY = dt.timedelta(days=1)


@pytest.mark.parametrize(
    ("demo", "first"),
    [
        ("heron_lot_14", "2026-11-20"),  # prepared
        ("wren_lot_7", "2026-11-18"),
        ("wren_lot_7_mended", "2026-11-24"),
        ("quartz_court_building_2", "2027-01-12"),  # a line's release
        ("linnet_lot_3_trusses", "2026-12-07"),  # an anchor's release
    ],
)
def test_first_day_of_each_demo(demo: str, first: str) -> None:
    job, day = load_job(DEMOS / f"{demo}.yaml"), dt.date.fromisoformat(first)
    assert earliest(job) == day
    assert too_early(job, day) == []
    before = too_early(job, day - ONE_DAY)
    assert before
    assert all(line.endswith(f" {first}") for line in before)


def test_every_kind_of_done_date_counts_and_none_that_lies_ahead() -> None:
    job = load_job(DEMOS / "linnet_lot_3_trusses.yaml")
    fields = {re.sub(r"\[\d+\]", "", field) for field in done(job)}
    assert fields >= {
        "plan.prepared",
        "plan.history.dated",
        "slab.pour_date",
        "slab.scan.on",
        "slab.strength.dated",
        "power_lines.surveyed",
        "people.training.on",
        "rescue.drill.on",
        "inspections.on",
        "releases.on",
        "equipment.ropes.breaking_strength.dated",
    }
    assert not {"start", "end", "expires", "due"} & {field.rsplit(".", 1)[-1] for field in fields}


def test_latest_field_comes_first() -> None:
    named = too_early(load_job(DEMOS / "linnet_lot_3_trusses.yaml"), dt.date(2026, 11, 20))
    assert named[0] == "releases[2].on 2026-12-07"
    assert named[-1] == "plan.prepared 2026-11-23"


def test_work_that_is_over_is_noted() -> None:
    job = load_job(DEMOS / "wren_lot_7_mended.yaml")
    end = dt.date(2026, 12, 11)
    assert past_work(job, end) == []
    (note,) = past_work(job, end + ONE_DAY)
    assert note.startswith("issued on 2026-12-12, after the last day of the last phase, 2026-12-11")
