"""Whether the scan of the slab still holds when the last base is drilled.

A hole is drilled for a post that stands on the slab, at the latest on the first day of the phase in which
that post first stands. What has been laid into or cut out of the slab since the scan is not on it, so that
any of it ends the scan, whenever it happened.
"""

from __future__ import annotations

from datetime import date

from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.job.slab import Scan

CHECK = "slab.scan"
_ANEW = "Nobody drills: scan the slab anew and state that scan."


def drilled_from(index: Index) -> list[date]:
    """The first day on which each post on the slab stands, and its base is drilled by then."""
    job = index.job
    on_slab = [post for post in job.layout.posts if abs(job.layout.levels[post.stands_on]) < 1e-6]
    return [index.phases[index.shared_phases(post.phases)[0]].start for post in on_slab]


def ended(scan: Scan) -> tuple[date, str] | None:
    """The first day on which the scan does not hold for what has happened, and what it was."""
    happened = [(one.happened, one.what) for one in scan.voided_by or [] if one.happened is not None]
    return min(happened) if happened else None


def scan_finding(index: Index) -> Finding:
    """Hold the scan against the day by which the last base is drilled."""
    slab, days = index.job.slab, drilled_from(index)
    scan = slab.scan if slab else None
    if not days or slab is None:
        return found(
            CHECK, "slab", Verdict.NOT_APPLICABLE, note="No base is drilled into a slab stated here."
        )
    limit = f"to {max(days)}, when the last base is drilled"
    if scan is None:
        by_scan = [thing.id for thing in slab.contents or [] if thing.located_by != "approved plans"]
        if not by_scan:
            return found(CHECK, "slab", Verdict.NOT_APPLICABLE, note="No scan is stated.")
        value = f"no scan is stated, which located {', '.join(by_scan)}"
        note = "State slab.scan: by whom, when, how, until when it holds."
        return found(CHECK, "slab", Verdict.CONFIRM, value=value, limit=limit, note=note)
    verdict, value, note = _judged(scan, max(days))
    return found(CHECK, "slab", verdict, value=value, limit=limit, note=note)


def _judged(scan: Scan, last: date) -> tuple[Verdict, str, str]:
    void = ended(scan)
    if void is not None:
        return Verdict.SHORT, f"void since {void[0]}: {void[1]}", _ANEW
    if scan.holds_until is not None and scan.holds_until < last:
        return Verdict.SHORT, f"scanned {scan.on}, held until {scan.holds_until}", _ANEW
    asked = {
        "until when it holds": scan.holds_until is None,
        "what voids it before": scan.voided_by is None,
    }
    missing = [what for what, absent in asked.items() if absent]
    if missing:
        note = (
            "Ask who scanned it; state slab.scan.holds_until and voided_by, an empty list where nothing does."
        )
        return Verdict.CONFIRM, f"scanned {scan.on}, not stated: {', '.join(missing)}", note
    return Verdict.MEETS, f"scanned {scan.on}, holds until {scan.holds_until}", ""
