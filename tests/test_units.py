"""Text with a unit to a number in the documented unit.

Expected values come from the published exact definitions, worked out here in plain arithmetic:
international yard and pound agreement of 1959 (inch 25.4 mm, pound 0.453 592 37 kg); US gallon 231 cubic inches
(NIST Handbook 44, appendix C); imperial gallon 4.546 09 L (Units of Measurement Regulations 1995); degree
Fahrenheit, British thermal unit (International Table, 1055.055 852 62 J), ton of refrigeration (12 000 Btu/h),
horsepowers, knot, inch of mercury: NIST Special Publication 811, appendix B.
"""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayroof.evidence.units import NotAQuantity, number_in, scale_to

INCH_M = 0.0254
FOOT_M = 12 * INCH_M
US_GALLON_L = 231 * INCH_M**3 * 1000
IMPERIAL_GALLON_L = 4.54609
BTU_J = 1055.05585262
POUND_KG = 0.45359237


@pytest.mark.parametrize(("text", "unit", "expected"), [
    ("60 US gpm", "L/min", 60 * US_GALLON_L),
    ("60 imperial gpm", "L/min", 60 * IMPERIAL_GALLON_L),
    ("60 UK gpm", "L/min", 60 * IMPERIAL_GALLON_L),
    ("60 US gallons per minute", "L/min", 60 * US_GALLON_L),
    ("1440 US gpd", "L/min", US_GALLON_L),
    ("90 us gph", "L/min", 1.5 * US_GALLON_L),
    ("16000 US gal", "m3", 16 * US_GALLON_L),
    ("16000 gal (US)", "m3", 16 * US_GALLON_L),
    ("16000 imp. gal", "m3", 16 * IMPERIAL_GALLON_L),
    ("16000 gal imperial", "m3", 16 * IMPERIAL_GALLON_L),
    ("27 m3", "m3", 27.0), ("27 m³", "m3", 27.0), ("27 m^3", "m3", 27.0), ("27 m**3", "m3", 27.0), ("27m3", "m3", 27.0),
    ("27000 L", "m3", 27.0), ("27000 litres", "m3", 27.0), ("100 cu ft", "m3", 100 * FOOT_M**3),
    ("6674 sq ft", "m2", 6674 * FOOT_M**2), ("6674 ft²", "m2", 6674 * FOOT_M**2), ("2 ha", "m2", 20000.0),
    ("896 ft", "m", 896 * FOOT_M), ("0.5 in", "mm", 12.7), ("3 inches", "mm", 76.2), ("60 yd", "m", 60 * 3 * FOOT_M),
    ("12 m3/h", "L/min", 200.0), ("0.5 L/s", "L/min", 30.0), ("2400 cfm", "m3/h", 2400 * FOOT_M**3 * 60),
    ("250 W", "W", 250.0), ("1.2 kW", "W", 1200.0), ("1 mechanical hp", "W", 550 * FOOT_M * POUND_KG * 9.80665),
    ("1 metric hp", "W", 75 * 9.80665), ("12 kBtu/h", "kW", 12 * BTU_J / 3600),
    ("3 refrigeration tons", "kW", 3 * 12000 * BTU_J / 3600 / 1000),
    ("10.24 Btu/Wh", "kWh/kWh", 10.24 * BTU_J / 3600),
    ("3 %", "1", 0.03), ("3%", "1", 0.03), ("6 oktas", "1", 0.75), ("7 tenths", "1", 0.7),
    ("20 °C", "degC", 20.0), ("20 degC", "degC", 20.0), ("20 C", "degC", 20.0), ("20 ℃", "degC", 20.0),
    ("20 deg C", "degC", 20.0), ("20 degrees celsius", "degC", 20.0), ("-5 °C", "degC", -5.0), ("−5 °C", "degC", -5.0),
    ("68 degF", "degC", 20.0), ("68 °F", "degC", 20.0), ("-40 degF", "degC", -40.0), ("293.15 K", "degC", 20.0),
    ("2 K", "K", 2.0), ("2 degC", "K", 2.0), ("2 °C", "K", 2.0), ("3.6 degF", "K", 2.0), ("3.6 delta_degF", "K", 2.0),
    ("2 delta_degC", "K", 2.0),
    ("1.2 W/(m2 K)", "W/(m2 K)", 1.2), ("1.2 W/m2K", "W/(m2 K)", 1.2), ("1.2 W/m² K", "W/(m2 K)", 1.2),
    ("1.2 W/m²·K", "W/(m2 K)", 1.2), ("1.2 W m-2 K-1", "W/(m2 K)", 1.2), ("1.2 W/m2/K", "W/(m2 K)", 1.2),
    ("0.2 Btu/(h ft2 F)", "W/(m2 K)", 0.2 * BTU_J / 3600 / FOOT_M**2 * 1.8),
    ("0.1 m2K/W", "m2 K/W", 0.1), ("0.1 (m2 K)/W", "m2 K/W", 0.1), ("8 kJ/m2K", "kJ/(m2 K)", 8.0),
    ("4000 Btu/h/F", "W/K", 4000 * BTU_J / 3600 * 1.8),
    ("0.003 s2/m2", "s2/m2", 0.003),
    ("10 mph", "m/s", 5280 * FOOT_M * 10 / 3600), ("10 knots", "m/s", 18520 / 3600), ("36 km/h", "m/s", 10.0),
    ("0.2 in/h", "mm/h", 5.08), ("29.92 inHg", "Pa", 29.92 * 3386.389), ("1013.25 hPa", "Pa", 101325.0),
    ("300 g/m3", "mg/L", 300.0), ("400 g CO2e/kWh", "kg/kWh", 0.4), ("100 L/day", "L/day", 100.0),
    ("3 days", "h", 72.0),
    ("1e3 W", "W", 1000.0), (".5 m", "m", 0.5), ("+5 m", "m", 5.0),
])
def test_text_with_unit(text, unit, expected):
    # six digits: as many as the printed factors of the thermal unit and the inch of mercury carry
    assert number_in(text, unit) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("text", "unit", "first", "second"), [
    ("60 gpm", "L/min", "US gpm", "imperial gpm"), ("60 GPM", "L/min", "US gpm", "imperial gpm"),
    ("60 gal", "m3", "US gal", "imperial gal"), ("60 gallons/min", "L/min", "US gal", "imperial gal"),
    ("5 ton", "kW", "refrigeration ton", "tonne"), ("5 tons", "kW", "refrigeration ton", "tonne"),
    ("1 hp", "W", "mechanical hp", "metric hp"),
])
def test_ambiguous_unit_is_refused_with_the_choices(text, unit, first, second):
    with pytest.raises(NotAQuantity) as caught:
        number_in(text, unit)
    assert "more than one meaning" in caught.value.why
    assert caught.value.do == f"write {first} or {second}"


