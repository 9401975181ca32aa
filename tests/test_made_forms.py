"""Forms of logs that need weeks of readings: one fault planted in an invented record, written to a file, and read.

Forms that need a few rows only are the folders of bad_inputs/logs; forms.toml there lists every form with its cases.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from invented_record import DAY, HOUR, STEP_S, record
from small_site import RECORD

from sprayroof.errors import LogProblems
from sprayroof.evidence.read_logs import read_logs
from sprayroof.evidence.site import site_from_dict

COLUMNS = {
    "air_temperature": {"column": "air_C", "unit": "degC"},
    "humidity": {"column": "humidity_frac", "unit": "1"},
    "wind": {"column": "wind_m_s", "unit": "m/s"},
    "store_temperature": {"column": "store_C", "unit": "degC"},
    "supply_temperature": {"column": "supply_C", "unit": "degC"},
    "return_temperature": {"column": "return_C", "unit": "degC"},
    "spray_flow": {"column": "spray_L_min", "unit": "L/min"},
    "pump_power": {"column": "pump_W", "unit": "W"},
    "rain": {"column": "rain_mm", "unit": "mm"},
    "level": {"column": "store_m3", "unit": "m3"},
    "makeup_flow": {"column": "makeup_L_min", "unit": "L/min"},
}


def clean() -> pd.DataFrame:
    table, _ = record()
    return table


def night_steps(table: pd.DataFrame, *nights: int) -> np.ndarray:
    """Steps from 21 h to 5 h of the evenings counted from 0."""
    place = np.arange(len(table))
    evening = (place - 12 * HOUR) // DAY
    hour = (place % DAY) / HOUR
    return np.isin(evening, nights) & ((hour >= 21) | (hour < 5))


def logs_in(folder: Path, table: pd.DataFrame, late: dict[str, float] | None = None, **columns: dict):
    """The record through a file; `late` puts columns in a second file whose clock is late by so many minutes."""
    late = late or {}
    blocks = []
    for name, minutes in (("one", 0.0), *((("two", max(late.values())),) if late else ())):
        taken = {channel: {**entry, **columns.get(channel, {})} for channel, entry in COLUMNS.items()
                 if (entry["column"] in late) == (name == "two")}
        part = table[[entry["column"] for entry in taken.values()]].copy()
        part.index = (part.index + pd.Timedelta(minutes=minutes)).strftime("%Y-%m-%d %H:%M")
        part.round(3).to_csv(folder / f"{name}.csv", index_label="Time")
        blocks.append({"file": f"{name}.csv", "time_column": "Time", "time_zone": "UTC", "stamp": "start",
                       "columns": taken})
    return site_from_dict({**RECORD, "log": blocks}, folder)


def weather_of(table: pd.DataFrame, **columns) -> SimpleNamespace:
    """A station's hourly record of the same weeks."""
    frame = pd.DataFrame({"t_air_C": table["air_C"], "wind_m_s": table["wind_m_s"] * 1.3, "rain_mm": 0.0,
                          "pressure_Pa": 98000.0, "solar_W_m2": sun_W_m2(table), **columns}, index=table.index)
    return SimpleNamespace(table=frame.resample("1h").mean(), names={"typical_year": False})


def sun_W_m2(table: pd.DataFrame) -> np.ndarray:
    hour = (np.arange(len(table)) % DAY) / HOUR
    return np.where((hour > 6) & (hour < 20), np.clip(900.0 * np.sin(np.pi * (hour - 6.0) / 14.0), 0.0, None), 0.0)


# --- what is planted ----------------------------------------------------------------------------------------------


def stuck(table):
    table.loc[night_steps(table, 4, 5), "return_C"] = 12.0


def clipped(table):
    table["pump_W"] = table["pump_W"].clip(upper=399.0)


def saturated(table):
    table.iloc[4 * DAY : 8 * DAY, table.columns.get_loc("humidity_frac")] = 1.0


def quantised(table):
    table["air_C"] = (table["air_C"] * 2.0).round() / 2.0


def spiky(table):
    for place in (500, 1700, 3300):
        table.iloc[place, table.columns.get_loc("store_C")] += 12.0


def wetted(table):
    where = night_steps(table, 4, 5, 6)
    table.loc[where, "humidity_frac"] = 0.985 + 0.004 * np.sin(np.arange(where.sum()))


def sunlit(table):
    table["air_C"] += 6.0 * sun_W_m2(table) / 900.0


def drifting(table):
    table["return_C"] -= np.linspace(0.0, 0.6, len(table))


def exchanged(table):
    table[["supply_C", "return_C"]] = table[["return_C", "supply_C"]].to_numpy()


def windy_in_km_h(table):
    table["wind_m_s"] = 3.6 * table["wind_m_s"].rolling(6, min_periods=1).mean()


@dataclass(frozen=True)
class Case:
    """A fault, the code that must tell it, and the mask that must hold it (none: readings stay in use)."""

    plant: Callable[[pd.DataFrame], None]
    code: str
    column: str
    mask: str = ""
    weather: bool = False


