"""The roof's deck between sprayings: sun through a cover, drying that cools, rain that takes its warmth.

Expected values are solved anew (scipy on the exact covers, CoolProp's latent heat) or worked by hand; no figure of the
loop is taken for truth.
"""

from __future__ import annotations

import math

import CoolProp.CoolProp as CP
import numpy as np
import pytest
from scipy.optimize import brentq
from small_site import run, small_site, steady_weather, total
from test_cover import Night, air_of, cover_over, gap_for

from sprayroof.evidence.weather import read_weather
from sprayroof.model.air import air_of as air_of_member
from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import cover_doubts, ensemble, rivals
from sprayroof.model.roof import forced_of, open_deck, sky_of
from sprayroof.model.simulate import simulate
from sprayroof.physics import cover, film, tank
from sprayroof.physics.approach import mean_left_frac
from sprayroof.physics.constants import CP_WATER, ROUGHNESS
from sprayroof.physics.convection import mixed_convection_W_m2K
from sprayroof.physics.cover import COVER_KINDS, covered_plate, optics_of
from sprayroof.physics.covered_sheet import covered_sheet
from sprayroof.physics.moistair import saturation_pressure_Pa

NEVER = {"lockout_wind": 0.0}  # any wind keeps the spray off
IDLE = {"load": {"ua": 0.001, "balance_point": 40}, "use": [], "mains": {"rule": "none"}}
KINDS = {"clear film": "film", "vented mesh": "mesh", "opaque sheet": "sheet"}
CLEAN = {"cover_age": 0.0, "cover_unwashed": 0.0}


def roofed(controls, **roof):
    return small_site(roof=[{"name": "long roof", "area": 400, "surface": "concrete", **roof}], controls=controls,
                      **IDLE)


def plane_of(site, runs=0, place=0):
    return ensemble(site, drivers(site, steady_weather(1)), runs, 1).members["planes"][:, place]


def deck_C(trace, site, record="states"):
    """Temperature of a single roof's deck at the end of every step, from the heat in it."""
    plane = plane_of(site)[0]
    return getattr(trace, record)["deck_heat_J"] / (plane["deck_capacity_J_m2K"] * plane["wetted_m2"])


# --- the books ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("roof", [{}, {"cover": "clear film"}, {"cover": "vented mesh", "cover_share": 0.5}],
                         ids=["bare", "film", "half a mesh"])
def test_the_decks_books_close_reckoned_here(roof):
    """What decks got from sun, building and air, and from the running water, less what drying and rain took."""
    site = small_site(roof=[{"name": "long roof", "area": 400, "surface": "concrete", **roof}])
    weather = read_weather(site)
    step = np.arange(len(weather.table))
    weather.table["rain_mm"] = np.where(step % 500 < 9, 0.7, 0.0)
    trace = run(site, weather, runs=3)
    for member in range(4):
        got = {name: total(trace, name, member) for name in ("deck_gain_J", "deck_J", "dried_J", "rain_deck_J")}
        assert got["dried_J"] > 0.0
        assert (got["rain_deck_J"] != 0.0) == (roof.get("cover_share", 1.0) < 1.0 or not roof)
        change = trace.ends["deck_heat_J"][member, -1] - trace.start["deck_heat_J"][member]
        moved = sum(abs(one) for one in got.values())
        assert got["deck_gain_J"] + got["deck_J"] - got["dried_J"] - got["rain_deck_J"] == pytest.approx(
            change, abs=1e-9 * moved)
    for name in ("water_step_rel", "heat_step_rel", "salt_step_rel"):
        assert trace.residual[name].max() <= 1e-9, name


