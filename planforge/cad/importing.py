"""A job's drawing read into a part that the job extends, and a part to paste into the lot's own file.

Nothing is written here: the caller gets both texts and the report, or one error with every problem.
"""

from __future__ import annotations

import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from ezdxf.document import Drawing as DxfDocument
from ezdxf.entities.dxfentity import DXFEntity
from pydantic import ConfigDict, ValidationError

from planforge.cad.chains import Chain
from planforge.cad.dxf_file import DxfFile, read_dxf
from planforge.cad.harvest import Entry, Harvest, Piece
from planforge.cad.import_report import report_lines
from planforge.cad.import_text import design_text, lot_text
from planforge.cad.outlines import Sheet
from planforge.cad.placing import placing
from planforge.cad.problems import DrawingError, drawn
from planforge.cad.strands import Strands, TooMuchError, Unread, strands_of
from planforge.cad.taking import take
from planforge.errors import CalculationError, JobFileError, Problem
from planforge.job.base import Date, JobModel
from planforge.job.consistency import check_consistency
from planforge.job.consistency_drawing import check_drawing
from planforge.job.drawing import Drawing
from planforge.job.extends import gather
from planforge.job.merging import merge
from planforge.job.model import LOT_ONLY, Job
from planforge.job.positions import Locator
from planforge.job.quantities import Elevation
from planforge.job.reading import Loaded, load_model
from planforge.job.remedies import problems_of
from planforge.job.source import read_source
from planforge.job.tree import Mapping, plain
from planforge.job.wording import listed, nearest
from planforge.units import Display

FARTHEST = 1000.0
"""No coordinate of a lot is farther from its origin than this (m)."""
LEAST_SIDE = 2.0
"""A drawing whose longer side is less than this (m) is drawn in other units than it says."""


class _Part(JobModel):
    model_config = ConfigDict(extra="ignore", frozen=True, defer_build=True)


class _Plan(_Part):
    number: str
    prepared: Date


class _Site(_Part):
    units: Literal["us", "metric"] = "us"


class _Layout(_Part):
    levels: dict[str, Elevation]


class ImportingJob(_Part):
    """What an import needs of a job, which may still lack all that the drawing is to give."""

    plan: _Plan
    site: _Site = _Site()
    layout: _Layout
    drawing: Drawing


@dataclass(frozen=True)
class Imported:
    """What came of an import: the texts to write, None where there is nothing, and the report."""

    design: str | None
    lot: str | None
    report: tuple[str, ...]


def import_drawing(path: Path, target: Path) -> Imported:
    """Read the drawing that a job names, for a file ``target`` that the job will extend.

    Raises:
        JobFileError: the job's own part that is needed here has problems.
        DrawingError: the drawing has; every problem is listed.
    """
    loaded = load_model(path, ImportingJob, lot_only=LOT_ONLY, checks=_checks)
    job, drawing = loaded.model, loaded.model.drawing
    dxf = read_dxf(_folder(path, loaded), drawing.file)
    lies = placing(drawing.file, drawing, dxf.document, dxf.release)
    sheet = Sheet(drawing.file, lies, Display(job.site.units), drawing.join)
    sheet.notes += dxf.notes
    strands = _strands(sheet, drawing, dxf.document)
    _sort_lost(sheet, drawing, dxf, strands)
    harvest = Harvest()
    _take_layers(sheet, harvest, drawing, dxf.document, strands)
    _refuse_wrong_size(sheet, harvest)
    _refuse_same_ids(sheet, harvest)
    if sheet.problems:
        raise DrawingError(sheet.problems)
    system = job.site.units
    header = _header(sheet, path, job, dxf)
    design = design_text(harvest, header, system)
    lot = lot_text(harvest, header, system)
    _try(sheet, path, target, (design or "") + (lot_text(harvest, (), system, complete=True) or ""))
    report = report_lines(sheet, drawing, dxf, harvest, _ignored(drawing, strands))
    return Imported(design, lot, tuple(report))


def _checks(job: ImportingJob, locator: Locator) -> Iterator[Problem]:
    yield from check_drawing(job.drawing, locator)
    for number, layer in enumerate(job.drawing.layers):
        if layer.level is not None and layer.level not in job.layout.levels:
            yield locator.problem(
                ("drawing", "layers", number, "level"),
                expected=f"a level under layout.levels: {listed(job.layout.levels)}",
                remedy="Correct it, or add the level.",
            )


def _folder(path: Path, loaded: Loaded[ImportingJob]) -> Path:
    """The folder of the file that names the drawing; messages name files as the user gave them."""
    named = loaded.locator.where(("drawing", "file")).file
    return Path(named).parent if named else path.parent


