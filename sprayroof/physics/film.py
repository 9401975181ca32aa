"""The running sheet of water: what a wetted square metre gives off, and how the sheet cools on its way.

Heat leaving the water and water leaving the roof are positive. Condensation is negative evaporation, never clipped:
it brings water and heat.
"""

from __future__ import annotations

import math

from sprayroof.physics.compiled import compiled, elementwise
from sprayroof.physics.constants import (
    CP_WATER,
    GRAVITY,
    KELVIN,
    LATENT_SLOPE,
    MASS_RATIO,
    STEFAN_BOLTZMANN,
    VIRTUAL_FACTOR,
)
from sprayroof.physics.convection import mixed_convection_W_m2K
from sprayroof.physics.moistair import saturation_pressure_Pa, saturation_slope_1_K
from sprayroof.physics.water import latent_heat_J_kg

SHEET_STEP_K, CALM_STEP_K = 0.1, 0.02
LEAST_VARIANCE = 1e-12
SMALL_BLOWING = 0.06
SHEET_PASSES = 40
LEAST_SLOPE_W_m2K = 0.1


@elementwise
def spalding_number(surface_mass_fraction, air_mass_fraction):
    """Mass-transfer number B = (w_s - w_a)/(1 - w_s).

    Parameters
    ----------
    surface_mass_fraction, air_mass_fraction : float or array
        Vapour mass fraction of saturated air at the surface and of the air [kg/kg].

    Returns
    -------
    float or array
        Number [1], negative while vapour condenses.

    References
    ----------
    Spalding 1960; any mass-transfer text.
    """
    return (surface_mass_fraction - air_mass_fraction) / (1.0 - surface_mass_fraction)


@elementwise
def evaporation_kg_m2s(h_W_m2K, lewis_per_cp, spalding):
    """Evaporation by the Chilton-Colburn analogy, with the blowing correction ln(1 + B).

    Parameters
    ----------
    h_W_m2K : float or array
        Convection coefficient [W/(m2 K)].
    lewis_per_cp : float or array
        Le^(-2/3) / cp of the moist air [kg K/J].
    spalding : float or array
        Mass-transfer number [1].

    Returns
    -------
    float or array
        Rate [kg/(m2 s)], negative: condensation.

    References
    ----------
    Chilton & Colburn 1934.
    """
    return h_W_m2K * lewis_per_cp * blown(spalding, 1.0)


@compiled
def blown(part_frac, whole_frac):
    """ln(1 + B) of a mass-transfer number given as a fraction, by one division where B is small.

    Parameters
    ----------
    part_frac, whole_frac : float
        B is the first over the second, both in the same unit [1], above -1.

    Returns
    -------
    float
        ln(1 + B) [1], within 1e-12.
    """
    z = part_frac / (2.0 * whole_frac + part_frac)
    if abs(z) > SMALL_BLOWING:
        return math.log1p(part_frac / whole_frac)
    square = z * z
    return 2.0 * z * (1.0 + square * (1.0 / 3.0 + square * (1.0 / 5.0 + square * (1.0 / 7.0 + square / 9.0))))


