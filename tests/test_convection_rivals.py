"""Rival convection models: each its own, each the power law it says it is, against integrals and other libraries."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from sprayroof.physics import convection, convection_rivals
from sprayroof.physics.constants import PRANDTL_AIR, ROUGHNESS
from sprayroof.physics.convection_rivals import CONVECTION

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

AIR = (0.0255, 1.48e-5)  # conductivity, kinematic viscosity at 15 degC
LENGTH = st.floats(2.0, 100.0)


def coefficient(name, wind_m_s, length_m=20.0, roughness=1.3):
    return float(CONVECTION[name].function(wind_m_s, length_m, *AIR, roughness))


def test_all_rivals_differ_at_one_point():
    values = sorted(coefficient(name, 3.0) for name in CONVECTION)
    assert len(values) == 10
    assert min(np.diff(values)) > 0.05


@pytest.mark.parametrize(("name", "wind", "expected"), [
    # by hand from the printed lines
    ("mcadams", 3.0, 5.7 + 11.4), ("test", 3.0, 8.55 + 7.68), ("watmuff", 3.0, 2.8 + 9.0),
    ("palyvos_windward", 3.0, 7.4 + 12.0), ("palyvos_leeward", 3.0, 4.2 + 10.5),
    ("emmel_across", 2.0, 5.11 * 1.717131), ("emmel_oblique", 2.0, 4.60 * 1.729074),
    ("emmel_along", 2.0, 3.67 * 1.802501),
])
def test_printed_lines(name, wind, expected):
    assert coefficient(name, wind) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("name", CONVECTION)
@given(ratio=st.floats(0.1, 1.5), wind=st.floats(0.0, 15.0), length_m=LENGTH)
def test_one_number_a_step_serves_every_roof(name, ratio, wind, length_m):
    rival = CONVECTION[name]
    one_metre = float(rival.function(wind, 1.0, *AIR, 1.3))
    ours = float(convection_rivals.forced_W_m2K(one_metre, rival.constant_W_m2K, ratio, length_m, rival.wind_exponent,
                                                rival.length_exponent))
    assert ours == pytest.approx(coefficient(name, ratio * wind, length_m), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", CONVECTION)
def test_more_wind_never_cools_less(name):
    values = CONVECTION[name].function(np.linspace(0.0, 12.0, 49), 20.0, *AIR, 1.3)
    assert np.all(np.diff(values) > 0.0)


@pytest.mark.parametrize("name", CONVECTION)
def test_row_tells_the_truth(name):
    rival = CONVECTION[name]
    assert rival.wind in ("roof", "10 m")
    assert coefficient(name, 0.0) == pytest.approx(rival.constant_W_m2K, abs=1e-12)
    # a constant without wind is natural convection that nothing may be added to
    assert rival.whole == (rival.constant_W_m2K > 0.0)


def test_plate_is_the_mean_of_the_local_plate():
    """0.037 is the mean of the local 0.0296 along the plate (Incropera, ch. 7)."""
    wind, length = 3.0, 20.0

    def local(x_m):
        return 0.0296 * (wind * x_m / AIR[1]) ** 0.8 * PRANDTL_AIR ** (1 / 3) * AIR[0] / x_m

    mean = integrate.quad(local, 0.0, length)[0] / length
    assert coefficient("plate", wind, length) == pytest.approx(mean, rel=2e-3)
    assert coefficient("clear_et_al", wind, length, 1.0) == pytest.approx(local(0.5 * length), rel=1e-9)


def test_plate_near_another_library():
    ht = pytest.importorskip("ht")
    nusselt = ht.conv_external.Nu_horizontal_plate_turbulent_Kreith(3.0 * 20.0 / AIR[1], PRANDTL_AIR)
    assert coefficient("plate", 3.0) == pytest.approx(nusselt * AIR[0] / 20.0, rel=0.04)  # theirs 0.036 for 0.037


def test_roughness_multiplies_one_rival_only():
    for name in CONVECTION:
        share = coefficient(name, 3.0, roughness=2.0) / coefficient(name, 3.0, roughness=1.0)
        assert share == pytest.approx(2.0 if name == "clear_et_al" else 1.0)
    assert min(ROUGHNESS.values()) == 1.0
    assert max(ROUGHNESS.values()) == 2.17


@pytest.mark.parametrize(("wind_from", "facade", "angle"), [
    (0.0, 0.0, 0.0), (180.0, 0.0, 0.0), (90.0, 0.0, 90.0), (315.0, 0.0, 45.0), (10.0, 350.0, 20.0), (350.0, 10.0, 20.0),
    (200.0, 10.0, 10.0), (100.0, 350.0, 70.0),
])
def test_angle_to_the_facade(wind_from, facade, angle):
    assert convection_rivals.emmel_angle_deg(wind_from, facade) == pytest.approx(angle, abs=1e-9)


def test_small_plates_are_an_upper_bound_on_a_large_roof():
    """On 20 m a small plate's line gives about twice the large plate's coefficient."""
    assert coefficient("mcadams", 3.0) / coefficient("plate", 3.0) > 1.8


def mixed(wind, buoyancy, length=20.0):
    forced = coefficient("clear_et_al", wind, length, 1.0)
    return forced, float(convection_rivals.mixed_clear_et_al_W_m2K(forced, wind, length, length / 4.0, *AIR, 288.0,
                                                                   buoyancy))


def test_mixed_form_has_its_limits():
    forced, windy = mixed(20.0, 0.5)
    assert windy == pytest.approx(forced, rel=0.02)
    _, calm = mixed(0.0, 5.0)
    grashof = 9.80665 * 5.0 / 288.0 * 5.0**3 / AIR[1] ** 2
    assert calm == pytest.approx(0.15 * (grashof * PRANDTL_AIR) ** (1 / 3) * AIR[0] / 5.0, rel=1e-6)
    assert mixed(1.0, -5.0)[1] < mixed(1.0, 5.0)[1]


@given(wind=st.floats(0.3, 6.0), buoyancy=st.floats(0.5, 10.0), length=st.floats(5.0, 40.0))
def test_our_cubic_sum_lies_near_the_mixed_form(wind, buoyancy, length):
    """Two ways of putting the same two parts together: within 30 %, the spread of convection models in print."""
    forced, theirs = mixed(wind, buoyancy, length)
    unstable = convection.natural_unstable_cubed(*AIR, 288.0)
    ours = convection.mixed_convection_W_m2K(forced, unstable, 0.0, buoyancy)
    assert math.isclose(ours, theirs, rel_tol=0.30)
