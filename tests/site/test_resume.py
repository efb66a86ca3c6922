"""A site that was killed or stopped while it was issued, and issued again by the same command."""

from __future__ import annotations

import hashlib
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planforge.register.database import FILE_NAME
from planforge.register.register import Register
from planforge.site.issuing import Order, issue_site

from .executors import inline
from .small_site import DAY, small_site

ROOT = Path(__file__).resolve().parent.parent.parent
LOTS = 6

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills a process group by signal")


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six lots issued without a break, beside their site."""
    folder = tmp_path_factory.mktemp("whole")
    site = small_site(folder, LOTS)
    assert len(list(issue_site(site, Order(folder / "out", DAY), inline()))) == LOTS
    return folder


def begin(folder: Path, out: Path, workers: int = 1) -> subprocess.Popen[str]:
    """Issue the site in a process group of its own."""
    words = ("issue", folder / "site.yaml", "-o", out, "--date", DAY.isoformat(), "--workers", workers)
    return subprocess.Popen(
        [sys.executable, "-m", "planforge", *map(str, words)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # a shell that runs the tests in the background has them ignore what stops from the keyboard
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509
    )


def plans(out: Path) -> dict[str, str]:
    """Each plan's file with its digest."""
    return {path.name: _digest(path) for path in out.glob("T-*.pdf")}


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _stop_after(process: subprocess.Popen[str], lines: int, how: signal.Signals, pause: float) -> None:
    """Signal the whole group once so many lots are done, and a while later."""
    assert process.stdout is not None
    for _ in range(lines):
        assert process.stdout.readline()
    time.sleep(pause)
    os.killpg(process.pid, how)


def test_killed_at_any_time_nothing_is_lost_or_doubled(whole: Path, tmp_path: Path) -> None:
    """The whole group is killed when chance has it; the next run is let be."""
    out = tmp_path / "out"
    process = begin(whole, out, workers=2)
    _stop_after(process, 1, signal.SIGKILL, random.Random().uniform(0.0, 0.15))
    process.communicate(timeout=60)
    _hold_together(out)
    _nobody_is_left(process.pid)
    _goes_on(whole, out)


def test_stopped_from_the_keyboard_it_says_how_to_go_on(whole: Path, tmp_path: Path) -> None:
    """A run may be done before the stop reaches it; then it is begun anew elsewhere."""
    for attempt in range(5):
        out = tmp_path / f"out-{attempt}"
        process = begin(whole, out)
        _stop_after(process, 1, signal.SIGINT, 0.0)
        said, wrong = process.communicate(timeout=60)
        _hold_together(out)
        if process.returncode == 130:
            break
        assert (process.returncode, said.count("-r0.pdf\n")) == (0, LOTS - 1)  # one line was read already
    else:
        pytest.fail("five runs of six lots were done before they could be stopped")
    assert "lot(s) are not done. To go on, run the same command again." in wrong
    assert wrong.endswith("Stopped. Nothing was half-written.\n")
    assert "Traceback" not in said + wrong
    _nobody_is_left(process.pid)
    _goes_on(whole, out)


def _goes_on(whole: Path, out: Path) -> None:
    """The same command again: what an uninterrupted run gives, in files and register."""
    process = begin(whole, out)
    said, wrong = process.communicate(timeout=300)
    assert (process.returncode, wrong) == (0, "")
    assert said.count("-r0.pdf\n") == LOTS
    assert plans(out) == plans(whole / "out")
    _hold_together(out)
    kept, other = (Register(folder / FILE_NAME).entries() for folder in (out, whole / "out"))
    assert sorted(kept, key=lambda e: e.number) == sorted(other, key=lambda e: e.number)


def _hold_together(out: Path) -> None:
    """Each row has its file, each file its row, and nothing twice."""
    entries = Register(out / FILE_NAME).entries()
    assert {entry.file: entry.sha256 for entry in entries} == plans(out)
    assert len({entry.number for entry in entries}) == len(entries)


def _nobody_is_left(group: int) -> None:
    """Every process of the group is gone; the one that minds the others' leavings goes last."""
    for _ in range(200):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    pytest.fail(f"a process of group {group} is left")
