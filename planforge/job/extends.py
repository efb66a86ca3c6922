"""Inheritance between job files: ``extends`` names what the lot's file builds upon, ``house`` its design.

Groups merge field by field and the file that extends wins. Lists whose entries all have an
``id`` merge by id; other lists replace. A written ``null`` removes what the parent states. Of
several parents the later wins. Every value keeps the file and line that stated it. The design of a
``house`` comes after what is extended; it is read alike, then set on the lot (``placing``), then merged.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import BaseModel, ValidationError

from planforge import units
from planforge.errors import JobFileError, Problem, QuantityError
from planforge.job.house import House
from planforge.job.merging import merge, repeated_ids
from planforge.job.placement import Placement, degrees
from planforge.job.placing import Doubt, Placer, standing
from planforge.job.positions import Locator
from planforge.job.source import MAX_NODES, read_source
from planforge.job.tree import Data, Entry, Mapping, Mark, Node, Scalar, Sequence, plain
from planforge.job.wording import shown

KEY = "extends"
HOUSE = "house"
DESIGN = "house.design"
MAX_LEVELS = 8
MAX_FILES = 16

NOT_RELATIVE = re.compile(r"^[/\\]|^[A-Za-z]:|://")


@dataclass(frozen=True, slots=True)
class Gathered:
    """A lot's file merged with all it extends.

    ``complete`` is False where a file could not be read, so that absent fields prove nothing. ``doubtful``
    are the places of keys and values that a fault of the text leaves open; where ``lost`` is True, a text or
    a merging may have left out more.
    """

    root: Mapping
    files: tuple[str, ...]
    problems: tuple[Problem, ...]
    complete: bool
    doubtful: frozenset[Mark]
    lost: bool


@dataclass(frozen=True, slots=True)
class Statement:
    """What is stated of one lot outside a job file, as a site file or a table does.

    ``root`` may name files under ``extends``; ``job`` names the lot's job file, over which ``root`` is laid.
    ``folders`` gives for each file name of the marks a path in the folder that names in it start from.
    """

    root: Mapping
    job: Scalar | None
    path: Path
    folders: dict[str, Path]


def gather_stated(
    stated: Statement, lot_only: frozenset[str] = frozenset(), model: type[BaseModel] | None = None
) -> Gathered:
    """Merge what is stated of one lot with all it builds upon, as :func:`gather` does for a job file."""
    gatherer = _Gatherer(lot_only, model if model and HOUSE in model.model_fields else None, stated)
    root = gatherer.stated_lot(stated)
    return _gathered(gatherer, root)


def gather(
    path: Path, lot_only: frozenset[str] = frozenset(), model: type[BaseModel] | None = None
) -> Gathered:
    """Read a lot's file, its parents and its house's design, and merge them.

    ``lot_only`` are dotted fields that no parent may state; a list on the way stands for each
    of its entries. ``model`` tells what of a design has a place or direction; a model without a field
    ``house`` has no designs. Raises :class:`JobFileError` where the lot's own file can't be read.
    """
    gatherer = _Gatherer(lot_only, model if model and HOUSE in model.model_fields else None)
    return _gathered(gatherer, gatherer.lot(path))


def _gathered(gatherer: _Gatherer, root: Mapping) -> Gathered:
    repeated = list(repeated_ids(gatherer.own))
    problems = [*gatherer.problems, *(problem for problem, _ in repeated)]
    doubtful = gatherer.doubtful.union(mark for _, mark in repeated)
    return Gathered(root, tuple(gatherer.names), tuple(problems), gatherer.complete, doubtful, gatherer.lost)


class _Gatherer:
    def __init__(
        self, lot_only: frozenset[str], model: type[BaseModel] | None, stated: Statement | None = None
    ) -> None:
        self._model = model
        self._doubts: list[Doubt] | None = None
        self._north = 0.0
        self.problems: list[Problem] = []
        self.names: list[str] = []
        self.own: list[Mapping] = []
        self.complete = True
        self.doubtful: frozenset[Mark] = frozenset()
        self.lost = False
        self._lot_only = sorted(lot_only)
        self._merged: dict[str, Mapping | None] = {}
        self._nodes = 0
        self._folders = dict(stated.folders) if stated else {}

    def lot(self, path: Path) -> Mapping:
        """Return the lot's file merged with all it builds upon, the placeholders of its texts turned."""
        return self._on_lot(self.read(path, str(path), ()), path)

    def stated_lot(self, stated: Statement) -> Mapping:
        """Return what is stated of a lot merged with all it builds upon, as for a file of its own."""
        if stated.job is None:
            return self._on_lot(self._built(stated.root, stated.path, str(stated.path), ()), stated.path)
        text, mark = str(stated.job.value), stated.job.mark
        path = self._folders[mark.file].parent / text
        refusal = self._refusal(path, text, ())
        if refusal is not None:
            self._report(mark, *refusal, "job")
            raise JobFileError(self.problems)
        name = os.path.normpath(path)
        return self._on_lot(self.read(path, name, (), over=stated.root), path)

    def _on_lot(self, root: Mapping, path: Path) -> Mapping:
        if self._model is None:
            return root
        if self._doubts is not None:
            root = self._recorded(root, self._doubts, path)
        rest = Placer(Placement(), self._north, design=False)
        root = rest.place(root, self._model)
        self.problems += rest.problems
        return root

    def read(
        self, path: Path, name: str, above: tuple[tuple[str, str], ...], over: Mapping | None = None
    ) -> Mapping:
        """Return one file merged with its parents; ``above`` are the (real path, name) that led here.

        ``over`` is laid over what the file itself states, as if it were written there.
        """
        tree, problems = read_source(path, name)
        self.names.append(name)
        self._folders[name] = path
        self.problems += problems
        self._nodes += tree.nodes
        self.doubtful |= tree.doubtful
        self.lost |= tree.lost
        return self._built(tree.root, path, name, above, over)

    def _built(
        self,
        root: Mapping,
        path: Path,
        name: str,
        above: tuple[tuple[str, str], ...],
        over: Mapping | None = None,
    ) -> Mapping:
        own = Mapping({k: e for k, e in root.entries.items() if k != KEY}, root.mark)
        self.own.append(own)
        if over is not None:
            self.own.append(over)
            own = Mapping(self._merge(own, over).entries, own.mark)
        if above:
            self._refuse_lot_only(own)
        chain = (*above, (_real_name(path), name))
        parents = list(self._parents(root.entries.get(KEY)))
        below = [self._parent(text, mark, chain) for text, mark in parents]
        if not above and self._model is not None:
            below.append(self._house(own, chain, parents))
        merged: Mapping | None = None
        for parent in (*below, own):
            if parent is not None:
                merged = parent if merged is None else self._merge(merged, parent)
        return own if merged is None else merged

    def _merge(self, parent: Mapping, child: Mapping) -> Mapping:
        before = len(self.problems)
        merged = merge(parent, child, self.problems)
        self.lost |= len(self.problems) > before
        return merged

    def _house(
        self, own: Mapping, chain: tuple[tuple[str, str], ...], parents: list[tuple[str, Mark]]
    ) -> Mapping | None:
        """Return the design of the lot's house as it stands on the lot; None where there is none to read."""
        assert self._model is not None  # asked for only with a model
        self._north = _north(own)
        stated = own.entries.get(HOUSE)
        if stated is None or plain(stated.node) is None:
            return None
        try:
            house = House.model_validate(plain(stated.node))
        except ValidationError:  # the lot's model has the same fields and says what is wrong
            self.complete = False
            return None
        if house.placed:
            return None
        assert isinstance(stated.node, Mapping)  # a house is read from nothing else
        mark = stated.node.entries["design"].node.mark
        if self._real(house.design, mark) in {self._real(text, place) for text, place in parents}:
            found = f"{shown(house.design)}, which this file extends as well"
            remedy = "Delete it from extends: the house's design is read from here."
            self._report(mark, found, "the design in one of the two", remedy, DESIGN)
            return None
        design = self._parent(house.design, mark, chain, DESIGN)
        if design is None:
            return None
        placer = Placer(Placement.of(house), self._north)
        placed = placer.place(design, self._model)
        self.problems += placer.problems
        self._doubts = placer.doubts
        return placed

    def _real(self, text: str, mark: Mark) -> str:
        """Return the real path of a file by its name in another."""
        return _real_name(self._folders[mark.file].parent / text)

    def _recorded(self, root: Mapping, doubts: list[Doubt], path: Path) -> Mapping:
        """Return the tree with its house marked as placed, and with what of it still is to be looked at."""
        held = root.entries[HOUSE]
        assert isinstance(held.node, Mapping)  # its design was read
        locator = Locator(root)
        record: dict[str, Data] = {"placed": True}
        left: list[Data] = [
            {
                "field": locator.label(where),
                "what": doubt.what,
                "says": doubt.says,
                "file": _from(path, doubt.node.mark.file),
                "line": str(doubt.node.mark.line),
            }
            for where, doubt in standing(root, doubts)
        ]
        if left:
            record["to_restate"] = left
        added = {key: Entry(held.mark, _tree(value, held.mark)) for key, value in record.items()}
        house = Mapping({**held.node.entries, **added}, held.node.mark)
        return Mapping({**root.entries, HOUSE: Entry(held.mark, house)}, root.mark)

    def _parents(self, stated: Entry | None) -> Iterator[tuple[str, Mark]]:
        if stated is None:
            return
        items = stated.node.items if isinstance(stated.node, Sequence) else (stated.node,)
        seen: set[str] = set()
        for item in items:
            value = plain(item)
            if not isinstance(value, str) or not value.strip():
                remedy = "Write a relative path such as ../house.yaml, or a list of them; or delete the line."
                self._report(item.mark, shown(value), "the name of a job file", remedy)
            elif value in seen:
                self._report(
                    item.mark, f"{shown(value)} a second time", "each file once", "Delete one of the two."
                )
            else:
                seen.add(value)
                yield value, item.mark

    def _parent(
        self, text: str, mark: Mark, chain: tuple[tuple[str, str], ...], field: str = KEY
    ) -> Mapping | None:
        path = self._folders[mark.file].parent / text
        real = _real_name(path)
        refusal = self._refusal(path, text, chain)
        if refusal is not None:
            self._report(mark, *refusal, field)
            return None
        if real not in self._merged:
            try:
                self._merged[real] = self.read(path, os.path.normpath(path), chain)
            except JobFileError as error:
                self.problems += error.problems
                self.complete = False
                self._merged[real] = None
        return self._merged[real]

    def _refusal(
        self, path: Path, text: str, chain: tuple[tuple[str, str], ...]
    ) -> tuple[str, str, str] | None:
        """Return what was found, expected and to do where a parent can't be read; None where it can."""
        real = _real_name(path)
        if NOT_RELATIVE.search(text):
            remedy = "Write the path from this file's folder, such as ../house.yaml."
            return shown(text), "a path relative to this file", remedy
        if real in (place for place, _ in chain):
            loop = " -> ".join([*(name for _, name in chain), os.path.normpath(path)])
            found = f"{shown(text)}, which comes back to itself ({loop})"
            return found, "files in no loop", "Delete one of the extends lines in the loop."
        if len(chain) > MAX_LEVELS:
            remedy = "Let the lot's file extend the shared files directly."
            return f"more than {MAX_LEVELS} files above another", f"at most {MAX_LEVELS}", remedy
        fresh = real not in self._merged
        if fresh and (len(self.names) >= MAX_FILES or self._nodes > MAX_NODES):
            found = f"{shown(text)} beyond {len(self.names)} files with {self._nodes:,} values"
            expected = f"at most {MAX_FILES} files with {MAX_NODES:,} values in all"
            return found, expected, "Extend fewer or shorter files."
        if fresh and not exists(path):
            remedy = "Correct the name, or put the file there."
            return f"{shown(text)}, which does not exist", "the name of a job file", remedy
        return None

    def _refuse_lot_only(self, own: Mapping) -> None:
        for field in self._lot_only:
            for label, mark in _stated(own, field.split("."), ""):
                remedy = "State it in the lot's own file and delete it here."
                expected = "only what lots share in a file that others extend"
                self.problems.append(
                    Problem(mark.file, mark.line, label, "a field of one lot", expected, remedy)
                )

    def _report(self, mark: Mark, found: str, expected: str, remedy: str, field: str = KEY) -> None:
        self.problems.append(Problem(mark.file, mark.line, field, found, expected, remedy))
        self.complete = False


