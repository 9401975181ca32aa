"""Hourly weather files: what is read against lines of the files read by hand, and against the files' own astronomy."""

import importlib.util
import time
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
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
from sprayroof.evidence.weather import read_weather
from sprayroof.evidence.weather_files.hourly import guess_format, read_station_file
from sprayroof.evidence.weather_files.sun import sun_at

PVLIB_DATA = Path(importlib.util.find_spec("pvlib").submodule_search_locations[0]) / "data"


def record_of(name: str, package: str | None, folder: Path = Path()):
    gather = Gather()
    record = read_station_file(read_evidence(folder, name, package, "weather.file", gather), "auto", gather)
    assert not gather.problems
    return record


@pytest.mark.parametrize(("form", "name"), [("tmy3", "723170TYA.CSV"), ("tmy3", "703165TY.csv"), ("tmy2", "12839.tm2")])
def test_format_is_recognised_by_the_first_lines(form, name):
    assert guess_format((PVLIB_DATA / name).read_text(encoding="utf-8")) == form


# Lines of the files as they stand there (from the first character), and what a reader of the form's manual finds in
# them: UTC end of the hour in the year 2001, t_air_C, t_dew_C, humidity_frac, pressure_Pa, wind_m_s, total and opaque
# cloud, solar_W_m2, rain_mm, rain_hours. TMY3: NREL/TP-581-43156, table 1-1; TMY2: NREL 1995, table 3-2.
# Of a TMY3 line the cells between sun and sky cover (more of the sun, illuminance) are left out: they are not used.
NONE = float("nan")
READ_BY_HAND = [
    # 15:00 at UTC-5; 23 mm in 1 h
    (
        "723170TYA.CSV",
        17,
        "01/01/1988,15:00,568,1415,131,",
        ",10,A,7,10,A,7,11.1,A,7,10.6,A,7,96,A,7,992,A,7,340,A,7,4.1,A,7,4000,B,7,210,A,7,2.0,E,8,0.000,F,8,0.00,?,0,"
        "23,1,D,9,45,C,8",
        "2001-01-01 20:00",
        (11.1, 10.6, 0.96, 99200, 4.1, 1.0, 1.0, 131, 23, 1),
    ),
    (
        "723170TYA.CSV",
        5001,
        "07/28/1981,07:00,272,1325,101,",
        ",3,A,7,2,A,7,21.1,A,7,18.3,A,7,84,A,7,990,A,7,0,A,7,0.0,A,7,6400,B,7,77777,A,7,3.2,E,8,0.000,F,8,0.00,?,0,"
        "0,1,D,9,05,C,8",
        "2001-07-28 12:00",
        (21.1, 18.3, 0.84, 99000, 0.0, 0.3, 0.2, 101, 0, 1),
    ),
    # UTC-9; rain 0, over an unknown time
    (
        "703165TY.csv",
        4005,
        "06/16/1996,19:00,648,1323,101,",
        ",10,E,9,10,A,7,8.3,A,7,6.6,A,7,89,A,7,1012,E,9,80,A,7,2.5,A,7,8000,A,7,330,A,7,2.7,E,8,0.139,F,8,0.110,F,8,"
        "0,99,A,7",
        "2001-06-17 04:00",
        (8.3, 6.6, 0.89, 101200, 2.5, 1.0, 1.0, 101, 0, NONE),
    ),
    # the last line, hour 24; rain missing
    (
        "703165TY.csv",
        8762,
        "12/31/1998,24:00,0,0,0,",
        ",10,E,9,10,A,7,-6.0,A,7,-13.0,A,7,54,A,7,1012,E,9,10,A,7,5.1,A,7,16100,A,7,810,A,7,0.2,E,8,0.050,F,8,0.250,F,8,"
        "-9900,-9900,?,0",
        "2002-01-01 09:00",
        (-6.0, -13.0, 0.54, 101200, 5.1, 1.0, 1.0, 0, NONE, NONE),
    ),
    # 28 July 1964, hour 8 at UTC-5: GHI 0257, cloud 04 and 03, 0283, 0250, 082, 1020, wind from 130 deg with 052
    (
        "12839.tm2",
        5001,
        " 64072808049113250257C40381E40106E50277I40279I40173I50201I504A703A70283A70250A7082A71020A7130A7052A7",
        "0161A777777A70999999999041F8219F8000A788E7",
        "2001-07-28 13:00",
        (28.3, 25.0, 0.82, 102000, 5.2, 0.4, 0.3, 257, NONE, NONE),
    ),
    (
        "12839.tm2",
        8761,
        " 65123124000000000000?00000?00000?00000?00000?00000?00000?006B806B80222B80158E7067B81023B8100B8059B8",
        "9999?099999?00999999999029F8063F8000A788E7",
        "2002-01-01 05:00",
        (22.2, 15.8, 0.67, 102300, 5.9, 0.6, 0.6, 0, NONE, NONE),
    ),
]
CHANNELS = (
    "t_air_C",
    "t_dew_C",
    "humidity_frac",
    "pressure_Pa",
    "wind_m_s",
    "cloud_total_frac",
    "cloud_opaque_frac",
    "solar_W_m2",
    "rain_mm",
)