# --- sun through a cover --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", KINDS)
@pytest.mark.parametrize("sun", [0.0, 600.0])
def test_a_dry_deck_settles_where_the_exact_cover_has_it(words, sun):
    """Days of one weather: alpha tau G + U (T_b - T) = what `covered_plate` gives off, the cover warmed by the sun."""
    site = roofed(NEVER, slope=3, length=20, solar_absorptance=0.7, deck_u=0.5, cover=words, **CLEAN)
    weather = steady_weather(8, t_air_C=20.0, t_dew_C=-5.0, pressure_Pa=101325.0, solar_W_m2=sun, wind_m_s=2.0)
    found = deck_C(run(site, weather), site)[-1]
    kind, plane, driven = COVER_KINDS[KINDS[words]], plane_of(site)[0], drivers(site, weather)[0]
    formulas = formulas_of(site, weather, rivals(site))
    forced = plane["forced_factor"] * formulas.forced_1m_W_m2K[0, 0]
    black = driven["black_air_W_m2"]
    emissivity = formulas.clear[0, 0] + (1.0 - formulas.clear[0, 0]) * formulas.cloud[0, 0]
    longwave = plane["sky_view"] * emissivity * black + (1.0 - plane["sky_view"]) * black
    gap = cover.gap_of(kind.gap_m, 3.0, 20.0, driven["w_air"], 101325.0, 2.0 * plane["wind_ratio"], kind.leak_calm_m_s,
                       kind.leak_wind_share, forced, kind.inner_wind_share)

    def excess(t_C):
        convection, net, *_ = covered_plate(
            t_C, math.nan, 20.0, driven["w_air"], driven["tv_air_K"], 101325.0, forced, driven["unstable_cubed"],
            plane["stable_cubed"], driven["lewis_per_cp"], plane["emissivity"], plane["emissivity"], longwave, gap,
            optics_of(kind), kind.sun_taken_share * sun)
        return 0.7 * kind.sun_passed_share * sun + 0.5 * (24.0 - t_C) - convection - net

    assert found == pytest.approx(brentq(excess, -30.0, 120.0), abs=0.3)


def test_under_a_film_a_heavy_deck_goes_into_the_evening_warm():
    """A day of sun: the film passes most of it and keeps wind and sky off, so the deck is warmer than a bare one."""
    hour = np.arange(144) / 6.0
    sun = np.maximum(0.0, 800.0 * np.sin(np.pi * (hour - 6.0) / 14.0))
    evening = {}
    for words in ("none", *KINDS):
        site = roofed(NEVER, **({} if words == "none" else {"cover": words, **CLEAN}))
        weather = steady_weather(3, t_air_C=22.0, t_dew_C=8.0)
        weather.table["solar_W_m2"] = np.tile(sun, 3)
        evening[words] = deck_C(run(site, weather), site)[-24]
    assert evening["clear film"] > evening["none"] + 3.0
    assert evening["opaque sheet"] < evening["vented mesh"] < evening["clear film"]
    assert evening["opaque sheet"] > 24.0


def test_age_and_dust_take_sun_as_they_take_long_wave():
    """exp(-0.01 x 5)(1 - 0.08 (1 - exp(-1/0.3))) of 0.85; what no longer passes is taken up."""
    new, old = (plane_of(roofed(NEVER, cover="clear film", cover_age=age, cover_unwashed=unwashed))[0]
                for age, unwashed in ((0.0, 0.0), (5.0, 1.0)))
    factor = math.exp(-0.05) * (1.0 - 0.08 * (1.0 - math.exp(-1.0 / 0.3)))
    assert new["sun_passed_share"] == pytest.approx(0.85)
    assert old["sun_passed_share"] == pytest.approx(0.85 * factor, rel=1e-9)
    assert old["sun_taken_share"] == pytest.approx(0.05 + 0.85 * (1.0 - factor), rel=1e-9)
    assert plane_of(roofed(NEVER, cover="vented mesh", **CLEAN))[0]["sun_passed_share"] == pytest.approx(0.5)
    assert plane_of(roofed(NEVER, cover="opaque sheet"))[0]["sun_passed_share"] == 0.0
    assert plane_of(roofed(NEVER))[0]["sun_passed_share"] == 1.0


def test_no_member_has_a_cover_that_makes_light():
    for words in KINDS:
        planes = plane_of(roofed(NEVER, cover=words), runs=400)
        assert (planes["sun_passed_share"] + planes["sun_taken_share"] <= 1.0 + 1e-12).all()
        for band in ("window", "rest"):
            assert (planes[f"transmittance_{band}"] + planes[f"reflectance_{band}"] < 1.0).all()


def test_sun_that_passes_a_film_warms_the_running_water():
    """A light deck hands its sun on: of 400 W/m2 an absorptance of 0.6 takes 0.85 x 0.6 under the film."""
    first_hour = []
    for sun in (0.0, 400.0):
        site = roofed({"sense": "clock", "window_from": "09:00", "window_to": "17:00"}, surface="weathered metal",
                      wetted_share=0.8, cover="clear film", **CLEAN)
        trace = run(site, steady_weather(1, solar_W_m2=sun))
        start = int(np.argmax(trace.states["running"] > 0.0))
        first_hour.append(trace.steps["roof_J"][start + 6 : start + 12].sum())
    passed = 0.85 * 0.6 * 400.0 * 0.8 * 400.0 * 3600.0
    assert 0.5 * passed < first_hour[0] - first_hour[1] < 1.1 * passed


