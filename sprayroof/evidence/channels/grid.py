"""Records of all kinds and intervals laid on one regular grid, each by its kind."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.spans import Pieces, Spans, pieces_of

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.site import Site

STEPS_MIN = (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60)
SETS_STEP = ("spray_flow", "supply_temperature", "return_temperature")
MOST_STEPS = 4_000_000  # seven and a half years of minutes
LEAST_KNOWN = 0.5  # of a step: below this its value is unknown


@dataclass(frozen=True, eq=False)
class Laid:
    """A channel on the grid.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Mean of each step (rain: amount), NaN where less than half of the step is known.
    known : ndarray, shape (n,)
        Share of each step that the record covers.
    spread : ndarray of bool, shape (n,), or None
        Steps whose amount is known but not its time.
    """

    values: np.ndarray
    known: np.ndarray
    spread: np.ndarray | None = None


@dataclass(frozen=True, eq=False)
class LogGrid:
    """A regular grid: start [UTC ns], step [s], number of steps."""

    start_ns: int
    step_s: int
    steps: int
    _pieces: dict[int, tuple[Spans, Pieces]] = field(default_factory=dict)

    def index(self) -> pd.DatetimeIndex:
        """Step starts, UTC."""
        import pandas as pd

        return pd.DatetimeIndex(self.starts_ns().view("datetime64[ns]"), freq=f"{self.step_s}s").tz_localize("UTC")

    def starts_ns(self) -> np.ndarray:
        """Step starts [UTC ns]."""
        return self.start_ns + np.arange(self.steps, dtype=np.int64) * (self.step_s * 10**9)

    def lay(self, record: Record) -> Laid:
        """A record by its kind: means weighed by time, amounts kept whole, points of time counted."""
        pieces = self.pieces_of(record.spans)
        means, known = pieces.means(record.first, record.last)
        if record.is_amount:
            means = means * known * (self.step_s / 3600.0)
            if record.events_ns is not None:
                means = means + self._counted(record)
        elif record.meaning.low >= 0.0:
            means = np.where(np.abs(means) < 1e-12, 0.0, means)
        values = np.where(known >= LEAST_KNOWN, means, np.nan)
        return Laid(values, known, None if record.spread is None else self._touched(record.spread, pieces))

    def places_of(self, times_ns: np.ndarray) -> np.ndarray:
        """The step in which each time lies (may lie outside 0 to steps - 1)."""
        return (np.asarray(times_ns) - self.start_ns) // (self.step_s * 10**9)

    def pieces_of(self, spans: Spans) -> Pieces:
        """Spans cut at the edges of the steps; kept, as the channels of a log share theirs."""
        found = self._pieces.get(id(spans))
        if found is None:
            found = spans, pieces_of(spans, self.start_ns, self.step_s * 10**9, self.steps)
            self._pieces[id(spans)] = found
        return found[1]

    def _counted(self, record: Record) -> np.ndarray:
        places = self.places_of(record.events_ns)
        inside = (places >= 0) & (places < self.steps)
        return np.bincount(places[inside], record.event_amounts[inside], self.steps)

    def _touched(self, flags: np.ndarray, pieces: Pieces) -> np.ndarray:
        return np.bincount(pieces.step, flags[pieces.span], self.steps) > 0.0


def grid_of(records: list[Record], site: Site, gather: Gather) -> LogGrid | None:
    """The grid that holds all used records; None after a problem.

    The step is `logged.step`, or the finest interval of spray flow and the two water temperatures, at least a minute,
    rounded up to one that divides an hour.
    """
    used = [record for record in records if record.declared.use and len(record.spans.starts_ns)]
    if not used:
        gather.problem("site file, log", "no channel of the logs is used", "at least one channel",
                       "take out use = false, or name the columns that hold readings")
        return None
    step_s = 60 * (site.logged.step_min or _finest_min(used))
    step_ns = step_s * 10**9
    start_ns = min(int(record.spans.starts_ns[0]) for record in used) // step_ns * step_ns
    # a stamp on the last edge belongs to the step that ends there; events need a step of their own
    end_ns = max(max(int(record.spans.ends_ns[-1]),
                     0 if record.events_ns is None or not len(record.events_ns) else int(record.events_ns[-1]) + 1)
                 for record in used)
    steps = int(-((start_ns - end_ns) // step_ns))
    if steps > MOST_STEPS:
        first, last = (str(np.datetime64(time // 10**9, "s"))[:10] for time in (start_ns, end_ns))
        gather.problem("site file, log", f"the logs run from {first} to {last}, {steps} steps of {step_s // 60} min",
                       f"at most {MOST_STEPS} steps", "correct stray dates, or add step = 10 to [logged]")
        return None
    return LogGrid(start_ns, step_s, steps)


def _finest_min(used: list[Record]) -> int:
    """Step by the finest interval of the channels that set it, or of all if none of them is logged [min]."""
    setting = [record for record in used if record.name in SETS_STEP] or used
    finest_s = min(interval_s(record) for record in setting)
    return next((step for step in STEPS_MIN if 60.0 * step >= 0.98 * finest_s), 60)


def interval_s(record: Record) -> float:
    """The usual interval between what a record says [s]; logs of changes, which have none, say so every minute."""
    if record.kind == "last value holds" or record.events_ns is not None or (
            record.kind == "status" and record.rows.log.values == "last value holds"):
        return 60.0
    lengths_s = record.spans.lengths_s
    return float(np.median(lengths_s[lengths_s > 0.0])) if (lengths_s > 0.0).any() else 60.0
