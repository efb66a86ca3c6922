"""A workbook's sheet as rows of cells: what a reader of the sheet sees, or a fault where that is in doubt.

openpyxl reads the cells, a row at a time. What it passes over in that mode, merged cells and hidden rows,
is read from the sheet's own XML (ECMA-376 part 1, 18.3.1.73 ``row`` and 18.3.1.54 ``mergeCell``). A hidden
column is read like any other: it narrows the view of every lot alike, where a hidden row hides a lot.
"""

from __future__ import annotations

import datetime as dt
import io
import posixpath
import re
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any, Final
from xml.etree import ElementTree

from planforge.errors import JobFileError
from planforge.job.wording import listed, nearest, shown
from planforge.site.cells import (
    MAX_COLUMNS,
    MAX_ROWS,
    Cell,
    Fault,
    Row,
    Sheet,
    error_fault,
    formula_fault,
    letters,
    refused,
    text_cell,
    too_many,
)

MAX_UNPACKED: Final = 64 << 20
"""A sheet of 2,000 lots with 40 columns unpacks to some 5 MB."""
MAX_PARTS: Final = 500
MAX_MERGED: Final = 1_000
_LETTERS: Final = 3
"""The letters of the last column, XFD."""
_EXACT: Final = 1e11
"""Whole numbers from here on show as 1E+11 in a cell of no set format."""
_WORKBOOK: Final = "a workbook that can be read"
_SAVE: Final = "Open it in the spreadsheet and save it anew as .xlsx, or as CSV (UTF-8)."
_MIDNIGHT: Final = dt.time()
_NO_PART_OF_DATE: Final = re.compile(r'"[^"]*"|\[[^\]]*\]|\\.')
"""Texts, conditions and single signs within a number format (ECMA-376 part 1, 18.8.31 ``numFmts``)."""
_PLAIN: Final = ("General", "0", "@")
"""The formats in which a number shows as it is held."""
_PART_OF_SHEET: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


@dataclass(slots=True)
class _Layout:
    """What a sheet's XML says beside its cells; rows and columns count from 1."""

    hidden: set[int] = field(default_factory=set)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    """First column, first row, last column, last row."""
    last_row: int = 0
    last_column: int = 0


def read_workbook(raw: bytes, file: str, sheet: str | None) -> Sheet:
    """Return the rows of a sheet, the first one unless named.

    Raises :class:`planforge.errors.JobFileError` for what is no workbook, is too large unpacked, or lacks the
    sheet. A formula, an error, a hidden row and a merged cell are faults of their rows.
    """
    try:
        archive = _unpacked(raw, file)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features that say nothing about a cell's value
            book = import_module("openpyxl").load_workbook(
                io.BytesIO(raw), read_only=True, data_only=False, keep_links=False
            )
            page = _page(book, file, sheet)
            layout = _layout(archive, page.title)
            _bound(layout, file)
            rows = tuple(_rows(page, layout))
    except JobFileError:
        raise
    except Exception as error:  # a stranger's file through a foreign parser: whatever it stumbles over
        found = f"a workbook in disorder ({type(error).__name__})"
        raise refused(file, found, _WORKBOOK, _SAVE) from error
    if not rows:
        raise refused(file, "an empty table", "a header and a row for each lot", "List the lots in it.")
    several = len(book.sheetnames) > 1
    plain = page.title.isidentifier()
    quoted = page.title.replace("'", "''")
    prefix = f"{page.title}!" if plain else f"'{quoted}'!"
    return Sheet(file, rows, prefix if several else "")


