"""Long-wave radiation of the sky: clear-sky emissivity, clouds, and what a tilted, obstructed roof sees of it.

Rival clear-sky formulas are named after their authors; `CLEAR_SKY` is the only table that tells one from another.
All take the same five arguments, so that they can stand in for each other.
"""

from __future__ import annotations

import math

import numpy as np

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    BF_A0,
    BF_A1,
    BM_A0,
    BM_A1,
    BM_A2,
    BM_DIURNAL,
    BM_PRESSURE,
    BRUNT_A0,
    BRUNT_A1,
    BRUTSAERT_A0,
    CA_A0,
    CA_A1,
    CA_CLOUD_1,
    CA_CLOUD_2,
    CA_CLOUD_3,
    CLOUD_OPAQUE_EMISSIVITY,
    CLOUD_SCALE_HEIGHT,
    DOB_0,
    DOB_1,
    DOB_2,
    DOB_COLUMN,
    IDSO_A,
    IDSO_B,
    IDSO_C,
    KELVIN,
    PRATA_A,
    PRATA_B,
    PRATA_XI,
    STEFAN_BOLTZMANN,
    UNSWORTH_CLOUD,
)

DIRECTIONS = 720  # at least, round the horizon


@elementwise
def sky_emissivity_berdahl_martin(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity with its diurnal and pressure terms.

    Parameters
    ----------
    t_air_C, t_dew_C : float or array
        Air and dew-point temperature [degC]; dew point -13 to 24 in the source.
    e_Pa, pressure_Pa : float or array
        Vapour and total pressure [Pa].
    solar_hour_h : float or array
        True solar time [h], 0 to 24.

    Returns
    -------
    float or array
        Emissivity [1].

    References
    ----------
    Berdahl & Martin 1984, Solar Energy 32:663. The diurnal term runs on solar time.
    """
    x = t_dew_C / 100.0
    diurnal = BM_DIURNAL * math.cos(2.0 * math.pi * solar_hour_h / 24.0)
    return BM_A0 + BM_A1 * x + BM_A2 * x * x + diurnal + BM_PRESSURE * (pressure_Pa / 100.0 - 1000.0)


@elementwise
def sky_emissivity_berdahl_fromberg(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky night emissivity, linear in dew point (arguments as `sky_emissivity_berdahl_martin`).

    References
    ----------
    Berdahl & Fromberg 1982, Solar Energy 29:299, night (from memory).
    """
    return BF_A0 + BF_A1 * t_dew_C


@elementwise
def sky_emissivity_brunt(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity, Brunt's form (arguments as `sky_emissivity_berdahl_martin`).

    References
    ----------
    Brunt 1932 with the coefficients of Li, Jiang & Coimbra 2017, Solar Energy 144:40 (from memory).
    """
    return BRUNT_A0 + BRUNT_A1 * math.sqrt(e_Pa / 100.0)


@elementwise
def sky_emissivity_brutsaert(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity from a standard profile (arguments as `sky_emissivity_berdahl_martin`).

    References
    ----------
    Brutsaert 1975, Water Resources Research 11:742.
    """
    return BRUTSAERT_A0 * (e_Pa / 100.0 / (t_air_C + KELVIN)) ** (1.0 / 7.0)


@elementwise
def sky_emissivity_prata(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity from the water column (arguments as `sky_emissivity_berdahl_martin`).

    References
    ----------
    Prata 1996, Q. J. R. Meteorol. Soc. 122:1127.
    """
    xi = PRATA_XI * e_Pa / 100.0 / (t_air_C + KELVIN)
    return 1.0 - (1.0 + xi) * math.exp(-math.sqrt(PRATA_A + PRATA_B * xi))


@elementwise
def sky_emissivity_dilley_obrien(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity from a fit of the flux (arguments as `sky_emissivity_berdahl_martin`).

    References
    ----------
    Dilley & O'Brien 1998, Q. J. R. Meteorol. Soc. 124:1391; column water after Prata 1996.
    """
    t_K = t_air_C + KELVIN
    column_kg_m2 = DOB_COLUMN * e_Pa / 100.0 / t_K
    flux = DOB_0 + DOB_1 * (t_K / 273.16) ** 6 + DOB_2 * math.sqrt(column_kg_m2 / 25.0)
    return flux / (STEFAN_BOLTZMANN * t_K**4)


@elementwise
def sky_emissivity_clark_allen(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity from the dew point (arguments as `sky_emissivity_berdahl_martin`).

    References
    ----------
    Clark & Allen 1978.
    """
    # the source counts 273 K for 0 degC, and weather files that carry its flux agree with that to their rounding
    return CA_A0 + CA_A1 * math.log((t_dew_C + 273.0) / 273.0)


@elementwise
def cloud_effect_martin_berdahl(emissivity_clear, cloud_frac, base_height_m):
    """How far clouds close the gap between the clear sky and a black one: 0 clear, 1 black at air temperature.

    Parameters
    ----------
    emissivity_clear : float or array
        Clear-sky emissivity [1] (unused here; same arguments for all cloud models).
    cloud_frac : float or array
        Opaque cloud cover [1], 0 to 1.
    base_height_m : float or array
        Height of the cloud base [m].

    Returns
    -------
    float or array
        Cloud effect [1]: emissivity = clear + (1 - clear) x effect.

    References
    ----------
    Martin & Berdahl 1984, Solar Energy 33:321.
    """
    return cloud_frac * CLOUD_OPAQUE_EMISSIVITY * math.exp(-base_height_m / CLOUD_SCALE_HEIGHT)


@elementwise
def cloud_effect_unsworth_monteith(emissivity_clear, cloud_frac, base_height_m):
    """Cloud effect (arguments as `cloud_effect_martin_berdahl`) of (1 - 0.84 c) e0 + 0.84 c.

    References
    ----------
    Unsworth & Monteith 1975.
    """
    return UNSWORTH_CLOUD * cloud_frac


@elementwise
def cloud_effect_clark_allen(emissivity_clear, cloud_frac, base_height_m):
    """Cloud effect (arguments as `cloud_effect_martin_berdahl`) of the polynomial that goes with Clark & Allen.

    References
    ----------
    Walton 1983, polynomial in tenths of cloud that multiplies the clear-sky emissivity.
    """
    n = 10.0 * cloud_frac
    factor = 1.0 + CA_CLOUD_1 * n + CA_CLOUD_2 * n * n + CA_CLOUD_3 * n * n * n
    return emissivity_clear * (factor - 1.0) / (1.0 - emissivity_clear)


@elementwise
def all_sky_emissivity(emissivity_clear, cloud_effect):
    """Emissivity of a sky with clouds.

    Parameters
    ----------
    emissivity_clear, cloud_effect : float or array
        Clear-sky emissivity and cloud effect [1].

    Returns
    -------
    float or array
        Emissivity [1].
    """
    return emissivity_clear + (1.0 - emissivity_clear) * cloud_effect


@elementwise
def black_flux_W_m2(t_C):
    """Flux of a black body, sigma T^4.

    Parameters
    ----------
    t_C : float or array
        Temperature [degC].

    Returns
    -------
    float or array
        Flux [W/m2].
    """
    t_K = t_C + KELVIN
    return STEFAN_BOLTZMANN * t_K * t_K * t_K * t_K


@elementwise
def sky_view_walton(slope_deg):
    """Share of the roof's long-wave exchange that goes to the sky; the rest meets ground at air temperature.

    Parameters
    ----------
    slope_deg : float or array
        Roof slope [deg], 0 to 45 (within 1 to 3 %).

    Returns
    -------
    float or array
        Share [1].

    References
    ----------
    Walton 1983, NBSIR 83-2655: F sqrt(F) with F = (1 + cos b)/2.
    """
    view = 0.5 * (1.0 + math.cos(math.radians(slope_deg)))
    return view * math.sqrt(view)


@elementwise
def sky_view_horizon(horizon_deg):
    """Share of a level surface's view that is sky above a horizon of even height.

    Parameters
    ----------
    horizon_deg : float or array
        Mean elevation of the obstructions [deg], 0 to 90.

    Returns
    -------
    float or array
        Share [1]: cos^2 of the elevation, the isotropic hemisphere integrated above it.
    """
    return math.cos(math.radians(horizon_deg)) ** 2


@elementwise
def planck_fraction(wavelength_um, t_C):
    """Share of a black body's flux below a wavelength.

    Parameters
    ----------
    wavelength_um : float or array
        Wavelength [um], above 1.
    t_C : float or array
        Temperature [degC].

    Returns
    -------
    float or array
        Share [1].

    References
    ----------
    Planck's law integrated as a series: Chang & Rhee 1984 (series of exponentials).
    """
    x = 14387.769 / (wavelength_um * (t_C + KELVIN))
    total = 0.0
    for n in range(1, 60):
        total += math.exp(-n * x) * (x**3 / n + 3.0 * x**2 / n**2 + 6.0 * x / n**3 + 6.0 / n**4)
    return 15.0 / math.pi**4 * total


@elementwise
def sky_emissivity_idso(t_air_C, t_dew_C, e_Pa, pressure_Pa, solar_hour_h):
    """Clear-sky emissivity of the whole spectrum (arguments as `sky_emissivity_berdahl_martin`); high at night.

    References
    ----------
    Idso 1981, Water Resources Research 17:295: 0.70 + 5.95e-5 e exp(1500/T), e in hPa.
    """
    return IDSO_A + IDSO_B * e_Pa / 100.0 * math.exp(IDSO_C / (t_air_C + KELVIN))


@elementwise
def cloud_effect_crawford_duchon(emissivity_clear, cloud_frac, base_height_m):
    """Cloud effect (arguments as `cloud_effect_martin_berdahl`) of a cloud cover black at air temperature.

    References
    ----------
    Crawford & Duchon 1999, J. Appl. Meteorol. 38:474: emissivity = (1 - s) + s e0, s the sun's share of its cloudless
    value by day; 1 - s is the cover here.
    """
    return cloud_frac


def sky_view_profile(azimuth_deg, horizon_deg, slope_deg, facing_deg):
    """Share of a tilted roof's view that is sky, over a horizon that changes with direction.

    Parameters
    ----------
    azimuth_deg : (n,) array
        Directions, even steps round the whole circle [deg].
    horizon_deg : (n,) or (members, n) array
        Elevation of the obstructions there [deg], 0 to 90.
    slope_deg, facing_deg : float or (members,) array
        Slope of the roof [deg], 0 to 90, and the direction it faces [deg].

    Returns
    -------
    float or (members,) array
        Share [1] of an even sky; (1 + cos b)/2 where nothing obstructs.

    Notes
    -----
    The cosine of incidence, cos b sin e + sin b cos e cos(a - facing), integrated in closed form from the horizon (or
    the roof's own plane, whichever is higher) to the zenith, summed over directions.
    """
    slope, facing = (np.radians(np.asarray(angle, dtype=float))[..., np.newaxis] for angle in (slope_deg, facing_deg))
    cos_b, sin_b = np.cos(slope), np.sin(slope)
    along = np.cos(np.radians(azimuth_deg) - facing)
    low = np.maximum(np.radians(horizon_deg), np.arctan2(-sin_b * along, cos_b))
    seen = 0.5 * cos_b * np.cos(low) ** 2 + sin_b * along * (0.5 * (0.5 * np.pi - low) - 0.25 * np.sin(2.0 * low))
    return 2.0 * seen.mean(axis=-1)


def sky_view_sectors(horizon_deg, slope_deg, facing_deg):
    """Share of a tilted roof's view that is sky, over a horizon told by even sectors.

    Parameters
    ----------
    horizon_deg : (sectors,) or (members, sectors) array
        Elevation of the obstructions in each sector [deg], 0 to 90, clockwise; the first sector is centred on north.
    slope_deg, facing_deg : float or (members,) array
        Slope of the roof [deg], 0 to 90, and the direction it faces [deg].

    Returns
    -------
    float or (members,) array
        Share [1] of an even sky, see `sky_view_profile`.
    """
    sectors = np.shape(horizon_deg)[-1]
    within = -(-DIRECTIONS // sectors)
    azimuth_deg = ((np.arange(sectors * within) + 0.5) / within - 0.5) * 360.0 / sectors
    return sky_view_profile(azimuth_deg, np.repeat(horizon_deg, within, axis=-1), slope_deg, facing_deg)


def sky_view_roof(horizon_deg, slope_deg, facing_deg):
    """Share of the sky's flux that a roof gets; what stands around it and the ground are at air temperature.

    Parameters
    ----------
    horizon_deg, slope_deg, facing_deg
        See `sky_view_sectors` [deg].

    Returns
    -------
    float or (members,) array
        Share [1]; `sky_view_walton` where nothing obstructs.

    References
    ----------
    Walton 1983: the view times the root of the open slope's view, since the sky low over the horizon is the warmer.
    """
    open_view = 0.5 * (1.0 + np.cos(np.radians(slope_deg)))
    return sky_view_sectors(horizon_deg, slope_deg, facing_deg) * np.sqrt(open_view)


CLOUDS = {
    "martin_berdahl": cloud_effect_martin_berdahl,
    "unsworth_monteith": cloud_effect_unsworth_monteith,
    "crawford_duchon": cloud_effect_crawford_duchon,
    "clark_allen": cloud_effect_clark_allen,
}

CLEAR_SKY = {
    "berdahl_martin": sky_emissivity_berdahl_martin,
    "berdahl_fromberg": sky_emissivity_berdahl_fromberg,
    "brunt": sky_emissivity_brunt,
    "brutsaert": sky_emissivity_brutsaert,
    "prata": sky_emissivity_prata,
    "dilley_obrien": sky_emissivity_dilley_obrien,
    "clark_allen": sky_emissivity_clark_allen,
    "idso": sky_emissivity_idso,
}
