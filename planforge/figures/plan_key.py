"""The key of a layout sheet and its lists: only what is on that sheet."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from planforge.assess.assessment import Assessment
from planforge.assess.power_lines import to_equipment
from planforge.errors import RefusedError
from planforge.figures.drafting import GHOST, MATCH, OVERHEAD, draw_origin
from planforge.figures.labels import Box
from planforge.figures.paper import LINE, Paper, Pen, rectangle
from planforge.figures.plan_building import FLOOR, wall_key
from planforge.figures.plan_content import EDGE_LETTERS, PlanContent
from planforge.figures.plan_drawing import (
    COVER_HATCH,
    EDGES,
    FOOTPRINT,
    HATCH,
    LIFELINE,
    LOWER,
    NO_ENTRY_HATCH,
    OPENING,
    RAIL,
    SLAB,
    ZONE,
    draw_anchor,
    draw_cross,
    draw_post,
    ticks,
)
from planforge.figures.plan_guys import FRAMING, GUY, draw_plate_anchor
from planforge.figures.plan_labels import draw_hazard, draw_place
from planforge.figures.plan_power import power_key
from planforge.figures.sheet_furniture import SIZE, KeyEntry, Section, hatch_key, line_key
from planforge.job.site import LowerLevel


def _middle(box: Box) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def _post(paper: Paper, box: Box) -> None:
    draw_post(paper, *_middle(box))


def _anchor(paper: Paper, box: Box) -> None:
    draw_anchor(paper, *_middle(box), size=6.0)


def _absorber(paper: Paper, box: Box) -> None:
    y = _middle(box)[1]
    paper.stroke([(box[0], y), (box[2], y)], LIFELINE)
    paper.fill(rectangle(box[0] + 10.0, y - 2.4, box[0] + 20.0, y + 2.4), 1.0, pen=Pen(0.9), layer=LINE + 1)


def _guy(paper: Paper, box: Box) -> None:
    y = _middle(box)[1]
    paper.stroke([(box[0], y), (box[2], y)], GUY)
    draw_plate_anchor(paper, box[2], y)


def _rail(paper: Paper, box: Box) -> None:
    y = _middle(box)[1]
    points = [(box[0], y), (box[2], y)]
    paper.stroke(points, RAIL)
    paper.strokes(ticks(points, 6.0, 2.2), RAIL)


def _opening(paper: Paper, box: Box) -> None:
    corners = rectangle(*box)
    paper.stroke(corners, OPENING, closed=True)
    draw_cross(paper, corners)


def _hazard(paper: Paper, box: Box) -> None:
    x, y = _middle(box)
    draw_hazard(paper, (x - 12.0, y - 6.0, x + 12.0, y + 6.0))
    paper.text(x, y - 3.0, "H", SIZE, align="center", bold=True)


def _place(paper: Paper, box: Box) -> None:
    x, y = _middle(box)
    draw_place(paper, x, y, "A")


def _origin(paper: Paper, box: Box) -> None:
    draw_origin(paper, *_middle(box))


_ENTRIES: dict[str, KeyEntry] = {
    "building": line_key("Building", FOOTPRINT),
    "slab": line_key("Slab's edge", SLAB),
    "floor": line_key("Floor, laid", FLOOR),
    "floor to come": line_key("Floor to come", GHOST),
    "wall": KeyEntry("Wall, standing", wall_key),
    "roof": line_key("Roof's edge", OVERHEAD),
    **{kind: line_key(f"{mark}  {kind} edge", EDGES[kind]) for kind, mark in EDGE_LETTERS.items()},
    "lifeline": line_key("Lifeline", LIFELINE),
    "line absorber": KeyEntry("Line absorber", _absorber),
    "post": KeyEntry("Post", _post),
    "anchorage": KeyEntry("Anchorage", _anchor),
    "guy": KeyEntry("Guy, plate anchor", _guy),
    "guardrail": KeyEntry("Guardrail", _rail),
    "opening": KeyEntry("Opening", _opening),
    "cover": hatch_key("Opening with cover", COVER_HATCH, 45.0, HATCH, OPENING),
    "no-entry zone": hatch_key("No-entry zone", NO_ENTRY_HATCH / 2, -45.0, HATCH, ZONE),
    "zone": line_key("Zone, barbs inward", ZONE),
    "lower level": line_key("Lower level", LOWER),
    "power line": power_key(),
    "hazard": KeyEntry("Hazard", _hazard),
    "place": KeyEntry("Place", _place),
    **{kind: line_key(kind.capitalize(), pen) for kind, pen in FRAMING.items()},
    "origin": KeyEntry("x, y from here", _origin),
    "match line": line_key("Match line", MATCH),
}
"""What each kind of thing is called and how it looks, in the key's order."""


