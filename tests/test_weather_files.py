"""Hourly weather files: our reading against pvlib's, and against the files' own astronomy."""

import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pvlib.iotools import read_epw, read_tmy2, read_tmy3
from weather_makers import (
    GREENSBORO,
    MIAMI,
    MIAMI_PLACE,
    SAND_POINT,
    SAND_POINT_PLACE,
    epw_rows,
    epw_text,
    hour_of,
    invented_air_C,
    site_with,
)

from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.sun import sun_at
from sprayroof.evidence.weather import read_weather
from sprayroof.evidence.weather_files import guess_format, read_station_file

PVLIB_DATA = Path(importlib.util.find_spec("pvlib").submodule_search_locations[0]) / "data"


def record_of(name: str, package: str | None, folder: Path = Path()):
    gather = Gather()
    record = read_station_file(read_evidence(folder, name, package, "weather.file", gather), "auto", gather)
    assert not gather.problems
    return record


@pytest.mark.parametrize(("form", "name"), [("tmy3", "723170TYA.CSV"), ("tmy3", "703165TY.csv"), ("tmy2", "12839.tm2")])
def test_format_is_recognised_by_the_first_lines(form, name):
    assert guess_format((PVLIB_DATA / name).read_text(encoding="utf-8")) == form


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_tmy3_values_are_those_pvlib_reads(name):
    record = record_of(f"data/{name}", "pvlib")
    theirs, facts = read_tmy3(PVLIB_DATA / name, map_variables=False)
    for channel, column, factor in (
        ("t_air_C", "Dry-bulb (C)", 1),
        ("t_dew_C", "Dew-point (C)", 1),
        ("humidity_frac", "RHum (%)", 0.01),
        ("pressure_Pa", "Pressure (mbar)", 100),
        ("wind_m_s", "Wspd (m/s)", 1),
        ("cloud_opaque_frac", "OpqCld (tenths)", 0.1),
        ("cloud_total_frac", "TotCld (tenths)", 0.1),
        ("solar_W_m2", "GHI (W/m^2)", 1),
    ):
        np.testing.assert_allclose(record.channel(channel), theirs[column].to_numpy() * factor, rtol=0, atol=1e-9)
    rain = theirs["Lprecip depth (mm)"].to_numpy(dtype=float)
    np.testing.assert_array_equal(record.channel("rain_mm"), np.where(rain == -9900, np.nan, rain))
    assert (record.latitude_deg, record.longitude_deg) == (facts["latitude"], facts["longitude"])
    assert (record.elevation_m, record.utc_offset_h) == (facts["altitude"], facts["TZ"])
    # pvlib stamps the end of the hour: its first time, in the nominal year, is an hour after our first start
    first = theirs.index[0].tz_convert("UTC").replace(year=2001)
    assert record.start + pd.Timedelta(hours=1) == first
    assert record.typical


def test_tmy2_values_are_those_pvlib_reads():
    record = record_of("data/12839.tm2", "pvlib")
    theirs, facts = read_tmy2(PVLIB_DATA / "12839.tm2")
    for channel, column, factor in (
        ("t_air_C", "DryBulb", 0.1),
        ("t_dew_C", "DewPoint", 0.1),
        ("humidity_frac", "RHum", 0.01),
        ("pressure_Pa", "Pressure", 100),
        ("wind_m_s", "Wspd", 0.1),
        ("cloud_opaque_frac", "OpqCld", 0.1),
        ("cloud_total_frac", "TotCld", 0.1),
        ("solar_W_m2", "GHI", 1),
    ):
        np.testing.assert_allclose(
            record.channel(channel), theirs[column].to_numpy(dtype=float) * factor, rtol=0, atol=1e-9
        )
    assert record.latitude_deg == pytest.approx(facts["latitude"])
    assert record.longitude_deg == pytest.approx(facts["longitude"])
    assert (record.elevation_m, record.utc_offset_h) == (facts["altitude"], facts["TZ"])
    assert "rain_mm" not in record.values


def test_epw_values_are_those_pvlib_reads(tmp_path):
    path = tmp_path / "made.epw"
    path.write_text(epw_text(epw_rows()), encoding="utf-8")
    record = record_of("made.epw", None, tmp_path)
    theirs, facts = read_epw(path, coerce_year=2001)
    for channel, column, factor in (
        ("t_air_C", "temp_air", 1),
        ("t_dew_C", "temp_dew", 1),
        ("humidity_frac", "relative_humidity", 0.01),
        ("pressure_Pa", "atmospheric_pressure", 1),
        ("wind_m_s", "wind_speed", 1),
        ("cloud_opaque_frac", "opaque_sky_cover", 0.1),
        ("cloud_total_frac", "total_sky_cover", 0.1),
        ("solar_W_m2", "ghi", 1),
        ("long_wave_W_m2", "ghi_infrared", 1),
        ("rain_mm", "liquid_precipitation_depth", 1),
    ):
        np.testing.assert_allclose(
            record.channel(channel), theirs[column].to_numpy(dtype=float) * factor, rtol=0, atol=1e-9
        )
    assert (record.latitude_deg, record.elevation_m, record.utc_offset_h) == (
        facts["latitude"],
        facts["altitude"],
        facts["TZ"],
    )
    # pvlib's EPW reader stamps the start of the hour
    assert record.start == theirs.index[0].tz_convert("UTC")


