"""The lifeline under a point load: planforge, MoorPy and OpenSees on the same 1,000 cases, accuracy and time.

    python tests/benchmarks/bench_lines.py [--cases 1000] [--record]

Needs MoorPy (extra ``dev``) and OpenSees (extra ``opensees``, with the system's BLAS and LAPACK). Spans 20
to 60 ft, sag 2 to 15 in, level and inclined, loads of 1 to 10 kN anywhere, fixed ends, seeded. planforge
solves all of them as one batch, then one by one as the others do. Their tolerances are those of the
validation tests: MoorPy's point balances to a millionth of the load, OpenSees is a chain of 120 straight
trusses loaded in 60 steps.
"""

from __future__ import annotations

import datetime as dt
import os
import platform
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import openseespy.opensees as ops
from numpy.typing import NDArray
from recording import options, tell

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from planforge.calc.cable import Rope  # noqa: E402
from planforge.calc.lifeline import InstalledLine, Line, install  # noqa: E402
from planforge.calc.point_load import LoadedLine, grip, load_line, sag_profile  # noqa: E402
from tests.validation.cases import FOOT, INCH  # noqa: E402
from tests.validation.test_point_load_moorpy import by_moorpy  # noqa: E402
from tests.validation.test_point_load_opensees import PIECES, build_chain, hang_load  # noqa: E402

RESULTS = Path(__file__).with_name("LINES.md")
Floats = NDArray[np.float64]
QUANTITIES = ("tension at the left end", "tension at the right end", "drop of the load")


@dataclass(frozen=True)
class Cases:
    """The lines as installed, the rope's shape at rest by its nodes, and where which load hangs."""

    installed: InstalledLine
    x: Floats  # m, nodes along the rope at rest
    z: Floats  # m, up
    node: NDArray[np.int64]  # the loaded node
    at: Floats  # m, the loaded place
    load: Floats  # N


def random_cases(count: int) -> Cases:
    """``count`` lines with a load each, the same for every run."""
    random = np.random.default_rng(1926502)
    span = random.uniform(20.0, 60.0, count) * FOOT
    rise = np.where(random.random(count) < 0.5, 0.0, random.uniform(-0.05, 0.05, count) * span)
    rope = Rope(random.uniform(2.0, 5.0, count), random.uniform(1e6, 6e6, count))
    installed = install(Line(span, rise, random.uniform(2.0, 15.0, count) * INCH, rope))
    nothing = np.zeros((count, 0))
    x, sag = sag_profile(installed, load_line(installed, nothing, nothing), PIECES + 1)
    node = random.integers(4, PIECES - 3, count)
    at = np.take_along_axis(x, node[:, None], axis=-1)[:, 0]
    z = rise[:, None] * x / span[:, None] - sag
    return Cases(installed, x, z, node, at, random.uniform(1000.0, 10000.0, count))


def ours(cases: Cases) -> Floats:
    """Rows of the three quantities, all cases in one batch."""
    found: LoadedLine = load_line(cases.installed, cases.at[:, None], cases.load[:, None])
    return np.stack([found.tension_left, found.tension_right, found.sag_increment[:, 0]], axis=-1)


def ours_one_by_one(cases: Cases) -> Floats:
    """The same without batching, as the others are asked."""
    rows = []
    for (span, rise, _, (w, EA), _), sag, at, load in zip(
        _each(cases), np.asarray(cases.installed.line.installed_sag), cases.at, cases.load, strict=True
    ):
        found = load_line(install(Line(span, rise, sag, Rope(w, EA))), [at], [load])
        rows.append((found.tension_left, found.tension_right, found.sag_increment[0]))
    return np.array(rows, dtype=float)


def _each(cases: Cases) -> list[tuple[Any, ...]]:
    """Span, rise, unstretched length, (w, EA) and installed tension of each case, as plain numbers."""
    line = cases.installed.line
    columns = (
        line.span,
        line.rise,
        cases.installed.unstretched_length,
        line.rope.weight,
        line.rope.axial_stiffness,
        cases.installed.horizontal_tension,
    )
    rows = zip(*(np.asarray(column).tolist() for column in columns), strict=True)
    return [(span, rise, length, (w, EA), H) for span, rise, length, w, EA, H in rows]


def with_moorpy(cases: Cases) -> Floats:
    """The same by MoorPy, one by one."""
    marks = grip(cases.installed, cases.at[:, None])
    rows = []
    for i, (span, rise, length, rope, _) in enumerate(_each(cases)):
        left, right, _, z = by_moorpy(span, rise, length, marks.lengths[i, 0], rope, cases.load[i])
        rows.append((left, right, -z - marks.rest_drop[i, 0]))
    return np.array(rows)


def with_opensees(cases: Cases) -> Floats:
    """The same by OpenSees, one by one."""
    rows = []
    for i, (_, _, length, rope, H) in enumerate(_each(cases)):
        build_chain(ops, cases.x[i], cases.z[i], (np.inf, np.inf), rope, length, H)
        found = hang_load(ops, int(cases.node[i]), float(cases.load[i]))
        rows.append((found["tension_left"], found["tension_right"], found["drop"]))
    return np.array(rows)


def _timed(run: Callable[[Cases], Floats], cases: Cases) -> tuple[Floats, float]:
    """The result and its processor's seconds; the median of nine where one run is too short to time."""
    times: list[float] = []
    while len(times) < (9 if times and times[0] < 0.1 else 1):
        start = time.process_time()
        found = run(cases)
        times.append(time.process_time() - start)
    return found, statistics.median(times)


def table(count: int) -> list[str]:
    """The Markdown rows."""
    cases = random_cases(count)
    ours(cases)  # loaded and warm, as the others are after their first case
    found, seconds = {}, {}
    programs = {
        "planforge": ours,
        "planforge, one by one": ours_one_by_one,
        "MoorPy": with_moorpy,
        "OpenSees": with_opensees,
    }
    for name, run in programs.items():
        found[name], seconds[name] = _timed(run, cases)
    rows = [
        "| program | processor's seconds | of planforge's | " + " | ".join(QUANTITIES) + " |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for name, values in found.items():
        apart = np.abs(found["planforge"] / values - 1.0)
        cells = [f"{np.max(column):.1e} (median {np.median(column):.0e})" for column in apart.T]
        cells = ["compared with"] * 3 if name == "planforge" else cells
        ratio = seconds[name] / seconds["planforge"]
        rows.append(f"| {name} | {seconds[name]:.4f} | {ratio:,.0f} | {' | '.join(cells)} |")
    return rows


def main() -> None:
    """Measure and print; record with ``--record``."""
    asked = options(__doc__, cases=1000)
    about = (
        f"{asked.cases:,} lines with fixed ends under one load, {dt.date.today()}, Python "
        f"{platform.python_version()}, numpy {np.__version__}, MoorPy {version('moorpy')}, OpenSeesPy "
        f"{version('openseespy')}, {os.cpu_count()} cores. Differences are relative, the worst first. "
        "planforge solves the cases as one batch, then one by one as the others do; OpenSees' chain of "
        "120 straight pieces only approximates the rope."
    )
    head = f"# The lifeline beside other programs\n\nWritten by `bench_lines.py --record`. {about}"
    tell(table(asked.cases), head, RESULTS if asked.record else None)


if __name__ == "__main__":
    main()
