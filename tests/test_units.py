"""Quantities: read as the trade writes them, refused without a unit, printed back.

Conversion factors: NIST Special Publication 811 (2008), appendix B.8: 1 ft = 0.3048 m and
1 in = 2.54 cm exactly, 1 lb = 0.453 592 37 kg exactly, 1 lbf = 4.448 222 N, 1 psi = 6 894.757 Pa,
1 mi/h = 0.447 04 m/s, 1 kip = 4 448.222 N, 1 lbf/in = 175.1268 N/m, t(C) = (t(F) - 32)/1.8.
"""

from __future__ import annotations

import math
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from planforge import units
from planforge.calc import constants as calc_constants
from planforge.calc import inch_pound as calc_units
from planforge.errors import QuantityError
from planforge.units import NO_FINITE_VALUE, Display, feet_inches, parse

NIST = [
    ("1 ft", units.LENGTH, 0.3048, 0.0),
    ("1 in", units.LENGTH, 0.0254, 0.0),
    ("1 lb", units.MASS, 0.45359237, 0.0),
    ("1 lbf", units.FORCE, 4.448222, 1e-6),
    ("1 kip", units.FORCE, 4448.222, 1e-3),
    ("1 psi", units.PRESSURE, 6894.757, 1e-3),
    ("1 mph", units.SPEED, 0.44704, 0.0),
    ("1 lbf/in", units.STIFFNESS, 175.1268, 1e-4),
    ("1 ft-lbf", units.TORQUE, 1.355818, 1e-6),
]


@pytest.mark.parametrize(("text", "kind", "si", "slack"), NIST)
def test_factors_are_those_of_nist_sp_811(text: str, kind: units.Kind, si: float, slack: float) -> None:
    assert parse(text, kind) == pytest.approx(si, abs=slack or 1e-15)


_PER = constants  # scipy's, from CODATA and NIST: metres, newtons, kilograms ... in one of each unit
FACTORS: list[tuple[units.Kind, dict[str, float]]] = [
    (units.LENGTH, {"ft": _PER.foot, "in": _PER.inch, "m": 1.0, "cm": _PER.centi, "mm": _PER.milli}),
    (units.FORCE, {"lbf": _PER.lbf, "kip": _PER.kilo * _PER.lbf, "N": 1.0, "kN": _PER.kilo}),
    (units.MASS, {"lb": _PER.lb, "kg": 1.0}),
    (
        units.LINE_WEIGHT,
        {"lb/ft": _PER.lbf / _PER.foot, "lbf/ft": _PER.lbf / _PER.foot, "kg/m": _PER.g, "N/m": 1.0},
    ),
    (units.STIFFNESS, {"lbf/in": _PER.lbf / _PER.inch, "kN/m": _PER.kilo, "N/mm": 1.0 / _PER.milli}),
    (units.PRESSURE, {"psi": _PER.psi, "ksi": _PER.kilo * _PER.psi, "MPa": _PER.mega, "kPa": _PER.kilo}),
    (units.SPEED, {"mph": _PER.mph, "ft/s": _PER.foot, "m/s": 1.0, "km/h": _PER.kmh}),
    (units.TORQUE, {"ft-lbf": _PER.foot * _PER.lbf, "ft-lb": _PER.foot * _PER.lbf, "N-m": 1.0}),
    (
        units.MOMENT,
        {
            "ft-lbf": _PER.foot * _PER.lbf,
            "ft-lb": _PER.foot * _PER.lbf,
            "in-lbf": _PER.inch * _PER.lbf,
            "kip-ft": _PER.kilo * _PER.lbf * _PER.foot,
            "N-m": 1.0,
            "kN-m": _PER.kilo,
        },
    ),
    (units.VOLTAGE, {"V": 1.0, "kV": _PER.kilo}),
    (units.ANGLE, {"deg": _PER.degree, "°": _PER.degree}),
    (units.DURATION, {"min": _PER.minute, "minutes": _PER.minute, "s": 1.0, "h": _PER.hour}),
    (
        units.AGE,
        {
            "years": _PER.Julian_year,
            "year": _PER.Julian_year,
            "months": _PER.Julian_year / 12,
            "month": _PER.Julian_year / 12,
        },
    ),
    (units.EXPANSION, {"/F": 1.0 / _PER.degree_Fahrenheit, "/C": 1.0, "/K": 1.0}),
    (
        units.TEMPERATURE,
        {"F": _PER.degree_Fahrenheit, "°F": _PER.degree_Fahrenheit, "C": 1.0, "°C": 1.0},
    ),
]
"""Every unit of every kind; the test fails for one that is added without its factor here."""


