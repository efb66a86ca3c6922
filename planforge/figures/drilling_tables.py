"""Beside a drilling map: key, anchors, how the slab was located, each base's holes, a base enlarged."""

from __future__ import annotations

import numpy as np

from planforge.assess.checks import CHECKS
from planforge.assess.drilling import NO_DRILLING
from planforge.assess.finding import Finding, Verdict
from planforge.calc.arrays import Array
from planforge.calc.base_plate import hole_pattern
from planforge.figures.column_flow import ROW, SIZE, Block, draw_heading, text_block
from planforge.figures.drafting import CENTER, FINE, LEAST_WEIGHT, OVERHEAD
from planforge.figures.drilling_content import BaseHoles, DrillingContent
from planforge.figures.labels import Box
from planforge.figures.paper import LINE, PER_INCH, SYMBOL, Paper, Pen, rectangle
from planforge.figures.plan_drawing import draw_cross
from planforge.figures.plan_labels import draw_place
from planforge.figures.scale import Scale
from planforge.figures.sheet_furniture import KEY_ROW, KeyEntry, draw_key, line_key
from planforge.figures.slab_contents import bands_count, contents_key
from planforge.figures.text_metrics import ASCENT, text_width, wrapped
from planforge.job.base import Rated
from planforge.job.equipment import BaseAnchor, PostKind
from planforge.job.slab import Scan
from planforge.units import FOOT, LBF, Display

COLUMN = 3.1 * PER_INCH
"""Width of a column, points."""
_TITLE = 11.0
_US = (("3", 3.0), ("1-1/2", 1.5), ("1", 1.0), ("3/4", 0.75), ("1/2", 0.5))
_METRIC = (5, 10, 20, 25)
_X, _Y = 82.0, 150.0
"""Right ends of the columns of x and y, points."""


def column_blocks(content: DrillingContent) -> list[Block]:
    """Everything beside the map in its order, but for the enlarged bases."""
    blocks = [_title(content), _key(content)]
    if content.drilled:
        blocks.append(text_block("Laying out", _laying_out(content), COLUMN))
    blocks += [text_block("Located", _located(content), COLUMN)]
    blocks += [_anchor_block(content, anchor) for anchor in _anchors(content)]
    if content.reasons:
        told = ", ".join(b.id for b in content.bases)
        blocks.append(text_block(NO_DRILLING, [(f"{told}: as said above the plan.", True)], COLUMN))
    else:
        blocks += [_table(content, base) for base in content.bases]
    return blocks


def detail_blocks(content: DrillingContent, room: float) -> list[Block]:
    """Each kind of base enlarged, its plate within ``room`` points."""
    kinds = {b.base.parts.kind.id: b.base.parts.kind for b in content.drilled}
    return [_detail(kind, content.display, room) for kind in kinds.values()]


def _title(content: DrillingContent) -> Block:
    slab = content.assessment.job.slab
    told = "Slab: not stated"
    if slab is not None:
        thick = (
            content.display.length(slab.thickness, "down", 16) if slab.thickness else "thickness not stated"
        )
        told = f"Slab: {slab.kind}, {thick}"

    share = content.share
    title = f"Drilling map, {share.number} of {share.count}" if share else "Drilling map"

    def draw(paper: Paper, box: Box) -> None:
        paper.text(box[0], box[3] - _TITLE * 1.15, title, _TITLE, bold=True)
        paper.text(box[0], box[3] - _TITLE * 1.15 - 12.0, told, SIZE)

    return Block(36.0, draw)


def _key(content: DrillingContent) -> Block:
    entries = [line_key("Slab's edge", Pen(1.8))]
    if content.assessment.job.layout.slab is not None:
        entries.append(line_key("Building", OVERHEAD))
    entries.append(KeyEntry("Measured from", _mark))
    if content.drilled:
        entries.append(KeyEntry("Base, its holes", _base))
    if content.withheld:
        entries.append(KeyEntry("Nobody drills", _crossed))
    entries += contents_key(content)
    rows = (len(entries) + 1) // 2

    def draw(paper: Paper, box: Box) -> None:
        draw_key(paper, box, entries)

    return Block(KEY_ROW * rows + 4.0, draw)


