"""What a house design carries on to a lot that may not be right there: words, places, marks, bases."""

from __future__ import annotations

from typing import NamedTuple

from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.job.direction_words import unfit_mark
from planforge.job.house import House, Restatement
from planforge.job.placement import Placement, degrees
from planforge.units import Display


class HouseWords(NamedTuple):
    """Which design a lot uses and how it is set there, in words."""

    design: str
    """The design's file and whether it is mirrored."""
    set: str
    """How far it is turned, and where its origin lies."""


def house_words(house: House, display: Display) -> HouseWords:
    """The house of a lot in words, the same on page 1 and on the drawings."""
    mirrored = "as drawn" if house.mirrored == "no" else f"mirrored {house.mirrored}"
    turned = f"turned {display.angle(house.turned)} counter-clockwise" if house.turned else "not turned"
    x, y = (display.length(v) for v in house.at)
    return HouseWords(f"{house.design}, {mirrored}", f"{turned}, its origin at {x}, {y}")


def assess_house(index: Index) -> list[Finding]:
    """The checks of a house that is set on the lot; none where the lot states its house itself."""
    house = index.job.house
    if house is None:
        return []
    by_kind = {what: [r for r in house.to_restate if r.what == what] for what in ("words", "place", "mark")}
    return [
        *_each("house.words", by_kind["words"], _WORDS, "none left"),
        *_each("house.places", by_kind["place"], _PLACES, "none left"),
        _marks([*(r.says for r in by_kind["mark"]), *_levels(index, house)]),
        *_bases(index, house),
    ]


_WORDS = "State this text anew in the lot's own file, or write the direction as <north> in the design."
_PLACES = "State where it is on this lot, in the lot's own file; this is where the design's own lot had it."


def _each(check: str, items: list[Restatement], help_: str, none: str) -> list[Finding]:
    if not items:
        return [found(check, "house", Verdict.MEETS, value=none)]
    return [
        found(
            check,
            f"house · {item.field}",
            Verdict.SHORT,
            value=item.says,
            note=f"{item.file}, line {item.line}. {help_}",
        )
        for item in items
    ]


def _levels(index: Index, house: House) -> list[str]:
    """Lower levels named for a side of the design that lies elsewhere now, such as ``grade-n``."""
    placement, north = Placement.of(house), degrees(index.job.site.north)
    levels = index.job.lower_levels or []
    return [level.id for level in levels if unfit_mark(level.id, placement, north)]


def _marks(items: list[str]) -> Finding:
    if not items:
        return found("house.marks", "house", Verdict.MEETS, value="none with another compass letter")
    note = "They are names on the drawings and no directions here; the crew is told so, by the drawing."
    marks = ", ".join(dict.fromkeys(items))
    return found("house.marks", "house", Verdict.CONFIRM, value=marks, note=note)


def _bases(index: Index, house: House) -> list[Finding]:
    """Asked for in a mirrored house: a base's four holes mirror as a rectangle; unknown holes may not."""
    if house.mirrored == "no":
        return []
    findings = []
    for name in dict.fromkeys(post.kind for post in index.job.layout.posts):
        spacing = index.post_kinds[name].hole_spacing
        if spacing is not None:
            value, verdict, note = "four holes in a rectangle, turned the other way", Verdict.MEETS, ""
        else:
            value, verdict = "hole spacing not stated", Verdict.CONFIRM
            note = "Whether its base can stand as the mirrored plan turns it is for its maker to say."
        findings.append(found("house.bases", name, verdict, value=value, note=note))
    return findings