@pytest.mark.parametrize(("kind", "factors"), FACTORS, ids=lambda v: getattr(v, "name", ""))
def test_every_factor_is_that_of_scipy(kind: units.Kind, factors: dict[str, float]) -> None:
    assert kind.units == pytest.approx(factors, rel=1e-12)
    if kind is not units.TEMPERATURE:
        assert [parse(f"3 {unit}", kind) for unit in factors] == pytest.approx(
            [3 * f for f in factors.values()]
        )


def test_every_kind_is_in_the_table() -> None:
    assert [kind for kind, _ in FACTORS] == [k for k in vars(units).values() if isinstance(k, units.Kind)]


def test_constants_of_the_calculations_are_those_of_scipy() -> None:
    own = (calc_units.INCH, calc_units.FOOT, calc_units.POUND_FORCE, calc_units.PSI, calc_constants.G)
    assert own == pytest.approx((_PER.inch, _PER.foot, _PER.lbf, _PER.psi, _PER.g), rel=1e-12)
    assert pytest.approx(_PER.foot, rel=1e-12) == calc_constants.STATION_STEP


LENGTHS = [
    ("12'-6 1/2\"", 150.5),
    ("12' 6\"", 150),
    ("12'6\"", 150),
    ("12 ft 6 in", 150),
    ("12'", 144),
    ("60 ft", 720),
    ("6 in", 6),
    ('6"', 6),
    ("6 1/2 in", 6.5),
    ("6-1/2 in", 6.5),
    ("6½ in", 6.5),
    ("1/2 in", 0.5),
    ("-8'-4\"", -100),
    ("12’-6”", 150),
    ("12′-6″", 150),
    ("3''", 3),
    ("1,200 ft", 14400),
    ("0", 0),
]


@pytest.mark.parametrize(("text", "inches"), LENGTHS)
def test_lengths_as_the_trade_writes_them(text: str, inches: float) -> None:
    assert parse(text, units.LENGTH) == pytest.approx(inches * 0.0254)


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("3.8 m", units.LENGTH, 3.8),
        ("380 mm", units.LENGTH, 0.38),
        ("8 kN", units.FORCE, 8000),
        ("1,800 lbf", units.FORCE, 1800 * 4.4482216152605),
        ("310 LB", units.MASS, 310 * 0.45359237),
        ("7.2 kV", units.VOLTAGE, 7200),
        ("70 F", units.TEMPERATURE, 294.2611111),
        ("-40 C", units.TEMPERATURE, 233.15),
        ("-40 F", units.TEMPERATURE, 233.15),
        ("45 deg", units.ANGLE, math.pi / 4),
        ("6 min", units.DURATION, 360),
        ("6.5e-6 /F", units.EXPANSION, 11.7e-6),
        ("0.36 kg/m", units.LINE_WEIGHT, 0.36 * 9.80665),
    ],
)
def test_other_kinds(text: str, kind: units.Kind, si: float) -> None:
    assert parse(text, kind) == pytest.approx(si)


