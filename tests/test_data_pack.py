"""The invented data pack: the sample folder is fresh, its truth closes, and what was planted stands in the files."""

from __future__ import annotations

import ast
import datetime
import itertools
import json
import math
from collections import Counter
from pathlib import Path

import make_data_pack as maker
import numpy as np
import pytest
from pack_air import dew_C, flight, latent_J_kg, vapour_Pa
from pack_config import STEP_S, Config, Plant
from pack_nights import night_table, pipe_J, roof_J
from pack_store import even_out, pour, turn_over

from sprayroof.evidence.site import read_site

MADE_OF = [Path(maker.__file__), *sorted(Path(maker.__file__).parent.glob("pack_*.py"))]
FOLDER = maker.FOLDER


@pytest.fixture(scope="module")
def whole():
    return maker.pack()


@pytest.fixture(scope="module")
def truth(whole):
    return whole[0]


@pytest.fixture(scope="module")
def files(whole):
    return whole[1].files


@pytest.fixture(scope="module")
def rows(truth):
    return truth.rows


def bytes_of(path):
    """As written: a checkout may have put line ends of its own."""
    return path.read_bytes().replace(b"\r\n", b"\n")


# --- the files ----------------------------------------------------------------------------------------------------


def test_the_sample_folder_is_a_fresh_generation(files):
    left_out = {"README.md"}
    here = {path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*")
            if path.is_file() and "audit" not in path.relative_to(FOLDER).parts} - left_out
    assert here == set(files)
    stale = [name for name in sorted(here) if bytes_of(FOLDER / name) != files[name]]
    assert not stale, f"{stale} are stale: run python tests/make_data_pack.py"


def test_the_truth_file_is_a_fresh_generation(whole):
    told = maker.truth_text(*whole, maker.Faults())
    assert bytes_of(maker.TRUTH_FILE).decode("utf-8") == told, "run python tests/make_data_pack.py"
    assert len(json.loads(told)["nights"]) == 42


def test_the_folder_stays_small(files):
    assert sum(map(len, files.values())) < 4.2e6


def test_truth_and_logs_come_from_other_physics():
    for path in MADE_OF:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else (
                [node.module or ""] if isinstance(node, ast.ImportFrom) else [])
            assert not [name for name in names if name.split(".")[0] == "sprayroof"], path.name


def test_another_seed_makes_another_pack_and_the_same_seed_the_same():
    config = maker.small_config()
    first, again, other = (maker.make_truth(config, seed) for seed in (1, 1, 2))
    assert np.array_equal(first.rows, again.rows)
    assert abs(night_table(first)[0]["pipe_kWh"] - night_table(other)[0]["pipe_kWh"]) > 1.0
    logs = [maker.make_logs(first, maker.Faults(), seed).files for seed in (1, 1, 2)]
    assert logs[0] == logs[1]
    assert logs[0]["logs/roof_1.csv"] != logs[2]["logs/roof_1.csv"]


# --- balances: every step, from amounts and states that the loop wrote apart ----------------------------------------


def added(rows, *names):
    return sum(rows[name] for name in names)


def rise(truth, name):
    return np.diff(truth.states(name))


def test_water_of_the_store_closes_in_every_step(truth, rows):
    gained = added(rows, "return_kg", "bypass_kg", "makeup_kg") - added(rows, "supply_kg", "draw_kg", "leak_kg",
                                                                        "overflow_kg")
    assert np.abs(rise(truth, "store_kg") - gained).max() < 1e-7


def test_water_of_the_roof_closes_in_every_step(truth, rows):
    sprayed = rows["supply_kg"] - added(rows, "bypass_kg", "waste_kg")
    assert np.abs(sprayed - added(rows, "drift_kg", "drop_evaporated_kg", "landed_kg")).max() < 1e-9
    gained = added(rows, "landed_kg", "rain_kg") - added(rows, "splashed_kg", "film_evaporated_kg", "gutter_kg")
    assert np.abs(rise(truth, "film_kg") - gained).max() < 1e-9
    assert np.abs(rows["gutter_kg"] - added(rows, "flushed_kg", "filter_kg", "return_kg")).max() < 1e-9


def test_heat_of_the_store_closes_in_every_step(truth, rows):
    gained = added(rows, "return_J", "bypass_J", "makeup_J", "floor_J", "floor_pump_J", "walls_J", "pump_heat_J")
    gained = gained - added(rows, "supply_J", "draw_J", "leak_J", "overflow_J")
    assert np.abs(rise(truth, "store_J") - gained).max() < 0.05  # of some 2.5e9 J held
    assert np.abs(truth.layers_J.sum(axis=1) - rows["store_J"]).max() < 0.05


