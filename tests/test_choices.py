"""Entries that choose machines, drives, free cooling and the store's walls: each moves the answer, by hand and the
right way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize
from small_site import run, small_site, steady_weather, total

from sprayroof.auditing import audit
from sprayroof.errors import SiteFileProblems
from sprayroof.model.drivers import drivers
from sprayroof.model.members import ensemble
from sprayroof.physics import ground
from sprayroof.physics.constants import CP_WATER, RHO_WATER, SOIL_DIFFUSIVITY, WATER_SIDE_H

DAYS, SECONDS = 3, 3 * 86400.0
ALL_DAY = {"from": "00:00", "to": "24:00", "lag": 0}
COLD_STORE = {"initial_temperature": 10, "initial_share": 1.0, "u": 0.02, "volume": 200}


def values(site, *ids: str) -> tuple[float, ...]:
    quantities = audit(site, runs=0).periods["year"].quantities
    return tuple(quantities[id].value for id in ids)


def served(air_conditioner, emitter=None, **load):
    """A demand of 7.5 kW day and night at 15 degC outdoors, 5.625 kW of it sensible, beside a cold store."""
    floor = {"name": "floor", "kind": "floor", "area": 400, "flow": 60, "pump_power": 60, "minimum_supply": 10,
             "dew_margin": -5, "minimum_surface": 12}
    return small_site(
        air_conditioner=air_conditioner, store=COLD_STORE, use=[], mains={"rule": "none"}, room={"temperature": 25},
        load={"ua": 1.5, "balance_point": 10, "sensible_share": 0.75, **ALL_DAY, **load},
        emitter=[{**floor, **(emitter or {})}], spray={"pump_heat_share": 0.0})


def unsprayed(site, **weather):
    return run(site, steady_weather(DAYS, **weather), sprays=False)


# --- part load ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["packaged", "chiller"])
def test_by_en14825_the_power_is_a_line_in_the_load(kind):
    """CR/(Cc CR + 1 - Cc): power = full power x (Cc CR + 1 - Cc), so each watt taken off spares Cc x full-load EIR.

    The full-load EIR is read where the load fills the machine, which is the same by any rule.
    """
    machine = {"kind": kind, "rated_cop": 3.0, "rated_capacity": 20}
    full = unsprayed(served({**machine, "rated_capacity": 1}))
    capacity_W = {}
    for loss in (0.0, 0.1):
        trace = unsprayed(served({**machine, "part_load": "EN 14825", "part_load_degradation": loss}))
        capacity_W[loss] = trace
    none, some = capacity_W[0.0], capacity_W[0.1]
    eir = total(none, "ac_without_J") / total(none, "load_J")  # nothing lost: EIR at full load
    spared = total(some, "ac_without_J") - total(some, "ac_with_J")
    assert total(some, "useful_J") > 0.0
    assert spared == pytest.approx(0.9 * eir * total(some, "useful_J"), rel=1e-9)
    # (1 - Cc) of the full power stays, however small the load
    full_W = total(full, "ac_without_J") / SECONDS * 20.0
    assert total(some, "ac_without_J") / SECONDS == pytest.approx(
        0.9 * eir * total(some, "load_J") / SECONDS + 0.1 * full_W, rel=1e-9)


def test_the_rule_moves_a_chillers_answer_through_the_audit():
    """By its own curve a scroll chiller is better at part load than at full; by the line and EN 14825 it is worse."""
    own, line, standard = (
        values(small_site(air_conditioner={"kind": "chiller", "rated_capacity": 40, "part_load": rule}),
               "ac_electricity_kWh")[0] for rule in ("of the kind", "line", "EN 14825"))
    assert own < standard
    assert own < line
    assert abs(line - standard) > 0.02 * own


def test_an_inverter_units_cycling_follows_the_rule():
    line, standard = (
        values(small_site(air_conditioner={"kind": "inverter", "rated_capacity": 60, "part_load": rule,
                                           "part_load_degradation": 0.25}), "ac_electricity_kWh")[0]
        for rule in ("line", "EN 14825"))
    # at the same loss EN 14825 takes more: CR/(0.75 CR + 0.25) < 1 - 0.25 (1 - CR) for CR below 1
    assert standard > 1.02 * line


# --- free cooling ---------------------------------------------------------------------------------------------------

FLOW = {"kind": "constant", "rated_cop": 3.0, "free_cooling_below": 18, "free_cooling_flow": 1000}
BLOWN_W = 1000.0 / 3600.0 * 1210.0 * 10.0  # J/(m3 K) of the table of constants; 25 degC in the room, 15 outside


@pytest.mark.parametrize(("order", "delivered_W"), [("water first", 5625.0), ("air first", 5625.0 - BLOWN_W)])
def test_a_flow_of_outdoor_air_takes_its_part_first_in_the_books(order, delivered_W):
    """1000 m3/h at 10 K carry 3.36 of 5.63 kW: the roof is credited with the rest, whoever runs first."""
    trace = unsprayed(served({**FLOW, "free_cooling_order": order}))
    assert total(trace, "free_J") == pytest.approx(BLOWN_W * SECONDS, rel=1e-9)
    assert total(trace, "delivered_J") == pytest.approx(delivered_W * SECONDS, rel=1e-9)
    assert total(trace, "useful_J") == pytest.approx((5625.0 - BLOWN_W) * SECONDS, rel=1e-9)
    assert total(trace, "ac_without_J") == pytest.approx((7500.0 - BLOWN_W) / 3.0 * SECONDS, rel=1e-9)
    assert total(trace, "ac_with_J") == pytest.approx((7500.0 - 5625.0) / 3.0 * SECONDS, rel=1e-9)


def test_a_flow_that_could_do_more_than_the_sensible_demand_leaves_the_drying():
    trace = unsprayed(served({**FLOW, "free_cooling_flow": 100_000}))
    assert total(trace, "free_J") == pytest.approx(5625.0 * SECONDS, rel=1e-9)
    assert total(trace, "useful_J") == 0.0
    assert total(trace, "ac_with_J") == total(trace, "ac_without_J") == pytest.approx(1875.0 / 3.0 * SECONDS, rel=1e-9)


def test_warm_air_cools_nothing():
    trace = unsprayed(served({**FLOW, "free_cooling_below": 14}))
    assert total(trace, "free_J") == 0.0
    assert total(trace, "useful_J") == total(trace, "delivered_J") > 0.0


def test_the_more_outdoor_air_does_the_less_is_useful_through_the_audit():
    machine = {"free_cooling_below": 22}
    none, small, large, whole = (
        values(small_site(air_conditioner=one), "useful_caused_kWh", "free_cooling_kWh")
        for one in ({}, {**machine, "free_cooling_flow": 800}, {**machine, "free_cooling_flow": 4000}, machine))
    assert none[0] > small[0] > large[0] > whole[0]
    assert none[1] == 0.0 < small[1] < large[1] < whole[1]


def test_outdoor_air_first_keeps_cold_for_later():
    """The store that is spared in mild hours has more left for the warm ones."""
    machine = {"free_cooling_below": 20, "free_cooling_flow": 3000}
    water, air = (values(small_site(air_conditioner={**machine, "free_cooling_order": order}),
                         "cooling_delivered_kWh", "cooling_useful_kWh") for order in ("water first", "air first"))
    assert air[0] < water[0]
    assert air[1] > water[1]


# --- pumps ----------------------------------------------------------------------------------------------------------


def test_a_slowed_spray_pump_by_hand():
    """Half the flow, 0.4 of the head static: 0.5 (0.4 + 0.6 x 0.25) = 0.275 of the power."""
    full, slow = (small_site(spray=one) for one in ({}, {"slowed_to": 0.5, "static_share": 0.4}))
    traces = [run(site, steady_weather(DAYS), 0) for site in (full, slow)]
    water, power = ([total(trace, name) / total(trace, "spray_s") for trace in traces]
                    for name in ("sprayed_kg", "spray_pump_J"))
    assert water[1] == pytest.approx(0.5 * water[0], rel=1e-9)
    assert power[0] == pytest.approx(400.0, rel=1e-9)
    assert power[1] == pytest.approx(0.275 * 400.0, rel=1e-9)


def test_a_slowed_spray_pump_uses_less_and_cools_less_through_the_audit():
    full, slow = (values(small_site(spray={"slowed_to": share}), "electricity_own_kWh", "cooling_roof_kWh")
                  for share in (1.0, 0.6))
    assert slow[0] < 0.75 * full[0]
    assert 0.5 * full[1] < slow[1] < full[1]


def test_a_variable_circulator_slows_until_the_floor_does_just_its_work():
    """Supply of 10 degC from a well mixed store; flow by scipy from 1 - exp(-NTU), power as its cube."""
    site = served({"kind": "constant"}, {"pump_drive": "variable"}, ua=1.0)
    trace = unsprayed(site)
    fixed = unsprayed(served({"kind": "constant"}, ua=1.0))
    first, step = trace.steps[0], 600.0
    wanted_W, ua = 5000.0 * 0.75, 400.0 / (1.0 / 7.0 + 0.1)

    def lacking(flow):
        return flow * CP_WATER * -math.expm1(-ua / (flow * CP_WATER)) * 15.0 - wanted_W

    flow = optimize.brentq(lacking, 1e-3, 2.0)
    full = 60.0 * RHO_WATER / 1000.0 / 60.0
    share = max(0.2, flow / full)
    assert first["delivered_J"] == pytest.approx(wanted_W * step, rel=1e-9)
    assert first["circulator_J"] == pytest.approx(60.0 * share**3 * step, rel=1e-3)
    assert total(fixed, "circulator_J") == pytest.approx(60.0 * SECONDS, rel=1e-9)
    assert total(trace, "delivered_J") == pytest.approx(total(fixed, "delivered_J"), rel=1e-9)
    assert trace.residual["heat_step_rel"].max() <= 1e-9


def test_a_variable_circulator_spares_its_electricity_through_the_audit():
    floor = {"name": "floor", "kind": "floor", "area": 200, "flow": 30, "pump_power": 60}
    fixed, variable = (values(small_site(emitter=[{**floor, "pump_drive": drive}]), "electricity_own_kWh",
                              "cooling_delivered_kWh") for drive in ("fixed", "variable"))
    assert variable[0] < fixed[0]
    assert variable[1] == pytest.approx(fixed[1], rel=0.02)


# --- the store's walls ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wind_m_s", [0.0, 6.0])
@pytest.mark.parametrize("resistance", [0.0, 1.0])
def test_a_store_outdoors_cools_by_the_wind(wind_m_s, resistance):
    """ISO 6946: 4 + 4 v outside, 5 of radiation; wind 2 m over a suburb by the power law; an exponential in time."""
    site = small_site(store={"volume": 20, "wall_resistance": resistance, "initial_temperature": 30,
                             "initial_share": 1.0, "leak": 0},
                      use=[], mains={"rule": "none"}, load={"ua": 0.001, "balance_point": 40})
    trace = unsprayed(site, wind_m_s=wind_m_s)
    at_store = wind_m_s * (270.0 / 10.0) ** 0.14 * (2.0 / 370.0) ** 0.22
    u = 1.0 / (1.0 / WATER_SIDE_H + resistance + 1.0 / (9.0 + 4.0 * at_store))
    area = 2.0 * 10.0 + 4.0 * math.sqrt(10.0) * 2.0
    gone = math.exp(-u * area * SECONDS / (20_000.0 * RHO_WATER / 1000.0 * CP_WATER))
    assert trace.states["t_outlet_C"][-1] == pytest.approx(15.0 + 15.0 * gone, abs=1e-6)


def test_thin_walls_in_the_wind_warm_the_store_through_the_audit():
    bare, thick = (values(small_site(store={"wall_resistance": one}), "useful_caused_kWh")[0] for one in (0.0, 2.0))
    assert thick > 1.05 * bare


@pytest.mark.parametrize(("placement", "outside"), [("buried", 0.0), ("indoors", 1.0 / 7.7)])
def test_a_walls_resistance_indoors_and_in_the_ground(placement, outside):
    """Indoors still air (ISO 6946, 0.13 m2 K/W), in the ground none: the soil is that."""
    site = small_site(store={"placement": placement, "wall_resistance": 0.5, "volume": 20, "depth": 2.0})
    ua = float(ensemble(site, drivers(site, steady_weather(1)), 0, 1).members["ua_store_W_K"][0])
    area = 2.0 * 10.0 + 4.0 * math.sqrt(10.0) * 2.0
    wall = area / (1.0 / WATER_SIDE_H + 0.5 + outside)
    if placement == "buried":
        wall = 1.0 / (1.0 / wall + 1.0 / (1.5 * float(ground.shape_compact_m(area, 2.0))))
    assert ua == pytest.approx(wall, rel=1e-9)


def test_a_long_tank_lying_in_the_ground_by_another_library():
    """2 m across and 15.9 m long, axis 2.5 m deep: an independent library's shape factor in a row with the wall."""
    ht = pytest.importorskip("ht")
    site = small_site(store={"placement": "buried", "shape": "lying cylinder", "volume": 50, "height": 2.0,
                             "depth": 2.5, "u": 5.0})
    ua = float(ensemble(site, drivers(site, steady_weather(1)), 0, 1).members["ua_store_W_K"][0])
    length = 50.0 / math.pi
    soil = 1.5 * ht.S_isothermal_pipe_to_plane(2.0, 2.5, length)
    wall = 5.0 * (2.0 * math.pi + 2.0 * math.pi * length)
    assert ua == pytest.approx(1.0 / (1.0 / soil + 1.0 / wall), rel=1e-9)


