"""A table to lots: each row states fields of a lot as an entry of the site file would."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from planforge.errors import JobFileError, Problem
from planforge.job.positions import Locator
from planforge.job.remedies import problems_of
from planforge.job.source import bounded_bytes
from planforge.job.tree import Entry, Mapping, Mark, Node, Scalar, Sequence, plain
from planforge.job.wording import listed, shown
from planforge.site.cells import TABLE, Fault, Row, Sheet, refused
from planforge.site.columns import Column, HeaderError, ListEntry, Step, column
from planforge.site.csv_table import read_csv
from planforge.site.lots import Heading
from planforge.site.model import Lot
from planforge.site.workbook import read_workbook

_WORKBOOK = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_NO_ID = Fault("nothing", "the lot's short name", "Fill in the id, or empty the row.")


@dataclass(frozen=True, slots=True)
class TableRow:
    """What one row states of a lot, and what is wrong with it."""

    id: str
    node: Mapping
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class LotTable:
    """The lots of a table, in its order."""

    file: str
    headings: tuple[Heading, ...]
    rows: tuple[TableRow, ...]


def read_table(path: Path, file: str, sheet: str | None) -> LotTable:
    """Read the lots of a CSV file or of a workbook's sheet.

    Raises :class:`planforge.errors.JobFileError` for a table that can't be read, for every fault of its
    header and for every row without an id. The faults of one row come with that row.
    """
    table = _sheet(path, file, sheet)
    columns = _columns(table)
    rows: list[TableRow] = []
    problems: list[Problem] = []
    for row in table.rows[1:]:
        try:
            rows.append(_row(table, columns, row))
        except JobFileError as error:
            problems += error.problems
    if problems:
        raise JobFileError(problems)
    headings = tuple(Heading(c.header, c.field, table.cell(at, 0)[:-1]) for at, c in columns.items())
    return LotTable(file, headings, tuple(rows))


def _sheet(path: Path, file: str, sheet: str | None) -> Sheet:
    raw = bounded_bytes(path, file, TABLE)
    if raw.startswith(_OLD_WORKBOOK):
        found, remedy = (
            "an old or a locked workbook",
            "Save it as .xlsx without a password, or as CSV (UTF-8).",
        )
        raise refused(file, found, "a CSV file or an XLSX workbook", remedy)
    if raw.startswith(_WORKBOOK):
        return read_workbook(raw, file, sheet)
    if path.suffix.casefold() in (".xlsx", ".xlsm"):
        found, remedy = "something else under a workbook's name", "Save it as .xlsx, or name it .csv."
        raise refused(file, found, "an XLSX workbook", remedy)
    if sheet is not None:
        found, remedy = f"the sheet {shown(sheet)} of a CSV file", "Delete sheet, or name a workbook."
        raise refused(file, found, "a workbook with that sheet", remedy)
    return read_csv(raw, file)


def _columns(table: Sheet) -> dict[int, Column]:
    """Return the columns by their place, those that begin with # left out; raise for faults of the header."""
    header = table.rows[0]
    columns: dict[int, Column] = {}
    problems: list[Problem] = []
    for at, cell in header.cells.items():
        fault = cell.fault
        if fault is None and not cell.text.startswith("#"):
            try:
                columns[at] = column(cell.text)
                fault = _clash(table, columns, at)
            except HeaderError as error:
                fault = error.fault
        if fault is not None:
            problems.append(table.problem(header.number, at, "", fault))
    if header.fault is not None:
        problems.append(table.problem(header.number, None, "", header.fault))
    if not any(c.field == "id" for c in columns.values()) and not problems:
        found = f"the columns {listed([shown(cell.text) for cell in header.cells.values()], 'and')}"
        remedy = "Add a column id with a short name for each lot, such as heron-15."
        problems.append(table.problem(header.number, None, "id", Fault(found, "a column id", remedy)))
    if problems:
        raise JobFileError(problems)
    return columns


