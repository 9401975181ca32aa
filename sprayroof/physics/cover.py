"""A cover over the wet roof: film, mesh or sheet above a gap of air, and what it takes from the water.

Heat and vapour that the water gives off meet the cover, not the sky; the cover finds its own temperature. Two bands of
long-wave are kept apart, the atmospheric window and the rest, since the sky is black at air temperature in the rest.
Signs as in `film`: heat leaving the water and water lost are positive.
"""

from __future__ import annotations

import math
from collections import namedtuple

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CONSTANTS,
    COVER_WET_DEPOSIT,
    COVER_WET_TIME,
    GRAVITY,
    HOLLANDS_ANGLE,
    HOLLANDS_CRITICAL,
    HOLLANDS_EXPONENT,
    HOLLANDS_FACTOR,
    HOLLANDS_TURBULENT,
    KELVIN,
    MASS_RATIO,
    PLATE_RE_EXPONENT,
    PRANDTL_AIR,
    SCREEN_REACH,
    SCREEN_SOLID_RATIO,
    STEFAN_BOLTZMANN,
    VIRTUAL_FACTOR,
    WINDOW_SHARE,
)
from sprayroof.physics.convection import mixed_convection_W_m2K
from sprayroof.physics.film import wet_surface
from sprayroof.physics.moistair import (
    air_conductivity_W_mK,
    air_density_kg_m3,
    air_heat_capacity_J_kgK,
    air_viscosity_Pa_s,
    saturation_over_water_Pa,
    saturation_pressure_Pa,
    saturation_slope_1_K,
)
from sprayroof.physics.roots import cube_root
from sprayroof.physics.water import latent_heat_J_kg

RESIDUAL_W_M2 = 6e-7
LOOP_RESIDUAL_W_M2 = 0.3  # for the time loop: what is left is closed along the slopes
# Closer while dew is blinding a clear film: a wet film and a dry one may both be in balance there, and slopes mislead
BLINDING_FROM, BLINDING_TO, BLINDING_CLOSER, BLINDING_LOSS = 0.003, 0.997, 0.05, 0.2
PASSES = 60
SHALLOWEST_W_M2K = 0.5
STIRRED = 1.25
C0, C1, C2, C3, C4 = WINDOW_SHARE

Optics = namedtuple("Optics", "transmittance_window transmittance_rest reflectance_window reflectance_rest "
                              "wet_transmittance_window wet_transmittance_rest wet_reflectance_window "
                              "wet_reflectance_rest")
Gap = namedtuple("Gap", "conduction_W_m2K rayleigh_1_K slope_cos tilt_factor forced_W_m2K leak_kg_m2s")
CoverKind = namedtuple("CoverKind", (*Optics._fields, "sun_passed_share", "sun_taken_share", "gap_m", "leak_calm_m_s",
                                     "leak_wind_share", "inner_wind_share"))
_Outside = namedtuple("_Outside", "t_C tv_K tv_ratio vapour pressure_Pa forced_W_m2K forced_cubed unstable_cubed "
                                  "stable_cubed lewis_per_cp leak_W_m2K down_window_W_m2 down_rest_W_m2 latent_J_kg "
                                  "sun_W_m2 frost")
# With the temperature of the surface, the cover held, and with the cover's, the surface held
_Slopes = namedtuple("_Slopes", "convection convection_cover longwave longwave_cover evaporation evaporation_cover "
                                "condensed condensed_cover dew_cover follows")
_Beneath = namedtuple("_Beneath", "t_C tv_K wet vapour slope_1_K emissivity_window emissivity_rest black_window_W_m2 "
                                  "black_rest_W_m2 w_free")
_Balance = namedtuple("_Balance", "residual_W_m2 side_W_m2K share outer_W_m2K mass wet_mass condensing dewing middle "
                                  "vapour vapour_slope condensed deposit wet absorptance_window absorptance_rest "
                                  "gained_window_W_m2 gained_rest_W_m2 black_window_W_m2 black_rest_W_m2 longwave_W_m2")


def _kind(name: str) -> CoverKind:
    columns = ("TRANSMITTANCE_WINDOW", "TRANSMITTANCE_REST", "REFLECTANCE_WINDOW", "REFLECTANCE_REST",
               "WET_TRANSMITTANCE_WINDOW", "WET_TRANSMITTANCE_REST", "WET_REFLECTANCE_WINDOW", "WET_REFLECTANCE_REST",
               "SUN_TRANSMITTANCE", "SUN_ABSORPTANCE", "GAP", "LEAK_CALM", "LEAK_WIND", "INNER_WIND")
    return CoverKind(*(CONSTANTS[f"COVER_{name}_{column}"].value for column in columns))


# Clear polymer film, half-open mesh, opaque sheet; spreads and sources stand beside the constants
COVER_KINDS = {"film": _kind("FILM"), "mesh": _kind("MESH"), "sheet": _kind("SHEET")}


