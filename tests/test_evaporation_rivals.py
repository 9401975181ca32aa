"""Evaporation of the loop's wet surface between published fits of open water.

The pool equation was fitted to small basins and carries activity and edges: an upper bound. Sartori's long-plate
formula is the turbulent flat plate without natural convection or the roughness of real roofs: a lower bound. Penman's
wind function as written by Shuttleworth lies between. All three are written here from the published equations; the
coefficients are from memory.
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest

from sprayroof.physics import convection, film, moistair
from sprayroof.physics.constants import PRIOR_F_H

PRESSURE_PA = 101325.0
LENGTH_M = 20.0
psychrolib.SetUnitSystem(psychrolib.SI)


def ours_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s, factor=PRIOR_F_H, natural=True):
    """The wet surface of the loop on a level roof of 20 m."""
    e_Pa = humidity * moistair.saturation_pressure_Pa(t_air_C)
    w = moistair.vapour_mass_fraction(e_Pa, PRESSURE_PA)
    conductivity = moistair.air_conductivity_W_mK(t_air_C)
    viscosity = moistair.air_viscosity_Pa_s(t_air_C) / moistair.air_density_kg_m3(t_air_C, w, PRESSURE_PA)
    forced = factor * convection.plate_turbulent_W_m2K(wind_m_s, LENGTH_M, conductivity, viscosity)
    tv_K = moistair.virtual_temperature_K(t_air_C, w)
    unstable = convection.natural_unstable_cubed(conductivity, viscosity, tv_K) if natural else 0.0
    lewis_per_cp = moistair.lewis_number(t_air_C, w, PRESSURE_PA) ** (-2.0 / 3.0) / moistair.air_heat_capacity_J_kgK(w)
    return film.wet_surface(t_water_C, t_air_C, w, tv_K, PRESSURE_PA, forced, unstable, 0.0, lewis_per_cp, 0.0, 0.0)[1]


def vapour_difference_kPa(t_water_C, t_air_C, humidity):
    return 1e-3 * (psychrolib.GetSatVapPres(t_water_C) - humidity * psychrolib.GetSatVapPres(t_air_C))


def pool_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s):
    """ASHRAE Handbook Applications, pools: (p_w - p_a)(0.089 + 0.0782 V)/Y, kPa and kJ/kg (from memory)."""
    return vapour_difference_kPa(t_water_C, t_air_C, humidity) * (0.089 + 0.0782 * wind_m_s) / 2450.0


def sartori_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s):
    """Sartori 2000 (Solar Energy 68:77): (0.00407 V^0.8 L^-0.2 - 0.01107/L)(p_w - p_a)/p, V of 0.6 m/s or more."""
    factor = 0.00407 * wind_m_s**0.8 * LENGTH_M**-0.2 - 0.01107 / LENGTH_M
    return factor * 1e3 * vapour_difference_kPa(t_water_C, t_air_C, humidity) / PRESSURE_PA


def penman_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s, calm=1.0):
    """Aerodynamic part for open water, Shuttleworth 1993: 6.43 (1 + 0.536 U2) D / 2.45 mm/d, D in kPa (from memory).

    Penman's own revision of 1956 takes 0.5 in place of the 1.
    """
    return 6.43 * (calm + 0.536 * wind_m_s) * vapour_difference_kPa(t_water_C, t_air_C, humidity) / 2.45 / 86400.0


CASES = [(t_water, t_air, humidity, wind) for t_water, t_air, humidity in ((20.0, 18.0, 0.6), (25.0, 15.0, 0.8),
                                                                          (15.0, 15.0, 0.3), (22.0, 25.0, 0.5))
         for wind in (0.6, 1.0, 2.0, 3.0, 4.5, 6.0)]


@pytest.mark.parametrize(("t_water_C", "t_air_C", "humidity", "wind_m_s"), CASES)
def test_evaporation_lies_below_the_small_pool_and_above_the_bare_long_plate(t_water_C, t_air_C, humidity, wind_m_s):
    ours = ours_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s)
    assert ours < pool_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s)
    assert ours > sartori_kg_m2s(t_water_C, t_air_C, humidity, wind_m_s)


@pytest.mark.parametrize("wind_m_s", [3.0, 4.5, 6.0])
def test_without_roughness_and_buoyancy_it_is_the_long_plate_of_sartori(wind_m_s):
    """His constant holds Sc^(-2/3) of 0.6 where ours is Chilton and Colburn's, and a term of the edge: within 20 %."""
    ours = ours_kg_m2s(20.0, 20.0, 0.5, wind_m_s, factor=1.0, natural=False)
    assert ours == pytest.approx(sartori_kg_m2s(20.0, 20.0, 0.5, wind_m_s), rel=0.20)


@pytest.mark.parametrize("wind_m_s", [0.6, 2.0, 4.0, 6.0])
def test_evaporation_is_penmans_within_the_spread_of_his_wind_functions(wind_m_s):
    """Open water tens of metres long, by both of Penman's wind functions, 30 % either side."""
    case = (20.0, 18.0, 0.6, wind_m_s)
    ours = ours_kg_m2s(*case)
    assert 0.7 * penman_kg_m2s(*case, calm=0.5) < ours < 1.3 * penman_kg_m2s(*case, calm=1.0)


def test_a_small_plates_formula_would_exceed_even_the_pool():
    """McAdams on this roof by the same analogy: the reason it is no default. Twice the plate's evaporation."""
    plate = ours_kg_m2s(20.0, 18.0, 0.6, 3.0)
    h_small = 5.7 + 3.8 * 3.0
    w = moistair.vapour_mass_fraction(0.6 * moistair.saturation_pressure_Pa(18.0), PRESSURE_PA)
    w_s = moistair.vapour_mass_fraction(moistair.saturation_pressure_Pa(20.0), PRESSURE_PA)
    small = film.evaporation_kg_m2s(
        h_small, moistair.lewis_number(18.0, w, PRESSURE_PA) ** (-2.0 / 3.0) / moistair.air_heat_capacity_J_kgK(w),
        film.spalding_number(w_s, w))
    assert small > 1.5 * plate


def test_calm_and_dew_keep_the_sign_of_the_vapour_difference():
    assert ours_kg_m2s(20.0, 18.0, 0.6, 0.05) > 0.0
    assert ours_kg_m2s(8.0, 20.0, 0.9, 3.0) < 0.0
    assert np.sign(ours_kg_m2s(8.0, 20.0, 0.9, 3.0)) == np.sign(pool_kg_m2s(8.0, 20.0, 0.9, 3.0))