@pytest.mark.parametrize("name", COVER_KINDS)
@pytest.mark.parametrize(("t_C", "night"), [
    (12.0, Night(humidity=0.2)), (35.0, Night(humidity=0.3)), (60.0, Night(t_C=28.0, humidity=0.3)),
    (60.0, Night(t_C=28.0, humidity=0.3, wind_m_s=0.2)), (45.0, Night(humidity=0.3, slope_deg=20.0, wind_m_s=6.0))])
@pytest.mark.parametrize("sun", [0.0, 200.0])
def test_the_quick_cover_is_the_exact_one_without_dew(name, t_C, night, sun):
    kind, air = COVER_KINDS[name], air_of(night)
    convection, longwave, slope, t_cover, wet = covered_plate(
        t_C, math.nan, *air, 0.96, 0.96, night.longwave_W_m2, gap_for(night, kind), optics_of(kind), sun)
    assert wet == 0.0
    t_quick = math.nan
    for _ in range(8):  # coefficients are those of the step before
        heat, steep, t_quick = cover.covered_deck(t_C, t_quick, *air[:3], *air[4:7], 0.96, night.longwave_W_m2,
                                                  gap_for(night, kind), kind, sun)
    assert heat == pytest.approx(convection + longwave, abs=0.5)
    assert t_quick == pytest.approx(t_cover, abs=0.2)
    assert steep == pytest.approx(slope, rel=0.35)


def test_sun_on_a_cover_leaves_by_the_cover():
    """All of it is found again in what water and air get: 100 W/m2 more in, 100 W/m2 more out."""
    night, kind = Night(humidity=0.3), COVER_KINDS["sheet"]
    air = air_of(night)
    results = [covered_plate(25.0, math.nan, *air, 0.9, 0.9, night.longwave_W_m2, gap_for(night, kind), optics_of(kind),
                             sun) for sun in (0.0, 100.0)]
    (c0, l0, _, t0, _), (c1, l1, _, t1, _) = results
    outer = mixed_convection_W_m2K(air[4], air[5], air[6], (t1 - night.t_C) * air[2] / (night.t_C + 273.15))
    outer_before = mixed_convection_W_m2K(air[4], air[5], air[6], (t0 - night.t_C) * air[2] / (night.t_C + 273.15))
    sigma = 5.670374419e-8 * 0.9
    radiated = sigma * ((t1 + 273.15) ** 4 - (t0 + 273.15) ** 4)
    out = outer * (t1 - night.t_C) - outer_before * (t0 - night.t_C) + radiated
    assert out + (c0 + l0 - c1 - l1) == pytest.approx(100.0, abs=1.0)  # air leaking through the gap takes the rest


def test_the_covered_sheet_holds_its_balance():
    """Fed evenly: feed cp (T_in - T) = q(T) + U (T - T_deck), solved anew on the exact cover."""
    for name, kind in COVER_KINDS.items():
        for t_in, night in ((22.0, Night(humidity=0.6)), (14.0, Night(humidity=0.4)), (30.0, Night(t_C=25.0))):
            air, feed = air_of(night), 0.004
            mean, convection, _, longwave, latent, deck, t_cover = covered_sheet(
                t_in, feed, 0.0, t_in, math.nan, 0.5, 24.0, *air, 0.96, night.longwave_W_m2, gap_for(night, kind), kind)
            settled = brentq(lambda t, n=night, k=kind, s=t_in, c=t_cover: 0.004 * CP_WATER * (s - t)
                             - cover_over(t, n, k, start=c).total - 0.5 * (t - 24.0), mean - 0.5, mean + 0.5)
            assert mean == pytest.approx(settled, abs=0.02), (name, t_in)
            assert feed * CP_WATER * (t_in - mean) == pytest.approx(convection + longwave + latent + deck, abs=0.5)


# --- drying ---------------------------------------------------------------------------------------------------------

STOPS = {"sense": "clock", "window_from": "20:00", "window_to": "06:00", "stop_store": -50}