def check_line(record, line: int, hour_end: str, expected: tuple[float, ...]) -> None:
    at = int(np.flatnonzero(record.lines == line)[0])
    read = [record.channel(channel)[at] for channel in CHANNELS]
    hours = NONE if record.rain_hours is None else record.rain_hours[at]
    np.testing.assert_allclose([*read, hours], expected, rtol=1e-12, atol=1e-12)
    assert record.start + (at + 1) * pd.Timedelta(hours=1) == pd.Timestamp(hour_end, tz="UTC")


@pytest.mark.parametrize(("name", "line", "begins", "ends", "hour_end", "expected"), READ_BY_HAND)
def test_lines_read_by_hand(name, line, begins, ends, hour_end, expected):
    text = (PVLIB_DATA / name).read_text(encoding="utf-8").splitlines()[line - 1]
    assert text.startswith(begins)
    assert text.endswith(ends)
    check_line(record_of(f"data/{name}", "pvlib"), line, hour_end, expected)


@pytest.mark.parametrize(
    ("name", "first_line", "kind", "place", "station"),
    [
        (
            "723170TYA.CSV",
            '723170,"GREENSBORO PIEDMONT TRIAD INT",NC,-5.0,36.100,-79.950,273',
            "TMY3",
            "GREENSBORO PIEDMONT TRIAD INT, NC",
            (36.1, -79.95, 273, -5),
        ),
        (
            "703165TY.csv",
            '703165,"SAND POINT",AK,-9.0,55.317,-160.517,7',
            "TMY3",
            "SAND POINT, AK",
            (55.317, -160.517, 7, -9),
        ),
        # 25 deg 48 min north, 80 deg 16 min west
        (
            "12839.tm2",
            " 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2",
            "TMY2",
            "MIAMI, FL",
            (25.8, -80 - 16 / 60, 2, -5),
        ),
    ],
)
def test_station_lines_read_by_hand(name, first_line, kind, place, station):
    assert (PVLIB_DATA / name).read_text(encoding="utf-8").splitlines()[0] == first_line
    record = record_of(f"data/{name}", "pvlib")
    assert (record.kind, record.place, record.typical, len(record)) == (kind, place, True, 8760)
    found = (record.latitude_deg, record.longitude_deg, record.elevation_m, record.utc_offset_h)
    assert found == pytest.approx(station, abs=1e-9)


# A data line written after the data dictionary of the form: 10:00 of 5 March 1998, ... 35 cells
EPW_LINE = (
    "1998,3,5,10,60,?9?9?9?9E0?9?9,12.3,4.5,58,97650,901,1390,287,654,720,155,71000,69000,17000,2600,"
    "230,3.6,7,4,16.1,77777,9,999999999,120,0.0840,0,88,0.180,2.5,1.0"
)
EPW_READ = (12.3, 4.5, 0.58, 97650, 3.6, 0.7, 0.4, 654, 2.5, 1)


@pytest.mark.parametrize(
    ("cells", "rain"),
    [
        (slice(None), (2.5, 1)),
        (slice(32), (NONE, NONE)),  # as files converted from TMY2 are: they end with days since snow, and albedo
        (slice(24), (NONE, NONE)),
    ],
)
@pytest.mark.parametrize("more", [[], ["", "0"]], ids=["", "cells added"])
def test_an_epw_line_read_by_hand(tmp_path, cells, rain, more):
    rows = [(row + more)[cells] for row in epw_rows()]
    at = (31 + 28 + 4) * 24 + 9
    rows[at] = (EPW_LINE.split(",") + more)[cells]
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    record = record_of("made.epw", None, tmp_path)
    check_line(record, 8 + at + 1, "2001-03-05 15:00", (*EPW_READ[:-2], *rain))
    assert record.channel("long_wave_W_m2")[at] == 287
    station = (record.latitude_deg, record.longitude_deg, record.elevation_m, record.utc_offset_h)
    assert station == (36.1, -79.95, 273.0, -5.0)  # as in the LOCATION line of `epw_text`
    assert (record.place, record.declared_type) == ("Mereford, XX, NOW", "invented")


def test_a_name_with_commas_does_not_shift_the_station(tmp_path):
    location = 'LOCATION,"Mereford, Lower",XX,NOW,invented,000000,36.1,-79.95,-5.0,273.0'
    (tmp_path / "made.epw").write_text(epw_text(epw_rows(), location=location), encoding="utf-8")
    record = record_of("made.epw", None, tmp_path)
    assert (record.place, record.latitude_deg) == ("Mereford, Lower, XX, NOW", 36.1)


