"""What a drawing can have wrong: each is refused with file, layer, handle, place and remedy."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from ezdxf.document import Drawing as Dxf
from ezdxf.layouts import Modelspace

from planforge.cad import dxf_file, strands
from planforge.cad.importing import import_drawing
from planforge.cad.problems import DrawingError
from planforge.errors import JobFileError

from .plans import FOOTPRINT, HOLES, IN, RECTANGLE, TENDONS, M, on, outline, read, write_dxf, write_job


def refused(folder: Path, draw: Any, layers: list[dict[str, Any]], **more: Any) -> str:
    with pytest.raises(DrawingError) as caught:
        read(folder, draw, layers, **more)
    assert all(p.file and p.remedy.endswith(".") for p in caught.value.problems)
    return str(caught.value)


def only_outline(_: Dxf, msp: Modelspace) -> None:
    outline(msp)


def refused_file(folder: Path, name: str, content: bytes | None = None) -> str:
    if content is not None:
        (folder / name).write_bytes(content)
    job = write_job(folder, {"file": name, "layers": [FOOTPRINT], "units": "ft"})
    with pytest.raises(DrawingError) as caught:
        import_drawing(job, folder / "part.yaml")
    return str(caught.value)


def test_an_open_outline_tells_the_gap_and_where(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_lwpolyline([(44, 30), (0, 30), (0, 0), (44, 0), (44, 29.5)], dxfattribs=on("OUTLINE"))

    said = refused(tmp_path, draw, [FOOTPRINT])
    assert re.search(
        r'plan.dxf: layer "OUTLINE" handle \w+: found an outline that is open: a gap of 6"', said
    )
    assert "from x 44, y 29.5 of the drawing to x 44, y 30 of the drawing" in said
    assert "drawing.join" in said
    read(tmp_path, draw, [FOOTPRINT], join="6 in")


def test_an_outline_that_crosses_itself_tells_where(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        corners = [(0, 0), (44, 30), (44, 0), (0, 30)]
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    said = refused(tmp_path, draw, [FOOTPRINT], base_point=["7 ft", "2 ft"], turned="30 deg")
    assert "an outline that meets itself at x 22, y 15 of the drawing" in said


def test_a_fork_in_an_outline(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        for a, b in zip(RECTANGLE, RECTANGLE[1:] + RECTANGLE[:1], strict=True):
            msp.add_line(a, b, dxfattribs=on("OUTLINE"))
        msp.add_line((44, 30), (50, 30), dxfattribs=on("OUTLINE"))

    assert "3 ends that meet at x 44, y 30 of the drawing" in refused(tmp_path, draw, [FOOTPRINT])


def test_two_footprints(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_circle((60, 10), 5, dxfattribs=on("OUTLINE"))

    assert "2 outlines (handles" in refused(tmp_path, draw, [FOOTPRINT])


@pytest.mark.parametrize(
    ("header", "stated", "words"),
    [
        (0, None, "does not say its units ($INSUNITS is 0 or absent)"),
        (IN, "ft", "in by the drawing's header and ft by drawing.units"),
        (3, None, "the unit number 3 in its header"),
        (3, "ft", "the unit number 3 in its header"),
    ],
)
def test_units_that_are_not_clear(tmp_path: Path, header: int, stated: str | None, words: str) -> None:
    more = {"units": stated} if stated else {}
    said = refused(tmp_path, only_outline, [FOOTPRINT], header=header, **more)
    assert words in said
    assert "drawing.units" in said


def test_units_may_be_stated_where_the_file_has_none_or_the_same(tmp_path: Path) -> None:
    for header in (0, IN):
        imported = read(tmp_path, only_outline, [FOOTPRINT], header=header, units="in", scale="12")
        assert "[[0, 0], [44 ft, 0]" in (imported.design or "")


def test_r12_has_no_units(tmp_path: Path) -> None:
    assert "does not say its units" in refused(tmp_path, only_outline, [FOOTPRINT], release="R12")


def test_a_wrong_unit_shows_in_the_size(tmp_path: Path) -> None:
    assert "a drawing of 3'-8\" by 2'-6\" with in as its unit" in refused(
        tmp_path, only_outline, [FOOTPRINT], header=IN
    )

    def far(_: Dxf, msp: Modelspace) -> None:
        corners = [(x + 2e6, y + 7e5) for x, y in RECTANGLE]
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    said = refused(tmp_path, far, [FOOTPRINT])
    assert "from the plan's origin" in said
    assert "drawing.base_point; its lower left corner is at x 2e+06, y 700000 of the drawing" in said
    read(tmp_path, far, [FOOTPRINT], base_point=["2000000 ft", "700000 ft"])


def test_a_layer_that_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    said = refused(tmp_path, only_outline, [{"layer": "OUTLIN", "holds": "footprint"}])
    assert 'layer "OUTLIN": found no such layer' in said
    assert 'Did you mean "OUTLINE"?' in said


def test_a_layer_with_nothing_on_it(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        doc.layers.add("TENDON")

    assert 'layer "TENDON": found a layer on which nothing is drawn' in refused(
        tmp_path, draw, [FOOTPRINT, TENDONS]
    )


def test_what_can_t_be_read_on_a_layer_of_the_map_is_never_dropped(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_line((0, 5), (44, 5), dxfattribs=on("TENDON"))
        msp.add_3dface([(0, 0), (1, 0), (1, 1), (0, 1)], dxfattribs=on("TENDON"))
        msp.add_3dface([(0, 0), (1, 0), (1, 1), (0, 1)], dxfattribs=on("OTHER"))

    said = refused(tmp_path, draw, [FOOTPRINT, TENDONS])
    assert said.count("3DFACE: a kind of thing that is not read") == 1
    assert 'layer "TENDON"' in said
    assert any("3DFACE" in line for line in read(tmp_path, draw, [FOOTPRINT]).report)


def test_a_thing_whose_data_make_no_sense(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_line((0, 5), (44, 5), dxfattribs=on("TENDON"))
        spline = msp.add_spline(dxfattribs=on("TENDON"))
        spline.control_points = [(0, 0, 0), (5, 5, 0)]
        spline.dxf.degree = 3

    said = refused(tmp_path, draw, [FOOTPRINT, TENDONS])
    assert re.search(r'layer "TENDON" handle \w+: found SPLINE;', said)
    assert "an audit drops it" in said


def test_a_curve_beyond_belief(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_circle((0, 0), 1e12, dxfattribs=on("OUTLINE"))

    assert "points to keep within the tolerance" in refused(tmp_path, draw, [FOOTPRINT])


def test_an_external_drawing_is_named(tmp_path: Path) -> None:
    def draw(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        doc.add_xref_def("other.dxf", "OTHER")
        msp.add_blockref("OTHER", (0, 0), dxfattribs=on("0"))

    report = read(tmp_path, draw, [FOOTPRINT]).report
    assert any('"OTHER" is an external drawing, which is not in the file: bind it' in r for r in report)


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ([0, 2, 4, 7, 9], "a line out of the row's spacing, 3'-0\""),
        ([0], "one line, from which no spacing follows"),
    ],
)
def test_irregular_trusses(tmp_path: Path, places: list[float], words: str) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        for x in places:
            msp.add_line((x, 0), (x, 30), dxfattribs=on("TRUSS"))

    layer = {"layer": "TRUSS", "holds": "framing", "framing": "trusses", "thickness": "1 1/2 in"}
    said = refused(tmp_path, draw, [FOOTPRINT, layer | {"bottom": "18 ft", "top": "26 ft"}])
    assert words in said


def test_trusses_out_of_parallel(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        for x, skew in ((0, 0), (2, 0.05), (4, 0)):
            msp.add_line((x, 0), (x + skew, 30), dxfattribs=on("TRUSS"))

    layer = {"layer": "TRUSS", "holds": "framing", "framing": "trusses", "thickness": "1 1/2 in"}
    said = refused(tmp_path, draw, [FOOTPRINT, layer | {"bottom": "18 ft", "top": "26 ft"}])
    assert "a line out of parallel with the others" in said


def test_ground_and_roofs_without_heights(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_lwpolyline(RECTANGLE, close=True, dxfattribs=on("ROOF"))
        for spot in RECTANGLE:
            msp.add_point(spot, dxfattribs=on("SPOT"))

    layers = [FOOTPRINT, {"layer": "ROOF", "holds": "roof"}, {"layer": "SPOT", "holds": "grade spots"}]
    said = refused(tmp_path, draw, layers)
    assert "a roof drawn flat at height 0" in said
    assert "spots that all lie at height 0" in said
    read(tmp_path, draw, [FOOTPRINT, {"layer": "ROOF", "holds": "roof", "elevation": "19 ft"}])


def test_too_many_points_of_one_outline(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_circle((0, 0), 400, dxfattribs=on("OUTLINE"))

    said = refused(tmp_path, draw, [FOOTPRINT])
    assert re.search(r"an outline of \d+ points; expected at most 400", said)
    assert "drawing.curve_tolerance" in said
    read(tmp_path, draw, [FOOTPRINT], curve_tolerance="1 in")


def test_more_than_a_job_file_holds(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        for n in range(300):
            msp.add_circle((1.5 + n % 20, 1.5 + n // 20), 0.4, dxfattribs=on("HOLES"))

    said = refused(tmp_path, draw, [FOOTPRINT, HOLES], curve_tolerance="0.1 mm")
    assert "more than 50,000 values" in said
    assert "Name fewer layers" in said


def test_blocks_within_themselves_and_beyond_belief(tmp_path: Path) -> None:
    def bomb(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        before = doc.blocks.new("B0")
        before.add_line((0, 0), (1, 1))
        for level in range(1, 6):
            block = doc.blocks.new(f"B{level}")
            for n in range(25):
                block.add_blockref(f"B{level - 1}", (n, 0))
        msp.add_blockref("B5", (0, 0))

    assert f"more than {strands.MAX_ENTITIES:,} things once its blocks are taken apart" in refused(
        tmp_path, bomb, [FOOTPRINT]
    )

    def rows(doc: Dxf, msp: Modelspace) -> None:
        outline(msp)
        doc.blocks.new("B").add_line((0, 0), (1, 1))
        grid = {"row_count": 30000, "column_count": 30000, "row_spacing": 1.0, "column_spacing": 1.0}
        msp.add_blockref("B", (0, 0), dxfattribs=grid)

    assert "taken apart" in refused(tmp_path, rows, [FOOTPRINT])


def test_an_id_or_an_outline_for_two(tmp_path: Path) -> None:
    handles = []

    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_lwpolyline(RECTANGLE, close=True, dxfattribs=on("OUTLINE-2"))
        handles.append(msp.add_line((0, 5), (44, 5), dxfattribs=on("TENDON")).dxf.handle)
        msp.add_line((0, 7), (44, 7), dxfattribs=on("TENDON"))
        msp.add_line((0, 9), (44, 9), dxfattribs=on("PIPE"))

    write_dxf(tmp_path, draw)
    name = f"C-{handles[0]}"
    pipe = TENDONS | {"layer": "PIPE", "content": "plumbing", "id": name}
    said = refused(tmp_path, draw, [FOOTPRINT, FOOTPRINT | {"layer": "OUTLINE-2"}, TENDONS, pipe])
    assert f'the id "{name}" for 2 things' in said
    assert "2 layers that hold footprint" in said


def test_what_the_job_would_refuse_is_refused_before_it_is_written(tmp_path: Path) -> None:
    """An id that the job gives to another thing already."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        outline(msp)
        msp.add_circle((20, 25), 1, dxfattribs=on("HOLES"))

    said = refused(tmp_path, draw, [FOOTPRINT, HOLES | {"id": "P1"}])
    assert '"P1"' in said
    assert "Give one of the two another id" in said


