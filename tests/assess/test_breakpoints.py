"""At each limit of the code, just below it and just above it.

29 CFR 1926.502(b)(1) 39 to 45 in; (d)(16)(ii) 1,800 lbf; (iii) 6 ft; (iv) 3.5 ft; the note, 310 lb;
(i)(2) twice the load; 1926.501(b)(1) 6 ft; 1926.1408 Table A.
"""

from __future__ import annotations

import pytest

from planforge.assess.finding import Finding, Verdict
from planforge.units import FOOT, INCH, LBF, POUND

from .case import BARE, CONFIRM, MEETS, NOT_APPLICABLE, SHORT
from .jobs import REMOVE, Changes, assessed, finding

SRL = "equipment.connectors.srl"
STANCE = "A-2 · T-A/S-A2"  # on a rigid fitting: its arrest has a closed form
ONE: Changes = {
    "layout.lines": [],
    "tasks.T-N": "<remove>",
    "tasks.T-E": "<remove>",
    "layout.anchors.A-1": "<remove>",
    "tasks.T-A.stances.S-A1": "<remove>",
}
"""The anchorage A-2 alone."""


def one(check: str, where: str, changes: Changes) -> Finding:
    return finding(assessed(ONE | changes), check, where)


@pytest.mark.parametrize(
    ("pounds", "verdict"), [(309.9, MEETS), (310, CONFIRM), (310.1, CONFIRM), (320, CONFIRM), (320.1, SHORT)]
)
def test_heavy_worker(pounds: float, verdict: Verdict) -> None:
    """The presumption holds under 310 lb: at 310 and above the maker's data and a qualified person decide."""
    found = one("arrest.user_mass", STANCE, {"user.mass": f"{pounds} lb"})
    assert found.verdict is verdict
    assert found.value == pytest.approx(pounds * POUND)
    assert found.limit == pytest.approx(310 * POUND)
    assert found.decides == "manufacturer and qualified person"
    assert ("qualified person decide" in found.note) == (pounds >= 310)


@pytest.mark.parametrize(("feet", "verdict"), [(5.99, MEETS), (6, MEETS), (6.01, SHORT)])
def test_free_fall(feet: float, verdict: Verdict) -> None:
    found = one("arrest.free_fall", STANCE, {f"{SRL}.lock_off.value": f"{feet} ft"})
    assert found.verdict is verdict
    assert found.value == pytest.approx(feet * FOOT)
    assert found.limit == pytest.approx(6 * FOOT)


@pytest.mark.parametrize(("feet", "verdict"), [(3.499, MEETS), (3.5, MEETS), (3.501, SHORT)])
def test_deceleration(feet: float, verdict: Verdict) -> None:
    # weight x (free fall + stroke) = force x stroke
    force = 265 * (1.5 + feet) / feet
    changes = {f"{SRL}.lowest_force.value": f"{force!r} lbf", f"{SRL}.stroke.value": "48 in"}
    found = one("arrest.deceleration", STANCE, changes)
    assert found.value == pytest.approx(feet * FOOT, rel=1e-9)
    assert found.limit == pytest.approx(3.5 * FOOT)
    assert found.verdict is verdict


@pytest.mark.parametrize(("pounds", "verdict"), [(1799, MEETS), (1800, MEETS), (1801, SHORT)])
def test_arrest_force(pounds: float, verdict: Verdict) -> None:
    found = one("arrest.force", STANCE, {f"{SRL}.peak_force.value": f"{pounds} lbf"})
    assert found.verdict is verdict
    assert found.value == pytest.approx(pounds * LBF)
    assert found.limit == pytest.approx(1800 * LBF)


@pytest.mark.parametrize(("millimetres", "verdict"), [(1.0, MEETS), (0.0, MEETS), (-1.0, SHORT)])
def test_clearance(millimetres: float, verdict: Verdict) -> None:
    where = f"{STANCE} · inward"
    left = one("arrest.clearance", where, {}).margin
    assert left is not None and left > 0
    shelf = {"id": "shelf", "name": "Shelf", "kind": "other", "elevation": f"{left - millimetres / 1000!r} m"}
    changes = {"lower_levels.+": shelf, "tasks.T-A.stances.S-A2.sides.0.onto": ["shelf"]}
    found = one("arrest.clearance", where, changes)
    assert found.margin == pytest.approx(millimetres / 1000, abs=1e-9)
    assert found.verdict is verdict


