"""Whether a file is a site: asked of every job that a command is given, so that it loads next to nothing."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

_IS_SITE = re.compile(rb"""^(?:\xef\xbb\xbf)?format[ \t]*:[ \t]*["']?planforge[ ]site\b""", re.MULTILINE)
_LOOKED_AT: Final = 1 << 16


def is_site(path: Path) -> bool:
    """Return whether a file calls itself a site by its line ``format:``; what can't be read is none."""
    try:
        with path.open("rb") as stream:
            return _IS_SITE.search(stream.read(_LOOKED_AT)) is not None
    except (OSError, ValueError):
        return False