def test_heat_of_the_roof_closes_in_every_step(truth, rows):
    came = added(rows, "supply_J", "supply_pipe_J") - added(rows, "bypass_J", "waste_J", "drift_J")
    came = came - added(rows, "drop_sensible_J", "drop_latent_J", "drop_carried_J")
    came = came + added(rows, "rain_J", "sun_J", "inside_J")
    went = added(rows, "film_latent_J", "film_carried_J", "film_sensible_J", "radiated_J", "gutter_J")
    assert np.abs(rise(truth, "roof_J") - came + went).max() < 0.05
    pipe = rows["gutter_J"] + rows["return_pipe_J"] - added(rows, "flushed_J", "filter_J", "return_J")
    assert np.abs(pipe).max() < 0.05


def test_heat_given_by_the_water_is_the_heat_that_sky_air_deck_and_pipes_took(truth, rows):
    took = added(rows, "film_latent_J", "drop_latent_J", "film_sensible_J", "drop_sensible_J", "radiated_J")
    took = took - added(rows, "sun_J", "inside_J", "supply_pipe_J", "return_pipe_J") + rise(truth, "roof_J")
    assert abs(roof_J(rows).sum() - took.sum()) < 1e-9 * np.abs(took).sum()


def test_an_open_balance_would_be_seen(truth, rows):
    """The test of the tests: the leak left out opens the balance by some grams a step."""
    gained = added(rows, "return_kg", "bypass_kg", "makeup_kg") - added(rows, "supply_kg", "draw_kg", "overflow_kg")
    assert np.abs(rise(truth, "store_kg") - gained).max() > 0.01


def test_the_store_is_never_warmer_below(truth):
    assert np.diff(truth.layers_J, axis=1).min() > -0.01  # layers of one mass


def test_nights_add_up_to_the_whole(truth, rows):
    nights = night_table(truth)
    for name, field in (("leak_L", "leak_kg"), ("drift_L", "drift_kg"), ("makeup_L", "makeup_kg")):
        assert sum(night[name] for night in nights) == pytest.approx(rows[field].sum() / 0.9982, rel=1e-9)
    wet_L = sum(night["evaporation_L"] + night["evaporation_other_L"] for night in nights)
    assert wet_L == pytest.approx(added(rows, "film_evaporated_kg", "drop_evaporated_kg").sum() / 0.9982, rel=1e-9)
    assert sum(night["pipe_kWh"] for night in nights) == pytest.approx(pipe_J(rows).sum() / 3.6e6, rel=1e-9)


def test_levels_at_noon_follow_from_the_nights_amounts(truth):
    """A ledger by hand: content at the noon after from content at the noon before and the litres of the night."""
    for night in night_table(truth):
        lost_L = night["evaporation_L"] + night["evaporation_other_L"] + night["drift_L"] + night["leak_L"] + (
            night["draw_L"] + night["waste_L"] + night["flushed_L"] + night["filter_L"])
        rain_L = night["rain_mm"] * truth.config.plant.roof_m2 * 0.95
        by_hand_m3 = night["start_m3"] + (night["makeup_L"] + rain_L / 0.9982 - lost_L) / 1000.0
        assert night["end_m3"] == pytest.approx(by_hand_m3, abs=0.06)  # what is on the roof at noon in rain


# --- its physics, against print -----------------------------------------------------------------------------------


def test_vapour_pressure_and_latent_heat_are_those_of_the_steam_tables():
    """IAPWS: 1228.2, 2339.2 and 4247 Pa at 10, 20 and 30 degC; 2477.2, 2453.5, 2429.8 kJ/kg."""
    for t_C, pressure, heat in ((10.0, 1228.2, 2477.2), (20.0, 2339.2, 2453.5), (30.0, 4247.0, 2429.8)):
        assert vapour_Pa(t_C) == pytest.approx(pressure, rel=0.002)
        assert dew_C(pressure) == pytest.approx(t_C, abs=0.05)
        assert latent_J_kg(t_C) / 1000.0 == pytest.approx(heat, rel=0.001)


def test_a_flying_drop_nears_the_air_like_an_exponential():
    """In saturated air of its own temperature nothing happens; in twice the time what is left is squared."""
    same = flight(20.0, 20.0, vapour_Pa(20.0), Plant())
    assert same[0] == pytest.approx(20.0, abs=1e-9)
    assert same[1] == pytest.approx(1.0, abs=1e-12)
    short, long = (22.0 - flight(22.0, 20.0, vapour_Pa(20.0), Plant(flight_s=second))[0] for second in (0.4, 0.8))
    assert 1.0 - long / 2.0 == pytest.approx((1.0 - short / 2.0) ** 2, rel=0.01)


