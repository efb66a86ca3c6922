"""Found drop-offs held against what is drawn, registered and struck; heights stated too great are named."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from planforge.assess.finding import Finding, Verdict
from planforge.units import FOOT

from .case import BARE, CONFIRM, MEETS, SHORT
from .cases_lot import FLOOR
from .jobs import REMOVE, Changes, assessed, finding

BASE: Changes = BARE | FLOOR


def every(changes: Changes, where: str) -> dict[str, Finding]:
    """The findings of one stretch by phase."""
    return {
        phase: f
        for f in assessed(BASE | changes).findings
        if f.id == "edge.found" and f.where == where
        for phase in f.phase.split(", ")
    }


def test_without_geometry_the_competent_person_confirms() -> None:
    found = finding(assessed(BARE), "edge.found", "lot")
    assert found.verdict is CONFIRM
    assert found.decides == "competent person"


def test_all_that_is_drawn_or_struck_meets() -> None:
    found = [f for f in assessed(BASE).findings if f.id in ("edge.found", "edge.struck")]
    assert {f.where for f in found} == {f"F-1.{n}" for n in (1, 2, 3, 4)} | {
        f"O-1.{n}" for n in (1, 2, 3, 4)
    } | {"X-W", "X-S"}
    assert {f.verdict for f in found} == {MEETS}
    strike = finding(assessed(BASE), "edge.struck", "X-W")
    assert strike.note == "A wall stands. Struck by Aspen Dunlin."


def test_uncovered_part_is_named_by_its_ends() -> None:
    short = finding(assessed(BASE | {"building.struck.X-S": REMOVE}), "edge.found", "F-1.1")
    assert short.verdict is SHORT
    # E-S covers 0 to 6 ft, E-S2 20 to 30 ft of 40 ft
    assert short.value == pytest.approx(24 * FOOT)
    assert 'from 6\'-0", 0" to 20\'-0", 0" and from 30\'-0", 0" to 40\'-0", 0"' in short.note
    assert "12'-4\" down to Grade" in short.note


def test_edge_counts_only_in_its_phases_and_those_of_its_hazard() -> None:
    by_phase = every({"layout.edges.E-N.phases": ["walls"]}, "F-1.3")
    assert by_phase["deck"].verdict is SHORT
    assert by_phase["walls"].verdict is MEETS
    by_phase = every({"hazards.H1.phases": ["deck"]}, "F-1.3")
    assert by_phase["walls"].value == pytest.approx(40 * FOOT)
    assert every({"hazards.H1": REMOVE}, "F-1.3")["deck"].verdict is SHORT


@pytest.mark.parametrize(
    ("edge", "verdict"),
    [
        ({"path": [["0", "30.9 ft"], ["40 ft", "30.9 ft"]]}, MEETS),
        ({"path": [["0", "31.1 ft"], ["40 ft", "31.1 ft"]]}, SHORT),
        ({"level": "plate"}, SHORT),
        # half a foot is drawing noise
        ({"path": [["0", "30 ft"], ["39.6 ft", "30 ft"]]}, MEETS),
        ({"path": [["0", "30 ft"], ["39.4 ft", "30 ft"]]}, SHORT),
        # across it is not along it
        ({"path": [["20 ft", "30 ft"], ["20 ft", "50 ft"]]}, SHORT),
    ],
)
def test_edge_is_the_one_found_within_a_foot_its_way_at_its_level(
    edge: dict[str, Any], verdict: Verdict
) -> None:
    changes = {f"layout.edges.E-N.{key}": value for key, value in edge.items()}
    assert every(changes, "F-1.3")["deck"].verdict is verdict


def test_opening_needs_its_hazard_in_the_phase() -> None:
    by_phase = every({"hazards.H4.phases": ["walls"]}, "O-1.1")
    assert by_phase["deck"].value == pytest.approx(3 * FOOT)
    assert by_phase["walls"].verdict is MEETS


STOREYS = copy.deepcopy(FLOOR["building"])
STOREYS["walls"] = [
    {"id": "W-1", "path": [["0.25 ft", "30 ft"], ["0.25 ft", "0"]], "thickness": "6 in", "level": "second"}
    | {"top": "19'-5\"", "raised": "deck", "worked": ["walls"]}
]


def test_strike_where_edges_lie_above_each_other_must_name_the_level() -> None:
    """The west wall's plate lies over the floor's west side; only in the second phase is it worked on."""
    both = assessed(BARE | {"building": STOREYS})
    strike = finding(both, "edge.struck", "X-W")
    assert strike.verdict is SHORT
    assert strike.value == "edges above each other are found there"
    short = {f.where for f in both.findings if f.id == "edge.found" and f.verdict is SHORT}
    assert short == {"F-1.4", "W-1.1", "W-1.2"}
    named = assessed(BARE | {"building": STOREYS, "building.struck.X-W.level": "second"})
    assert finding(named, "edge.struck", "X-W").verdict is MEETS
    short = {f.where for f in named.findings if f.id == "edge.found" and f.verdict is SHORT}
    assert short == {"W-1.1", "W-1.2"}


def test_strike_in_another_phase_strikes_nothing() -> None:
    laid = {"building.floors.F-1.laid": "walls", "building.struck.X-W.phases": ["deck"]}
    strike = finding(assessed(BASE | laid), "edge.struck", "X-W")
    assert strike.verdict is SHORT
    assert strike.value == "no drop-off at the trigger height is found there"


def test_height_by_geometry_governs_and_an_overstated_one_is_named() -> None:
    pit = {"id": "pit", "name": "Trench", "kind": "excavation", "elevation": "-4 ft"}
    pit["area"] = [["10 ft", "30 ft"], ["14 ft", "30 ft"], ["14 ft", "34 ft"], ["10 ft", "34 ft"]]  # type: ignore[assignment]
    deeper = finding(assessed(BASE | {"lower_levels.+": pit}), "hazard.height", "H1")
    assert deeper.verdict is SHORT
    assert deeper.limit == pytest.approx((15 + 4 / 12) * FOOT)
    over = finding(assessed(BASE | {"hazards.H1.height": "14 ft"}), "hazard.height", "H1")
    assert over.verdict is MEETS
    assert over.note == "Overstated: by geometry and levels it is 12'-4\" down to Grade."


GABLE = {
    "id": "R",
    "outline": [
        ["0", "0"],
        ["40 ft", "0"],
        ["40 ft", "15 ft"],
        ["40 ft", "30 ft"],
        ["0", "30 ft"],
        ["0", "15 ft"],
    ],
    "heights": ["19'-5\"", "19'-5\"", "26 ft", "19'-5\"", "19'-5\"", "26 ft"],
    "worked": ["walls"],
}


def test_roof_edge_is_drawn_at_the_plates_level_all_along_its_slope() -> None:
    def edge(name: str, path: list[list[str]], kind: str) -> dict[str, Any]:
        return {"id": name, "kind": kind, "path": path, "level": "plate", "phases": ["walls"]}

    def hazard(name: str, of: str) -> dict[str, Any]:
        at = {"id": name, "kind": "roof edge", "name": "Roof", "at": ["20 ft", "0"], "edge": of}
        return at | {"height": "27 ft", "phases": ["walls"], "exposed": "Roofers"}

    roof: Changes = BARE | {"building": {"roofs": [GABLE]}}
    bare = {f.where: f for f in assessed(roof).findings if f.id == "edge.found"}
    assert {f.verdict for f in bare.values()} == {SHORT}
    assert sum(f.value for f in bare.values()) == pytest.approx(140 * FOOT)
    east = [["40 ft", "0"], ["40 ft", "30 ft"]]
    drawn = roof | {"layout.edges.+": edge("E-R", east, "rake"), "hazards.+": hazard("H9", "E-R")}
    now = {f.where: f for f in assessed(drawn).findings if f.id == "edge.found"}
    assert [f.note.partition("; ")[2] for f in now.values() if f.verdict is MEETS] == ["E-R."]
    assert sum(f.value for f in now.values()) == pytest.approx(110 * FOOT)
    height = finding(assessed(drawn), "hazard.height", "H9")
    assert height.verdict is MEETS
    assert "Grade" in height.note
    low = drawn | {"hazards.+": hazard("H9", "E-R") | {"height": "26 ft"}}
    # the peak stands 26 ft over the slab and 27 ft over the ground
    assert finding(assessed(low), "hazard.height", "H9").limit == pytest.approx(27 * FOOT)
