"""Everything drawn in a space, as strands: points in the drawing's coordinates, with layer and handle.

Blocks are taken apart with their scale, turn and mirroring; what lies on layer 0 in a block takes the layer
of its insertion, as in CAD. Curves are flattened in the block's own coordinates, within the tolerance after
the block's scale. What has no place in a plan (texts, dimensions, pictures) is counted, never silently lost.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from ezdxf.document import Drawing as DxfDocument
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.lldxf.const import DXFError
from ezdxf.xclip import XClip

from planforge.cad import curves
from planforge.calc.arrays import Array
from planforge.errors import CalculationError

MAX_ENTITIES = 200_000
MAX_DEPTH = 16
MAX_POINTS = 1_000_000

SILENT = frozenset(
    {
        "TEXT",
        "MTEXT",
        "ATTRIB",
        "ATTDEF",
        "DIMENSION",
        "ARC_DIMENSION",
        "LARGE_RADIAL_DIMENSION",
        "LEADER",
        "MULTILEADER",
        "TOLERANCE",
        "VIEWPORT",
        "IMAGE",
        "PDFUNDERLAY",
        "DWFUNDERLAY",
        "DGNUNDERLAY",
        "WIPEOUT",
        "OLE2FRAME",
        "OLEFRAME",
        "LIGHT",
        "SUN",
        "GEODATA",
        "SEQEND",
    }
)
"""What says something about a drawing and is no part of the building."""


@dataclass(frozen=True)
class Strand:
    """One thing drawn: points (n, 3) in the drawing's coordinates; a single one is a point."""

    layer: str
    handle: str  # of the entity, or of the outermost block with the count of the part in it
    kind: str  # the DXF name
    points: Array
    closed: bool = False  # the last point joins the first, which is not repeated
    deviation: float = 0.0  # how far a curve may lie from its chords


@dataclass(frozen=True)
class Unread:
    """Something that is not understood: a problem on a layer that is read, a note on any other."""

    layer: str
    handle: str
    kind: str
    why: str


@dataclass
class Strands:
    """What a space holds."""

    strands: list[Strand] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)
    ignored: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    """How many, by layer, DXF name and why."""


class TooMuchError(CalculationError):
    """A drawing whose blocks unfold beyond all belief."""


@dataclass(frozen=True)
class _Context:
    """Where the walk stands: the map of block coordinates to the drawing's, and the insertion's layer."""

    matrix: Array  # (4, 4), for row vectors
    stretch: float
    layer: str
    handle: str
    depth: int
    within: tuple[str, ...]


def strands_of(
    document: DxfDocument, space: Iterable[DXFEntity], tolerance: float, layers: Iterable[str]
) -> Strands:
    """Take a space apart; ``tolerance`` bounds how far chords lie from curves, in the drawing's unit.

    Only what lies on ``layers`` becomes strands; the rest is counted.

    Raises :class:`TooMuchError` where blocks within blocks unfold to more than can be believed, and
    :class:`CalculationError` for a curve that the tolerance would cut into more points than that.
    """
    walk = _Walk(document, tolerance, frozenset(layer.casefold() for layer in layers))
    top = _Context(np.eye(4), 1.0, "0", "", 0, ())
    for entity in space:
        walk.take(entity, top)
    return walk.found