def _mark(paper: Paper, box: Box) -> None:
    draw_place(paper, (box[0] + box[2]) / 2, (box[1] + box[3]) / 2, "A")


def _base(paper: Paper, box: Box) -> None:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    corners = rectangle(x - 4.0, y - 4.0, x + 4.0, y + 4.0)
    paper.stroke(corners, FINE, closed=True, layer=LINE)
    for corner in corners:
        paper.circle(float(corner[0]), float(corner[1]), 1.3, Pen(0.7), 1.0)


def _crossed(paper: Paper, box: Box) -> None:
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    corners = rectangle(x - 5.0, y - 5.0, x + 5.0, y + 5.0)
    paper.stroke(corners, Pen(1.0), closed=True, layer=SYMBOL)
    draw_cross(paper, corners)


def _laying_out(content: DrillingContent) -> list[tuple[str, bool]]:
    x, y = content.datum.names
    step = '1/16"' if content.display.system == "us" else "1 mm"
    decides = CHECKS["base.contents"].decides
    return [
        (f"x from {x}. y from {y}. To the centres of the holes, to the nearest {step}.", False),
        ("Turned: counter-clockwise in plan. Holes are numbered as in the sketch beside each table. ", False),
        ("Strings run from A and B to the bases' centres.", False),
        (
            f"Where marks on the slab and this sheet differ, nobody drills until it is settled. "
            f"Who decides: {decides}.",
            True,
        ),
    ]


def _located(content: DrillingContent) -> list[tuple[str, bool]]:
    slab = content.assessment.job.slab
    if slab is None or slab.scan is None:
        scanned = [("No scan of this lot is recorded.", True)]
    else:
        scan = slab.scan
        off = content.display.length(scan.tolerance, "up", 16)
        scanned = [(f"Scan by {scan.by}, {scan.on.isoformat()}: {scan.method}. Tolerance ±{off}.", False)]
        scanned += _holds(scan)
    if slab is None or slab.contents is None:
        return [*scanned, ("What is in the slab is not stated.", True)]
    if not slab.contents:
        return [*scanned, ("The job states that nothing is in it.", False)]
    how: dict[str, list[str]] = {}
    for thing in slab.contents:
        how.setdefault(thing.located_by, []).append(thing.id)
    names = {"both": "approved plans and scan"}
    by_whom = ((f"By {names.get(by, by)}: {', '.join(ids)}.", False) for by, ids in how.items())
    return [*scanned, *by_whom, (bands_count(content), True)]


def _holds(scan: Scan) -> list[tuple[str, bool]]:
    """How long holes may be drilled by the scan, and what ends that sooner."""
    until, voids = scan.holds_until, scan.voided_by
    lines = [
        (f"Drill by it through {until.isoformat()}.", True)
        if until
        else ("Until when it holds is not stated.", True)
    ]
    if voids is None:
        lines.append(("What voids it is not stated.", True))
    elif voids:
        lines.append((f"Void once this is done: {'; '.join(one.what for one in voids)}.", True))
    return lines


def _anchors(content: DrillingContent) -> list[BaseAnchor]:
    used = {b.base.anchor.id: b.base.anchor for b in content.drilled if b.base.anchor is not None}
    return list(used.values())


def _anchor_block(content: DrillingContent, anchor: BaseAnchor) -> Block:
    display = content.display
    depth, torque = anchor.hole_depth, anchor.torque
    return text_block(
        anchor.name,
        [
            (f"Nominal diameter {display.length(anchor.diameter, denominator=16)}.", False),
            _rated("Hole depth", depth, display.length(depth.value, denominator=16) if depth else ""),
            _rated("Torque", torque, torque_text(torque.value, display) if torque else ""),
        ],
        COLUMN,
    )


def torque_text(value: float, display: Display) -> str:
    """A torque (N m) to the ft-lbf or N m."""
    return f"{value / (FOOT * LBF):,.0f} ft-lbf" if display.system == "us" else f"{value:,.0f} N m"


def _rated(name: str, rated: Rated[float] | None, text: str) -> tuple[str, bool]:
    if rated is None:
        return f"{name}: NOT STATED; ask for the evaluation report before drilling.", True
    return f"{name} {text} ({rated.source or 'no document: to be confirmed'}).", rated.source is None


