"""A CSV file as spreadsheets write it: commas, semicolons or tabs, texts in quotes that may run over lines.

A row is numbered as a spreadsheet numbers it, so that a text over several lines is one row.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from typing import Final

from planforge.job.source import MAX_TEXT, decoded
from planforge.site.cells import MAX_COLUMNS, MAX_ROWS, Row, Sheet, refused, text_cell, too_many

_SAVE: Final = "Save the table as CSV UTF-8, or as an XLSX workbook."
_DELIMITERS: Final = (",", ";", "\t")
_NAMED: Final = re.compile(r"sep=(.)\n")
"""A line before the first row by which some spreadsheets name the sign between the cells; it is no row."""


def read_csv(raw: bytes, file: str) -> Sheet:
    """Return the rows of a CSV file; raise :class:`planforge.errors.JobFileError` where there are none."""
    text = decoded(raw, file, _SAVE).replace("\r\n", "\n").replace("\r", "\n")
    named = _NAMED.match(text)
    text = text[named.end() :] if named else text
    delimiter = named[1] if named else _delimiter(text)
    rows = tuple(_rows(text, file, delimiter))
    if not rows:
        raise refused(file, "an empty table", "a header and a row for each lot", "List the lots in it.")
    return Sheet(file, rows)


def _rows(text: str, file: str, delimiter: str) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    number = 0
    try:
        for values in reader:
            number += 1
            cells = {at: cell for at, value in enumerate(values) if (cell := text_cell(value)) is not None}
            if not cells:
                continue
            if number > MAX_ROWS:
                raise too_many(file, number, "rows", MAX_ROWS)
            if max(cells) >= MAX_COLUMNS:
                raise too_many(file, number, "columns", MAX_COLUMNS)
            yield Row(number, cells)
    except csv.Error as error:
        raise _broken(file, number + 1, str(error)) from None


def _broken(file: str, row: int, said: str) -> Exception:
    if "limit" in said:
        found = f"a cell of more than {csv.field_size_limit():,} characters"
        return refused(
            file, found, f"at most {MAX_TEXT:,} characters", "Look for a quote left open before it.", row
        )
    found = 'a quote " left open' if "unexpected end" in said else 'text after a closing quote "'
    remedy = 'Put the whole cell in quotes, with each " inside it written twice; or save the table anew.'
    return refused(file, found, "a cell in quotes that is closed at its end", remedy, row)


def _delimiter(text: str) -> str:
    """Return the sign between the cells of the first line that is not blank; a comma where there is none."""
    header = next((line for line in text.split("\n") if line.strip(" ,;\t")), "")
    bare = re.sub(r'"[^"]*"', "", header)
    return max(_DELIMITERS, key=bare.count)
