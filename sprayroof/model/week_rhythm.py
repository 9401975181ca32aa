"""Meters read by days whose use follows the days of the week: taken by whole weeks, which lets the rhythm drop out."""

from __future__ import annotations

import numpy as np

LARGEST_CHANCE = 0.001  # that seven means so far apart are chance
LEAST_SHARE = 0.1  # of the squares that the days of the week explain


def has_week_rhythm(residual: np.ndarray, days: np.ndarray) -> bool:
    """Whether what a line leaves over differs between the days of the week (one-way analysis of variance).

    Parameters
    ----------
    residual : ndarray, shape (n,)
        Use less fitted use, of days [any unit].
    days : ndarray of datetime64[D], shape (n,)
    """
    from scipy import stats

    weekday = (days.astype(np.int64) + 3) % 7  # 1 January 1970 was a Thursday
    groups = [residual[weekday == number] for number in range(7)]
    total = float(((residual - residual.mean()) ** 2).sum())
    if min(len(group) for group in groups) < 3 or total <= 0.0:
        return False
    between = sum(len(group) * (group.mean() - residual.mean()) ** 2 for group in groups)
    return bool(between > LEAST_SHARE * total and stats.f_oneway(*groups).pvalue < LARGEST_CHANCE)


def whole_weeks(days: np.ndarray) -> list[np.ndarray]:
    """Places of the days of whole weeks, seven days running, from the first day on.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
        Rising.
    """
    number = days.astype(np.int64)
    week = (number - number[0]) // 7 if len(number) else number
    places = [np.flatnonzero(week == one) for one in np.unique(week)]
    return [place for place in places if len(place) == 7]
