"""The drilling map as numbers: holes measure true, printed measures are coordinates, who may not drill."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from load_path_lot import ANCHOR, filled, job_with_load_path
from matplotlib.figure import Figure

from planforge.assess.assessment import Assessment, assess
from planforge.assess.drilling import NO_DRILLING
from planforge.assess.post_model import PostParts
from planforge.errors import RefusedError
from planforge.figures import figure_scales, figure_set
from planforge.figures.column_flow import Block, flowed, least_columns
from planforge.figures.drafting import SHEET_SIZE
from planforge.figures.drilling_arrangement import divided, running_texts
from planforge.figures.drilling_content import BaseHoles, datum_of, drilling_content
from planforge.figures.drilling_map import drilling_map, drilling_sheets, plan_map
from planforge.figures.drilling_tables import clear_text, detail_scale, hole_rows, torque_text
from planforge.figures.labels import overlapping
from planforge.figures.match_lines import READABLE
from planforge.figures.paper import MASK, Paper
from planforge.figures.scale import scales
from planforge.figures.slab_contents import BAND, KINDS, band_of
from planforge.job.model import Job
from planforge.job.slab import InSlabKind
from planforge.units import FOOT, INCH, LBF, LENGTH, Display, parse

Demo = Callable[[str], Assessment]
NAMES = ("heron_lot_14", "wren_lot_7", "quartz_court_building_2", "linnet_lot_3_trusses")


def _texts(figure: Figure) -> list[str]:
    (lettering,) = [a for a in figure.artists if hasattr(a, "lines_of_text")]
    return [line.text for line in lettering.lines_of_text]


@cache
def _changed(name: str, change: str) -> Assessment:
    return assess(CHANGES[change](job_with_load_path(name)))


def _slab(job: Job, **changes: object) -> Job:
    assert job.slab is not None
    return job.model_copy(update={"slab": job.slab.model_copy(update=changes)})


def _kinds(job: Job, **changes: object) -> Job:
    kinds = [k.model_copy(update=changes) for k in job.equipment.posts]
    return job.model_copy(update={"equipment": job.equipment.model_copy(update={"posts": kinds})})


CHANGES: dict[str, Callable[[Job], Job]] = {
    "no scan": lambda job: _slab(job, scan=None),
    "unknown, no scan": lambda job: _slab(job, kind="unknown", scan=None),
    "contents not stated": lambda job: _slab(job, contents=None),
    "no slab": lambda job: job.model_copy(update={"slab": None}),
    "no spacing": lambda job: _kinds(job, hole_spacing=None),
    "no anchor": lambda job: _kinds(job, anchored_with=None),
}


@pytest.mark.parametrize("change", CHANGES)
def test_nobody_drills_and_no_measure_is_printed(change: str) -> None:
    whole, held = filled("wren_lot_7"), _changed("wren_lot_7", change)
    content = drilling_content(held)
    assert not content.drilled
    texts = _texts(drilling_map(held).figure)
    assert any(t.startswith(NO_DRILLING) for t in texts)
    printed = drilling_content(whole)
    assert printed.drilled
    measures = {m for base in printed.drilled for row in hole_rows(printed, base) for m in row[1:]}
    measures |= {text.split("  ")[0] for axis in (0, 1) for _, text in running_texts(printed, axis)}
    words = {word for text in texts for word in re.split(r"  +", text)}
    assert not measures & words
    assert not [t for t in texts if re.fullmatch(r"-?\d+'-[\d /]+\"(  .*)?", t)]


def test_the_notice_says_why() -> None:
    texts = " ".join(_texts(drilling_map(_changed("wren_lot_7", "no scan")).figure))
    assert "without a scan on this lot" in texts and "No scan of this lot is recorded." in texts
    assert "spacing of its holes is not stated" in " ".join(
        _texts(drilling_map(_changed("wren_lot_7", "no spacing")).figure)
    )


def test_a_base_over_a_tendon_is_held_back_alone() -> None:
    content = drilling_content(filled("heron_lot_14"))
    held = {b.id: b.reasons for b in content.withheld}
    over = {f.where.split(" · ")[0] for f in content.assessment.short if f.id == "base.contents"}
    assert over and set(held) >= over and content.drilled
    texts = _texts(drilling_map(content.assessment).figure)
    notice = next(t for t in texts if t.startswith(f"{NO_DRILLING} AT"))
    assert all(name in notice for name in held)
    for base in content.withheld:
        assert hole_rows(content, base) == []
        assert base.id not in {post for axis in (0, 1) for r in content.running(axis) for post in r.posts}


@pytest.mark.parametrize("name", NAMES)
def test_holes_measure_true_on_paper(name: str) -> None:
    """Points on paper over metres is the stated scale, for every hole from both edges."""
    for number, sheet in enumerate(drilling_sheets(filled(name)), start=1):
        planned = plan_map(filled(name), number=number)
        assert planned.view.scale in scales("us")
        assert planned.view.scale.text == sheet.scale
        origin = planned.view(planned.content.datum.at)
        assert planned.content.drilled
        for base in planned.content.drilled:
            drawn = (planned.view(base.base.holes) - origin) / 72.0  # inches of paper
            assert drawn == pytest.approx(
                base.measured(planned.content.datum) / 0.0254 * planned.view.scale.ratio
            )


def test_a_slab_too_long_for_one_sheet_takes_several() -> None:
    """Each base on one sheet, all read, measured from the slab's own edges and told how far A lies off."""
    lot = filled("quartz_court_building_2")
    whole, sheets = drilling_content(lot), drilling_sheets(lot)
    assert [sheet.figure for sheet in sheets] == ["drilling-map", "drilling-map:2"]
    assert [sheet.number for sheet in sheets] == ["D1", "D2"]
    assert sorted(base for sheet in sheets for base in sheet.bases) == sorted(b.id for b in whole.bases)
    left = float(whole.outline[:, 0].min())
    for number, sheet in enumerate(sheets, start=1):
        content = plan_map(lot, number=number).content
        share = content.share
        assert share is not None and share.axis == 0
        assert [b.id for b in whole.bases if b.id in sheet.bases] == list(sheet.bases)  # in the job's order
        told = [line.text for line in drilling_map(lot, number=number).paper.texts]
        assert f"Drilling map, {number} of 2" in told
        for base in content.drilled:
            assert share.low <= base.base.parts.post.at[0] <= share.high
            assert {word for row in hole_rows(whole, base) for word in row[1:]} <= set(told)
        far = [text for text in told if text.startswith("← A: ")]
        if share.low > left:
            away = far[0].removeprefix("← A: ").removesuffix(" from here")
            assert parse(away, LENGTH) == pytest.approx(share.low - left, abs=INCH / 32 + 1e-9)
        else:
            assert not far
    assert drilling_sheets(filled("heron_lot_14"))[0].bases == tuple(
        b.id for b in drilling_content(filled("heron_lot_14")).bases
    )


