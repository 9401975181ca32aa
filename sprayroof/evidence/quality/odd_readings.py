"""Readings that no healthy instrument gives: spikes, frozen, clipped and coarse ones. Functions of arrays alone."""

from __future__ import annotations

import itertools

import numpy as np

from sprayroof.evidence.steps import runs

SPIKE_LONGEST = 2  # steps; whatever stays longer may be true
RETURN_SHARE = 0.3  # of the spike: the readings before and after it must agree this well


def spikes(values: np.ndarray, least: float, step_s: int) -> np.ndarray:
    """Where a value leaves its neighbours for one or two steps and comes back.

    Parameters
    ----------
    values : ndarray, shape (n,)
        NaN where missing.
    least : float
        Smallest jump that counts, there and back [unit of the values].
    step_s : int
        Step [s]. Above five minutes nothing is called a spike: it may be true.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    found = np.zeros(len(values), dtype=bool)
    if step_s > 300 or len(values) < SPIKE_LONGEST + 2:
        return found
    for length in range(1, SPIKE_LONGEST + 1):
        before, after = values[: -length - 1], values[length + 1 :]
        inner = np.stack([values[1 + at : len(values) - length + at] for at in range(length)])
        above, below = inner - np.maximum(before, after), np.minimum(before, after) - inner
        jump = np.maximum(above.min(axis=0), below.min(axis=0))
        with np.errstate(invalid="ignore"):
            hit = (jump >= least) & (np.abs(after - before) <= RETURN_SHARE * jump)
        for at in range(length):
            found[1 + at : len(values) - length + at] |= hit
    return found


def frozen(values: np.ndarray, least_steps: int) -> np.ndarray:
    """Where a value stays exactly the same for at least `least_steps` known steps (missing ones do not end it)."""
    found = np.zeros(len(values), dtype=bool)
    known = np.flatnonzero(np.isfinite(values))
    if len(known) < least_steps:
        return found
    # A correction that runs between two calibrations moves a frozen reading by less than this from step to step.
    still = 1e-6 * np.maximum(np.abs(values[known][1:]), 1.0)
    changes = np.flatnonzero(np.abs(np.diff(values[known])) > still) + 1
    edges = np.concatenate([[0], changes, [len(known)]])
    for start, stop in itertools.pairwise(edges):
        if stop - start >= least_steps:
            found[known[start:stop]] = True
    return found


def clipped_at(values: np.ndarray, least_share: float = 0.03, least_runs: int = 3) -> float | None:
    """The largest value, where readings stop at it again and again as at the end of a range; None otherwise.

    A clipped channel sits exactly at its largest value for a notable share of the time it is above zero, in several
    runs of more than one step, and comes near it from below. A pump at constant flow does the same but for the last:
    its readings do not lie close beneath.
    """
    known = values[np.isfinite(values) & (values > 0.0)]
    if len(known) < 200:
        return None
    top = float(known.max())
    at_top = np.nan_to_num(values, nan=-np.inf) == top
    long = sum(stop - start >= 3 for start, stop in runs(at_top))
    span = top - float(np.quantile(known, 0.05))
    beneath = ((known < top) & (known > top - 0.2 * span)).mean() if span > 0.0 else 0.0
    is_clipped = at_top.sum() >= least_share * len(known) and long >= least_runs and beneath >= 0.05
    return top if is_clipped else None


def usual_step(values: np.ndarray) -> float:
    """The smallest step between readings that is usual [unit of the values]; 0 where there is none.

    The first percentile of the changes that are not zero: a few recalculated values do not hide a coarse reading.
    """
    change = np.abs(np.diff(values[np.isfinite(values)]))
    change = change[change > 1e-9]
    return float(np.quantile(change, 0.01)) if len(change) >= 20 else 0.0


def trend(days: np.ndarray, difference: np.ndarray) -> tuple[float, float]:
    """Drift of a daily difference over the whole record, and its 90 % half-width (Theil and Sen's slope, scipy)."""
    from scipy import stats

    known = np.isfinite(difference)
    if known.sum() < 10:
        return 0.0, np.inf
    slope, _, low, high = stats.theilslopes(difference[known], days[known], alpha=0.9)
    span = float(np.ptp(days[known]))
    return float(slope) * span, 0.5 * float(high - low) * span
