"""Drop-offs found from the geometry: lengths and heights against outlines worked by hand and shapely."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planforge.assess.drop_offs import DropOff, Found, drop_offs, found_drop_offs
from planforge.assess.index import Index
from planforge.codes.profile import load_profile
from planforge.job.model import Job
from planforge.units import FOOT

from .jobs import Changes, small
from .test_invariance import moved

PROFILE = load_profile("us-federal")
TRIGGER = PROFILE.limits["trigger_height"].value

NO_LOT: Changes = {
    "layout.edges": [],
    "layout.openings": [],
    "layout.covers": [],
    "layout.guardrails": [],
    "hazards": [],
    "lower_levels": [{"id": "grade", "name": "Grade", "kind": "grade", "elevation": "-1 ft"}],
}
"""The small lot without what is drawn on it; the slab covers 40 ft by 30 ft, all else is 1 ft lower."""


def box(x0: float, y0: float, x1: float, y1: float) -> list[list[str]]:
    """A rectangle in feet as a job writes it."""
    return [[f"{x} ft", f"{y} ft"] for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]


def floor(name: str, outline: list[list[str]], **more: Any) -> dict[str, Any]:
    return {"id": name, "level": "second", "outline": outline, "laid": "deck"} | more


def found(building: dict[str, Any], more: Changes | None = None) -> Found:
    return found_drop_offs(Index(small(NO_LOT | {"building": building} | (more or {}))), PROFILE)


def of(drops: Iterable[DropOff], thing: str, phase: str = "deck") -> list[DropOff]:
    return [d for d in drops if d.of == thing and d.phase == phase]


def length(drops: Iterable[DropOff]) -> float:
    return sum(d.length for d in drops) / FOOT


def heights(drops: Iterable[DropOff]) -> set[float]:
    return {round(float(h) / FOOT, 6) for d in drops for h in d.height}


def test_sides_of_an_l_shape_are_all_its_perimeter() -> None:
    """Worked by hand: 24 + 15 + 16 + 19 + 40 + 34 = 148 ft, 11'-4" over the slab's level plus 1 ft."""
    outline = [["0", "0"], ["24 ft", "0"], ["24 ft", "15 ft"], ["40 ft", "15 ft"], ["40 ft", "34 ft"]]
    drops = found({"floors": [floor("F", [*outline, ["0", "34 ft"]])]}).over
    sides = of(drops, "F")
    assert length(sides) == pytest.approx(148.0)
    # inside the slab's outline one falls onto the slab, outside it onto the ground
    onto = {d.onto: length([d]) for d in sides if d.onto == ("slab",)}
    assert sum(onto.values()) == pytest.approx(16.0)
    assert heights(sides) == {round(11 + 4 / 12, 6), round(12 + 4 / 12, 6)}
    assert [d.id for d in drops if d.phase == "deck"] == [d.id for d in drops if d.phase == "walls"]


def test_drop_lies_on_the_right_of_its_path() -> None:
    deck = shapely.box(0, 0, 20 * FOOT, 10 * FOOT)
    clockwise = box(0, 0, 20, 10)[::-1]
    hole = {"id": "O", "kind": "floor hole", "outline": box(5, 4, 8, 7), "level": "second"}
    drops = found({"floors": [floor("F", clockwise)]}, {"layout.openings": [hole]}).over
    assert {d.of for d in drops} == {"F", "O"}
    for drop in drops:
        start, end = drop.path[0], drop.path[-1]
        run = (end - start) / np.hypot(*(end - start))
        spot = shapely.Point((start + end) / 2 + 0.3 * np.array([run[1], -run[0]]))
        walked = deck.difference(shapely.box(*(FOOT * np.array([5.0, 4.0, 8.0, 7.0]))))
        assert not walked.contains(spot)


def test_open_from_laid_until_enclosed() -> None:
    later = found({"floors": [floor("F", box(0, 0, 20, 10), laid="walls")]}).over
    assert {d.phase for d in later} == {"walls"}
    closed = found({"floors": [floor("F", box(30, 20, 50, 40), enclosed="walls")]}).over
    assert {d.phase for d in of(closed, "F")} == {"deck"}
    # sides that look down on the slab, inside, are closed by no wall to the outside
    assert length(of(closed, "F", "walls")) == pytest.approx(20.0)
    assert {d.onto for d in of(closed, "F", "walls")} == {("slab",)}


def test_enclosed_side_over_ground_of_no_stated_place_is_closed() -> None:
    """Nothing stated lies below it: the phase's lower level holds there, and yet it is outside."""
    yard = {"lower_levels": []}
    drops = found({"floors": [floor("F", box(30, 20, 50, 40), enclosed="walls")]}, yard).over
    assert length(of(drops, "F")) == pytest.approx(80.0)
    assert heights(of(drops, "F")) == {round(11 + 4 / 12, 6)}
    assert length(of(drops, "F", "walls")) == pytest.approx(20.0)


