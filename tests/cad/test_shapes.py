"""Every kind of shape in a drawing: outlines, curves, blocks, hatches, old polylines; which way each errs."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import shapely
from ezdxf.document import Drawing as Dxf
from ezdxf.layouts import Modelspace
from hypothesis import given, settings
from hypothesis import strategies as st

from planforge.units import FOOT, INCH, LENGTH, parse

from .plans import FOOTPRINT, HOLES, RECTANGLE, TENDONS, M, metres, on, outline, parts, read


def hole(imported: Any) -> shapely.Polygon:
    (opening,) = parts(imported)[0]["layout"]["openings"]
    return shapely.Polygon(metres(opening["outline"]))


def test_an_outline_of_lines_in_any_order(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        for a, b in ((2, 1), (3, 0), (0, 1), (2, 3)):
            msp.add_line(RECTANGLE[a], RECTANGLE[b], dxfattribs=on("OUTLINE"))

    got = metres(parts(read(tmp_path, draw, [FOOTPRINT]))[0]["layout"]["footprint"])
    assert shapely.Polygon(got).equals(shapely.Polygon([(x * FOOT, y * FOOT) for x, y in RECTANGLE]))


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
