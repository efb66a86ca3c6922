"""Trees of job files merged: groups field by field, lists whose entries all have an ``id`` by id.

Other lists replace. A written ``null`` removes what the parent states. Every value keeps its own place.
"""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.tree import Entry, Mapping, Mark, Node, Scalar, Sequence
from planforge.job.wording import shown


def merge(parent: Mapping, child: Mapping, problems: list[Problem], label: str = "") -> Mapping:
    """Return the parent updated by the child; what can't be merged without a guess joins ``problems``."""
    entries = dict(parent.entries)
    for key, entry in child.entries.items():
        under = f"{label}.{key}" if label else key
        old = entries.get(key)
        if old is None:
            entries[key] = entry
        elif isinstance(entry.node, Scalar) and entry.node.value is None:
            del entries[key]
            if entry.node.blank:
                stated = f"{old.mark.file}:{old.mark.line}"
                remedy = f"Write null to remove what {stated} states, or delete the line to keep it."
                mark = entry.mark
                problems.append(
                    Problem(mark.file, mark.line, under, "nothing after the colon", "a value", remedy)
                )
        else:
            entries[key] = Entry(entry.mark, _merge_node(old.node, entry.node, problems, under))
    return Mapping(entries, child.mark)


def _merge_node(old: Node, new: Node, problems: list[Problem], label: str) -> Node:
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return merge(old, new, problems, label)
    if isinstance(old, Sequence) and isinstance(new, Sequence):
        return _merge_lists(old, new, problems, label)
    return new


def _merge_lists(old: Sequence, new: Sequence, problems: list[Problem], label: str) -> Sequence:
    if not old.items or not new.items or any(_id(item) is None for item in old.items):
        return new
    places = {_id(item): index for index, item in enumerate(old.items)}
    items = list(old.items)
    for index, item in enumerate(new.items):
        place = places.get(_id(item))
        if _id(item) is None:
            expected = f"an id, to match it with the entries of {old.mark.file}"
            remedy = "Add the id. To drop the list as a whole, write null."
            found = "an entry without an id"
            problems.append(
                Problem(item.mark.file, item.mark.line, f"{label}[{index}]", found, expected, remedy)
            )
        elif place is None:
            items.append(item)
        else:
            items[place] = _merge_node(items[place], item, problems, f"{label}[{shown(_id(item))}]")
    return Sequence(tuple(items), new.mark)


def repeated_ids(roots: list[Mapping]) -> Iterator[tuple[Problem, Mark]]:
    """Yield a problem for each id that an earlier entry of its list has, with the place of the id."""
    for root in roots:
        yield from _repeated_below(root, "")


def _repeated_below(node: Node, label: str) -> Iterator[tuple[Problem, Mark]]:
    if isinstance(node, Mapping):
        for key, entry in node.entries.items():
            yield from _repeated_below(entry.node, f"{label}.{key}" if label else key)
    elif isinstance(node, Sequence):
        first: dict[str, Mark] = {}
        for index, item in enumerate(node.items):
            yield from _repeated_below(item, f"{label}[{index}]")
            name = _id(item)
            if name is not None and name in first:
                found = f"the id {shown(name)} a second time (first on line {first[name].line})"
                place = f"{label}[{index}].id"
                remedy = "Give one of the two another id."
                mark, expected = item.mark, "each id once in a list"
                assert isinstance(item, Mapping)  # it has an id
                where = item.entries["id"].mark
                yield Problem(mark.file, mark.line, place, found, expected, remedy), where
            elif name is not None:
                first[name] = item.mark


def _id(node: Node) -> str | None:
    entry = node.entries.get("id") if isinstance(node, Mapping) else None
    value = entry.node.value if entry and isinstance(entry.node, Scalar) else None
    return value if isinstance(value, str) else None
