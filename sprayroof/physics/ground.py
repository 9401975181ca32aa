"""What lies around a store: undisturbed ground, the way of heat through it, and the resistances of a wall."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    AIR_SIDE_A,
    AIR_SIDE_B,
    OUTSIDE_RADIATION_H,
    SHAPE_COMPACT,
    WATER_SIDE_H,
    YEAR_S,
)


@elementwise
def ground_temperature_C(depth_m, time_s, mean_C, amplitude_K, coldest_s, diffusivity_m2_s):
    """Undisturbed ground at a depth and time of year.

    Parameters
    ----------
    depth_m : float or array
        Depth [m], 0 or more.
    time_s, coldest_s : float or array
        Time since the year began, now and when the surface is coldest [s].
    mean_C, amplitude_K : float or array
        Of the surface over the year: mean [degC] and half the swing [K].
    diffusivity_m2_s : float or array
        Of the soil [m2/s].

    Returns
    -------
    float or array
        Temperature [degC].

    References
    ----------
    Kasuda & Archenbach 1965: Tm - A exp(-z sqrt(pi/(365 a))) cos(2 pi/365 (t - t0 - z/2 sqrt(365/(pi a)))).
    """
    depth = depth_m * math.sqrt(math.pi / (YEAR_S * diffusivity_m2_s))
    return mean_C - amplitude_K * math.exp(-depth) * math.cos(2.0 * math.pi * (time_s - coldest_s) / YEAR_S - depth)


@elementwise
def ground_temperature_between_C(top_m, bottom_m, time_s, mean_C, amplitude_K, coldest_s, diffusivity_m2_s):
    """Undisturbed ground, mean over the depths that a buried wall touches.

    Parameters
    ----------
    top_m, bottom_m : float or array
        Depths [m], bottom below top.
    others
        See `ground_temperature_C`.

    Returns
    -------
    float or array
        Temperature [degC].

    Notes
    -----
    The wave exp(-k z) cos(w - k z) integrates to -exp(-k z) (cos(w - k z) + sin(w - k z)) / (2 k).
    """
    k = math.sqrt(math.pi / (YEAR_S * diffusivity_m2_s))
    phase = 2.0 * math.pi * (time_s - coldest_s) / YEAR_S
    top, bottom = k * top_m, k * bottom_m
    lower = math.exp(-bottom) * (math.cos(phase - bottom) + math.sin(phase - bottom))
    upper = math.exp(-top) * (math.cos(phase - top) + math.sin(phase - top))
    return mean_C - amplitude_K * (upper - lower) / (2.0 * (bottom - top))


@elementwise
def shape_cylinder_lying_m(diameter_m, depth_m, length_m):
    """Conduction shape factor of a long buried cylinder lying level, ends left out.

    Parameters
    ----------
    diameter_m, length_m : float or array
        Diameter and length [m], length several diameters.
    depth_m : float or array
        Of its axis [m], more than half the diameter.

    Returns
    -------
    float or array
        Shape factor [m].

    References
    ----------
    Incropera et al., table 4.1, case 2: 2 pi L / arccosh(2 z/D).
    """
    return 2.0 * math.pi * length_m / math.acosh(2.0 * depth_m / diameter_m)


@elementwise
def shape_compact_m(area_m2, depth_m):
    """Conduction shape factor of a compact buried body of any form.

    Parameters
    ----------
    area_m2 : float or array
        Its whole surface [m2].
    depth_m : float or array
        Of its centre [m].

    Returns
    -------
    float or array
        Shape factor [m].

    Notes
    -----
    In an endless medium 0.95 sqrt(4 pi A), see `SHAPE_COMPACT`; the ground's surface adds the mirror image of the body,
    which for a ball is the textbook's 1 - D/(4 z).
    """
    endless = SHAPE_COMPACT * math.sqrt(4.0 * math.pi * area_m2)
    return endless / (1.0 - endless / (8.0 * math.pi * depth_m))


@elementwise
def buried_ua_W_K(shape_m, soil_W_mK, wall_W_m2K, area_m2):
    """From the water of a buried store to undisturbed ground.

    Parameters
    ----------
    shape_m : float or array
        Shape factor [m].
    soil_W_mK : float or array
        Conductivity of the soil [W/(m K)].
    wall_W_m2K : float or array
        From water to soil, per wall area [W/(m2 K)].
    area_m2 : float or array
        Wall [m2].

    Returns
    -------
    float or array
        UA [W/K], steady: a store that swings within days loses and regains more to the soil close by.
    """
    return 1.0 / (1.0 / (shape_m * soil_W_mK) + 1.0 / (wall_W_m2K * area_m2))


@elementwise
def wall_series_W_m2K(water_W_m2K, wall_m2K_W, outside_W_m2K):
    """Water side, wall and outside in a row.

    Parameters
    ----------
    water_W_m2K, outside_W_m2K : float or array
        Coefficients inside (`WATER_SIDE_H`) and outside [W/(m2 K)].
    wall_m2K_W : float or array
        Resistance of the wall [m2 K/W].

    Returns
    -------
    float or array
        Conductance [W/(m2 K)].
    """
    return 1.0 / (1.0 / water_W_m2K + wall_m2K_W + 1.0 / outside_W_m2K)


@elementwise
def wall_outdoors_W_m2K(wall_m2K_W, wind_m_s):
    """From the water of a store in the open to the air.

    Parameters
    ----------
    wall_m2K_W : float or array
        Resistance of the wall [m2 K/W].
    wind_m_s : float or array
        Wind at the store [m/s].

    Returns
    -------
    float or array
        Conductance [W/(m2 K)]; radiation is that to surroundings at air temperature.
    """
    return wall_series_W_m2K(WATER_SIDE_H, wall_m2K_W, air_side_W_m2K(wind_m_s) + OUTSIDE_RADIATION_H)


@elementwise
def air_side_W_m2K(wind_m_s):
    """Convection on the outside of a store in the open.

    Parameters
    ----------
    wind_m_s : float or array
        Wind at the store [m/s].

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)], radiation (`OUTSIDE_RADIATION_H`) not within.

    References
    ----------
    ISO 6946: 4 + 4 v (from memory).
    """
    return AIR_SIDE_A + AIR_SIDE_B * wind_m_s
