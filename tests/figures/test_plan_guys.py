"""Guys, plate anchors and framing on the layout sheets and in the sections."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from load_path_lot import filled

from planforge.assess.assessment import Assessment
from planforge.assess.index import Index
from planforge.figures import guy_sheet as guy_sheet_module
from planforge.figures.guy_sheet import READABLE, PlannedGuys, guy_sheet, guy_sheets, plan_guys
from planforge.figures.labels import overlapping
from planforge.figures.layout_sheet import layout_scale, layout_sheet, plan_sheet
from planforge.figures.plan_content import plan_content
from planforge.figures.plan_guys import guys_near_plane, guys_of, member_lines
from planforge.figures.plan_key import key_entries
from planforge.figures.tie_off_map import tie_off_map
from planforge.job.layout import Framing, Layout
from planforge.units import FOOT, INCH, LENGTH, parse

NAMES = ("heron_lot_14", "wren_lot_7", "quartz_court_building_2", "linnet_lot_3_trusses")


@pytest.mark.parametrize("name", NAMES)
def test_every_guy_is_named_once_on_the_sheets_of_their_own(name: str) -> None:
    lot = filled(name)
    keys: list[str] = []
    for number, sheet in enumerate(guy_sheets(lot), start=1):
        planned = plan_guys(lot, number)
        keys += [p.key for p in planned.placed if " · " in p.key]
        boxes = np.array([p.box for p in planned.placed])
        touching = overlapping(boxes, boxes)
        np.fill_diagonal(touching, False)
        assert not touching.any()
        assert planned.view.scale.ratio >= READABLE * (1 - 1e-9) and sheet.scale == planned.view.scale.text
        texts = [text.text for text in guy_sheet(lot, number).paper.texts]
        assert [row[0] for row in planned.listed] == [
            k.replace(" · ", " ") for k in _in_posts_order(lot, planned)
        ]
        assert planned.left_off == 0 and all(texts.count(text) for row in planned.listed for text in row)
    wanted = [f"{post.id} · {guy.id}" for post, guy in guys_of(plan_content(lot, None))]
    assert sorted(keys) == sorted(wanted)


def _in_posts_order(lot: Assessment, planned: PlannedGuys) -> list[str]:
    keys = {p.key for p in planned.placed}
    return [k for p, g in guys_of(plan_content(lot, None)) if (k := f"{p.id} · {g.id}") in keys]


def test_a_list_without_room_says_how_many_it_leaves_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guy_sheet_module, "_FOOT", 540.0)
    lot = filled("quartz_court_building_2")
    planned = plan_guys(lot)
    assert planned.left_off > 0
    told = [text.text for text in guy_sheet(lot).paper.texts]
    assert f"{planned.left_off} more: erection sheet, guys." in told


def test_angle_and_length_of_a_guy_are_those_of_its_triangle() -> None:
    lot = filled("wren_lot_7")
    listed = {row[0]: row for n in range(len(guy_sheets(lot))) for row in plan_guys(lot, n + 1).listed}
    post = lot.job.layout.posts[0]
    guy = post.guys[0]
    run = float(np.hypot(*(np.asarray(guy.to) - np.asarray(post.at))))
    drop = lot.job.layout.levels[post.stands_on] + guy.height - guy.elevation
    _, angle, length = listed[f"{post.id} {guy.id}"]
    assert angle == f"{np.degrees(np.arctan2(run, drop)):.1f}°"
    assert 0.0 <= parse(length, LENGTH) - np.hypot(run, drop) <= INCH / 8 + 1e-9


def test_layout_sheets_send_to_the_sheets_that_name_the_guys() -> None:
    lot = filled("heron_lot_14")
    texts = [text.text for text in layout_sheet(lot, "deck").paper.texts]
    assert "named on sheets G1, G2" in texts
    assert not [text for text in texts if text == "G1"]
    bare = replace(lot, index=Index(lot.job.model_copy(update={"layout": _without_guys(lot)})))
    assert guy_sheets(bare) == ()


def _without_guys(lot: Assessment) -> Layout:
    posts = [post.model_copy(update={"guys": []}) for post in lot.job.layout.posts]
    return lot.job.layout.model_copy(update={"posts": posts})


def test_the_sheet_holds_every_plate_anchor() -> None:
    lot = filled("heron_lot_14")
    planned = plan_sheet(lot, None)
    left, bottom, right, top = planned.window
    for _, guy in guys_of(planned.content):
        x, y = planned.view.one(guy.to)
        assert left < x < right and bottom < y < top
    assert layout_scale(lot) == planned.view.scale


def test_framing_shows_in_its_phase_only_and_in_the_key() -> None:
    lot = filled("heron_lot_14")
    last = lot.job.phases[-1].id
    assert "T-1" in layout_sheet(lot, last).marks
    assert "T-1" not in layout_sheet(lot, "deck").marks
    entries = {e.text for e in key_entries(plan_sheet(lot, last).shown)}
    assert {"Guy, plate anchor", "Trusses"} <= entries
    assert "Trusses" not in {e.text for e in key_entries(plan_sheet(lot, "deck").shown)}


def test_the_crews_map_has_no_guys_and_no_framing() -> None:
    lot = filled("heron_lot_14")
    drawn = tie_off_map(lot, lot.job.phases[-1].id)
    assert "T-1" not in drawn.marks
    (lettering,) = [a for a in drawn.figure.artists if hasattr(a, "lines_of_text")]
    assert not [line.text for line in lettering.lines_of_text if line.text.startswith("G1")]


def _framing(**changes: object) -> Framing:
    values = {
        "id": "T",
        "kind": "trusses",
        "area": [(0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0)],
        "direction": 0.0,
        "spacing": 2.0,
        "first": (0.0, 1.0),
        "thickness": 0.04,
        "bottom": 5.0,
        "top": 7.0,
        "phases": [],
    }
    return Framing.model_construct(**(values | changes))


def test_members_lie_at_their_spacing_and_end_at_the_outline() -> None:
    lines = member_lines(_framing())
    assert [line[0, 1] for line in lines] == pytest.approx([1.0, 3.0, 5.0])
    for line in lines:
        assert sorted(line[:, 0]) == pytest.approx([0.0, 10.0])
    upright = member_lines(_framing(direction=np.pi / 2, first=(1.0, 0.0)))
    assert sorted(line[0, 0] for line in upright) == pytest.approx([1.0, 3.0, 5.0, 7.0, 9.0])
    slanting = member_lines(_framing(direction=np.pi / 6, first=(20.0, 3.0)))
    normal = np.array([-0.5, np.sqrt(3) / 2])
    offsets = sorted(float(line[0] @ normal) for line in slanting)
    assert np.diff(offsets) == pytest.approx(2.0)


def test_only_guys_near_the_lines_plane_stand_in_its_section() -> None:
    lot = filled("wren_lot_7")
    post = lot.job.layout.posts[0]
    start, base = np.asarray(post.at), 0.0
    along = guys_near_plane(post, base, start, np.array([1.0, 0.0]))
    assert [name for name, _ in along] == ["G1", "G3"]
    assert not guys_near_plane(post, base, start, np.array([1.0, 1.0]) / np.sqrt(2.0))
    ends = dict(along)["G1"]
    guy = post.guys[0]
    assert ends == pytest.approx(np.array([[0.0, guy.height], [guy.to[0] - start[0], guy.elevation]]))
    assert np.ptp(ends[:, 1]) == pytest.approx(9 * FOOT)
