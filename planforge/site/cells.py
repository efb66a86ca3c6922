"""A table as it was read, from CSV or a workbook alike: rows of cells, each a text or a fault."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from planforge.errors import HIDDEN, JobFileError, Problem
from planforge.job.source import MAX_TEXT, Kind
from planforge.job.wording import shown

MAX_ROWS: Final = 5_001
"""The header and 5,000 lots."""
MAX_COLUMNS: Final = 256
TABLE: Final = Kind(
    "table", "table", "CSV file or XLSX workbook", 16 << 20, 0, "divide the site into several"
)

_ERRORS: Final = frozenset(
    {
        "#REF!",
        "#N/A",
        "#VALUE!",
        "#NAME?",
        "#DIV/0!",
        "#NULL!",
        "#NUM!",
        "#SPILL!",
        "#CALC!",
        "#FIELD!",
        "#BLOCKED!",
        "#UNKNOWN!",
        "#CONNECT!",
        "#GETTING_DATA",
    }
)
"""What spreadsheets show where a formula has no value, written into a CSV file as text."""


_CUT: Final = re.compile(r"#{3,}|\d([.,]\d+)?E\+\d+")
"""What a spreadsheet shows of a long number in a narrow cell, and writes so into a CSV file."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a cell or a row, in the words of a :class:`planforge.errors.Problem`."""

    found: str
    expected: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that is not empty. ``kind`` is what the spreadsheet holds it for; CSV knows only text."""

    text: str
    kind: Literal["text", "number", "date", "switch"] = "text"
    fault: Fault | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A row; ``cells`` are its cells that are not empty, by column from 0, ``number`` counts from 1."""

    number: int
    cells: dict[int, Cell]
    fault: Fault | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table: its rows that are not blank, the header first."""

    file: str
    rows: tuple[Row, ...]
    prefix: str = ""
    """The sheet before a cell's name, as in ``Lots!C14``, where the workbook has several."""

    def cell(self, column: int, row: int) -> str:
        """Return a cell's name, such as ``C14``; ``column`` counts from 0."""
        return f"{self.prefix}{letters(column)}{row}"

    def problem(self, row: int, column: int | None, field: str, fault: Fault) -> Problem:
        """Return a fault with its place: the row is the line, the cell stands behind the field."""
        at = field if column is None else f"{field} (cell {self.cell(column, row)})".strip()
        return Problem(self.file, row, at, fault.found, fault.expected, fault.remedy)


def letters(column: int) -> str:
    """Return a column's letters, ``A`` for 0, ``AA`` for 26."""
    text, count = "", column + 1
    while count:
        count, rest = divmod(count - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def text_cell(text: str) -> Cell | None:
    """Return a cell by its text; None for one that holds nothing but spaces."""
    text = text.strip()
    if not text:
        return None
    fault = None
    if len(text) > MAX_TEXT:
        found, expected = f"a text of {len(text):,} characters", f"at most {MAX_TEXT:,} characters"
        fault = Fault(found, expected, "Shorten it; look for a quote left open.")
    elif hidden := HIDDEN.search(text):
        found = f"the hidden character U+{ord(hidden[0]):04X}"
        fault = Fault(found, "text that prints", "Delete it and type the text around it again.")
    elif _CUT.fullmatch(text):
        found, remedy = (
            f"{shown(text)}, a number cut to fit its cell",
            "Format the column as text, type it again.",
        )
        fault = Fault(found, "the whole number", remedy)
    elif text in _ERRORS:
        fault = error_fault(text)
    elif text.startswith("="):
        fault = formula_fault(text)
    return Cell(text, "text", fault)


def error_fault(text: str) -> Fault:
    """Return what is wrong with a cell whose formula has no value."""
    return Fault(f"the error {text}", "a value", "Correct the formula behind it and put its value there.")


def formula_fault(text: str) -> Fault:
    """Return what is wrong with a cell that holds a formula: the value last shown may be out of date."""
    remedy = "Copy the cells and paste them as values: what a formula last showed may be out of date."
    return Fault(f"the formula {shown(text)}", "a value", remedy)


def refused(file: str, found: str, expected: str, remedy: str, row: int = 0) -> JobFileError:
    """Return the error of a table that can't be read as a whole."""
    return JobFileError([Problem(file, row, "", found, expected, remedy)])


def too_many(file: str, row: int, what: str, most: int) -> JobFileError:
    """Return the error of a table with more rows or columns than are read."""
    remedy = "Delete what lies beyond the lots, or divide the site into several."
    return refused(file, f"more than {most:,} {what}", f"at most {most:,} {what}", remedy, row)
