"""Drops thrown up to a stated height, against an ODE solver; and the same exchange in the members of an audit."""

import math

import numpy as np
import pytest
from scipy import integrate, optimize
from small_site import small_site
from solved_anew import JET_FRAC

from sprayroof.evidence.weather import read_weather
from sprayroof.model.drivers import drivers
from sprayroof.model.members import ensemble
from sprayroof.physics import droplets, jet, moistair
from sprayroof.physics.constants import STANDARD_PRESSURE

GRAVITY, RHO_WATER = 9.80665, 999.1  # water at 15 degC, CRC Handbook
# Air of 15 degC at sea level: US Standard Atmosphere 1976, kinematic viscosity and conductivity of its tables
AIR = (1.225, 1.461e-5, 0.02533)


def flown(diameter, speed, angle, start_m=0.0):
    """Apex and exchange of a flight in still air: Schiller & Naumann's drag, Ranz & Marshall's exchange."""
    rho, nu, k = AIR

    def slopes(_, state):
        _, along, up, _ = state
        relative = math.hypot(along, up)
        re = max(relative * diameter / nu, 1e-9)
        cd = max(0.44, 24.0 / re * (1.0 + 0.15 * re**0.687))
        pull = 0.75 * cd * rho / (RHO_WATER * diameter) * relative
        h = k / diameter * (2.0 + 0.6 * math.sqrt(re) * 0.71 ** (1 / 3))
        return [up, -pull * along, -GRAVITY * (1.0 - rho / RHO_WATER) - pull * up, 6.0 * h / (RHO_WATER * diameter)]

    def level(_, state):
        return state[2]

    def landed(time, state):
        return state[0] if time > 1e-6 else 1.0

    level.direction, landed.terminal, landed.direction = -1, True, -1
    start = [start_m, speed * math.cos(math.radians(angle)), speed * math.sin(math.radians(angle)), 0.0]
    end = integrate.solve_ivp(slopes, (0.0, 60.0), start, events=(level, landed), rtol=1e-8, atol=1e-10)
    return end.y_events[0][0][0], end.y_events[1][0][3]


def speed_for(diameter, apex, angle):
    return optimize.brentq(lambda speed: flown(diameter, speed, angle)[0] - apex, 0.5, 24.9, xtol=1e-6)


@pytest.mark.parametrize(("drop_mm", "apex", "angle"), [(1.5, 1.0, 30.0), (0.8, 0.5, 60.0), (2.5, 1.4, 45.0)])
def test_members_have_the_exchange_of_the_whole_flight(drop_mm, apex, angle):
    site = small_site(spray={"drop_size": drop_mm, "fall_height": apex, "nozzle_angle": angle})
    member = ensemble(site, drivers(site, read_weather(site)), 0, 1).members[0]
    speed = speed_for(1e-3 * drop_mm, apex, angle)
    assert member["drop_exchange_J_kgK"] == pytest.approx(flown(1e-3 * drop_mm, speed, angle)[1], rel=JET_FRAC)


def test_each_member_has_its_own_flight():
    """Every drawn drop, height and angle counts: more than the free fall from its apex, before the factor."""
    site = small_site()
    made = ensemble(site, drivers(site, read_weather(site)), 12, 3)
    values = made.draws.values
    assert np.unique(values["spray.nozzle_angle"]).size == 13
    density = moistair.air_density_kg_m3(15.0, 0.008, STANDARD_PRESSURE)
    air = (density, moistair.air_viscosity_Pa_s(15.0) / density, moistair.air_conductivity_W_mK(15.0))
    exchange = made.members["drop_exchange_J_kgK"] / values["model.drop_factor"]
    for own, size, height in zip(exchange, values["spray.drop_size"], values["spray.fall_height"], strict=True):
        assert own > droplets.fall(1e-3 * size, height, *air)[2]


@pytest.mark.parametrize(("drop_mm", "apex"), [(1.5, 1.0), (3.0, 1.5)])
def test_a_vertical_jet_gives_up_plus_down(drop_mm, apex):
    """Down is the fall from rest; up is integrated backwards in speed from its own law, dh = -v dv / (g + pull)."""
    rho, nu, k = AIR
    d = 1e-3 * drop_mm
    down = droplets.fall(d, apex, *AIR)[2]

    def per_speed(v):
        re = max(v * d / nu, 1e-9)
        slowing = GRAVITY * (1 - rho / RHO_WATER) + 0.75 * max(
            0.44, 24.0 / re * (1.0 + 0.15 * re**0.687)) * rho / (RHO_WATER * d) * v * v
        return v / slowing, 6.0 * k / (RHO_WATER * d * d) * (2.0 + 0.6 * math.sqrt(re) * 0.71 ** (1 / 3)) / slowing

    top = optimize.brentq(lambda u: integrate.quad(lambda v: per_speed(v)[0], 0.0, u)[0] - apex, 0.1, 30.0)
    up = integrate.quad(lambda v: per_speed(v)[1], 0.0, top)[0]
    assert jet.jet_exchange_J_kgK(d, apex, 90.0, *AIR) == pytest.approx(up + down, rel=0.01)


def test_the_nozzle_speed_reaches_the_apex_and_thin_air_is_ballistic():
    speed = jet.nozzle_speed_m_s(1.5e-3, 1.0, 40.0, *AIR[:2])
    assert flown(1.5e-3, speed, 40.0)[0] == pytest.approx(1.0, rel=5e-3)
    thin = jet.nozzle_speed_m_s(4e-3, 1.0, 40.0, 1e-9, AIR[1])
    assert thin * math.sin(math.radians(40.0)) == pytest.approx(math.sqrt(2.0 * GRAVITY), rel=5e-3)


def test_what_the_fastest_jet_cannot_lift_is_carried_up():
    """0.3 mm to 1 m at 30 deg: from the height that 25 m/s lacks, by the ODE solver."""
    apex = flown(3e-4, 25.0, 30.0)[0]
    assert apex < 1.0
    ours = jet.jet_exchange_J_kgK(3e-4, 1.0, 30.0, *AIR)
    assert ours == pytest.approx(flown(3e-4, 25.0, 30.0, 1.0 - apex)[1], rel=JET_FRAC)


def test_no_apex_no_exchange_and_a_flatter_jet_gives_more():
    assert jet.jet_exchange_J_kgK(1.5e-3, 0.0, 30.0, *AIR) == 0.0
    steep, flat = jet.jet_exchange_J_kgK(1.5e-3, 0.6, np.array([60.0, 25.0]), *AIR)
    assert flat > steep
