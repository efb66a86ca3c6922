"""The crew's map: the dotted ground lies within what was computed and what the crew sheet says."""

from __future__ import annotations

from collections.abc import Callable

import shapely

from planforge.assess.assessment import Assessment
from planforge.figures.paper import Paper
from planforge.figures.plan_content import plan_content
from planforge.figures.tie_off_map import GROUND, tie_off_map, work_ground


def dotted(paper: Paper) -> int:
    return sum(len(paths) for style, paths in paper.shapes() if style.pen == GROUND)


def test_ground_drawn_is_within_every_stances_ground_and_the_building(lot: Assessment) -> None:
    for phase in lot.job.phases:
        content = plan_content(lot, phase.id)
        union = shapely.union_all([g.area for g in lot.grounds if g.phase == phase.id])
        for ground in work_ground(lot, content, phase.id):
            assert ground.area > 0.0
            assert ground.within(union.buffer(0.05))
            assert ground.within(shapely.Polygon(lot.job.layout.footprint).buffer(0.05))


def test_ground_stops_at_the_stated_reach(demo: Callable[[str], Assessment]) -> None:
    """On the heron a retracting device would reach 5 ft; the stances say how far the work goes."""
    heron = demo("heron_lot_14")
    drawn = work_ground(heron, plan_content(heron, "walls"), "walls")
    assert len(drawn) == len(plan_content(heron, "walls").lines)
    for result, ground in zip(heron.lines, drawn, strict=False):
        reach = max(run.rig.stance.reach for run in result.runs if run.rig.stance.reach is not None)
        line = shapely.LineString([result.parts.start[:2], result.parts.end[:2]])
        if ground.intersects(line):
            assert ground.within(line.buffer(reach + 0.05, quad_segs=32))


def test_nothing_is_dotted_where_nobody_may_tie_on(demo: Callable[[str], Assessment]) -> None:
    short, mended = demo("wren_lot_7"), demo("wren_lot_7_mended")
    barred = {line.id for line in short.job.layout.lines if not short.allowed(line.id)}
    assert barred == {"L-S1", "L-E"}
    assert len(work_ground(short, plan_content(short, "deck"), "deck")) == 1
    assert dotted(tie_off_map(mended, "deck").paper) >= 3
    assert len(work_ground(mended, plan_content(mended, "deck"), "deck")) == 3
