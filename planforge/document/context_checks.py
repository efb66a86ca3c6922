"""Findings as rows: grouped by topic and check, equal rows at several places printed as one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import inf
from typing import Final

from planforge.assess.assessment import Assessment
from planforge.assess.checks import CHECKS
from planforge.assess.finding import Finding, Verdict
from planforge.document.context_lines import RELEASE
from planforge.document.printed import DASH, Printed
from planforge.job.people import Variance

_TOPICS: Final = {
    "plan": "plan",
    "code": "plan",
    "site": "lot",
    "lower_levels": "lot",
    "house": "lot",
    "slab": "lot",
    "power": "lot",
    "weather": "lot",
    "hazard": "hazards",
    "edge": "hazards",
    "guardrail": "hazards",
    "cover": "hazards",
    "zones": "hazards",
    "line": "lines",
    "post": "load_path",
    "guy": "load_path",
    "base": "load_path",
    "framing": "standing",
    "hoist": "standing",
    "wind": "standing",
    "release": "release",
    "arrest": "arrest",
    "anchor": "anchors",
    "kit": "kit",
    "people": "people",
    "briefing": "people",
    "erection": "procedure",
    "removal": "procedure",
    "access": "procedure",
    "rescue": "rescue",
}


_IN_ONE_ROW: Final = frozenset({"wind.unguyed", "line.plumb"})
"""Checks that every post or line leaves open alike: one row for all, with the worst."""

_MOST_PLACES: Final = 6
_FIRST_PLACES: Final = 4
"""So many places of a short check stand on page 1; of more than the most, the first."""


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One printed outcome; ``where`` names every place with the same one."""

    id: str
    title: str
    where: str
    value: str
    limit: str
    margin: str
    verdict: str
    source: str
    decides: str
    note: str
    variance: Variance | None


@dataclass(frozen=True, slots=True)
class CheckGroup:
    """All rows of one check."""

    id: str
    title: str
    asks: str
    decides: str
    source: str  # of all rows alike; empty where rows differ
    rows: tuple[CheckRow, ...]


@dataclass(frozen=True, slots=True)
class Topic:
    """All checks of one topic, with how many findings have each verdict."""

    key: str
    groups: tuple[CheckGroup, ...]
    meets: int
    short: int
    confirm: int
    not_applicable: int


def topic_of(check_id: str) -> str:
    """The topic under which a check is printed."""
    return _TOPICS[check_id.partition(".")[0]]


def place(finding: Finding) -> str:
    """Where a finding is, with its phase."""
    return f"{finding.where} ({finding.phase})" if finding.phase else finding.where


def check_row(finding: Finding, show: Printed, where: str = "") -> CheckRow:
    """One finding as a row."""
    return CheckRow(
        id=finding.id,
        title=finding.title,
        where=where or place(finding),
        value=show.value_of(finding),
        limit=show.limit_of(finding),
        margin=show.margin_of(finding),
        verdict=finding.verdict.value,
        source=finding.source,
        decides=finding.decides,
        note=finding.note,
        variance=finding.variance,
    )


def _joined(findings: Sequence[Finding]) -> str:
    """Places with their phases; the phases of one place are gathered."""
    phases: dict[str, list[str]] = {}
    for finding in findings:
        listed = phases.setdefault(finding.where, [])
        listed += [p for p in finding.phase.split(", ") if p and p not in listed]
    return "; ".join(f"{w} ({', '.join(p)})" if p else w for w, p in phases.items())


def merged_rows(findings: Iterable[Finding], show: Printed) -> tuple[CheckRow, ...]:
    """Rows of findings; those that print alike but for their place become one row."""
    alike: dict[tuple[object, ...], tuple[CheckRow, list[Finding]]] = {}
    for finding in findings:
        row = check_row(finding, show)
        variance = (row.variance.by, row.variance.reason) if row.variance else None
        key = (
            row.id,
            row.value,
            row.limit,
            row.margin,
            row.verdict,
            row.source,
            row.decides,
            row.note,
            variance,
        )
        alike.setdefault(key, (row, []))[1].append(finding)
    return tuple(replace(row, where=_joined(group)) for row, group in alike.values())


def deciders(findings: Iterable[Finding]) -> str:
    """Who decides, each person once: "manufacturer and qualified person" takes in the qualified person."""
    said = dict.fromkeys(f.decides for f in findings)
    people = dict.fromkeys(person for one in said for person in one.split(" and "))
    return next(iter(said)) if len(said) == 1 else ", ".join(people)


