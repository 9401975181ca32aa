"""Quality masks and cross-checks on invented records with one planted fault each; expected places by construction."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented_record import DAY, HOUR, STEP_S, record
from small_site import RECORD, small_site

from sprayroof.catalogue import FINDINGS
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.logs import Instrument
from sprayroof.evidence.quality import odd_readings
from sprayroof.evidence.quality.lag_fits import moved_fits
from sprayroof.evidence.quality.masks import judge
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import site_from_dict


def judged(table, weather=None, instruments=None):
    gather = Gather()
    masks = judge(table, STEP_S, small_site(), instruments or {}, gather, weather)
    return masks, gather.findings


def codes(findings):
    return {finding.code for finding in findings}


def test_a_clean_record_raises_nothing():
    masks, findings = judged(record()[0])
    assert not findings
    assert not any(where.any() for named in masks.values() for where in named.values())


def test_every_code_has_its_paragraph_and_every_finding_its_rows_and_effect():
    table, _ = record()
    table.iloc[100, table.columns.get_loc("air_C")] = 150.0
    table.iloc[500:900, table.columns.get_loc("humidity_frac")] = 0.5
    for finding in judged(table)[1]:
        assert finding.code in FINDINGS
        assert finding.effect
        assert {"disposition", "rule"} <= set(finding.data)
        assert finding.data["first"]
        assert finding.data["last"]


def test_readings_outside_what_can_be_are_left_out():
    table, _ = record()
    table.iloc[[100, 2000], table.columns.get_loc("air_C")] = [-127.0, 150.0]
    masks, findings = judged(table)
    assert list(np.flatnonzero(masks["air_C"]["range"])) == [100, 2000]
    assert codes(findings) == {"quality.out-of-range"}


def rows_every(values, step_s=60):
    return np.asarray(values, dtype=float), np.arange(len(values), dtype=np.int64) * step_s * 10**9


def spiked(values, step_s=60, **more):
    return list(np.flatnonzero(odd_readings.spikes(*rows_every(values, step_s), 3.0, **more)))


def test_spikes_of_one_and_two_rows_are_found_and_a_lasting_step_is_not():
    steady = np.full(50, 10.0)
    assert spiked(np.where(np.arange(50) == 20, 18.0, steady)) == [20]
    assert spiked(np.where(np.isin(np.arange(50), (20, 21)), 2.0, steady), STEP_S) == [20, 21]
    assert spiked(np.where(np.arange(50) < 20, 10.0, 18.0)) == []
    assert spiked(np.where(np.isin(np.arange(50), (20, 21, 22)), 18.0, steady)) == [], "three rows may be true"
    assert spiked(np.where(np.arange(50) == 20, 18.0, steady), 600) == [], "ten minutes may be true"


def test_a_spike_beside_a_missing_reading_is_found_and_one_beside_a_long_gap_is_not():
    values, times_ns = rows_every(np.where(np.arange(50) == 20, 18.0, 10.0))
    values[21] = np.nan
    assert list(np.flatnonzero(odd_readings.spikes(values, times_ns, 3.0))) == [20]
    values[22:45] = np.nan
    assert not odd_readings.spikes(values, times_ns, 3.0).any()


def test_a_value_that_held_for_hours_before_its_spike_does_not_hide_it():
    times_ns = np.array([0, 7200, 7260, 9000], dtype=np.int64) * 10**9
    values = np.array([10.0, 18.0, 10.0, 10.1])
    assert not odd_readings.spikes(values, times_ns, 3.0).any()
    assert list(np.flatnonzero(odd_readings.spikes(values, times_ns, 3.0, held=True))) == [1]


def test_a_frozen_sensor_is_found_where_it_froze():
    table, _ = record()
    table.iloc[1000 : 1000 + 20 * HOUR, table.columns.get_loc("humidity_frac")] = 0.55
    masks, findings = judged(table)
    assert list(np.flatnonzero(masks["humidity_frac"]["stuck"])) == list(range(1000, 1000 + 20 * HOUR))
    assert codes(findings) == {"quality.stuck"}


def test_a_record_with_gaps_in_a_frozen_block_is_still_frozen():
    values = np.linspace(0.0, 1.0, 400)
    values[100:200] = 0.5
    values[150] = np.nan
    found = odd_readings.frozen(values, 90)
    assert found.sum() == 99
    assert not found[150]


def test_saturated_air_for_an_evening_is_true_and_for_days_is_a_broken_sensor():
    table, _ = record()
    humidity = table.columns.get_loc("humidity_frac")
    table.iloc[1000 : 1000 + 5 * HOUR, humidity] = 0.99 + 0.001 * np.sin(np.arange(5 * HOUR))
    assert not judged(table)[1]
    table.iloc[1000 : 1000 + 60 * HOUR, humidity] = 0.99 + 0.001 * np.sin(np.arange(60 * HOUR))
    assert codes(judged(table)[1]) == {"quality.humidity-saturated"}


def test_a_flow_meter_at_the_end_of_its_range_is_told_and_a_constant_pump_is_not():
    rng = np.random.default_rng(1)
    level = np.clip(50.0 + 12.0 * np.sin(np.arange(4000) / 60.0) + rng.normal(size=4000), None, 58.0)
    assert odd_readings.clipped_at(level) == 58.0
    assert odd_readings.clipped_at(np.where(np.arange(4000) % 200 < 90, 58.0, 0.0)) is None


def test_coarse_readings_widen_the_instrument():
    table, _ = record()
    table["air_C"] = (table["air_C"] / 0.5).round() * 0.5
    instruments = {"air_C": Instrument(0.5, 0.0)}
    _, findings = judged(table, instruments=instruments)
    assert codes(findings) == {"quality.coarse"}
    assert instruments["air_C"].resolution == pytest.approx(0.5)


def wetted_nights(changed):
    """Nights that are left out where `changed` lays its own humidity over the clean record."""
    table, on = record()
    humidity, night = table["humidity_frac"].to_numpy(copy=True), np.arange(len(on)) // DAY
    starts = np.flatnonzero(np.diff(on.astype(int)) == 1) + 1
    for number in (4, 5, 6):  # half of what is left to saturation, at once
        part = slice(starts[number], starts[number] + 8 * HOUR)
        humidity[part] += 0.5 * (1.0 - humidity[part])
    changed(humidity, starts)
    table["humidity_frac"] = humidity
    mask = judged(table)[0]["humidity_frac"]["wetted"]
    return sorted(set(night[starts][mask[starts + HOUR]]))


def test_a_wetted_sensor_is_known_in_moist_air_by_the_share_of_what_is_left_to_saturation():
    def muggy(humidity, starts):
        around = slice(starts[10] - 6 * HOUR, starts[10] + 12 * HOUR)
        humidity[around] = 0.965 + 0.001 * np.sin(np.arange(around.stop - around.start))
        humidity[starts[10] : starts[10] + 8 * HOUR] += 0.015

    assert wetted_nights(muggy) == [4, 5, 6, 10]


def test_the_moist_air_of_a_shower_is_no_wetted_sensor():
    def shower(humidity, starts):  # from 0.6 to 0.95 within an hour and a half
        humidity[starts[10] : starts[10] + 8 * HOUR] += np.minimum(0.25 * np.arange(8 * HOUR) / HOUR, 0.35)

    assert wetted_nights(shower) == [4, 5, 6]


def test_a_humidity_sensor_under_the_spray_is_left_out_and_dew_is_not():
    table, on = record()
    humidity = table["humidity_frac"].to_numpy(copy=True)
    night = np.arange(len(on)) // DAY
    wetted = on & np.isin(night, [4, 5, 6])
    humidity[wetted] = 0.985 + 0.004 * np.sin(np.arange(wetted.sum()))
    table["humidity_frac"] = humidity
    masks, findings = judged(table)
    assert codes(findings) == {"quality.humidity-wetted"}
    assert masks["humidity_frac"]["wetted"][(on & (night == 5))].all()
    assert not masks["humidity_frac"]["wetted"][night == 15].any()
    dewy, _ = record()
    hour = (np.arange(len(dewy)) % DAY) / HOUR
    # Three per cent an hour from dusk to dawn, as dew comes.
    since_dusk_h = (hour - 18.0) % 24.0
    rising = np.clip(0.72 + 0.03 * since_dusk_h * (since_dusk_h < 12.0), 0.0, 0.98)
    dewy["humidity_frac"] = rising + 0.004 * np.sin(np.arange(len(dewy)))
    assert not judged(dewy)[1]


def weather_of(table, air_C, solar_W_m2):
    hourly = pd.DataFrame({"t_air_C": air_C, "solar_W_m2": solar_W_m2}, index=table.index)
    return hourly.resample("1h").mean()


def test_an_air_sensor_in_the_sun_is_left_out_by_day_only():
    table, _ = record()
    hour = (np.arange(len(table)) % DAY) / HOUR
    sun = np.clip(900.0 * np.sin(np.pi * (hour - 6.0) / 14.0), 0.0, None) * ((hour > 6) & (hour < 20))
    weather = weather_of(table, table["air_C"].to_numpy(), sun)
    assert not judged(table, weather)[1]
    table["air_C"] += 6.0 * sun / 900.0
    masks, findings = judged(table, weather)
    assert codes(findings) == {"quality.sensor-in-sun"}
    assert not masks["air_C"]["sunlit"][(hour > 22) | (hour < 5)].any()


def test_an_exchanged_pair_is_proposed_and_nothing_is_exchanged():
    table, _ = record()
    before = table.copy()
    table[["supply_C", "return_C"]] = table[["return_C", "supply_C"]].to_numpy()
    exchanged = table.copy()
    masks, findings = judged(table)
    assert codes(findings) == {"cross.pair-swapped"}
    pd.testing.assert_frame_equal(table, exchanged)
    assert not masks.get("supply_C")
    assert not judged(before)[1]


def test_truly_negative_nights_survive_and_are_confirmed_by_the_store():
    table, on = record()
    night = (np.arange(len(on)) + 12 * HOUR) // DAY
    muggy = np.isin(night, [7, 8, 9])
    table.loc[muggy & on, "return_C"] += 2.5  # one kelvin warmer than the supply
    hour = (np.arange(len(on)) % DAY) / HOUR
    dusk_C = table["store_C"].to_numpy()
    warming = np.where(hour >= 21, (hour - 21.0) * 0.3, (hour + 3.0) * 0.3)
    for column in ("store_C", "supply_C", "return_C"):
        values = table[column].to_numpy(copy=True)
        cooling = np.where(hour >= 21, -(hour - 21.0) * 0.4, -(hour + 3.0) * 0.4)
        values[muggy & on] += (warming - cooling)[muggy & on]
        after = muggy & ~on & (hour < 12)
        values[after] += 5.6
        table[column] = values
    assert dusk_C.shape == (len(on),)
    masks, findings = judged(table)
    assert "cross.negative-nights" in codes(findings)
    assert "cross.pair-swapped" not in codes(findings)
    assert not any(name in masks.get("return_C", {}) for name in ("range", "stuck"))


def test_an_hour_lost_to_daylight_saving_between_two_logs_is_found():
    table, on = record(days=28)
    status = on.astype(float)
    half = 14 * DAY
    status[half:] = np.roll(status, HOUR)[half:]
    table["spray_on_frac"] = status
    found = [finding for finding in judged(table)[1] if finding.code == "cross.clock-hour"]
    assert found
    assert abs(abs(found[0].data["lag_min"]) - 60.0) <= 5.0


def test_the_lag_of_two_records_is_found_with_its_sign():
    rng = np.random.default_rng(2)
    first = np.convolve(rng.normal(size=2000), np.ones(9), "same")
    late = np.concatenate([np.full(6, np.nan), first[:-6]])
    assert moved_fits(late, first, 0, 2000, 10).argmax() - 10 == 6
    assert moved_fits(first, late, 0, 2000, 10).argmax() - 10 == -6
    assert moved_fits(rng.normal(size=2000), first, 0, 2000, 10).max() < 0.2


def test_flow_and_status_that_disagree_are_told():
    table, on = record()
    table["spray_on_frac"] = on.astype(float)
    table.iloc[1000 : 1000 + DAY, table.columns.get_loc("spray_on_frac")] = 0.0
    assert "cross.running-differs" in codes(judged(table)[1])


def test_power_of_flow_rain_while_spraying_and_water_from_nowhere_are_told():
    table, on = record()
    table.loc[np.arange(len(on)) > 10 * DAY, "pump_W"] *= 1.6
    assert codes(judged(table)[1]) == {"cross.power-of-flow"}
    table, on = record()
    table.loc[on & (np.arange(len(on)) // DAY == 5), "rain_mm"] = 0.2
    assert "cross.spray-in-rain" in codes(judged(table)[1])
    table, _ = record()
    rise_m3 = np.clip(np.arange(len(table) - 3000) / (3 * HOUR), 0, 1)
    table.iloc[3000:, table.columns.get_loc("store_m3")] += rise_m3
    assert "cross.level-rises" in codes(judged(table)[1])


def test_more_water_than_rain_brought_and_make_up_that_no_level_shows_are_told():
    table, _ = record()
    noon = 5 * DAY + 12 * HOUR
    table.iloc[noon : noon + HOUR, table.columns.get_loc("rain_mm")] = 6.0 / HOUR  # 6 mm on 400 m2: 2.4 m3 at most
    table.iloc[noon + HOUR :, table.columns.get_loc("store_m3")] += 4.5
    assert "cross.runoff-above-one" in codes(judged(table)[1])
    table, _ = record()
    table.iloc[noon : noon + HOUR, table.columns.get_loc("makeup_L_min")] = 25.0  # 1.5 m3
    assert "cross.makeup-unseen" in codes(judged(table)[1])
    table.iloc[noon + HOUR :, table.columns.get_loc("store_m3")] += 1.5
    assert "cross.makeup-unseen" not in codes(judged(table)[1])


def test_salts_that_fall_without_fresh_water_are_told():
    table, _ = record()
    table["conductivity_uS_cm"] = 500.0 + np.random.default_rng(0).normal(size=len(table))
    assert not judged(table)[1]
    table["conductivity_uS_cm"] *= np.linspace(1.0, 0.7, len(table))
    assert codes(judged(table)[1]) == {"cross.salts-fall"}


# --- rows that prove a finding, and what it costs ---------------------------------------------------------------------

NIGHT_kW = 60.0 * 60.0 * 4.18 / 3600.0 * 1.5  # 60 L/min, 1.5 K: 6.27 kW


def lost(table, code):
    (finding,) = (finding for finding in judged(table)[1] if finding.code == code)
    return finding


def test_two_hours_without_supply_cost_a_night_and_its_heat():
    table, _ = record()
    table.iloc[10 * DAY + 22 * HOUR : 11 * DAY, table.columns.get_loc("supply_C")] = 99.0
    finding = lost(table, "quality.out-of-range")
    # 21 times eight hours from 21 to 5 in 22 nights, the first and the last of them parts
    assert finding.data["hours_spraying_h"] == pytest.approx(168.0)
    assert finding.data["hours_lost_h"] == pytest.approx(2.0)
    assert (finding.data["nights"], finding.data["nights_lost"]) == (22, 1)
    assert finding.data["heat_scaled_kWh"] == pytest.approx(8.0 * NIGHT_kW, rel=0.02)
    assert finding.data["heat_pipe_kWh"] == pytest.approx(168.0 * NIGHT_kW, rel=0.02)
    assert finding.effect.startswith("2 of 168 h of spraying are without supply_C; 1 of 22 nights is lost for heat by "
                                     "pipe; 50 of about 1100 kWh of heat by pipe are not read")


def test_ten_minutes_without_supply_leave_the_night_and_scale_its_part():
    table, _ = record()
    table.iloc[10 * DAY + 22 * HOUR : 10 * DAY + 22 * HOUR + 2, table.columns.get_loc("supply_C")] = 99.0
    finding = lost(table, "quality.out-of-range")
    assert finding.data["nights_lost"] == 0
    assert finding.data["heat_scaled_kWh"] == pytest.approx(NIGHT_kW / 6.0, rel=0.02)
    assert "none of 22 nights is lost for heat by pipe" in finding.effect


def test_what_lies_outside_the_spraying_costs_no_heat():
    table, _ = record()
    table.iloc[10 * DAY + 12 * HOUR : 10 * DAY + 14 * HOUR, table.columns.get_loc("supply_C")] = 99.0
    assert lost(table, "quality.out-of-range").effect == (
        "0 of 168 h of spraying are without supply_C: heat by pipe does not change.")


def test_a_night_that_another_fault_took_is_not_lost_twice():
    table, _ = record()
    table.iloc[10 * DAY + 22 * HOUR : 11 * DAY, table.columns.get_loc("supply_C")] = 99.0
    table.iloc[10 * DAY + 22 * HOUR + 3, table.columns.get_loc("supply_C")] = np.nan
    table.iloc[10 * DAY + 22 * HOUR : 11 * DAY, table.columns.get_loc("return_C")] = np.nan
    assert lost(table, "quality.out-of-range").data["nights_lost"] == 1
    table.iloc[10 * DAY + 22 * HOUR : 10 * DAY + 23 * HOUR + 6, table.columns.get_loc("supply_C")] = np.nan
    assert lost(table, "quality.out-of-range").data["nights_lost"] == 0  # 90 min are missing without it


def test_a_level_lost_before_the_start_costs_the_heat_of_the_store():
    table, _ = record()
    level = table.columns.get_loc("store_m3")
    table.iloc[10 * DAY + 20 * HOUR : 10 * DAY + 21 * HOUR, level] = -5.0
    finding = lost(table, "quality.out-of-range")
    assert (finding.data["nights_lost"], finding.data["nights_without_water"]) == (1, 0)
    table, _ = record()
    table.iloc[10 * DAY + 16 * HOUR : 10 * DAY + 17 * HOUR, level] = -5.0
    assert lost(table, "quality.out-of-range").effect.endswith("heat and water of the store do not change.")


def test_a_make_up_meter_that_was_doubted_costs_its_mean():
    table, _ = record()
    column = table.columns.get_loc("makeup_L_min")
    table.iloc[: 4 * DAY, column] = 2.0
    table.iloc[4 * DAY : 4 * DAY + 6 * HOUR, column] = -1.0
    finding = lost(table, "quality.out-of-range")
    mean = 2.0 * 4 / (21 - 0.25)
    assert finding.data["water_not_counted_L"] == pytest.approx(mean * 360.0)


def test_coarse_temperatures_tell_what_half_a_step_does():
    table, _ = record()
    table["supply_C"] = (table["supply_C"] / 0.5).round() * 0.5
    gather = Gather()
    judge(table, STEP_S, small_site(), {"supply_C": Instrument(0.3, 0.0)}, gather, None)
    (finding,) = (finding for finding in gather.findings if finding.code == "quality.coarse")
    assert finding.data["heat_half_step_kWh"] == pytest.approx(0.25 * 168 * 3600 * 4.18 / 3600, rel=0.01)


def test_findings_name_the_lines_of_the_files_that_prove_them(tmp_path):
    """Two files 18 s past the minute: each row lies on two steps, the line of the odd one alone is told."""
    times = pd.date_range("2026-06-01 00:00:18", periods=2000, freq="1min")
    rng = np.random.default_rng(8)
    supply, flow = 18.0 + 0.05 * rng.normal(size=2000), 60.0 + 0.3 * rng.normal(size=2000)
    supply[[300, 1500]] = [27.0, 8.0]
    supply[700:760] = 175.0
    flow[1200] = 29000.0  # 0.7 of it in one step is out of range, 0.3 of it in the other is not
    (tmp_path / "logs").mkdir()
    for number, part in enumerate((slice(0, 1000), slice(1000, 2000)), start=1):
        rows = [f"{time:%Y-%m-%d %H:%M:%S},{t:.2f},{q:.1f}"
                for time, t, q in zip(times[part], supply[part], flow[part], strict=True)]
        text = "Invented logger\nTime,T sup,Flow\n" + "\n".join(rows) + "\n"
        (tmp_path / "logs" / f"roof_{number}.csv").write_text(text, encoding="utf-8")
    columns = {"supply_temperature": {"column": "T sup", "unit": "degC"},
               "spray_flow": {"column": "Flow", "unit": "L/min"}}
    log = {"file": "logs/roof_*.csv", "time_column": "Time", "time_zone": "UTC", "stamp": "end", "columns": columns}
    logs = read_logs(site_from_dict({**RECORD, "log": [log]}, tmp_path))
    found = {(finding.code, finding.where): finding for finding in logs.findings}
    spikes, hot, fast = (found[key] for key in (("quality.spikes", "supply_C"), ("quality.out-of-range", "supply_C"),
                                                ("quality.out-of-range", "spray_L_min")))
    # two lines above the first row: row k of a file is its line k + 3
    assert [line.rpartition(",")[0] for line in spikes.data["lines"]] == [
        "logs/roof_1.csv, line 303", "logs/roof_2.csv, line 503"]
    assert hot.data["lines"] == ["logs/roof_1.csv, lines 703 to 762"]
    assert fast.data["lines"] == ["logs/roof_2.csv, line 203"]
    assert fast.message.endswith(" Rows: logs/roof_2.csv, column Flow, line 203.")
    assert hot.data["file"] == "logs/roof_*.csv, column T sup"
    # two spikes of a minute each lie on two steps each, or on one where the other knows more than half of itself
    assert "33 h of spraying are without supply_C; none of 2 nights is lost" in spikes.effect
    assert "1 of 33 h of spraying are without supply_C; 1 of 2 nights is lost for heat by pipe" in hot.effect
