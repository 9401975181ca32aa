"""The running sheet and the falling drop against solutions written anew in `outside_solutions.py`."""

from dataclasses import replace

import fluids
import numpy as np
import pytest
from outside_solutions import Night, Sheet, fallen_drop
from solved_anew import (
    DROP_K,
    DROP_SPEED_FRAC,
    DROP_VAPOUR_FRAC,
    FILM_DEPRESSION_FRAC,
    FILM_K,
    SCARCE_OUTLET_K,
    SHEET_HEAT_FRAC,
    SHEET_K,
    SHEET_VAPOUR_FRAC,
)

from sprayroof.physics import convection, droplets, film, moistair, scarce_sheet
from sprayroof.physics.constants import CP_WATER, RHO_WATER

NIGHTS = {
    "clear, dry": Night(18.0, 0.45, 2.0, 290.0),
    "clear, humid": Night(24.0, 0.85, 1.5, 380.0),
    "overcast, wind": Night(12.0, 0.7, 6.0, 355.0),
    "cold, still": Night(5.0, 0.8, 0.3, 255.0),
    "high plateau": Night(15.0, 0.3, 3.0, 255.0, pressure_Pa=80000.0),
    "warm deck": Night(16.0, 0.6, 2.0, 300.0, deck_W_m2K=3.0, t_deck_C=26.0),
    "wind-driven": Night(20.0, 0.5, 3.0, 310.0, factor=1.5, length_m=12.0),
}


def air(night):
    """Arguments that `film.sheet` takes of the air, from our own functions."""
    e_Pa = night.humidity * moistair.saturation_pressure_Pa(night.t_C)
    w = moistair.vapour_mass_fraction(e_Pa, night.pressure_Pa)
    viscosity = moistair.air_viscosity_Pa_s(night.t_C) / moistair.air_density_kg_m3(night.t_C, w, night.pressure_Pa)
    conductivity = moistair.air_conductivity_W_mK(night.t_C)
    tv_K = moistair.virtual_temperature_K(night.t_C, w)
    forced = night.factor * convection.plate_turbulent_W_m2K(night.wind_m_s, night.length_m, conductivity, viscosity)
    lewis = moistair.lewis_number(night.t_C, w, night.pressure_Pa)
    return {
        "w": w,
        "viscosity": viscosity,
        "conductivity": conductivity,
        "tv_K": tv_K,
        "forced": forced,
        "unstable": convection.natural_unstable_cubed(conductivity, viscosity, tv_K),
        "stable": convection.natural_stable_cubed(0.0),
        "lewis_per_cp": lewis ** (-2 / 3) / moistair.air_heat_capacity_J_kgK(w),
    }


def our_sheet(night, t_in_C, feed, ridge_share):
    """Mean [degC], heat [W/m2], evaporation [kg/(m2 s)] and outlet [degC] of `running_sheet`."""
    a = air(night)
    mean, conv, evaporation, longwave, latent, deck, vapour_W_m2 = scarce_sheet.running_sheet(
        t_in_C,
        feed,
        ridge_share,
        t_in_C,
        night.deck_W_m2K,
        night.t_deck_C,
        night.t_C,
        a["w"],
        a["tv_K"],
        night.pressure_Pa,
        a["forced"],
        a["unstable"],
        a["stable"],
        a["lewis_per_cp"],
        night.emissivity,
        night.sky_W_m2,
        0.0,  # the deck of `Sheet` is at one temperature everywhere
    )
    heat = conv + longwave + latent + deck
    return mean, heat, evaporation, film.outlet_C(feed, t_in_C, heat + vapour_W_m2, evaporation, 0.0)


def surface_heat(night, t_C):
    """Heat of a wet surface at a temperature [W/m2], deck included."""
    a = air(night)
    conv, evaporation, longwave, latent, _ = film.wet_surface(
        t_C,
        night.t_C,
        a["w"],
        a["tv_K"],
        night.pressure_Pa,
        a["forced"],
        a["unstable"],
        a["stable"],
        a["lewis_per_cp"],
        night.emissivity,
        night.sky_W_m2,
    )
    return conv + longwave + evaporation * latent + night.deck_W_m2K * (t_C - night.t_deck_C)


@pytest.mark.parametrize("ridge_share", [0.0, 0.5, 1.0], ids=["even", "half", "ridge"])
@pytest.mark.parametrize("name", NIGHTS)
@pytest.mark.parametrize(("above_air", "feed_L_min"), [(4.0, 0.15), (1.0, 0.3), (10.0, 1.0), (4.0, 0.2), (6.0, 0.1),
                                                       (6.0, 0.05)])
