"""A fault of planforge's own on one lot, told of that lot, so that it stops no other."""

from __future__ import annotations

import os
import traceback


def defect(error: Exception) -> tuple[str, ...]:
    """Return what to say of it, with where it happened if that is wanted."""
    said = f"planforge failed on its own account ({type(error).__name__}: {error}). Please report it."
    if os.environ.get("PLANFORGE_TRACE"):
        return said, *"".join(traceback.format_exception(error)).splitlines()
    return (said,)
