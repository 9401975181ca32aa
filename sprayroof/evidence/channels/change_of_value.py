"""Logs that write a row only when something changes: the last value holds, and nothing lies between two values.

A mean over time weighs each value by how long it stood. A status is never interpolated.
"""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.log_files.spans import Spans

LONG_SILENCE_S = 86400.0  # a file without any row for longer is told


def held(
    times_ns: np.ndarray, values: np.ndarray, blank: np.ndarray | None, longest_s: float | None
) -> tuple[Spans, np.ndarray, np.ndarray]:
    """How long each value stood.

    Parameters
    ----------
    times_ns : ndarray of int64, shape (n,)
        Rising; the last one ends the record.
    values : ndarray, shape (n,)
        NaN where the cell holds no number.
    blank : ndarray of bool, shape (n,), or None
        Where the cell is plainly empty: as before. Other NaN end the value before: unknown until the next number.
    longest_s : float or None
        Longest time for which a value stands without a new row of the file [s]; None: until the next row.

    Returns
    -------
    spans : Spans, shape (m,)
        From each row with a number to the next row that says something else.
    held : ndarray, shape (m,)
        The values.
    rows : ndarray of int, shape (m,)
        Row of each.
    """
    says = np.ones(len(values), dtype=bool) if blank is None else ~(blank & np.isnan(values))
    rows = np.flatnonzero(says)
    if not len(rows):
        empty = np.zeros(0, dtype=np.int64)
        return Spans(empty, empty), np.zeros(0), empty
    starts = times_ns[rows]
    ends = np.concatenate([starts[1:], times_ns[-1:]])
    if longest_s is not None:
        # a row of the file, even one that leaves this cell empty, says that the logger lived
        last_row = np.concatenate([rows[1:] - 1, [len(times_ns) - 1]])
        ends = np.minimum(ends, times_ns[last_row] + np.int64(longest_s * 1e9))
    known = np.isfinite(values[rows])
    return Spans(starts[known], ends[known]), values[rows][known], rows[known]


def silences(times_ns: np.ndarray, longer_than_s: float = LONG_SILENCE_S) -> np.ndarray:
    """Rows after which the whole file is silent for longer than `longer_than_s`."""
    return np.flatnonzero(np.diff(times_ns) > longer_than_s * 1e9)
