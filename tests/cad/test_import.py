"""Drawings read into parts of a job: every kind of thing, the report, and the job that takes the parts."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
import yaml
from ezdxf.document import Drawing as Dxf
from ezdxf.layouts import Modelspace
from ezdxf.xclip import XClip

from planforge.cad.importing import import_drawing
from planforge.errors import JobFileError
from planforge.job.drawing import Drawing
from planforge.job.loading import load
from planforge.units import FOOT, INCH, LENGTH, parse

from .plans import (
    FOOTPRINT,
    HOLES,
    RECTANGLE,
    ROOT,
    TENDONS,
    M,
    job_data,
    metres,
    on,
    outline,
    parts,
    read,
    write_dxf,
    write_job,
)


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