def key_entries(shown: Collection[str]) -> list[KeyEntry]:
    """One entry for each kind of thing that shows on the sheet."""
    unknown = set(shown) - set(_ENTRIES)
    if unknown:
        raise RefusedError(f"drawing: the key has no entry for {', '.join(sorted(unknown))}")
    return [entry for kind, entry in _ENTRIES.items() if kind in shown]


def sections(assessment: Assessment, content: PlanContent, guys: Sequence[str]) -> list[Section]:
    """The lists beside the drawing; the last give way first where there is no room for all.

    ``guys`` are the numbers of the sheets that name them.
    """
    listed = [
        Section(
            "Stands in this phase",
            _standing_rows(content, guys),
            "Floors and walls: named on the plan",
            instead="named on the plan",
        ),
        Section(
            "Places",
            tuple((name, place.name) for name, place in content.places),
            "Places: by letter, in the order of part 14",
        ),
        Section(
            "Zones",
            tuple((zone.id, zone.rule) for zone in content.zones),
            "Zones: rules in part 13 and on the crew sheet",
            instead="rule in part 13",
        ),
        Section(
            "Power lines" if content.power_lines else "Power lines (not drawn: no place is stated)",
            _power_lines(assessment, content),
            "Power lines: part 12",
        ),
        Section(
            "Hazards, in full in the register",
            tuple((hazard.id, hazard.name) for hazard in content.hazards),
            "Hazards: by mark in the register, part 3",
        ),
        Section(
            "Lower levels (top over the slab's)",
            tuple(_lower_row(content, v) for v in content.lower_levels),
            "Lower levels: part 2, phases of work",
        ),
    ]
    return [s for s in listed if s.rows]


def _standing_rows(content: PlanContent, guys: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Floors, walls and roofs by id, where the job states them, and where the guys are named."""
    there = content.standing
    named = (
        ("Floors", there.floors),
        ("To come", there.to_come),
        ("Walls", there.walls),
        ("Roofs", there.roofs),
    )
    rows = [(word, ", ".join(t.id for t in things)) for word, things in named if things]
    if content.lines:
        rows.append(("Sags", "by the card of the erection sheet"))
    if guys and any(post.guys for post in content.posts):
        rows.append(("Guys", f"named on sheet{'s' if len(guys) > 1 else ''} {', '.join(guys)}"))
    return tuple(rows)


def _lower_row(content: PlanContent, level: LowerLevel) -> tuple[str, str]:
    ends = (("from", level.start), ("to", level.end))
    dates = " ".join(f"{word} {day.isoformat()}" for word, day in ends if day is not None)
    slopes = " where highest" if level.spots else ""
    height = f"{content.display.length(level.elevation)}{slopes}"  # first: a long name may be cut
    text = f"{height}{' ' + dates if dates else ''}; {level.name}"
    return level.id, text


def _power_lines(assessment: Assessment, content: PlanContent) -> tuple[tuple[str, str], ...]:
    survey, display = assessment.job.power_lines, content.display
    if survey is None:
        return (("–", "no survey is recorded"),)
    if not survey.lines:
        return (("–", f"none within {display.length(survey.radius)}, {survey.surveyed.isoformat()}"),)
    drawn = {line.id for line in content.power_lines}
    return tuple(
        (
            line.id,
            f"{display.voltage(line.voltage) if line.voltage is not None else 'voltage unknown'}, at least "
            f"{display.length(to_equipment(content.index, line).value, 'down')} from work and loads"
            + ("" if line.id in drawn or not drawn else "; not drawn: no place is stated"),
        )
        for line in survey.lines
    )
