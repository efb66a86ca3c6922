"""The site file: what it states beside its lots, and how much of one is read."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, model_validator

from planforge.job.base import Id, JobModel, Name
from planforge.job.source import Kind

MAX_LOTS: Final = 5_000
SITE_FILE: Final = Kind(
    "site", "site file", "YAML file", 24 << 20, 2_000_000, "keep long lots in job files of their own"
)
"""A lot written out in full takes some 7 KB and 600 values: 2,000 of them 13 MB and 1,200,000 values."""


class Table(JobModel):
    """The spreadsheet that lists lots, one row a lot; its name alone stands for its file."""

    file: Name
    """The CSV file (UTF-8) or XLSX workbook, by its path from the site file's folder."""
    sheet: Name | None = None
    """The sheet of a workbook; the first one if not given."""

    @model_validator(mode="before")
    @classmethod
    def _bare(cls, data: Any) -> Any:
        return data if isinstance(data, dict) else {"file": data}


def _listed(value: Any) -> Any:
    """Read a single name as a list of one, as a job file's ``extends`` does."""
    return [value] if isinstance(value, str) else value


Files = Annotated[list[Name], BeforeValidator(_listed)]


class Lot(JobModel):
    """One lot: these fields, and beside them any field of a job file, as in the lot's own file."""

    id: Id
    """A short name for the lot, each once in a site: in lists, in a table and in messages."""
    job: Name | None = None
    """The lot's job file, by its path from this file's folder; what is stated here is laid over it."""
    extends: Files = []
    """The files that the lot builds upon, after those that are shared; none beside a job."""


class SiteFile(JobModel):
    """A site: its lots, what they share, and the table that lists more of them."""

    format: Literal["planforge site 1"]
    """The form of the file: `planforge site 1`."""
    site: Name
    """The site's name, in lists."""
    kits: Name | None = None
    """The inventory of kits that move from lot to lot, by its path from this file's folder."""
    shared: Files = []
    """Files that every lot builds upon before its own, but for a lot with a job file, which names its own."""
    lots: list[Lot] = []
    """Lots written out here."""
    table: Table | None = None
    """A spreadsheet with one row a lot, whose columns are fields of a lot."""
