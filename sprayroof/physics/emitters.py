"""Cooled floors and ceilings and coils: the heat they can take up."""

from __future__ import annotations

import math

from sprayroof.physics.approach import mean_left_frac
from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import CEILING_EXPONENT, CEILING_H, CP_WATER

GUESSED_CEILING_W_m2K = CEILING_H * 4.0 ** (CEILING_EXPONENT - 1.0)  # at 4 K between room and surface


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
    ua = area_m2 / (1.0 / h_W_m2K + resistance_m2K_W)
    return flow_kg_s * CP_WATER * exchanger_plain(ua / (flow_kg_s * CP_WATER))


@elementwise
def ceiling_surface_share(flow_kg_s, area_m2, resistance_m2K_W):
    """About how far a cooled ceiling's mean surface lies from the room, as a share of how far its supply lies from it.

    Parameters
    ----------
    flow_kg_s, area_m2, resistance_m2K_W : float or array
        See `panel_capacity_W`.

    Returns
    -------
    float or array
        Share [1], with the coefficient at 4 K.
    """
    ntu = area_m2 / ((1.0 / GUESSED_CEILING_W_m2K + resistance_m2K_W) * flow_kg_s * CP_WATER)
    return mean_left_frac(ntu) / (1.0 + GUESSED_CEILING_W_m2K * resistance_m2K_W)


@elementwise
def ceiling_steady_W_m2K(surface_share):
    """First term of `ceiling_on_water_W_m2K`, which the supply's temperature does not change.

    Parameters
    ----------
    surface_share : float or array
        Of `ceiling_surface_share` [1].

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].
    """
    return GUESSED_CEILING_W_m2K * (1.0 - 1.0 / (1.0 + (CEILING_EXPONENT - 1.0) * (1.0 - surface_share)))


@elementwise
def ceiling_rising_W_m2K(surface_share):
    """Factor of the second term of `ceiling_on_water_W_m2K`.

    Parameters
    ----------
    surface_share : float or array
        Of `ceiling_surface_share` [1].

    Returns
    -------
    float or array
        Coefficient at 1 K between room and supply [W/(m2 K^1.1)].
    """
    return CEILING_H * surface_share ** (CEILING_EXPONENT - 1.0) / (
        1.0 + (CEILING_EXPONENT - 1.0) * (1.0 - surface_share))


@elementwise
def ceiling_on_water_W_m2K(difference_K, steady_W_m2K, rising_W_m2K):
    """Coefficient of a cooled ceiling at the surface that its water brings about.

    Parameters
    ----------
    difference_K : float or array
        From room to supply water [K], above 0.
    steady_W_m2K, rising_W_m2K : float or array
        Of `ceiling_steady_W_m2K` and `ceiling_rising_W_m2K` at the ceiling's flow.

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)], within 0.1 % of that at the mean surface.

    Notes
    -----
    The surface follows from h, and h from the surface to the power 0.1. One Newton step from h0, that at 4 K: with s
    the surface's distance to the room as a share of the supply's, a part x more of h takes (1 - s) x off it, so that
    h = h0 + (8.92 (s D)^0.1 - h0)/(1 + 0.1 (1 - s)). At one flow only D changes.
    """
    return steady_W_m2K + rising_W_m2K * difference_K ** (CEILING_EXPONENT - 1.0)


@elementwise
def ceiling_at_flux_W_m2K(flux_W_m2):
    """Coefficient of a cooled ceiling that takes up a known flux.

    Parameters
    ----------
    flux_W_m2 : float or array
        Heat per area [W/m2], above 0.

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].

    References
    ----------
    EN 1264-2, ISO 11855-2: q = 8.92 |dT|^1.1, solved for q/dT.
    """
    return flux_W_m2 / (flux_W_m2 / CEILING_H) ** (1.0 / CEILING_EXPONENT)


@elementwise
def panel_limit_W(t_room_C, area_m2, h_W_m2K, t_surface_min_C):
    """Heat that a cooled floor or ceiling takes up with its surface at the lowest temperature allowed.

    Parameters
    ----------
    t_room_C, area_m2, h_W_m2K, t_surface_min_C : float or array
        See `panel_capacity_W`; h at that surface.

    Returns
    -------
    float or array
        Heat [W]; negative where the room is colder than that.
    """
    return area_m2 * h_W_m2K * (t_room_C - t_surface_min_C)


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
    return max(0.0, min(unit_W_K * (t_room_C - t_supply_C),
                        panel_limit_W(t_room_C, area_m2, h_W_m2K, t_surface_min_C)))


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