def _clash(table: Sheet, columns: dict[int, Column], at: int) -> Fault | None:
    """Return what is wrong with a column whose field another column states as well, or a part of it."""
    own = columns[at].steps
    for place, other in columns.items():
        shorter = min(len(own), len(other.steps))
        if place != at and own[:shorter] == other.steps[:shorter]:
            cell = table.cell(place, table.rows[0].number)
            found = f"{shown(columns[at].header)} beside {shown(other.header)} (cell {cell})"
            return Fault(found, "each field in one column", "Delete one of the two columns.")
    return None


def _row(table: Sheet, columns: dict[int, Column], row: Row) -> TableRow:
    """Return what a row states; raise where it has no id to name the lot by."""
    problems = [] if row.fault is None else [table.problem(row.number, None, "", row.fault)]
    stated = _Group()
    for at, cell in row.cells.items():
        if at in columns:
            mark = Mark(table.file, row.number, at + 1)
            node = columns[at].node(cell, mark)
            if isinstance(node, Fault):
                problems.append(table.problem(row.number, at, columns[at].header, node))
            else:
                stated.put(columns[at].steps, node)
        elif at not in table.rows[0].cells:
            remedy = "Write a header over it, or move it under the one that it belongs to."
            fault = Fault(f"{shown(cell.text)} under no header", "cells under headers", remedy)
            problems.append(table.problem(row.number, at, "", fault))
    node = stated.tree(Mark(table.file, row.number, 1))
    ids = [at for at, known in columns.items() if known.field == "id"]
    return TableRow(_id(table, row, node, ids, problems), node, tuple(problems))


def _id(table: Sheet, row: Row, node: Mapping, ids: list[int], problems: list[Problem]) -> str:
    """Return the id of a row's lot; raise where there is none or one that can't be a name."""
    place = ids[0] if ids else None
    entry = node.entries.get("id")
    if place is None or entry is None:
        bad = (
            []
            if place is None
            else [p for p in problems if p.field == table.problem(row.number, place, "id", _NO_ID).field]
        )
        raise JobFileError(bad or [table.problem(row.number, place, "id", _NO_ID)])
    alone = Mapping({"id": entry}, node.mark)
    try:
        return Lot.model_validate(plain(alone)).id
    except ValidationError as error:
        found = problems_of(error, Lot, Locator(alone), complete=True)[0]
        fault = Fault(found.found, found.expected, found.remedy)
        raise JobFileError([table.problem(row.number, place, "id", fault)]) from None


@dataclass(slots=True)
class _Group:
    """Fields of a row on their way to a tree: groups by field, entries of a list by id."""

    fields: dict[str, _Group | _Entries | Node] = field(default_factory=dict)

    def put(self, steps: tuple[Step, ...], node: Node) -> None:
        """Set the field at the end of the steps; what clashes was refused with the header."""
        name, *rest = steps
        assert isinstance(name, str)  # entries follow the name of their list
        if not rest:
            self.fields[name] = node
        elif isinstance(rest[0], ListEntry):
            entries = self.fields.setdefault(name, _Entries())
            assert isinstance(entries, _Entries)
            entries.by_id.setdefault(rest[0].id, _Group()).put(tuple(rest[1:]), node)
        else:
            group = self.fields.setdefault(name, _Group())
            assert isinstance(group, _Group)
            group.put(tuple(rest), node)

    def tree(self, mark: Mark) -> Mapping:
        """Return the group as what a file states at this place."""
        return Mapping(
            {name: Entry(_mark(held, mark), _tree(held, mark)) for name, held in self.fields.items()}, mark
        )


@dataclass(slots=True)
class _Entries:
    by_id: dict[str, _Group] = field(default_factory=dict)


def _tree(held: _Group | _Entries | Node, mark: Mark) -> Node:
    if isinstance(held, _Entries):
        items = []
        for name, group in held.by_id.items():
            entry = group.tree(mark)
            items.append(Mapping({"id": Entry(mark, Scalar(name, mark)), **entry.entries}, mark))
        return Sequence(tuple(items), mark)
    return held.tree(mark) if isinstance(held, _Group) else held


def _mark(held: _Group | _Entries | Node, mark: Mark) -> Mark:
    return held.mark if isinstance(held, Mapping | Sequence | Scalar) else mark
