"""Every id that is referred to exists, and no two things that share a drawing or a list share an id.

Ids repeated within one list are reported where files are merged (extends.py).
"""

from __future__ import annotations

from collections.abc import Iterator

from planforge.codes.profile import profile_ids
from planforge.errors import Problem
from planforge.job.cross_references import DRAWN, EQUIPMENT, NOUNS, REFERENCES, entries, ids_read, known_ids
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.unread import where_read
from planforge.job.wording import listed, nearest, shown

_SHARED = (
    (DRAWN, "an id that nothing else on the drawings has"),
    (EQUIPMENT, "an id that no other item of the equipment has"),
    (("layout.levels", "lower_levels"), "an id that no other level has"),
)


def check_references(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each reference to nothing and each id that two things share."""
    known = {home: known_ids(job, home) for home in {h for homes in REFERENCES.values() for h in homes}}
    unread = {home for home in known if not ids_read(job, home)}
    for field, homes in REFERENCES.items():
        if unread.intersection(homes):
            continue  # the one referred to may be among those that could not be read
        ids = list(dict.fromkeys(name for home in homes for name in known[home]))
        for path, name in entries(job, field):
            if name not in ids:
                yield _unknown(locator, path, name, homes, ids)
    yield from _code_profile(job, locator)
    for homes, expected in _SHARED:
        yield from _shared(job, locator, homes, expected)


@where_read
def _code_profile(job: Job, locator: Locator) -> Iterator[Problem]:
    ids = profile_ids()
    if job.site.code_profile not in ids:
        near = nearest(job.site.code_profile, ids)
        remedy = f"Did you mean {shown(near)}? " if near else ""
        yield locator.problem(
            ("site", "code_profile"),
            expected=f"the id of a code profile ({listed(ids)})",
            remedy=f"{remedy}Correct the id, or add a profile to planforge/codes.",
        )


def _unknown(locator: Locator, path: FieldPath, name: str, homes: tuple[str, ...], ids: list[str]) -> Problem:
    near = nearest(name, ids)
    ordered = ids if near is None else [near, *(other for other in ids if other != near)]
    known = listed(ordered) if ids else "none is listed"
    where = "equipment" if homes == EQUIPMENT else listed(homes)
    remedy = f"Correct the id, or add {shown(name)} under {where}."
    return locator.problem(path, expected=f"the id of {_thing(homes)} ({known})", remedy=remedy)


def _thing(homes: tuple[str, ...]) -> str:
    """Return ``a line or an anchor``."""
    if homes == EQUIPMENT:
        return "an item of the equipment"
    nouns = (NOUNS[home] for home in homes)
    return listed([f"an {noun}" if noun[0] in "aeiou" else f"a {noun}" for noun in nouns])


def _shared(job: Job, locator: Locator, homes: tuple[str, ...], expected: str) -> Iterator[Problem]:
    first: dict[str, FieldPath] = {}
    for home in homes:
        known = known_ids(job, home)
        for name, path in known.items():
            if name not in first:
                continue
            mark = locator.where(first[name])
            found = f"{shown(name)}, which {locator.label(first[name])} has already ({mark.file}:{mark.line})"
            remedy = "Give one of the two another id, here and wherever it is referred to."
            place = path if home == "layout.levels" else (*path, "id")
            yield locator.problem(place, found=found, expected=expected, remedy=remedy)
        first = known | first
