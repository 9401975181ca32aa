"""The running sheet of water under a cover: as `film.sheet`, with the cover in balance at every pass."""

from __future__ import annotations

from sprayroof.physics.compiled import compiled
from sprayroof.physics.cover import LOOP_RESIDUAL_W_M2, covered_surface_slopes
from sprayroof.physics.film import CALM_STEP_K, SHEET_PASSES, profile_over_deck, ridge_left, upper_weight


@compiled
def covered_sheet(t_in_C, feed_kg_m2s, ridge_share, t_start_C, t_cover_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air,
                  tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity,
                  longwave_in_W_m2, gap, optics, sun_W_m2=0.0, deck_profile_frac=1.0):
    """Heat and water given off per wetted area by a running sheet under a cover.

    Parameters
    ----------
    t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C : float
        See `film.sheet`.
    t_cover_start_C : float
        First guess of the cover's temperature [degC].
    deck_profile_frac : float
        See `film.profile_over_deck`.
    others
        See `cover.covered_surface`.

    Returns
    -------
    tuple of float
        Mean sheet temperature [degC], convection [W/m2], water lost with leaking air [kg/(m2 s)], long-wave [W/m2],
        latent heat flux [W/m2] (also of what drips back), heat into the deck [W/m2], cover temperature [degC].
    """
    mean, above, below, last, share, t_cover = t_start_C, 0.0, 0.0, 0.0, 1.0, t_cover_start_C
    convection = lost = longwave = latent = 0.0
    for _ in range(SHEET_PASSES):
        convection, lost, longwave, latent, h, lost_slope, lw_slope, lat_slope, t_cover, follows, _dew, _wet = (
            covered_surface_slopes(
                mean + above, t_cover, t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed,
                stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, gap, optics, sun_W_m2, LOOP_RESIDUAL_W_M2))
        if above > 0.0:
            c, e, lw, lat, h2, e_slope2, lw_slope2, lat_slope2, cover2, follows2, _dew, _wet = covered_surface_slopes(
                mean - below, t_cover - follows * (above + below), t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K,
                unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, gap, optics, sun_W_m2,
                LOOP_RESIDUAL_W_M2)
            u = upper_weight(above, below)
            convection, lost = c + u * (convection - c), e + u * (lost - e)
            longwave, latent = lw + u * (longwave - lw), lat + u * (latent - lat)
            h, lost_slope = h2 + u * (h - h2), e_slope2 + u * (lost_slope - e_slope2)
            lw_slope, lat_slope = lw_slope2 + u * (lw_slope - lw_slope2), lat_slope2 + u * (lat_slope - lat_slope2)
            t_cover, follows = cover2 + u * (t_cover - cover2), follows2 + u * (follows - follows2)
        slope = h + lw_slope + lat_slope
        flux = convection + latent + longwave + deck_W_m2K * (mean - t_deck_C)
        before = above
        feed, ridge = ridge_left(feed_kg_m2s, ridge_share, lost)
        new, above, below = profile_over_deck(
            t_in_C, t_in_C, mean, flux, slope, deck_W_m2K, deck_profile_frac, feed, ridge)
        step = new - mean
        if abs(step) < CALM_STEP_K and abs(above - before) < CALM_STEP_K:
            # the last, small step is taken along the slopes: what it leaves out is of its square
            mean = new
            convection += h * step
            lost += lost_slope * step
            longwave += lw_slope * step
            latent += lat_slope * step
            t_cover += follows * step
            break
        if step * last < 0.0:
            share *= 0.5
        last = step
        mean += share * step
        t_cover += follows * (share * step + above)
    return mean, convection, lost, longwave, latent, deck_W_m2K * (mean - t_deck_C), t_cover
