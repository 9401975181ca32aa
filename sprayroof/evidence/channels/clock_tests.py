"""Clock tests on site: rows of a log put on the true time."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.column import moment_ns
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.rows import LogRows

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site

MINUTE_NS = 60 * 10**9
LARGEST_MIN = 24.0 * 60.0
START_WORDS, END_WORDS = {"start", "begin", "beginning", "from"}, {"end", "ending", "until"}
SHORT_MIN = 5.0  # below this the stamp moves a night by less than a hundredth


def on_true_time(rows: LogRows, site: Site, gather: Gather) -> LogRows:
    """Rows shifted by the clock tests that name a channel of this log.

    A test's `reading` and `reference` are minutes: what the clock showed and what it should have shown, from any common
    start; reference less reading is added to every time, in a straight line between two tests. The shift never turns
    the order of rows round.
    """
    zone = site.place.time_zone
    checks = sorted((moment_ns(test.from_time, zone), test.reference - test.reading, f"test.{number}")
                    for number, test in enumerate(site.test, start=1)
                    if test.kind == "clock" and test.channel in rows.log.columns
                    and test.reading is not None and test.reference is not None)
    if not checks:
        return rows
    entries = " and ".join(check[2] for check in checks)
    if rows.log.clock_checks:
        gather.problem(f"site file, {entries}", f"clock tests, and clock_checks at {rows.entry}", "one of the two",
                       "take one out")
        return rows
    shifts_min = [check[1] for check in checks]
    if max(map(abs, shifts_min)) > LARGEST_MIN:
        gather.problem(f"site file, {entries}", f"a shift of {max(shifts_min, key=abs):g} min",
                       "minutes that the clock showed and should have shown", "correct reading and reference")
        return rows
    shift_ns = np.interp(rows.times_ns, [check[0] for check in checks], shifts_min) * MINUTE_NS
    times_ns = rows.times_ns + np.rint(shift_ns / 1e9).astype(np.int64) * 10**9
    if not (np.diff(times_ns) > 0).all():
        gather.problem(f"site file, {entries}", "a shift that grows so fast that rows change their order",
                       "clock tests some days apart", "correct reading, reference or from")
        return rows
    told = " to ".join(f"{shift:+g} min" for shift in dict.fromkeys(shifts_min))
    gather.finding(
        "channel.clock-corrected",
        f"The times of {rows.where} were moved by {told}, as {entries} of the site file found.", rows.where,
        {"disposition": "repair", "file": rows.where, "rows": len(times_ns), "rule": "clock tests", "new": shifts_min},
        f"All rows of the file lie {told} from where they were written.")
    return replace(rows, times_ns=times_ns)


def tell_stamp(rows: LogRows, kinds: set[str], gather: Gather) -> None:
    """A finding where the site file does not say whether times mark the start or the end of long intervals."""
    minutes = rows.interval_s / 60.0
    needed = kinds & {"mean", "sum", "tips"} or ("status" in kinds and rows.log.values == "mean")
    words = set(re.split(r"[^a-z]+", rows.log.time_column.lower()))
    if rows.stamp_stated or not needed or not rows.is_regular or words & END_WORDS:
        return
    if words & START_WORDS:
        gather.problem(f"site file, {rows.entry}",
                       f"the heading {rows.log.time_column} speaks of a start, and stamp is not stated (the end "
                       "would be taken)",
                       'stamp = "start" or "end"', f'add stamp = "start" to {rows.entry} if times mark the start')
    elif minutes >= SHORT_MIN:
        _tell_assumed(rows, minutes, kinds, gather)


def _tell_assumed(rows: LogRows, minutes: float, kinds: set[str], gather: Gather) -> None:
    assumed = " and as means" if not rows.values_stated and "mean" in kinds else ""
    gather.finding(
        "channel.stamp-assumed",
        f"The site file does not say whether the times of {rows.where} mark the start or the end of their {minutes:g} "
        f"min; they were read as the end{assumed}.", rows.where,
        {"disposition": "warn", "file": rows.where, "rows": len(rows.times_ns), "rule": "stamp = end",
         "interval_min": minutes},
        f"If they mark the start, all of the file lies {minutes:g} min later: beside other files, "
        f"{minutes / 480.0:.1%} of an eight-hour night's readings would meet the wrong ones. "
        f"Add stamp to {rows.entry}.")
