"""Drawings made with ezdxf, read into parts of a job: every kind of thing, every kind of shape."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import shapely
import yaml
from ezdxf.document import Drawing as Dxf
from ezdxf.layouts import Modelspace
from ezdxf.xclip import XClip
from hypothesis import given, settings
from hypothesis import strategies as st

from planforge.cad.fragment import MOST_ROUNDED, length_text
from planforge.cad.importing import import_drawing
from planforge.errors import JobFileError
from planforge.job.drawing import Drawing
from planforge.job.loading import load
from planforge.units import FOOT, INCH, LENGTH, parse

from .plans import IN, ROOT, M, job_data, parts, read, write_dxf, write_job

RECTANGLE = [(0, 0), (44, 0), (44, 30), (0, 30)]
FOOTPRINT = {"layer": "OUTLINE", "holds": "footprint"}
HOLES = {"layer": "HOLES", "holds": "opening", "level": "main", "opening": "floor hole"}
TENDONS = {"layer": "TENDON", "holds": "slab content", "content": "tendon", "half_width": "1/2 in"}


def on(layer: str, **more: Any) -> dict[str, Any]:
    return {"layer": layer} | more


def outline(msp: Modelspace) -> None:
    if msp.doc is not None and msp.doc.dxfversion == "AC1009":
        msp.add_polyline2d(RECTANGLE, close=True, dxfattribs=on("OUTLINE"))
    else:
        msp.add_lwpolyline(RECTANGLE, close=True, dxfattribs=on("OUTLINE"))


def metres(points: list[list[str]]) -> list[tuple[float, float]]:
    return [(parse(x, LENGTH), parse(y, LENGTH)) for x, y in points]


def hole(imported: Any) -> shapely.Polygon:
    (opening,) = parts(imported)[0]["layout"]["openings"]
    return shapely.Polygon(metres(opening["outline"]))


def test_an_outline_of_lines_in_any_order(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        for a, b in ((2, 1), (3, 0), (0, 1), (2, 3)):
            msp.add_line(RECTANGLE[a], RECTANGLE[b], dxfattribs=on("OUTLINE"))

    got = metres(parts(read(tmp_path, draw, [FOOTPRINT]))[0]["layout"]["footprint"])
    assert shapely.Polygon(got).equals(shapely.Polygon([(x * FOOT, y * FOOT) for x, y in RECTANGLE]))


def test_feet_and_inches_where_they_are_exact(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_lwpolyline([(0, 0), (480.0625, 0), (480.03, 360.5)], close=True, dxfattribs=on("OUTLINE"))

    got = parts(read(tmp_path, draw, [FOOTPRINT], header=IN))[0]["layout"]["footprint"]
    assert got == [["0", "0"], ["40'-0 1/16\"", "0"], ["12.192762 m", "30'-0 1/2\""]]


@given(st.floats(-900.0, 900.0))
def test_a_printed_length_reads_back(value: float) -> None:
    for system in ("us", "metric"):
        assert abs(parse(length_text(value, system), LENGTH) - value) <= MOST_ROUNDED


@given(st.integers(-200_000, 200_000))
def test_sixteenths_are_written_as_feet_and_inches(count: int) -> None:
    text = length_text(count * INCH / 16, "us")
    assert "m" not in text
    assert parse(text, LENGTH) == pytest.approx(count * INCH / 16, abs=1e-12)


def test_place_scale_and_turn(tmp_path: Path) -> None:
    """A drawing in mm at 1:10, turned a quarter about its own point (2 m, 3 m)."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        corners = [(200, 300), (1200, 300), (1200, 900), (200, 900)]
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    place = {"base_point": ["2 m", "3 m"], "at": ["1 m", "-1 m"], "turned": "90 deg", "scale": "10"}
    imported = read(tmp_path, draw, [FOOTPRINT], header=4, **place)
    got = metres(parts(imported)[0]["layout"]["footprint"])
    assert sum(got, ()) == pytest.approx((1, -1, 1, 9, -5, 9, -5, -1), abs=1e-9)
    assert any("scale 10" in line for line in imported.report)


