"""Rival correlations of forced convection over a roof, and the one table that tells one from another.

All take the same five arguments, so that they can stand in for each other. Most are fits of the whole coefficient on
small plates or walls: their row says so, and natural convection must then not be added a second time.

Every rival is a constant and a power of wind and length, so that a time loop needs one number a step and two a roof:

    h(r V, L) = c + (h(V, 1 m) - c) r^p L^q R^s

with V the station's wind, r the roof's share of it, R its roughness, and c, p, q, s of the rival's row.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    CLEAR_LOCAL,
    CLEAR_STABLE,
    EMMEL_ACROSS,
    EMMEL_ACROSS_EXPONENT,
    EMMEL_ALONG,
    EMMEL_ALONG_EXPONENT,
    EMMEL_OBLIQUE,
    EMMEL_OBLIQUE_EXPONENT,
    GRAVITY,
    MCADAMS_A,
    MCADAMS_B,
    NATURAL_UNSTABLE,
    PALYVOS_LEEWARD_A,
    PALYVOS_LEEWARD_B,
    PALYVOS_WINDWARD_A,
    PALYVOS_WINDWARD_B,
    PLATE_RE_EXPONENT,
    PRANDTL_AIR,
    PRIOR_F_H,
    TEST_A,
    TEST_B,
    WATMUFF_A,
    WATMUFF_B,
)
from sprayroof.physics.convection import plate_turbulent_W_m2K


@elementwise
def convection_plate_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Turbulent flat plate from the leading edge, the default; forced part alone.

    Parameters
    ----------
    wind_m_s : float or array
        Wind [m/s], at the height that the row of `CONVECTION` names.
    length_m : float or array
        Length along the wind [m].
    conductivity_W_mK, viscosity_m2_s : float or array
        Conductivity [W/(m K)] and kinematic viscosity [m2/s] of air.
    roughness_factor : float or array
        Roughness multiplier of the surface [1], 1 to 2.17; used by one rival only.

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].

    References
    ----------
    See `convection.plate_turbulent_W_m2K`.
    """
    return plate_turbulent_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s)


@elementwise
def convection_mcadams_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Whole coefficient of a small plate (arguments as `convection_plate_W_m2K`); an upper bound on a large roof.

    References
    ----------
    McAdams 1954 after Jurges 1924: 5.7 + 3.8 V, V below 5 m/s.
    """
    return MCADAMS_A + MCADAMS_B * wind_m_s


@elementwise
def convection_test_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Whole coefficient of a small plate outdoors (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Test, Lessmann & Johary 1981: 8.55 + 2.56 V.
    """
    return TEST_A + TEST_B * wind_m_s