def test_a_row_of_26_bases_over_360_ft_is_drawn() -> None:
    """Too many tables for one sheet at any scale; the fewest that hold them at a scale that can be read."""
    whole = drilling_content(filled("quartz_court_building_2"))
    long = np.array([(0, 0), (110, 0), (110, 7), (0, 7)], dtype=float)
    spread_out = [
        replace(base, base=replace(base.base, parts=_moved(base, (1.0 + 4.3 * n, 1.0 + 5.0 * (n % 2)))))
        for n, base in enumerate((*whole.bases, *whole.bases, *whole.bases[:2]))
    ]
    content = replace(whole, outline=long, datum=datum_of(long), bases=tuple(spread_out))
    sheets = divided(content)
    assert sum(len(part.bases) for part, _ in sheets) == 26
    assert all(sheet.view.scale.ratio >= READABLE for _, sheet in sheets)
    with pytest.raises(RefusedError):
        divided(replace(content, bases=content.bases[:1]), (3.0, 2.0))


def _moved(base: BaseHoles, at: tuple[float, float]) -> PostParts:
    parts = base.base.parts
    return replace(parts, post=parts.post.model_copy(update={"at": at}))


@pytest.mark.parametrize("name", NAMES)
def test_printed_measures_equal_coordinates(name: str) -> None:
    content = drilling_content(filled(name))
    outline = content.outline
    for base in content.drilled:
        holes = base.base.holes
        assert holes is not None
        for (number, x, y), hole in zip(hole_rows(content, base), holes, strict=True):
            assert parse(x, LENGTH) + outline[:, 0].min() == pytest.approx(hole[0], abs=INCH / 32 + 1e-9), (
                number
            )
            assert parse(y, LENGTH) + outline[:, 1].min() == pytest.approx(hole[1], abs=INCH / 32 + 1e-9), (
                number
            )
    for axis in (0, 1):
        for value, text in running_texts(content, axis):
            measure, posts = text.split("  ")
            assert parse(measure, LENGTH) == pytest.approx(value, abs=INCH / 32 + 1e-9)
            for post in posts.split():
                at = content.assessment.index.posts[post].at[axis]
                assert at - outline[:, axis].min() == pytest.approx(value, abs=1e-4)
    told = [p for r in content.running(0) for p in r.posts]
    assert sorted(told) == sorted(b.id for b in content.drilled)