def _north(own: Mapping) -> float:
    """Return where the lot says that north lies, degrees; 0 where it says nothing that can be read."""
    site = own.entries.get("site")
    entry = site.node.entries.get("north") if site and isinstance(site.node, Mapping) else None
    try:
        return degrees(units.parse(plain(entry.node), units.ANGLE)) if entry is not None else 0.0
    except QuantityError:  # the model refuses it
        return 0.0


def _from(lot: Path, file: str) -> str:
    """Name a file by its path from the lot's folder, the same on every machine and from every folder."""
    return Path(os.path.relpath(file, lot.parent)).as_posix()


def _tree(value: Data, mark: Mark) -> Node:
    match value:
        case dict():
            return Mapping({key: Entry(mark, _tree(item, mark)) for key, item in value.items()}, mark)
        case list():
            return Sequence(tuple(_tree(item, mark) for item in value), mark)
        case _:
            return Scalar(value, mark)


def _real_name(path: Path) -> str:
    """The one name of a file, whatever links lead to it; the path itself where there can be no such file."""
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):  # a NUL, or letters that this system's names can't hold
        return str(path)


def exists(path: Path) -> bool:
    """Return whether there is a file or folder of this name, or could be."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def _stated(node: Node, keys: list[str], label: str) -> Iterator[tuple[str, Mark]]:
    """Yield name and place of each statement of a dotted field."""
    if isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from _stated(item, keys, f"{label}[{index}]")
    elif isinstance(node, Mapping) and keys[0] in node.entries:
        entry = node.entries[keys[0]]
        under = f"{label}.{keys[0]}" if label else keys[0]
        if len(keys) == 1:
            yield under, entry.mark
        else:
            yield from _stated(entry.node, keys[1:], under)