def _group(check_id: str, findings: Sequence[Finding], show: Printed) -> CheckGroup:
    check = CHECKS[check_id]
    rows = merged_rows(findings, show)
    sources = {row.source for row in rows}
    return CheckGroup(
        id=check_id,
        title=check.title,
        asks=check.asks,
        decides=deciders(findings),
        source=sources.pop() if len(sources) == 1 else "",
        rows=rows,
    )


def check_groups(findings: Iterable[Finding], show: Printed) -> tuple[CheckGroup, ...]:
    """Findings by check, in the order they come in, which is that of the checks."""
    by_check = groupby(findings, key=lambda f: f.id)
    return tuple(_group(check, list(found), show) for check, found in by_check)


def topics(assessment: Assessment, show: Printed) -> tuple[Topic, ...]:
    """Every finding, by topic and check, in the order of the checks."""
    groups = [(check, list(found)) for check, found in groupby(assessment.findings, key=lambda f: f.id)]
    gathered: dict[str, list[tuple[str, list[Finding]]]] = {}
    for check, found in groups:
        gathered.setdefault(topic_of(check), []).append((check, found))
    return tuple(_topic(key, entries, show) for key, entries in gathered.items())


def _topic(key: str, entries: list[tuple[str, list[Finding]]], show: Printed) -> Topic:
    verdicts = [f.verdict for _, found in entries for f in found]
    return Topic(
        key=key,
        groups=tuple(_group(check, found, show) for check, found in entries),
        meets=verdicts.count(Verdict.MEETS),
        short=verdicts.count(Verdict.SHORT),
        confirm=verdicts.count(Verdict.CONFIRM),
        not_applicable=verdicts.count(Verdict.NOT_APPLICABLE),
    )


def short_rows(assessment: Assessment, show: Printed) -> tuple[CheckRow, ...]:
    """What is short, accepted or not."""
    return merged_rows(assessment.short, show)


def without_leave(finding: Finding) -> Finding:
    """The finding on an unguyed post in words where its tube bears more wind than stops the erection.

    The wind that the tube alone would bear reads as leave to let go of the hook; it stands in appendix C.
    """
    if finding.id != "wind.unguyed" or finding.margin is None or finding.margin < 0.0:
        return finding
    words = "the tube does not govern; the hook stays on until guyed"
    return replace(finding, limit=words, sense="is")


@dataclass(frozen=True, slots=True)
class OpenRow:
    """What one role must confirm in one respect at one place: alike items share a line to sign."""

    id: str
    title: str
    subject: str  # the post, line, anchor or other place; empty: one row for all of them
    where: str  # every item's own place and value
    decides: str


def open_rows(assessment: Assessment, show: Printed) -> tuple[OpenRow, ...]:
    """What a named role must confirm; a row for each check and post, line or other place.

    Releases are signed in their own block; every item stands by itself under all checks.
    """
    alike: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in map(without_leave, assessment.open_items):
        if finding.id != RELEASE:
            subject = "" if finding.id in _IN_ONE_ROW else _subject(assessment, finding)
            key = (finding.id, subject, finding.decides)
            alike.setdefault(key, []).append(finding)
    return tuple(
        OpenRow(
            check,
            CHECKS[check].title,
            subject,
            _items(found, show) if subject else _span(_severest_first(assessment, found), show),
            decides,
        )
        for (check, subject, decides), found in alike.items()
    )


def _subject(assessment: Assessment, finding: Finding) -> str:
    """The post that a finding is about, else the line, anchor or other place."""
    parts = finding.where.split(" · ")
    return parts[-1] if parts[-1] in assessment.index.posts else parts[0]


def _items(findings: Sequence[Finding], show: Printed) -> str:
    """Places by what they stand at: ``place, place: value; limit``."""
    alike: dict[str, list[Finding]] = {}
    for finding in findings:
        value, limit = show.value_of(finding), show.limit_of(finding)
        alike.setdefault(value if limit == DASH else f"{value}; {limit}", []).append(finding)
    return "\n".join(f"{_joined(group)}: {stands}" for stands, group in alike.items())


