"""Wetting, hold-up and water's own properties against integrals, roots and CoolProp."""

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize

from sprayroof.physics import film, water, wetting
from sprayroof.physics.constants import BEADED_SHARE, CONTACT_ANGLE_DEG, GRAVITY, RETAINED_KG_M2, WETTING_BALANCE

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

FLOW = st.floats(0.001, 2.0)
SHARE = st.floats(0.0, 1.0)
LEAST = st.floats(0.01, 1.0)
WATER_20 = (1.0016e-3, 998.2)


@pytest.mark.parametrize("t_C", [0.5, 5.0, 15.0, 20.0, 30.0, 45.0, 60.0])
def test_viscosity_and_tension(t_C):
    viscosity = coolprop.PropsSI("V", "T", t_C + 273.15, "P", 1e5, "Water")
    tension = coolprop.PropsSI("I", "T", t_C + 273.15, "Q", 0, "Water")
    assert water.water_viscosity_Pa_s(t_C) == pytest.approx(viscosity, rel=0.005)
    # that library has a fit of its own (Mulero et al. 2012), up to 0.12 % over the table of IAPWS below
    assert water.water_tension_N_m(t_C) == pytest.approx(tension, rel=2e-3)


@pytest.mark.parametrize("contact", [10.0, 45.0, 75.0, 110.0])
@pytest.mark.parametrize("slope", [2.0, 15.0, 90.0])
def test_minimum_wetting_from_the_balance_itself(contact, slope):
    """Velocity profile, dynamic pressure and flow integrated as they stand in the paper; thickness by root."""
    viscosity, density, tension = *WATER_20, 0.0727
    weight = density * GRAVITY * np.sin(np.radians(slope)) / viscosity
    pull = tension * (1.0 - np.cos(np.radians(contact)))

    def speed(y, d):
        return weight * (d * y - 0.5 * y * y)

    def lacking(d):
        return integrate.quad(lambda y: 0.5 * density * speed(y, d) ** 2, 0.0, d)[0] / pull - 1.0

    d = optimize.brentq(lacking, 1e-6, 0.05, rtol=1e-12)
    flow = density * integrate.quad(speed, 0.0, d, args=(d,))[0]
    assert wetting.minimum_wetting_kg_ms(slope, contact, viscosity, density, tension) == pytest.approx(flow, rel=1e-6)


def test_minimum_wetting_has_the_printed_constants():
    """1.69 and, for the thickness, 1.72 (Hartley & Murgatroyd 1964)."""
    flow, thickness = WETTING_BALANCE**0.6 / 3.0, WETTING_BALANCE**0.2
    assert flow == pytest.approx(1.69, abs=0.005)
    assert thickness == pytest.approx(1.72, abs=0.005)


@given(flow=FLOW, share=SHARE, least=LEAST)
def test_wetted_share_is_the_mean_along_the_slope(flow, share, least):
    x = (np.arange(20000) + 0.5) / 20000
    along = np.minimum(1.0, flow * (share + (1.0 - share) * x) / least)
    assert wetting.wetted_film_frac(flow, share, least) == pytest.approx(along.mean(), abs=1e-4)


@given(film_share=SHARE, beaded=SHARE)
def test_drops_only_add(film_share, beaded):
    both = wetting.wetted_sprayed_frac(film_share, beaded)
    assert max(film_share, beaded) - 1e-12 <= both <= 1.0 + 1e-12


@given(flow=FLOW, share=SHARE, slope=st.floats(1.0, 45.0))
def test_holdup_is_the_mean_thickness(flow, share, slope):
    x = (np.arange(20000) + 0.5) / 20000
    along = film.nusselt_thickness_m(flow * (share + (1.0 - share) * x), slope, *WATER_20)
    assert wetting.holdup_film_mm(flow, share, slope, *WATER_20) == pytest.approx(1000.0 * along.mean(), rel=2e-3)


def test_residence_of_a_ridge_fed_slope_is_length_over_speed():
    flow, length = 0.1, 12.0
    thickness = film.nusselt_thickness_m(flow, 5.0, *WATER_20)
    speed = flow / (WATER_20[1] * thickness)
    held = wetting.holdup_film_mm(flow, 1.0, 5.0, *WATER_20)
    # water held over water fed, each per area
    assert 0.001 * held * WATER_20[1] / (flow / length) == pytest.approx(length / speed, rel=1e-9)


# Priors of wetted share that the site file states for its surfaces, each +-0.25
SITE_PRIORS = {"new coated metal": 0.55, "weathered metal": 0.8, "concrete": 0.95, "membrane": 0.95, "gravel": 0.95,
               "tile": 0.95}


@pytest.mark.parametrize("surface", SITE_PRIORS)
def test_priors_of_wetting_meet_those_of_the_site_file(surface):
    """A usual spray: 0.3 L/min m2 on 20 m of 3 degrees."""
    least = wetting.minimum_wetting_kg_ms(3.0, CONTACT_ANGLE_DEG[surface], *WATER_20, 0.0727)
    share = wetting.wetted_sprayed_frac(wetting.wetted_film_frac(0.1, 0.0, least), BEADED_SHARE[surface])
    assert abs(share - SITE_PRIORS[surface]) < 0.1


def test_surfaces_are_the_same_everywhere():
    assert set(SITE_PRIORS) == set(CONTACT_ANGLE_DEG) == set(BEADED_SHARE) == set(RETAINED_KG_M2)
