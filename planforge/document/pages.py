"""Draws laid-out pages: content, headers and footers, title blocks, draft marks, bookmarks.

Every page, portrait or sheet, carries plan number, revision, lot, date, short fingerprint and
"page x of y". Texts that are too long are fitted: shrunk, then cut in the middle.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, combinations, pairwise
from typing import Any, Final

from planforge.document import fonts, marks
from planforge.document.paginate import Page, anchor_of
from planforge.document.qr import QrCode
from planforge.document.style import (
    GREY,
    HAIRLINE,
    LEFT,
    LETTER,
    RIGHT,
    RULE,
    SHEET_MARGIN,
    SHEET_STRIP,
    TABLOID,
)
from planforge.document.words import Words
from planforge.document.written import DRAFT_STATE
from planforge.figures.drafting import LEAST_TEXT

_SMALL: Final = 8.6
_SMALLEST: Final = 6.5
_BAND: Final = 15.0
_SHEET_TEXT: Final = LEAST_TEXT
_SHEET_VALUE: Final = 11.5
_STATUS_WIDTH: Final = 220.0
_STATUS_LEADING: Final = 1.12


@dataclass(frozen=True, slots=True)
class DocumentMeta:
    """What identifies the document on every page. ``fingerprint`` is hexadecimal, in full.

    ``language`` is the whole document's; ``headings`` gives title and status line of pages in another.
    """

    plan_number: str
    revision: str
    lot: str
    title: str
    date: dt.date
    fingerprint: str
    draft: bool = False
    status_line: str = ""
    language: str = "en"
    headings: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    subject: str = ""
    """What a document that is no plan of one lot is about; it stands in place of plan, revision and lot."""

    def heading(self, language: str) -> tuple[str, str]:
        """Title and status line on a page in ``language``."""
        return self.headings.get(language, (self.title, self.status_line))

    @property
    def short_fingerprint(self) -> str:
        """The first 16 digits in groups of four."""
        return " ".join(self.fingerprint[start : start + 4] for start in range(0, 16, 4)).strip()

    @property
    def qr_content(self) -> str:
        """What the QR code says: number, revision and the full fingerprint, readable without a network."""
        return f"{self.name} {self.fingerprint}"

    @property
    def name(self) -> str:
        """The document in a few words: number and revision of a plan, else its subject."""
        return self.subject or f"{self.plan_number} rev {self.revision}"


def _fitted(
    canvas: Any,
    x: float,
    y: float,
    value: str,
    face: str,
    size: float,
    room: float,
    at: float,
    least: float = _SMALLEST,
) -> float:
    """Draw ``value`` within ``room`` points; ``at`` 0, 0.5, 1 sets left, centre, right. Return its width."""
    value, size = fonts.fit(value, face, size, max(room, 1.0), min(size, least))
    width = fonts.width(value, face, size)
    fonts.draw(canvas, x + (room - width) * at, y, value, face, size)
    return width


def identity(meta: DocumentMeta, words: Words) -> str:
    """Return plan, revision and lot in one line; or the subject."""
    return meta.subject or f"{words.plan} {meta.plan_number} · {words.revision} {meta.revision} · {meta.lot}"


def draw_pages(canvas: Any, pages: Sequence[Page], meta: DocumentMeta) -> None:
    """Draw every page in order; the outline and link targets are set as headings pass."""
    outline_level = -1
    sheets = sum(page.kind == "sheet" for page in pages)
    drawn = 0
    for number, page in enumerate(pages, start=1):
        canvas.setPageSize(page.frame.paper)
        foreign = page.words.language != meta.language
        if foreign:  # a document has one /Lang; what differs says so itself (ISO 32000-1, 14.9.2)
            canvas._code.append(f"/Span <</Lang ({page.words.language})>> BDC")
        if page.kind == "sheet":
            drawn += 1
            order = page.words.sheet_of.format(number=drawn, sheets=sheets)
            _draw_sheet_furniture(canvas, page, meta, number, len(pages), order)
        else:
            _draw_header(canvas, page, meta)
            _draw_footer(canvas, page, meta, number, len(pages))
        marks.ink(canvas, 0)
        for placed in page.placed:
            outline_level = _mark(canvas, placed.block, placed.y + placed.height, outline_level)
            placed.block.draw_on(canvas, placed.x, placed.y)
        if meta.draft:
            _draw_draft_mark(canvas, page)
        if foreign:
            canvas._code.append("EMC")
        canvas.showPage()


def _mark(canvas: Any, block: Any, top: float, last_level: int) -> int:
    anchor = anchor_of(block)
    if anchor is None:
        return last_level
    level = min(anchor.level - 1, last_level + 1)
    canvas.bookmarkHorizontalAbsolute(anchor.key, top + 8)
    canvas.addOutlineEntry(anchor.title, anchor.key, level, closed=level == 0)
    return level


def _draw_band(canvas: Any, x: float, y: float, width: float, words: Words) -> None:
    marks.shade(canvas, x, y, width, _BAND)
    marks.ink(canvas, 1)
    for at in (0.0, 0.5, 1.0):
        _fitted(canvas, x + 8, y + 4.2, words.draft_band, fonts.BOLD, 10.0, width - 16, at)
    marks.ink(canvas, 0)


def _draw_status(canvas: Any, right: float, y: float, room: float, status: str) -> float:
    """Draw the status line in a frame that ends at ``right``; return the room it took."""
    label, size = fonts.fit(status, fonts.BOLD, 9.0, room - 8, _SMALLEST)
    width = fonts.width(label, fonts.BOLD, size)
    marks.ink(canvas, 0)
    marks.frame(canvas, right - width - 8, y - 3.2, width + 8, 12.4, 1.0)
    fonts.draw(canvas, right - width - 4, y, label, fonts.BOLD, size)
    return width + 8


def _draw_header(canvas: Any, page: Page, meta: DocumentMeta) -> None:
    width, height = LETTER[0] - LEFT - RIGHT, LETTER[1]
    right = LEFT + width
    title, status = meta.heading(page.words.language)
    if meta.draft:
        _draw_band(canvas, LEFT, height - 35, width, page.words)
    marks.ink(canvas, 0)
    used = _fitted(canvas, LEFT, height - 48, identity(meta, page.words), fonts.BOLD, _SMALL, width * 0.62, 0)
    _fitted(canvas, LEFT + used + 16, height - 48, title, fonts.SEMIBOLD, _SMALL, width - used - 16, 1)
    marks.rule(canvas, LEFT, right, height - 53, RULE)
    taken = _draw_status(canvas, right, height - 65.5, width * 0.6, status) if status else 0.0
    marks.ink(canvas, GREY)
    _fitted(canvas, LEFT, height - 65, page.part, fonts.ITALIC, _SMALL, width - taken - 12, 0)


def _draw_footer(canvas: Any, page: Page, meta: DocumentMeta, number: int, total: int) -> None:
    width, words = LETTER[0] - LEFT - RIGHT, page.words
    marks.rule(canvas, LEFT, LEFT + width, 45, HAIRLINE)
    marks.ink(canvas, GREY)
    fingerprint = f"{words.fingerprint} {meta.short_fingerprint}"
    _fitted(canvas, LEFT, 34, f"{words.date} {words.day(meta.date)}", fonts.REGULAR, _SMALL, width / 3, 0)
    _fitted(canvas, LEFT + width / 3, 34, fingerprint, fonts.REGULAR, _SMALL, width / 3, 0.5)
    marks.ink(canvas, 0)
    count = words.page_of.format(page=number, pages=total)
    _fitted(canvas, LEFT + 2 * width / 3, 34, count, fonts.SEMIBOLD, _SMALL, width / 3, 1)


def _draw_sheet_furniture(
    canvas: Any, page: Page, meta: DocumentMeta, number: int, total: int, order: str
) -> None:
    width, height = TABLOID[0] - 2 * SHEET_MARGIN, TABLOID[1] - 2 * SHEET_MARGIN
    if meta.draft:
        _draw_band(canvas, SHEET_MARGIN, TABLOID[1] - SHEET_MARGIN + 5, width, page.words)
    marks.frame(canvas, SHEET_MARGIN, SHEET_MARGIN, width, height, 1.4)
    strip_top = SHEET_MARGIN + SHEET_STRIP
    marks.rule(canvas, SHEET_MARGIN, SHEET_MARGIN + width, strip_top, 0.9)
    x = SHEET_MARGIN
    status = meta.heading(page.words.language)[1]
    if status:
        _draw_sheet_status(canvas, x, SHEET_MARGIN, _STATUS_WIDTH, status)
        x += _STATUS_WIDTH
    cells = width - SHEET_STRIP - (_STATUS_WIDTH if status else 0.0)
    for share, entries in _title_block(page, meta, number, total, order):
        room = share * cells
        if x > SHEET_MARGIN:
            marks.line(canvas, x, SHEET_MARGIN, x, strip_top, 0.9)
        for row, (label, value) in enumerate(entries):
            y = strip_top - 12 - row * SHEET_STRIP / 2
            marks.ink(canvas, 0)
            _fitted(canvas, x + 7, y, label, fonts.REGULAR, _SHEET_TEXT, room - 14, 0, _SHEET_TEXT)
            _fitted(canvas, x + 7, y - 13, value, fonts.BOLD, _SHEET_VALUE, room - 14, 0, _SHEET_TEXT)
        x += room
    marks.line(canvas, x, SHEET_MARGIN, x, strip_top, 0.9)
    QrCode(meta.qr_content, SHEET_STRIP - 4).draw(canvas, x + 2, SHEET_MARGIN + 2)


def status_lines(status: str, room: float, height: float) -> tuple[tuple[str, ...], float]:
    """The status in as many lines as let it be largest in ``room`` x ``height``, and its size."""
    words = status.split()
    found: list[tuple[float, tuple[str, ...]]] = []
    for cuts in chain(*(combinations(range(1, len(words)), n) for n in range(min(len(words), 3)))):
        lines = tuple(" ".join(words[a:b]) for a, b in pairwise((0, *cuts, len(words))))
        widest = max(fonts.width(line, fonts.BOLD, 1.0) for line in lines)
        found.append((min(room / widest, height / (_STATUS_LEADING * len(lines))), lines))
    size, lines = max(found)
    return lines, size


def _draw_sheet_status(canvas: Any, x: float, y: float, width: float, status: str) -> None:
    """White on black in the title block: what is not released says so largest, on a cut print too."""
    marks.shade(canvas, x, y, width, SHEET_STRIP)
    marks.ink(canvas, 1)
    lines, size = status_lines(status, width - 16, SHEET_STRIP - 8)
    lead = size * _STATUS_LEADING
    for n, line in enumerate(lines):
        base = y + SHEET_STRIP / 2 + lead * (len(lines) / 2 - n) - lead / 2 - 0.35 * size
        fonts.draw(
            canvas, x + (width - fonts.width(line, fonts.BOLD, size)) / 2, base, line, fonts.BOLD, size
        )
    marks.ink(canvas, 0)


_Entries = tuple[tuple[str, str], ...]


def _title_block(
    page: Page, meta: DocumentMeta, number: int, total: int, order: str
) -> tuple[tuple[float, _Entries], ...]:
    """Return the title block's cells: each a share of the strip and its label-and-value rows.

    ``order`` says which of the document's sheets it is.
    """
    words, sheet = page.words, page.sheet
    title = sheet.anchor.title if sheet else ""
    mark = f"{words.sheet} {sheet.number}" if sheet and sheet.number else words.sheet
    scale = sheet.scale if sheet else ""
    return (
        (0.40, ((mark, title), (words.document, meta.heading(words.language)[0]))),
        (
            0.20,
            (
                (words.plan, meta.plan_number),
                (f"{words.revision} · {words.lot}", f"{meta.revision} · {meta.lot}"),
            ),
        ),
        (0.18, ((words.scale, scale or "–"), (words.date, words.day(meta.date)))),
        (
            0.22,
            (
                (words.fingerprint, meta.short_fingerprint),
                (order, words.page_of.format(page=number, pages=total)),
            ),
        ),
    )


def _draw_draft_mark(canvas: Any, page: Page) -> None:
    """Draw the diagonal word over the page: outlined and half transparent, so that it hides no text."""
    width, height = page.frame.paper
    word = page.words.draft
    size = min(0.6 * math.hypot(width, height) / fonts.width(word, fonts.BOLD, 1.0), 0.3 * height)
    with marks.turned(canvas, width / 2, height / 2, math.atan2(height, width)):
        canvas._code.append(f"/{DRAFT_STATE} gs 0 G 1.4 w 1 Tr")  # 1: letters in outline
        fonts.draw(canvas, -fonts.width(word, fonts.BOLD, size) / 2, -0.33 * size, word, fonts.BOLD, size)
