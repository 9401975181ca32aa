"""Tests, switched nights and the measured period held against the time that the logs cover.

A slip in a year makes a test out of nothing: it would be kept as made, and no reading could contradict it.
"""

from __future__ import annotations

import datetime
import zoneinfo
from typing import TYPE_CHECKING

from sprayroof.evidence.channels.column import moment_ns
from sprayroof.evidence.quality.work import LogWork

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Test

DAY_NS = 86400 * 10**9
BESIDE_DAYS = 92  # instruments are calibrated, and stores gauged, in the weeks before and after; own judgement
WITH_READINGS = ("pair", "draw down", "clock", "tracer", "rain event")  # of no use without logs of the same time


def check_dates(work: LogWork) -> None:
    """A doubt for every test, block of switched nights and end of the measured period that lies outside the logs."""
    site, zone = work.site, work.site.place.time_zone
    start_ns = work.grid.start_ns
    end_ns = start_ns + work.grid.steps * work.grid.step_s * 10**9
    first, last = (_date(time_ns, zone) for time_ns in (start_ns, end_ns - 1))
    for number, test in enumerate(site.test, start=1):
        margin_ns = 0 if test.kind in WITH_READINGS else BESIDE_DAYS * DAY_NS
        from_ns, to_ns = _span_ns(test, zone)
        if to_ns < start_ns - margin_ns or from_ns > end_ns + margin_ns:
            _tell(f"test.{number}", f"The {test.kind} test of {test.from_time:%Y-%m-%d}", (first, last), work)
    for number, block in enumerate(site.switched, start=1):
        if block.from_date < first or block.to_date > last:
            _tell(f"switched.{number}", f'The block of nights switched {block.state}, {block.from_date} to '
                  f"{block.to_date},", (first, last), work)
    for name, date in (("from", site.logged.from_date), ("to", site.logged.to_date)):
        if date is not None and not first <= date <= last:
            _tell(f"logged.{name}", f"The {'start' if name == 'from' else 'end'} of the measured period, {date},",
                  (first, last), work)


def _span_ns(test: Test, zone: str) -> tuple[int, int]:
    return moment_ns(test.from_time, zone), moment_ns(test.to_time or test.from_time, zone)


def _date(time_ns: int, zone: str) -> datetime.date:
    return datetime.datetime.fromtimestamp(time_ns // 10**9, zoneinfo.ZoneInfo(zone)).date()


def _tell(entry: str, what: str, logged: tuple[datetime.date, datetime.date], work: LogWork) -> None:
    work.gather.finding(
        "log.dates-outside", f"{what} lies outside the logs, which cover {logged[0]} to {logged[1]}.", entry,
        {"disposition": "warn", "rule": "dates of the site file against the time of the logs", "entry": entry},
        f"No reading bears it out. Correct the date at {entry}, or take it out if it does not belong to these logs.")
