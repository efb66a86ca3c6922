"""A house set on the lot: which design, and how, on page 1 and in the scope; what the crew is told."""

from __future__ import annotations

from functools import cache

from planforge.assess.assessment import assess

from .packets import Pages, job_of, printed, squeezed

SET = "turned 90.0° counter-clockwise, its origin at 34'-0\", 40'-0\""


@cache
def pages(name: str) -> list[str]:
    return [squeezed(page) for page in Pages(printed(assess(job_of(name)))).pages]


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
