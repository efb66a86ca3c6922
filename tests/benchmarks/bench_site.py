"""Issue sites of growing size and measure what a lot costs; write it to SITE.md with ``--record``.

    python tests/benchmarks/bench_site.py [--lots 10 50 200 2000] [--workers N] [--record]

A site is made of a few designs, each lot with its own number, permit and dates. Each size is issued into an
empty folder, then once more as it stands, then entered alone with made-up pages: the last shows what the
register and the one process that writes cost, without reckoning or drawing. Processor time is told beside the
clock, since a busy machine makes the clock slow. Memory is the greatest that any one process held.
"""

from __future__ import annotations

import argparse
import datetime as dt
import hashlib
import os
import platform
import re
import resource
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path

from planforge.register.entry import Entry, Held, Status
from planforge.register.issuing import Made, enter
from planforge.register.place import place_of
from planforge.register.result import Result, written
from planforge.site.issuing import Order, issue_site
from planforge.site.pool import Crew, processes
from planforge.site.reading import Site, read_site

ROOT = Path(__file__).resolve().parent.parent.parent
DESIGNS = (
    ROOT / "tests" / "assess" / "small_lot.yaml",
    ROOT / "demo_jobs" / "wren_lot_7_mended.yaml",
    ROOT / "demo_jobs" / "heron_lot_14.yaml",
)
DAY = dt.date(2027, 1, 4)
RECORD = Path(__file__).with_name("SITE.md")
MIB = 1 << 20


@dataclass(frozen=True)
class Measured:
    """What one size of site cost."""

    lots: int
    clock: float
    """Seconds from the first lot to the last, by the clock."""
    processor: float
    """Seconds of processor time of all processes together."""
    again: float
    """Seconds by the clock for the same site as it stands."""
    again_processor: float
    entering: float
    """Processor seconds to enter all lots with made-up pages."""
    parent: float
    """Most memory of the process that writes, MiB, so far."""
    worker: float
    """Most memory of any worker, MiB, so far."""
    outcomes: str