def optics_of(kind: CoverKind, transmittance_factor: float = 1.0) -> Optics:
    """Long-wave properties of a kind of cover after ageing and fouling.

    Parameters
    ----------
    kind : CoverKind
        Row of `COVER_KINDS`, or one drawn around it [1].
    transmittance_factor : float
        See `aged_transmittance_factor` [1].

    Returns
    -------
    Optics
        Transmittances and reflectances of window and rest, dry and wet [1]. What transmittance loses, emissivity wins.
    """
    values = kind._asdict()
    return Optics(*(transmittance_factor * values[name] if "transmittance" in name else values[name]
                    for name in Optics._fields))


@elementwise
def window_share(t_C):
    """Share of a black body's flux in the atmospheric window, 750 to 1400 1/cm (7.1 to 13.3 um).

    Parameters
    ----------
    t_C : float or array
        Temperature [degC], -40 to 60 (within 3e-5).

    Returns
    -------
    float or array
        Share [1].

    References
    ----------
    Planck's law (`sky.planck_fraction`), fitted.
    """
    return C0 + t_C * (C1 + t_C * (C2 + t_C * (C3 + t_C * C4)))


@compiled
def sky_bands_W_m2(longwave_in_W_m2, t_air_C):
    """Long-wave from above, split into window and rest.

    Parameters
    ----------
    longwave_in_W_m2 : float
        All-sky flux on the roof's plane [W/m2].
    t_air_C : float
        Air temperature [degC].

    Returns
    -------
    tuple of float
        Window and rest [W/m2]; their sum is the flux given.

    Notes
    -----
    The sky is black at air temperature outside the window, so e_window = 1 - (1 - e)/f. A flux below that of the
    rest alone is given to the rest.
    """
    black = STEFAN_BOLTZMANN * (t_air_C + KELVIN) ** 4
    window = max(0.0, longwave_in_W_m2 - (1.0 - window_share(t_air_C)) * black)
    return window, longwave_in_W_m2 - window


@compiled
def _nusselt(rayleigh_cos, tilt_factor):
    """Hollands et al. 1976 from Ra cos b and sin(1.8 b)^1.6."""
    if rayleigh_cos <= HOLLANDS_CRITICAL:
        return 1.0
    critical = HOLLANDS_CRITICAL / rayleigh_cos
    nusselt = 1.0 + HOLLANDS_FACTOR * (1.0 - critical) * (1.0 - critical * tilt_factor)
    if rayleigh_cos > HOLLANDS_TURBULENT:
        nusselt += cube_root(rayleigh_cos / HOLLANDS_TURBULENT) - 1.0
    return nusselt


@elementwise
def tilt_factor(slope_deg):
    """Term sin(1.8 b)^1.6 of Hollands et al.

    Parameters
    ----------
    slope_deg : float or array
        Slope [deg], 0 to 60.

    Returns
    -------
    float or array
        Factor [1].
    """
    return math.sin(math.radians(HOLLANDS_ANGLE * slope_deg)) ** HOLLANDS_EXPONENT


@elementwise
def gap_nusselt_hollands(rayleigh, slope_deg):
    """Nusselt number of an air layer heated from below.

    Parameters
    ----------
    rayleigh : float or array
        Rayleigh number on the layer's height and whole temperature difference [1], up to 1e8; 0 or less is a layer
        heated from above, which conducts.
    slope_deg : float or array
        Slope [deg], 0 to 60.

    Returns
    -------
    float or array
        Number [1], 1 or more.

    References
    ----------
    Hollands, Unny, Raithby & Konicek 1976, J. Heat Transfer 98:189:
    1 + 1.44 [1 - 1708/(Ra cos b)]+ (1 - 1708 sin(1.8 b)^1.6/(Ra cos b)) + [(Ra cos b/5830)^(1/3) - 1]+.
    """
    return _nusselt(rayleigh * math.cos(math.radians(slope_deg)), tilt_factor(slope_deg))


@elementwise
def leakage_kg_m2s(wind_m_s, leak_calm_m_s, leak_wind_share, density_kg_m3):
    """Outside air that passes through the gap.

    Parameters
    ----------
    wind_m_s : float or array
        Wind over the cover [m/s].
    leak_calm_m_s : float or array
        Leakage in calm air, volume per covered area [m/s].
    leak_wind_share : float or array
        Share of the wind that is added [1].
    density_kg_m3 : float or array
        Of the air [kg/m3].

    Returns
    -------
    float or array
        Air flow per covered area [kg/(m2 s)].
    """
    return density_kg_m3 * (leak_calm_m_s + leak_wind_share * wind_m_s)


@elementwise
def blinded_share(deposit_kg_m2):
    """Share of a film's long-wave transmittance that dew on it has taken.

    Parameters
    ----------
    deposit_kg_m2 : float or array
        Dew on the film [kg/m2], 0 or more.

    Returns
    -------
    float or array
        Share [1].

    References
    ----------
    Kon, Doi, Hanyu & Nakayama 1985, J. Agric. Meteorol. 41:115: exp(-(C/W)^2), C = 2.0e-3 g/cm2, measured on
    polyethylene in clear nights.
    """
    if deposit_kg_m2 <= 0.1 * COVER_WET_DEPOSIT:
        return 0.0
    ratio = COVER_WET_DEPOSIT / deposit_kg_m2
    return math.exp(-ratio * ratio)