def test_the_stores_layers_pour_even_out_and_turn_over_by_hand():
    mass, heat = np.full(10, 100.0), 100.0 * 4186.0 * np.arange(10.0, 20.0)
    before = heat.sum()
    pour(mass, heat, 10.0, 14.5)  # comes to rest above the layer of 14 degC, in that of 15 degC
    assert mass == pytest.approx([100.0] * 5 + [100.0 + 1.0 + 1.8] + [101.8] * 4)
    assert heat.sum() - before == pytest.approx(10.0 * 4186.0 * 14.5)
    even_out(mass, heat)
    assert mass == pytest.approx(np.full(10, 101.0))
    mass, heat = np.full(10, 100.0), 100.0 * 4186.0 * np.array([10, 11, 15, 12, 12, 16, 17, 18, 19, 20.0])
    turn_over(mass, heat)
    assert heat / 418600.0 == pytest.approx([10, 11, 13, 13, 13, 16, 17, 18, 19, 20])


# --- the story ----------------------------------------------------------------------------------------------------


def test_muggy_nights_truly_warm_the_store(truth):
    nights = {night["date"]: night for night in night_table(truth)}
    warmed = {date for date, night in nights.items() if night["pipe_kWh"] < 0.0}
    assert warmed == {"2025-09-28", "2025-10-08", "2025-10-12"}
    assert warmed <= set(truth.config.muggy)
    assert all(nights[date]["humidity_frac"] > 0.9 for date in warmed)


def test_switched_off_nights_do_not_spray_and_the_long_night_has_an_hour_more(truth):
    nights = {night["date"]: night["sprayed_h"] for night in night_table(truth)}
    off = [datetime.date.fromisoformat(first) + datetime.timedelta(days=more)
           for first, _ in truth.config.off_nights for more in range(3)]
    assert [date for date, hours in nights.items() if hours == 0.0] == [date.isoformat() for date in off]
    assert nights["2025-11-01"] == 11.0  # clocks go back at two on 2 November
    assert nights["2025-10-31"] == 10.0


def test_nothing_but_the_leak_empties_the_store_in_the_leak_test(truth):
    span = truth.config.leak_test
    others = ("supply_kg", "return_kg", "draw_kg", "makeup_kg", "overflow_kg")
    assert [truth.between(name, span) for name in others] == [0.0] * len(others)
    assert truth.between("leak_kg", span) == pytest.approx(2.0 * 88.0 * 0.9982)  # 88 L a day


def test_tests_noted_on_site_tell_the_truth_within_their_accuracy(whole):
    truth, made = whole
    noted = {test["kind"]: test for test in made.tests}
    leak, closed, drawn = noted["leak"], noted["closed night"], noted["draw down"]
    assert leak["volume"] == pytest.approx(2.0 * 0.088, rel=leak["accuracy"])
    lost = sum(truth.between(name, truth.config.closed_night) for name in ("drift_kg", "drop_evaporated_kg",
                                                                           "film_evaporated_kg", "leak_kg"))
    on_roof = truth.states("film_kg")[truth.config.place(truth.config.closed_night[1])]
    assert closed["volume"] == pytest.approx((lost + on_roof) / 998.2, rel=closed["accuracy"])
    assert drawn["volume"] == pytest.approx(truth.between("waste_kg", truth.config.draw_down) / 998.2,
                                            rel=drawn["accuracy"])


def test_the_site_file_is_readable_and_its_facts_hold_the_truth(truth):
    site = read_site(FOLDER)
    facts, plant = site.facts(), truth.config.plant
    true = {"roof.1.area": plant.roof_m2, "roof.1.deck_u": plant.deck_u_W_m2K,
            "roof.1.wetted_share": plant.wetted_frac, "spray.flow": plant.spray_L_min,
            "spray.drop_size": plant.drop_mm, "spray.pump_power": plant.pump_W,
            "spray.pump_heat_share": plant.pump_heat_frac, "spray.drift_base": plant.drift_base,
            "store.volume": plant.store_m3, "store.leak": plant.leak_L_day, "store.ground_temperature": plant.ground_C}
    outside = {name: value for name, value in true.items() if not facts[name].low <= value <= facts[name].high}
    assert not outside
    assert (len(site.log), len(site.switched), len(site.bills)) == (5, 7, 1)
    assert len(site.test) == 12


# --- what was planted stands in the files, by reading them plainly ---------------------------------------------------


@pytest.fixture(scope="module")
def roof(files):
    """Rows of both exports of the roof logger: cells as text, without the two heading rows."""
    return [[line.split(";") for line in files[f"logs/roof_{number}.csv"].decode("cp1252").splitlines()[2:]]
            for number in (1, 2)]


