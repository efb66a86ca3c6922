"""A clock that is wrong: no plan bears its date."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from types import SimpleNamespace

import pytest

from planforge.errors import RefusedError
from planforge.register import issuing
from planforge.register.database import FILE_NAME
from planforge.register.register import Register
from tests.register.conftest import MENDED, next_revision

from .folders import POSIX, state

pytestmark = POSIX


def _clock(patch: pytest.MonkeyPatch, day: dt.date) -> None:
    class Day(dt.date):
        @classmethod
        def today(cls) -> Day:
            return cls(day.year, day.month, day.day)

    patch.setattr(issuing, "dt", SimpleNamespace(date=Day))


def test_a_clock_before_the_job_s_own_dates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A computer whose battery ran out says 1970: no plan bears that date."""
    _clock(monkeypatch, dt.date(1970, 1, 1))
    with pytest.raises(RefusedError, match="a plan dated 1970-01-01 can't rest on what is done after it"):
        issuing.issue(MENDED, tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("quick_pages")
def test_a_clock_that_went_back_between_two_issues(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What supersedes a plan is not dated before it: who holds both would take the other for the newer."""
    job, later = tmp_path / "job.yaml", tmp_path / "later.yaml"
    job.write_text(next_revision(), "utf-8")
    note = "  - {revision: '3', dated: '2026-11-26', change: Gate, approved_by: kestrel}\nsite:\n"
    text = job.read_text("utf-8").replace("  revision: '2'\n", "  revision: '3'\n", 1)
    later.write_text(text.replace("site:\n", note, 1), "utf-8")
    issuing.issue(job, shelf, date=dt.date(2026, 12, 3))
    before = state(shelf)
    with monkeypatch.context() as patch:
        _clock(patch, dt.date(2026, 11, 30))
        with pytest.raises(RefusedError) as refused:
            issuing.issue(later, shelf)
    (kept,) = (e for e in Register(shelf / FILE_NAME).entries() if e.status.value == "issued")
    assert str(refused.value) == (
        f"{kept.name} was issued on 2026-12-03; what supersedes it can't be dated 2026-11-30. Look at this "
        "machine's clock, or issue with --date 2026-12-03 or later. Nothing was written."
    )
    assert state(shelf) == before
    assert issuing.issue(later, shelf, date=dt.date(2026, 12, 3)).supersedes == 2
