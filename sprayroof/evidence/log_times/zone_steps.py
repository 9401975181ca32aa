"""When the clock of a zone is changed, from the standard library's zone data, and clock times that are none or two."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

SECOND_NS = 10**9
DAY_S = 86400


@dataclass(frozen=True, eq=False)
class ZoneSteps:
    """Changes of a clock in some stretch of time.

    Parameters
    ----------
    at_ns : ndarray of int64, shape (n,)
        UTC instants of the changes, rising.
    offsets_ns : ndarray of int64, shape (n + 1,)
        What the clock lies ahead of UTC before the first change, between them, and after the last.
    """

    at_ns: np.ndarray
    offsets_ns: np.ndarray

    @property
    def from_ns(self) -> np.ndarray:
        """Clock times from which on a change bears on the reading of the clock, shape (n,)."""
        return self.at_ns + np.minimum(self.offsets_ns[:-1], self.offsets_ns[1:])

    @property
    def until_ns(self) -> np.ndarray:
        """Clock times from which on a change is surely past, shape (n,)."""
        return self.at_ns + np.maximum(self.offsets_ns[:-1], self.offsets_ns[1:])

    def unclear(self, clock_ns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Which clock times never stood there, and which stood there twice; two arrays of bool, shape (m,)."""
        change = np.searchsorted(self.until_ns, clock_ns, side="right")
        touched = np.append(self.from_ns, np.iinfo(np.int64).max)[change] <= clock_ns
        forward = np.append(np.diff(self.offsets_ns) > 0, False)[change]
        return touched & forward, touched & ~forward

    def utc_ns(self, clock_ns: np.ndarray, is_first: np.ndarray) -> np.ndarray:
        """Clock times as UTC, shape (m,); `is_first` tells the first pass of times that stood there twice."""
        change = np.searchsorted(self.until_ns, clock_ns, side="right")
        _, twice = self.unclear(clock_ns)
        return clock_ns - self.offsets_ns[change + (twice & ~is_first)]


def zone_steps(zone: str, first_ns: int, last_ns: int) -> ZoneSteps:
    """The changes of a zone's clock between two clock times, and two days on either side."""
    info = ZoneInfo(zone)
    start, end = first_ns // SECOND_NS - 2 * DAY_S, last_ns // SECOND_NS + 2 * DAY_S
    moments = [*range(start, end, DAY_S), end]
    offsets = [_offset_s(info, moment) for moment in moments]
    at, kept = [], [offsets[0]]
    for place in range(1, len(moments)):
        if offsets[place] != offsets[place - 1]:
            at.append(_instant(info, moments[place - 1], moments[place]))
            kept.append(offsets[place])
    return ZoneSteps(np.array(at, dtype=np.int64) * SECOND_NS, np.array(kept, dtype=np.int64) * SECOND_NS)


def _offset_s(info: ZoneInfo, moment_s: int) -> int:
    offset = datetime.datetime.fromtimestamp(moment_s, info).utcoffset()
    assert offset is not None
    return round(offset.total_seconds())


def _instant(info: ZoneInfo, low_s: int, high_s: int) -> int:
    """The second at which the clock is changed, between two that have different offsets."""
    before = _offset_s(info, low_s)
    while high_s - low_s > 1:
        middle = (low_s + high_s) // 2
        if _offset_s(info, middle) == before:
            low_s = middle
        else:
            high_s = middle
    return high_s
