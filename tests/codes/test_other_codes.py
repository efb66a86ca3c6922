"""Profiles that build upon the federal one: their own values beside the texts, the rest open.

What each value is held against stands in test_texts.py.
"""

from __future__ import annotations

import pytest

from planforge.assess.checks import CHECKS
from planforge.codes.profile import BASIS, load_profile, profile_ids
from planforge.job.cross_references import stated
from planforge.job.hazard import System
from planforge.job.reference import fields

FEDERAL = load_profile("us-federal")
OTHERS = [p for p in profile_ids() if p != "us-federal"]

NO_FRAMING = ("Barrow", "Into ")
"""Heights of what no framing edge is: barrow paths, falls into machinery or dangerous equipment."""


@pytest.mark.parametrize("profile", OTHERS)
def test_edges_are_held_to_the_lowest_height_of_framing_work(profile: str) -> None:
    """The general height of a profile is none greater than that of any kind of framing work."""
    loaded = load_profile(profile)
    framing = [t.height for t in loaded.triggers if not t.work.startswith(NO_FRAMING)]
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
    federal = {r.id: r.citation for r in FEDERAL.requirements}
    own = [r for r in loaded.requirements if r.citation != federal.get(r.id)]
    assert own, "a profile without a requirement of its own"
    assert all(not r.settled for r in loaded.requirements if r not in own)
    assert len({r.id for r in loaded.requirements}) == len(loaded.requirements)
    assert BASIS["borrowed"] in loaded.power_line_source


@pytest.mark.parametrize("profile", profile_ids())
def test_requirements_name_checks_and_fields_that_exist(profile: str) -> None:
    loaded = load_profile(profile)
    for requirement in loaded.requirements:
        assert set(requirement.checks) <= set(CHECKS), requirement.id
        assert set(requirement.states) <= set(fields()), requirement.id
        assert requirement.citation
        assert requirement.says.endswith(".")
    for entry in (*loaded.triggers, *loaded.limits.values()):
        assert entry.basis in BASIS
        assert entry.says.endswith("."), entry  # a comma that YAML took for the end of the entry
    assert set(loaded.barred) <= {s.value for s in System}


def test_stated_finds_a_field_of_every_entry() -> None:
    class Step:
        name = "x"

    class Holder:
        steps = [Step(), Step()]  # noqa: RUF012

    assert [v for _, v in stated(Holder, "steps.name")] == ["x", "x"]
