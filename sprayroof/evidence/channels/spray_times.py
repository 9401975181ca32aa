"""When the spray ran, as far as the logs tell it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

SIGNS = ("spray_on_frac", "spray_L_min", "pump_W")  # channels that tell, the surest first
ON_SHARE = 0.1  # of the flow or power that is usual while running


def running(values: Mapping[str, np.ndarray]) -> np.ndarray | None:
    """Where the spray ran for any part of the step, from status, else flow, else pump power; None if none is logged.

    Parameters
    ----------
    values : mapping of str to ndarray, shape (n,)
        Columns of `Logs.table`.
    """
    status = values.get(SIGNS[0])
    if status is not None and np.isfinite(status).any():
        return np.nan_to_num(status) > 0.01
    for column in SIGNS[1:]:
        if column in values:
            high = level_while_on(values[column])
            if high > 0.0:
                return np.nan_to_num(values[column]) > ON_SHARE * high
    return None


def level_while_on(values: np.ndarray) -> float:
    """The usual value while running: the middle of those above half of the high ones; 0 where it never ran."""
    known = values[np.isfinite(values)]
    above = known[known > 0.0]
    if not len(above):
        return 0.0
    high = float(np.quantile(above, 0.95))
    return float(np.median(above[above > 0.5 * high]))


def widened(flags: np.ndarray, before: int, after: int) -> np.ndarray:
    """`flags` and so many steps before and after each."""
    edges = np.diff(np.concatenate([[0], flags.astype(np.int8), [0]]))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    marks = np.zeros(len(flags) + 1, dtype=np.int64)
    np.add.at(marks, np.maximum(starts - before, 0), 1)
    np.add.at(marks, np.minimum(stops + after, len(flags)), -1)
    return np.cumsum(marks[:-1]) > 0