def hole_rows(content: DrillingContent, base: BaseHoles) -> list[tuple[str, str, str]]:
    """A base's holes as printed: number, x from A, y from B; none where nobody drills."""
    if not base.drilled:
        return []
    display = content.display
    return [
        (str(number), display.length(float(x), denominator=16), display.length(float(y), denominator=16))
        for number, (x, y) in enumerate(base.measured(content.datum), 1)
    ]


def clear_text(content: DrillingContent, base: BaseHoles) -> tuple[str, bool]:
    """The least distance to anything in the slab, as printed, and whether it is set bold."""
    if not base.contents:
        return (
            "Nothing in the slab to keep clear of, as stated." if not content.things else "Not reckoned."
        ), False
    worst = min(base.contents, key=_left)
    return f"Least clear {_clear(content.display, worst)}", worst.verdict is not Verdict.MEETS


def _left(finding: Finding) -> float:
    """What is left over the limit; the bare distance where no limit is stated."""
    value = float(finding.value) if isinstance(finding.value, float) else np.inf
    return value - (finding.limit if isinstance(finding.limit, float) else 0.0)


def _clear(display: Display, finding: Finding) -> str:
    value = float(finding.value) if isinstance(finding.value, float) else np.nan
    thing = finding.where.partition(" · ")[2]
    limit = (
        f"limit {display.length(finding.limit, 'up', 16)}"
        if isinstance(finding.limit, float)
        else str(finding.limit)
    )
    return f"{display.length(value, 'down', 16)} to {thing}, {limit}: {finding.verdict.value}."


def _table(content: DrillingContent, base: BaseHoles) -> Block:
    if not base.drilled:
        return text_block(f"{base.id}: {NO_DRILLING}", [(r, False) for r in base.reasons], COLUMN)
    rows = hole_rows(content, base)
    text, bold = clear_text(content, base)
    below = wrapped(text, SIZE, COLUMN, bold)
    turned = content.display.angle(base.base.parts.post.turned)

    def draw(paper: Paper, box: Box) -> None:
        left, _, right, top = box
        y = draw_heading(paper, base.id, left, right, top)
        head = top - ROW + SIZE * (1 - ASCENT) + 1.0
        for x, word in ((_X, "x from A"), (_Y, "y from B")):
            paper.text(left + x, head, word, SIZE, align="right")
        for number, x_text, y_text in rows:
            y -= ROW
            line = y + SIZE * (1 - ASCENT)
            paper.text(left + 4.0, line, number, SIZE, bold=True)
            paper.text(left + _X, line, x_text, SIZE, align="right")
            paper.text(left + _Y, line, y_text, SIZE, align="right")
        paper.text(right, head, f"turned {turned}", SIZE, align="right")
        _draw_sketch(paper, base, left + 0.5 * (_Y + COLUMN) + 4.0, y + 2.0 * ROW)
        for told in below:
            y -= ROW
            paper.text(left, y + SIZE * (1 - ASCENT), told, SIZE, bold=bold)

    return Block(ROW * (1 + len(rows) + len(below)) + 6.0, draw)


def _draw_sketch(paper: Paper, base: BaseHoles, x: float, y: float) -> None:
    """The base as it is turned in plan with its holes numbered, not to scale."""
    spacing = base.base.parts.kind.hole_spacing
    assert spacing is not None  # only of a base that is drilled
    turned = base.base.parts.post.turned
    size = 19.0 / max(spacing)
    holes = hole_pattern(spacing[0] * size, spacing[1] * size, turned)
    ways = hole_pattern(1.0, 1.0, turned) * np.sqrt(2.0)
    paper.stroke(np.add(holes, (x, y)), FINE, closed=True, layer=LINE)
    for number, (hole, way) in enumerate(zip(holes, ways, strict=True), 1):
        paper.circle(x + float(hole[0]), y + float(hole[1]), 1.6, Pen(0.7), 1.0)
        at = hole + 7.5 * way
        paper.text(x + float(at[0]), y + float(at[1]) - 0.33 * SIZE, str(number), SIZE, align="center")


def detail_scale(extent: float, display: Display, room: float) -> Scale:
    """The largest usual scale of details at which ``extent`` m fit ``room`` points, else the least."""
    listed = (
        [Scale(value / 12.0, f'{text}" = 1\'-0"') for text, value in _US]
        if display.system == "us"
        else [Scale(1.0 / n, f"1:{n}") for n in _METRIC]
    )
    return next((s for s in listed if extent * s.points <= room), listed[-1])


