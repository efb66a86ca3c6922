"""Every lot of a site read and assessed, in turn; a lot that can't be read stops none of the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from planforge.assess.assessment import Assessment, assess
from planforge.errors import JobFileError, Problem
from planforge.site.lots import LotSource, load_lot
from planforge.site.reading import Site


@dataclass(frozen=True, slots=True)
class CheckedLot:
    """What came of one lot: its assessment, or what is wrong with what is stated of it."""

    source: LotSource
    assessment: Assessment | None
    problems: tuple[Problem, ...] = ()


def check_lots(site: Site) -> Iterator[CheckedLot]:
    """Yield each lot of a site as it is checked, in the order of the site."""
    for source in site.lots:
        yield check_lot(source)


def check_lot(source: LotSource) -> CheckedLot:
    """Read and assess one lot."""
    try:
        loaded = load_lot(source)
    except JobFileError as error:
        return CheckedLot(source, None, error.problems)
    return CheckedLot(source, assess(loaded.model))
