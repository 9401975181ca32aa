"""The clock of a log to UTC: daylight saving by the order of the rows, clocks that were off, zones the file names."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.log_times.zone_steps import zone_steps
from sprayroof.evidence.times import standard_offset_h

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log

HOUR_NS = 3600 * 10**9
DAY_NS = 24 * HOUR_NS
FASTEST_DRIFT = 0.01  # of the time: 14 minutes a day; more is a slip of the pen
SET_WITHIN_S = 2 * 3600.0  # checks nearer to each other than this tell a clock that was set
YEAR_S = 31556952.0


def clock_text(ns: int) -> str:
    """A clock time, to the minute or the second."""
    return str(np.datetime64(int(ns) // 10**9, "s")).replace("T", " ").removesuffix(":00")


def fixed_zone(zone: str, year: int) -> str:
    """The IANA name of the clock of `zone` without daylight saving ("Etc/GMT+5"), or "UTC"."""
    hours = standard_offset_h(zone, year)
    if hours != int(hours):
        return "UTC"
    return f"Etc/GMT{-int(hours):+d}" if hours else "UTC"


def year_of(clock_ns: int) -> int:
    """Calendar year."""
    return int(str(np.datetime64(int(clock_ns) // 10**9, "s"))[:4])


def offsets_h(zone: str, times_ns: np.ndarray) -> set[float]:
    """Offsets of a zone from UTC between the first and last of some times [h]."""
    first, last = int(times_ns.min()) // 10**9, int(times_ns.max()) // 10**9
    moments = [first, *range(first, last, 15 * 86400), last]
    return {
        datetime.datetime.fromtimestamp(moment, ZoneInfo(zone)).utcoffset().total_seconds() / 3600.0  # type: ignore
        for moment in moments
    }


def to_utc_ns(clock_ns: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather) -> np.ndarray | None:
    """Times of the declared clock as UTC; None after a problem.

    Parameters
    ----------
    clock_ns : ndarray of int64, shape (n,)
        In the order of the file, oldest first.
    log : Log
        Its zone, and which pass is meant where the repeated hour stands once.
    entry : str
        "log.2".
    names : RowNames
        Lines of the rows.
    gather : Gather
        Receives problems and findings.
    """
    steps = zone_steps(log.time_zone, int(clock_ns.min()), int(clock_ns.max()))
    gone, twice = steps.unclear(clock_ns)
    if gone.any():
        _tell_gone(np.flatnonzero(gone), clock_ns, log.time_zone, entry, names, gather)
        return None
    is_first = np.zeros(len(clock_ns), dtype=bool)
    good = True
    for day in np.unique(clock_ns[twice] // DAY_NS):
        rows = np.flatnonzero(twice & (clock_ns // DAY_NS == day))
        good &= _first_pass(rows, clock_ns, is_first, log, entry, names, gather)
    return steps.utc_ns(clock_ns, is_first) if good else None


def _tell_gone(gone: np.ndarray, clock_ns: np.ndarray, zone: str, entry: str, names: RowNames, gather: Gather) -> None:
    first = int(gone[0])
    gather.problem(
        f"{names.file}, times",
        f"line {names.lines[first]} {clock_text(clock_ns[first])} never stood on the clock of {zone} (daylight saving "
        f"began; {count_of(len(gone), 'time')})",
        "times of that clock",
        f'if the logger stays on standard time, set {entry}.time_zone = "{fixed_zone(zone, year_of(clock_ns[first]))}"',
    )


def _first_pass(
    rows: np.ndarray, clock_ns: np.ndarray, is_first: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather
) -> bool:
    """Marks the rows of a repeated hour that lie before the clock was set back; False after a problem."""
    date = clock_text(int(clock_ns[rows[0]]) // DAY_NS * DAY_NS)[:10]
    steps = np.diff(clock_ns[rows])
    falls = np.flatnonzero(steps < 0)
    if len(falls) == 0:
        falls = np.flatnonzero(steps == 0)
    if len(falls) == 1:
        is_first[rows[: falls[0] + 1]] = True
        rule, words = "the clock falls back once between them", "its rows were told apart by their order"
    elif len(falls) == 0 and log.repeated_hour is not None:
        is_first[rows] = log.repeated_hour == "first"
        rule, words = f"repeated_hour at {entry}", f"its rows were taken for the {log.repeated_hour} pass, as stated"
    else:
        _ask_pass(rows, falls, date, clock_ns, log, entry, names, gather)
        return False
    gather.finding(
        "log.daylight-saving",
        f"{names.file} holds the hour of {date} that the clock runs through twice; {words}.",
        names.file,
        names.evidence("repair", rows, rule, date=date),
        "None: no row is lost.",
    )
    return True


def _ask_pass(
    rows: np.ndarray,
    falls: np.ndarray,
    date: str,
    clock_ns: np.ndarray,
    log: Log,
    entry: str,
    names: RowNames,
    gather: Gather,
) -> None:
    zone = fixed_zone(log.time_zone, year_of(int(clock_ns[rows[0]])))
    if len(falls):
        found = (
            f"the rows of the hour that is repeated on {date} (from line {names.lines[rows[0]]}) are in no clear order"
        )
        do = "export in UTC"
    else:
        found = f"the hour that is repeated on {date} (from line {names.lines[rows[0]]}) stands there once"
        do = f'add repeated_hour = "first" or repeated_hour = "second" to {entry} for the pass that was kept'
    gather.problem(
        f"{names.file}, times",
        found,
        f"both passes of that hour on the clock of {log.time_zone}",
        f'if the logger stays on standard time, set {entry}.time_zone = "{zone}"; otherwise {do}',
    )


# --- clocks that were off ----------------------------------------------------------------------------------------


def on_true_time(times_ns: np.ndarray, log: Log, entry: str, names: RowNames, gather: Gather) -> np.ndarray | None:
    """Times with the stated clock checks applied: shifted by one, stretched in a straight line between several."""
    if not log.clock_checks:
        return times_ns
    pairs = sorted(
        (_utc_ns(shown_at, log.time_zone), _utc_ns(true_at, log.time_zone)) for shown_at, true_at in log.clock_checks
    )
    seen = np.array([pair[0] for pair in pairs])
    late_s = np.array([pair[1] - pair[0] for pair in pairs]) / 1e9
    if len(pairs) > 1 and ((np.diff(seen) <= 0).any() or _fastest_drift(seen, late_s) > FASTEST_DRIFT):
        gather.problem(
            f"site file, {entry}.clock_checks",
            "a clock that gains or loses more than 14 minutes a day",
            'pairs ["time shown by the logger", "true time"] some days apart',
            "correct the pairs",
        )
        return None
    shift_s = _shift_s(times_ns, seen, late_s)
    moved_ns = times_ns + np.rint(shift_s * 1e9).astype(np.int64)
    if ((np.diff(times_ns) > 0) & (np.diff(moved_ns) <= 0)).any():
        gather.problem(
            f"site file, {entry}.clock_checks",
            "checks by which rows change their order",
            "true times that rise with those shown",
            "correct the pairs; a clock that was set back needs a file and a [[log]] for each part",
        )
        return None
    first, last = (f"{value:+.0f} s" for value in (shift_s[0], shift_s[-1]))
    gather.finding(
        "log.clock-corrected",
        f"The clock of {names.file} was off; its times were moved by {first} at the first row and "
        f"{last} at the last, as the stated checks say.",
        names.file,
        names.evidence(
            "repair",
            np.arange(len(times_ns)),
            "straight line through the stated checks",
            new=[float(shift_s[0]), float(shift_s[-1])],
        ),
        f"All rows lie {first if first == last else f'{first} to {last}'} from where they were written.",
    )
    return moved_ns


def _fastest_drift(seen_ns: np.ndarray, late_s: np.ndarray) -> float:
    """Seconds a second between checks; two near each other tell that the clock was set between them."""
    apart_s = np.diff(seen_ns) / 1e9
    drifts = np.abs(np.diff(late_s) / apart_s)[apart_s > SET_WITHIN_S]
    return float(drifts.max(initial=0.0))


def _shift_s(times_ns: np.ndarray, seen: np.ndarray, late_s: np.ndarray) -> np.ndarray:
    """What to add to each time [s]: the line through the checks, carried on beyond the outer ones."""
    if len(seen) == 1:
        return np.full(len(times_ns), late_s[0])
    since_s = (times_ns - seen[0]) / 1e9
    at_s = (seen - seen[0]) / 1e9
    shift = np.interp(since_s, at_s, late_s)
    for end, inner in ((0, 1), (-1, -2)):
        slope = (late_s[inner] - late_s[end]) / (at_s[inner] - at_s[end])
        outside = since_s < at_s[0] if end == 0 else since_s > at_s[-1]
        shift[outside] = late_s[end] + slope * (since_s[outside] - at_s[end])
    return shift


def _utc_ns(moment: datetime.datetime, zone: str) -> int:
    aware = moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone))
    return round(aware.timestamp() * 1e6) * 1000