@elementwise
def inner_forced_share(inner_wind_share):
    """Forced convection beneath a cover over that of the bare roof.

    Parameters
    ----------
    inner_wind_share : float or array
        Wind beneath the cover over wind above it [1].

    Returns
    -------
    float or array
        Share [1].

    References
    ----------
    Power of the wind of a turbulent plate, `convection.plate_turbulent_W_m2K`.
    """
    return inner_wind_share**PLATE_RE_EXPONENT


@compiled
def gap_of(gap_m, slope_deg, t_air_C, w_air, pressure_Pa, wind_m_s, leak_calm_m_s, leak_wind_share, forced_W_m2K,
           inner_wind_share):
    """What the gap needs to know of a step's air; the same for every water temperature.

    Parameters
    ----------
    gap_m : float
        Height of the gap [m].
    slope_deg : float
        Slope [deg].
    t_air_C, w_air, pressure_Pa : float
        Outside air [degC, kg/kg, Pa]; its properties serve for the gap.
    wind_m_s, leak_calm_m_s, leak_wind_share : float
        See `leakage_kg_m2s` [m/s, m/s, 1].
    forced_W_m2K : float
        Forced convection that the bare roof would have [W/(m2 K)].
    inner_wind_share : float
        Wind beneath the cover over wind above it [1].

    Returns
    -------
    Gap
        Conduction [W/(m2 K)], Rayleigh number per kelvin [1/K], cosine and `tilt_factor` of the slope [1], forced
        convection beneath the cover [W/(m2 K)], leakage [kg/(m2 s)].
    """
    density = air_density_kg_m3(t_air_C, w_air, pressure_Pa)
    viscosity = air_viscosity_Pa_s(t_air_C) / density
    return gap_in_air(gap_m, math.cos(math.radians(slope_deg)), tilt_factor(slope_deg), t_air_C, density,
                      air_conductivity_W_mK(t_air_C), viscosity, wind_m_s, leak_calm_m_s, leak_wind_share,
                      forced_W_m2K * inner_forced_share(inner_wind_share))


@compiled
def gap_in_air(gap_m, slope_cos_frac, tilt_factor, t_air_C, density_kg_m3, conductivity_W_mK, viscosity_m2_s, wind_m_s,
               leak_calm_m_s, leak_wind_share, inner_forced_W_m2K):
    """As `gap_of`, for air and slope whose properties are known already.

    Parameters
    ----------
    slope_cos_frac, tilt_factor : float
        Cosine and `tilt_factor` of the slope [1].
    density_kg_m3, conductivity_W_mK, viscosity_m2_s : float
        Of the air [kg/m3, W/(m K), m2/s].
    inner_forced_W_m2K : float
        Forced convection beneath the cover [W/(m2 K)].
    others
        See `gap_of`.

    Returns
    -------
    Gap
        See `gap_of` [W/(m2 K), 1/K, 1, W/(m2 K), kg/(m2 s)].
    """
    rayleigh = GRAVITY * gap_m * gap_m * gap_m * PRANDTL_AIR / ((t_air_C + KELVIN) * viscosity_m2_s * viscosity_m2_s)
    return Gap(conductivity_W_mK / gap_m, rayleigh, slope_cos_frac, tilt_factor,
               inner_forced_W_m2K,
               leakage_kg_m2s(wind_m_s, leak_calm_m_s, leak_wind_share, density_kg_m3))


@compiled
def _potential(mass_fraction):
    """-ln(1 - w): vapour flows in proportion to its difference, blowing correction included (series, to 1e-4)."""
    return mass_fraction * (1.0 + mass_fraction * (0.5 + mass_fraction * (1.0 / 3.0 + 0.25 * mass_fraction)))


@compiled
def _band(emissivity, black_surface, down, transmittance, reflectance, black_cover):
    """Radiosity of the surface and its irradiation in one band, cover between it and the sky."""
    absorptance = 1.0 - transmittance - reflectance
    from_cover = transmittance * down + absorptance * black_cover
    up = (emissivity * black_surface + (1.0 - emissivity) * from_cover) / (1.0 - (1.0 - emissivity) * reflectance)
    return up, from_cover + reflectance * up


@compiled
def _frost(t_C):
    """Saturation pressure at a temperature over that of water: below 1 where it freezes."""
    return 1.0 if t_C >= 0.0 else saturation_pressure_Pa(t_C) / saturation_over_water_Pa(t_C)


@compiled
def _gap_coefficient(gap, buoyancy_K):
    """From either side of the gap to its middle [W/(m2 K)]: twice the gap's own, and wind beneath the cover."""
    still = 2.0 * gap.conduction_W_m2K * _nusselt(gap.rayleigh_1_K * gap.slope_cos * buoyancy_K, gap.tilt_factor)
    if gap.forced_W_m2K <= 0.0:
        return still
    if buoyancy_K <= 0.0:
        return max(still, gap.forced_W_m2K)
    return cube_root(still * still * still + gap.forced_W_m2K * gap.forced_W_m2K * gap.forced_W_m2K)


