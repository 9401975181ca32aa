"""Amounts summed up over time, and how a real year of them is laid on a typical one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

DAY_S = 86400.0


@dataclass(frozen=True)
class RunningSum:
    """An amount (rain, energy) summed up since the record began, by local standard time.

    Parameters
    ----------
    corners_s : ndarray, shape (n,)
        Rising times in seconds of local standard time since 1970.
    running : ndarray, shape (n,)
        Amount until then; between corners it grows evenly.
    begin_s, end_s : float
        The span the record covers.
    """

    corners_s: np.ndarray
    running: np.ndarray
    begin_s: float
    end_s: float

    def between(self, starts_s: np.ndarray, ends_s: np.ndarray) -> np.ndarray:
        """Amounts from `starts_s` to `ends_s`."""
        until = np.interp(ends_s, self.corners_s, self.running)
        return until - np.interp(starts_s, self.corners_s, self.running)

    def covers(self, start_s: float, end_s: float, slack_s: float = DAY_S) -> bool:
        """True where the record holds this span but for `slack_s` at either end."""
        return self.begin_s <= start_s + slack_s and self.end_s >= end_s - slack_s

    def full_years(self) -> list[int]:
        """Calendar years that the record covers, but for a day at either end."""
        first, last = int(day_text(self.begin_s)[:4]), int(day_text(self.end_s - 1)[:4])
        return [year for year in range(first, last + 1) if self.covers(new_year_s(year), new_year_s(year + 1))]

    def first_twelve_months(self) -> np.datetime64 | None:
        """First day of a record of at least a year that holds no full calendar year; None if it is shorter."""
        if not self.covers(self.begin_s, self.begin_s + 365.0 * DAY_S):
            return None
        return np.datetime64(int(self.begin_s + DAY_S / 2), "s").astype("datetime64[D]")

    def of_typical_year(
        self, index: pd.DatetimeIndex, step_s: int, utc_offset_h: float, begin: np.datetime64
    ) -> np.ndarray:
        """Amounts of the twelve months from `begin` for the steps of a nominal year, by month, day and time of day.

        Hours that the record lacks at one end of these months (a day at most) are taken a year away, at its other end.

        Parameters
        ----------
        index : DatetimeIndex, shape (n,)
            Step starts (UTC) of a year without 29 February.
        step_s : int
            Length of a step [s].
        utc_offset_h : float
            Local standard time less UTC [h].
        begin : datetime64
            First day of the real year.
        """
        starts_s = _same_day_and_hour(index, utc_offset_h, begin)
        year_s = 365.0 * DAY_S
        starts_s = np.where(starts_s + step_s > self.end_s, starts_s - year_s, starts_s)
        starts_s = np.where(starts_s < self.begin_s, starts_s + year_s, starts_s)
        return self.between(starts_s, starts_s + step_s)

    def span_text(self) -> str:
        """First and last day."""
        return f"{day_text(self.begin_s)} to {day_text(self.end_s - 1)}"


def of_intervals(amounts: np.ndarray, start: pd.Timestamp, interval_s: int, utc_offset_h: float) -> RunningSum:
    """The running sum of amounts per interval.

    Parameters
    ----------
    amounts : ndarray, shape (n,)
        Amount in each interval.
    start : Timestamp
        Start of the first interval (UTC).
    interval_s : int
        Length of every interval [s].
    utc_offset_h : float
        Local standard time less UTC [h].
    """
    corners_s = start.timestamp() + utc_offset_h * 3600.0 + np.arange(len(amounts) + 1) * float(interval_s)
    return RunningSum(corners_s, np.concatenate([[0.0], np.cumsum(amounts)]), corners_s[0], corners_s[-1])


def local_seconds(index: pd.DatetimeIndex, utc_offset_h: float) -> np.ndarray:
    """Seconds of local standard time since 1970 for each time of a UTC index."""
    return index.as_unit("ns").asi8 / 1e9 + utc_offset_h * 3600.0


def _same_day_and_hour(index: pd.DatetimeIndex, utc_offset_h: float, begin: np.datetime64) -> np.ndarray:
    """Seconds of local standard time of the same month, day and time in the twelve months from `begin`."""
    import pandas as pd

    local = index.tz_localize(None) + pd.Timedelta(hours=utc_offset_h)
    first = pd.Timestamp(begin)
    later = (local.month > first.month) | ((local.month == first.month) & (local.day >= first.day))
    year = np.where(later, first.year, first.year + 1)
    midnights = pd.to_datetime(pd.DataFrame({"year": year, "month": local.month, "day": local.day}))
    of_day_s = (local - local.normalize()).total_seconds().to_numpy()
    return midnights.to_numpy().astype("datetime64[s]").astype(float) + of_day_s


def new_year_s(year: int) -> float:
    """Midnight of 1 January in seconds since 1970, both by local standard time."""
    return float(np.datetime64(f"{year:04d}-01-01", "s").astype(int))


def day_text(seconds: float) -> str:
    """The day of a time in seconds since 1970."""
    return str(np.datetime64(int(seconds), "s").astype("datetime64[D]"))