def _space(drawing: Drawing, document: DxfDocument) -> list[DXFEntity]:
    names = {name.casefold(): name for name in document.layout_names()}
    name = names.get(drawing.space.casefold())
    if name is None:
        found = f'no space "{drawing.space}"'
        raise DrawingError(
            [drawn(drawing.file, found, f"one of {listed(names.values())}", "Correct drawing.space.")]
        )
    return list(document.layout(name))


def _strands(sheet: Sheet, drawing: Drawing, document: DxfDocument) -> Strands:
    tolerance = drawing.curve_tolerance / sheet.placing.factor
    layers = [layer.layer for layer in drawing.layers]
    try:
        return strands_of(document, _space(drawing, document), tolerance, layers)
    except TooMuchError as error:
        expected = "a drawing of one building"
        remedy = "Write only the layers that are needed to a drawing of their own."
        raise DrawingError([drawn(sheet.file, str(error), expected, remedy)]) from None
    except CalculationError as error:
        expected = "a curve of a building's size"
        remedy = "Correct the units or the curve, or state a larger drawing.curve_tolerance."
        raise DrawingError([drawn(sheet.file, str(error), expected, remedy)]) from None


def _take_layers(
    sheet: Sheet, harvest: Harvest, drawing: Drawing, document: DxfDocument, strands: Strands
) -> None:
    pieces: dict[str, list[Piece]] = defaultdict(list)
    for strand in strands.strands:
        off = strand.deviation * sheet.placing.factor
        chain = Chain(sheet.placing(strand.points), strand.closed, (strand.handle,), off)
        pieces[strand.layer.casefold()].append(Piece(strand.kind, chain))
    unread: dict[str, list[Unread]] = defaultdict(list)
    for thing in strands.unread:
        unread[thing.layer.casefold()].append(thing)
    names = {str(layer.dxf.name).casefold(): layer for layer in document.layers}
    for wanted in drawing.layers:
        key = wanted.layer.casefold()
        for thing in unread.get(key, ()):
            _refuse_unread(sheet, thing)
        if key in names and (names[key].is_off() or names[key].is_frozen()):
            sheet.notes.append(
                f'layer "{wanted.layer}" is switched off or frozen in the drawing; it was read'
            )
        if key in pieces:
            take(sheet, harvest, wanted, pieces[key])
        elif key not in unread:
            _refuse_missing(sheet, wanted.layer, _layer_names(document, strands), known=key in names)


def _sort_lost(sheet: Sheet, drawing: Drawing, dxf: DxfFile, strands: Strands) -> None:
    """What an audit drops is a problem on a layer of the map, and where it may come to lie on one."""
    mapped = {"0", *(layer.layer.casefold() for layer in drawing.layers)}
    for thing in dxf.lost:
        if thing.layer.casefold() in mapped or thing.kind == "INSERT":
            expected = "a thing whose data make sense: an audit drops it"
            remedy = "Correct or delete it in the CAD program."
            sheet.refuse(thing.layer, thing.handle, thing.kind, expected, remedy)
        else:
            strands.ignored[thing.layer, thing.kind, "its data make no sense"] += 1


def _refuse_unread(sheet: Sheet, thing: Unread) -> None:
    sheet.refuse(
        thing.layer,
        thing.handle,
        f"{thing.kind}: {thing.why}",
        "lines, polylines, arcs, circles, ellipses, splines, points, blocks and plain hatches",
        "Explode it, trace it, or move it to a layer that is not read.",
    )


def _layer_names(document: DxfDocument, strands: Strands) -> list[str]:
    """Every layer of the drawing, whether it is in its table or only drawn on."""
    drawn_on = [layer for layer, _, _ in strands.ignored] + [strand.layer for strand in strands.strands]
    return list(dict.fromkeys([*(str(layer.dxf.name) for layer in document.layers), *drawn_on]))


def _refuse_missing(sheet: Sheet, layer: str, names: list[str], *, known: bool) -> None:
    near = nearest(layer, names)
    say = f'Did you mean "{near}"? ' if near and not known else ""
    found = "a layer on which nothing is drawn in this space" if known else "no such layer"
    expected = "every layer under drawing.layers"
    sheet.refuse(layer, "", found, expected, f"{say}Correct drawing.layers or drawing.space.")


def _ignored(drawing: Drawing, strands: Strands) -> Counter[tuple[str, str, str]]:
    """What was ignored, by layer, DXF name and why; blocks that can't be followed lie on any layer."""
    mapped = {layer.layer.casefold() for layer in drawing.layers}
    found = Counter(strands.ignored)
    for thing in strands.unread:
        if thing.layer.casefold() not in mapped:
            found[thing.layer, thing.kind, thing.why] += 1
    return found


