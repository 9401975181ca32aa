"""Humidity, pressure and sun against standards, printed tables and independent libraries."""

import numpy as np
import pandas as pd
import psychrolib
import pytest
from weather_makers import GREENSBORO, epw_rows, epw_text, site_with

from sprayroof.evidence.weather import read_weather
from sprayroof.evidence.weather_files.air import (
    dew_from_humidity,
    dew_from_wet_bulb,
    humidity_from_dew,
    pressure_at_height,
    saturation_Pa,
    standard_pressure_Pa,
)
from sprayroof.evidence.weather_files.plausibility import distance_km
from sprayroof.evidence.weather_files.sun import sun_at

psychrolib.SetUnitSystem(psychrolib.SI)

# ISO 2533 / ICAO standard atmosphere, printed table: geopotential height [m] -> pressure [Pa]
STANDARD_ATMOSPHERE = {-300: 104981, 0: 101325, 500: 95461, 1000: 89875, 2000: 79495, 3000: 70109}


@pytest.mark.parametrize("t_C", [1, 10, 20, 30, 40, 50])
def test_saturation_pressure_against_psychrolib(t_C):
    # Alduchov & Eskridge state 0.4 % over -40..50 degC
    assert saturation_Pa(t_C) == pytest.approx(psychrolib.GetSatVapPres(t_C), rel=0.004)


@pytest.mark.parametrize(("t_C", "humidity"), [(5, 0.9), (20, 0.5), (35, 0.3)])
def test_dew_point_against_psychrolib(t_C, humidity):
    dew_C = float(dew_from_humidity(np.float64(t_C), np.float64(humidity)))
    assert dew_C == pytest.approx(psychrolib.GetTDewPointFromRelHum(t_C, humidity), abs=0.06)
    assert humidity_from_dew(t_C, dew_C) == pytest.approx(humidity, rel=1e-12)


def test_dew_point_from_wet_bulb_against_print_and_psychrolib():
    # FAO-56 Example 4: wet bulb 19.5, dry bulb 25.6 degC at 87.9 kPa give 1.91 kPa of vapour
    dew_C = float(dew_from_wet_bulb(np.float64(25.6), np.float64(19.5), np.float64(87900.0)))
    assert saturation_Pa(dew_C) == pytest.approx(1910, abs=5)
    for t_C, wet_C in ((30.0, 24.0), (20.0, 15.0)):
        theirs = psychrolib.GetTDewPointFromTWetBulb(t_C, wet_C, 101325.0)
        assert float(dew_from_wet_bulb(np.float64(t_C), np.float64(wet_C), np.float64(101325.0))) == pytest.approx(
            theirs, abs=0.15
        )


@pytest.mark.parametrize(("height_m", "pressure_Pa"), STANDARD_ATMOSPHERE.items())
def test_standard_pressure_against_the_printed_table(height_m, pressure_Pa):
    assert standard_pressure_Pa(height_m) == pytest.approx(pressure_Pa, abs=1.0)


@pytest.mark.parametrize(("height_m", "pressure_Pa"), STANDARD_ATMOSPHERE.items())
def test_hypsometric_step_against_the_printed_table(height_m, pressure_Pa):
    assert pressure_at_height(101325.0, 15.0, height_m) == pytest.approx(pressure_Pa, rel=2e-4)
    # and down again from there, where the standard temperature is 15 - 6.5 per km
    assert pressure_at_height(pressure_Pa, 15.0 - 0.0065 * height_m, -height_m) == pytest.approx(101325, rel=2e-4)


def test_pressure_is_carried_to_the_site():
    low = read_weather(site_with(place={"elevation_m": 273.0}, **GREENSBORO)).table["pressure_Pa"]
    high = read_weather(site_with(place={"elevation_m": 473.0}, **GREENSBORO))
    # by the printed table: about 11.6 hPa per 100 m near 300 m; here air is 14.4 degC in the mean
    assert (low - high.table["pressure_Pa"]).mean() == pytest.approx(2310, abs=30)
    assert high.names["pressure"] == "station at 273 m, carried to 473 m"


def test_sea_level_pressure_is_recognised(tmp_path):
    rows = epw_rows(pressure=lambda at: 101300 + at % 5)
    place = "LOCATION,Mereford,XX,NOW,invented,000000,36.1,-79.95,-5.0,1000.0"
    (tmp_path / "made.epw").write_text(epw_text(rows, location=place), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, {"elevation_m": 1000.0}, file="made.epw"))
    assert "weather.pressure-sea-level" in {finding.code for finding in weather.findings}
    # standard atmosphere: 898.75 hPa at 1000 m; here the air is 14 degC at 1000 m (7.5 K above standard)
    assert weather.table["pressure_Pa"].mean() == pytest.approx(90070, abs=150)


def test_pressure_that_fits_no_height_is_doubted(tmp_path):
    (tmp_path / "made.epw").write_text(epw_text(epw_rows(pressure=lambda at: 88000 + at % 5)), encoding="utf-8")
    findings = read_weather(site_with(tmp_path, file="made.epw")).findings
    assert "weather.pressure-odd" in {finding.code for finding in findings}


