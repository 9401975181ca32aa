"""Weather from a station log, rain records of their own, and a metered load."""

import datetime

import numpy as np
import pandas as pd
import pytest
from weather_makers import GREENSBORO, LOGGER, LOGGER_COLUMNS, logger_text, site_with

from sprayroof.errors import InputProblems, WeatherProblems
from sprayroof.evidence.load_series import read_load_series
from sprayroof.evidence.weather import COLUMNS, read_weather
from sprayroof.evidence.weather_files.cloud_layers import BASES, COVERS

YEAR_2025 = datetime.datetime(2025, 1, 1)
RAIN = {
    "file": "rain.csv",
    "column": "rain",
    "unit": "mm",
    "time_column": "time",
    "time_format": None,
    "time_zone": "UTC",
    "stamp": "start",
    "kind": "interval",
}


def codes(weather):
    return [finding.code for finding in weather.findings]


def test_a_log_on_the_step_is_taken_as_it_is(tmp_path):
    (tmp_path / "log.csv").write_text(logger_text(YEAR_2025, 8760 * 6, 10), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, **LOGGER))
    theirs = pd.read_csv(tmp_path / "log.csv")
    np.testing.assert_allclose(weather.table["t_air_C"], theirs["T air"], atol=1e-12)
    np.testing.assert_allclose(weather.table["humidity_frac"], theirs["RH"] / 100, atol=1e-9)
    np.testing.assert_allclose(weather.table["pressure_Pa"], theirs["p"] * 100, atol=1e-9)
    np.testing.assert_allclose(weather.table["long_wave_W_m2"], theirs["LW"], atol=1e-9)
    np.testing.assert_allclose(weather.table["rain_mm"], theirs["rain"], atol=1e-12)
    assert weather.table.index[0] == pd.Timestamp("2025-01-01", tz="UTC")
    assert weather.names["typical_year"] is False
    assert weather.names["long_wave"] == "measured column of log.csv"
    assert codes(weather) == ["weather.solar-absent"]
    assert weather.inputs[0]["rows"] == 8760 * 6
    assert len(weather.inputs[0]["sha256"]) == 64


