"""The time limit covers making the candidates; what stays in a layout keeps its place among them."""

from __future__ import annotations

from typing import Any

import pytest

from planforge.assess.index import Index
from planforge.codes.profile import load_profile
from planforge.proposal import standing
from planforge.proposal.clock import Clock
from planforge.proposal.offer import offer
from planforge.proposal.problem import chooser_of, problem_of
from tests.proposal.jobs import small, small_offer


def test_time_that_ends_among_the_candidates_is_said_with_how_far_it_came(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The clock stands still until three posts are guyed, and is past its end from then on."""
    guyed: list[object] = []
    original = standing.stood_each

    def counted(*args: Any) -> Any:
        guyed.extend(built := original(*args))
        return built

    class Short(Clock):
        def check(self, doing: str) -> None:
            self.end = -1.0 if len(guyed) >= 3 else None
            super().check(doing)

    monkeypatch.setattr(standing, "stood_each", counted)
    monkeypatch.setattr(standing, "AT_ONCE", 3)
    monkeypatch.setattr("planforge.proposal.offer.Clock", Short)
    offered = offer(small(), time_limit=5.0)
    assert offered.layout is None and not offered.nothing_to_guard
    assert len(guyed) == 3
    assert "the time of 5 s ran out. Whether there is one is not known." in offered.lines[0]
    assert offered.lines[1].startswith("The time ran out while places were guyed: 3 of ")
    assert "--time-limit" in offered.lines[2]


def pin_the_south_line(data: dict[str, Any]) -> None:
    layout = small_offer().data["layout"]
    (south,) = [line for line in layout["lines"] if line["id"] == "L2"]
    ends = (south["start"], south["end"])
    data["layout"]["posts"] = [p for p in layout["posts"] if p["id"] in ends]
    data["layout"]["lines"] = [south]
    stances = small_offer().data["tasks"][0]["stances"]
    data["tasks"][0]["stances"] = [s for s in stances if s["line"] == "L2"]
    data["hazards"] = [h for h in small_offer().data["hazards"] if h["edge"] == "E-S"]
    data["proposal"]["pinned"] = [*ends, "L2"]


def test_pinned_lines_do_not_shift_what_the_second_opinion_is_asked_for() -> None:
    """A pinned line stands before the trial's: each number asked for comes back as the candidate it is."""
    job = small(change=pin_the_south_line).model
    problem = problem_of(Index(job), load_profile(job.site.code_profile))
    assert [c.id for c in problem.candidates if c.pinned] == ["L2"]
    first, last = 0, len(problem.candidates) - 1
    asked = [last, first, 1]
    settled = chooser_of(problem, None).settle(asked)
    assert [c.thing for c in settled] == [problem.candidates[k].thing for k in asked]
    assert [c.sites for c in settled] == [problem.candidates[k].sites for k in asked]
    assert settled[1] is problem.candidates[first]
    for k, candidate in zip(asked, settled, strict=True):
        assert candidate.margin.value <= problem.candidates[k].margin.value + 1e-9
