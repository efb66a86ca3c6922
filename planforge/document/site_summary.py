"""The summary of a site as a PDF: one page where it fits; else what needs action comes first."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Sequence
from typing import Final

from planforge.document.build import Choice, Part, build_pdf
from planforge.document.context_site import SiteLot, site_context
from planforge.document.pages import DocumentMeta

TITLE: Final = "Site summary"
"""What its pages and metadata call it."""


def site_summary(site: str, date: dt.date, lots: Sequence[SiteLot]) -> bytes:
    """The summary's bytes: the same for the same lots, in the same order, and the same date."""
    context = site_context(site, date, lots)
    identity = hashlib.sha256(repr((site, date.isoformat(), tuple(lots))).encode()).hexdigest()
    meta = DocumentMeta(
        plan_number="",
        revision="",
        lot="",
        title=TITLE,
        date=date,
        fingerprint=identity,
        subject=site,
    )
    ways = tuple((Part("site_summary.md", {**context, "apart": apart}),) for apart in (False, True))
    return build_pdf([Choice(ways, most_pages=1)], meta, {})
