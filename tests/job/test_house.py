"""A house design set on a lot: the map itself, what of the design follows it, and every fault with its line.

The outside references are a 2x2 matrix in numpy and shapely.affinity.
"""

from __future__ import annotations

import math
from pathlib import Path
from textwrap import dedent
from typing import Any

import numpy as np
import pytest
import shapely
import yaml
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from planforge import units
from planforge.calc.base_plate import hole_pattern
from planforge.errors import JobFileError
from planforge.job.consistency_outlines import OUTLINES, PATHS, PLACES
from planforge.job.direction_words import misspelt, turned, unfit, unfit_mark
from planforge.job.field_types import FieldType, field_type
from planforge.job.house import Mirror
from planforge.job.in_plan import InPlan
from planforge.job.loading import load, load_job, merged_text
from planforge.job.model import LOT_ONLY, Job
from planforge.job.placement import POINTS, Placement
from planforge.job.placing import length_text
from planforge.job.reference import belongs_to_lot, walk

SOUND = yaml.load((Path(__file__).parent / "sound_job.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)
MIRRORS: tuple[Mirror, ...] = ("no", "left to right", "top to bottom")
MIRROR_MATRIX = {
    "no": np.eye(2),
    "left to right": np.diag([-1.0, 1.0]),
    "top to bottom": np.diag([1.0, -1.0]),
}

lengths = st.floats(-300.0, 300.0)
points = st.tuples(lengths, lengths)
angles = st.integers(-3600, 3600).map(lambda tenths: tenths / 10.0)


def rotation(angle: float) -> Any:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return np.array([[c, -s], [s, c]])


# ---------------------------------------------------------------- the map


@given(st.sampled_from(MIRRORS), angles, points, points)
def test_point_goes_where_matrix_and_shapely_put_it(
    mirrored: Mirror, turn: float, at: tuple[float, float], point: tuple[float, float]
) -> None:
    there = Placement(mirrored, turn, at).point(*point)
    by_matrix = rotation(turn) @ MIRROR_MATRIX[mirrored] @ np.array(point) + np.array(at)
    shape: Any = affinity.scale(shapely.Point(point), *np.diag(MIRROR_MATRIX[mirrored]), origin=(0, 0))
    shape = affinity.translate(affinity.rotate(shape, turn, origin=(0, 0)), *at)
    assert there == pytest.approx(tuple(by_matrix), abs=1e-11)
    assert there == pytest.approx((shape.x, shape.y), abs=1e-11)


@given(st.sampled_from(MIRRORS), angles, angles)
def test_direction_goes_with_its_points(mirrored: Mirror, turn: float, angle: float) -> None:
    placement = Placement(mirrored, turn, (3.0, 4.0))
    start = placement.point(0.0, 0.0)
    end = placement.point(math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    reckoned = math.radians(placement.direction(angle))
    assert np.subtract(end, start) == pytest.approx((math.cos(reckoned), math.sin(reckoned)), abs=1e-9)
    assert -180.0 < placement.direction(angle) <= 180.0


@given(st.sampled_from(MIRRORS), angles, angles, points)
def test_base_s_holes_are_the_design_s_holes_mirrored(
    mirrored: Mirror, turn: float, angle: float, at: tuple[float, float]
) -> None:
    """A base is the same piece of steel on every lot: turned, its holes must fall on the mirrored ones."""
    placement = Placement(mirrored, turn, (2.0, -1.0))
    drawn = hole_pattern(0.3, 0.2, math.radians(angle)) + np.array(at)
    wanted = np.array([placement.point(*hole) for hole in drawn])
    there = hole_pattern(0.3, 0.2, math.radians(placement.base(angle))) + np.array(placement.point(*at))
    apart = np.linalg.norm(wanted[:, None] - there[None], axis=-1)
    assert sorted(apart.argmin(axis=1)) == [0, 1, 2, 3]
    assert apart.min(axis=1) == pytest.approx(0.0, abs=1e-9)


@given(st.sampled_from(MIRRORS), points, angles)
def test_mirrored_twice_is_as_drawn_to_the_bit(
    mirrored: Mirror, point: tuple[float, float], angle: float
) -> None:
    once = Placement(mirrored)
    assert once.point(*once.point(*point)) == point
    drawn = Placement().direction(angle)
    assert once.direction(once.direction(angle)) == drawn
    assert once.base(once.base(angle)) == drawn


@given(st.sampled_from((90.0, -90.0, 270.0, -270.0)), points, angles)
def test_four_quarter_turns_are_as_drawn_to_the_bit(
    turn: float, point: tuple[float, float], angle: float
) -> None:
    quarter = Placement("no", turn)
    there, direction = point, angle
    for _ in range(4):
        there, direction = quarter.point(*there), quarter.direction(direction)
    assert there == point
    assert direction == Placement().direction(angle)


def test_half_turn_is_two_quarters_and_both_mirrors() -> None:
    point = (12.3, -4.5)
    quarter = Placement("no", 90.0)
    assert Placement("no", 180.0).point(*point) == quarter.point(*quarter.point(*point)) == (-12.3, 4.5)
    across = Placement("top to bottom").point(*Placement("left to right").point(*point))
    assert across == (-12.3, 4.5)


@given(lengths)
def test_length_is_written_to_read_back_the_same(value: float) -> None:
    assert units.parse(length_text(value), units.LENGTH) == value


def test_whole_feet_are_written_in_feet() -> None:
    assert length_text(40 * units.FOOT) == "40 ft"
    assert length_text(1 / 3).endswith(" m")


# ---------------------------------------------------------------- every field is told apart


def _leaf(kind: FieldType) -> FieldType:
    return _leaf(kind.item) if kind.item is not None else kind


def test_every_point_and_angle_says_how_it_follows_its_house() -> None:
    found: dict[InPlan | None, set[str]] = {}
    for path, model, name in walk():
        kind = _leaf(field_type(model.model_fields[name]))
        if kind.kind == "point" or kind.phrase == units.ANGLE.expected:
            found.setdefault(kind.in_plan, set()).add(path)
    assert not found.get(None), f"give {found[None]} one of the types of planforge.job.in_plan"
    assert found[InPlan.BASE] == {"layout.posts.turned"}
    assert found[InPlan.DIRECTION] == {"layout.posts.guys.plate", "layout.framing.direction"}
    assert found[InPlan.LOT] == {"site.north", "house.turned", "drawing.turned"}
    assert found[InPlan.OWN] == {
        "equipment.posts.hole_spacing",
        "equipment.guys.least_angle",
        "equipment.guys.greatest_angle",
        "erection.tolerances.plumb",
    }
    assert found[InPlan.PLACE] == {*OUTLINES, *PATHS, *PLACES, "house.at", "drawing.at", "drawing.base_point"}
    assert all(belongs_to_lot(path) for path in found[InPlan.LOT])


def test_house_and_what_it_can_t_know_are_the_lot_s() -> None:
    assert {
        "house",
        "lower_levels",
        "power_lines",
        "slab.contents",
        "slab.scan",
        "slab.pour_date",
    } <= LOT_ONLY
    assert {"weather.coldest", "weather.warmest", "weather.storm", "weather.exposure"} <= LOT_ONLY


# ---------------------------------------------------------------- words


@pytest.mark.parametrize(
    ("placement", "north", "points"),
    [
        (Placement(), 0.0, POINTS),
        (Placement("no", 90.0), 0.0, (*POINTS[6:], *POINTS[:6])),
        (Placement("no", 45.0), 0.0, (*POINTS[7:], *POINTS[:7])),
        (Placement(), 90.0, (*POINTS[6:], *POINTS[:6])),
        (Placement("left to right"), 0.0, (POINTS[0], *POINTS[:0:-1])),
        (Placement("top to bottom"), 0.0, (*POINTS[4::-1], *POINTS[:4:-1])),
        (Placement("no", 22.5), 0.0, POINTS),
        (Placement("no", -22.5), 0.0, (*POINTS[1:], POINTS[0])),
        (Placement("left to right", 90.0), 10.0, (*POINTS[6::-1], POINTS[7])),
    ],
)
def test_compass_points_turn_with_the_house(
    placement: Placement, north: float, points: tuple[str, ...]
) -> None:
    assert tuple(placement.compass(point, north) for point in POINTS) == points


def test_placeholders_keep_their_capital_and_stay_apart() -> None:
    placement = Placement("no", 90.0)
    assert turned("<North> side, <north-east> corner", placement, 0.0) == "West side, northwest corner"
    assert turned("2 <north east> 3 <4", placement, 0.0) == "2 northwest 3 <4"
    assert turned("<Acme> drawing <b>", placement, 0.0) == "<Acme> drawing <b>"
    assert misspelt("the <nroth> wall") == ("<nroth>", "north")
    assert misspelt("<north> <Acme>") is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("North edge of the deck", ["North"]),
        ("the southern and south-east walls", ["southern", "south-east"]),
        ("Northfield, a westerner, Eastman, frontage", []),
        ("the <north> wall", []),
        (
            "left of the door, front porch, rear wall, right-hand rail",
            ["left", "front", "rear", "right-hand"],
        ),
        ("back wall; pulled back on to the deck; back D-ring", ["back"]),
        ("at right angles, 2 ft left over", []),
        ("turned counter-clockwise, downhill", ["counter-clockwise", "downhill"]),
    ],
)
def test_words_that_name_a_direction(text: str, words: list[str]) -> None:
    assert unfit(text, Placement("no", 90.0), 0.0) == words
    assert unfit(text, Placement("no", 0.0, (9.0, 9.0)), 0.0) == []


def test_a_word_that_still_holds_is_no_fault() -> None:
    mirrored = Placement("left to right")
    assert unfit("North wall, east wall", mirrored, 0.0) == ["east"]
    assert unfit("North wall, east wall", Placement(), 90.0) == ["North", "east"], "the lot's north differs"
    assert unfit("North wall, east wall", Placement("no", 90.0), -90.0) == [], "turned with its north"
    assert unfit_mark("L-E", mirrored, 0.0) and not unfit_mark("L-N", mirrored, 0.0)
    assert not unfit_mark("NEW-1", mirrored, 0.0)


# ---------------------------------------------------------------- reading


def put(name: str, data: Any) -> Path:
    text = dedent(data) if isinstance(data, str) else yaml.safe_dump(data, sort_keys=False)
    Path(name).write_text(text, "utf-8")
    return Path(name)


OF_DESIGN = ("layout", "hazards", "tasks", "equipment")


def design(**changes: Any) -> dict[str, Any]:
    return {key: SOUND[key] for key in OF_DESIGN} | changes


def lot(**house: Any) -> dict[str, Any]:
    own = {key: value for key, value in SOUND.items() if key not in (*OF_DESIGN, "extends")}
    return own | {"house": {"design": "design.yaml", "at": ["0", "0"], **house}}


def faults(data: Any) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        load(put("lot.yaml", data))
    return str(caught.value).splitlines()


def placed(**house: Any) -> Job:
    put("design.yaml", design())
    return load_job(put("lot.yaml", lot(**house)))


@pytest.mark.usefixtures("folder")
class TestReading:
    def test_house_as_drawn_is_the_design_to_the_bit(self) -> None:
        put("design.yaml", design())
        own = lot()
        own["extends"] = own.pop("house")["design"]
        extended = load_job(put("extending.yaml", own))
        assert placed().layout == extended.layout
        assert placed().hazards == extended.hazards

    def test_every_place_and_direction_follows(self) -> None:
        drawn, here = placed(), placed(mirrored="left to right", turned="90 deg", at=["10 m", "20 m"])
        for was, now in zip(drawn.layout.footprint, here.layout.footprint, strict=True):
            assert now == pytest.approx((10.0 - was[1], 20.0 - was[0]))
        for old, new in zip(drawn.layout.posts, here.layout.posts, strict=True):
            assert new.at == pytest.approx((10.0 - old.at[1], 20.0 - old.at[0]))
            assert new.turned == pytest.approx(math.pi / 2 - old.turned)
        assert drawn.layout.posts and drawn.tasks and drawn.hazards
        assert drawn.lower_levels == here.lower_levels
        assert drawn.equipment == here.equipment

    def test_turn_left_to_its_default_is_turned_too(self) -> None:
        assert "turned" not in SOUND["layout"]["posts"][0]
        assert placed(turned="37 deg").layout.posts[0].turned == pytest.approx(math.radians(37))

    def test_lot_s_own_statement_wins_in_the_lot_s_coordinates(self) -> None:
        put("design.yaml", design())
        name = SOUND["hazards"][0]["id"]
        own = lot(turned="180 deg") | {"hazards": [{"id": name, "name": "The lot's words"}]}
        there = placed(turned="180 deg").hazards[0]
        put("design.yaml", design())
        here = load_job(put("lot.yaml", own)).hazards[0]
        assert (here.name, here.at) == ("The lot's words", there.at)

    def test_merged_text_reads_to_the_same_job(self) -> None:
        put("design.yaml", design())
        loaded = load(put("lot.yaml", lot(mirrored="top to bottom", turned="37 deg", at=["1 ft", "2 ft"])))
        again = load(put("merged.yaml", merged_text(loaded)))
        assert again.model == loaded.model
        assert again.model.house is not None and again.model.house.placed
        assert again.files == ("merged.yaml",)
        assert merged_text(again) == merged_text(loaded)

    def test_design_may_extend_another_file(self) -> None:
        base = design()
        layout = base.pop("layout")
        put("base.yaml", {"layout": layout})
        put("design.yaml", base | {"extends": "base.yaml"})
        loaded = load(put("lot.yaml", lot(turned="90 deg")))
        assert loaded.files == ("lot.yaml", "design.yaml", "base.yaml")
        assert loaded.model.layout == placed(turned="90 deg").layout

    def test_file_shared_by_lot_and_design_is_turned_for_the_design_only(self) -> None:
        put(
            "shared.yaml",
            {"equipment": SOUND["equipment"], "access": [{"id": "W", "way": "<north>", "transfer": "x"}]},
        )
        put("design.yaml", {key: value for key, value in design().items() if key != "equipment"})
        own = lot(turned="90 deg") | {"extends": "shared.yaml"}
        assert load_job(put("lot.yaml", own)).access[0].way == "north"
        put("design.yaml", design(extends="shared.yaml"))
        assert load_job(put("lot.yaml", own)).access[0].way == "west"

    def test_placeholders_turn_without_a_house_too(self) -> None:
        own = SOUND | {"site": SOUND["site"] | {"north": "90 deg"}, "changes": "Ask at the <north> gate."}
        assert load_job(put("lot.yaml", own)).changes == "Ask at the west gate."

    def test_what_is_left_to_restate_has_file_and_line(self) -> None:
        hazards = [SOUND["hazards"][0] | {"id": "H-N", "name": "North edge"}, *SOUND["hazards"][1:]]
        put("design.yaml", {"hazards": hazards} | {k: v for k, v in design().items() if k != "hazards"})
        lines = Path("design.yaml").read_text("utf-8").splitlines()
        at = {n + 1: line for n, line in enumerate(lines)}
        house = load_job(put("lot.yaml", lot(turned="90 deg"))).house
        assert house is not None
        left = {(r.field, r.what, r.says): r for r in house.to_restate}
        words = left['hazards[0 "H-N"].name', "words", "North"]
        assert words.file == "design.yaml" and "North edge" in at[words.line]
        assert left['hazards[0 "H-N"].id', "mark", "H-N"].line in at
        own = lot(turned="90 deg") | {"hazards": [{"id": "H-N", "name": "West edge"}]}
        house = load_job(put("lot.yaml", own)).house
        assert house is not None
        assert ('hazards[0 "H-N"].name', "words", "North") not in {
            (r.field, r.what, r.says) for r in house.to_restate
        }

    def test_lot_s_own_places_are_left_to_restate_even_as_drawn(self) -> None:
        gate = {"id": "GATE", "kind": "gate", "at": ["1 ft", "-9 ft"], "name": "Gate"}
        layout = SOUND["layout"] | {"places": [*SOUND["layout"]["places"], gate]}
        put("design.yaml", design(layout=layout))
        house = load_job(put("lot.yaml", lot())).house
        assert house is not None
        last = house.to_restate[-1]
        assert (last.field, last.what, last.says) == ('layout.places[1 "GATE"].at', "place", "gate")
        own = lot() | {"layout": {"places": [{"id": "GATE", "at": ["0", "-20 ft"]}]}}
        house = load_job(put("lot.yaml", own)).house
        assert house is not None and last.field not in {r.field for r in house.to_restate}


@pytest.mark.usefixtures("folder")
class TestFaults:
    def test_fault_of_a_placed_point_names_the_design_s_line_and_words(self) -> None:
        layout = SOUND["layout"]
        posts = [layout["posts"][0] | {"at": ["99 ft", "99 ft"]}, *layout["posts"][1:]]
        put("design.yaml", design(layout=layout | {"posts": posts}))
        found = [line for line in faults(lot(turned="90 deg", at=["1 ft", "0"])) if "posts[0" in line]
        text = Path("design.yaml").read_text("utf-8")
        number = text[: text.index("99 ft")].count(
            "\n"
        )  # the line of the field's name, above the first length
        assert found[0].startswith(f"design.yaml:{number}: layout.posts[0")
        assert "found [99 ft, 99 ft] of the design, which is [-98.00 ft, 99.00 ft] on the lot" in found[0]

    def test_length_that_is_none_keeps_its_own_message(self) -> None:
        layout = SOUND["layout"] | {"footprint": [["0", "0"], ["40 fet", "0"], ["40 ft", "30 ft"]]}
        put("design.yaml", design(layout=layout))
        (line,) = faults(lot(turned="90 deg"))
        assert line.startswith("design.yaml:") and '"40 fet" (' in line

    def test_coordinates_out_of_belief_are_caught_where_they_land(self) -> None:
        put("design.yaml", design())
        (line,) = faults(lot(at=["4000 ft", "0"]))
        assert " house.at: found [4000 ft, 0]; expected coordinates within 3,280 ft" in line
        footprint = [["0", "0"], ["3200 ft", "0"], ["3200 ft", "30 ft"], ["0", "30 ft"]]
        put("design.yaml", design(layout=SOUND["layout"] | {"footprint": footprint}))
        far = faults(lot(at=["200 ft", "0"]))
        assert any(
            "found [3200 ft, 0] of the design, which is [3400.00 ft, 0.00 ft] on the lot" in f for f in far
        )

    def test_house_within_a_house_is_refused(self) -> None:
        put("design.yaml", design(house={"design": "other.yaml", "at": ["0", "0"]}))
        (line,) = faults(lot())
        assert "design.yaml:" in line and " house: found a field of one lot;" in line

    def test_lot_s_own_facts_are_refused_in_a_design(self) -> None:
        put("design.yaml", design(lower_levels=SOUND["lower_levels"]))
        assert any(" lower_levels: found a field of one lot;" in line for line in faults(lot()))

    def test_missing_design_is_named_at_its_own_line(self) -> None:
        (line,) = faults(lot(design="absent.yaml"))
        assert 'house.design: found "absent.yaml", which does not exist' in line

    def test_design_extended_as_well_is_refused(self) -> None:
        put("design.yaml", design())
        (line,) = faults(lot() | {"extends": "design.yaml"})
        assert 'house.design: found "design.yaml", which this file extends as well' in line

    def test_design_that_is_the_lot_itself_is_a_loop(self) -> None:
        (line,) = faults(lot(design="lot.yaml"))
        assert "comes back to itself" in line

    @pytest.mark.parametrize(
        ("house", "said"),
        [
            ({"mirrored": "sideways"}, 'house.mirrored: found "sideways"'),
            ({"turned": "90"}, 'house.turned: found "90" (a unit is needed)'),
            ({"at": ["1 ft"]}, "house.at"),
            ({"turn": "90 deg"}, 'Did you mean "turned"?'),
            ({"to_restate": []} | {"placed": "false"}, ""),
            (
                {"to_restate": [{"field": "a", "what": "mark", "says": "N", "file": "f", "line": "1"}]},
                "expected neither of the two, which planforge writes",
            ),
        ],
    )
    def test_what_a_house_can_t_be(self, house: dict[str, Any], said: str) -> None:
        put("design.yaml", design())
        if not said:
            load(put("lot.yaml", lot(**house)))
            return
        (line,) = faults(lot(**house))
        assert line.startswith("lot.yaml:") and said in line

    def test_misspelt_placeholder(self) -> None:
        hazards = [SOUND["hazards"][0] | {"name": "<Nroth> edge"}, *SOUND["hazards"][1:]]
        put("design.yaml", design(hazards=hazards))
        (line,) = faults(lot(turned="90 deg"))
        assert "hazards[0].name" in line and 'found "<Nroth>"' in line and "Did you mean <north>?" in line
