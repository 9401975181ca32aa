"""Drops thrown by a nozzle: where they land in wind, what they exchange on the way, and the air they leave behind."""

from __future__ import annotations

import math

from sprayroof.physics.approach import mean_left_frac
from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CALMEST_AIR,
    DRAG_STOKES,
    ENTRAINED_WIND_SHARE,
    GRAVITY,
    RHO_WATER,
)
from sprayroof.physics.droplets import drag_coefficient, nusselt_ranz_marshall

STEPS_A_FLIGHT = 300
MOST_STEPS = 100_000
FLOWN_FINE_M, FLOWN_COARSE_M, SIZE_CLASSES = 5e-5, 5e-3, 40


@compiled
def _pull(ratio, diameter_m, viscosity_m2_s, along_m_s, up_m_s):
    """Acceleration by drag per relative velocity [1/s] and the Reynolds number."""
    relative = max(1e-6, math.sqrt(along_m_s * along_m_s + up_m_s * up_m_s))
    reynolds = relative * diameter_m / viscosity_m2_s
    return ratio * drag_coefficient(reynolds) * relative, reynolds


@compiled
def throw(diameter_m, speed_m_s, angle_deg, height_m, wind_m_s, air_density_kg_m3, viscosity_m2_s, conductivity_W_mK):
    """A drop thrown from a nozzle, in the upright plane that holds the wind.

    Parameters
    ----------
    diameter_m : float
        Diameter [m], 5e-5 to 5e-3.
    speed_m_s, angle_deg : float
        Speed at the nozzle [m/s] and its angle over the horizontal [deg], -90 to 90; beyond 90 against the wind.
    height_m : float
        Nozzle over the roof [m], 0 or more.
    wind_m_s : float
        Wind, the same at all heights of the flight [m/s].
    air_density_kg_m3, viscosity_m2_s, conductivity_W_mK : float
        Of the air: density [kg/m3], kinematic viscosity [m2/s], conductivity [W/(m K)].

    Returns
    -------
    tuple of float
        Time [s], travel downwind [m], speed at which it lands [m/s], and the integral of h A / m over the flight
        [J/(kg K)] as of `droplets.fall`.

    Notes
    -----
    Midpoint steps: a 300th of the flight without air, or half the drop's own response time where that is shorter.
    """
    along, up = speed_m_s * math.cos(math.radians(angle_deg)), speed_m_s * math.sin(math.radians(angle_deg))
    free_s = (up + math.sqrt(up * up + 2.0 * GRAVITY * height_m)) / GRAVITY
    ratio = 0.75 * air_density_kg_m3 / (RHO_WATER * diameter_m)
    response_s = diameter_m / (ratio * DRAG_STOKES * viscosity_m2_s)
    dt = min(max(free_s, 1e-3) / STEPS_A_FLIGHT, 0.5 * response_s)
    weight = GRAVITY * (1.0 - air_density_kg_m3 / RHO_WATER)
    time = travel = exchange = 0.0
    height = height_m
    for _ in range(MOST_STEPS):
        drag, reynolds = _pull(ratio, diameter_m, viscosity_m2_s, along - wind_m_s, up)
        mid_along, mid_up = along - 0.5 * dt * drag * (along - wind_m_s), up - 0.5 * dt * (weight + drag * up)
        drag, reynolds = _pull(ratio, diameter_m, viscosity_m2_s, mid_along - wind_m_s, mid_up)
        part = 1.0
        if mid_up < 0.0 and height + mid_up * dt <= 0.0:
            part = height / (-mid_up * dt)
        step = part * dt
        exchange += step * 6.0 * nusselt_ranz_marshall(reynolds) * conductivity_W_mK / (RHO_WATER * diameter_m**2)
        time += step
        travel += step * mid_along
        height += step * mid_up
        along -= step * drag * (mid_along - wind_m_s)
        up -= step * (weight + drag * mid_up)
        if part < 1.0:
            break
    return time, travel, math.sqrt(along * along + up * up), exchange