def _unpacked(raw: bytes, file: str) -> zipfile.ZipFile:
    """Return the workbook's parts, once they are known to be few, small and without entities of their own."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(raw))
        parts = archive.infolist()
        if len(parts) > MAX_PARTS or sum(part.file_size for part in parts) > MAX_UNPACKED:
            found = f"a workbook that unpacks to more than {MAX_UNPACKED >> 20} MiB or {MAX_PARTS} parts"
            remedy = "Copy the lots alone into a new workbook, without pictures."
            raise refused(file, found, "a smaller workbook", remedy)
        for part in parts:
            if part.filename.endswith((".xml", ".rels")) and b"<!DOCTYPE" in archive.read(part)[:4096]:
                raise refused(file, "a workbook with definitions of its own", _WORKBOOK, _SAVE)
    except (zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError) as error:
        raise refused(file, "a damaged or locked workbook", _WORKBOOK, _SAVE) from error
    return archive


def _page(book: Any, file: str, sheet: str | None) -> Any:
    """Return the sheet by its name, or the first."""
    pages = book.worksheets
    if not pages:
        raise refused(file, "a workbook without a sheet of cells", _WORKBOOK, _SAVE)
    named = [page for page in pages if sheet is None or page.title == sheet]
    if not named:
        names = [page.title for page in pages]
        near = nearest(sheet or "", names)
        remedy = f"Did you mean {shown(near)}?" if near else f"It has {listed(map(shown, names), 'and')}."
        raise refused(file, f"no sheet {shown(sheet)}", "the name of a sheet of the workbook", remedy)
    if sheet is None and named[0].sheet_state != "visible":
        found, remedy = (
            f"the hidden sheet {shown(named[0].title)} as the first",
            "Name the sheet under sheet.",
        )
        raise refused(file, found, "a sheet that shows", remedy)
    return named[0]


def _layout(archive: zipfile.ZipFile, title: str) -> _Layout:
    """Read the hidden rows, the merged cells and the extent of a sheet."""
    layout = _Layout()
    with archive.open(_part(archive, title)) as stream:
        for _, element in ElementTree.iterparse(stream):
            match element.tag.rpartition("}")[2]:
                case "row":
                    _take_row(element, layout)
                    element.clear()
                case "mergeCell":
                    layout.merged.append(_corners(element.get("ref", "")))
    return layout


def _take_row(element: ElementTree.Element, layout: _Layout) -> None:
    """Note a row's place and whether it hides; without a number it follows the row before."""
    number = int(element.get("r") or layout.last_row + 1)
    if element.get("hidden") in ("1", "true"):
        layout.hidden.add(number)
    column = 0
    for cell in element:
        reference = cell.get("r")
        column = _place(reference)[0] if reference else column + 1
        if any(part.text or len(part) for part in cell):  # else it has a format and nothing in it
            layout.last_row = max(layout.last_row, number)
            layout.last_column = max(layout.last_column, column)


def _corners(reference: str) -> tuple[int, int, int, int]:
    first, _, last = reference.partition(":")
    return (*_place(first), *_place(last or first))


def _place(reference: str) -> tuple[int, int]:
    """Return column and row of a cell's name, from 1."""
    name = reference.replace("$", "")
    alone = name.rstrip("0123456789")
    if len(alone) > _LETTERS:
        raise ValueError("no cell has so many letters")
    column = 0
    for letter in alone.upper():
        column = column * 26 + ord(letter) - ord("A") + 1
    return column, int(name[len(alone) :])


def _part(archive: zipfile.ZipFile, title: str) -> str:
    """Return the name of the part that holds a sheet (ECMA-376 part 1, 18.2.19 ``sheet``)."""
    root = _target(archive, "", "officeDocument")
    sheets = ElementTree.fromstring(archive.read(root)).iter()
    key = next(
        element.get(f"{{{_PART_OF_SHEET}}}id", "")
        for element in sheets
        if element.tag.rpartition("}")[2] == "sheet" and element.get("name") == title
    )
    return _target(archive, root, key)


def _target(archive: zipfile.ZipFile, part: str, key: str) -> str:
    """Return the part that another names, by the relation's id or by the end of its type."""
    folder, name = posixpath.split(part)
    relations = ElementTree.fromstring(archive.read(posixpath.join(folder, "_rels", f"{name}.rels")))
    found = next(r for r in relations if r.get("Id") == key or r.get("Type", "").endswith(f"/{key}"))
    return posixpath.normpath(posixpath.join("/", folder, found.get("Target", ""))).lstrip("/")


