"""The night ledger against numbers worked on paper: errors, nights, heat by pipe and by the store."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from measured_makers import KWH_M3_K, UNTESTED, Hours, codes, hand_site, quiet_columns, sprayed_columns, sure

from sprayroof.evidence.logs import Instrument
from sprayroof.model.measured import measure, quantities
from sprayroof.model.measured_amounts import Amount, by_weight, grade, total

# --- amounts --------------------------------------------------------------------------------------------------------


def test_instruments_add_with_their_sign_and_chance_in_squares():
    first, second = Amount(10.0, {"meter": 0.3, "pair": 0.4}, 3.0), Amount(-4.0, {"meter": -0.1, "pair": 0.4}, 4.0)
    both = total([first, second])
    assert both.value == 6.0
    assert both.shifts == pytest.approx({"meter": 0.2, "pair": 0.8})
    assert both.systematic == pytest.approx(math.hypot(0.2, 0.8))
    assert both.random == 5.0
    assert both.half_width == pytest.approx(math.sqrt(0.04 + 0.64 + 25.0))


def test_a_product_carries_both_errors():
    # (3 +- 0.3)(5 +- 0.5): 15 +- 1.5 from either
    product = Amount(3.0, {"a": 0.3}).times(Amount(5.0, {"b": 0.5}, 0.1))
    assert product.value == 15.0
    assert product.shifts == pytest.approx({"a": 1.5, "b": 1.5})
    assert product.random == pytest.approx(0.3)


def test_weights_are_inverse_squares_of_the_widths():
    mean = by_weight(Amount(10.0, {}, 1.0), Amount(20.0, {}, 2.0))
    assert mean.value == pytest.approx((10.0 * 4.0 + 20.0 * 1.0) / 5.0)
    assert mean.random == pytest.approx(math.hypot(0.8, 0.4))


def test_an_error_that_both_share_is_not_halved():
    shared = {"volume": 1.0}
    assert by_weight(Amount(10.0, shared), Amount(10.0, shared)).systematic == pytest.approx(1.0)


@pytest.mark.parametrize(("value", "half", "letter"), [
    (100.0, 10.0, "A"), (100.0, 10.1, "B"), (100.0, 25.0, "B"), (-100.0, 50.0, "C"), (100.0, 51.0, "D"),
    (1.0, 1.5, "D"), (0.0, 0.0, "A"), (0.0, 1.0, "D")])
def test_grades_go_by_width(value, half, letter):
    assert grade(value, half) == letter


def test_what_was_not_measured_throughout_is_no_grade_a():
    assert grade(100.0, 1.0, whole=False) == "B"
    assert grade(100.0, 1.0, basis="assumed") == "D"


# --- two nights on paper --------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def two_nights():
    """Night 1: 22:00 to 02:00, 100 L/min, 2 K colder; store 15.000 to 14.940 m3 and 21.55 to 18.45 degC.

    Night 2: 22:00 to 24:00, 100 L/min, 1 K warmer; store 14.940 to 14.910 m3 and 19.65 to 20.35 degC.
    """
    hours = Hours(nights=2)
    first, second = hours.between(10.0, 14.0), hours.between(34.0, 36.0)
    level = hours.held((0.0, 15.0), (14.0, 14.94), (36.0, 14.91), after=15.0)
    columns = {
        **quiet_columns(hours),
        "spray_L_min": np.where(first | second, 100.0, 0.0), "pump_W": np.where(first | second, 500.0, 0.0),
        "return_C": np.where(first, 18.0, np.where(second, 21.0, 20.0)),
        # up on the roof while it sprays: 0.3 m3
        "store_m3": level - 0.3 * (first | second),
        "store_C": hours.held((14.0, 18.45), (24.0, 19.65), (36.0, 20.35), after=21.55),
    }
    instruments = {"spray_L_min": Instrument(0.0, 0.02), "supply_C": Instrument(0.1, 0.0),
                   "return_C": Instrument(0.05, 0.0, tied_to="supply_C"), "store_m3": Instrument(0.1, 0.01),
                   "pump_W": Instrument(0.0, 0.03)}
    return measure(hand_site(), hours.logs(instruments, **columns))


def test_nights_belong_to_the_date_on_which_they_began(two_nights):
    assert [night["date"] for night in two_nights.nights] == ["2026-06-01", "2026-06-02"]
    assert (two_nights.start, two_nights.end) == ("2026-06-01", "2026-06-03")


def test_heat_by_pipe_on_paper(two_nights):
    # 24 m3 x 1.160153 x 2 K = 55.687 kWh; 12 m3 x 1.160153 x -1 K = -13.922 kWh: the negative night stays
    assert [night["cooling_pipe_kWh"] for night in two_nights.nights] == pytest.approx(
        [48.0 * KWH_M3_K, -12.0 * KWH_M3_K], rel=1e-5)
    assert two_nights.totals["cooling_pipe_kWh"].value == pytest.approx(36.0 * KWH_M3_K, rel=1e-5)


def test_errors_of_heat_by_pipe_on_paper(two_nights):
    # night 1: flow 2 % of 55.687 = 1.1137; pair 0.05 K x 24 m3 x 1.160153 = 1.3922
    first = two_nights.nights[0]
    assert first["cooling_pipe_systematic_kWh"] == pytest.approx(math.hypot(1.1137, 1.3922), rel=1e-3)
    # edges: 13.922 kW x 60 s x sqrt 2
    assert first["cooling_pipe_random_kWh"] == pytest.approx(13.922 * 60.0 * math.sqrt(2.0) / 3600.0, rel=1e-3)
    # period: the flow's error goes with the net sum of 41.765, the pair's with all 36 m3 whatever the nights' signs
    whole = two_nights.totals["cooling_pipe_kWh"]
    assert whole.systematic == pytest.approx(math.hypot(0.02 * 41.765, 0.05 * 36.0 * 1.160153), rel=1e-3)
    assert whole.random == pytest.approx(math.hypot(0.32814, 0.16407), rel=1e-3)
    assert whole.high - whole.low == pytest.approx(2.0 * math.hypot(whole.systematic, whole.random))


def test_heat_by_the_store_on_paper(two_nights):
    # night 1: 14.970 m3 x 1.160153 x 3.1 K = 53.839, pump 2 kWh x 0.8 = 1.6; no walls in air of the mean temperature
    # night 2: 14.925 m3 x 1.160153 x -0.7 K = -12.121, pump 1 kWh x 0.8 = 0.8
    assert [night["cooling_tank_kWh"] for night in two_nights.nights] == pytest.approx(
        [53.839 + 1.6, -12.121 + 0.8], abs=2e-3)


def test_errors_of_heat_by_the_store_on_paper(two_nights):
    # level 0.1 m3 x 3.1 K x 1.160153 = 0.3597; 1 % of 53.839; pump share 0.2 x 2 kWh; pump meter 3 % of 1.6
    # one sensor stands for the whole store within 0.3 K at either end, half of the variance alike on every night:
    # 14.970 x 1.160153 x 0.3 K x sqrt(2 ends / 2) = 5.2102 either way
    first = two_nights.nights[0]
    assert first["cooling_tank_systematic_kWh"] == pytest.approx(
        math.sqrt(0.3597 ** 2 + 0.5384 ** 2 + 0.4 ** 2 + 0.048 ** 2 + 5.2102 ** 2), rel=1e-3)
    assert first["cooling_tank_random_kWh"] == pytest.approx(5.2102, rel=1e-3)


def test_layers_of_the_store_err_alike_on_every_night_in_part(two_nights):
    """Sum of two nights: what is alike adds up, what is of the night in squares; a store's two states do not cancel."""
    others = (0.1 * (3.1 - 0.7) * 1.160153, 0.01 * (53.839 - 12.121), 0.2 * 3.0, 0.03 * 2.4)
    whole = two_nights.totals["cooling_tank_kWh"]
    assert whole.systematic == pytest.approx(math.hypot(0.3 * 1.160153 * (14.970 + 14.925), *others), rel=1e-3)
    assert whole.random == pytest.approx(0.3 * 1.160153 * math.hypot(14.970, 14.925), rel=1e-3)