def after_the_stop(weather, **roof):
    """Steps from the second stop on (one roof): trace, first step without spray, steps until it is dry."""
    site = roofed(STOPS, **roof)
    trace = run(site, weather)
    running = trace.states["running"] > 0.0
    stop = 150 + int(np.argmin(running[150:]))
    wet = trace.states["roof_kg"][stop:] > 0.0
    return site, trace, stop, int(np.argmin(wet)) if not wet.all() else wet.size


def test_drying_takes_its_latent_heat_from_the_deck():
    """Latent heat of what dried, by CoolProp: 0.5 % for the decks' temperatures."""
    weather = steady_weather(4, t_air_C=20.0, t_dew_C=5.0, wind_m_s=3.0)
    for roof in ({}, {"cover": "clear film"}, {"surface": "weathered metal"}):
        _, trace, *_ = after_the_stop(weather, **roof)
        dried, taken = total(trace, "dried_kg"), total(trace, "dried_J")
        assert dried > 0.0
        latent = CP.PropsSI("H", "T", 285.15, "Q", 1, "Water") - CP.PropsSI("H", "T", 285.15, "Q", 0, "Water")
        assert taken == pytest.approx(dried * latent, rel=0.012)


def test_a_drying_deck_stands_near_the_wet_surface_not_the_dry_one():
    """Two hours after a stop: a light deck with water on it has the temperature at which a wet surface balances."""
    weather = steady_weather(3, t_air_C=20.0, t_dew_C=5.0, wind_m_s=2.0, pressure_Pa=101325.0)
    site, trace, stop, steps = after_the_stop(weather, surface="weathered metal", deck_u=0.5, length=20, slope=3)
    assert steps > 3
    driven, plane = drivers(site, weather)[0], plane_of(site)[0]
    formulas = formulas_of(site, weather, rivals(site))
    emissivity = formulas.clear[stop, 0] + (1.0 - formulas.clear[stop, 0]) * formulas.cloud[stop, 0]
    black = driven["black_air_W_m2"]
    longwave = plane["sky_view"] * emissivity * black + (1.0 - plane["sky_view"]) * black
    forced = plane["forced_factor"] * formulas.forced_1m_W_m2K[stop, 0]

    def excess(t_C):
        convection, evaporation, net, latent, _ = film.wet_surface(
            t_C, 20.0, driven["w_air"], driven["tv_air_K"], 101325.0, forced, driven["unstable_cubed"],
            plane["stable_cubed"], driven["lewis_per_cp"], plane["emissivity"], longwave)
        return 0.5 * (24.0 - t_C) - convection - net - evaporation * latent

    wet_C = brentq(excess, -10.0, 40.0)
    temperatures = deck_C(trace, site)
    assert temperatures[stop + steps - 1] == pytest.approx(wet_C, abs=0.4)
    # the rate is that of the wet surface too
    evaporation = film.wet_surface(wet_C, 20.0, driven["w_air"], driven["tv_air_K"], 101325.0, forced,
                                   driven["unstable_cubed"], plane["stable_cubed"], driven["lewis_per_cp"],
                                   plane["emissivity"], longwave)[1]
    rate = trace.steps["dried_kg"][stop + steps - 2] / (plane["wetted_m2"] * 600.0)
    assert rate == pytest.approx(evaporation, rel=0.05)
    # dry again, it warms towards where a dry deck stands
    assert temperatures[stop + steps + 6] > wet_C + 1.5


@pytest.mark.parametrize(("t_air_C", "t_dew_C"), [(2.0, -4.0), (20.0, 5.0), (20.0, 19.0), (33.0, 22.0)])
@pytest.mark.parametrize("above_K", [-10.0, -5.0, 0.0, 8.0, 16.0, 25.0])
def test_the_quick_wet_deck_is_the_wet_surface(t_air_C, t_dew_C, above_K):
    """A deck too heavy to move: its fluxes at once against `film.wet_surface`, from far below the air to far above."""
    site, weather = roofed(NEVER), steady_weather(1, t_air_C=t_air_C, t_dew_C=t_dew_C)
    now, plane, formulas = drivers(site, weather)[0], plane_of(site)[0], formulas_of(site, weather, rivals(site))
    member = ensemble(site, drivers(site, weather), 0, 1).members[0]
    air = air_of_member(now, formulas.clear[0, 0], formulas.cloud[0, 0], formulas.forced_1m_W_m2K[0, 0], 0.0, member)
    t_C = t_air_C + above_K
    _, got_W, dried, taken_W = open_deck(now, air, plane, t_C, 1e15, 1.0)
    convection, evaporation, longwave, latent, _ = film.wet_surface(
        t_C, air.t_C, air.w, air.tv_K, air.pressure_Pa, forced_of(plane, air), air.unstable_cubed,
        plane["stable_cubed"], air.lewis_per_cp, plane["emissivity"], sky_of(plane, air))
    assert dried == pytest.approx(max(0.0, evaporation), rel=0.07, abs=2e-6)
    assert taken_W == pytest.approx(dried * latent, rel=1e-9)
    beneath = plane["deck_u_W_m2K"] * (plane["t_beneath_C"] - t_C)
    assert beneath - got_W == pytest.approx(convection + longwave, rel=0.03, abs=3.0)