@pytest.mark.parametrize(("name", "place"), [("723170TYA.CSV", (36.1, -79.95)), ("703165TY.csv", (55.317, -160.517))])
def test_hours_and_sun_agree_with_the_extraterrestrial_radiation_in_the_file(name, place):
    # The TMY3 column ETR is the radiation on a horizontal plane above the atmosphere over the hour before the stamp
    # (NREL/TP-581-43156, table 1-1). Ours: 1366.1 W/m2 (ASTM E490), distance by Spencer 1971, height of the sun.
    record = record_of(f"data/{name}", "pvlib")
    with open(PVLIB_DATA / name, encoding="utf-8") as stream:
        theirs = pd.read_csv(stream, skiprows=1)["ETR (W/m^2)"].to_numpy(dtype=float)
    minutes = pd.date_range(record.start, periods=8760 * 12, freq="5min") + pd.Timedelta(minutes=2.5)
    elevation_deg, _ = sun_at(minutes, *place)
    day = 2 * np.pi * (minutes.dayofyear - 1) / 365
    distance = (
        1.00011
        + 0.034221 * np.cos(day)
        + 0.00128 * np.sin(day)
        + 0.000719 * np.cos(2 * day)
        + 0.000077 * np.sin(2 * day)
    )
    ours = (
        (1366.1 * distance.to_numpy() * np.maximum(np.sin(np.radians(elevation_deg)), 0)).reshape(-1, 12).mean(axis=1)
    )
    error = ours - theirs
    # The months come from other years than 2001, so the sun may be off by a quarter of a day's motion: 3 W/m2 rms.
    assert np.sqrt(np.mean(error**2)) < 4.0
    # Solar constants in use differ by 1 %.
    assert abs(error.mean()) < 0.01 * theirs.mean()
    # an hour's shift would give 130 W/m2
    assert np.sqrt(np.mean((ours - np.roll(theirs, 1)) ** 2)) > 60.0


def test_hours_are_ends_of_local_standard_hours(tmp_path):
    # 09:00 to 10:00 standard time at UTC-5 is 14:00 to 15:00 UTC; its label is hour 10, its instant 15:00 UTC
    rows = epw_rows(sun=lambda at: 777 if hour_of(at)[1] == 10 else 0)
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    table = read_weather(site_with(tmp_path, file="made.epw")).table
    sunny = table.index[table["solar_W_m2"] > 0]
    assert set(sunny.hour) == {14}
    at = table.index.get_loc(pd.Timestamp("2001-03-05 14:50", tz="UTC"))
    instant = (31 + 28 + 4) * 24 + 9
    # by hand: the middle of the last step lies 5 minutes before the instant, on the line from the hour before
    expected = invented_air_C(instant) + (invented_air_C(instant - 1) - invented_air_C(instant)) * 5 / 60
    assert table["t_air_C"].iloc[at] == pytest.approx(expected, abs=1e-9)


def test_a_year_from_several_years_becomes_the_nominal_year():
    weather = read_weather(site_with(**GREENSBORO))
    assert weather.names["typical_year"] is True
    assert len(weather.table) == 365 * 144
    # local standard midnight of Greensboro is 05:00 UTC
    assert weather.table.index[0] == pd.Timestamp("2001-01-01 05:00", tz="UTC")
    assert weather.table.index[-1] == pd.Timestamp("2002-01-01 04:50", tz="UTC")
    assert "weather.typical-year" in {finding.code for finding in weather.findings}


def test_one_real_year_keeps_its_year_and_its_leap_day(tmp_path):
    rows = epw_rows(years=(2004,))
    leap = [list(row) for row in rows[31 * 24 + 27 * 24 : 31 * 24 + 28 * 24]]
    for row in leap:
        row[2] = "29"
    rows = rows[: 59 * 24] + leap + rows[59 * 24 :]
    (tmp_path / "real.epw").write_text(epw_text(rows), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, file="real.epw"))
    assert weather.names["typical_year"] is False
    assert len(weather.table) == 366 * 144
    assert weather.table.index[0] == pd.Timestamp("2004-01-01 05:00", tz="UTC")


def test_a_leap_year_without_its_leap_day_is_a_typical_year(tmp_path):
    (tmp_path / "made.epw").write_text(epw_text(epw_rows(years=(2004,))), encoding="utf-8")
    assert read_weather(site_with(tmp_path, file="made.epw")).names["typical_year"] is True


