"""Which records of a night suffice: the rule of the night ledger, also used to tell what a fault costs."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.steps import runs

LEAST_RECORDS_FRAC = 0.9  # of the steps that sprayed
LONGEST_GAP_MIN = 60.0
# The store's state: before the first start, and beside the time at which the roof has drained after the last stop.
AT_A_TIME_S = 600.0  # a state at a time is the mean of the readings this near to it
BEFORE_S = 1.5 * AT_A_TIME_S
SETTLES_MIN = 60.0  # after a stop the roof drains back into the store


def falls_short(unknown: np.ndarray, count: int, step_s: float) -> bool:
    """Whether unknown steps are too many of `count`, or too long on end.

    Parameters
    ----------
    unknown : ndarray of bool, shape (n,)
    count : int
        Steps that should be known.
    step_s : float
        Length of a step [s].
    """
    return too_few(int(unknown.sum()), count) or longest_min(unknown, step_s) > LONGEST_GAP_MIN


def too_few(unknown: int, count: int) -> bool:
    """Whether less than nine tenths of `count` steps are known."""
    return bool(count) and unknown > (1.0 - LEAST_RECORDS_FRAC) * count + 1e-9


def longest_min(unknown: np.ndarray, step_s: float) -> float:
    """The longest stretch of unknown steps [min]."""
    return max((stop - start for start, stop in runs(unknown)), default=0) * step_s / 60.0
