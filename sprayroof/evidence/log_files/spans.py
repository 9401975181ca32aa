"""Stretches of time that readings speak of, and how they lie on the steps of a regular grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SECOND_NS = 10**9
COMMON_SHARE = 0.01  # of all spacings: a spacing this common may be an interval of the logger
LEAST_COMMON = 10
ONE_INTERVAL_SHARE = 0.5  # of all spacings: below this the rows follow no interval
LONG_GAP_S = 6.0 * 3600.0  # a logger that stood still says nothing of its interval
NEAR_SHARE = 0.02  # a spacing this near to the interval is the interval (clocks that drift)


@dataclass(frozen=True, eq=False)
class Spans:
    """Stretches of time, rising, that do not overlap.

    Parameters
    ----------
    starts_ns, ends_ns : ndarray of int64, shape (n,)
        UTC [ns since 1970]; an end may equal its start (the stretch is then empty).
    """

    starts_ns: np.ndarray
    ends_ns: np.ndarray

    @property
    def lengths_s(self) -> np.ndarray:
        """Length of each [s]."""
        return (self.ends_ns - self.starts_ns) / 1e9


@dataclass(frozen=True, eq=False)
class Pieces:
    """Spans cut at the edges of a grid: each piece lies in one span and one step.

    Parameters
    ----------
    span, step : ndarray of int, shape (m,)
        Which span and which step.
    seconds : ndarray, shape (m,)
        Length of the piece [s].
    middle_frac : ndarray, shape (m,), or None
        Middle of the piece as a share of its span; None where every span is one piece.
    steps : int
        Number of steps of the grid.
    step_s : float
        Length of a step [s].
    """

    span: np.ndarray
    step: np.ndarray
    seconds: np.ndarray
    middle_frac: np.ndarray | None
    steps: int
    step_s: float

    def means(self, first: np.ndarray, last: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Mean of each step over what is known of it, and the share that is known.

        Parameters
        ----------
        first, last : ndarray, shape (n,)
            Value at start and end of each span, a straight line between; NaN where unknown.

        Returns
        -------
        means : ndarray, shape (steps,)
            NaN where nothing is known.
        known : ndarray, shape (steps,)
            0 to 1.
        """
        values = first[self.span]
        if last is not first:
            share = 0.5 if self.middle_frac is None else self.middle_frac
            values = values + (last[self.span] - values) * share
        good = np.isfinite(values)
        # a mean about a level of its own keeps large, steady readings exact
        level = float(np.median(values[good][:1000])) if good.any() else 0.0
        seconds = np.where(good, self.seconds, 0.0)
        weighed = np.bincount(self.step, np.where(good, values - level, 0.0) * seconds, self.steps)
        known_s = np.bincount(self.step, seconds, self.steps)
        with np.errstate(invalid="ignore", divide="ignore"):
            # to nine decimals: a reading that stands still must stand still on the grid to the last bit
            means = np.where(known_s > 0.0, np.round(level + weighed / known_s, 9), np.nan)
        return means, np.minimum(known_s / self.step_s, 1.0)


def pieces_of(spans: Spans, start_ns: int, step_ns: int, steps: int) -> Pieces:
    """Cut spans at the edges of a grid that begins at `start_ns`; what lies outside the grid is left out."""
    aligned = _aligned(spans, start_ns, step_ns)
    if aligned is not None:
        inside = (aligned >= 0) & (aligned < steps) & (spans.ends_ns > spans.starts_ns)
        span = np.flatnonzero(inside)
        return Pieces(span, aligned[span], spans.lengths_s[span], None, steps, step_ns / 1e9)
    kept = np.flatnonzero((spans.ends_ns > spans.starts_ns) & (spans.ends_ns > start_ns)
                          & (spans.starts_ns < start_ns + steps * step_ns))
    starts, ends = (np.clip(side[kept] - start_ns, 0, steps * step_ns) for side in (spans.starts_ns, spans.ends_ns))
    first, last = starts // step_ns, (ends - 1) // step_ns
    counts = last - first + 1
    owner = np.repeat(np.arange(len(kept)), counts)
    step = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + first[owner]
    low = np.maximum(starts[owner], step * step_ns)
    high = np.minimum(ends[owner], (step + 1) * step_ns)
    span = kept[owner]
    whole_ns = spans.ends_ns[span] - spans.starts_ns[span]
    middle = ((low + high) / 2.0 + (start_ns - spans.starts_ns[span])) / whole_ns
    return Pieces(span, step, (high - low) / 1e9, middle, steps, step_ns / 1e9)