@elementwise
def convection_watmuff_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Whole coefficient of a small plate without radiation (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Watmuff, Charters & Proctor 1977: 2.8 + 3.0 V.
    """
    return WATMUFF_A + WATMUFF_B * wind_m_s


@elementwise
def convection_palyvos_windward_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Mean of published lines, windward faces (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Palyvos 2008: 7.4 + 4.0 V, walls.
    """
    return PALYVOS_WINDWARD_A + PALYVOS_WINDWARD_B * wind_m_s


@elementwise
def convection_palyvos_leeward_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Mean of published lines, leeward faces (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Palyvos 2008: 4.2 + 3.5 V, walls.
    """
    return PALYVOS_LEEWARD_A + PALYVOS_LEEWARD_B * wind_m_s


@elementwise
def convection_emmel_across_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Flat roof of a low building, wind across its length (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Emmel, Abadie & Mendes 2007: 5.11 V10^0.78, wind within 22.5 degrees of the long facade's normal.
    """
    return EMMEL_ACROSS * wind_m_s**EMMEL_ACROSS_EXPONENT


@elementwise
def convection_emmel_oblique_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Flat roof of a low building, wind at a slant (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Emmel, Abadie & Mendes 2007: 4.60 V10^0.79, wind 22.5 to 67.5 degrees off the long facade's normal. Half of all
    directions fall here: the one to take where direction is unknown.
    """
    return EMMEL_OBLIQUE * wind_m_s**EMMEL_OBLIQUE_EXPONENT


@elementwise
def convection_emmel_along_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Flat roof of a low building, wind along its length (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Emmel, Abadie & Mendes 2007: 3.67 V10^0.85, wind 67.5 to 112.5 degrees off the long facade's normal.
    """
    return EMMEL_ALONG * wind_m_s**EMMEL_ALONG_EXPONENT


@elementwise
def convection_clear_et_al_W_m2K(wind_m_s, length_m, conductivity_W_mK, viscosity_m2_s, roughness_factor):
    """Large commercial roofs, forced part alone (arguments as `convection_plate_W_m2K`).

    References
    ----------
    Clear, Gartland & Winkelmann 2003: local turbulent plate at the middle of the roof, times roughness.
    """
    middle_m = 0.5 * length_m
    reynolds = wind_m_s * middle_m / viscosity_m2_s
    nusselt = CLEAR_LOCAL * reynolds**PLATE_RE_EXPONENT * PRANDTL_AIR ** (1.0 / 3.0)
    return roughness_factor * nusselt * conductivity_W_mK / middle_m


@dataclass(frozen=True)
class Rival:
    """One row of the table of convection models.

    Parameters
    ----------
    function : callable
        Coefficient [W/(m2 K)] of five numbers, see `convection_plate_W_m2K`.
    wind : str
        The wind it was fitted to: "roof" (over the surface, sheltered) or "10 m" (undisturbed, over the site).
    whole : bool
        Whether natural convection is already within: then nothing may be added to it.
    factor_median : float
        Median of the factor on it [1]: what a real roof gives beside an ideal plate; 1 where the fit was of real ones.
    constant_W_m2K : float
        Coefficient without wind, c of the rule above.
    wind_exponent, length_exponent : float
        p and q of the rule above [1].
    words : str
        What it is, for the appendix.
    roughness_exponent : float
        s of the rule above [1].
    """

    function: Callable[..., Any]
    wind: str
    whole: bool
    factor_median: float
    constant_W_m2K: float
    wind_exponent: float
    length_exponent: float
    words: str
    roughness_exponent: float = 0.0


CONVECTION = {
    "plate": Rival(convection_plate_W_m2K, "roof", False, PRIOR_F_H, 0.0, PLATE_RE_EXPONENT,
                   PLATE_RE_EXPONENT - 1.0, "turbulent flat plate"),
    "mcadams": Rival(convection_mcadams_W_m2K, "roof", True, 1.0, MCADAMS_A, 1.0, 0.0, "McAdams, small plate"),
    "test": Rival(convection_test_W_m2K, "roof", True, 1.0, TEST_A, 1.0, 0.0, "Test et al., small plate outdoors"),
    "watmuff": Rival(convection_watmuff_W_m2K, "roof", True, 1.0, WATMUFF_A, 1.0, 0.0, "Watmuff et al., small plate"),
    "palyvos_windward": Rival(convection_palyvos_windward_W_m2K, "roof", True, 1.0, PALYVOS_WINDWARD_A, 1.0, 0.0,
                              "Palyvos, mean of published lines, windward"),
    "palyvos_leeward": Rival(convection_palyvos_leeward_W_m2K, "roof", True, 1.0, PALYVOS_LEEWARD_A, 1.0, 0.0,
                             "Palyvos, mean of published lines, leeward"),
    "emmel_across": Rival(convection_emmel_across_W_m2K, "10 m", False, 1.0, 0.0, EMMEL_ACROSS_EXPONENT, 0.0,
                          "Emmel et al., roof, wind across"),
    "emmel_oblique": Rival(convection_emmel_oblique_W_m2K, "10 m", False, 1.0, 0.0, EMMEL_OBLIQUE_EXPONENT, 0.0,
                           "Emmel et al., roof, wind at a slant"),
    "emmel_along": Rival(convection_emmel_along_W_m2K, "10 m", False, 1.0, 0.0, EMMEL_ALONG_EXPONENT, 0.0,
                         "Emmel et al., roof, wind along"),
    "clear_et_al": Rival(convection_clear_et_al_W_m2K, "roof", False, 1.0, 0.0, PLATE_RE_EXPONENT,
                         PLATE_RE_EXPONENT - 1.0, "Clear et al., commercial roofs", 1.0),
}


@elementwise
def forced_W_m2K(one_metre_W_m2K, constant_W_m2K, wind_ratio, length_m, wind_exponent, length_exponent):
    """Coefficient on a roof, from that of the station's wind over one metre.

    Parameters
    ----------
    one_metre_W_m2K : float or array
        Rival at the station's wind and a length of 1 m [W/(m2 K)].
    constant_W_m2K, wind_exponent, length_exponent : float or array
        Of the rival's row [W/(m2 K), 1, 1].
    wind_ratio : float or array
        Wind that the rival asks for over the station's [1].
    length_m : float or array
        Length of the roof along the wind [m].

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].
    """
    return constant_W_m2K + (one_metre_W_m2K - constant_W_m2K) * wind_ratio**wind_exponent * length_m**length_exponent


@elementwise
def clear_natural_frac(grashof, reynolds):
    """Weight of natural convection in the mixed form of Clear et al.

    Parameters
    ----------
    grashof, reynolds : float or array
        Numbers on the distance to the middle of the roof [1], 0 or more.

    Returns
    -------
    float or array
        Weight [1]: 1 in calm air, 0 in strong wind.

    References
    ----------
    Clear, Gartland & Winkelmann 2003: ln(1 + Gr/Re^2) / (1 + ln(1 + Gr/Re^2)).
    """
    if reynolds * reynolds <= 1e-12 * grashof:
        return 1.0
    logarithm = math.log1p(grashof / max(reynolds * reynolds, 1e-30))
    return logarithm / (1.0 + logarithm)


@elementwise
def mixed_clear_et_al_W_m2K(forced_W_m2K, wind_m_s, length_m, perimeter_length_m, conductivity_W_mK, viscosity_m2_s,
                            t_virtual_K, buoyancy_K):
    """Forced and natural convection as Clear et al. put them together; a cross-check of our cubic sum.

    Parameters
    ----------
    forced_W_m2K : float or array
        From `convection_clear_et_al_W_m2K` [W/(m2 K)].
    wind_m_s, length_m : float or array
        Wind over the roof [m/s] and its length along the wind [m].
    perimeter_length_m : float or array
        Area over perimeter [m].
    conductivity_W_mK, viscosity_m2_s, t_virtual_K : float or array
        Of air: conductivity [W/(m K)], kinematic viscosity [m2/s], virtual temperature [K].
    buoyancy_K : float or array
        Virtual temperature at the surface less that of the air [K].

    Returns
    -------
    float or array
        Coefficient [W/(m2 K)].

    References
    ----------
    Clear, Gartland & Winkelmann 2003: eta k/Ln 0.15 Ra^(1/3) (0.27 Ra^(1/4) over a cooler roof) + forced.
    """
    middle_m = 0.5 * length_m
    per_metre = GRAVITY * abs(buoyancy_K) / (t_virtual_K * viscosity_m2_s**2)
    weight = clear_natural_frac(per_metre * middle_m**3, wind_m_s * middle_m / viscosity_m2_s)
    rayleigh = per_metre * perimeter_length_m**3 * PRANDTL_AIR
    nusselt = NATURAL_UNSTABLE * np.cbrt(rayleigh) if buoyancy_K > 0.0 else CLEAR_STABLE * rayleigh**0.25
    return weight * nusselt * conductivity_W_mK / perimeter_length_m + forced_W_m2K


@elementwise
def emmel_angle_deg(wind_from_deg, facade_deg):
    """Angle between the wind and the normal of a building's long facade, folded into 0 to 90.

    Parameters
    ----------
    wind_from_deg : float or array
        Direction the wind comes from [deg].
    facade_deg : float or array
        Direction a long facade faces [deg].

    Returns
    -------
    float or array
        Angle [deg]: up to 22.5 across, up to 67.5 oblique, beyond that along.
    """
    angle = abs(wind_from_deg - facade_deg) % 180.0
    return min(angle, 180.0 - angle)
