"""Spikes sought in rows, sensors frozen within a night, zeros that are none: invented logs, places by construction."""

from __future__ import annotations

import shutil

import numpy as np
import pandas as pd
import pytest
from make_data_pack import FOLDER
from small_site import RECORD
from test_channels import codes, logs_of

from sprayroof.errors import LogProblems
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import read_site, site_from_dict

DAY, HOUR = 1440, 60
C = {"unit": "degC"}
COLUMNS = {"spray_flow": {"unit": "L/min"}, "supply_temperature": C, "return_temperature": C,
           "store_temperature_1": {**C, "height": 0.3}, "store_temperature_2": {**C, "height": 1.5},
           "air_temperature": C}
WATER = ("supply_temperature", "return_temperature", "store_temperature_1", "store_temperature_2")
TABLE = {"supply_temperature": "supply_C", "return_temperature": "return_C", "store_temperature_1": "store_C_1",
         "store_temperature_2": "store_C_2"}


def nights(step_K=0.01, days=4, noise_K=0.02, fall_K_h=0.4, seed=5):
    """Days from midnight, by minutes: spray from 20:00 to 06:00; the store falls by night and rises by day."""
    rng = np.random.default_rng(seed)
    minute = np.arange(days * DAY)
    hour = minute % DAY / HOUR
    on = (hour >= 20.0) | (hour < 6.0)
    night_h = np.where(on, (hour - 20.0) % 24.0, 0.0)
    store = 20.0 - np.where(on, fall_K_h * night_h, fall_K_h * 10.0 * (1.0 - (hour - 6.0) / 14.0))
    gusts = np.convolve(rng.normal(size=len(minute) + 29), np.ones(30) / 30.0, "valid")  # wind on the roof
    values = {"spray_flow": np.where(on, 60.0, 0.0), "supply_temperature": store,
              "return_temperature": store - np.where(on, 1.5 - 0.5 * gusts, 0.0),
              "store_temperature_1": store + 0.02, "store_temperature_2": store + 0.05,
              "air_temperature": 20.0 + 6.0 * np.cos(2.0 * np.pi * (hour - 15.0) / 24.0)}
    for name in values:
        if name != "spray_flow":
            noisy = values[name] + noise_K * rng.normal(size=len(minute))
            values[name] = np.round(np.round(noisy / step_K) * step_K, 3)
    return values, on


def stuck(values, **more):
    """Column -> minutes that are left out as stuck."""
    logs = logs_of(COLUMNS, values, **more)
    return {column: np.flatnonzero(masks["stuck"]) for column, masks in logs.masks.items() if "stuck" in masks}, logs


# --- sensors that freeze ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noise_K", [0.0, 0.02, 0.2])
@pytest.mark.parametrize(("step_K", "fall_K_h"), [
    (step_K, fall_K_h) for step_K in (0.01, 0.1, 0.25, 0.5, 1.0) for fall_K_h in (0.02, 0.1, 0.4)
    if 10.0 * fall_K_h >= step_K])  # a reading that never changes in days is judged by another rule
def test_sensors_that_follow_are_not_frozen_however_coarse(step_K, noise_K, fall_K_h):
    for seed in range(3):
        found, logs = stuck(nights(step_K, noise_K=noise_K, fall_K_h=fall_K_h, seed=seed)[0])
        assert not found
        assert "quality.stuck" not in codes(logs)


@pytest.mark.parametrize("name", WATER[:2])
@pytest.mark.parametrize(("step_K", "minutes"), [(0.01, 70), (0.1, 100)])  # coarser steps hide more of what moves
def test_an_hour_frozen_while_the_spray_runs_is_left_out_and_told_with_its_rows(name, step_K, minutes):
    values, _ = nights(step_K)
    start = DAY + 22 * HOUR
    values[name][start : start + minutes] = values[name][start]
    found, logs = stuck(values)
    assert list(found) == [TABLE[name]]
    # the value before or after may be the same by chance
    assert found[TABLE[name]][0] >= start - 10
    assert found[TABLE[name]][-1] <= start + minutes + 10
    assert set(range(start, start + minutes)) <= set(found[TABLE[name]])
    assert logs.table[TABLE[name]].iloc[start : start + minutes].isna().all()
    (finding,) = (one for one in logs.findings if one.code == "quality.stuck")
    assert finding.data["rows"] == len(found[TABLE[name]])
    assert f"line {found[TABLE[name]][0] + 2}, 2026-06-02 " in finding.data["first"]  # headings stand in line 1
    assert f"h of spraying are without {TABLE[name]}; 1 of 5 nights is lost for heat by pipe" in finding.effect


