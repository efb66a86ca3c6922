"""What an import tells on the screen: what it took and ignored, with sizes that show a wrong scale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from planforge.cad.dxf_file import DxfFile
from planforge.cad.harvest import Harvest, Taken
from planforge.cad.outlines import Sheet
from planforge.job.drawing import Drawing
from planforge.units import FOOT, Display


def area_text(display: Display, area: float) -> str:
    """An area in square feet or square metres to 0.1."""
    return f"{area / FOOT**2:,.1f} sq ft" if display.system == "us" else f"{area:,.1f} m²"


def report_lines(
    sheet: Sheet,
    drawing: Drawing,
    dxf: DxfFile,
    harvest: Harvest,
    ignored: Counter[tuple[str, str, str]],
) -> Iterator[str]:
    """Line by line: file, units, extents, what was taken, what was ignored, notes."""
    display, lies = sheet.display, sheet.placing
    by = "stated in the job" if lies.stated else "by its header"
    yield f"{dxf.name}: DXF {dxf.release}, space {drawing.space}, SHA-256 {dxf.sha256[:16]}..."
    yield f"  unit {lies.unit} ({by}), scale {lies.scale:g}, turned {display.angle(lies.turned)}"
    curves, ends = sheet.small(drawing.curve_tolerance), sheet.small(drawing.join)
    yield f"  curves within {curves} of their chords, ends within {ends} joined"
    every = np.concatenate(harvest.points)
    low, high = every.min(axis=0), every.max(axis=0)
    size = " by ".join(display.length(float(v)) for v in high - low)
    corners = " to ".join(
        "[" + ", ".join(display.length(float(v)) for v in corner) + "]" for corner in (low, high)
    )
    yield f"  what was taken measures {size}, from {corners} on the plan: check it against a known dimension"
    yield "taken:"
    for taken in harvest.taken:
        yield f"  {_taken(display, taken)}"
    yield "ignored:" if ignored else "ignored: nothing"
    for (layer, kind, why), count in sorted(ignored.items()):
        yield f'  layer "{layer}": {count} {kind}: {why}'
    for note in dict.fromkeys(sheet.notes):
        yield f"note: {note}"


def _taken(display: Display, taken: Taken) -> str:
    parts = [f'layer "{taken.layer}" as {taken.holds}: {taken.count}']
    if taken.length is not None:
        parts.append(f"{display.feet(taken.length)} long in all")
    if taken.area is not None:
        parts.append(f"{area_text(display, taken.area)} in all")
    return ", ".join([*parts, taken.said] if taken.said else parts)