COMMA = ", for a comma parts thousands only; decimals take a point"
REFUSED = [
    (
        "12",
        units.LENGTH,
        "'12': a unit is needed; write a length such as 12'-6 1/2\", 60 ft, 6 in or 3.8 m",
    ),
    (
        "12 kN",
        units.LENGTH,
        "'12 kN': 'kN' is not a unit of length; write a length such as 12'-6 1/2\", 60 ft, 6 in or 3.8 m",
    ),
    ("5'-12\"", units.LENGTH, "'5\\'-12\"': 12 inches beside feet must be less than 12"),
    ("5'-14\"", units.LENGTH, "'5\\'-14\"': 14 inches beside feet must be less than 12"),
    ("6 3/0 in", units.LENGTH, "'6 3/0': a fraction over zero is no length"),
    ("6 9/8 in", units.LENGTH, "'6 9/8': the fraction of an inch must be less than 1"),
    (
        "six ft",
        units.LENGTH,
        "'six ft': not a length; write a length such as 12'-6 1/2\", 60 ft, 6 in or 3.8 m",
    ),
    ("0", units.TEMPERATURE, "'0': a unit is needed; write a temperature such as 70 F or 21 C"),
    ("900 F", units.TEMPERATURE, "'900 F': a temperature outside -73 C to 77 C is not a working temperature"),
    *(
        (
            text,
            kind,
            f"{text!r}: not {what}{COMMA}; write {kind.expected}",
        )
        for text, kind, what in (
            ("3,8 m", units.LENGTH, "a length"),
            ("0,375 in", units.LENGTH, "a length"),  # never 375 in
            ("1234,567 mm", units.LENGTH, "a length"),
            ("12,50 lbf", units.FORCE, "a force"),
            ("1,5 deg", units.ANGLE, "an angle"),
        )
    ),
    ("45", units.ANGLE, "'45': a unit is needed; write an angle such as 45 deg"),
    ("1e999 ft", units.LENGTH, None),
    ("1" * 80 + " ft", units.LENGTH, None),
    ("", units.LENGTH, None),
    ("nan ft", units.LENGTH, None),
]


@pytest.mark.parametrize(("text", "kind", "message"), REFUSED)
def test_what_is_no_quantity_is_refused_with_a_remedy(
    text: str, kind: units.Kind, message: str | None
) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, kind)
    if message is not None:
        assert str(caught.value) == message


def test_a_bare_number_is_never_a_quantity() -> None:
    with pytest.raises(QuantityError, match="a unit is needed"):
        parse(12, units.LENGTH)


@given(st.integers(min_value=-20_000, max_value=20_000))
def test_feet_and_inches_print_and_parse_back(sixteenths: int) -> None:
    metres = sixteenths * 0.0254 / 16
    assert parse(feet_inches(metres), units.LENGTH) == pytest.approx(metres, abs=1e-12)


@given(st.text(max_size=70))
def test_any_text_is_a_quantity_or_a_quantity_error(text: str) -> None:
    for kind in (units.LENGTH, units.FORCE, units.TEMPERATURE):
        try:
            assert math.isfinite(parse(text, kind))
        except QuantityError as error:
            assert str(error)


@given(st.floats(min_value=-50, max_value=50), st.sampled_from(["us", "metric"]))
def test_rounding_to_the_careful_side_never_crosses_the_value(metres: float, system: str) -> None:
    display = Display(system)  # type: ignore[arg-type]
    down, up = display.feet(metres, "down"), display.feet(metres, "up")
    assert parse(down, units.LENGTH) <= metres + 1e-6
    assert parse(up, units.LENGTH) >= metres - 1e-6


def test_printed_forms() -> None:
    us, metric = Display("us"), Display("metric")
    assert us.length(3.8227) == "12'-6 1/2\""
    assert us.length(108.5 * units.INCH) == "9'-0 1/2\""  # never 9'-1/2", which reads as 9 1/2 ft
    assert us.length(0.5 * units.INCH) == '1/2"'
    assert us.inches(0.1524) == "6 in"
    assert us.force(8006.8) == "1,800 lbf"
    assert us.force(8006.8, "up") == "1,810 lbf"
    assert us.temperature(294.2611) == "70 °F"
    assert us.mass(140.6) == "310 lb"
    assert us.stiffness(350253.7) == "2,000 lbf/in"
    assert us.stiffness(math.inf) == "rigid"
    assert metric.force(8006.8) == "8.01 kN"
    assert metric.length(3.8) == "3.800 m"
    assert us.voltage(7200) == "7.2 kV"
    assert us.minutes(361) == "7 min"


