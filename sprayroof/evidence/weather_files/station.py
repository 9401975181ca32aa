"""What a weather file says, on one regular grid, before it is carried to the site and to the simulation step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

# channel -> (what a record stands for in hourly weather files, and in logger tables), see evidence.steps
CHANNELS = {
    "t_air_C": ("instant", "mean"),
    "t_dew_C": ("instant", "mean"),
    "humidity_frac": ("instant", "mean"),
    "pressure_Pa": ("instant", "mean"),
    "wind_m_s": ("instant", "mean"),
    "cloud_opaque_frac": ("instant", "mean"),
    "cloud_total_frac": ("instant", "mean"),
    "cloud_low_frac": ("instant", "mean"),
    "cloud_middle_frac": ("instant", "mean"),
    "cloud_high_frac": ("instant", "mean"),
    "cloud_low_base_m": ("instant", "mean"),
    "cloud_middle_base_m": ("instant", "mean"),
    "cloud_high_base_m": ("instant", "mean"),
    "long_wave_W_m2": ("mean", "mean"),
    "solar_W_m2": ("amount", "amount"),
    "rain_mm": ("amount", "amount"),
}

LABELS = {
    "t_air_C": "air temperature",
    "t_dew_C": "dew point",
    "humidity_frac": "relative humidity",
    "pressure_Pa": "pressure",
    "wind_m_s": "wind speed",
    "cloud_opaque_frac": "opaque sky cover",
    "cloud_total_frac": "total sky cover",
    "cloud_low_frac": "low cloud",
    "cloud_middle_frac": "middle cloud",
    "cloud_high_frac": "high cloud",
    "cloud_low_base_m": "base of low cloud",
    "cloud_middle_base_m": "base of middle cloud",
    "cloud_high_base_m": "base of high cloud",
    "long_wave_W_m2": "long-wave radiation",
    "solar_W_m2": "solar radiation",
    "rain_mm": "rain",
    "rain_hours": "hours of the rain depth",
}


@dataclass
class StationRecord:
    """The records of one weather file.

    Parameters
    ----------
    where : str
        Shown name of the file.
    kind : str
        "EPW", "TMY3", "TMY2" or "table".
    place : str
        Name of the station as the file gives it.
    latitude_deg, longitude_deg, elevation_m : float or None
        Of the station; None where the file does not say.
    utc_offset_h : float
        Local standard time less UTC, by which the file's year begins and ends [h].
    start : Timestamp
        UTC start of the first interval.
    interval_s : int
        Length of every interval [s].
    values : dict of str to ndarray, each shape (n,)
        Channels of `CHANNELS`; NaN where missing; absent channels absent.
    lines : ndarray of int, shape (n,)
        Line of the file behind each record, 0 where the file has none.
    years : tuple of int
        Calendar years the records come from; empty where unknown.
    typical : bool
        True where the year is put together from several, or is one by nature.
    declared_type : str
        What the file calls itself, if it does.
    rain_hours : ndarray or None
        Hours over which each rain depth was gathered, where the file says so.
    """

    where: str
    kind: str
    place: str
    latitude_deg: float | None
    longitude_deg: float | None
    elevation_m: float | None
    utc_offset_h: float
    start: pd.Timestamp
    interval_s: int
    values: dict[str, np.ndarray]
    lines: np.ndarray
    years: tuple[int, ...]
    typical: bool
    declared_type: str = ""
    rain_hours: np.ndarray | None = None

    def __len__(self) -> int:
        """Number of records."""
        return len(self.lines)

    def channel(self, name: str) -> np.ndarray:
        """The channel, or NaN throughout."""
        return self.values.get(name, np.full(len(self), np.nan))

    def timing(self, name: str) -> str:
        """What a record of `name` stands for: instant, mean or amount."""
        return CHANNELS[name][1 if self.kind == "table" else 0]

    def when(self, position: int) -> str:
        """Local standard time at the end of record `position`, and its line where there is one."""
        import pandas as pd

        end = self.start + pd.Timedelta(seconds=(position + 1) * self.interval_s, hours=self.utc_offset_h)
        text = end.strftime("%m-%d %H:%M" if self.typical else "%Y-%m-%d %H:%M")
        return f"line {self.lines[position]} ({text})" if self.lines[position] else text