def _aligned(spans: Spans, start_ns: int, step_ns: int) -> np.ndarray | None:
    """The step in which each span lies, where every span lies in one; else None."""
    offsets = spans.starts_ns - start_ns
    step = offsets // step_ns
    inside = spans.ends_ns - start_ns <= (step + 1) * step_ns
    return step if bool(inside.all()) else None


def has_one_interval(times_ns: np.ndarray) -> bool:
    """Whether rows follow each other at an interval, or a few.

    At least half of the spacings are common ones, and the intervals cover half of the time (long gaps not counted).
    """
    if len(times_ns) < 3:
        return False
    spacing_s = _rounded_s(np.diff(times_ns))
    if _is_common(spacing_s).mean() < ONE_INTERVAL_SHARE:
        return False
    covered_s = np.minimum(row_intervals_ns(times_ns, None)[1:] / 1e9, spacing_s)
    inside = spacing_s <= np.maximum(LONG_GAP_S, 3.0 * covered_s)
    return bool(covered_s[inside].sum() >= ONE_INTERVAL_SHARE * spacing_s[inside].sum())


def row_intervals_ns(times_ns: np.ndarray, declared_ns: int | None) -> np.ndarray:
    """Length of the interval that each row speaks of [ns]: the one declared, or the spacing that holds around it.

    A logger may change its interval on the way, so an interval is any spacing that is common in the file and comes at
    least twice running; rows after a gap keep the interval of the rows around them.
    """
    count = len(times_ns)
    if count < 2:
        return np.full(count, declared_ns or 60 * SECOND_NS, dtype=np.int64)
    gaps_ns = np.diff(times_ns)
    stated = declared_ns is not None
    intervals = np.full(count, declared_ns, dtype=np.int64) if stated else _found_intervals_ns(gaps_ns)
    before_ns = np.concatenate([intervals[:1], gaps_ns])
    near = np.abs(before_ns - intervals) <= NEAR_SHARE * intervals
    return np.where(near, before_ns, intervals)


def _found_intervals_ns(gaps_ns: np.ndarray) -> np.ndarray:
    spacing_s = _rounded_s(gaps_ns)
    common = _is_common(spacing_s)
    if not common.any():
        common = spacing_s == _most_common(spacing_s)
    same = spacing_s[1:] == spacing_s[:-1]
    twice = np.concatenate([same, [False]]) | np.concatenate([[False], same])
    held = common & (twice if (common & twice).any() else True)
    at = np.flatnonzero(held)
    # each row takes the interval of the last row at which one held, the first rows that of the first such row
    source = np.maximum.accumulate(np.where(held, np.arange(len(held)), -1))
    source = np.where(source < 0, at[0], source)
    found = (spacing_s[source] * SECOND_NS).astype(np.int64)
    return np.concatenate([found[:1], found])


def row_spans(times_ns: np.ndarray, intervals_ns: np.ndarray, stamp: str) -> Spans:
    """The interval before (stamp "end") or after ("start") each row; never into that of a neighbour."""
    if stamp == "end":
        starts = times_ns - intervals_ns
        starts[1:] = np.maximum(starts[1:], times_ns[:-1])
        return Spans(starts, times_ns)
    after = np.concatenate([intervals_ns[1:], intervals_ns[-1:]]) if len(intervals_ns) else intervals_ns
    ends = times_ns + after
    ends[:-1] = np.minimum(ends[:-1], times_ns[1:])
    return Spans(times_ns, ends)


def between_rows(times_ns: np.ndarray, longest_ns: np.ndarray | float | None) -> Spans:
    """From each row to the next, shape (n - 1,); empty where that is longer than `longest_ns`."""
    starts, ends = times_ns[:-1], times_ns[1:]
    if longest_ns is None:
        return Spans(starts, ends)
    return Spans(starts, np.where(ends - starts <= longest_ns, ends, starts))


def _rounded_s(gaps_ns: np.ndarray) -> np.ndarray:
    """Spacings to the full second (to 10 s from 10 min on): a clock that drifts must not make new intervals."""
    seconds = np.rint(gaps_ns / 1e9)
    return np.maximum(np.where(seconds >= 600.0, np.rint(seconds / 10.0) * 10.0, seconds), 1.0)


def _is_common(spacing_s: np.ndarray) -> np.ndarray:
    sizes, inverse, counts = np.unique(spacing_s, return_inverse=True, return_counts=True)
    least = max(COMMON_SHARE * len(spacing_s), min(LEAST_COMMON, len(spacing_s) / 2.0))
    return ((counts >= least) & (sizes > 0.0))[inverse]


def _most_common(spacing_s: np.ndarray) -> float:
    sizes, counts = np.unique(spacing_s, return_counts=True)
    return float(sizes[counts.argmax()])
