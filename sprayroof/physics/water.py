"""Liquid water: latent heat, transport properties, enthalpy."""

from __future__ import annotations

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import CP_WATER, LATENT_0, LATENT_SLOPE


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
