"""The largest cooling that a night's weather allows: what a meter may say before its flow or area must be doubted.

A bound is not an estimate: the coldest sky of any formula less its doubt, a black surface wet all over, the largest
convection of any rival, and water as warm as it was at its warmest.
"""

from __future__ import annotations

import numpy as np

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import BOUND_DROP_FACTOR, BOUND_EMISSIVITY_SD, CP_WATER, KELVIN, VIRTUAL_FACTOR
from sprayroof.physics.convection_rivals import CONVECTION
from sprayroof.physics.droplets import flight
from sprayroof.physics.film import wet_surface
from sprayroof.physics.sky import CLEAR_SKY, black_flux_W_m2

BOUND_SLICES = 60


@elementwise
def net_longwave_W_m2(t_surface_C, t_air_C, emissivity, emissivity_sky_frac):
    """Long-wave loss of a level surface to the sky.

    Parameters
    ----------
    t_surface_C, t_air_C : float or array
        Surface and air [degC].
    emissivity : float or array
        Of the surface [1].
    emissivity_sky_frac : float or array
        Of the sky, clouds within [1].

    Returns
    -------
    float or array
        Flux [W/m2]. With water at air temperature 118 to 130 dry and clear, about 85 temperate, about 40 in the humid
        tropics, 5 to 30 overcast.
    """
    return emissivity * (black_flux_W_m2(t_surface_C) - emissivity_sky_frac * black_flux_W_m2(t_air_C))


def coldest_sky_frac(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Lowest clear-sky emissivity of all formulas, less twice their doubt.

    Parameters
    ----------
    t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h : float or array
        See `sky.sky_emissivity_berdahl_martin` [degC, degC, Pa, Pa, h].

    Returns
    -------
    float or array
        Emissivity [1], 0 or more.
    """
    all_of_them = [formula(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h) for formula in CLEAR_SKY.values()]
    return np.maximum(0.0, np.minimum.reduce(all_of_them) - 2.0 * BOUND_EMISSIVITY_SD)


def largest_forced_W_m2K(wind_roof_m_s, wind_10m_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Largest forced coefficient of all rivals, each at the wind it asks for and with its median factor.

    Parameters
    ----------
    wind_roof_m_s, wind_10m_m_s : float or array
        Wind over the roof and at 10 m [m/s].
    length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor : float or array
        See `convection_rivals.convection_plate_W_m2K` [m, W/(m K), m2/s, 1].

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].
    """
    winds = {"roof": wind_roof_m_s, "10 m": wind_10m_m_s}
    return np.maximum.reduce([
        rival.factor_median * rival.function(winds[rival.wind], length_m, conductivity_W_mK, viscosity_m2_s,
                                             roughness_factor)
        for rival in CONVECTION.values()])


@compiled
def roof_bound_W_m2(t_water_C, t_air_C, w_air, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
                    emissivity_sky_frac):
    """Largest flux of a square metre of roof.

    Parameters
    ----------
    t_water_C : float
        Warmest water of the night [degC].
    t_air_C, w_air, pressure_Pa : float
        Air: temperature [degC], vapour mass fraction [kg/kg], pressure [Pa].
    forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp : float
        Convection, see `film.wet_surface`; forced the largest of the rivals [W/(m2 K)].
    emissivity_sky_frac : float
        Of the coldest sky [1].

    Returns
    -------
    float
        Flux [W/m2]; negative where even this water could only be warmed.

    Notes
    -----
    Where air would warm the water, no air at all is the better case: only what it could take is counted.
    """
    tv_air_K = (t_air_C + KELVIN) * (1.0 + VIRTUAL_FACTOR * w_air)
    convection, evaporation, longwave, latent, _ = wet_surface(
        t_water_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
        1.0, emissivity_sky_frac * black_flux_W_m2(t_air_C))
    return max(0.0, convection + evaporation * latent) + longwave


@compiled
def sheet_bound_W_m2(feed_kg_m2s, t_water_C, t_air_C, w_air, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
                     lewis_per_cp, emissivity_sky_frac):
    """Largest heat that running water can give off, since it cools on its way and gives off less and less.

    Parameters
    ----------
    feed_kg_m2s : float
        Water fed per roof area [kg/(m2 s)], above 0.
    others
        See `roof_bound_W_m2`.

    Returns
    -------
    float
        Heat per roof area [W/m2], 0 or more, at most that of `roof_bound_W_m2`.

    Notes
    -----
    All water from the ridge (the way that gives off most), the roof wet all over, no flow lost to vapour. Slice by
    slice with the flux at the slice's upper end, which is its largest: the error is on the safe side.
    """
    t_C, heat_W_m2 = t_water_C, 0.0
    for _ in range(BOUND_SLICES):
        flux = roof_bound_W_m2(t_C, t_air_C, w_air, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
                               lewis_per_cp, emissivity_sky_frac)
        if flux <= 0.0:
            break
        heat_W_m2 += flux / BOUND_SLICES
        t_C -= flux / (BOUND_SLICES * feed_kg_m2s * CP_WATER)
    return heat_W_m2


@compiled
def drops_bound_W_m2(feed_kg_m2s, t_water_C, exchange_J_kgK, t_air_C, w_air, pressure_Pa, lewis_per_cp):
    """Largest flux of the drops over a square metre of roof, on top of that of the roof itself.

    Parameters
    ----------
    feed_kg_m2s : float
        Water sprayed per roof area [kg/(m2 s)].
    t_water_C : float
        Warmest water of the night [degC].
    exchange_J_kgK : float
        Exchange of the mean drop, from `droplets.fall` or `throw.throw` [J/(kg K)].
    t_air_C, w_air, pressure_Pa, lewis_per_cp : float
        Air, see `film.wet_surface` [degC, kg/kg, Pa, kg K/J].

    Returns
    -------
    float
        Flux [W/m2], 0 or more, with twice the exchange of the mean drop.
    """
    sensible, _, latent, _ = flight(t_water_C, BOUND_DROP_FACTOR * exchange_J_kgK, t_air_C, w_air, pressure_Pa,
                                    lewis_per_cp)
    return feed_kg_m2s * max(0.0, sensible + latent)


def night_bound_kWh(flux_W_m2, area_m2, step_s):
    """Largest cooling of a night from the largest flux of its steps.

    Parameters
    ----------
    flux_W_m2 : (steps,) array
        Roof and drops together [W/m2], of the steps in which water ran.
    area_m2 : float
        Whole roof area sprayed [m2].
    step_s : float
        Step [s].

    Returns
    -------
    float
        Heat [kWh]: steps that could only warm count as 0, since a controller would not have run.
    """
    return float(np.maximum(0.0, np.asarray(flux_W_m2, dtype=float)).sum() * area_m2 * step_s / 3.6e6)
