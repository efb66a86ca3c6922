"""What each layer holds, as entries of a job: footprint, slab, openings, walls and the rest.

Lengths in m and angles in radians; they are printed where the file is written. What belongs to the design and
what belongs to one lot are kept apart.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import shapely

from planforge.cad.chains import Chain, apart, join, sorted_out
from planforge.cad.framing_lines import Irregular, row_of
from planforge.cad.harvest import Angle, Entry, Harvest, Piece, Taken
from planforge.cad.outlines import Sheet, note_joined, note_left_out, outlines, paths, widened
from planforge.calc.arrays import Array
from planforge.job.drawing import DrawingLayer

_POLYLINES = ("LWPOLYLINE", "POLYLINE")

LETTERS = {
    "floor": "F",
    "opening": "O",
    "wall": "W",
    "roof": "R",
    "edge": "E",
    "slab content": "C",
    "framing": "FR",
    "grade spots": "grade",
    "post places": "P",
}
"""How ids begin where the layer states none."""


def take(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    """Take one layer's pieces into the harvest; what is wrong joins the sheet's problems."""
    before = len(sheet.problems)
    _TAKERS[layer.holds](sheet, harvest, layer, pieces)
    if len(sheet.problems) == before and (not harvest.taken or harvest.taken[-1].layer != layer.layer):
        sheet.refuse(
            layer.layer,
            "",
            f"nothing that could be {layer.holds}",
            f"what its entry under drawing.layers says, {layer.holds}",
            "Correct the entry, or draw it there.",
        )


def _lines(sheet: Sheet, layer: DrawingLayer, pieces: Sequence[Piece], *, flat: bool = True) -> list[Chain]:
    """The pieces that have a length; ``flat`` lays them in the plan, whatever height they are drawn at."""
    chains = [p.chain for p in pieces if p.kind not in ("POINT", "INSERT")]
    points = sum(1 for p in pieces if p.kind == "POINT")
    if points:
        sheet.notes.append(f'layer "{layer.layer}": {points} point(s) left out, which are no {layer.holds}')
    return [_flat(c) for c in chains] if flat else chains


def _flat(chain: Chain) -> Chain:
    points = chain.points * np.array([1.0, 1.0, 0.0])
    return Chain(points, chain.closed, chain.handles, chain.deviation, chain.moved)


def _id(layer: DrawingLayer, handle: str, *, alone: bool) -> str:
    """The stated id where there is one thing, else a beginning and the handle: it stays when others come."""
    if layer.id is not None and alone:
        return layer.id
    return f"{layer.id or LETTERS[layer.holds]}-{handle}"


def _plan(points: Array) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in points[:, :2]]


def _areas(shapes: Sequence[Array]) -> float:
    return float(sum(shapely.Polygon(s[:, :2]).area for s in shapes))


def _closed(sheet: Sheet, layer: DrawingLayer, pieces: Sequence[Piece], *, flat: bool = True) -> list[Chain]:
    joined = join(_lines(sheet, layer, pieces, flat=flat), sheet.join)
    note_joined(sheet, layer.layer, joined)
    return outlines(sheet, layer.layer, joined)


def _one_outline(
    sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece], way: float
) -> list[Entry]:
    chains = _closed(sheet, layer, pieces)
    if len(chains) > 1:
        sheet.refuse(
            layer.layer,
            chains[1].handle,
            f"{len(chains)} outlines (handles {', '.join(c.handle for c in chains)})",
            f"one outline for the {layer.holds}",
            "Leave one, and move the others to layers of their own.",
        )
        return []
    shapes = [widened(sheet, layer.layer, c, way) if way else c.points for c in chains]
    for shape in shapes:
        harvest.taken.append(Taken(layer.layer, layer.holds, 1, area=_areas([shape])))
        harvest.points.append(shape[:, :2])
    return [Entry({"": _plan(s)}, _drawn_as(c)) for c, s in zip(chains, shapes, strict=True)]


def _drawn_as(chain: Chain) -> str:
    more = f" and {len(chain.handles) - 1} more" if len(chain.handles) > 1 else ""
    return f"handle {chain.handle}{more}"


def _footprint(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    harvest.footprint += _one_outline(sheet, harvest, layer, pieces, 0.0)


def _slab(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    # a base keeps a distance from the slab's edge: the smaller slab asks for more
    harvest.slab += _one_outline(sheet, harvest, layer, pieces, -1.0)


def _put(
    harvest: Harvest,
    layer: DrawingLayer,
    home: str,
    entries: Sequence[Entry],
    shapes: Sequence[Array],
    *,
    measure: str,
    said: str = "",
    lot: bool = False,
) -> None:
    if not entries:
        return
    (harvest.lot if lot else harvest.parts).setdefault(home, []).extend(entries)
    harvest.points += [s[:, :2] for s in shapes]
    length = float(sum(np.sum(np.hypot(*np.diff(s[:, :2], axis=0).T)) for s in shapes))
    harvest.taken.append(
        Taken(
            layer.layer,
            layer.holds,
            len(entries),
            length=length if measure == "length" else None,
            area=_areas(shapes) if measure == "area" else None,
            said=said,
        )
    )


def _floor(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    chains = _closed(sheet, layer, pieces)
    entries = [
        Entry(
            {
                "id": _id(layer, c.handle, alone=len(chains) == 1),
                "level": layer.level,
                "outline": _plan(c.points),
            },
            _drawn_as(c),
        )
        for c in chains
    ]
    _put(harvest, layer, "building.floors", entries, [c.points for c in chains], measure="area")


def _opening(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    chains = _closed(sheet, layer, pieces)
    shapes = [widened(sheet, layer.layer, c, 1.0) for c in chains]
    entries = []
    for chain, shape in zip(chains, shapes, strict=True):
        fields: dict[str, Any] = {
            "id": _id(layer, chain.handle, alone=len(chains) == 1),
            "kind": layer.opening,
            "level": layer.level,
            "outline": _plan(shape),
        }
        entries.append(Entry(fields | _if_stated("sill", layer.sill), _drawn_as(chain)))
    _put(harvest, layer, "layout.openings", entries, shapes, measure="area")


def _if_stated(name: str, value: object) -> dict[str, Any]:
    return {} if value is None else {name: value}


def _roof(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    chains = _closed(sheet, layer, pieces, flat=layer.elevation is not None)
    datum = sheet.placing.datum
    entries = []
    for chain in chains:
        if layer.elevation is None and np.all(np.abs(chain.points[:, 2] + datum) < 1e-9):
            sheet.refuse(
                layer.layer,
                chain.handle,
                "a roof drawn flat at height 0",
                "the height of each corner, drawn, or one for all",
                "State elevation for the layer where the edge is level, or draw it in three dimensions.",
            )
            continue
        heights = [layer.elevation if layer.elevation is not None else float(z) for z in chain.points[:, 2]]
        name = _id(layer, chain.handle, alone=len(chains) == 1)
        fields = {"id": name, "outline": _plan(chain.points), "heights": heights}
        entries.append(Entry(fields, _drawn_as(chain)))
    _put(harvest, layer, "building.roofs", entries, [c.points for c in chains], measure="area")


def _path_things(
    sheet: Sheet,
    harvest: Harvest,
    layer: DrawingLayer,
    pieces: Sequence[Piece],
    home: str,
    fields: Callable[[Chain], dict[str, Any]],
    *,
    lot: bool = False,
) -> None:
    # lines and arcs are pieces of a path; a polyline is one as it was drawn
    whole = [p for p in pieces if p.kind in _POLYLINES]
    loose = [p for p in pieces if p.kind not in _POLYLINES]
    found = []
    for joined in (
        join(_lines(sheet, layer, loose), sheet.join),
        apart(_lines(sheet, layer, whole), sheet.join),
    ):
        note_joined(sheet, layer.layer, joined)
        found += paths(sheet, layer.layer, joined, split=lot)
    entries = [
        Entry(
            {"id": _id(layer, handle, alone=len(found) == 1), **fields(chain), "path": _plan(chain.points)},
            _drawn_as(chain),
        )
        for handle, chain in found
    ]
    _put(harvest, layer, home, entries, [c.points for _, c in found], measure="length", lot=lot)


def _edge(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    fields = {"kind": layer.edge, "level": layer.level}
    _path_things(sheet, harvest, layer, pieces, "layout.edges", lambda _: dict(fields))


def _wall(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    fields = {"level": layer.level, "thickness": layer.thickness, "top": layer.top}
    _path_things(sheet, harvest, layer, pieces, "building.walls", lambda _: dict(fields))


def _content(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    if not layer.fills:
        half = layer.half_width or 0.0
        _path_things(
            sheet,
            harvest,
            layer,
            pieces,
            "slab.contents",
            # what the chords may lie off is added, so that no keep-out shrinks by it
            lambda c: {"kind": layer.content, "half_width": half + c.deviation},
            lot=True,
        )
        return
    chains = _closed(sheet, layer, pieces)
    shapes = [widened(sheet, layer.layer, c, 1.0) for c in chains]
    entries = [
        Entry(
            {
                "id": _id(layer, c.handle, alone=len(chains) == 1),
                "kind": layer.content,
                "fills": True,
                "path": _plan(shape),
            },
            _drawn_as(c),
        )
        for c, shape in zip(chains, shapes, strict=True)
    ]
    _put(harvest, layer, "slab.contents", entries, shapes, measure="area", lot=True)


def _framing(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    kept, twice, empty = sorted_out(_lines(sheet, layer, pieces), sheet.join)
    note_left_out(sheet, layer.layer, twice, empty)
    if not kept:
        return
    assert layer.thickness is not None  # the job was checked
    row = row_of(kept, layer.thickness)
    if isinstance(row, Irregular):
        by = f", {sheet.display.length(row.off, denominator=16)}" if row.off else ""
        sheet.refuse(
            layer.layer,
            row.handle,
            f"{row.found}{by}",
            "centre lines that run side by side at one spacing, all within 1/8 in of their places",
            "Move what is out of the row, such as a gable or a narrow last bay, to a layer of its own.",
        )
        return
    handle = min((c.handle for c in kept), key=lambda h: (len(h), h))
    entry = Entry(
        {
            "id": _id(layer, handle, alone=True),
            "kind": layer.framing,
            "area": _plan(row.area),
            "direction": Angle(row.direction),
            "spacing": row.spacing,
            "first": (float(row.first[0]), float(row.first[1])),
            "thickness": layer.thickness,
            "bottom": layer.bottom,
            "top": layer.top,
        },
        f"{row.count} lines, the first of them handle {handle}",
    )
    show = sheet.display
    said = (
        f"{row.count} lines at {show.inches(row.spacing)}, {show.angle(row.direction)} from x, "
        f"at most {sheet.small(row.worst)} out of place"
    )
    _put(harvest, layer, "layout.framing", [entry], [row.area], measure="area", said=said)


def _spots(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    places = _places(pieces)
    left = len(pieces) - len(places)
    if left:
        sheet.notes.append(
            f'layer "{layer.layer}": {left} line(s) left out; only points and blocks are spots'
        )
    if not places:
        return
    spots = np.concatenate([p.chain.points for p in places])
    found = ""
    if len(spots) < 3:
        found = f"{len(spots)} spot(s)"
    elif np.all(np.abs(spots[:, 2] + sheet.placing.datum) < 1e-9):
        found = "spots that all lie at height 0"
    if found:
        sheet.refuse(
            layer.layer,
            places[0].chain.handle,
            found,
            "three points or more, drawn at their heights",
            "Draw each as a point at its elevation (z); a height written as text is not read.",
        )
        return
    heights = [float(z) for z in spots[:, 2]]
    listed = [
        {"at": (float(x), float(y)), "elevation": z} for (x, y), z in zip(spots[:, :2], heights, strict=True)
    ]
    entry = Entry(
        {
            "id": layer.id or LETTERS[layer.holds],
            "name": layer.name or "Sloping ground",
            "kind": "grade",
            "elevation": max(heights),
            "spots": listed,
        },
        f"{len(spots)} points",
    )
    low, high = (sheet.display.length(v) for v in (min(heights), max(heights)))
    harvest.lot.setdefault("lower_levels", []).append(entry)
    harvest.points.append(spots[:, :2])
    harvest.taken.append(Taken(layer.layer, layer.holds, len(spots), said=f"from {low} to {high}"))


def _posts(sheet: Sheet, harvest: Harvest, layer: DrawingLayer, pieces: Sequence[Piece]) -> None:
    places = _places(pieces)
    left = len(pieces) - len(places)
    if left:
        sheet.notes.append(
            f'layer "{layer.layer}": {left} part(s) of symbols left out; a point, circle or block is a place'
        )
    entries: list[Entry] = []
    at: list[Array] = []
    for piece in places:
        middle = piece.chain.points[:, :2].mean(axis=0)
        if any(np.abs(middle - other).max() <= max(sheet.join, 1e-3) for other in at):
            sheet.notes.append(f'layer "{layer.layer}": handle {piece.chain.handle} drawn a second time')
            continue
        at.append(middle)
        fields = {
            "id": _id(layer, piece.chain.handle, alone=len(places) == 1),
            "kind": layer.post,
            "at": (float(middle[0]), float(middle[1])),
            "stands_on": layer.level,
        }
        entries.append(Entry(fields, _drawn_as(piece.chain)))
    _put(harvest, layer, "layout.posts", entries, [a[None, :] for a in at], measure="")


def _places(pieces: Sequence[Piece]) -> list[Piece]:
    """Points, blocks and circles, but for what is drawn within a block: that is its symbol."""
    own = [p for p in pieces if "." not in p.chain.handle]
    return [p for p in own if p.kind in ("POINT", "INSERT", "CIRCLE")]


_TAKERS: dict[str, Callable[[Sheet, Harvest, DrawingLayer, Sequence[Piece]], None]] = {
    "footprint": _footprint,
    "slab": _slab,
    "floor": _floor,
    "opening": _opening,
    "wall": _wall,
    "roof": _roof,
    "edge": _edge,
    "slab content": _content,
    "framing": _framing,
    "grade spots": _spots,
    "post places": _posts,
}
