"""The running sheet, also where water is so scarce that it cools by many kelvins on its way: the slope in parts."""

from __future__ import annotations

from sprayroof.physics.compiled import compiled, compiled_apart
from sprayroof.physics.constants import CP_WATER
from sprayroof.physics.film import sheet, sheet_below

SCARCE_FALL_K = 4.5  # two points stand for the whole slope within 0.02 K up to this fall
DEEP_FALL_K, PARTS, DEEP_PARTS = 9.0, 3, 5
WIDER = 1.4  # each part than the one above: most of the fall is near the ridge
EVEN_PASSES, EVEN_STEP_K = 8, 0.001
USUAL_SLOPE_W_m2K = 20.0  # of a sheet's flux, for a first step alone


@compiled
def running_sheet(t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K,
                  pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2,
                  deck_profile_frac=1.0):
    """Heat and water given off per wetted area by a running sheet, scarce or not (arguments as `sheet`).

    Returns
    -------
    tuple of float
        See `film.sheet` [degC, W/m2, kg/(m2 s), W/m2, W/m2, W/m2]; then heat content of what evaporates, above 0 degC
        [W/m2]: more leaves where the water is warm.
    """
    mean, convection, evaporation, longwave, latent, deck = sheet(
        t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K, pressure_Pa,
        forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, deck_profile_frac)
    fall_K = abs(convection + longwave + latent + deck) / (CP_WATER * feed_kg_m2s)
    if fall_K <= SCARCE_FALL_K or ridge_share <= 1e-9:
        return mean, convection, evaporation, longwave, latent, deck, CP_WATER * evaporation * mean
    parts = PARTS if fall_K < DEEP_FALL_K else DEEP_PARTS
    return _over_deck(
        parts, t_in_C, feed_kg_m2s, ridge_share, mean, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K, pressure_Pa,
        forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, deck_profile_frac)


@compiled_apart
def _over_deck(parts, t_in_C, feed_kg_m2s, ridge_share, t_start_C, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K,
               pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2,
               deck_profile_frac):
    """The sheet in parts; what the deck takes everywhere alike goes with their mean: by secants on that mean."""
    even_W_m2K = deck_W_m2K * deck_profile_frac
    assumed, before, excess_before = t_start_C, t_start_C, 0.0
    mean = convection = evaporation = longwave = latent = vapour = 0.0
    for _ in range(EVEN_PASSES):
        mean, convection, evaporation, longwave, latent, vapour = _in_parts(
            parts, t_in_C, feed_kg_m2s, ridge_share, deck_W_m2K - even_W_m2K, t_deck_C,
            even_W_m2K * (assumed - t_deck_C), t_air_C, w_air, tv_air_K, pressure_Pa, forced_W_m2K, unstable_cubed,
            stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2)
        excess = mean - assumed
        if even_W_m2K == 0.0 or abs(excess) < EVEN_STEP_K:
            break
        step = excess / (1.0 + even_W_m2K / (USUAL_SLOPE_W_m2K + CP_WATER * feed_kg_m2s))
        if excess_before != 0.0 and excess != excess_before:
            step = excess * (assumed - before) / (excess_before - excess)
        before, excess_before = assumed, excess
        assumed += step
    return mean, convection, evaporation, longwave, latent, deck_W_m2K * (mean - t_deck_C), vapour


@compiled
def _in_parts(parts, t_in_C, feed_kg_m2s, ridge_share, deck_W_m2K, t_deck_C, even_W_m2, t_air_C, w_air, tv_air_K,
              pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2):
    """The sheet part by part, each fed by what runs down from the one above."""
    spread, flow, t_flow = (1.0 - ridge_share) * feed_kg_m2s, ridge_share * feed_kg_m2s, t_in_C
    mean = convection = evaporation = longwave = latent = vapour = 0.0
    width = (WIDER - 1.0) / (WIDER**parts - 1.0)
    for _ in range(parts):
        feed = flow / width + spread
        m, c, e, lw, lat, dk = sheet_below(
            t_flow, t_in_C, feed, 1.0 - spread / feed, t_flow, deck_W_m2K, t_deck_C, t_air_C, w_air, tv_air_K,
            pressure_Pa, forced_W_m2K, unstable_cubed, stable_cubed, lewis_per_cp, emissivity, longwave_in_W_m2, 0.0,
            even_W_m2)
        left = flow + width * (spread - e)
        t_flow = (flow * t_flow + width * (spread * t_in_C - (c + lw + lat + dk + even_W_m2) / CP_WATER - e * m)) / left
        flow = left
        mean, convection, evaporation = mean + width * m, convection + width * c, evaporation + width * e
        longwave, latent = longwave + width * lw, latent + width * lat
        vapour += width * CP_WATER * e * m
        width *= WIDER
    return mean, convection, evaporation, longwave, latent, vapour