@pytest.mark.parametrize(
    ("inches", "verdict", "limit"),
    [(38.99, SHORT, 39), (39, MEETS, 39), (42, MEETS, 45), (45, MEETS, 45), (45.01, SHORT, 45)],
)
def test_guardrail(inches: float, verdict: Verdict, limit: float) -> None:
    rail = {"layout.guardrails.G-1.top": f"{inches} in", "layout.guardrails.G-1.middle": f"{inches / 2} in"}
    found = finding(assessed(BARE | rail), "guardrail.height", "G-1")
    assert found.verdict is verdict
    assert found.value == pytest.approx(inches * INCH)
    assert found.limit == pytest.approx(limit * INCH)
    assert finding(assessed(BARE | rail), "guardrail.gap", "G-1").verdict is MEETS


@pytest.mark.parametrize(
    ("metres", "verdict"), [(0.98, SHORT), (1.0, CONFIRM), (1.0999, CONFIRM), (1.1, CONFIRM), (1.101, SHORT)]
)
def test_guardrail_is_open_on_each_side_that_was_not_read(metres: float, verdict: Verdict) -> None:
    """Ontario: 1.1 m from O. Reg. 213/91 s. 26.3 (4) as quoted, 39 in taken over; both are named."""
    rail = {"site.code_profile": "ca-ontario", "layout.guardrails.G-1.top": f"{metres} m"}
    found = finding(assessed(BARE | rail), "guardrail.height", "G-1")
    assert found.verdict is verdict
    assert "29 CFR 1926.502(b)(1) (taken over from another code)" in found.source
    assert "O. Reg. 213/91 s. 26.3 (4) (secondary source only)" in found.source
    assert found.limit == pytest.approx(39 * INCH if metres < 1.04 else 1.1)


@pytest.mark.parametrize(
    ("middle", "verdict"), [("21 in", MEETS), ("23 in", MEETS), ("23 1/8 in", SHORT), ("18 7/8 in", SHORT)]
)
def test_midrail_is_midway(middle: str, verdict: Verdict) -> None:
    """A midrail within 2 in of midway counts as midway (planforge's own reading)."""
    rail = {"layout.guardrails.G-1.middle": middle}
    assert finding(assessed(BARE | rail), "guardrail.gap", "G-1").verdict is verdict


@pytest.mark.parametrize(("pounds", "verdict"), [(799.9, SHORT), (800, MEETS), (800.1, MEETS)])
def test_cover(pounds: float, verdict: Verdict) -> None:
    found = finding(assessed(BARE | {"layout.covers.C-1.holds": f"{pounds} lb"}), "cover.strength", "C-1")
    assert found.verdict is verdict
    assert found.value == pytest.approx(pounds * POUND)
    assert found.limit == pytest.approx(2 * 400 * POUND)


@pytest.mark.parametrize(
    ("height", "verdict"), [("5.99 ft", NOT_APPLICABLE), ("6 ft", SHORT), ("6.01 ft", SHORT)]
)
def test_trigger_height(height: str, verdict: Verdict) -> None:
    ground = (11 + 4 / 12) * FOOT - float(height.removesuffix(" ft")) * FOOT
    bank = {"id": "bank", "name": "Bank", "kind": "grade", "elevation": f"{ground!r} m"}
    changes = BARE | {"hazards.H6.controls": [], "hazards.H6.height": height, "lower_levels.+": bank}
    assert finding(assessed(changes), "hazard.controls", "H6").verdict is verdict


TABLE_A = [(50, 10), (50.1, 15), (200, 15), (200.1, 20), (350, 20), (350.1, 25), (500, 25), (500.1, 35)]
TABLE_A += [(750, 35), (750.1, 45), (1000, 45)]