@compiled
def _outer_coefficient(out, buoyancy_K):
    """`convection.mixed_convection_W_m2K`, the cube root spared where the wind rules."""
    if buoyancy_K > 0.0:
        return cube_root(out.forced_cubed + out.unstable_cubed * buoyancy_K)
    natural = -out.stable_cubed * buoyancy_K
    return out.forced_W_m2K if natural <= out.forced_cubed else cube_root(natural)


@compiled
def _balance(t_C, below, out, gap, optics):
    """Heat that the cover gains at a temperature, and what it is made of."""
    # water saturates at the cover as at the surface beneath, over ice where that is frozen
    t_K, p_sat = t_C + KELVIN, out.frost * saturation_over_water_Pa(t_C)
    dry = out.pressure_Pa - (1.0 - MASS_RATIO) * p_sat
    w_sat = MASS_RATIO * p_sat / dry
    vapour = _potential(w_sat)
    buoyancy_K = below.tv_K - t_K * (1.0 + VIRTUAL_FACTOR * min(w_sat, below.w_free))
    side = _gap_coefficient(gap, buoyancy_K)
    outer = _outer_coefficient(out, (t_C - out.t_C) * out.tv_ratio)
    # air in the middle of the gap: from both sides and from leaks
    share = side / (2.0 * side + out.leak_W_m2K)
    t_gap = out.t_C + share * (below.t_C + t_C - 2.0 * out.t_C)
    mass, leak = side * out.lewis_per_cp, gap.leak_kg_m2s + 1e-12
    wet_mass = mass * below.wet
    brought, carried = wet_mass * below.vapour + leak * out.vapour, wet_mass + leak
    condensing, dewing = brought > vapour * carried, out.vapour > vapour
    middle = (brought + mass * vapour) / (carried + mass) if condensing else brought / carried
    condensed = mass * (middle - vapour) if condensing else 0.0
    dew = outer * out.lewis_per_cp * (out.vapour - vapour) if dewing else 0.0
    # what dew has blinded
    deposit = COVER_WET_TIME * (condensed + dew)
    wet = blinded_share(deposit)
    tr_w = optics.transmittance_window + wet * (optics.wet_transmittance_window - optics.transmittance_window)
    tr_r = optics.transmittance_rest + wet * (optics.wet_transmittance_rest - optics.transmittance_rest)
    re_w = optics.reflectance_window + wet * (optics.wet_reflectance_window - optics.reflectance_window)
    re_r = optics.reflectance_rest + wet * (optics.wet_reflectance_rest - optics.reflectance_rest)
    black = STEFAN_BOLTZMANN * t_K * t_K * t_K * t_K
    black_w = window_share(t_C) * black
    black_r = black - black_w
    up_w, in_w = _band(below.emissivity_window, below.black_window_W_m2, out.down_window_W_m2, tr_w, re_w, black_w)
    up_r, in_r = _band(below.emissivity_rest, below.black_rest_W_m2, out.down_rest_W_m2, tr_r, re_r, black_r)
    ab_w, ab_r = 1.0 - tr_w - re_w, 1.0 - tr_r - re_r
    gained_w, gained_r = up_w + out.down_window_W_m2 - 2.0 * black_w, up_r + out.down_rest_W_m2 - 2.0 * black_r
    residual = (side * (t_gap - t_C) + outer * (out.t_C - t_C) + out.latent_J_kg * (condensed + dew)
                + ab_w * gained_w + ab_r * gained_r + out.sun_W_m2)
    return _Balance(residual, side, share, outer, mass, wet_mass, condensing, dewing, middle, vapour, w_sat / dry,
                    condensed, deposit, wet, ab_w, ab_r, gained_w, gained_r, black_w, black_r,
                    up_w - in_w + up_r - in_r)


@compiled
def _vapour_slope_1_K(t_C, found, out):
    """Slope of the vapour potential at saturation with the cover's temperature [1/K]."""
    return found.vapour_slope * out.pressure_Pa * saturation_slope_1_K(t_C)


@compiled
def _cover_slope_W_m2K(t_C, found, below, out, gap, optics):
    """How fast the cover's gain falls with its temperature [W/(m2 K)]: dew and stirring of the gap included."""
    t_K, rise = t_C + KELVIN, _vapour_slope_1_K(t_C, found, out)
    inside = found.mass * rise * (1.0 - found.mass / (found.wet_mass + found.mass + gap.leak_kg_m2s))
    inside = inside if found.condensing else 0.0
    outside = found.outer_W_m2K * out.lewis_per_cp * rise if found.dewing else 0.0
    radiative = 4.0 * (found.absorptance_window * found.black_window_W_m2 * (
        2.0 - (1.0 - below.emissivity_window) * found.absorptance_window) + found.absorptance_rest
        * found.black_rest_W_m2 * (2.0 - (1.0 - below.emissivity_rest) * found.absorptance_rest)) / t_K
    # a stirred gap stirs less as the cover warms
    stirred = STIRRED if found.side_W_m2K > 2.0001 * gap.conduction_W_m2K else 1.0
    slope = (stirred * (found.side_W_m2K * (1.0 - found.share) + out.latent_J_kg * inside) + found.outer_W_m2K
             + out.latent_J_kg * outside + radiative)
    if found.wet > 0.0:
        more = 2.0 * found.wet * COVER_WET_DEPOSIT**2 / found.deposit**3 * COVER_WET_TIME * (inside + outside)
        blinded_w = (optics.transmittance_window - optics.wet_transmittance_window
                     + optics.reflectance_window - optics.wet_reflectance_window)
        blinded_r = (optics.transmittance_rest - optics.wet_transmittance_rest
                     + optics.reflectance_rest - optics.wet_reflectance_rest)
        slope += max(-0.5 * slope, more * (blinded_w * found.gained_window_W_m2
                                           + blinded_r * found.gained_rest_W_m2))
    return slope


