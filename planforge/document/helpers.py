"""What a template can place beside prose: tables, tags, fields, signatures, figures, sheets.

Every helper prepares a flowable (or inlines) and returns its token as Markdown. Plain strings
given to a helper are data: they are cleaned and printed literally. A ``Markdown`` string given
to a cell is inline Markdown.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final, cast

from markupsafe import Markup

from planforge.document import fonts, text
from planforge.document.flowables import Anchor, Break, Contents, Group, Space, TextBlock
from planforge.document.form import FieldNames
from planforge.document.markdown_flow import Converter, Kept, Prepared
from planforge.document.markup import Markdown, clean, stated, token
from planforge.document.picture import FigureBlock
from planforge.document.qr import QrBlock, QrCode
from planforge.document.sheet import Sheet
from planforge.document.signature import Signature, SignatureLine
from planforge.document.style import CELL, ITEM, Align
from planforge.document.table import Table
from planforge.document.table_layout import Cell, Column, Row, heading_cell
from planforge.document.words import Verdict, Words
from planforge.errors import RefusedError
from planforge.figures.figure_set import Drawing

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from planforge.document.picture import Picture

_LEAST_SIZE: Final = 8.5
_LOOKS: Final[dict[str, text.Look]] = {
    "meets": "plain",
    "short": "solid",
    "confirm": "framed",
    "not applicable": "faint",
}


@dataclass(frozen=True, slots=True)
class ColumnSpec:
    """A column as a template states it; ``key`` is an attribute, mapping key or position."""

    heading: str
    key: str | int
    align: Align
    share: float | None


@dataclass(frozen=True, slots=True)
class GroupRow:
    """A row that spans the table and heads the rows below it."""

    text: str


@lru_cache(maxsize=20_000)
def _plain_cell(value: str) -> Cell:
    """Plain text as a cell, line by line; tables repeat their texts."""
    return text.plain("\n".join(clean(line) for line in value.split("\n")))


def _values(row: object, specs: Sequence[ColumnSpec]) -> list[object]:
    """What each column takes from a row."""
    private = next((spec for spec in specs if isinstance(spec.key, str) and spec.key.startswith("_")), None)
    if private is not None:
        raise RefusedError(f"column {private.heading!r} asks for the private name {private.key!r}")
    if isinstance(row, Mapping):
        return [row[spec.key] for spec in specs]
    if isinstance(row, Sequence) and not isinstance(row, str):
        return [row[spec.key if isinstance(spec.key, int) else n] for n, spec in enumerate(specs)]
    return [getattr(row, str(spec.key)) for spec in specs]


class Figures:
    """The document's figures by name; one that is given as a function is drawn up on first use."""

    def __init__(self, figures: Mapping[str, Figure | Callable[[], Figure]]) -> None:
        """Keep the mapping; nothing is drawn yet."""
        self._figures = figures
        self._made: dict[str, Picture] = {}

    def get(self, name: str) -> Picture:
        """Return the figure ``name``; raise :class:`RefusedError` where there is none."""
        if name not in self._figures:
            known = ", ".join(sorted(self._figures)) or "none"
            raise RefusedError(f"a template asks for the figure {name!r}; this document has: {known}")
        if name not in self._made:
            figure = self._figures[name]
            if isinstance(figure, Drawing):
                self._made[name] = figure.paper
            else:
                self._made[name] = figure() if callable(figure) else figure
        return self._made[name]


