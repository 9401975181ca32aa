"""Moist air: saturation, humidity, wet bulb, transport properties. Celsius, pascal, fractions."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    CP_DRY_AIR,
    CP_VAPOUR,
    DIFFUSIVITY_0,
    DIFFUSIVITY_EXPONENT,
    KELVIN,
    MASS_RATIO,
    R_DRY_AIR,
    SATURATION_MIDDLE_C,
    SATURATION_ROOT,
    STANDARD_PRESSURE,
    VIRTUAL_FACTOR,
)

_R0, _R1, _R2, _R3, _R4, _R5, _R6, _R7 = SATURATION_ROOT


@elementwise
def saturation_over_water_Pa(t_C):
    """Saturation pressure of water vapour over liquid water, supercooled below 0 degC, by a polynomial.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], -40 to 80.

    Returns
    -------
    float or array
        Pressure [Pa], within 1e-9 of the print from 0 to 60 degC, 3e-6 to -20 and 80, 1e-4 to -40.

    References
    ----------
    Eighth root of Hyland & Wexler 1983 (see `saturation_pressure_Pa`), liquid branch, fitted from 0 to 60 degC.
    """
    s = t_C - SATURATION_MIDDLE_C
    root = _R0 + s * (_R1 + s * (_R2 + s * (_R3 + s * (_R4 + s * (_R5 + s * (_R6 + s * _R7))))))
    fourth = root * root * root * root
    return fourth * fourth


@elementwise
def saturation_pressure_Pa(t_C):
    """Saturation pressure of water vapour, over ice below 0 degC.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], -60 to 100.

    Returns
    -------
    float or array
        Pressure [Pa].

    References
    ----------
    Hyland & Wexler 1983, as printed in ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. 5 and 6.

    Notes
    -----
    From 0 to 60 degC, where the time loop asks, the eighth root is laid as a polynomial: within 1e-9 of the print,
    without its exponential and logarithm.
    """
    if 0.0 <= t_C <= 60.0:
        return saturation_over_water_Pa(t_C)
    t_K = t_C + KELVIN
    if t_C < 0.0:
        return math.exp(
            -5.6745359e3 / t_K + 6.3925247 - 9.677843e-3 * t_K + 6.2215701e-7 * t_K**2
            + 2.0747825e-9 * t_K**3 - 9.484024e-13 * t_K**4 + 4.1635019 * math.log(t_K)
        )
    return math.exp(
        -5.8002206e3 / t_K + 1.3914993 - 4.8640239e-2 * t_K + 4.1764768e-5 * t_K * t_K
        - 1.4452093e-8 * t_K * t_K * t_K + 6.5459673 * math.log(t_K)
    )


@elementwise
def saturation_slope_1_K(t_C):
    """Relative slope of the saturation pressure over water, d(ln p)/dT.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], -20 to 100.

    Returns
    -------
    float or array
        Slope [1/K].

    References
    ----------
    Derivative of Hyland & Wexler 1983 (see `saturation_pressure_Pa`), liquid branch.
    """
    t_K = t_C + KELVIN
    per_K = 1.0 / t_K
    return ((5.8002206e3 * per_K + 6.5459673) * per_K - 4.8640239e-2
            + (8.3529536e-5 - 4.3356279e-8 * t_K) * t_K)


@elementwise
def humidity_ratio(p_vapour_Pa, pressure_Pa):
    """Humidity ratio, kg vapour per kg dry air.

    Parameters
    ----------
    p_vapour_Pa, pressure_Pa : float or array
        Vapour and total pressure [Pa]; vapour below total.

    Returns
    -------
    float or array
        Ratio [kg/kg].

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20.
    """
    return MASS_RATIO * p_vapour_Pa / (pressure_Pa - p_vapour_Pa)


@elementwise
def vapour_mass_fraction(p_vapour_Pa, pressure_Pa):
    """Specific humidity, kg vapour per kg moist air.

    Parameters
    ----------
    p_vapour_Pa, pressure_Pa : float or array
        Vapour and total pressure [Pa].

    Returns
    -------
    float or array
        Mass fraction [kg/kg].

    References
    ----------
    From the ideal-gas mixture, as `humidity_ratio`.
    """
    return MASS_RATIO * p_vapour_Pa / (pressure_Pa - (1.0 - MASS_RATIO) * p_vapour_Pa)


@elementwise
def dew_point_C(p_vapour_Pa):
    """Dew point over water (frost point below 0 degC) of a vapour pressure.

    Parameters
    ----------
    p_vapour_Pa : float or array
        Vapour pressure [Pa], 2 to 20 000.

    Returns
    -------
    float or array
        Dew point [degC].

    Notes
    -----
    Newton steps on ln p of `saturation_pressure_Pa`, started from the Magnus form of Alduchov & Eskridge 1996.
    """
    target = math.log(p_vapour_Pa)
    a = target - math.log(610.94)
    t_C = 243.04 * a / (17.625 - a)
    for _ in range(20):
        value = math.log(saturation_pressure_Pa(t_C))
        slope = (math.log(saturation_pressure_Pa(t_C + 0.01)) - value) / 0.01
        step = (target - value) / slope
        t_C += step
        if abs(step) < 1e-9:
            break
    return t_C


@elementwise
def wet_bulb_C(t_air_C, w_air, pressure_Pa):
    """Thermodynamic wet bulb.

    Parameters
    ----------
    t_air_C : float or array
        Air temperature [degC], -40 to 60.
    w_air : float or array
        Humidity ratio [kg/kg dry air].
    pressure_Pa : float or array
        Total pressure [Pa].

    Returns
    -------
    float or array
        Wet-bulb temperature [degC].

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. 33 (water) and 35 (ice), solved by bisection.
    """
    low, high = t_air_C - 60.0, t_air_C
    for _ in range(60):
        t_C = 0.5 * (low + high)
        p_sat = saturation_pressure_Pa(t_C)
        w_sat = MASS_RATIO * p_sat / (pressure_Pa - p_sat)
        if t_C >= 0.0:
            w = ((2501.0 - 2.326 * t_C) * w_sat - 1.006 * (t_air_C - t_C)) / (2501.0 + 1.86 * t_air_C - 4.186 * t_C)
        else:
            w = ((2830.0 - 0.24 * t_C) * w_sat - 1.006 * (t_air_C - t_C)) / (2830.0 + 1.86 * t_air_C - 2.1 * t_C)
        if w > w_air:
            high = t_C
        else:
            low = t_C
    return 0.5 * (low + high)


@elementwise
def air_density_kg_m3(t_C, mass_fraction, pressure_Pa):
    """Density of moist air, by its virtual temperature.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC].
    mass_fraction : float or array
        Vapour mass fraction [kg/kg moist air].
    pressure_Pa : float or array
        Total pressure [Pa].

    Returns
    -------
    float or array
        Density [kg/m3].
    """
    return pressure_Pa / (R_DRY_AIR * virtual_temperature_K(t_C, mass_fraction))


@elementwise
def virtual_temperature_K(t_C, mass_fraction):
    """Virtual temperature: that of dry air as light as the moist air.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC].
    mass_fraction : float or array
        Vapour mass fraction [kg/kg moist air].

    Returns
    -------
    float or array
        Virtual temperature [K].
    """
    return (t_C + KELVIN) * (1.0 + VIRTUAL_FACTOR * mass_fraction)


@elementwise
def air_heat_capacity_J_kgK(mass_fraction):
    """Heat capacity of moist air per kg of mixture.

    Parameters
    ----------
    mass_fraction : float or array
        Vapour mass fraction [kg/kg moist air].

    Returns
    -------
    float or array
        Heat capacity [J/(kg K)].
    """
    return CP_DRY_AIR + mass_fraction * (CP_VAPOUR - CP_DRY_AIR)


@elementwise
def air_viscosity_Pa_s(t_C):
    """Dynamic viscosity of air (Sutherland 1893; constants 1.458e-6 and 110.4 K of the US Standard Atmosphere 1976).

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], -50 to 100.

    Returns
    -------
    float or array
        Viscosity [Pa s].
    """
    t_K = t_C + KELVIN
    return 1.458e-6 * t_K**1.5 / (t_K + 110.4)


@elementwise
def air_conductivity_W_mK(t_C):
    """Thermal conductivity of air (US Standard Atmosphere 1976, eq. 53).

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], -50 to 100.

    Returns
    -------
    float or array
        Conductivity [W/(m K)].
    """
    t_K = t_C + KELVIN
    return 2.64638e-3 * t_K**1.5 / (t_K + 245.4 * 10.0 ** (-12.0 / t_K))


@elementwise
def vapour_diffusivity_m2_s(t_C, pressure_Pa):
    """Diffusivity of water vapour in air.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], 9 to 100 in the source, used from -20.
    pressure_Pa : float or array
        Total pressure [Pa].

    Returns
    -------
    float or array
        Diffusivity [m2/s].

    References
    ----------
    Marrero & Mason 1972, J. Phys. Chem. Ref. Data 1:3 (from memory).
    """
    return DIFFUSIVITY_0 * (t_C + KELVIN) ** DIFFUSIVITY_EXPONENT * STANDARD_PRESSURE / pressure_Pa


@elementwise
def lewis_number(t_C, mass_fraction, pressure_Pa):
    """Lewis number: thermal diffusivity of moist air over vapour diffusivity.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC].
    mass_fraction : float or array
        Vapour mass fraction [kg/kg moist air].
    pressure_Pa : float or array
        Total pressure [Pa].

    Returns
    -------
    float or array
        Lewis number [1].
    """
    density = air_density_kg_m3(t_C, mass_fraction, pressure_Pa)
    diffusivity = air_conductivity_W_mK(t_C) / (density * air_heat_capacity_J_kgK(mass_fraction))
    return diffusivity / vapour_diffusivity_m2_s(t_C, pressure_Pa)