def test_paths_that_lead_elsewhere(tmp_path: Path) -> None:
    inside = tmp_path / "job"
    inside.mkdir()
    write_dxf(tmp_path, only_outline)
    assert "a path that leads outside" in refused_file(inside, "../plan.dxf")
    assert "a path that is not relative" in refused_file(inside, str(tmp_path / "plan.dxf"))
    (inside / "link.dxf").symlink_to(tmp_path / "plan.dxf")
    assert "a path that leads outside" in refused_file(inside, "link.dxf")
    assert "no file of this name" in refused_file(inside, "other.dxf")
    (inside / "folder.dxf").mkdir()
    assert "no ordinary file" in refused_file(inside, "folder.dxf")


def test_files_of_other_forms(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "a DWG file" in refused_file(tmp_path, "a.dxf", b"AC1032\x00\x00\x00")
    assert "does not begin as DXF does" in refused_file(tmp_path, "b.dxf", b"%PDF-1.7\n")
    assert "does not begin as DXF does" in refused_file(tmp_path, "c.dxf", b"")
    sound = write_dxf(tmp_path, only_outline).read_bytes()
    assert "the version AC1099" in refused_file(tmp_path, "d.dxf", sound.replace(b"AC1024", b"AC1099"))
    assert "the version AC1006" in refused_file(tmp_path, "d.dxf", sound.replace(b"AC1024", b"AC1006"))
    monkeypatch.setattr(dxf_file, "MAX_BYTES", 1 << 10)
    assert "more than 0 MiB" in refused_file(tmp_path, "plan.dxf")


@pytest.mark.parametrize("binary", [False, True])
def test_damaged_files(tmp_path: Path, binary: bool) -> None:
    sound = write_dxf(tmp_path, only_outline, binary=binary).read_bytes()
    for cut in (0.3, 0.5, 0.7, 0.9):
        said = refused_file(tmp_path, "cut.dxf", sound[: int(len(sound) * cut)])
        assert "cut.dxf" in said
    if not binary:
        broken = sound.replace(b"\nAcDbPolyline\n 90\n4\n", b"\nAcDbPolyline\n 90\nfour\n")
        assert broken != sound
        assert "a damaged file" in refused_file(tmp_path, "broken.dxf", broken)


def test_no_space_of_that_name(tmp_path: Path) -> None:
    assert 'no space "A-101"; expected one of Model or Layout1' in refused(
        tmp_path, only_outline, [FOOTPRINT], space="A-101", header=M
    )


@pytest.mark.parametrize(
    ("layer", "words"),
    [
        ({"layer": "W", "holds": "wall", "level": "main", "top": "9 ft"}, "found nothing under thickness"),
        ({"layer": "F", "holds": "footprint", "level": "main"}, "drawing.layers[0].level"),
        ({"layer": "F", "holds": "floor", "level": "attic"}, "a level under layout.levels"),
        ({"layer": "F", "holds": "flor", "level": "main"}, 'Did you mean "floor"?'),
        ({"layer": "T", "holds": "slab content", "content": "tendon"}, "nothing under half_width"),
    ],
)
def test_layers_that_do_not_say_enough_or_too_much(tmp_path: Path, layer: dict[str, str], words: str) -> None:
    write_dxf(tmp_path, only_outline)
    job = write_job(tmp_path, {"file": "plan.dxf", "layers": [layer]})
    with pytest.raises(JobFileError) as caught:
        import_drawing(job, tmp_path / "part.yaml")
    assert words in str(caught.value)
    assert "lot.yaml:" in str(caught.value)


def test_a_layer_twice_in_the_map(tmp_path: Path) -> None:
    write_dxf(tmp_path, only_outline)
    slab = {"layer": "outline", "holds": "slab"}
    job = write_job(tmp_path, {"file": "plan.dxf", "layers": [FOOTPRINT, slab]})
    with pytest.raises(JobFileError, match="a second time"):
        import_drawing(job, tmp_path / "part.yaml")


def test_a_job_without_a_drawing(tmp_path: Path) -> None:
    job = write_job(tmp_path, {"file": "plan.dxf", "layers": [FOOTPRINT]})
    job.write_text(job.read_text("utf-8").partition("drawing:")[0], "utf-8")
    with pytest.raises(JobFileError, match="drawing: found nothing"):
        import_drawing(job, tmp_path / "part.yaml")


def test_faults_of_fields_and_across_layers_are_told_in_one_run(tmp_path: Path) -> None:
    write_dxf(tmp_path, only_outline)
    layers = [
        {"layer": "F", "holds": "floor", "level": "attic"},
        {"layer": "G", "holds": "flor", "level": "main"},
    ]
    job = write_job(tmp_path, {"file": "plan.dxf", "layers": layers})
    with pytest.raises(JobFileError) as caught:
        import_drawing(job, tmp_path / "part.yaml")
    fields = [problem.field for problem in caught.value.problems]
    assert fields == ["drawing.layers[0].level", "drawing.layers[1].holds"]
