"""Traps met in public code, each put back here by hand: ours must differ from it and agree with the outside."""

import math

import numpy as np
import pandas as pd
import pytest
from CoolProp.CoolProp import PropsSI
from ht.conv_external import Nu_horizontal_plate_turbulent_Kreith
from outside_solutions import Night, Sheet
from small_site import run, small_site, steady_weather, total
from test_sheet_and_drops import our_sheet

from sprayroof.evidence.weather import read_weather
from sprayroof.model.drivers import clear_sky, drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.physics import convection, droplets, film, machines, moistair, sky
from sprayroof.physics.constants import PRANDTL_AIR, STEFAN_BOLTZMANN
from sprayroof.physics.convection_rivals import CONVECTION

# Li & Coimbra 2019, table 1 summed: vapour pressure [hPa] -> emissivity of a clear sky, sea level, 294.2 K
LINE_BY_LINE = {5.24: 0.7372, 12.30: 0.8022, 18.24: 0.8420, 25.33: 0.8808}
K, NU = 0.0257, 1.51e-5


def test_high_cloud_counts_less_not_more():
    """Trap: exp(+h/8.2 km). Published weather files carry 0.784 for a base at 2 km (Martin & Berdahl 1984)."""
    ours, trap = sky.cloud_effect_martin_berdahl(0.8, 1.0, 2000.0), math.exp(2000.0 / 8200.0)
    assert ours == pytest.approx(0.784, abs=0.001)
    assert abs(ours - trap) > 0.4
    assert sky.cloud_effect_martin_berdahl(0.8, 1.0, 8000.0) < ours
    assert sky.all_sky_emissivity(0.8, ours) < 1.0 < sky.all_sky_emissivity(0.8, trap)


@pytest.mark.parametrize(("e_hPa", "emissivity"), LINE_BY_LINE.items())
def test_dilley_obrien_takes_kilograms_over_25(e_hPa, emissivity):
    """Trap: sqrt(w/2.5) with w in kg/m2 gives emissivities above one."""
    t_K = 294.2
    ours = sky.sky_emissivity_dilley_obrien(t_K - 273.15, 0.0, 100.0 * e_hPa, 101325.0, 0.0)
    column = 465.0 * e_hPa / t_K
    trap = (59.38 + 113.7 * (t_K / 273.16) ** 6 + 96.96 * math.sqrt(column / 2.5)) / (STEFAN_BOLTZMANN * t_K**4)
    assert abs(ours - emissivity) < 0.05
    assert trap - emissivity > 0.05
    assert abs(trap - emissivity) > 2.0 * abs(ours - emissivity)


def test_machine_curves_are_one_at_their_rating():
    """Trap: the printed curves are 0.994 and 1.009 at 67/95 degF; taken as they stand they shift the rated COP."""
    wet, out = (67.0 - 32.0) / 1.8, (95.0 - 32.0) / 1.8
    assert machines.capacity_factor(wet, out) == pytest.approx(1.0, abs=1e-12)
    assert machines.eir_factor(wet, out) == pytest.approx(1.0, abs=1e-12)
    assert abs(machines.cutler_capacity_raw(67.0, 95.0) - 1.0) > 0.004
    assert abs(machines.cutler_eir_raw(67.0, 95.0) - 1.0) > 0.004
    # less electricity per cooling in cooler air, as every machine does
    assert machines.eir_factor(wet, 20.0) < 0.9


def test_plate_stays_positive_in_light_wind():
    """Trap: (0.037 Re^0.8 - 871) Pr^(1/3) below its range is negative; ours follows ht's turbulent plate down."""
    for wind in (0.05, 0.2, 0.4):
        reynolds = wind * 10.0 / NU
        trap = (0.037 * reynolds**0.8 - 871.0) * PRANDTL_AIR ** (1 / 3)
        ours = convection.plate_turbulent_W_m2K(wind, 10.0, K, NU) * 10.0 / K
        assert trap < 0.0 < ours
        assert ours == pytest.approx(Nu_horizontal_plate_turbulent_Kreith(reynolds, PRANDTL_AIR), rel=0.03)