@compiled
def wet_surface_slopes(t_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
                       lewis_per_cp, emissivity, longwave_in_W_m2):
    """What a wet surface gives to air and sky, and how that changes with its temperature.

    Parameters
    ----------
    t_C : float
        Surface temperature [degC].
    t_air_C, w_air, tv_air_K, pressure_Pa : float
        Air: temperature [degC], vapour mass fraction [kg/kg], virtual temperature [K], pressure [Pa].
    forced_W_m2K, unstable_cubed, stable_cubed : float
        Convection, see `convection.mixed_convection_W_m2K`.
    lewis_per_cp : float
        Le^(-2/3) / cp of the air [kg K/J].
    emissivity : float
        Of water [1].
    longwave_in_W_m2 : float
        Long-wave flux on the surface [W/m2].

    Returns
    -------
    tuple of float
        Convection [W/m2], evaporation [kg/(m2 s)], net long-wave [W/m2], latent heat flux [W/m2]; then their slopes
        with temperature [the same per K].
    """
    p_sat, relative_slope = saturation_pressure_Pa(t_C), saturation_slope_1_K(t_C)
    t_K, vapour = t_C + KELVIN, MASS_RATIO * p_sat
    dry, rest = pressure_Pa - p_sat + vapour, pressure_Pa - p_sat
    # saturated mass fraction w = vapour/dry, 1 - w = rest/dry, B = (vapour - w_air dry)/rest
    per_both = 1.0 / (dry * rest)
    w_sat, steepness = vapour * rest * per_both, vapour * relative_slope * pressure_Pa * per_both
    buoyancy_K = t_K * (1.0 + VIRTUAL_FACTOR * w_sat) - tv_air_K
    h = mixed_convection_W_m2K(forced_W_m2K, unstable_cubed, stable_cubed, buoyancy_K)
    latent_heat, carried = latent_heat_J_kg(t_C), h * lewis_per_cp
    evaporation = carried * blown(vapour - w_air * dry, rest)
    # the coefficient itself rises with the lightness of the air at the surface
    h_share = 0.0
    if buoyancy_K > 0.0 and h > 0.0:
        w_slope = steepness * rest * rest * per_both
        lightness_slope = 1.0 + VIRTUAL_FACTOR * (w_sat + t_K * w_slope)
        h_share = unstable_cubed * lightness_slope / (3.0 * h * h * h)
    evaporation_slope = carried * steepness + evaporation * h_share
    convection, cubed = h * (t_C - t_air_C), STEFAN_BOLTZMANN * t_K * t_K * t_K
    return (convection, evaporation, emissivity * (cubed * t_K - longwave_in_W_m2), evaporation * latent_heat,
            h + convection * h_share, evaporation_slope, 4.0 * emissivity * cubed,
            evaporation_slope * latent_heat + evaporation * LATENT_SLOPE)


@compiled
def wet_surface(t_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
                emissivity, longwave_in_W_m2):
    """What a wet surface gives to air and sky (arguments as `wet_surface_slopes`).

    Returns
    -------
    tuple of float
        Convection [W/m2], evaporation [kg/(m2 s)], net long-wave [W/m2], latent heat [J/kg], slope of the whole
        heat flux with temperature [W/(m2 K)].
    """
    convection, evaporation, longwave, _, h, _, longwave_slope, latent_slope = wet_surface_slopes(
        t_C, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp,
        emissivity, longwave_in_W_m2)
    return convection, evaporation, longwave, latent_heat_J_kg(t_C), h + longwave_slope + latent_slope


@compiled
def sheet_profile(t_in_C, t_equilibrium_C, k_kg_m2s, feed_kg_m2s, ridge_share):
    """Mean and spread of the sheet's temperature where the flux is linear in it.

    A share of the water enters at the ridge, the rest falls evenly on the whole slope. Balance at x (0 ridge, 1 eave):
    G(x) dT/dx = -k (T - T_eq) - G_u (T - T_in), with G(x) = G_0 + G_u x.

    Parameters
    ----------
    t_in_C, t_equilibrium_C : float
        Temperature of the water fed, and that at which the flux vanishes [degC].
    k_kg_m2s : float
        Slope of the flux over cp [kg/(m2 s)].
    feed_kg_m2s : float
        Water fed per wetted area [kg/(m2 s)].
    ridge_share : float
        Share fed at the ridge [1]: 0 mixed exchanger, 1 plug flow.

    Returns
    -------
    tuple of float
        Mean along the slope [degC], and two points that stand for it: how far above and below the mean they lie [K],
        both 0 or more. Weighed by the distance of the other (`upper_weight`), they have the mean, the square and the
        cube of the temperature's departure from its mean.

    References
    ----------
    Derived here; limits N/(1+N) (mixed) and 1-exp(-N) (plug) of any heat-exchanger text; two-point Gauss rule.
    """
    mean, above, below, _ = profile_and_pull(t_in_C, t_in_C, t_equilibrium_C, k_kg_m2s, feed_kg_m2s, ridge_share)
    return mean, above, below