def test_half_an_hour_without_a_change_is_not_enough():
    values, _ = nights()
    start = DAY + 22 * HOUR
    values["return_temperature"][start : start + 40] = values["return_temperature"][start]
    assert not stuck(values)[0]


def test_a_number_written_instead_of_every_reading_while_the_pump_runs_is_frozen():
    values, on = nights()
    two = on & (np.arange(len(on)) > 12 * HOUR) & (np.arange(len(on)) < 2 * DAY + 12 * HOUR)
    values["return_temperature"][two] = 12.0
    found, _ = stuck(values)
    assert list(found) == ["return_C"]
    assert set(np.flatnonzero(two)) <= set(found["return_C"])


@pytest.mark.parametrize("every_min", [5, 10, 15])
@pytest.mark.parametrize("share", [1.0, 0.6])
def test_in_slow_logs_too_whole_sprayed_nights_without_a_change_are_frozen(every_min, share):
    """A reading in 15 min that always moves is used to stand for less than that, nobody knows how much less."""
    values, on = nights(days=7)
    values, on = {name: value[::every_min].copy() for name, value in values.items()}, on[::every_min]
    sound, _ = stuck({name: value.copy() for name, value in values.items()}, step_min=float(every_min))
    assert not sound
    place = np.arange(len(on)) * every_min
    for night in (2, 3, 4):
        sprayed = np.flatnonzero(on & ((place + 12 * HOUR) // DAY == night))
        frozen = sprayed[int((1.0 - share) * len(sprayed)):]
        values["return_temperature"][frozen] = 12.0 if share == 1.0 else values["return_temperature"][frozen[0]]
    found, _ = stuck(values, step_min=float(every_min))
    assert list(found) == ["return_C"]
    assert len(found["return_C"]) >= 0.95 * 3 * share * 10 * HOUR / every_min


@pytest.mark.parametrize("hours", [5, 9])
def test_a_store_sensor_is_given_more_time(hours):
    values, _ = nights(0.1)
    start = DAY + 20 * HOUR + 20
    values["store_temperature_1"][start : start + hours * HOUR] = values["store_temperature_1"][start]
    assert list(stuck(values)[0]) == ["store_C_1"]
    values, _ = nights(0.1)
    values["store_temperature_1"][start : start + 2 * HOUR] = values["store_temperature_1"][start]
    assert not stuck(values)[0]


def test_a_coarse_sensor_frozen_for_a_night_is_found_and_its_usual_steps_are_not():
    values, _ = nights(0.5)
    start = DAY + 19 * HOUR
    values["supply_temperature"][start : start + 10 * HOUR] = values["supply_temperature"][start]
    found, _ = stuck(values)
    assert list(found) == ["supply_C"]
    assert found["supply_C"][0] >= start - 2 * HOUR
    assert found["supply_C"][-1] <= start + 10 * HOUR + 2 * HOUR


def test_the_bottom_of_a_layered_store_may_stand_still_while_its_top_falls():
    """The cold layer that is drawn keeps its temperature until the front comes, five hours on."""
    values, on = nights(0.1, noise_K=0.01)
    hour = np.arange(len(on)) % DAY / HOUR
    layer = on & ((hour - 20.0) % 24.0 < 5.0) & (np.arange(len(on)) > DAY)
    for name in ("supply_temperature", "store_temperature_1"):
        values[name][layer] = 16.0
    assert not stuck(values)[0]


def test_water_that_stands_for_hours_and_then_moves_on_by_one_step_is_steady():
    """Only the top of a layered store is logged, and falls all night; the supply stands for three hours in between."""
    values, on = nights(0.1, noise_K=0.0)
    night_h = (np.arange(len(on)) % DAY / HOUR - 20.0) % 24.0
    drawn = 20.0 - 0.4 * np.where(night_h < 5.0, night_h, np.maximum(5.0, night_h - 3.0))
    late = on & (np.arange(len(on)) > DAY + 12 * HOUR) & (np.arange(len(on)) < 2 * DAY + 12 * HOUR)
    values["supply_temperature"][late] = np.round(drawn[late], 1)
    columns = {name: entry for name, entry in COLUMNS.items() if name != "store_temperature_1"}
    logs = logs_of(columns, {name: values[name] for name in columns})
    assert "quality.stuck" not in codes(logs)


def test_a_dead_band_is_what_the_sensor_is_used_to():
    """The export writes a new number only after half a kelvin; the others are written every minute."""
    values, _ = nights()
    shown = values["return_temperature"][0]
    for row, value in enumerate(values["return_temperature"]):
        shown = value if abs(value - shown) >= 0.5 else shown
        values["return_temperature"][row] = shown
    assert not stuck(values)[0]


def test_a_sensor_that_is_asked_once_in_an_hour_is_not_frozen():
    """The other channels of the export are asked every minute. Gusts move the return by up to a kelvin."""
    values, _ = nights(fall_K_h=0.8, days=12)
    asked = values["return_temperature"][::HOUR] + np.random.default_rng(1).uniform(-1.0, 1.0, 12 * 24)
    values["return_temperature"] = np.repeat(asked, HOUR)
    assert not stuck(values)[0]


def test_coarse_readings_of_a_true_night_at_the_airs_own_temperature_are_kept(tmp_path):
    """On 28 September the data pack's roof is as warm as its air: the return stands for six hours, the supply warms.

    Both are rounded to half a kelvin here.
    """
    shutil.copytree(FOLDER, tmp_path / "site", ignore=shutil.ignore_patterns("audit"))
    for file in (tmp_path / "site" / "logs").glob("roof_*.csv"):
        rows = [row.split(";") for row in file.read_bytes().decode("cp1252").split("\n")]
        for row in rows[2:]:
            for place in (1, 2):
                if len(row) > 2 and row[place]:
                    row[place] = f"{round(2.0 * float(row[place].replace(',', '.'))) / 2.0:.1f}".replace(".", ",")
        file.write_bytes("\n".join(map(";".join, rows)).encode("cp1252"))
    logs = read_logs(read_site(tmp_path / "site"))
    assert logs.instruments["return_C"].resolution >= 0.5
    assert [one.where for one in logs.findings if one.code == "quality.stuck"] == ["humidity_frac"]


def test_pipes_that_stand_by_day_are_not_frozen():
    values, _ = nights()
    start = DAY + 8 * HOUR
    values["return_temperature"][start : start + 6 * HOUR] = 19.3
    assert not stuck(values)[0]


def test_a_logger_that_writes_its_last_row_again_and_again_is_found_by_the_air():
    values, _ = nights()
    start = DAY + 20 * HOUR + 10
    for name in WATER:
        values[name][start : start + 8 * HOUR] = values[name][start]
    assert set(stuck(values)[0]) == set(TABLE.values())
    # the air stands too: nothing proves that anything moved
    values["air_temperature"][start - HOUR : start + 9 * HOUR] = 15.0 + 0.01 * (np.arange(10 * HOUR) % 3)
    assert not stuck(values)[0]


# --- spikes in rows that lie on two steps ----------------------------------------------------------------------------


@pytest.mark.parametrize("second", range(0, 60, 6))
@pytest.mark.parametrize("jump_K", [4.0, -9.0])
def test_a_spike_is_found_wherever_its_row_lies_on_the_grid(second, jump_K):
    values, _ = nights(days=1)
    at = 12 * HOUR
    values["supply_temperature"][at] += jump_K
    logs = logs_of(COLUMNS, values, times_min=list(np.arange(DAY) + second / 60.0))
    (finding,) = (one for one in logs.findings if one.code == "quality.spikes")
    assert (finding.where, finding.data["rows"], finding.data["column"]) == ("supply_C", 1, "supply_temperature")
    assert f"line {at + 2}, " in finding.data["first"]
    # bridged or known from the other half of the step: never off by what the spike was
    assert np.abs(logs.table["supply_C"].iloc[at - 2 : at + 3] - values["supply_temperature"][at - 1]).max() < 0.2


def test_jumps_beside_the_pumps_start_are_true_and_those_of_the_air_are_not():
    values, on = nights(days=1)
    start = int(np.flatnonzero(np.diff(on.astype(int)) == 1)[0]) + 1
    for name in ("return_temperature", "air_temperature"):
        values[name][start] += 9.0
    assert [one.where for one in logs_of(COLUMNS, values).findings if one.code == "quality.spikes"] == ["air_C"]


def test_a_spike_in_a_log_of_instants_spoils_both_lines_that_lead_to_it():
    values, _ = nights(days=1)
    values["supply_temperature"][700] += 8.0
    logs = logs_of(COLUMNS, values, log_entries={"values": "instant"})
    (finding,) = (one for one in logs.findings if one.code == "quality.spikes")
    assert finding.data["rows"] == 1
    assert list(np.flatnonzero(logs.masks["supply_C"]["spike"])) == [699, 700]


# --- zeros -----------------------------------------------------------------------------------------------------------


def problem(columns, values, **more):
    with pytest.raises(LogProblems) as caught:
        logs_of(columns, values, **more)
    (told,) = caught.value.problems
    return str(told)


def test_zeros_for_hours_are_asked_about_and_either_answer_settles_it():
    values, _ = nights(days=2)
    lost = slice(22 * HOUR, 26 * HOUR)
    values["return_temperature"][lost] = 0.0
    told = problem(COLUMNS, values)
    assert "exactly 0 in 240 rows (1 time, first at line 1322, 2026-06-01 22:00" in told
    assert 'zeros = "missing" at log.1.columns.return_temperature' in told
    kept = logs_of({**COLUMNS, "return_temperature": {**C, "zeros": "readings"}}, {**values})
    assert "log.missing-codes" not in codes(kept)


def test_ten_single_zeros_are_asked_about_and_two_are_spikes():
    values, _ = nights(days=1)
    values["supply_temperature"][600:1000:40] = 0.0
    assert "exactly 0 in 10 rows (10 times" in problem(COLUMNS, values)
    values, _ = nights(days=1)
    values["supply_temperature"][[600, 800]] = 0.0
    (finding,) = (one for one in logs_of(COLUMNS, values).findings if one.code == "quality.spikes")
    assert finding.data["rows"] == 2


def test_a_zero_in_an_hourly_log_of_a_warm_pipe_is_asked_about():
    values = {"supply_temperature": [14.0, 14.5, 0.0, 14.2, 14.0, 13.9, 13.8, 13.7]}
    assert "exactly 0 in 1 row " in problem({"supply_temperature": C}, values, step_min=60.0)


def test_a_column_of_nothing_but_zeros_is_asked_about():
    assert "there is no other number" in problem({"supply_temperature": C}, {"supply_temperature": [0.0] * 20})


@pytest.mark.parametrize(("name", "unit", "values"), [
    ("air_temperature", "degC", [1.0, 0.5, 0.1, *[0.0] * 40, -0.2, -0.5, -1.0]),  # it freezes by degrees
    ("return_temperature", "degC", [0.1, *[0.0] * 40, 0.1, 4.0, 9.0, 12.0]),  # ice in the pipe, then the pump
    ("spray_flow", "L/min", [60.0] * 10 + [0.0] * 30 + [60.0] * 10),
    ("wind", "m/s", [4.0] * 10 + [0.0] * 30 + [5.0] * 10),
    ("pump_power", "W", [400.0] * 10 + [0.0] * 30 + [400.0] * 10),
])
def test_zeros_that_are_true_pass(name, unit, values):
    logs = logs_of({name: {"unit": unit}}, {name: values})
    assert not [code for code in codes(logs) if code.startswith(("quality", "log"))]


@pytest.mark.parametrize(("name", "unit", "value"), [
    ("humidity", "%", 60.0), ("level", "m3", 15.0), ("conductivity", "uS/cm", 400.0),
    ("room_temperature", "degF", 70.0),
])
def test_zeros_of_other_channels_that_are_never_zero_are_asked_about(name, unit, value):
    values = value + 0.01 * np.arange(60.0)
    values[20:30] = 0.0
    assert "exactly 0 in 10 rows" in problem({name: {"unit": unit}}, {name: values})


def test_zeros_stated_as_missing_are_taken_out_of_the_file(tmp_path):
    stamps = pd.date_range("2026-06-01", periods=60, freq="1min").strftime("%Y-%m-%d %H:%M")
    numbers = [0.0 if 20 <= row < 30 else 14.0 + 0.01 * row for row in range(60)]
    (tmp_path / "log.csv").write_text("Time,T\n" + "".join(f"{stamp},{number:.2f}\n" for stamp, number in zip(
        stamps, numbers, strict=True)), encoding="utf-8")
    block = {"file": "log.csv", "time_column": "Time", "time_zone": "UTC", "stamp": "start",
             "columns": {"supply_temperature": {"column": "T", "unit": "degC", "zeros": "missing"}}}
    logs = read_logs(site_from_dict({**RECORD, "log": [block]}, tmp_path))
    (finding,) = (one for one in logs.findings if one.code == "log.missing-codes")
    assert finding.data["codes"] == {"0": 10}
    assert (logs.known["supply_C"][20:30] == 0.0).all()