CASES = {
    "stuck": Case(stuck, "quality.stuck", "return_C", "stuck"),
    "clipped": Case(clipped, "quality.clipped", "pump_W", "note_clipped"),
    "humidity saturated for days": Case(saturated, "quality.humidity-saturated", "humidity_frac", "saturated"),
    "quantised": Case(quantised, "quality.coarse", "air_C"),
    "spiky": Case(spiky, "quality.spikes", "store_C", "spike"),
    "wetted": Case(wetted, "quality.humidity-wetted", "humidity_frac", "wetted"),
    "sunlit": Case(sunlit, "quality.sensor-in-sun", "air_C", "sunlit", weather=True),
    "drifting": Case(drifting, "cross.pair-drifts", "return_C"),
    "exchanged": Case(exchanged, "cross.pair-swapped", "supply_C"),
    "wind in km/h": Case(windy_in_km_h, "cross.wind-above-station", "wind_m_s", weather=True),
}


def told(logs) -> set[str]:
    return {finding.code for finding in logs.findings if finding.code.startswith(("quality.", "cross."))}


@pytest.mark.parametrize("with_station", [False, True])
def test_the_record_without_a_fault_raises_nothing(tmp_path, with_station):
    table = clean()
    logs = read_logs(logs_in(tmp_path, table), weather_of(table) if with_station else None)
    assert not told(logs)


@pytest.mark.parametrize("name", CASES)
def test_the_fault_is_told_and_no_other(tmp_path, name):
    case, table = CASES[name], clean()
    before = table.copy()
    case.plant(table)
    logs = read_logs(logs_in(tmp_path, table), weather_of(before) if case.weather else None)
    assert told(logs) == {case.code}
    (finding,) = (finding for finding in logs.findings if finding.code == case.code)
    assert finding.effect
    changed = (table[case.column] != before[case.column]).to_numpy()
    if case.mask and case.mask != "note_clipped":
        masked = logs.masks[case.column][case.mask][: len(changed)]
        assert (masked & changed).sum() >= 0.8 * changed.sum()  # the edges of a fault may look sound
    else:
        read = logs.table[case.column].to_numpy()[: len(changed)]
        np.testing.assert_allclose(read, table[case.column], atol=6e-4)


def test_a_clock_that_is_late_in_another_file_is_told(tmp_path):
    logs = read_logs(logs_in(tmp_path, clean(), late={"pump_W": 60.0}))
    assert told(logs) & {"cross.clocks-apart", "cross.clock-hour"}


def test_a_pulse_counted_at_both_edges_is_asked_for(tmp_path):
    table = clean()
    table["spray_L_min"] = np.round(table["spray_L_min"] * STEP_S / 60.0 / 10.0) * 2.0
    pulses = {"spray_flow": {"unit": "pulses", "kind": "sum", "per_count": "10 L"}}
    with pytest.raises(LogProblems) as caught:
        read_logs(logs_in(tmp_path, table, **pulses))
    assert any("both edges of a pulse counted" in str(problem) for problem in caught.value.problems)


def test_a_wind_too_strong_for_metres_a_second_is_asked_for(tmp_path):
    table = clean()
    table["wind_m_s"] = table["wind_m_s"] * 3.6 + 8.0
    with pytest.raises(LogProblems) as caught:
        read_logs(logs_in(tmp_path, table))
    assert any('"km/h"' in str(problem) for problem in caught.value.problems)


def test_a_drift_widens_the_sensor_that_drifts(tmp_path):
    (tmp_path / "right").mkdir()
    table = clean()
    as_it_was = read_logs(logs_in(tmp_path / "right", table)).instruments["return_C"].offset
    drifting(table)
    offset = read_logs(logs_in(tmp_path, table)).instruments["return_C"].offset
    assert offset - as_it_was == pytest.approx(0.3, abs=0.03)  # half of 0.6 K


# --- every form has its cases -------------------------------------------------------------------------------------

BAD_INPUTS = Path(__file__).parent / "bad_inputs"
MADE_ALONE = {  # forms made here whose test stands by itself
    "clock an hour late in another file", "pulses counted at both edges", "wind too strong for m/s",
}


def test_every_form_has_cases_that_are_there():
    forms = tomllib.loads((BAD_INPUTS / "forms.toml").read_text(encoding="utf-8"))["form"]
    assert len(forms) >= 30
    for form in forms:
        for case in form["cases"]:
            room, _, name = case.partition(": ")
            if room == "made":
                assert name in CASES or name in MADE_ALONE, case
            elif room == "test":
                file, _, function = name.partition("::")
                text = (Path(__file__).parent / file).read_text(encoding="utf-8")
                assert not function or f"def {function}(" in text, case
            else:
                assert (BAD_INPUTS / case).is_dir(), case


def test_every_case_belongs_to_a_form():
    forms = tomllib.loads((BAD_INPUTS / "forms.toml").read_text(encoding="utf-8"))["form"]
    listed = {case for form in forms for case in form["cases"]}
    assert {f"made: {name}" for name in {*CASES, *MADE_ALONE}} <= listed
