"""The water ledger against numbers worked on paper: level, meters, rain, what splits the remainder, tests on site."""

from __future__ import annotations

import math

import numpy as np
import pytest
from measured_makers import (
    KWH_M3_K,
    LEAK_TEST,
    NO_LEAK,
    UNTESTED,
    Hours,
    codes,
    hand_site,
    quiet_columns,
    sprayed_columns,
    sure,
)

from sprayroof.evidence.logs import Instrument
from sprayroof.model.measured import measure
from sprayroof.model.measured_amounts import total


def test_water_held_on_the_roof_is_no_loss():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    up = hours.between(9.0, 15.0) * 0.5 + hours.between(15.0, 15.5) * 0.25
    columns["store_m3"] = 15.0 - up
    found = measure(hand_site(test=[NO_LEAK]), hours.logs(**columns))
    assert found.nights[0]["water_remainder_m3"] == pytest.approx(0.0, abs=1e-12)
    assert found.nights[0]["spray_loss_m3"] == pytest.approx(0.0, abs=1e-12)


def test_the_leak_test_is_taken_off():
    """A leak of 1 L/h and 100 L lost by spraying for 6 h: 124 L a night unseen, 24 of them leaked."""
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    middles = hours.starts + hours.step_s / 7200.0
    columns["store_m3"] = 15.0 - 0.001 * middles - 0.1 * np.clip((middles - 9.0) / 6.0, 0.0, 1.0)
    found = measure(hand_site(test=[LEAK_TEST]), hours.logs(**columns))
    assert found.totals["water_remainder_m3"].value == pytest.approx(0.124, abs=1e-4)
    assert found.totals["leak_m3"].value == pytest.approx(0.024)
    assert found.totals["leak_m3"].systematic == pytest.approx(0.0024)
    assert found.totals["spray_loss_m3"].value == pytest.approx(0.100, abs=1e-3)
    # taken with its error: 7 h of 1 L/h +- 10 %
    assert found.totals["spray_loss_m3"].systematic == pytest.approx(0.0007, abs=1e-5)
    assert "ledger.leak-untested" not in codes(found)


def test_a_leak_test_while_it_sprayed_is_of_no_use():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (4.0, 6.0))
    found = measure(hand_site(test=[LEAK_TEST]), hours.logs(**columns))
    assert {"test.unused", "ledger.leak-untested"} <= codes(found)
    assert not found.tests[0]["used"]


def test_a_stated_leak_is_no_measured_one():
    hours = Hours(nights=1)
    site = hand_site(store={"leak": {"value": 48, "low": 24, "high": 72}})
    found = measure(site, hours.logs(**sprayed_columns(hours, (9.0, 15.0))))
    leak = found.totals["leak_m3"]
    assert (leak.value, leak.systematic, leak.basis, leak.grade) == (
        pytest.approx(0.048), pytest.approx(0.024), "assumed", "D")


def test_balances_close_on_every_night():
    """In, out, tests, rise of the content and remainder; and the remainder by kind."""
    hours = Hours(nights=2)
    columns = sprayed_columns(hours, (9.0, 15.0), (33.0, 39.0))
    columns |= {"makeup_L_min": np.where(hours.between(2.0, 3.0), 20.0, 0.0),
                "draw_L_min": np.where(hours.between(21.0, 23.0), 2.0, 0.0)}
    columns["store_m3"] = hours.held((3.0, 16.2), (15.0, 16.0), (23.0, 15.7), (39.0, 15.6), after=15.0)
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14}, test=[LEAK_TEST | {
        "from": "2026-06-01 20:00", "to": "2026-06-01 20:50"}],
        use=[{"name": "toilets", "draw": 240, "from": "09:00", "to": "11:00"}])
    found = measure(site, hours.logs(**columns))
    for night, parts in zip(found.nights, found.split.nights, strict=True):
        closing = (night["mains_m3"] + night["rain_caught_m3"] - night["other_uses_m3"] - night["overflow_m3"]
                   - night["test_draw_m3"] - night["storage_change_m3"] - night["water_remainder_m3"])
        assert closing == pytest.approx(0.0, abs=1e-12)
        by_kind = total([parts.leak, parts.spray_loss, parts.unexplained])
        assert by_kind.value / 1000.0 == pytest.approx(night["water_remainder_m3"], abs=1e-12)
    # night 1: 1.2 in, 0.24 drawn, 15.0 to 15.7: 0.26 unseen; spraying 0.2 of it
    assert found.nights[0]["water_remainder_m3"] == pytest.approx(0.26)
    assert found.nights[1]["water_remainder_m3"] == pytest.approx(0.10)


