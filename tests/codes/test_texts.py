"""What the state and provincial profiles say, held against the texts they were read in, each named beside it.

COPY names the copy of the text; a value that rests on no text, only on a bulletin, a form or a report, is in
OPEN and stays open. Nothing is settled in a profile that isn't in READ.
"""

from __future__ import annotations

import pytest

from planforge.codes.profile import Limit, Requirement, Trigger, load_profile, profile_ids
from planforge.units import FOOT, LBF, POUND

COPY = {
    # Washington: the state's own pages, app.leg.wa.gov and lawfilesext.leg.wa.gov, undated unless said
    "WAC 20005": "296-880-20005, read on 2026-11-25",
    "WAC 30005": "296-880-30005 as filed 2020-06-02: ten feet in (1), older than the change of 2022-11-01",
    "WAC 10010": "296-880-10010, filed 2020-06-02, effective 2020-10-01",
    "WAC 40020": "296-880-40020: (3) six feet, eighteen hundred pounds, three and one-half feet; note: 310",
    # California
    "CCR 1671.1": "dir.ca.gov/title8/1671_1.html, undated, before the change of 2025",
    "CCR 1716.1": "dir.ca.gov/title8/1716_1.html, undated: fifteen feet in (c)(1)",
    "CCR 1670": "current through Register 2024, No. 38: in excess of 7 1/2 feet in (a)",
    # Oregon
    "OAR": "agency texts of 2017, read on 2026-11-25",
    # Ontario
    "OReg 26": "stored copy, read on 2026-11-25",
    "OReg 26.1": "with amendments up to O. Reg. 375/22, in the construction safety association's guide",
    "OReg 297/13": "sections 6 and 7 in O. Reg. 253/14, filed 2014-12-05",
    # British Columbia
    "OHSR 11.2": "copy of about 2010, amended to B.C. Reg. 420/2004; (1) also in guideline G11.2-1",
}

READ: list[tuple[str, str, str, float | None, str]] = [
    ("us-washington", "trigger_height", "WAC 296-880-20005", 4 * FOOT, "WAC 20005"),
    ("us-washington", "free_fall", "WAC 296-880-40020(3)(a)", 6 * FOOT, "WAC 40020"),
    ("us-washington", "arrest_force", "WAC 296-880-40020(3)(b)", 1800 * LBF, "WAC 40020"),
    ("us-washington", "deceleration", "WAC 296-880-40020(3)(c)", 3.5 * FOOT, "WAC 40020"),
    ("us-washington", "user_mass", "WAC 296-880-40020, note", 310 * POUND, "WAC 40020"),
    ("us-washington", "component_strength", "WAC 296-880-40020(1)(c), (j), (k)", 5000 * LBF, "WAC 40020"),
    ("us-washington", "Walking and working surfaces", "WAC 296-880-20005", 4 * FOOT, "WAC 20005"),
    ("us-washington", "Into dangerous equipment", "WAC 296-880-10010", 0.0, "WAC 10010"),
    ("us-washington", "Erecting or placing structural members", "WAC 296-880-30005", 10 * FOOT, "WAC 30005"),
    ("us-washington", "arrest", "WAC 296-880-40020(3)", None, "WAC 40020"),
    ("us-washington", "users", "WAC 296-880-40020, note", None, "WAC 40020"),
    ("us-california", "Structural wood framing", "8 CCR 1716.1(c)", 15 * FOOT, "CCR 1716.1"),
    ("us-california", "Other exposed perimeters", "8 CCR 1670(a)", 7.5 * FOOT, "CCR 1670"),
    ("us-california", "ca_plan", "8 CCR 1671.1(a)(1), (2), (4)", None, "CCR 1671.1"),
    ("us-california", "ca_copy", "8 CCR 1671.1(a)(3)", None, "CCR 1671.1"),
    ("us-california", "alternative", "8 CCR 1671.1(a)(5), (6)", None, "CCR 1671.1"),
    ("us-oregon", "trigger_height", "OAR 437-003-1501", 6 * FOOT, "OAR"),
    ("us-oregon", "All construction work", "OAR 437-003-1501", 6 * FOOT, "OAR"),
    ("us-oregon", "or_slide_guards", "OAR 437-003-2501", None, "OAR"),
    ("ca-ontario", "Falls in general", "O. Reg. 213/91 s. 26", 3.0, "OReg 26"),
    ("ca-ontario", "Barrow paths", "O. Reg. 213/91 s. 26", 1.2, "OReg 26"),
    ("ca-ontario", "Into machinery", "O. Reg. 213/91 s. 26", 0.0, "OReg 26"),
    ("ca-ontario", "on_rank", "O. Reg. 213/91 s. 26.1 (1)", None, "OReg 26.1"),
    ("ca-ontario", "on_next", "O. Reg. 213/91 s. 26.1 (2)", None, "OReg 26.1"),
    ("ca-ontario", "on_design", "O. Reg. 213/91 s. 26.1 (3)", None, "OReg 26.1"),
    ("ca-ontario", "on_rescue", "O. Reg. 213/91 s. 26.1 (4)", None, "OReg 26.1"),
    ("ca-ontario", "on_course", "O. Reg. 297/13 s. 6 and 7", None, "OReg 297/13"),
    ("ca-british-columbia", "trigger_height", "OHSR 11.2 (1)", 3.0, "OHSR 11.2"),
    ("ca-british-columbia", "All work", "OHSR 11.2 (1)", 3.0, "OHSR 11.2"),
    ("ca-british-columbia", "bc_rank", "OHSR 11.2 (2)", None, "OHSR 11.2"),
    ("ca-british-columbia", "bc_next", "OHSR 11.2 (3), (4), (5)", None, "OHSR 11.2"),
    ("ca-british-columbia", "bc_instruction", "OHSR 11.2 (6)", None, "OHSR 11.2"),
]
"""Profile, what of it, citation, value in SI, copy."""