def test_the_ground_about_a_store_is_the_mean_over_its_walls():
    site = small_site(store={"placement": "buried", "height": 3.0, "depth": 2.0, "coldest_day": 35})
    record = drivers(site, steady_weather(1))
    depths = 0.5 + 3.0 * (np.arange(3000) + 0.5) / 3000
    wave = ground.ground_temperature_C(depths, 0.0, 0.0, 1.0, 35.0 * 86400.0, SOIL_DIFFUSIVITY).mean()
    assert record["ground_wave"][0] == pytest.approx(wave, abs=1e-5)


# --- panels ---------------------------------------------------------------------------------------------------------


def test_the_plate_efficiency_factor_of_the_panels_make_by_hand():
    """Tubes of 12 mm every 120 mm on copper of 0.3 mm, bare, U = 20: x = sqrt(20/0.12) 0.054 = 0.697, F = 0.864;
    F' = (1/20)/(0.12 [1/(20 (0.012 + 0.108 F)) + 0.03 + 1/(pi 0.0102 300)])."""
    site = small_site(panels={"area": 100, "tube_pitch": 0.12, "tube_diameter": 0.012, "plate_conduction": 0.12})
    made = float(ensemble(site, drivers(site, steady_weather(1)), 0, 1).members["panel_factor"][0])
    fin = math.tanh(0.6971) / 0.6971
    resistance = 1.0 / (20.0 * (0.012 + 0.108 * fin)) + 0.03 + 1.0 / (math.pi * 0.0102 * 300.0)
    assert made == pytest.approx(1.0 / (20.0 * 0.12 * resistance), rel=1e-4)


