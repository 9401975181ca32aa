"""Logged power against nameplate, spot test and site file: mistaken units are asked for, true readings are not.

A machine of 18 kW of cooling at 3 kWh/kWh takes 6 kW. In quarters of an hour that is 1.5 kWh.
"""

from __future__ import annotations

import numpy as np
import pytest
from measured_makers import Hours, hand_site, quiet_columns
from small_site import small_site
from test_channels import log, table

from sprayroof.errors import LogProblems
from sprayroof.evidence.read_logs import logs_of_tables
from sprayroof.model.measured import measure

PLATE = {"rated_cop": 3.0, "rated_capacity": 18.0}
SPOT = {"kind": "spot efficiency", "from": "2026-06-01 02:00", "to": "2026-06-01 03:00", "cooling": 18.0, "power": 6.0}


def read(values, minutes=15, unit="kW", kind=None, channel="ac_power", **site):
    """Logs of a power channel at even intervals from midnight UTC of 1 June 2026 on; NaN rows are left empty."""
    declared = {channel: {"unit": unit, **({"kind": kind} if kind else {})}}
    made = small_site(log=[log(declared)], place={"time_zone": "UTC"}, **site)
    times = (minutes * (1 + np.arange(len(values)))).tolist()
    return logs_of_tables(made, {0: [table({channel: np.asarray(values, dtype=float)}, times_min=times)]})


def running(level, count=96):
    """Standing for an hour at either end, else at `level`, a little unsteady."""
    values = level * (1.0 + 0.03 * np.sin(np.arange(count)))
    values[:4] = values[-4:] = 0.0
    return values


@pytest.mark.parametrize("minutes", [1, 5, 10, 15])
def test_energy_of_an_interval_read_as_power_is_asked_for(minutes):
    with pytest.raises(LogProblems, match=r'log\.1\.columns\.ac_power write unit = "kWh" and kind = "sum"'):
        read(running(6.0 * minutes / 60.0), minutes, air_conditioner=PLATE)


@pytest.mark.parametrize("minutes", [1, 5, 10, 15])
def test_power_read_as_energy_of_an_interval_is_asked_for(minutes):
    with pytest.raises(LogProblems, match=r'log\.1\.columns\.ac_power write unit = "kW" and kind = "mean"'):
        read(running(6.0), minutes, "kWh", "sum", air_conditioner=PLATE)


@pytest.mark.parametrize(("level", "word"), [(6000.0, "smaller"), (0.006, "larger")])
def test_watts_and_kilowatts_exchanged_are_asked_for(level, word):
    with pytest.raises(LogProblems, match=f"correct unit: the readings seem to be a thousand times {word}"):
        read(running(level), air_conditioner=PLATE)


@pytest.mark.parametrize(("values", "minutes", "unit", "kind"), [
    (running(6.0), 15, "kW", None), (running(1.5), 15, "kWh", "sum"), (running(0.1), 1, "kWh", "sum"),
    (running(2.9), 15, "kW", None),  # half its nameplate
    (running(1.5), 60, "kW", None),  # a quarter of it, by hours: nothing that an hour's kWh would explain
    (running(0.5), 15, "kW", None),  # a twelfth, by quarters
    (running(8.5), 15, "kW", None),
])
def test_true_readings_are_not_asked_for(values, minutes, unit, kind):
    logs = read(values, minutes, unit, kind, air_conditioner=PLATE)
    assert np.nanmax(logs.table["ac_W"]) > 0.0


def test_a_spot_test_is_asked_about_and_goes_before_the_nameplate():
    with pytest.raises(LogProblems, match=r"where the spot test \(test\.1\) found 6000 W.* or correct test\.1\.power"):
        read(running(1.5), test=[SPOT])
    # the machine takes a quarter of its nameplate, and the test says the same
    read(running(1.5), test=[SPOT | {"power": 1.5}], air_conditioner=PLATE)


def test_a_machine_that_starts_and_stops_in_a_spot_test_is_read_while_it_runs():
    values = running(6.0, 24 * 60)
    values[np.arange(len(values)) % 10 < 6] = 0.0  # runs four minutes in ten
    logs = read(values, 1, test=[SPOT])  # its mean over the test, 2.4 kW, would be asked about
    assert logs.table["ac_W"].max() == pytest.approx(6180.0, rel=0.01)  # 6 kW and 3 % of unrest
    with pytest.raises(LogProblems, match="spot test"):
        read(values / 4.0, 1, test=[SPOT])


def test_a_spot_test_outside_the_log_is_held_against_the_running_hours():
    later = SPOT | {"from": "2026-07-01 02:00", "to": "2026-07-01 03:00"}
    with pytest.raises(LogProblems, match="while running, where the spot test"):
        read(running(1.5), test=[later])
    read(running(1.5), 60, test=[later])


def test_circulation_pumps_are_held_against_their_stated_power():
    """60 W stated; 15 Wh in a quarter of an hour."""
    with pytest.raises(LogProblems, match=r'columns\.circulation_power write unit = "Wh".* emitter\.1\.pump_power'):
        read(running(15.0), unit="W", channel="circulation_power")
    read(running(60.0), unit="W", channel="circulation_power")
    read(running(15.0), unit="Wh", kind="sum", channel="circulation_power")


@pytest.mark.parametrize(("logged_W", "left"), [(6000.0, None), (6900.0, None), (9000.0, 0.5), (4000.0, -1.0 / 3.0)])
def test_the_ledger_holds_a_spot_test_against_the_log(logged_W, left):
    """Its power is sure to a tenth unless stated; twice that is let pass."""
    hours = Hours(nights=2, step_min=10)
    spot = SPOT | {"from": "2026-06-01 14:00", "to": "2026-06-01 15:00"}
    found = measure(hand_site(test=[spot]), hours.logs(**quiet_columns(hours), ac_W=logged_W))
    told = [finding for finding in found.findings if finding.code == "test.left-over"]
    assert f"the log says {logged_W / 1000.0:.2f} kW beside 6 kW" in found.tests[0]["found"]
    assert [finding.data["left_frac"] for finding in told] == ([] if left is None else [pytest.approx(left)])