def test_a_roof_dries_in_a_calm():
    """No wind at all: a sun-warmed deck dries by the air that rises from it; 0.15 Ra^(1/3) gives some W/(m2 K)."""
    weather = steady_weather(3, t_air_C=20.0, t_dew_C=8.0, wind_m_s=0.0, solar_W_m2=0.0)
    hour = np.arange(3 * 144) % 144 / 6.0
    weather.table["solar_W_m2"] = np.where((hour > 6.0) & (hour < 18.0), 500.0, 0.0)
    site, trace, stop, steps = after_the_stop(weather, surface="weathered metal")
    assert steps < 18
    assert trace.steps["dried_kg"][stop : stop + steps + 1].sum() == pytest.approx(plane_of(site)[0]["retained_kg"],
                                                                                   rel=1e-6)


def test_under_a_film_little_dries_and_the_deck_keeps_its_warmth():
    weather = steady_weather(4, t_air_C=20.0, t_dew_C=5.0, wind_m_s=3.0)
    bare, filmed = (total(after_the_stop(weather, **roof)[1], "dried_kg") for roof in ({}, {"cover": "clear film"}))
    assert 0.0 < filmed < 0.5 * bare


def test_mixed_convection_is_the_cubic_sum_and_the_larger():
    for forced in (0.0, 0.5, 3.0, 12.0):
        for buoyancy in (-30.0, -3.0, -0.1, 0.0, 0.1, 1.0, 5.0, 20.0, 60.0):
            cubed = forced**3 + 4.0 * buoyancy if buoyancy > 0.0 else max(forced**3, -0.44 * buoyancy)
            assert mixed_convection_W_m2K(forced, 4.0, 0.44, buoyancy) == pytest.approx(np.cbrt(cubed), rel=4e-8)


def test_mean_left_is_that_of_the_exponential():
    n = np.concatenate([np.linspace(1e-12, 6.0, 5000), [40.0]])
    np.testing.assert_allclose(mean_left_frac(n), -np.expm1(-n) / n, rtol=4e-8)
    assert mean_left_frac(0.0) == 1.0


def test_saturation_polynomial_is_the_print():
    t_C = np.linspace(0.0, 60.0, 5001)
    t_K = t_C + 273.15
    printed = np.exp(-5.8002206e3 / t_K + 1.3914993 - 4.8640239e-2 * t_K + 4.1764768e-5 * t_K**2 - 1.4452093e-8 * t_K**3
                     + 6.5459673 * np.log(t_K))  # Hyland & Wexler 1983
    np.testing.assert_allclose(saturation_pressure_Pa(t_C), printed, rtol=1e-9)


def test_walls_lose_heat_by_the_exponential_whether_small_or_large():
    for x in (1e-9, 1e-4, 0.0099, 0.0101, 0.5, 5.0):
        mass, temp = np.array([100.0]), np.array([30.0])
        tank.lose_heat(mass, temp, x * 100.0 * CP_WATER / 600.0, 10.0, 600.0)
        assert 30.0 - temp[0] == pytest.approx(-20.0 * math.expm1(-x), rel=1e-6 if x < 1e-8 else 1e-9)


# --- rain -----------------------------------------------------------------------------------------------------------


def shower(depth_mm, t_start_C, surface="concrete", slope=0, **more):
    """One shower in the second hour on a roof that starts at the store's temperature; its step's number."""
    site = small_site(roof=[{"name": "roof", "area": 200, "slope": slope, "surface": surface, "initial_loss": 0.0,
                             "runoff_coefficient": 1.0, **more}],
                      rain={"first_flush": 0.0, "filter_efficiency": 1.0}, controls=NEVER,
                      store={"volume": 60, "initial_temperature": t_start_C}, **IDLE)
    rain = np.zeros(144)
    rain[9] = depth_mm
    weather = steady_weather(1, t_air_C=18.0, t_dew_C=15.0, cloud_frac=1.0, rain_mm=rain)
    return site, weather, run(site, weather), 9


