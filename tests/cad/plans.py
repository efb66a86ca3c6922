"""Drawings made with ezdxf and jobs that name them, for the tests of reading and writing DXF."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import yaml

import planforge.cad  # first: it keeps the library out of the home  # noqa: F401

import ezdxf  # isort: skip
from ezdxf.document import Drawing as Dxf
from ezdxf.layouts import Modelspace

from planforge.cad.importing import Imported, import_drawing
from planforge.job.loading import load, merged_text
from planforge.units import LENGTH, parse

ROOT = Path(__file__).resolve().parents[2]
IN, FT, M = 1, 2, 6
"""$INSUNITS of the DXF reference."""
RECTANGLE = [(0, 0), (44, 0), (44, 30), (0, 30)]
FOOTPRINT = {"layer": "OUTLINE", "holds": "footprint"}
HOLES = {"layer": "HOLES", "holds": "opening", "level": "main", "opening": "floor hole"}
TENDONS = {"layer": "TENDON", "holds": "slab content", "content": "tendon", "half_width": "1/2 in"}


_LOADER: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
_DUMPER: Any = getattr(yaml, "CSafeDumper", yaml.SafeDumper)


@cache
def _lot() -> str:
    return merged_text(load(ROOT / "demo_jobs" / "wren_lot_7.yaml"))


def job_data() -> dict[str, Any]:
    """A whole, sound job as plain data."""
    data: dict[str, Any] = yaml.load(_lot(), _LOADER)
    return data


def write_job(folder: Path, drawing: dict[str, Any], **changes: Any) -> Path:
    """Write a job that names a drawing; ``changes`` replace whole parts."""
    path = folder / "lot.yaml"
    text = yaml.dump(job_data() | {"drawing": drawing} | changes, Dumper=_DUMPER, sort_keys=False)
    path.write_text(text, "utf-8")
    return path


def write_dxf(
    folder: Path,
    draw: Callable[[Dxf, Modelspace], None],
    units: int = FT,
    release: str = "R2010",
    binary: bool = False,
) -> Path:
    """Write a drawing made by ``draw``."""
    document = ezdxf.new(release)
    if release != "R12":
        document.header["$INSUNITS"] = units
    draw(document, document.modelspace())
    path = folder / "plan.dxf"
    document.saveas(path, fmt="bin" if binary else "asc")
    return path


def read(
    folder: Path,
    draw: Callable[[Dxf, Modelspace], None],
    layers: list[dict[str, Any]],
    *,
    header: int = FT,
    release: str = "R2010",
    binary: bool = False,
    **drawing: Any,
) -> Imported:
    """Make a drawing and a job and import it."""
    write_dxf(folder, draw, header, release, binary)
    job = write_job(folder, {"file": "plan.dxf", "layers": layers, **drawing})
    return import_drawing(job, folder / "part.yaml")


def parts(imported: Imported) -> tuple[dict[str, Any], dict[str, Any]]:
    """Both texts as plain data."""
    return tuple(yaml.load(text or "{}", _LOADER) for text in (imported.design, imported.lot))  # type: ignore[return-value]


def on(layer: str, **more: Any) -> dict[str, Any]:
    """The attributes of a thing on a layer."""
    return {"layer": layer} | more


def outline(msp: Modelspace) -> None:
    """Draw the rectangle of 44 by 30."""
    if msp.doc is not None and msp.doc.dxfversion == "AC1009":
        msp.add_polyline2d(RECTANGLE, close=True, dxfattribs=on("OUTLINE"))
    else:
        msp.add_lwpolyline(RECTANGLE, close=True, dxfattribs=on("OUTLINE"))


def metres(points: list[list[str]]) -> list[tuple[float, float]]:
    """Corners as a part of a job states them, m."""
    return [(parse(x, LENGTH), parse(y, LENGTH)) for x, y in points]
