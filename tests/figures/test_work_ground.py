"""The crew's map: the dotted ground lies within what was computed and what the crew sheet says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

from planforge.assess.assessment import Assessment
from planforge.assess.reach import stays_within
from planforge.figures.layout_sheet import layout_sheet, plan_sheet
from planforge.figures.paper import FILL, Paper
from planforge.figures.plan_content import plan_content
from planforge.figures.plan_drawing import HATCH
from planforge.figures.tie_off_map import GROUND, tie_off_map, work_ground
from planforge.units import FOOT


def dotted(paper: Paper) -> int:
    return sum(len(paths) for style, paths in paper.shapes() if style.pen == GROUND)


def test_ground_drawn_is_within_every_stances_ground_and_the_building(lot: Assessment) -> None:
    for phase in lot.job.phases:
        union = shapely.union_all([g.area for g in lot.grounds if g.phase == phase.id])
        for ground in work_ground(lot, phase.id):
            assert ground.area > 0.0
            assert ground.within(union.buffer(0.05))
            assert ground.within(shapely.Polygon(lot.job.layout.footprint).buffer(0.05))


def test_ground_stops_at_the_least_stated_reach_of_the_phase(demo: Callable[[str], Assessment]) -> None:
    """On the heron a retracting device would reach 5 ft; the stances say how far the work goes."""
    heron = demo("heron_lot_14")
    for phase in ("deck", "walls"):
        content = plan_content(heron, phase)
        drawn = work_ground(heron, phase)
        assert len(drawn) == len(content.lines)
        for result, ground in zip([r for r in heron.lines if r.runs], drawn, strict=False):
            stances = [run.rig.stance for run in result.runs if phase in run.rig.task.phases]
            reach = min((s.reach for s in stances if s.reach is not None), default=None)
            line = shapely.LineString([result.parts.start[:2], result.parts.end[:2]])
            if reach is not None and ground.intersects(line):
                assert ground.within(line.buffer(reach + 0.05, quad_segs=32))


def test_stay_within_is_the_least_of_the_phase_and_of_its_ground(demo: Callable[[str], Assessment]) -> None:
    """Of the job: the joists at L-N are worked to 4 ft 6 in, its deck to 4 ft 9 in; a ground caps both."""
    heron = demo("heron_lot_14")
    assert heron.stay_within("L-N", "deck") == pytest.approx(4.5 * FOOT)
    assert heron.stay_within("L-N", "walls") == pytest.approx(4.75 * FOOT)
    assert heron.stay_within("L-GS", "deck") is None  # it does not stand then
    assert heron.stay_within("A2", "trusses") == pytest.approx(3 * FOOT)
    narrow = [
        replace(g, limits=np.minimum(g.limits, 1.0)) if (g.of, g.phase) == ("L-N", "walls") else g
        for g in heron.grounds
    ]
    runs = [run for line in heron.lines for run in line.runs]
    capped = stays_within(heron.index, runs, heron.anchors, narrow)
    assert capped["L-N", "walls"].told == pytest.approx(1.0)
    assert capped["L-N", "deck"].told == pytest.approx(4.5 * FOOT)


def test_nothing_is_dotted_where_nobody_may_tie_on(demo: Callable[[str], Assessment]) -> None:
    short, mended = demo("wren_lot_7"), demo("wren_lot_7_mended")
    barred = {line.id for line in short.job.layout.lines if not short.allowed(line.id)}
    assert barred == {"L-S1", "L-S2", "L-E"}
    assert not work_ground(short, "deck")
    assert dotted(tie_off_map(mended, "deck").paper) >= 3
    assert len(work_ground(mended, "deck")) == 3


def hatched(paper: Paper) -> int:
    return sum(len(paths) for style, paths in paper.shapes() if (style.layer, style.pen) == (FILL, HATCH))


def texts(paper: Paper) -> set[str]:
    return {line.text for line in paper.texts}


def test_a_zone_closed_at_times_only_is_no_hatch_over_the_crew(demo: Callable[[str], Assessment]) -> None:
    """On the linnet crew and rescue stand in it: an outline that names its rule, on every drawing."""
    linnet, heron = demo("linnet_lot_3_trusses"), demo("heron_lot_14")
    assert hatched(tie_off_map(linnet, "trusses").paper) == 0
    assert hatched(tie_off_map(heron, "walls").paper) > 0
    assert "no-entry zone" not in plan_sheet(linnet, "trusses").shown
    assert "no-entry zone" in plan_sheet(heron, "walls").shown
    assert "No entry at times: rule of Z-UNDER" in texts(tie_off_map(linnet, "trusses").paper)
    assert "no entry, at times" in texts(layout_sheet(linnet, "trusses").paper)
    assert "No entry Z-GREAT" in texts(tie_off_map(heron, "walls").paper)


@pytest.mark.parametrize("name", ["heron_lot_14", "quartz_court_building_2"])
def test_what_the_crew_sheet_names_as_a_guard_is_named_on_its_map(
    name: str, demo: Callable[[str], Assessment]
) -> None:
    """A guardrail or cover of the sheet's table that has no name on the map can't be told from another."""
    lot = demo(name)
    for phase in lot.job.phases:
        content = plan_content(lot, phase.id)
        named = {one.id for one in (*content.guardrails, *content.covers)}
        assert named and named <= set(texts(tie_off_map(lot, phase.id).paper))


def test_hoisting_zones_are_on_the_crews_map_by_name(demo: Callable[[str], Assessment]) -> None:
    """The sheet says who may be in Z-HOIST: the map has to say where it is."""
    heron = demo("heron_lot_14")
    assert {"Z-HOIST", "Z-HOIST-2"} <= texts(tie_off_map(heron, "deck").paper)
