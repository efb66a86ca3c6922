"""Sound jobs with other texts in them, and more or fewer of everything: what the pages must still hold."""

from __future__ import annotations

import copy
from functools import cache
from typing import Any

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