def minutes(cells):
    return datetime.datetime.strptime(cells[0], "%d.%m.%y %H:%M")


def planted(whole, fault, column=None):
    return [item for item in whole[1].planted if item.fault == fault and column in (None, item.column)]


def test_the_roof_loggers_rows_are_doubled_missing_and_out_of_order_where_told(whole, roof):
    first, second = roof
    later = {row[0] for row in second}
    twice = {row[0]: row for row in first if row[0] in later}
    assert len(twice) == 1440
    assert all(twice[row[0]] == row for row in second[:1440])
    once = sorted({minutes(row) for part in roof for row in part})
    steps = Counter((after - before).total_seconds() / 60.0 for before, after in itertools.pairwise(once))
    assert steps == {1: len(once) - 3, 301: 1, 1441: 1}
    assert [item.rows for item in planted(whole, "gap")] == [300, 1440]
    back = [place for place, (row, after) in enumerate(itertools.pairwise(second))
            if minutes(after) < minutes(row)]
    assert len(back) == 1
    assert second[back[0] + 1][0] == planted(whole, "out of order")[0].first


def test_codes_and_the_stuck_sensor_stand_where_told(whole, roof):
    by_time = {row[0]: row for part in roof for row in part}
    head = ["Time", "T supply", "T return", "T store low", "T store mid", "T store high", "Flow", "Level", "T air",
            "RH", "Wind"]
    for code, column, times in (("-9999", "Wind", 74), ("85,0", "T store mid", 12), ("", "T air", 22),
                                ("---", "Flow", 5)):
        place = head.index(column)
        found = [row[0] for row in by_time.values() if row[place] == code]
        assert len(found) == times == sum(item.rows for item in planted(whole, "sentinel", column))
        assert {item.first for item in planted(whole, "sentinel", column)} <= set(found)
    stuck = planted(whole, "stuck humidity")[0]
    low, high = minutes([stuck.first]), minutes([stuck.last])
    values = {row[9] for row in by_time.values() if low <= minutes(row) <= high}
    assert len(values) == 1
    assert high - low == datetime.timedelta(days=2, minutes=-1)


def numbers(roof, column):
    """Readings of a column by true time's minute, codes left out."""
    place = {"T supply": 1, "T return": 2, "Flow": 6, "Level": 7}[column]
    return {minutes(row): float(row[place].replace(",", ".")) for part in roof for row in part
            if row[place] not in ("", "---")}


def test_the_pair_test_shows_the_return_sensors_error_and_the_draw_down_the_meters(truth, roof):
    supply, back, flow = (numbers(roof, column) for column in ("T supply", "T return", "Flow"))
    tested = [minute for minute in flow if datetime.datetime(2025, 9, 26, 14, 12) <= minute
              <= datetime.datetime(2025, 9, 26, 14, 44)]  # 15:00 to 15:40 on the site's clock, 6 min fast
    assert np.mean([back[minute] - supply[minute] for minute in tested]) == pytest.approx(0.4, abs=0.02)
    drawn = [minute for minute in flow if datetime.datetime(2025, 9, 27, 9, 1) <= minute
             <= datetime.datetime(2025, 9, 27, 9, 40)]
    litres = truth.between("waste_kg", truth.config.draw_down) / 0.9982
    assert sum(flow[minute] for minute in drawn) / litres == pytest.approx(1.04, abs=0.005)


def test_the_loggers_clock_is_six_minutes_fast_at_first_and_nine_at_last(truth, roof):
    """The first spraying starts at 20:30 on the site's clock, 19:30 standard time; the last at 20:30 standard time."""
    flow = numbers(roof, "Flow")
    for day, true in (((2025, 9, 26), (19, 30)), ((2025, 11, 6), (20, 30))):
        first = min(minute for minute, value in flow.items()
                    if value > 50.0 and datetime.datetime(*day, 17) < minute < datetime.datetime(*day, 23))
        fast = (first - datetime.datetime(*day, *true)).total_seconds() / 60.0
        assert fast == pytest.approx(7.0 if day[1] == 9 else 9.9, abs=0.6)  # a stamp ends its minute


def test_the_building_controls_run_through_one_hour_twice_newest_first(files):
    lines = files["logs/bms_export.csv"].decode("utf-8-sig").splitlines()
    stamps = [datetime.datetime.strptime(line.split(",")[0], "%m/%d/%Y %I:%M:%S %p") for line in lines[4:-1]]
    forward = [(earlier, later) for later, earlier in itertools.pairwise(stamps) if later < earlier]
    assert len(forward) == 1  # the clock was set back once
    assert forward[0][0].date() == forward[0][1].date() == datetime.date(2025, 11, 2)
    assert {moment.hour for moment in forward[0]} == {1}
    assert sum(line.endswith(",Bad") for line in lines) == 9


