"""All rows of one declared log: its files joined, and the stretch of time that each row speaks of."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.log_files.spans import Spans, between_rows, has_one_interval, row_intervals_ns, row_spans
from sprayroof.evidence.log_times.row_names import time_text

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log

FEW = 20
MINUTE_NS = 60 * 10**9


@dataclass(frozen=True, eq=False)
class LogRows:
    """Rows of all files of one log, sorted by time.

    Parameters
    ----------
    log : Log
        Declaration.
    entry : str
        Its place in the site file ("log.2").
    files : tuple of str
        Shown names.
    times_ns : ndarray of int64, shape (n,)
        UTC, strictly rising.
    values, blanks : dict of str to ndarray, shape (n,)
        As in `LogTable`.
    lines, file_of : ndarray of int, shape (n,)
        Line in the file, and which of `files`.
    headings : tuple of str
    units_seen : dict of str to str
        Heading -> unit that the files name.
    stamp_stated, values_stated : bool
        Whether the site file says what times mark and what numbers are.
    """

    log: Log
    entry: str
    files: tuple[str, ...]
    times_ns: np.ndarray
    values: dict[str, np.ndarray]
    lines: np.ndarray
    file_of: np.ndarray
    headings: tuple[str, ...] = ()
    units_seen: dict[str, str] = field(default_factory=dict)
    blanks: dict[str, np.ndarray] = field(default_factory=dict)
    stamp_stated: bool = True
    values_stated: bool = True

    @property
    def where(self) -> str:
        """The file's name, or the pattern of several."""
        return self.files[0] if len(self.files) == 1 else self.log.file.replace("\\", "/")

    def row_text(self, row: int) -> str:
        """Where a row stands: file (if there are several), line and time."""
        file = f"{self.files[int(self.file_of[row])]}, " if len(self.files) > 1 else ""
        return f"{file}line {int(self.lines[row])}, {time_text(self.times_ns[row])}"

    def evidence(self, disposition: str, column: str, rows: np.ndarray, rule: str, **more: Any) -> dict[str, Any]:
        """The `data` of a finding about some rows (their numbers, in order)."""
        data: dict[str, Any] = {"disposition": disposition, "file": self.where, "column": column, "rows": len(rows)}
        if len(rows):
            data |= {"first": self.row_text(int(rows[0])), "last": self.row_text(int(rows[-1]))}
        return {**data, "rule": rule, **more}

    @functools.cached_property
    def declared_ns(self) -> int | None:
        """The interval that the site file states [ns], or None."""
        return None if self.log.interval_min is None else round(self.log.interval_min * MINUTE_NS)

    @functools.cached_property
    def intervals_ns(self) -> np.ndarray:
        """Length of the interval that each row speaks of, shape (n,) [ns]."""
        return row_intervals_ns(self.times_ns, self.declared_ns)

    @functools.cached_property
    def interval_s(self) -> float:
        """The usual interval [s]."""
        return float(np.median(self.intervals_ns)) / 1e9 if len(self.times_ns) else 60.0

    @functools.cached_property
    def is_regular(self) -> bool:
        """Whether most rows follow each other at one interval, or the site file states one."""
        return self.declared_ns is not None or has_one_interval(self.times_ns)

    @functools.cached_property
    def spans(self) -> Spans:
        """The interval of each row, by the declared stamp."""
        return row_spans(self.times_ns, self.intervals_ns, self.log.stamp)

    @functools.cached_property
    def between(self) -> Spans:
        """From each row to the next; empty where the next is more than one and a half intervals away."""
        return between_rows(self.times_ns, 1.5 * self.intervals_ns[1:])

    @functools.cached_property
    def steps(self) -> Spans:
        """From each row to the next, however far."""
        return between_rows(self.times_ns, None)


def resolution_of(readings: np.ndarray) -> float:
    """The step in which readings are written: the largest of 500, 200, ... 1, 0.5, ... of which all are multiples.

    A few different numbers say nothing beyond their decimals: they are taken as written in steps of 1 at most.
    """
    known = readings[np.isfinite(readings)]
    if not len(known):
        return 0.0
    sample = np.unique(known[:: max(1, len(known) // 5000)])
    size = max(float(np.abs(sample).max()), 1e-12)
    for power in range(2, -6, -1):
        for digit in (5.0, 2.0, 1.0):
            step = digit * 10.0**power
            whole = np.abs(sample / step - np.rint(sample / step)) < 1e-3
            if step <= (size if len(sample) >= FEW else min(size, 1.0)) and whole.all():
                return step
    return 0.0