def test_sheet(name, ridge_share, above_air, feed_L_min):
    night, feed = NIGHTS[name], feed_L_min / 60.0
    t_in = night.t_C + above_air
    outlet, mean, heat, evaporation = Sheet(night).solve(t_in, feed, ridge_share)
    our_mean, our_heat, our_evaporation, our_outlet = our_sheet(night, t_in, feed, ridge_share)
    # Fed evenly the sheet is one temperature and ours is exact but for the properties. Fed at the ridge it cools on its
    # way, and ours takes the flux at two points, or part by part where scarce water cools by many kelvins.
    assert our_outlet == pytest.approx(outlet, abs=SHEET_K)
    assert our_mean == pytest.approx(mean, abs=SHEET_K)
    assert our_heat == pytest.approx(heat, rel=SHEET_HEAT_FRAC)
    # near its zero evaporation is the small difference of large flows: 0.001 kg/(m2 h)
    assert our_evaporation == pytest.approx(evaporation, rel=SHEET_VAPOUR_FRAC, abs=2.8e-7)


@pytest.mark.parametrize("ridge_share", [0.4, 1.0])
@pytest.mark.parametrize("feed_L_min", [0.05, 0.15, 0.3])
def test_scarce_water_over_a_deck_that_has_its_profile(ridge_share, feed_L_min):
    """Such a deck takes the same everywhere: U (mean - T_deck), here as that much less sky for the solution anew."""
    night, feed, deck_W_m2K = NIGHTS["high plateau"], feed_L_min / 60.0, 40.0
    a, t_in = air(night), 22.0
    mean, conv, evaporation, longwave, latent, deck, vapour_W_m2 = scarce_sheet.running_sheet(
        t_in, feed, ridge_share, t_in, deck_W_m2K, 11.0, night.t_C, a["w"], a["tv_K"], night.pressure_Pa, a["forced"],
        a["unstable"], a["stable"], a["lewis_per_cp"], night.emissivity, night.sky_W_m2, 1.0)
    assert deck == pytest.approx(deck_W_m2K * (mean - 11.0), abs=0.01)
    assert abs(deck) > 10.0
    anew = replace(night, sky_W_m2=night.sky_W_m2 - deck / night.emissivity)
    outlet, anew_mean, heat, anew_evaporation = Sheet(anew).solve(t_in, feed, ridge_share)
    assert mean == pytest.approx(anew_mean, abs=SHEET_K)
    all_heat = conv + longwave + latent + deck
    our_outlet = film.outlet_C(feed, t_in, all_heat + vapour_W_m2, evaporation, 0.0)
    assert our_outlet == pytest.approx(outlet, abs=SCARCE_OUTLET_K)
    assert all_heat == pytest.approx(heat, rel=SHEET_HEAT_FRAC)
    assert evaporation == pytest.approx(anew_evaporation, rel=SHEET_VAPOUR_FRAC)


@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.8])
@pytest.mark.parametrize("t_C", [10.0, 20.0, 30.0])
def test_adiabatic_film_settles_just_below_the_wet_bulb(t_C, humidity):
    """No sky, no deck, hardly any feed: a Lewis number below one puts the film a little under the wet bulb."""
    night = Night(t_C, humidity, 4.0, 0.0, emissivity=0.0)
    settled = our_sheet(night, t_C, 1e-9, 0.0)[0]
    depression = t_C - night.wet_bulb_C
    # 0.5 % of the air's conductivity, by which tables differ, moves the film by 0.3 % of the depression
    assert settled == pytest.approx(Sheet(night).settled_C(), abs=FILM_K + FILM_DEPRESSION_FRAC * depression)
    assert 0.0 < night.wet_bulb_C - settled < 0.06 * depression + 0.02
    if (t_C, humidity) == (20.0, 0.5):
        assert 0.2 < night.wet_bulb_C - settled < 0.4


def test_water_leaves_the_film_as_it_evaporates():
    """Mass and heat of the outlet, worked here from the fluxes."""
    night = NIGHTS["clear, dry"]
    mean, heat, evaporation, outlet = our_sheet(night, 24.0, 0.005, 0.0)
    left = 0.005 - evaporation
    held = 0.005 * CP_WATER * 24.0 - heat - evaporation * CP_WATER * mean
    assert outlet == pytest.approx(held / (left * CP_WATER), abs=1e-9)


