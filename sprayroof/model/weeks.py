"""Which week of the year a picture of the store shows."""

from __future__ import annotations

import numpy as np

WEEK_DAYS = 7
OFTEN_DAYS = 4  # of the week, on which the spray has to run if any week has as many


def typical_week(spray_s: np.ndarray, roof_J: np.ndarray, useful_J: np.ndarray) -> tuple[int, bool]:
    """First day of the week that is most like the others with spraying, and whether anything is sprayed in it.

    Of all weeks in which the spray runs on four days or more (or, if there are none, on as many as any week has), the
    one nearest to their medians of spraying time, cooling at the roof and useful cooling. Without any spraying, the
    week with most useful cooling.

    Parameters
    ----------
    spray_s, roof_J, useful_J : (days,) arrays
        Sums of every day; at least seven days.
    """
    measures = np.array([_weekly(values) for values in (spray_s, roof_J, useful_J)])
    days_sprayed = _weekly((np.asarray(spray_s) > 0.0).astype(float)).round()
    most = days_sprayed.max()
    if most == 0.0:
        return int(np.argmax(measures[2])), False
    often = np.flatnonzero(days_sprayed >= min(OFTEN_DAYS, most))
    return int(often[np.argmin(_distance(measures[:, often]))]), True


def _weekly(values: np.ndarray) -> np.ndarray:
    """Sums over seven days, by their first day."""
    return np.convolve(values, np.ones(WEEK_DAYS), "valid")


def _distance(measures: np.ndarray) -> np.ndarray:
    """How far each week lies from the medians, each measure in its own mean distance."""
    off = np.abs(measures - np.median(measures, axis=1, keepdims=True))
    mean = off.mean(axis=1, keepdims=True)
    return (off / np.where(mean > 0.0, mean, 1.0)).sum(axis=0)
