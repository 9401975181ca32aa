"""From columns of logs to channels on one grid: hand-worked numbers, and the laws that hold for any readings."""

from __future__ import annotations

import datetime
import json
import time
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_site import small_site

from sprayroof.errors import LogProblems
from sprayroof.evidence.channels.change_of_value import held
from sprayroof.evidence.channels.column import moment_ns
from sprayroof.evidence.channels.counters import Swap, counted, modulus_of
from sprayroof.evidence.channels.levels import level_scale
from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.patterns import names_of
from sprayroof.evidence.log_files.rows import resolution_of
from sprayroof.evidence.log_files.spans import Spans, pieces_of, row_intervals_ns, row_spans
from sprayroof.evidence.log_files.table import LogTable
from sprayroof.evidence.read_logs import logs_of_tables, read_logs
from sprayroof.evidence.site import read_site
from sprayroof.evidence.site_file.channel_table import KINDS

S, MINUTE, HOUR = 10**9, 60 * 10**9, 3600 * 10**9
START = int(pd.Timestamp("2026-06-01", tz="UTC").value)


def table(values: dict[str, list[float]], step_min: float = 1.0, times_min: list[float] | None = None,
          **more: object) -> LogTable:
    """Rows from 2026-06-01 00:00 UTC, every `step_min` minutes or at `times_min`."""
    count = len(next(iter(values.values())))
    minutes = np.arange(count) * step_min if times_min is None else np.asarray(times_min, dtype=float)
    arrays = {name: np.asarray(column, dtype=float) for name, column in values.items()}
    return LogTable(more.pop("where", "log.csv"), START + np.rint(minutes * MINUTE).astype(np.int64), arrays,
                    np.arange(count) + 2, **more)


def log(columns: dict[str, dict], **more: object) -> dict:
    return {"file": "log.csv", "time_column": "Time", "time_zone": "UTC", "stamp": "start", **more,
            "columns": {name: {"column": name, **column} for name, column in columns.items()}}


def logs_of(columns: dict[str, dict], values: dict[str, list[float]], site: dict | None = None, weather: object = None,
            log_entries: dict | None = None, **more: object):
    entries = {"place": {"time_zone": "UTC"}, **(site or {})}
    made = small_site(log=[log(columns, **(log_entries or {}))], **entries)
    return logs_of_tables(made, {0: [table(values, **more)]}, weather)


def codes(logs) -> list[str]:
    return sorted(finding.code for finding in logs.findings)


FLOW = {"spray_flow": {"unit": "L/min"}}


# --- laws of the grid ---------------------------------------------------------------------------------------------

GAPS = st.lists(st.integers(1, 4000), min_size=1, max_size=40)


