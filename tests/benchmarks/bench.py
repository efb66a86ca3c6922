"""Measure planforge as a user meets it, and print ratios; write them to RESULTS.md with ``--record``.

    python tests/benchmarks/bench.py [--runs 5] [--record]

Whole commands run in fresh processes; what runs warm runs in one process. Beside them, where the
extra ``bench`` is installed, the same pages of text go through an HTML-to-PDF engine and a compiled
typesetter. Ratios travel between machines better than seconds, so those are what to compare.
"""

from __future__ import annotations

import datetime as dt
import html
import importlib.util
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import TypeVar

import numpy as np
from pypdf import PdfReader
from recording import options, tell

from planforge.calc.arrest import Faller, arrest
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.memo import forget_everything
from planforge.register.issuing import issue

ROOT = Path(__file__).resolve().parent.parent.parent
JOB = ROOT / "demo_jobs" / "heron_lot_14.yaml"
RESULTS = Path(__file__).with_name("RESULTS.md")
DATE = dt.date(2026, 11, 25)

_PEAK = """
import sys
from planforge import cli
try:
    cli.main(sys.argv[1:])
finally:
    try:
        import resource
        unit = 1024 if sys.platform != "darwin" else 1
        print("peak", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit // 1024, file=sys.stderr)
    except ImportError:
        print("peak 0", file=sys.stderr)
"""


Result = TypeVar("Result")


def median(run: Callable[[], object], runs: int) -> float:
    """Median wall seconds of ``runs`` runs, after one that is not counted."""
    run()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def command(*arguments: str) -> Callable[[], int]:
    """A whole command in a fresh process; returns its peak memory in kB (0 where it can't be told)."""

    def run() -> int:
        kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}  # as a user has it
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, *arguments],
            capture_output=True,
            text=True,
            cwd=ROOT,
            env=kept,
            check=False,
        )
        if done.returncode > 1:
            raise SystemExit(done.stderr)
        return int(done.stderr.rsplit("peak ", 1)[1])

    return run


def afresh(folder: str, run: Callable[[], Result]) -> Callable[[], Result]:
    """The run with the folder emptied first: a plan that stands in the register is not issued again."""

    def runs() -> Result:
        for path in Path(folder).iterdir():
            path.unlink()
        return run()

    return runs


def arrests() -> None:
    """One thousand arrests as one batch: 10 spans, 10 sags, 10 places; solved, not remembered."""
    forget_everything()
    span = np.linspace(6.0, 18.0, 10)[:, None, None]
    sag = np.linspace(0.05, 0.25, 10)[:, None]
    line = Line(span, 0.0, sag, Rope(3.5, 4e6), 3e5, 3e5, 1.5e4, 0.8)
    arrest(install(line), np.linspace(0.1, 0.9, 10) * span, Faller(140.0, 1.8, 4000.0, 1.07))


def other_engines(pages: list[str]) -> dict[str, Callable[[], object]]:
    """The engines of the extra ``bench`` that are installed, each set to the same pages of text."""
    engines: dict[str, Callable[[], object]] = {}
    if importlib.util.find_spec("weasyprint"):
        from weasyprint import HTML  # noqa: PLC0415 - an optional extra

        body = "<p style='page-break-after: always'>".join(
            html.escape(p).replace("\n", "<br>") for p in pages
        )
        engines["HTML-to-PDF engine (weasyprint)"] = lambda: HTML(string=f"<body>{body}</body>").write_pdf()
    if importlib.util.find_spec("typst"):
        import typst  # noqa: PLC0415 - an optional extra

        lines = ["\\\n".join(_typst(line) for line in p.splitlines()) for p in pages]
        source = "#pagebreak()\n".join(text + "\n" for text in lines).encode()
        engines["compiled typesetter (typst)"] = lambda: typst.compile(source)
    return engines


def _typst(line: str) -> str:
    """A line of text as a string expression, so that no character is markup."""
    return '#"' + line.replace("\\", "\\\\").replace('"', '\\"') + '"'


def measure(runs: int) -> list[tuple[str, str, str]]:
    """Rows of (what, measured, aim)."""
    with tempfile.TemporaryDirectory() as folder:
        cold = ("issue", str(JOB), "-o", folder, "--date", DATE.isoformat())
        issued = issue(JOB, folder, date=DATE)
        pages = [page.extract_text() for page in PdfReader(BytesIO(issued.path.read_bytes())).pages]
        warm = median(afresh(folder, lambda: issue(JOB, folder, date=DATE)), runs)
        first = afresh(folder, command(*cold))
        rows = [
            ("cold issue of the first demo", f"{median(first, runs):.2f} s", "1.5 s"),
            ("peak memory of it", f"{first() / 1024:.0f} MB", "200 MB"),
            ("warm issue in one process", f"{warm:.2f} s, {issued.pages} pages", "0.5 s"),
            ("cold check", f"{median(command('check', str(JOB), '--json'), runs):.2f} s", "0.6 s"),
            ("one arrest of 1,000 in a batch", f"{median(arrests, runs):.3f} ms", "1 ms"),
        ]
    for name, run in other_engines(pages).items():
        seconds = median(run, runs)
        rows.append((f"{name}, the text alone", f"{seconds:.2f} s; {seconds / warm:.2f} of a warm issue", ""))
    return rows


def other_work() -> str:
    """How busy the machine was over the last minute, where it can be told: a busy one measures slow."""
    if not hasattr(os, "getloadavg"):
        return ""
    return f", load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores at the start"


def main() -> None:
    """Measure and print; record with ``--record``."""
    asked = options(__doc__, runs=5)
    load = other_work()
    rows = measure(asked.runs)
    table = ["| what | measured | aim |", "| --- | --- | --- |", *(f"| {' | '.join(row)} |" for row in rows)]
    machine = f"Python {platform.python_version()}, {platform.machine()}"
    about = f"{machine}, {asked.runs} runs, {dt.date.today()}{load}."
    head = f"# Speed\n\nMedians, written by `bench.py --record`. The aims are for two cores.\n\n{about}"
    tell(table, head, RESULTS if asked.record else None)


if __name__ == "__main__":
    main()