@pytest.mark.parametrize(("kilovolts", "feet"), TABLE_A)
def test_power_line_table(kilovolts: float, feet: float) -> None:
    """1926.1409 leaves Table A as it is over 350 kV; a control stands where a line is nearer than 50 ft."""
    for distance, verdict in ((feet - 0.1, SHORT), (feet, MEETS), (feet + 0.1, MEETS), (50.1, MEETS)):
        line = {
            "power_lines.lines.PL-1.voltage": f"{kilovolts} kV",
            "power_lines.lines.PL-1.distance": f"{distance} ft",
        }
        found = finding(assessed(BARE | line), "power.distance", "PL-1")
        assert found.limit == pytest.approx(feet * FOOT)
        assert found.decides == "utility and competent person"
        assert found.value == pytest.approx(distance * FOOT)
        assert found.verdict is verdict


@pytest.mark.parametrize(
    ("kilovolts", "distance", "verdict"),
    [(200, 19.9, CONFIRM), (200, 20, MEETS), (350.1, 49.9, CONFIRM), (350.1, 50, MEETS)],
)
def test_control_is_asked_for_within_20_ft_and_over_350_kv_within_50(
    kilovolts: float, distance: float, verdict: Verdict
) -> None:
    """29 CFR 1926.1408(a) and 1926.1409(a)."""
    changes = {
        "power_lines.lines.PL-1.voltage": f"{kilovolts} kV",
        "power_lines.lines.PL-1.distance": f"{distance} ft",
        "power_lines.lines.PL-1.control": REMOVE,
    }
    found = finding(assessed(BARE | changes), "power.distance", "PL-1")
    assert found.verdict is verdict
    assert ("state the control" in found.note) == (verdict is CONFIRM)


@pytest.mark.parametrize(("kilovolts", "feet"), [(7.2, 20), (350, 20), (350.1, 50)])
def test_power_line_under_a_code_not_read_is_to_confirm(kilovolts: float, feet: float) -> None:
    """Washington's own text on power lines was not read: the federal distance stands in, and is open."""
    changes = {
        "site.code_profile": "us-washington",
        "power_lines.lines.PL-1.voltage": f"{kilovolts} kV",
        "power_lines.lines.PL-1.distance": "60 ft",
    }
    found = finding(assessed(BARE | changes), "power.distance", "PL-1")
    assert found.verdict is CONFIRM
    assert found.limit == pytest.approx(feet * FOOT)
    assert "taken over from another code" in found.source
    assert "Not read in the governing text" in found.note


def test_power_line_beyond_the_table_is_the_utilitys() -> None:
    line = {"power_lines.lines.PL-1.voltage": "1001 kV", "power_lines.lines.PL-1.distance": "90 ft"}
    found = finding(assessed(BARE | line), "power.distance", "PL-1")
    assert found.verdict is CONFIRM
    assert found.decides == "utility and competent person"
    assert "the utility decides" in found.note


@pytest.mark.parametrize(
    ("kilovolts", "radius", "verdict", "limit"),
    [(350, 20, MEETS, 20), (350.1, 49.9, SHORT, 50), (350.1, 50, MEETS, 50), (350.1, 100, MEETS, 50)],
)
def test_survey_reaches_farther_over_350_kv(
    kilovolts: float, radius: float, verdict: Verdict, limit: float
) -> None:
    """29 CFR 1926.1409(a): 50 ft in place of 20 ft over 350 kV."""
    changes = {"power_lines.lines.PL-1.voltage": f"{kilovolts} kV", "power_lines.radius": f"{radius} ft"}
    found = finding(assessed(BARE | changes), "power.survey", "lot")
    assert found.verdict is verdict
    assert found.limit == pytest.approx(limit * FOOT)


@pytest.mark.parametrize(("feet", "verdict"), [(19.9, CONFIRM), (20, MEETS)])
def test_wire_rope_near_a_power_line(feet: float, verdict: Verdict) -> None:
    """Appendix C to Subpart M: no wire rope where an electrical hazard is expected."""
    near = {"power_lines.lines.PL-1.distance": f"{feet} ft"}
    found = finding(assessed(near), "power.distance", "PL-1")
    assert found.verdict is verdict
    assert ("rope conducts" in found.note and "Appendix C" in found.note) == (verdict is CONFIRM)
    fibre = near | {"equipment.ropes.rope.conductive": False}
    assert finding(assessed(fibre), "power.distance", "PL-1").verdict is MEETS
