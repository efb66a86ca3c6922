"""Which means reaches whom: height, outreach, rope, phase; on the small lot."""

from __future__ import annotations

import pytest

from planforge.assess.finding import Verdict
from planforge.units import FOOT

from .jobs import REMOVE, Changes, assessed, finding, raw


def lift(**changes: object) -> Changes:
    data = {
        "platform": "16 ft",
        "outreach": {"value": "60 ft", "source": "Range chart (invented)", "dated": "2025-03-01"},
        "works_from": [
            ["-20 ft", "-20 ft"],
            ["-10 ft", "-20 ft"],
            ["-10 ft", "-10 ft"],
            ["-20 ft", "-10 ft"],
        ],
    }
    return {
        "rescue.means.M-1.kind": "lift",
        "rescue.means.M-1.ladder": REMOVE,
        "rescue.means.M-1.lift": data | changes,
    }


def verdict(changes: Changes, thing: str = "L-1") -> Verdict:
    return finding(assessed(changes), "rescue.reach", thing).verdict


def test_ladder_without_its_measures_is_open() -> None:
    assert verdict({}) is Verdict.MEETS
    assert verdict({"rescue.means.M-1.ladder": REMOVE}) is Verdict.CONFIRM


def test_short_ladder_does_not_reach_whatever_is_stated() -> None:
    short = {"rescue.means.M-1.ladder": {"working_length": "8 ft", "stands_below_top": "4 ft"}}
    found = finding(assessed(short), "rescue.reach", "L-1")
    assert found.verdict is Verdict.SHORT
    # 4 ft along the ladder at 1:4, and 4 ft from the feet to the hands
    assert found.limit == pytest.approx((4 * (1 - 1 / 16) ** 0.5 + 4) * FOOT, rel=1e-9)
    assert "does not reach that high" in found.note


def test_stated_reach_below_the_reckoned_one_governs() -> None:
    found = finding(assessed({"rescue.means.M-1.reaches": "2 ft"}), "rescue.reach", "L-1")
    assert found.verdict is Verdict.SHORT
    assert found.limit == pytest.approx(2 * FOOT)


def test_lift_out_of_its_outreach_is_short_and_says_how_many_places() -> None:
    assert verdict(lift(outreach={"value": "90 ft", "source": "Range chart (invented)"})) is Verdict.MEETS
    near = finding(
        assessed(lift(outreach={"value": "1 ft", "source": "Range chart (invented)"})), "rescue.reach", "L-1"
    )
    assert near.verdict is Verdict.SHORT
    assert "beyond its outreach" in near.note


def test_outreach_without_a_source_is_open() -> None:
    assert verdict(lift(outreach="90 ft")) is Verdict.CONFIRM


def test_rope_too_short_to_lower_is_short() -> None:
    kit: Changes = {"rescue.means.M-1.kind": "rope kit", "rescue.means.M-1.ladder": REMOVE}
    rope = {"length": "200 ft", "parts": 4, "fixed_at": "18 ft"}
    assert verdict(kit | {"rescue.means.M-1.rope": rope}) is Verdict.MEETS
    found = finding(
        assessed(kit | {"rescue.means.M-1.rope": rope | {"length": "40 ft"}}), "rescue.reach", "L-1"
    )
    assert found.verdict is Verdict.SHORT
    assert "rope is too short" in found.note


def test_means_that_is_away_in_a_phase_does_not_count_then() -> None:
    before = assessed()
    phases = [f.phase for f in before.findings if f.id == "rescue.reach" and f.where == "L-1"]
    assert len(phases) > 1
    away = assessed({"rescue.means.M-1.phases": [phases[0]]})
    by_phase = {f.phase: f.verdict for f in away.findings if f.id == "rescue.reach" and f.where == "L-1"}
    assert by_phase[phases[0]] is Verdict.MEETS
    assert all(by_phase[p] is Verdict.SHORT for p in phases[1:])


