"""Profiles that build upon the federal one: their own values beside the texts, the rest open.

Heights and contents as read in stored copies of the texts or in agency bulletins; ``basis`` says which.
"""

from __future__ import annotations

import pytest

from planforge.assess.checks import CHECKS
from planforge.codes.profile import BASIS, load_profile, profile_ids
from planforge.job.cross_references import stated
from planforge.job.hazard import System
from planforge.job.reference import fields
from planforge.units import FOOT

FEDERAL = load_profile("us-federal")
OTHERS = [p for p in profile_ids() if p != "us-federal"]

TRIGGERS = [
    ("us-washington", "Walking and working surfaces", 4 * FOOT, "WAC 296-880-20005", True),
    ("us-washington", "Erecting or placing structural members", 10 * FOOT, "WAC 296-880-30005", True),
    ("us-washington", "Leading edges and low-pitch roofing", 6 * FOOT, "2022-11-01", False),
    ("us-california", "Residential and light commercial framing", 6 * FOOT, "8 CCR 1716.2", False),
    ("us-california", "Structural wood framing that is not residential", 15 * FOOT, "8 CCR 1716.1", False),
    ("us-oregon", "All construction work", 6 * FOOT, "OAR 437-003-1501", True),
    ("ca-ontario", "Falls in general", 3.0, "O. Reg. 213/91 s. 26", True),
    ("ca-ontario", "Barrow paths", 1.2, "O. Reg. 213/91 s. 26", True),
    ("ca-ontario", "Open perimeters", 2.4, "s. 26.3", False),
    ("ca-british-columbia", "All work", 3.0, "OHSR 11.2", True),
    ("ca-british-columbia", "Written plan", 7.5, "OHSR 11.3", False),
]


@pytest.mark.parametrize(("profile", "work", "height", "citation", "settled"), TRIGGERS)
def test_height_by_kind_of_work(profile: str, work: str, height: float, citation: str, settled: bool) -> None:
    trigger = next(t for t in load_profile(profile).triggers if t.work.startswith(work))
    assert trigger.height == pytest.approx(height, rel=1e-12)
    assert citation in trigger.citation
    assert trigger.settled is settled


@pytest.mark.parametrize("profile", OTHERS)
def test_edges_are_held_to_the_lowest_height_of_framing_work(profile: str) -> None:
    """The general height of a profile is none greater than that of any kind of work but barrow paths
    and falls into machinery, which no framing edge is."""
    loaded = load_profile(profile)
    framing = [t.height for t in loaded.triggers if not t.work.startswith(("Barrow", "Into machinery"))]
    assert loaded.limits["trigger_height"].value == pytest.approx(min(framing), rel=1e-12)


@pytest.mark.parametrize("profile", OTHERS)
def test_what_a_profile_takes_over_is_never_settled(profile: str) -> None:
    loaded = load_profile(profile)
    assert set(loaded.limits) == set(FEDERAL.limits)
    for key, limit in loaded.limits.items():
        if limit.citation == FEDERAL.limits[key].citation:
            assert not limit.settled
            assert limit.value == FEDERAL.limits[key].value
            assert BASIS["borrowed"] in limit.source or limit.basis != "borrowed"
    own = {r.id for r in loaded.requirements} - {r.id for r in FEDERAL.requirements}
    assert own, "a profile without a requirement of its own"
    assert all(not r.settled for r in loaded.requirements if r.id not in own)
    assert BASIS["borrowed"] in loaded.power_line_source


@pytest.mark.parametrize("profile", profile_ids())
def test_requirements_name_checks_and_fields_that_exist(profile: str) -> None:
    loaded = load_profile(profile)
    for requirement in loaded.requirements:
        assert set(requirement.checks) <= set(CHECKS), requirement.id
        assert set(requirement.states) <= set(fields()), requirement.id
        assert requirement.citation
        assert requirement.says.endswith(".")
    assert {t.basis for t in loaded.triggers} <= set(BASIS)
    assert set(loaded.barred) <= {s.value for s in System}


def test_stated_finds_a_field_of_every_entry() -> None:
    class Step:
        name = "x"

    class Holder:
        steps = [Step(), Step()]  # noqa: RUF012

    assert [v for _, v in stated(Holder, "steps.name")] == ["x", "x"]