def test_both_ways_weighed_on_paper(two_nights):
    pipe, tank = 1.78287 ** 2 + 0.32814 ** 2, 0.3597 ** 2 + 0.5384 ** 2 + 0.4 ** 2 + 0.048 ** 2 + 7.3685 ** 2
    wanted = (tank * 55.687 + pipe * 55.439) / (pipe + tank)
    assert two_nights.nights[0]["cooling_roof_kWh"] == pytest.approx(wanted, abs=2e-3)
    assert two_nights.nights[0]["heat_by"] == "both"


def test_water_on_paper(two_nights):
    assert [night["water_remainder_m3"] for night in two_nights.nights] == pytest.approx([0.060, 0.030])
    # 1 % of the level's scale goes with the water lost; a constant error of the level goes out of a difference
    assert two_nights.totals["water_remainder_m3"].systematic == pytest.approx(0.01 * 0.090)
    assert two_nights.totals["storage_change_m3"].value == pytest.approx(-0.090)


def test_litres_hours_and_electricity_on_paper(two_nights):
    totals = two_nights.totals
    assert totals["sprayed_m3"].value == pytest.approx(36.0)
    assert totals["sprayed_m3"].systematic == pytest.approx(0.72)
    assert totals["spray_hours_h"].value == pytest.approx(6.0)
    assert totals["electricity_own_kWh"].value == pytest.approx(3.0)
    assert totals["cooling_stored_kWh"].value == pytest.approx(totals["cooling_roof_kWh"].value - 2.4)
    first = two_nights.nights[0]
    assert (first["t_air_mean_C"], first["wind_mean_m_s"], first["humidity_mean_frac"]) == pytest.approx(
        (20.0, 2.0, 0.6))
    # wet bulb of 20 degC and 60 %: 15.2 degC (Stull 2011, table 1: 15.2)
    assert first["t_wetbulb_mean_C"] == pytest.approx(15.2, abs=0.15)