@pytest.mark.parametrize("minutes", [1, 5, 15, 30, 60])
def test_logs_of_other_intervals_keep_means_and_rain(tmp_path, minutes):
    (tmp_path / "log.csv").write_text(logger_text(YEAR_2025, 8760 * 60 // minutes, minutes), encoding="utf-8")
    table = read_weather(site_with(tmp_path, **LOGGER)).table
    theirs = pd.read_csv(tmp_path / "log.csv")
    assert table["rain_mm"].sum() == pytest.approx(theirs["rain"].sum(), rel=1e-9)
    assert table["t_air_C"].mean() == pytest.approx(theirs["T air"].mean(), abs=1e-3)
    if minutes < 10:
        by_step = theirs["T air"].to_numpy().reshape(len(table), -1).mean(axis=1)
        np.testing.assert_allclose(table["t_air_C"], by_step, atol=1e-9)


def test_stamps_at_interval_ends(tmp_path):
    (tmp_path / "log.csv").write_text(
        logger_text(YEAR_2025 + datetime.timedelta(minutes=10), 8760 * 6, 10), encoding="utf-8"
    )
    weather = read_weather(site_with(tmp_path, **{**LOGGER, "stamp": "end"}))
    assert weather.table.index[0] == pd.Timestamp("2025-01-01", tz="UTC")
    assert len(weather.table) == 8760 * 6


def test_local_clock_with_daylight_saving(tmp_path):
    utc = pd.date_range("2025-01-01 05:00", periods=8760, freq="1h", tz="UTC")
    lines = logger_text(YEAR_2025, 8760, 60).splitlines()
    clock = utc.tz_convert("America/New_York").strftime("%Y-%m-%d %H:%M")
    text = "\n".join(
        [lines[0], *(f"{time},{line.split(',', 1)[1]}" for time, line in zip(clock, lines[1:], strict=True))]
    )
    (tmp_path / "log.csv").write_text(text, encoding="utf-8")
    weather = read_weather(site_with(tmp_path, **{**LOGGER, "time_zone": "America/New_York"}))
    assert weather.table.index[0] == utc[0]
    assert len(weather.table) == 8760 * 6
    assert codes(weather).count("table.daylight-saving") == 1
    assert "weather.gaps-filled" not in codes(weather)


def test_the_last_full_year_of_a_longer_log_is_used(tmp_path):
    (tmp_path / "log.csv").write_text(logger_text(YEAR_2025, 8760 + 48, 60), encoding="utf-8")
    weather = read_weather(site_with(tmp_path, **LOGGER))
    assert weather.table.index[0] == pd.Timestamp("2025-01-03", tz="UTC")
    assert len(weather.table) == 8760 * 6
    assert "weather.span-cut" in codes(weather)


def test_a_log_that_begins_a_little_late_is_padded(tmp_path):
    (tmp_path / "log.csv").write_text(
        logger_text(YEAR_2025 + datetime.timedelta(minutes=10), 8760 * 6 - 7, 10), encoding="utf-8"
    )
    weather = read_weather(site_with(tmp_path, **LOGGER))
    assert weather.table.index[0] == pd.Timestamp("2025-01-01", tz="UTC")
    assert len(weather.table) == 8760 * 6
    filled = [finding for finding in weather.findings if finding.code == "weather.gaps-filled"]
    assert {finding.data["records"] for finding in filled} == {7}


def test_wet_bulb_and_dew_point_columns(tmp_path):
    text = logger_text(YEAR_2025, 8760, 60)
    (tmp_path / "log.csv").write_text(text, encoding="utf-8")
    columns = {name: LOGGER_COLUMNS[name] for name in ("air_temperature", "wind")}
    columns["wet_bulb"] = ("T air", "degC")  # wet bulb equal to air: saturated
    table = read_weather(site_with(tmp_path, **{**LOGGER, "columns": columns})).table
    np.testing.assert_allclose(table["humidity_frac"], 1.0, atol=1e-9)
    assert table["pressure_Pa"].iloc[0] == pytest.approx(98090, abs=5)  # standard atmosphere at 273 m


# --- layers of cloud -----------------------------------------------------------------------------------------------

LAYER_COLUMNS = {"cloud_low": ("low", "okta"), "cloud_middle": ("mid", "%"), "cloud_high": ("high", "1")}


def layered_log(tmp_path, cells, **columns):
    """An hourly log with cells for low, mid, high and base of low cloud by the hour of the year, long-wave left out."""
    lines = logger_text(YEAR_2025, 8760, 60).splitlines()
    text = "\n".join([f"{lines[0]},low,mid,high,base",
                      *(f"{line},{cells(at)}" for at, line in enumerate(lines[1:]))]) + "\n"
    (tmp_path / "log.csv").write_text(text, encoding="utf-8")
    declared = {name: column for name, column in LOGGER_COLUMNS.items() if name != "long_wave"}
    return site_with(tmp_path, **{**LOGGER, "step_min": 60, "columns": {**declared, **columns}})


def test_layers_of_cloud_reach_the_table(tmp_path):
    site = layered_log(tmp_path, lambda at: f"{at % 4},20,{0.1 * (at % 3):.1f},{'' if at % 2 else 900}",
                       **LAYER_COLUMNS, cloud_low_base=("base", "m"))
    weather = read_weather(site)
    assert list(weather.table.columns) == [*COLUMNS, *COVERS, *BASES]
    at = np.arange(8760)
    np.testing.assert_allclose(weather.table["cloud_low_frac"], at % 4 / 8)
    np.testing.assert_allclose(weather.table["cloud_middle_frac"], 0.2)
    np.testing.assert_allclose(weather.table["cloud_high_frac"], 0.1 * (at % 3))
    np.testing.assert_allclose(weather.table["cloud_frac"], at % 4 / 8 + 0.2 + 0.1 * (at % 3))
    np.testing.assert_allclose(weather.table["cloud_low_base_m"], np.where(at % 2, np.nan, 900.0))
    assert weather.table["cloud_high_base_m"].isna().all()
    assert weather.names["cloud"] == "low, middle and high cloud at the file's base of low cloud"
    assert sorted(codes(weather)) == ["weather.constant-column", "weather.solar-absent"]  # the middle cloud of 20 %


def test_the_files_own_total_stands_beside_its_layers(tmp_path):
    site = layered_log(tmp_path, lambda at: f"{at % 3},20,0.{at % 4},5", **LAYER_COLUMNS, cloud=("base", "okta"))
    table = read_weather(site).table
    np.testing.assert_allclose(table["cloud_frac"], 0.625)
    np.testing.assert_allclose(table["cloud_low_frac"], np.arange(8760) % 3 / 8)


def test_without_layers_the_table_has_no_columns_for_them(tmp_path):
    (tmp_path / "log.csv").write_text(logger_text(YEAR_2025, 8760, 60), encoding="utf-8")
    assert list(read_weather(site_with(tmp_path, **LOGGER)).table.columns) == list(COLUMNS)


@pytest.mark.parametrize(("given", "missing"), [
    (("cloud_low",), {"cloud_middle", "cloud_high"}), (("cloud_low", "cloud_high"), {"cloud_middle"}),
    (("cloud_low_base",), {"cloud_low", "cloud_middle", "cloud_high"}),
])
def test_a_layer_left_out_is_a_problem(tmp_path, given, missing):
    columns = {**LAYER_COLUMNS, "cloud_low_base": ("base", "m")}
    site = layered_log(tmp_path, lambda at: "1,10,0.1,900", **{name: columns[name] for name in given})
    with pytest.raises(WeatherProblems) as caught:
        read_weather(site)
    assert {problem.where for problem in caught.value.problems} == {
        f"site file, weather.columns.{name}" for name in missing}


def test_layers_that_hide_each_other_all_year_overlap_by_chance(tmp_path):
    """0.5, 0.4 and 0.4 seen from below: 0.5, 0.4 x 0.5 = 0.2, 0.4 x 0.5 x 0.6 = 0.12; 0.82 in all."""
    cells = ["4,40,0.4,", "3,40,0.3,"]
    weather = read_weather(layered_log(tmp_path, lambda at: cells[at == 0], **LAYER_COLUMNS))
    last = weather.table.iloc[-1]
    assert [last[name] for name in COVERS] == pytest.approx([0.5, 0.2, 0.12])
    assert last["cloud_frac"] == pytest.approx(0.82)
    assert "weather.cloud-layers-overlap" in codes(weather)


def test_a_rare_overlap_is_cut_where_it_stands(tmp_path):
    def cells(at):
        return "6,40,0.3," if at == 100 else f"{2 + at % 2},30,0.2,"

    table, found = (weather := read_weather(layered_log(tmp_path, cells, **LAYER_COLUMNS))).table, codes(weather)
    assert [table[name].iloc[100] for name in COVERS] == pytest.approx([0.75, 0.25, 0.0])
    assert [table[name].iloc[101] for name in COVERS] == pytest.approx([0.375, 0.3, 0.2])
    assert found.count("weather.cloud-layers-overlap") == 1


def test_layers_unknown_for_a_day_leave_the_sky_unknown_there(tmp_path):
    weather = read_weather(layered_log(
        tmp_path, lambda at: ",,," if 50 <= at < 74 else f"{at % 3},30,0.2,", **LAYER_COLUMNS))
    assert weather.table["cloud_frac"].isna().sum() == weather.table["cloud_low_frac"].isna().sum() == 24
    assert "weather.cloud-missing" in codes(weather)
    assert weather.names["cloud"].endswith("at standard heights; total sky cover in 24 records")


def test_a_layer_beyond_the_whole_sky_stops(tmp_path):
    with pytest.raises(WeatherProblems, match="low cloud"):
        read_weather(layered_log(tmp_path, lambda at: f"{9 if at == 7 else 1},10,0.1,", **LAYER_COLUMNS))


# --- rain records --------------------------------------------------------------------------------------------------


def rain_text(first, count, step, amount, header="time,rain"):
    return header + "\n" + "".join(f"{(first + step * at).isoformat(sep=' ')},{amount(at)}\n" for at in range(count))


def test_interval_rain_on_a_typical_year_is_laid_by_day_and_hour(tmp_path):
    # one hour of 7 mm on 4 July 2019, 20:00 UTC = 15:00 standard time at UTC-5
    at_hour = (datetime.datetime(2019, 7, 4, 20) - datetime.datetime(2019, 1, 1, 5)).total_seconds() / 3600
    text = rain_text(
        datetime.datetime(2019, 1, 1, 5), 8760, datetime.timedelta(hours=1), lambda at: 7 if at == at_hour else 0
    )
    (tmp_path / "rain.csv").write_text(text, encoding="utf-8")
    weather = read_weather(site_with(tmp_path, rain=RAIN))
    rainy = weather.table["rain_mm"][weather.table["rain_mm"] > 1e-9]
    assert list(rainy.index) == list(pd.date_range("2001-07-04 20:00", periods=6, freq="10min", tz="UTC"))
    np.testing.assert_allclose(rainy, 7 / 6)
    assert weather.names["rain"] == "record rain.csv, year 2019, laid on by month and day"
    assert [row["use"] for row in weather.inputs] == ["weather", "rain"]
    assert not {"weather.rain-missing", "weather.rain-implausible"} & set(codes(weather))


def test_daily_rain_keeps_its_sum_and_falls_in_the_afternoon(tmp_path):
    days = pd.date_range("2018-01-01", "2020-12-31", freq="D")
    depth = (np.arange(len(days)) * 7 % 23) * (np.arange(len(days)) % 4 == 0) * 1.0 + (days.year == 2019) * 0.5
    text = "date;depth\n" + "".join(f"{day:%d.%m.%Y};{mm:.1f}\n" for day, mm in zip(days, depth, strict=True))
    (tmp_path / "rain.csv").write_text(text, encoding="utf-8")
    rain = {**RAIN, "kind": "daily", "time_column": "date", "column": "depth", "time_format": "%d.%m.%Y"}
    weather = read_weather(site_with(tmp_path, rain=rain))
    totals = pd.Series(depth, index=days).groupby(days.year).sum()
    nearest = (totals - totals.mean()).abs().idxmin()
    told = next(finding for finding in weather.findings if finding.code == "weather.rain-year")
    assert told.data["years"] == {str(year): pytest.approx(total, abs=0.06) for year, total in totals.items()}
    assert f"year {nearest}" in weather.names["rain"]
    chosen = pd.Series(depth, index=days)[days.year == nearest]
    chosen = chosen[~((chosen.index.month == 2) & (chosen.index.day == 29))]
    local = weather.table["rain_mm"].copy()
    local.index = local.index.tz_convert("Etc/GMT+5")
    np.testing.assert_allclose(local.groupby(local.index.day_of_year).sum(), chosen.round(1).to_numpy(), atol=1e-9)
    assert set(local.index[local > 1e-9].hour) == {15, 16, 17, 18}
    assert "weather.rain-daily" in codes(weather)


@pytest.mark.parametrize(
    ("year", "days", "later", "expected"),
    # 200 days after 1 July 2022 is 17 January 2023; 253 days after 1 July 2023, over a 29 February, is 10 March 2024
    [(2022, 365, 200, "01-17"), (2023, 366, 253, "03-10")],
)
def test_twelve_months_that_are_no_calendar_year_are_wrapped(tmp_path, year, days, later, expected):
    text = rain_text(
        datetime.datetime(year, 7, 1), days, datetime.timedelta(days=1), lambda at: 5 if at in (0, later) else 0
    )
    (tmp_path / "rain.csv").write_text(text, encoding="utf-8")
    weather = read_weather(site_with(tmp_path, rain={**RAIN, "kind": "daily"}))
    rainy = weather.table["rain_mm"][weather.table["rain_mm"] > 1e-9]
    assert sorted({f"{when:%m-%d}" for when in rainy.index.tz_convert("Etc/GMT+5")}) == [expected, "07-01"]
    assert rainy.sum() == pytest.approx(10)


def test_a_rain_record_replaces_the_rain_of_a_measured_year_and_must_cover_it(tmp_path):
    (tmp_path / "log.csv").write_text(logger_text(YEAR_2025, 8760, 60), encoding="utf-8")
    text = rain_text(datetime.datetime(2025, 1, 1), 365, datetime.timedelta(days=1), lambda at: 1)
    (tmp_path / "rain.csv").write_text(text, encoding="utf-8")
    good = read_weather(site_with(tmp_path, rain={**RAIN, "kind": "daily"}, **LOGGER))
    assert good.table["rain_mm"].sum() == pytest.approx(365, abs=1)
    text = rain_text(datetime.datetime(2024, 1, 1), 366, datetime.timedelta(days=1), lambda at: 1)
    (tmp_path / "rain.csv").write_text(text, encoding="utf-8")
    with pytest.raises(WeatherProblems) as raised:
        read_weather(site_with(tmp_path, rain={**RAIN, "kind": "daily"}, **LOGGER))
    assert str(raised.value) == (
        "rain.csv: the record runs from 2024-01-01 to 2024-12-31; wanted a record of the weather's year, "
        "2024-12-31 to 2025-12-31; "
        "name a rain record of that year, or a typical weather year"
    )


@pytest.mark.parametrize(
    ("amount", "count", "message"),
    [
        (
            lambda at: 1,
            200,
            "rain.csv: the record runs from 2024-12-31 to 2025-07-19; wanted at least one full year; name a "
            "longer rain "
            "record",
        ),
        (
            lambda at: 1500 if at == 9 else 1,
            365,
            "rain.csv: impossible depths: line 11 1500 mm; wanted 0 to 1000 mm per record; correct "
            "weather.rain.unit or these cells",
        ),
        (lambda at: 20, 365, "rain.csv: 7300 mm a year; wanted at most 6000 mm a year; correct weather.rain.unit"),
        (
            lambda at: "" if at % 5 == 0 else 1,
            365,
            "rain.csv: 73 records of 365 missing (20 %); wanted at most 5 % missing; fill the record "
            "from a neighbouring gauge",
        ),
    ],
)
def test_whole_message_of_a_bad_rain_record(tmp_path, amount, count, message):
    (tmp_path / "rain.csv").write_text(
        rain_text(YEAR_2025, count, datetime.timedelta(days=1), amount), encoding="utf-8"
    )
    with pytest.raises(WeatherProblems) as raised:
        read_weather(site_with(tmp_path, rain={**RAIN, "kind": "interval"}, **GREENSBORO))
    assert str(raised.value) == message


# --- metered load --------------------------------------------------------------------------------------------------

LOAD = {
    "kind": "metered",
    "file": "load.csv",
    "column": "load",
    "time_column": "time",
    "time_zone": "UTC",
    "stamp": "start",
}


def load_text(count, minutes, value, first=YEAR_2025):
    return rain_text(first, count, datetime.timedelta(minutes=minutes), value, header="time,load")


def test_load_in_power_and_in_energy_agree(tmp_path):
    index = pd.date_range("2025-01-01", periods=8760 * 6, freq="10min", tz="UTC")
    (tmp_path / "load.csv").write_text(load_text(8760 * 4, 15, lambda at: at % 96), encoding="utf-8")
    power = read_load_series(site_with(tmp_path, load={**LOAD, "unit": "kW"}), index, False)
    (tmp_path / "load.csv").write_text(load_text(8760 * 4, 15, lambda at: at % 96 / 4), encoding="utf-8")
    energy = read_load_series(site_with(tmp_path, load={**LOAD, "unit": "kWh"}), index, False)
    np.testing.assert_allclose(power.load_kW, energy.load_kW, atol=1e-7)
    # by hand: steps of 10 min on quarter hours of 0, 1, 2 kW: 0, half 0 and half 1, 1, 2, ...
    np.testing.assert_allclose(power.load_kW[:4], [0, 0.5, 1, 2], atol=1e-7)
    assert power.load_kW.sum() / 6 == pytest.approx(sum(at % 96 for at in range(8760 * 4)) / 4, rel=1e-9)
    assert power.inputs[0]["use"] == "cooling load"


def test_load_of_another_year_is_laid_on_and_told(tmp_path):
    index = read_weather(site_with(**GREENSBORO)).table.index
    (tmp_path / "load.csv").write_text(
        load_text(8770 * 2 - 10, 60, lambda at: 3, datetime.datetime(2023, 1, 1)), encoding="utf-8"
    )
    series = read_load_series(site_with(tmp_path, load={**LOAD, "unit": "kW"}), index, True)
    # 2024 lacks its last day here; that day's hours are taken from the record's other end
    np.testing.assert_allclose(series.load_kW, 3)
    assert series.findings[0].data == {"from": "2024-01-01"}
    assert [finding.code for finding in series.findings] == ["load.other-year"]


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (
            lambda at: "" if 100 <= at < 103 else 1,
            "load.csv, load: missing from 2025-01-05 04:00 UTC to 2025-01-05 07:00 UTC; wanted no gap longer "
            "than 2 h; fill the gap in a copy "
            "of the file and say so in the site file's note",
        ),
        (
            lambda at: -1 if at == 7 else 1,
            "load.csv, load: -1 kW at 2025-01-01 07:00 UTC, below zero in 1 intervals; wanted a cooling load of "
            "zero or more; name the column "
            "of the cooling load itself",
        ),
    ],
)
def test_whole_message_of_a_bad_load(tmp_path, value, message):
    index = pd.date_range("2025-01-01", periods=8760 * 6, freq="10min", tz="UTC")
    (tmp_path / "load.csv").write_text(load_text(8760, 60, value), encoding="utf-8")
    with pytest.raises(InputProblems) as raised:
        read_load_series(site_with(tmp_path, load={**LOAD, "unit": "kW"}), index, False)
    assert str(raised.value) == message