@pytest.mark.parametrize(("model", "exponent"), [("plate", -0.2), ("clear_et_al", -0.2), ("emmel_oblique", 0.0)])
def test_the_loop_knows_how_long_a_roof_is(model, exponent):
    """Trap: one metre's coefficient on every roof. By hand (20/5)^-0.2 = 0.75786; Emmel's line knows no length."""
    weather, coefficients = steady_weather(1, wind_m_s=3.0), []
    for length in (5.0, 20.0):
        site = small_site(weather={"convection_model": model},
                          roof=[{"name": "long roof", "area": 400, "length": length, "surface": "new coated metal"}])
        plane = ensemble(site, drivers(site, weather), 0, 1).members["planes"][0, 0]
        one_metre = formulas_of(site, weather, rivals(site)).forced_1m_W_m2K[0, 0]
        coefficients.append(plane["forced_constant_W_m2K"] + plane["forced_factor"] * (
            one_metre - plane["forced_constant_W_m2K"]))
    assert coefficients[1] / coefficients[0] == pytest.approx(4.0**exponent, rel=1e-9)
    if model == "plate":
        # the roof's wind by the profile of a suburb at 6 m, the plate by ht, its median factor 1.3
        reynolds = 3.0 * 27.0**0.14 * (6.0 / 370.0) ** 0.22 * 20.0 / 1.48e-5
        outside = 1.3 * Nu_horizontal_plate_turbulent_Kreith(reynolds, PRANDTL_AIR) * 0.0255 / 20.0
        assert coefficients[1] == pytest.approx(outside, rel=0.05)


def test_a_big_roof_is_not_a_small_plate():
    """Trap: McAdams 5.7 + 3.8 V, measured on half a metre, on a roof of 20 m."""
    ours, trap = convection.plate_turbulent_W_m2K(3.0, 20.0, K, NU), 5.7 + 3.8 * 3.0
    outside = Nu_horizontal_plate_turbulent_Kreith(3.0 * 20.0 / NU, PRANDTL_AIR) * K / 20.0
    assert ours == pytest.approx(outside, rel=0.03)
    assert trap > 1.8 * outside


def test_no_audit_takes_a_small_plate_for_a_roof_unasked():
    """The same trap as a default: neither the best estimate nor a drawn rival may be a formula of small plates."""
    site = small_site()
    offered = rivals(site)["convection_model"]
    assert site.weather.convection_model == "plate"
    assert not {"mcadams", "test", "watmuff"} & set(offered)
    twenty_m_roof = [CONVECTION[name] for name in offered]
    assert not [rival for rival in twenty_m_roof if "small plate" in rival.words]


@pytest.mark.parametrize("night", [Night(24.0, 0.95, 2.0, 390.0), Night(15.0, 1.0, 1.0, 330.0)], ids=["warm", "fog"])
def test_condensation_is_not_clipped(night):
    """Trap: max(0, m). Cold water under damp air gains water and heat."""
    mean, heat, evaporation, _ = our_sheet(night, night.t_C - 8.0, 0.01, 0.0)
    _, their_mean, their_heat, their_evaporation = Sheet(night).solve(night.t_C - 8.0, 0.01, 0.0)
    assert evaporation < 0.0
    assert evaporation == pytest.approx(their_evaporation, rel=0.012)
    assert heat == pytest.approx(their_heat, rel=0.01)
    assert mean == pytest.approx(their_mean, abs=0.02)


def test_condensation_is_not_clipped_in_the_loop_either():
    site = small_site(
        controls={"sense": "clock", "window_from": "00:00", "window_to": "23:50", "stop_store": -50},
        use=[],
        store={"initial_temperature": 8},
        load={"ua": 0.001, "balance_point": 40},
    )
    trace = run(site, steady_weather(1, t_air_C=22.0, t_dew_C=21.0, cloud_frac=1.0))
    first = trace.steps[0]
    assert first["condensation_kg"] > 0.0
    assert first["evaporation_kg"] == 0.0
    assert first["latent_J"] < 0.0