def test_nothing_is_split_without_a_leak_test(two_nights):
    assert not {"evaporation_m3", "drift_m3", "leak_m3", "spray_loss_m3"} & set(two_nights.totals)
    assert {"ledger.leak-untested", "ledger.not-split", "ledger.negative-nights"} <= codes(two_nights)


def test_quantities_carry_the_fixed_identifiers(two_nights):
    found = quantities(two_nights)
    assert {"cooling_roof_kWh", "cooling_stored_kWh", "electricity_own_kWh", "sprayed_m3", "mains_m3",
            "storage_change_m3", "water_remainder_m3", "overflow_m3"} <= set(found)
    heat = found["cooling_pipe_kWh"]
    assert (heat.basis, heat.unit, heat.grade) == ("measured", "kWh", "A")
    assert heat.low < heat.value < heat.high


def test_months_sum_to_the_whole():
    hours = Hours(nights=40)
    spells = [(24.0 * night + 10.0, 24.0 * night + 12.0) for night in range(40)]
    found = measure(hand_site(), hours.logs(**sprayed_columns(hours, *spells)))
    assert [(row["month"], row["nights"]) for row in found.months] == [("2026-06", 30), ("2026-07", 10)]
    assert [row["cooling_pipe_kWh"]["value"] for row in found.months] == pytest.approx(
        [30 * 24.0 * KWH_M3_K, 10 * 24.0 * KWH_M3_K], rel=1e-5)


# --- what more readings do, and do not do ---------------------------------------------------------------------------


def heat_of_one_night(step_min, instruments, nights=1, noise_K=0.0):
    hours = Hours(nights=nights, step_min=step_min)
    spells = [(24.0 * night + 9.0, 24.0 * night + 15.0) for night in range(nights)]
    columns = sprayed_columns(hours, *spells)
    columns["return_C"] = columns["return_C"] + noise_K * np.random.default_rng(3).standard_normal(len(hours.starts))
    return measure(hand_site(), hours.logs(instruments, **columns)).totals["cooling_pipe_kWh"]


def test_a_calibration_error_is_not_averaged_away_by_more_readings():
    coarse, fine = (heat_of_one_night(step_min, UNTESTED, noise_K=0.3) for step_min in (10, 1))
    assert fine.systematic == pytest.approx(coarse.systematic, rel=0.02)
    # untied sensors: 0.1 K each, 36 m3; 3 % of 72 x 1.160153
    assert coarse.systematic == pytest.approx(
        math.sqrt(2 * (0.1 * 36.0 * 1.160153) ** 2 + (0.03 * 83.53) ** 2), rel=0.03)


