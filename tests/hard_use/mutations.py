"""Strategies that spoil a sound job: what its tree states, or the text of its file."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from hypothesis import strategies as st

from planforge.job.loading import load
from planforge.job.model import Job
from planforge.job.reference import fields

from .odd import ODD_TEXTS, ODD_VALUES

DEMOS = Path(__file__).resolve().parents[2] / "demo_jobs"
LOTS = (
    "wren_lot_7",
    "wren_lot_7_mended",
    "heron_lot_14",
    "heron_lot_15",
    "heron_lot_17",
    "linnet_lot_3_trusses",
    "quartz_court_building_2",
)

Tree = dict[str, Any]
Way = tuple[str | int, ...]
"""Keys and indexes from the top of a job to one of its values."""

_NAMES = sorted({name.rsplit(".", 1)[-1] for name in fields()} | set(Job.model_fields))


@cache
def demo(name: str) -> Tree:
    """What a demo lot and all it builds upon state, merged; not to be changed."""
    return load(DEMOS / f"{name}.yaml").data


@cache
def ways(name: str) -> tuple[Way, ...]:
    """The way to each value of a demo, groups and lists too."""
    return tuple(_below(demo(name), ()))


def _below(node: Any, way: Way) -> Iterator[Way]:
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in items:
        yield (*way, key)
        yield from _below(value, (*way, key))


def odd_values() -> st.SearchStrategy[Any]:
    """A value that is odd in most places: a text, a number, a group, a list, any text at all."""
    return st.one_of(
        st.sampled_from(ODD_VALUES),
        st.sampled_from(ODD_TEXTS),
        st.text(max_size=30),
        st.floats().map(lambda number: f"{number} ft"),
        st.integers().map(str),
        st.dates().map(str),
    )


def trees() -> st.SearchStrategy[Any]:
    """Any small tree whose names are often those of fields."""
    return st.recursive(
        odd_values(),
        lambda inner: st.one_of(
            st.lists(inner, max_size=4),
            st.dictionaries(st.one_of(st.sampled_from(_NAMES), st.text(max_size=8)), inner, max_size=5),
        ),
        max_leaves=15,
    )


@st.composite
def spoiled(draw: st.DrawFn, lots: tuple[str, ...] = LOTS, most: int = 3) -> Tree:
    """The tree of a demo lot, changed in one to ``most`` places."""
    name = draw(st.sampled_from(lots))
    tree = copy.deepcopy(demo(name))
    for _ in range(draw(st.integers(1, most))):
        draw(st.sampled_from(_CHANGES))(draw, tree, draw(st.sampled_from(ways(name))), name)
    return tree


def _holder(tree: Tree, way: Way) -> Any:
    """What holds the value at a way; None where a change before took it away."""
    node: Any = tree
    for part in way[:-1]:
        try:
            node = node[part]
        except (KeyError, IndexError, TypeError):
            return None
    last = way[-1]
    inside = isinstance(node, dict) and last in node
    return node if inside or (isinstance(node, list) and isinstance(last, int) and last < len(node)) else None


def _drop(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    holder = _holder(tree, way)
    if holder is not None:
        del holder[way[-1]]


def _replace(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    holder = _holder(tree, way)
    if holder is not None:
        holder[way[-1]] = draw(odd_values())


def _exchange(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    """The value of another place of the job."""
    holder, other = _holder(tree, way), draw(st.sampled_from(ways(name)))
    source = _holder(tree, other)
    if holder is not None and source is not None:
        holder[way[-1]] = copy.deepcopy(source[other[-1]])


def _double(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    holder = _holder(tree, way)
    if isinstance(holder, list) and isinstance(way[-1], int):
        holder.insert(way[-1], copy.deepcopy(holder[way[-1]]))
    elif isinstance(holder, dict):
        holder[draw(st.sampled_from(_NAMES))] = copy.deepcopy(holder[way[-1]])


def _turn_over(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    holder = _holder(tree, way)
    if holder is not None and isinstance(holder[way[-1]], list):
        holder[way[-1]].reverse()


def _wrap(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    holder = _holder(tree, way)
    if holder is None:
        return
    for _ in range(draw(st.sampled_from((1, 2, 40)))):
        holder[way[-1]] = draw(st.sampled_from((lambda v: [v], lambda v: {"value": v})))(holder[way[-1]])


def _digits(draw: st.DrawFn, tree: Tree, way: Way, name: str) -> None:
    """A number put to another power of ten, or its unit to another."""
    holder = _holder(tree, way)
    if holder is None or not isinstance(holder[way[-1]], str):
        return
    text = holder[way[-1]]
    holder[way[-1]] = draw(
        st.sampled_from(
            (f"-{text}", f"1{text}", f"{text}0", f"0.00{text}", text.replace("ft", "in"), text.split(" ")[0])
        )
    )


_CHANGES: tuple[Callable[[st.DrawFn, Tree, Way, str], None], ...] = (
    _drop,
    _replace,
    _replace,
    _replace,
    _exchange,
    _exchange,
    _double,
    _turn_over,
    _wrap,
    _digits,
    _digits,
)


class _Plain(getattr(yaml, "CSafeDumper", yaml.SafeDumper)):
    """Writes what stands in two places out twice."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def written(tree: Any) -> bytes:
    """A tree as YAML, as a program would write it."""
    text: str = yaml.dump(tree, Dumper=_Plain, sort_keys=False, allow_unicode=True, width=1000)
    return text.encode("utf-8", "replace")


@st.composite
def mangled(draw: st.DrawFn) -> bytes:
    """The text of a demo lot with lines or bytes of it lost, doubled, moved or overwritten."""
    lines = (DEMOS / f"{draw(st.sampled_from(LOTS))}.yaml").read_bytes().splitlines(keepends=True)
    for _ in range(draw(st.integers(1, 4))):
        at, other = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        match draw(st.sampled_from(("lose", "double", "move", "indent", "overwrite", "cut", "insert"))):
            case "lose" if len(lines) > 1:
                del lines[at]
            case "double":
                lines.insert(at, lines[at])
            case "move":
                lines.insert(other, lines.pop(at))
            case "indent":
                lines[at] = b" " * draw(st.integers(1, 5)) + lines[at]
            case "overwrite":
                place = draw(st.integers(0, max(len(lines[at]) - 1, 0)))
                lines[at] = lines[at][:place] + draw(_SCRAPS) + lines[at][place + 1 :]
            case "cut":
                lines[at:] = [lines[at][: draw(st.integers(0, len(lines[at])))] or b"\n"]
            case "insert":
                lines.insert(at, draw(_SCRAPS) + b"\n")
    return b"".join(lines)


_SCRAPS = st.one_of(
    st.binary(max_size=6),
    st.sampled_from([b"'", b'"', b": ", b"- ", b"\t", b"#", b"&a ", b"*a", b"!!x ", b"[", b"{", b"|", b">"]),
    st.sampled_from([b"---", b"...", b"<<: ", b"? ", b"%", b"@", b"\r", b"\\", b"null", b"~", b"extends: x"]),
    st.sampled_from(ODD_TEXTS).map(lambda text: text.encode()),
)
