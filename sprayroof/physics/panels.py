"""A closed loop of dry panels, for comparison with the wet roof: water cooled behind a plate, without losing any.

Bare in the wind or under a cover (`cover`, dry). Heat leaving the water is positive.
"""

from __future__ import annotations

import math

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CP_WATER,
    KELVIN,
    MASS_RATIO,
    PANEL_EMISSIVITY,
    PANEL_SELECTIVE_REST,
    PANEL_SELECTIVE_WINDOW,
    STEFAN_BOLTZMANN,
    VIRTUAL_FACTOR,
)
from sprayroof.physics.convection import mixed_convection_W_m2K
from sprayroof.physics.cover import covered_plate, sky_bands_W_m2, window_share
from sprayroof.physics.film import evaporation_kg_m2s, spalding_number
from sprayroof.physics.moistair import saturation_pressure_Pa, saturation_slope_1_K
from sprayroof.physics.water import latent_heat_J_kg

SEGMENTS = 4

# Emissivity in the window and in the rest
PLATES = {
    "ordinary": (PANEL_EMISSIVITY, PANEL_EMISSIVITY),
    "selective": (PANEL_SELECTIVE_WINDOW, PANEL_SELECTIVE_REST),
}


@compiled
def bare_plate(t_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
               emissivity_window, emissivity_rest, longwave_in_W_m2):
    """What a dry plate in the open gives off; dew settles on it where it is colder than the dew point.

    Parameters
    ----------
    t_C : float
        Plate temperature [degC].
    t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp : float
        Air and convection, see `film.wet_surface`.
    emissivity_window, emissivity_rest : float
        Of the plate in the atmospheric window and outside it [1].
    longwave_in_W_m2 : float
        All-sky flux on the plate [W/m2].

    Returns
    -------
    tuple of float
        Convection [W/m2], net long-wave [W/m2], latent heat [W/m2] (0 or less: dew warms the plate), slope of their
        sum with temperature [W/(m2 K)].

    Notes
    -----
    Dew runs off; a film of it would make any plate black, which is left out.
    """
    p_sat = saturation_pressure_Pa(t_C)
    dry = pressure_Pa - (1.0 - MASS_RATIO) * p_sat
    w_sat = MASS_RATIO * p_sat / dry
    w_near = min(w_sat, w_air)
    t_K = t_C + KELVIN
    h = mixed_convection_W_m2K(forced_W_m2K, unstable_cubed, stable_cubed,
                               t_K * (1.0 + VIRTUAL_FACTOR * w_near) - tv_air_K)
    latent, slope = 0.0, h
    if w_sat < w_air:
        heat = latent_heat_J_kg(t_C)
        latent = heat * evaporation_kg_m2s(h, lewis_per_cp, spalding_number(w_sat, w_air))
        slope += h * heat * lewis_per_cp * w_sat * saturation_slope_1_K(t_C) * pressure_Pa / dry
    window, rest = sky_bands_W_m2(longwave_in_W_m2, t_air_C)
    black = STEFAN_BOLTZMANN * t_K * t_K * t_K * t_K
    black_window = window_share(t_C) * black
    longwave = emissivity_window * (black_window - window) + emissivity_rest * (black - black_window - rest)
    slope += 4.0 * (emissivity_window * black_window + emissivity_rest * (black - black_window)) / t_K
    return h * (t_C - t_air_C), longwave, latent, slope


@compiled
def _warmest_C(t_air_C, longwave_in_W_m2):
    """Above this nothing outside can warm a plate: the air's temperature, or the sky's where it is higher."""
    return max(t_air_C, math.sqrt(math.sqrt(longwave_in_W_m2 / STEFAN_BOLTZMANN)) - KELVIN)


@compiled
def _after_C(t_C, flux_W_m2, slope_W_m2K, t_flux_C, warmest_C, units):
    """Water that starts at t_C after a number of transfer units per slope, the flux laid as a line through t_flux_C.

    A plate gathering dew takes up heat ever more slowly as it warms, so the line may vanish far above the flux.
    """
    settled = min(t_flux_C - flux_W_m2 / slope_W_m2K, warmest_C)
    return t_C + (t_C - settled) * math.expm1(-units * slope_W_m2K)


