"""From records of any length to means and sums on the simulation step.

Three kinds of channel, three rules:

instant
    A record holds the reading at the *end* of its interval (hourly weather files of typical years). Between
    readings the channel runs in a straight line; a step takes the mean of that line.
mean
    A record holds the mean over its interval (loggers). Records longer than the step: a straight line between
    interval middles, and its mean over the step. Records of the step's length: as they are. Shorter ones: the
    time-weighted mean.
amount
    A record holds a sum over its interval (rain, energy). The sum is spread over the interval's steps, evenly or by
    given weights, so that every interval keeps its sum.
"""

from __future__ import annotations

import numpy as np

MAX_FILL_H = 6.0  # the longest gap of weather that a straight line may bridge


def instants_to_steps(values: np.ndarray, interval_s: int, step_s: int, wraps: bool) -> np.ndarray:
    """Step means of readings at interval ends.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Reading at the end of each interval; NaN spreads to the steps that touch it.
    interval_s, step_s : int
        Lengths [s]; `step_s` divides `n * interval_s`.
    wraps : bool
        True where the last reading also stands before the first interval (typical years); otherwise the first
        reading is held back to the start.

    Returns
    -------
    ndarray, shape (n * interval_s / step_s,)
    """
    before = values[-1] if wraps else values[0]
    times = np.arange(len(values) + 1, dtype=float) * interval_s
    return line_means(times, np.concatenate([[before], values]), _edges(len(values), interval_s, step_s))


def means_to_steps(values: np.ndarray, interval_s: int, step_s: int) -> np.ndarray:
    """Step means of interval means (see the module's text for the rule; shapes as in `instants_to_steps`)."""
    edges = _edges(len(values), interval_s, step_s)
    if interval_s == step_s:
        return np.array(values, dtype=float)
    if interval_s < step_s:
        return amounts_to_steps(values * interval_s, interval_s, step_s) / step_s
    middles = (np.arange(len(values)) + 0.5) * interval_s
    times = np.concatenate([[0.0], middles, [len(values) * float(interval_s)]])
    return line_means(times, np.concatenate([values[:1], values, values[-1:]]), edges)


def amounts_to_steps(
    amounts: np.ndarray, interval_s: int, step_s: int, weights: np.ndarray | None = None
) -> np.ndarray:
    """Sums per step that keep the sum of every interval.

    Parameters
    ----------
    amounts : ndarray, shape (n,)
        Sum over each interval.
    interval_s, step_s : int
        Lengths [s].
    weights : ndarray, shape (n * interval_s / step_s,), optional
        Relative share of each step in its interval, >= 0; used only where the step divides the interval. An interval
        whose weights are all zero is spread evenly.
    """
    if weights is not None and interval_s % step_s == 0:
        shares = np.asarray(weights, dtype=float).reshape(len(amounts), interval_s // step_s)
        totals = shares.sum(axis=1, keepdims=True)
        even = np.full_like(shares, step_s / interval_s)
        shares = np.divide(shares, totals, out=even, where=totals > 0.0)
        return (shares * amounts[:, None]).ravel()
    if interval_s % step_s == 0:
        return np.repeat(amounts * (step_s / interval_s), interval_s // step_s)
    if step_s % interval_s == 0:
        return amounts.reshape(-1, step_s // interval_s).sum(axis=1)
    times = np.arange(len(amounts) + 1, dtype=float) * interval_s
    running = np.concatenate([[0.0], np.cumsum(amounts)])
    return np.diff(np.interp(_edges(len(amounts), interval_s, step_s), times, running))


def line_means(times: np.ndarray, values: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Means between `edges` of the straight lines through (`times`, `values`).

    Parameters
    ----------
    times, values : ndarray, shape (n,)
        Corners of the line, times rising; NaN values spread to the pieces that touch them.
    edges : ndarray, shape (m,)
        Rising, inside the span of `times`.

    Returns
    -------
    ndarray, shape (m - 1,)
    """
    corners = np.union1d(times, edges)
    corners = corners[(corners >= edges[0]) & (corners <= edges[-1])]
    heights = np.interp(corners, times, values)
    pieces = np.diff(corners) * (heights[1:] + heights[:-1]) / 2.0
    first = np.searchsorted(corners, edges)[:-1]
    return np.add.reduceat(pieces, first) / np.diff(edges)


def fill_short(values: np.ndarray, interval_s: int, wraps: bool, longest_h: float = MAX_FILL_H) -> np.ndarray:
    """`values` with NaN runs of at most `longest_h` bridged by a straight line; longer runs stay NaN.

    Runs at an end have no line to stand on: bridged across the year's end where `wraps`, else by holding the
    nearest value.
    """
    missing = np.isnan(values)
    if not missing.any() or missing.all():
        return values
    count = len(values)
    tiled = np.tile(missing, 3) if wraps else missing
    filled = values.copy()
    known = np.flatnonzero(~missing)
    positions = np.concatenate([known - count, known, known + count]) if wraps else known
    line = np.interp(np.arange(count), positions, np.tile(values[known], 3 if wraps else 1))
    short = np.zeros(len(tiled), dtype=bool)
    for start, stop in runs(tiled):
        short[start:stop] = (stop - start) * interval_s <= longest_h * 3600.0
    short = short[count : 2 * count] if wraps else short
    filled[missing & short] = line[missing & short]
    return filled


def runs(flags: np.ndarray) -> list[tuple[int, int]]:
    """Start and end (excluded) of each run of True in `flags`."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(start), int(stop)) for start, stop in edges.reshape(-1, 2)]


def _edges(count: int, interval_s: int, step_s: int) -> np.ndarray:
    return np.arange(0, count * interval_s + 1, step_s, dtype=float)
