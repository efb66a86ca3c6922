"""The two files that an import writes: what a design shares, and what belongs to one lot.

A shared file may not state what is in one lot's slab or how its ground lies (``job.model.LOT_ONLY``): these
go to a file of their own. It is pasted into the lot's file, and is refused as a file to extend.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from planforge.cad.fragment import entry_lines, field_lines, part_lines
from planforge.cad.harvest import Entry, Harvest

_ORDER = (
    "layout.openings",
    "layout.edges",
    "layout.posts",
    "layout.framing",
    "building.floors",
    "building.walls",
    "building.roofs",
)
_STATE = (
    "# located_by: state it: approved plans, scan or both",
    "# tolerance: state how far off it may be",
)
_TRIAL = {"located_by": "scan", "tolerance": 0.0}

System = Literal["us", "metric"]


def design_text(harvest: Harvest, header: Sequence[str], system: System) -> str | None:
    """The part that a job or a house design extends; None where the drawing gives nothing for it."""
    parts = {home: harvest.parts[home] for home in _ORDER if home in harvest.parts}
    outlines = {
        name: group[0].fields[""]
        for name, group in (("footprint", harvest.footprint), ("slab", harvest.slab))
        if group
    }
    if not parts and not outlines:
        return None
    lines = [f"# {line}" for line in header]
    lines += ["# Name this file under extends. To take in a changed drawing, import it again to a new file."]
    in_layout = {h: e for h, e in parts.items() if h.startswith("layout.")}
    others = {h: e for h, e in parts.items() if h not in in_layout}
    if outlines or in_layout:
        lines.append("layout:")
        for name, points in outlines.items():
            lines += field_lines(name, points, system, "  ")
        lines += list(part_lines(in_layout, system))[1:]
    lines += part_lines(others, system)
    return "\n".join(lines) + "\n"


def lot_text(
    harvest: Harvest, header: Sequence[str], system: System, *, complete: bool = False
) -> str | None:
    """The part to paste into the lot's own file; None where there is none.

    How a thing in the slab was located and how far off it may be is the lot's to state: both are left open,
    and a lot that forgets them is refused. ``complete`` fills them in for a trial.
    """
    if not harvest.lot:
        return None
    lines = [f"# {line}" for line in header]
    if header:
        lines += [
            "# Paste this into the lot's own file: it belongs to one lot and is refused in a shared one."
        ]
    contents = harvest.lot.get("slab.contents", [])
    if contents:
        lines += ["slab:", "  contents:"]
        for entry in contents:
            filled = Entry(entry.fields | _TRIAL, entry.drawn_as) if complete else entry
            lines += entry_lines(filled, system, "    ")
            lines += [] if complete else [f"      {line}" for line in _STATE]
    ground = harvest.lot.get("lower_levels", [])
    lines += part_lines({"lower_levels": ground} if ground else {}, system)
    return "\n".join(lines) + "\n"
