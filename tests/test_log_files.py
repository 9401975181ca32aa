"""Logs as loggers, meters and building controls write them: clocks, numbers, sheets, and a public flow-meter log."""

from __future__ import annotations

import datetime
import io
import json
import time
import zipfile
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
import outside_data
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from log_makers import SUPPLY, codes, data_of, log_of, problems, read

from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.devices import devices_in, names_devices
from sprayroof.evidence.log_files.export_checks import check_row_limits, copied_block
from sprayroof.evidence.log_files.missing_codes import codes_in
from sprayroof.evidence.log_files.number_forms import marks_of, number_of, parted
from sprayroof.evidence.log_files.propose import propose
from sprayroof.evidence.log_files.reading import read_log_file
from sprayroof.evidence.log_files.series_file import Asked, SeriesForm, read_series
from sprayroof.evidence.log_files.units_seen import unit_in_heading
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.site import read_site

UTC = datetime.UTC
SITE = Path(__file__).parent.parent / "sample_sites" / "brindlemoor_bindery"


def ns_of(moment: datetime.datetime) -> int:
    return round(moment.timestamp()) * 10**9


def rows(stamps, values=None):
    values = [f"{20 + 0.1 * (7 * k % 11):.1f}" for k in range(len(stamps))] if values is None else values
    return "Time,T\n" + "".join(f"{stamp},{value}\n" for stamp, value in zip(stamps, values, strict=True))


def minutes(start: str, count: int, step: int, form: str = "%Y-%m-%d %H:%M") -> list[str]:
    first = datetime.datetime.fromisoformat(start)
    return [(first + datetime.timedelta(minutes=step * k)).strftime(form) for k in range(count)]


# --- clocks, against the standard library's zone data --------------------------------------------------------------

