"""Readings that no healthy instrument gives: spikes, frozen, clipped and coarse ones. Functions of arrays alone."""

from __future__ import annotations

import itertools

import numpy as np

from sprayroof.evidence.steps import runs

SPIKE_LONGEST = 2  # rows; whatever stays longer may be true
SPIKE_ROW_S = 300.0  # rows further apart may hold true jumps
RETURN_SHARE = 0.3  # of the spike: the readings before and after it must agree this well


def spikes(values: np.ndarray, times_ns: np.ndarray, least: float, held: bool = False) -> np.ndarray:
    """Where a reading leaves its neighbours for one or two rows and comes back.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings row by row, as written: on a grid a row may lie on two steps, and its jump on none. NaN where missing.
    times_ns : ndarray of int64, shape (n,)
        Rising [ns].
    least : float
        Smallest jump that counts, there and back [unit of the values].
    held : bool
        Whether a reading holds until the next row; what came before it may then be old.

    Returns
    -------
    ndarray of bool, shape (n,)
        Rows further apart than five minutes show no spike: what they hold may be true.
    """
    found = np.zeros(len(values), dtype=bool)
    rows = np.flatnonzero(np.isfinite(values))  # a spike beside a missing reading is one too
    known, times_s = values[rows], times_ns[rows] / 1e9
    for length in range(1, SPIKE_LONGEST + 1):
        if len(known) < length + 2:
            break
        before, after = known[: -length - 1], known[length + 1 :]
        inner = np.stack([known[1 + at : len(known) - length + at] for at in range(length)])
        above, below = inner - np.maximum(before, after), np.minimum(before, after) - inner
        jump = np.maximum(above.min(axis=0), below.min(axis=0))
        first = 1 if held else 0
        lasts_s = times_s[length + 1 :] - times_s[first : len(known) - length - 1 + first]
        hit = (jump >= least) & (np.abs(after - before) <= RETURN_SHARE * jump)
        hit &= lasts_s <= SPIKE_ROW_S * (length + 1 - first)
        for at in range(length):
            found[rows[1 + at : len(known) - length + at][hit]] = True
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