def test_a_calibration_error_is_not_averaged_away_by_more_nights():
    one, nine = (heat_of_one_night(10, UNTESTED, nights) for nights in (1, 9))
    assert nine.systematic == pytest.approx(9.0 * one.systematic)
    assert nine.random == pytest.approx(3.0 * one.random)


def test_noise_of_readings_is_averaged():
    """0.5 K of noise: 36 readings give 1.645 x 0.5 / 6 = 0.137 K, 360 readings 0.043 K, on 36 m3; and the edges."""
    edges = 23.2 * 60.0 * math.sqrt(2.0) / 3600.0
    for step_min, wanted_K in ((10, 0.137), (1, 0.0434)):
        random = heat_of_one_night(step_min, {}, noise_K=0.5).random
        assert math.sqrt(random ** 2 - (13.92 / 23.2 * edges) ** 2) == pytest.approx(36.0 * 1.16 * wanted_K, rel=0.35)


def test_finer_steps_converge():
    """A return that falls from 20 to 16 degC over the night in a curve: the integral of the curve is known."""
    def heat(step_min):
        hours = Hours(nights=1, step_min=step_min)
        columns = sprayed_columns(hours, (9.0, 15.0))
        into = np.clip((hours.starts + step_min / 120.0 - 9.0) / 6.0, 0.0, 1.0)
        columns["return_C"] = 20.0 - 4.0 * np.sin(0.5 * np.pi * into)
        return measure(hand_site(), hours.logs(**columns)).totals["cooling_pipe_kWh"].value

    wanted = 36.0 * KWH_M3_K * 4.0 * 2.0 / np.pi
    errors = [abs(heat(step_min) - wanted) for step_min in (20, 10, 5)]
    assert errors[2] < 0.002 * wanted
    assert errors[2] < errors[1] < errors[0]


# --- records that lack ----------------------------------------------------------------------------------------------


def with_gap(start, stop, columns_lacking=("spray_L_min", "supply_C", "return_C"), nights=3):
    hours = Hours(nights=nights)
    spells = [(24.0 * night + 8.0, 24.0 * night + 20.0) for night in range(nights)]
    columns = sprayed_columns(hours, *spells)
    for name in columns_lacking:
        columns[name] = np.where(hours.between(start, stop), np.nan, columns[name])
    return measure(hand_site(), hours.logs(**columns))


def test_a_gap_of_an_hour_is_filled_by_the_rest_of_the_night():
    found = with_gap(10.0, 11.0)
    assert found.nights[0]["cooling_pipe_kWh"] == pytest.approx(144.0 * KWH_M3_K, rel=1e-5)
    assert found.nights[0]["pipe_why"] == ""


def test_a_longer_gap_while_spraying_leaves_the_night_out_and_says_why():
    found = with_gap(10.0, 11.5)
    assert found.nights[0]["cooling_pipe_kWh"] is None
    assert "spray flow: no reading for 90 minutes while spraying" in found.nights[0]["pipe_why"]
    assert "88% of the records, 90% wanted" in found.nights[0]["pipe_why"]


def test_a_night_left_out_is_not_counted_as_zero():
    found, whole = with_gap(10.0, 12.0), with_gap(10.0, 10.0)
    two, three = 2 * 144.0 * KWH_M3_K, 3 * 144.0 * KWH_M3_K
    assert (found.totals["cooling_pipe_kWh"].value, found.totals["cooling_pipe_kWh"].nights) == (
        pytest.approx(two, rel=1e-5), 2)
    assert found.estimates["cooling_pipe_kWh"].value == pytest.approx(three, rel=1e-5)
    assert whole.estimates["cooling_pipe_kWh"] == whole.totals["cooling_pipe_kWh"]


