"""A process that is killed at each instant of a write: the file is there whole or not at all."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from planforge import cli
from planforge.job.loading import load
from tests.cad.plans import ROOT
from tests.register.certificates import PASSPHRASE, holder

from .folders import POSIX, Cli, drawn_job, plan_of

pytestmark = POSIX


_KILLED = """
import os, signal, sys
from pathlib import Path
def die(*_): os.kill(os.getpid(), signal.SIGKILL)
instant, count = sys.argv[1], int(sys.argv[2])
seen = []
def at(real):
    def call(*a):
        seen.append(1)
        if instant != "renamed" and len(seen) > count: die()
        done = real(*a)
        if instant == "renamed" and len(seen) > count: die()
        return done
    return call
if instant == "half written": os.fsync = at(os.fsync)
else: Path.replace = at(Path.replace)
from planforge.cli import main
main(sys.argv[3:])
"""


def killed(instant: str, count: int, *command: object) -> None:
    """Run a command that is killed at one of its writes; ``count`` writes pass first."""
    words = [sys.executable, "-B", "-c", _KILLED, instant, str(count), *map(str, command)]
    done = subprocess.run(words, capture_output=True, check=False, cwd=ROOT)
    assert done.returncode == -signal.SIGKILL, done.stderr


def test_commands_killed_at_each_instant_of_a_write(tmp_path: Path, run: Cli) -> None:
    """The file is there whole or not at all; after that the same command goes through, or says why not."""
    job = drawn_job(tmp_path)
    new, part, lot = (tmp_path / name for name in ("lot_21.yaml", "part.yaml", "part_lot.yaml"))
    for instant in ("half written", "renaming", "renamed"):
        killed(instant, 0, "new", new)
        assert new.exists() == (instant == "renamed")
    assert load(new).model
    for instant, count in (("half written", 1), ("renamed", 1)):
        killed(instant, count, "import", job, "-o", part)
        assert lot.exists()
        assert part.exists() == (instant == "renamed")
        if not part.exists():
            lot.unlink()
    assert run("import", job, "-o", part)[0] == cli.BAD_INPUT  # never over another
    assert {p.name for p in tmp_path.iterdir() if not p.name.startswith(".")} == {
        "lot.yaml",
        "plan.dxf",
        "lot_21.yaml",
        "part.yaml",
        "part_lot.yaml",
    }


def test_signing_killed_while_it_writes(shelf: Path, tmp_path: Path) -> None:
    pytest.importorskip("planforge.register.signing")
    plan, own = plan_of(shelf), holder("Aspen Dunlin").p12(tmp_path)
    (tmp_path / "secret").write_text(PASSPHRASE)
    before = plan.read_bytes()
    words = ("sign", plan, "--role", "Competent person", "--certificate", own)
    killed("half written", 0, *words, "--passphrase-file", tmp_path / "secret")
    assert plan.read_bytes() == before
