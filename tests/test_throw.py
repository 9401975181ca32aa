"""Thrown drops against an ODE solver, ballistics and the falling drop; air between drops against its own balance."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate

from sprayroof.physics import droplets, throw
from sprayroof.physics.constants import CALMEST_AIR, ENTRAINED_WIND_SHARE, RHO_WATER

settings.register_profile("sprayroof", max_examples=150, deadline=None, derandomize=True)
settings.load_profile("sprayroof")

AIR = (1.2, 1.5e-5, 0.0255)  # density, kinematic viscosity, conductivity


def solved(diameter, speed, angle, height, wind):
    """Flight by an ODE solver, with Schiller & Naumann's drag and Ranz & Marshall's exchange written anew."""
    rho, nu, k = AIR
    mass = RHO_WATER * math.pi / 6.0 * diameter**3

    def slopes(_, state):
        _, _, along, up, _ = state
        relative = math.hypot(along - wind, up)
        re = max(relative * diameter / nu, 1e-9)
        cd = 24.0 / re * (1.0 + 0.15 * re**0.687) if re < 1000.0 else 0.44
        force = 0.5 * rho * cd * math.pi / 4.0 * diameter**2 * relative
        h = k / diameter * (2.0 + 0.6 * math.sqrt(re) * 0.71 ** (1 / 3))
        return [along, up, -force * (along - wind) / mass, -9.80665 * (1.0 - rho / RHO_WATER) - force * up / mass,
                h * math.pi * diameter**2 / mass]

    def landed(_, state):
        return state[1]

    landed.terminal, landed.direction = True, -1
    start = [0.0, height, speed * math.cos(math.radians(angle)), speed * math.sin(math.radians(angle)), 0.0]
    end = integrate.solve_ivp(slopes, (0.0, 60.0), start, events=landed, rtol=1e-8, atol=1e-10)
    travel, _, along, up, exchange = end.y_events[0][0]
    return end.t_events[0][0], travel, math.hypot(along, up), exchange


@pytest.mark.parametrize(("diameter", "speed", "angle", "height", "wind"), [
    (1.5e-3, 8.0, 30.0, 0.5, 0.0), (1.5e-3, 8.0, 30.0, 0.5, 4.0), (1.5e-3, 6.0, 90.0, 0.3, 2.0),
    (3.0e-3, 10.0, 45.0, 0.2, -3.0), (5e-4, 8.0, 20.0, 1.0, 6.0), (1e-4, 5.0, 30.0, 0.5, 1.0),
    (1.5e-3, 8.0, 150.0, 0.5, 4.0), (1.0e-3, 4.0, -30.0, 2.0, 1.0), (5e-5, 2.0, 0.0, 0.3, 0.5),
])
def test_flight(diameter, speed, angle, height, wind):
    ours = throw.throw(diameter, speed, angle, height, wind, *AIR)
    assert ours == pytest.approx(solved(diameter, speed, angle, height, wind), rel=5e-3, abs=2e-3)


@given(diameter=st.floats(2e-4, 4e-3), height=st.floats(0.2, 3.0))
def test_a_drop_let_go_in_calm_air_is_the_falling_drop(diameter, height):
    time, travel, speed, exchange = throw.throw(diameter, 0.0, 0.0, height, 0.0, *AIR)
    assert travel == 0.0
    assert (time, speed, exchange) == pytest.approx(droplets.fall(diameter, height, *AIR), rel=3e-3)


def test_without_air_it_is_a_parabola():
    speed, angle, height = 6.0, 50.0, 0.8
    up, along = speed * math.sin(math.radians(angle)), speed * math.cos(math.radians(angle))
    time = (up + math.sqrt(up * up + 2.0 * 9.80665 * height)) / 9.80665
    ours = throw.throw(3e-3, speed, angle, height, 0.0, 1e-9, 1.5e-5, 0.0255)
    assert ours[:2] == pytest.approx((time, along * time), rel=1e-4)


@given(wind=st.floats(0.0, 8.0), more=st.floats(0.1, 4.0), diameter=st.floats(1e-4, 4e-3))
def test_wind_carries_further(wind, more, diameter):
    flights = [throw.throw(diameter, 7.0, 30.0, 0.5, w, *AIR)[1] for w in (wind, wind + more)]
    assert flights[1] > flights[0]


def test_fine_drops_ride_the_wind():
    time, travel, _, _ = throw.throw(5e-5, 0.0, 0.0, 1.0, 3.0, *AIR)
    assert travel == pytest.approx(3.0 * time, rel=0.01)


@pytest.mark.parametrize("exponent", [2.0, 2.5, 3.5])
def test_sizes_have_the_sauter_mean_they_are_made_of(exponent):
    """SMD = 1 / integral of dF/d over all sizes, from its definition."""
    sauter = 1.5e-3

    def share_per_size(size):
        step = 1e-4 * size
        return float(throw.rosin_rammler_frac(size + step, sauter, exponent)
                     - throw.rosin_rammler_frac(size - step, sauter, exponent)) / (2.0 * step)

    inverse = integrate.quad(lambda log: share_per_size(math.exp(log)), math.log(1e-7), math.log(2e-2), limit=400)[0]
    assert 1.0 / inverse == pytest.approx(sauter, rel=2e-3)


def test_drift_counts_just_the_sizes_that_pass_the_edge():
    edge, nozzle = 12.0, (8.0, 30.0, 0.3, 6.0)
    lost = throw.drift_by_throw_frac(edge, *nozzle, 1.5e-3, 2.5, *AIR)
    sizes = np.geomspace(5e-5, 5e-3, 400)
    passing = np.array([throw.throw(size, *nozzle, *AIR)[1] > edge for size in sizes])
    largest = sizes[passing].max()
    assert not passing[-1]
    assert lost == pytest.approx(float(throw.rosin_rammler_frac(largest, 1.5e-3, 2.5)), rel=0.35)


@given(wind=st.floats(0.0, 10.0), edge=st.floats(1.0, 20.0))
@settings(max_examples=20)
def test_drift_is_a_share_and_falls_with_the_distance(wind, edge):
    near, far = (throw.drift_by_throw_frac(e, 5.0, 30.0, 0.3, wind, 1.5e-3, 2.5, *AIR) for e in (edge, edge + 5.0))
    assert 0.0 <= far <= near <= 1.0


def test_coarse_low_spray_drifts_less_than_the_prior_in_light_wind():
    """The prior of drift holds what single clean drops cannot: turbulence, satellites, splash."""
    for wind in (1.0, 2.0, 4.0):
        assert throw.drift_by_throw_frac(10.0, 5.0, 25.0, 0.3, wind, 1.5e-3, 2.5, *AIR) < droplets.drift_share(
            wind, 0.003, 0.003)


@pytest.mark.parametrize(("feed", "exchange", "wind", "height", "length"), [
    (0.005, 310.0, 2.0, 1.0, 20.0), (0.02, 3000.0, 0.1, 1.0, 20.0), (0.05, 10000.0, 0.5, 0.5, 40.0),
])
def test_fresh_air_from_its_own_balance(feed, exchange, wind, height, length):
    """Air on its way over the roof, marched in 20 000 slices; drops held at one temperature."""
    air_m_s = max(wind, CALMEST_AIR)
    through = 1207.0 * air_m_s * (height / length + ENTRAINED_WIND_SHARE) * length
    slices, apart, given_off = 20_000, 1.0, 0.0
    for _ in range(slices):
        given = feed * exchange * apart * length / slices
        given_off += given
        apart -= given / through
    factor = given_off / (feed * exchange * length)
    ours = throw.fresh_air_frac(feed, exchange, wind, height, length, 1207.0)
    assert ours == pytest.approx(factor, rel=1e-3)


@given(feed=st.floats(0.0, 0.1), exchange=st.floats(0.0, 1e5), wind=st.floats(0.0, 10.0))
def test_fresh_air_is_a_share(feed, exchange, wind):
    share = float(throw.fresh_air_frac(feed, exchange, wind, 1.0, 20.0, 1207.0))
    assert 0.0 < share <= 1.0
    assert throw.fresh_air_frac(feed, exchange, wind + 1.0, 1.0, 20.0, 1207.0) >= share
