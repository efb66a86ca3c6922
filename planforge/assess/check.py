"""One kind of check, and who can decide it."""

from __future__ import annotations

from typing import NamedTuple


class Check(NamedTuple):
    """One kind of check."""

    title: str
    asks: str
    source: str
    decides: str
    variance: bool = True  # whether a qualified person's recorded variance can accept a short


COORDINATOR = "safety coordinator"
COMPETENT = "competent person"
QUALIFIED = "qualified person"
MAKER = "manufacturer and qualified person"
UTILITY = "utility and competent person"

COMMON = "common practice, no source"
