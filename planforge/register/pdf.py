"""What a PDF that may come from anywhere says of itself: read within bounds, and never believed blindly."""

from __future__ import annotations

import datetime as dt
import logging
import re
import zlib
from dataclasses import dataclass
from importlib import import_module
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from planforge.errors import PlanforgeError

MAX_PDF: Final = 50 << 20
"""The largest file that is looked at; a plan has less than 3 MB before it is signed."""
MAX_JOB: Final = 1 << 20
"""The largest attached job, as for a job file of its own."""
JOB_NAME: Final = "job.yaml"

_IDENTITY: Final = re.compile(
    r"plan (?P<number>.{1,60}), revision (?P<revision>\d{1,3}), fingerprint (?P<fingerprint>[0-9a-f]{64})"
    r"(?P<draft>, draft)?"
)
_DATE: Final = re.compile(r"D:(\d{4})(\d{2})(\d{2})")

logging.getLogger("pypdf").addHandler(logging.NullHandler())  # it grumbles about what is judged here


class NotReadableError(PlanforgeError):
    """A file that is no PDF that can be read."""


@dataclass(frozen=True, slots=True)
class Identity:
    """What a plan's metadata say it is."""

    number: str
    revision: int
    fingerprint: str
    draft: bool
    date: dt.date | None
    """The date of issue; None where the file states none that exists."""


def read_bounded(path: Path) -> bytes:
    """A file's bytes. Raises :class:`PlanforgeError` where it is missing, unreadable or far too large."""
    try:
        if not path.is_file():
            raise PlanforgeError(f"{path} is no file; name the PDF to look at.")
        with path.open("rb") as file:
            data = file.read(MAX_PDF + 1)
    except OSError as error:
        raise PlanforgeError(f"{path} can't be read: {error.strerror}.") from error
    if len(data) > MAX_PDF:
        raise PlanforgeError(f"{path} is larger than {MAX_PDF >> 20} MiB; no plan of planforge's is.")
    return data


def open_pdf(data: bytes) -> Any:
    """A ``pypdf.PdfReader``. Raises :class:`NotReadableError`."""
    if not data.startswith(b"%PDF-"):
        raise NotReadableError("it is no PDF")
    try:
        return import_module("pypdf").PdfReader(BytesIO(data))  # only where a plan is looked at
    except Exception as error:  # a garbled file can raise anything in the reader
        raise NotReadableError(f"it is no PDF that can be read ({type(error).__name__})") from error


def identity(reader: Any) -> Identity | None:
    """The identity that a PDF's metadata state; None for a file that planforge did not make."""
    try:
        metadata = reader.metadata or {}
        keywords, created = str(metadata.get("/Keywords", "")), str(metadata.get("/CreationDate", ""))
    except Exception as error:  # as above
        raise NotReadableError(f"its metadata can't be read ({type(error).__name__})") from error
    match = _IDENTITY.fullmatch(keywords)
    if match is None:
        return None
    return Identity(
        match["number"],
        int(match["revision"]),
        match["fingerprint"],
        match["draft"] is not None,
        _day(created),
    )


def _day(text: str) -> dt.date | None:
    match = _DATE.match(text)
    try:
        return dt.date(*map(int, match.groups())) if match else None
    except ValueError:
        return None


def attached_job(reader: Any) -> str | None:
    """The job that rides in a plan; None where none does, or none that can be read within bounds."""
    try:
        names = list(reader.trailer["/Root"]["/Names"]["/EmbeddedFiles"]["/Names"])
        found = [value for name, value in zip(names[::2], names[1::2], strict=True) if name == JOB_NAME]
        stream = found[0].get_object()["/EF"]["/F"].get_object()
        return _inflated(stream).decode("utf-8")
    except Exception:  # as above; whatever is wrong with it, there is no job to compare
        return None


def _inflated(stream: Any) -> bytes:
    """A stream's content; one that unpacks beyond the bound is refused before it is unpacked."""
    raw = bytes(stream._data)
    filters = stream.get("/Filter", [])
    if filters in ("/FlateDecode", ["/FlateDecode"]):
        unpacking = zlib.decompressobj()
        content = unpacking.decompress(raw, MAX_JOB)
        if not unpacking.eof:
            raise ValueError("longer than any job, or cut short")
        return content
    if filters or len(raw) > MAX_JOB:
        raise ValueError("packed in another way than planforge packs it, or longer than any job")
    return raw