@compiled
def _slopes(t_C, found, below, out, gap):
    """How the cover's temperature and what the surface beneath gives off follow that surface's temperature.

    Coefficients and optics are held; temperatures, vapour and black fluxes follow.
    """
    t_K, side, share = t_C + KELVIN, found.side_W_m2K, found.share
    latent = out.latent_J_kg
    rise = _vapour_slope_1_K(t_C, found, out)
    carried = found.wet_mass + gap.leak_kg_m2s + 1e-12 + (found.mass if found.condensing else 0.0)
    # of what the cover's vapour rises by, what the middle of the gap does
    middle_share = found.mass / carried if found.condensing else 0.0
    passed = found.wet_mass * middle_share
    radiative = 4.0 * (found.absorptance_window * found.black_window_W_m2
                       + found.absorptance_rest * found.black_rest_W_m2) / t_K
    seen = 4.0 * (found.absorptance_window * below.emissivity_window * found.black_window_W_m2
                  + found.absorptance_rest * below.emissivity_rest * found.black_rest_W_m2) / t_K
    own = 4.0 * (below.emissivity_window * below.black_window_W_m2
                 + below.emissivity_rest * below.black_rest_W_m2) / (below.t_C + KELVIN)
    cover = side * (1.0 - share) + found.outer_W_m2K + 2.0 * radiative
    if found.condensing:
        cover += latent * found.mass * rise * (1.0 - middle_share)
    dew = -found.outer_W_m2K * out.lewis_per_cp * rise if found.dewing else 0.0
    cover -= latent * dew
    follows = (side * share + latent * passed * below.slope_1_K + seen) / cover
    evaporation = (found.wet_mass * below.slope_1_K * (1.0 - found.wet_mass / carried), -passed * rise)
    condensed = (passed * below.slope_1_K, -found.mass * rise * (1.0 - middle_share) if found.condensing else 0.0)
    return _Slopes(side * (1.0 - share), -side * share, own, -seen, evaporation[0], evaporation[1], condensed[0],
                   condensed[1], dew, follows)


@compiled
def _cleared_W_m2K(found, by, below, out, optics):
    """How the surface's long-wave follows the cover's temperature by the dew that then no longer blinds the film."""
    if found.wet <= 0.0:
        return 0.0
    deposited = COVER_WET_TIME * (by.condensed_cover + by.dew_cover)
    blinded = 2.0 * found.wet * COVER_WET_DEPOSIT * COVER_WET_DEPOSIT * deposited / (
        found.deposit * found.deposit * found.deposit)
    up_w = found.gained_window_W_m2 - out.down_window_W_m2 + 2.0 * found.black_window_W_m2
    up_r = found.gained_rest_W_m2 - out.down_rest_W_m2 + 2.0 * found.black_rest_W_m2
    return blinded * (
        below.emissivity_window * (
            (optics.transmittance_window - optics.wet_transmittance_window)
            * (out.down_window_W_m2 - found.black_window_W_m2)
            + (optics.reflectance_window - optics.wet_reflectance_window) * (up_w - found.black_window_W_m2))
        + below.emissivity_rest * (
            (optics.transmittance_rest - optics.wet_transmittance_rest)
            * (out.down_rest_W_m2 - found.black_rest_W_m2)
            + (optics.reflectance_rest - optics.wet_reflectance_rest) * (up_r - found.black_rest_W_m2)))


@compiled
def _to_gap_W_m2(t_C, found, below, out):
    """Convection from the surface to the middle of the gap [W/m2]."""
    return found.side_W_m2K * (below.t_C - out.t_C - found.share * (below.t_C + t_C - 2.0 * out.t_C))


@compiled
def _solve(t_start_C, below, out, gap, optics, within_W_m2):
    """Temperature of the cover: a Newton step, then secants, kept within what is known of the root.

    Returns the temperature of the last balance, that balance, and what is left to the root by its slope [K].
    """
    low = min(below.t_C, out.t_C) - 60.0
    high = max(below.t_C, out.t_C) + 60.0
    t = t_start_C
    if not low < t < high:
        t = 0.4 * below.t_C + 0.6 * out.t_C - 1.0
    found = _balance(t, below, out, gap, optics)
    slope = _cover_slope_W_m2K(t, found, below, out, gap, optics)
    blinds = optics.transmittance_window - optics.wet_transmittance_window > BLINDING_LOSS
    closer = within_W_m2 * BLINDING_CLOSER if blinds else within_W_m2
    for _ in range(PASSES):
        if abs(found.residual_W_m2) < (closer if BLINDING_FROM < found.wet < BLINDING_TO else within_W_m2):
            break
        if found.residual_W_m2 > 0.0:
            low = t
        else:
            high = t
        new = t + found.residual_W_m2 / slope
        if not low < new < high:
            new = 0.5 * (low + high)
            if not low < new < high:
                break
        step, before, t = new - t, found.residual_W_m2, new
        found = _balance(t, below, out, gap, optics)
        secant = (before - found.residual_W_m2) / step
        slope = secant if secant > SHALLOWEST_W_M2K else slope
    return t, found, found.residual_W_m2 / slope


