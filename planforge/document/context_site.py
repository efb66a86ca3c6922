"""What the summary of a site prints: counts, what needs action with the worst first, every lot in a row."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from planforge.document import fonts, one_page
from planforge.document.printed import DASH
from planforge.document.style import BODY_HEIGHT, BODY_WIDTH

REASONS_SHOWN: Final = 3
"""How many reasons a row gives in full; the rest are counted, and printed where the site was issued."""
_WHY: Final = 0.40 * BODY_WIDTH
_PLACE: Final = 0.16 * BODY_WIDTH
_PADDING: Final = 9.0
_SIZE: Final = 8.5
_HEAD_ROOM: Final = 96.0
"""What heading, counts and the table's own heading take of page 1, on the large side."""


@dataclass(frozen=True, slots=True)
class SiteLot:
    """One lot as the summary prints it."""

    id: str
    name: str
    """The lot's name on its plan; empty where it could not be read."""
    number: str
    revision: int | None
    status: str
    needs_action: bool
    reasons: tuple[str, ...]
    counts: Mapping[str, int] | None
    """How many checks came to each verdict; None where that is not known."""
    confirms: Mapping[str, int]
    """How many items each role has to confirm."""
    supersedes: int | None
    work: tuple[dt.date, dt.date] | None
    file: str
    fingerprint: str


@dataclass(frozen=True, slots=True)
class SiteRow:
    """A row of the summary, in words."""

    lot: str
    plan: str
    number: str
    revision: str
    """With the revision that it replaced: ``2, was 1``."""
    status: str
    why: str
    short: str
    confirm: str
    work: str
    file: str
    fingerprint: str


def site_context(site: str, date: dt.date, lots: Sequence[SiteLot]) -> dict[str, Any]:
    """The values of the summary's template. ``lots`` come in the order in which they are to print."""
    rows = [_row(lot, date) for lot in lots]
    to_do = [row for lot, row in zip(lots, rows, strict=True) if lot.needs_action]
    fitting = one_page.first_that_fit(to_do, BODY_HEIGHT - _HEAD_ROOM, _height)
    statuses = Counter(lot.status for lot in lots)
    confirms: Counter[str] = Counter()
    for lot in lots:
        confirms.update(lot.confirms)
    return {
        "site": site,
        "date": date,
        "total": len(lots),
        "statuses": tuple(statuses.items()),
        "short": sum(lot.counts.get("short", 0) for lot in lots if lot.counts),
        "confirms": sorted(confirms.items(), key=lambda entry: (-entry[1], entry[0])),
        "to_confirm": sum(confirms.values()),
        "superseded": sum(lot.supersedes is not None for lot in lots),
        "to_do": to_do,
        "to_do_first": list(fitting),
        "to_do_rest": to_do[len(fitting) :],
        "others": [row for lot, row in zip(lots, rows, strict=True) if not lot.needs_action],
    }


def days(first: dt.date, last: dt.date) -> str:
    """The days of work, the year once where it is the same: ``2026-12-01 to 12-11``."""
    end = f"{last:%m-%d}" if first.year == last.year else last.isoformat()
    return f"{first.isoformat()} to {end}"


def _row(lot: SiteLot, date: dt.date) -> SiteRow:
    shown, left = lot.reasons[:REASONS_SHOWN], len(lot.reasons) - REASONS_SHOWN
    why = [*shown, *([f"and {left} more"] if left > 0 else [])]
    where = [f"{lot.file}, {_grouped(lot.fingerprint)}"] if lot.file else []
    known = lot.counts is not None
    return SiteRow(
        lot=lot.name if lot.name and lot.name != lot.id else lot.id,
        plan=f"{lot.number} rev {_revision(lot)}" if lot.number else DASH,
        number=lot.number or DASH,
        revision=_revision(lot),
        status=lot.status,
        why="\n".join([*why, *where]),
        short=str(lot.counts.get("short", 0)) if known and lot.counts else DASH,
        confirm=str(lot.counts.get("confirm", 0)) if known and lot.counts else DASH,
        work=_work(lot, date),
        file=lot.file or DASH,
        fingerprint=_grouped(lot.fingerprint) if lot.fingerprint else DASH,
    )


def _work(lot: SiteLot, date: dt.date) -> str:
    """The days of work, and that they are past."""
    if lot.work is None:
        return DASH
    return days(*lot.work) + (", over" if lot.work[1] < date else "")


def _revision(lot: SiteLot) -> str:
    if lot.revision is None:
        return DASH
    return f"{lot.revision}" if lot.supersedes is None else f"{lot.revision}, was {lot.supersedes}"


def _grouped(fingerprint: str) -> str:
    """The first sixteen digits, as they stand at the foot of each page of the plan."""
    return " ".join(fingerprint[start : start + 4] for start in range(0, 16, 4))


def _height(row: SiteRow) -> float:
    """The height of a row of what needs action, a little to the large side."""
    why = sum(_lines(line, _WHY - _PADDING) for line in row.why.split("\n"))
    place = sum(_lines(line, _PLACE - _PADDING) for line in (row.lot, row.plan))
    return one_page.ROW + one_page.LINE * max(why, place, 2)


def _lines(text: str, room: float) -> int:
    """How many lines a text takes; of several each is taken to leave a twelfth free at its end."""
    width = fonts.width(text, fonts.REGULAR, _SIZE)
    return 1 if width <= room else math.ceil(1.08 * width / room)