@compiled
def bare_panel(t_in_C, flow_kg_s, area_m2, panel_factor, back_W_m2K, t_air_C, w_air, tv_air_K, pressure_Pa,
               forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity_window, emissivity_rest,
               longwave_in_W_m2):
    """Water through a bare panel, plug flow with the non-linear balance.

    Parameters
    ----------
    t_in_C, flow_kg_s : float
        Water in [degC, kg/s]; flow above 0.
    area_m2 : float
        Of the plate [m2].
    panel_factor : float
        Plate efficiency factor: heat given off over that of a plate at water temperature [1].
    back_W_m2K : float
        Through the back to the air [W/(m2 K)].
    others
        See `bare_plate`.

    Returns
    -------
    tuple of float
        Outlet temperature [degC], heat given off [W], its long-wave part [W], mean water temperature [degC].

    Notes
    -----
    Four lengths; in each the flux is laid as a line through its value and slope at mid-length, whose plug flow is an
    exponential: exact for linear fluxes; water is never warmed above the warmer of air and sky.
    """
    units = panel_factor * area_m2 / (SEGMENTS * flow_kg_s * CP_WATER)
    warmest = _warmest_C(t_air_C, longwave_in_W_m2)
    t_C, longwave, mean = t_in_C, 0.0, 0.0
    for _ in range(SEGMENTS):
        t_at, t_on = t_C, t_C
        for half in range(2):
            convection, radiation, latent, slope = bare_plate(
                t_at, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
                emissivity_window, emissivity_rest, longwave_in_W_m2)
            flux = convection + radiation + latent + back_W_m2K * (t_at - t_air_C)
            t_on = _after_C(t_C, flux, slope + back_W_m2K, t_at, warmest, 0.5 * units if half == 0 else units)
            t_at = t_on if half == 0 else t_at
        longwave += panel_factor * area_m2 / SEGMENTS * radiation
        mean += t_at / SEGMENTS
        t_C = t_on
    return t_C, flow_kg_s * CP_WATER * (t_in_C - t_C), longwave, mean


@compiled
def covered_panel(t_in_C, t_cover_start_C, flow_kg_s, area_m2, panel_factor, back_W_m2K, t_air_C, w_air, tv_air_K,
                  pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity_window,
                  emissivity_rest, longwave_in_W_m2, gap, optics):
    """Water through a panel under a convection cover, as `bare_panel`.

    Parameters
    ----------
    t_in_C, flow_kg_s, area_m2, panel_factor, back_W_m2K : float
        See `bare_panel`.
    t_cover_start_C : float
        First guess of the cover's temperature [degC], nan: none.
    others
        See `cover.covered_plate`.

    Returns
    -------
    tuple of float
        Outlet temperature [degC], heat given off [W], its long-wave part [W], mean water temperature [degC],
        temperature of the cover near the outlet [degC].
    """
    units = panel_factor * area_m2 / (SEGMENTS * flow_kg_s * CP_WATER)
    warmest = _warmest_C(t_air_C, longwave_in_W_m2)
    t_C, longwave, mean, t_cover = t_in_C, 0.0, 0.0, t_cover_start_C
    for _ in range(SEGMENTS):
        t_at, t_on = t_C, t_C
        for half in range(2):
            convection, radiation, slope, t_cover, _wet = covered_plate(
                t_at, t_cover, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
                lewis_per_cp, emissivity_window, emissivity_rest, longwave_in_W_m2, gap, optics)
            flux = convection + radiation + back_W_m2K * (t_at - t_air_C)
            t_on = _after_C(t_C, flux, slope + back_W_m2K, t_at, warmest, 0.5 * units if half == 0 else units)
            t_at = t_on if half == 0 else t_at
        longwave += panel_factor * area_m2 / SEGMENTS * radiation
        mean += t_at / SEGMENTS
        t_C = t_on
    return t_C, flow_kg_s * CP_WATER * (t_in_C - t_C), longwave, mean, t_cover


@elementwise
def fin_efficiency(loss_W_m2K, plate_W_K, pitch_m, tube_m):
    """Efficiency of the plate between two tubes as a fin.

    Parameters
    ----------
    loss_W_m2K : float or array
        Slope of the plate's flux [W/(m2 K)].
    plate_W_K : float or array
        Conductivity times thickness of the plate [W/K].
    pitch_m, tube_m : float or array
        Distance of the tubes and their outer width [m].

    Returns
    -------
    float or array
        Efficiency [1].

    References
    ----------
    tanh(x)/x with x = sqrt(U/(k d)) (W - D)/2: Hottel & Whillier, any collector text.
    """
    x = math.sqrt(loss_W_m2K / plate_W_K) * 0.5 * (pitch_m - tube_m)
    return math.tanh(x) / x if x > 1e-6 else 1.0


@elementwise
def plate_factor(loss_W_m2K, plate_W_K, pitch_m, tube_m, bond_mK_W, water_W_m2K, bore_m):
    """Plate efficiency factor from the panel's make, for `panel_factor`.

    Parameters
    ----------
    loss_W_m2K, plate_W_K, pitch_m, tube_m : float or array
        See `fin_efficiency`.
    bond_mK_W : float or array
        Resistance of the bond times tube length [m K/W].
    water_W_m2K, bore_m : float or array
        Water side coefficient [W/(m2 K)] and inner diameter of the tubes [m].

    Returns
    -------
    float or array
        Factor [1].

    References
    ----------
    Duffie & Beckman, Solar Engineering of Thermal Processes, flat-plate collectors:
    F' = (1/U) / (W [1/(U (D + (W - D) F)) + R_bond + 1/(pi D_i h)]).
    """
    fin = fin_efficiency(loss_W_m2K, plate_W_K, pitch_m, tube_m)
    plate = 1.0 / (loss_W_m2K * (tube_m + (pitch_m - tube_m) * fin))
    return 1.0 / (loss_W_m2K * pitch_m * (plate + bond_mK_W + 1.0 / (math.pi * bore_m * water_W_m2K)))