def test_wall_raised_before_closes_a_side_that_looks_in() -> None:
    wall = {"id": "W", "path": [["30 ft", "20 ft"], ["40 ft", "20 ft"]], "thickness": "5 1/2 in"}
    wall |= {"level": "second", "top": "19 ft", "raised": "deck"}
    drops = found({"floors": [floor("F", box(30, 20, 50, 40), enclosed="walls")], "walls": [wall]}).over
    assert length(of(drops, "F", "walls")) == pytest.approx(10.0, abs=0.05)
    standing = wall | {"raised": "walls"}
    drops = found({"floors": [floor("F", box(30, 20, 50, 40), enclosed="walls")], "walls": [standing]}).over
    assert length(of(drops, "F", "walls")) == pytest.approx(20.0)


def test_side_is_open_until_the_floor_beside_it_is_laid() -> None:
    floors = [floor("F", box(0, 0, 20, 10)), floor("G", box(20, 0, 40, 10), laid="walls")]
    drops = found({"floors": floors}).over
    assert length(of(drops, "F")) == pytest.approx(60.0)
    assert length(of(drops, "F", "walls")) == pytest.approx(50.0)
    assert length(of(drops, "G", "walls")) == pytest.approx(50.0)


LEVELS: Changes = {"layout.levels.sunken": "7 ft", "layout.levels.low": "4 ft"}


@pytest.mark.parametrize(
    ("level", "laid", "height"),
    [
        # 4'-4" down is under the trigger height, laid as one deck or earlier
        ("sunken", "deck", None),
        ("sunken", None, None),
        # 7'-4" down counts once it was laid earlier; until then one falls to the slab
        ("low", None, 7 + 4 / 12),
        ("low", "deck", 11 + 4 / 12),
    ],
)
def test_step_to_a_floor_beside(level: str, laid: str | None, height: float | None) -> None:
    floors = [
        floor("F", box(0, 0, 20, 10)),
        floor("G", box(20, 0, 39, 10), level=level) | ({"laid": laid} if laid else {"laid": None}),
    ]
    step = [
        d
        for d in of(found({"floors": floors}, LEVELS).over, "F")
        if np.allclose(d.path[:, 0], 20 * FOOT) and d.kind == "open-to-below"
    ]
    assert heights(step) == ({round(height, 6)} if height else set())
    assert length(step) == pytest.approx(10.0 if height else 0.0)


def test_shaft_goes_through_every_floor_that_is_open_there() -> None:
    floors = [floor("F", box(0, 0, 40, 30)), floor("B", box(0, 0, 40, 30), level="low", laid=None)]
    well = {"id": "O", "kind": "shaft", "outline": box(10, 10, 13, 13), "level": "second"}
    closed = found({"floors": floors}, LEVELS | {"layout.openings": [well]}).over
    assert heights(of(closed, "O")) == {round(7 + 4 / 12, 6)}
    lower = well | {"id": "O2", "level": "low"}
    through = found({"floors": floors}, LEVELS | {"layout.openings": [well, lower]}).over
    assert heights(of(through, "O")) == {round(11 + 4 / 12, 6)}
    assert length(of(through, "O")) == pytest.approx(12.0)


