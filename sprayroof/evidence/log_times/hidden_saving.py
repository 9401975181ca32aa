"""Daylight saving in logs whose clock is declared as fixed: an hour that is lost, or stands there twice."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.log_times.zone import clock_text, year_of
from sprayroof.evidence.log_times.zone_steps import zone_steps

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log


def check_hidden_saving(
    clock_ns: np.ndarray, log: Log, site_zone: str | None, entry: str, names: RowNames, gather: Gather
) -> bool:
    """Looks for daylight saving in logs that are declared on a fixed clock. False after a problem.

    An hour lost as the site's clocks go forward is a doubt; one that stands twice as they go back is a problem.

    Parameters
    ----------
    clock_ns : ndarray of int64, shape (n,)
        In the order of the file, oldest first.
    """
    if site_zone is None or len(clock_ns) < 10 or not _is_fixed(log.time_zone, clock_ns):
        return True
    good = True
    steps = zone_steps(site_zone, int(clock_ns.min()), int(clock_ns.max()))
    for start_ns, end_ns, change_ns in zip(steps.from_ns, steps.until_ns, np.diff(steps.offsets_ns), strict=True):
        if change_ns > 0:
            _check_lost_hour(int(start_ns), int(change_ns), clock_ns, site_zone, entry, names, gather)
        else:
            length_ns = int(end_ns - start_ns)
            good &= _check_doubled_hour(int(start_ns), length_ns, clock_ns, site_zone, entry, names, gather)
    return good


def _is_fixed(zone: str, clock_ns: np.ndarray) -> bool:
    year = year_of(int(np.median(clock_ns)))
    return len({datetime.datetime(year, month, 1, tzinfo=ZoneInfo(zone)).utcoffset() for month in range(1, 13)}) == 1


def _check_lost_hour(
    wall_ns: int, change_ns: int, clock_ns: np.ndarray, site_zone: str, entry: str, names: RowNames, gather: Gather
) -> None:
    step = int(np.median(np.abs(np.diff(clock_ns))))
    after = int(np.searchsorted(np.sort(clock_ns), wall_ns))
    ordered = np.sort(clock_ns)
    if not 0 < after < len(ordered) or step > change_ns:
        return
    before, then = int(ordered[after - 1]), int(ordered[after])
    if not (then - wall_ns >= change_ns and then - before == change_ns + step):
        return
    gather.finding(
        "log.daylight-saving-doubt",
        f"{names.file} lacks just the hour from {clock_text(wall_ns)} in which the clocks of "
        f"{site_zone} go forward, yet its clock is stated as fixed. If it was changed, "
        f'set {entry}.time_zone = "{site_zone}".',
        names.file,
        {
            "disposition": "warn",
            "file": names.file,
            "rows": 1,
            "first": clock_text(before),
            "last": clock_text(then),
            "rule": "an hour lost to daylight saving",
        },
        "If the clock was changed, all later rows lie an hour off.",
    )


def _check_doubled_hour(
    start_ns: int, length_ns: int, clock_ns: np.ndarray, site_zone: str, entry: str, names: RowNames, gather: Gather
) -> bool:
    rows = np.flatnonzero((clock_ns >= start_ns) & (clock_ns < start_ns + length_ns))
    if len(rows) < 2:
        return True
    falls = np.flatnonzero(np.diff(clock_ns[rows]) <= 0)
    around = np.flatnonzero((clock_ns >= start_ns - 3 * length_ns) & (clock_ns < start_ns + 4 * length_ns))
    if (
        len(falls) != 1
        or (np.diff(clock_ns[around]) <= 0).sum() != 1
        or 2 * len(np.unique(clock_ns[rows])) != len(rows)
    ):
        return True
    gather.problem(
        f"{names.file}, times",
        f"the hour from {clock_text(start_ns)} stands there twice (from line {names.lines[rows[0]]}), as on "
        f"the clocks of {site_zone} when daylight saving ends",
        "a clock that is never changed, as stated",
        f'set {entry}.time_zone = "{site_zone}"',
    )
    return False
