"""Order of a log's rows: newest first, clocks that were reset, unsorted blocks, rows that stand twice."""

from __future__ import annotations

import itertools

import numpy as np

from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_times.row_names import RowNames

YEAR_NS = 365 * 86400 * 10**9
RESET_GAP_NS = 3 * YEAR_NS // 2  # rows parted by so much are not of one logging
MOST_BEFORE_RESET = 0.5  # of the rows
MOST_DIFFERING = 0.01  # of the rows: same time, different values


def is_newest_first(clock_ns: np.ndarray) -> bool:
    """Whether the rows run backwards."""
    steps = np.diff(clock_ns)
    return bool((steps < 0).sum() > (steps > 0).sum())


def after_reset(clock_ns: np.ndarray, names: RowNames, entry: str, gather: Gather) -> np.ndarray | None:
    """Rows of the main block of time; blocks years away were logged with a clock that had lost the date.

    Returns
    -------
    ndarray of bool, shape (n,), or None
        None after a problem: no block is the main one.
    """
    order = np.sort(clock_ns)
    cuts = np.flatnonzero(np.diff(order) > RESET_GAP_NS)
    if not len(cuts):
        return np.ones(len(clock_ns), dtype=bool)
    edges = [order[0], *order[cuts + 1], order[-1] + 1]
    counts = [int(((clock_ns >= low) & (clock_ns < high)).sum()) for low, high in itertools.pairwise(edges)]
    main = int(np.argmax(counts))
    keep = (clock_ns >= edges[main]) & (clock_ns < edges[main + 1])
    out = np.flatnonzero(~keep)
    first = _clock(clock_ns[out[0]])
    if len(out) > MOST_BEFORE_RESET * len(clock_ns):
        gather.problem(
            f"{names.file}, times",
            f"times from {_clock(order[0])} to {_clock(order[-1])} with gaps of years, no "
            "block of them holding most rows",
            "one logging",
            f"name one logging alone in {entry}.file",
        )
        return None
    gather.finding(
        "log.clock-reset",
        f"{count_of(len(out), 'row')} of {names.file} are dated {first} and so on, years away from the "
        "others: the clock had lost the date. They are not used.",
        names.file,
        names.evidence("exclude", out, "times years away from the rest", old=first),
        f"{count_of(len(out), 'row')} are missing; where the true time is known, correct a copy of the file.",
    )
    return keep


def _clock(ns: int) -> str:
    return str(np.datetime64(int(ns) // 10**9, "s")).replace("T", " ")


def rising_order(times_ns: np.ndarray, names: RowNames, gather: Gather) -> np.ndarray:
    """Row numbers by rising time; told where that changes the order."""
    steps = np.diff(times_ns)
    if (steps >= 0).all():
        return np.arange(len(times_ns))
    back = np.flatnonzero(steps < 0) + 1
    gather.finding(
        "log.unsorted",
        f"The rows of {names.file} run back in time {count_of(len(back), 'time')}; they were sorted.",
        names.file,
        names.evidence("repair", back, "sorted by time"),
        "None: rows keep their times.",
    )
    return np.argsort(times_ns, kind="stable")


def distinct_times(
    times_ns: np.ndarray,
    values: dict[str, np.ndarray],
    counted: frozenset[str],
    last_holds: bool,
    names: RowNames,
    entry: str,
    gather: Gather,
) -> np.ndarray | None:
    """Rows to keep so that every time stands once; `values` are changed in place where rows of one time differ.

    Rows that say the same are one. A number beside an empty cell fills it. In logs of changes the row written last
    holds.    Tips of one time are added. Other cells that differ are not used.

    Parameters
    ----------
    times_ns : ndarray of int64, shape (n,)
        Rising, not strictly.
    values : dict of str to ndarray, shape (n,)
        Channel -> numbers.
    counted : frozenset of str
        Channels of which a row that stands twice means two tips.
    last_holds : bool
        Whether the log writes a row at every change.
    names : RowNames
        In the order of `times_ns`.
    entry : str
        "log.2".
    gather : Gather

    Returns
    -------
    ndarray of int, or None
        None after a problem: too many rows differ.
    """
    starts = np.flatnonzero(np.diff(times_ns, prepend=times_ns[0] - 1 if len(times_ns) else 0))
    if len(starts) == len(times_ns):
        return starts
    sizes = np.diff(np.append(starts, len(times_ns)))
    differs = {name: _settle(column, starts, name in counted, last_holds) for name, column in values.items()}
    is_bad = np.any(list(differs.values()), axis=0) if differs else np.zeros(len(starts), dtype=bool)
    doubled, bad = starts[sizes > 1], starts[is_bad]
    if len(bad) > max(2, MOST_DIFFERING * len(starts)):
        gather.problem(
            f"{names.file}, times",
            f"{count_of(len(bad), 'time')} of {len(starts)} stand twice with different values, first "
            f"{names.of(int(bad[0]))}",
            "one row for each time",
            f"export the file again; if it holds two loggers, part them into two files. Check {entry}.time_zone too",
        )
        return None
    _tell_doubled(doubled, bad, int(sizes.sum() - len(sizes)), counted, last_holds, names, gather)
    for name, where in differs.items():
        values[name][starts[where]] = np.nan
    return starts


def _settle(column: np.ndarray, starts: np.ndarray, is_counted: bool, last_holds: bool) -> np.ndarray:
    """Puts what the rows of one time say together into the first of them; True where they contradict each other."""
    import pandas as pd

    low, high = np.fmin.reduceat(column, starts), np.fmax.reduceat(column, starts)
    differs = low < high
    if is_counted:
        sums = np.add.reduceat(np.nan_to_num(column), starts)
        column[starts] = np.where(np.isnan(low), np.nan, sums)
        return np.zeros(len(starts), dtype=bool)
    if last_holds and differs.any():
        groups = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(column))))
        column[starts] = pd.Series(column).groupby(groups).last().to_numpy()
        return np.zeros(len(starts), dtype=bool)
    column[starts] = low
    return differs


def _tell_doubled(
    doubled: np.ndarray,
    bad: np.ndarray,
    surplus: int,
    counted: frozenset[str],
    last_holds: bool,
    names: RowNames,
    gather: Gather,
) -> None:
    if len(bad):
        gather.finding(
            "log.same-time-differs",
            f"{names.file} gives different values for {count_of(len(bad), 'time')}, first {names.of(int(bad[0]))}; "
            "cells that differ are not used.",
            names.file,
            names.evidence("exclude", bad, "same time, different values"),
            f"{count_of(len(bad), 'row')} in part missing.",
        )
    rest = np.setdiff1d(doubled, bad)
    if len(rest):
        what = (
            "tips of one time were added"
            if counted
            else "the row written last holds"
            if last_holds
            else "rows that say the same are one row"
        )
        gather.finding(
            "log.duplicate-rows",
            f"{names.file} holds {count_of(len(rest), 'time')} more than once ({count_of(surplus, 'row')} too many), "
            f"first {names.of(int(rest[0]))}; {what}.",
            names.file,
            names.evidence("repair", rest, what),
            "None: the rows agree." if not counted else "All tips count.",
        )
