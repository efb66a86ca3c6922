"""The layout sheets as a set, as numbers: keys, dimensions, match lines, phases, what half size leaves."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
import shapely
from long_building import UNIT, house_in_phases, twelve_units

from planforge.assess.assessment import Assessment
from planforge.errors import RefusedError
from planforge.figures import figure_set
from planforge.figures.drafting import (
    GHOST,
    LEAST_MARK,
    LEAST_TEXT,
    LEAST_WEIGHT,
    MATCH,
    OVERHEAD,
    break_line,
)
from planforge.figures.layout_sheet import (
    SHEET_SIZE,
    PlannedSheet,
    draw_sheet,
    layout_names,
    layout_tiling,
    plan_sheet,
)
from planforge.figures.match_lines import OVERLAP, READABLE, tiling
from planforge.figures.paper import Paper, Pen
from planforge.figures.plan_content import plan_content
from planforge.figures.plan_drawing import EDGES, LIFELINE, LOWER, ZONE
from planforge.figures.plan_guys import FRAMING, GUY
from planforge.figures.plan_strings import dimension_string
from planforge.figures.scale import Scale
from planforge.figures.standing import standing
from planforge.units import FOOT, Display

Demo = Callable[[str], Assessment]
US = Display("us")


_DRAWN: dict[str, list[tuple[Paper, PlannedSheet]]] = {}


def sheets(lot: Assessment) -> list[tuple[Paper, PlannedSheet]]:
    """Every layout sheet that is printed, drawn once: the paper, and where everything went on it."""
    name = f"{lot.job.site.lot} {lot.job.plan.number} {lot.job.plan.revision} {len(lot.job.layout.posts)}"
    name += " building" * (lot.job.building is not None)
    if name not in _DRAWN:
        _DRAWN[name] = []
        for sheet in layout_names(lot):
            if sheet.phase is not None:
                paper = Paper(*SHEET_SIZE)
                _DRAWN[name].append((paper, draw_sheet(lot, sheet.phase, paper, sheet.part)))
    return _DRAWN[name]


@pytest.fixture(params=["twelve units", "house in phases"])
def invented(request: pytest.FixtureRequest) -> Assessment:
    return twelve_units() if request.param == "twelve units" else house_in_phases()


# -- the key ------------------------------------------------------------------------------

LINES: dict[str, Pen] = {
    **{f"{kind} edge": pen for kind, pen in EDGES.items()},
    "Lifeline": LIFELINE,
    "Guy, plate anchor": GUY,
    "Lower level": LOWER,
    "Floor to come": GHOST,
    "Match line": MATCH,
    "Trusses": FRAMING["trusses"],
    "Joists": FRAMING["joists"],
}
"""What a line of the key is called (its end) and the pen that nothing else on a sheet is drawn with."""


def _check_key(paper: Paper, planned: PlannedSheet) -> None:
    left, bottom, right, top = planned.window
    window = shapely.box(left, bottom, right, top)
    inside: set[Pen] = set()
    for style, parts in paper.shapes():
        lines = [p for p, _ in parts if len(p) > 1]
        if style.pen and any(shapely.linestrings(p).intersects(window) for p in lines):
            inside.add(style.pen)
    key = {t.text for t in paper.texts if t.x > right}
    for name, pen in LINES.items():
        assert any(text.endswith(name) for text in key) == (pen in inside), name
    assert ("Zone, barbs inward" in key or "No-entry zone" in key) == (ZONE in inside)

    def sees(points: object) -> bool:
        return any(left <= x <= right and bottom <= y <= top for x, y in np.atleast_2d(planned.view(points)))

    content = planned.content
    shown = {
        "Post": [p.at for p in content.index.job.layout.posts if p in content.posts],
        "Hazard": [h.at for h in content.hazards],
        "Place": [p.at for _, p in content.places],
    }
    for name, places in shown.items():
        assert (name in key) == bool(places), name
    assert ("Opening with cover" in key) == any(sees(o.outline) for o in _covered(content))
    assert ("x, y from here" in key) == sees((0.0, 0.0))


def _covered(content: object) -> list[object]:
    covered = {c.opening for c in content.covers}  # type: ignore[attr-defined]
    return [o for o in content.index.job.layout.openings if o.id in covered]  # type: ignore[attr-defined]


def test_the_key_holds_what_is_on_the_sheet_and_nothing_else(lot: Assessment) -> None:
    for paper, planned in sheets(lot):
        _check_key(paper, planned)


def test_the_key_of_an_invented_building(invented: Assessment) -> None:
    for paper, planned in sheets(invented):
        _check_key(paper, planned)


# -- dimensions ---------------------------------------------------------------------------


def _check_apart(planned: PlannedSheet) -> None:
    """By shapely: no length of a string meets another or a label, and all lie in the window."""
    lengths = [shapely.box(*v.box) for s in planned.strings for v in s.lengths]
    labels = [shapely.box(*p.box) for p in planned.placed]
    every = [*lengths, *labels]
    tree = shapely.STRtree(every)
    for number, box in enumerate(lengths):
        meets = [
            int(k) for k in tree.query(box) if k != number and shapely.intersection(box, every[k]).area > 1e-6
        ]
        assert not meets, (number, meets)
        assert shapely.box(*planned.window).covers(box)


def test_no_dimension_meets_another_or_a_label(lot: Assessment) -> None:
    for _, planned in sheets(lot):
        _check_apart(planned)


def test_no_dimension_of_an_invented_building_meets_a_label(invented: Assessment) -> None:
    for _, planned in sheets(invented):
        _check_apart(planned)


def test_every_post_has_a_tick_along_x_and_along_y(lot: Assessment) -> None:
    for _, planned in sheets(lot):
        for post in planned.content.posts:
            at = planned.view.one(post.at)
            for axis, name in ((0, "posts x"), (1, "posts y")):
                places = [p for s in planned.strings if s.name == name for p in s.places]
                assert min(abs(at[axis] - p) for p in places) < 0.02, (post.id, name)


def test_the_lengths_of_a_string_name_its_intervals() -> None:
    true = [0.0, 2 * FOOT, 2.25 * FOOT, 31.5 * FOOT, 40 * FOOT]
    stops = [(100.0 + 9.0 * v / FOOT, v) for v in true]
    string = dimension_string("posts x", stops, 0, 50.0, -1.0, (0.0, 600.0), US)
    assert sorted(v.text for v in string.lengths) == sorted(US.length(b - a) for a, b in pairwise(true))
    narrow = [v for v in string.lengths if v.leader is not None]
    assert {v.text for v in narrow} == {"2'-0\"", '3"'}  # too narrow for their text at 9 pt to the foot
    for length in narrow:
        assert length.box[3] < 50.0  # beyond the string
        foot = length.leader
        assert foot is not None and foot[1] == 50.0 and length.box[0] <= foot[2] <= length.box[2]
    assert all(v.box[1] > 50.0 for v in string.lengths if v.leader is None)


def test_forty_narrow_intervals_go_in_rows_that_keep_apart() -> None:
    stops = [(100.0 + 4.0 * n, n * FOOT / 3) for n in range(41)]
    string = dimension_string("posts x", stops, 0, 300.0, -1.0, (90.0, 280.0), US)
    boxes = [shapely.box(*v.box) for v in string.lengths]
    assert len(boxes) == 40
    for number, box in enumerate(boxes):
        assert not any(box.intersection(other).area > 1e-9 for other in boxes[number + 1 :])


# -- match lines --------------------------------------------------------------------------


def test_a_demo_fits_one_sheet_a_phase(lot: Assessment) -> None:
    assert len(layout_tiling(lot).tiles) == 1
    names = [n for n in layout_names(lot) if n.phase]
    assert [n.number for n in names] == [f"L{k + 1}" for k in range(len(lot.job.phases))]


def test_twelve_units_take_three_sheets_that_overlap() -> None:
    units = twelve_units()
    shares = layout_tiling(units)
    assert len(shares.tiles) == 3 and shares.scale.ratio >= READABLE * 0.999
    views = [planned for _, planned in sheets(units)[:3]]
    for first, second in pairwise(views):
        assert first.tile.own[2] == second.tile.own[0]  # one match line, at the same place
        left = second.view.back(second.window[:2])[0]
        right = first.view.back(first.window[2:])[0]
        assert (right - left) * shares.scale.points >= OVERLAP - 1e-6
        assert left < first.tile.own[2] < right
        clear = min(abs(p.at[0] - first.tile.own[2]) for p in units.job.layout.posts)
        assert clear > 1.5 * FOOT


def test_sheets_are_numbered_through_and_name_their_neighbours() -> None:
    units = twelve_units()
    numbers = {(n.phase, n.part): n.number for n in layout_names(units) if n.phase}
    assert list(numbers.values()) == [f"L{n}" for n in range(1, 7)]
    for (phase, part), number in numbers.items():
        texts = [t.text for t in sheets(units)[int(number[1:]) - 1][0].texts]
        told = {t for t in texts if t.startswith("MATCH LINE")}
        near = {numbers[phase, part + way] for way in (-1, 1) if (phase, part + way) in numbers}
        assert told == {f"MATCH LINE · see sheet {n}" for n in near}
        assert all(texts.count(t) == 2 for t in told)  # at both ends
        assert "Key plan" in texts and number in texts


def test_every_thing_is_named_and_every_post_on_one_sheet_only() -> None:
    units = twelve_units()
    whole = {p.id for g in (units.job.layout.posts, units.job.hazards, units.job.layout.places) for p in g}
    parts = [plan_sheet(units, None, part=n) for n in (1, 2, 3)]
    named = [{p.key for p in part.placed} for part in parts]
    assert whole <= set().union(*named)
    for post in units.job.layout.posts:
        assert sum(post.id in keys for keys in named) == 1, post.id
    lines = {v.id for v in units.job.layout.lines}
    assert lines == set().union(*({v.id for v in part.content.lines} for part in parts))


def test_every_length_of_a_split_building_stands_on_some_sheet() -> None:
    units = twelve_units()
    edges = np.asarray(units.job.layout.footprint)
    for phase in units.job.phases:
        planned = [p for _, p in sheets(units) if p.content.phase == phase]
        posts = plan_content(units, phase.id).posts
        middle = np.ptp(edges[:, 1]) / 2
        for outward in (-1.0, 1.0):
            near = {round(p.at[0], 4) for p in posts if (p.at[1] > middle) == (outward > 0)}
            stops = sorted(near | {0.0, round(3 * UNIT, 4)})
            for a, b in pairwise(stops):
                told = [
                    length.text
                    for sheet in planned
                    for string in sheet.strings
                    if string.name == "posts x" and string.outward == outward
                    for length in string.lengths
                    if _stands_in(length.box, sheet.view([(a, 0.0), (b, 0.0)])[:, 0], length.leader)
                ]
                assert told and set(told) == {US.length(b - a)}, (phase.id, a, b, told)


def _stands_in(box: tuple[float, ...], ends: np.ndarray, leader: tuple[float, ...] | None) -> bool:
    """True where a length belongs to the interval: its text, or its leader's foot, stands in it."""
    at = leader[0] if leader is not None else (box[0] + box[2]) / 2
    return bool(ends[0] < at < ends[1])


