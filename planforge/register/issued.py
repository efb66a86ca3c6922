"""What a PDF that planforge issued says of itself, and whether anyone wrote in it since."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from importlib import import_module
from io import BytesIO
from pathlib import Path

from planforge.errors import RefusedError

_IDENTITY = re.compile(rb"\[<([0-9a-f]{32})><\1>\]")


@dataclass(frozen=True, slots=True)
class Standing:
    """A plan that stands where another is to be written."""

    fingerprint: str
    draft: bool
    untouched: bool  # nobody filled it in, signed it or saved it anew


def standing_plan(path: Path) -> Standing | None:
    """The plan at ``path``; None where no file stands there.

    Raises :class:`RefusedError` for a file that is no plan of planforge's, so that it is not overwritten.
    """
    try:
        if not path.exists():
            return None
        data = path.read_bytes()
    except OSError as error:
        raise RefusedError(f"{path} can't be looked at: {error.strerror}. Nothing was written.") from error
    match = re.search(r"fingerprint ([0-9a-f]{64})(, draft)?", _keywords(path, data))
    if match is None:
        raise RefusedError(f"{path} exists and is no plan that planforge issued; move it away first.")
    return Standing(match[1], match[2] is not None, untouched(data))


def issued_fingerprint(path: Path) -> str | None:
    """The fingerprint of the plan at ``path``; None where no file stands there."""
    plan = standing_plan(path)
    return plan.fingerprint if plan else None


def untouched(data: bytes) -> bool:
    """True where the file's identifier is still the digest of its own bytes, as planforge wrote them."""
    places = list(_IDENTITY.finditer(data))
    if not places:
        return False
    last = places[-1]
    blank = b"[<" + b"0" * 32 + b"><" + b"0" * 32 + b">]"
    original = data[: last.start()] + blank + data[last.end() :]
    return hashlib.sha256(original).hexdigest()[:32].encode() == last[1]


def _keywords(path: Path, data: bytes) -> str:
    if not data.startswith(b"%PDF-"):
        raise RefusedError(f"{path} exists and is no PDF; move it away first.")
    pypdf = import_module("pypdf")  # only where a plan already stands
    try:
        metadata = pypdf.PdfReader(BytesIO(data)).metadata
        return str(metadata.get("/Keywords", "")) if metadata else ""
    except (pypdf.errors.PyPdfError, ValueError, KeyError) as error:
        raise RefusedError(f"{path} exists and is no PDF that can be read; move it away first.") from error
