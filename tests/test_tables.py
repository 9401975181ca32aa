"""Delimited text with declared columns: headings, delimiters, decimal marks, encodings, clocks."""

import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.grid import on_grid
from sprayroof.evidence.tables import Wanted, read_table
from sprayroof.evidence.times import standard_offset_h

COLUMNS = {"t": Wanted("T air", "degC", "degC", "weather.columns.air_temperature")}


def read(text, columns=COLUMNS, zone="UTC", form=None, daily=False):
    gather = Gather()
    raw = text if isinstance(text, bytes) else text.encode("utf-8")
    return read_table(EvidenceFile("log.csv", raw, ""), columns, "time", form, zone, "weather", gather, daily), gather


def problems(text, **how):
    table, gather = read(text, **how)
    assert table is None
    return [str(problem) for problem in gather.problems]


@pytest.mark.parametrize("delimiter", [";", ",", "\t", "|"])
def test_delimiters_are_found_by_the_header(delimiter):
    text = "\n".join(
        delimiter.join(row)
        for row in (("time", "x", "T air"), ("2025-01-01 00:00", "9", "1.5"), ("2025-01-01 01:00", "9", "-2"))
    )
    table, gather = read(text)
    assert not gather.problems
    np.testing.assert_array_equal(table.values["t"], [1.5, -2])
    assert list(table.times) == [pd.Timestamp("2025-01-01 00:00", tz="UTC"), pd.Timestamp("2025-01-01 01:00", tz="UTC")]
    assert list(table.lines) == [2, 3]


def test_title_rows_units_row_comments_and_blank_rows_are_left_alone():
    text = "Mereford weather log\nserial;0000\n\ntime;T air\n;degC\n2025-01-01 00:00;1\n# calibration\n\n"
    table, gather = read(text + "2025-01-01 01:00;2\n")
    assert not gather.problems
    np.testing.assert_array_equal(table.values["t"], [1, 2])
    assert list(table.lines) == [6, 9]


def test_headings_are_compared_without_case_quotes_and_doubled_blanks():
    table, gather = read('"TIME","t  Air"\n2025-01-01 00:00,1\n')
    assert not gather.problems
    assert table.values["t"][0] == 1


def test_declared_delimiter_line_is_followed():
    table, gather = read("sep=|\ntime|T air\n2025-01-01 00:00|1\n2025-01-01 00:10|2\n")
    assert not gather.problems
    assert len(table.times) == 2


def test_units_are_converted():
    # 68 degF = 20 degC; 1 inHg = 3386.39 Pa; a gust of 10 knots = 5.14444 m/s; 4 oktas = 0.5
    columns = {
        "t": Wanted("T air", "degF", "degC", "e"),
        "p": Wanted("p", "inHg", "Pa", "e"),
        "v": Wanted("v", "knots", "m/s", "e"),
        "c": Wanted("c", "okta", "1", "e"),
        "r": Wanted("r", "0.1 mm", "mm", "e"),
    }
    table, gather = read("time,T air,p,v,c,r\n2025-01-01 00:00,68,30,10,4,25\n", columns)
    assert not gather.problems
    assert table.values["t"][0] == pytest.approx(20)
    assert table.values["p"][0] == pytest.approx(30 * 3386.389, rel=1e-6)
    assert table.values["v"][0] == pytest.approx(5.14444, rel=1e-5)
    assert table.values["c"][0] == pytest.approx(0.5)
    assert table.values["r"][0] == pytest.approx(2.5)


def test_decimal_comma_of_a_whole_column_is_read_and_told():
    table, gather = read("time;T air\n2025-01-01 00:00;1,5\n2025-01-01 01:00;-2\n2025-01-01 02:00;\n")
    np.testing.assert_array_equal(table.values["t"], [1.5, -2, np.nan])
    assert [finding.code for finding in gather.findings] == ["table.decimal-comma"]


def test_codes_for_missing_are_missing():
    cells = ["", "NaN", "---", "-9999", "-999.9", "#N/A", "3"]
    text = "time,T air\n" + "".join(f"2025-01-01 0{at}:00,{cell}\n" for at, cell in enumerate(cells))
    table, gather = read(text)
    assert not gather.problems
    np.testing.assert_array_equal(table.values["t"], [np.nan] * 6 + [3])


@pytest.mark.parametrize(("encoding", "told"), [("utf-8", 0), ("utf-8-sig", 0), ("utf-16", 0), ("latin-1", 1)])
def test_encodings(encoding, told):
    title = "Wetterstation Mühlbüchl, Höhe über Meer, Außenfühler Süd, größte Böe, Temperatur in °C"
    text = f"{title}\ntime;Außen °C\n2025-01-01 00:00;7\n"
    columns = {"t": Wanted("Außen °C", "degC", "degC", "e")}
    table, gather = read(text.encode(encoding), columns)
    assert not gather.problems
    assert table.values["t"][0] == 7
    assert len(gather.findings) == told


def test_times_in_a_declared_form_and_midnight_as_24():
    table, gather = read("time;T air\n31.12.2024 23:00;1\n31.12.2024 24:00;2\n", form="%d.%m.%Y %H:%M")
    assert not gather.problems
    assert table.times[1] == pd.Timestamp("2025-01-01 00:00", tz="UTC")


def test_times_with_their_own_offset_need_no_zone():
    table, gather = read("time,T air\n2025-01-01T00:00:00+02:00,1\n2025-01-01T01:00:00+02:00,2\n", zone=None)
    assert not gather.problems
    assert table.times[0] == pd.Timestamp("2024-12-31 22:00", tz="UTC")


