"""Heat transfer from a wet roof to the air, and the wind it feels."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    GRAVITY,
    NATURAL_UNSTABLE,
    PLATE_COEFFICIENT,
    PLATE_RE_EXPONENT,
    PRANDTL_AIR,
    WALTON_STABLE,
    WALTON_STABLE_TILT,
    WIND_CITY_ALPHA,
    WIND_CITY_DELTA,
    WIND_MET_ALPHA,
    WIND_MET_DELTA,
    WIND_SUBURB_ALPHA,
    WIND_SUBURB_DELTA,
)
from sprayroof.physics.roots import cube_root

MIXED_OVER, MIXED_UNDER, MIXED_LIMIT = 0.4946, 0.1871, 4.0

TERRAINS = {
    "open": (WIND_MET_ALPHA, WIND_MET_DELTA),
    "suburb": (WIND_SUBURB_ALPHA, WIND_SUBURB_DELTA),
    "city": (WIND_CITY_ALPHA, WIND_CITY_DELTA),
}


@elementwise
def wind_profile_ratio(height_m, alpha, delta_m, met_height_m, met_alpha, met_delta_m):
    """Wind at a height over the site's terrain, relative to the weather station's reading.

    Parameters
    ----------
    height_m, met_height_m : float or array
        Height of the roof and of the station's anemometer [m].
    alpha, met_alpha : float or array
        Exponents of the profile at site and station [1].
    delta_m, met_delta_m : float or array
        Boundary-layer thickness at site and station [m].

    Returns
    -------
    float or array
        Ratio [1].

    References
    ----------
    ASHRAE Handbook Fundamentals, airflow around buildings: V = V_met (d_met/z_met)^a_met (z/d)^a.
    """
    return (met_delta_m / met_height_m) ** met_alpha * (height_m / delta_m) ** alpha


@elementwise
def plate_turbulent_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s):
    """Forced convection over a flat plate, turbulent from the leading edge.

    Parameters
    ----------
    wind_m_s : float or array
        Wind over the surface [m/s], 0 or more.
    length_m : float or array
        Length along the wind [m].
    conductivity_W_mK : float or array
        Conductivity of air [W/(m K)].
    viscosity_m2_s : float or array
        Kinematic viscosity of air [m2/s].

    Returns
    -------
    float or array
        Mean coefficient [W/(m2 K)].

    References
    ----------
    Nu = 0.037 Re^0.8 Pr^(1/3), Incropera et al., external flow.
    """
    reynolds = wind_m_s * length_m / viscosity_m2_s
    nusselt = PLATE_COEFFICIENT * reynolds**PLATE_RE_EXPONENT * PRANDTL_AIR ** (1.0 / 3.0)
    return nusselt * conductivity_W_mK / length_m


@elementwise
def natural_unstable_cubed(conductivity_W_mK, viscosity_m2_s, t_virtual_K):
    """Cube of the natural-convection coefficient per kelvin of virtual temperature difference, surface air lighter.

    Parameters
    ----------
    conductivity_W_mK : float or array
        Conductivity of air [W/(m K)].
    viscosity_m2_s : float or array
        Kinematic viscosity of air [m2/s].
    t_virtual_K : float or array
        Virtual temperature of the air [K].

    Returns
    -------
    float or array
        (0.15 k)^3 g / (nu a T) [(W/(m2 K))^3/K]; the plate's length cancels.

    References
    ----------
    Nu = 0.15 Ra^(1/3), Lloyd & Moran 1974.
    """
    diffusivity = viscosity_m2_s / PRANDTL_AIR
    return (NATURAL_UNSTABLE * conductivity_W_mK) ** 3 * GRAVITY / (t_virtual_K * viscosity_m2_s * diffusivity)


@elementwise
def natural_stable_cubed(slope_deg):
    """Cube of the natural-convection coefficient per kelvin, surface air heavier.

    Parameters
    ----------
    slope_deg : float or array
        Roof slope [deg].

    Returns
    -------
    float or array
        [(W/(m2 K))^3/K].

    References
    ----------
    Walton 1983, NBSIR 83-2655: 1.81 dT^(1/3) / (1.382 + cos b).
    """
    return (WALTON_STABLE / (WALTON_STABLE_TILT + math.cos(math.radians(slope_deg)))) ** 3


@elementwise
def mixed_convection_W_m2K(forced_W_m2K, unstable_cubed, stable_cubed, buoyancy_K):
    """Forced and natural convection together.

    Parameters
    ----------
    forced_W_m2K : float or array
        Forced coefficient [W/(m2 K)].
    unstable_cubed, stable_cubed : float or array
        Cubes of the natural coefficients per kelvin (see above).
    buoyancy_K : float or array
        Virtual temperature of the air at the surface less that of the air [K]; positive is unstable.

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].

    Notes
    -----
    Unstable: cubic sum, since both stir. Stable: the larger of the two, never the sum, since cold air lying on the
    roof does not help the wind.

    Where wind rules, the cube root costs one division: (1 + x)^(1/3), x being natural over forced cubed, is about
    (1 + 0.4946 x)/(1 + 0.1871 x) up to x = 4, and one step of Halley's method brings that to 4e-8.
    """
    forced_cubed = forced_W_m2K * forced_W_m2K * forced_W_m2K
    if buoyancy_K <= 0.0:
        natural_cubed = -stable_cubed * buoyancy_K
        return cube_root(natural_cubed) if natural_cubed > forced_cubed else forced_W_m2K
    natural_cubed = unstable_cubed * buoyancy_K
    both_cubed = forced_cubed + natural_cubed
    if natural_cubed >= MIXED_LIMIT * forced_cubed:
        return cube_root(both_cubed)
    over, under = MIXED_OVER * natural_cubed + forced_cubed, MIXED_UNDER * natural_cubed + forced_cubed
    fitted = over * over * over * forced_cubed
    wanted = under * under * under * both_cubed
    return forced_W_m2K * over * (fitted + 2.0 * wanted) / (under * (2.0 * fitted + wanted))
