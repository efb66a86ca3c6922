"""Facts of the trade: beyond them is short, within them but without a document is to be confirmed.

Common practice, no source: a span of 60 ft at most; two workers a line, four a span where two lines
run; three workers on a post as a single anchorage; an installed sag of 6 in or less.
"""

from __future__ import annotations

import pytest

from planforge.codes.profile import common_practice
from planforge.units import FOOT, INCH

from .case import CONFIRM, MEETS, SHORT, same
from .jobs import REMOVE, Changes, assessed, finding

SET, POST = "equipment.lifelines.set", "equipment.posts.post"
SHEET = {"source": "Sheet X p. 1 (invented)"}
BESIDE: Changes = {
    "layout.lines.L-1.beside": "L-1b",
    "layout.lines.+": {
        "id": "L-1b",
        "system": "set",
        "start": "P1",
        "end": "P2",
        "absorber_at": "P1",
        "sag": "3 1/2 in",
        "installed_at": "40 F",
        "workers": 2,
        "beside": "L-1",
    },
    f"{SET}.most_workers_two_lines.value": 4,
}
SPAN = {"layout.posts.P2.at": ["62 ft", "28 ft"]}  # 60 ft from P1


def test_the_numbers() -> None:
    values = {key: limit.value for key, limit in common_practice().items()}
    assert values == {
        "span": pytest.approx(60 * FOOT),
        "workers_a_line": 2.0,
        "workers_two_lines": 4.0,
        "workers_an_anchorage": 3.0,
        "sag": pytest.approx(6 * INCH),
        "rescuer_hands": pytest.approx(4 * FOOT),
    }
    assert {limit.source for limit in common_practice().values()} == {
        "common practice, no source (from memory, to be looked up)"
    }
    assert not any(limit.settled for limit in common_practice().values())


CASES = [
    # the maker's rating and its document within common practice
    (
        "line.span",
        "L-1",
        SPAN | {f"{SET}.longest_span": {"value": "60 ft"} | SHEET},
        MEETS,
        60 * FOOT,
        60 * FOOT,
    ),
    ("line.workers", "L-1", {}, MEETS, 2.0, 2.0),
    ("line.workers", "L-1", BESIDE, MEETS, 4.0, 4.0),
    (
        "anchor.workers",
        "A-1",
        {"layout.anchors.A-1.workers": 3, f"{POST}.anchorage_workers.value": 3},
        MEETS,
        3.0,
        3.0,
    ),
    (
        "line.sag",
        "L-1",
        {"layout.lines.L-1.sag": "6 in", f"{SET}.most_sag.value": "6 in"},
        MEETS,
        6 * INCH,
        6 * INCH,
    ),
    # beyond common practice, whatever the maker's paper says
    (
        "line.span",
        "L-1",
        {"layout.posts.P2.at": ["62.1 ft", "28 ft"], f"{SET}.longest_span.value": "80 ft"},
        SHORT,
        60.1 * FOOT,
        60 * FOOT,
    ),
    ("line.workers", "L-1", {"layout.lines.L-1.workers": 3, f"{SET}.most_workers.value": 4}, SHORT, 3.0, 2.0),
    (
        "line.workers",
        "L-1",
        BESIDE
        | {
            "layout.lines.L-1.workers": 3,
            f"{SET}.most_workers.value": 3,
            f"{SET}.most_workers_two_lines.value": 6,
        },
        SHORT,
        5.0,
        4.0,
    ),
    (
        "anchor.workers",
        "A-1",
        {"layout.anchors.A-1.workers": 4, f"{POST}.anchorage_workers.value": 5},
        SHORT,
        4.0,
        3.0,
    ),
    (
        "line.sag",
        "L-1",
        {"layout.lines.L-1.sag": "6.1 in", f"{SET}.most_sag.value": "8 in"},
        SHORT,
        6.1 * INCH,
        6 * INCH,
    ),
    # within it, and the maker's own number is less
    ("line.workers", "L-1", BESIDE | {f"{SET}.most_workers_two_lines.value": 3}, SHORT, 4.0, 3.0),
    ("line.workers", "L-1", BESIDE | {f"{SET}.most_workers.value": 1}, SHORT, 4.0, 4.0),
    # within it, but nobody's document says so
    ("line.span", "L-1", {f"{SET}.longest_span": REMOVE}, CONFIRM, 36 * FOOT, 60 * FOOT),
    ("line.span", "L-1", {f"{SET}.longest_span.source": REMOVE}, CONFIRM, 36 * FOOT, 50 * FOOT),
    ("line.workers", "L-1", {f"{SET}.most_workers": REMOVE}, CONFIRM, 2.0, 2.0),
    ("line.workers", "L-1", BESIDE | {f"{SET}.most_workers_two_lines": REMOVE}, CONFIRM, 4.0, 4.0),
    ("line.workers", "L-1", BESIDE | {f"{SET}.most_workers_two_lines.source": REMOVE}, CONFIRM, 4.0, 4.0),
    ("line.workers", "L-1", BESIDE | {f"{SET}.most_workers.source": REMOVE}, CONFIRM, 4.0, 4.0),
    ("anchor.workers", "A-1", {f"{POST}.anchorage_workers": REMOVE}, CONFIRM, 1.0, 3.0),
    ("line.sag", "L-1", {f"{SET}.most_sag": REMOVE}, CONFIRM, 3.5 * INCH, 6 * INCH),
]


@pytest.mark.parametrize(("check", "where", "changes", "verdict", "value", "limit"), CASES)
def test_practice(
    check: str, where: str, changes: Changes, verdict: object, value: float, limit: float
) -> None:
    found = finding(assessed(changes), check, where)
    assert found.verdict is verdict
    assert found.value == same(value)
    assert found.limit == same(limit)
    if verdict is CONFIRM:
        assert "The maker's rating and its document are wanted." in found.note
        uncited = not any(key.endswith("most_workers.source") for key in changes)
        assert ("common practice, no source" in found.source) == uncited
        assert found.decides == "manufacturer and qualified person"
