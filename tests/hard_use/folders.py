"""What a folder holds, and a job with its drawing to put into one."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cad.plans import FOOTPRINT, HOLES, TENDONS, on, outline, write_dxf, write_job

POSIX = pytest.mark.skipif(os.name != "posix", reason="POSIX signals, links and rights")

Cli = Callable[..., tuple[int, str, str]]


def plan_of(shelf: Path) -> Path:
    """The one plan in a folder."""
    (plan,) = shelf.glob("*.pdf")
    return plan


def state(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by name."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def drawn_job(folder: Path) -> Path:
    """A job that names a drawing of its outline, a hole and a tendon; its drawing beside it."""

    def draw(_: object, space: Any) -> None:
        outline(space)
        space.add_circle((20, 25), 1, dxfattribs=on("HOLES"))
        space.add_line((1, 25), (43, 25), dxfattribs=on("TENDON"))

    write_dxf(folder, draw)
    return write_job(folder, {"file": "plan.dxf", "layers": [FOOTPRINT, HOLES, TENDONS]})