def test_measures_run_from_the_slabs_own_edges() -> None:
    """A slab that reaches 1 ft left of and 2 ft below the building."""
    job = job_with_load_path("wren_lot_7")
    outline = np.asarray(job.layout.footprint)
    low, high = outline.min(axis=0) - (1 * FOOT, 2 * FOOT), outline.max(axis=0)
    slab = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])]
    moved = job.model_copy(update={"layout": job.layout.model_copy(update={"slab": slab})})
    before, after = drilling_content(filled("wren_lot_7")), drilling_content(assess(moved))
    for base in after.drilled:
        same = next(b for b in before.bases if b.id == base.id)
        holes = same.base.holes
        assert holes is not None
        shift = base.measured(after.datum) - (holes - outline.min(axis=0))
        assert shift == pytest.approx(np.tile([1 * FOOT, 2 * FOOT], (4, 1)))
    assert after.drilled
    first = {p: r.value for r in before.running(0) for p in r.posts}
    second = {p: r.value for r in after.running(0) for p in r.posts}
    assert all(second[p] - first[p] == pytest.approx(1 * FOOT, abs=2e-4) for p in first)
    _check_boxes(assess(moved))


def test_a_turned_base_turns_its_holes_and_their_numbers() -> None:
    """Hole 1 lies to the right and front of an unturned base; a quarter turn moves it to the left front."""
    job = job_with_load_path("wren_lot_7")
    posts = [p.model_copy(update={"turned": np.pi / 2}) for p in job.layout.posts]
    turned = job.model_copy(update={"layout": job.layout.model_copy(update={"posts": posts})})
    first, second = drilling_content(filled("wren_lot_7")), drilling_content(assess(turned))
    before = next(b for b in first.drilled if b.base.parts.post.turned == 0.0)
    after = next(b for b in second.bases if b.id == before.id)
    centre = np.asarray(before.base.parts.post.at)
    assert before.base.holes is not None and after.base.holes is not None
    assert before.base.holes[0] - centre == pytest.approx([5 * INCH, 4 * INCH])
    assert after.base.holes[0] - centre == pytest.approx([-4 * INCH, 5 * INCH])


def test_numbers_stand_outward_of_their_own_hole() -> None:
    planned = plan_map(filled("heron_lot_14"))
    boxes = {p.key: p.centre for p in planned.placed}
    numbered = 0
    for base in planned.content.drilled:
        holes = planned.view(base.base.holes)
        for number in range(4):
            at = boxes.get(f"{base.id} hole {number + 1}")
            if at is not None:
                numbered += 1
                assert int(np.argmin(np.hypot(*(holes - at).T))) == number
    assert numbered >= 3 * len(planned.content.drilled)


def _check_boxes(assessment: Assessment) -> None:
    for number in range(1, len(drilling_sheets(assessment)) + 1):
        planned = plan_map(assessment, number=number)
        boxes = np.array([p.box for p in planned.placed])
        touching = overlapping(boxes, boxes)
        np.fill_diagonal(touching, False)
        assert not touching.any(), [planned.placed[i].key for i in np.argwhere(touching).ravel()]
        left, bottom, right, _ = planned.window
        assert (boxes[:, 0] >= left).all() and (boxes[:, 1] >= bottom).all()
        assert (boxes[:, 2] <= right).all() and (boxes[:, 3] <= planned.arrangement.ceiling).all()