class _Walk:
    def __init__(self, document: DxfDocument, tolerance: float, layers: frozenset[str]) -> None:
        self.found = Strands()
        self._layers = layers
        self._document = document
        self._tolerance = tolerance
        self._entities = 0
        self._points = 0

    def take(self, entity: DXFEntity, context: _Context, part: int = 0) -> None:
        """Take in one entity and, where it is a block, all in it."""
        self._entities += 1
        if self._entities > MAX_ENTITIES:
            raise TooMuchError(f"more than {MAX_ENTITIES:,} things once its blocks are taken apart")
        kind = entity.dxftype()
        layer = _layer(entity, context)
        handle = f"{context.handle}.{part}" if context.handle else str(entity.dxf.get("handle") or "")
        if kind == "ATTDEF" and context.depth:
            return  # the insertion's own attributes stand for it
        if entity.dxf.get("invisible", 0):
            self.found.ignored[layer, kind, "it is invisible in the drawing"] += 1
        elif kind in SILENT:
            self.found.ignored[layer, kind, "it is no part of the building"] += 1
        elif kind == "INSERT":
            self._insert(entity, context, layer, handle)
        elif layer.casefold() not in self._layers:
            self.found.ignored[layer, kind, "its layer is not under drawing.layers"] += 1
        else:
            self._shape(entity, kind, context, layer, handle)

    def _shape(self, entity: DXFEntity, kind: str, context: _Context, layer: str, handle: str) -> None:
        shape = _SHAPES.get(kind)
        if shape is None:
            self.found.unread.append(Unread(layer, handle, kind, "a kind of thing that is not read"))
            return
        try:
            strands = list(shape(entity, self._tolerance / context.stretch))
        except _NotReadError as reason:
            self.found.unread.append(Unread(layer, handle, kind, str(reason)))
            return
        except (DXFError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
            # the library checks a file's structure, not the sense of each thing in it
            self.found.unread.append(Unread(layer, handle, kind, f"its data make no sense ({error})"))
            return
        for points, closed, off in strands:
            mapped = points @ context.matrix[:3, :3] + context.matrix[3, :3]
            if not np.all(np.isfinite(mapped)):
                self.found.unread.append(Unread(layer, handle, kind, "a coordinate that is no number"))
                continue
            self._points += len(points)
            if self._points > MAX_POINTS:
                raise TooMuchError(f"more than {MAX_POINTS:,} points")
            if closed and len(mapped) > 1 and np.array_equal(mapped[0], mapped[-1]):
                mapped = mapped[:-1]
            self.found.strands.append(Strand(layer, handle, kind, mapped, closed, off * context.stretch))

    def _insert(self, insert: Any, context: _Context, layer: str, handle: str) -> None:
        name = str(insert.dxf.get("name", ""))
        block = self._document.blocks.get(name)
        if block is None:
            self.found.unread.append(
                Unread(layer, handle, "INSERT", f'its block "{name}" is not in the file')
            )
            return
        if block.block is not None and block.block.is_xref:
            why = f'"{name}" is an external drawing, which is not in the file: bind it'
            self.found.unread.append(Unread(layer, handle, "INSERT", why))
            return
        if name in context.within or context.depth >= MAX_DEPTH:
            raise TooMuchError(f'the block "{name}" within itself or more than {MAX_DEPTH} levels deep')
        for attribute in insert.attribs:
            self.found.ignored[_layer(attribute, context), "ATTRIB", "it is no part of the building"] += 1
        if insert.has_extension_dict and XClip(insert).has_clipping_path:
            self.found.ignored[layer, "INSERT", f'the clipping of "{name}": the whole block was read'] += 1
        copies = insert.mcount
        if copies * max(len(block), 1) > MAX_ENTITIES:
            raise TooMuchError(f"more than {MAX_ENTITIES:,} things once its blocks are taken apart")
        part = 0
        for copy in insert.multi_insert() if copies > 1 else (insert,):
            matrix = np.array(list(copy.matrix44().rows())) @ context.matrix
            stretch = float(np.linalg.norm(matrix[:3, :3], 2))
            if stretch == 0.0 or not np.isfinite(stretch):
                self.found.unread.append(Unread(layer, handle, "INSERT", f'"{name}" with a scale of nothing'))
                return
            inner = _Context(matrix, stretch, layer, handle, context.depth + 1, (*context.within, name))
            # the point of insertion, for layers whose things are places
            if layer.casefold() in self._layers:
                place = np.array([_origin(block) @ matrix])[:, :3]
                self.found.strands.append(Strand(layer, handle, "INSERT", place))
            for entity in block:
                part += 1
                self.take(entity, inner, part)


def _origin(block: Any) -> Array:
    base = block.block.dxf.get("base_point", (0.0, 0.0, 0.0)) if block.block is not None else (0.0, 0.0, 0.0)
    return np.array([base[0], base[1], base[2], 1.0])


def _layer(entity: DXFEntity, context: _Context) -> str:
    own = str(entity.dxf.get("layer", "0"))
    return context.layer if own == "0" and context.depth else own


class _NotReadError(Exception):
    """Why a shape is not read."""


_Piece = tuple[Array, bool, float]


def _line(entity: Any, _: float) -> Iterator[_Piece]:
    yield np.array([entity.dxf.start.xyz, entity.dxf.end.xyz]), False, 0.0


def _point(entity: Any, _: float) -> Iterator[_Piece]:
    yield np.array([entity.dxf.location.xyz]), False, 0.0


def _to_world(entity: Any, points: Array, elevation: float) -> Array:
    """Points (n, 2) of an entity's own plane, at its elevation, in the coordinates around it."""
    ocs = entity.ocs()
    axes = np.array([ocs.ux.xyz, ocs.uy.xyz, ocs.uz.xyz]) if ocs.transform else np.eye(3)
    return np.asarray(np.column_stack([points, np.full(len(points), elevation)]) @ axes)


def _arc(entity: Any, tolerance: float) -> Iterator[_Piece]:
    whole = entity.dxftype() == "CIRCLE"
    radius = abs(float(entity.dxf.radius))
    start = 0.0 if whole else float(np.radians(entity.dxf.start_angle))
    end = 2.0 * np.pi if whole else float(np.radians(entity.dxf.end_angle))
    sweep = 2.0 * np.pi if whole else (end - start) % (2.0 * np.pi) or 2.0 * np.pi
    if radius == 0.0:
        raise _NotReadError("a radius of nothing")
    centre = entity.dxf.center
    points, off = curves.arc((centre.x, centre.y), radius, start, sweep, tolerance)
    points = points[:-1] if whole else points
    yield _to_world(entity, points, centre.z), whole, off


def _ellipse(entity: Any, tolerance: float) -> Iterator[_Piece]:
    major, minor = np.array(entity.dxf.major_axis.xyz), np.array(entity.minor_axis.xyz)
    start, end = float(entity.dxf.start_param), float(entity.dxf.end_param)
    sweep = (end - start) % (2.0 * np.pi)
    whole = sweep < 1e-9 or 2.0 * np.pi - sweep < 1e-9
    sweep = 2.0 * np.pi if whole else sweep
    if not float(np.linalg.norm(major)):
        raise _NotReadError("an ellipse without an axis")
    points, off = curves.ellipse(np.array(entity.dxf.center.xyz), major, minor, start, sweep, tolerance)
    yield (points[:-1] if whole else points), whole, off


def _spline(entity: Any, tolerance: float) -> Iterator[_Piece]:
    tool = entity.construction_tool()
    knots = np.asarray(tool.knots(), dtype=float)[tool.order - 1 : tool.count + 1]

    def at(places: Array) -> Array:
        return np.array([p.xyz for p in tool.points(places.tolist())])

    points, off = curves.free_curve(at, np.unique(knots), tolerance)
    closed = bool(np.linalg.norm(points[0] - points[-1]) <= 1e-9 * max(1.0, float(np.abs(points).max())))
    yield (points[:-1] if closed else points), closed, off


def _bulged(
    vertices: list[tuple[float, float, float]], closed: bool, tolerance: float
) -> tuple[Array, float]:
    """A chain of straight and round pieces (x, y, bulge) as points (n, 2)."""
    ends = [*vertices, vertices[0]] if closed else vertices
    parts, worst = [np.array([ends[0][:2]])], 0.0
    for one, other in pairwise(ends):
        points, off = curves.bulge(np.array(one[:2]), np.array(other[:2]), one[2], tolerance)
        parts.append(points[1:])
        worst = max(worst, off)
    chain = np.concatenate(parts)
    return (chain[:-1] if closed else chain), worst


def _lwpolyline(entity: Any, tolerance: float) -> Iterator[_Piece]:
    vertices = [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")]
    if not vertices:
        raise _NotReadError("a polyline without points")
    points, off = _bulged(vertices, bool(entity.closed), tolerance)
    yield _to_world(entity, points, float(entity.dxf.elevation)), bool(entity.closed), off


def _polyline(entity: Any, tolerance: float) -> Iterator[_Piece]:
    if entity.is_polygon_mesh or entity.is_poly_face_mesh:
        raise _NotReadError("a mesh, which is no line")
    closed = bool(entity.is_closed)
    # of a curve fitted to a frame, the frame's own points are no part
    drawn = [v for v in entity.vertices if not v.dxf.get("flags", 0) & 16]
    if not drawn:
        raise _NotReadError("a polyline without points")
    if entity.is_3d_polyline:
        yield np.array([v.dxf.location.xyz for v in drawn]), closed, 0.0
        return
    vertices = [(v.dxf.location.x, v.dxf.location.y, float(v.dxf.get("bulge", 0.0))) for v in drawn]
    points, off = _bulged(vertices, closed, tolerance)
    elevation = entity.dxf.get("elevation")
    yield _to_world(entity, points, float(elevation.z) if elevation is not None else 0.0), closed, off


def _hatch(entity: Any, tolerance: float) -> Iterator[_Piece]:
    paths = list(entity.paths)
    if len(paths) != 1:
        raise _NotReadError(f"a hatch of {len(paths)} boundaries: draw its outline")
    path = paths[0]
    vertices = getattr(path, "vertices", None)
    if vertices is None:
        vertices = _edges(path.edges)
    if len(vertices) < 2:
        raise _NotReadError("a hatch without a boundary")
    points, off = _bulged([(float(x), float(y), float(b)) for x, y, b in vertices], True, tolerance)
    elevation = entity.dxf.get("elevation")
    yield _to_world(entity, points, float(elevation.z) if elevation is not None else 0.0), True, off


def _edges(edges: Iterable[Any]) -> list[tuple[float, float, float]]:
    """The edges of a hatch as a chain with bulges, where they are straight pieces and arcs in order."""
    chain = []
    for edge in edges:
        name = type(edge).__name__
        if name == "LineEdge":
            chain.append((edge.start[0], edge.start[1], 0.0, edge.end))
        elif name == "ArcEdge":
            sweep = float(np.radians(edge.end_angle - edge.start_angle)) % (2.0 * np.pi) or 2.0 * np.pi
            if sweep > 2.0 * np.pi - 1e-9:
                raise _NotReadError("a hatch in a whole circle: draw its outline")
            start, end = (
                (edge.start_point, edge.end_point) if edge.ccw else (edge.end_point, edge.start_point)
            )
            value = float(np.tan(sweep / 4.0)) * (1.0 if edge.ccw else -1.0)
            chain.append((start[0], start[1], value, end))
        else:
            raise _NotReadError("a hatch with ellipses or splines: draw its outline")
    for one, other in zip(chain, [*chain[1:], *chain[:1]], strict=True):
        if abs(one[3][0] - other[0]) + abs(one[3][1] - other[1]) > 1e-6 * max(1.0, abs(other[0])):
            raise _NotReadError("a hatch whose edges do not follow each other: draw its outline")
    return [(float(x), float(y), float(b)) for x, y, b, _ in chain]


_SHAPES: dict[str, Any] = {
    "LINE": _line,
    "POINT": _point,
    "ARC": _arc,
    "CIRCLE": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "HATCH": _hatch,
}
