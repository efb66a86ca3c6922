"""Walls that hold guys: the sum of their pulls along and across, by statics."""

from __future__ import annotations

from math import ceil, cos, pi, sin, sqrt

import pytest

from planforge.document.printed import Printed
from planforge.units import LBF

from .case import CONFIRM, NOT_APPLICABLE
from .jobs import REMOVE, Changes, assessed, finding
from .small_posts import number, post, pull

NO_WALLS: Changes = {"building.walls": []}
SET_TO: Changes = {"equipment.guys.guy.pretension": {"value": "300 lbf", "source": "Sheet G p. 4 (invented)"}}


def test_wall_behind_one_guy_takes_the_line_by_its_lever() -> None:
    """P3-1 stands square to its wall: 20/18 of the line's pull across it, nothing along."""
    assessment = assessed()
    found = finding(assessment, "guy.bracing", "P3, P4 · W-1 · across")
    alone = 1000 * LBF * 20 / 18  # P4-4 with its worker, at its worst
    assert found.value == pytest.approx(pull(assessment) * 20 / 18 + alone, rel=0.01)
    along = finding(assessment, "guy.bracing", "P3, P4 · W-1 · along")
    assert along.verdict is NOT_APPLICABLE


def test_guys_of_one_post_add_with_their_signs_along_the_wall() -> None:
    """P1-1 and P1-2 run 30 degrees to both sides: along their wall only a fall across leaves a pull."""
    assessment = assessed()
    across = number(finding(assessment, "guy.bracing", "P1 · W-8 · across").value)
    along = number(finding(assessment, "guy.bracing", "P1 · W-8 · along").value)
    result = post(assessment, "P1")
    straight = result.pinned.tension[0, :2] / 2 * sin(result.parts.guys[0].angle)
    assert straight[0] == pytest.approx(straight[1])
    assert across >= 0.999 * float(sum(straight)) * cos(result.parts.guys[0].azimuth + pi)
    assert 0.0 < along < across


def test_pretension_is_summed_and_told() -> None:
    found = finding(assessed(SET_TO), "guy.bracing", "P3, P4 · W-1 · across")
    assert "pretension alone 430 lbf" in found.note  # two guys, 300 sin 45 each, rounded up to 10
    assert 2 * 300 / sqrt(2) == pytest.approx(424.3, abs=0.1)


def test_plates_on_one_line_are_one_wall_where_none_is_stated() -> None:
    assessment = assessed(NO_WALLS)
    found = finding(assessment, "guy.bracing", "P2, P3 · plate line of P2-1 and 1 more · across")
    assert found.verdict is CONFIRM
    assert found.limit == "must hold 2 times this"
    stated = finding(assessed(), "guy.bracing", "P2, P3 · W-7 · across")
    assert found.value == pytest.approx(number(stated.value))


def test_what_bracing_must_hold_is_rounded_up_wherever_it_is_printed() -> None:
    """In the checks as in the table of walls: 2 x the printed pull never holds less than 2 x the pull."""
    assessment, show = assessed(NO_WALLS), Printed("us")
    pulls = {pull.name: pull for pull in assessment.walls}
    open_walls = [f for f in assessment.open_items if f.id == "guy.bracing"]
    assert len(open_walls) > 3
    for found in open_walls:
        _, name, side = found.where.split(" · ")
        pull = pulls[name].arrest[("along", "across").index(side)]
        assert show.value_of(found) == f"{10 * ceil(pull / LBF / 10 - 1e-6):,} lbf"


def test_an_unrated_guys_load_is_rounded_up() -> None:
    assessment = assessed({"equipment.guys.guy.strength": REMOVE})
    loads = [f for f in assessment.open_items if f.id == "guy.strength" and isinstance(f.value, float)]
    assert loads
    for found in loads:
        assert Printed("us").value_of(found) == f"{10 * ceil(number(found.value) / LBF / 10 - 1e-6):,} lbf"


def test_a_short_wall_closes_the_lines_of_its_posts() -> None:
    weak = assessed({"building.walls.W-7.braced_across.value": "100 lbf"})
    assert weak.allowed("L-1") == weak.allowed("L-2") == 0
    assert weak.allowed("A-1") > 0