def test_an_estimate_for_all_nights_is_less_sure_than_the_sum():
    hours = Hours(nights=4)
    columns = sprayed_columns(hours, *((24.0 * night + 8.0, 24.0 * night + 14.0) for night in range(4)))
    columns["return_C"] = 20.0 - hours.held((0.0, 1.0), (24.0, 2.0), (48.0, 3.0), (72.0, 2.0), after=1.0)
    columns["spray_L_min"] = np.where(hours.between(81.0, 84.0), np.nan, columns["spray_L_min"])
    found = measure(hand_site(), hours.logs(**columns))
    measured, estimated = (found.totals["cooling_pipe_kWh"], found.estimates["cooling_pipe_kWh"])
    # 36 m3 at 1, 2 and 3 K; the fourth at their mean, scatter 1 K: 1.645 x 1 x sqrt(1 + 1/3) K
    assert measured.value == pytest.approx(36.0 * KWH_M3_K * 6.0, rel=1e-3)
    assert estimated.value == pytest.approx(36.0 * KWH_M3_K * 8.0, rel=1e-3)
    assert math.sqrt(estimated.random ** 2 - (measured.random * 8.0 / 6.0) ** 2) == pytest.approx(
        36.0 * KWH_M3_K * 1.645 * math.sqrt(4.0 / 3.0), rel=1e-3)
    assert estimated.grade != "A"


def test_few_records_leave_a_night_out():
    # 12 h of spraying, every eighth record missing: 87.5 %
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (8.0, 20.0))
    places = np.flatnonzero(hours.between(8.0, 20.0))
    columns["return_C"][places[::8]] = np.nan
    found = measure(hand_site(), hours.logs(**columns))
    assert "return temperature: 88% of the records, 90% wanted" in found.nights[0]["pipe_why"]


def test_nights_that_the_logs_do_not_hold_are_no_nights():
    """An hour before the first noon and an hour after the last are logged too."""
    assert len(with_gap(10.0, 10.0).nights) == 3


def test_nights_outside_the_measured_period_are_left_aside():
    hours = Hours(nights=3)
    site = hand_site(logged={"from": "2026-06-02", "to": "2026-06-02"})
    found = measure(site, hours.logs(**sprayed_columns(hours, (8.0, 20.0), (32.0, 44.0))))
    assert [night["date"] for night in found.nights] == ["2026-06-02"]


def test_channels_that_were_never_logged_are_named():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (8.0, 20.0))
    del columns["return_C"], columns["store_m3"]
    found = measure(hand_site(), hours.logs(**columns))
    night = found.nights[0]
    assert not night["valid"]
    assert night["pipe_why"] == "return temperature was not logged"
    assert "the level is not known" in night["tank_why"]
    assert night["water_why"] == "the level was not logged"
    assert "cooling_roof_kWh" not in found.totals


def test_without_any_word_of_spraying_no_night_counts():
    hours = Hours(nights=1)
    columns = quiet_columns(hours)
    for name in ("spray_L_min", "pump_W"):
        del columns[name]
    night = measure(hand_site(), hours.logs(**columns)).nights[0]
    assert not night["valid"]
    assert "whether it sprayed" in night["tank_why"]


def test_a_night_without_spraying_is_a_night_of_zero():
    hours = Hours(nights=1)
    night = measure(hand_site(), hours.logs(**quiet_columns(hours))).nights[0]
    assert night["valid"]
    assert (night["cooling_roof_kWh"], night["spray_hours_h"], night["sprayed_m3"]) == (0.0, 0.0, 0.0)


def test_steps_in_which_the_pump_ran_in_part_do_not_mix_in_standing_water():
    """Half-hour means: the first and last step ran for 12 min; their mean temperatures are those of standing water."""
    hours = Hours(nights=1, step_min=30)
    columns = sprayed_columns(hours, (9.0, 15.0))
    places = np.flatnonzero(hours.between(9.0, 15.0))[[0, -1]]
    columns["spray_L_min"][places] = 40.0
    columns["return_C"][places] = 26.0
    found = measure(hand_site(), hours.logs(**columns))
    # 10 full steps and two of 12 min: 5.4 h x 6 m3 an hour x 2 K
    assert found.totals["spray_hours_h"].value == pytest.approx(5.4)
    assert found.totals["cooling_pipe_kWh"].value == pytest.approx(5.4 * 6.0 * 2.0 * KWH_M3_K, rel=1e-5)


# --- heat by the store ----------------------------------------------------------------------------------------------


