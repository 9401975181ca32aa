"""A jet that rises to a known height: the speed at its nozzle, and what its drops exchange on the way up and down."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import DRAG_STOKES, GRAVITY, JET_FASTEST, RHO_WATER
from sprayroof.physics.droplets import drag_coefficient
from sprayroof.physics.throw import throw

CLIMB_STEPS = 150
HALVINGS = 20


@compiled
def climb_m(diameter_m, speed_m_s, angle_deg, air_density_kg_m3, viscosity_m2_s):
    """How high over its nozzle a drop rises in still air.

    Parameters
    ----------
    diameter_m : float
        Diameter [m], above 0.
    speed_m_s, angle_deg : float
        Speed at the nozzle [m/s] and its angle over the horizontal [deg], above 0 to 90.
    air_density_kg_m3, viscosity_m2_s : float
        Of the air: density [kg/m3] and kinematic viscosity [m2/s].

    Returns
    -------
    float
        Height [m].

    Notes
    -----
    Drag and midpoint steps as of `throw.throw`: a 150th of the rise without air, or half the drop's response time.
    """
    along, up = speed_m_s * math.cos(math.radians(angle_deg)), speed_m_s * math.sin(math.radians(angle_deg))
    ratio = 0.75 * air_density_kg_m3 / (RHO_WATER * diameter_m)
    dt = min(up / GRAVITY / CLIMB_STEPS, 0.5 * diameter_m / (ratio * DRAG_STOKES * viscosity_m2_s))
    weight = GRAVITY * (1.0 - air_density_kg_m3 / RHO_WATER)
    height = 0.0
    while up > 0.0:
        speed = math.sqrt(along * along + up * up)
        drag = ratio * drag_coefficient(speed * diameter_m / viscosity_m2_s) * speed
        mid_along, mid_up = along - 0.5 * dt * drag * along, up - 0.5 * dt * (weight + drag * up)
        speed = max(1e-6, math.sqrt(mid_along * mid_along + mid_up * mid_up))
        drag = ratio * drag_coefficient(speed * diameter_m / viscosity_m2_s) * speed
        height += dt * max(mid_up, 0.0)
        along -= dt * drag * mid_along
        up -= dt * (weight + drag * mid_up)
    return height


@compiled
def nozzle_speed_m_s(diameter_m, apex_m, angle_deg, air_density_kg_m3, viscosity_m2_s):
    """Speed at which a drop must leave its nozzle to rise to a height in still air.

    Parameters
    ----------
    apex_m : float
        Highest point over the nozzle [m], above 0.
    diameter_m, angle_deg, air_density_kg_m3, viscosity_m2_s
        See `climb_m`.

    Returns
    -------
    float
        Speed [m/s], at most JET_FASTEST, which may not suffice.
    """
    slow, fast = 0.99 * math.sqrt(2.0 * GRAVITY * apex_m) / math.sin(math.radians(angle_deg)), JET_FASTEST
    if slow >= fast or climb_m(diameter_m, fast, angle_deg, air_density_kg_m3, viscosity_m2_s) <= apex_m:
        return fast
    for _ in range(HALVINGS):
        middle = 0.5 * (slow + fast)
        if climb_m(diameter_m, middle, angle_deg, air_density_kg_m3, viscosity_m2_s) < apex_m:
            slow = middle
        else:
            fast = middle
    return 0.5 * (slow + fast)


@elementwise
def jet_exchange_J_kgK(diameter_m, apex_m, angle_deg, air_density_kg_m3, viscosity_m2_s, conductivity_W_mK):
    """Exchange of a drop on its whole way: from a nozzle at the roof's level up to a known height and down to the roof.

    Parameters
    ----------
    diameter_m : float or array
        Diameter [m], 5e-5 to 6e-3.
    apex_m : float or array
        Highest point over the roof [m], 0 or more.
    angle_deg : float or array
        Angle of the nozzle over the horizontal [deg], 5 to 90.
    air_density_kg_m3, viscosity_m2_s, conductivity_W_mK : float or array
        Of the air, see `throw.throw`.

    Returns
    -------
    float or array
        Integral of h A / m over the flight [J/(kg K)]; 0 where the apex is 0.

    Notes
    -----
    Still air. What a fine drop cannot climb by itself at JET_FASTEST, the jet and the air it draws along carry it: it
    starts that much higher.
    """
    if apex_m <= 0.0:
        return 0.0
    speed = nozzle_speed_m_s(diameter_m, apex_m, angle_deg, air_density_kg_m3, viscosity_m2_s)
    start_m = 0.0
    if speed >= JET_FASTEST:
        start_m = max(0.0, apex_m - climb_m(diameter_m, speed, angle_deg, air_density_kg_m3, viscosity_m2_s))
    return throw(diameter_m, speed, angle_deg, start_m, 0.0, air_density_kg_m3, viscosity_m2_s, conductivity_W_mK)[3]