@compiled
def profile_and_pull(t_ridge_C, t_in_C, t_equilibrium_C, k_kg_m2s, feed_kg_m2s, ridge_share):
    """The profile, and how much its mean moves with the temperature of equilibrium.

    Parameters
    ----------
    t_ridge_C : float
        Temperature of what comes from the ridge [degC].
    t_in_C : float
        Temperature of what falls evenly [degC].
    others
        See `sheet_profile`.

    Returns
    -------
    tuple of float
        As `sheet_profile` [degC, K, K], then that movement [1: K/K].
    """
    ridge, spread_feed = ridge_share * feed_kg_m2s, (1.0 - ridge_share) * feed_kg_m2s
    settles = 1.0 / (k_kg_m2s + spread_feed)
    settled, pull = (k_kg_m2s * t_equilibrium_C + spread_feed * t_in_C) * settles, k_kg_m2s * settles
    if ridge_share <= 1e-9:
        return settled, 0.0, 0.0, pull
    excess = t_ridge_C - settled
    if ridge_share >= 1.0 - 1e-9:
        n = k_kg_m2s / feed_kg_m2s
        left = math.exp(-n)
        first, second, third = (1.0 - left) / n, (1.0 - left**2) / (2.0 * n), (1.0 - left**3) / (3.0 * n)
    else:
        ratio, log_ratio = ridge / spread_feed, math.log(feed_kg_m2s / ridge)
        power = 1.0 + k_kg_m2s / spread_feed
        first = -ratio * math.expm1((1.0 - power) * log_ratio) / (power - 1.0)
        second = -ratio * math.expm1((1.0 - 2.0 * power) * log_ratio) / (2.0 * power - 1.0)
        third = -ratio * math.expm1((1.0 - 3.0 * power) * log_ratio) / (3.0 * power - 1.0)
    variance = second - first * first
    pull *= 1.0 - first
    if variance <= LEAST_VARIANCE:
        return settled + excess * first, 0.0, 0.0, pull
    spread = math.sqrt(variance)
    skew = 0.5 * (third - 3.0 * first * second + 2.0 * first * first * first) / (variance * spread)
    wide = math.sqrt(1.0 + skew * skew)
    above, below = excess * spread * (wide + skew), excess * spread * (wide - skew)
    if excess < 0.0:
        above, below = -below, -above
    return settled + excess * first, above, below, pull


@compiled
def profile_over_deck(t_ridge_C, t_in_C, mean_C, flux_W_m2, slope_W_m2K, deck_W_m2K, deck_profile_frac, feed_kg_m2s,
                      ridge_share):
    """The profile of a sheet that also gives heat to the deck beneath it, nearer than `mean_C`.

    A deck passes no heat along the slope. Where it has taken on the profile of the water above it, what it takes is
    even along the slope and goes with the mean alone; where it is still alike everywhere, it flattens the profile.

    Parameters
    ----------
    t_ridge_C, t_in_C, feed_kg_m2s, ridge_share : float
        See `profile_and_pull`.
    mean_C : float
        Mean sheet temperature so far [degC].
    flux_W_m2 : float
        Heat given off there, to the deck as well [W/m2].
    slope_W_m2K : float
        How the flux to air and sky rises with the temperature [W/(m2 K)], above 0.
    deck_W_m2K : float
        Conductance to the deck [W/(m2 K)].
    deck_profile_frac : float
        The deck's departure from its own mean over the water's, at any place along the slope [1], 0 to 1.

    Returns
    -------
    tuple of float
        Mean along the slope [degC] and the two points that stand for the profile, as `sheet_profile` [K].

    References
    ----------
    Derived here: Newton's step on the mean, with the even part of the heat into the deck moving along.
    """
    even_W_m2K = deck_W_m2K * deck_profile_frac
    slope = max(slope_W_m2K + deck_W_m2K - even_W_m2K, LEAST_SLOPE_W_m2K)
    mean, above, below, pull = profile_and_pull(
        t_ridge_C, t_in_C, mean_C - flux_W_m2 / slope, slope / CP_WATER, feed_kg_m2s, ridge_share)
    return mean_C + (mean - mean_C) / (1.0 + pull * even_W_m2K / slope), above, below


