"""Cooled floors and ceilings and coils: the heat they can take up."""

from __future__ import annotations

import math

from sprayroof.physics.approach import mean_left_frac
from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import CEILING_EXPONENT, CEILING_H, CP_WATER


@elementwise
def ceiling_coefficient_W_m2K(t_room_C, t_surface_C):
    """Total coefficient of a cooled ceiling.

    Parameters
    ----------
    t_room_C, t_surface_C : float or array
        Operative room and mean surface temperature [degC].

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].

    References
    ----------
    EN 1264-2, ISO 11855-2: q = 8.92 |dT|^1.1.
    """
    return CEILING_H * max(abs(t_room_C - t_surface_C), 1e-3) ** (CEILING_EXPONENT - 1.0)


@elementwise
def exchanger_plain(ntu):
    """Effectiveness of an exchanger whose other side stays at one temperature.

    Parameters
    ----------
    ntu : float or array
        UA over the water's capacity flow [1].

    Returns
    -------
    float or array
        Effectiveness [1].

    References
    ----------
    1 - exp(-NTU), any heat-exchanger text.
    """
    return ntu * mean_left_frac(ntu)


@elementwise
def exchanger_counterflow(ntu, ratio):
    """Effectiveness of a counterflow exchanger.

    Parameters
    ----------
    ntu : float or array
        UA over the smaller capacity flow [1].
    ratio : float or array
        Smaller over larger capacity flow [1], 0 to 1.

    Returns
    -------
    float or array
        Effectiveness on the smaller side [1].

    References
    ----------
    Kays & London; any heat-exchanger text.
    """
    if ratio > 1.0 - 1e-9:
        return ntu / (1.0 + ntu)
    factor = math.exp(-ntu * (1.0 - ratio))
    return (1.0 - factor) / (1.0 - ratio * factor)


@elementwise
def panel_W_K(flow_kg_s, area_m2, resistance_m2K_W, h_W_m2K):
    """Heat that a cooled floor or ceiling takes up per kelvin between room and supply water.

    Parameters
    ----------
    flow_kg_s, area_m2, resistance_m2K_W, h_W_m2K : float or array
        See `panel_capacity_W`.

    Returns
    -------
    float or array
        Heat per difference [W/K].
    """
    ua = area_m2 * h_W_m2K / (1.0 + resistance_m2K_W * h_W_m2K)
    return flow_kg_s * CP_WATER * exchanger_plain(ua / (flow_kg_s * CP_WATER))


@elementwise
def panel_held_W(t_room_C, t_supply_C, panel_W_K, area_m2, h_W_m2K, t_surface_min_C):
    """Heat that a cooled floor or ceiling takes up, from its heat per kelvin.

    Parameters
    ----------
    panel_W_K : float or array
        See `panel_W_K` [W/K].
    t_room_C, t_supply_C, area_m2, h_W_m2K, t_surface_min_C : float or array
        See `panel_capacity_W`.

    Returns
    -------
    float or array
        Heat [W], 0 or more.
    """
    return max(0.0, min(panel_W_K * (t_room_C - t_supply_C), area_m2 * h_W_m2K * (t_room_C - t_surface_min_C)))


@elementwise
def panel_capacity_W(t_room_C, t_supply_C, flow_kg_s, area_m2, resistance_m2K_W, h_W_m2K, t_surface_min_C):
    """Heat that a cooled floor or ceiling takes up.

    Parameters
    ----------
    t_room_C, t_supply_C : float or array
        Room and supply water [degC].
    flow_kg_s, area_m2 : float or array
        Water flow [kg/s] and active area [m2].
    resistance_m2K_W : float or array
        From water to surface [m2 K/W].
    h_W_m2K : float or array
        From surface to room [W/(m2 K)].
    t_surface_min_C : float or array
        Lowest mean surface temperature allowed [degC].

    Returns
    -------
    float or array
        Heat [W], 0 or more.
    """
    unit_W_K = panel_W_K(flow_kg_s, area_m2, resistance_m2K_W, h_W_m2K)
    return panel_held_W(t_room_C, t_supply_C, unit_W_K, area_m2, h_W_m2K, t_surface_min_C)


@elementwise
def coil_W_K(flow_kg_s, ua_W_K, air_W_K):
    """Heat that a coil takes up per kelvin between air and supply water.

    Parameters
    ----------
    flow_kg_s : float or array
        Water flow [kg/s].
    ua_W_K, air_W_K : float or array
        UA of the coil and capacity flow of the air [W/K].

    Returns
    -------
    float or array
        Heat per difference [W/K].
    """
    water_W_K = flow_kg_s * CP_WATER
    small, large = min(water_W_K, air_W_K), max(water_W_K, air_W_K)
    return exchanger_counterflow(ua_W_K / small, small / large) * small


@elementwise
def coil_capacity_W(t_air_on_C, t_supply_C, flow_kg_s, ua_W_K, air_W_K):
    """Sensible heat that a coil takes up.

    Parameters
    ----------
    t_air_on_C, t_supply_C : float or array
        Air on the coil and supply water [degC].
    flow_kg_s, ua_W_K, air_W_K : float or array
        See `coil_W_K`.

    Returns
    -------
    float or array
        Heat [W], 0 or more.
    """
    return max(0.0, coil_W_K(flow_kg_s, ua_W_K, air_W_K) * (t_air_on_C - t_supply_C))
