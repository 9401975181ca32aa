"""The logs as the night ledger reads them: when it sprayed, columns, and what each instrument's error would do."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from sprayroof.evidence.channels.spray_times import ON_SHARE, level_while_on
from sprayroof.evidence.steps import runs

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.model.site_tests import SiteTests

SECOND_ns = 10**9


@dataclass(frozen=True)
class Readings:
    """Logs, the tests made on site, and where in the logs it sprayed.

    Parameters
    ----------
    site : Site
    logs : Logs
        Corrected by calibrations, pair tests, draw-downs and dips where they were read.
    tests : SiteTests
    running_frac : ndarray, shape (n,)
        Share of each step in which it sprayed, tests left out; steps without any word of it follow their neighbours.
    unsure : ndarray of bool, shape (n,)
        Steps without any word whether it sprayed.
    weather : Weather or None
        Measured weather of the same time stands in for what was not logged; never a typical year.
    """

    site: Site
    logs: Logs
    tests: SiteTests
    running_frac: np.ndarray
    unsure: np.ndarray
    weather: Any = None

    @cached_property
    def times_ns(self) -> np.ndarray:
        """Start of each step [UTC ns]."""
        return self.logs.table.index.as_unit("ns").asi8

    @property
    def step_s(self) -> float:
        """Length of a step [s]."""
        return float(self.logs.step_s)

    def has(self, *columns: str) -> bool:
        """Whether all these columns were logged."""
        return self.logs.has(*columns)

    def column(self, name: str) -> np.ndarray:
        """A column of the logs; NaN throughout if it was not logged."""
        if name not in self.logs.table:
            return np.full(len(self.logs.table), np.nan)
        return self.logs.table[name].to_numpy(dtype=float)

    def columns_like(self, name: str) -> list[str]:
        """Columns of a channel that may come several times: the name alone and with a number."""
        wanted = [name, *(f"{name}_{number}" for number in range(1, 10))]
        return [column for column in wanted if column in self.logs.table]

    def gain(self, column: str) -> float:
        """90 % half-width of the share by which a column may be off."""
        instrument = self.logs.instruments.get(column)
        return instrument.gain if instrument else 0.0

    def offset(self, column: str) -> float:
        """90 % half-width of a column's constant error."""
        instrument = self.logs.instruments.get(column)
        return instrument.offset if instrument else 0.0

    def place(self, time_ns: int) -> int:
        """First step that starts at or after a time."""
        return int(np.searchsorted(self.times_ns, time_ns))

    def steps_in(self, seconds: float) -> int:
        """Steps that a time of `seconds` takes, at least one."""
        return max(1, round(seconds / self.step_s))

    def mean_of(self, column: str, steps: slice) -> tuple[float, float] | None:
        """Mean of the known readings of some steps and its 90 % half-width by scatter; None if half are missing."""
        values = self.column(column)[steps]
        known = values[np.isfinite(values)]
        if not len(known) or len(known) < 0.5 * len(values):
            return None
        return float(known.mean()), scatter_of_mean(known)

    def weather_column(self, logged: str, station: str) -> np.ndarray:
        """Weather as logged at the site, else of a station; NaN where neither tells."""
        values = self.column(logged)
        other = self._of_station(station)
        return values if other is None else np.where(np.isfinite(values), values, other)

    def _of_station(self, name: str) -> np.ndarray | None:
        if self.weather is None or self.weather.names.get("typical_year") or name not in self.weather.table:
            return None
        starts_ns = self.weather.table.index.as_unit("ns").asi8
        places = np.searchsorted(starts_ns, self.times_ns, side="right") - 1
        step_ns = starts_ns[1] - starts_ns[0]
        inside = (places >= 0) & (self.times_ns < starts_ns[-1] + step_ns)
        values = self.weather.table[name].to_numpy(dtype=float)[np.clip(places, 0, None)]
        share = self.step_s * SECOND_ns / step_ns if name.endswith("_mm") else 1.0
        return np.where(inside, values * share, np.nan)

    @cached_property
    def local_hours_h(self) -> np.ndarray:
        """Time of day on the site's clock at the start of each step [h]."""
        local = self.logs.table.index.tz_convert(self.site.place.time_zone)
        return (local.hour + local.minute / 60.0).to_numpy()

    @cached_property
    def metering(self) -> np.ndarray:
        """Steps in which a meter of make-up or draws counted."""
        columns = [*self.columns_like("makeup_L_min"), *self.columns_like("draw_L_min")]
        counted = [np.nan_to_num(self.column(column)) > 0.0 for column in columns]
        return np.any(counted, axis=0) if counted else np.zeros(len(self.times_ns), dtype=bool)

    def in_hours(self, from_h: float, to_h: float) -> np.ndarray:
        """Steps that start within a time of day on the site's clock; over midnight where the end is earlier."""
        hours = self.local_hours_h
        if from_h < to_h:
            return (hours >= from_h) & (hours < to_h)
        return (hours >= from_h) | (hours < to_h)


