"""The unit, scale, place and turn of a drawing, and how a length read from it is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from ezdxf.document import Drawing as Dxf
from ezdxf.layouts import Modelspace
from hypothesis import given
from hypothesis import strategies as st

from planforge.cad.fragment import MOST_ROUNDED, length_text
from planforge.units import INCH, LENGTH, parse

from .plans import FOOTPRINT, IN, metres, on, parts, read


def test_feet_and_inches_where_they_are_exact(tmp_path: Path) -> None:
    def draw(_: Dxf, msp: Modelspace) -> None:
        msp.add_lwpolyline([(0, 0), (480.0625, 0), (480.03, 360.5)], close=True, dxfattribs=on("OUTLINE"))

    got = parts(read(tmp_path, draw, [FOOTPRINT], header=IN))[0]["layout"]["footprint"]
    assert got == [["0", "0"], ["40'-0 1/16\"", "0"], ["12.192762 m", "30'-0 1/2\""]]


@given(st.floats(-900.0, 900.0))
def test_a_printed_length_reads_back(value: float) -> None:
    for system in ("us", "metric"):
        assert abs(parse(length_text(value, system), LENGTH) - value) <= MOST_ROUNDED


@given(st.integers(-200_000, 200_000))
def test_sixteenths_are_written_as_feet_and_inches(count: int) -> None:
    text = length_text(count * INCH / 16, "us")
    assert "m" not in text
    assert parse(text, LENGTH) == pytest.approx(count * INCH / 16, abs=1e-12)


def test_place_scale_and_turn(tmp_path: Path) -> None:
    """A drawing in mm at 1:10, turned a quarter about its own point (2 m, 3 m)."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        corners = [(200, 300), (1200, 300), (1200, 900), (200, 900)]
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    place = {"base_point": ["2 m", "3 m"], "at": ["1 m", "-1 m"], "turned": "90 deg", "scale": "10"}
    imported = read(tmp_path, draw, [FOOTPRINT], header=4, **place)
    got = metres(parts(imported)[0]["layout"]["footprint"])
    assert sum(got, ()) == pytest.approx((1, -1, 1, 9, -5, 9, -5, -1), abs=1e-9)
    assert any("scale 10" in line for line in imported.report)


@pytest.mark.parametrize(
    ("header", "unit", "metre"),
    [
        (1, "in", 0.0254),
        (2, "ft", 0.3048),
        (4, "mm", 0.001),
        (5, "cm", 0.01),
        (6, "m", 1.0),
        (21, "US survey ft", 1200 / 3937),
    ],
)
def test_every_unit_by_header_and_by_the_job(tmp_path: Path, header: int, unit: str, metre: float) -> None:
    """$INSUNITS by the DXF reference; metres by NIST SP 811, appendix B (the survey foot is 1200/3937 m)."""

    def draw(_: Dxf, msp: Modelspace) -> None:
        corners = [(0, 0), (10 / metre, 0), (10 / metre, 7 / metre)]
        msp.add_lwpolyline(corners, close=True, dxfattribs=on("OUTLINE"))

    for how in ({"header": header}, {"header": 0, "units": unit}, {"header": header, "units": unit}):
        imported = read(tmp_path, draw, [FOOTPRINT], **how)
        got = metres(parts(imported)[0]["layout"]["footprint"])
        assert sum(got, ()) == pytest.approx((0, 0, 10, 0, 10, 7), abs=1e-8)
