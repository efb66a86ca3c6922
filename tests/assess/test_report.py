"""Findings as records for programs and as a table for a terminal."""

from __future__ import annotations

import json

from planforge.assess.checks import CHECKS
from planforge.assess.printed_finding import FindingDisplay
from planforge.assess.report import records, report, short_lines
from planforge.units import FOOT

from .case import BARE
from .jobs import REMOVE, assessed, finding, raw

KEYS = ["id", "where", "phase", "value", "limit", "sense", "unit", "verdict", "source", "decides", "note"]
CHANGES = {"power_lines.lines.PL-1.distance": "9 ft", "site.permit": "<remove>"}


def test_records_are_plain_data_in_si() -> None:
    rows = records(assessed())
    assert len(rows) == len(assessed().findings)
    assert all(list(row) == KEYS for row in rows)
    assert json.loads(json.dumps(rows, allow_nan=False)) == rows
    (distance,) = [row for row in rows if row["id"] == "power.distance"]
    assert distance["value"] == 46 * FOOT
    assert distance["limit"] == 10 * FOOT
    assert (distance["unit"], distance["sense"], distance["verdict"]) == ("m", "at least", "meets")
    assert distance["decides"] == "utility and competent person"
    assert distance["source"] == "29 CFR 1926.1408, Table A"
    assert {row["verdict"] for row in rows} <= {"meets", "short", "confirm", "not applicable"}
    assert all(row["source"] and row["decides"] for row in rows)


def test_records_follow_the_order_of_the_checks_worst_first() -> None:
    order = list(CHECKS)
    rank = ["short", "confirm", "meets", "not applicable"]
    keys = [(order.index(r["id"]), rank.index(r["verdict"])) for r in records(assessed(CHANGES))]
    assert keys == sorted(keys)


def test_report_has_columns_and_puts_the_worst_last() -> None:
    lines = list(report(assessed(BARE | CHANGES), width=140))
    header = lines[0]
    columns = ["verdict", "where", "value", "limit", "margin", "source, note, who decides"]
    assert [c for c in columns if c in header] == columns
    headings = [line.split(":")[0] for line in lines if line.endswith("]") and ": " in line]
    rank = ["NOT APPLICABLE", "MEETS", "CONFIRM", "SHORT"]
    assert [rank.index(h) for h in headings] == sorted(rank.index(h) for h in headings)
    assert headings[-1] == "SHORT"
    assert all(len(line) <= 140 for line in lines if not line.endswith("]"))


def test_report_prints_value_limit_margin_source_and_decider() -> None:
    lines = list(report(assessed(BARE | CHANGES), width=200))
    start = lines.index("SHORT: Distance to a power line [power.distance]")
    row = lines[start + 1]
    assert row.split()[:2] == ["short", "PL-1"]
    at = lines[0].index
    assert row[at("value") :].startswith("9'-0\"")
    assert row[at("limit") :].startswith("≥ 10'-0\"")
    assert row[at("margin") :].startswith("-1'-0\"")
    text = " ".join(" ".join(lines[start + 1 : start + 4]).split())
    assert "29 CFR 1926.1408, Table A" in text
    assert "utility and competent person" in text


def test_report_of_open_items_leaves_out_what_is_met() -> None:
    lines = list(report(assessed(BARE | CHANGES), width=140, open_only=True))
    assert not any(line.startswith(("MEETS", "NOT APPLICABLE")) for line in lines)
    assert any(line.startswith("CONFIRM: Permit number") for line in lines)


def test_report_ends_with_the_counts_and_says_that_a_short_job_is_a_draft() -> None:
    assessment = assessed(BARE | CHANGES)
    lines = list(report(assessment, width=140))
    assert lines[-1] == "Something is short: this job prints only as a draft."
    counts = {verdict.value: number for verdict, number in assessment.counts.items()}
    assert lines[-2] == (
        f"{counts['short']} short, {counts['confirm']} confirm, {counts['meets']} meets, "
        f"{counts.get('not applicable', 0)} not applicable."
    )
    assert list(report(assessed(), width=140))[-1].startswith("0 short")


def test_report_in_metric_units() -> None:
    lines = list(report(assessed(BARE | {"site.units": "metric"}), width=200))
    row = lines[lines.index("MEETS: Distance to a power line [power.distance]") + 1]
    assert "14.02 m" in row and "≥ 3.05 m" in row


def test_report_prints_sags_and_guardrails_in_inches() -> None:
    """This test ensures that a sag of 3 1/2 in does not print as 0.3 ft, nor a guardrail as 3.5 ft."""
    text = "\n".join(report(assessed(), width=200))
    display = FindingDisplay("us")
    for check, where, value, limit in (
        ("line.sag", "L-1", "3 1/2 in", "≤ 5 1/2 in"),
        ("guardrail.height", "G-1", "42 in", "≤ 45 in"),
    ):
        found = finding(assessed(), check, where)
        assert (display.value_of(found), display.limit_of(found)) == (value, limit)
        rows = text.partition(f"[{check}]")[2].splitlines()
        assert any(where in row and value in row and limit in row for row in rows[:6])


def test_short_lines_compare_in_inches() -> None:
    changed = assessed({"layout.lines.L-1.sag": "6 in"})
    (line,) = [line for line in short_lines(changed) if line.startswith("short: Installed sag, L-1")]
    assert "6 in, ≤ 5 1/2 in" in line


def test_alike_short_items_share_a_line() -> None:
    """Two edges without a hazard: one check, one remedy, both named; nothing of them is lost."""
    bare = assessed({"hazards": []})
    wanted = [f for f in bare.short if f.id == "edge.registered"]
    assert len(wanted) > 1
    (line,) = [line for line in short_lines(bare) if line.startswith(f"short: {wanted[0].title}, ")]
    places = line.removeprefix(f"short: {wanted[0].title}, ").split(": ", 1)[0]
    assert places.split("; ") == [f.where for f in wanted]


def test_time_without_a_drill_keeps_the_unit_of_its_target() -> None:
    means = raw()["rescue"]["means"][0]["id"]
    untimed = finding(assessed({f"rescue.means.{means}.time": REMOVE}), "rescue.time", means)
    assert (untimed.value, untimed.unit) == ("not timed", "s")
    assert FindingDisplay("us").limit_of(untimed).endswith(" min")