def refusal_of(name: str, raw: bytes) -> str:
    gather = Gather()
    assert read_station_file(EvidenceFile(name, raw, ""), "auto", gather) is None
    [problem] = gather.problems
    return str(problem)


@pytest.mark.parametrize("marked", [[100], [100, 102], [8759]])
def test_a_line_that_only_pvlib_refuses_is_named(marked):
    # a quotation mark at the start of a cell swallows everything up to the next one; row 100 stands in line 109
    rows = epw_rows()
    for at in marked:
        rows[at][5] = '"?9?9'
    told = refusal_of("made.epw", epw_text(rows).encode())
    assert told.startswith(f"made.epw, line {marked[0] + 9}: not readable (")
    assert told.endswith("; wanted a line of the EPW form; correct it or get the file again from its source")


def test_a_letter_in_an_unused_tmy2_field_is_named_with_its_line():
    lines = (PVLIB_DATA / "12839.tm2").read_bytes().splitlines(keepends=True)
    lines[5000] = lines[5000].replace(b"0381E4", b"O381E4")
    told = refusal_of("made.tm2", b"".join(lines))
    assert told.startswith("made.tm2, line 5001: not readable (")
    assert "O381" in told
    assert "weather.txt" not in told  # the file on the machine that pvlib was given


def test_tmy2_cells_that_are_no_numbers_are_told_with_their_characters():
    # characters as counted in the manual's table 3-2
    fields = (
        ("year", b" 640728", b" 6X0728", "6X"),
        ("18 to 21 (solar radiation)", b"0257C4", b"O257C4", "O257"),
        ("60 to 61 (total sky cover)", b"I504A7", b"I5O4A7", "O4"),
        ("64 to 65 (opaque sky cover)", b"A703A7", b"A7O3A7", "O3"),
        ("68 to 71 (air temperature)", b"0283A7", b"02B3A7", "02B3"),
        ("74 to 77 (dew point)", b"0250A7", b"025OA7", "025O"),
        ("80 to 82 (relative humidity)", b"A7082A7", b"A7O82A7", "O82"),
        ("85 to 88 (pressure)", b"1020A7", b"l020A7", "l020"),
        ("96 to 98 (wind speed)", b"A7052A7", b"A7O52A7", "O52"),
    )
    lines = (PVLIB_DATA / "12839.tm2").read_bytes().splitlines()
    for _, right, wrong, _ in fields:
        assert lines[5000].count(right) == 1
        lines[5000] = lines[5000].replace(right, wrong)
    gather = Gather()
    assert read_station_file(EvidenceFile("made.tm2", b"\n".join(lines), ""), "auto", gather) is None
    assert [(problem.where, problem.found) for problem in gather.problems] == [
        (f"made.tm2, column {name}", f"not a number: line 5001 {cell!r}") for name, _, _, cell in fields
    ]


def test_epw_cells_that_are_no_numbers_are_told_with_their_column():
    # columns counted from 1 after the data dictionary of the form
    columns = {
        2: "month",
        7: "7 (air temperature)",
        8: "8 (dew point)",
        9: "9 (relative humidity)",
        10: "10 (pressure)",
        13: "13 (long-wave radiation)",
        14: "14 (solar radiation)",
        22: "22 (wind speed)",
        23: "23 (total sky cover)",
        24: "24 (opaque sky cover)",
        34: "34 (rain)",
        35: "35 (hours of the rain depth)",
    }
    rows = epw_rows()
    for column in columns:
        rows[91][column - 1] = "none of it"
    gather = Gather()
    assert read_station_file(EvidenceFile("made.epw", epw_text(rows).encode(), ""), "auto", gather) is None
    assert [(problem.where, problem.found) for problem in gather.problems] == [
        (f"made.epw, column {name}", "not a number: line 100 'none of it'") for name in columns.values()
    ]


def test_a_tmy3_time_that_is_none_is_told_with_its_line():
    raw = (PVLIB_DATA / "723170TYA.CSV").read_bytes()
    told = refusal_of("made.csv", raw.replace(b"01/01/1988,15:00", b"01/01/1988,15:30"))
    assert told.startswith("made.csv, date and time: not readable: line 17 '01/01/1988 15:30'; wanted MM/DD/YYYY")
    told = refusal_of("made.csv", raw.replace(b"01/01/1988,15:00", b"13/01/1988,15:00"))
    assert told.startswith("made.csv: no such hour: line 17 (year 1988, month 13, day 1, hour 15); wanted")


