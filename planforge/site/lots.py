"""One lot of a site: what the site states of it, small enough to hand to another process, and its job."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from planforge.errors import JobFileError, Problem
from planforge.job.consistency import check_consistency
from planforge.job.extends import Statement, gather_stated
from planforge.job.model import LOT_ONLY, Job
from planforge.job.reading import Loaded, checked
from planforge.job.reference import belongs_to_lot
from planforge.job.tree import Mark
from planforge.site.columns import HeaderError, column

_ENTRY = re.compile(r'\[\d+ "([^"]*)"\]')
_INDEX = re.compile(r"\[\d+\]")


@dataclass(frozen=True, slots=True)
class Heading:
    """A column of the table as messages name it."""

    header: str
    """What the table's first row says."""
    field: str
    """The field it states, dotted, entries of a list by their ids."""
    cell: str
    """The column's letters, with the sheet before them where a workbook has several."""


@dataclass(frozen=True, slots=True)
class LotSource:
    """What a site states of one lot. ``load_lot`` makes its job of it, here or in another process.

    Files are named from the folder in which the site was read, so the other process works in the same one.
    """

    id: str
    """The lot's short name, once in a site."""
    site: Path
    """The site file, as it was named."""
    where: Mark
    """Where the lot begins: its entry in the site file, or its row in the table."""
    stated: Statement
    """What is stated of it there, with the files it builds upon or its job file."""
    problems: tuple[Problem, ...] = ()
    """What is wrong with the lot's own entry or row, so that it has no job."""
    table: str = ""
    """The table that holds its row; empty for a lot of the site file itself."""
    headings: tuple[Heading, ...] = ()
    """The table's columns."""


def load_lot(source: LotSource) -> Loaded[Job]:
    """Read the job of one lot, every check across its fields included.

    Raises :class:`planforge.errors.JobFileError` with every problem of this lot. A problem in the site file
    names its line, one in a table its row, column and cell.
    """
    try:
        gathered = gather_stated(source.stated, LOT_ONLY, Job)
        if source.problems:  # a cell with a fault states nothing, so that no field can be called missing
            gathered = replace(gathered, problems=(*source.problems, *gathered.problems), complete=False)
        own = frozenset() if source.problems else LOT_ONLY
        loaded = checked(gathered, Job, lot_only=own, checks=check_consistency)
    except JobFileError as error:
        problems = tuple(dict.fromkeys((*source.problems, *error.problems)))
        raise JobFileError([_in_table(problem, source) for problem in problems]) from None
    stated = [str(source.site), source.table] if source.table else [str(source.site)]
    return replace(loaded, files=(*stated, *loaded.files))


def _in_table(problem: Problem, source: LotSource) -> Problem:
    """Name column and cell of a problem in the lot's row, and word its remedy for a table."""
    if not source.table or problem.file != source.table or not problem.field:
        return problem
    field = _INDEX.sub("", _ENTRY.sub(r".\1", problem.field))
    heading = next((h for h in source.headings if field == h.field or field.startswith(f"{h.field}.")), None)
    remedy = _remedy(problem, field, heading, source)
    if heading is None:
        return replace(problem, remedy=remedy)
    return replace(problem, field=f"{heading.header} (cell {heading.cell}{problem.line})", remedy=remedy)


def _where_to_state(field: str) -> str:
    """Say where a field can be stated that no column names: a group of fields in no single column."""
    try:
        column(field)
    except HeaderError:
        if belongs_to_lot(field):
            return "Add columns for its fields, or state it in a job file that the row names under job."
        return "State it in a file that the row names under job or extends, or the site file under shared."
    return f"Add a column {field}, or state it in a job file that the row names under job."


def _remedy(problem: Problem, field: str, heading: Heading | None, source: LotSource) -> str:
    if problem.remedy.startswith('Add the line "'):
        if heading is not None:
            return "Fill in the cell."
        holder = field.rpartition(".")[0]
        near = next((h for h in source.headings if holder and h.field.startswith(f"{holder}.")), None)
        named = _ENTRY.findall(problem.field)
        if near is not None and named and holder.endswith(f".{named[-1]}"):
            return (
                f'Correct "{named[-1]}" in the header {near.header} if an entry of a file is meant; '
                f"otherwise add a column {field}."
            )
        return _where_to_state(field)
    if problem.remedy.startswith("Write a value after the colon"):
        return "Write a value, or empty the cell if the field is optional."
    return problem.remedy
