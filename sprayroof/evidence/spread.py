"""How widely numbers scatter about their middle, told so that a few odd ones do not count."""

from __future__ import annotations

import numpy as np

SD_PER_MEDIAN_DEPARTURE = 1.4826  # of a normal distribution: 1 / 0.6745


def robust_sd(values: np.ndarray, middle: float | None = None) -> float:
    """Standard deviation that the median departure from the middle stands for, in the unit of the values.

    Parameters
    ----------
    values : ndarray, shape (n,)
        All known; 0 is given back where there are none.
    middle : float, optional
        Of the values; their median unless given.
    """
    if not len(values):
        return 0.0
    about = float(np.median(values)) if middle is None else middle
    return SD_PER_MEDIAN_DEPARTURE * float(np.median(np.abs(values - about)))
