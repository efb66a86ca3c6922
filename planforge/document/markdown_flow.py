"""Markdown to flowables: headings, paragraphs, lists, notices, tables, and prepared objects.

In: Markdown text whose tokens (see :mod:`markup`) index a list of prepared objects. Out: a list
of blocks and page breaks. HTML, images, links, code blocks and entities are not Markdown here:
their characters print as they stand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, NamedTuple

from markdown_it import MarkdownIt
from markdown_it.token import Token

from planforge.document import fonts
from planforge.document.flowables import Anchor, Block, Break, Edges, Group, Heading, Inset, Rule, TextBlock
from planforge.document.form import FieldNames
from planforge.document.markup import TOKEN
from planforge.document.sheet import Sheet
from planforge.document.style import BODY, HEADINGS, ITEM, NOTICE, Align, TextStyle
from planforge.document.table import Table
from planforge.document.table_layout import Column, Row
from planforge.document.text import Box, Inline, Run
from planforge.errors import RefusedError

_INDENT: Final = 17.0
_NOTICE_LEFT: Final = 13.0
_NOTICE_RIGHT: Final = 8.0
_OUTLINED: Final = 2
_DISABLED: Final = (
    *("html_block", "html_inline", "image", "link", "autolink", "entity", "reference"),
    *("fence", "code", "lheading"),
)

Flow = list[Block | Break]


@dataclass(frozen=True, slots=True)
class Kept:
    """Markdown whose blocks stay on one page where one page can hold them."""

    source: str


Prepared = Block | Break | Kept | tuple[Inline, ...]


@lru_cache(maxsize=2)
def _parser(*, blocks: bool) -> MarkdownIt:
    """A parser of blocks, which leaves what stands in them as it is, or of what stands in one."""
    parser = MarkdownIt("commonmark", {"html": False}).enable("table").disable(list(_DISABLED))
    return parser.disable("inline") if blocks else parser


_MARKUP: Final = re.compile(r"[*_`\n]")
_ESCAPE: Final = re.compile(r"\\([!-/:-@\[-`{-~])")


@lru_cache(maxsize=20_000)
def _literal(source: str) -> str | None:
    """The text of Markdown that holds nothing but text, as most cells do; None where a parser must look.

    Backslashes before ASCII punctuation go (CommonMark 0.31, 2.4); only the asterisk, the underscore, the
    backtick and line ends can act as inline markup here.
    """
    if _MARKUP.search(_ESCAPE.sub("", source)):
        return None
    return _ESCAPE.sub(r"\1", source)


class _Piece(NamedTuple):
    """Text of inline Markdown in one look, or the end of a line."""

    text: str
    look: Literal["text", "code", "line end"] = "text"
    bold: bool = False
    italic: bool = False


@lru_cache(maxsize=20_000)
def _pieces(source: str) -> tuple[_Piece, ...]:
    """The pieces of inline Markdown; documents repeat their sentences."""
    bold = italic = False
    pieces: list[_Piece] = []
    for token in _parser(blocks=False).parseInline(source)[0].children or ():
        if token.type in {"strong_open", "strong_close"}:
            bold = token.type == "strong_open"
        elif token.type in {"em_open", "em_close"}:
            italic = token.type == "em_open"
        elif token.type in {"softbreak", "hardbreak"}:
            pieces.append(_Piece(" " if token.type == "softbreak" else "\n", "line end"))
        elif token.type == "code_inline":
            pieces.append(_Piece(token.content, "code"))
        elif token.content:
            pieces.append(_Piece(token.content, "text", bold, italic))
    return tuple(pieces)


class Converter:
    """Turns one document's Markdown into flowables; counts anchors and field names as it goes."""

    def __init__(self, prepared: Sequence[Prepared], names: FieldNames) -> None:
        """``prepared`` is what the tokens stand for, by index."""
        self._prepared = prepared
        self._names = names
        self._placed: set[int] = set()
        self.anchors: list[Anchor] = []

    def flow(self, source: str) -> Flow:
        """Return the blocks of ``source``; raise :class:`RefusedError` for a misplaced object."""
        return self._blocks(_Tokens(_parser(blocks=True).parse(source)), BODY, depth=0)

    def inlines(self, source: str, face: str = fonts.REGULAR) -> tuple[Inline, ...]:
        """Return inline Markdown as inlines in ``face``, as table cells and captions need it."""
        literal = _literal(source)
        if literal is not None:
            return tuple(self._resolved(literal, face))
        inlines: list[Inline] = []
        for piece in _pieces(source):
            if piece.look == "line end":
                inlines.append(Run(piece.text, face))
            elif piece.look == "code":
                inlines.extend(self._resolved(piece.text, fonts.SEMIBOLD))
            else:
                inlines.extend(self._resolved(piece.text, fonts.styled(piece.bold, piece.italic, face)))
        return tuple(inlines)

    def back_to(self, prepared: int, anchors: int) -> None:
        """Forget places and prepared objects but the first so many."""
        del self.anchors[anchors:]
        self._placed = {index for index in self._placed if index < prepared}

    def anchor(self, title: str, level: int) -> Anchor:
        """Record a place for the outline and return it."""
        return self._adopt(Anchor(title, level, ""))

    def _adopt(self, anchor: Anchor) -> Anchor:
        self.anchors.append(anchor)
        anchor.key = f"place{len(self.anchors)}"
        return anchor

    def _blocks(self, tokens: _Tokens, style: TextStyle, depth: int) -> Flow:
        flow: Flow = []
        for token in tokens:
            if token.type == "heading_open":
                flow.extend(self._heading(tokens.until("heading_close")[0], int(token.tag[1])))
            elif token.type == "paragraph_open":
                flow.extend(self._paragraph(tokens.until("paragraph_close")[0], style))
            elif token.type in {"bullet_list_open", "ordered_list_open"}:
                flow.extend(self._list(token, tokens, depth))
            elif token.type == "blockquote_open":
                inner = _Tokens(tokens.until("blockquote_close"))
                flow.extend(_framed(self._blocks(inner, NOTICE, depth)))
            elif token.type == "table_open":
                flow.append(self._table(tokens.until("table_close")))
            elif token.type == "hr":
                flow.append(Rule())
        return flow

    def _heading(self, inline: Token, level: int) -> Flow:
        level = min(level, max(HEADINGS))
        inlines = self.inlines(inline.content, HEADINGS[level].face)
        anchor = self.anchor(_plain(inlines), level) if level <= _OUTLINED else None
        heading = Heading(inlines, level, anchor)
        return [Break(), heading] if level == 1 else [heading]

    def _paragraph(self, inline: Token, style: TextStyle) -> Flow:
        match = TOKEN.fullmatch(inline.content.strip())
        index = int(match[1]) if match else -1
        prepared = self._prepared[index] if match else ()
        if isinstance(prepared, tuple):
            return [TextBlock(self.inlines(inline.content, style.face), style)]
        if index in self._placed:
            raise RefusedError("a template prints one prepared block twice; make it again instead")
        self._placed.add(index)
        if isinstance(prepared, Kept):
            return [Group([block for block in self.flow(prepared.source) if isinstance(block, Block)])]
        if isinstance(prepared, Sheet):
            self._adopt(prepared.anchor)
            return [Break("sheet"), prepared, Break()]
        return [prepared]

    def _list(self, opening: Token, tokens: _Tokens, depth: int) -> Flow:
        closing = opening.type.replace("open", "close")
        number = int(opening.attrGet("start") or 1)
        items = _Tokens(tokens.until(closing))
        flow: Flow = []
        for token in items:
            if token.type != "list_item_open":
                continue
            inner = items.until("list_item_close")
            mark: str | Box = f"{number}." if opening.type.startswith("ordered") else "•–"[min(depth, 1)]
            box = _task(inner)
            if box:
                mark = Box(box, self._names.unique(box))
            for block in self._blocks(_Tokens(inner), ITEM, depth + 1):
                flow.append(block if isinstance(block, Break) else Inset(block, _INDENT, mark=mark))
                mark = ""
            number += 1
        if flow and depth == 0 and isinstance(flow[-1], Block):
            flow[-1].space_after = BODY.space_after
        return flow

    def _table(self, tokens: Sequence[Token]) -> Table:
        rows: list[list[tuple[Inline, ...]]] = []
        aligns: list[Align] = []
        for position, token in enumerate(tokens):
            if token.type == "tr_open":
                rows.append([])
            elif token.type in {"th_open", "td_open"}:
                face = fonts.SEMIBOLD if token.type == "th_open" else fonts.REGULAR
                rows[-1].append(self.inlines(tokens[position + 1].content, face))
                if token.type == "th_open":
                    aligns.append(_alignment(token))
        columns = [Column(cell, align) for cell, align in zip(rows[0], aligns, strict=True)]
        return Table(columns, [Row(tuple(cells)) for cells in rows[1:]])

    def _resolved(self, content: str, face: str) -> Iterator[Inline]:
        """Swap inline tokens in ``content`` for what they stand for."""
        position = 0
        for match in TOKEN.finditer(content):
            if match.start() > position:
                yield Run(content[position : match.start()], face)
            prepared = self._prepared[int(match[1])]
            if not isinstance(prepared, tuple):
                raise RefusedError(
                    f"a {type(prepared).__name__.lower()} stands inside a sentence near "
                    f"{content[max(0, position - 30) : match.start()]!r}; give it a line of its own"
                )
            yield from prepared
            position = match.end()
        if position < len(content):
            yield Run(content[position:], face)