@pytest.mark.parametrize("ridge_share", [0.0, 1.0], ids=["sprayed", "fed at the ridge, no drops"])
def test_all_dew_of_the_loop_is_kept_as_water(ridge_share):
    """Heat taken up by dew over its latent heat is the water gained: 2477 kJ/kg at 10 degC (IAPWS, by CoolProp)."""
    site = small_site(
        controls={"sense": "clock", "window_from": "00:00", "window_to": "23:50", "stop_store": -50},
        use=[],
        store={"initial_temperature": 8},
        spray={"ridge_share": ridge_share},
        load={"ua": 0.001, "balance_point": 40},
    )
    trace = run(site, steady_weather(1, t_air_C=22.0, t_dew_C=21.0, cloud_frac=1.0))
    dew = trace.steps[:12]
    assert (dew["condensation_kg"] > 0.0).all()
    assert dew["evaporation_kg"].sum() == 0.0
    latent_J_kg = float(PropsSI("H", "T", 285.15, "Q", 1, "Water") - PropsSI("H", "T", 285.15, "Q", 0, "Water"))
    np.testing.assert_allclose(-dew["latent_J"] / latent_J_kg, dew["condensation_kg"], rtol=0.01)


def test_wet_bulb_is_no_floor():
    """Trap: max(T, wet bulb). Under a clear calm sky a film lies well below it (Sheet solves the balance anew)."""
    night = Night(20.0, 0.7, 0.5, 300.0)
    settled = our_sheet(night, 20.0, 1e-9, 0.0)[0]
    assert settled == pytest.approx(Sheet(night).settled_C(), abs=0.05)
    assert settled < night.wet_bulb_C - 1.0


def test_the_sheet_passes_the_wet_bulb_in_the_loop():
    site = small_site(
        controls={"sense": "clock", "window_from": "00:00", "window_to": "23:50", "stop_store": -50},
        use=[],
        store={"volume": 2, "initial_temperature": 24},
        mains={"rule": "none"},
        spray={"flow": 20},
        load={"ua": 0.001, "balance_point": 40},
    )
    trace = run(site, steady_weather(6, t_air_C=20.0, t_dew_C=14.0, wind_m_s=0.3))
    assert np.nanmax(trace.states["t_return_C"]) > 18.0, "the water must come down from above the wet bulb"
    e_Pa = moistair.saturation_pressure_Pa(14.0)
    wet_bulb = moistair.wet_bulb_C(20.0, moistair.humidity_ratio(e_Pa, 98000.0), 98000.0)
    assert np.nanmin(trace.states["t_return_C"]) < wet_bulb - 0.5


def test_drift_stands_apart_from_evaporation():
    """Trap: a wind-drift-and-evaporation fit added to evaporation. Here drift is d0 + d1 (U - 1)^2."""
    losses = {}
    for share in (0.0, 0.004):
        site = small_site(
            spray={"drift_base": share, "drift_wind": 0.0},
            use=[],
            mains={"rule": "none"},
            controls={"sense": "clock", "window_from": "00:00", "window_to": "23:50", "stop_store": -50},
            load={"ua": 0.001, "balance_point": 40},
        )
        trace = run(site, steady_weather(1, wind_m_s=3.0))
        losses[share] = {name: total(trace, name) for name in ("drift_kg", "evaporation_kg", "sprayed_kg")}
    assert losses[0.0]["drift_kg"] == 0.0
    assert losses[0.004]["drift_kg"] == pytest.approx(0.004 * losses[0.004]["sprayed_kg"], rel=1e-9)
    # evaporation does not know of drift: only the 0.4 % of water that no longer lands is missing
    assert losses[0.004]["evaporation_kg"] == pytest.approx(losses[0.0]["evaporation_kg"], rel=0.01)
    # Playan et al. 2005 at night, 3.7 + 1.31 U^2 %, holds both and bounds the sum from above
    both = losses[0.004]["drift_kg"] + losses[0.004]["evaporation_kg"]
    assert both < (0.037 + 0.0131 * 3.0**2) * losses[0.004]["sprayed_kg"]
    assert droplets.drift_share(3.0, 0.004, 0.0) == 0.004