@pytest.mark.parametrize(("depth_mm", "slope"), [(0.5, 0), (6.0, 0), (6.0, 30), (60.0, 0)])
def test_a_shower_on_a_hot_deck_by_hand(depth_mm, slope):
    """Resistances in a row: 1/60 to the deck, 1/carried by the rain, 1/stored in the deck, each per m2 of deck."""
    site, weather, trace, step = shower(depth_mm, 45.0, slope=slope)
    plane, wet_bulb = plane_of(site)[0], drivers(site, weather)["t_wetbulb_C"][step]
    carried = depth_mm * math.cos(math.radians(slope)) * CP_WATER / 600.0
    stored = plane["deck_capacity_J_m2K"] / 600.0
    heat = trace.steps["rain_deck_J"][step] / 600.0 / plane["wetted_m2"]
    before = deck_C(trace, site)[step] + heat / stored
    assert heat == pytest.approx((before - wet_bulb) / (1.0 / 60.0 + 1.0 / carried + 1.0 / stored), rel=1e-6)
    t_rain = trace.steps["water_in_J"][step] / (trace.steps["rain_kg"][step] * CP_WATER)
    assert t_rain == pytest.approx(wet_bulb + heat / carried, rel=1e-6)
    assert wet_bulb + 0.5 < t_rain < before
    assert trace.steps["rain_kg"][step] == pytest.approx(depth_mm * 200.0 * math.cos(math.radians(slope)), rel=1e-9)


def test_rain_and_deck_never_pass_each_other():
    """A cloudburst cools a light deck to nearly its own temperature and no further."""
    site, weather, trace, step = shower(60.0, 45.0, surface="weathered metal")
    wet_bulb = drivers(site, weather)["t_wetbulb_C"][step]
    assert wet_bulb < deck_C(trace, site)[step] < wet_bulb + 0.25 * (deck_C(trace, site)[step - 1] - wet_bulb)


def test_rain_of_a_cold_deck_is_not_frozen():
    cold = small_site(roof=[{"name": "roof", "area": 200, "surface": "concrete", "beneath_temperature": -20, "slope": 0,
                             "deck_u": 5, "initial_loss": 0.0}], controls=NEVER, store={"volume": 60}, **IDLE)
    rain = np.zeros(3 * 144)
    rain[300] = 1.0
    trace = run(cold, steady_weather(3, t_air_C=-3.0, t_dew_C=-5.0, rain_mm=rain))
    assert deck_C(trace, cold)[299] < -5.0
    assert trace.steps["water_in_J"][300] == pytest.approx(0.0, abs=1.0)
    assert trace.steps["rain_kg"][300] > 0.0


def test_rain_on_a_cover_or_on_running_water_does_not_meet_the_deck():
    _, _, trace, step = shower(6.0, 45.0, cover="clear film")
    assert trace.steps["rain_kg"][step] > 0.0
    assert total(trace, "rain_deck_J") == 0.0
    site = small_site(**IDLE, controls={"sense": "clock", "window_from": "00:00", "window_to": "23:50",
                                        "lockout_rain": 99})
    rain = np.zeros(144)
    rain[60] = 3.0
    trace = run(site, steady_weather(1, rain_mm=rain))
    assert trace.states["running"][60] > 0.0
    assert trace.steps["rain_kg"][60] > 0.0
    assert total(trace, "rain_deck_J") == 0.0


def test_half_a_cover_halves_what_the_deck_gives_the_rain():
    whole, half = (shower(6.0, 45.0, **roof)[2].steps["rain_deck_J"][9] for roof in ({}, {
        "cover": "clear film", "cover_share": 0.5}))
    assert half == pytest.approx(0.5 * whole, rel=1e-6)
    warm = [shower(6.0, 45.0, **roof)[2].steps["water_in_J"][9] for roof in (
        {}, {"cover": "clear film", "cover_share": 0.5}, {"cover": "clear film"})]
    assert warm[1] == pytest.approx(0.5 * (warm[0] + warm[2]), rel=1e-9)


