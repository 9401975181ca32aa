"""What the checks of logged channels work on: channels on the grid, their records, instruments and masks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels import spray_times
from sprayroof.evidence.channels.column import moment_ns
from sprayroof.evidence.channels.grid import Laid, LogGrid
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_times.row_names import time_text
from sprayroof.evidence.logs import Instrument

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Test

BESIDE_NS = 5 * 60 * 10**9  # a reading at a moment is the mean of the log this near to it
LEAST_KNOWN = 0.9  # of a test's time


@dataclass
class LogWork:
    """Channels between the grid and the finished `Logs`.

    Parameters
    ----------
    site : Site
    grid : LogGrid
    records : dict of str to Record
        Column -> the record in use (the first, where a second one goes on where it ends).
    laid : dict of str to Laid
        Column -> channel on the grid.
    instruments : dict of str to Instrument
        Column -> instrument.
    gather : Gather
    rain_elsewhere_mm : ndarray, shape (n,), or None
        Rain of the measured weather record on the grid [mm per step], NaN where unknown.
    pressure_elsewhere_Pa : ndarray, shape (n,), or None
        Air pressure of the measured weather record on the grid.
    masks : dict of str to dict of str to ndarray of bool
        Column -> name -> where it holds.
    used : dict of str to list of Record
        Column -> all its records in use.
    doubted : list of (int, str, ndarray)
        Number of a finding that leaves steps out, its channel and these steps; the effect follows when all is masked.
    """

    site: Site
    grid: LogGrid
    records: dict[str, Record]
    laid: dict[str, Laid]
    instruments: dict[str, Instrument]
    gather: Gather
    rain_elsewhere_mm: np.ndarray | None = None
    pressure_elsewhere_Pa: np.ndarray | None = None
    masks: dict[str, dict[str, np.ndarray]] = field(default_factory=dict)
    used: dict[str, list[Record]] = field(default_factory=dict)
    doubted: list[tuple[int, str, np.ndarray]] = field(default_factory=list)

    def values(self, column: str) -> np.ndarray | None:
        """A channel on the grid, or None if it is not logged."""
        return self.laid[column].values if column in self.laid else None

    def running(self) -> np.ndarray | None:
        """Steps in which the spray ran; None if no channel tells."""
        return spray_times.running({column: laid.values for column, laid in self.laid.items()})

    def mask(self, column: str, name: str, where: np.ndarray) -> None:
        """Add to a mask."""
        masks = self.masks.setdefault(column, {})
        masks[name] = masks[name] | where if name in masks else where

    def doubt(self, column: str, where: np.ndarray) -> None:
        """The last finding leaves these steps of a channel out."""
        self.doubted.append((len(self.gather.findings) - 1, column, where))

    def time(self, step: int) -> str:
        """Start of a step in words."""
        return time_text(self.grid.start_ns + int(step) * self.grid.step_s * 10**9)

    def evidence(self, disposition: str, column: str, steps: np.ndarray, rule: str, **more: object) -> dict:
        """The `data` of a finding about some steps of a channel."""
        record = self.records[column]
        data = {"disposition": disposition, "file": record.rows.where, "column": record.declared.column,
                "channel": column, "rows": len(steps)}
        if len(steps):
            data |= {"first": self.time(steps[0]), "last": self.time(steps[-1])}
        return {**data, "rule": rule, **more}

    def tests(self, *kinds: str) -> list[tuple[str, Test]]:
        """Tests of some kinds with their entries, by time."""
        zone = self.site.place.time_zone
        chosen = [(f"test.{number}", test) for number, test in enumerate(self.site.test, start=1) if test.kind in kinds]
        return sorted(chosen, key=lambda pair: moment_ns(pair[1].from_time, zone))

    def when_ns(self, test: Test) -> tuple[int, int]:
        """Start and end of a test, UTC; the same for a moment."""
        zone = self.site.place.time_zone
        start = moment_ns(test.from_time, zone)
        return start, start if test.to_time is None else moment_ns(test.to_time, zone)

    def mean(self, column: str, start_ns: int, end_ns: int) -> float | None:
        """Mean of a channel over a time, weighed by the share of each step inside; None where too little is known."""
        if end_ns <= start_ns:
            start_ns, end_ns = start_ns - BESIDE_NS, start_ns + BESIDE_NS
        step_ns = self.grid.step_s * 10**9
        starts = self.grid.starts_ns()
        low, high = np.searchsorted(starts, [start_ns - step_ns, end_ns])
        starts, values = starts[low:high], self.laid[column].values[low:high]
        inside = np.maximum(np.minimum(starts + step_ns, end_ns) - np.maximum(starts, start_ns), 0)
        known = np.isfinite(values)
        if inside[known].sum() < LEAST_KNOWN * (end_ns - start_ns):
            return None
        return float(np.average(values[known], weights=inside[known]))
