"""The layout as DXF: the same bytes, sound by the library's audit, read back to the same coordinates."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml
from ezdxf.document import Drawing as Dxf

from planforge.assess.assessment import Assessment, assess
from planforge.assess.drilling import NO_DRILLING, base_drilling
from planforge.cad import layer_table as layers
from planforge.cad.drawing import GOVERNS, centre_lines, layout_dxf
from planforge.cad.dxf_page import shown
from planforge.cad.importing import import_drawing
from planforge.job.building import Building
from planforge.job.loading import load, merged_text
from planforge.job.model import Job
from planforge.job.site import Spot
from planforge.units import INCH, LENGTH, parse

from .plans import ROOT, ezdxf

LOTS = ("heron_lot_14", "wren_lot_7", "quartz_court_building_2", "linnet_lot_3_trusses")
FINGERPRINT = "0123456789abcdef" * 4


@cache
def job(name: str) -> Job:
    return load(ROOT / "demo_jobs" / f"{name}.yaml").model


@cache
def assessed(name: str) -> Assessment:
    return assess(job(name))


@cache
def drawing(name: str) -> bytes:
    return layout_dxf(assessed(name), FINGERPRINT)


def read_back(data: bytes) -> Dxf:
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def texts(document: Dxf) -> list[str]:
    return [e.dxf.text for e in document.modelspace().query("TEXT")]


def paths_on(document: Dxf, layer: str) -> list[np.ndarray]:
    found = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    return [np.array(list(e.vertices())) for e in found]


@pytest.mark.parametrize("name", LOTS)
def test_it_is_sound_and_says_what_it_is(name: str) -> None:
    document = read_back(drawing(name))
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.dxfversion >= "AC1024"
    plan, said = job(name).plan, texts(document)
    assert f"Fall-protection layout: plan {plan.number}, revision {plan.revision}" in said
    assert any(f"Prepared {plan.prepared.isoformat()}. Fingerprint {FINGERPRINT}" in t for t in said)
    assert all(words in said for words in GOVERNS)
    assert any(t.startswith("DRAFT - NOT FOR USE") for t in said) == assessed(name).draft
    for layer in document.layers:
        assert layer.dxf.name in {"0", "Defpoints"} or layer.description == layers.STYLES[layer.dxf.name].says


def test_units_are_set_and_the_building_is_at_full_size() -> None:
    document = read_back(drawing("heron_lot_14"))
    assert (document.header["$INSUNITS"], document.header["$LUNITS"]) == (1, 4)
    (footprint,) = paths_on(document, layers.FOOTPRINT)
    assert footprint.max(axis=0).tolist() == pytest.approx([480.0, 408.0])
    metric = job("heron_lot_14").model_copy(
        update={"site": job("heron_lot_14").site.model_copy(update={"units": "metric"})}
    )
    document = read_back(layout_dxf(assess(metric), FINGERPRINT))
    assert document.header["$INSUNITS"] == 6
    (footprint,) = paths_on(document, layers.FOOTPRINT)
    assert footprint.max(axis=0).tolist() == pytest.approx([480 * INCH, 408 * INCH])


def test_the_same_bytes_whatever_the_process_and_the_clock(tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from tests.cad.test_drawing import drawing;"
        "Path(sys.argv[1]).write_bytes(drawing('linnet_lot_3_trusses'))"
    )
    for seed in ("1", "2"):
        subprocess.run(
            [sys.executable, "-c", script, str(tmp_path / seed)],
            check=True,
            cwd=ROOT,
            env=dict(os.environ) | {"PYTHONHASHSEED": seed},
        )
    assert (tmp_path / "1").read_bytes() == (tmp_path / "2").read_bytes() == drawing("linnet_lot_3_trusses")


def test_the_header_holds_the_plan_s_date_and_identity() -> None:
    text = drawing("heron_lot_14").decode("utf-8")

    def header(name: str) -> str:
        return text.partition(f"{name}\n")[2].splitlines()[1]

    for name in ("$FINGERPRINTGUID", "$VERSIONGUID"):
        assert header(name) == "{01234567-89AB-CDEF-0123-456789ABCDEF}"
    prepared = job("heron_lot_14").plan.prepared
    # DXF counts Julian days from midnight: 2451544.91568287 is 1999-12-31, 21:58:35 (from memory)
    days = (prepared - prepared.replace(year=2000, month=1, day=1)).days
    for name in ("$TDCREATE", "$TDUPDATE"):
        assert float(header(name)) == 2451545.0 + days


def holes(document: Dxf) -> list[tuple[float, float]]:
    found = document.modelspace().query(f'POINT[layer=="{layers.HOLES}"]')
    return [(e.dxf.location.x * INCH, e.dxf.location.y * INCH) for e in found]


def test_holes_are_those_of_the_bases_that_may_be_drilled() -> None:
    name = "heron_lot_14"
    given = [b.base.holes for b in base_drilling(assessed(name)) if b.drilled]
    assert given
    expected = np.concatenate([h for h in given if h is not None])
    assert np.array(holes(read_back(drawing(name)))) == pytest.approx(expected, abs=1e-9)


def without_scan(name: str) -> Assessment:
    whole = job(name)
    assert whole.slab is not None
    return assess(
        whole.model_copy(update={"slab": whole.slab.model_copy(update={"kind": "unknown", "scan": None})})
    )


def test_where_nobody_drills_no_hole_and_no_plate_is_given() -> None:
    held = without_scan("heron_lot_14")
    assert not any(b.drilled for b in base_drilling(held))
    document = read_back(layout_dxf(held, FINGERPRINT))
    assert layers.HOLES not in document.layers
    assert layers.BASES not in document.layers
    said = texts(document)
    assert any(t.startswith(f"{NO_DRILLING}. ") and t.endswith("No hole is given.") for t in said)
    marked = [t for t in said if t.endswith(f": {NO_DRILLING}")]
    assert len(marked) == len(base_drilling(held))
    # nor is a hole's place a point of anything else that is drawn
    places = np.concatenate([b.base.holes for b in base_drilling(held) if b.base.holes is not None]) / INCH
    for entity in document.modelspace():
        for at in points_of(entity):
            assert np.hypot(*(places - at).T).min() > 1e-3, entity


def points_of(entity: Any) -> list[np.ndarray]:
    match entity.dxftype():
        case "LWPOLYLINE":
            return [np.array(v) for v in entity.vertices()]
        case "LINE":
            return [np.array(entity.dxf.start.xyz[:2]), np.array(entity.dxf.end.xyz[:2])]
        case "CIRCLE":
            return [np.array(entity.dxf.center.xyz[:2])]
        case "POINT":
            return [np.array(entity.dxf.location.xyz[:2])]
        case "TEXT":
            return [np.array(entity.dxf.insert.xyz[:2])]
    return []


def test_one_base_that_is_short_is_held_back_alone() -> None:
    """A drain under one base: its holes are left out, the others stay."""
    whole = job("heron_lot_14")
    assert whole.slab is not None and whole.slab.contents
    post = whole.layout.posts[0]
    drain = whole.slab.contents[0].model_copy(
        update={"id": "under", "path": [(post.at[0] - 1, post.at[1]), (post.at[0] + 1, post.at[1])]}
    )
    slab = whole.slab.model_copy(update={"contents": [*whole.slab.contents, drain]})
    held = assess(whole.model_copy(update={"slab": slab}))
    document = read_back(layout_dxf(held, FINGERPRINT))
    assert any(t.startswith(f"{NO_DRILLING} AT {post.id}: ") for t in texts(document))
    near = [h for h in holes(document) if np.hypot(h[0] - post.at[0], h[1] - post.at[1]) < 0.3]
    assert near == []
    assert len(holes(document)) == 4 * sum(b.drilled for b in base_drilling(held)) > 0


def complete() -> Job:
    """The Heron with floors, a wall, a gable roof and sloping ground besides."""
    whole = job("heron_lot_14")
    outline = [["0", "0"], ["40 ft", "0"], ["40 ft", "34 ft"], ["0", "34 ft"]]
    building = {
        "floors": [{"id": "FL-2", "level": "second", "outline": outline}],
        "walls": [
            {
                "id": "W-1",
                "path": [["0", "3 in"], ["39'-11 1/2\"", "7.123456 m"]],
                "thickness": "5 1/2 in",
                "level": "slab",
                "top": "9 ft",
            }
        ],
        "roofs": [
            {
                "id": "R-1",
                "outline": [["-1 ft", "-1 ft"], ["20 ft", "-1 ft"], ["41 ft", "-1 ft"], ["20 ft", "35 ft"]],
                "heights": ["19 ft", "27'-3 5/16\"", "19 ft", "8.123456789 m"],
            }
        ],
    }
    heights = ([0.0, 0.0, -0.3], [9.0, 1.0, -0.9], [3.0, 8.0, -0.123456])
    spots = [Spot.model_validate({"at": [x, y], "elevation": z}, context={"si": True}) for x, y, z in heights]
    assert whole.lower_levels
    ground = [whole.lower_levels[0].model_copy(update={"spots": spots}), *whole.lower_levels[1:]]
    return whole.model_copy(update={"building": Building.model_validate(building), "lower_levels": ground})


def metres(points: Sequence[Sequence[str]]) -> list[tuple[float, ...]]:
    return [tuple(parse(v, LENGTH) for v in point) for point in points]


def same(got: Sequence[Any], wanted: Sequence[Any]) -> None:
    """The same shapes within a thousandth of a millimetre, in any order of the shapes."""
    assert len(got) == len(wanted)
    remaining = [np.asarray(w, dtype=float) for w in wanted]
    for shape in got:
        near = [
            n
            for n, w in enumerate(remaining)
            if w.shape == np.shape(shape) and np.abs(w - np.asarray(shape)).max() < 1e-6
        ]
        assert near, shape
        remaining.pop(near[0])


def test_what_is_drawn_reads_back_to_the_same_coordinates(tmp_path: Path) -> None:
    whole = complete()
    (tmp_path / "out.dxf").write_bytes(layout_dxf(assess(whole), FINGERPRINT))
    wall = {"level": "slab", "thickness": "5 1/2 in", "top": "9 ft"}
    contents = {c.kind: c for c in (whole.slab.contents if whole.slab else None) or []}
    mapped: list[dict[str, Any]] = [
        {"layer": layers.FOOTPRINT, "holds": "footprint"},
        {"layer": layers.FLOORS, "holds": "floor", "level": "second"},
        {"layer": layers.OPENINGS, "holds": "opening", "level": "second", "opening": "floor hole"},
        {"layer": layers.EDGES, "holds": "edge", "level": "second", "edge": "perimeter"},
        {"layer": layers.WALLS, "holds": "wall", **wall},
        {"layer": layers.ROOFS, "holds": "roof"},
        {"layer": layers.SPOTS, "holds": "grade spots"},
        *(
            {"layer": layers.CONTENTS[kind], "holds": "slab content", "content": kind}
            | ({"fills": True} if c.fills else {"half_width": "1 in"})
            for kind, c in contents.items()
        ),
        *(
            {"layer": layers.FRAMING[f.kind], "holds": "framing", "framing": f.kind}
            | {"thickness": "1 1/2 in", "bottom": "19 ft", "top": "27 ft"}
            for f in whole.layout.framing
        ),
    ]
    data = yaml.load(merged_text(load(ROOT / "demo_jobs" / "heron_lot_14.yaml")), yaml.BaseLoader)
    del data["building"]  # all of it comes from the drawing
    data["drawing"] = {"file": "out.dxf", "layers": mapped, "join": "0"}
    path = tmp_path / "lot.yaml"
    path.write_text(yaml.safe_dump(data), "utf-8")
    imported = import_drawing(path, tmp_path / "part.yaml")
    design, lot = (yaml.load(t or "", yaml.BaseLoader) for t in (imported.design, imported.lot))
    layout, building = design["layout"], design["building"]
    assert whole.building is not None and whole.lower_levels
    same([metres(layout["footprint"])], [whole.layout.footprint])
    same([metres(o["outline"]) for o in layout["openings"]], [o.outline for o in whole.layout.openings])
    same([metres(o["outline"]) for o in building["floors"]], [f.outline for f in whole.building.floors])
    same([metres(o["path"]) for o in building["walls"]], [w.path for w in whole.building.walls])
    same([metres(o["outline"]) for o in building["roofs"]], [r.outline for r in whole.building.roofs])
    heights = [parse(z, LENGTH) for z in building["roofs"][0]["heights"]]
    assert heights == pytest.approx(whole.building.roofs[0].heights, abs=1e-6)
    same([metres(c["path"]) for c in lot["slab"]["contents"]], [c.path for c in contents.values()])
    spots = [(*metres([s["at"]])[0], parse(s["elevation"], LENGTH)) for s in lot["lower_levels"][0]["spots"]]
    same(spots, [(*s.at, s.elevation) for s in whole.lower_levels[0].spots])
    for got, framing in zip(layout["framing"], whole.layout.framing, strict=True):
        assert parse(got["spacing"], LENGTH) == pytest.approx(framing.spacing, abs=1e-6)
        off = (np.array(metres([got["first"]])[0]) - framing.first) @ [
            -np.sin(framing.direction),
            np.cos(framing.direction),
        ]
        assert off / framing.spacing == pytest.approx(round(off / framing.spacing), abs=1e-6)
    same([metres(e["path"]) for e in layout["edges"]], [e.path for e in whole.layout.edges])


def test_posts_lines_and_guys_stand_where_the_job_puts_them() -> None:
    whole, document = job("heron_lot_14"), read_back(drawing("heron_lot_14"))
    space = document.modelspace()
    posts = [np.array(e.dxf.location.xyz[:2]) * INCH for e in space.query(f'POINT[layer=="{layers.POSTS}"]')]
    same(posts, [p.at for p in whole.layout.posts])
    at = {p.id: p.at for p in whole.layout.posts}

    def ends(layer: str) -> list[np.ndarray]:
        found = space.query(f'LINE[layer=="{layer}"]')
        return [np.array([e.dxf.start.xyz[:2], e.dxf.end.xyz[:2]]) * INCH for e in found]

    same(ends(layers.LINES), [(at[line.start], at[line.end]) for line in whole.layout.lines])
    same(ends(layers.GUYS), [(p.at, g.to) for p in whole.layout.posts for g in p.guys])
    names = " ".join(texts(document))
    layout = whole.layout
    for thing in (*layout.edges, *layout.openings, *layout.guardrails, *layout.covers, *layout.zones):
        assert thing.id in names
    for hazard in whole.hazards:
        assert hazard.id in names


def test_bands_of_what_is_in_the_slab_hold_its_width_and_tolerance() -> None:
    """Area of a straight thing's band: 2 b L + pi b² (geometry), b its half width and the tolerance."""
    whole = job("heron_lot_14")
    assert whole.slab is not None
    straight = [c for c in whole.slab.contents or [] if len(c.path) == 2 and not c.fills]
    assert straight
    bands = paths_on(read_back(drawing("heron_lot_14")), layers.BAND)
    areas = [
        0.5 * abs(np.sum(b[:, 0] * np.roll(b[:, 1], -1) - b[:, 1] * np.roll(b[:, 0], -1))) for b in bands
    ]
    for thing in straight:
        off = max(thing.tolerance, whole.slab.scan.tolerance if whole.slab.scan else 0.0) + thing.half_width
        length = np.hypot(*np.diff(thing.path, axis=0)[0])
        wanted = (2 * off * length + np.pi * off**2) / INCH**2
        assert min(abs(a / wanted - 1) for a in areas) < 0.01


def test_centre_lines_keep_to_the_area_and_the_spacing() -> None:
    (framing,) = job("heron_lot_14").layout.framing
    lines = list(centre_lines(framing))
    across = np.array([-np.sin(framing.direction), np.cos(framing.direction)])
    places = sorted(float(start @ across) for start, _ in lines)
    assert np.diff(places) == pytest.approx(framing.spacing)
    low, high = np.min(framing.area, axis=0) - 1e-9, np.max(framing.area, axis=0) + 1e-9
    assert all(np.all((low <= end) & (end <= high)) for line in lines for end in line)


@pytest.mark.parametrize(
    ("written", "drawn"),
    [("50%%d", "50% %d"), ("a^Jb", "a^ Jb"), ("two\nlines", "two lines"), ("\\U+2205", "\\ U+2205")],
)
def test_no_text_of_a_job_is_a_code_of_dxf(written: str, drawn: str) -> None:
    assert shown(written) == drawn