def test_no_warning_reaches_the_auditor(tmp_path):
    rows = 3 * epw_rows()  # so long that it is read in pieces, of which one is text
    rows[20_000] = [*rows[20_000][:6], "mild", *rows[20_000][7:]]
    (tmp_path / "made.epw").write_text(epw_text(rows), encoding="utf-8")
    gather = Gather()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for folder, name, package in (
            (Path(), "data/12839.tm2", "pvlib"),
            (Path(), "data/703165TY.csv", "pvlib"),
            (tmp_path, "made.epw", None),
        ):
            read_station_file(read_evidence(folder, name, package, "weather.file", gather), "auto", gather)
    assert [problem.found for problem in gather.problems] == ["not a number: line 20009 'mild'"]


@pytest.mark.parametrize(("name", "place"), [("723170TYA.CSV", (36.1, -79.95)), ("703165TY.csv", (55.317, -160.517))])
def test_hours_and_sun_agree_with_the_extraterrestrial_radiation_in_the_file(name, place):
    # The TMY3 column ETR is the radiation on a horizontal plane above the atmosphere over the hour before the stamp
    # (NREL/TP-581-43156, table 1-1). Ours: 1366.1 W/m2 (ASTM E490), distance by Spencer 1971, height of the sun.
    record = record_of(f"data/{name}", "pvlib")
    with open(PVLIB_DATA / name, encoding="utf-8") as stream:
        theirs = pd.read_csv(stream, skiprows=1)["ETR (W/m^2)"].to_numpy(dtype=float)
    minutes = pd.date_range(record.start, periods=8760 * 12, freq="5min") + pd.Timedelta(minutes=2.5)
    elevation_deg, _ = sun_at(minutes, *place)
    day = 2 * np.pi * (minutes.day_of_year - 1) / 365
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


def test_constant_pressure_is_doubted():
    findings = read_weather(site_with(place=SAND_POINT_PLACE, **SAND_POINT)).findings
    constant = [finding for finding in findings if finding.code == "weather.constant-column"]
    assert [finding.data for finding in constant] == [{"channel": "pressure_Pa", "value": 101200.0}]


@pytest.mark.parametrize(
    ("controls", "doubted"),
    [
        ({"lockout_frost_C": -5.0}, True),
        ({"lockout_frost_C": -1.0}, False),  # never sprayed in that frost
        ({}, False),  # nor with the default lock-out of 3 degC
        ({"lockout_frost_C": -5.0, "season_from": "05-01", "season_to": "09-30"}, False),
        ({"lockout_frost_C": -5.0, "season_from": "12-01", "season_to": "03-31"}, True),
    ],
)
def test_frost_is_doubted_only_where_spraying_is_possible(tmp_path, controls, doubted):
    (tmp_path / "made.epw").write_text(
        epw_text(epw_rows(air=lambda at: -2.0 if at < 31 * 24 else 12.0, dew=lambda at: -6.0)), encoding="utf-8"
    )
    findings = read_weather(site_with(tmp_path, controls=controls, file="made.epw")).findings
    told = [finding for finding in findings if finding.code == "weather.sky-formula-limits"]
    assert bool(told) is doubted
    if doubted and "season_from" not in controls:
        # nights of January at 36.1 deg north last 14 h on average, those of the year 12 h less refraction and the sun's
        # disk: 31 * 14.1 / (365 * 11.9) = 10 %
        assert told[0].data["frost_night_frac"] == pytest.approx(0.10, abs=0.005)


@pytest.mark.parametrize(("gap", "doubted"), [(False, False), (True, True)])
@pytest.mark.parametrize("place", [{"elevation_m": 2300.0}, {}], ids=["high", "frost"])
def test_no_sky_formula_is_doubted_where_long_wave_was_measured(tmp_path, place, gap, doubted):
    """With a column throughout no formula plays a part; a gap of three winter weeks is filled by one."""
    (tmp_path / "made.epw").write_text(epw_text(epw_rows(
        air=lambda at: -2.0 if at < 31 * 24 else 12.0, dew=lambda at: -6.0,
        infrared=lambda at: 9999 if gap and at < 21 * 24 else 280)), encoding="utf-8")
    findings = read_weather(site_with(tmp_path, file="made.epw", long_wave="column", place=place,
                                      controls={"lockout_frost_C": -5.0})).findings
    assert ("weather.sky-formula-limits" in {finding.code for finding in findings}) is doubted


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


@pytest.mark.parametrize(("name", "place"), [(GREENSBORO, {}), (MIAMI, MIAMI_PLACE)], ids=["tmy3", "tmy2"])
def test_the_year_is_read_in_good_time(name, place):
    read_weather(site_with(place=place, **name))  # imports
    begun = time.process_time()
    read_weather(site_with(place=place, **name))
    assert time.process_time() - begun < 2.0  # 0.4 s and 0.9 s on an idle machine
