"""Sites of the small lot: a job file for each lot, with a number, a permit and dates of its own."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from planforge.site.reading import Site, read_site

SMALL = Path(__file__).resolve().parent.parent / "assess" / "small_lot.yaml"
DAY = dt.date(2026, 12, 1)
"""The first day on which the small lot can be issued, and the first of its work."""


def lot_text(number: int, *changes: tuple[str, str]) -> str:
    """The small lot as lot so and so, with texts replaced, each of which must stand in it."""
    text = SMALL.read_text("utf-8")
    own = (
        ("number: T-1\n", f"number: T-{number}\n"),
        ("lot: Lot 1\n", f"lot: Lot {number}\n"),
        ("permit: T-0001", f"permit: T-{number:04d}"),
    )
    for old, new in (*own, *changes):
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def write_site(folder: Path, *lots: str) -> Path:
    """Write a site of these jobs, ``lot-1`` and so on; return its file."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = ["format: planforge site 1", "site: Test Meadow (invented)", "lots:"]
    for number, text in enumerate(lots, start=1):
        (folder / f"lot_{number}.yaml").write_text(text, "utf-8")
        lines.append(f"  - {{id: lot-{number}, job: lot_{number}.yaml}}")
    path = folder / "site.yaml"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


def small_site(folder: Path, count: int) -> Site:
    """A site of so many sound lots, read."""
    return read_site(write_site(folder, *(lot_text(number) for number in range(1, count + 1))))