def test_steady_rain_brings_a_light_deck_to_the_wet_bulb():
    """A wet deck in a long, sunless rain neither warms nor cools it much: not by the air it would warm in if dry."""
    site = small_site(roof=[{"name": "roof", "area": 200, "surface": "weathered metal", "deck_u": 0.01, "slope": 0}],
                      controls=NEVER, store={"volume": 60}, **IDLE)
    weather = steady_weather(2, t_air_C=18.0, t_dew_C=8.0, cloud_frac=1.0, rain_mm=0.3, wind_m_s=5.0)
    trace = run(site, weather)
    wet_bulb = drivers(site, weather)["t_wetbulb_C"][0]
    assert wet_bulb < 13.0
    assert deck_C(trace, site)[-1] == pytest.approx(wet_bulb, abs=1.2)


# --- each roof its own ------------------------------------------------------------------------------------------------

TWO = [{"name": "first", "area": 200, "length": 12, "surface": "weathered metal", "cover": "clear film"},
       {"name": "second", "area": 200, "length": 12, "surface": "gravel", "cover": "vented mesh"}]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_each_roof_has_its_own_roughness(order):
    """Clear et al.: in proportion to roughness, whichever roof stands first in the file."""
    roofs = [{key: value for key, value in TWO[place].items() if key != "cover"} for place in order]
    site = small_site(roof=roofs, weather={"convection_model": "clear_et_al"})
    weather = steady_weather(1)
    formulas = formulas_of(site, weather, rivals(site))
    planes = ensemble(site, drivers(site, weather), 0, 1).members["planes"][0]
    forced = {roof["surface"]: planes[place]["forced_factor"] * formulas.forced_1m_W_m2K[0, 0]
              for place, roof in enumerate(roofs)}
    assert forced["gravel"] / forced["weathered metal"] == pytest.approx(
        ROUGHNESS["gravel"] / ROUGHNESS["weathered metal"], rel=1e-9)
    smooth = small_site(roof=roofs, weather={"convection_model": "plate"})
    plates = ensemble(smooth, drivers(smooth, weather), 0, 1).members["planes"][0]["forced_factor"][:2]
    assert plates[0] == pytest.approx(plates[1], rel=1e-12)


def test_each_kind_of_cover_has_its_own_doubts():
    """Half a normal range of film is 0.05/0.77, of mesh 0.10/0.55; the two are drawn apart."""
    site = small_site(roof=TWO)
    doubts = {doubt.entry: doubt for doubt in cover_doubts(site)}
    for kind, window, sun in (("film", 0.05 / 0.77, 0.05 / 0.85), ("mesh", 0.10 / 0.55, 0.10 / 0.50)):
        assert doubts[f"model.cover_transmittance_{kind}"].high - 1.0 == pytest.approx(1.645 * window, rel=1e-3)
        assert doubts[f"model.cover_sun_{kind}"].high - 1.0 == pytest.approx(1.645 * sun, rel=1e-3)
    members = ensemble(site, drivers(site, steady_weather(1)), 300, 1).members["planes"]
    film_, mesh = members[1:, 0], members[1:, 1]
    for name in ("transmittance_window", "sun_passed_share", "leak_calm_m_s", "inner_wind_share"):
        assert abs(np.corrcoef(film_[name], mesh[name])[0, 1]) < 0.3, name
        assert film_[name].std() > 0.0
        assert mesh[name].std() > 0.0
    opaque = {doubt.entry for doubt in cover_doubts(small_site(roof=[{**TWO[0], "cover": "opaque sheet"}]))}
    assert opaque == {"model.cover_warmed_sheet", "model.cover_leak_sheet", "model.cover_flutter_sheet"}


def test_a_share_drawn_up_to_the_whole_leaves_no_roof_without_water():
    site = small_site(roof=[{"name": "r", "area": 400, "cover": "clear film",
                             "cover_share": {"value": 0.95, "low": 0.8, "high": 1.0}}], controls={"sense": "clock"})
    weather = steady_weather(3)
    driven = drivers(site, weather)
    members = ensemble(site, driven, 40, 1)
    trace = simulate(driven, formulas_of(site, weather, rivals(site)), members.draws.cloud_error, members, 600.0)
    assert np.isfinite(trace.ends["t_outlet_C"]).all()
    assert (trace.days["roof_J"].sum(axis=1) != 0.0).all()
    assert np.isfinite(trace.days["roof_J"]).all()