def test_meters_count_with_their_error():
    hours = Hours(nights=1)
    columns = {**quiet_columns(hours), "makeup_L_min": np.where(hours.between(2.0, 3.0), 20.0, 0.0),
               "draw_L_min": np.where(hours.between(4.0, 6.0), 5.0, 0.0),
               "store_m3": hours.held((3.0, 15.5), after=15.0)}
    meters = {"makeup_L_min": Instrument(0.0, 0.03), "draw_L_min": Instrument(0.0, 0.05)}
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14})
    found = measure(site, hours.logs(meters, **columns)).totals
    # 1.2 m3 in +- 3 %, 0.6 m3 drawn +- 5 %, 0.5 m3 more: 0.1 unseen
    assert found["water_remainder_m3"].value == pytest.approx(0.1)
    assert found["water_remainder_m3"].systematic == pytest.approx(math.hypot(0.036, 0.03))


def test_a_meter_read_by_the_hour_is_not_cut_at_the_start_of_spraying():
    """1.2 m3 ran from 20:40 to 21:00; the meter knows 20:00 to 21:00 only; spraying begins at 20:30."""
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (8.5, 15.0))
    columns["makeup_L_min"] = np.where(hours.between(8.0, 9.0), 20.0, 0.0)
    columns["store_m3"] = hours.held((9.0, 16.2), (15.0, 16.1), after=15.0)
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14},
                     test=[NO_LEAK])
    found = measure(site, hours.logs(**columns))
    assert found.nights[0]["spray_loss_m3"] == pytest.approx(0.1, abs=1e-9)


def test_an_unmetered_make_up_or_user_leaves_the_water_open():
    hours = Hours(nights=1)
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14},
                     use=[{"name": "toilets", "draw": 240}])
    found = measure(site, hours.logs(**sprayed_columns(hours, (9.0, 15.0))))
    assert found.nights[0]["water_why"] == "make-up is not known; draws are not known"
    assert "water_remainder_m3" not in found.totals
    assert "ledger.water-left-out" in codes(found)


def test_a_full_store_may_have_run_over():
    hours = Hours(nights=1)
    columns = {**quiet_columns(hours), "makeup_L_min": np.where(hours.between(2.0, 3.0), 20.0, 0.0), "store_m3": 19.8}
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14})
    assert measure(site, hours.logs(**columns)).nights[0]["water_why"] == "the store was full and may have run over"


def test_spraying_up_to_noon_leaves_the_level_open():
    hours = Hours(nights=2)
    found = measure(hand_site(), hours.logs(**sprayed_columns(hours, (9.0, 23.9))))
    assert "it sprayed within the hour up to the noon after" in found.nights[0]["water_why"]


def test_an_unknown_hour_of_make_up_is_told_by_the_level():
    hours = Hours(nights=1)
    columns = {**quiet_columns(hours), "makeup_L_min": np.where(hours.between(2.0, 3.0), np.nan, 0.0),
               "store_m3": hours.held((2.5, 15.9), after=15.0)}
    site = hand_site(mains={"rule": "top up", "top_up_below": 12, "top_up_to": 14})
    found = measure(site, hours.logs(**columns))
    assert found.nights[0]["mains_m3"] == pytest.approx(0.9)
    assert found.nights[0]["water_remainder_m3"] == pytest.approx(0.0, abs=1e-12)


def test_water_that_comes_from_nowhere_is_told():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns["store_m3"] = hours.held((15.0, 15.2), after=15.0)
    found = measure(hand_site(test=[LEAK_TEST]), hours.logs(**columns))
    assert "ledger.water-gained" in codes(found)


# --- rain -----------------------------------------------------------------------------------------------------------

RAIN_ROOF = [{"name": "long roof", "area": sure(400), "catches_rain": True, "runoff_coefficient": {
    "value": 0.9, "low": 0.8, "high": 1.0}, "initial_loss": sure(0.5)}]
RAIN_SIDE = {"first_flush": sure(0.5), "filter_efficiency": sure(0.9)}


def test_rain_by_the_level():
    """10 mm in the afternoon; the store rises by 2.7 m3, whatever gauge and roof would say."""
    hours = Hours(nights=1)
    columns = {**quiet_columns(hours), "rain_mm": np.where(hours.between(2.0, 4.0), 10.0 / 12.0, 0.0),
               "store_m3": hours.held((2.0, 15.5), (3.0, 16.5), (4.0, 17.7), after=15.0)}
    found = measure(hand_site(roof=RAIN_ROOF, rain=RAIN_SIDE), hours.logs(**columns))
    assert found.nights[0]["rain_caught_m3"] == pytest.approx(2.7)
    assert found.nights[0]["rain_mm"] == pytest.approx(10.0)
    assert found.nights[0]["water_remainder_m3"] == pytest.approx(0.0, abs=1e-12)