def test_nothing_of_a_split_building_is_drawn_beyond_its_window() -> None:
    units = twelve_units()
    for paper, planned in sheets(units):
        left, bottom, right, top = planned.window
        # all but the column beside it, with half a symbol and the break's zigzag
        window = shapely.box(left - 12.0, bottom - 12.0, right + 8.0, top + 12.0)
        for _, paths in paper.shapes():
            for points, _ in paths:
                assert window.covers(shapely.multipoints(points)) or points[:, 0].min() > right + 8.0


def _extent(wide: float, high: float) -> Callable[[Scale], tuple[float, float, float, float]]:
    return lambda _scale: (0.0, 0.0, wide, high)


def test_a_grid_of_sheets_is_read_from_the_top_left() -> None:
    room = 800.0, 600.0
    shares = tiling(_extent(200 * FOOT, 150 * FOOT), room, "us")
    assert [(t.column, t.row) for t in shares.tiles] == [(0, 0), (1, 0), (0, 1), (1, 1)]
    first, last = shares.tiles[0], shares.tiles[-1]
    assert first.own[3] > 1e5 and first.own[0] < -1e5 and last.own[1] < -1e5 and last.own[2] > 1e5
    for tile in shares.tiles:
        assert (tile.shown[2] - tile.shown[0]) * shares.scale.points + OVERLAP / 2 <= room[0] + 1e-6
        assert (tile.shown[3] - tile.shown[1]) * shares.scale.points + OVERLAP / 2 <= room[1] + 1e-6
    # exactly the largest scale that leaves two by two: the next takes more
    assert shares.at(1, 0) == 2 and shares.at(2, 0) is None