def test_daylight_saving_is_resolved_by_order():
    # Berlin 2025: clocks fall back from 03:00 to 02:00 on 26 October (UTC+2 -> UTC+1)
    clock = ["01:30", "02:00", "02:30", "02:00", "02:30", "03:00"]
    table, gather = read("time,T air\n" + "".join(f"2025-10-26 {time},1\n" for time in clock), zone="Europe/Berlin")
    assert not gather.problems
    expected = pd.date_range("2025-10-25 23:30", periods=6, freq="30min", tz="UTC")
    assert list(table.times) == list(expected)
    assert [finding.code for finding in gather.findings] == ["table.daylight-saving"]


def test_daylight_saving_of_a_whole_year_against_the_clock_itself():
    utc = pd.date_range("2025-01-01 06:00", "2026-01-01 05:00", freq="1h", tz="UTC")
    clock = utc.tz_convert("America/Chicago").strftime("%Y-%m-%d %H:%M")
    table, gather = read("time,T air\n" + "".join(f"{time},1\n" for time in clock), zone="America/Chicago")
    assert not gather.problems
    assert (table.times == utc).all()


def test_standard_offset_is_without_daylight_saving():
    # New York UTC-5, Sydney UTC+10, Kolkata UTC+5:30
    offsets = [standard_offset_h(zone, 2025) for zone in ("America/New_York", "Australia/Sydney", "Asia/Kolkata")]
    assert offsets == [-5.0, 10.0, 5.5]


BAD_TABLES = sorted((Path(__file__).parent / "bad_inputs" / "tables").iterdir())


@pytest.mark.parametrize("case", BAD_TABLES, ids=lambda case: case.name)
def test_whole_message_of_a_bad_table(case):
    found = problems((case / "log.csv").read_bytes(), zone="Europe/Berlin")
    assert found == (case / "expected.txt").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize(
    ("form", "message"),
    [
        (
            "%Q",
            "site file, weather.time_format: '%Q' ('Q' is a bad directive in format '%Q'); wanted strptime "
            "codes such as "
            "%d.%m.%Y %H:%M; correct the entry",
        ),
        (
            "%d.%m.%Y %I:%M",
            "site file, weather.time_format: '%d.%m.%Y %I:%M' has a 12-hour clock without AM or PM; wanted %H, or %I "
            "with %p; export the file with a 24-hour clock",
        ),
        (
            "%d.%m.%Y",
            "log.csv, times: not a time: line 2 '2025-01-01'; wanted times of the form %d.%m.%Y; correct these "
            "cells, or "
            "weather.time_format",
        ),
    ],
)
def test_whole_message_of_a_bad_time_form(form, message):
    assert problems("time,T air\n2025-01-01,1\n", form=form) == [message]


def test_a_clock_without_zone_is_asked_for():
    assert problems("time,T air\n2025-01-01 00:00,1\n", zone=None) == [
        "site file, weather.time_zone: missing, and the times of log.csv carry no offset; wanted the IANA name "
        "of the logger's "
        'clock, or "UTC"; add weather.time_zone'
    ]


def test_all_problems_come_at_once():
    columns = {
        "t": Wanted("T air", "bar", "degC", "weather.columns.air_temperature"),
        "p": Wanted("p", "Pa", "Pa", "e"),
    }
    found = problems("time,T air,p\n2025-01-01 00:00,x,1\n2025-01-01 00:00,1,y\n", columns=columns)
    assert len(found) == 4


def test_rows_beside_the_grid_are_named():
    start = datetime.datetime(2025, 1, 1)
    minutes = [0, 10, 20, 31, 40, 60]
    text = "time,T air\n" + "".join(f"{start + datetime.timedelta(minutes=at)},{at}\n" for at in minutes)
    table, gather = read(text)
    assert on_grid(table, "end", "log.csv", gather) is None
    assert [str(problem) for problem in gather.problems] == [
        "log.csv, times: beside the interval of 10 min: line 5 (2025-01-01 00:31:00 UTC); wanted times at one "
        "regular interval; "
        "export the record at a regular interval"
    ]


def test_missing_rows_are_holes_and_stamps_are_edges():
    text = "time,T air\n2025-01-01 00:10,1\n2025-01-01 00:20,2\n2025-01-01 00:30,3\n2025-01-01 00:50,5\n"
    table, gather = read(text)
    by_end = on_grid(table, "end", "log.csv", gather)
    assert by_end.start == pd.Timestamp("2025-01-01 00:00", tz="UTC")
    assert on_grid(table, "start", "log.csv", gather).start == pd.Timestamp("2025-01-01 00:10", tz="UTC")
    np.testing.assert_array_equal(by_end.values["t"], [1, 2, 3, np.nan, 5])
    assert by_end.interval_s == 600


def test_absolute_paths_are_never_shown(tmp_path):
    gather = Gather()
    assert read_evidence(tmp_path, str(tmp_path / "gone.csv"), None, "weather.file", gather) is None
    assert str(tmp_path) not in str(gather.problems[0])
    assert "there is no file gone.csv" in str(gather.problems[0])


@given(
    st.one_of(
        st.binary(max_size=300),
        st.text(max_size=300).map(lambda text: text.encode("utf-8", "surrogatepass")),
        st.lists(st.lists(st.text("0123456789-:.,; TZ\"'", max_size=20), min_size=1, max_size=3), max_size=6).map(
            lambda rows: "\n".join(["time,T air", *(",".join(row) for row in rows)]).encode()
        ),
    ),
    st.sampled_from([None, "%d.%m.%Y %H:%M", "%H:%M"]),
)
def test_no_file_whatever_ends_in_a_traceback(raw, form):
    table, gather = read(raw, zone="Europe/Berlin", form=form)
    assert (table is None) == bool(gather.problems)
