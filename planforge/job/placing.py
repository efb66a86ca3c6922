"""A house design's tree, set on a lot: every point, direction and text of it found by the model's types.

What is reckoned anew keeps its place in the file and what stands there, so that a message still shows the
design's own line and words. What can't be read is left as it is, for the model to refuse.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from pydantic import BaseModel

from planforge import units
from planforge.errors import Problem, QuantityError
from planforge.job.building import StruckEdge
from planforge.job.direction_words import misspelt, turned, unfit, unfit_mark
from planforge.job.field_types import FieldType, field_type
from planforge.job.in_plan import InPlan
from planforge.job.layout import Place, Zone
from planforge.job.placement import POINTS, Placement, degrees
from planforge.job.positions import FieldPath
from planforge.job.tree import Entry, Mapping, Node, Scalar, Sequence
from planforge.job.wording import listed, shown

OF_LOT: Final[dict[type[BaseModel], tuple[str, frozenset[str]]]] = {
    StruckEdge: ("path", frozenset()),
    Place: ("at", frozenset({"gate", "assembly point", "hose bib", "lift", "rescue kit", "first aid"})),
    Zone: ("outline", frozenset({"hoisting", "laydown"})),
}
"""What stands where the lot has room for it, or rests on the lot's ground: the field that says where, and its
kinds; none means every one."""
_MARKED: Final = ("layout", "hazards", "building")
"""The parts whose ids are marks on the drawings."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What of a placed design may not be right on the lot, as long as its node stands in the merged tree."""

    node: Node
    what: str
    says: str


@dataclass(slots=True)
class Placer:
    """Sets trees of one model on a lot; ``north`` is degrees clockwise from the top of the lot's sheet.

    ``design``: the tree is a house's design; otherwise only placeholders are turned.
    """

    placement: Placement
    north: float
    design: bool = True
    doubts: list[Doubt] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def place(self, root: Mapping, model: type[BaseModel]) -> Mapping:
        """Return the tree as it stands on the lot."""
        return self._group(root, model, "")

    def _group(self, node: Mapping, model: type[BaseModel], path: str) -> Mapping:
        kinds = _fields(model)
        entries = {}
        for key, entry in node.entries.items():
            under = f"{path}.{key}" if path else key
            kind = kinds.get(key)
            placed = self._node(entry.node, kind, under) if kind is not None else entry.node
            entries[key] = Entry(entry.mark, placed)
        self._state_turns(entries, node, model, kinds)
        if self.design and model in OF_LOT:
            self._doubt_place(entries, *OF_LOT[model])
        return Mapping(entries, node.mark)

    def _doubt_place(self, entries: dict[str, Entry], where: str, own: frozenset[str]) -> None:
        stated = entries["kind"].node if "kind" in entries else None
        kind = str(stated.value) if isinstance(stated, Scalar) else ""
        if where in entries and (kind in own or not own):
            self.doubts.append(Doubt(entries[where].node, "place", kind or "struck edge"))

    def _state_turns(
        self, entries: dict[str, Entry], node: Mapping, model: type[BaseModel], kinds: dict[str, FieldType]
    ) -> None:
        """Write out each angle that the design leaves to its default, which holds for the design only."""
        for name, kind in kinds.items():
            default = model.model_fields[name].default
            if name in entries or kind.in_plan not in (InPlan.BASE, InPlan.DIRECTION):
                continue
            if isinstance(default, float) and self.placement.redirects:
                said = Scalar(f"{degrees(default):g} deg", node.mark)
                entries[name] = Entry(node.mark, self._angle(said, kind.in_plan))

    def _node(self, node: Node, kind: FieldType, path: str) -> Node:
        placed: Node = node
        match kind.kind, node:
            case _, Mapping() if kind.rated:
                placed = self._rated(node, kind, path)
            case "group", Mapping() if kind.model is not None:
                placed = self._group(node, kind.model, path)
            case "list", Sequence() if kind.item is not None:
                items = (self._node(item, kind.item, f"{path}[{i}]") for i, item in enumerate(node.items))
                placed = Sequence(tuple(items), node.mark)
            case "names", Mapping() if kind.item is not None:
                named = {
                    key: Entry(entry.mark, self._node(entry.node, kind.item, path))
                    for key, entry in node.entries.items()
                }
                placed = Mapping(named, node.mark)
            case "point", Sequence() if kind.in_plan is InPlan.PLACE:
                placed = self._point(node)
            case "quantity", Scalar():
                placed = self._angle(node, kind.in_plan)
            case "text", Scalar():
                placed = self._text(node, path)
            case "short name", Scalar():
                self._doubt_mark(node, path)
        return placed

    def _rated(self, node: Mapping, kind: FieldType, path: str) -> Mapping:
        """A value with its source: the source names a document and is no text of the plan's own."""
        value = node.entries.get("value")
        if value is None:
            return node
        placed = self._node(value.node, FieldType(kind.kind, kind.phrase, in_plan=kind.in_plan), path)
        return Mapping({**node.entries, "value": Entry(value.mark, placed)}, node.mark)

    def _point(self, node: Sequence) -> Sequence:
        if not self.placement.follows or len(node.items) != 2:
            return node
        read = [_read(item, units.LENGTH) for item in node.items]
        if read[0] is None or read[1] is None:
            return node
        there = self.placement.point(read[0], read[1])
        if not all(map(math.isfinite, there)):
            return node
        items = (_rewritten(i, length_text(v)) for i, v in zip(node.items, there, strict=True))
        return Sequence(tuple(items), node.mark)

    def _angle(self, node: Scalar, in_plan: InPlan | None) -> Scalar:
        if in_plan not in (InPlan.DIRECTION, InPlan.BASE) or not self.placement.redirects:
            return node
        value = _read(node, units.ANGLE)
        if value is None:
            return node
        angle = degrees(value)
        there = self.placement.base(angle) if in_plan is InPlan.BASE else self.placement.direction(angle)
        return _rewritten(node, f"{there + 0.0!r} deg")

    def _text(self, node: Scalar, path: str) -> Scalar:
        if not isinstance(node.value, str):
            return node
        if (wrong := misspelt(node.value)) is not None:
            known = listed([f"<{point}>" for point in POINTS])
            remedy = f"Did you mean <{wrong[1]}>?"
            mark = node.mark
            self.problems.append(Problem(mark.file, mark.line, path, shown(wrong[0]), known, remedy))
        text = turned(node.value, self.placement, self.north)
        placed = node if text == node.value else _rewritten(node, text)
        if self.design and (words := unfit(node.value, self.placement, self.north)):
            self.doubts.append(Doubt(placed, "words", ", ".join(words)))
        return placed

    def _doubt_mark(self, node: Scalar, path: str) -> None:
        *above, name = path.split(".")
        drawn = name == "id" and bool(above) and above[0].partition("[")[0] in _MARKED
        if not self.design or not drawn or not isinstance(node.value, str):
            return
        if unfit_mark(node.value, self.placement, self.north):
            self.doubts.append(Doubt(node, "mark", node.value))