def test_what_just_fits_takes_one_sheet_and_a_little_more_takes_two() -> None:
    points = READABLE * 72 / 0.0254
    assert len(tiling(_extent(800.0 / points, 10.0), (800.0, 600.0), "us").tiles) == 1
    assert len(tiling(_extent(801.0 / points, 10.0), (800.0, 600.0), "us").tiles) == 2
    metric = tiling(_extent(780.0 / points, 10.0), (800.0, 600.0), "metric")
    assert metric.scale.text == "1:125" and len(metric.tiles) == 1


def test_a_building_of_kilometres_is_refused() -> None:
    with pytest.raises(RefusedError, match="coordinate with a wrong unit"):
        tiling(_extent(10_000.0, 10.0), (800.0, 600.0), "us")


def test_a_match_line_moves_off_what_stands_there() -> None:
    things = [(100 * FOOT + x, 0.0) for x in (-0.5, 0.0, 0.5)]
    even = tiling(_extent(200 * FOOT, 30.0), (800.0, 600.0), "us").tiles[0].own[2]
    moved = tiling(_extent(200 * FOOT, 30.0), (800.0, 600.0), "us", things).tiles[0].own[2]
    assert even == pytest.approx(100 * FOOT)
    assert min(abs(moved - x) for x, _ in things) > 0.3


# -- phases -------------------------------------------------------------------------------


