"""Where each merged value was stated, and how its path is named in messages."""

from __future__ import annotations

from planforge.errors import Problem
from planforge.job.tree import Data, Mapping, Mark, Node, Scalar, Sequence, plain
from planforge.job.wording import shown

FieldPath = tuple[str | int, ...]
"""Keys and list indexes from the top of the job: ``("lines", 2, "sag")``."""


class Locator:
    """Finds file, line and name of a field. A path that isn't stated is found at what should hold it."""

    def __init__(self, root: Mapping) -> None:
        """Take the merged tree."""
        self._root = root

    def where(self, path: FieldPath) -> Mark:
        """Return the place of a value; of a group or list, the place of its key."""
        node: Node = self._root
        mark = Mark(node.mark.file, 0, 0) if not path else node.mark
        for part in path:
            step = _step(node, part)
            if step is None:
                return mark
            key_mark, node = step
            mark = node.mark if isinstance(node, Scalar) else key_mark
        return mark

    def key(self, path: FieldPath) -> Mark:
        """Return the place of a field's name."""
        holder = self.node(path[:-1]) if path else None
        step = _step(holder, path[-1]) if holder is not None else None
        return step[0] if step else self.where(path)

    def holder(self, path: FieldPath) -> Mark:
        """Return where a group begins: the line of its key, or of its first field at the top of a file."""
        return self.where(path) if path else self._root.mark

    def node(self, path: FieldPath) -> Node | None:
        """Return the tree at a path, None where nothing is stated."""
        node: Node | None = self._root
        for part in path:
            step = _step(node, part) if node is not None else None
            node = step[1] if step else None
        return node

    def value(self, path: FieldPath) -> Data:
        """Return what was stated at a path, as its file writes it; None where nothing was."""
        node = self.node(path)
        return None if node is None else plain(node, as_written=True)

    def label(self, path: FieldPath) -> str:
        """Return ``lines[2 "north"].sag``: list entries by index from 0 and by id where they have one."""
        text = ""
        for count, part in enumerate(path, start=1):
            if isinstance(part, int):
                name = self._id(path[:count])
                text += f"[{part} {shown(name)}]" if name is not None else f"[{part}]"
            else:
                text += f".{_short(part)}" if text else _short(part)
        return text

    def problem(self, path: FieldPath, *, expected: str, remedy: str, found: str | None = None) -> Problem:
        """Return a problem at a path; ``found`` is what was stated there unless told otherwise."""
        mark = self.where(path)
        read = shown(self.value(path)) if found is None else found
        return Problem(mark.file, mark.line, self.label(path), read, expected, remedy)

    def _id(self, path: FieldPath) -> str | None:
        name = self.node((*path, "id"))
        return name.value if isinstance(name, Scalar) and isinstance(name.value, str) else None


def _step(node: Node | None, part: str | int) -> tuple[Mark, Node] | None:
    if isinstance(node, Mapping) and isinstance(part, str) and part in node.entries:
        entry = node.entries[part]
        return entry.mark, entry.node
    if isinstance(node, Sequence) and isinstance(part, int) and 0 <= part < len(node.items):
        item = node.items[part]
        return item.mark, item
    return None


def _short(key: str) -> str:
    text = " ".join(key.split())
    return f"{text[:39]}…" if len(text) > 40 else text
