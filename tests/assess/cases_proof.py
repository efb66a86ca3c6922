"""Cases of proof tests: of the base anchors, of a plate anchor, of an anchorage."""

from __future__ import annotations

from typing import Any

from planforge.units import LBF

from .case import BARE, CONFIRM, SHORT, Case
from .jobs import REMOVE, Changes

STUD, GUY = "equipment.base_anchors.stud", "equipment.guys.guy"


def asked(pounds: int) -> dict[str, str]:
    return {"value": f"{pounds} lbf", "source": "Report ER p. 5 (invented)"}


def pulled(of: str, pounds: int, **other: Any) -> dict[str, Any]:
    """A test that held."""
    return {
        "id": f"PT-{of}",
        "of": of,
        "load": f"{pounds} lbf",
        "method": "Pulled straight out, held 2 min, no movement by dial gauge",
        "by": "A. Tester (invented)",
        "on": "2026-05-04",
        "result": "held",
        "source": "Test report T-1 (invented)",
    } | other


BASE: Changes = BARE | {
    f"{STUD}.proof_load": asked(3000),
    "proof_tests": [pulled("P2", 3000, tested=4)],
}
PLATE: Changes = BARE | {f"{GUY}.proof_load": asked(1500), "proof_tests": [pulled("P2-1", 1500)]}
FITTING: Changes = BARE | {
    "layout.anchors": [
        {
            **{"id": "A-2", "at": ["20 ft", "15 ft"], "elevation": "19 ft", "workers": 1},
            **{"fitting": "Beam clamp (invented)", "proof_load": asked(1000)},
        }
    ],
    "proof_tests": [pulled("A-2", 1000)],
}

CASES = [
    # no test where one is asked for; one below the load; one that failed; fewer than the base has
    Case("base.proof", "P2", {"proof_tests": []}, CONFIRM, "no test recorded", 3000 * LBF, base=BASE),
    Case("base.proof", "P2", {"proof_tests.0.load": "2999 lbf"}, SHORT, 2999 * LBF, 3000 * LBF, base=BASE),
    Case("base.proof", "P2", {"proof_tests.0.tested": 3}, CONFIRM, 3000 * LBF, 3000 * LBF, base=BASE),
    Case(
        "base.proof",
        "P2",
        {"proof_tests.0.result": "failed"},
        SHORT,
        "failed on 2026-05-04",
        3000 * LBF,
        base=BASE,
    ),
    Case("base.proof", "P2", {"proof_tests.0.source": REMOVE}, CONFIRM, 3000 * LBF, 3000 * LBF, base=BASE),
    Case(
        "base.proof", "P2", {f"{STUD}.proof_load.source": REMOVE}, CONFIRM, 3000 * LBF, 3000 * LBF, base=BASE
    ),
    Case("guy.proof", "P2 · P2-1", {"proof_tests": []}, CONFIRM, "no test recorded", 1500 * LBF, base=PLATE),
    Case(
        "guy.proof",
        "P2 · P2-1",
        {"proof_tests.0.load": "1400 lbf"},
        SHORT,
        1400 * LBF,
        1500 * LBF,
        base=PLATE,
    ),
    Case("anchor.proof", "A-2", {"proof_tests": []}, CONFIRM, "no test recorded", 1000 * LBF, base=FITTING),
    Case(
        "anchor.proof",
        "A-2",
        {"proof_tests.0.result": "failed"},
        SHORT,
        "failed on 2026-05-04",
        1000 * LBF,
        base=FITTING,
    ),
]
