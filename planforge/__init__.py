"""planforge: one job file in; a dated, signable, site-specific fall-protection plan out.

The public face: :func:`load_job`, :func:`assess`, :func:`issue`. The modules under
``planforge.calc`` can be used alone. Names are loaded on first use, so that a program that only
calculates does not pay for drawing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from planforge.assess.assessment import assess
    from planforge.job.loading import load_job
    from planforge.register.issuing import issue

_HOMES = {
    "issue": "planforge.register.issuing",
    "load_job": "planforge.job.loading",
}

__all__ = ["__version__", "assess", "issue", "load_job"]


def __getattr__(name: str) -> Any:
    """Load a public name from its home."""
    if name == "assess":
        return import_module("planforge.assess")
    if name not in _HOMES:
        raise AttributeError(f"module 'planforge' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