@compiled
def upper_weight(above_K, below_K):
    """Weight of the upper of the two points of `sheet_profile`.

    Parameters
    ----------
    above_K, below_K : float
        Distances of the two points from the mean [K], above 0.

    Returns
    -------
    float
        Weight [1]; the lower point has the rest.
    """
    return below_K / (above_K + below_K)


@compiled
def ridge_left(feed_kg_m2s, ridge_share, evaporation_kg_m2s):
    """Feed and ridge share where what comes from the ridge is less by half of what evaporates on the way.

    Water that falls evenly leaves room for its own evaporation; what runs down from the ridge shrinks.

    Parameters
    ----------
    feed_kg_m2s : float
        Water fed per wetted area [kg/(m2 s)].
    ridge_share : float
        Share of it fed at the ridge [1].
    evaporation_kg_m2s : float
        Mean evaporation [kg/(m2 s)].

    Returns
    -------
    tuple of float
        Feed [kg/(m2 s)] and ridge share [1].
    """
    if ridge_share <= 1e-9:
        return feed_kg_m2s, ridge_share
    ridge = ridge_share * feed_kg_m2s
    left = max(ridge - 0.5 * ridge_share * evaporation_kg_m2s, 0.5 * ridge)
    feed = feed_kg_m2s - ridge + left
    return feed, left / feed


@compiled
def close_enough_K(forced_W_m2K, unstable_cubed):
    """Step that may be taken along the slopes: smaller where rising air outdoes the wind, and the slopes swing.

    Parameters
    ----------
    forced_W_m2K, unstable_cubed : float
        See `convection.mixed_convection_W_m2K`.

    Returns
    -------
    float
        Step [K].
    """
    return SHEET_STEP_K if unstable_cubed < forced_W_m2K * forced_W_m2K * forced_W_m2K else CALM_STEP_K


@compiled
def sheet(t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K, pressure_Pa,
          forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2,
          deck_profile_frac=1.0):
    """Heat and water given off per wetted area by a running sheet, from the non-linear balance.

    Parameters
    ----------
    t_in_C : float
        Water landing on the roof [degC].
    feed_kg_m2s, ridge_share : float
        See `sheet_profile`.
    t_start_C : float
        First guess of the mean sheet temperature [degC].
    deck_W_m2K, t_deck_C : float
        Conductance to and mean temperature of the deck beneath [W/(m2 K), degC].
    deck_profile_frac : float
        See `profile_over_deck`.
    others
        See `wet_surface`.

    Returns
    -------
    tuple of float
        Mean sheet temperature [degC], convection [W/m2], evaporation [kg/(m2 s)], long-wave [W/m2],
        latent heat flux [W/m2], heat into the deck [W/m2].

    Notes
    -----
    The flux is averaged over the two points of `sheet_profile`, which is exact to the third order in the spread of
    temperature along the slope; the mean follows from the balance with that flux, by Newton steps with the analytic
    slope, shortened while they change sign.
    """
    return sheet_below(t_in_C, t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air,
                       tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity,
                       longwave_in_W_m2, deck_profile_frac, 0.0)


