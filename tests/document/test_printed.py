"""Numbers are printed to the careful side, and a printed margin is the difference of printed numbers."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.assess.finding import Finding, Sense, Verdict
from planforge.calc.sag import CardRow
from planforge.document.printed import Printed
from planforge.units import FOOT, INCH, LBF

US, METRIC = Printed("us"), Printed("metric")


def finding(check: str, value: float, limit: float, unit: str, sense: Sense) -> Finding:
    return Finding(check, "L", Verdict.MEETS, value=value, limit=limit, unit=unit, sense=sense)


@pytest.mark.parametrize(
    ("check", "value", "limit", "unit", "sense", "expected"),
    [
        ("arrest.free_fall", 5.01 * FOOT, 6 * FOOT, "m", "at most", ("5'-1\"", "≤ 6'-0\"", '11"')),
        ("arrest.clearance", 16.19 * FOOT, 13.11 * FOOT, "m", "at least", ("16'-2\"", "≥ 13'-2\"", "3'-0\"")),
        ("base.depth", 1.375 * INCH, 1.3 * INCH, "m", "at least", ('1 3/8"', '≥ 1 5/16"', '1/16"')),
        ("base.layout", 106.99 * INCH, 3 * INCH, "m", "at least", ("8'-10 15/16\"", '≥ 3"', "8'-7 15/16\"")),
        (
            "arrest.clearance",
            6.01 * FOOT,
            6.005 * FOOT,
            "m",
            "at least",
            ("6'-0 1/16\"", "≥ 6'-0 1/16\"", '0"'),
        ),
        ("arrest.force", 1421 * LBF, 1800 * LBF, "N", "at most", ("1,430 lbf", "≤ 1,800 lbf", "370 lbf")),
        ("line.sag", 3.51 * INCH, 5.5 * INCH, "m", "at most", ("3 5/8 in", "≤ 5 1/2 in", "1 7/8 in")),
        ("line.span", 36 * FOOT, 52 * FOOT, "m", "at most", ("36'-0\"", "≤ 52'-0\"", "16'-0\"")),
        ("line.rope_strength", 2.829, 2.0, "", "at least", ("2.82", "≥ 2.00", "0.82")),
        ("line.workers", 2.0, 2.0, "", "at most", ("2", "≤ 2", "0")),
        ("line.second_opinion", 0.0131, 0.05, "", "at most", ("1.4 %", "≤ 5.0 %", "3.6 %")),
        ("weather.range", 269.8167, 249.8167, "K", "at least", ("26 °F", "≥ -10 °F", "36 °F")),
    ],
)
def test_careful_side(
    check: str, value: float, limit: float, unit: str, sense: Sense, expected: tuple[str, str, str]
) -> None:
    f = finding(check, value, limit, unit, sense)
    assert (US.value_of(f), US.limit_of(f), US.margin_of(f)) == expected


@given(value=st.floats(0.1, 30.0), limit=st.floats(0.1, 30.0))
def test_margin_is_never_larger_than_reckoned(value: float, limit: float) -> None:
    f = finding("arrest.clearance", value, limit, "m", "at least")
    printed = float(METRIC.margin_of(f).split()[0])
    assert f.margin is not None
    assert printed <= f.margin + 1e-6
    difference = float(METRIC.value_of(f).split()[0]) - float(METRIC.limit_of(f).split()[1])
    assert abs(printed - difference) < 2e-6  # equal numbers with endless decimals print no margin


@given(limit=st.floats(1.0, 20.0), spare=st.floats(0.0, 0.01))
def test_what_meets_never_prints_as_short(limit: float, spare: float) -> None:
    f = finding("arrest.clearance", limit + spare, limit, "m", "at least")
    assert not US.margin_of(f).startswith("-")


def test_words_and_blanks_print_as_they_are() -> None:
    f = Finding("slab.known", "slab", Verdict.SHORT, value="not stated")
    assert (US.value_of(f), US.limit_of(f), US.margin_of(f)) == ("not stated", "–", "–")


def test_band_keeps_inside_its_limits() -> None:
    assert US.band(1.51 * INCH, 4.6 * INCH) == "1 5/8 – 4 1/2 in"
    assert METRIC.band(0.0381, 0.1159) == "39 – 115 mm"
    assert US.band(3.01 * INCH, 3.1 * INCH) == "–"
    assert US.card_band(CardRow(280.0, 2 * INCH, 4 * INCH, 3 * INCH)) == "2 – 4 in"


def test_light_items_keep_a_decimal() -> None:
    assert US.weight(0.5 * 0.45359237) == "0.5 lb"
    assert US.weight(168 * 0.45359237) == "168 lb"