def test_the_make_up_counter_rolls_over_once_is_reset_once_and_else_tells_the_truth(whole, files):
    lines = files["logs/water_meters.csv"].decode("utf-8").splitlines()[1:]
    shown = [int(line.split(",")[2]) for line in lines]
    falls = [place for place, (low, high) in enumerate(itertools.pairwise(shown)) if high < low]
    assert [shown[place + 1] - shown[place] + 100000 < 500 for place in falls] == [True, False]
    used_gal = shown[falls[0]] - 98760 + shown[falls[0] + 1] + 100000 - shown[falls[0]]
    used_gal += shown[falls[1]] - shown[falls[0] + 1] + shown[-1]
    true_gal = whole[0].rows["makeup_kg"].sum() / 0.9982 / 3.785412
    assert used_gal == pytest.approx(true_gal, abs=3.0)
    assert sum(line.split(",")[1] == "24:00" for line in lines) == 42


def test_the_gauge_counts_rain_and_on_windy_nights_the_spray(whole, files):
    tips = sum(int(line.split(",")[1]) for line in files["logs/rain_tips.csv"].decode("utf-8").splitlines()[1:])
    false = sum(item.rows for item in planted(whole, "tipped by spray"))
    assert 15 < false < 80
    assert tips - false == math.floor(whole[0].weather.rain_mm.sum() * 0.94 / 0.2)


def test_spray_wets_the_humidity_sensor_where_told(whole, roof):
    truth, by_time = whole[0], {row[0]: row for part in roof for row in part}
    true_pct = 100.0 * truth.weather.humidity_frac()
    for item in planted(whole, "wetted humidity"):
        minute = minutes([item.first]) + datetime.timedelta(hours=2)
        at = round((minute - datetime.datetime(2025, 9, 26, 12, 7)).total_seconds() / STEP_S)
        row = by_time.get(f"{minute:%d.%m.%y %H:%M}")
        assert row is None or float(row[9]) > true_pct[at] + 0.4 * (99.5 - true_pct[at])
    assert len(planted(whole, "wetted humidity")) == 8  # a quarter of 32


def test_the_air_conditioners_meter_and_the_bills_add_up(whole, files):
    lines = files["logs/ac_meter.csv"].decode("utf-8").splitlines()[1:]
    metered = sum(float(line.split(",")[1]) for line in lines)
    assert metered == pytest.approx(whole[0].rows["ac_J"].sum() / 3.6e6, rel=0.005)
    bills = whole[1].bills
    assert sum(bill.billed_kWh for bill in bills) == pytest.approx(sum(bill.used_kWh for bill in bills), abs=12.0)
    assert sum(bill.estimated for bill in bills) == 1
    assert all(later.first - earlier.last == datetime.timedelta(days=1)
               for earlier, later in itertools.pairwise(bills))


# --- variants -----------------------------------------------------------------------------------------------------


def test_the_swapped_variant_swaps_the_pair_and_nothing_else():
    truth, swapped = maker.swapped_pack()
    straight = maker.make_logs(truth, maker.Faults(), maker.SEED)
    other = {name for name in straight.files if straight.files[name] != swapped.files[name]}
    assert other == {"logs/roof_1.csv"}
    for line, crossed in zip(*(made.files["logs/roof_1.csv"].decode("cp1252").splitlines()[2:]
                               for made in (straight, swapped)), strict=True):
        cells = line.split(";")
        if abs(float(cells[1].replace(",", ".")) - float(cells[2].replace(",", "."))) < 6.0:  # spikes stay in place
            assert crossed.split(";") == [cells[0], cells[2], cells[1], *cells[3:]]


def test_without_faults_every_minute_is_there_and_the_flow_adds_up():
    truth = maker.make_truth(Config(nights=4), 7)
    made = maker.make_logs(truth, maker.Faults.none(), 7)
    assert not made.planted
    rows = [line.split(";") for line in made.files["logs/roof_1.csv"].decode("cp1252").splitlines()[2:]]
    assert len(rows) == 4 * 1440
    assert all(minutes(later) - minutes(row) == datetime.timedelta(minutes=1)
               for row, later in itertools.pairwise(rows))
    litres = sum(float(row[6].replace(",", ".")) for row in rows)
    assert litres == pytest.approx(truth.rows["supply_kg"].sum() / 0.9982, rel=0.001)