def test_a_phase_shows_the_building_as_it_stands_then() -> None:
    house = house_in_phases()
    seen = {}
    for phase in ("deck", "walls", "trusses"):
        there = standing(house.index, house.index.phases[phase])
        seen[phase] = [[t.id for t in g] for g in (there.floors, there.to_come, there.walls, there.roofs)]
    assert seen == {
        "deck": [["F-GROUND"], ["F-SECOND"], ["W-1"], []],
        "walls": [["F-GROUND", "F-SECOND"], [], ["W-1", "W-2"], []],
        "trusses": [["F-GROUND", "F-SECOND"], [], ["W-1", "W-2"], ["R-1"]],
    }
    everything = standing(house.index, None)
    assert len(everything.floors) == 2 and len(everything.walls) == 2 and not everything.to_come


def test_what_is_to_come_is_a_ghost_and_a_roof_overhead_is_dashed() -> None:
    house = house_in_phases()
    pens = {}
    for phase in ("deck", "walls", "trusses"):
        paper = Paper(*SHEET_SIZE)
        planned = plan_sheet(house, phase, paper=paper)
        pens[phase] = {style.pen for style, _ in paper.shapes()}
        keys = {p.key for p in planned.placed}
        assert ("W-2" in keys) == (phase != "deck") and "F-SECOND" in keys
        assert ("R-1" in keys) == (phase == "trusses")
    assert GHOST in pens["deck"] and GHOST not in pens["walls"] | pens["trusses"]
    assert OVERHEAD in pens["trusses"] and OVERHEAD not in pens["deck"] | pens["walls"]


def test_a_wall_is_drawn_at_its_thickness() -> None:
    house = house_in_phases()
    paper = Paper(*SHEET_SIZE)
    planned = plan_sheet(house, "deck", paper=paper)
    middle = planned.view((10 * FOOT, 16 * FOOT))
    half = 0.25 * FOOT * planned.view.scale.points
    faces = [
        float(p[0, 1])
        for _, paths in paper.shapes()
        for points, _ in paths
        for p in np.stack([points[:-1], points[1:]], axis=1)
        if abs(p[0, 1] - p[1, 1]) < 1e-6 and min(p[:, 0]) < middle[0] < max(p[:, 0])
    ]
    for side in (-half, half):
        assert min(abs(y - middle[1] - side) for y in faces) < 1e-6


# -- half size, black and white -----------------------------------------------------------


def _check_reads(paper: Paper, planned: PlannedSheet) -> None:
    for style, _ in paper.shapes():
        assert style.fill in (None, 0.0, 1.0)  # no grey to lose
        if style.pen is not None:
            assert style.pen.width >= LEAST_WEIGHT and style.pen.grey == 0.0
    assert min(t.size for t in paper.texts) >= LEAST_TEXT
    content = planned.content
    marks = {p.id for p in content.posts} | {h.id for h in content.hazards} | {n for n, _ in content.places}
    marks |= {t.text for t in paper.texts if t.text.endswith((" worker", " workers"))}
    for text in paper.texts:
        if text.text in marks and text.x < planned.window[2]:
            assert text.size >= LEAST_MARK, text.text


def test_every_sheet_reads_in_black_and_white_at_half_size(lot: Assessment) -> None:
    assert LEAST_WEIGHT * 0.5 >= 0.35 and LEAST_MARK * 0.5 >= 6.0 and LEAST_TEXT * 11 / 17 >= 7.0
    for paper, planned in sheets(lot):
        _check_reads(paper, planned)


def test_an_invented_building_reads_at_half_size(invented: Assessment) -> None:
    for paper, planned in sheets(invented):
        _check_reads(paper, planned)


def test_no_line_of_the_other_sheets_is_lost_at_half_size(lot: Assessment) -> None:
    """Elevations and the drilling map."""
    for name, drawing in figure_set(lot).items():
        if name.startswith(("elevation-", "drilling-map")):
            pens = [style.pen for style, _ in drawing.paper.shapes() if style.pen is not None]
            assert min(pen.width for pen in pens) >= LEAST_WEIGHT, name
            assert {pen.grey for pen in pens} == {0.0}, name
            assert min(t.size for t in drawing.paper.texts) >= LEAST_TEXT, name


def test_a_break_line_joins_its_ends_and_swings_to_both_sides() -> None:
    line = break_line((0.0, 0.0), (0.0, 200.0))
    assert line[0].tolist() == [0.0, 0.0] and line[-1].tolist() == [0.0, 200.0]
    assert line[:, 0].min() < -2.0 and line[:, 0].max() > 2.0
    assert len(break_line((0.0, 0.0), (0.0, 10.0))) == 2  # too short for a zigzag


def test_the_long_building_is_what_it_says() -> None:
    footprint = np.asarray(twelve_units().job.layout.footprint)
    assert np.ptp(footprint[:, 0]) == pytest.approx(3 * UNIT)
