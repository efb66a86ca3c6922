"""A house set on the lot: which design, and how, on page 1 and in the scope; what the crew is told."""

from __future__ import annotations

from functools import cache

from planforge.assess.assessment import assess
from planforge.job.house import Restatement

from .packets import Pages, job_of, pages_of, printed, squeezed

SET = "turned 90.0° counter-clockwise, its origin at 34'-0\", 40'-0\""


@cache
def pages(name: str) -> list[str]:
    return [squeezed(page) for page in pages_of(name).pages]


def test_page_one_names_design_mirror_turn_and_place() -> None:
    front = pages("heron_lot_15")[0]
    assert squeezed("House design design_heron.yaml, mirrored left to right") in front
    assert squeezed(f"Set on this lot {SET}") in front
    assert squeezed(f"The house is design_heron.yaml, mirrored left to right, {SET}") in "".join(
        pages("heron_lot_15")
    )


def test_crew_is_told_that_a_letter_is_no_direction_here() -> None:
    told = squeezed("Letters in a mark are no direction on this lot:")
    assert told in pages("heron_lot_15")[1]
    assert not any(told in page for page in pages("heron_lot_14"))


def test_sides_are_named_as_they_lie_here() -> None:
    turned, drawn = "".join(pages("heron_lot_15")), "".join(pages("heron_lot_14"))
    assert squeezed("H1 West edge of the second-floor deck") in turned
    assert squeezed("H1 North edge of the second-floor deck") in drawn
    assert "<north>" not in turned + drawn and "<North>" not in turned + drawn


def test_many_fields_to_restate_leave_page_one_its_room() -> None:
    job = job_of("heron_lot_15")
    assert job.house is not None
    left = [
        Restatement(field=f"hazards[{n}].name", what="words", says="North", file="design.yaml", line=n + 10)
        for n in range(15)
    ]
    house = job.house.model_copy(update={"to_restate": left})
    found = [squeezed(page) for page in Pages(printed(assess(job.model_copy(update={"house": house})))).pages]
    assert squeezed("hazards[3].name; and 11 more, part 1") in found[0]
    assert "hazards[4].name" not in found[0]
    whole = "".join(found)
    assert all(
        f"hazards[{n}].name" in whole and squeezed(f"design.yaml, line {n + 10}.") in whole for n in range(15)
    )