def standing(root: Mapping, doubts: list[Doubt]) -> Iterator[tuple[FieldPath, Doubt]]:
    """Yield place and doubt of what the lot's own statements have not replaced in the merged tree.

    A translation goes with the text it is worded for, to the letter: a direction in it doubts nothing.
    """
    by_node = {id(doubt.node): doubt for doubt in doubts}
    for key, entry in root.entries.items():
        if key != "translations":
            yield from _standing(entry.node, (key,), by_node)


def _standing(node: Node, path: FieldPath, by_node: dict[int, Doubt]) -> Iterator[tuple[FieldPath, Doubt]]:
    if id(node) in by_node:
        yield path, by_node[id(node)]
    if isinstance(node, Mapping):
        for key, entry in node.entries.items():
            yield from _standing(entry.node, (*path, key), by_node)
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from _standing(item, (*path, index), by_node)


def length_text(metres: float) -> str:
    """Write a length so that it reads back to the same float, in feet where they are short enough."""
    feet = f"{metres / units.FOOT:.12g} ft"
    return feet if units.parse(feet, units.LENGTH) == metres else f"{metres + 0.0!r} m"


@lru_cache(maxsize=256)
def _fields(model: type[BaseModel]) -> dict[str, FieldType]:
    return {name: field_type(one) for name, one in model.model_fields.items()}


def _read(node: Node, kind: units.Kind) -> float | None:
    """Read a quantity; None where it is none, which the model refuses in its own words."""
    try:
        return units.parse(node.value, kind) if isinstance(node, Scalar) else None
    except QuantityError:
        return None


def _rewritten(node: Node, text: str) -> Scalar:
    assert isinstance(node, Scalar)  # only values that were read are written anew
    written = node.written if node.written is not None else str(node.value)
    return Scalar(text, node.mark, written=written)
