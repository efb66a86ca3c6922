"""The layout sheets of the demos, as numbers."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

from planforge.assess.assessment import Assessment, assess
from planforge.figures.labels import overlapping
from planforge.figures.layout_sheet import PlannedSheet, layout_names, layout_scale, layout_sheet, plan_sheet
from planforge.figures.paper import SMALLEST, Paper
from planforge.figures.plan_content import letter, plan_content
from planforge.figures.plan_drawing import draw_absorber, line_on_paper
from planforge.figures.scale import Drawn, scales
from planforge.figures.sheet_furniture import Section, fitted_sections
from planforge.figures.tie_off_map import tie_off_map
from planforge.units import FOOT

Demo = Callable[[str], Assessment]


def _phases(assessment: Assessment) -> list[str | None]:
    return [None, *(p.id for p in assessment.job.phases)]


def _check_labels(planned: PlannedSheet) -> None:
    boxes = np.array([p.box for p in planned.placed])
    touching = overlapping(boxes, boxes)
    np.fill_diagonal(touching, False)
    assert not touching.any()
    left, bottom, right, top = planned.window
    assert (boxes[:, 0] >= left).all() and (boxes[:, 1] >= bottom).all()
    assert (boxes[:, 2] <= right).all() and (boxes[:, 3] <= top).all()


def test_no_label_overlaps_and_all_lie_in_the_window(lot: Assessment) -> None:
    for phase in _phases(lot):
        _check_labels(plan_sheet(lot, phase))


def test_every_hazard_is_on_a_drawing_and_every_mark_in_the_register(lot: Assessment) -> None:
    register = {h.id for h in lot.job.hazards}
    sheets = {phase: layout_sheet(lot, phase).marks for phase in _phases(lot)}
    assert register <= sheets[None]
    for phase, marks in sheets.items():
        standing = {h.id for h in lot.job.hazards if phase is None or phase in h.phases}
        assert marks & register == standing
    for phase in _phases(lot):
        labels = {p.key for p in plan_sheet(lot, phase).placed}
        drawn = {h.id for h in plan_content(lot, phase).hazards}
        assert drawn <= labels


def test_a_phase_shows_only_what_stands_then(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    deck, walls, trusses = (layout_sheet(heron, p).marks for p in ("deck", "walls", "trusses"))
    assert "L-GN" in deck and "L-GN" not in walls
    assert "G-GREAT" not in deck and "G-GREAT" in walls
    assert not {line.id for line in heron.job.layout.lines} & trusses
    assert {"A1", "A2"} <= trusses and not {"A1", "A2"} & deck
    assert "porch-n" not in deck | walls | trusses  # it stands only after the last phase
    assert "lumber-w" in deck and "lumber-w" not in trusses


def _texts(drawn: Drawn) -> list[str]:
    (lettering,) = [a for a in drawn.figure.artists if hasattr(a, "lines_of_text")]
    return [line.text for line in lettering.lines_of_text]


@pytest.mark.parametrize("name", ["wren_lot_7", "quartz_court_building_2"])
def test_what_nobody_may_tie_to_says_so_on_the_layout_sheet(demo: Demo, name: str) -> None:
    """Short on the wren, on hold on the quartz: 0, as the crew map says, on every sheet that shows it."""
    lot = demo(name)
    held = {r.of for r in lot.job.releases if r.state == "on hold"}
    barred = held or {"L-S1", "L-S2", "L-E"}
    for sheet in layout_names(lot):
        texts = _texts(layout_sheet(lot, sheet.phase, part=sheet.part))
        for line in plan_content(lot, sheet.phase).lines:
            told = [t for t in texts if re.match(rf"{line.id}(:|  )", t)]
            stop = f"{line.id}: 0, DO NOT TIE ON"
            normal = f"{line.id}   {line.workers} worker{'s' if line.workers > 1 else ''}"
            assert all(t == (stop if line.id in barred else normal) for t in told), told
            assert told or sheet.parts > 1


def test_the_building_measures_true(lot: Assessment) -> None:
    planned = plan_sheet(lot, None)
    scale = layout_scale(lot)
    assert scale in scales(lot.job.site.units)
    footprint = planned.content.footprint
    drawn = planned.view(footprint) / 72.0  # inches of paper
    assert np.ptp(drawn, axis=0) == pytest.approx(np.ptp(footprint, axis=0) / 0.0254 * scale.ratio)
    (left, bottom), (right, top) = planned.view(footprint).min(axis=0), planned.view(footprint).max(axis=0)
    assert planned.window[0] < left < right < planned.window[2]
    assert planned.window[1] < bottom < top < planned.window[3]


def test_heron_scale_is_the_largest_that_holds_its_surroundings(demo: Demo) -> None:
    heron = demo("heron_lot_14")
    assert layout_scale(heron).text == '1/8" = 1\'-0"'
    wall = np.ptp(plan_sheet(heron, "deck").view([[0, 0], [40 * FOOT, 0]])[:, 0]) / 72.0
    assert wall == pytest.approx(5.0)  # 40 ft at an eighth of an inch to the foot


def test_all_phases_share_scale_and_place(lot: Assessment) -> None:
    views = {plan_sheet(lot, phase).view for phase in _phases(lot)}
    assert len(views) == 1


def test_a_crowded_lot_still_lays_out(demo: Demo) -> None:
    """Forty hazards, some at one place, and long ids."""
    wren = demo("wren_lot_7")
    random = np.random.default_rng(3)
    first = wren.job.hazards[0]
    many = [
        first.model_copy(update={"id": f"HAZ-{n:02}", "at": (float(x), float(y))})
        for n, (x, y) in enumerate(random.uniform(0, 9, (40, 2)))
    ]
    many += [first.model_copy(update={"id": f"SAME-{n}", "at": (3.0, 3.0)}) for n in range(5)]
    job = wren.job.model_copy(update={"hazards": many})
    crowded = replace(wren, index=replace(wren.index, job=job))
    planned = plan_sheet(crowded, None)
    _check_labels(planned)
    assert {h.id for h in many} <= {p.key for p in planned.placed}


def test_a_metric_lot_has_a_metric_scale(demo: Demo) -> None:
    wren = demo("wren_lot_7_mended")
    site = wren.job.site.model_copy(update={"units": "metric"})
    metric = assess(wren.job.model_copy(update={"site": site}))
    assert layout_scale(metric).text.startswith("1:")
    _check_labels(plan_sheet(metric, None))


def test_no_text_is_smaller_than_the_least(lot: Assessment) -> None:
    for drawn in (layout_sheet(lot, None), tie_off_map(lot, None)):
        (lettering,) = [a for a in drawn.figure.artists if hasattr(a, "lines_of_text")]
        assert min(line.size for line in lettering.lines_of_text) >= SMALLEST


def test_texts_lie_on_the_paper(lot: Assessment) -> None:
    figure = layout_sheet(lot, None).figure
    width, height = figure.get_size_inches() * 72
    (lettering,) = [a for a in figure.artists if hasattr(a, "lines_of_text")]
    for line in lettering.lines_of_text:
        assert 0 <= line.x <= width and 0 <= line.y <= height


def test_letters() -> None:
    assert [letter(n) for n in (0, 25, 26, 53)] == ["A", "Z", "A2", "B3"]


def test_long_lists_give_way_with_a_sentence() -> None:
    rows = tuple(
        (f"H{n}", "a hazard with quite a long name that needs two lines in a narrow column")
        for n in range(30)
    )
    section = Section("Hazards", rows, "Hazards: see the register")
    (whole,) = fitted_sections([section], 200.0, 2000.0)
    assert len(whole.lines) >= 60
    (single,) = fitted_sections([section], 200.0, 400.0)
    assert len(single.lines) == 30
    (given,) = fitted_sections([section], 200.0, 100.0)
    assert (given.heading, given.lines) == ("Hazards: see the register", ())


def test_no_rule_is_cut() -> None:
    """A rule stands whole, or the row says where it does; in between the shortest rules come first."""
    rules = (("Z-1", "Hard hats; " + "no one stays near the walls. " * 6), ("Z-2", "Only the operator. " * 5))
    zones = Section("Zones", rules, "Zones: see part 13", instead="rule in part 13")
    told = set()
    for room in range(30, 200, 6):
        (laid,) = fitted_sections([zones], 200.0, float(room))
        text = " ".join(line for _, line in laid.lines) or laid.heading
        assert "…" not in text
        rows = tuple(" ".join(rule.split()) in text for _, rule in rules)
        told.add(rows)
        assert text == "Zones: see part 13" or text.count("rule in part 13") == rows.count(False)
    assert told == {(False, False), (False, True), (True, True)}


def test_every_zone_rule_on_a_layout_sheet_is_whole_or_says_where(lot: Assessment) -> None:
    for sheet in layout_names(lot):
        text = " ".join(t for t in _texts(layout_sheet(lot, sheet.phase, part=sheet.part)) if t)
        for zone in plan_content(lot, sheet.phase).zones if sheet.parts == 1 else ():
            # an id stands between a row and the row's first line
            words = zone.rule.split()
            whole = all(word in text for word in words) and f"{words[-2]} {words[-1]}" in text
            assert whole, zone.id  # no demo is so full that a rule gives way


def test_rules_stand_whole_before_hazards_are_listed() -> None:
    rules = (("Z-1", "Hard hats; " + "no one stays near the walls. " * 6),)
    zones = Section("Zones", rules, "Zones: see part 13", instead="rule in part 13")
    hazards = Section("Hazards", tuple((f"H{n}", "An edge") for n in range(9)), "Hazards: the register")
    room = 13.0 * 12
    first, second = fitted_sections([zones, hazards], 200.0, room)
    assert "rule in part 13" not in [line for _, line in first.lines]
    assert (second.heading, second.lines) == ("Hazards: the register", ())
    alone = fitted_sections([hazards], 200.0, room)
    assert len(alone[0].lines) == 9


def test_power_line_is_drawn_or_named_at_the_border(demo: Demo) -> None:
    """The demo's line runs beyond the sheet; moved to 10 ft off the building it is drawn."""
    far = demo("heron_lot_14")
    label = next(p for p in plan_sheet(far, None).placed if p.key == "PL-1")
    assert label.box[3] > 0.8 * plan_sheet(far, None).window[3]  # at the top, where the line lies
    assert "PL-1" in layout_sheet(far, None).marks
    told = [text.text for text in layout_sheet(far, None).paper.texts]
    assert "↑ Power line PL-1, 7.2 kV" in told  # "above" would read as overhead
    assert "off the sheet, 75'-3\" from the building" in told
    survey = far.job.power_lines
    assert survey is not None
    near = survey.lines[0].model_copy(update={"path": [(-20 * FOOT, 44 * FOOT), (60 * FOOT, 44 * FOOT)]})
    job = far.job.model_copy(update={"power_lines": survey.model_copy(update={"lines": [near]})})
    moved = assess(job)
    _check_labels(plan_sheet(moved, None))
    bare = survey.lines[0].model_copy(update={"path": None})
    without = assess(job.model_copy(update={"power_lines": survey.model_copy(update={"lines": [bare]})}))
    assert "PL-1" not in {p.key for p in plan_sheet(without, None).placed}
    assert layout_sheet(moved, None).figure is not None


@pytest.mark.parametrize("name", ["heron_lot_14", "quartz_court_building_2", "wren_lot_7"])
def test_no_label_covers_an_absorber(demo: Callable[[str], Assessment], name: str) -> None:
    """By shapely: the erection sheet sends people to the drawing for the end that the absorber hangs at."""
    assessment = demo(name)
    for sheet in layout_names(assessment):
        planned = plan_sheet(assessment, sheet.phase, part=sheet.part)
        content, view = planned.content, planned.view
        boxes = shapely.box(*np.asarray([p.box for p in planned.placed]).T)
        for line in content.lines:
            ends = line_on_paper(content, view, line)
            near, far = ends if line.absorber_at == line.start else ends[::-1]
            bar = shapely.convex_hull(shapely.multipoints(draw_absorber(Paper(1.0, 1.0), near, far)))
            if line.absorber_at is not None and shapely.box(*planned.window).covers(bar):
                assert not shapely.intersects(boxes, bar).any(), (sheet, line.id)
