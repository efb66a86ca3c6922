"""Words of a design that name a direction, and the placeholders that are turned with the house.

A design that writes ``<north>`` means the side that is up its own sheet; a lot prints the compass point
that lies there once the house is placed and the lot's north is known. ``<North>`` keeps its capital. Plain
words are only looked for: which of them no longer fit is for the lot to see and restate.
"""

from __future__ import annotations

import re
from typing import Final

from planforge.job.placement import POINTS, Placement
from planforge.job.wording import nearest

PLACEHOLDER: Final = re.compile(r"<([A-Za-z][A-Za-z -]{1,20})>")

_COMPASS: Final = re.compile(
    r"\b(?:(north|south)(?:[- ]?(east|west))?|(east|west))(?:ern|erly|wards?|ernmost)?\b", re.IGNORECASE
)
_SIDES: Final = re.compile(
    r"\b(?:(?:left|right)(?:[- ]hand)?|front|rear|(?:anti|counter)?-?clockwise"
    r"|back(?=[- ](?:side|wall|edge|corner|yard|door|porch|deck|room|of the (?:house|building)))"
    r"|uphill|downhill|upslope|downslope|street[- ]?side|road[- ]?side)\b",
    re.IGNORECASE,
)
_NO_SIDE: Final = re.compile(r"\bright[- ]angles?\b|\bleft (?:over|open)\b|\bright away\b", re.IGNORECASE)
_LETTERS: Final = dict(zip(("n", "ne", "e", "se", "s", "sw", "w", "nw"), POINTS, strict=True)) | {
    point: point for point in POINTS
}


def turned(text: str, placement: Placement, north: float) -> str:
    """Return a text with its placeholders replaced by compass points; unknown ones stay."""

    def word(match: re.Match[str]) -> str:
        name = _plain(match[1])
        if name not in POINTS:
            return match[0]
        point = placement.compass(name, north)
        return point.capitalize() if match[1][0].isupper() else point

    return PLACEHOLDER.sub(word, text)


def misspelt(text: str) -> tuple[str, str] | None:
    """Return the first placeholder that is none, with the compass point it comes nearest to."""
    for match in PLACEHOLDER.finditer(text):
        name = _plain(match[1])
        if name not in POINTS and (near := nearest(name, POINTS)):
            return match[0], near
    return None


def unfit(text: str, placement: Placement, north: float) -> list[str]:
    """Return the direction words of a design's text that don't hold where the house stands, as written."""
    text = PLACEHOLDER.sub(lambda m: " " * len(m[0]), text)
    words = {m.start(): m[0] for m in _COMPASS.finditer(text) if _moved(m, placement, north)}
    if placement.redirects:
        kept = _NO_SIDE.sub(lambda m: " " * len(m[0]), text)
        words |= {m.start(): m[0] for m in _SIDES.finditer(kept)}
    return list(dict.fromkeys(words[start] for start in sorted(words)))


def unfit_mark(mark: str, placement: Placement, north: float) -> bool:
    """Return whether an id's part names a compass point that lies elsewhere now: the N of ``L-N``."""
    points = [_LETTERS[part] for part in re.split(r"[-_.]", mark.casefold()) if part in _LETTERS]
    return any(placement.compass(point, north) != point for point in points)


def _moved(match: re.Match[str], placement: Placement, north: float) -> bool:
    point = f"{match[1] or ''}{match[2] or ''}{match[3] or ''}".casefold()
    return placement.compass(point, north) != point


def _plain(name: str) -> str:
    return re.sub(r"[ -]", "", name).casefold()