def test_a_circle_is_a_hole_that_errs_outward(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_circle((10, 12), 1.5, dxfattribs=on("HOLES"))

    got = hole(read(tmp_path, draw, [FOOTPRINT, HOLES]))
    true = shapely.Point(10 * FOOT, 12 * FOOT).buffer(1.5 * FOOT, quad_segs=720)
    assert got.buffer(1e-6).contains(true)
    assert got.hausdorff_distance(true) <= 2 * INCH / 16
    assert got.area == pytest.approx(math.pi * (1.5 * FOOT) ** 2, rel=0.01)


def test_a_slab_with_a_round_corner_errs_inward(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        bulge = math.tan(math.pi / 8)  # a quarter turn
        msp.add_lwpolyline(
            [(0, 0, 0), (40, 0, bulge), (44, 4, 0), (44, 30, 0), (0, 30, 0)],
            format="xyb",
            close=True,
            dxfattribs=on("SLAB"),
        )

    layers = [FOOTPRINT, {"layer": "SLAB", "holds": "slab"}]
    got = shapely.Polygon(metres(parts(read(tmp_path, draw, layers))[0]["layout"]["slab"]))
    corner = shapely.Point(40, 4).buffer(4, quad_segs=720).intersection(shapely.box(40, 0, 44, 4))
    true = shapely.unary_union([shapely.box(0, 0, 40, 30), shapely.box(40, 4, 44, 30), corner])
    true = shapely.affinity.scale(true, FOOT, FOOT, origin=(0, 0))
    assert true.buffer(1e-5).contains(got)
    assert got.area == pytest.approx(true.area, rel=2e-3)


def test_a_curved_tendon_is_widened_by_what_its_chords_lie_off(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_arc((20, 0), 15, 30, 150, dxfattribs=on("TENDON"))
        msp.add_line((1, 25), (43, 25), dxfattribs=on("TENDON"))

    imported = read(tmp_path, draw, [FOOTPRINT, TENDONS])
    curved, straight = parts(imported)[1]["slab"]["contents"]
    assert straight["half_width"] == "1/2 in"
    off = parse(curved["half_width"], LENGTH) - 0.5 * INCH
    assert 0.0 < off <= INCH / 16
    line = shapely.LineString(metres(curved["path"]))
    assert line.length == pytest.approx(math.radians(120) * 15 * FOOT, rel=1e-3)
    angles = [math.radians(30 + k / 10) for k in range(1201)]
    true = shapely.points([(FOOT * (20 + 15 * math.cos(a)), FOOT * 15 * math.sin(a)) for a in angles])
    assert shapely.distance(true, line).max() <= off + 1e-9


@pytest.mark.parametrize(
    ("insertion", "expected"),
    [
        ({}, (10, 10, 14, 12)),
        ({"xscale": 2.0}, (10, 10, 18, 12)),
        ({"xscale": -1.0}, (6, 10, 10, 12)),
        ({"rotation": 90.0}, (8, 10, 10, 14)),
        ({"xscale": -1.0, "yscale": 0.5, "rotation": 90.0}, (9, 6, 10, 10)),
    ],
)
def test_a_block_is_scaled_mirrored_and_turned(
    tmp_path: Path, insertion: dict[str, float], expected: tuple[float, ...]
) -> None:
    """The block's rectangle is 4 by 2 from its base point, drawn on layer 0: it takes the insertion's."""

    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        block = doc.blocks.new("WELL", base_point=(100, 100))
        corners = [(100, 100), (104, 100), (104, 102), (100, 102)]
        block.add_lwpolyline(corners, close=True)
        msp.add_blockref("WELL", (10, 10), dxfattribs=on("HOLES", **insertion))

    got = hole(read(tmp_path, draw, [FOOTPRINT, HOLES]))
    assert got.equals_exact(shapely.box(*(v * FOOT for v in expected)).normalize(), 1e-9) or (
        got.symmetric_difference(shapely.box(*(v * FOOT for v in expected))).area < 1e-9
    )


def test_a_circle_in_a_block_of_uneven_scale_is_an_ellipse(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        inner = doc.blocks.new("INNER")
        inner.add_circle((0, 0), 1, dxfattribs=on("HOLES"))
        outer = doc.blocks.new("OUTER")
        outer.add_blockref("INNER", (1, 0), dxfattribs={"xscale": 2.0, "yscale": -1.0})
        msp.add_blockref("OUTER", (20, 15), dxfattribs={"xscale": 1.0, "yscale": 3.0, "rotation": 30.0})

    got = hole(read(tmp_path, draw, [FOOTPRINT, HOLES]))
    assert got.area == pytest.approx(math.pi * 2 * 3 * FOOT**2, rel=4e-3)
    turn = math.radians(30)
    assert got.centroid.x == pytest.approx((20 + math.cos(turn)) * FOOT, abs=1e-6)
    assert got.centroid.y == pytest.approx((15 + math.sin(turn)) * FOOT, abs=1e-6)


def test_rows_of_one_block_and_an_upside_down_circle(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        block = doc.blocks.new("HOLE")
        block.add_lwpolyline([(0, 0), (1, 0), (1, 1), (0, 1)], close=True)
        rows = {"column_count": 3, "row_count": 2, "column_spacing": 4.0, "row_spacing": 5.0}
        msp.add_blockref("HOLE", (5, 5), dxfattribs=on("HOLES", **rows))
        # seen from below: x runs the other way
        msp.add_circle((-30, 20), 1, dxfattribs=on("HOLES", extrusion=(0, 0, -1)))

    openings = parts(read(tmp_path, draw, [FOOTPRINT, HOLES]))[0]["layout"]["openings"]
    middles = sorted(
        (round(c.x / FOOT, 3), round(c.y / FOOT, 3))
        for c in (shapely.Polygon(metres(o["outline"])).centroid for o in openings)
    )
    assert middles == sorted([(x, y) for x in (5.5, 9.5, 13.5) for y in (5.5, 10.5)] + [(30.0, 20.0)])


def test_splines_ellipses_and_hatches(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_ellipse((10, 10), (3, 0), 0.5, dxfattribs=on("HOLES"))
        ring = msp.add_spline(dxfattribs=on("HOLES"))
        ring.set_closed([(20, 10, 0), (24, 10, 0), (24, 14, 0), (20, 14, 0)])
        hatch = msp.add_hatch(dxfattribs=on("HOLES"))
        hatch.paths.add_polyline_path([(30, 10, 1.0), (34, 10, 1.0)], is_closed=True)
        edges = msp.add_hatch(dxfattribs=on("HOLES")).paths.add_edge_path()
        edges.add_line((30, 20), (34, 20))
        edges.add_arc((34, 22), 2, -90, 90, ccw=True)
        edges.add_line((34, 24), (30, 24))
        edges.add_arc((30, 22), 2, -90, 90, ccw=False)

    openings = parts(read(tmp_path, draw, [FOOTPRINT, HOLES]))[0]["layout"]["openings"]
    ellipse, spline, disc, band = [shapely.Polygon(metres(o["outline"])).area / FOOT**2 for o in openings]
    assert ellipse == pytest.approx(math.pi * 3 * 1.5, rel=5e-3)
    assert 8 < spline < 16  # within its control polygon of 4 by 4
    assert disc == pytest.approx(math.pi * 2**2, rel=6e-3)
    assert band == pytest.approx(4 * 4, rel=8e-3)  # a half disc added on one side and cut from the other


def test_old_polylines_with_bulges_and_heights(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_polyline2d(RECTANGLE, close=True, dxfattribs=on("OUTLINE"))
        peaks = [(0, 0, 19), (22, 0, 28), (44, 0, 19), (44, 30, 19), (0, 30, 19)]
        msp.add_polyline3d(peaks, close=True, dxfattribs=on("ROOF"))

    layers = [FOOTPRINT, {"layer": "ROOF", "holds": "roof", "id": "R-1"}]
    design = parts(read(tmp_path, draw, layers, release="R12", units="ft"))[0]
    (roof,) = design["building"]["roofs"]
    assert roof["id"] == "R-1"
    assert [parse(h, LENGTH) / FOOT for h in roof["heights"]] == pytest.approx([19, 28, 19, 19, 19])
    assert roof["outline"][1] == ["22 ft", "0"]


def test_floors_walls_edges_posts_and_ground(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_lwpolyline(RECTANGLE, close=True, dxfattribs=on("FLOOR"))
        for a, b in zip(RECTANGLE, RECTANGLE[1:] + RECTANGLE[:1], strict=True):
            msp.add_line(a, b, dxfattribs=on("WALL"))
        msp.add_line((22, 0), (22, 30), dxfattribs=on("WALL"))
        msp.add_lwpolyline([(0, 0), (44, 0)], dxfattribs=on("EDGE"))
        post = doc.blocks.new("POST")
        post.add_circle((0, 0), 0.2)
        msp.add_blockref("POST", (5, 6), dxfattribs=on("POST"))
        msp.add_point((7, 8), dxfattribs=on("POST"))
        for spot in ((0, 0, 96), (44, 0, 94.5), (44, 30, 98), (0, 30, 99)):
            msp.add_point(spot, dxfattribs=on("SPOT"))

    layers = [
        FOOTPRINT,
        {"layer": "FLOOR", "holds": "floor", "level": "main", "id": "F-MAIN"},
        {"layer": "WALL", "holds": "wall", "level": "main", "thickness": "5 1/2 in", "top": "18'-9\""},
        {"layer": "EDGE", "holds": "edge", "level": "main", "edge": "perimeter", "id": "E-SOUTH"},
        {"layer": "POST", "holds": "post places", "level": "slab", "post": "post-18"},
        {"layer": "SPOT", "holds": "grade spots", "id": "yard", "name": "Rear yard"},
    ]
    design, lot = parts(read(tmp_path, draw, layers, datum="100 ft"))
    assert [f["id"] for f in design["building"]["floors"]] == ["F-MAIN"]
    walls = [shapely.LineString(metres(w["path"])).length / FOOT for w in design["building"]["walls"]]
    # the inner wall meets the outer ones within their length: one ring and one wall
    assert sorted(walls) == pytest.approx([30, 148])
    assert [e["path"] for e in design["layout"]["edges"] if e["id"] == "E-SOUTH"] == [
        [["0", "0"], ["44 ft", "0"]]
    ]
    assert sorted(p["at"] for p in design["layout"]["posts"]) == [["5 ft", "6 ft"], ["7 ft", "8 ft"]]
    (ground,) = lot["lower_levels"]
    assert (ground["id"], ground["elevation"]) == ("yard", "-1 ft")
    assert [s["elevation"] for s in ground["spots"]] == ["-4 ft", "-5'-6\"", "-2 ft", "-1 ft"]


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, 135.0])
def test_trusses_from_their_lines(tmp_path: Path, turn: float) -> None:
    """Twelve lines at 24 in, drawn in any direction; the last one twice."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        for k in [*range(12), 11]:
            ends = [(10 + u * c - 2 * k * s, 5 + u * s + 2 * k * c) for u in (0.0, 20.0)]
            msp.add_line(*(ends if k % 2 else ends[::-1]), dxfattribs=on("TRUSS"))

    layer = {"layer": "TRUSS", "holds": "framing", "framing": "trusses", "thickness": "1 1/2 in"}
    imported = read(tmp_path, draw, [FOOTPRINT, layer | {"bottom": "18'-9\"", "top": "26 ft"}])
    (framing,) = parts(imported)[0]["layout"]["framing"]
    assert float(framing["direction"].removesuffix(" deg")) == pytest.approx(turn, abs=1e-6)
    assert parse(framing["spacing"], LENGTH) == pytest.approx(2 * FOOT, abs=1e-8)
    area = shapely.Polygon(metres(framing["area"]))
    assert area.area == pytest.approx(20 * FOOT * (22 * FOOT + 1.5 * INCH), rel=1e-6)
    assert any("12 lines at 24 in" in line for line in imported.report)
    assert any("drawn a second time" in line for line in imported.report)


def test_the_report_tells_what_was_taken_and_what_was_not(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_text("Lot 7", dxfattribs=on("OUTLINE"))
        msp.add_line((0, 0), (1, 1), dxfattribs=on("FURNITURE"))
        hidden = msp.add_line((0, 0), (9, 9), dxfattribs=on("OUTLINE"))
        hidden.dxf.invisible = 1

    report = "\n".join(read(tmp_path, draw, [FOOTPRINT]).report)
    assert 'layer "OUTLINE" as footprint: 1, 1,320.0 sq ft in all' in report
    assert "unit ft (by its header), scale 1" in report
    assert "measures 44'-0\" by 30'-0\"" in report
    assert 'layer "OUTLINE": 1 TEXT: it is no part of the building' in report
    assert 'layer "OUTLINE": 1 LINE: it is invisible in the drawing' in report
    assert 'layer "FURNITURE": 1 LINE: its layer is not under drawing.layers' in report


def test_polylines_that_meet_stay_two_edges_and_lines_become_one(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        for a, b in pairwise(RECTANGLE[:3]):
            msp.add_line(a, b, dxfattribs=on("LINES"))
            msp.add_lwpolyline([a, b], dxfattribs=on("POLYLINES"))

    edge = {"holds": "edge", "level": "main", "edge": "perimeter"}
    for layer, count in (("LINES", 1), ("POLYLINES", 2)):
        layers = [FOOTPRINT, edge | {"layer": layer, "id": f"N-{layer}"}]
        edges = parts(read(tmp_path, draw, layers))[0]["layout"]["edges"]
        assert len(edges) == count
        assert sum(shapely.LineString(metres(e["path"])).length for e in edges) == pytest.approx(74 * FOOT)


def test_what_a_careful_reader_would_want_to_know_is_noted(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        corners = [(0, 0), (44, 0), (44, 30), (0, 30.002), (0, 0.002)]
        msp.add_lwpolyline(corners, dxfattribs=on("OUTLINE"))
        doc.layers.add("HOLES").off()
        block = doc.blocks.new("WELL")
        block.add_lwpolyline([(0, 0), (4, 0), (4, 2), (0, 2)], close=True)
        XClip(msp.add_blockref("WELL", (20, 20), dxfattribs=on("HOLES"))).set_block_clipping_path(
            [(0, 0), (1, 1)]
        )

    report = read(tmp_path, draw, [FOOTPRINT, HOLES]).report
    assert 'note: layer "OUTLINE": ends up to 1/16" apart were joined' in report
    assert 'note: layer "HOLES" is switched off or frozen in the drawing; it was read' in report
    assert '  layer "HOLES": 1 INSERT: the clipping of "WELL": the whole block was read' in report


def test_a_job_that_waits_for_its_drawing(tmp_path: Path) -> None:
    """A job without a footprint can't be used; it can be imported for, and can be used with the part."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)

    layout = {k: v for k, v in job_data()["layout"].items() if k != "footprint"}
    write_dxf(tmp_path, draw)
    drawing = {"file": "plan.dxf", "layers": [FOOTPRINT]}
    job = write_job(tmp_path, drawing, layout=layout)
    with pytest.raises(JobFileError, match=r"layout\.footprint: found nothing"):
        load(job)
    imported = import_drawing(job, tmp_path / "part.yaml")
    assert not any("the job itself" in line for line in imported.report)
    (tmp_path / "part.yaml").write_text(imported.design or "", "utf-8")
    write_job(tmp_path, drawing, layout=layout, extends="part.yaml")
    assert load(job).model.layout.footprint[2] == pytest.approx((44 * FOOT, 30 * FOOT))
    job = write_job(tmp_path, drawing, layout=layout | {"posts": "many"}, people="nobody")
    report = import_drawing(job, tmp_path / "part.yaml").report
    assert "note: the job itself still has 2 problem(s): planforge check lot.yaml lists them" in report


def test_the_parts_load_with_the_job(tmp_path: Path) -> None:
    """The design part under `extends`, the lot part pasted in with how it was located; not the other way."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_circle((20, 25), 1, dxfattribs=on("HOLES"))
        msp.add_line((1, 25), (43, 25), dxfattribs=on("TENDON"))

    layers = [FOOTPRINT, HOLES, TENDONS | {"id": "T-1"}]
    imported = read(tmp_path, draw, layers)
    (tmp_path / "part.yaml").write_text(imported.design or "", "utf-8")
    (tmp_path / "part_lot.yaml").write_text(imported.lot or "", "utf-8")
    job = tmp_path / "lot.yaml"
    drawing = {"file": "plan.dxf", "layers": layers}
    write_job(tmp_path, drawing, extends="part.yaml")
    before = len(load(ROOT / "demo_jobs" / "wren_lot_7.yaml").model.layout.openings)
    assert len(load(job).model.layout.openings) == before + 1
    (content,) = parts(imported)[1]["slab"]["contents"]
    slab = {"kind": "post-tensioned", "contents": [content]}
    write_job(tmp_path, drawing, extends="part.yaml", slab=slab)
    with pytest.raises(Exception, match=r"located_by.*\n.*tolerance"):
        load(job)
    slab["contents"] = [content | {"located_by": "scan", "tolerance": "1/2 in"}]
    write_job(tmp_path, drawing, extends="part.yaml", slab=slab)
    loaded = load(job).model
    assert loaded.slab is not None and loaded.slab.contents is not None
    assert loaded.slab.contents[0].id == "T-1"
    write_job(tmp_path, drawing, extends="part_lot.yaml")
    with pytest.raises(Exception, match=r"slab.contents: found a field of one lot"):
        load(job)


def test_a_long_coil_is_cut_into_parts_that_meet(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        turns = [
            (x, y, b) for k in range(90) for x, y, b in ((1 + k / 4, 1, 0), (1 + k / 4, 20, -1 + 2 * (k % 2)))
        ]
        ends = [(x, y if k % 2 == 0 else 21 - y, b) for n, (x, y, b) in enumerate(turns) for k in [n // 2]]
        msp.add_lwpolyline(ends, format="xyb", dxfattribs=on("COIL"))

    coil = TENDONS | {"layer": "COIL", "content": "radiant tubing", "id": "coil"}
    contents = parts(read(tmp_path, draw, [FOOTPRINT, coil]))[1]["slab"]["contents"]
    assert len(contents) > 1
    assert all(len(c["path"]) <= 400 for c in contents)
    for one, after in pairwise(contents):
        assert one["path"][-1] == after["path"][0]
    assert [c["id"].rpartition("-")[2] for c in contents] == [f"part{n + 1}" for n in range(len(contents))]


def test_what_lies_on_other_layers_is_counted_and_never_worked_out(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_circle((0, 0), 1e12, dxfattribs=on("SITE"))
        msp.add_spline(dxfattribs=on("SITE"))

    report = read(tmp_path, draw, [FOOTPRINT]).report
    assert '  layer "SITE": 1 CIRCLE: its layer is not under drawing.layers' in report
    assert '  layer "SITE": 1 SPLINE: its data make no sense' in report


def test_the_starter_s_drawing_reads() -> None:
    text = (ROOT / "templates" / "starter.yaml").read_text("utf-8")
    block = text[text.index("# drawing:") :].partition("\n\n")[0]
    data = yaml.load(block.replace("# ", "", 1).replace("\n# ", "\n"), yaml.BaseLoader)
    drawing = Drawing.model_validate(data["drawing"])
    assert [layer.holds for layer in drawing.layers] == ["footprint", "opening", "slab content"]


def test_binary_files_and_sheets(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        sheet = doc.layout("Layout1")
        sheet.add_lwpolyline(RECTANGLE, close=True, dxfattribs=on("OUTLINE"))

    imported = read(tmp_path, draw, [FOOTPRINT], header=M, binary=True, space="layout1")
    assert parts(imported)[0]["layout"]["footprint"][2] == ["44 m", "30 m"]


def test_the_same_drawing_gives_the_same_text(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_circle((20, 25), 1, dxfattribs=on("HOLES"))

    one = read(tmp_path, draw, [FOOTPRINT, HOLES])
    again = read(tmp_path, draw, [FOOTPRINT, HOLES])
    lines = [(r.design or "").splitlines() for r in (one, again)]
    assert [line for line in lines[0] if "SHA" not in line] == [
        line for line in lines[1] if "SHA" not in line
    ]
    assert "For plan AF-2026-207 of 2026-11-18" in "\n".join(lines[0])


@settings(deadline=None, max_examples=15)
@given(st.lists(st.floats(2.0, 40.0), min_size=3, max_size=12), st.floats(-6.0, 6.0))
def test_any_star_shaped_outline_comes_through(
    tmp_path_factory: pytest.TempPathFactory, reaches: list[float], turned: float
) -> None:
    count = len(reaches)
    corners = [
        (r * math.cos(2 * math.pi * k / count), r * math.sin(2 * math.pi * k / count))
        for k, r in enumerate(reaches)
    ]
    folder = tmp_path_factory.mktemp("star")

    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    imported = read(folder, draw, [FOOTPRINT], header=M, turned=f"{math.degrees(turned):.9f} deg")
    got = shapely.Polygon(metres(parts(imported)[0]["layout"]["footprint"]))
    true = shapely.Polygon(corners)
    assert got.area == pytest.approx(true.area, rel=1e-7)
    assert got.length == pytest.approx(true.length, rel=1e-7)


@pytest.mark.parametrize(
    ("header", "unit", "metre"),
    [
        (1, "in", 0.0254),
        (2, "ft", 0.3048),
        (4, "mm", 0.001),
        (5, "cm", 0.01),
        (6, "m", 1.0),
        (21, "US survey ft", 1200 / 3937),
    ],
)
def test_every_unit_by_header_and_by_the_job(tmp_path: Path, header: int, unit: str, metre: float) -> None:
    """$INSUNITS by the DXF reference; metres by NIST SP 811, appendix B (the survey foot is 1200/3937 m)."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        corners = [(0, 0), (10 / metre, 0), (10 / metre, 7 / metre)]
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    for how in ({"header": header}, {"header": 0, "units": unit}, {"header": header, "units": unit}):
        imported = read(tmp_path, draw, [FOOTPRINT], **how)
        got = metres(parts(imported)[0]["layout"]["footprint"])
        assert sum(got, ()) == pytest.approx((0, 0, 10, 0, 10, 7), abs=1e-8)
