"""Liquid water: latent heat, transport properties, enthalpy."""

from __future__ import annotations

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    CP_WATER,
    CRITICAL_WATER_K,
    DENSITY_WATER,
    HEAT_CAPACITY_WATER,
    KELVIN,
    LATENT_0,
    LATENT_SLOPE,
    TENSION_WATER,
    TENSION_WATER_EXPONENT,
    TENSION_WATER_SLOPE,
    VISCOSITY_WATER,
)

_D0, _D1, _D2, _D3, _D4 = DENSITY_WATER
_C0, _C1, _C2, _C3, _C4 = HEAT_CAPACITY_WATER
(_V0, _P0), (_V1, _P1), (_V2, _P2), (_V3, _P3) = VISCOSITY_WATER


@elementwise
def latent_heat_J_kg(t_C):
    """Latent heat of evaporation.

    Parameters
    ----------
    t_C : float or array
        Water temperature [degC], 0 to 50 (within 0.05 %).

    Returns
    -------
    float or array
        Latent heat [J/kg].

    References
    ----------
    Line through the IAPWS-95 values at 10, 20 and 30 degC: 2477.2, 2453.5, 2429.8 kJ/kg.
    """
    return LATENT_0 + LATENT_SLOPE * t_C


@elementwise
def water_heat_J(mass_kg, t_C):
    """Heat content of liquid water above 0 degC.

    Parameters
    ----------
    mass_kg : float or array
        Mass [kg].
    t_C : float or array
        Temperature [degC].

    Returns
    -------
    float or array
        Heat [J].
    """
    return mass_kg * CP_WATER * t_C


@elementwise
def water_density_kg_m3(t_C):
    """Density of liquid water at atmospheric pressure, for readings of meters.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], 0 to 40.

    Returns
    -------
    float or array
        Density [kg/m3].

    References
    ----------
    Tanaka et al. 2001, eq. 1: a5 (1 - (t + a1)^2 (t + a2) / (a3 (t + a4))).
    """
    return _D0 * (1.0 - (t_C - _D1) ** 2 * (t_C + _D2) / (_D3 * (t_C + _D4)))


@elementwise
def water_heat_capacity_J_kgK(t_C):
    """Heat capacity of liquid water at atmospheric pressure, for readings of meters.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], 1 to 45.

    Returns
    -------
    float or array
        Heat capacity [J/(kg K)], within 0.15 of IAPWS-95.

    Notes
    -----
    A polynomial of the fourth order in t - 20 degC.
    """
    s = t_C - 20.0
    return _C0 + s * (_C1 + s * (_C2 + s * (_C3 + s * _C4)))


@elementwise
def water_viscosity_Pa_s(t_C):
    """Dynamic viscosity of liquid water at atmospheric pressure.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], 0 to 100.

    Returns
    -------
    float or array
        Viscosity [Pa s].

    References
    ----------
    Patek et al. 2009 (IAPWS SR6): sum of a_i (T/300 K)^b_i.
    """
    ratio = (t_C + KELVIN) / 300.0
    return 1e-6 * (_V0 * ratio**_P0 + _V1 * ratio**_P1 + _V2 * ratio**_P2 + _V3 * ratio**_P3)


@elementwise
def water_tension_N_m(t_C):
    """Surface tension of clean water; dirt and treatment lower it.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], 0 to 370.

    Returns
    -------
    float or array
        Tension [N/m].

    References
    ----------
    IAPWS R1-76 (2014): 0.2358 s^1.256 (1 - 0.625 s), s = 1 - T/647.096 K.
    """
    s = 1.0 - (t_C + KELVIN) / CRITICAL_WATER_K
    return TENSION_WATER * s**TENSION_WATER_EXPONENT * (1.0 + TENSION_WATER_SLOPE * s)