@compiled
def _outside(t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
             longwave_in_W_m2, gap, latent_J_kg, sun_W_m2, frost):
    """The air and sky of a step as the cover's balance needs them."""
    window, rest = sky_bands_W_m2(longwave_in_W_m2, t_air_C)
    return _Outside(t_air_C, tv_air_K, tv_air_K / (t_air_C + KELVIN), _potential(w_air), pressure_Pa, forced_W_m2K,
                    forced_W_m2K * forced_W_m2K * forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
                    gap.leak_kg_m2s * air_heat_capacity_J_kgK(w_air), window, rest, latent_J_kg, sun_W_m2, frost)


@compiled
def covered_surface_slopes(t_C, t_cover_start_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed,
                           stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, gap, optics, sun_W_m2,
                           within_W_m2):
    """What water under a cover gives off, and how that follows its temperature (arguments as `covered_surface`).

    Returns
    -------
    tuple of float
        Convection [W/m2], water lost with leaking air [kg/(m2 s)], net long-wave [W/m2], latent heat [W/m2]; then their
        slopes with water temperature, coefficients held and the cover following [the same per K]; cover temperature
        [degC] and how far it follows the water's [1], condensation on the underside [kg/(m2 s)], share of the cover
        that dew has blinded [1].

    Notes
    -----
    What the balance leaves open within `within_W_m2` is closed along the slopes: that is of the second order only.
    """
    latent = latent_heat_J_kg(t_C)
    frost = _frost(t_C)
    p_sat = frost * saturation_over_water_Pa(t_C)
    per_dry = 1.0 / (pressure_Pa - (1.0 - MASS_RATIO) * p_sat)
    w_sat = MASS_RATIO * p_sat * per_dry
    out = _outside(t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
                   longwave_in_W_m2, gap, latent, sun_W_m2, frost)
    t_K = t_C + KELVIN
    black = STEFAN_BOLTZMANN * t_K * t_K * t_K * t_K
    window = window_share(t_C) * black
    still = 2.0 * gap.conduction_W_m2K * lewis_per_cp
    w_free = (still * w_sat + gap.leak_kg_m2s * w_air) / (still + gap.leak_kg_m2s)
    below = _Beneath(t_C, t_K * (1.0 + VIRTUAL_FACTOR * w_sat), 1.0, _potential(w_sat),
                     w_sat * saturation_slope_1_K(t_C) * pressure_Pa * per_dry, emissivity, emissivity, window,
                     black - window, w_free)
    t_last, found, rest_K = _solve(t_cover_start_C, below, out, gap, optics, within_W_m2)
    by = _slopes(t_last, found, below, out, gap)
    evaporation = found.wet_mass * (below.vapour - found.middle)
    return (_to_gap_W_m2(t_last, found, below, out) + by.convection_cover * rest_K,
            evaporation - found.condensed + (by.evaporation_cover - by.condensed_cover) * rest_K,
            found.longwave_W_m2 + (by.longwave_cover + _cleared_W_m2K(found, by, below, out, optics)) * rest_K,
            latent * (evaporation + by.evaporation_cover * rest_K),
            by.convection + by.convection_cover * by.follows,
            by.evaporation - by.condensed + (by.evaporation_cover - by.condensed_cover) * by.follows,
            by.longwave + by.longwave_cover * by.follows,
            latent * (by.evaporation + by.evaporation_cover * by.follows),
            t_last + rest_K, by.follows, found.condensed + by.condensed_cover * rest_K, found.wet)


