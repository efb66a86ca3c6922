"""Drop-offs and grounds as the plan prints them, from the assessment, the careful way round."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planforge.assess.assessment import Assessment, assess
from planforge.document.context_geometry import DropRow, EdgeRow, GroundRow, StruckRow, geometry_context
from planforge.document.context_plan import hazard_views
from planforge.document.printed import Printed
from planforge.job.loading import load
from planforge.job.model import Job
from planforge.units import INCH, LENGTH, parse
from tests.assess.cases_lot import FLOOR

from .packets import Pages, job_of, printed, squeezed

SMALL = Path(__file__).resolve().parents[1] / "assess" / "small_lot.yaml"
SHOW = Printed("us")


def small(change: Callable[[Any], None] = lambda data: None) -> Assessment:
    data = copy.deepcopy(load(SMALL).data)
    data |= copy.deepcopy(FLOOR)
    change(data)
    return assess(Job.model_validate(data))


def rows(assessment: Assessment, name: str) -> Any:
    return geometry_context(assessment, SHOW)[name]


def without_strike(data: Any) -> None:
    del data["building"]["struck"][0]


def test_row_says_where_it_runs_how_high_and_what_covers_it() -> None:
    by_id: dict[str, DropRow] = {row.id: row for row in rows(small(), "drop_offs")}
    north = by_id["F-1.3"]
    assert north.runs == '40\'-0", 30\'-0" to 0", 30\'-0"'
    assert (north.length, north.height, north.onto) == ("40'-0\"", "12'-4\"", "Grade")
    assert (north.phases, north.covered, north.left, north.verdict) == (
        "deck, walls",
        "E-N (H1)",
        "",
        "meets",
    )
    assert by_id["F-1.4"].covered == "struck: X-W"
    assert by_id["O-1.1"].covered == "O-1 (H4)"


def test_row_that_nothing_covers_says_how_much() -> None:
    west = next(row for row in rows(small(without_strike), "drop_offs") if row.id == "F-1.4")
    assert (west.covered, west.left, west.verdict) == ("–", "30'-0\"", "short")


def test_strike_prints_its_reason_and_who() -> None:
    struck: tuple[StruckRow, ...] = rows(small(), "struck_edges")
    assert [(s.id, s.reason, s.by, s.verdict) for s in struck] == [
        ("X-W", "A wall stands.", "Aspen Dunlin", "meets"),
        ("X-S", "A wall stands.", "Aspen Dunlin", "meets"),
    ]


def test_grounds_are_rounded_down_and_what_is_left_up() -> None:
    assessment = small()
    printed: tuple[GroundRow, ...] = rows(assessment, "ground_rows")
    for row in printed:
        own = [g for g in assessment.grounds if g.of == row.thing and row.stance in g.label]
        least = min(float(g.reach.min()) for g in own)
        assert least - INCH <= parse(row.least, LENGTH) <= least + 1e-9
        assert row.least_by in {"connector", "free fall", "swing", "clearance"}
    edges: tuple[EdgeRow, ...] = rows(assessment, "edge_rows")
    assert {e.verdict for e in edges} == {"meets"}
    assert {(e.hazard, e.edge) for e in edges} >= {("H1", "E-N"), ("H3", "E-S")}


@pytest.mark.parametrize(
    ("area", "us", "metric"), [(9.2903, "99 sq ft", "9.2 m²"), (0.0, "0 sq ft", "0.0 m²")]
)
def test_areas_are_rounded_down(area: float, us: str, metric: str) -> None:
    assert (SHOW.area(area), Printed("metric").area(area)) == (us, metric)


def test_plan_prints_every_stretch_found() -> None:
    assessment = assess(job_of("wren_lot_7_mended"))
    text = squeezed(" ".join(Pages(printed(assessment)).pages))
    assert squeezed("Drop-offs found from the building's geometry") in text
    for drop in assessment.found_edges.over:
        assert drop.id in text
    assert squeezed("Under the trigger height, for the competent person's eye: F-MAIN.4") in text
    assert squeezed("Ground: how far from a line or anchorage one can work") in text


def test_rows_say_which_line_guards_what_of_an_edge_and_how_near_one_stays() -> None:
    """The edge runs 2 ft past each post of L-1 and 2 ft beside it: 2.7 ft reach to 2 in from the corner."""

    def nearer(data: Any) -> None:
        stance = next(s for t in data["tasks"] for s in t["stances"] if s["id"] == "S-N")
        stance["reach"] = "2.7 ft"

    (north,) = [row for row in rows(small(nearer), "guarded_rows") if row.edge == "E-N"]
    assert (north.phases, north.by, north.within) == ("deck, walls", "L-1", "2'-8\"")
    assert north.runs == '2", 30\'-0" to 39\'-10", 30\'-0"'
    (strip,) = [row for row in rows(small(nearer), "strip_rows") if row.edge == "E-N"]
    assert strip.open and strip.guarded_to == "3'-9\"", "2 ft and the chord of 1.81 ft along the west side"
    assert rows(small(), "unhooked") == "6'-0\""


def test_plan_says_what_guards_which_part_of_an_edge(wren_pages: Pages) -> None:
    page = wren_pages.part("3 Hazard register").partition("What guards which part of an edge")[2]
    assert "L-S1" in page and "hooked" in page


def test_register_prints_the_greatest_fall_of_what_guards_a_hazard(heron: Assessment) -> None:
    """Truss setting is stated at the plate's 8 ft; who is tied to A1 can fall from deck to slab."""
    views = {v.id: v for v in hazard_views(heron, Printed("us"))}
    setting = next(h for h in heron.job.hazards if h.id == "H11")
    assert setting.height is not None and setting.height < parse("9 ft", LENGTH)
    assert views["H11"].height == "11'-4\""
    assert views["H1"].height == "12'-0\"", "what is stated prints as it is stated"