def test_the_diurnal_term_runs_on_solar_time():
    """Trap: clock time. Same solar hours under clocks six hours apart: the same sky; the term itself is worth 0.013."""
    site = small_site()
    hours = np.arange(144) / 6.0
    skies = []
    for zone in ("Etc/GMT+5", "Etc/GMT+11"):
        weather = steady_weather(1, zone=zone)
        weather.table["solar_hour_h"] = hours
        skies.append(clear_sky(site, weather, ["berdahl_martin"])[:, 0])
    assert np.array_equal(*skies)
    assert skies[0][0] - skies[0][72] == pytest.approx(2 * 0.013, rel=1e-6)


def test_solar_hour_of_the_weather_is_noon_when_the_sun_is_highest():
    """West of its time zone's middle and in summer time the clock is off by more than an hour."""
    site = small_site(place={"time_zone": "America/New_York"})
    table = read_weather(site).table
    local = table.index.tz_convert("America/New_York")
    july = (local >= pd.Timestamp("2001-07-10", tz="America/New_York")) & (
        local < pd.Timestamp("2001-07-11", tz="America/New_York")
    )
    day = table[july]
    highest = day["sun_elevation_deg"].to_numpy().argmax()
    assert day["solar_hour_h"].iloc[highest] == pytest.approx(12.0, abs=0.2)
    clock = local[july][highest]
    assert clock.hour + clock.minute / 60.0 > 13.0


def test_an_evenly_fed_sheet_is_not_plug_flow():
    """Trap: 1 - exp(-N) for a roof whose every metre gets fresh water; the balance solved anew says N/(1 + N)."""
    night = Night(15.0, 0.6, 4.0, 300.0)
    _, _, even, _ = Sheet(night).solve(22.0, 0.004, 0.0)
    _, _, ridge, _ = Sheet(night).solve(22.0, 0.004, 1.0)
    ours = our_sheet(night, 22.0, 0.004, 0.0)[1]
    assert ours == pytest.approx(even, rel=0.01)
    assert ridge > 1.08 * even
    for n in (0.3, 1.0, 3.0):
        assert n * film.sheet_profile(1.0, 0.0, n, 1.0, 0.0)[0] == pytest.approx(n / (1 + n), rel=1e-12)


def test_clark_and_allen_count_273():
    """Trap: 273.15 in the logarithm of a formula fitted with 273: 0.2 W/m2, more than a weather file's rounding."""
    ours = sky.sky_emissivity_clark_allen(20.0, 10.0, 0.0, 101325.0, 0.0)
    assert ours == pytest.approx(0.787 + 0.764 * math.log(283.0 / 273.0), abs=1e-12)


def test_frost_point_is_not_dew_point():
    """Trap: one branch of the saturation pressure for both. At -10 degC ice holds 10 % less vapour than water would."""
    over_water = 611.2 * math.exp(17.62 * -10.0 / (243.12 - 10.0))  # WMO Guide, Magnus form
    over_ice = 611.2 * math.exp(22.46 * -10.0 / (272.62 - 10.0))
    ours = moistair.saturation_pressure_Pa(-10.0)
    assert ours == pytest.approx(over_ice, rel=0.002)
    assert over_water / ours > 1.09


def test_a_night_that_warms_the_water_stays_negative():
    """A muggy, overcast night over a cool store, sprayed by the clock: heat comes in, neither clipped nor turned."""
    store = {"volume": 40, "initial_temperature": 14, "initial_share": 1.0}
    site = small_site(controls={"sense": "clock"}, store=store)
    weather = steady_weather(1, t_air_C=26.0, t_dew_C=24.5, humidity_frac=0.92, cloud_frac=1.0)
    trace = run(site, weather)
    first = trace.steps[trace.steps["spray_s"] > 0.0][:12]
    assert (first["roof_J"] < 0.0).all()
    assert (trace.states["t_return_C"][:12] > trace.states["t_outlet_C"][:12]).all()
    assert total(trace, "condensation_kg") > 0.0