class _Tokens:
    """A forward reader over parser tokens."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self._tokens = tokens
        self._position = 0

    def __iter__(self) -> Iterator[Token]:
        while self._position < len(self._tokens):
            self._position += 1
            yield self._tokens[self._position - 1]

    def until(self, closing: str) -> list[Token]:
        """Take the tokens up to the ``closing`` one that matches the last opening token."""
        start = self._position
        opening = self._tokens[start - 1].type
        level = 1
        for token in self:
            level += (token.type == opening) - (token.type == closing)
            if level == 0:
                break
        return list(self._tokens[start : self._position - 1])


def _plain(inlines: Sequence[Inline]) -> str:
    return "".join(inline.text for inline in inlines if isinstance(inline, Run)).strip()


def _alignment(token: Token) -> Align:
    style = str(token.attrGet("style") or "")
    return "right" if "right" in style else "center" if "center" in style else "left"


def _task(item: Sequence[Token]) -> str:
    """Cut ``[ ]`` from a task item's first paragraph and return its label; empty if it is none."""
    if len(item) < 2 or item[1].type != "inline" or not item[1].content.startswith("[ ] "):
        return ""
    inline = item[1]
    shown = "".join(piece.text for piece in _pieces(inline.content) if piece.look != "line end")
    if not shown.startswith("[ ] "):
        return ""
    inline.content = inline.content[4:]
    return shown[4:] or "check"


def _framed(flow: Flow) -> Flow:
    """Frame a notice's blocks: the first carries the upper edge, the last the lower one."""
    blocks = [block for block in flow if isinstance(block, Block)]
    last = len(blocks) - 1
    return [
        Inset(block, _NOTICE_LEFT, _NOTICE_RIGHT, edges=Edges(index == 0, index == last))
        for index, block in enumerate(blocks)
    ]


def without_first_break(flow: Flow) -> Flow:
    """Drop the page break before a part title, for a part that continues on the page."""
    return flow[1:] if flow and isinstance(flow[0], Break) else flow
