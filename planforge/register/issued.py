"""What a PDF that planforge issued says of itself."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

from planforge.errors import RefusedError

FINGERPRINT_KEY = "fingerprint"


def issued_fingerprint(path: Path) -> str | None:
    """The fingerprint in the keywords of an issued plan; None where no file stands at ``path``.

    Raises :class:`RefusedError` for a file that is not a plan of planforge's, so that it is not overwritten.
    """
    if not path.exists():
        return None
    pypdf = import_module("pypdf")  # only now: the first issue of a plan need not wait for it
    try:
        metadata = pypdf.PdfReader(path).metadata
        keywords = str(metadata.get("/Keywords", "")) if metadata else ""
    except (pypdf.errors.PyPdfError, OSError, ValueError) as error:
        raise RefusedError(f"{path} exists and is no PDF that can be read; move it away first.") from error
    match = re.search(rf"{FINGERPRINT_KEY} ([0-9a-f]{{64}})", keywords)
    if match is None:
        raise RefusedError(f"{path} exists and is no plan that planforge issued; move it away first.")
    return match[1]