def test_top_plate_has_a_drop_on_both_sides_while_it_is_worked_on() -> None:
    wall = {"id": "W", "path": [["0", "0.25 ft"], ["40 ft", "0.25 ft"]], "thickness": "6 in"}
    wall |= {"level": "second", "top": "19'-5\"", "raised": "deck", "worked": ["walls"]}
    drops = found({"floors": [floor("F", box(0, 0, 40, 30))], "walls": [wall]}).over
    assert of(drops, "W") == []
    faces = {d.onto: d for d in of(drops, "W", "walls")}
    assert heights([faces["Grade",]]) == {round(20 + 5 / 12, 6)}
    assert heights([faces["floor F",]]) == {round(8 + 1 / 12, 6)}
    assert all(d.level == "plate" for d in faces.values())


GABLE = {
    "id": "R",
    "outline": [*box(-2, -2, 42, 15)[:3], *box(-2, 15, 42, 32)[2:], ["-2 ft", "15 ft"]],
    "heights": ["18 ft", "18 ft", "26.5 ft", "18 ft", "18 ft", "26.5 ft"],
    "worked": ["walls"],
}


def test_gable_has_two_eaves_and_four_rakes() -> None:
    drops = found({"roofs": [GABLE]}).over
    assert {d.phase for d in drops} == {"walls"}
    eaves = [d for d in drops if d.kind == "eave"]
    rakes = [d for d in drops if d.kind == "rake"]
    assert length(eaves) == pytest.approx(88.0)
    assert heights(eaves) == {19.0}
    assert length(rakes) == pytest.approx(68.0)
    assert heights(rakes) == {19.0, 27.5}
    for rake in rakes:
        rise = abs(rake.height - 19 * FOOT)
        off = np.minimum(abs(rake.path[:, 1] + 2 * FOOT), abs(rake.path[:, 1] - 32 * FOOT))
        assert rise == pytest.approx(off / 2)


def test_ridge_that_two_roofs_share_is_no_edge() -> None:
    south = {"id": "S", "outline": box(0, 0, 40, 15), "heights": ["18 ft", "18 ft", "25 ft", "25 ft"]}
    north = {"id": "N", "outline": box(0, 15, 40, 30), "heights": ["25 ft", "25 ft", "18 ft", "18 ft"]}
    both = found({"roofs": [r | {"worked": ["walls"]} for r in (south, north)]}).over
    assert length(both) == pytest.approx(140.0)
    alone = found({"roofs": [south | {"worked": ["walls"]}]}).over
    assert length(alone) == pytest.approx(110.0)
    lower = north | {"heights": ["15 ft", "15 ft", "10 ft", "10 ft"]}
    stepped = found({"roofs": [r | {"worked": ["walls"]} for r in (south, lower)]}).over
    assert length(of(stepped, "S", "walls")) == pytest.approx(110.0)


# ------------------------------------------------------------------------------ ground

FLAT = {"id": "yard", "name": "Yard", "kind": "grade", "elevation": "2 ft", "area": box(-30, -30, 70, 0)}


def slope(a: float, b: float, c: float) -> dict[str, Any]:
    """A yard on the south side, its height in feet a x + b y + c, measured at five places."""
    places = [(-30, -30), (70, -30), (70, 0.5), (-30, 0.5), (13, -11)]
    spots = [{"at": [f"{x} ft", f"{y} ft"], "elevation": f"{a * x + b * y + c:.9f} ft"} for x, y in places]
    highest = max(a * x + b * y + c for x, y in places)
    return FLAT | {"elevation": f"{highest + 0.001} ft", "spots": spots}


