"""Proof tests in print: in part 9 and with the release, and nothing where nobody asks for one."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from planforge.assess.assessment import Assessment, assess
from planforge.document import packet
from planforge.document.build import Part, build_pdf
from planforge.document.context import packet_context
from planforge.document.pages import DocumentMeta
from planforge.job.base import Rated
from planforge.job.proof_test import ProofTest
from planforge.units import LBF

from .packets import DATE, FINGERPRINT, job_of

REPORT = "Report ER p. 7 (invented)"


def values(assessment: Assessment) -> dict[str, object]:
    return packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})


def page(assessment: Assessment, template: str) -> str:
    meta = DocumentMeta("P-1", "0", "Lot", "Plan", DATE, FINGERPRINT)
    made = build_pdf([Part(template, values(assessment))], meta, {})
    return " ".join(" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(made)).pages)


@pytest.fixture(scope="module")
def heron() -> Assessment:
    """Every base is asked for a test; P1 held, two of the four anchors of P2 did, P3 failed."""
    job = job_of("heron_lot_14")
    anchors = [
        a.model_copy(update={"proof_load": Rated[float](value=2500 * LBF, source=REPORT)})
        for a in job.equipment.base_anchors
    ]
    common = {"load": "2500 lbf", "method": "Held 2 min.", "by": "Gypsum (invented)", "on": "2026-11-19"}
    tests = [
        ProofTest(id=f"PT-{n}", of=f"P{n}", tested=tested, result=result, source="T-14 (invented)", **common)  # type: ignore[arg-type]
        for n, tested, result in ((1, 4, "held"), (2, 2, "held"), (3, 1, "failed"))
    ]
    kit = job.equipment.model_copy(update={"base_anchors": anchors})
    return assess(job.model_copy(update={"equipment": kit, "proof_tests": tests}))


def test_part_9_says_what_is_asked_and_how_it_came_out(heron: Assessment) -> None:
    text = page(heron, "20b_proof_tests.md")
    assert "P1, base anchors (4) 2,500 lbf. Report ER p. 7 (invented)" in text
    assert (
        "PT-1: 2,500 lbf (4 of 4), held, 2026-11-19, Gypsum (invented). Held 2 min. T-14 (invented)." in text
    )
    assert "P4, P5, P6, P7, P8, P9, P10, P11, base anchors (4)" in text  # alike: one row
    assert "2 of 4 anchors: the report says how many are wanted." in text


def test_the_release_waits_for_what_is_not_tested(heron: Assessment) -> None:
    text = page(heron, "03c_release.md")
    assert "No line or anchorage that hangs on one of these is released before these held" in text
    for post, outcome in (("P1", "meets"), ("P2", "confirm"), ("P3", "SHORT"), ("P11", "confirm")):
        row = text.partition(f"{post}, base anchors 2,500 lbf each")[2]
        assert min(("meets", "confirm", "SHORT"), key=lambda word: row.find(word) % 10**6) == outcome
    assert heron.allowed("L-W") == 0  # between P3 and P8


def test_nothing_is_printed_where_nobody_asks() -> None:
    plain = assess(job_of("heron_lot_14"))
    assert not packet._wanted("20b_proof_tests.md", values(plain))
    assert "Proof test" not in page(plain, "03c_release.md")
    assert "None is stated in the job" in page(plain, "30_requirements.md")
