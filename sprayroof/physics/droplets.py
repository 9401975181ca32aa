"""Drops between nozzle and roof: how they fall, and how much heat and water they lose on the way; drift."""

from __future__ import annotations

import math

from sprayroof.physics.approach import mean_left_frac
from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CP_WATER,
    DRAG_A,
    DRAG_EXPONENT,
    DRAG_NEWTON,
    DRAG_STOKES,
    DRIFT_CALM_WIND,
    DROP_VAPOUR_FACTOR,
    GRAVITY,
    LATENT_SLOPE,
    MASS_RATIO,
    PRANDTL_AIR,
    RHO_WATER,
    RM_BASE,
    RM_FACTOR,
    SATURATION_BEND_1_K,
)
from sprayroof.physics.film import blown
from sprayroof.physics.moistair import saturation_pressure_Pa, saturation_slope_1_K
from sprayroof.physics.water import latent_heat_J_kg

FLIGHT_PASSES = 12
FLIGHT_STEP_K = 0.4
LEAST_EXCHANGE_J_kgK = 1e-6


@elementwise
def drag_coefficient(reynolds):
    """Drag coefficient of a sphere.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number on the diameter [1], above 0.

    Returns
    -------
    float or array
        Coefficient [1].

    References
    ----------
    Schiller & Naumann 1935 up to Re 1000, 0.44 beyond.
    """
    return max(DRAG_NEWTON, DRAG_STOKES / reynolds * (1.0 + DRAG_A * reynolds**DRAG_EXPONENT))


@elementwise
def nusselt_ranz_marshall(reynolds):
    """Nusselt number of a drop.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number on the diameter [1].

    Returns
    -------
    float or array
        Number [1].

    References
    ----------
    Ranz & Marshall 1952: 2 + 0.6 Re^(1/2) Pr^(1/3).
    """
    return RM_BASE + RM_FACTOR * math.sqrt(reynolds) * PRANDTL_AIR ** (1.0 / 3.0)


@compiled
def fall(diameter_m, height_m, air_density_kg_m3, viscosity_m2_s, conductivity_W_mK):
    """A drop falling from rest in still air.

    Parameters
    ----------
    diameter_m, height_m : float
        Diameter and height fallen [m].
    air_density_kg_m3, viscosity_m2_s, conductivity_W_mK : float
        Of the air: density [kg/m3], kinematic viscosity [m2/s], conductivity [W/(m K)].

    Returns
    -------
    tuple of float
        Time [s], speed at the end [m/s], and the exchange on the way: the integral of h A / m over the flight
        [J/(kg K)].

    Notes
    -----
    Midpoint steps of 1/400 of the free-fall time, at most 200 000.
    """
    dt = math.sqrt(2.0 * height_m / GRAVITY) / 400.0
    ratio = 0.75 * air_density_kg_m3 / (RHO_WATER * diameter_m)
    buoyant = GRAVITY * (1.0 - air_density_kg_m3 / RHO_WATER)
    time = speed = fallen = exchange = 0.0
    for _ in range(200_000):
        reynolds = max(speed, 1e-6) * diameter_m / viscosity_m2_s
        middle = speed + 0.5 * dt * (buoyant - ratio * drag_coefficient(reynolds) * speed * speed)
        reynolds = max(middle, 1e-6) * diameter_m / viscosity_m2_s
        acceleration = buoyant - ratio * drag_coefficient(reynolds) * middle * middle
        part = min(1.0, (height_m - fallen) / (middle * dt))
        exchange += part * dt * 6.0 * nusselt_ranz_marshall(reynolds) * conductivity_W_mK / (RHO_WATER * diameter_m**2)
        time += part * dt
        speed += part * dt * acceleration
        fallen += part * dt * middle
        if part < 1.0:
            break
    return time, speed, exchange


@compiled
def flight(t_in_C, exchange_J_kgK, t_air_C, w_air, pressure_Pa, lewis_per_cp):
    """Heat and water lost by drops whose exchange on the way is known, found from the nozzle's temperature.

    Parameters
    ----------
    t_in_C, exchange_J_kgK, t_air_C, w_air, pressure_Pa, lewis_per_cp : float
        See `flight_from` [degC, J/(kg K), degC, kg/kg, Pa, kg K/J].

    Returns
    -------
    tuple of float
        See `flight_from` [J/kg, kg/kg, J/kg, degC].
    """
    return flight_from(t_in_C, t_in_C, exchange_J_kgK, t_air_C, w_air, pressure_Pa, lewis_per_cp)


