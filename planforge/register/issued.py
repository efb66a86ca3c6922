"""A plan that stands where another is to be written, and the bytes that planforge itself wrote of it."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

from planforge.errors import PlanforgeError, RefusedError
from planforge.register.pdf import NotReadableError, identity, open_pdf, read_bounded

_FILE_ID = re.compile(rb"\[<([0-9a-f]{32})><\1>\]")
_MOST_IDS = 8
_END = b"%%EOF"


@dataclass(frozen=True, slots=True)
class Standing:
    """A plan that stands where another is to be written."""

    fingerprint: str
    draft: bool
    untouched: bool  # nobody filled it in, signed it or saved it anew
    date: dt.date | None = None
    sha256: str = ""


def standing_plan(path: Path) -> Standing | None:
    """The plan at ``path``; None where no file stands there.

    Raises :class:`RefusedError` for a file that is no plan of planforge's, so that it is not overwritten.
    """
    try:
        if not path.exists():
            return None
    except OSError as error:
        raise RefusedError(f"{path} can't be looked at: {error.strerror}. Nothing was written.") from error
    try:
        data = read_bounded(path)
        stated = identity(open_pdf(data))
    except NotReadableError as error:
        raise RefusedError(f"{path} exists and {error}; move it away first.") from error
    except PlanforgeError as error:
        raise RefusedError(f"{error} Nothing was written.") from error
    if stated is None:
        raise RefusedError(f"{path} exists and is no plan that planforge issued; move it away first.")
    digest = hashlib.sha256(data).hexdigest()
    return Standing(stated.fingerprint, stated.draft, untouched(data), stated.date, digest)


def untouched(data: bytes) -> bool:
    """True where the file's identifier is the digest of its own bytes, as planforge wrote them."""
    return original(data) == data


def original(data: bytes) -> bytes | None:
    """The bytes that planforge wrote, at the head of a file that others added to; None where there are none.

    Filling in and signing append to a file (ISO 32000-1, 7.5.6). The head's identifier shows that no byte of
    it changed by accident; anyone can work it out anew, so only a register tells who wrote the head.
    """
    for place in list(_FILE_ID.finditer(data))[:_MOST_IDS]:
        end = data.find(_END, place.end())
        if end < 0:
            return None
        end += len(_END)
        for stop in (end + 1, end):
            head = data[:stop]
            blank = b"[<" + b"0" * 32 + b"><" + b"0" * 32 + b">]"
            written = head[: place.start()] + blank + head[place.end() :]
            if hashlib.sha256(written).hexdigest()[:32].encode() == place[1]:
                return head
    return None