def south_of(drops: Iterable[DropOff], phase: str = "deck") -> list[DropOff]:
    return [d for d in of(drops, "F", phase) if np.allclose(d.path[:, 1], 0.0)]


@given(st.floats(-0.09, 0.09), st.floats(-0.09, 0.09), st.floats(-4.0, 3.0))
@settings(max_examples=12, deadline=None)
def test_height_over_sloping_ground_follows_its_plane(a: float, b: float, c: float) -> None:
    every = found({"floors": [floor("F", box(0, 0, 40, 30))]}, {"lower_levels.+": slope(a, b, c)})
    pieces = south_of(every.over) + south_of(every.under)
    assert length(pieces) == pytest.approx(40.0, abs=0.05)
    for piece in pieces:
        x = piece.path[:, 0] / FOOT
        assert piece.height / FOOT == pytest.approx(11 + 4 / 12 - (a * x + c), abs=1e-3)
    for over in south_of(every.over):
        assert over.height.min() >= TRIGGER - 1e-6
    for under in south_of(every.under):
        assert under.max_height <= TRIGGER + 1e-6


def test_stretch_is_cut_exactly_where_the_trigger_height_is_passed() -> None:
    """Ground rises 1 ft in 10 from 3 ft at x = 0: it stands at 5'-4", 6 ft below, at x = 23'-4"."""
    every = found({"floors": [floor("F", box(0, 0, 40, 30))]}, {"lower_levels.+": slope(0.1, 0.0, 3.0)})
    (over,), (under,) = south_of(every.over), south_of(every.under)
    assert over.path[-1, 0] / FOOT == pytest.approx(23 + 4 / 12, abs=1e-4)
    assert under.path[0, 0] == over.path[-1, 0]


LAST = {"elevation": "8 ft"}  # 3'-4" below the floor: no drop-off at the trigger height


@pytest.mark.parametrize(
    ("change", "hazard"),
    [
        ({}, False),
        # there for a part of the phase only
        ({"end": "2026-12-03"}, True),
        ({"start": "2026-12-02"}, True),
        ({"start": "2026-12-01", "end": "2026-12-04"}, False),
        # may be moved on any day
        ({"kind": "stored material"}, True),
        ({"kind": "machine"}, True),
        ({"kind": "porch roof"}, False),
        ({"kind": "porch roof", "start": "2026-12-02"}, True),
        # without a place nobody knows that it lies here
        ({"area": None}, True),
    ],
)
def test_what_may_be_gone_makes_no_fall_shorter(change: dict[str, Any], hazard: bool) -> None:
    level = {k: v for k, v in (FLAT | LAST | change).items() if v is not None}
    every = found({"floors": [floor("F", box(0, 0, 40, 30))]}, {"lower_levels.+": level})
    assert length(south_of(every.over)) == pytest.approx(40.0 if hazard else 0.0)


def test_fill_that_follows_a_bench_counts_with_the_lower_of_the_two() -> None:
    bench = FLAT | {"id": "bench", "name": "Bench", "elevation": "4 ft", "end": "2026-12-02"}
    fill = FLAT | {"id": "fill", "name": "Fill", "elevation": "5 ft", "start": "2026-12-03"}
    levels = [*NO_LOT["lower_levels"], bench, fill]
    every = found({"floors": [floor("F", box(0, 0, 40, 30))]}, {"lower_levels": levels})
    assert heights(south_of(every.over)) == {round(7 + 4 / 12, 6)}
    assert {d.onto for d in south_of(every.over)} == {("Bench",)}
    assert heights(south_of(every.over, "walls")) == {round(6 + 4 / 12, 6)}