def test_sensors_stand_for_the_water_nearest_to_them():
    """Sensors at 0.2, 0.6 and 1.0 m in 1.5 m of water stand for 0.4, 0.4 and 0.7 m."""
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    del columns["store_C"]
    for number, (before, after) in enumerate(((20.0, 14.0), (20.0, 17.0), (20.0, 18.0)), start=1):
        columns[f"store_C_{number}"] = hours.held((15.0, after), after=before)
    logs = hours.logs(**columns)
    logs = dataclasses.replace(logs, heights_m={"store_C_1": 0.2, "store_C_2": 0.6, "store_C_3": 1.0})
    found = measure(hand_site(store={"u": sure(0.02)}), logs)
    mean_C = (0.4 * 14.0 + 0.4 * 17.0 + 0.7 * 18.0) / 1.5
    # 15 m3, and 3 kWh of the pump of which 0.8 is heat
    assert found.totals["cooling_tank_kWh"].value == pytest.approx(15.0 * KWH_M3_K * (20.0 - mean_C) + 2.4, rel=2e-3)


def test_a_sensor_above_the_water_is_left_out():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns["store_C_1"] = columns.pop("store_C") - hours.held((15.0, 4.0))
    columns["store_C_2"] = 35.0
    logs = dataclasses.replace(hours.logs(**columns), heights_m={"store_C_1": 0.5, "store_C_2": 1.9})
    found = measure(hand_site(store={"u": sure(0.02)}), logs)
    assert found.totals["cooling_tank_kWh"].value == pytest.approx(15.0 * KWH_M3_K * 4.0 + 2.4, rel=2e-3)


def test_make_up_and_its_temperature_are_taken_off():
    """2 m3 of mains water of 15 degC into a store of 20 degC: 10 K m3 that the roof did not cool."""
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns["makeup_L_min"] = np.where(hours.between(11.0, 12.0), 2000.0 / 60.0, 0.0)
    columns["store_m3"] = hours.held((15.0, 16.0), after=14.0)
    columns["store_C"] = hours.held((15.0, 19.0), after=21.0)
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14}, store={"u": sure(0.02)})
    found = measure(site, hours.logs(**columns))
    assert found.totals["cooling_tank_kWh"].value == pytest.approx(
        KWH_M3_K * (15.0 * 2.0 - 2.0 * 5.0) + 2.4, rel=2e-3)
    assert found.totals["water_remainder_m3"].value == pytest.approx(0.0, abs=1e-9)


def test_heat_through_the_walls_is_no_cooling_of_the_roof():
    """A store that stays at 20 degC in air of 30 degC: 45.3 W/K x 10 K x 7 h came in through the walls."""
    hours = Hours(nights=1)
    columns = {**sprayed_columns(hours, (9.0, 15.0)), "air_C": 30.0}
    site = hand_site(store={"u": {"value": 1.0, "low": 0.5, "high": 1.5}})
    found = measure(site, hours.logs(**columns))
    assert found.totals["cooling_tank_kWh"].value == pytest.approx(2.4 + 3.171, rel=1e-3)
    # U +- 50 %, the pump's share of heat 0.2 x 3 kWh, and layers that no sensor sees: 15 m3 x 0.3 K x sqrt(2 / 2)
    assert found.totals["cooling_tank_kWh"].systematic == pytest.approx(
        math.hypot(0.5 * 3.171, 0.6, 15.0 * 1.160153 * 0.3), rel=1e-3)


def station(hours, typical):
    """A weather record of full hours: air of 25 degC."""
    index = pd.date_range(hours.index[0].floor("D"), periods=96, freq="h")
    table = pd.DataFrame({"t_air_C": 25.0, "humidity_frac": 0.5, "wind_m_s": 3.0, "rain_mm": 0.0}, index=index)
    return SimpleNamespace(table=table, names={"typical_year": typical})


def test_measured_weather_stands_in_for_what_was_not_logged():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns["air_C"] = np.where(hours.between(9.0, 12.0), np.nan, 20.0)
    del columns["wind_m_s"]
    night = measure(hand_site(), hours.logs(**columns), station(hours, typical=False)).nights[0]
    assert (night["t_air_mean_C"], night["wind_mean_m_s"]) == pytest.approx((22.5, 3.0))


