"""A clock that shows twelve hours and does not say which half of the day: told apart by the order of the rows."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_times.row_names import RowNames

HOUR_NS = 3600 * 10**9
DAY_NS = 24 * HOUR_NS
LEAST_FALL_NS = 6 * HOUR_NS  # from one half of the day to the next; less is a row out of place
LEAST_HOURS = 10  # of the twelve that must occur
FALLING_DAYS_SHARE = (
    0.5  # of the days: so many must run through the hours twice before the clock is taken for such a one
)


def is_half_day_clock(clock_ns: np.ndarray) -> bool:
    """Whether hours stay within twelve and most days run through them twice.

    Parameters
    ----------
    clock_ns : ndarray of int64, shape (n,)
        Times as read, in the order of the file.
    """
    hours = np.unique((clock_ns % DAY_NS) // HOUR_NS)
    if len(hours) < LEAST_HOURS or not (hours.max() <= 11 or (hours.max() == 12 and hours.min() >= 1)):
        return False
    days, falls = _days_and_falls(_in_first_half(clock_ns))
    count = len(np.unique(days))
    return len(np.unique(days[falls])) > 0 and len(np.unique(days[falls])) >= FALLING_DAYS_SHARE * max(count - 2, 1)


def _in_first_half(clock_ns: np.ndarray) -> np.ndarray:
    return clock_ns - np.where((clock_ns % DAY_NS) // HOUR_NS == 12, 12 * HOUR_NS, 0)


def _days_and_falls(first_ns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Day of each row, and the rows before which the clock falls back within a day."""
    days = first_ns // DAY_NS
    falls = np.flatnonzero((np.diff(days) == 0) & (np.diff(first_ns) < -LEAST_FALL_NS)) + 1
    return days, falls


def of_whole_days(clock_ns: np.ndarray, names: RowNames, entry: str, gather: Gather) -> np.ndarray | None:
    """Times on a clock of 24 hours; None after a problem.

    A day in which the clock falls back once has both halves. In a day without a fall the half is the one that follows
    on the rows before, or leads to the rows after, at the usual interval; if neither tells, a problem is told.
    """
    first_ns = _in_first_half(clock_ns)
    days, falls = _days_and_falls(first_ns)
    starts = np.flatnonzero(np.diff(days, prepend=days[0] - 1))
    ends = np.append(starts[1:], len(days))
    interval = int(np.median(np.diff(first_ns)))
    late = np.zeros(len(days), dtype=bool)
    open_days: list[tuple[int, int]] = []
    unclear: list[int] = []
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        inside = falls[(falls > start) & (falls < end)]
        if len(inside) == 1:
            late[inside[0] : end] = True
        elif len(inside) == 0:
            open_days.append((start, end))
        else:
            unclear.append(start)
    unclear += [start for start, end in open_days if not _settle(start, end, first_ns, late, interval)]
    if unclear:
        gather.problem(
            f"{names.file}, times",
            "hours of a 12-hour clock without AM or PM; which half of the day is meant is not clear "
            f"in {count_of(len(unclear), 'day')}, first at {some_of([names.of(row) for row in sorted(unclear)], 3)}",
            "a 24-hour clock, or AM and PM",
            f"export again, with a form that {entry}.time_format can name (%H, or %I with %p)",
        )
        return None
    gather.finding(
        "log.twelve-hour-clock",
        f"The times of {names.file} are of a 12-hour clock without AM or PM; the halves of the day "
        "were told apart by the order of the rows.",
        names.file,
        names.evidence("repair", np.arange(len(days)), "each day runs through the hours twice"),
        "None: the order of the rows leaves one reading.",
    )
    return first_ns + np.where(late, 12 * HOUR_NS, 0)


def _settle(start: int, end: int, first_ns: np.ndarray, late: np.ndarray, interval: int) -> bool:
    """Find the half of a day that shows one only, from the rows beside it."""
    half = 12 * HOUR_NS
    tolerance = interval // 2
    fits = []
    for is_late in (False, True):
        shift = half if is_late else 0
        before = (
            start > 0
            and abs(first_ns[start] + shift - interval - first_ns[start - 1] - (half if late[start - 1] else 0))
            <= tolerance
        )
        after = end < len(first_ns) and abs(first_ns[end - 1] + shift + interval - first_ns[end]) <= tolerance
        fits.append(before or after)
    late[start:end] = fits[1]
    return fits[0] != fits[1]
