"""Two languages' templates side by side: their structure without the words, and their words in pairs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from jinja2 import Environment, nodes

TEMPLATES = Path(__file__).parents[2] / "templates"

_KEYS = (nodes.Compare, nodes.Filter, nodes.Getitem, nodes.Test, nodes.FromImport, nodes.Import)
"""Strings below these are names that values go by; they are the same in every language."""

_NAMES = frozenset(
    {"", "–", "left", "center", "right", "solid", "framed", "confirm", "item", "serial", "on", "by"}
)
_NAMES_TOO = frozenset({"result", "due", ", ", "; ", " · ", "≤ ", "tie-off-map-"})

Piece = tuple[str, str]
"""What a node is, and its words where it has words that a language says in its own way."""


def tree(language: str, name: str) -> nodes.Template:
    return Environment().parse((TEMPLATES / language / name).read_text("utf-8"))


def pieces(node: nodes.Node, key: bool = False) -> Iterator[Piece]:
    """Every node in reading order."""
    if isinstance(node, nodes.TemplateData):
        yield "prose " + marks(node.data), node.data
    elif isinstance(node, nodes.Const):
        yield from _constant(node.value, key)
    elif isinstance(node, nodes.CondExpr) and _is_share(node.expr1):
        yield "share", ""
    else:
        fields = [(f, v) for f, v in node.iter_fields() if isinstance(v, str | int | bool)]
        yield type(node).__name__ + str(fields), ""
        for child in node.iter_child_nodes():
            below = key or isinstance(node, _KEYS)
            is_key = isinstance(node, nodes.Pair) and child is node.key
            yield from pieces(child, below or is_key)


def _constant(value: object, key: bool) -> Iterator[Piece]:
    if isinstance(value, float):
        yield "share", ""  # of a column's width: words are longer in one language
    elif not isinstance(value, str) or key or value in _NAMES | _NAMES_TOO:
        yield f"value {value!r}", ""
    else:
        yield "words", value


def _is_share(node: nodes.Node) -> bool:
    return isinstance(node, nodes.Const) and isinstance(node.value, float)


def marks(prose: str) -> str:
    """The Markdown of a stretch of prose without its words: headings, items, cells, emphasis, lines."""
    return "".join(re.findall(r"^#+|^- |\||\*\*|\n", prose, re.M))


def macros(template: nodes.Template) -> dict[str, nodes.Macro]:
    return {macro.name: macro for macro in template.find_all(nodes.Macro)}
