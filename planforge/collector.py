"""Leaving Python's search for cycles out of a piece of work.

Nearly all that is made for a plan lives until the plan is written, and the collector would look through it
time and again.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Look for no cycles meanwhile.

    As a decorator it begins again when all that the function made alone is gone.
    """
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