PRINTED = [
    # kind, unit of findings, value in SI, how far the last digit may be off in inch-pound and metric
    (units.LENGTH, "m", 7.654, (0.5 * 0.0254, 0.005)),
    (units.FORCE, "N", 23456.0, (5 * 4.4483, 5.0)),
    (units.MASS, "kg", 138.4, (0.5 * 0.4536, 0.5)),
    (units.TEMPERATURE, "K", 290.0, (0.5 * 5 / 9, 0.5)),
    (units.SPEED, "m/s", 31.3, (0.5 * 0.44704, 0.5 / 3.6)),
    (units.PRESSURE, "Pa", 23.456e6, (0.5 * 6895, 0.05e6)),
    (units.VOLTAGE, "V", 7200.0, (1e-9, 1e-9)),
    (units.STIFFNESS, "N/m", 3.456e5, (0.5 * 175.13, 500.0)),
    (units.MOMENT, "N m", 4567.0, (5 * 1.3559, 5.0)),
    (units.ANGLE, "rad", 0.7, (0.05 * math.pi / 180,) * 2),
    (units.DURATION, "s", 540.0, (1e-9, 1e-9)),
]


@pytest.mark.parametrize(("kind", "unit", "value", "off"), PRINTED, ids=lambda v: getattr(v, "name", ""))
def test_what_is_printed_reads_back(
    kind: units.Kind, unit: str, value: float, off: tuple[float, float]
) -> None:
    for display, slack in zip((Display("us"), Display("metric")), off, strict=True):
        text = display.value(value, unit).replace("kN m", "kN-m")
        assert parse(text, kind) == pytest.approx(value, abs=slack)


def test_other_prints_read_back() -> None:
    for display, slack in ((Display("us"), (1.6e-3, 0.008)), (Display("metric"), (5.1e-4, 0.005))):
        assert parse(display.length(3.8227), units.LENGTH) == pytest.approx(3.8227, abs=slack[0])
        assert parse(display.inches(0.1524), units.LENGTH) == pytest.approx(0.1524, abs=slack[0])
        assert parse(display.line_weight(3.5), units.LINE_WEIGHT) == pytest.approx(3.5, abs=slack[1])
    assert (Display("us").voltage(1000.0), Display("us").voltage(999.0)) == ("1 kV", "999 V")


def test_working_temperatures_have_bounds() -> None:
    """200 and 350 K, as the message says in Celsius."""
    assert parse("-73 C", units.TEMPERATURE) == pytest.approx(200.15)
    assert parse("76 C", units.TEMPERATURE) == pytest.approx(349.15)
    for text in ("-74 C", "77 C"):
        with pytest.raises(QuantityError, match="outside -73 C to 77 C"):
            parse(text, units.TEMPERATURE)


@pytest.mark.parametrize(
    ("text", "value", "kind", "printed"),
    [
        ("6 in", 0.254, units.LENGTH, "10 in"),
        ("12'-6 1/2\"", 30.48, units.LENGTH, "100 ft"),
        ("1,800 lbf", 5000 * 4.4482216152605, units.FORCE, "5,000 lbf"),
        ("21 MPa", 99.95e6, units.PRESSURE, "100 MPa"),
    ],
)
def test_value_beside_another_takes_its_unit(text: str, value: float, kind: units.Kind, printed: str) -> None:
    assert units.beside(text, value, kind) == printed


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_what_is_not_finite_prints_in_words(value: float, system: Literal["us", "metric"]) -> None:
    display = Display(system)
    printers = (
        display.length,
        display.feet,
        display.inches,
        display.force,
        display.mass,
        display.line_weight,
        display.pressure,
        display.speed,
        display.temperature,
        display.voltage,
        display.minutes,
        display.angle,
    )
    assert {printer(value) for printer in printers} == {NO_FINITE_VALUE}
    units = ("m", "N", "kg", "K", "m/s", "s", "Pa", "V", "", "lx")
    assert {display.value(value, unit) for unit in units} == {NO_FINITE_VALUE}
    assert display.stiffness(value) == ("rigid" if value == math.inf else NO_FINITE_VALUE)