@pytest.mark.parametrize(("choice", "unit", "expected"), [
    ("US gpm", "L/min", US_GALLON_L), ("imperial gpm", "L/min", IMPERIAL_GALLON_L), ("US gal", "L", US_GALLON_L),
    ("imperial gal", "L", IMPERIAL_GALLON_L), ("refrigeration ton", "W", 12000 * BTU_J / 3600), ("tonne", "kg", 1000.0),
    ("mechanical hp", "W", 550 * FOOT_M * POUND_KG * 9.80665), ("metric hp", "W", 75 * 9.80665),
])
def test_the_choices_offered_are_read(choice, unit, expected):
    assert scale_to(choice, unit).factor == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("text", "unit", "do"), [
    ("0,5 L/s", "L/min", "write 0.5 with a point"),
    ("0,500 L/s", "L/min", "write 0.500 with a point"),
    ("1,200 W", "W", "write 1.200 or 1200, whichever is meant"),
    ("1,200,000 W", "W", "write the number without marks between thousands"),
    ("1'200 W", "W", "write the number without marks between thousands"),
    ("60 000 L", "m3", "write the number without marks between thousands"),
    ("27", "m3", 'write 27 without quotes, or "27 m3"'),
    ("0.3", "1", 'write 0.3 without quotes, or "30 %"'),
    ("nan m3", "m3", "write a finite number"), ("-inf m3", "m3", "write a finite number"),
    ("1e999 m3", "m3", "write a finite number"),
    ("", "m3", "write the number first, then its unit"), ("m3 27", "m3", "write the number first, then its unit"),
    ("R 10", "m2 K/W", "write the number first, then its unit"),
    ("27 kg", "m3", "give it in m³ or a unit that converts to it"),
    ("27 m3 more", "m3", "write a usual unit, such as m3, L/min, kW or degC"),
    ("5 litters", "m3", "write liters if that is meant"),
    ("5 mW", "W", "write a usual unit, such as m3, L/min, kW or degC"),
    ("27 m 3", "m3", "write the unit alone, such as m3/h"), ("27 (m3", "m3", "write the unit alone, such as m3/h"),
    ("5 .5 mm", "mm", "write the unit alone, such as m3/h"),
    ("5 W/(m2/K)", "W/(m2 K)", "write the unit alone, such as m3/h"),
    ("3 delta_degC", "degC", "write the temperature itself, in degC, degF or K"),
    ("0.24 EUR/kWh", "currency/kWh", "write the number alone: 0.24"),
    ("0.24 EUR per kWh", "currency/kWh", "write the number alone: 0.24"),
    ("$0.24", "currency/kWh", "write the number alone: 0.24"),
    ("300 EUR", "currency/year", "write the number alone: 300"),
    # a hundredth of the currency: the number alone would be a hundred times too much
    ("24 ct", "currency/kWh", "write the price as a number in the site's currency per kWh, such as 0.24"),
    ("19 c/kWh", "currency/kWh", "write the price as a number in the site's currency per kWh, such as 0.19"),
    ("31 pence per kWh", "currency/kWh", "write the price as a number in the site's currency per kWh, such as 0.31"),
    ("190 EUR/MWh", "currency/kWh", "write the price as a number in the site's currency per kWh, such as 0.24"),
    ("20 EUR/month", "currency/year", "write the price as a number in the site's currency per year, such as 240"),
    ("9**9**9 m", "m", "write the unit alone, such as m3/h"),
    ("__import__('os')", "m", "write the number first, then its unit"),
])
def test_refused_with_advice(text, unit, do):
    with pytest.raises(NotAQuantity) as caught:
        number_in(text, unit)
    assert caught.value.do == do