@compiled
def sheet_below(t_ridge_C, t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K,
                pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2,
                deck_profile_frac, even_W_m2):
    """As `sheet`, for a part of the slope onto which water runs down that is no longer as warm as it was fed.

    Parameters
    ----------
    t_ridge_C : float
        Temperature of what runs down onto the part [degC].
    even_W_m2 : float
        Heat given off besides, everywhere the same [W/m2]; not among what is returned.
    others
        See `sheet`.

    Returns
    -------
    tuple of float
        See `sheet` [degC, W/m2, kg/(m2 s), W/m2, W/m2, W/m2].
    """
    mean, above, below, last, share = t_start_C, 0.0, 0.0, 0.0, 1.0
    close_K = close_enough_K(forced_W_m2K, unstable_cubed)
    convection = evaporation = longwave = latent = 0.0
    for _ in range(SHEET_PASSES):
        convection, evaporation, longwave, latent, h, e_slope, l_slope, lat_slope = wet_surface_slopes(
            mean + above, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
            lewis_per_cp, emissivity, longwave_in_W_m2)
        if above > 0.0:
            c, e, lw, lat, h2, e_slope2, l_slope2, lat_slope2 = wet_surface_slopes(
                mean - below, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed,
                lewis_per_cp, emissivity, longwave_in_W_m2)
            u = upper_weight(above, below)
            convection, evaporation = c + u * (convection - c), e + u * (evaporation - e)
            longwave, latent = lw + u * (longwave - lw), lat + u * (latent - lat)
            h, e_slope = h2 + u * (h - h2), e_slope2 + u * (e_slope - e_slope2)
            l_slope, lat_slope = l_slope2 + u * (l_slope - l_slope2), lat_slope2 + u * (lat_slope - lat_slope2)
        slope = h + l_slope + lat_slope
        flux = convection + latent + longwave + deck_W_m2K * (mean - t_deck_C) + even_W_m2
        before = above
        feed, ridge = ridge_left(feed_kg_m2s, ridge_share, evaporation)
        new, above, below = profile_over_deck(
            t_ridge_C, t_in_C, mean, flux, slope, deck_W_m2K, deck_profile_frac, feed, ridge)
        step = new - mean
        if abs(step) < close_K and abs(above - before) < close_K:
            # the last, small step is taken along the slopes: what it leaves out is of its square
            mean = new
            convection += h * step
            evaporation += e_slope * step
            longwave += l_slope * step
            latent += lat_slope * step
            break
        # near calm the coefficient itself swings with the sign of buoyancy: shorten steps that turn back
        if step * last < 0.0:
            share *= 0.5
        last = step
        mean += share * step
    return mean, convection, evaporation, longwave, latent, deck_W_m2K * (mean - t_deck_C)


@compiled
def outlet_C(mass_in_kg, t_in_C, heat_out_J, vapour_kg, t_vapour_C):
    """Temperature of the water left after heat and vapour have gone, so that the balance holds exactly.

    Parameters
    ----------
    mass_in_kg, t_in_C : float
        Water in [kg, degC].
    heat_out_J : float
        Heat given off, latent heat included [J].
    vapour_kg, t_vapour_C : float
        Water evaporated [kg] and the temperature it left at [degC].

    Returns
    -------
    float
        Temperature [degC].
    """
    left_kg = mass_in_kg - vapour_kg
    return (mass_in_kg * CP_WATER * t_in_C - heat_out_J - vapour_kg * CP_WATER * t_vapour_C) / (left_kg * CP_WATER)


@elementwise
def nusselt_thickness_m(flow_kg_ms, slope_deg, viscosity_Pa_s, density_kg_m3):
    """Thickness of a laminar film running down a slope.

    Parameters
    ----------
    flow_kg_ms : float or array
        Flow per width [kg/(m s)], film Reynolds number 4 G/mu below about 1600.
    slope_deg : float or array
        Slope [deg], above 0.
    viscosity_Pa_s, density_kg_m3 : float or array
        Of the water.

    Returns
    -------
    float or array
        Thickness [m].

    References
    ----------
    Nusselt 1916: (3 mu G / (rho^2 g sin b))^(1/3).
    """
    return (3.0 * viscosity_Pa_s * flow_kg_ms
            / (density_kg_m3**2 * GRAVITY * math.sin(math.radians(slope_deg)))) ** (1.0 / 3.0)
