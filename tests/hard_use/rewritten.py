"""Sound jobs with other texts in them, and more or fewer of everything: what the pages must still hold."""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import cache
from typing import Any

from hypothesis import strategies as st

from planforge.job.reference import describe, fields

from .mutations import Tree, Way, demo, ways

KEPT = frozenset({"format", "extends", "variances.check", "variances.where", "sign_offs.role"})
"""Texts that the reader or a check takes for something else than a text."""


@cache
def _free_texts() -> frozenset[str]:
    texts = {name for name in fields() if describe(name).type.startswith(("a text", "a list of texts"))}
    return frozenset(texts - KEPT)


@cache
def text_ways(name: str) -> tuple[Way, ...]:
    """The way to each free text of a demo lot; the texts that a translation looks up are left as they are."""
    found = []
    for way in ways(name):
        dotted = ".".join(part for part in way if isinstance(part, str))
        if dotted in _free_texts() and isinstance(at(demo(name), way), str) and way[0] != "house":
            found.append(way)
    return tuple(found)


def at(tree: Any, way: Way) -> Any:
    """The value at a way."""
    for part in way:
        tree = tree[part]
    return tree


def with_texts(name: str, texts: dict[Way, str]) -> Tree:
    """A demo lot with other texts."""
    tree = copy.deepcopy(demo(name))
    for way, text in texts.items():
        at(tree, way[:-1])[way[-1]] = text
    return tree


_LISTS: tuple[Way, ...] = (
    ("people",),
    ("hazards",),
    ("phases",),
    ("lower_levels",),
    ("tasks",),
    ("inspections",),
    ("sign_offs",),
    ("access",),
    ("hand_overs",),
    ("plan", "history"),
    ("equipment", "tools"),
    ("equipment", "lifting_gear"),
    ("layout", "anchors"),
    ("layout", "lines"),
    ("layout", "places"),
    ("layout", "zones"),
    ("erection", "sequence"),
    ("removal", "sequence"),
    ("weather", "stops"),
    ("rescue", "contacts"),
    ("rescue", "steps"),
    ("rescue", "teams"),
    ("rescue", "means"),
    ("power_lines", "lines"),
    ("slab", "contents"),
)
_PARTS = (
    "delivery",
    "erection",
    "removal",
    "weather",
    "power_lines",
    "inspections",
    "sign_offs",
    "hand_overs",
)


def grown(tree: Tree, draw: Callable[[st.SearchStrategy[Any]], Any]) -> None:
    """Make a few lists of a job much longer, cut a few to one, and leave out a few whole parts."""
    for way in draw(st.lists(st.sampled_from(_LISTS), max_size=5, unique=True)):
        try:
            items = at(tree, way)
        except KeyError:
            continue
        if items and draw(st.booleans()):
            items += [_like(items[n % len(items)], n) for n in range(draw(st.integers(1, 39)))]
        elif items:
            del items[1:]
    for part in draw(st.lists(st.sampled_from(_PARTS), max_size=2)):
        tree.pop(part, None)


def _like(item: Any, number: int) -> Any:
    """A copy under an id and names of its own."""
    if not isinstance(item, dict):
        return f"{item} ({number})" if isinstance(item, str) else copy.deepcopy(item)
    own = copy.deepcopy(item)
    if "id" in own:
        own["id"] = f"{own['id'][:30]}-n{number}"
    for name in ("name", "do", "serial"):
        if isinstance(own.get(name), str):
            own[name] = f"{own[name]} number {number} of many of its kind"
    return own
