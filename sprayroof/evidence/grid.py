"""Rows of a table placed on a regular grid of intervals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.tables import Table

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Grid:
    """Intervals of one length: start of the first (UTC), length [s], channels (NaN where no row), lines (0 there)."""

    start: pd.Timestamp
    interval_s: int
    values: dict[str, np.ndarray]
    lines: np.ndarray

    @property
    def end(self) -> pd.Timestamp:
        """End of the last interval (UTC)."""
        import pandas as pd

        return self.start + pd.Timedelta(seconds=self.interval_s * len(self.lines))


def on_grid(table: Table, stamp: str, where: str, gather: Gather, longest_s: int = 3600) -> Grid | None:
    """The table's rows on the grid that most of them keep; rows beside the grid are a problem.

    Parameters
    ----------
    table : Table
        With times in UTC.
    stamp : str
        "end" or "start": which edge of its interval a time marks.
    where : str
        Shown name of the file.
    gather : Gather
        Receives the problem.
    longest_s : int
        Longest interval accepted [s]; the interval must divide it.
    """
    import pandas as pd

    if len(table.times) < 3:
        gather.problem(where, f"{len(table.times)} rows", "at least three rows", "name a longer record")
        return None
    steps_ns = np.diff(table.times.as_unit("ns").asi8)
    sizes, counts = np.unique(steps_ns, return_counts=True)
    interval_s = round(float(sizes[counts.argmax()]) / 1e9)
    if interval_s <= 0 or longest_s % interval_s:
        gather.problem(
            where,
            f"rows mostly {interval_s / 60:g} min apart",
            f"an interval that divides {longest_s // 60} min",
            "export the record at a regular interval",
        )
        return None
    offsets_ns = table.times.as_unit("ns").asi8 - table.times.as_unit("ns").asi8[0]
    beside = np.flatnonzero(offsets_ns % (interval_s * 10**9))
    if len(beside):
        named = some_of([f"line {table.lines[at]} ({table.times[at]:%Y-%m-%d %H:%M:%S} UTC)" for at in beside])
        gather.problem(
            f"{where}, times",
            f"beside the interval of {interval_s / 60:g} min: {named}",
            "times at one regular interval",
            "export the record at a regular interval",
        )
        return None
    positions = offsets_ns // (interval_s * 10**9)
    count = int(positions[-1]) + 1
    values = {}
    for key, cells in table.values.items():
        values[key] = np.full(count, np.nan)
        values[key][positions] = cells
    lines = np.zeros(count, dtype=int)
    lines[positions] = table.lines
    start = table.times[0] - pd.Timedelta(seconds=interval_s if stamp == "end" else 0)
    return Grid(start, interval_s, values, lines)