@compiled
def flight_from(t_in_C, t_start_C, exchange_J_kgK, t_air_C, w_air, pressure_Pa, lewis_per_cp):
    """Heat and water lost by drops whose exchange on the way is known.

    Parameters
    ----------
    t_in_C : float
        Drops at the nozzle [degC].
    t_start_C : float
        First guess of their mean temperature on the way [degC].
    exchange_J_kgK : float
        Integral of h A / m over the flight, pre-cooling of the air included [J/(kg K)].
    t_air_C, w_air, pressure_Pa, lewis_per_cp : float
        Air, see `film.wet_surface`.

    Returns
    -------
    tuple of float
        Sensible heat [J/kg], evaporated share [kg/kg], latent heat [J/kg of water], mean temperature [degC].

    Notes
    -----
    The same exponential approach as a ridge-fed sheet: the flux is taken at the mean temperature, with what its bend
    over the way adds; the last small step is taken along the slopes. Vapour goes by the Sherwood number of Ranz &
    Marshall, whose part of still air follows the Lewis number itself (`DROP_VAPOUR_FACTOR`).
    """
    if exchange_J_kgK < LEAST_EXCHANGE_J_kgK:
        return 0.0, 0.0, 0.0, t_in_C
    mean, exchange_kg = t_start_C, exchange_J_kgK * lewis_per_cp * DROP_VAPOUR_FACTOR
    sensible = vapour = latent = 0.0
    for _ in range(FLIGHT_PASSES):
        p_sat, relative_slope = saturation_pressure_Pa(mean), saturation_slope_1_K(mean)
        dry, rest = pressure_Pa - (1.0 - MASS_RATIO) * p_sat, pressure_Pa - p_sat
        latent_heat = latent_heat_J_kg(mean)
        vapour = exchange_kg * blown(MASS_RATIO * p_sat - w_air * dry, rest)
        sensible = exchange_J_kgK * (mean - t_air_C)
        latent = vapour * latent_heat
        vapour_slope = exchange_kg * MASS_RATIO * p_sat * relative_slope * pressure_Pa / (dry * rest)
        latent_slope = vapour_slope * latent_heat + vapour * LATENT_SLOPE
        slope = exchange_J_kgK + latent_slope
        n = slope / CP_WATER
        settled = mean - (sensible + latent) / slope
        kept = mean_left_frac(n)
        step = settled + (t_in_C - settled) * kept - mean
        mean += step
        if abs(step) < FLIGHT_STEP_K:
            # the vapour's flux bends upwards, so its mean over the way is above that at the mean temperature
            excess = t_in_C - settled
            bend = 0.5 * vapour_slope * (relative_slope - SATURATION_BEND_1_K) * kept
            more = bend * excess * excess * kept * (1.0 - 0.5 * n * kept - kept)
            sensible += exchange_J_kgK * step
            vapour += vapour_slope * step + more
            latent += latent_slope * step + more * latent_heat
            break
    return sensible, vapour, latent, mean


@elementwise
def drift_share(wind_m_s, drift_base, drift_wind_s2_m2):
    """Share of the sprayed water that wind carries off the roof as drops, apart from evaporation.

    Parameters
    ----------
    wind_m_s : float or array
        Wind at roof height [m/s].
    drift_base : float or array
        d0, share in calm [1].
    drift_wind_s2_m2 : float or array
        d1, share per square of the wind above 1 m/s [s2/m2].

    Returns
    -------
    float or array
        Share [1], at most 0.5.

    Notes
    -----
    d0 + d1 max(0, U - 1)^2, a prior form of this project for coarse, low-angle sprays; published wind-drift fits of
    irrigation already contain evaporation and must not be added to it.
    """
    excess = max(0.0, wind_m_s - DRIFT_CALM_WIND)
    return min(0.5, drift_base + drift_wind_s2_m2 * excess * excess)
