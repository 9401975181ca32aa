"""The line of the site file that would put a log's clock right, where a lag was found."""

from __future__ import annotations

import datetime
import itertools
import zoneinfo
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.log_times.zone import SET_WITHIN_S

if TYPE_CHECKING:
    from sprayroof.evidence.log_files.rows import LogRows

MINUTE_NS = 60 * 10**9
ZONE_NEAR_MIN = 6.0
NEAR_NS = 36 * 60 * MINUTE_NS  # a change of the lag is known to a day or so


@dataclass(frozen=True)
class Late:
    """From `from_ns` to `to_ns` [UTC] a log's times come `lag_min` too late [min]; negative: too early."""

    from_ns: int
    to_ns: int
    lag_min: float


def line_for(rows: LogRows, late: list[Late], zones: list[str],
             near_min: float) -> tuple[str, list[Late]]:
    """What to write at the log's entry, and the lags that it would mend: those of a zone that explains them, exactly.

    Parameters
    ----------
    rows : LogRows
        Its clock tests and checks already applied.
    late : list of Late
        In the order of time; stretches without a lag among them have `lag_min` 0.
    zones : list of str
        Zones that its clock may have kept: the site's, those of other logs.
    near_min : float
        How sure the lags are [min].
    """
    zone = _zone_that_explains(rows.log.time_zone, late, zones, max(near_min, ZONE_NEAR_MIN))
    if zone is not None and not rows.log.clock_checks:
        exact = [replace(one, lag_min=_offset_min(zone, one) - _offset_min(rows.log.time_zone, one)) for one in late]
        return f'time_zone = "{zone}" at {rows.entry}, in place of "{rows.log.time_zone}"', exact
    if rows.log.clock_checks:
        return f"other true times in clock_checks of {rows.entry}: " + ", ".join(
            f"{-one.lag_min:+.0f} min from {_shown(one.from_ns, rows.log.time_zone)}" for one in late), late
    checks = _checks(rows.times_ns, late)
    if checks is None:
        return (f"a file and a [[log]] of its own, each with its clock_checks, for the rows from "
                f"{_shown(late[1].from_ns, rows.log.time_zone)} on"), late
    pairs = ", ".join(f'["{_shown(shown, rows.log.time_zone)}", "{_shown(true, rows.log.time_zone)}"]'
                      for shown, true in checks)
    return f"clock_checks = [{pairs}] at {rows.entry}", late


def _zone_that_explains(declared: str, late: list[Late], zones: list[str], near_min: float) -> str | None:
    """The zone by which a clock read as the declared one would lag like this; None where none would."""
    standard = [name for zone in zones if (name := _standard_zone(zone, late[0])) is not None]
    misses = {}
    for zone in dict.fromkeys([*zones, *standard, "UTC"]):
        miss = max(abs(_offset_min(zone, one) - _offset_min(declared, one) - one.lag_min) for one in late)
        if zone != declared and miss <= near_min:
            misses[zone] = round(miss)
    return min(misses, key=misses.__getitem__) if misses else None


def _standard_zone(zone: str, late: Late) -> str | None:
    """The fixed zone of a clock that is left on standard time; None where it is no whole hour."""
    year = datetime.datetime.fromtimestamp(late.from_ns / 1e9, datetime.UTC).year
    hours = min(_hours_of(zone, datetime.datetime(year, month, 1, tzinfo=datetime.UTC)) for month in (1, 7))
    return f"Etc/GMT{-hours:+.0f}" if hours == round(hours) else None


def _hours_of(zone: str, at: datetime.datetime) -> float:
    offset = at.astimezone(zoneinfo.ZoneInfo(zone)).utcoffset()
    return 0.0 if offset is None else offset.total_seconds() / 3600.0


def _offset_min(zone: str, late: Late) -> float:
    return 60.0 * _hours_of(zone, datetime.datetime.fromtimestamp((late.from_ns + late.to_ns) / 2e9,
                                                                  datetime.UTC))


def _checks(times_ns: np.ndarray, late: list[Late]) -> list[tuple[int, int]] | None:
    """Shown and true times: one pair for a constant lag, else the ends of each stretch.

    None where the rows leave no pause at a change: a clock that was set back shows its hours twice.
    """
    if len(late) == 1:
        return [_pair(int(times_ns[0]), late[0])]
    pairs: list[tuple[int, int]] = []
    first = int(times_ns[0])
    for one, following in itertools.pairwise(late):
        beside = _rows_beside(times_ns, one.to_ns)
        if beside is None or beside[1] - beside[0] <= (following.lag_min - one.lag_min) * MINUTE_NS:
            return None
        pairs += [_pair(first, one), _pair(beside[0], one)]
        first = beside[1]
    return [*pairs, _pair(first, late[-1]), _pair(int(times_ns[-1]), late[-1])]


def _rows_beside(times_ns: np.ndarray, at_ns: int) -> tuple[int, int] | None:
    """The rows before and after the longest pause near a time; None where none stands out, or it is too long."""
    low, high = np.searchsorted(times_ns, [at_ns - NEAR_NS, at_ns + NEAR_NS])
    near = times_ns[low:high]
    if len(near) < 3:
        return None
    steps = np.diff(near)
    place = int(steps.argmax())
    if steps[place] < 2 * np.median(steps) or steps[place] > SET_WITHIN_S * 10**9:
        return None
    return int(near[place]), int(near[place + 1])


def _pair(shown_ns: int, late: Late) -> tuple[int, int]:
    return shown_ns, shown_ns - round(late.lag_min) * MINUTE_NS


def _shown(time_ns: int, zone: str) -> str:
    """A time on the clock of a zone, to the minute."""
    at = datetime.datetime.fromtimestamp(time_ns / 1e9, datetime.UTC).astimezone(zoneinfo.ZoneInfo(zone))
    return f"{at:%Y-%m-%d %H:%M}"