def test_rain_across_noon_is_parted_at_noon():
    hours = Hours(nights=2)
    columns = {**quiet_columns(hours), "rain_mm": np.where(hours.between(22.0, 26.0), 0.5, 0.0),
               "store_m3": hours.held((23.0, 15.8), (24.5, 16.9), (26.0, 17.6), after=15.0)}
    columns["store_m3"] = np.where(hours.between(23.5, 24.5), 16.2, columns["store_m3"])
    found = measure(hand_site(roof=RAIN_ROOF, rain=RAIN_SIDE), hours.logs(**columns))
    assert [night["rain_caught_m3"] for night in found.nights] == pytest.approx([1.2, 1.4])
    assert [night["water_remainder_m3"] for night in found.nights] == pytest.approx([0.0, 0.0], abs=1e-9)


def test_rain_by_gauge_and_roof_where_the_level_was_not_logged():
    """400 m2 x 0.9 x (10 - 0.5) mm = 3420 L, less 200 L of first flush, times 0.9: 2898 L."""
    hours = Hours(nights=1)
    columns = {**quiet_columns(hours), "rain_mm": np.where(hours.between(2.0, 4.0), 10.0 / 12.0, 0.0)}
    del columns["store_m3"]
    gauge = {"rain_mm": Instrument(0.0, 0.1)}
    found = measure(hand_site(roof=RAIN_ROOF, rain=RAIN_SIDE), hours.logs(gauge, **columns)).totals["rain_caught_m3"]
    assert found.value == pytest.approx(2.898)
    # runoff +- 0.1: 400 x 0.1 x 9.5 x 0.9 = 342 L; gauge +- 10 %: 400 x 0.9 x 1 x 0.9 = 324 L
    assert found.systematic == pytest.approx(math.hypot(0.342, 0.324))


def test_rain_read_by_hand_corrects_the_gauge():
    hours = Hours(nights=1)
    columns = {**quiet_columns(hours), "rain_mm": np.where(hours.between(2.0, 4.0), 8.0 / 12.0, 0.0)}
    del columns["store_m3"]
    event = {"kind": "rain event", "from": "2026-06-01 13:30", "to": "2026-06-01 17:00", "rain": 10, "accuracy": 0.02}
    found = measure(hand_site(roof=RAIN_ROOF, rain=RAIN_SIDE, test=[event]), hours.logs(**columns))
    assert found.totals["rain_caught_m3"].value == pytest.approx(2.898)


def test_a_shower_while_spraying_keeps_the_water_on_the_roof_apart():
    """0.3 m3 is up on the roof when it begins to rain, and down when the roof has drained: no rain."""
    hours = Hours(nights=2)
    columns = sprayed_columns(hours, (9.0, 12.0), (33.0, 36.0))
    columns["store_m3"] = hours.held((12.0, 17.0), after=15.0) - 0.3 * (hours.between(9.0, 12.0)
                                                                       | hours.between(33.0, 36.0))
    columns["rain_mm"] = np.where(hours.between(11.5, 14.0), 0.5, 0.0)
    hold_up = {"kind": "hold-up", "from": "2026-06-02 00:00", "volume": 0.3, "accuracy": 0.1}
    found = measure(hand_site(roof=RAIN_ROOF, rain=RAIN_SIDE, test=[hold_up]), hours.logs(**columns))
    assert found.nights[0]["rain_caught_m3"] == pytest.approx(2.0, abs=0.01)


def test_rain_that_was_not_logged_leaves_the_water_open():
    hours = Hours(nights=1)
    found = measure(hand_site(roof=RAIN_ROOF, rain=RAIN_SIDE), hours.logs(**sprayed_columns(hours, (9.0, 15.0))))
    assert found.nights[0]["water_why"] == "rain is not known"


# --- splitting ------------------------------------------------------------------------------------------------------


def split_by_tracer(end_mg_L, start_mg_L=300.0, lost_m3=0.5):
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns["store_m3"] = hours.held((15.0, 10.0 - lost_m3), after=10.0)
    tests = [NO_LEAK,
             {"kind": "tracer", "from": "2026-06-01 20:00", "to": "2026-06-02 08:00", "salts_from": start_mg_L,
              "salts_to": end_mg_L, "accuracy": 0.001}]
    return measure(hand_site(test=tests), hours.logs(**columns))


