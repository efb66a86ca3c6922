"""The tree of a job file: groups, lists and single values, each with the place that states it."""

from __future__ import annotations

from collections.abc import Mapping as ReadOnly
from dataclasses import dataclass

Data = dict[str, "Data"] | list["Data"] | str | bool | None


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in a file; line and column count from 1."""

    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Scalar:
    """A single value. ``blank`` tells a key with nothing after it from a written ``null``.

    ``written`` is what the file states, where the value was reckoned from it: a house's design, placed.
    """

    value: str | bool | None
    mark: Mark
    blank: bool = False
    written: str | None = None


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list."""

    items: tuple[Node, ...]
    mark: Mark


@dataclass(frozen=True, slots=True)
class Entry:
    """One key of a mapping: where the key stands, and its value."""

    mark: Mark
    node: Node


@dataclass(frozen=True, slots=True)
class Mapping:
    """A group of keys, to be read only: lots share the trees of what they extend."""

    entries: ReadOnly[str, Entry]
    mark: Mark


Node = Scalar | Sequence | Mapping


def plain(node: Node, *, as_written: bool = False) -> Data:
    """Return the tree as plain dicts, lists, texts, booleans and None; or as the file writes each."""
    match node:
        case Mapping():
            return {key: plain(entry.node, as_written=as_written) for key, entry in node.entries.items()}
        case Sequence():
            return [plain(item, as_written=as_written) for item in node.items]
        case Scalar():
            return node.written if as_written and node.written is not None else node.value
