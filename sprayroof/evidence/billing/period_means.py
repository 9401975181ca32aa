"""Readings over stretches of time to means over other stretches, with the share that is known."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.log_files.spans import Spans


def means_over(
    spans: Spans, values: np.ndarray, starts_ns: np.ndarray, ends_ns: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Time-weighted means of readings over periods.

    Parameters
    ----------
    spans : Spans, n of them
        Stretches of time that the readings speak of, rising, none over another.
    values : ndarray, shape (n,)
        Reading of each; NaN where unknown.
    starts_ns, ends_ns : ndarray of int64, shape (m,)
        Periods (UTC).

    Returns
    -------
    means : ndarray, shape (m,)
        Over what is known of each period; NaN where nothing is.
    known : ndarray, shape (m,)
        Share of each period that is known, 0 to 1.
    """
    starts_ns, ends_ns = np.asarray(starts_ns, dtype=np.int64), np.asarray(ends_ns, dtype=np.int64)
    good = np.isfinite(values) & (spans.ends_ns > spans.starts_ns)
    if not good.any():
        return np.full(len(starts_ns), np.nan), np.zeros(len(starts_ns))
    zero = int(spans.starts_ns[good][0])
    corners_s = np.column_stack([spans.starts_ns[good], spans.ends_ns[good]]).ravel().astype(np.int64) - zero
    corners_s = corners_s / 1e9
    lengths_s = spans.lengths_s[good]
    level = float(np.median(values[good]))  # a running sum about a level of its own keeps its digits
    known_s = _over(corners_s, lengths_s, starts_ns - zero, ends_ns - zero)
    weighed = _over(corners_s, (values[good] - level) * lengths_s, starts_ns - zero, ends_ns - zero)
    with np.errstate(invalid="ignore", divide="ignore"):
        means = np.where(known_s > 0.0, level + weighed / known_s, np.nan)
    return means, np.clip(known_s / ((ends_ns - starts_ns) / 1e9), 0.0, 1.0)


def _over(corners_s: np.ndarray, amounts: np.ndarray, starts_ns: np.ndarray, ends_ns: np.ndarray) -> np.ndarray:
    """Amounts that fall into periods: the running sum grows over each span and stands still between two."""
    running = np.concatenate([[0.0], np.cumsum(amounts)])
    until = np.column_stack([running[:-1], running[1:]]).ravel()
    return np.interp(ends_ns / 1e9, corners_s, until) - np.interp(starts_ns / 1e9, corners_s, until)
