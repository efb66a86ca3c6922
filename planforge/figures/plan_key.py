"""The key of a layout sheet and its lists: only what is on that sheet."""

from __future__ import annotations

from planforge.assess.assessment import Assessment
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
    THIN,
    ZONE,
    draw_anchor,
    draw_cross,
    draw_post,
    ticks,
)
from planforge.figures.plan_labels import PLACE_RADIUS, draw_hazard, draw_place
from planforge.figures.sheet_furniture import KeyEntry, Section, hatch_key, line_key
from planforge.job.hazard import Hazard
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
    assert PLACE_RADIUS > 0
    draw_place(paper, x, y, "A")


def _dimension(paper: Paper, box: Box) -> None:
    y = _middle(box)[1]
    paper.stroke([(box[0], y), (box[2], y)], THIN)


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
        (bool(content.guardrails), KeyEntry("Guardrail", _rail)),
        (any(o.id not in covered for o in content.openings), KeyEntry("Opening", _opening)),
        (bool(covered), hatch_key("Opening with cover", 3.2, 45.0, HATCH, OPENING)),
        (
            any(z.kind == "no entry" for z in content.zones),
            hatch_key("No-entry zone", 8.0, -45.0, HATCH, ZONE),
        ),
        (any(z.kind != "no entry" for z in content.zones), line_key("Zone, barbs inward", ZONE)),
        (bool(content.lower_levels), line_key("Lower level", LOWER)),
        (bool(content.hazards), KeyEntry("Hazard", _hazard)),
        (bool(content.places), KeyEntry("Place", _place)),
    ]
    return entries + [entry for shown, entry in chosen if shown]


def sections(assessment: Assessment, content: PlanContent) -> list[Section]:
    """The lists beside the drawing, the first the last to be shortened."""
    listed = [
        Section(
            "Places",
            tuple(f"{name}  {place.name}" for name, place in content.places),
            "Each circle's letter follows the order of places in the site plan's rescue part.",
        ),
        Section(
            "Zones",
            tuple(f"{z.id}  {z.rule}" for z in content.zones),
            "Rules: in the part on zones and access.",
        ),
        Section(
            "Power lines",
            _power_lines(assessment, content),
            "Power lines: in the part on weather and power lines.",
        ),
        Section(
            "Hazards (in full in the register)",
            tuple(_hazard_row(content, h) for h in content.hazards),
            "Each mark is described under its id in the hazard register.",
        ),
        Section(
            "Lower levels (top over slab)",
            tuple(_lower_row(content, level) for level in content.lower_levels),
            "Names and dates: in the part on phases of work.",
        ),
    ]
    return [s for s in listed if s.rows]


def _hazard_row(content: PlanContent, hazard: Hazard) -> str:
    return f"{hazard.id}  {hazard.name}"


def _lower_row(content: PlanContent, level: LowerLevel) -> str:
    row = f"{level.id}  {content.display.length(level.elevation)}  {level.name}"
    dates = (level.start and f"from {level.start.isoformat()}", level.end and f"to {level.end.isoformat()}")
    return row + "".join(f", {d}" if n == 0 else f" {d}" for n, d in enumerate(d for d in dates if d))


def _power_lines(assessment: Assessment, content: PlanContent) -> tuple[str, ...]:
    survey = assessment.job.power_lines
    if survey is None:
        return ("No survey is recorded.",)
    display = content.display
    if not survey.lines:
        return (f"None within {display.length(survey.radius)} on {survey.surveyed.isoformat()}.",)
    return tuple(
        f"{line.id}  {display.voltage(line.voltage) if line.voltage is not None else 'voltage unknown'}, "
        f"at least {display.length(line.distance)} from work and loads (not drawn: no place stated)"
        for line in survey.lines
    )