@pytest.mark.parametrize("name", NAMES)
def test_no_label_overlaps_on_a_full_lot(name: str) -> None:
    _check_boxes(filled(name))


def test_no_label_overlaps_and_texts_lie_on_the_paper(lot: Assessment) -> None:
    _check_boxes(lot)
    figure = drilling_map(lot).figure
    width, height = figure.get_size_inches() * 72
    (lettering,) = [a for a in figure.artists if hasattr(a, "lines_of_text")]
    for line in lettering.lines_of_text:
        assert 0 <= line.x <= width and 0 <= line.y <= height
        assert line.size >= 9.0


def test_the_map_is_in_the_figure_set_with_its_scale(lot: Assessment) -> None:
    assert "drilling-map" in figure_set(lot)
    assert figure_scales(lot)["drilling-map"] == drilling_map(lot).scale


def test_bands_hold_half_width_and_the_greater_tolerance() -> None:
    content = drilling_content(filled("wren_lot_7"))
    tendon = next(t for t in content.things if t.kind == "tendon")
    assert content.band(tendon) == pytest.approx(0.5 * INCH + 1.5 * INCH)  # the scan's 1 in is less
    middle = np.mean(np.asarray(tendon.path), axis=0)
    assert band_of(content, tendon).bounds[3] - middle[1] == pytest.approx(2.0 * INCH)
    area = next(t for t in content.things if t.fills)
    assert content.band(area) == pytest.approx(1.5 * INCH)  # an area's outline is its side


def test_a_band_says_from_where_it_counts() -> None:
    """Half width and tolerance in one number: of the centre line, or of an area's outline; never a bare ±.

    The number stands on the thing, from where it counts beside the plan: a label that says all of it is too
    long to stand on one tendon of several.
    """
    lot = filled("wren_lot_7")
    content, told = drilling_content(lot), [line.text for line in drilling_map(lot).paper.texts]
    for thing in content.things:
        off = content.display.length(content.band(thing), "up", 16)
        assert told[told.index(f"{thing.id} {thing.kind}") + 1] == f"band {off}"
    areas = ", ".join(thing.id for thing in content.things if thing.fills)
    counted = f"A band counts each way of the thing's centre line ({areas}: of its outline)."
    assert areas and counted in " ".join(told)
    assert not [t for t in told if "±" in t and any(t.startswith(thing.id) for thing in content.things)]


def test_every_kind_in_the_slab_has_a_line_of_its_own() -> None:
    assert set(KINDS) == set(InSlabKind.__args__)  # type: ignore[attr-defined]
    assert len({(pen.width, pen.dashes) for pen in KINDS.values()}) == len(KINDS)


def test_the_least_distance_to_the_slabs_contents_is_told() -> None:
    content = drilling_content(filled("wren_lot_7"))
    for base in content.drilled:
        findings = [f for f in content.assessment.findings if f.where.startswith(f"{base.id} · X-")]
        findings = [f for f in findings if f.id == "base.contents"]
        least = min(findings, key=lambda f: float(f.margin or 0.0))
        text, bold = clear_text(content, base)
        measure = Display("us").length(float(least.value), "down", 16)  # type: ignore[arg-type]
        assert text.startswith(f'Least clear {measure} to {least.where.split(" · ")[1]}, limit 3"')
        assert bold is False


def test_anchor_and_scan_are_told_and_what_is_missing_asked_for() -> None:
    texts = " ".join(_texts(drilling_map(filled("wren_lot_7")).figure))
    for told in (ANCHOR.name, 'Hole depth 3 1/2"', "Torque 45 ft-lbf", "Scanner (invented)", 'Tolerance ±1"'):
        assert told in texts
    job = job_with_load_path("wren_lot_7")
    bare = ANCHOR.model_copy(update={"hole_depth": None, "torque": None})
    equipment = job.equipment.model_copy(update={"base_anchors": [bare]})
    texts = " ".join(_texts(drilling_map(assess(job.model_copy(update={"equipment": equipment}))).figure))
    assert "Hole depth: NOT STATED" in texts and "Torque: NOT STATED" in texts


