"""Humidity and pressure of outdoor air as weather files give them: conversions at the rim.

The model's own moist-air functions are in `sprayroof.physics`; here only what turns one reported column into another.
"""

from __future__ import annotations

import numpy as np

# Alduchov & Eskridge 1996, J. Appl. Meteorol. 35:601, eq. 21 (over water, -40..50 degC, within 0.4 %).
# Weather services report humidity and dew point over water below 0 degC too.
MAGNUS_A = 17.625
MAGNUS_B_C = 243.04
MAGNUS_E0_PA = 610.94
PSYCHROMETER_1_K = 0.000662

GRAVITY_M_S2 = 9.80665  # ISO 2533
GAS_DRY_AIR_J_KGK = 287.05287  # ISO 2533
LAPSE_K_M = 0.0065  # ISO 2533, below 11 km
SEA_LEVEL_PA = 101325.0  # ISO 2533
SEA_LEVEL_K = 288.15  # ISO 2533


def saturation_Pa(t_C: np.ndarray) -> np.ndarray:
    """Saturation vapour pressure over water [Pa] at `t_C` [degC, -40..60]."""
    return MAGNUS_E0_PA * np.exp(MAGNUS_A * t_C / (MAGNUS_B_C + t_C))


def humidity_from_dew(t_air_C: np.ndarray, t_dew_C: np.ndarray) -> np.ndarray:
    """Relative humidity [0..1] of air at `t_air_C` with dew point `t_dew_C` [degC]."""
    return saturation_Pa(t_dew_C) / saturation_Pa(t_air_C)


def dew_from_humidity(t_air_C: np.ndarray, humidity_frac: np.ndarray) -> np.ndarray:
    """Dew point [degC] of air at `t_air_C` [degC] and `humidity_frac` (0..1; below 0.005 taken as 0.005)."""
    exponent = np.log(np.maximum(humidity_frac, 0.005)) + MAGNUS_A * t_air_C / (MAGNUS_B_C + t_air_C)
    return MAGNUS_B_C * exponent / (MAGNUS_A - exponent)


def dew_from_wet_bulb(t_air_C: np.ndarray, t_wet_C: np.ndarray, pressure_Pa: np.ndarray) -> np.ndarray:
    """Dew point [degC] from a ventilated wet bulb `t_wet_C` over water.

    Psychrometer equation e = e_s(t_wet) - A p (t_air - t_wet), A = 0.000662 1/K (FAO Irrigation and Drainage Paper 56,
    eq. 15-16, ventilated at 5 m/s). NaN where the two temperatures leave no vapour at all.
    """
    vapour_Pa = saturation_Pa(t_wet_C) - PSYCHROMETER_1_K * pressure_Pa * (t_air_C - t_wet_C)
    with np.errstate(invalid="ignore", divide="ignore"):
        exponent = np.log(np.where(vapour_Pa > 0.0, vapour_Pa, np.nan) / MAGNUS_E0_PA)
    return MAGNUS_B_C * exponent / (MAGNUS_A - exponent)


def pressure_at_height(pressure_Pa: np.ndarray, t_air_C: np.ndarray, rise_m: float) -> np.ndarray:
    """Pressure `rise_m` above the place where `pressure_Pa` and `t_air_C` were read.

    Parameters
    ----------
    pressure_Pa, t_air_C : ndarray
        At the station [Pa, degC].
    rise_m : float
        Height of the wanted place above the station [m], -3000..3000.

    Returns
    -------
    ndarray
        Pressure at the wanted place [Pa].

    Notes
    -----
    Hypsometric equation, p = p0 exp(-g dz / (R T)), with T the air temperature at half the height by the standard
    lapse rate. Humidity is left out: over 300 m at 30 degC and 80 % it changes the pressure by 0.05 %.
    """
    middle_K = np.asarray(t_air_C) + 273.15 - LAPSE_K_M * rise_m / 2.0
    return pressure_Pa * np.exp(-GRAVITY_M_S2 * rise_m / (GAS_DRY_AIR_J_KGK * middle_K))


def standard_pressure_Pa(elevation_m: float) -> float:
    """Pressure of the standard atmosphere (ISO 2533) at `elevation_m` [m, -1000..11000]."""
    exponent = GRAVITY_M_S2 / (GAS_DRY_AIR_J_KGK * LAPSE_K_M)
    return SEA_LEVEL_PA * (1.0 - LAPSE_K_M * elevation_m / SEA_LEVEL_K) ** exponent