def _refuse_wrong_size(sheet: Sheet, harvest: Harvest) -> None:
    if not harvest.points:
        return
    every = np.concatenate(harvest.points)
    low, high = every.min(axis=0), every.max(axis=0)
    show = sheet.display.length
    size = f"{show(float(high[0] - low[0]))} by {show(float(high[1] - low[1]))}"
    by = f"with {sheet.placing.unit} as its unit and scale {sheet.placing.scale:g}"
    if float((high - low).max()) < LEAST_SIDE:
        sheet.refuse(
            "",
            "",
            f"a drawing of {size} {by}",
            "a building",
            "Correct drawing.scale, or drawing.units where the drawing has none.",
        )
    elif float(np.abs(every).max()) > FARTHEST:
        spread = float((high - low).max())
        corner = sheet.placing.in_drawing(low)
        remedy = (
            "The units or the scale are wrong."
            if spread > FARTHEST
            else "State the drawing's point that is the plan's origin as drawing.base_point; its lower left "
            f"corner is at {corner}."
        )
        reach = f"{size}, up to {show(float(np.abs(every).max()))} from the plan's origin, {by}"
        sheet.refuse("", "", reach, "coordinates within 3,280 ft (1,000 m) of the plan's origin", remedy)


def _refuse_same_ids(sheet: Sheet, harvest: Harvest) -> None:
    groups: list[list[Entry]] = [*harvest.parts.values(), *harvest.lot.values()]
    seen = Counter(str(entry.fields["id"]) for group in groups for entry in group)
    for name, count in seen.items():
        if count > 1:
            found = f'the id "{name}" for {count} things'
            sheet.refuse("", "", found, "an id each", "Give the layers under drawing.layers other ids.")
    for name, group in (("footprint", harvest.footprint), ("slab", harvest.slab)):
        if len(group) > 1:
            found, remedy = f"{len(group)} layers that hold {name}", "Leave one of them."
            sheet.refuse("", "", found, f"one {name}", remedy)


def _header(sheet: Sheet, path: Path, job: ImportingJob, dxf: DxfFile) -> tuple[str, ...]:
    drawing, lies = job.drawing, sheet.placing
    base = ", ".join(f"{v:.9g} m" for v in drawing.base_point)
    at = ", ".join(f"{v:.9g} m" for v in drawing.at)
    by = "by drawing.units" if lies.stated else "by the drawing's header"
    return (
        f"Read by planforge from {' '.join(drawing.file.split())}, DXF {dxf.release}, space {drawing.space}.",
        f"SHA-256 of that file: {dxf.sha256}",
        f"Unit: {lies.unit}, {by}; scale {lies.scale:g}. Its point [{base}] lies at [{at}], "
        f"turned {sheet.display.angle(drawing.turned)}.",
        f"Chords lie within {sheet.small(drawing.curve_tolerance)} of their curves; openings and what is in "
        "the slab err outward by that, the slab's edge inward.",
        f"Ends within {sheet.small(drawing.join)} were joined; a point within 1 mm of another was left out.",
        "No length was rounded by more than 0.000001 mm. An id ends in the handle in the drawing.",
        f"For plan {' '.join(job.plan.number.split())} of {job.plan.prepared.isoformat()} ({path.name}).",
    )


def _try(sheet: Sheet, path: Path, target: Path, text: str) -> None:
    """Lay the part under the job and read both; what is wrong only with the part is the drawing's fault."""
    name = str(target)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "part.yaml"
        file.write_text(text, "utf-8")
        try:
            part, problems = read_source(file, name)
        except JobFileError as error:  # too long for one file: all else was written by planforge itself
            remedy = "Name fewer layers under drawing.layers, or state a larger drawing.curve_tolerance."
            found = error.problems[0].found
            raise DrawingError([drawn(sheet.file, found, error.problems[0].expected, remedy)]) from None
    gathered = gather(path, LOT_ONLY)
    before, sound = _problems(gathered.root, complete=gathered.complete)
    root = merge(part.root, gathered.root, problems)
    together, _ = _problems(root, complete=gathered.complete)
    added = [p for p in [*problems, *together] if p not in before]
    # of a job that can't be read without the drawing, nobody knows what else was wrong with it before
    own = added if sound else [p for p in added if p.file == name]
    if own:
        raise DrawingError(own)
    if together:
        sheet.notes.append(
            f"the job itself still has {len(together)} problem(s): planforge check {path.name} lists them"
        )


def _problems(root: Mapping, *, complete: bool) -> tuple[list[Problem], bool]:
    """Every problem of a merged job, and whether each field by itself is right."""
    locator = Locator(root)
    try:
        job = Job.model_validate(plain(root))
    except ValidationError as error:
        return problems_of(error, Job, locator, complete=complete), False
    return check_consistency(job, locator), True