def main() -> None:
    """Measure the sizes asked for, print and perhaps record them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lots", type=int, nargs="+", default=[10, 50, 200, 2000])
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--designs", type=int, default=len(DESIGNS), help="how many of the designs to use")
    parser.add_argument("--record", action="store_true")
    options = parser.parse_args()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # compiled code is kept, as a user has it
    rows = [measured(lots, options.workers, options.designs) for lots in sorted(options.lots)]
    page = "\n".join(_page(rows, options.workers, options.designs))
    print(page)
    if options.record:
        RECORD.write_text(page + "\n", "utf-8")


def measured(lots: int, workers: int, designs: int) -> Measured:
    """Issue a site of so many lots, again, and enter as many alone."""
    with tempfile.TemporaryDirectory(prefix="planforge-") as place:
        folder = Path(place)
        site = write_site(folder / "site", lots, designs)
        peaks = [0.0]
        crew = _watched(workers, peaks)
        begun, used = time.perf_counter(), _processor()
        outcomes = Counter(o.what.value for o in issue_site(site, Order(folder / "out", DAY), crew))
        clock, processor = time.perf_counter() - begun, _processor() - used
        begun, used = time.perf_counter(), _processor()
        again = Counter(o.what.value for o in issue_site(site, Order(folder / "out", DAY), crew))
        again_clock, again_used = time.perf_counter() - begun, _processor() - used
        assert again.total() == outcomes.total() == lots
        assert not again["issued"]
        entering = _entering(folder / "entered", lots)
        parent = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        said = ", ".join(f"{number} {what}" for what, number in outcomes.items())
        shutil.rmtree(folder / "out")
        return Measured(
            lots, clock, processor, again_clock, again_used, entering, parent, max(peaks) / MIB, said
        )


def _processor() -> float:
    """Processor seconds so far, those of ended workers included."""
    own, ended = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + ended.ru_utime + ended.ru_stime


def _watched(workers: int, peaks: list[float]) -> Crew:
    """A pool of processes whose greatest memory is read from the system when they are left."""
    crew = processes(workers)

    def leave(pool: Executor) -> None:
        peaks.extend(_peak(pid) for pid in getattr(pool, "_processes", None) or {})
        crew.leave(pool)

    return Crew(crew.open, crew.width, leave)


def _peak(pid: int) -> float:
    """The most memory that a running process held, bytes; 0 where the system does not tell."""
    try:
        found = re.search(r"VmHWM:\s+(\d+) kB", Path(f"/proc/{pid}/status").read_text("ascii"))
    except OSError:
        return 0.0
    return float(found[1]) * 1024 if found else 0.0


def write_site(folder: Path, lots: int, designs: int) -> Site:
    """Write a site of a few designs, each lot with its own number, permit and dates.

    What the lots of a design share stands in the files that they extend, as in the demo jobs.
    """
    folder.mkdir(parents=True)
    for path in (ROOT / "demo_jobs").glob("*.yaml"):
        shutil.copy(path, folder)
    texts = [path.read_text("utf-8") for path in DESIGNS[:designs]]
    lines = ["format: planforge site 1", "site: Bench Meadow (invented)", "lots:"]
    for number in range(1, lots + 1):
        name = f"lot_{number}.yaml"
        (folder / name).write_text(lot_text(texts[number % designs], number), "utf-8")
        lines.append(f"  - {{id: lot-{number}, job: {name}}}")
    path = folder / "site.yaml"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return read_site(path)


def lot_text(text: str, number: int) -> str:
    """A design's job as another lot: its phases end up to three weeks later than the design's."""
    text = re.sub(r"(?m)^  number: .*$", f"  number: B-{number}", text, count=1)
    text = re.sub(r"(?m)^  lot: .*$", f"  lot: Lot {number}", text, count=1)
    text = re.sub(r"(?m)^  permit: .*$", f"  permit: B-{number:04d}", text, count=1)
    shift = dt.timedelta(days=number % 21)
    head, phases, rest = _around_phases(text)
    return head + re.sub(r"end: (\d{4}-\d\d-\d\d)", lambda m: _later(m, shift), phases) + rest


def _around_phases(text: str) -> tuple[str, str, str]:
    start = text.index("\nphases:") + 1
    end = re.compile(r"(?m)^\w").search(text, start + 7)
    stop = end.start() if end else len(text)
    return text[:start], text[start:stop], text[stop:]


def _later(found: re.Match[str], shift: dt.timedelta) -> str:
    return f"end: {dt.date.fromisoformat(found[1]) + shift}"


def _entering(folder: Path, lots: int) -> float:
    """Processor seconds to enter so many plans of the usual size, without drawing them."""
    used = _processor()
    for made in _made(lots):
        name = f"{made.entry.number}.pdf"
        place = place_of(folder, name)
        assert place.book.held(made.entry.number, 0) == Held()
        assert enter(place, made) is not None
    return _processor() - used


def _made(lots: int) -> Iterator[Made]:
    job = "x" * 50_000
    result = written(Result({"meets": 800, "confirm": 70}, (), 0, {"qualified person": 70}, 150))
    for number in range(lots):
        pdf = b"%PDF-1.7\n" + str(number).encode() * 1000
        entry = Entry(
            number=f"E-{number}",
            revision=0,
            status=Status.ISSUED,
            date=DAY,
            fingerprint=f"{number:064x}",
            sha256=hashlib.sha256(pdf).hexdigest(),
            file="",
            version="0",
            templates="0" * 64,
            project="Bench Meadow (invented)",
            lot=f"Lot {number}",
            prepared=DAY,
            prepared_by="Juniper Siskin",
            approved=None,
            approved_by="",
            supersedes=None,
            changes="",
            result=result,
        )
        yield Made(entry, (), pdf, job, f"E-{number}.pdf")


def _page(rows: Sequence[Measured], workers: int, designs: int) -> Iterator[str]:
    names = ", ".join(path.stem for path in DESIGNS[:designs])
    yield "# What a lot of a site costs"
    yield ""
    yield (
        f"`python tests/benchmarks/bench_site.py`: {workers} workers on {os.cpu_count()} cores, Python "
        f"{platform.python_version()}; lots of the designs {names} in turn."
    )
    yield ""
    yield (
        "| lots | s per lot, clock | processor s per lot | stands: s per lot | stands: processor s per lot "
        "| entered alone: processor ms per lot | parent, MiB | worker, MiB | came to |"
    )
    yield "| --- | --- | --- | --- | --- | --- | --- | --- | --- |"
    for row in rows:
        n = row.lots
        yield (
            f"| {n:,} | {row.clock / n:.2f} | {row.processor / n:.2f} | {row.again / n:.3f} "
            f"| {row.again_processor / n:.3f} | {1000 * row.entering / n:.1f} | {row.parent:.0f} "
            f"| {row.worker:.0f} | {row.outcomes} |"
        )
    if len(rows) > 1:
        few, many = rows[0], rows[-1]
        yield ""
        yield (
            f"{many.lots:,} lots against {few.lots}, each lot: processor time x "
            f"{many.processor / many.lots / (few.processor / few.lots):.2f}, clock x "
            f"{many.clock / many.lots / (few.clock / few.lots):.2f}, entered alone x "
            f"{many.entering / many.lots / (few.entering / few.lots):.2f}. Few lots "
            "bear the start of the processes."
        )
    yield ""
    yield (
        "Aims on two cores: 200 lots in under 60 s, a worker under 400 MB (381 MiB). Each lot's file extends "
        "what its design and company state, as the demo jobs do."
    )


if __name__ == "__main__":
    main()