def scatter_of_mean(values: np.ndarray) -> float:
    """90 % half-width of the mean of readings by their scatter about a line, as if each were independent."""
    if len(values) < 4:
        return 0.0
    places = np.arange(len(values)) - 0.5 * (len(values) - 1.0)
    rest = values - values.mean() - places * float(places @ values) / float(places @ places)
    return 1.645 * float(np.sqrt((rest @ rest) / (len(values) - 2.0) / len(values)))


def moment_ns(when: datetime.datetime, zone: str) -> int:
    """A time of the site file as UTC [ns]; without an offset of its own it is on the site's clock."""
    aware = when if when.tzinfo else when.replace(tzinfo=ZoneInfo(zone))
    return round(aware.timestamp()) * SECOND_ns


def sprayed(logs: Logs, aside: list[tuple[int, int]]) -> tuple[np.ndarray, np.ndarray]:
    """When it sprayed: by flow, where that is missing by status, then by the pump's power.

    Parameters
    ----------
    logs : Logs
    aside : list of (int, int)
        Times [UTC ns] in which the pump ran for a test and nothing was sprayed.

    Returns
    -------
    tuple of ndarray
        Share of each step, and steps without any word of it.
    """
    running, state = np.full(len(logs.table), np.nan), "spray_on_frac"
    for column in ("spray_L_min", state, "pump_W"):
        if column in logs.table:
            told = _by_column(logs.table[column].to_numpy(dtype=float), column == state)
            running = np.where(np.isnan(running), told, running)
    unsure = np.isnan(running)
    running = _as_neighbours(running)
    starts_ns = logs.table.index.as_unit("ns").asi8
    for from_ns, to_ns in aside:
        inside = (starts_ns + logs.step_s * SECOND_ns > from_ns) & (starts_ns < to_ns)
        running[inside] = 0.0
    return running, unsure


def _by_column(values: np.ndarray, is_state: bool) -> np.ndarray:
    """Share of each step in which it ran; the first and last step of a spell by their part of the flow next to them."""
    if is_state:
        return np.clip(np.where(values < 0.01, 0.0, values), 0.0, 1.0)
    high = level_while_on(values)
    share = np.where(np.isnan(values), np.nan, 0.0)
    if high <= 0.0:
        return share
    share[np.nan_to_num(values) > ON_SHARE * high] = 1.0
    # a step that holds a start or a stop has a small mean even where the flow was full
    some = np.nan_to_num(values) > 0.02 * high
    for start, stop in runs(some):
        if stop - start >= 3:
            share[start] = min(1.0, values[start] / values[start + 1])
            share[stop - 1] = min(1.0, values[stop - 1] / values[stop - 2])
    return share


def _as_neighbours(running: np.ndarray) -> np.ndarray:
    """Unknown steps ran where it ran both before and after them."""
    known = np.flatnonzero(np.isfinite(running))
    if not len(known):
        return np.zeros(len(running))
    places = np.arange(len(running))
    before = known[np.clip(np.searchsorted(known, places, side="right") - 1, 0, None)]
    after = known[np.clip(np.searchsorted(known, places), None, len(known) - 1)]
    both = (running[before] > 0.5) & (running[after] > 0.5)
    return np.where(np.isnan(running), both.astype(float), running)