def test_sun_against_the_printed_example():
    # Reda & Andreas 2008, NREL/TP-560-34302, table A5.1: Golden, 17 October 2003 12:30:30 at UTC-7, 1830.14 m;
    # the printed zenith 50.11162 deg is refracted (820 hPa, 11 degC); its correction there is 0.0163 deg.
    # Equation of time 14.641503 min, so true solar time is 12:30:30 - 7 h + 7 h - (105.1786 - 105) * 4 min + 14.64 min.
    times = pd.DatetimeIndex(["2003-10-17 12:30:30"], tz="Etc/GMT+7")
    elevation_deg, solar_hour_h = sun_at(times, 39.742476, -105.1786, 1830.14)
    assert 90 - elevation_deg[0] == pytest.approx(50.11162 + 0.0163, abs=0.0005)
    assert solar_hour_h[0] * 60 == pytest.approx(12 * 60 + 30.5 - 0.1786 * 4 + 14.641503, abs=0.02)


def test_sun_is_highest_at_solar_noon():
    times = pd.date_range("2001-06-21", periods=1440, freq="1min", tz="Asia/Tokyo")
    elevation_deg, solar_hour_h = sun_at(times, 35.68, 139.77)
    assert solar_hour_h[elevation_deg.argmax()] == pytest.approx(12.0, abs=0.03)
    # height at the June solstice: 90 - latitude + 23.44 deg
    assert elevation_deg.max() == pytest.approx(90 - 35.68 + 23.44, abs=0.01)
    assert (solar_hour_h >= 0).all()
    assert (solar_hour_h < 24).all()


def test_the_table_holds_the_sun_of_the_step_middles():
    table = read_weather(site_with(**GREENSBORO)).table
    at = 30000
    middle = pd.DatetimeIndex([table.index[at] + pd.Timedelta(minutes=5)])
    elevation_deg, solar_hour_h = sun_at(middle, 36.1, -79.95, 273)
    assert table["sun_elevation_deg"].iloc[at] == pytest.approx(elevation_deg[0], abs=1e-6)
    assert table["solar_hour_h"].iloc[at] == pytest.approx(solar_hour_h[0], abs=1e-6)


def test_air_stays_consistent_on_the_step():
    table = read_weather(site_with(**GREENSBORO)).table
    assert (table["t_dew_C"] <= table["t_air_C"]).all()
    assert table["humidity_frac"].between(0, 1).all()
    np.testing.assert_allclose(
        table["humidity_frac"], humidity_from_dew(table["t_air_C"], table["t_dew_C"]), rtol=1e-12
    )
    assert not table.drop(columns="long_wave_W_m2").isna().any().any()
    # The file rounds humidity to 1 %, dew point to 0.1 K (0.6 %): hourly readings against the file's own column
    from test_weather_files import record_of

    record = record_of(GREENSBORO["file"], "pvlib")
    ours = humidity_from_dew(record.channel("t_air_C"), record.channel("t_dew_C"))
    assert np.mean(np.abs(ours - record.channel("humidity_frac"))) < 0.01


def test_a_dew_point_above_the_air_is_cut_and_told(tmp_path):
    rows = epw_rows(dew=lambda at: 40.0 if 100 <= at < 103 else 5.0, air=lambda at: 20.0 + at % 3)
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, file="made.epw"))
    told = [finding for finding in weather.findings if finding.code == "weather.dew-above-air"]
    assert told[0].data["records"] == 3
    assert (weather.table["t_dew_C"] <= weather.table["t_air_C"]).all()


def test_distance_between_places():
    # a quarter of a great circle, and one minute of latitude (a nautical mile, 1.852 km)
    assert distance_km(0, 0, 0, 90) == pytest.approx(np.pi / 2 * 6371, rel=1e-9)
    assert distance_km(50, 8, 50 + 1 / 60, 8) == pytest.approx(1.852, rel=2e-3)


def test_a_far_station_is_doubted():
    near = read_weather(site_with(place={"latitude_deg": 36.3}, **GREENSBORO)).findings
    far = read_weather(site_with(place={"latitude_deg": 36.5, "elevation_m": 600.0}, **GREENSBORO)).findings
    assert "weather.station-far" not in {finding.code for finding in near}
    told = next(finding for finding in far if finding.code == "weather.station-far")
    assert told.data == {"distance_km": 44.5, "height_difference_m": -327.0}
    assert "sign" not in told.message


@pytest.mark.parametrize(("place", "advice"), [
    ({"longitude_deg": 79.95}, "Check the sign of longitude: with the other sign it would be 0 km."),
    ({"latitude_deg": -36.1}, "Check the sign of latitude: with the other sign it would be 0 km."),
    ({"longitude_deg": 20.0}, "check the sign of longitude, the latitude, and the weather file."),
])
def test_a_station_in_another_part_of_the_world_hints_at_a_sign(place, advice):
    findings = read_weather(site_with(place=place, **GREENSBORO)).findings
    told = next(finding for finding in findings if finding.code == "weather.station-far")
    assert told.message.endswith(advice)


def test_a_high_site_is_doubted(tmp_path):
    place = "LOCATION,Mereford,XX,NOW,invented,000000,36.1,-79.95,-5.0,1800.0"
    rows = epw_rows(pressure=lambda at: 81500 + at % 5, air=lambda at: 20.0 + at % 3)
    (tmp_path / "made.epw").write_text(epw_text(rows, location=place), encoding="utf-8")
    findings = read_weather(site_with(tmp_path, {"elevation_m": 1800.0}, file="made.epw")).findings
    assert "weather.sky-formula-limits" in {finding.code for finding in findings}
