"""Where the sun stands, and true solar time."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd


def sun_at(
    times: pd.DatetimeIndex, latitude_deg: float, longitude_deg: float, elevation_m: float = 0.0
) -> tuple[np.ndarray, np.ndarray]:
    """Height of the sun and true solar time.

    Parameters
    ----------
    times : DatetimeIndex, shape (n,)
        Instants with a time zone (interval middles, in this project).
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float
        Above sea level [m].

    Returns
    -------
    sun_elevation_deg : ndarray, shape (n,)
        True (not refracted) height of the sun's centre above the horizon [deg].
    solar_hour_h : ndarray, shape (n,)
        True solar time, 12 when the sun is due south or north, 0 <= h < 24 [h].

    References
    ----------
    Reda & Andreas 2008, NREL/TP-560-34302 (the algorithm behind `pvlib.solarposition`).
    """
    from pvlib.solarposition import get_solarposition

    utc = times.tz_convert("UTC")
    position = get_solarposition(utc, latitude_deg, longitude_deg, altitude=elevation_m)
    hour_utc = utc.hour + utc.minute / 60.0 + utc.second / 3600.0
    solar_hour_h = (hour_utc + longitude_deg / 15.0 + position["equation_of_time"].to_numpy() / 60.0) % 24.0
    return position["elevation"].to_numpy(), solar_hour_h.to_numpy()