@compiled
def covered_surface(t_C, t_cover_start_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed,
                    stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, gap, optics, sun_W_m2=0.0,
                    within_W_m2=RESIDUAL_W_M2):
    """What water under a cover gives off; the cover in balance with it.

    Parameters
    ----------
    t_C : float
        Water temperature [degC], -20 to 50.
    t_cover_start_C : float
        First guess of the cover's temperature [degC], that of the last call for speed; nan: none. Where a film wet
        with dew and a dry one are both in balance, it decides.
    t_air_C, w_air, tv_air_K, pressure_Pa : float
        Outside air: temperature [degC], vapour mass fraction [kg/kg], virtual temperature [K], pressure [Pa].
    forced_W_m2K, unstable_cubed, stable_cubed : float
        Convection on the outside, see `convection.mixed_convection_W_m2K`.
    lewis_per_cp : float
        Le^(-2/3) / cp of the air [kg K/J].
    emissivity : float
        Of water, both bands [1].
    longwave_in_W_m2 : float
        All-sky flux on the roof's plane [W/m2].
    gap, optics : Gap, Optics
        From `gap_of` and `optics_of` (records with these fields serve too).
    sun_W_m2 : float
        Sun that the cover itself takes up [W/m2].
    within_W_m2 : float
        How closely the cover's balance is to close [W/m2].

    Returns
    -------
    tuple of float
        Convection from water to gap [W/m2], water lost with leaking air [kg/(m2 s)], net long-wave of the water
        [W/m2], latent heat leaving the water [W/m2] (of all vapour, also of what condenses on the cover and drips
        back), slope of the whole heat flux with water temperature [W/(m2 K)], cover temperature [degC], condensation
        on the underside [kg/(m2 s)], share of the cover that dew has blinded [1].

    Notes
    -----
    Water and underside exchange heat and vapour with the middle of the gap, each through twice the gap's conductance
    (Nu k/d, Hollands et al. where unstable, 1 where stable) or through the wind beneath the cover; leaks tie the
    middle to the outside air. Vapour by the Lewis analogy with the same numbers. The underside is at saturation
    where the middle is moister than that; dew on the outside counts too. Deposits of the last hours blind the film.
    Latent heats are taken at the water temperature; heat content of drips and leaking vapour is left out (0.3 %).

    References
    ----------
    Hollands et al. 1976; Kon et al. 1985; window emissivity of the sky 1 - (1 - e)/f; two-band exchange derived here.
    """
    convection, lost, longwave, latent, by_convection, _, by_longwave, by_latent, t_cover, _, condensed, wet = (
        covered_surface_slopes(
            t_C, t_cover_start_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
            lewis_per_cp, emissivity, longwave_in_W_m2, gap, optics, sun_W_m2, within_W_m2))
    return (convection, lost, longwave, latent, by_convection + by_longwave + by_latent, t_cover, condensed, wet)


@compiled
def covered_plate(t_C, t_cover_start_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed,
                  stable_cubed, lewis_per_cp, emissivity_window, emissivity_rest, longwave_in_W_m2, gap, optics,
                  sun_W_m2=0.0):
    """What a dry plate under a cover gives off: as `covered_surface` without vapour from beneath.

    Parameters
    ----------
    t_C : float
        Plate temperature [degC].
    emissivity_window, emissivity_rest : float
        Of the plate [1].
    others
        See `covered_surface`.

    Returns
    -------
    tuple of float
        Convection [W/m2], net long-wave [W/m2], slope of their sum with plate temperature [W/(m2 K)], cover
        temperature [degC], share of the cover that dew has blinded [1].

    Notes
    -----
    Moisture in the gap comes with leaks alone; dew on the plate itself is left out.
    """
    out = _outside(t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
                   longwave_in_W_m2, gap, latent_heat_J_kg(t_air_C), sun_W_m2, _frost(t_air_C))
    t_K = t_C + KELVIN
    black = STEFAN_BOLTZMANN * t_K * t_K * t_K * t_K
    window = window_share(t_C) * black
    below = _Beneath(t_C, t_K * (1.0 + VIRTUAL_FACTOR * w_air), 0.0, 0.0, 0.0, emissivity_window, emissivity_rest,
                     window, black - window, w_air)
    t_cover, found, _rest = _solve(t_cover_start_C, below, out, gap, optics, RESIDUAL_W_M2)
    by = _slopes(t_cover, found, below, out, gap)
    return (_to_gap_W_m2(t_cover, found, below, out), found.longwave_W_m2,
            by.convection + by.longwave + (by.convection_cover + by.longwave_cover) * by.follows, t_cover, found.wet)


@compiled
def covered_deck(t_C, t_cover_C, t_air_C, w_air, tv_air_K, forced_W_m2K, unstable_cubed, stable_cubed, emissivity,
                 longwave_in_W_m2, gap, optics, sun_W_m2):
    """What a dry deck under a cover gives off, cheap enough for every step: the cover is one temperature between two.

    Parameters
    ----------
    t_C, t_cover_C : float
        Deck, and cover as it was a step before (nan: none) [degC]: coefficients are taken at these.
    emissivity : float
        Of the deck [1].
    sun_W_m2 : float
        Sun that the cover itself takes up [W/m2].
    others
        See `covered_surface`.

    Returns
    -------
    tuple of float
        Heat given off [W/m2], its slope with the deck's temperature [W/(m2 K)], cover temperature [degC].

    Notes
    -----
    As `covered_plate`, without dew. Long-wave differences are written as (T^2 + T_a^2)(T + T_a)(T - T_a), so that the
    cover's balance is linear in its temperature and solved outright; the sky is short of black in the window alone.
    """
    t_air_K, x = t_air_C + KELVIN, t_C - t_air_C
    y = t_cover_C - t_air_C if t_cover_C > -90.0 else 0.0
    t_K, cover_K, air_squared = t_air_K + x, t_air_K + y, t_air_K * t_air_K
    black = STEFAN_BOLTZMANN * (t_K * t_K + air_squared) * (t_K + t_air_K)
    black_cover = STEFAN_BOLTZMANN * (cover_K * cover_K + air_squared) * (cover_K + t_air_K)
    missing = STEFAN_BOLTZMANN * air_squared * air_squared - longwave_in_W_m2
    share, rest_share = C0 + C1 * t_air_C, 1.0 - C0 - C1 * t_air_C
    reflectance = share * optics.reflectance_window + rest_share * optics.reflectance_rest
    absorptance = 1.0 - reflectance - (share * optics.transmittance_window + rest_share * optics.transmittance_rest)
    lightness = tv_air_K / t_air_K
    side = _gap_coefficient(gap, (x - y) * lightness)
    outer = mixed_convection_W_m2K(forced_W_m2K, unstable_cubed, stable_cubed, y * lightness)
    half = side * side / (2.0 * side + gap.leak_kg_m2s * air_heat_capacity_J_kgK(w_air))
    bounce = 1.0 / (1.0 - (1.0 - emissivity) * reflectance)
    # heat that the cover takes up per kelvin of deck and gives back per kelvin of its own, and its gains beside
    taken = half + absorptance * emissivity * bounce * black
    given = (side - half) + outer + absorptance * black_cover * (2.0 - absorptance * bounce * (1.0 - emissivity))
    window_gain = optics.transmittance_window * missing
    gain = sun_W_m2 - absorptance * (missing + (1.0 - emissivity) * bounce * window_gain)
    y_new = (taken * x + gain) / given
    back = half + absorptance * emissivity * bounce * black_cover
    own = (side - half) + emissivity * bounce * (1.0 - reflectance) * black
    heat = own * x - back * y_new + emissivity * bounce * window_gain
    return heat, own - back * taken / given, t_air_C + y_new