def test_codes_for_missing_are_missing_and_short_gaps_are_bridged(tmp_path):
    rows = epw_rows()
    for place, code in (
        (6, "99.9"),
        (7, "99.9"),
        (8, "999"),
        (9, "999999"),
        (21, "999"),
        (23, "99"),
        (22, "99"),
        (13, "9999"),
    ):
        for at in range(4000, 4006):
            rows[at][place] = code
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, file="made.epw"))
    bridged = [finding for finding in weather.findings if finding.code == "weather.gaps-filled"]
    assert {finding.data["channel"]: finding.data["records"] for finding in bridged} == dict.fromkeys(
        ("t_air_C", "t_dew_C", "pressure_Pa", "wind_m_s", "cloud_opaque_frac", "cloud_total_frac", "solar_W_m2"), 6
    )
    assert weather.table["t_air_C"].max() < 30
    # the line over the gap: half way between the readings at its ends
    ends = invented_air_C(3999), invented_air_C(4006)
    third = ends[0] + (ends[1] - ends[0]) * 3.5 / 7
    middle = weather.table.index[0] + pd.Timedelta(hours=4003.5)
    assert weather.table["t_air_C"].loc[middle - pd.Timedelta(minutes=10) : middle].mean() == pytest.approx(
        third, abs=0.01
    )


def test_missing_cloud_stays_missing_and_is_told(tmp_path):
    rows = epw_rows(opaque=lambda at: 99, total=lambda at: 99 if at < 100 else 5)
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, file="made.epw"))
    assert weather.table["cloud_frac"].isna().sum() == 101 * 6  # 100 readings missing touch 101 hours
    assert weather.names["cloud"] == "total sky cover"
    assert any(
        finding.code == "weather.cloud-missing" and finding.data["records"] == 100 for finding in weather.findings
    )


def test_opaque_sky_cover_is_preferred_and_total_stands_in(tmp_path):
    rows = epw_rows(opaque=lambda at: 99 if at >= 8000 else at % 3, total=lambda at: 9)
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, file="made.epw"))
    cloud = weather.table["cloud_frac"].to_numpy().reshape(-1, 6)
    # straight lines through opaque 0, 1, 2 tenths never reach 3 tenths; later hours are the total's 9 tenths
    assert cloud[100:8000].max() < 0.21
    assert cloud[8001:].min() == pytest.approx(0.9)
    assert weather.names["cloud"] == "opaque sky cover, total in 760 records"


def test_sky_cover_that_stops_at_eight_is_doubted(tmp_path):
    rows = epw_rows(opaque=lambda at: at % 9, total=lambda at: at % 11)
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    findings = read_weather(site_with(tmp_path, file="made.epw")).findings
    assert [finding.data["channel"] for finding in findings if finding.code == "weather.cloud-octas"] == [
        "cloud_opaque_frac"
    ]


def test_long_wave_column_is_used_only_when_asked(tmp_path):
    (tmp_path / "made.epw").write_text(epw_text(epw_rows(infrared=lambda at: 0 if at < 24 else 333)), encoding="utf-8")
    by_default = read_weather(site_with(tmp_path, file="made.epw"))
    assert by_default.table["long_wave_W_m2"].isna().all()
    asked = read_weather(site_with(tmp_path, file="made.epw", long_wave="column"))
    codes = {finding.code for finding in asked.findings}
    assert {"weather.long-wave-modelled", "weather.long-wave-implausible"} <= codes
    assert asked.table["long_wave_W_m2"].max() == pytest.approx(333)
    assert asked.table["long_wave_W_m2"].isna().sum() > 20 * 6


def test_constant_pressure_and_frost_are_doubted():
    findings = read_weather(site_with(place=SAND_POINT_PLACE, **SAND_POINT)).findings
    constant = [finding for finding in findings if finding.code == "weather.constant-column"]
    assert [finding.data for finding in constant] == [{"channel": "pressure_Pa", "value": 101200.0}]
    assert "weather.sky-formula-limits" in {finding.code for finding in findings}


def test_miami_has_no_frost_doubt_and_no_rain():
    weather = read_weather(site_with(place=MIAMI_PLACE, **MIAMI))
    assert [finding.code for finding in weather.findings] == ["weather.typical-year", "weather.rain-missing"]
    assert (weather.table["rain_mm"] == 0).all()


def test_a_file_of_another_form_than_declared_is_refused():
    gather = Gather()
    file = read_evidence(Path(), "data/12839.tm2", "pvlib", "weather.file", gather)
    assert read_station_file(file, "epw", gather) is None
    assert [str(problem) for problem in gather.problems] == [
        "pvlib: data/12839.tm2: the first lines are of tmy2; wanted a file of the form epw; name another file, or set "
        '`format` under [weather] ("table" for delimited text with declared columns)'
    ]


def test_tmy2_names_of_several_words_are_read():
    raw = (
        (PVLIB_DATA / "12839.tm2")
        .read_bytes()
        .replace(b" 12839 MIAMI                  FL", b" 12839 PORT OF MEREFORD       FL")
    )
    gather = Gather()
    record = read_station_file(EvidenceFile("made.tm2", raw, ""), "auto", gather)
    assert record.place == "PORT OF MEREFORD, FL"
    assert record.latitude_deg == pytest.approx(25.8)


def test_the_year_is_read_in_good_time():
    import time

    read_weather(site_with(**GREENSBORO))  # imports
    begun = time.perf_counter()
    read_weather(site_with(**GREENSBORO))
    assert time.perf_counter() - begun < 3.0