ZONES = (
    "Europe/Berlin",
    "America/New_York",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "America/Santiago",
    "Europe/London",
    "Asia/Kolkata",
    "Africa/Casablanca",
)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("newest_first", [False, True])
def test_a_year_of_local_clock_comes_back_as_utc(zone, newest_first):
    """Every half hour of 2025; Lord Howe changes by half an hour, Casablanca for Ramadan."""
    step = 10 if zone == "Australia/Lord_Howe" else 30
    moments = [
        datetime.datetime(2025, 1, 1, tzinfo=UTC) + datetime.timedelta(minutes=step * k)
        for k in range(365 * 1440 // step)
    ]
    stamps = [moment.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M") for moment in moments]
    order = slice(None, None, -1) if newest_first else slice(None)
    table, gather = read(rows(stamps[order]), time_zone=zone)
    np.testing.assert_array_equal(table.times_ns, [ns_of(moment) for moment in moments])
    changes = len({moment.astimezone(ZoneInfo(zone)).utcoffset() for moment in moments}) - 1
    assert codes(gather).count("log.daylight-saving") == changes


def stands_twice(moment, zone):
    """Whether the local clock shows this time twice."""
    local = moment.astimezone(ZoneInfo(zone))
    return len({local.replace(fold=fold).utcoffset() for fold in (0, 1)}) == 2


@given(
    zone=st.sampled_from(ZONES),
    year=st.integers(2005, 2035),
    start_h=st.integers(0, 8700),
    form=st.sampled_from(
        (
            "%Y-%m-%d %H:%M:%S",
            "%d.%m.%Y %H:%M:%S",
            "%m/%d/%Y %I:%M:%S %p",
            "%Y%m%d%H%M%S",
            "%d-%b-%Y %H:%M:%S",
            "%Y/%m/%dT%H:%M:%S",
        )
    ),
)
@settings(max_examples=60, deadline=None)
def test_any_stated_form_on_any_clock(zone, year, start_h, form):
    first = datetime.datetime(year, 1, 1, tzinfo=UTC) + datetime.timedelta(hours=start_h)
    moments = [first + datetime.timedelta(minutes=10 * k) for k in range(150)]
    stamps = [moment.astimezone(ZoneInfo(zone)).strftime(form) for moment in moments]
    table, gather = read(rows(stamps), time_zone=zone, time_format=form)
    if table is None:  # a log that begins or ends within the repeated hour does not tell which pass it was
        assert any(stands_twice(moments[end], zone) for end in (0, -1)), problems(gather)
        return
    np.testing.assert_array_equal(table.times_ns, [ns_of(moment) for moment in moments])


@pytest.mark.parametrize(
    ("form", "notes"),
    [
        ("%d.%m.%y %H:%M", True),
        ("%m/%d/%Y %I:%M %p", False),
        ("%d/%m/%Y, %H:%M", False),
        ("%Y-%m-%dT%H:%M:%S.000Z", False),
        ("%d %B %Y %H:%M", False),
        ("%b %d, %Y %H:%M", False),
        ("%Y%m%d %H:%M", False),
        ("%Y%m%d%H%M", False),
        ("%d.%m.%Y %H.%M", False),
        ("%Y-%m-%d %H:%M:%S+00:00", False),
    ],
)
def test_forms_that_are_found_out(form, notes):
    moments = [datetime.datetime(2026, 6, 9, tzinfo=UTC) + datetime.timedelta(hours=k) for k in range(200)]
    table, gather = read(
        "Time;T\n" + "".join(f"{moment.strftime(form)};{20 + k % 7}\n" for k, moment in enumerate(moments))
    )
    assert table is not None, problems(gather)
    np.testing.assert_array_equal(table.times_ns, [ns_of(moment) for moment in moments])
    assert ("log.time-form" in codes(gather)) == notes


@pytest.mark.parametrize(
    ("month", "expected"),
    [("März", 3), ("mai", 5), ("juin", 6), ("août", 8), ("dic", 12), ("okt", 10), ("févr.", 2), ("settembre", 9)],
)
def test_months_of_other_languages(month, expected):
    table, _ = read("Time;T\n" + "".join(f"{day} {month} 2026 12:00;{day}.5\n" for day in range(1, 13)))
    assert [int(str(np.datetime64(int(ns), "ns"))[5:7]) for ns in table.times_ns] == [expected] * 12


def test_twelve_hour_clock_against_the_24_hour_one():
    """Ten days by quarters of an hour, from an afternoon to a morning, with and without the half of the day."""
    form = "%Y-%m-%d %I:%M"
    bare, gather = read(rows(minutes("2026-06-01 15:15", 940, 15, form)))
    full, _ = read(rows(minutes("2026-06-01 15:15", 940, 15)))
    np.testing.assert_array_equal(bare.times_ns, full.times_ns)
    assert codes(gather) == ["log.twelve-hour-clock"]


def test_a_morning_that_repeats_no_hour_is_no_twelve_hour_clock():
    table, gather = read(rows(minutes("2026-06-01 01:00", 110, 6)))
    assert len(table.times_ns) == 110
    assert codes(gather) == []


def test_one_clock_check_shifts_and_two_stretch():
    stamps = minutes("2026-06-01 00:00", 241, 60)
    one, _ = read(rows(stamps), clock_checks=[["2026-06-03 12:00", "2026-06-03 11:55"]])
    plain, _ = read(rows(stamps))
    np.testing.assert_array_equal(plain.times_ns - one.times_ns, 300 * 10**9)
    # right at the start, 10 min fast after five days; after ten days 20 min: the line is carried on
    two, gather = read(
        rows(stamps), clock_checks=[["2026-06-01 00:00", "2026-06-01 00:00"], ["2026-06-06 00:00", "2026-06-05 23:50"]]
    )
    np.testing.assert_allclose((plain.times_ns - two.times_ns) / 1e9, np.linspace(0.0, 1200.0, 241), atol=1e-3)
    assert data_of(gather, "log.clock-corrected")["new"] == pytest.approx([0.0, -1200.0])


@pytest.mark.parametrize(
    ("zone", "lost", "asked"), [("Etc/GMT-1", True, False), ("UTC", True, False), ("Europe/Berlin", False, False)]
)
def test_an_hour_lost_to_daylight_saving_is_found(zone, lost, asked):
    """A Berlin clock over 29 March 2026: 01:50 is followed by 03:00."""
    stamps = minutes("2026-03-28 20:00", 36, 10) + minutes("2026-03-29 03:00", 40, 10)
    table, gather = read(rows(stamps), site_zone="Europe/Berlin", time_zone=zone)
    assert (codes(gather) == ["log.daylight-saving-doubt"]) == lost
    assert (table is None) == asked
    # the same gap a day earlier is a gap
    stamps = minutes("2026-03-27 20:00", 36, 10) + minutes("2026-03-28 03:00", 40, 10)
    assert codes(read(rows(stamps), site_zone="Europe/Berlin", time_zone="UTC")[1]) == []


# --- numbers ------------------------------------------------------------------------------------------------------

GROUPED = {
    ("en", ","): lambda x: f"{x:,.2f}",
    ("eu", "."): lambda x: f"{x:,.2f}".translate(str.maketrans(",.", ".,")),
    ("fr", "\u202f"): lambda x: f"{x:,.2f}".replace(",", "\u202f").replace(".", ","),
    ("ch", "'"): lambda x: f"{x:,.2f}".replace(",", "'"),
    ("nb", "\u00a0"): lambda x: f"{x:,.2f}".replace(",", "\u00a0"),
}


@given(value=st.floats(-9e6, 9e6).map(lambda x: round(x, 2)), style=st.sampled_from(sorted(GROUPED)))
def test_numbers_come_back_from_every_way_of_writing(value, style):
    assume(abs(value) >= 0.01)
    text = GROUPED[style](value)
    cell = parted(text)
    decimal = "," if style[0] in ("eu", "fr") else "."
    assert marks_of([text]).certain == decimal
    assert number_of(cell.digits, decimal) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["1,23,456.7", "12,34.5", "1.2.3", "12 34", "1,234,56", "--5", "1e", ".", ",", "1 234 5"]
)
def test_broken_groups_are_no_numbers(text):
    cell = parted(text)
    assert cell is None or all(np.isnan(number_of(cell.digits, mark)) or cell.unit for mark in ".,")


@pytest.mark.parametrize(
    ("values", "unit", "found"),
    [
        ([20, 21, 85.0, 22, 21], "degC", {85.0: 1}),
        ([83.1, 84.2, 85.0, 84.7, 83.9], "degC", {}),
        ([68, 69, 85.0, 84.0, 70], "degF", {}),  # 85 degF is weather
        ([68, 69, 185.0, 70, 71], "degF", {185.0: 1}),
        ([20, -127, 21, 20, 21], "degC", {-127.0: 1}),
        ([20, -127, 21, 20, 21], "", {}),  # another quantity may be -127
        ([9980, 9990, 9999, 10008, 10020], "", {}),  # a counter
        ([3, 4, 9999, 9999, 5], "", {9999.0: 2}),
        ([65500, 65520, 65535, 65550, 65570], "", {}),
        ([12, 65535, 12, 32767, 13, 6999], "", {65535.0: 1, 32767.0: 1, 6999.0: 1}),
        ([-9999, -999.9, 4, 5, -99999], "", {-9999.0: 1, -999.9: 1, -99999.0: 1}),
        ([9999, 9999], "", {9999.0: 2}),
    ],
)
def test_codes_are_told_from_readings(values, unit, found):
    assert {code: len(places) for code, places in codes_in(np.array(values, float), unit).items()} == found


def test_a_legitimate_number_is_kept_and_codes_are_counted():
    values = ["20.1", "-9999", "---", "", "20.4", "85.0", "Bad", "20.2", "20.3", "20.0", "-127"]
    table, gather = read(rows(minutes("2026-06-01 00:10", 11, 10), values))
    data = data_of(gather, "log.missing-codes")
    assert data["codes"] == {"-9999": 1, "-127": 1, "85": 1, '"---"': 1, '"Bad"': 1, "empty": 1}
    assert data["rows"] == 6
    np.testing.assert_array_equal(np.isnan(table.values["supply_temperature"]), [0, 1, 1, 1, 0, 1, 1, 0, 0, 0, 1])
    np.testing.assert_array_equal(np.flatnonzero(table.blanks["supply_temperature"]), [3])


def test_a_point_before_three_digits_parts_thousands_where_the_file_has_decimal_commas():
    text = "Time;T;V\n" + "".join(
        f"{stamp};{20 + k},5;{1 + k}.250\n" for k, stamp in enumerate(minutes("2026-06-01 00:10", 6, 10))
    )
    columns = {**SUPPLY, "draw_flow": {"column": "V", "unit": "L", "kind": "counter"}}
    table, gather = read(text, columns=columns)
    np.testing.assert_array_equal(table.values["draw_flow"], [1250, 2250, 3250, 4250, 5250, 6250])
    assert codes(gather) == ["log.decimal-comma", "log.thousands"]
    # stated otherwise, the same cells are decimals
    text = text.replace(",5;", ";")
    table, _ = read(text, columns=columns)
    np.testing.assert_array_equal(table.values["draw_flow"], [1.25, 2.25, 3.25, 4.25, 5.25, 6.25])


# --- rows of one time ---------------------------------------------------------------------------------------------


def test_the_row_written_last_holds_in_a_log_of_changes():
    text = "Time,T\n2026-06-01 00:00:00,20\n2026-06-01 00:00:05,21\n2026-06-01 00:00:05,22\n2026-06-01 00:03:09,20\n"
    table, gather = read(text, values="last value holds")
    np.testing.assert_array_equal(table.values["supply_temperature"], [20, 22, 20])
    assert codes(gather) == ["log.duplicate-rows"]


def test_tips_of_one_minute_are_added():
    text = (
        "Time,Tips\n2026-06-01 00:00,0\n2026-06-01 02:14,1\n2026-06-01 02:14,1\n2026-06-01 07:40,1\n"
        "2026-06-02 09:00,0\n"
    )
    table, _ = read(
        text,
        values="instant",
        columns={"rain": {"column": "Tips", "unit": "mm", "kind": "tips", "per_count": "0.2 mm"}},
    )
    np.testing.assert_array_equal(table.values["rain"], [0, 2, 1, 0])


# --- fixed width, units -------------------------------------------------------------------------------------------


@given(widths=st.lists(st.integers(7, 14), min_size=2, max_size=4), left=st.booleans())
@settings(max_examples=25, deadline=None)
def test_columns_of_fixed_width(widths, left):
    names = ["T", "Flow", "Level", "RH"][: len(widths)]
    values = [[round(3.7 * k * (place + 1) % 97 + 100 * (k % 3), 1) for k in range(24)] for place in range(len(widths))]
    side = "<" if left else ">"
    lines = [f"{'Time':<18}" + "".join(f"{name:{side}{width}}" for name, width in zip(names, widths, strict=True))]
    lines += [
        f"{stamp:<18}" + "".join(f"{value:{side}{width}}" for value, width in zip(row, widths, strict=True))
        for stamp, *row in zip(minutes("2026-06-01 00:10", 24, 10), *values, strict=True)
    ]
    channels = ("supply_temperature", "spray_flow", "solar", "conductivity")
    units = ("degC", "L/min", "W/m2", "uS/cm")
    columns = {
        channel: {"column": name, "unit": unit} for channel, name, unit in zip(channels, names, units, strict=False)
    }
    table, gather = read("\n".join(lines), columns=columns)
    assert table is not None, problems(gather)
    for channel, column in zip(columns, values, strict=True):
        np.testing.assert_array_equal(table.values[channel], column)


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Flow (L/min)", "L/min"),
        ("T [°C]", "°C"),
        ("Level, %", "%"),
        ("RH (% r.H.)", "%"),
        ("Meter (m³)", "m³"),
        ("Make-up (US gal)", "US gal"),
        ("Pump (left)", None),
        ("Sensor (2)", None),
        ("Flow", None),
        ("Power {kW}", "kW"),
    ],
)
def test_units_in_headings(heading, unit):
    assert unit_in_heading(heading) == unit