@elementwise
def aged_transmittance_factor(age_years, unwashed_years, ageing_per_year, soiled_share, soiling_years):
    """What age and dust leave of a cover's long-wave transmittance.

    Parameters
    ----------
    age_years, unwashed_years : float or array
        Time since the cover was laid and since it was last washed [years].
    ageing_per_year : float or array
        Lasting loss [1/year].
    soiled_share : float or array
        Transmittance lost to dust in the end [1].
    soiling_years : float or array
        Time constant of settling dust [years].

    Returns
    -------
    float or array
        Factor on the transmittance [1], 1 when new.
    """
    clean = math.exp(-ageing_per_year * age_years)
    return clean * (1.0 + soiled_share * math.expm1(-unwashed_years / soiling_years))


@elementwise
def screen_wind_ratio(distance_m, height_m, porosity_share):
    """Wind behind a screen, relative to the open wind.

    Parameters
    ----------
    distance_m : float or array
        From the screen, down the wind [m].
    height_m : float or array
        Of the screen above the roof [m], above 0.
    porosity_share : float or array
        Open share of the screen [1].

    Returns
    -------
    float or array
        Ratio [1]; 1 far away and for no screen.

    Notes
    -----
    1 - (1 - r)(1 + z) exp(-z), z = distance over five heights; r = 0.3 + 0.7 porosity^2 right behind the screen. The
    form is this project's own; the least wind behind the densest windbreaks is from Loeffler et al. 1992.
    """
    z = distance_m / (SCREEN_REACH * height_m)
    least = SCREEN_SOLID_RATIO + (1.0 - SCREEN_SOLID_RATIO) * porosity_share * porosity_share
    return 1.0 - (1.0 - least) * (1.0 + z) * math.exp(-z)


@elementwise
def screened_roof_wind_ratio(length_m, height_m, porosity_share):
    """Mean of `screen_wind_ratio` over a roof with a screen along its windward edge.

    Parameters
    ----------
    length_m : float or array
        Of the roof along the wind [m].
    height_m : float or array
        Of the screen [m], 0 or more.
    porosity_share : float or array
        Open share of the screen [1].

    Returns
    -------
    float or array
        Ratio [1].
    """
    if height_m <= 0.0:
        return 1.0
    z = length_m / (SCREEN_REACH * height_m)
    least = SCREEN_SOLID_RATIO + (1.0 - SCREEN_SOLID_RATIO) * porosity_share * porosity_share
    shelter = (2.0 - (2.0 + z) * math.exp(-z)) / z if z > 1e-4 else 1.0
    return 1.0 - (1.0 - least) * shelter


@compiled
def open_store(t_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
               emissivity, longwave_in_W_m2, covered_share, lid_u_W_m2K):
    """Heat and water lost by the free surface of an open store, part of it under a lid.

    Parameters
    ----------
    covered_share : float
        Of the surface under a tight lid or floating sheet [1].
    lid_u_W_m2K : float
        From water through the lid to the air [W/(m2 K)].
    others
        See `film.wet_surface`, at the store's surface.

    Returns
    -------
    tuple of float
        Heat, latent heat included [W/m2], evaporation [kg/(m2 s)], slope of the heat with temperature [W/(m2 K)], all
        per area of the whole surface.
    """
    convection, evaporation, longwave, latent, slope = wet_surface(
        t_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
        emissivity, longwave_in_W_m2)
    free = 1.0 - covered_share
    heat = free * (convection + longwave + evaporation * latent) + covered_share * lid_u_W_m2K * (t_C - t_air_C)
    return heat, free * evaporation, free * slope + covered_share * lid_u_W_m2K