def test_trench_in_the_yard_makes_the_fall_deeper_over_its_own_length() -> None:
    trench = {"id": "pit", "name": "Trench", "kind": "excavation", "elevation": "-5 ft"}
    trench |= {"area": box(10, -3, 14, 0.5), "start": "2026-12-04", "end": "2026-12-04"}
    yard = FLAT | {"elevation": "0 ft"}
    every = found({"floors": [floor("F", box(0, 0, 40, 30))]}, {"lower_levels": [yard, trench]})
    by_height = {round(d.max_height / FOOT, 3): length([d]) for d in south_of(every.over)}
    deep = next(d for d in south_of(every.over) if d.onto == ("Trench",))
    assert deep.max_height / FOOT == pytest.approx(16 + 4 / 12)
    assert by_height[round(16 + 4 / 12, 3)] == pytest.approx(4.0)
    assert not any("Trench" in d.onto for d in every.over if d.phase == "walls")


# -------------------------------------------------------------------- properties

small_feet = st.integers(4, 30)


@given(small_feet, small_feet, small_feet, small_feet, st.integers(-20, 20))
@settings(max_examples=15, deadline=None)
def test_found_length_is_the_perimeters_less_the_shared_sides(
    width: int, depth: int, other_width: int, other_depth: int, shift: int
) -> None:
    """The reference is shapely: the boundary of the union of both outlines."""
    floors = [
        floor("F", box(0, 0, width, depth)),
        floor("G", box(width, shift, width + other_width, shift + other_depth)),
    ]
    drops = found({"floors": floors}).over
    union = shapely.union(
        shapely.box(0, 0, width, depth),
        shapely.box(width, shift, width + other_width, shift + other_depth),
    )
    assert length(d for d in drops if d.phase == "deck") == pytest.approx(union.length, abs=0.01)


SPLIT: dict[str, Any] = {
    "floors": [
        floor("F", box(0, 0, 20, 30), enclosed="walls"),
        floor("G", box(20, 5, 40, 25), level="low", laid=None),
    ],
    "walls": [
        {"id": "W", "path": [["0", "15 ft"], ["20 ft", "15 ft"]], "thickness": "4 in", "level": "second"}
        | {"top": "19 ft", "raised": "walls", "worked": ["walls"]}
    ],
    "roofs": [GABLE],
}
MORE: Changes = LEVELS | {
    "layout.openings": [
        {"id": "O", "kind": "stair opening", "outline": box(3, 20, 7, 31), "level": "second"}
    ],
    "lower_levels.+": slope(0.05, 0.03, 2.0),
}


def summary(job: Job) -> list[tuple[Any, ...]]:
    every = found_drop_offs(Index(job), PROFILE)
    return sorted(
        (d.of, d.phase, d.kind, d.level or "", d.onto, *np.round([d.length, d.height.min(), d.max_height], 5))
        for d in (*every.over, *every.under)
    )


@pytest.mark.parametrize(
    "move",
    [
        lambda x, y: (x + 37.5, y - 11.25),
        lambda x, y: (-x, y),
        lambda x, y: (x, -y),
        lambda x, y: (-y, x),
        lambda x, y: (0.6 * x - 0.8 * y + 3.0, 0.8 * x + 0.6 * y),
    ],
)
def test_moving_turning_and_mirroring_change_no_height_and_no_length(move: Any) -> None:
    job = small(NO_LOT | {"building": SPLIT} | MORE)
    assert len(summary(job)) > 20
    for before, after in zip(summary(job), summary(moved(job, move)), strict=True):
        assert before[:5] == after[:5]
        # the way to the spots below is 1/4 in long; on a slope that much of its rise may differ
        assert before[5:] == pytest.approx(after[5:], abs=1e-3)


def test_same_job_gives_the_same_marks() -> None:
    job = small(NO_LOT | {"building": SPLIT} | MORE)
    first, again = (drop_offs(Index(job), PROFILE) for _ in range(2))
    assert [(d.id, d.phase) for d in first] == [(d.id, d.phase) for d in again]
    assert len({(d.id, d.phase) for d in first}) == len(first)


def test_without_geometry_nothing_is_found() -> None:
    assert drop_offs(Index(small(NO_LOT)), PROFILE) == []