@pytest.mark.parametrize("name", ["clear, dry", "clear, humid", "high plateau"])
@pytest.mark.parametrize("d_mm", [0.8, 1.5, 2.5])
@pytest.mark.parametrize("height_m", [0.5, 1.0, 1.5])
def test_drop(name, d_mm, height_m):
    night, t_in = NIGHTS[name], NIGHTS[name].t_C + 6.0
    t_C, share, speed = fallen_drop(1e-3 * d_mm, height_m, t_in, night)
    a = air(night)
    _, our_speed, exchange = droplets.fall(1e-3 * d_mm, height_m, night.density, a["viscosity"], a["conductivity"])
    sensible, vapour, latent, middle = droplets.flight(
        t_in, exchange, night.t_C, a["w"], night.pressure_Pa, a["lewis_per_cp"]
    )
    ours = (CP_WATER * t_in - sensible - latent - vapour * CP_WATER * middle) / ((1.0 - vapour) * CP_WATER)
    assert our_speed == pytest.approx(speed, rel=DROP_SPEED_FRAC)
    assert ours == pytest.approx(t_C, abs=DROP_K)
    assert vapour == pytest.approx(share, rel=DROP_VAPOUR_FRAC)


def test_drops_of_a_millimetre_lose_half_of_their_excess_in_a_metre():
    """The order of size that must not be left out: half the excess over the wet bulb."""
    night = NIGHTS["clear, dry"]
    excess = 6.0 + night.t_C - night.wet_bulb_C
    t_C = fallen_drop(1e-3, 1.0, night.t_C + 6.0, night)[0]
    assert 0.35 < (night.t_C + 6.0 - t_C) / excess < 0.65


def test_fall_is_ballistic_at_first():
    """A large drop over a short way: sqrt(2 g h), less a little drag."""
    speed = droplets.fall(5e-3, 0.2, 1.2, 1.5e-5, 0.0257)[1]
    assert 0.97 * np.sqrt(2 * 9.80665 * 0.2) < speed < np.sqrt(2 * 9.80665 * 0.2)


def test_nusselt_film_carries_its_own_flow():
    """Thickness back to flow: rho^2 g sin b delta^3/(3 mu), and the film on a roof is 0.1 to 1 mm thick."""
    thickness = film.nusselt_thickness_m(0.05, 3.0, 1.0e-3, RHO_WATER)
    flow = RHO_WATER**2 * 9.80665 * np.sin(np.radians(3.0)) * thickness**3 / (3 * 1.0e-3)
    assert flow == pytest.approx(0.05, rel=1e-9)
    assert 1e-4 < thickness < 1e-3


@pytest.mark.parametrize("wind", [0.05, 0.1, 0.2, 0.5, 2.0])
def test_the_balance_is_found_in_near_calm_too(wind):
    """400 random nights a wind: natural convection sets in steeply, and Newton's whole steps would jump to and fro."""
    numbers = np.random.default_rng(11)
    for _ in range(400):
        t_C, humidity = numbers.uniform(-5.0, 32.0), numbers.uniform(0.2, 1.0)
        t_in = max(1.0, t_C + numbers.uniform(-3.0, 10.0))
        feed = numbers.uniform(0.1, 1.0) / 60.0
        night = Night(t_C, humidity, wind, numbers.uniform(0.65, 1.0) * 5.67e-8 * (t_C + 273.15) ** 4, deck_W_m2K=0.5)
        mean, heat, _, _ = our_sheet(night, t_in, feed, 0.0)
        assert heat == pytest.approx(feed * CP_WATER * (t_in - mean), abs=1.0), night
        # and the heat is that of the surface at this very temperature, not of a line through another
        assert heat == pytest.approx(surface_heat(night, mean), abs=4.0), night


@pytest.mark.parametrize(("reynolds", "apart"), [(100.0, 0.12), (400.0, 0.08), (800.0, 0.08), (2000.0, 0.08)])
def test_drops_beyond_the_range_of_ranz_and_marshall(reynolds, apart):
    """Whitaker 1972 for spheres, Re 3.5 to 76 000: 2 + (0.4 Re^(1/2) + 0.06 Re^(2/3)) Pr^0.4, one viscosity."""
    whitaker = 2.0 + (0.4 * reynolds**0.5 + 0.06 * reynolds ** (2.0 / 3.0)) * 0.71**0.4
    assert droplets.nusselt_ranz_marshall(reynolds) == pytest.approx(whitaker, rel=apart)


@pytest.mark.parametrize("reynolds", [900.0, 1000.0, 1500.0, 2000.0])
def test_drag_where_newtons_constant_takes_over(reynolds):
    """A library's fit of Clift et al.'s tables of a sphere."""
    assert droplets.drag_coefficient(reynolds) == pytest.approx(fluids.drag.Clift(reynolds), rel=0.07)
