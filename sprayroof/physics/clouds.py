"""Clouds where the weather file tells little of them: from the day's sun, carried through the night, by layers."""

from __future__ import annotations

import math

import numpy as np

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import (
    CLOUD_SCALE_HEIGHT,
    KASTEN_CLEAR_A,
    KASTEN_CLEAR_B,
    KASTEN_DEPTH,
    KASTEN_EXPONENT,
)


@elementwise
def clear_sun_kasten_czeplak_W_m2(sun_elevation_deg):
    """Sun on level ground under a cloudless sky.

    Parameters
    ----------
    sun_elevation_deg : float or array
        Elevation of the sun [deg].

    Returns
    -------
    float or array
        Global radiation [W/m2], 0 or more.

    References
    ----------
    Kasten & Czeplak 1980: 910 sin(g) - 30.
    """
    return max(0.0, KASTEN_CLEAR_A * math.sin(math.radians(sun_elevation_deg)) - KASTEN_CLEAR_B)


@elementwise
def cloud_kasten_czeplak_frac(clearness_ratio):
    """Cloud cover that dims the sun to a share of its cloudless value.

    Parameters
    ----------
    clearness_ratio : float or array
        Global radiation over that of a cloudless sky [1]; beyond 0.25 to 1 the cover is whole or none.

    Returns
    -------
    float or array
        Cover [1], 0 to 1.

    References
    ----------
    Kasten & Czeplak 1980, G/G0 = 1 - 0.75 N^3.4, turned round.
    """
    loss = (1.0 - clearness_ratio) / KASTEN_DEPTH
    return min(1.0, max(0.0, loss)) ** (1.0 / KASTEN_EXPONENT)


def cloud_effect_layers_frac(cover_frac, emissivity, base_height_m):
    """Cloud effect of layers with their own bases: 0 clear, 1 black at air temperature.

    Parameters
    ----------
    cover_frac : (n,) or (n, steps) array
        Share of the sky that each layer is seen to fill [1], together 1 or less.
    emissivity : (n,) or (n, 1) array
        Of each layer [1]: 1 opaque, 0.4 thin and high.
    base_height_m : (n,) or (n, steps) array
        Bases over ground [m].

    Returns
    -------
    float or (steps,) array
        Effect [1], see `sky.cloud_effect_martin_berdahl`; NaN where a layer's cover is.

    References
    ----------
    Martin & Berdahl 1984: sum of n ec exp(-h/8.2 km).
    """
    return np.minimum(1.0, np.sum(cover_frac * emissivity * np.exp(-base_height_m / CLOUD_SCALE_HEIGHT), axis=0))


def night_cloud_frac(cloud_frac, sun_elevation_deg, lowest_deg):
    """Cloud cover with the night filled by what the last daylight told.

    Parameters
    ----------
    cloud_frac : (steps,) array
        Cover from the sun [1]; NaN where unknown.
    sun_elevation_deg : (steps,) array
        Elevation of the sun [deg].
    lowest_deg : float
        Sun below which its radiation tells nothing [deg], `CLOUD_SUN_LOWEST_DEG`.

    Returns
    -------
    (steps,) array
        Cover [1]. Before the first daylight: that daylight's own; NaN throughout where there is none at all.

    Notes
    -----
    The last reading of the day is carried, not a mean with the next morning: what a controller could have known, and
    fog that forms by morning must not be laid over the whole night. Its doubt is that of a whole night's cloud.
    """
    cloud, sun = np.asarray(cloud_frac, dtype=float), np.asarray(sun_elevation_deg, dtype=float)
    known = np.isfinite(cloud) & (sun >= lowest_deg)
    if not known.any():
        return np.full(cloud.shape, np.nan)
    last = np.maximum.accumulate(np.where(known, np.arange(cloud.size), -1))
    return cloud[np.where(last >= 0, last, np.argmax(known))]
