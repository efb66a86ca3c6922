"""A job that can't be laid out: which stretch, which constraint, and what relaxing it would need."""

from __future__ import annotations

from typing import Any

import pytest

from planforge.proposal.offer import Offer, offer
from planforge.proposal.recheck import with_proposal
from tests.proposal.jobs import small


def refused(change: Any) -> Offer:
    offered = offer(small(change=change))
    assert offered.infeasible is not None
    assert not offered.good
    assert offered.data == {}
    return offered


def test_slab_edge_distance_is_named_with_what_it_would_need() -> None:
    def change(data: dict[str, Any]) -> None:
        data["proposal"]["edge_distance"] = "4 ft"

    said = refused(change).lines
    assert said[0] == "No layout covers every hazard edge within the part proposal."
    relaxing = next(line for line in said if "relaxing slab edge distance" in line)
    assert "needs 3'-6\" instead of 4'-0\" at (" in relaxing
    open_ = [line for line in said if line.startswith("not covered: E-")]
    assert any('E-S, deck, from (0", 0") to (30\'-0", 0")' in line for line in open_)


def test_what_is_named_does_relax_it() -> None:
    """With the distance that the message asks for there is a proposal."""

    def change(data: dict[str, Any]) -> None:
        data["proposal"]["edge_distance"] = "3'-6\""

    assert offer(small(change=change)).good


def test_hoist_s_reach_is_named() -> None:
    def change(data: dict[str, Any]) -> None:
        corner = [["40 ft", "0 ft"], ["44 ft", "0 ft"], ["44 ft", "4 ft"], ["40 ft", "4 ft"]]
        data["proposal"]["hoists"] = [{"outline": corner, "reach": "20 ft"}]

    assert any("would do by itself: relaxing hoist's reach: needs" in line for line in refused(change).lines)


def test_walls_that_take_no_guys_are_named() -> None:
    def change(data: dict[str, Any]) -> None:
        for wall in data["building"]["walls"]:
            wall["takes_guys"] = False

    said = "\n".join(refused(change).lines)
    assert "plate anchors on walls that take guys, within the maker's band" in said
    assert "relaxing no one constraint does by itself" in said


def test_clearance_is_named_with_what_there_is() -> None:
    def change(data: dict[str, Any]) -> None:
        data["lower_levels"][0]["elevation"] = "5 ft"

    said = "\n".join(refused(change).lines)
    assert "arrest.clearance" in said
    assert "would do by itself: relaxing arrest.clearance: needs" in said or "no one constraint" in said


def apart(**distances: str) -> Any:
    def change(data: dict[str, Any]) -> None:
        data["proposal"]["guying"].update(lower=[], apart=distances.get("guys", "2 in"))
        data["proposal"]["bases_apart"] = distances.get("bases", "2 ft")

    return change


def test_how_near_bases_would_have_to_stand_is_named_and_does() -> None:
    (said,) = [line for line in refused(apart(bases="30 ft")).lines if "relaxing bases apart" in line]
    assert (
        "would do by itself: relaxing bases apart: needs 17'-0\" instead of 30'-0\" at (42 in, 42 in)" in said
    )
    assert offer(small(change=apart(bases="17 ft"))).good


def test_how_near_guys_would_have_to_run_is_named() -> None:
    said = "\n".join(refused(apart(guys="3 ft")).lines)
    assert "would do by itself: relaxing guys apart: needs " in said
    assert "instead of 3'-0\" at (42 in, 42 in) and (" in said


def test_edge_without_work_asks_for_it() -> None:
    def change(data: dict[str, Any]) -> None:
        data["proposal"]["work"][0]["edges"] = ["E-S"]

    said = refused(change).lines
    assert any("no work under proposal.work is stated at E-W in phase deck" in line for line in said)


@pytest.mark.parametrize("elevation", ["-6 in", "1 ft"])
def test_offers_that_are_made_are_met(elevation: str) -> None:
    def change(data: dict[str, Any]) -> None:
        data["lower_levels"][0]["elevation"] = elevation

    lot = small(change=change)
    offered = offer(lot)
    assert offered.good == (offered.infeasible is None)
    if offered.data:
        assert with_proposal(lot, offered.data).layout.lines