def test_two_means_reach_the_whole_together() -> None:
    """Each lift gets to one end of the line only; together they reach everyone."""
    places = assessed().hangs["L-1"].spots / FOOT
    left, right = places[:, 0].min(), places[:, 0].max()
    reach = {"value": f"{(right - left) / 2 + 1:.2f} ft", "source": "Range chart (invented)"}
    y = float(places[:, 1].mean())

    def at(x: float) -> list[list[str]]:
        return [
            [f"{x + dx:.2f} ft", f"{y + dy:.2f} ft"] for dx, dy in ((0, 0), (0.1, 0), (0.1, 0.1), (0, 0.1))
        ]

    changes = lift(works_from=at(left), outreach=reach)
    assert verdict(changes) is Verdict.SHORT
    second = {
        "id": "M-2", "kind": "lift", "name": "Second lift", "serves": ["L-1"], "reaches": "20 ft",
        "stands_on": "slab", "kept_at": "K-1", "time": "6 min",
        "lift": {"platform": "16 ft", "outreach": reach, "works_from": at(right)},
    }  # fmt: skip
    assert verdict(changes | {"rescue.means.+": second}) is Verdict.MEETS


def yard(x: float, elevation: str = "-3 ft") -> dict[str, object]:
    """Ground from ``x`` (ft) on to the east, past everything."""
    area = [[f"{a:.3f} ft", f"{b} ft"] for a, b in ((x, -90), (x + 99, -90), (x + 99, 90), (x, 90))]
    return {"id": "yard", "name": "Yard", "kind": "grade", "elevation": elevation, "area": area}


def from_yard(x: float, elevation: str = "-3 ft") -> Changes:
    on_yard = {"rescue.means.M-1.stands_on": "yard", "rescue.means.M-1.also_on": []}
    return {"lower_levels.+": yard(x, elevation)} | on_yard


def test_a_ladder_gets_no_farther_than_its_foot_may_stand_off() -> None:
    """Four to one (29 CFR 1926.1053(b)(5)(i)): the foot of 25 ft of ladder stands 6 ft 3 in out."""
    ends = assessed().hangs["L-1"].spots[:, 0] / FOOT
    held = ends.max() - 10.0
    found = finding(assessed(from_yard(held + 6.25)), "rescue.reach", "L-1")
    beyond = int((ends < held - 1e-9).sum())
    assert 0 < beyond < len(ends)
    assert found.verdict is Verdict.SHORT
    assert f"At {beyond} of {len(ends)} places along it the ladder can't lean" in found.note
    assert verdict(from_yard(ends.min() + 6.25 - 0.001)) is Verdict.MEETS
    assert verdict(from_yard(ends.min() + 6.25 + 0.001)) is Verdict.SHORT


def test_of_several_grounds_the_lowest_counts() -> None:
    both = from_yard(0.0, "-2 ft") | {"rescue.means.M-1.also_on": ["grade"]}
    high = finding(assessed(both), "rescue.reach", "L-1")
    low = finding(
        assessed(from_yard(0.0, "-4 ft") | {"rescue.means.M-1.also_on": ["grade"]}), "rescue.reach", "L-1"
    )
    assert low.value - high.value == pytest.approx(2 * FOOT)
    assert "from Yard or Grade" in low.note


def test_on_a_floor_a_ladder_serves_only_who_hangs_over_it() -> None:
    """The lot's deck edges stand over the ground, and one anchorage over the slab itself."""
    on_slab: Changes = {"rescue.means.M-1.also_on": []}
    assert verdict(on_slab) is Verdict.SHORT
    below = {thing: hang.below.max() for thing, hang in assessed().hangs.items()}
    for thing, lies in below.items():
        stands = finding(assessed(on_slab), "rescue.reach", thing).verdict
        assert stands is (Verdict.MEETS if lies >= -1e-9 else Verdict.SHORT)
    assert min(below.values()) < -0.1
    assert max(below.values()) >= 0.0


@pytest.mark.parametrize(("kind", "stands"), [("stored material", False), ("machine", True)])
def test_nothing_stands_where_lumber_lies(kind: str, stands: bool) -> None:
    """A machine drives away; a lift of lumber on all of the ground that a means works from does not."""
    pile = yard(-30.0, "0 ft") | {"id": "pile", "name": "Lumber", "kind": kind}
    ground = yard(-20.0) | {"id": "yard", "elevation": "-3 ft"}
    on_ground: Changes = {"rescue.means.M-1.stands_on": "yard", "rescue.means.M-1.also_on": []}
    reach = {"value": "90 ft", "source": "Range chart (invented)"}
    everything = [*raw()["lower_levels"], ground, pile]
    for means in (lift(outreach=reach), on_ground):
        found = finding(assessed({"lower_levels": everything} | means), "rescue.reach", "L-1")
        assert (found.verdict is Verdict.MEETS) is stands