def test_salts_that_stay_behind_mean_evaporation():
    # all evaporated: 300 x 10 / 9.5
    found = split_by_tracer(300.0 * 10.0 / 9.5).totals
    assert found["evaporation_m3"].value == pytest.approx(0.5, rel=1e-3)
    assert found["drift_m3"].value == pytest.approx(0.0, abs=1e-3)


def test_salts_that_keep_their_strength_mean_drift():
    found = split_by_tracer(300.0).totals
    assert found["drift_m3"].value == pytest.approx(0.5)
    assert found["evaporation_m3"].value == pytest.approx(0.0, abs=1e-9)


def test_salts_part_the_two():
    """0.3 m3 evaporated and 0.2 m3 drifted: the strength rises by exp(0.3 / mean content) to 1.0313 times."""
    mean_m3 = 0.5 / math.log(10.0 / 9.5)
    found = split_by_tracer(300.0 * math.exp(0.3 / mean_m3))
    assert found.totals["evaporation_m3"].value == pytest.approx(0.3, rel=2e-3)
    assert found.totals["drift_m3"].value == pytest.approx(0.2, rel=3e-3)
    # strengths within 0.1 % each: 0.00141 x 9.7 m3 = 14 L; and a fifth of the loss for a night unlike the mean
    assert found.totals["drift_m3"].systematic == pytest.approx(0.0138, rel=0.05)
    assert "ledger.not-split" not in codes(found)


def test_conductivity_stands_in_for_salts():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns |= {"store_m3": hours.held((15.0, 9.5), after=10.0),
                "conductivity_uS_cm": hours.held((15.0, 500.0 * 10.0 / 9.5), after=500.0)}
    tests = [NO_LEAK,
             {"kind": "tracer", "from": "2026-06-01 20:00", "to": "2026-06-02 08:00"}]
    found = measure(hand_site(test=tests), hours.logs(**columns))
    assert found.totals["evaporation_m3"].value == pytest.approx(0.5, rel=1e-3)


def nights_of_wind(slope, nights=16):
    """Nights of all kinds: 0.002 of the water evaporates per kPa, and `slope` a m/s drifts above 0.001."""
    hours = Hours(nights=nights, step_min=30)
    spells = [(24.0 * night + 9.0, 24.0 * night + 17.0) for night in range(nights)]
    columns = sprayed_columns(hours, *spells, fall_K=0.0)
    random = np.random.default_rng(5)
    wind, humidity = random.uniform(0.5, 3.5, nights), random.uniform(0.4, 0.95, nights)
    vapour_kPa = 2.339 * (1.0 - humidity)  # water and air at 20 degC: 2.339 kPa at saturation (steam tables)
    lost_m3 = 48.0 * (0.002 * vapour_kPa + 0.001 + slope * wind) + 0.004 * random.standard_normal(nights)
    night = np.clip((hours.starts // 24).astype(int), 0, nights - 1)
    columns |= {"wind_m_s": wind[night], "humidity_frac": humidity[night]}
    columns["store_m3"] = 18.0 - np.array([lost_m3[:count].sum() for count in np.searchsorted(
        [spell[1] for spell in spells], hours.starts, side="right")])
    return measure(hand_site(test=[NO_LEAK]), hours.logs(**columns))


def test_windy_nights_show_how_drift_grows():
    wind = nights_of_wind(0.0008).split.wind
    assert wind.low < 0.0008 < wind.high
    assert wind.is_clear


def test_without_drift_by_wind_none_is_found():
    found = nights_of_wind(0.0)
    assert not found.split.wind.is_clear
    assert "drift_m3" not in found.totals
    assert "ledger.not-split" in codes(found)


def test_a_closed_night_is_held_against_the_ledger():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (9.0, 15.0))
    columns["store_m3"] = hours.held((15.0, 14.9), after=15.0)
    closed = {"kind": "closed night", "from": "2026-06-01 20:30", "to": "2026-06-02 04:30", "volume": 0.1,
              "accuracy": 0.05}
    tests = [NO_LEAK]
    agrees = measure(hand_site(test=[*tests, closed]), hours.logs(**columns))
    differs = measure(hand_site(test=[*tests, closed | {"volume": 0.16}]), hours.logs(**columns))
    assert "test.closed-night-differs" not in codes(agrees)
    assert "test.closed-night-differs" in codes(differs)


# --- tests on site --------------------------------------------------------------------------------------------------


def test_a_pair_test_sprays_nothing():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (2.0, 3.0), (9.0, 15.0))
    columns["return_C"] = np.where(hours.between(2.0, 3.0), 20.02, columns["return_C"])
    instruments = {"supply_C": Instrument(0.1, 0.0), "return_C": Instrument(0.06, 0.0, added=-0.4, tied_to="supply_C")}
    pair = {"kind": "pair", "from": "2026-06-01 14:00", "to": "2026-06-01 15:00"}
    found = measure(hand_site(test=[pair]), hours.logs(instruments, **columns))
    assert found.totals["sprayed_m3"].value == pytest.approx(36.0)
    assert found.totals["cooling_pipe_kWh"].value == pytest.approx(72.0 * KWH_M3_K, rel=1e-5)
    told = found.tests[0]
    # the readings hold a correction of -0.4 K already, so the sensor itself read 0.42 K more
    assert (told["value"], told["half_width"], told["used"]) == (pytest.approx(0.42), 0.06, True)
    assert {"test.left-over", "ledger.pair-untested"}.isdisjoint(codes(found))