def test_wide_tubes_on_thin_plastic_cool_less_through_the_audit():
    make = {"tube_pitch": 0.1, "tube_diameter": 0.01}
    metal, plastic = (values(small_site(panels={"area": 150, **make, "plate_conduction": one}), "cooling_roof_kWh")[0]
                      for one in (0.2, 0.001))
    assert plastic < 0.9 * metal


# --- what is told ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("changes", "told"), [
    ({"air_conditioner": {"free_cooling_flow": 3000}}, "air_conditioner.free_cooling_below: the entry is missing"),
    ({"store": {"shape": "lying cylinder", "height": 4}}, "a lying cylinder of 20 m³ with this diameter is 1.6 m long"),
    ({"store": {"shape": "lying cylinder", "volume": 50, "open_share": 1.0}}, "a lying cylinder is closed"),
    ({"store": {"shape": "horizontal cylinder"}}, 'write "lying cylinder" if that is meant'),
    ({"air_conditioner": {"part_load": "EN14825"}}, 'write "EN 14825" if that is meant'),
    ({"spray": {"slowed_to": 1.2}}, "spray.slowed_to"),
    ({"panels": {"area": 100, "tube_pitch": 0.1, "tube_diameter": 0.01}},
     "panels.plate_conduction: the entry is missing"),
    ({"panels": {"area": 100, "tube_pitch": 0.01, "tube_diameter": 0.02, "plate_conduction": 0.1}},
     "less than the tubes' 0.02 m"),
])
def test_what_does_not_fit_is_told_in_one_line(changes, told):
    with pytest.raises(SiteFileProblems) as caught:
        small_site(**changes)
    assert told in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(("changes", "entry"), [
    ({"air_conditioner": {"kind": "constant", "part_load": "line"}}, "air_conditioner.part_load"),
    ({"air_conditioner": {"free_cooling_order": "air first"}}, "air_conditioner.free_cooling_order"),
    ({"store": {"u": 2.0, "wall_resistance": 0.5}}, "store.u"),
    ({"spray": {"static_share": 0.5}}, "spray.static_share"),
])
def test_entries_that_play_no_part_are_told(changes, entry):
    idle = [finding for finding in small_site(**changes).findings if finding.code == "site.entry-unused"]
    assert [finding.data["entry"] for finding in idle] == [entry]


def test_by_en14825_a_chillers_loss_is_a_tenth_unless_stated():
    site = small_site(air_conditioner={"kind": "chiller", "part_load": "EN 14825"})
    assert site.air_conditioner.part_load_degradation_frac.value == 0.1
    assert not site.findings
    assert small_site().air_conditioner.part_load_degradation_frac.value == 0.25
