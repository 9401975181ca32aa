"""Air, sky and drops of the invented truth, by other formulas than the package uses.

Vapour pressure after Tetens, clear sky after Brutsaert with a squared cloud term, a wind function of the small-plate
form scaled to a large roof, one Lewis number of 1, drops stepped explicitly with Frössling's coefficients.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from pack_config import CP_J_kgK, RHO_kg_m3

SIGMA_W_m2K4 = 5.670374e-8
CP_AIR_J_kgK = 1010.0
DROP_STEPS = 8


@njit
def vapour_Pa(t_C):
    """Saturation vapour pressure."""
    return 610.78 * np.exp(17.27 * t_C / (t_C + 237.3))


@njit
def dew_C(vapour):
    """Temperature at which a vapour pressure [Pa] saturates."""
    x = np.log(vapour / 610.78)
    return 237.3 * x / (17.27 - x)


@njit
def mixing_kg_kg(vapour, air_Pa):
    """Vapour per dry air."""
    return 0.622 * vapour / (air_Pa - vapour)


@njit
def latent_J_kg(t_C):
    """Heat of evaporation."""
    return 2.501e6 - 2361.0 * t_C


@njit
def sky_W_m2(air_C, vapour, cloud):
    """Long-wave from the sky."""
    kelvin = air_C + 273.15
    clear = 1.24 * (0.01 * vapour / kelvin) ** (1.0 / 7.0)
    return min(1.0, clear * (1.0 + 0.22 * cloud * cloud)) * SIGMA_W_m2K4 * kelvin ** 4


@njit
def convection_W_m2K(scale, wind_m_s, lighter_K):
    """Wind function, and rising air where the film is warmer than the air."""
    return scale * (5.7 + 3.1 * wind_m_s) + 1.5 * max(lighter_K, 0.0) ** (1.0 / 3.0)


@njit
def flight(t_C, air_C, vapour, plant):
    """A kilogram of drops on its way to the roof: landing temperature, mass left, heat to air, latent heat [J]."""
    diameter = 0.001 * plant.drop_mm
    reynolds = plant.drop_m_s * diameter / 1.5e-5
    h = (2.0 + 0.552 * np.sqrt(reynolds) * 0.89) * 0.0257 / diameter * plant.drop_air_frac
    area_m2 = 6.0 / (RHO_kg_m3 * diameter)
    w_air = mixing_kg_kg(vapour, plant.air_Pa)
    step_s = plant.flight_s / DROP_STEPS
    mass, sensible_sum, latent_sum = 1.0, 0.0, 0.0
    for _ in range(DROP_STEPS):
        w_drop = mixing_kg_kg(vapour_Pa(t_C), plant.air_Pa)
        lost = h / CP_AIR_J_kgK * area_m2 * (w_drop - w_air) * step_s
        sensible, latent = h * area_m2 * (t_C - air_C) * step_s, lost * latent_J_kg(t_C)
        heat = mass * CP_J_kgK * t_C - sensible - latent - lost * CP_J_kgK * t_C
        mass -= lost
        t_C = heat / (mass * CP_J_kgK)
        sensible_sum += sensible
        latent_sum += latent
    return t_C, mass, sensible_sum, latent_sum
