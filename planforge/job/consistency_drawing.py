"""The layers of a drawing: each says what its kind needs, and nothing that would be dropped silently."""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.drawing import Drawing, DrawingLayer
from planforge.job.positions import FieldPath, Locator
from planforge.job.unread import where_read
from planforge.job.wording import listed, shown

NEEDED: dict[str, tuple[str, ...]] = {
    "footprint": (),
    "slab": (),
    "floor": ("level",),
    "opening": ("level", "opening"),
    "wall": ("level", "thickness", "top"),
    "roof": (),
    "edge": ("level", "edge"),
    "slab content": ("content", "half_width"),
    "framing": ("framing", "thickness", "bottom", "top"),
    "grade spots": (),
    "post places": ("level", "post"),
}
"""What a layer must state, by what it holds."""

ALLOWED: dict[str, tuple[str, ...]] = {
    "floor": ("id",),
    "opening": ("id", "sill"),
    "wall": ("id",),
    "roof": ("id", "elevation"),
    "edge": ("id",),
    "slab content": ("id", "fills"),
    "framing": ("id",),
    "grade spots": ("id", "name"),
    "post places": ("id",),
}
"""What it may state besides."""


def check_drawing(drawing: Drawing | None, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each layer that lacks a field, has one too many, or stands twice."""
    first: dict[str, FieldPath] = {}
    for number, layer in enumerate(drawing.layers if drawing else []):
        path: FieldPath = ("drawing", "layers", number)
        yield from _fields(locator, path, layer)
        yield from _once(locator, path, first, layer)


@where_read
def _once(
    locator: Locator, path: FieldPath, first: dict[str, FieldPath], layer: DrawingLayer
) -> Iterator[Problem]:
    if first.setdefault(layer.layer.casefold(), path) != path:
        yield locator.problem(
            (*path, "layer"),
            found=f"the layer {shown(layer.layer)} a second time",
            expected="each layer once: what is drawn on it is one kind of thing",
            remedy="Draw the other things on a layer of their own, or delete one of the two entries.",
        )


@where_read
def _fields(locator: Locator, path: FieldPath, layer: DrawingLayer) -> Iterator[Problem]:
    needed = NEEDED[layer.holds]
    # filled from its outline, a content has no side beyond it
    needed = tuple(f for f in needed if not (f == "half_width" and layer.fills))
    known = {"layer", "holds", *needed, *ALLOWED.get(layer.holds, ())}
    for name in needed:
        if getattr(layer, name) is None:
            yield locator.problem(
                path,
                found=f"nothing under {name}",
                expected=f"{listed(needed, 'and')} for a layer that holds {layer.holds}",
                remedy=f"Add {name}; planforge explain drawing.layers.{name} tells what it is.",
            )
    for name in sorted(layer.model_fields_set - known):
        yield locator.problem(
            (*path, name),
            expected=f"only what goes with {layer.holds}: {listed(sorted(known), 'and')}",
            remedy="Delete it, or correct holds.",
        )