@elementwise
def rosin_rammler_frac(diameter_m, sauter_m, size_exponent):
    """Share of the sprayed mass in drops below a size.

    Parameters
    ----------
    diameter_m : float or array
        Size [m].
    sauter_m : float or array
        Sauter mean diameter [m].
    size_exponent : float or array
        Spread exponent n [1], above 1; 2 to 4 for nozzles.

    Returns
    -------
    float or array
        Share [1].

    References
    ----------
    Rosin & Rammler 1933: 1 - exp(-(d/X)^n); X = SMD Gamma(1 - 1/n), any atomisation text.
    """
    size_m = sauter_m * math.gamma(1.0 - 1.0 / size_exponent)
    return -math.expm1(-((diameter_m / size_m) ** size_exponent))


@compiled
def drift_by_throw_frac(edge_m, speed_m_s, angle_deg, height_m, wind_m_s, sauter_m, size_exponent, air_density_kg_m3,
                        viscosity_m2_s, conductivity_W_mK):
    """Share of the spray that lands beyond the edge downwind; a cross-check of the drift prior, not its source.

    Parameters
    ----------
    edge_m : float
        Distance from the nozzle to the edge downwind [m].
    sauter_m, size_exponent : float
        Of the sizes, see `rosin_rammler_frac` [m, 1].
    others
        See `throw`.

    Returns
    -------
    float
        Share [1]. Without turbulence and the satellites of a real nozzle: rather low in light wind.

    Notes
    -----
    Sizes in classes of equal ratio from 0.05 to 5 mm; what is finer or coarser goes with the class at the end. Both
    ends can be lost: the fine ones to the wind, the coarse ones to a throw that reaches too far.
    """
    ratio = (FLOWN_COARSE_M / FLOWN_FINE_M) ** (1.0 / SIZE_CLASSES)
    lost, below = 0.0, 0.0
    for number in range(SIZE_CLASSES):
        upper = FLOWN_FINE_M * ratio ** (number + 1)
        reached = 1.0 if number == SIZE_CLASSES - 1 else rosin_rammler_frac(upper, sauter_m, size_exponent)
        travel = throw(upper / math.sqrt(ratio), speed_m_s, angle_deg, height_m, wind_m_s, air_density_kg_m3,
                       viscosity_m2_s, conductivity_W_mK)[1]
        if travel > edge_m:
            lost += reached - below
        below = reached
    return lost


@elementwise
def fresh_air_frac(feed_kg_m2s, exchange_J_kgK, wind_m_s, spray_height_m, length_m, air_J_m3K):
    """What is left of the drops' exchange when they share the air between them.

    Parameters
    ----------
    feed_kg_m2s : float or array
        Water sprayed per roof area [kg/(m2 s)].
    exchange_J_kgK : float or array
        Exchange of one drop in fresh air, from `throw` or `droplets.fall` [J/(kg K)].
    wind_m_s : float or array
        Wind over the roof [m/s].
    spray_height_m, length_m : float or array
        Height of the spray and length of the roof along the wind [m].
    air_J_m3K : float or array
        Heat capacity of air per volume [J/(m3 K)], about 1200.

    Returns
    -------
    float or array
        Factor on the exchange [1], 0 to 1.

    Notes
    -----
    Balance of the air in the spray: wind brings C = rho cp (U H/L + 0.05 U) per roof area and kelvin, with U at least
    0.3 m/s; the drops exchange K = G X. Along the wind the air nears the drops as 1 - exp(-N), N = K/C, and the mean
    difference left is (1 - exp(-N))/N. Heat and vapour are carried by the same air, so one factor serves both.
    """
    air_m_s = max(wind_m_s, CALMEST_AIR)
    fresh_W_m2K = air_J_m3K * air_m_s * (spray_height_m / length_m + ENTRAINED_WIND_SHARE)
    n = feed_kg_m2s * exchange_J_kgK / fresh_W_m2K
    return mean_left_frac(n)