def test_a_typical_year_never_stands_in():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    del columns["wind_m_s"]
    night = measure(hand_site(), hours.logs(**columns), station(hours, typical=True)).nights[0]
    assert night["wind_mean_m_s"] is None


FLOOR = {"name": "floor", "kind": "floor", "area": 200, "flow": 30, "pump_power": 60}


def test_floors_that_may_have_run_unmetered_leave_the_store_silent():
    hours = Hours(nights=1)
    site = hand_site(emitter=[FLOOR], load={"from": "00:00", "to": "06:00"})
    night = measure(site, hours.logs(**sprayed_columns(hours, (9.0, 15.0)))).nights[0]
    assert night["cooling_tank_kWh"] is None
    assert night["tank_why"] == "floors or coils may have run, and they were not metered"
    assert night["heat_by"] == "pipe"


def test_metered_floors_are_taken_off():
    """Floors put 30 L/min x 60 min x 4 K = 7.2 m3 K into the store while it sprays."""
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    running = hours.between(12.0, 13.0)
    columns |= {"cooling_L_min": np.where(running, 30.0, 0.0), "cooling_supply_C": 20.0, "cooling_return_C": 24.0,
                "store_C": hours.held((15.0, 19.0), after=21.0)}
    site = hand_site(emitter=[FLOOR], load={"from": "00:00", "to": "06:00"}, store={"u": sure(0.02)})
    found = measure(site, hours.logs(**columns))
    assert found.totals["cooling_tank_kWh"].value == pytest.approx(KWH_M3_K * (30.0 + 7.2) + 2.4, rel=2e-3)


def test_walls_are_found_from_still_hours():
    """12 nights of a store that comes nearer to 10 degC outdoors by 120 W/K x hours; the stated U is far off."""
    hours = Hours(nights=12)
    ua_W_K, capacity_J_K = 120.0, 15.0 * KWH_M3_K * 3.6e6
    rate_h = ua_W_K * 3600.0 / capacity_J_K
    store = 10.0 + 10.0 * np.exp(-rate_h * (hours.starts + hours.step_s / 7200.0))
    columns = {**quiet_columns(hours), "air_C": 10.0, "store_C": store}
    # a meter of make-up that ticks once a day parts the still hours
    columns["makeup_L_min"] = np.where(np.mod(hours.starts, 24.0) < 0.2, 0.01, 0.0)
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14})
    found = measure(site, hours.logs(**columns))
    assert found.ua_W_K[0] == pytest.approx(ua_W_K, rel=0.01)
    assert found.ua_W_K[1] < 0.05 * ua_W_K


def test_too_few_still_hours_leave_the_stated_walls():
    hours = Hours(nights=2)
    found = measure(hand_site(store={"u": {"value": 1.0, "low": 0.5, "high": 1.5}}), hours.logs(**quiet_columns(hours)))
    # 10 m2 of plan, 2 m deep: top and bottom 20 m2, sides 4 x sqrt(10) x 2 = 25.3 m2
    assert found.ua_W_K == pytest.approx((45.3, 22.65), rel=1e-3)


def test_a_store_of_another_size_fails_the_cross_check():
    hours = Hours(nights=3)
    spells = [(24.0 * night + 9.0, 24.0 * night + 15.0) for night in range(3)]
    columns = sprayed_columns(hours, *spells)
    # 36 m3 x 2 K from 15 m3: 4.8 K, and 2.4 kWh of pump heat that the store keeps
    fall_K = 4.8 - 2.4 / (15.0 * KWH_M3_K)
    columns["store_C"] = 20.0 - fall_K * ((np.mod(hours.starts, 24.0) >= 15.0) & (np.mod(hours.starts, 24.0) < 23.0))
    columns["air_C"] = 20.0 - 0.5 * fall_K
    right = measure(hand_site(), hours.logs(**columns))
    assert right.pipe_tank_frac < 0.01
    assert "ledger.cross-check" not in codes(right)
    columns["store_m3"] = 12.0
    wrong = measure(hand_site(), hours.logs(**columns))
    assert wrong.pipe_tank_frac == pytest.approx(0.22, abs=0.02)
    assert "ledger.cross-check" in codes(wrong)
