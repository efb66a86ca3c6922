"""The kits of a site as one PDF: what is lacking, calendar, loads day by day, hand-overs, who gets what."""

from __future__ import annotations

import datetime as dt
from typing import Final

from planforge.document.build import Part, build_pdf
from planforge.document.context_kits import KitFacts, day_name, day_views, hand_overs, kit_context
from planforge.document.pages import DocumentMeta
from planforge.document.printed import Printed
from planforge.figures.kit_calendar import kit_calendar
from planforge.kits.result import KitPlan

TITLE: Final = "Kits: who needs what when, loads and hand-overs"


def kit_packet(
    plan: KitPlan,
    *,
    site: str,
    date: dt.date,
    fingerprint: str,
    show: Printed,
    facts: KitFacts,
) -> bytes:
    """Return the kits' document as the bytes of a PDF; the same arguments give the same bytes.

    ``fingerprint`` is hexadecimal, of everything the plan was made from.
    """
    figures = kit_calendar(plan)
    values = {
        **kit_context(plan, site, show, facts),
        "lot_pages": tuple(name for name in figures if name.startswith("lots")),
        "item_pages": tuple(name for name in figures if name.startswith("items")),
    }
    parts = [
        Part("kits.md", values),
        Part("kits_calendar.md", values),
        *(Part("kits_day.md", {**values, "view": view}) for view in day_views(plan, show, facts)),
        *(Part("kits_hand_over.md", {**values, "sheet": sheet}) for sheet in hand_overs(plan, facts)),
        Part("kits_lots.md", values),
    ]
    meta = DocumentMeta(
        plan_number="",
        revision="",
        lot="",
        title=TITLE,
        date=date,
        fingerprint=fingerprint,
        subject=f"{site} · kits from {day_name(plan.as_of)}",
    )
    return build_pdf(parts, meta, figures)