def _detail(kind: PostKind, display: Display, room: float) -> Block:
    """One base unturned, with the spacing of its holes and their diagonal."""
    spacing = kind.hole_spacing
    assert spacing is not None  # only of a base that is drilled
    half = max(kind.base_toe or 0.0, 0.6 * max(spacing))
    scale = detail_scale(2 * half, display, room)
    title = wrapped(f"Base of {kind.name}, not turned, from above", SIZE, COLUMN, bold=True)
    side = 2 * half * scale.points
    height = ROW * (len(title) + 2) + side + 34.0

    def draw(paper: Paper, box: Box) -> None:
        left, bottom, _, top = box
        for number, line in enumerate(title):
            paper.text(left, top - ROW * (number + 1), line, SIZE, bold=True)
        told = f"Scale {scale.text}. Diagonal {display.length(float(np.hypot(*spacing)), denominator=16)}."
        paper.text(left, top - ROW * (len(title) + 1), told, SIZE)
        middle = np.array([left + 30.0 + side / 2, bottom + 30.0 + side / 2])
        _draw_detail(paper, kind, scale, middle, side)
        holes = middle + hole_pattern(spacing[0], spacing[1], 0.0) * scale.points
        _dimension(
            paper, holes[2], holes[3], -side / 2 + abs(holes[2, 1] - middle[1]) - 12.0, display, spacing[0]
        )
        _dimension(
            paper, holes[2], holes[1], -side / 2 + abs(holes[2, 0] - middle[0]) - 12.0, display, spacing[1]
        )

    return Block(height, draw)


def _draw_detail(paper: Paper, kind: PostKind, scale: Scale, middle: Array, side: float) -> None:
    x, y = float(middle[0]), float(middle[1])
    spacing = kind.hole_spacing
    assert spacing is not None
    if kind.base_toe is not None:
        reach = kind.base_toe * scale.points
        paper.stroke(rectangle(x - reach, y - reach, x + reach, y + reach), Pen(1.0), closed=True, layer=LINE)
    if kind.outer_diameter is not None:
        paper.circle(x, y, 0.5 * kind.outer_diameter * scale.points, Pen(1.0))
    centre = Pen(LEAST_WEIGHT, dashes=CENTER)
    paper.stroke([(x - side / 2, y), (x + side / 2, y)], centre)
    paper.stroke([(x, y - side / 2), (x, y + side / 2)], centre)
    for number, hole in enumerate(hole_pattern(spacing[0], spacing[1], 0.0) * scale.points, 1):
        hx, hy = x + float(hole[0]), y + float(hole[1])
        paper.circle(hx, hy, 2.6, Pen(0.9), 1.0)
        paper.stroke([(hx - 5.0, hy), (hx + 5.0, hy)], FINE)
        paper.stroke([(hx, hy - 5.0), (hx, hy + 5.0)], FINE)
        out = 8.0 * np.sign(hole)
        paper.text(
            hx - float(out[0]), hy - float(out[1]) - 0.33 * SIZE, str(number), SIZE, align="center", bold=True
        )


def _dimension(paper: Paper, start: Array, end: Array, off: float, display: Display, true: float) -> None:
    """A dimension beside two holes in a row or column, ``off`` points below or left of them."""
    level = abs(end[1] - start[1]) < 1e-6
    shift = np.array([0.0, off]) if level else np.array([off, 0.0])
    a, b = np.asarray(start) + shift, np.asarray(end) + shift
    paper.stroke(np.array([a, b]), FINE)
    for p, q in ((a, start), (b, end)):
        paper.stroke(np.add(p, [(-2.6, -2.6), (2.6, 2.6)]), Pen(1.2))
        paper.stroke(np.array([p, np.asarray(q) + np.sign(shift) * 4.0]), FINE)
    text = display.length(true, denominator=16)
    x, y = (a + b) / 2
    if level:
        paper.text(float(x), float(y) - 10.0, text, SIZE, align="center")
    else:
        paper.text(float(x) - 3.0, float(y) - text_width(text, SIZE) / 2, text, SIZE, angle=90.0)