# --- workbooks ----------------------------------------------------------------------------------------------------


def workbook(**sheets) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, content in sheets.items():
        sheet = book.create_sheet(name)
        for row in content:
            sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


FIRST = datetime.datetime(2026, 6, 1, 0, 10)
DATES = [FIRST + datetime.timedelta(minutes=10 * k) for k in range(6)]
SHEET = [
    ["Brackenhurst"],
    ["Time", "T", "Flow"],
    [None, "°C", "L/min"],
    *([date, 20.0 + k, 90 + k] for k, date in enumerate(DATES)),
]


def test_the_declared_sheet_is_read():
    raw = workbook(Notes=[["by hand"]], Data=SHEET)
    table, gather = read(raw, sheet="Data", columns={**SUPPLY, "spray_flow": {"column": "Flow", "unit": "L/min"}})
    assert table is not None, problems(gather)
    np.testing.assert_array_equal(table.times_ns, [ns_of(date.replace(tzinfo=UTC)) for date in DATES])
    np.testing.assert_array_equal(table.values["spray_flow"], [90, 91, 92, 93, 94, 95])
    np.testing.assert_array_equal(table.lines, [4, 5, 6, 7, 8, 9])
    assert table.units_seen == {"T": "°C", "Flow": "L/min"}
    assert codes(gather) == ["log.title-rows"]