@dataclass
class Desk:
    """Everything prepared for one document: objects by token, field names, figures, words."""

    figures: Figures
    words: Words
    names: FieldNames = field(default_factory=FieldNames)
    prepared: list[Prepared] = field(default_factory=list)
    converter: Converter = field(init=False)

    def __post_init__(self) -> None:
        """Make the converter that reads this desk's tokens."""
        self.converter = Converter(self.prepared, self.names)

    def mark(self) -> tuple[FieldNames, int, int]:
        """What :meth:`back_to` needs to put the desk back as it is now."""
        return self.names.copy(), len(self.prepared), len(self.converter.anchors)

    def back_to(self, mark: tuple[FieldNames, int, int]) -> None:
        """Forget what came onto the desk since ``mark`` was taken."""
        names, prepared, anchors = mark
        self.names.take(names)
        del self.prepared[prepared:]
        self.converter.back_to(prepared, anchors)

    def put(self, item: Prepared) -> Markdown:
        """Keep ``item`` and return its token."""
        self.prepared.append(item)
        return token(len(self.prepared) - 1, block=not isinstance(item, tuple))

    def put_inline(self, *inlines: text.Inline) -> Markdown:
        """Keep ``inlines`` and return their token."""
        return self.put(inlines)

    def cell(self, value: object) -> Cell:
        """Return any value as a cell: Markdown as Markdown, everything else as plain text."""
        if isinstance(value, Markup):
            return self.converter.inlines(str(value))
        return _plain_cell(stated(value))

    # -- inline helpers -------------------------------------------------------------------

    def verdict(self, verdict: str, label: str = "") -> Markdown:
        """Return a verdict's tag; the frame carries the meaning in black and white."""
        if verdict not in _LOOKS:
            raise RefusedError(f"unknown verdict {verdict!r}; known: {', '.join(_LOOKS)}")
        words = clean(label) or self.words.verdicts[cast("Verdict", verdict)]
        return self.put_inline(text.Tag(words, _LOOKS[verdict]))

    def tag(self, label: str, look: text.Look = "framed") -> Markdown:
        """Return ``label`` as a tag: ``plain``, ``framed``, ``solid`` or ``faint``."""
        return self.put_inline(text.Tag(clean(label), look))

    def blank(self, label: str, width: float = 0.0, *, ruled: bool = True) -> Markdown:
        """Return a line to fill, ``width`` inches; 0 takes the rest of the printed line."""
        points = 72.0 * width if width else 60.0
        return self.put_inline(
            text.Blank(clean(label), points, self.names.unique(label), stretch=not width, ruled=ruled)
        )

    def signed(self, role: str, width: float = 0.0, *, ruled: bool = True) -> Markdown:
        """Return a line to sign on as ``role``, by hand or with a certificate; ``width`` as for a blank."""
        points = 72.0 * width if width else 60.0
        name = self.names.unique(f"signature {role}")
        return self.put_inline(
            text.Blank(clean(role), points, name, stretch=not width, ruled=ruled, signed=True)
        )

    def field(self, label: str, width: float = 0.0) -> Markdown:
        """Return ``label`` followed by a line to fill, ``width`` inches or the rest of the line."""
        gap = "\u00a0\u00a0" if width else ""
        return Markdown(f"{Markdown.escape(label)} {self.blank(label, width)}{gap}")

    def checkbox(self, label: str, *, shown: bool = True) -> Markdown:
        """Return an empty box and its label, which only a reader of the form sees where not ``shown``."""
        box = text.Box(clean(label), self.names.unique(label))
        if not shown:
            return self.put_inline(box)
        return self.put_inline(box, text.Run(f"\u00a0{clean(label)}\u00a0\u00a0"))

    # -- block helpers --------------------------------------------------------------------

    def column(
        self, heading: str, key: str | int, align: Align = "left", share: float | None = None
    ) -> ColumnSpec:
        """Describe a column; ``share`` (0 to 1) fixes its part of the table's width."""
        return ColumnSpec(heading, key, align, share)

    def group(self, label: str) -> GroupRow:
        """Return a row that heads the rows below it."""
        return GroupRow(label)

    def table(
        self,
        rows: Sequence[object],
        columns: Sequence[ColumnSpec | Sequence[Any]],
        *,
        grid: bool = False,
        row_height: float = 0.0,
        empty: str = "",
        size: float = CELL.size,
        tight: bool = False,
    ) -> Markdown:
        """Place a table; ``row_height`` in inches; ``empty`` is said where there are no rows.

        ``tight`` sets the rows of a long list in small print closer.
        """
        if size < _LEAST_SIZE:
            raise RefusedError(f"table text of {size} pt is too small outdoors; least {_LEAST_SIZE} pt")
        specs = [c if isinstance(c, ColumnSpec) else self.column(*c) for c in columns]
        if not rows:
            return Markdown(f"\n\n*{Markdown.escape(empty or self.words.empty_table)}*\n\n")
        made = Table(
            [Column(heading_cell(clean(s.heading)), s.align, s.share) for s in specs],
            [self._row(row, specs) for row in rows],
            grid=grid,
            row_height=72.0 * row_height,
            style=replace(CELL, size=size, leading=size * CELL.leading / CELL.size),
            tight=tight,
        )
        return self.put(made)

    def _row(self, row: object, specs: Sequence[ColumnSpec]) -> Row:
        if isinstance(row, GroupRow):
            return Row((text.plain(clean(row.text), fonts.SEMIBOLD),), group=True)
        return Row(tuple(map(self._value, _values(row, specs), specs)))

    def _value(self, value: object, spec: ColumnSpec) -> Cell:
        if spec.key == "verdict" and isinstance(value, str) and value in _LOOKS:
            return (text.Tag(self.words.verdicts[cast("Verdict", value)], _LOOKS[value]),)
        return self.cell(value)

    def rows_to_sign(
        self, count: int, columns: Sequence[str], names: Sequence[str] = (), height: float = 0.3
    ) -> Markdown:
        """Place a ruled table to fill in: ``names`` first in the first column, then blank rows."""
        fields = self.names
        rows: list[Row] = []
        for index in range(max(count, len(names))):
            cells: list[Cell] = []
            for position, heading in enumerate(columns):
                if position == 0 and index < len(names):
                    cells.append(text.plain(clean(names[index])))
                    continue
                label = f"{clean(heading)} {index + 1}"
                cells.append((text.Blank(label, 24.0, fields.unique(label), stretch=True, ruled=False),))
            rows.append(Row(tuple(cells)))
        made = [Column(heading_cell(clean(heading))) for heading in columns]
        return self.put(Table(made, rows, grid=True, row_height=72.0 * height))

    def signature(
        self,
        role: str,
        name: str = "",
        fields: Sequence[str] = (),
        statement: str = "",
    ) -> Markdown:
        """Place a signature block: name, signature, date, and any further ``fields``."""
        words = self.words
        labels = [(words.name, 1.3, clean(name)), (words.signature, 1.6, ""), (words.date, 0.8, "")]
        labels += [(clean(label), 1.0, "") for label in fields]
        lines = [
            SignatureLine(
                label, share, self.names.unique(f"{role} {label}"), value, signed=label == words.signature
            )
            for label, share, value in labels
        ]
        texts = [text.plain(clean(role), fonts.SEMIBOLD), self.cell(statement)]
        blocks = [TextBlock(inlines, ITEM) for inlines in texts if inlines]
        return self.put(Group([*blocks, Signature(clean(role), lines)]))

    def figure(self, name: str, caption: str = "") -> Markdown:
        """Place a figure at true size in the text, with a caption below."""
        return self.put(FigureBlock(self.figures.get(name), name, self._caption(caption)))

    def _caption(self, caption: str) -> Cell:
        if isinstance(caption, Markup):
            return self.converter.inlines(str(caption), fonts.ITALIC)
        return text.plain(clean(caption), fonts.ITALIC)

    def sheet(self, name: str, title: str, scale: str = "", number: str = "") -> Markdown:
        """Place a figure on an 11x17 landscape sheet of its own, with a title block."""
        anchor = Anchor(clean(title), 2, "")
        return self.put(Sheet(self.figures.get(name), name, anchor, clean(scale), clean(number)))

    def qr(self, content: str, beside: str = "", inches: float = 1.1) -> Markdown:
        """Place a QR code of ``content`` with text at its right."""
        return self.put(QrBlock(QrCode(clean(content), 72.0 * inches), self.cell(beside)))

    def toc(self, depth: int = 1) -> Markdown:
        """Place the list of contents: parts, and sections at ``depth`` 2."""
        return self.put(Contents(depth, self.converter.anchors))

    def page_break(self) -> Markdown:
        """Go to a new page."""
        return self.put(Break())

    def space(self, inches: float) -> Markdown:
        """Leave room."""
        return self.put(Space(72.0 * inches))

    def keep(self, source: str = "", caller: Callable[[], str] | None = None) -> Markdown:
        """Keep blocks on one page: ``{% call keep() %} ... {% endcall %}``."""
        return self.put(Kept(str(caller()) if caller is not None else str(source)))