@given(GAPS, st.data())
def test_a_time_weighted_mean_conserves_the_integral(gaps_s, data):
    """The sum of mean times known time over all steps is the sum of value times length over all spans."""
    count = len(gaps_s)
    lengths = [data.draw(st.integers(0, gap)) for gap in gaps_s]
    starts = START + np.cumsum([0, *gaps_s[:-1]]).astype(np.int64) * S
    spans = Spans(starts, starts + np.array(lengths, dtype=np.int64) * S)
    number = st.one_of(st.floats(-1e4, 1e4), st.just(np.nan))
    first = np.array([data.draw(number) for _ in range(count)])
    last = first if data.draw(st.booleans()) else np.array([data.draw(number) for _ in range(count)])
    step_s = data.draw(st.sampled_from([60, 300, 3600]))
    steps = int(sum(gaps_s) // step_s + 2)
    pieces = pieces_of(spans, START // HOUR * HOUR, step_s * S, steps)
    means, known = pieces.means(first, last)
    middle = (first + last) / 2.0
    expected = np.nansum(middle * np.array(lengths))
    assert np.nansum(means * known) * step_s == pytest.approx(expected, rel=1e-9, abs=1e-5)
    assert known.sum() * step_s == pytest.approx(np.array(lengths)[np.isfinite(middle)].sum(), abs=1e-6)
    assert known.max(initial=0.0) <= 1.0


@given(st.lists(st.tuples(st.integers(1, 100_000), st.one_of(st.none(), st.floats(-50, 50))), min_size=2, max_size=30))
def test_held_values_weigh_by_the_time_they_stood(rows):
    """Every row's value stands until the next row that says something; blanks say nothing."""
    times = START + np.cumsum([gap for gap, _ in rows]) * S
    values = np.array([np.nan if value is None else value for _, value in rows])
    blank = np.isnan(values)
    spans, kept, _ = held(times, values, blank, None)
    assert np.isfinite(kept).all()
    by_hand, last = 0.0, None
    for place, (gap, _) in enumerate(rows):
        by_hand += 0.0 if last is None else last * gap
        last = rows[place][1] if rows[place][1] is not None else last
    assert (kept * spans.lengths_s).sum() == pytest.approx(by_hand, rel=1e-9, abs=1e-6)


def test_a_bad_cell_ends_a_held_value_and_an_empty_one_does_not():
    values = np.array([1.0, np.nan, np.nan, 3.0, 3.0])
    times = START + np.arange(5) * MINUTE
    ended, _, _ = held(times, values, np.array([False, True, False, False, False]), None)
    assert ended.lengths_s.tolist() == [120.0, 60.0, 0.0]


def test_steady_large_readings_come_through_exactly():
    """101325 Pa stays 101325 Pa, whatever was summed before."""
    starts = START + np.arange(50_000, dtype=np.int64) * 7 * S
    pieces = pieces_of(Spans(starts, starts + 7 * S), START, MINUTE, 5000)
    values = np.full(50_000, 101325.0)
    assert (pieces.means(values, values)[0] == 101325.0).all()


# --- intervals ----------------------------------------------------------------------------------------------------


def test_a_row_after_a_gap_speaks_of_its_interval_alone():
    times = START + np.array([5, 10, 15, 60, 65, 70]) * MINUTE
    spans = row_spans(times, row_intervals_ns(times, None), "end")
    assert (spans.starts_ns[3] - START) / MINUTE == 55.0
    after = row_spans(times, row_intervals_ns(times, None), "start")
    assert (after.ends_ns[2] - START) / MINUTE == 20.0


def test_a_clock_that_drifts_leaves_no_holes():
    """Rows 60.003 s apart, as a drift correction makes them: each fills the time to its neighbour."""
    times = START + (np.arange(500) * 60.003 * S).astype(np.int64)
    spans = row_spans(times, row_intervals_ns(times, None), "end")
    assert (spans.starts_ns[1:] == spans.ends_ns[:-1]).all()


def test_the_interval_stated_holds():
    times = START + np.array([0, 10, 20, 30]) * MINUTE
    spans = row_spans(times, row_intervals_ns(times, 2 * MINUTE), "end")
    assert spans.lengths_s.tolist() == [120.0] * 4


@pytest.mark.parametrize(("readings", "step"), [
    (np.arange(100) * 0.01 + 20.0, 0.01), (np.arange(100) * 0.5, 0.5), (np.arange(100) * 3.0, 1.0),
    (np.arange(100) * 50.0, 50.0), (np.sqrt(np.arange(1.0, 100.0)), 0.0), (np.array([0.0, 60.0] * 50), 1.0)])
def test_the_step_in_which_readings_are_written(readings, step):
    assert resolution_of(readings) == step


def test_the_step_of_the_grid_is_the_finest_of_flow_and_water_temperatures():
    made = small_site(log=[log({"spray_flow": {"unit": "L/min"}}, stamp="end"),
                           log({"air_temperature": {"unit": "degC"}}, stamp="end")])
    tables = {0: [table({"spray_flow": [60.0] * 30}, 7.0)], 1: [table({"air_temperature": [10.0] * 50}, 1.0)]}
    assert logs_of_tables(made, tables).step_s == 600  # 7 min do not divide an hour: 10 do


def test_the_step_stated_is_taken():
    assert logs_of(FLOW, {"spray_flow": [60.0] * 90}, {"logged": {"step": 15}}).step_s == 900


def test_an_index_starts_at_whole_steps_in_utc():
    logs = logs_of(FLOW, {"spray_flow": [60.0] * 90}, {"logged": {"step": 15}}, times_min=list(range(7, 97)))
    index = logs.table.index
    assert str(index[0]) == "2026-06-01 00:00:00+00:00"
    assert str(index.tz) == "UTC"


# --- running totals -----------------------------------------------------------------------------------------------

AMOUNTS = st.lists(st.integers(0, 40), min_size=5, max_size=200)


@given(AMOUNTS, st.integers(0, 999), st.data())
def test_a_running_total_counts_end_less_start_and_its_roll_overs(amounts, first, data):
    total = first + np.concatenate([[0], np.cumsum(amounts)])
    shown = (total % 1000).astype(float)
    lost = data.draw(st.sets(st.integers(1, len(shown) - 2), max_size=len(shown) // 3))
    # readings lost across more than half a turn would be ambiguous
    shown[list(lost)] = np.nan
    known = np.flatnonzero(np.isfinite(shown))
    assume(np.diff(total[known]).max() < 300)
    times = START + np.arange(len(shown)) * HOUR
    result = counted(times, shown, 1000.0, (), fastest=1.0)
    assume(not any(event.kind == "reset" for event in result.events))  # judged too fast for a roll-over
    turns = int(total[-1] // 1000 - total[0] // 1000)
    assert np.nansum(result.amounts) == pytest.approx(shown[-1] - shown[0] + 1000.0 * turns)
    assert sum(event.kind == "roll-over" for event in result.events) == turns


@given(st.lists(st.floats(0, 1e6), min_size=2, max_size=80), st.one_of(st.none(), st.just(1e6)))
def test_use_is_never_negative(readings, modulus):
    times = START + np.arange(len(readings)) * MINUTE
    result = counted(times, np.array(readings), modulus)
    assert not (result.amounts < 0.0).any()


@given(st.lists(st.integers(1, 40), min_size=12, max_size=100), st.data())
def test_a_reset_hides_one_interval_and_no_more(amounts, data):
    """A meter set back to zero: everything but the interval across it is kept."""
    place = data.draw(st.integers(4, len(amounts) - 4))
    total = 5000.0 + np.concatenate([[0], np.cumsum(amounts)])
    total[place + 1:] -= total[place + 1]
    result = counted(START + np.arange(len(total)) * HOUR, total)
    assert [event.kind for event in result.events] == ["reset"]
    assert np.nansum(result.amounts) == pytest.approx(sum(amounts) - amounts[place])


@pytest.mark.parametrize(("stated", "modulus"), [
    (99999, 100000), (100000, 100000), (9999.99, 10000), (65535, 65536), (65536, 65536), (4294967295, 4294967296)])
def test_what_a_roll_over_adds(stated, modulus):
    assert modulus_of(float(stated)) == pytest.approx(modulus, abs=1e-6)


def counted_list(readings, **more):
    return counted(START + np.arange(len(readings)) * HOUR, np.array(readings, dtype=float), **more)


def test_a_fall_from_mid_range_is_no_roll_over_even_with_the_size_stated():
    """41000 to 20 on a meter of 100000 would be 59020 in an hour, where 60 are usual."""
    result = counted_list([40800, 40860, 40920, 41000, 20, 80, 140], modulus=100000.0)
    assert [event.kind for event in result.events] == ["reset"]
    assert np.nansum(result.amounts) == 200 + 120


def test_a_total_that_trembles_stands_still():
    result = counted_list([500, 501, 502, 501, 502, 504, 505])
    assert result.amounts.tolist() == [1, 1, 0, 0, 2, 1]
    assert {event.kind for event in result.events} == {"backwards"}


def test_a_reading_that_shoots_up_and_comes_back_is_passed_over():
    result = counted_list([500, 510, 520, 99000, 540, 550, 560])
    assert np.nansum(result.amounts) == 60
    assert [event.kind for event in result.events] == ["garbled"]


def test_a_jump_that_stays_is_left_out():
    result = counted_list([500, 510, 520, 530, 81000, 81010, 81020])
    assert [event.kind for event in result.events] == ["jump"]
    assert np.nansum(result.amounts) == 50


def test_a_changed_meter_with_a_higher_reading_is_bridged_as_stated():
    swap = Swap(START + 3 * HOUR + HOUR // 2, 535.0, 80990.0)
    result = counted_list([500, 510, 520, 530, 81000, 81010, 81020], swaps=(swap,))
    assert result.amounts.tolist() == [10, 10, 10, 15, 10, 10]


def test_amounts_keep_their_sum_on_the_grid():
    """Hourly readings on a grid of 5 min: 0, 12, 0, 36 L; the sum of rate times time is 48 L."""
    readings = np.full(49, np.nan)
    readings[::12] = 7, 7, 19, 19, 55
    logs = logs_of({**FLOW, "makeup_flow": {"unit": "L", "kind": "counter"}},
                   {"spray_flow": [0.0] * 49, "makeup_flow": readings}, step_min=5.0)
    assert logs.table["makeup_L_min"].sum() * 5.0 == pytest.approx(48.0)
    assert logs.table["makeup_L_min"].to_numpy()[13] == pytest.approx(0.2)


def test_a_counter_over_a_gap_keeps_the_amount_and_says_that_its_time_is_unknown():
    times = [*range(0, 60, 5), *range(300, 360, 5)]
    readings = [*range(0, 12), *range(40, 52)]
    logs = logs_of({"makeup_flow": {"unit": "L", "kind": "counter"}}, {"makeup_flow": readings}, times_min=times)
    assert logs.table["makeup_L_min"].sum() * 5.0 == pytest.approx(51.0)
    noted = logs.masks["makeup_L_min"]["note_spread"]
    assert noted.sum() == 49  # from 00:55 to 05:00


def test_a_swap_that_the_readings_contradict_is_refused():
    with pytest.raises(LogProblems, match="beyond the one stated"):
        logs_of({"makeup_flow": {"unit": "L", "kind": "counter", "swaps": [["2026-06-01 03:30", 20, 5]]}},
                {"makeup_flow": [10, 20, 30, 40, 8, 20]}, step_min=60.0)


# --- levels -------------------------------------------------------------------------------------------------------


def scale(**entries):
    made = small_site(log=[log({"level": entries})])
    gather = Gather()
    return level_scale(made.log[0].columns["level"], made, "log.1.columns.level", gather), gather


@pytest.mark.parametrize(("entries", "reading", "content"), [
    ({"unit": "%"}, 45.0, 9.0), ({"unit": "mm"}, 500.0, 5.0), ({"unit": "m"}, 1.2, 12.0), ({"unit": "L"}, 4500.0, 4.5),
    ({"unit": "US gal"}, 1000.0, 3.785411784), ({"unit": "%", "ullage": True}, 25.0, 15.0),
    ({"unit": "V", "table": [[1, 0], [5, 20]]}, 3.0, 10.0), ({"unit": "in", "ullage": True}, 10.0, 17.46),
    ({"unit": "mm", "ullage": True, "table": [[200, 18], [1800, 2]]}, 1000.0, 10.0)])
def test_content_by_level(entries, reading, content):
    """A store of 20 m3, 2 m high: 10 in are 0.254 m, 2.54 m3 empty."""
    found, _ = scale(**entries)
    assert found.content_m3(np.array([reading]))[0] == pytest.approx(content)


@given(st.lists(st.floats(0.01, 5.0), min_size=2, max_size=8), st.lists(st.floats(0.01, 5.0), min_size=8, max_size=8),
       st.floats(0.0, 1.0))
def test_a_level_table_rises_as_it_is_written(steps, rises, share):
    readings = np.cumsum([0.0, *steps])
    contents = np.cumsum([0.0, *rises[:len(steps)]])
    found, _ = scale(unit="mA", table=[[float(a), float(b)] for a, b in zip(readings, contents, strict=True)])
    assert found.content_m3(readings) == pytest.approx(contents)
    between = found.content_m3(np.array([share * readings[-1]]))[0]
    assert 0.0 <= between <= contents[-1] * (1.0 + 1e-12)


def test_a_level_beyond_its_table_is_seen_to_be_outside():
    found, _ = scale(unit="mA", table=[[4, 0], [20, 20]])
    assert found.content_m3(np.array([3.2, 20.8])) == pytest.approx([-1.0, 21.0])


def test_a_stray_level_is_left_out_and_told():
    readings = [50.0] * 300
    readings[100] = 180.0
    logs = logs_of({"level": {"unit": "%"}}, {"level": readings})
    assert np.isnan(logs.table["store_m3"].to_numpy()[100])
    assert "channel.level-outside" in codes(logs)


# --- instruments and tests on site --------------------------------------------------------------------------------


@pytest.mark.parametrize(("columns", "column", "offset", "gain", "added"), [
    ({"supply_temperature": {"unit": "degF", "accuracy": 0.9, "add": 1.8}}, "supply_C", 0.5, 0.0, 1.0),
    ({"level": {"unit": "%", "accuracy": 1, "gain_accuracy": 0.01}}, "store_m3", 0.2, 0.01, 0.0),
    ({"level": {"unit": "mA", "accuracy": 0.08, "table": [[4, 0], [20, 20]]}}, "store_m3", 0.1, 0.02, 0.0),
    ({"humidity": {"unit": "%", "accuracy": 2}}, "humidity_frac", 0.02, 0.0, 0.0),
    ({"spray_flow": {"unit": "L/min"}}, "spray_L_min", 0.0, 0.05, 0.0)])
def test_accuracies_are_carried_to_the_channel(columns, column, offset, gain, added):
    rng = np.random.default_rng(3)
    readings = {"supply_C": 66.0, "store_m3": 12.0, "humidity_frac": 60.0, "spray_L_min": 60.0}[column]
    logs = logs_of(columns, {next(iter(columns)): readings + rng.normal(size=90).round(1)})
    found = logs.instruments[column]
    assert (found.offset, found.gain, found.added) == pytest.approx((offset, gain, added))
    assert found.stated == (column != "spray_L_min")


def test_add_is_added_in_the_unit_of_the_column():
    logs = logs_of({"supply_temperature": {"unit": "degF", "add": -1.8}}, {"supply_temperature": [68.0 + 1.8] * 30})
    assert logs.table["supply_C"].to_numpy() == pytest.approx(20.0)


WATER = {"supply_temperature": {"unit": "degC"}, "return_temperature": {"unit": "degC"}}


def wave(count, middle, size=0.05):
    return middle + size * np.sin(np.arange(count) / 3.0)


def test_two_calibrations_leave_half_their_difference():
    """+0.2 K before and +0.1 K after: half of 0.1 K, beside a third of an ordinary sensor's 0.3 K for the reference."""
    tests = [{"kind": "calibration", "from": f"2026-06-01 0{hour}:00", "channel": "supply_temperature", "reading": 20.0,
              "reference": 20.0 + shift} for hour, shift in ((0, 0.2), (5, 0.1))]
    values = {"supply_temperature": wave(300, 20.0), "return_temperature": wave(300, 19.0)}
    logs = logs_of(WATER, values, {"test": tests})
    found = logs.instruments["supply_C"]
    assert found.offset == pytest.approx(np.hypot(0.1, 0.05), rel=0.01)
    assert found.stated
    assert found.added == pytest.approx(0.15, abs=1e-3)


def test_a_pair_test_ties_the_sensor_that_was_not_calibrated():
    pair = {"kind": "pair", "from": "2026-06-01 00:00", "to": "2026-06-01 01:00"}
    bath = {"kind": "calibration", "from": "2026-06-01 00:00", "channel": "return_temperature", "reading": 19.0,
            "reference": 19.1}
    values = {"supply_temperature": wave(200, 20.0), "return_temperature": wave(200, 20.4)}
    plain = logs_of(WATER, values, {"test": [pair]})
    assert plain.instruments["return_C"].tied_to == "supply_C"
    assert plain.instruments["return_C"].offset == pytest.approx(0.05, abs=0.002)
    assert (plain.table["return_C"] - plain.table["supply_C"]).abs().max() < 1e-6
    tied = logs_of(WATER, values, {"test": [pair, bath]})
    assert tied.instruments["supply_C"].tied_to == "return_C"
    # return is 20.5 by its bath, and supply is set to it
    assert tied.table["supply_C"].mean() == pytest.approx(wave(200, 20.5).mean(), abs=1e-6)


def test_water_that_is_cooled_in_a_pair_test_is_refused():
    pair = {"kind": "pair", "from": "2026-06-01 00:00", "to": "2026-06-01 01:00"}
    with pytest.raises(LogProblems, match=r"return lies -4\.00 K from supply"):
        logs_of(WATER, {"supply_temperature": wave(200, 20.0), "return_temperature": wave(200, 16.0)}, {"test": [pair]})


def test_a_draw_down_leaves_its_own_accuracy():
    test = {"kind": "draw down", "from": "2026-06-01 00:10", "to": "2026-06-01 00:30", "channel": "spray_flow",
            "volume": 1.2, "accuracy": 0.012}
    logs = logs_of(FLOW, {"spray_flow": 64.0 + wave(90, 0.0)}, {"test": [test]})
    assert logs.instruments["spray_L_min"].gain == pytest.approx(0.012)
    assert logs.instruments["spray_L_min"].multiplied == pytest.approx(60.0 / 64.0, abs=1e-3)


def test_a_dip_sets_the_level_by_its_volume():
    test = {"kind": "dip", "from": "2026-06-01 00:30", "channel": "level", "reading": 61.0, "volume": 12.0}
    logs = logs_of({"level": {"unit": "%"}}, {"level": 61.0 + wave(90, 0.0)}, {"test": [test]})
    assert logs.table["store_m3"].mean() == pytest.approx(12.0, abs=0.003)
    # a stick read to 1 cm in a store of 10 m2 is good for 0.1 m3
    assert logs.instruments["store_m3"].offset == pytest.approx(0.1, rel=0.01)


def test_a_calibration_without_reading_takes_it_from_the_log():
    test = {"kind": "calibration", "from": "2026-06-01 00:30", "channel": "supply_temperature", "reference": 20.3}
    values = {"supply_temperature": wave(90, 20.0, 0.0)}
    logs = logs_of({"supply_temperature": {"unit": "degC"}}, values, {"test": [test]})
    assert logs.table["supply_C"].to_numpy() == pytest.approx(20.3)


def test_clock_tests_move_the_rows():
    """The clock showed 6 min too much at the start and 9 at the end, an hour later."""
    tests = [{"kind": "clock", "from": f"2026-06-01 0{hour}:00", "channel": "spray_flow", "reading": fast,
              "reference": 0} for hour, fast in ((0, 6), (1, 9))]
    flow = [0.0] * 30 + [60.0] * 31
    logs = logs_of(FLOW, {"spray_flow": flow}, {"test": tests}, log_entries={"interval": 1})
    # the pump started at 00:30 on the logger's clock, 7.5 min earlier in truth
    on = logs.table["spray_L_min"]
    assert on[pd.Timestamp("2026-06-01 00:22", tz="UTC")] == pytest.approx(30.0, abs=2.0)
    assert on[pd.Timestamp("2026-06-01 00:23", tz="UTC")] == pytest.approx(60.0)
    assert "channel.clock-corrected" in codes(logs)


def test_naive_times_are_on_the_clock_named():
    assert moment_ns(datetime.datetime(2026, 6, 1, 2), "Etc/GMT-2") == START
    offset = datetime.timezone(datetime.timedelta(hours=-5))
    assert moment_ns(datetime.datetime(2026, 5, 31, 19, tzinfo=offset), "UTC") == START


# --- witnesses ----------------------------------------------------------------------------------------------------


def weather_of(hours: int, **columns):
    index = pd.date_range("2026-06-01", periods=hours, freq="h", tz="UTC")
    return SimpleNamespace(table=pd.DataFrame(columns, index=index), names={"typical_year": False})


def rain_case(elsewhere, names=None):
    rain = [0.2 if place in (200, 210) else 0.0 for place in range(480)]
    status = [1.0 if 120 <= place < 300 else 0.0 for place in range(480)]
    weather = weather_of(8, rain_mm=elsewhere, pressure_Pa=[98000.0] * 8)
    if names:
        weather.names = names
    return logs_of({"rain": {"unit": "mm"}, "spray_status": {"unit": "1"}}, {"rain": rain, "spray_status": status},
                   weather=weather)


def test_tips_while_spraying_are_rain_where_another_gauge_was_wet():
    dry, wet = rain_case([0.0] * 8), rain_case([0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.0, 0.0])
    assert dry.table["rain_mm"].sum() == 0.0
    assert "channel.rain-sprayed" in codes(dry)
    assert wet.table["rain_mm"].sum() == pytest.approx(0.4)


def test_a_typical_year_is_no_witness():
    logs = rain_case([9.0] * 8, {"typical_year": True})
    assert logs.table["rain_mm"].sum() == 0.0


def test_a_dry_gauge_while_it_pours_elsewhere_may_be_blocked():
    weather = weather_of(96, rain_mm=[0.0] * 30 + [3.0] * 8 + [0.0] * 58, pressure_Pa=[98000.0] * 96)
    logs = logs_of({"rain": {"unit": "mm"}}, {"rain": [0.0] * 96}, weather=weather, step_min=60.0)
    assert "channel.rain-funnel" in codes(logs)


def test_a_level_that_follows_a_pressure_logged_elsewhere_is_widened():
    hours = np.arange(120)
    pressure = 98000.0 + 800.0 * np.sin(hours / 8.0)
    level = 1000.0 + (pressure - 98000.0) / (998.0 * 9.81) * 1000.0
    weather = weather_of(120, rain_mm=[0.0] * 120, pressure_Pa=pressure)
    logs = logs_of({"level": {"unit": "mm"}}, {"level": level.round(1)}, weather=weather, step_min=60.0)
    assert "channel.level-unvented" in codes(logs)
    # 8 hPa either side are 82 mm of 10 m2; an ordinary level has no constant error
    assert logs.instruments["store_m3"].offset == pytest.approx(0.82, rel=0.05)


# --- gaps ---------------------------------------------------------------------------------------------------------


def with_holes(count, every, size):
    values = wave(count, 20.0, 1.0)
    for start in range(every, count - size, every):
        values[start:start + size] = np.nan
    return values


@pytest.mark.parametrize(("every", "size", "code"), [
    (100, 3, "channel.filled"), (100, 10, "channel.filled-much"), (100, 25, "channel.filled-weak"),
    (40, 22, "channel.left-out")])
def test_what_is_told_of_bridged_gaps_follows_their_share(every, size, code):
    logs = logs_of(WATER, {"supply_temperature": with_holes(2000, every, size),
                           "return_temperature": wave(2000, 19.0, 1.0)})
    assert [found for found in codes(logs) if found.startswith(("channel.filled", "channel.left"))] == [code]
    assert ("supply_C" in logs.table) == (code != "channel.left-out")


def test_flows_and_statuses_are_never_bridged():
    columns = {**FLOW, "spray_status": {"unit": "1"}, "level": {"unit": "%"}, "rain": {"unit": "mm"},
               "pump_power": {"unit": "W"}, "draw_flow": {"unit": "L/min"}}
    usual = {"spray_flow": 60.0, "spray_status": 1.0, "level": 50.0, "rain": 0.0, "pump_power": 400.0, "draw_flow": 1.0}
    made = {}
    for name, value in usual.items():
        made[name] = np.full(90, value)
        made[name][40] = np.nan
    logs = logs_of(columns, made)
    assert not [column for column in logs.table if not np.isnan(logs.table[column].to_numpy()[40])]
    assert not [column for column in logs.masks if "filled" in logs.masks[column]]


def test_known_is_the_share_before_filling():
    values = wave(60, 20.0)
    values[30] = np.nan
    logs = logs_of({"supply_temperature": {"unit": "degC"}}, {"supply_temperature": values})
    assert logs.known["supply_C"][30] == 0.0
    assert logs.known["supply_C"].sum() == 59.0
    line = (values[29] + values[31]) / 2.0
    assert logs.table["supply_C"].to_numpy()[30] == pytest.approx(line)


def test_a_silent_log_of_changes_is_told_unless_hold_is_stated():
    columns, values = {"ac_power": {"unit": "W"}}, {"ac_power": [0.0, 900.0, 0.0, 0.0]}
    times = [0, 60, 60 + 40 * 60, 62 + 40 * 60]
    entries = {"values": "last value holds"}
    logs = logs_of(columns, values, {"logged": {"step": 60}}, times_min=times, log_entries=entries)
    assert "channel.held-long" in codes(logs)
    stated = logs_of(columns, values, {"logged": {"step": 60}}, times_min=times, log_entries={**entries, "hold": 2})
    assert "channel.held-long" not in codes(stated)
    assert stated.table["ac_W"].sum() == pytest.approx(1800.0)


# --- several logs -------------------------------------------------------------------------------------------------


def two_logs(first: dict, second: dict, shift_min: float = 0.0, **second_entries):
    made = small_site(log=[log({"supply_temperature": {"unit": "degC"}}, **first),
                           log({"supply_temperature": {"unit": "degC", **second_entries}}, **second)])
    one = table({"supply_temperature": wave(60, 20.0)})
    other = table({"supply_temperature": wave(60, 20.0)}, times_min=(np.arange(60) + shift_min).tolist(), where="b.csv")
    return made, {0: [one], 1: [other]}


def test_a_second_log_goes_on_where_the_first_ends():
    made, tables = two_logs({}, {}, shift_min=60.0)
    logs = logs_of_tables(made, tables)
    assert logs.table["supply_C"].notna().sum() == 120
    assert not [code for code in codes(logs) if "two-records" in code]


def test_two_logs_of_one_thing_that_agree_are_told():
    made, tables = two_logs({}, {})
    assert "channel.two-records-agree" in codes(logs_of_tables(made, tables))


def test_two_logs_of_one_thing_that_differ_ask():
    made, tables = two_logs({}, {}, add=3.0)
    with pytest.raises(LogProblems, match="use = false"):
        logs_of_tables(made, tables)


def test_no_channel_in_use_is_a_problem():
    with pytest.raises(LogProblems, match="no channel of the logs is used"):
        logs_of({"spray_flow": {"unit": "L/min", "use": False}}, {"spray_flow": [60.0] * 30})


def test_files_of_a_pattern_come_in_the_order_of_their_numbers(tmp_path):
    for name in ("roof_10.csv", "roof_2.csv", "roof_1.csv", "roof_[1].csv", "yard_1.csv"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    gather = Gather()
    assert names_of(tmp_path, "roof_*.csv", "log.1.file", gather) == [
        "roof_1.csv", "roof_2.csv", "roof_10.csv", "roof_[1].csv"]
    assert names_of(tmp_path, "roof_[1]*.csv", "log.1.file", gather) == ["roof_[1].csv"]
    assert not gather.problems


def test_files_of_one_pattern_must_share_their_units():
    made = small_site(log=[log({"spray_flow": {"unit": "L/min"}})])
    first, second = (table({"spray_flow": [60.0] * 10}, times_min=list(range(start, start + 10)), where=f"{start}.csv",
                           units_seen={"spray_flow": unit}) for start, unit in ((0, "L/min"), (10, "L/s")))
    with pytest.raises(LogProblems, match="one unit for all files"):
        logs_of_tables(made, {0: [first, second]})


def test_all_problems_are_told_at_once():
    with pytest.raises(LogProblems) as caught:
        logs_of({"spray_flow": {"unit": "gpm"}, "rain": {"unit": "tips", "kind": "tips"}, "level": {"unit": "mA"}},
                {"spray_flow": [16.0] * 9, "rain": [0.0] * 9, "level": [12.0] * 9})
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(("entries", "words"), [
    ({"supply_temperature": {"unit": "degC", "kind": "counter"}}, "for this channel"),
    ({"level": {"unit": "%", "kind": "sum"}}, "for a level"),
    ({"ac_power": {"unit": "W", "per_count": "1 Wh"}}, "only for counts"),
    ({"rain": {"unit": "mm", "kind": "sum"}}, "amounts of zero or more"),
    ({"humidity": {"unit": "furlong"}}, "not known"), ({"wind": {"unit": "degC"}}, "another kind")])
def test_columns_that_contradict_themselves(entries, words):
    name = next(iter(entries))
    readings = [-1.0, 3.0] * 20 if name == "rain" else [20.0] * 40
    with pytest.raises(LogProblems, match=words):
        logs_of(entries, {name: readings})


# --- kinds --------------------------------------------------------------------------------------------------------


def test_rain_in_millimetres_an_hour_is_a_mean():
    logs = logs_of({"rain": {"unit": "mm/h"}}, {"rain": [6.0] * 20}, step_min=10.0)
    assert logs.table["rain_mm"].to_numpy() == pytest.approx(1.0)


def test_inches_of_rain():
    logs = logs_of({"rain": {"unit": "in"}}, {"rain": [0.01] * 20}, step_min=10.0)
    assert logs.table["rain_mm"].sum() == pytest.approx(20 * 0.254)


def test_pulses_per_interval_of_a_flow():
    """6 pulses of 10 L in each 5 min are 12 L/min."""
    logs = logs_of({"draw_flow": {"unit": "pulses", "kind": "tips", "per_count": "10 L"}}, {"draw_flow": [6.0] * 12},
                   step_min=5.0)
    assert logs.table["draw_L_min"].to_numpy() == pytest.approx(12.0)


def test_a_duty_is_a_mean_of_a_status():
    readings = {"spray_status": [0.0, 1.0, 1.0] * 20}
    logs = logs_of({"spray_status": {"unit": "1"}}, readings, {"logged": {"step": 10}})
    assert logs.table["spray_on_frac"].to_numpy() == pytest.approx([0.6, 0.7, 0.7] * 2)


def test_heights_of_store_sensors_are_handed_on():
    logs = logs_of({"store_temperature_2": {"unit": "degC", "height": 0.6}}, {"store_temperature_2": wave(90, 18.0)})
    assert logs.heights_m == {"store_C_2": 0.6}


def test_flags_widened():
    flags = np.zeros(10, dtype=bool)
    flags[4:6] = True
    assert np.flatnonzero(widened(flags, 1, 2)).tolist() == [3, 4, 5, 6, 7]


# --- whatever comes -----------------------------------------------------------------------------------------------

UNITS = {"spray_flow": ("L/min", "L", "gpm"), "supply_temperature": ("degC", "degF"),
         "return_temperature": ("degC", "K"), "level": ("%", "mm", "mA"), "rain": ("mm", "mm/h", "tips"),
         "humidity": ("%", "1"), "makeup_flow": ("L", "m3/h"),
         "pump_power": ("W", "kWh"), "spray_status": ("1",), "pressure": ("hPa",)}


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_rows_give_channels_or_problems(data):
    """No readings, however odd, end in anything but channels or a list of problems."""
    names = data.draw(st.lists(st.sampled_from(sorted(UNITS)), min_size=1, max_size=4, unique=True))
    columns = {}
    for name in names:
        kind = data.draw(st.sampled_from([None, *KINDS]))
        columns[name] = {"unit": data.draw(st.sampled_from(UNITS[name])), **({"kind": kind} if kind else {})}
    gaps = data.draw(st.one_of(st.lists(st.integers(1, 90_000), min_size=1, max_size=25),
                               st.lists(st.just(300), min_size=1, max_size=60)))
    number = st.one_of(st.floats(0, 100), st.sampled_from([0.0, 1.0, 20.0, np.nan, -5.0, 1e9]))
    values = {name: [data.draw(number) for _ in gaps] for name in names}
    entries = {"values": data.draw(st.sampled_from(["mean", "instant", "last value holds"]))}
    try:
        logs = logs_of(columns, values, {"logged": {"step": 60}}, times_min=(np.cumsum(gaps) / 60.0).tolist(),
                       log_entries=entries)
    except LogProblems:
        return
    assert logs.table.index.is_monotonic_increasing
    for column in logs.table:
        assert ((logs.known[column] >= 0.0) & (logs.known[column] <= 1.0)).all()


# --- the data pack, against the truth behind it -------------------------------------------------------------------


PACK = Path(__file__).parent.parent / "sample_sites" / "brindlemoor_bindery"


@pytest.fixture(scope="module")
def truth():
    return json.loads((Path(__file__).parent / "data_pack_truth.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def pack():
    return read_logs(read_site(PACK))


def planted(truth, fault):
    return [row for row in truth["planted"] if row["fault"] == fault]


@pytest.mark.parametrize(("column", "total", "per_h", "share"), [
    ("makeup_L_min", "makeup_L", 60.0, 0.005), ("draw_L_min", "draw_L", 60.0, 0.005), ("ac_W", "ac_kWh", 0.001, 0.006),
    ("pump_W", "pump_kWh", 0.001, 0.01)])
def test_totals_of_the_pack_are_the_true_ones(pack, truth, column, total, per_h, share):
    """But for the unknown hour of the reset and an AC meter that counts 0.4 % too much."""
    found = pack.table[column].sum() * per_h * pack.step_s / 3600.0
    assert found == pytest.approx(truth["totals"][total], rel=share)


def test_tests_on_site_find_the_errors_that_were_planted(pack, truth):
    true = truth["instruments"]
    back, flow = pack.instruments["return_C"], pack.instruments["spray_L_min"]
    assert back.added == pytest.approx(-true["return_offset_K"], abs=back.offset)
    assert flow.multiplied == pytest.approx(1.0 / (1.0 + true["flow_gain_frac"]), rel=flow.gain)


def test_tips_of_the_spray_are_left_out_and_rain_is_kept(pack, truth):
    false = sum(row["rows"] for row in planted(truth, "tipped by spray"))
    assert false <= pack.masks["rain_mm"]["sprayed"].sum() <= 1.25 * false
    gauge = truth["totals"]["rain_mm"] * (1.0 + truth["instruments"]["gauge_gain_frac"])
    assert pack.table["rain_mm"].sum() == pytest.approx(gauge, rel=0.03)


def test_what_befell_meters_and_exports_is_found(pack, truth):
    found = {finding.code: finding for finding in pack.findings}
    for code, fault in (("channel.counter-roll-over", "roll-over"), ("channel.counter-reset", "counter reset")):
        row, data = planted(truth, fault)[0], found[code].data
        assert f"{data['old']:.0f} is followed by {data['new']:.0f}" == row["what"]
    assert found["channel.rows-missing"].data["rows"] == sum(row["rows"] for row in planted(truth, "gap"))
    assert found["log.overlap-merged"].data["rows"] == planted(truth, "doubled day")[0]["rows"]


# --- speed --------------------------------------------------------------------------------------------------------


def test_a_year_of_minutes_is_laid_out_in_seconds():
    """Ten channels of 525 600 rows; 3 to 4 s on two free cores, and room for a busy machine."""
    count, rng = 525_600, np.random.default_rng(1)
    on = np.arange(count) % 1440 < 600
    columns = {**FLOW, **WATER, "level": {"unit": "%"}, "air_temperature": {"unit": "degC"}, "humidity": {"unit": "%"},
               "wind": {"unit": "m/s"}, "pump_power": {"unit": "W"}, "makeup_flow": {"unit": "L", "kind": "counter"},
               "rain": {"unit": "mm"}}
    values = {"spray_flow": on * 60.0, "supply_temperature": 20.0 + rng.normal(size=count).round(2) / 10.0,
              "return_temperature": 19.0 + rng.normal(size=count).round(2) / 10.0,
              "level": 50.0 + rng.normal(size=count).round(2) / 10.0,
              "air_temperature": rng.normal(size=count).round(1),
              "humidity": 60.0 + rng.normal(size=count).round(0), "wind": np.abs(rng.normal(size=count)).round(1),
              "pump_power": on * 400.0, "makeup_flow": np.cumsum((np.arange(count) % 3000 == 0) * 10.0),
              "rain": np.zeros(count)}
    made = small_site(log=[log(columns)])
    rows = table(values)
    start = time.process_time()
    logs = logs_of_tables(made, {0: [rows]})
    assert time.process_time() - start < 20.0
    assert len(logs.table) == count
