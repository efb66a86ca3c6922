"""The code profile: each value beside the text it is taken from, each with citation and basis.

The texts are 29 CFR Part 1926, annual edition of 2015, in the words of a summary, in the text's own units.
1926.502 and 1926.1409 were read again in a public copy of the eCFR (changes up to December 2024): each value
is the same.
"""

from __future__ import annotations

import pytest

from planforge.codes.profile import BASIS, Limit, common_practice, load_profile, profile_ids
from planforge.errors import RefusedError
from planforge.units import FOOT, INCH, LBF, POUND

PROFILE = load_profile("us-federal")

TEXTS = [
    ("trigger_height", 6 * FOOT, "1926.501(b)(1), (b)(13)"),  # 6 feet (1.8 m) or more above a lower level
    ("free_fall", 6 * FOOT, "1926.502(d)(16)(iii)"),  # can neither free fall more than 6 feet
    ("deceleration", 3.5 * FOOT, "1926.502(d)(16)(iv)"),  # maximum deceleration distance 3.5 feet
    ("arrest_force", 1800 * LBF, "1926.502(d)(16)(ii)"),  # 1,800 pounds (8 kN) with a body harness
    ("user_mass", 310 * POUND, "1926.502(d)(16), note"),  # combined weight of less than 310 pounds
    ("line_factor", 2.0, "1926.502(d)(8)(ii)"),  # safety factor of at least two
    ("anchorage_strength", 5000 * LBF, "1926.502(d)(15)"),  # 5,000 pounds per employee attached
    ("component_strength", 5000 * LBF, "1926.502(d)(3), (d)(9), (d)(13)"),  # tensile strength of 5,000 pounds
    ("retracting_strength_short", 3000 * LBF, "1926.502(d)(12)"),  # 3,000 pounds applied to the device
    ("retracting_short_fall", 2 * FOOT, "1926.502(d)(12)"),  # limit free fall distance to 2 feet or less
    ("guardrail_top_low", 39 * INCH, "1926.502(b)(1)"),  # 42 inches plus or minus 3 inches
    ("guardrail_top_high", 45 * INCH, "1926.502(b)(1)"),
    ("guardrail_gap", 19 * INCH, "1926.502(b)(2)"),  # not more than 19 inches apart
    ("wall_opening_sill", 39 * INCH, "1926.501(b)(14)"),  # inside bottom edge less than 39 inches
    ("cover_factor", 2.0, "1926.502(i)(2)"),  # at least twice the weight
    ("power_line_survey", 20 * FOOT, "1926.1408(a)"),  # closer than 20 feet
    ("power_line_high", 350_000.0, "1926.1409"),  # power lines over 350 kV
    ("power_line_survey_high", 50 * FOOT, "1926.1409(a)"),  # 50 feet in place of 20 feet, to 1,000 kV
]


@pytest.mark.parametrize(("limit", "value", "citation"), TEXTS)
def test_value_is_the_texts(limit: str, value: float, citation: str) -> None:
    found = PROFILE.limits[limit]
    assert found.value == pytest.approx(value, rel=1e-12)
    assert citation in found.citation
    assert found.settled


def test_every_limit_is_held_against_a_text() -> None:
    assert {limit for limit, _, _ in TEXTS} == set(PROFILE.limits)


def test_power_line_table() -> None:
    """29 CFR 1926.1408, Table A: to 50 kV 10 ft, to 200 15, to 350 20, to 500 25, to 750 35, to 1,000 45."""
    table = {50: 10, 200: 15, 350: 20, 500: 25, 750: 35, 1000: 45}
    for most, feet in table.items():
        assert PROFILE.power_line_distance(most * 1000.0) == pytest.approx(feet * FOOT)
    for above, feet in zip(list(table)[:-1], list(table.values())[1:], strict=True):
        assert PROFILE.power_line_distance(above * 1000.0 + 1.0) == pytest.approx(feet * FOOT)
    assert PROFILE.power_line_distance(120.0) == pytest.approx(10 * FOOT)
    assert PROFILE.power_line_distance(1_000_001.0) is None
    assert PROFILE.power_line_source == "29 CFR 1926.1408, Table A"


def test_heights_by_kind_of_work() -> None:
    """6 feet (1.8 m) or more: 1926.501(b)(1), (2)(i), (3), (13), (15); holes (4)(i): more than 6 feet."""
    assert {t.citation: round(t.height / FOOT, 9) for t in PROFILE.triggers} == {
        "29 CFR 1926.501(b)(1), (b)(2), (b)(13), (b)(15)": 6.0,
        "29 CFR 1926.501(b)(4)": 6.0,
        "29 CFR 1926.501(b)(3)": 6.0,
    }


def test_every_limit_and_requirement_has_citation_basis_and_words() -> None:
    for entry in (*PROFILE.limits.values(), *PROFILE.requirements):
        assert entry.citation.startswith("29 CFR 1926.")
        assert entry.basis in BASIS
        assert entry.says.endswith(".")
    assert all(requirement.part for requirement in PROFILE.requirements)
    assert len({requirement.id for requirement in PROFILE.requirements}) == len(PROFILE.requirements)


def test_value_that_is_not_settled_says_so_where_it_is_printed() -> None:
    settled = Limit("x", 1.0, "29 CFR 1926.1", "regulation", "Says.")
    assert settled.source == "29 CFR 1926.1"
    for basis in ("secondary", "memory"):
        limit = Limit("x", 1.0, "29 CFR 1926.1", basis, "Says.")
        assert not limit.settled
        assert limit.source == f"29 CFR 1926.1 ({BASIS[basis]})"


def test_profile_states_its_edition_and_the_day_it_was_checked() -> None:
    # page 1 prints what stands before the semicolon
    assert PROFILE.edition.startswith("annual edition of 2015;")
    assert "December 2024" in PROFILE.edition
    assert "compare with the current text" in PROFILE.edition
    assert len(PROFILE.checked) == len("2026-11-25")
    assert PROFILE.title == "US federal OSHA, 29 CFR Part 1926"


def test_unknown_profile_is_refused_with_the_known_ones() -> None:
    with pytest.raises(RefusedError) as refused:
        load_profile("us-moon")
    known = ["ca-british-columbia", "ca-ontario", "us-california", "us-federal", "us-oregon", "us-washington"]
    assert str(refused.value) == f"no code profile 'us-moon'; site.code_profile can be: {', '.join(known)}"
    assert profile_ids() == known


def test_common_practice_is_no_code() -> None:
    assert "common-practice" not in profile_ids()
    for limit in common_practice().values():
        assert limit.citation == "common practice, no source"
        assert not limit.settled