OPEN = [
    # agency bulletin on the change of 2022-11-01: threshold from ten feet to six feet
    ("us-washington", "Leading edges and low-pitch roofing", 6 * FOOT, "secondary"),
    # agency form F417-272-000 of 11-2020, which names WAC 296-880-10020
    ("us-washington", "Written fall protection work plan", 10 * FOOT, "secondary"),
    # reports of 2025 on the change of 8 CCR 1716.2, 1730 and 1731
    ("us-california", "trigger_height", 6 * FOOT, "secondary"),
    ("us-california", "Residential and light commercial framing", 6 * FOOT, "secondary"),
    ("us-california", "Residential roofs", 6 * FOOT, "secondary"),
    # 26.3 (1) and (4) as quoted in 2011, and retold in the construction safety association's guide
    ("ca-ontario", "trigger_height", 2.4, "secondary"),
    ("ca-ontario", "Open sides of floors", 2.4, "secondary"),
    ("ca-ontario", "guardrail_top_high", 1.1, "secondary"),
    # from memory: found nowhere
    ("ca-ontario", "arrest_force", 8000.0, "memory"),
    # retold in a public list of 2026; no text
    ("ca-british-columbia", "Written plan", 7.5, "secondary"),
]


def entry(profile: str, what: str) -> Limit | Trigger | Requirement:
    """A limit or requirement by id, or a trigger by how its work begins."""
    loaded = load_profile(profile)
    by_id: dict[str, Limit | Requirement] = {r.id: r for r in loaded.requirements}
    by_id |= loaded.limits
    return by_id[what] if what in by_id else next(t for t in loaded.triggers if t.work.startswith(what))


def value(found: Limit | Trigger | Requirement) -> float | None:
    if isinstance(found, Limit):
        return found.value
    return found.height if isinstance(found, Trigger) else None


@pytest.mark.parametrize(("profile", "what", "citation", "number", "copy"), READ)
def test_what_was_read_is_the_texts(
    profile: str, what: str, citation: str, number: float | None, copy: str
) -> None:
    found = entry(profile, what)
    assert found.citation == citation
    assert value(found) == (None if number is None else pytest.approx(number, rel=1e-12))
    assert found.settled
    assert copy in COPY


@pytest.mark.parametrize(("profile", "what", "number", "basis"), OPEN)
def test_what_no_text_was_found_for_stays_open(profile: str, what: str, number: float, basis: str) -> None:
    found = entry(profile, what)
    assert value(found) == pytest.approx(number, rel=1e-12)
    assert found.basis == basis
    assert not found.settled


@pytest.mark.parametrize("profile", [p for p in profile_ids() if p != "us-federal"])
def test_nothing_is_settled_that_was_not_read(profile: str) -> None:
    loaded = load_profile(profile)
    read = [entry(profile, what) for of, what, _, _, _ in READ if of == profile]
    settled = [e for e in (*loaded.limits.values(), *loaded.triggers, *loaded.requirements) if e.settled]
    assert [e for e in settled if e not in read] == []
    numbers = [e for e in (*loaded.limits.values(), *loaded.triggers) if not e.settled]
    known = [entry(profile, what) for of, what, _, _ in OPEN if of == profile]
    assert [e for e in numbers if e not in known and e.basis != "borrowed"] == []


def test_every_copy_is_used() -> None:
    assert {copy for *_, copy in READ} == set(COPY)