def _severest_first(assessment: Assessment, findings: Sequence[Finding]) -> list[Finding]:
    """By margin; of heads that move by the room that the sag's band leaves them, those without one last."""
    rooms = {m.line: min(m.room) for m in assessment.replumbed if m.room}
    return sorted(findings, key=lambda f: rooms.get(f.where, inf) if f.margin is None else f.margin)


def _span(findings: Sequence[Finding], show: Printed) -> str:
    """Every place in one line, with where the worst stands; limits from the worst to the mildest."""
    worst, mildest = findings[0], findings[-1]
    value, limit, last = show.value_of(worst), show.limit_of(worst), show.limit_of(mildest)
    if worst.margin is None and len({(show.value_of(f), show.limit_of(f)) for f in findings}) > 1:
        return f"{_joined(findings)}: worst {worst.where}, {value}; {limit}"
    if len({show.value_of(f) for f in findings}) == 1 and last != limit and worst.margin is not None:
        return f"{_joined(findings)}: {value}; {limit} (worst) to {last}"
    return _items(findings, show)


@dataclass(frozen=True, slots=True)
class FirstRow:
    """What is short about one line, anchor or other place in one respect: a row of page 1."""

    id: str
    title: str
    thing: str
    where: str  # what follows the thing's own name
    outcome: str  # the worst value against its limit
    note: str
    decides: str
    follows: bool  # short only because a clearance is


def first_rows(assessment: Assessment, show: Printed) -> tuple[FirstRow, ...]:
    """What is short, in few rows: one for each check and line, anchor or other place.

    Places at which a check is short by the same value, with the same remedy, share a row.
    """
    places: dict[object, set[str]] = {}
    for finding in assessment.short:
        places.setdefault(_said(finding), set()).add(_thing(finding))
    rows: dict[tuple[str, str, object, bool], list[Finding]] = {}
    for finding in assessment.short:
        follows = _follows_clearance(finding, assessment)
        same = _said(finding) if not follows and len(places[_said(finding)]) > 1 else None
        thing = "" if follows or same else _thing(finding)
        rows.setdefault((finding.id, thing, same, follows), []).append(finding)
    return tuple(
        _first_row(thing, found, show, follows=follows) for (_, thing, _, follows), found in rows.items()
    )


def _thing(finding: Finding) -> str:
    return finding.where.split(" · ")[0]


def _said(finding: Finding) -> object:
    """What a finding says but for its place."""
    return finding.id, finding.value, finding.limit, finding.note


def _follows_clearance(finding: Finding, assessment: Assessment) -> bool:
    """True for what is short only because a clearance is, which has rows of its own.

    That is the sag band of a line with such a clearance, and an edge out of reach for clearance alone.
    """
    if finding.id == "line.sag_band":
        clearances = [f for f in assessment.short if f.id == "arrest.clearance"]
        return any(f.where.split(" · ")[0] == finding.where for f in clearances)
    if finding.id != "edge.ground":
        return False
    hazard, edge = finding.where.split(" · ")[:2]
    own = [r for r in assessment.reaches if (r.hazard, r.edge, r.phase) == (hazard, edge, finding.phase)]
    return bool(own) and all(r.bounded_by.endswith(": clearance") for r in own)


def _few(places: list[str]) -> str:
    """All places, or the first of many and how many more part 1 lists."""
    if len(places) <= _MOST_PLACES:
        return "; ".join(places)
    return f"{'; '.join(places[:_FIRST_PLACES])}; and {len(places) - _FIRST_PLACES} more, part 1"


def _first_row(thing: str, findings: Sequence[Finding], show: Printed, *, follows: bool) -> FirstRow:
    worst = min(findings, key=lambda f: f.margin if f.margin is not None else 0.0)
    inner: dict[str, list[str]] = {}
    if not thing:  # several places, of which each is named
        inner = {f.where: [] for f in findings}
    for finding in findings if thing else ():
        _, *stance = finding.where.split(" · ")
        if stance:
            sides = inner.setdefault(stance[0], [])
            sides += [side for side in stance[1:] if side not in sides]
    limit = show.limit_of(worst)
    return FirstRow(
        id=worst.id,
        title=worst.title,
        thing=thing,
        where=_few([f"{name} {', '.join(sides)}".strip() for name, sides in inner.items()]),
        outcome=show.value_of(worst) + ("" if limit == DASH else f"; {limit}"),
        note=worst.note,
        decides=deciders(findings),
        follows=follows,
    )
