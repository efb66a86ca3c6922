"""Standard output that fails, and the languages and zones of a system."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from planforge import cli
from planforge.job.loading import load, merged_text
from tests.cad.plans import ROOT
from tests.register.conftest import MENDED

from .folders import POSIX

pytestmark = POSIX


ODD_PLACES = [
    {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    {"LC_ALL": "POSIX", "PYTHONIOENCODING": "ascii", "TZ": "Pacific/Kiritimati"},
    {"PYTHONIOENCODING": "latin-1", "TZ": "Nowhere/At_All"},
]


@pytest.mark.parametrize("place", ODD_PLACES, ids=" ".join)
def test_a_job_is_refused_in_words_under_every_language_and_zone(
    tmp_path: Path, place: dict[str, str]
) -> None:
    """The folder, the job and what it extends have names that the language's letters can't hold."""
    folder = tmp_path / "屋根 é"
    folder.mkdir()
    tree = merged_text(load(MENDED)).replace("Warbler", "Wärbler 屋", 1)
    (folder / "größe.yaml").write_text("site: {gate: Östliches Tor 屋}\n", "utf-8")
    (folder / "löt.yaml").write_text("extends: größe.yaml\n" + tree, "utf-8")
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("LC_", "LANG"))} | place
    command = [sys.executable, "-m", "planforge", "check", str(folder / "löt.yaml"), "--json"]
    done = subprocess.run(command, capture_output=True, check=False, cwd=ROOT, env=environment)
    assert done.returncode == cli.BAD_INPUT
    assert b"Traceback" not in done.stderr
    assert b"on its own account" not in done.stderr
    # Where the system's names hold ASCII alone, no file of the other name is found; else it is refused here:
    assert b"which does not exist" in done.stderr or b"site: found a field of one lot" in done.stderr


def test_output_that_can_t_be_printed(tmp_path: Path) -> None:
    """A full device and a closed one: a code of its own, and what was to be written is written."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "planforge", "schema"],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
            cwd=ROOT,
        )
    assert done.returncode == cli.NOT_PRINTED
    assert done.stderr.startswith(b"The output can't be printed: No space left on device.")
    target = tmp_path / "lot_21.yaml"
    done = subprocess.run(
        f'exec "{sys.executable}" -m planforge new "{target}" >&- 2>&-', shell=True, check=False, cwd=ROOT
    )
    assert done.returncode in (0, cli.NOT_PRINTED)
    assert load(target).model