def test_a_pair_that_still_differs_is_told():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (2.0, 3.0), (9.0, 15.0))
    columns["return_C"] = np.where(hours.between(2.0, 3.0), 20.3, columns["return_C"])
    instruments = {"supply_C": Instrument(0.1, 0.0), "return_C": Instrument(0.06, 0.0, tied_to="supply_C")}
    pair = {"kind": "pair", "from": "2026-06-01 14:00", "to": "2026-06-01 15:00"}
    assert "test.left-over" in codes(measure(hand_site(test=[pair]), hours.logs(instruments, **columns)))


def test_an_untested_pair_is_told():
    hours = Hours(nights=1)
    found = measure(hand_site(), hours.logs(UNTESTED, **sprayed_columns(hours, (9.0, 15.0))))
    assert "ledger.pair-untested" in codes(found)


def test_water_pumped_away_in_a_draw_down_is_neither_sprayed_nor_lost():
    hours = Hours(nights=1)
    columns = sprayed_columns(hours, (2.0, 3.0), (9.0, 15.0))
    columns["store_m3"] = hours.held((3.0, 9.0), after=15.0)
    draw = {"kind": "draw down", "from": "2026-06-01 14:00", "to": "2026-06-01 15:00", "channel": "spray_flow",
            "volume": 6.0, "accuracy": 0.01}
    found = measure(hand_site(test=[draw]), hours.logs(**columns))
    assert found.totals["sprayed_m3"].value == pytest.approx(36.0)
    assert found.nights[0]["test_draw_m3"] == pytest.approx(6.0)
    assert found.nights[0]["water_remainder_m3"] == pytest.approx(0.0, abs=1e-9)
    assert found.tests[0]["value"] == pytest.approx(1.0)


@pytest.mark.parametrize(("pumped_m3", "told"), [(2.0, True), (0.0, False), (0.1, False)])
def test_a_night_that_lost_many_times_the_usual_is_told_and_not_counted(pumped_m3, told):
    """Ten nights of 48 m3 sprayed and 0.2 m3 lost; in the fourth more was pumped away, which no entry tells."""
    hours = Hours(nights=10)
    spells = [(24.0 * night + 9.0, 24.0 * night + 17.0) for night in range(10)]
    lost = [0.2 + (pumped_m3 if night == 3 else 0.0) for night in range(10)]
    columns = sprayed_columns(hours, *spells)
    columns["store_m3"] = hours.held(*((24.0 * night + 17.0, 15.0 - sum(lost[:night + 1])) for night in range(10)),
                                     after=15.0)
    found = measure(hand_site(test=[NO_LEAK]), hours.logs(**columns))
    assert ("ledger.water-outlier" in codes(found)) == told
    assert found.totals["spray_loss_m3"].value == pytest.approx(1.8 if told else 2.0 + pumped_m3)
    assert found.estimates["spray_loss_m3"].value == pytest.approx(2.0 if told else 2.0 + pumped_m3)
    # the balance of the night itself stands: that water did leave
    assert sum(night["water_remainder_m3"] for night in found.nights) == pytest.approx(2.0 + pumped_m3)


def test_tests_without_records_are_told_as_unused():
    hours = Hours(nights=1)
    tests = [{"kind": "pair", "from": "2026-05-01 14:00", "to": "2026-05-01 15:00"},
             {"kind": "leak", "from": "2026-05-01 14:00", "to": "2026-05-03 15:00"},
             {"kind": "tracer", "from": "2026-05-01 14:00", "to": "2026-05-03 15:00"},
             {"kind": "rain event", "from": "2026-05-01 14:00", "to": "2026-05-01 15:00", "rain": 12}]
    found = measure(hand_site(test=tests), hours.logs(**sprayed_columns(hours, (9.0, 15.0))))
    assert [test["used"] for test in found.tests] == [False] * 4
    assert sum(finding.code == "test.unused" for finding in found.findings) == 4