def test_torques_print_to_the_unit() -> None:
    assert torque_text(45 * FOOT * LBF, Display("us")) == "45 ft-lbf"
    assert torque_text(61.0, Display("metric")) == "61 N m"


def test_metric_map() -> None:
    job = job_with_load_path("wren_lot_7")
    metric = assess(job.model_copy(update={"site": job.site.model_copy(update={"units": "metric"})}))
    assert drilling_sheets(metric)[0].scale.startswith("1:")
    content = drilling_content(metric)
    assert all(re.fullmatch(r"\d+\.\d{3} m", m) for m in hole_rows(content, content.drilled[0])[0][1:])
    _check_boxes(metric)


def test_datum_of_a_slanting_slab_runs_through_its_corners() -> None:
    square = np.array([[1.0, 2.0], [9.0, 2.0], [9.0, 8.0], [1.0, 8.0]])
    datum = datum_of(square)
    assert (datum.x, datum.y, datum.x_edge, datum.y_edge) == (1.0, 2.0, True, True)
    slanting = datum_of(np.array([[0.0, 1.0], [5.0, 0.0], [6.0, 5.0], [1.0, 6.0]]))
    assert not slanting.x_edge and not slanting.y_edge
    assert "leftmost corner" in slanting.names[0] and "lowest corner" in slanting.names[1]


def test_detail_scale_is_the_largest_that_fits() -> None:
    us = Display("us")
    assert detail_scale(13 * INCH, us, 150.0).text == '1-1/2" = 1\'-0"'  # 13 in are 117 points at 1-1/2 in
    assert detail_scale(13 * INCH, us, 100.0).text == '1" = 1\'-0"'
    assert detail_scale(0.33, Display("metric"), 150.0).text == "1:10"


def test_blocks_are_never_dropped() -> None:
    blocks = [Block(40.0, lambda paper, box: None) for _ in range(7)]
    columns = flowed(blocks, [100.0, 100.0, 100.0, 100.0])
    assert columns is not None and [len(c) for c in columns] == [2, 2, 2, 1]
    assert flowed(blocks, [100.0, 100.0]) is None
    assert len(least_columns(blocks, 100.0, 20.0, 4, "map")) == 4
    with pytest.raises(RefusedError, match="map: its tables need more than 3 columns"):
        least_columns(blocks, 100.0, 20.0, 3, "map")


@pytest.mark.parametrize("name", NAMES)
def test_no_label_erases_what_is_in_the_slab(name: str) -> None:
    """Labels are set on white (layer MASK): lines and rims of the contents come after it."""
    assessment = filled(name)
    for number in range(1, len(drilling_sheets(assessment)) + 1):
        paper = Paper(*SHEET_SIZE)
        planned = plan_map(assessment, paper=paper, number=number)
        pens = {BAND, *(KINDS[thing.kind] for thing in planned.content.things)}
        drawn = [style for style, _ in paper.shapes() if style.pen in pens]
        assert drawn
        assert all(style.layer > MASK for style in drawn)


@pytest.mark.parametrize("number", [1, 2])
def test_a_tendons_name_stands_beside_its_own_line(demo: Demo, number: int) -> None:
    """Eleven tendons cross on the Quartz: a name that stood off at the slab's edge could be any one's."""
    planned = plan_map(demo("quartz_court_building_2"), number=number)
    boxes = {one.key: shapely.box(*one.box) for one in planned.placed}
    lines = {t.id: shapely.linestrings(planned.view(np.asarray(t.path))) for t in planned.content.things}
    named = boxes.keys() & lines.keys()
    assert len(named) > 6
    for thing in named:
        along = [other for other in lines if _parallel(lines[other], lines[thing])]
        assert min(along, key=lambda other: shapely.distance(boxes[thing], lines[other])) == thing
        assert shapely.distance(boxes[thing], lines[thing]) < 12.0


def _parallel(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    ways = [np.ptp(shapely.get_coordinates(line), axis=0) for line in (one, other)]
    return bool(np.argmax(ways[0]) == np.argmax(ways[1]))