def test_several_sheets_are_asked_for():
    _, gather = read(workbook(Notes=[["by hand"]], Data=SHEET))
    assert problems(gather) == [
        'log.csv: 2 sheets: "Notes", "Data"; wanted the sheet to read; add sheet = "Notes" to log.1, or another of them'
    ]
    _, gather = read(workbook(Notes=[["by hand"]], Data=SHEET), sheet="Date")
    assert problems(gather) == [
        'log.csv: no sheet "Date"; it has "Notes", "Data"; wanted the name of a sheet; correct log.1.sheet'
    ]


def test_formulas_that_were_never_calculated_stop():
    content = [
        [cell if k != 1 or place < 2 else f"={10 + place}*2" for k, cell in enumerate(row)]
        for place, row in enumerate(SHEET[1:])
    ]
    _, gather = read(workbook(Data=content))
    assert problems(gather) == [
        "log.csv, sheet Data, column T: formulas that were never calculated: B3, B4, B5, B6, B7 and 1 "
        "more; wanted values; open the workbook in a spreadsheet program, let it calculate, and save "
        "it"
    ]


def with_cells(raw: bytes, old: bytes, new: bytes) -> bytes:
    """The workbook with a piece of its only sheet replaced."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as source, zipfile.ZipFile(buffer, "w") as target:
        for info in source.infolist():
            content = source.read(info)
            if info.filename == "xl/worksheets/sheet1.xml":
                assert old in content
                content = content.replace(old, new)
            target.writestr(info, content)
    return buffer.getvalue()


def test_calculated_formulas_are_read_by_their_values():
    raw = workbook(Data=[["Time", "T"], *([date, 20 + k] for k, date in enumerate(DATES))])
    raw = with_cells(raw, b'<c r="B3" t="n"><v>21</v></c>', b'<c r="B3"><f>10.5*2</f><v>21</v></c>')
    table, gather = read(raw)
    assert table is not None, problems(gather)
    np.testing.assert_array_equal(table.values["supply_temperature"], [20, 21, 22, 23, 24, 25])


def test_merged_cells_count_for_all_rows_they_cover():
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Date", "Clock", "T"])
    for k in range(6):
        sheet.append([datetime.date(2026, 6, 1) if k == 0 else None, datetime.time(k, 10), 20.0 + k])
    sheet.merge_cells("A2:A7")
    buffer = io.BytesIO()
    book.save(buffer)
    table, gather = read(buffer.getvalue(), time_column="Date", clock_column="Clock")
    assert table is not None, problems(gather)
    np.testing.assert_array_equal(
        table.times_ns, [ns_of(datetime.datetime(2026, 6, 1, k, 10, tzinfo=UTC)) for k in range(6)]
    )
    assert data_of(gather, "log.merged-cells")["rows"] == 5


def test_times_that_a_spreadsheet_turned_into_dates_in_part_stop():
    """Of 10/06, 11/06, 12/06, 13/06 a month-first spreadsheet takes three for October, November and December."""
    cells = [datetime.datetime(2026, month, 6) for month in (10, 11, 12)] + ["13/06/2026 00:00", "14/06/2026 00:00"]
    _, gather = read(workbook(Data=[["Time", "T"], *([cell, 20.5 + k] for k, cell in enumerate(cells))]))
    (problem,) = problems(gather)
    assert 'row 5 "13/06/2026 00:00": a spreadsheet took some texts for dates' in problem


def test_spreadsheet_days_without_their_form():
    """46174 is 1 June 2026 (see bad_inputs/logs/spreadsheet-days)."""
    table, gather = read(workbook(Data=[["Time", "T"], *([46174 + k / 144, 20.5 + k] for k in range(1, 7))]))
    np.testing.assert_array_equal(table.times_ns, [ns_of(date.replace(tzinfo=UTC)) for date in DATES])
    assert codes(gather) == ["log.time-form"]


@pytest.mark.parametrize(
    ("raw", "found"),
    [
        (b"\xd0\xcf\x11\xe0" + bytes(600), "a workbook of the old form, or one locked with a password"),
        (b"PK\x03\x04" + bytes(100), "an archive that is no XLSX workbook, or a damaged one"),
        (workbook(Data=SHEET)[:-200], "an archive that is no XLSX workbook, or a damaged one"),
    ],
)
def test_workbooks_that_cannot_be_opened(raw, found):
    (problem,) = problems(read(raw)[1])
    assert problem.startswith(f"log.csv: {found}; ")


TWO_HEADINGS = [["Time", "Water", None, "Store", None, "Weather"],
                [None, "T supply", "T return", "low", "mid", "T air"],
                *([date, 20.0 + k, 18.0, 19.0, 19.5, 15.0] for k, date in enumerate(DATES))]


def test_two_heading_rows_of_a_sheet_are_joined():
    def asked(name):
        return Asked("supply_temperature", name, "degC", "x")

    form = SeriesForm("log.1", {"time_column": "Time", "time_zone": "UTC"})
    file = EvidenceFile("log.xlsx", workbook(Data=TWO_HEADINGS), "")
    gather = Gather()
    table = read_series(file, [asked("Water T supply")], form, "UTC", gather)
    assert gather.problems == []
    np.testing.assert_array_equal(table.values["supply_temperature"], 20.0 + np.arange(len(DATES)))
    assert read_series(file, [asked("Water T low")], form, "UTC", gather) is None
    (told,) = gather.problems
    assert told.found.endswith('they read "Time", "Water T supply", "Water T return", "Store low", "Store mid", '
                               '"Weather T air"')


def test_two_heading_rows_of_a_sheet_are_proposed_by_joined_names(tmp_path):
    (tmp_path / "plant.xlsx").write_bytes(workbook(Data=TWO_HEADINGS))
    text = "\n".join(propose(tmp_path / "plant.xlsx", tmp_path, "UTC"))
    assert 'time_column = "Time"' in text
    assert all(f'"{name}"' in text for name in ("Water T supply", "Water T return", "Store low", "Weather T air"))


def test_words_errors_and_empty_cells_of_a_sheet():
    cells = [20.5, "#N/A", None, True, "Auto", 21]
    table, gather = read(
        workbook(Data=[["Time", "T"], *([date, cell] for date, cell in zip(DATES, cells, strict=True))])
    )
    np.testing.assert_array_equal(table.values["supply_temperature"], [20.5, np.nan, np.nan, np.nan, np.nan, 21.0])
    assert codes(gather) == ["log.missing-codes", "log.words-excluded"]


# --- exports that are not what was logged --------------------------------------------------------------------------


def test_an_export_of_65536_rows_is_told():
    stamps = np.datetime_as_string(np.datetime64("2026-01-01 00:00") + np.arange(65536).astype("m8[m]"), "m")
    for count, told in ((65535, True), (65534, False)):  # with the headings 65 536 rows
        values = [f"{20 + (7 * k % 53) / 10:.1f}" for k in range(count)]
        _, gather = read(rows(stamps[:count], values))
        assert ("log.rows-limit" in codes(gather)) == told


@pytest.mark.parametrize(("file_rows", "told"), [(1048576, 1), (1048575, 0), (65536, 1), (70000, 0)])
def test_row_limits(file_rows, told):
    gather = Gather()
    check_row_limits(file_rows, file_rows - 1, RowNames("log.csv", np.array([2])), gather)
    assert len(gather.findings) == told


def test_a_copied_week_is_found_and_chance_is_not():
    random = np.random.default_rng(7)
    times = np.arange(40 * 144) * 600 * 10**9
    column = np.round(random.normal(20.0, 2.0, len(times)), 1)
    assert copied_block(times, [column]) is None
    column[21 * 144 : 28 * 144] = column[7 * 144 : 14 * 144]
    assert copied_block(times, [column]) == (7 * 144, 21 * 144, 7 * 144)
    # pumps that stand still, and switch on by the clock, repeat themselves without being copied
    assert copied_block(times, [np.zeros(len(times))]) is None
    assert copied_block(times, [(np.arange(len(times)) % 144 > 100) * 60.0]) is None


# --- anything at all ----------------------------------------------------------------------------------------------

_LINE = st.text(alphabet="Time,T;\t|\"'0123456789.-:/ aABCE°\u00a0%<+\n#", max_size=60)


@given(text=st.lists(_LINE, max_size=25).map("\n".join), has_heading=st.booleans())
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_text_gives_rows_or_reasons(text, has_heading):
    table, gather = read(("Time,T\n" if has_heading else "") + text)
    if table is not None:
        assert (np.diff(table.times_ns) > 0).all()
        assert len(table.lines) == len(table.values["supply_temperature"]) == len(table.times_ns)
    else:
        assert all(problem.do for problem in gather.problems)


@given(raw=st.binary(max_size=400))
@settings(max_examples=200, deadline=None)
def test_any_bytes_give_rows_or_reasons(raw):
    for text in (raw, b"Time,T\n" + raw, b"PK\x03\x04" + raw):
        table, gather = read(text)
        assert (table is None) == bool(gather.problems)
        assert all(problem.found and problem.wanted and problem.do for problem in gather.problems)


@given(data=st.data())
@settings(max_examples=100, deadline=None)
def test_damaged_rows_never_pass_for_others(data):
    """A log with some cells replaced by anything: what is read of the untouched rows is what was written."""
    stamps = minutes("2026-06-20 00:10", 40, 10)
    values = [f"{20 + 0.1 * (7 * k % 11):.1f}" for k in range(40)]
    struck = data.draw(
        st.dictionaries(st.integers(2, 37), st.text(alphabet="0123456789.,-:;ABx <%", max_size=8), max_size=2)
    )
    cells = [struck.get(k, value) for k, value in enumerate(values)]
    table, _ = read("Time\tT\n" + "".join(f"{stamp}\t{cell}\n" for stamp, cell in zip(stamps, cells, strict=True)))
    if table is None:
        return
    found = dict(zip(table.lines.tolist(), table.values["supply_temperature"].tolist(), strict=True))
    for k in set(range(40)) - set(struck):
        assert found[k + 2] == float(values[k])


# --- speed --------------------------------------------------------------------------------------------------------


def test_a_year_of_minutes_and_ten_channels_is_read_in_seconds():
    """525 600 rows of ten columns with decimal commas; 6 s of one core are aimed at, twice that fails."""
    count, names = (
        525_600,
        [f"store_temperature_{k}" for k in range(1, 6)] + [f"surface_temperature_{k}" for k in range(1, 6)],
    )
    random = np.random.default_rng(1)
    texts = [f"{value / 100:.2f}".replace(".", ",") for value in range(500, 3500)]
    columns = [[texts[place] for place in random.integers(0, 3000, count).tolist()] for _ in names]
    stamps = np.datetime_as_string(np.datetime64("2025-01-01 00:01") + np.arange(count).astype("m8[m]"), "m")
    text = (
        "Time;"
        + ";".join(names)
        + "\n"
        + "\n".join(";".join(row) for row in zip(stamps.tolist(), *columns, strict=True))
    )
    start = time.process_time()
    table, _ = read(
        text,
        columns={name: {"column": name, "unit": "degC"} for name in names},
        time_zone="Etc/GMT+5",
        site_zone="America/New_York",
    )
    assert time.process_time() - start < 12.0
    assert len(table.times_ns) == count
    assert table.values[names[3]][-1] == float(columns[3][-1].replace(",", "."))


# --- a public flow-meter log --------------------------------------------------------------------------------------

RIVER = "river==0.26.1"


def river_text() -> str:
    """Water flow through a branch of a pipeline, hourly, March to May 2022 (river, BSD-3 licence)."""
    return outside_data.member(RIVER, "river/datasets/water-flow.csv").decode("utf-8")


FLOW = {"spray_flow": {"column": "Water flow [l/s]", "unit": "l/s"}}


def by_hand(text: str) -> tuple[list[int], list[float]]:
    cells = [line.split(",") for line in text.splitlines()[1:]]
    return [ns_of(datetime.datetime.fromisoformat(cell[0])) for cell in cells], [float(cell[1]) for cell in cells]


def test_the_flow_meter_log_is_read_without_loss():
    text = outside_data.or_skip(river_text)
    times, values = by_hand(text)
    table, gather = read(text, time_zone="Europe/Rome", columns=FLOW)
    assert table is not None, problems(gather)
    assert codes(gather) == []
    np.testing.assert_array_equal(table.times_ns, times)
    np.testing.assert_array_equal(table.values["spray_flow"], values)
    assert len(times) == 1268
    assert table.units_seen == {"Water flow [l/s]": "l/s"}
    # hours that the log lacks, counted from its own times
    assert (
        int(((np.diff(table.times_ns) // (3600 * 10**9)) - 1).sum())
        == (times[-1] - times[0]) // (3600 * 10**9) + 1 - 1268
    )


def test_its_daylight_saving_hour_on_a_bare_clock():
    """Without their offsets the times are those of a clock that leaves out 02:00 on 27 March 2022."""
    text = outside_data.or_skip(river_text)
    times, _ = by_hand(text)
    bare = "\n".join([text.splitlines()[0], *(line[:19] + line[25:] for line in text.splitlines()[1:])])
    table, gather = read(bare, time_zone="Europe/Rome", columns=FLOW)
    np.testing.assert_array_equal(table.times_ns, times)
    assert codes(gather) == []
    _, gather = read(bare, time_zone="Etc/GMT-1", columns=FLOW, site_zone="Europe/Rome")
    assert codes(gather) == ["log.daylight-saving-doubt"]
    assert data_of(gather, "log.daylight-saving-doubt")["first"] == "2022-03-27 01:00"


def test_its_low_spells_are_left_as_readings():
    """Three spells near 24 L/s are known faults of the plant, not of the record: the reader keeps them."""
    text = outside_data.or_skip(river_text)
    _, values = by_hand(text)
    table, _ = read(text, time_zone="Europe/Rome", columns=FLOW)
    low = table.values["spray_flow"] < 40.0
    assert int(low.sum()) == sum(value < 40.0 for value in values) == 12 + 8 + 11
    assert int((np.diff(low.astype(int)) == 1).sum()) == 3


def test_its_rows_in_any_order_are_the_same_log():
    text = outside_data.or_skip(river_text)
    times, values = by_hand(text)
    head, *body = text.splitlines()
    mixed = body[600:] + body[:600] + body[40:60]
    table, gather = read("\n".join([head, *mixed]), time_zone="Europe/Rome", columns=FLOW)
    np.testing.assert_array_equal(table.times_ns, times)
    np.testing.assert_array_equal(table.values["spray_flow"], values)
    assert codes(gather) == ["log.duplicate-rows", "log.unsorted"]
    assert data_of(gather, "log.duplicate-rows")["rows"] == 20


# --- the sample site's logs, against what was planted ---------------------------------------------------------------


def planted(fault: str, column: str) -> int:
    truth = json.loads((Path(__file__).parent / "data_pack_truth.json").read_text(encoding="utf-8"))
    return sum(row["rows"] for row in truth["planted"] if row["fault"] == fault and row["column"] == column)


@pytest.fixture(scope="module")
def brindlemoor():
    """Findings of all files of the sample site."""
    site, gather = read_site(SITE), Gather()
    for number, log in enumerate(site.log, start=1):
        for path in sorted(SITE.glob(log.file)):
            file = read_evidence(SITE, path.relative_to(SITE).as_posix(), None, f"log.{number}.file", gather)
            read_log_file(file, log, f"log.{number}", gather, site.place.time_zone)
    assert not gather.problems
    return gather


@pytest.mark.parametrize("column", ["Wind", "T store mid", "T air", "Flow", "Workshop Temp (degF)"])
def test_all_planted_codes_are_counted(brindlemoor, column):
    found = sum(
        finding.data["rows"]
        for finding in brindlemoor.findings
        if finding.code == "log.missing-codes" and finding.data["column"] == column
    )
    assert found == planted("sentinel", column) > 0


def test_the_planted_repeated_hour_and_disorder_are_found(brindlemoor):
    (saving,) = (finding for finding in brindlemoor.findings if finding.code == "log.daylight-saving")
    assert saving.data["rows"] == planted("repeated hour", "Timestamp") > 0
    assert codes(brindlemoor).count("log.unsorted") == 1
    assert codes(brindlemoor).count("log.newest-first") == 1


def test_entries_of_the_block_are_read_as_in_a_site_file():
    log = log_of(repeated_hour="second", delimiter="tab", decimal=",")
    assert (log.repeated_hour, log.delimiter, log.decimal, log.stamp) == ("second", "tab", ",", "end")


# --- which columns name devices --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("heading", "is_name"), [
    ("ID", True), ("Serial No.", True), ("DeviceID", True), ("Node", True), ("Logger name", True), ("Gerät", True),
    ("Sensor ID", True), ("Node temperature", False), ("Sensor status", False), ("Record", False), ("Humidity", False),
    ("Logger battery (V)", False), ("T2", False),
])
def test_headings_that_name_devices(heading, is_name):
    assert names_devices(heading) == is_name


@pytest.mark.parametrize(("cells", "count"), [
    (["7"] * 30 + ["9"] * 30, 2), (["7", "9"] * 30, 2), (["7"] * 60, 0), (["7"] * 59 + [""], 0),
    ([str(k) for k in range(60)], 0),  # a number for each record
    (["3.1", "3.2"] * 30, 0),  # readings
], ids=["blocks", "by turns", "one", "one and an empty cell", "records", "volts"])
def test_cells_that_name_devices(cells, count):
    assert len(devices_in(np.array(cells, dtype=object))) == count


def test_two_devices_in_a_workbook_are_asked_about():
    rows = [["Time", "Serial", "T"]]
    rows += [[f"2026-06-01 {k // 6:02d}:{k % 6}0", "S1" if k < 30 else "S2", 20.0 + k % 7] for k in range(60)]
    table, gather = read(workbook(Data=rows))
    assert table is None
    (told,) = problems(gather)
    assert '2 devices: "S1" (30 rows from line 2), "S2" (30 rows from line 32)' in told
    assert 'add device_column = "Serial" and device = "S1"' in told
