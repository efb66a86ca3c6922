"""The key of a layout sheet and its lists: only what is on that sheet."""

from __future__ import annotations

from planforge.assess.assessment import Assessment
from planforge.assess.power_lines import to_equipment
from planforge.figures.labels import Box
from planforge.figures.paper import LINE, Paper, Pen, rectangle
from planforge.figures.plan_content import EDGE_LETTERS, PlanContent
from planforge.figures.plan_drawing import (
    EDGES,
    FOOTPRINT,
    HATCH,
    LIFELINE,
    LOWER,
    OPENING,
    RAIL,
    SLAB,
    ZONE,
    draw_anchor,
    draw_cross,
    draw_post,
    ticks,
)
from planforge.figures.plan_guys import FRAMING, GUY, draw_plate_anchor, guys_of
from planforge.figures.plan_labels import draw_hazard, draw_place
from planforge.figures.plan_power import power_key
from planforge.figures.sheet_furniture import KeyEntry, Section, hatch_key, line_key
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
    paper.text(x, y - 3.0, "H", 9.0, align="center", bold=True)


def _place(paper: Paper, box: Box) -> None:
    x, y = _middle(box)
    draw_place(paper, x, y, "A")


def key_entries(content: PlanContent) -> list[KeyEntry]:
    """One entry for each kind of thing on the sheet."""
    entries = [line_key("Building", FOOTPRINT)]
    if content.index.job.layout.slab is not None:
        entries.append(line_key("Slab", SLAB))
    kinds = {edge.kind for edge in content.edges}
    entries += [line_key(f"{EDGE_LETTERS[k]}  {k} edge", EDGES[k]) for k in EDGE_LETTERS if k in kinds]
    covered = {cover.opening for cover in content.covers}
    chosen: list[tuple[bool, KeyEntry]] = [
        (bool(content.lines), line_key("Lifeline", LIFELINE)),
        (any(line.absorber_at for line in content.lines), KeyEntry("Line absorber", _absorber)),
        (bool(content.posts), KeyEntry("Post", _post)),
        (bool(content.anchors), KeyEntry("Anchorage", _anchor)),
        (any(guys_of(content)), KeyEntry("Guy, plate anchor", _guy)),
        (bool(content.guardrails), KeyEntry("Guardrail", _rail)),
        (any(o.id not in covered for o in content.openings), KeyEntry("Opening", _opening)),
        (bool(covered), hatch_key("Opening with cover", 3.2, 45.0, HATCH, OPENING)),
        (
            any(z.kind == "no entry" for z in content.zones),
            hatch_key("No-entry zone", 11.0, -45.0, HATCH, ZONE),
        ),
        (any(z.kind != "no entry" for z in content.zones), line_key("Zone, barbs inward", ZONE)),
        (bool(content.lower_levels), line_key("Lower level", LOWER)),
        (bool(content.power_lines), power_key()),
        (bool(content.hazards), KeyEntry("Hazard", _hazard)),
        (bool(content.places), KeyEntry("Place", _place)),
    ]
    kinds_overhead = {f.kind for f in content.framing}
    chosen += [(kind in kinds_overhead, line_key(kind.capitalize(), pen)) for kind, pen in FRAMING.items()]
    return entries + [entry for shown, entry in chosen if shown]


def sections(assessment: Assessment, content: PlanContent) -> list[Section]:
    """The lists beside the drawing; the last give way first where there is no room for all."""
    lower = "Names and dates stand in the part on phases of work."
    listed = [
        Section(
            "Places",
            tuple((name, place.name) for name, place in content.places),
            "The places by letter, in the order in which the rescue part lists them.",
        ),
        Section(
            "Zones",
            tuple((zone.id, zone.rule) for zone in content.zones),
            "The rules stand in the part on access and zones.",
        ),
        Section(
            "Power lines" if content.power_lines else "Power lines (not drawn: no place is stated)",
            _power_lines(assessment, content),
            "See the part on weather and power lines.",
        ),
        Section(
            "Hazards, in full in the register",
            tuple((hazard.id, hazard.name) for hazard in content.hazards),
            "Each mark is described under its id in the hazard register.",
        ),
        Section(
            "Lower levels (top over the slab's)",
            tuple(_lower_row(content, v) for v in content.lower_levels),
            lower,
        ),
    ]
    return [s for s in listed if s.rows]


def _lower_row(content: PlanContent, level: LowerLevel) -> tuple[str, str]:
    ends = (("from", level.start), ("to", level.end))
    dates = " ".join(f"{word} {day.isoformat()}" for word, day in ends if day is not None)
    text = f"{content.display.length(level.elevation)}; {dates + '; ' if dates else ''}{level.name}"
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