def _bound(layout: _Layout, file: str) -> None:
    if layout.last_row > MAX_ROWS:
        raise too_many(file, layout.last_row, "rows", MAX_ROWS)
    if len(layout.merged) > MAX_MERGED:
        found, expected = f"{len(layout.merged):,} merged cells", "a cell for each column and row"
        raise refused(file, found, expected, "Unmerge them and fill in each cell.")
    if layout.last_column > MAX_COLUMNS:
        raise too_many(file, 0, "columns", MAX_COLUMNS)


def _rows(page: Any, layout: _Layout) -> Iterator[Row]:
    page.reset_dimensions()  # what the file says of its extent may be wrong
    limits = {"max_row": max(layout.last_row, 1), "max_col": max(layout.last_column, 1)}
    filled: set[str] = set()
    for number, values in enumerate(page.iter_rows(**limits), start=1):
        cells = {at: cell for at, value in enumerate(values) if (cell := _cell(value)) is not None}
        _mark_merged(cells, number, layout, filled)
        if cells:
            hidden = number in layout.hidden
            remedy = "Show the row (clear the filter) and look at it, or delete it."
            yield Row(number, cells, Fault("a hidden row", "rows that show", remedy) if hidden else None)


def _mark_merged(cells: dict[int, Cell], number: int, layout: _Layout, filled: set[str]) -> None:
    """A merged cell holds its value in its first row and column alone, though it shows over several."""
    for left, top, right, bottom in layout.merged:
        if not top <= number <= bottom or right - left >= MAX_COLUMNS:
            continue
        name = f"{letters(left - 1)}{top}:{letters(right - 1)}{bottom}"
        if number == top and left - 1 in cells:
            filled.add(name)
        if name in filled:
            remedy = "Unmerge them and fill in each cell."
            fault = Fault(f"the merged cells {name}", "a cell for each column and row", remedy)
            for at in range(left - 1, right):
                cells[at] = Cell("", fault=fault)


def _cell(value: Any) -> Cell | None:
    """Return a cell as it is read; None for an empty one."""
    held = value.value
    match value.data_type:
        case "f":
            text = held if isinstance(held, str) else "={…}"
            return Cell(text, fault=formula_fault(text))
        case "e":
            return Cell(str(held), fault=error_fault(str(held)))
        case "b":
            return Cell("true" if held else "false", "switch")
        case "d":
            return _day(held, str(value.number_format))
        case "n" if held is not None:
            return _number(held, str(value.number_format))
        case _:
            return text_cell(held) if isinstance(held, str) else None


def _day(held: Any, shape: str) -> Cell:
    """A day is read where the cell shows it whole: typed as 1/4 it gets the year in which it was typed."""
    if isinstance(held, dt.datetime) and held.time() == _MIDNIGHT:
        day = held.date().isoformat()
        if set("dmy") <= set(_NO_PART_OF_DATE.sub("", shape).casefold()):
            return Cell(day, "date")
        remedy = "Format the cell to show year, month and day, and look at it."
        return Cell(
            day, "date", Fault(f"the day {day}, which the cell shows in part", "a whole date", remedy)
        )
    found = f"the time {held}"
    return Cell(str(held), "date", Fault(found, "a day without an hour", "Type the day alone."))


def _number(held: float, shape: str) -> Cell:
    """A number is read where the cell shows it as it is held: 0007 and 50 % are not what they look like."""
    whole = held == int(held)
    text = str(int(held)) if whole else repr(held)
    plain = shape == "General" or (shape in _PLAIN and whole)
    if plain and abs(held) < _EXACT:
        return Cell(text, "number")
    found = f"the number {text}, which the cell shows otherwise"
    return Cell(
        text, "number", Fault(found, "what the cell shows", "Format the cell as text and type it again.")
    )