@pytest.mark.parametrize("text", ["60 cubic metres", "60 cu m", "60 cbm", "60 Cubic Meters", "60 m³"])
def test_cubic_metres_by_any_name(text):
    assert number_in(text, "m3") == 60.0


@pytest.mark.parametrize("raw", [True, False, None, [], {}, float("nan"), float("inf"), -float("inf"), 10**400])
def test_what_is_no_finite_number_is_refused(raw):
    with pytest.raises(NotAQuantity):
        number_in(raw, "m3")


@pytest.mark.parametrize(("unit_text", "unit", "given", "expected"), [
    ("0.1 mm", "mm", [3.0, 0.0], [0.3, 0.0]), ("in", "mm", [0.01], [0.254]), ("%", "1", [55.0], [0.55]),
    ("degF", "degC", [32.0, 212.0], [0.0, 100.0]), ("K", "degC", [273.15], [0.0]), ("oktas", "1", [8.0], [1.0]),
    ("kt", "m/s", [3600 / 1852], [1.0]),
])
def test_scale_of_a_column(unit_text, unit, given, expected):
    assert np.allclose(scale_to(unit_text, unit)(np.array(given)), expected, rtol=1e-12, atol=1e-12)


@given(st.text(max_size=120))
def test_any_text_is_read_or_refused(text):
    try:
        assert math.isfinite(number_in(text, "m3"))
    except NotAQuantity as error:
        advice = error.do
    else:
        advice = "none needed"
    assert advice


@given(st.floats(-1e6, 1e6))
def test_temperature_difference_never_takes_the_offset(value):
    assert number_in(f"{value!r} degC", "K") == value
    assert number_in(f"{value!r} degF", "K") == pytest.approx(value / 1.8, rel=1e-12)


def test_plain_numbers_do_not_load_the_unit_library():
    code = ("import sys; from sprayroof.evidence.units import number_in; number_in(3, 'm3'); number_in('3 m3', 'm3'); "
            "sys.exit('pint' in sys.modules)")
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
